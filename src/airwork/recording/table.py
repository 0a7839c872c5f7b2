"""A delimited text file of any layout → named columns: where its header is, which character parts the fields."""

from __future__ import annotations

import csv
import re
import warnings
from dataclasses import dataclass, field
from typing import Any

import polars as pl

from airwork.errors import InputError
from airwork.recording.flight import Mend
from airwork.recording.kinds import laid_out
from airwork.recording.names import understand
from airwork.recording.table_lines import (
    MOST_COLUMNS,
    VALUE,
    kinds_of_lines,
    named_cells,
    names_on_one_line,
    turned,
)
from airwork.recording.table_names import (
    COMMA_NUMBER,
    NOTHING,
    NUMBER,
    any_header,
    cells_of_units,
    distinct,
    find_header,
    has_digits,
    has_numbers,
    is_units,
    numbered,
    of_groups,
    of_two_rows,
    refuse_other_names,
    second_names,
    standing_under,
    under_its_names,
)
from airwork.recording.unit_words import read_units

_HEAD_LINES = 150
_USUAL_LINES = 40  # the header is nearly always among these
_PARTED = re.compile(rb"\b([NSEW])\s?(\d{1,3}) (\d\d\.\d+)\b")  # N51 48.000, where blanks part the cells
_BOTH_PARTED = re.compile(
    rb"\b(\d\d) (\d\d\.\d+) ?([NS]) +(\d{2,3}) (\d\d\.\d+) ?([EW])\b"
)  # 60 54.473 N  010 30.786 E
# 47.910.123, sought from its first point on: five times as fast as from what may begin a number
_CHANGED_NUMBERS = re.compile(
    rb"\.\d{3}\.(?:(?<=(?<![\d.])\d\.\d{3}\.)|(?<=(?<![\d.])\d\d\.\d{3}\.)|(?<=(?<![\d.])\d{3}\.\d{3}\.))\d{3}(?![\d.,])"
)
_CHANGED_DATES = re.compile(rb"(?<![\d.])\d\d?\. ?[A-Z][a-z\xc3\xa4]{2,3}(?=[;\t,\n])")
_NAMES_SAID = re.compile(r"(?i)^[#%;/]+\s*(?:columns?|cols|fields?|names?|header|format)\s*[:=]\s*")
# What a receiver's text port sends line by line, without names (order common practice, from memory).
_MESSAGES = (b"message,kind,session,row,hex,index,date,time,date logged,time logged,callsign,altitude,ground speed,"
             b"track,latitude,longitude,vertical rate,squawk,alert,emergency,spi,on ground\n")  # fmt: skip
_LIKE_A_POWER = re.compile(r"^\d+[eE]\d+$")  # the address 3946e9
_COLUMNS = re.compile(r"\d,\d+ {2,}[-+]?\d.*\d,\d+ {2,}[-+]?\d")
_THOUSANDS = r"^[+-]?\d{1,3}(?:[,'’\s\x{00a0}\x{202f}\x{2009}]\d{3})+(?:\.\d+)?$"
_POINTED = re.compile(r"^[+-]?[1-9]\d{0,2}(?:\.\d{3})+(?:,\d+)?$")
_THOUSANDS_BY_COMMA = r"^[+-]?\d{1,3}(?:[.'’\s\x{00a0}\x{202f}\x{2009}]\d{3})+(?:,\d+)?$"  # decimal comma


@dataclass(slots=True)
class RawTable:
    """A table as it lies in the file.

    names, unit_cells : per column, as written ("" where the file has none).
    frame : columns "0", "1", ...: Float64 where the cells are numbers, String elsewhere.
    head : lines before the header (what the recorder said of itself).
    day_first : 03/05 is the third of May in it.
    sport : what the file calls what was done ("Biking").
    """

    names: list[str]
    unit_cells: list[str]
    frame: pl.DataFrame
    head: list[str] = field(default_factory=list)
    mends: list[Mend] = field(default_factory=list)
    layout: str = ""
    day_first: bool = False
    sport: str = ""


