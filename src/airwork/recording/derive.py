"""Completing a flight: what can be worked out from what was recorded, each column marked with how it is known."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.angles import turn_from_to_rad, wrap_signed_rad
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airdata.wind import wind_from_vector
from airwork.recording.accelerations import add_measured_load
from airwork.recording.air import add_airspeeds, add_altitudes, add_density_altitude
from airwork.recording.attitude import add_air_heading, add_headings, add_turning, add_vertical_speed
from airwork.recording.craft import note_craft
from airwork.recording.engine import add_engine, add_flap_notch
from airwork.recording.flight import Array, Column, Flight
from airwork.recording.ground import add_ground
from airwork.recording.motion import add_motion
from airwork.recording.no_flight import no_flight, not_known
from airwork.recording.recorded import Recorded
from airwork.recording.sanity import look_over
from airwork.recording.smooth import Window, unwrapped
from airwork.recording.speed_habits import Path
from airwork.recording.variation import right_recorded_variation, variation_rad
from airwork.recording.wind import WindFits, first_guess, fit_air_data, fit_turns
from airwork.recording.wind_circles import CIRCLE_STEP_S, wandering
from airwork.recording.wind_fit import fit_wind
from airwork.recording.work import Work
from airwork.values import BAND

if TYPE_CHECKING:
    from airwork.airplane import Airplane

_AIR_DATA_HALF_S = 15.0
_USABLE_MPS = 4.0
_CALM = 2.15  # in a calm the speed found is the error's length: so many standard errors in one of ten (Rayleigh)
_CIRCLES, _BANKED_RAD = 0.5, np.radians(25.0)  # half a circle with a bank is hardly one
_SEEN_STEP_S, _COARSE_S, _CHORD_RAD = 2.0, 6.0, 0.7  # a chord of 40° is 2 % shorter than its arc
_SLIGHT_MPS = 0.3
_UNFITTED = (
    0.055  # of the airspeed: its scale to 3 %, the heading to 3°, where no turn tells; common practice, no source
)
_DIAL_MPS = 0.3  # an airspeed's own error goes with speed and attitude, which the fit takes for chance


def derive(
    recorded: Recorded,
    *,
    airplane: Airplane | None = None,
    setting_pa: float | None = None,
    ground_elevation_m: float | None = None,
) -> Flight:
    """A `Flight` from clean columns."""
    t0 = float(recorded.time_s[0])
    work = Work(
        recorded.time_s - t0,
        {name: Column(v, "measured", note=recorded.notes.get(name, "")) for name, v in recorded.columns.items()},
        extra=dict(recorded.extra),
        facts=dict(recorded.facts),
        mends=recorded.mends,
        start_utc_s=t0 if recorded.clock == "utc" else float("nan"),
    )
    add_altitudes(work, setting_pa, ground_elevation_m)
    right_recorded_variation(work)
    add_motion(work)
    add_vertical_speed(work)
    add_flap_notch(work, airplane)
    add_airspeeds(work, airplane)
    add_headings(work, variation_rad(work))
    kind, why = no_flight(work)
    if kind:
        work.facts[kind] = why
        work.mends[:] = [replace(m, asks=False) for m in work.mends]  # nothing is judged, so nothing is asked
    elif airplane is None and (doubt := not_known(work)):
        work.facts["not_known"] = doubt  # what may have driven was in no wind
    else:
        add_wind(work)
    if kind == "drives":
        work.put("on_ground", np.ones(work.time_s.size), None, why)
    if "tas_mps" not in work.columns:
        _airspeed_from_wind(work)
        add_airspeeds(work, airplane)
    add_density_altitude(work)
    add_air_heading(work)
    add_measured_load(work)
    add_turning(work)
    contacts = () if kind else add_ground(work, ground_elevation_m)
    if note_craft(work):
        contacts = ()
    look_over(work, contacts)
    add_engine(work, airplane)
    if (longitude := work.columns.get("longitude_rad")) is not None and np.nanmax(np.abs(longitude.values)) > np.pi:
        work.columns["longitude_rad"] = replace(longitude, values=wrap_signed_rad(longitude.values))
    return Flight(work.start_utc_s, work.time_s, work.columns, tuple(work.mends), contacts, work.facts)


def add_wind(work: Work) -> None:
    """Wind over time and height, unless the file has it: from full air data, else from the turns."""
    if "wind_mps" in work.columns and "wind_from_rad" in work.columns:
        return
    ground_east, ground_north = work.scratch.get("ground_east"), work.scratch.get("ground_north")
    if ground_east is None or ground_north is None:
        return
    tas, heading = work.get("tas_mps"), work.measured("heading_rad")
    if heading is None and "heading_mag_rad" in work.columns:
        heading = work.get("heading_rad")
    if tas is None or heading is None:
        _from_path(work)
    elif not _from_air_data(work, ground_east, ground_north, tas, heading):
        _from_path(work)
        if "wind_mps" not in work.columns:
            _from_air_data(work, ground_east, ground_north, tas, heading, turned=False)


def _from_path(work: Work) -> None:
    """Wind from the path over the ground alone, or with an airspeed but no heading."""
    at = work.seconds_apart()
    t = work.time_s[at]
    altitude = work.get("altitude_m", "gps_altitude_m")
    height = np.zeros(at.size)
    if altitude is not None and (good := np.isfinite(altitude[at])).any():
        height = np.interp(t, t[good], altitude[at][good]).astype(np.float64)
    east, north, tas = _flying(work, at)
    ground = work.scratch["ground_east"][at], work.scratch["ground_north"][at]
    aloft = np.isfinite(east) & np.isfinite(north)
    circles = turn_fits(work)
    field = fit_wind(Path(t, *ground, height, aloft), tas, first_guess(circles))
    if field is None:
        return
    wind = field.at(t, height)
    more2: Array = np.zeros(t.size)
    if (further := wandering(field, circles, t)) is not None:
        shift, more2 = further
        if work.step_s <= CIRCLE_STEP_S:
            wind = replace(wind, east_mps=wind.east_mps + shift[:, 0], north_mps=wind.north_mps + shift[:, 1])
        else:  # coarse circles lean to less wind: what they say isn't taken, but counts as not known
            more2 = more2 + 0.5 * np.sum(shift**2, axis=1)
    circled = _circled(t, east, north)
    if work.step_s > _COARSE_S and circled < _CIRCLES and _chords(work):
        return  # its circles can't be seen, and straight legs alone don't tell the wind

    def stated2(east_mps: Array, north_mps: Array) -> Array:
        return np.asarray(wind.error_along(east_mps, north_mps) ** 2 + more2)

    speed = np.maximum(np.hypot(wind.east_mps, wind.north_mps), _SLIGHT_MPS)
    across2 = stated2(-wind.north_mps, wind.east_mps)
    lengthened2 = ((_CALM / BAND) ** 2 - 1.0) * across2 * np.minimum(_CALM**2 * across2 / speed**2, 1.0)
    along = np.sqrt(stated2(wind.east_mps, wind.north_mps) + lengthened2)
    if tas is not None:
        along = np.hypot(along, _DIAL_MPS)
    usable = wind.worst_mps() < _USABLE_MPS
    if not usable.any():
        return
    note = "from the path over the ground, by how the airspeed is flown"
    if tas is not None:
        note = "from the path over the ground and the airspeed"
    _put_wind(work, at, wind.east_mps, wind.north_mps, along, usable, note)
    off = float(np.median(np.arctan2(np.sqrt(across2), speed)[usable]))
    work.columns["wind_from_rad"] = replace(work.columns["wind_from_rad"], error=off)
    moving = usable & np.isfinite(east)
    if moving.any():
        air_east, air_north = ground[0] - wind.east_mps, ground[1] - wind.north_mps
        work.scratch["tas_error"] = np.sqrt(stated2(air_east, air_north))[moving]
    work.facts["wind_error_by_height"] = _by_height(height[usable], along[usable])


def _chords(work: Work) -> bool:
    """The ground velocity is the positions' alone, from fix to fix; a receiver's own is that of the moment."""
    return work.measured("groundspeed_mps") is None


def _circled(t: Array, east: Array, north: Array) -> float:
    """Circles flown with more than a shallow bank; by the track."""
    rate = np.nan_to_num(np.gradient(unwrapped(np.arctan2(east, north)), t))
    banked = np.hypot(east, north) * np.abs(rate) > G0_MPS2 * np.tan(_BANKED_RAD)
    return float(np.sum(np.abs(rate) * np.gradient(t), where=banked)) / (2.0 * np.pi)


def _by_height(height_m: Array, error_mps: Array) -> list[list[float]]:
    """[height, standard error of the wind speed] every 1,000 ft or so, for the report. [m, m/s]"""
    band = np.round(height_m / 300.0)
    return [[float(k) * 300.0, round(float(np.median(error_mps[band == k])), 3)] for k in np.unique(band)]


def turn_fits(work: Work) -> WindFits:
    """Wind fits from the turns of this flight, on samples about a second apart."""
    at = work.seconds_apart()
    east, north, tas = _flying(work, at)
    altitude = work.get("altitude_m", "gps_altitude_m")
    height = np.zeros(at.size) if altitude is None else np.nan_to_num(altitude[at])
    return fit_turns(work.time_s[at], east, north, height, tas)


def _flying(work: Work, at: NDArray[np.intp]) -> tuple[Array, Array, Array | None]:
    """Ground velocity and true airspeed at some samples, NaN where surely not flying."""
    east, north = work.scratch["ground_east"][at], work.scratch["ground_north"][at]
    tas = work.get("tas_mps")
    flying = np.hypot(east, north) > work.taxi_mps()
    if work.step_s > _SEEN_STEP_S and _chords(work):  # what turns far between fixes makes a chord, shorter than the way
        turned = np.abs(turn_from_to_rad(np.arctan2(east[:-1], north[:-1]), np.arctan2(east[1:], north[1:])))
        flying &= np.maximum(np.append(turned, 0.0), np.append(0.0, turned)) < _CHORD_RAD
    elif tas is not None:
        flying |= tas[at] > 22.0
    return np.where(flying, east, np.nan), np.where(flying, north, np.nan), None if tas is None else tas[at]


def _from_air_data(
    work: Work, ground_east: Array, ground_north: Array, tas: Array, heading: Array, *, turned: bool = True
) -> bool:
    """turned : only with the errors of airspeed and heading that turns tell; else with what such errors usually are."""
    at = work.seconds_apart()
    pitch = work.get("flight_path_rad")
    level = tas if pitch is None else tas * np.cos(np.nan_to_num(pitch))
    flying = tas[at] > 22.0
    air_east, air_north = level[at] * np.sin(heading[at]), level[at] * np.cos(heading[at])
    ge, gn = np.where(flying, ground_east[at], np.nan), np.where(flying, ground_north[at], np.nan)
    fit = fit_air_data(work.time_s[at], ge, gn, air_east, air_north)
    if turned and not fit.turned:
        return False
    scale = fit.scale if 0.9 < fit.scale < 1.1 and abs(fit.scale - 1.0) > 3.0 * fit.scale_error else 1.0
    turn = fit.heading_error_rad if abs(fit.heading_error_rad) > 2.0 * fit.heading_error_error_rad else 0.0
    cos, sin = np.cos(turn), np.sin(turn)
    east = ge - scale * (air_east * cos + air_north * sin)
    north = gn - scale * (air_north * cos - air_east * sin)
    window = Window(work.time_s[at], _AIR_DATA_HALF_S)
    mean_east, mean_north = window.mean(east), window.mean(north)
    rough = np.sqrt(window.mean((east - mean_east) ** 2 + (north - mean_north) ** 2) / 2.0)
    usable = np.isfinite(mean_east) & (np.nan_to_num(rough, nan=99.0) < _USABLE_MPS)
    if not usable.any():
        return False
    error = np.maximum(rough / 2.0, 0.4 if turned else _UNFITTED * float(np.nanmedian(tas[at][flying])))
    usable &= error < _USABLE_MPS
    if not usable.any():
        return False
    note = "from heading, true airspeed, track and ground speed" + ("" if turned else "; no turn tells their errors")
    if scale != 1.0:
        note += f"; airspeed reads {100.0 * (1.0 / scale - 1.0):+.1f} %"
    if turn:
        note += f"; heading off by {np.degrees(turn):+.1f}°"
    work.facts["air_data_fit"] = {
        "airspeed_scale": round(float(fit.scale), 4),
        "scale_error": round(float(fit.scale_error), 4),
        "heading_error_deg": round(float(np.degrees(fit.heading_error_rad)), 2),
    }
    _put_wind(work, at, mean_east, mean_north, error, usable, note)
    return True


def _put_wind(
    work: Work, at: NDArray[np.intp], east: Array, north: Array, error: Array, usable: NDArray[np.bool_], note: str
) -> None:
    t = work.time_s
    known_t = t[at][usable]
    direction, speed = wind_from_vector(
        np.interp(t, known_t, east[usable]),
        np.interp(t, known_t, north[usable]),
    )
    middle = float(np.median(error[usable]))
    work.put("wind_from_rad", direction, middle / max(float(np.median(speed)), 2.0), note, replace=True)
    work.put("wind_mps", speed, middle, note, replace=True)


def _airspeed_from_wind(work: Work) -> None:
    wind, source = work.get("wind_mps"), work.get("wind_from_rad")
    east, north = work.scratch.get("ground_east"), work.scratch.get("ground_north")
    if wind is None or source is None or east is None or north is None:
        return
    level = np.hypot(east + wind * np.sin(source), north + wind * np.cos(source))
    climb = np.nan_to_num(work.scratch.get("climb_mps", np.zeros(level.size)))
    # the wind's own error along the path through the air, and the gusts a mean wind knows nothing of
    wind_off = work.scratch.get("tas_error")
    error = float(np.hypot(work.error("wind_mps", 1.0) if wind_off is None else np.median(wind_off), 0.4))
    work.put("tas_mps", np.hypot(level, climb), error, "from ground speed and the wind found")
