"""What a standard is once read: tasks with their criteria, and airwork's own named thresholds. Immutable, SI."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from html import escape

# A limit is inclusive; a value that was printed in feet and stored in meters must not fall outside by rounding.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Criterion:
    """One tolerance of a task.

    low, high : deviation from the target allowed, both included, SI; None = open on that side.
    nominal : the target the standard itself prints (45° of bank), SI; None when the pilot or the maker sets it.
    unit : the printed unit; text : the limit as a person reads it.
    """

    name: str
    quantity: str
    low: float | None
    high: float | None
    text: str
    source: str
    label: str
    unit: str = ""
    nominal: float | None = None
    about: str = ""

    @property
    def has_limit(self) -> bool:
        """The standard prints a number to hold."""
        return self.low is not None or self.high is not None

    def holds(self, deviation: float) -> bool:
        """The deviation (SI) is inside the limits, which belong to the inside."""
        slack = _ROUNDING * max(1.0, abs(deviation))
        above = self.low is None or deviation >= self.low - slack
        below = self.high is None or deviation <= self.high + slack
        return above and below


@dataclass(frozen=True, slots=True)
class Task:
    """What a standard asks of one kind of maneuver. `criteria` is empty where the standard prints no number."""

    kind: str
    code: str
    title: str
    source: str
    min_agl_m: float | None
    criteria: tuple[Criterion, ...]
    notes: tuple[str, ...] = ()
    label: str = ""

    def criterion(self, quantity: str) -> Criterion | None:
        """The criterion about a quantity, None when the task has none."""
        return next((c for c in self.criteria if c.quantity == quantity), None)


@dataclass(frozen=True, slots=True)
class Threshold:
    """A threshold of airwork's own (or of the school's), with its reason."""

    name: str
    value: float
    unit: str
    why: str
    whose: str  # "airwork" or the school file's title


@dataclass(frozen=True, slots=True)
class Judging(Mapping[str, float]):
    """The thresholds by name; behaves as a mapping name → value in the threshold's unit."""

    thresholds: Mapping[str, Threshold]

    def __getitem__(self, name: str) -> float:
        return self.thresholds[name].value

    def __iter__(self) -> Iterator[str]:
        return iter(self.thresholds)

    def __len__(self) -> int:
        return len(self.thresholds)


@dataclass(frozen=True, slots=True, repr=False)
class Standard:
    """One authority's (or a school's) tolerances for one certificate."""

    id: str
    title: str
    authority: str
    edition: str
    certificate: str
    tasks: Mapping[str, Task]
    judging: Judging
    documents: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    def __repr__(self) -> str:
        return f"<Standard {self.id}: {self.title}, {self.edition}, {len(self.tasks)} tasks>"

    def _repr_html_(self) -> str:
        """For notebooks: every task with its tolerances."""
        rows = "".join(
            f"<tr><td>{escape(t.title)}</td><td>{escape('; '.join(f'{c.name} {c.text}' for c in t.criteria))}</td></tr>"
            for t in self.tasks.values()
            if t.criteria
        )
        return f"<p>{escape(repr(self))}</p><table>{rows}</table>"

    def task(self, kind: str) -> Task:
        """The task of a kind; one without criteria where the standard has none."""
        found = self.tasks.get(kind)
        if found is not None:
            return found
        title = kind.replace("_", " ")
        return Task(kind, "", title, "", None, (), (f"{self.title} ({self.edition}) prints no number for {title}.",))

    def in_words(self, text: str) -> str:
        """A text with its documents' keys written out, short: "S2" as "FAA-S-ACS-6B, June 2018"."""

        def named(match: re.Match[str]) -> str:
            parts = self.documents.get(match[0], match[0]).split(", ")
            return parts[0] if len(parts) < 3 else f"{parts[0]}, {parts[-1]}"

        return re.sub(r"\bS\d+\b", named, text)


def limit_text(low: float | None, high: float | None, unit: str, nominal: float | None) -> str:
    """A limit as a person reads it, from printed numbers: '±100 ft', '+10/−0 kt', '45° ±5°'.

    >>> limit_text(-100, 100, "ft", None), limit_text(0, 10, "kt", None), limit_text(-5, 5, "deg", 45)
    ('±100 ft', '+10/−0 kt', '45° ±5°')
    """
    mark = {"deg": "°", "%": " %"}.get(unit, f" {unit}")

    def number(value: float) -> str:
        return f"{abs(value):,.10g}"

    if low is None and high is None:
        text = "no number printed"
    elif low is None:
        text = f"at most {number(high or 0.0)}{mark}"
    elif high is None:
        text = f"at least {number(low)}{mark}"
    elif low == 0.0 and unit in ("ft", "m"):
        text = f"0 to +{number(high)}{mark}"
    elif math.isclose(low, -high):
        text = f"±{number(high)}{mark}"
    else:
        text = f"+{number(high)}/−{number(low)}{mark}"
    return text if nominal is None else f"{nominal:g}{mark} {text}"
