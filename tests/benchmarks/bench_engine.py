"""The engine's own figures: one decision in a sixty-step meal, resuming a three-hour journal, start-up, memory and
processor at rest, and compiling the grammar of a meal of twelve dishes.

    python tests/benchmarks/bench_engine.py

prints a table and writes results/engine.json (goals: 2 ms, 1 s, 0.3 s typed and silent, 500 MB, 10 % of a core; ten million
sentences in 1 s and 40 MB).

Times are medians of many; the load average is written beside them, because a busy machine doubles all of them.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
import tracemalloc
from dataclasses import replace
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "unit"))
sys.path.insert(0, str(HERE.parent / "scenarios"))

from kitchen_kit import first_event  # noqa: E402  # found through the lines above
from obedient_cook import Cook  # noqa: E402

from assistant.clock import FakeClock  # noqa: E402
from assistant.evening import Evening, adopt_order  # noqa: E402
from assistant.journal import Journal  # noqa: E402
from assistant.kitchen.meal import Name  # noqa: E402
from assistant.session.commands import Command, Intent  # noqa: E402
from assistant.session.decide import decide  # noqa: E402
from assistant.session.evolve import evolve, first_state  # noqa: E402
from assistant.session.state import State, StepRun  # noqa: E402
from assistant.understanding import numbers  # noqa: E402
from assistant.understanding.interpreter import Interpreter  # noqa: E402

RESULTS = HERE / "results" / "engine.json"


def sixty_steps() -> State:
    """A state of three fish suppers side by side: more than sixty steps."""
    first = first_event()
    state = first_state(first)
    dishes = []
    for n in (1, 2, 3):
        for dish in state.meal.dishes:
            steps = tuple(replace(s, id=f"{s.id}-{n}", dish=f"{dish.id}-{n}", after=tuple(f"{a}-{n}" for a in s.after)) for s in dish.steps)
            dishes.append(replace(dish, id=f"{dish.id}-{n}", steps=steps))
    meal = replace(state.meal, dishes=tuple(dishes))
    state = replace(state, meal=meal, steps={s.id: StepRun() for s in meal.steps()})
    return evolve(state, adopt_order(state, 0.0, "bench"))


def decision() -> dict[str, float]:
    """ms of `decide` for three commands and for time passing, in a meal of sixty steps."""
    state = sixty_steps()
    commands = (Command(Intent.WHATS_NEXT), Command(Intent.DONE), Command(Intent.OIL_TEMP, celsius=120.0), None)
    times = []
    for n in range(400):
        began = time.process_time()
        decide(state, commands[n % len(commands)], 10.0 + n)
        times.append(1e3 * (time.process_time() - began))
    return {"steps": len(state.steps), "median_ms": statistics.median(times), "p95_ms": sorted(times)[int(0.95 * len(times))]}


def resuming() -> dict[str, float]:
    """s to resume the journal of a whole evening with a plan, stretched to three hours by questions."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.sqlite"
        cook = Cook("fritter-night", planned=True)
        cook.run()
        clock = FakeClock()
        journal = Journal(path)
        first = first_event("fritter-night")
        evening = Evening.begin(journal, clock, first, "fritter-night", lambda lines: None)
        for event in cook.events:
            journal.append((event,), clock.now())
        clock.advance(10800 - evening.kitchen_time())
        for _ in range(300):
            evening.feed(Command(Intent.WHATS_RUNNING))
        journal.close()
        times = []
        for _ in range(5):
            began = time.process_time()
            again = Journal(path)
            Evening.resume(again, clock, 1, lambda lines: None)
            times.append(time.process_time() - began)
            events = again.evenings()[0].events
            again.close()
        return {"events": events, "median_s": statistics.median(times)}


STARTS = 15


