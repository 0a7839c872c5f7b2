"""Layouts as recorders of many makes write them, one flight in each: separators, stamps, sides, units, trailers.

Each layout is a function of the flight that gives bytes; common practice of the trade, no source. The numbers are the
flight's own, so that what comes back can be held to it (`bench/recording_faults.py --layouts`).
"""

from __future__ import annotations

import gzip
import io
import json
import math
import zipfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from faults.clean import Clean, at
from faults.recorders import FT, KMH, KT, MPH

Array = NDArray[np.float64]
FPM = FT / 60.0


@dataclass(frozen=True, slots=True)
class Rows:
    """The flight at a rate; numbers in SI, angles in degrees."""

    clean: Clean
    t: Array
    _known: dict[object, Any] = field(default_factory=dict)  # a hundred layouts ask for the same

    def __getitem__(self, name: str) -> Array:
        if name not in self._known:
            self._known[name] = at(self.clean, name, self.t)
            self._known[name].setflags(write=False)
        return self._known[name]

    def stamp(self, form: str, ahead_s: float = 0.0) -> list[str]:
        """Times as text; %f is cut to milliseconds."""
        if (form, ahead_s) not in self._known:
            self._known[form, ahead_s] = [self._text(x, form, ahead_s) for x in self.t.tolist()]
        return list(self._known[form, ahead_s])

    @staticmethod
    def _text(x: float, form: str, ahead_s: float) -> str:
        moment = datetime.fromtimestamp(0, UTC) + timedelta(seconds=round(x + ahead_s, 3))
        return moment.strftime(form.replace("%f", f"{moment.microsecond // 1000:03d}"))


@dataclass(frozen=True, slots=True)
class Written:
    """A file: its name's ending, its bytes, and what it holds.

    height_m : how coarse its altitude is.
    dated : it names a date.
    over_field : its heights are above the field it began on.
    aircraft : which of several in the file it is.
    also : flight's column -> house column that must come back within a tolerance (SI).
    """

    ending: str
    data: bytes
    height_m: float = 1.0
    dated: bool = True
    also: tuple[tuple[str, str, float], ...] = ()
    over_field: bool = False
    aircraft: str | None = None


PLACE = (("lat", "latitude_rad", 1e-4), ("lon", "longitude_rad", 1e-4))
IAS = (("ias", "ias_mps", 0.6),)
FULL = (*IAS, ("vs", "vertical_speed_mps", 1.2), ("hdg", "heading_mag_rad", 3.0), ("bank", "bank_rad", 1.5))


def texts(values: Array, digits: int) -> list[str]:
    return [f"{v:.{digits}f}" if math.isfinite(v) else "" for v in values.tolist()]


def joined(columns: Iterable[list[str]], gap: str = ",") -> list[str]:
    return [gap.join(row) for row in zip(*columns, strict=True)]


def encoded(lines: list[str], end: str = "\n", codec: str = "utf-8") -> bytes:
    return (end.join(lines) + end).encode(codec)


def angle(value: float, sides: str, form: str) -> str:
    side, size = sides[int(value < 0)], abs(value)
    whole = int(size)
    return form.format(side=side, whole=whole, minutes=(size - whole) * 60.0)


def angles(values: Array, sides: str, form: str) -> list[str]:
    return [angle(float(v), sides, form) for v in values]


def panel_with_units_row(r: Rows) -> Written:
    """A panel's file: what it is, a row of units, padded names; local clock and offset; empty until the first fix."""
    lines = [
        '#airframe_info, log_version="1.00", airframe_name="Demo", system_id="0",',
        "#yyy-mm-dd, hh:mm:ss,   hh:mm,  ident,      degrees,      degrees, ft Baro,  inch,  ft msl, deg C,     kt,     kt,     fpm,    deg,    deg,      G,      G,   deg,   deg,    rpm,  ft wgs,  kt,   enum",  # noqa: E501
        "  Lcl Date, Lcl Time, UTCOfst, AtvWpt,     Latitude,    Longitude,    AltB, BaroA,  AltMSL,   OAT,    IAS, GndSpd,    VSpd,  Pitch,   Roll,  LatAc, NormAc,   HDG,   TRK, E1 RPM,  AltGPS, TAS, GPSfix",  # noqa: E501
    ]
    n = r.t.size
    columns = [
        r.stamp("%Y-%m-%d", 7200), r.stamp(" %H:%M:%S", 7200), ["  +02:00"] * n, ["  DEMO"] * n,
        texts(r["lat"], 7), texts(r["lon"], 7), texts(r["alt"] / FT, 1), ["29.92"] * n, texts(r["gps_alt"] / FT, 1),
        texts(r["oat"], 1), texts(r["ias"] / KT, 2), texts(r["gs"] / KT, 2), texts(r["vs"] / FPM, 2),
        texts(r["pitch"], 2), texts(r["bank"], 2), ["0.01"] * n, ["0.02"] * n, texts(r["hdg"], 1), texts(r["track"], 1),
        ["2300.0"] * n, texts(r["gps_alt"] / FT + 100.0, 1), texts(r["tas"] / KT, 2), ["3D"] * n,
    ]  # fmt: skip
    empty = [", ".join(["          ", "        ", "       ", "      ", *["     "] * 19])] * 12
    return Written(".csv", encoded(lines + empty + joined(columns, ", "), "\r\n"), also=FULL)


