"""Files as instructors have them: re-saved spreadsheets, tagged logs, monitors, simulators, other tongues.

Written and scored once before a line of the readers was changed for them: see docs/reading-recordings.md. Common practice, no
source, no maker's own format.
"""

# ruff: noqa: E501
from __future__ import annotations

import json
from collections.abc import Callable

import numpy as np

from faults.layouts import FPM, FT, IAS, KMH, KT, Array, Rows, Written, encoded, joined, texts
from faults.other_hands import ISO, commas

INHG, HPA, GPH, LPH = 3386.389, 100.0, 3.785411784e-3 / 3600.0, 1e-3 / 3600.0
RPM, FLOW, MAP = ("rpm", "rpm", 12.0), ("ff", "fuel_flow_m3ps", 0.3 * LPH), ("map", "manifold_pressure_pa", 250.0)
SLOW = (("rpm", "rpm", 90.0), ("ff", "fuel_flow_m3ps", 2.5 * LPH))  # a reading in 3 to 5 s of hands that move
MAG, TRUE = ("hdg", "heading_mag_rad", 2.0), ("thdg", "heading_rad", 2.0)
BANK, OAT = ("bank", "bank_rad", 1.5), ("oat_k", "oat_k", 1.0)


def sheet(head: str, columns: list[list[str]], gap: str = ",", *, before: str = "", after: str = "", codec: str = "utf-8",
          end: str = "\n", also: tuple[tuple[str, str, float], ...] = (), height_m: float = 1.0, dated: bool = True) -> Written:  # fmt: skip
    """A delimited file: what stands before the names, the names, the rows, what stands after them."""
    lines = [*before.split("\n")] if before else []
    lines += [*head.split("\n"), *joined(columns, gap), *(after.split("\n") if after else [])]
    return Written(".csv", encoded(lines, end, codec), also=also, height_m=height_m, dated=dated)


def comma(values: Array, digits: int) -> list[str]:
    return commas(texts(values, digits))


def tagged_rows(r: Rows) -> Written:
    """A first word says the kind; each kind's columns stand in a remark; four rates."""
    fast = Rows(r.clean, np.arange(r.t[0], r.t[-1], 0.25))
    slow = Rows(r.clean, r.t[::5])
    rows: list[tuple[float, str]] = []
    for kind, rate, columns in (
        ("$gps", r, [texts(r["lat"], 7), texts(r["lon"], 7), texts(r["gps_alt"], 1), texts(r["gs"], 2), texts(r["track"], 1)]),
        ("$att", fast, [texts(fast["bank"], 2), texts(fast["pitch"], 2), texts(fast["hdg"], 1)]),
        ("$air", r, [texts(r["ias"] / KT, 1), texts(r["alt"] / FT, 0)]),
        ("$eng", slow, [texts(slow["rpm"], 0), texts(slow["ff"] / LPH, 2)]),
    ):  # fmt: skip
        rows += zip(rate.t.tolist(), joined([[kind] * rate.t.size, texts(rate.t * 1e3, 0), *columns]), strict=True)
    head = [
        "# flight log",
        "# $gps: unix_ms, lat, lon, alt_msl_m, gs_mps, track_true",
        "# $att: unix_ms, roll_deg, pitch_deg, heading_mag",
        "# $air: unix_ms, ias_kt, alt_ind_ft",
        "# $eng: unix_ms, rpm, fuel_flow_lph",
    ]
    body = [row for _, row in sorted(rows, key=lambda x: x[0])]
    return Written(".log", encoded([*head, *body]), also=(*IAS, MAG, BANK, *SLOW))


