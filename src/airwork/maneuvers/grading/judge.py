"""Holding a deviation against a limit, as the standards are applied: consistent exceedance and prompt correction.

[FAA-S-ACS-6C appendix 1, verified] Unsatisfactory is consistently exceeding a tolerance or not correcting promptly once
it is exceeded. How many seconds and what fraction are thresholds of ours (`standards/data/judging.toml`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from airwork.maneuvers.episode import NOT_ASKED, Finding, Shape, Verdict
from airwork.maneuvers.seeing.signal import Array, Mask, bridged, median
from airwork.masks import runs
from airwork.standards import Criterion, Judging
from airwork.units import to_unit

PROMPT = {
    "altitude": "prompt_altitude_s", "pattern_altitude": "prompt_altitude_s", "agl": "prompt_altitude_s",
    "ias": "prompt_airspeed_s", "pattern_ias": "prompt_airspeed_s", "bank": "prompt_bank_s",
    "bank_range": "prompt_bank_s", "bank_limit": "prompt_bank_s", "heading": "prompt_heading_s",
}  # fmt: skip
# What the pilot still wants after the maneuver: only there a late return can be looked for.
STILL_HELD_AFTER = ("altitude", "pattern_altitude", "agl")
INTO_THE_BAND = 0.1  # of a lopsided band: nobody aims at the very edge of what is allowed
REJOIN_S = 1.0  # back inside for less than this is the same excursion
HARDLY_EVER = 0.05  # of the time inside
HALF_READ = 0.5  # of the printed unit (common practice, no source)
ROUNDING = 1e-9  # SI: a number on its limit is inside


def printed(value_si: float, unit: str) -> float:
    """An SI number in a criterion's printed unit."""
    return value_si if unit in ("turns", "") else to_unit(value_si, unit)


def limits(criterion: Criterion) -> tuple[float | None, float | None]:
    """(low, high) in the printed unit, as a finding carries them."""
    low, high = criterion.low, criterion.high
    return (
        None if low is None else round(printed(low, criterion.unit), 6),
        None if high is None else round(printed(high, criterion.unit), 6),
    )


def unjudged(criterion: Criterion, why: str, judged: str = "") -> Finding:
    """A criterion that can't be judged, and why."""
    low, high = limits(criterion)
    return Finding(criterion.name, criterion.text, None, criterion.unit, None, "can't be judged", why,
                   source=criterion.source, label=criterion.label, quantity=criterion.quantity,
                   low=low, high=high, judged=judged)  # fmt: skip


def over_time(  # noqa: PLR0913
    criterion: Criterion,
    time_s: Array,
    series: Array,
    window: tuple[float, float],
    judging: Judging,
    *,
    target: float = 0.0,
    use: Mask | None = None,
    error: float = 0.0,
    allowance: float = 0.0,
    note: str = "",
    judged: str = "",
) -> Finding:
    """A deviation that must be kept inside a limit for a stretch of time.

    Parameters
    ----------
    time_s, series : shape (n,), the whole flight's; SI, NaN where not known.
    target : what the series is to be held at.
    window : (start, end) of the stretch [s]; up to the prompt time beyond it is looked at for the return.
    use : samples that count (only the turns, only the straight parts); all when None.
    error : one standard error of the deviation; where limits wider or narrower by it would change the verdict it can't
        be judged.
    allowance : what the recorder resolves: limits are this much wider.
    note : said with every verdict, e.g. how the deviation was had.
    judged : "steadiness" where the target is the pilot's own.
    """
    prompt_s = judging[PROMPT.get(criterion.quantity, "prompt_altitude_s")]
    first, last = int(time_s.searchsorted(window[0], side="left")), int(time_s.searchsorted(window[1], side="right"))
    part = slice(first, last)
    d = series[part] - target
    counted = np.isfinite(d) if use is None else np.isfinite(d) & use[part]
    wanted = d.size if use is None else np.count_nonzero(use[part])
    known = np.count_nonzero(counted)
    if known < max(2, judging["seen_fraction"] * wanted):
        if not wanted:
            return unjudged(criterion, "nothing of the kind was flown", NOT_ASKED)
        return unjudged(criterion, "too little of it was recorded")
    t = time_s[part]
    t_counted, d_counted = t[counted], d[counted]
    worst = _worst(criterion, d_counted)
    after = None
    if criterion.quantity in STILL_HELD_AFTER:
        end = int(time_s.searchsorted(float(t[-1]) + prompt_s, side="right"))
        after = series[last:end] - target

    def said(extra: float) -> tuple[Verdict, str, list[tuple[float, float]], float]:
        outside = _outside(criterion, d, extra) & counted
        spells = _spells(outside, t, judging["excursion_counts_s"])
        inside = 1.0 - np.count_nonzero(outside) / known
        back = not outside[-1] or after is None or _returned(criterion, after, extra)
        verdict, why = _verdict(criterion, spells, inside, known * _step(t), prompt_s, judging, back=back)
        return verdict, why, spells, inside

    verdict, why, spells, inside = said(allowance)
    if error:
        verdicts = {verdict, said(allowance + error)[0], said(allowance - error)[0]}
        if len(verdicts) > 1:
            verdict = "can't be judged"
            near = _number(criterion, error)
            why = f"too near the limit for this recording, whose error is {near}" + (f" ({why})" if why else "")
    if note:
        why = f"{why}; {note}" if why else note
    unit = criterion.unit
    trend = _trend_per_min(t_counted, d_counted)
    low, high = limits(criterion)
    return Finding(
        criterion.name, criterion.text, round(printed(worst, unit), 2), unit, round(inside, 3), verdict, why,
        first_excursion_s=spells[0][0] if spells else None,
        longest_excursion_s=round(max(b - a for a, b in spells), 1) if spells else 0.0,
        trend_per_min=None if trend is None else round(printed(trend, unit), 2),
        source=criterion.source, label=criterion.label, quantity=criterion.quantity,
        allowance=round(printed(allowance, unit), 2) if allowance else None,
        shape=_shape(criterion, t_counted, d_counted, spells, prompt_s), judged=judged, low=low, high=high,
        aim=round(printed(target, unit), 2), over_s=_stretches(counted, t),
    )  # fmt: skip


