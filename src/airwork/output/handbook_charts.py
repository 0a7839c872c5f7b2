"""An airplane's tables as charts to point at: curves read from the tables themselves, numbers in a table behind.

Nothing is read outside the printed rows; where the core refuses, the curve ends.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Any

import numpy as np

from airwork import units
from airwork.airdata.turn import load_factor
from airwork.airplane import Airplane, runway
from airwork.airplane.book_units import BookUnits
from airwork.errors import AirworkError
from airwork.output.chart import Chart
from airwork.output.drawing import Axis, Line, Mark, xy_svg

SAMPLES = 41  # of each curve, besides the ends of all of them
MOST_CURVES = 9  # more can't be told apart
Ask = Callable[[float], float]


def charts_of(airplane: Airplane) -> list[Chart]:
    """Every chart the airplane's tables give."""
    made: list[Chart] = []
    for make in (_power, _fuel, _climb, _takeoff, _landing, _stall, _calibration):
        try:
            made += make(airplane)
        except AirworkError:
            continue
    return made


def _axis(what: str) -> str:
    """An axis' name with its unit after a comma rather than in square brackets."""
    name, _, unit = what.partition(" [")
    return f"{name}, {unit.rstrip(']')}" if unit else name


def _curves(
    key: str, title: str, x_name: str, y_name: str, lines: Sequence[tuple[str, float, float, Ask]], digits: int,
    note: str = "",
) -> list[Chart]:  # fmt: skip
    """A chart from curves that can each be read between their own ends: (name, from, to, how); none without a curve."""
    if not lines:
        return []
    low, high = min(s[1] for s in lines), max(s[2] for s in lines)
    x = sorted(set(np.round(np.linspace(low, high, SAMPLES), 4).tolist()) | {e for s in lines for e in s[1:3]})
    curves = [
        (name, [_read(ask, at, digits) if start <= at <= end else None for at in x]) for name, start, end, ask in lines
    ]
    return [Chart(key, title, x_name, y_name, x, curves, note)]


def _read(ask: Callable[[float], float], at: float, digits: int) -> float | None:
    try:
        value = float(ask(at))
    except AirworkError:
        return None
    return round(value, digits) if math.isfinite(value) else None


def _power(airplane: Airplane) -> Iterable[Chart]:
    """Percent power over RPM or manifold pressure, a curve for each printed altitude (and RPM)."""
    grid = airplane.engine.chart
    if grid is None:
        return []
    *outer, last = grid.axes
    found: list[Chart] = []
    for first in _some(sorted(grid.tree)) if len(outer) == 2 else [None]:
        keys: list[tuple[float, ...]]
        if first is None:
            keys = [(k,) for k in _some(sorted(grid.tree))]
        else:
            keys = [(first, k) for k in _some(sorted(grid.tree[first]))]  # type: ignore[arg-type]
        unit = "ft" if first is None else "rpm"
        lines = [(f"{k[-1]:,.0f} {unit}", *grid.span(*k), partial(grid, *k)) for k in keys]
        title = "Percent power" if first is None else f"Percent power at {first:,.0f} ft pressure altitude"
        note = f"curves: {outer[-1].what.split(' [')[0]}"
        found += _curves(f"power{len(found)}", title, _axis(last.what), "percent power", lines, 1, note)
    return found


def _climb(airplane: Airplane) -> Iterable[Chart]:
    """Rate of climb over temperature, a curve for each printed pressure altitude, a chart for each weight."""
    climb = airplane.file.performance.climb
    rows = [] if climb is None else [r for r in climb.rows if r.rate_of_climb_fpm is not None]
    return _by_altitude(
        rows, partial(_climb_rate, airplane), 4, "climb", "Rate of climb", airplane.book.climb, "", airplane.book
    )


def _takeoff(airplane: Airplane) -> Iterable[Chart]:
    """Takeoff distance over 50 ft, a curve for each printed pressure altitude, a chart for each of two weights."""
    return _distances(airplane, airplane.file.performance.takeoff, runway.takeoff, "takeoff", "Takeoff")


def _landing(airplane: Airplane) -> Iterable[Chart]:
    """Landing distance over 50 ft, likewise."""
    return _distances(airplane, airplane.file.performance.landing, runway.landing, "landing", "Landing")


