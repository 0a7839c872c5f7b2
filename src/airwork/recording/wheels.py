"""What else says that the wheels are on the runway: the quieter of two heights, a nose not raised though it slows.

Static ports behind a propeller swing an altimeter by ten meters with the power, on the ground as well; a satellite's
height doesn't notice. And who slows in level flight raises the nose for the same lift: what slows at one height with
its nose where it was is carried by its wheels. Lift L = ½·ρ·V²·S·a·(α − α₀) = W, so the nose goes with 1/V²:
    dα/d(1/V²) = 2·(W/S)/(ρ·a)        (derived here)
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from airwork.masks import runs
from airwork.recording.flight import Array
from airwork.recording.recorded import FLYING_MPS, FROM_START
from airwork.recording.rolls import APPROACH_S, BOUNCED_M
from airwork.recording.smooth import Window
from airwork.recording.unit_evidence import resolution
from airwork.recording.work import TAXI_MPS, Work

# 2·(W/S)/(ρ·a) with the lightest wing loading of a light airplane, 320 N/m² (a Cub, from memory), and a lift slope of
# 5.5 per rad, more than a wing of aspect ratio 8 has: the least that the nose must rise.
_RAISES_M2PS2 = 95.0
_NOISE_RAD = 0.005  # of an attitude recorded
_LEAST_S, _SLOWED = 4.0, 0.9
_SLOWS_MPS2 = 0.6  # at idle and without lift it slows by twice as much
_SAME_M, _FLAT_MPS, _LOW_S, _SUNK_S, _SUNK_M = 0.6, 0.6, 75.0, 20.0, 30.0
_NOISES = 3.0  # of a height that wanders more than that from row to row
_FINE_M, _BESIDE_S, _ENDS = 1.0, 30.0, 50
_FLOATS_S, _FLIES_MPS, _LIFTED_S = 45.0, 12.0, 2.0
_CALM_RAD, _UNEVEN = 0.015, 0.15  # off the law that a hand follows: at least, and of what it raises the nose
_HELD_M2PS2, _SURE = 30.0, 12.0  # of a nose held on the wheels; squares gained, in those of its noise
_STANDS_M = 0.5  # of a recorded height above ground
_QUIETER, _SWINGS_M = 3.0, 3.0  # a satellite's height must be so much quieter, an altimeter swing by so much
_LONGEST_FLOAT_S, _TOUCHES, _HARDER_MPS2, _ROLLED_OUT = 12.0, 1.1 / 1.3, 0.25, 0.45
_FLOATS_MPS2 = 0.4, 1.0  # what a float loses: g over a lift-to-drag ratio of 10 at the most; wheels begin with more
_FLIES = 0.9 / 1.3  # of the approach's speed: no wing carries at less than 0.9 of its stall, beside the ground
_FLARED_S, _UNFLARED_MPS = 3.0, 2.2  # 430 fpm to the last
_FELL_M, _FELL_MPS = 20.0, 4.0  # 790 fpm to the last
# Engine noise level, 0 to 999: no engine is so quiet; how much louder the wheels are than a minute's half before
_NO_ENGINE, _LOUDER, _LOUDER_BY, _HEARD_S, _STAYS_LOUD_S = 250.0, 2.0, 100.0, 30.0, 3.0
_EITHER_S = 5.0  # the most by which a touch that may as well have been is put off


def height_for_wheels(work: Work, speed: Array | None) -> Array | None:
    """The height by which the wheels are looked for: the altimeter's, unless it swings where it stands.

    Judged beside the ends of what is slower than a taxi: there the power is set. With another height goes its climb.
    """
    altitude = work.get("indicated_altitude_m", "pressure_altitude_m", "gps_altitude_m", "altitude_m")
    other = work.get("gps_altitude_m")
    if speed is None or altitude is None or other is None or other is altitude or resolution(other) > _FINE_M:
        return altitude
    t, slow = work.time_s, speed < TAXI_MPS
    swings, quiet = [], []
    for at_s in t[np.flatnonzero(np.diff(slow.astype(np.int8)))][:_ENDS]:
        beside = slow & (np.abs(t - at_s) < _BESIDE_S) & np.isfinite(altitude) & np.isfinite(other)
        if beside.sum() > _LEAST_S:
            swings.append(float(np.ptp(altitude[beside])))
            quiet.append(float(np.ptp(other[beside])))
    if not swings or not np.median(swings) > max(_SWINGS_M, _QUIETER * float(np.median(quiet))):
        return altitude
    work.scratch["climb_mps"] = Window(t, max(2.0, 1.05 * work.step_s)).slope(other)
    return other


def slows_unlifted(work: Work, height: Array, speed: Array, part: slice) -> bool:
    """It slows there at one height, and the nose isn't raised for it: the wheels carry it.

    Parameters
    ----------
    speed : through the air. [m/s]
    part : samples at one height; a climb over seconds leaves its ends out.
    """
    pitch = work.measured("pitch_rad")
    if pitch is None:
        return False
    off_m = np.abs(height - float(np.nanmedian(height[part])))
    level = off_m < _SAME_M
    rate = work.measured("vertical_speed_mps")
    if rate is None:
        return _unlifted(work, pitch, speed, _around(level, part))
    flown = (np.abs(rate) < _FLAT_MPS) & (off_m < _NOISES * _noise(height))  # a height wanders from row to row
    return any(_unlifted(work, pitch, speed, _around(kept, part)) for kept in (level, flown))


def _around(mask: NDArray[np.bool_], part: slice) -> slice:
    """The part, with what of the mask is beside it."""
    before, after = np.flatnonzero(~mask[: part.start]), np.flatnonzero(~mask[part.stop :])
    return slice(int(before[-1]) + 1 if before.size else 0, part.stop + int(after[0]) if after.size else mask.size)


def _unlifted(work: Work, pitch: Array, speed: Array, part: slice) -> bool:
    t, v, nose = work.time_s[part], speed[part], pitch[part]
    slowest = int(np.argmin(v))
    slows_s = float(t[slowest] - t[0])
    if slows_s < _LEAST_S or not v[slowest] < min(_SLOWED * float(v[0]), float(v[0]) - _SLOWS_MPS2 * slows_s):
        return False
    before = t < t[slowest]  # it may rotate where it was slowest
    apart, nose = 1.0 / v[before] ** 2, nose[before]
    apart, nose = apart - apart.mean(), nose - nose.mean()
    if not (spread2 := float(apart @ apart)) > 0.0:
        return False
    raises = float(apart @ nose) / spread2
    noise = max(float(np.std(nose - raises * apart)), _NOISE_RAD)
    return raises + noise / np.sqrt(spread2) < _RAISES_M2PS2 and not _flaps_go_down(work, part)


def _noise(height: Array) -> float:
    """One standard deviation of a height from row to row; of equal errors the second differences have √6 of it."""
    bends = np.abs(np.diff(height[np.isfinite(height)], n=2))
    return float(np.median(bends)) / (0.6745 * math.sqrt(6.0)) if bends.size else 0.0


def without_lifted(work: Work, on_ground: NDArray[np.bool_], speed: Array) -> NDArray[np.bool_]:
    """A float over the runway at one height is flown as long as the nose goes up for the speed it loses.

    Parameters
    ----------
    speed : through the air. [m/s]
    """
    pitch, out = work.measured("pitch_rad"), on_ground.copy()
    if pitch is None:
        return out
    for a, b in runs(on_ground):
        b = min(int(b), int(np.searchsorted(work.time_s, work.time_s[a] + _FLOATS_S)))
        slowing = speed[a:b] > max(float(speed[a:b].min()), _FLIES_MPS)
        b = int(a) + (b - int(a) if slowing.all() else int(np.argmin(slowing)))
        if a == 0 or b - a < 4 or not np.isfinite(pitch[a:b]).all():
            continue
        apart, nose, t = 1.0 / speed[a:b] ** 2, pitch[a:b], work.time_s[a:b] - work.time_s[a]
        left = [_left(apart[:k], nose[:k], _RAISES_M2PS2, np.inf) + _left(apart[k:], nose[k:], -np.inf, _HELD_M2PS2)
                for k in range(b - a + 1)]  # fmt: skip
        touched = int(np.argmin(left))
        sure = _SURE * max(left[touched] / (b - a), _NOISE_RAD**2)
        off = max(_CALM_RAD, _UNEVEN * float(np.ptp(nose[:touched])) if touched else 0.0)
        calm = _left(apart[:touched], nose[:touched], _RAISES_M2PS2, np.inf) < off**2 * touched  # no bounces
        if touched and calm and t[min(touched, t.size - 1)] > _LIFTED_S and left[0] - left[touched] > sure:
            out[a : a + touched] = False
    return out


def _left(apart: Array, nose: Array, least: float, most: float) -> float:
    """Squares left of the nose by its line over 1/V², its slope between these."""
    if nose.size < 2:
        return 0.0
    x, y = apart - apart.mean(), nose - nose.mean()
    spread2 = float(x @ x)
    raises = np.clip(float(x @ y) / spread2 if spread2 > 0.0 else 0.0, least, most)
    return float(np.sum((y - raises * x) ** 2))


def recorded_low(work: Work) -> NDArray[np.bool_]:
    """Where the height above ground that the file records is none."""
    height = work.measured("agl_m")
    if height is None or work.columns["agl_m"].note == FROM_START:
        return np.zeros(work.time_s.size, dtype=bool)
    return (np.nan_to_num(height, nan=np.inf) < _STANDS_M) & ~_fell_to_nought(work.time_s, height)


def _fell_to_nought(t: Array, height: Array) -> NDArray[np.bool_]:
    """Heights of exactly 0 that came from far above within one row: none known, and no ground."""
    out = np.zeros(t.size, dtype=bool)
    for a, b in runs(height == 0.0):
        fell = float(height[a - 1]) if a else 0.0
        out[a:b] = fell > max(_FELL_M, _FELL_MPS * float(t[a] - t[a - 1]))
    return out


def _flaps_go_down(work: Work, part: slice) -> bool:
    """Flaps lower the nose for the same lift."""
    flaps = work.get("flap_deg", "flap_notch")
    return flaps is not None and bool(np.nanmax(np.diff(flaps[part]), initial=0.0) > 0.0)


def unlifted_rolls(work: Work, speed: Array) -> list[slice]:
    """Rolls told by the nose, of a recording that is never slow: low, after a descent, at one height of any two."""
    t = work.time_s
    out: list[slice] = []
    for name in ("gps_altitude_m", "indicated_altitude_m", "pressure_altitude_m"):
        height = work.get(name)
        if out or height is None or work.measured("pitch_rad") is None:
            continue
        climb = np.abs(np.nan_to_num(Window(t, max(2.0, 1.05 * work.step_s)).slope(height), nan=9.0))
        for a, b in runs(climb < _FLAT_MPS):
            a, b = int(a), int(b)
            before = height[np.searchsorted(t, t[a] - _SUNK_S) : a + 1]
            near = height[np.searchsorted(t, t[a] - _LOW_S) : np.searchsorted(t, t[b - 1] + _LOW_S)]
            sunk = before.size > 1 and float(np.nanmax(before)) > float(np.nanmax(height[a:b])) + _SUNK_M
            lowest = float(np.nanmin(height[a:b])) < float(np.nanmin(near)) + _FINE_M
            if sunk and lowest and slows_unlifted(work, height, speed, slice(a, b)):
                out.append(slice(a, b))
    return out


def without_fast(
    work: Work, on_ground: NDArray[np.bool_], altitude: Array, speed: Array
) -> NDArray[np.bool_]:  # fmt: skip
    """At one height over the runway a float looks like a roll. Wheels begin where it slows harder all at once.

    Where that doesn't show it touches at 1.1 of the stall, or a little before: the approach is flown at 1.3 of it
    [AFH] chapter 9; 1.1 is common practice, no source. What comes down unflared, or bounces, has touched.

    Parameters
    ----------
    speed : through the air where it is known, else over the ground. [m/s]
    """
    out, t = on_ground.copy(), work.time_s
    if work.measured("pitch_rad") is not None:
        return out  # the nose tells
    nought = _fell_to_nought(t, altitude)
    for a, b in runs(on_ground):
        first, last = np.searchsorted(t, (t[a] - APPROACH_S[0], t[a] - APPROACH_S[1]))
        end = min(int(b), int(np.searchsorted(t, t[a] + 2.0 * _LONGEST_FLOAT_S)))
        if a == 0 or last - first < 2 or end - a < 2 or not np.isfinite(speed[first:end]).all():
            continue
        near = speed[a : end - 1 if end == b else end]
        approach = float(np.median(speed[first:last]))
        if nought[a]:  # its speed alone tells
            slow = np.flatnonzero(speed[a:b] < _TOUCHES * min(approach, float(speed[a - 1])))
            out[a : a + int(slow[0]) if slow.size else b] = False
            continue
        meets, slow = _slows_harder(t[a : a + near.size], near), np.flatnonzero(near < _TOUCHES * approach)
        late = meets is not None and slow.size and t[a + meets] - t[a + int(slow[0])] > _EITHER_S  # it brakes by then
        if meets is not None and (late or near[meets] < _FLIES * approach):
            meets = int(slow[0]) if late else None
        if meets is None:
            meets = min(int(slow[0]) if slow.size else 0, int(np.searchsorted(t, t[a] + _EITHER_S)) - int(a))
        flared = altitude[np.searchsorted(t, t[a] - _FLARED_S)] - altitude[a] < _UNFLARED_MPS * _FLARED_S
        if flared and not np.nanmax(altitude[a : a + meets + 1]) > np.nanmedian(altitude[a:end]) + BOUNCED_M:
            out[a : a + meets] = False
    return out


def without_flown(t: Array, on_ground: NDArray[np.bool_], speed: Array) -> NDArray[np.bool_]:
    """Ground told by a height of 0 alone, which some write well before the runway: there it keeps its speed.

    Who slows within the seconds of a float has touched; else the landing waits for it, or was none.
    """
    out = on_ground.copy()
    for a, b in runs(on_ground):
        if a == 0 or not speed[a - 1] > FLYING_MPS:
            continue
        slow = np.flatnonzero(speed[a:b] < _TOUCHES * float(speed[a - 1]))
        if not slow.size and b < t.size:
            continue  # a touch-and-go, or too low for its transponder: not known
        touches = int(a) + int(slow[0]) if slow.size else int(b)
        if t[min(touches, t.size - 1)] - t[a] > _LONGEST_FLOAT_S:
            out[a:touches] = False
    return out


def _slows_harder(t: Array, speed: Array) -> int | None:
    """Where it begins to lose speed faster, at once and for good; None where it doesn't."""
    rolling = min(int(np.argmin(speed)), int(np.argmin(speed > _ROLLED_OUT * speed[0])) or speed.size) + 1
    t, v = t[:rolling] - t[0], speed[:rolling]
    if t.size < 6:
        return None
    soon = t < _EITHER_S
    if soon.sum() > 2 and -float(np.polyfit(t[soon], v[soon], 1)[0]) > _FLOATS_MPS2[1]:
        return 0
    best, left, first, harder = 0, np.inf, 0.0, 0.0
    for k in range(2, min(t.size - 2, int(np.searchsorted(t, _LONGEST_FLOAT_S))), max(int(0.4 * t.size / t[-1]), 1)):
        rows = np.stack([np.ones(t.size), t, np.maximum(t - t[k], 0.0)], axis=1)
        slope = np.linalg.lstsq(rows, v, rcond=None)[0]
        off = float(np.sum((v - rows @ slope) ** 2))
        if off < left:
            best, left, first, harder = k, off, float(slope[1]), float(slope[2])
    plain = float(np.sum((v - np.polyval(np.polyfit(t, v, 1), t)) ** 2))
    shows = left < 0.5 * plain and harder < -_HARDER_MPS2 and _FLOATS_MPS2[0] < -first < _FLOATS_MPS2[1]
    return best if shows else None


