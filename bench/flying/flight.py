"""A flown flight: clean columns, what a recorder would have kept of them, the marks, and its truth as plain data."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from airwork.units import to_unit
from flying.extents import exact
from flying.state import Day
from flying.truth import Mark, measure

Array = NDArray[np.float64]
NOTED_TIMES = ("touchdown_s", "lift_off_s")  # in the truth file from the first sample, as all its times


@dataclass(slots=True)
class Flown:
    """Everything known of one generated flight."""

    name: str
    generator: str  # "jsbsim" or "kinematic"
    airplane: str
    day: Day
    setting_pa: float
    rate_hz: float
    columns: dict[str, Array]  # truth
    recorded: dict[str, Array]  # as the sensors saw it
    marks: list[Mark]
    skill_level: float
    seed: int
    about: dict[str, object] = field(default_factory=dict)

    def truth(self) -> dict[str, object]:
        """The truth file: printed units in the key names."""
        first_s = float(self.columns["time_s"][0])
        episodes = []
        for mark in sorted(exact(self.columns, self.marks), key=lambda m: (m.start_s, m.end_s)):
            episodes.append({
                "kind": mark.kind, "start_s": round(mark.start_s - first_s, 2), "end_s": round(mark.end_s - first_s, 2),
                "intended": mark.intended, "targets": mark.targets,
                "phases": {k: round(v - first_s, 2) for k, v in mark.phases.items()},
                "notes": mark.notes | {k: round(float(mark.notes[k]) - first_s, 2)  # type: ignore[arg-type]
                                       for k in NOTED_TIMES if k in mark.notes},
                "truth": measure(self.columns, mark.start_s, mark.end_s, mark.targets),
            })  # fmt: skip
        wind = self.day.wind
        heights_ft = (50, 1000, 2000, 3000, 4000, 6000)
        profile = []
        for height in heights_ft:
            from_rad, speed = wind.mean(height / to_unit(1.0, "ft"))
            profile.append({
                "agl_ft": height, "from_deg": round(math.degrees(from_rad) % 360.0, 1),
                "kt": round(to_unit(speed, "kt"), 2),
            })  # fmt: skip
        mass = self.columns["mass_kg"]
        return {
            "name": self.name, "generator": self.generator, "airplane": self.airplane, "skill": self.skill_level,
            "seed": self.seed, "start_utc_s": self.day.start_utc_s, "first_sample_s": first_s,
            "duration_s": round(float(self.columns["time_s"][-1]) - first_s, 2),
            "elevation_ft": round(to_unit(self.day.elevation_m, "ft"), 1),
            "setting_inhg": round(to_unit(self.setting_pa, "inHg"), 3),
            "setting_hpa": round(to_unit(self.setting_pa, "hPa"), 2),
            "isa_deviation_c": self.day.isa_deviation_k,
            "variation_deg": round(math.degrees(self.day.variation_rad), 2),
            "start_mass_lb": round(to_unit(float(mass[0]), "lb"), 1),
            "end_mass_lb": round(to_unit(float(mass[-1]), "lb"), 1),
            "wind_profile": profile, "gust_kt": round(to_unit(wind.gust_mps, "kt"), 2),
            "thermal_fpm": round(to_unit(wind.thermal_mps, "fpm"), 0), "about": self.about, "episodes": episodes,
        }  # fmt: skip
