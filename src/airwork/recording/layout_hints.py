"""What names and cells of a table tell before its columns are settled: sides, pairs of places, units, the continent."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import polars as pl

from airwork.recording.cells import notches, numbers_of
from airwork.recording.names import Meaning, understand
from airwork.recording.positions import from_minutes, with_side, without_places
from airwork.recording.quantities import QUANTITIES
from airwork.recording.recorded import Array
from airwork.recording.table import RawTable
from airwork.recording.unit_choice import TOGETHER
from airwork.recording.unit_words import BY_NAME, read_units

PLACE = ("latitude", "longitude")


def part_places(table: RawTable) -> None:
    """A cell that holds both latitude and longitude becomes two columns."""
    if (parted := without_places(table.frame, table.names)) is not None:
        place, table.frame = parted
        name = table.names[place]
        table.names = [*table.names, f"longitude ({name})"]
        table.names[place] = f"latitude ({name})"
        table.unit_cells = [*table.unit_cells, ""]


def sides_in_names(table: RawTable) -> None:
    """Numbers without a sign under "Lat (S)" or "Lon (W)" get it; the name loses its side."""
    for i, name in enumerate(table.names):
        if table.frame[str(i)].dtype.is_numeric() and (axis := _AXIS.match(name.strip())):  # N/S above 52.27
            table.names[i] = "latitude" if axis[1] else "longitude"
        match = _SIDE_NAMED.match(name.strip())
        before = _SIDE_BEFORE.match(name.strip())
        series = table.frame[str(i)]
        if (match is None and before is None) or not series.dtype.is_numeric():
            continue
        table.names[i], side = (match[1], match[2]) if match is not None else (before[2], before[1])  # type: ignore[index]
        if side[0].lower() in "sw":
            signed = series.min() is not None and float(series.min()) < 0.0  # type: ignore[arg-type]
            table.frame = table.frame.with_columns(-series.abs() if not signed or match is not None else series)


def degrees_and_minutes(table: RawTable) -> None:
    """Degrees, minutes and seconds of a place in a column each become one (LatDeg, LatMin)."""
    found: dict[str, dict[str, int]] = {}
    for i, name in enumerate(table.names):
        if (part := _PART_NAMED.match(name.strip())) and table.frame[str(i)].dtype.is_numeric():
            found.setdefault(part[1][:3].lower().replace("lng", "lon"), {}).setdefault(part[2][:1].lower(), i)
    for parts in found.values():
        if not {"d", "m"} <= parts.keys():
            continue
        degrees, *rest = (numbers_of(table.frame[str(parts[p])], "", "") for p in "dms" if p in parts)
        known = np.concatenate([x[np.isfinite(x)] for x in rest])
        if not known.size or known.min() < 0.0 or known.max() > 60.0 or not np.array_equal(*_whole(degrees)):
            continue
        size = np.abs(degrees) + sum(x / 60.0**k for k, x in enumerate(rest, 1))
        table.frame = table.frame.with_columns(pl.Series(str(parts["d"]), np.where(degrees < 0.0, -size, size)))
        gone = {str(i) for p, i in parts.items() if p != "d"}
        kept = [i for i in range(len(table.names)) if str(i) not in gone]
        table.frame = pl.DataFrame([table.frame[str(i)].alias(str(k)) for k, i in enumerate(kept)])
        table.names = [
            re.sub(r"(?i)[ _.]?deg\w*$", "", table.names[i]) if i == parts["d"] else table.names[i] for i in kept
        ]
        table.unit_cells = [table.unit_cells[i] for i in kept]
        degrees_and_minutes(table)
        return


def sides_of_other_tongues(table: RawTable) -> None:
    """60°54'00"O: west to who writes latitud and heure, east to who writes Breite and Zeit; else as it is."""
    words = " ".join(table.names).lower()
    west, east = bool(_ROMANCE.search(words)), bool(_GERMAN.search(words))
    if west == east:
        return
    for i, series in enumerate(table.frame):
        if series.dtype == pl.String and float(series.drop_nulls().head(50).str.contains(_AN_O).mean() or 0.0) > 0.9:  # type: ignore[arg-type]
            table.frame = table.frame.with_columns(series.str.replace(r"[Oo]", "W" if west else "E").alias(str(i)))


