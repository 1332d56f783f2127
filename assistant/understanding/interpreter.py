"""Words -> what the cook meant: a `Command`, or a `Reject` with its reason.

On the path: Utterance -> **Reading** -> gate -> session. The grammars of one language, the names of this meal, and the cook's units make an
`Interpreter` when a session starts; `interpret` is pure and never raises on anything that is said or typed.

Rules:
- A command is a whole sentence of the grammar. Sentences that merely contain one are not understood.
- A sentence can have several meanings ("it's out": lifted, or yes to "Is it out?"). All are kept, first written first; the gate takes the one
  that the open question asked for.
- Heard words are never corrected into action: the nearest sentence is at most a guess to ask about. Typed words may have a slip of a letter or
  two; the corrected sentence is acted on and said back (`Reading.corrected`). Figures are never corrected.
- A name that this meal has not: `unknown_item`, with the nearest name as the guess; but where food is put is believed of any food, by the name it was
  given, for it needs a clock all the same (an ear that decodes inside the grammar hears "something else"). A number outside sense: `value`, also one
  that nobody says in such a sentence ("two hundred of us"); no guess leaves a number out or changes it.
- A bare number as an answer is given in every sense that it can have (3:40 in the afternoon, 340 degrees, 3 min 40 s, 340): the session takes the
  one that it asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from assistant.kitchen.card_names import kept_word
from assistant.kitchen.meal import Name
from assistant.kitchen.scale import MOST_PEOPLE
from assistant.session.commands import BARE_VALUES, DANGER, Command, Intent, Reject
from assistant.understanding import jsgf, numbers, spelling
from assistant.understanding.automaton import FREE, Automaton, Fill, Span

# what a number must lie between to make sense, SI units; both ends included
_SENSE: dict[str, tuple[float, float]] = {
    "seconds": (1.0, 24 * 3600.0),
    "celsius": (-40.0, 400.0),  # frozen food to well above any oil; what is implausible inside is the session's question
    "day_s": (0.0, 24 * 3600.0),
    "litres": (0.005, 50.0),
    "kilograms": (0.001, 100.0),
    "metres": (0.005, 2.0),
    "count": (1, MOST_PEOPLE),
    "number": (0.0, 100_000.0),
}
_INTENTS = frozenset(intent.value for intent in Intent)
_NO_FOOD = frozenset(
    {
        *("it", "it's", "its", "they", "they're", "this", "that", "these", "those", "them", "everything", "all"),
        *("he", "she", "i", "we", "you"),
        *("everything's", "nothing", "nothing's", "is", "are", "still"),
    }
)
_ASKED = frozenset({"what", "what's", "where's"})  # alone: "what's left" may well be in the fridge
_NO_NAME = _NO_FOOD | {"oil", "oven", "burner", "stove", "hob", "flame", "heat", "pot", "pan", "fryer", "dinner", "clock", "timer", "batch", "too"}
"""What no dish is called: a sentence about it is not understood, and not one about a dish that this meal has not."""
_DENIALS = frozenset({"no", "not", "don't", "isn't", "aren't", "never", "without"})
_NEVER_BY_A_SLIP = frozenset({Intent.QUIET, Intent.HOLD, Intent.SKIP})  # as one word: "quit" is not "quiet", and all of them silence or stop
_WHOLE_SLOTS = ("count",)
_TEXT_SLOTS = ("item", "place", "level", "look", "hazard", "sign", "unit", "text")


@dataclass(frozen=True, slots=True)
class Reading:
    """One sentence understood as far as it goes.

    result: its first meaning, or why it has none; others: further meanings, each with another intent; addressed: the address word led it, or it
    was typed; typed: it was typed; single: one word of meaning, or none; corrected: a typed sentence as it was read, when a slip was corrected."""

    result: Command | Reject
    others: tuple[Command, ...] = ()
    addressed: bool = False
    typed: bool = False
    single: bool = False
    corrected: str | None = None

    def meanings(self) -> tuple[Command, ...]:
        """Everything that the sentence can mean, first written first; empty for a reject."""
        return (self.result, *self.others) if isinstance(self.result, Command) else ()


def grammar_folder(language: str = "en") -> Path:
    """Where the grammar files of a language are: inside the installed package, or beside it in a working copy."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_grammars" / language
    return installed if installed.is_dir() else package.parent / "grammars" / language