def start_up(known: bool) -> dict[str, float]:
    """s from the command to the first words, by the clock and of the processor, and to the end of an evening of which nothing more is asked, typed
    and silent. known: the card was read on an evening before and has not changed."""
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}  # a cook's Python keeps what it compiled
    program = [str(Path(sys.executable).with_name("stovehand")), "cook", "fish-supper", "--hear", "typed", "--say", "silent"]
    ticks = os.sysconf("SC_CLK_TCK")
    firsts, wholes, cpus = [], [], []
    with tempfile.TemporaryDirectory() as cache:
        for n in range(STARTS + 1):  # the first fills the shelf and compiles
            with tempfile.TemporaryDirectory() as folder:
                began = time.perf_counter()
                with subprocess.Popen(
                    [*program, "--data", folder],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    text=True,
                    env={**env, "XDG_CACHE_HOME": cache if known else folder},
                ) as cook:
                    assert cook.stdin is not None
                    assert cook.stdout is not None
                    assert cook.stdout.readline().startswith("<")
                    first = time.perf_counter() - began
                    used = Path(f"/proc/{cook.pid}/stat").read_text().rpartition(")")[2].split()[11:13]  # of the user and of the system
                    cook.stdin.close()
                    cook.stdout.read()
                assert cook.returncode == 0
                if n:
                    firsts.append(first)
                    wholes.append(time.perf_counter() - began)
                    cpus.append(sum(map(int, used)) / ticks)
    medians = {"first_words_s": statistics.median(firsts), "processor_s": statistics.median(cpus), "whole_s": statistics.median(wholes)}
    return medians | {"load_average": os.getloadavg()[0]}


LISTEN = """
import resource, sys, time
import numpy as np
from assistant.ears import build_ear, build_engines, interpreter_for
from assistant.kitchen.cards import find_meal, read_card
from assistant.settings import Settings
from assistant.speaking.voices import best_voice
from assistant.hearing.noise import kitchen_noise
from assistant.hearing.frames import blocks_of
from assistant.memory import one_heap
one_heap()
began = time.perf_counter()
meal = read_card(find_meal("fish-supper"))
interpreter = interpreter_for(meal, Settings())
ear = build_ear(interpreter, build_engines(interpreter, meal, Settings()))
best_voice("auto")[0].synthesise("Ready.")
ready = time.perf_counter() - began
noise = np.concatenate([kitchen_noise(5.0, seed=5 + k) for k in range(12)])  # at once it would take 76 MB of its own
class Source:
    def sounds(self):
        return blocks_of([noise], 16000, 0.0)
used = time.process_time()
heard = list(ear.listen(Source()))
used = time.process_time() - used
print(ready, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, used / 60.0, len(heard))
"""


def listening() -> dict[str, float]:
    """s until it listens, MB at most, and share of a core while a minute of kitchen noise is heard with nobody speaking."""
    out = subprocess.run([sys.executable, "-c", LISTEN], capture_output=True, text=True, check=True).stdout.split()
    return {"ready_s": float(out[0]), "memory_mb": float(out[1]), "core_share": float(out[2]), "utterances_in_noise": float(out[3])}


def grammar() -> dict[str, float]:
    """A meal of twelve dishes: how many sentences can be said (a note counts once), s to lay out every state of the automaton, and MB it takes."""
    said = tuple(Name(f"dish-{n}", "dish", (f"dish {word}",)) for n, word in enumerate(numbers.TENS_AND_ONES[:12]))

    def lay_out() -> int:
        automaton = Interpreter(said).automaton
        known: dict[int, int] = {}

        def sentences(state: int) -> int:
            if automaton.free(state):
                return 1
            if state not in known:
                known[state] = int(automaton.final(state)) + sum(sentences(after) for _, after in automaton.arcs(state))
            return known[state]

        return sentences(automaton.start)

    began = time.process_time()
    count = lay_out()
    took = time.process_time() - began
    tracemalloc.start()
    lay_out()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return {"sentences": float(count), "seconds": took, "peak_mb": peak / 1e6}


def main() -> None:
    """Measure, print, write."""
    found: dict[str, object] = {
        "machine": f"{os.uname().machine}, {os.cpu_count()} cores, Python {sys.version.split()[0]}",
        "load_average": os.getloadavg()[0],
        "decision": decision(),
        "resume": resuming(),
        "start": start_up(known=True),
        "start_with_a_new_card": start_up(known=False),
        "listening": listening(),
        "grammar": grammar(),
    }
    for name, figures in found.items():
        print(f"{name:12} {figures}")
    RESULTS.parent.mkdir(parents=True, exist_ok=True)
    RESULTS.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
