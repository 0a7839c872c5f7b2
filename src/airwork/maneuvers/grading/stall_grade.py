"""Grading the three stalls: heading or bank in the entry, power, what the recovery cost and how it was flown."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.episode import FIRST_SIGN, NOT_ASKED, Episode, Grade, Stretch
from airwork.maneuvers.grading.causes import second_stall, stalling
from airwork.maneuvers.grading.causes.flaps import flap_balloon
from airwork.maneuvers.grading.causes.heading import heading_let_go
from airwork.maneuvers.grading.causes.window import window
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.judge import unjudged
from airwork.maneuvers.grading.sheet import NO_BANK, NO_HEADING, SETTLED, Sheet
from airwork.maneuvers.grading.straights import heading_error_rad, heading_note
from airwork.standards import Criterion
from airwork.units import FPM_MPS, to_unit

TURNING_ENTRY_RAD = np.radians(9.0)
LATE_S = 12.0  # the part of the entry in which a turning stall is in its turn
WARNED_S = 12.0  # a warning so long before the break belongs to it
NODS_S, LEFT_STALLED_S = 1.0, 2.0  # the nose leads the sink; a prompt recovery is slowest within a second or so
LOWEST_AFTER_S = 6.0  # the lowest point may lie a little after the recovery counts as flying
MUSH_S, MUSH_MPS, HELD_UP_RAD = 8.0, 300.0 * FPM_MPS, np.radians(5.0)  # more sink than before, the nose as it was
LEAST_SINK_MPS = 0.5 * MUSH_MPS  # more than before: falling, as far back as it is seen (no source)
FELL_SHARE = 0.5  # of the sink to come: less is slowing down


def grade_stall(episode: Episode, evidence: Evidence, *, from_descent: bool = False) -> Grade:
    """Heading or bank in the entry, power where the task asks for it, what it cost, how it was recovered.

    from_descent : the task begins with one.
    """
    sheet = Sheet(episode, evidence)
    broke = _broke(sheet, episode.facts["break_s"])
    _how_far(sheet)
    _entry(sheet, (episode.start_s, stalling.wing_went_s(sheet, broke)))
    _power(sheet, broke)
    sheet.floor_kept()
    if from_descent:
        sheet.cause(stalling.no_descent_first(sheet, broke))
    grade_recovery(sheet, broke)
    sheet.cause(flap_balloon(sheet, episode.start_s, episode.end_s))
    sheet.stretch(Stretch("entry", episode.start_s, broke))
    sheet.stretch(Stretch("recovery", broke, episode.end_s))
    return sheet.grade()


def grade_recovery(sheet: Sheet, broke: float) -> None:
    """What the recovery of any stall cost, and what can go wrong in it."""
    lost_m = stall_numbers(sheet, broke)
    fell = _fell(sheet, broke)
    sheet.cause(stalling.slow_recovery(sheet, fell))
    sheet.cause(stalling.late_power(sheet, fell))
    sheet.cause(second_stall.second_stall(sheet, sheet.episode.facts["break_s"], lost_m))
    sheet.cause(stalling.dived(sheet, broke, lost_m))
    sheet.cause(stalling.wing_dropped(sheet, stalling.wing_went_s(sheet, broke)))


def _broke(sheet: Sheet, slowest_s: float) -> float:
    """When the nose fell and the sink began, where it was left stalled from then on to its least speed. [s]

    AFH ch. 5: the nose falls by itself, a wing may go with it; the speed comes back with the recovery alone.
    """
    if FIRST_SIGN in sheet.episode.facts:
        return slowest_s
    sank = _sinking_from(sheet, slowest_s)
    pitch = window(sheet, sank - NODS_S, slowest_s).of(sheet.evidence.pitch_rad)
    if pitch is None or slowest_s - sank < LEFT_STALLED_S:
        return slowest_s
    return sank if float(pitch[0] - pitch.min()) > stalling.NOSE_DOWN_RAD else slowest_s


def _fell(sheet: Sheet, broke: float) -> float:
    """When it began to fall, where the nose was held up from then to what was taken for the break; else the break. [s]

    AFH ch. 5: a full stall shows as a loss of height that isn't commanded, with or without the nose falling by itself.
    What sinks a little as it slows down flies still: of the sink to come less than half.
    """
    w = window(sheet, broke - 2.0 * MUSH_S, broke)
    pitch, climb = w.of(sheet.evidence.pitch_rad), w.of(sheet.evidence.climb_mps)
    late = w.time_s > broke - MUSH_S
    if pitch is None or climb is None or not late.any() or late.all():
        return broke
    before = min(0.0, float(np.median(climb[~late])))
    sink = window(sheet, broke, broke + LOWEST_AFTER_S).of(sheet.evidence.climb_mps)
    most = 0.0 if sink is None else float(sink.min())
    falling = (climb < before - MUSH_MPS) & (climb < FELL_SHARE * most)
    mushing = late & falling & (pitch > float(pitch[late].max()) - HELD_UP_RAD)
    begun = int(np.flatnonzero(~mushing)[-1]) + 1
    if begun == w.time_s.size or w.time_s[-1] - w.time_s[begun] < LEFT_STALLED_S:
        return broke
    sank = np.flatnonzero(climb[:begun] > before - LEAST_SINK_MPS)  # it fell from where it was last held
    return float(w.time_s[int(sank[-1]) + 1 if sank.size else begun])


def _how_far(sheet: Sheet) -> None:
    """A stall recovered at its first sign, which tasks and schools ask for or not: said with the standard's words."""
    if FIRST_SIGN in sheet.episode.facts:
        asked = [f"the standard: {sheet.evidence.standard.in_words(note)}" for note in sheet.task.notes[:1]]
        why = "; ".join(("recovered at the first sign, no break to be seen", *asked))
        sheet.add_finding(unjudged(Criterion("how far", FIRST_SIGN, None, None, "as asked", "", ""), why, NOT_ASKED))


