"""Turns: stretches of turning one way, measured once, and chains of them; what most recognizers are built from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from airwork.maneuvers.seeing.signal import NEARLY_ALL, Array, bridged, median, percentile
from airwork.maneuvers.seeing.view import STEP_S, View
from airwork.masks import runs

QUARTER_DEG, HALF_DEG, WHOLE_DEG = 90.0, 180.0, 360.0
EACH_SECOND = slice(None, None, round(1.0 / STEP_S))
TURNING_RAD = np.radians(6.0)  # less bank than this is wandering
LEAST_CHANGE_RAD = np.radians(25.0)
ROLLING_RAD = np.radians(2.0)  # still rolling, or turning ever so slowly
MOMENT_S = 3.0  # rolls take it; a poor pilot shallows out for as long and goes on: still one turn
# Out of a steep turn and at once on into an ordinary one the same way: two turns, if the banks differ by so much and
# the wings came so near level between (shares of the steeper bank). Less than half a circle of it is a poor S-turn.
OTHER_BANK, NEAR_LEVEL, STEEP_RAD = 0.72, 0.3, np.radians(30.0)
HALF_CIRCLE_RAD = np.radians(200.0)
EITHER_SIDE_S = 12.0
MIDDLE = 0.25  # to either side of half of the turn the bank is settled


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn. Indices into the view; angles in radians, sizes without sign except `sign` (+1 right, −1 left)."""

    first: int
    last: int  # last sample still turning
    sign: int
    change_rad: float  # heading
    track_change_rad: float
    settled_bank_rad: float  # median over the middle half of the change
    top_bank_rad: float
    climb_mps: float  # mean
    altitude_change_m: float
    speed_in_mps: float
    speed_out_mps: float
    speed_least_mps: float
    radius_m: float  # of the circle over the ground that fits best; NaN without position
    center_east_m: float
    center_north_m: float

    @property
    def change_deg(self) -> float:
        """Size of the heading change. [deg]"""
        return float(np.degrees(self.change_rad))

    @property
    def track_change_deg(self) -> float:
        """Size of the change of track. [deg]"""
        return float(np.degrees(self.track_change_rad))

    @property
    def bank_deg(self) -> float:
        """Settled bank. [deg]"""
        return float(np.degrees(self.settled_bank_rad))


def turn_state(view: View) -> Array:
    """−1 turning left, 0 straight, +1 turning right, sample by sample."""
    bank = view.turn_bank_rad
    pause = view.samples(MOMENT_S)
    right, left = bridged(bank > TURNING_RAD, pause), bridged(bank < -TURNING_RAD, pause)
    right &= bank > -TURNING_RAD
    left &= bank < TURNING_RAD
    return np.where(right & view.airborne, 1.0, np.where(left & view.airborne, -1.0, 0.0))


def find_turns(view: View) -> list[Turn]:
    """Every turn through more than 25° that somewhere has 12° of bank."""
    state = turn_state(view)
    found: list[Turn] = []
    for sign in (1, -1):
        for first, end in runs(state == sign):
            if (sign * view.turn_bank_rad[first:end]).max() < 2.0 * TURNING_RAD:
                continue
            # Rolling in and out belongs to the turn.
            bank, most = sign * view.turn_bank_rad, view.samples(MOMENT_S)
            begin, last = wings_level(bank, first, -1, most), wings_level(bank, end - 1, 1, most)
            inside = _cuts(
                bank[first:end], sign * view.heading_rad[first:end], view.samples(EITHER_SIDE_S), view.samples(MOMENT_S)
            )
            cuts = [begin, *(first + k for k in inside), last]
            for one, two in pairwise(cuts):
                change = sign * (view.heading_rad[two] - view.heading_rad[one])
                if change >= LEAST_CHANGE_RAD:
                    found.append(_measure(view, one, two + 1, sign, float(change)))
    return sorted(found, key=lambda turn: turn.first)


