"""When in an ideal flight each step of a set-up is due: by what its words name, else spread evenly between those known.

The steps are sentences; the trace shows when bank, flaps, speed and height change. A step that names one of them, or
carries it from its room (`setup.At`), stands where that happens next, a little before it, as it is said before it is
done (common practice, no source). The rest can't be known from the trace: spread evenly between those known.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from airwork.maneuvers.setup import At
from airwork.units import from_unit

Array = NDArray[np.float64]

EARLY_S, APART_S = 2.0, 0.6  # said before it is done; from one step to the next at least
TOGETHER_S = 1.0  # what happens within this is one action, told in several steps
ROLLED_OUT_S = 12.0  # no roll-out takes longer
BANKED_RAD, SHARE = 0.09, 0.93  # bank that is meant; of the most bank: it is coming off again
STEADY = 9  # samples round it without a change of speed
SHALLOWING = 0.005  # rad/s: half a degree in two seconds
SLOWING, CLIMBING = 0.25, 1.0  # m/s each second, m/s: more than a wobble
TURNED_RAD = 0.05  # a point of a turn is reached so near to it
LANDED_MPS = 18.0  # a trace that ends slower has come to the runway, and ends at its height
# What a step's words name -> the events that answer it: of the first line that has one still to come, the first.
NAMED = (
    (r"\bthe other way", ("level",)),
    (r"recover|unload|nose drop|full stall", ("slowest",)),
    (r"\broll (in|to|into|smoothly|at once)\b", ("bank",)),
    (r"\bshallow\b", ("shallow",)),
    (r"roll(ing)? out|wings level|level the wings", ("out",)),
    (r"(to|power) idle|throttle closed|power back\b(?! on)|slow\b|slow to", ("slowing", "sinking")),
    (r"flaps? (up|in|\d|to|one)", ("flap",)),
    (r"full (power|throttle)|accelerat|climb", ("climbing", "gaining")),
    (r"level at|level off|nose up gently", ("level", "leveled")),
    (r"\bflare\b", ("slowing",)),
)
POINT = re.compile(r"(?:through |from |at )?(\d+)°(?: point| on\b|:)")  # of a turn, counted from its beginning
LEAD = re.compile(r"([\d,]+) ft (?:below|above|before) (?:the altitude|[\d,]+ ft)")  # before the altitude it ends at
HEIGHT = re.compile(r"\bat ([\d,]+) ft|\b([\d,]+) ft above the field")


def events(time_s: Array, columns: Mapping[str, Array]) -> list[tuple[float, str]]:
    """(moment, what happens) of an ideal trace, in order."""
    found: list[tuple[float, str]] = []

    def begins(mask: NDArray[np.bool_], name: str) -> None:
        first = np.flatnonzero(mask & ~np.concatenate([[False], mask[:-1]]))
        found.extend((float(time_s[k]), name) for k in first.tolist() if k)

    bank = np.abs(columns["bank_rad"]) if "bank_rad" in columns else np.zeros_like(time_s)
    begins(bank > BANKED_RAD, "bank")
    begins(bank <= BANKED_RAD, "level")
    settled = np.convolve(bank, np.ones(9) / 9.0, "same") if bank.size > 9 else bank  # no wobble
    begins((np.gradient(settled, time_s) < -SHALLOWING) & (bank > BANKED_RAD), "shallow")
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
        begins(np.convolve(np.abs(change) < SLOWING, np.ones(STEADY), "same") > STEADY - 0.5, "steady")
        found.append((float(time_s[int(np.argmin(ias))]), "slowest"))
    if "vertical_speed_mps" in columns:
        climb = columns["vertical_speed_mps"]
        begins(climb > CLIMBING, "climbing")
        begins(climb < -CLIMBING, "sinking")
        begins(np.abs(climb) < CLIMBING, "leveled")
    return sorted([*found, (float(time_s[-1]), "end")])


def due_s(steps: Sequence[str], time_s: Array, columns: Mapping[str, Array]) -> list[float]:
    """The moment of each step, never before the one before it. [s]"""
    happening, last = events(time_s, columns), float(time_s[-1])
    known: list[float | None] = [0.0]
    since, used = 0.0, set[tuple[float, str]]()
    for step in steps[1:]:
        moment = _reached(step.lower(), time_s, columns, since)
        if moment is None:
            level = _is_level(time_s, columns, since)
            choices = [step.events] if isinstance(step, At) else _named(step.lower(), level)
            coming = [one for names in choices for one in happening if one[1] in names and one[0] > since]
            one = next((one for one in coming if one not in used), coming[0] if coming else None)
            used |= {one} if one else set()
            moment = one[0] if one else None
        known.append(None if moment is None else max(moment - EARLY_S, 0.0))
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


def _named(step: str, level: bool) -> list[tuple[str, ...]]:
    """The events a step's words name; to be level is nothing to wait for where it is level already."""
    found = [names for words, names in NAMED if re.search(words, step)]
    return [names for names in found if not (level and names == ("level", "leveled"))]


def _is_level(time_s: Array, columns: Mapping[str, Array], at_s: float) -> bool:
    k = min(int(np.searchsorted(time_s, at_s)), time_s.size - 1)
    most = (("bank_rad", BANKED_RAD), ("vertical_speed_mps", CLIMBING))
    return all(abs(float(columns[name][k])) <= size for name, size in most if name in columns)


def _reached(step: str, time_s: Array, columns: Mapping[str, Array], since: float) -> float | None:
    """When the point of a turn or the height that the step says in numbers is reached."""
    reached = None
    if (point := POINT.match(step)) and "heading_rad" in columns:
        heading = np.unwrap(columns["heading_rad"])
        reached = np.abs(heading - heading[0]) >= math.radians(float(point[1])) - TURNED_RAD
    elif "altitude_m" in columns:
        altitude = columns["altitude_m"]
        if lead := LEAD.search(step):
            reached = np.abs(altitude - altitude[-1]) <= _feet_m(lead[1])
        elif height := HEIGHT.search(step):
            landed = "tas_mps" in columns and float(columns["tas_mps"][-1]) < LANDED_MPS
            wanted = _feet_m(height[1]) if height[1] else altitude[-1] + _feet_m(height[2]) if landed else np.nan
            above = altitude >= wanted
            reached = (above != above[0]) & bool(np.isfinite(wanted))
    moments = [] if reached is None else time_s[reached & (time_s > since)].tolist()
    return moments[0] if moments else None


def _feet_m(text: str) -> float:
    return float(from_unit(float(text.replace(",", "")), "ft"))
