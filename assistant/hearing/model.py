"""Moonshine tiny-en: sound -> encoder states, tokens -> log-probabilities given those states. No grammar and no thresholds here.

Rules: three files come out of the installed `moonshine-voice` package, a second encoder for rooms and noise out of this one; all are checked by
SHA-256 as they are read, so what was checked is what runs; nothing is downloaded. `Moonshine` holds its onnxruntime sessions and no state between
calls; a `Sound` is one stretch of sound encoded by either encoder, a `Cache` the decoder's memory of the tokens fed so far, one row a hypothesis. The
decoder is quantised as it runs, by the largest value in the batch: scores of one sentence differ by up to 0.5 nats with its company, so nothing may
rest on a finer difference.
"""

from __future__ import annotations

import hashlib
import importlib.util
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import onnxruntime
from numpy.typing import NDArray

from assistant.hearing.recogniser import RATE, RecogniserError, Samples, usable
from assistant.memory import small_session

BOS, EOS = 1, 2
LAYERS, HEADS, HEAD = 6, 8, 36
FIRST_TEXT_ID = 259  # 3 to 258 stand for single bytes, which the model never writes for plain English
WORD_START = "▁"
TOKENS_PER_S = 6.5
"""The most tokens in a second of speech; the model's makers cut off here too."""
SHORTEST = 1_600
"""Samples: 0.1 s. The encoder's three convolutions need 1,023 (127 + 64 * 14); shorter sound holds no word."""
LONGEST = 148_000
"""Samples: 9.25 s. The exported decoder has room for 384 hidden states (148,300 samples); with one more it fails instead of decoding."""

SHA256 = {
    "encoder_model.ort": "94e90a4654fc45cdfedb77c4c08e1739f48862998e58fada384b25118134f221",
    "decoder_model_merged.ort": "cf524c4862d36e9e5ab032eddc73637efd822d70e868ac575cf1a46e1e4708a0",
    "tokenizer.bin": "6884b35fd6377d4c4d32336a0bc152f36b64d1e45b6503683cdc238250a8472d",
}
"""The files of moonshine-voice 0.1.0, assets/tiny-en (MIT licence)."""

ROOM_ENCODER = Path(__file__).parent / "data" / "encoder_room.onnx"
ROOM_ENCODER_SHA256 = "0edbe76dd2ef75590dc463f59ba914e5343f6376cce6c59b4f1cb8c9a5b3e6c9"
"""The same encoder, trained further to hear in rooms and noise what it heard without (tests/benchmarks/training; MIT licence, as the original)."""

Floats = NDArray[np.float32]
Tokens = tuple[int, ...]


def installed_folder() -> Path:
    """Where the installed package keeps the model; found without importing the package, whose own library is not needed."""
    spec = importlib.util.find_spec("moonshine_voice")
    if spec is None or spec.origin is None:
        raise RecogniserError("The speech model is not installed: run 'pip install moonshine-voice==0.1.0', or type instead of talking.")
    return Path(spec.origin).parent / "assets" / "tiny-en"


def read_checked(folder: Path, name: str) -> bytes:
    """One file of the model. Raises `RecogniserError` when it is missing or is not, to the byte, the one that was measured."""
    return _checked(folder / name, SHA256[name], "reinstall it with 'pip install --force-reinstall moonshine-voice==0.1.0'")


def read_room_encoder() -> bytes:
    """The encoder for rooms, out of this package; checked like the rest."""
    return _checked(ROOM_ENCODER, ROOM_ENCODER_SHA256, "reinstall stovehand")


def _checked(path: Path, sha256: str, way_out: str) -> bytes:
    try:
        data = path.read_bytes()
    except OSError as e:
        raise RecogniserError(f"{path}: cannot be read ({e.strerror}); {way_out}.") from e
    if hashlib.sha256(data).hexdigest() != sha256:
        raise RecogniserError(f"{path}: damaged or of another version ({len(data)} bytes); {way_out}.")
    return data