def date_in_parts(r: Rows) -> Written:
    """Month, day, year, hour, minute and second each in a column."""
    columns = [r.stamp(f) for f in ("%m", "%d", "%Y", "%H", "%M", "%S.%f")]
    columns += [texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0), texts(r["gs"] / KT, 1)]
    head = "Month,Day,Year,Hour,Minute,Second,Latitude,Longitude,GPS Altitude (ft),Ground Speed (kts)"
    return Written(".csv", encoded([head, *joined(columns)]))


def plot_date(r: Rows) -> Written:
    """Stamps under names that say nothing, month first, and clock apart."""
    columns = [r.stamp("%m/%d/%Y"), r.stamp("%H:%M:%S")]
    columns += [texts(r["lat"], 6), texts(r["lon"], 6), texts(r["palt"] / FT, 0), texts(r["gs"] / KT, 0)]
    head = "PLOT_DATE,PLOT_TOD,LAT,LON,PRESS_ALT,GND_SPD"
    return Written(".csv", encoded([head, *joined(columns)]), height_m=1.0)


def odd_stamp_name(r: Rows) -> Written:
    """One stamp under a name that says nothing."""
    columns = [r.stamp("%Y-%m-%d %H:%M:%S.%f"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1)]
    return Written(".csv", encoded(["sample_key,lat,lon,alt_m", *joined(columns)]))


def german_phone(r: Rows) -> Written:
    """Semicolons, decimal commas, local clock with its offset, German names, cp1252."""
    columns = [r.stamp("%d.%m.%Y", 7200), r.stamp("%H:%M:%S", 7200)]
    columns += [
        [x.replace(".", ",") for x in texts(v, k)]
        for v, k in ((r["lat"], 6), (r["lon"], 6), (r["gps_alt"], 1), (r["gs"] / KMH, 1), (r["track"], 0))
    ]
    head = "Datum;Uhrzeit;Breitengrad;Längengrad;Höhe (m);Geschwindigkeit (km/h);Kurs"
    return Written(".csv", encoded([head, *joined(columns, ";")], "\r\n", "cp1252"), dated=False)


def french_phone(r: Rows) -> Written:
    """The same of another country; a byte-order mark."""
    columns = [r.stamp("%d/%m/%Y %H:%M:%S")]
    columns += [
        [x.replace(".", ",") for x in texts(v, k)]
        for v, k in ((r["lat"], 6), (r["lon"], 6), (r["gps_alt"], 1), (r["gs"] / KMH, 1), (r["track"], 0))
    ]
    head = "Heure UTC;Latitude;Longitude;Altitude (m);Vitesse (km/h);Cap"
    return Written(".csv", encoded([head, *joined(columns, ";")], "\r\n", "utf-8-sig"))


def sides_apart(r: Rows) -> Written:
    """Degrees and minutes in one number, N/S and E/W in columns of their own."""
    lat, lon = r["lat"], r["lon"]
    columns = [r.stamp("%H%M%S"), r.stamp("%d%m%y")]
    columns += [angles(lat, "NS", "{whole:02d}{minutes:07.4f}"), ["N" if v >= 0 else "S" for v in lat]]
    columns += [angles(lon, "EW", "{whole:03d}{minutes:07.4f}"), ["E" if v >= 0 else "W" for v in lon]]
    columns += [texts(r["gps_alt"], 1), texts(r["gs"] / KT, 1), texts(r["track"], 1)]
    return Written(".csv", encoded(["utc,date,lat,N/S,lon,E/W,alt(m),speed(kn),course", *joined(columns)]))


