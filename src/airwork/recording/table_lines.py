"""Lines that are no rows yet made rows: values named in each line, words before their numbers, names over two lines,
a database's inserts, a table on its side.
"""

from __future__ import annotations

import re
from collections import Counter
from functools import reduce
from itertools import pairwise
from operator import xor

MOST_COLUMNS = 2_000
# time=12:00:01, or alt: 3254 ft
_PAIRS = re.compile(
    r"""([A-Za-z_][\w.]*)(?:=|:\s+(?=[-+]?\d))("[^"]*"|-?\d+\.\d+, ?-?\d+\.\d+(?=[\s;|]|$)"""
    r"""|[^\s;,|]*(?:\s[A-Za-z°/]{1,5}(?=[\s,;|]|$)(?!=))?)"""
)
_STAMPED = re.compile(r"\[?(?:[A-Z][a-z]{2} [ \d]\d )?((?:\d{4}-\d\d-\d\d[T ])?\d\d:\d\d:\d\d[^\s\],;]*)")
_INSERTS = re.compile(rb"(?i)insert\s+into\s+\S+?\s*(?:\(([^()]*)\))?\s*values\s*")
_CREATES = re.compile(rb"(?is)create\s+table\s+[^(]*\((.*?)\)\s*;")
_TUPLE = re.compile(rb"\(((?:'[^']*'|[^()'])*)\)")
VALUE = re.compile(r"^\s*([A-Za-z][\w ()/.°-]{0,40}?)\s*[:=]\s+(\S.*)$")
_ACROSS, _FEW = 100, 80  # fields and lines of a table on its side
_FIX_LINE = re.compile(
    rb"(?m)^@(\d{6})(\d{6})([NS])(\d\d)(\d{5})([EW])(\d{3})(\d{5})[A-Za-z]\d{3}([+-]\d{5})"
    rb"([EW])(\d{4})([NS])(\d{4})([UD])(\d{4})\s*$"
)
_FIX_NAMES = (
    "time,latitude (deg),longitude (deg),gps altitude (m),speed east (0.1 m/s),speed north (0.1 m/s),climb (cm/s)"
)
# "; GPS: clock, latitude, ..." above lines that begin with GPS
_KIND_NAMES = re.compile(r"(?m)^[ \t]*[;#][ \t]*(\w{2,12}):[ \t]*([^,;\r\n]+(?:[,;][^,;\r\n]+)+)\r?$")
_KINDS, _REMARKS = 2, (";", "#")
_LABEL = re.compile(r"^[^\W\d_]{2,12}[:=]?$")


def position_lines(data: bytes) -> bytes:
    """A receiver's plain text of one fix a line, its figures at fixed places (order from memory), as a table.

    Day and clock in UTC, latitude and longitude in degrees and thousandths of a minute, what of a fix, height [m],
    velocity east and north [0.1 m/s] and up [0.01 m/s].
    """
    found = _FIX_LINE.findall(data) if b"@" in data else []
    if len(found) < 2 or len(found) < 0.2 * data.count(b"\n"):
        return data
    rows = []
    for cells in found:
        day, clock, ns, lat, lat_min, ew, lon, lon_min, high, e, east, n, north, u, up = (c.decode() for c in cells)
        stamp = f"20{day[:2]}-{day[2:4]}-{day[4:]}T{clock[:2]}:{clock[2:4]}:{clock[4:]}Z"
        places = [
            f"{('-' if side in 'SW' else '') + str(int(whole) + int(part) / 60_000.0)}"
            for side, whole, part in ((ns, lat, lat_min), (ew, lon, lon_min))
        ]
        speeds = [("-" if s in "WSD" else "") + v for s, v in ((e, east), (n, north), (u, up))]
        rows.append(",".join([stamp, *places, str(int(high)), *speeds]))
    return "\n".join([_FIX_NAMES, *rows, ""]).encode()


