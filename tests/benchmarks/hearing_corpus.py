"""What is said in the hearing benches: commands, words of danger, and talk that is neither though full of the same words.

Held out: none of these phrases was used to set a threshold (those are in bench_recogniser and below under TUNING). Talk is made from templates, so
that hours of it can be had from a seed.
"""

from __future__ import annotations

from itertools import product

import numpy as np

from assistant.session.commands import Intent

MEAL = "fish-supper"

NOTHING_OPEN = """
kitchen, what comes next
can you repeat that
how much longer on the chips
how many more batches of the fish
who can eat the mushy peas
I'm starting the peas
the tartare sauce is done
the chips are in
taking the fish out
kitchen, give them two more minutes
three more minutes on the fish
oil's at three fifty
the thermometer says three hundred and ten
the fish is at sixty three celsius
burner down
putting the chips on the rack
no more peas
we're twenty minutes behind
move dinner to seven fifteen
the chips are soggy
set a timer for twelve minutes
set a clock for forty minutes
cancel the clock on the chips
slow down
take that back
what should I do next
say that again
which clocks are running
have I missed anything
how's the oil
how many chips can I drop at once
what time is dinner
are we late
is there time for a break
who is the fish for
start the batter mix
that's done
ready to drop the fish
the fish is going in
they're all in
lifting them
the chips need three more minutes
the core temperature is one sixty
the pot is at three thirty
heat off
turning the burner up
test piece out
the foam's down
I put fresh oil in
I put the fish in the fridge
the thermometer is broken
my friend has arrived
I'm on my own now
running ten minutes behind
cooking for eight
let's eat at eight
drop them anyway
too greasy
dinner's up
everyone's here
leave out the peas
timer for nine minutes
clear the timer
pause everything
keep going
hush
a bit louder
scratch that
"""
"""Said while no question is open; the assistant has just spoken, so no address word is needed."""

OPEN: tuple[tuple[frozenset[Intent], str], ...] = (
    (frozenset({Intent.YES, Intent.NO}), "yes\nthat's right\nnot yet\nno\nwhich clocks are running"),
    (frozenset({Intent.ANSWER, Intent.OIL_TEMP}), "three forty\none seventy five\noil is at three twenty"),
    (frozenset({Intent.ANSWER, Intent.CORE}), "one forty five\nthe core is at one sixty five"),
)
"""What the open question takes -> what is said then."""

LATER: tuple[tuple[frozenset[Intent], str], ...] = (
    (
        frozenset({Intent.YES, Intent.NO}),
        """
yes it stayed low
yeah it is
hey kitchen yeah they are
yep it stayed low
yep they are
please no it rose
almost
no there aren't
please there are no flames
it rose
""",
    ),
    (
        frozenset(),
        """
gas full
gas at full
turning down the gas
turned down the gas
turning off the gas
how long may the capers stand out
are the peas mash still good
hey kitchen is green peas still good
how long have chips been out
how long have white fish been out
thirty-nine of us can't come
another eight of us
please four more of us
another two of us
six less
forget frozen peas
forget the capers
forget fries
forget peas
forget about fish
start another a couple of minutes clock
start another timer for fifty-five on batter rest
start half a minute timer
start timer for eight hours for the peas mash
start timer of sixteen
how many peas go in
please how many tartar sauce go in thanks
kitchen how many fish dry go in
how many pieces at once
please how many parsley go in
can i drop the batter rest
can i put in flour
can i put fish in yet please
can i fry the mushy peas please
can i put in tartar sauce
oil is too hot
the oil is too hot
oil's too cold
oil is too cold
the oil is too cold
light gas
turn the gas full
turn full gas
turn down the gas
turn on the gas
please someone cut himself thanks
which number do i call
what if i cut myself
i cut myself
who do i call
oil down to sixty-nine degrees celsius
please the oil dropped to three thirty-five degrees thank you
the oil dropped to eighty-five fahrenheit
the oil has went to two forty
oil dropped to three hundred centigrade
i've taken them out
i took them out
i've taken it out
i took chips plate out
i took fish plate out
when do i eat
when do we serve
what time do i serve
please when do i eat
what time do we serve
what is in the pot
what is in the fryer
what's in the pot
what is in the oven
please what's in the fryer
i haven't got a thermometer thank you
i haven't got a thermometer
hey kitchen please i haven't got a thermometer
""",
    ),
)
"""Held out too, and nobody chose them: what the grammar did not have when the encoder in use was trained, the first five sentences for each intent as
trainings draw them (training/sentences.py, of the seeds from 940 million on)."""

DANGER = """
flames
there's a fire
grease fire
the pot caught fire
oven fire
the oven is on fire
it's foaming over
the pot's foaming up
boiling over
the pan is overflowing
the oil's spitting
it's smoking
there's smoke
I've knocked the pot over
there's oil on the floor
I've scalded my thumb
my arm is burned
hot oil on my arm
fire fire fire
it caught fire
"""