def _entry(sheet: Sheet, entry: tuple[float, float]) -> None:
    """Straight or turning: the heading of the one, the bank of the other."""
    evidence = sheet.evidence
    bank, heading = evidence.bank_rad, evidence.heading_rad
    late = (max(entry[0], entry[1] - LATE_S), entry[1])
    turning = bank is not None and evidence.median(evidence.bank_size_rad, *late) > TURNING_ENTRY_RAD
    if heading is None:
        sheet.cannot("heading", NO_HEADING)
    elif turning:
        sheet.not_asked("heading", "a turning entry: the bank is judged instead")
    else:
        before = evidence.mean(heading, entry[0] - 1.0, entry[0] + 1.5)
        sheet.over("heading", heading, entry, target=before, error=heading_error_rad(sheet), note=heading_note(sheet))
        until = f" until {stalling.sign_or_break(sheet)}"
        sheet.cause(heading_let_go(sheet, *entry, before, until=until))
    if bank is None or not turning:
        for quantity in ("bank", "bank_limit"):
            if bank is None:
                sheet.cannot(quantity, NO_BANK)
            else:
                sheet.not_asked(quantity, "a straight entry: the heading is judged instead")
        return
    size = evidence.bank_size_rad
    chosen = evidence.median(size, *late)
    late = _rolled_in(sheet, late, chosen)
    sheet.set_target("bank", chosen, "deg", SETTLED)
    sheet.over("bank", size, late, target=chosen, error=evidence.bank_error_rad)
    # "Not to exceed 20°, ±10°": the tolerance belongs to the limit too.
    within = sheet.task.criterion("bank")
    allowed = within.high if within is not None and within.high is not None else 0.0
    sheet.over("bank_limit", size, late, error=evidence.bank_error_rad, extra=allowed)


def _rolled_in(sheet: Sheet, late: tuple[float, float], chosen_rad: float) -> tuple[float, float]:
    """The late part of the entry from where the bank was first near the chosen one. [s]"""
    part = sheet.evidence.flight.span(*late)
    size = sheet.evidence.bank_size_rad
    near = np.flatnonzero(size[part] > 0.85 * chosen_rad) if size is not None else np.empty(0, dtype=int)
    return (float(sheet.time_s[part][near[0]]), late[1]) if near.size else late


