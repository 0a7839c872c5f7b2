"""Suspicions about single numbers: each column of a table against the law its other numbers follow.

Which law a column follows is physics; how large its terms usually are is from invented airplanes and memory, kept wide.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import density_ratio, standard_temperature_k
from airwork.airplane.check.book import Book, Complaint, guess
from airwork.airplane.check.physics import sigma
from airwork.airplane.check.smooth import SMALL, Array, stand_out, step_of
from airwork.airplane.file.performance import ToClimbTable

ROOT = ("maneuvering", "best_glide", "stall_flaps_up", "stall_flaps_full", "approach_flaps_full", "minimum_sink")
ROOT_KT = 2.8  # each is rounded to 1 kt and has gone through the calibration
STALL_ROOT_KT = 1.6  # of a stall among several
MOST_BANK_DEG = 80

Term = tuple[Array | float, float]  # at each row; the usual size of its coefficient (standard deviation about 0)


def complaints(book: Book) -> Iterator[Complaint]:
    """Every number that stands out of its column."""
    tables = book.file.performance
    for kind, table in (("takeoff", tables.takeoff), ("landing", tables.landing)):
        if table is not None:
            yield from _distances(book, f"performance.{kind}", table.rows, kind)
    if tables.climb is not None:
        yield from _climb(book, tables.climb.rows)
    if tables.cruise is not None:
        yield from _percent(book, "performance.cruise", tables.cruise.rows)
        yield from _cruise(book, tables.cruise.rows)
    if tables.power_chart is not None:
        yield from _percent(book, "performance.power_chart", tables.power_chart.rows)
    if tables.time_fuel_distance_to_climb is not None:
        yield from _to_climb(book, tables.time_fuel_distance_to_climb)
    yield from _calibrations(book)
    yield from _by_weight(book)


def _column(rows: Sequence[Any], key: str) -> Array:
    """A column, NaN where a row has none."""
    return np.array([math.nan if (x := getattr(r, key, None)) is None else x for r in rows], dtype=float)


def _percents(rows: Sequence[Any]) -> Array:
    """The column of percent power, NaN where it is 0 too."""
    values = _column(rows, "percent_power")
    return np.where(values > 0.0, values, np.nan)


@dataclass(frozen=True)
class Law:
    """How a column goes: a sum of terms for the logarithm of `value · times`, or for `value · times - less` itself.

    needs : so many numbers the column must have. times, less : one for all rows, or one for each.
    """

    terms: Sequence[Term]
    needs: int = 4
    logarithm: bool = True
    times: Array | float = 1.0
    less: Array | float = 0.0

    def scaled(self, values: Array) -> Array:
        """What the terms add up to."""
        return np.log(values * self.times) if self.logarithm else values * self.times - self.less

    def value(self, total: float, row: int, rows: int) -> float:
        """The number of a row that the terms add up to `total` for."""
        times, less = (float(np.broadcast_to(x, (rows,))[row]) for x in (self.times, self.less))
        return (math.exp(total) if self.logarithm else total + less) / times


def _held(
    book: Book, table: str, key: str, values: Array, law: Law, *, scatter: Array, least: Array
) -> Iterator[Complaint]:
    """The numbers that stand out of a column, as one complaint about the first of them.

    Parameters
    ----------
    values : shape (n,). The column; rows where it or a term is NaN are passed over.
    scatter, least : of a number as it follows the law: rounding and reading; a smaller departure is never reported.
    """
    parts = (*(t for t, _ in law.terms), scatter, least)
    full = [np.broadcast_to(np.asarray(x, dtype=float), values.shape) for x in parts]
    scaled = law.scaled(values)
    at = np.nonzero(np.isfinite(np.column_stack([scaled, *full])).all(axis=1))[0]
    if at.size < law.needs:
        return
    *terms, scatter, least = (x[at] for x in full)
    found = stand_out(np.column_stack(terms), scaled[at], np.array([size for _, size in law.terms]), scatter, least)
    if not found:
        return
    row = int(at[found[0].row])
    expected = law.value(found[0].expected, row, values.size)
    stands = float(values[row])
    others = f" So do {len(found) - 1} more of this column." if len(found) > 1 else ""
    yield book.doubt(
        table,
        f"{book.label(key)} {book.number(table, key, stands)}",
        f"The other numbers of its column make it about {book.number(table, key, expected)}; "
        f"a digit, the unit or the row is wrong.{guess(stands, expected, key)}{others}",
        row=row,
        column=key,
        rows=tuple(sorted(int(at[o.row]) for o in found)),
    )


def _step(book: Book, table: str, key: str, values: Array) -> float:
    """The step a column is rounded to; 0 for a column of nothing."""
    known = values[np.isfinite(values)]
    return book.step(table, key, known) if known.size else 0.0


def _by_weight(book: Book) -> Iterator[Complaint]:
    """Speeds of one name, and stalls of one notch, go with the square root of the weight the wing carries.

    A stall stands among the V-speeds and in the stall table: both are held to one law.
    """
    speeds, stalls = book.file.v_speeds, book.file.performance.stall
    top, full = book.file.airplane.maximum_takeoff_weight_lb, book.airplane.flaps_full
    stall_of = {"stall_flaps_up": "flap notch 0", "stall_flaps_full": f"flap notch {full}"}
    groups: dict[str, list[tuple[str, int, float, float]]] = {}  # (table, row, √ of the share of the top, speed there)
    for i, row in enumerate(speeds.rows if speeds else []):
        notch = book.airplane.speed_notch(row.name)
        cas = book.cas_kt(row, notch)
        unknown = row.name in stall_of and row.kcas is None and book.dial_unknown_at_stall(notch)
        if row.name in ROOT and cas is not None and not unknown:
            root = math.sqrt((row.weight_lb or top) / top)
            groups.setdefault(stall_of.get(row.name, row.name), []).append(("v_speeds", i, root, cas))
    for i, stall in enumerate(stalls.rows if stalls else []):
        cas = book.cas_kt(stall, stall.flap_notch) if stall.flap_notch <= full else None
        if stall.bank_deg <= MOST_BANK_DEG and cas is not None:
            root = math.sqrt(stall.weight_lb / top / math.cos(math.radians(stall.bank_deg)))
            groups.setdefault(f"flap notch {stall.flap_notch}", []).append(("performance.stall", i, root, cas))
    for name, found in groups.items():
        at_top = [cas / root for _, _, root, cas in found]
        usual = float(np.median(at_top)) if len(found) > 2 else max(at_top)
        twice = len({table for table, *_ in found}) > 1
        for table, i, root, cas in found:
            expected = usual * root
            most = STALL_ROOT_KT if table == "performance.stall" and len(found) > 2 else ROOT_KT
            if abs(cas - expected) > most * 0.5 * (1.0 + max(root, 1.0)):  # rounding grows with the load
                yield book.doubt(
                    table,
                    f"{book.speed(cas)} calibrated, {book.speed(expected)} from the others",
                    "The speed goes with the square root of the weight, and in a bank with 1/√cos; a digit, or the "
                    f"weight?{guess(cas, expected, 'kcas')}",
                    row=i,
                    rows=tuple(k for other, k, _, _ in found if other == table) if len(found) == 2 else (i,),
                    label=name,
                    leans=("performance.stall", *book.through()) if twice and table == "v_speeds" else (),
                    firm=name == "maneuvering",
                )


def _air(rows: Sequence[Any]) -> tuple[Array, Array, Array]:
    """(ln of the density ratio, altitude in 10,000 ft, degrees above standard in 100 °C) of each row."""
    height = np.array([units.from_unit(r.pressure_altitude_ft, "ft") for r in rows])
    standard = standard_temperature_k(height)
    oat = [getattr(r, "oat_c", None) for r in rows]
    above = np.array(
        [
            units.from_unit(t, "°C") - s if t is not None else getattr(r, "isa_deviation_c", 0.0) or 0.0
            for r, t, s in zip(rows, oat, standard, strict=True)
        ]
    )
    return np.log(density_ratio(height, standard + above)), height / units.FT_M / 1e4, above / 100.0


def _distances(book: Book, table: str, rows: Sequence[Any], kind: str) -> Iterator[Complaint]:
    a, b, c = _air(rows)
    d = np.log(_column(rows, "weight_lb") / max(r.weight_lb for r in rows))
    bend = 1.0 if kind == "takeoff" else 0.25  # landings bend less: no climb gradient is used up
    for key in ("ground_roll_ft", "total_over_50_ft"):
        values = _column(rows, key)
        steep = bend * (2.0 if key.startswith("total") else 1.0)
        terms = (
            (1.0, 10.0), (a, 3.0), (a * a, 1.5 * steep), (a**3, 4.0 * steep), (b, 0.1 * bend), (c, 0.5 * bend),
            (c * c, 1.0 * bend), (a * c, 1.5 * bend), (d, 3.0), (d * d, 1.5), (a * d, 2.0 * steep),
            (a * a * d, 3.0 * steep), (a * a * c, 3.0 * steep), (a**4, 15.0 * steep), (c * d, 1.0 * bend),
            (a**3 * d, 8.0 * steep), (a**3 * c, 8.0 * steep), (a * c * c, 4.0 * steep),
        )  # fmt: skip
        step = _step(book, table, key, values)
        few = np.isfinite(values).sum() <= SMALL
        # toward the last height it can climb from, a distance runs away faster than any short law
        shortest = np.nanmin(values) if np.isfinite(values).any() else 1.0
        far = 1.0 + 2.5 * np.maximum(np.log(values / shortest) - 1.0, 0.0)
        scatter = np.hypot(0.3 * step / values, 0.003 if few else 0.002) * far
        least = np.maximum(1.3 * step / values, 0.012 * far)
        yield from _held(book, table, key, values, Law(terms), scatter=scatter, least=least)


def _climb(book: Book, rows: Sequence[Any]) -> Iterator[Complaint]:
    table, rate, speed = "performance.climb", "rate_of_climb_fpm", "climb_speed_kias"
    u, h, t = _air(rows)
    ratio = _column(rows, "weight_lb") / max(r.weight_lb for r in rows)
    d = np.log(ratio)
    values = _column(rows, rate)
    terms: tuple[Term, ...] = (
        (1.0, 3000.0), (u, 5000.0), (u * u, 1500.0), (u**3, 1500.0), (h, 60.0), (t, 400.0), (t * t, 500.0),
        (u * t, 800.0), (d, 2000.0), (d * d, 1500.0), (u * d, 1000.0), (t * d, 400.0),
    )  # fmt: skip
    step = _step(book, table, rate, values)
    yield from _held(
        book, table, rate, values, Law(terms, needs=3, logarithm=False, times=ratio),
        scatter=np.hypot(0.3 * step, np.full(len(rows), 3.0)), least=np.maximum(1.5 * step + 6.0, 0.012 * abs(values)),
    )  # fmt: skip
    values = _column(rows, speed)
    terms = ((1.0, 200.0), (h, 30.0), (h**2, 15.0), (t, 10.0), (d, 60.0), (d**2, 40.0))
    steps = np.full(len(rows), min(1.0, _step(book, table, speed, values)))
    yield from _held(book, table, speed, values, Law(terms, logarithm=False), scatter=0.45 * steps, least=1.8 * steps)


def _to_climb(book: Book, printed: ToClimbTable) -> Iterator[Complaint]:
    table, rows = "performance.time_fuel_distance_to_climb", printed.rows
    h = _column(rows, "pressure_altitude_ft") / 1e4
    for key, size in (("time_min", 20.0), ("fuel_us_gal", 4.0), ("distance_nm", 30.0)):
        values = _column(rows, key)
        terms = ((1.0, 0.2 * size), (h, 2 * size), (h * h, size), (h**3, size), (h**5, 0.5 * size))
        step = np.full(len(rows), _step(book, table, key, values))
        scatter = np.hypot(0.32 * step, 0.012 * values)
        yield from _held(book, table, key, values, Law(terms, logarithm=False), scatter=scatter, least=1.2 * step)


def _calibrations(book: Book) -> Iterator[Complaint]:
    tables = book.file.airspeed_calibration
    for name in type(tables).model_fields if tables is not None else ():
        if (table := getattr(tables, name)) is None:
            continue
        path = f"airspeed_calibration.{name}"
        dial, calibrated = _column(table.rows, "kias"), _column(table.rows, "kcas")
        s = (dial - 80.0) / 40.0
        terms = ((1.0, 4.0), (s, 4.0), (s * s, 3.0), (s**3, 2.0), (np.exp(-(s + 0.5) / 0.35), 2.0))
        scale = book.in_print(path, "kcas", 1.0)
        step = np.full(len(dial), step_of(np.round((calibrated - dial) * scale, 3)) / scale)
        yield from _held(
            book, path, "kcas", calibrated, Law(terms, needs=5, logarithm=False, less=dial), scatter=0.36 * step + 0.1,
            least=1.4 * step,
        )  # fmt: skip


def _by_setting(book: Book, rows: Sequence[Any]) -> tuple[tuple[Term, ...], bool]:
    """(terms, is it by manifold pressure) of power by what is set and the air.

    Sizes are those of percent power by manifold pressure, else of its logarithm.
    """
    rpm, pressure = _column(rows, "rpm") / book.file.engine.rated_rpm, _column(rows, "manifold_pressure_inhg")
    if np.isfinite(pressure[np.isfinite(rpm)]).all():
        m, x, h = (pressure - 23.0) / 5.0, rpm - 0.85, _column(rows, "pressure_altitude_ft") / 1e4
        t = np.nan_to_num(_column(rows, "isa_deviation_c")) / 100.0
        return (
            (1.0, 200.0), (m, 50.0), (m * m, 6.0), (x, 200.0), (x * x, 150.0), (m * x, 80.0), (h, 30.0),
            (h * h, 8.0), (m * h, 6.0), (x * h, 40.0), (t, 40.0), (m * t, 10.0),
        ), True  # fmt: skip
    r, u = np.log(rpm), np.log([sigma(row) for row in rows])
    return (
        (1.0, 10.0), (r, 6.0), (r * r, 6.0), (r**3, 10.0), (u, 2.0), (u * u, 1.0), (r * u, 3.0), (r * r * u, 6.0),
    ), False  # fmt: skip


def _percent(book: Book, table: str, rows: Sequence[Any]) -> Iterator[Complaint]:
    """Percent power by RPM (and manifold pressure) and altitude."""
    values = _percents(rows)
    terms, governed = _by_setting(book, rows)
    one = np.ones(len(rows))
    scatter, least = (0.35 * one, 1.6 * one) if governed else (0.35 / values, np.maximum(1.6 / values, 0.01))
    yield from _held(
        book, table, "percent_power", values, Law(terms, needs=5, logarithm=not governed), scatter=scatter, least=least
    )  # fmt: skip


def _cruise(book: Book, rows: Sequence[Any]) -> Iterator[Complaint]:
    """True airspeed and fuel flow by power and density; by what is set where no percent power stands between."""
    table, percent = "performance.cruise", _percents(rows)
    c, p, u = np.log(percent / 65.0), percent / 65.0 - 1.0, np.log([sigma(r) for r in rows])
    alone = not np.isfinite(percent).any()
    setting, governed = _by_setting(book, rows)
    for key in ("ktas", "gph_full_rich", "gph_best_power", "gph_best_economy"):
        values, speed = _column(rows, key), key == "ktas"
        if not np.isfinite(values).any():
            continue
        step = _step(book, table, key, values)
        rounded = (min(1.0, step) if speed else step) / values
        if alone:
            # a governed engine's are sizes of percent of about 65; a speed goes with the cube root or so
            share = (0.5 if speed else 1.0) / (65.0 if governed else 1.0)
            terms = ((1.0, 10.0), *((term, share * size) for term, size in setting[1:]))
            # near the slowest level speed a few RPM are several knots
            loose = np.where(speed & (not governed) & (values < 0.8 * np.nanmax(values)), 4.0, 1.0)
            scatter, least = np.hypot(0.32 * rounded, 0.004) * loose, np.maximum(1.6 * rounded, 0.012)
            yield from _held(book, table, key, values, Law(terms, needs=5), scatter=scatter, least=least)
        elif speed:
            terms = (
                (1.0, 10.0), (c, 0.6), (c * c, 0.6), (c**3, 1.0), (c**4, 1.5), (u, 0.6), (u * u, 0.4), (u * c, 0.8),
                (u * c * c, 1.5), (u * c**3, 3.0),
            )  # fmt: skip
            # near the slowest level speed a rounded percent is several knots
            scatter = np.hypot(0.35 * rounded, 0.003) * np.where(c < -0.30, 3.0, 1.0)
            yield from _held(
                book, table, key, values, Law(terms), scatter=scatter, least=np.maximum(1.6 * rounded, 0.01)
            )  # fmt: skip
        else:
            terms = ((1.0, 10.0), (p, 3.0), (p * p, 1.0), (p**3, 1.0), (u, 0.15))
            shares = values / float(np.nanmedian(values))
            scatter = np.hypot(np.hypot(0.3 * rounded, 0.3 / percent), 0.003) * shares
            yield from _held(
                book, table, key, values, Law(terms, logarithm=False, times=shares / values), scatter=scatter,
                least=np.maximum(1.5 * rounded, 0.02),
            )  # fmt: skip
