"""What the fitted airplane can't do whatever it weighs: climb, turn its propeller, burn, fly slowly.

Everything is asked for the lightest weight; where RPM and throttle matter, of the full throttle of its own model.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane import Airplane
from airwork.errors import AirworkError
from airwork.recording.flight import Flight
from airwork.units import FT_M, to_unit, write

Array = NDArray[np.float64]

LIGHTEST = 0.65  # of the greatest weight: one person and little fuel in a light single
EVERY_S, OVER_S = 5.0, 30.0  # looked at so often, each as the mean over so long: gusts and pumping are gone by then
# The margins are our own choice: books, tachometers and the model err by some 5 % together.
TURNS_MOST, TURNS_LEAST = 1.06, 0.91  # RPM over that of full throttle at that speed; the least, in a takeoff's climb
CLIMBS_MOST, LIFT_MPS = 1.3, 1.5  # climb over the model's best, and as much again for rising air
LASTING_S, CLIMBING_S = 60.0, 120.0
# Fuel flow at full throttle over the book's full rich: leaning for a high field takes off some 15 %, a meter errs by 5.
FLOWS = (0.80, 1.25)
CLIMBS_LEAST = 0.5  # climb after a takeoff over the model's at the greatest weight: flaps and sink take some of it
SLOWEST, SLOW_S = 0.88, 20.0  # steady speed over the least stall speed: calibrations err by some 5 % there
LOW_M, HIGH_M = 30.0, 400.0  # above ground: a takeoff's climb
BEFORE = round(OVER_S / EVERY_S)  # means that overlap
MUCH_FLAP = 0.5  # of the notches: more is no takeoff's
CEILING_M = 300.0  # above the height at which it climbs no more


@dataclass(frozen=True, slots=True)
class Means:
    """A recording as means over half a minute. NaN where a column is missing; `climb` counts speed gained as height."""

    cas: Array
    climb: Array
    height: Array
    altitude: Array
    oat: Array
    rpm: Array
    flow: Array
    flap: Array


def beyond_model(flight: Flight, airplane: Airplane) -> Iterator[str]:
    """What no loading of the airplane explains, in words."""
    found = _means(flight)
    if found is None:
        return
    try:
        yield from _held_against(found, airplane)
    except AirworkError:
        return  # a model that can't answer contradicts nothing


def _means(flight: Flight) -> Means | None:
    """None for a recording without airspeed, height or air."""
    time_s = flight.time_s
    if len(time_s) < 2 or any(flight.get(n) is None for n in ("cas_mps", "altitude_m", "pressure_altitude_m", "oat_k")):
        return None
    ends = np.arange(time_s[0], time_s[-1] - OVER_S, EVERY_S)
    if not ends.size:
        return None
    first, last = np.searchsorted(time_s, ends), np.searchsorted(time_s, ends + OVER_S)

    def mean(name: str) -> Array:
        values = flight.get(name)
        if values is None or (name in {"rpm", "fuel_flow_m3ps"} and flight.columns[name].known != "measured"):
            return np.full(ends.size, np.nan)
        known = np.concatenate([[0], np.cumsum(np.isfinite(values))])
        total = np.concatenate([[0.0], np.cumsum(np.nan_to_num(values))])
        count = known[last] - known[first]
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(count >= 0.9 * (last - first), (total[last] - total[first]) / count, np.nan)

    raw, high = np.asarray(flight["cas_mps"], dtype=float), np.asarray(flight["altitude_m"], dtype=float)
    end = np.minimum(last, len(time_s) - 1)
    seconds = np.maximum(time_s[end] - time_s[first], 1.0)
    gained = np.nan_to_num((raw[end] ** 2 - raw[first] ** 2) / (2.0 * G0_MPS2))  # rolling, no speed is known
    return Means(
        mean("cas_mps"), (high[end] - high[first] + gained) / seconds, mean("agl_m"), mean("pressure_altitude_m"),
        mean("oat_k"), mean("rpm"), mean("fuel_flow_m3ps"), mean("flap_notch"),
    )  # fmt: skip


def _held_against(m: Means, airplane: Airplane) -> Iterator[str]:
    from airwork.airplane.performance import Condition, performance
    from airwork.airplane.performance.climbing import climb

    fitted, unit, name = performance(airplane), airplane.dial_unit, airplane.name
    mass = LIGHTEST * airplane.max_takeoff_mass_kg
    stall = float(airplane.stall_cas_mps(mass))
    # slower than it flies or faster than its model reaches, the nearest speed it answers speaks for it
    cas = np.clip(m.cas, 1.15 * stall, 3.0 * stall)
    good = np.isfinite(m.cas + m.altitude + m.oat) & (m.height > LOW_M)
    if not good.any():
        return
    full = climb(fitted, cas[good], Condition(mass, m.altitude[good], m.oat[good]))
    heaviest = airplane.max_takeoff_mass_kg
    laden = climb(
        fitted, np.maximum(cas[good], 1.25 * float(airplane.stall_cas_mps(heaviest))),
        Condition(heaviest, m.altitude[good], m.oat[good]),
    )  # fmt: skip
    able, turns, power, least = (np.full(cas.size, np.nan) for _ in range(4))
    able[good], turns[good], power[good] = full.climb_rate_mps, full.rpm, full.power_ratio
    least[good] = laden.climb_rate_mps
    with np.errstate(invalid="ignore"):
        ratio = m.rpm / turns if airplane.fixed_pitch else np.full(cas.size, np.nan)
        racing = (ratio > TURNS_MOST) & (m.climb > -0.5)
        if EVERY_S * racing.sum() >= LASTING_S:
            at = np.flatnonzero(racing)[int(np.argsort(ratio[racing])[racing.sum() // 2])]
            yield (
                f"{m.rpm[at]:,.0f} RPM without descending at {write(m.cas[at], unit)} calibrated; full throttle gives "
                f"{name} {turns[at]:,.0f} there"
            )
        rising = (m.climb > CLIMBS_MOST * np.maximum(able, 0.0) + LIFT_MPS) & (m.height > LOW_M)
        rising &= ~(m.rpm < 0.85 * turns)
        if EVERY_S * rising.sum() >= CLIMBING_S:
            middle, best = float(np.median(m.climb[rising])), float(np.median(able[rising]))
            yield (
                f"climbing {to_unit(middle, 'fpm'):,.0f} ft/min; {name} climbs {to_unit(best, 'fpm'):,.0f} at the most "
                "there, light and at full throttle"
            )
    yield from _takeoffs(m, airplane, turns, power, least)
    least_mps = least_stall_mps(airplane)
    slow = (np.abs(m.climb) < 1.0) & (m.cas < SLOWEST * (least_mps or 0.0)) & (m.height > 100.0)
    if least_mps is not None and EVERY_S * slow.sum() >= SLOW_S:
        yield (
            f"steady at {write(float(np.median(m.cas[slow])), unit)} calibrated; {name} stalls at "
            f"{write(least_mps, unit)} at the least"
        )
    high = m.altitude > float(np.nanmax(m.altitude)) - 0.5 * CEILING_M
    if EVERY_S * high.sum() >= LASTING_S:
        speeds, below = np.linspace(1.2, 2.2, 12) * stall, float(np.median(m.altitude[high])) - CEILING_M
        most = climb(fitted, speeds, Condition(mass, below, float(np.nanmedian(m.oat[high])))).climb_rate_mps
        if float(np.nanmax(most)) < 0.0:
            told = f"{name} climbs no more {CEILING_M / FT_M:,.0f} ft below"
            yield f"{write(below + CEILING_M, 'ft')} pressure altitude; {told}"


def _takeoffs(m: Means, airplane: Airplane, turns: Array, power: Array, least: Array) -> Iterator[str]:
    """In the climb after a takeoff the throttle is full: RPM and fuel flow are the engine's own, whoever is aboard.

    turns, power : of full throttle; least : climb at the greatest weight.
    """
    dragging = m.flap > MUCH_FLAP * airplane.flaps_full  # a go-around's: the model climbs without
    climbing = (m.height > LOW_M) & (m.height < HIGH_M) & (m.climb > 1.5) & ~dragging
    begun: list[int] = (np.flatnonzero(climbing[1:] & ~climbing[:-1]) + 1).tolist()
    runs = [k for k in begun if np.nanmin(m.height[max(k - BEFORE, 0) : k], initial=np.inf) <= LOW_M]  # from the ground
    here = [n for k in runs for n in range(k, min(k + BEFORE, turns.size)) if not dragging[n]]
    if not np.isfinite(turns[here]).any():
        return
    name = airplane.name

    def of(values: Array) -> float:
        return float(np.nanmedian(values[here])) if np.isfinite(values[here]).any() else float("nan")

    if airplane.fixed_pitch and of(m.rpm / turns) < TURNS_LEAST:
        yield f"{of(m.rpm):,.0f} RPM in the climb after takeoff; full throttle gives {name} {of(turns):,.0f} there"
    if of(least) > 1.0 and of(m.climb / least) < CLIMBS_LEAST:
        yield (
            f"{to_unit(of(m.climb), 'fpm'):,.0f} ft/min after takeoff; {name} climbs "
            f"{to_unit(of(least), 'fpm'):,.0f} there at its greatest weight"
        )
    if not np.isfinite(of(m.flow) + of(power)):
        return
    burned, book = of(m.flow), float(airplane.engine.full_power_fuel_flow(of(power)).value)
    if not FLOWS[0] <= burned / book <= FLOWS[1]:
        yield (
            f"{to_unit(burned, 'gph'):.1f} gal/h in the climb after takeoff; {name} burns "
            f"{to_unit(book, 'gph'):.1f} at full throttle there"
        )


def least_stall_mps(airplane: Airplane) -> float | None:
    """The lowest stall speed of all flap settings at its lightest; None where the file has none. [m/s]"""
    stalls = airplane.stall_cas_by_notch_mps(LIGHTEST * airplane.max_takeoff_mass_kg)
    return float(np.nanmin(stalls)) if np.isfinite(stalls).any() else None
