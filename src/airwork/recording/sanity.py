"""A last look over the whole recording: is it physically a flight? What isn't is said in one line, nothing is changed.

A unit or a column read wrongly without a word costs more than a file that is refused. Limits are those of light
airplanes, wide on purpose (common practice, no source).
"""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2
from airwork.recording.craft import LAUNCHED_S
from airwork.recording.flight import Array, GroundContact, Mend
from airwork.recording.known_fields import in_another_unit, visits
from airwork.recording.recorded import FLYING_MPS
from airwork.recording.smooth import Window
from airwork.recording.work import TAXI_MPS, Work
from airwork.recording.zones import zone_at
from airwork.units import to_unit

_ASKS = "Then: "  # before what answers a question
_LEAST = 120  # seconds in flight
_STRETCH_S = 15.0  # half of it: half a minute
_STEEP, _FAST_UP_MPS = 0.28, 13.0  # 16° of path and 2,560 fpm, held for half a minute now and then
_FLAT_MPS, _FLAT_S = 0.9, 1_200.0  # 180 fpm and never more in twenty minutes
_AT_SEA_M, _AT_SEA_S, _NOT_DRIVEN_MPS = 30.0, 300.0, 38.0  # 74 kt
_APART_M = 300.0  # two altitudes: a setting of 3 inHg, or more than any receiver's error
# Off by more than a receiver's error, standing; by no more than the geoid of EGM96 is from the ellipsoid, from memory:
# -107 to +86 m, but beyond New Guinea below +70
_STRAYS_M, _ELLIPSOID_M = 25.0, (-110.0, 70.0)
_FIELD_M, _NEAR_M = 75.0, 1_500.0  # one field, two heights
_AIR = (0.55, 1.8)  # airspeed over ground speed, the whole flight
_BANKED_RAD, _TURNS_RADPS, _TURN_AIR = 0.26, 0.03, (0.7, 1.45)  # 15° and 2°/s; V = g·tan φ / ω
_SAME = 0.12  # recorded speed against the positions
_NIGHT_H = (22.5, 4.0)  # by the sun


def look_over(work: Work, contacts: Sequence[GroundContact]) -> None:
    """Add a line for each thing that no flight of a light airplane shows."""
    work.mends += [Mend(what, 1, asks=_ASKS in what) for what in (*_at_the_sea(work), *_at_known_fields(work))]
    if (work.facts.get("craft") or {}).get("kind") in {"ground", "fast"}:  # type: ignore[attr-defined]
        work.facts["zone_open"] = bool(work.facts.get("no_zone"))  # nothing is graded, so nothing is asked
        return
    light = (work.facts.get("craft") or {}).get("kind") != "sailplane"  # type: ignore[attr-defined]
    seen = (*(_of_motion(work) if light else ()), *_of_heights(work, contacts), *_of_time(work))
    work.mends += [Mend(what, 1, asks=_ASKS in what) for what in seen]
    _of_field(work, contacts)


def _at_the_sea(work: Work) -> Iterator[str]:
    """Faster than is driven, and never higher than a mast: an altitude in another unit makes a drive of a flight."""
    speed, altitude = work.get("groundspeed_mps", "tas_mps", "ias_mps"), work.get("altitude_m", "gps_altitude_m")
    if speed is None or altitude is None:
        return
    fast = (np.nan_to_num(speed) > FLYING_MPS) & np.isfinite(altitude)
    if fast.sum() * work.step_s < _AT_SEA_S or float(np.median(speed[fast])) < _NOT_DRIVEN_MPS:
        return
    if float(np.percentile(np.abs(altitude[fast]), 97)) < _AT_SEA_M:
        low = f"{to_unit(_AT_SEA_M, 'ft'):,.0f} ft"
        yield f"it moves fast within {low} of the sea all along: is the altitude in another unit?"


