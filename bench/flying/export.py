"""Writing a flight as files: CSV of several layouts, GPX, IGC, KML, NMEA, and the truth as JSON."""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable
from datetime import UTC, datetime
from functools import reduce
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from airwork.units import to_unit
from flying.flight import Flown
from flying.layouts import GPS, METRIC, MPH, PANEL, PROPERTIES, Layout

Array = NDArray[np.float64]


def sampled(flown: Flown, rate_hz: float) -> dict[str, Array]:
    """Recorded columns thinned to a rate, with the few an export needs added."""
    columns = dict(flown.recorded)
    step = max(1, round(flown.rate_hz / rate_hz))
    columns["fuel_flow_kgph"] = columns["fuel_flow_kgps"] * 3600.0
    columns["setting_pa"] = np.full_like(columns["time_s"], flown.setting_pa)
    return {name: values[::step] for name, values in columns.items()}


def moments(flown: Flown, columns: dict[str, Array]) -> list[datetime]:
    """UTC time of each row, to the hundredth of a second."""
    return [datetime.fromtimestamp(round(flown.day.start_utc_s + t, 2), UTC) for t in columns["time_s"]]


def _cells(columns: dict[str, Array], layout: Layout) -> list[list[str]]:
    """Each column as text; no number, no text."""
    return [[f"{v:.{digits}f}" if math.isfinite(v) else "" for v in get(columns).tolist()] for _, get, digits in layout]


def _iso(moment: datetime) -> str:
    return moment.strftime("%Y-%m-%dT%H:%M:%S.") + f"{moment.microsecond // 10000:02d}Z"


def write_csv(flown: Flown, path: Path, layout: Layout, *, rate_hz: float) -> None:
    """One header row, ISO 8601 UTC time first."""
    columns = sampled(flown, rate_hz)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["UTC Time", *[title for title, _, _ in layout]])
        writer.writerows(zip(map(_iso, moments(flown, columns)), *_cells(columns, layout), strict=True))


def write_dated_csv(flown: Flown, path: Path, layout: Layout, *, rate_hz: float) -> None:
    """Remark lines, then separate date and local time columns (local time six hours behind UTC)."""
    columns = sampled(flown, rate_hz)
    days = [datetime.fromtimestamp(m.timestamp() - 6 * 3600, UTC) for m in moments(flown, columns)]
    with path.open("w", newline="", encoding="utf-8") as file:
        file.write(f"# airplane {flown.airplane}, recorder 3.1\n# local time is UTC-06:00\n")
        writer = csv.writer(file)
        writer.writerow(["Lcl Date", "Lcl Time", "UTCOfst", *[title for title, _, _ in layout]])
        dates = [m.strftime("%Y-%m-%d") for m in days]
        times = [m.strftime("%H:%M:%S") + (f".{m.microsecond // 100000}" if rate_hz > 1.0 else "") for m in days]
        writer.writerows(zip(dates, times, ["-06:00"] * len(days), *_cells(columns, layout), strict=True))


def write_comma_csv(flown: Flown, path: Path, layout: Layout, *, rate_hz: float) -> None:
    """Semicolons, decimal commas, a byte-order mark, a row of units under the names, day.month.year dates."""
    columns = sampled(flown, rate_hz)
    names = [title.split("|")[0] for title, _, _ in layout]
    units = [title.split("|")[1] for title, _, _ in layout]
    cells = [[cell.replace(".", ",") for cell in column] for column in _cells(columns, layout)]
    times = moments(flown, columns)
    with path.open("w", newline="", encoding="utf-8-sig") as file:
        writer = csv.writer(file, delimiter=";")
        writer.writerow(["date", "time_utc", *names])
        writer.writerow(["", "", *units])
        dates = [m.strftime("%d.%m.%Y") for m in times]
        clock = [m.strftime("%H:%M:%S,") + f"{m.microsecond // 100000}" for m in times]
        writer.writerows(zip(dates, clock, *cells, strict=True))


def write_properties_csv(flown: Flown, path: Path, layout: Layout, *, rate_hz: float) -> None:
    """Time in seconds since the start; no date anywhere."""
    columns = sampled(flown, rate_hz)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["Time", *[title for title, _, _ in layout]])
        writer.writerows(zip([f"{t:.3f}" for t in columns["time_s"]], *_cells(columns, layout), strict=True))


def write_gpx(flown: Flown, path: Path, *, rate_hz: float = 1.0) -> None:
    """A GPX 1.1 track."""
    columns = sampled(flown, rate_hz)
    lat, lon = np.degrees(columns["latitude_rad"]), np.degrees(columns["longitude_rad"])
    rows = [
        f'<trkpt lat="{a:.7f}" lon="{o:.7f}"><ele>{h:.1f}</ele><time>{_iso(m)}</time></trkpt>'
        for a, o, h, m in zip(lat, lon, columns["gps_altitude_m"], moments(flown, columns), strict=True)
    ]
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="simulated flight" '
    head += f'xmlns="http://www.topografix.com/GPX/1/1"><trk><name>{escape(flown.name)}</name><trkseg>\n'
    path.write_text(head + "\n".join(rows) + "\n</trkseg></trk></gpx>\n", encoding="utf-8")


