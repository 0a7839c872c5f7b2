"""Everything a fit has to say, as plain data: readings used and left out, what is known, what differs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from airwork.airplane.performance.advice import Known, known, resampled_90
from airwork.airplane.performance.against_book import Row, Summary, rows_against_book, summaries
from airwork.airplane.performance.differences import Difference, differences
from airwork.airplane.performance.flight_words import lean_words
from airwork.airplane.performance.judging import Judge, Residual, weights_without_fuel
from airwork.airplane.performance.learn import learn
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.question import question
from airwork.airplane.performance.readings import why_unusable
from airwork.units import to_unit

# Asked for before anything else (`docs/performance.md`): level points flaps up, per flap notch, climbs, glides
WANTED_CLEAN, WANTED_PER_NOTCH = 5, 2


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A reading that is not used: why, and what the answer nearest to it would be with it."""

    reading: dict[str, Any]
    why: str
    fit_says: float | None
    unit: str
    with_it: str


@dataclass(frozen=True)
class FitReport:
    """The report of one fit. Printed units; `_90` is the half-width of the 90 % band."""

    airplane: str
    from_handbook: tuple[str, ...]
    assumed: tuple[str, ...]
    used: tuple[dict[str, Any], ...]
    left_out: tuple[LeftOut, ...]
    known: tuple[Known, ...]
    resampled_90: dict[str, float] | None
    differences: tuple[Difference, ...]
    missing: tuple[str, ...]
    against_book: tuple[Row, ...] = ()
    against_book_by_table: tuple[Summary, ...] = ()
    segments: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()
    leans: str = ""
    flights: int = 0


NOT_SEPARABLE = (
    "Level flight fixes RPM (or power), not the propeller's and the drag's own coefficients: read the answers, not the "
    "parameters."
)


def fit_report(performance: Performance, *, against_book: bool = False, segments: Sequence[str] = ()) -> FitReport:
    """The report of a fitted airplane."""
    learned = performance.learned
    rows = tuple(rows_against_book(performance)) if against_book else ()
    return FitReport(
        airplane=performance.airplane.name,
        from_handbook=_from_handbook(performance),
        assumed=(*learned.geometry.assumed, *performance.airplane.assumptions),
        used=tuple({**_printed(performance, r), **_off(r)} for r in learned.residuals if r.used),
        left_out=tuple(_left_out(performance, r) for r in learned.outliers),
        known=tuple(known(performance)),
        resampled_90=resampled_90(performance),
        differences=differences(performance),
        missing=_missing(performance),
        against_book=rows,
        against_book_by_table=tuple(summaries(rows)),
        segments=tuple(segments),
        questions=_questions(performance),
        leans=lean_words(performance),
        flights=len(learned.flights),
    )


def _from_handbook(performance: Performance) -> tuple[str, ...]:
    tables = performance.airplane.file.performance
    names = [("cruise", tables.cruise), ("power chart", tables.power_chart), ("climb", tables.climb)]
    names += [("stall", tables.stall), ("glide", tables.glide)]  # type: ignore[list-item]
    return tuple(f"{name} ({len(table.rows)} rows)" for name, table in names if table is not None)


def _printed(performance: Performance, residual: Residual) -> dict[str, Any]:
    """The reading as it would be typed, with the airspeed as it stands on the dial beside it."""
    from airwork.airplane.performance.fitted_file import reading_row

    reading, airplane = residual.reading, performance.airplane
    ias = float(airplane.calibration[reading.flap_notch].ias(reading.cas_mps))
    return {**reading_row(reading), "dial": airplane.dial(ias) if np.isfinite(ias) else ""}


def _off(residual: Residual) -> dict[str, Any]:
    """How far the fit without the reading is from it; whether anything checks it; what it might have meant."""
    knots = residual.knots
    return {
        "off": round(residual.off), "off_unit": residual.unit, "off_kt": None if knots != knots else round(knots, 1),
        "standard_deviations_off": round(residual.sd_off, 2), "checked": residual.checked, "asks": residual.asks,
    }  # fmt: skip


