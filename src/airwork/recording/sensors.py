"""Sensors cleaned: impossible values, spikes, drop-outs, stuck sensors, slow sensors in fast rows. Nothing silently.

A reading is taken away only for a stated physical reason; what is taken away becomes NaN, and gaps of up to two seconds
are bridged by a straight line. Thresholds are those of a light airplane flown by hand, wide on
purpose (our own choice).
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.geodesy import EARTH_M, way_m
from airwork.recording.quantities import QUANTITIES
from airwork.recording.recorded import Array, Recorded
from airwork.recording.smooth import filled, unwrapped
from airwork.recording.stuck import without_stuck
from airwork.recording.time_base import typical_step_s
from airwork.units import to_unit

BRIDGE_S = 2.0  # gaps up to this are bridged
_SPIKE_S = 2.0  # an excursion that comes back within this is a spike
_DROPOUT_S = 120.0  # one to exactly zero, or to a constant, within this
_BREAK_M, _BREAK_MPS, _OFTEN, _BESIDE_S = 25.0, 20.0, 0.2, (3.0, 10.0)  # nothing light climbs or dives so
_MAX_JUMPS = 20_000
_MOSTLY_IMPOSSIBLE = 0.2  # a column with more such values isn't what it is called
_POSITIONS = ("latitude_rad", "longitude_rad")
_SLOWEST_RPM = 200.0

_RANGE = {q.house: (q.low, q.high) for q in QUANTITIES.values() if q.house and math.isfinite(q.high)}
_CIRCULAR = {q.house for q in QUANTITIES.values() if q.circular and q.house}
_DIRECTIONS = _CIRCULAR - {"longitude_rad", "bank_rad", "pitch_rad"}
# house column: (jump no light airplane makes at once, and per second more)
_JUMP: dict[str, tuple[float, float]] = {
    "latitude_rad": (60.0 / EARTH_M, 120.0 / EARTH_M),
    "longitude_rad": (60.0 / EARTH_M, 120.0 / EARTH_M),  # widened by 1/cos latitude below
    "gps_altitude_m": (25.0, 60.0),
    "indicated_altitude_m": (20.0, 60.0),
    "pressure_altitude_m": (20.0, 60.0),
    "agl_m": (40.0, 120.0),
    "ias_mps": (7.0, 12.0),
    "cas_mps": (7.0, 12.0),
    "tas_mps": (7.0, 12.0),
    "groundspeed_mps": (6.0, 12.0),
    "vertical_speed_mps": (10.0, 20.0),
    "pitch_rad": (0.3, 1.5),
    "bank_rad": (0.5, 2.5),
    "heading_mag_rad": (0.4, 1.2),
    "heading_rad": (0.4, 1.2),
    "track_rad": (0.5, 1.5),
    "load_factor": (1.5, 6.0),
    "oat_k": (4.0, 1.0),
    "egt_k": (80.0, 80.0),
    "cht_k": (30.0, 15.0),
}


def clean_sensors(recorded: Recorded) -> None:
    """Clean every column in place and report."""
    _no_position(recorded)
    for name in list(recorded.columns):
        values = _impossible(recorded, name)
        if name == "longitude_rad":  # across the 180th meridian it goes on; `derive` puts it back within ±180°
            values = unwrapped(values)
        if name in _JUMP:
            values = _without_spikes(recorded, name, values)
        recorded.columns[name] = values
    for name, values in recorded.extra.items():
        what = QUANTITIES.get(name)
        if what is not None and math.isfinite(what.high):
            recorded.extra[name] = np.where((values >= what.low) & (values <= what.high), values, np.nan)
    _broken_height(recorded)
    _stale_fixes(recorded)
    _held_positions(recorded)
    _held_velocity(recorded)
    without_stuck(recorded)
    _bridge(recorded)
    for name in [n for n, v in recorded.columns.items() if not np.isfinite(v).any()]:
        del recorded.columns[name]


def _broken_height(recorded: Recorded) -> None:
    """A receiver's height that breaks again and again by what nothing flies: left out from the first to the last."""
    values = recorded.columns.get("gps_altitude_m")
    known = np.flatnonzero(np.isfinite(values)) if values is not None else np.zeros(0, int)
    t = recorded.time_s[known]
    if values is None or known.size < 3:
        return
    step = np.abs(np.diff(values[known]))
    large = step > _BREAK_M + _BREAK_MPS * np.minimum(np.diff(t), 5.0)
    beside = np.concatenate(([False], large, [False]))
    breaks = t[1:][large & ~beside[:-2] & ~beside[2:]]  # a fall that goes on is a jump with a parachute
    if breaks.size < 2 or breaks.size > _OFTEN * known.size:
        return
    bad = np.zeros(values.size, dtype=bool)
    for begin, end in pairwise(breaks):
        if end - begin < _DROPOUT_S:
            bad |= (recorded.time_s > begin - _BESIDE_S[0]) & (recorded.time_s < end + _BESIDE_S[1])
    bad &= np.isfinite(values)
    most = round(to_unit(float(step.max()), "ft"), -1)
    said = f"the receiver's height breaks by up to {most:,.0f} ft from row to row; left out"
    recorded.say(said, bad, "gps_altitude_m")
    recorded.columns["gps_altitude_m"] = np.where(bad, np.nan, values)


