"""IGC files of gliding's flight recorders: B records with I-record extensions, H records, midnight.

[IGC] FAI, Technical Specification for IGC-Approved GNSS Flight Recorders, Appendix A: record types, three-letter codes
and their units (from memory; checked against files that open packages ship). The G record (the recorder's signature)
can only be checked by its maker; it is noted, not checked.
"""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from airwork import units as u
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.errors import InputError
from airwork.recording.clock import NOW_S
from airwork.recording.flight import Mend
from airwork.recording.marks import MOST as MOST_MARKS
from airwork.recording.marks import Mark
from airwork.recording.quantities import QUANTITIES
from airwork.recording.recorded import Array, Recorded
from airwork.recording.stamps import DAY_S, days_s
from airwork.recording.unit_choice import Evidence
from airwork.recording.unit_evidence import Stretches
from airwork.recording.unit_families import settle
from airwork.recording.unit_guess import Known, season_k
from airwork.recording.unit_words import Unit

_NOTED = re.compile(rb"L[A-Z0-9]{2,3}:+(H[FOP][A-Z]{3}.*)")
_B = re.compile(rb"^B\d{6}\d{7}[NS]\d{8}[EW][AV][-\d]\d{4}[-\d]\d{4}")
_B_LENGTH, _K_LENGTH = 35, 7
_PRESSED = re.compile(rb"^E(\d{6})PEV(.{0,80})")
_NO_WIND_KMH = 500.0  # nines stand for none
_LEVELS, _COPIED = 5, 0.98  # different heights; of the fixes
# Extension code → quantity, for speeds in km/h (`_speeds` finds the power of ten).
_SPEEDS = {"IAS": "indicated_airspeed", "TAS": "true_airspeed", "GSP": "ground_speed"}
# Extension code → (house column, SI per unit, usual digits): further digits are decimals.
_EXTENSIONS: dict[str, tuple[str, float, int]] = {
    "TRT": ("track_rad", u.DEG_RAD, 3),
    "HDT": ("heading_rad", u.DEG_RAD, 3),
    "HDM": ("heading_mag_rad", u.DEG_RAD, 3),
    "RPM": ("rpm", 1.0, 5),
    "WDI": ("wind_from_rad", u.DEG_RAD, 3),
    "WSP": ("wind_mps", u.KMH_MPS, 3),
}
_TENS_DIGITS = 3  # at 999 rpm and less no engine flies
_NOISE = ("ENL", "MOP", "ENV")  # engine noise level, 0 to 999: kept, to tell whether there is an engine
_FACTS = {
    b"GTY": "aircraft_type",
    b"CCL": "aircraft_class",
    b"GID": "aircraft",
    b"RHW": "hardware",
    b"FTY": "recorder",
    b"DTM": "datum",
    b"ALG": "gps_altitude_datum",
    b"ALP": "pressure_altitude_datum",
}


