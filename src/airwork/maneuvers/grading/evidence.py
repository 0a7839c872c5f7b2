"""What a grader works with: the flight's own samples, lightly smoothed, standard, airplane, the lesson's targets.

Smoothing is a second or less, zero-phase: it takes sensor noise out of the extremes and leaves what the pilot did.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from airwork.airdata.angles import unwrap_rad
from airwork.airdata.turn import load_factor
from airwork.airplane import Airplane
from airwork.airplane.performance import Condition, performance
from airwork.airplane.performance.throttle import full_throttle_ratio
from airwork.errors import AirworkError
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading.runway_ends import RunwayEnd
from airwork.maneuvers.grading.smoothing import PARABOLA, lag_s, rate, through_parabolas
from airwork.maneuvers.seeing.signal import Array, Mask, filled, known_share, mean_over, median
from airwork.maneuvers.seeing.view import View
from airwork.standards import Standard
from airwork.units import write

if TYPE_CHECKING:
    from airwork.recording.flight import Flight  # a briefing reads no recording

ALTITUDE_S, SPEED_S, BANK_S, HEADING_S, PITCH_S = 1.0, 0.8, 0.5, 0.5, 0.5
STRAIGHT_RAD = 0.07
ONE_ABOARD_KG = 77.0  # 170 lb, without fuel to speak of (common practice, no source)
USUAL_ERROR = {"altitude_m": 3.0, "bank_rad": 0.07, "heading_rad": 0.05}  # of derived columns that don't say


@dataclass(frozen=True)
class Evidence:
    """One flight on the grader's desk. Arrays are on `flight.time_s`; None where a quantity isn't known.

    targets : kind → target name → value (SI), from the lesson; empty without one.
    episodes : every maneuver of the flight, in order: a turn knows the one it is the pair of.
    asked : (start, end) of climbs and descents the instructor says were asked for. [s]
    whose : target name → who set it, where it was not the lesson.
    worked_out : kind → targets nobody asked for: the briefing's own, told and not held against.
    glide_asked : the lesson asked for a glide, or an approach without power.
    ground_m : elevation of the practice area, from the lesson.
    runways : landing thresholds published near where the wheels met the ground.
    """

    flight: Flight
    view: View
    standard: Standard
    airplane: Airplane | None = None
    mass_kg: float | None = None
    targets: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    episodes: tuple[Episode, ...] = ()
    asked: tuple[tuple[float, float], ...] = ()
    whose: Mapping[str, str] = field(default_factory=dict)
    worked_out: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    glide_asked: bool = False
    ground_m: float | None = None
    runways: tuple[RunwayEnd, ...] = ()

    def speed_text(self, speed_mps: float) -> str:
        """A speed or a difference of two as the dial shows it, without its sign; kt without an airplane."""
        return write(abs(speed_mps), "kt" if self.airplane is None else self.airplane.dial_unit, 0)

    @cached_property
    def step_s(self) -> float:
        """Usual time between samples. [s]"""
        return float(np.median(np.diff(self.flight.time_s)))

    @cached_property
    def roundings(self) -> dict[str, float]:
        """By column the step it was rounded to, once it was asked for."""
        return {}

    def _smoothed(self, values: Array | None, seconds: float) -> Array | None:
        if values is None or not np.isfinite(values).any():
            return None
        out = through_parabolas(filled(values), round(PARABOLA * 0.5 * seconds / self.step_s))
        gap = ~np.isfinite(values)
        if gap.any():
            out[gap] = np.nan
        return out

    def _column(self, name: str, seconds: float) -> Array | None:
        return self._smoothed(self.flight.get(name), seconds)

    @cached_property
    def altitude_m(self) -> Array:
        """Best altitude. [m]"""
        found = self._column("altitude_m", ALTITUDE_S)
        return np.full(len(self.flight), np.nan) if found is None else found

    @cached_property
    def touch_within_s(self) -> float:
        """Within how many seconds a touch is found, nine times in ten. [s]"""
        from airwork.recording.gradable import touch_within_s  # late: a set-up needs no recording

        return touch_within_s(self.flight)

    @cached_property
    def altitude_is_satellite(self) -> bool:
        """No altimeter or static pressure was recorded."""
        columns = [self.flight.columns.get(name) for name in ("indicated_altitude_m", "pressure_altitude_m")]
        return not any(c is not None and c.known == "measured" for c in columns)

    @cached_property
    def has_airspeed(self) -> bool:
        """An airspeed was measured, not worked out from ground speed."""
        return self.view.speed_from == "airspeed"

    @cached_property
    def ias_mps(self) -> Array | None:
        """Indicated airspeed; calibrated where nothing was indicated. None without an airspeed. [m/s]"""
        if not self.has_airspeed:
            return None
        found = self._column("ias_mps", SPEED_S)
        found = self._column("cas_mps", SPEED_S) if found is None else found
        return found if found is None or self.airspeed_lag_s == 0.0 else found + self.airspeed_lag_s * self._rate(found)

    def _rate(self, values: Array) -> Array:
        """Rate of a column with gaps. [1/s]"""
        gap = ~np.isfinite(values)
        return np.where(gap, 0.0, rate(filled(values), self.step_s))

    @cached_property
    def airspeed_lag_s(self) -> float:
        """How late the airspeed is, as far as the recording shows it. [s]"""
        tas, ground = self.flight.get("tas_mps"), self.flight.get("groundspeed_mps")
        if tas is None or ground is None or not self.has_airspeed or self.step_s > 0.5:
            return 0.0
        straight = self.airborne & (np.abs(self.turn_bank_rad) < STRAIGHT_RAD)
        return lag_s(filled(tas), ground, self.altitude_m, straight, self.step_s)

    @cached_property
    def tas_mps(self) -> Array | None:
        """True airspeed, measured or worked out. [m/s]"""
        found = self._column("tas_mps", SPEED_S)
        if found is None and self.view.speed_from != "ground speed":
            return np.interp(self.flight.time_s, self.view.time_s, self.view.tas_mps)
        return found

    @cached_property
    def bank_rad(self) -> Array | None:
        """Bank, right wing down positive; None where neither it nor a turn can be had. [rad]"""
        found = self._column("bank_rad", BANK_S)
        if found is None and self.view.turn_known and self.view.airborne.any():
            return self.turn_bank_rad
        return found

    @cached_property
    def bank_size_rad(self) -> Array | None:
        """Bank without its sign. [rad]"""
        return None if self.bank_rad is None else np.abs(self.bank_rad)

    @cached_property
    def turn_bank_rad(self) -> Array:
        """Bank that goes with the rate of turn, right positive. [rad]"""
        return np.interp(self.flight.time_s, self.view.time_s, self.view.turn_bank_rad)

    @cached_property
    def airborne(self) -> Mask:
        """In the air, sample by sample."""
        return np.interp(self.flight.time_s, self.view.time_s, self.view.airborne.astype(float)) > 0.5

    @cached_property
    def some_power(self) -> Array | None:
        """Share of full power, or the rough share engine speed or manifold pressure tell. [1]"""
        return None if self.view.power is None else np.interp(self.flight.time_s, self.view.time_s, self.view.power)

    @cached_property
    def flaps(self) -> Array | None:
        """How far the flaps are down: in notches, else in degrees; None where neither was recorded."""
        notch = self.flight.get("flap_notch")
        return self.flight.get("flap_deg") if notch is None else notch

    @cached_property
    def bank_measured(self) -> bool:
        """The bank was recorded."""
        return self.view.bank_measured

    @cached_property
    def heading_rad(self) -> Array | None:
        """Heading history without jumps; the track where no heading and no wind are known. [rad]"""
        for name in ("heading_mag_rad", "heading_rad", "track_rad"):
            column = self.flight.columns.get(name)
            if column is not None and known_share(column.values) > 0.5:
                return self._smoothed(unwrap_rad(column.values), HEADING_S)
        return None

    @cached_property
    def pitch_rad(self) -> Array | None:
        """Pitch. [rad]"""
        return self._column("pitch_rad", PITCH_S)

    @cached_property
    def agl_m(self) -> Array | None:
        """Height above ground, on the altitude's own smoothing. [m]"""
        if np.isfinite(self.view.agl_m).any():
            return np.interp(self.flight.time_s, self.view.time_s, self.view.agl_m)
        return None

    def above_ground(self) -> tuple[Array | None, str]:
        """(height above ground [m], above which ground it is), for what is flown in the practice area.

        The lesson's ground counts, else what the recording knows: terrain, else the field.
        """
        if self.ground_m is not None:
            ground = write(self.ground_m, "ft")
            return self.altitude_m - self.ground_m, f"above the practice area's {ground}, by the lesson"
        column = self.flight.columns.get("agl_m")
        if self.agl_m is None or column is None:
            return self.agl_m, ""
        return self.agl_m, column.note or "as recorded"

    @cached_property
    def climb_mps(self) -> Array:
        """Rate of climb from the altitude. [m/s]"""
        return np.interp(self.flight.time_s, self.view.time_s, self.view.climb_mps)

    @cached_property
    def power_ratio(self) -> Array | None:
        """Share of rated power, where it is known as such. [1]"""
        return self._column("power_ratio", 1.0)

    def full_throttle_ratio(self, at_s: float) -> float:
        """Share of rated power that full throttle gives at a moment's height and speed; NaN where not known. [1]"""
        flight = self.flight
        columns = [flight.get(name) for name in ("cas_mps", "pressure_altitude_m", "oat_k")]
        if self.airplane is None or any(c is None for c in columns):
            return float("nan")
        k = flight.index_at(at_s)
        cas, height, kelvin = (float(c[k]) for c in columns if c is not None)
        try:
            return full_throttle_ratio(performance(self.airplane), cas, Condition(0.0, height, kelvin))
        except AirworkError:
            return float("nan")

    @property
    def mass_told(self) -> bool:
        """Somebody or the recording said what the airplane weighed."""
        return self.mass_kg is not None or isinstance(self.flight.source.get("mass_kg"), (int, float))

    @cached_property
    def gross_mass_kg(self) -> float | None:
        """Mass the stall speed is taken for: the given one, the recording's, else the greatest allowed. [kg]"""
        if self.mass_kg is not None:
            return self.mass_kg
        known = self.flight.source.get("mass_kg")
        if isinstance(known, (int, float)):
            return float(known)
        return None if self.airplane is None else self.airplane.max_takeoff_mass_kg

    @cached_property
    def lightest_kg(self) -> float | None:
        """What it weighed at least: the mass told, else empty with one person aboard; None without an airplane. [kg]"""
        if self.mass_told or self.airplane is None:
            return self.gross_mass_kg
        try:
            return self.airplane.empty_mass_kg + ONE_ABOARD_KG
        except AirworkError:
            return self.gross_mass_kg

    def error(self, name: str) -> float:
        """One standard error of a column; 0 for a measured one that doesn't say."""
        column = self.flight.columns.get(name)
        if column is None:
            return USUAL_ERROR.get(name, 0.0)  # worked out by the view
        if column.error is not None:
            return column.error
        return 0.0 if column.known == "measured" else USUAL_ERROR.get(name, 0.0)

    @property
    def bank_error_rad(self) -> float:
        """One standard error of the bank; 0 when it was recorded. [rad]"""
        return 0.0 if self.bank_measured else self.error("bank_rad")

    def stall_margin_mps(self, part: slice, unseen_notch: int = 0) -> Array | None:
        """Calibrated airspeed less the stall speed for mass, flaps and load factor. None without what it needs. [m/s]

        From the airplane file; the load factor is the measured one, else that of the bank in level flight.

        Parameters
        ----------
        unseen_notch : taken where the recording has no flaps.
        """
        cas, mass = self.flight.get("cas_mps"), self.gross_mass_kg
        if self.airplane is None or mass is None or cas is None or not self.has_airspeed:
            return None
        if not self.airplane.stall_curves:
            return None
        load = self.flight.get("load_factor")
        if load is None and self.bank_rad is not None:
            load = np.asarray(load_factor(self.bank_rad))
        n = np.ones(len(self.flight))[part] if load is None else np.clip(np.nan_to_num(load[part], nan=1.0), 0.3, 6.0)
        notch = self.flight.get("flap_notch")
        notches = np.full(n.size, float(unseen_notch)) if notch is None else np.nan_to_num(notch[part])
        one_g = self.airplane.stall_cas_by_notch_mps(mass)
        stall = np.interp(notches, np.arange(len(one_g)), one_g) * np.sqrt(n)
        margin = mean_over(filled(cas[part]), round(SPEED_S / self.step_s)) - mean_over(stall, round(1.0 / self.step_s))
        return np.where(self.airborne[part], margin, np.nan)  # on the ground the wing needn't carry

    def lesson_target(self, kind: str, name: str) -> float | None:
        """A target somebody asked for, in the lesson or afterwards, SI; None where nobody did."""
        asked = name in self.whose or name not in self.worked_out.get(kind, ())
        value = self.targets.get(kind, {}).get(name) if asked else None
        return float(value) if value is not None and np.isfinite(value) else None

    def target_from(self, name: str) -> str:
        """Who set a lesson's target: the lesson, or an instructor afterwards."""
        return self.whose.get(name, "lesson")

    def mean(self, values: Array | None, start_s: float, end_s: float) -> float:
        """Mean of a series between two times; the nearest sample when none falls between; NaN when unknown."""
        if values is None:
            return float("nan")
        part = values[self.flight.span(start_s, end_s)]
        if part.size:
            mean = float(np.add.reduce(part)) / part.size
            if math.isfinite(mean):
                return mean
            part = part[np.isfinite(part)]
            if part.size:
                return float(part.mean())
        at = values[self.flight.index_at(0.5 * (start_s + end_s))]
        return float(at)

    def median(self, values: Array | None, start_s: float, end_s: float) -> float:
        """Median of a series between two times; NaN when unknown."""
        if values is None:
            return float("nan")
        part = values[self.flight.span(start_s, end_s)]
        part = part[np.isfinite(part)]
        return median(part)
