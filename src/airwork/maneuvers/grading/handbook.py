"""Speeds of the airplane file as the graders need them: indicated, for the flight's mass, or None."""

from __future__ import annotations

import numpy as np

from airwork.errors import AirworkError
from airwork.maneuvers.grading.evidence import Evidence

HALF_A_NOTCH = 0.5


def handbook_ias_mps(evidence: Evidence, name: str, *, at_s: float | None = None) -> float | None:
    """An airplane's own speed, indicated; None without an airplane, an airspeed or that speed in the file. [m/s]

    Parameters
    ----------
    name : as in `Airplane.speed_cas_mps`: "best_glide", "best_rate_of_climb", "approach_flaps_full", "maneuvering".
    at_s : time the density altitude is taken at; sea level without one.
    """
    airplane, mass = evidence.airplane, evidence.gross_mass_kg
    if airplane is None or mass is None or not evidence.has_airspeed:
        return None
    density_altitude = evidence.flight.get("density_altitude_m")
    height = 0.0
    if density_altitude is not None and at_s is not None:
        found = float(density_altitude[evidence.flight.index_at(at_s)])
        height = found if np.isfinite(found) else 0.0
    try:
        cas = airplane.speed_cas_mps(name, mass, height)
        notch = airplane.flaps_full if "flaps_full" in name else 0
        return float(airplane.ias_from_cas_mps(cas, notch))
    except AirworkError:
        return None  # outside the handbook's table: nothing is claimed


def approach_ias_mps(evidence: Evidence, start_s: float, end_s: float) -> float | None:
    """The airplane's approach speed with the flaps as they were: up where they stayed up, else full. [m/s]"""
    up = handbook_ias_mps(evidence, "approach_flaps_up") if flaps_left_up(evidence, start_s, end_s) else None
    return handbook_ias_mps(evidence, "approach_flaps_full") if up is None else up


def flaps_left_up(evidence: Evidence, start_s: float, end_s: float) -> bool:
    """The flaps the airplane has were up there, as far as they were recorded."""
    notch, airplane = evidence.flight.get("flap_notch"), evidence.airplane
    known = notch is not None and airplane is not None and airplane.flaps_full > 0
    return known and evidence.median(notch, start_s, end_s) < HALF_A_NOTCH
