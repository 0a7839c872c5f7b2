"""Wheels on and off the ground: what take-off, landing, touch-and-go, go-around and the pattern start from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from airwork.maneuvers.seeing.signal import first_true, last_true, mean_over
from airwork.maneuvers.seeing.view import STEP_S, View
from airwork.masks import runs

SURE = 0.95  # of what the wheels or the height above the runway show
TOUCH_S = 45.0  # on the wheels for less, and never slow: a touch-and-go
ROLL_S = 90.0  # a take-off run, a landing roll, a short final, a climb-out take no longer
ROLLS_S = 8.0  # at the field's height for so long it touched; who goes around is higher sooner
ROLLING_MPS = 8.0  # 16 kt: below it is taxiing
STANDING_MPS = 1.0  # a satellite's speed of an airplane that stands
CLIMBED_M = 15.0
# On its wheels at an approach's power an airplane loses a knot a second and more to the ground (common practice, no
# source): who was there for seconds and lost none may have flown along just above it.
TOUCHED_S, LOST_MPS = 3.0, 1.5
FOUND_LATE_S, WHEELS_M = 12.0, 1.5  # so late the wheels may be found, at the runway's height all along (no source)
# Nor is it on the runway so far above where it rolled there; nearer in time than the air's pressure changes by it, and
# so near in place that a runway slopes by 3 m at 1 % (common practice, no source).
ABOVE_M, SAME_AIR_S, SAME_PLACE_M = 3.5, 1800.0, 300.0
FIELD_M = 61.0  # 200 ft: short final begins, and a take-off is over


@dataclass(frozen=True, slots=True)
class Contact:
    """One take-off, landing or touch-and-go; `index` is when the wheels left or met the ground, `off` the lift-off."""

    kind: Literal["takeoff", "landing", "touch_and_go"]
    index: int
    off: int


def contacts(view: View) -> list[Contact]:
    """In order. Hops too short and too low to be a flight are passed over."""
    flights = [(a, b) for a, b in runs(view.airborne) if np.ptp(view.altitude_m[a:b]) > CLIMBED_M]
    out: list[Contact] = []
    for k, (a, b) in enumerate(flights):
        touched_before = k > 0 and _touch_and_go(view, flights[k - 1][1], a)
        if a > 0 and not touched_before:
            out.append(Contact("takeoff", a, a))
        if b < view.n:
            again = k + 1 < len(flights) and _touch_and_go(view, b, flights[k + 1][0])
            out.append(Contact("touch_and_go" if again else "landing", b, flights[k + 1][0] if again else b))
    return out


def of_kind(view: View, kind: str) -> list[Contact]:
    """The contacts of one kind."""
    return [contact for contact in view.once(contacts) if contact.kind == kind]


def _touch_and_go(view: View, down: int, up: int) -> bool:
    slowest = float(view.groundspeed_mps[down : up + 1].min()) if up > down else ROLLING_MPS + 1.0
    return (up - down) * STEP_S < TOUCH_S and not slowest < ROLLING_MPS


def rolled(view: View, contact: Contact) -> bool:
    """It slowed down on its wheels, or was there too short to; False where it may have flown just above the runway."""
    ground = view.flight.columns.get("on_ground")
    if ground is not None and ground.known == "measured":
        return True
    if _above_the_runway(view, contact):
        return False
    if (contact.off - contact.index) * STEP_S < TOUCHED_S:
        return True
    runway_m = float(np.median(view.altitude_m[contact.index : contact.off + 1]))
    before = view.altitude_m[max(contact.index - view.samples(FOUND_LATE_S), 0) : contact.index]
    on_it = contact.index - first_true(before[::-1] > runway_m + WHEELS_M, before.size)
    speed = mean_over(view.groundspeed_mps[on_it : contact.off + 1], view.samples(TOUCHED_S))  # a sample may be off
    return float((np.maximum.accumulate(speed) - speed).max()) > LOST_MPS


def _above_the_runway(view: View, contact: Contact) -> bool:
    """Higher than where it rolled at the same place before or after; heights of satellites wander by as much."""
    flight, at = view.flight, (view.time_s[contact.index], view.time_s[contact.off])
    columns = [flight.get(name) for name in ("on_ground", "east_m", "north_m", "indicated_altitude_m")]
    if any(c is None for c in columns):
        return False
    ground, east, north, height = (c for c in columns if c is not None)
    part = flight.span(*at)
    away = np.hypot(east - np.nanmedian(east[part]), north - np.nanmedian(north[part]))
    others = (ground > 0.5) & (away < SAME_PLACE_M) & (np.abs(flight.time_s - at[0]) < SAME_AIR_S)
    others[part] = False
    if not others.any():
        return False
    return bool(np.nanmedian(height[part]) - np.nanmedian(height[others]) > ABOVE_M)


def final_from(view: View, touch: int) -> int:
    """Where short final began: the last time 200 ft above the touchdown. Index."""
    low = max(touch - view.samples(ROLL_S), 0)
    return low + last_true(view.altitude_m[low:touch] > view.altitude_m[touch] + FIELD_M, 0)


def departed(view: View, off: int) -> int:
    """Where the take-off is over: 200 ft up, or leveled off, at most a minute and a half. Index."""
    end = min(off + view.samples(ROLL_S), view.n - 1)
    return off + first_true(view.altitude_m[off:end] > view.altitude_m[off] + FIELD_M, end - off)


def roll_from(view: View, off: int) -> int:
    """Where the take-off run began: the last time it stood, or was as slow as it became; behind a gap. Index."""
    low = max(off - view.samples(ROLL_S), 0)
    low += last_true(~view.known[low : off + 1], 0)
    speed = view.groundspeed_mps[low : off + 1]
    return low + last_true(speed < speed.min() + STANDING_MPS, 0)


def rolled_out(view: View, touch: int) -> int:
    """Where the landing roll is over; before a gap. Index."""
    end = min(touch + view.samples(ROLL_S), view.n - 1)
    end = touch + first_true(~view.known[touch:end], end - touch)
    return touch + first_true(view.groundspeed_mps[touch:end] < ROLLING_MPS, end - touch)
