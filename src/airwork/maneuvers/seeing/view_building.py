"""Building the view of a flight: each signal onto the even base; what was not recorded, worked out from what was."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Literal, TypeGuard

import numpy as np

from airwork.airdata.angles import unwrap_rad
from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3, density_kgpm3, standard_air
from airwork.airdata.wind import wind_vector_mps
from airwork.maneuvers.seeing.signal import Array, Mask, filled, known_share, mean_over, rate, smooth
from airwork.maneuvers.seeing.view import CALM_CLIMB_MPS, STEP_S, SpeedFrom, View
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.airplane import Airplane
    from airwork.recording.flight import Flight

GAP_S = 6.0  # longer than this between two samples and what happened in between is not known
LONGEST_GAP_S = 45.0
GAP_STEPS = 2.5  # of a coarse track: one fix in ten seconds is its step, not a gap
LONGEST_S, COARSEST_S = 48 * 3600.0, 60.0  # of a flight; a fix a minute shows no maneuver
SPEED_SMOOTH_S = 1.5  # a gust is shorter, a stall's slowing longer
ALTITUDE_SMOOTH_S = 1.5
CLIMB_SMOOTH_S = 2.0  # altimeters step in 1 to 20 ft; a derivative over less is noise
TURN_SMOOTH_S = 1.25  # a roll-in takes 2 to 4 s
WIND_SMOOTH_S = 240.0
LOWEST_FLYING_MPS = 15.0  # no light airplane flies below 30 kt; under it a track says nothing of the heading
WARNING_MPS = 2.0  # a warning comes on some 5 kt above the stall (airworthiness rules ask for about that; from memory)
# True over guessed stall speed, simulated airplanes at the mass flown: least and most.
BY_SPEEDS, BY_WARNING = (0.95, 1.25), (0.97, 1.15)
# Times the stall speed at the greatest mass: flown slower, it was lighter; two thirds of that mass stall at 0.82 of it.
LIGHTER, SLOWEST, LIGHTEST = 0.90, 0.95, 0.82

Even = Callable[..., Array]  # a recorded column onto the even base: even(values, smoothing in seconds)


def build_view(flight: Flight, *, airplane: Airplane | None = None, mass_kg: float | None = None) -> View | None:
    """The view of a flight; None when there is too little to look at (under 10 s, or no altitude).

    Parameters
    ----------
    airplane : gives the stall speed and calibrates the indicated speed.
    mass_kg : the airplane's mass; without it the greatest take-off mass is taken.
    """
    raw_altitude = flight.get("altitude_m")
    if len(flight) < 5 or raw_altitude is None or not np.isfinite(raw_altitude).any():
        return None
    t = flight.time_s
    if not np.isfinite(t[[0, -1]]).all() or t[-1] - t[0] < 10.0:
        return None
    raw_step = flight.step_s
    if t[-1] - t[0] > LONGEST_S or raw_step > COARSEST_S:
        return None
    base = np.arange(t[0], t[-1] + 0.5 * STEP_S, STEP_S)

    def even(values: Array, smooth_s: float = 0.0) -> Array:
        """On the even base. A faster recording is averaged first, so that noise isn't sampled."""
        x = filled(values)
        if raw_step < STEP_S:
            x = mean_over(x, round(STEP_S / raw_step))
        out = np.interp(base, t, x)
        return smooth(out, round(smooth_s / STEP_S)) if smooth_s else out

    known = _known(flight, raw_altitude, base)
    altitude = even(raw_altitude, ALTITUDE_SMOOTH_S)
    climb = smooth(rate(altitude, STEP_S), round(CLIMB_SMOOTH_S / STEP_S))
    east, north = _positions(flight, even)
    groundspeed, track = _over_ground(flight, even, east, north)
    sigma = np.sqrt(_density_ratio(altitude))
    recorded_wind = _recorded_wind(flight)
    wind = _wind(recorded_wind, even)
    speed, tas, speed_from = _speeds(flight, even, groundspeed, track, sigma, airplane, wind)
    speed, tas = smooth(speed, round(SPEED_SMOOTH_S / STEP_S)), smooth(tas, round(SPEED_SMOOTH_S / STEP_S))
    airborne = _airborne(flight, base, groundspeed, speed, altitude, even)
    heading, heading_from = _heading(flight, even, track, groundspeed, wind)
    turn = smooth(rate(mean_over(heading, round(TURN_SMOOTH_S / STEP_S)), STEP_S), round(TURN_SMOOTH_S / STEP_S))
    turn = np.where((tas > LOWEST_FLYING_MPS) & airborne, turn, 0.0)
    bank, bank_measured = _bank(flight, even, tas, turn)
    load = flight.get("load_factor")
    coordinated = 1.0 / np.cos(np.clip(np.arctan(tas * turn / G0_MPS2), -1.3, 1.3))
    agl = _agl(flight, even, altitude, airborne)
    stall, stall_from = _stall(flight, base, airplane, mass_kg, speed, airborne, climb, agl)
    pitch = flight.get("pitch_rad")
    return View(
        flight=flight, time_s=base, known=known, airborne=airborne, altitude_m=altitude, climb_mps=climb,
        speed_mps=speed, tas_mps=tas, heading_rad=heading, track_rad=track, turn_rate_radps=turn, bank_rad=bank,
        east_m=east, north_m=north, groundspeed_mps=groundspeed, agl_m=agl,
        pitch_rad=even(pitch, 0.5) if _usable(pitch) else None,
        power=_power(flight, base, even),
        load_factor=even(load, 1.0) if _usable(load) else coordinated,
        stall_mps=stall, stall_from=stall_from, speed_from=speed_from, bank_measured=bank_measured,
        heading_from=heading_from, air_track_rad=_air_track(track, groundspeed, wind), wind_mps=recorded_wind,
    )  # fmt: skip


