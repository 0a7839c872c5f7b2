"""Causes at high angle of attack: slow recovery, a second stall, a dive, heading let go, flaps. [AFH] chapter 5."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import Window, degrees, feet, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.grading.straights import heading_error_rad
from airwork.maneuvers.seeing.signal import Array, mean_over
from airwork.units import FPM_MPS, FT_M, KT_MPS

NOSE_DOWN_RAD, NOSE_DOWN_SHARE = np.radians(7.0), 0.5
LOWERED_S, LOWERED_BELOW_RAD = 9.0, np.radians(-3.0)
TURNING_RAD = np.radians(8.0)
SECOND_S = 20.0  # another break so soon after is the same recovery's
# A fixed-pitch propeller at full throttle turns slower at stalling speed, faster as the speed comes back: the hand is
# where half of the way from the break's power to what the engine then settles at is gone.
POWER_SHARE, HALF_WAY, POWER_S, FORGOTTEN_S, POWER_SETTLES_S = 0.8, 0.5, 5.0, 8.0, 12.0
NO_POWER = 0.4
DIVED_RAD, DIVE_S, SWUNG_RAD = np.radians(-17.0), 10.0, np.radians(28.0)
AWAY_RAD, AWAY_S = np.radians(4.0), 1.0
YAW_SHARE = 0.6  # of the change of heading that no bank explains: the feet
# Twice what a straight stall's heading is held to; banked more is a turning entry, where the nose goes round anyway.
ROUND_RAD, STRAIGHT_RAD = np.radians(20.0), np.radians(9.0)
LOW_WING_RAD = np.radians(1.5)  # less shows on no horizon
WITH_POWER = 0.45
BALLOON_M, BALLOON_S, RATE_S = 100.0 * FT_M, 12.0, 6.0  # less is what the flaps do by themselves
FLAP_SHARE = 0.6  # of the change of height that the rate before doesn't explain
Spell = tuple[int, int]  # first and last sample
AGAIN, AGAIN_S = "again", 1.0
RETURNING_MPS = 3.0 * KT_MPS
STALLED_S = 5.0  # a recovery begins with the nose, at once; so late it is a stall held (common practice, no source)
BREAK_S, LOWERED_RAD = 6.0, np.radians(5.0)  # the break may be taken for the second one
DROP_S, DROPPED_RAD = (2.0, 5.0), np.radians(20.0)  # before and after the break; as bank beyond the entry's
DIPPED_RAD = np.radians(10.0)  # where the nose went round with it (common practice, no source)
AGAIN_LASTS_S, OFF_S = 0.6, 1.0  # a gust may sound the warning for a moment; off so long, the first one was over
# A warning again for less is answered at once, unless the nose went down so far once more (common practice, no source).
STALL_NEAR_MPS, SINK_STOPPED_MPS = 2.0 * KT_MPS, 500.0 * FPM_MPS  # beside the break's; common practice, no source
MOMENT_S, DOWN_AGAIN_RAD, DOWN_WITHIN_S = 3.0, np.radians(12.0), 5.0


def slow_recovery(sheet: Sheet, break_s: float) -> Cause | None:
    """The nose stayed up after the break."""
    limit = sheet.judging["slow_recovery_s"]
    w = window(sheet, break_s - 3.0, sheet.end_s)
    warning, pitch = w.of(sheet.evidence.flight.get("stall_warning")), w.of(sheet.evidence.pitch_rad)
    if warning is not None and (warning[w.time_s <= break_s] > 0.5).any():
        still = (warning > 0.5) | (w.time_s <= break_s)
        stayed = float(w.time_s[-1] if still.all() else w.time_s[int(np.argmin(still))]) - break_s
        eased = _speed_returned(w, w.of(sheet.evidence.ias_mps), break_s, stayed)
        attack = _attack_rad(w, pitch)
        if attack is not None:  # power, or the sink, brings speed back to a wing still held past its stall
            eased = max(eased, sum(_nose_up(w, attack, break_s)) - break_s)
        pulled = min(stayed, eased)
        if pulled <= limit:
            return None
        return Cause(
            f"The stall warning stayed on for {stayed:.0f} s after the break: the pull was not let off.",
            "At the break lower the nose at once, until the warning stops; power and level wings come with it.",
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
        f"{took:.0f} s passed after the break before the nose was lowered.",
        "At the break, lower the nose first and at once; power and level wings come with it.",
        begin, begin + took, took / limit - 0.4, "nose late", "late", grave=took > STALLED_S,
    )  # fmt: skip


def _nose_up(w: Window, pitch: Array, break_s: float) -> tuple[float, float]:
    """When the nose was highest around the break and how long it stayed up from then. [s], [s]"""
    before = w.time_s <= break_s + 1.0
    peak = int(pitch[before].argmax()) if before.any() else 0
    lowered_to = pitch[peak] - max(NOSE_DOWN_RAD, NOSE_DOWN_SHARE * float(pitch[peak]))  # it falls a little by itself
    down = np.flatnonzero(pitch[peak:] < lowered_to)
    begin = max(float(w.time_s[peak]), break_s)
    return begin, float(w.time_s[peak + down[0]] if down.size else w.time_s[-1]) - begin


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


def late_power(sheet: Sheet, break_s: float) -> Cause | None:
    """Full power came late in the recovery."""
    w = window(sheet, break_s, max(sheet.end_s, break_s + POWER_SETTLES_S))
    power = w.of(sheet.evidence.some_power)
    if power is None:
        return None
    most, least = float(power.max()), float(power[w.time_s < break_s + 1.0].min())
    brought = min(POWER_SHARE * most, least + HALF_WAY * (most - least))
    up = np.flatnonzero(power > brought) if most > NO_POWER else np.empty(0, dtype=int)
    took = float(w.time_s[up[0]] - break_s) if up.size else float(sheet.end_s - break_s)
    if took <= POWER_S or w.time_s[-1] - break_s < POWER_S + 2.0:
        return None
    text = f"Power came {took:.0f} s after the break." if up.size else "Power was never brought up in the recovery."
    # Recovering without power is practiced too; brought up late it was forgotten (common practice, no source).
    return Cause(text, "Nose down, then full power in the same breath.", break_s, break_s + took, 0.15 * took,
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
        begin, max(end, begin + 0.5), 1.0, "near the stall", "target not set", "stall_warning", 1.0,
    )  # fmt: skip


def second_stall(sheet: Sheet, break_s: float, lost_m: float) -> Cause | None:
    """The warning came on again in the recovery, after it had stopped: the nose was raised too soon.

    lost_m : height the whole recovery cost; NaN where not known.
    """
    cost = f" {feet(lost_m)} were lost in the recovery." if lost_m > 0.0 else ""
    broke_again = [
        e.facts["break_s"]
        for e in sheet.evidence.episodes
        if break_s + 1.0 < e.facts.get("break_s", -np.inf) < break_s + SECOND_S and e.start_s < sheet.end_s + 2.0
    ]
    fell_again = broke_again[0] if broke_again else _fell_again(sheet, break_s)
    if fell_again is not None:
        return Cause(
            f"It stalled again {fell_again - break_s:.0f} s after the break: the nose came up too soon.{cost}",
            "Let the speed come back before raising the nose, and raise it smoothly.",
            break_s, fell_again, 2.0, AGAIN, "too big", grave=True,
        )  # fmt: skip
    w = window(sheet, break_s - BREAK_S, sheet.end_s)
    on, pitch = w.of(sheet.evidence.flight.get("stall_warning")), w.of(sheet.evidence.pitch_rad)
    if on is None:
        return None
    # A sample that is off is a second and more at one a second.
    spells = w.spells(on > 0.5, AGAIN_LASTS_S, gap_s=AGAIN_S - 0.6 * sheet.evidence.step_s)
    again = [
        (one, two) for one, two in pairwise(spells)
        if w.time_s[two[1]] > break_s and float(w.time_s[two[0]] - w.time_s[one[1]]) >= OFF_S
        and (w.time_s[one[1]] > break_s or _lowered(pitch, one[1], two[0]))
    ]  # fmt: skip
    found = [_came_on_again(w, pitch, one, two, cost) for one, two in again]
    return max(found, key=lambda c: c.weight, default=None)


def _fell_again(sheet: Sheet, break_s: float) -> float | None:
    """When the nose, raised again in the recovery, fell out of the speed of the break into a new sink. [s]

    Seen without a warning too. Slow alone, or the nose lowered alone, is neither.
    """
    w = window(sheet, break_s, break_s + SECOND_S)
    ias, pitch, climb = w.of(sheet.evidence.ias_mps), w.of(sheet.evidence.pitch_rad), w.of(sheet.evidence.climb_mps)
    if ias is None or pitch is None or climb is None:
        return None
    slow = ias < float(ias[: w.after(0, 1.0) + 1].min()) + STALL_NEAR_MPS
    returned = np.maximum.accumulate(ias) - ias > RETURNING_MPS
    raised = pitch - np.minimum.accumulate(pitch) > DOWN_AGAIN_RAD
    raised &= climb - np.minimum.accumulate(climb) > SINK_STOPPED_MPS
    for k in np.flatnonzero(slow & returned & raised):
        after = slice(int(k), w.after(int(k), DOWN_WITHIN_S) + 1)
        sink = float(climb[after].min())
        fell = pitch[k] - pitch[after].min() > DOWN_AGAIN_RAD and sink < min(0.0, climb[k] - SINK_STOPPED_MPS)
        if fell and ias[k] == ias[after].min():
            return float(w.time_s[k])
    return None


def _came_on_again(w: Window, pitch: Array | None, one: Spell, two: Spell, cost: str) -> Cause:
    """The warning off after `one` and on again in `two`; for a moment, or with the nose down once more."""
    begin, end = w.seconds(*two)
    quiet = begin - w.seconds(*one)[1]
    text = f"The stall warning came on again {quiet:.0f} s after it had stopped"
    down = 0.0 if pitch is None else _down_again(pitch[two[0] : w.after(two[0], DOWN_WITHIN_S) + 1])
    fell = down >= DOWN_AGAIN_RAD
    weight = 1.2 + (float(down / np.radians(30.0)) if fell else 0.0)
    moment = end - begin + w.sheet.evidence.step_s < MOMENT_S and not fell
    if fell:
        text += f" and the nose went down {degrees(down)} once more: it came up too soon.{cost}"
    else:
        text += ", for a moment." if moment else ": the nose came up too soon."
    return Cause(
        text, "Let the speed come back before raising the nose, and raise it smoothly.",
        begin, max(end, begin + 0.5), 0.5 if moment else weight, AGAIN, "too big", grave=not moment,
    )  # fmt: skip


def _down_again(pitch: Array) -> float:
    """How far the nose went down from its highest to its lowest after that. [rad]"""
    return float((np.maximum.accumulate(pitch) - pitch).max())


def _lowered(pitch: Array | None, first: int, last: int) -> bool:
    """The nose went down between two samples: a recovery begun, no gust on the way to the stall."""
    return pitch is not None and float(pitch[first] - pitch[first : last + 1].min()) > LOWERED_RAD


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
    cost = f" {feet(lost_m)} were lost in the recovery." if lost_m > 0.0 else ""
    return Cause(
        f"The nose went from {degrees(pitch[high])} up to {degrees(pitch[low])} down in {end - begin:.1f} s{felt}."
        f"{cost}",
        "Relax the pull until the warning stops: nose to the horizon and little lower; then power, wait for the climb.",
        begin, end, float(-pitch[low] / np.radians(20.0)), "dived", "too big",
    )  # fmt: skip


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
    begin, end = w.seconds(max(int(np.argmax(away > 0.2 * away[k])), 0), k)
    side = "right" if off[k] > 0.0 else "left"
    return Cause(
        f"The {side} wing dropped {degrees(off[k])} at the break{along}.",
        "Ball in the middle up to the break; then rudder against the drop, ailerons neutral until the warning stops.",
        begin, max(end, begin + 0.5), max(float(away[k]) / DROPPED_RAD, 1.0), "wing dropped", "feet",
    )  # fmt: skip


def _swung(sheet: Sheet, break_s: float) -> str:
    """How far the nose went round between the break and the recovery's end, where it went with the wing."""
    w = window(sheet, break_s, sheet.end_s)
    heading = w.of(sheet.evidence.heading_rad)
    if heading is None or heading.size < 2:
        return ""
    went = heading - heading[0]
    k = int(np.abs(went).argmax())
    return f", and the nose went {degrees(went[k])} round with it" if abs(went[k]) > ROUND_RAD else ""


