"""Thin margins against the airplane's limits: speeds, load, RPM, a push, the stall where none was meant.

Limits are the airplane's own; sizes are judgment (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from airwork.debrief.first_words import NEAR_STALL, with_article
from airwork.debrief.margin import CLASS_LIMIT, CLASS_LOW, SAME_S, Margin, during
from airwork.maneuvers import room, rooms
from airwork.maneuvers.declared import Family, Role
from airwork.maneuvers.episode import Episode, Root
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.handbook import handbook_ias_mps
from airwork.maneuvers.seeing.signal import Array, Mask, bridged, mean_over
from airwork.maneuvers.seeing.slow import SECOND_S, SLOW
from airwork.maneuvers.setup import NEAR_STALL_MPS
from airwork.masks import runs
from airwork.units import FT_M, KT_MPS, write

PUSH_G, PUSH_S = 0.25, 0.4
LIMIT_S, MARGIN_S, LASTS_S = 1.0, 3.0, 10.0  # longer is said in seconds
PULLED_SHARE = 0.6  # of the limit load: gusts and gauges take the rest
TURNING_G, ABOVE_MPS = 1.3, 3.0 * KT_MPS
APPROACH_S = 60.0  # before a landing's own start
HELD_S, HELD_MPS = 30.0, 2.0 * KT_MPS
MORE_G = 0.25  # than the bank asks for: a pull
ROUGH_G, ROUGH_S = 1.5, 1.0  # pulled beyond structural cruise: gusts come on top (common practice, no source)
MEANT_M = 1500.0 * FT_M  # slow flight and stalls are practiced above it (FAA-S-ACS-6C, VII)
# What looks meant there: flaps out and slow for so long, or the nose raised with power, no steeper banked.
MEANT_S, HUNTING_S, MEANT_BANK_RAD, RAISED_RAD, POWER_ON = 30.0, 3.0, np.radians(30.0), np.radians(15.0), 0.6
LOW_SIZE = 4.5  # of a stall near on the way to a landing: nothing is left to mend it with
MOST_BANK_RAD = np.radians(55.0)  # of any maneuver


class _Passed(NamedTuple):
    """A limit passed from one time to another [s], farthest at a sample; size : over the limit, for ranking."""

    text: str
    start_s: float
    end_s: float
    size: float
    root: Root = ""  # without one it has no drill
    name: str = ""


def limits(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """Never-exceed, flap speed, maneuvering speed with load, load factor, engine speed."""
    if evidence.airplane is None:
        return
    for text, start, end, size, root, name in (*_speeds(evidence), *_maneuvering(evidence), *_load_and_rpm(evidence)):
        yield Margin(text, start, end, CLASS_LIMIT * min(size, 3.0), root, during(episodes, start, end), name=name)


def _beyond(
    evidence: Evidence, series: Array, limit: float, least_s: float, mask: Mask | None = None
) -> Iterator[tuple[float, float, float, int]]:
    """(start, end [s], the most, its sample) of every stretch in the air above a limit."""
    above = (np.nan_to_num(series) > limit) & evidence.airborne
    above &= True if mask is None else mask
    time_s = evidence.flight.time_s
    for a, b in runs(bridged(above, round(1.0 / evidence.step_s))):
        if (b - a) * evidence.step_s >= least_s:
            k = a + int(np.argmax(series[a:b]))
            yield float(time_s[a]), float(time_s[b - 1]), float(series[k]), k


def _lasting(start_s: float, end_s: float) -> str:
    """ " for 2 min 35 s"; a moment's is not told."""
    minutes, seconds = divmod(round(end_s - start_s), 60)
    said = " ".join([*([f"{minutes} min"] if minutes else []), *([f"{seconds} s"] if seconds else [])])
    return f" for {said}" if end_s - start_s >= LASTS_S else ""


