"""A second lot of layouts, written after the readers were mended for `other_hands.py`, and scored once before another
line of them was changed: 17 of 30 came back as the same flight. Common practice, no source, no maker's own format.
"""

from __future__ import annotations

import io
import json
from collections.abc import Callable

import numpy as np
import polars as pl

from faults.layouts import FPM, FT, FULL, IAS, KMH, KT, Rows, Written, angles, encoded, joined, sentence, texts
from faults.other_hands import ISO, commas


def hemisphere_in_the_name(r: Rows) -> Written:
    """Lat (N or S), Lon (W or E) in the header, numbers without a sign."""
    lat, lon = r["lat"], r["lon"]
    sides = "S" if lat[0] < 0 else "N", "W" if lon[0] < 0 else "E"
    columns = [r.stamp(ISO), texts(np.abs(lat), 6), texts(np.abs(lon), 6), texts(r["gps_alt"] / FT, 0)]
    return Written(".csv", encoded([f"UTC,Lat ({sides[0]}),Lon ({sides[1]}),Alt (ft)", *joined(columns)]))


def nmea_without_rmc(r: Rows) -> Written:
    """GNS and VTG sentences, ZDA for the day."""
    lines = []
    clock, day = r.stamp("%H%M%S.00"), r.stamp("%d,%m,%Y")
    la = angles(r["lat"], "NS", "{whole:02d}{minutes:07.4f},{side}")
    lo = angles(r["lon"], "EW", "{whole:03d}{minutes:07.4f},{side}")
    gs, track, alt = r["gs"] / KT, r["track"], r["gps_alt"]
    for k in range(r.t.size):
        lines += [sentence(f"GNZDA,{clock[k]},{day[k]},00,00")] if k % 10 == 0 else []
        lines.append(sentence(f"GNGNS,{clock[k]},{la[k]},{lo[k]},AAN,14,0.7,{alt[k]:.1f},47.2,,"))
        lines.append(sentence(f"GNVTG,{track[k]:.1f},T,,M,{gs[k]:.2f},N,{gs[k] * 1.852:.2f},K,A"))
    return Written(".ubx.txt", encoded(lines, "\r\n"))


def units_first(r: Rows) -> Written:
    """ft_alt, kt_gs: the unit before the name."""
    columns = [
        r.stamp(ISO),
        texts(r["lat"], 6),
        texts(r["lon"], 6),
        texts(r["gps_alt"] / FT, 0),
        texts(r["gs"] / KT, 0),
    ]
    return Written(".csv", encoded(["utc,deg_lat,deg_lon,ft_alt,kt_gs", *joined(columns)]))


def german_panel(r: Rows) -> Written:
    """Höhe_ft, Fahrt_kmh, Kurs, Steigen_m/s."""
    columns = [r.stamp("%d.%m.%Y"), r.stamp("%H:%M:%S"), *(commas(texts(r[x], 6)) for x in ("lat", "lon"))]
    columns += [texts(r["alt"] / FT, 0), texts(r["ias"] / KMH, 0), texts(r["track"], 0), commas(texts(r["vs"], 1))]
    head = "Datum;Uhrzeit (UTC);Breite;Länge;Höhe_ft;Fahrt_kmh;Kurs;Steigen_m/s"
    return Written(".csv", encoded([head, *joined(columns, ";")]), also=IAS)


def french_panel(r: Rows) -> Written:
    """Vi, Vsol, Vz, Cap."""
    columns = [r.stamp("%d/%m/%Y"), r.stamp("%H:%M:%S"), *(commas(texts(r[x], 6)) for x in ("lat", "lon"))]
    columns += [texts(r["alt"] / FT, 0), texts(r["ias"] / KT, 0), texts(r["gs"] / KT, 0), texts(r["vs"] / FPM, 0)]
    head = "Date;Heure UTC;Latitude;Longitude;Altitude (ft);Vi (kt);Vsol (kt);Vz (ft/min)"
    return Written(".csv", encoded([head, *joined(columns, ";")]), also=IAS)