def _whole(values: Array) -> tuple[Array, Array]:
    known = values[np.isfinite(values)]
    return known, np.round(known)


_ZONE = r"^\s*(?:UTC|GMT)?[+−-](?:0\d|1[0-4]):?(?:00|30|45)\s*$"
_SIDED = {
    "latitude": r"^\s*(?:[NSns]\s*\d[^A-Za-z]*|\d[^A-Za-z]*[NSns])\s*$",
    "longitude": r"^\s*(?:[EWew]\s*\d[^A-Za-z]*|\d[^A-Za-z]*[EWew])\s*$",
}
_ROMANCE = re.compile(
    r"lat[ií]tud|long[ií]tud|longitudin|heure|vitesse|\bhora\b|\bora\b|velocid|veloc[ií]t|hauteur|quota"
)
_GERMAN = re.compile(r"breite|l(?:ä|ae)nge|zeit|h(?:ö|oe)he|geschwind")
_AN_O = r"^\s*(?:[Oo]\s*\d{1,3}\D|\d{1,3}\D[^A-Za-z]*[Oo]\s*$)"
_AXIS = re.compile(r"(?i)^(?:(n\W*s)|e\W*w)$")
_SIDE_BEFORE = re.compile(r"(?i)^(north|south|east|west)\W+((?:lat|lon|lng)\w*.*)$")
_PART_NAMED = re.compile(r"(?i)^(lat(?:itude)?|lon(?:g|gitude)?|lng)[ _.]?(d(?:eg\w*)?|m(?:in\w*)?|s(?:ec\w*)?)$")
_SIDE_NAMED = re.compile(r"(?i)^(lat\w*|lon\w*|lng)\W+(n|s|e|w|north|south|east|west)\W*$")


def seen_columns(table: RawTable) -> str:
    """The file's columns with their first cell, for somebody who has to say what they are."""
    cells = [table.frame[str(i)].drop_nulls().head(1).to_list() for i in range(len(table.names))]
    pairs = zip(table.names, cells, strict=True)
    shown = [f"{(n or f'column {k}')[:24]} ({str(c[0])[:16]})" for k, (n, c) in enumerate(pairs, 1) if c]
    return ", ".join(shown[:7]) + (" ..." if len(shown) > 7 else "")


def outside_america(table: RawTable, at: Mapping[str, int], sides: Mapping[str, int]) -> bool:
    """Its places are in plain degrees and not where the month is written first: north of 15° N, west of 30° W."""
    for name, low, high in (("longitude", -30.0, 180.0), ("latitude", -90.0, 15.0)):
        values = numbers_of(table.frame[str(at[name])], "angle", name) if name in at else np.empty(0)
        if name in at and (side := sides.get(name)) is not None:
            values = with_side(values, table.frame[str(side)], name)
        known = values[np.isfinite(values)]
        if known.size and low < float(np.median(known)) <= high:
            return True
    return False


def position(raw: Array, quantity: str, table: RawTable, sides: Mapping[str, int]) -> tuple[Array, str]:
    """Degrees with their sign, and what was done to get them."""
    why = []
    if (degrees := from_minutes(raw, quantity)) is not None:
        raw = degrees
        why.append("degrees and minutes in one number")
    if (i := sides.get(quantity)) is not None:
        raw = with_side(raw, table.frame[str(i)], quantity)
        why.append(f"side from the column {table.names[i] or i + 1}")
    return raw, "; ".join(why)


