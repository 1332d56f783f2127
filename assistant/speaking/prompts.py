"""Every word the program speaks outside a danger script: values in, one short sentence out. No state, no sound.

Rules: action first, then what for; at most 12 words, an alarm at most 8; numbers are said once and in the cook's units. No sentence here holds
the address word or a danger word, and none is a command (a test proves all of that, because the microphone hears the loudspeaker).
"""

from __future__ import annotations

from collections.abc import Sequence

_ONES = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
    *("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")


def number(n: int) -> str:
    """A whole number 0..999 in words.

    >>> number(7), number(25), number(340)
    ('seven', 'twenty-five', 'three hundred forty')
    """
    if n < 20:
        return _ONES[n]
    if n < 100:
        tens, ones = divmod(n, 10)
        return _TENS[tens] + (f"-{_ONES[ones]}" if ones else "")
    hundreds, rest = divmod(n, 100)
    return f"{_ONES[hundreds]} hundred" + (f" {number(rest)}" if rest else "")


def are_many(name: str) -> bool:
    """Whether a thing called this is spoken of as several: chips are, fish is.

    >>> are_many("chips"), are_many("fish"), are_many("watercress"), are_many("hummus")
    (True, False, False, False)
    """
    return name.endswith("s") and not name.endswith(("ss", "us"))


def duration(seconds: float) -> str:
    """A duration in words, rounded as a cook would: to 5 s under a minute, to half a minute under ten, then to minutes and quarter hours.

    >>> duration(42), duration(60), duration(450), duration(1500), duration(5400)
    ('forty seconds', 'one minute', 'seven and a half minutes', 'twenty-five minutes', 'one hour thirty')
    """
    s = max(0.0, seconds)
    if s < 57.5:
        return f"{number(max(5, round(s / 5) * 5))} seconds"
    if s < 600:
        halves = round(s / 30)
        whole, half = divmod(halves, 2)
        if half:
            return "a minute and a half" if whole == 1 else f"{number(whole)} and a half minutes"
        return "one minute" if whole == 1 else f"{number(whole)} minutes"
    minutes = round(s / 60)
    if minutes < 60:
        return f"{number(minutes)} minutes"
    hours, rest = divmod(minutes, 60)
    hour = "one hour" if hours == 1 else f"{number(hours)} hours"
    return hour if rest == 0 else f"{hour} {number(rest)}"


def degrees(celsius: float, units: str) -> str:
    """A temperature as a bare figure in the cook's units.

    >>> degrees(162.8, "F"), degrees(162.8, "C")
    ('325', '163')
    """
    return f"{celsius * 9 / 5 + 32:.0f}" if units == "F" else f"{celsius:.0f}"


