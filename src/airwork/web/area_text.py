"""A practice area and its landing places as text that can be typed, pasted or pointed: what stands in their fields.

"41.26 -101.95; 41.46 -101.93; …" are corners, "hay meadow: 41.395 -101.86, 3,680 ft" is a place, one to a line.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from airwork.errors import InputError, Where

Position = tuple[float, float]
_PAIR = re.compile(r"\[?\s*([+-]?\d{1,2}(?:\.\d+)?)\s*[,\s]\s*([+-]?\d{1,3}(?:\.\d+)?)\s*\]?")
_PLACE = re.compile(rf"(?P<name>[^:]+):\s*(?P<at>{_PAIR.pattern})\s*(?:,\s*(?P<rest>.*))?")
LIT = "lit"


def corners_text(corners: Any) -> str:
    """Corners as they stand in their field; "" for none."""
    if not isinstance(corners, Sequence) or isinstance(corners, str):
        return "" if corners is None else str(corners)
    return "; ".join(_pair(c) for c in corners)


def _pair(corner: Any) -> str:
    try:
        return f"{float(corner[0]):g} {float(corner[1]):g}" if _short(corner) else f"{corner[0]} {corner[1]}"
    except (TypeError, ValueError, IndexError):
        return str(corner)


def _short(corner: Any) -> bool:
    """ "%g" loses nothing of these: six figures are a few feet of a degree."""
    return all(float(f"{float(x):g}") == float(x) for x in corner[:2])


def read_corners(text: str, where: Where) -> list[list[float]]:
    """The corners of a text.

    Raises
    ------
    InputError : something that is no position, fewer than three.
    """
    found = [_position(part, where) for part in re.split(r"[;\n]", text) if part.strip()]
    if len(found) < 3:
        raise InputError(f"an area needs three corners, found {len(found)}: latitude longitude; …", where=where)
    return found


def _position(text: str, where: Where) -> list[float]:
    pair = _PAIR.fullmatch(text.strip())
    if pair is None:
        raise InputError(f"found {text.strip()[:40]!r}, expected latitude and longitude: 41.26 -101.95.", where=where)
    latitude, longitude = float(pair[1]), float(pair[2])
    if abs(latitude) > 90.0 or abs(longitude) > 180.0:
        raise InputError(f"{text.strip()[:40]!r} is nowhere on Earth (latitude first).", where=where)
    return [latitude, longitude]


def places_text(places: Any) -> str:
    """Landing places as they stand in their field."""
    if not isinstance(places, Sequence) or isinstance(places, str):
        return "" if places is None else str(places)
    lines = []
    for one in places:
        if not isinstance(one, Mapping):
            lines.append(str(one))
            continue
        more = [str(one["elevation"])] if "elevation" in one else []
        more += [LIT] if one.get("lit") else []
        lines.append(f"{one.get('name', '')}: {', '.join([_pair(one.get('position', ())), *more])}")
    return "\n".join(lines)


def read_places(text: str, where: Where) -> list[dict[str, Any]]:
    """The landing places of a text.

    Raises
    ------
    InputError : a line that is none.
    """
    found = []
    for line in text.splitlines():
        if not line.strip():
            continue
        one = _PLACE.fullmatch(line.strip())
        if one is None:
            raise InputError(f"found {line.strip()[:40]!r}, expected name: latitude longitude, elevation.", where=where)
        place: dict[str, Any] = {"name": one["name"].strip(), "position": _position(one["at"], where)}
        rest = (one["rest"] or "").strip()
        if rest == LIT or rest.endswith(f", {LIT}"):
            place["lit"], rest = True, rest[: -len(LIT)].rstrip(" ,")
        if rest:
            place["elevation"] = rest
        found.append(place)
    return found