def write_kml(flown: Flown, path: Path, *, rate_hz: float = 1.0) -> None:
    """A KML 2.2 document with a timed track (gx:Track)."""
    columns = sampled(flown, rate_hz)
    lat, lon = np.degrees(columns["latitude_rad"]), np.degrees(columns["longitude_rad"])
    when = "\n".join(f"<when>{_iso(m)}</when>" for m in moments(flown, columns))
    where = "\n".join(
        f"<gx:coord>{o:.7f} {a:.7f} {h:.1f}</gx:coord>"
        for a, o, h in zip(lat, lon, columns["gps_altitude_m"], strict=True)
    )
    path.write_text(
        '<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2" '
        f'xmlns:gx="http://www.google.com/kml/ext/2.2"><Document><Placemark><name>{escape(flown.name)}</name><gx:Track>'
        f"<altitudeMode>absolute</altitudeMode>\n{when}\n{where}\n</gx:Track></Placemark></Document></kml>\n",
        encoding="utf-8",
    )


def _degrees_minutes(value_rad: float, whole: int, decimals: int) -> tuple[str, bool]:
    """Degrees and decimal minutes as IGC and NMEA write them, and whether positive."""
    minutes = round(math.degrees(abs(value_rad)) * 60.0, decimals)
    degrees, rest = int(minutes // 60), minutes - 60.0 * int(minutes // 60)
    return f"{degrees:0{whole}d}{rest:0{3 + decimals}.{decimals}f}", value_rad >= 0.0


def write_igc(flown: Flown, path: Path, *, rate_hz: float = 1.0) -> None:
    """IGC (FAI): header and B records with pressure and satellite altitude. Not signed (no G record)."""
    columns = sampled(flown, rate_hz)
    times = moments(flown, columns)
    lines = ["AXXXSIM", "HFDTE" + times[0].strftime("%d%m%y"), "HFPLTPILOTINCHARGE:",
             f"HFGTYGLIDERTYPE:{flown.airplane}",
             "HFGIDGLIDERID:", "HFDTM100GPSDATUM:WGS-1984", "HFALPALTPRESSURE:ISA"]  # fmt: skip
    for i, moment in enumerate(times):
        lat, north = _degrees_minutes(float(columns["latitude_rad"][i]), 2, 3)
        lon, east = _degrees_minutes(float(columns["longitude_rad"][i]), 3, 3)
        baro, gps = round(float(columns["pressure_altitude_m"][i])), round(float(columns["gps_altitude_m"][i]))
        baro_text = f"{baro:05d}" if baro >= 0 else f"-{-baro:04d}"
        lines.append(
            f"B{moment.strftime('%H%M%S')}{lat.replace('.', '')}{'N' if north else 'S'}"
            f"{lon.replace('.', '')}{'E' if east else 'W'}A{baro_text}{gps:05d}"
        )
    path.write_bytes(("\r\n".join(lines) + "\r\n").encode("ascii"))


def _sentence(body: str) -> str:
    check = reduce(lambda total, char: total ^ ord(char), body, 0)
    return f"${body}*{check:02X}"


def write_nmea(flown: Flown, path: Path, *, rate_hz: float = 1.0) -> None:
    """NMEA 0183: a GGA and an RMC sentence per fix."""
    columns = sampled(flown, rate_hz)
    lines = []
    for i, moment in enumerate(moments(flown, columns)):
        lat, north = _degrees_minutes(float(columns["latitude_rad"][i]), 2, 4)
        lon, east = _degrees_minutes(float(columns["longitude_rad"][i]), 3, 4)
        where = f"{lat},{'N' if north else 'S'},{lon},{'E' if east else 'W'}"
        clock = moment.strftime("%H%M%S.") + f"{moment.microsecond // 10000:02d}"
        speed = to_unit(float(columns["groundspeed_mps"][i]), "kt")
        track = math.degrees(float(columns["track_rad"][i]))
        lines.append(_sentence(f"GPGGA,{clock},{where},1,10,0.9,{columns['gps_altitude_m'][i]:.1f},M,0.0,M,,"))
        lines.append(_sentence(f"GPRMC,{clock},A,{where},{speed:.1f},{track:.1f},{moment.strftime('%d%m%y')},,,A"))
    path.write_bytes(("\r\n".join(lines) + "\r\n").encode("ascii"))


def write_truth(flown: Flown, path: Path) -> None:
    path.write_text(json.dumps(flown.truth(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


# name -> (file name ending, writer)
FORMATS: dict[str, tuple[str, Callable[[Flown, Path], None]]] = {
    "panel": (".csv", lambda f, p: write_csv(f, p, PANEL, rate_hz=10)),
    "panel_5hz": ("_5hz.csv", lambda f, p: write_csv(f, p, PANEL, rate_hz=5)),
    "panel_1hz": ("_1hz.csv", lambda f, p: write_dated_csv(f, p, PANEL, rate_hz=1)),
    "mph": ("_mph.csv", lambda f, p: write_dated_csv(f, p, MPH, rate_hz=2)),
    "comma": ("_comma.csv", lambda f, p: write_comma_csv(f, p, METRIC, rate_hz=5)),
    "properties": ("_properties.csv", lambda f, p: write_properties_csv(f, p, PROPERTIES, rate_hz=10)),
    "gps": ("_gps.csv", lambda f, p: write_csv(f, p, GPS, rate_hz=1)),
    "gpx": (".gpx", write_gpx),
    "igc": (".igc", write_igc),
    "kml": (".kml", write_kml),
    "nmea": (".nmea", write_nmea),
    "truth": (".truth.json", write_truth),
}


def write(flown: Flown, folder: Path, formats: tuple[str, ...] = ("panel", "gps", "truth")) -> list[Path]:
    """Write a flight in the formats named; the paths written."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name in formats:
        ending, writer = FORMATS[name]
        paths.append(folder / f"{flown.name}{ending}")
        writer(flown, paths[-1])
    return paths
