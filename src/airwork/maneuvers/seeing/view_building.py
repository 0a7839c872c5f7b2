"""Building the view of a flight: each signal onto the even base; what was not recorded, worked out from what was."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from airwork.airdata.angles import unwrap_rad
from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3, density_kgpm3, standard_air
from airwork.airdata.wind import wind_vector_mps
from airwork.airplane import Airplane
from airwork.maneuvers.seeing.attack import stall_by_attack_mps
from airwork.maneuvers.seeing.signal import (
    NEARLY_ALL,
    Array,
    Mask,
    filled,
    known_share,
    mean_over,
    median,
    rate,
    smooth,
)
from airwork.maneuvers.seeing.view import CALM_CLIMB_MPS, STEP_S, USUAL_PERCENT, SpeedFrom, View, one_g_root
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.recording.flight import Flight

GAP_S, LONGEST_GAP_S = 6.0, 45.0  # longer than this between two samples and what happened in between is not known
GAP_STEPS = 2.5  # of a coarse track: one fix in ten seconds is its step, not a gap
SHORTEST_S, LONGEST_S, COARSEST_S = 10.0, 172_800.0, 60.0  # of a flight; a fix a minute shows no maneuver
SMOOTH_S = 1.25  # a gust is shorter, a roll-in and a stall's slowing longer; altimeters step in 1 to 20 ft
ATTITUDE_SMOOTH_S = 0.5
WIND_SMOOTH_S = 240.0
LOWEST_FLYING_MPS = 15.0  # no light airplane flies below 30 kt; under it a track says nothing of the heading
LOW_M = 150.0  # nearer the ground speeds are those of an approach
MOST_TURN_RAD = 1.3
THROTTLED = 0.2  # of full power, by the guess
SLOWEST_PERCENT = 0.5  # of the speeds flown
WARNING_MPS = 2.0  # a warning comes on some 5 kt above the stall (airworthiness rules ask for about that; from memory)
LIKE_STALL, LATE_WARNING = 1.15, 0.85  # times a guess: the slowest flown was no stall; a warning may come on late
# True over guessed stall speed, simulated airplanes at the mass flown: least and most.
BY_SPEEDS, BY_WARNING, BY_ATTACK = (0.95, 1.25), (0.97, 1.15), (0.92, 1.1)
LIKELY = (0.7, 1.5)  # times the guess by speeds
# Times the stall speed at the greatest mass: flown slower, it was lighter; two thirds of that mass stall at 0.82 of it.
LIGHTER, LIGHTEST = 0.90, 0.82


class _Even:
    """A flight's columns on the even base of the view."""

    def __init__(self, flight: Flight) -> None:
        t = flight.time_s
        self.flight, self.time_s = flight, np.arange(t[0], t[-1] + 0.5 * STEP_S, STEP_S)

    def __call__(self, values: Array, smooth_s: float = 0.0) -> Array:
        """On the base. A faster recording is averaged first, so that noise isn't sampled."""
        x = mean_over(filled(values), round(STEP_S / self.flight.step_s))
        out = np.interp(self.time_s, self.flight.time_s, x)
        return smooth(out, round(smooth_s / STEP_S)) if smooth_s else out

    def raw(self, name: str, *, measured: bool = False) -> Array | None:
        """A column that is there, mostly filled, and recorded if that is asked for."""
        column = self.flight.columns.get(name)
        good = column is not None and known_share(column.values) > 0.5 and (column.known == "measured" or not measured)
        return column.values if column is not None and good else None

    def get(self, *names: str, smooth_s: float = 0.0, measured: bool = False) -> Array | None:
        """The first of these columns that is usable, on the base."""
        found = (self.raw(name, measured=measured) for name in names)
        return next((self(values, smooth_s) for values in found if values is not None), None)

    def share(self, mask: Array) -> Mask:
        """Where a yes or no of the recording is yes."""
        return np.asarray(np.interp(self.time_s, self.flight.time_s, mask) > 0.5, dtype=bool)