def degrees_and_minutes(r: Rows) -> Written:
    """N 51° 12.345' in each cell."""
    columns = [r.stamp("%Y-%m-%dT%H:%M:%SZ"), angles(r["lat"], "NS", "{side} {whole:02d}° {minutes:06.3f}'")]
    columns += [angles(r["lon"], "EW", "{side} {whole:03d}° {minutes:06.3f}'"), texts(r["gps_alt"] / FT, 0)]
    return Written(".csv", encoded(["Time;Latitude;Longitude;Altitude [ft]", *joined(columns, ";")]), height_m=3.0)


def place_in_one_cell(r: Rows) -> Written:
    """A tracker's position as one quoted cell; seconds since 1970 beside a stamp."""
    place = [f'"{a:.6f},{o:.6f}"' for a, o in zip(r["lat"], r["lon"], strict=True)]
    columns = [texts(r.t, 0), r.stamp("%Y-%m-%dT%H:%M:%SZ"), ["DEMO1"] * r.t.size, place]
    columns += [texts(np.round(r["palt"] / FT / 25.0) * 25.0, 0), texts(r["gs"] / KT, 0), texts(r["track"], 0)]
    return Written(
        ".csv", encoded(["Seconds,UTC time,Callsign,Place,Height,Ground speed,Track", *joined(columns)]), height_m=8.0
    )


def tenths_and_levels(r: Rows) -> Written:
    """Knots in tenths, flight levels, whole numbers throughout."""
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"] * 1e7, 0), texts(r["lon"] * 1e7, 0)]
    columns += [texts(r["palt"] / FT / 100.0, 0), texts(r["gs"] / KT * 10.0, 0), texts(r["vs"] / FPM, 0)]
    head = "time,lat_1e7,lon_1e7,flight_level,gs (kt x10),vertical_speed_fpm"
    return Written(".csv", encoded([head, *joined(columns)]), height_m=16.0)


def dashes_and_trailer(r: Rows) -> Written:
    """-- for what is missing, the header again every hundred rows, a trailer."""
    holes = np.arange(r.t.size) % 17 == 3
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0)]
    columns += [["--" if h else x for x, h in zip(texts(r["gs"] / KT, 1), holes, strict=True)]]
    columns += [["---.-" if h else x for x, h in zip(texts(r["ias"] / KT, 1), holes, strict=True)]]
    head = "UTC Time,Lat,Lon,GPS Alt (ft),GS (kt),IAS (kt)"
    lines = [head]
    for k, row in enumerate(joined(columns)):
        lines += [head, row] if k and k % 100 == 0 else [row]
    return Written(".txt", encoded([*lines, "", "END OF RECORDING", f"Rows: {r.t.size}", "Checksum,3F2A"]), also=IAS)


def uneven_rows(r: Rows) -> Written:
    """A comma at the end of each row, some rows short, some with more cells than names."""
    columns = [r.stamp("%Y-%m-%dT%H:%M:%S.%fZ"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1)]
    columns += [texts(r["gs"], 2)]
    lines = [row + "," for row in joined(columns)]
    for k in range(40, len(lines), 200):
        lines[k] = lines[k][: lines[k].rfind(",", 0, -1)]
        lines[k + 7] += "x,9,"
    return Written(".csv", encoded(["time,lat,lon,alt,speed", *lines]))


def old_line_ends(r: Rows) -> Written:
    """CR alone ends a line; remarks with commas before the header."""
    columns = [r.stamp("%H:%M:%S"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0)]
    columns += [texts(r["ias"] / MPH, 0)]
    head = ["Recorder: demo, serial 12, firmware 3.1", f"Date: {r.stamp('%d %b %Y')[0]}", "Pilot: , Passenger: ", ""]
    return Written(
        ".csv", encoded([*head, "Time,Latitude,Longitude,Altitude (ft),Airspeed (mph)", *joined(columns)], "\r"),
        dated=False, also=IAS,
    )  # fmt: skip


def utf16_tabs(r: Rows) -> Written:
    """UTF-16 with its mark, tabs, decimal commas, seconds from the start."""
    columns = [texts(r.t - r.t[0], 2), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1)]
    columns += [texts(r["gs"] / KMH, 1)]
    columns = [[x.replace(".", ",") for x in c] for c in columns]
    head = "Time (s)\tLatitude (°)\tLongitude (°)\tHeight (m)\tVelocity (km/h)"
    return Written(".txt", encoded([head, *joined(columns, "\t")], "\r\n", "utf-16"), dated=False)


