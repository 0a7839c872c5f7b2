"""A raw table → house quantities in SI: which column is what, in which unit, and what is left over."""

from __future__ import annotations

import math
import re
import shlex
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import polars as pl

from airwork import units as u
from airwork.airdata.geodesy import east_north_m
from airwork.errors import InputError
from airwork.recording.beside import setting_beside
from airwork.recording.cells import numbers_of
from airwork.recording.clock import seconds_of_numbers
from airwork.recording.even_stamps import even_stamps
from airwork.recording.flight import Mend
from airwork.recording.height_kind import above_the_ellipsoid, above_the_sea, settle_heights
from airwork.recording.layout_content import by_content, place_columns, turn_places
from airwork.recording.layout_hints import (
    believed,
    by_cells,
    degrees_and_minutes,
    outside_america,
    part_places,
    seen_columns,
    sides_in_names,
    sides_of_other_tongues,
    units_in_cells,
)
from airwork.recording.layout_time import table_time
from airwork.recording.layout_values import Choice, hottest, settle_one, settle_parts, settle_places, settle_together
from airwork.recording.motion import velocity_mps
from airwork.recording.names import SAID, Meaning, common_words, fitting, named_units, understand, words_of
from airwork.recording.positions import at_row_times, axes, either_way_round, side_columns
from airwork.recording.quantities import BLOCKERS, QUANTITIES, SAME, TIME_QUANTITIES, WISHES
from airwork.recording.recorded import FLYING_MPS, Recorded
from airwork.recording.table import RawTable
from airwork.recording.unit_choice import TOGETHER
from airwork.recording.unit_evidence import multiples
from airwork.recording.unit_guess import Known
from airwork.recording.unit_heights import STEP_FPM
from airwork.recording.unit_words import BY_NAME

_LITERS = re.compile(r"(?i)[_ (\[]l[)\]]?$")
_FIXES = frozenset(["hdop", "vdop", "pdop", "fix", "geoidheight"])  # beside them sat counts satellites
_SINCE_1989_S, _WATCHES_S = 631_065_600.0, 2.0e9  # such stamps of 2013 to 2033 look like 1993 to 2013
_SELECTED = WISHES - {"cabin"} | {"nav"}
_STANDS_M, _STANDS_MPS, _STANDS_S = 3.0, 0.3, 30.0  # a receiver's wandering
_NOSE, _FEW, _ALONG = {"heading", "magnetic_heading", "true_heading"}, 5, 0.8  # cosine to the way, on average
_MOST_RAD = (0.5 * math.pi + 0.01, 2.0 * math.pi + 0.01)  # pitch and bank as flown; a heading
_OTHER_SIDES = {"latitude": ("north", "S"), "longitude": ("east", "W")}
_FIRST = {"latitude", "longitude", "static_pressure"}
# In this order: what others are held against.
_ORDER = ("latitude", "longitude", "ground_speed", "speed", "gps_altitude", "pressure_altitude", "indicated_altitude",
          "altitude")  # fmt: skip


