"""The air a simulated flight meets: mean wind by height, gusts, thermals. SI; repeatable for a seed."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np


@dataclass(frozen=True, slots=True)
class Wind:
    """Mean wind and how rough the air is.

    from_rad, speed_mps : direction it blows from (true) and speed at `reference_agl_m`.
    veer_rad_per_km : change of direction with height (positive: clockwise).
    shear_exponent : power law below `top_agl_m`; above it the speed grows by `growth_per_km` of itself.
    gust_mps : standard deviation of the horizontal gusts; the vertical ones are 0.7 of it.
    thermal_mps : standard deviation of slow up- and downdraughts.
    """

    from_rad: float = 0.0
    speed_mps: float = 0.0
    reference_agl_m: float = 600.0
    veer_rad_per_km: float = 0.0
    shear_exponent: float = 0.14
    top_agl_m: float = 600.0
    growth_per_km: float = 0.0
    gust_mps: float = 0.0
    thermal_mps: float = 0.0

    def mean(self, agl_m: float) -> tuple[float, float]:
        """Mean wind at a height above ground: (from, speed). [rad, m/s]"""
        height_m = max(agl_m, 2.0)
        speed_mps = self.speed_mps * (min(height_m, self.top_agl_m) / self.reference_agl_m) ** self.shear_exponent
        speed_mps *= 1.0 + self.growth_per_km * max(0.0, height_m - self.top_agl_m) / 1000.0
        return self.from_rad + self.veer_rad_per_km * (height_m - self.reference_agl_m) / 1000.0, speed_mps


@dataclass(slots=True)
class Gusts:
    """First-order filtered noise along north, east and up, plus a slow vertical part; `step` in time order."""

    wind: Wind
    seed: int
    length_m: float = 300.0
    _noise: list[float] = field(default_factory=list)
    _rng: np.random.Generator = field(init=False)
    _state: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0, 0.0])

    def __post_init__(self) -> None:
        self._rng = np.random.default_rng([self.seed, 77])

    def step(self, dt_s: float, tas_mps: float, agl_m: float) -> tuple[float, float, float]:
        """Gust (north, east, up) after another dt. [m/s]"""
        if self.wind.gust_mps == 0.0 and self.wind.thermal_mps == 0.0:
            return 0.0, 0.0, 0.0
        if len(self._noise) < 4:
            self._noise = self._rng.standard_normal(4000).tolist()
        noise = self._noise
        length_m = min(self.length_m, 60.0 + agl_m)
        state = self._state
        keep = math.exp(-max(tas_mps, 5.0) * dt_s / length_m)
        kick = math.sqrt(1.0 - keep * keep) * self.wind.gust_mps
        state[0] = keep * state[0] + kick * noise.pop()
        state[1] = keep * state[1] + kick * noise.pop()
        state[2] = keep * state[2] + 0.7 * kick * noise.pop() * min(1.0, 0.2 + agl_m / 100.0)
        keep = math.exp(-dt_s / 25.0)
        calm_low = min(1.0, agl_m / 300.0)  # thermals are weak near the ground
        state[3] = keep * state[3] + math.sqrt(1.0 - keep * keep) * self.wind.thermal_mps * noise.pop()
        return state[0], state[1], state[2] + state[3] * calm_low
