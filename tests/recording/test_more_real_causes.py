"""Further causes that real files of public repositories showed, in small tables of our own, each with its opposite."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.errors import InputError
from airwork.recording import read_flight
from airwork.recording.flight import Flight
from recording.made_flight import START_UTC_S, lesson, stamp
from recording.writing import DEG, GET, save, table

MADE = lesson(1_500.0, 1.0)
N = MADE.time_s.size
ISO = [stamp(START_UTC_S + t) for t in MADE.time_s]
POSITIONS = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7)}
PLAIN = {**POSITIONS, "altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}


def put(name: str, values: object) -> str:
    """A column of its own for `table`, under a name of the test."""
    GET[name] = lambda made: np.asarray(values, dtype=float)
    return name


def said(flight: Flight) -> str:
    return " | ".join(m.what for m in flight.mends)


@pytest.mark.parametrize(("name", "share"), [("FLIGHT;L", 0.1), ("HOTTEST", 1.0)])
def test_numbers_that_change_are_no_names_of_aircraft(tmp_path: Path, name: str, share: float) -> None:
    """Liters used, the hottest cylinder: what comes and goes between the rows of one airplane parts no tracks."""
    values = np.round(np.random.default_rng(7).integers(0, 6, N) * share, 1)
    names = {"RPM": ("rpm", 0), "MP;InHg": (put("x_mp", 20.0 + 0.5 * values), 1), "FLOW;LPH": ("fuel_gal", 1)}
    text = table(MADE, {**names, name: (put("x_name", values), 1)}, time_names="TIME")
    assert len(read_flight(save(tmp_path, text))) == N


def test_whole_numbers_that_part_the_rows_into_tracks_name_aircraft(tmp_path: Path) -> None:
    rows = [
        f"{stamp(START_UTC_S + k)},{k % 3},{40 + k % 3 + k * 4e-4:.5f},{10 + 2 * (k % 3) + k * 3e-4:.5f},3000"
        for k in range(90)
    ]
    with pytest.raises(InputError, match="holds 3 aircraft"):
        read_flight(save(tmp_path, "time,unit,lat,lon,altitude_ft\n" + "\n".join(rows) + "\n"))


def test_what_a_points_words_say_as_an_object_is_read(tmp_path: Path) -> None:
    """{"spd": 32.8, "crs": 203, "alt": 248}: speed and track; the height once more is no altimeter's."""
    cells = zip(ISO, *(GET[k](MADE) for k in ("lat_deg", "lon_deg", "alt_m", "gs_mps", "trk_deg")), strict=True)
    points = "".join(
        f'<trkpt lat="{a:.6f}" lon="{o:.6f}"><ele>{h:.0f}</ele><time>{t}</time>'
        f'<desc>{{"spd":{v:.2f},"crs":{c:.0f},"alt":{h:.0f}}}</desc></trkpt>'
        for t, a, o, h, v, c in cells
    )
    flight = read_flight(save(tmp_path, f"<gpx><trk><trkseg>{points}</trkseg></trk></gpx>", "x.gpx"))
    assert {flight.columns[n].known for n in ("groundspeed_mps", "track_rad")} == {"measured"}
    assert np.nanmax(np.abs(flight["groundspeed_mps"] - MADE.groundspeed_mps)) < 0.1
    assert not flight.has("indicated_altitude_m")


def test_a_few_rows_below_a_long_head_are_found(tmp_path: Path) -> None:
    head = "\n".join(["Flight Data Recording", *(f"Unit ID {k} of some words here" for k in range(9))])
    text = table(MADE, {**PLAIN, "RPM": ("rpm", 0)}, before=f"{head}\n\n")
    few = read_flight(save(tmp_path, "\n".join(text.split("\n")[:16]) + "\n"))
    assert few.has("latitude_rad", "rpm")


def test_a_day_under_the_name_of_a_time_is_the_day(tmp_path: Path) -> None:
    clock = [f"05-28-2026,{s[11:19]}" for s in ISO]
    text = table(MADE, PLAIN, times=clock, time_names="UTC_D,UTC_T")
    assert read_flight(save(tmp_path, text)).start_utc_s == pytest.approx(START_UTC_S)


def test_without_a_fix_the_height_of_nought_is_none(tmp_path: Path) -> None:
    rows = [f"{s},0.0,0.0,0.0,{1_000 + k}" for k, s in enumerate(ISO[:100])]
    flight = read_flight(save(tmp_path, "time,lat,lon,Alt,RPM\n" + "\n".join(rows) + "\n"))
    assert not flight.has("gps_altitude_m")
    assert not any(m.asks for m in flight.mends)


