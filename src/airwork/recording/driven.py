"""What a track looks like that follows the ground, in a few physical measures, weighed into one probability.

What drives goes up and down as the ground does, brakes, and halts on its way, here and there. What
flies climbs and sinks for minutes at one rate or is level, and turns with a bank on its wings at speed, through half a
circle and more. No measure alone decides. The weights are data:
`bench/driven_tracks.py` learned them from made-up tracks and simulated flights and says how well they do on others.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2
from airwork.masks import runs
from airwork.recording.flight import Array
from airwork.recording.smooth import Window
from airwork.units import to_unit

_HALF_S = 10.0  # slopes are those of twenty seconds
_CLIMB_S = 90.0  # what leaves a runway climbs for longer
_STANDS_MPS, _STANDS_S = 1.5, 5.0
_TURN_S, _DEAD_STRAIGHT_MPS = 30.0, 3.0  # no road is straighter
_ONE_WAY_S, _ONE_WAY_M = 900.0, 60.0
_TAXIES_MPS, _ROLLS_S, _FLIES, _FLIES_MPS, _FLAT_M, _UP_M = 8.0, 45.0, 0.5, 17.0, 8.0, 60.0


@dataclass(frozen=True, slots=True)
class Track:
    """Times, ground speed, height and place about a second apart; gaps as NaN. top_mps: hardly ever faster."""

    t: Array
    v: Array
    h: Array
    east: Array
    north: Array
    top_mps: float
    step_s: float

    def mean_slope(self, over_s: float) -> Array:
        """Height gained a second, over so long. [m/s]"""
        return Window(self.t, max(0.5 * over_s, 1.5 * self.step_s)).slope(self.h)

    @property
    def course(self) -> Array:
        """Direction of the way, by the positions. [rad]"""
        window = Window(self.t, 1.5)
        return np.asarray(np.arctan2(window.slope(self.east), window.slope(self.north)))

    def turning(self, half_s: float = 1.5) -> Array:
        """Change of course, a second. [rad/s]"""
        return Window(self.t, max(half_s, 1.5 * self.step_s)).slope(np.unwrap(np.nan_to_num(self.course)))


def _top(values: Array, percent: float, otherwise: float) -> float:
    known = values[np.isfinite(values)]
    return float(np.percentile(known, percent)) if known.size else otherwise


def measures(track: Track) -> dict[str, float]:
    """What tells a drive from a flight, each about −3 to 3."""
    t, h = track.t, track.h
    v = np.nan_to_num(Window(t, max(1.0, 1.5 * track.step_s)).mean(track.v))
    moves = (v > 0.3 * track.top_mps) & (v > 2.0)
    slope, climb = track.mean_slope(2.0 * _HALF_S), track.mean_slope(_CLIMB_S)
    grade = np.where(moves, np.abs(slope) / np.maximum(v, 1.0), np.nan)
    turning = np.nan_to_num(track.turning(3.0))
    hours = float(t[-1] - t[0]) / 3_600.0 + 0.5  # a landing brakes once, however short the flight
    fast = np.flatnonzero(v > 0.5 * track.top_mps)
    way = slice(int(fast[0]), int(fast[-1]) + 1) if fast.size else slice(0, t.size)
    halts = [(a, b) for a, b in runs(v[way] < _STANDS_MPS) if t[way][b - 1] - t[way][a] + track.step_s > _STANDS_S]
    known = h[np.isfinite(h)] if np.isfinite(h).any() else np.zeros(2)
    # what only left has not come down yet, and climbs all along
    one_way = t[-1] - t[0] < _ONE_WAY_S and abs(float(known[-1] - known[0])) > _ONE_WAY_M
    seldom = 0.0 if one_way else -np.inf
    swung = _top(np.where(moves, _swung_mps(t, v * turning), np.nan), 98.0, 0.0)
    return {
        "steepest": float(np.log((_top(grade, 97.0, 0.06) + 0.003) / 0.06)),
        "climbs": max(float(np.log((max(_top(climb, 99.0, 0.0), 0.0) + 0.1) / 1.5)), seldom),  # nought: it only sinks
        "sinks": max(float(np.log((max(_top(-climb, 99.0, 0.0), 0.0) + 0.1) / 1.5)), seldom),
        "turns": float(np.log((swung + 10.0) / 30.0)) if swung > _DEAD_STRAIGHT_MPS else 0.0,
        "bends all along": _all_along(np.where(moves, v * np.abs(turning) / G0_MPS2, np.nan), 0.02),
        "slopes all along": min(_all_along(grade, 0.01), 0.0 if one_way else np.inf),
        "slower in bends": _slower(v, np.abs(turning), moves),
        "up and down": _ups_and_downs(track, moves),
        "halts": float(np.log1p(len(halts) / hours)),
        "brakes": float(np.log1p(_braking(track, v, turning) / hours)),
        "leaves and meets a runway": float(_leaves(track, v) + _leaves(_backward(track), v[::-1])),
        "top speed": float(np.log(max(track.top_mps, 1.0) / 40.0)),
    }


def _swung_mps(t: Array, sideways_mps2: Array) -> Array:
    """By how much its velocity has been turned within so long: half a circle at 40 m/s is 126 m/s, a hairpin 25."""
    total = np.concatenate(([0.0], np.cumsum(sideways_mps2 * np.gradient(t))))
    past = np.minimum(np.searchsorted(t, t + _TURN_S), t.size)
    return np.asarray(np.abs(total[past] - total[:-1]))


def _all_along(size: Array, floor: float) -> float:
    """Its usual size over its largest, as a logarithm: a road bends and rises everywhere, an airplane now and then."""
    ratio = (_top(size, 50.0, 0.0) + 0.1 * floor) / (_top(size, 98.0, 0.0) + floor)
    return float(np.clip(np.log(ratio / 0.15), -1.5, 1.5))


def _slower(v: Array, turning: Array, moves: NDArray[np.bool_]) -> float:
    """Square of the logarithm of its usual speed over that where it turns most: an airplane keeps its speed there."""
    if moves.sum() < _FEWEST:
        return 0.0
    bends = moves & (turning >= np.percentile(turning[moves], 96.0))
    return 4.0 * max(float(np.log(np.median(v[moves]) / np.median(v[bends]))), 0.0) ** 2


def _ups_and_downs(track: Track, moves: NDArray[np.bool_]) -> float:
    """All it climbs and sinks over its highest less its lowest: twice for one flight, the more the hillier a road."""
    smooth = Window(track.t, max(_HALF_S, 1.5 * track.step_s)).mean(track.h)
    smooth = smooth[moves & np.isfinite(smooth)]
    if smooth.size < 2 or not (high := float(np.ptp(smooth))) > 0.0:
        return 2.0
    return float(np.log(np.abs(np.diff(smooth)).sum() / high / 4.0))


def _backward(track: Track) -> Track:
    t = track.t[-1] - track.t[::-1]
    return Track(t, track.v[::-1], track.h[::-1], track.east[::-1], track.north[::-1], track.top_mps, track.step_s)


def _leaves(track: Track, v: Array) -> bool:
    """From a stand or taxi to flying speed at one height, in one go, then up and up."""
    t, smooth = track.t, Window(track.t, max(2.0, 1.5 * track.step_s)).mean(track.h)
    for a, b in runs(v < _TAXIES_MPS):
        rolls = slice(b - 1, int(np.searchsorted(t, t[b - 1] + _ROLLS_S)))
        after = slice(rolls.stop, int(np.searchsorted(t, t[b - 1] + _ROLLS_S + _CLIMB_S)))
        if t[b - 1] - t[a] < _STANDS_S - track.step_s or not v[after].size or t[-1] - t[b - 1] < _ROLLS_S + _CLIMB_S:
            continue
        quick = np.flatnonzero(v[rolls] > max(_FLIES * track.top_mps, _FLIES_MPS))
        if not quick.size:
            continue
        rose = smooth[after] - smooth[b - 1]
        flat = np.abs(smooth[b - 1 : b + int(quick[0])] - smooth[b - 1])
        up = np.diff(smooth[rolls.start : after.stop])
        if np.nanmax(flat, initial=0.0) < _FLAT_M and rose[-1] > _UP_M and np.nansum(np.minimum(up, 0.0)) > -_FLAT_M:
            return True
    return False


def _braking(track: Track, v: Array, turning: Array) -> int:
    """How often it brakes harder than 1.5 m/s² for three seconds, straight on and not by climbing."""
    if track.step_s > 2.0:
        return 0
    t = track.t
    slowing = -Window(t, 1.5).slope(v)
    climbing = np.abs(np.nan_to_num(track.mean_slope(6.0))) * G0_MPS2 / np.maximum(v, 3.0)
    hard = (slowing - climbing > 1.5) & (np.abs(turning) < 0.06) & (v > 4.0)
    return sum(t[b - 1] - t[a] >= 2.0 for a, b in runs(np.nan_to_num(hard).astype(bool)))


@lru_cache(maxsize=1)
def _weights() -> dict[str, float]:
    text = files("airwork.recording").joinpath("driven.json").read_text(encoding="utf-8")
    return {str(k): float(v) for k, v in json.loads(text).items()}


_SAID = {
    "steepest": "is never steep", "climbs": "never climbs for long", "sinks": "never sinks for long",
    "turns": "hardly turns at speed", "bends all along": "bends all along", "brakes": "brakes hard",
    "slopes all along": "rises and falls all along", "slower in bends": "slows for its bends",
    "halts": "halts on its way", "top speed": "is slow",
    "up and down": "goes up and down again and again", "leaves and meets a runway": "",
}  # fmt: skip
_LEAST_S = 240.0  # of a way: less shows too little
_RUNS_MPS, _GLIDES_MPS = 5.0, 23.0
_WHEELS_MPS = 17.0  # 33 kt: slower nothing of a school flies, and a steep minute may be a hill's
_HALTING, _ROLLING = float(np.log(2.0)), float(np.log(8.0 / 6.0))  # wheels hardly go up 12 in 100 for long, 8 unhalting
_FASTEST_MPS, _ROAD_MPS = 98.0, 40.0  # a train's; 78 kt, a motorway's
_NO_ROAD_M = 360.0  # in each of two times two minutes: as fast as a race up a mountain (1,440 m in 8 min, from memory)
# No road is so steep for long; few are so steep in any few minutes.
_NO_ROAD_GRADE, _FEW_ROADS_GRADE = float(np.log(0.145 / 0.06)), float(np.log(0.07 / 0.06))
_BRAKES = float(np.log(4.0))  # three times an hour
# What drives stands somewhere, a piece cut out of a flight never does; whole flights of other seeds lie below −3.8.
_STOOD, _NEVER_STOOD, _DOUBTED, _SURE = 0.0, 2.0, -2.0, 5.0
_SPARSE_S, _COARSEST_S, _FEWEST = 15.0, 30.0, 60  # in sparser fixes bends and climbs hide: more evidence is asked for


def drives(track: Track) -> str:
    """Why this is the track of something on the ground, in words; "" where it may have flown.

    What never stood, halts or brakes shows no wheels: a level cruise does no climb, descent or turn, either.
    """
    goes = np.nan_to_num(track.v) > 0.3 * track.top_mps
    if (
        track.top_mps > _FASTEST_MPS
        or goes.sum() * track.step_s < _LEAST_S
        or goes.sum() < _FEWEST
        or not _on_a_road(track)
    ):
        return ""
    found, stood = measures(track), _stood(track)
    odds, halts = log_odds(found), found["halts"] > 0.0
    steep = found["steepest"] > (_HALTING if halts else _ROLLING)
    if _RUNS_MPS < track.top_mps < _GLIDES_MPS and steep and not (halts and odds > _SURE):
        return ""
    wheels = stood or halts or found["brakes"] > _BRAKES
    if not wheels or not odds > (_STOOD if stood else _NEVER_STOOD):
        return ""
    weights = _weights()
    speaks = sorted(found, key=lambda name: -weights[name] * found[name])
    said = [_SAID[name] for name in speaks if weights[name] * found[name] > 0.0][:2]
    return f"at most {to_unit(track.top_mps, 'kt'):.0f} kt; it {' and '.join(said)}"


def may_drive(track: Track) -> str:
    """Why it is not known whether this flew, in words: as slow as a drive, and nothing that shows one or the other."""
    if track.top_mps > _ROAD_MPS or not _on_a_road(track):
        return ""
    found = measures(track)
    short = track.t[-1] - track.t[0] < _LEAST_S
    steep = found["steepest"] > (_FEW_ROADS_GRADE if short else _NO_ROAD_GRADE) and not found["halts"]
    steep &= not short or track.top_mps > _WHEELS_MPS
    if steep or not log_odds(found) > (_DOUBTED if _stood(track) else _NEVER_STOOD):
        return ""
    return f"at most {to_unit(track.top_mps, 'kt'):.0f} kt, and nothing that only wings or only wheels do"


def _stood(track: Track) -> bool:
    return track.step_s <= _SPARSE_S and bool((np.nan_to_num(track.v, nan=99.0) < _RUNS_MPS).any())


def _on_a_road(track: Track) -> bool:
    """It may be: never up faster than a road goes, and fixed often enough to tell."""
    return track.step_s <= _COARSEST_S and _rises_at_m(track) <= _NO_ROAD_M


def _rises_at_m(track: Track) -> float:
    """Most that it rises in each half of so long: a hop of the heights is in one of them alone."""
    known = np.isfinite(track.h)
    begin = track.t[track.t + _LEAST_S <= track.t[-1]]
    if not begin.size or not known.any():
        return 0.0
    at = [np.interp(begin + part * _LEAST_S, track.t[known], track.h[known]) for part in (0.0, 0.5, 1.0)]
    return float(np.max(np.minimum(at[1] - at[0], at[2] - at[1])))


def log_odds(found: dict[str, float]) -> float:
    """Logarithm of the odds that it drove and did not fly."""
    weights = _weights()
    return weights["all"] + sum(weights[name] * value for name, value in found.items())