def _distances(airplane: Airplane, table: Any, ask: Any, key: str, word: str) -> list[Chart]:
    """Distances over temperature as the handbook prints them: no wind, paved and dry, no safety factor."""
    rows = [] if table is None else [r for r in table.rows if r.oat_c is not None and r.total_over_50_ft is not None]
    more, unit = "; no wind, no safety factor", {"ft": "feet", "m": "meters"}[airplane.book.runway]
    return _by_altitude(
        rows,
        partial(_over_50_ft, ask, airplane),
        2,
        key,
        f"{word} over {airplane.book.over}",
        unit,
        more,
        airplane.book,
    )


def _by_altitude(
    rows: list[Any], ask: Any, most: int, key: str, word: str, unit: str, more: str, book: BookUnits
) -> list[Chart]:
    """Charts over temperature, a curve for each printed pressure altitude, for the `most` heaviest weights."""
    found: list[Chart] = []
    for weight in sorted({r.weight_lb for r in rows}, reverse=True)[:most]:
        lines: list[tuple[str, float, float, Ask]] = []
        for altitude in _some(sorted({r.pressure_altitude_ft for r in rows if r.weight_lb == weight})):
            temps = [r.oat_c for r in rows if r.weight_lb == weight and r.pressure_altitude_ft == altitude]
            at = partial(ask, units.from_unit(weight, "lb"), units.from_unit(altitude, "ft"))
            lines.append((f"{altitude:,.0f} ft", min(temps), max(temps), at))
        title, note = f"{word} at {book.write(weight, 'lb')}", f"curves: pressure altitude{more}"
        digits = book.digits("fpm") if unit == book.climb else 0
        found += _curves(f"{key}{len(found)}", title, "temperature, °C", unit, lines, digits, note)
    return found


def _over_50_ft(ask: Any, airplane: Airplane, mass_kg: float, pressure_altitude_m: float, oat_c: float) -> float:
    found = ask(airplane, mass_kg, pressure_altitude_m, units.from_unit(oat_c, "°C"), factor=1.0)
    return math.nan if found.over_50_ft_m is None else units.to_unit(found.over_50_ft_m, airplane.book.runway)


def _fuel(airplane: Airplane) -> Iterable[Chart]:
    """Fuel flow over power, a curve for each mixture, between the powers the cruise table prints."""
    cruise = airplane.file.performance.cruise
    powers = [r.percent_power for r in cruise.rows if r.percent_power is not None] if cruise else []
    if not powers:
        return []
    low, high = float(min(powers)), float(max(powers))
    lines = [
        (mixture.replace("_", " "), low, high, partial(_flow, airplane, mixture))
        for mixture in ("full_rich", "best_power", "best_economy")
    ]
    unit = airplane.book.flow.replace("gph", "gal/h")
    return _curves("fuel", "Fuel flow", "percent power", unit, lines, 1, "curves: mixture")


def _flow(airplane: Airplane, mixture: Any, percent: float) -> float:
    return units.to_unit(airplane.fuel_flow_m3ps(percent / 100.0, mixture), airplane.book.flow)


def _stall(airplane: Airplane) -> Iterable[Chart]:
    """Stall speed over bank at the maximum weight, a curve for each flap notch, as on the dial."""
    mass, note = airplane.max_takeoff_mass_kg, "curves: flaps; the load factor of a level turn"
    lines = [
        (n.name or ("flaps up" if n.notch == 0 else f"notch {n.notch}"), 0.0, 60.0,
         partial(_stall_ias, airplane, mass, n.notch))
        for n in airplane.flap_notches
    ]  # fmt: skip
    title = f"Stall speed in a level turn at {units.write(mass, airplane.book.mass)}, power idle"
    return _curves("stall", title, "bank, °", f"indicated, {airplane.dial_unit}", lines, 1, note)


def _calibration(airplane: Airplane) -> Iterable[Chart]:
    """Calibrated over indicated airspeed."""
    unit = airplane.dial_unit
    lines: list[tuple[str, float, float, Ask]] = []
    low, high = units.from_unit(30.0, unit), units.from_unit(220.0, unit)
    for name, notch in (("flaps up", 0), ("flaps full", airplane.flaps_full)):
        curve = airplane.calibration[notch]
        good = [s for s in np.linspace(low, high, 400) if not curve.assumed and math.isfinite(float(curve.cas(s)))]
        if good:
            first, last = math.ceil(units.to_unit(good[0], unit)), math.floor(units.to_unit(good[-1], unit))
            lines.append((name, first, last, partial(_calibrated, curve, unit)))
    return _curves("calibration", "Airspeed calibration", f"indicated, {unit}", f"calibrated, {unit}", lines, 1)


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
