"""Which height a column tells that is called only altitude, or baro: the altimeter's, the pressure's, the satellites'.

What speaks, the strongest first: another height or the air's pressure beside it, which it follows or not; the steps a
transponder sends; the setting; what else the file records.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import polars as pl

from airwork.airdata.atmosphere import pressure_altitude_m
from airwork.recording.beside import setting_beside
from airwork.recording.cells import numbers_of
from airwork.recording.flight import Mend
from airwork.recording.layout_values import Choice, of_several
from airwork.recording.names import SAID, words_of
from airwork.recording.quantities import QUANTITIES
from airwork.recording.recorded import Array
from airwork.recording.table import RawTable
from airwork.recording.unit_evidence import multiples, resolution
from airwork.recording.unit_words import BY_NAME, Unit

_TWICE = 0.9  # of two columns' numbers are the same
_DIGITS = 0.06  # one number written with more and with fewer digits
_READINGS, _CLIMBED, _ROUNDED = 20, 200.0, 0.6  # in its own unit, feet or meters; whole numbers lie 0.5 off
_ROSE_M = 100.0  # enough of a climb to tell whether one height follows another
_FOLLOWS_M, _STRAYS_M = 1.5, 2.5  # scatter about the pressure: of an altimeter, of a receiver's fixes
_LIKE_IT, _UNLIKE_IT = 0.008, 0.02  # meters to one of the standard air: warm or cold days make others for satellites
_COARSE_M = 3.0  # a pressure in such steps tells no scatter
_ONE_SETTING_M = 5.0  # a level altimeter set to 1013 beside the pressure altitude; a receiver so near by chance alone
_MISSET_M = 70.0  # nobody sets an altimeter so badly, nor does the ellipsoid lie so far from the sea but in few places
_SHIFTED_M, _NEARER = 30.0, 0.4
_STEP_FT, _SENT, _SELDOM, _ODD, _HUNDRED, _LEVELS = 25.0, 0.98, 0.3, 0.1, 100.0, 6
_GEOID_MOST = 360.0  # feet or meters: the geoid is within 110 m of the ellipsoid
_AIR = frozenset(["indicated_airspeed", "calibrated_airspeed", "true_airspeed", "altimeter_setting"])
_SEA = frozenset(["msl", "amsl", "sea"])
_SENT_SO = frozenset(["geom", "geo", "geometric"])  # the geometric height of a transponder
_READ = frozenset(["ind", "indicated", "qnh", "set", "setting", "corrected", "altimeter"])  # as somebody set it
_ELLIPSOID = re.compile(r"(?i)ellipsoid|(?<![a-z])hae(?![a-z])|wgs.?84.?(?:alt|h)")
_GEOID = re.compile(r"(?i)geoid|undulation")


def settle_heights(table: RawTable, taken: dict[str, Choice], *, transponder: bool) -> None:
    """Give a plain altitude its kind, and doubt one called barometric; by quantity, changed in place."""
    raws = {q: _numbers(table, taken[q]) for q in ("altitude", "gps_altitude") if q in taken}
    if len(raws) == 2 and float(np.mean(np.abs(raws["altitude"] - raws["gps_altitude"]) < _DIGITS)) > _TWICE:
        del taken["altitude"]  # the same once more, no altimeter's
    if "altitude" in taken and not transponder:
        _of_one_receiver(table, taken)
    if "altitude" in taken:
        quantity, why = _kind(table, taken, transponder=transponder)
        if quantity:
            old = taken.pop("altitude")
            how = f"called only altitude; {why}"
            taken[quantity] = Choice(old.column, replace(old.meaning, quantity=quantity), how=how)
    _doubt_the_setting(table, taken)


def above_the_ellipsoid(table: RawTable, column: int, *, transponder: bool) -> str:
    """A remark where the column's words say that it counts from the ellipsoid; "" where they don't."""
    words = {*words_of(f"{table.names[column]} {table.unit_cells[column]}")}
    if words & _SEA:
        return ""
    if words & {"wgs", "wgs84", "hae", "ellipsoid"}:
        return "above the WGS 84 ellipsoid, not above sea level"
    sent = transponder and words & _SENT_SO
    return "above the WGS 84 ellipsoid, as transponders send it: not above sea level" if sent else ""


def above_the_sea(table: RawTable) -> None:
    """Heights above the ellipsoid with the geoid's height beside them become heights above the sea."""
    high = [i for i, n in enumerate(table.names) if _ELLIPSOID.search(n) and table.frame[str(i)].dtype.is_numeric()]
    apart = [i for i, n in enumerate(table.names) if _GEOID.search(n) and table.frame[str(i)].dtype.is_numeric()]
    if len(high) == 1 and not apart:
        said = f"{table.names[high[0]]!r} is a height above the ellipsoid, up to 350 ft from that above the sea"
        table.mends.append(Mend(said, table.frame.height))
    if len(high) != 1 or len(apart) != 1:
        return
    height, geoid = (table.frame[str(i)].cast(pl.Float64, strict=False) for i in (high[0], apart[0]))
    if not float(geoid.abs().max() or 0.0) < _GEOID_MOST:  # type: ignore[arg-type]
        return
    table.frame = table.frame.with_columns((height - geoid).alias(str(high[0])))
    said = f"{table.names[high[0]]!r} less {table.names[apart[0]]!r}: height above the sea"
    table.mends.append(Mend(said, table.frame.height))


