"""Columns with a quantity → their unit and readings in SI, kept under the house's name."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import polars as pl

from airwork import units as u
from airwork.airdata.airspeed import cas_from_impact_mps
from airwork.airdata.atmosphere import G0_MPS2
from airwork.recording.cells import nought_on_the_ground, numbers_of, stands_for_nothing, unknown_as_less
from airwork.recording.flight import Mend
from airwork.recording.layout_hints import PLACE, position
from airwork.recording.names import SAID, Meaning, named_units, understand
from airwork.recording.positions import as_speed_says
from airwork.recording.quantities import QUANTITIES
from airwork.recording.recorded import FROM_NOUGHT, Array, Recorded
from airwork.recording.table import RawTable
from airwork.recording.unit_choice import AIRSPEEDS, HEIGHTS, SPEEDS, Evidence, Settled
from airwork.recording.unit_evidence import Stretches
from airwork.recording.unit_families import settle
from airwork.recording.unit_guess import Known, guess, of_one_engine
from airwork.recording.unit_words import BY_NAME, Unit

# What is never nought through a whole recording of a flight: a sensor that isn't there is written so.
_CONNECTED = frozenset(["indicated_airspeed", "calibrated_airspeed", "true_airspeed", "rpm", "manifold_pressure",
                        "fuel_flow", "outside_temperature", "power", "egt", "cht"])  # fmt: skip
AVGAS_KGPM3 = 6.0 * u.LB_KG / u.USGAL_M3  # planning value: [PHAK] ch. 10, 6 lb per US gallon
_ABSURD = 1e15
_ASSUMED = {"gal": "L", "L": "gal", "gph": "L/h", "L/h": "gph", "°C": "°F"}  # never taken without a question
PARTS = ("velocity_north", "velocity_east", "velocity_down")
_PARTED = re.compile(r"(?:latitude|longitude) \(")
_SHARE = 2.0  # an angle of attack of so little may be in radians, or be none
_ROWS_ALIKE, _CLEAR, _ALIKE = 8, 50.0, 0.005  # rows, as large as that rounding doesn't matter, so near to each other
_SHARED = 0.5  # of the rows have the time of the one before


@dataclass(slots=True)
class Choice:
    """One column of the file and what it was taken for."""

    column: int
    meaning: Meaning
    unit: Unit | None = None
    how: str = ""


def raw_of(choice: Choice, table: RawTable, recorded: Recorded) -> Array | None:
    """A column's numbers as written; None where there are none."""
    quantity = choice.meaning.quantity
    what = QUANTITIES[quantity]
    series = table.frame[str(choice.column)]
    raw = numbers_of(series, what.dimension, quantity)
    no_height, ground = nought_on_the_ground(raw) if quantity in HEIGHTS else (False, np.zeros(0, dtype=bool))
    recorded.notes |= {"on_ground": FROM_NOUGHT} if ground.any() else {}
    if series.dtype == pl.String and quantity in HEIGHTS:  # receivers write a word for the height of the ground
        ground |= series.str.strip_chars().str.to_lowercase().is_in(["ground", "gnd"]).fill_null(value=False).to_numpy()
    recorded.columns |= {"on_ground": ground.astype(float)} if ground.any() else {}
    size = np.abs(raw)
    if not size.max(initial=0.0) < _ABSURD and (absurd := size >= _ABSURD).any():  # not known compares as False
        recorded.mends.append(Mend("numbers no sensor writes taken out", int(absurd.sum()), column=what.house))
        raw = np.where(absurd, np.nan, raw)
    nothing = stands_for_nothing(raw) | no_height
    if quantity in SPEEDS or (what.circular and quantity not in {"longitude", "bank", "pitch"}):
        nothing |= unknown_as_less(raw)
    if nothing.any():
        said = Mend(f"{raw[nothing][0]:g} stands for no reading; left empty", int(nothing.sum()), column=what.house)
        recorded.mends += [said] if said not in recorded.mends else []  # a speed is looked at twice
        raw = np.where(nothing, np.nan, raw)
    if quantity == "angle_of_attack" and not choice.meaning.units and np.nanmax(np.abs(raw), initial=0.0) < _SHARE:
        choice.how = "an angle, or a share of the lift: not told"
        return None
    if quantity in _CONNECTED and np.isfinite(raw).any() and not np.nan_to_num(raw).any():
        recorded.say("nought throughout: not connected, or never in use; left out", raw.size, what.house)
        choice.how = "not connected"
        return None
    if not np.isfinite(raw).any():
        choice.how = "no readings"
        if series.dtype == pl.String and len(filled := series.drop_nulls()):
            name, word = table.names[choice.column], quantity.replace("_", " ")
            unread = f"no cell of {name!r} can be read as {word} ({str(filled[0])[:30]})"
            recorded.mends.append(Mend(unread, len(filled), column=what.house))
        return None
    return raw


