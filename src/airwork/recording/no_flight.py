"""Tracks that no airplane made: what drives, hovers, drifts or falls; and why, in words.

What drives is told by several measures together (`driven.py`). The other rules are each a matter of physics: nothing
with wings is in the air slower than it stalls, rises on one spot, or climbs only while it hardly moves. An instrument
of an airplane (airspeed, engine speed, a ground switch) overrules them, but where it never leaves the ground. Limits
are common practice, no source.
"""

from __future__ import annotations

import re

import numpy as np

from airwork.masks import runs
from airwork.recording.craft import glides_by_name
from airwork.recording.driven import Track, drives, may_drive
from airwork.recording.flight import Array
from airwork.recording.smooth import Window
from airwork.recording.unit_heights import ascends
from airwork.recording.work import Work
from airwork.units import to_unit

_MOVES_MPS, _WALKING_MPS = 1.0, 5.0
_ON_THE_GROUND = re.compile(r"(?i)\b(?:\w*bik|\w*cycl|run|walk|hik|driv|sailing|row|ski(?!y)|swim)")
_NOT_PEDALED_MPS = 30.0
_SLOWEST_MPS, _WALKS_MPS = 30.0, 17.0  # 58 kt; slower nothing of a school flies
_MINUTE_S, _LONG_S, _SEEN_STEP_S, _SPARSE_STEP_S = 60.0, 300.0, 2.0, 15.0
_LOW_M, _NEVER_UP_M, _HARDLY_UP_M, _ENDS_S = 60.0, 150.0, 30.0, 60.0
_FLOWN_MPS = 23.0  # 45 kt for a minute: slower than that throughout, and never up, nothing has flown
_FALLS_MPS, _FALLS_S = 30.0, 40.0  # 6,000 fpm, steeper than it goes forward, for so long: a spin is recovered by then
_HALF_S = 8.0
_SECONDS_S = 15.0  # too short to tell anything of what stands or goes at walking pace
_DROPS_S, _DROPS_M, _STANDS_S, _STANDS_M = 20.0, 70.0, 3.0, 6.0  # who lands floats and rolls for most of that
_SPOT_MPS, _RISES_MPS, _ROSE_M, _NEAR_M = 1.5, 0.7, 15.0, 30.0  # standing over the ground, and rising or sinking
# 29 kt: nothing with wings is in the air so slow. A satellite's height wanders by 10 m while it taxies.
_AIRBORNE_MPS, _HANGS_M, _HANGS_GRADE = 15.0, 12.0, 0.08
_SURELY, _TIMES = 2.0, 3  # so much more than that, so often, and no halt beside it speaks against it
_LEAVES_S, _LEAVES_AT = 20.0, 0.5  # and of its speed: what stays slower taxies, on wheels or in a hover
_DRIFTS = 0.8  # so much of its way made good
_BALLOON_GRADE = 0.2
_SPOT_M = 50.0
_PATH_GRADE = 0.12  # no road is steeper for long
# 49 kt at the most, and each height within so much throughout: wheels that never left the ground
_NEVER_LEFT_MPS, _STOPS_S = 25.0, 5.0
_NEVER_LEFT_M = {"indicated_altitude_m": 10.0, "pressure_altitude_m": 10.0, "gps_altitude_m": 15.0}


def _track(work: Work) -> Track | None:
    speed, altitude = work.get("groundspeed_mps"), work.get("altitude_m", "gps_altitude_m")
    if speed is None or any(work.measured(n) is not None for n in ("ias_mps", "rpm", "on_ground")):
        return None
    at = work.seconds_apart()
    t, v, h = work.time_s[at], speed[at], np.zeros(at.size) if altitude is None else altitude[at]
    known = np.isfinite(v) & np.isfinite(h)
    if not known.any():
        return None
    moves = known & (v > _MOVES_MPS)
    east, north = (x[at] if (x := work.get(n)) is not None else np.full(t.size, np.nan) for n in ("east_m", "north_m"))
    return Track(t, v, h, east, north, float(np.percentile(v[moves], 98)) if moves.any() else _MOVES_MPS, work.step_s)


