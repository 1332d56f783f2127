"""Words to commands: every intent in the ways people say it, and everything that must not become a command."""

from __future__ import annotations

import random
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.kitchen.cards import BUNDLED, find_meal, read_card
from assistant.kitchen.meal import Name, names
from assistant.session.commands import DANGER, SLOTS, Command, Intent, Reject
from assistant.understanding import jsgf, numbers
from assistant.understanding.automaton import Automaton
from assistant.understanding.interpreter import Interpreter, Reading, grammar_folder

NAMES = (
    Name("chips", "dish", ("chips", "fries")),
    Name("shrimp", "dish", ("shrimp",)),
    Name("fish", "dish", ("fish", "battered fish")),
    Name("onion-rings", "dish", ("onion rings", "rings")),
    Name("tartare", "dish", ("tartare sauce", "the sauce")),
    Name("chips-first-fry", "step", ("chips first fry", "first fry")),
    Name("chips-second-fry", "step", ("chips second fry",)),
    Name("batter", "step", ("batter",)),
    Name("potatoes", "thing", ("potatoes",)),
    Name("chicken", "thing", ("chicken",)),
    Name("coating", "thing", ("coating", "flour")),
    Name("deep-pot", "pot", ("deep pot",)),
    Name("wok", "pot", ("old wok",)),
)
EVENING = 17 * 3600.0
KITCHEN = Interpreter(NAMES, "F")


def understood(sentence: str, **options: bool) -> Reading:
    """The reading of a sentence said at five in the afternoon."""
    return KITCHEN.interpret(sentence, now_day_s=EVENING, **options)


def meaning(sentence: str) -> tuple[Intent, dict[str, str | float | int]] | str:
    """Intent and slots, or the reason of the reject."""
    result = understood(sentence).result
    return (result.intent, result.slots()) if isinstance(result, Command) else result.reason


SAID: dict[Intent, list[str]] = {
    Intent.WHATS_NEXT: ["what's next", "what is next", "next", "what now", "what do I do now", "what should I do next", "whats next"],
    Intent.REPEAT: ["repeat", "repeat that", "say that again", "what did you say", "come again"],
    Intent.WHICH_STEP: ["which step", "which step am I on", "where am I", "where are we", "what step is this"],
    Intent.HOW_LONG: ["how long", "how much longer", "how long left"],
    Intent.WHAT_TIME: ["what time is it", "what's the time", "what time is it now"],
    Intent.WHATS_RUNNING: ["what's running", "which clocks are running", "what's cooking", "read me the clocks", "what's in the oil"],
    Intent.WHAT_FORGOTTEN: ["what did I forget", "did I forget anything", "have I missed anything", "what am I forgetting"],
    Intent.OIL_READY: [
        "is the oil hot enough",
        "is the oil ready",
        "how hot is the oil",
        "how's the oil",
        "can I drop yet",
        "the oil is too hot",
        "oil's too cold",
    ],
    Intent.OVEN_READY: [
        "is the oven on",
        "is the oven hot yet",
        "how hot is the oven",
        "what's the oven at",
        "how's the oven",
        "is the oven off",
        "what temperature is the oven",
    ],
    Intent.BATCHES_LEFT: ["how many batches are left", "how many batches left", "how many more batches", "how many batches to go"],
    Intent.HOW_MANY: ["how many can I drop", "how much can I drop", "how many go in", "how many at a time", "how big a batch"],
    Intent.WHEN_EAT: [
        "when do we eat",
        "what time do we eat",
        "when's dinner",
        "when will it be ready",
        "how long until dinner",
        "how much time is left",
    ],
    Intent.HOW_DOING: ["how are we doing", "are we on time", "am I late", "how late are we"],
    Intent.CAN_SIT: [
        "can I sit down",
        "can I take a break",
        "have I got a minute",
        "do I have time to sit down",
        "is there time for a break",
        "is there time to rest",
        "may I rest",
    ],
    Intent.WHO_CAN_EAT: ["who can eat this", "who can eat that", "which allergens are in this"],
    Intent.WHAT_TEMP: ["what temperature", "how hot should the oil be", "how hot must the oil be"],
    Intent.HELP: ["help", "help me"],
    Intent.WHAT_TO_SAY: ["what can I say", "what can you do", "what do you understand"],
    Intent.DONE: ["done", "done with that", "that's done", "I'm done", "finished", "all done"],
    Intent.DROPPING: ["dropping", "dropping now", "dropping them", "ready to drop"],
    Intent.DROP: ["they're in", "all in", "it's in", "the last piece is in"],
    Intent.LIFT: ["lifting", "lifting now", "they're out", "lifting them"],
    Intent.TEST_BATCH: ["test batch is in", "test batch in", "the test piece is in", "dropping a test batch"],
    Intent.FOAM_SETTLED: ["foam has settled", "the foam's down", "foam is gone", "the foam went down"],
    Intent.FRESH_OIL: [
        "fresh oil",
        "it's fresh oil",
        "new oil",
        "I changed the oil",
        "I've changed the oil",
        "I put fresh oil in",
        "I've put new oil in the pot",
        "the oil is fresh",
    ],
    Intent.NO_THERMOMETER: ["no thermometer", "I have no thermometer", "I don't have a thermometer", "there's no thermometer"],
    Intent.HELPER_HERE: ["a helper is here", "my helper has arrived", "I've got help", "helper's here"],
    Intent.HELPER_LEFT: ["helper has left", "the helper is gone", "I'm alone now", "I'm on my own"],
    Intent.DROP_ANYWAY: ["drop anyway", "drop it anyway", "dropping anyway", "I'm dropping anyway"],
    Intent.SERVED: ["dinner's up", "dinner is served", "we're eating", "everything is on the table"],
    Intent.LATE_GUESTS: ["someone is late", "somebody is missing", "some are not here yet", "not everyone is here"],
    Intent.EVERYONE_HERE: ["everyone is here", "everyone's here", "we're all here", "they're all here"],
    Intent.GO_BACK: ["go back", "back", "previous step", "go back a step"],
    Intent.SKIP: ["skip", "skip that", "skip this step", "leave that out"],
    Intent.CANCEL_CLOCK: ["cancel the clock", "cancel that timer", "clear the clock"],
    Intent.HOLD: ["hold everything", "hold on", "pause everything", "freeze everything"],
    Intent.CARRY_ON: ["carry on", "go on", "continue", "resume", "I'm back"],
    Intent.QUIET: ["quiet", "be quiet", "hush", "that's enough", "I heard you"],
    Intent.LOUDER: ["louder", "speak up", "a bit louder", "I can't hear you"],
    Intent.SOFTER: ["softer", "not so loud", "too loud", "lower your voice"],
    Intent.SLOWER: ["slower", "slow down", "not so fast", "speak more slowly"],
    Intent.YES: ["yes", "yeah", "yep", "that's right", "yes they are", "okay"],
    Intent.NO: ["no", "nope", "wrong", "no it's not", "that's wrong"],
    Intent.UNDO: ["undo", "undo that", "take that back", "scratch that", "I didn't mean that"],
    Intent.FIRE: ["fire", "fire fire", "flames", "there's a fire"],
    Intent.FOAMING: ["it's foaming up", "foaming", "it's foaming over", "the oil's foaming"],
    Intent.BOILING_OVER: ["it's boiling over", "boiling over", "the pot is boiling over", "it's coming over"],
    Intent.SPITTING: ["it's spitting", "spitting", "the oil's spitting", "it's splattering"],
    Intent.SMOKING: ["it's smoking", "smoking", "the oil's smoking", "there's smoke"],
    Intent.SPILL: [
        "oil spilled",
        "the oil has spilt",
        "spill",
        "I spilled the oil",
        "I've knocked the pot over",
        "the pan has spilled",
        "the fryer tipped over",
        "I spilled the pot",
        "there's oil on the floor",
    ],
    Intent.BURNED: [
        "I burned myself",
        "I burned my hand",
        "I've scalded my thumb",
        "my arm is burned",
        "my arm's burnt",
        "I burned my hands",
        "someone burned himself",
        "burn",
        "I got burned",
        "hot oil on my arm",
    ],
    Intent.FALSE_ALARM: ["false alarm", "it's a false alarm", "no fire", "there's no fire"],
}


