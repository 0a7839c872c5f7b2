"""Level flight and climb of the invented airplanes from the numbers their tables were computed from.

A few lines of their own, sharing nothing with airwork's performance model: `tests/sources/airplane_truth.toml`.
"""

from __future__ import annotations

import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from airwork.airdata.atmosphere import density_ratio, standard_temperature_k
from airwork.units import FPM_MPS, FT_M, HP_W, KT_MPS, LB_KG

G0 = 9.80665


@lru_cache(maxsize=1)
def truths() -> dict[str, dict[str, Any]]:
    """name -> truth."""
    return tomllib.loads((Path(__file__).parent / "sources" / "airplane_truth.toml").read_text())


def _air(altitude_ft: float, isa_k: float) -> float:
    h = altitude_ft * FT_M
    return float(density_ratio(h, float(standard_temperature_k(h)) + isa_k))


def _drag(t: dict[str, Any], v: float, rho: float, weight_lb: float, notch: int) -> float:
    q = 0.5 * rho * v**2 * t["wing_area_ft2"] * FT_M**2
    cl = weight_lb * LB_KG * G0 / q
    cd = t["CD0_flaps_up"] + t["delta_CD_by_flap_notch"][notch] + t["CD_induced_factor_k"] * cl**2
    return float(q * cd)


def true_level(
    t: dict[str, Any], cas_mps: float, weight_lb: float, altitude_ft: float, isa_k: float = 0.0, notch: int = 0
) -> tuple[float, float]:
    """(RPM, power in W) of level flight, fixed pitch: T = D with the polynomials of the truth."""
    sigma = _air(altitude_ft, isa_k)
    rho, v, d = 1.225 * sigma, cas_mps / np.sqrt(sigma), t["prop_diameter_ft"] * FT_M
    drag, a, u = _drag(t, v, rho, weight_lb, notch), t["thrust_coefficient_poly_in_J"], v / d
    n = (-a[1] * u + np.sqrt((a[1] * u) ** 2 - 4 * a[0] * (a[2] * u**2 - drag / (rho * d**4)))) / (2 * a[0])
    c, j = t["power_coefficient_poly_in_J"], u / n
    return float(60 * n), float((c[0] + c[1] * j + c[2] * j**2) * rho * n**3 * d**5)


def true_climb(t: dict[str, Any], cas_mps: float, weight_lb: float, altitude_ft: float) -> tuple[float, float]:
    """(RPM, rate in m/s) at full throttle, flaps up, fixed pitch, standard temperature."""
    sigma = _air(altitude_ft, 0.0)
    rho, v, d = 1.225 * sigma, cas_mps / np.sqrt(sigma), t["prop_diameter_ft"] * FT_M
    full = (sigma - t["altitude_dropoff_C"]) / (1 - t["altitude_dropoff_C"])
    torque = t["rated_power_hp"] * HP_W * full / (t["rated_rpm"] / 60) / (rho * d**5)
    c, u = t["power_coefficient_poly_in_J"], v / d
    n = (-c[1] * u + np.sqrt((c[1] * u) ** 2 - 4 * c[0] * (c[2] * u**2 - torque))) / (2 * c[0])
    a, j = t["thrust_coefficient_poly_in_J"], u / n
    thrust = (a[0] + a[1] * j + a[2] * j**2) * rho * n**2 * d**4
    return float(60 * n), float(v * (thrust - _drag(t, v, rho, weight_lb, 0)) / (weight_lb * LB_KG * G0))


def readings(
    t: dict[str, Any], full: int, *, weight_lb: float = 2200.0, altitude_ft: float = 3000.0
) -> list[dict[str, Any]]:
    """Exact readings an instructor would take, as `[[observations]]`: five clean, two with full flaps, one climb."""
    oat = float(standard_temperature_k(altitude_ft * FT_M)) - 273.15
    base = {"weight_lb": weight_lb, "pressure_altitude_ft": altitude_ft, "oat_c": oat}
    rows = []
    for notch, speeds in ((0, (60, 68, 78, 92, 106)), (full, (54, 76))):
        for kcas in speeds:
            rpm, _ = true_level(t, kcas * KT_MPS, weight_lb, altitude_ft, notch=notch)
            rows.append({**base, "kind": "level", "flap_notch": notch, "kcas": float(kcas), "rpm": rpm})
    rpm, rate = true_climb(t, 76 * KT_MPS, weight_lb, altitude_ft)
    climb = {"kind": "full_throttle_climb", "flap_notch": 0, "kcas": 76.0, "rpm": rpm}
    rows.append({**base, **climb, "rate_of_climb_fpm": rate / FPM_MPS})
    return rows