def _power(sheet: Sheet, broke: float) -> None:
    criterion = sheet.task.criterion("power")
    if criterion is None:
        return
    power = sheet.evidence.power_ratio
    if power is None:
        sheet.cannot("power", "percent power is not known; give the airplane")
        return
    used = sheet.evidence.mean(power, broke - 3.0, broke - 0.5)
    if not criterion.holds(used) and (why := _full_by_rpm(sheet, broke)):
        sheet.put_finding("power", "held", None, why)
        return
    most = sheet.evidence.full_throttle_ratio(broke - 2.0)
    if np.isfinite(used) and most - used < 0.03 and not criterion.holds(used):
        sheet.not_asked("power", f"full throttle gives no more than {100 * most:.0f} % at this height and speed")
        return
    sheet.once("power", [used], error=0.05)
    sheet.cause(stalling.too_little_power(sheet, broke, used, most))


def _full_by_rpm(sheet: Sheet, broke: float) -> str:
    """A fixed-pitch propeller that turned faster than full throttle turns it standing, as slow as this; "" it didn't.

    At the same revolutions it takes more power the slower it flies, and a chart of level flight tells nothing of a
    stall's speed (physics: the power coefficient falls with the advance ratio; no source).
    """
    evidence = sheet.evidence
    airplane, known = evidence.airplane, evidence.flight.columns["power_ratio"].known
    static = None if airplane is None else airplane.file.propeller.static_rpm_full_throttle
    rpm = evidence.mean(evidence.flight.get("rpm"), broke - 3.0, broke - 0.5)
    if airplane is None or static is None or not airplane.fixed_pitch or known == "measured" or not rpm >= static[1]:
        return ""
    return f"{rpm:,.0f} rpm, more than full throttle turns standing ({static[0]:,.0f} to {static[1]:,.0f})"


def _sinking_from(sheet: Sheet, broke: float) -> float:
    """Where half of the sink of the break was first there: held in it, the least speed comes seconds later. [s]"""
    w, after = window(sheet, broke - MUSH_S, broke), window(sheet, broke, broke + LOWEST_AFTER_S)
    climb, sink = w.of(sheet.evidence.climb_mps), after.of(sheet.evidence.climb_mps)
    if climb is None or sink is None or not climb.size:
        return broke
    before = np.flatnonzero(climb > 0.5 * float(sink.min()))
    return float(w.time_s[before[-1]]) if before.size else broke


def stall_numbers(sheet: Sheet, broke: float) -> float:
    """What every stall reports: speed at the break, height lost in the recovery (also the answer, m), warning, time."""
    evidence, episode = sheet.evidence, sheet.episode
    warning = evidence.flight.get("stall_warning")
    from_s = _sinking_from(sheet, broke)
    if warning is not None:  # height goes from the warning on, before the break where that came first
        before = evidence.flight.span(max(broke - WARNED_S, episode.start_s), broke + 0.5)
        on = np.flatnonzero(np.nan_to_num(warning[before]) > 0.5)
        from_s = float(sheet.time_s[before][on[0]]) if on.size else from_s
    high = evidence.altitude_m[evidence.flight.span(from_s, broke + 1.0)]
    low = evidence.altitude_m[evidence.flight.span(broke, episode.end_s + LOWEST_AFTER_S)]
    lost = float("nan")
    if np.isfinite(high).any() and np.isfinite(low).any():
        lost = max(0.0, float(np.nanmax(high)) - float(np.nanmin(low)))
        sheet.number("altitude_lost_in_recovery_ft", to_unit(lost, "ft"), 0)
    what = FIRST_SIGN if FIRST_SIGN in episode.facts else "break"
    sheet.number(f"{what}_s", broke)
    sheet.number("recovery_s", episode.end_s - broke)
    sheet.number(f"{what}_ias_kt", to_unit(evidence.mean(evidence.ias_mps, broke - 0.5, broke + 0.5), "kt"))
    if warning is not None:
        span = evidence.flight.span(episode.start_s, episode.end_s)
        on = np.flatnonzero(np.nan_to_num(warning[span]) > 0.5)
        if on.size:
            sheet.number("stall_warning_s", on.size * evidence.step_s)
            sheet.number(f"warning_before_{what}_s", broke - float(evidence.flight.time_s[span][on[0]]))
    return lost
