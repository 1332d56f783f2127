"""Names on a card: each is spoken and heard, so it must be plain words, its own, and nothing that is already a command.

Two things guard the rest of the program: no name holds a danger word or the address word, and no way to say a name is the whole, the start or the
end of a command ("chips down" is a drop, so no step may be called that).
"""

from __future__ import annotations

import re
from collections.abc import Iterable

ADDRESS_WORD = "kitchen"
MEAL_NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
"""What a meal is called on the command line, and its file."""
MOST_NAME_WORDS = 5
_NEAR = 44.0  # of 100: a wrong suggestion costs a glance, none costs a search
_DANGER = re.compile(
    r"\b(?:fire|flames?|flaming|smoke|smoking|foam|foaming|spit|spitting|spill|spilled|spilt|spilling|burn|burned|burning|burnt|alarm|emergency|help|"
    r"overflowing|splattering|boil over|boiling over|coming over|scalded|knocked (?:the|over))\b"
)
_DANGER_PARTS = re.compile(r"\b(?:hot oil|oil on)\b")  # only a name may not hold these: said after one, they would be an alarm
_WHOLE = re.compile(
    r"yes|no|okay|ok|undo|quiet|louder|softer|slower|repeat|skip|stop|cancel|next|back|go|go back|hold|hold everything|carry on|continue|done|"
    r"drop|lift|start|burner|timer|clock|oil|core|test batch|fresh oil|note|serve|everything|it|that|this|all|nothing|"
    r"yeah|yep|yup|sure|nope|almost|nearly|correct|right|wrong|don't|hush|resume|pause|"
    r"small|medium|large|full|up|down|on|off|noon|midday|midnight|pale|greasy|oily|soft|soggy|dark|on ice|new oil|"
    r"gas|induction|fryer|electric fryer|darker|black|sticky|thick|rancid|smell|"
    r"(?:zero|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|seventeen|eighteen|nineteen|twenty|"
    r"thirty|forty|fifty|sixty|seventy|eighty|ninety|hundred)(?: (?:one|two|three|four|five|six|seven|eight|nine))?"
)
_STARTS = re.compile(r"(?:drop|dropping|lift|lifting|skip|cancel|set|undo|repeat|add|another|how|which|what|what's|when's|please)\b")
_ARTICLES = frozenset({"the", "a", "an", "my", "some"})
_ENDS = re.compile(r".*\b(?:down|in|out|up|off|on|done|finished|ready)")
_WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*")


def plain(name: str) -> str:
    """A name as it is compared and said: lower case, hyphens as spaces, one space between words.

    >>> plain("  Double-fried  Chips ")
    'double fried chips'
    """
    return " ".join(name.lower().replace("-", " ").replace("\u2019", "'").split())


def slug(name: str) -> str:
    """The id of a name: `chips-first-fry`."""
    return plain(name).replace("'", "").replace(" ", "-")


def wrong_with(name: str) -> str | None:
    """What keeps this from being a name, as a sentence with the way out; None when nothing does.

    >>> wrong_with("fry 2")
    "'fry 2' has a numeral in it; a name is spoken, so write it in words."
    >>> wrong_with("chips first fry") is None
    True
    """
    words = plain(name).split()
    if not words:
        return "A name is empty; write the word that the cook will say."
    if re.search(r"\d", name):
        return f"'{name}' has a numeral in it; a name is spoken, so write it in words."
    strange = next((w for w in words if not _WORD.fullmatch(w)), None)
    if strange is not None:
        return f"'{name}' has '{strange}' in it, which nobody can say; use letters only."
    if len(words) > MOST_NAME_WORDS:
        return f"'{name}' is long to say; use at most {MOST_NAME_WORDS} words."
    danger = _DANGER.search(" ".join(words)) or _DANGER_PARTS.search(" ".join(words))
    if danger:
        return f"'{name}' holds '{danger[0]}', which is kept for danger; call it something else."
    if ADDRESS_WORD in words:
        return f"'{name}' holds '{ADDRESS_WORD}', which is how the cook calls the assistant; call it something else."
    if words[0] in _ARTICLES:
        return f"'{name}' begins with '{words[0]}', which may be said before any name; leave it out."
    if _WHOLE.fullmatch(" ".join(words)):
        return f"'{name}' is already something the cook can say to the assistant; add a word to it."
    if _STARTS.match(" ".join(words)):
        return f"'{name}' starts like the command '{words[0]} ...'; begin with the food."
    if _ENDS.fullmatch(" ".join(words)):
        return f"'{name}' ends like the command '... {words[-1]}'; end with what is done."
    return None


def kept_word(text: str) -> str | None:
    """The first danger word, or the address word, in a text that will be spoken to the cook: the assistant must not say what it acts on.

    >>> kept_word("Leave the kitchen door open."), kept_word("Fry it.")
    ('kitchen', None)
    """
    found = _DANGER.search(plain(text)) or re.search(rf"\b{ADDRESS_WORD}\b", plain(text))
    return found[0] if found else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """ " Did you mean 'x'?" for the nearest known word, with its leading space; empty when nothing is near.

    >>> did_you_mean("chips blanch", ["chips first fry", "peas"])
    " Did you mean 'chips first fry'?"
    """
    heard = plain(word)
    best = max(known, key=lambda k: _nearness(heard, plain(k)), default="")
    return f" Did you mean '{best}'?" if best and _nearness(heard, plain(best)) >= _NEAR else ""


def _nearness(one: str, other: str) -> float:
    """0 to 100, letters in order or words in any order, whichever is nearer."""
    from rapidfuzz import fuzz  # only a mistake needs it

    return max(fuzz.ratio(one, other), fuzz.token_sort_ratio(one, other))
