"""One flight written in many layouts is read as the same flight."""

from __future__ import annotations

import gzip
import io
import math
import zipfile
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from airwork.debrief import debrief
from airwork.errors import InputError
from airwork.recording import read_flight
from airwork.recording.flight import Flight
from airwork.standards import load_standard
from recording.made_flight import FT, KT, START_UTC_S, Made, fly, lesson, stamp
from recording.writing import FULL, GET, GPS, ias_mps, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")

MADE = fly(
    [(0.0, 0.0), (60.0, 0.0), (64.0, 30.0), (100.0, 30.0), (104.0, 0.0), (150.0, 0.0), (154.0, -25.0), (200.0, -25.0),
     (204.0, 0.0), (240.0, 0.0)],
    [(0.0, 95.0), (120.0, 105.0), (240.0, 90.0)],
    [(0.0, 2500.0), (100.0, 3400.0), (240.0, 3000.0)],
    duration_s=240.0, rate_hz=2.0,
)  # fmt: skip


def clock(pattern: str, shift_s: float = 0.0, digits: int = 1) -> list[str]:
    """Each sample's UTC time in a form of strftime-like letters, tenths as %f."""
    out = []
    for t in MADE.time_s:
        text = stamp(START_UTC_S + t + shift_s, digits)
        date, time = text[:10], text[11:-1]
        y, m, d = date.split("-")
        out.append(pattern.replace("%Y", y).replace("%m", m).replace("%d", d).replace("%T", time))
    return out


def same(flight: Flight, made: Made, *, speed: bool = True, start: bool = True) -> None:
    """The flight read is the flight made, to the digits written."""
    assert len(flight) == made.time_s.size
    assert flight.time_s == pytest.approx(made.time_s, abs=0.02)
    if start:
        assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=0.02)
    assert flight["latitude_rad"] == pytest.approx(made.latitude_rad, abs=2e-7)
    assert flight["longitude_rad"] == pytest.approx(made.longitude_rad, abs=2e-7)
    assert flight["altitude_m"] == pytest.approx(made.altitude_m, abs=0.4)
    assert flight["groundspeed_mps"] == pytest.approx(made.groundspeed_mps, abs=0.15)
    if speed:
        assert flight["ias_mps"] == pytest.approx(ias_mps(made), abs=0.15)
        assert flight["bank_rad"] == pytest.approx(made.bank_rad, abs=0.01)


def test_a_plain_csv(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, table(MADE, FULL)))
    same(flight, MADE)
    assert flight.columns["ias_mps"].known == "measured"
    assert flight.columns["tas_mps"].known == "derived"
    assert not flight.source["not_understood"]


def test_units_in_a_row_of_their_own(tmp_path: Path) -> None:
    columns = {"Latitude": FULL["Latitude (deg)"], "Longitude": FULL["Longitude (deg)"], "AltInd": ("alt_m", 2),
               "GndSpd": ("gs_kmh", 2), "IAS": ("ias_mph", 3), "Roll": ("bank_deg", 2)}  # fmt: skip
    text = table(MADE, columns, units="yyyy-mm-ddThh:mm:ss,deg,deg,m,km/h,mph,deg")
    same(read_flight(save(tmp_path, text)), MADE)


def test_no_names_at_all(tmp_path: Path) -> None:
    """Milliseconds, latitude, longitude, meters with blanks between; without the places nothing is made of numbers."""
    rows = [
        (f"{(START_UTC_S + t) * 1e3:.0f}", f"{math.degrees(y):.7f}", f"{math.degrees(x):.7f}", f"{h:.2f}")
        for t, y, x, h in zip(MADE.time_s, MADE.latitude_rad, MADE.longitude_rad, MADE.altitude_m, strict=True)
    ]
    flight = read_flight(save(tmp_path, "\n".join(map(" ".join, rows)), "plain.txt"))
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=0.02)
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=2e-7)
    assert flight["altitude_m"] == pytest.approx(MADE.altitude_m, abs=0.4)
    shaken = [(ms, f"{np.sin(3 * k):.7f}", f"{np.cos(7 * k):.7f}", "1.0") for k, (ms, *_) in enumerate(rows)]
    with pytest.raises(InputError, match="none of its columns"):
        read_flight(save(tmp_path, "\n".join(map(" ".join, shaken)), "shaken.txt"))


