"""Causes in holding speed and altitude: chasing the airspeed, trim, power left alone. [AFH] chapters 3 and 5."""

from __future__ import annotations

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import Window, feet, swings, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import Array, mean_over, median
from airwork.units import KT_MPS

SWING_MPS = 4.0 * KT_MPS  # from crest to trough
LARGE_SWING = 2.2
LEAST_SWINGS, LEAST_ON_FINAL = 4, 3  # two full waves; one
HALF_WAVE = 0.62  # the longer half of a wave, of the whole
SLOWEST_S = 36.0  # slower is drifting about, not chasing
SLOW_S, LARGE = 20.0, 0.8  # as slow as this only a large swing is told
LEADS = -0.35  # correlation of pitch with the gain of speed: nose up, speed falls; of power the other way
PHUGOID_LOW, PHUGOID_HIGH = 0.75, 1.35  # of the period π·√2·V/g
EXCHANGE = -0.75  # correlation of height with V² when nothing but the airplane moves
SAME_POWER, SAME_RPM, SAME_PRESSURE_PA = 0.03, 45.0, 1000.0  # 0.3 inHg
# A fixed-pitch propeller at part throttle slows by about a fifth of the speed's own share (seen in a flight dynamics
# model; no printed source).
SLOWS = 0.19
FULL_SHARE = 0.95  # of what full throttle gives here: there was no more to add
ENTRY_S, BACK_BEFORE_S = 2.5, 25.0
LEAST, LEAST_LOST, LEAST_GAINED = 0.4, 0.6, 0.8  # of the tolerance
REACTS_S = 5.0  # a drift begins some seconds after what began it
SETTLED_S = 6.0  # shorter is a moment
TRADED = 0.7  # of the change in speed that height explains
# Above the stall: 5 to 10 kt ([AFH] ch. 5), and 5 more for what the file can't know.
SLOW_MPS, FAR_MPS = 10.0 * KT_MPS, 15.0 * KT_MPS
STEADY = 0.5  # how much of the offset the speed may wander about it


