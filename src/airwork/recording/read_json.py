"""JSON → named columns: arrays of objects, JSON lines, columns of arrays, an ADS-B receiver's nameless rows.

JSON has no standard form for a track with times; what is read is whatever lies as rows: the longest list of objects
(or of equally long rows) anywhere in the document. Names inside names are joined ("speed.kts"). Rows without names are
known in the three orders in which ADS-B receivers usually write them (from memory; checked against open files): state
rows of 17 or 18, track rows of 6, trace rows that begin with the seconds since the document's own "timestamp".
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import polars as pl

from airwork.errors import InputError
from airwork.recording.kinds import beside
from airwork.recording.read_series import pair_cell, series_as_rows, stepped
from airwork.recording.read_xml import document_of_xml
from airwork.recording.table import RawTable
from airwork.recording.table_names import NUMBER
from airwork.recording.unit_words import read_units

MOST_BYTES = 60_000_000  # a document takes about ten times its size in memory
_DEPTH = 4  # names inside names
_MOST_NAMES = 400
_RECEIVERS = frozenset(["timestamp", "icao", "icao24", "hex", "trace", "callsign", "path"])
_LOOKED_AT = 200_000
_NAMED_ROWS = 40
_UNIT_NAMES = frozenset(["unit", "units", "uom", "u"])
_PLACE = ("longitude", "latitude", "altitude (m)")  # GeoJSON: RFC 7946, 3.1.1
_STATE = (
    "icao24", "callsign", "country", "timestamp", "last contact", "longitude", "latitude", "pressure altitude",
    "on ground", "groundspeed", "track", "vertical rate", "sensors", "geo altitude", "squawk", "spi", "source",
)  # fmt: skip
_TRACK = ("timestamp", "latitude", "longitude", "pressure altitude", "track", "on ground")
_TRACE = (
    "seconds", "latitude", "longitude", "pressure altitude", "groundspeed", "track", "flags", "vertical rate",
    "more", "source", "geo altitude", "geo vertical rate", "ias", "roll",
)  # fmt: skip


def read_json(data: bytes, where: str, kind: str = "json") -> RawTable:
    """The rows of a JSON document or of JSON lines, or of XML of no standard kind.

    Raises
    ------
    InputError : not well-formed, too large, or nothing in it looks like rows.
    """
    if len(data) > MOST_BYTES:
        raise InputError(
            f"is {len(data) / 1e6:,.0f} MB of JSON; at most {MOST_BYTES / 1e6:,.0f} MB are read: export it as CSV or "
            "Parquet.",
            where=where,
        )
    document = (document_of_xml if kind == "xml" else _parsed)(data, where)
    rows = beside(list(_rows(document)), _tables(document))
    apart, units = series_as_rows(value for value, _ in _walk(document))
    rows = apart if len(apart) > len(rows) else rows
    names = list(dict.fromkeys(name for row in rows for name in row))[:_MOST_NAMES]
    if (len(rows) < 2 or not names) and (size := _nameless(document)):
        raise InputError(
            f"is {kind.upper()} with lists of points, {size} numbers each, but no time and no names for them; export "
            "the recording with its times, as CSV, GPX or IGC.",
            where=where,
        )
    if len(rows) < 2 or not names:
        raise InputError(
            f"is {kind.upper()}, but holds no list of points or rows; export the recording as CSV, GPX or IGC.",
            where=where,
        )
    units = units if rows is apart else _units_beside(document, rows)
    of_units = [n for n in names if n.rpartition(".")[2].lower() in _UNIT_NAMES and read_units(str(rows[0].get(n)))]
    names = [n for n in names if n not in of_units]
    columns = [_column(str(k), [row.get(name) for row in rows]) for k, name in enumerate(names)]
    said = [f"{k}: {v}" for value, _ in _walk(document) if isinstance(value, dict) for k, v in value.items()
            if isinstance(v, (str, int, float)) and k not in names and len(str(v)) < 60]  # fmt: skip
    return RawTable(
        names,
        [units.get(name, "") for name in names],
        pl.DataFrame(columns),
        head=said[:_NAMED_ROWS],
        layout=kind.upper(),
    )


def _units_beside(document: Any, rows: list[dict[str, Any]]) -> dict[str, str]:
    """Name → its unit: a mapping called "units" anywhere, or a name of the rows that ends in it ("speed.unit")."""
    out: dict[str, str] = {}
    for value, _ in _walk(document):
        said = value.get("units") if isinstance(value, dict) else None
        if isinstance(said, dict):
            out |= {str(n): u for n, u in said.items() if isinstance(u, str)}
    found, around = _longest(document)
    out |= {n: unit for n, unit in _names_of_rows(around, found, document).items() if unit}
    for name, unit in rows[0].items():
        head, part, last = name.rpartition(".")
        if part and last.lower() in _UNIT_NAMES and isinstance(unit, str):
            out |= {n: unit for n in rows[0] if n.startswith(f"{head}.")}
    return out


def _parsed(data: bytes, where: str) -> Any:
    text = data.decode("utf-8", errors="replace")
    try:
        return json.loads(text)
    except RecursionError:
        raise InputError("is nested too deep; no recording looks so.", where=where) from None
    except ValueError as problem:
        lines = [line for line in text.split("\n") if line.strip()]
        if len(lines) < 2:
            raise InputError(f"is no well-formed JSON ({problem}).", where=where) from None
    out = []
    bad = 0
    for line in lines:
        try:
            out.append(json.loads(line.strip().rstrip(",")))
        except (ValueError, RecursionError):
            bad += 1
    if bad > max(2, 0.05 * len(lines)):
        raise InputError("is neither a JSON document nor JSON lines (one object on each line).", where=where)
    return out


def _rows(document: Any) -> Iterator[dict[str, Any]]:
    """The rows, as flat mappings."""
    if isinstance(document, dict) and (columns := _as_columns(document)):
        yield from columns
        return
    if isinstance(document, list) and document and all(isinstance(d, dict) for d in document[:50]):
        snapshots = [d for d in document if isinstance(d.get("states"), list)]
        if len(snapshots) > 0.5 * len(document):
            for one in snapshots:
                yield from (_named(row, _STATE, one) for row in one["states"] if isinstance(row, list))
            return
    if lines := _timed_lines(document):
        yield from lines
        return
    found, around = _longest(document)
    inside = (
        c for value, _ in _walk(document) if isinstance(value, dict) and len(c := _as_columns(value)) > len(found)
    )
    if columns := next(inside, []):
        yield from columns
        return
    found = _batches(found) if found and all(isinstance(r, dict) for r in found[:50]) else found
    order = _order_of(found, around, document)
    for row in found:
        if isinstance(row, dict):
            yield _flat(_feature(row))
        elif isinstance(row, list):
            yield _named(row, order, around)


def _as_columns(document: dict[str, Any]) -> list[dict[str, Any]]:
    """{"time": [...], "lat": [...]} or {"time": {"0": ...}, ...} as rows; nothing where it isn't so."""
    lists = {
        k: v
        for k, v in document.items()
        if isinstance(v, list) and not any(isinstance(x, (list, dict)) for x in v[:20])
    }
    if len(lists) >= 3:
        size = max(map(len, lists.values()))
        lists = {k: v for k, v in lists.items() if len(v) == size}
        if len(lists) >= 3 and size > 1:
            return [dict(zip(lists, values, strict=True)) for values in zip(*lists.values(), strict=True)]
    maps = {
        k: v
        for k, v in document.items()
        if isinstance(v, dict) and v and not any(isinstance(x, (list, dict)) for x in list(v.values())[:20])
    }
    if len(maps) >= 3:
        keys = next(iter(maps.values())).keys()
        if len(keys) > 1 and all(k.lstrip("-").isdecimal() for k in keys):
            return [{name: v.get(k) for name, v in maps.items()} for k in keys]
    return []