def interpret(table: RawTable, mapping: Mapping[str, str], where: str) -> Recorded:
    """Give each column its quantity and unit.

    Parameters
    ----------
    mapping : column name → "quantity:unit", "quantity" or "ignore", settled by the user; it wins over the grammar.

    Raises
    ------
    InputError : no column tells the time, or there is nothing else to read.
    """
    table = replace(table, names=[*table.names], unit_cells=[*table.unit_cells], mends=[*table.mends])
    recorded = Recorded("table", np.empty(0), "elapsed", {})
    meanings = _meanings(table, mapping, where)
    recorded.mends += table.mends
    recorded.facts |= {"sport": table.sport} if table.sport else {}
    state_vectors = _is_state_vectors(table, meanings)
    _selected_setting(table, meanings)
    known, sides = Known(np.empty(0)), _sides(table, meanings)
    for meaning in meanings:
        if meaning is not None and meaning.units:
            known.note_unit(meaning.units[0])
    recorded.time_s, recorded.clock = table_time(table, meanings, recorded, where)
    known.time_s = recorded.time_s
    place_columns(table, meanings, known.time_s, recorded)
    choices = _choose(table, meanings, state_vectors)
    known.attitude = _largest_attitude(table, choices)
    recorded.facts["settled"] = [said.partition(":")[0] for n, said in mapping.items() if n in table.names]
    _settle(choices, table, known, recorded, sides)
    turn_places(table, meanings, choices, known, recorded)
    _ask_side(choices, table, known, recorded, sides)
    by_content(table, meanings, choices, known, recorded)
    if "speed" in recorded.extra:
        _say_of_plain_speed(next(c for c in choices if c.meaning.quantity == "speed"), table, recorded)
    if "setting_pa" not in recorded.columns and (said := setting_beside(table.head)) is not None:
        recorded.columns["setting_pa"] = np.full(recorded.time_s.size, said[0])
        recorded.notes["setting_pa"] = f"by the words beside the rows ({said[1]})"
    hottest(table, meanings, known, recorded)
    _levels_are_pressures(choices, recorded)
    if "gps_altitude_m" in recorded.columns:
        for choice in choices:
            if choice.meaning.quantity == "gps_altitude":
                note = above_the_ellipsoid(table, choice.column, transponder=state_vectors)
                recorded.notes |= {"gps_altitude_m": note} if note else {}
    _report(table, meanings, choices, recorded)
    if not recorded.columns and not recorded.extra:
        raise InputError(
            f"none of its columns is one airwork knows ({seen_columns(table)}); settle them with: airwork recording "
            "map FILE.",
            where=where,
        )
    return recorded


def _meanings(table: RawTable, mapping: Mapping[str, str], where: str) -> list[Meaning | None]:
    """What each column means, by its name, its cells and the columns beside it; odd layouts are put straight first."""
    units_in_cells(table)
    degrees_and_minutes(table)
    sides_of_other_tongues(table)
    above_the_sea(table)
    sides_in_names(table)
    common = common_words(table.names)
    if not any((m := understand(n, "", common)) and m.quantity == "latitude" for n in table.names):
        part_places(table)
    meanings = [_meaning(n, c, common, mapping, where) for n, c in zip(table.names, table.unit_cells, strict=True)]
    if not any(m is not None and m.quantity == "latitude" for m in meanings):
        placed = axes(table.frame, table.names)
        for i, quantity in placed.items():
            meanings[i] = Meaning(quantity, (), None, SAID)
        spoken = any(m is not None and m.quantity in {"ground_speed", "speed"} for m in meanings)  # which would tell
        if not spoken and (open_ := either_way_round(table.frame, table.names, placed)):
            table.mends.append(Mend(open_, table.frame.height, column="latitude_rad", asks=True))
    meanings = [
        m if m is not None and m.score >= SAID else by_cells(table, i, believed(table, i, m))
        for i, m in enumerate(meanings)
    ]
    _by_the_others(table, meanings)
    return meanings


def _sides(table: RawTable, meanings: list[Meaning | None]) -> dict[str, int]:
    """Columns of letters beside the positions, N and S; with them, whether dates are written day first."""
    free = {
        i: table.names[i]
        for i, m in enumerate(meanings)
        if m is None or (m.score < SAID and (m.aside or m.quantity == "not_needed"))
    }
    at = {m.quantity: i for i, m in reversed(list(enumerate(meanings))) if m is not None and not m.aside}
    sides = side_columns(table.frame, free, at)
    for i in sides.values():
        meanings[i] = Meaning("side", (), None, SAID)
    table.day_first |= outside_america(table, at, sides)
    return sides


