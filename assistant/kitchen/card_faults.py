"""From a section of a card to its model, and from pydantic's errors to sentences a cook can act on."""

from __future__ import annotations

from typing import Any, TypeVar, get_args

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from assistant.kitchen.card_model import Section
from assistant.kitchen.card_names import did_you_mean
from assistant.kitchen.card_text import CardPath, CardText

AnySection = TypeVar("AnySection", bound=Section)


def read_section(model: type[AnySection], data: Any, path: CardPath, card: CardText) -> AnySection | None:
    """The section at `path`, or None after noting every mistake in it."""
    try:
        return model.model_validate(data)
    except ValidationError as e:
        for error in e.errors(include_url=False):
            here = (*path, *error["loc"])
            owner = str(here[-2]) if len(here) > 1 else "The card"
            card.fault(here, _sentence(error, str(here[-1]) if here else "", owner, model))
        return None


def _sentence(error: ErrorDetails, key: str, owner: str, model: type[Section]) -> str:
    given, context = error["input"], error.get("ctx", {})
    fields = _fields(model, error["loc"][:-1])
    match error["type"]:
        case "missing":
            example = (fields[key].examples or ["..."])[0]
            return f"'{owner}' lacks '{key}'; add for example '{key}: {example}'."
        case "extra_forbidden":
            near = did_you_mean(key, fields) or f" It takes: {', '.join(fields)}."
            return f"'{key}' is nothing that '{owner}' can say here.{near}"
        case "value_error":
            return f"'{key}': {context.get('error')}."
        case "enum" | "literal_error":
            choices = str(context.get("expected", "")).replace("'", "")
            return f"'{key}: {_shown(given)}' is none of these: {choices}.{did_you_mean(str(given), choices.replace(' or ', ', ').split(', '))}"
        case "bool_parsing" | "bool_type":
            return f"'{key}' wants yes or no, not '{_shown(given)}'."
        case "int_parsing" | "int_type" | "int_from_float" | "int_parsing_size":
            return f"'{key}' wants a whole number, not '{_shown(given)}'."
        case "greater_than_equal":
            return f"'{key}: {given}' is too few; write {context.get('ge')} or more."
        case "less_than_equal":
            return f"'{key}: {given}' is too many; write {context.get('le')} or fewer."
        case "model_type" | "model_attributes_type" | "dict_type":
            return f"'{key or 'The card'}' wants lines of its own beneath it, each 'key: value', not '{_shown(given)}'."
        case "list_type":
            return f"'{key}' wants names with commas between, not '{_shown(given)}'."
        case "string_type":
            return f"'{owner if key.isdigit() else key}' wants words, not '{_shown(given)}'."
        case "string_pattern_mismatch":
            return f"'{key}: {given}' is no number of the tables; write four to six digits."
        case _:
            return f"'{key}' cannot be '{_shown(given)}'; compare it with the card that 'meals new' writes."


def _shown(given: Any) -> str:
    return "nothing" if given is None else "a list" if isinstance(given, list) else "keys" if isinstance(given, dict) else str(given)[:40]


def _fields(model: type[Section], loc: tuple[int | str, ...]) -> dict[str, Any]:
    """The keys of the section that lies at `loc` inside this one, by the name the cook writes."""
    fields = {f.alias or name: f for name, f in model.model_fields.items()}
    if not loc or loc[0] not in fields:
        return fields
    inner = fields[str(loc[0])].annotation
    rest = loc[1:]
    for arg in get_args(inner):  # a dict of sections: its values are the sections, its keys the names
        if isinstance(arg, type) and issubclass(arg, Section):
            inner, rest = arg, loc[2:]
    return _fields(inner, rest) if isinstance(inner, type) and issubclass(inner, Section) else fields