def fitting(choice: Choice) -> tuple[Unit, ...]:
    """The units the name may mean, of the quantity's own dimension where there are any."""
    own = tuple(u for u in choice.meaning.units if u.dimension == QUANTITIES[choice.meaning.quantity].dimension)
    return own or choice.meaning.units


def of_several(units: tuple[Unit, ...], quantity: str, raw: Array) -> Unit:
    """Of units that a word may mean the first in which the readings can be that: rps, of an engine or a gyro."""
    what, middle = QUANTITIES[quantity], float(np.nanpercentile(raw, 95.0))
    own = sorted(units, key=lambda u: u.dimension != what.dimension)
    return next((x for x in own if what.low <= middle * x.factor + x.offset <= what.high), own[0])


def in_si(raw: Array, unit: Unit, quantity: str, recorded: Recorded) -> Array:
    if quantity == "rpm":
        return raw * unit.factor / u.RPM_RADPS if unit.dimension == "rate" else raw * unit.factor
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


def keep(quantity: str, values: Array, choice: Choice, recorded: Recorded) -> None:
    house = QUANTITIES[quantity].house
    unit = choice.unit
    if quantity == "flap" and unit is not None and unit.dimension != "angle":
        recorded.extra["flap_position"] = values
    elif quantity == "power" and unit is not None and unit.dimension == "power":
        recorded.extra["power_w"] = values
    elif quantity == "impact_pressure":
        if not recorded.columns.keys() & {"ias_mps", "cas_mps", "tas_mps"}:
            recorded.columns["ias_mps"] = cas_from_impact_mps(values)
            recorded.notes["ias_mps"] = "from the pitot's pressure"
    elif quantity in {"load_factor", "lateral_acceleration"}:
        recorded.columns[house] = values / G0_MPS2
    elif house:
        round_ = QUANTITIES[quantity].circular and quantity not in {"longitude", "bank", "pitch"}
        recorded.columns[house] = np.mod(values, 2.0 * np.pi) if round_ else values
    else:
        recorded.extra[quantity] = values
    if house and "called only" in choice.how:
        recorded.notes[house] = choice.how.split(";")[0]


def hottest(table: RawTable, meanings: list[Meaning | None], known: Known, recorded: Recorded) -> None:
    """The hottest exhaust and the hottest head: of one engine in one unit."""
    raws: dict[str, Array] = {}
    named: Unit | None = None
    for quantity in ("egt", "cht"):
        columns = [i for i, m in enumerate(meanings) if m is not None and m.quantity == quantity and not m.aside]
        each = [i for i in columns if (m := meanings[i]) is not None and m.index is not None]
        columns = each if len(each) > 1 else columns  # beside EGT1 to EGT4 their hottest or their difference is none
        if not columns:
            continue
        cells = [numbers_of(table.frame[str(i)], "temperature", quantity) for i in columns]
        hot = cells[0]
        for raw in cells[1:]:
            hot = np.fmax(hot, raw)
        if not np.isfinite(hot).any():
            continue
        raws[quantity] = hot
        named = named or next((m.units[0] for i in columns if (m := meanings[i]) is not None and m.units), None)
        if len(columns) > 1:
            recorded.notes[QUANTITIES[quantity].house] = f"hottest of {len(columns)} cylinders"
        recorded.facts.setdefault("cylinders", {})[quantity] = len(columns)
    unit = named or (of_one_engine(raws["egt"], raws["cht"]) if len(raws) > 1 else None)
    for quantity, raw in raws.items():
        own = unit or guess(quantity, raw, known)[0]
        recorded.columns[QUANTITIES[quantity].house] = raw * own.factor + own.offset


