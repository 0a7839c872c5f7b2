"""Whether a recording can be of the airplane it is judged by: what no flight of that airplane shows for a minute.

A short overspeed is a fault of flying and is said elsewhere; minutes beyond what the airplane can do mean that another
one flew, or that its file has a slip.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.errors import AirworkError
from airwork.units import to_unit, write

if TYPE_CHECKING:
    from airwork.airplane import Airplane
    from airwork.recording.flight import Flight

LASTING_S = 60.0  # our own choice, like the margins: a dive, a runaway propeller, a gust is over by then
POWER_MOST = 1.10  # of rated power by the airplane's own chart: charts and tachometers err by some 5 %
RPM_MOST = 1.03  # of the limit: mechanical tachometers err by 1 to 2 %
# Measured flow over the book's full-rich flow at the power its chart gives, in cruise: leaning takes off a quarter at
# most, a flow meter errs by some 5 %, and a tenth is left for the book.
FLOW_RANGE = (0.65, 1.25)
CRUISING = (0.45, 0.80)  # of rated power: where a book prints its flows
FEWEST_S = 300.0
LIGHTEST = 0.65  # of the greatest weight: one person and little fuel in a light single
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


def _slow(flight: Flight, airplane: Airplane) -> Iterator[str]:
    """In the air for a minute at a speed at which it would long have stalled."""
    ias, height = flight.get("ias_mps"), flight.get("agl_m")
    if ias is None or height is None:
        return
    stalls = airplane.stall_cas_by_notch_mps(LIGHTEST * airplane.max_takeoff_mass_kg)
    if not np.isfinite(stalls).any():
        return
    lowest = float(np.nanmin(stalls))
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
