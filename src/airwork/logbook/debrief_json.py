"""What the logbook reads of a debrief's JSON (`debrief.schema.json`), checked at the border; the rest is let be."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from airwork.errors import InputError
from airwork.fitting import first_of
from airwork.units import from_unit

Finite = Annotated[float, Field(allow_inf_nan=False)]
KNOWN_VERDICTS = ("held", "briefly out and corrected", "not held", "can't be judged")


class _Open(BaseModel):
    model_config = ConfigDict(extra="ignore", frozen=True)


class CriterionJson(_Open):
    """One criterion held against an episode."""

    name: str = Field(min_length=1, max_length=200)
    limit: str = ""
    worst: Finite | None = None
    unit: str = ""
    low: Finite | None = None
    high: Finite | None = None
    within_fraction: Annotated[float, Field(ge=0, le=1)] | None = None
    verdict: str
    why: str = ""


class EpisodeJson(_Open):
    """One maneuver flown."""

    kind: str = Field(pattern=r"^[a-z][a-z0-9_]{0,47}$")
    start_s: Finite
    end_s: Finite
    confidence: Annotated[float, Field(ge=0, le=1)] | None = None
    target: dict[str, Any] = {}
    measured: dict[str, Any] = {}
    criteria: tuple[CriterionJson, ...] = ()
    causes: tuple[Any, ...] = ()


class _StandardJson(_Open):
    id: str
    edition: str


class _ContactJson(_Open):
    kind: str
    time_s: Finite


class _FlightJson(_Open):
    sha256: str
    start_utc: AwareDatetime | None
    start_utc_s: Finite | None = None  # to the millisecond
    duration_s: Annotated[Finite, Field(ge=0)]
    airplane: str = ""
    standard: _StandardJson
    airwork_version: str
    source: dict[str, Any] = {}
    contacts: tuple[_ContactJson, ...]


class _WindJson(_Open):
    start_s: Finite
    end_s: Finite
    speed_kt: Finite


class _DebriefJson(_Open):
    flight: _FlightJson
    wind: tuple[_WindJson, ...]
    episodes: tuple[EpisodeJson, ...]


@dataclass(frozen=True, slots=True)
class DebriefFacts:
    """A debrief as the logbook takes it. Times in seconds since 1970 UTC; None where the recording names no date."""

    episodes: tuple[EpisodeJson, ...]
    wind: tuple[tuple[float, float], ...]  # seconds from the first sample, m/s
    start_utc_s: float | None
    duration_s: float
    unseen_s: float  # of it on the ground or not received
    recording_sha256: str
    airplane: str
    standard_name: str
    standard_edition: str
    program_version: str
    zone_open: bool  # its clock names no time zone and is taken as UTC
    contacts: tuple[tuple[str, float], ...]  # takeoff, landing or touch_and_go, seconds from the first sample
    content: str  # the whole debrief, in one form
    content_sha256: str

    def wind_mps(self, episode: EpisodeJson) -> float | None:
        """Wind during an episode: measured in it, else the nearest in time."""
        knots = episode.measured.get("wind_kt")
        if isinstance(knots, int | float):
            return from_unit(float(knots), "kt")
        middle = 0.5 * (episode.start_s + episode.end_s)
        return min(self.wind, key=lambda w: abs(w[0] - middle), default=(0.0, None))[1]


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) and math.isfinite(value) else 0.0


def read_debrief(raw: str | bytes | Mapping[str, Any], where: str = "debrief") -> DebriefFacts:
    """The facts of a debrief, from `airwork debrief --json` or the same as a dictionary.

    Raises
    ------
    InputError : not JSON, no debrief, or a field that can't be used; the message names it.
    """
    if isinstance(raw, str | bytes):
        try:
            data = json.loads(raw)
        except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as problem:
            raise InputError(f"is not JSON ({problem}).", where=where) from None
    else:
        data = dict(raw)
    if not isinstance(data, dict) or "episodes" not in data or "flight" not in data:
        raise InputError("is no debrief; give what airwork debrief --json wrote.", where=where)
    try:
        read = _DebriefJson.model_validate(data)
    except ValidationError as problem:
        raise first_of(problem, _DebriefJson, where=where) from None
    for n, episode in enumerate(read.episodes):
        if episode.end_s < episode.start_s:
            raise InputError(f"episodes.{n}: ends before it starts.", where=where)
        for c in episode.criteria:
            if c.verdict not in KNOWN_VERDICTS:
                raise InputError(
                    f"episodes.{n}: no verdict {c.verdict!r}; one of {', '.join(KNOWN_VERDICTS)}.", where=where
                )
    content = json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    about = read.flight
    start = None if about.start_utc is None else about.start_utc.timestamp()
    return DebriefFacts(
        episodes=read.episodes,
        wind=tuple((0.5 * (w.start_s + w.end_s), from_unit(w.speed_kt, "kt")) for w in read.wind),
        start_utc_s=start if about.start_utc_s is None else about.start_utc_s,
        duration_s=about.duration_s,
        unseen_s=min(max(_number(about.source.get("unseen_s")), 0.0), about.duration_s),
        recording_sha256=about.sha256.lower(),
        airplane=about.airplane,
        standard_name=about.standard.id,
        standard_edition=about.standard.edition,
        program_version=about.airwork_version,
        zone_open=bool(about.source.get("zone_open")),
        contacts=tuple((c.kind, c.time_s) for c in about.contacts if c.kind in {"takeoff", "landing", "touch_and_go"}),
        content=content,
        content_sha256=hashlib.sha256(content.encode()).hexdigest(),
    )


def limit_ratio(criterion: CriterionJson) -> float | None:
    """How far the worst deviation lies from the middle of the limits, over half their width: 1 is at the limit.

    With +10/−0 kt the middle is +5: 1 kt slow is 1.2, 10 kt fast is 1.0. With one limit only it is the share of it.
    """
    low, high, worst = criterion.low, criterion.high, criterion.worst
    if worst is None:
        return None
    if low is not None and high is not None:
        if high <= low:
            return None
        return abs(worst - 0.5 * (low + high)) / (0.5 * (high - low))
    if high is not None and high > 0:
        return max(0.0, worst / high)
    if low is not None and low > 0:
        return low / max(worst, 0.01 * low)
    return None
