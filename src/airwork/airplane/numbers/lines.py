"""What the day's numbers are made of: lines in sections, each line a value that says how it was had, or a refusal."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from airwork.airplane.answer import Answer
from airwork.errors import NotPossible, OutOfRange
from airwork.values import Value


@dataclass(frozen=True, slots=True)
class Line:
    """One number of the screen.

    `key` is for programs, `name` for people. `also` holds the same fact in other units or kinds. A line with a `column`
    stands in a small grid with its neighbors of the same name. `refused` says why there is no value.
    """

    key: str
    name: str
    text: str
    value: Value | None = None
    also: tuple[tuple[str, Value], ...] = ()
    column: str = ""
    refused: str = ""

    def as_json(self) -> dict[str, object]:
        """Plain data for `--json`."""
        out: dict[str, object] = {"key": self.key, "name": self.name}
        if self.column:
            out["column"] = self.column
        if self.value is not None:
            out |= self.value.as_json()
        else:
            out |= {"value": None, "refused": self.refused} if self.refused else {"value": None, "text": self.text}
        if self.also:
            out["also"] = [{"as": label, **value.as_json()} for label, value in self.also]
        return out


@dataclass(frozen=True, slots=True)
class Section:
    """Lines under one heading."""

    key: str
    title: str
    lines: tuple[Line, ...]
    remark: str = ""

    def as_json(self) -> dict[str, object]:
        """Plain data for `--json`."""
        out: dict[str, object] = {"key": self.key, "title": self.title}
        if self.remark:
            out["remark"] = self.remark
        return {**out, "numbers": [line.as_json() for line in self.lines]}


@dataclass(frozen=True, slots=True)
class Numbers:
    """The day's numbers of one airplane, immutable and ready to show."""

    airplane_id: str
    airplane_name: str
    invented: bool
    handbook: str
    dial_unit: str
    conditions: tuple[Line, ...]
    sections: tuple[Section, ...]
    assumptions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = field(default=())

    def as_json(self) -> dict[str, object]:
        """Plain data for `--json`."""
        return {
            "airplane": {
                "id": self.airplane_id,
                "name": self.airplane_name,
                "invented": self.invented,
                "handbook": self.handbook,
                "airspeed_indicator_unit": self.dial_unit,
            },
            "conditions": [line.as_json() for line in self.conditions],
            "sections": [section.as_json() for section in self.sections],
            "assumptions": list(self.assumptions),
            "cautions": list(self.cautions),
        }

    def find(self, key: str, column: str = "") -> Line:
        """A line by its key (and column); KeyError if there is none."""
        for section in self.sections:
            for line in section.lines:
                if line.key == key and (not column or line.column == column):
                    return line
        raise KeyError(key)


def written(value: Value, digits: int = 0) -> str:
    """A value as a person reads it, thousands marked."""
    joint = "" if value.unit in {"%", "°C", "°F", "°", ""} else " "
    return f"{value.value:,.{digits}f}{joint}{value.unit}".replace("-", "−")


def line_of(
    key: str, name: str, ask: Callable[[], Answer], unit: str, digits: int = 0, *, column: str = "", suffix: str = ""
) -> Line:
    """A line from a question to the airplane; a refusal becomes a line that says so."""
    try:
        value = ask().shown(unit)
    except (OutOfRange, NotPossible) as problem:
        return refusal(key, name, problem, column=column)
    return Line(key, name, written(value, digits) + suffix, value, column=column)


def refusal(key: str, name: str, problem: Exception, *, column: str = "") -> Line:
    """A line for a number that can't be had, with the range it would have to lie in."""
    if isinstance(problem, OutOfRange):
        what, _, unit = problem.what.partition(" [")
        unit = unit.rstrip("]")
        unit = f" {unit}" if unit and unit != "percent" else ("" if not unit else " %")
        asked, low, high = (
            f"{x:,.4g}" if abs(x) < 1000 else f"{x:,.0f}" for x in (problem.asked, problem.low, problem.high)
        )
        text = f"outside {problem.where or 'the table'}: {what} {asked}, its rows reach from {low} to {high}{unit}"
        return Line(key, name, text, column=column, refused=text.replace("-", "−"))
    return Line(key, name, str(problem), column=column, refused=str(problem))
