"""What the fuzzer calls: `target(WHAT)` takes bytes, and raises what airwork raises.

A reader takes the bytes as a recording. A lesson, an airplane file, a student's export or a table takes them as
choices: which values of a good one to change, and into what, so that most inputs get past the first check (TOML, JSON,
zip, the checksums of Parquet and Arrow).
"""

from __future__ import annotations

import copy
import io
import json
import pickle
import random
import re
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import fuzz_tables
import numpy as np
import polars as pl
import tomli_w

from airwork.airplane import Airplane
from airwork.airplane.check import check_airplane
from airwork.airplane.file import load
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.numbers import Question, numbers_for
from airwork.debrief import debrief
from airwork.errors import AirworkError
from airwork.jobs.files import demo_folder, load_airplane
from airwork.lesson import file as lesson_file
from airwork.lesson.file import parse_lesson
from airwork.lesson.plan import build_briefing
from airwork.maneuvers import ROOMS
from airwork.output.briefing_text import briefing_text
from airwork.output.card import card_pdf, make_card
from airwork.recording import clean, derive, open_file, read
from airwork.standards import load_standard

THINGS = ("lesson", "airplane", "csv_cells", "json_cells", "arrow_columns", "parquet_columns")
READERS = ("csv", "igc", "gpx", "kml", "nmea", "json", "parquet", "arrow")
DEEP = 500  # of recordings that are read, one in so many is also debriefed: it takes a hundred times as long
CARDS = 200  # of lessons that are briefed, one in so many has its card printed
SHOWN = 10  # of lessons that are briefed, one in so many is written out in every form
WHOLE = 25  # of lessons and airplane files, one in so many is a whole one, the others a few of its exercises, rows
TRIED_ROWS = 24
TYPED = 20  # of lessons and airplane files, one in so many goes through its text; the others are handed in as read


class Reader:
    """Reads bytes as a recording; now and then the whole way to a debrief."""

    def __init__(self, what: str) -> None:
        self.what, self.read = what, 0
        self.standard = load_standard("private")

    def __call__(self, raw: bytes) -> None:
        """Read one."""
        opened = open_file.open_bytes(raw, "fuzzed")
        recorded = read.read_raw(opened, Path("fuzzed"))
        self.read += 1
        if self.read % DEEP:
            return
        with np.errstate(all="ignore"):
            clean.clean(recorded, "fuzzed")
            flight = derive.derive(recorded)
        if not np.all(np.diff(flight.time_s) > 0):
            raise ValueError("time does not run forward")
        json.dumps(debrief(flight, standard=self.standard).as_json(), allow_nan=False)

    def seeds(self) -> Iterator[bytes]:
        """Good files of few rows: what is short is tried often."""
        from recording.made_flight import Made
        from recording.test_formats import MADE, gpx, kml, nmea
        from recording.test_json import nested, rows
        from recording.test_layouts import frame
        from recording.writing import FULL, GPS, table

        few = Made(**{n: _few(getattr(MADE, n)) for n in MADE.__dataclass_fields__})
        small = frame(few).filter(pl.col("icao24") == "a1b2c3").head(8)
        if self.what == "csv":
            yield table(few, FULL).encode()
            yield table(few, GPS, delimiter=";", decimal=",").encode()
            yield "\n".join(line for line in table(few, GPS).splitlines()[:10]).encode()
        elif self.what == "igc":
            text = (Path(__file__).parents[1] / "tests/sources/recordings/fai_appendix_a.igc").read_bytes()
            yield text[:4096]
        elif self.what == "gpx":
            yield re.match(r"(?s)(.*?</trkpt>){6}", gpx())[0].encode() + b"</trkseg></trk></gpx>"  # type: ignore[index]
        elif self.what == "kml":
            yield kml(range(8)).encode()
        elif self.what == "nmea":
            yield "\n".join(nmea()[:TRIED_ROWS]).encode()
        elif self.what == "json":
            yield json.dumps(rows()[:8]).encode()
            few_nested = json.loads(json.dumps(nested()), object_hook=lambda o: {k: _few(v) for k, v in o.items()})
            yield json.dumps(few_nested).encode()
        else:
            box = io.BytesIO()
            if self.what == "parquet":
                small.write_parquet(box)
            else:
                small.write_ipc(box)
            yield box.getvalue()