def _tables(document: Any) -> Iterator[list[dict[str, Any]]]:
    """Every list of objects of a document as rows, and every object of lists."""
    for value, _ in _walk(document):
        if isinstance(value, dict):
            yield _as_columns(value)
        elif value and all(isinstance(row, dict) for row in value[:50]):
            yield [_flat(_feature(row)) for row in value if isinstance(row, dict)]


def _longest(document: Any) -> tuple[list[Any], dict[str, Any]]:
    """The longest list of objects or of rows anywhere in a document, and the object it stands in."""
    best: list[Any] = []
    around: dict[str, Any] = {}
    for value, inside in _walk(document):
        if isinstance(value, dict):
            named = [v for v in value.values() if isinstance(v, dict)]  # points under keys of their own
            if len(named) > max(len(best), _NAMED_ROWS) and named[0].keys() == named[-1].keys():
                keyed = [k for k, v in value.items() if isinstance(v, dict)]
                stamped = not all(str(k).lstrip("-").isdecimal() and len(str(k)) < 9 for k in keyed[:50])
                named = [{"key": k, **v} for k, v in zip(keyed, named, strict=True)] if stamped else named
                best, around = named, inside
        else:
            width = len(_names_of_rows(inside, value))
            like = [
                v for v in value if isinstance(v, dict) or (isinstance(v, list) and len(v) in {width, *range(5, 99)})
            ]
            if len(like) > len(best):
                best, around = like, inside
    return best, around


