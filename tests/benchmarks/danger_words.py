"""Danger words through the whole ear, many trials in many processes: the sound part of bench_safety.py.

Clips. Every danger clip of audio_fixtures/ by every voice, at three speeds (resampled, so pitch goes with it), clean and in kitchen noise at 10 and
5 dB made anew for each trial; each goes through voice detector, endpoints, rolling windows and recogniser. Right: the first danger heard is the one
that was said. Answered: it is any, for every script begins with heat off or water.
Time. From the last loud sample of the words to the decision, by sample count, decoding added as it took here while the other processes ran; then
OUTPUT_S until the tone sounds (bench_latency measures that part: a danger's tone does not wait for its words).
False alarms. All chatter and near-misses, at the same speeds and levels: whatever would begin a script. "False alarm" heard starts nothing and is
counted apart.
Bounds. 95 %: Wilson over trials, and over clips drawn anew (bootstrap), because trials of one clip are not independent; Poisson for rates.
"""

from __future__ import annotations

import csv
import math
import os
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
import scipy.signal
import scipy.stats

from assistant.ears import Engines, build_ear, build_engines, interpreter_for
from assistant.hearing.endpoint import PROBE_S
from assistant.hearing.frames import Sound, Source, blocks_of
from assistant.hearing.noise import SPEECH_DB, at_level, kitchen_noise
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.sources import read_sound
from assistant.hearing.utterance import Utterance
from assistant.kitchen.cards import find_meal, read_card
from assistant.session.commands import DANGER, Command, Intent
from assistant.settings import Settings
from assistant.understanding.interpreter import Interpreter

FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
LEVELS: dict[str, float | None] = {"clean": None, "10 dB": 10.0, "5 dB": 5.0}
CLEAN_DB = 60.0
SPEEDS = ((10, 9), (1, 1), (9, 10))  # resampled by: slower and deeper, as it is, quicker and higher
BEFORE_S, AFTER_S = 1.0, 2.0
OUTPUT_S = 0.06
DRAWS = 2000


@dataclass(frozen=True, slots=True)
class Trial:
    """One clip in one kitchen. command: what it means, empty for talk."""

    file: str
    words: str
    command: str
    voice: str
    level: str
    speed: int
    seed: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """first: the first danger heard, empty for none; wait_s, silence_s: from the end of the words to the decision, and the part of it that is waiting
    for silence; alarms: (what would begin a script or call one off, the words heard); speech_s: how long the clip is."""

    trial: Trial
    first: str
    wait_s: float
    silence_s: float
    alarms: tuple[tuple[str, str], ...]
    speech_s: float


def trials(repeats: int) -> Iterator[Trial]:
    """All trials: danger words, then talk. repeats: kitchens for each clip, speed and noisy level."""
    with (FIXTURES / "manifest.csv").open(encoding="utf-8", newline="") as lines:
        rows = [r for r in csv.DictReader(lines) if r["file"].split("/")[0] in ("danger", "near", "chatter")]
    seed = 0
    for row in sorted(rows, key=lambda r: not r["command"]):
        for level in LEVELS:
            for speed in range(len(SPEEDS)):
                for _ in range(1 if level == "clean" else repeats):  # noise that nobody hears makes no other trial
                    seed += 1
                    yield Trial(row["file"], row["words"], row["command"], row["voice"], level, speed, seed)


class _Row(Source):
    """A sound as a source."""

    def __init__(self, row: Samples) -> None:
        self._row = row

    def sounds(self) -> Iterator[Sound]:
        yield from blocks_of([self._row], RATE)


@cache
def _built() -> tuple[Interpreter, Engines]:
    meal, settings = read_card(find_meal("fish-supper")), Settings(vosk=False)
    interpreter = interpreter_for(meal, settings)
    return interpreter, build_engines(interpreter, meal, settings)


def _meant(words: str) -> str:
    found = _built()[0].interpret(words).result
    return str(found.intent) if isinstance(found, Command) and found.intent in DANGER else ""


def in_kitchen(trial: Trial) -> tuple[Samples, float]:
    """The clip in its kitchen, and when its words end, s."""
    up, down = SPEEDS[trial.speed]
    speech = scipy.signal.resample_poly(read_sound(FIXTURES / trial.file), up, down).astype(np.float32)
    loud = np.flatnonzero(np.abs(speech) > 0.02 * np.abs(speech).max())
    whole = np.pad(at_level(speech), (round(BEFORE_S * RATE), round(AFTER_S * RATE)))
    noise = kitchen_noise(whole.size / RATE + 1.0, trial.seed, SPEECH_DB - (LEVELS[trial.level] or CLEAN_DB))
    return np.clip(whole + noise[: whole.size], -1, 1).astype(np.float32), BEFORE_S + float(loud[-1]) / RATE


def hear(trial: Trial) -> Outcome:
    """One trial through the whole ear."""
    interpreter, engines = _built()
    row, end_s = in_kitchen(trial)
    first, wait_s, silence_s, alarms = "", 0.0, 0.0, []
    for heard in build_ear(interpreter, engines).listen(_Row(row)):
        if not (isinstance(heard, Utterance) and heard.sure and (meant := _meant(heard.words))):
            continue
        alarms.append((meant, heard.words))
        if not first:
            # the decode runs while the silence that ends the utterance goes on: the later of the two decides
            decided = max(heard.handed_s, heard.end_s + PROBE_S + heard.decode_ms / 1000.0)
            first, wait_s, silence_s = meant, max(0.0, decided - end_s), max(0.0, heard.handed_s - end_s)
    return Outcome(trial, first, wait_s, silence_s, tuple(alarms), row.size / RATE - BEFORE_S - AFTER_S)


