"""Weight and balance: today's weight and center of gravity, the categories it is legal in, and what is wrong. SI.

Mass times arm summed over stations and tanks, over the total mass ([WBH] FAA-H-8083-1B ch. 2). Unusable fuel is part
of the empty weight. Messages are in the book's units.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from airwork import units
from airwork.airplane.airplane import Airplane
from airwork.airplane.book_units import BookUnits
from airwork.airplane.file.loading import Envelope, Station, WeightAndBalance
from airwork.errors import InputError, NotPossible

_BEHIND = re.compile(r"rear|hind|middle|(aft|back)( row)? seat|back row|(second|third|2nd|3rd) row|row ?(2|3|two|ii)")
_LB_TOLERANCE, _IN_TOLERANCE = 0.05, 0.005  # a loading exactly on a limit is within it, whatever the rounding


@dataclass(frozen=True, slots=True)
class Loading:
    """A loaded airplane. Arms aft of the datum; `arm_limits_m` is (forward, aft) at this mass for each category."""

    mass_kg: float
    arm_m: float
    categories: tuple[str, ...]
    problems: tuple[str, ...]
    arm_limits_m: Mapping[str, tuple[float, float] | None]
    why_not: Mapping[str, str]  # for each category it is not legal in, the reason


def loading(airplane: Airplane, station_mass_kg: Mapping[str, float], tank_m3: Mapping[str, float]) -> Loading:
    """Weight and balance of a loading.

    Parameters
    ----------
    station_mass_kg : mass at each station by its name; a station left out is empty. [kg]
    tank_m3 : usable fuel in each tank by its name; a tank left out is empty. [m³]

    Raises
    ------
    NotPossible : the airplane file has no weight and balance.
    InputError : an unknown station or tank, a negative amount, more fuel than the tank holds.
    """
    wb, book = _weight_and_balance(airplane), airplane.book
    stations = {s.name: s for s in wb.stations}
    masses = _station_masses(airplane, wb, station_mass_kg)
    problems = [
        f"{name}: {units.write(mass, book.mass)} is over the {book.write(limit, 'lb')} allowed there"
        for name, mass in masses.items()
        if (limit := stations[name].maximum_lb) is not None and units.to_unit(mass, "lb") > limit + _LB_TOLERANCE
    ]
    fuel = _fuel_masses(airplane, wb, tank_m3)
    problems += _imbalance(airplane, tank_m3)
    pounds = [wb.empty_weight_lb, *(units.to_unit(m, "lb") for m in masses.values())]
    arms = [wb.empty_arm_in, *(stations[name].arm_in for name in masses)]
    mass_lb = sum(pounds) + sum(units.to_unit(mass, "lb") for _, mass in fuel)
    arm_in = center_of_gravity_m(
        [*pounds, *(units.to_unit(mass, "lb") for _, mass in fuel)], [*arms, *(arm for arm, _ in fuel)]
    )
    heaviest = airplane.file.airplane.maximum_takeoff_weight_lb
    if mass_lb > heaviest + _LB_TOLERANCE:
        over = mass_lb - heaviest
        here, more, most = (book.write(x, "lb") for x in (mass_lb, over, heaviest))
        problems.append(f"{here} is {more} over the maximum takeoff weight of {most}")
    limits: dict[str, tuple[float, float] | None] = {}
    why_not: dict[str, str] = {}
    for category in airplane.categories:
        envelope: Envelope | None = getattr(wb, f"envelope_{category}")
        if envelope is None:
            limits[category], why_not[category] = None, "the airplane file has no envelope for it"
            continue
        edges = arm_limits_in(envelope, mass_lb)
        limits[category] = None if edges is None else (edges[0] * units.IN_M, edges[1] * units.IN_M)
        reason = _outside(book, envelope, mass_lb, arm_in, edges) or _conditions(book, envelope, stations, masses)
        if reason:
            why_not[category] = reason
    legal = tuple(c for c in airplane.categories if c not in why_not) if not problems else ()
    if len(why_not) == len(airplane.categories):
        problems.append("; ".join(f"{c}: {reason}" for c, reason in why_not.items()))
    return Loading(mass_lb * units.LB_KG, arm_in * units.IN_M, legal, tuple(problems), limits, why_not)


def remedy(
    airplane: Airplane, station_mass_kg: Mapping[str, float], tank_m3: Mapping[str, float], category: str
) -> str:
    """What to move where to make a loading legal in a category it is not legal in, in words; empty if no move does.

    The move of the least mass from a loaded station (people included: they can change seats) to another with room.
    """
    loaded = loading(airplane, station_mass_kg, tank_m3)
    edges = loaded.arm_limits_m.get(category)
    if edges is None or edges[0] <= loaded.arm_m <= edges[1]:
        return ""
    wb = _weight_and_balance(airplane)
    masses, unit = _station_masses(airplane, wb, station_mass_kg), airplane.book.mass
    target = edges[0] if loaded.arm_m < edges[0] else edges[1]
    moves: list[tuple[int, str, str]] = []
    for here, there in permutations(wb.stations, 2):
        if station_kind(there) != "fuel" and masses.get(here.name):
            arms = (here.arm_in * units.IN_M, there.arm_in * units.IN_M)
            moved = mass_to_move_kg(target - loaded.arm_m, *arms, loaded.mass_kg)
            least = math.ceil(units.to_unit(moved, unit)) if moved > 0 else 0
            if 0 < least <= units.to_unit(masses[here.name], unit) + _LB_TOLERANCE:
                moves.append((least, here.name, there.name))
    for least, start, end in sorted(moves):
        moved = min(units.from_unit(least, unit), masses[start])
        after = {**masses, start: masses[start] - moved, end: masses.get(end, 0.0) + moved}
        if category in loading(airplane, after, tank_m3).categories:
            return f"moving {least:,.0f} {unit} from {start} to {end} makes it legal in {category}"
    return ""


def arm_limits_in(envelope: Envelope, weight_lb: float) -> tuple[float, float] | None:
    """(forward, aft) arm limits of an envelope at a weight; None above or below it. [in]"""
    weights = np.array([c.weight_lb for c in envelope.polygon])
    arms = np.array([c.arm_in for c in envelope.polygon])
    w = float(np.clip(weight_lb, weights.min(), weights.max()))
    if abs(w - weight_lb) > _LB_TOLERANCE:
        return None
    found: list[float] = []
    for i in range(len(weights)):
        w0, w1, a0, a1 = weights[i - 1], weights[i], arms[i - 1], arms[i]
        if min(w0, w1) <= w <= max(w0, w1):
            found += [float(a0), float(a1)] if w0 == w1 else [float(a0 + (w - w0) / (w1 - w0) * (a1 - a0))]
    return min(found), max(found)


def _outside(
    book: BookUnits, envelope: Envelope, mass_lb: float, arm_in: float, edges: tuple[float, float] | None
) -> str:
    """Why a weight and arm lie outside an envelope; empty if inside."""
    heaviest = max(c.weight_lb for c in envelope.polygon)
    if envelope.maximum_weight_lb is not None:
        heaviest = min(heaviest, envelope.maximum_weight_lb)
    lightest = min(c.weight_lb for c in envelope.polygon)
    here, at = book.write(mass_lb, "lb"), f"center of gravity {book.write(arm_in, 'in', 2, more=1)}"
    if mass_lb > heaviest + _LB_TOLERANCE:
        return f"{here} is {book.write(mass_lb - heaviest, 'lb')} over its {book.write(heaviest, 'lb')}"
    if mass_lb < lightest - _LB_TOLERANCE:
        return f"{here} is below its lightest weight, {book.write(lightest, 'lb')}"
    assert edges is not None  # the weight is within the polygon's
    if arm_in < edges[0] - _IN_TOLERANCE:
        beyond, edge = (book.write(x, "in", 2, more=1) for x in (edges[0] - arm_in, edges[0]))
        return f"{at} is {beyond} ahead of its forward limit {edge}"
    if arm_in > edges[1] + _IN_TOLERANCE:
        beyond, edge = (book.write(x, "in", 2, more=1) for x in (arm_in - edges[1], edges[1]))
        return f"{at} is {beyond} behind its aft limit {edge}"
    return ""


def _conditions(
    book: BookUnits, envelope: Envelope, stations: Mapping[str, Station], masses: Mapping[str, float]
) -> str:
    """Which further condition of an envelope is not met; empty if all are."""
    for name, mass in masses.items():
        kind, weight = station_kind(stations[name]), units.to_unit(mass, "lb")
        if envelope.rear_seats_empty and kind == "rear_seats" and weight > _LB_TOLERANCE:
            return f"needs the rear seats empty, {book.write(weight, 'lb')} is there"
        if envelope.baggage_maximum_lb is not None and kind == "baggage":
            bags = sum(units.to_unit(m, "lb") for n, m in masses.items() if station_kind(stations[n]) == "baggage")
            if bags > envelope.baggage_maximum_lb + _LB_TOLERANCE:
                limit = envelope.baggage_maximum_lb
                return (
                    f"allows {book.write(limit, 'lb')} of baggage, {book.write(bags, 'lb')} is aboard"
                    if limit
                    else (f"needs no baggage, {book.write(bags, 'lb')} is aboard")
                )
        limit_here = envelope.station_maximum_lb.get(name)
        if limit_here is not None and weight > limit_here + _LB_TOLERANCE:
            return f"allows {book.write(limit_here, 'lb')} at {name}, {book.write(weight, 'lb')} is there"
    return ""


def station_kind(station: Station) -> str:
    """What a station is: its `kind`, else what its name says."""
    if station.kind is not None:
        return station.kind
    name = station.name.lower()
    if station.usable_us_gal is not None or "fuel" in name or "tank" in name:
        return "fuel"
    if "baggage" in name or "luggage" in name or "cargo" in name:
        return "baggage"
    if _BEHIND.search(name):
        return "rear_seats"
    return "front_seats" if "seat" in name or "pilot" in name else "other"


def _weight_and_balance(airplane: Airplane) -> WeightAndBalance:
    wb = airplane.file.weight_and_balance
    if wb is None:
        raise NotPossible(f"The airplane file of {airplane.name} has no [weight_and_balance].")
    return wb


def _known(name: str, names: Mapping[str, object], what: str) -> str:
    """The name as the file spells it, whatever the case typed."""
    by_lower = {n.lower(): n for n in names}
    if name.strip().lower() not in by_lower:
        raise InputError(f"no {what} of this name; there are: {', '.join(names)}.", where=f"{what} {name!r}")
    return by_lower[name.strip().lower()]


def _station_masses(airplane: Airplane, wb: WeightAndBalance, given: Mapping[str, float]) -> dict[str, float]:
    stations = {s.name: s for s in wb.stations}
    masses: dict[str, float] = {}
    for name, mass in given.items():
        found = _known(name, stations, "station")
        if not 0.0 <= mass < float("inf"):
            raise InputError("a mass can't be negative.", where=f"station {found!r}")
        if station_kind(stations[found]) == "fuel" and airplane.tanks:
            tanks = ", ".join(t.name for t in airplane.tanks)
            raise InputError(f"fuel is given by tank ({tanks}).", where=f"station {found!r}")
        masses[found] = masses.get(found, 0.0) + mass
    return masses


def fuel_station(airplane: Airplane, tank_name: str) -> Station:
    """The station a tank's fuel is loaded at: the tank's own, else the one fuel station."""
    wb = _weight_and_balance(airplane)
    entry = next((t for t in (airplane.file.fuel.tanks if airplane.file.fuel else []) if t.name == tank_name), None)
    stations = {s.name: s for s in wb.stations}
    if entry is not None and entry.station is not None:
        if entry.station not in stations:
            raise InputError(f"is loaded at {entry.station!r}, which is no station.", where=f"tank {tank_name!r}")
        return stations[entry.station]
    fuel = [s for s in wb.stations if station_kind(s) == "fuel"]
    same_name = [s for s in fuel if s.name.lower() == tank_name.lower()]
    if same_name:
        return same_name[0]
    if len(fuel) != 1:
        raise NotPossible(
            f"The airplane file doesn't say at which station the fuel of tank {tank_name!r} is loaded; "
            "give the tank a `station`."
        )
    return fuel[0]


def _fuel_masses(airplane: Airplane, wb: WeightAndBalance, given: Mapping[str, float]) -> list[tuple[float, float]]:
    """(arm [in], mass [kg]) of each tank's fuel."""
    tanks = {t.name: t for t in airplane.tanks}
    out = []
    for name, volume in given.items():
        tank = tanks[_known(name, tanks, "tank")]
        if not 0.0 <= volume <= tank.usable_m3 + 1e-7:
            amount, most = (units.write(x, airplane.book.fuel, 1) for x in (volume, tank.usable_m3))
            raise InputError(f"{amount} asked, it holds 0 to {most} of usable fuel.", where=f"tank {tank.name!r}")
        out.append((fuel_station(airplane, tank.name).arm_in, volume * airplane.fuel_density_kgpm3))
    return out