@pytest.mark.parametrize("intent", SAID, ids=str)
def test_each_command_in_the_ways_people_say_it(intent: Intent) -> None:
    """Three to seven ways to say each command without slots; with the address word and a please it is the same, and addressed."""
    for sentence in SAID[intent]:
        assert meaning(sentence) == (intent, {}), sentence
        reading = understood(f"Kitchen, {sentence} please.")
        assert reading.addressed, sentence
        assert isinstance(reading.result, Command), sentence
        assert reading.result.intent is intent, sentence


SLOTTED: list[tuple[str, Intent, dict[str, str | float | int]]] = [
    ("how long on the chips", Intent.HOW_LONG, {"item": "chips"}),
    ("are the chips done yet", Intent.HOW_LONG, {"item": "chips"}),
    ("the chips are done", Intent.DONE, {"item": "chips"}),
    ("when do I drop the chips", Intent.WHEN_DROP, {"item": "chips"}),
    ("when does the fish go in", Intent.WHEN_DROP, {"item": "fish"}),
    ("what's in the oven", Intent.WHATS_RUNNING, {"place": "oven"}),
    ("can I drop the fish yet", Intent.WHEN_DROP, {"item": "fish"}),
    ("can I put the chips in now", Intent.WHEN_DROP, {"item": "chips"}),
    ("how long can the fish stay out", Intent.KEEPS, {"item": "fish"}),
    ("how long has the fish been out", Intent.KEEPS, {"item": "fish"}),
    ("are the chips still good", Intent.KEEPS, {"item": "chips"}),
    ("how long will the tartare sauce keep", Intent.KEEPS, {"item": "tartare"}),
    ("what's the emergency number", Intent.WHAT_IF, {"hazard": "call"}),
    ("who do I call", Intent.WHAT_IF, {"hazard": "call"}),
    ("how many chips go in", Intent.HOW_MANY, {"item": "chips"}),
    ("forget the chips", Intent.SKIP, {"item": "chips"}),
    ("start a five minute timer", Intent.SET_CLOCK, {"seconds": 300}),
    ("start a timer for ten minutes", Intent.SET_CLOCK, {"seconds": 600}),
    ("turn the burner down a bit", Intent.TURN_BURNER, {"level": "down"}),
    ("how much longer for the onion rings", Intent.HOW_LONG, {"item": "onion-rings"}),
    ("when are the fries done", Intent.HOW_LONG, {"item": "chips"}),
    ("how many batches of fish are left", Intent.BATCHES_LEFT, {"item": "fish"}),
    ("how many shrimp can I drop", Intent.HOW_MANY, {"item": "shrimp"}),
    ("who can eat the shrimp", Intent.WHO_CAN_EAT, {"item": "shrimp"}),
    ("what temperature for the fish", Intent.WHAT_TEMP, {"item": "fish"}),
    ("how hot for the chips", Intent.WHAT_TEMP, {"item": "chips"}),
    ("what temperature for chicken", Intent.WHAT_TEMP, {"item": "chicken"}),
    ("how hot should the oil be for the chips", Intent.WHAT_TEMP, {"item": "chips"}),
    ("how hot must the chicken be inside", Intent.WHAT_TEMP, {"item": "chicken"}),
    ("how do I put out a fire", Intent.WHAT_IF, {"hazard": "fire"}),
    ("how do you put out a grease fire", Intent.WHAT_IF, {"hazard": "fire"}),
    ("what do I do if the oil catches fire", Intent.WHAT_IF, {"hazard": "fire"}),
    ("what if the pan catches fire", Intent.WHAT_IF, {"hazard": "fire"}),
    ("what do I do in a fire", Intent.WHAT_IF, {"hazard": "fire"}),
    ("what should I do when the oven catches fire", Intent.WHAT_IF, {"hazard": "oven_fire"}),
    ("what do I do if it boils over", Intent.WHAT_IF, {"hazard": "boil_over"}),
    ("what do I do if the oil smokes", Intent.WHAT_IF, {"hazard": "smoke"}),
    ("what if I spill hot oil", Intent.WHAT_IF, {"hazard": "spill"}),
    ("what do I do if I burn myself", Intent.WHAT_IF, {"hazard": "burn"}),
    ("what if I scald myself", Intent.WHAT_IF, {"hazard": "burn"}),
    ("what if someone burns herself", Intent.WHAT_IF, {"hazard": "burn"}),
    ("how do I treat a burn", Intent.WHAT_IF, {"hazard": "burn"}),
    ("how do I treat a cut", Intent.WHAT_IF, {"hazard": "cut"}),
    ("I cut myself", Intent.WHAT_IF, {"hazard": "cut"}),
    ("I've cut my finger", Intent.WHAT_IF, {"hazard": "cut"}),
    ("my thumb is bleeding", Intent.WHAT_IF, {"hazard": "cut"}),
    ("the chips are burning", Intent.QUALITY, {"item": "chips", "look": "dark"}),
    ("the oil's burning", Intent.FIRE, {"place": "pan"}),
    ("help fire", Intent.FIRE, {}),
    ("I see flames", Intent.FIRE, {}),
    ("flames are coming out of the pot", Intent.FIRE, {"place": "pan"}),
    ("the foam's rising", Intent.FOAMING, {}),
    ("it's foaming a lot", Intent.FOAMING, {}),
    ("it's coming over the top", Intent.BOILING_OVER, {}),
    ("it's spitting a lot", Intent.SPITTING, {}),
    ("I see smoke", Intent.SMOKING, {}),
    ("there's smoke coming off the oil", Intent.SMOKING, {}),
    ("the oil's starting to smoke", Intent.SMOKING, {}),
    ("it's smoking a bit", Intent.SMOKING, {}),
    ("I spilled some oil on the floor", Intent.SPILL, {}),
    ("my daughter burned herself", Intent.BURNED, {}),
    ("my husband has burned his hand", Intent.BURNED, {}),
    ("my kid got burned", Intent.BURNED, {}),
    ("yeah that's right", Intent.YES, {}),
    ("yes it did", Intent.YES, {}),
    ("yes it stayed low", Intent.YES, {"sign": "foam"}),
    ("not yet", Intent.NO, {"sign": "later"}),
    ("not quite", Intent.NO, {"sign": "later"}),
    ("no it didn't", Intent.NO, {}),
    ("it rose a lot", Intent.NO, {"sign": "foam"}),
    ("no flames", Intent.NO, {"sign": "flame"}),
    ("no there isn't", Intent.NO, {}),
    ("I see no flames", Intent.NO, {"sign": "flame"}),
    ("I don't see any flames", Intent.NO, {"sign": "flame"}),
    ("the oil has dropped to two seventy", Intent.OIL_TEMP, {"celsius": 132.222}),
    ("oil fell to two hundred celsius", Intent.OIL_TEMP, {"celsius": 200, "unit": "C"}),
    ("turned the gas off", Intent.BURNER, {"level": "off"}),
    ("I took the chips out", Intent.LIFT, {"item": "chips"}),
    ("I've taken them out", Intent.LIFT, {}),
    ("I haven't got a thermometer", Intent.NO_THERMOMETER, {}),
    ("we're eight now", Intent.HEADCOUNT, {"count": 8}),
    ("is it hot enough", Intent.OIL_READY, {}),
    ("starting the batter", Intent.BEGIN, {"item": "batter"}),
    ("I'm starting on the first fry", Intent.BEGIN, {"item": "chips-first-fry"}),
    ("doing the tartare sauce now", Intent.BEGIN, {"item": "tartare"}),
    ("done with the batter", Intent.DONE, {"item": "batter"}),
    ("chips first fry is done", Intent.DONE, {"item": "chips-first-fry"}),
    ("finished the sauce", Intent.DONE, {"item": "tartare"}),
    ("chips down", Intent.DROP, {"item": "chips"}),
    ("dropping the onion rings", Intent.DROPPING, {"item": "onion-rings"}),
    ("the fish is going in", Intent.DROPPING, {"item": "fish"}),
    ("shrimp is in", Intent.DROP, {"item": "shrimp"}),
    ("the fries are in the oil", Intent.DROP, {"item": "chips"}),
    ("lifting the chips", Intent.LIFT, {"item": "chips"}),
    ("the fish is out", Intent.LIFT, {"item": "fish"}),
    ("onion rings are out", Intent.LIFT, {"item": "onion-rings"}),
    ("two more minutes on the chips", Intent.MORE_TIME, {"item": "chips", "seconds": 120}),
    ("seven and a half more minutes", Intent.MORE_TIME, {"seconds": 450}),
    ("another minute", Intent.MORE_TIME, {"seconds": 60}),
    ("give the fish a minute thirty more", Intent.MORE_TIME, {"item": "fish", "seconds": 90}),
    ("add 30 seconds to the shrimp", Intent.MORE_TIME, {"item": "shrimp", "seconds": 30}),
    ("Core is 158.", Intent.CORE, {"celsius": 70}),
    ("core is at one fifty-eight", Intent.CORE, {"celsius": 70}),
    ("chicken core is seventy celsius", Intent.CORE, {"item": "chicken", "celsius": 70, "unit": "C"}),
    ("the chicken is at one sixty seven", Intent.CORE, {"item": "chicken", "celsius": 75}),
    ("oil is at three fifty six", Intent.OIL_TEMP, {"celsius": 180}),
    ("oil's at 356 degrees", Intent.OIL_TEMP, {"celsius": 180}),
    ("the thermometer says 180 celsius", Intent.OIL_TEMP, {"celsius": 180, "unit": "C"}),
    ("the old wok is at 356", Intent.OIL_TEMP, {"celsius": 180, "item": "wok"}),
    ("oil in the deep pot 356", Intent.OIL_TEMP, {"celsius": 180, "item": "deep-pot"}),
    ("burner on", Intent.BURNER, {"level": "on"}),
    ("heat under the deep pot down", Intent.BURNER, {"level": "down", "item": "deep-pot"}),
    ("old wok off", Intent.BURNER, {"level": "off", "item": "wok"}),
    ("the burner is off", Intent.BURNER, {"level": "off"}),
    ("heat full", Intent.BURNER, {"level": "full"}),
    ("turned it down", Intent.BURNER, {"level": "down"}),
    ("burner up", Intent.BURNER, {"level": "up"}),
    ("turn the burner off", Intent.TURN_BURNER, {"level": "off"}),
    ("turn off the heat", Intent.TURN_BURNER, {"level": "off"}),
    ("turn the heat under the deep pot down", Intent.TURN_BURNER, {"level": "down", "item": "deep-pot"}),
    ("turn up the flame under the old wok", Intent.TURN_BURNER, {"level": "up", "item": "wok"}),
    ("turn the old wok off", Intent.TURN_BURNER, {"level": "off", "item": "wok"}),
    ("light the burner", Intent.TURN_BURNER, {"level": "on"}),
    ("turn it off", Intent.TURN_BURNER, {"level": "off"}),
    ("turn the stove off", Intent.TURN_BURNER, {"level": "off"}),
    ("hob's off", Intent.BURNER, {"level": "off"}),
    ("turn the oven on", Intent.TURN_BURNER, {"level": "on", "place": "oven"}),
    ("it's off", Intent.SWITCHED, {"level": "off"}),
    ("on", Intent.SWITCHED, {"level": "on"}),
    ("turn off the oven", Intent.TURN_BURNER, {"level": "off", "place": "oven"}),
    ("turn the oven up", Intent.TURN_BURNER, {"level": "up", "place": "oven"}),
    ("turn down the oven", Intent.TURN_BURNER, {"level": "down", "place": "oven"}),
    ("turn the oven up to four hundred", Intent.TURN_BURNER, {"level": "on", "place": "oven", "celsius": 204.444}),
    ("set the oven to two hundred celsius", Intent.TURN_BURNER, {"level": "on", "place": "oven", "celsius": 200, "unit": "C"}),
    ("turned the oven down", Intent.OVEN, {"level": "down"}),
    ("turning up the oven", Intent.OVEN, {"level": "up"}),
    ("I set the oven to four hundred", Intent.OVEN_TEMP, {"celsius": 204.444}),
    ("turned the oven down to two hundred celsius", Intent.OVEN_TEMP, {"celsius": 200, "unit": "C"}),
    ("preheat the oven", Intent.TURN_BURNER, {"level": "on", "place": "oven"}),
    ("turn up the oven to four hundred", Intent.TURN_BURNER, {"level": "on", "place": "oven", "celsius": 204.444}),
    ("turned down the oven to two hundred celsius", Intent.OVEN_TEMP, {"celsius": 200, "unit": "C"}),
    ("yes it's off now", Intent.SWITCHED, {"level": "off"}),
    ("how hot should the oven be", Intent.WHAT_TEMP, {"place": "oven"}),
    ("what temperature for the oven", Intent.WHAT_TEMP, {"place": "oven"}),
    ("the oven is on", Intent.OVEN, {"level": "on"}),
    ("oven's off", Intent.OVEN, {"level": "off"}),
    ("turned the oven off", Intent.OVEN, {"level": "off"}),
    ("the oven is ready", Intent.OVEN, {"level": "on"}),
    ("the oven is at four hundred", Intent.OVEN_TEMP, {"celsius": 204.444}),
    ("oven at two hundred celsius", Intent.OVEN_TEMP, {"celsius": 200, "unit": "C"}),
    ("the hob is on fire", Intent.FIRE, {"place": "pan"}),
    ("oven on fire", Intent.FIRE, {"place": "oven"}),
    ("topped up by half a litre", Intent.TOPPED_UP, {"litres": 0.5}),
    ("I added 2 litres of oil", Intent.TOPPED_UP, {"litres": 2}),
    ("bread golden in fifty-five seconds", Intent.BREAD, {"seconds": 55}),
    ("the bread cube was golden after a minute", Intent.BREAD, {"seconds": 60}),
    ("the bread took two minutes", Intent.BREAD, {"seconds": 120}),
    ("topped up by two bottles", Intent.TOPPED_UP, {"litres": 2}),
    ("the chicken is in the fridge", Intent.PLACE, {"item": "chicken", "place": "fridge"}),
    ("I put the fish on the counter", Intent.PLACE, {"item": "fish", "place": "counter"}),
    ("chips are in the oven", Intent.PLACE, {"item": "chips", "place": "oven"}),
    ("the chicken is out of the fridge", Intent.PLACE, {"item": "chicken", "place": "counter"}),
    ("the potatoes are thrown away", Intent.PLACE, {"item": "potatoes", "place": "bin"}),
    ("out of coating", Intent.OUT_OF, {"item": "coating"}),
    ("we ran out of flour", Intent.OUT_OF, {"item": "coating"}),
    ("no more potatoes", Intent.OUT_OF, {"item": "potatoes"}),
    ("running late by ten minutes", Intent.RUNNING_LATE, {"seconds": 600}),
    ("I'm running 20 minutes late", Intent.RUNNING_LATE, {"seconds": 1200}),
    ("we're a quarter of an hour behind", Intent.RUNNING_LATE, {"seconds": 900}),
    ("there are six of us", Intent.HEADCOUNT, {"count": 6}),
    ("two are late", Intent.LATE_GUESTS, {"count": 2}),
    ("3 guests are missing", Intent.LATE_GUESTS, {"count": 3}),
    ("eight of us now", Intent.HEADCOUNT, {"count": 8}),
    ("two more people are coming", Intent.HEADCOUNT, {"count": 2, "sign": "more"}),
    ("another three guests for dinner", Intent.HEADCOUNT, {"count": 3, "sign": "more"}),
    ("there's one more person", Intent.HEADCOUNT, {"count": 1, "sign": "more"}),
    ("two fewer", Intent.HEADCOUNT, {"count": 2, "sign": "fewer"}),
    ("two people can't make it", Intent.HEADCOUNT, {"count": 2, "sign": "fewer"}),
    ("cooking for 4", Intent.HEADCOUNT, {"count": 4}),
    ("serve at half past six", Intent.SERVE_AT, {"day_s": 66600}),
    ("serve at seven instead", Intent.SERVE_AT, {"day_s": 68400}),
    ("dinner at 6:45", Intent.SERVE_AT, {"day_s": 67500}),
    ("move dinner to quarter to seven", Intent.SERVE_AT, {"day_s": 67500}),
    ("they came out pale", Intent.QUALITY, {"look": "pale"}),
    ("the chips are too greasy", Intent.QUALITY, {"item": "chips", "look": "greasy"}),
    ("a bit dark", Intent.QUALITY, {"look": "dark"}),
    ("it's soft", Intent.QUALITY, {"look": "soft"}),
    ("make a note less salt next time", Intent.NOTE, {"text": "less salt next time"}),
    ("note that the left burner is weak", Intent.NOTE, {"text": "the left burner is weak"}),
    ("skip the shrimp", Intent.SKIP, {"item": "shrimp"}),
    ("leave out the onion rings", Intent.SKIP, {"item": "onion-rings"}),
    ("set a clock for seven and a half minutes for the chips", Intent.SET_CLOCK, {"item": "chips", "seconds": 450}),
    ("set a clock of 7:30", Intent.SET_CLOCK, {"seconds": 450}),
    ("timer for ninety seconds", Intent.SET_CLOCK, {"seconds": 90}),
    ("clock for ten", Intent.SET_CLOCK, {"seconds": 600}),
    ("set a ten minute timer", Intent.SET_CLOCK, {"seconds": 600}),
    ("set a clock", Intent.SET_CLOCK, {}),
    ("set a timer for the chips", Intent.SET_CLOCK, {"item": "chips"}),
    ("is it safe to leave the pot", Intent.WHAT_IF, {"hazard": "leave"}),
    ("can I leave the oil alone for a minute", Intent.WHAT_IF, {"hazard": "leave"}),
    ("it's on an induction hob", Intent.ANSWER, {"level": "induction"}),
    ("an electric fryer", Intent.ANSWER, {"level": "fryer"}),
    ("cancel the clock on the chips", Intent.CANCEL_CLOCK, {"item": "chips"}),
    ("cancel the fish timer", Intent.CANCEL_CLOCK, {"item": "fish"}),
    ("the pan's on fire", Intent.FIRE, {"place": "pan"}),
    ("grease fire", Intent.FIRE, {"place": "pan"}),
    ("the oven's on fire", Intent.FIRE, {"place": "oven"}),
    ("three forty", Intent.ANSWER, {"celsius": 171.111, "day_s": 56400, "number": 340, "seconds": 220}),
    ("twenty-six centimetres", Intent.ANSWER, {"metres": 0.26}),
    ("fifteen hundred watts", Intent.ANSWER, {"number": 1500}),
    ("two quarts", Intent.ANSWER, {"litres": 1.892706}),
    ("half past six", Intent.ANSWER, {"day_s": 66600}),
    ("it's at three forty", Intent.ANSWER, {"celsius": 171.111, "day_s": 56400, "number": 340, "seconds": 220}),
    ("no it's half past three", Intent.ANSWER, {"day_s": 55800}),
    ("it reads one seventy celsius", Intent.ANSWER, {"celsius": 170, "unit": "C"}),
    ("it's five o'clock", Intent.ANSWER, {"day_s": 61200}),
    ("about half past six", Intent.ANSWER, {"day_s": 66600}),
    ("6", Intent.ANSWER, {"count": 6, "number": 6, "day_s": 64800, "seconds": 360, "celsius": -14.444}),
    ("medium", Intent.ANSWER, {"level": "medium"}),
    ("the chips", Intent.ANSWER, {"item": "chips"}),
    ("in the fridge", Intent.ANSWER, {"place": "fridge"}),
]


