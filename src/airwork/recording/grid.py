"""Positions that are no degrees: meters east and north of a grid's or the file's own origin or of the earth's center.

They become columns of latitude and longitude: a grid's by its zone (UTM), local ones by the origin that the lines
before the header name, those of the earth's center by being as long as its radius. Local ones without an origin still
move as the flight did: they become its velocity over the ground.
"""

from __future__ import annotations

import re

import numpy as np
import polars as pl

from airwork.recording.cells import numbers_of
from airwork.recording.flight import Mend
from airwork.recording.known_fields import elevations_near
from airwork.recording.names import SAID, Meaning, named_units, words_of
from airwork.recording.positions import are_places
from airwork.recording.recorded import Array, Recorded
from airwork.recording.table import RawTable
from airwork.recording.unit_words import BY_NAME
from airwork.units import DEG_RAD

_RADIUS_M = (6.33e6, 6.42e6)  # of the earth and whoever flies
_AXES = {
    "east": frozenset(["east", "easting", "e", "xe", "ye", "utme", "eastings"]),
    "north": frozenset(["north", "northing", "n", "xn", "yn", "utmn", "northings"]),
    "up": frozenset(["up", "u", "zu"]),
    "down": frozenset(["down", "dn", "d", "zd"]),
}
_SOFT = frozenset(["m", "ft", "km", "meter", "meters", "pos", "position", "coord", "coordinate", "rel", "local", "x",
                   "y", "z", "utm", "grid", "ned", "enu", "gps", "wgs"])  # fmt: skip
_ZONE = re.compile(r"(?i)\b(?:utm|zone|grid)?\W*(?:zone)?\W*\b(\d{1,2})\s?([C-HJ-NP-X])\b")
_EPSG = re.compile(r"(?i)epsg\W*32([67])(\d\d)\b")
_ORIGIN = re.compile(
    r"(?i)\b(?:origin|home|ref(?:erence)?|datum|base)\b[^-+\d]*([-+]?\d{1,2}\.\d+)[^-+\d.]*([-+]?\d{1,3}\.\d+)"
    r"(?:[^-+\d.]*([-+]?\d+(?:\.\d+)?)\s*(ft|feet|m)?\b)?"
)
_HEIGHTS = frozenset(["gps_altitude", "altitude", "indicated_altitude", "pressure_altitude", "height_above_ground"])
_NEAR_M = 50_000.0
_AT_START_M = 10.0  # nearer to nought than this: heights count from where it began
_EASTING_M, _NORTHING_M = (100_000.0, 900_000.0), 10_000_000.0


def degrees_of_grids(table: RawTable, meanings: list[Meaning | None], recorded: Recorded) -> None:
    """Add columns of latitude and longitude to a table that has meters in their place, and say so."""
    known = {m.quantity for m in meanings if m is not None and not m.aside}
    able = {"not_needed", "velocity_north", "velocity_east"}
    free = {i for i, m in enumerate(meanings) if m is None or m.quantity in able}
    numbers = {i: numbers_of(s, "", "") for i, s in enumerate(table.frame) if i in free and s.dtype.is_numeric()}
    at = _named_axes(table, numbers)
    if known & {"latitude", "longitude"}:
        if "down" in at and not known & _HEIGHTS:
            meanings[at["down"]] = Meaning("not_needed", (), None, SAID)
            _add(table, meanings, "gps_altitude", -numbers[at["down"]] * _length(table, at["down"]))
            recorded.mends.append(Mend(f"{table.names[at['down']]!r} counts down: the height is its opposite", 1))
        return
    found: tuple[dict[str, Array], str] | None = _from_center(table, numbers)
    if found is None and {"east", "north"} <= at.keys():
        if are_places(*(table.frame[str(at[a])] for a in ("north", "east"))):  # degrees under the axes' names
            turned = _turned(numbers[at["north"]], numbers[at["east"]])
            axes = ("east", "north") if turned else ("north", "east")
            for axis, quantity in zip(axes, ("latitude", "longitude"), strict=True):
                meanings[at[axis]] = Meaning(quantity, (BY_NAME["deg"],), None, SAID)
            if "up" in at and not known & _HEIGHTS:
                _add(table, meanings, "gps_altitude", numbers[at["up"]] * _length(table, at["up"]))
                meanings[at["up"]] = Meaning("not_needed", (), None, SAID)
            return
        found = _of_zone(table, meanings, numbers[at["east"]], numbers[at["north"]])
        found = found or _of_origin(table, numbers, at, recorded.time_s)
        for i in at.values() if found else ():
            meanings[i] = Meaning("not_needed", (), None, SAID)
    if found is not None:
        for quantity, values in found[0].items():
            _add(table, meanings, quantity, values)
        recorded.mends.append(Mend(found[1], table.frame.height))


def _turned(latitude: Array, longitude: Array) -> bool:
    """The degrees stand under each other's axis: no aerodrome for 100 km about there, some where turned."""
    lat, lon = (float(np.nanmedian(x)) * DEG_RAD for x in (latitude, longitude))
    if abs(lon) > 0.5 * np.pi or elevations_near(lat, lon, _NEAR_M) is not None:
        return False
    return elevations_near(lon, lat, _NEAR_M) is not None


def _length(table: RawTable, i: int) -> float:
    """Meters of a column's unit of length; meters where it names none."""
    units = named_units(table.names[i], table.unit_cells[i])
    return next((u.factor for u in units if u.dimension == "length"), 1.0)


