"""Speeds of the airplane file as the graders need them: indicated, for the flight's mass, or None."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from airwork.airplane.vspeeds import AS_PRINTED, ROUGH
from airwork.errors import AirworkError
from airwork.maneuvers.grading.evidence import Evidence

HALF_A_NOTCH = 0.5
MASSES = 9  # tried from the lightest up: the first a speed is printed for


class BookSpeed(NamedTuple):
    """An airplane's own speed, indicated: for the greatest mass it may have had, and for the least. [m/s]"""

    ias_mps: float
    lightest_mps: float

    def nearest_mps(self, flown_mps: float) -> float:
        """For the mass that speaks most for the pilot, as far as it isn't known; the greatest's where nothing flew."""
        return max(self.lightest_mps, min(flown_mps, self.ias_mps)) if np.isfinite(flown_mps) else self.ias_mps


def book_speed(evidence: Evidence, name: str, *, at_s: float | None = None) -> BookSpeed | None:
    """As `handbook_ias_mps`, with what it would be for the lightest; None where the former has none."""
    heaviest = handbook_ias_mps(evidence, name, at_s=at_s)
    if heaviest is None or evidence.lightest_kg is None or evidence.gross_mass_kg is None:
        return None
    lighter = (
        _ias_mps(evidence, name, float(mass_kg), at_s, rough=False)
        for mass_kg in np.linspace(evidence.lightest_kg, evidence.gross_mass_kg, MASSES)
    )
    return BookSpeed(heaviest, min(heaviest, next((ias for ias in lighter if ias is not None), heaviest)))


def handbook_ias_mps(evidence: Evidence, name: str, *, at_s: float | None = None) -> float | None:
    """An airplane's own speed, indicated; None without an airplane, an airspeed or that speed in the file. [m/s]

    Parameters
    ----------
    name : as in `Airplane.speed_cas_mps`: "best_glide", "best_rate_of_climb", "approach_flaps_full", "maneuvering".
    at_s : time the density altitude is taken at; sea level without one.
    """
    mass = evidence.gross_mass_kg
    return None if mass is None or not evidence.has_airspeed else _ias_mps(evidence, name, mass, at_s)


def _ias_mps(
    evidence: Evidence, name: str, mass_kg: float, at_s: float | None, *, rough: bool = True
) -> float | None:  # fmt: skip
    """For one mass; rough : of a mass beyond the printed too, where the speed goes with it only roughly. [m/s]"""
    airplane = evidence.airplane
    if airplane is None:
        return None
    density_altitude = evidence.flight.get("density_altitude_m")
    height = 0.0
    if density_altitude is not None and at_s is not None:
        found = float(density_altitude[evidence.flight.index_at(at_s)])
        height = found if np.isfinite(found) else 0.0
    try:
        answer = airplane.speed_answer(name, mass_kg, height)
        if not rough and any(words in answer.note for words in (ROUGH, AS_PRINTED)):
            return None
        notch = airplane.flaps_full if "flaps_full" in name else 0
        return float(airplane.ias_from_cas_mps(answer.value, notch))
    except AirworkError:
        return None  # outside the handbook's table: nothing is claimed


def approach_speed(evidence: Evidence, start_s: float, end_s: float) -> BookSpeed | None:
    """The airplane's approach speed with the flaps as they were: up where they stayed up, else full."""
    up = book_speed(evidence, "approach_flaps_up") if flaps_left_up(evidence, start_s, end_s) else None
    return book_speed(evidence, "approach_flaps_full") if up is None else up


def flaps_left_up(evidence: Evidence, start_s: float, end_s: float) -> bool:
    """The flaps the airplane has were up there, as far as they were recorded."""
    notch, airplane = evidence.flight.get("flap_notch"), evidence.airplane
    known = notch is not None and airplane is not None and airplane.flaps_full > 0
    return known and evidence.median(notch, start_s, end_s) < HALF_A_NOTCH