@pytest.mark.parametrize(("sentence", "intent", "slots"), SLOTTED, ids=[s for s, _, _ in SLOTTED])
def test_slots_come_out_in_si(sentence: str, intent: Intent, slots: dict[str, str | float | int]) -> None:
    """Names become ids of this meal, values SI numbers, as spoken and as written."""
    result = understood(sentence).result
    assert isinstance(result, Command), result
    assert result.intent is intent
    assert result.slots() == pytest.approx(slots, abs=1e-3)


def test_every_intent_is_in_the_tables() -> None:
    """No command without a way to say it."""
    assert set(SAID) | {intent for _, intent, _ in SLOTTED} == set(Intent)


FRAMES = {
    Intent.HOW_LONG: "how long on {}",
    Intent.BATCHES_LEFT: "how many batches of {} are left",
    Intent.HOW_MANY: "how many {} can I drop",
    Intent.WHO_CAN_EAT: "who can eat {}",
    Intent.WHAT_TEMP: "what temperature for {}",
    Intent.DONE: "done with {}",
    Intent.DROPPING: "dropping {}",
    Intent.DROP: "{} down",
    Intent.LIFT: "lifting {}",
    Intent.SKIP: "skip {}",
}


def render(command: Command) -> str:
    """One plain way to say a command: the inverse of understanding, for the property below."""
    degrees = f"{round(command.celsius)} celsius" if command.celsius is not None else ""
    seconds = f"{round(command.seconds)} seconds" if command.seconds is not None else ""
    item = next((name.said[0] for name in NAMES if name.id == command.item), "")
    where = {"fridge": "in the fridge", "counter": "on the counter", "freezer": "in the freezer", "oven": "in the oven", "rack": "on the rack"}
    match command.intent:
        case intent if item and intent in FRAMES:
            return FRAMES[intent].format(item)
        case Intent.WHAT_IF:
            return {"fire": "what if it catches fire", "burn": "how do I treat a burn"}[command.hazard or ""]
        case Intent.BEGIN:
            return f"starting {item}"
        case Intent.MORE_TIME:
            return f"another {seconds}" + (f" on {item}" if item else "")
        case Intent.CORE:
            return f"{item} core is {degrees}" if item else f"core is {degrees}"
        case Intent.OIL_TEMP:
            return f"the {item} is at {degrees}" if item else f"oil is at {degrees}"
        case Intent.BURNER:
            return f"{item} burner {command.level}" if item else f"burner {command.level}"
        case Intent.TURN_BURNER:
            return f"turn {command.level} the heat" + (f" under the {item}" if item else "")
        case Intent.OVEN:
            return f"the oven is {command.level}"
        case Intent.OVEN_TEMP:
            return f"oven at {degrees}"
        case Intent.BREAD:
            return f"bread golden in {seconds}"
        case Intent.TOPPED_UP:
            return f"topped up by {round((command.litres or 0) * 1000)} millilitres"
        case Intent.PLACE:
            return f"{item} is {where[command.place or '']}"
        case Intent.WHATS_RUNNING if command.place:
            return "what's in the oven"
        case Intent.KEEPS:
            return f"how long can the {item} stay out"
        case Intent.WHEN_DROP:
            return f"when do I drop the {item}"
        case Intent.OUT_OF:
            return f"out of {item}"
        case Intent.RUNNING_LATE:
            return f"running late by {seconds}"
        case Intent.LATE_GUESTS if command.count is not None:
            return f"{command.count} are late"
        case Intent.HEADCOUNT:
            return f"{command.count} {command.sign} guests" if command.sign else f"there are {command.count} of us"
        case Intent.SERVE_AT:
            minutes = round((command.day_s or 0) / 60)
            return f"serve at {minutes // 60 % 12 or 12}:{minutes % 60:02} {'pm' if minutes >= 720 else 'am'}"
        case Intent.QUALITY:
            return f"{item} came out {command.look}" if item else f"they came out {command.look}"
        case Intent.NOTE:
            return f"make a note {command.text}"
        case Intent.SET_CLOCK:
            return "set a clock" + (f" for {seconds}" if seconds else "") + (f" for {item}" if item else "")
        case Intent.CANCEL_CLOCK if item:
            return f"cancel the clock on {item}"
        case Intent.SWITCHED:
            return f"it's {command.level}"
        case Intent.ANSWER:
            return f"{round((command.metres or 0) * 100)} centimetres"
        case Intent.FIRE if command.place:
            return f"the {'oven is' if command.place == 'oven' else 'pan is'} on fire"
        case _:
            return SAID[command.intent][0]


