"""More layouts, written before a line of the readers was looked at for them: what people export, paste and script.

Each is a function of the flight that gives bytes, as in `layouts.py`; common practice, no source, and no maker's own
format. They were run as they came first; what was misread was then mended in the readers.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import numpy as np

from faults.layouts import FPM, FT, FULL, IAS, KMH, KT, Rows, Written, angles, encoded, joined, sentence, texts

ISO = "%Y-%m-%dT%H:%M:%SZ"


def commas(column: list[str]) -> list[str]:
    """Decimal commas."""
    return [x.replace(".", ",") for x in column]


def two_header_rows(r: Rows) -> Written:
    """A spreadsheet in German: names, then a row of units in brackets; decimal commas; a total at the end."""
    columns = [r.stamp("%d.%m.%Y"), r.stamp("%H:%M:%S")]
    columns += [commas(texts(v, k)) for v, k in ((r["lat"], 6), (r["lon"], 6), (r["gps_alt"], 0), (r["gs"] / KMH, 1))]
    columns += [commas(texts(r["vs"], 1))]
    head = ["Datum;UTC;Breite;Länge;Höhe;Geschwindigkeit;Vario", "[TT.MM.JJJJ];[hh:mm:ss];[°];[°];[m];[km/h];[m/s]"]
    return Written(".csv", encoded([*head, *joined(columns, ";"), ";;;;;;", "Summe;;;;;;"], "\r\n", "cp1252"))


def simulator_log(r: Rows) -> Written:
    """A simulator's: long names with their units in words, seconds since it was started."""
    columns = [texts(r.t - r.t[0] + 412.3, 3), texts(r["lat"], 8), texts(r["lon"], 8), texts(r["alt"] / FT, 3)]
    columns += [texts(r["ias"] / KT, 3), texts(r["tas"] / KT, 3), texts(r["gs"] / KT, 3), texts(r["vs"] / FPM, 2)]
    columns += [texts(r["pitch"], 4), texts(r["bank"], 4), texts(r["hdg"], 3)]
    head = ("Simulation Time (seconds),Latitude (degrees),Longitude (degrees),Altitude Above Sea Level (feet),"
            "Indicated Airspeed (knots),True Airspeed (knots),Ground Speed (knots),Vertical Speed (feet per minute),"
            "Pitch Angle (degrees),Bank Angle (degrees),Magnetic Heading (degrees)")  # fmt: skip
    return Written(".csv", encoded([head, *joined(columns)]), dated=False, also=FULL)


def tablet_export(r: Rows) -> Written:
    """A tablet's track: two lines of what it is, then a table of its own names, seconds since 1970 with a fraction."""
    columns = [texts(r.t, 3), texts(r["lat"], 7), texts(r["lon"], 7), texts(r["gps_alt"] / FT, 2)]
    columns += [texts(r["gs"] / KT, 3), texts(r["track"], 2), ["5.0"] * r.t.size, ["4.0"] * r.t.size]
    head = ["Track,Aircraft,Device", '"Local flight, morning",DEMO1,"Tablet (3rd)"', ""]
    names = "epoch,lat,long,altitude_ft,velocity_kts,course_true,h_error_m,v_error_m"
    return Written(".csv", encoded([*head, names, *joined(columns)]))


def nmea_and_comments(r: Rows) -> Written:
    """A logger's sentences between its own remarks, some cut short, some with a wrong checksum, no date at first."""
    lines = ["# logger 2, started", "% antenna ok"]
    clock, day = r.stamp("%H%M%S"), r.stamp("%d%m%y")
    la = angles(r["lat"], "NS", "{whole:02d}{minutes:07.4f},{side}")
    lo = angles(r["lon"], "EW", "{whole:03d}{minutes:07.4f},{side}")
    gs, track, alt = r["gs"] / KT, r["track"], r["gps_alt"]
    for k in range(r.t.size):
        if k > 5:
            lines.append(sentence(f"GPRMC,{clock[k]},A,{la[k]},{lo[k]},{gs[k]:.1f},{track[k]:.1f},{day[k]},3.1,E"))
        lines.append(sentence(f"GPGGA,{clock[k]},{la[k]},{lo[k]},1,09,1.0,{alt[k]:.1f},M,47.0,M,,"))
        lines += [sentence("GPGSA,A,3,04,05,09,12,24,,,,,,,,2.5,1.3,2.1")]
        if k % 97 == 50:
            lines += [lines[-2][:31], lines[-3][:-2] + "00", f"# {clock[k]} battery 3.{k % 10} V", ""]
    return Written(".txt", encoded(lines, "\r\n"))


