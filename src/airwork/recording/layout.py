"""A raw table → house quantities in SI: which column is what, in which unit, and what is left over."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from airwork import units as u
from airwork.airdata.atmosphere import G0_MPS2
from airwork.errors import InputError
from airwork.recording.clock import DAY_S, dates_of_numbers, offsets, seconds_of_numbers, seconds_of_text
from airwork.recording.flight import Mend
from airwork.recording.names import Meaning, common_words, understand
from airwork.recording.quantities import QUANTITIES, TIME_QUANTITIES
from airwork.recording.recorded import Array, Clock, Recorded
from airwork.recording.table import RawTable
from airwork.recording.unit_guess import Known, guess
from airwork.recording.unit_words import Unit

if TYPE_CHECKING:
    import polars as pl

AVGAS_KGPM3 = 6.0 * u.LB_KG / u.USGAL_M3  # planning value: [PHAK] ch. 10, 6 lb per US gallon
_YES = {"1", "true", "t", "yes", "y", "on", "down", "active", "warn", "ground", "gnd"}
_NO = {"0", "false", "f", "no", "n", "off", "up", "none", "ok", "air", "inactive"}
_TANKS = {"off": 0, "left": 1, "l": 1, "right": 2, "r": 2, "both": 3, "b": 3, "all": 3}
# Settled first: what others are held against.
_ORDER = ("latitude", "longitude", "ground_speed", "speed", "gps_altitude", "pressure_altitude", "indicated_altitude",
          "altitude")  # fmt: skip


@dataclass(slots=True)
class Choice:
    """One column of the file and what it was taken for."""

    column: int
    meaning: Meaning
    unit: Unit | None = None
    how: str = ""


def interpret(table: RawTable, mapping: Mapping[str, str], where: str) -> Recorded:
    """Give each column its quantity and unit.

    Parameters
    ----------
    mapping : column name → "quantity:unit", "quantity" or "ignore", settled by the user; it wins over the grammar.

    Raises
    ------
    InputError : no column tells the time, or there is nothing else to read.
    """
    common = common_words(table.names)
    meanings = [_meaning(n, c, common, mapping, where) for n, c in zip(table.names, table.unit_cells, strict=True)]
    recorded = Recorded("table", np.empty(0), "elapsed", {})
    recorded.mends += table.mends
    state_vectors = _is_state_vectors(meanings)
    time_s, clock = _time(table, meanings, recorded, where)
    recorded.time_s, recorded.clock = time_s, clock
    known = Known(time_s)
    for meaning in meanings:
        if meaning is not None and meaning.units:
            known.note_unit(meaning.units[0])
    if state_vectors:
        known.metric, known.imperial = 1, 0
    choices = _choose(table, meanings, state_vectors)
    for choice in choices:
        _settle(choice, table, known, recorded)
    _hottest(table, meanings, known, recorded)
    _report(table, meanings, choices, recorded)
    if not recorded.columns and not recorded.extra:
        raise InputError(
            "none of its columns is one airwork knows; settle them with: airwork recording map FILE.", where=where
        )
    return recorded


def _meaning(name: str, cell: str, common: frozenset[str], mapping: Mapping[str, str], where: str) -> Meaning | None:
    from airwork.recording.unit_words import named

    if (said := mapping.get(name)) is None:
        return understand(name, cell, common) if name and len(name) < 120 else None
    quantity, _, unit = said.partition(":")
    if quantity == "ignore":
        return Meaning("not_needed", (), None, 1e3)
    if quantity not in QUANTITIES:
        raise InputError(f"the mapping names {quantity!r} for column {name!r}; no such quantity.", where=where)
    found = named(unit) if unit else None
    if unit and found is None:
        raise InputError(f"the mapping names the unit {unit!r} for column {name!r}; unknown.", where=where)
    if found is None:
        guessed = understand(name, cell, common)
        return Meaning(quantity, guessed.units if guessed and guessed.quantity == quantity else (), None, 1e3)
    return Meaning(quantity, (found,), None, 1e3)


def _is_state_vectors(meanings: list[Meaning | None]) -> bool:
    """Surveillance (ADS-B) state vectors: many aircraft's identities beside position and two altitudes, in SI."""
    names = {m.quantity for m in meanings if m}
    return "aircraft" in names and "latitude" in names and not names & {"indicated_airspeed", "rpm"}


