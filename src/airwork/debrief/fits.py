"""Whether a recording can be of the airplane it is judged by: what no flight of that airplane shows for a minute.

A short overspeed is a fault of flying and is said elsewhere; minutes beyond what the airplane can do mean that another
one flew, or that its file has a slip.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.airplane import Airplane
from airwork.debrief.fits_model import LIGHTEST, beyond_model, least_stall_mps
from airwork.errors import AirworkError
from airwork.recording.flight import Flight
from airwork.units import to_unit, write

LASTING_S = 60.0  # our own choice, like the margins: a dive, a runaway propeller, a gust is over by then
POWER_MOST = 1.10  # of rated power by the airplane's own chart: charts and tachometers err by some 5 %
RPM_MOST = 1.03  # of the limit: mechanical tachometers err by 1 to 2 %
# Measured flow over the book's full-rich flow at the power its chart gives, in cruise: leaning takes off a quarter at
# most, a flow meter errs by some 5 %, and a tenth is left for the book.
FLOW_RANGE = (0.65, 1.25)
CRUISING = (0.45, 0.80)  # of rated power: where a book prints its flows
FEWEST_S = 300.0
GOVERNED_LEAST = 0.93  # of the limit: a governor takes the RPM up to it in the takeoff; a tachometer errs by 2 %
RUN_S, CLIMBED_M = 10.0, 150.0  # held so long; from the ground to there is a takeoff
OFF_M = 15.0  # above the runway: lifted off
LIFTED_LEAST = 0.95  # of the lowest stall speed there is, in the middle of the climb to there: dials err by 3 % so fast
TANK_MOST = 1.10  # of a tank's capacity: gauges err by that when full
LEVEL_RANGE = (0.85, 1.15)  # speed flown level over the model's at that RPM, over all weights: books err by some 5 %
LEVEL_S = 120.0  # of it in all
LEVEL_MPS, LEVEL_RAD, STEADY_MPS = 0.75, 0.17, 1.5  # vertical speed, bank, change of airspeed within half a minute
STALL_LEAST = 0.75  # of the lowest stall speed there is: slower in steady flight is another airplane's


def misfits(flight: Flight, airplane: Airplane | None) -> tuple[str, ...]:
    """What in a recording that airplane can't do, in words; empty when nothing speaks against it.

    Examples: "Power 115 % for 12 min by this airplane's chart: …".
    """
    return () if airplane is None else tuple(f"{words}: another airplane, or a slip in its file?"
                                             for words in _found(flight, airplane))  # fmt: skip


def _found(flight: Flight, airplane: Airplane) -> Iterator[str]:
    name = airplane.name
    power, rpm = flight.get("power_ratio"), flight.get("rpm")
    most_rpm = airplane.limits.max_rpm
    if rpm is not None and most_rpm:
        yield from _say(
            flight, rpm > RPM_MOST * most_rpm, rpm, "{:,.0f} RPM", f"the limit of {name} is {most_rpm:,.0f}"
        )
    if power is not None:
        told = f"by the power chart of {name}"
        yield from _say(flight, power > POWER_MOST, 100.0 * np.asarray(power), "{:.0f} % power", told)
    ias = flight.get("ias_mps")
    never = airplane.limits.never_exceed_ias_mps
    unit = airplane.dial_unit
    if ias is not None and never is not None:
        told = f"the never-exceed speed of {name} is {write(never, unit)}"
        yield from _say(flight, ias > never, to_unit(np.asarray(ias), unit), f"{{:.0f}} {unit} indicated", told)
    yield from _slow(flight, airplane)
    yield from _lifted_off_slow(flight, airplane)
    yield from _ungoverned(flight, airplane)
    yield from _overfull(flight, airplane)
    yield from _level_speed(flight, airplane)
    yield from beyond_model(flight, airplane)
    flow = flight.columns.get("fuel_flow_m3ps")
    if flow is not None and flow.known == "measured":
        yield from _flow_for_power(flight, airplane)


def _flow_for_power(flight: Flight, airplane: Airplane) -> Iterator[str]:
    """Cruising on half the fuel, or half as much again, of what its book prints for that power."""
    power, flow = flight.get("power_ratio"), flight["fuel_flow_m3ps"]
    if power is None:
        return
    low, high = CRUISING
    step = np.minimum(np.gradient(flight.time_s), 10.0)
    here = (power >= low) & (power <= high) & (flow > 0.0)
    if float(step[here].sum()) < FEWEST_S:
        return
    middle = float(np.median(power[here]))
    try:
        book = float(airplane.fuel_flow_m3ps(middle, "full_rich"))
    except AirworkError:
        return
    burned = float(np.median(flow[here]))
    if not FLOW_RANGE[0] <= burned / book <= FLOW_RANGE[1]:
        yield (
            f"{to_unit(burned, 'gph'):.1f} gal/h in cruise; {airplane.name} burns {to_unit(book, 'gph'):.1f} full rich "
            f"at the {100 * middle:.0f} % its chart gives for that RPM"
        )


def _ungoverned(flight: Flight, airplane: Airplane) -> Iterator[str]:
    """A takeoff that never came near the RPM a governor takes the propeller to."""
    rpm, most = flight.get("rpm"), airplane.limits.max_rpm
    if airplane.fixed_pitch or rpm is None or not most:
        return
    rows = max(round(RUN_S / max(float(np.median(np.diff(flight.time_s))), 0.01)), 1)
    for after in _takeoffs(flight):
        run = np.asarray(rpm)[after]
        if np.isnan(run).mean() > 0.2:
            continue
        held = float(np.nanmax(np.convolve(np.nan_to_num(run), np.ones(rows) / rows, mode="valid")))
        if 0.5 * most < held < GOVERNED_LEAST * most:
            yield (
                f"{held:,.0f} RPM at the most in a takeoff; the constant-speed propeller of {airplane.name} turns "
                f"{most:,.0f} there"
            )
            return


def _takeoffs(flight: Flight) -> Iterator[NDArray[np.bool_]]:
    """The samples from half a minute before each takeoff to two minutes after it; none without a height."""
    height = flight.get("agl_m")
    if height is None:
        return
    time_s, low = flight.time_s, np.asarray(height) < OFF_M
    for start in np.flatnonzero(low[:-1] & ~low[1:]):
        after = (time_s >= time_s[start] - 30.0) & (time_s <= time_s[start] + 120.0)
        if np.nanmax(np.asarray(height)[after]) > CLIMBED_M:
            yield after


def _lifted_off_slow(flight: Flight, airplane: Airplane) -> Iterator[str]:
    """Off the ground and climbing at a speed at which it stalls, however light and with whatever flaps."""
    cas = flight.get("cas_mps")
    lowest = least_stall_mps(airplane)
    if cas is None or lowest is None:
        return
    height, unit = np.asarray(flight.get("agl_m"), dtype=float), airplane.dial_unit
    for after in _takeoffs(flight):
        climbed = np.asarray(cas)[after & (height > OFF_M) & (height < CLIMBED_M)]
        middle = float(np.median(climbed)) if np.isfinite(climbed).all() and climbed.size else lowest
        if middle < LIFTED_LEAST * lowest:
            yield (
                f"lifted off and climbing at {to_unit(middle, unit):.0f} {unit} calibrated; {airplane.name} stalls at "
                f"{write(lowest, unit)} at the least"
            )
            return


def _overfull(flight: Flight, airplane: Airplane) -> Iterator[str]:
    """More fuel in a tank than it holds."""
    if not airplane.tanks:
        return
    each, all_of_them = max(t.capacity_m3 for t in airplane.tanks), sum(t.capacity_m3 for t in airplane.tanks)
    for name, most, what in (("fuel_left_m3", each, "left"), ("fuel_right_m3", each, "right"),
                             ("fuel_total_m3", all_of_them, "all")):  # fmt: skip
        fuel = flight.columns.get(name)
        if fuel is None or fuel.known != "measured":
            continue
        told = f"the {'tanks hold' if what == 'all' else 'largest tank holds'} {to_unit(most, 'gal'):.0f} gal in "
        value = np.asarray(flight[name])
        said = [*_say(flight, value > TANK_MOST * most, to_unit(value, "gal"), f"{{:.0f}} gal in {what}",
                      told + airplane.name)]  # fmt: skip
        if said:  # the other tanks say the same
            yield said[0]
            return


def _level_speed(flight: Flight, airplane: Airplane) -> Iterator[str]:
    """Level at a speed that no weight gives this airplane at that RPM (fixed pitch: RPM and speed go together)."""
    columns = [flight.get(n) for n in ("rpm", "cas_mps", "vertical_speed_mps", "pressure_altitude_m", "oat_k", "agl_m")]
    if not airplane.fixed_pitch or any(c is None for c in columns) or flight.columns["rpm"].known != "measured":
        return
    rpm, cas, climb, altitude, oat, height = (np.asarray(c, dtype=float) for c in columns)
    rows = max(round(15.0 / max(float(np.median(np.diff(flight.time_s))), 0.01)), 1)
    bank, flap = flight.get("bank_rad"), flight.get("flap_deg")
    good = np.isfinite(rpm + cas + climb + altitude + oat) & (np.abs(climb) < LEVEL_MPS) & (height > 150.0)
    good &= np.abs(cas - np.roll(cas, rows)) + np.abs(cas - np.roll(cas, -rows)) < STEADY_MPS
    good &= np.abs(rpm - np.roll(rpm, rows)) + np.abs(rpm - np.roll(rpm, -rows)) < 60.0
    good &= (np.abs(np.asarray(bank)) < LEVEL_RAD) if bank is not None else True
    good &= ~(np.asarray(flap) > 2.0) if flap is not None else True
    step = np.minimum(np.gradient(flight.time_s), 10.0)
    if float(step[good].sum()) < LEVEL_S:
        return
    try:
        low, high = _speeds_at(airplane, altitude[good], oat[good], rpm[good])
    except AirworkError:
        return
    ratio_low, ratio_high = np.nanmedian(cas[good] / high), np.nanmedian(cas[good] / low)
    if ratio_low > LEVEL_RANGE[1] or ratio_high < LEVEL_RANGE[0]:
        unit, middle = airplane.dial_unit, float(np.median(rpm[good]))
        yield (
            f"level at {to_unit(float(np.median(cas[good])), unit):.0f} {unit} calibrated with {middle:,.0f} RPM; "
            f"{airplane.name} flies {to_unit(float(np.nanmedian(low)), unit):.0f} to "
            f"{to_unit(float(np.nanmedian(high)), unit):.0f} {unit} there"
        )


def _speeds_at(
    airplane: Airplane, altitude_m: NDArray[np.float64], oat_k: NDArray[np.float64], rpm: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Slowest and fastest calibrated speed of level flight at each RPM, over all weights, flaps up. [m/s]

    NaN beyond what the model answers. The air is the middle of what was flown in.
    """
    from airwork.airplane.performance import Condition, performance
    from airwork.airplane.performance.level import level_flight

    fitted, ends = performance(airplane), []
    for share in (LIGHTEST, 1.0):
        mass = share * airplane.max_takeoff_mass_kg
        stall = float(airplane.stall_cas_mps(mass))
        speeds = np.linspace(1.3 * stall, 3.2 * stall, 80)
        level = level_flight(fitted, speeds, Condition(mass, float(np.median(altitude_m)), float(np.median(oat_k))))
        needed = np.asarray(level.rpm, dtype=float)
        least = int(np.nanargmin(needed))  # the fast side: there RPM and speed go together
        ends.append(np.interp(rpm, needed[least:], speeds[least:], left=np.nan, right=np.nan))
    return np.fmin(*ends), np.fmax(*ends)