def state_objects(r: Rows) -> Written:
    """A receiver's objects line by line: numbers as text, null and "ground", no address."""
    rows = []
    palt, gs, vs = r["palt"] / FT, r["gs"] / KT, r["vs"] / FPM
    for k in range(r.t.size):
        up = round(palt[k] / 25.0) * 25
        rows.append(json.dumps({
            "seen_at": int(r.t[k] * 1000), "flight": "DEMO1   ", "lat": f"{r['lat'][k]:.5f}" if k % 9 else None,
            "lon": f"{r['lon'][k]:.5f}" if k % 9 else None, "alt_baro": "ground" if gs[k] < 30.0 else f"{up}",
            "gs": f"{gs[k]:.1f}", "track": None if gs[k] < 5.0 else round(float(r["track"][k]), 1),
            "baro_rate": round(vs[k] / 64) * 64, "category": "A1", "nav_modes": [], "rssi": -18.2,
        }))  # fmt: skip
        if k > 3000:
            break
    return Written(".jsonl", encoded(rows), height_m=8.0)


def states_of_two(r: Rows) -> Written:
    """State rows of two airplanes, one row each in turn; the other flies the same way an hour behind, far off."""
    a = [r.stamp("%Y-%m-%d %H:%M:%S"), ["abc001"] * r.t.size, ["DEMO1"] * r.t.size, texts(r["lat"], 5)]
    b = [a[0], ["abc002"] * r.t.size, ["DEMO2"] * r.t.size, texts(r["lat"] + 0.4, 5)]
    rest = [texts(r["lon"], 5), texts(np.round(r["palt"] / 7.62) * 7.62, 1), texts(r["gs"], 1), texts(r["track"], 0)]
    rows = [row for pair in zip(joined([*a, *rest]), joined([*b, *rest]), strict=True) for row in pair]
    head = "time,icao24,callsign,lat,lon,baroaltitude,velocity,heading"
    return Written(".csv", encoded([head, *rows]), height_m=8.0, aircraft="DEMO1")


def one_callsign_three_days(r: Rows) -> Written:
    """Three days of one callsign, two of them short; the longest is the flight."""
    columns = [texts(r.t, 0), ["DEMO1"] * r.t.size, texts(r["lat"], 5), texts(r["lon"], 5)]
    columns += [texts(r["palt"] / FT, 0), texts(r["gs"] / KT, 0)]
    rows = joined(columns)
    early = [
        row.replace(row.partition(",")[0], str(int(float(row.partition(",")[0])) - 86_400), 1) for row in rows[:900]
    ]
    late = [
        row.replace(row.partition(",")[0], str(int(float(row.partition(",")[0])) + 90_000), 1) for row in rows[:700]
    ]
    return Written(".csv", encoded(["time,callsign,lat,lon,altitude,speed", *early, *rows, *late]), height_m=1.0)


def geojson_points_with_t(r: Rows) -> Written:
    """GeoJSON, a feature for each fix; properties with a unit in their names."""
    features = [
        {"type": "Feature", "geometry": {"type": "Point", "coordinates": [round(float(o), 6), round(float(a), 6)]},
         "properties": {"t": stamp, "elev_m": round(float(h), 1), "spd_kmh": round(float(g / KMH), 1)}}
        for a, o, h, g, stamp in zip(r["lat"], r["lon"], r["gps_alt"], r["gs"], r.stamp(ISO), strict=True)
    ]  # fmt: skip
    return Written(".geojson", json.dumps({"type": "FeatureCollection", "features": features}).encode())


