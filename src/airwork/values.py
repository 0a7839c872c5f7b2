"""A number that can say where it came from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

BAND = 1.6449  # standard deviations on each side of the middle 90 % of a normal distribution
WIND_KNOWN_KT = 2.5  # half a 90 % band: a wind found less surely isn't said to be known (our choice)
How = Literal["handbook table", "formula", "fitted model", "measured", "assumed", "given"]


# What a label of the data files means to a reader; what was found in the text itself needs no word.
LABELS = {
    "V": "", "": "", "M": "from memory, not verified", "P": "common practice, no source", "D": "derived here",
    "S": "the school's own",
}  # fmt: skip


def sourced(source: str, label: str) -> str:
    """A source as people read it: memory is called memory.

    >>> sourced("14 CFR 91.209", "M")
    '14 CFR 91.209 (from memory, not verified)'
    """
    said = LABELS[label]
    return f"{source} ({said})" if said and source else source or said


@dataclass(frozen=True, slots=True)
class Value:
    """One number with its unit, how it was had, its source and, where known, its 90 % half-width.

    `value` and `uncertainty` are in `unit` (printed units: a Value is made at the edge, to be shown).
    Two Values are equal when all fields are.
    """

    value: float
    unit: str
    how: How
    source: str
    uncertainty: float | None = None
    note: str = ""

    def as_json(self) -> dict[str, object]:
        """Plain data for `--json`."""
        out: dict[str, object] = {"value": self.value, "unit": self.unit, "how": self.how, "source": self.source}
        if self.uncertainty is not None:
            out["uncertainty_90"] = self.uncertainty
        if self.note:
            out["note"] = self.note
        return out