class Cells(Reader):
    """A small table with its names, units, rows and cells changed, written as CSV, or as JSON in one of its shapes."""

    def __init__(self, what: str) -> None:
        from recording.test_json import FORMS

        super().__init__(what.removesuffix("_cells"))
        self.tables = [fuzz_tables.table_of(text.decode()) for text in Reader("csv").seeds() if b";" not in text]
        self.trees = [json.loads(FORMS[form]()) for form in FORMS if form != "lines"] if self.what == "json" else []
        self.trees = [json.loads(json.dumps(tree), object_hook=_few_of, parse_int=float) for tree in self.trees]
        self.trees = [_few(tree) for tree in self.trees]

    def __call__(self, raw: bytes) -> None:
        """Read one."""
        table, pick = fuzz_tables.made_table(self.tables[raw[-1] % len(self.tables)], raw)
        if self.what == "csv":
            self.last = fuzz_tables.as_csv(table, pick)
        elif raw[-1] % 2:
            self.last = fuzz_tables.as_json(table, pick)
        else:
            self.last = json.dumps(changed(pick.choice(self.trees), raw)).encode()
        super().__call__(self.last)


def _few_of(node: dict[str, Any]) -> dict[str, Any]:
    return {k: _few(v) for k, v in list(node.items())[:TRIED_ROWS]}


class Columns(Reader):
    """A good table, its columns and cells changed, written as a whole Parquet or Arrow file, whatever it says then."""

    def __init__(self, what: str) -> None:
        super().__init__(what)
        self.base = pl.read_ipc(io.BytesIO(next(self.seeds())))

    def __call__(self, raw: bytes) -> None:
        """Read one."""
        frame = self.base
        for at in range(0, len(raw), 4):
            try:
                frame = self._changed(frame, random.Random(raw[at : at + 4]))
            except KeyboardInterrupt:
                raise
            except BaseException:  # a change this column can't have (the library's panic is no Exception): left out
                continue
        box = io.BytesIO()
        try:
            frame.write_parquet(box) if self.what.startswith("parquet") else frame.write_ipc(box)
        except KeyboardInterrupt:
            raise
        except BaseException:
            return  # a type the format has no form for
        self.last = box.getvalue()  # what a finding keeps
        with past_first():
            super().__call__(self.last)

    @staticmethod
    def _changed(frame: pl.DataFrame, pick: random.Random) -> pl.DataFrame:
        """A table with one thing changed."""
        if not frame.width:
            return frame
        name = pick.choice(frame.columns)
        cells = frame[name]
        what = pick.randrange(10)
        if what == 0:
            return frame.rename({name: pick.choice((*ODD_TEXT, *frame.columns, "time", "altitude (m)", "IAS [kt]"))})
        if what == 1:
            return frame.with_columns(cells.cast(pick.choice(TYPES), strict=False))
        if what == 2:
            return frame.drop(name)
        if what == 3:
            return frame.sample(fraction=1.0, shuffle=True, seed=pick.randrange(1000))
        if what == 4:
            return frame.head(pick.randrange(4)) if pick.random() < 0.3 else pl.concat([frame] * pick.randint(2, 30))
        if what == 5:
            return frame.with_columns(pl.concat_list(name).alias(name) if pick.random() < 0.5 else pl.struct(name))
        new = cells.to_list()
        for _ in range(pick.choice((1, 1, 2, len(new)))):
            if new:
                at = pick.randrange(len(new))
                odd = pick.choice(ODD_TEXT) if cells.dtype == pl.String else pick.choice(ODD_NUMBERS)
                new[at] = pick.choice((None, odd, new[pick.randrange(len(new))], new[0]))
        return frame.with_columns(pl.Series(name, new, dtype=cells.dtype, strict=False))


