"""Causes at high angle of attack: slow recovery, a second stall, a dive, heading let go, flaps. [AFH] chapter 5."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.episode import FIRST_SIGN, Cause
from airwork.maneuvers.grading.causes.window import Window, degrees, feet, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import Array
from airwork.units import FPM_MPS, KT_MPS

NOSE_DOWN_RAD, NOSE_DOWN_SHARE = np.radians(7.0), 0.5
LOWERED_S, LOWERED_BELOW_RAD = 9.0, np.radians(-3.0)
TURNING_RAD = np.radians(8.0)
# The hand moved where this share of the way from the break's power to what the engine then settles at is gone: a
# fixed-pitch propeller turns slower at stalling speed, and power may come in two moves.
# Late: over the 3 s the drill asks for, and 1 s that the break is known no better (common practice, no source).
POWER_SHARE, STIRRED, POWER_S, FORGOTTEN_S, POWER_SETTLES_S = 0.8, 0.15, 4.0, 8.0, 12.0
NO_POWER = 0.4
# Looked at before the break; 200 fpm for so long is a descent; told beside the maneuver, and no more (no source).
DESCENT_S, SINKS_MPS, DESCENDED_S, NOTED = (75.0, 4.0), 200.0 * FPM_MPS, 5.0, 0.5
LOW_RAD, SWUNG_FAR_RAD = np.radians(20.0), np.radians(40.0)  # weigh as a tolerance (no source)
DIVED_RAD, DIVE_S, SWUNG_RAD = np.radians(-17.0), 10.0, np.radians(28.0)
# Twice what a straight stall's heading is held to; banked more is a turning entry, where the nose goes round anyway.
ROUND_RAD, STRAIGHT_RAD = np.radians(20.0), np.radians(9.0)
RETURNING_MPS = 3.0 * KT_MPS
STALLED_S = 5.0  # a recovery begins with the nose, at once; so late it is a stall held (common practice, no source)
DROP_S, DROPPED_RAD = (2.0, 5.0), np.radians(20.0)  # before and after the break; as bank beyond the entry's
FALLS_S, GOING_RAD = 4.0, np.radians(3.0)  # a wing is down within some seconds; so little is its entry's (no source)
BACK_S = 20.0  # to be on the way back by: half of it (no source)
TURNED_S, TURN_WITHIN_RAD = 6.0, np.radians(6.0)  # nobody leaves a dropped wing so long, so steady (no source)
WARNED_LONG_S = 60.0  # flown on in the warning for so long weighs as twice a tolerance (no source)
DIPPED_RAD = np.radians(10.0)  # where the nose went round with it (common practice, no source)


def sign_or_break(sheet: Sheet) -> str:
    """What the recovery began from, in words."""
    return "the first sign" if FIRST_SIGN in sheet.episode.facts else "the break"


def slow_recovery(sheet: Sheet, break_s: float) -> Cause | None:
    """The nose stayed up after the break."""
    what = sign_or_break(sheet)
    limit = sheet.judging["slow_recovery_s"]
    w = window(sheet, break_s - 3.0, sheet.end_s)
    warning, pitch = w.of(sheet.evidence.flight.get("stall_warning")), w.of(sheet.evidence.pitch_rad)
    if warning is not None and (warning[w.time_s <= break_s] > 0.5).any():
        still = (warning > 0.5) | (w.time_s <= break_s)
        stayed = float(w.time_s[-1 if still.all() else int(np.argmin(still)) - 1]) - break_s  # till last seen
        eased = _speed_returned(w, w.of(sheet.evidence.ias_mps), break_s, stayed)
        attack = _attack_rad(w, pitch)
        if attack is not None:  # power, or the sink, brings speed back to a wing still held past its stall
            eased = max(eased, sum(_nose_up(w, attack, break_s)) - break_s)
        pulled = min(stayed, eased)
        if pulled <= limit:
            return None
        down = pitch is not None and _nose_up(w, pitch, break_s)[1] <= limit
        why = "the nose came down, not far or not long enough" if down else "the pull was not let off"
        return Cause(
            f"The stall warning stayed on for {stayed:.0f} s after {what}: {why}.",
            f"At {what} lower the nose at once, until the warning stops; power and level wings come with it.",
            break_s, break_s + stayed, pulled / limit - 0.4, "nose late", "late", grave=pulled > STALLED_S,
        )  # fmt: skip
    if pitch is None:
        return None
    ahead = window(sheet, break_s - LOWERED_S, break_s).of(sheet.evidence.pitch_rad)
    if ahead is not None and float(ahead.min()) < LOWERED_BELOW_RAD:
        return None  # lowered before: what broke then was the recovery
    begin, took = _nose_up(w, pitch, break_s)
    if took <= limit:
        return None
    return Cause(
        f"{took:.0f} s passed after {what} before the nose was lowered.",
        f"At {what}, lower the nose first and at once; power and level wings come with it.",
        begin, begin + took, took / limit - 0.4, "nose late", "late", grave=took > STALLED_S,
    )  # fmt: skip


def _nose_up(w: Window, pitch: Array, break_s: float) -> tuple[float, float]:
    """When the nose was highest around the break and how long it stayed up from then. [s], [s]"""
    before = w.time_s <= break_s + 1.0
    peak = int(pitch[before].argmax()) if before.any() else 0
    lowered_to = pitch[peak] - max(NOSE_DOWN_RAD, NOSE_DOWN_SHARE * float(pitch[peak]))  # it falls a little by itself
    down = np.flatnonzero(pitch[peak:] < lowered_to)
    begin = max(float(w.time_s[peak]), break_s)
    return begin, max(float(w.time_s[peak + down[0] - 1 if down.size else -1]) - begin, 0.0)  # till last seen up


def _attack_rad(w: Window, pitch: Array | None) -> Array | None:
    """Angle of attack with the wings near level, pitch less the path's angle; None where one isn't known. [rad]"""
    tas, climb = w.of(w.sheet.evidence.tas_mps), w.of(w.sheet.evidence.climb_mps)
    if pitch is None or tas is None or climb is None:
        return None
    return pitch - np.arcsin(np.clip(climb / np.maximum(tas, 1.0), -1.0, 1.0))


def _speed_returned(w: Window, ias: Array | None, break_s: float, within_s: float) -> float:
    """Seconds from the break until the speed was on its way back: the pull is off then, though the warning lasts."""
    after = (w.time_s >= break_s) & (w.time_s <= break_s + within_s)
    if ias is None or not after.any():
        return within_s
    slow = after & (ias <= float(ias[after].min()) + RETURNING_MPS)
    return float(w.time_s[slow][-1]) - break_s


def too_little_power(sheet: Sheet, break_s: float, used: float, most: float) -> Cause | None:
    """Less power than the task asks for, beside what full throttle would have given there. used, most : of rated."""
    finding = sheet.finding("power")
    if finding is None or finding.verdict != "not held" or finding.low is None:
        return None
    rpm = sheet.evidence.mean(sheet.evidence.flight.get("rpm"), break_s - 3.0, break_s - 0.5)
    turning = f" at {rpm:,.0f} rpm" if np.isfinite(rpm) else ""
    gives = f"; full throttle gives {100.0 * most:.0f} % here" if np.isfinite(most) and most > used else ""
    return Cause(
        f"{100.0 * used:.0f} % of power was set{turning}, {finding.low:.0f} % is the least{gives}.",
        "Set the power and read it before the nose comes up; full throttle where that gives little more.",
        break_s - 3.0, break_s, max(1.0, 10.0 * (0.01 * finding.low - used)), "little power", "target not set",
        "power", 1.0,
    )  # fmt: skip


def no_descent_first(sheet: Sheet, break_s: float) -> Cause | None:
    """A power-off stall out of level flight: the task begins with a stabilized descent (FAA-S-ACS-6C, VII.B)."""
    w = window(sheet, break_s - DESCENT_S[0], break_s - DESCENT_S[1])
    climb = w.of(sheet.evidence.climb_mps)
    if climb is None or w.time_s[-1] - w.time_s[0] < 0.8 * (DESCENT_S[0] - DESCENT_S[1]):
        return None
    if w.spells(climb < -SINKS_MPS, DESCENDED_S):
        return None
    return Cause(
        "It was entered from level flight, no descent established first.",
        "Throttle back, flaps and the approach speed, down in a steady descent; then raise the nose.",
        max(sheet.start_s, break_s - DESCENT_S[0]), break_s, NOTED, "no descent first", "",
    )  # fmt: skip


def late_power(sheet: Sheet, break_s: float) -> Cause | None:
    """Full power came late in the recovery."""
    w = window(sheet, break_s, max(sheet.end_s, break_s + POWER_SETTLES_S))
    power = w.of(sheet.evidence.some_power)
    if power is None:
        return None
    most, least = float(power.max()), float(power[: w.after(0, 1.0) + 1].min())
    brought = min(POWER_SHARE * most, least + STIRRED * (most - least))
    up = np.flatnonzero(power > brought) if most > NO_POWER else np.empty(0, dtype=int)
    took = float(w.time_s[up[0]] - break_s) if up.size else float(sheet.end_s - break_s)
    if took <= POWER_S or w.time_s[-1] - break_s < POWER_S + 2.0:
        return None
    since = sign_or_break(sheet)
    text = f"Power came {took:.0f} s after {since}." if up.size else "Power was never brought up in the recovery."
    # Recovering without power is practiced too; brought up late it was forgotten (common practice, no source).
    return Cause(text, "Nose down, then full power in the same breath.", break_s, break_s + took, took / POWER_S,
                 "power late", "late", grave=bool(up.size) and took > FORGOTTEN_S)  # fmt: skip


def near_the_stall(sheet: Sheet, target_mps: float, span_s: tuple[float, float]) -> Cause | None:
    """Where the warning sounded for too long in slow flight: below the speed wanted, or at it."""
    finding = sheet.finding("stall_warning")
    w = window(sheet, *span_s)
    on, ias, bank = (
        w.of(sheet.evidence.flight.get("stall_warning")),
        w.of(sheet.evidence.ias_mps),
        w.of(sheet.evidence.bank_size_rad),
    )
    if finding is None or finding.verdict != "not held" or on is None or ias is None:
        return None
    spells = w.spells(on > 0.5, 0.0)
    first, last = max(spells, key=lambda s: s[1] - s[0])
    sounding = on > 0.5
    below = target_mps - float(ias[sounding].mean())
    say, beside = sheet.speed_text, ""
    if sheet.given("ias"):  # what it settled on is nothing to be above or below
        beside = f", {say(below)} {'below' if below > 0.0 else 'above'} the {say(target_mps)} wanted"
        beside = ", the speed wanted" if abs(below) < 0.5 * KT_MPS else beside
    turning = bank is not None and float(bank[sounding].mean()) > TURNING_RAD
    where = f" and {degrees(float(bank[sounding].mean()))} of bank" if turning and bank is not None else ""
    begin, end = w.seconds(first, last)
    all_s = np.count_nonzero(sounding) * sheet.evidence.step_s
    how_long = f"{end - begin:.0f} s" + (f" at a time, {all_s:.0f} s in all" if len(spells) > 1 else "")
    return Cause(
        f"The stall warning was on for {how_long}, and it was flown on at {say(ias[sounding].mean())}{beside}{where}.",
        "At the warning ease the nose down a little and add power; then hold a few knots more, in turns first.",
        begin, max(end, begin + 0.5), 1.0 + (end - begin) / WARNED_LONG_S, "near the stall", "target not set",
        "stall_warning", 1.0,
    )  # fmt: skip


def dived(sheet: Sheet, break_s: float, lost_m: float) -> Cause | None:
    """The nose was pushed far below the horizon: more height and speed than the recovery needs, little load."""
    w = window(sheet, break_s - 2.0, min(break_s + DIVE_S, sheet.end_s))
    pitch = w.of(sheet.evidence.pitch_rad)
    if pitch is None:
        return None
    low = int(pitch.argmin())
    high = int(pitch[: low + 1].argmax())
    if pitch[low] > DIVED_RAD or pitch[high] - pitch[low] < SWUNG_RAD:
        return None
    begin, end = w.seconds(high, low)
    load = w.of(sheet.evidence.flight.get("load_factor"))
    felt = "" if load is None else f", {max(float(load[high : low + 1].min()), -9.9):.1f} g"
    ias = window(sheet, break_s, sheet.end_s).of(sheet.evidence.ias_mps)
    fast = "" if ias is None else f", {sheet.speed_text(float(ias.max()))} at the most"
    cost = f": {feet(lost_m)} lost in the recovery{fast}" if lost_m > 0.0 else ""
    return Cause(
        f"The nose went from {degrees(pitch[high])} up to {degrees(pitch[low])} down in {end - begin:.1f} s{felt}"
        f"{cost}.",
        "Relax the pull until the warning stops: nose to the horizon and little lower; then power, wait for the climb.",
        begin, end, float(max(-pitch[low] / LOW_RAD, (pitch[high] - pitch[low]) / SWUNG_FAR_RAD)), "dived", "too big",
    )  # fmt: skip


def wing_went_s(sheet: Sheet, break_s: float) -> float:
    """When a wing began to fall, where one was well down before the nose and the sink show the break; else that. [s]

    What the heading goes round from then on is the wing's.
    """
    evidence = sheet.evidence
    w = window(sheet, break_s - FALLS_S, break_s)
    bank = w.of(evidence.bank_rad)
    entry = evidence.median(evidence.bank_rad, break_s - 2.0 * FALLS_S, break_s - FALLS_S)
    if not evidence.bank_measured or bank is None or not abs(float(bank[-1]) - entry) > DIPPED_RAD:
        return break_s
    near = np.flatnonzero(np.abs(bank - entry) < GOING_RAD)
    return float(w.time_s[near[-1]]) if near.size else break_s


def wing_dropped(sheet: Sheet, break_s: float) -> Cause | None:
    """A wing went down at the break: it was not flown straight into it, or ailerons were used."""
    evidence = sheet.evidence
    if not evidence.bank_measured:
        return None
    w = window(sheet, break_s - DROP_S[0], min(break_s + DROP_S[1], sheet.end_s))
    bank = w.of(evidence.bank_rad)
    if bank is None:
        return None
    before = evidence.mean(evidence.bank_rad, break_s - DROP_S[0], break_s - 0.5 * DROP_S[0])
    off = bank - before
    away = np.where(np.abs(bank) > np.abs(before), np.abs(off), 0.0)  # rolling level is the recovery
    k = int(away.argmax())
    along = _swung(sheet, break_s) if abs(before) < STRAIGHT_RAD else ""
    if float(away[k]) < (DIPPED_RAD if along else DROPPED_RAD):
        return None
    if _turned_on(sheet, float(w.time_s[k]), float(bank[k])):
        return None
    begin, end = w.seconds(max(int(np.argmax(away > 0.2 * away[k])), 0), k)
    side = "right" if off[k] > 0.0 else "left"
    return Cause(
        f"The {side} wing dropped {degrees(off[k])} at {sign_or_break(sheet)}{along}.",
        "Ball in the middle up to the break; then rudder against the drop, ailerons neutral until the warning stops.",
        begin, max(end, begin + 0.5), max(float(away[k]) / DROPPED_RAD, 1.0), "wing dropped", "feet",
    )  # fmt: skip


def _turned_on(sheet: Sheet, at_s: float, bank_rad: float) -> bool:
    """The bank was held from there on: a turn that was begun, no wing to be picked up."""
    after = window(sheet, at_s, at_s + TURNED_S).of(sheet.evidence.bank_rad)
    return after is not None and bool((np.abs(after - bank_rad) < TURN_WITHIN_RAD).all())


def _swung(sheet: Sheet, break_s: float) -> str:
    """How far the nose went round between the break and the recovery's end, where it went with the wing; whether it was
    brought back soon (FAA-S-ACS-6C, VII.B and C: return to the heading specified).
    """
    w = window(sheet, break_s, sheet.end_s)
    heading = w.of(sheet.evidence.heading_rad)
    if heading is None or heading.size < 2:
        return ""
    went = heading - heading[0]
    k = int(np.abs(went).argmax())
    if abs(went[k]) <= ROUND_RAD:
        return ""
    later = window(sheet, sheet.end_s, sheet.end_s + BACK_S).of(sheet.evidence.heading_rad)
    left = later is not None and bool((np.abs(later - heading[0]) > 0.5 * abs(went[k])).all())
    return f", and the nose went {degrees(went[k])} round with it{' and was left there' * left}"