def geojson_four_numbers(r: Rows) -> Written:
    """A GeoJSON line whose points have the time as a fourth number."""
    points = [[round(float(o), 6), round(float(a), 6), round(float(h), 1), round(float(t))]
              for a, o, h, t in zip(r["lat"], r["lon"], r["gps_alt"], r.t, strict=True)]  # fmt: skip
    document = {
        "type": "Feature",
        "properties": {"name": "x"},
        "geometry": {"type": "LineString", "coordinates": points},
    }
    return Written(".json", json.dumps(document).encode())


def kml_cut_short(r: Rows) -> Written:
    """gx:Track with each when beside its coord; the file ends in the middle, as when the battery did."""
    points = "".join(
        f"<when>{x}</when>\n<gx:coord>{o:.6f} {a:.6f} {h:.1f}</gx:coord>\n"
        for o, a, h, x in zip(r["lon"], r["lat"], r["gps_alt"], r.stamp(ISO), strict=True)
    )
    head = ('<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2" '
            'xmlns:gx="http://www.google.com/kml/ext/2.2"><Document><Placemark><gx:Track>\n')  # fmt: skip
    return Written(".kml", (head + points)[:-60].encode())


def gpx_cut_short(r: Rows) -> Written:
    """GPX that ends in the middle of a point."""
    points = "".join(
        f'<trkpt lat="{a:.6f}" lon="{o:.6f}">\n<ele>{h:.1f}</ele>\n<time>{t}</time>\n</trkpt>\n'
        for a, o, h, t in zip(r["lat"], r["lon"], r["gps_alt"], r.stamp(ISO), strict=True)
    )
    return Written(".gpx", ('<?xml version="1.0"?>\n<gpx version="1.1"><trk><trkseg>\n' + points)[:-47].encode())


def tabs_and_minutes_of_zone(r: Rows) -> Written:
    """Tabs, local time, minutes ahead of UTC in a column."""
    columns = [r.stamp("%Y-%m-%d", -18_000), r.stamp("%H:%M:%S", -18_000), ["-300"] * r.t.size, texts(r["lat"], 6)]
    columns += [texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0), texts(r["gs"] / KT, 1)]
    head = "local_date\tlocal_time\tutc_offset_min\tlat\tlon\talt_ft\tgs_kt"
    return Written(".tsv", encoded([head, *joined(columns, "\t")]))


def six_short_names(r: Rows) -> Written:
    """YYYY, MM, DD, HH, MI, SS as names."""
    columns = [r.stamp(f) for f in ("%Y", "%m", "%d", "%H", "%M", "%S")]
    columns += [texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1)]
    return Written(".csv", encoded(["YYYY,MM,DD,HH,MI,SS,LAT,LON,ALT_M", *joined(columns)]))


def six_abbreviated(r: Rows) -> Written:
    """yr mon day hr min sec, parted by blanks, numbers without zeros."""
    columns = [[str(int(x)) for x in r.stamp(f)] for f in ("%Y", "%m", "%d", "%H", "%M", "%S")]
    columns += [texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1)]
    return Written(".dat", encoded(["yr mon day hr min sec lat lon alt", *joined(columns, " ")]))


def elapsed_clock(r: Rows) -> Written:
    """0:00:01 since the start."""
    clock = [str(timedelta(seconds=round(float(x)))) for x in r.t - r.t[0]]
    columns = [clock, texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0), texts(r["gs"] / KT, 0)]
    return Written(".csv", encoded(["Elapsed,Lat,Lon,Alt (ft),GS (kt)", *joined(columns)]), dated=False)


def minutes_elapsed(r: Rows) -> Written:
    """Minutes with a fraction."""
    columns = [texts((r.t - r.t[0]) / 60.0, 4), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0)]
    return Written(".csv", encoded(["Time (min),Latitude,Longitude,Altitude (ft)", *joined(columns)]), dated=False)


def x_y_z(r: Rows) -> Written:
    """A geographer's export: x is the longitude."""
    columns = [r.stamp(ISO), texts(r["lon"], 6), texts(r["lat"], 6), texts(r["gps_alt"], 1)]
    return Written(".csv", encoded(["time,x,y,z", *joined(columns)]))


