"""The fitted physics held against the handbook's tables, row by row. Printed units: it is shown, not computed with.

Cruise and power chart: true airspeed and percent power at the printed setting. Climb: rate at the printed speed. Glide:
ratio. V-speeds: best rate and best angle of climb, best glide: these are not in the fit, so they check the physics.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from airwork.airdata.atmosphere import T0_K, standard_temperature_k
from airwork.airplane.performance import book
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.question import question
from airwork.airplane.performance.speeds import answer_speeds, least
from airwork.airplane.performance.state import Array
from airwork.airplane.stall import row_cas_mps
from airwork.airplane.vspeeds import density_altitude_of
from airwork.errors import AirworkError
from airwork.units import from_unit, to_unit, write


@dataclass(frozen=True, slots=True)
class Row:
    """One printed value and the model's for the same conditions."""

    table: str
    conditions: str
    unit: str
    printed: float
    model: float

    @property
    def difference(self) -> float:
        """Model less printed."""
        return self.model - self.printed


@dataclass(frozen=True, slots=True)
class Summary:
    """A table's rows together."""

    table: str
    unit: str
    rows: int
    mean: float
    rms: float
    worst: float


def rows_against_book(performance: Performance) -> list[Row]:
    """Every printed row that the fit to the book can answer."""
    learned = performance.learned
    if learned.book is None:
        return []
    theta = learned.book.theta
    return [
        *_cruise(performance, theta),
        *_climb(performance, theta),
        *_glide(performance, theta),
        *_v_speeds(performance, theta),
    ]


def summaries(rows: Sequence[Row]) -> list[Summary]:
    """One line per table."""
    out = []
    for table in dict.fromkeys(row.table for row in rows):
        mine = [row for row in rows if row.table == table]
        off = np.array([row.difference for row in mine])
        worst = int(np.argmax(np.abs(off)))
        rms = float(np.sqrt(np.mean(off**2)))
        out.append(Summary(table, mine[0].unit, len(mine), float(off.mean()), rms, float(off[worst])))
    return out


def _cruise(performance: Performance, theta: Array) -> Iterator[Row]:
    airplane, law, engine = performance.airplane, performance.law, performance.learned.book_engine
    for row in book.cruise_rows(airplane):
        h, t = row.pressure_altitude_m, row.temperature_k
        at = Condition(row.mass_kg, h, t)
        cas = answer_speeds(performance, at)
        q = question(performance, cas, at)
        control = law.control(theta, q.at)
        fast, setting = slice(int(np.argmin(control)), None), row.control(engine)
        inside = control[fast][0] < setting < control[fast][-1]
        tas = float(np.interp(setting, control[fast], q.at.tas_mps[fast])) if inside else float("nan")
        off = t - float(standard_temperature_k(h))
        what = f"{write(h, 'ft')}, {off:+.0f} °C, {row.rpm:,.0f} RPM"
        if row.manifold_pressure_pa is not None:
            what += f", {to_unit(row.manifold_pressure_pa, 'inHg'):.1f} inHg"
        table = row.where.split(",")[0]
        if np.isfinite(tas):
            yield Row(f"{table}, true airspeed", what, "kt", to_unit(row.tas_mps, "kt"), to_unit(tas, "kt"))
        if row.power_ratio is None or (engine.governed and row.manifold_pressure_pa is None):
            continue
        flown = replace(q.at.take(np.array([0])), tas_mps=np.array([row.tas_mps]))
        shown = engine.set_to(row.rpm, row.manifold_pressure_pa or np.nan, flown)
        share = 100.0 * float(engine.power_of(shown, flown)[0]) / airplane.rated_power_w
        yield Row(f"{table}, percent power", what, "%", 100.0 * row.power_ratio, share)


def _climb(performance: Performance, theta: Array) -> Iterator[Row]:
    airplane, law, engine = performance.airplane, performance.law, performance.learned.book_engine
    for row in book.climb_rows(airplane):
        q = question(performance, row.cas_mps, Condition(row.mass_kg, row.pressure_altitude_m, row.temperature_k))
        rate = float((law.excess_n(theta, q.at, engine.full_control(q.at)) * q.at.tas_mps / q.weight_n)[0])
        what = f"{write(row.mass_kg, 'lb')}, {write(row.pressure_altitude_m, 'ft')}, {write(row.temperature_k, '°C')}"
        yield Row("climb, rate", what, "fpm", to_unit(row.climb_rate_mps, "fpm"), to_unit(rate, "fpm"))


def _glide(performance: Performance, theta: Array) -> Iterator[Row]:
    polar = performance.law.polar
    for row in book.glide_rows(performance.airplane):
        at = question(performance, row.cas_mps, Condition(row.mass_kg, 0.0, T0_K)).at
        ratio = float((at.lift_n / polar.drag_n(theta, at, windmilling=True))[0])
        yield Row("glide, ratio", write(row.mass_kg, "lb"), "", row.glide_ratio, ratio)


def _v_speeds(performance: Performance, theta: Array) -> Iterator[Row]:
    """Best rate, best angle, best glide: calibrated speeds of the extremes."""
    airplane, law = performance.airplane, performance.law
    printed = airplane.file.v_speeds.rows if airplane.file.v_speeds else []
    for row in printed:
        if row.name not in {"best_rate_of_climb", "best_angle_of_climb", "best_glide"}:
            continue
        mass = from_unit(row.weight_lb or airplane.file.airplane.maximum_takeoff_weight_lb, "lb")
        height = density_altitude_of(row) or 0.0
        temp = float(standard_temperature_k(height))
        at = Condition(mass, height, temp)
        try:
            cas_printed = row_cas_mps(row, 0, lambda ias, notch: float(airplane.calibration[notch].cas(ias)))
            cas = answer_speeds(performance, at)
        except AirworkError:
            continue
        cas = cas[cas < 2.6 * cas[0]]
        q = question(performance, cas, at)
        if row.name == "best_glide":
            cost = law.polar.drag_n(theta, q.at, windmilling=True)
        else:
            excess = law.excess_n(theta, q.at, performance.learned.book_engine.full_control(q.at))
            cost = -excess * (q.at.tas_mps if row.name == "best_rate_of_climb" else 1.0)
        speed = least(cas, cost)
        what = f"{write(mass, 'lb')}, density altitude {write(height, 'ft')}"
        name = row.name.replace("_", " ")
        yield Row(f"V-speeds, {name}", what, "kt", to_unit(cas_printed, "kt"), to_unit(speed, "kt"))
