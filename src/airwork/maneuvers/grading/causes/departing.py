"""Causes in the takeoff roll and after a go-around's power. [AFH] chapters 6 and 9: straight, full power, in steps."""

from __future__ import annotations

import numpy as np

from airwork.airdata.angles import wrap_signed_rad
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane.runway import takeoff
from airwork.errors import AirworkError
from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.off_line import ROLLING_MPS, carried_off, nose_rolling_rad
from airwork.maneuvers.grading.causes.window import Window, degrees, feet, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.propose_tools import side
from airwork.maneuvers.seeing.signal import Array, last_true, median
from airwork.units import FT_M, KT_MPS

SWUNG_RAD, SWUNG_S, AT_ONCE_S = np.radians(8.0), 0.8, 9.0
CRAB_RAD, CRAB_S = 0.6 * SWUNG_RAD, 2.0  # a slide so wide and long is none of tires'
FULL_SHARE = 0.93  # of what full throttle gives here
# At one airspeed full throttle gives a fixed propeller one speed, within 2 % or so; 4 % less is a tenth of the power,
# which goes with the cube, and three seconds are the hand's own (common practice, no source).
LESS_RPM, SHORT_S, RUNS_MPS, RUN_UP_S = 0.96, 4.0, 18.0, 20.0
OFF_S = 0.5
SLOW_S = 3.0  # from idle to full by hand and engine
LOST_M, SANK_S = 50.0 * FT_M, 15.0
NOSE_UP_RAD, NOSE_UP_S = np.radians(7.0), 3.0  # above how it stands on its wheels; raised to fly off it takes a second
RUN_S, CLEAN_S, DRIFT_S = 5.0, 3.0, 8.0  # of the roll before; after the lift-off, time to turn the nose; and so long
# Full throttle climbs a light single at some 8° nose up, 12° at Vx (common practice, no source).
HOLDS_RAD, NOSE_HIGH_RAD, ON_SPEED_MPS, AWAY_S = np.radians(10.0), np.radians(5.0), 4.0 * KT_MPS, 30.0
DRIFT_RAD = np.radians(7.0)


