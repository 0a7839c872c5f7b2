"""Recorded columns that contradict physics are set aside, each with one line: what positions give is used instead.

A loose phone's compass, an airspeed that no wind explains, a column most of whose values can't be: better none than
wrong, since a recorded column would displace the derived one. Limits are wide: drift, slow flight in a strong wind and
an uncalibrated pitot stay. (Our own choice.)
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import RHO0_KGPM3, standard_air
from airwork.airdata.geodesy import radii_m
from airwork.recording.doubtful_heights import HEIGHT_WORDS, doubt_heights, second_by_second, take_out
from airwork.recording.motion import velocity_mps
from airwork.recording.recorded import FLYING_MPS, Array, Recorded
from airwork.recording.smooth import slow_rate, unwrapped
from airwork.recording.time_base import typical_step_s
from airwork.recording.variation import variation_about_rad

_LEAST, _FEW = 120, 15  # samples a second apart; of coarse or short tracks, which then have to be surer
_FEW_OF_TRACK, _MOVES_MPS, _AT_ONE_ANGLE = 8, 3.0, 0.9  # slower a fix is too far off for a direction
_OFF_RAD, _OFF_SHARE = math.radians(50.0), 0.2  # 30 kt across at 55 kt make 33° of drift
_TURNED = 0.95
_ITS_OWN_RAD = math.radians(0.75)  # whole degrees
_ALL_ROUND = 0.9  # mean length of courses 25° to both sides
_SAME_RAD = math.radians(2.0)  # nearer to the track than this for half of the flight: it is the track
_FEWEST, _OF_COMPASS_RAD = 5, 1.5 * _SAME_RAD  # rows, where the variation is more than this
_ROUNDED_RAD = math.radians(1.0)
_RARE_S, _STRAIGHT_RAD, _LEGS = 5.0, math.radians(4.0), 4  # between fixes; from one to the next; legs so straight
_DRIFTS_RAD = math.radians(2.0)  # headings are written in whole degrees
_BREEZE_MPS, _OF_DRIFT = 4.0, 0.25  # a wind that shows; of its drift, where a heading has all of it
_TURNED_RAD = math.radians(40.0)  # no drift: the compass lies across
_ACROSS_RAD, _STORM_MPS = math.radians(60.0), 25.0  # a few rows tell that, or that only such a crosswind makes it so
_DEVIATION_RAD, _ROUNDS = math.radians(18.0), 0.4  # of a compass; mean length of courses all round
_LEAPS_MPS2, _LOST = 6.0, 3  # no wind and no pilot changes a speed so in a second; times
_TURN_S, _TURNS_RADPS, _TURN_OFF = 4.0, math.radians(2.5), 1.6
_ROSE_M = 60.0
_WILD = 2.0  # times what is flown
_AIR_OFF_MPS, _AIR_OFF_SHARE, _GALE_MPS = 6.0, 0.14, 45.0
_HEADINGS = {"heading_mag_rad": "heading", "heading_rad": "true heading"}
_QUANTITIES = {"heading_mag_rad": "magnetic_heading", "heading_rad": "true_heading"}
_ATTITUDES = {"track_rad": "track", **_HEADINGS, "bank_rad": "bank", "pitch_rad": "pitch"}
_AIRSPEEDS = {"tas_mps": "true airspeed", "ias_mps": "indicated airspeed", "cas_mps": "calibrated airspeed"}


def set_aside(recorded: Recorded) -> None:
    """Take out contradicted columns, in place."""
    _judge_course(recorded)
    ground = _over_ground(recorded)
    doubt_heights(recorded, ground)
    _frozen_climb(recorded)
    if ground is None:
        _frozen(recorded, _by_gyro(recorded))
        return
    fix_s, fix_east, fix_north = ground
    _judge_track(recorded, fix_s, fix_east, fix_north)
    if (np.hypot(fix_east, fix_north) > FLYING_MPS).sum() < _FEWEST:
        return
    _frozen(recorded, np.arctan2(fix_east, fix_north)[np.hypot(fix_east, fix_north) > FLYING_MPS])
    _judge_turn_rate(recorded, np.arctan2(fix_east, fix_north), fix_s)
    _judge_by_chords(recorded)
    for name in [n for n in (*_HEADINGS, *_AIRSPEEDS) if n in recorded.columns]:
        at = second_by_second(recorded.time_s, recorded.columns[name])  # each sensor has rows of its own
        t, values = recorded.time_s[at], recorded.columns[name][at]
        east, north = np.interp(t, fix_s, fix_east), np.interp(t, fix_s, fix_north)
        flying = np.hypot(east, north) > FLYING_MPS
        if name in _HEADINGS:
            track, speed = np.arctan2(east, north), np.hypot(east, north)
            if _is_the_track(recorded, at, values, track, speed, flying):
                said = (
                    f"{_HEADINGS[name]} set aside: it is the track over the ground again, though the wind makes drift"
                )
                take_out(recorded, name, said)
                continue
            _judge_heading(recorded, name, values, track, speed, flying)
        else:
            _judge_airspeed(recorded, name, _AIRSPEEDS[name], values, east, north, flying)


def _to_track(recorded: Recorded, name: str, what: str = "the track over the ground: it never drifts") -> None:
    """Make a heading the track, in place, and say what shows it."""
    values = recorded.columns.pop(name)
    recorded.columns.setdefault("track_rad", np.mod(values, 2.0 * math.pi))
    recorded.notes["track_rad"] = f"called heading, but it is {what}"
    recorded.say(recorded.notes["track_rad"], values.size, "track_rad")
    for row in recorded.facts.get("understood", ()):
        if row["quantity"] == _QUANTITIES.get(name):
            row |= {"quantity": "track", "unit_how": what}


def _judge_track(recorded: Recorded, fix_s: Array, fix_east: Array, fix_north: Array) -> None:
    """A track that the positions don't go: counted from another direction, or another thing's."""
    values = recorded.columns.get("track_rad")
    if values is None or "latitude_rad" not in recorded.columns:  # else the velocity is made of it
        return
    at = second_by_second(recorded.time_s, values)
    east, north = (np.interp(recorded.time_s[at], fix_s, x) for x in (fix_east, fix_north))
    moving = np.hypot(east, north) > _MOVES_MPS
    way = np.arctan2(east, north)
    if moving.sum() >= _FEW_OF_TRACK and float(np.abs(np.exp(1j * (values[at] - way)[moving]).mean())) > _AT_ONE_ANGLE:
        _judge_direction(recorded, "track_rad", "track", values[at], way, moving)


def _judge_turn_rate(recorded: Recorded, track: Array, track_s: Array) -> None:
    """A recorded rate of turn that isn't how fast the direction turns: of another unit, or another thing's."""
    values = recorded.columns.get("turn_rate_radps")
    if values is None:
        return
    own = recorded.first(*_HEADINGS, "track_rad")
    t = recorded.time_s
    direction = unwrapped(own) if own is not None else np.interp(t, track_s, np.unwrap(track))
    turning = slow_rate(t, direction, max(_TURN_S, 2.0 * typical_step_s(t)))
    good = (np.abs(turning) > _TURNS_RADPS) & (np.abs(values) > 0.1 * _TURNS_RADPS)
    if good.sum() * typical_step_s(t) < _FEW or good.sum() < _FEW:
        return
    ratio = float(np.median(turning[good] / values[good]))
    if not 1.0 / _TURN_OFF < ratio < _TURN_OFF:
        said = f"turn rate set aside: the flight turns at {ratio:.2g} times of it"
        take_out(recorded, "turn_rate_radps", said)


def _judge_course(recorded: Recorded) -> None:
    """A column called only heading that is the direction of the velocity beside it, row by row: a receiver's course."""
    north, east = recorded.extra.get("velocity_north"), recorded.extra.get("velocity_east")
    if north is None or east is None:
        return
    way, moving = np.arctan2(east, north), np.hypot(east, north) > _MOVES_MPS
    for name in [n for n in _HEADINGS if "called only" in recorded.notes.get(n, "") and n in recorded.columns]:
        off = np.abs(np.angle(np.exp(1j * (recorded.columns[name] - way))))[
            moving & np.isfinite(recorded.columns[name])
        ]
        if off.size >= _FEW and float(np.percentile(off, 90.0)) < _ITS_OWN_RAD:
            _to_track(recorded, name, "the direction of the velocity beside it")


