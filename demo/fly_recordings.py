"""Fly the demo's recordings in the flight dynamics library JSBSim and write them small.

    python demo/fly_recordings.py                 # all of them, into src/airwork/demo_files/recordings and demo/truth
    python demo/fly_recordings.py --only pattern

The field and the lake are real, everything else is invented: people, airplanes, weather. Not for navigation. The same
script gives the same bytes on the same machine and library versions.
"""

from __future__ import annotations

import argparse
import gzip
import io
import math
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "bench"))

from flying.columns import standard_altitude_m, standard_pressure_pa
from flying.flight import Flown
from flying.ground import Place, Point, field_of
from flying.layouts import Layout, gallons, plain, unit
from flying.pilot import Pilot
from flying.plan import Plan, variation_rad
from flying.sensors import Sensors
from flying.state import Day
from flying.wind import Wind

from airwork.lesson.places import find_place
from airwork.units import FT_M, INHG_PA, KT_MPS, LB_KG, SM_M
from flying import basic, export, ground_reference, journey, lessons, pattern, performance, stalls

ROOT = Path(__file__).resolve().parents[1]
FIELD = "KOGA"
NORTH_SHORE = (41.37, -101.77)  # middle of the practice area, degrees
RATE_HZ = 2.0
FUEL_LB_PER_GAL = 6.0
MPH_MPS = SM_M / 3600.0
SENSORS = Sensors(gps_height_offset_m=-9.0)


@dataclass(frozen=True, slots=True)
class Weather:
    """Surface report, true direction; gusts as a standard deviation; wind about 2,000 ft above the field."""

    from_deg: float
    kt: float
    gust_mps: float
    oat_c: float
    setting_inhg: float
    aloft_kt: float
    veer_deg_per_km: float = 10.0
    thermal_mps: float = 0.0


@dataclass(frozen=True, slots=True)
class Outing:
    """One recording of the demo."""

    name: str
    airplane: str
    skill: float
    seed: int
    start_utc: datetime
    runway: str
    weather: Weather
    payload_lb: float
    fuel_gal: tuple[float, float]
    fly: Callable[[Pilot, Point], None]
    gps_only: bool = False


def day_of(outing: Outing) -> Day:
    """The day at the field, so that its altimeter setting and temperature are those reported."""
    place, weather = find_place(FIELD), outing.weather
    runway = place.runway(outing.runway)
    assert runway is not None
    assert runway.heading_rad is not None
    assert runway.takeoff_m is not None
    assert place.elevation_m is not None
    elevation = place.elevation_m
    deviation_k = weather.oat_c - (15.0 - 0.0065 * elevation)
    field_pa = standard_pressure_pa(standard_altitude_m(weather.setting_inhg * INHG_PA) + elevation)
    sea_level_pa = field_pa / (1.0 - 0.0065 * elevation / (288.15 + deviation_k)) ** 5.25588
    # the runway's start lies half its length behind the field's reference point
    back_m, heading = 0.5 * runway.takeoff_m, runway.heading_rad
    latitude = place.latitude_rad - back_m * math.cos(heading) / 6_371_000.0
    longitude = place.longitude_rad - back_m * math.sin(heading) / (6_371_000.0 * math.cos(place.latitude_rad))
    wind = Wind(
        from_rad=math.radians(weather.from_deg), speed_mps=weather.aloft_kt * KT_MPS, gust_mps=weather.gust_mps,
        shear_exponent=max(0.05, math.log(weather.aloft_kt / max(weather.kt, 1.0)) / math.log(60.0)),
        veer_rad_per_km=math.radians(weather.veer_deg_per_km), growth_per_km=0.2, thermal_mps=weather.thermal_mps,
    )  # fmt: skip
    return Day(
        wind=wind, isa_deviation_k=deviation_k, sea_level_pressure_pa=sea_level_pa, elevation_m=elevation,
        latitude_rad=latitude, longitude_rad=longitude, runway_heading_rad=heading,
        variation_rad=variation_rad(math.degrees(latitude), math.degrees(longitude)),
        start_utc_s=outing.start_utc.timestamp(),
    )  # fmt: skip


