"""Everything the model answers for one weight and air, each with its band, in printed units."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from airwork.airdata.atmosphere import standard_air
from airwork.airplane.book_units import BookUnits
from airwork.airplane.engine import Mixture
from airwork.airplane.performance import accuracy
from airwork.airplane.performance.answers import LevelFlight
from airwork.airplane.performance.brackets import stall_recovery_m, turn_back_m
from airwork.airplane.performance.climbing import change_speed, climb
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.fuel import fuel_flow
from airwork.airplane.performance.gliding import best_glide, min_sink
from airwork.airplane.performance.level import level_flight, require_level
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.speeds import back_side, max_level_speed
from airwork.airplane.performance.turning import sustained_bank
from airwork.errors import AirworkError, NotPossible
from airwork.units import KT_MPS, to_unit, write

SLOW_FLIGHT, CRUISE_POWER = 1.2, 0.65  # slow flight: times the stall speed; cruise: share of rated power
_TURN_BANK = np.radians(45.0)


@dataclass(frozen=True, slots=True)
class Line:
    """One answer: what, the value and its 90 % half-width in `unit`, a remark. `value` None: refused, see `note`."""

    subject: str
    name: str
    value: float | None
    half_width_90: float | None
    unit: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class _Day:
    p: Performance
    at: Condition

    @property
    def mass_kg(self) -> float:
        return float(self.at.mass_kg)

    def dial(self, cas_mps: float, notch: int = 0) -> str:
        ias = float(self.p.airplane.calibration[notch].ias(cas_mps))
        return self.p.airplane.dial(ias) if np.isfinite(ias) else f"{to_unit(cas_mps, 'kt'):.0f} KCAS"


def todays_answers(performance: Performance, at: Condition) -> list[Line]:
    """All answers for one weight and air, every flap setting. Never raises for what can't be flown: it says so."""
    day = _Day(performance, at)
    lines: list[Line] = []
    for part in (_slow_flight, _cruise, _climbs, _power_curve, _turns, _glides, _changes, _brackets):
        lines += part(day)
    return [_as_printed(line, performance.airplane.book) for line in lines]


def _as_printed(line: Line, book: BookUnits) -> Line:
    if line.value is None or book.unit(line.unit) == line.unit:
        return line
    value, half = (None if x is None else book.number(x, line.unit) for x in (line.value, line.half_width_90))
    return replace(line, value=value, half_width_90=half, unit=book.unit(line.unit))


def _flaps(day: _Day, notch: int) -> str:
    full = day.p.airplane.flaps_full
    return "flaps up" if notch == 0 else ("full flaps" if notch == full else f"flap notch {notch}")


def _notches(day: _Day) -> Iterator[tuple[int, float]]:
    """(notch, stall speed CAS) for notches with one."""
    for notch in day.p.airplane.stall_curves:
        yield notch, day.p.airplane.stall_cas_mps(day.mass_kg, notch)


def _slow_flight(day: _Day) -> Iterator[Line]:
    for notch, stall in _notches(day):
        cas = SLOW_FLIGHT * stall
        subject = f"slow flight, {_flaps(day, notch)}, {day.dial(cas, notch)}"
        try:
            answer = require_level(day.p, cas, day.at.with_flaps(notch))
        except NotPossible as refused:
            yield Line(subject, "level flight", None, None, "", str(refused))
            continue
        if bool(answer.marginal):
            word = "about as much as full throttle gives: it may or may not be held"
            yield Line(subject, "level flight", None, None, "", f"marginal: {word}")
        yield from _setting(day, subject, answer)
        pitch, half = np.degrees(float(answer.pitch_rad)), np.degrees(float(answer.pitch_90_rad))
        note = "" if day.p.attitude.known_zero else "from level in cruise; note a pitch reading to set the zero"
        yield Line(subject, "pitch attitude", float(pitch), float(half), "°", note)


