"""Layouts in which the rows have to be found first: apart, on their side, under names that speak against it.

The first twenty were written before a line of the readers was changed for them: 5 came back as the same flight; the
others are what somebody else's lots found. Common practice, no source, no maker's own format.
"""

from __future__ import annotations

import json
from collections.abc import Callable

import numpy as np

from faults.layouts import FT, IAS, KT, Rows, Written, encoded, joined, texts
from faults.other_hands import ISO


def _plain(r: Rows) -> list[list[str]]:
    return [r.stamp(ISO), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 0), texts(r["gs"] / KT, 1)]


def _lists(r: Rows) -> dict[str, list[float]]:
    at = {"lat": r["lat"], "lon": r["lon"], "alt": r["gps_alt"], "gs": r["gs"]}
    return {"stamp": np.round(r.t, 1).tolist(), **{n: np.round(v, 6).tolist() for n, v in at.items()}}


_UNITS = {"stamp": "s", "lat": "deg", "lon": "deg", "alt": "m", "gs": "m/s"}


def names_in_another_object(r: Rows) -> Written:
    """JSON rows; names and units are a list of objects elsewhere."""
    schema = [{"name": n, "unit": u} for n, u in _UNITS.items()]
    rows = list(zip(*_lists(r).values(), strict=True))
    return Written(".json", json.dumps({"schema": schema, "payload": {"rows": rows}}).encode())


def column_objects(r: Rows) -> Written:
    """Each column an object with its unit and its values; the unit of the time says since when."""
    lists = _lists(r)
    lists["stamp"] = np.round(r.t - r.t[0], 1).tolist()
    units = _UNITS | {"stamp": f"s since {r.stamp(ISO)[0]}"}
    series = {{"stamp": "time"}.get(n, n): {"unit": units[n], "values": v} for n, v in lists.items()}
    return Written(".json", json.dumps({"series": series}).encode())


def channels(r: Rows) -> Written:
    """Each quantity a list of [milliseconds, value] at a rate of its own."""
    lists = _lists(r)
    ms = [round(1000.0 * s) for s in lists.pop("stamp")]
    pairs = {n: list(zip(ms, v, strict=True))[:: 2 if n == "alt" else 1] for n, v in lists.items()}
    return Written(
        ".json", json.dumps([{"channel": n, "unit": _UNITS[n], "samples": p} for n, p in pairs.items()]).encode()
    )


def points_by_time(r: Rows) -> Written:
    """Points keyed by their stamps."""
    lists = _lists(r)
    lists.pop("stamp")
    points = {
        t: dict(zip(lists, row, strict=True))
        for t, row in zip(r.stamp(ISO), zip(*lists.values(), strict=True), strict=True)
    }
    return Written(".json", json.dumps({"points": points, "units": _UNITS}).encode())


def on_its_side(r: Rows) -> Written:
    """A line for each quantity."""
    names = ("UTC", "Latitude", "Longitude", "Altitude (ft)", "Groundspeed (kt)")
    return Written(".csv", encoded([",".join([n, *c]) for n, c in zip(names, _plain(r), strict=True)]))


def a_row_for_each_reading(r: Rows) -> Written:
    """time, parameter, value, unit."""
    units = {"Latitude": "deg", "Longitude": "deg", "Altitude": "ft", "Ground speed": "kt"}
    rows = [
        f"{row[0]},{n},{v},{u}"
        for row in zip(*_plain(r), strict=True)
        for (n, u), v in zip(units.items(), row[1:], strict=True)
    ]
    return Written(".csv", encoded(["timestamp,parameter,value,unit", *rows]))


def groups_over_names(r: Rows) -> Written:
    """GPS and AIR in the line above; Alt twice."""
    columns = [
        *_plain(r)[:3],
        texts(r["gps_alt"], 1),
        texts(r["gs"], 2),
        texts(r["ias"] / KT, 1),
        texts(r["alt"] / FT, 0),
    ]
    head = [",GPS,,,,AIR,", "UTC,Lat,Lon,Alt,Speed,IAS,Alt", ",deg,deg,m,m/s,kt,ft"]
    return Written(".csv", encoded([*head, *joined(columns)]), also=IAS)


