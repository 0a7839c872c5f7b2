"""Each reading judged by the fit without it: how far off it lies, whether anything checks it, what it might have meant.

A reading pulls the fit towards itself, most of all where it stands alone (a flap notch flown once). Held against its
own fit it looks fine; held against the fit of all the others it does not. Where two readings contradict each other,
one of them is wrong, and the one is kept that the handbook, the flights and the other readings make more likely.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.airplane import Airplane
from airwork.airplane.performance import accuracy
from airwork.airplane.performance.engine import Engine
from airwork.airplane.performance.fit import Evidence, Posterior, fit, outlooks
from airwork.airplane.performance.priors import Law, Prior
from airwork.airplane.performance.readings import Reading, as_evidence, states_of
from airwork.units import KT_MPS, MPH_MPS, to_unit, write

OUTLIER_SD = 3.0
_SUSPECT_SD, _FITS_SD = 2.3, 2.0  # looked at more closely from; as good as right up to
_LOOSELY_SD = 1.4  # asked about from, where the others check it only loosely: a question is cheap
_UNCHECKED_RPM, _UNCHECKED_SHARE = 60.0, 0.04  # the others know the answer worse than this (one standard deviation)
_MOST_LEFT_OUT_SHARE = 0.34
_WARM_K = 32.0  # a reading this much off the standard day is asked about
_MPH_PER_KT = KT_MPS / MPH_MPS
_FUEL_SHARE, _CLEARLY_BETTER = 0.7, 9.0  # of full tanks, as readings are usually flown; three standard deviations


@dataclass(frozen=True, slots=True)
class Residual:
    """A reading, how far the fit without it is from it, and what was done with it.

    off : model less read, in `unit` (RPM, % of power, ft/min). sd_off : the same in standard deviations.
    knots : the airspeed error that would explain it; NaN where the curve is too flat to say.
    checked : do the handbook, flights and other readings know this answer well enough to tell a mistake?
    asks : what the reading might have meant, as a question; empty if nothing is odd.
    """

    reading: Reading
    off: float
    unit: str
    sd_off: float
    knots: float
    checked: bool
    used: bool
    why: str = ""
    asks: str = ""


@dataclass(frozen=True, slots=True)
class Outlook:
    """How a reading looks to a fit without it.

    off : model less read [control or m/s]. sd : in standard deviations. known : how well that fit knows the answer.
    per_knot : slope of the control over speed. by : the fit.
    """

    off: float
    sd: float
    known: float
    per_knot: float
    by: Posterior


@dataclass(frozen=True)
class Judged:
    """The fit to the readings that are used, and what became of each."""

    own: Posterior
    evidence: Evidence
    residuals: tuple[Residual, ...]


@dataclass(frozen=True)
class Judge:
    """Airplane, law and what the readings are weighed against."""

    airplane: Airplane
    law: Law
    prior: Prior
    engine: Engine

    def judged(self, readings: Sequence[Reading], *, keep_all: bool) -> Judged:
        """Fit, judge, leave out what lies too far off, and fit again."""
        found = as_evidence(self.airplane, readings, self.engine)
        unusable = dict(found.unusable)
        why: dict[int, str] = {}
        while True:
            kept = [i for i in range(len(readings)) if i not in unusable and i not in why]
            evidence = as_evidence(self.airplane, [readings[i] for i in kept], self.engine).evidence
            own = fit(self.law, self.prior, evidence)
            outlook = {i: self.without(readings, kept, i, own) for i in kept}
            far = [i for i in kept if abs(outlook[i].sd) > OUTLIER_SD]
            if keep_all or not far or len(why) + 1 > max(1, _MOST_LEFT_OUT_SHARE * len(readings)):
                break
            worst = min(far, key=lambda i: self.cost([readings[k] for k in kept if k != i]))
            why[worst] = self._words(readings, kept, worst, outlook[worst], far)
        for i in why:
            outlook[i] = self.without(readings, [*kept, i], i, own)
        residuals = tuple(
            self._residual(reading, outlook.get(i), i in why or i in unusable, why.get(i, unusable.get(i, "")))
            for i, reading in enumerate(readings)
        )
        return Judged(own, evidence, residuals)

    def held_against(self, readings: Sequence[Reading], own: Posterior) -> Judged:
        """Residuals of a fit had elsewhere, without judging anew."""
        found = as_evidence(self.airplane, readings, self.engine)
        unusable = dict(found.unusable)
        residuals = []
        for i, reading in enumerate(readings):
            seen = None if i in unusable else self._outlook(reading, own)
            residuals.append(self._residual(reading, seen, i in unusable, unusable.get(i, "")))
        return Judged(own, found.evidence, tuple(residuals))

    def without(self, readings: Sequence[Reading], kept: Sequence[int], index: int, own: Posterior) -> Outlook:
        """How a reading looks to the fit of the others."""
        others = [readings[i] for i in kept if i != index]
        evidence = as_evidence(self.airplane, others, self.engine).evidence
        return self._outlook(readings[index], fit(self.law, self.prior, evidence, start=own.theta, passes=1))

    def _outlook(self, reading: Reading, by: Posterior) -> Outlook:
        evidence = as_evidence(self.airplane, [reading], self.engine).evidence
        off, sd, gradient = outlooks(self.law, by, evidence)
        known = float(by.half_width(gradient)[0])
        law_sd = self._law_sd(reading)
        total = float(np.sqrt(float(sd[0]) ** 2 + known**2 + law_sd**2))
        return Outlook(float(off[0]), float(off[0]) / total, known, self._per_knot(reading, by), by)

    def _law_sd(self, reading: Reading) -> float:
        at = states_of(self.airplane, [reading])
        if reading.kind != "level":
            return float(accuracy.climb_rate_sd_mps(np.array([reading.climb_rate_mps or 0.0]))[0])
        return float(self.engine.in_control(accuracy.rpm_sd(at)[0] / 60.0, 0.02 * self.engine.rated_power_w))

    def _per_knot(self, reading: Reading, by: Posterior) -> float:
        """∂control/∂V of a level reading, per knot; NaN for climbs and glides."""
        if reading.kind != "level":
            return float("nan")
        at = states_of(self.airplane, [reading])
        slope = float((self.law.control(by.theta, at.faster(1.005)) - self.law.control(by.theta, at))[0])
        return slope / to_unit(0.005 * reading.cas_mps, "kt")

    def cost(self, readings: Sequence[Reading]) -> float:
        """How badly readings fit together and with what is known before them."""
        evidence = as_evidence(self.airplane, readings, self.engine).evidence
        own = fit(self.law, self.prior, evidence)
        away = own.theta - self.prior.mean
        robust = 2.0 * 4.0 * (np.sqrt(1.0 + own.residuals**2 / 4.0) - 1.0)
        return float(np.sum(robust) + away @ np.linalg.solve(self.prior.cov, away))

    def _words(
        self, readings: Sequence[Reading], kept: Sequence[int], index: int, seen: Outlook, far: Sequence[int]
    ) -> str:
        reading = readings[index]
        number, unit = self._printed(reading, seen.off)
        words = f"the fit without it says {abs(number):,.0f} {unit} {'more' if number > 0 else 'less'}"
        others = [i for i in far if i != index and readings[i].flap_notch == reading.flap_notch]
        left = [i for i in kept if i != index]
        if len(others) == 1 and abs(self.without(readings, left, others[0], seen.by).sd) < OUTLIER_SD:
            other = readings[others[0]]
            dial = self.airplane.dial(float(self.airplane.calibration[other.flap_notch].ias(other.cas_mps)))
            words += f"; it and the one at {dial} contradict each other, the other is likelier right: check both"
        return words

    def _printed(self, reading: Reading, off: float) -> tuple[float, str]:
        """An error of the control or rate in the unit people read."""
        if reading.kind != "level":
            return to_unit(off, "fpm"), "ft/min"
        scale, unit = self.engine.shown
        return scale * off, {"rpm": "RPM", "%": "% of power"}[unit]

    def _residual(self, reading: Reading, seen: Outlook | None, out: bool, why: str) -> Residual:
        if seen is None:
            return Residual(reading, 0.0, "", 0.0, float("nan"), False, not out, why, self._odd(reading))
        off, unit = self._printed(reading, seen.off)
        knots = -seen.off / seen.per_knot if abs(seen.per_knot) * self._flat > 1.0 else float("nan")
        limit = self.engine.in_control(_UNCHECKED_RPM / 60.0, _UNCHECKED_SHARE * self.engine.rated_power_w)
        checked = reading.kind != "level" or bool(seen.known < limit)
        doubted = abs(seen.sd) > (_SUSPECT_SD if checked else _LOOSELY_SD)
        asks = self._odd(reading) or (self._meant(reading, seen) if doubted else "")
        return Residual(reading, off, unit, seen.sd, float(knots), checked, not out, why, asks)

    @property
    def _flat(self) -> float:
        """A curve that rises less than 2 RPM a knot tells nothing of the speed."""
        return 100.0 / self.engine.rated_power_w if self.engine.governed else 30.0

    def _odd(self, reading: Reading) -> str:
        """A temperature nobody meets up there."""
        standard = float(standard_temperature_k(reading.pressure_altitude_m))
        above = reading.temperature_k - standard
        if above < _WARM_K:
            return ""
        celsius = to_unit(reading.temperature_k, "°C")
        meant = (celsius - 32.0) / 1.8
        feet = to_unit(reading.pressure_altitude_m, "ft")
        found = f"{celsius:.0f} °C at {feet:,.0f} ft is {above:.0f} °C above standard"
        return f"{found}: was it {celsius:.0f} °F ({meant:.0f} °C)?"

    def _meant(self, reading: Reading, seen: Outlook) -> str:
        """Would the reading fit with its speed in the other unit? Else what the others say."""
        for factor, words in ((1.0 / _MPH_PER_KT, "mph"), (_MPH_PER_KT, "knots")) * (reading.kind == "level"):
            other = replace(reading, cas_mps=reading.cas_mps * factor)
            if as_evidence(self.airplane, [other], self.engine).unusable:
                continue
            if abs(self._outlook(other, seen.by).sd) < _FITS_SD:
                return f"it would fit if the speed was read in {words}: was it?"
        number, unit = self._printed(reading, seen.off)
        which = "more" if number > 0 else "less"
        return f"all the others say {abs(number):,.0f} {unit} {which}: are figure, unit and flap right?"


def weights_without_fuel(judge: Judge, readings: Sequence[Reading], fuel_kg: float) -> str:
    """Do all level readings fit better with most of the fuel on top of their weights? A question, or nothing."""
    level = [r for r in readings if r.kind == "level" and not r.left_out]
    heavier = [replace(r, mass_kg=r.mass_kg + _FUEL_SHARE * fuel_kg) for r in level]
    if len(level) < 3 or fuel_kg <= 0 or max(r.mass_kg for r in heavier) > judge.airplane.max_takeoff_mass_kg:
        return ""
    as_noted, with_fuel = (judge.cost(some) for some in (level, heavier))
    if as_noted - with_fuel < _CLEARLY_BETTER:
        return ""
    noted, more = (write(kg, judge.airplane.book.mass) for kg in (level[0].mass_kg, _FUEL_SHARE * fuel_kg))
    return f"the readings fit better some {more} heavier: does {noted} include the fuel?"