def _setting(day: _Day, subject: str, answer: LevelFlight) -> Iterator[Line]:
    """RPM or manifold pressure, power and fuel of a level flight."""
    if day.p.fixed is not None:
        yield Line(subject, "RPM", float(answer.rpm), float(answer.rpm_90), "rpm")
    else:
        pressures = (answer.manifold_pressure_pa, answer.manifold_pressure_90_pa)
        inhg, half = (to_unit(float(x), "inHg") for x in pressures)
        yield Line(subject, "manifold pressure", inhg, half, "inHg", f"at {float(answer.rpm):,.0f} RPM")
    power = float(answer.power_ratio)
    yield Line(subject, "power", 100.0 * power, 100.0 * float(answer.power_90), "%")
    pressure, line = float(standard_air(day.at.pressure_altitude_m).pressure_pa), day.p.learned.fuel
    mixtures: dict[str, Mixture] = {"full rich": "full_rich"}
    if line is not None and line.leaner:
        mixtures["leaned"] = "best_power"
    for named, mixture in mixtures.items():
        try:
            flow = fuel_flow(day.p, power, mixture, pressure)
        except AirworkError as refused:
            yield Line(subject, f"fuel flow, {named}", None, None, "gph", str(refused))
            continue
        gph, half = to_unit(flow.flow_m3ps, "gph"), to_unit(flow.flow_90_m3ps, "gph")
        yield Line(subject, f"fuel flow, {named}", gph, half, "gph", flow.source)


def _cruise(day: _Day) -> Iterator[Line]:
    stall = float(day.p.airplane.stall_cas_mps(day.mass_kg))
    cas = np.linspace(accuracy.LOWEST_SPEED * stall * 1.00001, day.p.never_exceed_cas_mps * 0.99999, 240)
    answer = level_flight(day.p, cas, day.at)
    fast = answer.fast_side
    power, rising = answer.power_ratio[fast], cas[fast]
    subject = f"cruise, {CRUISE_POWER:.0%} power"
    if not (fast.size and power[0] < CRUISE_POWER < power[-1]):
        yield Line(subject, "level flight", None, None, "", "this power is not there at this altitude and temperature")
        return
    speed = float(np.interp(CRUISE_POWER, power, rising))
    one = level_flight(day.p, speed, day.at)
    subject = f"{subject}, {day.dial(speed)}"
    yield from _setting(day, subject, one)
    per = float(np.interp(speed, rising[1:], np.diff(rising) / np.diff(power)))
    half = to_unit(abs(per) * float(one.power_90), "kt")
    yield Line(subject, "true airspeed", to_unit(float(one.tas_mps), "kt"), half, "kt")


def _climbs(day: _Day) -> Iterator[Line]:
    stall = float(day.p.airplane.stall_cas_mps(day.mass_kg))
    cas = np.linspace(accuracy.LOWEST_SPEED * stall * 1.00001, 2.6 * stall, 200)
    answer = climb(day.p, cas[cas < day.p.never_exceed_cas_mps], day.at)
    for name, best in (("best rate", answer.climb_rate_mps), ("best angle", answer.gradient)):
        i = int(np.nanargmax(best))
        subject = f"full-throttle climb, {name}, {day.dial(float(cas[i]))}"
        rate, half = to_unit(float(answer.climb_rate_mps[i]), "fpm"), to_unit(float(answer.climb_rate_90_mps[i]), "fpm")
        gradient = 100.0 * float(answer.gradient[i])
        yield Line(subject, "rate of climb", rate, half, "ft/min", f"gradient {gradient:.1f} %")
    try:
        top = max_level_speed(day.p, day.at)
    except NotPossible as refused:
        yield Line("fastest level flight", "true airspeed", None, None, "kt", str(refused))
        return
    note = f"{day.dial(top.cas_mps)}, limited by {top.limit}"
    yield Line(
        "fastest level flight", "true airspeed", to_unit(top.tas_mps, "kt"), to_unit(top.cas_90_mps, "kt"), "kt", note
    )


