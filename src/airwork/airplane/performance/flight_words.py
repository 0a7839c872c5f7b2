"""What each learned flight gave, what the fit makes of it and what it changed, in words; and the climb over the months.

For the months each flight's full-throttle windows are held against the common fit (its own weight taken in, nothing
else of its own): a tired engine or a dented propeller shows as flights that climb less than the earlier ones did.
"""

from __future__ import annotations

from calendar import month_name
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane.performance.advice import Known, known
from airwork.airplane.performance.condition import stall_cas_mps
from airwork.airplane.performance.flown import FULL_CLIMB, GLIDE, WINDOW_S, Flown
from airwork.airplane.performance.full_throttle import full_rows
from airwork.airplane.performance.joint import FlightFit
from airwork.airplane.performance.knowledge import Told, weight_words
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.state import State
from airwork.units import to_unit
from airwork.values import BAND

_CLEAR_SHARE = 0.03  # a weight so far from the noted one is asked about: two standard deviations
_ALIKE = 3  # flights that lie off their weights alike are asked about together
_MENTION_SHARE = 0.25  # an answer whose value or width moved less than this share of its width is not mentioned


def flight_lines(performance: Performance) -> tuple[str, ...]:
    found, usual = _found(performance), _lean(performance)
    return tuple(_line(f, found.get(f.key), usual) for f in performance.learned.flights)


def _found(performance: Performance) -> dict[str, FlightFit]:
    """What the fit found of each flight, by its key."""
    joint = performance.learned.joint
    return {} if joint is None else {f.key: f for f in joint.flights}


def _lean(performance: Performance) -> float:
    """The share by which the flights lie off their noted weights alike; 0 where they are few, or don't."""
    found, flights = _found(performance), performance.learned.flights
    shares = [found[f.key].weight_share for f in flights if f.key in found and f.weight_from != "unknown"]
    usual = float(np.median(shares)) if len(shares) >= _ALIKE else 0.0
    return usual if abs(usual) > _CLEAR_SHARE else 0.0


def lean_words(performance: Performance) -> str:
    """What is to be asked where all flights lie off their noted weights alike; empty where they don't."""
    if not (usual := _lean(performance)):
        return ""
    flights = [f for f in performance.learned.flights if f.weight_from != "unknown"]
    pounds = to_unit(abs(usual) * float(np.mean([f.mass_kg for f in flights])), "lb")
    more, power = ("heavier", "more") if usual > 0 else ("lighter", "less")
    return (
        f"flies as if {pounds:,.0f} lb {more} than noted, by {len(flights)} flights alike: is its empty weight right? "
        f"If so, it takes {power} power than its book, slow flight most"
    )


def _line(flown: Flown, fit: FlightFit | None, usual: float) -> str:
    """usual : by what share the flights lie off their noted weights alike, which is no question to one of them."""
    rows, head = flown.rows, f"{flown.name}{f', {flown.date}' if flown.date else ''}"

    def minutes(of: np.ndarray, digits: int = 1) -> str:
        return f"{WINDOW_S * np.sum(of) / 60.0:.{digits}f}"

    whole = minutes(rows.kind >= 0, 0)
    if np.all(rows.kind == FULL_CLIMB):
        return f"{head}: no RPM; {whole} min of its climbs, taken for full throttle; {weight_words(flown)}"
    parts = [f"{minutes(rows.notch == n)} with flaps {n}" for n in np.unique(rows.notch) if n > 0]
    parts += [f"{minutes(rows.kind == GLIDE)} gliding"] * bool(np.any(rows.kind == GLIDE))
    of_these = f" ({', '.join(parts)})" if parts else ""
    words = f"{head}: {whole} min of use{of_these}; {weight_words(flown)}"
    if fit is None:
        return words
    off, sd = fit.weight_share * flown.mass_kg, fit.weight_share_sd * flown.mass_kg
    if flown.weight_from == "unknown":
        words += f" ± {to_unit(BAND * sd, 'lb'):,.0f} lb"
    elif abs(fit.weight_share - usual) > _CLEAR_SHARE:
        more = "heavier" if off > 0 else "lighter"
        words += f"; it flew as if {to_unit(abs(off), 'lb'):,.0f} lb {more}: is the weight right?"
    return words


def told(performance: Performance) -> tuple[Told, ...]:
    """The main answers as they are known now: name, unit, value, 90 % half-width."""
    return tuple((k.answer, k.unit, round(k.value, 1), round(k.readings_90, 1)) for k in known(performance))


def changes(before: Performance, after: Performance) -> tuple[str, ...]:
    """What the main answers became, where they or their bands moved."""
    earlier = {k.answer: k for k in known(before)}
    return tuple(
        words for k in known(after) if k.answer in earlier and (words := _changed(earlier[k.answer], k)) is not None
    )


def _changed(before: Known, after: Known) -> str | None:
    was, now = before.readings_90, after.readings_90
    if abs(after.value - before.value) < _MENTION_SHARE * now and abs(now - was) < _MENTION_SHARE * was:
        return None
    unit = {"rpm": "RPM", "fpm": "ft/min"}.get(after.unit, after.unit)
    return f"{after.answer}: {before.value:,.0f} ± {was:,.0f} → {after.value:,.0f} ± {now:,.0f} {unit}"


def history_lines(events: Sequence[tuple[str, str, str, tuple[str, ...]]]) -> list[str]:
    """The history for a terminal: (when, what, recording, changes) as lines."""
    words = {"learned": "learned from", "removed": "removed", "weight": "weight noted of"}
    out = []
    for when, kind, name, changed in events:
        same = ": nothing that was not known" if kind == "learned" and not changed else ""
        out.append(f"{when[:10]}  {words.get(kind, kind)} {name}{same}")
        out += [f"            {line}" for line in changed]
    return out


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
    fits = _found(performance)
    share = fits[flown.key].weight_share if flown.key in fits and flown.weight_from == "unknown" else 0.0
    mass = (flown.mass_kg - rows.burned_kg) * np.exp(share)
    stall = stall_cas_mps(performance.airplane, rows.notch, mass)
    lift = mass * G0_MPS2 * rows.load_factor
    stalled = rows.load_factor * (stall / rows.cas_mps) ** 2
    at = State(rows.tas_mps, rows.density_kgpm3, lift, stalled, rows.notch, rows.altitude_m, rows.temperature_k)
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
    half = BAND * _FLIGHT_SD_MPS * float(np.sqrt(2.0 / count))
    fpm, half_fpm = to_unit(change, "fpm"), to_unit(half, "fpm")
    since = f"in {month_name[early[0].on.month]} {early[0].on.year}"
    if abs(fpm) <= half_fpm:
        return f"climbs as {since}, within {performance.airplane.book.spoken(half_fpm, 'fpm')}"
    more, width = (performance.airplane.book.spoken(x, "fpm") for x in (abs(fpm), half_fpm))
    return f"climbs {more} {'more' if fpm > 0 else 'less'} than {since} (± {width.partition(' ')[0]})"