def read_table(data: bytes, where: str) -> RawTable:
    """Find the layout in the first lines and parse the rest at once.

    Raises
    ------
    InputError : no row of column names could be found, or nothing follows it.
    """
    data = _in_rows(data, where)
    lines = _first_lines(data)
    delimiter = _delimiter(lines)
    rows, header = _header(lines, delimiter, where)
    top = _top(lines, rows, header, delimiter, where)
    names, first = top.names, top.first
    head = [line for i, line in enumerate(lines[: header if header >= 0 else first]) if i not in top.said]
    head += [line for line in data[-400:].decode("utf-8", errors="replace").split("\n")[-3:] if line.startswith("#")]
    table = RawTable(names, top.unit_cells, pl.DataFrame(), head)
    if header >= 0:
        refuse_other_names(data, [c.strip().strip('"') for c in rows[header]], delimiter, first, where)
    offset = 0
    for _ in range(first):
        offset = data.index(b"\n", offset) + 1
    data = _names_once(data, lines[header], offset) if header >= 0 else data
    skip, own_names = first, False
    if len(rows[first]) != len(names):  # polars takes the width from the first row; a line of our own puts it right
        names_line = delimiter.join(map(str, range(len(names)))).encode() + b"\n"
        data, skip, own_names = b"".join((names_line, memoryview(data)[offset:])), 0, True
    table.frame = _parse(data, (own_names, skip), delimiter, len(names), rows[first:], table, where)
    decimal = " with decimal comma" if table.layout else ""
    table.day_first = bool(decimal)
    shown = {"\t": "tab", " ": "blank"}.get(delimiter, delimiter)
    place = f"header on line {header + 1}" if header >= 0 else "no header"
    table.layout = f"{place}, fields parted by {shown!r}{decimal}"
    return table


def _in_rows(data: bytes, where: str) -> bytes:
    """The text as rows under names: messages, labeled cells, blocks and columns laid over are made so.

    Raises
    ------
    InputError : a spreadsheet changed its numbers, or it tells one value each under its names.
    """
    if _CHANGED_NUMBERS.search(data[:65_536]) and _CHANGED_DATES.search(data[:65_536]):
        said = "numbers were changed by a spreadsheet of another language (47.910.123, 10. Mrz); export it again"
        raise InputError(f"{said} and leave it as it was exported.", where=where)
    if data.startswith(b"MSG,") and data.partition(b"\n")[0].count(b",") > 19:
        data = _MESSAGES + data
    data = _PARTED.sub(b"\\1\\2\xc2\xb0\\3", data) if _PARTED.search(data[:4_096]) else data
    if _BOTH_PARTED.search(data[:4_096]):
        data = _BOTH_PARTED.sub(b"\\1\xc2\xb0\\2\\3/\\4\xc2\xb0\\5\\6", data)
    for make in (kinds_of_lines, turned, laid_out, named_cells, names_on_one_line):
        data = make(data)
    _refuse_a_summary(data, where)
    return data


def _first_lines(data: bytes) -> list[str]:
    """The whole lines in which the names are looked for."""
    lines = data[:262_144].decode("utf-8", errors="replace").split("\n")[: _HEAD_LINES + 1]
    lines = [_NAMES_SAID.sub("", line.rstrip("\r")) for line in lines]
    while lines and not lines[-1].strip():
        lines.pop()
    cut_off = len(data) > 262_144 and len(lines) <= _HEAD_LINES and len(lines) > 1
    return lines[:-1] if cut_off else lines


def _header(lines: list[str], delimiter: str, where: str) -> tuple[list[list[str]], int]:
    """The first lines' cells, and which of them names the columns; -1 where none does."""
    rows = _rows(lines[:_USUAL_LINES], delimiter)
    header = find_header(rows)
    if header < 0 and len(lines) > len(rows):
        rows = _rows(lines, delimiter)
        header = find_header(rows)
    return rows, under_its_names(rows, header if header >= 0 else any_header(rows, where))