def _slow(flight: Flight, airplane: Airplane) -> Iterator[str]:
    """In the air for a minute at a speed at which it would long have stalled."""
    ias, height = flight.get("ias_mps"), flight.get("agl_m")
    lowest = least_stall_mps(airplane)
    if ias is None or height is None or lowest is None:
        return
    told = f"{airplane.name} stalls at {write(lowest, airplane.dial_unit)} calibrated at the least"
    slow = (np.asarray(ias) < STALL_LEAST * lowest) & (np.asarray(height) > 100.0)
    unit = airplane.dial_unit
    yield from _say(flight, slow, to_unit(np.asarray(ias), unit), f"{{:.0f}} {unit} indicated in the air", told)


def _say(flight: Flight, beyond: ArrayLike, value: NDArray[np.float64], shown: str, told: str) -> Iterator[str]:
    """One sentence where something was beyond for long enough."""
    mask = np.asarray(beyond, dtype=bool)
    if not mask.any():
        return
    step = np.minimum(np.gradient(flight.time_s), 10.0)  # a gap is no time beyond
    lasting = float(step[mask].sum())
    if lasting >= LASTING_S:
        middle = float(np.nanmedian(np.asarray(value)[mask]))
        yield f"{shown.format(middle)} for {lasting / 60.0:.0f} min; {told}"
