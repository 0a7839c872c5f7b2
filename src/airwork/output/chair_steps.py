"""When in an ideal flight each step of a set-up is due: by what its words name, else spread evenly between those known.

The steps are sentences; the trace shows when bank, flaps, speed and height change. A step that names one of them stands
where that happens next, a little before it, as it is said before it is done (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

EARLY_S, APART_S = 2.0, 0.6  # said before it is done; from one step to the next at least
TOGETHER_S = 1.0  # what happens within this is one action, told in several steps
ROLLED_OUT_S = 12.0  # no roll-out takes longer
BANKED_RAD, SHARE = 0.09, 0.93  # bank that is meant; of the most bank: it is coming off again
SLOWING, CLIMBING = 0.25, 1.0  # m/s each second, m/s: more than a wobble
# What a step's words name -> events that answer it, in the order they are looked for.
NAMED = (
    (r"roll(ing)? out|wings level|the other way", ("out", "level")),
    (r"recover|unload|nose drop|full stall", ("slowest",)),
    (r"\broll (in|to|into|smoothly)\b", ("bank",)),
    (r"flaps? (up|in|\d|to|one)", ("flap",)),
    (r"idle|throttle closed|power back|slow\b|slow to", ("slowing", "sinking")),
    (r"full power|accelerat|climb", ("climbing", "gaining")),
    (r"level at|level off|nose up gently", ("level", "levelled")),
)


def events(time_s: Array, columns: Mapping[str, Array]) -> list[tuple[float, str]]:
    """(moment, what happens) of an ideal trace, in order."""
    found: list[tuple[float, str]] = []

    def begins(mask: NDArray[np.bool_], name: str) -> None:
        first = np.flatnonzero(mask & ~np.concatenate([[False], mask[:-1]]))
        found.extend((float(time_s[k]), name) for k in first.tolist() if k)

    bank = np.abs(columns["bank_rad"]) if "bank_rad" in columns else np.zeros_like(time_s)
    begins(bank > BANKED_RAD, "bank")
    begins(bank <= BANKED_RAD, "level")
    for moment in [t for t, what in found if what == "level"]:  # where the bank that ends there began to come off
        before = (time_s < moment) & (time_s > moment - ROLLED_OUT_S)
        full = np.flatnonzero(before & (bank >= SHARE * float(np.max(bank[before], initial=0.0))))
        found.append((float(time_s[full[-1]]) if full.size else moment, "out"))
    if "flap_notch" in columns:
        begins(np.concatenate([[False], np.diff(columns["flap_notch"]) != 0.0]), "flap")
    if "ias_mps" in columns:
        ias = columns["ias_mps"]
        change = np.gradient(ias, time_s)
        begins(change < -SLOWING, "slowing")
        begins(change > SLOWING, "gaining")
        found.append((float(time_s[int(np.argmin(ias))]), "slowest"))
    if "vertical_speed_mps" in columns:
        climb = columns["vertical_speed_mps"]
        begins(climb > CLIMBING, "climbing")
        begins(climb < -CLIMBING, "sinking")
        begins(np.abs(climb) < CLIMBING, "levelled")
    return sorted(found)


def due(steps: Sequence[str], time_s: Array, columns: Mapping[str, Array]) -> list[float]:
    """The moment of each step, never before the one before it. [s]"""
    happening, last = events(time_s, columns), float(time_s[-1])
    known: list[float | None] = []
    since = 0.0
    for k, step in enumerate(steps):
        moment = None if k == 0 else _next(step.lower(), happening, since)
        known.append(0.0 if k == 0 else None if moment is None else max(moment - EARLY_S, 0.0))
        since = since if moment is None else moment - TOGETHER_S
    ends = [*known, last]
    out: list[float] = []
    for k, at in enumerate(known):
        if at is not None:
            out.append(at if not out else max(at, out[-1] + APART_S))
            continue
        n = next(j for j in range(k, len(ends)) if ends[j] is not None)  # spread evenly up to the next one known
        until = ends[n]
        assert until is not None
        out.append(out[-1] + max(APART_S, (until - out[-1]) / (n - k + 1)))
    return [min(t, last) for t in out]


def _next(step: str, happening: Sequence[tuple[float, str]], since: float) -> float | None:
    for words, names in NAMED:
        if not re.search(words, step):
            continue
        for name in names:
            moment = next((t for t, what in happening if what == name and t > since), None)
            if moment is not None:
                return moment
    return None
