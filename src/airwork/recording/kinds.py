"""Rows of several kinds (sensors, messages, tables one below the other) → one table, each kind's quantities apart.

A kind is told by a word in its rows (GPS,... AIR,...), by the number of its cells, or by the row of names above them.
Its rows are laid into columns of their own, the others' left blank; `moments.py` then makes the rows of one moment one.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from airwork.recording.names import understand
from airwork.recording.quantities import QUANTITIES, TIME_QUANTITIES
from airwork.recording.table_names import NUMBER
from airwork.recording.unit_words import read_units

_KINDS, _TAG, _REMARK = 100, re.compile(r"^[$!]?[A-Za-z_]\w{0,11}$"), re.compile(r"\s*(?:#|%|//|;)")
_FLAGS = frozenset("NSEWAVMTKF")  # a side, a state: no kind
_LOOKED_AT, _OFTEN = 400, 0.1  # lines; of the rows
_AT = 3  # the word that tells the kind is among the first cells
_BY_SIDE = rb"(?m)^[A-Za-z\x80-\xff\"][^\n]*$"  # a line that may be names
_SAME = 0.5  # of a kind's cells lie where the other kind's do: the same columns, some left out at the end
_TWICE = 0.7  # of the rows tell another moment than the one before
_MANY = 12  # kinds: no recorder of flights alone
_READ = QUANTITIES.keys() - TIME_QUANTITIES - {"not_needed", "aircraft", "side"}
_LEAST = 20  # rows of a list beside another


@dataclass(slots=True)
class _Kind:
    """Rows of one kind: the word and the number of cells that tell them, what their cells are called."""

    tag: str
    width: int
    names: list[str]
    declared: int = -1  # line of its names
    rows: list[tuple[int, list[str]]] = field(default_factory=list)
    decimals: tuple[int, ...] | None = None  # of its cells, where another kind has as many cells


def laid_out(data: bytes) -> bytes:
    """Lines of several kinds as one table, sparse, with a header; other data as they are."""
    data = _declared(data)
    lines = data[:65_536].decode("utf-8", errors="replace").split("\n", _LOOKED_AT)[:_LOOKED_AT]
    part = max(",;\t|", key=lambda c: sum(c in line for line in lines))
    part = part if sum(part in line for line in lines) > 0.5 * len(lines) else " "
    later = [data[k : k + 16_384].decode("utf-8", errors="replace").split("\n")[1:-1] for k in _parts_of(data)]
    rows = [_cells(line, part) for line in sum(later, lines) if line.strip() and not _REMARK.match(line)]
    rows = [row for row in rows if _holds_numbers(row)]
    tag_at = next((k for k in range(_AT) if _are_tags([r[k] for r in rows if len(r) > k], len(rows))), -1)
    kinds = _tagged(lines, rows, part, tag_at) if tag_at >= 0 else []
    if len(kinds) < 2:
        tag_at, kinds = -1, _by_width(lines, rows, part) if part != " " else []
    below = [] if len(kinds) > 1 else _below(data, lines, part)
    if len(kinds or below) < 2:
        return data
    text = data.decode("utf-8", errors="replace").split("\n")
    _deal(kinds or below, text, part, tag_at, in_turn=not below)
    kinds = [kind for kind in kinds or below if kind.rows]
    if below and not _of_one_time(kinds):
        return data
    first = min(k.declared if k.declared >= 0 else k.rows[0][0] for k in kinds)
    head = text[:first] if below else [line for line in lines if _REMARK.match(line)]
    return _written(kinds, head, part, tag_at)


def _declared(data: bytes) -> bytes:
    """Lines that say whose columns they name ($COL,GNSS,time,lat) begin as the rows they speak of do ($GNSS,...)."""
    lines = data[:16_384].split(b"\n")
    kinds = {m[1]: m[0] for line in lines if (m := _KIND_ROW.match(line))}
    said = {line: m for line in lines if (m := _DECLARES.match(line)) and m[1] in kinds}
    if len(said) == 0 or any(b"\n" + line + b"\n" not in b"\n" + data for line in said):
        return data
    return b"\n".join([kinds[m[1]] + m[2] if (m := said.get(line)) else line for line in data.split(b"\n")])


_KIND_ROW, _DECLARES = (
    re.compile(rb"[$!]([A-Z]\w*)(?=,[-+]?\d)"),
    re.compile(rb"[$!][A-Z]\w*,([A-Z]\w*)(,(?:[^,\n]*,)+.*)$"),
)


def _parts_of(data: bytes) -> list[int]:
    """Where to look once more in a long file: what its beginning tells may be its settings."""
    return [len(data) * k // 4 for k in (1, 2, 3)] if len(data) > 262_144 else []


def _cells(line: str, part: str) -> list[str]:
    if part == " ":
        return line.split()
    cells = next(csv.reader([line], delimiter=part), []) if '"' in line else line.split(part)
    return [c.strip() for c in cells]


def _holds_numbers(row: list[str]) -> bool:
    return len(row) > 2 and any(c[:1].isdigit() or (c[:1] in "+-." and c[1:2].isdigit()) for c in row[1:])


def _are_tags(cells: list[str], rows: int) -> bool:
    """Words that come again and again, two of them or more, in every row."""
    counts = Counter(cells)
    often = [c for c, count in counts.items() if count > 2 and c.upper() not in _FLAGS]
    return len(often) > 1 and len(counts) <= _KINDS and len(cells) == rows and all(map(_TAG.match, counts))


def _is_word(cell: str) -> bool:
    return bool(cell) and not cell[0].isdigit() and cell[0] not in "+-."


def _tagged(lines: list[str], rows: list[list[str]], part: str, at: int) -> list[_Kind]:
    """Kinds that a word in their rows tells; their names stand in a row of words or a remark that has the word, too."""
    widths = {row[at]: len(row) - 1 for row in reversed(rows)}
    found: dict[str, _Kind] = {}
    for k, line in enumerate(lines):
        remark = _REMARK.match(line)
        cells = _cells(re.sub(r"[:=]", part, line.strip(" #%/;")) if remark else line, part)
        cells = [c for c in cells if c] if remark else cells
        cells[:1] = [cells[0].split()[-1]] if cells and cells[0] and remark else cells[:1]  # def gps: ms, lat
        place = next((j for j in range(len(cells) - 1, -1, -1) if cells[j] in widths), -1)
        if place < 0:
            continue
        if cells[place] in found:
            kind, units = found[cells[place]], cells[place + 1 :]
            if len(units) == len(kind.names) and sum(bool(read_units(u)) for u in units) > 0.5 * len(units):
                kind.names = [f"{n} ({u})" if u else n for n, u in zip(kind.names, units, strict=True)]
            continue
        width, after = widths[cells[place]], cells[place + 1 :]
        if len(after) == width + 1 and at and place == 0:  # names the word's own column, too
            after = [*after[:at], *after[at + 1 :]]
        said = after[-width:] if len(after) >= width else cells[:place] + after
        if len(said) == width and all(map(_is_word, said)):
            found[cells[place]] = _Kind(cells[place], width + 1, said, k)
    return list(found.values())


def _by_width(lines: list[str], rows: list[list[str]], part: str) -> list[_Kind]:
    """Kinds that the number of their cells tells, or of their decimals; without a row of names they keep numbers."""
    widths = [w for w, count in Counter(map(len, rows)).most_common() if count > max(2, _OFTEN * len(rows))]
    named: list[_Kind] = []
    for k, line in enumerate(lines):
        said = _cells(_REMARK.sub("", line).rpartition(":")[2] if _REMARK.match(line) else line, part)
        if len(said) in widths and all(map(_is_word, said)) and not _are_units(said):
            named.append(_Kind("", len(said), said, k))
    plain = [w for w in widths if all(kind.width != w for kind in named)]
    if len(widths) == 1 < len(named) == len({n for kind in named for n in kind.names[1:]}) / (widths[0] - 1):
        forms = Counter(_decimals(row) for row in rows)  # in the order they come first
        often = [form for form, count in forms.items() if count > _OFTEN * len(rows)]
        for kind, form in zip(named, often if len(often) == len(named) else (), strict=False):
            kind.decimals = form
        return [kind for kind in named if kind.decimals is not None]
    named = list({kind.width: kind for kind in reversed(named)}.values())
    if len(widths) < 2 or (len(named) < 2 and not all(_elsewhere(rows, widths[0], w) for w in widths[1:])):
        return []
    return named + [_Kind("", w, [f"cell {k} of {w}" for k in range(1, w + 1)]) for w in plain]


def _decimals(row: list[str]) -> tuple[int, ...]:
    return tuple(len(cell.partition(".")[2]) if NUMBER.match(cell) else -1 for cell in row)


def _are_units(cells: list[str]) -> bool:
    return sum(bool(read_units(c)) and understand(c) is None for c in cells) > 0.5 * len(cells)


def _elsewhere(rows: list[list[str]], one: int, other: int) -> bool:
    """The cells of rows with fewer cells lie elsewhere than those above them: no cells are only left out at the end."""
    few, many = sorted((one, other))
    for k in range(1, few):
        low, high = ([float(r[k]) for r in rows if len(r) == w and NUMBER.match(r[k])] for w in (few, many))
        if len(low) > 2 and len(high) > 2:
            span = max(high) - min(high)
            inside = sum(min(high) - span <= x <= max(high) + span for x in low)
            if inside < _SAME * len(low):
                return True
    return False


def _below(data: bytes, lines: list[str], part: str) -> list[_Kind]:
    """Tables one below the other, each under a row of names; nothing where later names repeat earlier ones."""
    at = next((k for k, line in enumerate(lines) if _names_rows(line, lines[k + 1 : k + 2], part)), -1)
    if at < 0 or part == " ":
        return []
    begin = sum(len(line.encode()) + 1 for line in lines[: at + 1])
    found = [_Kind("", len(_cells(lines[at], part)), _cells(lines[at], part), at)]
    for k, match in enumerate(re.finditer(_BY_SIDE, data[begin:])):
        if k > 10 * _KINDS:  # rows, no names
            return []
        line = match[0].decode("utf-8", errors="replace")
        after = begin + match.end() + 1
        follows = data[after : after + 2_000].decode("utf-8", errors="replace").split("\n")[:1]
        if _names_rows(line, follows, part):
            number = at + 1 + data.count(b"\n", begin, begin + match.start())
            found.append(_Kind("", len(names := _cells(line, part)), names, number))
    seen = set[str]()
    for kind in found:
        if len(seen & {*kind.names}) > len(kind.names) // 2:
            return []  # the same table in other units, or its names once more
        seen |= {*kind.names}
    return found


def _names_rows(line: str, follows: list[str], part: str) -> bool:
    """A row of names, and below it a row of as many cells with numbers."""
    names, row = _cells(line, part), _cells(follows[0], part) if follows else []
    return len(names) > 2 and len(row) == len(names) and all(map(_is_word, names)) and _holds_numbers(row)


def _deal(kinds: list[_Kind], lines: list[str], part: str, at: int, *, in_turn: bool) -> None:
    """Each row to its kind."""
    by_tag, by_form = {k.tag: k for k in kinds}, {k.decimals or k.width: k for k in kinds}
    starts = {k.declared: k for k in kinds}
    now: _Kind | None = None
    for number, line in enumerate(lines):
        if number in starts:
            now = starts[number]
        elif line.strip() and not _REMARK.match(line) and _holds_numbers(cells := _cells(line, part)):
            found = (by_form.get(len(cells)) or by_form.get(_decimals(cells))) if in_turn else now
            if at >= 0:
                found = by_tag.get(cells.pop(at)) if len(cells) > at else None
            if found is not None and (at >= 0 or found.width == len(cells)):
                found.rows.append((number, cells))


def _of_one_time(kinds: list[_Kind]) -> bool:
    """Tables below the first tell of its time."""
    begin, end = (_order(kinds[0].rows[k][1][0]) for k in (0, -1))
    first = [_order(kind.rows[0][1][0]) for kind in kinds[1:]]
    return len(kinds) > 1 and all(type(x) is type(begin) is type(end) and begin <= x <= end for x in first)  # type: ignore[operator]


def _order(cell: str) -> float | str:
    return float(cell) if NUMBER.match(cell) else cell


def _written(kinds: list[_Kind], head: list[str], part: str, at: int) -> bytes:
    """One table of all kinds. A time that all tell is theirs together; other names of several get the kind's."""
    kinds = _of_flight(kinds)
    for kind in kinds:
        said = [(m.quantity if (m := understand(n)) is not None else "") for n in kind.names]
        gps = {"latitude", "longitude"} <= {*said}  # beside a place a height that is only called so is the receiver's
        kind.names = [f"gps {n}" if gps and q == "altitude" else n for n, q in zip(kind.names, said, strict=True)]
    times = Counter(n for kind in kinds for n in kind.names)
    firsts = [kind.names[0] for kind in kinds]
    clocks = [n for n in firsts if (m := understand(n)) is not None and m.quantity in TIME_QUANTITIES]
    unnamed = [n for n in firsts if n.startswith("cell 1 of")]
    one_clock = len({*firsts}) == 1 or len(clocks) + len(unnamed) == len(kinds)
    every, rows = dict[str, None](), list[tuple[int, dict[str, str]]]()
    for k, kind in enumerate(kinds, 1):
        own = kind.tag.strip("$!") or str(k)
        names = [
            n if times[n] in (1, len(kinds)) and (times[n] == 1 or is_time(n)) else f"{own} {n}" for n in kind.names
        ]
        names[:1] = [next(iter(clocks or firsts))] if one_clock else names[:1]
        every |= dict.fromkeys(names)
        rows += [(number, dict(zip(names, cells, strict=False))) for number, cells in kind.rows]
    rows.sort(key=lambda row: row[0])
    by = part if part != " " else ","
    if one_clock:
        rows = [(0, row) for row in in_order([r for _, r in rows], next(iter(clocks or firsts)))]
    cells = (by.join(f'"{c}"' if by in (c := row.get(n, "")) else c for n in every) for _, row in rows)
    return ("\n".join([*head, by.join(every), *cells]) + "\n").encode()


