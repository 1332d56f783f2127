"""`stovehand batch`: the table, the JSON, the chart, and one sentence for what cannot be."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from assistant.commands_batch import batch
from assistant.settings import settings_file

BASE = ["--pot", "26x15", "--oil", "2", "--oil-temp", "163", "--food", "potato sticks 10 mm"]
FIRST = [*BASE, "--power-effective", "2500", "--mass", "0.4", "--food-temp", "20", "--room", "25"]


def _run(*words: str) -> Result:
    return CliRunner().invoke(batch, list(words))


def test_first_worked_example_comes_out() -> None:
    """Regression: with the stated parameters the first worked curve comes out of the command."""
    out = json.loads(_run(*FIRST, "--json").output)
    assert out["lowest_c"] == pytest.approx(153.6, abs=0.1)
    assert out["lowest_at_s"] == pytest.approx(42.0, abs=1.0)
    assert out["recovered_at_s"] == pytest.approx(116.0, abs=1.0)
    curve = {row[0]: row[1:] for row in out["curve"]}
    assert curve[300.0] == pytest.approx([200.5, 168.3], abs=0.2)
    assert out["evaporated_g"] == pytest.approx(curve[360.0][1], abs=0.1)
    assert out["headroom"]["cold_l_max"] == pytest.approx(2.34, abs=0.005)
    assert out["headroom"]["limit"] == "a third of the pot"
    assert set(out["headroom"]) == {"cold_l_max", "limit", "level_mm", "rim_mm"}
    assert out["largest_batch_kg"] == pytest.approx(1.838 / 6, abs=0.001)
    assert out["limited_by"] == "one part food to six of oil"


def test_table_says_the_same() -> None:
    """Without --json a cook reads the lowest temperature, when, recovery, and the largest batch in handfuls."""
    done = _run(*FIRST)
    assert done.exit_code == 0
    for words in ("153.6 °C after 42 s", "116 s", "2.34 l (a third of the pot)", "3 handfuls", "more than the largest batch"):
        assert words in done.output


def test_mass_left_out_is_the_largest_batch() -> None:
    """The curve is then that of the largest batch, which stays above the floor."""
    out = json.loads(_run(*BASE, "--power", "3000", "--floor", "150", "--json").output)
    assert out["limited_by"] == "the oil would get too cold"
    assert out["lowest_c"] == pytest.approx(150.0, abs=0.2)


def test_nominal_and_effective_power() -> None:
    """3 kW of gas is 1.2 kW in the oil; unstated is 1.0 kW."""
    nominal = json.loads(_run(*BASE, "--mass", "0.3", "--power", "3000", "--json").output)
    effective = json.loads(_run(*BASE, "--mass", "0.3", "--power-effective", "1200", "--json").output)
    unstated = json.loads(_run(*BASE, "--mass", "0.3", "--json").output)
    assert nominal["lowest_c"] == effective["lowest_c"] > unstated["lowest_c"]


def test_altitude_is_taken_from_the_settings() -> None:
    """Water boils earlier up there: with `altitude = 3000` the oil falls further; a wrong one is one sentence, exit 2."""
    low = json.loads(_run(*FIRST, "--json").output)["lowest_c"]
    settings_file().parent.mkdir(parents=True)
    settings_file().write_text("altitude = 3000\n")
    assert json.loads(_run(*FIRST, "--json").output)["lowest_c"] < low - 1.0
    settings_file().write_text("altitude = 30000\n")
    wrong = _run(*FIRST)
    assert wrong.exit_code == 2
    assert "no number of metres from 0 to 4000" in wrong.output


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_chart_is_written(tmp_path: Path, ending: str) -> None:
    """--chart draws the curve as a picture of the kind its name asks for."""
    file = tmp_path / f"curve.{ending}"
    assert _run(*FIRST, "--chart", str(file)).exit_code == 0
    head = file.read_bytes()[:200]
    assert (b"<?xml" in head) if ending == "svg" else head.startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--pot", "9"], "is no pot"),
        (["--pot", "26x150"], "height"),
        (["--mass", "nan"], "nan kg"),
        (["--mass", "-1"], "from 0.005 to 10"),
        (["--oil", "0"], "from 0.2 to 40"),
        (["--oil-temp", "900"], "from 110 to 200"),
        (["--power", "3000", "--power-effective", "1200"], "not both"),
        (["--food", "potato sticks"], "needs a size"),
        (["--food", "gravel"], "no food"),
        (["--oil-kind", "engine"], "no oil of the table"),
        (["--floor", "180"], "floor"),
        (["--chart", "curve.gif"], "not 'curve.gif'"),
        (["--chart", "/no/such/folder/curve.svg"], "cannot be written"),
    ],
)
def test_bad_input_is_one_sentence(words: list[str], says: str) -> None:
    """Bad input: exit 2 and one line that says what is wrong."""
    done = _run(*BASE, *words)
    assert done.exit_code == 2
    assert says in done.output
    assert len(done.output.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--oil", "4"], "a third of the pot allows 2.34 l"),
        (["--fresh-oil"], "room for foam over a flame allows 1.72 l"),
        (["--oil-kind", "virgin coconut", "--oil-temp", "185"], "may smoke above 177"),
    ],
)
def test_what_cannot_be_done(words: list[str], says: str) -> None:
    """Too full, or an oil that would smoke: exit 3, with the limit by name."""
    done = _run(*BASE, *words)
    assert done.exit_code == 3
    assert says in done.output


def test_too_full_for_this_batch_still_shows_the_curve() -> None:
    """A batch that breaks headroom is shown, and then refused with exit 3."""
    done = _run(*BASE, "--oil", "2.3", "--mass", "3")
    assert done.exit_code == 3
    assert "°C after" in done.output
    assert "half the pot with food" in done.output


def test_fresh_oil_is_a_test_batch() -> None:
    """With little oil on induction the first drop in fresh oil is a small test batch, and so named."""
    out = json.loads(_run(*BASE, "--oil", "1.5", "--heat", "induction", "--power", "2100", "--fresh-oil", "--json").output)
    assert out["limited_by"] == "the first drop in fresh oil"
    assert out["largest_batch_kg"] <= 0.1


def test_sizing_needs_no_scipy() -> None:
    """The model, headroom, batch sizes and the planner's limits load neither numpy nor scipy nor matplotlib."""
    code = (
        "import sys, assistant.kitchen.limits, assistant.commands_batch\n"
        "assert not {'numpy', 'scipy', 'matplotlib'} & set(sys.modules), sorted(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
