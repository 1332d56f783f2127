"""Danger scripts and drop checks against what the fire and burn bodies publish."""

import re

import pytest

from assistant.kitchen.drop_check import cutting_check, drop_lines, full_check
from assistant.kitchen.meal import Fry, Heat, Pot, Span, Step, StepKind
from assistant.kitchen.scripts import ADVICE_NAMES, SCRIPT_NAMES, advice, emergency_number, script, spoken_number, whom_to_call
from assistant.understanding.interpreter import Interpreter

REGIONS = ("US", "GB", "en_GB", "AU", "NZ", "DE", "KR", "CN", "nowhere")
DANGER = Interpreter(()).danger


def said(name: str, region: str = "US") -> str:
    """Everything a script says, as one lower-case string of words."""
    return " ".join(re.sub(r"[^a-z ]", "", x.words.lower()) for x in script(name, region).lines)


def heard_as_danger(words: str) -> bool:
    """Whether an ear that listens for danger in a rolling window would find some in these words."""
    plain = re.sub(r"[^a-z' ]", " ", words.lower()).split()
    return any(DANGER.complete(plain[i:j]) for i in range(len(plain)) for j in range(i + 1, len(plain) + 1))


def all_lines() -> list[tuple[str, str]]:
    """(script, words) of every line in every region."""
    return [(n, x.words) for n in SCRIPT_NAMES for r in REGIONS for x in script(n, r).lines]


def fry_step(name: str = "dip", **fry: object) -> Step:
    """A fry step with these properties of its food."""
    facts = {"oil_c": 175.0, "floor_c": 150.0, "kg": 0.4, "batches": 2, "pot": "pot", "cut": "potato sticks 10 mm"} | fry
    return Step(name, name, (name,), "dish", StepKind.FRY, Span(60, 90, 120), 10.0, fry=Fry(**facts))  # type: ignore[arg-type]


def pot(heat: Heat = Heat.GAS) -> Pot:
    """A pot on this heat."""
    return Pot("pot", "pot", 0.26, 0.15, 2.0, heat=heat)


def test_no_line_is_longer_than_eight_words() -> None:
    """Danger lines have at most 8 words in every region, the region without a known number too."""
    assert [x for x in all_lines() if len(x[1].split()) > 8] == []


def test_scripts_never_say_what_is_shouted() -> None:
    """The program cannot hear its own script as a new danger: no run of words in any line is a danger sentence of the grammar."""
    assert heard_as_danger("please, the pan's on fire now")
    assert [x for x in all_lines() if heard_as_danger(x[1])] == []


@pytest.mark.parametrize("region", REGIONS)
def test_whom_to_call_is_as_short_as_an_alarm_and_is_not_heard_as_one(region: str) -> None:
    """It is said in a fire too, between the script's lines."""
    words = whom_to_call(region)
    assert len(words.split()) <= 8
    assert not heard_as_danger(words)


@pytest.mark.parametrize(
    "must", ["heat off", "do not move the pan", "no water", "slide lid or metal tray on", "covered until it is cold", "everyone out"]
)
def test_fire_script_contains_the_published_points(must: str) -> None:
    """U.S. Fire Administration and NFPA, cooking fires: heat off, leave the pan, never water, lid or baking sheet, covered until cool, else out."""
    assert must in said("fire")


@pytest.mark.parametrize("must", ["close the door", "call nine one one from outside"])
def test_fire_and_get_out_send_people_outside(must: str) -> None:
    """London Fire Brigade and NFPA: leave, close the door, call from outside."""
    assert must in said("fire")
    assert must in said("get_out")


@pytest.mark.parametrize(
    "never", ["water on", "carry", "blow", "flour", "sugar", "milk", "baking powder", "towel", "throw water", "pick up", "lift the pan"]
)
def test_no_script_ever_coaches_a_harm(never: str) -> None:
    """U.S. Fire Administration, NFPA, Taipei Fire Department: what must never be advised at burning oil is in no script at all."""
    assert [n for n in SCRIPT_NAMES if re.search(rf"\b{never}\b", said(n))] == []


