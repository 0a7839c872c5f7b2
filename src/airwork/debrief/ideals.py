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
from airwork.airplane.performance import performance as fit
from airwork.debrief.debrief import Debrief, Graded, evidence_of
from airwork.errors import AirworkError
from airwork.maneuvers import room
from airwork.maneuvers.episode import Episode, ungraded
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.paths.flown_path import flown_path
from airwork.maneuvers.paths.laying import Flown, as_the_lesson
from airwork.maneuvers.setup import Conditions, Order, Trace
from airwork.units import from_unit

FIRST_BANK_RAD = 0.2  # more than wobbling
OTHER_TURN_RAD = np.radians(90.0)  # an ideal that ends up as far from the heading flown is of another turn
PRINTED = (("bank_deg", "bank_rad", "deg"), ("ias_kt", "ias_mps", "kt"), ("altitude_ft", "altitude_m", "ft"),
           ("level_off_altitude_ft", "level_off_m", "ft"))  # fmt: skip


def ideals_of(found: Debrief) -> dict[int, Trace]:
    """Position in the debrief → ideal trace, its heading turned to the flown one; times from the episode's start."""
    if found.airplane is None or found.airborne_s is None:
        return {}
    wanted = [
        (k, g) for k, g in enumerate(found.episodes)
        if ((o := room(g.episode.kind)).lay or o.over_ground) and not ungraded(g.episode.evidence)
    ]  # fmt: skip
    if not wanted:
        return {}
    try:
        performance = fit(found.airplane)
    except AirworkError:
        return {}
    evidence = evidence_of(found)
    assert evidence is not None  # else there were no episodes
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
    target = {name: from_unit(float(graded.grade.target[key]), unit)
              for key, name, unit in PRINTED if _number(graded.grade.target.get(key))}  # fmt: skip
    level_off = target.pop("level_off_m", None)
    conditions = _conditions(evidence, graded, target.pop("altitude_m", None))
    one = room(e.kind)
    if one.over_ground is not None:
        return _over_ground(found, graded, conditions, target.get("ias_mps"))
    assert one.lay is not None
    flown = Flown(
        e, target, graded.grade.measured, found.plan.targets.get(e.kind, {}), conditions.altitude_m, level_off,
        _first_side(found, graded),
    )  # fmt: skip
    asked = (one.asks or as_the_lesson)(flown)
    if asked is None:
        return None
    order = Order(airplane, performance, conditions, found.standard, asked)
    return _laid(found, e, one.lay(one.ideal(one.brief(order), order), e))


def _first_side(found: Debrief, graded: Graded) -> float:
    """To which side the first turn goes; 0 where no bank is known."""
    bank, e = found.flight.get("bank_rad"), graded.episode
    if bank is None:
        return 0.0
    part = bank[found.flight.span(e.start_s, e.end_s)]
    turning = part[np.isfinite(part) & (np.abs(part) > FIRST_BANK_RAD)]
    return float(np.sign(turning[0])) if turning.size else 0.0


def _over_ground(found: Debrief, graded: Graded, conditions: Conditions, ias_mps: float | None) -> Trace | None:
    """The ideal tied to the ground, its heading as the flown one is shown."""
    e = graded.episode
    assert found.airplane is not None
    flown = graded.grade.measured.get("mean_ias_kt")
    speed = ias_mps if ias_mps is not None else None if flown is None else from_unit(float(flown), "kt")
    if speed is None or conditions.altitude_m is None:
        return None
    path = flown_path(found.flight, e, found.airplane, conditions, conditions.altitude_m, speed)
    over_ground = room(e.kind).over_ground
    trace = None if path is None or over_ground is None else over_ground(path, e)
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


def _laid(found: Debrief, e: Episode, trace: Trace) -> Trace:
    """The trace with its heading turned to the one flown at the start; where it lies over the ground says nothing.

    Its turn is left out where another one was flown: a straight climb says nothing of a climb with a turn in it.
    """
    columns = {name: c for name, c in trace.columns.items() if name not in {"east_m", "north_m"}}
    if "heading_rad" in columns:
        ideal, time = np.asarray(columns.pop("heading_rad"), dtype=float), np.asarray(trace.time_s, dtype=float)
        columns.pop("heading_mag_rad", None)
        columns.pop("track_rad", None)
        shown = _shown_heading(found)
        if shown is not None:
            name, values = shown
            begins = max(float(time[0]), 0.0)  # what the ideal does before it, was flown in the turn before
            at, first = found.flight.index_at(e.start_s + begins), float(np.interp(begins, time, ideal))
            last = min(e.end_s, e.start_s + float(time[-1]))
            turned = values[found.flight.index_at(last)] - values[at]
            wanted = float(np.interp(last - e.start_s, time, ideal)) - first
            if abs(turned - wanted) > OTHER_TURN_RAD:
                columns.pop("bank_rad", None)
            elif np.isfinite(values[at]):
                columns[name] = ideal - first + values[at]
    return Trace(trace.time_s, columns)