# ---- time


def _time(table: RawTable, meanings: list[Meaning | None], recorded: Recorded, where: str) -> tuple[Array, Clock]:
    found: dict[str, list[int]] = {}
    for i, meaning in enumerate(meanings):
        if meaning is not None and not meaning.aside and meaning.quantity in TIME_QUANTITIES:
            found.setdefault(meaning.quantity, []).append(i)
    remarks: list[str] = []
    dates = _first_readable(table, found.get("date", []), remarks, date=True)
    local_dates = _first_readable(table, found.get("local_date", []), remarks, date=True)
    any_date = dates is not None or local_dates is not None
    best: tuple[float, Array, Clock] | None = None
    for name in ("time", "local_time", "date", "local_date", "elapsed"):
        for i in found.get(name, []):
            values, kind, remark = _column_seconds(table, i, meanings[i], any_date)
            good = float(np.isfinite(values).mean()) if values.size else 0.0
            if good < 0.05:
                continue
            local = name.startswith("local")
            clock: Clock = "utc"
            if kind == "date":
                continue
            if kind == "time of day":
                day = local_dates if local and local_dates is not None else dates
                day = day if day is not None else local_dates
                if day is not None:
                    values, local = day + values, local or dates is None
                else:
                    clock = "time of day"
            elif kind == "elapsed":
                clock = "elapsed"
            if local and clock != "elapsed":
                values = _to_utc(values, table, found.get("utc_offset", []), recorded)
            moving = values[np.isfinite(values)]
            steps = moving.size > 1 and float(np.ptp(moving)) > 0.0
            rank = {"utc": 2.0, "time of day": 1.0, "elapsed": 0.5}[clock] + good - (0.3 if local else 0.0)
            rank -= 0.0 if steps else 3.0
            if best is None or rank > best[0]:
                best = (rank, values, clock)
                recorded.facts["time_column"] = table.names[i]
                recorded.facts["time_remark"] = "; ".join(r for r in (remark, *remarks) if r)
    if best is None:
        raise InputError(
            "no column tells the time; name one with: airwork recording map FILE --set COLUMN=time.", where=where
        )
    return best[1], best[2]


def _column_seconds(table: RawTable, i: int, meaning: Meaning | None, has_date: bool) -> tuple[Array, Any, str]:
    import polars as pl

    series = table.frame[str(i)]
    if series.dtype == pl.String:
        return seconds_of_text(series)
    if series.dtype.is_temporal():
        if series.dtype == pl.Date:
            return series.cast(pl.Int32).cast(pl.Float64).to_numpy() * DAY_S, "date", ""
        if series.dtype == pl.Time:
            return series.cast(pl.Int64).cast(pl.Float64).to_numpy() / 1e9, "time of day", ""
        if series.dtype == pl.Duration:
            return series.dt.total_microseconds().cast(pl.Float64).to_numpy() / 1e6, "elapsed", ""
        return series.dt.epoch("us").cast(pl.Float64).to_numpy() / 1e6, "moment", ""
    values = series.cast(pl.Float64, strict=False).to_numpy().astype(np.float64)
    if meaning is not None and meaning.quantity in {"date", "local_date"}:
        return dates_of_numbers(values), "date", ""
    unit = next((x for x in (meaning.units if meaning else ()) if x.dimension == "time"), None)
    values, kind, remark = seconds_of_numbers(values, unit.factor if unit else None, has_date)
    return values, kind, remark


