"""An examiner with perfect instruments: verdicts on the true state of a simulated flight, from the standard's text.

Written from FAA-S-ACS-6C (appendix 1: unsatisfactory is consistently exceeding a tolerance, or not correcting
promptly) and the rules of docs/debrief.md; no code of the grader is used, only the printed limits. Columns: the
simulator's true ones, SI. What was commanded stands in the marks: targets, phases, parts.
"""

from __future__ import annotations

import math
from typing import Any

import examiner_field
import numpy as np
from numpy.typing import NDArray

from airwork.units import FT_M, KT_MPS

Array = NDArray[np.float64]
DEG = math.radians(1.0)
# docs/debrief.md, "How it is judged": seconds an excursion may last, the least that counts, what is consistent.
PROMPT_S = {"altitude": 10.0, "ias": 10.0, "bank": 5.0, "heading": 8.0}
COUNTS_S, CONSISTENT, TIMES = 1.0, 0.25, 3


class NothingFlownError(Exception):
    """The part of an exercise in which a quantity counts has no length."""


def spells(outside: NDArray[np.bool_], dt_s: float) -> list[float]:
    """Lengths of the excursions that count; two with less than a second between are one."""
    lengths: list[float] = []
    run = gap = 0
    for out in [*outside.tolist(), *[False] * (round(1.0 / dt_s) + 2)]:
        if out:
            run += 1 + (gap if run else 0)
            gap = 0
        elif run:
            gap += 1
            if gap * dt_s >= 1.0:
                lengths.append(run * dt_s)
                run = gap = 0
    return [s for s in lengths if s >= COUNTS_S]


def over_time(deviation: Array, low: float, high: float, what: str, dt_s: float) -> dict[str, Any]:
    """A quantity to be kept inside limits for a stretch: held, briefly out, not held."""
    if not deviation.size:
        raise NothingFlownError(what)
    outside = (deviation > high + 1e-9) | (deviation < low - 1e-9)
    found = spells(outside, dt_s)
    share, whole = float(outside.mean()), deviation.size * dt_s
    if not found:
        verdict = "not held" if share > CONSISTENT else "held"
    elif max(found) > PROMPT_S[what] or len(found) >= TIMES or sum(found) > CONSISTENT * whole:
        verdict = "not held"
    else:
        verdict = "briefly out and corrected"
    beyond = float(np.maximum(deviation - high, low - deviation).max())
    worst = float(deviation[np.argmax(np.maximum(deviation - high, low - deviation))])
    return {"verdict": verdict, "worst": worst, "beyond": beyond, "longest": max(found, default=0.0), "share": share}


def at_once(deviation: float, low: float, high: float) -> dict[str, Any]:
    """A quantity at one moment."""
    beyond = max(deviation - high, low - deviation)
    return {"verdict": "held" if beyond <= 0.0 else "not held", "worst": deviation, "beyond": beyond, "share": 0.0,
            "longest": 0.0}  # fmt: skip


class Truth:
    """The true columns of a flight with a few looks at them."""

    def __init__(self, columns: dict[str, Array]) -> None:
        self.c = columns
        self.time_s = columns["time_s"]
        self.dt_s = float(np.median(np.diff(self.time_s)))
        self.heading = np.unwrap(columns["heading_rad"])

    def part(self, start_s: float, end_s: float) -> slice:
        return slice(int(np.searchsorted(self.time_s, start_s)), int(np.searchsorted(self.time_s, end_s, "right")))

    def at(self, name: str, time_s: float) -> float:
        values = self.heading if name == "heading" else self.c[name]
        return float(np.interp(time_s, self.time_s, values))

    def banked(self, start_s: float, end_s: float) -> slice:
        """From the end of the roll-in to the start of the roll-out: the wings stopped rolling."""
        part = self.part(start_s, end_s)
        bank = np.abs(self.c["bank_rad"][part])
        width = max(1, round(1.0 / self.dt_s))
        rate = np.convolve(np.gradient(bank, self.dt_s), np.ones(width) / width, "same")
        still = np.flatnonzero((np.abs(rate) < 2.0 * DEG) & (bank > 0.6 * np.percentile(bank, 80)))
        if still.size < 3:
            return part
        return slice(part.start + int(still[0]), part.start + int(still[-1]) + 1)


