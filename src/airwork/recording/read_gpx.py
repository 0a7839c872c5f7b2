"""GPX tracks: trkpt with time, height and whatever extensions (speed, course ...). Schemas 1.0, 1.1; TCX."""

from __future__ import annotations

import re

from airwork.recording.flight import Mend
from airwork.recording.points import add_row, cells_said, points_table
from airwork.recording.table import RawTable
from airwork.recording.xml_safe import bare, elements

# The schemas' units: ele in meters above sea level, speed in m/s, course in degrees true.
_UNITS = {
    "latitude": "deg",
    "longitude": "deg",
    "gps altitude": "m",
    "gps altitude ellipsoid": "m",
    "geoidheight": "m",
    "ground speed": "m/s",
    "course": "deg",
    "magvar": "deg",
}
_RENAME = {
    "ele": "gps altitude",
    "sat": "satellites",  # their number; "sat" is a static air temperature elsewhere
    "Time": "time",
    "LatitudeDegrees": "latitude",
    "LongitudeDegrees": "longitude",
    "AltitudeMeters": "gps altitude",
    "Speed": "ground speed",
    "speed": "ground speed",  # by the schemas of GPX 1.0 and TCX
}
_LEAVE = frozenset(
    ["extensions", "TrackPointExtension", "name", "src", "sym", "type", "link", "text", "ageofdgpsdata", "dgpsid"]
)
_WORDS = frozenset(["desc", "cmt"])
_POINTS = frozenset(["trkpt", "rtept", "Trackpoint", "wpt"])
_ELLIPSOIDAL = "gps altitude ellipsoid"
_OF_HEIGHTS = re.compile(
    r"(?i)\b(?:heights?|elevations?|altitudes?|ele)\b.{0,30}ellipsoid|ellipsoid(?:al)?\W+(?:height|elev|alt)"
)
_OF_THE_SEA = re.compile(r"(?i)\b(?:sea|a?msl|amsl|geoid|not|no)\b|corrected")
_LESSER = frozenset(["rtept", "wpt"])  # taken where there is no track


def read(data: bytes, where: str) -> RawTable:  # noqa: C901, PLR0912
    """Points of all tracks of a GPX file, in order; routes and waypoints when there is no track.

    Raises
    ------
    InputError : no points with times, or XML that is refused.
    """
    columns: dict[str, list[str | None]] = {"time": [], "latitude": [], "longitude": []}
    found: dict[str, str | None] = {}
    inside = ""
    tracks = untimed = 0
    watch = ellipsoid = False
    mends: list[Mend] = []
    sport = ""
    for event, element in elements(data, where, mends):
        tag = bare(element.tag)
        if event == "start":
            if tag in _POINTS and (tag not in _LESSER or not tracks):
                inside, found, watch = tag, {}, tag == "Trackpoint"
            elif tag == "Activity":
                sport = element.get("Sport", "")
            elif tag == "trk":
                if not tracks:  # waypoints and routes stand before it
                    columns, untimed = {"time": [], "latitude": [], "longitude": []}, 0
                tracks += 1
            continue
        if tag == inside and inside:
            untimed += not _add(columns, found, element.get("lat"), element.get("lon"))
            inside = ""
            element.clear()
        elif inside:
            if tag in _WORDS and element.text:
                found = cells_said(element.text) | found
            elif tag not in _LEAVE and element.text:
                found[_RENAME.get(tag, tag)] = element.text.strip()
        elif tag in _WORDS and not inside:
            ellipsoid |= _above_the_ellipsoid(element.text or "")
        elif tag == "type" and not inside:
            sport = sport or (element.text or "").strip()
        elif tag in {"trkseg", "trk", "wpt"}:
            element.clear()
    if untimed:
        mends.insert(0, Mend(f"{untimed} points without a time left out", untimed))
    if ellipsoid:
        columns = {_ELLIPSOIDAL if name == "gps altitude" else name: values for name, values in columns.items()}
    table = points_table(columns, "TCX" if watch else "GPX", where, _UNITS, mends)
    table.sport = sport
    return table


def _above_the_ellipsoid(text: str) -> bool:
    """A description says that heights are above the ellipsoid; the schemas have them above the sea.

    >>> [_above_the_ellipsoid(x) for x in ("heights above ellipsoid; in m", "WGS84 ellipsoid, heights above sea")]
    [True, False]
    """
    clauses = re.split(r"[.;,\n]", text)
    return any(_OF_HEIGHTS.search(clause) and not _OF_THE_SEA.search(clause) for clause in clauses)


def _add(columns: dict[str, list[str | None]], found: dict[str, str | None], lat: str | None, lon: str | None) -> bool:
    """Add a point; False for one without a time."""
    if not found.get("time"):
        return False
    if lat is not None:  # a watch's TCX has them as elements
        found["latitude"], found["longitude"] = lat, lon
    add_row(columns, found)
    return True
