"""Where a margin was thin: near the ground, or a limit passed. What a debrief says before any grade.

Gates and limits are the brief's own and the airplane's ([AFH] chapter 9: stable by 300 ft above the field or go
around); the classes and sizes are judgment (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from airwork.airdata.angles import turn_from_to_rad
from airwork.debrief.first_words import with_article
from airwork.errors import AirworkError
from airwork.maneuvers import room
from airwork.maneuvers.declared import Family, Role
from airwork.maneuvers.episode import Episode, Grade, Root
from airwork.maneuvers.grading.causes.stalling import AGAIN
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.reading import allowance
from airwork.maneuvers.grading.runway_ends import nearest_m
from airwork.maneuvers.grading.runway_line import course_rad, place_error_m, where_touched
from airwork.maneuvers.seeing.signal import Array, Mask, bridged, mean_over, runs
from airwork.maneuvers.setup import NEAR_STALL_MPS
from airwork.recording.craft import NO_FLIGHT, craft_of
from airwork.recording.smooth import least_around
from airwork.units import FPM_MPS, FT_M, KT_MPS, NM_M, to_unit, write

LOW_M = 500.0 * FT_M
SINK_MPS, SINK_S, SINK_OVER_S = 1000.0 * FPM_MPS, 2.0, 2.0
VERY_LOW, VERY_LOW_M = 1.5, 200.0 * FT_M  # nothing is left to mend it with
CLOSE_M = 30.0 * FT_M  # how high is not known so near
BASE_RAD = np.radians(45.0)  # further off the runway's track it is a base leg, no final yet
BANK_RAD, OFF_RUNWAY_RAD, FAST_MPS, SLOW_MPS = np.radians(15.0), np.radians(15.0), 10.0 * KT_MPS, 5.0 * KT_MPS
SWING_RAD, SWING_S = np.radians(10.0), 3.0
FAST_TOUCH = 1.3
PUSH_G, PUSH_S = 0.25, 0.4
LIMIT_S, MARGIN_S = 1.0, 3.0
PULLED_G, TURNING_G, ABOVE_MPS, SAME_S = 2.0, 1.3, 3.0 * KT_MPS, 30.0  # above maneuvering speed
WENT_DOWN_S = 20.0  # the speed of a nose let down lasts about so long (no source)
MORE_G = 0.25  # than the bank asks for: a pull
CLASS_LOW, CLASS_LIMIT, CLASS_BRIEF = 100.0, 60.0, 5.0
ANSWERED_S = 10.0  # a push and the pull after it are one recovery
SPIRAL_RAD, SPIRAL_S = np.radians(55.0), 3.0  # a steep turn's 45° and 5°, badly flown (common practice, no source)
LOOK_S, SLOW_SINK_MPS = 1.0, 2.0  # to either side of a moment; no final sinks more slowly
FINAL_M = NM_M  # at 3° some 300 ft up
MOMENT_S = 5.0  # fixed seldomer, the turn to final reaches into what stands for the gate
LITTLE_LEFT_M = 1500.0 * FT_M  # in the second half with less than a light single's usual landing distance (no source)


@dataclass(frozen=True, slots=True)
class Margin:
    """One place where a margin was thin. rank : class times size over the limit; about : the quantity it tells of."""

    text: str
    start_s: float
    end_s: float
    rank: float
    root: Root = ""
    kind: str = ""  # the maneuver it fell in; "" none
    good: bool = False  # it ended in the right decision
    brief: str = ""  # the text in fewer words, for a list; {in} where its maneuver is named
    about: str = ""

    @property
    def short(self) -> str:
        """For a list of places; {in} where its maneuver is named."""
        if self.brief:
            return self.brief
        return f"{'{in} ' if self.kind else ''}{self.text[0].lower()}{self.text[1:].rstrip('.')}"


def thin_margins(evidence: Evidence, graded: Sequence[tuple[Episode, Grade]]) -> list[Margin]:
    """Every one, worst first."""
    episodes = [e for e, _ in graded]
    found = [
        *(m for look in LOOKS for m in look(evidence, episodes)),
        *_floors(graded),
        *_by_reason(graded),
    ]
    found += _pushed_and_pulled(graded, found)
    went_wrong = [e for e, g in graded if any(c.weight >= 1.0 for c in g.causes)]
    found = [m for m in found if not (m.good and any(e.start_s <= m.end_s <= e.end_s for e in went_wrong))]
    craft = craft_of(evidence.flight)
    if craft.kind in NO_FLIGHT:
        return []
    if craft.engine is False:  # it can't go around: the gate of airplanes is not its own
        found = [m for m in found if m.root != "decision"]
    return sorted(found, key=lambda m: -m.rank)


def gate(evidence: Evidence, touch_s: float, kind: str) -> tuple[float, list[str], float] | None:
    """An approach at the gate height before a touch (or a decision): (time, what was not stable, largest excess).

    None when the recording doesn't show the gate, or is too coarse to show a moment.
    """
    flight = evidence.flight
    if evidence.step_s > MOMENT_S:
        return None
    field_m = evidence.mean(evidence.altitude_m, touch_s - 0.5, touch_s + 1.0)
    height = evidence.standard.judging["approach_gate_ft"] * FT_M
    before = flight.span(touch_s - 150.0, touch_s)
    high = np.flatnonzero(evidence.altitude_m[before] - field_m > height)
    if not high.size or high[-1] == evidence.altitude_m[before].size - 1:
        return None
    at_s = float(flight.time_s[before][high[-1]])
    said: list[str] = []
    sizes: list[float] = []
    sink = -evidence.mean(evidence.climb_mps, at_s - 1.5, at_s + 1.5)
    # The moment is known no better than the fixes stand apart and the height is read; the least of it counts.
    below_s = float(flight.time_s[before][high[-1] + 1])
    unsure = 0.5 * evidence.step_s + 2.0 * allowance(evidence, "altitude") / max(sink, SLOW_SINK_MPS)
    coarse = below_s - at_s + unsure > 2.0 * LOOK_S
    moments = [at_s, *flight.time_s[flight.span(at_s - unsure, below_s + unsure)]] if coarse else [at_s]
    off = min((_off_runway(evidence, t, touch_s) for t in moments), key=lambda x: abs(x or 0.0))
    if off is not None and abs(off) > OFF_RUNWAY_RAD:
        said.append(f"{abs(np.degrees(off)):.0f}° off the runway's track")
        sizes.append(abs(off) / OFF_RUNWAY_RAD)
    bank = min(abs(evidence.mean(evidence.bank_rad, t - LOOK_S, t + LOOK_S)) for t in moments)
    if bank > BANK_RAD or (said and bank > 0.6 * BANK_RAD):
        said.append(f"{np.degrees(bank):.0f}° of bank")
        sizes.append(bank / BANK_RAD)
    if sink > SINK_MPS:
        said.append(f"sinking {to_unit(sink, 'fpm'):,.0f} fpm")
        sizes.append(sink / SINK_MPS)
    speed = _approach_speed(evidence, kind, at_s)
    if speed is not None:
        flown = evidence.mean(evidence.ias_mps, at_s - 2.0, at_s + 2.0)
        for over, limit, word in ((flown - speed, FAST_MPS, "fast"), (speed - flown, SLOW_MPS, "slow")):
            if over > limit:
                said.append(f"{evidence.speed_text(over)} {word}")
                sizes.append(over / limit)
    return at_s, said, max(sizes, default=0.0)


def _approach_speed(evidence: Evidence, kind: str, at_s: float) -> float | None:
    from airwork.maneuvers.grading.handbook import approach_ias_mps

    lesson = evidence.lesson_target(kind, "ias_mps") if room(kind).lands else None
    return approach_ias_mps(evidence, at_s - LOOK_S, at_s + LOOK_S) if lesson is None else lesson


def _off_runway(evidence: Evidence, at_s: float, touch_s: float) -> float | None:
    """Track at a moment against the runway's direction. [rad]"""
    track, course = evidence.flight.get("track_rad"), course_rad(evidence, touch_s)
    if track is None or course is None:
        return None
    there = track[evidence.flight.span(at_s - LOOK_S, at_s + LOOK_S)]
    there = there[np.isfinite(there)]
    return float(turn_from_to_rad(course, float(np.angle(np.exp(1j * there).mean())))) if there.size else None