def position_reports(data: bytes) -> bytes:
    """Lines of a packet radio network's position reports (APRS 1.0, uncompressed, with a clock) as a table.

    CALL>...:/hhmmsshddmm.mmN/dddmm.mmE'ccc/sss/A=ffffff: course [deg], speed [kt], altitude [ft]; "!W12!" adds a
    digit to the minutes, "+123fpm" the climb, as networks of gliders and light airplanes write them.
    """
    found = _REPORT.findall(data) if b":/" in data else []
    if len(found) < 2 or len(found) < 0.3 * data.count(b"\n"):
        return data
    rows = []
    for call, clock, lat, lat_min, ns, lon, lon_min, ew, course, speed, high, rest in (
        [c.decode(errors="replace") for c in cells] for cells in found
    ):
        more = _MORE.search(rest)
        places = [
            f"{('-' if side in 'SW' else '') + format(int(whole) + float(part + digit) / 60.0, '.6f')}"
            for side, whole, part, digit in (
                (ns, lat, lat_min, more[1] if more else ""),
                (ew, lon, lon_min, more[2] if more else ""),
            )
        ]
        climb = _CLIMBS.search(rest)
        moving = [course, speed] if course + speed != "000000" else ["", speed]
        rows.append(",".join([call, f"{clock[:2]}:{clock[2:4]}:{clock[4:]}", *places, *moving, high.lstrip("0") or high,
                              climb[1] if climb else ""]))  # fmt: skip
    return "\n".join([_REPORT_NAMES, *rows, ""]).encode()


_REPORT = re.compile(
    rb"(?m)^([A-Z0-9-]{3,9})>[^:\n]*:/(\d{6})h(\d\d)(\d\d\.\d\d)([NS]).(\d{3})(\d\d\.\d\d)([EW]).(\d{3})/(\d{3})"
    rb"(?:/A=(-?\d{5,6}))?(.*)$"
)
_REPORT_NAMES = (
    "callsign,utc time,latitude (deg),longitude (deg),track (deg),ground speed (kt),altitude (ft),climb rate (fpm)"
)
_MORE, _CLIMBS = re.compile(r"!W(\d)(\d)!"), re.compile(r"(?<!\S)([+-]\d+)fpm")


def own_sentences(data: bytes) -> bytes:
    """A receiver's stored track in sentences of its maker's own, one fix each, as a table.

    They have the form of NMEA 0183 ($P..., fields, checksum): a place with its sides, meters with their M, a clock and
    a day as the standard writes them. Sentences whose checksum is wrong are left out.
    """
    found = _OWN.findall(data) if b"$P" in data else []
    if len(found) < 2 or len(found) < 0.5 * len([1 for x in data.split(b"\n") if x.strip()]):
        return data
    rows = []
    for body, checksum in found:
        cells = body.decode("ascii", "replace").split(",")
        at = next((k for k in range(len(cells) - 3) if _OWN_PLACE.match(",".join(cells[k : k + 4]))), -1)
        if at < 0 or reduce(xor, body) != int(checksum, 16):
            continue
        lat, ns, lon, ew, *rest = cells[at:]
        high = next((a for a, b in pairwise(rest) if b == "M" and _NUMBER.match(a)), "")
        clock = next((c for c in rest if re.match(r"^[0-2]\d[0-5]\d[0-5]\d(?:\.\d+)?$", c)), "")
        day = next((c for c in reversed(rest) if re.match(r"^[0-3]\d[01]\d\d\d$", c) and c != clock), "")
        places = [
            ("-" if side in "SW" else "") + format(int(x[:n]) + float(x[n:]) / 60.0, ".7f")
            for x, side, n in ((lat, ns, 2), (lon, ew, 3))
        ]
        stamp = f"20{day[4:]}-{day[2:4]}-{day[:2]}T" if day else ""
        rows.append(",".join([f"{stamp}{clock[:2]}:{clock[2:4]}:{clock[4:]}{'Z' if day else ''}", *places, high]))
    names = "utc time,latitude (deg),longitude (deg),gps altitude (m)"
    return "\n".join([names, *rows, ""]).encode() if len(rows) > 1 else data


_OWN = re.compile(rb"(?m)^\$(P[A-Z]{2,}[^*\r\n]*)\*([0-9A-Fa-f]{2})\r?$")
_OWN_PLACE = re.compile(r"^\d{4}\.\d+,[NS],\d{5}\.\d+,[EW]$")
_NUMBER = re.compile(r"^-?\d+(?:\.\d+)?$")


