"""An airplane's tables as charts to point at: curves read from the tables themselves, numbers in a table behind.

Nothing is read outside the printed rows; where the core refuses, the curve ends.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any, NamedTuple

import numpy as np

from airwork import units
from airwork.airdata.turn import load_factor
from airwork.airplane import Airplane, runway
from airwork.airplane.book_units import BookUnits
from airwork.errors import AirworkError
from airwork.output.chart import Chart
from airwork.output.drawing import Axis, Line, Mark, xy_svg

TEMPERATURE = "temperature, °C"
STEEPEST_DEG = 60.0  # of bank: beyond it nobody turns level in these airplanes
DIAL_ENDS = 30.0, 220.0  # readings looked at, in the dial's unit: all that these airplanes fly
SAMPLES = 41  # of each curve, besides the ends of all of them
MOST_CURVES = 9  # more can't be told apart
Ask = Callable[[float], float]


def charts_of(airplane: Airplane) -> list[Chart]:
    """Every chart the airplane's tables give."""
    made: list[Chart] = []
    for make in (_power, _fuel, _climb, _takeoff, _landing, _stall, _calibration):
        try:
            made += list(make(airplane))
        except AirworkError:
            continue
    return made


def _axis(what: str) -> str:
    """An axis' name with its unit after a comma rather than in square brackets."""
    name, _, unit = what.partition(" [")
    return f"{name}, {unit.rstrip(']')}" if unit else name


class _Curve(NamedTuple):
    """A curve that can be read between its own ends."""

    name: str
    start: float
    end: float
    ask: Ask


class _Kind(NamedTuple):
    """What the charts of one table have in common."""

    key: str
    x_name: str
    y_name: str
    digits: int
    note: str = ""


def _chart(kind: _Kind, title: str, curves: Sequence[_Curve], number: int | None = None) -> Iterator[Chart]:
    """A chart from its curves; none without one. number : of several of a kind."""
    if not curves:
        return
    low, high = min(c.start for c in curves), max(c.end for c in curves)
    ends = {end for c in curves for end in (c.start, c.end)}
    x = sorted(set(np.round(np.linspace(low, high, SAMPLES), 4).tolist()) | ends)
    read = [(c.name, [_read(c.ask, at, kind.digits) if c.start <= at <= c.end else None for at in x]) for c in curves]
    key = kind.key if number is None else f"{kind.key}{number}"
    yield Chart(key, title, kind.x_name, kind.y_name, x, read, kind.note)


def _read(ask: Callable[[float], float], at: float, digits: int) -> float | None:
    try:
        value = float(ask(at))
    except AirworkError:
        return None
    return round(value, digits) if math.isfinite(value) else None


def _power(airplane: Airplane) -> Iterator[Chart]:
    """Percent power over RPM or manifold pressure, a curve for each printed altitude (and RPM)."""
    grid = airplane.engine.chart
    if grid is None:
        return
    *outer, last = grid.axes
    kind = _Kind("power", _axis(last.what), "percent power", 1, f"curves: {outer[-1].what.split(' [')[0]}")
    if len(outer) == 1:
        curves = [_Curve(f"{k:,.0f} ft", *grid.span(k), partial(grid, k)) for k in _some(sorted(grid.tree))]
        yield from _chart(kind, "Percent power", curves, 0)
        return
    for number, feet in enumerate(_some(sorted(grid.tree))):
        rpms = _some(sorted(grid.tree[feet]))  # type: ignore[arg-type]
        curves = [_Curve(f"{k:,.0f} rpm", *grid.span(feet, k), partial(grid, feet, k)) for k in rpms]
        yield from _chart(kind, f"Percent power at {feet:,.0f} ft pressure altitude", curves, number)


