"""Vosk behind the recogniser's interface, for who has put a Vosk model on this computer. Nothing is ever downloaded.

Rules. A model is looked for in the data folder (`stovehand/vosk`), at `VOSK_MODEL_PATH`, and in Vosk's own caches; the path may be a model or a
folder of models. Words the model cannot know are listed at the start, not dropped in silence. The grammar handed to Vosk becomes a bigram model, so
sentences come out that are not in it: every result is parsed again by `accepts` and what does not parse is unsure.
A word of little confidence makes the rest unsure, but confidence proves nothing: users report wrong words at full confidence (vosk-api, issues 1339
and 2041), and so it was here in four of nine. The n-best list is not asked for: the distance to the next sentence with another meaning told right
from wrong no better than the confidence (27 right and 4 wrong kept at 2, against 28 and 4), for twice the time. One instance is for one thread.
"""

from __future__ import annotations

import json
import os
import random
import re
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from platformdirs import user_data_path

from assistant.hearing.recogniser import RATE, Recogniser, RecogniserError, Samples, usable
from assistant.hearing.utterance import Scores, Utterance

UNKNOWN = "[unk]"
LONGEST_S = 20.0
"""More sound than this at once, s, is no sentence; it is refused instead of decoded."""
FED_S = 0.25
LONGEST_WALK = 14
LISTED = 12
"""Missing words that are named, the rest is counted."""
CONFIDENT = 0.8
"""Least confidence of every word, but in a danger. Of 110 sentences in Korean by espeak-ng it kept 28 of 34 right ones and 4 of 9 wrong ones that the
grammar had let through; 0.7 kept 29 and 6, 0.95 the same as 0.8."""
FOREIGN = 0.5
"""A model that lacks more than this share of the words is taken for a model of another language."""


def find_model(language: str = "en", env: Mapping[str, str] = os.environ, folders: Sequence[Path] | None = None) -> Path | None:
    """The first usable model of this language; None when there is none. folders: where to look besides `VOSK_MODEL_PATH`, in this order.

    RecogniserError when `VOSK_MODEL_PATH` names something that is no model: somebody meant it to be one.
    """
    if named := env.get("VOSK_MODEL_PATH"):
        folder = Path(named)
        if not is_model(folder) and (inside := _models_in(folder, language)):
            return inside[0]
        check_model(folder)
        return folder
    for folder in folders if folders is not None else usual_folders():
        if inside := _models_in(folder, language):
            return inside[0]
    return None


def usual_folders() -> tuple[Path, ...]:
    """Where models are looked for: our data folder, then Vosk's own places."""
    home = Path.home()
    return (user_data_path("stovehand") / "vosk", Path("/usr/share/vosk"), home / "AppData" / "Local" / "vosk", home / ".cache" / "vosk")


def is_model(folder: Path) -> bool:
    """Whether this folder looks like an unpacked model, of the present layout or the flat one of older models."""
    return any((folder / part).is_file() for part in ("am/final.mdl", "final.mdl"))


def check_model(folder: Path) -> None:
    """RecogniserError, one sentence with the way out, when this is no model."""
    if not folder.exists():
        raise RecogniserError(f"There is no Vosk model at '{folder}': unpack one there or correct VOSK_MODEL_PATH.")
    if not is_model(folder):
        raise RecogniserError(f"'{folder}' is no Vosk model (am/final.mdl is missing): unpack the model's zip file there.")


def _models_in(folder: Path, language: str) -> list[Path]:
    """Models in this folder whose name says this language; the folder itself when it is a model."""
    if is_model(folder):
        return [folder]
    if not folder.is_dir():
        return []
    pattern = re.compile(rf"vosk-model(-small)?-{language}\b")
    return sorted(f for f in folder.iterdir() if pattern.match(f.name) and is_model(f))


class Graph(Protocol):
    """A grammar as words that may follow from state to state; an interpreter's automaton is one."""

    @property
    def start(self) -> int: ...

    def arcs(self, state: int) -> Sequence[tuple[str, int]]: ...

    def final(self, state: int) -> bool: ...


def phrases_of(graph: Graph, count: int = 3_000, seed: int = 1) -> list[str]:
    """Sentences of a grammar to make Vosk's bigram model of: walks through it, and each word met on the way.

    A model of the words alone hears half as well (Korean, 38 sentences: 16 right, with walks 33, with every sentence of the grammar 35). A step
    chooses among the states ahead, not among the words, so that numbers, which are many words to few states, don't crowd out the rest.
    """
    rng = random.Random(seed)
    ahead: dict[int, list[tuple[int, list[str]]]] = {}
    sentences: list[str] = []
    met: dict[str, None] = {}
    while len(sentences) < count:
        state, said = graph.start, list[str]()
        while len(said) < LONGEST_WALK:
            if state not in ahead:
                by_target: dict[int, list[str]] = {}
                for word, target in graph.arcs(state):
                    if not any(c.isdigit() for c in word):
                        by_target.setdefault(target, []).append(word)
                ahead[state] = list(by_target.items())
                met |= dict.fromkeys(w for words in by_target.values() for w in words)
            if said and graph.final(state) and (not ahead[state] or rng.random() < 0.5):
                break
            if not ahead[state]:
                break
            state, words = rng.choice(ahead[state])
            said.append(rng.choice(words))
        if graph.final(state):
            sentences.append(" ".join(said))
    return [*sentences, *met]