def rows_declared_first(r: Rows) -> Written:
    """Rows that name the columns of each kind first, clocks in microseconds since power-up, week and milliseconds."""
    fast = Rows(r.clean, np.arange(r.t[0], r.t[-1], 0.2))
    rows: list[tuple[float, str]] = []
    week_s = r.t - 315_964_800.0 + 18.0
    gps = [texts((r.t - r.t[0] + 41.0) * 1e6, 0), texts(np.mod(week_s, 604_800.0) * 1e3, 0),
           texts(week_s // 604_800.0, 0), texts(r["lat"], 7), texts(r["lon"], 7), texts(r["gps_alt"], 2),
           texts(r["gs"], 2), texts(r["track"], 1)]  # fmt: skip
    att = [
        texts((fast.t - r.t[0] + 41.0) * 1e6, 0),
        texts(fast["bank"], 2),
        texts(fast["pitch"], 2),
        texts(fast["hdg"], 1),
    ]
    air = [texts((r.t - r.t[0] + 41.0) * 1e6, 0), texts(r["ias"], 2)]
    for kind, rate, columns in (("SAT", r, gps), ("ROLLS", fast, att), ("PITOT", r, air)):
        rows += zip(rate.t.tolist(), joined([[kind] * rate.t.size, *columns], ", "), strict=True)
    head = [
        "COLUMNS, 1, SAT, t_us, tow_ms, gps week, lat, lon, alt, speed, track",
        "COLUMNS, 2, ROLLS, t_us, bank, pitch, heading",
        "COLUMNS, 3, PITOT, t_us, airspeed",
    ]
    body = [row for _, row in sorted(rows, key=lambda x: x[0])]
    return Written(".log", encoded([*head, *body]), also=(*IAS, BANK))


def kinds_named_in_first_rows(r: Rows) -> Written:
    """POS,... and ENG,... with a first row of names each, clocks of the day."""
    rows: list[tuple[float, str]] = []
    pos = [
        r.stamp("%H:%M:%S"),
        texts(r["lat"], 6),
        texts(r["lon"], 6),
        texts(r["gps_alt"] / FT, 0),
        texts(r["gs"] / KT, 1),
    ]
    few = Rows(r.clean, r.t[::3])
    eng = [few.stamp("%H:%M:%S"), texts(few["rpm"], 0), texts(few["map"] / INHG, 1), texts(few["ff"] / GPH, 1)]
    for kind, rate, columns in (("POS", r, pos), ("ENG", few, eng)):
        rows += zip(rate.t.tolist(), joined([[kind] * rate.t.size, *columns]), strict=True)
    head = ["POS,UTC,Lat,Lon,Alt ft,GS kt", "ENG,UTC,RPM,MAP inHg,FF gph"]
    body = [row for _, row in sorted(rows, key=lambda x: x[0])]
    return Written(".txt", encoded([*head, *body]), dated=False, also=SLOW)


def nought_on_the_ground(r: Rows) -> Written:
    """A receiver's list: height 0 while on the ground, pressure altitude in steps of 25 ft in the air."""
    place = [f'"{a:.6f},{o:.6f}"' for a, o in zip(r["lat"], r["lon"], strict=True)]
    height = np.where(r["ground"] > 0.5, 0.0, np.round(r["palt"] / FT / 25.0) * 25.0)
    columns = [texts(r.t, 0), r.stamp(ISO), ["DEMO1"] * r.t.size, place, texts(height, 0), texts(r["gs"] / KT, 0), texts(r["track"], 0)]  # fmt: skip
    return sheet("Seconds,UTC time,Callsign,Place,Height,Ground speed,Track", columns, height_m=8.0)


def units_under_strange_names(r: Rows) -> Written:
    """Unknown names; each cell carries its unit."""
    columns = [r.stamp(ISO), texts(r["lat"], 6), texts(r["lon"], 6), [f"{x} kt" for x in texts(r["gs"] / KT, 0)]]
    columns += [[f"{x} ft" for x in texts(r["gps_alt"] / FT, 0)], [f"{x} kt" for x in texts(r["ias"] / KT, 0)]]
    columns += [[f"{x} rpm" for x in texts(r["rpm"], 0)], [f"{x} gph" for x in texts(r["ff"] / GPH, 1)]]
    return sheet("UTC;Lat;Lon;zorg;blip;quux;wobble;slurp", columns, ";", also=(*IAS, RPM, FLOW))


def spanish_school(r: Rows) -> Written:
    """Spanish words throughout."""
    columns = _when_and_where(r, "%d/%m/%Y")
    columns += [comma(r["ias"] / KT, 1), texts(r["hdg"], 0), texts(r["track"], 0), texts(r["rpm"], 0)]
    columns += [comma(r["map"] / INHG, 1), comma(r["ff"] / LPH, 1), comma(r["oat"], 1), comma(r["static"] / HPA, 1)]
    head = ("Fecha;Hora UTC;Latitud;Longitud;Altitud (ft);Velocidad indicada (kt);Rumbo magnético;Derrota;Régimen motor"
            " (rpm);Presión de admisión (inHg);Caudal de combustible (L/h);Temperatura exterior (°C);Presión hPa")  # fmt: skip
    return sheet(head, columns, ";", codec="cp1252", end="\r\n", also=(*IAS, MAG, RPM, MAP, FLOW, OAT))


def french_club(r: Rows) -> Written:
    """French words; totals below the rows."""
    columns = [r.stamp("%d/%m/%Y %H:%M:%S"), comma(r["lat"], 6), comma(r["lon"], 6), texts(r["alt"] / FT, 0)]
    columns += [texts(r["ias"] / KMH, 0), texts(r["gs"] / KMH, 0), texts(r["hdg"], 0), texts(r["rpm"], 0)]
    columns += [comma(r["map"] / INHG, 1), comma(r["ff"] / LPH, 1), comma(r["oat"], 1)]
    head = ("Date et heure (UTC);Latitude;Longitude;Altitude (pieds);Vitesse indiquée (km/h);Vitesse sol (km/h);Cap "
            "magnétique;Régime moteur (tr/min);Pression d'admission (inHg);Débit carburant (L/h);Température ext. (°C)")  # fmt: skip
    after = "Total;;;;;;;;;412,5;\nMoyenne;;;2150;168;171;;2280;;24,1;"
    return sheet(head, columns, ";", after=after, codec="cp1252", end="\r\n", also=(*IAS, MAG, RPM, MAP, FLOW, OAT))


def german_merged_head(r: Rows) -> Written:
    """Groups, names and units on three lines (merged cells), cp1252, decimal commas, a line of sums."""
    columns = _when_and_where(r, "%d.%m.%Y")
    columns += [comma(r["ias"] / KT, 1), comma(r["gs"] / KT, 1), texts(r["hdg"], 0), texts(r["thdg"], 0)]
    columns += [texts(r["rpm"], 0), comma(r["map"] / INHG, 1), comma(r["ff"] / LPH, 1)]
    head = ("Zeit;;Ort;;;Geschwindigkeit;;Steuerkurs;;Motor;;\n"
            "Datum;Uhrzeit (UTC);Breite;Länge;Höhe;IAS;über Grund;mw;rw;Drehzahl;Ladedruck;Kraftstofffluss\n"
            ";;°;°;ft;kt;kt;°;°;U/min;inHg;l/h")  # fmt: skip
    return sheet(head, columns, ";", after="Summe;;;;;;;;;;;305,2", codec="cp1252", end="\r\n", also=(*IAS, MAG, TRUE, RPM, MAP, FLOW))  # fmt: skip


def _when_and_where(r: Rows, day: str) -> list[list[str]]:
    """Date, clock, place with a decimal comma, altitude in feet: how a club's sheet begins."""
    return [r.stamp(day), r.stamp("%H:%M:%S"), comma(r["lat"], 6), comma(r["lon"], 6), texts(r["alt"] / FT, 0)]


def italian_club(r: Rows) -> Written:
    columns = _when_and_where(r, "%d/%m/%Y")
    columns += [
        comma(r["ias"] / KT, 1),
        texts(r["hdg"], 0),
        texts(r["rpm"], 0),
        comma(r["ff"] / LPH, 1),
        comma(r["oat"], 1),
    ]
    head = ("Data;Ora UTC;Latitudine;Longitudine;Quota (piedi);Velocità indicata (nodi);Prua magnetica;Giri motore;"
            "Flusso carburante (l/h);Temperatura esterna (°C)")  # fmt: skip
    return sheet(head, columns, ";", also=(*IAS, MAG, RPM, FLOW, OAT))


def portuguese_club(r: Rows) -> Written:
    columns = [r.stamp("%d/%m/%Y %H:%M:%S"), comma(r["lat"], 6), comma(r["lon"], 6), texts(r["alt"] / FT, 0)]
    columns += [texts(r["ias"] / KT, 0), texts(r["thdg"], 0), texts(r["rpm"], 0), comma(r["ff"] / LPH, 1), comma(r["static"] / HPA, 1)]  # fmt: skip
    head = ("Data/hora UTC;Latitude;Longitude;Altitude (pés);Velocidade indicada (nós);Proa verdadeira;Rotação do motor"
            " (rpm);Fluxo de combustível (L/h);Pressão atmosférica (hPa)")  # fmt: skip
    return sheet(head, columns, ";", also=(*IAS, TRUE, RPM, FLOW))


def dutch_club(r: Rows) -> Written:
    columns = _when_and_where(r, "%d-%m-%Y")
    columns += [texts(r["ias"] / KT, 0), texts(r["hdg"], 0), texts(r["rpm"], 0), comma(r["ff"] / LPH, 1), comma(r["static"] / HPA, 1)]  # fmt: skip
    head = ("Datum;Tijd (UTC);Breedtegraad;Lengtegraad;Hoogte (voet);Aangewezen snelheid (kt);Koers (magnetisch);"
            "Toerental (t/min);Brandstofverbruik (l/u);Luchtdruk (hPa)")  # fmt: skip
    return sheet(head, columns, ";", also=(*IAS, MAG, RPM, FLOW))


def polish_club(r: Rows) -> Written:
    columns = [r.stamp("%Y-%m-%d"), r.stamp("%H:%M:%S"), comma(r["lat"], 6), comma(r["lon"], 6), texts(r["alt"], 0)]
    columns += [
        texts(r["ias"] / KMH, 0),
        texts(r["hdg"], 0),
        texts(r["rpm"], 0),
        comma(r["ff"] / LPH, 1),
        comma(r["oat"], 1),
    ]
    head = ("Data;Czas UTC;Szerokość geograficzna;Długość geograficzna;Wysokość (m);Prędkość przyrządowa (km/h);Kurs"
            " magnetyczny;Obroty silnika (obr/min);Przepływ paliwa (l/h);Temperatura zewnętrzna (°C)")  # fmt: skip
    return sheet(head, columns, ";", also=(*IAS, MAG, RPM, FLOW, OAT))


def norths_in_the_header(r: Rows) -> Written:
    """Hdg (M), Trk(T), HDG °T."""
    columns = [r.stamp(ISO), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["alt"] / FT, 0), texts(r["ias"] / KT, 0)]
    columns += [texts(r["hdg"], 0), texts(r["thdg"], 0), texts(r["track"], 0), texts(r["gs"] / KT, 0), texts(r["static"] / HPA, 1)]  # fmt: skip
    head = "Time UTC,Lat,Lon,Alt (ft),IAS,Hdg (M),HDG °T,Trk(T),GS,Pressure hPa"
    return sheet(head, columns, also=(*IAS, MAG, TRUE, ("track", "track_rad", 2.0)))


