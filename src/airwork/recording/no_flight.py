"""Tracks that no airplane made: what drives on roads and rails, hovers, drifts, falls or is lifted; and why, in words.

Each rule is a matter of physics: a vehicle slows for each bend on any course, which no wind does; it goes up and down
as roads go; nothing with wings is in the air slower than it stalls, or climbs only while it hardly moves. An instrument
of an airplane (airspeed, engine speed, a ground switch) overrules them. Limits are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.recording.craft import LEVEL_SHARE, level_share
from airwork.recording.flight import Array
from airwork.recording.smooth import Window
from airwork.recording.unit_heights import ascends
from airwork.recording.work import Work
from airwork.units import to_unit

_DRIVES_MPS, _FASTEST_MPS, _WALKS_MPS = 45.0, 98.0, 17.0  # a car's, a train's; slower nothing of a school flies
_ROAD_S, _ROAD_MPS, _STEEP_MPS = 30.0, 0.4, 1.6  # up or down over half a minute: half of the way, nearly all of it
_SLOWEST_MPS, _GENTLE_MPS = 30.0, 1.0  # 58 kt and 200 fpm
_LEAST_S, _MINUTE_S = 600.0, 60.0
_LOW_M, _ENDS = 60.0, 60  # who stood still at an end and was never higher than this above its lowest hasn't flown
_NEVER_UP_M, _LONG_S = 150.0, 300.0
_FLOWN_MPS = 23.0  # 45 kt for a minute: slower than that throughout, and never up, nothing has flown
_ROAD_GRADE, _ROAD_STEEPEST = 0.04, 0.06  # who stood at an end and was never steeper neither took off nor landed
_PATH_GRADE = 0.12  # no road or path for wheels is steeper for long; what flies as slowly as a bicycle sinks so steeply
_RAILS, _HALTS = 0.03, 0.05  # no railway is steeper for long; a car hardly moves for this share of the time
_FALLS_MPS, _FALLS_S = 30.0, 40.0  # 6,000 fpm, steeper than it goes forward, for so long: a spin is recovered by then
_BRAKES_MPS, _BRAKES_S, _LEVELLY_MPS = 7.0, 5.0, 4.0  # so much speed lost within so long, not by climbing
_BRAKES_A_MIN, _BRAKES_TIMES, _APART_S = 0.8, 8, 10.0  # an airplane does once a landing: 0.2 a minute and less
_TAXIES_MPS, _SEEN_STEP_S = 5.0, 2.0
_BEND_RPS, _BEND_M, _BEND_RAD = 0.1, 70.0, 0.44  # six degrees a second, 25° in all
_BEND_EDGE_S, _BEND_S = 3.0, 12.0
_BEND_SLOWER, _BENDS, _ALL_WAYS = 0.8, 4, 0.6  # of the speed before and after; as often; on all courses
_STRAIGHT_RPS, _STRAIGHT_S, _WINDING, _NEVER_STRAIGHT = (
    0.026,
    20.0,
    0.3,
    0.02,
)  # a degree and a half; what flies is flown in legs
_SPOT_MPS, _RISES_MPS, _ROSE_M, _NEAR_M = 1.5, 0.7, 15.0, 30.0  # standing over the ground, and rising or sinking
_AIRBORNE_MPS, _HANGS_M, _HANGS_GRADE = 15.0, 6.0, 0.08  # 29 kt: nothing with wings is in the air so slow
_DRIFTS_MPS, _DRIFTS = 10.0, 0.8  # 19 kt; so much of its way made good
_BALLOON_GRADE, _CABLE_GRADE = 0.2, 0.25
_LIFTED_M, _LIFTED = 100.0, 0.1  # of what it climbed, while it went at 0.4 of its speed and more


@dataclass(frozen=True, slots=True)
class _Track:
    """Times, ground speed, height and course about a second apart; gaps as NaN. top_mps: hardly ever faster."""

    t: Array
    v: Array
    h: Array
    course: Array
    top_mps: float
    step_s: float

    def mean_slope(self, over_s: float) -> Array:
        """Height gained a second, over so long. [m/s]"""
        return Window(self.t, max(0.5 * over_s, 1.5 * self.step_s)).slope(self.h)

    def steepness(self) -> float:
        """Of its climbs and descents while it goes: few are steeper."""
        goes = np.nan_to_num(self.v) > 0.3 * self.top_mps
        grades = np.abs(self.mean_slope(_ROAD_S))[goes] / self.v[goes]
        return float(np.nanpercentile(grades, 97.0)) if np.isfinite(grades).any() else 1.0

    @property
    def stood(self) -> bool:
        """Hardly moving at an end."""
        ends = np.concatenate((self.v[:_ENDS], self.v[-_ENDS:]))
        return bool((ends < 0.2 * self.top_mps).any()) and float(self.t[-1] - self.t[0]) > _LEAST_S


def _track(work: Work) -> _Track | None:
    speed, altitude = work.get("groundspeed_mps"), work.get("altitude_m", "gps_altitude_m")
    if speed is None or altitude is None or any(work.measured(n) is not None for n in ("ias_mps", "rpm", "on_ground")):
        return None
    at = work.seconds_apart()
    t, v, h = work.time_s[at], speed[at], altitude[at]
    if not (moves := np.isfinite(v) & np.isfinite(h) & (v > 1.0)).any():
        return None
    east, north = (x[at] if (x := work.get(n)) is not None else np.full(t.size, np.nan) for n in ("east_m", "north_m"))
    course = np.arctan2(Window(t, 1.5).slope(east), Window(t, 1.5).slope(north))
    return _Track(t, v, h, course, float(np.percentile(v[moves], 98)), work.step_s)


def no_flight(work: Work) -> tuple[str, str]:
    """("drives" or "no_airplane", why) before anything of the flight is worked out; ("", "") if it may have flown."""
    track = _track(work)
    if track is None or track.t.size < 3:
        return "", ""
    fine = track.step_s <= _SEEN_STEP_S
    for kind, rules in (
        ("no_airplane", (_rises_on_the_spot,) if fine else ()),
        ("drives", (_drives, _slows_for_bends) if fine else (_drives,)),
        ("no_airplane", (*((_never_up, _falls, _hangs) if fine else ()), _drifts, _ascends)),
        ("drives", (_is_lifted, _never_straight) if fine else ()),
    ):
        if why := next((said for rule in rules if (said := rule(track))), ""):
            return kind, why
    return "", ""


def _drives(track: _Track) -> str:
    """It goes up and down no steeper than roads do, no faster than cars, and halts, winds or is never held level."""
    t, v, h, top = track.t, track.v, track.h, track.top_mps
    moves = np.flatnonzero(np.isfinite(v) & np.isfinite(h) & (v > 1.0))
    if moves.size < 60 or float(np.ptp(h[moves])) < 1.0:
        return ""
    climb = np.abs(track.mean_slope(_ROAD_S))[moves]
    known = np.isfinite(climb) & (v[moves] > 0.3 * top)
    grades = climb[known] / v[moves][known] if known.any() else np.ones(1)
    steep, steepest = (float(x) for x in np.percentile(grades, [97.0, 99.0]))
    climb = climb[np.isfinite(climb)]
    if not climb.size or (top > _DRIVES_MPS and (steep > _RAILS or top > _FASTEST_MPS)):
        return ""
    usual, most = (float(x) for x in np.percentile(climb, [50.0, 97.0]))
    gentle = _WALKS_MPS < top < _SLOWEST_MPS and most < _GENTLE_MPS  # whatever flies so slowly sinks faster
    long = float(t[-1] - t[0]) > _LEAST_S
    never_held = long and top > _WALKS_MPS and level_share(t, h, v > 0.3 * top) < LEVEL_SHARE  # nor climbed
    winds = _straight(track) < _WINDING
    if _DRIFTS_MPS < top < _WALKS_MPS and steep > _PATH_GRADE:
        return ""  # it glides
    on_grade = (track.stood and steepest < (_ROAD_STEEPEST if winds else _ROAD_GRADE)) or (
        never_held and steep < _ROAD_STEEPEST
    )
    between = v[moves[0] : moves[-1] + 1]
    halts = float(np.mean(between[np.isfinite(between)] < 0.3 * top))
    paths = long and top < _WALKS_MPS and steepest < _PATH_GRADE and _goes_on(t, between, moves[0])
    on_road = gentle or on_grade or paths or (usual <= _ROAD_MPS and most <= _STEEP_MPS)
    if not on_road and (top <= _DRIVES_MPS or steep > _RAILS):
        return ""
    low, high = np.percentile(h[moves], [1.0, 99.0])
    never_up = track.stood and high - low < _LOW_M
    if top > _WALKS_MPS and halts < _HALTS and not never_up and not gentle and not on_grade:
        return ""
    return f"at most {to_unit(top, 'kt'):.0f} kt{', halting' * (halts >= _HALTS)}, up and down as roads go"


def _goes_on(t: Array, between: Array, first: int) -> bool:
    """It stands for ten seconds somewhere on its way, and goes on."""
    still = np.nan_to_num(between, nan=9.0) < 1.0
    return any(t[first + b - 1] - t[first + a] > _APART_S for a, b in _runs(still))


def _runs(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """(first, past) of the stretches where it holds."""
    edge = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return list(zip(edge[::2].tolist(), edge[1::2].tolist(), strict=True))


def _turning(track: _Track) -> Array:
    """Change of course, a second. [rad/s]"""
    return Window(track.t, 1.5).slope(np.unwrap(np.nan_to_num(track.course)))


def _straight(track: _Track) -> float:
    """Share of the way spent on straight pieces of twenty seconds and more."""
    goes = np.nan_to_num(track.v) > 0.3 * track.top_mps
    straight = goes & (np.abs(_turning(track)) < _STRAIGHT_RPS)
    kept = sum(b - a for a, b in _runs(straight) if track.t[b - 1] - track.t[a] >= _STRAIGHT_S)
    return kept / max(int(goes.sum()), 1)


def _slows_for_bends(track: _Track) -> str:
    """On all courses, up and down as roads go: wind slows on one, and what circles in lift climbs steeply there."""
    if not track.steepness() < _PATH_GRADE:
        return ""
    t, v, turning = track.t, np.nan_to_num(Window(track.t, 1.0).mean(track.v)), _turning(track)
    tight = (np.abs(turning) > _BEND_RPS) & (v > 2.0) & (v < _BEND_M * np.abs(turning)) & (v < _WALKS_MPS)
    way, courses, others = np.unwrap(np.nan_to_num(track.course)), [], 0
    for a, b in _runs(tight):
        before, after = (
            v[(t >= lo) & (t <= hi)] for lo, hi in ((t[a] - _BEND_S, t[a]), (t[b - 1], t[b - 1] + _BEND_S))
        )
        within = np.flatnonzero((t >= t[a] - _BEND_EDGE_S) & (t <= t[b - 1] + _BEND_EDGE_S))
        if (
            abs(float(way[within[-1]] - way[within[0]])) < _BEND_RAD
            or t[a] - t[0] < _BEND_S
            or t[-1] - t[b - 1] < _BEND_S
        ):
            continue
        if (least := min(before.max(), after.max())) < 2.0 * _TAXIES_MPS:
            continue
        if float(np.median(v[a:b])) < _BEND_SLOWER * least:
            courses.append(float(track.course[(a + b) // 2]))
        else:
            others += 1
    if len(courses) < max(_BENDS, others) or abs(np.mean(np.exp(1j * np.array(courses)))) > _ALL_WAYS:
        return ""
    return f"it slows for its bends on all courses, {len(courses)} times"


def brakes(work: Work) -> str:
    """Why this is a car's, a motorcycle's or a racer's track: it brakes again and again, in no wind's turn; else ""."""
    track, speed = _track(work), work.get("tas_mps", "groundspeed_mps")
    if track is None or speed is None or track.step_s > _SEEN_STEP_S:
        return ""
    t, v = track.t, np.nan_to_num(speed[work.seconds_apart()])
    levelly = np.abs(np.nan_to_num(Window(t, _BRAKES_S).slope(track.h))) < _LEVELLY_MPS
    braking = t[levelly & (v > _TAXIES_MPS) & (np.interp(t - _BRAKES_S, t, v) - v > _BRAKES_MPS)]
    times = 1 + int(np.sum(np.diff(braking) > _APART_S))
    if times < _BRAKES_TIMES or times < _BRAKES_A_MIN * (t[-1] - t[0]) / _MINUTE_S:
        return ""
    return f"it brakes by {to_unit(_BRAKES_MPS, 'kt'):.0f} kt within {_BRAKES_S:.0f} s {times} times"


def _never_up(track: _Track) -> str:
    low, high = (float(x) for x in np.nanpercentile(track.h, [1.0, 99.0]))
    minute = float(np.nanmax(Window(track.t, 0.5 * _MINUTE_S).mean(track.v)))
    limit = _FLOWN_MPS if track.t[-1] - track.t[0] > _LONG_S else _WALKS_MPS
    if minute >= limit or high - low >= _NEVER_UP_M:
        return ""
    return f"never {to_unit(limit, 'kt'):.0f} kt for a minute, never {to_unit(_NEVER_UP_M, 'ft'):.0f} ft up"


def _falls(track: _Track) -> str:
    falls = -np.nan_to_num(Window(track.t, 0.5 * _FALLS_S).slope(track.h))
    if not (falls > np.maximum(_FALLS_MPS, Window(track.t, 0.5 * _FALLS_S).mean(track.v))).any():
        return ""
    return f"it falls at {to_unit(float(falls.max()), 'fpm'):,.0f} fpm for {_FALLS_S:.0f} s"


def _rises_on_the_spot(track: _Track) -> str:
    still = np.nan_to_num(track.v, nan=9.0) < _SPOT_MPS
    low, quick = float(np.nanpercentile(track.h, 1.0)), np.abs(np.nan_to_num(track.mean_slope(10.0))) > _RISES_MPS
    for first, past in _runs(still):
        here = track.h[first:past]
        if not (here < low + _NEAR_M).any():
            continue
        rose = max((abs(float(here[b - 1] - here[a])) for a, b in _runs(quick[first:past])), default=0.0)
        if rose > _ROSE_M:
            return f"it rises or sinks by {to_unit(rose, 'ft'):,.0f} ft on the spot"
    return ""


def _hangs(track: _Track) -> str:
    """When it has just stood and when it is about to, it is in the air at an airspeed at which wings carry nothing."""
    if track.top_mps < _SLOWEST_MPS:  # a paraglider does so from its slope
        return ""
    t, v, h = track.t, np.nan_to_num(track.v), track.h
    east, north = v * np.sin(track.course), v * np.cos(track.course)
    aloft = np.isfinite(track.course) & (v > 0.7 * track.top_mps)
    if aloft.sum() < _ENDS:
        return ""
    answer: Array = np.zeros(2)
    if abs(np.mean(np.exp(1j * track.course[aloft]))) < _DRIFTS:  # on one course the wind isn't known
        rows = np.stack([2.0 * east[aloft], 2.0 * north[aloft], np.ones(int(aloft.sum()))], axis=1)
        circle = np.linalg.lstsq(rows, v[aloft] ** 2, rcond=None)[0]
        answer = np.asarray(circle[:2], dtype=np.float64)  # the middle of the circle that velocities lie on
    air = np.where(v > _SPOT_MPS, np.hypot(east - answer[0], north - answer[1]), v + np.hypot(*answer))
    slow = (air < _AIRBORNE_MPS) & (v < _AIRBORNE_MPS)
    sides = hung = 0
    for first, past in _runs(v < _SPOT_MPS):
        ground = float(np.nan_to_num(h[first:past], nan=np.inf).min())
        for edge, way in ((first - 1, -1), (past, 1)):
            end = edge
            while 0 <= end < t.size and slow[end] and abs(t[end] - t[edge]) < _MINUTE_S:
                end += way
            if not 0 <= end < t.size or v[end] < _TAXIES_MPS:
                continue  # it stood again
            rose, gone = float(h[end]) - ground, float(abs(np.trapezoid(v[min(edge, end) : max(edge, end) + 1])))
            sides += 1
            hung += rose > max(_HANGS_M, _HANGS_GRADE * gone)
    if hung < 2 or hung < 0.5 * sides:
        return ""
    return f"it is in the air at less than {to_unit(_AIRBORNE_MPS, 'kt'):.0f} kt after it stood and before"


def _is_lifted(track: _Track) -> str:
    """What it climbs it climbs while it hardly moves: a lift's track, or a skier's."""
    up = np.maximum(np.diff(Window(track.t, 10.0).mean(track.h)), 0.0)
    fast = track.v[1:] > 0.4 * track.top_mps
    total, flown = float(np.nansum(up)), float(np.nansum(up[fast]))
    turning = np.abs(Window(track.t, 0.5 * _STRAIGHT_S).slope(np.unwrap(np.nan_to_num(track.course))))
    steep = (track.mean_slope(_ROAD_S) > _CABLE_GRADE * track.v) & (turning < _STRAIGHT_RPS) & (track.v > 1.0)
    if any(track.t[b - 1] - track.t[a] > 2.0 * _MINUTE_S for a, b in _runs(steep)):
        return "it goes straight up a slope as steep as a cable car's"
    if total < _LIFTED_M or flown > _LIFTED * total or track.top_mps > _SLOWEST_MPS:
        return ""
    return f"it climbs {to_unit(total, 'ft'):,.0f} ft, nearly all of it while it hardly moves"


def _ascends(track: _Track) -> str:
    """Up at one rate for half an hour, steeper than an airplane, and down once."""
    rising = np.nan_to_num(track.mean_slope(_MINUTE_S)) > _RISES_MPS
    if not rising.any() or not ascends(track.t, track.h):
        return ""
    if float(np.nanpercentile(track.mean_slope(_MINUTE_S)[rising] / track.v[rising], 80.0)) < _BALLOON_GRADE:
        return ""
    return f"it rises steadily to {to_unit(float(np.nanmax(track.h)), 'ft'):,.0f} ft, as a balloon does"


def _never_straight(track: _Track) -> str:
    """Slow, and it winds without end, as paths do: whatever flies is flown in legs."""
    long = float(track.t[-1] - track.t[0]) > _LEAST_S
    slow = _WALKS_MPS < track.top_mps < _FLOWN_MPS and track.steepness() < _PATH_GRADE
    if not long or not slow or _straight(track) > _NEVER_STRAIGHT:
        return ""
    return f"at most {to_unit(track.top_mps, 'kt'):.0f} kt, and never straight on"


def _drifts(track: _Track) -> str:
    """Slow, up steeply, and straight on: a balloon goes where the wind goes."""
    if not track.steepness() > _PATH_GRADE:
        return ""
    low, high = (float(x) for x in np.nanpercentile(track.h, [1.0, 99.0]))
    if track.top_mps > _DRIFTS_MPS or high - low < _LOW_M:
        return ""
    known = np.isfinite(track.v) & np.isfinite(track.course)
    if not known.any() or abs(np.average(np.exp(1j * track.course[known]), weights=track.v[known])) < _DRIFTS:
        return ""
    return f"it drifts at most at {to_unit(track.top_mps, 'kt'):.0f} kt, as a balloon does"
