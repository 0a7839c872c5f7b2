"""A million air-data conversions against a plain NumPy expression of the same formula, in one run.

The plain expressions check nothing: no limits, no NaN policy, no tropopause. Both answers are compared first.

Run: python bench/airdata_speed.py [samples] [rounds]
"""

from __future__ import annotations

import platform
import statistics
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from airwork.airdata.airspeed import cas_from_tas_mps, tas_from_cas_mps
from airwork.airdata.altimetry import pressure_altitude_from_setting_m
from airwork.airdata.atmosphere import density_altitude_m, standard_pressure_pa
from airwork.airdata.ground_reference import ground_reference_bank_rad
from airwork.airdata.turn import load_factor, turn_radius_m
from airwork.airdata.wind import wind_triangle

P0, T0, L, R, G, A0 = 101325.0, 288.15, 0.0065, 287.05287, 9.80665, (1.4 * 287.05287 * 288.15) ** 0.5
N = G / (R * L)


def _plain_tas(cas: Any, h: Any, t: Any) -> Any:
    p = P0 * (1 - L * h / T0) ** N
    qc = P0 * ((1 + 0.2 * (cas / A0) ** 2) ** 3.5 - 1)
    return np.sqrt(5 * ((qc / p + 1) ** (2 / 7) - 1)) * np.sqrt(1.4 * R * t)


def _plain_cas(tas: Any, h: Any, t: Any) -> Any:
    qc = P0 * (1 - L * h / T0) ** N * ((1 + 0.2 * (tas / np.sqrt(1.4 * R * t)) ** 2) ** 3.5 - 1)
    return A0 * np.sqrt(5 * ((qc / P0 + 1) ** (2 / 7) - 1))


def _plain_density_altitude(p: Any, t: Any) -> Any:
    return T0 / L * (1 - (p / (R * t) / (P0 / (R * T0))) ** (1 / (N - 1)))


def _plain_triangle(course: Any, tas: Any, wd: Any, w: Any) -> Any:
    wca = np.arcsin(w * np.sin(wd - course) / tas)
    return wca, np.mod(course + wca, 2 * np.pi), tas * np.cos(wca) - w * np.cos(wd - course)


def _plain_circle(tas: Any, w: Any, r: Any, chi: Any) -> Any:
    cosine = np.sqrt(1 - (w / tas * np.sin(chi)) ** 2)
    return np.arctan((tas * cosine - w * np.cos(chi)) ** 2 / (G * r * cosine))


def _seconds(f: Callable[[], Any]) -> float:
    start = time.perf_counter()
    f()
    return time.perf_counter() - start


def main() -> None:
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 25
    rng = np.random.default_rng(2025)
    cas, h, t = rng.uniform(20, 100, n), rng.uniform(-300, 5000, n), rng.uniform(250, 315, n)
    bank, wd, course = rng.uniform(0.02, 1.2, n), rng.uniform(0, 6.28, n), rng.uniform(0, 6.28, n)
    w, p, q = rng.uniform(0, 15, n), standard_pressure_pa(h), rng.uniform(97_000, 105_000, n)
    cases: dict[str, tuple[Callable[[], Any], Callable[[], Any]]] = {
        "CAS to TAS": (lambda: tas_from_cas_mps(cas, h, t), lambda: _plain_tas(cas, h, t)),
        "TAS to CAS": (lambda: cas_from_tas_mps(cas, h, t), lambda: _plain_cas(cas, h, t)),
        "density altitude": (lambda: density_altitude_m(p, t), lambda: _plain_density_altitude(p, t)),
        "setting to pressure altitude": (
            lambda: pressure_altitude_from_setting_m(h, q),
            lambda: h + T0 / L * (1 - (q / P0) ** (1 / N)),
        ),
        "standard pressure": (lambda: standard_pressure_pa(h), lambda: P0 * (1 - L * h / T0) ** N),
        "load factor": (lambda: load_factor(bank), lambda: 1 / np.cos(bank)),
        "turn radius": (lambda: turn_radius_m(cas, bank), lambda: cas**2 / (G * np.tan(bank))),
        "wind triangle": (lambda: wind_triangle(course, cas, wd, w), lambda: _plain_triangle(course, cas, wd, w)),
        "bank round a point": (
            lambda: ground_reference_bank_rad(cas, w, 600.0, course),
            lambda: _plain_circle(cas, w, 600.0, course),
        ),
    }
    print(f"{n:,} conversions, median of {rounds} alternating rounds, NumPy {np.__version__}, {platform.machine()}")
    print(f"{'':<30}{'airwork':>12}{'plain':>12}{'ratio':>8}")
    for name, (ours, plain) in cases.items():
        np.testing.assert_allclose(np.array(ours()), np.array(plain()), rtol=1e-9, atol=1e-7)
        pairs = [(_seconds(ours), _seconds(plain)) for _ in range(rounds)]
        ratio = statistics.median(x / y for x, y in pairs)  # pair by pair: a busy machine slows both
        a, b = (statistics.median(x) for x in zip(*pairs, strict=True))
        print(f"{name:<30}{1e3 * a:9.2f} ms{1e3 * b:9.2f} ms{ratio:8.2f}")


if __name__ == "__main__":
    main()
