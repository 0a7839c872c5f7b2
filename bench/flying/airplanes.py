"""The simulated airplanes: which JSBSim model, how it is loaded and the speeds it is flown by.

Speeds are indicated and were found by flying the model (tools: `python -m flying.survey`), not from any handbook.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from airwork.units import KT_MPS
from flying.invented import load


def _kt(value: float) -> float:
    return value * KT_MPS


@dataclass(frozen=True, slots=True)
class Model:
    """One airplane. Speeds are indicated, at about the usual training mass."""

    name: str
    jsbsim_name: str
    payload_shares: tuple[tuple[int, float], ...]  # point mass index, share of the payload
    payload_kg: float
    tank_count: int
    fuel_kg: float
    flap_deg: tuple[float, ...]
    stall_mps: float  # flaps up
    stall_flaps_mps: float  # full flaps
    climb_mps: float  # best rate
    glide_mps: float
    maneuvering_mps: float
    cruise_mps: float
    approach_mps: float
    flaps_max_mps: float
    never_exceed_mps: float
    rotate_mps: float
    stall_warning_alpha_rad: tuple[float, ...]  # by flap notch; the last one goes for all further notches
    stall_alpha_rad: tuple[float, ...]
    slip_rudder: float = 0.8
    easy_climb_mps: float = 2.5  # vertical speed used to get back to an altitude
    takeoff_elevator: float = -0.05
    takeoff_trim: float = -0.02
    downwind_mps: float = 0.0
    approach_path_deg: float = 4.5
    flare_pitch_rad: float = math.radians(9.0)
    emergency_mps: float = 0.0
    chandelle_pitch_rad: float = math.radians(15.0)
    invented: bool = False  # flown with the truth numbers of an airplane file
    selector_both: bool = True  # the selector has a position that feeds from both tanks
    mixture: float = 0.9
    lean_exponent: float = 0.5  # mixture follows pressure to this power
    standing_height_m: float = 1.2
    standing_pitch_deg: float = 0.0
    from_runway: bool = True  # False: flown from and to the air only


C172P = Model(
    name="c172p", jsbsim_name="c172p", payload_shares=((0, 0.5), (1, 0.5)), payload_kg=160.0, tank_count=2,
    fuel_kg=90.0, flap_deg=(0.0, 10.0, 20.0, 30.0), stall_mps=_kt(48), stall_flaps_mps=_kt(43), climb_mps=_kt(76),
    glide_mps=_kt(65), maneuvering_mps=_kt(95), cruise_mps=_kt(100), approach_mps=_kt(63), flaps_max_mps=_kt(85),
    never_exceed_mps=_kt(158), rotate_mps=_kt(55), stall_warning_alpha_rad=(0.205,),
    stall_alpha_rad=(0.29,),
    emergency_mps=_kt(118), downwind_mps=_kt(85),
)  # fmt: skip


J3CUB = Model(
    name="j3cub", jsbsim_name="J3Cub", payload_shares=((0, 1.0),), payload_kg=120.0, tank_count=1, fuel_kg=29.0,
    flap_deg=(0.0,), stall_mps=_kt(34), stall_flaps_mps=_kt(34), climb_mps=_kt(50), glide_mps=_kt(48),
    maneuvering_mps=_kt(63), cruise_mps=_kt(65), approach_mps=_kt(50), flaps_max_mps=_kt(60),
    never_exceed_mps=_kt(105), rotate_mps=_kt(40), stall_warning_alpha_rad=(0.16,), stall_alpha_rad=(0.25,),
    emergency_mps=_kt(85), downwind_mps=_kt(60), from_runway=False, easy_climb_mps=1.2,
)  # fmt: skip


def _invented(airplane_id: str, *, mass_lb: float, payload_kg: float, fuel_kg: float, level_kt: float) -> Model:
    """A model with the speeds of the airplane's own file at its training mass."""
    airplane = load(airplane_id)
    notches = range(len(airplane.flap_deg))
    top_white = airplane.file["flaps"]["notches"][-1]["maximum_speed_kias"]
    flaps_max = min(float(top_white), 85.0)
    stall_full = airplane.speed_kias("stall_flaps_full", mass_lb)
    return Model(
        name=airplane_id, jsbsim_name=airplane_id, payload_shares=((0, 1.0),), payload_kg=payload_kg, tank_count=2,
        fuel_kg=fuel_kg, flap_deg=airplane.flap_deg, stall_mps=_kt(airplane.speed_kias("stall_flaps_up", mass_lb)),
        stall_flaps_mps=_kt(stall_full), climb_mps=_kt(airplane.speed_kias("best_rate_of_climb", mass_lb)),
        glide_mps=_kt(airplane.speed_kias("best_glide", mass_lb)), maneuvering_mps=_kt(level_kt),
        cruise_mps=_kt(level_kt + 3.0), approach_mps=_kt(max(1.35 * stall_full, 54.0)), flaps_max_mps=_kt(flaps_max),
        never_exceed_mps=_kt(airplane.file["limitations"]["never_exceed_kias"]),
        rotate_mps=_kt(airplane.speed_kias("stall_flaps_up", mass_lb) + 7.0),
        stall_warning_alpha_rad=tuple(airplane.knee_rad(n) for n in notches),
        stall_alpha_rad=tuple(airplane.stall_rad(n) + 0.01 for n in notches), emergency_mps=_kt(level_kt + 22.0),
        downwind_mps=_kt(level_kt - 10.0), standing_height_m=1.27, invented=True,
        selector_both=any(len(p["feeds"]) == 2 for p in airplane.file["fuel"]["selector_positions"]),
        takeoff_trim=-0.15, chandelle_pitch_rad=math.radians(13.0),
    )  # fmt: skip


LARKMOOR_155 = _invented("larkmoor_155", mass_lb=1950.0, payload_kg=160.0, fuel_kg=90.0, level_kt=90.0)
WRENBROOK_108 = _invented("wrenbrook_108", mass_lb=1500.0, payload_kg=145.0, fuel_kg=50.0, level_kt=84.0)
MODELS = {model.name: model for model in (C172P, J3CUB, LARKMOOR_155, WRENBROOK_108)}