def _first_readable(table: RawTable, columns: list[int], remarks: list[str], *, date: bool) -> Array | None:
    for i in columns:
        values, kind, remark = _column_seconds(table, i, Meaning("date", (), None, 0.0), has_date=False)
        if kind in {"date", "moment"} and np.isfinite(values).mean() > 0.05:
            if remark:
                remarks.append(remark)
            return np.floor(values / DAY_S) * DAY_S
    return None


def _to_utc(values: Array, table: RawTable, columns: list[int], recorded: Recorded) -> Array:
    for i in columns:
        offset = offsets(table.frame[str(i)])
        if np.isfinite(offset).any():
            offset = np.where(np.isfinite(offset), offset, np.nanmedian(offset))
            return values - offset
    recorded.mends.append(Mend("times are local and the file names no offset from UTC; taken as UTC", len(values)))
    return values


# ---- which column is what


def _choose(table: RawTable, meanings: list[Meaning | None], state_vectors: bool) -> list[Choice]:
    """One column per quantity: the best-fitting name; of equals, the one with most readings."""
    taken: dict[str, Choice] = {}
    for i, meaning in enumerate(meanings):
        if meaning is None or meaning.aside or meaning.quantity in TIME_QUANTITIES | {"not_needed", "aircraft"}:
            continue
        if meaning.quantity in {"egt", "cht"}:
            continue
        if state_vectors:
            swap = {"indicated_altitude": "pressure_altitude", "heading": "track", "speed": "ground_speed"}
            meaning = Meaning(swap.get(meaning.quantity, meaning.quantity), meaning.units, meaning.index, meaning.score)
        old = taken.get(meaning.quantity)
        if old is None or _rank(table, i, meaning) > _rank(table, old.column, old.meaning):
            taken[meaning.quantity] = Choice(i, meaning)
    if "altitude" in taken:
        _settle_plain_altitude(taken)
    if "heading" in taken and not taken.keys() & {"magnetic_heading", "true_heading"}:
        plain = taken.pop("heading")
        meaning = Meaning("magnetic_heading", plain.meaning.units, plain.meaning.index, plain.meaning.score)
        taken["magnetic_heading"] = Choice(plain.column, meaning, how="called only heading; taken as magnetic")
    order = {name: k for k, name in enumerate(_ORDER)}
    return sorted(taken.values(), key=lambda c: (order.get(c.meaning.quantity, 99), c.column))


def _rank(table: RawTable, i: int, meaning: Meaning) -> tuple[float, float, float]:
    series = table.frame[str(i)]
    filled = 1.0 - series.null_count() / max(len(series), 1)
    engine = -float(meaning.index or 0) * 0.01  # of several engines or sensors, the first
    return (round(filled, 1) > 0.2, meaning.score + (1.0 if meaning.units else 0.0) + engine, filled)


def _settle_plain_altitude(taken: dict[str, Choice]) -> None:
    """A column called only "altitude": the altimeter's beside an airspeed, else the satellite receiver's."""
    instruments = taken.keys() & {"indicated_airspeed", "altimeter_setting", "rpm"}
    heights = taken.keys() & {"indicated_altitude", "pressure_altitude"}
    if instruments and not heights:
        name, why = "indicated_altitude", "called only altitude; taken as the altimeter's, beside other instruments"
    elif "gps_altitude" not in taken:
        name, why = "gps_altitude", "called only altitude; taken as height from satellite positioning"
    else:
        return
    choice = taken.pop("altitude")
    old = choice.meaning
    taken[name] = Choice(choice.column, Meaning(name, old.units, old.index, old.score), how=why)


# ---- values


