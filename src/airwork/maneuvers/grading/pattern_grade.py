"""Grading a traffic pattern: altitude and speed on the downwind leg, until the approach is begun."""

from __future__ import annotations

import math

import numpy as np

from airwork import units
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import altitude
from airwork.maneuvers.grading.causes.pattern import (
    drifted_downwind,
    overshot,
    steep_near_the_ground,
    wide_downwind,
)
from airwork.maneuvers.grading.causes.speed import speed_settled_off
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.gate import glides_down
from airwork.maneuvers.grading.runway_line import by_the_runway
from airwork.maneuvers.grading.sheet import NO_AIRSPEED, SETTLED, Sheet
from airwork.maneuvers.seeing.propose_tools import SURELY_IDLE
from airwork.maneuvers.seeing.signal import Array, mean_over
from airwork.maneuvers.setting_up import arrival

JOINED_S = 5.0
WANDERED_S = 8.0  # on and off the downwind leg
BEGUN_M = 15.0  # 50 ft, half the tolerance
NEAR_MPS = 3.0 * units.KT_MPS
USUAL_M = 100.0 * units.FT_M  # the standard's tolerance
OTHER_PATTERNS = "the usual height above the field, as the pilot's other pattern was flown"
SHORT_FINAL_S = 15.0  # any power is off, or on again, by then
POWER_BACK, BEGUN_S = 0.08, 4.0  # of full power: less is no approach begun; from so long before it sinks
LED_S = 20.0  # slowing first, 50 ft are left some seconds after power and flaps
HELD_S, LEVEL_MPS = 3.0, 1.5  # the leg's end, 300 ft/min


