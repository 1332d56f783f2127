"""Runs the rehearsal scripts of this folder; `python tests/scenarios/script_kit.py` writes their expected lines anew, to be read before committing.

A script's name begins with its meal: `fish-supper--plain-evening.txt`.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from assistant.ears import interpreter_for
from assistant.kitchen.cards import find_meal, read_card
from assistant.rehearsal import Outcome, kitchen_stamp, read_script, rehearse
from assistant.session import events as e
from assistant.settings import Settings
from assistant.understander import Understander

FOLDER = Path(__file__).parent
SCRIPTS = sorted(FOLDER.glob("*--*.txt"))


def run(path: Path) -> Outcome:
    """Rehearse one script."""
    script = read_script(path)
    card_path = find_meal(path.name.split("--")[0])
    card = read_card(card_path)
    settings = Settings(units=script.units or "F", region=script.region or "US")
    text = card_path.read_text(encoding="utf-8")
    first = e.EveningBegan(0.0, text, card_path.name, script.day_s, None, script.people or card.serves, settings.units, settings.region)
    if script.serve_day_s is not None:
        first = replace(first, serve_t=script.serve_day_s - script.day_s)
    understander = Understander(interpreter_for(card, settings), settings)
    return rehearse(script, first, card_path.stem, understander.typed)


def refresh(path: Path) -> None:
    """Write what is said now into the script, each line in its place."""
    kept = [line for line in path.read_text(encoding="utf-8").splitlines() if " < " not in line]
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    outcome = run(path)
    cues = [c for c in read_script(path).cues if c.said]
    said = list(outcome.said)
    lines = [line for line in kept if line.startswith("#") or not line.strip()]
    heard = [x for x in outcome.events if isinstance(x, e.Heard)]
    # what was said by the time of each cue, in the order of the journal
    order: list[str] = []
    cue = 0
    for event in outcome.events:
        if isinstance(event, e.Heard) and cue < len(cues):
            order.append(f"{kitchen_stamp(cues[cue].t)} > {cues[cue].words}")
            cue += 1
        elif isinstance(event, e.Said):
            order.append(f"{kitchen_stamp(event.t)} < {event.words}")
    assert cue == len(cues) == len(heard), f"{path.name}: a line was not heard"
    assert len([x for x in order if " < " in x]) == len(said)
    path.write_text("\n".join([*lines, *order]) + "\n", encoding="utf-8")


if __name__ == "__main__":
    for script_path in SCRIPTS:
        refresh(script_path)
        print(script_path.name)