def phone_with_dots(r: Rows) -> Written:
    """Names with dots, milliseconds since 1970, accuracy columns, -1 where the phone doesn't know."""
    n = r.t.size
    speed = texts(r["gs"], 2)
    columns = [texts(r.t * 1e3, 0), texts(r["lat"], 7), texts(r["lon"], 7), texts(r["gps_alt"], 1), ["4.0"] * n]
    columns += [["-1" if k % 50 == 9 else x for k, x in enumerate(speed)], texts(r["track"], 1), ["12.5"] * n]
    head = (
        "location.time,location.latitude,location.longitude,location.altitude,location.horizontalAccuracy,"
        "location.speed,location.course,location.courseAccuracy"
    )
    return Written(".csv", encoded([head, *joined(columns)]))


def phone_since_2001(r: Rows) -> Written:
    """Seconds since 2001-01-01 UTC, as one family of phones counts."""
    columns = [texts(r.t - 978_307_200.0, 3), texts(r["lat"], 7), texts(r["lon"], 7), texts(r["gps_alt"], 1)]
    columns += [texts(r["gs"], 2)]
    return Written(
        ".csv",
        encoded(
            ["locationTimestamp_since2001(s),Latitude(WGS84),Longitude(WGS84),Altitude(m),Speed(m/s)", *joined(columns)]
        ),
    )


def offset_after_blank(r: Rows) -> Written:
    """Local stamps with their offset after a blank."""
    stamps = [x + " +0200" for x in r.stamp("%Y-%m-%d %H:%M:%S", 7200)]
    columns = [stamps, texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1), texts(r["gs"] / KMH, 1)]
    return Written(".csv", encoded(["loggingTime,lat,lon,height (m),speed (km/h)", *joined(columns)]))


def half_days(r: Rows) -> Written:
    """1:05:10 PM beside a US date, local, with an offset in hours."""
    columns = [r.stamp("%m/%d/%y", -18_000), [x.lstrip("0") for x in r.stamp("%I:%M:%S %p", -18_000)]]
    columns += [["-5"] * r.t.size, texts(r["lat"], 6), texts(r["lon"], 6), texts(r["alt"] / FT, 0)]
    columns += [texts(r["ias"] / KT, 0), texts(r["gs"] / KT, 0), texts(r["hdg"], 0), texts(r["vs"] / FPM, 0)]
    head = "Local Date,Local Time,UTC Offset (hrs),Lat,Lon,Baro Alt (ft),IAS (kts),GS (kts),Mag Hdg,VS (fpm)"
    return Written(".csv", encoded([head, *joined(columns)]), also=(*IAS, ("hdg", "heading_mag_rad", 3.0)))


def hours_without_zero(r: Rows) -> Written:
    """9:05:10.5 without its zero, as spreadsheets write; blanks between the fields."""
    columns = [[x[1:] if x.startswith("0") else x for x in r.stamp("%H:%M:%S.%f")], texts(r["lat"], 6)]
    columns += [texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0), texts(r["gs"] / KT, 1)]
    return Written(".txt", encoded(["utc lat lon alt_ft gs_kt", *joined(columns, "   ")]), dated=False)


def spreadsheet_days(r: Rows) -> Written:
    """Days since 1899-12-30 with a fraction."""
    columns = [texts(r.t / 86_400.0 + 25_569.0, 8), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1)]
    return Written(".csv", encoded(["DateTime,Latitude,Longitude,Altitude (m)", *joined(columns)]))


def semicircles(r: Rows) -> Written:
    """Positions in 2^31 parts of half a turn, as a watch keeps them; heights in meters, speed in mm/s."""
    half = 2.0**31 / 180.0
    columns = [texts(r.t, 0), texts(r["lat"] * half, 0), texts(r["lon"] * half, 0), texts(r["gps_alt"], 1)]
    columns += [texts(r["gs"] * 1e3, 0)]
    head = "timestamp,position_lat[semicircles],position_long[semicircles],enhanced_altitude[m],enhanced_speed[mm/s]"
    return Written(".csv", encoded([head, *joined(columns)]))


def radians_and_si(r: Rows) -> Written:
    """A test recorder: radians, Kelvin, everything in SI, names with underscores."""
    rad = math.pi / 180.0
    columns = [texts(r.t, 2), texts(r["lat"] * rad, 9), texts(r["lon"] * rad, 9), texts(r["palt"], 2)]
    columns += [texts(r["ias"], 2), texts(r["gs"], 2), texts(r["hdg"] * rad, 4), texts(r["bank"] * rad, 4)]
    columns += [texts(r["oat"] + 273.15, 2)]
    head = (
        "unix_time_s,latitude_rad,longitude_rad,pressure_altitude_m,indicated_airspeed_mps,ground_speed_mps,"
        "magnetic_heading_rad,roll_rad,outside_air_temperature_K"
    )
    return Written(".csv", encoded([head, *joined(columns)]), also=(*IAS, ("bank", "bank_rad", 1.5)))


