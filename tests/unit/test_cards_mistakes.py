"""Cards with mistakes in them: each is said in one sentence with its line and the way out, all of them at once, and never by another exception."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.kitchen.card_names import wrong_with
from assistant.kitchen.card_yaml import load
from assistant.kitchen.cards import MealCardError, Mistake, find_meal, new_card, read_card, read_text
from assistant.kitchen.meal import Meal, names
from assistant.understanding.interpreter import Interpreter

CARD = """\
title: Test supper
serves: 2
kitchen:
  pots:
    big pot: {width: 26 cm, height: 15 cm, oil: 2 litres}
components:
  dip:
    ingredients:
      yogurt: {bought: 200 g, allergens: milk}
    steps:
      dip stir: {kind: hands, takes: 5 minutes}
dishes:
  chips:
    food: potato
    ingredients:
      potatoes: 1 kg
    steps:
      chips cut:
        kind: hands
        takes: 7 to 9 minutes
        after: nothing
      chips soak:
        kind: wait
        at least: 30 minutes
        at most: 2 hours
        else: Put them in the fridge.
      chips fry:
        kind: fry
        takes: 5 to 7 minutes
        oil: 325 F
        floor: 300 F
        weight: 800 g
        pieces: 80
        batches: 2
        cut: potato sticks 10 mm
        first look: 5 minutes
        done looks like: golden
      chips salt:
        kind: toss
        share: half of chips fry
        takes: 30 seconds
        hold best: 5 minutes
        hold most: 10 minutes
      chips dust:
        kind: toss
        share: half of chips fry
        takes: 30 seconds
      chips plate:
        kind: plate
        takes: 1 minute
        after: chips salt, chips dust
        uses: dip
  pie:
    ingredients:
      pastry: {bought: 300 g, allergens: "wheat, egg"}
    steps:
      pie bake:
        kind: bake
        takes: 20 to 25 minutes
        oven: 400 F
        first look: 18 minutes
        done looks like: brown