TYPES = (
    pl.Int8, pl.UInt16, pl.Int64, pl.UInt64, pl.Float32, pl.Float64, pl.String, pl.Boolean, pl.Binary, pl.Date, pl.Time,
    pl.Datetime("ms"), pl.Datetime("ns", "UTC"), pl.Duration("us"), pl.Categorical, pl.Null, pl.Decimal(18, 3),
)  # fmt: skip


def _few(column: Any) -> Any:
    return column[:TRIED_ROWS] if isinstance(column, np.ndarray | list) else column


# ---- things with a structure -----------------------------------------------------------------------------------------

ODD_TEXT = (
    "", " ", "0", "-1", "1e308", "nan", "inf", "$x$", "\\frac", "<b>", "'; --", "../..", "=1+1", "Ω полёт 学", "\u202e",
    "a" * 400, "91°", "N 91 00", "-0", "10 kt", "10 m", "99999 ft", "-40 °C", "360/5 kt", "VRB/99 kt", "2026-02-30",
    "25:61", "up", "none", "9" * 30,
)  # fmt: skip
ODD_NUMBERS = (0, -1, 1, 2, 1e-9, 1e9, 1e308, -1e308, 91.0, 181.0, float("nan"), float("inf"), 0.5, 10**18, 3.7, -0.0)
NUMBER = re.compile(r"\d+(?:\.\d+)?")


def _spots(tree: Any) -> list[tuple[Any, Any]]:
    """Every (container, key) of a tree."""
    found: list[tuple[Any, Any]] = []
    waiting = [tree]
    while waiting:
        one = waiting.pop()
        for key, value in one.items() if isinstance(one, dict) else enumerate(one):
            found.append((one, key))
            if isinstance(value, dict | list):
                waiting.append(value)
    return found


def _other(value: Any, pick: random.Random) -> Any:
    """Another value in the place of one: mostly of its kind, so that it is looked at."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        near = (value * 2, value / 2, -value, value + 1, value - 1, value * 0.98, value * 1.01)
        new = pick.choice(near) if pick.random() < 0.7 else pick.choice(ODD_NUMBERS)
        whole = isinstance(value, int) and abs(new) < 2**62 and pick.random() < 0.8
        return int(new) if whole else new
    if isinstance(value, str):
        if NUMBER.search(value) and pick.random() < 0.8:
            at = pick.choice(list(NUMBER.finditer(value)))
            mild = pick.random() < 0.7  # most get past the first check, and are looked at further in
            factor = pick.choice((0.9, 0.97, 1.03, 1.1) if mild else (0, 0.5, 2, 10, 100))
            return f"{value[: at.start()]}{float(at[0]) * factor:g}{value[at.end() :]}"
        return pick.choice(ODD_TEXT) if pick.random() < 0.7 else value[: pick.randint(0, len(value))]
    if isinstance(value, list):
        new = list(value)
        pick.shuffle(new)
        return new * 2 if pick.random() < 0.3 else new[: pick.randint(0, len(new))]
    return pick.choice(ODD_TEXT)


def changed(tree: Any, raw: bytes) -> Any:
    """A tree with a value changed, taken out or moved for each four bytes: the same bytes, the same tree."""
    tree = pickle.loads(pickle.dumps(tree))  # a copy, in a fifth of deepcopy's time
    for at in range(0, len(raw), 4):
        pick = random.Random(raw[at : at + 4])
        spots = _spots(tree)
        if not spots:
            return tree
        values = [(h, k) for h, k in spots if not isinstance(h[k], dict | list)]
        holder, key = pick.choice(values if values and pick.random() < 0.85 else spots)
        what = pick.random()
        if what < 0.9:
            holder[key] = _other(holder[key], pick)
        elif what < 0.95:
            del holder[key]
        else:  # another place's value, of the same kind where there is one
            same = [h[k] for h, k in spots if type(h[k]) is type(holder[key])]
            holder[key] = copy.deepcopy(pick.choice(same))
    return tree


class Handed:
    """Stands for the TOML library in a reader: what was changed is handed in without being written and read."""

    TOMLDecodeError = tomllib.TOMLDecodeError

    def __init__(self, module: Any) -> None:
        self.tree: Any = None
        module.tomllib = self

    def loads(self, text: str) -> Any:
        """The tree, or what the text says."""
        tree, self.tree = self.tree, None
        return tomllib.loads(text) if tree is None else tree


class Lesson:
    """The demo's lesson with exercises of any kind, changed and briefed."""

    def __init__(self) -> None:
        self.base = tomllib.loads(next((demo_folder() / "lessons").glob("*.toml")).read_text("utf-8"))
        flown = {e["kind"]: e for e in self.base["exercises"]}
        self.exercises = [flown.get(kind, {"kind": kind, "altitude": "6,500 ft"}) for kind in ROOMS]
        self.folder = demo_folder() / "lessons"
        self.handed, self.tried, self.briefed = Handed(lesson_file), 0, 0

    def __call__(self, raw: bytes) -> None:
        """Brief one."""
        self.tried += 1
        base, pick = self.base, random.Random(raw)
        if self.tried % WHOLE:
            base = {**base, "exercises": pick.sample(self.exercises, pick.choice((0, 0, 1, 1, 2)))}
        tree = changed(base, raw)
        text = tomli_w.dumps(tree) if self.tried % TYPED == 0 else ""
        self.handed.tree = None if text else tree
        lesson = parse_lesson(text, where="lesson", folder=self.folder)
        with past_first():
            briefing = build_briefing(lesson, load_airplane(lesson.airplane_path))
            self.briefed += 1
            if self.briefed % SHOWN == 0:
                json.dumps(json.loads(briefing.to_json()), allow_nan=False)
                briefing_text(briefing, full=True)
                card = make_card(briefing)
                if self.briefed % CARDS == 0:
                    card_pdf(card, "a5")


