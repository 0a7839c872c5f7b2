"""A level turn at the bank asked: load factor, stall in the bank, rate and radius."""

from __future__ import annotations

from functools import partial

from airwork import units
from airwork.airdata import turn as turning
from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airplane.numbers.lines import Line, Section, refusal, written
from airwork.airplane.numbers.question import Today
from airwork.airplane.numbers.speeds import dial_line, notch_words
from airwork.airplane.vspeeds import APPROACH_FACTOR
from airwork.errors import NotPossible, OutOfRange
from airwork.values import How, Value

TURN = "level, coordinated turn"


def section(today: Today) -> Section:
    """Load factor, stall in the bank for each notch, and the turn at a speed."""
    a, q = today.airplane, today.question
    bank = q.bank_rad or 0.0
    load = float(turning.load_factor(bank))
    value = Value(round(load, 3), "g", "formula", "1/cos(bank)")
    lines = [Line("load_factor", "load factor", f"{load:.2f} g", value)]
    notches = range(a.flaps_full + 1) if q.flap_notch is None else [q.flap_notch]
    for notch in notches:
        top = a.limits.load_factor_flaps_up[1] if notch == 0 else a.limits.load_factor_flaps_down[1]
        if load > top + 1e-9:
            why = NotPossible(
                f"{load:.2f} g is over the limit of {top:g} g {'flaps up' if notch == 0 else 'with flaps'}"
            )
            lines.append(refusal(f"stall_in_bank_flaps_{notch}", f"stall, {notch_words(today, notch)}", why))
            continue
        if notch in a.stall_curves:
            name = f"stall, {notch_words(today, notch)}"
            ask = partial(a.stall_answer, today.mass_kg, notch, load)
            lines.append(dial_line(today, f"stall_in_bank_flaps_{notch}", name, ask, notch))
    lines += _path(today, bank, load)
    return Section("turn", f"Bank {units.write(bank, 'deg')}", tuple(lines))


def _usual_cas(today: Today, notch: int) -> tuple[float, str]:
    """The speed of a turn nobody gave a speed for, calibrated, and what it is. [m/s]"""
    a = today.airplane
    if notch == 0:
        return a.speed_cas_mps("maneuvering", today.mass_kg, today.density_altitude_m), "maneuvering, none was given"
    return APPROACH_FACTOR * a.stall_answer(today.mass_kg, notch).value, "1.3 times the stall, none was given"


def _path(today: Today, bank: float, load: float) -> list[Line]:
    """Rate, radius and time for a full turn at the speed asked, or at maneuvering speed."""
    a, q = today.airplane, today.question
    notch = q.flap_notch or 0
    try:
        if q.ias_mps is None:
            cas, words = _usual_cas(today, notch)
            ias = a.ias_from_cas_mps(cas, notch)
        else:
            cas, ias, words = a.cas_from_ias_mps(q.ias_mps, notch), q.ias_mps, "as asked"
    except (OutOfRange, NotPossible) as problem:
        return [refusal("turn_radius", "rate and radius", problem)]
    tas = float(tas_from_cas_mps(cas, today.pressure_altitude_m, today.temperature_k))
    how: How = "assumed" if q.ias_mps is None else "given"
    note = words if q.ias_mps is None else ""
    speed = Value(round(units.to_unit(ias, a.dial_unit), 2), a.dial_unit, how, words, note=note)
    true = Value(round(units.to_unit(tas, "kt"), 1), "kt", "formula", "true airspeed, compressible")
    lines = [Line("turn_speed", "at", f"{a.dial(ias)}, {written(true)} true", speed, (("true", true),))]
    if bank <= 0:
        return lines
    rate = units.to_unit(float(turning.turn_rate_radps(tas, bank)), "deg")
    radius = units.to_unit(float(turning.turn_radius_m(tas, bank)), "ft")
    seconds = 360.0 / rate
    full = Value(round(seconds, 1), "s", "formula", TURN)
    turned = Value(round(rate, 2), "deg/s", "formula", TURN)
    wide = Value(round(radius), "ft", "formula", TURN, note="still air")
    text = f"{rate:.1f}°/s, full turn in {seconds:.0f} s"
    lines.append(Line("turn_rate", "rate of turn", text, turned, (("full turn", full),)))
    lines.append(Line("turn_radius", "radius", written(wide), wide))
    if notch in a.stall_curves:
        margin = cas / float(a.stall_curves[notch].cas(today.mass_kg, load))
        if margin < 1.0:
            today.cautions.append("at this speed the airplane stalls before it reaches this bank.")
        value = Value(round(margin, 2), "", "formula", "calibrated speed over the stall in the bank")
        lines.append(Line("stall_margin", "over the stall in the bank", f"{margin:.2f} times", value))
    return lines
