"""Heights and climbs that contradict the way flown: a vertical speed of another thing, leaps, noughts in flight.

Common practice, no source; limits are wide.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from airwork.masks import runs
from airwork.recording.recorded import FLYING_MPS, FROM_START, Array, Recorded
from airwork.recording.smooth import slow_rate
from airwork.recording.time_base import typical_step_s
from airwork.units import to_unit

_FEW = 15  # samples a second apart
_CLIMB_S, _CLIMB_OFF_MPS, _CLIMB_OFF = 30.0, 0.8, 0.7  # 160 fpm in half a minute, for half of the flight
_WHOLE = 0.01  # of a gap in it
# A leap: faster than this, than it ever moves over the ground; readings on both sides; so far; and how long it takes.
_LEAPS_MPS, _STEEPER, _BESIDE, _LEAP_M, _SETTLES_S = 25.0, 1.2, 5, 60.0, 15.0
_MARK_M, _RATE_S, _RATES_MPS = 20.0, 20.0, (2.0, 6.0)  # a height beside 0; how it climbs or sinks there
_KEEPS = 0.92  # of its speed: not yet on its wheels
# Of a recorded height above ground: on the wheels, a roll's length, speed and least change of it.
_ON_WHEELS_M, _LONGEST_ROLL_M, _NO_WHEELS_MPS, _SHORT_S, _STEADY_S, _STEADY_MPS2 = 2.5, 2_500.0, 41.0, 3.0, 6.0, 0.3
HEIGHT_WORDS = {
    "gps_altitude_m": "altitude",
    "indicated_altitude_m": "altitude",
    "pressure_altitude_m": "pressure altitude",
}


def doubt_heights(recorded: Recorded, ground: tuple[Array, Array, Array] | None) -> None:
    """Take out what isn't so, in place. ground : (time, east, north) of the velocity over the ground, where known."""
    _judge_climb(recorded)
    speed = recorded.columns.get("groundspeed_mps")
    if ground is None and speed is None:
        return
    moves = np.asarray(speed) if ground is None else np.interp(recorded.time_s, ground[0], np.hypot(*ground[1:]))
    _judge_above_ground(recorded, moves)
    _judge_noughts(recorded, moves)
    _judge_leap(recorded, moves)


def _judge_climb(recorded: Recorded) -> None:
    """A vertical speed that isn't how the altitude changes: of the air, or made up for changes of speed."""
    rate, height = recorded.columns.get("vertical_speed_mps"), recorded.first(*reversed(HEIGHT_WORDS))
    if rate is None or height is None:
        return
    at = second_by_second(recorded.time_s, height + rate)
    t, span = recorded.time_s[at], _CLIMB_S
    if at.size < _FEW or float(t[-1] - t[0]) < span:
        return
    whole = np.concatenate(([0.0], np.cumsum(0.5 * (rate[at][1:] + rate[at][:-1]) * np.diff(t))))
    ends = np.arange(t[0], t[-1] - span + 1e-6, 0.5 * span)
    gap = np.concatenate(([0.0], np.cumsum(np.diff(t) > max(3.0 * typical_step_s(t), 5.0))))
    ends = ends[np.interp(ends + span, t, gap) - np.interp(ends, t, gap) < _WHOLE]
    if not ends.size:
        return
    by_rate, by_height = (np.interp(ends + span, t, x) - np.interp(ends, t, x) for x in (whole, height[at]))
    off = float(np.median(np.abs(by_rate - by_height))) / span
    if off > max(_CLIMB_OFF_MPS, _CLIMB_OFF * float(np.median(np.abs(by_height))) / span):
        take_out(recorded, "vertical_speed_mps", "vertical speed set aside: the altitude changes otherwise")


def _judge_leap(recorded: Recorded, moves: Array) -> None:
    """A height that settles on another level, row by row faster than it flies: the shorter side isn't of the same."""
    for name, word in HEIGHT_WORDS.items():
        values = recorded.columns.get(name)
        at = np.flatnonzero(np.isfinite(values)) if values is not None else np.zeros(0, int)
        if values is None or at.size < 4 * _BESIDE:
            continue
        t, height = recorded.time_s[at], values[at]
        rate = np.diff(height) / np.maximum(np.diff(t), 1.0)  # rows a moment apart tell no rate
        leaps = np.flatnonzero(np.abs(rate) > max(_LEAPS_MPS, _STEEPER * float(np.percentile(moves[at], 90.0))))
        edges = leaps.size > 1 and (leaps[0] < _BESIDE or leaps[-1] > at.size - _BESIDE)
        if leaps.size < 2 or edges or t[leaps[-1]] - t[leaps[0]] > _SETTLES_S:
            continue
        a, b = int(leaps[0]), int(leaps[-1]) + 1
        far = float(np.median(height[b : b + _BESIDE]) - np.median(height[a - _BESIDE : a + 1]))
        at_once = abs(float(rate[a] - rate[a - 1])) > _LEAPS_MPS  # a dive is entered
        if not at_once or abs(far) < _LEAP_M or far * float(rate[leaps].sum()) < 0.0:
            continue
        late = t[a] - t[0] > t[-1] - t[b]
        b = int(np.searchsorted(t, t[b] + _SETTLES_S)) if not late else b
        out = at[b:] if late else at[:b]
        since = "from there on" if late else "till then"
        said = f"{word} leaps by {to_unit(abs(far), 'ft'):,.0f} ft faster than it flies: left out {since}"
        recorded.columns[name] = values.copy()
        recorded.columns[name][out] = math.nan
        recorded.say(said, out, name)