def _kind(table: RawTable, taken: dict[str, Choice], *, transponder: bool) -> tuple[str, str]:
    """(quantity, why) of a column called only altitude; "" where another height says all that it could."""
    plain, heights = taken["altitude"], taken.keys() & {"indicated_altitude", "pressure_altitude"}
    if transponder and "pressure_altitude" not in taken:
        if "gps_altitude" not in taken and _finer(_numbers(table, plain), plain.meaning.units):
            return "gps_altitude", "height from satellite positioning: no transponder sends such steps"
        return "pressure_altitude", "a transponder sends pressure altitude"
    if (kind := _by_pressure(table, taken)) and kind[0] not in taken:
        return kind
    if not heights and _in_steps(_numbers(table, plain), plain.meaning.units):
        return "pressure_altitude", "pressure altitude: in the steps of 25 ft that a transponder sends"
    engine = {"rpm"} if "latitude" not in taken else set()  # an engine's monitor knows its receiver's height
    instruments = taken.keys() & (_AIR | engine)
    if instruments and (not heights or not taken.keys() & {"latitude", "gps_altitude", "indicated_altitude"}):
        return "indicated_altitude", "taken as the altimeter's, beside other instruments"
    if "gps_altitude" not in taken:
        return "gps_altitude", "taken as height from satellite positioning"
    if not heights:
        return "indicated_altitude", "taken as the altimeter's, beside the satellites'"
    return "", ""


def _numbers(table: RawTable, choice: Choice) -> Array:
    return numbers_of(table.frame[str(choice.column)], "length", choice.meaning.quantity)


def _of_one_receiver(table: RawTable, taken: dict[str, Choice]) -> None:
    """A column called only "altitude" that differs from the satellites' by one number throughout is their other height.

    Above the ellipsoid where theirs is above the sea; in another unit the same once more. No altimeter goes so with
    them: the air is warmer or colder than standard.
    """
    if "gps_altitude" not in taken:
        return
    plain, theirs = (taken[q].column for q in ("altitude", "gps_altitude"))
    a, b = (numbers_of(table.frame[str(i)], "", "") for i in (plain, theirs))
    for times in (1.0, BY_NAME["ft"].factor, 1.0 / BY_NAME["ft"].factor):
        apart = (a - times * b)[np.isfinite(a) & np.isfinite(b)]
        if apart.size < _READINGS or np.nanmax(a) - np.nanmin(a) < _CLIMBED:
            return
        low, middle, high = (float(x) for x in np.percentile(apart, [1.0, 50.0, 99.0]))
        same = abs(middle) <= _ROUNDED
        if high - low > 2.0 * _ROUNDED or (not same and (times != 1.0 or not _SEA & {*words_of(table.names[theirs])})):
            continue
        if not same:
            side = "above" if middle > 0.0 else "below"
            said = f"above the sea; {table.names[plain]!r}, {abs(middle):.3g} {side} it throughout, above the ellipsoid"
            taken["gps_altitude"] = replace(taken["gps_altitude"], how=said)
        del taken["altitude"]
        return