def _no_position(recorded: Recorded) -> None:
    """Receivers without a fix write latitude and longitude 0."""
    lat, lon = recorded.columns.get("latitude_rad"), recorded.columns.get("longitude_rad")
    if lat is None or lon is None:
        return
    none = (lat == 0.0) & (lon == 0.0)
    half = np.isnan(lat) != np.isnan(lon)
    if none.any() or half.any():
        bad = none | half
        recorded.columns["latitude_rad"] = np.where(bad, np.nan, lat)
        recorded.columns["longitude_rad"] = np.where(bad, np.nan, lon)
        recorded.say("rows without a position fix", bad, "latitude_rad")
        for name in recorded.columns.keys() & {"gps_altitude_m", "groundspeed_mps", "track_rad"}:
            values = recorded.columns[name]
            recorded.columns[name] = np.where(none & (values == 0.0), np.nan, values)


def _impossible(recorded: Recorded, name: str) -> Array:
    values = recorded.columns[name]
    if name == "rpm" and 0.0 < np.nanmax(values, initial=0.0) < _SLOWEST_RPM:
        recorded.say(f"set aside: never above {_SLOWEST_RPM:.0f} rpm, slower than any engine runs", values.size, name)
        return np.full(values.shape, np.nan)
    low, high = _RANGE.get(name, (-math.inf, math.inf))
    with np.errstate(invalid="ignore"):
        if values.min(initial=high) >= low and values.max(initial=low) <= high:
            return values
        bad = ~((values >= low) & (values <= high)) & ~np.isnan(values)
    if not bad.any():
        return values
    if name == "ias_mps" and values[bad].min() > -5.0 and values[bad].max() <= 0.0:
        if values[bad].min() < -1.0:
            recorded.say("less than nought while it stands, taken as 0", bad, name)
        return np.where(bad, 0.0, values)  # a pressure sensor at rest wavers about nought
    share = float(bad.sum() / max(np.isfinite(values).sum(), 1))
    if share > _MOSTLY_IMPOSSIBLE and name not in _POSITIONS:
        recorded.say(f"set aside: {100 * share:.0f} % of its values are impossible", bad, name)
        return np.full(values.shape, np.nan)
    recorded.say("impossible values taken out", bad, name)
    return np.where(bad, np.nan, values)