class Tokenizer:
    """Byte-pair tokens of the model. A word is tokenised with its word-start mark and alone, so a sentence is the sum of its words."""

    def __init__(self, data: bytes) -> None:
        """data: `tokenizer.bin`, texts one after another, each led by its length (a first byte of 128 or more: low 7 bits + 128 * the next)."""
        self._texts: list[bytes] = []
        at = 0
        while at < len(data):
            size = data[at]
            at += 1
            if size >= 128:
                size = (size & 127) + 128 * data[at]
                at += 1
            self._texts.append(data[at : at + size])
            at += size
        self._ids: dict[str, int] = {}
        for i, text in enumerate(self._texts):
            if i >= FIRST_TEXT_ID:
                self._ids.setdefault(text.decode("utf-8", "replace"), i)
        self._words: dict[str, Tokens] = {}

    def __len__(self) -> int:
        return len(self._texts)

    def text(self, token: int) -> str:
        """The text of one token, with its word-start mark."""
        return self._texts[token].decode("utf-8", "replace")

    def id(self, text: str) -> int:
        """The id of exactly this piece of text (the word-start mark is part of it)."""
        return self._ids[text]

    def word(self, word: str) -> Tokens:
        """The tokens of one written word, word-start mark included; remembered."""
        known = self._words.get(word)
        if known is None:
            known = self._words[word] = self._merge(WORD_START + word)
        return known

    def encode(self, sentence: str) -> Tokens:
        """The tokens of a sentence as written, without begin and end marks. A comma or full stop at a word's end is a token of its own."""
        return tuple(t for w in sentence.split() for t in self.word(w))

    def decode(self, tokens: Tokens) -> str:
        """The text of tokens; begin and end marks are left out, bytes that are no UTF-8 become U+FFFD."""
        text = b"".join(self._texts[t] for t in tokens if t > EOS)
        return text.decode("utf-8", "replace").replace(WORD_START, " ").strip()

    def _merge(self, text: str) -> Tokens:
        """Join, again and again, the neighbours whose joined piece has the lowest id."""
        pieces = list(text)
        while True:
            joined = [(self._ids[a + b], i) for i, (a, b) in enumerate(pairwise(pieces)) if a + b in self._ids]
            if not joined:
                break
            _, i = min(joined)
            pieces[i : i + 2] = [pieces[i] + pieces[i + 1]]
        tokens: list[int] = []
        for piece in pieces:
            if piece in self._ids:
                tokens.append(self._ids[piece])
            else:
                tokens.extend(b + 3 for b in piece.encode())
        return tuple(tokens)


@dataclass(frozen=True, slots=True)
class Sound:
    """One encoded stretch of sound. states [1, S, 288], S about 41 a second; cross: the decoder's 12 key/value arrays over it, [1, 8, S, 36]."""

    states: Floats
    cross: tuple[Floats, ...]
    first: Floats  # log-probabilities of the first token, [32768]
    begun: tuple[Floats, ...]  # decoder caches after the begin mark, [1, 8, 1, 36]


@dataclass(frozen=True, slots=True)
class Cache:
    """The decoder's memory of the tokens fed so far: 12 arrays [rows, 8, T, 36]."""

    arrays: tuple[Floats, ...]

    def rows(self, parents: NDArray[np.int64]) -> Cache:
        """One row for each parent row named, in that order."""
        return Cache(tuple(a[parents] for a in self.arrays))


