"""Heading, turn rate, bank, load factor, flight path and energy: measured where recorded, else from the path.

In coordinated flight the lift stands along the airplane's vertical axis. With V the true airspeed, γ the flight-path
angle, ω the rate of turn of the AIR path (the ground path less the wind):
    n·cos φ = cos γ + V·γ̇/g,   n·sin φ = V·cos γ·ω/g      → bank φ and load factor n. (Derived here.)
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.atmosphere import G0_MPS2
from airwork.recording.flight import Array, Mend
from airwork.recording.smooth import unwrapped
from airwork.recording.unit_evidence import resolution
from airwork.recording.work import Work

_VARIES_RAD, _COURSES, _ON_A_COURSE = 0.07, 12, 10  # 4° of variation; samples on each of twelve courses
SLOWEST_MPS = 15.0  # below this the airplane isn't flying and its path tells no bank
_TURN_HALF_S, _RATE_RADPS, _NO_BANK_RAD = 1.0, 0.01, 0.5  # so rough a bank tells level from steep no more
_UNEVEN, _SELDOM_S, _UNEVEN_HALF_S = 0.25, 2.5, 3.0  # of the usual step; rarer fixes smooth by themselves
_FILLED = 0.5  # of half a turn's window, between its first row and its last
_CLIMB_HALF_S = 1.5
_COARSE_MPS, _LONGEST_HALF_S = 1.25, 6.0  # an altitude in steps of 25 ft jumps; over ±6 s it climbs
_MOST_LOAD = 10.0  # more is two rows a moment apart, no load


def add_vertical_speed(work: Work) -> None:
    """Vertical speed from the altitude, where none was recorded. Scratch "climb_mps" is always from the altitude."""
    altitude = work.get("indicated_altitude_m", "pressure_altitude_m", "gps_altitude_m")
    if altitude is None:
        if (recorded := work.get("vertical_speed_mps")) is not None:
            work.scratch["climb_mps"] = recorded
        return
    half = _CLIMB_HALF_S if work.step_s < 0.8 else max(2.0, 1.05 * work.step_s)
    half = max(half, min(resolution(altitude) / _COARSE_MPS, _LONGEST_HALF_S))
    window = work.window(round(half, 1))
    climb = window.slope(altitude)
    work.scratch["climb_mps"] = climb
    if "velocity_down" in work.extra:
        work.put("vertical_speed_mps", -work.extra["velocity_down"], 0.2, "from its recorded part", "measured")
    work.put("vertical_speed_mps", climb, 0.5, f"from altitude over ±{half:g} s")


def add_headings(work: Work, variation_rad: float | None) -> None:
    """True from magnetic heading and back; without a compass, the direction of the air path."""
    magnetic, true = work.get("heading_mag_rad"), work.get("heading_rad")
    recorded = work.extra.get("magnetic_variation")
    variation: Array | float | None = variation_rad
    if recorded is not None and np.isfinite(recorded).any():
        variation = float(np.nanmedian(recorded))
    if variation is not None and magnetic is not None and true is None and _is_true(work, magnetic, float(variation)):
        said = "called only heading; taken as true: over all courses it lies about the track, not beside it"
        work.columns["heading_rad"] = replace(work.columns.pop("heading_mag_rad"), note=said)
        work.mends.append(Mend(said, magnetic.size, column="heading_rad"))
        magnetic, true = None, work.get("heading_rad")
    if magnetic is not None and true is None:
        if variation is not None:
            work.put("heading_rad", wrap_positive_rad(magnetic + variation), 0.035, "magnetic heading and variation")
        else:
            note = "magnetic heading; variation not known"
            work.put("heading_rad", magnetic, 0.2, note)
    elif true is not None and magnetic is None and variation is not None:
        work.put("heading_mag_rad", wrap_positive_rad(true - variation), 0.01, "true heading and variation")


def _is_true(work: Work, heading: Array, variation_rad: float) -> bool:
    """A heading of no named kind lies about the track over all courses; a magnetic one is off by the variation."""
    track, speed = work.get("track_rad"), work.get("groundspeed_mps")
    if "called only" not in work.columns["heading_mag_rad"].note or track is None or speed is None:
        return False
    good = np.isfinite(heading) & np.isfinite(track) & (np.nan_to_num(speed) > SLOWEST_MPS)
    course = np.floor(np.mod(track[good], 2.0 * np.pi) / (2.0 * np.pi) * _COURSES).astype(int) % _COURSES
    off = np.exp(1j * (heading[good] - track[good]))
    count = np.bincount(course, minlength=_COURSES)
    if abs(variation_rad) < _VARIES_RAD or (count < _ON_A_COURSE).sum() > _COURSES // 4:
        return False
    seen = count >= _ON_A_COURSE  # wind drifts one way on a course and the other on its opposite
    parts = [np.bincount(course, weights=w, minlength=_COURSES)[seen] / count[seen] for w in (off.real, off.imag)]
    middle = float(np.angle(np.mean(parts[0] + 1j * parts[1])))
    return abs(middle) < 0.4 * abs(variation_rad) and abs(middle + variation_rad) > 0.6 * abs(variation_rad)


def air_velocity(work: Work) -> tuple[Array, Array] | None:
    """Velocity through the air (east, north): that over the ground less the wind, if known. None without the former."""
    wind, source = work.get("wind_mps"), work.get("wind_from_rad")
    ground_east, ground_north = work.scratch.get("ground_east"), work.scratch.get("ground_north")
    if ground_east is None or ground_north is None:
        return None
    if wind is None or source is None:
        return ground_east, ground_north
    if "air_east" not in work.scratch:  # few recordings need it: worked out when asked for
        east, north = np.nan_to_num(-wind * np.sin(source)), np.nan_to_num(-wind * np.cos(source))
        work.scratch["air_east"], work.scratch["air_north"] = ground_east - east, ground_north - north
    return work.scratch["air_east"], work.scratch["air_north"]


def add_air_heading(work: Work) -> None:
    """Heading from the path through the air, where none was recorded and the wind is known."""
    if "heading_rad" in work.columns or not {"wind_mps", "wind_from_rad"} <= work.columns.keys():
        return
    air = air_velocity(work)
    if air is None:
        return
    moving = np.hypot(work.scratch["ground_east"], work.scratch["ground_north"]) > 2.0
    heading = wrap_positive_rad(np.arctan2(*air))
    error = work.error("wind_mps", 1.5) / 45.0 + 0.01
    work.put("heading_rad", np.where(moving, heading, np.nan), error,
             "direction of the path through the air: ground velocity less wind")  # fmt: skip


def add_turning(work: Work) -> None:
    """Turn rate, bank, load factor, flight path, energy height."""
    rate, rate_error, source = _turn_rate(work)
    if rate is not None:
        work.put("turn_rate_radps", rate, rate_error, source)
    tas = work.get("tas_mps")
    speed = tas
    if speed is None and "ground_east" in work.scratch:
        speed = np.hypot(work.scratch["ground_east"], work.scratch["ground_north"])
    climb = work.scratch.get("climb_mps", work.get("vertical_speed_mps"))
    if speed is None:
        return
    if climb is not None:
        with np.errstate(invalid="ignore", divide="ignore"):
            sine = np.clip(climb / np.maximum(speed, SLOWEST_MPS), -1.0, 1.0)
            path = np.where(speed >= SLOWEST_MPS, np.arcsin(sine), np.nan)
        if tas is not None:
            work.put("flight_path_rad", path, 0.02, "from vertical speed and true airspeed")
    else:
        path = np.zeros(speed.shape)
    altitude = work.get("altitude_m")
    if altitude is not None and tas is not None:
        work.put("energy_height_m", altitude + tas**2 / (2.0 * G0_MPS2), None, "altitude and true airspeed")
    if rate is not None:
        _bank_and_load(work, rate, rate_error, speed, path, tas is not None)


def _uneven(work: Work) -> bool:
    """Stamps of the moment of reception, early or late by tenths of seconds: over one second a turn seems to jump."""
    steps = np.diff(work.time_s)
    usual = float(np.median(steps)) if steps.size else 0.0
    return 0.2 < usual < _SELDOM_S and float(np.median(np.abs(steps - usual))) > _UNEVEN * usual


def _turn_rate(work: Work) -> tuple[Array | None, float, str]:
    """(turn rate, its standard error, how it was had)."""
    heading = work.measured("heading_mag_rad")
    heading = heading if heading is not None else work.measured("heading_rad")
    if heading is not None and np.isfinite(heading).mean() > 0.5:
        half = _TURN_HALF_S if work.step_s < 0.6 else max(1.5, 1.05 * work.step_s)
        return work.window(half).slope(unwrapped(heading)), _RATE_RADPS, f"from heading over ±{half:g} s"
    air = air_velocity(work)
    if air is None:
        return None, 0.0, ""
    east, north = air
    fix = float(work.facts.get("fix_window_s", 0.0))  # type: ignore[arg-type]
    half = max(_TURN_HALF_S, round(1.05 * work.step_s, 2), 0.75 * fix, _UNEVEN_HALF_S if _uneven(work) else 0.0)
    moving = np.hypot(east, north) > 8.0
    direction = np.where(moving, np.arctan2(east, north), np.nan)
    error = _RATE_RADPS
    if "hops" in work.facts:
        error = float(np.hypot(error, np.sqrt(2.0) * work.error("track_rad", 0.0) / half))
    window = work.window(half)
    # A few rows in a second between long gaps: no such window is filled, and a rounded stamp makes a steep turn of it.
    spanned = work.time_s[window.high - 1] - work.time_s[window.low] > _FILLED * half
    rate = np.where(spanned, window.slope(unwrapped(direction)), np.nan)
    return rate, error, f"from the path through the air over ±{half:g} s"


def _bank_and_load(work: Work, rate: Array, rate_error: float, speed: Array, path: Array, through_air: bool) -> None:
    """Bank and load factor of coordinated flight, where they were not recorded."""
    if {"bank_rad", "load_factor"} <= work.columns.keys():
        return  # both recorded
    bend = np.nan_to_num(work.window(max(_CLIMB_HALF_S, 1.05 * work.step_s)).slope(path))
    level = np.cos(path)
    upward = level + speed * bend / G0_MPS2  # n·cos φ
    sideways = speed * level * rate / G0_MPS2  # n·sin φ
    flying = speed >= SLOWEST_MPS
    note = "from turn rate and true airspeed, coordinated flight assumed"
    if not through_air:
        note = "from turn rate and ground speed, wind not known"
    # a roll between two far samples is not seen: 3° rms with 5 s between them, 5° with 10 s, on simulated flights
    error = float(np.hypot(0.033 if through_air else 0.09, 0.011 * work.step_s))
    if rate_error > _RATE_RADPS:  # V·dω/g
        error = float(np.hypot(error, np.nanmedian(speed) * rate_error / G0_MPS2))
        if error > _NO_BANK_RAD:
            return
    bank = np.where(flying, np.arctan2(sideways, np.maximum(upward, 0.15)), np.nan)
    load = np.where(flying, np.hypot(sideways, upward), np.nan)
    work.put("bank_rad", bank, error, note)
    if (measured := work.measured("bank_rad")) is not None:
        from_bank = upward / np.maximum(np.cos(measured), 0.2)
        load = np.where(flying & (np.abs(measured) < 1.3), from_bank, load)
        note = "from bank and flight path, coordinated flight assumed"
    work.put("load_factor", np.where(load < _MOST_LOAD, load, np.nan), 0.08, note)