def test_minutes_and_seconds_under_a_row_of_units_with_a_last_line(tmp_path: Path) -> None:
    cells = [
        f"{int(t // 60):02d}:{t % 60:04.1f}\t{math.degrees(y):.7f}\t{math.degrees(x):.7f}\t{h:.2f}"
        for t, y, x, h in zip(MADE.time_s, MADE.latitude_rad, MADE.longitude_rad, MADE.altitude_m, strict=True)
    ]
    text = "\n".join(["# a log", "Elapsed\tLat.\tLon.\tAlt.", "\tdeg\tdeg\tm", *cells, "END OF LOG\t\t\t"])
    flight = read_flight(save(tmp_path, text, "log.tsv"))
    assert flight.time_s == pytest.approx(MADE.time_s, abs=0.02)
    assert flight["altitude_m"] == pytest.approx(MADE.altitude_m, abs=0.4)


def test_a_debrief_without_an_altitude_says_so_and_names_what_was_not_understood(tmp_path: Path) -> None:
    columns = {
        "Latitude (deg)": FULL["Latitude (deg)"],
        "Longitude (deg)": FULL["Longitude (deg)"],
        "zog": ("fuel_gal", 2),
    }
    first = debrief(read_flight(save(tmp_path, table(MADE, columns))), standard=load_standard("us_private")).first
    assert first[0].heading == "not known"
    assert first[0].text.startswith("Nothing can be recognized: no altitude was found in it. Not understood: zog;")


def test_semicolons_decimal_commas_byte_order_mark_and_separate_date(tmp_path: Path) -> None:
    times = [f"{d};{t.replace('.', ',')}" for d, t in zip(clock("%d.%m.%Y"), clock("%T"), strict=True)]
    text = table(MADE, FULL, times=times, time_names="date;time_utc", delimiter=";", decimal=",")
    same(read_flight(save(tmp_path, "\ufeff" + text)), MADE)


@pytest.mark.parametrize("delimiter", ["\t", "|", ";"])
def test_other_characters_part_the_fields(tmp_path: Path, delimiter: str) -> None:
    same(read_flight(save(tmp_path, table(MADE, FULL, delimiter=delimiter))), MADE)


def test_blanks_pad_the_fields(tmp_path: Path) -> None:
    text = table(MADE, FULL).replace(",", " ,    ")
    same(read_flight(save(tmp_path, text)), MADE)


def test_local_time_with_an_offset_column(tmp_path: Path) -> None:
    times = [f"{d},{t},-06:00" for d, t in zip(clock("%Y-%m-%d", -21600), clock("%T", -21600), strict=True)]
    text = table(
        MADE, FULL, times=times, time_names="Lcl Date,Lcl Time,UTCOfst", before="# recorder 7\n# units follow\n"
    )
    same(read_flight(save(tmp_path, text)), MADE)


def test_local_time_without_an_offset_is_that_of_the_place(tmp_path: Path) -> None:
    """Zone by the tz database's own rules: the made flight is in Chicago's, in May five hours behind UTC."""
    times = [f"{d},{t}" for d, t in zip(clock("%Y-%m-%d", -18000), clock("%T", -18000), strict=True)]
    flight = read_flight(save(tmp_path, table(MADE, FULL, times=times, time_names="Local Date,Local Time")))
    same(flight, MADE)
    assert any("by the position" in m.what for m in flight.mends)


def test_local_time_without_offset_and_place_is_said(tmp_path: Path) -> None:
    times = [f"{d},{t}" for d, t in zip(clock("%Y-%m-%d"), clock("%T"), strict=True)]
    bare = {name: column for name, column in FULL.items() if "itude" not in name.lower() or "alt" in name.lower()}
    flight = read_flight(save(tmp_path, table(MADE, bare, times=times, time_names="Local Date,Local Time")))
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=0.02)
    assert any("no offset" in m.what for m in flight.mends)


