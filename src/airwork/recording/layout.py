"""A raw table → house quantities in SI: which column is what, in which unit, and what is left over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import polars as pl

from airwork import units as u
from airwork.airdata.atmosphere import G0_MPS2
from airwork.errors import InputError
from airwork.recording.cells import numbers_of, stands_for_nothing
from airwork.recording.flight import Mend
from airwork.recording.layout_hints import PLACE, by_cells, outside_america, part_places, position, sides_in_names
from airwork.recording.layout_time import table_time
from airwork.recording.names import SAID, Meaning, common_words, understand
from airwork.recording.positions import as_speed_says, axes, side_columns
from airwork.recording.quantities import QUANTITIES, TIME_QUANTITIES
from airwork.recording.recorded import Array, Recorded
from airwork.recording.table import RawTable
from airwork.recording.unit_evidence import Stretches
from airwork.recording.unit_families import HEIGHTS, TOGETHER, Evidence, settle
from airwork.recording.unit_guess import Known, guess
from airwork.recording.unit_words import Unit

AVGAS_KGPM3 = 6.0 * u.LB_KG / u.USGAL_M3  # planning value: [PHAK] ch. 10, 6 lb per US gallon
_ABSURD = 1e15
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
    sides_in_names(table)
    common = common_words(table.names)
    if not any((m := understand(n, "", common)) and m.quantity == "latitude" for n in table.names):
        part_places(table)
    meanings = [_meaning(n, c, common, mapping, where) for n, c in zip(table.names, table.unit_cells, strict=True)]
    recorded = Recorded("table", np.empty(0), "elapsed", {})
    recorded.mends += table.mends
    parted = table.names and table.names[-1].startswith("longitude (")
    if not any(m is not None and m.quantity == "latitude" for m in meanings):
        for i, quantity in axes(table.frame, table.names).items():
            meanings[i], parted = Meaning(quantity, (), None, SAID), True
    meanings = [by_cells(table, i, m) for i, m in enumerate(meanings)]
    state_vectors = _is_state_vectors(meanings)
    free = {
        i: table.names[i]
        for i, m in enumerate(meanings)
        if m is None or (m.score < SAID and (m.aside or m.quantity == "not_needed"))
    }
    at = {m.quantity: i for i, m in reversed(list(enumerate(meanings))) if m is not None and not m.aside}
    sides = side_columns(table.frame, free, at)
    for i in sides.values():
        meanings[i] = Meaning("side", (), None, SAID)
    known = Known(np.empty(0))
    for meaning in meanings:
        if meaning is not None and meaning.units:
            known.note_unit(meaning.units[0])
    table.day_first |= known.is_metric and "longitude" in at and outside_america(table, at["longitude"], sides)
    recorded.time_s, recorded.clock = table_time(table, meanings, recorded, where)
    known.time_s = recorded.time_s
    choices = _choose(table, meanings, state_vectors)
    for choice in choices:
        if choice.meaning.quantity in {"latitude", "longitude"}:
            _settle(choice, table, known, recorded, sides)
    _settle_places(choices, table, known, recorded, order=bool(parted))
    _settle_together([c for c in choices if c.meaning.quantity in TOGETHER], table, known, recorded)
    for choice in choices:
        if choice.meaning.quantity not in TOGETHER | {"latitude", "longitude"}:
            _settle(choice, table, known, recorded, sides)
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
        return Meaning("not_needed", (), None, SAID)
    if quantity not in QUANTITIES:
        raise InputError(f"the mapping names {quantity!r} for column {name!r}; no such quantity.", where=where)
    found = named(unit) if unit else None
    if unit and found is None:
        raise InputError(f"the mapping names the unit {unit!r} for column {name!r}; unknown.", where=where)
    if found is None:
        guessed = understand(name, cell, common)
        return Meaning(quantity, guessed.units if guessed and guessed.quantity == quantity else (), None, SAID)
    return Meaning(quantity, (found,), None, SAID)


def _is_state_vectors(meanings: list[Meaning | None]) -> bool:
    """Surveillance (ADS-B) state vectors: many aircraft's identities beside position and two altitudes, in SI."""
    names = {m.quantity for m in meanings if m}
    return "aircraft" in names and "latitude" in names and not names & {"rpm", "manifold_pressure", "altimeter_setting"}


# ---- which column is what