def examine(columns: dict[str, Array], mark: Any, limits: dict[str, tuple[float, float]]) -> dict[str, dict[str, Any]]:
    """Verdict per quantity of one mark; `limits`: quantity → (low, high) as printed deviations, SI."""
    truth = Truth(columns)
    by_kind = {
        "steep_turn": _turn, "level_turn": _turn, "slow_flight": _slow, "climb": _leg, "descent": _leg,
        "power_off_stall": _stall, "power_on_stall": _stall, "turns_around_point": _around,
    }  # fmt: skip
    at_field = {
        "takeoff": examiner_field.climb_out, "go_around": examiner_field.climb_out, "landing": examiner_field.approach,
        "traffic_pattern": examiner_field.downwind, "touch_and_go": examiner_field.approach,
    }.get(mark.kind)  # fmt: skip
    if at_field is not None:
        return at_field(truth, mark, limits, over_time) if "fault" in mark.notes else {}
    judge = by_kind.get(mark.kind)
    return {} if judge is None else judge(truth, mark, limits)


def _turn(t: Truth, mark: Any, limits: dict[str, tuple[float, float]]) -> dict[str, dict[str, Any]]:
    whole, out = t.part(mark.start_s, mark.end_s), {}
    # The second of a pair is held to the first one's altitude.
    entry_m = t.at("indicated_altitude_m", mark.notes.get("first_start_s", mark.start_s))
    altitude = t.c["indicated_altitude_m"]
    if "altitude" in limits:
        out["altitude"] = over_time(altitude[whole] - entry_m, *limits["altitude"], "altitude", t.dt_s)
        _open_at_end(t, out["altitude"], altitude - entry_m, limits["altitude"], mark.end_s)
    if "ias" in limits:
        wanted = mark.targets["ias_kt"] * KT_MPS
        out["ias"] = over_time(t.c["ias_mps"][whole] - wanted, *limits["ias"], "ias", t.dt_s)
    if "bank" in limits and "bank_deg" in mark.targets and mark.kind == "steep_turn":
        held = t.banked(mark.start_s, mark.end_s)
        size = np.abs(t.c["bank_rad"][held])
        out["bank"] = over_time(size - mark.targets["bank_deg"] * DEG, *limits["bank"], "bank", t.dt_s)
    if "rollout_heading" in limits and mark.kind == "steep_turn":
        turned = t.at("heading", mark.end_s) - t.at("heading", mark.start_s - 1.0)
        off = abs(turned) - 2.0 * math.pi * max(1, round(abs(turned) / (2.0 * math.pi)))
        out["rollout_heading"] = at_once(off, *limits["rollout_heading"])
    return out


def _open_at_end(t: Truth, found: dict[str, Any], deviation: Array, limit: tuple[float, float], end_s: float) -> None:
    """Outside as it ended: corrected promptly afterwards or not."""
    k = int(np.searchsorted(t.time_s, end_s))
    last = deviation[min(k, deviation.size - 1)]
    if not limit[0] <= last <= limit[1]:
        after = deviation[t.part(end_s, end_s + PROMPT_S["altitude"])]
        if not ((after >= limit[0]) & (after <= limit[1])).any():
            found["verdict"] = "not held"


def _slow(t: Truth, mark: Any, limits: dict[str, tuple[float, float]]) -> dict[str, dict[str, Any]]:
    out: dict[str, dict[str, Any]] = {}
    established, recovery = mark.phases["established"], mark.phases["recovery"]
    parts = mark.notes.get("parts") or []
    if "ias" in limits:
        whole = t.part(established, recovery)
        speed = t.c["ias_mps"][whole] - mark.targets["ias_kt"] * KT_MPS
        out["ias"] = over_time(speed, *limits["ias"], "ias", t.dt_s)
    rows: dict[str, list[Array]] = {"altitude": [], "heading": [], "bank": []}
    for part in parts:
        here = t.part(part["start_s"], part["end_s"])
        if "altitude_m" in part:
            rows["altitude"].append(t.c["indicated_altitude_m"][here] - part["altitude_m"])
        if "heading_rad" in part:
            rows["heading"].append(np.angle(np.exp(1j * (t.heading[here] - part["heading_rad"]))))
        if "bank_rad" in part:
            held = t.banked(part["start_s"], part["end_s"])
            rows["bank"].append(np.abs(t.c["bank_rad"][held]) - part["bank_rad"])
    for quantity, found in rows.items():
        if found and quantity in limits:
            inside = np.full(
                round(2.0 / t.dt_s), 0.5 * sum(limits[quantity])
            )  # between two stretches: not one excursion
            series = np.concatenate([x for one in found for x in (one, inside)])
            out[quantity] = over_time(series, *limits[quantity], quantity, t.dt_s)
    return out


