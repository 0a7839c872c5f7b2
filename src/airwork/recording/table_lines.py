"""Lines that are no rows yet made rows: values named in each line, words before their numbers, names over two lines,
a database's inserts, a table on its side.
"""

from __future__ import annotations

import re
from collections import Counter

from airwork.recording.names import understand
from airwork.recording.quantities import TIME_QUANTITIES

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
_VALUE = re.compile(r"^\s*([A-Za-z][\w ()/.°-]{0,40}?)\s*[:=]\s+(\S.*)$")
_KINDS, _KIND, _REMARK = 60, re.compile(r"^[$!]?[A-Za-z_]\w{0,11}$"), re.compile(r"\s*(?:#|%|//|;)")
_LOOKED_AT = 400  # lines
_ACROSS, _FEW = 100, 80  # fields and lines of a table on its side
_LABEL = re.compile(r"^[^\W\d_]{2,12}[:=]?$")


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
    """Lines of one form in which words stand before their numbers ([T+003:15] POS 41.1N ALT 3254ft) as a table.

    The words are the same on every line; what stands between two of them are the cells of the first.
    """
    text = data[:16_384].decode("utf-8", errors="replace")
    lines = [line.split() for line in text.split("\n")[:60] if line.strip()][:-1]
    width = Counter(map(len, lines)).most_common(1)[0][0] if len(lines) > 5 else 0
    like = [row for row in lines if len(row) == width]
    same = [k for k in range(width) if len({row[k] for row in like}) == 1 and _LABEL.match(like[0][k])]
    apart = [k for k in range(width) if k not in same]
    if len(same) < 3 or len(apart) < 3 or len(like) < 0.8 * len(lines) or "," in "".join(like[0]):
        return data
    names: list[str] = []
    for k in apart:
        label = next((like[0][j].strip(":=") for j in range(k - 1, -1, -1) if j in same), "time")
        names.append(label if label not in names else f"{label} {sum(n.startswith(label) for n in names) + 1}")
    rows = [line.split() for line in data.decode("utf-8", errors="replace").split("\n")]
    kept = [row for row in rows if len(row) == width and all(row[k] == like[0][k] for k in same)]
    out = [",".join(names), *(",".join(row[k].strip("[]()").replace(",", ".") for k in apart) for row in kept)]
    return ("\n".join(out) + "\n").encode()


def inserted(data: bytes) -> bytes:
    """A database's dump (INSERT INTO track (time, lat, ...) VALUES (...), (...);) as a table with a header."""
    if (first := _INSERTS.search(data[:262_144])) is None:
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


def of_kinds(data: bytes) -> bytes:
    """Rows of several kinds, each named by its first cell, as one table; rows of one time become one.

    The names of a kind stand in a row of it, in a row or a remark that names the kind before them (COLUMNS, 3, SAT).
    """
    lines = data[:65_536].decode("utf-8", errors="replace").split("\n", _LOOKED_AT)[:_LOOKED_AT]
    part = max(",;\t", key=lambda c: sum(c in line for line in lines))
    rows = [[c.strip() for c in line.split(part)] for line in lines if line.strip() and not _REMARK.match(line)]
    shapes = Counter((row[0], len(row)) for row in rows if any(c[:1].isdigit() for c in row[1:]))
    widths = {k: n - 1 for (k, n), _ in reversed(shapes.most_common()) if n > 2}
    kinds = {row[0] for row in rows}
    if sum(count > 2 for count in shapes.values()) < 2 or len(kinds) > _KINDS or not all(map(_KIND.match, kinds)):
        return data
    names: dict[str, list[str]] = {}
    for line in lines:
        cells = [c.strip() for c in re.split(rf"[{part}:=]" if _REMARK.match(line) else part, line.strip(" #%/;"))]
        cells[0] = cells[0].split()[-1] if cells[0] and _REMARK.match(line) else cells[0]  # def gps: ms, lat
        at = next((k for k in range(len(cells) - 1, -1, -1) if cells[k] in widths), -1)
        said = cells[at + 1 :][-widths[cells[at]] :] if at >= 0 else []
        if (
            at >= 0
            and len(said) == widths[cells[at]]
            and all(c and not c[0].isdigit() and c[0] not in "+-." for c in said)
        ):
            names.setdefault(cells[at], said)
    if len(names) < 2:
        return data
    firsts = {n[0] for n in names.values()}
    one_clock = len(firsts) == 1 or all((m := understand(n)) and m.quantity in TIME_QUANTITIES for n in firsts)
    shared = next(iter(names.values()))[0]
    times = Counter(n for own in names.values() for n in own)
    column = {k: [n if times[n] == 1 else f"{k.strip('$')} {n}" for n in own] for k, own in names.items()}
    column = {k: [shared, *own[1:]] if one_clock else own for k, own in column.items()}
    column = {k: _of_receiver(own) for k, own in column.items()}
    every = list(dict.fromkeys(n for own in column.values() for n in own))
    found: dict[str, dict[str, str]] = {}
    for k, line in enumerate(data.decode("utf-8", errors="replace").split("\n")):
        cells = [c.strip() for c in line.split(part)]
        if cells[0] in names and len(cells) > 1 and cells[1:] != names[cells[0]]:
            found.setdefault(cells[1] if one_clock else str(k), {}).update(
                zip(column[cells[0]], cells[1:], strict=False)
            )
    head = [line for line in lines if _REMARK.match(line)]
    return "\n".join(
        [*head, part.join(every), *(part.join(r.get(n, "") for n in every) for r in found.values()), ""]
    ).encode()


