"""The ideal of a flown maneuver in the air it was flown in, laid from the flown start: what the pilot was after.

The set-up is asked for the flown altitude, air, weight and target. Where the airplane, the air or the maneuver gives
none there is no ideal: nothing is drawn rather than something made up.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from airwork.airdata.angles import turn_from_to_rad, unwrap_rad
from airwork.airdata.atmosphere import P0_PA
from airwork.airdata.column import AirColumn, WindLayer
from airwork.debrief.debrief import Debrief, Graded, evidence_of
from airwork.debrief.ideals_ground import GROUND, ground_ideal
from airwork.errors import AirworkError
from airwork.maneuvers import room
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.setup import Conditions, Trace
from airwork.units import from_unit

# Maneuvers whose ideal is one stretch through the air, begun where the flown one begins. Take-offs, approaches and
# patterns are tied to a runway the recording does not name: laid over in time they would say nothing.
LAID = ("straight_and_level", "level_turn", "climb", "descent", "clearing_turn", "slow_flight", "power_off_stall",
        "power_on_stall", "accelerated_stall", "steep_turn", "steep_spiral", "chandelle", "lazy_eight",
        "emergency_descent", *GROUND)  # fmt: skip
BANKED = ("level_turn", "clearing_turn", "steep_turn", "steep_spiral", "chandelle", "lazy_eight")  # from the roll-in on
STEADY = ("climb", "descent")  # recognized from the change of path on
STALLS = ("power_off_stall", "power_on_stall", "accelerated_stall")  # laid so that both break together
BEFORE_S = 8.0  # of an ideal begun earlier than the flown maneuver
STEADY_RAD = 0.01
LEAST_CHANGE_M = 60.0  # a climb or descent through less is a correction
ROLLED_RAD = 0.05
PRINTED = (("bank_deg", "bank_rad", "deg"), ("ias_kt", "ias_mps", "kt"), ("altitude_ft", "altitude_m", "ft"),
           ("level_off_altitude_ft", "level_off_m", "ft"))  # fmt: skip


def ideals_of(found: Debrief) -> dict[int, Trace]:
    """Position in the debrief → ideal trace, its heading turned to the flown one; times from the episode's start."""
    if found.airplane is None or found.airborne_s is None:
        return {}
    wanted = [(k, g) for k, g in enumerate(found.episodes) if g.episode.kind in LAID]
    if not wanted:
        return {}
    from airwork.airplane.performance import performance as fit

    try:
        performance = fit(found.airplane)
    except AirworkError:
        return {}
    evidence = evidence_of(found)
    if evidence is None:
        return {}
    out = {}
    for k, graded in wanted:
        try:
            trace = _ideal(evidence, found, graded, performance)
        except AirworkError:
            continue
        if trace is not None:
            out[k] = trace
    return out


def _ideal(evidence: Evidence, found: Debrief, graded: Graded, performance: Any) -> Trace | None:
    e, airplane = graded.episode, evidence.airplane
    assert airplane is not None
    one = room(e.kind)
    if not hasattr(one, "ideal") or not hasattr(one, "set_up"):
        return None
    target = {name: from_unit(float(graded.grade.target[key]), unit)
              for key, name, unit in PRINTED if _number(graded.grade.target.get(key))}  # fmt: skip
    level_off = target.pop("level_off_m", None)
    conditions = _conditions(evidence, graded, target.pop("altitude_m", None))
    if e.kind in GROUND:
        return _over_ground(found, graded, conditions, target.get("ias_mps"))
    asked = _asked(found, graded, target, conditions, level_off)
    if asked is None:
        return None
    set_up = one.set_up(airplane, performance, conditions, found.standard, asked)
    trace: Trace = one.ideal(set_up, airplane, performance, conditions, asked)
    if e.kind in BANKED:
        trace = _from(trace, np.abs(trace.columns["bank_rad"]) > ROLLED_RAD)
    elif e.kind in STEADY:
        trace = _from(trace, np.abs(trace.columns["flight_path_rad"]) > STEADY_RAD)
    elif e.kind in STALLS and "break_s" in e.facts:
        trace = _at_the_break(trace, float(e.facts["break_s"]) - e.start_s)
    elif e.kind == "straight_and_level":
        trace = _as_long(trace, e.end_s - e.start_s)
    return _laid(found, e.start_s, trace)