def log_lines(r: Rows) -> Written:
    """name: value pairs after a clock."""
    rows = [
        f"[{t}] INFO nav: fix lat: {a}, lon: {o}, alt: {h} ft, speed: {v} kt"
        for t, a, o, h, v in zip(*_plain(r), strict=True)
    ]
    return Written(".log", encoded(rows))


def ticks_since_year_one(r: Rows) -> Written:
    """Hundreds of nanoseconds."""
    ticks = [str(round((s + 62_135_596_800.0) * 10.0) * 10**6) for s in r.t.tolist()]
    return Written(".csv", encoded(["Ticks,Lat,Lng,AltFt,Kt", *joined([ticks, *_plain(r)[1:]])]))


def minutes_from_utc(r: Rows) -> Written:
    """Local stamps beside an offset in minutes."""
    columns = [r.stamp("%Y-%m-%d %H:%M:%S", -18_000.0), ["-300"] * r.t.size, *_plain(r)[1:]]
    return Written(".csv", encoded(["local,utc_offset_min,lat,lon,alt_ft,gs_kt", *joined(columns)]))


def zone_by_name(r: Rows) -> Written:
    """Local date and clock, EST in a column."""
    columns = [r.stamp("%m/%d/%Y", -18_000.0), r.stamp("%I:%M:%S %p", -18_000.0), ["EST"] * r.t.size, *_plain(r)[1:]]
    return Written(".csv", encoded(["Date,Time,TZ,Lat,Lon,Alt (ft),GS (kt)", *joined(columns)]))


def words_that_speak_against_it(r: Rows) -> Written:
    """Nav lat, Avg alt."""
    return Written(".csv", encoded(["Ref time (UTC),Nav lat,Nav lon,Avg alt (ft),Avg gs (kt)", *joined(_plain(r))]))


def tenths_and_hundredths(r: Rows) -> Written:
    """dm, dm/s, the scale of the places in their names."""
    columns = [texts(r.t * 10.0, 0), *(texts(r[x] * 1e6, 0) for x in ("lat", "lon")), texts(r["gps_alt"] * 10.0, 0)]
    columns += [texts(r["gs"] * 100.0, 0), texts(r["track"] * 100.0, 0)]
    return Written(".csv", encoded(["T_ds,lat_x1e6,lon_x1e6,alt_dm,SPD_CMS,CRS_CD", *joined(columns)]))


def degrees_and_minutes_apart(r: Rows) -> Written:
    """LatDeg, LatMin, NS."""
    columns = [r.stamp(f) for f in ("%Y", "%m", "%d", "%H", "%M", "%S")]
    for name, sides in (("lat", "NS"), ("lon", "EW")):
        size = np.abs(r[name])
        columns += [texts(np.floor(size), 0), texts(size % 1.0 * 60.0, 4), [sides[int(v < 0.0)] for v in r[name]]]
    columns += [texts(r["gps_alt"] / FT, 0), texts(r["gs"] / KT, 1)]
    return Written(
        ".csv", encoded(["YYYY,MM,DD,HH,MI,SS,LatDeg,LatMin,NS,LonDeg,LonMin,EW,AltFt,GSkt", *joined(columns)])
    )


def side_before_the_name(r: Rows) -> Written:
    """North Latitude, West Longitude."""
    columns = [r.stamp("%Y-%m-%d %H:%M:%S"), texts(r["lat"], 6), texts(-r["lon"], 6), *_plain(r)[3:]]
    return Written(
        ".csv", encoded(["UT,North Latitude (deg),West Longitude (deg),Elevation (ft),GS (kt)", *joined(columns)])
    )


def zone_in_the_name(r: Rows) -> Written:
    """Uhrzeit (MESZ)."""
    columns = [r.stamp("%d.%m.%Y %H:%M:%S", 7_200.0), *_plain(r)[1:]]
    return Written(".csv", encoded(["Uhrzeit (MESZ);Breite;Länge;Höhe (ft);GS (kt)", *joined(columns, ";")]))


