"""`stovehand safety MEAL`: every safety rule that will apply to this meal, each with its source."""

from __future__ import annotations

import click

from assistant.kitchen.cards import MealCardError, find_meal, read_card
from assistant.kitchen.order import plain_order
from assistant.kitchen.rules import Rule, rules_for
from assistant.settings import SettingsError, read_settings

CAUTION = (
    "An aid, not a safety device: it cannot see the pot, the food or the people. Stay with hot oil.",
    "Local codes, your fire service and licensed practice go first. Nothing here replaces a trained person.",
)


def printed(rules: tuple[Rule, ...]) -> str:
    """The rules as text: a heading a topic, a rule a line, its source under it; rules of one topic with the same words are said once."""
    lines: list[str] = []
    topic = ""
    merged: dict[tuple[str, str, str], list[str]] = {}
    for rule in rules:
        merged.setdefault((rule.topic, rule.text, rule.source), []).extend(rule.applies_to)
    for (heading, text, source), names in merged.items():
        if heading != topic:
            lines += ["", heading]
            topic = heading
        about = ", ".join(dict.fromkeys(names))
        lines += [f"  {about}: {text}" if about else f"  {text}", f"      [{source}]"]
    return "\n".join(lines[1:])


@click.command()
@click.argument("meal")
@click.option("--region", metavar="CODE", help="Country, for the emergency number: US, GB, DE, KR, ... Left out: the settings' region.")
def safety(meal: str, region: str | None) -> None:
    """Print every safety rule of MEAL (a name or a card's file), each with its source."""
    try:
        found = read_card(find_meal(meal))
        here = region or read_settings().region
    except (MealCardError, SettingsError) as error:
        click.echo(str(error), err=True)
        raise SystemExit(2) from error
    click.echo(found.title)
    click.echo()
    order = tuple(found.step(slot.step) for slot in plain_order(found))
    click.echo(printed(rules_for(found, order, here)))
    click.echo()
    for line in CAUTION:
        click.echo(line)