def _speeds(evidence: Evidence) -> Iterator[_Passed]:
    ias, say, airplane = evidence.ias_mps, evidence.speed_text, evidence.airplane
    if ias is None or airplane is None:
        return
    never, rough = airplane.limits.never_exceed_ias_mps, airplane.limits.max_structural_cruise_ias_mps
    if never:
        for a, b, most, _ in _beyond(evidence, ias, never, LIMIT_S):
            text = f"{say(most)}{_lasting(a, b)}: never-exceed speed is {say(never)}."
            yield _Passed(text, a, b, 3.0, "target not set", "never exceeded")
    if rough:
        for a, b, most, _ in _beyond(evidence, ias, rough + ABOVE_MPS, MARGIN_S):
            if most <= (never or np.inf):
                load = _unasked_g(evidence, a, b)
                pulled = f", {load:.1f} g pulled" if load else ""
                far = f"{say(most)}{_lasting(a, b)}{pulled}"
                text = f"{far}: above {say(rough)}, structural cruise, only in smooth air."
                yield _Passed(text, a, b, 0.9 * most / rough * max(load, 1.0), "too big" if load else "target not set")
    notch = evidence.flight.get("flap_notch")
    for number, flap in enumerate(airplane.flap_notches):
        if number and flap.max_ias_mps and notch is not None:
            set_to = np.round(np.nan_to_num(notch)) == number
            for a, b, most, _ in _beyond(evidence, ias, flap.max_ias_mps, LIMIT_S, set_to):
                if say(most) == say(flap.max_ias_mps):
                    continue  # at the limit, as it is read
                text = f"{say(most)} with flaps {number}{_lasting(a, b)}; the limit is {say(flap.max_ias_mps)}."
                yield _Passed(text, a, b, 1.0 + 10.0 * (most / flap.max_ias_mps - 1.0), "target not set", "flap speed")


def _unasked_g(evidence: Evidence, start_s: float, end_s: float) -> float:
    """The most pulled for a second in this time that no bank asked for; 0 for none, or where it is told itself. [g]"""
    column, bank = evidence.flight.columns.get("load_factor"), evidence.bank_size_rad
    if column is None or column.known != "measured" or bank is None:
        return 0.0
    load = mean_over(np.nan_to_num(column.values, nan=1.0), round(ROUGH_S / evidence.step_s))
    part = evidence.flight.span(start_s, end_s)
    asked = 1.0 / np.cos(np.minimum(np.nan_to_num(bank[part]), MOST_BANK_RAD))
    pulled = np.where(load[part] > np.maximum(ROUGH_G, asked + MORE_G), load[part], 0.0)
    most = float(pulled.max(initial=0.0))
    airplane, told = evidence.airplane, handbook_ias_mps(evidence, "maneuvering") is not None
    hard = airplane is not None and told and most > PULLED_SHARE * airplane.limits.load_factor_flaps_up[1]
    return 0.0 if hard else most


def _load_and_rpm(evidence: Evidence) -> Iterator[_Passed]:
    load, rpm, airplane = evidence.flight.get("load_factor"), evidence.flight.get("rpm"), evidence.airplane
    if load is not None and airplane is not None:
        limit = airplane.limits.load_factor_flaps_up[1]
        smooth = mean_over(np.nan_to_num(load, nan=1.0), round(0.3 / evidence.step_s))
        for a, b, most, _ in _beyond(evidence, smooth, limit, 0.2):
            yield _Passed(f"{most:.1f} g; the limit is {limit:.1f} g.", a, b, 3.0, "too big")
    if rpm is not None and airplane is not None and (red := airplane.limits.max_rpm):
        smooth = mean_over(np.nan_to_num(rpm), round(1.0 / evidence.step_s))
        for a, b, _, k in _beyond(evidence, smooth, 1.01 * red, 3.0):
            text = f"{rpm[k]:,.0f} rpm{_lasting(a, b)}; the limit is {red:,.0f}."
            yield _Passed(text, a, b, 1.0 + 10.0 * (float(rpm[k]) / red - 1.0))