def _walk(document: Any) -> Iterator[tuple[Any, dict[str, Any]]]:
    """The objects and lists of a document, each with the object it stands in; long lists are not looked into."""
    waiting: list[tuple[Any, dict[str, Any]]] = [(document, {})]
    seen = 0
    while waiting and seen < _LOOKED_AT:
        value, inside = waiting.pop()
        seen += 1
        if isinstance(value, dict):
            waiting += [(v, value) for v in value.values() if isinstance(v, (dict, list))]
        elif len(value) < 200:
            waiting += [(v, inside) for v in value if isinstance(v, (dict, list))]
        if isinstance(value, (dict, list)):
            yield value, inside


def _nameless(document: Any) -> int:
    """How many numbers each point of a list has that is too narrow to hold a time without a name; 0: no such list."""
    for value, _ in _walk(document):
        size = len(value[0]) if isinstance(value, list) and len(value) > 2 and isinstance(value[0], list) else 0
        numbers = (isinstance(p, list) and len(p) == size and _is_place(p) for p in (value[:50] if size else ()))
        if 2 <= size <= 4 and all(numbers):
            return size
    return 0


def _is_place(point: list[Any]) -> bool:
    """Begins with what may be a latitude and a longitude, in either order."""
    return all(isinstance(x, (int, float)) and abs(x) <= 180.0 for x in point[:2])


def _order_of(rows: list[Any], around: dict[str, Any], document: Any) -> tuple[str, ...]:
    """Names of the rows' values: a list of them in the document, else the order ADS-B receivers write, else none."""
    if named := _names_of_rows(around, rows, document):
        return tuple(named)
    width = max((len(r) for r in rows if isinstance(r, list)), default=0)
    if width >= 17 and any(isinstance(r[0], str) for r in rows[:20] if r):
        return _STATE
    if any(str(k).lower() in _RECEIVERS for k in around):
        return _TRACK if width == 6 else _TRACE
    return tuple(f"column {k + 1}" for k in range(width))


def _names_of_rows(around: Any, rows: list[Any], document: Any = None) -> dict[str, str]:
    """Name → unit of the rows' values: a list of as many texts or objects, beside the rows or elsewhere; {} if none."""
    width = len(rows[0]) if rows and isinstance(rows[0], list) else 0
    near = [v for v in around.values() if isinstance(v, list)] if isinstance(around, dict) else []
    elsewhere = _walk(document) if document is not None else iter(())
    for value in [*near, *(v for v, _ in elsewhere if isinstance(v, list))] if width > 2 else ():
        if len(value) != width or not all(isinstance(x, (str, dict)) and x for x in value):
            continue
        texts = [[x] if isinstance(x, str) else [v for v in x.values() if isinstance(v, str) and v] for x in value]
        if all(texts) and len({t[0] for t in texts}) == width:
            return {t[0]: next((u for u in t[1:] if read_units(u)), "") for t in texts}
    return {}


def _named(row: list[Any], names: tuple[str, ...], around: dict[str, Any]) -> dict[str, Any]:
    """A row without names; a trace counts its seconds from the document's own time."""
    out = {n: v for n, v in zip(names, row, strict=False) if not isinstance(v, (dict, list))}
    if names is _STATE and out.get("timestamp") is None:
        out["timestamp"] = around.get("time")
    start = around.get("timestamp")
    if names is _TRACE and isinstance(start, (int, float)) and isinstance(out.get("seconds"), (int, float)):
        out["timestamp"] = start + out.pop("seconds")
    if isinstance(height := out.get("pressure altitude"), str):
        out["pressure altitude"] = None
        out["on ground"] = 1.0 if height.strip().lower() == "ground" else None
    elif names is _TRACE and height is not None:
        out["on ground"] = 0.0
    return out


