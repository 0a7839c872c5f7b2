"""Thin margins near the ground: the gate of each approach, the sink, the touch, the runway's ends.

Gates are the brief's own ([AFH] chapter 9: stable by 300 ft above the field or go around); sizes are judgment (common
practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from airwork.debrief.first_words import BROKEN_OFF_LOW, FLOWN_LOW
from airwork.debrief.margin import CLASS_LIMIT, CLASS_LOW, SAME_S, Margin, during
from airwork.errors import AirworkError
from airwork.lesson.runway_ends import runway_ends_near
from airwork.maneuvers import room
from airwork.maneuvers.declared import Role
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.gate import SINK_MPS, gate, off_runway_rad, sink_known_mps, slipping
from airwork.maneuvers.grading.reading import allowance
from airwork.maneuvers.grading.runway_ends import DATA_M, nearest_m
from airwork.maneuvers.grading.runway_grade import surely_touched
from airwork.maneuvers.grading.runway_line import SLOWS_MPS2, place_error_m, where_touched
from airwork.maneuvers.seeing.signal import bridged, mean_over
from airwork.masks import runs
from airwork.recording.craft import craft_of
from airwork.units import FPM_MPS, FT_M, NM_M, clock, to_unit, write

LOW_M = 500.0 * FT_M
SINK_S, SINK_OVER_S = 2.0, 2.0
STAYED_S, LEVEL_MPS, ARRIVING_S = 30.0, 300.0 * FPM_MPS, 120.0  # held low, and not from or to a runway (no source)
LOW_FOR_S = 120.0  # longer than an approach that no landing ended, or a look at a field (no source)
SEEN_S = 10.0  # rows farther apart hide a touch between them
UNSEEN_M = 100.0 * FT_M  # down to less it may be a landing that wasn't seen
VERY_LOW, VERY_LOW_M = 1.5, 200.0 * FT_M  # nothing is left to mend it with
CLOSE_M = 30.0 * FT_M  # how high is not known so near
BASE_RAD = np.radians(45.0)  # further off the runway's track it is a base leg, no final yet
SWING_RAD, SWING_S = np.radians(10.0), 3.0
STANDING_MPS = 8.0
FAST_TOUCH = 1.3
# Below the attitude it stands in on three wheels by more than recorder and legs give; a tail wheel's is far higher;
# rising above it within so long it was the flare, and the moment found too early (common practice, no source).
NOSE_LOW_RAD, NOSE_UP_RAD, TAIL_LOW_RAD, FLARED_S = np.radians(1.5), np.radians(1.0), np.radians(6.0), 4.0
HELD_OFF, HELD_OFF_S = 0.85, 25.0  # of the speed: so much slower on its nose wheel, it lies on all three
RAISING_RADPS, LATE_S = np.radians(3.0), 1.0  # a flare raises it between two samples; the wheels are found so late
FLARE_M = 50.0 * FT_M  # a screen height (no source)
FINAL_M = NM_M  # at 3° some 300 ft up
LITTLE_LEFT_M = 1500.0 * FT_M  # in the second half with less than a light single's usual landing distance (no source)


def approaches(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """The gate of every landing, the sink, the speed and the swing at the touch; go-arounds that ended a bad one."""
    height = f"{evidence.standard.judging['approach_gate_ft']:.0f} ft"
    for e in episodes:
        touch = e.facts.get("touch_s")
        away = room(e.kind).role is Role.RUNWAY and not room(e.kind).lands
        low = e.facts.get("lowest_s") if away else None
        if touch is not None and surely_touched(e):
            found = gate(evidence, touch, e.kind)
            if found is not None and found[1]:
                at_s, said, size = found
                text = f"Final at {height} above the field: {', '.join(said)}. The brief: stable by {height} or go "
                rank = CLASS_LOW * min(size, 3.0)
                words = f"final {said[0]} {{in}}"
                about = "ias" if any(words.endswith(("fast", "slow")) for words in said) else ""
                yield Margin(
                    f"{text}around. It was landed.", at_s, touch, rank, "decision", e.kind, brief=words, about=about
                )
            yield from _touch(evidence, e, touch)
        elif low is not None:
            found = gate(evidence, low)
            off = None if found is None else off_runway_rad(evidence, found[0], low)
            lined_up = (off is None or abs(off) < BASE_RAD) and _by_a_runway(evidence, low)
            if found is not None and found[1] and lined_up and not _to_the_flare(evidence, low):
                text = f"A go-around from a final not stable at {height}"
                yield Margin(text, found[0], low, 0.0, "decision", e.kind, good=True)


def _to_the_flare(evidence: Evidence, low_s: float) -> bool:
    """Broken off above the runway itself: the gate, some 300 ft up, was long gone by."""
    return evidence.agl_m is not None and evidence.mean(evidence.agl_m, low_s - 0.5, low_s + 0.5) < FLARE_M


def _by_a_runway(evidence: Evidence, low_s: float) -> bool:
    """No published runway is known here, or one begins within a mile: broken off farther out it was no final."""
    latitude, longitude = evidence.flight.get("latitude_rad"), evidence.flight.get("longitude_rad")
    if not evidence.runways or latitude is None or longitude is None:
        return True
    k = evidence.flight.index_at(low_s)
    return not nearest_m(evidence.runways, float(latitude[k]), float(longitude[k])) > FINAL_M


def _touch(evidence: Evidence, e: Episode, touch_s: float) -> Iterator[Margin]:
    flight = evidence.flight
    heading = evidence.heading_rad
    if heading is not None and evidence.view.heading_from == "heading":
        before = evidence.mean(heading, touch_s - 0.3, touch_s + 0.2)
        after = heading[flight.span(touch_s, touch_s + SWING_S)]
        swing = float(np.nanmax(np.abs(after - before))) if np.isfinite(after).any() else 0.0
        if swing > SWING_RAD:
            text = f"The nose swung {np.degrees(swing):.0f}° within {SWING_S:.0f} s of the touch."
            yield Margin(text, touch_s, touch_s + SWING_S, CLASS_LOW * min(swing / SWING_RAD, 3.0), "feet", e.kind)
    yield from _nose_first(evidence, e, touch_s)
    yield from _beside_the_runway(evidence, e, touch_s)
    airplane, mass, cas = evidence.airplane, evidence.gross_mass_kg, flight.get("cas_mps")
    if airplane is None or mass is None or cas is None or not evidence.has_airspeed or not airplane.stall_curves:
        return
    notch = flight.get("flap_notch")
    k = flight.index_at(touch_s)
    set_to = 0 if notch is None or not np.isfinite(notch[k]) else round(float(notch[k]))
    try:
        stall = float(airplane.stall_cas_mps(mass, min(set_to, airplane.flaps_full)))
    except AirworkError:
        return
    slowed = SLOWS_MPS2 * evidence.touch_within_s
    share = evidence.mean(cas, touch_s - 0.5, touch_s + 0.5) / stall
    if share - slowed / stall > FAST_TOUCH:
        text = f"Touched down at {share:.2f} times the stalling speed."
        yield Margin(
            text, touch_s - 2.0, touch_s + 1.0, CLASS_LOW * min(share / FAST_TOUCH, 3.0), "target not set", e.kind
        )


def _nose_first(evidence: Evidence, e: Episode, touch_s: float) -> Iterator[Margin]:
    """The nose lower at the touch than the wheels let it stand: the nose wheel met the ground first.

    Source: [AFH] ch. 9, the main wheels touch first, the nose wheel held off.
    """
    flight, pitch = evidence.flight, evidence.flight.columns.get("pitch_rad")
    ground, speed = flight.get("on_ground"), flight.get("groundspeed_mps")
    if pitch is None or pitch.known != "measured" or ground is None or speed is None:
        return
    standing = pitch.values[(np.nan_to_num(ground) > 0.5) & (speed < STANDING_MPS)]
    near = pitch.values[flight.span(touch_s - FLARED_S, touch_s + FLARED_S)]
    if not np.isfinite(standing).any() or not np.isfinite(near).any():
        return
    stands = float(np.nanmedian(standing))
    low = stands - min(evidence.mean(pitch.values, t - 0.5, t) for t in np.arange(touch_s - LATE_S, touch_s + 0.1, 0.2))
    least = NOSE_LOW_RAD + RAISING_RADPS * evidence.step_s
    if low < least or stands > TAIL_LOW_RAD or float(np.nanmax(near)) > stands + NOSE_UP_RAD:
        return
    later = flight.span(touch_s, touch_s + HELD_OFF_S)
    slow = (speed[later] < HELD_OFF * speed[later][0]) & (speed[later] > STANDING_MPS)
    if (pitch.values[later][slow] > stands + NOSE_UP_RAD).any():
        return  # nearer and nearer the ground with the nose coming up: it floated there, and touched at the end of it
    ias = evidence.mean(evidence.ias_mps, touch_s - 0.5, touch_s + 0.5)
    at = f" at {evidence.speed_text(ias)}" if np.isfinite(ias) else ""
    text = f"Touched on the nose wheel{at}: the nose {np.degrees(low):.0f}° lower than it stands on its wheels."
    yield Margin(text, touch_s - 2.0, touch_s + 1.0, CLASS_LOW * min(low / least, 3.0), "target not set", e.kind,
                 brief="touched on the nose wheel {in}")  # fmt: skip


def _beside_the_runway(evidence: Evidence, e: Episode, touch_s: float) -> Iterator[Margin]:
    """Short of the threshold, far down the runway or beside it, by more than published ends and a fix may be off."""
    where = where_touched(evidence, touch_s)
    if where is None:
        return
    width, error = where.end.width_m or 0.0, place_error_m(evidence, touch_s)
    short, beside = -where.beyond_m, abs(where.right_m) - 0.5 * width
    if short > error:
        text = f"Touched {write(short, 'ft', 0)} short of the threshold of runway {where.end.name}."
        yield Margin(text, touch_s - 5.0, touch_s + 1.0, CLASS_LOW * min(1.0 + short / 60.0, 3.0), "target not set",
                     e.kind)  # fmt: skip
    left = where.end.length_m - where.beyond_m
    if where.beyond_m - error > 0.5 * where.end.length_m and left < LITTLE_LEFT_M:
        down, ahead = write(where.beyond_m, "ft", 0), write(left, "ft", 0)
        text = f"Touched {down} down runway {where.end.name}, {ahead} of it to go."
        yield Margin(text, touch_s - 5.0, touch_s + 1.0, CLASS_LOW * 2.0, "target not set", e.kind)
    if width and beside > DATA_M:
        side = "right" if where.right_m > 0.0 else "left"
        text = f"Touched {write(abs(where.right_m), 'ft', 0)} {side} of the center line of runway {where.end.name}."
        yield Margin(text, touch_s - 5.0, touch_s + 1.0, CLASS_LOW, "wind", e.kind)


def low_away(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """Down below 500 ft above the ground at idle or before a go-around, with no published runway within some 3 NM.

    14 CFR 91.119 (c) asks for 500 ft there, but for landing; a practice without one is broken off above it.
    """
    latitude, longitude = evidence.flight.get("latitude_rad"), evidence.flight.get("longitude_rad")
    if evidence.agl_m is None or latitude is None or longitude is None or not evidence.runways:
        return
    told_s = -np.inf
    for e in episodes:
        one = room(e.kind)
        part = evidence.flight.span(e.start_s, e.end_s)
        if one.lands or not (one.idle_power or one.role is Role.RUNWAY) or not np.isfinite(evidence.agl_m[part]).any():
            continue
        k = part.start + int(np.nanargmin(evidence.agl_m[part]))
        at_s, above = float(evidence.flight.time_s[k]), float(evidence.agl_m[k])
        if not above < LOW_M or at_s - told_s < SAME_S or runway_ends_near(float(latitude[k]), float(longitude[k])):
            continue
        told_s = at_s
        text = (
            f"Down to {write(above, 'ft')} above the ground with no published runway near: 500 ft is the least there."
        )
        rank = CLASS_LOW * min(LOW_M / max(above, CLOSE_M), 3.0)
        name = BROKEN_OFF_LOW if one.idle_power else FLOWN_LOW
        yield Margin(text, at_s - 5.0, at_s + 1.0, rank, "decision", e.kind, name=name)


def held_low(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """Half a minute about level below 500 ft above the ground, neither taking off nor on the way to a landing.

    14 CFR 91.119 (c): 500 ft, but for takeoff and landing and where hardly anyone lives, which no recording shows.
    """
    if evidence.agl_m is None or craft_of(evidence.flight).engine is False:
        return
    flight, step = evidence.flight, evidence.step_s
    unsure = allowance(evidence, "altitude")
    level = np.abs(np.nan_to_num(evidence.climb_mps)) < LEVEL_MPS
    column = flight.columns.get("agl_m")
    ground = "the field" if column is not None and "elsewhere not known" in (column.note or "") else "the ground"
    for a, b in runs(bridged((evidence.agl_m < LOW_M - unsure) & level & evidence.airborne, round(5.0 / step))):
        start, end = float(flight.time_s[a]), float(flight.time_s[b - 1])
        near = [e for e in episodes if e.start_s < end and e.end_s > start]
        runway = any(room(e.kind).role in (Role.RUNWAY, Role.PATTERN) or room(e.kind).idle_power for e in near)
        touches = _touches(evidence)
        touched = any(start - ARRIVING_S < t < end + ARRIVING_S for t in touches)
        touched |= not float(evidence.agl_m[a:b].min()) > UNSEEN_M
        seen = evidence.view.known[slice(*np.searchsorted(evidence.view.time_s, (start, end)))].all()
        if end - start < STAYED_S or runway or touched or not seen:
            continue
        above = float(np.median(evidence.agl_m[a:b]))
        text = (
            f"Flown for {end - start:.0f} s at {write(above, 'ft')} above {ground}: "
            "500 ft is the least but where hardly anyone lives."
        )
        rank = CLASS_LIMIT * min(LOW_M / max(above, CLOSE_M), 3.0)
        yield Margin(text, start, end, rank)  # no drill is of a floor


def _touches(evidence: Evidence) -> list[float]:
    """The contacts, and the recording's ends: what came before and after it doesn't show."""
    time = evidence.flight.time_s
    return [*(c.time_s for c in evidence.flight.contacts), float(time[0]), float(time[-1])]


def low_for_long(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """Down low away from takeoffs and landings, none of it level for long: up and down over a crop or a house."""
    if evidence.agl_m is None or craft_of(evidence.flight).engine is False or any(held_low(evidence, episodes)):
        return
    flight, agl = evidence.flight, evidence.agl_m
    low = (agl < LOW_M - allowance(evidence, "altitude")) & evidence.airborne
    beside = [(t - ARRIVING_S, t + ARRIVING_S) for t in _touches(evidence)]
    near = (e for e in episodes if room(e.kind).role in (Role.RUNWAY, Role.PATTERN) or room(e.kind).idle_power)
    for start, end in [*beside, *((e.start_s, e.end_s) for e in near)]:
        low[flight.span(start, end)] = False
    step = np.diff(flight.time_s)
    at, total_s = np.flatnonzero(low), float(step[low[:-1] & low[1:] & (step < SEEN_S)].sum())
    if total_s < LOW_FOR_S or not -CLOSE_M < (least := float(np.min(agl[low]))) < VERY_LOW_M:
        return  # lower than the field, other land lies below it
    text = (
        f"Below 500 ft above the field for {clock(total_s)} in all, away from takeoffs and landings, down to "
        f"{write(max(least, 0.0), 'ft', 0)}: 500 ft is the least but where hardly anyone lives."
    )
    start, end = float(flight.time_s[at[0]]), float(flight.time_s[at[-1]])
    yield Margin(text, start, end, CLASS_LIMIT * 3.0)  # no drill is of a floor


def sinking_low(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """More than 1,000 fpm below 500 ft above ground."""
    if evidence.agl_m is None:
        return
    step = evidence.step_s
    sink = sink_known_mps(evidence)
    held = mean_over(sink, round(SINK_OVER_S / step))  # a moment's may be noise
    low = (evidence.agl_m < LOW_M) & evidence.airborne & (sink > SINK_MPS)
    for a, b in runs(bridged(low, round(2.0 / step))):
        if (b - a) * step < SINK_S:
            continue
        k = a + int(np.argmax(held[a:b]))
        if slipping(evidence, float(evidence.flight.time_s[k])):
            continue
        start, end = float(evidence.flight.time_s[a]), float(evidence.flight.time_s[b - 1])
        above = float(evidence.agl_m[k])
        where = f"at {write(above, 'ft', 0)}" if above > CLOSE_M else "just"
        text = f"Sinking {to_unit(float(held[k]), 'fpm'):,.0f} fpm {where} above the ground."
        rank = CLASS_LOW * min(float(held[k]) / SINK_MPS, 3.0) * (VERY_LOW if above < VERY_LOW_M else 1.0)
        yield Margin(text, start, end, rank, "decision", during(episodes, start, end))
