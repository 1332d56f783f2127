"""Planning, measured: plans, slips, evenings, growth. Prints a table and writes results/planning.json; `--instances DIR` runs published
scheduling instances on the planning core instead, a JSON line each."""

from __future__ import annotations

import argparse
import csv
import json
import os
import random
import resource
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

from instances import read_instance

from assistant.kitchen import plan_live as live
from assistant.kitchen.cards import find_meal, list_meals, read_card
from assistant.kitchen.evening import EveningPlan, Setting
from assistant.kitchen.meal import Dish, Equipment, Hold, Meal, Pot, Span, Step, StepKind
from assistant.kitchen.plan_chance import sturdy_plan
from assistant.kitchen.plan_facts import Began, Ended, Fact, Helper, Late, LeftOut, MoreTime, People, ServeAt
from assistant.kitchen.plan_meal import plan_meal
from assistant.planning.problem import Plan
from assistant.planning.solve import solve, warm_up

RESULTS = Path(__file__).parent / "results" / "planning.json"
SERVE = 18.5 * 3600
SLIPS = 100

# proven optimal, quoted in the README beside the instances; starts in 0..t_max-1
WET_OPTIMA = {"j30_1_3": 93, "j30_27_5": 84, "j30_44_8": 97, "j60_19_6": 227, "j60_28_3": 266, "j90_19_7": 460}


def known(path: Path) -> int | None:
    """The published cost of an instance."""
    if path.suffix == ".dzn":
        return WET_OPTIMA.get(path.stem.removesuffix("-wet"))
    with (path.parent / "best_known.csv").open() as file:
        return {row["instance"]: int(row["best_known_makespan"]) for row in csv.DictReader(file)}.get(path.name)


def instances(folder: Path) -> bool:
    """Solve every instance under the folder; True when each cost is the published one."""
    warm_up()
    good = True
    for path in sorted([*folder.rglob("*.dzn"), *folder.rglob("J30_*.txt")]):
        problem = read_instance(path)
        begun = time.perf_counter()
        plan = solve(problem, effort=60.0)
        seconds = time.perf_counter() - begun
        good &= plan.found and plan.cost == known(path)
        row = {"instance": path.stem, "cost": plan.cost, "bound": plan.bound, "optimal": plan.optimal, "seconds": round(seconds, 3)}
        print(json.dumps(row), flush=True)
    return good


def timed(work: object, *args: object, **more: object) -> tuple[float, object]:
    begun = time.perf_counter()
    result = work(*args, **more)  # type: ignore[operator]
    return time.perf_counter() - begun, result


def p95(values: list[float]) -> float:
    return sorted(values)[max(0, round(0.95 * len(values)) - 1)]


def plans(meal: Meal) -> dict[str, object]:
    """Proof and repeatability on the 30 s grid."""
    runs = [timed(plan_meal, meal, SERVE) for _ in range(10)]
    found = [p for _, p in runs]
    first = found[0]
    assert isinstance(first, EveningPlan)
    seconds = sorted(s for s, _ in runs)
    return {
        "tasks": len(first.problem.tasks),
        "optimal": first.optimal,
        "median_s": round(seconds[5], 3),
        "max_s": round(seconds[-1], 3),
        "runs": len(runs),
        "different_plans": len({json.dumps(p.to_dict(), sort_keys=True) for p in found if isinstance(p, EveningPlan)}),
    }


def facts_until(plan: EveningPlan, now: float) -> list[Fact]:
    """An evening by the plan until now."""
    facts: list[Fact] = []
    for t in plan.tasks:
        if t.action in ("heat", "keep", "serve"):
            continue
        if plan.serve_s + t.start_s <= now:
            facts.append(Began(t.id, plan.serve_s + t.start_s))
        if plan.serve_s + t.end_s <= now:
            facts.append(Ended(t.id, plan.serve_s + t.end_s))
    return facts


