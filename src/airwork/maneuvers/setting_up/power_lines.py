"""Power lines of a set-up, from the fitted performance: level, climbing, descending, idle, a share of rated. SI."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane.performance import IDLE, Setting, climbing
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.throttle import full_throttle_rpm
from airwork.errors import AirworkError, NotPossible
from airwork.maneuvers.setting_up.worksheet import Worksheet

NO_MODEL = "No performance model for this airplane: set power by eye and note the reading."
SOURCE = "handbook and readings, fitted"
LEVEL_OFF_SHARE = 0.10  # begin to level off at a tenth of the rate of climb or descent, a minute's worth ([AFH] ch. 3)
_LEAST_RPM = 900.0  # below it a windmilling propeller says nothing of the power


@dataclass(frozen=True, slots=True)
class Power:
    """A power setting: its share of rated power, and in words for the card ("2,230 ± 30 rpm")."""

    ratio: float
    words: str


def level_off(ws: Worksheet, rate_mps: float, side: str) -> float:
    """Where to begin to level off, noted: how far "below" or "above" the altitude. [m]"""
    lead = LEVEL_OFF_SHARE * rate_mps * 60.0
    feet = float(max(10, round(lead / units.FT_M / 10) * 10))
    ws.note("begin to level off", feet, "ft", "formula", f"{side} the altitude: a tenth of the rate, [AFH] ch. 3")
    return lead


def entry_ias(ws: Worksheet, book_ias_mps: float | None, share: float, bank_rad: float) -> float:
    """Speed to enter a climbing turn with: the handbook's, else maneuvering or cruise speed if lower. [m/s IAS]"""
    va, cruise = ws.maneuvering_ias(), cruise_cas_mps(ws, share)
    limit = min(va, book_ias_mps or va, ws.fastest_ias(), math.inf if cruise is None else ws.ias(cruise))
    ias = ws.flown_ias(ws.on_dial(limit, "down"), load=1.0 / math.cos(bank_rad), name="entry_ias_mps")
    ws.not_above_maneuvering(ias)
    return ias


def _rounded(rpm: float) -> float:
    return round(rpm / 10.0) * 10.0


def level(
    ws: Worksheet, cas_mps: float, notch: int = 0, *, bank_rad: float = 0.0, name: str = "power", needed: bool = True,
    pitch: bool = True,
) -> Power | None:  # fmt: skip
    """Add the power that holds level flight, percent and expected pitch; None where the model gives no answer.

    Raises
    ------
    NotPossible : full throttle doesn't hold it today (with `needed`); names a smaller flap notch that it does hold.
    """
    if ws.performance is None:
        ws.cautions.append(NO_MODEL)
        return None
    try:
        flown = level_flight(ws.performance, cas_mps, ws.at(notch, bank_rad))
    except AirworkError as problem:
        ws.cautions.append(f"{name}: {problem}")
        return None
    if bool(flown.marginal):
        ws.cautions.append(f"{name}: marginal; full throttle may or may not hold it level today.")
    elif not bool(flown.possible):
        if needed:
            raise NotPossible(refusal(ws, cas_mps, notch, bank_rad, str(flown.limit)))
        ws.cautions.append(f"{name}: full throttle does not hold it level today; expect to lose height.")
        return Power(1.0, "full throttle")
    ratio, spread = float(flown.power_ratio), float(flown.power_90)
    if ws.airplane.fixed_pitch:
        rpm, band = _rounded(float(flown.rpm)), max(10.0, _rounded(float(flown.rpm_90)))
        ws.note(name, rpm, "rpm", "fitted model", SOURCE, uncertainty=band)
        words = f"{rpm:,.0f} ± {band:.0f} rpm"
    else:
        inches = round(units.to_unit(float(flown.manifold_pressure_pa), "inHg"), 1)
        band = round(units.to_unit(float(flown.manifold_pressure_90_pa), "inHg"), 1)
        rpm = _rounded(float(flown.rpm))
        ws.note(name, inches, "inHg", "fitted model", SOURCE, uncertainty=band, also=f"at {rpm:,.0f} rpm")
        book = ws.airplane.book
        words = f"{book.write(inches, 'inHg').split()[0]} ± {book.write(band, 'inHg')} at {rpm:,.0f}"
    if bool(flown.marginal):
        words += ", marginal"
    ws.note(f"{name}, percent", float(round(100 * ratio)), "%", "fitted model", SOURCE, uncertainty=round(100 * spread))
    angle = float(flown.pitch_rad)
    if pitch and math.isfinite(angle):
        band = max(1, round(math.degrees(float(flown.pitch_90_rad))))
        ws.note(f"pitch, {name}", float(round(math.degrees(angle))), "deg", "fitted model", SOURCE, uncertainty=band,
                note="against level cruise: see it, then trust the airspeed")  # fmt: skip
    return Power(ratio, words)