def zone_in_the_header(r: Rows) -> Written:
    """Local Time (America/Toronto): four hours behind in June, five in January; here the flight's own day."""
    from datetime import datetime
    from zoneinfo import ZoneInfo

    ahead = datetime.fromtimestamp(float(r.t[0]), ZoneInfo("America/Toronto")).utcoffset()
    assert ahead is not None
    columns = [r.stamp("%Y-%m-%d", ahead.total_seconds()), r.stamp("%H:%M:%S", ahead.total_seconds())]
    columns += [texts(r["gps_alt"] / FT, 0), texts(r["gs"] / KT, 0), texts(r["lat"], 6), texts(r["lon"], 6)]
    return sheet("Date,Local Time (America/Toronto),GPS Alt (ft),GS (kt),Latitude,Longitude", columns)


def channels_with_rates(r: Rows) -> Written:
    """JSON: each channel has a rate, a start after the beginning, a unit and its values."""
    out = []
    for name, unit, column, factor, hz, late in (
        ("latitude", "deg", "lat", 1.0, 1.0, 0.0), ("longitude", "deg", "lon", 1.0, 1.0, 0.0),
        ("indicated altitude", "ft", "alt", FT, 2.0, 0.5), ("ground speed", "kt", "gs", KT, 1.0, 0.0),
        ("airspeed indicated", "kt", "ias", KT, 4.0, 1.25), ("roll", "deg", "bank", 1.0, 4.0, 0.25),
        ("engine rpm", "rpm", "rpm", 1.0, 0.5, 2.0),
    ):  # fmt: skip
        t = np.arange(r.t[0] + late, r.t[-1], 1.0 / hz)
        values = [round(float(x), 7) for x in Rows(r.clean, t)[column] / factor]
        out.append({"name": name, "unit": unit, "rate_hz": hz, "start": late, "values": values})
    start = r.stamp("%Y-%m-%dT%H:%M:%S.%fZ")[0]
    return Written(".json", json.dumps({"recorded": start, "channels": out}).encode(), also=(*IAS, BANK, SLOW[0]))