VALUES = {
    "seconds": st.integers(1, 600).map(float),
    "celsius": st.integers(1, 300).map(float),
    "litres": st.integers(5, 600).map(lambda n: n / 1000),
    "metres": st.integers(1, 150).map(lambda n: n / 100),
    "day_s": st.integers(0, 1439).map(lambda n: n * 60.0),
    "count": st.integers(1, 99),
    "place": st.sampled_from(["fridge", "counter", "freezer", "oven", "rack"]),
    "level": st.sampled_from(["on", "full", "up", "down", "off"]),
    "look": st.sampled_from(["pale", "greasy", "soft", "dark"]),
    "hazard": st.sampled_from(["fire", "burn"]),
    "text": st.sampled_from(["more salt", "buy oil", "what's next"]),
}


@st.composite
def commands(draw: st.DrawFn) -> Command:
    """Any command that can be made, with values that can be said."""
    intent = draw(st.sampled_from(list(Intent)))
    must, may = SLOTS.get(intent, (frozenset(), frozenset()))
    wanted = {"metres"} if intent is Intent.ANSWER else set(must)
    if "item" in may and intent is not Intent.ANSWER and draw(st.booleans()):
        wanted.add("item")
    if intent is Intent.SET_CLOCK and draw(st.booleans()):
        wanted.add("seconds")
    if intent is Intent.OVEN:
        return Command(intent, level=draw(st.sampled_from(["on", "off", "up", "down"])))
    if intent is Intent.SWITCHED:
        return Command(intent, level=draw(st.sampled_from(["on", "off"])))
    if intent is Intent.FIRE:
        return Command(intent, place=draw(st.sampled_from([None, "pan", "oven"])))
    steps_too = intent in (Intent.BEGIN, Intent.DONE, Intent.DROP)
    pots = intent in (Intent.OIL_TEMP, Intent.BURNER, Intent.TURN_BURNER)
    names = [name.id for name in NAMES if (steps_too or name.what != "step") and (name.what == "pot") is pots]
    slots = {name: draw(st.sampled_from(names) if name == "item" else VALUES[name]) for name in sorted(wanted)}
    return Command(intent, **slots, unit="C" if "celsius" in slots else None)