def day_time(day_s: float) -> str:
    """A time of day, 24 hours.

    >>> day_time(66600)
    '18:30'
    """
    minutes = int(day_s // 60 + (1 if day_s % 60 >= 30 else 0)) % 1440
    return f"{minutes // 60}:{minutes % 60:02d}"


def one_breath(words: str) -> bool:
    """Whether these words are short enough for one line.

    >>> one_breath("Wash hands, clean bowl. Drain and salt the fritters.")
    True
    """
    return len(words.split()) <= 12


def upper(words: str) -> str:
    """The same with a capital first letter."""
    return words[:1].upper() + words[1:]


def listed(names: Sequence[str]) -> str:
    """Names in one breath; three at most are said, the rest counted.

    >>> listed(["chips"]), listed(["chips", "peas"]), listed(["a", "b", "c", "d"])
    ('chips', 'chips and peas', 'a, b and two more')
    """
    if len(names) <= 1:
        return "".join(names)
    if len(names) <= 3:
        return ", ".join(names[:-1]) + f" and {names[-1]}"
    return ", ".join(names[:2]) + f" and {number(len(names) - 2)} more"


# --- the evening begins and ends


def good_evening(day_s: float) -> str:
    return f"It is {day_time(day_s)}. Is that right?"


AID_ONLY = "I only help; I cannot see the pot. Stay with hot oil."
LOCAL_ADVICE = "Your local safety advice goes before mine."
ASK_TIME = "Tell me the right time."


def time_set(day_s: float) -> str:
    return f"Good, {day_time(day_s)}."


def plan_in_brief(day_s: float, days: int = 0) -> str:
    return f"We eat{'' if days <= 0 else ' ' + in_days(days)} at {day_time(day_s)}."


def in_days(days: int) -> str:
    return "later today" if days <= 0 else "tomorrow" if days == 1 else f"in {number(days)} days"


def when_made(days: int) -> str:
    return "earlier today" if days <= 0 else "yesterday" if days == 1 else f"{number(days)} days ago"


def still_good(name: str, days: int) -> str:
    words = f"The {name} from {when_made(days)}: still good?"
    return f"{words} Yes or no." if len(words.split()) <= 9 else words


def made_already(name: str) -> str:
    return f"Good: {name}, made already."


def make_again(name: str) -> str:
    return f"Into the bin, then. We make the {name} again."


def is_it_thawed(name: str) -> str:
    return f"{upper(name)}: thawed in the fridge by now?"


def to_thaw(name: str) -> str:
    return f"{upper(name)} from the freezer to the fridge, to thaw."


THAWED = "Good: thawed."
STILL_FROZEN = "Then dinner waits until it has."


def session_over(name: str, day_s: float, days: int) -> str:
    """Between two sessions: what the next begins with, and when."""
    return f"Enough for now. Next: {name}, {in_days(days)} at {day_time(day_s)}."


def call_you(name: str, day_s: float, days: int) -> str:
    """Nothing to do for a long while: when the voice comes back, and with what."""
    return f"I call you {'' if days <= 0 else in_days(days) + ' '}at {day_time(day_s)}: {name}."


def thawing(name: str) -> str:
    """What is moved to the fridge, as something to name."""
    return f"{name} to thaw"


DINNER_UP = "To the table. Before you sit down."
TURN_IT_OFF = "Turn it off first, then sit down."
OIL_COOLS = "Leave the oil where it is until cold."


def movable_in(seconds: float) -> str:
    return f"Let it cool {duration(seconds)}. I will say when."


ASK_SIGNS = "Did the oil smoke, keep its foam, darken or smell bad?"
WHICH_SIGN = "Which: it smoked, foam stayed, dark, thick or smell?"
OIL_ENDS = "Then that oil ends here. Never with new oil."
OIL_KEEPS = "Then it may serve again. Strain it once cold."
OIL_OLD = "By its hours that oil is near its end: a guess."
OIL_DONE = "That oil has had its day: take fresh oil."
OIL_TIRED = "By its hours that oil is done: a guess."


def cold_clock(name: str) -> str:
    """What the clock on cooling oil is called."""
    return f"oil in the {name} until cold"


OIL_IS_COLD = "The oil should be cold. Probe before you move it."
EVERYONE_HERE = "Is everyone there? The next step cannot wait."
HOW_MANY_LATE = "How many are late?"
ALL_LATE = "Then all of it waits. Say how late you run."
ALL_COOKED = "All of it is cooked already. Serve it now."
FIRST_TABLE = "To the table, whoever is there. The second batch follows."
ASK_AGAIN_LATER = "Then I ask again in five minutes."
SECOND_NOW = "Good. Now the second batch."


def rest_in_fridge(name: str, people: int) -> str:
    """Late guests: their part waits raw and cold."""
    return f"Cook for {number(people)}; {name} for the rest into the fridge."


def second_wave(name: str, drop_day_s: float, table_day_s: float) -> str:
    return f"Second wave, {name}: in at {day_time(drop_day_s)}, table at {day_time(table_day_s)}."


def guests_here(name: str) -> str:
    return f"Are the others here? The second {name} can go in."


WELL_DONE = "That was the last. Eat well."

# --- steps


def do_now(name: str, text: str) -> str:
    """The step to do now; the card's own line when it is short enough."""
    return text if text and one_breath(text) else f"Now: {name}."


def into_oven(name: str) -> str:
    return f"{upper(name)}: into the oven. Tell me when."


def onto_stove(name: str) -> str:
    return f"{upper(name)}: onto the stove. Tell me when."


def preheat(celsius: float, units: str) -> str:
    return f"Oven to {degrees(celsius, units)} now."


def oven_turned(level: str, celsius: float | None, units: str) -> str:
    noted = f"Oven {level}, noted"
    if celsius is None:
        return f"{noted}."
    return f"{noted}: to {degrees(celsius, units)}." if level == "on" else f"{noted}. It should be at {degrees(celsius, units)}."


def oven_told(level: str, celsius: float | None, units: str) -> str:
    """level: as the cook told it last, empty when never."""
    if not level:
        return "Look at the oven: " + ("you have not told me." if celsius is None else f"it should be at {degrees(celsius, units)}.")
    return f"Oven {level}, as you told me." + ("" if celsius is None else f" It should be at {degrees(celsius, units)}.")


def oven_off(name: str) -> str:
    return f"Oven off, noted. {upper(name)} still inside." if name else "Oven off, noted."


def oven_at(celsius: float, wanted_c: float | None, units: str) -> str:
    at = f"Oven at {degrees(celsius, units)}, noted."
    return at if wanted_c is None else f"{at} It should be at {degrees(wanted_c, units)}."


def keep_in_oven(name: str) -> str:
    return f"{upper(name)} on a rack into the oven."


def waiting(name: str, seconds: float) -> str:
    return f"{upper(name)}: {duration(seconds)} from now."


def wait_over(name: str) -> str:
    return f"{upper(name)}: time is up."


def next_at(name: str, in_s: float) -> str:
    return f"Next: {name}, in {duration(in_s)}." if in_s >= 45 else f"Next: {name}, now."


NOTHING_NEXT = "Nothing is left to begin."
NOTHING_RUNNING = "Nothing is running."
NOTHING_MISSED = "Nothing is overdue."
NOT_NOW = "Nothing of that is under way."
OVEN_EMPTY = "Nothing is in the oven that I know of."
NOT_PERISHABLE = "No food clock runs on that."
NO_BATCH_YET = "No batch of that is out yet. Tell me after the lift."


def step_is(name: str) -> str:
    return f"You are on {name}."


def step_done(name: str) -> str:
    return f"{upper(name)}, finished."


def step_waits_for(name: str, first: str) -> str:
    return f"Not yet: {name} waits for {first}."


def skip_sure(name: str) -> str:
    return f"Leave out {name}?"


def leave_sure(name: str) -> str:
    """A whole dish."""
    return f"Leave out all of the {name}?"


def only_a_part(dish: str) -> str:
    return f"That is only a part of the {dish}."


def skipped(name: str) -> str:
    return f"Left out: {name}."


def back_to(name: str) -> str:
    return f"Back to {name}."


def late_by(name: str, seconds: float) -> str:
    return f"{upper(name)} is {duration(seconds)} late."


def ahead(action: str, in_s: float) -> str:
    return f"In {duration(in_s)}: {action}."


def lift(name: str) -> str:
    """The action of taking food out of the oil."""
    return f"lift the {name}"


def lift_clean(name: str) -> str:
    """The order to lift what was lowered raw, as short as an alarm whatever its name."""
    words = f"{upper(lift(name))}: clean tongs, clean rack."
    return words if len(words.split()) <= 8 else f"Clean tongs: {lift(name)}."


# --- food in heat


def batch_in(name: str, seconds: float) -> str:
    return f"{upper(duration(seconds))}, {name}."


def look(name: str, looks: str) -> str:
    words = f"{upper(name)}: {looks.rstrip('.?!')}?"
    return words if one_breath(words) else f"Look at the {name}. As it should be?"


def take_out(name: str) -> str:
    """The action of taking a dish out of the oven."""
    return f"take out the {name}"


def take_off(name: str) -> str:
    """The action of taking a pan off the stove."""
    return f"take the {name} off the heat"


def over_time(name: str) -> str:
    return f"Out with the {name}, past its time."


def more_time(name: str, seconds: float) -> str:
    return f"{upper(duration(seconds))} more, {name}."


def extra_next(seconds: float) -> str:
    return f"Same {duration(seconds)} extra next batch."


def time_left(name: str, seconds: float) -> str:
    return f"{upper(name)}: {duration(seconds)} left." if seconds > 0 else f"{upper(name)}: due now."


def planned(name: str, day_s: float, past: bool) -> str:
    return f"{upper(name)}: {'was ' if past else ''}planned for {day_time(day_s)}."


def after_lift(name: str, seconds: float) -> str:
    return f"{upper(name)}: after this lift, in {duration(seconds)}." if seconds > 0 else f"{upper(name)}: after this lift."


def when_hot(name: str) -> str:
    return f"{upper(name)}: as soon as the oil is hot."


def lifted(name: str) -> str:
    return f"{upper(name)} out. Drain, season, skim the crumbs."


def out(name: str) -> str:
    return f"{upper(name)}, out."


def batches_left(name: str, n: int) -> str:
    return f"{upper(name)}: no batch left." if n == 0 else f"{upper(name)}: {number(n)} {'batch' if n == 1 else 'batches'} left."


def batch_size(name: str, kg: float, pieces: int | None) -> str:
    """The largest batch, in pieces where they can be counted, else in grams and handfuls."""
    if pieces == 0 or kg < 0.005:
        return f"{upper(name)}: none may go in now."
    if pieces is not None:
        return f"{upper(number(pieces))} of the {name} at a time."
    return f"{upper(name)}: {kg * 1000:.0f} grams, {_handfuls(kg)} at a time."


def batch_of(n: int, of: int, kg: float, pieces: int | None) -> str:
    """What goes into one of several uneven batches."""
    return f"Batch {number(n)} of {number(of)}: {_amount(kg, pieces)}."


def batches_each(of: int, kg: float, pieces: int | None) -> str:
    """What goes into each of several even batches."""
    return f"{upper(number(of))} batches, {_amount(kg, pieces)} each."


def _amount(kg: float, pieces: int | None) -> str:
    return f"{round(kg * 100) * 10} grams" if pieces is None else f"{number(pieces)} {'piece' if pieces == 1 else 'pieces'}"


def batch_limit(why: str) -> str:
    """What makes it no more."""
    return f"Because of this: {why}."


ALL_OF_IT = "That is all of it."


def all_in(name: str) -> str:
    return f"Last piece in? Say {name} in."


def need_core(name: str, celsius: float, units: str, two: bool) -> str:
    return f"Probe the {name}, {'two biggest pieces' if two else 'the biggest piece'}. Wants {degrees(celsius, units)}."


def probe_from_now(name: str) -> str:
    return f"{upper(name)}: probe from now on. The thermometer decides."


def oil_for(name: str, celsius: float, units: str) -> str:
    return f"{upper(name)}: oil at {degrees(celsius, units)}."


def oven_for(name: str, celsius: float, units: str) -> str:
    return f"{upper(name)}: oven at {degrees(celsius, units)}."


def core_for(name: str, celsius: float, units: str) -> str:
    return f"{upper(name)}: core {degrees(celsius, units)}."


NO_FIGURE = "The card has no temperature for that."


def core_clock(name: str) -> str:
    """What a clock for the next reading is called."""
    return f"read the {name} again"


# --- oil


def of_pot(pot: str, words: str, most: int = 12) -> str:
    """Words about one of several pots; without its name where they would be more than so many with it."""
    named = f"{upper(pot)}: {words[:1].lower()}{words[1:]}"
    return named if len(named.split()) <= most else words


def ask_oil() -> str:
    return "What is the oil at?"


def oil_noted(said_c: float, want_c: float | None, units: str) -> str:
    said = degrees(said_c, units)
    return f"Oil {said}." if want_c is None else f"Oil {said}, wants {degrees(want_c, units)}."


def oil_go(said_c: float, units: str) -> str:
    return f"Go, {degrees(said_c, units)}."


def hold_cold(said_c: float, want_c: float, units: str) -> str:
    return f"Hold. Oil {degrees(said_c, units)}, wants {degrees(want_c, units)}."


def hold_hot(said_c: float, want_c: float, units: str) -> str:
    return f"Hold. Oil {degrees(said_c, units)}, too hot for {degrees(want_c, units)}."


def hold_hot_for(oil_c: float, want_c: float, wait_s: float | None, lit: bool, units: str) -> str:
    """The same with what to do about it and how long that takes, when it is known."""
    off, wait = "burner off" if lit else "", "" if wait_s is None else duration(max(20.0, wait_s))
    rest = ", ".join(part for part in (off, wait) if part)
    return f"Hold. Oil {degrees(oil_c, units)}, wants {degrees(want_c, units)}. {upper(rest)}." if rest else hold_hot(oil_c, want_c, units)


def oil_ready(said_c: float, units: str) -> str:
    return f"Ready, {degrees(said_c, units)}."


def oil_heats(name: str, seconds: float | None) -> str:
    """A pot that only heats. name: what it is for, empty when nothing more is fried; seconds: until it is ready, None when nobody knows."""
    if not name:
        return "The pot is still heated, and nothing more fries."
    return f"Oil for {name}: " + ("heating." if seconds is None else "hot." if seconds <= 0 else f"about {duration(seconds)} more.")


def oil_unsure(said_c: float, units: str) -> str:
    return f"Oil at {degrees(said_c, units)}? Sure?"


def probe_unsure(said_c: float, units: str) -> str:
    return f"The probe says {degrees(said_c, units)}. Is it in the oil?"


def below_floor(said_c: float, units: str) -> str:
    return f"Oil {degrees(said_c, units)}, too cold. Burner up."


def not_to_hold(words: str) -> str:
    """What is wrong with a drop, said when the food is in: what it is and whether the heat goes off, not to hold, nor how long to wait.

    >>> not_to_hold("Hold. Oil 343, wants 355. About thirty-five seconds."), not_to_hold("Hold. Oil 357, wants 320. Burner off, five minutes.")
    ('Oil 343, wants 355.', 'Oil 357, wants 320. Burner off.')
    """
    first, *rest = words.removeprefix("Hold. ").removesuffix(".").split(". ")
    return ". ".join([first, *(order.partition(",")[0] for order in rest if "off" in order)]) + "."


def hold_cold_for(oil_c: float, want_c: float, wait_s: float | None, units: str) -> str:
    """The same with how long it will take, when that is known."""
    words = hold_cold(oil_c, want_c, units)
    return words if wait_s is None else f"{words} About {duration(max(20.0, wait_s))}."


def ready_in(seconds: float) -> str:
    return f"Ready in about {duration(seconds)}."


def no_headroom(limit: str) -> str:
    return f"Hold. Too full: {limit}."


def take_some_out(litres: float) -> str:
    return f"Too much oil: {litres:.1f} litres at most. Taken out?"


def too_much(kg: float, pieces: int | None, why: str) -> str:
    """A batch that is too large, and how much may go in: whole pieces, or handfuls."""
    words = f"{number(pieces)} {'piece' if pieces == 1 else 'pieces'}" if pieces is not None else _handfuls(kg)
    said = f"Hold. {upper(words)} at most: {why}."
    return said if one_breath(said) else f"Hold. {upper(words)} at most."


def _handfuls(kg: float) -> str:
    """A weight in handfuls of 100 g (common practice for sticks)."""
    handfuls = int(kg / 0.1 + 1e-6)
    return "less than a handful" if handfuls == 0 else f"{number(handfuls)} {'handful' if handfuls == 1 else 'handfuls'}"


SAFER_HEAT = "An induction hob or thermostat fryer is safer than a flame."


def ask_pot(piece: str, name: str, fryer: bool = False) -> str:
    """The question for one piece of a pot nobody has measured. fryer: an electric one, which has marks and a label."""
    if fryer and piece in ("oil", "burner"):
        return "How many litres between the fryer's marks?" if piece == "oil" else "How many watts has the fryer? Its label says."
    return {
        "width": f"How wide inside is the {name}? Inches or centimetres.",
        "height": f"How high inside is the {name}?",
        "oil": "How deep is the cold oil, or how many litres?",
        "burner": "Is the burner small, medium or large? Watts will do.",
    }[piece]


def odd_size(what: str, value: float, least: float, most: float, unit: str) -> str:
    """A size of the pot that makes no sense, in the cook's unit."""
    shown = (f"{x:.0f}" if x >= 100 else f"{x:.3g}" for x in (value, least, most))
    return "{} {} {}? It should be {} to {}.".format(upper(what), next(shown), unit, *shown)


POT_UNKNOWN = "Then I reckon carefully. Small batches."
POT_KNOWN = "Good, the pot is known."
SHOULD_BE_READY = "The oil should be ready. What is it at?"
HEAT_OFF_NOW = "Heat off now. Oil far too hot."
HEAT_OFF_MAYBE = "Heat off now. Oil may be too hot."
OFF_UNTIL_CLEAR = "Heat off, until the air is clear."
OIL_SMOKES = "Hold. Smoke means too hot. Heat off."
PAT_DRY = "Hold. Pat it dry first."
FLAME = {"full": "Burner to full.", "up": "Burner up a little.", "down": "Turn the burner down.", "off": "Burner off for now."}
LAST_OUT = "That was the last batch. Burner off."
NOTHING_FRIES = "Nothing goes into that pot any more. Burner off."
OIL_UNKNOWN = "No reading yet. What is the oil at?"
TOO_HOT = "Oil too hot. Burner off."
TOO_HOT_MAYBE = "Oil may be too hot. Burner off."
STILL_TOO_HOT = "Still too hot. Burner stays off, lid ready."
ANY_FLAME = "Heat off. Lid ready. No water. Any flame?"


def heat_to(celsius: float, units: str, fryer: bool = False) -> str:
    return f"Switch the fryer on, set to {degrees(celsius, units)}." if fryer else f"Light the burner. Oil to {degrees(celsius, units)}."


def set_fryer(celsius: float, units: str) -> str:
    return f"Set the fryer to {degrees(celsius, units)}."


def burner(level: str) -> str:
    return f"Burner {level}, noted."


def cannot_turn(level: str) -> str:
    return f"You turn it: I cannot. Is it {level} now?"


BURNER_OFF_FIRST = "Burner off, if you can reach it safely."
OVEN_OFF_FIRST = "Oven off, if you can reach it safely."
FRESH_NOTED = "Fresh oil, noted. First drop stays small."
TEST_FIRST = "Hold. Fresh oil: a small test batch first."
TEST_IN = "Small test first. Watch how far it rises."
TEST_AGAIN = "Test batch out. Did the foam stay low?"
NO_TEST = "Untested oil: watch it rise, ready to turn it off."
IN_FOAM = "It has foamed: watch it rise, ready to turn it off."
TEST_FOAM = "Did the foam stay low?"
TEST_OUT = "Good. Now the full batch."
TEST_ROSE = "Let it settle. Then tell me: foam has settled."
FOAM_FIRST = "Wait. The foam must settle first."
FOAM_DOWN = "Good. Smaller batches from here, drier food."


def topped_up(litres: float) -> str:
    return f"Added {litres * 1000:.0f} millilitres. Look at the level again."


def top_up_unsure(litres: float) -> str:
    return f"{litres:.3g} litres? The pot cannot hold that. How much was it?"


TOP_UP_NOT_NOW = "Not with food in. Wait for the lift."
RUNS_LOW = "The oil runs low. Top it up before the next batch."
TOO_FULL_HOT = "Too full. Burner off, let it cool."
NEVER_POUR = "Never pour hot oil."


NO_THERMOMETER = "Then we guess with bread. Medium flame, half batches."
NO_THERMOMETER_POULTRY = "Without one, raw poultry is never called cooked."


CUT_OPEN = "Cut the biggest open: cooked to the middle, or back in."
BUY_THERMOMETER = "A thermometer goes on your shopping list."
THERMOMETER_NOW = "Is there an oil thermometer now?"


def ask_bread(seconds: float) -> str:
    """The bread test, as a question that yes, no or a number of seconds answers."""
    return f"Drop a one-inch bread cube: golden in {duration(seconds)}?"


def bread_says(oil_c: float, units: str) -> str:
    return f"By the bread about {degrees(oil_c, units)}: a guess."


BREAD_FIRST = "Hold. A bread cube first."


def bread_cold(wait_s: float | None) -> str:
    return _by_bread("Too cold", "", wait_s)


def bread_hot(wait_s: float | None, lit: bool) -> str:
    return _by_bread("Too hot", "burner off" if lit else "", wait_s)


def _by_bread(what: str, order: str, wait_s: float | None) -> str:
    wait = "" if not wait_s else f"about {duration(wait_s)}"
    rest = ", ".join(part for part in (order, wait) if part)
    words = f"Hold. {what} by the bread." + (f" {upper(rest)}." if rest else "")
    return words if one_breath(words) else f"Hold. {what} by the bread. {upper(order or wait)}."


BREAD_GOOD = "Good enough to drop."
BREAD_GO = "Go, by the bread: only a guess."
OVERRULED = "Your choice. Stand back as it goes in."
QUALITY = {
    "pale": "Pale: oil too cold. Fewer pieces next time.",
    "greasy": "Greasy: oil too cold. Smaller batch next time.",
    "soft": "Soft: too crowded or too short. Smaller batch next.",
    "dark": "Dark: oil too hot. Turn it down a little.",
}


# --- in danger, besides the scripts

NEVER_LEAVE = "Never leave hot oil, not for a minute."
NOBODY_AT_THE_OIL = "Burner off first, if nobody else watches the oil."
OFF_BEFORE_LEAVING = "If you must: burner off first, and children out with you."
OUT_FIRST = "Safe first. Then cool water, twenty minutes."
DANGER_FIRST = "Not yet. Safety first."
STOP_COOLING = "Nobody hurt? Shall the cooling clock stop?"
NOTHING_TO_SERVE = "Nothing is left to cook. Before you rest."


def someone_else(action: str, lit: bool) -> str:
    return f"Someone else: {action}, burner off." if lit else f"Someone else: {action}."


def off_tonight(names: Sequence[str]) -> str:
    return f"Left out tonight: {listed(names)}."


def looked_because(look: str, why: str) -> str:
    """How a batch came out, and why."""
    return f"{upper(look)}: {why}."


def smaller_next(n: int) -> str:
    return f"From here smaller: {number(n)} {'batch' if n == 1 else 'batches'} left."


def next_longer(seconds: float) -> str:
    return f"Next batch {duration(abs(seconds))} {'longer' if seconds > 0 else 'shorter'}."


def next_oil(oil_c: float, units: str) -> str:
    return f"Next batch at {degrees(oil_c, units)}."


DRAIN_AT_ONCE = "Shake and drain within seconds of the lift."
ON_A_RACK = "Onto a rack, one layer, not covered."
SKIM = "Skim the crumbs first."

# --- clocks, holds, voice


def clock_set(name: str, seconds: float) -> str:
    return f"{upper(duration(seconds))}, {name}." if name else f"{upper(duration(seconds))}, from now."


def clock_rang(name: str) -> str:
    return f"Time: {name}." if name else "Your clock has run out."


def cancel_sure(name: str) -> str:
    return f"Clear the clock on {name}?"


def cancelled(name: str) -> str:
    return f"Clock on {name}, cleared."


NO_CLOCK = "No such clock is set."
FOR_HOW_LONG = "For how long?"


def still_in(names: Sequence[str]) -> str:
    return f"Still in the heat: {listed(names)}."


HELD = "Holding. Clocks in the heat run on."
CARRYING_ON = "Going on."
NOT_HELD = "Nothing was on hold."
QUIETLY = "Only what matters, for ten minutes."
VOICE = {"louder": "Louder now.", "softer": "Softer now.", "slower": "Slower now."}
UNDONE = "Taken back."
TOO_LATE_TO_UNDO = "Too late to take back."
KEPT = "Left as it was."

# --- people and things


def place_noted(name: str, place: str) -> str:
    where = {place: f"in the {place}" for place in ("fridge", "freezer", "oven", "pan", "bin")} | {"ice": "on ice"}
    return f"{upper(name)} {where.get(place, 'on the ' + place)}, noted."


def food_noted(name: str, celsius: float, units: str) -> str:
    return f"{upper(name)} {degrees(celsius, units)}, noted."


def kept_hot(name: str) -> str:
    return f"{upper(name)}: kept hot."


def hot_room(limit_s: float) -> str:
    return f"A hot room: what stands out keeps {duration(limit_s)}."


def out_of(name: str) -> str:
    return f"Out of {name}, noted."


def out_of_coating(name: str, dish: str, begun: bool) -> str:
    """What the food is coated with has run out."""
    return f"Without {name}: leave out {'the rest' if begun else 'all'} of the {dish}?"


def rest_left_out(dish: str) -> str:
    return f"Left out: the rest of the {dish}."


def for_helper(name: str, text: str) -> str:
    """A job for the helper, in the card's own line when it is short enough."""
    words = f"Helper: {text[:1].lower()}{text[1:]}"
    return words if text and one_breath(words) else f"Helper: {name}."


HELPER_HERE = "A helper, good. I will name jobs for two."
HELPER_GONE = "You are alone again."


HOW_MANY_PEOPLE = "I plan for one to one hundred people."


def people(n: int) -> str:
    return f"{upper(number(n))} of you, noted."


def serve_at(day_s: float) -> str:
    return f"Serving at {day_time(day_s)}."


def has_passed(day_s: float) -> str:
    return f"{day_time(day_s)} has passed. Tomorrow at {day_time(day_s)}?"


def serve_tomorrow(day_s: float) -> str:
    return f"Serving tomorrow at {day_time(day_s)}."


def serving_moves(day_s: float, because: str) -> str:
    return f"Serving moves to {day_time(day_s)}: {because}." if because else f"Serving moves to {day_time(day_s)}."


def why_people(people: int) -> str:
    return f"more eat now, {number(people)}"


def why_busy(what: str) -> str:
    return f"{what} {'are' if what == 'hands' else 'is'} busy till then"


def why_lit(pot: str) -> str:
    return f"{pot} came on late"


def why_longer(name: str) -> str:
    return f"{name} took longer"


def why_late(name: str) -> str:
    return f"{name} came late"


def dish_moves(name: str, day_s: float, alone: bool) -> str:
    move = "move" if are_many(name) else "moves"
    rest = "everything else as it was" if alone else "others move with it"
    return f"{upper(name)} {move} to {day_time(day_s)}; {rest}."


def running_late(seconds: float, day_s: float) -> str:
    return f"{upper(duration(seconds))} later: serving {day_time(day_s)}."


def eat_at(day_s: float, in_s: float) -> str:
    return f"{day_time(day_s)}, in {duration(in_s)}."


SERVED_NOW = "It is served."


def eat_was(day_s: float) -> str:
    return f"Dinner was planned for {day_time(day_s)}."


def time_is(day_s: float, eat_in_s: float) -> str:
    return f"{day_time(day_s)}. Dinner in {duration(eat_in_s)}." if eat_in_s > 0 else f"It is {day_time(day_s)}."


ON_TIME = "On time."


def behind(seconds: float) -> str:
    return f"{upper(duration(seconds))} behind."


def sit(seconds: float) -> str:
    return f"Yes, for {duration(seconds)}." if seconds >= 120 else "Not now, hands are needed."


def allergens(name: str, whom: Sequence[str], by_oil: bool = False) -> str:
    """For whom a dish is not, two allergens a line; by_oil: because the shared oil carries them."""
    if not whom:
        return f"{upper(name)}: no allergen on its card."
    return f"{upper(name)}: not for {' or '.join(whom)} allergy{', by the oil' if by_oil else ''}."


OIL_WITH_A_PAST = "The oil was used before; what touched it is not known."
NOTED = "Noted."

# --- hearing

SAY_AGAIN = "Say that again?"
HELP_ASK = "Ask what is next, or tell me what you finished."
HELP_MORE = "Say chips in, or chips out; oil is at a number."


def did_you_mean(what: str) -> str:
    return f"Did you mean {what}?"


def read_as(words: str) -> str:
    return f"Read as: {words}." if len(words.split()) <= 10 else "A slip of the keys, read as meant."


def unknown_item(what: str) -> str:
    return f"No {what} in this meal."


def odd_value(words: str, slot: str, units: str) -> str:
    """A number outside what can be, with what can be. slot: which value it is."""
    limits = {
        "count": HOW_MANY_PEOPLE,
        "seconds": "I count times from a second to a day.",
        "celsius": f"I know temperatures from minus 40 to {degrees(400.0, units)}.",
        "litres": "I know amounts of oil up to fifty litres.",
        "day_s": "No clock shows that time of day.",
    }
    return limits.get(slot) or (f"That number makes no sense to me: {words}." if len(words.split()) <= 4 else "That number makes no sense to me.")


# --- coming back, and faults of the world


def welcome_back(away_s: float) -> str:
    return f"Back after {duration(away_s)}." if away_s >= 20 else "Back."


CLOCK_JUMPED = "The time of day has jumped. Cooking clocks are right."
RECORDING = "Recording is on: what I hear tonight is kept as sound."
PROBE_LOST = "The probe is silent. Read the oil aloud."
PROBE_BACK = "The probe reads again."
MICROPHONE_LOST = "I cannot hear you. Please type."
MICROPHONE_BACK = "I hear you again."
SPEAKER_BACK = "You can hear me again."
JOURNAL_LOST = "I cannot write the journal. Disk full?"
JOURNAL_BACK = "The journal is written again."
STILL_ON = "Nobody answered. Is the burner still on?"
