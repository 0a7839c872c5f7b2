"""Traffic pattern: downwind, base and final to a runway; a closed circuit from the climb-out round to final.

In the data: before a landing, touch-and-go or go-around, turns to one side that add up to about 180° (downwind to
final) or to all four corners. It lies between the take-off (200 ft) and the landing (200 ft), which are episodes of
their own. Not it: a straight-in approach, a rectangular course (no runway at the end).
Judged by the task `traffic_pattern`: pattern altitude and speed on the downwind leg.
"""

from __future__ import annotations

import math

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading.pattern_grade import WANDERED_S, grade_pattern
from airwork.maneuvers.paths.flown_over_ground import STEP_M, Arc, fly_over_ground, straight
from airwork.maneuvers.seeing.broken_off import broken_off, climbed_away, decided
from airwork.maneuvers.seeing.contacts import SURE, contacts, departed, final_from
from airwork.maneuvers.seeing.propose_tools import all_known, episode, side
from airwork.maneuvers.seeing.signal import SHARP, Array, bridged, under
from airwork.maneuvers.seeing.turns import find_turns
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import arrival, power_lines, turn_lines, wind_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace
from airwork.masks import runs

LONGEST_S = 330.0  # from the downwind leg to the runway
LONGEST_DOWNWIND_S = 110.0
DOWNWIND_TO_FINAL_S = 195.0  # from the end of the downwind leg; longer was a straight-in approach
PATTERN_M = 450.0  # 1,500 ft; 1,000 ft is usual
ALL_ROUND_DEG, MOST_DEG = 290.0, 475.0
CORNER_DEG = 55.0  # less is a correction
ALONG_RAD = np.radians(35.0)  # a poor pilot wanders on the downwind leg; joining it from 45° is not yet along it


