"""The handbook's tables as readings: cruise and power chart, climb, glide; and the engine they describe. SI.

A handbook's rows were computed from a few flights of another airplane and rounded: a hundred of them tell no more than
a dozen readings. Each table therefore counts as a fixed number of readings, however many rows it prints. Its rows share
their errors (one airplane, one law, one airspeed system): each common error moves the parameters fitted to them by so
much, which is added to their covariance, so that a right reading that disagrees with a table is not thrown out for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from airwork import units
from airwork.airdata.airspeed import cas_from_tas_mps
from airwork.airdata.atmosphere import RHO0_KGPM3, T0_K, density_kgpm3, standard_air, standard_temperature_k
from airwork.airplane.airplane import Airplane
from airwork.airplane.cruise_power import ESTIMATE_SHARE
from airwork.airplane.parts import knots_mps
from airwork.airplane.performance.condition import Condition, steady_states
from airwork.airplane.performance.engine import (
    Engine,
    FixedPitchEngine,
    ManifoldEngine,
    PowerPoints,
    fit_fixed_pitch_engine,
    fit_manifold_engine,
)
from airwork.airplane.performance.fit import Block, Evidence, Posterior, outlooks
from airwork.airplane.performance.priors import Law
from airwork.airplane.performance.readings import Reading
from airwork.airplane.performance.state import Array, State
from airwork.errors import NotPossible
from airwork.units import KT_MPS

# What a whole table counts as, in readings, and the standard deviations of a row (rounding, other airplane's scatter)
CRUISE_COUNTS, CLIMB_COUNTS, GLIDE_COUNTS = 15.0, 8.0, 1.0
RPM_SD, POWER_SHARE_SD = 10.0, 0.01
CLIMB_SD_MPS, GLIDE_SD_MPS = 25.0 * units.FPM_MPS, 60.0 * units.FPM_MPS
# Without any power in the tables: full throttle turns the rated RPM about where J is 0.7, to 8 % (common practice)
_RATED_J, _RATED_SD = 0.70, 0.15
_STATIC_SD = 0.04
# Spread of engines' strength about the rating, and what one full-throttle climb says of it
_STRENGTH_SD, _READ_STRENGTH_SD = 0.04, 0.02


@dataclass(frozen=True, slots=True)
class CruiseRow:
    """One level-flight row of a handbook: cruise table or power chart."""

    mass_kg: float
    pressure_altitude_m: float
    temperature_k: float
    rpm: float
    manifold_pressure_pa: float | None
    power_ratio: float | None  # None where the book's power can't be had
    tas_mps: float
    where: str

    def control(self, engine: Engine) -> float:
        """What the law is asked with: the printed RPM, or the power with a governor. [rev/s or W]"""
        power = np.nan if self.power_ratio is None else self.power_ratio * engine.rated_power_w
        return float(engine.in_control(self.rpm / 60.0, power))


@dataclass(frozen=True, slots=True)
class ClimbRow:
    mass_kg: float
    pressure_altitude_m: float
    temperature_k: float
    cas_mps: float
    climb_rate_mps: float


@dataclass(frozen=True, slots=True)
class GlideRow:
    mass_kg: float
    cas_mps: float
    glide_ratio: float


def cruise_rows(airplane: Airplane) -> list[CruiseRow]:
    """Level rows with a true airspeed, from the cruise table and the power chart."""
    out: list[CruiseRow] = []
    tables = airplane.file.performance
    if tables.cruise is not None:
        mass = _mass(airplane, tables.cruise.weight_lb)
        percents = airplane.engine.cruise_percents
        for i, (row, percent) in enumerate(zip(tables.cruise.rows, percents, strict=True), start=1):
            tas = knots_mps(row.ktas)
            if tas is None:
                continue
            h = units.from_unit(row.pressure_altitude_ft, "ft")
            temperature = float(standard_temperature_k(h)) + row.isa_deviation_c
            pressure = (
                None if row.manifold_pressure_inhg is None else units.from_unit(row.manifold_pressure_inhg, "inHg")
            )
            where = f"cruise, row {i}"
            rpm = airplane.rated_rpm if row.rpm is None else row.rpm
            out.append(CruiseRow(mass, h, temperature, rpm, pressure, _ratio(percent), tas, where))
    chart = tables.power_chart
    if chart is not None and airplane.fixed_pitch:
        mass = _mass(airplane, chart.weight_lb)
        for i, entry in enumerate(chart.rows, start=1):
            tas = knots_mps(entry.ktas)
            feet = entry.density_altitude_ft if entry.density_altitude_ft is not None else entry.pressure_altitude_ft
            if tas is None or feet is None:
                continue
            h = units.from_unit(feet, "ft")  # the standard atmosphere at this height has the chart's density
            temperature = float(standard_temperature_k(h))
            where = f"power chart, row {i}"
            out.append(CruiseRow(mass, h, temperature, entry.rpm, None, entry.percent_power / 100.0, tas, where))
    return out


def climb_rows(airplane: Airplane) -> list[ClimbRow]:
    """Rows of the climb table that name their speed; the best-rate speed stands in where they don't."""
    table = airplane.file.performance.climb
    out = []
    for row in table.rows if table else []:
        mass = units.from_unit(row.weight_lb, "lb")
        h, t = units.from_unit(row.pressure_altitude_ft, "ft"), units.from_unit(row.oat_c, "°C")
        ias = knots_mps(row.climb_speed_kias)
        if ias is None:
            continue
        cas = float(airplane.calibration[0].cas(ias))
        if np.isfinite(cas):
            out.append(ClimbRow(mass, h, t, cas, units.from_unit(row.rate_of_climb_fpm, "fpm")))
    return out