def spanish_phone(r: Rows) -> Written:
    """Fecha, hora, latitud, longitud, altura, velocidad, rumbo."""
    columns = [r.stamp("%d/%m/%Y"), r.stamp("%H:%M:%S"), *(commas(texts(r[x], 6)) for x in ("lat", "lon"))]
    columns += [commas(texts(r["gps_alt"], 1)), commas(texts(r["gs"] / KMH, 1)), texts(r["track"], 0)]
    head = "Fecha;Hora;Latitud;Longitud;Altura (m);Velocidad (km/h);Rumbo"
    return Written(".csv", encoded([head, *joined(columns, ";")]))


def comma_before_the_fraction(r: Rows) -> Written:
    """2026-06-01T10:00:01,250Z between semicolons."""
    columns = [r.stamp("%Y-%m-%dT%H:%M:%S,%fZ"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1)]
    return Written(".csv", encoded(["Time;Lat;Lon;Elevation", *joined(columns, ";")]))


def dates_without_zeros(r: Rows) -> Written:
    """1.6.2026 9:05:01."""
    days = [".".join(str(int(x)) for x in d.split(".")) for d in r.stamp("%d.%m.%Y")]
    clock = [x[1:] if x.startswith("0") else x for x in r.stamp("%H:%M:%S")]
    stamps = [f"{d} {c}" for d, c in zip(days, clock, strict=True)]
    columns = [stamps, *(commas(texts(r[x], 6)) for x in ("lat", "lon")), commas(texts(r["gps_alt"], 1))]
    return Written(".csv", encoded(["Zeit;Lat;Lon;Alt", *joined(columns, ";")]))


def letters_in_the_clock(r: Rows) -> Written:
    """10h05m01s."""
    columns = [r.stamp("%Y-%m-%d"), r.stamp("%Hh%Mm%Ss"), texts(r["lat"], 6), texts(r["lon"], 6)]
    return Written(".csv", encoded(["date,time,lat,lon,alt_m", *joined([*columns, texts(r["gps_alt"], 1)])]))


def start_in_a_remark(r: Rows) -> Written:
    """Milliseconds since a start that a remark tells."""
    columns = [texts((r.t - r.t[0]) * 1e3, 0), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1)]
    head = [f"# start: {r.stamp(ISO)[0]}", "# pilot: demo", "t_ms,lat,lon,alt_m"]
    return Written(".csv", encoded([*head, *joined(columns)]))


def fields_and_rows(r: Rows) -> Written:
    """JSON: the names once, then rows."""
    rows = [[round(float(v), 6) for v in row] for row in zip(r.t, r["lat"], r["lon"], r["gps_alt"] / FT, r["gs"] / KT, strict=True)]  # fmt: skip  # noqa: E501
    document = {"version": 2, "fields": ["timestamp", "lat", "lon", "alt_ft", "gs_kt"], "rows": rows}
    return Written(".json", json.dumps(document).encode())


def frame_in_json(r: Rows) -> Written:
    """Columns, index and data, as data frames are written."""
    rows = [[s, *(round(float(v), 6) for v in row)] for s, *row in zip(r.stamp(ISO), r["lat"], r["lon"], r["gps_alt"], strict=True)]  # fmt: skip  # noqa: E501
    document = {"columns": ["time", "latitude", "longitude", "altitude"], "index": list(range(len(rows))), "data": rows}
    return Written(".json", json.dumps(document).encode())


def parquet_of_floats(r: Rows) -> Written:
    """Parquet: single precision, a column of moments."""
    frame = pl.DataFrame({
        "time": pl.Series((r.t * 1e6).astype(np.int64)).cast(pl.Datetime("us", "UTC")),
        "lat": r["lat"], "lon": r["lon"],
        "alt_m": r["gps_alt"].astype(np.float32), "speed_mps": r["gs"].astype(np.float32),
    })  # fmt: skip
    out = io.BytesIO()
    frame.write_parquet(out)
    return Written(".parquet", out.getvalue())