def _largest_attitude(table: RawTable, choices: list[Choice]) -> float:
    """The largest of pitch and bank that name no unit, as they stand: degrees or radians."""
    attitudes = [c for c in choices if c.meaning.quantity in {"pitch", "bank"} and not c.meaning.units]
    sizes = (np.abs(numbers_of(table.frame[str(c.column)], "angle", "")) for c in attitudes)
    return max((float(np.nanpercentile(x, 99.0)) for x in sizes if np.isfinite(x).any()), default=0.0)


def _settle(choices: list[Choice], table: RawTable, known: Known, recorded: Recorded, sides: Mapping[str, int]) -> None:
    """Units, one after another: where it was, when, what is settled together, then each by what is known."""
    for choice in choices:
        if choice.meaning.quantity in _FIRST:
            settle_one(choice, table, known, recorded, sides)
    settle_places(choices, table, known, recorded)
    _as_watches_count(choices, known, recorded)
    if spread := even_stamps(known.time_s, known.columns.get("latitude"), known.columns.get("longitude")):
        recorded.time_s = known.time_s = spread[0]
        recorded.mends.append(Mend(spread[1], spread[0].size))
    _where_it_was(table, known, recorded)
    _called_degrees(choices, table, known, recorded)
    settle_parts(choices, table, known, recorded)
    down = next((c for c in choices if c.meaning.quantity == "velocity_down"), None)
    settle_together([c for c in choices if c.meaning.quantity in TOGETHER], table, known, recorded, down)
    for choice in choices:
        if choice.meaning.quantity not in TOGETHER | _FIRST:
            settle_one(choice, table, known, recorded, sides)


def _called_degrees(choices: list[Choice], table: RawTable, known: Known, recorded: Recorded) -> None:
    """Simulators call their angles degrees and write radians: headings that as such agree with the way tell it."""
    angles = {c.meaning.quantity: c for c in choices if c.meaning.quantity in _NOSE | {"pitch", "bank"}}
    if not {"latitude", "longitude"} <= known.columns.keys() or angles.keys() & {*recorded.facts["settled"]}:
        return
    raws = {q: numbers_of(table.frame[str(c.column)], "angle", q) for q, c in angles.items()}
    east, north = velocity_mps(known.time_s, known.columns["latitude"], known.columns["longitude"], 4.0)
    way, flies = np.arctan2(east, north), np.hypot(east, north) > FLYING_MPS
    for heading in (raws[q] for q in raws if q in _NOSE):
        at = flies & np.isfinite(heading)
        agree = [float(np.cos(way - heading * k)[at].mean()) if at.sum() >= _FEW else -1.0 for k in (1.0, u.DEG_RAD)]
        if agree[0] > _ALONG > agree[1] and float(np.nanmax(np.abs(heading))) <= _MOST_RAD[1]:
            break
    else:
        return
    for quantity in (q for q, x in raws.items() if np.nanmax(np.abs(x), initial=0.0) <= _MOST_RAD[q in _NOSE]):
        if any(unit.name == "deg" for unit in angles[quantity].meaning.units):
            angles[quantity].meaning = replace(angles[quantity].meaning, units=(BY_NAME["rad"],))
            said = (
                f"{quantity.replace('_', ' ')} is called degrees and was read as radians: so the headings fit the way"
            )
            recorded.say(said, known.time_s.size, QUANTITIES[quantity].house)
    known.attitude = _largest_attitude(table, choices)


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
    return Meaning(quantity, (found,) if found else fitting(quantity, named_units(name, cell)), None, SAID)


def _as_watches_count(choices: list[Choice], known: Known, recorded: Recorded) -> None:
    """Devices that write places in 2³¹ parts of half a turn count seconds from the end of 1989: the day they mean."""
    parts = any("2³¹" in c.how or (c.unit is not None and c.unit.name == "semicircles") for c in choices)
    remark = str(recorded.facts.get("time_remark", ""))
    if not parts or "seconds since 1970" not in remark or recorded.clock != "utc":
        return
    moved = recorded.time_s + _SINCE_1989_S
    if float(np.nanmedian(moved)) < _WATCHES_S:
        recorded.time_s = known.time_s = moved
        recorded.facts["time_remark"] = remark.replace("1970", "1989-12-31, as what writes places so does,")