def zone_in_brackets(r: Rows) -> Written:
    """2026-05-09T10:12:30+02:00[Europe/Vienna] (RFC 9557)."""
    columns = [[f"{s}+02:00[Europe/Vienna]" for s in r.stamp("%Y-%m-%dT%H:%M:%S", 7_200.0)], *_plain(r)[1:]]
    return Written(".csv", encoded(["moment,lat,lon,alt_ft,gs_kt", *joined(columns)]))


def minutes_and_seconds_from_a_start(r: Rows) -> Written:
    """Elapsed (mm:ss) under a line that tells the start."""
    s = np.round(r.t - r.t[0]).astype(int).tolist()
    columns = [[f"{x // 60}:{x % 60:02d}" for x in s], *_plain(r)[1:]]
    head = f"Flight started: {r.stamp('%d %b %Y %H:%M:%S', -21_600.0)[0]} MDT"
    return Written(".csv", encoded([head, "Elapsed (mm:ss),Lat,Lon,MSL (ft),GS (kt)", *joined(columns)]))


def units_under_their_columns(r: Rows) -> Written:
    """Fixed width; the row of units is one short, each stands under its name."""
    widths = (9, 12, 12, 8, 7)
    rows = [["HHMMSS", "LAT", "LON", "ALT", "GS"], ["", "deg", "deg", "ft", "kt"]]
    rows += [list(x) for x in zip(r.stamp("%H%M%S"), *_plain(r)[1:], strict=True)]
    return Written(
        ".txt", encoded(["".join(c.rjust(w) for c, w in zip(row, widths, strict=True)) for row in rows]), dated=False
    )


def xml_fixes(r: Rows) -> Written:
    """XML of no standard kind: attributes, units in an element of their own."""
    rows = [
        f'<fix when="{t}" lat="{a}" lon="{o}" altitude="{h}" groundSpeed="{v}"/>'
        for t, a, o, h, v in zip(*_plain(r), strict=True)
    ]
    return Written(
        ".xml",
        encoded(['<?xml version="1.0"?>', '<log><units altitude="ft" groundSpeed="kt"/><way>', *rows, "</way></log>"]),
    )


def xml_elements(r: Rows) -> Written:
    """XML of no standard kind: elements, their units as attributes, the start at the root."""
    t = texts(r.t - r.t[0], 1)
    rows = [
        f'<p><t>{s}</t><lat>{a}</lat><lon>{o}</lon><alt unit="ft">{h}</alt><v unit="kt">{v}</v></p>'
        for s, (_, a, o, h, v) in zip(t, zip(*_plain(r), strict=True), strict=True)
    ]
    return Written(".xml", encoded([f'<flight start="{r.stamp(ISO)[0]}">', *rows, "</flight>"]))


def web_page(r: Rows) -> Written:
    """A page with a table."""
    head = "".join(f"<th>{n}</th>" for n in ("UTC", "Lat", "Lon", "Alt ft", "GS kt"))
    rows = ["<tr>" + "".join(f"<td>{c}</td>" for c in row) + "</tr>" for row in zip(*_plain(r), strict=True)]
    return Written(".html", encoded([f"<html><body><table><tr>{head}</tr>", *rows, "</table></body></html>"]))


def objects_in_cells(r: Rows) -> Written:
    """A message's text in a cell: {"lat": ...}."""
    rows = [
        f'{s:.0f},nav,"{{""lat"":{a},""lon"":{o},""alt_ft"":{h},""gs_kt"":{v}}}"'
        for s, (_, a, o, h, v) in zip(r.t, zip(*_plain(r), strict=True), strict=True)
    ]
    return Written(".csv", encoded(["ts,topic,payload", *rows]))


def packed_places(r: Rows) -> Written:
    """S401200.0W0711800.0."""
    places = []
    for lat, lon in zip(r["lat"].tolist(), r["lon"].tolist(), strict=True):
        text = ""
        for value, sides, digits in ((lat, "NS", 2), (lon, "EW", 3)):
            tenths = round(abs(value) * 36_000.0)
            text += (
                f"{sides[value < 0]}{tenths // 36_000:0{digits}d}{tenths // 600 % 60:02d}{tenths % 600 / 10.0:04.1f}"
            )
        places.append(text)
    return Written(".csv", encoded(["UTC,POS,ALT_FT,GS_KT", *joined([r.stamp(ISO), places, *_plain(r)[3:]])]))


