"""Small tables with their headers, units, rows and cells changed, as CSV or JSON: what people's recorders write."""

from __future__ import annotations

import io
import json
import random
from collections.abc import Callable
from typing import Any

ODD_CELLS = (
    "", " ", "-", "--", "nan", "NaN", "inf", "null", "N/A", "0", "-0", "1e308", "-1e308", "1e-320", "9" * 30, "1,234.5",
    "1.234,5", "12 kt", "3000ft", "-999", "-9999", "32767", "24:00:00", "23:59:60", "2026-02-30", "0000-00-00", "12:60",
    "1/13/2026 10:00", "13/1/26", "20260230T250000Z", "2026-05-01T10:00:00.999999999+14:00", "946684800", "1e12",
    "1899-12-30", "9999-12-31T23:59:59Z", "-0001-01-01", "N50 27.51", "50°27'31\"N", "\u202e12", "Ω", "\x00", "'", '"',
    "=1+1", "a" * 300, "10:00:00 PM", "CET", "10:00:00 CET", "true", "[1,2]", "{}", "0x10", "٣", "½",
)  # fmt: skip
NAMES = (
    "time", "Time", "UTC Time", "timestamp", "date", "Date", "Local Time", "lat", "Latitude", "lon", "long", "altitude",
    "Altitude MSL", "Pressure Altitude", "height", "IAS", "TAS", "speed", "Ground Speed", "track", "heading", "HDG",
    "pitch", "roll", "bank", "VSI", "vertical speed", "RPM", "MAP", "fuel flow", "OAT", "G load", "flaps", "wind speed",
    "baro", "utc offset", "icao24", "callsign", "x", "", "a b c", "№", "elapsed", "sec",
)  # fmt: skip
UNITS = ("", "ft", "m", "kt", "kts", "mph", "km/h", "m/s", "deg", "rad", "°C", "°F", "inHg", "hPa", "fpm", "ft/min",
         "G", "gal", "L", "gph", "lb", "s", "ms", "%", "(kt)", "[ft]", "furlong")  # fmt: skip
DELIMITERS = (",", ";", "\t", "|", " ", ", ")
CODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-be", "latin-1", "cp1252")
Table = list[list[str]]


def table_of(text: str, delimiter: str = ",") -> Table:
    """Rows of cells, the header first."""
    return [line.split(delimiter) for line in text.strip().splitlines()]


def made_table(base: Table, raw: bytes) -> tuple[Table, random.Random]:
    """A table with one thing changed for each four bytes, and the choices that are left."""
    table = [list(row) for row in base]
    pick = random.Random(raw)
    if pick.random() < 0.7:  # a few of the columns, so that each is looked at often and an input costs little
        width = pick.randint(2, min(7, len(table[0])))
        kept = [0, *sorted(pick.sample(range(1, len(table[0])), width - 1))]
        table = [[row[c] for c in kept] for row in table]
    for at in range(0, len(raw), 4):
        pick = random.Random(raw[at : at + 4])
        CHANGES[pick.randrange(len(CHANGES))](table, pick)
    return table, pick


def _name(table: Table, pick: random.Random) -> None:
    gap, unit = pick.choice((" ", " (", " [", "_", "")), pick.choice(UNITS)
    close = {" (": ")", " [": "]"}.get(gap, "")
    at = pick.randrange(len(table[0]) or 1)
    old = table[0][at] if at < len(table[0]) else ""
    stem = pick.choice(NAMES) if pick.random() < 0.6 else old.split("(")[0].split("[")[0].strip()
    table[0][at : at + 1] = [f"{stem}{gap}{unit}{close}" if unit else stem]


def _cell(table: Table, pick: random.Random) -> None:
    row = pick.choice(table[1:] or table)
    if row:
        row[pick.randrange(len(row))] = pick.choice(ODD_CELLS)


def _number(table: Table, pick: random.Random) -> None:
    """A column's numbers in another unit, turned round, with holes, wrong at one row, or all the same."""
    at = pick.randrange(len(table[0]) or 1)
    factor = pick.choice((-1.0, 0.0, 0.3048, 1.852, 0.5144, 3.6, 57.29578, 1e-3, 1e3, 1e6, 1e30))
    only, holes = pick.choice((None, None, pick.randrange(1, len(table) + 1))), pick.random() < 0.2
    for k, row in enumerate(table[1:], 1):
        if at < len(row) and only in {None, k}:
            try:
                row[at] = "" if holes and pick.random() < 0.5 else f"{float(row[at]) * factor:g}"
            except ValueError:
                row[at] = row[1 - k % 2] if len(row) > 1 else ""


def _rows(table: Table, pick: random.Random) -> None:
    at, what = pick.randrange(1, len(table) + 1), pick.randrange(7)
    if what == 0:
        del table[at : at + pick.randint(1, 3)]
    elif what == 1:
        table[at:at] = [list(row) for row in table[at : at + pick.randint(1, 8)]]
    elif what == 2:
        body = table[1:]
        pick.shuffle(body)
        table[1:] = body
    elif what == 3:
        table.insert(at, [])
    elif what == 4:
        table.insert(at, list(table[0]))  # the header again, as joined files have it
    elif what == 5:
        table.insert(pick.choice((0, 1, at)), [pick.choice((*UNITS, *NAMES, *ODD_CELLS)) for _ in table[0]])
    else:
        table[1:] = [list(row) for row in table[1:] for _ in range(pick.randint(2, 5))]