def no_flight(work: Work) -> tuple[str, str]:
    """("drives" or "no_airplane", why) before anything of the flight is worked out; ("", "") if it may have flown."""
    sport, speed = str(work.facts.get("sport", "")), work.get("groundspeed_mps")
    placed = work.get("latitude_rad") is not None  # else a trainer's wheel in a room
    fast = placed and speed is not None and float(np.nanpercentile(speed, 90.0)) >= _NOT_PEDALED_MPS
    if _ON_THE_GROUND.search(sport) and not fast:
        return "drives", f"its file calls it {sport[:30]}"
    if why := _never_left(work):
        return "drives", why
    track = _track(work)
    if track is None or track.t.size < 3 or glides_by_name(work):
        return "", ""
    if _of_seconds(track):
        return "", ""
    fine = track.step_s <= _SEEN_STEP_S
    slow, drifts = ((), ()) if _soars(work, track) else ((_stays_down,), (_drifts,))
    if track.top_mps <= _MOVES_MPS or work.get("altitude_m", "gps_altitude_m") is None:
        return ("drives", why) if (why := _stays_down(track) or _stands(track)) else ("", "")
    falls = (_rises_on_the_spot, _falls, *((_drops_in,) if slow else ())) if fine else ()
    for kind, rules in (
        ("no_airplane", (*falls, _hangs, *drifts, _ascends)),
        ("drives", (drives,)),
        ("drives", slow),
        ("no_airplane", (_never_up,) if fine and slow else ()),
    ):
        if why := next((said for rule in rules if (said := rule(track))), ""):
            return kind, why
    return "", ""


def not_known(work: Work) -> str:
    """Why it doesn't show whether a track flew, in words; "" where it does."""
    track = _track(work)
    if track is None or track.t.size < 3 or glides_by_name(work):
        return ""
    if _of_seconds(track):
        return f"{track.t[-1] - track.t[0]:.0f} s, and never faster than one walks"
    if track.top_mps <= _MOVES_MPS or _soars(work, track):
        return ""
    long = track.t[-1] - track.t[0] > 2.0 * _LONG_S  # without a height, too, a cruise so long shows wings
    return "" if long and work.get("altitude_m", "gps_altitude_m") is None else may_drive(track)


def _of_seconds(track: Track) -> bool:
    """A few seconds of standing or walking pace: before a flight, after one, or of none."""
    return bool(track.t[-1] - track.t[0] < _SECONDS_S) and track.top_mps <= _WALKING_MPS


def _never_left(work: Work) -> str:
    """What an airplane's instruments or a logger recorded of taxiing and rejected take-offs; it stands at both ends."""
    instruments = any(work.measured(n) is not None for n in ("ias_mps", "rpm"))
    speed, t = work.get("groundspeed_mps", "ias_mps"), work.time_s
    heights = {n: h[np.isfinite(h)] for n in _NEVER_LEFT_M if (h := work.measured(n)) is not None}
    told = (instruments or work.facts.get("format") == "IGC") and work.measured("on_ground") is None
    if speed is None or not told:
        return ""
    if not heights or t[-1] - t[0] < _MINUTE_S or not all(h.size > t.size / 2 for h in heights.values()):
        return ""
    tops = [float(np.nanmax(v, initial=0.0)) for v in (speed, work.measured("ias_mps")) if v is not None]
    ends = np.nan_to_num(speed[(t < t[0] + _STOPS_S) | (t > t[-1] - _STOPS_S)], nan=99.0)
    if not _WALKING_MPS < max(tops) < _NEVER_LEFT_MPS or float(ends.max()) > _SPOT_MPS:
        return ""
    if any(float(np.ptp(h)) > _NEVER_LEFT_M[n] for n, h in heights.items()):
        return ""
    return f"it never leaves the ground: at most {to_unit(max(tops), 'kt'):.0f} kt, and its height stays the same"


def _soars(work: Work, track: Track) -> bool:
    """A logger of gliders that does more than walk flew: a paraglider at its slope is slow and hardly rises."""
    return work.facts.get("format") == "IGC" and track.top_mps > _WALKING_MPS