def _asked(
    found: Debrief, graded: Graded, target: dict[str, float], conditions: Conditions, level_off_m: float | None
) -> dict[str, Any] | None:
    """What is asked of the room: the lesson's targets, the flown side, and for plain flying what the pilot settled on.
    None where that gives nothing to hold against."""
    e, measured = graded.episode, graded.grade.measured
    asked: dict[str, Any] = dict(found.plan.targets.get(e.kind, {}))
    if e.kind in {"steep_turn", "accelerated_stall"} and "bank_rad" in target:
        asked["bank_rad"] = target["bank_rad"]
    if e.kind == "steep_turn" and "ias_mps" in target:
        asked.setdefault("ias_mps", target["ias_mps"])
    turned = measured.get("heading_change_deg")
    asked["direction"] = "left" if (turned or e.facts.get("sign", 1.0)) < 0 else "right"
    if e.kind == "slow_flight" and (side := _first_side(found, graded)):
        asked["direction"] = "right" if side > 0 else "left"
    if e.kind not in {"straight_and_level", "level_turn", "climb", "descent", "clearing_turn"}:
        return asked
    asked = {k: v for k, v in asked.items() if k == "direction"}
    flown = measured.get("entry_ias_kt" if e.kind == "clearing_turn" else "mean_ias_kt")
    speed = target.get("ias_mps", None if flown is None else from_unit(float(flown), "kt"))
    if speed is not None:
        asked["ias_mps"] = speed
    if e.kind == "level_turn":
        bank = measured.get("steady_mean_bank_deg")
        if bank is None or abs(float(bank)) < 5.0:
            return None
        asked["bank_rad"] = abs(from_unit(float(bank), "deg"))
        asked["turn_rad"] = abs(e.facts.get("change_rad", from_unit(float(turned or 0.0), "deg")))
    elif e.kind == "clearing_turn":
        side = _first_side(found, graded)
        if side == 0.0 or not e.facts.get("back"):
            return None
        asked["direction"] = "right" if side > 0 else "left"
    elif e.kind != "straight_and_level":
        entry, rate = measured.get("entry_altitude_ft"), measured.get("mean_vertical_speed_fpm")
        end = level_off_m if level_off_m is not None else _feet(measured.get("exit_altitude_ft"))
        if entry is None or end is None or abs(end - from_unit(float(entry), "ft")) < LEAST_CHANGE_M:
            return None
        asked["altitude_change_m"] = abs(end - conditions.altitude_m) if conditions.altitude_m is not None else 0.0
        asked["bank_rad"] = 0.0
        if e.kind == "descent" and rate is not None:
            asked["descent_mps"] = abs(from_unit(float(rate), "fpm"))
    return asked


def _feet(value: Any) -> float | None:
    return from_unit(float(value), "ft") if _number(value) else None


def _first_side(found: Debrief, graded: Graded) -> float:
    """To which side the first turn goes; 0 where no bank is known."""
    bank, e = found.flight.get("bank_rad"), graded.episode
    if bank is None:
        return 0.0
    part = bank[found.flight.span(e.start_s, e.end_s)]
    turning = part[np.isfinite(part) & (np.abs(part) > 4.0 * ROLLED_RAD)]
    return float(np.sign(turning[0])) if turning.size else 0.0


def _over_ground(found: Debrief, graded: Graded, conditions: Conditions, ias_mps: float | None) -> Trace | None:
    """The ideal tied to the ground, its heading as the flown one is shown."""
    e = graded.episode
    assert found.airplane is not None
    flown = graded.grade.measured.get("mean_ias_kt")
    speed = ias_mps if ias_mps is not None else None if flown is None else from_unit(float(flown), "kt")
    if speed is None or conditions.altitude_m is None:
        return None
    trace = ground_ideal(found.flight, e, found.airplane, conditions, conditions.altitude_m, speed)
    if trace is None:
        return None
    columns = dict(trace.columns)
    heading = columns.pop("heading_rad", None)
    columns.pop("heading_mag_rad", None)
    track = columns.pop("track_rad", None)
    shown = _shown_heading(found)
    if shown is not None and heading is not None:
        name, values = shown
        wanted = np.asarray(track if name == "track_rad" and track is not None else heading, dtype=float)
        true = found.flight.get("heading_rad")
        if name == "heading_mag_rad" and true is not None:
            part = found.flight.span(e.start_s, e.end_s)
            off = turn_from_to_rad(values[part], true[part])
            wanted = wanted - (float(np.nanmean(off)) if np.isfinite(off).any() else 0.0)
        good = np.isfinite(wanted)
        wanted[good] = unwrap_rad(wanted[good])
        near = values[found.flight.index_at(e.start_s + float(np.asarray(trace.time_s)[good][0]))]
        if np.isfinite(near):  # the same turn of the compass as the plot is drawn in
            columns[name] = wanted - wanted[good][0] + near + float(turn_from_to_rad(near, wanted[good][0]))
    return Trace(trace.time_s, columns)


