"""Stuck sensors: a reading exactly constant while another column says the airplane moved. Proof, not suspicion.

A constant reading alone proves nothing (a simulator's level flight is constant); a contradiction does. Taken out:
the constant stretch becomes NaN, and the report says what contradicted it.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.airdata.geodesy import EARTH_M
from airwork.masks import runs
from airwork.recording.flight import Mend
from airwork.recording.recorded import Array, Recorded
from airwork.recording.smooth import unwrapped
from airwork.recording.time_base import typical_step_s
from airwork.recording.unit_evidence import resolution

_LEAST_S = 20.0  # shorter constant stretches are left alone
_HEIGHT_M = 45.0  # climbed or descended meanwhile
_SUSTAINED_S, _SUSTAINED_MPS = 40.0, 2.0  # climbed or descended at more than 400 fpm
_SPEED_MPS, _STRAIGHT_RAD = 10.0, 0.2  # turned no more, 50 m/s of wind change the ground speed by less
_LEAP_S = 2.0
_ALIVE_MPS = 20.6  # 40 kt: below, an airspeed may rest on its least reading; common practice, no source
_STANDS_MPS, _SLOWED_MPS = 1.0, 25.0  # no wind alone takes 50 kt of it away at one reading
_TURN_RAD = 1.05
_MOVED_MPS = 15.0

Test = Callable[[dict[str, Array], Array, slice], str]


def without_stuck(recorded: Recorded) -> None:
    """Take out contradicted constant stretches, in place."""
    t = recorded.time_s
    columns = recorded.columns
    for name, test in _TESTS.items():
        values = columns.get(name)
        if values is None or values.size < 10:
            continue
        found: list[tuple[int, int, str]] = []
        for a, b in _constant(values, t):
            if why := test(columns, t, slice(a, b)):
                found.append((a, b, why))
        if not found:
            continue
        out = values.copy()
        for why in dict.fromkeys(f[2] for f in found):
            parts = [(a, b) for a, b, w in found if w == why]
            long = sorted(t[b - 1] - t[a] for a, b in parts)
            times = f"{long[0]:.0f} s" if len(parts) == 1 else f"{long[0]:.0f} to {long[-1]:.0f} s, {len(parts)} times,"
            for a, b in parts:
                out[a + (name == "latitude_rad") : b] = np.nan  # the fix itself was right when it came
            first, last = t[parts[0][0]] - t[0], t[parts[-1][1] - 1] - t[0]
            taken = sum(b - a for a, b in parts)
            recorded.mends.append(Mend(f"stuck for {times} while {why}; taken out", taken, first, last, name))
        columns[name] = out


def _constant(values: Array, t: Array) -> list[tuple[int, int]]:
    same = np.zeros(values.size + 1, dtype=bool)
    np.equal(values[1:], values[:-1], out=same[1:-1])
    if np.count_nonzero(same) * typical_step_s(t[:200]) < 0.5 * _LEAST_S:
        return []
    starts = np.flatnonzero(same[1:] & ~same[:-1])
    ends = np.flatnonzero(same[:-1] & ~same[1:]) + 1
    long = np.flatnonzero(t[ends - 1] - t[starts] > _LEAST_S)
    return [(int(starts[k]), int(ends[k])) for k in long[:500] if np.isfinite(values[starts[k]])]


def _span(columns: dict[str, Array], name: str, part: slice) -> float:
    values = columns.get(name)
    if values is None:
        return 0.0
    known = values[part][np.isfinite(values[part])]
    return float(np.ptp(known)) if known.size > 3 else 0.0


def _turned(columns: dict[str, Array], part: slice, *names: str) -> float:
    """How far the first known of these directions turned; NaN where none is known. [rad]"""
    for name in names:
        values = columns.get(name)
        if values is not None and np.isfinite(values[part]).sum() > 3:
            known = values[part][np.isfinite(values[part])]
            speed = columns.get("groundspeed_mps")
            if name == "track_rad" and (speed is None or not np.nanmin(speed[part], initial=99.0) > 15.0):
                continue
            return float(np.ptp(unwrapped(known)))
    return float("nan")


def _height(other: tuple[str, ...]) -> Test:
    def test(columns: dict[str, Array], t: Array, part: slice) -> str:
        for name in other:
            if _span(columns, name, part) > _HEIGHT_M:
                return "another altitude changed by more than 150 ft"
        rate = columns.get("vertical_speed_mps")
        if rate is not None and _sustained(rate[part], t[part]):
            return "the vertical speed showed a climb or descent"
        return ""

    return test


def _sustained(rate: Array, t: Array) -> bool:
    """A climb or descent held for a while: cruise with a vertical speed in coarse steps or a little off is none."""
    known = np.where(np.isfinite(rate), rate, 0.0)
    step = max(typical_step_s(t), 1e-3)
    width = max(round(_SUSTAINED_S / step), 2)
    if known.size < width:
        return False
    total = np.concatenate(([0.0], np.cumsum(known)))
    mean = (total[width:] - total[:-width]) / width
    least = max(_SUSTAINED_MPS, 2.0 * resolution(rate))
    return float(np.abs(mean).max()) > least and float(np.abs(mean).max()) * _SUSTAINED_S > 2.0 * _HEIGHT_M


def _airspeed(name: str) -> Test:
    def test(columns: dict[str, Array], t: Array, part: slice) -> str:
        speed = columns.get("groundspeed_mps")
        if speed is None:
            return ""
        if columns[name][part][0] <= _ALIVE_MPS:
            speed = np.maximum(speed, _ALIVE_MPS)
        stands = runs(np.nan_to_num(speed[part], nan=np.inf) < _STANDS_MPS)
        if _span(columns | {"s": speed}, "s", part) > _SLOWED_MPS and any(
            t[part][b - 1] - t[part][a] > _LEAST_S for a, b in stands
        ):
            return "it slowed to a stand"
        living = {**columns, "groundspeed_mps": _without_leaps(speed[part], t[part])}
        width = max(round(_SUSTAINED_S / max(typical_step_s(t), 1e-3)), 4)
        for at in range(0, max(part.stop - part.start - width // 2, 1), width // 2):
            here = slice(part.start + at, min(part.start + at + width, part.stop))
            if _span(living, "groundspeed_mps", slice(at, at + width)) <= _SPEED_MPS:
                continue
            if _turned(columns, here, "track_rad", "heading_mag_rad", "heading_rad") < _STRAIGHT_RAD:  # false for NaN
                return "the ground speed changed on a straight track"
        return ""

    return test


def _without_leaps(speed: Array, t: Array) -> Array:
    """Without changes no airplane makes in a moment: a ground speed that was itself stuck and caught up."""
    known = np.flatnonzero(np.isfinite(speed))
    steps = np.diff(speed[known])
    leap = (np.abs(steps) > 0.5 * _SPEED_MPS) & (np.diff(t[known]) < _LEAP_S)
    out = speed.copy()
    out[known[1:]] -= np.cumsum(np.where(leap, steps, 0.0))
    return out


def _heading(columns: dict[str, Array], t: Array, part: slice) -> str:
    return "the track turned" if _turned(columns, part, "track_rad") > _TURN_RAD else ""


def _track(columns: dict[str, Array], t: Array, part: slice) -> str:
    turned = _turned(columns, part, "heading_mag_rad", "heading_rad")
    speed = columns.get("groundspeed_mps")
    moving = speed is not None and float(np.nanmin(speed[part], initial=99.0)) > 15.0
    return "the heading turned" if moving and turned > _TURN_RAD else ""


def _bank(columns: dict[str, Array], t: Array, part: slice) -> str:
    speed = next((columns[n] for n in ("tas_mps", "ias_mps", "groundspeed_mps") if n in columns), None)
    if speed is None:
        return ""
    v = float(np.nanmedian(speed[part])) if np.isfinite(speed[part]).any() else 0.0
    if v < 20.0:
        return ""
    expected = abs(G0_MPS2 * np.tan(columns["bank_rad"][part][0]) / v) * float(t[part][-1] - t[part][0])
    turned = _turned(columns, part, "heading_mag_rad", "heading_rad", "track_rad")
    return "the heading says otherwise" if abs(turned - expected) > max(1.5, 0.6 * expected) else ""


def _position(columns: dict[str, Array], t: Array, part: slice) -> str:
    lat, lon = columns["latitude_rad"], columns.get("longitude_rad")
    if lon is None or _span(columns, "longitude_rad", part) > 0.0:
        return ""  # along a parallel the latitude alone stands
    known = np.flatnonzero(np.isfinite(lat[part.stop :]) & np.isfinite(lon[part.stop :]))
    if known.size:
        at, last = part.stop + int(known[0]), part.stop - 1
        away = math.hypot(lat[at] - lat[last], (lon[at] - lon[last]) * math.cos(lat[at])) * EARTH_M
        if away > _MOVED_MPS * float(t[at] - t[part.start]):
            return "the next fix lies as far away as flight takes one"
    speed = columns.get("groundspeed_mps")
    if speed is None or not np.isfinite(speed[part]).any():
        return ""
    return "the ground speed showed motion" if float(np.nanmedian(speed[part])) > _MOVED_MPS else ""


_TESTS: dict[str, Test] = {
    "latitude_rad": _position,
    "indicated_altitude_m": _height(("gps_altitude_m", "pressure_altitude_m")),
    "pressure_altitude_m": _height(("gps_altitude_m", "indicated_altitude_m")),
    "gps_altitude_m": _height(("indicated_altitude_m", "pressure_altitude_m")),
    "ias_mps": _airspeed("ias_mps"),
    "cas_mps": _airspeed("cas_mps"),
    "tas_mps": _airspeed("tas_mps"),
    "heading_mag_rad": _heading,
    "heading_rad": _heading,
    "track_rad": _track,
    "bank_rad": _bank,
}