def slip(rng: random.Random, meal: Meal, plan: EveningPlan) -> tuple[float, list[Fact]]:
    """A random moment and what goes wrong then."""
    now = plan.serve_s + rng.uniform(plan.begin_s(), -60)
    facts = facts_until(plan, now)
    running = [
        t.id for t in plan.tasks if plan.serve_s + t.start_s <= now < plan.serve_s + t.end_s and t.action in ("do", "fry", "bake", "stove", "lift")
    ]
    kind = rng.random()
    if kind < 0.6 and running:
        facts.append(MoreTime(rng.choice(running), rng.choice([60, 120, 240, 420])))
    elif kind < 0.75:
        facts.append(Late(now + rng.choice([120, 300, 600])))
    elif kind < 0.85:
        facts.append(LeftOut(rng.choice([d.id for d in meal.dishes if not d.component])))
    elif kind < 0.93:
        facts.append(ServeAt(plan.serve_s + rng.choice([-600, 600, 1800])))
    else:
        facts.append(rng.choice([Helper(True), People(meal.serves + 2)]))
    return now, facts


def hard_limits_broken(plan: EveningPlan, facts: list[Fact], now: float, answer: EveningPlan, meal: Meal) -> int:
    """Hard rules that an answer breaks: counted in plain Python by the tests' checker."""
    sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))
    from planning_kit import broken

    base = live._resized(plan, tuple(facts), meal)
    problem = live._with_facts(base, tuple(facts), now, 1)
    return len(broken(problem, Plan("feasible", answer.starts, answer.ends, answer.by)))