def _add(table: RawTable, meanings: list[Meaning | None], quantity: str, values: Array) -> None:
    known = {m.quantity for m in meanings if m is not None and not m.aside}
    if quantity in known or (quantity in _HEIGHTS and known & _HEIGHTS):
        return
    table.frame = table.frame.with_columns(pl.Series(str(len(table.names)), values))
    table.names.append(f"{quantity.replace('_', ' ')} (worked out)")
    unit = {"latitude": "deg", "longitude": "deg"}.get(quantity, "m/s" if "velocity" in quantity else "m")
    table.unit_cells.append(unit)
    meanings.append(Meaning(quantity, (BY_NAME[unit],), None, SAID))


def _named_axes(table: RawTable, numbers: dict[int, Array]) -> dict[str, int]:
    """Axis → the column named for it in a unit of length, no velocity."""
    out: dict[str, int] = {}
    for i in numbers:
        dimensions = {u.dimension for u in named_units(table.names[i], table.unit_cells[i])}
        if dimensions - {"length", "time"} and "length" not in dimensions:
            continue
        words = {w for w in words_of(table.names[i]) if not w.isdecimal()} - _SOFT
        axis = next((a for a, known in _AXES.items() if words and words <= known), "")
        if axis and axis not in out and (axis in words or "length" in dimensions or len(words.copy().pop()) > 2):
            out[axis] = i
    return out


def _from_center(table: RawTable, numbers: dict[int, Array]) -> tuple[dict[str, Array], str] | None:
    """Three columns side by side that are as long as the earth's radius."""
    import pymap3d

    for i in numbers:
        if {i + 1, i + 2} <= numbers.keys():
            x, y, z = (numbers[i + k] for k in range(3))
            size = np.sqrt(x**2 + y**2 + z**2)
            good = np.isfinite(size)
            if good.sum() > 20 and _RADIUS_M[0] < size[good].min() and size[good].max() < _RADIUS_M[1]:
                latitude, longitude, height = pymap3d.ecef2geodetic(x, y, z)
                said = "positions and height above the ellipsoid worked out from meters from the center of the earth"
                places = {"latitude": latitude, "longitude": longitude, "gps_altitude": height}
                return {q: np.asarray(v) for q, v in places.items()}, said
    return None


def _of_zone(
    table: RawTable, meanings: list[Meaning | None], east: Array, north: Array
) -> tuple[dict[str, Array], str] | None:
    """Degrees of a grid's easting and northing, where its zone stands in a column, a name or before the header."""
    import utm

    good = np.isfinite(east) & np.isfinite(north)
    inside = good & (east > _EASTING_M[0]) & (east < _EASTING_M[1]) & (north >= 0.0) & (north < _NORTHING_M)
    if not good.any() or inside.sum() < 0.95 * good.sum():
        return None
    cells = [(i, s) for i, s in enumerate(table.frame) if s.dtype == pl.String and s.n_unique() < 4]
    for i, series in (*cells, (-1, pl.Series([*table.names, *table.head]))):
        for text in series.drop_nulls().head(200).to_list():
            code = _EPSG.search(text)
            zone = _ZONE.search(text) if i < 0 else re.fullmatch(r"\s*(?:UTM)?\s*(\d{1,2})\s?([A-Za-z])\s*", text)
            number = int(code[2]) if code else int(zone[1]) if zone else 0
            if not 1 <= number <= 60:
                continue
            band = zone[2].upper() if zone and not code else ""
            # "S" of "33S" is the band of 32° to 40° north, to some the southern half: a northing there is below 4.5e6
            southern = code[1] == "7" if code else band < "N" or (band == "S" and float(np.median(north[good])) > 4.5e6)
            if i >= 0:
                meanings[i] = Meaning("not_needed", (), None, SAID)
            place = [np.full(east.shape, np.nan) for _ in range(2)]
            place[0][inside], place[1][inside] = utm.to_latlon(
                east[inside], north[inside], number, northern=not southern, strict=False
            )
            half = "south" if southern else "north"
            said = f"positions worked out from easting and northing of UTM zone {number}, {half} of the equator"
            return {"latitude": place[0], "longitude": place[1]}, said
    return None


def _of_origin(
    table: RawTable, numbers: dict[int, Array], at: dict[str, int], time_s: Array
) -> tuple[dict[str, Array], str] | None:
    """Degrees of meters from an origin that a line before the header names; else how fast they move."""
    import pymap3d

    origin = next((m for line in table.head if (m := _ORIGIN.search(line)) and abs(float(m[1])) <= 90.0), None)
    axes = {a: numbers[i] * _length(table, i) for a, i in at.items()}
    east, north = axes["east"], axes["north"]
    up = axes.get("up", -axes["down"] if "down" in axes else None)
    if origin is None:
        good = np.isfinite(time_s) & np.isfinite(east) & np.isfinite(north)
        if good.sum() < 20 or not (np.diff(time_s[good]) > 0.0).all():
            return None
        out = {}
        for name, values in (("velocity_east", east), ("velocity_north", north)):
            out[name] = np.full(values.shape, np.nan)
            out[name][good] = np.gradient(values[good], time_s[good])
        said = "meters east and north of a place that the file doesn't name: only how fast they change is used"
    else:
        latitude, longitude, _ = pymap3d.enu2geodetic(east, north, 0.0, float(origin[1]), float(origin[2]), 0.0)
        out = {"latitude": np.asarray(latitude), "longitude": np.asarray(longitude)}
        said = f"positions worked out from meters from the origin {origin[1]}, {origin[2]} before the header"
    if up is not None and np.isfinite(up).any():
        from_ground = abs(float(up[np.isfinite(up)][0])) < _AT_START_M
        if origin is not None and origin[3] and from_ground:
            foot = BY_NAME["ft" if (origin[4] or "m")[0].lower() == "f" else "m"].factor
            out["gps_altitude"] = up + float(origin[3]) * foot
        else:
            out["height_above_ground" if from_ground else "gps_altitude"] = up
    return out, said