def _of_flight(kinds: list[_Kind]) -> list[_Kind]:
    """Of many kinds, as a computer's log has them, those with something to read and by the clock most tell."""
    if len(kinds) <= _MANY:
        return kinds
    clock = Counter(kind.names[0] for kind in kinds if is_time(kind.names[0])).most_common(1)
    told = [k for k in kinds if any((m := understand(n)) and not m.aside and m.quantity in _READ for n in k.names)]
    told = [k for k in told if k.names[0] == clock[0][0]] if clock else told
    for kind in told:  # of sensors that are there twice the first
        before = [(0, [""]), *kind.rows]
        first = [row for row, last in zip(kind.rows, before, strict=False) if row[1][0] != last[1][0]]
        kind.rows = first if len(first) < _TWICE * len(kind.rows) else kind.rows
    return told or kinds


def is_time(name: str) -> bool:
    return (m := understand(name)) is not None and m.quantity in TIME_QUANTITIES


def in_order(rows: list[dict[str, Any]], key: str) -> list[dict[str, Any]]:
    """Rows of several kinds, sorted by their time where they lie kind after kind, each in order by itself."""
    keys = [_order(v) if isinstance(v := row.get(key), str) else v for row in rows]
    if len({type(k) for k in keys}) != 1:
        return rows
    falls = [k for k in range(1, len(keys)) if keys[k] < keys[k - 1]]  # type: ignore[operator]
    if not 0 < len(falls) < _KINDS or any(rows[k].keys() == rows[k - 1].keys() for k in falls):
        return rows
    return [rows[k] for k in sorted(range(len(rows)), key=lambda k: keys[k])]  # type: ignore[arg-type, return-value]


def beside(rows: list[dict[str, Any]], others: Iterable[list[dict[str, Any]]]) -> list[dict[str, Any]]:
    """Rows, and after them those of other lists of the document that tell by the same clock of other things."""
    key = next((n for n in rows[0] if is_time(n)), "") if rows else ""
    known = {n for row in (*rows[:50], *rows[-50:]) for n in row}
    times = [row.get(key) for row in rows]
    whole = bool(key) and len({type(t) for t in times}) == 1 and isinstance(times[0], (float, int, str))
    out = rows
    for other in others if whole else ():
        names = {n for row in other[:50] for n in row}
        moments = [row.get(key) for row in other if type(row.get(key)) is type(times[0])]
        if len(other) < _LEAST or names & known != {key} or len(moments) < len(other):
            continue
        if min(times) <= moments[len(moments) // 2] <= max(times):  # type: ignore[operator, type-var]
            out, known = [*out, *other], known | names
    return in_order(out, key) if out is not rows else rows