class Moonshine:
    """The model in onnxruntime: two encoders, one decoder. threads: how many cores it may use; one keeps the rest of the kitchen's computer free.
    The original encoder is set up when it first hears: most evenings bring no note that is spoken close, and it takes 40 MB."""

    def __init__(self, folder: Path | None = None, threads: int = 1) -> None:
        """Raises `RecogniserError` when a file is missing or damaged. Takes about 0.3 s and 150 MB."""
        folder = installed_folder() if folder is None else folder
        self.tokenizer = Tokenizer(read_checked(folder, "tokenizer.bin"))
        self._original, self._threads = read_checked(folder, "encoder_model.ort"), threads
        self._decoder = small_session(read_checked(folder, "decoder_model_merged.ort"), threads)
        self._room_encoder = small_session(read_room_encoder(), threads)
        self._past = [f"past_key_values.{n}.decoder.{k}" for n in range(LAYERS) for k in ("key", "value")]
        self._cross = [f"past_key_values.{n}.encoder.{k}" for n in range(LAYERS) for k in ("key", "value")]

    @cached_property
    def _encoder(self) -> onnxruntime.InferenceSession:
        session = small_session(self._original, self._threads)
        self._original = b""
        return session

    @cached_property
    def _present(self) -> list[str]:
        return [n.replace("past_key_values", "present") for n in self._past]

    def listen(self, samples: Samples, *, room: bool = False) -> Sound:
        """Encode a stretch of sound (16 kHz mono, `SHORTEST` to `LONGEST` samples), by the encoder for rooms if it comes through one, and feed
        the decoder its begin mark."""
        row = usable(samples)[None, :]
        if row.shape[1] < SHORTEST:
            raise ValueError(f"{row.shape[1]} samples are too few, {SHORTEST} are needed")
        if row.shape[1] > LONGEST:
            raise ValueError(f"{row.shape[1]} samples are too many, {LONGEST} can be decoded")
        if room:
            (states,) = self._room_encoder.run(None, {"input_values": row})
        else:
            (states,) = self._encoder.run(None, {"input_values": row, "attention_mask": np.ones(row.shape, dtype=np.int64)})
        empty = np.zeros((1, HEADS, 0, HEAD), dtype=np.float32)
        feed: dict[str, Any] = dict.fromkeys(self._past + self._cross, empty)
        feed |= _inputs(np.array([[BOS]], dtype=np.int64), states, cached=False)
        cross_out = [n.replace("past_key_values", "present") for n in self._cross]
        out = self._decoder.run(["logits", *self._present, *cross_out], feed)
        return Sound(states, tuple(out[13:]), log_softmax(out[0][0, -1]), tuple(out[1:13]))

    def start(self, sound: Sound, rows: int = 1) -> Cache:
        """The cache after the begin mark."""
        return Cache(tuple(np.repeat(a, rows, axis=0) for a in sound.begun))

    def feed(self, sound: Sound, cache: Cache, tokens: NDArray[np.int64]) -> tuple[Floats, Cache]:
        """Feed tokens [rows, n] on top of the cache; gives log-probabilities of what follows each, [rows, n, 32768], and the new cache."""
        logits, *arrays = self._run(sound, cache, tokens, self._present)
        return log_softmax(logits), Cache(tuple(arrays))

    def peek(self, sound: Sound, cache: Cache, tokens: NDArray[np.int64]) -> Floats:
        """`feed` for rows that end here."""
        (logits,) = self._run(sound, cache, tokens, [])
        return log_softmax(logits)

    def force(self, sounds: list[Sound], sentences: list[Tokens]) -> list[Floats]:
        """Log-probability of each token of each sentence given each sound: for each sentence an array [sounds, tokens]."""
        longest = max(len(s) for s in sentences)
        rows = np.array([[*s, *[EOS] * (longest - len(s))] for s in sentences], dtype=np.int64)  # what comes later changes nothing before it
        picked = np.stack([self._forced(sound, rows) for sound in sounds])
        return [picked[:, i, : len(s)] for i, s in enumerate(sentences)]

    def _forced(self, sound: Sound, rows: NDArray[np.int64]) -> Floats:
        logs = np.repeat(sound.first[None, None, :], len(rows), axis=0)
        if rows.shape[1] > 1:
            logs = np.concatenate([logs, self.peek(sound, self.start(sound, len(rows)), rows[:, :-1])], axis=1)
        picked: Floats = np.take_along_axis(logs, rows[:, :, None], axis=2)[:, :, 0]
        return picked

    def end(self, sound: Sound, sentence: Tokens) -> float:
        """Exact log-probability that the sentence ends here, with or without a mark: log[P(EOS|y) + sum over t in . ? , ! of P(t|y) P(EOS|y,t)]."""
        marks = np.array([[self.tokenizer.id(t)] for t in ".?,!"], dtype=np.int64)
        logs, cache = self.feed(sound, self.start(sound), np.array([sentence], dtype=np.int64))
        after = self.peek(sound, cache.rows(np.zeros(4, dtype=np.int64)), marks)[:, 0, EOS]
        return float(np.logaddexp(logs[0, -1, EOS], np.logaddexp.reduce(logs[0, -1, marks[:, 0]] + after)))

    def free(self, sound: Sound, length_s: float, opening: Tokens = ()) -> tuple[Tokens, tuple[float, ...]]:
        """The likeliest next token again and again (greedy), after `opening`: the tokens that follow it and their log-probabilities.
        End mark left out; at most `TOKENS_PER_S` a second, because on noise the model can go on for ever."""
        cache = self.start(sound)
        logp = sound.first
        if opening:
            logs, cache = self.feed(sound, cache, np.array([opening], dtype=np.int64))
            logp = logs[0, -1]
        tokens: list[int] = []
        scores: list[float] = []
        for _ in range(max(1, int(length_s * TOKENS_PER_S) - len(opening))):
            token = int(logp.argmax())
            if token == EOS:
                break
            tokens.append(token)
            scores.append(float(logp[token]))
            logs, cache = self.feed(sound, cache, np.array([[token]], dtype=np.int64))
            logp = logs[0, -1]
        return tuple(tokens), tuple(scores)

    def _run(self, sound: Sound, cache: Cache, tokens: NDArray[np.int64], also: list[str]) -> list[Any]:
        """One sound stands for all rows: the decoder broadcasts it (a row of a 2 s sound would be 1.3 MB, copied for each)."""
        feed: dict[str, Any] = dict(zip(self._past, cache.arrays, strict=True))
        feed |= dict(zip(self._cross, sound.cross, strict=True))
        feed |= _inputs(tokens, sound.states, cached=True)
        out: list[Any] = self._decoder.run(["logits", *also], feed)
        return out


def log_softmax(logits: Floats) -> Floats:
    """Log-probabilities over the last axis, nats, in the place of the logits and a row at a time: 120 rows of 32,768 would take 16 MB for each copy.

    >>> [round(float(p), 3) for p in np.exp(log_softmax(np.array([0.0, np.log(3.0)], dtype=np.float32)))]
    [0.25, 0.75]
    """
    out = np.ascontiguousarray(logits)
    for row in out.reshape(-1, out.shape[-1]):
        row -= row.max()
        row -= np.log(np.exp(row).sum())
    return out


def seconds(samples: Samples) -> float:
    """How long a stretch of sound is, s.

    >>> seconds(np.zeros(8000, dtype=np.float32))
    0.5
    """
    return int(np.size(samples)) / RATE


def _inputs(tokens: NDArray[np.int64], states: Floats, *, cached: bool) -> dict[str, Any]:
    return {
        "input_ids": tokens,
        "encoder_hidden_states": states,
        "encoder_attention_mask": np.ones(states.shape[:2], dtype=np.int64),
        "use_cache_branch": np.array([cached]),
    }
