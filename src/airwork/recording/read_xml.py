"""XML of no standard kind, and web pages with a table: the element that comes most often is the row."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from airwork.errors import InputError
from airwork.recording.flight import Mend
from airwork.recording.names import understand
from airwork.recording.unit_words import read_units
from airwork.recording.xml_safe import bare, elements

_NUMBER = re.compile(r"[-+]?(?:0|[1-9]\d*)?(?:\.\d+)?(?:[eE][-+]?\d{1,3})?")
_ROOTLESS = re.compile(rb"\s*<(\w+)(?:\s[^<>]*)?(?:/>|>[^<>]*</\1>)\s*<\1[\s>]")
_LEAST, _MOST_ROWS, _CELLS = 20, 750_000, frozenset(["td", "th"])


_SAYING = frozenset(["ref", "reference", "datum", "kind", "type"])
_NAMING = frozenset(["name", "key", "id"])  # <v name="ias" unit="kt">


def document_of_xml(data: bytes, where: str) -> dict[str, Any]:
    """The document as JSON would have it: its rows, the units their names have, what else its elements say.

    Raises
    ------
    InputError : no element comes again and again with values of its own, or it isn't well-formed.
    """
    rows: dict[str, list[dict[str, Any]]] = {}
    units: dict[str, str] = {}
    said: dict[str, Any] = {}
    names: list[str] = []
    mends: list[Mend] = []
    if _ROOTLESS.match(data):  # a log that grows has no end, and so no element about its rows
        data = b"<rows>" + data[: data.rfind(b">") + 1] + b"</rows>"
    for event, element in elements(data, where, mends):
        if event == "start":
            continue
        tag, children = bare(element.tag) or str(element.tag), list(element)
        if children and all((bare(c.tag) or str(c.tag)) in _CELLS for c in children):
            cells = [" ".join("".join(c.itertext()).split()) for c in children]
            heads = not names and not any(c[:1].isdigit() for c in cells)
            names = cells if heads else names
            values = map(_value, cells)
            row = {} if heads else dict(zip(names or map(str, range(len(cells))), values, strict=False))
        else:
            row, named = _row(element, children)
            units |= named
        if tag.lower() == "units":
            units |= row
        elif len(row) >= 3:
            rows.setdefault(tag, []).append(row)
            if len(rows[tag]) > _MOST_ROWS:
                raise InputError(f"has more than {_MOST_ROWS:,} rows.", where=where)
            element.clear()
        elif len(said) < _LEAST:
            said |= row
    found = max(rows.values(), key=len, default=[])
    if len(found) < _LEAST:
        raise InputError(
            "is XML, but no GPX, KML or TCX, and holds no rows; export it as one of these or as CSV.", where=where
        )
    said |= {n: v for one in rows.values() if len(one) < _LEAST for n, v in one[0].items()}
    return {**said, **{tag: more for tag, more in rows.items() if len(more) >= _LEAST}, "rows": found, "units": units}


def _row(element: Any, children: Sequence[Any]) -> tuple[dict[str, Any], dict[str, str]]:
    """(what an element and its children say, by name; the units said of those values)."""
    row = {bare(n) or n: _value(v) for n, v in element.attrib.items()}
    units: dict[str, str] = {}
    for child in children:
        name = next((v for n, v in child.attrib.items() if n in _NAMING and v), bare(child.tag) or str(child.tag))
        text = "" if len(child) else (child.text or "").strip()
        name = _closer(name, child.attrib) if text else name
        if text:
            row[name] = _value(text)
        for n, v in child.attrib.items():  # of a value its unit, else values of their own
            units |= {name: v} if text and (n.lower().startswith("unit") or read_units(v)) else {}
            row |= {f"{name}.{bare(n)}": _value(v)} if not text and not len(child) else {}
    return row, units


def _closer(name: str, attributes: Mapping[str, str]) -> str:
    """A value's name with what its attributes say of it: a height's datum, a heading's north, which speed.

    >>> _closer("h", {"unit": "ft", "ref": "1013"}), _closer("v", {"kind": "tas"}), _closer("v", {"type": "x"})
    ('h 1013', 'tas', 'v')
    """
    unit = next((v for n, v in attributes.items() if n.lower().startswith("unit")), "")
    for word in (v for n, v in attributes.items() if n.lower() in _SAYING and v):
        for closer in (f"{name} {word}", word):
            if (found := understand(closer, unit)) is not None and not found.aside and found.quantity != "not_needed":
                return closer
    return name


def _value(text: str) -> Any:
    """A number where the text is one and nothing else (047 is none)."""
    return float(text) if text and any(c.isdigit() for c in text) and _NUMBER.fullmatch(text) else text
