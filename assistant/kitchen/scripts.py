"""Danger scripts as data: what is said, in which order, how long to wait for an answer.

Place on the path: Event -> State -> Speech; the session runs a script line by line, nothing here keeps time.

Rules
- A line is at most 8 words, an order first. Nothing is asked before the heat, the moving and the water have been named.
- A line with `ask` waits `gap_s` for yes or no; no answer goes where the worse answer would go.
- What is said is where the published bodies agree; where they differ the safer one is taken (the lid first, then everyone out).
- No line holds a danger sentence of the grammar, so that the program cannot hear itself: "flame", never the other word.
- Nothing is coached that any body forbids: lifting or taking the pan away, fanning, powders from the baking shelf, liquids.
- A fire that nobody answers about is taken to be burning: `get_out` comes again, further and further apart, until somebody answers.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

USFA = "U.S. Fire Administration (FEMA), cooking fire safety: keep the pan where it is, lid on, heat off, never water; oven off, door closed"
NFPA = "NFPA, cooking with oil: slide a lid on, burner off, leave covered until cool; if it does not go out: everyone out, call from outside"
LONDON = "London Fire Brigade, chip pans: do not move the pan, never water, heat off only if safe, leave, close the door, call"
USFA_BOIL = "U.S. Fire Administration (FEMA): if you see smoke or the grease starts to boil, turn the burner off"
BBA = "British Burn Association, First Aid Clinical Practice Guidelines, 2018"
AFTER_FIRE = "USDA FSIS, food after a kitchen fire: discard what heat, smoke or extinguisher reached (from memory)"
PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class ScriptLine:
    """words: at most 8; gap_s: silence after the words before the next line; ask: id of the question it asks (None: none);
    on_yes, on_no, on_silence: name of the script to go to (None: go on with the next line; "end": the script is over)."""

    words: str
    gap_s: float = 1.0
    ask: str | None = None
    on_yes: str | None = None
    on_no: str | None = None
    on_silence: str | None = None


@dataclass(frozen=True, slots=True)
class Script:
    """name: one of `SCRIPT_NAMES`; source: where the wording comes from; clock_s: a clock that starts with its first line, s (None: none)."""

    name: str
    lines: tuple[ScriptLine, ...]
    source: str
    clock_s: float | None = None


# Region (ISO 3166 country code; EU for the union) -> (fire service, ambulance); from memory.
_NUMBERS: dict[str, tuple[str, str]] = {
    **dict.fromkeys(("US", "CA", "MX", "PH"), ("911", "911")),
    **dict.fromkeys(("GB", "HK"), ("999", "999")),
    **dict.fromkeys(("AU",), ("000", "000")),
    **dict.fromkeys(("NZ",), ("111", "111")),
    **dict.fromkeys(("JP", "KR", "TW"), ("119", "119")),
    **dict.fromkeys(("SG",), ("995", "995")),
    **dict.fromkeys(("CN",), ("119", "120")),
    **dict.fromkeys(("BR",), ("193", "192")),
    # 112 is the number of the union's every member (Directive (EU) 2018/1972, article 109), and is used in India, Norway, Switzerland, ...
    **dict.fromkeys(("EU", "IE", "DE", "FR", "IT", "ES", "PT", "NL", "BE", "LU", "AT", "DK", "SE", "FI", "EE", "LV", "LT", "PL"), ("112", "112")),
    **dict.fromkeys(("CZ", "SK", "HU", "SI", "HR", "RO", "BG", "GR", "CY", "MT", "NO", "IS", "CH", "IN", "ZA", "TR", "UA"), ("112", "112")),
}
# 3: people first, nothing else is said; 2: the pot first; 1: somebody is hurt; every other script is advice after the danger
_SEVERITY = {
    **dict.fromkeys(("fire", "oven_fire", "get_out", "get_out_again", "get_out_later", "fire_out", "oven_out", "confirm_safe"), 3),
    **dict.fromkeys(("boil_over", "smoke", "spill"), 2),
    **dict.fromkeys(("burn", "eye"), 1),
}
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def severity(name: str) -> int:
    """How bad what a script is about is: 3 a fire, 2 a pot in trouble, 1 somebody hurt, 0 the danger is over.

    >>> severity("get_out"), severity("smoke"), severity("burn"), severity("after_fire")
    (3, 2, 1, 0)
    """
    return _SEVERITY.get(name, 0)


def emergency_number(region: str, ambulance: bool = False) -> str | None:
    """The number to call in a region (`US`, `en_GB`, `de-AT`, `EU`), for the fire service or the ambulance; None where it is not known.

    >>> emergency_number("US"), emergency_number("en_GB"), emergency_number("CN", ambulance=True), emergency_number("??")
    ('911', '999', '120', None)
    """
    code = region.replace("-", "_").rsplit("_", 1)[-1].upper()
    pair = _NUMBERS.get(code)
    return None if pair is None else pair[1 if ambulance else 0]


def spoken_number(number: str | None) -> str:
    """An emergency number digit by digit; without one, words that are true everywhere.

    >>> spoken_number("911"), spoken_number("000"), spoken_number(None)
    ('nine one one', 'zero zero zero', 'the emergency number')
    """
    return "the emergency number" if number is None else " ".join(_DIGITS[int(d)] for d in number)


def whom_to_call(region: str) -> str:
    """Fire service and ambulance of a region, in at most 8 words and without the word that is shouted of a fire.

    >>> whom_to_call("US")
    'Call nine one one.'
    >>> whom_to_call("CN")
    'Brigade: one one nine. Ambulance: one two zero.'
    >>> whom_to_call("??")
    'I do not know it here. Ask somebody.'
    """
    fire, ambulance = emergency_number(region), emergency_number(region, ambulance=True)
    if fire is None:
        return "I do not know it here. Ask somebody."
    if fire == ambulance:
        return f"Call {spoken_number(fire)}."
    return f"Brigade: {spoken_number(fire)}. Ambulance: {spoken_number(ambulance)}."


def _says(*words: str, gap_s: float = 1.0) -> tuple[ScriptLine, ...]:
    return tuple(ScriptLine(w, gap_s) for w in words)


HEAT_OFF = "heat_off"
"""The id of the question whether the heat is off: yes is a fact about the burner."""
_HEAT_OFF = "Heat off, if you can reach it safely."
_BACK = "Stand back. Children out."
_BACK_COIL = "Stand back, children out. The ring stays hot."
_GO_ON = "Say when you want to go on."
_ANSWER_S = 6.0  # silence that counts as no answer; the words themselves take 1 to 2 s more


def _any_flame(after: str) -> ScriptLine:
    return ScriptLine("Any flame?", _ANSWER_S, "any_flame", on_yes="fire", on_no=after, on_silence="fire")


def _is_it_out(after: str, gap_s: float, silent: str = "get_out") -> ScriptLine:
    return ScriptLine("Is it out?", gap_s, "is_it_out", on_yes=after, on_no="get_out", on_silence=silent)


# yes is noted, so that nobody is told again; whatever the answer, what follows says burner off once more
_IS_HEAT_OFF = ScriptLine("Is the heat off?", _ANSWER_S, HEAT_OFF)

_FIRE = (
    *_says(_HEAT_OFF, "Do not move the pan.", "No water."),
    *_says("If small: slide lid or metal tray on.", "Leave it covered until it is cold."),
    *_says("Otherwise everyone out, close the door.", "Call {fire} from outside."),
    # once more, for the one who was shouting; salt only where there is no lid
    *_says("Again: heat off. Do not move it.", "No water. Small: lid on.", "No lid, and small: salt or baking soda."),
    *_says("Growing? Everyone out. Close the door.", gap_s=2.0),
    _is_it_out("fire_out", 8.0),
)
_GET_OUT = _says("Get out now. Everyone out.", "Close the door behind you.", "Call {fire} from outside.", "Stay out. Do not go back in.")

_SCRIPTS: dict[str, Script] = {
    s.name: s
    for s in (
        Script("fire", _FIRE, f"{USFA}; {NFPA}; {LONDON}"),
        Script(
            "oven_fire",
            (
                *_says("Oven off.", "Keep the oven door shut.", "No water.", _BACK),
                *_says("Coming out of the door? Everyone out.", "Close the door.", "Call {fire} from outside."),
                *_says("Again: oven off. Oven door shut.", gap_s=2.0),
                _is_it_out("oven_out", 8.0),
            ),
            f"{USFA}; {LONDON}",
        ),
        Script("get_out", (*_GET_OUT, _is_it_out("fire_out", 20.0, "get_out_again")), f"{NFPA}; {LONDON}"),
        Script("get_out_again", (*_GET_OUT, _is_it_out("fire_out", 60.0, "get_out_later")), f"{NFPA}; {LONDON}"),
        Script("get_out_later", (*_GET_OUT, _is_it_out("fire_out", 180.0, "get_out_later")), f"{NFPA}; {LONDON}"),
        Script(
            "fire_out",
            (
                *_says("Leave the lid on. Heat stays off.", "Do not move the pan.", "Do not lift the lid until cold."),
                ScriptLine("Still out?", 20.0, "still_out", on_yes="after_fire", on_no="get_out", on_silence="get_out"),
            ),
            f"{USFA}; {NFPA}",
        ),
        Script(
            "oven_out",
            (
                *_says("Keep the oven door shut until cold.", "Oven stays off."),
                ScriptLine("Still out?", 20.0, "still_out", on_yes="after_oven", on_no="get_out", on_silence="get_out"),
            ),
            USFA,
        ),
        Script(
            "boil_over",
            (
                *_says(_HEAT_OFF, "Nothing more in.", "Do not move the pot."),
                *_says("Do not pour any oil out.", _BACK),
                _any_flame("after_boil_over"),
            ),
            f"{USFA_BOIL}; {PRACTICE}",
        ),
        Script(
            "smoke",
            (
                *_says(_HEAT_OFF, "Leave the pot where it is.", "Nothing more in. No water.", _BACK),
                _any_flame("after_smoke"),
            ),
            f"{USFA_BOIL}; NFPA: wisps of smoke, turn off the burner",
        ),
        Script(
            "spill",
            (
                *_says(_HEAT_OFF, "Do not move the pot.", "Nobody walks there. Children out.", "No water."),
                _any_flame("after_spill"),
            ),
            f"{USFA_BOIL}; {PRACTICE}",
        ),
        Script(
            "burn",
            (
                *_says("Cool running water, now: twenty minutes."),
                *_says("Someone else: burner off, if safely reached.", "Rings and clothing off, unless stuck."),
                *_says("No ice, butter or cream. Leave blisters.", "Stay under the water. Keep warm.", gap_s=2.0),
                *_says("Bigger than your palm: call {ambulance}.", "Child, face, hand or foot: call too."),
                *_says("Deep, white or all around: call too.", gap_s=2.0),
                ScriptLine("Did oil reach an eye?", _ANSWER_S, "eye", on_yes="eye", on_no="end", on_silence="end"),
            ),
            BBA,
            clock_s=1200.0,
        ),
        Script(
            "eye",
            (
                *_says("Rinse the eye, cool running water, now.", "Lids open. Lenses out. Do not rub."),
                *_says("Keep rinsing twenty minutes.", "Call {ambulance}."),
                *_says("Someone else: burner off, if safely reached."),
            ),
            f"{BBA} (oil in the eye: emergency); rinsing as for the skin, common practice",
            clock_s=1200.0,
        ),
        Script(
            "get_help",
            (
                *_says("Shout what is wrong.", gap_s=0.5),
                ScriptLine("Are you in danger?", _ANSWER_S, "in_danger", on_no="end"),
                *_says("Heat off, stand back.", "Call {fire}."),
            ),
            PRACTICE,
        ),
        Script(
            "confirm_safe",
            (ScriptLine("Is everything really safe?", _ANSWER_S, "really_safe", on_yes="all_clear", on_no="fire", on_silence="fire"),),
            PRACTICE,
        ),
        Script("all_clear", _says("Good. Burner off until you have looked.", _GO_ON), PRACTICE),
        Script(
            "after_fire",
            (
                *_says("That pan stays covered until cold.", "Its oil is finished. Do not reuse.", "Open food near it: throw it away."),
                *_says("The fridge kept its food safe.", "Coughing or dizzy? Call {ambulance}.", _GO_ON),
            ),
            f"{USFA}; {AFTER_FIRE}",
        ),
        Script(
            "after_oven",
            (*_says("Food in that oven: throw it away.", "Oven stays off tonight.", _GO_ON),),
            f"{USFA}; {PRACTICE}",
        ),
        Script(
            "after_boil_over",
            (_IS_HEAT_OFF, *_says("Burner off until the foam is down.", "Let drips cool, then wipe the stove.", "Then tell me: foam has settled.")),
            PRACTICE,
        ),
        Script(
            "after_smoke",
            (_IS_HEAT_OFF, *_says("Burner off until the air is clear.", "Leave the pot. Let it cool.", "Then read the oil and tell me.")),
            f"{USFA_BOIL}; {PRACTICE}",
        ),
        Script(
            "after_spill",
            (_IS_HEAT_OFF, *_says("Burner off. Let the oil go cold.", "Cold: salt soaks it up. Then wipe.", "Wash the floor before you walk there.")),
            PRACTICE,
        ),
        Script(
            "after_burn",
            _says("Cling film, laid on, not wrapped round.", "Not on a face. No cream.", "Worried, or still hurting: call {ambulance}.", _GO_ON),
            BBA,
        ),
    )
}

# what is said when a danger is asked about calmly: lines of at most 12 words, from the script of the same name, the orders first; a cut has no script
_NOW = "Is it happening now? Shout it."
_ADVICE: dict[str, tuple[str, ...]] = {
    "fire": (
        "Heat off if safely reached. Do not move the pan. No water.",
        "Small: slide a lid or metal tray on. Leave it until cold.",
        "Else everyone out, door closed, call {fire} from outside.",
        _NOW,
    ),
    "oven_fire": ("Oven off, door shut until it is cold. No water.", "Coming out? Everyone out, door closed, call {fire}.", _NOW),
    "boil_over": (
        "Heat off if safely reached. Nothing more in. Do not move it.",
        "Stand back. Burner off until foam is down and drips wiped.",
        _NOW,
    ),
    "smoke": ("Heat off. Leave the pot where it is. No water.", "Burner off until the air is clear and the oil cooler.", _NOW),
    "spill": ("Heat off. Nobody walks there. Let the oil go cold.", "Cold: salt soaks it up. Then wash the floor.", _NOW),
    "burn": (
        "Cool running water at once, twenty minutes.",
        "Rings off. No ice, butter or cream. Leave blisters.",
        "Large, deep, on face or hand, a child: call {ambulance}.",
        _NOW,
    ),
    # pressure, rinsing, a plaster and when to call: NHS, cuts and grazes; a cover and a glove over it: FDA Food Code 2-401.13 (both from memory)
    "cut": (
        "Press a clean cloth on it, hard, ten minutes. Hold it high.",
        "Stopped? Rinse it, dry it, waterproof plaster, a glove over it.",
        "Spurting, deep, numb, or still bleeding: call {ambulance}.",
        "Food it bled on goes in the bin. Wash board and knife.",
    ),
}


def advice(name: str, region: str = "US") -> tuple[str, ...]:
    """What to do in a danger that is not there, or about a cut, in short, with the region's number. KeyError for a name without any.

    >>> advice("oven_fire", "GB")[1]
    'Coming out? Everyone out, door closed, call nine nine nine.'
    """
    fire, ambulance = (spoken_number(emergency_number(region, a)) for a in (False, True))
    return tuple(words.format(fire=fire, ambulance=ambulance) for words in _ADVICE[name])


ADVICE_NAMES: tuple[str, ...] = tuple(_ADVICE)
SCRIPT_NAMES: tuple[str, ...] = tuple(_SCRIPTS)


def script(name: str, region: str = "US", coil: bool = False) -> Script:
    """The script of this name with the region's emergency number in it, spoken digit by digit; KeyError for a name that is none of `SCRIPT_NAMES`.
    coil: the pot stands on an electric ring, which goes on heating after it was turned off.

    >>> script("get_out", "GB").lines[2].words
    'Call nine nine nine from outside.'
    """
    fire, ambulance = (spoken_number(emergency_number(region, a)) for a in (False, True))
    found = _SCRIPTS[name]

    def words(line: ScriptLine) -> str:
        said = _BACK_COIL if coil and line.words == _BACK and severity(name) == 2 else line.words
        return said.format(fire=fire, ambulance=ambulance)

    return replace(found, lines=tuple(replace(x, words=words(x)) for x in found.lines))