def far_above_the_stall(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Slow flight that wasn't slow, where the airplane file knows the stall and the speed was the pilot's choice."""
    margins = sheet.evidence.stall_margin_mps(sheet.evidence.flight.span(start_s, end_s))
    if margins is None or sheet.given("ias"):
        return None
    margin = median(margins)
    if not margin > FAR_MPS:
        return None
    say = sheet.speed_text
    return Cause(
        f"Flown {say(margin)} above the stall; slow flight is {say(SLOW_MPS)} above it at most.",
        "Slow down, holding altitude, until the warning comes; then a few knots more, and hold that.",
        start_s, end_s, margin / FAR_MPS, "not slow", "target not set",
    )  # fmt: skip


def chasing_airspeed(sheet: Sheet, start_s: float, end_s: float, *, final: bool = False) -> Cause | None:
    """Pitch follows the airspeed needle, the needle swings; or, hands off, the airplane porpoises out of trim.

    final : so short that slowed, sped up and slowed again is seen once; by large swings it is chased all the same.
    """
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
    points: list[int] = []
    for least in (LARGE_SWING * SWING_MPS, SWING_MPS):  # large ones first: small ones about them are the pilot's usual
        turned = [k * every for k in swings(smooth[::every], least)]
        points = _longest_run(turned, round(HALF_WAVE * SLOWEST_S / step))
        if len(points) >= (LEAST_ON_FINAL if final and least > SWING_MPS else LEAST_SWINGS):
            break
    else:
        return None
    a, b = points[0], points[-1]
    gain = np.gradient(smooth, step)[a : b + 1]
    nose = mean_over(pitch, round(1.0 / step))[a : b + 1]
    power = w.of(evidence.some_power)
    by_power = final and power is not None and _correlation(power[a : b + 1], gain) > -LEADS
    if _correlation(nose, gain) > LEADS and not by_power:
        return None
    period = 2.0 * float(w.time_s[b] - w.time_s[a]) / (len(points) - 1)
    if period > SLOWEST_S:
        return None
    size = float(np.median(np.abs(np.diff(smooth[points]))))
    begin, end = w.seconds(a, b)
    own = np.pi * np.sqrt(2.0) * float(np.median(smooth)) / G0_MPS2
    exchange = _correlation(altitude[a : b + 1], smooth[a : b + 1] ** 2)
    judged = sheet.worst_of("ias")
    weight = size / (10.0 * KT_MPS if judged is None else judged[1])
    if weight < LEAST or (period > SLOW_S and weight < LARGE):
        return None
    explains = "ias" if judged is None or size > 0.5 * abs(judged[0]) else ""
    say = sheet.speed_text
    if PHUGOID_LOW < period / own < PHUGOID_HIGH and exchange < EXCHANGE:
        return Cause(
            f"Speed and height swung against each other by {say(size)} every {period:.0f} s: the airplane was left "
            "to itself out of trim.",
            "Set the pitch, wait for the speed to settle, then trim the pressure away before letting go.",
            begin, end, weight, "out of trim", "target not set", explains,
        )  # fmt: skip
    what = "throttle" if by_power else "nose"
    return Cause(
        f"The airspeed swung by {say(size)} every {period:.0f} s and the {what} went after it: chasing the needle.",
        "Set a pitch attitude on the horizon, wait for the speed to settle, then correct half the error.",
        begin, end, weight, "chased", "too big", explains,
    )  # fmt: skip


def speed_from_height(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Speed gained for height given away in a steep turn, or lost for height gained: ΔV² = 2·g·Δh explains it."""
    w = window(sheet, start_s - ENTRY_S, end_s)
    ias, altitude, judged = w.of(sheet.evidence.ias_mps), w.of(sheet.evidence.altitude_m), sheet.worst_of("ias")
    if ias is None or altitude is None or judged is None or abs(judged[0]) < LEAST_LOST * judged[1]:
        return None
    k = int(ias.argmax() if judged[0] > 0.0 else ias.argmin())
    first = round(ENTRY_S / sheet.evidence.step_s)
    if k <= first:
        return None
    # Where the height began to go, up to that moment.
    j = first + int(altitude[first : k + 1].argmax() if judged[0] > 0.0 else altitude[first : k + 1].argmin())
    risen = float(altitude[k] - altitude[j])
    squared = float(ias[j]) ** 2 - 2.0 * G0_MPS2 * risen
    by_height = np.sqrt(max(squared, 0.0)) - float(ias[j])
    share = by_height / judged[0]
    if share < TRADED or abs(float(ias[k] - ias[j])) < LEAST_LOST * judged[1]:
        return None
    begin, end = w.seconds(j, k)
    say = sheet.speed_text
    given = f"{say(float(ias[k] - ias[j]))} gained for {feet(risen)} given away: the height became speed."
    taken = f"{say(float(ias[k] - ias[j]))} lost for {feet(risen)} gained: the speed became height."
    return Cause(
        given if judged[0] > 0.0 else taken,
        "One picture of nose against horizon; the height first, the speed follows.",
        begin, end, abs(judged[0]) / judged[1], "speed from height", "back pressure", "ias", min(1.0, share),
    )  # fmt: skip


def speed_with_power(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Speed grew in a steep turn though its height was kept, and the power was never taken off."""
    w = window(sheet, start_s - ENTRY_S, end_s)
    ias, judged = w.of(sheet.evidence.ias_mps), sheet.worst_of("ias")
    if ias is None or judged is None or judged[0] < 0.0:
        return None
    top = int(ias.argmax())
    low = int(ias[: top + 1].argmin())
    gained = float(ias[top] - ias[low])
    if gained < max(LEAST_GAINED * judged[1], 0.5 * judged[0]) or _power_moved(w, low, top, -1.0) is not False:
        return None
    begin, end = w.seconds(low, top)
    say = sheet.speed_text
    return Cause(
        f"{say(gained)} gained in {end - begin:.0f} s with the power left in.",
        "Power for the turn, not for the acceleration before it: look at the airspeed once as the bank is set.",
        begin, end, judged[0] / judged[1], "power left in", "power", "ias", min(1.0, gained / judged[0]),
    )  # fmt: skip


def speed_without_power(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Speed bled off in a steep turn and no power was added for the drag of the load, though there was more to add."""
    w = window(sheet, start_s - ENTRY_S, end_s)
    ias, judged = w.of(sheet.evidence.ias_mps), sheet.worst_of("ias")
    if ias is None or judged is None or judged[0] > 0.0:
        return None
    low = int(ias.argmin())
    high = int(ias[: low + 1].argmax())
    lost = float(ias[high] - ias[low])
    if (
        min(lost, abs(judged[0])) < LEAST_LOST * judged[1]
        or lost < 0.5 * abs(judged[0])
        or _power_moved(w, high, low, 1.0) is not False
    ):
        return None
    if _at_full_throttle(sheet, w, low):
        return None
    begin, end = w.seconds(high, low)
    say = sheet.speed_text
    return Cause(
        f"{say(lost)} bled off and no power was added.",
        "Add a little power as the bank passes 30°, and take it off in the roll-out.",
        begin, end, lost / judged[1], "no power added", "power", "ias", min(1.0, lost / abs(judged[0])),
    )  # fmt: skip


def power_came_off(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Speed bled off in a turn after the power had come back, in it or shortly before."""
    w = window(sheet, start_s - BACK_BEFORE_S, end_s)
    ias, judged, known = w.of(sheet.evidence.ias_mps), sheet.worst_of("ias"), _power(w)
    if ias is None or judged is None or known is None or judged[0] > 0.0:
        return None
    power, same = known
    low = int(ias.argmin())
    high = int(power[: low + 1].argmax())
    least = high + int(power[high : low + 1].argmin())
    taken, lost = float(power[high] - power[least]), float(ias[high : low + 1].max() - ias[low])
    if same == SAME_RPM:  # less what a fixed-pitch propeller slows by itself
        taken -= power[high] * SLOWS * max(float(1.0 - ias[least] / max(ias[high], 1.0)), 0.0)
    if taken < 2.0 * same or lost < 0.5 * abs(judged[0]):
        return None
    by = f" by {taken:,.0f} rpm" if same == SAME_RPM else ""
    begin, end = w.seconds(high, low)
    say = sheet.speed_text
    return Cause(
        f"The power came back{by} before the speed did: {say(lost)} were lost.",
        "Set the power for level flight before rolling in, and look at it again when the bank is set.",
        begin, end, lost / judged[1], "power came back", "target not set", "ias", min(1.0, lost / abs(judged[0])),
    )  # fmt: skip


def speed_settled_off(
    sheet: Sheet, target_mps: float, span_s: tuple[float, float], quantity: str = "ias", level_m: float | None = None
) -> Cause | None:
    """Flown steadily at another speed than the one wanted.

    Wanted is the middle of the band the standard gives about the target: +10/−0 kt is 5 kt above it.
    level_m : the altitude that was to be held: a speed that height lost or gained explains was not chosen.
    """
    criterion = sheet.task.criterion(quantity)
    w = window(sheet, *span_s)
    ias, judged = w.of(sheet.evidence.ias_mps), sheet.worst_of(quantity)
    if ias is None or judged is None or criterion is None or criterion.low is None or criterion.high is None:
        return None
    half = 0.5 * (criterion.high - criterion.low)
    off = median(ias) - target_mps - 0.5 * (criterion.high + criterion.low)
    spread = float(np.percentile(np.abs(ias - median(ias)), 80.0))
    if abs(off) < 0.6 * half or spread > STEADY * abs(off) or w.time_s[-1] - w.time_s[0] < SETTLED_S:
        return None
    altitude = w.of(sheet.evidence.altitude_m)
    if level_m is not None and altitude is not None:
        worth_m = (median(ias) ** 2 - target_mps**2) / (2.0 * G0_MPS2)
        lost_m = level_m - float(altitude.min() if worth_m > 0.0 else altitude.max())
        if lost_m * worth_m > TRADED * worth_m**2:
            return None
    fast = off > 0.0
    beside = median(ias) - target_mps
    begin, end = w.seconds(0, ias.size - 1)
    if beside >= 0.0 > off or off > 0.0 >= beside:  # held at the edge of a band that lies on one side
        return over_the_edge(sheet, target_mps, span_s, quantity)
    say, side = sheet.speed_text, "above" if beside > 0 else "below"
    away = f"{say(beside)} {side}" if say(beside)[:2] != "0 " else f"a needle's width {side}"
    return Cause(
        f"The speed settled at {say(median(ias))}, {away} the {say(target_mps)} wanted, for {end - begin:.0f} s.",
        "Set attitude and power for the speed, wait for it, trim; then look whether it is the one wanted.",
        begin, end, abs(off) / half, "too fast" if fast else "too slow", "target not set", quantity,
        min(1.0, abs(beside) / max(abs(judged[0]), 1e-6)),
    )  # fmt: skip


def over_the_edge(
    sheet: Sheet, target_mps: float, span_s: tuple[float, float], quantity: str = "ias"
) -> Cause | None:  # fmt: skip
    """Out on the side on which nothing is allowed: +10/−0, or +0/−10; the aim was too near the edge."""
    criterion, judged = sheet.task.criterion(quantity), sheet.worst_of(quantity)
    w = window(sheet, *span_s)
    ias = w.of(sheet.evidence.ias_mps)
    if ias is None or judged is None or criterion is None or criterion.low is None or criterion.high is None:
        return None
    side = 1.0 if judged[0] > 0.0 else -1.0
    if (criterion.high if side > 0.0 else criterion.low) != 0.0 or judged[0] == 0.0:
        return None
    if abs(judged[0]) > 0.5 * (criterion.high - criterion.low):
        return None  # so far out is no matter of the aim
    times = len(w.spells(side * (ias - target_mps) > 0.0, 0.3))
    often = "once" if times < 2 else f"{times} times"
    aim = target_mps + 0.5 * (criterion.high + criterion.low)
    slow = side < 0.0
    begin, end = w.seconds(0, ias.size - 1)
    say = sheet.speed_text
    return Cause(
        f"The speed was held at {say(median(ias))} and {'dipped below' if slow else 'went over'} the "
        f"{say(target_mps)} it must not {'fall below' if slow else 'exceed'} {often}, by "
        f"{say(judged[0])} at most.",
        f"Where no knot may be {'lost' if slow else 'gained'}, aim at the middle of what is allowed: {say(aim)}.",
        begin, end, max(0.6, 2.0 * abs(judged[0]) / (criterion.high - criterion.low)),
        "too slow" if slow else "too fast", "target not set", quantity, 1.0,
    )  # fmt: skip


def slowed_all_the_way(sheet: Sheet, target_mps: float, span_s: tuple[float, float]) -> Cause | None:
    """Fast at the gate and slowing down on the whole final: no speed was held."""
    w = window(sheet, *span_s)
    ias, judged = w.of(sheet.evidence.ias_mps), sheet.worst_of("ias")
    if ias is None or judged is None or judged[0] < judged[1]:
        return None
    third = max(ias.size // 3, 1)
    first, middle, last = (median(ias[k * third : (k + 1) * third]) for k in range(3))
    if not first > middle > last or first - last < 0.8 * judged[1] or first - target_mps < judged[1]:
        return None
    begin, end = w.seconds(0, 2 * third)
    say = sheet.speed_text
    return Cause(
        f"{say(first - target_mps)} too fast at the gate, and slowing down all the way to the flare.",
        "Power back and flaps before the turn to final; one speed, trimmed, from the gate on.",
        begin, end, (first - target_mps) / judged[1], "too fast", "late", "ias",
        min(1.0, (first - target_mps) / judged[0]),
    )  # fmt: skip


def _longest_run(points: list[int], gap: int) -> list[int]:
    """The longest row of turning points with no more than so many samples from one to the next."""
    best: list[int] = []
    row: list[int] = []
    for point in points:
        row = [*row, point] if row and point - row[-1] <= gap else [point]
        best = row if len(row) > len(best) else best
    return best


def power_untouched(w: Window, first: int, last: int) -> bool | None:
    """The power stayed where it was between two samples of a window; None where it isn't known."""
    known = _power(w)
    if known is None:
        return None
    skip = min(round(REACTS_S / w.sheet.evidence.step_s), max(last - first - 20, 0))
    part = known[0][first + skip : last + 1]
    return bool(np.percentile(part, 95.0) - np.percentile(part, 5.0) <= known[1])


def _power_moved(w: Window, first: int, last: int, sign: float) -> bool | None:
    """Power was added (+1) or taken off (−1) between two samples from what the window began with; None: not known.

    A fixed-pitch propeller turns slower by itself as the speed falls.
    """
    known = _power(w)
    if known is None:
        return None
    power, same = known
    ias = w.of(w.sheet.evidence.ias_mps)
    if same == SAME_RPM and ias is not None:  # as fast as it would turn at the speed of the entry
        entry = max(float(ias[0]), 1.0)
        power = power * (1.0 + SLOWS * (1.0 - np.clip(ias / entry, 0.5, 1.5)))
    before = float((sign * power[: max(round((ENTRY_S - 0.5) / w.sheet.evidence.step_s), 1)]).max())
    return bool(float((sign * power[first : last + 1]).max()) > before + same)


def _at_full_throttle(sheet: Sheet, w: Window, index: int) -> bool:
    """No more power was to be had."""
    at_s = float(w.time_s[index])
    most = sheet.evidence.full_throttle_ratio(at_s)
    used = sheet.evidence.mean(sheet.evidence.power_ratio, at_s - 1.0, at_s + 1.0)
    return bool(np.isfinite(most) and np.isfinite(used) and used > FULL_SHARE * most)


def _power(w: Window) -> tuple[Array, float] | None:
    """(power signal, how much it may vary and count as untouched)."""
    evidence = w.sheet.evidence
    power = w.of(evidence.power_ratio)
    if power is not None and evidence.flight.columns["power_ratio"].known == "measured":
        return power, SAME_POWER
    smooth = round(1.0 / evidence.step_s)
    pressure = w.of(evidence.flight.get("manifold_pressure_pa"))
    if pressure is not None and float(np.ptp(pressure)) > 0.0:
        return mean_over(pressure, smooth), SAME_PRESSURE_PA
    rpm = w.of(evidence.flight.get("rpm"))
    if rpm is not None:
        return mean_over(rpm, smooth), SAME_RPM
    return (power, SAME_POWER) if power is not None else None


def _correlation(a: Array, b: Array) -> float:
    x, y = a - a.mean(), b - b.mean()
    size = float(np.sqrt((x * x).sum() * (y * y).sum()))
    return float((x * y).sum()) / size if size > 0.0 else 0.0