def heading_let_go(
    sheet: Sheet, start_s: float, end_s: float, target_rad: float, *, least: float = 0.45, until: str = ""
) -> Cause | None:
    """The heading went away in a straight entry: by a wing held low, or by yaw no bank explains.

    A coordinated turn changes the heading by ∫g·tan φ / V dt; what is left over is the feet's. until : what ends the
    entry, as it is said.
    """
    evidence = sheet.evidence
    w = window(sheet, start_s, end_s)
    heading, bank, tas = w.of(evidence.heading_rad), w.of(evidence.bank_rad), w.of(evidence.tas_mps)
    judged = sheet.worst_of("heading")
    if heading is None or bank is None or tas is None or judged is None:
        return None
    off = heading - target_rad
    k = int(np.abs(off).argmax())
    size = abs(float(off[k]))
    if size < least * judged[1] or size < AWAY_RAD or k < 3:
        return None
    near = np.flatnonzero(np.abs(off[:k]) <= 0.25 * size)
    begin, end = w.seconds(int(near[-1]) if near.size else 0, k)
    if end - begin < AWAY_S:
        return None
    if not evidence.bank_measured:  # from positions a bank and a yaw look the same
        if size < least * judged[1] + 2.0 * heading_error_rad(sheet):
            return None
        side = "right" if off[k] > 0.0 else "left"
        return Cause(
            f"The heading went {degrees(size)} to the {side}.",
            f"Wings level with aileron{until}, the nose on its point with rudder.",
            begin, end, size / judged[1], "turned away", "feet", "heading", 1.0,
        )  # fmt: skip
    went = slice(int(near[-1]) if near.size else 0, k + 1)
    share = 1.0 - _yawed_share(sheet, bank[went], tas[went], off[went])
    if share >= 1.0 - YAW_SHARE:
        low, mean = ("right" if off[k] > 0.0 else "left"), abs(float(bank[went].mean()))
        how = "with that wing low: " if mean > LOW_WING_RAD else "little by little, the wings all but level: "
        return Cause(
            f"The heading went {degrees(size)} to the {low} {how}"
            f"{degrees(mean) if mean > LOW_WING_RAD else '1° or less'} of bank for {end - begin:.0f} s.",
            f"Look at the wing tips, not at the nose: wings level with aileron{until}, the heading held with rudder.",
            begin, end, size / judged[1], "turned away", "feet", "heading", min(1.0, max(share, 0.5)),
        )  # fmt: skip
    side = "left" if off[k] < 0.0 else "right"
    powered = w.of(evidence.some_power)
    with_power = powered is not None and float(np.median(powered[max(k - 20, 0) : k + 1])) > WITH_POWER
    why = " with power on" if with_power else ""
    return Cause(
        f"The heading yawed {degrees(size)} to the {side}{why}; the bank explains {degrees(share * size)} of it.",
        "High angle of attack and power pull to the left: right rudder as the nose comes up, ball centered."
        if with_power and off[k] < 0.0 else "Hold the nose on its point with rudder; ball centered.",
        begin, end, size / judged[1], "torque", "feet", "heading", min(1.0, 1.0 - share),
    )  # fmt: skip