"""


def _mistakes(text: str, file: str = "test-supper.yaml") -> list[str]:
    try:
        read_text(text, file)
    except MealCardError as e:
        return [str(m) for m in e.mistakes]
    return []


def test_the_card_of_these_tests_has_no_mistake() -> None:
    """What the tables below change reads as it stands, and comes out as written."""
    meal = read_text(CARD, "test-supper.yaml")
    assert meal.step("chips-dust").after == ("chips-fry",)
    assert (meal.step("chips-dust").share, meal.step("chips-dust").share_of) == (0.5, "chips-fry")
    assert meal.step("chips-plate").after == ("chips-salt", "chips-dust", "dip-stir")
    assert meal.dish("chips").allergens == {"milk"}
    assert meal.dish("pie").allergens == {"wheat", "egg"}


# what is changed, into what, a word of the line that is named, and what the sentence says
TABLE: list[tuple[str, str, str, str]] = [
    ("share: half of chips fry\n        takes: 30 seconds\n        hold", "after: chips blanch\n        takes: 30 seconds\n        hold",
     "after: chips blanch", "'chips salt' waits for 'chips blanch', which no step is called. Did you mean 'chips "),
    ("after: chips salt, chips dust", "after: dip", "after: dip", "'chips plate' waits for 'dip', which is a component; write 'uses: dip' instead."),
    ("after: nothing", "after: chips plate", "after: chips plate", "a circle; take one 'after' out of it."),
    ("share: half of chips fry", "share: a third of chips fry", "share: half of chips fry", "come to 83%; make them come to all of it."),
    ("share: half of chips fry", "share: half of chip fri", "share: half of chip fri", "Did you mean 'chips fry'?"),
    ("share: half of chips fry", "share: half", "share: half\n", "does not say of what"),
    ("share: half of chips fry", "share: lots of chips fry", "share: lots", "'lots' is no part of a whole"),
    ("uses: dip", "uses: dop", "uses: dop", "'chips plate' uses 'dop', which no component is called. Did you mean 'dip'?"),
    ("        uses: dip\n", "", "  dip:", "No step uses 'dip'"),
    ("uses: dip", "uses: {dip: half}", "uses: {dip", "come to 50%"),
    ("uses: dip", "uses: {dip: }", "uses: {dip", "no part of a whole"),
    ("weight: 800 g", "weight: 800 g\n        pot: big pan", "pot: big pan", "fries in 'big pan', which no pot is called. Did you mean 'big pot'?"),
    ("        floor: 300 F\n", "", "chips fry:", "'chips fry' lacks 'floor'; add for example 'floor: 300 F'."),
    ("        oil: 325 F\n", "", "chips fry:", "'chips fry' lacks 'oil'; add for example 'oil: 325 F'."),
    ("        first look: 5 minutes\n", "", "chips fry:", "'chips fry' lacks 'first look'"),
    ("        done looks like: golden\n", "", "chips fry:", "'chips fry' lacks 'done looks like'"),
    ("        first look: 18 minutes\n", "", "pie bake:", "'pie bake' lacks 'first look'"),
    ("floor: 300 F", "floor: 330 F", "floor: 330 F", "floor at or above its set point"),
    ("oil: 325 F", "oil: 385 F", "oil: 385 F", "wants oil at 385 F (196 C), and no oil is set above 374 F (190 C)"),
    ("oil: 325 F", "oil: 325 C", "oil: 325 C", "Did you mean '325 F'?"),
    ("oil: 325 F", "oil: 163 F", "oil: 163 F", "Did you mean '163 C'?"),
    ("oil: 325 F", "oil: 900", "oil: 900", "'900' is no temperature; write it like '325 F' or '163 C'"),
    ("takes: 7 to 9 minutes", "takes: 9 to 7 minutes", "takes: 9 to 7", "longer at its least than at its most"),
    ("takes: 7 to 9 minutes", "takes: a while", "takes: a while", "'a while' is no duration; write it like '20 minutes'"),
    ("takes: 7 to 9 minutes", "takes: 0 minutes", "takes: 0", "no time at all"),
    ("takes: 7 to 9 minutes", "takes: [7, 9]", "takes: [7", "wants words on one line"),
    ("takes: 7 to 9 minutes", "takes:", "takes:\n", "wants words on one line"),
    ("at least: 30 minutes", "at least: 3 hours", "at least: 3 hours", "waits at least longer than at most"),
    ("        else: Put them in the fridge.\n", "", "at most: 2 hours", "has 'at most' and no 'else'"),
    ("hold best: 5 minutes", "hold best: 15 minutes", "hold best: 15", "at its best for longer than it keeps"),
    ("        hold best: 5 minutes\n", "", "hold most: 10", "has 'hold most' and no 'hold best'"),
    ("        hold best: 5 minutes\n        hold most: 10 minutes\n", "        hold on: oven\n", "hold on: oven", "is held and not how long"),
    ("first look: 5 minutes", "first look: 8 minutes", "first look: 8", "first looked at after its longest time"),
    ("done looks like: golden", "done looks like: a nice even golden brown all over and crisp", "done looks like: a nice", "say it in at most 7"),
    ("else: Put them in the fridge.", "else: Leave the kitchen.", "else: Leave", "holds 'kitchen', which the assistant acts on"),
    ("done looks like: golden", "done looks like: about to burn", "done looks like: about", "holds 'burn'"),
    ("else: Put them in the fridge.", "else: Put them all into the big white bowl at the back of the fridge.", "else: Put", "say it in at most 12"),
    ("kind: hands\n        takes: 7", "kind: hans\n        takes: 7", "kind: hans", "Did you mean 'hands'?"),
    ("kind: hands\n        takes: 7", "takes: 7", "chips cut:", "'chips cut' has no 'kind'; write one of hands, wait, fry"),
    ("kind: hands\n        takes: 7", "kind: hands\n        tkaes: 8\n        takes: 7", "tkaes", "Did you mean 'takes'?"),
    ("batches: 2", "batches: 90", "batches: 90", "is too many; write 40 or fewer"),
    ("batches: 2", "batches: two", "batches: two", "wants a whole number, not 'two'"),
    ("pieces: 80", "pieces: 1", "batches: 2", "more batches than pieces"),
    ("width: 26 cm", "width: 26 m", "width", "and a pot is 12 to 50 cm; measure it inside"),
    ("width: 26 cm", "width: 26", "width", "'26' is no length; write it like '26 cm'"),
    ("oil: 2 litres", "oil: 3 litres", "oil: 3 litres", "holds at most 2.3 litres of oil, a third of it once hot, not 3.0"),
    ("height: 15 cm", "hight: 15 cm", "hight", "Did you mean 'height'?"),
    ("    big pot: {width: 26 cm, height: 15 cm, oil: 2 litres}\n", "    {}\n", "kind: fry", "the card has no pot; add one"),
    ("    big pot:", "    small pot: {oil: 1 litre}\n    big pot:", "kind: fry", "does not say in which pot; write 'pot: small pot'"),
    ("  pots:", "  oven: no\n  pots:", "kind: bake", "bakes, and the card says 'oven: no'"),
    ("  pots:", "  oven: perhaps\n  pots:", "oven: perhaps", "wants yes or no, not 'perhaps'"),
    ("oven: 400 F", "oven: 400 C", "oven: 400 C", "ovens go from 40 to 300 C; check the unit"),
    ("food: potato", "food: potatos", "food: potatos", "Did you mean 'potato'?"),
    ("food: potato", "food: poultry", "  chips:", "is poultry, and no step of it reads a core temperature; add 'core: 165 F'"),
    ("potatoes: 1 kg", "chicken breasts: {bought: 1 kg, raw: yes}", "  chips:", "no step of it reads a core temperature"),
    ("potatoes: 1 kg", "potatoes: a lot", "potatoes: a lot", "'a lot' is no quantity; write it like '1.2 kg'"),
    ("potatoes: 1 kg", "potatoes: 1 kg\n      potatoes: 2 kg", "potatoes: 2 kg", "'potatoes' stands here and on line 16"),
    ("potatoes: 1 kg", "chips: 1 kg", "chips: 1 kg", "'chips' already means something on line 13"),
    ("      chips cut:", "      Dip-Stir:", "      Dip-Stir:", "'Dip-Stir' already means something on line 11"),
    ("yogurt: {", "yogurt: {perishable: yes, ", "yogurt", "spoils, and the card does not say where it is kept; write 'kept: fridge'"),
    ("potatoes: 1 kg", "potatoes: 1 kg\n      Potatoes: 2 kg", "Potatoes: 2 kg", "stands twice in 'chips'"),
    ("takes: 5 minutes}", "takes: 5 minutes, uses: dip}", "dip stir", "uses the component that it makes"),
    ("    big pot:", "    big-pot: {}\n    big pot:", "    big pot:", "sound the same; give one of the pots another name"),
    ("      chips cut:", "      pie:", "      pie:", "already means something on line"),
    ("      chips cut:", "      chips fire:", "chips fire:", "holds 'fire', which is kept for danger"),
    ("      chips cut:", "      chips down:", "chips down:", "ends like the command '... down'"),
    ("      chips cut:", "      kitchen chips:", "kitchen chips:", "how the cook calls the assistant"),
    ("      chips cut:", "      chips step 2:", "chips step 2:", "has a numeral in it"),
    ("    food: potato", "    said as: undo\n    food: potato", "said as: undo", "already something the cook can say"),
    ("    food: potato", "    said as: {a: b}\n    food: potato", "said as: {a", "wants names with commas between"),
    ("serves: 2", "serves: 0", "serves: 0", "too few; write 1 or more"),
    ("serves: 2\n", "", "title", "The card' lacks 'serves'"),
    ("title: Test supper\n", "", "serves", "The card' lacks 'title'"),
    ("      pie bake:\n", "      pie bake: soon\n      pie other:\n", "pie bake: soon", "wants lines of its own beneath it"),
    ("food: potato", "food: [a", "food: [a", "A bracket opens here and does not close rightly"),
    ("food: potato", "food: 1: 2", "food: 1: 2", "A colon is out of place"),
    ("food: potato", "food: &x potato\n    allergens: *x", "allergens: *x", "References with '&' and '*' are not read"),
    ("title: Test supper", "title: Test supper\n  more: words", "  more", "A colon is out of place"),
    ("      potatoes: 1 kg", "      potatoes: 1 kg\n     salt: 1 g", "     salt", "The indentation or punctuation is off here"),
    ("        after: nothing", "\tafter: nothing", "\tafter", "A tab stands where only spaces may"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "at", "says"), TABLE, ids=[f"{i}-{row[3][:30]}" for i, row in enumerate(TABLE)])
def test_a_mistake_names_its_line_and_the_way_out(old: str, new: str, at: str, says: str) -> None:
    """One change to a good card: the sentence that says what is wrong stands at the line of the change."""
    assert old in CARD
    text = CARD.replace(old, new, 1)
    line = text[: text.index(at)].count("\n") + 1
    found = _mistakes(text)
    right = [m for m in found if says in m]
    assert right, found
    assert right[0].startswith(f"test-supper.yaml, line {line}: "), right


def test_many_mistakes_come_at_once() -> None:
    """A card with ten mistakes tells all ten, in the order of the lines."""
    text = CARD
    for old, new in (
        ("serves: 2", "serves: 0"),
        ("width: 26 cm", "width: 26"),
        ("food: potato", "food: potatos"),
        ("potatoes: 1 kg", "potatoes: a lot"),
        ("takes: 7 to 9 minutes", "takes: 9 to 7 minutes"),
        ("at least: 30 minutes", "at least: 3 hours"),
        ("floor: 300 F", "floor: 330 F"),
        ("hold best: 5 minutes", "hold best: 15 minutes"),
        ("after: chips salt, chips dust", "after: chips salt, chips dast"),
        ("oven: 400 F", "oven: 400 C"),
    ):
        text = text.replace(old, new, 1)
    found = _mistakes(text)
    lines = [int(m.split("line ")[1].split(":")[0]) for m in found]
    assert len(found) == 10, found
    assert lines == sorted(lines)


def test_one_more_mistake_hides_no_other() -> None:
    """A step with a bad time still says that it waits for a step that is not there."""
    text = CARD.replace("takes: 1 minute", "takes: ages").replace("chips salt, chips dust", "chips salt, chips dst")
    found = "\n".join(_mistakes(text))
    assert "'ages' is no duration" in found
    assert "'chips dst', which no step is called. Did you mean 'chips dust'?" in found


@pytest.mark.parametrize("stem", ["Sunday Lunch", "a_b", "ü"])
def test_the_file_must_have_a_name_that_commands_take(stem: str) -> None:
    """A file that no command could name is told how to be called."""
    assert "rename it" in _mistakes(CARD, f"{stem}.yaml")[0]


def test_a_file_that_cannot_be_read_is_one_sentence(tmp_path: Any) -> None:
    """A folder, a missing file and bytes that are no text each give one mistake."""
    odd = tmp_path / "odd.yaml"
    odd.write_bytes(b"\xff\xfe\x00title")
    for path, says in ((tmp_path, "cannot be opened"), (tmp_path / "none.yaml", "cannot be opened"), (odd, "no plain text")):
        with pytest.raises(MealCardError, match=says) as e:
            read_card(path)
        assert len(e.value.mistakes) == 1


@pytest.mark.parametrize("text", ["", "# nothing", "~", "[]", "x", "title", "[" * 500, "{" * 500, "\x00", "--- a\n--- b\n", "? [a]\n: b", "&a [*a]"])
def test_what_is_no_card_is_said_so(text: str) -> None:
    """Empty, other YAML, bottomless or broken text: mistakes, nothing else."""
    assert _mistakes(text)


@pytest.mark.parametrize(
    "name", ["fish", "chips second fry", "shepherd's pie", "double-fried chips", "salsa verde", "boiled eggs", "smoked fish", "knocked back dough"]
)
def test_good_names_are_taken(name: str) -> None:
    """Plain names of food and of what is done to it."""
    assert wrong_with(name) is None


@pytest.mark.parametrize(
    "name",
    ["", "  ", "fry 2", "mac & cheese", "fire chips", "smoke", "spitting fish", "yes", "go back", "drop fish", "fish out", "the fish", "kitchen roll",
     "one two three four five six", "done", "help", "hold everything", "fish done"],
)  # fmt: skip
def test_bad_names_are_refused(name: str) -> None:
    """Numerals, signs, danger words, commands and their edges, the address word, articles, and names too long to say."""
    assert wrong_with(name) is not None


def test_no_command_can_be_a_name() -> None:
    """Every one-word sentence of the grammar, and every danger sentence short enough for a name, is refused on a card."""
    said = Interpreter(())
    single = {word for word in said.automaton.vocabulary() if said.complete(word) and not word.isdigit()}
    danger = {s for s in said.danger.sentences(20_000) if len(s.split()) <= 5}
    assert len(single) > 50
    assert len(danger) > 20
    assert not {s for s in single | danger if wrong_with(s) is None}


def test_no_name_of_our_meals_is_a_command() -> None:
    """Said alone, no dish, step or thing of the bundled meals is a whole sentence of the grammar or the start of a danger sentence."""
    said = Interpreter(())
    forms = {f for m in ("fish-supper", "sunday-thighs", "fritter-night") for n in names(read_card(find_meal(m))) for f in n.said}
    assert len(forms) > 100
    assert not {f for f in forms if said.complete(f) or said.danger.can_follow(f.split())}


KEYS = st.sampled_from(
    "title serves kitchen pots components dishes steps ingredients kind takes after uses share said as fry oil floor weight chips dip nothing".split()  # noqa: SIM905
) | st.text(max_size=8)
VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["5 minutes", "half of chips", "fry", "325 F", "dip"]),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=5),
    max_leaves=25,
)


def _reads_or_says(text: str) -> None:
    mistakes: tuple[Mistake, ...] | None = None
    try:
        meal = read_text(text, "junk.yaml")
    except MealCardError as e:
        mistakes = e.mistakes
    if mistakes is None:
        assert isinstance(meal, Meal)
    else:
        assert mistakes
        assert all(m.words and "\n" not in m.words and m.line >= 1 for m in mistakes)


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=200))
def test_any_text_gives_a_meal_or_mistakes(text: str) -> None:
    """No text whatever raises anything but MealCardError."""
    _reads_or_says(text)


@settings(max_examples=100, deadline=None)
@given(VALUES)
def test_any_yaml_gives_a_meal_or_mistakes(value: Any) -> None:
    """No structure whatever raises anything but MealCardError (JSON is YAML)."""
    _reads_or_says(json.dumps(value))


@pytest.mark.parametrize(("escaped", "read"), [("\\ud83c\\udf5f", "\U0001f35f"), ("\\ud83c", "\N{REPLACEMENT CHARACTER}")])
def test_characters_that_json_writes_in_two_halves_are_put_together(escaped: str, read: str) -> None:
    """As another program writes them; one half alone is no character and never reaches what cannot write it."""
    assert load(f'dip: "{escaped}"\n"{escaped}": dip', "junk.yaml").data == {"dip": read, read: "dip"}


PARTS = CARD.splitlines()


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_any_damage_to_a_card_gives_a_meal_or_mistakes(data: st.DataObject) -> None:
    """A card with lines lost, doubled, moved, emptied or given another's value raises nothing but MealCardError."""
    lines = list(PARTS)
    for _ in range(data.draw(st.integers(1, 4))):
        at, other = data.draw(st.integers(0, len(lines) - 1)), data.draw(st.integers(0, len(lines) - 1))
        match data.draw(st.sampled_from(["lose", "double", "move", "empty", "junk", "swap"])):
            case "lose" if len(lines) > 1:
                del lines[at]
            case "double":
                lines.insert(at, lines[other])
            case "move":
                lines[at] = "  " + lines[at]
            case "empty":
                lines[at] = lines[at].split(":")[0] + ":"
            case "junk":
                lines[at] = lines[at].split(":")[0] + ": " + json.dumps(data.draw(VALUES))
            case _:
                lines[at] = lines[at].split(":")[0] + ":" + lines[other].partition(":")[2]
    _reads_or_says("\n".join(lines))


def test_bundled_and_new_cards_have_no_mistakes() -> None:
    """What the program itself writes and brings along passes its own check."""
    for name in ("fish-supper", "sunday-thighs", "fritter-night"):
        assert read_card(find_meal(name)).id == name
    assert not _mistakes(new_card("any-meal"), "any-meal.yaml")
