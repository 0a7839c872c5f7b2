"""Suspicions about single numbers of the power chart and the cruise table: power, speed and fuel flow by setting."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from airwork.airplane.check.book import Book, Complaint, columns, named
from airwork.airplane.check.physics import sigma
from airwork.airplane.check.smooth import Array, stand_out


def complaints(book: Book) -> Iterator[Complaint]:
    """Every number of the two tables that stands out of its column."""
    tables = book.file.performance
    if tables.cruise is not None:
        yield from _percent(book, "performance.cruise", tables.cruise.rows)
        yield from _cruise(book, tables.cruise.rows)
    if tables.power_chart is not None:
        yield from _percent(book, "performance.power_chart", tables.power_chart.rows)


def _percent(book: Book, table: str, rows: Sequence[Any]) -> Iterator[Complaint]:
    """Percent power by RPM (and manifold pressure) and altitude."""
    at = [i for i, r in enumerate(rows) if r.percent_power and r.rpm is not None]
    if len(at) < 5:
        return
    values = np.array([rows[i].percent_power for i in at])
    terms, sizes, governed = _by_setting(book, rows, at)
    if governed:
        found = stand_out(terms, values, sizes, np.full(len(at), 0.35), np.full(len(at), 1.6))
        yield from named(book, table, "percent_power", at, found, values, lambda y, _: y)
        return
    found = stand_out(terms, np.log(values), sizes, 0.35 / values, np.maximum(1.6 / values, 0.01))
    yield from named(book, table, "percent_power", at, found, values, lambda y, _: math.exp(y))


def _by_setting(book: Book, rows: Sequence[Any], at: Sequence[int]) -> tuple[Array, Array, bool]:
    """(terms, their usual sizes, is it by manifold pressure) of power by what is set and the air.

    Sizes are those of percent power by manifold pressure, else of its logarithm.
    """
    rated = book.file.engine.rated_rpm
    rpm = np.array([rows[i].rpm for i in at])
    pressures = [rows[i].manifold_pressure_inhg for i in at]
    if all(p is not None for p in pressures):
        m = (np.array(pressures) - 23.0) / 5.0
        x = rpm / rated - 0.85
        h = np.array([rows[i].pressure_altitude_ft for i in at]) / 1e4
        t = np.array([getattr(rows[i], "isa_deviation_c", 0.0) or 0.0 for i in at]) / 100.0
        terms, sizes = columns(
            (1.0, 200.0), (m, 50.0), (m * m, 6.0), (x, 200.0), (x * x, 150.0), (m * x, 80.0), (h, 30.0),
            (h * h, 8.0), (m * h, 6.0), (x * h, 40.0), (t, 40.0), (m * t, 10.0), count=len(at),
        )  # fmt: skip
        return terms, sizes, True
    r, u = np.log(rpm / rated), np.log([sigma(rows[i]) for i in at])
    terms, sizes = columns(
        (1.0, 10.0), (r, 6.0), (r * r, 6.0), (r**3, 10.0), (u, 2.0), (u * u, 1.0), (r * u, 3.0), (r * r * u, 6.0),
        count=len(at),
    )  # fmt: skip
    return terms, sizes, False


def _without_percent(book: Book, rows: Sequence[Any]) -> Iterator[Complaint]:
    """Speed and fuel flow by what is set, where no percent power stands between."""
    table = "performance.cruise"
    for key in ("ktas", "gph_full_rich", "gph_best_power", "gph_best_economy"):
        at = [i for i, r in enumerate(rows) if getattr(r, key) is not None]
        if len(at) < 5:
            continue
        values = np.array([getattr(rows[i], key) for i in at])
        terms, sizes, governed = _by_setting(book, rows, at)
        speed = key == "ktas"
        # a governed engine's are sizes of percent of about 65; a speed goes with the cube root or so
        sizes = np.append(10.0, sizes[1:] * (0.5 if speed else 1.0) / (65.0 if governed else 1.0))
        step = min(1.0, book.step(table, key, values)) if speed else book.step(table, key, values)
        scatter = np.hypot(0.32 * step / values, 0.004)
        if speed and not governed:  # near the slowest level speed a few RPM are several knots
            scatter = scatter * np.where(values < 0.8 * values.max(), 4.0, 1.0)
        least = np.maximum(1.6 * step / values, 0.012)
        found = stand_out(terms, np.log(values), sizes, scatter, least)
        yield from named(book, table, key, at, found, values, lambda y, _: math.exp(y))


def _cruise(book: Book, rows: Sequence[Any]) -> Iterator[Complaint]:
    """True airspeed by power and density; fuel flow by power."""
    if not any(r.percent_power for r in rows):
        yield from _without_percent(book, rows)
        return
    table = "performance.cruise"
    at = [i for i, r in enumerate(rows) if r.ktas is not None and r.percent_power]
    if len(at) >= 4:
        values = np.array([rows[i].ktas for i in at])
        c = np.log(np.array([rows[i].percent_power for i in at]) / 65.0)
        u = np.log([sigma(rows[i]) for i in at])
        terms, sizes = columns(
            (1.0, 10.0), (c, 0.6), (c * c, 0.6), (c**3, 1.0), (c**4, 1.5), (u, 0.6), (u * u, 0.4), (u * c, 0.8),
            (u * c * c, 1.5), (u * c**3, 3.0), count=len(at),
        )  # fmt: skip
        step = min(1.0, book.step(table, "ktas", values))
        scatter = np.hypot(0.35 * step / values, 0.003)
        # near the slowest level speed a rounded percent is several knots
        scatter = scatter * np.where(c < -0.30, 3.0, 1.0)
        found = stand_out(terms, np.log(values), sizes, scatter, np.maximum(1.6 * step / values, 0.01))
        yield from named(book, table, "ktas", at, found, values, lambda y, _: math.exp(y))
    for mixture in ("full_rich", "best_power", "best_economy"):
        key = f"gph_{mixture}"
        at = [i for i, r in enumerate(rows) if getattr(r, key) is not None and r.percent_power]
        if len(at) < 4:
            continue
        values = np.array([getattr(rows[i], key) for i in at])
        c = np.array([rows[i].percent_power for i in at]) / 65.0 - 1.0
        u = np.log([sigma(rows[i]) for i in at])
        terms, sizes = columns((1.0, 10.0), (c, 3.0), (c * c, 1.0), (c**3, 1.0), (u, 0.15), count=len(at))
        step = book.step(table, key, values)
        percent = np.array([rows[i].percent_power for i in at])
        scatter = np.hypot(np.hypot(0.3 * step / values, 0.3 / percent), 0.003)
        middle = float(np.median(values))

        def back(share: float, _: int, middle: float = middle) -> float:
            return share * middle

        shares = values / middle
        found = stand_out(terms, shares, sizes, scatter * shares, np.maximum(1.5 * step / values, 0.02))
        yield from named(book, table, key, at, found, values, back)
