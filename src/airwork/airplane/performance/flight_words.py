"""What each learned flight gave, what the fit makes of it and what it changed, in words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from airwork.airplane.performance.advice import Known, known
from airwork.airplane.performance.flown import FULL_CLIMB, GLIDE, WINDOW_S, Flown
from airwork.airplane.performance.joint import FlightFit
from airwork.airplane.performance.knowledge import weight_words
from airwork.airplane.performance.model import Performance
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