def swung(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """The nose went away with full power, by more than the bank explains."""
    evidence = sheet.evidence
    heading, tas = evidence.heading_rad, evidence.tas_mps
    if heading is None or evidence.view.heading_from != "heading":
        return None
    w = window(sheet, start_s, end_s + CRAB_S)
    nose, ground = w.of(heading), w.of(evidence.flight.get("groundspeed_mps"))
    if nose is None or ground is None:
        return None
    fast = np.flatnonzero(ground > ROLLING_MPS)
    if fast.size < 4:
        return None
    first = int(fast[0])
    last = _wheels_off(w, nose, w.of(evidence.flight.get("track_rad")), first)
    last = min(last, int(np.searchsorted(w.time_s, end_s, side="right")))
    if last - first < 4:
        return None
    off = nose[first:last] - nose[first]
    bank, air = w.of(evidence.bank_rad), w.of(tas)
    if bank is not None and air is not None:  # a turn is no swing
        rate = G0_MPS2 * np.tan(np.clip(bank[first:last], -1.0, 1.0)) / np.clip(air[first:last], 20.0, None)
        airborne = evidence.airborne[w.part][first:last]
        turned = off - np.cumsum(np.where(airborne, rate, 0.0)) * evidence.step_s
        off = np.where(turned * off > 0.0, np.sign(off) * np.minimum(np.abs(off), np.abs(turned)), 0.0)
    spells = [s for side in (1.0, -1.0) for s in w.spells(side * off > SWUNG_RAD, SWUNG_S)]
    if not spells:
        return None
    k = int(np.abs(off).argmax())
    begin, end = w.seconds(first, first + k)
    side = "right" if off[k] > 0.0 else "left"
    when = "as the power came in" if end - begin < AT_ONCE_S else "before the wheels had left for good"
    return Cause(
        f"The nose swung {degrees(off[k])} to the {side} {when}.",
        "Right rudder with the throttle, as much as keeps the nose on its point.",
        begin, max(end, begin + 1.0), abs(float(off[k])) / np.radians(10.0), "swung", "feet",
    )  # fmt: skip


def _wheels_off(w: Window, nose: Array, track: Array | None, first: int) -> int:
    """First sample from which on the nose stands beside the track for good: tires don't slide, it is a crab.

    nose, track : over the stretch of w, a little past the lift-off as it was seen [rad]; first : rolling from here.
    """
    if track is None:
        return nose.size
    crab = wrap_signed_rad(nose - track)[first:]
    beside = np.abs(crab - median(crab[: crab.size // 2])) > CRAB_RAD
    rolled = first + last_true(~beside, -1) + 1
    return rolled if nose.size - rolled >= round(CRAB_S / w.sheet.evidence.step_s) else nose.size


def drifted(sheet: Sheet, off_s: float, end_s: float) -> Cause | None:
    """Blown off the runway's line after the lift-off, the nose still along it: no crab."""
    track = window(sheet, off_s - RUN_S, off_s).of(sheet.evidence.flight.get("track_rad"))
    nose, after = nose_rolling_rad(sheet, off_s - RUN_S, off_s), window(sheet, off_s + CLEAN_S, end_s)
    if track is None or nose is None:
        return None
    found = carried_off(after, (median(np.unwrap(track)), nose), DRIFT_RAD, DRIFT_S)
    if found is None:
        return None
    begin, end = after.seconds(found.first, found.last)
    return Cause(
        f"After the lift-off the track was {degrees(found.off_rad)} to the {side(found.off_rad)} of the runway's line "
        f"for {end - begin:.0f} s, the nose along it: no crab.",
        "As soon as it flies, turn the nose into the wind until the track is the runway's line; wings level.",
        begin, end, abs(found.off_rad) / DRIFT_RAD, "drifted off the line", "wind",
    )  # fmt: skip


def less_than_full(sheet: Sheet, from_s: float) -> Cause | None:
    """Power short of full where there was more to give.

    Not by a chart of level flight alone: a fixed-pitch propeller's static range, as printed, says what full is.
    """
    evidence = sheet.evidence
    airplane, power = evidence.airplane, evidence.flight.columns.get("power_ratio")
    by_chart = airplane is not None and airplane.fixed_pitch and power is not None and power.known != "measured"
    if airplane is not None and by_chart and airplane.file.propeller.static_rpm_full_throttle is None:
        return None
    used = evidence.mean(evidence.power_ratio, from_s + 1.0, from_s + 8.0)
    most = evidence.full_throttle_ratio(from_s + 4.0)
    if not (np.isfinite(used) and np.isfinite(most)) or used > FULL_SHARE * most * _full_by_static_rpm(sheet):
        return None
    return Cause(
        f"{100.0 * used:.0f} % of power was used; full throttle gives some {100.0 * most:.0f} % here.",
        "Throttle all the way, look at the tachometer once, then outside.",
        from_s, from_s + 8.0, min((1.0 - used / most) / 0.1, 2.0), "not full power", "power",
    )  # fmt: skip


def _full_by_static_rpm(sheet: Sheet) -> float:
    """What the model makes of full throttle: its share in the flight's takeoffs that by the book had it; 1 unknown.

    The static range a handbook prints is how full throttle is checked, standing: a takeoff that reached it had full
    throttle, whatever a chart of level flight makes of its rpm.
    """
    evidence, flight = sheet.evidence, sheet.evidence.flight
    static = None if evidence.airplane is None else evidence.airplane.file.propeller.static_rpm_full_throttle
    rpm, ground = flight.get("rpm"), flight.get("groundspeed_mps")
    if static is None or rpm is None or ground is None:
        return 1.0
    shares = []
    for e in evidence.episodes:
        off_s = e.facts.get("off_s")
        if off_s is None or "touch_s" in e.facts:
            continue
        run = flight.span(e.start_s, off_s)
        rolling = rpm[run][ground[run] < ROLLING_MPS]
        if rolling.size and float(np.nanmax(rolling)) >= static[0]:
            share = evidence.mean(evidence.power_ratio, off_s - 3.0, off_s + 4.0)
            shares.append(share / evidence.full_throttle_ratio(off_s))
    return float(np.clip(np.nanmin(shares), 0.0, 1.0)) if np.isfinite(shares).any() else 1.0


def less_than_before(sheet: Sheet, from_s: float, off_s: float) -> Cause | None:
    """The engine turned slower in the roll than in another takeoff of the flight at the same airspeeds."""
    evidence = sheet.evidence
    rpm, ias = evidence.flight.get("rpm"), evidence.ias_mps
    if rpm is None or ias is None:
        return None
    runs = [e for e in evidence.episodes if "off_s" in e.facts and abs(e.facts["off_s"] - off_s) > 1.0]
    most: tuple[float, Array, Array] | None = None
    for e in runs:
        off = e.facts["off_s"]
        part = evidence.flight.span(off - RUN_UP_S, off + OFF_S)
        order = np.argsort(ias[part])
        speeds, turned = ias[part][order], rpm[part][order]
        if turned.size > 3 and np.isfinite(turned).all() and (most is None or median(turned) > most[0]):
            most = median(turned), speeds, turned
    if most is None:
        return None
    part = evidence.flight.span(from_s, off_s)
    here, at = rpm[part], ias[part]
    alike = (at >= max(RUNS_MPS, float(most[1][0]))) & (at <= most[1][-1])
    before = np.interp(at, most[1], most[2])
    opened = alike & (here > 0.8 * before)
    less = opened & (here < LESS_RPM * before)
    if less.sum() * evidence.step_s < SHORT_S or less.sum() < 0.7 * opened.sum():
        return None
    share = float(np.median(here[less] / before[less]))
    times = sheet.time_s[part][less]
    said, full = (f"{round(median(x[less]), -1):,.0f}" for x in (here, before))  # as a tachometer is read
    return Cause(
        f"The engine turned some {said} rpm in the takeoff's roll and {full} at the same speeds in another: the "
        "throttle was not all the way open.",
        "Throttle all the way, look at the tachometer once, then outside.",
        float(times[0]), float(times[-1]), min((1.0 - share**3) / 0.1, 2.0), "not full power", "power",
    )  # fmt: skip


def slow_to_full(sheet: Sheet, begun_s: float, full_s: float) -> Cause | None:
    """Seconds between giving the approach up and full power, sinking on."""
    took = full_s - begun_s
    w = window(sheet, begun_s, full_s)
    altitude = w.of(sheet.evidence.altitude_m)
    if took <= SLOW_S or altitude is None:
        return None
    lost = float(altitude[0] - altitude[-1])
    sank = f", {feet(lost)} lost" if lost > 0.0 else ""
    return Cause(
        f"Full power came {took:.0f} s after the go-around was begun{sank}.",
        "Full throttle first, in one smooth push of two seconds; then pitch, then flaps.",
        begun_s, full_s, 0.5 * took / SLOW_S, "power slow", "late", grave=lost > 0.0 and took > 2.0 * SLOW_S,
    )  # fmt: skip


def handbook_roll_m(sheet: Sheet, at_s: float) -> float | None:
    """The takeoff table's ground roll for weight, air and the wind found, dry and paved; None outside it. [m]"""
    evidence, flight = sheet.evidence, sheet.evidence.flight
    mass, height, kelvin = evidence.gross_mass_kg, flight.get("pressure_altitude_m"), flight.get("oat_k")
    if evidence.airplane is None or mass is None or height is None or kelvin is None:
        return None
    k = flight.index_at(at_s)
    try:
        found = takeoff(evidence.airplane, mass, float(height[k]), float(kelvin[k]), _headwind_mps(sheet, at_s))
    except AirworkError:
        return None
    return found.ground_roll_m


def _headwind_mps(sheet: Sheet, at_s: float) -> float:
    """Wind along the climb-out, as found just after the lift-off; 0 where it isn't known. [m/s]"""
    flight = sheet.evidence.flight
    series = [flight.get(name) for name in ("wind_from_rad", "wind_mps", "track_rad")]
    if any(x is None for x in series):
        return 0.0
    part = flight.span(sheet.end_s - 10.0, sheet.end_s)
    source, speed, track = (x[part] for x in series if x is not None)
    along = speed * np.cos(source - track)
    return median(along[np.isfinite(along)]) if np.isfinite(along).any() else 0.0


def nose_too_high(sheet: Sheet, from_s: float, end_s: float) -> Cause | None:
    """The climb speed lost to a nose far above where it holds it. [AFH] ch. 6, 9: pitch for the speed, then trim."""
    pitch, missed = sheet.evidence.flight.columns.get("pitch_rad"), sheet.finding("ias")
    w, wanted = window(sheet, from_s, end_s + AWAY_S), sheet.target_ias_mps
    ias = w.of(sheet.evidence.ias_mps)
    if pitch is None or pitch.known != "measured" or missed is None or missed.verdict == "held" or wanted is None:
        return None
    nose = w.of(pitch.values)
    if nose is None or ias is None or not (missed.worst or 0.0) < 0.0:
        return None
    right = (np.abs(ias - wanted) < ON_SPEED_MPS) & (w.time_s > from_s + SLOW_S)
    holds = float(np.median(nose[right])) if right.sum() * sheet.evidence.step_s > SLOW_S else HOLDS_RAD
    high = w.spells((nose > holds + NOSE_HIGH_RAD) & (w.time_s <= end_s), NOSE_UP_S)
    spell = max(high, key=lambda ab: ab[1] - ab[0], default=None)
    if spell is None:
        return None
    first, last = spell
    slowest = first + int(np.argmin(ias[first : w.after(last, NOSE_UP_S) + 1]))
    if not ias[slowest] < wanted - ON_SPEED_MPS:
        return None
    begin, end = w.seconds(first, last)
    stood = float(np.median(nose[first : last + 1]))
    return Cause(
        f"The nose stood {degrees(stood)} up for {end - begin:.0f} s, some {degrees(stood - holds)} above where "
        f"the climb speed is held: down to {sheet.speed_text(float(ias[slowest]))}.",
        "Set the climb's attitude on the horizon, look at the speed, then trim; the nose no higher than that.",
        begin, end, (stood - holds) / NOSE_HIGH_RAD, "nose too high", "too big", "ias",
    )  # fmt: skip


def sank_on(sheet: Sheet, power_s: float) -> Cause | None:
    """Height went on being lost after the power was in."""
    w = window(sheet, power_s, min(power_s + SANK_S, sheet.end_s))
    altitude = w.of(sheet.evidence.altitude_m)
    if altitude is None:
        return None
    low = int(altitude.argmin())
    lost = float(altitude[0] - altitude[low])
    if lost < LOST_M:
        return None
    begin, end = w.seconds(0, low)
    return Cause(
        f"{feet(lost)} more were lost in {end - begin:.0f} s after the power was in.",
        "Power and pitch together: stop the sink first, then clean up.",
        begin, end, lost / LOST_M * 0.8, "sank on", "late",
    )  # fmt: skip
