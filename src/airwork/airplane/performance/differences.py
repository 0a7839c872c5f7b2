"""How this airplane differs from the one its handbook was flown with: cruise speed, slow flight, climb, fuel. SI.

Each difference is the fitted airplane's answer less the handbook fit's, with its 90 % half-width; fuel flow is what was
read less what the cruise table prints at the power flown.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.fuel import READ_SD_M3PS, flow_differences_m3ps
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.question import question
from airwork.airplane.performance.state import Array
from airwork.errors import AirworkError
from airwork.units import FT_M, KT_MPS, to_unit, write
from airwork.values import BAND

_CRUISE_ALTITUDE_M = 4000.0 * FT_M
_CRUISE_POWER = 0.65
_GAUGE_SHARE = 0.03  # a flow gauge, and the power it is held at (common practice, no source)
_TRUE_SPEED_SD_MPS = 0.3 * KT_MPS  # what the law itself leaves of a difference of two fits of it


@dataclass(frozen=True, slots=True)
class Difference:
    """One difference, this airplane less its book; `clear` when it is more than its half-width."""

    name: str
    value: float
    value_90: float
    unit: str
    words: str

    @property
    def clear(self) -> bool:
        """More than can be put down to the readings' scatter."""
        return abs(self.value) > self.value_90


@dataclass(frozen=True, slots=True)
class _Said:
    """How a difference is said: what the airplane does, by how much (which way) or as the book says, and than what."""

    name: str
    unit: str
    does: str
    ways: tuple[str, str]  # of a positive, of a negative one
    as_said: str
    than: str = ""

    def of(self, value: float, half: float, where: str, spoken: Callable[[float], str]) -> Difference:
        """The difference, in words by how much, or as the book says within the half-width."""
        width = spoken(half)
        amount = f"{spoken(abs(value))} {self.ways[value < 0]} (± {width.partition(' ')[0]})"
        words = f"{self.does} {amount} {self.than}{where}"
        if abs(value) <= half:
            words = f"{self.does} {self.as_said}, within {width}, {where}"
        return Difference(self.name, value, half, self.unit, words)


_CRUISES = _Said("cruise true airspeed", "kt", "cruises", ("faster", "slower"), "as its handbook says")
_CLIMBS = _Said("rate of climb", "fpm", "climbs", ("better", "worse"), "as its handbook says")


def differences(performance: Performance) -> tuple[Difference, ...]:
    """All that can be said; empty without a handbook to differ from or without readings."""
    learned = performance.learned
    flown = learned.flights or (
        performance.airplane.file.fitted is not None and performance.airplane.file.fitted.flights
    )
    if learned.book is None or not (learned.readings_used or flown):
        return ()
    found = [_cruise(performance), _slow(performance), _climb(performance), *_fuel(performance)]
    return tuple(d for d in found if d is not None)


def _cruise(performance: Performance) -> Difference | None:
    """True airspeed at the book's RPM for 65 % power (constant speed: at 65 % power), 4,000 ft standard."""
    airplane, learned = performance.airplane, performance.learned
    temp = float(standard_temperature_k(_CRUISE_ALTITUDE_M))
    mass = airplane.handbook_mass_kg
    stall = float(airplane.stall_cas_mps(mass))
    cas = np.linspace(1.3 * stall, performance.never_exceed_cas_mps, 160)
    q = question(performance, cas, Condition(mass, _CRUISE_ALTITUDE_M, temp))
    assert learned.book is not None
    book_theta, law = learned.book.theta, performance.law
    control = law.control(book_theta, q.at)
    share = learned.book_engine.power_of(control, q.at) / airplane.rated_power_w
    rising = slice(int(np.argmin(share)), None)
    if not share[rising][0] < _CRUISE_POWER < share[rising][-1]:
        return None
    setting = float(np.interp(_CRUISE_POWER, share[rising], control[rising]))

    def speed(theta: Array) -> Array:
        needed = law.control(theta, q.at)[rising]
        return np.array([np.interp(setting, needed, q.at.tas_mps[rising])])

    value = float(speed(performance.theta)[0] - speed(book_theta)[0])
    half = BAND * float(np.hypot(learned.own.spread(speed)[0], _TRUE_SPEED_SD_MPS))
    kt, kt_90 = to_unit(value, "kt"), to_unit(half, "kt")
    held = f"{_CRUISE_POWER:.0%} power" if learned.book_engine.governed else f"{60.0 * setting:,.0f} RPM"
    where = f"at {held}, {write(_CRUISE_ALTITUDE_M, 'ft')}"
    return _CRUISES.of(kt, kt_90, where, lambda x: f"{x:.1f} kt")


