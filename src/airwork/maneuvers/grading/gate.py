"""The gate of an approach: stable by 300 ft above the field, or go around ([AFH] chapter 9).

Its sizes are [AFH]'s where that prints them (sink to 1,000 ft/min, bank to 15°), else judgment (no source).
"""

from __future__ import annotations

import numpy as np

from airwork.airdata.angles import turn_from_to_rad
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.handbook import BookSpeed, approach_speed, flaps_left_up
from airwork.maneuvers.grading.reading import READ_FROM, allowance, rounding
from airwork.maneuvers.grading.runway_line import course_rad
from airwork.maneuvers.seeing.propose_tools import IDLE
from airwork.maneuvers.seeing.signal import Array
from airwork.units import FPM_MPS, FT_M, KT_MPS, to_unit

SINK_MPS, BANK_RAD = 1000.0 * FPM_MPS, np.radians(15.0)
OFF_RUNWAY_RAD, FAST_MPS, SLOW_MPS = np.radians(15.0), 10.0 * KT_MPS, 5.0 * KT_MPS
COARSE_M, SLOPE_S = 2.0, 10.0  # an altitude in longer steps is jumps over two seconds: over so many its slope is known
LOOK_S, SLOW_SINK_MPS = 1.0, 2.0  # to either side of a moment; no final sinks more slowly
IDLE_S, FLARE_S = 45.0, 5.0  # from 1,000 ft at 800 ft/min it takes over a minute
MOMENT_S = 5.0  # fixed seldomer, the turn to final reaches into what stands for the gate


def gate(evidence: Evidence, touch_s: float, kind: str = "") -> tuple[float, list[str], float] | None:
    """An approach at the gate height before a touch (or a decision): (time, what was not stable, largest excess).

    None when the recording doesn't show the gate, or is too coarse to show a moment.

    Parameters
    ----------
    kind : the landing whose speed the lesson may have asked for; "" for none.
    """
    flight = evidence.flight
    if evidence.step_s > MOMENT_S:
        return None
    field_m = evidence.mean(evidence.altitude_m, touch_s - 0.5, touch_s + 1.0)
    left_m = 0.0 if kind else evidence.mean(evidence.agl_m, touch_s - 0.5, touch_s + 1.0)
    field_m -= max(left_m, 0.0) if np.isfinite(left_m) else 0.0  # a go-around's lowest point is not the field
    height = evidence.standard.judging["approach_gate_ft"] * FT_M
    before = flight.span(touch_s - 150.0, touch_s)
    high = np.flatnonzero(evidence.altitude_m[before] - field_m > height)
    if not high.size or high[-1] == evidence.altitude_m[before].size - 1:
        return None
    at_s = float(flight.time_s[before][high[-1]])
    said: list[str] = []
    sizes: list[float] = []
    sink = -evidence.mean(evidence.climb_mps, at_s - 1.5, at_s + 1.5)
    # The moment is known no better than the fixes stand apart and the height is read; the least of it counts.
    below_s = float(flight.time_s[before][high[-1] + 1])
    unsure = 0.5 * evidence.step_s + 2.0 * allowance(evidence, "altitude") / max(sink, SLOW_SINK_MPS)
    coarse = below_s - at_s + unsure > 2.0 * LOOK_S
    moments = [at_s, *flight.time_s[flight.span(at_s - unsure, below_s + unsure)]] if coarse else [at_s]
    off = min((off_runway_rad(evidence, t, touch_s) for t in moments), key=lambda x: abs(x or 0.0))
    if off is not None and abs(off) > OFF_RUNWAY_RAD:
        said.append(f"{abs(np.degrees(off)):.0f}° off the runway's track")
        sizes.append(abs(off) / OFF_RUNWAY_RAD)
    bank = min(abs(evidence.mean(evidence.bank_rad, t - LOOK_S, t + LOOK_S)) for t in moments)
    if slipping(evidence, at_s):  # the wing is down against the rudder
        bank = 0.0
    if bank > BANK_RAD or (said and bank > 0.6 * BANK_RAD):
        said.append(f"{np.degrees(bank):.0f}° of bank")
        sizes.append(bank / BANK_RAD)
    sink = evidence.mean(sink_known_mps(evidence), at_s - 1.5, at_s + 1.5)
    if sink > SINK_MPS and not slipping(evidence, at_s):
        said.append(f"sinking {to_unit(sink, 'fpm'):,.0f} fpm")
        sizes.append(sink / SINK_MPS)
    speed = _approach_speed(evidence, kind, at_s)
    if speed is not None:
        flown = evidence.mean(evidence.ias_mps, at_s - 2.0, at_s + 2.0)
        over_under = (flown - speed.ias_mps, FAST_MPS, "fast"), (speed.lightest_mps - flown, SLOW_MPS, "slow")
        for over, limit, word in over_under:
            if over > limit:
                said.append(f"{evidence.speed_text(over)} {word}")
                sizes.append(over / limit)
    if said and flaps_left_up(evidence, at_s - LOOK_S, touch_s):
        said.append("flaps up")
    return at_s, said, max(sizes, default=0.0)