class Interpreter:
    """Everything that can be said in one session. names: of this meal; units: "F" or "C", for temperatures without a unit; address: the word that
    leads a sentence meant for the assistant; folder: with `kitchen.jsgf` in it (default: the one that comes with the program). book and fill: the
    grammar's rules, and those that this session gives it."""

    def __init__(
        self, names: Iterable[Name], units: str = "F", *, language: str = "en", address: str = "kitchen", folder: Path | None = None
    ) -> None:
        self.units, self.address, self.language = units, address, language
        self._names = tuple(names)
        self.book = jsgf.load(folder or grammar_folder(language), "kitchen")
        self.fill: Fill = {**numbers.CLASSES, "free": FREE, "address": jsgf.Token(self.address), **_name_rules(self._names)}
        self.automaton = Automaton(self.book, "sentence", self.fill)

    @cached_property
    def danger(self) -> Automaton:
        """The danger words alone, for an ear that listens for them without waiting for silence."""
        return Automaton(self.book, "danger", self.fill)

    @cached_property
    def _any_item(self) -> Automaton:
        """The same grammar with any one to three words for a name: finds sentences that are right but for the name."""
        word = jsgf.Ref("free")
        any_words = jsgf.Tagged(jsgf.Sequence((word, jsgf.Maybe(jsgf.Sequence((word, jsgf.Maybe(word)))))), ("unknown",))
        return Automaton(self.book, "sentence", {**self.fill, **_name_rules(()), **dict.fromkeys(("dish", "step", "thing", "item"), any_words)})

    @cached_property
    def _vocabulary(self) -> frozenset[str]:
        return self.automaton.vocabulary()

    @cached_property
    def _without_apostrophe(self) -> dict[str, str]:
        return {word.replace("'", ""): word for word in self._vocabulary if "'" in word}

    def words(self, sentence: str) -> list[str]:
        """A sentence in the automaton's words; an apostrophe that was left out ("whats next") is put back."""
        words = numbers.normal(sentence)
        return [word if word in self._vocabulary else self._without_apostrophe.get(word, word) for word in words]

    def complete(self, sentence: str) -> bool:
        """Whether this is a whole sentence of the grammar."""
        return self.automaton.complete(self.words(sentence))

    def can_continue(self, sentence: str) -> bool:
        """Whether a longer sentence can begin with this ("one sixty | five"); courtesy does not count. For endpointing."""
        return self.automaton.can_follow(self.words(sentence))

    def interpret(self, sentence: str, *, now_day_s: float | None = None, typed: bool = False) -> Reading:
        """What this sentence means. now_day_s: the time of day, s after midnight, for "ten past" and mornings; typed: slips may be forgiven."""
        words = self.words(sentence)
        addressed = typed or self.address in words[:1] or (len(words) > 1 and words[1] == self.address and words[0] in ("hey", "okay"))
        found = self._read(words, now_day_s)
        if not isinstance(found, Reject):
            return _reading(found, addressed=addressed, typed=typed, single=_meant(words, self.address) <= 1)
        corrected: str | None = None
        if found.reason == "unknown":
            found = self._count(words, found, now_day_s)
        if typed and found.reason == "unknown" and found.guess is None:
            found, corrected = self._forgive(words, found, now_day_s)
            if not isinstance(found, Reject):
                return replace(_reading(found, addressed=True, typed=True, single=False), corrected=corrected)
        if found.reason == "unknown" and found.guess is None:
            found = self._explain(words, found, now_day_s, addressed)
            if not isinstance(found, Reject):
                return _reading(found, addressed=addressed, typed=typed, single=False)
        return Reading(found, addressed=addressed, typed=typed, single=_meant(words, self.address) <= 1)

    def _read(self, words: list[str], now_day_s: float | None) -> list[Command] | Reject:
        """Every meaning of exactly these words, one an intent; or why there is none."""
        sentence = " ".join(words)
        commands: dict[Intent, Command] = {}
        parsed = self.automaton.parse(words)
        for spans in parsed:
            command = self._command(words, spans, now_day_s)
            if command is not None:
                commands.setdefault(command.intent, command)
        if commands:
            return list(commands.values())
        if not parsed:
            return Reject(sentence, "unknown")
        spans = parsed[0]
        odd = (s.tag for s in spans if s.tag in _SENSE and self._value(s.tag, words[s.start : s.end], now_day_s) is None)
        return Reject(sentence, "value", slot=next(odd, ""))

    def _command(self, words: list[str], spans: tuple[Span, ...], now_day_s: float | None) -> Command | None:
        """The command of one parse; None when a value in it makes no sense."""
        intent: Intent | None = None
        slots: dict[str, str | float] = {}
        for span in spans:
            said = words[span.start : span.end]
            name, literal, value = span.tag.partition("=")
            if literal:
                slots[name] = value if name in _TEXT_SLOTS else float(value)
            elif name == "text":
                slots["text"] = " ".join(said)
            elif name == "value":
                senses = self._senses(said, now_day_s)
                if not senses:
                    return None
                slots |= senses
            elif name in _SENSE:
                values = self._value(name, said, now_day_s)
                if values is None:
                    return None
                slots |= values
            elif name in _INTENTS:
                intent = Intent(name)
        if intent is None:
            return None
        numbers_right = {name: int(value) if name in _WHOLE_SLOTS else value for name, value in slots.items()}
        return Command(intent, words=" ".join(words), **numbers_right)  # type: ignore[arg-type]

    def _value(self, slot: str, said: list[str], now_day_s: float | None) -> dict[str, str | float] | None:
        """The slot (and for a temperature the unit that was said); None when the words are no such value or outside sense."""
        value: float | None
        unit: str | None = None
        match slot:
            case "seconds":
                value = numbers.duration_s(said)
            case "celsius":
                found = numbers.temperature_c(said, self.units)
                value, unit = found if found is not None else (None, None)
            case "day_s":
                value = numbers.clock_s(said, now_day_s)
            case "litres":
                value = numbers.litres(said)
            case "kilograms":
                value = numbers.kilograms(said)
            case "metres":
                value = numbers.metres(said)
            case "count":
                value = numbers.whole(said)
            case _:
                value = numbers.watts(said)
                value = numbers.number(said) if value is None else value
        least, most = _SENSE[slot]
        if value is None or not least <= value <= most:
            return None
        return {slot: value} if unit is None else {slot: value, "unit": unit}

    def _senses(self, said: list[str], now_day_s: float | None) -> dict[str, str | float]:
        """Everything that a bare value can be."""
        senses: dict[str, str | float] = {}
        for slot in _SENSE:
            senses |= self._value(slot, said, now_day_s) or {}
        return senses

    def _count(self, words: list[str], reject: Reject, now_day_s: float | None) -> Reject:
        """A sentence that is right but for a number nobody says in it: refused for its value, or guessed where the number makes sense."""
        figures = numbers.in_figures(words)
        found = self._read(figures, now_day_s) if figures != words else reject
        if isinstance(found, Reject):
            return replace(found, words=reject.words) if found.reason == "value" else reject
        return reject if found[0].intent in BARE_VALUES else replace(reject, guess=found[0])

    def _forgive(self, words: list[str], reject: Reject, now_day_s: float | None) -> tuple[list[Command] | Reject, str | None]:
        """A typed sentence with its slips corrected, if that can be done in one sense only."""
        candidates = spelling.corrections(self.automaton, self._vocabulary, words)
        found = [(self._read(candidate, now_day_s), " ".join(candidate)) for candidate in candidates]
        understood = [(commands, sentence) for commands, sentence in found if not isinstance(commands, Reject)]
        if not understood:
            return next((commands for commands, _ in found), reject), None
        commands, sentence = understood[0]
        assert not isinstance(commands, Reject)
        first = replace(commands[0], words="")
        unlike = any(replace(other[0], words="") != first for other, _ in understood[1:] if not isinstance(other, Reject))
        if commands[0].intent is Intent.ANSWER and unlike:
            return reject, None  # "it's fine": nothing can be asked about a bare value
        if unlike or (commands[0].intent in _NEVER_BY_A_SLIP and _meant(words, self.address) <= 1):
            return Reject(reject.words, "unsure", commands[0]), None
        return commands, sentence

    def _explain(self, words: list[str], reject: Reject, now_day_s: float | None, addressed: bool) -> list[Command] | Reject:
        """Why a sentence is unknown: a name that this meal has not, or no such sentence; with a guess where one is near. Food that is put somewhere,
        when that is surely said to us, is understood by whatever it is called."""

        def length(spans: tuple[Span, ...]) -> int:
            return sum(span.end - span.start for span in spans if span.tag == "unknown")

        for spans in sorted(self._any_item.parse(words), key=length):  # the shortest name: "caviar", not "caviar is"
            unknown = next((span for span in spans if span.tag == "unknown"), None)
            if unknown is None or any(span.tag in BARE_VALUES for span in spans):
                continue
            said = words[unknown.start : unknown.end]
            name = " ".join(said)
            if any(span.tag == Intent.PLACE for span in spans) and addressed:
                if _NO_FOOD & set(said) or name in _ASKED or kept_word(name) is not None:
                    return reject
                place = next(value for span in spans for tag, _, value in [span.tag.partition("=")] if tag == "place")
                return [Command(Intent.PLACE, item="-".join(said), place=place, words=reject.words)]
            if _NO_NAME & set(said):
                continue
            near = spelling.nearest_name(name, [said for name in self._names for said in name.said])
            guess = self._first([*words[: unknown.start], *numbers.normal(near or ""), *words[unknown.end :]], now_day_s) if near else None
            return Reject(reject.words, "unknown_item", guess, name)
        near_words = spelling.nearest_sentence(self.automaton, self._vocabulary, words)
        if near_words and not {w for w in words if numbers.is_part(w)} <= set(near_words):
            near_words = None
        guess = self._first(near_words, now_day_s) if near_words else None
        denied = guess is not None and guess.intent in DANGER and not _DENIALS.isdisjoint(words)
        return replace(reject, guess=None if denied else guess)

    def _first(self, words: list[str], now_day_s: float | None) -> Command | None:
        """What a guessed sentence means; a bare value is no guess, for nothing can be asked about it."""
        found = self._read(words, now_day_s)
        return None if isinstance(found, Reject) or found[0].intent is Intent.ANSWER else found[0]