def _judge_by_chords(recorded: Recorded) -> None:
    """A column called only heading, of rare fixes: the way from each to the next, where it is the same at both."""
    places = [recorded.columns.get(n) for n in ("latitude_rad", "longitude_rad")]
    if places[0] is None or places[1] is None or typical_step_s(recorded.time_s) < _RARE_S:
        return
    meridian, parallel = radii_m(places[0])
    north, east = np.diff(places[0]) * meridian[1:], np.diff(places[1]) * parallel[1:]
    for name in [n for n in _HEADINGS if "called only" in recorded.notes.get(n, "") and n in recorded.columns]:
        values = recorded.columns[name]
        turned = np.angle(np.exp(1j * np.diff(values)))
        straight = (np.abs(turned) < _STRAIGHT_RAD) & (np.hypot(east, north) > FLYING_MPS * np.diff(recorded.time_s))
        way = np.arctan2(east, north)[straight]
        off = np.abs(np.angle(np.exp(1j * ((values[:-1] + 0.5 * turned)[straight] - way))))
        all_round = way.size > 0 and float(np.abs(np.exp(1j * way).mean())) < _ALL_ROUND
        if way.size >= _LEGS and (all_round or _compass_is_off(recorded)) and float(np.median(off)) < _SAME_RAD:
            _to_track(recorded, name)