def test_salt_and_soda_only_for_small_and_after_the_lid() -> None:
    """Where advice differs the lid comes first, and powder is named for a small fire without a lid only."""
    words = [x.words.lower() for x in script("fire").lines]
    powder = [i for i, w in enumerate(words) if "salt" in w]
    lid = min(i for i, w in enumerate(words) if "lid" in w)
    assert powder
    assert all("small" in words[i] and "no lid" in words[i] and i > lid for i in powder)


@pytest.mark.parametrize("name", ["fire", "oven_fire", "boil_over", "smoke", "spill", "burn", "eye"])
def test_nothing_is_asked_before_three_orders_are_given(name: str) -> None:
    """The orders that matter first never wait for a reply: nothing is asked before them."""
    assert all(x.ask is None for x in script(name).lines[:3])


@pytest.mark.parametrize("name", ["fire", "boil_over", "smoke", "spill"])
def test_heat_off_comes_first_and_only_if_safe(name: str) -> None:
    """Heat off is the first order at the stove and always conditional on reaching it safely (London Fire Brigade)."""
    first = script(name).lines[0].words.lower()
    assert first.startswith("heat off")
    assert "safely" in first


def test_fire_names_its_orders_within_seven_lines_then_repeats() -> None:
    """The first seven lines are whole advice; the rest says the first orders again for the one who was shouting."""
    words = [x.words.lower() for x in script("fire").lines]
    assert "call" in words[6]
    again = " ".join(words[7:])
    assert "heat off" in again
    assert "do not move" in again
    assert "no water" in again


def test_oven_fire_keeps_the_door_shut() -> None:
    """U.S. Fire Administration: oven off, door closed."""
    first = [x.words.lower() for x in script("oven_fire").lines[:2]]
    assert first == ["oven off.", "keep the oven door shut."]


@pytest.mark.parametrize("name", ["boil_over", "smoke", "spill"])
def test_a_pot_in_trouble_asks_for_flame_and_assumes_the_worse(name: str) -> None:
    """Yes, and no answer, start the fire script; only no leads to the aftermath."""
    ask = script(name).lines[-1]
    assert (ask.words, ask.on_yes, ask.on_silence) == ("Any flame?", "fire", "fire")
    assert ask.on_no == {"boil_over": "after_boil_over", "smoke": "after_smoke", "spill": "after_spill"}[name]


def test_boil_over_says_what_the_published_points_say() -> None:
    """Nothing more in, the pot stays, no oil is poured out, stand back (USFA: if the grease starts to boil, burner off; rest common practice)."""
    words = said("boil_over")
    for must in ("nothing more in", "do not move the pot", "do not pour any oil out", "stand back", "children out"):
        assert must in words


def test_a_fire_goes_on_until_it_is_answered_for() -> None:
    """From every fire script no or silence leads to getting out; the silence of `get_out_later` comes back to itself, ever 3 minutes apart."""
    for name in ("fire", "oven_fire", "get_out", "get_out_again", "get_out_later", "fire_out", "oven_out"):
        ask = script(name).lines[-1]
        assert ask.on_no == "get_out"
        assert ask.on_silence is not None
        assert ask.on_silence.startswith("get_out")
    gaps = [script(n).lines[-1].gap_s for n in ("get_out", "get_out_again", "get_out_later")]
    assert gaps == sorted(gaps)
    assert script("get_out_later").lines[-1].on_silence == "get_out_later"


@pytest.mark.parametrize("name", ["fire", "oven_fire", "boil_over", "smoke", "spill", "confirm_safe"])
def test_silence_never_ends_a_danger(name: str) -> None:
    """Whoever does not answer is told to get out, again and again; a pot in trouble becomes a fire first."""
    seen = [name]
    for _ in range(8):
        ways = [x.on_silence for x in script(seen[-1]).lines if x.ask]
        assert len(ways) == 1
        assert ways[0] in SCRIPT_NAMES
        seen.append(str(ways[0]))
    assert seen[-1] == "get_out_later"


