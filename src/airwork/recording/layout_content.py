"""Columns whose names say nothing, read by what is in them: `content.py` and `content_places.py` on one raw table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
import polars as pl

from airwork.recording.cells import numbers_of, stands_for_nothing, unknown_as_less
from airwork.recording.content import SAME, TESTS, Found, alike, climbs_with
from airwork.recording.content_motion import Motion
from airwork.recording.content_places import counted, places
from airwork.recording.flight import Mend
from airwork.recording.layout_hints import PLACE
from airwork.recording.layout_values import Choice, settle_one, settle_together
from airwork.recording.names import SAID, Meaning, hint, is_wish, named_units, understand
from airwork.recording.positions import other_way_round
from airwork.recording.quantities import QUANTITIES
from airwork.recording.recorded import Array, Recorded
from airwork.recording.table import RawTable
from airwork.recording.unit_choice import TOGETHER
from airwork.recording.unit_guess import Known
from airwork.recording.unit_words import Unit

_MOST_COLUMNS = 120
_NUMBERS = 0.8  # of the filled cells hold a number and nothing like a time
_KINDS = frozenset(["angle", "speed", "length", "pressure", "temperature", "electric", "ratio", "rotation", "rate",
                    "volume_flow", "mass_flow"])  # fmt: skip
_ONE_HEIGHT = 0.995  # two columns that go together so well are two heights, or one twice


def nameless(table: RawTable, meanings: list[Meaning | None], but: Iterable[str] = ()) -> dict[int, Array]:
    """Column → its numbers, of columns whose names say nothing and whose cells are numbers.

    Single letters say nothing, nor do names with a word that speaks against a reading (Nav lat, Avg alt): a limit, an
    error or another place doesn't move as the flight does. What somebody wished for (Selected alt) may.
    """
    out: dict[int, Array] = {}
    for i, (name, meaning) in enumerate(zip(table.names, meanings, strict=True)):
        letter = meaning is not None and meaning.quantity == "not_needed" and len(name) == 1 and meaning.score < SAID
        doubted = meaning is not None and meaning.aside and meaning.quantity != "not_needed" and not is_wish(name)
        if (meaning is not None and not letter and not doubted) or name in but or len(out) >= _MOST_COLUMNS:
            continue
        series = table.frame[str(i)]
        if series.dtype == pl.String:
            filled = series.drop_nulls().head(200)
            numbers = filled.str.contains(r"^\s*[-+]?[\d.,' ]*\d\s*[^\d\s:/-]{0,6}\s*$")
            if not len(filled) or float(numbers.mean() or 0.0) < _NUMBERS:  # type: ignore[arg-type]
                continue
        elif not series.dtype.is_numeric():
            continue
        values = numbers_of(series, "", "")
        values = np.where(stands_for_nothing(values) | unknown_as_less(values), np.nan, values)
        if np.isfinite(values).sum() >= 20:
            out[i] = values
    return out


def place_columns(table: RawTable, meanings: list[Meaning | None], time_s: Array, recorded: Recorded) -> bool:
    """Give latitude and longitude to the two columns that move as an aircraft does; whether there are such."""
    named = {m.quantity: i for i, m in enumerate(meanings) if m is not None and not m.aside}
    one = [q for q in ("latitude", "longitude") if q in named]
    if len(one) == 2:
        return False
    numbers = nameless(table, meanings, recorded.facts.get("time_columns", ()))
    found = places(time_s, numbers | {i: numbers_of(table.frame[str(i)], "angle", q) for q in one for i in [named[q]]},
                   frozenset(named[q] for q in one if q == "latitude"))  # fmt: skip
    if found is None or ("longitude" in one and found.longitude != named["longitude"]):
        return False
    for i, quantity in ((found.latitude, "latitude"), (found.longitude, "longitude")):
        if (old := meanings[i]) is None or old.aside or old.quantity != quantity:
            meanings[i] = Meaning(quantity, (found.unit,), None, 1.0)
            _said(recorded, table, i, quantity, found.why, time_s.size)
    if "only assumed" in found.why and not named.keys() & {"ground_speed", "speed"}:  # which would tell
        first, other = (table.names[i] or f"column {i + 1}" for i in (found.latitude, found.longitude))
        recorded.mends.append(Mend(other_way_round(first, other), time_s.size, column="latitude_rad", asks=True))
    return True


def place_by_cells(table: RawTable, meanings: list[Meaning | None]) -> tuple[float, float] | None:
    """(latitude, longitude) of the flight's middle where cells alone tell the columns. [deg]"""
    numbers = nameless(table, meanings)
    if (found := places(np.arange(table.frame.height, dtype=np.float64), numbers)) is None:
        return None
    middle = (float(np.nanmedian(numbers[i])) * found.unit.factor for i in (found.latitude, found.longitude))
    latitude, longitude = (float(np.degrees(x)) for x in middle)
    return latitude, longitude