def glide_rows(airplane: Airplane) -> list[GlideRow]:
    """Rows of the glide table with a speed."""
    table = airplane.file.performance.glide
    out = []
    for row in table.rows if table else []:
        mass = _mass(airplane, row.weight_lb)
        try:
            cas = airplane.speed_cas_mps("best_glide", mass)
        except NotPossible:
            continue
        out.append(GlideRow(mass, cas, row.ratio))
    return out


def _ratio(percent: float | None) -> float | None:
    return None if percent is None else percent / 100.0


def _power_sd(airplane: Airplane) -> float:
    """Standard deviation of a row's power, as a share of rated: an estimate from fuel flows is rough."""
    return 0.5 * ESTIMATE_SHARE if airplane.engine.power_is_estimated else POWER_SHARE_SD


def _mass(airplane: Airplane, weight_lb: float | None) -> float:
    return airplane.handbook_mass_kg if weight_lb is None else units.from_unit(weight_lb, "lb")


def fixed_pitch_engine(
    airplane: Airplane, diameter_m: float, rows: Sequence[CruiseRow], gear: float = 1.0
) -> FixedPitchEngine:
    """CP(J) from the tables' power, RPM and airspeed, the static RPM, or the rating alone."""
    rated, rated_n = airplane.rated_power_w, airplane.rated_rpm / 60.0
    powered = [(row, row.power_ratio) for row in rows if row.power_ratio is not None]
    h, t = (np.array([getattr(row, k) for row, _ in powered]) for k in ("pressure_altitude_m", "temperature_k"))
    density, weight = density_kgpm3(standard_air(h).pressure_pa, t), min(1.0, CRUISE_COUNTS / max(len(powered), 1))
    points = [
        (row.rpm / 60.0, row.tas_mps, float(rho), ratio * rated, _power_sd(airplane) / max(ratio, 0.2), weight)
        for (row, ratio), rho in zip(powered, density, strict=True)
    ]
    static = airplane.file.propeller.static_rpm_full_throttle
    if static is not None:
        middle = 0.5 * (static[0] + static[1]) / 60.0
        points.append((middle, 0.0, RHO0_KGPM3, rated * middle / rated_n, _STATIC_SD, 1.0))
    if not powered:
        points.append((rated_n, _RATED_J * rated_n * diameter_m / gear, RHO0_KGPM3, rated, _RATED_SD, 1.0))
    given = PowerPoints(*np.array(points).T)
    return fit_fixed_pitch_engine(given, rated, airplane.rated_rpm, diameter_m, known=bool(powered), gear=gear)


