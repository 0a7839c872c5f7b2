"""What a handbook's tables were derived from, as uncertainty of the fit to them. SI.

The rows of a table share their errors: they were computed from a few flights of one airplane, by one law, with one
airspeed system, and the climb rows stand on a full-throttle RPM that is itself worked out. A hundred rows are no surer
than that. The most probable parameters stay those of the printed rows; each common error moves them by so much, and
that is added to their covariance. So a right reading that disagrees with a table is not thrown out for it.
"""

from __future__ import annotations

import numpy as np

from airwork.airplane.performance.engine import FixedPitchEngine, ManifoldEngine
from airwork.airplane.performance.fit import Evidence, Posterior, outlooks
from airwork.airplane.performance.fixed_pitch import FixedPitch
from airwork.airplane.performance.priors import Law
from airwork.airplane.performance.state import Array
from airwork.units import KT_MPS

# One standard deviation of what all rows of a table share (from memory, wide and round): the law's own error where the
# table was flown, the airspeed it was flown by, a new airplane and a little hope in the rate of climb, the glide
_LAW_RPM, _LAW_POWER_SHARE = 8.0, 0.01
_AIRSPEED_MPS = 0.8 * KT_MPS
_CLIMB_SHARE, _GLIDE_SHARE = 0.03, 0.06


def common_errors(law: Law, book: Posterior, printed: Evidence, engine: FixedPitchEngine | ManifoldEngine) -> Array:
    """Covariance that the tables' common errors add to the parameters fitted to them. Shape (len θ, len θ)."""
    _, sd, slopes = outlooks(law, book, printed)
    level, climb, glide = printed.level, printed.climb, printed.glide
    weight = np.concatenate([level.weight, climb.weight, glide.weight]) / sd**2
    ends = np.cumsum([len(level), len(climb), len(glide)])
    is_level = np.arange(sd.size) < ends[0]
    is_climb = (np.arange(sd.size) >= ends[0]) & (np.arange(sd.size) < ends[1])
    errors = []
    if len(level):
        step = level.at.faster(1.001)
        per_speed = (law.control(book.theta, step) - law.control(book.theta, level.at)) / (0.001 * level.at.tas_mps)
        of_law = np.full(len(level), _LAW_RPM / 60.0) if isinstance(law, FixedPitch) else _LAW_POWER_SHARE * level.value
        errors += [_placed(is_level, of_law), _placed(is_level, per_speed * _AIRSPEED_MPS)]
    if len(climb):
        errors.append(_placed(is_climb, _CLIMB_SHARE * climb.value))
        share = 0.02 * np.ones(len(climb))
        if isinstance(engine, FixedPitchEngine):
            share = engine.full_throttle_share_sd(climb.at.tas_mps, climb.control)
        more = law.excess_n(book.theta, climb.at, climb.control * (1.0 + share))
        more = more - law.excess_n(book.theta, climb.at, climb.control)
        errors.append(_placed(is_climb, more * climb.at.tas_mps / climb.at.lift_n))
    if len(glide):
        errors.append(_placed(~is_level & ~is_climb, _GLIDE_SHARE * glide.value))
    moved = [book.cov @ (slopes.T @ (weight * error)) for error in errors]
    return np.asarray(sum((np.outer(m, m) for m in moved), np.zeros_like(book.cov)))


def _placed(where: Array, values: Array) -> Array:
    out = np.zeros(where.size)
    out[where] = values
    return out