def hundreds_of_feet(r: Rows) -> Written:
    """Altitude in hundreds of feet."""
    columns = [r.stamp(ISO), texts(r["lat"], 5), texts(r["lon"], 5), texts(r["palt"] / FT / 100.0, 0)]
    return Written(
        ".csv", encoded(["ts,lat,lon,alt_hft,gs_kt", *joined([*columns, texts(r["gs"] / KT, 0)])]), height_m=16.0
    )


def levels_as_text(r: Rows) -> Written:
    """FL015 in the cells."""
    level = [f"FL{max(round(x / FT / 100.0), 0):03d}" for x in r["palt"]]
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"], 5), texts(r["lon"], 5), level, texts(r["gs"] / KT, 0)]
    return Written(".csv", encoded(["Time,Lat,Lon,Level,Speed", *joined(columns)]), height_m=16.0)


def semicircles_unsaid(r: Rows) -> Written:
    """A watch's whole numbers without their unit."""
    half = 2.0**31 / 180.0
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"] * half, 0), texts(r["lon"] * half, 0)]
    columns += [texts(r["gps_alt"], 1), texts(r["gs"], 3)]
    return Written(".csv", encoded(["timestamp,position_lat,position_long,altitude,speed", *joined(columns)]))


def degrees_minutes_seconds(r: Rows) -> Written:
    """47°27'30.6\"N in quotes."""

    def dms(values: np.ndarray, sides: str) -> list[str]:
        out = []
        for v in values.tolist():
            tenths = round(abs(v) * 36_000.0)
            d, rest = divmod(tenths, 36_000)
            m, s = divmod(rest, 600)
            out.append(f'"{d}°{m:02d}\'{s / 10.0:04.1f}""{sides[int(v < 0)]}"')
        return out

    columns = [r.stamp("%d.%m.%Y %H:%M:%S"), dms(r["lat"], "NS"), dms(r["lon"], "EW"), texts(r["gps_alt"], 0)]
    return Written(".csv", encoded(["Zeit (UTC),Breite,Länge,Höhe (m)", *joined(columns)]))


def minutes_and_side(r: Rows) -> Written:
    """4727.5100N in a cell."""
    columns = [r.stamp("%Y%m%d"), r.stamp("%H%M%S"), angles(r["lat"], "NS", "{whole:02d}{minutes:07.4f}{side}")]
    columns += [angles(r["lon"], "EW", "{whole:03d}{minutes:07.4f}{side}"), texts(r["gps_alt"], 0)]
    return Written(".txt", encoded(["DATE\tUTC\tLAT\tLON\tALT", *joined(columns, "\t")]))


def newest_first(r: Rows) -> Written:
    """The last fix in the first row."""
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0)]
    rows = joined([*columns, texts(r["gs"] / KT, 0), texts(r["track"], 0)])[::-1]
    return Written(".csv", encoded(["Time UTC,Latitude,Longitude,Feet,Knots,Course", *rows]))


def statistics_below(r: Rows) -> Written:
    """A blank line and a table of statistics after the last row."""
    columns = [r.stamp("%H:%M:%S"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0)]
    rows = joined([*columns, texts(r["gs"] / KT, 1), texts(r["ias"] / KT, 1)])
    foot = ["", "Statistics,Min,Max,Mean", "Altitude,120,4500,2210", "IAS,0,118,84", "", "Exported 14 May 2026"]
    head = "Time,Latitude,Longitude,GPS Altitude ft,Groundspeed kt,IAS kt"
    return Written(".csv", encoded([head, *rows, *foot]), dated=False, also=IAS)


def utf16_unmarked(r: Rows) -> Written:
    """UTF-16 without its mark, semicolons."""
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 0)]
    return Written(".csv", encoded(["Time;Latitude;Longitude;Altitude m", *joined(columns, ";")], "\r\n", "utf-16-le"))


def swiss_thousands(r: Rows) -> Written:
    """1'250 and, in the speed, a narrow blank nobody sees."""
    high = [f"{x / FT:,.0f}".replace(",", "'") for x in r["gps_alt"].tolist()]
    metric = [f"{x:,.0f}".replace(",", "\u202f") for x in r["gps_alt"].tolist()]
    columns = [r.stamp("%d.%m.%Y %H:%M:%S"), texts(r["lat"], 6), texts(r["lon"], 6), high, metric]
    return Written(".csv", encoded(["UTC;Lat;Lon;Alt [ft];Alt [m]", *joined(columns, ";")]))