def settle_places(choices: list[Choice], table: RawTable, known: Known, recorded: Recorded) -> None:
    """Positions are held against a recorded speed: names may be exchanged, a scale only assumed."""
    at = {c.meaning.quantity: c for c in choices}
    speed = next((at[q] for q in ("ground_speed", "speed") if q in at), None)
    places = [at[q] for q in PLACE if q in known.columns]
    if {c.meaning.quantity for c in places} & {*recorded.facts["settled"]}:
        return
    named = all(
        (m := understand(table.names[c.column])) is not None and m.quantity == c.meaning.quantity for c in places
    )
    named &= not any(_PARTED.match(table.names[c.column]) for c in places)  # of a pair in one cell
    whole = all(c.unit is not None and c.unit.name == "1e-07 deg" and not c.meaning.units for c in places)
    if np.sum(np.diff(known.time_s) == 0.0) > _SHARED * known.time_s.size:  # whole minutes: no way has a speed yet
        return
    if speed is None or len(places) < 2 or (raw := raw_of(speed, table, recorded)) is None:
        return
    latitude, longitude = (known.columns[q] for q in PLACE)
    why, moved = as_speed_says(known.time_s, latitude, longitude, raw, whole=whole, named=named)
    for choice, values in zip(places, moved, strict=True) if why else ():
        known.columns[choice.meaning.quantity] = values
        choice.how = why
        keep(choice.meaning.quantity, values, choice, recorded)
    recorded.mends += [Mend(f"positions are {why}", int(np.isfinite(moved[0]).sum()))] if why else []


def settle_parts(choices: list[Choice], table: RawTable, known: Known, recorded: Recorded) -> None:
    """A velocity's parts, north, east and down, are written in one unit: that of the speed they make together."""
    parts = {c.meaning.quantity: c for c in choices if c.meaning.quantity in PARTS}
    if not {"velocity_north", "velocity_east"} <= parts.keys() or parts.keys() & {*recorded.facts["settled"]}:
        return
    raws = {q: numbers_of(table.frame[str(c.column)], "speed", q) for q, c in parts.items()}
    size = np.hypot(raws["velocity_north"], raws["velocity_east"])
    named = next((c.meaning.units for c in parts.values() if c.meaning.units), ())
    evidence = _evidence(known, {"ground_speed": size}, {"ground_speed": named} if named else {})
    settled = settle(evidence).get("ground_speed")
    if settled is None or "agrees" not in settled.why:
        return
    for choice in parts.values():
        choice.meaning = replace(choice.meaning, units=(settled.unit,))
        choice.how = settled.why


def settle_together(
    choices: list[Choice], table: RawTable, known: Known, recorded: Recorded, down: Choice | None = None
) -> None:
    """Speeds, heights and vertical speed: their units are one decision.

    down : a velocity downward whose unit is named, which tells of the heights' where no vertical speed does.
    """
    raws = {c.meaning.quantity: raw for c in choices if (raw := raw_of(c, table, recorded)) is not None}
    if not raws:
        return
    named = {c.meaning.quantity: fitting(c) for c in choices if c.meaning.quantity in raws and c.meaning.units}
    if down is not None and down.meaning.units and "vertical_speed" not in raws:
        raws["vertical_speed"] = -numbers_of(table.frame[str(down.column)], "speed", "velocity_down")
        named["vertical_speed"] = fitting(down)
    evidence = _evidence(known, raws, named)
    evidence.sure |= _borne_out(choices, table, raws, named)
    settle(evidence)
    for choice in choices:
        quantity = choice.meaning.quantity
        if quantity not in raws:
            continue
        settled = evidence.settled.get(quantity)
        if settled is not None and choice.meaning.score >= SAID and choice.meaning.units:  # by the user: it stands
            settled = Settled(choice.meaning.units[0], "settled by a mapping")
        if settled is None:  # hardly a reading: no unit can be told
            choice.how = "no readings"
            continue
        choice.unit = settled.unit
        choice.how = "; ".join(x for x in (choice.how, settled.why) if x)
        values = in_si(raws[quantity], settled.unit, quantity, recorded)
        house = QUANTITIES[quantity].house
        if settled.overruled:
            what = f"{quantity.replace('_', ' ')} is in {settled.unit.name}, named {settled.overruled}: {settled.why}"
            recorded.mends.append(Mend(what, int(np.isfinite(values).sum()), column=house))
            recorded.notes[house] = what
        if quantity == "speed":
            quantity = _which_speed(evidence, choice)
        if quantity == "vertical_speed" and evidence.downward and quantity not in recorded.facts["settled"]:
            values = -values
            recorded.mends.append(Mend("vertical speed counts down; turned over", int(values.size), column=house))
        known.columns[quantity] = values
        known.note_unit(settled.unit)
        if (why := evidence.against.get(choice.meaning.quantity)) and house:
            word = choice.meaning.quantity.replace("_", " ")
            recorded.say(f"{word} set aside: {why}", int(np.isfinite(values).sum()), house)
            continue
        if settled.others:
            recorded.mends.append(_asked(table.names[choice.column], choice.meaning.quantity, settled, house))
        keep(quantity, values, choice, recorded)


