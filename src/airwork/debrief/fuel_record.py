"""Fuel, tanks, leaning and power of a flown flight, against the plan where there is one. Printed units: it is shown."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from airwork.airplane import Airplane
from airwork.airplane.engine import Mixture
from airwork.debrief.plan import LessonPlan
from airwork.errors import AirworkError
from airwork.maneuvers import room
from airwork.maneuvers.declared import Role
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.measure import fuel_used_m3
from airwork.maneuvers.seeing.signal import Array, bridged
from airwork.maneuvers.tank_change import NAMES
from airwork.masks import runs
from airwork.units import to_unit

POWER_EDGES = (0.0, 0.30, 0.45, 0.55, 0.65, 0.75, 0.85, 1.5)
# Of the handbook's full-rich flow: leaned is what comes near its best-power flow, or well below full rich where it has
# none; never so near full rich that a flow meter good to some 3 % would decide.
RICH_SHARE, LEAN_SHARE, BOOK_ROOM = 0.94, 0.88, 0.02
LEANED_FOR_S = 30.0
LONG_ON_ONE_TANK_S = 45 * 60.0  # common practice, no source: change every 30 minutes
IDLE = (Role.EVENT, Role.PASSAGE, Role.PATTERN)  # busy with nothing that a change of tanks would disturb
LOW_M = 300.0  # 1,000 ft: common practice, no source


def fuel_record(evidence: Evidence, episodes: Sequence[Episode], plan: LessonPlan) -> tuple[dict[str, Any], list[str]]:
    """(the `fuel` part of the JSON, sentences for the notes)."""
    notes: list[str] = []
    out: dict[str, Any] = {}
    used = fuel_used_m3(evidence, slice(0, len(evidence.flight)))
    if used is not None:
        flow = evidence.flight.columns.get("fuel_flow_m3ps")
        out["used_gal"] = round(to_unit(used, "gal"), 2)
        if flow is None:
            out["how"] = "from the gauges"
        else:
            out["how"] = "fuel flow added up" if flow.known == "measured" else "fuel flow from the airplane file"
    if plan.fuel_m3 is not None:
        out["planned_gal"] = round(to_unit(plan.fuel_m3, "gal"), 2)
        if used is not None:
            out["over_plan_gal"] = round(to_unit(used - plan.fuel_m3, "gal"), 2)
    out["tank_changes"] = _changes(evidence, episodes, plan, notes)
    out |= _tanks(evidence, notes)
    out["power_time"] = _power_time(evidence)
    out["leaning"] = _leaning(evidence, notes)
    return out, notes


def _changes(
    evidence: Evidence, episodes: Sequence[Episode], plan: LessonPlan, notes: list[str]
) -> list[dict[str, Any]]:
    """Changes made, each with the planned one it answers; planned ones not made."""
    takeoff = next((e.facts["off_s"] for e in episodes if room(e.kind).takes_off), None)
    wanted = []
    if plan.takeoff_s is not None and takeoff is not None:
        wanted = [(c.time_s - plan.takeoff_s + takeoff, c) for c in plan.changes]
    late_s = evidence.standard.judging["late_tank_change_s"]
    out: list[dict[str, Any]] = []
    for e in (e for e in episodes if "changed_s" in e.facts):
        at = e.facts["changed_s"]
        row: dict[str, Any] = {"time_s": round(at, 1), "from": _name(e.facts["from"]), "to": _name(e.facts["to"])}
        agl = evidence.agl_m
        if agl is not None:
            height = float(agl[evidence.flight.index_at(at)])
            if np.isfinite(height):
                row["agl_ft"] = round(to_unit(height, "ft"))
                if height < LOW_M:
                    notes.append(f"Tank changed at {row['agl_ft']:,} ft above ground: change with height in hand.")
        during = next((x.kind for x in episodes if room(x.kind).role not in IDLE and x.start_s < at < x.end_s), None)
        if during is not None:
            row["during"] = during
            notes.append(f"Tank changed during {room(during).named}: not a time to look for the selector.")
        if wanted:
            planned, _ = wanted.pop(0)
            row["planned_s"], row["late_s"] = round(planned, 1), round(at - planned, 1)
            if at - planned > late_s:
                notes.append(f"Tank changed {(at - planned) / 60:.0f} min later than planned.")
        out.append(row)
    if not evidence.flight.has("tank"):
        return out
    for planned, change in wanted:
        if planned < float(evidence.flight.time_s[-1]):
            out.append({"planned_s": round(planned, 1), "from": change.from_tank, "to": change.to_tank, "missed": True})
            notes.append(f"Planned change of tank from {change.from_tank} to {change.to_tank} was not made.")
    return out


def _name(code: float) -> str:
    return NAMES.get(round(code), f"{code:g}")


def _tanks(evidence: Evidence, notes: list[str]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    left, right = evidence.flight.get("fuel_left_m3"), evidence.flight.get("fuel_right_m3")
    if left is not None and right is not None:
        apart = np.abs(left - right)
        if np.isfinite(apart).any():
            out["most_imbalance_gal"] = round(to_unit(float(np.nanpercentile(apart, 99)), "gal"), 1)
    tank = evidence.flight.get("tank")
    if tank is None or not np.isfinite(tank).any():
        return out
    time = evidence.flight.time_s
    code = np.round(np.nan_to_num(tank, nan=-1.0))
    longest = 0.0
    for value in (1.0, 2.0):
        longest = max([longest, *(float(time[b - 1] - time[a]) for a, b in runs(code == value))])
    out["longest_on_one_tank_min"] = round(longest / 60.0, 1)
    if longest > LONG_ON_ONE_TANK_S:
        notes.append(f"{longest / 60:.0f} min on one tank without a change (common practice: every 30 min).")
    return out


def _power_time(evidence: Evidence) -> list[dict[str, Any]]:
    """Share of the time in the air in each band of percent power."""
    power = evidence.power_ratio
    if power is None:
        return []
    known = evidence.airborne & np.isfinite(power)
    if not known.any():
        return []
    step = _weights(evidence.flight.time_s)
    total = float(step[known].sum())
    out = []
    for low, high in pairwise(POWER_EDGES):
        seconds = float(step[known & (power >= low) & (power < high)].sum())
        out.append({
            "from_pct": round(100 * low), "to_pct": None if high > 1.0 else round(100 * high),
            "seconds": round(seconds, 1), "fraction": round(seconds / total, 3),
        })  # fmt: skip
    return out


def _weights(time_s: Array) -> Array:
    """Time each sample stands for; a gap counts as no more than a few samples. [s]"""
    step = np.diff(time_s, append=time_s[-1])
    return np.minimum(step, 5.0 * float(np.median(step[:-1])) if step.size > 1 else 1.0)


def _leaning(evidence: Evidence, notes: list[str]) -> list[dict[str, Any]]:
    """Stretches with less than the handbook's full-rich flow, and whether the power was low enough for it."""
    airplane, power = evidence.airplane, evidence.power_ratio
    flow = evidence.flight.columns.get("fuel_flow_m3ps")
    if airplane is None or power is None or flow is None or flow.known != "measured":
        return []
    grid = np.linspace(0.40, 1.0, 13)
    rich = np.array([_flow(airplane, p) for p in grid])
    if not np.isfinite(rich).any():
        return []
    good = np.isfinite(rich)
    expected = np.interp(power, grid[good], rich[good], left=np.nan, right=np.nan)
    share = np.divide(flow.values, expected, out=np.full(len(evidence.flight), np.nan), where=expected > 0.0)
    time = evidence.flight.time_s
    leaned = np.array([_flow(airplane, p, "best_power") for p in grid]) / rich
    book = float(np.nanmedian(leaned)) if np.isfinite(leaned).any() else LEAN_SHARE
    below = min(max(book + BOOK_ROOM, LEAN_SHARE), RICH_SHARE)
    limit = airplane.engine.leaning_rule
    lean = bridged(np.nan_to_num(share, nan=1.0) < below, round(10.0 / evidence.step_s))
    out = []
    for a, b in runs(lean):
        if time[b - 1] - time[a] < LEANED_FOR_S:
            continue
        most = float(np.nanpercentile(power[a:b], 95))
        row = {
            "start_s": round(float(time[a]), 1), "end_s": round(float(time[b - 1]), 1),
            "flow_share_of_full_rich": round(float(np.nanmedian(share[a:b])), 2), "power_pct": round(100 * most),
        }  # fmt: skip
        if limit is not None:
            row["limit_pct"], row["above_limit"] = round(100 * limit.value), most > limit.value + 0.02
        out.append(row)
    above = [row for row in out if row.get("above_limit")]
    if above:
        times = "" if len(above) == 1 else f" ({len(above)} times)"
        most_pct = max(row["power_pct"] for row in above)
        notes.append(
            f"Leaned at {most_pct} % power{times}; the airplane file allows leaning up to {above[0]['limit_pct']} %."
        )
    return out


def _flow(airplane: Airplane, power_ratio: float, mixture: Mixture = "full_rich") -> float:
    try:
        return float(airplane.fuel_flow_m3ps(power_ratio, mixture))
    except AirworkError:
        return float("nan")
