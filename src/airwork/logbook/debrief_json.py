"""What the logbook reads from a debrief's JSON: checked at the border, tolerant of what it doesn't use."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from airwork.errors import InputError
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


class _DebriefJson(_Open):
    flight: dict[str, Any]
    wind: tuple[dict[str, Any], ...] = ()
    episodes: tuple[EpisodeJson, ...] = ()


@dataclass(frozen=True, slots=True)
class DebriefFacts:
    """A debrief as the logbook takes it. Times in seconds since 1970 UTC; None where the recording names no date."""

    episodes: tuple[EpisodeJson, ...]
    wind: tuple[tuple[float, float], ...]  # seconds from the first sample, m/s
    start_utc_s: float | None
    duration_s: float
    recording_sha256: str
    recording_name: str
    airplane: str
    standard_name: str
    standard_edition: str
    program_version: str
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
        first = problem.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise InputError(f"{place}: {first['msg'].lower()} (found {first['input']!r:.60}).", where=where) from None
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
    standard = about.get("standard")
    known: Mapping[str, Any] = standard if isinstance(standard, dict) else {}
    return DebriefFacts(
        episodes=read.episodes,
        wind=_wind(read.wind),
        start_utc_s=_moment(about, ("start_utc_s", "start_utc"), where),
        duration_s=_duration(about, read.episodes, where),
        recording_sha256=str(about.get("sha256") or "").lower(),
        recording_name=str(about.get("name") or ""),
        airplane=str(about.get("airplane") or ""),
        standard_name=str(known.get("id") or known.get("title") or ""),
        standard_edition=str(known.get("edition") or ""),
        program_version=str(about.get("airwork_version") or ""),
        contacts=_contacts(about, read.episodes),
        content=content,
        content_sha256=hashlib.sha256(content.encode()).hexdigest(),
    )


def _moment(about: Mapping[str, Any], names: tuple[str, ...], where: str) -> float | None:
    for name in names:
        value = about.get(name)
        if isinstance(value, int | float):
            return float(value)
        if isinstance(value, str) and value:
            try:
                moment = datetime.fromisoformat(value)
            except ValueError:
                raise InputError(f"flight.{name}: {value!r} is no time.", where=where) from None
            return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
    return None


def _duration(about: Mapping[str, Any], episodes: tuple[EpisodeJson, ...], where: str) -> float:
    value = about.get("duration_s")
    if isinstance(value, int | float):
        return max(0.0, float(value))
    start, end = _moment(about, ("start_utc_s", "start_utc"), where), _moment(about, ("end_utc_s", "end_utc"), where)
    if start is not None and end is not None:
        return max(0.0, end - start)
    return max((e.end_s for e in episodes), default=0.0)


def _wind(rows: tuple[dict[str, Any], ...]) -> tuple[tuple[float, float], ...]:
    out = []
    for row in rows:
        start, end, knots = row.get("start_s"), row.get("end_s"), row.get("speed_kt")
        if isinstance(start, int | float) and isinstance(end, int | float) and isinstance(knots, int | float):
            out.append((0.5 * (start + end), from_unit(float(knots), "kt")))
    return tuple(out)


def _contacts(about: Mapping[str, Any], episodes: tuple[EpisodeJson, ...]) -> tuple[tuple[str, float], ...]:
    listed = about.get("contacts")
    if isinstance(listed, list):
        found = [
            (str(c.get("kind")), float(c.get("time_s", 0.0)))
            for c in listed
            if isinstance(c, dict) and isinstance(c.get("time_s", 0.0), int | float)
        ]
    else:
        found = [(e.kind, e.start_s if e.kind == "takeoff" else e.end_s) for e in episodes]
    return tuple(c for c in found if c[0] in {"takeoff", "landing", "touch_and_go"})


_NUMBER = r"(\d[\d,]*(?:\.\d+)?)"
_LIMITS = (
    (re.compile(rf"±\s*{_NUMBER}"), lambda m: (-m[0], m[0])),
    (re.compile(rf"\+\s*{_NUMBER}\s*/\s*[−-]\s*{_NUMBER}"), lambda m: (-m[1], m[0])),
    (re.compile(rf"[−-]\s*{_NUMBER}\s*/\s*\+\s*{_NUMBER}"), lambda m: (-m[0], m[1])),
    (re.compile(rf"at most\s+{_NUMBER}"), lambda m: (None, m[0])),
    (re.compile(rf"at least\s+{_NUMBER}"), lambda m: (m[0], None)),
)


def limits(criterion: CriterionJson) -> tuple[float | None, float | None]:
    """Low and high of a criterion in its printed unit: as given, else read from its text ("±100 ft", "+10/−0 kt")."""
    if criterion.low is not None or criterion.high is not None:
        return criterion.low, criterion.high
    for pattern, made in _LIMITS:
        match = pattern.search(criterion.limit)
        if match:
            numbers = [float(g.replace(",", "")) for g in match.groups()]
            return made(numbers)
    return None, None


def limit_ratio(criterion: CriterionJson) -> float | None:
    """How far the worst deviation lies from the middle of the limits, over half their width: 1 is at the limit.

    With +10/−0 kt the middle is +5: 1 kt slow is 1.2, 10 kt fast is 1.0. With one limit only it is the share of it.
    """
    low, high = limits(criterion)
    worst = criterion.worst
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