def refusal(ws: Worksheet, cas_mps: float, notch: int, bank_rad: float, limit: str) -> str:
    """Why level flight isn't possible, and what would be."""
    flaps = "flaps up" if notch == 0 else f"flap notch {notch}"
    bank = f" in a {math.degrees(bank_rad):.0f}° bank" if bank_rad else ""
    what = {"redline": "the maximum RPM", "stall": "the stall"}.get(limit, "full throttle")
    smaller = smaller_notch(ws, cas_mps, notch, bank_rad)
    remedy = "fly lower, lighter, or descending"
    if smaller is not None:
        speed = ws.airplane.dial(ws.ias(smaller[1], smaller[0]))
        name = "flaps up" if smaller[0] == 0 else f"flap notch {smaller[0]}"
        remedy = f"{name} holds it at {speed}"
    elif bank_rad:
        remedy = "fly lower or lighter, or bank less"
    return (
        f"{ws.title}: {what} does not hold level flight at {ws.airplane.dial(ws.ias(cas_mps, notch))}, {flaps}{bank}, "
        f"{units.write(ws.conditions.mass_kg, ws.airplane.book.mass)}, {units.write(ws.entry_m, 'ft')} "
        f"(density altitude {units.write(ws.density_altitude_m, 'ft')}); {remedy}."
    )


def smaller_notch(ws: Worksheet, cas_mps: float, notch: int, bank_rad: float = 0.0) -> tuple[int, float] | None:
    """The largest flap notch below this one that holds level flight as far above its own stall. (notch, m/s CAS)"""
    margin = cas_mps / ws.stall_cas_mps(notch)
    for less in range(notch - 1, -1, -1):
        try:
            speed = margin * ws.stall_cas_mps(less)
        except AirworkError:
            continue
        if holds_level(ws, speed, less, bank_rad):
            return less, speed
    return None


def holds_level(ws: Worksheet, cas_mps: float, notch: int, bank_rad: float = 0.0, reserve_mps: float = 0.0) -> bool:
    """Does full throttle hold it level, with a rate of climb to spare? True where no model can say."""
    if ws.performance is None:
        return True
    try:
        climb = climbing.climb(ws.performance, cas_mps, ws.at(notch, bank_rad))
    except AirworkError:
        return True
    return bool(float(climb.climb_rate_mps) >= reserve_mps)


def climb(
    ws: Worksheet, cas_mps: float, notch: int = 0, *, bank_rad: float = 0.0, name: str = "full-throttle climb"
) -> float | None:
    """Add the full-throttle rate of climb (or sink), with its RPM; the rate comes back. [m/s]"""
    if ws.performance is None:
        return None
    try:
        found = climbing.climb(ws.performance, cas_mps, ws.at(notch, bank_rad))
    except AirworkError as problem:
        ws.cautions.append(f"{name}: {problem}")
        return None
    rate, band = float(found.climb_rate_mps), float(found.climb_rate_90_mps)
    fpm, spread = (float(round(units.to_unit(v, "fpm") / 10.0) * 10) for v in (rate, band))
    also = f"at {_rounded(float(found.rpm)):,.0f} rpm"
    ws.note(name, fpm, "fpm", "fitted model", SOURCE, uncertainty=max(10.0, spread), also=also)
    return rate