def microdegrees(r: Rows) -> Written:
    """lat_e6, height in millimeters, speed in cm/s, none of it said but in part."""
    columns = [texts(r.t, 0), texts(r["lat"] * 1e6, 0), texts(r["lon"] * 1e6, 0), texts(r["gps_alt"] * 1e3, 0)]
    return Written(".csv", encoded(["t,lat_e6,lon_e6,height,gspeed", *joined([*columns, texts(r["gs"] * 100.0, 0)])]))


def position_and_speed_in_turn(r: Rows) -> Written:
    """A receiver's table: one row has the position, the next speed and course."""
    rows = []
    lat, lon, palt = texts(r["lat"], 5), texts(r["lon"], 5), np.round(r["palt"] / FT / 25.0) * 25.0
    for k, stamp in enumerate(r.stamp("%Y-%m-%d %H:%M:%S.%f")):
        rows.append(f"{stamp},4CA123,{lat[k]},{lon[k]},{palt[k]:.0f},,,")
        rows.append(
            f"{stamp[:-3]}400,4CA123,,,,{r['gs'][k] / KT:.0f},{r['track'][k]:.0f},{round(r['vs'][k] / FPM / 64) * 64}"
        )
        if k > 1_500:
            break
    head = "ts,hexident,lat,lon,alt,spd,trk,vr"
    return Written(".csv", encoded([head, *rows]), height_m=8.0)


def kilometers_up(r: Rows) -> Written:
    """Altitude in kilometers, speed in kph."""
    columns = [
        r.stamp(ISO),
        texts(r["lat"], 6),
        texts(r["lon"], 6),
        texts(r["gps_alt"] / 1e3, 4),
        texts(r["gs"] / KMH, 1),
    ]
    return Written(".csv", encoded(["time,lat,lon,alt_km,speed_kph", *joined(columns)]))


def kml_points_with_data(r: Rows) -> Written:
    """A placemark for each fix, its clock as a time stamp, the rest as extended data."""
    points = "".join(
        f"<Placemark><TimeStamp><when>{t}</when></TimeStamp><ExtendedData><Data name='Groundspeed kt'>"
        f"<value>{g:.1f}</value></Data></ExtendedData><Point><altitudeMode>absolute</altitudeMode><coordinates>{o:.6f},{a:.6f},{h:.1f}</coordinates>"
        "</Point></Placemark>"
        for t, o, a, h, g in zip(r.stamp(ISO), r["lon"], r["lat"], r["gps_alt"], r["gs"] / KT, strict=True)
    )
    text = f'<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder>{points}</Folder></Document></kml>'
    return Written(".kml", text.encode())


def igc_of_a_motor(r: Rows) -> Written:
    """IGC with the long date, extensions, comments between, blanks at the ends of lines."""
    lines = ["ADEM001", f"HFDTEDATE:{r.stamp('%d%m%y')[0]},01  ", "HFFXA035", "HOPLTPILOT:demo", "I023638FXA3941GSP"]
    la = angles(r["lat"], "NS", "{whole:02d}|{minutes:06.3f}|{side}")
    lo = angles(r["lon"], "EW", "{whole:03d}|{minutes:06.3f}|{side}")
    clock, gs = r.stamp("%H%M%S"), r["gs"] / KMH
    for k in range(r.t.size):
        place = (la[k] + lo[k]).replace("|", "").replace(".", "")
        lines.append(f"B{clock[k]}{place}A{r['palt'][k]:05.0f}{r['gps_alt'][k]:05.0f}012{gs[k]:03.0f} ")
        lines += ["LDEMcomment"] if k % 300 == 7 else []
    return Written(".igc", encoded(lines, "\r\n"), also=(("palt", "pressure_altitude_m", 1.5),))


