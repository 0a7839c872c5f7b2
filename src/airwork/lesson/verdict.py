"""The verdict: go, think or no-go, each reason with its number. Unknown is said, never assumed good."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Level = Literal["go", "think", "no-go", "unknown", "not checked"]
Overall = Literal["go", "think", "no-go"]
ORDER: tuple[Level, ...] = ("no-go", "think", "unknown", "go", "not checked")
# What is told first of one level, the gravest first; the rest stays in the order it is looked at
FIRST = (
    "tornado", "funnel cloud", "thunderstorm", "hail", "freezing precipitation", "wind shear", "runway state", "frost",
    "airframe ice", "carburetor ice",
)  # fmt: skip
OWN = "airwork's own caution"


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing looked at.

    level : "unknown" is something the verdict needs and nobody gave; it makes the whole no better than "think".
        "not checked" is a thing airwork was not asked to look at, or can't look at: part of every verdict.
    source : where the rule stands; `OWN` where it is a caution of airwork's own.
    change : what would change it, in few words.
    """

    topic: str
    level: Level
    text: str
    source: str = ""
    change: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """All reasons, worst first, of one level the gravest."""

    level: Overall
    reasons: tuple[Reason, ...]

    def of(self, level: Level) -> tuple[Reason, ...]:
        """The reasons of one level."""
        return tuple(r for r in self.reasons if r.level == level)

    @property
    def headline(self) -> str:
        """The verdict with what decided it, in one line."""
        worst = [r for r in self.reasons if r.level == ("no-go" if self.level == "no-go" else "think")]
        unknown = self.of("unknown")
        if self.level == "go":
            return "Go: nothing found against it."
        said = [r.text for r in worst] + ([f"not known: {', '.join(r.topic for r in unknown)}"] if unknown else [])
        return f"{self.level.capitalize()}: {'; '.join(said)}."


def combine(reasons: Iterable[Reason]) -> Verdict:
    """The worst reason decides; an unknown counts as something to think about."""
    found = sorted(reasons, key=lambda r: (ORDER.index(r.level), _grave(r)))
    levels = {r.level for r in found}
    level: Overall = "no-go" if "no-go" in levels else "think" if levels & {"think", "unknown"} else "go"
    return Verdict(level, tuple(found))


def _grave(of: Reason) -> int:
    told = of.level in {"no-go", "think"}
    return next((n for n, first in enumerate(FIRST) if told and of.topic.startswith(first)), len(FIRST))
