"""What was done on the wheels and is no maneuver: a takeoff broken off, a fast taxi."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from airwork.maneuvers.seeing.signal import bridged
from airwork.maneuvers.seeing.view import STEP_S, View
from airwork.masks import runs
from airwork.units import KT_MPS, clock, write

STANDING_MPS, ROLLED_MPS, SLOWED = 6.0 * KT_MPS, 30.0 * KT_MPS, 0.5
ACCELERATING_S, HELD_S, STOPPING_S = 30.0, 10.0, 15.0  # to the most, near it (longer is taxiing), to half of it
NEAR, LEAPS_MPS2 = 0.9, 9.0  # g: more than wheels grip
# A brisk walk is the usual speed, 15 kt on a straight taxiway; common practice, no source
TAXI_MPS, TAXI_S, LANDED_S = 25.0 * KT_MPS, 12.0, 45.0


def ground_notes(view: View) -> list[str]:
    """Sentences, in the order of the flight; nothing where the wheels can't be told from the air."""
    if not view.airborne.any() or view.airborne.all():
        return []
    off = list(_broken_off(view))
    found = [*off, *_fast_taxi(view, [at for at, _ in off])]
    return [text for _, text in sorted(found)]


def _broken_off(view: View) -> Iterator[tuple[float, str]]:
    """From standing or nearly so to a run's speed and back, without leaving the ground."""
    speed = view.groundspeed_mps
    for a, b in runs(~view.airborne & (speed > STANDING_MPS)):
        most = a + int(speed[a:b].argmax())
        near = speed[a:b] > NEAR * speed[most]
        down = np.flatnonzero(speed[most:b] < SLOWED * speed[most])
        if (
            speed[most] < ROLLED_MPS or a == 0 or view.airborne[a - 1] or not down.size
            or _leaps(view, a, b)
            or (most - a) * STEP_S > ACCELERATING_S or near.sum() * STEP_S > HELD_S or down[0] * STEP_S > STOPPING_S
        ):  # fmt: skip
            continue
        at = float(view.time_s[most])
        yield at, f"A takeoff was broken off at {clock(at)}, at {write(float(speed[most]), 'kt', 0)} over the ground."


def _leaps(view: View, a: int, b: int) -> bool:
    """The speed gains or loses more in a second than wheels give it: the positions leaped, nothing rolled."""
    a, b, second = max(a - 1, 0), min(b + 1, view.groundspeed_mps.size), max(view.samples(1.0), 1)
    went = view.groundspeed_mps[a:b]
    return bool(np.max(np.abs(went[second:] - went[:-second]), initial=0.0) > LEAPS_MPS2 * second * STEP_S)


def _fast_taxi(view: View, broken_off_s: Sequence[float]) -> Iterator[tuple[float, str]]:
    """Faster than any taxiway is for, long after a landing and long before a takeoff, and none of those broken off."""
    fast = ~view.airborne & view.known & (view.groundspeed_mps > TAXI_MPS)
    for a, b in runs(bridged(fast, view.samples(1.0))):
        beside = slice(max(a - view.samples(LANDED_S), 0), b + view.samples(LANDED_S))
        told = any(view.time_s[a] <= at <= view.time_s[b - 1] for at in broken_off_s)
        if told or (b - a) * STEP_S < TAXI_S or view.airborne[beside].any():
            continue
        most, at = float(view.groundspeed_mps[a:b].max()), float(view.time_s[a])
        lasted = f"for {(b - a) * STEP_S:.0f} s ({clock(at)})"
        yield at, f"Taxied at up to {write(most, 'kt', 0)} {lasted}: a brisk walk is usual."
