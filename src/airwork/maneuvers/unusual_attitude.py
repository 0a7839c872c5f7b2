"""Recovery from unusual attitudes: nose high and slow, nose low and fast, by outside or instrument reference.

In the data, where bank is recorded: from cruising flight, within seconds, the path bent well up or down in a bank,
wings level again within half a minute, and little turned. Not it: a stall (entered slow), a lazy eight or a chandelle
(half a circle and more), a spiral or an emergency descent (held long), a steep turn's dropped nose.
Judged by the task `unusual_attitude`, which prints no number: the order of the controls counts.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Cause, Episode, Grade
from airwork.maneuvers.grading.causes.window import Window, degrees, window
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.paths.flown_ideal import FlownIdeal, Force
from airwork.maneuvers.seeing.propose_tools import all_known, aloft, episode
from airwork.maneuvers.seeing.signal import SHARP, SOFT, Array, Mask, bridged, first_true, last_true, over, under
from airwork.maneuvers.seeing.slow import speed_back
from airwork.maneuvers.seeing.view import STEP_S, View
from airwork.maneuvers.setting_up import heights, power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace
from airwork.masks import runs
from airwork.units import to_unit

ROOM_M = 450.0  # a slow recovery from the nose-low one stays well above the floor: our own choice
HIGH_PATH_RAD, LOW_PATH_RAD = math.radians(12.0), math.radians(-18.0)
BANK_RAD = math.radians(45.0)
PULL = 1.6  # load factor of the pull-out, half of what is allowed in smooth air: our own choice

# Half of the score, of the path: [AFH] ch. 5 calls a nose more than 25° up or 10° down an upset (from memory); students
# are shown less, and the path lies below the nose
UP_RAD, DOWN_RAD, BANKED_RAD = math.radians(9.0), math.radians(11.0), math.radians(22.0)
# From level to past the limit, or nearly the farthest: a dive let happen takes longer, one set up may go on from there.
ABRUPT_S, NEARLY_THERE = 4.5, 0.85
ENTERED_S, RECOVERED_S, HELD_S = 8.0, 30.0, 16.0  # from level flight, back to it; a descent is held longer
CRUISING, SLOWED = 0.75, 0.9  # entry by cruise, slowest by entry
TURNED_UP_RAD, TURNED_DOWN_RAD = math.radians(70.0), math.radians(150.0)  # a chandelle broken off has turned 90°
LEVEL_RAD, CALM_MPS = math.radians(12.0), 4.0


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps: the limits to know before, and the order of the recovery."""
    va = ws.maneuvering_ias()
    cruise = power_lines.cruise_cas_mps(ws, 0.55) or 1.7 * ws.stall_cas_mps(0)
    ias = ws.flown_ias(min(ws.on_dial(ws.ias(cruise), "down", 5.0), ws.on_dial(va, "down", 5.0)))
    ws.note_heights()
    ws.note_speed("begin at", ias, "assumed", "level speed at 55 %, below maneuvering speed")
    power = power_lines.level(ws, ws.cas(ias))
    ws.note_stall(0)
    ws.note_stall(0, BANK_RAD)
    ws.note_speed("maneuvering speed", va, "handbook table", "for today's weight; no full control deflection above")
    fast, limits = ws.fastest_ias(), ws.airplane.limits
    ws.note_speed("structural cruise", ws.on_dial(fast, "down"), "handbook table", "limitations")
    if limits.never_exceed_ias_mps is not None:
        ws.note_speed("never exceed", ws.on_dial(limits.never_exceed_ias_mps, "down"), "handbook table", "limitations")
    low, high = limits.load_factor_flaps_up
    ws.note("limit load factor, flaps up", high, "g", "handbook table", "limitations", also=f"to {low:g} g")
    turn_lines.note_turn(ws, ws.cas(ias), BANK_RAD, bank_source="as set up: common practice, no source")
    ws.use_power(120.0, None if power is None else power.ratio)
    red = (
        ""
        if limits.never_exceed_ias_mps is None
        else f" · never exceed {ws.mark(ws.on_dial(limits.never_exceed_ias_mps, 'down'))}"
    )
    return ws.finish(
        steps=(
            ws.before(),
            "Instructor sets it up; student takes over and says what it is: nose high or nose low, by speed and "
            "altitude",
            "Nose high, speed falling: power up, nose down to unload, wings level, then to level flight",
            At("Nose low, speed rising: power idle, wings level first, then raise the nose smoothly", "bank"),
            At(f"Back to level, {ws.mark(ias)}; check altitude, heading, engine", "level"),
        ),
        usual_errors=(
            "nose low: pulling before the wings are level: tighter spiral, more load",
            "nose high: leveling the wings before unloading; power forgotten",
            "jerking the controls above maneuvering speed",
            "believing the seat instead of the instruments; waiting",
        ),
        card_line=f"high: power, unload, level · low: idle, level, pull gently · VA {ws.mark(va)}{red}",
        targets={"ias_mps": ias, "bank_rad": BANK_RAD},
        cautions=(
            "Never near the limits: the instructor stops it early; not with loose objects or unhappy passengers.",
        ),
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """A nose-high one and its recovery, then a nose-low one: banked, then unloaded, leveled and eased out."""
    t = set_up.targets
    side = order.side
    flown = FlownIdeal(order, set_up.entry_altitude_m, t["ias_mps"])
    idle, full = flown.thrust(idle=True), flown.thrust()
    stall = float(order.airplane.stall_cas_mps(order.conditions.mass_kg))
    flown.hold(5.0)
    _to(flown, side * math.radians(30.0), HIGH_PATH_RAD, idle, until=lambda f: f.cas < 1.3 * stall)
    _to(flown, flown.bank, -0.05, full, until=lambda f: f.path < -0.04)
    _to(flown, 0.0, 0.0, full, until=lambda f: f.cas > 1.7 * stall and abs(f.path) < 0.01)
    flown.change_speed(t["ias_mps"])
    flown.hold(5.0)
    fastest = order.airplane.limits.max_structural_cruise_ias_mps or 1.3 * t["ias_mps"]
    limit = order.airplane.cas_from_ias_mps(0.9 * fastest)
    _to(flown, -side * BANK_RAD, LOW_PATH_RAD, idle, until=lambda f: f.path < 0.98 * LOW_PATH_RAD or f.cas > limit)
    _to(flown, 0.0, flown.path, idle, until=lambda f: abs(f.bank) < 0.02)
    while flown.path < 0.0:
        flown.step(0.0, min(flown.path + 0.1 * G0_MPS2 * (PULL - 1.0) / flown.tas, 0.0), idle)
    flown.change_speed(t["ias_mps"])
    flown.hold(5.0)
    return flown.trace()


def _to(
    flown: FlownIdeal, bank_rad: float, path_rad: float, force: Force, *, until: Callable[[FlownIdeal], bool]
) -> None:
    """Roll and pitch at ordinary rates toward a bank and a path until a condition, for a minute at most."""
    start = flown.time
    while not until(flown) and flown.time - start < 60.0:
        bank = flown.bank + min(max(bank_rad - flown.bank, -0.017), 0.017)
        path = flown.path + min(max(path_rad - flown.path, -0.008), 0.008)
        flown.step(bank, path, force)


def propose(view: View) -> list[Episode]:
    """Every path bent up or down in a bank from cruising flight and brought back; none where bank isn't recorded."""
    if not view.bank_measured:
        return []
    path = np.arcsin(np.clip(view.climb_mps / np.maximum(view.tas_mps, 1.0), -1.0, 1.0))
    level = (np.abs(view.bank_rad) < LEVEL_RAD) & (np.abs(view.climb_mps) < CALM_MPS)
    out = []
    for sign, limit in ((1.0, UP_RAD), (-1.0, DOWN_RAD)):
        far = bridged((sign * path > (1.0 - SOFT) * limit) & view.airborne, view.samples(2.0))
        for first, end in runs(far):
            found = _taken(view, sign * path, sign, first, end - 1, level)
            if found is not None:
                out.append(found)
    return out


def _taken(view: View, away: Array, sign: float, first: int, last: int, level: Mask) -> Episode | None:
    """The run of path away from level with its entry from level flight and its recovery."""
    before = level[max(first - view.samples(ENTERED_S), 0) : first]
    after = (np.abs(view.bank_rad) < LEVEL_RAD)[last : last + view.samples(RECOVERED_S)]
    if not before.any() or not after.any():
        return None
    start = first - before.size + last_true(before, 0)
    righted = last + first_true(after, 0)
    part, speed, limit = slice(start, righted + 1), view.speed_mps, UP_RAD if sign > 0 else DOWN_RAD
    size, banked = float(away[part].max()), float(np.abs(view.bank_rad[part]).max())
    extreme = start + int(np.argmax(away[part]))
    slowed = under(float(speed[part].min()) / max(float(speed[start]), 1.0), SLOWED, SHARP) if sign > 0 else 1.0
    score = (
        over(size, limit)
        * over(banked, BANKED_RAD)
        * over(float(speed[start]) / max(view.cruise_mps, 1.0), CRUISING, SHARP)
        * slowed
        * under(float(first_true(away[part] > min(NEARLY_THERE * size, limit), 0)) * STEP_S, ABRUPT_S)
        * under((last - first) * STEP_S, HELD_S)
        * under(float(np.ptp(view.heading_rad[part])), TURNED_UP_RAD if sign > 0 else TURNED_DOWN_RAD)
        * aloft(view, start, righted)
        * all_known(view, start, righted)
    )
    name = "high" if sign > 0 else "low"
    back = speed_back(view, righted, float(speed[start])) if sign > 0 else righted
    end = back + first_true(level[back : back + view.samples(RECOVERED_S)], 0)
    evidence = (f"nose {name}: path {'+' if sign > 0 else '−'}{degrees(size)}, {degrees(banked)} of bank",)
    return episode(
        ROOM.kind, view, start, end, score, evidence=evidence,
        phases=(("entry", start, extreme), ("recovery", extreme, righted), ("level again", righted, end)),
        facts={"sign": sign, "righted_s": float(view.time_s[righted])},
    )  # fmt: skip


ROLLED_OUT = 0.5  # of the bank: so much of it must be gone before the nose comes up
NOSE_MOVED_RAD = math.radians(6.0)
POWER_S, POWER_CHANGED = 3.0, 0.15  # share of full power


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Height it cost and the order of the controls; the standard prints no numbers."""
    sheet = Sheet(episode, evidence)
    start, righted = episode.start_s, episode.facts["righted_s"]
    whole = window(sheet, start, episode.end_s)
    altitude, pitch, bank = (whole.of(x) for x in (evidence.altitude_m, evidence.pitch_rad, evidence.bank_rad))
    if altitude is not None:
        lost = float(altitude.max() - altitude[int(altitude.argmax()) :].min())
        sheet.number("altitude_lost_in_recovery_ft", to_unit(lost, "ft"), 0)
    if pitch is not None:
        sheet.number("most_pitch_deg", float(np.degrees(pitch[int(np.argmax(np.abs(pitch)))])), 0)
    if pitch is not None and bank is not None:
        low = episode.facts["sign"] < 0
        sheet.cause(_pulled_banked(whole, pitch, bank, righted) if low else _leveled_first(whole, pitch, bank))
        sheet.cause(_power(whole, pitch, low=low))
    sheet.floor_kept()
    return sheet.grade()


def _extreme(pitch: Array, *, low: bool) -> tuple[int, int]:
    """Where the pitch was farthest, and where it had clearly begun to come back."""
    size = -pitch if low else pitch
    far = int(size.argmax())
    return far, far + first_true(size[far:] < size[far] - NOSE_MOVED_RAD, size.size - 1 - far)


def _pulled_banked(w: Window, pitch: Array, bank: Array, righted_s: float) -> Cause | None:
    """Nose low: the nose raised while the wings were still banked. [AFH] ch. 10: a pull tightens the spiral."""
    far, moved = _extreme(pitch, low=True)
    most, then = float(np.abs(bank).max()), float(abs(bank[moved]))
    if then < max(ROLLED_OUT * most, BANKED_RAD):
        return None
    return Cause(
        f"The nose was pulled up with {degrees(then)} of bank still on, before the wings were level: it "
        "tightens the turn and loads the wing.",
        "Nose low: power off, wings level first, then ease the nose up.",
        float(w.time_s[far]), max(righted_s, float(w.time_s[moved])), 1.0 + then / BANK_RAD, "pulled in a bank",
        "back pressure", grave=True,
    )  # fmt: skip


def _leveled_first(w: Window, pitch: Array, bank: Array) -> Cause | None:
    """Nose high: wings leveled while the nose stayed up. [AFH] ch. 5: unload first."""
    far, moved = _extreme(pitch, low=False)
    most, then = float(np.abs(bank).max()), float(abs(bank[moved]))
    if most < BANKED_RAD or then > (1.0 - ROLLED_OUT) * most:
        return None
    return Cause(
        f"The wings were rolled from {degrees(most)} to {degrees(then)} before the nose came down: "
        "a roll at this speed and pull may stall a wing.",
        "Nose high: power, nose down to unload, then wings level.",
        float(w.time_s[far]), float(w.time_s[moved]), 1.0, "leveled before unloading", "back pressure",
    )  # fmt: skip


def _power(w: Window, pitch: Array, *, low: bool) -> Cause | None:
    """The throttle wasn't moved as the recovery began. Needs recorded power or RPM."""
    power = w.of(w.sheet.evidence.some_power)
    if power is None:
        return None
    far, moved = _extreme(pitch, low=low)
    later = w.after(moved, POWER_S)
    before, after = float(np.median(power[: max(far, 1)])), power[moved : later + 1]
    changed = before - float(after.min()) if low else float(after.max()) - before
    if changed >= POWER_CHANGED or (before < POWER_CHANGED if low else before > 1.0 - POWER_CHANGED):
        return None
    text, say = (
        ("Power stayed in with the nose low and the speed rising.", "Nose low: the throttle closed comes first.")
        if low
        else (
            "No power was added with the nose high and the speed falling.",
            "Nose high: full power comes first.",
        )
    )
    return Cause(text, say, float(w.time_s[far]), float(w.time_s[later]), 1.2, "power not moved", "power", grave=low)


ROOM = Room(
    "unusual_attitude", "Unusual attitude", Family.INSTRUMENT, set_up, ideal,
    Heights(ROOM_M, heights.PRACTICE_FLOOR_M, heights.PRACTICE), propose, grade, plots=("pitch",), seen_every_s=1.0,
    in_lesson=1.5,  # set up gently it is hardly more than a slip of the hand: asked for, it is one
    extent="nose and bank leave level flight → level again, speed back",
    may_set=("direction", "ias_mps"),
    facts=BriefFacts(
        "none", "never", aloud=("who recovers, on which word; the limits of bank, pitch and speed",),
        recovery="high: power, nose down, wings level · low: power off, wings level, ease out",
    ),
)  # fmt: skip