def fly(outing: Outing) -> Flown:
    """Fly one outing."""
    plan = Plan(
        outing.name, outing.name, outing.airplane, outing.skill, day_of(outing), outing.seed,
        about={"wind_kt": outing.weather.kt, "field": FIELD},
    )  # fmt: skip
    p = lessons.begin(plan)
    model = p.sim.model
    node = "inertia/pointmass-weight-lbs"
    p.sim.fdm[node] = outing.payload_lb
    p.sim.set_fuel(*(gal * FUEL_LB_PER_GAL * LB_KG for gal in outing.fuel_gal))
    p.sim.select_tank(1 if not model.selector_both else 3)
    place = Place(plan.day.latitude_rad, plan.day.longitude_rad)
    outing.fly(p, place.of(*(math.radians(v) for v in NORTH_SHORE)))
    return lessons.finish(p, plan, sensors=SENSORS)


# --- the flights -------------------------------------------------------------------------------------------------


def _msl(altitude_ft: float) -> float:
    return altitude_ft * FT_M


def _out(p: Pilot, area: Point, altitude_ft: float) -> None:
    pattern.takeoff(p)
    here = field_of(p).here(p)
    pattern.depart(p, _msl(altitude_ft), journey.bearing_rad(here, area))
    journey.fly_to(p, area, within_m=7000.0)


def _home(p: Pilot) -> None:
    journey.home(p, side=-1.0)
    pattern.landing(p)


def _pause(p: Pilot, seconds: float = 15.0) -> None:
    """Level flight between exercises, at the exercises' speed."""
    p.level(altitude_m=p.altitude_m, ias_mps=p.sim.model.maneuvering_mps, heading_rad=p.state.heading_rad)
    p.power_for(p.ias_mps)
    p.fly(seconds)


def first_hours(p: Pilot, area: Point) -> None:
    """A hot afternoon: level flight, climbs, descents, turns, a glide."""
    _out(p, area, 5500.0)
    basic.straight_and_level(p, 120.0)
    for turn_deg, bank_deg in ((90.0, 20.0), (-180.0, 25.0), (360.0, 30.0)):
        basic.turn_level(p, math.radians(turn_deg), math.radians(bank_deg))
        _pause(p, 20.0)
    basic.climb_to(p, _msl(6300.0))
    basic.straight_and_level(p, 80.0)
    basic.descend_to(p, _msl(5600.0), sink_mps=2.5)
    journey.back_to_area(p, area, 9000.0)
    _pause(p)
    basic.turn_level(p, math.radians(-270.0), math.radians(25.0))
    _pause(p, 20.0)
    journey.to_altitude(p, _msl(6500.0))
    basic.glide(p, 900.0 * FT_M)
    basic.straight_and_level(p, 70.0)
    _home(p)


def slow_flight_day(p: Pilot, area: Point) -> None:
    """Slow flight clean and with flaps, first stalls, steep turns tried, then ground reference low over the fields."""
    _out(p, area, 6500.0)
    _pause(p)
    basic.clearing_turn(p)
    basic.slow_flight(p, notch=0, turns_deg=(90.0, -90.0))
    _pause(p)
    basic.slow_flight(p, notch=2, turns_deg=(-45.0, 45.0))
    journey.back_to_area(p, area, 9000.0)
    journey.to_altitude(p, _msl(6800.0))
    basic.clearing_turn(p, first=1.0)
    stalls.power_off_stall(p, notch=2)
    _pause(p)
    basic.clearing_turn(p)
    stalls.power_on_stall(p)
    _pause(p)
    basic.tank_change(p, 2)
    performance.steep_turn(p, 1.0)
    _pause(p, 20.0)
    performance.steep_turn(p, -1.0)
    journey.back_to_area(p, area, 9000.0)
    journey.to_altitude(p, _msl(4250.0))
    _pause(p)
    ground_reference.turns_around_point(p, -1.0, turns=2.0)
    _pause(p, 25.0)
    ground_reference.s_turns(p, 1.0)
    _home(p)


