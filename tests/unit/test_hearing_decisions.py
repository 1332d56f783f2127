"""What is going on helps to decide what was said, and never outvotes a clear sound."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
import scipy.signal
from hibari import Hibari

from assistant.hearing.belief import belief, danger_belief
from assistant.hearing.embedded import MOST_PRIOR, Embedded
from assistant.hearing.model import Moonshine
from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import names
from assistant.session.commands import DANGER, Command, Intent
from assistant.understanding.expecting import BARE, OPEN, SELDOM, SENSELESS, Moment, expected, senseless
from assistant.understanding.interpreter import Interpreter


@pytest.mark.parametrize(
    ("meanings", "accepts", "nats"),
    [
        ((Command(Intent.YES),), (), -BARE),
        ((Command(Intent.ANSWER, celsius=170.0),), (Intent.YES, Intent.NO), -BARE),
        ((Command(Intent.NO),), (Intent.YES, Intent.NO), OPEN),
        ((Command(Intent.LIFT), Command(Intent.YES)), (), 0.0),
        ((Command(Intent.LIFT), Command(Intent.YES)), (Intent.YES,), OPEN),
        ((Command(Intent.WHATS_NEXT),), (Intent.YES,), 0.0),
        ((), (Intent.YES,), 0.0),
    ],
)
def test_bare_answers_are_likely_only_when_asked_for(meanings: tuple[Command, ...], accepts: tuple[Intent, ...], nats: float) -> None:
    """Unasked they lose, asked for they gain; a sentence that also means something else loses nothing."""
    assert expected(meanings, Moment(frozenset(accepts))) == nats


@pytest.mark.parametrize(
    ("command", "moment", "is_senseless"),
    [
        (Command(Intent.LIFT), Moment(in_heat=False, clocks=False), True),
        (Command(Intent.LIFT), Moment(in_heat=True), False),
        (Command(Intent.LIFT), Moment(), False),  # nothing is known
        (Command(Intent.CANCEL_CLOCK), Moment(clocks=False), True),
        (Command(Intent.CANCEL_CLOCK), Moment(clocks=True), False),
        (Command(Intent.BEGIN, item="butter"), Moment(raw=frozenset({"butter"})), True),
        (Command(Intent.SKIP, item="capers"), Moment(raw=frozenset({"capers"})), False),  # "leave out the capers"
        (Command(Intent.DROP, item="peas"), Moment(uncooked=frozenset({"peas"})), True),
        (Command(Intent.OIL_TEMP, celsius=60.0), Moment(oil_c=170.0), True),
        (Command(Intent.OIL_TEMP, celsius=215.0), Moment(oil_c=140.0), False),  # hotter than thought: the one to hear
        (Command(Intent.OIL_TEMP, celsius=60.0), Moment(), False),
        (Command(Intent.SET_CLOCK, seconds=420.0), Moment(), False),
        (Command(Intent.SET_CLOCK, seconds=153 * 60.0), Moment(), True),
        (Command(Intent.MORE_TIME, seconds=20.0), Moment(), False),
        (Command(Intent.MORE_TIME, seconds=107.0), Moment(), True),
        (Command(Intent.SERVE_AT, day_s=19.25 * 3600), Moment(), False),
        (Command(Intent.SERVE_AT, day_s=19.0 * 3600 + 53 * 60), Moment(), True),
        (Command(Intent.HEADCOUNT, count=372), Moment(), True),
    ],
)
def test_what_makes_no_sense_now_is_less_likely(command: Command, moment: Moment, is_senseless: bool) -> None:
    """Lifting from an empty pot, a clock of 153 minutes: a little less likely, unless the same words also mean something that makes sense."""
    assert senseless(command, moment) == is_senseless
    assert expected((command,), moment) == (-SENSELESS if is_senseless else 0.0)
    assert expected((command, Command(Intent.WHATS_NEXT)), moment) == 0.0


@pytest.mark.parametrize(
    ("command", "nats"),
    [
        (Command(Intent.SERVE_AT, day_s=19.25 * 3600), 0.0),
        (Command(Intent.SERVE_AT, day_s=19.0 * 3600 + 50 * 60), -SELDOM),
        (Command(Intent.SET_CLOCK, seconds=9 * 60.0), 0.0),
        (Command(Intent.SET_CLOCK, seconds=12 * 60.0), 0.0),
        (Command(Intent.SET_CLOCK, seconds=14 * 60.0), -SELDOM),
        (Command(Intent.SET_CLOCK, seconds=40 * 60.0), 0.0),
        (Command(Intent.MORE_TIME, seconds=14 * 60.0), 0.0),
    ],
)
def test_figures_seldom_said_are_a_little_less_likely(command: Command, nats: float) -> None:
    """Dinner at ten to eight, a clock of 14 minutes: less so than what makes no sense, and not where the words also mean something else."""
    assert expected((command,), Moment()) == nats > -SENSELESS
    assert expected((command, Command(Intent.WHATS_NEXT)), Moment()) == 0.0


@pytest.mark.parametrize("danger", sorted(DANGER))
def test_danger_is_never_less_likely(danger: Intent) -> None:
    """Whatever question is open, or none, danger words get no penalty and no help."""
    for accepts in itertools.combinations([Intent.YES, Intent.ANSWER, danger], 2):
        assert expected((Command(danger),), Moment(frozenset(accepts))) == expected((Command(danger),), Moment()) == 0.0


def test_a_clear_utterance_wins_against_any_prior() -> None:
    """A prior that wants another command at any price is held to a few nats: what was clearly said is heard and believed; the score it
    gets from the prior shows in the margin alone, and by no more than twice the limit."""
    interpreter, model = Interpreter(names(read_card(find_meal("fish-supper")))), Moonshine()
    sound = scipy.signal.resample_poly(Hibari()("Set a timer for fifty minutes.", seed=0), 2, 3).astype(np.float32)
    asked: list[str] = []

    def fifty(words: str) -> bool:
        return any(c.seconds == 3_000.0 for c in interpreter.interpret(words).meanings())

    def against(words: str) -> float:
        asked.append(words)
        return -1e9 if fifty(words) else 1e9

    def meaning(words: str) -> tuple[Command, ...] | None:
        return tuple(replace(c, words="") for c in interpreter.interpret(words).meanings()) or None

    plain = Embedded(model, interpreter.automaton, meaning=meaning).recognise(sound)
    pushed = Embedded(model, interpreter.automaton, meaning=meaning, prior=against).recognise(sound)
    assert asked
    assert plain.words == pushed.words
    assert interpreter.interpret(pushed.words).meanings()[0].seconds == 3_000.0
    assert plain.scores.margin is not None
    assert pushed.scores.margin is not None
    assert plain.scores.margin - 2 * MOST_PRIOR - 1.0 <= pushed.scores.margin < plain.scores.margin
    assert pushed.scores.pmi == pytest.approx(plain.scores.pmi, abs=0.1)


def test_ways_to_write_a_temperature_are_one_where_one_is_asked_for() -> None:
    """ "Three forty" and "340" are rivals while nobody asks for a temperature, for one could be a time of day; to "How hot is the oil?" they are the
    same answer, and the margin is to another number."""
    said = names(read_card(find_meal("fish-supper")))
    interpreter, model = Interpreter(said, "F"), Moonshine()
    sound = scipy.signal.resample_poly(Hibari()("Three forty.", seed=0), 2, 3).astype(np.float32)
    unasked = Embedded.for_session(model, interpreter, said).recognise(sound)
    asked = Embedded.for_session(model, interpreter, said, moment=lambda: Moment(frozenset({Intent.ANSWER, Intent.OIL_TEMP}))).recognise(sound)
    assert asked.sure
    assert asked.scores.margin is not None
    assert unasked.scores.margin is not None
    assert asked.scores.margin > unasked.scores.margin + 1.0


def test_one_sum_decides() -> None:
    """A wide margin makes up for faint support and the other way round; the reason named is what lies farthest under clear speech."""
    assert belief(1.2, 7.0, -0.1, -1.0, 6, None)[0] > 0.0 > belief(1.2, 1.0, -0.1, -1.0, 6, None)[0]
    assert belief(4.5, 1.0, -0.1, -1.0, 6, None)[0] > 0.0
    assert belief(3.0, 6.0, -5.0, -1.0, 6, None)[1] == "end"
    assert belief(0.0, 6.0, -0.1, -0.4, 6, None)[1] == "pmi"


def test_a_danger_may_be_a_little_less_likely() -> None:
    """A danger that is a nat behind another sentence is believed where the same scores would not do for a command."""
    assert danger_belief(3.0, -1.0, -0.1, 3) > 0.0 > belief(3.0, -1.0, -0.1, -2.5, 3, None)[0]