def _shown_heading(found: Debrief) -> tuple[str, Any] | None:
    """Name and samples, without jumps, of the heading that plots show."""
    for name in ("heading_mag_rad", "heading_rad", "track_rad"):
        flown = found.flight.get(name)
        if flown is not None and np.isfinite(flown).any():
            return name, unwrap_rad(flown)
    return None


def _number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _conditions(evidence: Evidence, graded: Graded, altitude_m: float | None) -> Conditions:
    """The air as recorded where the maneuver began; what wasn't recorded is standard."""
    flight, e = evidence.flight, graded.episode
    part = flight.span(e.start_s, min(e.start_s + 10.0, e.end_s))

    def mean(name: str) -> float | None:
        values = flight.get(name)
        if values is None or not np.isfinite(values[part]).any():
            return None
        return float(np.nanmean(values[part]))

    here = altitude_m if altitude_m is not None else float(np.nanmean(evidence.altitude_m[part]))
    setting = mean("setting_pa") or P0_PA
    temperature = mean("oat_k")
    speed, direction = mean("wind_mps"), mean("wind_from_rad")
    winds = () if speed is None or direction is None else (WindLayer(here, direction, speed),)
    air = AirColumn(setting_pa=setting, winds=winds)
    if temperature is not None:
        air = replace(air, temperature_k=temperature, temperature_altitude_m=here)
    agl = evidence.agl_m
    height = None if agl is None or not np.isfinite(agl[part]).any() else float(np.nanmean(agl[part]))
    mass = evidence.gross_mass_kg
    assert evidence.airplane is not None
    return Conditions(
        air=air, mass_kg=mass if mass is not None else evidence.airplane.max_takeoff_mass_kg,
        ground_elevation_m=0.0 if height is None else here - height, altitude_m=here,
        certificate=evidence.standard.id,
    )  # fmt: skip


def _from(trace: Trace, begun: Any) -> Trace:
    """Without the straight stretch before it."""
    there = np.flatnonzero(begun)
    first = max(int(there[0]) - 1, 0) if there.size else 0
    return Trace(trace.time_s[first:] - trace.time_s[first], {n: c[first:] for n, c in trace.columns.items()})


def _at_the_break(trace: Trace, break_s: float) -> Trace:
    """The trace in time so that both stalls break at the same moment: the ideal's where it is slowest."""
    time = np.asarray(trace.time_s, dtype=float)
    moved = time + break_s - time[int(np.nanargmin(trace.columns["ias_mps"]))]
    first = int(np.searchsorted(moved, -BEFORE_S))
    return Trace(moved[first:], {n: np.asarray(c)[first:] for n, c in trace.columns.items()})


def _as_long(trace: Trace, seconds: float) -> Trace:
    """A steady state held for so long."""
    time = np.array([0.0, max(seconds, 1.0)])
    return Trace(time, {n: np.full(2, np.asarray(c, dtype=float)[0]) for n, c in trace.columns.items()})


def _laid(found: Debrief, start_s: float, trace: Trace) -> Trace:
    """The trace with its heading turned to the one flown at the start; where it lies over the ground says nothing."""
    columns = {name: c for name, c in trace.columns.items() if name not in {"east_m", "north_m"}}
    if "heading_rad" in columns:
        ideal = np.asarray(columns.pop("heading_rad"), dtype=float)
        columns.pop("heading_mag_rad", None)
        columns.pop("track_rad", None)
        shown = _shown_heading(found)
        if shown is not None:
            name, values = shown
            at = found.flight.index_at(max(start_s + float(trace.time_s[0]), 0.0))
            if np.isfinite(values[at]):
                columns[name] = ideal - ideal[0] + values[at]
    return Trace(trace.time_s, columns)