def units_in_cells(r: Rows) -> Written:
    """Each cell carries its unit."""
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"], 6), texts(r["lon"], 6)]
    columns += [[f"{x} ft" for x in texts(r["gps_alt"] / FT, 0)], [f"{x} kt" for x in texts(r["gs"] / KT, 1)]]
    columns += [[f"{x}°" for x in texts(r["track"], 0)]]
    return Written(".csv", encoded(["Time (UTC),Latitude,Longitude,Altitude,Speed,Heading", *joined(columns)]))


def receiver_messages(r: Rows) -> Written:
    """A receiver's text port: messages of several kinds, no header, positions and speeds in messages of their own."""
    lines = []
    day, clock = r.stamp("%Y/%m/%d"), r.stamp("%H:%M:%S.%f")
    alt, gs, vs, track = r["palt"] / FT, r["gs"] / KT, r["vs"] / FPM, r["track"]
    lat, lon = texts(r["lat"], 5), texts(r["lon"], 5)
    for k in range(r.t.size):
        head = f"1,1,A1B2C3,1,{day[k]},{clock[k]},{day[k]},{clock[k]}"
        up = round(alt[k] / 25.0) * 25
        lines.append(f"MSG,3,{head},,{up},,,{lat[k]},{lon[k]},,,0,0,0,0")
        lines.append(f"MSG,4,{head},,,{gs[k]:.0f},{track[k]:.0f},,,{round(vs[k] / 64) * 64:.0f},,,,,0")
        if k % 5 == 0:
            lines.append(f"MSG,1,{head},DEMO1,,,,,,,,,,,0")
    return Written(".txt", encoded(lines, "\r\n"), height_m=8.0)


def geojson_line(r: Rows) -> Written:
    """A GeoJSON line with the times of its points beside it."""
    points = [[round(float(o), 6), round(float(a), 6), round(float(h), 1)]
              for a, o, h in zip(r["lat"], r["lon"], r["gps_alt"], strict=True)]  # fmt: skip
    feature = {
        "type": "Feature",
        "properties": {"name": "track", "coordTimes": r.stamp("%Y-%m-%dT%H:%M:%SZ")},
        "geometry": {"type": "LineString", "coordinates": points},
    }
    return Written(".geojson", json.dumps({"type": "FeatureCollection", "features": [feature]}).encode())


def tracker_json(r: Rows) -> Written:
    """A tracker's answer: points deep inside, numbers as text, coordinates as an object."""
    rows = [
        {"id": k, "ts": t, "pos": {"lat": f"{a:.6f}", "lng": f"{o:.6f}"}, "alt_ft": round(h), "speed_kts": round(g, 1)}
        for k, (t, a, o, h, g) in enumerate(
            zip(
                r.stamp("%Y-%m-%dT%H:%M:%S.%f+00:00"),
                r["lat"],
                r["lon"],
                (r["gps_alt"] / FT).tolist(),
                (r["gs"] / KT).tolist(),
                strict=True,
            )
        )
    ]
    return Written(".json", json.dumps({"status": "ok", "data": {"device": {"id": 7}, "points": rows}}).encode())


def kml_track(r: Rows) -> Written:
    """gx:Track, its arrays with a speed, in a folder with a picture's path beside it; packed as KMZ."""
    whens = "".join(f"<when>{x}</when>" for x in r.stamp("%Y-%m-%dT%H:%M:%SZ"))
    coords = "".join(f"<gx:coord>{o:.6f} {a:.6f} {h:.1f}</gx:coord>"
                     for a, o, h in zip(r["lat"], r["lon"], r["gps_alt"], strict=True))  # fmt: skip
    speeds = "".join(f"<gx:value>{x:.1f}</gx:value>" for x in r["gs"] / KT)
    text = (
        '<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2">'
        "<Document><Schema id='s'><gx:SimpleArrayField name='speed_kts' type='float'/></Schema><Folder><Placemark>"
        f"<gx:Track><altitudeMode>absolute</altitudeMode>{whens}{coords}<ExtendedData><SchemaData schemaUrl='#s'>"
        f"<gx:SimpleArrayData name='speed_kts'>{speeds}</gx:SimpleArrayData></SchemaData></ExtendedData></gx:Track>"
        "</Placemark></Folder></Document></kml>"
    )
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("doc.kml", text)
        archive.writestr("files/dot.png", b"\x89PNG....")
    return Written(".kmz", packed.getvalue())


