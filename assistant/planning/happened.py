"""A problem after part of it has happened: what began keeps its time, what ended its end, and the rest lies ahead of now.

What has happened is never questioned: lags and machines that facts contradict (two tasks begun at once, a thing done out of its order) bind the
rest only. What is still running ends no sooner than now.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from assistant.planning.problem import Instant, Lag, Problem, Task


def happened(problem: Problem, starts: Mapping[str, int], ends: Mapping[str, int], now: int) -> Problem:
    """The problem with these starts and ends as facts. A task that ended must have a start."""
    tasks = []
    occupied: set[str] = set()
    for task in sorted(problem.tasks, key=lambda t: -starts.get(t.id, -1)):
        if task.id in ends:
            tasks.append(_done(task, starts[task.id], ends[task.id]))
        elif task.id in starts:
            running = _running(task, starts[task.id], now)
            uses = tuple(u for u in task.uses if u.state or not set(u.machines) <= occupied)
            # two things in one pair of hands: the one begun last has them
            occupied |= {u.machines[0] for u in uses if not u.state}
            tasks.append(replace(running, uses=uses))
        else:
            latest = task.latest if task.latest is None or task.latest >= now else now
            tasks.append(replace(task, earliest=max(task.earliest, now), latest=latest))
    by_id = {t.id: t for t in tasks}
    lags = [g for g in problem.lags if not _past(g.then, g.of_then, starts, ends)]
    lags += _set_ups(problem, starts, ends)
    return replace(problem, tasks=tuple(by_id[t.id] for t in problem.tasks), lags=tuple(lags))


def _past(task: str, instant: Instant, starts: Mapping[str, int], ends: Mapping[str, int]) -> bool:
    return task in (starts if instant == "start" else ends)


def _done(task: Task, start: int, end: int) -> Task:
    length = max(0, end - start)
    return replace(
        task,
        usual=length,
        least=length,
        most=length,
        stretch_price=0,
        uses=(),
        needs=(),
        earliest=start,
        latest=start,
        wish=None,
        was=None,
        skip_price=None,
    )


def _running(task: Task, start: int, now: int) -> Task:
    least = max(task.shortest, now - start)
    return replace(
        task,
        least=least,
        usual=max(task.usual, least),
        most=max(task.longest, least),
        earliest=start,
        latest=start,
        wish=None,
        was=None,
        skip_price=None,
    )


def _set_ups(problem: Problem, starts: Mapping[str, int], ends: Mapping[str, int]) -> list[Lag]:
    """A machine remembers the state of the task it did last."""
    lags = []
    for machine in problem.machines:
        users = [(t.id, u.state) for t in problem.tasks for u in t.uses if u.machines == (machine.id,) and u.state]
        past = [(starts[t], t, s) for t, s in users if t in ends]
        if not past:
            continue
        _, last, state = max(past)
        setup = machine.setups()
        lags += [Lag(last, t, setup.get((state, s), 0)) for t, s in users if t not in starts]
    return lags