def _columns(table: Table, pick: random.Random) -> None:
    at, to, what = pick.randrange(len(table[0]) or 1), pick.randrange(len(table[0]) or 1), pick.randrange(5)
    for row in table:
        if what == 0 and at < len(row):
            del row[at]
        elif what == 1 and at < len(row):
            row.insert(to, row[at])
        elif what == 2 and at < len(row):
            row.insert(to, row.pop(at))
        elif what == 3 and row is not table[0] and pick.random() < 0.5:
            del row[at:]  # cut short
        elif what == 4 and pick.random() < 0.3:
            row.append(pick.choice(ODD_CELLS))


def _stamps(table: Table, pick: random.Random) -> None:
    """The first column's times in another form, backward, standing still, or with a jump."""
    form = pick.choice(STAMPS)
    start, step = pick.choice((0, 86_390, 1_770_000_000, 946_684_790)), pick.choice((1.0, 0.1, 0.0, -1.0, 3600.0, 1e7))
    for k, row in enumerate(table[1:]):
        row[:1] = [form(start + k * step)]


def _clock(s: float, gap: str = ":") -> str:
    return f"{int(s // 3600) % 24:02d}{gap}{int(s // 60) % 60:02d}{gap}{int(s) % 60:02d}"


STAMPS: tuple[Callable[[float], str], ...] = (
    lambda s: f"{s:g}", lambda s: f"{s * 1000:.0f}", lambda s: f"{s:.3f}", _clock, lambda s: _clock(s, ""),
    lambda s: _clock(s) + " PM", lambda s: f"2026-05-01T{_clock(s)}Z", lambda s: f"2026-05-01 {_clock(s)}.5 -06:00",
    lambda s: f"01.05.2026 {_clock(s)}", lambda s: f"5/1/2026 {_clock(s)}", lambda s: f"{25569 + s / 86400:.6f}",
    lambda s: f"{2440587.5 + s / 86400:.6f}", lambda s: f"{int(s // 60) % 60}:{s % 60:.1f}",
    lambda s: f"May 1 {_clock(s)}", lambda s: f"{_clock(s)} CEST",
    lambda s: f"{int(s // 3600)}h{int(s // 60) % 60:02d}m{int(s) % 60:02d}s",
)  # fmt: skip
CHANGES: tuple[Callable[[Table, random.Random], None], ...] = (
    _name, _name, _cell, _cell, _cell, _number, _number, _rows, _columns, _stamps,
)  # fmt: skip


def as_csv(table: Table, pick: random.Random) -> bytes:
    """Written with some delimiter, decimal mark, quotes, preamble, line end and encoding; mostly the plain ones."""
    plain = pick.random() < 0.6
    mark = "," if plain else pick.choice(DELIMITERS)
    lines = [mark.join(row) for row in table]
    if not plain:
        if pick.random() < 0.3 and mark != ",":
            lines = [line.replace(".", ",") for line in lines]
        if pick.random() < 0.2:
            lines = [mark.join(f'"{cell}"' for cell in line.split(mark)) for line in lines]
        if pick.random() < 0.4:
            lines[:0] = [
                pick.choice(("# recorder 1", "Aircraft: N1", mark * 3, "sep=;", "", "#units," + mark.join(UNITS)))
            ]
    text = ("\n" if plain else pick.choice(("\n", "\r\n", "\r", "\n\n"))).join(lines)
    coding = "utf-8" if plain else pick.choice(CODINGS)
    data = (text + "\n" * pick.randint(0, 1)).encode(coding, errors="replace")
    return data if pick.random() < 0.95 else data[: pick.randint(0, len(data))]


def _cells(cell: str) -> Any:
    try:
        return float(cell)
    except ValueError:
        return cell


def as_json(table: Table, pick: random.Random) -> bytes:
    """Written as one object to a row, lines of objects, columns, rows beside their names, or objects inside objects."""
    names, rows = table[0] if table else [], [[_cells(c) for c in row] for row in table[1:]]
    objects: list[Any] = [dict(zip(names, row, strict=False)) for row in rows]
    what = pick.randrange(7)
    if what == 1:
        return "\n".join(json.dumps(o) for o in objects).encode()
    shape: Any = objects
    if what == 2:
        shape = {name: [row[k] if k < len(row) else None for row in rows] for k, name in enumerate(names)}
    elif what == 3:
        shape = {"columns": names, "data": rows}
    elif what == 4:
        shape = {"result": {"track": [{"time": o.pop(next(iter(o), ""), None), "position": o} for o in objects]}}
    elif what == 5:
        where = [(o.get("Longitude (deg)"), o.get("Latitude (deg)")) for o in objects]
        shape = {"type": "FeatureCollection", "features": [
            {"type": "Feature", "geometry": {"type": "Point", "coordinates": w}, "properties": o}
            for w, o in zip(where, objects, strict=True)]}  # fmt: skip
    elif what == 6:
        shape = [rows, names, None, objects][: pick.randint(1, 4)]
    box = io.StringIO()
    json.dump(shape, box)
    return box.getvalue().encode()
