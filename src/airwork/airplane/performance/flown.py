"""What short windows of one flight say of the airplane: rows of an energy balance, and the flight they come from. SI.

One row is a window of some 16 seconds: the rate of the energy height, and the conditions and the power that made it.
Rows are kept with the airplane (`knowledge.py`), so that a new handbook table or a better law can be fitted to flights
flown long ago.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from airwork.airplane.performance.state import Array

WINDOW_S = 16
POWERED, GLIDE, FULL_CLIMB = 0, 1, 2
WeightFrom = Literal["lesson", "typed", "unknown"]
# One standard deviation of the weight at the start, each flight by itself: of a lesson's loading (seat by seat), noted
# alone (people, bags and fuel are guessed, by the pound whatever the airplane weighs; common practice, no source), or
# not noted at all, as a share
LESSON_SD_KG, NOTED_SD_KG, UNKNOWN_SD = 8.0, 15.0, 0.06
TRACE_STEP_S = 20.0
# Two recordings of one flight differ by a half step of the trace, a recorder's rounding and its lag
_SAME_ALTITUDE_M, _SAME_SPEED_MPS, _SAME_SHARE, _LEAST_TRACE = 20.0, 2.5, 0.8, 12
_SAME_SLOPE = 0.12  # heights by satellite over pressure altitude on a warm or cold day
_DIGITS = {
    "time_s": 0, "tas_mps": 3, "cas_mps": 3, "density_kgpm3": 5, "load_factor": 4, "notch": 0, "burned_kg": 2,
    "altitude_m": 1, "temperature_k": 1, "rpm": 1, "pressure_pa": 0, "rate_mps": 4, "kind": 0,
    "flow_m3ps": 10, "guessed": 0,
}  # fmt: skip


@dataclass(frozen=True)
class Rows:
    """Windows of one flight; arrays of one length. Not compared (arrays).

    time_s : middle of the window from the recording's first sample.
    load_factor : root mean square, since induced drag grows by the square.
    burned_kg : fuel burned since the start.
    rpm : root mean square [rev/min]. pressure_pa : manifold pressure, NaN where there is none.
    rate_mps : rate of the energy height, h·T/T_std + v²/2g.
    kind : `POWERED`, `GLIDE` (throttle closed), or `FULL_CLIMB`: no RPM is known, taken for full throttle.
    flow_m3ps : fuel flow as recorded, NaN where not.
    guessed : 1 where the flap notch was inferred, not recorded.
    """

    time_s: Array
    tas_mps: Array
    cas_mps: Array
    density_kgpm3: Array
    load_factor: Array
    notch: NDArray[np.int64]
    burned_kg: Array
    altitude_m: Array
    temperature_k: Array
    rpm: Array
    pressure_pa: Array
    rate_mps: Array
    kind: NDArray[np.int64]
    flow_m3ps: Array
    guessed: NDArray[np.int64]

    def __len__(self) -> int:
        return int(self.time_s.size)

    def take(self, keep: NDArray[np.bool_] | NDArray[np.int64]) -> Rows:
        """The rows at these indices or where the mask holds."""
        return Rows(**{f.name: getattr(self, f.name)[keep] for f in fields(self)})

    def as_lists(self) -> dict[str, list[float | None]]:
        """Plain numbers, rounded as far as they can matter."""
        out: dict[str, list[float | None]] = {}
        for f in fields(self):
            digits = _DIGITS[f.name]
            values = getattr(self, f.name).tolist()
            out[f.name] = [None if v != v else (int(v) if digits == 0 else round(v, digits)) for v in values]
        return out

    @classmethod
    def from_lists(cls, data: dict[str, Any]) -> Rows:
        found: dict[str, Any] = {}
        for f in fields(cls):
            if f.name in {"notch", "kind", "guessed"}:
                found[f.name] = np.array(data[f.name], dtype=np.int64)
            else:
                found[f.name] = np.array([np.nan if v is None else v for v in data[f.name]], dtype=float)
        return cls(**found)


@dataclass(frozen=True)
class Trace:
    """Pressure altitude and airspeed every 20 s: tells two recordings of one flight from two flights.

    start_utc_s : time of the first value; NaN when the recording names no date. altitude_m, speed_mps : NaN in gaps.
    """

    start_utc_s: float
    altitude_m: Array
    speed_mps: Array

    @property
    def end_utc_s(self) -> float:
        """Time of the last value."""
        return self.start_utc_s + TRACE_STEP_S * (self.altitude_m.size - 1)


@dataclass(frozen=True)
class Flown:
    """One flight's rows and what is known of its weight.

    key : digest of the recording. name : of its file. date : flown on, ISO, or empty.
    mass_kg : at the start, noted or assumed.
    """

    key: str
    name: str
    date: str
    mass_kg: float
    weight_from: WeightFrom
    rows: Rows
    trace: Trace

    @property
    def mass_sd(self) -> float:
        """One standard deviation of the weight, as a share of it."""
        if self.weight_from == "unknown":
            return UNKNOWN_SD
        return (LESSON_SD_KG if self.weight_from == "lesson" else NOTED_SD_KG) / self.mass_kg

    @property
    def without_rpm(self) -> bool:
        """Only its climbs are known, by position alone."""
        return len(self.rows) > 0 and bool((self.rows.kind == FULL_CLIMB).all())


def same_flight(a: Flown, b: Flown) -> bool:
    """Were both recorded on one flight, whatever the file, rate or format?"""
    if a.key == b.key:
        return True
    one, two = a.trace, b.trace
    if np.isfinite(one.start_utc_s) and np.isfinite(two.start_utc_s):
        both = min(one.end_utc_s, two.end_utc_s) - max(one.start_utc_s, two.start_utc_s)
        shorter = min(one.end_utc_s - one.start_utc_s, two.end_utc_s - two.start_utc_s)
        if both < 0.5 * shorter:
            return False  # one airplane is not flown twice at once
        if _same_heights(one, two):
            return True
    return _alike(one, two)


def _same_heights(one: Trace, two: Trace) -> bool:
    """Do the heights go together second by second? By satellite they differ from pressure altitude by a straight line,
    and the ground speed from the airspeed by any wind, so that neither need agree."""
    shift = round((one.start_utc_s - two.start_utc_s) / TRACE_STEP_S)
    index = np.arange(one.altitude_m.size)
    inside = (index + shift >= 0) & (index + shift < two.altitude_m.size)
    a, b = one.altitude_m[inside], two.altitude_m[(index + shift)[inside]]
    known = np.isfinite(a) & np.isfinite(b)
    a, b = a[known], b[known]
    if a.size < _LEAST_TRACE or float(np.std(a)) < 2.0 * _SAME_ALTITUDE_M:
        return False
    slope, start = np.polyfit(a, b, 1)
    off = np.abs(b - slope * a - start)
    return bool(abs(slope - 1.0) < _SAME_SLOPE and np.mean(off < _SAME_ALTITUDE_M) > _SAME_SHARE)


def _alike(one: Trace, two: Trace) -> bool:
    """Do the traces agree over most of the shorter one, at some shift?"""
    if one.altitude_m.size > two.altitude_m.size:
        one, two = two, one
    n = one.altitude_m.size
    if n < _LEAST_TRACE:
        return False
    for shift in range(-(n // 3), two.altitude_m.size - n + n // 3 + 1):
        low, high = max(0, -shift), min(n, two.altitude_m.size - shift)
        if high - low < max(_LEAST_TRACE, 0.6 * n):
            continue
        climb = np.abs(one.altitude_m[low:high] - two.altitude_m[low + shift : high + shift])
        speed = np.abs(one.speed_mps[low:high] - two.speed_mps[low + shift : high + shift])
        near = (climb < _SAME_ALTITUDE_M) & (speed < _SAME_SPEED_MPS)
        known = np.isfinite(climb) & np.isfinite(speed)
        changing = float(np.nanstd(one.altitude_m[low:high])) > _SAME_ALTITUDE_M
        if changing and known.sum() >= _LEAST_TRACE and near.sum() > _SAME_SHARE * known.sum():
            return True
    return False
