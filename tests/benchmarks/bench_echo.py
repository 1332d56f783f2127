"""Whether the cook is heard over the assistant's own speech, with and without taking its echo out of the microphone.

    python tests/benchmarks/bench_echo.py [--trials 42]

The assistant speaks prompts on and on; its sound reaches the microphone through a loudspeaker that bends what is loud (tanh), 60 ms of device delay,
and a simulated room (0.3 m away), so that it lies 10 dB under the cook's words. Over it the cook says one of the commands that are heard then. The
microphone has hiss at -66 dB and no kitchen noise. Everything runs in the real ear: voice activity, endpoints, recognisers, gate. Heard: the command
that was said is handed on, before 1.5 s after its last word. Wrong: another command that acts over speech. `alone`: the assistant speaks, nobody
else does; right is that nothing acts. `guard`: only the few commands count, nothing is taken out; `canceller`: the echo is taken out, too; `no echo`:
what the same words are worth in a quiet room, the most that can be reached. Brackets are 95 % intervals (Wilson); results/echo.json has the counts.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pyroomacoustics as pra
import scipy.signal

sys.path.insert(0, str(Path(__file__).parent))
from figures import wilson
from synthetic_voices import voices

from assistant.ears import build_ear, build_engines, interpreter_for
from assistant.hearing.echo import EchoCanceller
from assistant.hearing.frames import Block, Source, blocks_of
from assistant.hearing.noise import SPEECH_DB, at_level
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.utterance import Utterance
from assistant.kitchen.cards import find_meal, read_card
from assistant.session.commands import Command
from assistant.settings import Settings
from assistant.speaking.voices import RATE as VOICE_RATE
from assistant.speaking.voices import EmbeddedVoice, resample
from assistant.understanding.gate import Ear as Moment
from assistant.understanding.gate import admit

RESULTS = Path(__file__).parent / "results" / "echo.json"
ECHO_DB = -10.0
DEVICE_S = 0.06
LATEST_S = 1.5
SAID = (
    *("quiet", "be quiet", "that's enough", "hold everything", "pause everything", "hold on"),
    *(
        "fire",
        "the pan's on fire",
        "it's foaming up",
        "it's boiling over",
        "the oil's spitting",
        "it's smoking",
        "I burned my hand",
        "there's oil on the floor",
    ),
)
SPOKEN = """
Thirty minutes at the second fry, then lift the chips.
Drop the fish now, six pieces at most.
Turn the burner down a little and wait for the oil.
Salt the chips while they are hot.
Put the peas on the stove with a little water.
The oil is ready in about four minutes.
Next, mix the batter and let it rest in the fridge.
Dinner is at half past six, and you are on time.
Two batches of chips are left, four minutes each.
Check the lid is within reach before the oil gets hot.
"""


@cache
def own_voice() -> EmbeddedVoice:
    """The assistant's."""
    return EmbeddedVoice()


def speech(rng: np.random.Generator, seconds: float) -> Samples:
    """Prompts in the embedded voice, one after the other, at the ear's rate."""
    lines, out, size = SPOKEN.strip().splitlines(), [], 0
    while size < seconds * RATE:
        row = resample(own_voice().synthesise(lines[rng.integers(len(lines))]), VOICE_RATE, RATE)
        out += [row, np.zeros(RATE // 4, np.float32)]
        size += row.size + RATE // 4
    return np.concatenate(out)[: round(seconds * RATE)]


def echo_of(played: Samples) -> Samples:
    """What the microphone hears of it, ECHO_DB under a cook."""
    room = pra.ShoeBox([4.5, 3.6, 2.5], fs=RATE, materials=pra.Material(0.25), max_order=12)
    room.add_source([1.0, 1.7, 1.1])
    room.add_microphone([1.0, 1.4, 1.1])
    room.compute_rir()
    peak = float(np.abs(played).max())
    bent = peak * np.tanh(2.0 * played / peak) / np.tanh(2.0)
    heard = np.concatenate([np.zeros(round(DEVICE_S * RATE)), scipy.signal.fftconvolve(bent, room.rir[0][0])])[: played.size]
    return at_level(heard.astype(np.float32), SPEECH_DB + ECHO_DB)


class Microphone(Source):
    """The mixture; with a canceller, what it leaves."""

    def __init__(self, heard: Samples, played: Samples, canceller: EchoCanceller | None) -> None:
        self._heard, self._played, self._canceller = heard, played, canceller

    def sounds(self) -> Iterator[Block]:
        for block, played in zip(blocks_of([self._heard], RATE), blocks_of([self._played], RATE), strict=True):
            yield block if self._canceller is None else Block(block.start_s, self._canceller.step(block.samples, played.samples))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--trials", type=int, default=42, help="commands said over speech, and half as many stretches of speech alone")
    trials = parser.parse_args().trials
    settings = Settings(vosk=False)
    meal = read_card(find_meal("fish-supper"))
    interpreter = interpreter_for(meal, settings)
    ear = build_ear(interpreter, build_engines(interpreter, meal, settings))
    cooks = [v for v in voices() if v.name != "hibari"]  # that one is the assistant
    counts: dict[str, Counter[str]] = {}

    def acted(name: str, heard: Samples, played: Samples) -> list[tuple[Utterance, Command]]:
        out = []
        for u in ear.listen(Microphone(heard, played, EchoCanceller() if name == "canceller" else None)):
            if isinstance(u, Utterance) and u.sure:
                command = admit(interpreter.interpret(u.words), Moment(speaking=True, hot_oil=True))
                if isinstance(command, Command):
                    out.append((u, command))
        return out

    for trial in range(trials + trials // 2):
        rng = np.random.default_rng(trial)
        alone = trial >= trials
        played = speech(rng, 11.0)
        heard = echo_of(played) + 5e-4 * rng.standard_normal(played.size).astype(np.float32)
        said, cook = SAID[trial % len(SAID)], cooks[(trial // len(SAID) + trial) % len(cooks)]
        end_s = 0.0
        if not alone:
            words = at_level(cook.say(said))
            at = round(rng.uniform(4.0, 6.5) * RATE)
            heard[at : at + words.size] += words
            end_s = (at + words.size) / RATE
            quiet = heard - echo_of(played)
        for name in ("guard", "canceller", *([] if alone else ["no echo"])):
            found = acted(name, quiet if name == "no echo" else heard, played)
            wanted = [c.intent for c in interpreter.interpret(said).meanings()]
            right = [u for u, c in found if c.intent in wanted and u.handed_s <= end_s + LATEST_S and not alone]
            wrong = [u for u, c in found if alone or c.intent not in wanted]
            how = "wrong" if wrong else "right" if right or alone else "missed"
            columns = (
                ["alone"]
                if alone
                else ["all voices", *(["natural voices"] if cook.natural else []), "quiet and hold" if trial % len(SAID) < 6 else "danger"]
            )
            for column in columns:
                counts.setdefault(f"{name}, {column}", Counter())[how] += 1
            if (how != "right" and not alone) or wrong:
                print(f"  {name}: {said!r} by {cook.name}: {how} {[u.words for u, _ in found]}", flush=True)
    report = {}
    for condition, c in sorted(counts.items()):
        n = c.total()
        low, high = wilson(c["right"], n)
        report[condition] = {"n": n, **{how: c[how] for how in ("right", "wrong", "missed")}}
        print(f"{condition:32} n {n:4}  heard {100 * c['right'] / n:5.1f} % ({low:.0f} to {high:.0f})  wrong {c['wrong']}")
    RESULTS.write_text(json.dumps(report, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