def _never_up(track: Track, up_m: float = _NEVER_UP_M) -> str:
    if track.t[-1] - track.t[0] < _MINUTE_S and track.top_mps > _WALKING_MPS:
        return ""  # a roll before it takes off, a launch from a slope
    low, high = (float(x) for x in np.nanpercentile(track.h, [1.0, 99.0]))
    minute = float(np.nanmax(Window(track.t, 0.5 * _MINUTE_S).mean(track.v)))
    limit = _FLOWN_MPS if track.t[-1] - track.t[0] > _LONG_S and track.step_s <= _SEEN_STEP_S else _WALKS_MPS
    if minute >= limit or high - low >= up_m:
        return ""
    up = f", never {to_unit(up_m, 'ft'):.0f} ft up" if high > low else ""
    return f"never {to_unit(limit, 'kt'):.0f} kt for a minute{up}"


def _stays_down(track: Track) -> str:
    """So slow and flat that an airplane taxies, at fixes however rare."""
    return _never_up(track, _HARDLY_UP_M)


def _stands(track: Track) -> str:
    """On one spot throughout, by speed and positions: while a receiver settles, its height alone lifts nobody."""
    settled = track.h[track.t - track.t[0] > _MINUTE_S]
    settled = settled[np.isfinite(settled)]
    places = [x[np.isfinite(x)] for x in (track.east, track.north)]
    if track.top_mps > _MOVES_MPS or not all(x.size for x in places):
        return ""
    still = all(float(np.ptp(np.percentile(x, [5.0, 95.0]))) < _SPOT_M for x in places)
    level = not settled.size or float(np.ptp(settled)) < _HARDLY_UP_M
    return "it never moves over the ground" if still and level else ""


def _falls(track: Track) -> str:
    falls = -np.nan_to_num(Window(track.t, 0.5 * _FALLS_S).slope(track.h))
    if not (falls > np.maximum(_FALLS_MPS, Window(track.t, 0.5 * _FALLS_S).mean(track.v))).any():
        return ""
    return f"it falls at {to_unit(float(falls.max()), 'fpm'):,.0f} fpm for {_FALLS_S:.0f} s"


def _drops_in(track: Track) -> str:
    """It stands so soon after it was high up that nothing rolled: under a canopy."""
    t, v = track.t, np.nan_to_num(track.v, nan=99.0)
    for first, past in runs(v < _SPOT_MPS):
        stood, before = track.h[first:past], int(np.searchsorted(t, t[first] - _DROPS_S))
        slowing = v[np.searchsorted(t, t[first] - 2.0)] < _AIRBORNE_MPS  # positions that hang stop at once
        stands = slowing and t[past - 1] - t[first] > _STANDS_S and float(np.ptp(stood)) < _STANDS_M
        dropped = float(track.h[before] - np.median(stood)) if before and stands else 0.0
        if dropped > _DROPS_M:
            return f"it stands {_DROPS_S:.0f} s after it was {to_unit(dropped, 'ft'):,.0f} ft up"
    return ""


def _rises_on_the_spot(track: Track) -> str:
    still = np.nan_to_num(track.v, nan=9.0) < _SPOT_MPS
    low, quick = float(np.nanpercentile(track.h, 1.0)), np.abs(np.nan_to_num(track.mean_slope(10.0))) > _RISES_MPS
    for first, past in runs(still):
        here = track.h[first:past]
        if not (here < low + _NEAR_M).any():
            continue
        rose = max((abs(float(here[b - 1] - here[a])) for a, b in runs(quick[first:past])), default=0.0)
        if rose > _ROSE_M:
            return f"it rises or sinks by {to_unit(rose, 'ft'):,.0f} ft on the spot"
    return ""