def spoken(phrases: Iterable[str]) -> list[str]:
    """Phrases in the words a Vosk model has: no figures, compounds of two words apart. What is there twice counts twice.

    >>> spoken(["one sixty-five", "165", "yes"])
    ['one sixty five', 'yes']
    """
    apart = (phrase.replace("-", " ") for phrase in phrases)
    return [phrase for phrase in apart if not any(c.isdigit() for c in phrase)]


class VoskEar(Recogniser):
    """Vosk inside a grammar. phrases: sentences (or single words) of the grammar; accepts: whether these words are a sentence of it; danger: whether
    they report a danger."""

    def __init__(
        self, folder: Path, phrases: Iterable[str], accepts: Callable[[str], bool], danger: Callable[[str], bool] = lambda words: False
    ) -> None:
        check_model(folder)
        try:
            import vosk
        except (ImportError, OSError) as e:
            raise RecogniserError(f"Vosk cannot be loaded on this computer ({e}): remove its model to listen without it.") from e
        vosk.SetLogLevel(-1)
        try:
            self._model: Any = vosk.Model(str(folder))
        except Exception as e:  # all that vosk raises is a bare Exception
            raise RecogniserError(f"The Vosk model in '{folder}' is damaged: unpack its zip file again.") from e
        listed = spoken(phrases)
        words = sorted({word for phrase in listed for word in phrase.split()})
        self.missing = tuple(w for w in words if self._model.vosk_model_find_word(w) < 0)
        self.vocabulary = vocabulary(len(words), self.missing)
        if len(self.missing) > FOREIGN * len(words):
            raise RecogniserError(f"The Vosk model in '{folder}' lacks {len(self.missing)} of {len(words)} words: it is for another language.")
        self._accepts, self._danger = accepts, danger
        lacking = set(self.missing)
        known = [p for p in listed if not lacking.intersection(p.split())]
        if self._model.vosk_model_find_word(UNKNOWN) >= 0:
            known.append(UNKNOWN)
        self._recogniser: Any = vosk.KaldiRecognizer(self._model, float(RATE), json.dumps(known, ensure_ascii=False))
        self._recogniser.SetWords(True)

    @property
    def name(self) -> str:
        return "vosk"

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        """The words in this sound. Unsure: `too long`, `nothing heard`, `outside the grammar`, `confidence`."""
        began = time.perf_counter()
        if len(samples) > LONGEST_S * RATE:
            return Utterance("", start_s, end_s, sure=False, reason="too long", engine=self.name)
        results = self._decode((usable(samples) * 32767).astype("<i2"))
        words, unknown, confidence = merge(results)
        reason = doubt(words, confidence, inside=not unknown and self._accepts(words), danger=self._danger(words))
        took_ms = (time.perf_counter() - began) * 1000
        return Utterance(words, start_s, end_s, not reason, reason, "", Scores(confidence=confidence), took_ms, self.name)

    def _decode(self, pcm: np.ndarray[Any, np.dtype[np.int16]]) -> list[str]:
        """Everything Vosk says about this sound, its own endpoints undone."""
        results = []
        step = int(FED_S * RATE)
        try:
            for at in range(0, len(pcm), step):
                if self._recogniser.AcceptWaveform(pcm[at : at + step].tobytes()):
                    results.append(self._recogniser.Result())
            results.append(self._recogniser.FinalResult())
        except Exception:  # all that vosk raises is a bare Exception; this sound is lost, the next is not
            results.clear()
        self._recogniser.Reset()
        return results


def doubt(words: str, confidence: float | None, *, inside: bool, danger: bool) -> str:
    """Why these words are not to be believed; empty when they are. inside: they are a sentence of the grammar."""
    if not words:
        return "nothing heard"
    if not inside:
        return "outside the grammar"
    return "confidence" if confidence is not None and confidence < CONFIDENT and not danger else ""


def vocabulary(count: int, missing: Sequence[str]) -> str:
    """What a model knows of the words of this meal, one sentence for the cook.

    >>> vocabulary(340, ["samosas", "churros"])
    'Vosk knows 338 of the 340 words of this meal; it cannot hear: samosas, churros.'
    """
    if not missing:
        return f"Vosk knows all {count} words of this meal."
    more = f" and {len(missing) - LISTED} more" if len(missing) > LISTED else ""
    return f"Vosk knows {count - len(missing)} of the {count} words of this meal; it cannot hear: {', '.join(missing[:LISTED])}{more}."


def merge(results: Sequence[str]) -> tuple[str, bool, float | None]:
    """Words, whether any was unknown, and the lowest confidence, out of Vosk's result documents.

    >>> merge(['{"text": "chips [unk]", "result": [{"word": "chips", "conf": 0.5}, {"word": "[unk]", "conf": 1.0}]}', '{"text": "down"}'])
    ('chips down', True, 0.5)
    """
    said: list[str] = []
    confidences: list[float] = []
    for result in results:
        try:
            document = json.loads(result)
        except ValueError:
            continue
        said.extend(str(document.get("text", "")).split())
        confidences.extend(float(w["conf"]) for w in document.get("result", []) if "conf" in w and w.get("word") != UNKNOWN)
    words = [w for w in said if w != UNKNOWN]
    return " ".join(words), len(words) < len(said), min(confidences, default=None)