def _choose(table: RawTable, meanings: list[Meaning | None], state_vectors: bool) -> list[Choice]:
    """One column per quantity: the best-fitting name; of equals, the one with most readings."""
    taken: dict[str, Choice] = {}
    for i, meaning in enumerate(meanings):
        if meaning is None or meaning.aside or meaning.quantity in TIME_QUANTITIES | {"not_needed", "aircraft", "side"}:
            continue
        if meaning.quantity in {"egt", "cht"}:
            continue
        if state_vectors:
            swap = {"indicated_altitude": "pressure_altitude", "speed": "ground_speed"}
            if not any(m is not None and m.quantity == "track" for m in meanings):
                swap["heading"] = "track"
            meaning = Meaning(swap.get(meaning.quantity, meaning.quantity), meaning.units, meaning.index, meaning.score)
        old = taken.get(meaning.quantity)
        if old is None or _rank(table, i, meaning) > _rank(table, old.column, old.meaning):
            taken[meaning.quantity] = Choice(i, meaning)
    if "altitude" in taken:
        _settle_plain_altitude(taken, state_vectors)
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


def _settle_plain_altitude(taken: dict[str, Choice], transponder: bool) -> None:
    """A column called only "altitude": a transponder's, the altimeter's beside an airspeed, else the satellites'."""
    if transponder and "pressure_altitude" not in taken:
        choice = taken.pop("altitude")
        old = choice.meaning
        why = "called only altitude; a transponder sends pressure altitude"
        taken["pressure_altitude"] = Choice(
            choice.column, Meaning("pressure_altitude", old.units, old.index, old.score), how=why
        )
        return
    instruments = taken.keys() & {"indicated_airspeed", "altimeter_setting", "rpm"}
    heights = taken.keys() & {"indicated_altitude", "pressure_altitude"}
    if instruments and not heights:
        name, why = "indicated_altitude", "called only altitude; taken as the altimeter's, beside other instruments"
    elif "gps_altitude" not in taken:
        name, why = "gps_altitude", "called only altitude; taken as height from satellite positioning"
    elif not heights:
        name, why = "indicated_altitude", "called only altitude; taken as the altimeter's, beside the satellites'"
    else:
        return
    choice = taken.pop("altitude")
    old = choice.meaning
    taken[name] = Choice(choice.column, Meaning(name, old.units, old.index, old.score), how=why)


# ---- values


def _settle_places(choices: list[Choice], table: RawTable, known: Known, recorded: Recorded, *, order: bool) -> None:
    """Positions whose scale or order was only assumed are held against a recorded speed."""
    at = {c.meaning.quantity: c for c in choices}
    speed = next((at[q] for q in ("ground_speed", "speed") if q in at), None)
    places = [at[q] for q in PLACE if q in known.columns]
    whole = all(c.unit is not None and c.unit.name == "1e-07 deg" and not c.meaning.units for c in places)
    if speed is None or len(places) < 2 or not (whole or order) or (raw := _raw(speed, table, recorded)) is None:
        return
    latitude, longitude = (known.columns[q] for q in PLACE)
    why, moved = as_speed_says(known.time_s, latitude, longitude, raw, whole=whole, order=order)
    for choice, values in zip(places, moved, strict=True) if why else ():
        known.columns[choice.meaning.quantity] = values
        choice.how = why
        _keep(choice.meaning.quantity, values, choice, recorded)
    recorded.mends += [Mend(f"positions are {why}", int(np.isfinite(moved[0]).sum()))] if why else []


def _raw(choice: Choice, table: RawTable, recorded: Recorded) -> Array | None:
    """A column's numbers as written; None where there are none."""
    quantity = choice.meaning.quantity
    what = QUANTITIES[quantity]
    series = table.frame[str(choice.column)]
    raw = numbers_of(series, what.dimension, quantity)
    if series.dtype == pl.String and quantity in HEIGHTS:  # receivers write a word for the height of the ground
        words = series.str.strip_chars().str.to_lowercase().is_in(["ground", "gnd"]).fill_null(value=False)
        recorded.columns |= {"on_ground": words.cast(pl.Float64).to_numpy()} if words.any() else {}
    size = np.abs(raw)
    if not size.max(initial=0.0) < _ABSURD and (absurd := size >= _ABSURD).any():  # not known compares as False
        recorded.mends.append(Mend("numbers no sensor writes taken out", int(absurd.sum()), column=what.house))
        raw = np.where(absurd, np.nan, raw)
    if (nothing := stands_for_nothing(raw)).any():
        said = f"{raw[nothing][0]:g} stands for no reading; left empty"
        recorded.mends.append(Mend(said, int(nothing.sum()), column=what.house))
        raw = np.where(nothing, np.nan, raw)
    if not np.isfinite(raw).any():
        choice.how = "no readings"
        return None
    return raw


