"""What a cook can say, as data. Understanding makes these, the session decides on them; nothing here knows about sound or grammar.

Rules: one `Intent` a meaning, never two intents for one thing; slots are SI (seconds, degrees Celsius, litres, kilograms, metres);
`SLOTS` lists which slots an intent may and must carry, and a `Command` that breaks it cannot be made.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import StrEnum


class Intent(StrEnum):
    """The meaning of one sentence. The value is what `stovehand hear` prints and what grammar files name in their tags."""

    # asking
    WHATS_NEXT = "whats_next"
    REPEAT = "repeat"
    WHICH_STEP = "which_step"
    HOW_LONG = "how_long"
    WHEN_DROP = "when_drop"
    WHATS_RUNNING = "whats_running"
    WHAT_FORGOTTEN = "what_forgotten"
    OIL_READY = "oil_ready"
    BATCHES_LEFT = "batches_left"
    HOW_MANY = "how_many"  # how many can I drop
    WHEN_EAT = "when_eat"
    KEEPS = "keeps"  # how long something perishable may stay as it is
    WHAT_TIME = "what_time"
    HOW_DOING = "how_doing"
    CAN_SIT = "can_sit"
    WHO_CAN_EAT = "who_can_eat"
    WHAT_TEMP = "what_temp"
    WHAT_IF = "what_if"  # a danger, asked about calmly
    HELP = "help"
    WHAT_TO_SAY = "what_to_say"
    # telling
    BEGIN = "begin"  # starting the batter
    DONE = "done"
    EVERYONE_HERE = "everyone_here"
    LATE_GUESTS = "late_guests"  # two are late
    DROPPING = "dropping"  # about to lower food: the check is spoken
    DROP = "drop"  # the last piece is in: the clock starts
    LIFT = "lift"
    MORE_TIME = "more_time"
    CORE = "core"
    OIL_TEMP = "oil_temp"
    BURNER = "burner"
    TURN_BURNER = "turn_burner"  # told to the assistant, which has no hands; place: the oven, when that is meant
    OVEN = "oven"
    OVEN_TEMP = "oven_temp"
    OVEN_READY = "oven_ready"
    TEST_BATCH = "test_batch"
    FOAM_SETTLED = "foam_settled"
    FRESH_OIL = "fresh_oil"
    TOPPED_UP = "topped_up"
    PLACE = "place"
    NO_THERMOMETER = "no_thermometer"
    BREAD = "bread"  # a bread cube was golden after so long
    OUT_OF = "out_of"
    HELPER_HERE = "helper_here"
    HELPER_LEFT = "helper_left"
    RUNNING_LATE = "running_late"
    HEADCOUNT = "headcount"
    SERVE_AT = "serve_at"
    DROP_ANYWAY = "drop_anyway"
    QUALITY = "quality"  # they came out pale / greasy / soft / dark
    SERVED = "served"  # dinner's up
    NOTE = "note"
    # steering
    GO_BACK = "go_back"
    SKIP = "skip"
    SET_CLOCK = "set_clock"
    CANCEL_CLOCK = "cancel_clock"
    HOLD = "hold"
    CARRY_ON = "carry_on"
    QUIET = "quiet"
    LOUDER = "louder"
    SOFTER = "softer"
    SLOWER = "slower"
    YES = "yes"
    NO = "no"
    UNDO = "undo"
    # a bare value, heard only while a question that wants it is open
    ANSWER = "answer"
    SWITCHED = "switched"  # "it's off": of what was asked about
    # danger: act with no address word, at any moment
    FIRE = "fire"
    FOAMING = "foaming"
    BOILING_OVER = "boiling_over"
    SPITTING = "spitting"
    SMOKING = "smoking"
    SPILL = "spill"
    BURNED = "burned"
    FALSE_ALARM = "false_alarm"


DANGER = frozenset(
    {
        Intent.FIRE,
        Intent.FOAMING,
        Intent.BOILING_OVER,
        Intent.SPITTING,
        Intent.SMOKING,
        Intent.SPILL,
        Intent.BURNED,
        Intent.FALSE_ALARM,
    }
)
"""Heard and acted on without the address word, at any moment, over any speech."""

OVER_SPEECH = DANGER | {Intent.QUIET, Intent.HOLD}
"""The only intents heard while the assistant speaks and for 300 ms after."""

BARE_VALUES = frozenset({Intent.ANSWER, Intent.SWITCHED})
"""Understood only where an open question takes them."""

FLAME_ANSWERS = (Intent.YES, Intent.BURNER, Intent.TURN_BURNER)
"""What answers a word on how the flame is to be: it is, it was turned, or an order that a report was heard as."""

# intent -> (slots it must have, slots it may have); an intent that is not listed takes none
SLOTS: dict[Intent, tuple[frozenset[str], frozenset[str]]] = {
    Intent.YES: (frozenset(), frozenset({"sign"})),
    Intent.NO: (frozenset(), frozenset({"sign"})),
    Intent.HOW_LONG: (frozenset(), frozenset({"item"})),
    Intent.WHEN_DROP: (frozenset({"item"}), frozenset()),
    Intent.WHATS_RUNNING: (frozenset(), frozenset({"place"})),
    Intent.KEEPS: (frozenset({"item"}), frozenset()),
    Intent.BATCHES_LEFT: (frozenset(), frozenset({"item"})),
    Intent.HOW_MANY: (frozenset(), frozenset({"item"})),
    Intent.WHO_CAN_EAT: (frozenset(), frozenset({"item"})),
    Intent.WHAT_TEMP: (frozenset(), frozenset({"item", "place"})),
    Intent.WHAT_IF: (frozenset({"hazard"}), frozenset()),
    Intent.BEGIN: (frozenset({"item"}), frozenset()),
    Intent.DONE: (frozenset(), frozenset({"item"})),
    Intent.DROPPING: (frozenset(), frozenset({"item"})),
    Intent.DROP: (frozenset(), frozenset({"item"})),
    Intent.LIFT: (frozenset(), frozenset({"item"})),
    Intent.MORE_TIME: (frozenset({"seconds"}), frozenset({"item"})),
    Intent.CORE: (frozenset({"celsius"}), frozenset({"item", "unit"})),
    Intent.OIL_TEMP: (frozenset({"celsius"}), frozenset({"item", "unit"})),
    Intent.BURNER: (frozenset({"level"}), frozenset({"item"})),
    Intent.TURN_BURNER: (frozenset({"level"}), frozenset({"item", "place", "celsius", "unit"})),
    Intent.OVEN: (frozenset({"level"}), frozenset()),
    Intent.OVEN_TEMP: (frozenset({"celsius"}), frozenset({"unit"})),
    Intent.TOPPED_UP: (frozenset({"litres"}), frozenset()),
    Intent.BREAD: (frozenset({"seconds"}), frozenset()),
    Intent.PLACE: (frozenset({"item", "place"}), frozenset()),
    Intent.OUT_OF: (frozenset({"item"}), frozenset()),
    Intent.RUNNING_LATE: (frozenset({"seconds"}), frozenset()),
    Intent.HEADCOUNT: (frozenset({"count"}), frozenset({"sign"})),
    Intent.LATE_GUESTS: (frozenset(), frozenset({"count"})),
    Intent.SERVE_AT: (frozenset({"day_s"}), frozenset()),
    Intent.QUALITY: (frozenset({"look"}), frozenset({"item"})),
    Intent.NOTE: (frozenset({"text"}), frozenset()),
    Intent.SKIP: (frozenset(), frozenset({"item"})),
    Intent.SET_CLOCK: (frozenset(), frozenset({"seconds", "item"})),
    Intent.CANCEL_CLOCK: (frozenset(), frozenset({"item"})),
    Intent.ANSWER: (
        frozenset(),
        frozenset({"celsius", "unit", "seconds", "day_s", "count", "litres", "metres", "kilograms", "level", "number", "item", "place", "sign"}),
    ),
    Intent.SWITCHED: (frozenset({"level"}), frozenset()),
    Intent.FIRE: (frozenset(), frozenset({"place"})),
}


@dataclass(frozen=True, slots=True)
class Command:
    """One understood sentence.

    item: id of a dish, step, ingredient, clock, pot of this meal, of other food that is put somewhere the name it was given; seconds: a duration, s;
    celsius: a temperature, C; unit: "F" or "C" when it was *said* (otherwise the cook's setting was used to convert); day_s: a clock time, s
    after midnight; litres, kilograms, metres: a quantity; count, number: a bare number (watts, when a power was asked for); place: counter,
    fridge, freezer, oven, rack, ice, pan, table, bin; level: on, full, up, down, off, small, medium, large, unknown (asked for, not known); look:
    pale, greasy, soft, dark; hazard: fire, oven_fire, boil_over, smoke, spill, burn, cut, leave, call (asked about, not there); sign: smoke, foam,
    dark, thick, smell (of an oil's age); of a yes or no what alone it can be about: foam, flame, out (it is), later (not yet); of a number of people
    that they are more or fewer than thought; text: free words;
    words: the sentence as it was heard.
    """

    intent: Intent
    item: str | None = None
    seconds: float | None = None
    celsius: float | None = None
    unit: str | None = None
    day_s: float | None = None
    litres: float | None = None
    kilograms: float | None = None
    metres: float | None = None
    count: int | None = None
    number: float | None = None
    place: str | None = None
    level: str | None = None
    look: str | None = None
    hazard: str | None = None
    sign: str | None = None
    text: str | None = None
    words: str = ""

    def __post_init__(self) -> None:
        must, may = SLOTS.get(self.intent, (frozenset[str](), frozenset[str]()))
        have = set(self.slots())
        if not must <= have or not have <= must | may:
            raise ValueError(f"{self.intent} takes {sorted(must)} and may take {sorted(may)}, not {sorted(have)}")

    def slots(self) -> dict[str, str | float | int]:
        """The slots that are filled, by name: what `stovehand hear` prints."""
        names = (f.name for f in fields(self) if f.name not in ("intent", "words"))
        return {n: v for n in names if (v := getattr(self, n)) is not None}


@dataclass(frozen=True, slots=True)
class Reject:
    """A sentence that is not acted on. reason: one of `unknown` (no such sentence), `unsure` (heard badly: ask again), `not_addressed` (address
    word missing), `speaking` (heard over our own voice), `unknown_item` (names something this meal has not), `value` (a number outside sense).
    guess: a near sentence to offer as a question ("Did you mean ...?"), never to act on; item: the words that name nothing of this meal; slot: which
    value makes no sense."""

    words: str
    reason: str
    guess: Command | None = None
    item: str = ""
    slot: str = ""
