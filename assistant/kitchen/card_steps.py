"""Steps of a card put in relation: names resolved, what waits for what, who takes which part of which lot or component.

A step without `after` waits for the one above it in its dish; `after: nothing` waits for none; `share: half of thighs fry` waits for that lot;
`uses` waits for the last steps of the component.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from assistant.kitchen import amounts
from assistant.kitchen.card_faults import read_section
from assistant.kitchen.card_model import STEP_CARDS, StepCard
from assistant.kitchen.card_names import did_you_mean, plain
from assistant.kitchen.card_text import CardPath, CardText
from assistant.kitchen.meal import StepKind

NOTHING = "nothing"
_SUM_SLACK = 0.011  # three times 33 % is as good as whole


@dataclass(slots=True)
class Draft:
    """A step on its way into the meal. path: its place on the card; data: as written; read: validated (None when it has mistakes); after, uses,
    share: as names on the card."""

    name: str
    dish: str
    path: CardPath
    data: dict[str, Any]
    read: StepCard | None
    after: list[str] = field(default_factory=list)
    uses: dict[str, float] = field(default_factory=dict)
    share: float = 1.0
    share_of: str = ""


def draft_steps(card: CardText, dishes: dict[str, CardPath], components: set[str]) -> dict[str, Draft]:
    """Every step of every dish by its plain name, related to the others; mistakes are noted on the card."""
    drafts: dict[str, Draft] = {}
    for dish, path in dishes.items():
        steps = _at(card.data, (*path, "steps"))
        for name, data in steps.items() if isinstance(steps, dict) else ():
            here = (*path, "steps", name)
            if not isinstance(data, dict):
                card.fault(here, f"'{name}' wants lines of its own beneath it, beginning with 'kind: ...'.")
                data = {"kind": None}
            if plain(name) in drafts:
                first = card.line(drafts[plain(name)].path)
                card.fault(here, f"'{name}' already means something on line {first}; give one of them another name.")
            drafts.setdefault(plain(name), Draft(name, dish, here, data, _validated(card, here, name, data)))
    _relate(card, drafts, components)
    _sums(card, drafts, components)
    _circles(card, drafts)
    return drafts


def _at(data: Any, path: CardPath) -> Any:
    for key in path:
        data = data.get(key) if isinstance(data, dict) else None
    return data


def _validated(card: CardText, here: CardPath, name: str, data: dict[str, Any]) -> StepCard | None:
    kind, kinds = data.get("kind"), [str(k) for k in StepKind]
    if kind is None and "kind" in data and len(data) == 1:
        return None
    if not isinstance(kind, str) or kind not in kinds:
        given = "has no 'kind'" if kind is None else f"is of kind '{kind if isinstance(kind, str) else '...'}'"
        near = did_you_mean(kind, kinds) if isinstance(kind, str) else ""
        card.fault((*here, "kind"), f"'{name}' {given}; write one of {', '.join(kinds)}.{near}")
        return None
    return read_section(STEP_CARDS[StepKind(kind)], data, here, card)


def _relate(card: CardText, drafts: dict[str, Draft], components: set[str]) -> None:
    above: dict[str, str] = {}
    for key, draft in drafts.items():
        _share(card, draft, drafts)
        written = draft.data.get("after")
        if written is None:
            draft.after = [draft.share_of] if draft.share_of else [above[draft.dish]] if draft.dish in above else []
        else:
            names = [w.strip() for w in written.split(",")] if isinstance(written, str) else written if isinstance(written, list) else []
            for name in names:
                if not isinstance(name, str) or plain(name) == NOTHING:
                    continue
                if plain(name) in drafts:
                    draft.after.append(plain(name))
                elif plain(name) in components:
                    card.fault((*draft.path, "after"), f"'{draft.name}' waits for '{name}', which is a component; write 'uses: {name}' instead.")
                else:
                    known = did_you_mean(name, (d.name for d in drafts.values() if d is not draft))
                    card.fault((*draft.path, "after"), f"'{draft.name}' waits for '{name}', which no step is called.{known}")
            if draft.share_of and draft.share_of not in draft.after:
                draft.after.append(draft.share_of)
        above[draft.dish] = key
    followed = {name for d in drafts.values() for name in d.after if drafts[name].dish == d.dish}
    for draft in drafts.values():
        _uses(card, draft, components)
        draft.after += [key for key, d in drafts.items() if plain(d.dish) in draft.uses and key not in followed]


def _share(card: CardText, draft: Draft, drafts: dict[str, Draft]) -> None:
    text = draft.data.get("share")
    if not isinstance(text, str):
        return
    found = re.fullmatch(r"(.+?)\s+of\s+(?:the\s+)?(.+)", text)
    if found is None:
        card.fault((*draft.path, "share"), f"'share: {text}' does not say of what; write it like 'share: half of chips fry'.")
        return
    if plain(found[2]) not in drafts:
        near = did_you_mean(found[2], (d.name for d in drafts.values() if d is not draft))
        card.fault((*draft.path, "share"), f"'{draft.name}' takes a share of '{found[2]}', which no step is called.{near}")
        return
    try:
        draft.share, draft.share_of = amounts.part(found[1]), plain(found[2])
    except ValueError as e:
        card.fault((*draft.path, "share"), f"'share': {e}.")


def _uses(card: CardText, draft: Draft, components: set[str]) -> None:
    written = draft.data.get("uses")
    if isinstance(written, str):
        written = [w.strip() for w in written.split(",")]
    parts = dict.fromkeys(written, "all") if isinstance(written, list) and all(isinstance(w, str) for w in written) else written
    if written is not None and not isinstance(parts, dict):
        card.fault((*draft.path, "uses"), f"'{draft.name}' uses something that is no name; write 'uses: ' and the name of a component.")
        return
    for name, text in parts.items() if isinstance(parts, dict) else ():
        if plain(name) not in components:
            near = did_you_mean(name, components) or " Components stand under 'components'."
            card.fault((*draft.path, "uses", name), f"'{draft.name}' uses '{name}', which no component is called.{near}")
            continue
        if plain(name) == plain(draft.dish):
            card.fault((*draft.path, "uses", name), f"'{draft.name}' uses the component that it makes; take 'uses' out.")
            continue
        try:
            draft.uses[plain(name)] = amounts.part(text if isinstance(text, str) else "")
        except ValueError as e:
            card.fault((*draft.path, "uses", name), f"'uses': {e}.")


def _sums(card: CardText, drafts: dict[str, Draft], components: set[str]) -> None:
    for key, lot in drafts.items():
        takers = [d for d in drafts.values() if d.share_of == key]
        total = sum(d.share for d in takers)
        if takers and abs(total - 1) > _SUM_SLACK:
            who = " and ".join(f"'{d.name}'" for d in takers)
            card.fault((*takers[-1].path, "share"), f"The shares of '{lot.name}' that {who} take come to {total:.0%}; make them come to all of it.")
    for component in components:
        users = [d for d in drafts.values() if component in d.uses]
        total = sum(d.uses[component] for d in users)
        if not users:
            words = f"No step uses '{component}'; write 'uses: {component}' in a step, or make it a dish."
            card.fault(("components", component), words)
        elif abs(total - 1) > _SUM_SLACK:
            who = " and ".join(f"'{d.name}'" for d in users)
            words = f"The parts of '{component}' that {who} use come to {total:.0%}; write '{component}: half' and so on under 'uses'."
            card.fault((*users[-1].path, "uses"), words)


def _circles(card: CardText, drafts: dict[str, Draft]) -> None:
    """Name each circle once: from any step that can be reached from itself, in the order in which they wait."""
    done: set[str] = set()
    for start in drafts:
        trail: list[str] = []
        stack = [(start, iter(drafts[start].after))] if start not in done else []
        while stack:
            here, rest = stack[-1]
            if here not in trail:
                trail.append(here)
            following = next(rest, None)
            if following is None:
                stack.pop()
                done.add(trail.pop())
            elif following in trail:
                circle = [*trail[trail.index(following) :], following]
                said = ", which waits for ".join(f"'{drafts[k].name}'" for k in circle[1:])
                key = "after" if "after" in drafts[circle[0]].data else "kind"
                card.fault((*drafts[circle[0]].path, key), f"'{drafts[circle[0]].name}' waits for {said}: a circle; take one 'after' out of it.")
            elif following not in done:
                stack.append((following, iter(drafts[following].after)))
