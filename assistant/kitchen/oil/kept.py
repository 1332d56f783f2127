"""What stays of a pot between evenings: what it taught, the life of its oil, how it foams. One JSON text a pot; reading it checks every figure."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

from assistant.kitchen.oil.estimate import Learned
from assistant.kitchen.oil.foam import Foam
from assistant.kitchen.oil.life import OilLife

if TYPE_CHECKING:
    from pydantic import TypeAdapter


class KeptError(ValueError):
    """A kept text that is none; the message is one sentence."""


@dataclass(frozen=True, slots=True)
class KeptPot:
    """learned: None while nothing was read in this pot; oil: its log; foam; thermometer: whether there was one to read it with."""

    oil: OilLife
    foam: Foam = field(default_factory=Foam)
    learned: Learned | None = None
    thermometer: bool = True

    def next_evening(self) -> KeptPot:
        """As it is when the next evening begins: the oil one use older if anything was fried in it, the raised swell one evening shorter."""
        return KeptPot(self.oil if self.oil.fresh else self.oil.evening(), self.foam.evening_over(), self.learned, self.thermometer)


@lru_cache(maxsize=1)
def _adapter() -> TypeAdapter[KeptPot]:
    from pydantic import TypeAdapter

    return TypeAdapter(KeptPot)


def write(kept: KeptPot) -> str:
    """The JSON text of a pot."""
    return _adapter().dump_json(kept, indent=1).decode()


def read(text: str) -> KeptPot:
    """A pot from its JSON text. KeptError names the first thing that is wrong."""
    from pydantic import ValidationError

    try:
        return _adapter().validate_json(text)
    except ValidationError as wrong:
        first = wrong.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the text"
        raise KeptError(f"A kept pot cannot be read: {where}: {first['msg']}.") from wrong
