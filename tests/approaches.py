"""Straight approaches to a touchdown, drawn sample by sample: what is planted is exactly known."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.episode import Episode, Phase
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Column, Flight, GroundContact
from airwork.standards import load_standard
from airwork.units import FPM_MPS, FT_M, KT_MPS

STEP, TOUCH, END = 0.1, 90.0, 112.0
FIELD_M = 250.0
PRIVATE = load_standard("private")


def approach(
    *, path_deg: float = 3.5, kt: float = 65.0, touch_fpm: float = 120.0, flare_s: float = 4.0, balloon_ft: float = 0.0,
    right_m: object = None, bank_deg: object = None, heading_deg: object = None, track_deg: object = None,
    pitch_deg: object = None,
    **columns: object,
) -> Flight:  # fmt: skip
    """Landing toward the north; the functions take the time [s] as an array, the touch is at 90 s.

    path_deg : down to the flare; flare_s : from there to the wheels; touch_fpm : sink at the wheels; balloon_ft :
    gained in the flare.
    """
    t = np.arange(0.0, END, STEP)
    before, v = t < TOUCH, kt * KT_MPS
    to_go = TOUCH - t
    sink = np.where(to_go > flare_s, v * np.tan(np.radians(path_deg)), touch_fpm * FPM_MPS) * before
    height = np.cumsum(sink[::-1])[::-1] * STEP
    bump = np.clip((t - (TOUCH - 5.4)) / 5.0, 0.0, 1.0)  # 12 ft so smoothly ask for 0.3 g more: what a wing can
    height = np.where(before, height + balloon_ft * FT_M * np.sin(np.pi * bump) ** 2, 0.0)
    speed = np.where(before, v, np.maximum(v - 2.5 * (t - TOUCH), 0.0))
    north = np.cumsum(speed) * STEP
    zero = np.zeros(t.size)

    def made(what: object) -> np.ndarray:
        return zero if what is None else np.asarray(what(t), dtype=float)  # type: ignore[operator]

    values: dict[str, np.ndarray] = {
        "east_m": made(right_m), "north_m": north, "altitude_m": FIELD_M + height, "agl_m": height,
        "indicated_altitude_m": FIELD_M + height, "groundspeed_mps": speed, "ias_mps": speed, "cas_mps": speed,
        "tas_mps": speed, "track_rad": np.radians(made(track_deg)), "heading_rad": np.radians(made(heading_deg)),
        "heading_mag_rad": np.radians(made(heading_deg)), "pitch_rad": np.radians(made(pitch_deg)),
        "bank_rad": np.radians(made(bank_deg)),
        "vertical_speed_mps": np.gradient(height, STEP), "load_factor": np.ones(t.size),
        "on_ground": (~before).astype(float), "wind_mps": zero, "wind_from_rad": zero,
    }  # fmt: skip
    values |= {name: made(what) for name, what in columns.items()}
    flight_columns = {k: Column(x, "measured") for k, x in values.items()}
    return Flight(1.75e9, t, flight_columns, contacts=(GroundContact("landing", TOUCH),), source={"name": "drawn"})


def landing(**facts: float) -> Episode:
    """The landing at the end of it."""
    phases = (Phase("final", 60.0, TOUCH), Phase("roll", TOUCH, END - 5.0))
    return Episode("landing", 60.0, END - 5.0, 1.0, phases, facts={"touch_s": TOUCH, **facts})


def desk(flight: Flight, episode: Episode | None = None, **more: object) -> tuple[Evidence, Sheet]:
    """Evidence and mark sheet of a flight."""
    view = build_view(flight)
    assert view is not None
    e = landing() if episode is None else episode
    evidence = Evidence(flight, view, PRIVATE, episodes=(e,), **more)  # type: ignore[arg-type]
    return evidence, Sheet(e, evidence)