def without_quiet(work: Work, on_ground: NDArray[np.bool_], speed: Array) -> NDArray[np.bool_]:
    """A float over the field is quiet; wheels on grass are loud at once: no engine heard, the noise tells the touch.

    Parameters
    ----------
    speed : over the ground; it slows from there on. [m/s]
    """
    noise, out, t = work.extra.get("noise_level"), on_ground.copy(), work.time_s
    if noise is None:
        return out
    for a, b in runs(on_ground):
        before = noise[np.searchsorted(t, t[a] - _HEARD_S) : a]
        if a == 0 or not np.isfinite(before).any() or not np.isfinite(noise[a]):
            continue
        quiet = max(float(np.nanmax(before)), float(noise[a]))
        loud = np.flatnonzero(noise[a:b] > max(_LOUDER * quiet, quiet + _LOUDER_BY))
        touched = int(a) + int(loud[0]) if loud.size else int(a)
        after = slice(touched, np.searchsorted(t, t[touched] + _STAYS_LOUD_S) + 1)
        stays = float(np.nanmedian(noise[after])) > max(_LOUDER * quiet, quiet + _LOUDER_BY)
        if quiet < _NO_ENGINE and stays and t[touched] - t[a] < _LONGEST_FLOAT_S and speed[after][-1] < speed[touched]:
            out[a:touched] = False
    return out