@given(commands())
def test_what_is_rendered_is_understood(command: Command) -> None:
    """parse(render(command)) == command, for every intent, slots included."""
    result = understood(render(command)).result
    assert isinstance(result, Command), render(command)
    assert result.intent is command.intent, render(command)
    assert result.slots() == pytest.approx(command.slots())


CHATTER = """
carry on camping is on the telly
fire up the oven
fire the next batch
that sauce is fire
the milk boiled over
what's next door like these days
the fire brigade came last week
she was fired on Friday
we had a log fire going
my neighbour's boiling over with anger
he was smoking outside the pub
she stopped smoking last year
did you see who was out in the third round
the chips were down for the whole team
who is next in line for the job
hold the door for your mother
can you hold everything for a second while I park
quiet in the back please children
it's a quiet street
no I think she said Tuesday
yes but he never called
done is better than perfect
I'm done with him
my fingers are burnt
are you done with that newspaper yet darling
pass me the flour
the flour is in the cupboard
where did you put the fish slice
how long have you two been together
how long is a piece of string
when do we eat out again
what time does the train leave
set the table for six
set a place for your sister
there are six of us in the band
two more minutes and I'd have missed it
give me two more minutes said the driver
the oil is at an all time high
oil is at ninety dollars a barrel
the burner phone is off
she burned my toast again
I burned my bridges
I scalded the milk
he knocked the vase over
my arm is burning
he spilled the beans
spill the tea
it was a false alarm in the end
the false alarm was on the news
undo the top button
repeat after me
next week we're away
skip the intro
the cricket is on in five minutes
turned it down flat
help yourself to a drink
help is on the way
can I sit next to you
louder than bombs
slower than a tortoise
back in the day
stop
start
go
hello
thanks
kitchen sink drama
the kitchen is too small
out of sight out of mind
we ran out of time
you're late
he is running late again
six thirty at the station
it's out on Friday
they're in Spain
all in all it was fine
flames of passion
the house next door caught fire
foaming at the mouth
coming over
it's coming over all dark
she's coming over later
something's burning
how do I put out the bins
what if the bus catches us up
how do I put out a fire in the bin
what temperature is it outside
how hot is it in Spain
who burned the toast
spitting image of his father
my husband is fired up
my husband burned
my kid burned the toast
my wife scalded the milk
my friend got burned by the tax man
I see smoke without fire
no flame ever burned so bright
it almost worked
nearly there
she took them out to dinner
I took out the bins
we're two nil up now
starting to smoke again at forty
""".strip().splitlines()


