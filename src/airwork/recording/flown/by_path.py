"""What a flight without RPM still says of its airplane: climb, descent, cruise and the slowest flown. SI inside.

From position alone the true airspeed is the path less the wind that the turns show, good to a knot or two; how far the
throttle was open is not known. So these are what was flown, told beside the handbook's, and nothing is fitted to them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from airwork.airplane import Airplane
from airwork.recording.flight import Array, Flight
from airwork.recording.flown.seconds import Seconds, at_seconds, by_second
from airwork.units import FPM_MPS, to_unit

_MINUTE = 60
_STEADY_MPS, _LEVEL_MPS = 3.0, 0.5  # of the speed within a minute (spread); of the height's rate
_CLIMB_MPS, _SINK_MPS = 250.0 * FPM_MPS, 350.0 * FPM_MPS
_LEAST = 2


def by_path(flight: Flight, airplane: Airplane) -> tuple[str, ...]:
    """Phrases, each with the speed it was flown at; empty where not even an airspeed could be had."""
    s = by_second(flight, airplane)
    if s is None:
        return ()
    height = s.altitude_m if np.isfinite(s.altitude_m).sum() > _MINUTE else _height(flight, s)
    speed = s.tas_mps
    minutes = [slice(i, i + _MINUTE) for i in range(0, speed.size - _MINUTE, _MINUTE // 2)]
    good = [m for m in minutes if np.isfinite(speed[m] + height[m]).all() and not s.on_ground[m].any()]
    if not good:
        return ()
    rate = np.array([np.polyfit(np.arange(_MINUTE), height[m], 1)[0] for m in good])
    tas = np.array([float(np.mean(speed[m])) for m in good])
    steady = np.array([float(np.std(speed[m])) < _STEADY_MPS for m in good])
    return tuple(_phrases(rate, tas, steady, airplane))


def _phrases(rate: Array, tas: Array, steady: NDArray[np.bool_], airplane: Airplane) -> list[str]:
    unit, out = airplane.dial_unit, []

    def kt(value: float) -> str:
        return f"{to_unit(value, unit):.0f} {unit} true"

    up, down = steady & (rate > _CLIMB_MPS), steady & (rate < -_SINK_MPS)
    if up.sum() >= _LEAST:
        best = np.argsort(rate[up])[-max(_LEAST, int(up.sum()) // 4) :]
        climb, v = float(np.median(rate[up][best])), float(np.median(tas[up][best]))
        out.append(f"climbed {to_unit(climb, 'fpm'):,.0f} ft/min at {kt(v)}")
    if down.sum() >= _LEAST:
        most = np.argsort(rate[down])[: max(_LEAST, int(down.sum()) // 4)]
        sink, v = -float(np.median(rate[down][most])), float(np.median(tas[down][most]))
        glided = f"{v / sink:.1f} to 1, with how much power is not known"
        out.append(f"came down {to_unit(sink, 'fpm'):,.0f} ft/min at {kt(v)} ({glided})")
    level = steady & (np.abs(rate) < _LEVEL_MPS)
    if level.sum() >= _LEAST:
        fast, slow = float(np.quantile(tas[level], 0.8)), float(tas[level].min())
        out.append(f"cruised at {kt(fast)}, flew level as slow as {kt(slow)}")
    return out


def _height(flight: Flight, s: Seconds) -> Array:
    """Height by satellite where there is no pressure altitude."""
    for name in ("altitude_m", "gps_altitude_m"):
        values = flight.get(name)
        if values is not None:
            return at_seconds(flight.time_s, values, s.time_s)
    return np.full(s.time_s.size, np.nan)
