"""How the airplane changes over the months: climb at full throttle against what all its flights say together.

For each flight the full-throttle windows are held against the common fit (its own weight taken in, nothing else of its
own), so that a tired engine or a dented propeller shows as flights that climb less than the earlier ones did.
"""

from __future__ import annotations

from calendar import month_name
from dataclasses import dataclass
from datetime import date

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane.performance.condition import stall_cas_mps
from airwork.airplane.performance.flown import Flown
from airwork.airplane.performance.full_throttle import full_rows
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.state import State
from airwork.units import to_unit

_LEAST_DAYS = 60
_LEAST_FLIGHTS = 2
_FLIGHT_SD_MPS = 0.2  # a flight's own weight, air and hand, in its rate of climb (our choice, from simulated flights)


@dataclass(frozen=True, slots=True)
class FlightClimb:
    """One flight's climb less what the common fit says at its RPM and at full throttle. [m/s]"""

    on: date
    more_mps: float


def climbs_over_time(performance: Performance) -> tuple[FlightClimb, ...]:
    """Every dated flight with full-throttle climbs, oldest first; empty where the propeller is governed."""
    engine = performance.fixed
    if engine is None:
        return ()
    out = []
    for flown in performance.learned.flights:
        full, top = full_rows(flown.rows, engine)
        if np.isfinite(top) and flown.date:
            out.append(FlightClimb(date.fromisoformat(flown.date), _more_mps(performance, flown, full)))
    return tuple(sorted(out, key=lambda c: c.on))


def _more_mps(performance: Performance, flown: Flown, full: np.ndarray) -> float:
    rows = flown.rows.take(full)
    fits = {f.key: f for f in performance.learned.joint.flights} if performance.learned.joint is not None else {}
    share = fits[flown.key].weight_share if flown.key in fits and flown.weight_from == "unknown" else 0.0
    mass = (flown.mass_kg - rows.burned_kg) * np.exp(share)
    stall = stall_cas_mps(performance.airplane, rows.notch, mass)
    lift = mass * G0_MPS2 * rows.load_factor
    stalled = rows.load_factor * (stall / rows.cas_mps) ** 2
    at = State(rows.tas_mps, rows.density_kgpm3, lift, stalled, rows.notch)
    engine = performance.fixed
    assert engine is not None
    excess = performance.law.excess_n(performance.theta, at, engine.full_throttle_n(at.tas_mps, at.density_kgpm3))
    return float(np.median(rows.rate_mps - excess * at.tas_mps / (mass * G0_MPS2)))


def wear_words(performance: Performance) -> str:
    """The newest flights against the oldest, in words; empty where they are too few or too close together."""
    climbs = climbs_over_time(performance)
    if len(climbs) < 2 * _LEAST_FLIGHTS or (climbs[-1].on - climbs[0].on).days < _LEAST_DAYS:
        return ""
    count = max(_LEAST_FLIGHTS, len(climbs) // 3)
    early, late = climbs[:count], climbs[-count:]
    change = float(np.mean([c.more_mps for c in late]) - np.mean([c.more_mps for c in early]))
    half = 1.645 * _FLIGHT_SD_MPS * float(np.sqrt(2.0 / count))
    fpm, half_fpm = to_unit(change, "fpm"), to_unit(half, "fpm")
    since = f"in {month_name[early[0].on.month]} {early[0].on.year}"
    if abs(fpm) <= half_fpm:
        return f"climbs as {since}, within {performance.airplane.book.spoken(half_fpm, 'fpm')}"
    more, width = (performance.airplane.book.spoken(x, "fpm") for x in (abs(fpm), half_fpm))
    return f"climbs {more} {'more' if fpm > 0 else 'less'} than {since} (± {width.partition(' ')[0]})"
