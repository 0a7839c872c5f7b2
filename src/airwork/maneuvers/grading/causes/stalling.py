"""Causes at high angle of attack: slow recovery, a second stall, heading lost to torque, flaps. [AFH] chapter 5."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import degrees, feet, window
from airwork.units import FT_M

if TYPE_CHECKING:
    from airwork.maneuvers.grading.sheet import Sheet

NOSE_DOWN_RAD = np.radians(5.0)
# A fixed-pitch propeller at full throttle turns slower at stalling speed: the power brought up is what the engine then
# settles at, not a share of the flight's most. Bringing it up takes the engine itself some 2 s.
POWER_SHARE, POWER_S, POWER_SETTLES_S = 0.8, 5.0, 12.0
NO_POWER = 0.4
TORQUE_RAD, TORQUE_S = np.radians(7.0), 12.0
WINGS_LEVEL_RAD = np.radians(8.0)
WITH_POWER = 0.45
BALLOON_M, BALLOON_S = 50.0 * FT_M, 12.0
AGAIN_S = 1.0
AGAIN_LASTS_S = 0.6  # a gust may sound the warning for a moment


def slow_recovery(sheet: Sheet, break_s: float) -> Cause | None:
    """The nose stayed up after the break."""
    limit = sheet.judging["slow_recovery_s"]
    w = window(sheet, break_s - 3.0, sheet.end_s)
    pitch = w.of(sheet.evidence.pitch_rad)
    if pitch is None:
        return None
    before = w.time_s <= break_s + 1.0
    peak = int(pitch[before].argmax()) if before.any() else 0
    down = np.flatnonzero(pitch[peak:] < pitch[peak] - NOSE_DOWN_RAD)
    took = float(w.time_s[peak + down[0]] - w.time_s[peak]) if down.size else float(w.time_s[-1] - w.time_s[peak])
    if took <= limit:
        return None
    begin = float(w.time_s[peak])
    return Cause(
        f"{took:.0f} s passed after the break before the nose was lowered.",
        "At the break, lower the nose first and at once; power and level wings come with it.",
        begin, begin + took, took / limit - 0.4,
    )  # fmt: skip


def late_power(sheet: Sheet, break_s: float) -> Cause | None:
    """Full power came late in the recovery."""
    w = window(sheet, break_s, max(sheet.end_s, break_s + POWER_SETTLES_S))
    power = w.of(sheet.evidence.some_power)
    if power is None:
        return None
    most = float(power.max())
    up = np.flatnonzero(power > POWER_SHARE * most) if most > NO_POWER else np.empty(0, dtype=int)
    took = float(w.time_s[up[0]] - break_s) if up.size else float(sheet.end_s - break_s)
    if took <= POWER_S or w.time_s[-1] - break_s < POWER_S + 2.0:
        return None
    text = f"Power came {took:.0f} s after the break." if up.size else "Power was never brought up in the recovery."
    return Cause(text, "Nose down, then full power in the same breath.", break_s, break_s + took, 0.15 * took)


def second_stall(sheet: Sheet, break_s: float) -> Cause | None:
    """The warning came on again in the recovery: the nose was raised too soon."""
    warning = sheet.evidence.flight.get("stall_warning")
    w = window(sheet, break_s, sheet.end_s)
    on = w.of(warning)
    if on is None:
        return None
    spells = w.spells(on > 0.5, AGAIN_LASTS_S, gap_s=AGAIN_S)
    later = [s for s in spells if w.time_s[s[0]] > break_s + 3.0]
    if not later or (spells[0][0] == later[0][0] and len(spells) == 1 and w.time_s[later[0][0]] < break_s + 3.0):
        return None
    begin, end = w.seconds(*later[0])
    return Cause(
        f"The stall warning came on again {begin - break_s:.0f} s after the break: the nose came up too soon.",
        "Let the speed come back before raising the nose, and raise it smoothly.",
        begin, max(end, begin + 0.5), 1.2,
    )  # fmt: skip


def torque(sheet: Sheet, end_s: float) -> Cause | None:
    """Heading drifted left with power on and wings level: rudder for the propeller's pull at high angle of attack."""
    evidence = sheet.evidence
    w = window(sheet, max(sheet.start_s, end_s - TORQUE_S), end_s)
    heading, bank = w.of(evidence.heading_rad), w.of(evidence.bank_rad)
    power = w.of(evidence.some_power)
    if heading is None or bank is None or power is None or not evidence.bank_measured:
        return None
    powered = power > WITH_POWER
    if powered.sum() < 0.2 * power.size:
        return None
    begin_at = int(np.argmax(powered))
    drift = float(heading[-1] - heading[begin_at])
    if drift > -TORQUE_RAD or float(np.abs(np.median(bank[begin_at:]))) > WINGS_LEVEL_RAD:
        return None
    begin, end = w.seconds(begin_at, heading.size - 1)
    return Cause(
        f"The heading went {degrees(drift)} to the left with power on and the wings near level.",
        "High angle of attack and power pull to the left: right rudder as the nose comes up, ball centered.",
        begin, end, abs(drift) / np.radians(10.0),
    )  # fmt: skip


def flap_balloon(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Altitude jumped when the flaps were set, or sank when they were raised."""
    flaps = sheet.evidence.flight.get("flap_notch")
    if flaps is None:
        flaps = sheet.evidence.flight.get("flap_deg")
    w = window(sheet, start_s, end_s)
    position, altitude = w.of(flaps), w.of(sheet.evidence.altitude_m)
    if position is None or altitude is None:
        return None
    best: Cause | None = None
    steps = np.flatnonzero(np.abs(np.diff(np.round(position))) > 0)
    for k in steps:
        end = w.after(int(k), BALLOON_S)
        down = bool(position[min(int(k) + 1, position.size - 1)] > position[int(k)])
        part = altitude[int(k) : end + 1]
        change = float(part.max() - part[0]) if down else float(part[0] - part.min())
        if change < BALLOON_M or (best is not None and change <= best.weight * 100.0 * FT_M):
            continue
        begin, stop = w.seconds(int(k), end)
        if down:
            best = Cause(
                f"The airplane ballooned {feet(change)} when the flaps went down.",
                "Lower the nose as the flaps come out; know the pitch for each notch and trim for it.",
                begin, stop, change / (100.0 * FT_M),
            )  # fmt: skip
        else:
            best = Cause(
                f"{feet(change)} were lost when the flaps came up.",
                "Raise the flaps in steps, and raise the nose a little with each.",
                begin, stop, change / (100.0 * FT_M),
            )  # fmt: skip
    return best
