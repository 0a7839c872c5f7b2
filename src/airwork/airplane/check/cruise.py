"""Suspicions about cruise by physics: drag against power, fuel against power, tanks against fuel flow."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import RHO0_KGPM3
from airwork.airplane.check.book import MPH_PER_KT, Book, Complaint, each, guess
from airwork.airplane.check.physics import DIRECT_RPM, G, middle, off, sigma
from airwork.airplane.cruise_power import ESTIMATE_SHARE, burns_jet_fuel

PARASITE = (0.0195, 0.062)  # parasite drag coefficient of wing area, with an efficiency of 0.78; struts and wires most
# Parasite drag by cruise over that by the glide, with the same efficiency: a windmilling propeller and a cautious glide
# ratio make the glide's larger; a governed propeller pulls better and windmills more
OVER_GLIDE = {"fixed_pitch": (0.68, 1.32), "constant_speed": (0.59, 1.32)}
# Pounds of fuel per horsepower and hour of gasoline piston engines, from memory, widened: over a whole column at 55 %
# power and more (best economy 0.40–0.45, best power 0.45–0.50, full rich 0.52–0.65), and of a row by itself
CONSUMPTION = {
    "best_economy": ((0.365, 0.50), (0.36, 0.55)),
    "best_power": ((0.405, 0.55), (0.40, 0.62)),
    "full_rich": ((0.48, 0.71), (0.44, 0.78)),
}
DIESEL = ((0.31, 0.44), (0.28, 0.48))  # 0.19 to 0.27 kg/kWh, 0.17 to 0.29
# Power shown by the fuel flow of a book that prints none, over what a propeller takes at that RPM (fixed pitch: the
# cube of the RPM, by density), or the percent itself (constant speed); wide, for the consumption itself is assumed
BY_FUEL = {"fixed_pitch": (0.70, 1.30), "constant_speed": (0.35, 1.05)}
# Of a fixed-pitch airplane the middle and the spread (of the logarithm) of: power by fuel flow over the RPM's, parasite
# drag, it over the glide's, speed at 75 % over structural cruise and stall. None tells a unit alone; together they do.
USUAL = {
    "rpm": (0.95, 0.11), "parasite": (0.037, 0.24), "glide": (0.88, 0.20), "structural": (0.85, 0.12),
    "stall": (2.02, 0.12),
}  # fmt: skip
GALLONS = units.IMPGAL_M3 / units.USGAL_M3
# By so much in the logarithm the other unit must be likelier (4.5 to 1): finds nine of ten such tables, doubts 2 of
# 28 sound books of several hands
EVIDENCE = 1.5
SAME = {"structural": 0.5, "stall": 0.5}  # the structural cruise is designed from the stall: the two speak once


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about power, fuel and speed in cruise."""
    yield from each(book, _cruise, _fuel, _fuel_alone)


@dataclass(frozen=True, slots=True)
class Level:
    """Level flight by the cruise table: parasite drag coefficient, it over the glide's, calibrated speed at 75 %."""

    parasite: float
    over_glide: float
    speed_mps: float


def _level(book: Book, power: float = 1.0, speed: float = 1.0) -> Level | None:
    """What the cruise table shows, were power and speeds so many times what is typed."""
    cruise, a = book.file.performance.cruise, book.airplane
    if cruise is None or book.file.airplane.wing_area_ft2 is None:
        return None
    weight, area = a.handbook_mass_kg * G, a.wing_area_m2
    aspect = a.wing_span_m**2 / area if book.file.airplane.wing_span_ft else 7.2
    drags, speeds = [], []
    for row, percent in zip(cruise.rows, a.engine.cruise_percents, strict=True):
        if row.ktas and percent is not None and 55 <= percent <= 90:
            tas, rho = units.from_unit(row.ktas * speed, "kt"), RHO0_KGPM3 * sigma(row)
            drag = 0.78 * power * percent / 100.0 * a.rated_power_w / tas
            lift = weight / (0.5 * rho * tas**2 * area)
            drags.append(drag / (0.5 * rho * tas**2 * area) - lift**2 / (math.pi * 0.75 * aspect))
            speeds.append(tas * math.sqrt(sigma(row)) * (75.0 / (percent * power)) ** (1 / 3))
    if not drags:
        return None
    parasite = float(np.median(drags))
    return Level(parasite, parasite / (math.pi * aspect * 0.75 / (4.0 * a.glide_ratio**2)), float(np.median(speeds)))


