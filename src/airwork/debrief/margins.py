"""Where a margin was thin: near the ground, a limit passed, a spiral dive. What a debrief says before any grade."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from airwork.debrief.first_places import sure_enough
from airwork.debrief.landing_margins import approaches, held_low, low_away, low_for_long, sinking_low
from airwork.debrief.limit_margins import limits, pushes, stall_margin
from airwork.debrief.looked_for import silent
from airwork.debrief.margin import CLASS_BRIEF, CLASS_LIMIT, CLASS_LOW, Margin, during
from airwork.maneuvers import room
from airwork.maneuvers.declared import Family
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes.second_stall import AGAIN
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.signal import Array, Mask
from airwork.masks import runs
from airwork.recording.craft import craft_of
from airwork.units import FPM_MPS, to_unit, write

DIVING_MPS = 1500.0 * FPM_MPS
SPIRAL_RAD, SPIRAL_S = np.radians(55.0), 3.0  # a steep turn's 45° and 5°, badly flown
# By positions, which round the top off: past the 45° of steep turns and emergency descents (FAA-S-ACS-6C, V.A, IX.A),
# on a path of half as much again as an upset's 10° ([AFH] ch. 5, from memory).
BY_PATH_RAD, PATH_RAD = np.radians(45.0), np.radians(15.0)
SET_UP_S = 10.0
OVER_RAD, OVER_PITCH_RAD = np.radians(135.0), np.radians(60.0)  # aerobatics is past 60° and 30° (14 CFR 91.307 (c))


def spirals(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """Nose low in such a bank, by no instructor's hand; what an unusual attitude is practiced for."""
    bank = evidence.bank_size_rad
    if bank is None:
        return
    time = evidence.flight.time_s
    for a, b in runs(_diving(evidence, bank, episodes)):
        if (b - a) * evidence.step_s < SPIRAL_S:
            continue
        start, end = float(time[a]), float(time[b - 1])
        kind = during(episodes, start, end)
        sink = to_unit(-float(np.nanmin(evidence.climb_mps[a:b])), "fpm")
        size = f"{min(np.degrees(float(np.nanmax(bank[a:b]))), 180.0):.0f}° of bank"
        if not evidence.bank_measured:
            part = evidence.flight.span(start - SET_UP_S, end + SET_UP_S)
            lost = write(float(np.ptp(evidence.altitude_m[part])), "ft")
            either = "a spiral dive, or one set up to recover from"
            text = f"{size} by the turn, sinking {sink:,.0f} fpm, {lost} lost: {either}."
            yield Margin(text, start, end, CLASS_LIMIT, kind=kind)
            continue
        if _over(evidence, bank, evidence.flight.span(start - SET_UP_S, end + SET_UP_S)):
            text = f"{size}, the nose low, sinking {sink:,.0f} fpm: aerobatics, or an upset."
            yield Margin(text, start, end, CLASS_LIMIT, kind=kind)
            continue
        text = f"A spiral dive: {size}, sinking {sink:,.0f} fpm"
        if evidence.ias_mps is not None:
            text += f", at up to {evidence.speed_text(float(np.nanmax(evidence.ias_mps[a : b + 1])))}"
        brief = "a spiral dive {in}" * bool(kind)
        yield Margin(f"{text}.", start, end, CLASS_LIMIT * 2.0, "back pressure", kind, brief=brief)


def _over(evidence: Evidence, bank_rad: Array, part: slice) -> bool:
    """The wings past the vertical and on, or the nose straight up or down: a loop or a roll has such a bank."""
    pitch = evidence.flight.get("pitch_rad")
    steep = pitch is not None and bool((np.abs(np.nan_to_num(pitch[part])) > OVER_PITCH_RAD).any())
    return steep or bool((np.nan_to_num(bank_rad[part]) > OVER_RAD).any())


def _diving(evidence: Evidence, bank_rad: Array, episodes: Sequence[Episode]) -> Mask:
    """Sample by sample: so steep and so low, in no maneuver that is flown so."""
    bank = np.nan_to_num(bank_rad) - evidence.bank_error_rad
    if evidence.bank_measured:
        diving = (bank > SPIRAL_RAD) & (evidence.climb_mps < -DIVING_MPS)
    else:
        speed = np.interp(evidence.flight.time_s, evidence.view.time_s, evidence.view.tas_mps)
        diving = (bank > BY_PATH_RAD) & (evidence.climb_mps < -np.sin(PATH_RAD) * speed)
    for e in episodes:
        one = room(e.kind)
        if one.family is Family.INSTRUMENT or (one.idle_power and not evidence.bank_measured):
            diving[evidence.flight.span(e.start_s - SET_UP_S, e.end_s)] = False
    return diving & evidence.airborne


LOOKS = (approaches, low_away, held_low, low_for_long, sinking_low, spirals, limits, pushes, stall_margin)
ANSWERED_S = 10.0  # a push and the pull after it are one recovery


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
    if silent(evidence.flight, evidence.airplane):
        return []
    if craft_of(evidence.flight).engine is False:  # it can't go around: the gate of airplanes is not its own
        found = [m for m in found if m.root != "decision"]
    return sorted(found, key=lambda m: -m.rank)


def _floors(graded: Sequence[tuple[Episode, Grade]]) -> Iterator[Margin]:
    for e, grade in graded:
        for f in grade.findings if sure_enough(e, (), graded) else ():
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
            yield Margin(cause.text, cause.start_s, cause.end_s, rank, cause.root, e.kind, about=cause.explains,
                         name=cause.name)  # fmt: skip


def _pushed_and_pulled(graded: Sequence[tuple[Episode, Grade]], thin: Sequence[Margin]) -> Iterator[Margin]:
    """A warning back for a moment is told beside the push it answered, and nowhere else first."""
    for e, grade in graded:
        for cause in grade.causes:
            pushed = (m for m in thin if m.root == "too big" and m.kind == e.kind)
            if cause.name == AGAIN and not cause.grave and any(_near(m, cause.start_s) for m in pushed):
                yield Margin(cause.text, cause.start_s, cause.end_s, CLASS_BRIEF, cause.root, e.kind)


def _near(margin: Margin, at_s: float) -> bool:
    return margin.start_s - ANSWERED_S < at_s < margin.end_s + ANSWERED_S