TUNING_OPEN: tuple[tuple[frozenset[Intent], str], ...] = (
    (frozenset({Intent.YES, Intent.NO}), "yes\nyeah\nokay\nno\nnope\nnot yet\nyes it is\nhow long left"),
    (frozenset({Intent.ANSWER, Intent.OIL_TEMP}), "three fifty\nthree hundred\none eighty\nthree twenty five\nthe oil is at three sixty"),
    (frozenset({Intent.ANSWER, Intent.CORE}), "one fifty\none sixty three\nsixty two\nthe core is at one forty"),
)
TUNING_DANGER = """
fire
the pan's on fire
it's boiling over
the oil's smoking
I burned my hand
oil spill
false alarm
the stove's on fire
oil fire
the oil is foaming
boil over
it's coming over
it's splattering
smoke
spill
the pot tipped over
I scalded my hand
I'm burned
someone got burned
there's a fire in the oven
fire fire
"""

NEAR = """
fire up the oven
fire the next batch
that sauce is fire
the milk boiled over
fire up the grill for me would you
the firemen came in ten minutes
we had a fire drill at work
she fired the builder at once
he is on fire this season
the smoke alarm wants a new battery
smoked salmon would be nice
no smoking in here please
don't spill your drink on the sofa
who spilled the beans
I burned the letters years ago
burn the candle at both ends
he got burned on the stock market
flaming June they call it
the flames of that film looked false
it was a false start
the pot of gold is at the end
the oil price has gone over ninety
my finger is on the pulse
my hand is up
it's pouring over there
the boiler is making that noise again
he was foaming at the mouth about it
spit it out then
she tipped the waiter over ten pounds
carry on camping is on the telly tonight
what's next door like
two more minutes of this film
it was three fifty in the sale
the fish and chips at the harbour are better
set the table please darling
how long is your train journey
how many people are coming on Saturday
we're out of milk and nearly out of bread
there are six of us in the band
no I don't think he did
yes and then he sold the boat
okay so what did she say to that
done that been there
dinner at my mother's is always at eight
hold everything you read with some doubt
skip to the end of the story
turn the music down a bit
that's right by the old bridge
be quiet and listen to this song
the test was easy in the end
"""

_WHO = """
my sister, the man next door, our old teacher, nobody, a friend of mine, the postman, your uncle, the whole team, she, they, the neighbours, his boss,
I, we, the girl from the office, grandfather, the woman at the market, somebody, her cousin in Leeds, the children
"""
_DID = """
carried on fishing until the oil lamp went out, left two minutes before the film began, dropped the keys in the harbour, said yes to the new job,
lifted the box out of the car, came home at half past seven, burned the letters years ago, stopped the clock on the landing,
fired the builder at once, had three hundred and forty books, held everything against him, served on the jury in spring,
put the chicken run behind the shed, saw smoke over the hills, spilled tea on the tablecloth, turned the heating off, set a new record in the mile,
was on fire in the second half, took the fish to the vet, cooked for eight people at Christmas, skipped the boring chapters, ran out of time,
counted fifty or fifteen sheep, waited twelve minutes for the bus, painted the kitchen yellow, went back for the umbrella, read the timer wrong,
added some water to the soup, boiled over with rage, found no batter left in the fridge, finished the crossword with a pen, heard the news at six
"""
_WHEN = """
last summer, as far as I know, before the children woke, and that was that, which made us laugh, on a very cold day, I think, or so they said,
while it rained, at my mother's, and nobody noticed, for once, at ten past three, because the lift was broken, you know, on Sunday
"""


def _parts(text: str) -> list[str]:
    return text.replace("\n", " ").strip().split(", ")


_ALL = [f"{who} {did} {when}".replace("  ", " ") for who, did, when in product(_parts(_WHO), _parts(_DID), _parts(_WHEN))]


def talk(i: int) -> str:
    """The i-th sentence that is no command, though full of the words of commands: one in four from the list of near-misses."""
    rng = np.random.default_rng([41, i])
    return str(rng.choice(NEAR.strip().splitlines()) if rng.random() < 0.25 else rng.choice(_ALL))


def lines(text: str) -> list[str]:
    """The lines of a block."""
    return text.strip().splitlines()


def phrases() -> list[tuple[str, frozenset[Intent]]]:
    """Every held-out command with what the open question takes."""
    return [(said, frozenset[Intent]()) for said in lines(NOTHING_OPEN)] + [(said, takes) for takes, block in OPEN for said in lines(block)]


def later() -> list[tuple[str, frozenset[Intent]]]:
    """What came into the grammar later, with what the open question takes."""
    return [(said, takes) for takes, block in LATER for said in lines(block)]