def _where_it_was(table: RawTable, known: Known, recorded: Recorded) -> None:
    """Places put to their own times, where a column tells these beside the rows' (last_position, time_position)."""
    if recorded.clock != "utc" or not {"latitude", "longitude"} <= known.columns.keys():
        return
    for i, name in enumerate(table.names):
        if not {"position", "pos"} & (words := {*words_of(name)}) or not {"last", "time", "ts"} & words:
            continue
        raw = numbers_of(table.frame[str(i)], "clock", "time")
        told = seconds_of_numbers(raw, None, has_date=False) if np.isfinite(raw).any() else (raw, "elapsed", "")
        places = (known.columns[q] for q in ("latitude", "longitude"))
        if told[1] == "moment" and (moved := at_row_times(known.time_s, told[0], *places)):
            for quantity, values in zip(("latitude", "longitude"), moved, strict=True):
                known.columns[quantity] = values
                recorded.columns[QUANTITIES[quantity].house] = values
            recorded.say(f"places put to the times that {name!r} tells", known.time_s.size, "latitude_rad")
            return


def _ask_side(
    choices: list[Choice], table: RawTable, known: Known, recorded: Recorded, told: Mapping[str, int]
) -> None:
    """Degrees and minutes in one number (8912.5678) without a sign, and no column of sides: which side is asked."""
    for choice in choices:
        quantity = choice.meaning.quantity
        open_ = quantity in _OTHER_SIDES.keys() - told and "degrees and minutes in one number" in choice.how
        if open_ and np.nanmin(known.columns[quantity], initial=0.0) >= 0.0:
            name, (side, other) = table.names[choice.column], _OTHER_SIDES[quantity]
            said = f"{name!r} tells no side: taken as {side}; if it is {other}, call the column '{name} {other}'"
            recorded.mends.append(Mend(said, recorded.time_s.size, column=f"{quantity}_rad", asks=True))


def _say_of_plain_speed(choice: Choice, table: RawTable, recorded: Recorded) -> None:
    """A column called only speed that stayed one is not used: nothing tells which speed it is."""
    name = table.names[choice.column]
    beside = recorded.columns.keys() & {"groundspeed_mps", "ias_mps", "tas_mps"}
    choice.how = f"{choice.how}; not used" if choice.how else "not used"
    places = {"latitude_rad", "longitude_rad"} <= recorded.columns.keys()
    held = not places or _flies(recorded)
    if places and not held and not np.nan_to_num(recorded.extra["speed"]).any() and _stands(recorded):
        choice.how = f"{choice.how.removesuffix('; not used')}; nought, as the positions stand"
        return
    quantity = "indicated_airspeed" if places and held else "ground_speed"
    one = shlex.quote(f"{name}={quantity}:{choice.unit.name if choice.unit else 'kt'}")
    said = "may be the speed over the ground or the airspeed, and nothing tells which"
    if beside:
        said = "is called only speed, beside one that is named: not used"
    elif not held:
        said = "is called only speed, and nothing is as fast as is flown to hold it against: not used"
    elif places:
        said = "is called only speed, and the positions move at another: not used"
    if places:  # then its unit is no question
        recorded.mends[:] = [m for m in recorded.mends if not (m.asks and m.what.startswith(f"{name!r} is "))]
    what = f"{name!r} {said}; say what it is with airwork recording map FILE --set {one}"
    recorded.mends.append(Mend(what, 1, asks=held and not beside))


def _flies(recorded: Recorded) -> bool:
    """It goes over the ground somewhere as fast as is flown."""
    way = velocity_mps(recorded.time_s, recorded.columns["latitude_rad"], recorded.columns["longitude_rad"], 4.0)
    return bool((np.hypot(*way) > FLYING_MPS).any())