@dataclass(frozen=True, slots=True)
class _Top:
    """What stands over the numbers. first : the first row of them; said : rows that are all units or second names."""

    names: list[str]
    unit_cells: list[str]
    first: int
    said: tuple[int | None, int | None]


def _top(lines: list[str], rows: list[list[str]], header: int, delimiter: str, where: str) -> _Top:
    names = [name.strip().strip('"').lstrip("#%").strip() for name in rows[header]] if header >= 0 else numbered(rows)
    apart = [name.partition(";") for name in names]
    own_units = [part[2].strip(" *") for part in apart] if sum(bool(read_units(p[2])) for p in apart) > 2 else []
    names = [part[0].strip() for part in apart] if own_units else names
    if len(names) > MOST_COLUMNS:
        raise InputError(f"has {len(names):,} columns; no recording looks so.", where=where)
    second = second_names(rows, header)
    near = (header + 1, header - 1) if second is None else (header + 1, header - 1, 2 * second - header)
    units_at = next(
        (i for i in near if 0 <= i < len(rows) and header >= 0 and is_units(rows[i], len(names))),
        None,
    )
    if units_at is not None and delimiter == " " and len(rows[units_at]) != len(names):
        rows[units_at] = standing_under(lines[header], lines[units_at])
    unit_cells = cells_of_units(rows[units_at], len(names)) if units_at is not None else own_units or [""] * len(names)
    if second is not None:
        names, unit_cells = of_two_rows(names, unit_cells, [c.lstrip("#%").strip() for c in rows[second]])
    names = distinct(of_groups(names, unit_cells, rows[header - 1] if header > 0 and second is None else []))
    below = range(max(header, *(i for i in (units_at, second) if i is not None), -1) + 1, len(rows))
    first = next((i for i in below if has_numbers(rows[i])), None) or next(
        (i for i in below if has_digits(rows[i])), len(rows)
    )
    if first >= len(rows):
        said = "names the columns, but no numbers follow; nothing was recorded."
        raise InputError(f"line {header + 1} {said}", where=where)
    return _Top(names, unit_cells, first, (units_at, second))


def _refuse_a_summary(data: bytes, where: str) -> None:
    """A page of a flight's figures, each under its own name, and no rows."""
    lines = [line for line in data[:16_384].decode("utf-8", errors="replace").split("\n") if line.strip()]
    said = [m[1] for line in lines if (m := VALUE.match(line))]
    if 4 < len(lines) < 100 and len({*said}) > 0.8 * len(lines):
        names = ", ".join(said[:3])
        raise InputError(
            f"tells one value each under {len(said)} names ({names} ...): a summary, no recording.", where=where
        )


def _names_once(data: bytes, names: str, first: int) -> bytes:
    """Without the line of names where it comes again amid the rows, which begin at `first`, as after a power cut."""
    line = b"\n" + names.encode() + b"\n"
    return data[:first] + data[first:].replace(line, b"\n") if data.find(line, first) >= 0 else data


