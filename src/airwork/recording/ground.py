"""On the ground or airborne, take-offs, landings and touch-and-goes, height above ground.

A stand-still or taxi is slow, level and low. The runway is where the flight was on the ground; a pass over it at
flying speed that never stops sinking into a roll is a low pass and no landing. Thresholds are our own choice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.masks import runs
from airwork.recording.field_rolls import NEAR_FIELD_M, LowPath, field_rolls, held_low
from airwork.recording.flight import Array, GroundContact
from airwork.recording.foot import on_foot
from airwork.recording.known_fields import FieldBelow, elevations_near, field_below
from airwork.recording.recorded import FROM_NOUGHT
from airwork.recording.rolls import (
    LANDED,
    LANDED_AT_FIELD,
    already_rolling,
    free_rolls,
    without_balloon,
    without_float,
)
from airwork.recording.smooth import Window
from airwork.recording.time_base import typical_step_s
from airwork.recording.unit_evidence import resolution
from airwork.recording.unseen import note_unseen_stops
from airwork.recording.wheels import (
    height_for_wheels,
    recorded_low,
    unlifted_rolls,
    without_fast,
    without_flown,
    without_lifted,
    without_quiet,
)
from airwork.recording.work import TAXI_MPS, Work

STILL_MPS = 2.0
_UNMOVED_MPS = 0.3
_LEVEL_MPS = 0.8
_ABOVE_M = 12.0
_DRIVEN, _ROAD_GRADE = 0.5, 0.06
_SHORTEST_GROUND_S = 4.0
_SHORTEST_FLIGHT_S = 12.0
# Of who flies as slowly as an airplane taxis: how long it stands, how level, or where; how long it flies.
_SHORTEST_STAND_S, _STANDS_M, _AT_THE_ENDS_S, _SHORTEST_SOARING_S = 20.0, 4.0, 5.0, 60.0
_WALKS_MPS, _HIKES_MPS, _WALKS_S = 2.5, 0.5, 180.0  # 5 kt and hardly up or down for so long: on foot
_HOVERS_MPS = 3.0
_HIGH_OUT_M = 30.0
_NEAR_S, _BESIDE_S = 12.0, 10.0  # from fix to fix; on the ground, of one place
_ABOVE_SEA = ("satellite", "indicated")
# Of a known aerodrome, from its middle: its runways, and the land about it; how near its elevation is at it, and the
# error of a height above it.
_RUNWAY_M, _WIDE_M, _FIELDS_LAND_M, _AT_M, _ELEVATION_M = 1_500.0, 3_500.0, 9_000.0, 10.0, 10.0
_BRAKES_S, _BRAKES_MPS2 = 6.0, 4.5  # more than wheels on a runway can brake


@dataclass(frozen=True, slots=True)
class _Field:
    """A place the airplane stood or rolled: altitude as the recording shows it there."""

    time_s: float
    altitude_m: float
    east_m: float
    north_m: float


def add_ground(work: Work, ground_elevation_m: float | None) -> tuple[GroundContact, ...]:
    """Column on_ground, column agl_m, and the contacts with the ground."""
    speed = _between_fixes(work)
    altitude = height_for_wheels(work, speed)
    contacts = _seen(work, altitude, speed, ground_elevation_m)
    if altitude is not None and speed is not None:
        note_unseen_stops(work, altitude, speed)
    return contacts


def _seen(
    work: Work, altitude: Array | None, speed: Array | None, ground_elevation_m: float | None
) -> tuple[GroundContact, ...]:
    recorded = work.get("on_ground")
    if recorded is not None and 0.0 < float(np.nanmean(recorded)) <= 1.0:
        on_ground = _as_recorded(work, np.nan_to_num(recorded, nan=0.0) > 0.5, altitude, speed)
        contacts = _contacts(work, on_ground, altitude)
        _add_agl(work, altitude, on_ground, ground_elevation_m)
        return contacts
    if altitude is None or speed is None:
        return ()
    on_ground = _ground_phases(work, altitude, speed, ground_elevation_m)
    rolls = work.taxi_mps() == TAXI_MPS  # a paraglider has none
    on_ground = _with_drives(work.time_s, on_ground, altitude, speed) if rolls else on_ground
    air = _air_speed(work, speed)
    if rolls and not on_ground[0]:
        on_ground[: already_rolling(work.time_s, altitude, air)] = True
    if rolls and not on_ground[-1]:
        landed = LANDED_AT_FIELD if _ends_at_field(work) else LANDED
        on_ground[on_ground.size - already_rolling(-work.time_s[::-1], altitude[::-1], air[::-1], *landed) :] = True
    if not on_ground.any() and rolls:
        at_field = _at_field_height(work, altitude)
        for roll in [*free_rolls(work, altitude, air, on_ground, float("nan"), at_field), *unlifted_rolls(work, air)]:
            on_ground[roll] = True
    if not on_ground.any():
        on_ground = _tidy(work.time_s, recorded_low(work), None)
        _add_agl(work, altitude, on_ground, ground_elevation_m)
        note = "height above ground" if on_ground.any() else "speed and height: never on the ground"
        work.put("on_ground", on_ground.astype(float), None, note)
        return _contacts(work, on_ground, altitude)
    if rolls:
        path = _low_path(work, altitude, speed, on_ground)
        beside, lifted = field_rolls(path, on_ground)
        on_ground = on_ground | beside
        for roll in free_rolls(work, altitude, air, on_ground, lifted):
            on_ground[roll] = True
        for roll in held_low(path, on_ground):
            on_ground[roll] = True
    on_ground = _without_aloft(work, on_ground, altitude, speed)
    on_ground = _tidy(work.time_s, on_ground, speed, _SHORTEST_FLIGHT_S if rolls else _SHORTEST_SOARING_S, altitude)
    on_ground = on_ground if rolls else on_foot(work.time_s, on_ground, altitude, speed)
    on_ground = _without_hanging(work.time_s, on_ground, speed)
    on_ground = without_float(work, on_ground, altitude)
    on_ground = without_lifted(work, on_ground, air)
    on_ground = without_fast(work, on_ground, altitude, air)
    on_ground = without_balloon(work.time_s, on_ground, altitude, speed)
    on_ground = without_quiet(work, on_ground, speed)
    work.put("on_ground", on_ground.astype(float), None, "from speed and height")
    _add_agl(work, altitude, on_ground, ground_elevation_m)
    return _contacts(work, on_ground, altitude)


def _as_recorded(
    work: Work, recorded: NDArray[np.bool_], altitude: Array | None, speed: Array | None
) -> NDArray[np.bool_]:
    """On the ground by the file's own word, without what was surely flown and with what was not received."""
    on_ground = _tidy(work.time_s, recorded, speed)  # bounces are one contact
    note, rolls = work.columns["on_ground"].note, work.taxi_mps() == TAXI_MPS
    if speed is not None and note == FROM_NOUGHT:
        on_ground = without_flown(work.time_s, on_ground, speed)
        work.put("on_ground", on_ground.astype(float), None, FROM_NOUGHT, "measured", replace=True)
    elif speed is not None and altitude is not None and _fields(work, altitude, on_ground) and rolls:
        lost = held_low(_low_path(work, altitude, speed, on_ground), on_ground, lost_only=True)
        for roll in lost:
            on_ground[roll] = True
        if lost:
            work.put("on_ground", on_ground.astype(float), None, note, "measured", replace=True)
    return on_ground


