"""Whole flights of an invented airplane by its truth numbers, written as a recorder would: for learning from flights.

A point mass: speed follows a made-up plan, the engine hunts about what would be level, and height takes what is left
of thrust less drag (Ė = (T − D)·V/W). Thrust and drag are the polynomials of `airplane_truth.toml`, which are not the
law that is fitted: cubic terms of the propeller and a parabola about zero lift.
"""

from __future__ import annotations

import copy
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from airwork.airdata.atmosphere import density_ratio, standard_temperature_k
from airwork.units import FT_M, KT_MPS, LB_KG
from invented_truth import _drag, true_climb, true_level

G0 = 9.80665


def write_flight(
    path: Path,
    truth: dict[str, Any],
    seed: int,
    *,
    minutes: float = 20.0,
    weight_lb: float = 2050.0,
    rate_hz: float = 1.0,
    notches: tuple[int, ...] = (0,),
    rpm_recorded: bool = True,
    start: datetime | None = None,
    calibrated: Any = None,
) -> Path:
    """A lesson at altitude: speeds from 1.25 times the stall to cruise, each for a minute or two, climbs between.

    calibrated : from calibrated to indicated airspeed [m/s], the airplane's own curve.
    """
    key = (repr(truth), seed, minutes, weight_lb, notches)
    if key not in _FLOWN:
        _FLOWN[key] = _fly(truth, seed, minutes, weight_lb, notches)
    rng, *flown = _FLOWN[key]
    return _write(path, copy.deepcopy(rng), rate_hz, *flown, rpm_recorded, start, calibrated)


_FLOWN: dict[object, tuple[Any, ...]] = {}  # a flight of many tests is flown once


def _fly(
    truth: dict[str, Any], seed: int, minutes: float, weight_lb: float, notches: tuple[int, ...]
) -> tuple[Any, ...]:
    """(what draws on, time, calibrated airspeed, altitude, RPM, notch), ten a second."""
    rng = np.random.default_rng([seed, 3])
    time = np.arange(0.0, 60.0 * minutes, 0.1)
    slots = int(minutes)
    cas = np.repeat(rng.uniform(52.0, 100.0, slots), 600)[: time.size] * KT_MPS
    climbing = np.repeat(np.arange(slots) % 5 == 2, 600)[: time.size]
    cas = np.where(climbing, 70.0 * KT_MPS, cas)
    notch = np.where(climbing, 0, np.repeat(rng.choice(notches, slots), 600)[: time.size])
    cas = np.where(notch > 0, np.minimum(cas, 75.0 * KT_MPS), cas)
    kernel = np.ones(151) / 151.0
    cas = np.convolve(np.pad(cas, 75, mode="edge"), kernel, "valid") + 0.4 * _wander(rng, time.size, 80.0)
    hunt = 40.0 * _wander(rng, time.size, 100.0)
    altitude_ft, h = np.empty(time.size), 3500.0
    rpm, speeds = np.empty(time.size), np.empty(time.size)
    level = {}
    before = None
    for i in range(time.size):
        key = (round(float(cas[i]), 1), int(notch[i]), round(h / 300.0))
        if key not in level:
            if climbing[i]:
                level[key] = true_climb(truth, key[0], weight_lb, h)[0]
            else:
                level[key] = true_level(truth, key[0], weight_lb, h, notch=key[1])[0]
        rpm[i] = level[key] if climbing[i] else level[key] + hunt[i] - 0.15 * (h - 3500.0)
        sigma = float(density_ratio(h * FT_M, float(standard_temperature_k(h * FT_M))))
        v, rho = float(cas[i]) / np.sqrt(sigma), 1.225 * sigma
        excess = thrust_n(truth, rpm[i] / 60.0, v, rho) - _drag(truth, v, rho, weight_lb, int(notch[i]))
        faster = 0.0 if before is None else (v * v - before * before) / (2.0 * G0)
        h += (excess * v / (weight_lb * LB_KG * G0) * 0.1 - faster) / FT_M
        altitude_ft[i], speeds[i], before = h, v, v
    return rng, time, cas, altitude_ft, rpm, notch


def thrust_n(truth: dict[str, Any], n: float, v: float, rho: float) -> float:
    """ρ·n²·d⁴·CT(J) of the truth. [N]"""
    d = truth["prop_diameter_ft"] * FT_M
    j = v / (n * d)
    return float(rho * n * n * d**4 * sum(c * j**k for k, c in enumerate(truth["thrust_coefficient_poly_in_J"])))


def _wander(rng: np.random.Generator, size: int, samples: float) -> np.ndarray:
    keep = np.exp(-1.0 / samples)
    out, noise = np.empty(size), rng.normal(size=size) * np.sqrt(1.0 - keep * keep)
    value = 0.0
    for i in range(size):
        value = keep * value + noise[i]
        out[i] = value
    return out


def _write(
    path: Path, rng: np.random.Generator, rate_hz: float, time: np.ndarray, cas: np.ndarray, altitude_ft: np.ndarray,
    rpm: np.ndarray, notch: np.ndarray, rpm_recorded: bool, start: datetime | None, calibrated: Any,
) -> Path:  # fmt: skip
    step = round(10.0 / rate_hz)
    first = start or datetime(2026, 5, 4, 15, 0, tzinfo=UTC)
    head = ["UTC Time", "Indicated Airspeed (kt)", "Pressure Altitude (ft)", "OAT (degC)", "Flap Notch"]
    ias = cas if calibrated is None else np.array([calibrated(v, n) for v, n in zip(cas, notch, strict=True)])
    oat = standard_temperature_k(altitude_ft * FT_M) - 273.15
    lines = [",".join([*head, *(["RPM"] if rpm_recorded else [])])]
    for i in range(0, time.size, step):
        moment = (first + timedelta(seconds=float(time[i]))).isoformat().replace("+00:00", "Z")
        cells = [moment, f"{ias[i] / KT_MPS + rng.normal(0, 0.25):.2f}", f"{altitude_ft[i] + rng.normal(0, 1.5):.1f}"]
        cells += [f"{oat[i]:.1f}", str(int(notch[i])), *([f"{rpm[i] + rng.normal(0, 5):.0f}"] if rpm_recorded else [])]
        lines.append(",".join(cells))
    path.write_text("\n".join(lines) + "\n")
    return path