def _hangs(track: Track) -> str:
    """When it has just stood and when it is about to, it is in the air at an airspeed at which wings carry nothing."""
    if track.top_mps < _SLOWEST_MPS or track.step_s > _SPARSE_STEP_S:  # a paraglider does so from its slope
        return ""
    t, v, h = track.t, np.nan_to_num(track.v), track.h
    east, north = v * np.sin(track.course), v * np.cos(track.course)
    aloft = np.isfinite(track.course) & (v > 0.7 * track.top_mps)
    if aloft.sum() * max(track.step_s, 1.0) < _ENDS_S:
        return ""
    answer: Array = np.zeros(2)
    if abs(np.mean(np.exp(1j * track.course[aloft]))) < _DRIFTS:  # on one course the wind isn't known
        rows = np.stack([2.0 * east[aloft], 2.0 * north[aloft], np.ones(int(aloft.sum()))], axis=1)
        circle = np.linalg.lstsq(rows, v[aloft] ** 2, rcond=None)[0]
        answer = np.asarray(circle[:2], dtype=np.float64)  # the middle of the circle that velocities lie on
    air = np.where(v > _SPOT_MPS, np.hypot(east - answer[0], north - answer[1]), v + np.hypot(*answer))
    air = np.hypot(air, np.nan_to_num(track.mean_slope(_HALF_S)))  # a glider on its cable goes up as fast as forward
    slow = (air < _AIRBORNE_MPS) & (v < _AIRBORNE_MPS)
    sides = hung = surely = 0
    soon = int(np.ceil(_LEAVES_S / max(track.step_s, 0.5)))
    for first, past in runs(v < _SPOT_MPS):
        stood = h[first:past][np.isfinite(h[first:past])]
        if not stood.size or float(np.ptp(stood)) > _NEAR_M:
            continue  # no stand: a speed that isn't known
        ground = float(stood.min())
        for edge, way in ((first - 1, -1), (past, 1)):
            end = edge
            while 0 <= end < t.size and slow[end] and abs(t[end] - t[edge]) < _MINUTE_S:
                end += way
            left = v[max(end - soon, 0) : end + 1] if way < 0 else v[end : end + soon + 1]
            if not 0 <= end < t.size or left.max(initial=0.0) < _LEAVES_AT * track.top_mps:
                continue  # it stood again, or went to where it leaves from
            end -= way  # where it still was so slow
            rose = float(h[end]) - ground
            gone = float(abs(np.trapezoid(v[min(edge, end) : max(edge, end) + 1]))) * max(track.step_s, 1.0)
            sides += 1
            flown = rose / max(_HANGS_M, _HANGS_GRADE * gone)
            hung, surely = hung + (flown > 1.0), surely + (flown > _SURELY)
    if hung < 2 or (hung < 0.5 * sides and surely < _TIMES):
        return ""
    limit = f"less than {to_unit(_AIRBORNE_MPS, 'kt'):.0f} kt"
    return f"it is in the air at {limit} after it stood and before, as a helicopter is"


def _ascends(track: Track) -> str:
    """Up at one rate for half an hour, steeper than an airplane, and down once."""
    rising = np.nan_to_num(track.mean_slope(_MINUTE_S)) > _RISES_MPS
    if not rising.any() or not ascends(track.t, track.h):
        return ""
    if float(np.nanpercentile(track.mean_slope(_MINUTE_S)[rising] / track.v[rising], 80.0)) < _BALLOON_GRADE:
        return ""
    return f"it rises steadily to {to_unit(float(np.nanmax(track.h)), 'ft'):,.0f} ft, as a balloon does"


def _drifts(track: Track) -> str:
    """Slow, up steeply, and straight on: a balloon goes where the wind goes."""
    goes = np.nan_to_num(track.v) > 0.3 * track.top_mps
    grades = np.abs(track.mean_slope(0.5 * _MINUTE_S))[goes] / track.v[goes]
    if not np.isfinite(grades).any() or not np.nanpercentile(grades, 97.0) > _PATH_GRADE:
        return ""
    low, high = (float(x) for x in np.nanpercentile(track.h, [1.0, 99.0]))
    if track.top_mps > _AIRBORNE_MPS or high - low < _LOW_M:
        return ""
    known = np.isfinite(track.v) & np.isfinite(track.course)
    if not known.any() or abs(np.average(np.exp(1j * track.course[known]), weights=track.v[known])) < _DRIFTS:
        return ""
    return f"it drifts at most at {to_unit(track.top_mps, 'kt'):.0f} kt, as a balloon does"
