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
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import altitude
from airwork.maneuvers.grading.causes.arrival import overshot, steep_near_the_ground, wide_downwind
from airwork.maneuvers.grading.causes.speed import speed_settled_off
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.runway_line import by_the_runway
from airwork.maneuvers.grading.sheet import NO_AIRSPEED, SETTLED, Sheet
from airwork.maneuvers.paths.flown_over_ground import STEP_M, Arc, fly_over_ground, straight
from airwork.maneuvers.seeing.broken_off import broken_off, climbed_away, decided
from airwork.maneuvers.seeing.contacts import SURE, contacts, departed, final_from
from airwork.maneuvers.seeing.propose_tools import SURELY_IDLE, all_known, episode, side
from airwork.maneuvers.seeing.signal import SHARP, Array, bridged, mean_over, runs, under
from airwork.maneuvers.seeing.turns import find_turns
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import arrival, power_lines, turn_lines, wind_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace

LONGEST_S = 330.0  # from the downwind leg to the runway
LONGEST_DOWNWIND_S = 110.0
DOWNWIND_TO_FINAL_S = 195.0  # from the end of the downwind leg; longer was a straight-in approach
WANDERED_S = 8.0  # on and off the downwind leg
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
    down = _downwind(view, to_turn)
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


def _downwind(view: View, to_turn: Array) -> tuple[int, int] | None:
    """First and last sample of the last leg flown against the landing direction."""
    along = np.abs(np.abs(to_turn) - np.pi) < ALONG_RAD
    for first, last in reversed(runs(bridged(along, view.samples(WANDERED_S)))):
        if last - first >= view.samples(WANDERED_S):
            return first, last - 1
    return None