def _climb(airplane: Airplane) -> Iterator[Chart]:
    """Rate of climb over temperature, a curve for each printed pressure altitude, a chart for each of four weights."""
    climb, book = airplane.file.performance.climb, airplane.book
    rows = [] if climb is None else [r for r in climb.rows if r.rate_of_climb_fpm is not None]
    kind = _Kind("climb", TEMPERATURE, book.climb, book.digits("fpm"), "curves: pressure altitude")
    return _by_altitude(kind, "Rate of climb", _heaviest(rows, 4), partial(_climb_rate, airplane), book)


def _takeoff(airplane: Airplane) -> Iterator[Chart]:
    """Takeoff distance over 50 ft, a curve for each printed pressure altitude, a chart for each of two weights."""
    return _distances(airplane, airplane.file.performance.takeoff, runway.takeoff, "Takeoff")


def _landing(airplane: Airplane) -> Iterator[Chart]:
    """Landing distance over 50 ft, likewise."""
    return _distances(airplane, airplane.file.performance.landing, runway.landing, "Landing")


def _distances(airplane: Airplane, table: Any, ask: Any, word: str) -> Iterator[Chart]:
    """Distances over temperature as the handbook prints them: no wind, paved and dry, no safety factor."""
    rows = [] if table is None else [r for r in table.rows if r.oat_c is not None and r.total_over_50_ft is not None]
    unit = {"ft": "feet", "m": "meters"}[airplane.book.runway]
    kind = _Kind(word.lower(), TEMPERATURE, unit, 0, "curves: pressure altitude; no wind, no safety factor")
    title = f"{word} over {airplane.book.over}"
    return _by_altitude(kind, title, _heaviest(rows, 2), partial(_over_50_ft, ask, airplane), airplane.book)


def _heaviest(rows: Sequence[Any], most: int) -> list[Any]:
    """The rows of the heaviest weights printed."""
    weights = sorted({r.weight_lb for r in rows}, reverse=True)[:most]
    return [r for r in rows if r.weight_lb in weights]


def _by_altitude(kind: _Kind, title: str, rows: Sequence[Any], ask: Any, book: BookUnits) -> Iterator[Chart]:
    """A chart over temperature for each weight, the heaviest first, a curve for each printed pressure altitude."""
    for number, weight in enumerate(sorted({r.weight_lb for r in rows}, reverse=True)):
        curves = []
        for altitude in _some(sorted({r.pressure_altitude_ft for r in rows if r.weight_lb == weight})):
            temps = [r.oat_c for r in rows if r.weight_lb == weight and r.pressure_altitude_ft == altitude]
            at = partial(ask, units.from_unit(weight, "lb"), units.from_unit(altitude, "ft"))
            curves.append(_Curve(f"{altitude:,.0f} ft", min(temps), max(temps), at))
        yield from _chart(kind, f"{title} at {book.write(weight, 'lb')}", curves, number)


def _over_50_ft(ask: Any, airplane: Airplane, mass_kg: float, pressure_altitude_m: float, oat_c: float) -> float:
    found = ask(airplane, mass_kg, pressure_altitude_m, units.from_unit(oat_c, "°C"), factor=1.0)
    return math.nan if found.over_50_ft_m is None else units.to_unit(found.over_50_ft_m, airplane.book.runway)


def _fuel(airplane: Airplane) -> Iterator[Chart]:
    """Fuel flow over power, a curve for each mixture, between the powers the cruise table prints."""
    cruise = airplane.file.performance.cruise
    powers = [r.percent_power for r in cruise.rows if r.percent_power is not None] if cruise else []
    if not powers:
        return
    low, high = float(min(powers)), float(max(powers))
    curves = [
        _Curve(mixture.replace("_", " "), low, high, partial(_flow, airplane, mixture))
        for mixture in ("full_rich", "best_power", "best_economy")
    ]
    unit = airplane.book.flow.replace("gph", "gal/h")
    yield from _chart(_Kind("fuel", "percent power", unit, 1, "curves: mixture"), "Fuel flow", curves)


def _flow(airplane: Airplane, mixture: Any, percent: float) -> float:
    return units.to_unit(airplane.fuel_flow_m3ps(percent / 100.0, mixture), airplane.book.flow)