def _measured(flight: Flight, name: str) -> bool:
    column = flight.columns.get(name)
    return column is not None and column.known == "measured" and _usable(column.values)


def _usable(values: Array | None) -> TypeGuard[Array]:
    """A column that is there and mostly filled."""
    return values is not None and known_share(values) > 0.5


def _known(flight: Flight, altitude: Array, base: Array) -> Mask:
    t = flight.time_s
    good = np.isfinite(altitude)
    stamps = t[good]
    after = np.clip(np.searchsorted(stamps, base, side="left"), 0, stamps.size - 1)
    before = np.clip(np.searchsorted(stamps, base, side="right") - 1, 0, stamps.size - 1)
    return np.asarray(stamps[after] - stamps[before] <= _gap_s(t), dtype=bool)


def _gap_s(t: Array) -> float:
    """Longer than this between two samples and what happened is not known; a coarse track has longer steps."""
    steps = np.diff(t)
    usual, long = float(np.median(steps)), float(np.percentile(steps, 90))
    return max(GAP_S, min(max(GAP_STEPS * usual, 1.5 * long), LONGEST_GAP_S))


def _density_ratio(altitude_m: Array) -> Array:
    air = standard_air(altitude_m)
    sigma = density_kgpm3(air.pressure_pa, air.temperature_k) / RHO0_KGPM3
    return np.where(np.isfinite(sigma), sigma, 1.0)


def _positions(flight: Flight, even: Even) -> tuple[Array, Array]:
    east, north = flight.get("east_m"), flight.get("north_m")
    if east is None or north is None or not (np.isfinite(east).any() and np.isfinite(north).any()):
        nothing = np.full_like(even(flight.time_s), np.nan)
        return nothing, nothing.copy()
    return even(east), even(north)


def _over_ground(flight: Flight, even: Even, east: Array, north: Array) -> tuple[Array, Array]:
    """Ground speed and unwrapped track; NaN throughout when neither they nor a position are recorded."""
    speed, track = flight.get("groundspeed_mps"), flight.get("track_rad")
    if speed is not None and track is not None and _usable(speed) and _usable(track):
        return even(speed), even(unwrap_rad(track))
    east_rate, north_rate = (rate(mean_over(x, round(1.0 / STEP_S)), STEP_S) for x in (east, north))
    return np.hypot(east_rate, north_rate), unwrap_rad(np.arctan2(east_rate, north_rate))


def _recorded_wind(flight: Flight) -> tuple[Array, Array] | None:
    """Velocity of the air over the ground, (east, north), sample by sample of the recording. [m/s]"""
    direction, speed = flight.get("wind_from_rad"), flight.get("wind_mps")
    return None if direction is None or speed is None else wind_vector_mps(direction, speed)


def _wind(recorded: tuple[Array, Array] | None, even: Even) -> tuple[Array, Array] | None:
    if recorded is None or not (np.isfinite(recorded[0]) & np.isfinite(recorded[1])).any():
        return None
    east, north = recorded
    # A wind worked out from heading and airspeed takes a slip for wind: only what lasts is wind.
    slowly = round(WIND_SMOOTH_S / STEP_S)
    return mean_over(even(east), slowly), mean_over(even(north), slowly)