def counted_time(
    table: RawTable, meanings: list[Meaning | None], recorded: Recorded, counts: Mapping[int, Array] | None = None
) -> Array | None:
    """Seconds of a column that only counts on, where no name and no stamp tells the time; None where none does.

    counts : the columns that may, with their numbers; else those whose names say nothing.
    """
    numbers = nameless(table, meanings)
    row = np.arange(table.frame.height, dtype=np.float64)
    at = {m.quantity: i for i, m in enumerate(meanings) if m is not None and not m.aside}
    if {"latitude", "longitude"} <= at.keys():
        place = [np.radians(numbers_of(table.frame[str(at[q])], "angle", q)) for q in ("latitude", "longitude")]
    elif (found := places(row, numbers)) is not None:
        place = [numbers[i] * found.unit.factor for i in (found.latitude, found.longitude)]
    else:
        return None
    if (time := counted(numbers if counts is None else counts, *place)) is None:
        return None
    i, seconds, why = time
    _said(recorded, table, i, "time", why, seconds.size)
    recorded.facts.update(time_column=table.names[i], time_columns=[table.names[i]], time_remark=why)
    return seconds


def turn_places(
    table: RawTable, meanings: list[Meaning | None], choices: list[Choice], known: Known, recorded: Recorded
) -> None:
    """Which of two columns without names is the latitude: as another column is the speed or the track of the way."""
    at = {c.meaning.quantity: c for c in choices if c.meaning.quantity in PLACE}
    names = [table.names[c.column] for c in at.values()]
    if len(at) < len(PLACE) or any(understand(n) is not None for n in names) or {*names} & {*recorded.facts["settled"]}:
        return
    numbers = nameless(table, meanings, recorded.facts.get("time_columns", ()))
    latitude, longitude = (known.columns[q] for q in PLACE)
    told = _goes_with(known.time_s, latitude, longitude, numbers)
    turned = "" if told else _goes_with(known.time_s, longitude, latitude, numbers)
    if not (told or turned):
        return
    recorded.mends[:] = [m for m in recorded.mends if not (m.asks and m.column == "latitude_rad")]
    if turned and float(np.nanmax(np.abs(longitude))) <= 0.5 * np.pi:
        for quantity, values in zip(PLACE, (longitude, latitude), strict=True):
            known.columns[quantity] = values
            recorded.columns[QUANTITIES[quantity].house] = values
        first, second = (at[q] for q in PLACE)
        first.meaning, second.meaning = second.meaning, first.meaning
        recorded.mends.append(Mend(f"{names[1]!r} is the latitude: so {turned}", known.time_s.size))


def _goes_with(time_s: Array, latitude: Array, longitude: Array, numbers: Mapping[int, Array]) -> str:
    """How a column agrees with the way over the ground; "" where none does."""
    motion = Motion(time_s, {"latitude": latitude, "longitude": longitude})
    for test in (TESTS["ground_speed"], TESTS["track"]):
        for i, x in numbers.items():
            if (found := test(motion, motion.even(x))) is not None:
                return f"'column {i + 1}' is the {found.quantity.replace('_', ' ')}, {found.why.removeprefix('it ')}"
    return ""