def _without_spikes(recorded: Recorded, name: str, values: Array) -> Array:
    good = np.isfinite(values)
    whole = bool(good.all())
    x = values if whole else values[good]
    if x.size < 4:
        return values
    t = recorded.time_s if whole else recorded.time_s[good]
    once, per_second = _JUMP[name]
    lat = recorded.columns.get("latitude_rad")
    if name == "longitude_rad" and lat is not None and np.isfinite(lat).any():
        once, per_second = (v / max(math.cos(float(np.nanmedian(lat))), 0.05) for v in (once, per_second))
    step = np.diff(x)
    if name in _CIRCULAR or name in {"bank_rad", "longitude_rad"}:
        turn = 2.0 * math.pi
        if np.abs(step).max(initial=0.0) > math.pi:
            step = step - turn * np.round(step / turn)
    size = np.abs(step)
    jumps = np.flatnonzero(size > once)
    if jumps.size:
        longest = max(5.0, 1.5 * typical_step_s(t))
        jumps = jumps[size[jumps] > once + per_second * np.minimum(t[jumps + 1] - t[jumps], longest)]
    if not jumps.size or jumps.size > _MAX_JUMPS:
        return values
    bad = _paired(x, t, step, jumps, once)
    if name in _DIRECTIONS and x[0] == 0.0 and not x[: jumps[0] + 1].any():
        bad[: jumps[0] + 1] = True  # nought until it knows better
    if not bad.any():
        return values
    marked = bad if whole else np.zeros(values.size, dtype=bool)
    if not whole:
        marked[np.flatnonzero(good)[bad]] = True
    recorded.say("spikes and drop-outs taken out", marked, name)
    return np.where(marked, np.nan, values)


def _paired(x: Array, t: Array, step: Array, jumps: NDArray[np.intp], once: float) -> NDArray[np.bool_]:
    """Samples between a jump away and the jump back."""
    bad = np.zeros(x.size, dtype=bool)
    row_s = typical_step_s(t)
    short = max(_SPIKE_S, 3.5 * row_s)
    i = 0
    while i < jumps.size:
        a = int(jumps[i])
        for j in range(i + 1, min(i + 8, jumps.size)):
            b = int(jumps[j])
            if step[a] * step[b] >= 0:
                continue
            back = abs(float(np.sum(step[a : b + 1])))
            lasted = t[b] - t[a]
            if back > max(once, 0.35 * abs(float(step[a]))):
                continue
            dead = bool(np.all(x[a + 1 : b + 1] == x[a + 1]))  # to a constant: a drop-out may last longer
            if lasted <= short or (dead and x[a + 1] == 0.0 and lasted <= _DROPOUT_S):
                bad[a + 1 : b + 1] = True
                i = j
                break
        i += 1
    return bad


# ---- slow sensors in fast rows