def _speeds(
    flight: Flight, even: Even, groundspeed: Array, track: Array, sigma: Array, airplane: Airplane | None,
    wind: tuple[Array, Array] | None,
) -> tuple[Array, Array, SpeedFrom]:  # fmt: skip
    """(calibrated or indicated, true, how known). √σ turns true into equivalent: enough to recognise with."""
    ias, cas, tas = (flight.get(name) for name in ("ias_mps", "cas_mps", "tas_mps"))
    if any(_measured(flight, name) for name in ("ias_mps", "cas_mps", "tas_mps")):
        if cas is None and ias is not None and airplane is not None:
            cas = np.asarray(airplane.cas_from_ias_mps(ias))
        if cas is not None and _usable(cas) and airplane is not None:
            best = even(cas)
        elif ias is not None and _usable(ias):
            best = even(ias)
        elif cas is not None and _usable(cas):
            best = even(cas)
        else:
            best = even(tas if tas is not None else np.zeros(len(flight))) * sigma
        return best, even(tas) if tas is not None and _usable(tas) else best / sigma, "airspeed"
    if wind is not None and np.isfinite(groundspeed).all():
        air_east = groundspeed * np.sin(track) - wind[0]
        air_north = groundspeed * np.cos(track) - wind[1]
        best = np.hypot(air_east, air_north)
        return best * sigma, best, "ground speed and wind"
    if tas is not None and _usable(tas):
        best = even(tas)
        return best * sigma, best, "ground speed and wind"
    best = np.where(np.isfinite(groundspeed), groundspeed, 0.0)
    return best * sigma, best, "ground speed"


def _air_track(track: Array, groundspeed: Array, wind: tuple[Array, Array] | None) -> Array | None:
    if wind is None or not np.isfinite(groundspeed).all():
        return None
    return unwrap_rad(np.arctan2(groundspeed * np.sin(track) - wind[0], groundspeed * np.cos(track) - wind[1]))


def _heading(
    flight: Flight, even: Even, track: Array, groundspeed: Array, wind: tuple[Array, Array] | None
) -> tuple[Array, Literal["heading", "track and wind", "track"]]:
    for name in ("heading_rad", "heading_mag_rad"):
        values = flight.get(name)
        if values is not None and _usable(values) and flight.columns[name].known == "measured":
            return even(unwrap_rad(values)), "heading"
    heading = flight.get("heading_rad")
    if "heading_mag_rad" in flight.columns and heading is not None and _usable(heading):
        return even(unwrap_rad(heading)), "heading"  # true heading worked out from the magnetic one
    air = _air_track(track, groundspeed, wind)
    if air is not None:
        return air, "track and wind"
    return np.where(np.isfinite(track), track, 0.0), "track"


def _bank(flight: Flight, even: Even, tas: Array, turn: Array) -> tuple[Array, bool]:
    column = flight.columns.get("bank_rad")
    if column is not None and column.known == "measured" and _usable(column.values):
        return even(column.values, 0.5), True
    return np.arctan(tas * turn / G0_MPS2), False


def _airborne(flight: Flight, base: Array, groundspeed: Array, speed: Array, altitude: Array, even: Even) -> Mask:
    on_ground = flight.get("on_ground")
    if on_ground is not None and _usable(on_ground):
        return np.asarray(even(on_ground) < 0.5, dtype=bool)
    fast = np.where(np.isfinite(groundspeed), groundspeed, speed) > LOWEST_FLYING_MPS
    if not flight.contacts:
        return np.asarray(fast, dtype=bool)
    # Contacts only: in the air from each take-off to the next landing.
    up = flight.contacts[0].kind != "takeoff"
    out = np.full(base.size, up)
    for contact in flight.contacts:
        after = base >= contact.time_s
        if contact.kind == "touch_and_go":
            out[np.abs(base - contact.time_s) <= 2.0] = False
        else:
            out[after] = contact.kind == "takeoff"
    return out


def _agl(flight: Flight, even: Even, altitude: Array, airborne: Mask) -> Array:
    agl = flight.get("agl_m")
    if agl is not None and _usable(agl):
        return even(agl)
    if airborne.all() or not airborne.any():
        return np.full_like(altitude, np.nan)
    # The field's height where it touched the ground, carried to the rest: good near the field, rough beyond.
    return altitude - float(np.median(altitude[~airborne]))


def _power(flight: Flight, base: Array, even: Even) -> Array | None:
    """Share of full power; where the chart has no row (idle above all) the rough guess, no line across the gap."""
    power, guess = flight.get("power_ratio"), _power_guess(flight, even)
    if power is None or not _usable(power):
        return guess
    known = np.interp(base, flight.time_s, np.isfinite(power).astype(float)) > 0.5
    return even(power, 1.0) if guess is None else np.where(known, even(power, 1.0), guess)


