"""Lines that are no rows yet made rows: values named in each line, words before their numbers, names over two lines."""

from __future__ import annotations

import re
from collections import Counter

MOST_COLUMNS = 2_000
_PAIRS = re.compile(r"""([A-Za-z_][\w.]*)=("[^"]*"|[^\s;]*)""")
_STAMPED = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d\S*")
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
    if text.count("=") < 10:
        return data
    lines = [line for line in text.split("\n")[:20] if line.strip()][:-1]
    found = [_PAIRS.findall(line) for line in lines]
    named = [sum(len(n) + len(v) + 2 for n, v in f) > 0.5 * len(x) for f, x in zip(found, lines, strict=True)]
    if len(found) < 5 or sum(len(f) > 2 and n for f, n in zip(found, named, strict=True)) < 0.8 * len(found):
        return data
    lines = data.decode("utf-8", errors="replace").split("\n")
    rows = [{"time": stamp[0]} if (stamp := _STAMPED.match(line)) else {} for line in lines]
    rows = [row | dict(_PAIRS.findall(line)) for row, line in zip(rows, lines, strict=True)]
    names = list(dict.fromkeys(name for row in rows for name in row))[:MOST_COLUMNS]
    out = [",".join(names), *(",".join(row.get(n, "").replace(",", ".") for n in names) for row in rows if row)]
    return ("\n".join(out) + "\n").encode()


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