@pytest.mark.parametrize(("name", "factor"), [("timestamp", 1.0), ("time_ms", 1e3), ("epoch", 1e6)])
def test_epochs(tmp_path: Path, name: str, factor: float) -> None:
    times = [f"{(START_UTC_S + t) * factor:.2f}" for t in MADE.time_s]
    same(read_flight(save(tmp_path, table(MADE, FULL, times=times, time_names=name))), MADE)


def test_seconds_from_the_start_know_no_date(tmp_path: Path) -> None:
    times = [f"{t:.2f}" for t in MADE.time_s]
    flight = read_flight(save(tmp_path, table(MADE, FULL, times=times, time_names="Elapsed Time (s)")))
    same(flight, MADE, start=False)
    assert math.isnan(flight.start_utc_s)


def test_a_simulators_property_names(tmp_path: Path) -> None:
    columns = {
        "/fdm/jsbsim/position/lat-geod-deg": ("lat_deg", 8), "/fdm/jsbsim/position/long-gc-deg": ("lon_deg", 8),
        "/fdm/jsbsim/position/h-sl-ft": ("alt_ft", 2), "/fdm/jsbsim/velocities/vc-kts": ("ias_kt", 4),
        "/fdm/jsbsim/attitude/phi-rad": ("bank_rad", 5), "/fdm/jsbsim/attitude/psi-rad": ("hdg_rad", 5),
        "/fdm/jsbsim/velocities/vg-fps": ("gs_fps", 3),
    }  # fmt: skip
    GET.setdefault("gs_fps", lambda m: m.groundspeed_mps / FT)
    times = [f"{t:.2f}" for t in MADE.time_s]
    flight = read_flight(save(tmp_path, table(MADE, columns, times=times, time_names="Time")))
    assert flight["cas_mps"] == pytest.approx(ias_mps(MADE), abs=0.05)
    assert flight["bank_rad"] == pytest.approx(MADE.bank_rad, abs=1e-4)
    assert np.angle(np.exp(1j * (flight["heading_rad"] - MADE.heading_rad))) == pytest.approx(0.0, abs=1e-4)
    assert flight["groundspeed_mps"] == pytest.approx(MADE.groundspeed_mps, abs=0.01)


def test_columns_without_units_are_settled_by_the_others(tmp_path: Path) -> None:
    columns = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "altitude": ("alt_m", 1), "gps altitude": ("alt_ft", 1),
               "ground speed": ("gs_kmh", 2), "vertical speed": ("vs_mps", 2), "bank": ("bank_rad", 4)}  # fmt: skip
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    rows = {row["column"]: row for row in flight.source["understood"]}
    assert rows["ground speed"]["unit"] == "km/h"
    assert rows["bank"]["unit"] == "rad"
    assert rows["vertical speed"]["unit"] == "m/s"
    assert all(rows[n]["unit_how"] != "named" for n in ("lat", "ground speed", "bank"))
    assert flight["groundspeed_mps"] == pytest.approx(MADE.groundspeed_mps, abs=0.01)


def test_whole_numbers_of_scaled_units(tmp_path: Path) -> None:
    GET.update(
        lat_e7=lambda m: GET["lat_deg"](m) * 1e7, lon_e7=lambda m: GET["lon_deg"](m) * 1e7,
        alt_cm=lambda m: m.altitude_m * 100, gs_mkt=lambda m: m.groundspeed_mps / KT * 1000,
    )  # fmt: skip
    columns = {"Lat": ("lat_e7", 0), "Lon": ("lon_e7", 0), "Vel": ("gs_mkt", 0), "Alt": ("alt_cm", 0)}
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    assert [row["unit"] for row in flight.source["understood"][1:]] == ["1e-07 deg", "1e-07 deg", "0.001 kt", "cm"]
    same(flight, MADE, speed=False)