def _stale_fixes(recorded: Recorded) -> None:
    """Fixes of another moment, before the first true one or behind a halt that wasn't: the receiver held its place.

    A leap at the very beginning (a device that woke) or end leaves what lies before or behind it out. In flight it
    held where the way over the halt and the leap behind it is covered at the speed before and after.
    """
    lat, lon = recorded.columns.get("latitude_rad"), recorded.columns.get("longitude_rad")
    if lat is None or lon is None:
        return
    at = np.flatnonzero(np.isfinite(lat) & np.isfinite(lon))
    if at.size < _FEW_FIXES:
        return
    t = recorded.time_s[at]
    way, step = way_m(lat[at], lon[at]), np.diff(t)
    speed = way / step
    fast = float(np.percentile(speed, 90.0))
    bad = np.zeros(at.size, dtype=bool)
    leaps = np.flatnonzero((speed > max(_LEAP * fast, fast + _LEAP_MPS)) & (way > _LEAP_M))
    if leaps.size <= _OFTEN * _FEW_FIXES:
        early, late = leaps[t[leaps + 1] - t[0] < _WAKES_S], leaps[t[-1] - t[leaps] < _WAKES_S]
        bad[: early.max(initial=-1) + 1] = True
        bad[late.min(initial=at.size) + 1 :] = True
    halts = np.flatnonzero(way == 0.0)
    for run in np.split(halts, np.flatnonzero(np.diff(halts) > 1) + 1) if halts.size < _OFTEN_HELD * at.size else ():
        first, last = int(run[0]) if run.size else 0, int(run[-1]) + 1 if run.size else 0  # the fix held, its last copy
        if first < _BESIDE or last > at.size - 1 - _BESIDE or t[last] - t[first] > _MESSAGE_S:
            continue  # a longer one: `stuck`
        beside = np.concatenate([speed[first - _BESIDE : first], speed[last + 1 : last + 1 + _BESIDE]])
        usual = float(np.median(beside))
        pace = float(way[last]) / float(t[last + 1] - t[first])
        if np.sort(beside)[1] > _MOVES_MPS and _PACE[0] * usual < pace < _PACE[1] * usual:
            bad[first + 1 : last + 1] = True
    if not bad.any() or bad.mean() > _OFTEN_HELD:
        return
    rows = np.zeros(lat.size, dtype=bool)
    rows[at[bad]] = True
    recorded.say("the receiver held its place, or told one of another moment; left out", rows, "latitude_rad")
    for name in recorded.columns.keys() & {*_POSITIONS, "gps_altitude_m", "groundspeed_mps", "track_rad"}:
        recorded.columns[name] = np.where(rows, np.nan, recorded.columns[name])


_FEW_FIXES, _OFTEN_HELD, _BESIDE, _WAKES_S = 20, 0.4, 3, 30.0
_LEAP, _LEAP_MPS, _LEAP_M = 3.0, 60.0, 150.0  # over the speed flown
_MOVES_MPS, _PACE = 8.0, (0.6, 1.6)


_LONG_HELD = 4.0  # rows, where only two new fixes show it


def _held_positions(recorded: Recorded) -> None:
    """Positions repeated over several rows (a 1 Hz receiver in 10 Hz rows; 1 Hz that is really 0.5 Hz).

    Only the row that brings a new position keeps it; the rows between get a straight line, as do speed, track and
    satellite altitude where they change with it.
    """
    lat, lon = recorded.columns.get("latitude_rad"), recorded.columns.get("longitude_rad")
    if lat is None or lon is None or lat.size < 10:
        return
    t = recorded.time_s
    changed = np.concatenate(([True], (np.diff(lat) != 0.0) | (np.diff(lon) != 0.0)))
    if changed.mean() > 0.9:
        return
    at = np.flatnonzero(changed & np.isfinite(lat))
    if at.size < 3:
        return
    run = np.diff(at)
    away = np.hypot(np.diff(lat[at]), np.diff(lon[at]) * math.cos(float(np.nanmedian(lat)))) * EARTH_M
    span = np.diff(t[at])
    moving = away > 8.0 * span
    if moving.sum() < 2 or float(np.median(run[moving])) < (1.5 if moving.sum() > 2 else _LONG_HELD):
        return
    every = float(np.median(span[moving]))
    said = f"positions come every {every:.2g} s in rows of {typical_step_s(t):.2g} s; drawn straight between them"
    recorded.say(said, int((~changed).sum()), "latitude_rad")
    recorded.facts["position_step_s"] = every
    limit = 3.0 * every
    for name in ("latitude_rad", "longitude_rad", "gps_altitude_m", "groundspeed_mps", "track_rad"):
        values = recorded.columns.get(name)
        if values is None:
            continue
        own = np.flatnonzero(np.diff(values) != 0.0) + 1
        if name not in {"latitude_rad", "longitude_rad"} and (own.size == 0 or changed[own].mean() < 0.9):
            continue
        sparse = np.full(values.size, np.nan)
        sparse[at] = unwrapped(values[at]) if name in _CIRCULAR else values[at]
        recorded.columns[name], _ = filled(t, sparse, limit)
        recorded.columns[name] = _parked(recorded.columns[name], values, at, t, limit)