def idled_down(evidence: Evidence, touch_s: float) -> bool | None:
    """The throttle closed for the last three quarters of a minute at least; None where power isn't known."""
    power = evidence.some_power
    if power is None:
        return None
    before = power[evidence.flight.span(touch_s - IDLE_S, touch_s - FLARE_S)]
    return bool(np.nanmax(before, initial=0.0) < IDLE)


def glides_down(evidence: Evidence, touch_s: float) -> bool:
    """A power-off approach: idled all the way, or asked for where power isn't known. No 3° path, no height to hold."""
    idle = idled_down(evidence, touch_s)
    return evidence.glide_asked if idle is None else idle


def slipping(evidence: Evidence, at_s: float) -> bool:
    """In a forward slip, which is meant to sink ([AFH] ch. 9)."""
    return any("slipped" in e.facts and e.start_s <= at_s <= e.end_s for e in evidence.episodes)


def _approach_speed(evidence: Evidence, kind: str, at_s: float) -> BookSpeed | None:
    lesson = evidence.lesson_target(kind, "ias_mps")
    return approach_speed(evidence, at_s - LOOK_S, at_s + LOOK_S) if lesson is None else BookSpeed(lesson, lesson)


def off_runway_rad(evidence: Evidence, at_s: float, touch_s: float) -> float | None:
    """Track at a moment against the runway's direction. [rad]"""
    track, course = evidence.flight.get("track_rad"), course_rad(evidence, touch_s)
    if track is None or course is None:
        return None
    there = track[evidence.flight.span(at_s - LOOK_S, at_s + LOOK_S)]
    there = there[np.isfinite(there)]
    return float(turn_from_to_rad(course, float(np.angle(np.exp(1j * there).mean())))) if there.size else None


def sink_known_mps(evidence: Evidence) -> Array:
    """Rate of sink; where a vertical speed was recorded, it has to sink as fast by that. Else, of an altitude read in
    long steps q, the least that it may have been: two readings T apart show a slope to within q/T. [m/s]
    """
    flight, sink = evidence.flight, -np.nan_to_num(evidence.climb_mps)
    recorded = flight.columns.get("vertical_speed_mps")
    if recorded is not None and recorded.known == "measured":
        return np.fmin(sink, -recorded.values)
    read = next((c for name in READ_FROM["altitude"] if (c := flight.columns.get(name)) is not None), None)
    q = 0.0 if read is None else rounding(read.values)
    if q < COARSE_M:
        return sink
    ends = (np.interp(flight.time_s + s, flight.time_s, evidence.altitude_m) for s in (-0.5 * SLOPE_S, 0.5 * SLOPE_S))
    before, after = ends
    return np.fmin(sink, (before - after - q) / SLOPE_S)