def _power_curve(day: _Day) -> Iterator[Line]:
    for notch, _ in _notches(day):
        if notch not in (0, day.p.airplane.flaps_full):
            continue
        back = back_side(day.p, day.at.with_flaps(notch))
        subject = f"power curve, {_flaps(day, notch)}"
        speed, half = to_unit(back.min_power_cas_mps, "kt"), to_unit(back.min_power_cas_90_mps, "kt")
        yield Line(subject, "speed of least power", speed, half, "KCAS", day.dial(back.min_power_cas_mps, notch))
        cost = -to_unit(back.climb_rate_per_kt_mps, "fpm")
        name = f"climb lost by a knot slower at {day.dial(back.at_cas_mps, notch)}"
        side = "on the back side" if back.on_back_side else "not on the back side"
        yield Line(subject, name, cost, None, "ft/min", side)


def _turns(day: _Day) -> Iterator[Line]:
    for notch, stall in _notches(day):
        for factor in (1.3, 1.7) if notch == 0 else (1.3,):
            if notch not in (0, day.p.airplane.flaps_full):
                continue
            cas = factor * stall
            answer = sustained_bank(day.p, cas, day.at.with_flaps(notch))
            subject = f"steepest level turn, full throttle, {_flaps(day, notch)}, {day.dial(cas, notch)}"
            if not bool(answer.possible):
                yield Line(subject, "bank", None, None, "°", "can't hold level even with wings level")
                continue
            bank, half = np.degrees(float(answer.bank_rad)), np.degrees(float(answer.bank_90_rad))
            yield Line(subject, "bank", float(bank), float(half), "°", f"limited by {answer.limit}")


def _glides(day: _Day) -> Iterator[Line]:
    for name, glide in (("best glide", best_glide(day.p, day.at)), ("least sink", min_sink(day.p, day.at))):
        subject = f"{name}, {day.dial(glide.cas_mps)}"
        yield Line(subject, "glide ratio", glide.glide_ratio, glide.glide_ratio_90, "", glide.source)
        yield Line(subject, "sink", to_unit(glide.sink_mps, "fpm"), to_unit(glide.sink_90_mps, "fpm"), "ft/min")
        lost = to_unit(glide.height_per_turn_m(_TURN_BANK), "ft")
        half = lost * glide.glide_ratio_90 / glide.glide_ratio
        yield Line(subject, "height lost in 360° at 45° of bank", lost, half, "ft")


def _changes(day: _Day) -> Iterator[Line]:
    stall = float(day.p.airplane.stall_cas_mps(day.mass_kg))
    try:
        fast = min(0.85 * max_level_speed(day.p, day.at).cas_mps, 2.2 * stall)
    except NotPossible:
        return
    slow = SLOW_FLIGHT * stall
    if fast <= slow + KT_MPS:
        return
    for start, end in ((fast, slow), (slow, fast)):
        subject = f"{day.dial(start)} to {day.dial(end)}, level, flaps up"
        try:
            change = change_speed(day.p, start, end, day.at)
        except NotPossible as refused:
            yield Line(subject, "time", None, None, "s", str(refused))
            continue
        yield Line(subject, "time", change.time_s, change.time_90_s, "s", change.power)


def _brackets(day: _Day) -> Iterator[Line]:
    found = [
        (f"stall recovery, {_flaps(day, notch)}", stall_recovery_m(day.p, day.at.with_flaps(notch)))
        for notch, _ in _notches(day)
        if notch in (0, day.p.airplane.flaps_full)
    ]
    found.append(("turn back after takeoff", turn_back_m(day.p, day.at)))
    for subject, bracket in found:
        for height, means in ((bracket.low, bracket.low_means), (bracket.high, bracket.high_means)):
            yield Line(subject, means, to_unit(height, "ft"), None, "ft")
        yield Line(subject, "caution", None, None, "", bracket.caution)


def title_of(performance: Performance, at: Condition) -> str:
    """Airplane, weight and air in one line."""
    weight, height = (
        write(float(at.mass_kg), performance.airplane.book.mass),
        write(float(at.pressure_altitude_m), "ft"),
    )
    return f"{performance.airplane.name}: {weight}, pressure altitude {height}, {write(float(at.temperature_k), '°C')}"
