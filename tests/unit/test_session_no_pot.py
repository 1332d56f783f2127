"""A meal in which nothing is fried: whatever is said, nothing breaks, before and after a danger."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from kitchen_kit import Kit

from assistant.session.commands import SLOTS, Command, Intent

CARD = """title: Peas
serves: 2
kitchen:
  burners: 2
dishes:
  peas:
    steps:
      boil:
        kind: stove
        takes: 10 minutes
        say: Boil the peas.
        first look: 6 minutes
        done looks like: soft
"""


VALUES: dict[str, Any] = {
    "item": "peas",
    "seconds": 120.0,
    "celsius": 63.0,
    "litres": 0.5,
    "day_s": 70_000.0,
    "count": 4,
    "place": "fridge",
    "level": "on",
    "look": "pale",
    "hazard": "fire",
    "text": "more salt",
}
COMMANDS = [Command(intent, **{slot: VALUES[slot] for slot in SLOTS.get(intent, (frozenset(),))[0]}) for intent in Intent]


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> str:
    path: Path = tmp_path_factory.mktemp("card") / "peas.yaml"
    path.write_text(CARD, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("danger", [None, Intent.SMOKING, Intent.BOILING_OVER, Intent.FIRE], ids=str)
def test_every_command_is_answered(card: str, danger: Intent | None) -> None:
    """Each in an evening of its own, at peace or once the words for a danger are over: it is no exception."""
    for command in COMMANDS:
        kit = Kit(card)
        kit.say(5, "yes")
        if danger is not None:
            kit.do(10, Command(danger))
            for t in range(20, 260, 12):
                kit.say(t, "yes")
        for t in (300, 310):
            kit.do(t, command)
            kit.say(t + 5, "yes")


@pytest.mark.parametrize("level", ["on", "full", "up", "down", "off"])
def test_a_burner_without_a_pot_is_noted(card: str, level: str) -> None:
    """It is the cook's own affair; the report is echoed, the order handed back."""
    kit = Kit(card)
    kit.say(5, "yes")
    assert kit.say(10, f"burner {level}") == [f"Burner {level}, noted."]
    assert kit.say(20, f"turn the burner {level}") == [f"You turn it: I cannot. Is it {level} now?"]
    assert kit.say(25, "yes") == [f"Burner {level}, noted."]
