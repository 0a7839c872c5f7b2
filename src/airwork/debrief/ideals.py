"""The ideal of a flown maneuver in the air it was flown in, laid from the flown start: what the pilot was after.

The set-up is asked for the flown altitude, air, weight and target. Where the airplane, the air or the maneuver gives
none there is no ideal: nothing is drawn rather than something made up.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from airwork.airdata.angles import unwrap_rad
from airwork.airdata.atmosphere import P0_PA
from airwork.airdata.column import AirColumn, WindLayer
from airwork.debrief.debrief import Debrief, Graded
from airwork.errors import AirworkError
from airwork.maneuvers import room
from airwork.maneuvers.setup import Conditions, Trace
from airwork.units import from_unit

# Maneuvers whose ideal is one stretch through the air, begun where the flown one begins. Ground-reference work is tied
# to the ground, and take-offs, approaches and patterns to a runway: laid over in time they would say nothing.
LAID = ("slow_flight", "power_off_stall", "power_on_stall", "steep_turn", "steep_spiral", "chandelle", "lazy_eight",
        "emergency_descent")  # fmt: skip
BANKED = ("steep_turn", "steep_spiral", "chandelle", "lazy_eight")  # recognized from the roll-in on
ROLLED_RAD = 0.05
PRINTED = (("bank_deg", "bank_rad", "deg"), ("ias_kt", "ias_mps", "kt"), ("altitude_ft", "altitude_m", "ft"))


def ideals_of(found: Debrief) -> dict[int, Trace]:
    """Position in the debrief → ideal trace, its heading turned to the flown one; times from the episode's start."""
    evidence = found.evidence
    if evidence is None or evidence.airplane is None:
        return {}
    wanted = [(k, g) for k, g in enumerate(found.episodes) if g.episode.kind in LAID]
    if not wanted:
        return {}
    from airwork.airplane.performance import performance as fit

    try:
        performance = fit(evidence.airplane)
    except AirworkError:
        return {}
    out = {}
    for k, graded in wanted:
        try:
            trace = _ideal(found, graded, performance)
        except AirworkError:
            continue
        if trace is not None:
            out[k] = trace
    return out


def _ideal(found: Debrief, graded: Graded, performance: Any) -> Trace | None:
    evidence, e = found.evidence, graded.episode
    assert evidence is not None
    airplane = evidence.airplane
    assert airplane is not None
    one = room(e.kind)
    if not hasattr(one, "ideal") or not hasattr(one, "set_up"):
        return None
    target = {name: from_unit(float(graded.grade.target[key]), unit)
              for key, name, unit in PRINTED if _number(graded.grade.target.get(key))}  # fmt: skip
    conditions = _conditions(found, graded, target.pop("altitude_m", None))
    asked: dict[str, Any] = dict(found.plan.targets.get(e.kind, {}))
    if e.kind == "steep_turn" and "bank_rad" in target:
        asked["bank_rad"] = target["bank_rad"]
    turned = graded.grade.measured.get("heading_change_deg")
    asked["direction"] = "left" if (turned or e.facts.get("sign", 1.0)) < 0 else "right"
    set_up = one.set_up(airplane, performance, conditions, found.standard, asked)
    trace: Trace = one.ideal(set_up, airplane, performance, conditions, asked)
    return _laid(found, e.start_s, _from_roll_in(trace) if e.kind in BANKED else trace)


def _number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _conditions(found: Debrief, graded: Graded, altitude_m: float | None) -> Conditions:
    """The air as recorded where the maneuver began; what wasn't recorded is standard."""
    evidence, e = found.evidence, graded.episode
    assert evidence is not None
    part = found.flight.span(e.start_s, min(e.start_s + 10.0, e.end_s))

    def mean(name: str) -> float | None:
        values = found.flight.get(name)
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
        certificate=found.standard.id,
    )  # fmt: skip


def _from_roll_in(trace: Trace) -> Trace:
    """Without the straight stretch before it."""
    bank = trace.columns.get("bank_rad")
    rolled = np.flatnonzero(np.abs(bank) > ROLLED_RAD) if bank is not None else np.array([], dtype=int)
    first = max(int(rolled[0]) - 1, 0) if rolled.size else 0
    return Trace(trace.time_s[first:] - trace.time_s[first], {n: c[first:] for n, c in trace.columns.items()})


def _laid(found: Debrief, start_s: float, trace: Trace) -> Trace:
    """The trace with its heading turned to the one flown at the start."""
    columns = dict(trace.columns)
    if "heading_rad" in columns:
        ideal = np.asarray(columns.pop("heading_rad"), dtype=float)
        columns.pop("heading_mag_rad", None)
        for name in ("heading_mag_rad", "heading_rad", "track_rad"):
            flown = found.flight.get(name)
            if flown is not None and np.isfinite(flown).any():
                shown = unwrap_rad(flown)
                at = found.flight.index_at(start_s)
                if np.isfinite(shown[at]):
                    columns[name] = ideal - ideal[0] + shown[at]
                break
    return Trace(trace.time_s, columns)