def _settle(choice: Choice, table: RawTable, known: Known, recorded: Recorded) -> None:
    quantity = choice.meaning.quantity
    what = QUANTITIES[quantity]
    raw = numbers_of(table.frame[str(choice.column)], what.dimension, quantity)
    if not np.isfinite(raw).any():
        choice.how = "no readings"
        return
    if choice.meaning.units:
        unit = _of_several(choice.meaning.units, what.dimension)
        why = "named"
    else:
        unit, why = guess(quantity, raw, known)
    choice.unit = unit
    choice.how = "; ".join(x for x in (choice.how, why) if x)
    values = _in_si(raw, unit, quantity, recorded)
    if quantity == "speed":
        quantity = _which_speed(values, known, choice)
    known.columns[quantity] = values
    if quantity in {"latitude", "longitude"} and {"latitude", "longitude"} <= known.columns.keys():
        known.columns["position_speed"] = _position_speed(known)
    _keep(quantity, values, choice, recorded)


def _which_speed(values: Array, known: Known, choice: Choice) -> str:
    """A column called only "speed": the ground speed when it agrees with the positions, else the airspeed dial's."""
    reference = known.columns.get("position_speed")
    if "ground_speed" not in known.columns and reference is not None:
        both = np.isfinite(values) & np.isfinite(reference) & (reference > 15.0)
        if both.sum() > 10 and abs(float(np.median(values[both] / reference[both])) - 1.0) < 0.06:
            off = float(np.median(np.abs(values[both] / reference[both] - 1.0)))
            if off < 0.06:
                choice.how = f"called only speed; agrees with the positions, so over the ground; {choice.how}"
                return "ground_speed"
    return "speed"


def _of_several(units: tuple[Unit, ...], dimension: str) -> Unit:
    return next((unit for unit in units if unit.dimension == dimension), units[0])


def _in_si(raw: Array, unit: Unit, quantity: str, recorded: Recorded) -> Array:
    if quantity == "rpm":
        return raw / u.RPM_RADPS if unit.dimension == "rate" else raw * unit.factor
    if quantity == "flap":
        return raw if unit.dimension == "angle" and unit.name == "deg" else raw * unit.factor
    values = raw * unit.factor + unit.offset if unit.factor != 1.0 or unit.offset else raw
    if unit.dimension in {"mass", "mass_flow"}:
        recorded.notes[QUANTITIES[quantity].house] = "recorded as mass; volume at 6 lb per US gallon"
        return values / AVGAS_KGPM3
    return values


def _keep(quantity: str, values: Array, choice: Choice, recorded: Recorded) -> None:
    house = QUANTITIES[quantity].house
    unit = choice.unit
    if quantity == "flap" and unit is not None and unit.dimension != "angle":
        recorded.extra["flap_position"] = values
    elif quantity == "power" and unit is not None and unit.dimension == "power":
        recorded.extra["power_w"] = values
    elif quantity in {"load_factor", "lateral_acceleration"}:
        recorded.columns[house] = values / G0_MPS2
    elif house:
        recorded.columns[house] = values
    else:
        recorded.extra[quantity] = values
    if house and "called only" in choice.how:
        recorded.notes[house] = choice.how.split(";")[0]


def numbers_of(series: pl.Series, dimension: str, quantity: str) -> Array:
    """A column as numbers; text is read for what it says ("LEFT", "on", "1,234", "N50 27.51"), NaN where it is none."""
    import polars as pl

    if series.dtype == pl.Boolean:
        return series.cast(pl.Float64).to_numpy().astype(np.float64)
    if series.dtype != pl.String:
        values = series.cast(pl.Float64, strict=False).to_numpy()
        return values if values.dtype == np.float64 else values.astype(np.float64)
    text = series.str.strip_chars().str.to_lowercase()
    if dimension == "code":
        words = _TANKS if quantity == "tank" else {**dict.fromkeys(_YES, 1), **dict.fromkeys(_NO, 0)}
        seen = {v: _code(v, words) for v in text.unique().to_list()[:1000]}
        return np.array([seen.get(v, np.nan) for v in text.to_list()], dtype=np.float64)
    if quantity in {"latitude", "longitude"}:
        return np.array([_degrees(v) for v in text.to_list()], dtype=np.float64)
    plain = text.str.replace_all(r"(\d),(\d{3})", "$1$2").str.replace(",", ".", literal=True)
    return (
        plain.str.extract(r"([-+]?\d*\.?\d+(?:e[-+]?\d+)?)")
        .cast(pl.Float64, strict=False)
        .to_numpy()
        .astype(np.float64)
    )


