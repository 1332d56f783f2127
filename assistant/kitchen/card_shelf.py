"""A shelf of cards already read, in the user's cache folder, so that an evening whose card has not changed starts without the readers of cards.

One file a meal: what the program's own files were, the card's whole text, and the meal. It is taken only when both are still the same, so nothing has
to be cleared; whatever cannot be read or written counts as not there. Only what a `Meal` is made of is ever unpickled.
"""

from __future__ import annotations

import contextlib
import io
import os
import pickle
from enum import Enum
from pathlib import Path
from typing import Any

import platformdirs

from assistant.kitchen import meal as parts
from assistant.kitchen.meal import Meal


def take(text: str, file: str) -> Meal | None:
    """The meal of this card, if it was read before by this program."""
    try:
        program, then, meal = _Reader(io.BytesIO(_place(file).read_bytes())).load()
    except Exception:  # damaged, of another program, or not there: then it is read anew
        return None
    return meal if (program, then) == (_program(), (text, file)) and isinstance(meal, Meal) else None


def put(text: str, file: str, meal: Meal) -> None:
    """Keep a meal that was just read; where nothing can be kept, nothing is."""
    place = _place(file)
    with contextlib.suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True)
        new = place.with_suffix(f".{os.getpid()}")
        new.write_bytes(pickle.dumps((_program(), (text, file), meal), protocol=5))
        new.replace(place)


def _place(file: str) -> Path:
    return platformdirs.user_cache_path("stovehand") / "cards" / f"{Path(file).stem}.pickle"


def _program() -> tuple[tuple[str, int, int], ...]:
    """Name, size and time of every file that may have a part in reading a card, as Python itself tells whether its compiled files are still good."""
    folder = Path(__file__).parent
    return tuple(sorted((f.name, f.stat().st_size, f.stat().st_mtime_ns) for f in os.scandir(folder) if f.name.endswith(".py")))


class _Reader(pickle.Unpickler):
    def find_class(self, module: str, name: str) -> Any:
        if module == parts.__name__ and isinstance(found := getattr(parts, name, None), type):
            return found
        if (module, name) == ("builtins", "getattr"):  # Python 3.11.0 to 3.11.3 keeps the member of an enumeration so
            return _member
        raise pickle.UnpicklingError(f"{module}.{name} is no part of a meal")


def _member(of: Any, name: str) -> Any:
    """A member of an enumeration, and nothing else of anything."""
    if isinstance(of, type) and issubclass(of, Enum):
        return of[name]
    raise pickle.UnpicklingError(f"{name} is no part of a meal")