@pytest.mark.parametrize("sentence", CHATTER)
def test_chatter_is_never_a_command(sentence: str) -> None:
    """Talk around the kitchen, much of it with commands inside, is no sentence of the grammar, typed or heard, and never raises danger."""
    assert isinstance(understood(sentence).result, Reject)
    typed = understood(sentence, typed=True).result
    assert isinstance(typed, Reject), typed


@pytest.mark.parametrize("sentence", SAID[Intent.WHATS_NEXT] + SAID[Intent.HOLD] + SAID[Intent.FIRE] + ["chips down", "set a clock for ten"])
@pytest.mark.parametrize("around", ["and then {}", "{} she said", "so {} and off we went", "he told me {} yesterday"])
def test_a_sentence_that_contains_a_command_is_none(sentence: str, around: str) -> None:
    """Only whole sentences are commands."""
    assert isinstance(understood(around.format(sentence)).result, Reject)


@pytest.mark.parametrize(
    ("typed", "read", "intent"),
    [
        ("cihps down", "chips down", Intent.DROP),
        ("chips dwon", "chips down", Intent.DROP),
        ("lifitng the shrmp", "lifting the shrimp", Intent.LIFT),
        ("wat's next", "what's next", Intent.WHATS_NEXT),
        ("hold everythng", "hold everything", Intent.HOLD),
        ("set a clok for 7 mins", "set a clock for 7 minutes", Intent.SET_CLOCK),
        ("oil is att 340", "oil is at 340", Intent.OIL_TEMP),
    ],
)
def test_typed_slips_are_forgiven_and_said_back(typed: str, read: str, intent: Intent) -> None:
    """One slip in a word, two in a long one or in the sentence: acted on, with the corrected sentence to say."""
    reading = understood(typed, typed=True)
    assert isinstance(reading.result, Command)
    assert reading.result.intent is intent
    assert reading.corrected == read
    assert reading.addressed


@pytest.mark.parametrize("heard", ["cihps down", "chips dwon", "wat's next", "hold everythng", "oil is att 340"])
def test_heard_slips_are_never_acted_on(heard: str) -> None:
    """The same slips, heard, are rejects: a near sentence is a guess to ask about."""
    reading = understood(heard)
    assert isinstance(reading.result, Reject)
    assert reading.corrected is None


@pytest.mark.parametrize(
    ("heard", "intent"), [("chips are town", Intent.DROP), ("what is the next", Intent.WHATS_NEXT), ("set clock seven minutes", Intent.SET_CLOCK)]
)
def test_near_sentences_are_guessed(heard: str, intent: Intent) -> None:
    """A word outside the grammar, one too many or one missing: the nearest sentence is the guess."""
    result = understood(heard).result
    assert isinstance(result, Reject)
    assert result.reason == "unknown"
    assert result.guess is not None
    assert result.guess.intent is intent