def everything_quoted(r: Rows) -> Written:
    """Each cell in quotation marks, blanks inside them."""
    columns = [r.stamp(ISO), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["alt"] / FT, 0), texts(r["ias"] / KT, 0)]
    columns = [[f'" {x} "' for x in c] for c in columns]
    return Written(".csv", encoded(['"Time","Lat","Lon","Indicated Alt (ft)","IAS (kt)"', *joined(columns)]), also=IAS)


def words_for_blanks(r: Rows) -> Written:
    """N/A, null, ---, 99999 and -9999 where nothing was known."""
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["alt"] / FT, 0)]
    columns += [texts(r["ias"] / KT, 0), texts(r["gs"] / KT, 0), texts(r["oat"], 0), texts(r["vs"] / FPM, 0)]
    for c, word in zip(columns[1:], ("N/A", "N/A", "99999", "---", "null", "-9999", "NaN"), strict=True):
        c[:8] = [word] * 8
        for k in range(60, len(c), 45):
            c[k] = word
    return Written(".csv", encoded(["UTC,LAT,LON,BARO_ALT,IAS,GS,OAT,VS", *joined(columns)]), also=IAS)


def metric_panel(r: Rows) -> Written:
    """A panel of the continent: airspeed in km/h, altitude in feet, vertical speed in m/s, none of it said."""
    columns = [r.stamp("%d/%m/%Y"), r.stamp("%H:%M:%S"), texts(r["lat"], 6), texts(r["lon"], 6)]
    columns += [texts(r["alt"] / FT, 0), texts(r["ias"] / KMH, 0), texts(r["gs"] / KMH, 0), texts(r["vs"], 1)]
    columns += [texts(r["hdg"], 0), texts(r["bank"], 1), texts(r["pitch"], 1), ["2300"] * r.t.size]
    head = "DATE,TIME,LAT,LON,ALT,IAS,GS,VSI,HDG,ROLL,PITCH,RPM"
    return Written(".csv", encoded([head, *joined(columns)]), dated=False, also=FULL)  # in America 02/06 is February


def sensors_at_their_rates(r: Rows) -> Written:
    """An engine monitor with several rates: air data four times a second, positions once, the engine every 5 s."""
    fast = Rows(r.clean, np.arange(r.t[0], r.t[-1], 0.25))
    n = fast.t.size
    once = np.arange(n) % 4 == 0
    rare = np.arange(n) % 20 == 3

    def only(column: list[str], where: np.ndarray) -> list[str]:
        return [x if w else "" for x, w in zip(column, where, strict=True)]

    columns = [fast.stamp("%Y-%m-%dT%H:%M:%S.%fZ"), texts(fast["ias"] / KT, 1), texts(fast["alt"] / FT, 0)]
    columns += [only(texts(fast[x], 6), once) for x in ("lat", "lon")] + [only(texts(fast["gs"] / KT, 1), once)]
    columns += [only(["2310"] * n, rare), only(["24.1"] * n, rare), only(["612"] * n, rare), only(["8.9"] * n, rare)]
    head = "Timestamp,IAS kt,Altitude ft,Lat,Lon,Ground Speed kt,RPM,MAP inHg,CHT1 °F,Fuel Flow gph"
    return Written(".csv", encoded([head, *joined(columns)]), also=IAS)


def rare_heights(r: Rows) -> Written:
    """NMEA: RMC each second, GGA every fifth."""
    lines = []
    clock, day = r.stamp("%H%M%S.00"), r.stamp("%d%m%y")
    la = angles(r["lat"], "NS", "{whole:02d}{minutes:08.5f},{side}")
    lo = angles(r["lon"], "EW", "{whole:03d}{minutes:08.5f},{side}")
    gs, track, alt = r["gs"] / KT, r["track"], r["gps_alt"]
    for k in range(r.t.size):
        lines.append(sentence(f"GNRMC,{clock[k]},A,{la[k]},{lo[k]},{gs[k]:.2f},{track[k]:.1f},{day[k]},,,A"))
        if k % 5 == 0:
            lines.append(sentence(f"GNGGA,{clock[k]},{la[k]},{lo[k]},1,12,0.8,{alt[k]:.1f},M,47.0,M,,"))
    return Written(".nmea", encoded(lines, "\r\n"), height_m=6.0)