def share(ws: Worksheet, ratio: float, cas_mps: float, notch: int = 0, name: str = "power") -> Power:
    """Add the RPM (or manifold pressure) that makes a share of rated power at a speed."""
    percent = f"{100 * ratio:.0f} %"
    if ws.performance is None:
        ws.cautions.append(NO_MODEL)
        return Power(ratio, percent)
    if not ws.airplane.fixed_pitch:
        revs = ws.performance.usual_rpm
        try:
            pressure = ws.airplane.manifold_pressure_for_power_pa(ratio, revs, ws.pressure_altitude_m, ws.temperature_k)
        except AirworkError as problem:
            ws.cautions.append(f"{percent} power: {problem}")
            return Power(ratio, percent)
        inches = round(units.to_unit(pressure, "inHg"), 1)
        ws.note(name, inches, "inHg", "handbook table", "power chart", also=f"{percent} at {revs:,.0f} rpm")
        return Power(ratio, f"{ws.airplane.book.write(inches, 'inHg')} at {revs:,.0f}")
    fastest = float(full_throttle_rpm(ws.performance, cas_mps, ws.at()))
    rpms = np.linspace(1400.0, min(fastest, ws.performance.redline_rpm), 60)
    got = climbing.climb(ws.performance, np.full(rpms.size, cas_mps), ws.at(notch), Setting(rpm=rpms)).power_ratio
    if ratio > float(got[-1]):
        return full_throttle(ws, cas_mps, notch, name)
    rpm = _rounded(float(np.interp(ratio, got, rpms)))
    ws.note(name, rpm, "rpm", "fitted model", SOURCE, also=f"{percent} of rated power")
    return Power(ratio, f"{rpm:,.0f} rpm")


def full_throttle(ws: Worksheet, cas_mps: float, notch: int = 0, name: str = "full throttle") -> Power:
    """Add the RPM to be seen at full throttle at a speed, and its percent power."""
    if ws.performance is None:
        return Power(1.0, "full throttle")
    try:
        found = climbing.climb(ws.performance, cas_mps, ws.at(notch))
    except AirworkError:
        return Power(1.0, "full throttle")
    ratio, rpm = float(found.power_ratio), _rounded(float(found.rpm))
    ws.note(name, rpm, "rpm", "fitted model", SOURCE, also=f"{100 * ratio:.0f} % of rated power today")
    return Power(ratio, f"full throttle, {rpm:,.0f} rpm")