def _judge_noughts(recorded: Recorded, moves: Array) -> None:
    """Heights of exactly 0 flown at for longer than anything floats: a network's word for low, no height."""
    for name, word in HEIGHT_WORDS.items():
        values = recorded.columns.get(name)
        if values is None or not np.nanmax(np.abs(values), initial=0.0) > _LEAP_M:
            continue
        at = np.flatnonzero(np.isfinite(values))
        told = recorded.columns.get("groundspeed_mps", moves)  # from fix to fix it is rough
        out: list[int] = []
        for a, b in runs(values[at] == 0.0):
            keeps = moves[at[a:b]] > _KEEPS * moves[at[a]]
            slows = int(a) + 1 + int(np.flatnonzero(keeps)[-1]) if keeps.any() else int(b)
            if (
                a
                and keeps.any()
                and moves[at[a]] > FLYING_MPS
                and recorded.time_s[at[slows - 1]] - recorded.time_s[at[a]] > _SETTLES_S
            ):
                out += [*at[a:slows]]
            on_the_way = _on_the_way(recorded.time_s[at], values[at], told[at], int(a), int(b))
            out += [*at[a:b][on_the_way & (moves[at[a:b]] > FLYING_MPS)]]
        if out:
            recorded.columns[name] = values.copy()
            out = sorted({*out})
            recorded.columns[name][out] = math.nan
            recorded.say(f"{word} of 0 in flight stands for none; left out", np.array(out), name)


def _on_the_way(t: Array, height: Array, moves: Array, a: int, b: int) -> NDArray[np.bool_]:
    """Which heights of 0 in rows a to b lie on the way from or to the one beside them, at the rate flown there.

    Before the first height of a climb those, too, at which it is already about as fast as it climbs.
    """
    out = np.zeros(b - a, dtype=bool)
    for beside, edge, way in ((b, b - 1, 1), (a - 1, a, -1)):
        if not 0 <= beside < t.size or not height[beside] > max(
            _MARK_M, 2.0 * _RATES_MPS[1] * abs(t[beside] - t[edge])
        ):
            continue
        near = (way * (t - t[beside]) >= 0.0) & (way * (t - t[beside]) < _RATE_S)
        far = float(np.ptp(t[near]))
        rate = float(np.clip(np.ptp(height[near]) / far if far else 0.0, *_RATES_MPS))
        out |= np.abs(t[a:b] - t[beside]) < float(height[beside]) / rate
        if way > 0:
            slower = np.flatnonzero(moves[a:b] < _KEEPS * float(np.nanmedian(moves[near])))
            out[int(slower[-1]) + 1 if slower.size else b - a :] = True
    return out


def _judge_above_ground(recorded: Recorded, moves: Array) -> None:
    """A height above ground that is none where it flies on: counted from where the recording began, in the air."""
    height, t = recorded.columns.get("agl_m"), recorded.time_s
    if height is None:
        return
    low, step = (height < _ON_WHEELS_M) & (moves > FLYING_MPS), np.gradient(t)
    far = np.cumsum(np.where(low, moves * step, 0.0))
    rolls = float(np.nanmax(far - np.maximum.accumulate(np.where(low, 0.0, far)), initial=0.0))
    steady = np.abs(slow_rate(t, moves, _STEADY_S)) < _STEADY_MPS2  # on its wheels it gains speed, or brakes
    never = low & ((moves > _NO_WHEELS_MPS) | (height < -_ON_WHEELS_M) | steady)
    if rolls > _LONGEST_ROLL_M or float(step[never].sum()) > _SHORT_S:
        if recorded.columns.keys() & HEIGHT_WORDS.keys():
            take_out(recorded, "agl_m", f"height above ground set aside: {FROM_START}")
        else:
            recorded.notes["agl_m"] = FROM_START


def take_out(recorded: Recorded, name: str, what: str) -> None:
    recorded.say(what, int(np.isfinite(recorded.columns[name]).sum()), name)
    del recorded.columns[name]


def second_by_second(time_s: Array, values: Array) -> NDArray[np.intp]:
    """Rows with a reading, about a second apart."""
    at = np.flatnonzero(np.isfinite(values))
    return at[:: max(round(1.0 / typical_step_s(time_s[at])), 1)] if at.size > 1 else at
