"""How much of a training the program is to carry: tuning voices and phrases, and recorded people, heard by mixtures of it with the original.

    python tests/benchmarks/training/choosing.py OUT TUNING.npz ORIGINAL.npz ENCODER.npz SHARE ... [--jobs 2]

OUT: a folder for each mixture's file and trials. TUNING: the spoken sentences; made where it does not exist (kokoro is needed, as in
training_speech.py). ORIGINAL: original.py's; ENCODER: train_encoder.py's; SHARE: how much of it. What the program carries now comes first.

Commands: those of bench_recogniser and `TUNING_OPEN`, by two of the speakers of kokoro that no training heard (`training_speech.TUNING`) and by two
of the recogniser's tuning voices, in the bench's room and noises; none: chatter and dishes that are not on the list. People: recorded_people's
pieces, picked and written. The rule by which the one in use was chosen, before its figures were known: right less three times wrong, commands and
none together, where of people's pieces no more than two are picked wrongly as recorded, and no more than two more than now in all conditions.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import re
import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import recorded_people as people
from bench_hearing import Bench
from bench_recogniser import ABOUT_DISHES, CHATTER, COMMANDS, UNLISTED
from export_encoder import export, mixed
from hearing_corpus import TUNING_OPEN, lines
from kitchen_sounds import NOISES, PLACES, in_room
from synthetic_voices import voices
from training_speech import TUNING, KokoroSpeaker, kokoro_voice

from assistant.hearing import model
from assistant.hearing.recogniser import Samples
from assistant.hearing.utterance import Utterance
from assistant.session.commands import Intent
from assistant.understanding.gate import Ear

LEVELS: tuple[float | None, ...] = (None, 20.0, 10.0, 5.0, 0.0)


@dataclass(frozen=True, slots=True)
class Trial:
    """accepts: what the open question takes; command: whether the words are one."""

    clip: int
    said: str
    voice: str
    accepts: frozenset[Intent]
    command: bool
    place: str
    noise: str
    snr_db: float | None
    seed: int


def sentences() -> list[tuple[str, frozenset[Intent], bool]]:
    """What is said, what is asked then, and whether it is a command."""
    unlisted = [ABOUT_DISHES[i % 4].format(dish) for i, dish in enumerate(re.split(r", |\n", UNLISTED.strip()))]
    return (
        [(said, frozenset[Intent](), True) for said in lines(COMMANDS)]
        + [(said, takes, True) for takes, block in TUNING_OPEN for said in lines(block)]
        + [(said, frozenset[Intent](), False) for said in [*lines(CHATTER), *unlisted]]
    )


def speak(path: Path) -> None:
    """All sentences by their voices: of what is no command, half as many."""
    said, who, rows = [], [], list[Samples]()
    others = voices()
    for i, (words, _, command) in enumerate(sentences()):
        speakers = [(name, kokoro_voice(KokoroSpeaker({name: 1.0}, {name: 1.0}, 1.0, british=name[0] == "b"))) for name in TUNING[i % 2 :: 2]]
        speakers += [(v.name, v.say) for v in (others[i % 3], others[3 + i % 6])]
        for name, say in speakers if command else speakers[i // 2 % 2 :: 2]:
            said.append(i)
            who.append(name)
            rows.append(say(words))
    data = np.clip(np.concatenate(rows) * 32_767, -32_767, 32_767).astype(np.int16)
    np.savez_compressed(path, said=said, who=who, data=data, ends=np.cumsum([row.size for row in rows]))


def trials(path: Path) -> Iterator[Trial]:
    """Each clip at every level, places and noises dealt at random."""
    rng = np.random.default_rng(21)
    read, known = np.load(path), sentences()
    for clip, (i, voice) in enumerate(zip(read["said"].tolist(), read["who"].tolist(), strict=True)):
        words, accepts, command = known[i]
        for n, snr in enumerate(LEVELS):
            place, noise = str(rng.choice(list(PLACES))), str(rng.choice(list(NOISES)))
            yield Trial(clip, words, voice, accepts, command, place, noise, snr, 10 * clip + n + 500_000)


@cache
def _rows(path: Path) -> list[Samples]:
    read = np.load(path)
    return [row.astype(np.float32) / 32_767 for row in np.split(read["data"], read["ends"][:-1])]


@cache
def _bench() -> Bench:
    return Bench()


def carry(encoder: Path | None) -> None:
    """In a worker: hear by this file; None: by the one that the program carries."""
    if encoder is not None:
        model.ROOM_ENCODER, model.ROOM_ENCODER_SHA256 = encoder, hashlib.sha256(encoder.read_bytes()).hexdigest()


def hear(job: tuple[Path, Trial]) -> dict[str, Any]:
    """One clip: the outcome, the words, the scores."""
    path, trial = job
    bench = _bench()
    bench.accepts = trial.accepts
    heard: Utterance = bench.ear.recognise(in_room(_rows(path)[trial.clip], trial.place, trial.noise, trial.snr_db, trial.seed))
    moment = Ear(since_spoken_s=1.0, hot_oil=True, question_accepts=trial.accepts)
    likeliest, wanted = bench.act(heard.words, moment), bench.act(trial.said, moment) if trial.command else None
    done = likeliest if heard.sure else None
    outcome = "asked" if done is None else "right" if done == wanted else "wrong"
    about = {"voice": trial.voice, "noise": trial.noise, "snr_db": trial.snr_db, "command": trial.command, "said": trial.said}
    found = {"words": heard.words, "reason": heard.reason, "likeliest": trial.command and likeliest == wanted}
    scores = {name: getattr(heard.scores, name) for name in heard.scores.__slots__}
    return about | found | {"outcome": outcome, "scores": scores}


def hear_person(job: tuple[people.Trial, tuple[tuple[str, ...], ...]]) -> tuple[str, str, dict[str, people.Heard]]:
    """One piece: where, which, and what was heard."""
    trial, by = people.hear(*job)
    return trial.condition, trial.piece.name, by


def main() -> None:
    """Hear by each mixture, print."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("out", type=Path)
    options.add_argument("tuning", type=Path)
    options.add_argument("original", type=Path)
    options.add_argument("encoder", type=Path)
    options.add_argument("shares", nargs="+")
    options.add_argument("--jobs", type=int, default=2)
    given = options.parse_args()
    if not given.tuning.exists():
        speak(given.tuning)
    given.out.mkdir(parents=True, exist_ok=True)
    asked, recorded = list(trials(given.tuning)), people.pieces()
    with ProcessPoolExecutor(given.jobs) as pool:
        own = dict(zip([p.name for p in recorded], pool.map(people.alone, recorded, chunksize=4), strict=True))
    kept = [p for p in recorded if p.text or len(own[p.name]) >= people.SHORTEST_WORDS]
    known = tuple(sorted({own[p.name] for p in kept}))
    found: dict[str, Figures] = {}
    for name in ("now", *given.shares):
        encoder = None
        if name != "now":
            encoder = given.out / f"{name}.onnx"
            export(mixed([(1 - float(name), given.original), (float(name), given.encoder)]), encoder)
        with ProcessPoolExecutor(given.jobs, initializer=carry, initargs=(encoder,)) as pool:
            rows = list(pool.map(hear, [(given.tuning, t) for t in asked], chunksize=8))
            heard = list(pool.map(hear_person, [(t, known) for t in people.trials(kept)], chunksize=8))
        (given.out / f"{name}.json").write_text(json.dumps(rows), encoding="utf-8")
        found[name] = _show(name, rows, heard, own)
    now = found["now"]
    allowed = [name for name, f in found.items() if name == "now" or (f.picked[people.AS_RECORDED] <= 2 and f.total <= now.total + 2)]
    print(f"chosen: {max(allowed, key=lambda name: found[name].worth)}")


