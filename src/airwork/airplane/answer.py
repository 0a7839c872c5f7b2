"""An airplane's answer: an SI number that says how it was had and from where."""

from __future__ import annotations

from dataclasses import dataclass, replace

from airwork import units
from airwork.values import How, Value


@dataclass(frozen=True, slots=True)
class Answer:
    """One SI number, how it was had, its source and a remark. Equal when all fields are."""

    value: float
    how: How
    source: str
    note: str = ""

    def shown(self, unit: str, digits: int | None = None) -> Value:
        """As a `Value` in a printed unit, rounded to `digits` decimals if given."""
        number = units.to_unit(self.value, unit) if unit else self.value
        return Value(number if digits is None else round(number, digits), unit, self.how, self.source, note=self.note)

    def scaled(self, factor: float, how: How, note: str) -> Answer:
        """The value times a factor, had in a new way; the notes are joined."""
        return replace(self, value=self.value * factor, how=how, note="; ".join(filter(None, [self.note, note])))


def table(name: str) -> str:
    """Source text of a handbook table."""
    return f"handbook, {name}"