def unnamed_index(r: Rows) -> Written:
    """An index without a name, a last column called Unnamed: 6."""
    columns = [[str(k) for k in range(r.t.size)], r.stamp("%Y-%m-%d %H:%M:%S+00:00"), texts(r["lat"], 6)]
    columns += [texts(r["lon"], 6), texts(r["gps_alt"] / FT, 1), texts(r["gs"] / KT, 1), [""] * r.t.size]
    return Written(
        ".csv", encoded([",datetime,latitude,longitude,altitude_feet,groundspeed_knots,Unnamed: 6", *joined(columns)])
    )


def names_in_a_remark(r: Rows) -> Written:
    """# before the names, tabs, units in a second remark."""
    columns = [texts(r.t, 1), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1), texts(r["gs"], 2)]
    head = ["# demo export v1", "# time\tlatitude\tlongitude\taltitude\tspeed", "# s\tdeg\tdeg\tm\tm/s"]
    return Written(".tsv", encoded([*head, *joined(columns, "\t")]))


def all_capitals(r: Rows) -> Written:
    """UTC_TIME, LATITUDE_DEG, PRESSURE_ALTITUDE_FT, COMPUTED_AIRSPEED_KTS, ROLL_ANGLE_DEG …"""
    columns = [r.stamp(ISO), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["palt"] / FT, 0), texts(r["ias"] / KT, 1)]
    columns += [texts(r["gs"] / KT, 1), texts(r["bank"], 1), texts(r["vs"] / FPM, 0), texts(r["hdg"], 1)]
    head = ("UTC_TIME,LATITUDE_DEG,LONGITUDE_DEG,PRESSURE_ALTITUDE_FT,INDICATED_AIRSPEED_KTS,GROUND_SPEED_KTS,"
            "ROLL_ANGLE_DEG,INERTIAL_VERTICAL_SPEED_FPM,MAGNETIC_HEADING_DEG")  # fmt: skip
    return Written(".csv", encoded([head, *joined(columns)]), also=FULL)


def words_in_brackets(r: Rows) -> Written:
    """Bank (deg, right positive), VertSpd (ft/min), PressAlt (ft), BaroSetting (inHg)."""
    columns = [r.stamp("%Y/%m/%d"), r.stamp("%H:%M:%S.%f"), texts(r["lat"], 6), texts(r["lon"], 6)]
    columns += [texts(r["palt"] / FT, 0), ["29.92"] * r.t.size, texts(r["ias"] / KT, 1), texts(r["vs"] / FPM, 0)]
    columns += [texts(r["hdg"], 0), texts(r["bank"], 1)]
    head = ("Date,UTC,Lat,Lon,PressAlt (ft),BaroSetting (inHg),IAS (kt),VertSpd (ft/min),MagHdg (deg),"
            "Bank (deg; right positive)")  # fmt: skip
    return Written(".csv", encoded([head, *joined(columns)]), also=FULL)


def stamp_as_one_number(r: Rows) -> Written:
    """20260601100001."""
    columns = [r.stamp("%Y%m%d%H%M%S"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 0)]
    return Written(".csv", encoded(["timestamp,lat,lon,alt", *joined(columns)]))


def zeros_lost(r: Rows) -> Written:
    """Date and clock as numbers whose leading zeros a spreadsheet took: 10626, 90501."""
    columns = [[str(int(x)) for x in r.stamp("%d%m%y")], [str(int(x)) for x in r.stamp("%H%M%S")]]
    columns += [texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0)]
    return Written(".csv", encoded(["DATE,UTC,LAT,LON,ALT_FT", *joined(columns)]))


def sides_after_the_degrees(r: Rows) -> Written:
    """47.123456N 8.123456E in one cell."""
    lat, lon = r["lat"], r["lon"]
    place = [
        f"{abs(a):.6f}{'S' if a < 0 else 'N'} {abs(o):.6f}{'W' if o < 0 else 'E'}"
        for a, o in zip(lat, lon, strict=True)
    ]
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), place, texts(r["gps_alt"] / FT, 0)]
    return Written(".csv", encoded(["Time (UTC),Position,Altitude (ft)", *joined(columns)]))