def _slow(performance: Performance) -> Difference | None:
    """Control of slow flight, flaps up, at 1.2 Vs."""
    airplane, learned = performance.airplane, performance.learned
    temp = float(standard_temperature_k(_CRUISE_ALTITUDE_M))
    mass = airplane.handbook_mass_kg
    cas = 1.2 * float(airplane.stall_cas_mps(mass))
    at = question(performance, cas, Condition(mass, _CRUISE_ALTITUDE_M, temp)).at
    assert learned.book is not None
    book_theta, law = learned.book.theta, performance.law

    def control(theta: Array) -> Array:
        return law.control(theta, at)

    scale, unit = performance.engine.shown
    value = scale * float(control(performance.theta)[0] - control(book_theta)[0])
    half = scale * BAND * float(learned.own.spread(control)[0])
    name = "RPM" if unit == "rpm" else "points of power"
    where = f"in slow flight with flaps up ({airplane.dial(float(airplane.ias_from_cas_mps(cas)))})"
    said = _Said("slow flight", unit, "needs", ("more", "less"), "what its handbook implies")
    return said.of(value, half, where, lambda x: f"{x:.0f} {name}")


def _climb(performance: Performance) -> Difference | None:
    """Full-throttle rate of climb at the best-rate speed."""
    airplane, learned = performance.airplane, performance.learned
    if not (learned.flights or any(r.kind == "full_throttle_climb" for r in learned.readings_used)):
        return None
    temp = float(standard_temperature_k(_CRUISE_ALTITUDE_M))
    mass = airplane.handbook_mass_kg
    try:
        cas = airplane.speed_cas_mps("best_rate_of_climb", mass, _CRUISE_ALTITUDE_M)
        printed = airplane.climb_rate_mps(mass, _CRUISE_ALTITUDE_M, temp)
    except AirworkError:
        return None
    answer = climb(performance, cas, Condition(mass, _CRUISE_ALTITUDE_M, temp))
    value, half = float(answer.climb_rate_mps) - printed, float(answer.climb_rate_90_mps)
    fpm, fpm_90 = to_unit(value, "fpm"), to_unit(half, "fpm")
    where = f"at {write(_CRUISE_ALTITUDE_M, 'ft')}, {write(mass, airplane.book.mass)}"
    return _CLIMBS.of(fpm, fpm_90, where, lambda x: airplane.book.spoken(x, "fpm"))


def _fuel(performance: Performance) -> list[Difference]:
    """Fuel flow read less printed at the power flown, mean per mixture."""
    out, spoken = [], performance.airplane.book.spoken
    for mixture, values in flow_differences_m3ps(performance).items():
        gph = to_unit(float(np.mean(values)), "gph")
        scatter = max(float(np.std(values, ddof=1)) if len(values) > 2 else 0.0, READ_SD_M3PS)
        half = BAND * to_unit(scatter, "gph") / float(np.sqrt(len(values)))
        named = mixture.replace("_", " ")
        said = _Said(f"fuel flow, {named}", "gph", "burns", ("more", "less"), "what its handbook says")
        out.append(said.of(gph, half, f"at {named}", lambda x: spoken(x, "gph")))
    return [*out, *filter(None, (_fuel_as_flown(performance, leaned) for leaned in (False, True)))]


def _fuel_as_flown(performance: Performance, leaned: bool) -> Difference | None:
    """Flow that flights recorded at 65 % power against the book's column that lies nearest: no recorder keeps the
    mixture."""
    line, engine = performance.learned.fuel, performance.airplane.engine
    if line is None or (leaned and not line.leaner):
        return None
    flow = float(line.flow_m3ps(_CRUISE_POWER * performance.airplane.rated_power_w, leaned=leaned))
    printed: list[tuple[float, str]] = []
    for mixture in ("full_rich", "best_power", "best_economy"):
        try:
            printed.append((engine.fuel_flow(_CRUISE_POWER, mixture).value, mixture.replace("_", " ")))
        except AirworkError:
            continue
    if not printed:
        return None
    book, named = min(printed, key=lambda p: abs(p[0] - flow))
    gph = to_unit(flow - book, "gph")
    share = float(np.hypot(line.sd_share / np.sqrt(line.flights), _GAUGE_SHARE))
    half = BAND * to_unit(flow * share, "gph")
    column = f"its book's {named} at {_CRUISE_POWER:.0%} power"
    name, does = ("fuel flow as leaned", "leaned, it burns") if leaned else ("fuel flow as flown", "burns")
    said = _Said(name, "gph", does, ("more", "less"), column, than=f"than {column}, ")
    where = f"by its {line.flights} recorded flights"
    return said.of(gph, half, where, lambda x: performance.airplane.book.spoken(x, "gph"))