def _by_pressure(table: RawTable, taken: dict[str, Choice]) -> tuple[str, str] | None:
    """(quantity, why) of a plain altitude beside the air's pressure or a pressure altitude; None: it can't be told.

    A receiver's fixes wander by meters, and the air is hardly ever as warm as the standard has it: what goes exactly
    with the pressure, but for one setting, is an altimeter's.
    """
    if (beside := _pressure_height_m(table, taken)) is None:
        return None
    high, name = beside
    raw = _numbers(table, taken["altitude"])
    good = np.isfinite(raw) & np.isfinite(high)
    step = resolution(high)
    if good.sum() < _READINGS or step > _COARSE_M:
        return None
    a, b = raw[good], high[good]
    named = taken["altitude"].meaning.units
    units = named or tuple(BY_NAME[n] for n in QUANTITIES["altitude"].units)
    factors = [u.factor * 10.0**-k for u in units for k in range(1 if named else 4)]
    low, top = np.percentile(b, [2.0, 98.0])
    of_the_air = "static" in name or bool(taken.keys() & _AIR)  # else two numbers of a simulator's standard day
    if top - low < _ROSE_M:
        near = min(abs(float(np.median(a * f - b))) for f in factors) < _ONE_SETTING_M
        said = f"the altimeter's: it is the {name} beside it but for a few feet"
        return ("indicated_altitude", said) if near and of_the_air and top > _CLIMBED else None
    slope, at_zero = np.polyfit(b, a, 1)
    for _ in range(2):  # without what is far off
        off = np.abs(a - at_zero - slope * b)
        keep = off <= 4.0 * 1.4826 * np.median(off) + 1e-9
        slope, at_zero = np.polyfit(b[keep], a[keep], 1)
    if slope <= 0.0:
        return None
    left = 1.4826 * float(np.median(np.abs(a - at_zero - slope * b))) / slope
    factor = min(factors, key=lambda f: abs(slope * f - 1.0))
    unlike = abs(slope * factor - 1.0)
    if unlike < _LIKE_IT and left < _FOLLOWS_M + 0.5 * step and of_the_air:
        if abs(float(np.median(a * factor - b))) < _FOLLOWS_M + step and "static" in name:
            return "pressure_altitude", "worked out from the pressure beside it"
        return "indicated_altitude", f"the altimeter's: it follows the {name} beside it"
    strays = left > _STRAYS_M + step or unlike > _UNLIKE_IT
    return (
        ("gps_altitude", f"height from satellite positioning: it strays from the {name} beside it") if strays else None
    )


def _pressure_height_m(table: RawTable, taken: dict[str, Choice]) -> tuple[Array, str] | None:
    """(pressure altitude [m], whose it is) of another column than the plain altitude; None where there is none."""
    for quantity in ("static_pressure", "pressure_altitude"):
        if (choice := taken.get(quantity)) is None:
            continue
        raw = numbers_of(table.frame[str(choice.column)], QUANTITIES[quantity].dimension, quantity)
        units = choice.meaning.units
        if quantity == "static_pressure":
            units = units or tuple(BY_NAME[n] for n in QUANTITIES[quantity].units)
        if not units or not np.isfinite(raw).any():
            continue
        raw = raw * of_several(units, quantity, raw).factor
        if quantity == "static_pressure":
            raw = np.asarray(pressure_altitude_m(np.where(raw > 0.0, raw, np.nan)))
        return raw, quantity.replace("_", " ")
    return None