def _questions(performance: Performance) -> tuple[str, ...]:
    """What should be asked of whoever noted the readings."""
    learned, airplane = performance.learned, performance.airplane
    out = []
    for r in learned.residuals:
        if r.asks:
            row = _printed(performance, r)
            out.append(f"{row['dial'] or 'a reading'}, flap notch {row['flap_notch']}: {r.asks}")
    judge = Judge(airplane, learned.law, learned.weighed or learned.prior, performance.engine)
    fuel = sum(t.usable_m3 for t in airplane.tanks) * airplane.fuel_density_kgpm3
    weights = weights_without_fuel(judge, [r.reading for r in learned.residuals if r.used], fuel)
    return (*out, *([weights] if weights else []))


def _left_out(performance: Performance, residual: Residual) -> LeftOut:
    """What the fit says where the reading was taken, and what would change with the reading in."""
    reading = residual.reading
    row = _printed(performance, residual)
    row.pop("left_out", None)
    says, unit = None, ""
    if not why_unusable(performance.airplane, reading):
        q = question(performance, reading.cas_mps, reading.condition)
        if reading.kind == "level":
            scale, unit = performance.engine.shown
            says = scale * float(performance.law.control(performance.theta, q.at)[0])
            unit = {"%": "% power"}.get(unit, unit)
        elif reading.kind == "full_throttle_climb" and reading.rpm is not None and performance.fixed is not None:
            excess = performance.law.excess_n(performance.theta, q.at, np.array([reading.rpm / 60.0]))
            says, unit = to_unit(float((excess * q.at.tas_mps / q.weight_n)[0]), "fpm"), "ft/min"
    return LeftOut(row, residual.why, None if says is None else round(says), unit, _with_it(performance, residual))


def _with_it(performance: Performance, residual: Residual) -> str:
    """The slow-flight answer of that flap setting with the reading kept in, beside the one without."""
    reading = residual.reading
    if reading.kind != "level" or performance.fixed is None or why_unusable(performance.airplane, reading):
        return ""
    kept = [r.reading for r in performance.learned.residuals if r.used]
    readings = [*kept, replace(reading, left_out="")]
    other = Performance(performance.airplane, learn(performance.airplane, readings, keep_outliers=True))
    mass = performance.airplane.handbook_mass_kg
    cas = 1.2 * float(performance.airplane.stall_cas_mps(mass, reading.flap_notch))
    at = question(performance, cas, replace(reading.condition, mass_kg=mass, bank_rad=0.0)).at
    without, with_it = (60.0 * float(performance.law.control(p.theta, at)[0]) for p in (performance, other))
    return f"slow flight with it {with_it:,.0f} RPM, without {without:,.0f} RPM"


def _missing(performance: Performance) -> tuple[str, ...]:
    """Readings still asked for: nothing in a handbook fixes flap drag."""
    if performance.learned.flights:
        return ()  # flights teach most of it
    used = performance.learned.readings_used
    level = [r.flap_notch for r in used if r.kind == "level"]
    out = []
    clean = level.count(0)
    if clean < WANTED_CLEAN:
        spread = "from about 1.1 Vs to cruise"
        out.append(f"{WANTED_CLEAN - clean} more level readings with flaps up, {spread}, all at one weight")
    for notch in range(1, performance.airplane.flaps_full + 1):
        if level.count(notch) < WANTED_PER_NOTCH:
            lacking = "no level reading" if level.count(notch) == 0 else "one level reading"
            out.append(f"flap notch {notch}: {lacking}; take two, at about 1.2 and 1.8 Vs within its limit speed")
    if not any(r.kind == "full_throttle_climb" for r in used):
        out.append("one full-throttle climb with its RPM")
    if not any(r.kind == "idle_glide" for r in used):
        out.append("one idle glide")
    return tuple(out)