def _cruise(book: Book) -> Iterator[Complaint]:
    """Drag power in cruise against engine power."""
    if (level := _level(book)) is None:
        return
    parasite, ratio = level.parasite, level.over_glide
    if off(parasite, PARASITE):
        slow = parasite > PARASITE[1]
        words = "too slow" if slow else "too fast"
        unit = "km/h, mph and knots exchanged"
        yield book.doubt(
            "performance.cruise",
            f"a drag coefficient of {parasite:.3f}: {words} for the power",
            f"{PARASITE[0]:g} to {PARASITE[1]:g} is usual; are {unit}, or is the percent power another engine's?",
            leans=("airplane", "engine"),
            whole=True,
        )
        return
    a = book.airplane
    low, high = OVER_GLIDE[book.file.propeller.type]
    if a.engine.power_is_estimated:
        low, high = low * (1.0 - ESTIMATE_SHARE), high * (1.0 + ESTIMATE_SHARE)
    other = min((1 / MPH_PER_KT, MPH_PER_KT), key=lambda times: _surprise(book, speed=times))
    if off(ratio, (low, high)) or _surprise(book) - _surprise(book, speed=other) > EVIDENCE:
        words = "small" if ratio < 1.0 else "large"
        yield book.doubt(
            "performance.cruise",
            f"the cruise speeds show {ratio:.2f} times the drag of its glide ({a.glide_ratio:.1f} to 1)",
            f"That is {words}: mph, knots and km/h exchanged in cruise, or a glide ratio printed with caution?",
            leans=("performance.glide", "airplane", "engine"),
            whole=True,
        )


def _fuel(book: Book) -> Iterator[Complaint]:
    cruise, engine = book.file.performance.cruise, book.file.engine
    if cruise is None:
        return
    ranges = CONSUMPTION
    if burns_jet_fuel(book.file):
        ranges = dict.fromkeys(CONSUMPTION, DIESEL)
    elif not (_leaned_by_hand(book) or any(r.gph_best_power or r.gph_best_economy for r in cruise.rows)):
        # it may lean itself, or be leaned
        low, high = CONSUMPTION["best_power"], CONSUMPTION["full_rich"]
        ranges = {"full_rich": ((low[0][0], high[0][1]), (low[1][0], high[1][1]))}
    for mixture, (limits, single) in ranges.items():
        key, words = f"gph_{mixture}", mixture.replace("_", " ")
        used = [
            (i, flow, percent, flow * engine.fuel_density_lb_per_us_gal / (percent / 100.0 * engine.rated_power_hp))
            for i, (r, percent) in enumerate(zip(cruise.rows, book.percents, strict=True))
            if (flow := getattr(r, key)) is not None and percent
        ]
        much = [lb for _, _, percent, lb in used if percent >= 55]
        if len(much) >= 2 and off(value := float(np.median(much)), limits):
            leaned = mixture == "full_rich" and not off(value, CONSUMPTION["best_power"][0])
            hint = " It looks like a leaned flow: best power or economy?" if leaned else ""
            hint = hint or guess(value, middle(limits), key, 0.12)
            yield book.doubt(
                "performance.cruise",
                f"{value:.2f} lb of fuel for each horsepower and hour, {words}",
                f"{limits[0]:g} to {limits[1]:g} is usual.{hint or ' Liters, US or imperial gallons, or columns?'}",
                column=key,
                leans=("engine",),
                whole=True,
            )
            return
        for i, flow, percent, lb in used:
            if off(lb, single):
                said = book.number("performance.cruise", key, flow)
                power = book.number("engine", "rated_power_hp", percent / 100.0 * engine.rated_power_hp)
                what = f"{said} {words} for {power} is {lb:.2f} lb per hp and hour"
                why = f"{single[0]:.2f} to {single[1]:.2f} is usual; a digit is wrong, or liters typed as gallons?"
                yield book.doubt("performance.cruise", what, why, row=i, leans=("engine",))