def wilson(right: int, n: int) -> tuple[float, float]:
    """95 % interval of a share, percent.

    >>> [round(x, 1) for x in wilson(95, 100)]
    [88.8, 97.8]
    """
    z = 1.959964
    middle, half = (right + z * z / 2) / (n + z * z), z * math.sqrt(right * (n - right) / n + z * z / 4) / (n + z * z)
    return 100.0 * (middle - half), 100.0 * min(1.0, middle + half)


def poisson(events: int, hours: float) -> tuple[float, float]:
    """95 % interval of a rate, an hour.

    >>> [round(x, 2) for x in poisson(0, 6.0)]
    [0.0, 0.61]
    """
    low = scipy.stats.chi2.ppf(0.025, 2 * events) / 2 / hours if events else 0.0
    return float(low), float(scipy.stats.chi2.ppf(0.975, 2 * events + 2) / 2 / hours)


def by_clips(groups: Sequence[Sequence[float]], statistic: Callable[[Any], float]) -> tuple[float, float]:
    """95 % interval of a statistic of all values, the clips (groups of values) drawn anew."""
    rng = np.random.default_rng(1)
    found = []
    for _ in range(DRAWS):
        drawn = [groups[i] for i in rng.integers(len(groups), size=len(groups))]
        values = np.array([v for group in drawn for v in group])
        found.append(statistic(values) if values.size else math.nan)
    low, high = np.nanpercentile(found, (2.5, 97.5))
    return float(low), float(high)


def _share(outcomes: Sequence[Outcome], good: Callable[[Outcome], bool]) -> dict[str, Any]:
    per_clip: dict[str, list[float]] = defaultdict(list)
    for o in outcomes:
        per_clip[o.trial.file].append(100.0 * good(o))
    n, right = len(outcomes), sum(map(good, outcomes))
    return {
        "of 100": round(100.0 * right / n, 1),
        "right": right,
        "trials": n,
        "95 % by trials": [round(x, 1) for x in wilson(right, n)],
        "95 % by clips": [round(x, 1) for x in by_clips(list(per_clip.values()), lambda v: float(np.mean(v)))],
    }


def _times(outcomes: Iterable[Outcome]) -> dict[str, Any]:
    per_clip: dict[str, list[float]] = defaultdict(list)
    silences = []
    for o in outcomes:
        per_clip[o.trial.file].append(1000.0 * (o.wait_s + OUTPUT_S))
        silences.append(1000.0 * o.silence_s)
    waits = np.array([v for group in per_clip.values() for v in group])
    if not waits.size:
        return {}
    report: dict[str, Any] = {}
    for p in (50, 95):
        report[f"p{p}"] = round(float(np.percentile(waits, p)))
        report[f"p{p}, 95 % by clips"] = [round(x) for x in by_clips(list(per_clip.values()), lambda v, p=p: float(np.percentile(v, p)))]  # type: ignore[misc]
    return {**report, "of that silence, p50": round(float(np.median(silences)))}


def answered(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """Of the danger words at one level: how many were heard, how soon, which were not."""
    right = [o for o in outcomes if o.first == o.trial.command]
    missed = Counter(o.trial.words if not o.first else f"{o.trial.words} -> {o.first}" for o in outcomes if o.first != o.trial.command)
    voices = Counter(o.trial.voice for o in outcomes)
    heard = Counter(o.trial.voice for o in right)
    return {
        "answered": _share(outcomes, lambda o: bool(o.first)),
        "right": _share(outcomes, lambda o: o.first == o.trial.command),
        "by voice, of 100": {v: round(100.0 * heard[v] / n) for v, n in sorted(voices.items())},
        "end of word to first sound, ms": _times(right),
        "missed": dict(missed.most_common(16)),
    }


def false_alarms(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """Of the talk at one level: what would have begun a script."""
    hours = sum(o.speech_s for o in outcomes) / 3600.0
    false_alarm = str(Intent.FALSE_ALARM)
    alarms = [f"{o.trial.words[:60]} -> {words}" for o in outcomes for meant, words in o.alarms if meant != false_alarm]
    called_off = [f"{o.trial.words[:60]} -> {words}" for o in outcomes for meant, words in o.alarms if meant == false_alarm]
    return {
        "hours of speech": round(hours, 3),
        "sentences": len(outcomes),
        "false alarms": len(alarms),
        "an hour": round(len(alarms) / hours, 2),
        "95 %": [round(x, 2) for x in poisson(len(alarms), hours)],
        "which": dict(Counter(alarms).most_common(12)),
        "'false alarm' heard": len(called_off),
        "which of these": dict(Counter(called_off).most_common(8)),
    }


def measure(jobs: int, repeats: int, every: int) -> dict[str, Any]:
    """All trials (every: each so manieth only) in so many processes."""
    began, chosen = time.perf_counter(), list(trials(repeats))[::every]
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        outcomes = list(pool.map(hear, chosen, chunksize=4))
    said = [o for o in outcomes if o.trial.command]
    talk = [o for o in outcomes if not o.trial.command]
    return {
        "processes": jobs,
        "cores": os.cpu_count(),
        "load": round(os.getloadavg()[0], 1),
        "seconds": round(time.perf_counter() - began),
        "repeats": repeats,
        "answered": {level: answered(found) for level in LEVELS if (found := [o for o in said if o.trial.level == level])},
        "false alarms": {
            **{level: false_alarms(found) for level in LEVELS if (found := [o for o in talk if o.trial.level == level])},
            "all": false_alarms(talk),
        },
    }