def _imbalance(airplane: Airplane, given: Mapping[str, float]) -> list[str]:
    limit = airplane.file.fuel.imbalance_limit_us_gal if airplane.file.fuel else None
    if limit is None or len(airplane.tanks) < 2:
        return []
    by_name = {name.strip().lower(): volume for name, volume in given.items()}
    held = [units.to_unit(by_name.get(t.name.lower(), 0.0), "gal") for t in airplane.tanks]
    difference = max(held) - min(held)
    if difference <= limit + 1e-6:
        return []
    book = airplane.book
    return [f"the tanks differ by {book.write(difference, 'gal', 1)}, {book.write(limit, 'gal', 1)} is the limit"]


def center_of_gravity_m(mass_kg: Sequence[float], arm_m: Sequence[float]) -> float:
    """Center of gravity of some masses: Σ m·a / Σ m. [m]

    >>> center_of_gravity_m([100, 100, 200], [50, 90, 150])
    110.0
    """
    masses = np.asarray(mass_kg, dtype=float)
    return float(masses @ np.asarray(arm_m, dtype=float) / masses.sum())


def mass_to_move_kg(shift_m_: float, from_m: float, to_m: float, total_kg: float) -> float:
    """Mass to move between two arms so that the center of gravity shifts so far: M·Δ/(to − from). [kg]

    Negative: it would have to go the other way. NaN for equal arms.
    """
    return total_kg * shift_m_ / (to_m - from_m) if to_m != from_m else float("nan")