def channels_by_name(r: Rows) -> Written:
    """JSON: an object of channels, the slow ones with hz and t0 as stamps."""
    out = {}
    for name, column, factor, hz in (("lat_deg", "lat", 1.0, 1.0), ("lon_deg", "lon", 1.0, 1.0),
                                     ("alt_gps_m", "gps_alt", 1.0, 1.0), ("ias_kt", "ias", KT, 2.0),
                                     ("fuel_flow_gph", "ff", GPH, 0.2)):  # fmt: skip
        t = np.arange(r.t[0], r.t[-1], 1.0 / hz)
        values = [round(float(x), 7) for x in Rows(r.clean, t)[column] / factor]
        out[name] = {"hz": hz, "t0": r.stamp("%Y-%m-%dT%H:%M:%S.%fZ")[0], "data": values}
    return Written(".json", json.dumps({"aircraft": "DEMO1", "data": out}).encode(), also=(*IAS, SLOW[1]))


def simulator_properties(r: Rows) -> Written:
    """psi-true-rad, p-rps, flap-norm: a simulator's property names, seconds from its start."""
    rad = np.pi / 180.0
    columns = [texts(r.t - r.t[0], 2), texts(r["lat"] * rad, 9), texts(r["lon"] * rad, 9), texts(r["gps_alt"] / FT, 1)]
    columns += [texts(r["ias"] / KT, 1), texts(r["bank"] * rad, 4), texts(r["thdg"] * rad, 4), texts(r["gs"] / FT, 2)]
    columns += [texts(r["vs"] / FT, 2), texts(r["bank"] * 0.0 + 0.01, 3), texts(r["bank"] * 0.0, 2), texts(r["rpm"], 0)]
    head = ("sim-time-sec,lat-geod-rad,long-gc-rad,altitude-sl-ft,airspeed-kt,phi-rad,psi-true-rad,vg-fps,h-dot-fps,"
            "p-rps,flap-norm,engine-rpm")  # fmt: skip
    return sheet(head, columns, dated=False, also=(*IAS, BANK, TRUE, RPM))