def names_on_one_line(data: bytes) -> bytes:
    """A spreadsheet's names may have line ends within their quotation marks; those of the first lines become blanks."""
    parts = data[:8_192].split(b'"')
    if len(parts) < 3 or not any(b"\n" in part for part in parts[1:-1:2]):
        return data
    inside = [len(p) < 60 for p in parts[1:-1:2] if b"\n" in p]
    if not all(inside):  # a stray mark, not a name
        return data
    parts[1:-1:2] = [part.replace(b"\r\n", b" ").replace(b"\n", b" ") for part in parts[1:-1:2]]
    return b'"'.join(parts) + data[8_192:]


def named_cells(data: bytes) -> bytes:
    """Lines that name each value (time=12:00:01 lat=47.1 ...) as a table with a header; other data as they are.

    A program's log begins each line with its clock: that is the time where none is named.
    """
    text = data[:8_192].decode("utf-8", errors="replace")
    if text.count("=") + text.count(": ") < 10:
        return data
    lines = [line for line in text.split("\n")[:20] if line.strip()][:-1]
    found = [_PAIRS.findall(line) for line in lines]
    named = [sum(len(n) + len(v) + 2 for n, v in f) > 0.4 * len(x) for f, x in zip(found, lines, strict=True)]
    if len(found) < 5 or sum(len(f) > 2 and n for f, n in zip(found, named, strict=True)) < 0.8 * len(found):
        return data
    lines = data.decode("utf-8", errors="replace").split("\n")
    rows = [{"time": stamp[1]} if (stamp := _STAMPED.match(line)) else {} for line in lines]
    rows = [row | dict(_PAIRS.findall(line)) for row, line in zip(rows, lines, strict=True)]
    first = next(k for k, row in enumerate(rows) if len(row) > 2)
    names = list(dict.fromkeys(name for row in rows[first:] for name in row))[:MOST_COLUMNS]
    cells = (",".join(_cell(row.get(n, "")) for n in names) for row in rows[first:] if row)
    out = [*(f"# {line}" for line in lines[:first]), ",".join(names), *cells]
    return ("\n".join(out) + "\n").encode()


def _cell(text: str) -> str:
    """Free of commas that would part it, but for a pair of places."""
    return f'"{text}"' if "," in text and text.count(".") > 1 and text[:1] != '"' else text.replace(",", ".")


def labeled_cells(data: bytes) -> bytes:
    """Lines in which words stand before their numbers ([T+003:15] POS 41.1N ALT 3254ft) as a table.

    The words are the same on every line of a kind; what stands between two of them are the cells of the first.
    """
    text = data[:16_384].decode("utf-8", errors="replace")
    lines = [line.split() for line in text.split("\n")[:60] if line.strip()][:-1]
    forms = {form for form, count in Counter(map(_form, lines)).items() if count > 0.1 * len(lines)}
    few = any(len(words) - words.count("") < (3 if len(forms) == 1 else 2) or words.count("") < 3 for words in forms)
    like = sum(_form(row) in forms for row in lines)
    if (
        len(lines) < (6 if len(forms) == 1 else 20)
        or not forms
        or few
        or like < 0.8 * len(lines)
        or "," in text.partition("\n")[0]
    ):
        return data
    rows: list[dict[str, str]] = []
    for line in data.decode("utf-8", errors="replace").split("\n"):
        if (words := _form(cells := line.split())) in forms:
            rows.append({})
            label = "time"
            for word, cell in zip(words, cells, strict=True):
                label = word.strip(":=") or label
                again = sum(n == label or n.startswith(f"{label} ") for n in rows[-1])
                rows[-1] |= (
                    {} if word else {f"{label} {again + 1}" if again else label: cell.strip("[]()").replace(",", ".")}
                )
    names = list(dict.fromkeys(n for row in rows for n in row))
    return ("\n".join([",".join(names), *(",".join(row.get(n, "") for n in names) for row in rows)]) + "\n").encode()


def _form(row: list[str]) -> tuple[str, ...]:
    """The words of a line, "" for its other cells."""
    return tuple(cell if _LABEL.match(cell) else "" for cell in row)


