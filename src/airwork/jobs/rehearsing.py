"""Rehearse a lesson in a chair: the ideal of each exercise, in today's wind and numbers, laid together as one Flight.

What isn't flown as an ideal (the way between exercises, an exercise the day doesn't allow) is left out and told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3
from airwork.airdata.geodesy import radii_m
from airwork.airplane import Airplane
from airwork.airplane.performance import Performance, performance
from airwork.lesson.briefing import Briefing, PlannedExercise
from airwork.lesson.lesson import Lesson
from airwork.lesson.plan import Planned, plan_lesson
from airwork.maneuvers import room
from airwork.maneuvers.paths.step_times import due_s
from airwork.maneuvers.setup import SetUp, Trace
from airwork.recording.flight import Column, Flight

Array = NDArray[np.float64]

BETWEEN_S = 5.0  # of nothing between two exercises, so that they stand apart
ROLLING_MPS = 18.0  # slower than any airplane of ours flies: rolling, the wheels carry it
MOVES_MPS = 0.5  # slower it stands: the wind doesn't push it back before a takeoff


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """One exercise of a rehearsal. Not compared (arrays).

    start_s : in the rehearsal's flight. time_s, columns : from its own beginning. due_s : of each step, in the flight.
    """

    exercise: PlannedExercise
    set_up: SetUp
    start_s: float
    time_s: Array
    columns: Mapping[str, Array]
    due_s: tuple[float, ...]

    @property
    def end_s(self) -> float:
        """Its last moment, in the rehearsal's flight. [s]"""
        return self.start_s + float(self.time_s[-1])


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """A briefed lesson as a flight. left_out : (title, why) of exercises that are not in it."""

    briefing: Briefing
    flight: Flight
    exercises: tuple[Rehearsed, ...]
    left_out: tuple[tuple[str, str], ...]


def rehearse_lesson(lesson: Lesson, airplane: Airplane, *, plan: Planned | None = None) -> Rehearsal:
    """The lesson flown as it is meant to be. plan : the lesson's, where it is planned already.

    Raises
    ------
    InputError, NotPossible, OutOfRange : as `brief_lesson`.
    """
    fitted = performance(airplane)
    plan = plan or plan_lesson(lesson, airplane, performance=fitted)
    briefing, traces = plan.briefing, plan.ideals
    done: list[Rehearsed] = []
    left_out: list[tuple[str, str]] = []
    start_s = 0.0
    for e in briefing.exercises:
        trace = traces.get(e.number)
        if e.set_up is None or trace is None:
            left_out.append((e.title, e.problem or "its ideal can't be worked out for today"))
            continue
        time_s, columns = np.asarray(trace.time_s, dtype=float), _columns(briefing, e, trace, fitted)
        moments = tuple(start_s + s for s in due_s(e.set_up.steps, time_s, columns))
        done.append(Rehearsed(e, e.set_up, start_s, time_s, columns, moments))
        start_s = done[-1].end_s + BETWEEN_S
    return Rehearsal(briefing, _joined(done), tuple(done), tuple(left_out))


def _columns(b: Briefing, e: PlannedExercise, trace: Trace, fitted: Performance) -> dict[str, Array]:
    """The trace turned to the heading it is planned on and laid over the ground, with the pitch it is flown at."""
    out = {name: np.asarray(values, dtype=float) for name, values in trace.columns.items()}
    time_s, heading = np.asarray(trace.time_s, dtype=float), out["heading_rad"]
    turn = 0.0 if e.path is None or room(e.kind).tied_to_ground else e.path.heading_rad - float(heading[0])
    for name in ("heading_rad", "heading_mag_rad"):
        if name in out:
            out[name] = wrap_positive_rad(out[name] + turn)
    climb = out.get("flight_path_rad", np.zeros_like(time_s))
    level = out["tas_mps"] * np.cos(climb)
    wind, blows_from = out.get("wind_mps", np.zeros_like(time_s)), out.get("wind_from_rad", np.zeros_like(time_s))
    step = np.diff(time_s, prepend=time_s[0])
    over = [(level * f(heading + turn) - wind * f(blows_from)) * step for f in (np.sin, np.cos)]
    moving = out.get("groundspeed_mps", level) > MOVES_MPS
    east, north = (np.cumsum(np.where(moving, part, 0.0)) for part in over)
    lat, lon = (b.place.latitude_rad, b.place.longitude_rad) if e.path is None else e.path.points[0][1:3]
    meridian, parallel = (float(r) for r in radii_m(lat))
    out["latitude_rad"], out["longitude_rad"] = lat + north / meridian, lon + east / parallel
    bank = out.get("bank_rad", np.zeros_like(time_s))
    out["pitch_rad"] = climb + _angle_of_attack_rad(out, b.balance.points[0].mass_kg, fitted) * np.cos(bank)
    return {name: out[name] for name in out if name not in {"east_m", "north_m", "track_rad"}}


def _angle_of_attack_rad(columns: Mapping[str, Array], mass_kg: float, fitted: Performance) -> Array:
    """From the lift that carries the weight, times the load, at that speed. [rad]"""
    pressure = 0.5 * RHO0_KGPM3 * np.maximum(columns["cas_mps"], 1.0) ** 2
    load = columns.get("load_factor", np.ones_like(pressure))
    lift = load * mass_kg * G0_MPS2 / (pressure * fitted.learned.geometry.wing_area_m2)
    notch = columns.get("flap_notch", np.zeros_like(pressure)).astype(np.int64)
    return fitted.attitude.angle_of_attack_rad(np.where(columns["cas_mps"] > ROLLING_MPS, lift, 0.0), notch)


def _joined(parts: Sequence[Rehearsed]) -> Flight:
    """The exercises as one flight; nothing is known between them."""
    times: list[Array] = []
    columns: dict[str, list[Array]] = {name: [] for part in parts for name in part.columns}
    for part in parts:
        times += [part.start_s + part.time_s, np.array([part.end_s + 0.5])]
        for name, pieces in columns.items():
            pieces += [part.columns.get(name, np.full(part.time_s.size, np.nan)), np.array([np.nan])]
    joined = {n: Column(np.concatenate(p), "measured", note="the ideal") for n, p in columns.items()}
    return Flight(float("nan"), np.concatenate(times) if times else np.zeros(0), joined)
