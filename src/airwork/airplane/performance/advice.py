"""What is known of this airplane from where. SI.

An answer's 90 % half-width is shown after each source: general knowledge of light singles, the handbook, this
airplane's readings. RPM, power and climb are what the readings fix; the propeller's and the drag's own coefficients
are not separable from level flight and are never reported as "your drag".
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.performance import accuracy, throttle
from airwork.airplane.performance.condition import FULL_THROTTLE, Condition
from airwork.airplane.performance.fit import resample
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.question import Question, question
from airwork.airplane.performance.speeds import max_level_speed
from airwork.airplane.performance.state import Array
from airwork.errors import NotPossible
from airwork.units import FPM_MPS, FT_M, to_unit
from airwork.values import BAND

_ALTITUDE_M = 3000.0 * FT_M
SLOW, FAST = 1.2, 0.85  # times Vs, share of the fastest level speed
_FIXED_SHARE = 0.5  # a source has fixed an answer when it took at least half of what was left of its width


@dataclass(frozen=True, slots=True)
class Known:
    """90 % half-widths of one answer as sources are added, in printed units; `by` names what fixed it."""

    answer: str
    unit: str
    value: float
    general_90: float
    handbook_90: float
    readings_90: float
    by: str


@dataclass(frozen=True, slots=True)
class MainAnswer:
    """One main answer: gradient over θ and what the law itself leaves, in the answer's unit."""

    name: str
    unit: str
    value: float
    gradient: Array  # over θ, in the answer's unit
    law_sd: float

    def half_width_90(self, cov: Array) -> float:
        """Half-width of the answer's 90 % band, θ being as unsure as `cov` says."""
        return float(BAND * np.hypot(np.sqrt(max(float(self.gradient @ cov @ self.gradient), 0.0)), self.law_sd))


def known(performance: Performance) -> list[Known]:
    """What each source knows of the main answers, at the handbook's weight, 3,000 ft, standard."""
    learned = performance.learned
    covs = (learned.general.cov, learned.prior.cov, learned.own.cov)
    out = []
    for answer in _answers(performance):
        widths = [answer.half_width_90(cov) for cov in covs]
        own = _own_sources(performance)
        if widths[2] <= _FIXED_SHARE * widths[1]:
            by = f"this airplane's {own}"
        elif learned.book is not None and widths[1] <= _FIXED_SHARE * widths[0]:
            by = "the handbook" if widths[2] > 0.85 * widths[1] else f"the handbook and {own}"
        elif widths[2] <= _FIXED_SHARE * widths[0]:
            by = f"the handbook and {own}" if learned.book is not None else f"this airplane's {own}"
        else:
            by = "general knowledge only"
        out.append(Known(answer.name, answer.unit, answer.value, widths[0], widths[1], widths[2], by))
    return out


def _own_sources(performance: Performance) -> str:
    """What this airplane itself has told by."""
    flights = performance.airplane.file.fitted is not None and performance.airplane.file.fitted.flights
    if flights or performance.learned.flights:
        return "flights and readings" if performance.learned.readings_used else "flights"
    return "readings"


ENOUGH_TO_RESAMPLE = 12  # readings; with fewer, drawing them anew is too optimistic


def resampled_90(performance: Performance, *, times: int = 200) -> dict[str, float] | None:
    """90 % half-widths of the main answers from fits to the readings drawn anew, in the units of `known`.

    Without believing the readings' standard deviations; None with fewer than twelve readings.
    """
    learned = performance.learned
    if len(learned.evidence) < ENOUGH_TO_RESAMPLE:
        return None
    prior = learned.weighed or learned.prior
    thetas = resample(learned.law, prior, learned.evidence, learned.own.theta, times=times)
    out = {}
    for answer in _answers(performance):
        values = (thetas - learned.own.theta) @ answer.gradient
        spread = float(np.quantile(values, 0.95) - np.quantile(values, 0.05)) / 2.0
        out[answer.name] = float(np.hypot(spread, BAND * answer.law_sd))
    return out


def _question(performance: Performance, factor: float, notch: int) -> Question:
    at = _usual(performance, notch)
    return question(performance, factor * float(performance.airplane.stall_cas_mps(at.mass_kg, notch)), at)


def _usual(performance: Performance, notch: int = 0) -> Condition:
    return Condition(
        performance.airplane.handbook_mass_kg, _ALTITUDE_M, float(standard_temperature_k(_ALTITUDE_M)), notch
    )


def _fast_factor(performance: Performance) -> float:
    """85 % of the fastest level speed, times Vs."""
    airplane = performance.airplane
    try:
        fastest = max_level_speed(performance, _usual(performance)).cas_mps
    except NotPossible:
        return 1.6
    return max(1.6, FAST * fastest / float(airplane.stall_cas_mps(airplane.handbook_mass_kg)))


def _answers(performance: Performance) -> Iterator[MainAnswer]:
    fast = _fast_factor(performance)
    for notch in performance.airplane.stall_curves:
        flaps = "flaps up" if notch == 0 else f"flap notch {notch}"
        yield _level(performance, f"slow flight, {flaps}", SLOW, notch)
        if notch == 0:
            yield _level(performance, "cruise", fast, 0)
    q = _question(performance, 1.4, 0)
    control = throttle.control(performance, q.at, FULL_THROTTLE)
    excess, gradient = performance.law.excess_gradient(performance.theta, q.at, control)
    scale = to_unit(float(q.at.tas_mps[0] / q.weight_n[0]), "fpm")
    rate = float(excess[0]) * scale
    law_sd = to_unit(float(accuracy.climb_rate_sd_mps(np.array([rate * FPM_MPS]))[0]), "fpm")
    unsure = scale * float(throttle.unsure_n(performance, q.at, control, FULL_THROTTLE)[0])
    yield MainAnswer("full-throttle climb at 1.4 Vs", "fpm", rate, gradient[0] * scale, float(np.hypot(law_sd, unsure)))


def _level(performance: Performance, name: str, factor: float, notch: int) -> MainAnswer:
    at = _question(performance, factor, notch).at
    control, gradient = performance.law.control_gradient(performance.theta, at)
    scale, unit = performance.engine.shown
    sd = accuracy.rpm_sd(at) if unit == "rpm" else 100.0 * accuracy.power_share_sd(control * scale / 100.0)
    law_sd = float(sd[0])
    return MainAnswer(name, unit, float(control[0]) * scale, gradient[0] * scale, law_sd)