def believed(table: RawTable, i: int, meaning: Meaning | None) -> Meaning | None:
    """What a name says, unless no cell can be that: a switch of 41.52, a setting that changes as a pressure outside."""
    series = table.frame[str(i)]
    if meaning is not None and series.dtype == pl.String and QUANTITIES[meaning.quantity].dimension in _NO_CLOCK:
        cells = series.drop_nulls().head(50)  # Čas is no calibrated airspeed
        return None if len(cells) and cells.str.contains(r"\d:\d\d:\d\d").all() else meaning
    if meaning is None or meaning.aside or not series.dtype.is_numeric():
        return meaning
    code = QUANTITIES[meaning.quantity].dimension == "code"
    if not code and meaning.quantity not in {"altimeter_setting", "manifold_pressure"}:
        return meaning
    raw = numbers_of(table.frame[str(i)], "", "")
    known = np.abs(raw[np.isfinite(raw)])
    if known.size < 5:
        return meaning
    if code:
        return None if float(np.mean((known > 9.0) | (known % 1.0 > 0.0))) > 0.5 else meaning
    low, high = (float(x) for x in np.percentile(known, [2.0, 98.0]))
    if meaning.quantity == "manifold_pressure":  # by its unit alone, and no engine's
        return meaning if meaning.score > 1.0 or high - low > _SETTING * high else None
    thin = bool(meaning.units) and float(np.median(known)) * meaning.units[0].factor < QUANTITIES[meaning.quantity].low
    if thin or (high - low > _SETTING * high and np.unique(known).size > 20):
        return replace(meaning, quantity="static_pressure")
    return meaning


_NO_CLOCK = frozenset(["speed", "length", "pressure", "temperature", "rotation"])
_SETTING = 0.02  # no weather changes so much in a flight; 600 ft do


def by_cells(table: RawTable, i: int, meaning: Meaning | None) -> Meaning | None:
    """What the cells of a text column say: flight levels (FL065), a unit after each number, notches of the flaps."""
    series = table.frame[str(i)]
    if meaning is not None and meaning.quantity == "flap" and series.dtype == pl.String and notches(series):
        return replace(meaning, quantity="flap_notch", units=())
    if meaning is None and series.dtype == pl.String and series.drop_nulls().head(200).str.contains(_ZONE).all():
        return Meaning("utc_offset", (), None, 1.0) if len(series.drop_nulls()) else None
    if meaning is None and series.dtype == pl.String:
        for quantity, form in _SIDED.items():
            if float(series.drop_nulls().head(200).str.contains(form).mean() or 0.0) > 0.95:  # type: ignore[arg-type]
                return Meaning(quantity, (BY_NAME["deg"],), None, 1.0)
    if series.dtype != pl.String or (meaning is not None and (meaning.units or meaning.quantity not in TOGETHER)):
        return meaning
    if (cells := _numbered(series)) and all(re.fullmatch(r"FL ?\d{2,3}", c) for c in cells):
        return Meaning("pressure_altitude", (BY_NAME["FL"],), None, meaning.score if meaning else 1.0)
    return meaning


def units_in_cells(table: RawTable) -> None:
    """A unit that stands after each number of a column (2,350 ft) is the column's, where nothing else says one."""
    for i, series in enumerate(table.frame):
        if series.dtype == pl.String and not table.unit_cells[i] and not read_units(table.names[i]):
            tails = {re.sub(r"^[+-]?[\d.,' \xa0\u202f]+", "", c) for c in _numbered(series)}
            tail = tails.pop() if len(tails) == 1 else ""
            if tail.upper() in {"M", "T"} and (m := understand(table.names[i])) and QUANTITIES[m.quantity].circular:
                table.names[i] += f" ({tail})"  # 277M: which north
            elif read_units(tail):
                table.unit_cells[i] = tail


def _numbered(series: pl.Series) -> list[str]:
    return [c.strip() for c in series.drop_nulls().unique().head(60).to_list() if any(x.isdecimal() for x in c)]
