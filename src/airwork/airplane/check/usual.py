"""What every light piston single is like: a number of the whole airplane, and the range it lies in.

Ranges are common practice, from memory, held against invented airplanes: narrow enough that a number in another unit
falls out, and wide enough that only what can hardly be is said.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import A0_MPS
from airwork.airplane.check.book import Book, Complaint
from airwork.airplane.check.physics import DIRECT_RPM, G, at_sea_level, off, sigma

GEARED, TIPS = (1.9, 3.0), 0.7  # turns of a fast engine for one of the propeller; usual tip speed over sound
CRUISING = (60.0, 80.0)  # percent power
RATED_RPM = (1900.0, 6200.0)


@dataclass(frozen=True, slots=True)
class Usual:
    """One such number. value : None where the file can't tell it. whole : the table as a whole is doubted."""

    words: str
    limits: tuple[float, float]
    unit: str
    value: Callable[[Book], float | None]
    doubt: str
    table: str
    key: str = ""
    leans: tuple[str, ...] = ()
    whole: bool = False


def _wing_loading(book: Book) -> float | None:
    a = book.file.airplane
    return a.maximum_takeoff_weight_lb / a.wing_area_ft2 if a.wing_area_ft2 else None


def _aspect(book: Book) -> float | None:
    a = book.file.airplane
    return a.wing_span_ft**2 / a.wing_area_ft2 if a.wing_area_ft2 and a.wing_span_ft else None


def _tips(book: Book) -> float | None:
    """Speed of the propeller's tips at rated RPM over that of sound; of a gear not printed the likeliest."""
    engine, diameter = book.file.engine, book.file.propeller.diameter_in
    if diameter is None:
        return None
    if off(engine.rated_rpm, RATED_RPM):
        return None  # asked about itself
    direct = math.pi * units.from_unit(diameter, "in") * engine.rated_rpm / 60.0 / A0_MPS
    known = engine.gear_ratio > 1.0 or engine.rated_rpm <= DIRECT_RPM
    return direct / (engine.gear_ratio if known else min(max(direct / TIPS, GEARED[0]), GEARED[1]))


def _empty(book: Book) -> float | None:
    wb = book.file.weight_and_balance
    return None if wb is None else 100.0 * wb.empty_weight_lb / book.file.airplane.maximum_takeoff_weight_lb


def _glide_ratio(book: Book) -> float | None:
    glide = book.file.performance.glide
    return glide.rows[0].glide_ratio if glide else None


def _rolls(book: Book) -> float | None:
    tables = book.file.performance
    if tables.takeoff is None or tables.landing is None:
        return None
    up, down = (at_sea_level(t.rows)[1].ground_roll_ft for t in (tables.takeoff, tables.landing))
    return float(up / down)


def _climb(book: Book) -> float | None:
    climb = book.file.performance.climb
    row = at_sea_level(climb.rows)[1] if climb is not None else None
    if row is None or sigma(row) <= 0.9:
        return None
    lift = units.from_unit(row.weight_lb, "lb") * G * units.from_unit(row.rate_of_climb_fpm, "fpm")
    return 100.0 * lift / book.airplane.rated_power_w


def _endurance(book: Book) -> float | None:
    """Hours; none where the flows themselves are doubted, by what an engine takes for its power."""
    cruise, fuel = book.file.performance.cruise, book.file.fuel
    flows = [
        f
        for r, percent in zip(cruise.rows if cruise else (), book.airplane.engine.cruise_percents, strict=True)
        if percent is not None and CRUISING[0] <= percent <= CRUISING[1]
        for f in (r.gph_full_rich, r.gph_best_power, r.gph_best_economy)
        if f is not None
    ]
    return sum(t.usable_us_gal for t in fuel.tanks) / float(np.median(flows)) if fuel is not None and flows else None


LOADING, CLIMB = "weight_and_balance", "performance.climb"
USUAL = (
    Usual("weight over power", (5.5, 27.0), " lb/hp",
          lambda book: book.file.airplane.maximum_takeoff_weight_lb / book.file.engine.rated_power_hp,
          "a digit or the unit is wrong", "airplane", "maximum_takeoff_weight_lb", ("engine",)),
    Usual("weight over wing area", (4.5, 30.0), " lb/ft²", _wing_loading, "are m² and ft² exchanged, or a digit?",
          "airplane", "wing_area_ft2"),
    Usual("span² over wing area", (4.2, 14.0), "", _aspect, "a digit or the unit of one of them is wrong", "airplane",
          "wing_span_ft"),
    Usual("RPM of rated power", RATED_RPM, "", lambda book: book.file.engine.rated_rpm, "a digit?", "engine",
          "rated_rpm"),
    Usual("speed of the propeller's tips over that of sound", (0.45, 0.98), "", _tips,
          "the diameter's unit, a digit, or the rated RPM?", "propeller", "diameter_in", ("engine",)),
    Usual("empty weight of the maximum", (45.0, 80.0), " %", _empty, "kg and lb exchanged, or a digit?", LOADING,
          "empty_weight_lb", ("airplane",)),
    Usual("glide ratio", (6.0, 17.0), "", _glide_ratio, "a digit?", "performance.glide"),
    Usual("roll to take off over roll to stop", (0.6, 2.9), "", _rolls, "m and ft exchanged, or a zero?",
          "performance.takeoff", leans=("performance.landing",), whole=True),
    # what drag and propeller leave
    Usual("power that climbs, of the rated", (16.0, 80.0), " %", _climb, "m/s and ft/min, kg and lb, or a zero?", CLIMB,
          leans=("engine",), whole=True),
    Usual("hours the tanks last in cruise", (2.0, 10.0), "", _endurance, "are liters and gallons exchanged?", "fuel",
          leans=("performance.cruise",), whole=True),
)  # fmt: skip


def complaints(book: Book) -> Iterator[Complaint]:
    """Every number of the whole airplane that lies where none does."""
    for rule in USUAL:
        value = rule.value(book)
        if value is not None and off(value, rule.limits):
            yield book.doubt(
                rule.table,
                f"{rule.words}: {value:.3g}{rule.unit}",
                f"{rule.limits[0]:g} to {rule.limits[1]:g}{rule.unit} is usual; {rule.doubt}",
                key=rule.key,
                leans=rule.leans,
                whole=rule.whole,
            )
