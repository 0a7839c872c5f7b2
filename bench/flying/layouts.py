"""CSV layouts: which columns, under which names, in which units. A layout is a tuple of (header, getter, decimals)."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from airwork.units import to_unit

Array = NDArray[np.float64]
Getter = Callable[[Mapping[str, Array]], Array]
Layout = tuple[tuple[str, Getter, int], ...]
FUEL_KGPM3 = 719.0  # avgas, 6.0 lb/US gal; common practice, no source


def unit(name: str, symbol: str) -> Getter:
    """A column in a printed unit."""
    zero, one = to_unit(0.0, symbol), to_unit(1.0, symbol)
    return lambda c: c[name] * (one - zero) + zero


def plain(name: str) -> Getter:
    return lambda c: c[name]


def gallons(name: str) -> Getter:
    """A column of kilograms of fuel in US gallons (or kg/h in gal/h)."""
    one = to_unit(1.0 / FUEL_KGPM3, "gal")
    return lambda c: c[name] * one


def litres(name: str) -> Getter:
    one = to_unit(1.0 / FUEL_KGPM3, "L")
    return lambda c: c[name] * one


def scaled(name: str, factor: float) -> Getter:
    return lambda c: c[name] * factor


PANEL: Layout = (
    ("Latitude (deg)", unit("latitude_rad", "deg"), 7), ("Longitude (deg)", unit("longitude_rad", "deg"), 7),
    ("GPS Altitude (ft)", unit("gps_altitude_m", "ft"), 1), ("Groundspeed (kt)", unit("groundspeed_mps", "kt"), 2),
    ("Ground Track (deg)", unit("track_rad", "deg"), 1),
    ("Indicated Altitude (ft)", unit("indicated_altitude_m", "ft"), 1),
    ("Pressure Altitude (ft)", unit("pressure_altitude_m", "ft"), 1),
    ("Altimeter Setting (inHg)", unit("setting_pa", "inHg"), 2), ("OAT (degC)", unit("oat_k", "°C"), 1),
    ("Indicated Airspeed (kt)", unit("ias_mps", "kt"), 2), ("True Airspeed (kt)", unit("tas_mps", "kt"), 2),
    ("Vertical Speed (ft/min)", unit("vertical_speed_mps", "fpm"), 0), ("Pitch (deg)", unit("pitch_rad", "deg"), 2),
    ("Roll (deg)", unit("bank_rad", "deg"), 2), ("Magnetic Heading (deg)", unit("heading_mag_rad", "deg"), 1),
    ("Normal Acceleration (g)", plain("load_factor"), 3), ("Lateral Acceleration (g)", plain("lateral_g"), 3),
    ("Turn Rate (deg/s)", unit("turn_rate_radps", "deg"), 2),
    ("Angle of Attack (deg)", unit("angle_of_attack_rad", "deg"), 2), ("Engine Speed (RPM)", plain("rpm"), 0),
    ("Manifold Pressure (inHg)", unit("manifold_pressure_pa", "inHg"), 2),
    ("Fuel Flow (gal/hr)", gallons("fuel_flow_kgph"), 2), ("Fuel Left (gal)", gallons("fuel_left_kg"), 2),
    ("Fuel Right (gal)", gallons("fuel_right_kg"), 2), ("Tank Selector", plain("tank"), 0),
    ("Flap (deg)", plain("flap_deg"), 0), ("Stall Warning", plain("stall_warning"), 0),
    ("On Ground", plain("on_ground"), 0),
)  # fmt: skip

GPS: Layout = (
    ("Latitude (deg)", unit("latitude_rad", "deg"), 7), ("Longitude (deg)", unit("longitude_rad", "deg"), 7),
    ("GPS Altitude (ft)", unit("gps_altitude_m", "ft"), 0), ("Groundspeed (kt)", unit("groundspeed_mps", "kt"), 1),
    ("Ground Track (deg)", unit("track_rad", "deg"), 0),
)  # fmt: skip

MPH: Layout = (
    ("Lat", unit("latitude_rad", "deg"), 6), ("Lon", unit("longitude_rad", "deg"), 6),
    ("AltInd (ft)", unit("indicated_altitude_m", "ft"), 0), ("AltGPS (ft)", unit("gps_altitude_m", "ft"), 0),
    ("IAS (mph)", unit("ias_mps", "mph"), 1), ("GndSpd (mph)", unit("groundspeed_mps", "mph"), 1),
    ("TRK (deg)", unit("track_rad", "deg"), 0), ("HDG (deg mag)", unit("heading_mag_rad", "deg"), 0),
    ("VSpd (fpm)", unit("vertical_speed_mps", "fpm"), 0), ("Pitch (deg)", unit("pitch_rad", "deg"), 1),
    ("Roll (deg)", unit("bank_rad", "deg"), 1), ("NormAc (g)", scaled("load_factor", 1.0), 2),
    ("LatAc (g)", plain("lateral_g"), 2), ("OAT (F)", unit("oat_k", "°F"), 0), ("RPM", plain("rpm"), 0),
    ("MAP (inHg)", unit("manifold_pressure_pa", "inHg"), 1), ("FFlow (gph)", gallons("fuel_flow_kgph"), 1),
    ("FQtyL (gal)", gallons("fuel_left_kg"), 1), ("FQtyR (gal)", gallons("fuel_right_kg"), 1),
)  # fmt: skip

# Names and units apart: the units stand in a row of their own.
METRIC: Layout = (
    ("latitude|deg", unit("latitude_rad", "deg"), 6), ("longitude|deg", unit("longitude_rad", "deg"), 6),
    ("baro_altitude|m", unit("indicated_altitude_m", "m"), 1), ("gps_altitude|m", unit("gps_altitude_m", "m"), 1),
    ("indicated_airspeed|km/h", unit("ias_mps", "km/h"), 1), ("ground_speed|km/h", unit("groundspeed_mps", "km/h"), 1),
    ("track|deg", unit("track_rad", "deg"), 1), ("vertical_speed|m/s", plain("vertical_speed_mps"), 2),
    ("pitch|deg", unit("pitch_rad", "deg"), 1), ("roll|deg", unit("bank_rad", "deg"), 1),
    ("outside_air_temperature|°C", unit("oat_k", "°C"), 1), ("engine_speed|1/min", plain("rpm"), 0),
    ("manifold_pressure|hPa", unit("manifold_pressure_pa", "hPa"), 0), ("fuel_flow|L/h", litres("fuel_flow_kgph"), 1),
    ("fuel_left|L", litres("fuel_left_kg"), 1), ("fuel_right|L", litres("fuel_right_kg"), 1),
)  # fmt: skip

# As the flight dynamics library itself would print them: properties and its units.
PROPERTIES: Layout = (
    ("position/lat-geod-deg", unit("latitude_rad", "deg"), 8),
    ("position/long-gc-deg", unit("longitude_rad", "deg"), 8),
    ("position/h-sl-ft", unit("altitude_m", "ft"), 3), ("position/h-agl-ft", unit("agl_m", "ft"), 3),
    ("velocities/vc-kts", unit("ias_mps", "kt"), 4), ("velocities/vt-fps", unit("tas_mps", "ft"), 4),
    ("velocities/v-north-fps", unit("north_mps", "ft"), 4), ("velocities/v-east-fps", unit("east_mps", "ft"), 4),
    ("velocities/h-dot-fps", unit("vertical_speed_mps", "ft"), 4), ("attitude/phi-rad", plain("bank_rad"), 6),
    ("attitude/theta-rad", plain("pitch_rad"), 6), ("attitude/psi-rad", plain("heading_rad"), 6),
    ("velocities/p-rad_sec", plain("roll_rate_radps"), 6), ("velocities/q-rad_sec", plain("pitch_rate_radps"), 6),
    ("velocities/r-rad_sec", plain("yaw_rate_radps"), 6), ("aero/alpha-rad", plain("angle_of_attack_rad"), 6),
    ("aero/beta-rad", plain("sideslip_rad"), 6), ("accelerations/Nz", plain("load_factor"), 5),
    ("atmosphere/T-R", scaled("oat_k", 1.8), 3), ("atmosphere/pressure-altitude", unit("pressure_altitude_m", "ft"), 2),
    ("propulsion/engine/engine-rpm", plain("rpm"), 2),
    ("propulsion/engine/map-inhg", unit("manifold_pressure_pa", "inHg"), 4), ("fcs/flap-pos-deg", plain("flap_deg"), 2),
    ("fcs/throttle-cmd-norm", plain("throttle"), 4), ("gear/wow", plain("on_ground"), 0),
)  # fmt: skip