def _cuts(bank_rad: Array, heading_rad: Array, side: int, near: int) -> list[int]:
    """Where a steep turn goes over into an ordinary one (or back) through nearly level wings. Indices."""
    found: list[int] = []
    if bank_rad.size <= 2 * side or float(bank_rad.max()) <= STEEP_RAD:
        return found
    # Only around moments with the wings near level is there anything to look at.
    from airwork.recording.smooth import least_around  # late: a set-up needs no recording

    near_level = least_around(bank_rad, near) < NEAR_LEVEL * bank_rad.max()
    at = side
    for at_least in np.flatnonzero(near_level[: bank_rad.size - side]).tolist():
        if at_least < at:
            continue
        at = at_least
        before, after = median(bank_rad[at - side : at]), median(bank_rad[at : at + side])
        lowest = int(np.argmin(bank_rad[at - near : at + near + 1])) + at - near
        steep = max(before, after)
        edge = (found[-1] if found else 0) if before > after else -1
        if (
            steep > STEEP_RAD
            and min(before, after) < OTHER_BANK * steep
            and bank_rad[lowest] < NEAR_LEVEL * steep
            and abs(heading_rad[lowest] - heading_rad[edge]) > HALF_CIRCLE_RAD
        ):
            found.append(lowest)
            at = lowest + side
    return found


def _measure(view: View, first: int, end: int, sign: int, change: float) -> Turn:
    part = slice(first, end)
    progress = sign * (view.heading_rad[part] - view.heading_rad[first])
    middle = abs(progress / change - 0.5) < MIDDLE
    bank = np.abs(view.bank_rad[part] if view.bank_measured else view.turn_bank_rad[part])
    altitude, speed = view.altitude_m[part], view.speed_mps[part]
    radius, _, east, north = circle(view.east_m[part][EACH_SECOND], view.north_m[part][EACH_SECOND])
    settled = median(bank[middle] if middle.any() else bank)
    return Turn(
        first, end - 1, sign, change, float(abs(view.track_rad[end - 1] - view.track_rad[first])), settled,
        percentile(bank, NEARLY_ALL), float(view.climb_mps[part].mean()), float(altitude[-1] - altitude[0]),
        float(speed[0]), float(speed[-1]), float(speed.min()), radius, east, north,
    )  # fmt: skip


def until(view: View, turn: Turn, last: int) -> Turn:
    """A turn as far as an index: cut off there, or with what came after it."""
    change = turn.sign * float(view.heading_rad[last] - view.heading_rad[turn.first])
    return _measure(view, turn.first, last + 1, turn.sign, change)


def circle(east_m: Array, north_m: Array) -> tuple[float, float, float, float]:
    """Circle through points by linear least squares: (radius, spread, center east, center north). [m]

    Solves x² + y² = 2·a·x + 2·b·y + c; the spread is the standard deviation of the distances over the radius.
    NaN where points are missing, too few or on a line.
    """
    nan = float("nan")
    nothing = (nan, nan, nan, nan)
    n, total = east_m.size, np.add.reduce
    if n < 6:
        return nothing
    x0, y0 = float(total(east_m)) / n, float(total(north_m)) / n
    if not (math.isfinite(x0) and math.isfinite(y0)):
        return nothing
    x, y = east_m - x0, north_m - y0
    xx, yy = x * x, y * y
    z = xx + yy
    sxx, syy, sxy = float(total(xx)), float(total(yy)), float(total(x * y))
    sxz, syz, sz = float(total(x * z)), float(total(y * z)), float(total(z)) / n
    determinant = sxx * syy - sxy * sxy
    if determinant <= 1e-9 * max(sxx, syy, 1.0) ** 2:
        return nothing
    a = 0.5 * (sxz * syy - syz * sxy) / determinant
    b = 0.5 * (syz * sxx - sxz * sxy) / determinant
    radius = math.sqrt(sz + a * a + b * b)
    spread = float(np.hypot(x - a, y - b).std()) / radius
    return radius, spread, x0 + a, y0 + b


def straight_between(view: View, before: Turn, after: Turn) -> float:
    """Time from the end of one turn to the start of the next. [s]"""
    return float(view.time_s[after.first] - view.time_s[before.last])


def wings_level(bank_rad: Array, index: int, step: int, most: int) -> int:
    """From an index outward to where the wings are level, at most so many samples."""
    at = index
    while 0 < at < bank_rad.size - 1 and abs(at - index) < most and bank_rad[at] > ROLLING_RAD:
        at += step
    return at