def test_an_engine_that_hardly_turns_is_none(tmp_path: Path) -> None:
    """A field for the engine's speed that holds 1 throughout isn't used; one of 2,400 is."""
    names = {**PLAIN, "RPM": (put("x_one", np.ones(N)), 0)}
    assert not read_flight(save(tmp_path, table(MADE, names))).has("rpm")
    assert read_flight(save(tmp_path, table(MADE, {**PLAIN, "RPM": ("rpm", 0)}))).has("rpm")


def test_a_column_that_does_not_go_with_the_altitude_is_none(tmp_path: Path) -> None:
    """Elev of an elevator: it comes and goes with the hand, not with the height."""
    hand = np.round(400.0 * np.sin(MADE.time_s) * np.sin(0.13 * MADE.time_s) - 50.0)
    names = {**POSITIONS, "GPS Altitude (m)": ("alt_m", 1), "IAS (kt)": ("ias_kt", 1), "Elev": (put("x_hand", hand), 0)}
    assert not read_flight(save(tmp_path, table(MADE, names))).has("indicated_altitude_m")
    names["Elev"] = (put("x_high", GET["alt_ft"](MADE) + 90.0), 0)
    assert read_flight(save(tmp_path, table(MADE, names))).has("indicated_altitude_m")


@pytest.mark.parametrize("sum_of", [False, True])
def test_signs_beside_sides_in_sentences_without_checksums(tmp_path: Path, sum_of: bool) -> None:
    """-3003.19,N is south. A sentence that carries a checksum is left as it is, and refused in its own words."""
    lines = []
    for k in range(60):
        body = f"GPRMC,1154{k:02d}.000,A,-3003.{1914 + 30 * k:04d},N,-5126.2728,E,60.0,180.0,000070,,,A"
        total = 0
        for c in body.encode():
            total ^= c
        lines.append(f"${body}*{total:02X}" if sum_of else f"${body}")
    path = save(tmp_path, "\n".join(lines) + "\n", "x.nmea")
    if sum_of:
        with pytest.raises(InputError, match="can't be read"):
            read_flight(path)
    else:
        flight = read_flight(path)
        assert flight["latitude_rad"][0] * DEG == pytest.approx(-30.0532, abs=1e-3)
        assert flight["longitude_rad"][0] * DEG == pytest.approx(-51.4379, abs=1e-3)
        assert not np.isfinite(flight.start_utc_s)


def test_degrees_under_the_names_of_axes_are_places(tmp_path: Path) -> None:
    names = {"North": ("lat_deg", 6), "East": ("lon_deg", 6), "Height m": ("alt_m", 1)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert np.nanmax(np.abs(flight["latitude_rad"] - MADE.latitude_rad)) < 1e-6
    meters = {"North": (put("x_n", MADE.north_m), 1), "East": (put("x_e", MADE.east_m), 1), "Height m": ("alt_m", 1)}
    assert not read_flight(save(tmp_path, table(MADE, meters), "m.csv")).has("latitude_rad")


def test_of_a_computers_many_kinds_of_lines_those_of_the_flight_are_read(tmp_path: Path) -> None:
    """Settings by a clock of their own, motors, sensors that are there twice: none of them is the flight's time."""
    kinds = {f"M{k}": "TimeUS,A,B,C" for k in range(14)} | {"PRM": "TimeUS,Name,Value", "TAB": "Type,Id,Mult"}
    kinds |= {"FIX": "TimeUS,Lat,Lng,Alt,Spd", "ATT": "TimeUS,Roll,Pitch", "EKF": "TimeUS,Core,VN,VE"}
    lines = [f"FMT, {k}, 9, {name}, Qff, {names}" for k, (name, names) in enumerate(kinds.items())]
    lines += [f"PRM, 9000{k:02d}, NAME_{k}, {k}.5" for k in range(60)] + [f"TAB, {k}, {k}, 100" for k in range(60)]
    columns = (MADE.time_s, *(GET[n](MADE) for n in ("lat_deg", "lon_deg", "alt_m", "gs_mps", "bank_deg")))
    for t, a, o, h, v, b in zip(*columns, strict=True):
        us = 1_000_000 + round(t * 1e6)
        lines += [f"FIX, {us}, {a:.7f}, {o:.7f}, {h:.1f}, {v:.2f}", f"ATT, {us}, {b:.2f}, 0.5"]
        lines += [f"EKF, {us}, {c}, {c}.1, {v:.1f}" for c in (0, 1)]
        lines += [f"M{k}, {us}, {k}, 2, 3" for k in range(14)]
    flight = read_flight(save(tmp_path, "\n".join(lines) + "\n", "x.log"))
    assert len(flight) == N
    assert np.nanmax(np.abs(flight["latitude_rad"] - MADE.latitude_rad)) < 1e-6
    assert flight.columns["bank_rad"].known == "measured"