def kml_pieces(r: Rows) -> Written:
    """A KML path in pieces, each with the span of time it took."""
    t = r.stamp("%Y-%m-%dT%H:%M:%SZ")
    place = [f"{o:.6f},{a:.6f},{h:.1f}" for a, o, h in zip(r["lat"], r["lon"], r["gps_alt"], strict=True)]
    pieces = "".join(
        f"<Placemark><TimeSpan><begin>{t[a]}</begin><end>{t[b]}</end></TimeSpan><LineString><coordinates>{place[a]} "
        f"{place[b]}</coordinates></LineString></Placemark>"
        for a, b in pairwise(range(len(t)))
    )
    return Written(".kml", f'<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{pieces}</Document></kml>'.encode())


def gpx_with_extensions(r: Rows) -> Written:
    """GPX with a tracker's own extensions, in their own name space."""
    points = "".join(
        f'<trkpt lat="{a:.6f}" lon="{o:.6f}"><ele>{h:.1f}</ele><time>{t}</time><extensions><x:ext><x:speed>{g:.2f}'
        f"</x:speed><x:course>{c:.0f}</x:course><x:hdop>0.8</x:hdop></x:ext></extensions></trkpt>"
        for a, o, h, t, g, c in zip(
            r["lat"], r["lon"], r["gps_alt"], r.stamp("%Y-%m-%dT%H:%M:%S.%fZ"), r["gs"], r["track"], strict=True
        )
    )
    text = f'<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1" xmlns:x="urn:demo"><trk><trkseg>{points}'
    return Written(".gpx", gzip.compress((text + "</trkseg></trk></gpx>").encode()))


def tcx(r: Rows) -> Written:
    """A watch's TCX."""
    points = "".join(
        f"<Trackpoint><Time>{t}</Time><Position><LatitudeDegrees>{a:.6f}</LatitudeDegrees><LongitudeDegrees>{o:.6f}"
        f"</LongitudeDegrees></Position><AltitudeMeters>{h:.1f}</AltitudeMeters><HeartRateBpm><Value>88</Value>"
        f"</HeartRateBpm><Extensions><n:TPX><n:Speed>{g:.2f}</n:Speed></n:TPX></Extensions></Trackpoint>"
        for a, o, h, t, g in zip(r["lat"], r["lon"], r["gps_alt"], r.stamp("%Y-%m-%dT%H:%M:%SZ"), r["gs"], strict=True)
    )
    text = (
        '<?xml version="1.0"?><TrainingCenterDatabase xmlns="http://www.garmin.com/xmlschemas/TrainingCenterDatabase/v2"'
        ' xmlns:n="http://www.garmin.com/xmlschemas/ActivityExtension/v2"><Activities><Activity Sport="Other"><Lap>'
        f"<Track>{points}</Track></Lap></Activity></Activities></TrainingCenterDatabase>"
    )
    return Written(".tcx", text.encode())


def dated_head(r: Rows) -> Written:
    """An engine monitor's: the day and both clocks above the header, local times below it, units after the names."""
    columns = [r.stamp("%H:%M:%S", -18_000), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0)]
    columns += [texts(r["gs"] / KT, 1), texts(r["ias"] / KT, 0), ["2300"] * r.t.size, ["24.1"] * r.t.size]
    head = [
        "Demo Monitor Flight Data",
        "Aircraft ID: DEMO",
        "",
        f"Local Time: {r.stamp('%Y/%m/%d %H:%M:%S', -18_000)[0]}",
    ]
    head += [f"Zulu Time.: {r.stamp('%Y/%m/%d %H:%M:%S')[0]}", "SW: Release, Date: Apr 3 2019", "Interval: 1 sec", ""]
    names = "TIME,LAT,LON,ALT;FT,GS;KT,IAS;KT,RPM;***,MP;InHg"
    return Written(".csv", encoded([*head, names, *joined(columns)], "\r\n"), also=IAS)


