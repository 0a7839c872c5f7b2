"""What each learned flight gave and what the fit makes of it, in words; and what a flight changed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from airwork.airplane.performance.advice import Known, known
from airwork.airplane.performance.flown import FULL_CLIMB, GLIDE, Flown
from airwork.airplane.performance.joint import FlightFit
from airwork.airplane.performance.knowledge import Told, weight_words
from airwork.airplane.performance.model import Performance
from airwork.units import to_unit

_CLEAR_SD = 2.0  # a weight this many standard deviations from the noted one is asked about
_MENTION_SHARE = 0.25  # an answer whose value or width moved less than this share of its width is not mentioned


def flight_lines(performance: Performance) -> tuple[str, ...]:
    """One line for each flight learned from."""
    joint = performance.learned.joint
    found = {} if joint is None else {f.key: f for f in joint.flights}
    return tuple(_line(f, found.get(f.key)) for f in performance.learned.flights)


def _line(flown: Flown, fit: FlightFit | None) -> str:
    rows = flown.rows
    if np.all(rows.kind == FULL_CLIMB):
        words = f"{flown.name}{f', {flown.date}' if flown.date else ''}: no RPM; {len(rows)} windows of its climbs, "
        return words + f"taken for full throttle; {weight_words(flown)}"
    minutes = 16.0 * len(rows) / 60.0
    flaps = [f"notch {n} {np.sum(rows.notch == n)}" for n in np.unique(rows.notch) if n > 0]
    glides = int(np.sum(rows.kind == GLIDE))
    parts = [f"{len(rows)} windows ({minutes:.0f} min)", *flaps, *([f"{glides} in glides"] if glides else [])]
    words = f"{flown.name}{f', {flown.date}' if flown.date else ''}: {', '.join(parts)}; {weight_words(flown)}"
    if fit is None:
        return words
    off, sd = fit.weight_share * flown.mass_kg, fit.weight_share_sd * flown.mass_kg
    if flown.weight_from == "unknown":
        words += f", flown as at {to_unit(flown.mass_kg + off, 'lb'):,.0f} ± {to_unit(1.645 * sd, 'lb'):,.0f} lb"
    elif abs(fit.weight_share) > _CLEAR_SD * 0.015:
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
        out.append(f"{when[:10]}  {words.get(kind, kind)} {name}")
        out += [f"            {line}" for line in changed]
    return out