BEGUN_M = 15.0  # 50 ft, half the tolerance
NEAR_MPS = 3.0 * units.KT_MPS
USUAL_M = 100.0 * units.FT_M  # the standard's tolerance
OTHER_PATTERNS = "the usual height above the field, as the pilot's other pattern was flown"
SHORT_FINAL_S = 15.0  # any power is off, or on again, by then
POWER_BACK, BEGUN_S = 0.08, 4.0  # of full power: less is no approach begun; from so long before it sinks
LED_S, HELD_S, LEVEL_MPS = 12.0, 3.0, 1.5  # the leg's end, 300 ft/min: the altitude is left some seconds later


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude and speed on the downwind leg."""
    sheet = Sheet(episode, evidence)
    through = overshot(sheet, episode.facts["lowest_s"], int(episode.facts["sign"]))
    sheet.cause(through)
    sheet.cause(steep_near_the_ground(sheet, episode.facts["lowest_s"], through))
    facts = episode.facts
    sheet.cause(wide_downwind(sheet, facts["lowest_s"], facts["downwind_start_s"], facts["downwind_end_s"]))
    begin_s, abeam_s, late = _until_abeam(evidence, episode)
    closed_s = _throttle_closed(evidence, episode)
    glides = closed_s < abeam_s
    window = begin_s, min(abeam_s, closed_s)
    part = evidence.flight.span(*window)
    level = np.abs(evidence.climb_mps) < 1.5
    if window[1] - window[0] < 5.0 or level[part].sum() < 3:
        why = "no level downwind leg was flown" + "; the throttle was closed on it" * glides
        sheet.not_asked("pattern_altitude", why)
        sheet.not_asked("pattern_ias", why)
        return sheet.grade()
    own = float(np.nanmedian(evidence.altitude_m[part][level[part]]))
    window = _until_the_descent(evidence, window, own, past_abeam=late)
    usual = _usual_altitude(evidence, episode, own)
    target = sheet.altitude_target(own if usual is None else usual, SETTLED if usual is None else OTHER_PATTERNS)
    sheet.altitude_held_s = window
    told = sheet.given("altitude") or usual is not None
    judged, note = ("", "") if told else _own_altitude(evidence, episode, target)
    if glides:
        note = "; ".join(filter(None, (note, "judged until the throttle was closed for a glide to the runway")))
    sheet.over("pattern_altitude", evidence.altitude_m, window, target=target, judged=judged, note=note)
    speeds = evidence.tas_mps if evidence.ias_mps is None else evidence.ias_mps
    held = window if speeds is None else _at_speed(evidence, speeds, window)
    if evidence.ias_mps is None:
        sheet.cannot("pattern_ias", NO_AIRSPEED)
    else:
        part = evidence.flight.span(*held)
        speed = float(np.nanmedian(evidence.ias_mps[part][level[part]])) if level[part].any() else float("nan")
        aim = sheet.speed_held(speed, held, quantity="pattern_ias")
        sheet.cause(speed_settled_off(sheet, aim, held, "pattern_ias", target))
    window = max(window[0], held[0]), min(window[1], held[1])  # flaps and power change the height for a moment
    sheet.cause(altitude.let_slip(sheet, target, window, quantity="pattern_altitude"))
    return sheet.grade()


def _until_abeam(evidence: Evidence, episode: Episode) -> tuple[float, float, bool]:
    """The downwind leg until abeam the touchdown, where power comes back and the descent begins; all of it unknown.

    True where it was joined no sooner than there.
    """
    start_s, end_s, low_s = (episode.facts[n] for n in ("downwind_start_s", "downwind_end_s", "lowest_s"))
    flown = by_the_runway(evidence, low_s)
    if flown is None:
        return start_s, end_s, False
    part = evidence.flight.span(start_s, end_s)
    past = np.flatnonzero(flown[0][part] < 0.0)
    abeam_s = float(evidence.flight.time_s[part][past[0]]) if past.size else end_s
    late = abeam_s - start_s <= WANDERED_S
    return start_s, end_s if late else abeam_s, late


def _throttle_closed(evidence: Evidence, episode: Episode) -> float:
    """When the throttle was closed for good before the runway; infinite where it wasn't, or isn't known. [s]

    From there on it is a power-off approach, whatever height it loses, and no leg to hold.
    """
    power, until_s = evidence.some_power, episode.facts["lowest_s"] - SHORT_FINAL_S
    if power is None or evidence.mean(power, until_s - 1.0, until_s + 1.0) > SURELY_IDLE:
        return math.inf
    before = evidence.flight.span(episode.facts["downwind_start_s"], until_s)
    powered = np.flatnonzero(power[before] > SURELY_IDLE)
    times = evidence.flight.time_s[before]
    return float(times[powered[-1]] if powered.size else times[0]) if times.size else math.inf


def _usual_altitude(evidence: Evidence, episode: Episode, own_m: float) -> float | None:
    """The usual height above the field, where another pattern of the flight was flown at it and this one was not."""
    field_m = _lowest_m(evidence, episode)
    if abs(own_m - field_m - arrival.PATTERN_M) <= USUAL_M:
        return None
    for e in evidence.episodes:
        if e.kind != ROOM.kind or e == episode or abs(_lowest_m(evidence, e) - field_m) > USUAL_M:
            continue
        held = evidence.median(evidence.altitude_m, e.facts["downwind_start_s"], e.facts["downwind_end_s"])
        if abs(held - field_m - arrival.PATTERN_M) <= USUAL_M and abs(held - own_m) > USUAL_M:
            return field_m + arrival.PATTERN_M
    return None


def _lowest_m(evidence: Evidence, episode: Episode) -> float:
    low_s = episode.facts["lowest_s"]
    return evidence.mean(evidence.altitude_m, low_s - 0.5, low_s + 0.5)


def _own_altitude(evidence: Evidence, episode: Episode, target_m: float) -> tuple[str, str]:
    """The pilot's own altitude is judged for steadiness, and told as a height above the field."""
    over, above = "lowest point", target_m - _lowest_m(evidence, episode)
    agl = evidence.above_ground()[0]
    if agl is not None:  # a go-around's lowest point is not the field
        part = evidence.flight.span(episode.facts["downwind_start_s"], episode.facts["downwind_end_s"])
        ground = evidence.altitude_m[part] - agl[part]
        if (ground := ground[np.isfinite(ground)]).size:
            above, over = target_m - float(np.median(ground)), "field"
    height = round(units.to_unit(above, "ft") / 10.0) * 10
    said = f"the pilot's own altitude, judged for steadiness only; some {height:,} ft above the {over}"
    return "steadiness", f"{said}, 1,000 ft above the field is usual"