def _yawed_share(sheet: Sheet, bank: Array, tas: Array, off: Array) -> float:
    """Share of the change of heading over a stretch that the bank doesn't explain."""
    rate = G0_MPS2 * np.tan(np.clip(bank, -1.2, 1.2)) / np.clip(tas, 15.0, None)
    changed = float(off[-1] - off[0])
    return float(np.clip((changed - float(rate.sum()) * sheet.evidence.step_s) / changed, 0.0, 1.0))


def flap_balloon(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Altitude jumped when the flaps were set, or sank when they were raised, beyond what the rate before explains."""
    flaps = sheet.evidence.flight.get("flap_notch")
    if flaps is None:
        flaps = sheet.evidence.flight.get("flap_deg")
    w = window(sheet, start_s - RATE_S, end_s)
    position, altitude = w.of(flaps), w.of(sheet.evidence.altitude_m)
    if position is None or altitude is None:
        return None
    step = sheet.evidence.step_s
    climb = mean_over(np.gradient(altitude, step), round(2.0 / step))
    best: Cause | None = None
    for k in np.flatnonzero(np.abs(np.diff(np.round(position))) > 0):
        end = w.after(int(k), BALLOON_S)
        down = bool(position[min(int(k) + 1, position.size - 1)] > position[int(k)])
        sign = 1.0 if down else -1.0
        before = climb[max(int(k) - round(RATE_S / step), 0) : int(k) + 1]
        went_on = float(np.median(before)) * (np.arange(end - int(k) + 1) * step)
        part = sign * (altitude[int(k) : end + 1] - altitude[int(k)])
        own = sign * (altitude[int(k) : end + 1] - altitude[int(k)] - went_on)
        change, at = float(part.max()), int(part.argmax())
        size = change / sheet.tolerance("altitude", 100.0 * FT_M)
        if change < BALLOON_M or float(own[at]) < FLAP_SHARE * change or (best is not None and size <= best.weight):
            continue
        begin, stop = w.seconds(int(k), int(k) + at)
        if down:
            best = Cause(
                f"The airplane ballooned {feet(change)} when the flaps went down.",
                "Lower the nose as the flaps come out; know the pitch for each notch and trim for it.",
                begin, stop, size, "flap balloon", "late",
            )  # fmt: skip
        else:
            best = Cause(
                f"{feet(change)} were lost when the flaps came up.",
                "Raise the flaps in steps, and raise the nose a little with each.",
                begin, stop, size, "flap sink", "late",
            )  # fmt: skip
    return best