def _power_guess(flight: Flight, even: Even) -> Array | None:
    """Rough share of full power from engine speed or manifold pressure, only to tell idle from power."""
    rpm, pressure = flight.get("rpm"), flight.get("manifold_pressure_pa")
    if pressure is not None and _usable(pressure):
        x = even(pressure, 1.0)
        low, high = (float(p) for p in np.percentile(x, [2, 99]))
    elif rpm is not None and _usable(rpm):
        x = even(rpm, 1.0) ** 3  # a fixed-pitch propeller takes the cube of its speed
        low, high = 0.0, float(np.percentile(x, 99))
    else:
        return None
    return np.clip((x - low) / (high - low), 0.0, 1.2) if high > low else None


def _stall(
    flight: Flight, base: Array, airplane: Airplane | None, mass_kg: float | None, speed: Array, airborne: Mask,
    climb: Array, agl: Array,
) -> tuple[Array, str]:  # fmt: skip
    """1 g stall speed on the scale of `speed`, for the flaps of the moment where they are recorded."""
    if airplane is not None and airplane.stall_curves:
        mass = airplane.max_takeoff_mass_kg if mass_kg is None else mass_kg
        notch = flight.get("flap_notch")
        per_notch = airplane.stall_cas_by_notch_mps(mass)
        if notch is None or not _usable(notch):
            curve, words = np.full(base.size, per_notch[0]), "airplane file, flaps up"
        else:
            index = np.clip(np.interp(base, flight.time_s, filled(notch)), 0, airplane.flaps_full)
            curve, words = np.interp(index, np.arange(len(per_notch)), per_notch), "airplane file"
        clear = airborne & ~(agl < 150.0)
        flown = float(np.percentile(speed[clear] / curve[clear], 0.5)) if clear.any() else 1.0
        if (
            mass_kg is None and flown < LIGHTER
        ):  # nobody flies below the stall for long: it was not at its greatest mass
            return curve * max(flown / SLOWEST, LIGHTEST), f"{words}, lighter as the speeds flown show"
        return curve, words
    high = airborne & (np.abs(climb) < CALM_CLIMB_MPS)
    if not high.any():
        return np.full(base.size, np.nan), "not known"
    # Light singles cruise and practice at about twice their stall speed: common practice, no source.
    guess = 0.5 * float(np.percentile(speed[high], 75))
    if guess < 0.5 * LOWEST_FLYING_MPS:
        return np.full(base.size, np.nan), "not known"
    clear = airborne & ~(agl < 150.0)
    lowest = float(np.percentile(speed[clear], 0.5)) if clear.any() else guess
    if lowest < 1.15 * guess:
        guess = float(np.clip(lowest, 0.95 * guess, 1.1 * guess))  # the lowest may be a stall with flaps
    warned = _at_warning_mps(flight, base, speed, clear)
    if warned is not None:
        least = max(0.85 * guess, 0.95 * lowest) if lowest < 1.15 * guess else 0.85 * guess
        guess = float(np.clip(warned - WARNING_MPS, least, 1.2 * guess))  # a warning may come on late
        return np.full(base.size, guess), _guessed("the stall warning", guess, BY_WARNING)
    return np.full(base.size, guess), _guessed("the speeds flown", guess, BY_SPEEDS)


def _guessed(from_what: str, guess_mps: float, true_over_guess: tuple[float, float]) -> str:
    """In words, with the range the true one may lie in."""
    low, high = (to_unit(guess_mps * ratio, "kt") for ratio in true_over_guess)
    return f"guessed from {from_what}: {to_unit(guess_mps, 'kt'):.0f} kt, perhaps {low:.0f} to {high:.0f}"


def _at_warning_mps(flight: Flight, base: Array, speed: Array, clear: Mask) -> float | None:
    """1 g speed at which the stall warning came on with the flaps up, away from the ground. [m/s]"""
    warning = flight.get("stall_warning")
    if warning is None or not _usable(warning):
        return None
    on = (np.interp(base, flight.time_s, np.nan_to_num(warning)) > 0.5) & clear
    load = flight.get("load_factor")
    one_g = speed if load is None else speed / np.sqrt(np.clip(np.interp(base, flight.time_s, filled(load)), 0.6, 4.0))
    onset = np.flatnonzero(on[1:] & ~on[:-1]) + 1
    flap = next((f for f in (flight.get("flap_notch"), flight.get("flap_deg")) if f is not None and _usable(f)), None)
    if flap is not None:
        up = onset[np.interp(base[onset], flight.time_s, filled(flap)) < 0.5]
        if up.size:
            return float(np.median(one_g[up]))
    return float(np.percentile(one_g[onset], 75)) if onset.size else None  # the higher ones had the flaps up