def week_and_seconds(r: Rows) -> Written:
    """The satellites' own count: week and seconds of the week; velocities north, east and down."""
    count, track = r.t - 315_964_800.0 + 18.0, np.radians(r["track"])
    columns = [[f"{int(c // 604_800.0)}" for c in count], texts(np.mod(count, 604_800.0), 2)]
    columns += [texts(r["lat"], 7), texts(r["lon"], 7), texts(r["gps_alt"], 2), texts(r["gs"] * np.cos(track), 3)]
    columns += [texts(r["gs"] * np.sin(track), 3), texts(-r["vs"], 3)]
    head = "GPS Week,GPS TOW (s),Lat (deg),Lon (deg),Hgt (m),VN (m/s),VE (m/s),VD (m/s)"
    return Written(".csv", encoded([head, *joined(columns)]))


def zone_by_name(r: Rows) -> Written:
    """Local stamps that end with their zone's name."""
    columns = [r.stamp("%d-%b-%Y %H:%M:%S CEST", 7200), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1)]
    return Written(".csv", encoded(["Timestamp,Lat,Lon,Alt_m,Speed_kmh", *joined([*columns, texts(r["gs"] / KMH, 1)])]))


def units_for_names(r: Rows) -> Written:
    """A web page's table: weekdays before the clock, columns called by their unit alone, thousands in quotes."""
    columns = [r.stamp("%a %H:%M:%S"), texts(r["lat"], 4), texts(r["lon"], 4), [f"{x}°" for x in texts(r["track"], 0)]]
    columns += [texts(r["gs"] / KT, 0), texts(r["gs"] / MPH, 0), [f'"{x / FT:,.0f}"' for x in r["gps_alt"].tolist()]]
    return Written(
        ".csv", encoded(["Time (UTC),Latitude,Longitude,Course,kts,mph,feet", *joined(columns)]), dated=False
    )


def height_over_field(r: Rows) -> Written:
    """Nothing but heights over the field left."""
    height = texts((r["alt"] - r["alt"][0]) / FT, 0)
    columns = [r.stamp("%Y-%m-%dT%H:%M:%SZ"), texts(r["lat"], 6), texts(r["lon"], 6), height, texts(r["ias"] / KMH, 0)]
    lines = encoded(["utc;lat;lon;qfe_alt_ft;ias_kmh", *joined(columns, ";")])
    return Written(".csv", lines, also=IAS, over_field=True)


def points_under_keys(r: Rows) -> Written:
    """JSON whose points have keys of their own instead of standing in a list."""
    rows = zip(r.t.tolist(), r["lat"].tolist(), r["lon"].tolist(), r["gps_alt"].tolist(), strict=True)
    track = {f"p{k:05d}": {"t": round(t * 1e3), "lat": a, "lon": o, "alt": h} for k, (t, a, o, h) in enumerate(rows)}
    return Written(".json", json.dumps({"owner": {"name": "demo"}, "track": track}).encode())


def waypoints(r: Rows) -> Written:
    """GPX that has its fixes as waypoints."""
    points = "".join(
        f'<wpt lat="{a:.6f}" lon="{o:.6f}"><ele>{h:.1f}</ele><time>{t}</time></wpt>'
        for a, o, h, t in zip(r["lat"], r["lon"], r["gps_alt"], r.stamp("%Y-%m-%dT%H:%M:%SZ"), strict=True)
    )
    return Written(".gpx", f'<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">{points}</gpx>'.encode())


def spreadsheet_names(r: Rows) -> Written:
    """A spreadsheet's: the separator on the first line, line ends within the names, the date in the first row alone."""
    columns = [[r.stamp("%Y-%m-%d")[0], *[""] * (r.t.size - 1)], r.stamp("%H:%M:%S"), texts(r["lat"], 6)]
    columns += [texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0), texts(r["gs"] / KT, 1)]
    columns = [[x.replace(".", ",") for x in c] for c in columns]
    names = '"Date\n(UTC)";"Time\n(UTC)";"Latitude\n(deg)";"Longitude\n(deg)";"Altitude\n(ft)";"Speed\n(kt)"'
    return Written(".csv", encoded(["sep=;", names, *joined(columns, ";")]))


def padded_to_the_end(r: Rows) -> Written:
    """Blanks around each field, before the line's end too; height called by its zero alone."""
    columns = [r.stamp("%Y%m%dT%H%M%SZ"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0)]
    lines = ["zulu , lat , lon , msl (ft) ", *(f"{x} " for x in joined(columns, " , "))]
    return Written(".csv", encoded(lines, "\r\n"))