def _low_path(work: Work, altitude: Array, speed: Array, on_ground: NDArray[np.bool_]) -> LowPath:
    ground, away = _ground_height(work, _fields(work, altitude, on_ground))
    return LowPath(work, altitude, speed, _air_speed(work, speed), altitude - ground, away)


def _with_drives(t: Array, on_ground: NDArray[np.bool_], altitude: Array, speed: Array) -> NDArray[np.bool_]:
    """Between two stands never half as fast as it flies, up and down as a road: the way to the field, recorded too."""
    stands = runs(on_ground)
    out, flown = on_ground.copy(), speed[np.isfinite(speed)]
    fast = _DRIVEN * float(np.percentile(flown, 95.0)) if flown.size else 0.0
    for b, a in zip([0, *(b for _, b in stands)], [*(a for a, _ in stands), t.size], strict=True) if stands else ():
        went, high = np.nan_to_num(speed[b:a]), altitude[b:a][np.isfinite(altitude[b:a])]
        if a - b < 3 or not high.size or not float(went.max()) < fast:
            continue
        out[b:a] = float(np.ptp(high)) < max(_ABOVE_M, _ROAD_GRADE * float(np.trapezoid(went, t[b:a])))
    return out


def _without_aloft(work: Work, on_ground: NDArray[np.bool_], altitude: Array, speed: Array) -> NDArray[np.bool_]:
    """Slow in a strong wind, but above where it stood nearby: in the air."""
    stands = _lasting(work.time_s, on_ground & (speed < STILL_MPS), 15.0)
    if work.taxi_mps() != TAXI_MPS or not (fields := _fields(work, altitude, stands)):  # a slope is no field
        return on_ground
    ground, away = _ground_height(work, fields)
    return on_ground & ~((away < NEAR_FIELD_M) & (altitude - ground > _ABOVE_M) & ~stands)


