"""Evenings for the tests of report and handout: rehearsed from scripts, kept in a real journal."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from assistant.clock import Now
from assistant.ears import interpreter_for
from assistant.journal import Journal
from assistant.kitchen.cards import find_meal, read_card, read_text
from assistant.rehearsal import read_script, rehearse
from assistant.session import events as e
from assistant.settings import Settings
from assistant.understander import Understander

SCENARIOS = Path(__file__).parent.parent / "scenarios"
BEGAN = Now(wall=1_750_000_000.0, elapsed=0.0, boot="test")

TROUBLE = """
# time 16:30
0:00:06 > yes
0:16:00 > done
0:16:20 > make a note the new peeler is far too slow
0:20:00 > done
0:21:30 > done
0:24:00 > done
0:25:00 > the dog is eating the remote
0:25:30 > blah blah blah
0:28:00 > done
0:33:00 > done
0:34:00 > burner on full
0:46:00 > done
0:46:20 > oil is at two sixty
0:46:30 > oil is at two sixty five
0:47:00 > test batch is in
0:48:10 > yes
0:49:00 > dropping the chips
0:49:30 > drop anyway
0:50:00 > chips down
0:51:00 > oil is at two fifty five
0:51:20 > burner on full
0:55:10 > no
0:58:30 > chips out
1:00:00 > oil is at three hundred
1:00:50 > chips are in
1:02:00 > it's foaming up
1:02:20 > no
1:03:00 > burner off
1:04:00 > chips out
1:09:00 > foam has settled
1:14:00 > carry on
1:14:30 > burner on full
1:14:40 > yes
1:15:00 > burner on full
1:18:00 > peas are on
1:24:30 > peas are out
1:28:00 > done
1:30:00 > oil is at three fifty
1:30:30 > dropping the chips
1:31:00 > chips are down
1:34:30 > chips are out
1:34:50 > oil is at three fifty
1:35:20 > dropping the chips
1:35:40 > chips are down
1:39:10 > chips are out
1:39:40 > done
1:40:40 > we are out of lemon
1:41:00 > oil is at three fifty five
1:42:30 > the fish is in
1:48:30 > fish is out
1:49:00 > core is at one thirty
1:50:00 > core is at one fifty
1:50:30 > core is at one fifty
1:51:00 > burner off
1:54:00 > done
1:55:00 > done
1:56:00 > done
2:10:00 > done
"""
"""A fish supper in which much goes wrong: late by hand, a drop made all the same, oil under its floor, foam, a core too low."""

PALE_T = 3530.0
_REHEARSED = {"boil-over": "fish-supper--boil-over", "fritter": "fritter-night--helper-and-hold", "sunday": "sunday-thighs--core-too-low"}


@cache
def evening(name: str) -> tuple[e.Event, ...]:
    """Every event of an evening: `trouble`, or one of the rehearsals in `_REHEARSED`."""
    if name == "trouble":
        with TemporaryDirectory() as folder:
            path = Path(folder) / "fish-supper--trouble.txt"
            path.write_text(TROUBLE, encoding="utf-8")
            events = _rehearsed(path)
            # the first batch came out pale, in a journal of a version that changed nothing for that
            at = next(i for i, x in enumerate(events) if x.t > PALE_T)
            return (*events[:at], e.LookedLike(PALE_T, "chips-first-fry", 2, "pale"), *events[at:])
    return _rehearsed(SCENARIOS / f"{_REHEARSED[name]}.txt")


def _rehearsed(path: Path) -> tuple[e.Event, ...]:
    script = read_script(path)
    card_path = find_meal(path.name.split("--")[0])
    settings = Settings(units=script.units or "F", region=script.region or "US")
    text = card_path.read_text(encoding="utf-8")
    first = begun(text, card_path.name, script.people)
    first = replace(first, day_s=script.day_s, units=settings.units, region=settings.region)
    understander = Understander(interpreter_for(read_card(card_path), settings), settings)
    return (first, *rehearse(script, first, card_path.stem, understander.typed).events)


def begun(card: str, file: str, people: int | None = None) -> e.EveningBegan:
    """The first event of an evening at 16:30."""
    return e.EveningBegan(0.0, card, file, 16.5 * 3600, None, people or read_text(card, file).serves, "F", "US")


def hostile(words: str) -> tuple[e.Event, ...]:
    """The troubled evening with these words wherever a card, a cook or a guest's mouth can put free text."""
    first, *rest = evening("trouble")
    assert isinstance(first, e.EveningBegan)
    plain = "".join(c for c in words if c.isprintable())  # a card with control characters is refused before it is cooked
    quoted = plain.replace("\\", "\\\\").replace('"', '\\"')
    card = first.card.replace("title: Fish supper for two", f'title: "{quoted}"').replace("say: Plate the peas.", f'say: "{quoted}"')
    card = card.replace("done looks like: soft all through", f'done looks like: "{quoted}"')
    told: list[e.Event] = [
        e.Noted(5000.0, words, words),
        e.Heard(5001.0, words, (), "unknown"),
        e.RanOut(5002.0, words),
        e.Placed(5003.0, words, "counter"),
        e.ClockSet(5004.0, words, words, 5005.0),
        e.AlertRaised(5005.0, f"clock:{words}", "high", words, words, words),
        e.WorldFault(5006.0, words, False, words),
        e.HoldBegan(5007.0, words),
        e.HoldEnded(5008.0),
        e.Overruled(5009.0, "fish-fry", 1, (words,)),
        e.LookedLike(5010.0, "chips-first-fry", 1, words),
    ]
    before = [x for x in rest if x.t <= 5000.0]
    return (replace(first, card=card), *before, *told, *(x for x in rest if x.t > 5000.0))


def journal_with(folder: Path, *evenings: tuple[e.Event, ...]) -> Path:
    """A journal in this folder that holds these evenings; the folder."""
    journal = Journal(folder / "journal.sqlite")
    for events in evenings:
        first = events[0]
        assert isinstance(first, e.EveningBegan)
        journal.begin(first, first.file.removesuffix(".yaml"), BEGAN)
        assert journal.append(events[1:], BEGAN)
    journal.close()
    return folder