def well_known_text(r: Rows) -> Written:
    """A geographer's table: the place as well-known text, longitude first."""
    place = [f"POINT ({o:.6f} {a:.6f})" for a, o in zip(r["lat"], r["lon"], strict=True)]
    return Written(
        ".csv",
        encoded(["time,geometry,alt_m", *joined([r.stamp("%Y-%m-%dT%H:%M:%SZ"), place, texts(r["gps_alt"], 1)])]),
    )


def sentence(body: str) -> str:
    check = 0
    for c in body:
        check ^= ord(c)
    return f"${body}*{check:02X}"


def nmea_with_prefix(r: Rows) -> Written:
    """NMEA from two satellite systems with the logger's clock before each sentence, and its own sentences between."""
    lines = []
    lat, lon = r["lat"], r["lon"]
    gs, track, alt, baro = r["gs"] / KT, r["track"], r["gps_alt"], r["palt"] / FT
    clock, day = r.stamp("%H%M%S.00"), r.stamp("%d%m%y")
    for k in range(r.t.size):
        a = f"{angle(float(lat[k]), 'NS', '{whole:02d}{minutes:08.5f},{side}')}"
        o = f"{angle(float(lon[k]), 'EW', '{whole:03d}{minutes:08.5f},{side}')}"
        lines += [f"{k * 1000:09d} " + sentence(x) for x in (
            f"GNRMC,{clock[k]},A,{a},{o},{gs[k]:.2f},{track[k]:.1f},{day[k]},,,A",
            f"GNGGA,{clock[k]},{a},{o},1,12,0.8,{alt[k]:.1f},M,47.0,M,,",
            f"PGRMZ,{baro[k]:.0f},f,3",
            "PDEMO,1,2,3",
        )]  # fmt: skip
    also = (("palt", "pressure_altitude_m", 1.0),)
    return Written(".log", encoded(lines, "\r\n"), also=also)


LAYOUTS: dict[str, Callable[[Rows], Written]] = {
    f.__name__: f
    for f in (
        panel_with_units_row, date_in_parts, plot_date, odd_stamp_name, german_phone, french_phone, sides_apart,
        degrees_and_minutes, place_in_one_cell, tenths_and_levels, dashes_and_trailer, uneven_rows, old_line_ends,
        utf16_tabs, phone_with_dots, phone_since_2001, offset_after_blank, half_days, hours_without_zero,
        spreadsheet_days, semicircles, radians_and_si, units_in_cells, receiver_messages, geojson_line, tracker_json,
        kml_track, kml_pieces, gpx_with_extensions, tcx, nmea_with_prefix, dated_head, week_and_seconds, zone_by_name,
        units_for_names,
        height_over_field, points_under_keys, waypoints, spreadsheet_names, padded_to_the_end, well_known_text,
    )
}  # fmt: skip


def differs(seen: Callable[[str], Array | None], seen_s: Array, start_utc_s: float, r: Rows, w: Written) -> list[str]:
    """What a flight read back has wrong; empty when it is the same.

    Parameters
    ----------
    seen : house column by its name, SI; None where there is none.
    seen_s : its time, from its first row. [s]
    """
    out = []
    t = seen_s + (start_utc_s if w.dated else r.t[0])
    if w.dated and not abs(start_utc_s - r.t[0]) < 30.0:
        return [f"begins at {start_utc_s}, not {r.t[0]}"]
    flying = at(r.clean, "gs", t) > 25.0
    if flying.sum() < 0.9 * (r["gs"] > 25.0).sum():
        out.append(f"{flying.sum()} rows in flight")
    for truth, house, most in (*PLACE, ("gs", "groundspeed_mps", 0.8), *w.also):
        if not np.isfinite(r.clean.columns[truth]).any():
            continue
        values = seen(house)
        if values is None:
            out.append(f"no {house}")
            continue
        off = (np.degrees(values) if house.endswith("_rad") else values) - at(r.clean, truth, t)
        off = np.mod(off + 180.0, 360.0) - 180.0 if house.endswith("_rad") else off
        worst = float(np.nanpercentile(np.abs(off[flying]), 90))
        out += [f"{house} off by {worst:.4g}"] if not worst < most else []
    best = seen("altitude_m")
    if best is None:
        return [*out, "no altitude"]
    zero = r["alt"][0] if w.over_field else 0.0
    truths = [at(r.clean, n, t) - zero for n in ("gps_alt", "alt", "palt")]
    heights = [float(np.nanpercentile(np.abs(best - truth)[flying], 90)) for truth in truths]
    return out + ([f"altitude off by {min(heights):.1f}"] if not min(heights) < w.height_m + 1.0 else [])