def _approaches(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """The gate of every landing, the sink, the speed and the swing at the touch; go-arounds that ended a bad one."""
    height = f"{evidence.standard.judging['approach_gate_ft']:.0f} ft"
    for e in episodes:
        touch = e.facts.get("touch_s")
        away = room(e.kind).role is Role.RUNWAY and not room(e.kind).lands
        low = e.facts.get("lowest_s") if away else None
        if touch is not None:
            found = gate(evidence, touch, e.kind)
            if found is not None and found[1]:
                at_s, said, size = found
                text = f"Final at {height} above the field: {', '.join(said)}. The brief: stable by {height} or go "
                rank = CLASS_LOW * min(size, 3.0)
                words = f"final {said[0]} {{in}}"
                about = "ias" if said[-1].endswith(("fast", "slow")) else ""
                yield Margin(
                    f"{text}around. It was landed.", at_s, touch, rank, "decision", e.kind, brief=words, about=about
                )
            yield from _touch(evidence, e, touch)
        elif low is not None:
            found = gate(evidence, low, e.kind)
            off = None if found is None else _off_runway(evidence, found[0], low)
            lined_up = (off is None or abs(off) < BASE_RAD) and _by_a_runway(evidence, low)
            if found is not None and found[1] and lined_up:
                text = f"A go-around from a final not stable at {height}"
                yield Margin(text, found[0], low, 0.0, "decision", e.kind, good=True)


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
    share = evidence.mean(cas, touch_s - 0.5, touch_s + 0.5) / stall
    if share > FAST_TOUCH:
        text = f"Touched down at {share:.2f} times the stalling speed."
        yield Margin(
            text, touch_s - 2.0, touch_s + 1.0, CLASS_LOW * min(share / FAST_TOUCH, 3.0), "target not set", e.kind
        )


def _beside_the_runway(evidence: Evidence, e: Episode, touch_s: float) -> Iterator[Margin]:
    """Short of the threshold, far down the runway or beside it, by more than published ends and a fix may be off."""
    where = where_touched(evidence, touch_s)
    if where is None:
        return
    width, error = where.end.width_m or 0.0, place_error_m(evidence)
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
    if width and beside > error:
        side = "right" if where.right_m > 0.0 else "left"
        text = f"Touched {write(abs(where.right_m), 'ft', 0)} {side} of the center line of runway {where.end.name}."
        yield Margin(text, touch_s - 5.0, touch_s + 1.0, CLASS_LOW, "wind", e.kind)


def _sinking_low(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """More than 1,000 fpm below 500 ft above ground."""
    if evidence.agl_m is None:
        return
    step = evidence.step_s
    sink = -np.nan_to_num(evidence.climb_mps)
    held = mean_over(sink, round(SINK_OVER_S / step))  # a moment's may be noise
    low = (evidence.agl_m < LOW_M) & evidence.airborne & (sink > SINK_MPS)
    for a, b in runs(bridged(low, round(2.0 / step))):
        if (b - a) * step < SINK_S:
            continue
        k = a + int(np.argmax(held[a:b]))
        start, end = float(evidence.flight.time_s[a]), float(evidence.flight.time_s[b - 1])
        above = float(evidence.agl_m[k])
        where = f"at {write(above, 'ft', 0)}" if above > CLOSE_M else "just"
        text = f"Sinking {to_unit(float(held[k]), 'fpm'):,.0f} fpm {where} above the ground."
        rank = CLASS_LOW * min(float(held[k]) / SINK_MPS, 3.0) * (VERY_LOW if above < VERY_LOW_M else 1.0)
        yield Margin(text, start, end, rank, "decision", _during(episodes, start, end))


def _spirals(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """Nose low in a bank beyond any maneuver's, by no instructor's hand; what an unusual attitude is practiced for."""
    bank = evidence.bank_size_rad
    if bank is None:
        return
    time = evidence.flight.time_s
    diving = (np.nan_to_num(bank) - evidence.bank_error_rad > SPIRAL_RAD) & (evidence.climb_mps < -1.5 * SINK_MPS)
    for e in episodes:
        if room(e.kind).family is Family.INSTRUMENT:
            diving[evidence.flight.span(e.start_s - 10.0, e.end_s)] = False
    for a, b in runs(diving & evidence.airborne):
        if (b - a) * evidence.step_s < SPIRAL_S:
            continue
        sink = to_unit(-float(np.nanmin(evidence.climb_mps[a:b])), "fpm")
        text = f"A spiral dive: {np.degrees(float(np.nanmax(bank[a:b]))):.0f}° of bank, sinking {sink:,.0f} fpm"
        if evidence.ias_mps is not None:
            text += f", at up to {evidence.speed_text(float(np.nanmax(evidence.ias_mps[a : b + 1])))}"
        start, end = float(time[a]), float(time[b - 1])
        kind = _during(episodes, start, end)
        yield Margin(
            f"{text}.", start, end, CLASS_LIMIT * 2.0, "back pressure", kind, brief="a spiral dive {in}" * bool(kind)
        )


def _limits(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """Never-exceed, flap speed, maneuvering speed with load, load factor, engine speed."""
    airplane, ias = evidence.airplane, evidence.ias_mps
    flight = evidence.flight
    load, rpm = flight.get("load_factor"), flight.get("rpm")
    if airplane is None:
        return
    limits = airplane.limits

    def over(series: Array, limit: float, mask: Mask | None, least_s: float) -> Iterator[tuple[float, float, int]]:
        beyond = np.nan_to_num(series) > limit
        beyond &= evidence.airborne if mask is None else mask & evidence.airborne
        for a, b in runs(bridged(beyond, round(1.0 / evidence.step_s))):
            if (b - a) * evidence.step_s >= least_s:
                yield float(flight.time_s[a]), float(flight.time_s[b - 1]), a + int(np.argmax(series[a:b]))

    def margin(text: str, start: float, end: float, size: float, root: Root = "") -> Margin:
        return Margin(text, start, end, CLASS_LIMIT * min(size, 3.0), root, _during(episodes, start, end))

    if ias is not None:
        if limits.never_exceed_ias_mps:
            for a, b, k in over(ias, limits.never_exceed_ias_mps, None, LIMIT_S):
                said = f"{evidence.speed_text(float(ias[k]))}: never-exceed speed is "
                yield margin(f"{said}{evidence.speed_text(limits.never_exceed_ias_mps)}.", a, b, 3.0)
        rough = limits.max_structural_cruise_ias_mps
        if rough:
            for a, b, k in over(ias, rough + ABOVE_MPS, None, MARGIN_S):
                if ias[k] <= (limits.never_exceed_ias_mps or np.inf):
                    said = (
                        f"{evidence.speed_text(float(ias[k]))}: above {evidence.speed_text(rough)}, structural cruise, "
                    )
                    yield margin(f"{said}only in smooth air.", a, b, 0.9 * float(ias[k]) / rough, "target not set")
        notch = flight.get("flap_notch")
        for number, flap in enumerate(airplane.flap_notches):
            if number and flap.max_ias_mps and notch is not None:
                at = np.round(np.nan_to_num(notch)) == number
                for a, b, k in over(ias, flap.max_ias_mps, at, LIMIT_S):
                    said = f"{evidence.speed_text(float(ias[k]))} with flaps {number}; the limit is "
                    size = 1.0 + 10.0 * (float(ias[k]) / flap.max_ias_mps - 1.0)
                    yield margin(f"{said}{evidence.speed_text(flap.max_ias_mps)}.", a, b, size, "target not set")
        yield from _maneuvering(evidence, ias, margin, over)
    if load is not None:
        smooth = mean_over(np.nan_to_num(load, nan=1.0), round(0.3 / evidence.step_s))
        for a, b, k in over(smooth, limits.load_factor_flaps_up[1], None, 0.2):
            yield margin(
                f"{smooth[k]:.1f} g; the limit is {limits.load_factor_flaps_up[1]:.1f} g.", a, b, 3.0, "too big"
            )
    if rpm is not None and limits.max_rpm:
        for a, b, k in over(
            mean_over(np.nan_to_num(rpm), round(1.0 / evidence.step_s)), 1.01 * limits.max_rpm, None, 3.0
        ):
            size = 1.0 + 10.0 * (float(rpm[k]) / limits.max_rpm - 1.0)
            yield margin(f"{rpm[k]:,.0f} rpm; the limit is {limits.max_rpm:,.0f}.", a, b, size)  # has no drill


def _maneuvering(evidence: Evidence, ias: Array, margin, over) -> Iterator[Margin]:  # type: ignore[no-untyped-def]
    """A pull above maneuvering speed."""
    from airwork.maneuvers.grading.handbook import handbook_ias_mps

    limit, load = handbook_ias_mps(evidence, "maneuvering"), evidence.flight.get("load_factor")
    if limit is None or load is None:
        return
    smooth = mean_over(np.nan_to_num(load, nan=1.0), round(0.5 / evidence.step_s))
    turning = smooth.copy()
    if evidence.bank_rad is not None:  # a turn that goes down is fast by it: what its bank asks for is no pull
        level = 1.0 / np.cos(np.clip(np.nan_to_num(evidence.bank_rad), -SPIRAL_RAD, SPIRAL_RAD))
        sink = -least_around(np.nan_to_num(evidence.climb_mps), round(WENT_DOWN_S / evidence.step_s))
        turning = np.where(sink > 0.5 * SINK_MPS, smooth - level + 1.0, smooth)
    told = -np.inf
    # A hard pull at once; the load of a steep turn when it lasts.
    for loaded, above_mps, least_s in ((smooth > PULLED_G, 0.0, 0.5), (turning > TURNING_G, ABOVE_MPS, 3.0)):
        for a, b, k in over(ias, limit + above_mps, loaded, least_s):
            if abs(a - told) < SAME_S:
                continue
            told = a
            text = f"{smooth[k]:.1f} g at {evidence.speed_text(float(ias[k]))}, above maneuvering speed "
            size = 1.0 + 5.0 * (float(ias[k]) / limit - 1.0)
            yield margin(f"{text}({evidence.speed_text(limit)}).", a, b, size, "too big")


def _pushes(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    column = evidence.flight.columns.get("load_factor")
    if column is None or column.known != "measured":  # worked out from positions it swings by itself
        return
    load = column.values
    step, time = evidence.step_s, evidence.flight.time_s
    smooth = mean_over(np.nan_to_num(load, nan=1.0), round(0.3 / step))
    for a, b in runs((smooth < PUSH_G) & evidence.airborne):
        if (b - a) * step < PUSH_S:
            continue
        start, end = float(time[a]), float(time[b - 1])
        least = float(smooth[a:b].min())
        kind = _during(episodes, start, end)
        rank = CLASS_LIMIT * min(1.0 + 2.0 * (PUSH_G - least), 3.0)
        read = f"{least:.1f} g".replace("-0.0", "0.0").replace("-", "−")
        where = f" in {with_article(room(kind).named)}" if kind else ""
        yield Margin(
            f"Pushed to {read}{where}.",
            start,
            end,
            rank,
            "too big",
            kind,
            brief=f"pushed to {read}" + " {in}" * bool(kind),
        )


def _stall_margin(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """Within 5 kt of the stall where nobody meant to be slow: outside stalls, slow flight, takeoff and flare."""
    margin = evidence.stall_margin_mps(slice(0, len(evidence.flight)))
    if margin is None:
        return
    time = evidence.flight.time_s
    warning = evidence.flight.get("stall_warning")
    if warning is not None and not (warning > 0.5).any():
        warning = None  # silent throughout: it may not have been connected
    slow = np.nan_to_num(margin, nan=99.0) < NEAR_STALL_MPS
    for e in episodes:
        if room(e.kind).slow_on_purpose:
            slow[evidence.flight.span(e.start_s - 5.0, e.end_s + 5.0)] = False
    if evidence.agl_m is not None:  # known wherever the wheels met the ground
        slow &= ~(evidence.agl_m < 50.0 * FT_M)
    for a, b in runs(bridged(slow, round(1.0 / evidence.step_s))):
        if (b - a) * evidence.step_s < MARGIN_S:
            continue
        start, end = float(time[a]), float(time[b - 1])
        warned = None if warning is None else float(np.count_nonzero(warning[a:b] > 0.5)) * evidence.step_s
        if warned == 0.0:
            continue  # it sounds at least 5 kt above the stall, 14 CFR 23.207 (amendment 23-62, from memory)
        if warned is not None:
            text = f"The stall warning sounded for {max(warned, 1.0):.0f} s, with no stall meant."
        else:
            at = "" if evidence.mass_told else " at the greatest weight"
            near = max(float(np.nanmin(margin[a:b])), 0.0)
            text = f"{evidence.speed_text(near)} above the stall{at} for {end - start:.0f} s, with none meant."
        root, kind = _slow_by(evidence, a, b), _during(episodes, start, end)
        yield Margin(text, start, end, CLASS_LIMIT * 2.0, root, kind, about="stall_warning")


def _slow_by(evidence: Evidence, first: int, last: int) -> Root:
    """Why the stall was near: pulled more than the bank asked for, the speed of a steep turn let go, or a speed."""
    load, bank = evidence.flight.get("load_factor"), evidence.bank_rad
    most = 1.0 if load is None else float(np.nanmax(load[first:last]))
    if most <= TURNING_G:
        return "target not set"
    asked = 1.0 if bank is None else 1.0 / np.cos(min(float(np.nanmax(np.abs(bank[first:last]))), SPIRAL_RAD))
    return "back pressure" if most > asked + MORE_G else "power"


def _floors(graded: Sequence[tuple[Episode, Grade]]) -> Iterator[Margin]:
    for e, grade in graded:
        for f in grade.findings:
            if f.quantity == "agl" and f.verdict == "not held" and f.worst is not None and f.low and f.worst < f.low:
                text = f"Down to {f.worst:,.0f} ft above the ground; the exercise's floor is {f.low:,.0f} ft."
                size = min(f.low / max(f.worst, 1.0), 3.0)
                # No drill is of a floor.
                yield Margin(text, e.start_s, e.end_s, CLASS_LIMIT * size, kind=e.kind, about="agl")
                break  # the task's floor and the criterion are one


def _by_reason(graded: Sequence[tuple[Episode, Grade]]) -> Iterator[Margin]:
    """Stalled again in the recovery, held in the stall, banked steeply low in the pattern."""
    for e, grade in graded:
        for cause in (c for c in grade.causes if c.grave):
            low = CLASS_LOW if cause.root == "decision" else CLASS_LIMIT
            rank = low * min(cause.weight, 3.0)
            yield Margin(cause.text, cause.start_s, cause.end_s, rank, cause.root, e.kind, about=cause.explains)


def _pushed_and_pulled(graded: Sequence[tuple[Episode, Grade]], thin: Sequence[Margin]) -> Iterator[Margin]:
    """A warning back for a moment is told beside the push it answered, and nowhere else first."""
    for e, grade in graded:
        for cause in grade.causes:
            pushed = (m for m in thin if m.root == "too big" and m.kind == e.kind)
            if cause.name == AGAIN and not cause.grave and any(_near(m, cause.start_s) for m in pushed):
                yield Margin(cause.text, cause.start_s, cause.end_s, CLASS_BRIEF, cause.root, e.kind)


def _near(margin: Margin, at_s: float) -> bool:
    return margin.start_s - ANSWERED_S < at_s < margin.end_s + ANSWERED_S


def _during(episodes: Sequence[Episode], start_s: float, end_s: float) -> str:
    """The maneuver a moment fell in, the shortest where several do; "" for none."""
    inside = [e for e in episodes if e.start_s <= end_s and e.end_s >= start_s]
    return min(inside, key=lambda e: e.end_s - e.start_s).kind if inside else ""


LOOKS = (_approaches, _sinking_low, _spirals, _limits, _pushes, _stall_margin)