def by_content(
    table: RawTable, meanings: list[Meaning | None], choices: list[Choice], known: Known, recorded: Recorded
) -> None:
    """Settle what is still missing from the columns whose names say nothing; each is said in one line."""
    numbers = nameless(table, meanings, recorded.facts.get("time_columns", ()))
    if not numbers:
        return
    hinted = {i: hint(table.names[i], table.unit_cells[i]) for i in numbers}
    said = {i: {u.dimension for u in named_units(table.names[i], table.unit_cells[i])} for i in numbers}
    said = {i: s & _KINDS if s & _KINDS else set() for i, s in said.items()}
    motion = Motion(known.time_s, dict(known.columns))
    for quantity in TESTS:
        if known.columns.keys() & SAME[quantity]:
            continue
        dimension = QUANTITIES[quantity].dimension
        able = alike(motion, quantity, {i: x for i, x in numbers.items() if said[i] <= {dimension}}, hinted)
        if quantity == "altitude":
            able = _one_height(motion, able, numbers, hinted, table, recorded)
        if not able:
            continue
        i, found = able[0]
        name = "magnetic_heading" if found.quantity == "heading" else found.quantity
        name = "gps_altitude" if name == "altitude" else name
        units: tuple[Unit, ...] = (found.unit,)
        if found.quantity in {"altitude", "vertical_speed"}:  # left to the families, unless the file names it
            dimension = QUANTITIES[found.quantity].dimension
            units = tuple(u for u in named_units(table.names[i], table.unit_cells[i]) if u.dimension == dimension)
        choice = Choice(i, Meaning(name, units, None, 1.0), how=f"by its cells: {found.why}")
        group = [choice]
        if name == "gps_altitude" and "vertical_speed" not in known.columns:
            able_too = {j: x for j, x in numbers.items() if j != i and said[j] <= {"speed"}}
            rates = [j for j, x in able_too.items() if climbs_with(motion, numbers[i], x, in_units=True)]
            group += [Choice(j, Meaning("vertical_speed", (), None, 1.0), how="by its cells: it agrees with the change "
                             "of altitude") for j in rates[:1]]  # fmt: skip
        if name in TOGETHER:
            settle_together(group, table, known, recorded)
        else:
            settle_one(choice, table, known, recorded, {})
        for one in group:
            choices.append(one)
            meanings[one.column] = one.meaning
            del numbers[one.column]
            _said(recorded, table, one.column, one.meaning.quantity, one.how, known.time_s.size)
        motion = Motion(known.time_s, dict(known.columns))


def _one_height(
    motion: Motion,
    able: list[tuple[int, Found]],
    numbers: dict[int, Array],
    hinted: dict[int, str],
    table: RawTable,
    recorded: Recorded,
) -> list[tuple[int, Found]]:
    """Of columns that may be the altitude the one that is: by its word, by a vertical speed; else none, and said."""
    words = [c for c in able if hinted.get(c[0]) in SAME["altitude"]]
    if words:
        return words[:1]
    named = [
        c for c in able if any(u.dimension == "length" for u in named_units(table.names[c[0]], table.unit_cells[c[0]]))
    ]
    able = named or able
    with_rate = [c for c in able if any(climbs_with(motion, numbers[c[0]], x) for j, x in numbers.items() if j != c[0])]
    able = with_rate or able
    stands = [float(np.mean(np.diff(motion.even(numbers[i])) == 0.0)) for i, _ in able]
    if len(able) > 1 and stands:  # what somebody set stands where the other moves
        able = [c for c, s in zip(able, stands, strict=True) if s <= 2.0 * min(stands) + 0.05]
    if len(able) > 1:
        first = motion.even(numbers[able[0][0]])
        for i, _ in able[1:]:
            other = motion.even(numbers[i])
            both = np.isfinite(first) & np.isfinite(other)
            if both.sum() < 20 or float(np.corrcoef(first[both], other[both])[0, 1]) < _ONE_HEIGHT:
                names = " and ".join(repr(table.names[j]) for j, _ in able[:3])
                said = f"{names} may each be the altitude: none is taken; say which with: airwork recording map"
                recorded.mends.append(Mend(said, int(both.sum())))
                return []
    return able


def _said(recorded: Recorded, table: RawTable, i: int, quantity: str, why: str, count: int) -> None:
    words = why.removeprefix("by its cells: ").partition(";")[0]
    name = table.names[i] or f"column {i + 1}"
    recorded.mends.append(Mend(f"{name!r} taken as {quantity.replace('_', ' ')}: {words}", count))
