"""The examiner at the field: takeoff, go-around, pattern, landing, on the true state. See `examiner.py`."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from airwork.units import FPM_MPS, FT_M, KT_MPS

EARTH_M = 6_371_000.0
# airwork tells an overshot final from 150 ft on, height lost after the power from 50 ft: told a little under it is no
# false reason, planted and a little over it no fault to be named.
OVERSHOT_M, SANK_M, TOLD, FELT = 150.0 * FT_M, 50.0 * FT_M, 0.85, 1.25
STILL_DEGPS, PAUSE_S, LOW_M = 0.5, 3.0, 90.0
GATE_M, FLARE_M = 300.0 * FT_M, 20.0 * FT_M
REACH_S = {"takeoff": 12.0, "go_around": 20.0}
CLIMB_S, CLEAN_S = 45.0, 12.0
OUT = {"takeoff": "lift_off_s", "go_around": "power"}


def climb_out(t: Any, mark: Any, limits: dict[str, tuple[float, float]], over_time: Any) -> dict[str, dict[str, Any]]:
    """Climb speed from when it is reached: "Vx or Vy on transition, then Vy" after a go-around (FAA-S-ACS-6C)."""
    if "ias" not in limits:
        return {}
    began = mark.phases["power"] if mark.kind == "go_around" else mark.notes["lift_off_s"]
    wanted, low = mark.targets["ias_kt"] * KT_MPS, limits["ias"][0]
    part = t.part(began, began + CLIMB_S)
    ias, time_s = t.c["ias_mps"][part], t.time_s[part]
    deviation = ias - wanted
    if mark.kind == "go_around" and "vx_kt" in mark.targets:
        flaps = np.flatnonzero(t.c["flap_deg"][part] > 0.5)
        clean_s = (time_s[flaps[-1]] if flaps.size else began) + CLEAN_S
        between = (time_s < clean_s) & (deviation < 0.0)
        deviation = np.where(between, np.minimum(ias - mark.targets["vx_kt"] * KT_MPS, 0.0), deviation)
    reached = np.flatnonzero(deviation[time_s <= began + REACH_S[mark.kind]] >= low)
    first = int(reached[0]) if reached.size else int(np.searchsorted(time_s, began + REACH_S[mark.kind]))
    return {"ias": over_time(deviation[first:], *limits["ias"], "ias", t.dt_s)}


def downwind(t: Any, mark: Any, limits: dict[str, tuple[float, float]], over_time: Any) -> dict[str, dict[str, Any]]:
    """Altitude and speed on the downwind leg, from level at pattern altitude to the power coming back."""
    course, wanted_m = mark.notes["course_rad"], mark.targets["altitude_ft"] * FT_M
    part = t.part(mark.start_s, mark.phases["abeam"])
    back = np.cos(t.heading[part] - course) < -0.94
    near = np.abs(t.c["indicated_altitude_m"][part] - wanted_m) < 15.0
    first = np.flatnonzero(back & near)
    if not first.size:
        return {}
    held = slice(part.start + int(first[0]), part.stop)
    out: dict[str, dict[str, Any]] = {}
    if "pattern_altitude" in limits:
        altitude = t.c["indicated_altitude_m"][held] - wanted_m
        out["pattern_altitude"] = over_time(altitude, *limits["pattern_altitude"], "altitude", t.dt_s)
    if "pattern_ias" in limits:
        settled = slice(held.start + round(8.0 / t.dt_s), held.stop)  # still speeding up from the climb
        speed = t.c["ias_mps"][settled] - mark.targets["ias_kt"] * KT_MPS
        if speed.size > 50:
            out["pattern_ias"] = over_time(speed, *limits["pattern_ias"], "ias", t.dt_s)
    return out


def approach(t: Any, mark: Any, limits: dict[str, tuple[float, float]], over_time: Any) -> dict[str, dict[str, Any]]:
    """Approach speed from 300 ft above the touch to the flare."""
    part = _final(t, mark)
    if part is None or "ias" not in limits:
        return {}
    speed = t.c["ias_mps"][part] - mark.targets["ias_kt"] * KT_MPS
    return {"ias": over_time(speed, *limits["ias"], "ias", t.dt_s)}


def _final(t: Any, mark: Any) -> slice | None:
    touch = mark.notes["touchdown_s"]
    above = t.c["altitude_m"] - t.at("altitude_m", touch)
    before = t.part(touch - 170.0, touch)
    high, low = np.flatnonzero(above[before] > GATE_M), np.flatnonzero(above[before] > FLARE_M)
    if not high.size or not low.size:
        return None
    return slice(before.start + int(high[-1]), before.start + int(low[-1]) + 1)


def facts(t: Any, mark: Any) -> list[str]:
    """What is true whatever was planted: path, flare, bank, what the power did, seen in the true state."""
    if mark.kind in ("takeoff", "go_around"):
        return _going_facts(t, mark)
    if mark.kind == "traffic_pattern":
        return _pattern_facts(t, mark)
    found, touch = [], mark.notes["touchdown_s"]
    part = _final(t, mark)
    if part is not None:
        sink, ground = -t.c["vertical_speed_mps"][part].mean(), t.c["groundspeed_mps"][part].mean()
        path = math.degrees(math.atan2(sink, ground))
        found += ["approach high"] * (path > 6.2) + ["approach low"] * (path < 1.9)
    last = t.part(touch - 14.0, touch)
    above = t.c["altitude_m"][last] - t.at("altitude_m", touch)
    found += ["flare early"] * bool((above - np.minimum.accumulate(above)).max() > 4.0 * FT_M)
    below = np.flatnonzero(above > 12.0 * FT_M)
    found += ["floated"] * bool(below.size and (above.size - below[-1]) * t.dt_s > 8.5)
    sink = -float(t.c["vertical_speed_mps"][t.part(touch - 2.0, touch)].min())
    return found + ["flare late"] * (sink > 320.0 * FPM_MPS)


def _going_facts(t: Any, mark: Any) -> list[str]:
    began = mark.phases["power"] if mark.kind == "go_around" else mark.notes["lift_off_s"]
    found = []
    altitude = t.c["indicated_altitude_m"][t.part(began, began + 15.0)]
    lost = float(altitude[0] - altitude.min())
    found += ["sank on"] * (lost > TOLD * SANK_M) + ["sank on!"] * (lost > FELT * SANK_M)
    if mark.kind == "go_around" and _up_at_once(t, mark):
        found += ["flaps at once", "flaps at once!"]
    if mark.kind == "takeoff":
        on = t.part(mark.start_s, mark.end_s)
        last = t.time_s[on][np.flatnonzero(t.c["on_ground"][on] > 0.5)[-1]]  # it may have settled back
    until = began + 8.0
    if mark.kind == "takeoff":
        until = max(until, last + 1.0)
    rolled = t.part(mark.start_s, until)
    fast = np.flatnonzero(t.c["groundspeed_mps"][rolled] > 12.0)
    if fast.size:
        nose = np.degrees(t.heading[rolled][fast[0] :])
        found += ["swung"] * bool(np.abs(nose - nose[0]).max() > 7.0)
    return found


def _up_at_once(t: Any, mark: Any) -> bool:
    """The flaps went from well down to up low over the ground and rested nowhere on the way."""
    part = t.part(mark.start_s, mark.end_s)
    flaps, altitude = t.c["flap_deg"][part], t.c["indicated_altitude_m"][part]
    up = np.flatnonzero(flaps < 1.0)
    if flaps[0] < 15.0 or not up.size or altitude[up[0]] - altitude.min() > LOW_M:
        return False
    between = (flaps[: up[0]] > 1.0) & (flaps[: up[0]] < flaps[0] - 1.0)
    rest = between & (np.abs(np.gradient(flaps[: up[0]], t.dt_s)) < STILL_DEGPS)
    return rest.sum() * t.dt_s < PAUSE_S


def _pattern_facts(t: Any, mark: Any) -> list[str]:
    size = np.degrees(np.abs(t.c["bank_rad"][t.part(mark.start_s, mark.end_s)]))
    beyond = _beyond_final(t, mark)
    return (
        ["steep in the pattern"] * bool(size.max() > 32.0)
        + ["final overshot"] * (beyond > TOLD * OVERSHOT_M) + ["final overshot!"] * (beyond > FELT * OVERSHOT_M)
    )  # fmt: skip


def _beyond_final(t: Any, mark: Any) -> float:
    """How far the turn to final went through the runway's line. [m]"""
    part = t.part(mark.phases.get("final", mark.end_s), mark.end_s + 25.0)
    latitude, longitude = mark.notes["runway_start_rad"]
    north = (t.c["latitude_rad"][part] - latitude) * EARTH_M
    east = (t.c["longitude_rad"][part] - longitude) * EARTH_M * math.cos(latitude)
    course = mark.notes["course_rad"]
    return float((-mark.notes["side"] * (east * math.cos(course) - north * math.sin(course))).max())
