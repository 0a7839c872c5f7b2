"""Lines that are no rows yet made rows: values named in each line, names over two lines, a table on its side."""

from __future__ import annotations

import re

MOST_COLUMNS = 2_000
_ACROSS, _FEW = 100, 80  # fields and lines of a table on its side
# time=12:00:01, or alt: 3254 ft
_PAIRS = re.compile(
    r"""([A-Za-z_][\w.]*)(?:=|:\s+(?=[-+]?\d))("[^"]*"|-?\d+\.\d+, ?-?\d+\.\d+(?=[\s;|]|$)"""
    r"""|[^\s;,|]*(?:\s[A-Za-z°/]{1,5}(?=[\s,;|]|$)(?!=))?)"""
)
_STAMPED = re.compile(r"\[?(?:[A-Z][a-z]{2} [ \d]\d )?((?:\d{4}-\d\d-\d\d[T ])?\d\d:\d\d:\d\d[^\s\],;]*)")
# "; GPS: clock, latitude, ..." above lines that begin with GPS
_KIND_NAMES = re.compile(r"(?m)^[ \t]*[;#][ \t]*(\w{2,12}):[ \t]*([^,;\r\n]+(?:[,;][^,;\r\n]+)+)\r?$")
_KINDS, _REMARKS = 2, (";", "#")
VALUE = re.compile(r"^\s*([A-Za-z][\w ()/.°-]{0,40}?)\s*[:=]\s+(\S.*)$")


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
