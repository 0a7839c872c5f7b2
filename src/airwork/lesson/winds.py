"""Wind as the lesson knows it. SI."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Wind:
    """Wind as reported. Direction FROM; None when it varies or the air is calm.

    magnetic : the direction is magnetic (tower, recorded broadcast) and has still to be turned to true.
    """

    from_rad: float | None
    speed_mps: float
    gust_mps: float | None = None
    varies_from_rad: float | None = None
    varies_to_rad: float | None = None
    magnetic: bool = False

    @property
    def peak_mps(self) -> float:
        """Gust where there is one, else the mean speed. [m/s]"""
        return self.speed_mps if self.gust_mps is None else max(self.gust_mps, self.speed_mps)


@dataclass(frozen=True, slots=True)
class Aloft:
    """Wind, and where given the temperature, at an altitude above sea level. Direction FROM, true."""

    altitude_m: float
    wind: Wind
    temperature_k: float | None = None
