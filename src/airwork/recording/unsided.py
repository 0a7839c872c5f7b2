"""Degrees and minutes in one number (8912.5678) that tell no side, N or S, E or W: a recorded direction may tell it.

Read with the wrong side a path is mirrored, and the direction beside it fits it no more. Where no direction tells, the
side is asked. How near a direction must come is common practice, no source: variation and drift lie within it.
"""

from __future__ import annotations

import itertools

import numpy as np

from airwork.recording.flight import Mend
from airwork.recording.layout_values import Choice
from airwork.recording.motion import velocity_mps
from airwork.recording.positions import over_land
from airwork.recording.recorded import Recorded
from airwork.recording.table import RawTable
from airwork.recording.unit_guess import Known

_DIRECTIONS = ("track_rad", "heading_rad", "heading_mag_rad")
_FITS_RAD, _MISSES_RAD, _MOST = np.radians(45.0), np.radians(80.0), 80.0  # off at most, most percent of the samples
_MOVES_MPS, _FEWEST, _SPAN_S = 3.0, 20, 4.0
_OTHER_SIDES = {"latitude": ("north", "S"), "longitude": ("east", "W")}


def side_by_direction(
    choices: list[Choice], table: RawTable, known: Known, recorded: Recorded, told: frozenset[str]
) -> None:
    """Turn the places over to the one side that the recorded direction fits, or ask for the side.

    Parameters
    ----------
    told : the quantities whose side a column or their name says.
    """
    open_ = {
        c.meaning.quantity: c
        for c in choices
        if c.meaning.quantity in _OTHER_SIDES.keys() - told and "degrees and minutes in one number" in c.how
    }
    open_ = {q: c for q, c in open_.items() if np.nanmin(known.columns[q], initial=0.0) >= 0.0}  # no sign was written
    if not open_ or not {"latitude_rad", "longitude_rad"} <= recorded.columns.keys():
        return
    fits = _fitting(recorded, *((1.0, -1.0) if q in open_ else (1.0,) for q in _OTHER_SIDES))
    for k, (quantity, (side, other)) in enumerate(_OTHER_SIDES.items()):
        if (choice := open_.get(quantity)) is None:
            continue
        name, house = table.names[choice.column], f"{quantity}_rad"
        signs = {fit[k] for fit in fits}
        if len(signs) != 1:
            said = f"{name!r} tells no side: taken as {side}; if it is {other}, call the column '{name} {other}'"
            recorded.mends.append(Mend(said, recorded.time_s.size, column=house, asks=True))
        elif signs == {-1.0}:
            recorded.columns[house] = known.columns[quantity] = -recorded.columns[house]
            choice.how += f"; side {other} by the direction recorded beside it, which fits no other"


def _fitting(
    recorded: Recorded, of_latitude: tuple[float, ...], of_longitude: tuple[float, ...]
) -> list[tuple[float, float]]:
    """The signs (latitude, longitude) that a recorded direction may mean; [] where it tells nothing."""
    direction = recorded.first(*_DIRECTIONS)
    if direction is None:
        return []
    latitude, longitude = (recorded.columns[f"{q}_rad"] for q in _OTHER_SIDES)
    east, north = velocity_mps(recorded.time_s, latitude, longitude, _SPAN_S)
    good = (np.hypot(east, north) > _MOVES_MPS) & np.isfinite(direction)
    if good.sum() < _FEWEST:
        return []
    off: dict[tuple[float, float], float] = {}
    for up, across in itertools.product(of_latitude, of_longitude):
        away = direction[good] - np.arctan2(across * east[good], up * north[good])
        off[up, across] = float(np.percentile(np.abs(np.angle(np.exp(1j * away))), _MOST))
    if min(off.values()) > _FITS_RAD:
        return []
    middle = float(np.nanmedian(latitude)), float(np.nanmedian(longitude))
    written = (1.0, 1.0)  # no reading but this one is believed at sea
    return [f for f in off if off[f] < _MISSES_RAD and (f == written or over_land(f[0] * middle[0], f[1] * middle[1]))]