def for_sink(
    ws: Worksheet, cas_mps: float, notch: int, sink_mps: float, *, name: str = "power", bank_rad: float = 0.0
) -> Power:
    """Add the power for a rate of descent (negative: climb) at a speed. Idle where even that sinks less."""
    if ws.performance is None:
        ws.cautions.append(NO_MODEL)
        return Power(0.35, "power as needed")
    fpm = f"{ws.airplane.book.rate(sink_mps)} down"
    try:
        if ws.airplane.fixed_pitch:
            fastest = float(full_throttle_rpm(ws.performance, cas_mps, ws.at()))
            scale = np.linspace(_LEAST_RPM, fastest, 80)
            setting = Setting(rpm=scale)
        else:
            scale = np.linspace(8.0, 30.0, 80)
            setting = Setting(manifold_pressure_pa=scale * units.INHG_PA)
        flown = climbing.climb(ws.performance, np.full(scale.size, cas_mps), ws.at(notch, bank_rad), setting)
    except AirworkError as problem:
        ws.cautions.append(f"{name}: {problem}")
        return Power(0.35, "power as needed")
    rates, ratios = np.asarray(flown.climb_rate_mps), np.asarray(flown.power_ratio)
    good = np.isfinite(rates) & (ratios > 0.0)
    rates, ratios, scale = rates[good], ratios[good], scale[good]
    rising = np.concatenate([[True], np.diff(rates) > 0.0]) if rates.size else np.zeros(0, bool)
    rates, ratios, scale = rates[rising], ratios[rising], scale[rising]
    if rates.size < 2 or -sink_mps < rates[0]:
        ws.note(name, 0.0, "", "fitted model", SOURCE, also=f"throttle closed sinks no faster than {fpm}")
        return Power(0.1, "idle")
    if -sink_mps > rates[-1]:
        return full_throttle(ws, cas_mps, notch, name)
    found, ratio = float(np.interp(-sink_mps, rates, scale)), float(np.interp(-sink_mps, rates, ratios))
    if ws.airplane.fixed_pitch:
        rpm = _rounded(found)
        ws.note(name, rpm, "rpm", "fitted model", SOURCE, also=fpm)
        return Power(ratio, f"{rpm:,.0f} rpm")
    inches = round(found, 1)
    ws.note(name, inches, "inHg", "fitted model", SOURCE, also=f"{fpm}, {ws.performance.usual_rpm:,.0f} rpm")
    return Power(ratio, f"{ws.airplane.book.write(inches, 'inHg')} at {ws.performance.usual_rpm:,.0f}")


def idle_sink_mps(ws: Worksheet, cas_mps: float, notch: int = 0, load: float = 1.0) -> tuple[float, float] | None:
    """(rate of descent, 90 % half-width) with the throttle closed at a speed. [m/s]  None without a model."""
    if ws.performance is None:
        return None
    tas = ws.tas_mps(cas_mps)
    drag = -float(climbing.excess_thrust_n(ws.performance, tas, ws.at(notch), IDLE, load_factor=load))
    sink = tas * math.sin(math.atan(drag / (ws.conditions.mass_kg * G0_MPS2)))
    return sink, 0.12 * sink  # of the net force, as the model's speed changes take it


def cruise_cas_mps(ws: Worksheet, ratio: float, rpm: float | None = None) -> float | None:
    """Level speed at a share of rated power, or at an RPM, on the fast side. [m/s CAS]  None where there is none.

    Raises
    ------
    NotPossible : an RPM that holds no level flight today.
    """
    if ws.performance is None:
        return None
    stall = ws.stall_cas_mps(0)
    cas = np.linspace(1.2 * stall, 3.4 * stall, 120)
    try:
        flown = level_flight(ws.performance, cas, ws.at())
    except AirworkError:
        return None
    fast = flown.fast_side
    if not fast.size:
        return None
    if rpm is None:
        return float(np.interp(ratio, flown.power_ratio[fast], cas[fast]))
    turning = flown.rpm[fast]
    if not turning[0] <= rpm <= turning[-1]:
        low, high = turning[0], turning[-1]
        raise NotPossible(f"{rpm:,.0f} rpm is outside what holds level today ({low:,.0f} to {high:,.0f} rpm).")
    return float(np.interp(rpm, turning, cas[fast]))


def fastest_in_bank(ws: Worksheet, ias_limit_mps: float, bank_rad: float) -> float | None:
    """The highest speed, at a full 5 of the dial, up to a limit, that full throttle holds level in a bank. [m/s IAS]

    None where none does at 1.2 times the stall in the bank or more.
    """
    stall = ws.stall_cas_mps(0, 1.0 / math.cos(bank_rad))
    speed = ws.on_dial(ias_limit_mps, "down", 5.0)
    step = units.from_unit(5.0, ws.airplane.dial_unit)
    while speed > 0.0 and ws.cas(speed) >= 1.2 * stall:
        if holds_level(ws, ws.cas(speed), 0, bank_rad, reserve_mps=0.25):
            return speed
        speed -= step
    return None