def build_view(flight: Flight, *, airplane: Airplane | None = None, mass_kg: float | None = None) -> View | None:
    """The view of a flight; None when there is too little to look at (under 10 s, or no altitude).

    Parameters
    ----------
    airplane : gives the stall speed and calibrates the indicated speed.
    mass_kg : the airplane's mass; without it the greatest take-off mass is taken.
    """
    raw_altitude, t = flight.get("altitude_m"), flight.time_s
    if len(flight) < 2 or raw_altitude is None or not np.isfinite(raw_altitude).any():
        return None
    if not SHORTEST_S <= t[-1] - t[0] <= LONGEST_S or flight.step_s > COARSEST_S:
        return None
    even = _Even(flight)
    smoothing = round(SMOOTH_S / STEP_S)
    altitude = even(raw_altitude, SMOOTH_S)
    climb = smooth(rate(altitude, STEP_S), smoothing)
    east, north = _positions(even)
    groundspeed, track = _over_ground(even, east, north)
    recorded_wind = _recorded_wind(flight)
    wind = _wind(recorded_wind, even)
    air = None
    if wind is not None and np.isfinite(groundspeed).all():
        air = groundspeed * np.sin(track) - wind[0], groundspeed * np.cos(track) - wind[1]
    air_track = None if air is None else unwrap_rad(np.arctan2(*air))
    speed, tas, speed_from = _speeds(even, groundspeed, altitude, airplane, air)
    speed, tas = smooth(speed, smoothing), smooth(tas, smoothing)
    known = _known(flight, raw_altitude, even.time_s)
    airborne = _airborne(even, groundspeed, speed, known)
    heading, heading_from = _heading(even, track, air_track)
    turn = smooth(rate(mean_over(heading, smoothing), STEP_S), smoothing)
    turn = np.where((tas > LOWEST_FLYING_MPS) & airborne, turn, 0.0)
    coordinated = np.arctan(tas * turn / G0_MPS2)
    bank, load = even.get("bank_rad", smooth_s=ATTITUDE_SMOOTH_S, measured=True), even.get("load_factor", smooth_s=1.0)
    agl = _agl(even, altitude, airborne)
    clear = airborne & ~(agl < LOW_M)
    warned = _warned(even, clear)
    stall, stall_from, stall_most = _stall(even, airplane, mass_kg, speed, clear, airborne, climb, warned)
    return View(
        flight=flight, time_s=even.time_s, known=known, airborne=airborne,
        altitude_m=altitude, climb_mps=climb, speed_mps=speed, tas_mps=tas, heading_rad=heading, track_rad=track,
        turn_rate_radps=turn, bank_rad=coordinated if bank is None else bank, east_m=east, north_m=north,
        groundspeed_mps=groundspeed, agl_m=agl, pitch_rad=even.get("pitch_rad", smooth_s=ATTITUDE_SMOOTH_S),
        power=_power(even),
        load_factor=1.0 / np.cos(np.clip(coordinated, -MOST_TURN_RAD, MOST_TURN_RAD)) if load is None else load,
        stall_mps=stall, stall_from=stall_from, stall_most=stall_most, speed_from=speed_from,
        bank_measured=bank is not None, heading_from=heading_from, air_track_rad=air_track, wind_mps=recorded_wind,
        warned=warned,
    )  # fmt: skip


def _known(flight: Flight, altitude: Array, base: Array) -> Mask:
    """Between samples near enough to each other; a coarse track has longer steps."""
    stamps, steps = flight.time_s[np.isfinite(altitude)], np.diff(flight.time_s)
    gap = max(GAP_S, min(GAP_STEPS * float(np.percentile(steps, NEARLY_ALL)), LONGEST_GAP_S))
    after = stamps[np.clip(np.searchsorted(stamps, base, side="left"), 0, stamps.size - 1)]
    before = stamps[np.clip(np.searchsorted(stamps, base, side="right") - 1, 0, stamps.size - 1)]
    return np.asarray(after - before <= gap, dtype=bool)


def _positions(even: _Even) -> tuple[Array, Array]:
    east, north = even.flight.get("east_m"), even.flight.get("north_m")
    if east is None or north is None or not (np.isfinite(east) & np.isfinite(north)).any():
        nothing = np.full_like(even.time_s, np.nan)
        return nothing, nothing.copy()
    return even(east), even(north)


def _over_ground(even: _Even, east: Array, north: Array) -> tuple[Array, Array]:
    """Ground speed and unwrapped track; NaN throughout when neither they nor a position are recorded."""
    speed, track = even.get("groundspeed_mps"), even.raw("track_rad")
    if speed is not None and track is not None:
        return speed, even(unwrap_rad(track))
    east_rate, north_rate = (rate(mean_over(x, round(1.0 / STEP_S)), STEP_S) for x in (east, north))
    return np.hypot(east_rate, north_rate), unwrap_rad(np.arctan2(east_rate, north_rate))


def _recorded_wind(flight: Flight) -> tuple[Array, Array] | None:
    """Velocity of the air over the ground, (east, north), sample by sample of the recording. [m/s]"""
    direction, speed = flight.get("wind_from_rad"), flight.get("wind_mps")
    return None if direction is None or speed is None else wind_vector_mps(direction, speed)


def _wind(recorded: tuple[Array, Array] | None, even: _Even) -> tuple[Array, Array] | None:
    if recorded is None or not (np.isfinite(recorded[0]) & np.isfinite(recorded[1])).any():
        return None
    # A wind worked out from heading and airspeed takes a slip for wind: only what lasts is wind.
    east, north = (mean_over(even(part), round(WIND_SMOOTH_S / STEP_S)) for part in recorded)
    return east, north


