"""How well the embedded recogniser hears: commands, near-misses and dishes that are not on the list, in synthetic kitchen noise.

    python tests/benchmarks/bench_recogniser.py

Every phrase is spoken by three voices (one natural-sounding, two old-fashioned, taken in turn), clean and at four ratios of speech to noise, and
decoded inside the whole English grammar with the fish supper's names; the assistant has just spoken, so no address word is needed (the hardest case
for false commands). Right: the command that the typed phrase gives, slots and all. Wrong: another command would have been carried out. Asked: the
rest. Prints a table and writes results/recogniser.json. About five minutes on an idle core.
"""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from synthetic_voices import Voice, in_kitchen, voices

from assistant.hearing.embedded import Embedded
from assistant.hearing.model import Moonshine
from assistant.hearing.recogniser import RATE
from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import names
from assistant.session.commands import Command
from assistant.understanding.gate import Ear, admit
from assistant.understanding.interpreter import Interpreter

RESULTS = Path(__file__).parent / "results" / "recogniser.json"
MOMENT = Ear(since_spoken_s=1.0, hot_oil=True)
CONDITIONS: tuple[float | None, ...] = (None, 20.0, 10.0, 5.0, 0.0)

COMMANDS = """
what's next
kitchen what's next
repeat that
which step am I on
how long on the chips
how long left
how much longer on the fish
what's running
what did I forget
is the oil hot enough
how many batches are left
how many chips can I drop
when do we eat
are we on time
who can eat the fish
starting the batter mix
kitchen starting the tartare sauce
done with that
the mushy peas are done
finished with the batter mix
chips down
dropping the fish
the battered fish is in
the last piece is in
lifting the chips
the fish is out
kitchen lifting the fish now
two more minutes on the chips
one more minute
another thirty seconds on the fish
give it two more minutes
core is at sixty three
the core is at one forty five
the fish is at one fifty
oil is at three forty
the oil is at one seventy five
oil is at three hundred and sixty five
the thermometer says three twenty five
the oil is at one hundred and eighty degrees celsius
kitchen oil is at two ninety
burner on
burner off
burner up
the burner is down
the test batch is in
the foam has settled
fresh oil
topped up by half a litre
the fish is in the fridge
the chips are on the rack
no thermometer
we're out of salt
a helper is here
the helper has left
running late by ten minutes
we're fifteen minutes late
there are six of us
serve at half past six
serve at seven fifteen
dinner at quarter to eight
drop it anyway
the chips are too pale
they came out soft
go back
skip the peas
set a timer for six minutes
set a clock for seven and a half minutes for the chips
set a timer for fifty minutes
set a timer for fifteen minutes
kitchen set a clock of twelve minutes on the fish
cancel the timer
cancel the clock on the peas
hold everything
carry on
be quiet
speak louder
undo that
fire
the pan's on fire
it's boiling over
the oil's smoking
I burned my hand
oil spill
false alarm
"""

CHATTER = """
what's next door like
carry on camping is on the telly tonight
did you lock the front door
I was thinking we could go to the sea
the samosas are out
how long is your train journey
have you seen my phone
set the table please darling
he fired three people last week
my mother rang about the holiday
two more minutes of this film
there's nothing on the radio
the children are in the garden
dropping the kids at school tomorrow
she burned all the letters
can you pass me the salt
is it going to rain on Sunday
the burner phone was in the drawer
that's the third time this month
I'll have a glass of the red
what did the doctor say
we should paint the kitchen in spring
kitchen cabinets are so expensive
no I don't think he did
turn the music down a bit
they finished the match with ten men
it was three fifty in the sale
I fell off the ladder
the fries at that place were great
are you going to the match on Saturday
serve him right if you ask me
the pan is on the top shelf
we fried the doughnuts yesterday
lifting weights at the gym
the spring rolls are down
onion rings in the oil
the chicken is in the fridge
how many people came
and then she said yes of course
it's half past my bedtime
"""

UNLISTED = """
samosas, spring rolls, onion rings, chicken, doughnuts, prawns, tempura, calamari, tofu, pakoras, churros, mushrooms, halloumi, cod cheeks
sweet potatoes, sprouts, cheese, chops, beans, leeks
"""
ABOUT_DISHES = ("the {} are in", "lifting the {}", "two more minutes on the {}", "how long on the {}")


