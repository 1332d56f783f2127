"""Recorded people, heard by the original encoder, by the one for rooms, and as the recogniser has them hear.

Synthetic voices rank recognisers; an encoder trained on them may drift away from people, which only people can show. Two sets, fetched through their
own package indexes, kept in build/people and never committed:
- the test recordings in pocketsphinx' source distribution (BSD-like licence): a reader of a novel, playing cards and commands in an office, texts
  known;
- the English prompts of Debian's asterisk-core-sounds-en-g722 (CC BY-SA 3.0): one professional speaker, texts not in the package.

Each piece is heard as it was recorded, then in the bench's room and its noises (without the second talker, whose words would count), in two ways:
- picked: the search finds it among the sentences of all pieces, as a command is found in a grammar. Counted: another sentence was likelier;
- written: free decoding. Counted: words put in, left out or changed, against what the original writes for the recording as it is (which counts
  nothing against it there), and for the first set against the true text as well.
Intervals are 95 %, bootstrapped over pieces; `more` is how many more errors there are than with the original, on the same pieces.
"""

from __future__ import annotations

import io
import re
import subprocess
import sys
import tarfile
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, lru_cache, partial
from pathlib import Path
from typing import Any

import numpy as np
import scipy.signal
from figures import level, spread
from kitchen_sounds import NOISES, PLACES, in_room

from assistant.hearing.closeness import close
from assistant.hearing.embedded import plain
from assistant.hearing.model import Moonshine, Sound, seconds
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.search import Search

FOLDER = Path(__file__).parents[2] / "build" / "people"
PIP = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--no-binary", "pocketsphinx", "pocketsphinx==5.1.1"]
PROMPTS = "asterisk-core-sounds-en-g722"
APT = ["apt-get", "-q", "download", PROMPTS]
SHORTEST_S, LONGEST_S = 1.2, 8.0
PROMPTS_DRAWN = 150
SHORTEST_WORDS = 3
"""A piece with fewer words says too little to be told from others."""
LEVELS: tuple[float | None, ...] = (None, 20.0, 10.0, 5.0, 0.0)
EARS = ("original", "for rooms", "chosen")
AS_RECORDED = "as recorded"
COMMANDS = {"goforward": "go forward ten meters", "something": "go somewhere and do something"}


@dataclass(frozen=True, slots=True)
class Piece:
    """One recording. text: what is said, where that is known."""

    name: str
    sound: Samples
    text: str = ""


@dataclass(frozen=True, slots=True)
class Trial:
    """One hearing of a piece. snr_db None and no place: as it was recorded."""

    piece: Piece
    place: str
    noise: str
    snr_db: float | None
    seed: int

    @property
    def condition(self) -> str:
        return level(self.snr_db) if self.place else AS_RECORDED


def pieces() -> list[Piece]:
    """All recordings, out of build/people if they are there, else fetched. SystemExit says what could not be had."""
    kept = FOLDER / "pieces.npz"
    if not kept.exists():
        found = [
            *read_sphinx(_fetch("pocketsphinx-*.tar.gz", PIP)),
            *read_prompts(_fetch(f"{PROMPTS}_*.deb", ["apt-get", "-q", "download", PROMPTS])),
        ]
        rows = [np.round(np.clip(p.sound, -1, 1) * 32_767).astype(np.int16) for p in found]
        names, texts = [p.name for p in found], [p.text for p in found]
        np.savez_compressed(kept, names=names, texts=texts, rows=np.concatenate(rows), ends=np.cumsum([row.size for row in rows]))
    with np.load(kept) as read:
        rows = np.split(read["rows"], read["ends"][:-1])
        return [
            Piece(str(name), row.astype(np.float32) / 32_767, str(text)) for name, text, row in zip(read["names"], read["texts"], rows, strict=True)
        ]


def _fetch(pattern: str, command: list[str]) -> Path:
    FOLDER.mkdir(parents=True, exist_ok=True)
    if not list(FOLDER.glob(pattern)):
        try:
            subprocess.run(command, cwd=FOLDER, check=True)
        except (OSError, subprocess.CalledProcessError) as error:
            raise SystemExit(f"{pattern} could not be fetched into {FOLDER}: {error}") from None
    return next(FOLDER.glob(pattern))