def _maneuvering(evidence: Evidence) -> Iterator[_Passed]:
    """A hard pull above maneuvering speed: there the stall no longer comes before the limit load ([PHAK] ch. 5).

    The load of a turn is a third of what the airplane is built for (3.8 g, 14 CFR 23.337): its entry's speed is told of
    the turn.
    """
    limit, load, ias = handbook_ias_mps(evidence, "maneuvering"), evidence.flight.get("load_factor"), evidence.ias_mps
    if limit is None or load is None or ias is None or evidence.airplane is None:
        return
    smooth = mean_over(np.nan_to_num(load, nan=1.0), round(0.5 / evidence.step_s))
    pulled = smooth > PULLED_SHARE * evidence.airplane.limits.load_factor_flaps_up[1]
    told, say = -np.inf, evidence.speed_text
    of = "" if evidence.mass_told else " at the greatest weight"
    for a, b, most, k in _beyond(evidence, ias, limit, 0.5, pulled):
        if a - told < SAME_S:
            continue
        told = a
        text = f"{smooth[k]:.1f} g at {say(most)}, above maneuvering speed ({say(limit)}{of})."
        yield _Passed(text, a, b, 1.0 + 5.0 * (most / limit - 1.0), "too big")


def pushes(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
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
        kind = during(episodes, start, end)
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


def stall_margin(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """Within 5 kt of the stall where nobody meant to be slow: outside stalls, slow flight, lift-off and flare."""
    margin = _over_the_stall(evidence, episodes)
    if margin is None:
        return
    time = evidence.flight.time_s
    warning = evidence.flight.get("stall_warning")
    if warning is not None and not (warning > 0.5).any():
        warning = None  # silent throughout: it may not have been connected
    slow = np.nan_to_num(margin, nan=99.0) < NEAR_STALL_MPS
    _not_where_meant(evidence, episodes, slow, heard=warning is not None)
    if evidence.agl_m is not None:  # known wherever the wheels met the ground
        slow &= ~(evidence.agl_m < 50.0 * FT_M)
    for a, b in runs(bridged(slow, round(1.0 / evidence.step_s))):
        if (b - a) * evidence.step_s < MARGIN_S:
            continue
        start, end = float(time[a]), float(time[b - 1])
        if end - start > HELD_S and float(np.nanmedian(margin[a:b])) < HELD_MPS:
            continue  # nobody holds it there so long: another weight, or another airplane than the one named
        warned = None if warning is None else float(np.count_nonzero(warning[a:b] > 0.5)) * evidence.step_s
        if warned == 0.0:
            continue  # it sounds at least 5 kt above the stall, 14 CFR 23.207 (amendment 23-62, from memory)
        root, kind = _slow_by(evidence, a, b), during(episodes, start, end)
        if warned is not None and kind and room(kind).lands:
            yield Margin(_on_final(evidence, a, b, warned), start, end, CLASS_LOW * LOW_SIZE, root, kind,
                         about="stall_warning", name=NEAR_STALL)  # fmt: skip
            continue
        meant = _meant(evidence, episodes, margin, a, b)
        if warned is not None:
            none = f"in what may be {meant}" if meant else "with no stall meant"
            text = f"The stall warning sounded for {max(warned, 1.0):.0f} s, {none}."
        else:
            at = "" if evidence.mass_told else " at the greatest weight"
            near = evidence.speed_text(max(float(np.nanmin(margin[a:b])), 0.0))
            slowed, none = ("Slow, ", f"in what may be {meant}") if meant else ("", "with none meant")
            text = f"{slowed}{near} above the stall{at} for {end - start:.0f} s, {none}."
        if meant:  # perhaps no fault: no drill, and told after what is one
            yield Margin(text, start, end, CLASS_LIMIT, kind=kind, about="stall_warning")
            continue
        yield Margin(text, start, end, CLASS_LIMIT * 2.0, root, kind, about="stall_warning", name=NEAR_STALL)


def _not_where_meant(evidence: Evidence, episodes: Sequence[Episode], slow: Mask, *, heard: bool) -> None:
    """Take out what is slow on purpose: stalls, slow flight, lift-off; of a landing all, where no warning tells."""
    for e in episodes:
        one = room(e.kind)
        climbing_away = one.role is Role.RUNWAY and not one.lands and evidence.flight.has("flap_notch")
        on_final = one.lands and heard and evidence.agl_m is not None  # the flare alone is meant
        if one.slow_on_purpose and not (climbing_away or on_final):  # lifting off is slow, 50 ft and more up is not
            after_s = SECOND_S if one.family is Family.STALL else 5.0  # slow again so soon is its recovery's
            slow[evidence.flight.span(e.start_s - 5.0, e.end_s + after_s)] = False


def _on_final(evidence: Evidence, first: int, last: int, warned_s: float) -> str:
    """Of a warning on the way to the wheels: how high, how slow."""
    agl, ias = evidence.agl_m, evidence.ias_mps
    above = "" if agl is None else f" from {write(float(np.nanmax(agl[first:last])), 'ft', 0)} above the ground on"
    slow = "" if ias is None else f", down to {evidence.speed_text(float(np.nanmin(ias[first:last])))}"
    return f"The stall warning sounded for {max(warned_s, 1.0):.0f} s{above}{slow}: go around at the first of it."


def _over_the_stall(evidence: Evidence, episodes: Sequence[Episode]) -> Array | None:
    """Margin over the stall; on the way to a landing, where no flaps were recorded, over that with full flaps. [m/s]

    Which an approach may well be flown with: the clean stall would blame a right speed.
    """
    whole = slice(0, len(evidence.flight))
    margin = evidence.stall_margin_mps(whole)
    if margin is None or evidence.airplane is None or evidence.flight.has("flap_notch"):
        return margin
    full = evidence.stall_margin_mps(whole, evidence.airplane.flaps_full)
    for e in episodes:
        one = room(e.kind)
        arrives = one.role is Role.PATTERN or (one.role is Role.RUNWAY and (one.lands or not one.takes_off))
        if full is not None and arrives:
            part = evidence.flight.span(e.start_s - APPROACH_S, e.end_s)
            margin[part] = full[part]
    return margin


def _meant(evidence: Evidence, episodes: Sequence[Episode], margin: Array, first: int, last: int) -> str:
    """What a moment near the stall may have been on purpose, by its look or the lesson; "" for nothing.

    High up alone, in no steep bank. margin : over the stall. [m/s]
    """
    part, (agl, _) = slice(first, last), evidence.above_ground()
    bank, cas = evidence.bank_size_rad, evidence.flight.get("cas_mps")
    if agl is None or cas is None or not float(np.nanmin(agl[part], initial=np.inf)) > MEANT_M:
        return ""
    if bank is None or float(np.nanmax(bank[part], initial=0.0)) > MEANT_BANK_RAD:
        return ""
    notch, pitch, power = evidence.flight.get("flap_notch"), evidence.pitch_rad, evidence.some_power
    if notch is not None:
        slow = (np.round(np.nan_to_num(notch)) >= 1.0) & (np.nan_to_num(margin, nan=99.0) < (1.0 - 1.0 / SLOW) * cas)
        held = runs(bridged(slow & (agl > MEANT_M), round(HUNTING_S / evidence.step_s)))
        if any(a < last and b > first and (b - a) * evidence.step_s >= MEANT_S for a, b in held):
            return next(r.named for r in rooms() if r.family is Family.SLOW)
    start = float(evidence.flight.time_s[first])
    longest = evidence.standard.judging["clearing_turn_before_s"]
    cleared = any(room(e.kind).clears and 0.0 <= start - e.end_s <= longest for e in episodes)
    if cleared and pitch is not None and power is not None:
        k = first + int(np.argmax(np.nan_to_num(pitch[part], nan=-9.0)))
        if pitch[k] > RAISED_RAD and power[k] > POWER_ON:
            return next(f"a {r.named}" for r in rooms() if r.family is Family.STALL and r.needs_engine)
    flown = {e.kind for e in episodes}
    slowly = (r for r in rooms() if r.family in (Family.SLOW, Family.STALL) and r.kind in evidence.targets)
    return next((f"the {r.named} planned" for r in slowly if r.kind not in flown), "")


def _slow_by(evidence: Evidence, first: int, last: int) -> Root:
    """Why the stall was near: pulled more than the bank asked for, the speed of a steep turn let go, or a speed."""
    load, bank = evidence.flight.get("load_factor"), evidence.bank_rad
    most = 1.0 if load is None else float(np.nanmax(load[first:last]))
    if most <= TURNING_G:
        return "target not set"
    asked = 1.0 if bank is None else 1.0 / np.cos(min(float(np.nanmax(np.abs(bank[first:last]))), MOST_BANK_RAD))
    return "back pressure" if most > asked + MORE_G else "power"