def test_a_name_used_twice_and_an_unknown_column(tmp_path: Path) -> None:
    GET.setdefault("blank", lambda m: np.zeros(m.time_s.size))
    GET.setdefault("odd", lambda m: 7.0 + np.round(5.0 * np.sin(m.time_s * m.time_s)))
    columns = {**FULL, "Flurbo": ("odd", 0), "Zagro state": ("blank", 0), "IAS (kt) ": ("blank", 0)}
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    same(flight, MADE)
    assert flight.source["not_understood"] == ["Flurbo"]


def test_rows_too_long_too_short_and_comments_between(tmp_path: Path) -> None:
    lines = table(MADE, FULL).splitlines()
    lines[50] += ",1,2,3"
    lines[60] = lines[60][: len(lines[60]) // 2]
    lines.insert(70, "# engine start noted by hand")
    flight = read_flight(save(tmp_path, "\n".join(lines) + "\n"))
    assert len(flight) == MADE.time_s.size
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=1e-6)


def test_a_line_cut_off_in_the_middle_is_left_out_and_said(tmp_path: Path) -> None:
    text = table(MADE, FULL)
    flight = read_flight(save(tmp_path, text[: text.rindex("\n", 0, -1) + 30]))
    assert len(flight) == MADE.time_s.size - 1
    assert any("cut off" in m.what for m in flight.mends)


def test_cells_that_are_no_numbers_are_counted(tmp_path: Path) -> None:
    lines = table(MADE, FULL).splitlines()
    for k in (30, 40, 50):
        cells = lines[k].split(",")
        cells[8] = "ERR" if k < 50 else "---"  # the last is a word for none
        lines[k] = ",".join(cells)
    flight = read_flight(save(tmp_path, "\n".join(lines) + "\n"))
    assert any("2 cells of 'IAS (kt)' are no numbers ('err')" in m.what for m in flight.mends)
    assert flight["ias_mps"] == pytest.approx(ias_mps(MADE), abs=0.3)  # bridged


def test_old_and_dos_line_ends_and_latin_letters(tmp_path: Path) -> None:
    text = table(MADE, {**FULL, "Höhe": ("alt_m", 1)})
    for raw in (text.replace("\n", "\r\n").encode("cp1252"), text.replace("\n", "\r").encode("cp1252")):
        same(read_flight(save(tmp_path, raw)), MADE)


@pytest.mark.parametrize("codec", ["utf-16", "utf-16-le", "utf-8-sig", "utf-32"])
def test_wide_letters(tmp_path: Path, codec: str) -> None:
    same(read_flight(save(tmp_path, table(MADE, FULL).encode(codec))), MADE)


def test_packed_files_whatever_their_name(tmp_path: Path) -> None:
    raw = table(MADE, FULL).encode()
    same(read_flight(save(tmp_path, gzip.compress(raw), "a.dat")), MADE)
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("__MACOSX/._x.csv", b"xx")
        archive.writestr("flight.csv", raw)
    flight = read_flight(save(tmp_path, box.getvalue(), "b.bin"))
    same(flight, MADE)
    assert flight.source["packed"] == "zip"


def frame(made: Made) -> pl.DataFrame:
    """State vectors of two aircraft in SI, as surveillance networks hand them out."""
    n = made.time_s.size
    mine = {
        "time": START_UTC_S + made.time_s, "icao24": ["a1b2c3"] * n, "lat": GET["lat_deg"](made),
        "lon": GET["lon_deg"](made),
        "velocity": made.groundspeed_mps, "heading": GET["trk_deg"](made), "vertrate": made.vertical_speed_mps,
        "callsign": ["DEMO1   "] * n, "onground": [False] * n, "baroaltitude": made.altitude_m,
        "geoaltitude": made.altitude_m + 30.0,
    }  # fmt: skip
    other = {**mine, "icao24": ["ffffff"] * n, "lat": GET["lat_deg"](made) + 1.0}
    return pl.concat([pl.DataFrame(mine), pl.DataFrame(other)]).sort("time")


