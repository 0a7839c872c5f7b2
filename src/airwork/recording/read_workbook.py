"""A spreadsheet's workbook (.xlsx) → the text of its sheet with the recording, read on as any delimited text.

Dates and times are written as ISO 8601, numbers in full; of merged cells the first holds what they say.
"""

from __future__ import annotations

import csv
import datetime
import io
import re
import zipfile
from typing import Any

from airwork.errors import InputError
from airwork.recording.flight import Mend
from airwork.recording.names import understand

MOST_CELLS = 5_000_000  # 10 Hz for three hours in 45 columns; a cell takes some 100 bytes meanwhile
_LOOKED_AT = 150  # rows that may be names
_CELL = re.compile(rb'\br="([A-Z]{1,3})(\d{1,7})"')


def is_workbook(raw: bytes) -> bool:
    """Whether a zip file's bytes are a workbook, by the part every one has."""
    return raw[:4] == b"PK\x03\x04" and b"xl/workbook.xml" in raw


def text_of_workbook(raw: bytes, most_bytes: int, where: str) -> tuple[bytes, tuple[Mend, ...]]:
    """(comma-separated text, what was left out) of the sheet whose names are understood best, the longest of equals.

    Raises
    ------
    InputError : damaged, locked, larger than any recording, or without rows.
    """
    from python_calamine import CalamineWorkbook

    try:
        _refuse_vast(raw, most_bytes, where)
        book = CalamineWorkbook.from_filelike(io.BytesIO(raw))
        sheets: dict[str, list[list[Any]]] = {
            name: book.get_sheet_by_name(name).to_python() for name in book.sheet_names
        }
    except InputError:
        raise
    except Exception:  # of the library: damaged or locked
        raise InputError(
            "is a workbook that can't be opened (damaged or locked); save it as CSV.", where=where
        ) from None
    filled = {name: rows for name, rows in sheets.items() if len(rows) > 2}
    if not filled:
        raise InputError("is a workbook without rows; nothing was recorded.", where=where)
    best = max(filled, key=lambda name: (_names_in(filled[name]), len(filled[name])))
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(map(_text, row) for row in filled[best])
    others = [name for name in filled if name != best]
    said = f"of the workbook's sheets {best!r} is read, {', '.join(map(repr, others[:5]))} left out"
    return out.getvalue().encode(), (Mend(said, len(others)),) if others else ()


def _refuse_vast(raw: bytes, most_bytes: int, where: str) -> None:
    """One cell far away makes a sheet as large as the way to it: looked at before anything is made of it."""
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        for part in archive.namelist():
            with archive.open(part) as member:
                data = member.read(most_bytes + 1)
            most_bytes -= len(data)
            places = _CELL.finditer(data) if "worksheets/" in part and most_bytes >= 0 else ()
            rows, columns = 0, set[bytes]()
            for place in places:
                rows = max(rows, int(place[2]))
                columns.add(place[1])
            wide = max((sum((c - 64) * 26**k for k, c in enumerate(reversed(name))) for name in columns), default=0)
            if most_bytes < 0 or rows * wide > MOST_CELLS:
                raise InputError(
                    "is a workbook larger than any recording; save the flight's sheet as CSV.", where=where
                )


def _names_in(rows: list[list[Any]]) -> int:
    return max(
        len({m.quantity for c in row if isinstance(c, str) and c and len(c) < 80 and (m := understand(c)) is not None})
        for row in rows[:_LOOKED_AT]
    )


def _text(cell: Any) -> str:
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, datetime.datetime):
        return cell.date().isoformat() if cell.time() == datetime.time() else cell.isoformat()
    return cell.isoformat() if isinstance(cell, (datetime.date, datetime.time)) else str(cell).strip()