def _speed(work: Work) -> Array | None:
    """Speed over the ground, else through the air."""
    return work.get("groundspeed_mps", "ias_mps", "cas_mps", "tas_mps")


def _between_fixes(work: Work) -> Array | None:
    """A speed for every row: from fix to fix where they are too rare for one, then what its neighbors say."""
    speed, t = _speed(work), work.time_s
    if speed is None or not np.isfinite(speed).any():
        return speed
    east, north = work.get("east_m"), work.get("north_m")
    if east is not None and north is not None and (fixed := np.isfinite(east)).sum() > 1:
        chord = np.hypot(np.gradient(east[fixed], t[fixed]), np.gradient(north[fixed], t[fixed]))
        near = np.diff(t[fixed], append=np.inf) < _NEAR_S
        speed = speed.copy()
        speed[np.flatnonzero(fixed)[near]] = np.where(np.isfinite(s := speed[fixed][near]), s, chord[near])
        way = np.hypot(np.diff(east[fixed]), np.diff(north[fixed])) / np.maximum(np.diff(t[fixed]), 1e-6)
        least = np.minimum(np.append(way, np.inf), np.append(np.inf, way))  # one place in two fixes, however far apart
        stands = ~np.isfinite(speed[fixed]) & (least < STILL_MPS)
        speed[np.flatnonzero(fixed)[stands]] = least[stands]
    known = np.isfinite(speed)
    return np.interp(t, t[known], speed[known])


def _air_speed(work: Work, ground: Array) -> Array:
    """Speed through the air where it is known: into the wind an airplane flies slower over the ground than it can."""
    air = work.get("tas_mps", "cas_mps", "ias_mps")
    return ground if air is None else np.where(np.isfinite(air), air, ground)


