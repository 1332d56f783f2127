"""What was learned of this kitchen and this cook's voice in a minute of getting acquainted: how loud it is, and how sure the ear must be here.

On the path: sound -> **Utterance**. Pure: values and rules. Rules:
- Thresholds come on top of the recogniser's own gates and only ever ask for more: the noise of this kitchen alone must stay NOISE_PMI under what is
  believed, at its level with the hood off and on and in between; and a line that was misheard with confidence must not pass again, so that the
  distance to the next meaning must be MISHEARD_MARGIN greater than it was then.
- Danger words keep their gates: a miss costs more than a needless question.
- No sound is kept, only these numbers, in a file of the data folder; one that cannot be read counts as none.
"""

from __future__ import annotations

import json
import math
import os
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np

from assistant.hearing.frames import BLOCK, level_db
from assistant.hearing.recogniser import Recogniser, Samples
from assistant.hearing.utterance import Utterance

FILE = "kitchen.json"
NOISE_PMI = 0.5
"""Nats a token: the model's own scores are no finer (tests/unit/test_hearing_model.py)."""
MISHEARD_MARGIN = 0.5
MOST_PMI, MOST_MARGIN = 3.0, 6.0
"""Nobody is made to say everything three times because of one bad minute."""


@dataclass(frozen=True, slots=True)
class KitchenEar:
    """day: when it was learned; quiet_db, hood_db: noise with the hood off and on, dB below full scale; speech_db: the cook's words; quiet_pmi,
    hood_pmi: least support, nats a token, at these levels; margin: least distance to another meaning, nats."""

    day: str
    quiet_db: float
    hood_db: float
    speech_db: float
    quiet_pmi: float
    hood_pmi: float
    margin: float

    def pmi_at(self, level: float) -> float:
        """Least support when the kitchen is as loud as this, dB below full scale.

        >>> KitchenEar("2026-01-31", -60.0, -40.0, -26.0, 0.5, 1.5, 0.0).pmi_at(-50.0)
        1.0
        """
        if self.hood_db <= self.quiet_db:
            return max(self.quiet_pmi, self.hood_pmi)
        return float(np.interp(level, (self.quiet_db, self.hood_db), (self.quiet_pmi, self.hood_pmi)))

    @property
    def sentence(self) -> str:
        """For the cook."""
        return f"This kitchen is known since {self.day}: {self.quiet_db:.0f} dB, {self.hood_db:.0f} with the hood on."


def read_kitchen(folder: Path) -> KitchenEar | None:
    """What is kept in this folder; None when nobody has listened yet."""
    try:
        kept = json.loads((folder / FILE).read_text(encoding="utf-8"))
        day = str(kept.pop("day"))
        kitchen = KitchenEar(day, **{name: float(value) for name, value in kept.items()})
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None
    numbers = [value for value in asdict(kitchen).values() if isinstance(value, float)]
    return kitchen if all(map(math.isfinite, numbers)) else None


def write_kitchen(folder: Path, kitchen: KitchenEar) -> Path:
    """Keep it, whole or not at all; gives the file. OSError as it comes."""
    folder.mkdir(parents=True, exist_ok=True)
    new = folder / (FILE + ".new")
    new.write_text(json.dumps(asdict(kitchen), indent=1) + "\n", encoding="utf-8")
    os.replace(new, folder / FILE)
    return folder / FILE


def noise_db(samples: Samples) -> float:
    """The level between the words, dB below full scale: a tenth of the blocks is quieter."""
    blocks = samples[: samples.size // BLOCK * BLOCK].reshape(-1, BLOCK)
    return float(np.percentile([level_db(b) for b in blocks], 10)) if len(blocks) else -120.0


def speech_db(samples: Samples) -> float:
    """The level of the words themselves, dB below full scale: of what is within 26 dB of the peak."""
    loud = samples[np.abs(samples) > 0.05 * float(np.abs(samples).max(initial=0.0))]
    return level_db(loud)


def least_pmi(noise: float) -> float:
    """What is asked for where noise alone got this much support, nats a token."""
    return min(MOST_PMI, max(0.0, noise + NOISE_PMI))


def least_margin(misheard: float) -> float:
    """What is asked for where a line was misheard by this much, nats; 0: none was."""
    return min(MOST_MARGIN, misheard + MISHEARD_MARGIN) if misheard > 0 else 0.0


class Acquainted(Recogniser):
    """A recogniser in a kitchen that is known. danger: these are danger words."""

    def __init__(self, recogniser: Recogniser, kitchen: KitchenEar, danger: Callable[[str], bool]) -> None:
        self._recogniser, self._kitchen, self._danger = recogniser, kitchen, danger

    @property
    def name(self) -> str:
        return self._recogniser.name

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        """What the recogniser heard; unsure where this kitchen asks for more than its gates."""
        heard = self._recogniser.recognise(samples, start_s, end_s)
        if not heard.sure or self._danger(heard.words):
            return heard
        pmi, margin = heard.scores.pmi, heard.scores.margin
        doubted = replace(heard, sure=False, scores=replace(heard.scores, belief=None))
        if pmi is not None and pmi < self._kitchen.pmi_at(noise_db(samples)):
            return replace(doubted, reason="pmi")
        if margin is not None and margin < self._kitchen.margin:
            return replace(doubted, reason="margin")
        return heard