def _borne_out(
    choices: list[Choice], table: RawTable, raws: Mapping[str, Array], named: Mapping[str, tuple[Unit, ...]]
) -> set[str]:
    """Whose unit a further column tells, too: the same number row by row, in the unit that its own name says."""
    out: set[str] = set()
    taken = {c.column for c in choices}
    for i, name in enumerate(table.names):
        series = table.frame[str(i)]
        if i in taken or not series.dtype.is_numeric() or not (other := named_units(name, table.unit_cells[i])):
            continue
        values = series.cast(pl.Float64, strict=False).to_numpy()
        for quantity, units in named.items():
            ratio = other[0].factor / units[0].factor
            both = np.isfinite(values) & np.isfinite(raws[quantity]) & (np.abs(raws[quantity]) > _CLEAR)
            if other[0].dimension != units[0].dimension or abs(ratio - 1.0) < 0.01 or both.sum() < _ROWS_ALIKE:
                continue
            off = np.abs(values[both] * ratio / raws[quantity][both] - 1.0)
            if float(np.percentile(off, 95.0)) < _ALIKE and float(np.ptp(values[both])) > 0.0:
                out.add(quantity)
    return out


def _evidence(known: Known, raws: Mapping[str, Array], named: Mapping[str, tuple[Unit, ...]]) -> Evidence:
    return Evidence(
        Stretches(known.time_s),
        raws,
        named,
        known.columns.get("latitude"),
        known.columns.get("longitude"),
        known.columns.get("static_pressure"),
        float(known.imperial - known.metric),
        known.knots,
    )


def _asked(column: str, quantity: str, settled: Settled, house: str) -> Mend:
    """Another unit fits about as well: which one it is, only the user knows."""
    others = " or ".join(dict.fromkeys(u.name for u in settled.others))
    one = shlex.quote(f"{column}={quantity}:{settled.others[0].name}")
    what = (
        f"{column!r} is taken in {settled.unit.name}, {others} would fit about as well: settle it with airwork "
        f"recording map FILE --set {one} (or :{settled.unit.name})"
    )
    return Mend(what, 1, column=house, asks=True)


def settle_one(choice: Choice, table: RawTable, known: Known, recorded: Recorded, sides: Mapping[str, int]) -> None:
    quantity = choice.meaning.quantity
    raw = raw_of(choice, table, recorded)
    if raw is None:
        return
    why = ""
    if quantity in {"latitude", "longitude"}:
        raw, why = position(raw, quantity, table, sides)
    if choice.meaning.units:
        unit = of_several(choice.meaning.units, quantity, raw)
        why = "; ".join(x for x in (why, "" if "agrees" in choice.how else "named") if x)
    else:
        unit, guessed = guess(quantity, raw, known)
        if "agrees" in guessed:
            known.note_unit(unit)  # as good as named
        if "assumed" in guessed and unit.name in _ASSUMED:
            house = QUANTITIES[quantity].house
            asked = Settled(unit, guessed, others=(BY_NAME[_ASSUMED[unit.name]],))
            recorded.mends.append(_asked(table.names[choice.column], quantity, asked, house))
        why = "; ".join(x for x in (why, guessed) if x)
    choice.unit = unit
    choice.how = "; ".join(x for x in (choice.how, why) if x)
    values = in_si(raw, unit, quantity, recorded)
    known.columns[quantity] = values
    keep(quantity, values, choice, recorded)


def _which_speed(evidence: Evidence, choice: Choice) -> str:
    """A column called only "speed": the ground speed when it agrees with the positions, or where these are too rare to
    tell and no airspeed is recorded: then it is their receiver's. Else the airspeed dial's."""
    if "ground_speed" in evidence.raw:
        return "speed"
    if "speed" in evidence.over_ground:
        choice.how = f"called only speed; agrees with the positions, so over the ground; {choice.how}"
        return "ground_speed"
    if evidence.rare_fixes() and not evidence.raw.keys() & {*AIRSPEEDS}:
        choice.how = f"called only speed; the receiver's, over the ground: the positions are too rare; {choice.how}"
        return "ground_speed"
    return "speed"
