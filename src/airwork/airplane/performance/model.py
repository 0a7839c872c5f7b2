"""Performance: one airplane as fitted physics, the value that the answers' functions take. SI; rpm in rev/min."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from airwork.airplane.airplane import Airplane
from airwork.airplane.performance.attitude import Attitude, attitude_of
from airwork.airplane.performance.engine import Engine, FixedPitchEngine
from airwork.airplane.performance.learn import Learned
from airwork.airplane.performance.priors import Law
from airwork.airplane.performance.state import Array


@dataclass(frozen=True, repr=False)
class Performance:
    """What one airplane does, and how sure that is: its file and what was learned, with what follows from both."""

    airplane: Airplane
    learned: Learned

    def __repr__(self) -> str:
        return f"Performance({self.airplane.id!r}, {len(self.learned.readings_used)} readings)"

    @property
    def law(self) -> Law:
        return self.learned.law

    @property
    def theta(self) -> Array:
        """Fitted parameters."""
        return self.learned.own.theta

    @property
    def engine(self) -> Engine:
        """What drives it."""
        return self.learned.engine

    @property
    def fixed(self) -> FixedPitchEngine | None:
        """The engine of a fixed-pitch airplane."""
        engine = self.learned.engine
        return engine if isinstance(engine, FixedPitchEngine) else None

    @cached_property
    def usual_rpm(self) -> float:
        """RPM a constant-speed propeller is set to where the question names none: the readings', else the tables'."""
        readings = [r.rpm for r in self.learned.readings_used if r.kind == "level" and r.rpm is not None]
        if readings:
            return float(np.median(readings))
        cruise = self.airplane.file.performance.cruise
        if printed := [row.rpm for row in (cruise.rows if cruise else []) if row.rpm is not None]:
            return float(np.median(printed))
        return 0.85 * self.airplane.rated_rpm

    @cached_property
    def never_exceed_cas_mps(self) -> float:
        """Upper end of the answers: the never-exceed speed, or four times the stall speed without one. [m/s]"""
        limit = self.airplane.limits.never_exceed_ias_mps
        if limit is None:
            return 4.0 * float(self.airplane.stall_cas_mps(self.airplane.max_takeoff_mass_kg))
        cas = float(self.airplane.calibration[0].cas(limit))
        return cas if np.isfinite(cas) else limit

    @cached_property
    def redline_rpm(self) -> float:
        """Maximum RPM. [rev/min]"""
        return self.airplane.limits.max_rpm or self.airplane.rated_rpm

    @cached_property
    def attitude(self) -> Attitude:
        """The lift curve, its zero set by pitch readings where there are any."""
        return attitude_of(self.airplane, self.learned)
