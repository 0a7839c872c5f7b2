"""Suspicions about single numbers: each column of a table against the law its other numbers follow.

Which law a column follows is physics; how large its terms usually are is from invented airplanes and memory, kept wide.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import density_ratio, standard_temperature_k
from airwork.airplane.check import power_curves
from airwork.airplane.check.book import Book, Complaint, columns, guess, named
from airwork.airplane.check.smooth import SMALL, Array, stand_out, step_of
from airwork.airplane.file.performance import ToClimbTable

ROOT = ("maneuvering", "best_glide", "stall_flaps_up", "stall_flaps_full", "approach_flaps_full", "minimum_sink")
ROOT_KT = 2.8  # each is rounded to 1 kt and has gone through the calibration
STALL_ROOT_KT = 1.6  # of a stall among several


def complaints(book: Book) -> Iterator[Complaint]:
    """Every number that stands out of its column."""
    tables = book.file.performance
    for kind in ("takeoff", "landing"):
        table = getattr(tables, kind)
        if table is not None:
            yield from _distances(book, f"performance.{kind}", table.rows, kind)
    if tables.climb is not None:
        yield from _climb(book, tables.climb.rows)
    yield from power_curves.complaints(book)
    if tables.time_fuel_distance_to_climb is not None:
        yield from _to_climb(book, tables.time_fuel_distance_to_climb)
    yield from _calibrations(book)
    yield from _by_weight(book)


def _by_weight(book: Book) -> Iterator[Complaint]:
    """Speeds of one name, and level stalls of one notch, go with the square root of the weight."""
    speeds, stalls = book.file.v_speeds, book.file.performance.stall
    top, full = book.file.airplane.maximum_takeoff_weight_lb, book.airplane.flaps_full
    groups: dict[tuple[str, str], list[tuple[int, float, float]]] = {}  # (row, share of the top weight, speed there)
    for i, row in enumerate(speeds.rows if speeds else []):
        cas = book.cas_kt(row, book.airplane.speed_notch(row.name))
        if row.name in ROOT and cas is not None:
            groups.setdefault(("v_speeds", row.name), []).append((i, (row.weight_lb or top) / top, cas))
    for i, level in enumerate(stalls.rows if stalls else []):
        cas = book.cas_kt(level, level.flap_notch) if level.flap_notch <= full else None
        if level.bank_deg == 0 and cas is not None:
            notch = f"flap notch {level.flap_notch}"
            groups.setdefault(("performance.stall", notch), []).append((i, level.weight_lb / top, cas))
    for (table, name), found in groups.items():
        at_top = [cas / math.sqrt(weight) for _, weight, cas in found]
        usual = float(np.median(at_top)) if len(found) > 2 else max(at_top)
        most = STALL_ROOT_KT if table == "performance.stall" and len(found) > 2 else ROOT_KT
        for i, weight, cas in found:
            expected = usual * math.sqrt(weight)
            if abs(cas - expected) > most:
                yield book.doubt(
                    table,
                    f"{book.speed(cas)} calibrated, {book.speed(expected)} from the other weight",
                    "The speed goes with the square root of the weight; a digit, or the weight?"
                    + guess(cas, expected, "kcas"),
                    row=i,
                    rows=tuple(k for k, _, _ in found) if len(found) == 2 else (i,),
                    label=name,
                )
                break


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
    u, h, t = _air(rows)
    w = np.log(np.array([r.weight_lb for r in rows]) / max(r.weight_lb for r in rows))
    bend = 1.0 if kind == "takeoff" else 0.25  # landings bend less: no climb gradient is used up
    for key in ("ground_roll_ft", "total_over_50_ft"):
        at = [i for i, r in enumerate(rows) if getattr(r, key) is not None]
        if len(at) < 4:
            continue
        values = np.array([getattr(rows[i], key) for i in at])
        a, b, c, d = u[at], h[at], t[at], w[at]
        steep = bend * (2.0 if key.startswith("total") else 1.0)
        terms, sizes = columns(
            (1.0, 10.0), (a, 3.0), (a * a, 1.5 * steep), (a**3, 4.0 * steep), (b, 0.1 * bend), (c, 0.5 * bend),
            (c * c, 1.0 * bend), (a * c, 1.5 * bend), (d, 3.0), (d * d, 1.5), (a * d, 2.0 * steep),
            (a * a * d, 3.0 * steep), (a * a * c, 3.0 * steep), (a**4, 15.0 * steep), (c * d, 1.0 * bend),
            (a**3 * d, 8.0 * steep), (a**3 * c, 8.0 * steep), (a * c * c, 4.0 * steep), count=len(at),
        )  # fmt: skip
        step = book.step(table, key, values)
        scatter = np.hypot(0.3 * step / values, 0.002 if len(at) > SMALL else 0.003)
        # toward the last height it can climb from, a distance runs away faster than any short law
        far = 1.0 + 2.5 * np.maximum(np.log(values / values.min()) - 1.0, 0.0)
        scatter, least = scatter * far, np.maximum(1.3 * step / values, 0.012 * far)
        found = stand_out(terms, np.log(values), sizes, scatter, least)
        yield from named(book, table, key, at, found, values, lambda x, _: math.exp(x))


def _climb(book: Book, rows: Sequence[Any]) -> Iterator[Complaint]:
    table = "performance.climb"
    u, h, t = _air(rows)
    heavy = max(r.weight_lb for r in rows)
    ratio = np.array([r.weight_lb for r in rows]) / heavy
    d = np.log(ratio)
    if len(rows) >= 3:
        values = np.array([r.rate_of_climb_fpm for r in rows])
        terms, sizes = columns(
            (1.0, 3000.0), (u, 5000.0), (u * u, 1500.0), (u**3, 1500.0), (h, 60.0), (t, 400.0), (t * t, 500.0),
            (u * t, 800.0), (d, 2000.0), (d * d, 1500.0), (u * d, 1000.0), (t * d, 400.0), count=len(rows),
        )  # fmt: skip
        step = book.step(table, "rate_of_climb_fpm", values)
        scatter = np.hypot(0.3 * step, np.full(len(values), 3.0))
        least = np.maximum(np.full(len(values), 1.5 * step + 6.0), 0.012 * np.abs(values))
        found = stand_out(terms, values * ratio, sizes, scatter, least)
        yield from named(
            book, table, "rate_of_climb_fpm", range(len(rows)), found, values, lambda x, i: x / float(ratio[i])
        )
    speed = "climb_speed_kias"
    at = [i for i, r in enumerate(rows) if r.climb_speed_kias is not None]
    if len(at) >= 4:
        values = np.array([rows[i].climb_speed_kias for i in at])
        step = min(1.0, book.step(table, speed, values))
        terms, sizes = columns(
            (1.0, 200.0), (h[at], 30.0), (h[at] ** 2, 15.0), (t[at], 10.0), (d[at], 60.0), (d[at] ** 2, 40.0),
            count=len(at),
        )  # fmt: skip
        found = stand_out(terms, values, sizes, np.full(len(at), 0.45 * step), np.full(len(at), 1.8 * step))
        yield from named(book, table, speed, at, found, values, lambda x, _: x)


def _to_climb(book: Book, printed: ToClimbTable) -> Iterator[Complaint]:
    table, rows = "performance.time_fuel_distance_to_climb", printed.rows
    if len(rows) < 4:
        return
    h = np.array([r.pressure_altitude_ft for r in rows]) / 1e4
    for key, size in (("time_min", 20.0), ("fuel_us_gal", 4.0), ("distance_nm", 30.0)):
        if key not in printed.columns:
            continue
        values = np.array([getattr(r, key) for r in rows])
        terms, sizes = columns(
            (1.0, 0.2 * size), (h, 2 * size), (h * h, size), (h**3, size), (h**5, 0.5 * size), count=len(rows)
        )  # fmt: skip
        step = book.step(table, key, values)
        scatter = np.hypot(0.32 * step, 0.012 * values)
        found = stand_out(terms, values, sizes, scatter, np.full(len(values), 1.2 * step))
        yield from named(book, table, key, range(len(rows)), found, values, lambda y, _: y)


def _calibrations(book: Book) -> Iterator[Complaint]:
    tables = book.file.airspeed_calibration
    if tables is None:
        return
    for name in type(tables).model_fields:
        table = getattr(tables, name)
        if table is None:
            continue
        rows, path = table.rows, f"airspeed_calibration.{name}"
        if len(rows) < 5:
            continue
        dial, calibrated = np.array([r.kias for r in rows]), np.array([r.kcas for r in rows])
        error, s = calibrated - dial, (dial - 80.0) / 40.0
        terms, sizes = columns(
            (1.0, 4.0), (s, 4.0), (s * s, 3.0), (s**3, 2.0), (np.exp(-(s + 0.5) / 0.35), 2.0), count=len(rows)
        )  # fmt: skip
        scale = book.in_print(path, "kcas", 1.0)
        step = step_of(np.round(error * scale, 3)) / scale
        found = stand_out(terms, error, sizes, np.full(len(rows), 0.36 * step + 0.1), np.full(len(rows), 1.4 * step))

        def back(error: float, row: int, dial: Array = dial) -> float:
            return error + float(dial[row])

        yield from named(book, path, "kcas", range(len(rows)), found, calibrated, back)