class AirplaneFile:
    """The invented airplanes' files, changed, checked, asked for their numbers."""

    def __init__(self) -> None:
        files = sorted((demo_folder() / "airplanes").glob("*.toml"))
        self.whole = [tomllib.loads(f.read_text("utf-8")) for f in files]
        self.thin = [thinned(tree) for tree in self.whole]
        self.handed, self.tried = Handed(load), 0

    def __call__(self, raw: bytes) -> None:
        """Check one."""
        self.tried += 1
        bases = self.thin if self.tried % WHOLE else self.whole
        tree = changed(bases[raw[0] % len(bases)], raw)
        text = tomli_w.dumps(tree) if self.tried % TYPED == 0 else ""
        self.handed.tree = None if text else tree
        airplane = Airplane(parse_airplane_file(text, where="airplane"))
        with past_first():
            if self.tried % 2:
                check_airplane(airplane)
            else:
                numbers_for(airplane, Question())


def thinned(tree: Any) -> Any:
    """An airplane file with two values of each entry of its tables: every grid is still whole."""
    if isinstance(tree, dict):
        return {key: thinned(value) for key, value in tree.items()}
    if not isinstance(tree, list) or len(tree) < 20 or not isinstance(tree[0], dict):
        return tree
    seen = {key: sorted({row[key] for row in tree if key in row}, key=str) for key in tree[0]}
    kept = {key: {values[0], values[-1]} for key, values in seen.items() if len(values) <= len(tree) // 4}
    return [row for row in tree if all(row.get(key) in kept[key] for key in kept)] or tree[:8]


class past_first:
    """Marks what is refused inside as refused later than by the first check."""

    def __enter__(self) -> None: ...

    def __exit__(self, _kind: Any, problem: BaseException | None, _trace: Any) -> None:
        if isinstance(problem, AirworkError):
            problem.past_first = True  # type: ignore[attr-defined]


TARGETS: dict[str, Callable[[], Any]] = {
    **{what: (lambda what=what: Reader(what)) for what in READERS},
    "lesson": Lesson, "airplane": AirplaneFile,
    "csv_cells": lambda: Cells("csv_cells"), "json_cells": lambda: Cells("json_cells"),
    "arrow_columns": lambda: Columns("arrow_columns"), "parquet_columns": lambda: Columns("parquet_columns"),
}  # fmt: skip


def target(what: str) -> Any:
    """The callable of this name."""
    return TARGETS[what]()