@pytest.mark.parametrize("name", ["fire", "oven_fire", "get_out", "get_out_later"])
def test_a_fire_is_over_only_after_two_answers_of_yes(name: str) -> None:
    """Out, and still out: one yes is never enough, and any no on the way leads outside."""
    once = script(name).lines[-1].on_yes
    assert once in ("fire_out", "oven_out")
    twice = script(str(once)).lines[-1]
    assert twice.on_yes in ("after_fire", "after_oven")
    assert all(x.ask is None for x in script(str(twice.on_yes)).lines)
    assert (script(name).lines[-1].on_no, twice.on_no) == ("get_out", "get_out")


def test_every_next_script_exists_and_asks_have_ids() -> None:
    """No answer leads to a script that is not there; only a line with a question branches."""
    for name in SCRIPT_NAMES:
        for line in script(name).lines:
            for way in (line.on_yes, line.on_no, line.on_silence):
                assert way is None or way == "end" or way in SCRIPT_NAMES
                assert way is None or line.ask
            assert line.ask is None or line.words.endswith("?")
        assert script(name).source


def test_only_a_confirmed_all_clear_ends_a_fire_by_false_alarm() -> None:
    """`confirm_safe` ends at yes; no and silence are the fire again."""
    ask = script("confirm_safe").lines[0]
    assert (ask.on_yes, ask.on_no, ask.on_silence) == ("all_clear", "fire", "fire")


@pytest.mark.parametrize(
    "must",
    [
        "cool running water",
        "twenty minutes",
        "rings and clothing off",
        "unless stuck",
        "no ice",
        "butter",
        "cream",
        "blisters",
        "keep warm",
        "palm",
        "child",
        "face",
    ],
)
def test_burn_script_says_the_published_first_aid(must: str) -> None:
    """British Burn Association 2018: 20 minutes of cool running water at once, clothing and jewellery off, nothing greasy, when to call."""
    assert must in said("burn")


def test_burn_cools_first_and_starts_its_own_clock() -> None:
    """British Burn Association 2018: start at once, 20 minutes; the one question about the kitchen is no question but an order, second."""
    burn = script("burn")
    assert burn.lines[0].words.lower().startswith("cool running water, now")
    assert "burner off" in burn.lines[1].words.lower()
    assert burn.clock_s == 20 * 60
    assert "cling film" in said("after_burn")
    assert "not wrapped" in said("after_burn")


@pytest.mark.parametrize(
    ("region", "words"),
    [
        ("US", "nine one one"),
        ("GB", "nine nine nine"),
        ("en_GB", "nine nine nine"),
        ("de-AT", "one one two"),
        ("KR", "one one nine"),
        ("AU", "zero zero zero"),
        ("nowhere", "the emergency number"),
    ],
)
def test_the_number_follows_the_region(region: str, words: str) -> None:
    """Numbers from memory; a region without one gets words that are true everywhere."""
    assert spoken_number(emergency_number(region)) == words
    assert words in said("get_out", region)


def test_burns_call_the_ambulance_where_it_has_its_own_number() -> None:
    """China: 119 for fires, 120 for injuries (from memory)."""
    assert "one one nine" in said("fire", "CN")
    assert "one two zero" in said("burn", "CN")


@pytest.mark.parametrize("name", ADVICE_NAMES)
@pytest.mark.parametrize("region", REGIONS)
def test_advice_asked_for_calmly_is_short_and_wakes_nobody(name: str, region: str) -> None:
    """What is answered to "how do I put out ..." is short lines without a shouted word, and a script with its source has them (a cut has none)."""
    lines = advice(name, region)
    assert name in SCRIPT_NAMES or name == "cut"
    assert len(lines) <= 4
    assert [x for x in lines if len(x.split()) > 12 or heard_as_danger(x)] == []


def test_advice_about_a_fire_has_the_published_points_and_no_harm() -> None:
    """U.S. Fire Administration and NFPA, as in the script: heat off, leave the pan, never water, lid, left until cold, else out and call."""
    words = " ".join(advice("fire")).lower()
    for must in ("heat off", "do not move the pan", "no water", "lid", "until cold", "everyone out", "call nine one one from outside"):
        assert must in words
    assert not re.search(r"water on|carry|blow|flour|sugar|milk|towel", words)