def _settle_together(choices: list[Choice], table: RawTable, known: Known, recorded: Recorded) -> None:
    """Speeds, heights and vertical speed: their units are one decision."""
    raws = {c.meaning.quantity: raw for c in choices if (raw := _raw(c, table, recorded)) is not None}
    if not raws:
        return
    evidence = Evidence(
        Stretches(known.time_s),
        raws,
        {c.meaning.quantity: _fitting(c) for c in choices if c.meaning.quantity in raws and c.meaning.units},
        known.columns.get("latitude"),
        known.columns.get("longitude"),
        float(known.imperial - known.metric),
    )
    settle(evidence)
    for choice in choices:
        quantity = choice.meaning.quantity
        if quantity not in raws:
            continue
        settled = evidence.settled.get(quantity)
        if settled is None:  # hardly a reading: no unit can be told
            choice.how = "no readings"
            continue
        choice.unit = settled.unit
        choice.how = "; ".join(x for x in (choice.how, settled.why) if x)
        values = _in_si(raws[quantity], settled.unit, quantity, recorded)
        house = QUANTITIES[quantity].house
        if settled.overruled:
            what = f"{quantity.replace('_', ' ')} is in {settled.unit.name}, named {settled.overruled}: {settled.why}"
            recorded.mends.append(Mend(what, int(np.isfinite(values).sum()), column=house))
            recorded.notes[house] = what
        if quantity == "speed":
            quantity = _which_speed(evidence, choice)
        known.columns[quantity] = values
        known.note_unit(settled.unit)
        if (why := evidence.against.get(choice.meaning.quantity)) and house:
            recorded.mends.append(
                Mend(
                    f"{choice.meaning.quantity.replace('_', ' ')} set aside: {why}",
                    int(np.isfinite(values).sum()),
                    column=house,
                )
            )
            continue
        _keep(quantity, values, choice, recorded)


def _fitting(choice: Choice) -> tuple[Unit, ...]:
    """The units the name may mean, of the quantity's own dimension where there are any."""
    own = tuple(u for u in choice.meaning.units if u.dimension == QUANTITIES[choice.meaning.quantity].dimension)
    return own or choice.meaning.units


def _settle(choice: Choice, table: RawTable, known: Known, recorded: Recorded, sides: Mapping[str, int]) -> None:
    quantity = choice.meaning.quantity
    what = QUANTITIES[quantity]
    raw = _raw(choice, table, recorded)
    if raw is None:
        return
    why = ""
    if quantity in {"latitude", "longitude"}:
        raw, why = position(raw, quantity, table, sides)
    if choice.meaning.units:
        unit = _of_several(choice.meaning.units, what.dimension)
        why = "; ".join(x for x in (why, "named") if x)
    else:
        unit, guessed = guess(quantity, raw, known)
        if "agrees" in guessed:
            known.note_unit(unit)  # as good as named
        why = "; ".join(x for x in (why, guessed) if x)
    choice.unit = unit
    choice.how = "; ".join(x for x in (choice.how, why) if x)
    values = _in_si(raw, unit, quantity, recorded)
    known.columns[quantity] = values
    _keep(quantity, values, choice, recorded)


def _which_speed(evidence: Evidence, choice: Choice) -> str:
    """A column called only "speed": the ground speed when it agrees with the positions, else the airspeed dial's."""
    if "ground_speed" not in evidence.raw and "speed" in evidence.over_ground:
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
    values = raw
    if unit.factor != 1.0 or unit.offset:
        values = raw * unit.factor
        values += unit.offset
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
        elif meaning is None and name in recorded.facts.get("time_columns", ()):
            understood.append({"column": name, "quantity": "time", "unit": "", "unit_how": "by its cells"})
        elif meaning is None:
            unknown.append(name or f"column {i + 1}")
        elif meaning.quantity in TIME_QUANTITIES or meaning.quantity in {"egt", "cht", "aircraft", "side"}:
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