def _ground_phases(work: Work, altitude: Array, speed: Array, elevation: float | None) -> NDArray[np.bool_]:
    """Surely on the ground: slow AND low AND level. Slow alone may be slow flight into a strong wind."""
    climb = np.nan_to_num(work.scratch.get("climb_mps", np.zeros(speed.size)))
    slow = speed < work.taxi_mps()
    air = work.measured("ias_mps")
    if air is not None:
        slow &= ~(np.nan_to_num(air) > 20.0)
    # who soars stays while he doesn't move, though a pressure that settles goes up and down
    level = (np.abs(climb) < _LEVEL_MPS) | ((work.taxi_mps() < TAXI_MPS) & (speed < _UNMOVED_MPS))
    sure = slow & level
    still = sure & (speed < STILL_MPS)
    known = np.isfinite(altitude)
    if not known.any():
        return np.zeros(speed.size, dtype=bool)
    altitude = np.interp(work.time_s, work.time_s[known], altitude[known])  # it stands where its height is lost, too
    lowest = float(np.nanpercentile(altitude, 0.5))
    low = altitude < lowest + 40.0
    if elevation is not None and work.columns.get("altitude_m") is not None:
        low |= np.abs(altitude - elevation) < 60.0
    long_still, on_foot = _lasting(work.time_s, still, 15.0), np.zeros(speed.size, dtype=bool)
    if work.taxi_mps() < TAXI_MPS:
        long_still |= _at_the_ends(work.time_s, still)
        climbs = np.abs(np.nan_to_num(Window(work.time_s, 30.0).slope(altitude))) < _HIKES_MPS
        on_foot = _lasting(work.time_s, climbs & (Window(work.time_s, 10.0).mean(speed) < _WALKS_MPS), _WALKS_S)
    heights = altitude[long_still]
    if heights.size:  # another field, higher or lower, where the airplane stood
        bins = np.unique(np.round(heights / 10.0)) * 10.0
        for height in bins[:50]:
            low |= np.abs(altitude - height) < 20.0
    stood = _lasting(work.time_s, sure & low, _SHORTEST_GROUND_S)
    t = work.time_s
    for a, b in runs(stood) if work.taxi_mps() < TAXI_MPS else ():
        # into the wind a paraglider hovers over one place, but never for long at one height
        short = t[b - 1] - t[a] < _SHORTEST_STAND_S or np.nanmax(altitude[a:b]) - np.nanmin(altitude[a:b]) > _STANDS_M
        hovers = short or float(np.median(speed[a:b])) > _HOVERS_MPS
        stood[a:b] = not hovers or t[a] - t[0] < _AT_THE_ENDS_S or t[-1] - t[b - 1] < _AT_THE_ENDS_S
    stood |= on_foot
    for a, b in runs(stood):
        stood[a:b] &= known[a:b].any()
    stood = _without_aloft(work, stood, altitude, speed)
    east, north = work.get("east_m"), work.get("north_m")
    if work.taxi_mps() == TAXI_MPS and east is not None and north is not None and t.size > 2:
        # a recorder that pauses while parked begins with the roll: how far it was from there to the next fix
        for first, then, ways in ((0, 1, slice(None)), (-1, -2, slice(None, None, -1))):
            way_m, waits_s = (
                float(np.hypot(east[then] - east[first], north[then] - north[first])),
                abs(t[then] - t[first]),
            )
            hangs = waits_s < 1.5 * work.step_s and not slow[first]  # one position in two rows
            if low[first] and not hangs and way_m < 0.5 * TAXI_MPS * waits_s:
                stood[ways][: 1 + int(np.argmin(np.append((slow & low)[ways][1:], False)))] = True
    return stood


