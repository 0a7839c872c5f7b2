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
from airwork.airplane.check.book import KT_PER_MPS, Book, Complaint, each

G = units.G0_MPS2
SPEEDS, STALL, LIMITS = "v_speeds", "performance.stall", "limitations"

# Mean acceleration of the takeoff roll times weight times 0.7 lift-off speed over rated power: the share of the power
# that accelerates. A propeller turns half to three quarters of it into thrust there, wheels and drag take some.
ROLL_SHARE = (0.20, 0.64)
BRAKING_G = (0.12, 0.46)  # mean deceleration; tires on dry pavement hold 0.5 g at the very most
DIRECT_RPM = 3600.0  # an engine that turns faster has a gear


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion across tables."""
    yield from each(book, _takeoff, _landing)


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