def test_advice_about_a_cut_has_the_published_points() -> None:
    """NHS, cuts and grazes: press with something clean, then rinse, dry and cover, call when it spurts or goes on; FDA Food Code 2-401.13: a
    glove over the plaster (both from memory)."""
    words = " ".join(advice("cut", "GB")).lower()
    for must in ("press a clean cloth", "rinse", "plaster", "a glove over it", "spurting", "call nine nine nine"):
        assert must in words


def test_unknown_script_is_an_error_of_the_author() -> None:
    """A name that is no script is a KeyError."""
    with pytest.raises(KeyError):
        script("earthquake")


def test_check_lines_are_short_and_without_shouted_words() -> None:
    """Lines said before a drop have at most 12 words and no danger sentence in them."""
    steps = [fry_step(), fry_step("wet", wet=True), fry_step("ice", frozen=True), fry_step("crumbs", coated=True), fry_step("hot", oil_c=190.0)]
    lines = [w for h in Heat for t in (True, False) for w in full_check(pot(h), t)] + list(cutting_check())
    lines += [w for h in Heat for s in steps for b in [None, *steps] for n in (1, 2) for f in (True, False) for w in drop_lines(pot(h), s, n, f, b)]
    assert [w for w in lines if len(w.split()) > 12 or heard_as_danger(w)] == []


@pytest.mark.parametrize("must", ["dry", "a third", "lid", "handle", "extinguisher", "thermometer", "children and pets a metre", "stay"])
def test_full_check_names_every_point(must: str) -> None:
    """Fire services (a third), U.S. Fire Administration (lid near, handles, 3 ft, stay): all are asked before the burner is lit."""
    assert must in " ".join(full_check(pot(), True)).lower()


def test_an_electric_fryer_goes_by_its_marks() -> None:
    """With a fryer the third of the pot is not said, the marks are."""
    words = " ".join(full_check(pot(Heat.FRYER), True)).lower()
    assert "marks" in words
    assert "third" not in words
    assert "flame" not in words


def test_first_drop_in_fresh_oil_is_a_small_test_batch() -> None:
    """Common practice: fresh oil foams at its first drop, so a small dry test batch goes first, lowered slowly."""
    lines = drop_lines(pot(Heat.INDUCTION), fry_step(), 1, fresh=True)
    assert lines == ("Fresh oil: first a small, dry test batch, lowered slowly.", "Never water near the oil.")


def test_open_flame_is_said_once() -> None:
    """At the first drop of a pot over a flame, and not again."""
    assert any("flame" in w for w in drop_lines(pot(), fry_step(), 1, fresh=False))
    assert not any("flame" in w for w in drop_lines(pot(), fry_step(), 2, fresh=False, before=fry_step()))


@pytest.mark.parametrize(
    ("step", "before", "says"),
    [
        (fry_step("b"), fry_step("a"), ()),
        (fry_step("b", wet=True), fry_step("a"), ("Pat it dry: wet food foams.",)),
        (fry_step("b", wet=True), fry_step("a", wet=True), ()),
        (fry_step("b", frozen=True), fry_step("a", wet=True), ("Frozen: knock the ice off, half a batch.",)),
        (fry_step("b", oil_c=190.0), fry_step("a"), ()),  # the temperature is said with "go"
        (fry_step("b"), fry_step("a", coated=True), ()),  # its crumbs are skimmed at its lift, where that is said
        (fry_step("b"), None, ()),
    ],
)
def test_later_drops_say_only_what_differs(step: Step, before: Step | None, says: tuple[str, ...]) -> None:
    """One line with the one thing that differs from the drop before; nothing when nothing does."""
    assert drop_lines(pot(), step, 3, fresh=False, before=before) == says


def test_a_step_that_does_not_fry_has_no_drop() -> None:
    """Asking for drop lines of a wait is the author's mistake."""
    with pytest.raises(ValueError, match="does not fry"):
        drop_lines(pot(), Step("w", "w", ("w",), "d", StepKind.WAIT, Span(1, 1, 1), 0.0), 1, fresh=False)
