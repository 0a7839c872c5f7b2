"""From the path of a driven flight to the full set of columns: attitude, loads, engine and fuel."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from airwork.units import FT_M, HP_W, INHG_PA, USGAL_M3
from flying.columns import complete
from flying.kinematic import EARTH_M, STEP_S, Driver
from flying.layouts import FUEL_KGPM3
from flying.simulator import G_MPS2

Array = NDArray[np.float64]


def columns(driver: Driver) -> dict[str, Array]:
    """The same columns as the simulator's, worked out from the path and the airplane's numbers."""
    table = np.array(driver.rows)
    names = ("time_s", "east_m", "north_m", "altitude_m", "ias_mps", "tas_mps", "north_mps", "east_mps",
             "vertical_speed_mps", "heading_rad", "bank_rad", "notch", "on_ground", "slip", "tank", "idle",
             "wind_north_mps", "wind_east_mps")  # fmt: skip
    c = {name: table[:, i].copy() for i, name in enumerate(names)}
    day, airplane, n = driver.day, driver.airplane, table.shape[0]
    rng = np.random.default_rng(len(driver.rows))
    c["time_s"] = np.round(c["time_s"], 3)
    c["latitude_rad"] = day.latitude_rad + c["north_m"] / EARTH_M
    c["longitude_rad"] = day.longitude_rad + c["east_m"] / (EARTH_M * math.cos(day.latitude_rad))
    c["agl_m"] = c["altitude_m"] - day.elevation_m + 1.2
    base_k = 288.15 + day.isa_deviation_k
    c["oat_k"] = base_k - 0.0065 * c["altitude_m"]
    c["pressure_pa"] = day.sea_level_pressure_pa * (c["oat_k"] / base_k) ** 5.2559
    c["density_kgpm3"] = c["pressure_pa"] / (287.05287 * c["oat_k"])
    flying = c["on_ground"] < 0.5
    tas = np.maximum(c["tas_mps"], 1.0)
    path = np.where(flying, np.arcsin(np.clip(c["vertical_speed_mps"] / np.maximum(tas, 10.0), -0.5, 0.5)), 0.0)
    path_rate = gaussian_filter1d(np.gradient(path, STEP_S), 4.0)
    heading = np.unwrap(c["heading_rad"])
    turn_rate = gaussian_filter1d(np.gradient(heading, STEP_S), 2.0)
    up = np.cos(path) + tas * path_rate / G_MPS2
    side = tas * np.cos(path) * turn_rate / G_MPS2
    c["load_factor"] = np.where(flying, np.hypot(up, side), 1.0)
    mass = np.full(n, driver.mass_kg)
    notch = c["notch"].astype(int)
    area = airplane.truth["wing_area_ft2"] * FT_M**2
    q_s = 0.5 * c["density_kgpm3"] * np.maximum(tas, 12.0) ** 2 * area
    lift = c["load_factor"] * mass * G_MPS2 / q_s
    alpha, warning = np.zeros(n), np.zeros(n)
    for each in set(notch.tolist()):
        grid = np.linspace(-0.2, airplane.stall_rad(each), 300)
        at = notch == each
        alpha[at] = np.interp(lift[at], [airplane.lift(float(a), each) for a in grid], grid)
        past = np.maximum(lift[at] / airplane.lift_max[each] - 1.0, 0.0)
        alpha[at] += 0.25 * np.minimum(past, 0.4)  # slower than the wing can carry: stalled
        warning[at] = alpha[at] > airplane.knee_rad(each)
    c["angle_of_attack_rad"] = gaussian_filter1d(np.where(flying, alpha, 0.0), 2.0)
    c["pitch_rad"] = np.where(flying, path + c["angle_of_attack_rad"] * np.cos(c["bank_rad"]), 0.03)
    c["pitch_rad"] = gaussian_filter1d(c["pitch_rad"], 2.0)
    c["stall_warning"] = np.where(flying, warning, 0.0)
    c["sideslip_rad"] = -c["slip"] + 0.01 * driver.lack * gaussian_filter1d(rng.standard_normal(n), 20.0) * 6.0
    c["lateral_g"] = -0.45 * c["sideslip_rad"]
    c["roll_rate_radps"] = np.gradient(c["bank_rad"], STEP_S)
    c["pitch_rate_radps"] = np.gradient(c["pitch_rad"], STEP_S)
    c["yaw_rate_radps"] = turn_rate
    c["cas_mps"] = tas * np.sqrt(c["density_kgpm3"] / 1.225)
    c["flap_deg"] = gaussian_filter1d(np.array(airplane.flap_deg)[notch], 8.0)
    c["wind_down_mps"] = np.zeros(n)
    _engine(driver, c, lift, q_s, path, mass)
    for name in ("throttle", "elevator", "aileron", "rudder", "trim"):
        c[name] = np.full(n, math.nan)
    c["heading_rad"] = np.mod(heading, 2.0 * math.pi)
    for name in ("east_m", "north_m", "notch", "slip", "idle"):
        del c[name]
    return complete(c, driver.setting_pa, day.variation_rad)


def _engine(driver: Driver, c: dict[str, Array], lift: Array, q_s: Array, path: Array, mass: Array) -> None:
    """Thrust from the equation of motion, then engine speed (or manifold pressure), power, fuel and mass."""
    airplane, truth = driver.airplane, driver.airplane.truth
    notch, tas = c["notch"].astype(int), np.maximum(c["tas_mps"], 5.0)
    cd = truth["CD0_flaps_up"] + np.array(truth["delta_CD_by_flap_notch"])[notch]
    cd = cd + truth["CD_induced_factor_k"] * np.minimum(lift, 2.0) ** 2
    quickening = gaussian_filter1d(np.gradient(c["tas_mps"], STEP_S), 6.0)
    thrust = q_s * cd + mass * (G_MPS2 * np.sin(path) + quickening)
    thrust = np.where(c["idle"] > 0.5, 0.0, np.maximum(thrust, 0.0))
    rolling = c["on_ground"] > 0.5
    thrust = np.where(rolling & (c["idle"] < 0.5), mass * 2.2, thrust)
    thrust = gaussian_filter1d(thrust, 5.0)
    density, d = c["density_kgpm3"], truth["prop_diameter_ft"] * FT_M
    sigma = density / 1.225
    full_w = (
        truth["rated_power_hp"] * HP_W * (sigma - truth["altitude_dropoff_C"]) / (1.0 - truth["altitude_dropoff_C"])
    )
    if truth["fixed_pitch"]:
        engine = airplane.engine()
        a0, a1, a2 = engine.propeller.thrust_poly
        c0, c1, c2 = engine.propeller.power_poly
        b, rest = a1 * tas / d, a2 * (tas / d) ** 2 - thrust / (density * d**4)
        rev = (-b + np.sqrt(np.maximum(b * b - 4.0 * a0 * rest, 0.0))) / (2.0 * a0)
        rev = np.clip(rev, 11.5, truth["rated_rpm"] / 60.0)
        ratio = tas / (rev * d)
        power_w = np.clip(density * rev**3 * d**5 * (c0 + c1 * ratio + c2 * ratio**2), 0.0, full_w)
        c["rpm"] = rev * 60.0
        c["manifold_pressure_pa"] = np.full_like(rev, math.nan)
        percent = 100.0 * power_w / engine.rated_power_w
        still, slope = engine.fuel_gph["full_rich"]
    else:
        c["rpm"] = np.where(c["idle"] > 0.5, 2100.0, 2450.0)
        power_w = np.clip(thrust * tas / 0.80, 0.0, full_w)
        percent = 100.0 * power_w / (truth["rated_power_hp"] * HP_W)
        height_kft = c["altitude_m"] / FT_M / 1000.0
        share = percent / 100.0 * truth["rated_rpm"] / c["rpm"] - 0.006 * height_kft
        zero, rated = truth["zero_power_manifold_pressure_inhg"], truth["rated_manifold_pressure_inhg"]
        c["manifold_pressure_pa"] = np.clip(zero + share * (rated - zero), 9.0, 29.0) * INHG_PA
        still, slope = 2.0, 0.155
    c["power_w"] = power_w
    gph = still + slope * percent
    c["fuel_flow_kgps"] = gph * USGAL_M3 * FUEL_KGPM3 / 3600.0
    burned = np.cumsum(c["fuel_flow_kgps"]) * STEP_S
    c["mass_kg"] = mass - burned
    left = (c["tank"] == 1.0) + 0.5 * (c["tank"] == 3.0)
    right = (c["tank"] == 2.0) + 0.5 * (c["tank"] == 3.0)
    c["fuel_left_kg"] = 45.0 - np.cumsum(c["fuel_flow_kgps"] * left) * STEP_S
    c["fuel_right_kg"] = 45.0 - np.cumsum(c["fuel_flow_kgps"] * right) * STEP_S