def _frozen(recorded: Recorded, track: Array) -> None:
    """Directions and attitudes that hold one number throughout a flight that turned."""
    middle = np.angle(np.exp(1j * track).mean())
    off = np.sort(np.abs(np.angle(np.exp(1j * (track - middle)))))
    if off[int(_TURNED * (off.size - 1))] < 0.5 * _OFF_RAD:  # a hop of a fix or two is no turn
        return
    for name, word in (*_ATTITUDES.items(), *HEIGHT_WORDS.items()):
        values = recorded.columns.get(name)
        known = values[np.isfinite(values)] if values is not None else np.zeros(0)
        if known.size > _FEW and (known == known[0]).all():
            take_out(recorded, name, f"{word} set aside: it holds one number throughout, and the flight turned")


def _frozen_climb(recorded: Recorded) -> None:
    """A vertical speed of one number throughout, though the height beside it changes otherwise: not connected."""
    values, height = recorded.columns.get("vertical_speed_mps"), recorded.first(*HEIGHT_WORDS)
    known = values[np.isfinite(values)] if values is not None else np.zeros(0)
    if height is None or known.size <= _FEW or not (known == known[0]).all():
        return
    rest = height - known[0] * (recorded.time_s - recorded.time_s[0])
    if np.nanmax(rest) - np.nanmin(rest) > _ROSE_M:
        said = "vertical speed set aside: it holds one number throughout, and the height changes"
        take_out(recorded, "vertical_speed_mps", said)


def _by_gyro(recorded: Recorded) -> Array:
    """How far it has turned by its recorded turn rate; no turn where there is none."""
    rate = np.nan_to_num(recorded.columns.get("turn_rate_radps", np.zeros(1)))
    t = recorded.time_s - recorded.time_s[0]
    return np.cumsum(rate * np.gradient(t)) if rate.size == t.size > 1 else np.zeros(1)


def _over_ground(recorded: Recorded) -> tuple[Array, Array, Array] | None:
    """(time, east, north) of the ground velocity, from the positions where there are any."""
    lat, lon = recorded.columns.get("latitude_rad"), recorded.columns.get("longitude_rad")
    speed, track = recorded.columns.get("groundspeed_mps"), recorded.columns.get("track_rad")
    if lat is not None and lon is not None and np.isfinite(lat).any():
        at = second_by_second(recorded.time_s, np.where((lat == 0.0) & (lon == 0.0), np.nan, lat + lon))  # 0/0: no fix
        t = recorded.time_s[at]
        if at.size < 2:
            return None
        east, north = velocity_mps(t, lat[at], lon[at], max(4.0, 2.0 * typical_step_s(t)))
    elif speed is not None and track is not None:
        at = second_by_second(recorded.time_s, speed + track)
        t, east, north = recorded.time_s[at], (speed * np.sin(track))[at], (speed * np.cos(track))[at]
    else:
        return None
    good = np.isfinite(east) & np.isfinite(north)
    return (t[good], east[good], north[good]) if good.any() else None