def stalls_over_the_lake(p: Pilot, area: Point) -> None:
    """The demo's lesson as it stands in its file, at its altitudes and speeds."""
    fast = 110.0 * MPH_MPS
    _out(p, area, 6500.0)
    _pause(p)
    basic.clearing_turn(p)
    basic.slow_flight(p, notch=3, turns_deg=(90.0, -90.0), ias_mps=52.0 * MPH_MPS, straight_s=40.0)
    journey.to_altitude(p, _msl(6800.0))
    for stall in (stalls.power_off_stall, stalls.power_off_stall, stalls.power_on_stall, stalls.power_on_stall):
        journey.back_to_area(p, area, 9000.0)
        _pause(p)
        basic.clearing_turn(p)
        stall(p)
    basic.tank_change(p, 2)
    journey.to_altitude(p, _msl(6500.0))
    journey.back_to_area(p, area, 9000.0)
    p.level(altitude_m=_msl(6500.0), ias_mps=fast, heading_rad=p.state.heading_rad)
    p.power_for(fast)
    p.fly(25.0)
    basic.clearing_turn(p, first=1.0)
    p.level(altitude_m=_msl(6500.0), ias_mps=fast, heading_rad=p.state.heading_rad)
    p.power_for(fast)
    p.fly(20.0)
    performance.steep_turn(p, -1.0, ias_mps=fast)
    p.fly(8.0)
    performance.steep_turn(p, 1.0, ias_mps=fast)
    journey.back_to_area(p, area, 9000.0)
    journey.to_altitude(p, _msl(5500.0))
    _pause(p)
    ground_reference.turns_around_point(p, -1.0, turns=2.0)
    journey.to_altitude(p, _msl(7000.0))
    journey.back_to_area(p, area, 9000.0)
    _pause(p)
    performance.emergency_descent(p, 1450.0 * FT_M, -1.0)
    _home(p)


def commercial(p: Pilot, area: Point) -> None:
    """Another student: chandelles, lazy eights, a steep spiral, an accelerated stall."""
    _out(p, area, 6300.0)
    _pause(p)
    basic.clearing_turn(p)
    performance.chandelle(p, -1.0)
    _pause(p, 20.0)
    basic.clearing_turn(p, first=1.0)
    performance.chandelle(p, 1.0)
    journey.back_to_area(p, area, 9000.0)
    journey.to_altitude(p, _msl(6500.0))
    basic.clearing_turn(p)
    performance.lazy_eight(p, loops=2)
    journey.back_to_area(p, area, 9000.0)
    journey.to_altitude(p, _msl(7000.0))
    basic.clearing_turn(p)
    stalls.accelerated_stall(p, 1.0)
    _pause(p)
    basic.tank_change(p, 2)
    performance.steep_turn(p, 1.0, bank_deg=50.0)
    performance.steep_turn(p, -1.0, bank_deg=50.0)
    journey.back_to_area(p, area, 9000.0)
    journey.to_altitude(p, _msl(8600.0))
    _pause(p)
    performance.steep_spiral(p, 1.0)
    _home(p)


def pattern_hour(p: Pilot, area: Point) -> None:
    """Seven times round, one approach broken off. Kept by a satellite receiver only."""
    del area
    pattern.takeoff(p)
    for lap in range(7):
        pattern.fly_pattern(p, side=-1.0)
        if lap == 6:
            pattern.landing(p)
        elif lap == 3:
            pattern.go_around(p, at_height_m=35.0)
        else:
            pattern.touch_and_go(p)


MORNING = Weather(240.0, 11.0, 0.7, 17.0, 30.06, 17.0)  # METAR of the lesson: 24011G17KT 17/06 A3006
OUTINGS = (
    Outing("2025-07-08_first_hours", "wrenbrook_108", 0.2, 3, datetime(2025, 7, 8, 21, 20, tzinfo=UTC), "13",
           Weather(160.0, 12.0, 0.9, 33.0, 29.93, 17.0, thermal_mps=0.7), 329.0, (10.0, 10.0), first_hours),
    Outing("2025-08-14_slow_flight", "larkmoor_155", 0.35, 7, datetime(2025, 8, 14, 15, 5, tzinfo=UTC), "13",
           Weather(150.0, 8.0, 0.5, 24.0, 30.11, 14.0, thermal_mps=0.2), 351.0, (17.0, 17.0), slow_flight_day),
    Outing("2025-09-16_commercial", "larkmoor_155", 0.7, 1, datetime(2025, 9, 16, 14, 10, tzinfo=UTC), "31",
           Weather(330.0, 9.0, 0.3, 14.0, 30.21, 15.0), 372.0, (18.0, 18.0), commercial),
    Outing("2025-09-18_pattern", "wrenbrook_108", 0.68, 4, datetime(2025, 9, 18, 22, 30, tzinfo=UTC), "26",
           Weather(280.0, 13.0, 0.7, 27.0, 29.98, 18.0, thermal_mps=0.3), 148.0, (11.0, 11.0), pattern_hour, True),
    Outing("2025-09-20_stalls_over_the_lake", "larkmoor_155", 0.66, 3, datetime(2025, 9, 20, 14, 40, tzinfo=UTC), "26",
           MORNING, 351.0, (18.0, 16.5), stalls_over_the_lake),
)  # fmt: skip