def read(data: bytes, where: str) -> Recorded:
    """Fixes of an IGC file.

    Raises
    ------
    InputError : no B record can be read.
    """
    lines = data.split(b"\n")
    lines = [line.rstrip(b"\r ") for line in lines]
    fixes = [line for line in lines if _B.match(line)]
    broken = sum(line.startswith(b"B") for line in lines) - len(fixes)
    if len(fixes) < 2:
        raise InputError("has no readable fixes (B records).", where=where)
    recorded = Recorded("IGC", np.empty(0), "time of day", {})
    if broken:
        recorded.mends.append(Mend(f"{broken} B records that break the format left out", broken))
    cells = _cells(fixes)
    day = _headers(lines, recorded)
    extensions = _extensions(lines)
    time_s = _digits(cells, 1, 3) * 3600.0 + _digits(cells, 3, 5) * 60.0 + _digits(cells, 5, 7)
    if (decimals := extensions.pop("TDS", None)) is not None:
        time_s = time_s + _digits(cells, *decimals) / 10.0 ** (decimals[1] - decimals[0])
    if day is not None:
        falls = np.diff(time_s) < -0.5 * DAY_S
        if falls.any():
            recorded.mends.append(Mend("the clock passed midnight; a day was added", int(falls.sum())))
        time_s = time_s + day + np.concatenate(([0.0], np.cumsum(falls))) * DAY_S
        recorded.clock = "utc"
    recorded.time_s = time_s
    _positions(cells, extensions, recorded)
    values = {code: _digits(cells, *span) for code, span in extensions.items()}
    values = {code: v for code, v in values.items() if np.nanmax(np.abs(v), initial=0.0) > 0.0}
    for code in (c for c in _EXTENSIONS if c in values):
        house, factor, digits = _EXTENSIONS[code]
        further = max(extensions[code][1] - extensions[code][0] - digits, 0)
        recorded.columns[house] = values[code] * factor / 10.0**further
    if "RPM" in values and extensions["RPM"][1] - extensions["RPM"][0] == _TENS_DIGITS:
        recorded.columns["rpm"] *= 10.0
        recorded.say("three digits hold no engine's speed in flight: taken in tens", values["RPM"].size, "rpm")
    _speeds({code: values[code] for code in _SPEEDS if code in values}, extensions, recorded)
    if "OAT" in values:
        _temperature(values["OAT"], extensions["OAT"][1] - extensions["OAT"][0], recorded)
    if noise := [values[code] for code in _NOISE if code in values]:
        recorded.extra["noise_level"] = np.max(noise, axis=0)
    used = {*_EXTENSIONS, *_SPEEDS, *_NOISE, "OAT"}
    recorded.facts["not_needed"] = sorted(c for c in extensions if c not in used)
    recorded.facts["signed"] = any(line.startswith(b"G") for line in lines)
    recorded.facts["rows_in_file"] = len(fixes)
    if recorded.clock == "utc" and (marks := _marks(lines, float(time_s[0]))):
        recorded.facts["marks"] = marks
    if own := _own_winds(lines):
        recorded.facts["own_wind"] = own
    return recorded


def _after(text: bytes, start_s: float) -> float:
    """Seconds since 1970 of a time of day at or after the start."""
    of_day = int(text[:2]) * 3600.0 + int(text[2:4]) * 60.0 + int(text[4:6])
    return start_s + (of_day - start_s) % DAY_S


def _marks(lines: list[bytes], start_s: float) -> tuple[Mark, ...]:
    """Moments the pilot marked with the recorder's button (E records, PEV)."""
    pressed = [m for line in lines if (m := _PRESSED.match(line))]
    return tuple(Mark(_after(m[1], start_s), m[2].decode("latin-1").strip()) for m in pressed[:MOST_MARKS])


def _own_winds(lines: list[bytes]) -> list[dict[str, str | float]]:
    """What the recorder itself took for the wind now and then (K records): time of day, direction, speed in knots."""
    fields = _extensions(lines, b"J")
    named = next((code for code in ("WSP", "WVE") if code in fields), "")
    if not named or "WDI" not in fields:
        return []
    (a, b), (c, d) = fields["WDI"], fields[named]
    further, out = max(d - c - 3, 0), list[dict[str, str | float]]()
    for line in lines:
        if line.startswith(b"K") and line[1:7].isdigit() and line[a:b].isdigit() and line[c:d].isdigit():
            kmh = int(line[c:d]) / 10.0**further
            if int(line[a:b]) <= 360 and kmh < _NO_WIND_KMH:
                knots = round(u.to_unit(u.from_unit(kmh, "km/h"), "kt"), 1)
                at = f"{line[1:3].decode()}:{line[3:5].decode()}:{line[5:7].decode()}"
                out.append({"utc": at, "from_deg": float(int(line[a:b])), "kt": knots})
    return out


