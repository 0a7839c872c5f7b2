"""Suspicions by physics across tables: what the distances, climb, cruise and speeds say of one and the same airplane.

Each range is wide enough for light piston singles and narrow enough that a table in another unit falls out of it. Where
no source is named it is common practice, from memory, held against invented airplanes; only what can hardly be is said.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Any

from airwork import units
from airwork.airdata.atmosphere import density_ratio, standard_temperature_k
from airwork.airplane.check.book import KT_PER_MPS, Book, Complaint, each, guess

G, RHO0 = units.G0_MPS2, 1.225
SPEEDS, STALL, LIMITS = "v_speeds", "performance.stall", "limitations"

# Mean acceleration of the takeoff roll times weight times 0.7 lift-off speed over rated power: the share of the power
# that accelerates. A propeller turns half to three quarters of it into thrust there, wheels and drag take some.
ROLL_SHARE = (0.20, 0.64)
BRAKING_G = (0.12, 0.46)  # mean deceleration; tires on dry pavement hold 0.5 g at the very most
ROLLS = (0.6, 2.9)  # takeoff roll over landing roll, heavy, standard air
CLIMB_SHARE = (0.16, 0.80)  # climb power over rated power: what drag and propeller leave
POWER_LOADING = (5.5, 27.0)  # lb/hp
WING_LOADING = (4.5, 30.0)  # lb/ft²
TIP = (0.45, 0.98)  # Mach number of the propeller's tips at rated RPM
DIRECT_RPM, GEARED = 3600.0, (1.9, 3.0)  # an engine that turns faster has a gear, so many times slower


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion across tables."""
    yield from each(book, _airplane, _glide, _takeoff, _landing, _rolls, _climb)


def sigma(row: Any) -> float:
    """Density ratio of the air a row is printed for; standard where it prints no temperature."""
    density_ft = getattr(row, "density_altitude_ft", None)
    height = units.from_unit(row.pressure_altitude_ft if density_ft is None else density_ft, "ft")
    oat, above = getattr(row, "oat_c", None), getattr(row, "isa_deviation_c", None) or 0.0
    kelvin = units.from_unit(oat, "°C") if oat is not None else float(standard_temperature_k(height)) + above
    return float(density_ratio(height, kelvin))


def off(value: float, limits: tuple[float, float]) -> bool:
    return not limits[0] <= value <= limits[1]


def middle(limits: tuple[float, float]) -> float:
    return math.sqrt(limits[0] * limits[1])


def _stall(book: Book, lb: float, notch: int) -> float | None:
    """Calibrated stall speed; of a notch the book prints none for, the middle of its neighbors'. [m/s]"""
    curves = book.airplane.stall_curves
    near = {notch} if notch in curves else {
        *sorted(n for n in curves if n < notch)[-1:], *sorted(n for n in curves if n > notch)[:1]
    }  # fmt: skip
    found = [knots / KT_PER_MPS for n in near if (knots := book.stall_kt(lb, n)) is not None]
    return sum(found) / len(found) if found else None


def _airplane(book: Book) -> Iterator[Complaint]:
    a, engine = book.file.airplane, book.file.engine
    top = a.maximum_takeoff_weight_lb
    ratio = top / engine.rated_power_hp
    if off(ratio, POWER_LOADING):
        said = (
            book.number("airplane", "maximum_takeoff_weight_lb", top),
            book.number("engine", "rated_power_hp", engine.rated_power_hp),
        )
        yield book.doubt(
            "airplane",
            f"{said[0]} with {said[1]}",
            "No light single has so much or so little weight for its power; a digit or the unit is wrong.",
            key="maximum_takeoff_weight_lb",
            leans=("engine",),
        )
    if a.wing_area_ft2 is not None:
        loading = top / a.wing_area_ft2
        if off(loading, WING_LOADING):
            yield book.doubt(
                "airplane",
                f"{book.weight(top)} on {book.number('airplane', 'wing_area_ft2', a.wing_area_ft2)} of wing",
                f"That is {loading:.1f} lb/ft²; {WING_LOADING[0]:g} to {WING_LOADING[1]:g} is usual. "
                "Are m² and ft² exchanged, or a digit?",
                key="wing_area_ft2",
            )
        if a.wing_span_ft is not None and off(aspect := a.wing_span_ft**2 / a.wing_area_ft2, (4.2, 14.0)):
            yield book.doubt(
                "airplane",
                f"span² over area is {aspect:.1f}",
                "Light airplanes lie between 5 and 12; a digit or the unit of one of them is wrong.",
                key="wing_span_ft",
            )
    diameter = book.file.propeller.diameter_in
    if diameter is not None:
        mach = math.pi * units.from_unit(diameter, "in") * engine.rated_rpm / 60.0 / 340.0
        known = engine.gear_ratio > 1.0 or engine.rated_rpm <= DIRECT_RPM
        low, high = (engine.gear_ratio, engine.gear_ratio) if known else GEARED
        if mach / low < TIP[0] or mach / high > TIP[1]:
            yield book.doubt(
                "propeller",
                f"the tips turn at {mach:.2f} of the speed of sound",
                "Propellers stay between 0.5 and 0.95; the diameter's unit, a digit, or the rated RPM?",
                key="diameter_in",
                leans=("engine",),
            )