def at_once(
    criterion: Criterion, deviations: Sequence[float], *, error: float = 0.0, allowance: float = 0.0, note: str = ""
) -> Finding:
    """A deviation that counts at one moment, or at several of them: the worst decides, nothing is 'brief'."""
    known = [d for d in deviations if np.isfinite(d)]
    if not known:
        return unjudged(criterion, note or "not recorded")
    worst = _worst(criterion, np.array(known))
    on_it = _reads_as_the_limit(criterion, worst)
    holds = [_over(criterion, d) <= allowance + ROUNDING or on_it for d in known]
    verdict: Verdict = "held" if all(holds) else "not held"
    why = "" if all(holds) else f"outside by {_number(criterion, _over(criterion, worst))}"
    if on_it and _over(criterion, worst) > allowance + ROUNDING:
        why = "at the limit, as near as it is read"
    if not criterion.has_limit:
        verdict, why = "can't be judged", "the standard prints no number; the value is for information"
    elif -error < _over(criterion, worst) - allowance < error:
        near = _number(criterion, error)
        verdict = "can't be judged"
        why = f"too near the limit for this recording, whose error is {near}" + (f" ({why})" if why else "")
    if note:
        why = f"{why}; {note}" if why else note
    low, high = limits(criterion)
    return Finding(
        criterion.name, criterion.text, round(printed(worst, criterion.unit), 2), criterion.unit,
        round(sum(holds) / len(holds), 3), verdict, why, source=criterion.source, label=criterion.label,
        quantity=criterion.quantity,
        allowance=round(printed(allowance, criterion.unit), 2) if allowance else None,
        low=low, high=high,
    )  # fmt: skip


def _reads_as_the_limit(criterion: Criterion, deviation: float) -> bool:
    """A heading or a speed read off its instrument in whole degrees or knots is the number the standard prints.

    Nobody fails a roll-out of 10.1° for 10°. Heights and distances are printed far coarser than this.
    """
    return criterion.unit in ("deg", "kt") and abs(printed(_over(criterion, deviation), criterion.unit)) < HALF_READ


def _outside(criterion: Criterion, deviation: Array, extra: float) -> Mask:
    low = -math.inf if criterion.low is None else criterion.low
    high = math.inf if criterion.high is None else criterion.high
    return (deviation < low - extra - ROUNDING) | (deviation > high + extra + ROUNDING)


def _over(criterion: Criterion, deviation: float) -> float:
    """How far outside; negative inside."""
    over = -math.inf if criterion.high is None else deviation - criterion.high
    under = -math.inf if criterion.low is None else criterion.low - deviation
    return max(over, under)


def _worst(criterion: Criterion, deviation: Array) -> float:
    """The deviation farthest out; when all are inside the greatest share of its side's tolerance, or nearest the limit.

    Of +10/−5 kt 7 kt fast is worse than 3 kt slow, though the slow side's limit is nearer.
    """
    high, low = float(deviation.max()), float(deviation.min())
    if not criterion.has_limit:
        return high if abs(high) >= abs(low) else low
    if criterion.high and criterion.low and criterion.low < 0.0 < criterion.high:
        over, under = high / criterion.high, low / criterion.low
        if max(over, under) <= 1.0:
            return high if over >= under else low
    room_high = np.inf if criterion.high is None else criterion.high - high
    room_low = np.inf if criterion.low is None else low - criterion.low
    return high if room_high <= room_low else low


def _spells(outside: Mask, time_s: Array, counts_s: float) -> list[tuple[float, float]]:
    """Excursions (start, end) [s] that last long enough to count."""
    if not outside.any():
        return []
    step = _step(time_s)
    joined = bridged(outside, max(0, round(REJOIN_S / step) - 1))
    found = [(float(time_s[a]), float(time_s[b - 1]) + step) for a, b in runs(joined)]
    return [(a, b) for a, b in found if b - a >= counts_s]