def read_sphinx(archive: Path) -> Iterator[Piece]:
    """The test recordings, 16-bit, those of another rate resampled."""
    import soundfile

    with tarfile.open(archive) as files:
        inside = {Path(m.name).name: m for m in files.getmembers() if "/test/data/" in m.name and m.isfile()}

        def read(name: str) -> bytes:
            data = files.extractfile(inside[name])
            assert data is not None
            return data.read()

        texts: dict[str, str] = {}
        for listing in ("transcription", "cards.transcription"):
            texts |= {name: said.strip() for said, name in re.findall(r"<s>(.*?)</s> \((.*?)\)", read(listing).decode())}
        for name, text in texts.items():
            sound, rate = soundfile.read(io.BytesIO(read(f"{name}.wav")), dtype="float32")
            yield Piece(name, scipy.signal.resample_poly(sound, RATE, rate).astype(np.float32), text)
        for name, text in COMMANDS.items():
            yield Piece(name, np.frombuffer(read(f"{name}.raw"), "<i2").astype(np.float32) / 32_768, text)


def read_prompts(package: Path) -> Iterator[Piece]:
    """So many of the prompts, drawn at random: G.722 at 64 kbit/s, 16 kHz."""
    from G722 import G722

    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["dpkg-deb", "-x", str(package), folder], check=True)
        files = [f for f in sorted(Path(folder).rglob("en_US*/**/*.g722")) if SHORTEST_S <= f.stat().st_size / 8_000 <= LONGEST_S]
        for k in np.random.default_rng(3).permutation(len(files))[:PROMPTS_DRAWN]:
            yield Piece(files[k].stem, np.asarray(G722(RATE, 64_000).decode(files[k].read_bytes()), np.float32) / 32_768)


class Sentences:
    """A grammar of nothing but these sentences."""

    start = 0

    def __init__(self, sentences: Iterable[tuple[str, ...]]) -> None:
        self._after: list[dict[str, int]] = [{}]
        self._final: set[int] = set()
        for sentence in sentences:
            state = 0
            for word in sentence:
                if word not in self._after[state]:
                    self._after[state][word] = len(self._after)
                    self._after.append({})
                state = self._after[state][word]
            self._final.add(state)

    def arcs(self, state: int) -> Iterable[tuple[str, int]]:
        return self._after[state].items()

    def final(self, state: int) -> bool:
        return state in self._final

    def free(self, state: int) -> bool:
        return False


@cache
def _model() -> Moonshine:
    return Moonshine()


def written(model: Moonshine, sound: Sound, row: Samples) -> tuple[str, ...]:
    """What is written freely."""
    tokens, _ = model.free(sound, seconds(row))
    return tuple(plain(model.tokenizer.decode(tokens)).replace("-", " ").split())


def alone(piece: Piece) -> tuple[str, ...]:
    """In a worker: the original's words for the recording as it is."""
    row = edged(piece.sound)
    return written(_model(), _model().listen(row), row)


def edged(sound: Samples) -> Samples:
    """With a little silence around it, as an utterance is cut."""
    return np.pad(sound, int(0.3 * RATE))


@lru_cache(maxsize=1)
def _search(sentences: tuple[tuple[str, ...], ...]) -> Search:
    return Search(_model(), Sentences(sentences))


@dataclass(frozen=True, slots=True)
class Heard:
    """By one ear: the words written, and the sentence picked."""

    written: tuple[str, ...]
    picked: tuple[str, ...]


def hear(trial: Trial, sentences: tuple[tuple[str, ...], ...]) -> tuple[Trial, dict[str, Heard]]:
    """In a worker: what each ear hears."""
    row = in_room(trial.piece.sound, trial.place, trial.noise, trial.snr_db, trial.seed) if trial.place else edged(trial.piece.sound)
    by = {}
    for ear in EARS[:2]:
        sound = _model().listen(row, room=ear == "for rooms")
        complete = _search(sentences).find(sound).complete
        by[ear] = Heard(written(_model(), sound, row), complete[0].words[0] if complete else ())
    free = by["original" if close(row) else "for rooms"]
    return trial, by | {"chosen": Heard(free.written, by["for rooms"].picked)}


