"""Causes on final and in the flare. [AFH] chapter 9: a path of about 3°, the flare begun at 10 to 20 ft."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import Window, degrees, feet, window
from airwork.maneuvers.grading.gate import glides_down
from airwork.maneuvers.grading.reading import allowance
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import Array, bridged
from airwork.masks import runs
from airwork.units import FPM_MPS, FT_M, to_unit

STEEP_RAD, FLAT_RAD = np.radians(6.5), np.radians(1.7)  # from the gate to the flare, over the ground
LEVEL_RAD, SEEN_STEP_S = np.radians(0.5), 2.0  # no path down at all: no approach; fixed seldomer no flare is seen
HARD_MPS = 360.0 * FPM_MPS  # at the wheels
BALLOON_M, FLOAT_S, FLARE_M = 5.0 * FT_M, 9.0, 12.0 * FT_M
ROSE_MPS = 50.0 * FPM_MPS
# Near the stall a wing carries (V/Vs)² times the weight, not 1.4 times: what turns sink into climb with more than that
# is the gear. Within so long of each other contacts are one landing.
FLIES_MPS = 200.0 * FPM_MPS
KICK_MPS2, KICK_S, AGAIN_S = 0.45 * G0_MPS2, 0.5, 12.0
# Lower is a skip; so high is no landing any more (common practice, no source).
SKIPPED_M, HIGH_M = 3.0 * FT_M, 10.0 * FT_M
GO_M = 20.0 * FT_M  # [AFH] ch. 9: where ballooning is excessive, go around; how much that is is our own
DROPPED_M, DROP_S, WARNED_S = 8.0 * FT_M, 2.0, 2.0  # a stall from lower is how a landing ends
FLARE_S = 30.0  # a balloon from 40 ft takes so long
SATELLITE = 1.5  # times HARD_MPS and FLOAT_S, where the height is a satellite's
# A hop from 20 ft up takes some 5 s; before and after where the wheels are taken to have met the ground (no source).
STEPS_M, HOP_S, HOPS_S = 0.5 * FT_M + 1e-9, 6.0, (12.0, 25.0)
CARRIES, ROLLS_S, WANDERS = 0.75, 5.0, 1.3  # of the speed at the touch; so long slower; a short roll shows less of it
BOUNCED = "bounced"


def path_on_final(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """High or low on final: the path from the gate to the flare was steep or flat."""
    evidence = sheet.evidence
    ground = evidence.mean(evidence.flight.get("groundspeed_mps"), start_s, end_s)
    sink = -evidence.mean(evidence.climb_mps, start_s, end_s)
    if not np.isfinite(ground) or ground < 10.0 or end_s - start_s < 8.0:
        return None
    path = float(np.arctan2(sink, ground))
    if FLAT_RAD <= path <= STEEP_RAD or path < LEVEL_RAD:
        return None
    steep = path > STEEP_RAD
    if steep and glides_down(evidence, sheet.episode.facts.get("touch_s", end_s)):
        return None  # without power it comes down as steeply as it glides ([AFH] ch. 9)
    return Cause(
        f"The path on final was {degrees(path)}: {'high, and steep down to it' if steep else 'low, and dragged in'}.",
        "Judge the aiming point at base: moving up the glass is low, down is high; power and flaps before the turn.",
        start_s, end_s, path / STEEP_RAD if steep else FLAT_RAD / max(path, 0.005),
        "approach high" if steep else "approach low", "target not set",
    )  # fmt: skip


def bounced(sheet: Sheet, touch_s: float) -> Cause | None:
    """On and off the wheels again: sink turned into climb in half a second, by more than a wing can."""
    evidence = sheet.evidence
    column = evidence.flight.columns.get("vertical_speed_mps")
    if column is None or column.known != "measured" or evidence.step_s > SEEN_STEP_S:
        return None
    w = window(sheet, touch_s - AGAIN_S, touch_s + AGAIN_S)
    climb, altitude = w.of(column.values), w.of(evidence.altitude_m)
    if climb is None or altitude is None:
        return None
    ahead = max(1, round(KICK_S / evidence.step_s))
    gained = np.concatenate([climb[ahead:], np.full(ahead, climb[-1])]) - climb
    kicked = gained > KICK_MPS2 * ahead * evidence.step_s
    kicked &= (climb < -ROSE_MPS) & (gained + climb > ROSE_MPS)
    kicked &= altitude < evidence.mean(evidence.altitude_m, touch_s - 0.2, touch_s + 0.8) + 2.0 * FLARE_M
    contacts = [w.time_s[b - 1] for _, b in runs(bridged(kicked, 2 * ahead))]
    hops = []
    for at_s, next_s in pairwise([*contacts, max(touch_s, contacts[-1] + AGAIN_S / 2.0) if contacts else touch_s]):
        hop = (w.time_s >= at_s) & (w.time_s <= next_s)
        top = float(altitude[hop].max() - altitude[np.abs(w.time_s - at_s) <= KICK_S].min())
        if top > SKIPPED_M + sheet.altitude_known()[1]:
            hops.append((top, float(at_s), float(next_s)))
    hops = hops or _hopped(sheet, touch_s) or _flew_again(w, climb, touch_s)
    if not hops:
        return None
    times, highest = len(hops), max(hops)[0]
    often = {1: "once", 2: "twice"}.get(times, f"{times} times")
    met = f", after {to_unit(-float(climb[kicked].min()), 'fpm'):,.0f} fpm at the wheels" if kicked.any() else ""
    due = times > 1 or highest > HIGH_M
    weight = max(0.8 * times, highest / HIGH_M) + 0.01 * highest / HIGH_M  # of two alike the higher
    return Cause(
        f"It bounced {often}, {feet(highest)} high{met}"
        f"{': a go-around was due' if due else ''}.",
        "A low skip: hold the attitude and let it settle. A high bounce, or a second one: full power and go around.",
        hops[0][1], hops[-1][2], weight, BOUNCED, "decision" if due else "late", grave=due,
    )  # fmt: skip


def _flew_again(w: Window, climb: Array, touch_s: float) -> list[tuple[float, float, float]]:
    """(height [m], from, to [s]) of each climb after the touch that ended in a sink within a hop's seconds, where one
    was high: rows a second apart spread the kick out, and an instrument lags; no runway goes up and down like that.
    """
    step, found = w.sheet.evidence.step_s, []
    for first, end in runs((climb > FLIES_MPS) & (w.time_s > touch_s - step)):
        falls = np.flatnonzero(climb[end : end + round(HOP_S / step)] < -FLIES_MPS)
        height = float(climb[first:end].sum()) * step
        if first and falls.size and height > SKIPPED_M:
            found.append((height, float(w.time_s[first]), float(w.time_s[end + falls[0]])))
    return found if found and max(found)[0] > HIGH_M else []


def _hopped(sheet: Sheet, touch_s: float) -> list[tuple[float, float, float]]:
    """(height [m], from, to [s]) of each hop from the runway's height and back to it, where there are two or more.

    A soft wheel turns the sink round slower than a kick shows; one hop may be a balloon, a second began on the wheels.
    Only while the wings carry, and higher than the altitude wanders as it rolls out.
    """
    evidence = sheet.evidence
    if evidence.altitude_is_satellite or allowance(evidence, "altitude") > STEPS_M:
        return []
    w = window(sheet, touch_s - HOPS_S[0], touch_s + HOPS_S[1])
    altitude = w.of(evidence.altitude_m)
    if altitude is None:
        return []
    speed = w.of(evidence.ias_mps) if evidence.ias_mps is not None else w.of(evidence.flight.get("groundspeed_mps"))
    if speed is None:
        return []
    slow = speed < CARRIES * float(np.interp(touch_s, w.time_s, speed))
    rolls = slow & (w.time_s > touch_s)
    if rolls.sum() * evidence.step_s < ROLLS_S:
        return []  # how far the altitude wanders by itself isn't seen
    line = np.polynomial.Polynomial.fit(w.time_s[rolls], altitude[rolls], 1)
    wanders = WANDERS * float(np.ptp(altitude[rolls] - line(w.time_s[rolls])))
    around = round(HOP_S / evidence.step_s)
    found = []
    for first, end in runs(altitude > float(np.percentile(altitude, 10.0)) + SKIPPED_M):
        before, after = altitude[max(first - around, 0) : first + 1], altitude[end - 1 : end + around]
        lows = max(float(before.min()), float(after.min()))
        top, long_s = float(altitude[first:end].max()) - lows, (end - first) * evidence.step_s
        whole = first > 0 and end < altitude.size and lows < min(altitude[first], altitude[end - 1])
        if whole and top > SKIPPED_M + wanders and long_s < HOP_S and not slow[first:end].any():
            found.append((top, float(w.time_s[first]), float(w.time_s[end - 1])))
    return found if len(found) > 1 else []


def sprang(sheet: Sheet, lowest_s: float, power_s: float) -> Cause | None:
    """Up off the runway again with the speed alone, before the power of a go-around came."""
    evidence = sheet.evidence
    w = window(sheet, lowest_s, power_s)
    altitude, above = w.of(evidence.altitude_m), w.of(evidence.agl_m)
    if altitude is None or above is None or evidence.some_power is None or evidence.altitude_is_satellite:
        return None
    top = int(altitude.argmax())
    rose = float(altitude[top] - altitude[0])
    if float(above[0]) > FLARE_M or rose < HIGH_M:
        return None
    ias = w.of(evidence.ias_mps)
    slow = "" if ias is None else f", {sheet.speed_text(ias[top])} at the top"
    return Cause(
        f"It sprang {feet(rose)} up off the runway{slow}, before the power came.",
        "A high bounce: full power at once, the nose to level flight, and go around.",
        lowest_s, power_s, rose / HIGH_M, BOUNCED, "decision", grave=True,
    )  # fmt: skip


def _may_float_s(sheet: Sheet, since_s: float, touch_s: float) -> float:
    """How long a landing held off to the touch takes that came in on speed, without power. [s]

    ΔV/(g/20): no light single glides 20 to 1 with its flaps out (common practice, no source). What came in faster is
    not to be held off for it.
    """
    evidence = sheet.evidence
    if not evidence.has_airspeed:
        return FLOAT_S
    came = evidence.mean(evidence.ias_mps, since_s - 1.0, since_s + 1.0)
    met = evidence.mean(evidence.ias_mps, touch_s - 0.5, touch_s + 0.5)
    wanted = sheet.target_ias_mps
    slows = (came if wanted is None else min(came, wanted + sheet.tolerance("ias", 0.0))) - met
    return max(FLOAT_S, slows / (G0_MPS2 / 20.0)) if np.isfinite(slows) else FLOAT_S


def flare(sheet: Sheet, touch_s: float, sink_mps: float) -> Cause | None:
    """Flared late, or early: a bounce, the sink at the wheels, a balloon, a long float."""
    w = window(sheet, touch_s - FLARE_S, touch_s)
    altitude = w.of(sheet.evidence.altitude_m)
    if altitude is None or sheet.evidence.step_s > SEEN_STEP_S:
        return None
    wheels = bounced(sheet, touch_s)
    if wheels is not None:
        return wheels
    doubtful = SATELLITE if sheet.evidence.altitude_is_satellite else 1.0
    above = altitude - sheet.evidence.mean(sheet.evidence.altitude_m, touch_s - 0.2, touch_s + 0.8)
    lowest = np.minimum.accumulate(above)
    risen = np.where(lowest < 2.0 * FLARE_M, above - lowest, 0.0)  # on final it is no balloon
    top = int(risen.argmax())
    low, gained = int(above[: top + 1].argmin()), float(risen[top])
    doubt = 2.0 * sheet.altitude_known()[1]
    if gained > BALLOON_M + doubt and _rose(w, low, top):
        begin, end = w.seconds(low, top)
        due = gained > GO_M
        return Cause(
            f"It ballooned {feet(gained)} in the flare, begun at {feet(float(above[low]))}"
            f"{': a go-around was due' if due else ''}.",
            "Look down the runway; raise the nose only as fast as the airplane sinks.",
            begin, end, gained / BALLOON_M * 0.8, "flare early", "decision" if due else "too big", grave=due,
        )  # fmt: skip
    floated = np.flatnonzero(above > FLARE_M)
    seconds = float(touch_s - w.time_s[floated[-1]]) if floated.size else FLARE_S
    surely = seconds - sheet.evidence.touch_within_s
    if (
        surely > _may_float_s(sheet, touch_s - seconds, touch_s) and not sheet.evidence.altitude_is_satellite
    ):  # whose heights wander by as much as a flare
        return Cause(
            f"It floated {seconds:.0f} s below {feet(FLARE_M)}.",
            "Be on speed by the gate: each knot too many is runway.",
            touch_s - seconds, touch_s, seconds / FLOAT_S * 0.8, "floated", "target not set",
        )  # fmt: skip
    if sink_mps > HARD_MPS * doubtful and (stalled := _stalled_in(sheet, w, above, sink_mps)) is not None:
        return stalled
    if sink_mps > HARD_MPS * doubtful:
        return Cause(
            f"It touched at {to_unit(sink_mps, 'fpm'):,.0f} fpm: the flare came late, or too little of it.",
            "Shift your eyes to the far end at 20 ft and begin to round out there.",
            touch_s - 2.0, touch_s, sink_mps / HARD_MPS, "flare late", "late",
        )  # fmt: skip
    return None


def _stalled_in(sheet: Sheet, w: Window, above: Array, sink_mps: float) -> Cause | None:
    """Dropped in: the wing had stalled above the runway, by the airplane's stalling speed or its warning's seconds."""
    high = np.flatnonzero(above > DROPPED_M)
    warning = w.of(sheet.evidence.flight.get("stall_warning"))
    begin_s, end_s = w.seconds(int(high[-1]) if high.size else 0, above.size - 1)
    margin = sheet.evidence.stall_margin_mps(sheet.evidence.flight.span(begin_s - DROP_S, begin_s))
    below = margin is not None and bool(np.isfinite(margin).any()) and float(np.nanmin(margin)) < 0.0
    step = sheet.evidence.step_s
    last = np.zeros(0) if warning is None else warning[-round(2.0 * WARNED_S / step) :]
    if not high.size or not (below or np.count_nonzero(last > 0.5) * step >= WARNED_S):
        return None
    ias = sheet.evidence.mean(sheet.evidence.ias_mps, begin_s - 0.5, begin_s + 0.5)
    at = f" at {sheet.speed_text(ias)}" if np.isfinite(ias) else ""
    return Cause(
        f"It was stalled {feet(DROPPED_M)} or more above the runway{at} and dropped in at "
        f"{to_unit(sink_mps, 'fpm'):,.0f} fpm: too slow, not flared late.",
        "Hold the approach speed to the flare; slow or warned above the runway: full power, nose no higher, go around.",
        begin_s - DROP_S, end_s, sink_mps / HARD_MPS, "stalled in", "target not set", grave=True,
    )  # fmt: skip


def _rose(w: Window, low: int, top: int) -> bool:
    """The recorded vertical speed, where there is one, rose too: a few feet may be the altimeter's own noise."""
    column = w.sheet.evidence.flight.columns.get("vertical_speed_mps")
    climb = None if column is None or column.known != "measured" else w.of(column.values)
    return climb is None or float(climb[low : top + 1].max()) > ROSE_MPS