def simulator_uprights(r: Rows) -> Written:
    """Names with their units behind a comma, parted and padded by uprights; local hours as a number."""
    hours = np.mod(r.t, 86_400.0) / 3_600.0
    columns = [texts(r.t - r.t[0], 3), texts(hours, 6), texts(r["ias"] / KT, 2), texts(r["tas"] / KT, 2), texts(r["gs"] / KT, 2)]  # fmt: skip
    columns += [
        texts(r["vs"] / FPM, 1),
        texts(r["pitch"], 2),
        texts(r["bank"], 2),
        texts(r["thdg"], 2),
        texts(r["hdg"], 2),
    ]
    columns += [texts(r["lat"], 6), texts(r["lon"], 6), texts(r["gps_alt"] / FT, 1), texts(r["rpm"], 0)]
    head = ("run, sec | zulu, hours | ind, kias | true, ktas | gs, kt | vs, fpm | pitch, deg | roll, deg | hdg, true | hdg, "
            "mag | lat, deg | lon, deg | alt, ftmsl | eng 1, rpm")  # fmt: skip
    return sheet(
        head, [[x.rjust(11) for x in c] for c in columns], " | ", dated=False, also=(*IAS, BANK, TRUE, MAG, RPM)
    )


def engine_monitor(r: Rows) -> Written:
    """A monitor's download: what it is above, cylinders, no position; a height of its own."""
    columns = [r.stamp("%m/%d/%Y"), r.stamp("%H:%M:%S")]
    columns += [texts(1_350.0 + 20.0 * k + 0.02 * r["rpm"], 0) for k in range(4)]
    columns += [texts(330.0 + 8.0 * k + 0.01 * r["rpm"], 0) for k in range(4)]
    columns += [texts(r["oat"] * 1.8 + 32.0, 0), ["185"] * r.t.size, ["62"] * r.t.size, texts(r["rpm"], 0)]
    columns += [texts(r["map"] / INHG, 1), texts(r["ff"] / GPH, 1), ["14.1"] * r.t.size]
    columns += [texts(r["lat"], 4), texts(r["lon"], 4), texts(r["gps_alt"] / FT, 0), texts(r["gs"] / KT, 0)]
    head = "DATE,TIME,E1,E2,E3,E4,C1,C2,C3,C4,OAT,OIL-T,OIL-P,RPM,MAP,FF,BAT,LAT,LNG,ALT,SPD"
    before = "Engine monitor download\nTail: DEMO1\nAll times UTC"
    return sheet(head, columns, before=before, also=(RPM, MAP, FLOW, OAT), height_m=1.0)


