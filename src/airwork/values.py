"""A number that can say where it came from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

How = Literal["handbook table", "formula", "fitted model", "measured", "assumed", "given"]


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
