"""What is known now: each quantity's last good value with its age and source; what is late, gone, absurd, in dispute.

Nothing is extrapolated: a value is shown as it came, with its age, grayed from `LATE_S` on and taken away at `GONE_S`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from airwork.airdata.geodesy import EARTH_M
from airwork.live.reading import Sample
from airwork.recording.quantities import QUANTITIES
from airwork.units import FT_M, KT_MPS

LATE_S, GONE_S = 2.0, 10.0
AGREES_S = 0.6  # a strange value is believed when it has stayed so for this long and three times
DISPUTE_S = 3.0  # sources must differ for so long before it is said
AGAIN_S = 60.0
# How fast a quantity may change at most, per second, for a light airplane with room to spare; faster is absurd.
FASTEST = {
    "indicated_altitude_m": 60.0, "gps_altitude_m": 60.0, "pressure_altitude_m": 60.0, "ias_mps": 25.0,
    "cas_mps": 25.0, "tas_mps": 25.0, "groundspeed_mps": 25.0,
}  # fmt: skip
SLACK = {"indicated_altitude_m": 30.0, "gps_altitude_m": 60.0, "pressure_altitude_m": 30.0}
MOST_JUMP_M, FASTEST_MPS = 300.0, 200.0
# How far two sources may differ before they disagree.
APART = {
    "indicated_altitude_m": 200 * FT_M, "gps_altitude_m": 300 * FT_M, "ias_mps": 10 * KT_MPS, "tas_mps": 15 * KT_MPS,
    "groundspeed_mps": 15 * KT_MPS, "track_rad": math.radians(20.0), "heading_mag_rad": math.radians(15.0),
    "heading_rad": math.radians(15.0), "bank_rad": math.radians(10.0), "rpm": 150.0,
}  # fmt: skip
APART_M = 1000.0  # positions
RANGES = {q.house: (q.low, q.high) for q in QUANTITIES.values() if q.house}
WORDS = {
    "latitude_rad": "position", "indicated_altitude_m": "altitude", "gps_altitude_m": "satellite altitude",
    "ias_mps": "airspeed", "tas_mps": "true airspeed", "cas_mps": "calibrated airspeed",
    "groundspeed_mps": "ground speed", "track_rad": "track", "heading_mag_rad": "heading",
    "heading_rad": "true heading",
    "bank_rad": "bank", "pitch_rad": "pitch", "rpm": "engine speed", "fuel_total_m3": "fuel", "oat_k": "temperature",
    "pressure_altitude_m": "pressure altitude",
}  # fmt: skip
WATCHED = ("latitude_rad", "indicated_altitude_m", "gps_altitude_m", "ias_mps")  # said when they go and come back

State = Literal["fresh", "late", "gone"]


def word(name: str) -> str:
    """A quantity as people say it."""
    return WORDS.get(name, name.rsplit("_", 1)[0].replace("_", " "))


@dataclass(frozen=True, slots=True)
class Reading:
    """A quantity now. age_s : since it was received; state : fresh, late (gray), gone (not to be used)."""

    value: float
    age_s: float
    state: State


@dataclass(frozen=True, slots=True)
class Event:
    """Something about the data that has to be said. kind : "gone", "back", "absurd", "dispute", "order"."""

    kind: str
    about: str
    text: str


@dataclass
class _Kept:
    value: float
    at_s: float
    source: str
    odd: list[tuple[float, float]] = field(default_factory=list)  # strange values waiting to be believed


@dataclass
class Watch:
    """The last good value of every quantity, by source and of the best source. Fed in the order of reception."""

    counts: dict[str, int] = field(default_factory=lambda: {"samples": 0, "absurd": 0})
    _by_source: dict[tuple[str, str], _Kept] = field(default_factory=dict)
    _sources: list[str] = field(default_factory=list)  # the first to bring a quantity is its best source
    _gone: set[str] = field(default_factory=set)
    _differ_since: dict[str, float] = field(default_factory=dict)
    _said: dict[str, float] = field(default_factory=dict)

    def take(self, sample: Sample) -> tuple[Mapping[str, float], list[Event]]:
        """The values that can be believed, and what has to be said of the others."""
        self.counts["samples"] += 1
        if sample.source not in self._sources:
            self._sources.append(sample.source)
        good: dict[str, float] = {}
        events: list[Event] = []
        moved = self._moved_absurdly(sample)
        for name, value in sample.values.items():
            low, high = RANGES.get(name, (-math.inf, math.inf))
            strange = not low <= value <= high or (moved and name in {"latitude_rad", "longitude_rad"})
            if self._believe(name, value, sample, strange):
                good[name] = value
            else:
                self.counts["absurd"] += 1
                events += self._once("absurd", name, sample.received_s, f"{word(name)} is absurd; not used")
        events += self._disputes(good, sample)
        return good, events

    def _believe(self, name: str, value: float, sample: Sample, strange: bool) -> bool:
        key, now = (name, sample.source), sample.received_s
        kept = self._by_source.get(key)
        low, high = RANGES.get(name, (-math.inf, math.inf))
        if not low <= value <= high or not math.isfinite(value):
            return False
        if kept is not None and not strange and name in FASTEST and now - kept.at_s < GONE_S:
            allowed = FASTEST[name] * max(now - kept.at_s, 0.1) + SLACK.get(name, 5.0)
            strange = abs(value - kept.value) > allowed
        if not strange or kept is None:
            self._by_source[key] = _Kept(value, now, sample.source)
            return True
        near = [o for o in kept.odd if abs(o[1] - value) <= SLACK.get(name, 5.0) + FASTEST.get(name, 1.0)]
        kept.odd = [*near, (now, value)][-8:]
        if len(kept.odd) >= 3 and now - kept.odd[0][0] >= AGREES_S:  # it has stayed there: moved, not absurd
            self._by_source[key] = _Kept(value, now, sample.source)
            return True
        return False

    def _moved_absurdly(self, sample: Sample) -> bool:
        """The position is farther off than it can have flown."""
        lat, lon = sample.values.get("latitude_rad"), sample.values.get("longitude_rad")
        kept, east = (self._by_source.get((n, sample.source)) for n in ("latitude_rad", "longitude_rad"))
        if lat is None or lon is None or kept is None or east is None or sample.received_s - kept.at_s > GONE_S:
            return False
        gone_m = EARTH_M * math.hypot(lat - kept.value, (lon - east.value) * math.cos(kept.value))
        return gone_m > MOST_JUMP_M + FASTEST_MPS * max(sample.received_s - kept.at_s, 0.0)

    def _disputes(self, good: Mapping[str, float], sample: Sample) -> list[Event]:
        events: list[Event] = []
        for name in good:
            if name not in APART and name != "latitude_rad":
                continue
            for other in self._sources:
                kept = self._by_source.get((name, other))
                if other == sample.source or kept is None or sample.received_s - kept.at_s > LATE_S:
                    continue
                if not self._apart(name, sample.source, other):
                    self._differ_since.pop(name, None)
                    continue
                since = self._differ_since.setdefault(name, sample.received_s)
                if sample.received_s - since >= DISPUTE_S:
                    text = f"{sample.source} and {other} disagree on {word(name)}; {self._best(name)} is shown"
                    events += self._once("dispute", name, sample.received_s, text)
        return events

    def _apart(self, name: str, one: str, other: str) -> bool:
        a, b = self._by_source.get((name, one)), self._by_source.get((name, other))
        if a is None or b is None:
            return False
        if name == "latitude_rad":
            x, y = self._by_source.get(("longitude_rad", one)), self._by_source.get(("longitude_rad", other))
            east = 0.0 if x is None or y is None else (x.value - y.value) * math.cos(a.value)
            return EARTH_M * math.hypot(a.value - b.value, east) > APART_M
        off = abs(a.value - b.value)
        if name.endswith("_rad"):
            off = abs((off + math.pi) % (2.0 * math.pi) - math.pi)
        return off > APART[name]

    def _best(self, name: str) -> str:
        return next((s for s in self._sources if (name, s) in self._by_source), "")

    def _once(self, kind: str, name: str, now_s: float, text: str) -> list[Event]:
        """The event, unless the same was said within a minute."""
        key = f"{kind} {word(name)}"
        if now_s - self._said.get(key, -math.inf) < AGAIN_S:
            return []
        self._said[key] = now_s
        return [Event(kind, name, text)]

    def get(self, name: str, now_s: float) -> Reading | None:
        """A quantity from the best source that still has it fresh, else the freshest; None when it never came."""
        kept = [k for s in self._sources if (k := self._by_source.get((name, s))) is not None]
        if not kept:
            return None
        best = next((k for k in kept if now_s - k.at_s <= LATE_S), max(kept, key=lambda k: k.at_s))
        age = max(now_s - best.at_s, 0.0)
        return Reading(best.value, age, "fresh" if age <= LATE_S else "late" if age <= GONE_S else "gone")

    def value(self, name: str, now_s: float) -> float:
        """A value that may be reckoned with: not older than `LATE_S`; NaN else."""
        found = self.get(name, now_s)
        return found.value if found is not None and found.state == "fresh" else math.nan

    def tick(self, now_s: float) -> list[Event]:
        """What has gone or come back since the last time."""
        events = []
        for name in WATCHED:
            found = self.get(name, now_s)
            if found is None:
                continue
            if found.state == "fresh" and name in self._gone:
                self._gone.discard(name)
                events.append(Event("back", name, f"{word(name)} is back"))
            elif found.state != "fresh" and name not in self._gone:
                self._gone.add(name)
                events.append(Event("gone", name, f"no {word(name)} for {found.age_s:.0f} s"))
        return events

    def names(self) -> set[str]:
        """Quantities that have come so far."""
        return {name for name, _ in self._by_source}