def manifold_engine(airplane: Airplane) -> ManifoldEngine:
    """The engine of a constant-speed airplane from its power chart, or the cruise table in its stead."""
    chart, cruise = airplane.file.performance.power_chart, airplane.file.performance.cruise
    printed: list[tuple[float | None, float | None, float | None, float | None]] = []
    if chart is not None:
        printed = [(r.pressure_altitude_ft, r.rpm, r.manifold_pressure_inhg, r.percent_power) for r in chart.rows]
    elif cruise is not None:  # it stands in for the chart, as it does for the book's own answers
        rows_of = zip(cruise.rows, airplane.engine.cruise_percents, strict=True)
        printed = [
            (r.pressure_altitude_ft, r.rpm, r.manifold_pressure_inhg, percent)
            for r, percent in rows_of
            if abs(r.isa_deviation_c) < 0.5
        ]
    rows, ratios = [], []
    for feet, rpm, inhg, percent in printed:
        if feet is None or rpm is None or inhg is None or percent is None:
            continue
        h, pressure = units.from_unit(feet, "ft"), units.from_unit(inhg, "inHg")
        rows.append((h, rpm, pressure, percent / 100.0))
        ratios.append(pressure / float(standard_air(h).pressure_pa))
    top = max(ratios) if chart is not None and ratios and max(ratios) > 0.9 else None
    table = np.array(rows, dtype=float).reshape(-1, 4)
    return fit_manifold_engine(airplane.rated_power_w, airplane.rated_rpm, table, top)


def book_evidence(
    airplane: Airplane,
    engine: Engine,
    cruise: Sequence[CruiseRow],
    climb: Sequence[ClimbRow],
    glide: Sequence[GlideRow],
) -> Evidence:
    """The tables as evidence for the law."""
    return Evidence(
        _level_block(airplane, engine, cruise), _climb_block(airplane, engine, climb), _glide_block(airplane, glide)
    )


def _level_block(airplane: Airplane, engine: Engine, rows: Sequence[CruiseRow]) -> Block:
    if engine.governed:  # what is fitted is power
        rows = [row for row in rows if row.power_ratio is not None]
    if not rows:
        return Block()
    h, t = np.array([r.pressure_altitude_m for r in rows]), np.array([r.temperature_k for r in rows])
    cas = cas_from_tas_mps(np.array([r.tas_mps for r in rows]), h, t)
    at = steady_states(airplane, cas, Condition(np.array([r.mass_kg for r in rows]), h, t))
    count = len(rows)
    control = np.array([r.control(engine) for r in rows])
    sd = np.full(count, engine.in_control(RPM_SD / 60.0, _power_sd(airplane) * engine.rated_power_w))
    weight = np.full(count, min(1.0, CRUISE_COUNTS / count))
    return Block(at, control, control, sd, np.zeros(count), np.empty(0), weight)


def _climb_block(airplane: Airplane, engine: Engine, rows: Sequence[ClimbRow]) -> Block:
    if not rows:
        return Block()
    h, t = np.array([r.pressure_altitude_m for r in rows]), np.array([r.temperature_k for r in rows])
    at = steady_states(
        airplane, np.array([r.cas_mps for r in rows]), Condition(np.array([r.mass_kg for r in rows]), h, t)
    )
    control = engine.full_control(at)
    count = len(rows)
    value = np.array([r.climb_rate_mps for r in rows])
    weight = np.full(count, min(1.0, CLIMB_COUNTS / count))
    sd = np.full(count, CLIMB_SD_MPS)
    good = np.isfinite(control)
    return Block(at, control, value, sd, np.zeros(count), 0.01 * control, weight).take(good)