def test_an_unknown_name_is_told_without_its_verb() -> None:
    """What is said back is the name alone."""
    result = understood("the caviar is in the fridge").result
    assert isinstance(result, Reject)
    assert (result.reason, result.item) == ("unknown_item", "caviar")


@pytest.mark.parametrize(
    "sentence", ["is the oil done", "is the oven done", "when do I lower the burner", "is dinner done", "are we ready", "how long until it"]
)
def test_what_is_no_dish_is_not_missed_in_the_meal(sentence: str) -> None:
    """ "No oil in this meal." would be nonsense: such a sentence is unknown, as any other."""
    result = understood(sentence).result
    assert isinstance(result, Reject)
    assert (result.reason, result.item) == ("unknown", "")


@pytest.mark.parametrize(
    ("sentence", "item", "place"),
    [
        ("the caviar is on the counter", "caviar", "counter"),
        ("I put the smoked salmon back in the fridge", "smoked-salmon", "fridge"),
        ("caviar in the bin", "caviar", "bin"),
    ],
)
def test_food_that_no_card_names_is_put_by_its_own_name(sentence: str, item: str, place: str) -> None:
    """It needs a clock all the same. Typed, or led by the address word; what two people say to each other stays unknown."""
    for reading in (understood(sentence, typed=True), understood(f"kitchen {sentence}")):
        result = reading.result
        assert isinstance(result, Command)
        assert (result.intent, result.item, result.place) == (Intent.PLACE, item, place)
    assert isinstance(understood(sentence).result, Reject)


@pytest.mark.parametrize("sentence", ["it is in the fridge", "they're on the counter", "everything is in the fridge", "the fire is in the pan"])
def test_what_is_no_name_of_food_gets_no_clock(sentence: str) -> None:
    """A pronoun names nothing, and a danger word is no food."""
    assert isinstance(understood(sentence, typed=True).result, Reject)


def test_figures_are_never_corrected() -> None:
    """A slip in figures could be any figure."""
    result = understood("oil is at 34o", typed=True).result
    assert isinstance(result, Reject)


@pytest.mark.parametrize("typed", ["quit", "quet", "please quit"])
def test_one_mistyped_word_never_silences(typed: str) -> None:
    """Who types "quit" wants to leave, not to hear nothing more: a guess to ask about."""
    reading = understood(typed, typed=True)
    assert isinstance(reading.result, Reject)
    assert reading.result.guess is not None
    assert reading.result.guess.intent is Intent.QUIET


def test_a_slip_that_could_be_two_things_is_asked() -> None:
    """Two sentences equally near with different meanings: neither is acted on."""
    kitchen = Interpreter((Name("cake", "dish", ("cake",)), Name("bake", "dish", ("bake",))))
    result = kitchen.interpret("skip the fake", typed=True).result
    assert isinstance(result, Reject)
    assert result.reason == "unsure"
    assert result.guess is not None


@pytest.mark.parametrize(
    ("sentence", "guess"),
    [
        ("rice down", None),
        ("potato down", "potatoes"),
        ("shrimps down", "shrimp"),
        ("how long on the onion ring", "onion-rings"),
        ("skip trifle", None),
    ],
)
def test_a_name_that_this_meal_has_not(sentence: str, guess: str | None) -> None:
    """An unknown dish is said to be unknown, with the nearest name where there is one."""
    result = understood(sentence).result
    assert isinstance(result, Reject)
    assert result.reason == "unknown_item"
    assert (result.guess.item if result.guess else None) == guess


@pytest.mark.parametrize(
    "sentence",
    [
        "oil is at nine hundred",
        "oil is at 900",
        "core is 2000",
        "set a clock of minus five",
        "set a clock for minus five minutes",
        "set a clock for 0 minutes",
        "set a clock for 30 hours",
        "there are 900 of us",
        "topped up by 90 gallons",
        "serve at sixteen sixteen am",
    ],
)
def test_numbers_outside_sense(sentence: str) -> None:
    """A temperature of 900 or a clock of minus five is refused for its value, and the words are kept."""
    result = understood(sentence).result
    assert isinstance(result, Reject)
    assert result.reason == "value"
    assert result.words


@pytest.mark.parametrize("typed", [True, False])
@pytest.mark.parametrize(
    ("sentence", "slot"),
    [
        ("there are two hundred of us", "count"),
        ("there are a hundred and one of us", "count"),
        ("there are zero of us", "count"),
        ("there are minus two of us", "count"),
        ("two hundred are late", "count"),
        ("oil is at two thousand", "celsius"),
        ("set a clock for sixteen hundred hours", "seconds"),
        ("set a clock for zero minutes", "seconds"),
        ("topped up by minus one litre", "litres"),
        ("serve at twenty five o'clock", "day_s"),
    ],
)
def test_a_number_nobody_says_so_is_refused_for_its_value(sentence: str, slot: str, typed: bool) -> None:
    """A number in words that the grammar has not there is never guessed smaller ("did you mean two?"): which value it is goes with the refusal."""
    result = understood(sentence, typed=typed).result
    assert isinstance(result, Reject)
    assert (result.reason, result.slot, result.guess) == ("value", slot, None)
    assert result.words == " ".join(KITCHEN.words(sentence))


def test_a_number_that_can_be_is_asked_about_as_it_was_said() -> None:
    """A hundred people may come, though the grammar has them only in figures."""
    result = understood("there are a hundred of us", typed=True).result
    assert isinstance(result, Reject)
    assert result.guess is not None
    assert result.guess.count == 100


@settings(deadline=None)
@given(st.lists(st.sampled_from(("two", "hundred", "thousand", "five", "minus", "twenty-one", "a", "and", "7")), min_size=1, max_size=4))
def test_a_guess_never_loses_a_number(number: list[str]) -> None:
    """Whatever number is said where one belongs: what is offered instead, if anything, is that number."""
    words = KITCHEN.words(" ".join(("there are", *number, "of us")))
    result = understood(" ".join(words), typed=True).result
    if isinstance(result, Reject) and result.guess is not None:
        assert str(result.guess.count) in numbers.in_figures(words)


def test_both_meanings_are_kept() -> None:
    """ "It's out" is the lift, or the answer yes to "Is it out?"."""
    assert [command.intent for command in understood("it's out").meanings()] == [Intent.LIFT, Intent.YES]


def test_units_setting_and_language_of_figures() -> None:
    """Without a unit the cook's setting decides; with one the setting is nothing."""
    celsius = Interpreter(NAMES, "C")
    result = celsius.interpret("oil is at one seventy").result
    assert isinstance(result, Command)
    assert result.celsius == 170
    assert result.unit is None
    fahrenheit = celsius.interpret("oil is at three thirty-eight fahrenheit").result
    assert isinstance(fahrenheit, Command)
    assert fahrenheit.celsius == 170
    assert fahrenheit.unit == "F"