def _name_rules(names: tuple[Name, ...]) -> Fill:
    """The rules <dish>, <step>, <thing> and, all of them, <item>; and <pot>, where a kitchen has several."""
    rules: dict[str, jsgf.Expansion] = {
        what: jsgf.Alternatives(
            tuple(jsgf.Tagged(jsgf.Token(said), (f"item={name.id}",)) for name in names if name.what == what for said in _said(name))
        )
        for what in ("dish", "step", "thing", "pot")
    }
    return {**rules, "item": jsgf.Alternatives(tuple(map(jsgf.Ref, ("dish", "step", "thing"))))}


def _said(name: Name) -> Iterator[str]:
    """The ways to say a name, in the automaton's words, without an article: the grammar has its own."""
    for said in name.said:
        words = numbers.normal(said)
        if words := words[1:] if len(words) > 1 and words[0] in ("the", "a", "an") else words:
            yield " ".join(words)


def _reading(commands: list[Command], *, addressed: bool, typed: bool, single: bool) -> Reading:
    return Reading(commands[0], tuple(commands[1:]), addressed, typed, single)


def _meant(words: list[str], address: str) -> int:
    """How many words carry meaning: without address and courtesy."""
    return sum(word not in (address, "hey", "please", "thanks", "thank", "you") for word in words)