def _until_the_descent(
    evidence: Evidence, window: tuple[float, float], target_m: float, *, past_abeam: bool
) -> tuple[float, float]:
    """The downwind leg from where its altitude is reached to where it is left for good, downwards: the approach begun.

    More than a third of the leg is never taken off at either end: who sinks from early on did not hold it (joined past
    the touchdown it may be left at once); nor anything where the power is known not to have come back.
    """
    part = evidence.flight.span(*window)
    there = np.flatnonzero(evidence.altitude_m[part] > target_m - BEGUN_M)
    if not there.size:
        return window
    third = (window[1] - window[0]) / 3.0
    left_s = float(evidence.flight.time_s[part][there[-1]])
    level = np.flatnonzero(np.abs(evidence.altitude_m[part] - target_m) < BEGUN_M)
    reached_s = float(evidence.flight.time_s[part][level[0]]) if level.size else window[0]
    end = left_s if past_abeam else max(left_s, window[1] - third)
    power = evidence.some_power
    if power is not None and np.isfinite(power[part]).all():  # it sinks by itself, as long as the power stays
        begun_s = min(_power_back(evidence, power, window, left_s), _first_flap(evidence, window, left_s))
        end = max(end, min(begun_s, window[1]))
    return min(reached_s, window[0] + third), end


def _power_back(evidence: Evidence, power: Array, window: tuple[float, float], left_s: float) -> float:
    """When, about where the altitude was left, the power was below what held the leg, or its end; else infinite. [s]

    Joined from a descent it may be held for some seconds alone: most of the leg says nothing of the power it needs.
    """
    times, step = evidence.flight.time_s, evidence.step_s
    last = evidence.flight.span(max(left_s - LED_S, window[0]), left_s)
    level = np.abs(evidence.climb_mps[last]) < LEVEL_MPS
    held = mean_over(power[last], max(round(HELD_S / step), 1))[level] if level.any() else np.empty(0)
    most = max(evidence.median(power, window[0], left_s), float(held.max(initial=0.0)))
    sinking = evidence.flight.span(left_s - BEGUN_S, window[1])
    back = np.flatnonzero(power[sinking] < most - POWER_BACK)
    return float(times[sinking][back[0]]) if back.size else math.inf


def _first_flap(evidence: Evidence, window: tuple[float, float], left_s: float) -> float:
    """When the first flap went down about where the altitude was left; else infinite. [s]"""
    flight, flaps = evidence.flight, evidence.flaps
    if flaps is None:
        return math.inf
    near = flight.span(max(left_s - LED_S, window[0]), window[1])
    down = np.flatnonzero(np.diff(np.round(flaps[near])) > 0.0)
    return float(flight.time_s[near][down[0] + 1]) if down.size else math.inf


def _at_speed(evidence: Evidence, speed_mps: Array, window: tuple[float, float]) -> tuple[float, float]:
    """From when the speed of the middle of the leg was reached until it is left for good, downwards: power comes back.

    Never more than two fifths of the leg are taken off at either end.
    """
    most = 0.4 * (window[1] - window[0])
    middle = evidence.median(speed_mps, window[0] + most, window[1] - most)
    part = evidence.flight.span(*window)
    off, times = speed_mps[part] - middle, evidence.flight.time_s[part]
    there, kept = np.flatnonzero(np.abs(off) < NEAR_MPS), np.flatnonzero(off > -NEAR_MPS)
    if not there.size:
        return window
    return (min(float(times[there[0]]), window[0] + most), max(float(times[kept[-1]]), window[1] - most))


ROOM = Room(
    "traffic_pattern", "Traffic pattern", Family.CIRCUIT, set_up, ideal, Heights(at_field_m=arrival.PATTERN_M),
    propose, grade, role=Role.PATTERN,
    may_set=("altitude_m", "direction", "flap_notch",
             "heading_mag_rad", "height_agl_m", "ias_mps", "line_rad"),
    extent="the take-off's end, or within 35° of downwind where it is joined there → the landing's beginning",
)  # fmt: skip
