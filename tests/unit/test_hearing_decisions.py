"""What is going on helps to decide what was said, and never outvotes a clear sound."""

import itertools

import numpy as np
import pytest
import scipy.signal
from hibari import Hibari

from assistant.hearing.embedded import MOST_PRIOR, Embedded
from assistant.hearing.model import Moonshine
from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import names
from assistant.session.commands import DANGER, Command, Intent
from assistant.understanding.expecting import BARE, OPEN, expected
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
    assert expected(meanings, accepts) == nats


@pytest.mark.parametrize("danger", sorted(DANGER))
def test_danger_is_never_less_likely(danger: Intent) -> None:
    """Whatever question is open, or none, danger words get no penalty and no help."""
    for accepts in itertools.combinations([Intent.YES, Intent.ANSWER, danger], 2):
        assert expected((Command(danger),), accepts) == expected((Command(danger),), ()) == 0.0


def test_a_clear_utterance_wins_against_any_prior() -> None:
    """A prior that wants another command at any price is held to a few nats: what was clearly said is heard and believed; the score it
    gets from the prior shows in the margin alone, and by no more than twice the limit."""
    said = names(read_card(find_meal("fish-supper")))
    interpreter, model = Interpreter(said), Moonshine()
    sound = scipy.signal.resample_poly(Hibari()("Set a timer for twelve minutes.", seed=0), 2, 3).astype(np.float32)
    asked: list[tuple[Command, ...]] = []

    def against(meanings: tuple[Command, ...]) -> float:
        asked.append(meanings)
        return -1e9 if any(c.seconds == 720.0 for c in meanings) else 1e9

    plain = Embedded.for_session(model, interpreter, said).recognise(sound)
    pushed = Embedded.for_session(model, interpreter, said, prior=against).recognise(sound)
    assert asked
    assert plain.words == pushed.words
    assert interpreter.interpret(pushed.words).meanings()[0].seconds == 720.0
    assert plain.scores.margin is not None
    assert pushed.scores.margin is not None
    assert plain.scores.margin - 2 * MOST_PRIOR - 1.0 <= pushed.scores.margin < plain.scores.margin
    assert pushed.scores.pmi == pytest.approx(plain.scores.pmi, abs=0.1)