def _judge_heading(
    recorded: Recorded, name: str, heading: Array, track: Array, speed: Array, flying: NDArray[np.bool_]
) -> None:
    good = flying & np.isfinite(heading)
    called_only, compass_off = "called only" in recorded.notes.get(name, ""), _compass_is_off(recorded)
    off = np.exp(1j * (heading[good] - track[good]))
    lies = abs(float(np.angle(off.mean()))) if good.any() else 0.0
    across = lies > _ACROSS_RAD or (good.any() and float(np.median(speed[good])) * math.sin(lies) > _STORM_MPS)
    if good.sum() < (_FEWEST if across or (called_only and compass_off) else _FEW):
        return
    few = good.sum() < _LEAST
    all_round = float(np.abs(np.exp(1j * track[good]).mean())) < _ALL_ROUND
    share = 80.0 if few and not all_round else 50.0
    own = recorded.columns.get("track_rad")  # beside one of its own a heading is none, nor on a panel in light wind
    apart = np.abs(np.angle(np.exp(1j * (recorded.columns[name] - own)))) if own is not None else np.zeros(1)
    apart = apart[np.isfinite(apart)]
    panel = few and bool(recorded.columns.keys() & {"ias_mps", "pitch_rad", "bank_rad", "rpm"})
    same = _ROUNDED_RAD if compass_off and (panel or good.sum() < _FEW) else _SAME_RAD
    called_only &= not (panel and not compass_off) and not (apart.size and float(np.median(apart)) > _ITS_OWN_RAD)
    if called_only and float(np.percentile(np.abs(np.angle(off)), share)) < same:
        _to_track(recorded, name)
        return
    _judge_direction(recorded, name, _HEADINGS[name], heading, track, flying)


def _place_is_lost(recorded: Recorded) -> bool:
    """A speed over the ground that leaps beside a recorded airspeed that doesn't: a receiver that lost its place."""
    air, ground = _true_airspeed(recorded), recorded.columns.get("groundspeed_mps")
    if ground is None or air is None:
        return False
    step = np.diff(recorded.time_s)
    leaps, gusts = (np.abs(np.diff(x)) > _LEAPS_MPS2 * step for x in (ground, air))
    return int((leaps & ~gusts).sum()) >= _LOST


def _compass_is_off(recorded: Recorded) -> bool:
    """The variation of the place is such that no compass points along the way flown."""
    return abs(_variation_rad(recorded) or 0.0) > _OF_COMPASS_RAD


def _variation_rad(recorded: Recorded) -> float | None:
    """Of the place and the day; None where the place isn't known."""
    places = [recorded.columns.get(n) for n in ("latitude_rad", "longitude_rad")]
    at = [float(np.nanmedian(x)) for x in places if x is not None and np.isfinite(x).any()]
    if len(at) < len(places):
        return None
    return variation_about_rad(at[0], at[1], float(recorded.time_s[0]) if recorded.clock == "utc" else math.nan)


def _judge_direction(
    recorded: Recorded, name: str, word: str, direction: Array, way: Array, flying: NDArray[np.bool_]
) -> None:
    """A direction that isn't that of the way flown, but for wind and variation."""
    good = flying & np.isfinite(direction)
    off = np.exp(1j * (direction[good] - way[good]))
    middle = float(np.angle(off.mean()))
    middle += float(np.median(np.angle(off * np.exp(-1j * middle))))
    wild = float(np.mean(np.abs(np.angle(off * np.exp(-1j * middle))) > _OFF_RAD))
    of_it = "way flown" if word == "track" else "track"
    if wild > _OFF_SHARE and good.sum() >= _LEAST:
        take_out(
            recorded, name, f"{word} set aside: {100 * wild:.0f} % of it disagrees with the {of_it} by more than 50°"
        )
    elif _apart(recorded, name, middle, direction[good], way[good]) and not _place_is_lost(recorded):
        turned = math.degrees(middle)
        take_out(recorded, name, f"{word} set aside: it points {turned:+.0f}° off the {of_it} throughout")


def _apart(recorded: Recorded, name: str, middle: float, direction: Array, way: Array) -> bool:
    """Further off the way than variation, drift and a compass's own error make: over all courses drift cancels."""
    if name == "track_rad" or (shown := _variation_rad(recorded)) is None:
        return abs(middle) > _TURNED_RAD
    true = (
        (0.0,) if name == "heading_rad" else (shown, 0.0) if "called only" in recorded.notes.get(name, "") else (shown,)
    )
    off = min(abs(math.remainder(middle + v, 2.0 * math.pi)) for v in true)
    rounds = way.size >= _LEAST and max(float(np.abs(np.exp(1j * x).mean())) for x in (direction, way)) < _ROUNDS
    return off > (_DEVIATION_RAD if rounds else _TURNED_RAD)


