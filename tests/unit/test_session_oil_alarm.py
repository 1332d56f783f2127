"""Oil that gets too hot: one voice, one order of what to do, from the first reading over the mark to a flame."""

from __future__ import annotations

from dataclasses import replace

import pytest
from kitchen_kit import Kit

from assistant.session import events as e
from assistant.session.evolve import replay
from assistant.session.oil_alarm import KINDS

TOO_HOT, NOW, ARMED = "Oil too hot. Burner off.", "Heat off now. Oil far too hot.", "Heat off. Lid ready. No water. Any flame?"
ALARMS = {TOO_HOT, NOW, ARMED, "Nobody answered. Is the burner still on?"}


def at_the_pot() -> tuple[Kit, float]:
    """The burner on full, the test batch out."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "burner on full")
    return kit, t


def read(kit: Kit, t: float, words: str) -> list[str]:
    """The oil is read; whoever is asked whether that is so says yes."""
    said = kit.say(t, f"oil is at {words}")
    return kit.say(t, "yes") if said[-1].endswith("? Sure?") else said


def standing(kit: Kit) -> list[str]:
    """The alarms of the pot that stand."""
    return [k for k in KINDS if f"{k}:big-pot" in kit.state.alerts]


@pytest.mark.parametrize(
    ("words", "says", "kind"), [("three ninety four", TOO_HOT, "hot"), ("four twenty", NOW, "hot-now"), ("four fifty", ARMED, "armed")]
)
def test_a_reading_too_hot_raises_one_alarm(words: str, says: str, kind: str) -> None:
    """201, 216, 232 C with the burner on: too hot, heat off now, fire script armed; each alone, and for a minute nothing else of the oil is said."""
    kit, t = at_the_pot()
    assert [w for w in read(kit, t + 100, words) if w in ALARMS] == [says]
    assert standing(kit) == [kind]
    later = [w for w in kit.wait(t + 160) if w in ALARMS or w.startswith(("Burner", "Turn", "What is the oil", "The oil should"))]
    assert later
    assert [w for w in later if w not in ALARMS] == []
    assert len(standing(kit)) == 1
    assert replay(kit.events) == kit.state


def test_a_worse_alarm_takes_the_place_of_the_lesser() -> None:
    """Too hot, and the heat stays on: the words become heat off now, then the armed ones; never two at once; burner off ends them all."""
    kit, t = at_the_pot()
    read(kit, t + 100, "three ninety four")
    said = []
    for i in range(60):
        said += kit.wait(t + 101 + 10.0 * i)
        assert len(standing(kit)) == 1
    order = list(dict.fromkeys(w for w in said if w in ALARMS))
    assert order[-2:] == [NOW, ARMED]
    assert kit.say(t + 800, "burner off")[0] == "Burner off, noted."
    assert standing(kit) == []
    assert not [q for q in kit.state.questions if q.id.startswith("armed:")]
    assert [w for w in kit.wait(t + 900) if w in ALARMS] == []


def test_with_the_burner_off_nobody_is_told_to_turn_it_off() -> None:
    """A reading that is still too hot is said so calmly; a cooler one is only noted."""
    kit, t = at_the_pot()
    read(kit, t + 100, "four twenty")
    kit.say(t + 105, "burner off")
    assert read(kit, t + 200, "four hundred") == ["Still too hot. Burner stays off, lid ready."]
    assert standing(kit) == []


@pytest.mark.parametrize(("answer", "burns"), [("yes", True), ("no", False)])
def test_the_armed_script_is_one_word_away(answer: str, burns: bool) -> None:
    """Yes to "Any flame?" begins the fire script at once; no leaves the alarm as it is."""
    kit, t = at_the_pot()
    read(kit, t + 100, "four fifty")
    said = kit.say(t + 105, answer)
    assert (kit.state.script is not None and kit.state.script.name == "fire") is burns
    assert ("Heat off, if you can reach it safely." in said) is burns
    assert [x.question for x in kit.events if isinstance(x, e.Asked)].count("armed:big-pot") == 1


def test_a_pot_that_nobody_measured_has_the_same_alarm() -> None:
    """Without a size there is no estimate: the reading itself raises the alarm, a cooler one or the burner off ends it."""
    kit, t = at_the_pot()
    run = kit.state.pots["big-pot"]
    kit.state = replace(kit.state, pots={"big-pot": replace(run, estimate=None, oil_c=None, read_t=None)})
    assert kit.say(t + 10, "oil is at four twenty") == [NOW]
    assert standing(kit) == ["hot-now"]
    kit.say(t + 100, "oil is at three forty")
    assert standing(kit) == []


def test_a_false_alarm_of_hot_oil_asks_for_a_reading() -> None:
    """Whoever says that the oil is not so hot is asked how hot it is; the reading ends the alarm."""
    kit, t = at_the_pot()
    read(kit, t + 100, "four twenty")
    assert kit.say(t + 105, "false alarm") == ["What is the oil at?"]
    kit.say(t + 110, "three hundred")
    assert standing(kit) == []


def test_of_oil_that_nobody_read_it_is_said_that_it_may_be_too_hot() -> None:
    """Only a reading of the last minute is said as what the oil is; what is reckoned may be so."""
    kit, t = at_the_pot()
    said = kit.wait(t + 1200)
    assert "Oil may be too hot. Burner off." in said
    assert not {TOO_HOT, NOW} & set(said)