def _speeds(
    even: _Even, groundspeed: Array, altitude: Array, airplane: Airplane | None, air: tuple[Array, Array] | None
) -> tuple[Array, Array, SpeedFrom]:
    """(calibrated or indicated, true, how known). √σ turns true into equivalent: enough to recognize with."""
    standard = standard_air(altitude)
    sigma = np.sqrt(np.nan_to_num(density_kgpm3(standard.pressure_pa, standard.temperature_k) / RHO0_KGPM3, nan=1.0))
    tas = even.get("tas_mps")
    if any(even.raw(name, measured=True) is not None for name in ("ias_mps", "cas_mps", "tas_mps")):
        ias, has_cas = even.raw("ias_mps"), even.raw("cas_mps") is not None
        if airplane is not None and ias is not None and not has_cas:
            best = even(np.asarray(airplane.cas_from_ias_mps(ias)))
        else:
            names = ("ias_mps", "cas_mps") if airplane is None else ("cas_mps", "ias_mps")
            dial = even.get(*names)
            best = dial if dial is not None else (np.zeros_like(sigma) if tas is None else tas) * sigma
        return best, best / sigma if tas is None else tas, "airspeed"
    if air is not None or tas is not None:
        through = np.hypot(*air) if air is not None else tas
        assert through is not None
        return through * sigma, through, "ground speed and wind"
    over_ground = np.nan_to_num(groundspeed)
    return over_ground * sigma, over_ground, "ground speed"


def _heading(
    even: _Even, track: Array, air_track: Array | None
) -> tuple[Array, Literal["heading", "track and wind", "track"]]:
    measured = even.raw("heading_rad", measured=True)
    if measured is None and even.raw("heading_mag_rad", measured=True) is not None:
        true = even.raw("heading_rad")  # worked out from the magnetic one
        measured = even.raw("heading_mag_rad") if true is None else true
    if measured is not None:
        return even(unwrap_rad(measured)), "heading"
    if air_track is not None:
        return air_track, "track and wind"
    return np.where(np.isfinite(track), track, 0.0), "track"


def _airborne(even: _Even, groundspeed: Array, speed: Array, known: Mask) -> Mask:
    """In the air; in a gap between ground and air not yet, and no longer: where its contacts are seen."""
    on_ground, contacts = even.raw("on_ground"), even.flight.contacts
    if on_ground is not None:
        share = np.interp(even.time_s, even.flight.time_s, filled(on_ground))
        return np.asarray(share <= np.where(known, 0.5, 0.0), dtype=bool)
    if not contacts:
        return np.asarray(np.where(np.isfinite(groundspeed), groundspeed, speed) > LOWEST_FLYING_MPS, dtype=bool)
    # Contacts only: in the air from each take-off to the next landing.
    out = np.full(even.time_s.size, contacts[0].kind != "takeoff")
    for contact in contacts:
        if contact.kind == "touch_and_go":
            out[np.abs(even.time_s - contact.time_s) <= 2.0] = False
        else:
            out[even.time_s >= contact.time_s] = contact.kind == "takeoff"
    return out


def _agl(even: _Even, altitude: Array, airborne: Mask) -> Array:
    agl = even.get("agl_m")
    if agl is not None:
        return agl
    if airborne.all() or not airborne.any():
        return np.full_like(altitude, np.nan)
    # The field's height where it touched the ground, carried to the rest: good near the field, rough beyond.
    return altitude - float(np.median(altitude[~airborne]))


def _power(even: _Even) -> Array | None:
    """Share of full power; where the chart has no row (idle above all) the rough guess, no line across the gap.

    The guess is from manifold pressure, or from engine speed: a fixed-pitch propeller takes the cube of it.
    """
    pressure, rpm = even.get("manifold_pressure_pa", smooth_s=1.0), even.get("rpm", smooth_s=1.0)
    power, guess = even.raw("power_ratio"), None
    if pressure is not None or rpm is not None:
        x = pressure if pressure is not None else np.asarray(rpm) ** 3
        low, high = float(x.min()) if pressure is not None else 0.0, float(x.max())
        guess = (x - low) / (high - low) if high > low else None
    if power is None or guess is None:
        return guess if power is None else even(power, 1.0)
    seen = even(power, 1.0)
    known = even.share(np.isfinite(power).astype(float))
    if even.flight.columns["power_ratio"].known == "measured":  # a monitor's percentage ends at some 30 when throttled
        known &= (guess > THROTTLED) | (seen < guess)
    both = known & (guess > THROTTLED)
    scale = median(seen[both] / guess[both]) if both.any() else 1.0  # one scale: no jump where the chart ends
    return np.where(known, seen, min(scale, 1.0) * guess)