def _is_the_track(
    recorded: Recorded, at: NDArray[np.intp], heading: Array, track: Array, speed: Array, flying: NDArray[np.bool_]
) -> bool:
    """A heading that keeps to the track beside a wind that makes drift: airspeed and ground speed tell it.

    Over all courses v = k·a + w·cos(track − where it blows to); a heading is off the track by asin(w·sin(...)/a).
    """
    air, own = _true_airspeed(recorded), recorded.columns.get("track_rad")
    if air is None:
        return False
    air, own = air[at], track if own is None else own[at]
    good = flying & np.isfinite(heading) & np.isfinite(air) & np.isfinite(own) & (air > FLYING_MPS)
    if good.sum() < _FEW or float(np.abs(np.exp(1j * own[good]).mean())) > _ALL_ROUND:
        return False
    table = np.stack([air[good], np.cos(own[good]), np.sin(own[good])], axis=1)
    found = np.linalg.lstsq(table, speed[good], rcond=None)[0]
    left = speed[good] - table @ found
    wind = float(np.hypot(found[1], found[2]))
    if wind < _BREEZE_MPS or float(np.std(left)) > 0.5 * wind:
        return False
    drift = wind * np.sin(own[good] - math.atan2(found[2], found[1])) / air[good]
    off = np.angle(np.exp(1j * (heading[good] - own[good])))
    off = np.angle(np.exp(1j * (off - np.median(off))))  # a variation is in it, too
    near = np.abs(off) < _OFF_RAD
    if near.sum() < _FEW or float(np.std(drift[near])) < _DRIFTS_RAD:
        return False
    return abs(float(np.polyfit(drift[near], off[near], 1)[0])) < _OF_DRIFT


def _true_airspeed(recorded: Recorded) -> Array | None:
    if (tas := recorded.columns.get("tas_mps")) is not None:
        return tas
    air, height = recorded.first("cas_mps", "ias_mps"), recorded.first(*reversed(HEIGHT_WORDS))
    if air is None or height is None:
        return None
    return air / np.sqrt(np.asarray(standard_air(np.clip(height, 0.0, 10_000.0)).density_kgpm3) / RHO0_KGPM3)


def _judge_airspeed(
    recorded: Recorded, name: str, word: str, air: Array, east: Array, north: Array, flying: NDArray[np.bool_]
) -> None:
    """|v|² = k·a² + 2w·v − |w|²: at some wind w and scale k the ground velocity and the airspeed must agree."""
    good = flying & np.isfinite(air)
    if good.sum() < _LEAST:
        return
    along = np.hypot(east, north)  # beside a gap or half a line it can be anything
    good &= along < _WILD * float(np.percentile(along[good], 95.0))
    v2, a2 = east[good] ** 2 + north[good] ** 2, air[good] ** 2
    table = np.stack([a2, 2.0 * east[good], 2.0 * north[good], np.ones(a2.size)], axis=1)
    weight: Array = np.ones(a2.size)
    found: Array = np.zeros(4)
    for _ in range(4):  # a few wild samples don't settle it
        found = np.asarray(np.linalg.lstsq(table * weight[:, None], v2 * weight, rcond=None)[0], dtype=np.float64)
        left = v2 - table @ found
        size = max(1.4826 * float(np.median(np.abs(left))), 1e-6)
        weight = np.asarray(1.0 / np.sqrt(1.0 + (left / (2.0 * size)) ** 2), dtype=np.float64)
    usual = float(np.sqrt(np.median(v2)))
    off = float(np.median(np.abs(v2 - table @ found))) / (2.0 * usual)
    impossible = not 0.2 < found[0] < 8.0 or math.hypot(found[1], found[2]) > _GALE_MPS
    spread = float(np.std(np.sqrt(v2)))
    if off > max(_AIR_OFF_MPS, _AIR_OFF_SHARE * usual) or (impossible and off > 0.5 * spread and spread > _AIR_OFF_MPS):
        take_out(recorded, name, f"{word} set aside: no wind explains it beside the speed over the ground")