def _speeds(raw: dict[str, Array], extensions: dict[str, tuple[int, int]], recorded: Recorded) -> None:
    """Speeds in km/h, whole or in tenths or hundredths: the field's width is a hint, the positions decide.

    Three digits are whole km/h; wider fields are written with decimals by some recorders and with noughts by others.
    """
    if not raw:
        return
    lat, lon = recorded.columns.get("latitude_rad"), recorded.columns.get("longitude_rad")
    named = {}
    for code in raw:
        width = extensions[code][1] - extensions[code][0]
        powers = range(max(width - 2, 1)) if width > 3 else range(1)
        likely = sorted(powers, key=lambda p: p != max(powers))
        named[_SPEEDS[code]] = tuple(_decimal_kmh(p) for p in likely)
    evidence = Evidence(Stretches(recorded.time_s), {_SPEEDS[c]: v for c, v in raw.items()}, named, lat, lon)
    for quantity, found in settle(evidence).items():
        house = QUANTITIES[quantity].house
        recorded.columns[house] = evidence.si(quantity)
        recorded.facts.setdefault("understood", []).append(
            {"column": next(c for c, q in _SPEEDS.items() if q == quantity), "quantity": quantity,
             "unit": found.unit.name, "unit_how": found.why}
        )  # fmt: skip
        if found.overruled:
            recorded.say(f"{quantity.replace('_', ' ')} is in {found.unit.name}: {found.why}", 1, house)
        if why := evidence.against.get(quantity):
            recorded.mends.append(Mend(f"{quantity.replace('_', ' ')} set aside: {why}", 1, column=house))
            del recorded.columns[house]


def _decimal_kmh(power: int) -> Unit:
    return Unit(f"{10.0**-power:g} km/h" if power else "km/h", "speed", u.KMH_MPS * 10.0**-power)


def _temperature(raw: Array, width: int, recorded: Recorded) -> None:
    """°C, whole or in tenths or hundredths: as usual at its height, place and season, falling as the air's does."""
    height = recorded.columns.get("pressure_altitude_m", recorded.columns.get("gps_altitude_m"))
    known = Known(recorded.time_s if recorded.clock == "utc" else np.empty(0), dict(recorded.columns))
    known.columns["latitude"] = recorded.columns["latitude_rad"]
    usual = standard_temperature_k(np.nanmedian(height) if height is not None else 0.0) - u.ZERO_C_K + season_k(known)
    middle, good = float(np.nanmedian(raw)), np.isfinite(raw)
    falls = 0.0
    if height is not None and (good := good & np.isfinite(height)).sum() > 2 and np.ptp(height[good]) > _ROSE_M:
        falls = float(np.polyfit(height[good], raw[good], 1)[0])

    def cost(scale: float) -> float:
        misfit = ((middle * scale - usual) / _USUAL_K) ** 2 + _UNUSUAL * (scale != (0.1 if width > 3 else 1.0))
        return float(misfit + (((falls * scale - _LAPSE_KPM) / _LAPSE_OFF) ** 2 if falls else 0.0))

    recorded.columns["oat_k"] = raw * min((1.0, 0.1, 0.01), key=cost) + u.ZERO_C_K


_UNUSUAL = 1.5  # three digits are mostly whole degrees, four tenths
_ROSE_M, _USUAL_K, _LAPSE_KPM, _LAPSE_OFF = 150.0, 10.0, -0.0075, 0.0035  # from moist to dry air, and a slow sensor


def _cells(fixes: list[bytes]) -> NDArray[np.uint8]:
    """All B records as one table of characters, short ones padded with blanks."""
    width = max(_B_LENGTH, min(max(map(len, fixes)), 120))
    joined = b"".join(line[:width].ljust(width) for line in fixes)
    return np.ascontiguousarray(np.frombuffer(joined, dtype=np.uint8).reshape(len(fixes), width).T)


def _digits(cells: NDArray[np.uint8], start: int, end: int) -> Array:
    """Number in character columns start to end; a leading "-" is a sign; NaN where another character stands."""
    total = np.zeros(cells.shape[1])
    negative = np.zeros(cells.shape[1], dtype=bool)
    bad = np.zeros(cells.shape[1], dtype=bool)
    for k in range(start, min(end, cells.shape[0])):
        digit = cells[k].astype(np.int16) - 48
        sign = digit == ord("-") - 48
        negative |= sign
        bad |= ((digit < 0) | (digit > 9)) & ~sign
        total = total * 10.0 + np.where(sign, 0, digit)
    out = np.where(negative, -total, total)
    return np.where(bad, np.nan, out)


