"""Planning, measured. `--instances DIR`: published scheduling instances on the planning core, a JSON line each."""

from __future__ import annotations

import argparse
import csv
import json
import sys
import time
from pathlib import Path

from instances import read_instance

from assistant.planning.solve import solve, warm_up

# proven optimal by two programs, quoted in the README beside the instances; starts in 0..t_max-1
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
        good &= plan.cost == known(path)
        row = {"instance": path.stem, "cost": plan.cost, "bound": plan.bound, "optimal": plan.optimal, "seconds": round(seconds, 3)}
        print(json.dumps(row), flush=True)
    return good


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--instances", type=Path, help="folder with published instances")
    args = parser.parse_args()
    if not args.instances.is_dir():
        print(f"There is no folder {args.instances}.", file=sys.stderr)
        return 2
    return 0 if instances(args.instances) else 1


if __name__ == "__main__":
    sys.exit(main())