def _in_steps(raw: Array, units: tuple[Unit, ...]) -> bool:
    """Steps of 25 ft, and not of 100: what transponders send."""
    known = raw[np.isfinite(raw)]
    for name in {u.name for u in units} or {"ft", "m"}:
        if name not in {"ft", "m"}:
            continue
        step = _STEP_FT * BY_NAME["ft"].factor / BY_NAME[name].factor
        if multiples(known, step) < _SENT or np.unique(known).size < _LEVELS:
            continue
        count = np.round(known / step)
        if float(np.mean(np.mod(count, _HUNDRED / _STEP_FT) != 0.0)) > _ODD:
            return True
    return False


def _finer(raw: Array, units: tuple[Unit, ...]) -> bool:
    """Feet that are whole meters, or in no steps of 25: no transponder's."""
    known = np.unique(raw[np.isfinite(raw)])
    if known.size < _LEVELS or (units and units[0].name != "ft"):
        return False
    foot = BY_NAME["ft"].factor
    whole = bool((np.abs(known - np.round(known * foot) / foot) < _ROUNDED).all())
    in_meters = np.abs(known - np.round(known / (_STEP_FT * foot)) * _STEP_FT * foot) <= 0.5  # rounded to whole meters
    steps = multiples(raw, _STEP_FT) >= _SELDOM or (not units and float(in_meters.mean()) >= _SELDOM)
    return (whole or not steps) and known.size > 2 * _LEVELS


def _doubt_the_setting(table: RawTable, taken: dict[str, Choice]) -> None:
    """What is called barometric and lies where no altimeter that was set would is the pressure altitude."""
    choice, theirs = taken.get("indicated_altitude"), taken.get("gps_altitude")
    if choice is None or theirs is None or "pressure_altitude" in taken or choice.meaning.score >= SAID:
        return
    if {*words_of(f"{table.names[choice.column]} {table.unit_cells[choice.column]}")} & _READ:
        return
    both = [c.meaning.units for c in (choice, theirs)]
    factors = [u[0].factor if u else BY_NAME["ft"].factor for u in both]
    if any(both) and not all(both):
        return
    a, b = (_numbers(table, c) * f for c, f in zip((choice, theirs), factors, strict=True))
    apart = (a - b)[np.isfinite(a) & np.isfinite(b)]
    if apart.size < _READINGS:
        return
    middle = float(np.median(apart))
    shift = _shift_m(table, taken)
    if shift is None:
        wrong = abs(middle) > _MISSET_M
    else:
        wrong = abs(shift) > _SHIFTED_M and abs(middle - shift) < _NEARER * abs(shift)
    if wrong:
        del taken["indicated_altitude"]
        side = "above" if middle > 0.0 else "below"
        far = f"{abs(middle) / BY_NAME['ft'].factor:,.0f} ft {side} the satellites' height"
        how = f"{choice.how.split(';')[0]}; " if choice.how else ""
        how += f"pressure altitude: {far}, which no altimeter set to the field shows"
        taken["pressure_altitude"] = Choice(
            choice.column, replace(choice.meaning, quantity="pressure_altitude"), how=how
        )


def _shift_m(table: RawTable, taken: dict[str, Choice]) -> float | None:
    """How far the pressure altitude lies above what the altimeter shows, by its setting [m]; None without one."""
    settings: Iterable[float] = ()
    if (choice := taken.get("altimeter_setting")) is not None:
        raw = numbers_of(table.frame[str(choice.column)], "pressure", "altimeter_setting")
        if np.isfinite(raw).any():
            units = choice.meaning.units or tuple(BY_NAME[n] for n in QUANTITIES["altimeter_setting"].units)
            settings = [float(np.nanmedian(raw)) * of_several(units, "altimeter_setting", raw).factor]
    elif (said := setting_beside(table.head)) is not None:
        settings = [said[0]]
    return next((float(pressure_altitude_m(p)) for p in settings if p > 0.0), None)