RUNWAY_M = 900.0  # length beside the runway: our own choice
DOWNWIND_M = 0.7 * units.NM_M  # half a mile to a mile out ([AFH] ch. 8)
BANK_RAD = math.radians(30.0)  # not more in the pattern: common practice, no source


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of the traffic pattern: leg by leg for today's wind."""
    if "altitude_m" in ws.target:
        ws.entry_m = float(ws.target["altitude_m"])
    elif "height_agl_m" in ws.target:
        ws.entry_m = ws.conditions.ground_elevation_m + float(ws.target["height_agl_m"])
    side = ws.word("direction", "left", ("left", "right"))
    full = ws.notch(ws.airplane.flaps_full)
    approach, source = arrival.approach_ias(ws, full)
    final = ws.flown_ias(approach, full, name="")
    stall = ws.stall_cas_mps(0)
    slow = min(1.6 * stall, ws.cas(ws.on_dial(ws.fastest_ias(1), "down")))
    down = ws.flown_ias(ws.on_dial(ws.ias(slow), "near", 5.0))
    base = ws.on_dial(0.5 * (down + final), "near")
    ws.note_height("pattern altitude", ws.entry_m, "assumed", "1,000 ft above the field, [AFH] ch. 8; or as published")
    ws.note_speed("downwind", down, "assumed", "about 1.6 times the clean stall; 70 to 90 kt is usual, [AFH] ch. 8")
    ws.note_speed("base", base, "assumed", "between downwind and final")
    ws.note_speed("final", final, "handbook table", source)
    ws.note_flap(full)
    ws.note_stall(full)
    power = power_lines.level(ws, ws.cas(down), name="power on downwind")
    turn_lines.note_turn(
        ws, ws.cas(base), BANK_RAD, turn_rad=math.pi / 2, bank_source="30° at most: common practice, no source"
    )
    runway = arrival.runway_rad(ws.conditions, ws.target)
    from_rad, wind = wind_lines.note_wind(ws)
    fastest = ws.tas_mps(ws.cas(base)) + wind
    radius = fastest**2 / (G0_MPS2 * math.tan(BANK_RAD))
    note = ""
    if runway is None:
        runway, note = from_rad, "runway taken straight into the wind: the lesson names none"
    sign = -1.0 if side == "left" else 1.0
    legs = (
        ("upwind", runway),
        ("crosswind", runway + sign * math.pi / 2),
        ("downwind", runway + math.pi),
        ("base", runway - sign * math.pi / 2),
        ("final", runway),
    )
    table = wind_lines.legs(ws, ws.tas_mps(ws.cas(down)), legs)
    lap = 6.0 * 60.0
    ws.use_power(lap, None if power is None else power.ratio)
    words = "power by eye" if power is None else power.words
    return ws.finish(
        steps=(
            f"Enter 45° to the downwind, abeam midfield, at {units.write(ws.entry_m, 'ft')}, {ws.mark(down)}, "
            f"{words}; calls, look",
            "Abeam the touchdown point: power back, first flaps, trim; before-landing checks",
            At(f"Base at about 45° past the threshold, {ws.mark(base)}; bank to 30° at most, ball centered", "bank"),
            At(
                f"Final: {ws.mark(final)}, flaps {full} when the landing is sure; "
                f"{arrival.STABLE[0].lower()}{arrival.STABLE[1:]}",
                "bank",
            ),
        ),
        usual_errors=(
            "downwind drifting in or out: no crab",
            "overshooting final, then steepening the bank with rudder: the stall that kills",
            "altitude and speed wandering; checks late",
            "following too close; no look on base and final",
        ),
        card_line=f"downwind {ws.mark(down)}, {words} · base {ws.mark(base)} · final {ws.mark(final)}, flaps {full} "
        f"· bank ≤ 30°",
        targets={
            "ias_mps": down,
            "base_ias_mps": base,
            "approach_ias_mps": final,
            "flap_notch": float(full),
            "line_rad": runway,
            "sign": sign,
            "radius_m": radius,
        },
        cautions=tuple(filter(None, [note, arrival.GUST])),
        tables={f"Legs, {side} pattern, at the downwind speed": table},
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """From the upwind leg round to the threshold: legs crabbed, base and final coming down; over the ground."""
    t = set_up.targets
    field, sign = order.conditions.ground_elevation_m, t["sign"]
    height = set_up.entry_altitude_m - field
    radius = t["radius_m"]
    corner, between = Arc(sign * 0.5 * math.pi, radius), max(DOWNWIND_M - 2.0 * radius, 60.0)
    final = height / math.tan(arrival.PATH_RAD) * 0.6
    legs = (
        straight(500.0),
        corner,
        straight(between),
        corner,
        straight(RUNWAY_M + final),
        corner,
        straight(between),
        corner,
        straight(max(final - radius, 200.0)),
    )
    corner_m = 0.5 * math.pi * radius
    begin = 500.0 + between + 2.0 * corner_m + RUNWAY_M
    length = sum(leg.length_m if math.isinf(leg.radius_m) else corner_m for leg in legs)

    def climb(s: float, bank: float, altitude: float) -> float:
        left = length - s
        if s < begin or left <= STEP_M:
            return 0.0
        speed = 0.9 * order.airplane.cas_from_ias_mps(t["approach_ias_mps"], 0)
        return -min((altitude - field) / left * speed * 1.05, 5.0)

    return fly_over_ground(
        order.airplane,
        order.conditions,
        legs,
        track_rad=t["line_rad"],
        altitude_m=set_up.entry_altitude_m,
        ias_mps=t["base_ias_mps"],
        climb_mps=climb,
    )


def propose(view: View) -> list[Episode]:
    """Every pattern that ends on (or just above) a runway."""
    lows = broken_off(view)
    ends = [(c.index, final_from(view, c.index)) for c in view.once(contacts) if c.kind != "takeoff"]
    ends += [(k, decided(view, k)) for k in lows]
    starts = [departed(view, c.off) for c in view.once(contacts) if c.kind != "landing"]
    starts += [climbed_away(view, k) for k in lows]
    out = []
    for low, end in sorted(ends):
        made = _before(view, low, end, max((s for s in starts if s < end), default=-1))
        if made is not None:
            out.append(made)
    return out


def _before(view: View, low: int, end: int, away: int) -> Episode | None:
    """The pattern that ends at `end` over a runway (lowest at `low`); `away` is where the last take-off was over."""
    begin = max(end - view.samples(LONGEST_S), 0, away)
    # Turned from there to the runway, whatever was weaved on the way: the heading's own count, right positive.
    runway = float(np.median(view.heading_rad[max(low - view.samples(1.0), 0) : low + view.samples(1.0)]))
    to_turn = runway - view.heading_rad[begin : end + 1]
    # Round and round on the way down it points that way too: without wheels at the end a leg is longer.
    wheels = any(c.index == low for c in view.once(contacts))
    down = _downwind(view, to_turn, WANDERED_S if wheels else 2.0 * WANDERED_S)
    if down is None:
        return None
    first, last = begin + down[0], begin + down[1]
    sign = 1 if to_turn[down[1]] > 0 else -1
    around = sign * float(np.degrees(runway - view.heading_rad[away])) if away >= begin else 0.0
    closed = ALL_ROUND_DEG < around < 2.0 * ALL_ROUND_DEG
    start = away if closed else max(first, last - view.samples(LONGEST_DOWNWIND_S))
    corners = [
        t for t in view.once(find_turns) if start <= t.first < end and t.sign == sign and t.change_deg > CORNER_DEG
    ]
    heights = view.altitude_m[max(first, start) : end + 1] - view.altitude_m[low]
    score = (
        SURE * under(float(view.time_s[end] - view.time_s[last]), DOWNWIND_TO_FINAL_S)
        * under(float(heights.max()), PATTERN_M) * (under(around, MOST_DEG, SHARP) if closed else 1.0)
        * all_known(view, start, end)
    )  # fmt: skip
    evidence = (f"downwind, then {'all' if closed else 'half'} round {side(sign)} to the runway",)
    phases = tuple((f"corner {k + 1}", t.first, t.last) for k, t in enumerate(corners))
    facts = {
        "sign": sign, "corners": len(corners), "lowest_s": float(view.time_s[low]),
        "downwind_start_s": float(view.time_s[max(first, start)]), "downwind_end_s": float(view.time_s[last]),
    }  # fmt: skip
    return episode(ROOM.kind, view, start, end, score, evidence=evidence, phases=phases, facts=facts)


def _downwind(view: View, to_turn: Array, least_s: float) -> tuple[int, int] | None:
    """First and last sample of the last leg flown against the landing direction, for so long at least."""
    along = np.abs(np.abs(to_turn) - np.pi) < ALONG_RAD
    for first, last in reversed(runs(bridged(along, view.samples(WANDERED_S)))):
        if last - first >= view.samples(least_s):
            return first, last - 1
    return None


ROOM = Room(
    "traffic_pattern", "Traffic pattern", Family.CIRCUIT, set_up, ideal, Heights(at_field_m=arrival.PATTERN_M),
    propose, grade_pattern, role=Role.PATTERN,
    may_set=("altitude_m", "direction", "flap_notch",
             "heading_mag_rad", "height_agl_m", "ias_mps", "line_rad"),
    extent="the take-off's end, or within 35° of downwind where it is joined there → the landing's beginning",
)  # fmt: skip
