"""What a recognizer finds and a grader says: candidates, episodes, findings, causes. Immutable, SI."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

Shape = Literal["", "a moment", "a drift", "a steady offset", "to and fro"]
# What faults come from; the same root in two maneuvers is a pattern.
Root = Literal["", "late", "too big", "back pressure", "power", "target not set", "feet", "wind", "decision"]
Verdict = Literal["held", "briefly out and corrected", "not held", "can't be judged"]
INSIDE = "Inside the limit."  # ends the text of a cause that explains what was held
NOT_ASKED = "not asked"  # as it was flown there was nothing to hold the quantity to

FIRST_SIGN = "first_sign"  # among a stall's facts: recovered at the warning or the buffet, before any break
UNGRADED = "entered as said, not graded"  # begins the evidence of what stands there on somebody's word


def ungraded(evidence: Sequence[str]) -> bool:
    """An episode of this evidence was entered on somebody's word and has no grade."""
    return any(words.startswith(UNGRADED) for words in evidence)


@dataclass(frozen=True, slots=True)
class Phase:
    """A part of an episode: entry, established, recovery ..."""

    name: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Episode:
    """A stretch of the flight taken for one maneuver (a proposal until the arbiter has chosen it).

    start_s, end_s : seconds from the first sample.
    score : 0 to 1, how well the pattern fits; the arbiter's answer carries it as confidence.
    evidence : short facts that led to it, for the user.
    facts : numbers the grader needs again (SI), e.g. direction of the turn.
    instead : the second-best story of the same minutes, where the arbiter is not sure.
    """

    kind: str
    start_s: float
    end_s: float
    score: float
    phases: tuple[Phase, ...] = ()
    evidence: tuple[str, ...] = ()
    facts: Mapping[str, float] = field(default_factory=dict)
    instead: Episode | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """One criterion of the standard held against the flown maneuver. Printed units (it is shown, not computed with)."""

    name: str
    limit: str
    worst: float | None
    unit: str
    within_fraction: float | None
    verdict: Verdict
    why: str
    first_excursion_s: float | None = None
    longest_excursion_s: float | None = None
    trend_per_min: float | None = None  # the deviation's slope over the maneuver
    low: float | None = None  # the limit itself, deviation from the target in `unit`; None is open
    high: float | None = None
    source: str = ""  # document of the limit; "airwork" for a threshold of ours
    label: str = ""  # V verified, M from memory, P common practice, S the school's own
    quantity: str = ""  # what it is about, as in the standard's file
    allowance: float | None = None  # what the recorder resolves, given on top of the limit; None: none
    shape: Shape = ""  # how it was off: a moment, a drift, a steady offset, to and fro; "" inside half the limit
    judged: str = ""  # "steadiness": the target is the pilot's own choice, not right by itself; or NOT_ASKED
    aim: float | None = None  # what the quantity was held at; 0 where deviations were judged
    over_s: tuple[tuple[float, float], ...] = ()  # the stretches that were judged, for drawing the limit where it held


@dataclass(frozen=True, slots=True)
class Cause:
    """Why it drifted, in an instructor's words, with the stretch that shows it."""

    text: str
    try_next: str
    start_s: float
    end_s: float
    weight: float  # for ranking: the deviation it explains over its tolerance
    name: str = ""  # the fault in two or three words, for counting
    root: Root = ""
    explains: str = ""  # the quantity whose deviation it explains; "" stands by itself
    share: float | None = None  # of that deviation, 0 to 1
    grave: bool = False  # a thin margin that no standard has a number for: said first


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of a maneuver graded by itself, and the altitude it was held to. [s, m]"""

    name: str  # "level", "climbing", "descending", "entry", "recovery" ...
    start_s: float
    end_s: float
    altitude_m: float | None = None
    source: str = ""


@dataclass(frozen=True, slots=True)
class Grade:
    """Everything said of one episode."""

    target: Mapping[str, float]  # printed units in the key names
    target_source: str  # "lesson" or "inferred from what the pilot settled on"
    measured: Mapping[str, float]  # printed units in the key names
    findings: tuple[Finding, ...]
    causes: tuple[Cause, ...]
    stretches: tuple[Stretch, ...] = ()
    said: tuple[str, ...] = ()  # what an instructor said of the grading, and who
