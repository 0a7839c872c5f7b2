"""The fitted airplane as charts: setting and power for level flight, climb, turns, the collapse with the readings.

Also what flights have taught of it, beside its handbook.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3, standard_temperature_k
from airwork.airplane import Airplane
from airwork.airplane.performance import Condition, Performance, performance
from airwork.airplane.performance.accuracy import LOWEST_SPEED
from airwork.airplane.performance.answers import LevelFlight
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.readings import states_of
from airwork.airplane.performance.state import state
from airwork.airplane.performance.turning import sustained_bank
from airwork.output.chart import Chart
from airwork.output.drawing import Mark
from airwork.values import BAND

Curves = list[tuple[str, list[float | None]]]
FITTED = "fitted model, not printed in the handbook"
SLOW_FLIGHT, CRUISE = 1.2, 65.0  # slow flight: times the stall speed; cruise: percent of rated power
DIAL = np.arange(30.0, 200.0, 1.0)  # readings looked at, in the dial's unit: all that these airplanes fly
TURNED_AT = (1.7, 1.3)  # times the stall speed: about a steep turn's, and an approach's; our own choice
DRAWN_TO, DRAWN_TO_FLAPS = (
    2.6,
    2.0,
)  # times the stall speed, flaps up and down: how far a curve is drawn; our own choice


def _values(values: Any, good: Any, digits: int) -> list[float | None]:
    return [
        round(float(v), digits) if g and math.isfinite(float(v)) else None
        for v, g in zip(np.asarray(values, dtype=float), good, strict=True)
    ]


def _with_band(name: str, value: Any, half: Any, good: Any, digits: int) -> Curves:
    """A curve, and its 90 % band as two more."""
    return [(name, _values(value, good, digits)), ("90 % low", _values(value - half, good, digits)),
            ("90 % high", _values(value + half, good, digits))]  # fmt: skip


def _calibrated(airplane: Airplane, notch: int = 0) -> Any:
    """Calibrated airspeeds at the readings of `DIAL`. [m/s]"""
    return np.asarray(airplane.cas_from_ias_mps(units.from_unit(DIAL, airplane.dial_unit), notch), dtype=float)


def _flaps(notch: int, full: int) -> str:
    return "flaps up" if notch == 0 else "flaps full" if notch == full else f"notch {notch}"


def power_curve(airplane: Airplane, at: Condition, of: Iterable[int] | None = None) -> list[Chart]:
    """Power, and the setting, for level flight over indicated airspeed with its 90 % band.

    of : the flap notches; up and full if not given.
    """
    model, unit = performance(airplane), airplane.dial_unit
    drawn: tuple[Curves, Curves] = ([], [])
    marks: tuple[list[Mark], list[Mark]] = ([], [])
    stalls: list[tuple[float, str]] = []
    digits = 0 if airplane.fixed_pitch else airplane.book.digits("inHg")
    for notch in dict.fromkeys((0, airplane.flaps_full) if of is None else of):
        level = level_flight(model, _calibrated(airplane, notch), at.with_flaps(notch))
        open_ = np.asarray(level.marginal, dtype=bool)
        good = np.asarray(level.possible, dtype=bool) | open_
        limit = airplane.flap_notches[notch].max_ias_mps if notch else None
        if limit is not None:
            good &= units.to_unit(limit, unit) >= DIAL
        name = _flaps(notch, airplane.flaps_full)
        slowest = airplane.ias_from_cas_mps(float(airplane.stall_cas_mps(at.mass_kg, notch)), notch)
        stalls.append((units.to_unit(float(slowest), unit), "stall" if notch == 0 else ""))
        shown = (100.0 * level.power_ratio, 100.0 * level.power_90, 1), (*_setting(airplane, level), digits)
        for curves, marked, (value, band, places) in zip(drawn, marks, shown, strict=True):
            curves.append((name, _values(value, good & ~open_, places)))
            if (good & open_).any():
                curves.append((f"{name}, marginal", _values(value, good & _with_neighbors(open_), places)))
            if notch == 0:
                curves += _with_band("", value, band, good, places)[1:]
            for speed, word in _named_speeds(airplane, at, notch, level, good):
                marked.append(Mark(word, speed, float(np.interp(speed, DIAL, value))))
    for curves, marked in zip(drawn, marks, strict=True):  # on the axis
        lowest = min((v for _, y in curves for v in y if v is not None), default=math.nan)
        marked += [Mark(word, speed, lowest, "|") for speed, word in stalls if math.isfinite(speed + lowest)]
    said = f"{FITTED}; marginal: full throttle may or may not hold it; ticks: power-off stall"
    dial = f"indicated, {unit}"
    word = (
        "rpm" if airplane.fixed_pitch else f"manifold pressure at {model.usual_rpm:,.0f} rpm, {airplane.book.pressure}"
    )
    return [
        *_chart(
            "needed", "Power needed in level flight", (dial, "percent of rated power"), DIAL, drawn[0], said, marks[0]
        ),
        *_chart("setting", "Setting for level flight", (dial, word), DIAL, drawn[1], said, marks[1]),
    ]  # fmt: skip


def _setting(airplane: Airplane, level: LevelFlight) -> tuple[Any, Any]:
    """What is set for level flight, and its 90 % half-width: RPM, or manifold pressure as the handbook prints it."""
    if airplane.fixed_pitch:
        return level.rpm, level.rpm_90
    unit = airplane.book.pressure
    return units.to_unit(level.manifold_pressure_pa, unit), units.to_unit(level.manifold_pressure_90_pa, unit)


def _named_speeds(
    airplane: Airplane, at: Condition, notch: int, level: LevelFlight, good: Any
) -> list[tuple[float, str]]:
    """Slow flight, and with flaps up the cruise, where level flight is possible: (dial reading, word)."""
    found = []
    stall = float(airplane.stall_cas_mps(at.mass_kg, notch))
    slow = units.to_unit(float(airplane.ias_from_cas_mps(SLOW_FLIGHT * stall, notch)), airplane.dial_unit)
    if np.isfinite(slow) and np.interp(slow, DIAL, good.astype(float)) > 0.5:
        found.append((slow, "slow flight" if notch == 0 else ""))
    fast = level.fast_side
    if notch == 0 and fast.size:
        ratio = 100.0 * level.power_ratio
        if ratio[fast[0]] < CRUISE < ratio[fast[-1]]:
            found.append((float(np.interp(CRUISE, ratio[fast], DIAL[fast])), f"cruise, {CRUISE:.0f} %"))
    return found


def _with_neighbors(mask: Any) -> Any:
    """A mask grown by one on either side, so that a curve meets the one it goes on from."""
    grown = mask.copy()
    grown[1:] |= mask[:-1]
    grown[:-1] |= mask[1:]
    return grown


def climb_chart(p: Performance, at: Condition) -> list[Chart]:
    """Full-throttle rate of climb over indicated airspeed, flaps up, at three pressure altitudes."""
    airplane, unit = p.airplane, p.airplane.dial_unit
    off = at.temperature_k - float(standard_temperature_k(at.pressure_altitude_m))
    here = float(at.pressure_altitude_m)
    cas = _calibrated(airplane)
    curves: Curves = []
    marks = []
    for height in sorted({0.0, here, max(here, 0.0) + units.from_unit(4000.0, "ft")}):
        answer = climb(p, cas, Condition(at.mass_kg, height, float(standard_temperature_k(height)) + off))
        rate, half = (units.to_unit(np.asarray(x), "fpm") for x in (answer.climb_rate_mps, answer.climb_rate_90_mps))
        good = np.isfinite(rate) & (rate > 0.0)
        banded = _with_band(units.write(height, "ft"), rate, half, good, 0)
        curves += banded if height == here and good.any() else banded[:1]
        if height == here and good.any():
            for word, best in (("best rate", rate), ("best angle", np.asarray(answer.gradient))):
                k = int(np.nanargmax(np.where(good, best, np.nan)))
                marks.append(Mark(word, float(DIAL[k]), float(rate[k])))
    return _chart("climb", "Full-throttle climb, flaps up", (f"indicated, {unit}", "ft/min"), DIAL, curves,
                  f"{FITTED}; curves: pressure altitude", marks)  # fmt: skip


def bank_chart(p: Performance, at: Condition) -> list[Chart]:
    """Steepest level turn at full throttle over pressure altitude, at two speeds, flaps up and full."""
    airplane = p.airplane
    off = at.temperature_k - float(standard_temperature_k(at.pressure_altitude_m))
    top = airplane.limits.max_altitude_m or units.from_unit(12_000.0, "ft")
    feet = np.arange(0.0, units.to_unit(top, "ft") + 1.0, 250.0)
    heights = units.from_unit(feet, "ft")
    curves: Curves = []
    for notch, factor in dict.fromkeys((*((0, f) for f in TURNED_AT), (airplane.flaps_full, TURNED_AT[1]))):
        if notch not in p.airplane.stall_curves:
            continue
        cas = factor * float(airplane.stall_cas_mps(at.mass_kg, notch))
        answer = sustained_bank(
            p, cas, Condition(at.mass_kg, heights, np.asarray(standard_temperature_k(heights)) + off, notch)
        )
        bank, by_power = np.degrees(answer.bank_rad), np.asarray(answer.limit == "power")
        speed = units.to_unit(float(airplane.ias_from_cas_mps(cas, notch)), airplane.dial_unit)
        name = f"{_flaps(notch, airplane.flaps_full)}, {speed:.0f} {airplane.dial_unit}"
        curves.append((name, _values(bank, by_power, 1)))
        if not by_power.all():
            curves.append((f"{name}, stall or load limit", _values(bank, ~by_power, 1)))
    axes = "pressure altitude, ft", "bank, °"
    return _chart("bank", "Steepest level turn, full throttle", axes, feet, curves, FITTED)


def collapse_chart(p: Performance, at: Condition) -> list[Chart]:
    """All weights and densities of a flap setting on one curve, with the readings of level flight on it."""
    mass, knot = p.airplane.handbook_mass_kg, units.from_unit(1.0, "kt")
    scale, _ = p.engine.shown
    knots = np.arange(20.0, 200.0, 1.0)
    curves: Curves = []
    for notch in p.airplane.stall_curves:
        stall = float(p.airplane.stall_cas_mps(mass, notch))
        cas = knots * knot
        good = cas >= LOWEST_SPEED * stall
        good &= cas <= min((DRAWN_TO if notch == 0 else DRAWN_TO_FLAPS) * stall, p.never_exceed_cas_mps)
        flown = np.where(good, cas, LOWEST_SPEED * stall)
        reached = state(flown, RHO0_KGPM3, mass * G0_MPS2, (stall / flown) ** 2, notch)
        control, gradient = p.law.control_gradient(p.theta, reached)
        half = BAND * scale * p.learned.own.half_width(gradient)
        banded = _with_band(_flaps(notch, p.airplane.flaps_full), scale * control, half, good, 1)
        curves += banded if notch == 0 else banded[:1]
    y_name = "RPM × √(σ · book / weight)" if p.fixed is not None else "% power × √σ · (book / weight)^1.5"
    axes = "calibrated × √(handbook weight / weight), kt", y_name
    return _chart("collapse", "All weights and densities on one curve, with the readings", axes, knots, curves,
                  f"{FITTED}; circles: readings", _readings(p, mass))  # fmt: skip


def _readings(p: Performance, mass: float) -> list[Mark]:
    """Readings of level flight scaled to the curve; those left out say so."""
    found = []
    for residual in p.learned.residuals:
        r = residual.reading
        if r.kind != "level" or r.rpm is None or "stall speed" in residual.why:
            continue
        at = states_of(p.airplane, [r])
        sigma, ratio = float(at.density_kgpm3[0]) / RHO0_KGPM3, mass / r.mass_kg
        if p.fixed is not None:
            y = r.rpm * math.sqrt(sigma * ratio)
        elif r.manifold_pressure_pa is not None:
            watts = float(p.engine.set_to(r.rpm, r.manifold_pressure_pa, at)[0])
            y = 100.0 * watts / p.airplane.rated_power_w * math.sqrt(sigma) * ratio**1.5
        else:
            continue
        x = units.to_unit(r.cas_mps * math.sqrt(ratio), "kt")
        found.append(Mark("" if residual.used else "left out", x, y))
    return found


def _chart(
    key: str, title: str, axes: tuple[str, str], x: Any, curves: Curves, note: str, marks: Sequence[Mark] = ()
) -> list[Chart]:
    """A chart without the ends where no curve has a value; none without any."""
    use = [k for k in range(len(x)) if any(y[k] is not None for _, y in curves)]
    if not use:
        return []
    part = slice(use[0], use[-1] + 1)
    curves = [(name, y[part]) for name, y in curves if any(v is not None for v in y)]
    return [Chart(key, title, *axes, [float(v) for v in x[part]], curves, note, tuple(marks))]


# What `airwork airplane plot` draws, by name.
PANELS: dict[str, Callable[[Performance, Condition], list[Chart]]] = {
    "rpm": lambda p, at: power_curve(p.airplane, at, p.airplane.stall_curves)[1:],
    "power": lambda p, at: power_curve(p.airplane, at, p.airplane.stall_curves)[:1],
    "climb": climb_chart, "bank": bank_chart, "collapse": collapse_chart,
}  # fmt: skip


def own_against_book(airplane: Airplane, at: Condition) -> list[Chart]:
    """This airplane's setting for level flight, flaps up, with its 90 % band, beside the one its handbook implies."""
    model = performance(airplane)
    book = model.learned.book
    if not model.learned.readings_used and airplane.file.fitted is None:
        return []
    cas = _calibrated(airplane)
    own = level_flight(model, cas, at)
    good = np.asarray(own.possible, dtype=bool)
    power = not airplane.fixed_pitch
    value, band = (100.0 * own.power_ratio, 100.0 * own.power_90) if power else (own.rpm, own.rpm_90)
    digits, word = (1, "percent of rated power") if power else (0, "rpm")
    curves = _with_band("this airplane", value, band, good, digits)
    title = "This airplane's own curve"
    if book is not None:
        printed = level_flight(replace(model, learned=replace(model.learned, own=book)), cas, at)
        curves.append(("its handbook", _values(100.0 * printed.power_ratio if power else printed.rpm, good, digits)))
        title = "This airplane against its handbook"
    axes = f"indicated, {airplane.dial_unit}", word
    return _chart("own", title, axes, DIAL, curves, "flaps up; fitted to flights and readings")