def _held_velocity(recorded: Recorded) -> None:
    """Speed and track of one message repeated in the rows until the next: straight lines between the messages.

    Both with decimals and the same to the last digit are no steady flight.
    """
    speed, track = recorded.columns.get("groundspeed_mps"), recorded.columns.get("track_rad")
    if speed is None or track is None or "position_step_s" in recorded.facts:
        return
    new = np.concatenate(([True], (np.diff(speed) != 0.0) | (np.diff(track) != 0.0)))
    known = np.isfinite(speed) & np.isfinite(track)
    new &= known
    degrees = np.degrees(track[new])
    in_parts = float(np.mean(np.abs(degrees - np.round(degrees)) > _WHOLE_DEG)) if degrees.size else 0.0
    moving = float(np.mean(speed > _MOVES_MPS))
    if in_parts < 1.0 - _OFTEN_HELD or not _HELD[0] < float(new[known].mean()) < _HELD[1] or moving < _OFTEN_HELD:
        return
    at, t = np.flatnonzero(new), recorded.time_s
    rows = np.diff(at)
    repeats = (rows - 1)[rows > 1]
    if float(repeats[np.diff(t[at])[rows > 1] <= _MESSAGE_S].sum()) < (1.0 - 0.5 * _OFTEN_HELD) * repeats.sum():
        return  # a simulator's steady legs
    for name, values in (("groundspeed_mps", speed), ("track_rad", unwrapped(track))):
        sparse = np.full(values.size, np.nan)
        sparse[at] = values[at]
        line, _ = filled(t, sparse, _MESSAGE_S)
        line = np.where(np.isnan(line), values, line)
        recorded.columns[name] = np.mod(line, 2.0 * math.pi) if name == "track_rad" else line
    said = "speed and track repeat a message until the next; drawn straight between them"
    recorded.say(said, int((known & ~new).sum()), "track_rad")


_WHOLE_DEG, _HELD, _MESSAGE_S = 0.01, (0.1, 0.9), 10.0


def _parked(line: Array, held: Array, at: NDArray[np.intp], t: Array, limit: float) -> Array:
    """Where the position stood still for longer than the limit it was simply parked: the held value is right."""
    missing = np.isnan(line) & np.isfinite(held)
    return np.where(missing, held, line) if missing.any() else line


def _bridge(recorded: Recorded) -> None:
    """Straight lines over gaps of up to `BRIDGE_S`, and over the rows between readings of a slower sensor."""
    t = recorded.time_s
    step = typical_step_s(t)
    for name, values in recorded.columns.items():
        good = np.isfinite(values)
        if good.all() or not good.any():
            continue
        at = t[good]
        own = typical_step_s(at)
        slow = own > 1.5 * step
        if name in {"tank", "flap_notch", "gear_down", "stall_warning", "on_ground", "flap_deg"}:
            recorded.columns[name] = _held(t, values, max(BRIDGE_S, 3.0 * own))
            continue
        x = unwrapped(values) if name in _CIRCULAR else values
        out, count = filled(t, x, max(BRIDGE_S, 2.5 * own if slow else 2.5 * step))
        if count:
            recorded.columns[name] = np.mod(out, 2.0 * math.pi) if name in _DIRECTIONS else out
            word = f"readings come every {own:.2g} s; drawn straight between them" if slow else "short gaps bridged"
            recorded.say(word, np.isfinite(out) & np.isnan(values), name)


def _held(t: Array, values: Array, longest_s: float) -> Array:
    """A switch keeps its last position between readings."""
    good = np.isfinite(values)
    last = np.maximum.accumulate(np.where(good, np.arange(values.size), -1))
    use = (~good) & (last >= 0)
    use &= (t - t[np.maximum(last, 0)]) <= longest_s
    out = values.copy()
    out[use] = values[last[use]]
    return out
