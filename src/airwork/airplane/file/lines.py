"""Line numbers of tables and rows in a TOML text, for error messages.

The TOML parser of the standard library keeps no positions. This scan knows the two ways rows are written (one inline
table a line inside `rows = [ ... ]`, or `[[table.rows]]`) and stays silent where a file is laid out otherwise.
"""

from __future__ import annotations

import re

_HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.\-]+)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_\-]+)\s*=\s*(.*)$")


def line_numbers(text: str) -> dict[str, int]:
    """Dotted path of each key and row ("performance.stall.rows.2") to its line, counted from 1."""
    found: dict[str, int] = {}
    table, array, row = "", "", 0
    counts: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            table, array = header[2], ""
            if header[1] == "[[":
                index = counts.get(table, 0)
                counts[table] = index + 1
                table = f"{table}.{index}"
            found.setdefault(table, number)
        elif array:
            stripped = line.strip()
            if stripped.startswith(("{", "[")):
                found[f"{array}.{row}"] = number
                row += stripped.count(stripped[0])  # several rows on a line share its number
            if stripped.startswith("]"):
                array = ""
        elif key := _KEY.match(line):
            path = f"{table}.{key[1]}" if table else key[1]
            found.setdefault(path, number)
            if key[2].strip() == "[" or key[2].strip().startswith("[ #"):
                array, row = path, 0
    return found
