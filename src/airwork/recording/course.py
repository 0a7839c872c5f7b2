"""Columns called heading that are none: a receiver's course over a piece of seconds, a compass with nothing behind it.

Limits are our own, wide.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.geodesy import east_north_m
from airwork.masks import runs
from airwork.recording.doubtful_heights import second_by_second, take_out
from airwork.recording.recorded import Array, Recorded
from airwork.recording.smooth import unwrapped

HEADINGS = {"heading_mag_rad": "heading", "heading_rad": "true heading"}
_QUANTITIES = {"heading_mag_rad": "magnetic_heading", "heading_rad": "true_heading"}
_AIRSPEEDS = frozenset(["ias_mps", "cas_mps", "tas_mps"])
_PANEL = _AIRSPEEDS | {"pitch_rad", "bank_rad", "rpm"}
# Ways of so many meters, at least so many in at most so many seconds; how near to all of them, and to half.
_WAY_M, _WAYS, _PIECE_S = 5.0, 5, 20.0
_NEAR_RAD, _NEARLY_RAD = math.radians(0.5), math.radians(1.0)
_SHOWS_RAD = math.radians(1.5)  # a variation less than this parts no compass from the course
# Pointing so far off the way for so long, at such a speed, on one course; then with it, in most of what is faster.
_BACKWARD_RAD, _BACKWARD_S, _MOVES_MPS, _ONE_COURSE_RAD = math.radians(100.0), 3.0, 3.0, math.radians(35.0)
_FEWEST, _LONGEST_STEP_S, _SHARE = 8, 1.5, 0.05  # rows; between them; of the time it moves
_WITH_RAD, _MOSTLY, _WITH_S = math.radians(45.0), 0.7, 5.0


def to_track(recorded: Recorded, name: str, what: str = "the track over the ground: it never drifts") -> None:
    """Make a heading the track, in place, and say what shows it."""
    values = recorded.columns.pop(name)
    recorded.columns.setdefault("track_rad", np.mod(values, 2.0 * math.pi))
    recorded.notes["track_rad"] = f"called heading, but it is {what}"
    recorded.say(recorded.notes["track_rad"], values.size, "track_rad")
    for row in recorded.facts.get("understood", ()):
        if row["quantity"] == _QUANTITIES.get(name):
            row |= {"quantity": "track", "unit_how": what}


def judge_by_places(recorded: Recorded, variation_rad: float | None) -> None:
    """A column called only heading that is the course of the places, way by way, in a piece of seconds."""
    t, lat, lon = recorded.time_s, *(recorded.columns.get(n) for n in ("latitude_rad", "longitude_rad"))
    if lat is None or lon is None or variation_rad is None or abs(variation_rad) < _SHOWS_RAD:
        return
    if recorded.columns.keys() & _PANEL or t[-1] - t[0] > _PIECE_S:
        return
    for name in [n for n in HEADINGS if n in recorded.columns and "called only" in recorded.notes.get(n, "")]:
        known = np.flatnonzero(np.isfinite(lat + lon + recorded.columns[name]))
        if known.size < _WAYS + 1:
            continue
        east, north = east_north_m(lat[known], lon[known])
        at = _ends_of_ways(east, north)
        turned = unwrapped(recorded.columns[name][known])
        if at.size < _WAYS + 1:
            continue
        mean = np.array([turned[a : b + 1].mean() for a, b in pairwise(at)])
        off = np.abs(np.angle(np.exp(1j * (mean - np.arctan2(np.diff(east[at]), np.diff(north[at]))))))
        middle, most = np.percentile(off, [50.0, 90.0])
        if middle < min(_NEAR_RAD, 0.3 * abs(variation_rad)) and most < _NEARLY_RAD:
            to_track(recorded, name, "the course of the positions, where a compass would show the variation")


def _ends_of_ways(east: Array, north: Array) -> NDArray[np.intp]:
    """Rows that lie a way of some meters apart, one after another."""
    out = [0]
    for k in range(1, east.size):
        if math.hypot(east[k] - east[out[-1]], north[k] - north[out[-1]]) >= _WAY_M:
            out.append(k)
    return np.array(out)


def judge_backward(recorded: Recorded, fix_s: Array, fix_east: Array, fix_north: Array) -> None:
    """A heading that points backward for seconds of steady way and lies with it later: no compass is behind it.

    Where an airspeed is recorded the wind may carry it so; what mostly goes otherwise than it points hovers.
    """
    if recorded.columns.keys() & _AIRSPEEDS:
        return
    for name in [n for n in HEADINGS if n in recorded.columns]:
        if {"heading", _QUANTITIES[name]} & {*recorded.facts.get("settled", ())}:
            continue
        at = second_by_second(recorded.time_s, recorded.columns[name])
        t, heading = recorded.time_s[at], recorded.columns[name][at]
        east, north = np.interp(t, fix_s, fix_east), np.interp(t, fix_s, fix_north)
        way, speed = np.arctan2(east, north), np.hypot(east, north)
        off = np.abs(np.angle(np.exp(1j * (heading - way))))
        if t.size < _FEWEST:
            continue
        step = float(np.median(np.diff(t)))
        moving = float((speed > _MOVES_MPS).sum()) * step
        for first, past in runs((off > _BACKWARD_RAD) & (speed > _MOVES_MPS)):
            took = float(t[past - 1] - t[first])
            course = way[first:past]
            one = np.abs(np.angle(np.exp(1j * (course - np.angle(np.exp(1j * course).mean()))))).max() < _ONE_COURSE_RAD
            faster = speed > float(speed[first:past].max())
            with_it = faster & (off < _WITH_RAD)
            seldom = (
                took > _LONGEST_STEP_S * (past - 1 - first) or took < _SHARE * moving
            )  # a phone not yet in its mount
            if took < _BACKWARD_S or not one or seldom or with_it.sum() * step < _WITH_S:
                continue
            if with_it.sum() >= _MOSTLY * faster.sum():
                lay = math.degrees(float(np.median(off[first:past])))
                said = f"it points {lay:.0f}° off the way flown for {took:.0f} s, then with it"
                take_out(recorded, name, f"{HEADINGS[name]} set aside: {said}")
                break