def test_another_address_word() -> None:
    """The address word is a setting; the usual one is then a word like any other."""
    cook = Interpreter(NAMES, address="chef")
    assert cook.interpret("chef chips down").addressed
    assert isinstance(cook.interpret("kitchen chips down").result, Reject)


@pytest.mark.parametrize(
    ("sentence", "single"), [("yes", True), ("kitchen yes please", True), ("done", True), ("chips down", False), ("kitchen chips down", False)]
)
def test_single_words_are_marked(sentence: str, single: bool) -> None:
    """The gate treats single words apart; address and courtesy do not count."""
    assert understood(sentence).single is single


@pytest.mark.parametrize(
    ("words", "complete", "follow"),
    [
        ("what's next", True, False),
        ("chips down", True, False),
        ("oil is at one sixty", True, True),
        ("oil is at one sixty-five", True, True),  # a unit may come
        ("set a clock for", False, True),
        ("set a clock for seven minutes", True, True),
        ("set a clock for seven minutes for the shrimp", True, False),
        ("set a clock for seven minutes for the chips", True, True),  # "chips first fry" is a name too
        ("fire", True, True),
        ("the pan's on fire", True, False),
        ("kitchen", False, True),
        ("carry on camping", False, False),
    ],
)
def test_endpoints(words: str, complete: bool, follow: bool) -> None:
    """What decides between 0.3, 0.7 and 1.5 s of silence."""
    assert KITCHEN.complete(words) is complete
    assert KITCHEN.can_continue(words) is follow


@settings(deadline=None)
@given(st.text(max_size=80), st.booleans())
def test_nothing_that_is_said_is_an_exception(text: str, typed: bool) -> None:
    """Any text at all gives a reading; an utterance that is not understood is a Reject."""
    assert isinstance(understood(text, typed=typed).result, (Command, Reject))


@settings(deadline=None)
@given(st.lists(st.sampled_from(sorted(KITCHEN.automaton.vocabulary())), max_size=7).map(" ".join))
def test_no_jumble_of_grammar_words_is_an_exception(sentence: str) -> None:
    """Words of the grammar in any order give a reading."""
    assert isinstance(understood(sentence).result, (Command, Reject))


def test_every_way_through_the_grammar_makes_sense() -> None:
    """800 random ways through the automaton: each is a command, or refused for its value, never unknown."""
    chance, arcs_of = random.Random(11), KITCHEN.automaton.arcs
    for _ in range(800):
        state, words = KITCHEN.automaton.start, []
        while not (KITCHEN.automaton.final(state) and chance.random() < 0.5):
            arcs = arcs_of(state)
            if KITCHEN.automaton.free(state) or not arcs:
                break
            spoken = [arc for arc in arcs if not arc[0][0].isdigit()]
            word, state = chance.choice(spoken if spoken and chance.random() < 0.7 else arcs)
            words.append(word)
        if KITCHEN.automaton.final(state):
            result = understood(" ".join(words)).result
            assert isinstance(result, Command) or result.reason == "value", words


def test_examples_in_the_grammars_mean_their_rule() -> None:
    """Each @example of a grammar file is a sentence of its rule, and of the whole grammar when the rule names an intent."""
    intents = {intent.value for intent in Intent}
    checked = 0
    book = jsgf.load(grammar_folder("en"), "kitchen")
    for grammar in book.grammars.values():
        for rule in grammar.rules.values():
            for example in rule.examples:
                words = KITCHEN.words(example.replace("rice", "chips").replace("fritters", "shrimp"))
                if rule.name in intents:
                    result = understood(" ".join(words)).result
                    assert isinstance(result, Command), example
                    assert result.intent.value == rule.name, example
                else:
                    own = Automaton(jsgf.Book(grammar, book.grammars), rule.name, numbers.CLASSES)
                    assert own.complete(words), example
                checked += 1
    assert checked > 60


def test_start_and_stop_are_not_both_words() -> None:
    """Recognisers confuse start and stop: only one of them may be a command word (published reports of it: vosk-api issue 1306)."""
    assert not {"start", "stop"} <= KITCHEN.automaton.vocabulary()


def test_danger_automaton_is_the_danger_words() -> None:
    """The ear that listens without waiting has exactly the danger sentences."""
    for sentence in KITCHEN.danger.sentences(400):
        assert any(command.intent in DANGER for command in understood(sentence).meanings()), sentence
    for intent in DANGER:
        for sentence in SAID[intent]:
            assert KITCHEN.danger.complete(KITCHEN.words(sentence)), sentence


def test_understanding_needs_no_heavy_library() -> None:
    """Typed runs start fast: no numpy, pydantic, audio or solver is imported by understanding."""
    code = "import sys, assistant.understanding.gate; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert "assistant.understanding.gate" in loaded
    assert not {"numpy", "pydantic", "sounddevice", "onnxruntime", "ortools"} & set(loaded)


@pytest.mark.parametrize("card", sorted(path.stem for path in BUNDLED.glob("*.yaml")))
def test_everything_on_the_bundled_cards_can_be_named(card: str) -> None:
    """Every way to say every name of a bundled meal is understood in a sentence, as something that is called so."""
    known = names(read_card(find_meal(card)))
    kitchen = Interpreter(known)
    for name in known:
        for said in name.said:
            result = kitchen.interpret(f"how long on {said}").result
            assert isinstance(result, Command), said
            assert result.item in {other.id for other in known if said in other.said}, said


def test_a_question_about_the_counter_puts_no_food_on_it() -> None:
    """Food may be called anything, "what's left" too; "what's", "everything's" and "the chicken is still" are nothing to eat."""
    left = understood("what's left is in the fridge", typed=True).result
    assert isinstance(left, Command)
    assert (left.intent, left.place) == (Intent.PLACE, "fridge")
    for words in ("what's on the counter", "everything's on the table", "the caviar is still in the fridge"):
        assert isinstance(understood(words, typed=True).result, Reject), words


def test_no_bare_value_is_guessed() -> None:
    """ "It's fine" is near "it's five" and "it's nine": nobody can be asked whether they meant a figure."""
    result = understood("it's fine", typed=True).result
    assert isinstance(result, Reject)
    assert result.guess is None


def test_no_danger_is_guessed_from_its_denial() -> None:
    """ "I see no fire in there" is not near enough to "I see flames" to ask."""
    for words in ("I see no fires", "the pan's not on fire", "there aren't flames"):
        result = understood(words, typed=True).result
        assert isinstance(result, Reject), words
        assert result.guess is None or result.guess.intent not in DANGER, words