def _at_known_fields(work: Work) -> Iterator[str]:
    """It stands at an aerodrome whose elevation is the altitude read in the other unit, or off by a geoid's height."""
    lat, lon, altitude = (work.get(name) for name in ("latitude_rad", "longitude_rad", "altitude_m"))
    if lat is None or lon is None or altitude is None:
        return
    for field in visits(work.time_s, lat, lon, altitude):
        if in_another_unit(field):
            read, high = (f"{to_unit(x, 'ft'):,.0f} ft" for x in (field.stood, field.elevation_m))
            yield f"it stands at {field.ident}, {high} high, and its altitude reads {read}{_in_the_other(work)}"
        elif _by_satellites(work):  # not a number where it never stood
            off_m = field.stood - field.elevation_m
            if abs(off_m) > _STRAYS_M and _ELLIPSOID_M[0] < off_m < _ELLIPSOID_M[1]:
                off = f"{abs(to_unit(off_m, 'ft')):,.0f} ft {'above' if off_m > 0.0 else 'below'} its elevation"
                yield f"it stands at {field.ident} {off}: heights above the ellipsoid, perhaps, and not above the sea?"


def _by_satellites(work: Work) -> bool:
    """A light airplane's altitude is a receiver's, its unit sure, and nothing says it is from the ellipsoid."""
    if (work.facts.get("craft") or {}).get("kind") != "airplane":  # type: ignore[attr-defined]
        return False  # others hover and soar as slowly as it taxies
    if any(m.asks and m.column == "gps_altitude_m" for m in work.mends):
        return False  # nor is its unit known
    best, own = work.columns.get("altitude_m"), work.columns.get("gps_altitude_m")
    return best is not None and own is not None and best.note == "satellite" and "ellipsoid" not in own.note


def _other_unit(work: Work) -> str:
    """A question, where neither the file's format nor its words and a vertical speed lay down the unit."""
    named = any(r["unit_how"].endswith("named") for r in _height_rows(work))
    named &= work.measured("vertical_speed_mps") is not None
    return "" if named or work.facts.get("format") in _BY_RECORDERS else _in_the_other(work)


_BY_RECORDERS = frozenset(["IGC", "NMEA 0183"])  # in meters; what converters write may be in feet


def _height_rows(work: Work) -> list[dict[str, str]]:
    rows: list[dict[str, str]] = work.facts.get("understood", [])  # type: ignore[assignment]
    return [r for r in rows if "altitude" in r["quantity"]]


def _in_the_other(work: Work) -> str:
    """A question, with what answers it; none where its person has settled it."""
    row = next((r for r in _height_rows(work) if r["unit"] in {"ft", "m"}), None)
    if row is None or row["quantity"] in work.facts.get("settled", ()):  # type: ignore[operator]
        return ""
    other = "ft" if row["unit"] == "m" else "m"
    one = shlex.quote(f"{row['column']}={row['quantity']}:{other}")
    return f"; is the altitude in {other}? {_ASKS}airwork recording map FILE --set {one}"


