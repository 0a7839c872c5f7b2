"""One place where a margin was thin, how it ranks, and the maneuver it fell in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from airwork.maneuvers.episode import Episode, Root

CLASS_LOW, CLASS_LIMIT, CLASS_BRIEF = 100.0, 60.0, 5.0  # near the ground, a limit passed, a moment (no source)
SAME_S = 30.0  # so near each other two of a kind are one


@dataclass(frozen=True, slots=True)
class Margin:
    """One place where a margin was thin.

    rank : class times size over the limit; about : the quantity it tells of; name : of the fault, as a cause has it.
    """

    text: str
    start_s: float
    end_s: float
    rank: float
    root: Root = ""
    kind: str = ""  # the maneuver it fell in; "" none
    good: bool = False  # it ended in the right decision
    brief: str = ""  # the text in fewer words, for a list; {in} where its maneuver is named
    about: str = ""
    name: str = ""

    @property
    def short(self) -> str:
        """For a list of places; {in} where its maneuver is named."""
        if self.brief:
            return self.brief
        return f"{'{in} ' if self.kind else ''}{self.text[0].lower()}{self.text[1:].rstrip('.')}"


def during(episodes: Sequence[Episode], start_s: float, end_s: float) -> str:
    """The maneuver a moment fell in, the shortest where several do; "" for none."""
    inside = [e for e in episodes if e.start_s <= end_s and e.end_s >= start_s]
    return min(inside, key=lambda e: e.end_s - e.start_s).kind if inside else ""