@pytest.mark.parametrize("form", ["csv", "parquet", "arrow"])
def test_state_vectors_of_several_aircraft(tmp_path: Path, form: str) -> None:
    path = tmp_path / f"states.{form}"
    {
        "csv": lambda f: f.write_csv(path),
        "parquet": lambda f: f.write_parquet(path),
        "arrow": lambda f: f.write_ipc(path),
    }[form](frame(MADE))
    with pytest.raises(InputError, match=r"holds 2 aircraft: .*a1b2c3.*--aircraft"):
        read_flight(path)
    with pytest.raises(InputError, match="no aircraft 'zz'"):
        read_flight(path, aircraft="zz")
    flight = read_flight(path, aircraft="A1B2C3")
    same(flight, MADE, speed=False)
    assert flight["pressure_altitude_m"] == pytest.approx(MADE.altitude_m, abs=0.1)
    assert flight["track_rad"] == pytest.approx(MADE.track_rad, abs=1e-3)  # "heading" is the track there
    assert flight["vertical_speed_mps"] == pytest.approx(MADE.vertical_speed_mps, abs=0.01)


def test_the_aircraft_with_most_rows_is_read_and_the_other_said(tmp_path: Path) -> None:
    """A receiver that saw another one for a while; equal shares are asked about (above)."""
    both = frame(MADE)
    mine, other = both.filter(pl.col("icao24") == "a1b2c3"), both.filter(pl.col("icao24") == "ffffff")
    path = tmp_path / "states.csv"
    pl.concat([mine, other[: len(mine) // 3]]).sort("time").write_csv(path)
    flight = read_flight(path)
    same(flight, MADE, speed=False)
    assert any(m.what.startswith("1 other aircraft left out (ffffff)") for m in flight.mends)


def test_one_aircraft_under_a_callsign_a_day_is_one_aircraft(tmp_path: Path) -> None:
    """Its longest flight is read, the rest said; each is still chosen by its callsign."""
    mine = frame(MADE).filter(pl.col("icao24") == "a1b2c3")
    early = mine[:200].with_columns(pl.col("time") - 3 * 86_400, pl.lit("DEMO0").alias("callsign"))
    path = tmp_path / "days.csv"
    pl.concat([early, mine]).write_csv(path)
    flight = read_flight(path)
    same(flight, MADE, speed=False)
    assert any("200 rows days away" in m.what for m in flight.mends)
    assert len(read_flight(path, aircraft="demo0")) == 200


def test_positions_in_degrees_and_minutes(tmp_path: Path) -> None:
    rows = ["UTC Time,Latitude,Longitude,IAS (kt)"]
    for k, t in enumerate(MADE.time_s):
        lat, lon = abs(GET["lat_deg"](MADE)[k]), abs(GET["lon_deg"](MADE)[k])
        rows.append(f"{stamp(START_UTC_S + t)},N{int(lat)} {lat % 1 * 60:.5f},W{int(lon)} {lon % 1 * 60:.5f},90")
    flight = read_flight(save(tmp_path, "\n".join(rows) + "\n"))
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=1e-7)
    assert flight["longitude_rad"] == pytest.approx(MADE.longitude_rad, abs=1e-7)


def test_only_gps_still_makes_a_flight(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, table(MADE, GPS)))
    same(flight, MADE, speed=False)
    assert flight.columns["bank_rad"].known == "derived"
    assert "ias_mps" not in flight.columns or flight.columns["ias_mps"].known == "derived"


def test_a_side_in_a_column_of_its_own_decides_the_hemisphere(tmp_path: Path) -> None:
    """Without it the track would be mirrored, and with it every heading and wind."""
    lat, lon = MADE.latitude_rad * 180.0 / math.pi, MADE.longitude_rad * 180.0 / math.pi
    rows = [
        f"{when},{abs(a):.7f},{'N' if a > 0 else 'S'},{abs(o):.7f},{'E' if o > 0 else 'W'}"
        for when, a, o in zip(clock("%Y-%m-%dT%TZ"), lat, lon, strict=True)
    ]
    flight = read_flight(save(tmp_path, "\n".join(["UTC Time,Lat,N/S,Lon,E/W", *rows])))
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=2e-8)
    assert flight["longitude_rad"] == pytest.approx(MADE.longitude_rad, abs=2e-8)
    assert not flight.source["not_understood"]


