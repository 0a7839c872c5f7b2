"""Eights on pylons flown so that the sight line along the wing stays on the pylon, in the day's wind. SI.

Wing axis on the pylon: the heading is at right angles to the line to it, so it turns at ψ̇ = (V + w)/d, with w the
wind along the heading and d the distance. Coordinated: tan φ = V·ψ̇/g. The sight line is down by the bank: the height
is h = d·tan φ = V·(V + w)/g. Power is left alone, so height and speed trade: h + V²/2g = const. Both together:
1.5·V² + w·V = g·E. Derived here. The handbook's pivotal altitude GS²/g ([AFH] ch. 7) takes the heading as turning with
the track; it is the same in calm air and swings about twice as far in a wind.
"""

from __future__ import annotations

import math

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane import Airplane
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.paths.flown_path import LARGE_M, SMALL_M, FlownPath, bearing
from airwork.maneuvers.paths.flown_trace import Simulated, make_trace
from airwork.maneuvers.setup import Array, Conditions, Trace

STEP_S = 0.1
ROLL_S = 3.0
STRAIGHT_S = 4.0  # 3 to 5 s between the pylons ([AFH] ch. 7)
ROUND_RAD = math.radians(250.0)  # heading change about one pylon: an eight with crossing legs


def sight_speed_mps(energy_m: float, tailwind_mps: float) -> float:
    """True airspeed that goes with the sight-line height at an energy height and a tailwind. [m/s]"""
    return (-tailwind_mps + math.sqrt(tailwind_mps**2 + 6.0 * G0_MPS2 * energy_m)) / 3.0


def eight(airplane: Airplane, conditions: Conditions, altitude_m: float, ias_mps: float, distance_m: float) -> Trace:
    """One eight, entered diagonally downwind; the first turn is to the left, into the wind."""
    air, ground = conditions.air, conditions.ground_elevation_m
    from_rad, wind = (float(x) for x in air.wind_at(altitude_m))
    cas = float(airplane.cas_from_ias_mps(ias_mps))
    tas = float(tas_from_cas_mps(cas, air.pressure_altitude_m(altitude_m), air.temperature_at_k(altitude_m)))
    energy = 1.5 * tas**2 / G0_MPS2  # height V²/g with the wind abeam, plus V²/2g
    rows: list[tuple[float, ...]] = []
    time, heading, bank = 0.0, from_rad + 0.5 * ROUND_RAD, 0.0  # diagonally downwind, between the pylons

    def state(course: float) -> tuple[float, float, float]:
        tail = -wind * math.cos(from_rad - course)
        speed = sight_speed_mps(energy, tail)
        return speed, energy - 0.5 * speed**2 / G0_MPS2, tail

    def fly(seconds: float, sign: float, turn: float, distance: float) -> float:
        nonlocal time, heading, bank
        turned, begun = 0.0, time
        while time - begun < seconds and (sign == 0.0 or turned < turn):
            speed, height, tail = state(heading)
            rate = 0.0
            if sign:
                share = min(
                    (time - begun) / ROLL_S, (turn - turned) / max(0.5 * ROLL_S * (speed + tail) / distance, 1e-6), 1.0
                )
                rate = max(share, 0.05) * (speed + tail) / distance
                across = wind * math.sin(from_rad - heading)  # wind toward the left wing is positive from the right
                distance += STEP_S * across * sign * min(max(share, 0.0), 1.0)
            bank = sign * math.atan(speed * rate / G0_MPS2)
            rows.append((time, heading, speed, ground + height, bank))
            heading += sign * rate * STEP_S
            turned += rate * STEP_S
            time += STEP_S
        return distance

    for sign in (-1.0, 1.0):
        fly(STRAIGHT_S, 0.0, 0.0, distance_m)
        fly(240.0, sign, ROUND_RAD, distance_m)
    fly(STRAIGHT_S, 0.0, 0.0, distance_m)
    times, headings, speeds, heights, banks = np.array(rows).T
    return make_trace(airplane, conditions, Simulated(times, headings, speeds, heights, banks))


STEP_S, SHOWN_S = 0.1, 0.5


def round_pylons(path: FlownPath, e: Episode) -> Trace | None:
    """Round each pylon with the wing on it, at the height that goes with the ground speed; nothing between them.

    The pylon is the place that lay best on the wing's axis; the height is above the field, pylons at its
    elevation.
    """
    air, ground = path.conditions.air, path.conditions.ground_elevation_m
    tas = path.tas_mps()
    from_rad, wind = (float(x) for x in air.wind_at(path.altitude_m))
    blown = -wind * np.array([math.sin(from_rad), math.cos(from_rad)])
    rounds: list[list[tuple[float, ...]]] = []
    for phase in e.phases:
        pylon = path.pylon(phase.start_s, phase.end_s)
        total = path.turned(phase.start_s, phase.end_s)
        place, time, turned = path.at(phase.start_s), phase.start_s - e.start_s, 0.0
        if not np.isfinite(pylon).all() or not SMALL_M < float(np.hypot(*(pylon - place))) < LARGE_M:
            continue
        sign = math.copysign(1.0, total)
        rows: list[tuple[float, ...]] = []
        while turned < abs(total) and time < phase.end_s - e.start_s + 60.0:
            away = pylon - place
            distance = float(np.hypot(*away))
            heading = bearing(away) - sign * 0.5 * math.pi
            nose = np.array([math.sin(heading), math.cos(heading)])
            tail = float(blown @ nose)
            speed = sight_speed_mps(1.5 * tas**2 / G0_MPS2, tail)
            rate = (speed + tail) / distance
            height = ground + 1.5 * tas**2 / G0_MPS2 - 0.5 * speed**2 / G0_MPS2
            rows.append((time, heading, speed, height, sign * math.atan(speed * rate / G0_MPS2), *place))
            place = place + (speed * nose + blown) * STEP_S
            turned += rate * STEP_S
            time += STEP_S
        rounds.append(rows[:: round(SHOWN_S / STEP_S)])
    return _as_trace(path, [r for r in rounds if len(r) > 8])


def _as_trace(path: FlownPath, rounds: list[list[tuple[float, ...]]]) -> Trace | None:
    """The rounds as one trace, a gap between them. rounds : rows of (time, heading, true airspeed, altitude, bank,
    east, north)."""
    parts: list[Array] = []
    for rows in rounds:
        one = np.array(rows).T
        one[1] = np.unwrap(one[1])
        whole = make_trace(  # the indicated speed, by the one place that knows how
            path.airplane, path.conditions, Simulated(np.arange(one.shape[1]) * SHOWN_S, one[1], one[2], one[3], one[4])
        )
        one = np.vstack([one, whole.columns["ias_mps"][: one.shape[1]]])
        if parts:
            if one[0, 0] <= parts[-1][0, -1]:  # flown in less time than the wing on the pylon takes
                one = one[:, one[0] > parts[-1][0, -1] + SHOWN_S]
            gap = np.full((one.shape[0], 1), np.nan)
            gap[0] = parts[-1][0, -1] + 0.5 * SHOWN_S
            parts.append(gap)
        parts.append(one)
    if not parts:
        return None
    time, heading, tas, altitude, bank, east, north, ias = np.hstack(parts)
    return Trace(
        time, {"heading_rad": heading, "tas_mps": tas, "altitude_m": altitude, "bank_rad": bank, "ias_mps": ias,
               "east_m": east, "north_m": north},
    )  # fmt: skip
