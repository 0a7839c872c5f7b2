"""Stall and target speeds for today's weight, as they stand on this airplane's airspeed indicator."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from airwork import units
from airwork.airplane.answer import Answer, table
from airwork.airplane.numbers.lines import Line, Section, refusal
from airwork.airplane.numbers.question import Today
from airwork.errors import NotPossible, OutOfRange
from airwork.values import Value

# Slow flight five to ten knots above the stall ([AFH] FAA-H-8083-3C ch. 5), on the dial
ABOVE_STALL_KT = (5.0, 10.0)


def dial_line(today: Today, key: str, name: str, ask: Callable[[], Answer], notch: int) -> Line:
    """A calibrated answer as the dial shows it, the other unit and the calibrated speed beside."""
    a = today.airplane
    try:
        answer = ask()
        ias = a.ias_from_cas_mps(answer.value, notch)
    except (OutOfRange, NotPossible) as problem:
        return refusal(key, name, problem)
    note = answer.note
    if a.calibration[notch].continued(ias):
        note = "; ".join(filter(None, [note, "below the calibration's first row, its slope continued"]))
    return _shown(today, key, name, replace(answer, value=ias, note=note), cas=replace(answer, note=""))


def _shown(today: Today, key: str, name: str, ias: Answer, cas: Answer | None = None) -> Line:
    a = today.airplane
    also = [("indicated", replace(ias, note="").shown(a.other_unit, 2))]
    if cas is not None:
        also.append(("calibrated", cas.shown("kt", 2)))
    return Line(key, name, a.dial(ias.value), ias.shown(a.dial_unit, 2), tuple(also))


def section(today: Today) -> Section:
    """Every stall, target and limit speed."""
    a, mass, density = today.airplane, today.mass_kg, today.density_altitude_m
    lines: list[Line] = []
    for notch in range(a.flaps_full + 1):
        if notch in a.stall_curves:
            name = f"stall, {notch_words(today, notch)}"
            lines.append(dial_line(today, f"stall_flaps_{notch}", name, partial(a.stall_answer, mass, notch), notch))
    lines += [_slow_flight(today, notch) for notch in sorted({0, a.flaps_full}) if notch in a.stall_curves]
    names = [n for n in a.v_speeds.names if not n.startswith("stall_flaps")]
    wanted = dict.fromkeys(["best_angle_of_climb", "best_rate_of_climb", "best_glide", "maneuvering", *names])
    wanted |= dict.fromkeys(["approach_flaps_up", *(["approach_flaps_full"] if a.flaps_full else [])])
    for speed in wanted:
        ask = partial(a.speed_answer, speed, mass, density)
        title = speed.replace("_flaps_", ", flaps ").replace("_", " ")
        line = dial_line(today, speed, title, ask, a.speed_notch(speed))
        if line.value is not None or speed in a.v_speeds.names:  # a speed the file never had is no refusal
            lines.append(line)
    lines += _limits(today)
    stall = a.file.performance.stall
    conditions = f"; stall: {stall.conditions}" if stall is not None and stall.conditions else ""
    remark = f"at {units.write(mass, a.book.mass)}, as the dial shows them{conditions}"
    return Section("speeds", "Speeds", tuple(lines), remark)


def notch_words(today: Today, notch: int) -> str:
    """ "flaps up", "flaps 1 (12°)", "flaps full (36°)"."""
    if notch == 0:
        return "flaps up"
    flap = today.airplane.flap_notches[notch]
    degrees = f" ({flap.deflection_deg:g}°)" if flap.deflection_deg is not None else ""
    return f"flaps {'full' if notch == today.airplane.flaps_full else notch}{degrees}"


def _slow_flight(today: Today, notch: int) -> Line:
    """Five to ten knots above today's stall, right for the unit of the dial."""
    a = today.airplane
    key, name = (f"slow_flight_flaps_{notch}", f"stall + 5 to 10 kt, {'flaps up' if notch == 0 else 'flaps full'}")
    try:
        stall = a.stall_answer(today.mass_kg, notch)
        ias = a.ias_from_cas_mps(stall.value, notch)
    except (OutOfRange, NotPossible) as problem:
        return refusal(key, name, problem)
    low, high = (ias + units.from_unit(kt, "kt") for kt in ABOVE_STALL_KT)
    source = f"{stall.source} plus 5 to 10 kt indicated"
    ends = {
        unit: (round(units.to_unit(low, unit), 2), round(units.to_unit(high, unit), 2))
        for unit in (a.dial_unit, a.other_unit)
    }
    (d0, d1), (o0, o1) = ends[a.dial_unit], ends[a.other_unit]
    text = f"{d0:.0f} to {d1:.0f} {a.dial_unit} ({o0:.0f} to {o1:.0f} {a.other_unit})"
    also = (
        ("lower end", Value(d0, a.dial_unit, "formula", source)),
        ("upper end", Value(d1, a.dial_unit, "formula", source)),
        ("lower end", Value(o0, a.other_unit, "formula", source)),
        ("upper end", Value(o1, a.other_unit, "formula", source)),
    )
    value = Value(d0, a.dial_unit, "formula", source, note="")
    return Line(key, name, text, value, also)


def _limits(today: Today) -> list[Line]:
    limits = today.airplane.limits
    out = []
    for notch in today.airplane.flap_notches:
        if notch.notch > 0 and notch.max_ias_mps is not None:
            name = f"at most with {notch_words(today, notch.notch)}"
            key = f"maximum_flaps_{notch.notch}"
            out.append(_shown(today, key, name, Answer(notch.max_ias_mps, "handbook table", table("flaps"))))
    for key, name, ias in (
        ("maximum_flaps_extended", "maximum, flaps extended", limits.max_flaps_extended_ias_mps),
        ("maximum_structural_cruise", "maximum structural cruise", limits.max_structural_cruise_ias_mps),
        ("never_exceed", "never exceed", limits.never_exceed_ias_mps),
    ):
        if ias is not None:
            out.append(_shown(today, key, name, Answer(ias, "handbook table", table("limitations"))))
    return out