def test_degrees_and_minutes_in_one_number(tmp_path: Path) -> None:
    """ddmm.mmmm as in NMEA 0183: 4807.038 is 48° 07.038'."""
    lat, lon = MADE.latitude_rad * 180.0 / math.pi, MADE.longitude_rad * 180.0 / math.pi

    def written(value: float) -> str:
        whole = int(abs(value))
        return f"{'-' if value < 0 else ''}{100 * whole + 60.0 * (abs(value) - whole):.5f}"

    rows = [f"{w},{written(a)},{written(o)}" for w, a, o in zip(clock("%Y-%m-%dT%TZ"), lat, lon, strict=True)]
    flight = read_flight(save(tmp_path, "\n".join(["UTC Time,Latitude,Longitude", *rows])))
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=1e-8)
    assert flight["longitude_rad"] == pytest.approx(MADE.longitude_rad, abs=1e-8)


def test_rows_out_of_order_do_not_confuse_the_units(tmp_path: Path) -> None:
    """A speed without a unit is found by the positions, which only tell in the order of time."""
    columns = {
        "latitude": ("lat_deg", 7),
        "longitude": ("lon_deg", 7),
        "speed": ("gs_mps", 3),
        "altitude": ("alt_m", 1),
    }
    head, *rows = table(MADE, columns).splitlines()
    shuffled = np.random.default_rng(2).permutation(rows)
    flight = read_flight(save(tmp_path, "\n".join([head, *shuffled])))
    assert flight["groundspeed_mps"] == pytest.approx(MADE.groundspeed_mps, abs=0.15)
    assert flight["altitude_m"] == pytest.approx(MADE.altitude_m, abs=0.4)  # metric, as the speed turned out to be


def test_a_ground_switch_that_means_in_the_air_is_turned_over(tmp_path: Path) -> None:
    made = lesson(900.0, 1.0)
    up = made.altitude_m > made.altitude_m[0] + 3.0
    lines = table(made, GPS).splitlines()
    rows = [f"{line},{int(air)}" for line, air in zip(lines[1:], up, strict=True)]
    flight = read_flight(save(tmp_path, "\n".join([lines[0] + ",in_air", *rows])))
    assert (flight["on_ground"] > 0.5)[~up].mean() > 0.9
    assert (flight["on_ground"] > 0.5)[up].mean() < 0.1
    assert any("turned over" in m.what for m in flight.mends)


def test_a_ground_switch_stuck_on_is_not_believed(tmp_path: Path) -> None:
    made = lesson(900.0, 1.0)
    lines = table(made, GPS).splitlines()
    flight = read_flight(save(tmp_path, "\n".join([lines[0] + ",gear/wow", *[f"{line},1" for line in lines[1:]]])))
    assert flight["on_ground"].mean() < 0.5
    assert any("flying speed" in m.what for m in flight.mends)


def test_points_part_thousands_where_commas_are_decimal(tmp_path: Path) -> None:
    rows = [
        f"{w};{a:.7f};{o:.7f};{h / FT:,.1f};{g / KT:.2f}".replace(",", "'").replace(".", ",").replace("'", ".")
        for w, a, o, h, g in zip(
            clock("%Y-%m-%dT%TZ"), np.degrees(MADE.latitude_rad), np.degrees(MADE.longitude_rad), MADE.altitude_m,
            MADE.groundspeed_mps, strict=True,
        )
    ]  # fmt: skip
    text = "\n".join(["UTC Time;Latitude;Longitude;GPS Altitude (ft);Groundspeed (kt)", *rows])
    same(read_flight(save(tmp_path, text)), MADE, speed=False)


def test_blank_lines_are_nothing_to_report(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, table(MADE, FULL).replace("\n", "\n\n")))
    same(flight, MADE)
    assert not any("readable time" in m.what for m in flight.mends)