def afternoon_with_zone(r: Rows) -> Written:
    """05/14/2026 1:05:10 PM EDT."""
    stamps = [
        f"{d} {c.lstrip('0')}"
        for d, c in zip(r.stamp("%m/%d/%Y", -14_400), r.stamp("%I:%M:%S %p EDT", -14_400), strict=True)
    ]
    columns = [stamps, texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0), texts(r["gs"] / KT, 0)]
    return Written(".csv", encoded(["Time,Latitude,Longitude,Altitude (ft MSL),Speed (kts)", *joined(columns)]))


def basic_stamps(r: Rows) -> Written:
    """20260514T151005+0200."""
    columns = [[x + "+0200" for x in r.stamp("%Y%m%dT%H%M%S", 7200)], texts(r["lat"], 6), texts(r["lon"], 6)]
    return Written(".csv", encoded(["t,latitude,longitude,elevation", *joined([*columns, texts(r["gps_alt"], 1)])]))


def columns_in_json(r: Rows) -> Written:
    """JSON that holds columns, their units beside them."""
    document = {
        "meta": {"device": "demo", "units": {"alt": "ft", "gs": "kt"}},
        "data": {"t": r.stamp(ISO), "lat": [round(float(x), 6) for x in r["lat"]],
                 "lon": [round(float(x), 6) for x in r["lon"]], "alt": [round(float(x / FT)) for x in r["gps_alt"]],
                 "gs": [round(float(x / KT), 1) for x in r["gs"]]},
    }  # fmt: skip
    return Written(".json", json.dumps(document).encode())


def values_with_units_in_json(r: Rows) -> Written:
    """JSON points that give the place as a pair, the height as a value with its unit."""
    rows = [
        {"when": stamp, "position": [round(float(o), 6), round(float(a), 6)],
         "altitude": {"value": round(float(h / FT)), "unit": "ft"},
         "speed": {"value": round(float(g / KT), 1), "unit": "kt"}}
        for stamp, o, a, h, g in zip(r.stamp(ISO), r["lon"], r["lat"], r["gps_alt"], r["gs"], strict=True)
    ]  # fmt: skip
    return Written(".json", json.dumps(rows).encode())


def table_with_bars(r: Rows) -> Written:
    """A table as notes have it: bars at both ends, a rule under the names."""
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0)]
    rows = [f"| {x} |" for x in joined(columns, " | ")]
    return Written(".md", encoded(["| time | lat | lon | alt (ft) |", "| --- | ---: | ---: | ---: |", *rows]))


def fixed_width(r: Rows) -> Written:
    """Columns of fixed width whose names hold blanks."""
    columns = [
        r.stamp("%H:%M:%S"),
        texts(r["lat"], 6),
        texts(r["lon"], 6),
        texts(r["gps_alt"] / FT, 0),
        texts(r["gs"] / KT, 0),
    ]
    rows = ["".join(f"{x:>14}" for x in row) for row in zip(*columns, strict=True)]
    head = "".join(f"{x:>14}" for x in ("UTC Time", "Lat (deg)", "Lon (deg)", "GPS Alt (ft)", "GS (kt)"))
    return Written(".txt", encoded([f"Track of {r.stamp('%d %b %Y')[0]}", head, *rows]), dated=False)


def names_in_each_line(r: Rows) -> Written:
    """time=... lat=... on each line."""
    columns = [[f"{n}={x}" for x in c] for n, c in (
        ("time", r.stamp(ISO)), ("lat", texts(r["lat"], 6)), ("lon", texts(r["lon"], 6)),
        ("alt_ft", texts(r["gps_alt"] / FT, 0)), ("gs_kt", texts(r["gs"] / KT, 0)))]  # fmt: skip
    return Written(".log", encoded(joined(columns, " ")))