def _code(text: str | None, words: Mapping[str, int]) -> float:
    if text is None:
        return float("nan")
    if text in words:
        return float(words[text])
    try:
        return float(text)
    except ValueError:
        return float("nan")


_DEGREES = re.compile(
    r"^([nsew])?\s*([-+]?\d+(?:[.,]\d+)?)[°\s:]*(?:(\d+(?:[.,]\d+)?)['′\s:]*)?(?:(\d+(?:[.,]\d+)?)[\"″\s]*)?([nsew])?$"
)


def _degrees(text: str | None) -> float:
    """50°27.51'N, N50 27.51, 50 27 30.6 N, -50.4585 → degrees; NaN where it isn't one."""
    match = _DEGREES.match(text) if text else None
    if match is None:
        return float("nan")
    number = [float(part.replace(",", ".")) if part else 0.0 for part in match.group(2, 3, 4)]
    size = abs(number[0]) + number[1] / 60.0 + number[2] / 3600.0
    side = match[1] or match[5] or ""
    return -size if side in {"s", "w"} or (number[0] < 0 and not side) else size


def _position_speed(known: Known) -> Array:
    from airwork.recording.geodesy import radii_m
    from airwork.recording.unit_guess import slow_rate

    lat, lon = known.columns["latitude"], known.columns["longitude"]
    meridian, parallel = radii_m(np.nanmedian(lat))
    return np.hypot(slow_rate(known.time_s, lat, 2.0) * meridian, slow_rate(known.time_s, lon, 2.0) * parallel)


def _hottest(table: RawTable, meanings: list[Meaning | None], known: Known, recorded: Recorded) -> None:
    for quantity in ("egt", "cht"):
        columns = [i for i, m in enumerate(meanings) if m is not None and m.quantity == quantity and not m.aside]
        if not columns:
            continue
        raws = [numbers_of(table.frame[str(i)], "temperature", quantity) for i in columns]
        named = next((m.units[0] for i in columns if (m := meanings[i]) is not None and m.units), None)
        hottest = raws[0]
        for raw in raws[1:]:
            hottest = np.fmax(hottest, raw)
        if not np.isfinite(hottest).any():
            continue
        unit = named or guess(quantity, hottest, known)[0]
        recorded.columns[QUANTITIES[quantity].house] = hottest * unit.factor + unit.offset
        if len(columns) > 1:
            recorded.notes[QUANTITIES[quantity].house] = f"hottest of {len(columns)} cylinders"
        recorded.facts.setdefault("cylinders", {})[quantity] = len(columns)


def _report(table: RawTable, meanings: list[Meaning | None], choices: list[Choice], recorded: Recorded) -> None:
    used = {choice.column: choice for choice in choices}
    understood, aside, unknown = [], [], []
    for i, (name, meaning) in enumerate(zip(table.names, meanings, strict=True)):
        if not name and table.frame[str(i)].null_count() == table.frame.height:
            continue
        if i in used:
            choice = used[i]
            understood.append(
                {
                    "column": name,
                    "quantity": choice.meaning.quantity,
                    "unit": choice.unit.name if choice.unit else "",
                    "unit_how": choice.how,
                }
            )
        elif meaning is None:
            unknown.append(name or f"column {i + 1}")
        elif meaning.quantity in TIME_QUANTITIES or meaning.quantity in {"egt", "cht", "aircraft"}:
            understood.append({"column": name, "quantity": meaning.quantity, "unit": "", "unit_how": ""})
        else:
            aside.append(name)
    recorded.facts.update(
        layout=table.layout,
        understood=understood,
        not_needed=aside,
        not_understood=unknown,
        rows_in_file=table.frame.height,
    )