def _stall(
    even: _Even, airplane: Airplane | None, mass_kg: float | None, speed: Array, clear: Mask, airborne: Mask,
    climb: Array, warned: Mask | None,
) -> tuple[Array, str, float]:  # fmt: skip
    """1 g stall speed on the scale of `speed` for the flaps of the moment, how known, how many times it may be."""
    if airplane is not None and airplane.stall_curves:
        return *_book_stall(even, airplane, mass_kg, speed, clear), BY_ATTACK[1]
    level = airborne & (np.abs(climb) < CALM_CLIMB_MPS)
    # Light singles cruise and practice at about twice their stall speed: common practice, no source.
    guess = usual = 0.5 * float(np.percentile(speed[level], USUAL_PERCENT)) if level.any() else 0.0
    if guess < 0.5 * LOWEST_FLYING_MPS:
        return np.full_like(speed, np.nan), "not known", BY_SPEEDS[1]
    lowest = float(np.percentile(speed[clear], SLOWEST_PERCENT)) if clear.any() else guess
    if lowest < LIKE_STALL * guess:  # may be a stall with flaps
        guess = max(lowest, BY_SPEEDS[0] * guess)
    at_warning = None if warned is None else _at_warning_mps(even, speed, warned & clear)
    if at_warning is None:
        lifted = stall_by_attack_mps(
            even.get("angle_of_attack_rad"), speed, even.get("load_factor"), _clean(even) & clear
        )
        if lifted is not None and LIKELY[0] * usual < lifted < LIKELY[1] * usual:  # else a share of something, no angle
            return np.full_like(speed, lifted), *_guessed("the recorded angle of attack", lifted, BY_ATTACK)
        return np.full_like(speed, guess), *_guessed("the speeds flown", guess, BY_SPEEDS)
    least = max(LATE_WARNING * guess, BY_SPEEDS[0] * lowest if lowest < LIKE_STALL * guess else 0.0)
    guess = float(np.clip(at_warning - WARNING_MPS, least, BY_SPEEDS[1] * guess))
    return np.full_like(speed, guess), *_guessed("the stall warning", guess, BY_WARNING)


def _book_stall(even: _Even, airplane: Airplane, mass_kg: float | None, speed: Array, clear: Mask) -> tuple[Array, str]:
    """By the airplane file, for its mass; without one lighter than allowed if it was flown slower than that stalls."""
    per_notch = airplane.stall_cas_by_notch_mps(airplane.max_takeoff_mass_kg if mass_kg is None else mass_kg)
    notch = even.raw("flap_notch")
    words = "airplane file" if notch is not None else "airplane file, flaps up"
    index = np.zeros_like(speed) if notch is None else np.interp(even.time_s, even.flight.time_s, filled(notch))
    curve = np.interp(index, np.arange(len(per_notch)), per_notch)
    flown = float(np.percentile(speed[clear] / curve[clear], SLOWEST_PERCENT)) if clear.any() else 1.0
    if mass_kg is None and flown < LIGHTER:  # nobody flies below the stall for long
        return curve * max(flown / BY_SPEEDS[0], LIGHTEST), f"{words}, lighter as the speeds flown show"
    return curve, words


def _clean(even: _Even) -> Mask:
    """Flaps up, where they are recorded."""
    flap = even.get("flap_notch", "flap_deg")
    return np.ones(even.time_s.size, dtype=bool) if flap is None else flap < 0.5


def _guessed(from_what: str, guess_mps: float, true_over_guess: tuple[float, float]) -> tuple[str, float]:
    """In words, with the range the true one may lie in; the most of it over the guess."""
    low, high = (to_unit(guess_mps * ratio, "kt") for ratio in true_over_guess)
    words = f"guessed from {from_what}: {to_unit(guess_mps, 'kt'):.0f} kt, perhaps {low:.0f} to {high:.0f}"
    return words, true_over_guess[1]


def _warned(even: _Even, clear: Mask) -> Mask | None:
    """Where the stall warning is on; None where it isn't recorded or never came on away from the ground."""
    warning = even.raw("stall_warning")
    on = None if warning is None else even.share(np.nan_to_num(warning))
    return on if on is not None and (on & clear).any() else None


def _at_warning_mps(even: _Even, speed: Array, on: Mask) -> float | None:
    """1 g speed at which the stall warning came on with the flaps up. [m/s]"""
    load, flap = even.get("load_factor"), even.get("flap_notch", "flap_deg")
    one_g = speed if load is None else speed / one_g_root(load)
    onset = np.flatnonzero(on[1:] & ~on[:-1]) + 1
    up = onset if flap is None else onset[flap[onset] < 0.5]
    if flap is not None and up.size:
        return float(np.median(one_g[up]))
    return float(np.percentile(one_g[onset], USUAL_PERCENT)) if onset.size else None  # the higher ones had flaps up