def _leaned_by_hand(book: Book) -> bool:
    """A carburetor without a gear leans by the pilot's hand alone; small geared engines lean themselves."""
    engine = book.file.engine
    return engine.fuel_system == "carburetor" and engine.rated_rpm <= DIRECT_RPM and engine.gear_ratio == 1.0


def _fuel_alone(book: Book) -> Iterator[Complaint]:
    """Fuel flow against RPM, where no percent power is printed."""
    cruise, a = book.file.performance.cruise, book.airplane
    if cruise is None or not a.engine.power_is_estimated:
        return
    fixed = book.file.propeller.type == "fixed_pitch"
    if (share := _by_rpm(book)) is None:
        return
    limits = BY_FUEL[book.file.propeller.type]
    imperial = fixed and _surprise(book) - _surprise(book, power=GALLONS) > EVIDENCE
    if off(share, limits) or imperial:
        key = next(k for k in ("gph_best_power", "gph_best_economy", "gph_full_rich") if getattr(cruise.rows[0], k))
        hint = " Imperial gallons typed as US?" if imperial else guess(share, 1.0, key, 0.25)
        yield book.doubt(
            "performance.cruise",
            f"by its fuel flow the engine gives {share:.2f} times what its RPM takes",
            f"{'Its speeds and its glide ask for more' if imperial else f'{limits[0]:g} to {limits[1]:g} is usual'}."
            f"{hint or ' Liters and gallons, or the column?'}",
            column=key,
            leans=("engine",),
            whole=True,
        )


def _by_rpm(book: Book) -> float | None:
    """Power in cruise over what a fixed-pitch propeller takes at that RPM (its cube, by density); else the share."""
    cruise, engine, a = book.file.performance.cruise, book.file.engine, book.airplane
    fixed = book.file.propeller.type == "fixed_pitch"
    found = [
        percent / 100.0 / ((row.rpm / engine.rated_rpm) ** 3 * sigma(row) if fixed else 1.0)
        for row, percent in zip(cruise.rows if cruise else (), a.engine.cruise_percents, strict=True)
        if percent is not None and row.rpm is not None
    ]
    return float(np.median(found)) if found else None


def _surprise(book: Book, power: float = 1.0, speed: float = 1.0) -> float:
    """How little the cruise is like other fixed-pitch airplanes', were power and speeds so many times what is typed."""
    a, level = book.airplane, _level(book, power, speed)
    if book.file.propeller.type != "fixed_pitch" or level is None:
        return 0.0
    limit, curve = a.limits.max_structural_cruise_ias_mps, a.stall_curves.get(0)
    found = {"parasite": level.parasite, "glide": level.over_glide}
    if a.engine.power_is_estimated:
        found["rpm"] = (_by_rpm(book) or USUAL["rpm"][0]) * power
    if limit is not None:
        found["structural"] = level.speed_mps / limit
    if curve is not None:
        found["stall"] = level.speed_mps / float(curve.cas(a.max_takeoff_mass_kg, 1.0))
    apart = {k: math.log(max(x, 1e-3) / USUAL[k][0]) / USUAL[k][1] for k, x in found.items()}
    return sum(SAME.get(k, 1.0) * min(z**2, 36.0) / 2.0 for k, z in apart.items())
