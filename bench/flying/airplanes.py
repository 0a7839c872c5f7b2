"""The simulated airplanes: which JSBSim model, how it is loaded and the speeds it is flown by.

Speeds are indicated and were found by flying the model (tools: `python -m flying.survey`), not from any handbook.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from airwork.units import KT_MPS


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
    stall_warning_alpha_rad: float
    stall_alpha_rad: float
    slip_rudder: float = 0.8
    takeoff_elevator: float = -0.05
    takeoff_trim: float = -0.02
    downwind_mps: float = 0.0
    approach_path_deg: float = 4.5
    flare_pitch_rad: float = math.radians(9.0)
    emergency_mps: float = 0.0
    chandelle_pitch_rad: float = math.radians(15.0)
    mixture: float = 0.9
    lean_exponent: float = 0.5  # mixture follows pressure to this power
    standing_height_m: float = 1.2
    standing_pitch_deg: float = 0.0
    from_runway: bool = True  # False: flown from and to the air only


C172P = Model(
    name="c172p", jsbsim_name="c172p", payload_shares=((0, 0.5), (1, 0.5)), payload_kg=160.0, tank_count=2,
    fuel_kg=90.0, flap_deg=(0.0, 10.0, 20.0, 30.0), stall_mps=_kt(48), stall_flaps_mps=_kt(43), climb_mps=_kt(76),
    glide_mps=_kt(65), maneuvering_mps=_kt(95), cruise_mps=_kt(100), approach_mps=_kt(63), flaps_max_mps=_kt(85),
    never_exceed_mps=_kt(158), rotate_mps=_kt(55), stall_warning_alpha_rad=0.205,
    stall_alpha_rad=0.29,
    emergency_mps=_kt(118), downwind_mps=_kt(85),
)  # fmt: skip

MODELS = {model.name: model for model in (C172P,)}