def _glide(book: Book) -> Iterator[Complaint]:
    glide = book.file.performance.glide
    ratio = glide.rows[0].glide_ratio if glide else None
    if ratio is not None and off(ratio, (6.0, 17.0)):
        yield book.doubt("performance.glide", f"glide ratio {ratio:g}", "Light singles glide 7 to 15 to one.", row=0)


def at_sea_level(rows: Any) -> tuple[int, Any]:
    """The heaviest row nearest to standard air at sea level, with its number."""
    heavy = max(r.weight_lb for r in rows)
    return min(((i, r) for i, r in enumerate(rows) if r.weight_lb == heavy), key=lambda ir: abs(math.log(sigma(ir[1]))))


def _runway(
    book: Book, kind: str, notch: int, level: Callable[[float, Any], tuple[float, tuple[float, float], str, str]]
) -> Iterator[Complaint]:
    table = getattr(book.file.performance, kind)
    if table is None:
        return
    path = f"performance.{kind}"
    i, row = at_sea_level(table.rows)
    stall = _stall(book, row.weight_lb, notch)
    if stall is not None:
        root = math.sqrt(sigma(row))
        value, limits, words, why = level(stall / root, row)
        faster, *_ = level((stall + book.dial_low_kt(notch) / KT_PER_MPS) / root, row)
        if value > limits[1] or faster < limits[0]:
            wrong = units.FT_M if value > limits[1] else 1 / units.FT_M
            fits = not off(value * wrong, limits)
            hint = " Meters typed as feet?" if fits and value > limits[1] else " Feet typed as meters?" if fits else ""
            hint = hint or (" A zero too few?" if value > limits[1] else " A zero too many?")
            yield book.doubt(
                path,
                f"ground roll {book.number(path, 'ground_roll_ft', row.ground_roll_ft)}: {words}",
                why + hint,
                row=i,
                rows=(),
                leans=(STALL, SPEEDS, "engine", *book.through()),
                whole=True,
            )


def _takeoff(book: Book) -> Iterator[Complaint]:
    table = book.file.performance.takeoff
    power = book.airplane.rated_power_w

    def level(stall: float, row: Any) -> tuple[float, tuple[float, float], str, str]:
        speed = 1.13 * stall
        mean = speed**2 / (2 * units.from_unit(row.ground_roll_ft, "ft"))
        share = mean * units.from_unit(row.weight_lb, "lb") * 0.7 * speed / power
        words = f"{mean / G:.2f} g on average, {100 * share:.0f} % of the rated power"
        why = f"{100 * ROLL_SHARE[0]:.0f} to {100 * ROLL_SHARE[1]:.0f} % of the power accelerates a light single."
        return share, ROLL_SHARE, words, why

    yield from _runway(book, "takeoff", (table.flap_notch or 0) if table else 0, level)


def _landing(book: Book) -> Iterator[Complaint]:
    table = book.file.performance.landing

    def level(stall: float, row: Any) -> tuple[float, tuple[float, float], str, str]:
        mean = (1.1 * stall) ** 2 / (2 * units.from_unit(row.ground_roll_ft, "ft")) / G
        why = f"Light singles brake with {BRAKING_G[0]:g} to {BRAKING_G[1]:g} g."
        return mean, BRAKING_G, f"{mean:.2f} g of braking", why

    notch = table.flap_notch if table and table.flap_notch is not None else book.airplane.flaps_full
    yield from _runway(book, "landing", notch, level)


def _rolls(book: Book) -> Iterator[Complaint]:
    """The takeoff's roll against the landing's: engine and brakes change a light single's speed alike."""
    tables = book.file.performance
    if tables.takeoff is None or tables.landing is None:
        return
    up, down = (at_sea_level(t.rows)[1].ground_roll_ft for t in (tables.takeoff, tables.landing))
    if off(up / down, ROLLS):
        said = [
            book.number(f"performance.{kind}", "ground_roll_ft", x) for kind, x in (("takeoff", up), ("landing", down))
        ]
        yield book.doubt(
            "performance.takeoff",
            f"it rolls {said[0]} to take off and {said[1]} to stop",
            f"{ROLLS[0]:g} to {ROLLS[1]:g} times is usual.{guess(up, 1.4 * down, 'ground_roll_ft', 0.45)}",
            leans=("performance.landing",),
            whole=True,
        )


def _climb(book: Book) -> Iterator[Complaint]:
    table = book.file.performance.climb
    if table is None:
        return
    path, power = "performance.climb", book.airplane.rated_power_w
    i, row = at_sea_level(table.rows)
    weight = units.from_unit(row.weight_lb, "lb") * G
    share = units.from_unit(row.rate_of_climb_fpm, "fpm") * weight / power
    if sigma(row) > 0.9 and off(share, CLIMB_SHARE):
        why = f"{100 * CLIMB_SHARE[0]:.0f} to {100 * CLIMB_SHARE[1]:.0f} % of the power climbs a light single."
        yield book.doubt(
            path,
            f"{book.number(path, 'rate_of_climb_fpm', row.rate_of_climb_fpm)} at "
            f"{book.number(path, 'weight_lb', row.weight_lb)} takes {100 * share:.0f} % of the rated power",
            why + " m/s and ft/min, kg and lb, or a zero?",
            row=i,
            rows=(),
            leans=("engine",),
            whole=True,
        )