def american_spreadsheet(r: Rows) -> Written:
    """5/14/2026 1:45:10 PM, "1,234" with thousands, a title and an empty line above, an average below."""
    clock = [x.lstrip("0") for x in r.stamp("%m/%d/%Y %I:%M:%S %p")]
    thousands = [f'"{round(float(x)):,}"' for x in r["alt"] / FT]
    columns = [clock, texts(r["lat"], 6), texts(r["lon"], 6), thousands, texts(r["ias"] / KT, 0), texts(r["hdg"], 0)]
    columns += [[f'"{round(float(x)):,}"' for x in r["rpm"]], texts(r["ff"] / GPH, 1)]
    head = "Time (UTC),Latitude,Longitude,Indicated Altitude (ft),Airspeed (KIAS),Heading (mag),RPM,Fuel Flow (GPH)"
    return sheet(head, columns, before="Lesson 7,,,,,,,\n,,,,,,,", after=',,,"2,104",88,,"2,271",7.9', end="\r\n",
                 also=(*IAS, MAG, RPM, FLOW))  # fmt: skip


def tablet_track(r: Rows) -> Written:
    """A tablet's track: milliseconds, MSL feet, course, bank and pitch, accuracies."""
    one = ["4.0"] * r.t.size
    columns = [
        texts(r.t * 1e3, 0),
        texts(r["lat"], 6),
        texts(r["lon"], 6),
        texts(r["gps_alt"] / FT, 1),
        texts(r["gs"] / KT, 1),
    ]
    columns += [texts(r["track"], 1), texts(r["bank"], 1), texts(r["pitch"], 1), one, one]
    head = "Timestamp (ms),Latitude,Longitude,Altitude (ft MSL),Speed (kts),Course (true),Bank (deg),Pitch (deg),Horizontal Error (m),Vertical Error (m)"
    before = "Pilot,Tail Number,Derived Origin,Start Latitude,Start Longitude\nN/A,DEMO1,N/A,0.0,0.0"
    return sheet(head, columns, before=before, also=(BANK,))