def _at_the_ends(t: Array, mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Only the stretches of the mask, of some seconds, that the recording begins or ends with."""
    out = np.zeros_like(mask)
    for a, b in runs(mask):
        ends = t[a] - t[0] < _AT_THE_ENDS_S or t[-1] - t[b - 1] < _AT_THE_ENDS_S
        out[a:b] = ends and t[b - 1] - t[a] > _SHORTEST_GROUND_S
    return out


def _lasting(t: Array, mask: NDArray[np.bool_], least_s: float) -> NDArray[np.bool_]:
    """Only the stretches of the mask that last."""
    out = np.zeros_like(mask)
    step = typical_step_s(t)
    coarse = step if step > 0.5 * least_s else 0.0  # a fix stands for the time to the next
    for a, b in runs(mask):
        if t[b - 1] - t[a] + coarse >= least_s:
            out[a:b] = True
    return out


def _fields(work: Work, altitude: Array, on_ground: NDArray[np.bool_]) -> list[_Field]:
    east, north = work.get("east_m"), work.get("north_m")
    out = []
    for a, b in runs(on_ground):
        for k in {int(a), int((a + b) // 2), int(b - 1)}:
            beside = np.abs(work.time_s[a:b] - work.time_s[k]) <= _BESIDE_S  # a slope is as high as where it touched
            near = altitude[a:b][beside]
            height = float(np.median(near[np.isfinite(near)])) if np.isfinite(near).any() else float("nan")
            place = (float(east[k]), float(north[k])) if east is not None and north is not None else (np.nan, np.nan)
            if np.isfinite(height):
                out.append(_Field(float(work.time_s[k]), height, *place))
    return sorted(out, key=lambda f: f.time_s)


def _ground_height(work: Work, fields: list[_Field]) -> tuple[Array, Array]:
    """(altitude the recording shows on the ground here, distance from the nearest field known): per sample."""
    t = work.time_s
    times = np.array([f.time_s for f in fields])
    heights = np.array([f.altitude_m for f in fields])
    east, north = work.get("east_m"), work.get("north_m")
    if east is None or north is None:
        return np.interp(t, times, heights), np.zeros(t.size)
    at = work.seconds_apart()
    x, y = east[at], north[at]
    height, nearest = np.full(at.size, np.nan), np.full(at.size, np.inf)
    for f in fields:
        away = np.hypot(x - f.east_m, y - f.north_m)
        take = away < nearest
        height[take], nearest[take] = f.altitude_m, away[take]
    near = np.isfinite(nearest)
    if not near.any() or float(np.ptp(heights)) < 25.0:
        # one field: the altimeter's drift during the flight is drawn straight between its visits
        ground = np.interp(t, times, heights)
    else:
        ground = height[np.minimum(np.searchsorted(t[at], t), at.size - 1)]
    return ground, np.interp(t, t[at][near], nearest[near]) if near.any() else np.zeros(t.size)


def _tidy(
    t: Array,
    on_ground: NDArray[np.bool_],
    speed: Array | None,
    least_s: float = _SHORTEST_FLIGHT_S,
    altitude: Array | None = None,
) -> NDArray[np.bool_]:
    """Hops shorter than any flight belong to the ground; at either end of the recording only slow ones.

    What comes high out of a gap, or goes high into one, has flown in it.
    """
    out = on_ground.copy()
    for a, b in runs(~on_ground):
        inside = a > 0 and b < t.size
        if inside and altitude is not None:
            high = max(altitude[a - 1], altitude[b]) + _HIGH_OUT_M
            beside = ((a, t[a] - t[a - 1]), (b - 1, t[b] - t[b - 1]))
            if any(gap_s > least_s and altitude[at] > high for at, gap_s in beside):
                continue
        slow = speed is not None and float(np.median(np.nan_to_num(speed[a:b]))) < 1.5 * TAXI_MPS
        if t[b - 1] - t[a] < (least_s if inside else _SHORTEST_FLIGHT_S) and (inside or (slow and b - a < t.size)):
            out[a:b] = True
    return out


def _without_hanging(t: Array, on_ground: NDArray[np.bool_], speed: Array) -> NDArray[np.bool_]:
    """Phases on the ground but those that nothing could have braked or started for: there the positions hang."""
    out = on_ground.copy()
    span = max(_BRAKES_S, 2.0 * typical_step_s(t))
    for a, b in runs(on_ground):
        for edge, way in ((int(a), -1), (int(b) - 1, 1)):
            before, after = np.interp(t[edge] + way * np.array([span / 2.0, -span / 2.0]), t, speed)
            slow = float(np.mean(speed[a:b] < STILL_MPS)) > 0.5  # not known is not slow
            out[a:b] &= not (slow and before - after > _BRAKES_MPS2 * span)
    return out


def _contacts(work: Work, on_ground: NDArray[np.bool_], altitude: Array | None) -> tuple[GroundContact, ...]:
    """Changes between ground and air; a short roll between two flights is a touch-and-go."""
    t = work.time_s
    speed = _speed(work)
    out: list[GroundContact] = []
    for a, b in runs(on_ground):
        came, left = a > 0, b < t.size
        slowest = float(np.nanmin(speed[a:b])) if speed is not None and np.isfinite(speed[a:b]).any() else 0.0
        if came and left and slowest > 7.0 and t[b - 1] - t[a] < 60.0:
            lost = t[a] - t[a - 1] > _HIDDEN_S
            touched = _between(t, altitude, int(a), int(b), down=True) if lost else float(t[a])
            out.append(GroundContact("touch_and_go", touched))
            continue
        if came:
            out.append(GroundContact("landing", _between(t, altitude, int(a), int(b), down=True)))
        if left:
            out.append(GroundContact("takeoff", _between(t, altitude, int(a), int(b), down=False)))
    return tuple(out)


_COARSE_S, _HIDDEN_S = 2.0, 10.0
_CLEAR_M, _STEADY_S = 3.0, 8.0
_FLARED, _ROTATED = 1.2, 1.4  # a flare and a lift-off take longer than the line of the descent or climb says


def _between(t: Array, altitude: Array | None, first: int, past: int, *, down: bool) -> float:
    """When the wheels touched or left, between fixes of a coarse track: where the descent or climb meets the ground."""
    edge, beside = float(t[first] if down else t[past - 1]), float(t[first - 1] if down else t[past])
    paused = abs(beside - edge) > _HIDDEN_S + 3.0 * typical_step_s(t)
    plain = beside if paused else edge  # where a recorder paused, on the flight's side of it
    if altitude is None or typical_step_s(t) < _COARSE_S or not np.isfinite(altitude[first:past]).any():
        return plain
    level = float(np.nanmedian(altitude[first:past][:20] if down else altitude[first:past][-20:]))
    clear = max(_CLEAR_M, 0.6 * resolution(altitude))
    way = -1 if down else 1
    k = first - 1 if down else past
    while 0 <= k < t.size and abs(k - (first if down else past)) < 12 and not altitude[k] > level + clear:
        if not down and altitude[k] < level - clear:
            return plain  # from a slope it may leave downward
        k += way
    if not (0 <= k < t.size and 0 <= k + way < t.size) or not altitude[k] > level + clear:
        return plain
    far = k + way
    while paused and resolution(altitude) > _CLEAR_M and abs(t[far] - t[k]) < _STEADY_S and 0 <= far + way < t.size:
        far += way  # in steps of 25 ft two fixes tell no rate
    rate = (altitude[far] - altitude[k]) / abs(t[far] - t[k])
    if not rate > 0.3:
        return plain
    gone = (_FLARED if down else _ROTATED) * (altitude[k] - level) / rate
    if down:
        return float(np.clip(t[k] + gone, beside, edge))
    return float(max(t[k] - gone, edge))


def _known_field(work: Work) -> FieldBelow | None:
    """The aerodrome of the tables it comes low over, by an altitude that is one above the sea."""
    column = work.columns.get("altitude_m")
    lat, lon = work.get("latitude_rad"), work.get("longitude_rad")
    if column is None or lat is None or lon is None or column.note not in _ABOVE_SEA:
        return None
    return field_below(work.time_s, lat, lon, column.values)


def _ends_at_field(work: Work) -> bool:
    """Over a known aerodrome; over a wide one's outer runways, at its elevation too."""
    field, height = _known_field(work), work.columns.get("altitude_m")
    if field is not None and field.away_m[-1] < _RUNWAY_M:
        return True
    lat, lon = work.get("latitude_rad"), work.get("longitude_rad")
    if height is None or lat is None or lon is None or height.note not in _ABOVE_SEA:
        return False
    place = float(lat[-1]), float(lon[-1])
    near = elevations_near(*place, _WIDE_M) if np.isfinite(place).all() else None
    return near is not None and bool((np.abs(near - height.values[-1]) < _AT_M).any())


def _at_field_height(work: Work, altitude: Array) -> NDArray[np.bool_]:
    """Over a known aerodrome, at its elevation."""
    field = _known_field(work)
    if field is None:
        return np.zeros(altitude.size, dtype=bool)
    return (field.away_m < _RUNWAY_M) & (np.abs(altitude - field.elevation_m) < _AT_M)


def _add_agl(work: Work, altitude: Array | None, on_ground: NDArray[np.bool_], elevation: float | None) -> None:
    if altitude is None or "agl_m" in work.columns or work.taxi_mps() < TAXI_MPS:  # a slope is no field
        return
    best = work.get("altitude_m")
    altitude = best if best is not None else altitude
    fields = _fields(work, altitude, on_ground) if on_ground.any() else []
    if fields:
        ground, _ = _ground_height(work, fields)
        note = "above the ground samples of the flight itself"
        if elevation is not None:
            note += "; the elevation given is taken as the same ground"
        work.put("agl_m", altitude - ground, 5.0, note + "; terrain elsewhere not known")
    elif elevation is not None:
        error = work.error("altitude_m", 10.0)
        work.put("agl_m", altitude - elevation, error, "above the ground elevation given")
    elif (known := _known_field(work)) is not None:
        above = np.where(known.away_m < _FIELDS_LAND_M, altitude - known.elevation_m, np.nan)
        note = f"above the published elevation of {known.ident}, near it; terrain elsewhere not known"
        work.put("agl_m", above, max(work.error("altitude_m", _ELEVATION_M), _ELEVATION_M), note)
