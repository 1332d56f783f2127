"""Figures in the README are those that the benchmarks wrote: who measures anew is told what to write."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
STEPS = ("clean", "20 dB", "10 dB", "5 dB", "0 dB")


def results(name: str) -> Any:
    """What a benchmark wrote."""
    return json.loads((ROOT / "tests" / "benchmarks" / "results" / f"{name}.json").read_text(encoding="utf-8"))


def row(found: dict[str, dict[str, float]]) -> str:
    """A row of the table of hearing: right, in brackets wrong but acted on."""
    wrong = {s: f"{found[s]['wrong_%']:.1f}" if found[s]["wrong_%"] else "0" for s in STEPS}
    cells = [f"{found[s]['right_%']:.0f}{' %' if s == 'clean' else ''} ({wrong[s]})" for s in STEPS]
    return " | ".join(cells)


def engine() -> list[str]:
    found = results("engine")
    decision, resume, listening = found["decision"], found["resume"], found["listening"]
    known, new = found["start"], found["start_with_a_new_card"]
    return [
        f"a meal of {decision['steps']} steps; resuming an evening of {round(resume['events'], -2):,} events | "
        f"{decision['median_ms']:.1f} ms; {resume['median_s']:.2f} s |",
        f"{listening['ready_s']:.1f} s; {listening['memory_mb']:.0f} MB; {100 * listening['core_share']:.0f} % of a core |",
        f"{known['first_words_s']:.2f} s, of the processor {known['processor_s']:.2f}; with a card not read before {new['first_words_s']:.2f} and "
        f"{new['processor_s']:.2f} (load {known['load_average']:.0f}; goal 0.3)",
    ]


def planning() -> list[str]:
    found = results("planning")
    meals = found["meals"].values()
    slips = [m["slips"] for m in meals]
    seconds = ", ".join(f"{x['seconds']:.2f}" for x in found["growth"])
    assert all(m["plan"]["optimal"] and m["plan"]["different_plans"] == 1 for m in meals)
    rare = min(meals, key=lambda m: m["chance"]["before"])["chance"]
    moved, broken, of = (sum(x[what] for x in slips) for what in ("serving_moved", "hard_limits_broken", "slips"))
    middle, most, solver = (max(x[what] for x in slips) for what in ("first_answer_median_ms", "first_answer_p95_ms", "adopted_plan_p95_s"))
    return [
        f"each within {max(m['plan']['max_s'] for m in meals):.1f} s (load {found['load'][0]:.1f})",
        f"{moved} of {of} move serving, {broken} break a hard limit",
        f"first answer in {middle:.0f} ms in the middle and {most:.0f} in 95 of 100 (goal 20), the solver's in {solver:.2f} s",
        f"{100 * rare['before']:.0f} % and {100 * rare['after']:.0f} %",
        f"{seconds} s and {max(x['memory_mb'] for x in found['growth'])} MB",
    ]


def latency() -> list[str]:
    found = results("latency")
    parts = found["parts_ms"]
    decision, whole, danger = (
        [ms / 1000 for ms in parts[kind][which]] for kind, which in (("commands", "decision"), ("commands", "whole"), ("danger", "whole"))
    )
    return [
        f"End of speech to decision: {decision[0]:.2f} s in the middle, {decision[1]:.2f} in 95 of 100; "
        f"to first sound {whole[0]:.2f} and {whole[1]:.2f} s, after danger words {danger[0]:.2f} and {danger[1]:.2f} s (`bench_latency.py`)",
        f"the whole program {found['live_memory_mb']} MB at most",
    ]


def recogniser() -> list[str]:
    found = results("recogniser")
    chatter = found["false commands"]["chatter"].values()
    return [
        row(found["commands"]),
        row(found["commands, natural voices"]),
        f"Chatter taken for a command: {sum(n for n, _ in chatter)} of {sum(of for _, of in chatter)} clips",
    ]


def korean() -> list[str]:
    found = results("korean_loop")
    return [f"{found['lines']['heard']} of {found['lines']['of']} chosen lines, {found['grammar']['heard']} of {found['grammar']['of']} sentences"]


def oil() -> list[str]:
    found = results("oil")
    whole, low = found["all"], "lowest_after_two_batches_k"
    apart, front, start = found["apart"][low]["p95"], found["front"][low]["p95"], found["batch_cold_start_s"]
    return [
        f"the oil, {whole['pots']} simulated pots | within {whole['ready_in_s']['p95']:.0f} s in 95 of 100 |",
        f"within 5 K in {100 * whole[low]['within_5']:.0f} of 100, {whole[low]['p95']:.1f} K in 95 (goal 5: not reached; {apart:.1f} where "
        f"the pot is as the model has it, {front:.1f} where a front recedes into the food)",
        f"{100 * whole['drops_outside_window_ungated']:.1f} % and {100 * whole['drops_outside_window_gated']:.1f} %; "
        f"false holds {100 * whole['false_holds']:.1f} %",
        f"`stovehand batch` from a cold start | {start['wall']:.2f} s by the clock, of the processor {start['processor']:.2f}",
    ]


@pytest.mark.parametrize("figures", [engine, planning, latency, recogniser, korean, oil], ids=lambda f: f.__name__)
def test_figures_are_the_measured_ones(figures: Any) -> None:
    """Each phrase with its figures, as rounded there, stands in the README."""
    text = " ".join(README.split())
    assert [phrase for phrase in figures() if " ".join(phrase.split()) not in text] == []