def _glide_block(airplane: Airplane, rows: Sequence[GlideRow]) -> Block:
    if not rows:
        return Block()
    cas, mass = np.array([r.cas_mps for r in rows]), np.array([r.mass_kg for r in rows])
    at = steady_states(airplane, cas, Condition(mass, 0.0, T0_K))
    count = len(rows)
    # sink of a glide of this ratio: V·sin γ, tan γ = 1/ratio; the law has drag/weight = sin γ
    sink = at.tas_mps / np.sqrt(1.0 + np.array([r.glide_ratio for r in rows]) ** 2)
    weight = np.full(count, min(1.0, GLIDE_COUNTS / count))
    return Block(at, np.empty(0), sink, np.full(count, GLIDE_SD_MPS), np.zeros(count), np.empty(0), weight)


def calibrated_engine(engine: FixedPitchEngine, readings: Sequence[Reading], at: Sequence[State]) -> FixedPitchEngine:
    """The engine with its strength set by the RPM read in full-throttle climbs (prior 1 ± 4 %)."""
    logs = []
    for reading, where in zip(readings, at, strict=True):
        if reading.rpm is None:
            continue
        n = np.array([reading.rpm / 60.0])
        taken = float(engine.power_w(where.tas_mps, n, where.density_kgpm3)[0])
        given = float(engine.full_power_w(n, where.density_kgpm3)[0])
        if given > 0 and taken > 0:
            logs.append(float(np.log(taken / given)))
    if not logs:
        return engine
    mean = float(np.mean(logs))
    if not engine.known:  # without a power table the tachometer sets the propeller's CP, not the engine's strength
        factor = float(np.exp(-mean))
        return replace(engine, cp=engine.cp * factor, cov=engine.cov * factor**2)
    weight = len(logs) / _READ_STRENGTH_SD**2
    return replace(engine, strength=float(np.exp(mean * weight / (weight + 1.0 / _STRENGTH_SD**2))))


# One standard deviation of what all rows of a table share (from memory, wide and round): the law's own error where the
# table was flown, the airspeed it was flown by, a new airplane and a little hope in the rate of climb, the glide
_LAW_RPM, _LAW_POWER_SHARE = 8.0, 0.01
_AIRSPEED_MPS = 0.8 * KT_MPS
_CLIMB_SHARE, _GLIDE_SHARE, _GOVERNED_SHARE = 0.03, 0.06, 0.02


def common_errors(law: Law, book: Posterior, printed: Evidence, engine: Engine) -> Array:
    """Covariance that the tables' common errors add to the parameters fitted to them. Shape (len θ, len θ)."""
    _, sd, slopes = outlooks(law, book, printed)
    level, climb, glide = printed.level, printed.climb, printed.glide
    weight = np.concatenate([level.weight, climb.weight, glide.weight]) / sd**2
    ends = np.cumsum([len(level), len(climb), len(glide)])
    is_level = np.arange(sd.size) < ends[0]
    is_climb = (np.arange(sd.size) >= ends[0]) & (np.arange(sd.size) < ends[1])
    errors = []
    if len(level):
        step = level.at.faster(1.001)
        per_speed = (law.control(book.theta, step) - law.control(book.theta, level.at)) / (0.001 * level.at.tas_mps)
        of_law = engine.in_control(np.full(len(level), _LAW_RPM / 60.0), _LAW_POWER_SHARE * level.value)
        errors += [_placed(is_level, of_law), _placed(is_level, per_speed * _AIRSPEED_MPS)]
    if len(climb):
        errors.append(_placed(is_climb, _CLIMB_SHARE * climb.value))
        share = _GOVERNED_SHARE if engine.governed else engine.full_share_sd(climb.at, climb.control)
        more = law.excess_n(book.theta, climb.at, climb.control * (1.0 + share))
        more = more - law.excess_n(book.theta, climb.at, climb.control)
        errors.append(_placed(is_climb, more * climb.at.tas_mps / climb.at.lift_n))
    if len(glide):
        errors.append(_placed(~is_level & ~is_climb, _GLIDE_SHARE * glide.value))
    moved = [book.cov @ (slopes.T @ (weight * error)) for error in errors]
    return np.asarray(sum((np.outer(m, m) for m in moved), np.zeros_like(book.cov)))


def _placed(where: Array, values: Array) -> Array:
    out = np.zeros(where.size)
    out[where] = values
    return out
