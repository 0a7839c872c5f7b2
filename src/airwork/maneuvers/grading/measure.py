"""The numbers of one episode, in printed units: what the `measured` part of the debrief's JSON carries."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from airwork.airdata.angles import mean_direction_rad
from airwork.airdata.wind import wind_from_vector
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.signal import Array, Mask, known_share
from airwork.units import to_unit

AT_S = 0.6  # a value "at" a moment is the mean over this much to each side
POWER_KNOWN = 0.9
_FUEL_GAP_S = 60.0  # a flow is not known over a longer pause
ALTITUDE_ERRORS = ("max_altitude_error_ft", "min_altitude_error_ft")
TURNING_RAD = math.radians(10.0)
SETTLED_SHARE = 0.8  # bank is settled while it is at least this share of its 90th percentile


def steady_bank_rad(bank_rad: Array) -> float:
    """Mean size of the settled bank: while at four fifths of its 90th percentile or more. [rad]"""
    size = np.abs(known(bank_rad))
    if not size.size:
        return float("nan")
    rank = min(int(0.9 * size.size), size.size - 1)
    return float(size[size >= SETTLED_SHARE * np.partition(size, rank)[rank]].mean())


def worth_showing(numbers: Mapping[str, float], target: Mapping[str, float]) -> dict[str, float]:
    """The numbers without those that only mean something beside a target the maneuver hasn't got.

    A take-off, a climb or a stall has no altitude to hold: how far it went from the one it began at is no error.
    """
    return {k: v for k, v in numbers.items() if "altitude_ft" in target or k not in ALTITUDE_ERRORS}


def known(values: Array) -> Array:
    """The samples that are known; the same array when all are."""
    good = np.isfinite(values)
    return values if good.all() else values[good]


def measured(
    evidence: Evidence,
    start_s: float,
    end_s: float,
    target_altitude_m: float | None = None,
    held_s: tuple[float, float] | None = None,
) -> dict[str, float]:
    """What can be known of a stretch; a key is missing where it can't.

    Speeds are those in the air: standing and rolling say nothing of how it was flown.

    Parameters
    ----------
    start_s, end_s : the episode. [s]
    target_altitude_m : what the altitude errors are taken from; the entry altitude when None.
    held_s : the part in which that altitude was to be held; all of it when None. [s]
    """
    part = evidence.flight.span(start_s, end_s)
    out: dict[str, float] = {}
    _altitude(evidence, part, start_s, end_s, target_altitude_m, out)
    if held_s is not None and target_altitude_m is not None:
        held = known(evidence.altitude_m[evidence.flight.span(*held_s)])
        if held.size:
            _put(out, "max_altitude_error_ft", float(held.max()) - target_altitude_m, "ft")
            _put(out, "min_altitude_error_ft", float(held.min()) - target_altitude_m, "ft")
    _speeds(evidence, part, start_s, out)
    _attitude(evidence, part, start_s, end_s, out)
    _wind(evidence, part, out)
    _engine(evidence, part, start_s, end_s, out)
    return {name: value for name, value in out.items() if math.isfinite(value)}


def _put(out: dict[str, float], name: str, value_si: float, unit: str, digits: int = 1) -> None:
    if math.isfinite(value_si):
        out[name] = round(to_unit(value_si, unit), digits)


def _altitude(
    evidence: Evidence, part: slice, start_s: float, end_s: float, target_m: float | None, out: dict[str, float]
) -> None:
    altitude = known(evidence.altitude_m[part])
    if not altitude.size:
        return
    entry = evidence.mean(evidence.altitude_m, start_s - AT_S, start_s + AT_S)
    high, low = float(altitude.max()), float(altitude.min())
    target = entry if target_m is None else target_m
    _put(out, "entry_altitude_ft", entry, "ft")
    _put(out, "exit_altitude_ft", evidence.mean(evidence.altitude_m, end_s - AT_S, end_s + AT_S), "ft")
    _put(out, "max_altitude_ft", high, "ft")
    _put(out, "min_altitude_ft", low, "ft")
    _put(out, "max_altitude_error_ft", high - target, "ft")
    _put(out, "min_altitude_error_ft", low - target, "ft")
    _put(out, "altitude_lost_from_entry_ft", max(0.0, entry - low), "ft")
    if evidence.agl_m is not None:
        agl = known(evidence.agl_m[part])
        _put(out, "min_agl_ft", float(agl.min()) if agl.size else float("nan"), "ft", 0)


def _speeds(evidence: Evidence, part: slice, start_s: float, out: dict[str, float]) -> None:
    airborne = evidence.airborne[part]
    if evidence.ias_mps is not None:
        ias = _in_the_air(evidence.ias_mps[part], airborne)
        if ias.size:
            if airborne[0]:
                _put(out, "entry_ias_kt", evidence.mean(evidence.ias_mps, start_s - AT_S, start_s + AT_S), "kt", 2)
            _put(out, "max_ias_kt", float(ias.max()), "kt", 2)
            _put(out, "min_ias_kt", float(ias.min()), "kt", 2)
            _put(out, "mean_ias_kt", float(ias.mean()), "kt", 2)
    if evidence.tas_mps is not None:
        tas = _in_the_air(evidence.tas_mps[part], airborne)
        _put(out, "mean_tas_kt", float(tas.mean()) if tas.size else float("nan"), "kt", 2)
    margin = evidence.stall_margin_mps(part)
    if margin is not None:
        margin = known(np.where(evidence.airborne[part], margin, np.nan))  # on the wheels there is none to keep
        _put(out, "min_stall_margin_kt", float(margin.min()) if margin.size else float("nan"), "kt", 2)


def _in_the_air(values: Array, airborne: Mask) -> Array:
    """The known samples off the wheels; the same array when all are."""
    return known(values if airborne.all() else values[airborne])


def _attitude(evidence: Evidence, part: slice, start_s: float, end_s: float, out: dict[str, float]) -> None:
    bank, heading = evidence.bank_rad, evidence.heading_rad
    if bank is not None:
        size = np.abs(known(bank[part]))
        if size.size:
            _put(out, "max_bank_deg", float(size.max()), "deg", 2)
            steady = steady_bank_rad(size)
            if steady > TURNING_RAD:  # else nothing was turned: the mean of its wandering says nothing
                _put(out, "steady_mean_bank_deg", steady, "deg", 2)
    if heading is not None:
        before, after = (evidence.mean(heading, at - 0.25, at + 0.25) for at in (start_s, end_s))
        _put(out, "heading_change_deg", after - before, "deg", 2)
        _put(out, "entry_heading_deg", mean_direction_rad(heading[part][:3]), "deg", 1)
    load = evidence.flight.get("load_factor")
    if load is not None:
        n = known(load[part])
        if n.size:
            out["max_load_factor"] = round(float(n.max()), 3)


def _wind(evidence: Evidence, part: slice, out: dict[str, float]) -> None:
    wind = evidence.view.wind_mps
    if wind is None:
        return
    east, north = (known(blown[part]) for blown in wind)
    if east.size:
        direction, strength = wind_from_vector(east.mean(), north.mean())
        _put(out, "wind_from_deg", float(direction), "deg", 0)
        _put(out, "wind_kt", float(strength), "kt", 1)


def _engine(evidence: Evidence, part: slice, start_s: float, end_s: float, out: dict[str, float]) -> None:
    power = evidence.power_ratio
    if power is not None:
        share = known(power[part])
        # The power chart has no row for idle: a mean over the rest would be too high.
        if share.size >= POWER_KNOWN * (part.stop - part.start) and share.size:
            out["mean_power_pct"] = round(100.0 * float(share.mean()), 1)
            out["max_power_pct"] = round(100.0 * float(share.max()), 1)
    fuel = fuel_used_m3(evidence, part)
    if fuel is not None:
        _put(out, "fuel_used_gal", fuel, "gal", 3)


def fuel_used_m3(evidence: Evidence, part: slice) -> float | None:
    """Fuel burned in a stretch: the flow added up, else the gauges' difference. None when neither is known. [m³]"""
    flow = evidence.flight.get("fuel_flow_m3ps")
    time = evidence.flight.time_s[part]
    if flow is not None and time.size > 1 and (share := known_share(flow[part])) > 0.5:
        burned = flow[part] if share == 1.0 else np.nan_to_num(flow[part])
        steps = np.diff(time)
        steps = np.where(steps > max(_FUEL_GAP_S, 5.0 * float(np.median(steps))), 0.0, steps)  # a clock set, a pause
        return float(np.sum(0.5 * (burned[1:] + burned[:-1]) * steps))
    total = evidence.flight.get("fuel_total_m3")
    if total is None:
        left, right = evidence.flight.get("fuel_left_m3"), evidence.flight.get("fuel_right_m3")
        total = None if left is None or right is None else left + right
    if total is None:
        return None
    known = total[part][np.isfinite(total[part])]
    if known.size < 2:
        return None
    edge = max(1, min(round(3.0 / evidence.step_s), known.size // 4))
    return max(0.0, float(known[:edge].mean() - known[-edge:].mean()))
