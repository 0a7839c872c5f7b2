"""Tables: CSV and its kin, Parquet and Arrow; one aircraft of a file that holds several."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

import polars as pl

from airwork.errors import InputError
from airwork.recording.flight import Mend
from airwork.recording.layout import interpret
from airwork.recording.long_form import unpacked, widened
from airwork.recording.mapping import find_mapping
from airwork.recording.moments import apart, joined
from airwork.recording.names import understand, words_of
from airwork.recording.open_file import MAX_BYTES, Opened
from airwork.recording.quantities import VOCABULARY
from airwork.recording.recorded import Recorded
from airwork.recording.table import RawTable, read_table
from airwork.recording.table_lines import MOST_COLUMNS
from airwork.recording.unit_words import read_units

MOST_CELLS = 40_000_000  # 40 columns of the longest recording there may be
_MOST = 2.0  # times the rows of the next: the others were only in sight of the recorder
_ADDRESS = frozenset(["icao24", "icao", "hex", "mode"])
_WORDS = {
    "table": "delimited text",
    "json": "JSON",
    "xml": "XML",
    "parquet": "Parquet",
    "arrow": "Arrow",
}


def read(opened: Opened, path: Path, mapping: Path | None, aircraft: str | None) -> Recorded:
    """House quantities of a table."""
    table = raw_table(opened)
    naming = _naming(table)
    several = _named_in(table, naming)
    table = _one_aircraft(table, naming, several, aircraft, opened.where)
    table = joined(table)
    settled, found_at = find_mapping(path, table.names, mapping)
    recorded = interpret(table, settled, opened.where)
    recorded.format = _WORDS.get(opened.kind) or table.layout.partition(" ")[0]
    if found_at:
        recorded.facts["mapping"] = found_at
    if name := _name_of_aircraft(table):
        recorded.facts.setdefault("aircraft", name)
    if len(several) > 1:
        recorded.facts["aircraft_in_file"] = [name for name, _ in several]
    return recorded


def _parting(table: RawTable) -> int | None:
    """A column that parts the rows into tracks: within each two numbers go on, from row to row they jump."""
    frame = table.frame
    numbers = [n for n, kind in frame.schema.items() if kind == pl.Float64]
    if frame.height < _LEAST_ROWS or len(numbers) < 2:
        return None
    meanings = [understand(n) for n in table.names]
    places = {str(i) for i, m in enumerate(meanings) if m is not None and m.quantity in {"latitude", "longitude"}}
    plain = pl.col(pl.String, pl.Float64)
    turning = frame.select((plain != plain.shift(1)).mean()).row(0, named=True)
    for name in [n for n, share in turning.items() if (share or 0.0) > _IN_TURN]:
        series, i = frame[name], int(name)
        if series.null_count() or series.n_unique() > _MOST_AIRCRAFT or read_units(table.unit_cells[i]):
            continue
        if series.dtype == pl.Float64 and bool((series != series.round()).any()):  # a name isn't told in parts
            continue
        turns = (series != series.shift(1)).fill_null(value=False)
        across = frame.select(pl.col(numbers).diff().abs().filter(turns).median()).row(0, named=True)
        within = frame.select(pl.col(numbers).diff().over(name).abs().median()).row(0, named=True)
        jump = {n for n in numbers if (across[n] or 0.0) > _JUMPS * (within[n] or 0.0) > 0.0}
        far = any((across[n] or 0.0) > _ONE_AIRCRAFT_DEG for n in jump & places)  # numbers name them where places jump
        pair = jump & places and series.n_unique() <= _RECEIVERS
        if len(jump) >= 2 and (series.dtype == pl.String or far or pair):
            return i
    return None


_LEAST_ROWS, _MOST_AIRCRAFT = 60, 20
_IN_TURN, _JUMPS = 0.1, 2.0  # of the rows are another's than the one before, and jump by more than each goes on
_ONE_AIRCRAFT_DEG, _RECEIVERS = 0.02, 3


def _name_of_aircraft(table: RawTable) -> str:
    """The one aircraft the rows name; "" where they name none or several."""
    for i, n in enumerate(table.names):
        if _names_aircraft(n) and str(i) in table.frame.columns:
            named = {str(v).strip().upper() for v in table.frame[str(i)].unique().to_list() if v is not None} - {""}
            if len(named) == 1:
                return named.pop()[:80]
    said = (m for line in table.head if (m := _SAID_ABOVE.search(line)))
    return next((m[1].upper() for m in said), "")


_SAID_ABOVE = re.compile(r"(?i)\baircraft[ _]?(?:ident|id|registration)\"?\s*[=:]\s*\"?([a-z0-9][\w-]{2,9})\b")


def _names_aircraft(name: str) -> bool:
    """A column's name says that it names the aircraft; a navigation aid's is beside the matter."""
    meaning = understand(name)
    return meaning is not None and meaning.quantity == "aircraft" and not meaning.aside


def raw_table(opened: Opened) -> RawTable:
    """The columns as they lie in the file, a column for each quantity."""
    return widened(unpacked(_as_it_lies(opened)))


def _as_it_lies(opened: Opened) -> RawTable:
    if opened.kind == "table":
        return read_table(opened.data, opened.where)
    if opened.kind in {"json", "xml"}:
        from airwork.recording.read_json import read_json

        return read_json(opened.data, opened.where, opened.kind)
    if opened.kind in {"gpx", "kml"}:
        from importlib import import_module

        points: RawTable = import_module(f"airwork.recording.read_{opened.kind}").read(opened.data, opened.where)
        return points
    mark = b"PAR1" if opened.kind == "parquet" else b"ARROW1"
    if not opened.data.endswith(mark):
        raise InputError(f"is cut off: a {_WORDS[opened.kind]} file ends as it begins.", where=opened.where)
    try:
        with _quiet():
            frame = _declared_small(opened).collect()
    except InputError:
        raise
    except BaseException as problem:  # polars raises many kinds on a damaged file; a panic of its is no Exception
        if isinstance(problem, (KeyboardInterrupt, SystemExit, GeneratorExit)):
            raise
        reason = str(problem).splitlines()[0][:100] if isinstance(problem, Exception) else "its parts don't fit"
        raise InputError(f"can't be read as {_WORDS[opened.kind]} ({reason}).", where=opened.where) from None
    for _ in range(2):  # columns within a column
        inside = [n for n, kind in frame.schema.items() if isinstance(kind, pl.Struct)]
        frame = frame.with_columns(pl.col(n).name.prefix_fields(f"{n}.") for n in inside).unnest(inside)
    _refuse_long_text(frame, opened.where)
    names = [str(n) for n in frame.columns]
    flat = [c for c in range(len(names)) if not frame.dtypes[c].is_nested() and frame.dtypes[c] != pl.Binary]
    kept = [frame.to_series(c).alias(str(k)) for k, c in enumerate(flat)]
    kept = [s.cast(pl.String) if s.dtype in (pl.Categorical, pl.Enum) else _of_this_calendar(s) for s in kept]
    if not kept or not frame.height:
        raise InputError("has no rows with plain columns; nothing was recorded.", where=opened.where)
    return RawTable([names[c] for c in flat], [""] * len(flat), pl.DataFrame(kept), layout="columns with names")


def _refuse_long_text(frame: pl.DataFrame, where: str) -> None:
    """A text is kept once however many rows repeat it; whatever looks at the cells would make gigabytes of it."""
    lengths = [s.str.len_bytes() for s in frame if s.dtype == pl.String]
    lengths += [s.cat.len_bytes() for s in frame if s.dtype in (pl.Categorical, pl.Enum)]
    if (size := sum(int(one.sum() or 0) for one in lengths)) > MAX_BYTES:
        raise InputError(f"declares {size / 1e6:,.0f} MB of text; no recording looks so.", where=where)


def _of_this_calendar(column: pl.Series) -> pl.Series:
    """Dates beyond the years 1 to 9999 left empty: the library gives up over them as soon as they are looked at."""
    if column.dtype not in (pl.Date, pl.Datetime):
        return column
    day = 1 if isinstance(column.dtype, pl.Date) else 86_400 * _PER_SECOND[column.dtype.time_unit]  # type: ignore[attr-defined]
    counted = column.to_physical().cast(pl.Float64)
    return column.set((counted < _YEARS_DAYS[0] * day) | (counted >= _YEARS_DAYS[1] * day), None)


_YEARS_DAYS = (-719_162, 2_932_897)  # of 1 January 1 and 10000, from 1970
_PER_SECOND = {"ms": 10**3, "us": 10**6, "ns": 10**9}


def _declared_small(opened: Opened) -> pl.LazyFrame:
    """The file's table, not read yet: some hundred kilobytes can declare gigabytes of the same number.

    Raises
    ------
    InputError : it declares more than any recording has.
    """
    lazy = (pl.scan_parquet if opened.kind == "parquet" else pl.scan_ipc)(BytesIO(opened.data))
    rows, columns = int(lazy.select(pl.len()).collect().item()), len(lazy.collect_schema())
    if columns > MOST_COLUMNS or rows * columns > MOST_CELLS:
        raise InputError(f"declares {rows:,} rows of {columns:,} columns; no recording looks so.", where=opened.where)
    return lazy


@contextmanager
def _quiet() -> Iterator[None]:
    """Nothing on the standard error meanwhile: a panic inside the library writes pages there before it is caught."""
    try:
        kept, nothing = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    except OSError:  # no standard error to speak of
        yield
        return
    try:
        os.dup2(nothing, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nothing)


def _names_in(table: RawTable, column: int) -> pl.Series:
    return table.frame[str(column)].cast(pl.String).str.strip_chars().str.to_lowercase().str.strip_suffix(".0")


def _naming(table: RawTable) -> list[int]:
    """The columns that name the aircraft; its address first, since one aircraft may change its callsign."""
    named = [
        i for i, n in enumerate(table.names)
        if _names_aircraft(n) and _may_name(table.frame[str(i)])
    ]  # fmt: skip
    if not any(table.frame[str(i)].drop_nulls().n_unique() > 1 for i in named) and (codes := _addresses(table)):
        return codes
    if not named and (parts := _parting(table)) is not None:
        return [parts]
    return sorted(named, key=lambda i: not set(words_of(table.names[i])) & _ADDRESS)


def _addresses(table: RawTable) -> list[int]:
    """A text column of 24-bit addresses, some letters before them or not, each for several rows."""
    for i in (k for k in range(len(table.names)) if table.frame[str(k)].dtype == pl.String):
        filled = table.frame[str(i)].drop_nulls()
        told = filled.n_unique()
        if 2 <= told <= filled.len() / 2 and bool(filled.str.contains(_ADDRESSED).all()):
            return [i]
    return []


_ADDRESSED = r"^(?:[A-Z]{2,4})?[0-9A-F]{6}$|^[0-9a-f]{6}$"


def _may_name(series: pl.Series) -> bool:
    """No time, and no numbers with decimals, as coordinates are."""
    parts = series.dtype.is_float() and float((series.drop_nulls() % 1.0 != 0.0).mean() or 0.0) > _IN_PARTS  # type: ignore[arg-type]
    return not (series.dtype.is_temporal() or parts)


_IN_PARTS = 0.5  # of the cells


def aircraft_in(table: RawTable) -> list[tuple[str, int]]:
    """(name, rows) of each aircraft the rows name, most rows first."""
    return _named_in(table, _naming(table))


def _named_in(table: RawTable, naming: list[int]) -> list[tuple[str, int]]:
    if not naming:
        return []
    counts: pl.DataFrame = _names_in(table, naming[0]).drop_nulls().value_counts(sort=True)
    return [(str(n), int(rows)) for n, rows in counts.iter_rows() if n != ""]


def _one_aircraft(
    table: RawTable, named: list[int], there: list[tuple[str, int]], wanted: str | None, where: str
) -> RawTable:
    """The rows of one aircraft."""
    if not named:
        if wanted is not None:
            raise InputError("has no column that names the aircraft; leave --aircraft out.", where=where)
        return table
    identity, names, rows = _names_in(table, named[0]), [n for n, _ in there], [n for _, n in there]
    if len(names) <= 1 and wanted is None:
        return table
    if (
        wanted is None
        and understand(table.names[named[0]]) is None
        and any(len(w) > 3 and w in VOCABULARY for n in names for w in words_of(n))
    ):
        return apart(table, identity, names)
    if rows[0] == 1:
        said = f"holds one row each of {len(names)} aircraft ({', '.join(names[:4])}): a single moment is no recording."
        raise InputError(said, where=where)
    if wanted is None and rows[0] >= _MOST * rows[1]:
        others = f"{len(names) - 1} other aircraft left out ({', '.join(names[1:4])}{' ...' if len(names) > 4 else ''})"
        table.mends.append(Mend(f"{others}; {names[0]} has most rows, another is read with --aircraft", sum(rows[1:])))
        wanted = names[0]
    if wanted is None:
        shown = ", ".join(f"{n} ({c} rows)" for n, c in there[:6])
        more = f" and {len(names) - 6} more" if len(names) > 6 else ""
        raise InputError(f"holds {len(names)} aircraft: {shown}{more}. Choose one with --aircraft.", where=where)
    said = wanted.strip().lower()
    for other in named:  # by its callsign, where the rows name that too
        if said not in names and said in _names_in(table, other).unique().to_list():
            identity, names = _names_in(table, other), [said]
    if said not in names:
        raise InputError(f"holds no aircraft {wanted!r}; there are: {', '.join(names[:12])}.", where=where)
    table.frame = table.frame.filter((identity == said).fill_null(False))
    return table