def _rows(lines: list[str], delimiter: str) -> list[list[str]]:
    """Fields of the lines; where blanks part them, names of two words are known by wider gaps or brackets."""
    rows = [_fields(line, delimiter) for line in lines]
    if delimiter != " ":
        return rows
    width = len(sorted(rows, key=len)[len(rows) // 2])
    for k, line in enumerate(lines):
        if width < len(rows[k]) and not any(NUMBER.match(c) for c in rows[k]):  # "Speed km/h": a name and its unit
            joined: list[str] = []
            for cell in rows[k]:
                if joined and read_units(cell) and not read_units(joined[-1]):
                    joined[-1] += f" ({cell})"
                else:
                    joined.append(cell)
            rows[k] = joined if len(joined) == width else rows[k]
        for cut in (re.split(r"\s{2,}", line.strip()), re.findall(r"\S+(?:\s*[\[(][^\])]*[\])])?", line)):
            if len(rows[k]) != width == len(cut):
                rows[k] = cut
    return rows


def _fields(line: str, delimiter: str) -> list[str]:
    if delimiter == " ":
        return line.split()
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]
    except (csv.Error, StopIteration):
        return [cell.strip() for cell in line.split(delimiter)] if line else []


def _delimiter(lines: list[str]) -> str:
    """The character that parts most lines into the same, largest number of fields."""
    best, best_score = ",", 0.0
    body = [line for line in lines if line.strip()]
    for delimiter, weight in ((";", 1.5), ("\t", 1.5), (",", 1.0), ("|", 1.2), (" ", 0.3)):
        if delimiter == "," and sum(bool(_COLUMNS.search(line)) for line in body) > 0.8 * len(body):
            continue  # decimal commas in columns set apart by blanks
        every = [len(line.split()) - 1 if delimiter == " " else line.count(delimiter) for line in body]
        for first in (0, len(every) // 2, len(every) * 3 // 4):  # a few rows below a long head
            counts = sorted(every[first:])
            middle = counts[len(counts) // 2] if counts else 0
            score = weight * sum(c == middle for c in counts) / len(body) * min(middle, 8) if middle else 0.0
            if score > best_score:
                best, best_score = delimiter, score
    return best


def _sample(data: bytes, delimiter: str, rows: list[list[str]]) -> list[list[str]]:
    """Rows from the beginning, the middle and the end: a column may stay empty until the first fix."""
    out = rows[:24]
    for part in (0.25, 0.5, 0.75, 0.97):
        place = data.find(b"\n", int(part * len(data))) + 1
        if place > 0:
            text = data[place : place + 6_000].decode("utf-8", errors="replace").splitlines()[:-1]
            out += [_fields(line, delimiter) for line in text[:8]]
    return out


def _parse(
    data: bytes, start: tuple[bool, int], delimiter: str, width: int, rows: list[list[str]], table: RawTable, where: str
) -> pl.DataFrame:
    sample = _sample(data, delimiter, rows)
    cells = [[row[i].strip() for row in sample if i < len(row)] for i in range(width)]
    filled = [[c for c in column if c.lower() not in NOTHING] for column in cells]
    decimal = delimiter != "," and _commas(filled)
    pattern = COMMA_NUMBER if decimal else NUMBER
    schema: dict[str, pl.DataType | type[pl.DataType]] = {}
    thousands: list[str] = []
    for i, column in enumerate(filled):
        numbers = sum(bool(NUMBER.match(c) or pattern.match(c)) for c in column)
        pointed = [c for c in column if "." in c]  # 6.521 among decimal commas is six thousand
        short = all("." in c or len(c.lstrip("+-").partition(",")[0]) < 4 for c in column)
        if decimal and pointed and short and all(_POINTED.match(c) for c in pointed):
            numbers, thousands = -1, [*thousands, str(i)]
        named = understand(table.names[i])
        address = named is not None and named.quantity == "aircraft" and any(map(_LIKE_A_POWER.match, column))
        schema[str(i)] = pl.Float64 if numbers >= 0.7 * len(column) and not address else pl.String
    table.layout = "decimal" if decimal else ""
    data = _squeezed(data, delimiter)
    if not data.endswith(b"\n"):
        data = _without_cut_line(data, delimiter, min(width, len(sample[0])), table)
    if b'"' in data and data.count(b'"') % 2:
        data = data.replace(b'"', b"")  # a stray quotation mark would swallow lines
    options: dict[str, Any] = {
        "has_header": start[0],
        "skip_lines": start[1],
        "separator": delimiter,
        "truncate_ragged_lines": True,
        "quote_char": '"' if b'"' in data else None,
        "decimal_comma": decimal,
        "comment_prefix": "#" if b"#" in data and b"\n#" in data else None,
        "raise_if_empty": False,
    }
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what is malformed is told by us, in one line
        try:
            frame = pl.read_csv(data, schema=schema, ignore_errors=True, **options)
        except Exception as problem:  # polars raises many kinds on a broken file
            reason = str(problem).splitlines()[0][:120]
            raise InputError(f"can't be parsed as a table ({reason}).", where=where) from None
        if frame.height and frame["0"].null_count() > 1:  # blank lines hold nothing to report
            frame = frame.filter(~pl.all_horizontal(pl.all().is_null()))
        if not frame.height:
            raise InputError("has a header but no rows that can be read; nothing was recorded.", where=where)
        whole = [pl.col(n).str.replace_all(".", "", literal=True).str.replace(",", ".").cast(pl.Float64, strict=False)
                 for n in thousands]  # fmt: skip
        return _unreadable(data, frame, schema, options, table).with_columns(whole)


def _unreadable(
    data: bytes, frame: pl.DataFrame, schema: dict[str, Any], options: dict[str, Any], table: RawTable
) -> pl.DataFrame:
    """Cells of number columns that hold something else: parted thousands are read, others counted.

    Empty cells and words for "none" don't count.
    """
    holes = [n for n, kind in schema.items() if kind == pl.Float64 and 0 < frame[n].null_count() < frame.height]
    if not holes:
        return frame
    try:
        words = dict.fromkeys(schema, pl.String)
        text = pl.read_csv(data, schema=words, columns=[int(n) for n in holes], ignore_errors=True, **options)
    except Exception:  # it could be parsed as numbers; the count alone isn't worth a refusal
        return frame
    if text.height != frame.height:  # polars makes other rows of a broken line when it reads some columns alone
        return frame
    form = _THOUSANDS_BY_COMMA if options["decimal_comma"] else _THOUSANDS
    for name in holes:
        cells = text[name].str.strip_chars().str.to_lowercase()
        odd = (frame[name].is_null() & cells.is_not_null() & ~cells.is_in(list(NOTHING))).fill_null(value=False)
        if (parted := odd & cells.str.contains(form).fill_null(value=False)).any():
            numbers = cells.str.replace_all(r"[^\d,+-]" if options["decimal_comma"] else r"[^\d.+-]", "")
            numbers = numbers.str.replace(",", ".", literal=True).cast(pl.Float64, strict=False)
            frame = frame.with_columns(numbers.zip_with(parted, frame[name]).alias(name))
            odd &= ~parted
        count = int(odd.sum())
        if count:
            shown = ", ".join(repr(v) for v in cells.filter(odd).unique(maintain_order=True).head(3).to_list())[:60]
            what = "one cell {} is no number" if count == 1 else f"{count:,} cells {{}} are no numbers"
            table.mends.append(Mend(f"{what.format(f'of {table.names[int(name)]!r}')} ({shown}); left empty", count))
    return frame


def _commas(filled: list[list[str]]) -> bool:
    commas = sum(bool(COMMA_NUMBER.match(c)) for column in filled for c in column)
    points = sum("." in c and bool(NUMBER.match(c)) for column in filled for c in column)
    return commas > points


def _squeezed(data: bytes, delimiter: str) -> bytes:
    """Without the blanks that pad fields; polars takes a padded number for text."""
    part = delimiter.encode()
    if delimiter == " ":
        return re.sub(rb"(?m)^ +", b"", re.sub(rb"[ \t]+", b" ", data))
    peek = data[:65_536] + data[-65_536:]  # a search through all of it costs as much as the parsing
    if part != b"\t" and b"\t" in peek:
        data, peek = data.replace(b"\t", b" "), peek.replace(b"\t", b" ")
    ends = [(part + b" ", part), (b" " + part, part), (b"\n ", b"\n"), (b" \n", b"\n"), (b" \r", b"\r")]
    if part + b'" ' in peek or b' "' + part in peek:  # blanks inside the quotation marks
        ends += [(b'" ', b'"'), (b' "', b'"')]
    for padded, bare in ends:
        for _ in range(24):
            if padded not in peek:
                break
            data, peek = data.replace(padded, bare), peek.replace(padded, bare)
    return data


def _without_cut_line(data: bytes, delimiter: str, width: int, table: RawTable) -> bytes:
    last = data[data.rfind(b"\n") + 1 :]
    if last.count(delimiter.encode()) + 1 >= width or data.rfind(b"\n") < 0:
        return data
    table.mends.append(Mend("the last line is cut off in the middle and was left out", 1))
    return data[: data.rfind(b"\n") + 1]