def day_of_year(r: Rows) -> Written:
    """Year, day of the year, seconds of the day."""
    day = [datetime.fromtimestamp(x, UTC).strftime("%j") for x in r.t.tolist()]
    columns = [r.stamp("%Y"), day, texts(np.mod(r.t, 86_400.0), 1), texts(r["lat"], 6), texts(r["lon"], 6)]
    return Written(".csv", encoded(["year,doy,sod,lat,lon,hgt_m", *joined([*columns, texts(r["gps_alt"], 1)])]))


def julian_date(r: Rows) -> Written:
    """Julian date with a fraction."""
    columns = [texts(r.t / 86_400.0 + 2_440_587.5, 7), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"], 1)]
    return Written(".csv", encoded(["JD,lat,lon,alt_m", *joined(columns)]))


def phone_of_all_sensors(r: Rows) -> Written:
    """A phone's sensors in one table: accelerometer ten times a second, the place once; nanoseconds; blanks between."""
    fast = Rows(r.clean, np.arange(r.t[0], r.t[-1], 0.1))
    rng = np.random.default_rng(5)
    n = fast.t.size
    once = np.arange(n) % 10 == 0

    def only(column: list[str]) -> list[str]:
        return [x if w else "" for x, w in zip(column, once, strict=True)]

    shake = rng.normal(0.0, 0.4, (3, n)) + np.array([[0.4], [5.1], [8.3]])
    columns = [[f"{round(float(x) * 1e9)}" for x in fast.t], texts((fast.t - fast.t[0]), 2)]
    columns += [texts(v, 4) for v in shake]
    columns += [
        only(texts(v, k))
        for v, k in ((fast["lat"], 7), (fast["lon"], 7), (fast["gps_alt"], 1), (fast["gs"], 2), (fast["track"], 1))
    ]
    columns += [texts(1013.25 * (1.0 - fast["palt"] / 44_330.77) ** 5.2559, 2)]
    head = ("time,seconds_elapsed,accelerometerX,accelerometerY,accelerometerZ,locationLatitude,locationLongitude,"
            "locationAltitude,locationSpeed,locationBearing,barometerPressure")  # fmt: skip
    return Written(".csv", encoded([head, *joined(columns)]))


def several_tracks(r: Rows) -> Written:
    """GPX with an empty track, a named point and the flight in three pieces, the last before the first."""
    points = [
        f'<trkpt lat="{a:.6f}" lon="{o:.6f}"><ele>{h:.1f}</ele><time>{t}</time><speed>{g:.2f}</speed></trkpt>'
        for a, o, h, t, g in zip(r["lat"], r["lon"], r["gps_alt"], r.stamp(ISO), r["gs"], strict=True)
    ]
    n = len(points)
    parts = [points[2 * n // 3 :], points[: n // 3], points[n // 3 : 2 * n // 3]]
    tracks = "".join(f"<trk><name>part</name><trkseg>{''.join(p)}</trkseg></trk>" for p in parts)
    text = f'<gpx version="1.0"><wpt lat="0" lon="0"><name>Home</name></wpt><trk><trkseg/></trk>{tracks}</gpx>'
    return Written(".gpx", text.encode("utf-8-sig"))


OTHER_HANDS: dict[str, Callable[[Rows], Written]] = {
    f.__name__: f
    for f in (
        two_header_rows, simulator_log, tablet_export, nmea_and_comments, state_objects, states_of_two,
        one_callsign_three_days, geojson_points_with_t, geojson_four_numbers, kml_cut_short, gpx_cut_short,
        tabs_and_minutes_of_zone, six_short_names, six_abbreviated, elapsed_clock, minutes_elapsed, x_y_z,
        hundreds_of_feet, levels_as_text, semicircles_unsaid, degrees_minutes_seconds, minutes_and_side, newest_first,
        statistics_below, utf16_unmarked, swiss_thousands, everything_quoted, words_for_blanks, metric_panel,
        sensors_at_their_rates, rare_heights, afternoon_with_zone, basic_stamps, columns_in_json,
        values_with_units_in_json, table_with_bars, fixed_width, names_in_each_line, day_of_year, julian_date,
        phone_of_all_sensors, several_tracks,
    )
}  # fmt: skip