def _leg(t: Truth, mark: Any, limits: dict[str, tuple[float, float]]) -> dict[str, dict[str, Any]]:
    out: dict[str, dict[str, Any]] = {}
    held = t.part(mark.phases["established"], mark.phases["recovery"])
    if "ias" in limits:
        speed = t.c["ias_mps"][held] - mark.targets["ias_kt"] * KT_MPS
        out["ias"] = over_time(speed, *limits["ias"], "ias", t.dt_s)
    if "heading" in limits:
        off = t.heading[held] - t.at("heading", mark.start_s)
        out["heading"] = over_time(off, *limits["heading"], "heading", t.dt_s)
    if "level_off_altitude" in limits:
        after = t.c["indicated_altitude_m"][t.part(mark.phases["recovery"], mark.end_s + 14.0)]
        wanted = mark.targets["altitude_ft"] * FT_M
        beyond = float(after.max() - wanted) if mark.kind == "climb" else float(after.min() - wanted)
        settled = float(np.median(after[-round(8.0 / t.dt_s) :]) - wanted)
        worst = beyond if abs(beyond) > abs(settled) else settled
        out["level_off_altitude"] = at_once(worst, *limits["level_off_altitude"])
    return out


def _stall(t: Truth, mark: Any, limits: dict[str, tuple[float, float]]) -> dict[str, dict[str, Any]]:
    if "heading" not in limits or not mark.notes.get("full_break", False):
        return {}
    entry = t.part(mark.start_s, mark.phases["recovery"])
    off = t.heading[entry] - t.at("heading", mark.start_s)
    return {"heading": over_time(off, *limits["heading"], "heading", t.dt_s)}


def facts(columns: dict[str, Array], mark: Any) -> list[str]:
    """What is true of an exercise whatever was planted, seen in the true state: reasons that may be told as well."""
    t = Truth(columns)
    if mark.kind in ("takeoff", "go_around", "traffic_pattern", "landing", "touch_and_go"):
        return examiner_field.facts(t, mark)
    if mark.kind == "steep_turn":
        return _turn_facts(t, mark)
    if mark.kind in ("climb", "descent"):
        after = t.c["indicated_altitude_m"][t.part(mark.phases["recovery"], mark.end_s + 14.0)]
        up = 1.0 if mark.kind == "climb" else -1.0
        beyond = float((up * after).max()) - up * mark.targets["altitude_ft"] * FT_M
        return ["level-off late"] if beyond > 60.0 * FT_M else []
    if mark.kind == "turns_around_point":
        return ["wind neglected"] if round_about(t, mark) > 0.2 else []
    if mark.kind == "slow_flight":
        on = t.c["stall_warning"][t.part(mark.start_s, mark.end_s)] > 0.5
        return ["near the stall"] * (max(spells(on, t.dt_s), default=0.0) > 3.0)
    return _stall_facts(t, mark) if mark.kind.endswith("_stall") else []


def round_about(t: Truth, mark: Any) -> float:
    """Largest deviation from the mean distance to the one center of the circles flown, over that distance."""
    part = t.part(mark.start_s + 3.0, mark.end_s - 3.0)
    lat, lon = t.c["latitude_rad"][part], t.c["longitude_rad"][part]
    north, east = (lat - lat[0]) * 6_371_000.0, (lon - lon[0]) * 6_371_000.0 * math.cos(float(lat[0]))
    rows = np.column_stack([2.0 * east, 2.0 * north, np.ones(east.size)])
    (x, y, _), *_ = np.linalg.lstsq(rows, east**2 + north**2, rcond=None)
    away = np.hypot(east - x, north - y)
    return float(np.abs(away / away.mean() - 1.0).max())


def slipped(columns: dict[str, Array], start_s: float, end_s: float) -> float:
    """Median size of the sideslip of a stretch. [rad]"""
    return float(np.median(np.abs(columns["sideslip_rad"][Truth(columns).part(start_s, end_s)])))


def power_at_the_stall_w(columns: dict[str, Array], mark: Any) -> float:
    """Mean power of the last seconds before the break. [W]"""
    broke = mark.phases["recovery"]
    return float(columns["power_w"][Truth(columns).part(broke - 3.0, broke - 0.5)].mean())