def _timed_lines(document: Any) -> list[dict[str, Any]]:
    """Points of GeoJSON lines whose properties hold the times of their points; by the time, the usual names."""
    if not isinstance(document, dict):
        return []
    features = document.get("features") if document.get("type") == "FeatureCollection" else [document]
    out: list[dict[str, Any]] = []
    for feature in features if isinstance(features, list) else []:
        geometry, said = (feature.get(k) if isinstance(feature, dict) else None for k in ("geometry", "properties"))
        if not isinstance(geometry, dict) or not isinstance(said, dict):
            continue
        beside = said.get("coordinateProperties")
        said = {**said, **(beside if isinstance(beside, dict) else {})}
        times = next((said[k] for k in ("coordTimes", "times", "timestamps") if isinstance(said.get(k), list)), None)
        places = geometry.get("coordinates")
        if times is None and isinstance(places, list) and all(isinstance(p, list) and len(p) == 4 for p in places[:50]):
            times = [p[3] for p in places if isinstance(p, list) and len(p) == 4]  # the time as a fourth number
            places = [p[:3] for p in places if isinstance(p, list) and len(p) == 4]
        if times is None or not isinstance(places, list):
            continue
        if geometry.get("type") == "MultiLineString":
            times = [t for part in times for t in (part if isinstance(part, list) else [part])]
            places = [p for part in places if isinstance(part, list) for p in part]
        out += [
            {"time": t, **dict(zip(_PLACE, p, strict=False))}
            for t, p in zip(times, places, strict=False)
            if isinstance(p, list) and not isinstance(t, (dict, list))
        ]
    return out


def _batches(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Rows that hold a short list for each quantity, from a moment on at a step, as a row for each reading."""
    lists = [n for n, v in rows[0].items() if isinstance(v, list) and len(v) > 1] if rows else []
    if len(lists) < 3 or len({len(rows[0][n]) for n in lists}) != 1:
        return rows
    out: list[dict[str, Any]] = []
    for row in rows:
        size = min((len(row[n]) for n in lists if isinstance(row.get(n), list)), default=0)
        moments = [] if "time" in lists else stepped(row, size)
        out += [({"time": moments[k]} if moments else {}) | {n: row[n][k] for n in lists} for k in range(size)]
    return out


def _feature(row: dict[str, Any]) -> dict[str, Any]:
    """A GeoJSON point with properties, as a row with its coordinates named."""
    geometry = row.get("geometry")
    if not isinstance(geometry, dict) or geometry.get("type") != "Point":
        return row
    place = geometry.get("coordinates") or []
    properties = row.get("properties")
    return {
        **(properties if isinstance(properties, dict) else {}),
        **dict(zip(_PLACE, place, strict=False)),
    }


def _flat(row: dict[str, Any], before: str = "", depth: int = 0) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for name, value in row.items():
        if isinstance(value, dict):
            if depth < _DEPTH:
                out.update(_flat(value, f"{before}{name}.", depth + 1))
        elif not isinstance(value, list):
            out[f"{before}{name}"] = value
        elif (pair := pair_cell(name, value)) is not None:
            out[f"{before}{name}"] = pair  # one cell with both, as tables have it
            out |= {f"{before}{name}.altitude": value[2]} if len(value) > 2 else {}
    return out


def _column(name: str, values: list[Any]) -> pl.Series:
    """Numbers where nearly all that is there is a number, else text."""
    numbers = sum(isinstance(v, (int, float)) or (isinstance(v, str) and bool(NUMBER.match(v))) for v in values)
    known = sum(v is not None and v != "" for v in values)
    grounded = any(isinstance(v, str) and v.lower() == "ground" for v in values)  # for a height, as receivers write
    if numbers and numbers >= 0.7 * known and not grounded:
        return pl.Series(name, [_number(v) for v in values], dtype=pl.Float64)
    return pl.Series(name, [None if v is None else str(v)[:200] for v in values], dtype=pl.String)


def _number(value: Any) -> float | None:
    try:
        return None if value is None or value == "" else float(value)
    except (ValueError, TypeError, OverflowError):
        return None