def inserted(data: bytes) -> bytes:
    """A database's dump (INSERT INTO track (time, lat, ...) VALUES (...), (...);) as a table with a header."""
    head = data[:262_144]
    if b"insert" not in head.lower() or (first := _INSERTS.search(head)) is None:
        return data
    names = first[1].split(b",") if first[1] else []
    if not names and (made := _CREATES.search(data[: first.start()])):
        names = [part.split()[0] for part in re.split(rb",(?![^(]*\))", made[1]) if part.split()]
    rows = [re.findall(rb"'[^']*'|[^,]+", m[1]) for m in _TUPLE.finditer(_INSERTS.sub(b"", data[first.start() :]))]
    rows = [row for row in rows if len(row) == len(names)]
    if len(rows) < _FEW // 8:
        return data
    lines = [names, *rows]
    return b"".join(b",".join(c.strip().strip(b"'`\"").replace(b",", b" ") for c in row) + b"\n" for row in lines)


def turned(data: bytes) -> bytes:
    """A table on its side, a line for each quantity that begins with its name, put upright."""
    lines = [line for line in data.split(b"\n") if line.strip()] if data.count(b"\n") <= _FEW else []
    for part in (b"\t", b";", b"|", b","):
        wide = [line.split(part) for line in lines if line.count(part) > _ACROSS]
        width = max(map(len, wide), default=0)
        rows = [row for row in wide if len(row) > 0.9 * width]
        if len(rows) >= 3 and all(any(c.isalpha() for c in row[0].decode("utf-8", errors="replace")) for row in rows):
            rows = [row + [b""] * (width - len(row)) for row in rows]
            return b"\n".join(part.join(row) for row in zip(*rows, strict=True)) + b"\n"
    return data


def blocks(data: bytes) -> bytes:
    """A line for each value (Latitude: -34.6), a block for each moment, as a table: each begins with the first name."""
    text = data[:8_192].decode("utf-8", errors="replace")
    found = [m.groups() for line in text.split("\n")[:-1] if (m := VALUE.match(line))]
    lines = [line for line in text.split("\n")[:-1] if line.strip()]
    if len(found) < 0.95 * len(lines) or len(found) < 20 or sum(n == found[0][0] for n, _ in found) < 3:
        return data
    rows: list[dict[str, str]] = []
    for line in data.decode("utf-8", errors="replace").split("\n"):
        if (m := VALUE.match(line)) is None:
            continue
        if m[1] == found[0][0] or not rows:
            rows.append({})
        rows[-1][m[1]] = m[2].strip().replace(",", ".")
    names = list(dict.fromkeys(n for row in rows[:50] for n in row))[:MOST_COLUMNS]
    return ("\n".join([",".join(names), *(",".join(r.get(n, "") for n in names) for r in rows)]) + "\n").encode()


def kinds_of_lines(data: bytes) -> bytes:
    """Lines of several kinds, told by their first cell, whose names stand in remarks above, as a table.

    ; GPS: clock, latitude, longitude and below it GPS;10:20:11;40,37;-3,78: a row has the cells of its own kind alone,
    and what all kinds call alike (their clock) is one column.
    """
    said = {
        m[1]: [n.strip() for n in re.split(r"[,;](?![^(]*\))", m[2])]
        for m in _KIND_NAMES.finditer(data[:8_192].decode("utf-8", errors="replace"))
    }
    if len(said) < _KINDS:
        return data
    lines = [line.rstrip("\r") for line in data.decode("utf-8", errors="replace").split("\n")]
    rows = [line.split(part) for part in ";|\t," for line in lines if line.partition(part)[0] in said]
    rows = [row for row in rows if len(row) == 1 + len(said[row[0]])]
    bare = [line for line in lines if line.strip() and not line.lstrip().startswith(_REMARKS)]
    if len(rows) < max(_FEW // 4, 0.95 * len(bare)) or len({row[0] for row in rows}) < _KINDS:
        return data
    shared = set.intersection(*({*names} for names in said.values()))
    own = {kind: [n if n in shared else f"{kind} {n}" for n in names] for kind, names in said.items()}
    names = list(dict.fromkeys(n for kind in own.values() for n in kind))
    out = [line for line in lines[:_FEW] if line.lstrip().startswith(_REMARKS)]
    out.append(";".join(names))
    for row in rows:
        cells = dict(zip(own[row[0]], row[1:], strict=True))
        out.append(";".join(cells.get(n, "") for n in names))
    return ("\n".join(out) + "\n").encode()
