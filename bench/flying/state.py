"""The day of a flight, the state of the airplane, and which properties of the simulation they are read from."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from airwork.units import FT_M, HP_W, INHG_PA, KT_MPS, LB_KG, LBF_N
from flying.wind import Wind

PSF_PA = LBF_N / FT_M**2


@dataclass(frozen=True, slots=True)
class Day:
    """Weather and place of a flight."""

    wind: Wind = field(default_factory=Wind)
    isa_deviation_k: float = 0.0
    sea_level_pressure_pa: float = 101325.0
    elevation_m: float = 300.0
    latitude_rad: float = math.radians(41.1)
    longitude_rad: float = math.radians(-101.7)
    runway_heading_rad: float = math.radians(120.0)  # true
    variation_rad: float = math.radians(6.0)  # east positive
    start_utc_s: float = 1_780_327_800.0


@dataclass(slots=True)
class State:
    """What the airplane does now. SI; truth, without any instrument error."""

    time_s: float = 0.0
    latitude_rad: float = 0.0
    longitude_rad: float = 0.0
    altitude_m: float = 0.0  # geometric, above sea level
    agl_m: float = 0.0
    pressure_pa: float = 0.0
    cas_mps: float = 0.0
    ias_mps: float = 0.0
    tas_mps: float = 0.0
    north_mps: float = 0.0
    east_mps: float = 0.0
    vertical_speed_mps: float = 0.0
    heading_rad: float = 0.0
    pitch_rad: float = 0.0
    bank_rad: float = 0.0
    roll_rate_radps: float = 0.0
    pitch_rate_radps: float = 0.0
    yaw_rate_radps: float = 0.0
    angle_of_attack_rad: float = 0.0
    sideslip_rad: float = 0.0
    load_factor: float = 1.0
    lateral_g: float = 0.0
    rpm: float = 0.0
    on_ground: float = 0.0


READ: dict[str, tuple[str, float]] = {
    "time_s": ("simulation/sim-time-sec", 1.0),
    "latitude_rad": ("position/lat-geod-rad", 1.0),
    "longitude_rad": ("position/long-gc-rad", 1.0),
    "altitude_m": ("position/h-sl-ft", FT_M),
    "agl_m": ("position/h-agl-ft", FT_M),
    "pressure_pa": ("atmosphere/P-psf", PSF_PA),
    "cas_mps": ("velocities/vc-kts", KT_MPS),
    "tas_mps": ("velocities/vt-fps", FT_M),
    "north_mps": ("velocities/v-north-fps", FT_M),
    "east_mps": ("velocities/v-east-fps", FT_M),
    "vertical_speed_mps": ("velocities/h-dot-fps", FT_M),
    "heading_rad": ("attitude/psi-rad", 1.0),
    "pitch_rad": ("attitude/theta-rad", 1.0),
    "bank_rad": ("attitude/phi-rad", 1.0),
    "roll_rate_radps": ("velocities/p-rad_sec", 1.0),
    "pitch_rate_radps": ("velocities/q-rad_sec", 1.0),
    "yaw_rate_radps": ("velocities/r-rad_sec", 1.0),
    "angle_of_attack_rad": ("aero/alpha-rad", 1.0),
    "sideslip_rad": ("aero/beta-rad", 1.0),
    "load_factor": ("accelerations/Nz", 1.0),
    "lateral_g": ("accelerations/Ny", 1.0),
    "rpm": ("propulsion/engine/engine-rpm", 1.0),
    "on_ground": ("gear/wow", 1.0),
}
RECORD_TOO: dict[str, tuple[str, float]] = {
    "oat_k": ("atmosphere/T-R", 5.0 / 9.0),
    "density_kgpm3": ("atmosphere/rho-slugs_ft3", LBF_N / FT_M**4),
    "manifold_pressure_pa": ("propulsion/engine/map-inhg", INHG_PA),
    "fuel_flow_kgps": ("propulsion/engine/fuel-flow-rate-pps", LB_KG),
    "power_w": ("propulsion/engine/power-hp", HP_W),
    "flap_deg": ("fcs/flap-pos-deg", 1.0),
    "mass_kg": ("inertia/weight-lbs", LB_KG),
    "wind_north_mps": ("atmosphere/total-wind-north-fps", FT_M),
    "wind_east_mps": ("atmosphere/total-wind-east-fps", FT_M),
    "wind_down_mps": ("atmosphere/total-wind-down-fps", FT_M),
    "throttle": ("fcs/throttle-cmd-norm", 1.0),
    "elevator": ("fcs/elevator-cmd-norm", 1.0),
    "aileron": ("fcs/aileron-cmd-norm", 1.0),
    "rudder": ("fcs/rudder-cmd-norm", 1.0),
    "trim": ("fcs/pitch-trim-cmd-norm", 1.0),
}