def elapsed_and_start(r: Rows) -> Written:
    """00:00:01.000 below a line that tells the start."""
    t = r.t - r.t[0]
    clock = [f"{int(x // 3600):02d}:{int(x // 60 % 60):02d}:{x % 60:06.3f}" for x in t.tolist()]
    columns = [clock, texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0)]
    head = [f"Start time: {r.stamp('%Y-%m-%d %H:%M:%S')[0]} UTC", "", "Elapsed time,Lat,Lon,Alt (ft)"]
    return Written(".csv", encoded([*head, *joined(columns)]))


def log_lines(r: Rows) -> Written:
    """A program's log: its clock, its level, then values with their units."""
    lines = [
        f"{s} INFO fix lat={a:.6f} lon={o:.6f} alt={h / FT:.0f}ft gs={g / KT:.1f}kt trk={c:.0f}deg"
        for s, a, o, h, g, c in zip(
            r.stamp("%Y-%m-%d %H:%M:%S,%f"), r["lat"], r["lon"], r["gps_alt"], r["gs"], r["track"], strict=True)
    ]  # fmt: skip
    return Written(".log", encoded(["2026 program started", *lines]))


def gpx_with_holes(r: Rows) -> Written:
    """GPX with offsets in its times, no height now and then, other names of the space."""
    points = "".join(
        f'<ns0:trkpt lat="{a:.6f}" lon="{o:.6f}">' + (f"<ns0:ele>{h:.1f}</ns0:ele>" if k % 5 else "")
        + f"<ns0:time>{t}</ns0:time></ns0:trkpt>"
        for k, (a, o, h, t) in enumerate(
            zip(r["lat"], r["lon"], r["gps_alt"], r.stamp("%Y-%m-%dT%H:%M:%S+02:00", 7200), strict=True))
    )  # fmt: skip
    text = f'<ns0:gpx xmlns:ns0="http://www.topografix.com/GPX/1/1"><ns0:trk><ns0:trkseg>{points}</ns0:trkseg></ns0:trk></ns0:gpx>'
    return Written(".gpx", text.encode("utf-16"))


def cardinal_courses(r: Rows) -> Written:
    """Courses as words, speeds with their unit, heights with a blank before theirs."""
    names = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
    course = [names[round(float(x) / 22.5) % 16] for x in r["track"]]
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"], 5), texts(r["lon"], 5), course]
    columns += [[f"{x}kts" for x in texts(r["gs"] / KT, 0)], [f"{x} ft" for x in texts(r["gps_alt"] / FT, 0)]]
    return Written(".csv", encoded(["UTC;Latitude;Longitude;Course;Speed;Altitude", *joined(columns, ";")]))


def rates_of_two_clocks(r: Rows) -> Written:
    """Two clocks: the receiver's, and the computer's that runs an hour and a bit ahead."""
    columns = [r.stamp("%Y-%m-%d %H:%M:%S.%f", 3_671.4), r.stamp("%H:%M:%S"), r.stamp("%Y-%m-%d"), texts(r["lat"], 6)]
    columns += [texts(r["lon"], 6), texts(r["gps_alt"], 1), texts(r["gs"], 2)]
    return Written(".csv", encoded(["PC Time,GPS Time,GPS Date,Lat,Lon,Alt (m),Speed (m/s)", *joined(columns)]))


LATER_HANDS: dict[str, Callable[[Rows], Written]] = {
    f.__name__: f
    for f in (
        hemisphere_in_the_name, nmea_without_rmc, units_first, german_panel, french_panel, spanish_phone,
        comma_before_the_fraction, dates_without_zeros, letters_in_the_clock, start_in_a_remark, fields_and_rows,
        frame_in_json, parquet_of_floats, microdegrees, position_and_speed_in_turn, kilometers_up, kml_points_with_data,
        igc_of_a_motor, unnamed_index, names_in_a_remark, all_capitals, words_in_brackets, stamp_as_one_number,
        zeros_lost, sides_after_the_degrees, elapsed_and_start, log_lines, gpx_with_holes, cardinal_courses,
        rates_of_two_clocks,
    )
}  # fmt: skip