def _of_receiver(names: list[str]) -> list[str]:
    """Beside latitude and longitude a height that is only called so is the receiver's."""
    said = [(m.quantity if (m := understand(n)) is not None else "") for n in names]
    there = {"latitude", "longitude"} <= {*said}
    return [f"gps {n}" if there and q == "altitude" else n for n, q in zip(names, said, strict=True)]


def sections(data: bytes) -> bytes:
    """Tables one below the other that begin with the same column and tell of the same time, as one table."""
    lines = data.split(b"\n")
    begin = next((k for k, line in enumerate(lines[:_LOOKED_AT]) if _is_names(line) and _under(lines, k)), -1)
    part = _part(lines[begin])
    first = lines[begin].split(part)[0] + part
    starts = [k for k, line in enumerate(lines) if line.startswith(first) and _is_names(line)] if begin >= 0 else []
    if len(starts) < 2 or len(first) < 3 or len({lines[k].strip() for k in starts}) != len(starts):
        return data
    rows: dict[bytes, dict[bytes, bytes]] = {}
    spans, seen = [], set[bytes]()
    for start, end in zip(starts, [*starts[1:], len(lines)], strict=True):
        names = [name.strip() for name in lines[start].split(part)]
        if len(seen & {*names}) > len(names) // 2:
            return data  # the same table in other units
        seen |= {*names}
        cells = [line.split(part) for line in lines[start + 1 : end]]
        cells = [c for c in cells if len(c) == len(names)]
        for c in cells:
            rows.setdefault(c[0], {}).update(zip(names, c, strict=True))
        spans += [(cells[0][0], cells[-1][0])] if cells else []
    if len(spans) < 2 or any(not (spans[0][0] <= at <= spans[0][1]) for at, _ in spans[1:]):
        return data
    every = list(dict.fromkeys(name for row in rows.values() for name in row))
    out = [*lines[:begin], part.join(every), *(part.join(row.get(n, b"") for n in every) for row in rows.values())]
    return b"\n".join(out) + b"\n"


def _part(line: bytes) -> bytes:
    return max((b";", b"\t", b","), key=line.count)


def _under(lines: list[bytes], k: int) -> bool:
    """A row of as many cells with numbers stands under a line."""
    row = lines[k + 1].split(_part(lines[k])) if k + 1 < len(lines) else []
    return (
        len(row) > 2 and len(row) == lines[k].count(_part(lines[k])) + 1 and any(c.strip()[:1].isdigit() for c in row)
    )


def _is_names(line: bytes) -> bool:
    cells = [c.strip() for c in line.split(_part(line))]
    return len(cells) > 1 and all(c and not c.strip(b'"')[:1].isdigit() and c[:1] not in b"-+.#[" for c in cells)


def blocks(data: bytes) -> bytes:
    """A line for each value (Latitude: -34.6), a block for each moment, as a table: each begins with the first name."""
    text = data[:8_192].decode("utf-8", errors="replace")
    found = [m.groups() for line in text.split("\n")[:-1] if (m := _VALUE.match(line))]
    lines = [line for line in text.split("\n")[:-1] if line.strip()]
    if len(found) < 0.95 * len(lines) or len(found) < 20 or sum(n == found[0][0] for n, _ in found) < 3:
        return data
    rows: list[dict[str, str]] = []
    for line in data.decode("utf-8", errors="replace").split("\n"):
        if (m := _VALUE.match(line)) is None:
            continue
        if m[1] == found[0][0] or not rows:
            rows.append({})
        rows[-1][m[1]] = m[2].strip().replace(",", ".")
    names = list(dict.fromkeys(n for row in rows[:50] for n in row))[:MOST_COLUMNS]
    return ("\n".join([",".join(names), *(",".join(r.get(n, "") for n in names) for r in rows)]) + "\n").encode()