def grade_pattern(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude and speed on the downwind leg."""
    sheet = Sheet(episode, evidence)
    through = overshot(sheet, episode.facts["lowest_s"], int(episode.facts["sign"]))
    sheet.cause(through)
    sheet.cause(steep_near_the_ground(sheet, episode.facts["lowest_s"], through))
    facts = episode.facts
    leg = facts["lowest_s"], facts["downwind_start_s"], facts["downwind_end_s"]
    sheet.cause(wide_downwind(sheet, *leg))
    sheet.cause(drifted_downwind(sheet, *leg))
    begin_s, abeam_s, late = _until_abeam(evidence, episode)
    closed_s = _throttle_closed(evidence, episode)
    glides = closed_s < abeam_s
    window = begin_s, min(abeam_s, closed_s)
    part = evidence.flight.span(*window)
    level = np.abs(evidence.climb_mps) < 1.5
    if evidence.some_power is None and glides_down(evidence, facts["lowest_s"]):
        sheet.not_asked("pattern_altitude", "an approach without power was asked for")
        sheet.not_asked("pattern_ias", "an approach without power was asked for")
        return sheet.grade()
    # Joined where the approach begins, with the power back at once it holds its height for seconds, if at all.
    at = evidence.flight.span(begin_s, begin_s + JOINED_S) if late else part
    if window[1] - window[0] < 5.0 or level[part].sum() < 3 or not level[at].any():
        why = "no level downwind leg was flown" + "; the throttle was closed on it" * glides
        sheet.not_asked("pattern_altitude", why)
        sheet.not_asked("pattern_ias", why)
        return sheet.grade()
    own = float(np.nanmedian(evidence.altitude_m[at][level[at]]))
    window = _until_the_descent(evidence, window, own, past_abeam=late)
    usual = _usual_altitude(evidence, episode, own)
    target = sheet.altitude_target(own if usual is None else usual, SETTLED if usual is None else OTHER_PATTERNS)
    sheet.altitude_held_s = window
    told = sheet.given("altitude") or usual is not None
    judged, note = ("", "") if told else _own_altitude(evidence, episode, target)
    if glides:
        note = "; ".join(filter(None, (note, "judged until the throttle was closed for a glide to the runway")))
    sheet.over("pattern_altitude", evidence.altitude_m, window, target=target, judged=judged, note=note)
    speeds = evidence.tas_mps if evidence.ias_mps is None else evidence.ias_mps
    held = window if speeds is None else _at_speed(evidence, speeds, window)
    if evidence.ias_mps is None:
        sheet.cannot("pattern_ias", NO_AIRSPEED)
    else:
        part = evidence.flight.span(*held)
        speed = float(np.nanmedian(evidence.ias_mps[part][level[part]])) if level[part].any() else float("nan")
        aim = sheet.speed_held(speed, held, quantity="pattern_ias")
        sheet.cause(speed_settled_off(sheet, aim, held, "pattern_ias", target))
    window = max(window[0], held[0]), min(window[1], held[1])  # flaps and power change the height for a moment
    sheet.cause(altitude.let_slip(sheet, target, window, quantity="pattern_altitude"))
    return sheet.grade()


def _until_abeam(evidence: Evidence, episode: Episode) -> tuple[float, float, bool]:
    """The downwind leg until abeam the touchdown, where power comes back and the descent begins; all of it unknown.

    True where it was joined no sooner than there.
    """
    start_s, end_s, low_s = (episode.facts[n] for n in ("downwind_start_s", "downwind_end_s", "lowest_s"))
    flown = by_the_runway(evidence, low_s)
    if flown is None:
        return start_s, end_s, False
    part = evidence.flight.span(start_s, end_s)
    past = np.flatnonzero(flown[0][part] < 0.0)
    abeam_s = float(evidence.flight.time_s[part][past[0]]) if past.size else end_s
    late = abeam_s - start_s <= WANDERED_S
    return start_s, end_s if late else abeam_s, late


def _throttle_closed(evidence: Evidence, episode: Episode) -> float:
    """When the throttle was closed for good before the runway; infinite where it wasn't, or isn't known. [s]

    From there on it is a power-off approach, whatever height it loses, and no leg to hold.
    """
    power, until_s = evidence.some_power, episode.facts["lowest_s"] - SHORT_FINAL_S
    if power is None or evidence.mean(power, until_s - 1.0, until_s + 1.0) > SURELY_IDLE:
        return math.inf
    before = evidence.flight.span(episode.facts["downwind_start_s"], until_s)
    powered = np.flatnonzero(power[before] > SURELY_IDLE)
    times = evidence.flight.time_s[before]
    return float(times[powered[-1]] if powered.size else times[0]) if times.size else math.inf


def _usual_altitude(evidence: Evidence, episode: Episode, own_m: float) -> float | None:
    """The usual height above the field, where another pattern of the flight was flown at it and this one was not."""
    field_m = _lowest_m(evidence, episode)
    if abs(own_m - field_m - arrival.PATTERN_M) <= USUAL_M:
        return None
    for e in evidence.episodes:
        if e.kind != episode.kind or e == episode or abs(_lowest_m(evidence, e) - field_m) > USUAL_M:
            continue
        held = evidence.median(evidence.altitude_m, e.facts["downwind_start_s"], e.facts["downwind_end_s"])
        if abs(held - field_m - arrival.PATTERN_M) <= USUAL_M and abs(held - own_m) > USUAL_M:
            return field_m + arrival.PATTERN_M
    return None


def _lowest_m(evidence: Evidence, episode: Episode) -> float:
    low_s = episode.facts["lowest_s"]
    return evidence.mean(evidence.altitude_m, low_s - 0.5, low_s + 0.5)


def _own_altitude(evidence: Evidence, episode: Episode, target_m: float) -> tuple[str, str]:
    """The pilot's own altitude is judged for steadiness, and told as a height above the field."""
    over, above = "lowest point", target_m - _lowest_m(evidence, episode)
    agl = evidence.agl_m
    if agl is not None:  # a go-around's lowest point is not the field, nor is the practice area's ground
        part = evidence.flight.span(episode.facts["downwind_start_s"], episode.facts["downwind_end_s"])
        ground = evidence.altitude_m[part] - agl[part]
        if (ground := ground[np.isfinite(ground)]).size:
            above, over = target_m - float(np.median(ground)), "field"
    height = round(units.to_unit(above, "ft") / 10.0) * 10
    said = f"the pilot's own altitude, judged for steadiness only; some {height:,} ft above the {over}"
    return "steadiness", f"{said}, 1,000 ft above the field is usual"


def _until_the_descent(
    evidence: Evidence, window: tuple[float, float], target_m: float, *, past_abeam: bool
) -> tuple[float, float]:
    """The downwind leg from where its altitude is reached to where it is left for good, downwards: the approach begun.

    More than a third of the leg is never taken off at either end: who sinks from early on did not hold it (joined past
    the touchdown it may be left at once); nor anything where the power is known not to have come back.
    """
    part = evidence.flight.span(*window)
    there = np.flatnonzero(evidence.altitude_m[part] > target_m - BEGUN_M)
    if not there.size:
        return window
    third = (window[1] - window[0]) / 3.0
    left_s = float(evidence.flight.time_s[part][there[-1]])
    level = np.flatnonzero(np.abs(evidence.altitude_m[part] - target_m) < BEGUN_M)
    reached_s = float(evidence.flight.time_s[part][level[0]]) if level.size else window[0]
    end = left_s if past_abeam else max(left_s, window[1] - third)
    power = evidence.some_power
    if power is not None and np.isfinite(power[part]).all():  # it sinks by itself, as long as the power stays
        begun_s = min(_power_back(evidence, power, window, left_s), _first_flap(evidence, window, left_s))
        end = max(end, min(begun_s, window[1]))
    return min(reached_s, window[0] + third), end


def _power_back(evidence: Evidence, power: Array, window: tuple[float, float], left_s: float) -> float:
    """When, about where the altitude was left, the power was below what held the leg, or its end; else infinite. [s]

    Joined from a descent it may be held for some seconds alone: most of the leg says nothing of the power it needs.
    """
    times, step = evidence.flight.time_s, evidence.step_s
    last = evidence.flight.span(max(left_s - LED_S, window[0]), left_s)
    level = np.abs(evidence.climb_mps[last]) < LEVEL_MPS
    held = mean_over(power[last], max(round(HELD_S / step), 1))[level] if level.any() else np.empty(0)
    most = max(evidence.median(power, window[0], left_s), float(held.max(initial=0.0)))
    sinking = evidence.flight.span(left_s - BEGUN_S, window[1])
    back = np.flatnonzero(power[sinking] < most - POWER_BACK)
    return float(times[sinking][back[0]]) if back.size else math.inf


def _first_flap(evidence: Evidence, window: tuple[float, float], left_s: float) -> float:
    """When the first flap went down about where the altitude was left; else infinite. [s]"""
    flight, flaps = evidence.flight, evidence.flaps
    if flaps is None:
        return math.inf
    near = flight.span(max(left_s - LED_S, window[0]), window[1])
    down = np.flatnonzero(np.diff(np.round(flaps[near])) > 0.0)
    return float(flight.time_s[near][down[0] + 1]) if down.size else math.inf


def _at_speed(evidence: Evidence, speed_mps: Array, window: tuple[float, float]) -> tuple[float, float]:
    """From when the speed of the middle of the leg was reached until it is left for good, downwards: power comes back.

    Never more than two fifths of the leg are taken off at either end.
    """
    most = 0.4 * (window[1] - window[0])
    middle = evidence.median(speed_mps, window[0] + most, window[1] - most)
    part = evidence.flight.span(*window)
    off, times = speed_mps[part] - middle, evidence.flight.time_s[part]
    there, kept = np.flatnonzero(np.abs(off) < NEAR_MPS), np.flatnonzero(off > -NEAR_MPS)
    if not there.size:
        return window
    return (min(float(times[there[0]]), window[0] + most), max(float(times[kept[-1]]), window[1] - most))