def three_altimeters(r: Rows) -> Written:
    """Pressure, indicated and one called GPS, which is the altimeter's; the setting beside them."""
    columns = [r.stamp(ISO), texts(r["lat"], 6), texts(r["lon"], 6), texts(r["palt"] / FT, 0), texts(r["alt"] / FT, 0)]
    columns += [texts(r["alt"] / FT, 0), texts(r["set"] / INHG, 2), texts(r["gs"] / KT, 0)]
    return sheet("UTC,Lat,Lon,Pressure Alt,Baro Alt,Satellite Alt,Baro inHg,GS", columns)


def hours_as_a_number(r: Rows) -> Written:
    """UTC hours with a fraction; the day above."""
    columns = [
        texts(np.mod(r.t, 86_400.0) / 3_600.0, 6),
        texts(r["lat"], 6),
        texts(r["lon"], 6),
        texts(r["gps_alt"], 1),
    ]
    columns += [texts(r["gs"] / KMH, 1)]
    day = "# Flight of " + r.stamp("%d %B %Y")[0]
    return sheet("UTC hours (decimal),lat,lon,altitude m,speed km/h", columns, before=day)


def shouting_abbreviations(r: Rows) -> Written:
    """A data card's short capitals with units glued on."""
    columns = [
        r.stamp("%Y%m%d"),
        r.stamp("%H%M%S"),
        texts(r["lat"] * 1e7, 0),
        texts(r["lon"] * 1e7, 0),
        texts(r["palt"] / FT, 0),
    ]
    columns += [
        texts(r["ias"] / KT * 10.0, 0),
        texts(r["gs"] / KT * 10.0, 0),
        texts(r["hdg"] * 10.0, 0),
        texts(r["bank"] * 10.0, 0),
    ]
    columns += [texts(r["rpm"], 0), texts(r["ff"] / LPH * 10.0, 0), texts(r["map"] / HPA, 0)]
    head = "DATE_UTC,TIME_UTC,LAT_E7,LON_E7,PALT_FT,IAS_KT_X10,GS_KT_X10,MHDG_DEG_X10,ROLL_DEG_X10,RPM,FFLOW_LPH_X10,MAP_HPA"
    return sheet(head, columns, also=(*IAS, MAG, BANK, RPM, FLOW, MAP))


def rows_with_two_clocks_and_words(r: Rows) -> Written:
    """Switches as words, a flap as a word, blanks for what didn't change."""
    holes = np.arange(r.t.size) % 4 != 0
    blank = lambda x: ["" if h else v for h, v in zip(holes, x, strict=True)]  # noqa: E731
    columns = [
        r.stamp("%d-%b-%Y %H:%M:%S"),
        texts(r["lat"], 6),
        texts(r["lon"], 6),
        texts(r["alt"] / FT, 0),
        texts(r["ias"] / KT, 0),
    ]
    columns += [blank(texts(r["rpm"], 0)), blank(texts(r["ff"] / GPH, 1)), ["UP"] * r.t.size, ["BOTH"] * r.t.size]
    columns += [["GND" if g > 0.5 else "AIR" for g in r["ground"]]]
    head = "Zulu,Lat,Long,Alt Ind ft,KIAS,Tach RPM,Fuel Flow GPH,Flaps,Fuel Sel,Air/Gnd"
    return sheet(head, columns, also=(*IAS, *SLOW))


INSTRUCTORS: dict[str, Callable[[Rows], Written]] = {
    f.__name__: f
    for f in (
        tagged_rows, rows_declared_first, kinds_named_in_first_rows, nought_on_the_ground, units_under_strange_names,
        spanish_school, french_club, german_merged_head, italian_club, portuguese_club, dutch_club, polish_club,
        norths_in_the_header, zone_in_the_header, channels_with_rates, channels_by_name, simulator_properties,
        simulator_uprights, engine_monitor, american_spreadsheet, tablet_track, three_altimeters, hours_as_a_number,
        shouting_abbreviations, rows_with_two_clocks_and_words,
    )
}  # fmt: skip