@dataclass(frozen=True, slots=True)
class Trial:
    """One clip decoded. wanted, done: the command meant and the one that would be carried out; None for none."""

    group: str
    said: str
    voice: Voice
    snr_db: float | None
    wanted: Command | None
    done: Command | None
    heard: str
    reason: str
    decode_ms: float
    length_s: float


def main() -> None:
    """Run it all, print, write."""
    meal_names = names(read_card(find_meal("fish-supper")))
    interpreter = Interpreter(meal_names, "F")
    ear = Embedded.for_session(Moonshine(), interpreter, meal_names)

    def command(words: str) -> Command | None:
        admitted = admit(interpreter.interpret(words), MOMENT)
        return replace(admitted, words="") if isinstance(admitted, Command) else None

    def trial(group: str, said: str, voice: Voice, snr_db: float | None, seed: int) -> Trial:
        clip = in_kitchen(voice.say(said), snr_db, seed)
        heard = ear.recognise(clip)
        done = command(heard.words) if heard.sure else None
        wanted = command(said) if group == "commands" else None
        return Trial(group, said, voice, snr_db, wanted, done, heard.words, heard.reason, heard.decode_ms, clip.size / RATE)

    trials: list[Trial] = []
    for group, phrases, conditions in (
        ("commands", _lines(COMMANDS), CONDITIONS),
        ("chatter", _lines(CHATTER), (None, 10.0, 0.0)),
        ("unlisted", [ABOUT_DISHES[i % 4].format(dish) for i, dish in enumerate(re.split(r", |\n", UNLISTED.strip()))], (None, 10.0)),
    ):
        for i, said in enumerate(phrases):
            if group == "commands" and command(said) is None:
                raise SystemExit(f"'{said}' is no command of the grammar")
            for j, voice in enumerate(_three(i)):
                trials += [trial(group, said, voice, snr, 1_000 * i + 10 * j + int(snr or 50)) for snr in conditions]
    report = _report(trials)
    _print(report, trials)
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(report, indent=1) + "\n")


def _lines(text: str) -> list[str]:
    return text.strip().splitlines()


def _three(i: int) -> tuple[Voice, ...]:
    """One natural-sounding and two old-fashioned voices for phrase i."""
    everyone = voices()
    natural, old = [v for v in everyone if v.natural], [v for v in everyone if not v.natural]
    return natural[i % len(natural)], old[i % len(old)], old[(i + 3) % len(old)]


def _report(trials: list[Trial]) -> dict[str, object]:
    def rates(chosen: Iterable[Trial]) -> dict[str, float]:
        rows = list(chosen)
        right = sum(t.done == t.wanted for t in rows)
        wrong = sum(t.done is not None and t.done != t.wanted for t in rows)
        return {
            "clips": len(rows),
            "right_%": round(100 * right / len(rows), 1),
            "wrong_%": round(100 * wrong / len(rows), 1),
            "asked_%": round(100 * (len(rows) - right - wrong) / len(rows), 1),
        }

    commands = [t for t in trials if t.group == "commands"]
    took = np.array([t.decode_ms for t in commands])
    spoken_s = np.array([t.length_s for t in commands])
    return {
        "commands": {_name(c): rates(t for t in commands if t.snr_db == c) for c in CONDITIONS},
        "commands, natural voices": {_name(c): rates(t for t in commands if t.snr_db == c and t.voice.natural) for c in CONDITIONS},
        "false commands": {
            group: {
                _name(c): [sum(t.done is not None for t in chosen), len(chosen)]
                for c in CONDITIONS
                if (chosen := [t for t in trials if t.group == group and t.snr_db == c])
            }
            for group in ("chatter", "unlisted")
        },
        "decode_ms": {"p50": round(float(np.percentile(took, 50))), "p95": round(float(np.percentile(took, 95)))},
        "load_average_over_5_min": round(os.getloadavg()[1], 1),  # above the number of cores, decode_ms says little
        "clip_s_mean": round(float(spoken_s.mean()), 2),
        "real_time_factor": round(float(took.sum() / 1e3 / spoken_s.sum()), 3),
    }


def _name(snr_db: float | None) -> str:
    return "clean" if snr_db is None else f"{snr_db:.0f} dB"


def _print(report: dict[str, object], trials: list[Trial]) -> None:
    for t in trials:
        if t.done is not None and t.done != t.wanted:
            print(f"  wrong: {_name(t.snr_db):6} {t.voice.name:28} {t.said} -> {t.heard}")
    print(json.dumps(report, indent=1))


if __name__ == "__main__":
    main()