def _on_a_cable(work: Work, at: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Just after a sailplane left the ground: a winch pulls it up as no engine does."""
    out, ground = np.zeros(at.size, dtype=bool), work.get("on_ground")
    if ground is None or (work.facts.get("craft") or {}).get("kind") != "sailplane":  # type: ignore[attr-defined]
        return out
    t, down = work.time_s[at], ground[at] > 0.5
    for left in np.flatnonzero(down[:-1] & ~down[1:]) + 1:
        out[left : int(np.searchsorted(t, t[left] + LAUNCHED_S))] = True
    return out


def _of_motion(work: Work) -> Iterator[str]:
    at = work.seconds_apart()
    speed = work.get("groundspeed_mps", "tas_mps", "ias_mps")
    if speed is None:
        return
    flying = np.nan_to_num(speed[at]) > FLYING_MPS
    seconds = float(flying.sum()) * max(work.step_s, 1.0)
    if seconds > 2.0 * _STRETCH_S:
        yield from _of_climbs(work, at, speed[at], flying)
    if seconds >= _LEAST:
        yield from _of_wind(work, at, flying)
        yield from _of_turns(work, at, flying)
        yield from _of_positions(work, at, speed[at], flying)


def _of_climbs(work: Work, at: NDArray[np.intp], v: Array, flying: NDArray[np.bool_]) -> Iterator[str]:
    """Steeper or faster than light airplanes go, or never up nor down."""
    altitude, t = work.get("altitude_m", "gps_altitude_m"), work.time_s[at]
    if altitude is None:
        return
    climb = Window(t, max(_STRETCH_S, 1.5 * work.step_s)).slope(altitude[at])
    known = flying & np.isfinite(climb) & ~_on_a_cable(work, at)
    if not known.any():
        return
    up = np.abs(climb[known])
    usual = float(np.percentile(up, 97))
    if float(np.percentile(up / v[known], 97)) > _STEEP or usual > _FAST_UP_MPS:
        yield (
            f"it climbs and descends at {to_unit(usual, 'fpm'):,.0f} fpm for half a minute and more: light "
            f"airplanes don't{_other_unit(work)}"
        )
    elif (
        float(np.percentile(up, 99.5)) < _FLAT_MPS
        and float(t[-1] - t[0]) > _FLAT_S
        and float(np.ptp(altitude[at][known])) > 1.0
    ):
        yield (
            f"it never climbs or descends at more than {to_unit(usual, 'fpm'):,.0f} fpm"
            f"{_other_unit(work) or '; is the altitude cut short?'}"
        )


def _has_dial(work: Work) -> bool:
    return any(work.measured(n) is not None for n in ("tas_mps", "cas_mps", "ias_mps"))


def _of_wind(work: Work, at: NDArray[np.intp], flying: NDArray[np.bool_]) -> Iterator[str]:
    """Airspeed against the speed over the ground, all winds together."""
    air, ground = work.get("tas_mps"), work.get("groundspeed_mps")
    if air is not None and ground is not None and _has_dial(work):
        both = flying & np.isfinite(air[at]) & np.isfinite(ground[at])
        ratio = float(np.median(air[at][both]) / max(np.median(ground[at][both]), 1.0)) if both.any() else 1.0
        if not _AIR[0] < ratio < _AIR[1]:
            yield f"the airspeed is {ratio:.2g} times the speed over the ground: no wind does that; is it in its unit?"


def _of_turns(work: Work, at: NDArray[np.intp], flying: NDArray[np.bool_]) -> Iterator[str]:
    """Airspeed against bank and turn rate."""
    air, bank, heading = work.get("tas_mps"), work.measured("bank_rad"), work.get("heading_rad")
    if air is None or bank is None or heading is None or not _has_dial(work):
        return
    turning = Window(work.time_s[at], max(3.0, 1.5 * work.step_s)).slope(np.unwrap(heading[at]))
    level = flying & (np.abs(bank[at]) > _BANKED_RAD) & (np.abs(turning) > _TURNS_RADPS) & np.isfinite(air[at])
    if level.sum() > _LEAST / 2 / max(work.step_s, 1.0):
        by_turns = G0_MPS2 * np.tan(np.abs(bank[at][level])) / np.abs(turning[level])
        ratio = float(np.median(air[at][level] / by_turns))
        if not _TURN_AIR[0] < ratio < _TURN_AIR[1]:
            yield f"the airspeed is {ratio:.2g} times what bank and turn rate make: is it in its unit?"


def _of_positions(work: Work, at: NDArray[np.intp], v: Array, flying: NDArray[np.bool_]) -> Iterator[str]:
    """The recorded speed over the ground against the way between positions."""
    north, east = work.get("north_m"), work.get("east_m")
    if north is None or east is None or work.measured("groundspeed_mps") is None:
        return
    gap = np.diff(work.time_s[at])
    way = np.hypot(np.diff(east[at]), np.diff(north[at])) / gap
    good = np.isfinite(way) & flying[1:] & (gap < 4.0 * max(work.step_s, 1.0))
    if good.sum() > _LEAST / max(work.step_s, 1.0):
        ratio = float(np.median(v[1:][good]) / max(float(np.median(way[good])), 0.1))
        if abs(ratio - 1.0) > _SAME:
            yield f"the recorded speed is {ratio:.2g} times what the positions make: one of them is wrong"


def _of_heights(work: Work, contacts: Sequence[GroundContact]) -> Iterator[str]:
    heights = [(n, x) for n in ("indicated_altitude_m", "gps_altitude_m") if (x := work.measured(n)) is not None]
    if len(heights) == 2 and np.isfinite(apart := heights[0][1] - heights[1][1]).any():
        off = float(np.nanmedian(apart))
        if abs(off) > _APART_M:
            yield f"the altimeter and the satellites' height are {to_unit(abs(off), 'ft'):,.0f} ft apart: doubt both"
    altitude, east, north = work.get("altitude_m"), work.get("east_m"), work.get("north_m")
    if altitude is None or east is None or north is None or work.taxi_mps() < TAXI_MPS:  # a slope is no field
        return
    places: list[tuple[float, float, float]] = []
    for contact in contacts:
        k = int(np.searchsorted(work.time_s, contact.time_s))
        near = slice(max(k - 2, 0), k + 3)
        known = np.isfinite(east[near] + north[near] + altitude[near])
        if not known.any():
            continue
        here = tuple(float(np.median(x[near][known])) for x in (east, north, altitude))
        for other in places:
            off = abs(here[2] - other[2])
            if np.hypot(here[0] - other[0], here[1] - other[1]) < _NEAR_M and off > _FIELD_M:
                yield f"one field stands at heights {to_unit(off, 'ft'):,.0f} ft apart: the altitude drifts or jumps"
                return
        places.append((here[0], here[1], here[2]))


def _of_field(work: Work, contacts: Sequence[GroundContact]) -> None:
    """Heights that begin at nought, on the ground: above the sea by chance, above the field more often."""
    altitude = work.measured("gps_altitude_m")
    known = altitude[np.isfinite(altitude)] if altitude is not None else np.zeros(0)
    rows = [r for r in work.facts.get("understood", ()) if r["quantity"] == "gps_altitude"]  # type: ignore[attr-defined]
    if not known.size or abs(known[0]) > 0.05 or not contacts or not rows:
        return
    one = shlex.quote(f"{rows[0]['column']}=height_above_ground:{rows[0]['unit']}")
    said = f"{rows[0]['column']!r} begins at 0: if it is the height above the field, airwork recording map FILE --set"
    work.mends.append(Mend(f"{said} {one}", 1, column="gps_altitude_m", asks=True))


def _of_time(work: Work) -> Iterator[str]:
    """Where a clock's zone is only assumed: what the sun says of it; what it leaves open is asked for."""
    longitude, column = work.get("longitude_rad"), str(work.facts.get("no_zone", ""))
    if not np.isfinite(work.start_utc_s):
        return
    if longitude is None or not np.isfinite(longitude).any():
        if column:
            _ask_zone(work, column, "", "UTC-5")
        return
    assumed = any("taken as UTC" in m.what for m in work.mends)
    east_h = float(np.degrees(np.nanmedian(longitude))) / 15.0
    clock = (work.start_utc_s + float(np.median(work.time_s))) / 3_600.0
    night, by_clock = (not _NIGHT_H[1] < h % 24.0 < _NIGHT_H[0] for h in (clock + east_h, clock))
    if assumed and night:
        yield f"by the sun it was flown at {(clock + east_h) % 24.0:02.0f} h local time: are its times local, not UTC?"
    if column and (night or not by_clock):
        latitude = work.get("latitude_rad")
        place = (float(np.degrees(np.nanmedian(x))) if x is not None else np.nan for x in (latitude, longitude))
        _, ahead_s = zone_at((next(place), next(place)), work.start_utc_s)
        ahead_s = ahead_s if np.isfinite(ahead_s) else 3_600.0 * (round(east_h) or 1)
        hours, minutes = divmod(round(abs(ahead_s) / 60.0), 60)
        said = f"UTC{'-' if ahead_s < 0.0 else '+'}{hours}{f':{minutes:02d}' * bool(minutes)}"
        hour = f", though by the sun it was flown at {(clock + east_h) % 24.0:02.0f} h then" if night else ""
        _ask_zone(work, column, hour, said)


def _ask_zone(work: Work, column: str, hour: str, offset: str) -> None:
    """Ask for the zone of a clock that names none and that nothing tells; until then its times are not known as UTC."""
    work.facts["zone_open"] = True
    one = shlex.quote(f"{column}=local_time:{offset}")
    said = f"{column!r} names no time zone and is taken as UTC{hour}: if it is local time, say its offset with"
    work.mends.append(Mend(f"{said} airwork recording map FILE --set {one}", 1, asks=True))
