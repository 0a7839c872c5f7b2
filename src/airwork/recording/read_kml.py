"""KML tracks: gx:Track (when, coord, angles, arrays) and placemarks with a time and a point. OGC KML 2.2/2.3."""

from __future__ import annotations

from xml.etree import ElementTree

from airwork.errors import InputError
from airwork.recording.flight import Mend
from airwork.recording.names import understand, words_of
from airwork.recording.points import add_row, cells_said, points_table
from airwork.recording.table import RawTable
from airwork.recording.xml_safe import bare, elements
from airwork.recording.zones import UTC_WORDS

_PIECE = 3  # points of a piece; longer ones tell no time of their points
_UNITS = {
    "latitude": "deg",
    "longitude": "deg",
    "gps altitude": "m",
    "height above ground": "m",
    "true heading": "deg",
    "pitch": "deg",
    "roll": "deg",
}


def read(data: bytes, where: str) -> RawTable:
    """Points of all timed tracks of a KML file.

    Raises
    ------
    InputError : only a path without times, or XML that is refused.
    """
    columns: dict[str, list[str | None]] = {"time": [], "latitude": [], "longitude": [], "gps altitude": []}
    path, open_track = False, None
    mends: list[Mend] = []
    for event, element in elements(data, where, mends):
        tag = bare(element.tag)
        if event == "start":
            open_track = element if tag == "Track" else open_track
            continue
        if tag == "Track":
            _track(element, columns)
            element.clear()
            open_track = None
        elif tag == "Placemark":
            _timed_point(element, columns)
            element.clear()
        elif tag == "LineString":
            path = True
    if open_track is not None and len(open_track):  # the file breaks off within it, in the middle of its last part
        open_track.remove(open_track[-1])
        _track(open_track, columns)
    if not columns["time"] and path:
        raise InputError("draws a path without times; a debrief needs a track with times (gx:Track).", where=where)
    return points_table(columns, "KML", where, _UNITS, mends)


def _track(track: ElementTree.Element, columns: dict[str, list[str | None]]) -> None:
    whens, coords, angles = [], [], []
    arrays: dict[str, list[str]] = {}
    above_ground = on_ground = False
    for child in track.iter():
        tag, text = bare(child.tag), (child.text or "").strip()
        if tag == "when":
            whens.append(text)
        elif tag == "coord":
            coords.append(text.replace(",", " ").split())
        elif tag == "angles":
            angles.append(text.split())
        elif tag == "altitudeMode":
            above_ground, on_ground = text == "relativeToGround", text == "clampToGround"
        elif tag == "SimpleArrayData":
            arrays[child.get("name") or ""] = [(v.text or "").strip() for v in child if bare(v.tag) == "value"]
    height = "height above ground" if above_ground else "gps altitude"
    for k in range(min(len(whens), len(coords))):
        row: dict[str, str | None] = {"time": whens[k]}
        row.update(zip(("longitude", "latitude", height)[: 3 - on_ground], coords[k], strict=False))
        if k < len(angles) and any(a not in {"0", "0.0"} for a in angles[k]):
            row.update(zip(("true heading", "pitch", "roll"), angles[k], strict=False))
        row.update({name: values[k] for name, values in arrays.items() if name and k < len(values)})
        add_row(columns, row)


def _timed_point(placemark: ElementTree.Element, columns: dict[str, list[str | None]]) -> None:
    """A point with its time, or the beginning of a short piece of a path with the span of time it took."""
    when, places, span, on_ground = "", [], False, False
    said: dict[str, str | None] = {}
    name = ""
    for child in placemark.iter():
        tag, text = bare(child.tag), (child.text or "").strip()
        if tag in {"when", "begin"} and text:
            when, span = text, tag == "begin"
        elif tag == "coordinates":
            places = text.split()
        elif tag == "altitudeMode":
            on_ground = text == "clampToGround"  # its height is none
        elif tag == "description":
            said |= cells_said(text)
        elif tag in {"Data", "SimpleData"}:
            name = child.get("name") or ""
            said |= {name: text} if text else {}
        elif tag in {"value", "displayName"} and name:
            said, name = (said | {name: text}, name) if tag == "value" else (said, text or name)
    for n, v in [*said.items()]:
        if not when and v and (m := understand(n)) and "time" in m.quantity:
            when = f"{v}Z" if UTC_WORDS & set(words_of(n)) and v[-1].isdigit() else v
            del said[n]
    if when and places and len(places) <= (_PIECE if span else 1) and len(place := places[0].split(",")) >= 2:
        row: dict[str, str | None] = said | dict(zip(("longitude", "latitude", "gps altitude"), place, strict=False))
        if on_ground:
            row.pop("gps altitude", None)
        add_row(columns, {"time": when, **row})