def _headers(lines: list[bytes], recorded: Recorded) -> float | None:
    """The day (seconds since 1970) from HFDTE; other headers become facts."""
    day: float | None = None
    noted = [m[1] for line in lines if (m := _NOTED.match(line))]  # added later, where the logger held none
    for line in (*lines, *noted):
        if line.startswith(b"A") and "logger" not in recorded.facts:
            recorded.facts["logger"] = line[1:7].decode("ascii", "replace")
        if not line.startswith(b"H") or len(line) < 5:
            continue
        code, text = line[2:5], line[5:].decode("latin-1")
        if code == b"DTE" and day is None:
            match = re.search(r"(\d{2})[-./ ]?(\d{2})[-./ ]?(?:20(?=\d\d))?(\d{2})", text)
            if match:
                day = float(days_s(float(match[3]), float(match[2]), float(match[1])))
                day = day if np.isfinite(day) else None
                if day is not None and day > NOW_S[1]:
                    recorded.say("its day is far ahead, of a clock that was not set: no date", 1)
                    day = None
        elif code in _FACTS and (value := text[text.find(":") + 1 :].strip()):
            recorded.facts[_FACTS[code]] = value[:80]
    return day


def _is_copied(pressure: Array, satellite: Array) -> bool:
    """Two instruments never agree to the meter fix by fix; nor does one say what the other said a fix before."""
    same = max(float(np.mean(pressure == satellite)), float(np.mean(pressure[1:] == satellite[:-1])))
    return same > _COPIED and np.unique(pressure).size >= _LEVELS


def _extensions(lines: list[bytes], letter: bytes = b"I") -> dict[str, tuple[int, int]]:
    """I record, of the fixes, or J record, of the K records: code → character columns (from nought, end not in it)."""
    out: dict[str, tuple[int, int]] = {}
    least = _B_LENGTH if letter == b"I" else _K_LENGTH
    for line in lines:
        if not line.startswith(letter):
            continue
        for start, end, code in re.findall(rb"(\d{2})(\d{2})([A-Z0-9]{3})", line[3:]):
            if least < int(start) <= int(end) < 120:
                out[code.decode()] = (int(start) - 1, int(end))
        break
    return out


def _positions(cells: NDArray[np.uint8], extensions: dict[str, tuple[int, int]], recorded: Recorded) -> None:
    lat_minutes = _digits(cells, 9, 14) / 1000.0
    lon_minutes = _digits(cells, 18, 23) / 1000.0
    for code, which in (("LAD", 0), ("LOD", 1)):  # further decimals of the minutes
        if (span := extensions.pop(code, None)) is not None:
            more = np.nan_to_num(_digits(cells, *span)) / 10.0 ** (3 + span[1] - span[0])
            if which == 0:
                lat_minutes = lat_minutes + more
            else:
                lon_minutes = lon_minutes + more
    lat = (_digits(cells, 7, 9) + lat_minutes / 60.0) * np.where(cells[14] == ord("S"), -1.0, 1.0)
    lon = (_digits(cells, 15, 18) + lon_minutes / 60.0) * np.where(cells[23] == ord("W"), -1.0, 1.0)
    recorded.columns["latitude_rad"] = lat * u.DEG_RAD
    recorded.columns["longitude_rad"] = lon * u.DEG_RAD
    fix_3d = cells[24] == ord("A")
    pressure, satellite = _digits(cells, 25, 30), _digits(cells, 30, 35)
    if _is_copied(pressure, satellite):
        recorded.say("its two heights are one and the same: taken as the satellites'", pressure.size)
    elif np.nanmax(np.abs(pressure)) > 0.0:
        recorded.columns["pressure_altitude_m"] = pressure
    satellite = np.where(fix_3d, satellite, np.nan)
    if np.isfinite(satellite).any() and np.nanmax(np.abs(satellite)) > 0.0:
        recorded.columns["gps_altitude_m"] = satellite
        if str(recorded.facts.get("gps_altitude_datum", "ELL")).upper() != "GEO":
            recorded.notes["gps_altitude_m"] = (
                "above the ellipsoid by the format; many recorders write it above sea level, and the file doesn't say"
            )
    flat = int((~fix_3d).sum())
    if flat:
        recorded.mends.append(Mend(f"{flat} fixes marked V (no height): their satellite height left out", flat))
