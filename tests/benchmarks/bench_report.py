"""How long a report, a handout and a card of a three-hour evening take, from the journal to the files, in a fresh process each time.

Writes `results/report.json`. The evening is the troubled fish supper of the unit tests with its clock stretched, so that the pot is watched for all
of that time.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import time
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "unit"))

import report_kit as kit  # noqa: E402

from assistant.rehearsal import kitchen_stamp  # noqa: E402

STRETCH = 1.4
RUNS = 5
GOAL_S = 3.0


def stretched(script: str) -> str:
    """The script with every time this much later."""

    def later(found: re.Match[str]) -> str:
        h, m, s = (int(x) for x in found.groups())
        return kitchen_stamp((3600 * h + 60 * m + s) * STRETCH)

    return re.sub(r"(?m)^(\d):(\d\d):(\d\d)", later, script)


def seconds(args: list[str]) -> float:
    """Wall seconds of one run of the command line."""
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", "from assistant.cli import main; main()", *args], check=True, capture_output=True)
    return time.perf_counter() - began


def main() -> None:
    """Print a table and write the figures."""
    kit.TROUBLE = stretched(kit.TROUBLE)
    events = kit.evening("trouble")
    figures: dict[str, float] = {"hours": round(events[-1].t / 3600.0, 2), "events": len(events)}
    with TemporaryDirectory() as folder:
        data = kit.journal_with(Path(folder) / "data", events)
        page = Path(folder) / "page.html"
        runs = {
            "start and list": ["evenings", "--data", str(data)],
            "report, csv, json": ["report", "-o", str(page), "--data", str(data)],
            "handout, card": ["handout", "-o", str(page), "--card", str(Path(folder) / "card.yaml"), "--data", str(data)],
        }
        for name, args in runs.items():
            figures[f"{name}, s"] = round(median(seconds(args) for _ in range(RUNS)), 2)
        seconds(runs["report, csv, json"])
        figures["report page, kB"] = round(page.stat().st_size / 1000.0, 1)
    for name, value in figures.items():
        print(f"{name:<24}{value:>10}")
    (HERE / "results").mkdir(exist_ok=True)
    (HERE / "results" / "report.json").write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    if figures["report, csv, json, s"] > GOAL_S:
        sys.exit(f"The report took longer than {GOAL_S:g} s.")


if __name__ == "__main__":
    main()
