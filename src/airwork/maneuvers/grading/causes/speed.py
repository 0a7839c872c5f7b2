"""Causes in holding speed and altitude: chasing the airspeed, trim, power left alone. [AFH] chapters 3 and 5."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import Window, feet, knots, swings, window
from airwork.maneuvers.seeing.signal import Array, mean_over
from airwork.units import FT_M, KT_MPS

if TYPE_CHECKING:
    from airwork.maneuvers.grading.sheet import Sheet

SWING_MPS = 4.0 * KT_MPS  # from crest to trough
LEAST_SWINGS = 4  # two full waves
SLOWEST_S = 32.0  # slower is drifting about, not chasing
LEADS = -0.35  # correlation of pitch with the gain of speed: nose up, speed falls
PHUGOID_LOW, PHUGOID_HIGH = 0.75, 1.35  # of the period π·√2·V/g
EXCHANGE = -0.75  # correlation of height with V² when nothing but the airplane moves
DRIFT_M, DRIFT_S = 60.0 * FT_M, 8.0
DRIFTING_MPS = 0.45
SAME_POWER, SAME_RPM = 0.03, 45.0
SPEED_LOST_MPS = 7.0 * KT_MPS


def chasing_airspeed(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Pitch follows the airspeed needle, the needle swings; or, hands off, the airplane porpoises out of trim."""
    evidence = sheet.evidence
    w = window(sheet, start_s, end_s)
    ias, pitch, altitude = w.of(evidence.ias_mps), w.of(evidence.pitch_rad), w.of(evidence.altitude_m)
    if ias is None or pitch is None or altitude is None or w.time_s[-1] - w.time_s[0] < 20.0:
        return None
    step = evidence.step_s
    if np.ptp(ias) < SWING_MPS:
        return None
    smooth = mean_over(ias, round(1.5 / step))
    every = max(1, round(0.5 / step))  # two looks a second find every wave that matters
    points = [k * every for k in swings(smooth[::every], SWING_MPS)]
    if len(points) < LEAST_SWINGS:
        return None
    a, b = points[0], points[-1]
    gain = np.gradient(smooth, step)[a : b + 1]
    nose = mean_over(pitch, round(1.0 / step))[a : b + 1]
    if _correlation(nose, gain) > LEADS:
        return None
    period = 2.0 * float(w.time_s[b] - w.time_s[a]) / (len(points) - 1)
    if period > SLOWEST_S:
        return None
    size = float(np.median(np.abs(np.diff(smooth[points]))))
    begin, end = w.seconds(a, b)
    own = np.pi * np.sqrt(2.0) * float(np.median(smooth)) / G0_MPS2
    exchange = _correlation(altitude[a : b + 1], smooth[a : b + 1] ** 2)
    weight = size / (10.0 * KT_MPS)
    if PHUGOID_LOW < period / own < PHUGOID_HIGH and exchange < EXCHANGE:
        return Cause(
            f"Speed and height swung against each other by {knots(size)} every {period:.0f} s: the airplane was left "
            "to itself out of trim.",
            "Set the pitch, wait for the speed to settle, then trim the pressure away before letting go.",
            begin, end, weight,
        )  # fmt: skip
    return Cause(
        f"The airspeed swung by {knots(size)} every {period:.0f} s and the nose went after it: chasing the needle.",
        "Set a pitch attitude on the horizon, wait for the speed to settle, then correct half the error.",
        begin, end, weight,
    )  # fmt: skip


def power_left_alone(sheet: Sheet, start_s: float, end_s: float, tolerance_m: float) -> Cause | None:
    """Altitude drifted at low speed while the power stayed: on the back side of the power curve."""
    w = window(sheet, start_s, end_s)
    altitude, power = w.of(sheet.evidence.altitude_m), _power(w)
    if altitude is None or power is None:
        return None
    step = sheet.evidence.step_s
    climb = mean_over(np.gradient(altitude, step), round(4.0 / step))
    best: Cause | None = None
    for sign in (-1.0, 1.0):
        for a, b in w.spells(sign * climb > DRIFTING_MPS, DRIFT_S, gap_s=1.5):
            drift = float(altitude[b] - altitude[a])
            if abs(drift) < DRIFT_M or np.ptp(power[0][a : b + 1]) > power[1]:
                continue
            weight = abs(drift) / tolerance_m
            if best is None or weight > best.weight:
                begin, end = w.seconds(a, b)
                word, advice = ("lost", "Add") if drift < 0 else ("gained", "Take off")
                best = Cause(
                    f"{feet(drift)} {word} in {end - begin:.0f} s with the power left where it was.",
                    f"Slow flight lives on the back side of the power curve: power holds the altitude. {advice} power "
                    "at the first 20 ft, and hold the speed with pitch.",
                    begin, end, weight,
                )  # fmt: skip
    return best


def speed_without_power(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Speed bled off in a steep turn and no power was added for the drag of the load."""
    w = window(sheet, start_s, end_s)
    ias, power = w.of(sheet.evidence.ias_mps), _power(w)
    if ias is None or power is None:
        return None
    low = int(ias.argmin())
    high = int(ias[: low + 1].argmax())
    lost = float(ias[high] - ias[low])
    if lost < SPEED_LOST_MPS or np.ptp(power[0][high : low + 1]) > power[1]:
        return None
    begin, end = w.seconds(high, low)
    return Cause(
        f"{knots(lost)} bled off and the power was not touched.",
        "Add a little power as the bank passes 30°, and take it off in the roll-out.",
        begin, end, lost / (10.0 * KT_MPS),
    )  # fmt: skip


def _power(w: Window) -> tuple[Array, float] | None:
    """(power signal, how much it may vary and count as untouched)."""
    power = w.of(w.sheet.evidence.power_ratio)
    if power is not None and w.sheet.evidence.flight.columns["power_ratio"].known == "measured":
        return power, SAME_POWER
    pressure = w.of(w.sheet.evidence.flight.get("manifold_pressure_pa"))
    if pressure is not None:
        return mean_over(pressure, round(1.0 / w.sheet.evidence.step_s)), 1000.0  # 0.3 inHg
    rpm = w.of(w.sheet.evidence.flight.get("rpm"))
    if rpm is not None:
        return mean_over(rpm, round(1.0 / w.sheet.evidence.step_s)), SAME_RPM
    return (power, SAME_POWER) if power is not None else None


def _correlation(a: Array, b: Array) -> float:
    x, y = a - a.mean(), b - b.mean()
    size = float(np.sqrt((x * x).sum() * (y * y).sum()))
    return float((x * y).sum()) / size if size > 0.0 else 0.0
