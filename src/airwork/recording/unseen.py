"""Stops on the ground that nothing received: a gap from low on the way down to low in a climb, at one place.

Networks of receivers lose who is low at a small field. Common practice, no source; limits are wide.
"""

from __future__ import annotations

import numpy as np

from airwork.recording.flight import Array, Mend
from airwork.recording.known_fields import elevations_near
from airwork.recording.time_base import typical_step_s
from airwork.recording.work import Work
from airwork.units import to_unit

# A gap: at least so long, in steps of the recording; how far before and after it, the least sink and climb there.
_LEAST_S, _STEPS, _BESIDE_S, _MOVES_M = 150.0, 6.0, 60.0, 25.0
_LOW_M, _LEVEL_M, _FIELD_M = 250.0, 120.0, 6_000.0  # over the lowest flown, between both ends, from end to end
_SHARE = 0.4  # of its speed at both ends, made good over the gap: it can't have flown on
_OVER_FIELD_M = 260.0  # over its elevation: 500 ft, and an altimeter not set
_AWAY_S = 60.0  # of the gap it still flew: the end of the approach, the beginning of the climb


def _near_a_field(work: Work, t: Array, high: Array) -> bool:
    """Before or after the gap it is near and low over an aerodrome of the tables, where these know any."""
    latitude, longitude = work.get("latitude_rad"), work.get("longitude_rad")
    if latitude is None or longitude is None:
        return True
    at = np.searchsorted(work.time_s, t)
    found = [elevations_near(float(latitude[k]), float(longitude[k]), _FIELD_M) for k in at]
    return any(f is None or bool((h - f < _OVER_FIELD_M).any()) for f, h in zip(found, high, strict=True))


def note_unseen_stops(work: Work, altitude: Array, speed: Array) -> None:
    """Note each, as [from, to] in seconds of the time on the ground, in facts["unseen_stops"], and say it."""
    known = np.isfinite(altitude)
    east, north = work.get("east_m"), work.get("north_m")
    if east is not None and north is not None:
        known &= np.isfinite(east) & np.isfinite(north)
    if known.sum() < 4 or east is None or north is None:
        return
    t, high, place, fast = work.time_s[known], altitude[known], (east + 1j * north)[known], speed[known]
    low = float(np.min(high)) + _LOW_M
    stops = []
    for k in np.flatnonzero(np.diff(t) > max(_LEAST_S, _STEPS * typical_step_s(t))):
        before, after = (t > t[k] - _BESIDE_S) & (t <= t[k]), (t >= t[k + 1]) & (t < t[k + 1] + _BESIDE_S)
        down, up = float(high[before].max() - high[k]), float(high[after].max() - high[k + 1])
        far, gap_s = float(abs(place[k + 1] - place[k])), float(t[k + 1] - t[k])
        at_field = max(high[k], high[k + 1]) < low and abs(high[k + 1] - high[k]) < _LEVEL_M and far < _FIELD_M
        slow = far / gap_s < _SHARE * float(min(fast[k], fast[k + 1]))
        if at_field and min(down, up) > _MOVES_M and slow and _near_a_field(work, t[k : k + 2], high[k : k + 2]):
            stops.append((float(t[k]), float(t[k + 1])))
    if not stops:
        return
    work.facts["unseen_stops"] = [[a + 0.5 * _AWAY_S, b - 0.5 * _AWAY_S] for a, b in stops]
    work.facts["unseen_s"] = round(sum(b - a - _AWAY_S for a, b in stops), 1)
    for a, b in stops:
        ends = [to_unit(float(np.interp(x, t, high)), "ft") for x in (a, b)]
        said = f"not received for {(b - a) / 60.0:.0f} min, from {ends[0]:,.0f} ft on the way down to {ends[1]:,.0f} ft"
        said += " in a climb at the same place: it landed and took off again between, when isn't known"
        work.mends.append(Mend(said, 1, a, b))