def slips(meal: Meal) -> dict[str, object]:
    """First answers and adopted plans after random slips."""
    plan = live.for_cooking(meal, plan_meal(meal, SERVE, now_s=SERVE - 8 * 3600))
    rng = random.Random(1)
    quick, full, rows = [], [], []
    broken = adopted = proven = none = 0
    for _ in range(SLIPS):
        now, facts = slip(rng, meal, plan)
        seconds, first = timed(live.shift, plan, facts, now, meal)
        assert isinstance(first, EveningPlan)
        quick.append(seconds)
        seconds, better = timed(live.replan, plan, facts, now, meal)
        full.append(seconds)
        final = first
        if isinstance(better, EveningPlan):
            proven += better.optimal
            if live.worth_it(first, better):
                final, adopted = better, adopted + 1
        else:
            none += 1
        broken += hard_limits_broken(plan, facts, now, final, meal)
        wanted = next((f.serve_s for f in facts if isinstance(f, ServeAt)), plan.serve_s)
        rows.append({"fact": str(facts[-1]), "at_s": round(now - SERVE), "moved_s": round(final.serve_s - wanted), "limits": len(final.broken)})
    return {
        "slips": SLIPS,
        "first_answer_median_ms": round(1000 * sorted(quick)[SLIPS // 2], 2),
        "first_answer_p95_ms": round(1000 * p95(quick), 2),
        "adopted_plan_p95_s": round(p95(full), 3),
        "adopted_plan_max_s": round(max(full), 3),
        "proven_in_time": proven,
        "no_answer": none,
        "adopted": adopted,
        "hard_limits_broken": broken,
        "serving_moved": sum(1 for r in rows if abs(float(str(r["moved_s"]))) >= 60),
        "each": rows,
    }


def chance(meal: Meal) -> dict[str, object]:
    """Chance of landing before and after air."""
    seconds, found = timed(sturdy_plan, meal, SERVE, None, None, Setting())
    return {
        "before": round(found.before, 4),  # type: ignore[attr-defined]
        "after": round(found.chance, 4),  # type: ignore[attr-defined]
        "proposals": [f"{p.words}: {p.chance:.3f}" for p in found.proposals],  # type: ignore[attr-defined]
        "seconds": round(seconds, 2),
    }


def grown(count: int) -> Meal:
    """A meal of so many dishes, a third each fried, baked and simmered, two pots."""
    pots = tuple(Pot(f"pot{n}", f"pot {n}", 0.26, 0.15, 2.0) for n in range(2))
    equipment = Equipment(pots, burners=6, trays=4)
    source = {k: read_card(find_meal(m)).step(s) for k, m, s in (("fry", "fish-supper", "fish-fry"), ("bake", "sunday-thighs", "cauliflower-bake"))}

    def dish(n: int) -> Dish:
        name = f"dish{n}"
        prep = Step(f"{name}-prep", f"{name} prep", (name,), name, StepKind.HANDS, Span(120, 180, 240), 180.0)
        hold = Hold(900, 5400)
        if n % 3 == 0:
            fry = replace(source["fry"], id=f"{name}-fry", dish=name, after=(prep.id,), hold=hold, core_c=None)
            assert fry.fry is not None
            fry = replace(fry, fry=replace(fry.fry, pot=f"pot{n // 3 % 2}", pieces=None, kg=0.3, batches=1))
            return Dish(name, name, (name,), (prep, fry), (), food_kind="fish")
        if n % 3 == 1:
            return Dish(name, name, (name,), (prep, replace(source["bake"], id=f"{name}-bake", dish=name, after=(prep.id,), hold=hold)), ())
        simmer = Step(f"{name}-simmer", name, (name,), name, StepKind.STOVE, Span(480, 600, 720), 60.0, after=(prep.id,), hold=hold)
        return Dish(name, name, (name,), (prep, simmer), ())

    return Meal(f"grown-{count}", "Grown", 4, tuple(dish(n) for n in range(count)), equipment)


def growth(count: int) -> dict[str, object]:
    """Seconds and memory for a meal of so many dishes, in a process of its own."""
    code = f"import bench_planning as b; b.grow({count})"
    out = subprocess.run([sys.executable, "-c", code], cwd=Path(__file__).parent, capture_output=True, text=True, check=True)
    return dict(json.loads(out.stdout))


def grow(count: int) -> None:
    """One line: what planning a meal of so many dishes takes."""
    warm_up()
    seconds, plan = timed(plan_meal, grown(count), SERVE)
    assert isinstance(plan, EveningPlan)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    row = {"dishes": count, "tasks": len(plan.problem.tasks), "seconds": round(seconds, 2), "optimal": plan.optimal, "gap": plan.cost - plan.bound}
    print(json.dumps(row | {"memory_mb": round(peak)}))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--instances", type=Path, help="folder with published instances")
    args = parser.parse_args()
    if args.instances is not None:
        if not args.instances.is_dir():
            print(f"There is no folder {args.instances}.", file=sys.stderr)
            return 2
        return 0 if instances(args.instances) else 1
    warm_up()
    # other work on the machine lengthens every figure: its load is written down with them
    results: dict[str, object] = {"cores": os.cpu_count(), "load": [round(x, 1) for x in os.getloadavg()], "meals": {}, "growth": []}
    heads = (
        ("plan s", 8),
        ("proven", 8),
        ("plans", 7),
        ("first ms p95", 14),
        ("replan s p95", 14),
        ("broken", 8),
        ("moved", 7),
        ("before", 8),
        ("after", 7),
    )
    print(f"{'meal':<16}" + "".join(f"{head:>{wide}}" for head, wide in heads))
    for name, _ in list_meals():
        meal = read_card(find_meal(name))
        a, b, c = plans(meal), slips(meal), chance(meal)
        results["meals"][name] = {"plan": a, "slips": b, "chance": c}  # type: ignore[index]
        print(
            f"{name:<16}{a['max_s']:>8}{a['optimal']!s:>8}{a['different_plans']:>7}{b['first_answer_p95_ms']:>14}{b['adopted_plan_p95_s']:>14}"
            f"{b['hard_limits_broken']:>8}{b['serving_moved']:>7}{c['before']:>8.3f}{c['after']:>7.3f}",
            flush=True,
        )
    print(f"\n{'dishes':>6}{'tasks':>7}{'seconds':>9}{'proven':>8}{'MB':>6}")
    for count in (2, 4, 8, 16):
        row = growth(count)
        results["growth"].append(row)  # type: ignore[attr-defined]
        print(f"{row['dishes']:>6}{row['tasks']:>7}{row['seconds']:>9}{row['optimal']!s:>8}{row['memory_mb']:>6}", flush=True)
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(results, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