def _stands(recorded: Recorded) -> bool:
    """Its positions stay where they are, but for a receiver's wandering."""
    east, north = east_north_m(recorded.columns["latitude_rad"], recorded.columns["longitude_rad"])
    took = float(np.ptp(recorded.time_s))
    way = math.hypot(float(np.nanmax(east) - np.nanmin(east)), float(np.nanmax(north) - np.nanmin(north)))
    return way < max(_STANDS_M, _STANDS_MPS * min(took, _STANDS_S))


def _levels_are_pressures(choices: list[Choice], recorded: Recorded) -> None:
    """Hundreds of feet are a transponder's: what was called only altitude is the pressure's, not a receiver's."""
    for choice in choices:
        in_levels = choice.unit is not None and choice.unit.name == "FL" and choice.meaning.quantity == "gps_altitude"
        if in_levels and "pressure_altitude_m" not in recorded.columns:
            choice.meaning = replace(choice.meaning, quantity="pressure_altitude")
            choice.how = choice.how.replace("taken as height from satellite positioning", "hundreds of feet, a level's")
            recorded.columns["pressure_altitude_m"] = recorded.columns.pop("gps_altitude_m")
            recorded.notes.pop("gps_altitude_m", None)


def _is_state_vectors(table: RawTable, meanings: list[Meaning | None]) -> bool:
    """Surveillance (ADS-B) state vectors: position beside many aircraft's identities, a transponder's code, or climbs
    in the steps of 64 fpm that one sends."""
    names = {m.quantity for m in meanings if m and not m.aside}  # a selected setting is sent, too
    panel = names & {"rpm", "manifold_pressure", "altimeter_setting", "pitch"}
    panel |= names & {"indicated_airspeed"} if "track" not in names else set()
    if "latitude" not in names or panel:
        return False
    if "aircraft" in names or any("squawk" in words_of(n) for n in table.names):
        return True
    texts = (table.frame[str(i)].head(200) for i in range(len(table.names)) if table.frame[str(i)].dtype == pl.String)
    if any(float(cells.str.contains(r"(?i)\bADS-?B\b|\bMLAT\b").mean() or 0.0) > _SENT for cells in texts):  # type: ignore[arg-type]
        return True
    rates = (i for i, m in enumerate(meanings) if m is not None and not m.aside and m.quantity == "vertical_speed")
    return any(multiples(numbers_of(table.frame[str(i)], "speed", ""), STEP_FPM) > _SENT for i in rates)


_SENT = 0.95
_STATES = 3


def _by_the_others(table: RawTable, meanings: list[Meaning | None]) -> None:
    """What a name means beside the others: VS in knots or km/h beside a vertical speed is the speed over the ground, as
    Romance tongues call it; a sat beside a receiver's precision counts satellites; an L that no R stands beside is no
    left tank but liters.
    """
    known = {m.quantity for m in meanings if m is not None and not m.aside}
    rates = [i for i, m in enumerate(meanings) if m is not None and m.quantity == "vertical_speed" and not m.aside]
    last = [(words_of(n) or ("",))[-1] for n in table.names]
    for i, m in enumerate(meanings):
        if m is None or m.aside or m.score >= SAID:
            continue
        in_kt = bool(m.units) and m.units[0].name in {"kt", "km/h"}
        if i in rates and len(rates) > 1 and "ground_speed" not in known and in_kt:
            meanings[i] = replace(m, quantity="speed")
        if m.quantity == "outside_temperature" and not m.units and _FIXES & {*words_of(" ".join(table.names))}:
            meanings[i] = replace(m, quantity="not_needed") if table.names[i].strip().lower() == "sat" else m
        if m.quantity == "outside_temperature" and _counts_satellites(table, i):
            meanings[i] = replace(m, quantity="not_needed")
        if "q" in last and last[i] in _ATTITUDE_OR_RATE and m.quantity in {"pitch", "bank"}:
            meanings[i] = replace(m, quantity="not_needed")  # p, q, r: rates
        if m.quantity == "fuel_left" and "fuel_right" not in known and not m.units and _LITERS.search(table.names[i]):
            meanings[i] = replace(m, quantity="fuel_total", units=(BY_NAME["L"],))


