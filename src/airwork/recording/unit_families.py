"""Scale and unit of speeds, heights and vertical speed, settled together by physics.

Every reading of the columns (feet and knots and feet per minute, meters and km/h, SI, each plain or a power of ten) has
a cost: how badly it fits positions, the other columns and how aircraft climb, plus a little for what is unusual, plus
some where the file's own word is overruled. The cheapest reading wins. A cost is half the square of a misfit in
standard errors, so costs add up; the others are odds by common practice (no source), wide on purpose.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from airwork.recording.recorded import Array
from airwork.recording.unit_choice import AIRSPEEDS, SPEED_NAMES, SPEEDS, USUAL_MPS, Evidence, Settled, candidates_of
from airwork.recording.unit_evidence import (
    FLYING_MPS,
)
from airwork.recording.unit_heights import heights
from airwork.recording.unit_speeds import airspeed, flying_speed, ground_speed, usual_costs

_SHORT_S = 25.0
_STUCK = 60  # readings that are all the same
_WAVERS, _WAVERS_IN_WIND = 1.15, 1.6  # fast over slow stretches; an airspeed may be held in the wind


def settle(evidence: Evidence) -> dict[str, Settled]:
    """The units of all these columns: speed over the ground first, then heights with vertical speed, then airspeeds."""
    way = None
    if evidence.latitude_rad is not None and evidence.longitude_rad is not None:
        way = evidence.stretches.way(evidence.latitude_rad, evidence.longitude_rad)
    if way is None:
        heights(evidence, USUAL_MPS, _as_usual(evidence), _with_its_speed(evidence))
    else:
        _without_stuck(evidence, way[2])
    for quantity in SPEEDS:
        if quantity in evidence.raw and quantity not in evidence.settled:
            ground_speed(evidence, quantity, way)
    if (
        np.ptp(evidence.stretches.time_s) < _SHORT_S
    ):  # too short for a climb to tell of heights: the speeds' family does
        _airspeeds(evidence)
    if way is not None:
        heights(evidence, flying_speed(evidence, way), way)
    _airspeeds(evidence)
    return evidence.settled


def _airspeeds(evidence: Evidence) -> None:
    for quantity in AIRSPEEDS:
        if quantity in evidence.raw and quantity not in evidence.settled:
            airspeed(evidence, quantity)


def _as_usual(evidence: Evidence) -> tuple[Array, Array, Array] | None:
    """The way by a speed of no known unit, taken as fast as is usual: near enough to tell feet from meters."""
    order = evidence.stretches.order
    raw = next((evidence.raw[q][order] for q in (*AIRSPEEDS, *SPEEDS) if q in evidence.raw), np.zeros(0))
    known = np.isfinite(raw)
    if known.sum() < 10 or not (fast := float(np.percentile(raw[known], 75.0))) > 0.0:
        return None
    t = evidence.stretches.time_s[known]
    return t, t, raw[known] * USUAL_MPS / fast


def _with_its_speed(evidence: Evidence) -> Callable[[float], tuple[float, float]] | None:
    """(cost, speed [m/s]) of the file's speed if it flies as high as this [m]: jets fly high and fast; None without."""
    quantity = next((q for q in (*SPEEDS, *AIRSPEEDS) if q in evidence.raw and not evidence.named.get(q)), None)
    if quantity is None or not np.nan_to_num(raw := evidence.raw[quantity]).any():
        return None
    candidates = candidates_of(evidence, quantity, SPEED_NAMES, range(5))
    fast = float(np.nanpercentile(np.abs(raw), 75.0))

    def cost(up_m: float) -> tuple[float, float]:
        dear, unit = min(usual_costs(quantity, raw, candidates, max(up_m, 0.0)), key=lambda c: c[0])
        return dear, fast * unit.factor

    return cost


def _without_stuck(evidence: Evidence, along_mps: Array) -> None:
    """Speeds that hold one number while the positions move now faster, now slower: they tell nothing of their unit."""
    flying = along_mps[along_mps > FLYING_MPS]
    if flying.size < 10:
        return
    low, high = np.percentile(flying, [10.0, 90.0])
    for quantity in (*SPEEDS, *AIRSPEEDS):
        raw = evidence.raw.get(quantity)
        known = raw[np.isfinite(raw)] if raw is not None else np.zeros(0)
        varies = high > (_WAVERS if quantity in SPEEDS else _WAVERS_IN_WIND) * low
        if known.size > _STUCK and varies and known[0] and (known == known[0]).all():
            evidence.against[quantity] = f"it holds the number {known[0]:g} throughout"
            evidence.take(quantity, candidates_of(evidence, quantity, SPEED_NAMES, range(1))[0][0], "it never changes")