def test_minutes_and_seconds_as_a_spreadsheet_shows_them(tmp_path: Path) -> None:
    """The cell shows 58:10.5 where the recorder wrote 13:58:10.5; the hours are counted on."""
    shown = [f"{int((3_500.0 + t) % 3_600 // 60):02d}:{(3_500.0 + t) % 60:04.1f}" for t in MADE.time_s]
    flight = read_flight(save(tmp_path, table(MADE, FULL, times=shown, time_names="Time")))
    same(flight, MADE, start=False)
    assert "hours counted on" in flight.source["time_remark"]


@pytest.mark.parametrize("digits", [2, 5])
def test_times_a_spreadsheet_cut_short_are_refused(tmp_path: Path, digits: int) -> None:
    times = [f"{(START_UTC_S + t) * 1000.0:.{digits}E}" for t in MADE.time_s]
    with pytest.raises(InputError, match="digits were cut"):
        read_flight(save(tmp_path, table(MADE, FULL, times=times, time_names="timestamp")))


def test_a_time_column_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    times = [f"frame-{k}" for k in range(MADE.time_s.size)]
    with pytest.raises(InputError, match=r"'Time' can't be read as time \('frame-0'\)"):
        read_flight(save(tmp_path, table(MADE, FULL, times=times, time_names="Time")))


def test_a_column_of_n_for_no_moves_no_flight_to_the_north(tmp_path: Path) -> None:
    """South of the equator with signed positions; "Alert" holds N for no."""
    rows = [
        f"{when},{-abs(a):.7f},N,{o:.7f}"
        for when, a, o in zip(
            clock("%Y-%m-%dT%TZ"), np.degrees(MADE.latitude_rad), np.degrees(MADE.longitude_rad), strict=True
        )
    ]
    for name in ("Alert", "Lat Side"):
        flight = read_flight(save(tmp_path, "\n".join([f"UTC Time,Lat,{name},Lon", *rows])))
        assert flight["latitude_rad"].max() < 0.0


def test_a_header_that_comes_again_with_other_units_is_refused(tmp_path: Path) -> None:
    """The same header pasted twice is a doubled file; feet in place of meters half-way is another recording."""
    text = table(MADE, GPS)
    head, _, rows = text.partition("\n")
    assert len(read_flight(save(tmp_path, text + text, "twice.csv"))) == MADE.time_s.size
    assert len(read_flight(save(tmp_path, f"{head}\n{head}\n{text}", "thrice.csv"))) == MADE.time_s.size
    other = head.replace("(ft)", "(m)") if "(ft)" in head else head.replace("(kt)", "(km/h)")
    with pytest.raises(InputError, match="names its columns anew"):
        read_flight(save(tmp_path, f"{text}{other}\n{rows}"))


def test_of_two_receivers_the_one_that_lives_is_read(tmp_path: Path) -> None:
    """The first writes nought throughout."""
    GET["dead"] = lambda m: np.zeros(m.time_s.size)
    columns = {"lat1": ("dead", 1), "lon1": ("dead", 1), "alt1 (ft)": ("dead", 0), "lat2": ("lat_deg", 7),
               "lon2": ("lon_deg", 7), "alt2 (ft)": ("alt_ft", 0)}  # fmt: skip
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    assert np.degrees(flight["latitude_rad"]) == pytest.approx(np.degrees(MADE.latitude_rad), abs=1e-4)
    assert flight["altitude_m"] == pytest.approx(MADE.altitude_m, abs=1.0)


def test_positions_in_gons(tmp_path: Path) -> None:
    """400 of them make a turn."""
    GET["lat_gon"], GET["lon_gon"] = (
        (lambda m: np.degrees(m.latitude_rad) / 0.9),
        (lambda m: np.degrees(m.longitude_rad) / 0.9),
    )
    columns = {"lat_gon": ("lat_gon", 7), "lon_gon": ("lon_gon", 7), "alt (ft)": ("alt_ft", 0)}
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    assert np.degrees(flight["latitude_rad"]) == pytest.approx(np.degrees(MADE.latitude_rad), abs=1e-4)
