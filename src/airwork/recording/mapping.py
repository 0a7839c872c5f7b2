"""Layout mappings: what the columns of a file mean, settled once by the user and found again by the header.

A mapping file is TOML with one table per layout, keyed by the fingerprint of its header, so that one file beside the
recordings (or in the user's settings) serves every recording of the same recorder.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path

from airwork import typed_file
from airwork.errors import InputError

FILE_NAME = "recording-layouts.toml"


def fingerprint(names: Sequence[str]) -> str:
    """Short key of a header: the same for files with the same column names in the same order."""
    text = "\x1f".join(" ".join(n.split()).lower() for n in names)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def user_file() -> Path:
    """The mapping file in the user's settings, for every folder."""
    import platformdirs

    return Path(platformdirs.user_config_dir("airwork")) / FILE_NAME


def find_mapping(path: Path, names: Sequence[str], given: Path | None) -> tuple[dict[str, str], str]:
    """(column → "quantity:unit", where it was found) for this header; empty when nobody settled one.

    Raises
    ------
    InputError : a mapping file that can't be read, or one given by name that doesn't hold this layout.
    """
    key = fingerprint(names)
    if given is not None:
        layouts = _read(given)
        if key not in layouts:
            raise InputError(
                f"holds no layout for the header of {path.name} (fingerprint {key}); make one with: "
                f"airwork recording map {path.name}.",
                where=str(given),
            )
        return layouts[key], str(given)
    settled: dict[str, str] = {}
    found: list[str] = []
    for candidate in (user_file(), path.parent / FILE_NAME):  # the nearer one has the last word, column by column
        if candidate.is_file() and key in (layouts := _read(candidate)):
            settled |= layouts[key]
            found.append(str(candidate))
    return settled, " and ".join(reversed(found))


def known_layouts(path: Path) -> dict[str, dict[str, str]]:
    """All layouts a mapping file holds, by fingerprint; none when there is no such file."""
    return _read(path) if path.is_file() else {}


def checked_meaning(text: str, where: str) -> str:
    """ "quantity:unit" whose quantity is known and whose unit fits it."""
    from airwork.recording.quantities import QUANTITIES
    from airwork.recording.unit_words import named

    quantity, _, unit = text.replace(" ", "_", 0).partition(":")
    quantity = quantity.strip().lower().replace(" ", "_")
    if quantity == "ignore":
        return "ignore"
    shown = {q.house.rpartition("_")[0]: q.name for q in QUANTITIES.values()}  # as `recording show` lists them
    quantity = quantity if quantity in QUANTITIES else shown.get(quantity, quantity)
    what = QUANTITIES.get(quantity)
    if what is None:
        raise InputError(f"no quantity {quantity!r}; list them with: airwork recording map --quantities.", where=where)
    if not unit.strip():
        return quantity
    found = named(unit.strip())
    if found is None or found.dimension not in {what.dimension, *what.also}:
        clock = "UTC-4, or a zone such as America/Toronto" if what.dimension == "clock" else what.dimension
        usual = ", ".join(what.units) or clock
        raise InputError(f"{unit.strip()!r} is no unit of {quantity}; usual: {usual}.", where=where)
    return f"{quantity}:{found.name}"


def _read(path: Path) -> dict[str, dict[str, str]]:
    data = typed_file.tables(typed_file.read_text(path, "mapping"), str(path))
    layouts = data.get("layouts", {})
    out: dict[str, dict[str, str]] = {}
    for key, table in layouts.items() if isinstance(layouts, Mapping) else ():
        columns = table.get("columns", {}) if isinstance(table, Mapping) else {}
        if not isinstance(columns, Mapping) or not all(isinstance(v, str) for v in columns.values()):
            raise InputError(f'layout {key}: columns must be NAME = "quantity:unit".', where=str(path))
        out[str(key)] = {str(n): str(v) for n, v in columns.items()}
    return out


def write_mapping(path: Path, names: Sequence[str], columns: Mapping[str, str], example: str) -> None:
    """Add or replace one layout in a mapping file, keeping what else it holds."""
    import tomlkit

    from airwork.files import write_whole

    _ = _read(path) if path.is_file() else {}
    document = tomlkit.parse(path.read_text(encoding="utf-8")) if path.is_file() else tomlkit.document()
    if not path.is_file():
        document.add(tomlkit.comment("What the columns of recordings mean; written by: airwork recording map"))
    layouts = document.setdefault("layouts", tomlkit.table(is_super_table=True))
    layout = tomlkit.table()
    layout.add("example", example)
    table = tomlkit.table()
    for name, meaning in columns.items():
        table.add(name, meaning)
    layout.add("columns", table)
    layouts[fingerprint(names)] = layout
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, tomlkit.dumps(document))