@dataclass(frozen=True, slots=True)
class Figures:
    """worth: right less three times wrong; picked: people's pieces taken for others, by condition."""

    worth: int
    picked: dict[str, int]

    @property
    def total(self) -> int:
        return sum(self.picked.values())


def _show(name: str, rows: list[dict[str, Any]], heard: list[tuple[str, str, dict[str, people.Heard]]], own: dict[str, tuple[str, ...]]) -> Figures:
    for snr in LEVELS:
        here = [r for r in rows if r["snr_db"] == snr and r["command"]]
        count = Counter(r["outcome"] for r in here)
        print(f"{name} {snr} dB: {len(here)}, right {count['right']}, wrong {count['wrong']}, likeliest {sum(r['likeliest'] for r in here)}")
    count = Counter((r["command"], r["outcome"]) for r in rows)
    right, wrong, taken = (count[which] for which in ((True, "right"), (True, "wrong"), (False, "wrong")))
    print(f"{name}: right {right}, wrong {wrong}, none taken for commands {taken}; {right - 3 * wrong - 3 * taken}")
    found: dict[str, Counter[str]] = {}
    for condition, piece, by in heard:
        row = found.setdefault(condition, Counter())
        for ear, got in by.items():
            row[f"{ear}, picked"] += got.picked != own[piece]
            row[f"{ear}, written"] += people.errors(own[piece], got.written)
    picked = {condition: row["for rooms, picked"] for condition, row in found.items()}
    print(f"{name}: people picked wrongly {sum(picked.values())} {picked}")
    print(f"{name}: people's words, {[(row['original, written'], row['for rooms, written'], row['chosen, written']) for row in found.values()]}")
    sys.stdout.flush()
    return Figures(right - 3 * wrong - 3 * taken, picked)


if __name__ == "__main__":
    main()