def batches(r: Rows) -> Written:
    """JSON lines of ten readings each."""
    lists = _lists(r)
    lists.pop("stamp")
    stamps, n = r.stamp(ISO), r.t.size // 10 * 10
    rows = [{"t0": stamps[k], "dt_s": 1.0, **{q: v[k : k + 10] for q, v in lists.items()}} for k in range(0, n, 10)]
    return Written(".jsonl", encoded([json.dumps(row | {"units": _UNITS}) for row in rows]))


def rows_of_kinds(r: Rows) -> Written:
    """GPS,... and AIR,... in turn, each kind with names of its own."""
    lines = ["HDR,GPS,utc,lat,lon,alt_ft,gs_kt", "HDR,AIR,utc,ias_kt,oat_c"]
    for (t, *place), ias, oat in zip(
        zip(*_plain(r), strict=True), texts(r["ias"] / KT, 1), texts(r["oat"], 1), strict=True
    ):
        lines += [f"GPS,{t},{','.join(place)}", f"AIR,{t},{ias},{oat}"]
    return Written(".csv", encoded(lines), also=IAS)


def factors_in_the_names(r: Rows) -> Written:
    """lat*1e5, alt_ft/10."""
    columns = [r.stamp(ISO), *(texts(r[x] * 1e5, 0) for x in ("lat", "lon")), texts(r["gps_alt"] / FT / 10.0, 1)]
    head = "utc,lat*1e5,lon*1e5,alt_ft/10,gs_kt*10"
    return Written(".csv", encoded([head, *joined([*columns, texts(r["gs"] / KT * 10.0, 0)])]))


def signs_and_digits_of_print(r: Rows) -> Written:
    """Typographic minus signs, Arabic digits."""
    digits = str.maketrans({"-": "\u2212", ".": "\u066b", **{str(k): chr(0x660 + k) for k in range(10)}})
    columns = [[c.translate(digits) for c in column] for column in _plain(r)[1:]]
    return Written(".csv", encoded(["utc;lat;lon;alt_ft;gs_kt", *joined([r.stamp(ISO), *columns], ";")]))


def drawn_table(r: Rows) -> Written:
    """A table in drawn lines."""
    rows = ["\u2502 " + " \u2502 ".join(row) + " \u2502" for row in zip(*_plain(r), strict=True)]
    line = "\u253c".join(["\u2500" * 12] * 5)
    return Written(
        ".txt",
        encoded(
            [
                f"\u250c{line}\u2510",
                "\u2502 UTC \u2502 Lat \u2502 Lon \u2502 Alt ft \u2502 GS kt \u2502",
                f"\u251c{line}\u2524",
                *rows,
            ]
        ),
    )


def height_above_the_ellipsoid(r: Rows) -> Written:
    """The geoid's height stands beside it."""
    columns = [*_plain(r)[:3], texts(r["gps_alt"] + 47.2, 1), ["47.2"] * r.t.size, texts(r["gs"], 2)]
    return Written(".csv", encoded(["utc,lat,lon,ellipsoid_height_m,geoid_sep_m,gs_mps", *joined(columns)]))


CONTAINERS: dict[str, Callable[[Rows], Written]] = {
    f.__name__: f
    for f in (
        names_in_another_object, column_objects, channels, points_by_time, on_its_side,
        a_row_for_each_reading, groups_over_names, log_lines,
        ticks_since_year_one, minutes_from_utc, zone_by_name, words_that_speak_against_it,
        tenths_and_hundredths, degrees_and_minutes_apart, side_before_the_name, zone_in_the_name,
        zone_in_brackets, minutes_and_seconds_from_a_start, units_under_their_columns, xml_fixes, xml_elements,
        web_page, objects_in_cells, packed_places, batches, rows_of_kinds,
        factors_in_the_names, signs_and_digits_of_print, drawn_table, height_above_the_ellipsoid,
    )
}  # fmt: skip