def errors(wanted: Sequence[str], got: Sequence[str]) -> int:
    """Words to be put in, taken out or changed (Levenshtein).

    >>> errors("go forward ten meters".split(), "go for ten meters please".split())
    2
    """
    row = list(range(len(got) + 1))
    for i, word in enumerate(wanted, 1):
        before, row = row, [i]
        for j, other in enumerate(got, 1):
            row.append(min(before[j] + 1, row[-1] + 1, before[j - 1] + (word != other)))
    return row[-1]


def trials(chosen: list[Piece]) -> Iterator[Trial]:
    """Each piece as recorded and once at every level, places and noises dealt at random."""
    rng = np.random.default_rng(11)
    noises = [name for name in NOISES if name != "talker"]
    for k, piece in enumerate(chosen):
        yield Trial(piece, "", "", None, 0)
        for n, snr in enumerate(LEVELS):
            yield Trial(piece, str(rng.choice(list(PLACES))), str(rng.choice(noises)), snr, 10 * k + n)


def share(wrong: list[int], words: list[int]) -> dict[str, Any]:
    """Errors in a hundred words and their interval."""
    rng = np.random.default_rng(5)
    e, n = np.array(wrong), np.array(words)
    drawn = rng.integers(0, len(e), (2_000, len(e)))
    low, high = np.percentile(100 * e[drawn].sum(1) / n[drawn].sum(1), (2.5, 97.5))
    return {"per_cent": round(100 * float(e.sum() / n.sum()), 1), "95_%": [round(float(low), 1), round(float(high), 1)]}


def table(found: list[tuple[Trial, dict[str, Heard]]], wrong: Callable[[Trial, Heard], int], weight: Callable[[Trial], int]) -> dict[str, Any]:
    """Condition -> pieces, errors of each ear; weight: how many errors a piece has room for."""
    out: dict[str, Any] = {}
    for condition in (AS_RECORDED, *map(level, LEVELS)):
        here = [(t, by) for t, by in found if t.condition == condition and weight(t)]
        room = [weight(t) for t, _ in here]
        counted = {ear: [wrong(t, by[ear]) for t, by in here] for ear in EARS}
        out[condition] = {"pieces": len(here), "of": sum(room)} | {ear: share(counted[ear], room) for ear in EARS}
        out[condition]["more"] = {ear: share([a - b for a, b in zip(counted[ear], counted["original"], strict=True)], room) for ear in EARS[1:]}
    return out


def measure(workers: int) -> dict[str, Any]:
    """Fetch, hear, print; gives the figures."""
    everything = pieces()
    with ProcessPoolExecutor(workers) as pool:
        own = dict(zip([p.name for p in everything], pool.map(alone, everything, chunksize=4), strict=True))
        chosen = [p for p in everything if p.text or len(own[p.name]) >= SHORTEST_WORDS]
        sentences = tuple(sorted({own[p.name] for p in chosen}))
        found = spread(pool, workers, partial(hear, sentences=sentences), list(trials(chosen)), None)
    texts = {p.name: tuple(p.text.split()) for p in chosen}
    figures = {
        "picked": table(found, lambda t, h: int(h.picked != own[t.piece.name]), lambda t: 1),
        "written": table(found, lambda t, h: errors(own[t.piece.name], h.written), lambda t: len(own[t.piece.name])),
        "written, first set, against the text": table(found, lambda t, h: errors(texts[t.piece.name], h.written), lambda t: len(texts[t.piece.name])),
    }
    for name, by_condition in figures.items():
        print(f"{name}, wrong in a hundred")
        for condition, row in by_condition.items():
            shown = "  ".join(f"{ear} {row[ear]['per_cent']:5.1f} {row[ear]['95_%']}" for ear in EARS)
            more = "  ".join(f"{ear} {row['more'][ear]['per_cent']:+.1f} {row['more'][ear]['95_%']}" for ear in EARS[1:])
            print(f"  {condition:12} {row['pieces']:4} pieces of {row['of']:5}  {shown}  more: {more}")
    return figures