def _stretches(counted: Mask, time_s: Array) -> tuple[tuple[float, float], ...]:
    """The stretches of the samples that count, short gaps closed. [s]"""
    joined = bridged(counted, round(REJOIN_S / _step(time_s)))
    return tuple((float(time_s[a]), float(time_s[b - 1])) for a, b in runs(joined) if b - a > 1)


def _step(time_s: Array) -> float:
    return median(np.diff(time_s))


def _returned(criterion: Criterion, after: Array, extra: float) -> bool:
    """An excursion open at the end of the stretch was corrected soon after it."""
    return bool((~_outside(criterion, after[np.isfinite(after)], extra)).any())


def _shape(
    criterion: Criterion, time_s: Array, deviation: Array, spells: list[tuple[float, float]], prompt_s: float
) -> Shape:
    """How it was off: half a tolerance aside all along, drifting, to both sides, or for a moment."""
    low, high = criterion.low or 0.0, criterion.high or 0.0
    size = max(abs(low), abs(high))
    if not size:
        return ""
    d = deviation if low and high else deviation - 0.5 * (low + high)
    if float(np.abs(d).max()) < 0.5 * size:
        return ""
    mean, spread = float(d.mean()), float(d.std())
    slope = _trend_per_min(time_s, d)
    change = 0.0 if slope is None else slope / 60.0 * float(time_s[-1] - time_s[0])
    if abs(change) > 0.8 * size and abs(change) > 2.5 * spread:
        return "a drift"
    if abs(mean) > 0.45 * size and abs(mean) > 1.5 * spread:
        return "a steady offset"
    if float(d.max()) > 0.5 * size and float(d.min()) < -0.5 * size:
        return "to and fro"
    far = np.abs(d) > 0.5 * size
    if spells and max(b - a for a, b in spells) > 2.0 * prompt_s:
        return "a drift"
    return "a moment" if far.mean() < 0.5 else "a drift"


def _verdict(
    criterion: Criterion, spells: list[tuple[float, float]], inside: float, length_s: float, prompt_s: float,
    judging: Judging, *, back: bool,
) -> tuple[Verdict, str]:  # fmt: skip
    if not criterion.has_limit:
        return "can't be judged", "the standard prints no number; the value is for information"
    if not spells:
        if 1.0 - inside > judging["consistent_fraction"]:
            return "not held", f"outside for {100 * (1.0 - inside):.0f} % of the time, in moments"
        moments = judging["excursion_counts_s"]
        return "held", "" if inside >= 1.0 else f"outside for moments only, none of them {moments:g} s long"
    longest = max(b - a for a, b in spells)
    share = sum(b - a for a, b in spells) / length_s
    if longest > prompt_s:
        return "not held", f"outside for {longest:.0f} s at a time (prompt, by airwork's threshold: {prompt_s:g} s)"
    if share > judging["consistent_fraction"]:
        return "not held", f"outside for {100 * share:.0f} % of the time"
    if len(spells) >= judging["consistent_excursions"]:
        return "not held", f"outside {len(spells)} times"
    if not back:
        return "not held", "outside at the end and not corrected soon after"
    times = "once" if len(spells) == 1 else f"{len(spells)} times"
    return "briefly out and corrected", f"outside {times}, at most {longest:.0f} s"


def _trend_per_min(time_s: Array, deviation: Array) -> float | None:
    """Slope of a straight line through the deviation. [SI per minute]"""
    total = np.add.reduce  # short vectors: a threaded dot product, or a method's own checks, cost more than the sums
    t = time_s - total(time_s) / time_s.size
    spread = float(total(t * t))
    return float(total(t * deviation)) / spread * 60.0 if spread > 1.0 else None


def _number(criterion: Criterion, value_si: float) -> str:
    unit = {"deg": "°", "%": " %"}.get(criterion.unit, f" {criterion.unit}")
    return f"{printed(value_si, criterion.unit):.3g}{unit}"


def held_elsewhere(deviation: Array, low: float, high: float) -> float | None:
    """Where a quantity was held steadily instead, seldom inside its tolerance: the target was wrong, not the pilot.

    Deviation from the target asked about; None where it was inside at times, or held nowhere. SI.
    """
    d = deviation[np.isfinite(deviation)]
    if d.size < 3 or np.mean((d >= low) & (d <= high)) > HARDLY_EVER:
        return None
    return float(np.median(d)) if float(np.percentile(d, 95.0) - np.percentile(d, 5.0)) <= high - low else None


def best_band(speed_mps: Array, low: float, high: float) -> float:
    """Target whose band [target + low, target + high] holds most samples; among equals near what was flown. [m/s]"""
    ordered = np.sort(speed_mps)
    slowest, fastest = ordered[0], ordered[-1]
    tried = np.r_[slowest - low, fastest - high, np.linspace(slowest - high, fastest - low, 240)]
    holds = ordered.searchsorted(tried + high, side="right") - ordered.searchsorted(tried + low, side="left")
    best = tried[holds == holds.max()]
    flown = median(speed_mps) - INTO_THE_BAND * (low + high)
    return float(best[np.argmin(np.abs(best - flown))])