# --- writing -----------------------------------------------------------------------------------------------------


def layout(airplane: str) -> Layout:
    """What the invented airplanes' panel recorder keeps; airspeed in the dial's unit."""
    dial = "mph" if airplane == "larkmoor_155" else "kt"
    return (
        ("Latitude (deg)", unit("latitude_rad", "deg"), 6), ("Longitude (deg)", unit("longitude_rad", "deg"), 6),
        ("GPS Altitude (ft)", unit("gps_altitude_m", "ft"), 0),
        ("Indicated Altitude (ft)", unit("indicated_altitude_m", "ft"), 0),
        ("Altimeter Setting (inHg)", unit("setting_pa", "inHg"), 2), ("OAT (degC)", unit("oat_k", "°C"), 1),
        (f"Indicated Airspeed ({dial})", unit("ias_mps", dial), 1),
        ("Groundspeed (kt)", unit("groundspeed_mps", "kt"), 1),
        ("Ground Track (deg)", unit("track_rad", "deg"), 0),
        ("Magnetic Heading (deg)", unit("heading_mag_rad", "deg"), 0),
        ("Vertical Speed (ft/min)", unit("vertical_speed_mps", "fpm"), 0), ("Pitch (deg)", unit("pitch_rad", "deg"), 1),
        ("Roll (deg)", unit("bank_rad", "deg"), 1), ("Normal Acceleration (g)", plain("load_factor"), 2),
        ("Lateral Acceleration (g)", plain("lateral_g"), 2), ("Engine Speed (RPM)", plain("rpm"), 0),
        ("Fuel Flow (gal/hr)", gallons("fuel_flow_kgph"), 1), ("Fuel Left (gal)", gallons("fuel_left_kg"), 1),
        ("Fuel Right (gal)", gallons("fuel_right_kg"), 1), ("Tank Selector", plain("tank"), 0),
        ("Flap (deg)", plain("flap_deg"), 0), ("Stall Warning", plain("stall_warning"), 0),
    )  # fmt: skip


def write(flown: Flown, outing: Outing, recordings: Path, truths: Path) -> Path:
    """The recording (compressed CSV, or a GPX track) and its truth."""
    export.write_truth(flown, truths / f"{flown.name}.truth.json")
    if outing.gps_only:
        path = recordings / f"{flown.name}.gpx"
        export.write_gpx(flown, path, rate_hz=0.5)
        return path
    plain_path = recordings / f"{flown.name}.csv"
    export.write_csv(flown, plain_path, layout(outing.airplane), rate_hz=RATE_HZ)
    path = plain_path.with_suffix(".csv.gz")
    packed = io.BytesIO()
    with gzip.GzipFile(fileobj=packed, mode="wb", compresslevel=9, mtime=0, filename="") as file:
        file.write(plain_path.read_bytes())
    path.write_bytes(packed.getvalue())
    plain_path.unlink()
    return path


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="", help="only the outings whose name contains this")
    parser.add_argument("--recordings", type=Path, default=ROOT / "src" / "airwork" / "demo_files" / "recordings")
    parser.add_argument("--truth", type=Path, default=ROOT / "demo" / "truth")
    options = parser.parse_args()
    for folder in (options.recordings, options.truth):
        folder.mkdir(parents=True, exist_ok=True)
    for outing in OUTINGS:
        if options.only in outing.name:
            flown = fly(outing)
            path = write(flown, outing, options.recordings, options.truth)
            minutes = float(flown.columns["time_s"][-1] - flown.columns["time_s"][0]) / 60.0
            print(f"{path.name}: {minutes:.0f} min, {path.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