def _turn_facts(t: Truth, mark: Any) -> list[str]:
    found = []
    turned = abs(t.at("heading", mark.end_s) - t.at("heading", mark.start_s - 1.0))
    off = turned - 2.0 * math.pi * max(1, round(turned / (2.0 * math.pi)))
    held = t.banked(mark.start_s, mark.end_s)
    size = np.abs(t.c["bank_rad"])
    settled = float(np.median(size[held]))
    last = held.start + int(np.flatnonzero(size[held.start : t.part(0.0, mark.end_s).stop] > 0.92 * settled)[-1])
    left = abs(t.heading[last] - t.at("heading", mark.end_s)) - off  # to go as the roll-out began
    if off > 5.0 * DEG and left < 0.4 * settled:
        found.append("roll-out late")
    if max(spells(size[held] > (mark.targets["bank_deg"] + 5.0) * DEG, t.dt_s), default=0.0) > 2.0:
        found.append("bank grew")  # whatever made it: it was more than wanted, for seconds
    part = t.part(mark.start_s, mark.end_s)
    throttle, speed = t.c["throttle"][part], t.c["ias_mps"][part]
    low = int(speed.argmin())
    if speed[0] - speed[low] > 5.0 * KT_MPS and throttle[: low + 1].max() - throttle[0] < 0.04 and throttle[0] < 0.95:
        found.append("no power added")
    high = int(speed.argmax())
    if speed[high] - speed[0] > 5.0 * KT_MPS and throttle[: high + 1].min() > throttle[0] - 0.04:
        found.append("power left in")
    altitude = t.c["indicated_altitude_m"][part]
    for k in (low, high):  # what the height explains of the speed: V² + 2·g·h stays
        top = float(altitude[: k + 1].max() if k == high else altitude[: k + 1].min())
        by_height = math.sqrt(max(speed[0] ** 2 + 2.0 * 9.80665 * (top - altitude[k]), 0.0)) - speed[0]
        if abs(speed[k] - speed[0]) > 5.0 * KT_MPS and by_height / (speed[k] - speed[0]) > 0.5:
            found.append("speed from height")
    return found


def _stall_facts(t: Truth, mark: Any) -> list[str]:
    broke = mark.phases["recovery"]
    warning = t.c["stall_warning"][t.part(broke, mark.end_s)] > 0.5
    off = np.flatnonzero(~warning)
    found = []
    again = warning & (np.cumsum(~warning) > 0)
    if off.size and again.sum() * t.dt_s > 0.6:
        found.append("again")
        first = int(np.argmax(again))
        pitch = t.c["pitch_rad"][t.part(broke, mark.end_s)][first : first + round(5.0 / t.dt_s)]
        fell = float((np.maximum.accumulate(pitch) - pitch).max()) if pitch.size else 0.0
        if max(spells(again, t.dt_s), default=0.0) >= 3.0 or fell > 12.0 * DEG:
            found.append("again, not for a moment")  # what docs/debrief.md says first; less is answered at once
    throttle = t.c["throttle"][t.part(broke, broke + 20.0)]
    full = np.flatnonzero(throttle > 0.9 * throttle.max())
    if full.size and full[0] * t.dt_s > 4.0:
        found.append("power late")
    soon = t.part(broke - 1.0, broke + 10.0)
    if float(np.degrees(t.c["pitch_rad"][soon].min())) < -16.0:
        found.append("dived")
    bank = t.c["bank_rad"][t.part(broke - 2.0, broke + 6.0)]
    if float(np.abs(np.degrees(bank - bank[0])).max()) > 18.0:
        found.append("wing dropped")
    entry = t.part(mark.start_s, broke)
    if float(np.abs(t.heading[entry] - t.heading[entry][0]).max()) > 4.0 * DEG:
        found += ["torque", "turned away"]
    return found


def _around(t: Truth, mark: Any, limits: dict[str, tuple[float, float]]) -> dict[str, dict[str, Any]]:
    whole = t.part(mark.start_s, mark.end_s)
    out: dict[str, dict[str, Any]] = {}
    if "altitude" in limits:
        altitude = t.c["indicated_altitude_m"][whole] - t.at("indicated_altitude_m", mark.start_s)
        out["altitude"] = over_time(altitude, *limits["altitude"], "altitude", t.dt_s)
    if "ias" in limits:
        speed = t.c["ias_mps"][whole] - mark.targets["ias_kt"] * KT_MPS
        out["ias"] = over_time(speed, *limits["ias"], "ias", t.dt_s)
    return out