def _stall(airplane: Airplane) -> Iterator[Chart]:
    """Stall speed over bank at the maximum weight, a curve for each flap notch, as on the dial."""
    mass, note = airplane.max_takeoff_mass_kg, "curves: flaps; the load factor of a level turn"
    curves = []
    for n in airplane.flap_notches:
        name = n.name or ("flaps up" if n.notch == 0 else f"notch {n.notch}")
        curves.append(_Curve(name, 0.0, STEEPEST_DEG, partial(_stall_ias, airplane, mass, n.notch)))
    title = f"Stall speed in a level turn at {units.write(mass, airplane.book.mass)}, power idle"
    yield from _chart(_Kind("stall", "bank, °", f"indicated, {airplane.dial_unit}", 1, note), title, curves)


def _calibration(airplane: Airplane) -> Iterator[Chart]:
    """Calibrated over indicated airspeed."""
    unit = airplane.dial_unit
    curves = []
    low, high = (units.from_unit(reading, unit) for reading in DIAL_ENDS)
    for name, notch in (("flaps up", 0), ("flaps full", airplane.flaps_full)):
        curve = airplane.calibration[notch]
        good = [s for s in np.linspace(low, high, 400) if not curve.assumed and math.isfinite(float(curve.cas(s)))]
        if good:
            first, last = math.ceil(units.to_unit(good[0], unit)), math.floor(units.to_unit(good[-1], unit))
            curves.append(_Curve(name, first, last, partial(_calibrated, curve, unit)))
    kind = _Kind("calibration", f"indicated, {unit}", f"calibrated, {unit}", 1)
    yield from _chart(kind, "Airspeed calibration", curves)


def _climb_rate(airplane: Airplane, mass_kg: float, pressure_altitude_m: float, oat_c: float) -> float:
    return units.to_unit(
        airplane.climb_rate_mps(mass_kg, pressure_altitude_m, units.from_unit(oat_c, "°C")), airplane.book.climb
    )


def _stall_ias(airplane: Airplane, mass_kg: float, notch: int, bank_deg: float) -> float:
    load = float(load_factor(math.radians(bank_deg)))
    return units.to_unit(
        float(airplane.ias_from_cas_mps(float(airplane.stall_cas_mps(mass_kg, notch, load)), notch)), airplane.dial_unit
    )


def _calibrated(curve: Any, unit: str, ias: float) -> float:
    return units.to_unit(float(curve.cas(units.from_unit(ias, unit))), unit)


def envelope_svg(airplane: Airplane, at: tuple[float, float] | None) -> str:
    """The permitted area of weight and arm; `at` is (arm [m], mass [kg]) of a loading asked about."""
    wb = airplane.file.weight_and_balance
    if wb is None:
        return ""
    lines, book = [], airplane.book
    for name in ("normal", "utility"):
        envelope = getattr(wb, f"envelope_{name}", None)
        if envelope is not None:
            points = [(book.number(p.arm_in, "in"), book.number(p.weight_lb, "lb")) for p in envelope.polygon]
            lines.append(Line(name, [*points, points[0]], "edge"))
    empty = (book.number(wb.empty_arm_in, "in"), book.number(wb.empty_weight_lb, "lb"))
    marks = [Mark("empty", *empty)]
    lines.append(Line("", [empty], "edge"))
    if at is not None:
        spot = (units.to_unit(at[0], book.arm), units.to_unit(at[1], book.mass))
        marks.append(Mark("loaded", *spot))
        lines.append(Line("", [spot], "edge"))
    label = "permitted area of weight and center of gravity"
    return xy_svg(lines, marks, Axis(f"arm, {book.arm}"), Axis(f"weight, {book.mass}"), label=label)


def _some(keys: list[float]) -> list[float]:
    """Few enough keys to tell their curves apart, first and last kept."""
    if len(keys) <= MOST_CURVES:
        return keys
    picks = sorted({round(k * (len(keys) - 1) / (MOST_CURVES - 1)) for k in range(MOST_CURVES)})
    return [keys[p] for p in picks]