_ATTITUDE_OR_RATE = frozenset("pr")


def _counts_satellites(table: RawTable, i: int) -> bool:
    """GNSS1SAT: a receiver measures no static air temperature, and counts whole satellites, few of them."""
    if not {"sat", "gps"} <= {SAME.get(w, w) if w != "sat" else w for w in words_of(table.names[i])}:
        return False
    known = numbers_of(table.frame[str(i)], "", "")
    known = known[np.isfinite(known)]
    return bool(known.size and (known % 1.0 == 0.0).all() and known.min() >= 0.0 and known.max() <= _MOST_SATELLITES)


_MOST_SATELLITES = 40.0


def _selected_setting(table: RawTable, meanings: list[Meaning | None]) -> None:
    """An altimeter setting is what somebody selected: where no other is recorded, that one is it."""
    if any(m is not None and m.quantity == "altimeter_setting" and not m.aside for m in meanings):
        return
    for i, m in enumerate(meanings):
        words = {*words_of(table.names[i])}
        if m is not None and m.aside and m.quantity == "altimeter_setting" and not words & BLOCKERS - _SELECTED:
            meanings[i] = believed(table, i, replace(m, aside=False))


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
    settle_heights(table, taken, transponder=state_vectors)
    if "heading" in taken and not taken.keys() & {"magnetic_heading", "true_heading"}:
        plain, quantity = taken.pop("heading"), "magnetic_heading"
        how = "called only heading; taken as magnetic"
        if {"velocity_north", "velocity_east"} <= taken.keys():  # an attitude system's: one north for both
            quantity, how = "true_heading", "called only heading; true, as the velocities north and east beside it"
        taken[quantity] = Choice(plain.column, replace(plain.meaning, quantity=quantity), how=how)
    order = {name: k for k, name in enumerate(_ORDER)}
    return sorted(taken.values(), key=lambda c: (order.get(c.meaning.quantity, 99), c.column))


def _rank(table: RawTable, i: int, meaning: Meaning) -> tuple[float, float, float, float]:
    """How well a column serves its quantity; one that holds a single number (a dead receiver's) less than any other."""
    series = table.frame[str(i)]
    filled = 1.0 - series.null_count() / max(len(series), 1)
    engine = -float(meaning.index or 0) * 0.01  # of several engines or sensors, the first
    return (
        series.drop_nulls().n_unique() > 1,
        round(filled, 1) > 0.2,
        meaning.score + (1.0 if meaning.units else 0.0) + engine,
        filled,
    )


def _varies(series: pl.Series) -> bool:
    """More than a state, a flag or a name: cells with figures in them, and more than a few different ones."""
    known = series.drop_nulls().unique()
    if known.dtype == pl.String:
        known = known.filter(known.str.contains(r"\d"))
    return len(known) > _STATES


def _report(table: RawTable, meanings: list[Meaning | None], choices: list[Choice], recorded: Recorded) -> None:
    used = {choice.column: choice for choice in choices}
    understood: list[dict[str, str]] = []
    aside: list[str] = []
    unknown: list[str] = []
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
        elif meaning is None and name in (*recorded.facts.get("time_columns", ()), recorded.facts.get("date_column")):
            understood.append({"column": name, "quantity": "time", "unit": "", "unit_how": "by its cells"})
        elif meaning is None:
            (unknown if _varies(table.frame[str(i)]) else aside).append(name or f"column {i + 1}")
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
