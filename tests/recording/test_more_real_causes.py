"""Further causes that real files of public repositories showed, in small tables of our own, each with its opposite."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.errors import InputError
from airwork.recording import read_flight
from airwork.recording.flight import Flight
from recording.causes import ISO, MADE, PLAIN, POSITIONS, N, put, said
from recording.made_flight import START_UTC_S, stamp
from recording.writing import DEG, GET, ias_mps, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")


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


def test_a_date_that_holds_stamps_is_the_time(tmp_path: Path) -> None:
    stamps = [s[:19].replace("T", " ") for s in ISO]
    flight = read_flight(save(tmp_path, table(MADE, PLAIN, times=stamps, time_names="Date")))
    assert flight.start_utc_s == pytest.approx(START_UTC_S)
    beside = [f"{s[:10]} 00:00:00,{s[11:19]}" for s in ISO]  # a spreadsheet's date beside its clock
    flight = read_flight(save(tmp_path, table(MADE, PLAIN, times=beside, time_names="Date,Time"), "two.csv"))
    assert flight.start_utc_s == pytest.approx(START_UTC_S)


@pytest.mark.parametrize("leaps", [True, False])
def test_an_epoch_only_guessed_gives_way_to_a_count_it_contradicts(tmp_path: Path, leaps: bool) -> None:
    """485957362 may be seconds since 2001; where the minutes beside it say otherwise it is no clock."""
    since = 486_000_000.0 + MADE.time_s + (300.0 * (MADE.time_s // 200.0) if leaps else 0.0)
    names = {"timestamp": (put("x_since", since), 0), "asi": ("ias_kt", 1), "pAltitude": ("alt_ft", 0)}
    minutes = [f"{t / 60.0:.4f}" for t in MADE.time_s]
    flight = read_flight(save(tmp_path, table(MADE, names, times=minutes, time_names="minutes")))
    assert flight.time_s[-1] == pytest.approx(MADE.time_s[-1], abs=1.0)
    assert bool(np.isfinite(flight.start_utc_s)) is not leaps


def test_the_hottest_of_cylinders_in_one_cell(tmp_path: Path) -> None:
    lines = table(MADE, {**PLAIN, "RPM": ("rpm", 0)}).splitlines()
    text = "\n".join([f"{lines[0]},cht", *(f'{line},"[239.0, 262.4, 375.8, 266.0]"' for line in lines[1:])]) + "\n"
    flight = read_flight(save(tmp_path, text))
    assert flight["cht_k"][0] == pytest.approx((375.8 - 32.0) / 1.8 + 273.15, abs=0.01)


def test_pitch_bank_and_heading_of_one_system_have_one_unit(tmp_path: Path) -> None:
    """A bank of 0.6 beside a pitch of 7.4 is in degrees; beside one of 0.13 it may be in radians."""
    small, steady = (
        put("x_bank", -0.3 + 0.3 * np.sin(MADE.time_s / 7.0)),
        put("x_pitch", 7.4 + 0.1 * np.sin(MADE.time_s)),
    )
    names = {**PLAIN, "Pitch": (steady, 2), "Roll": (small, 2)}
    assert np.nanmax(np.abs(read_flight(save(tmp_path, table(MADE, names)))["bank_rad"])) < 0.02
    names = {**PLAIN, "Pitch": (put("x_p", np.full(N, 0.13) + 0.01 * np.sin(MADE.time_s)), 3), "Roll": ("bank_rad", 3)}
    flight = read_flight(save(tmp_path, table(MADE, names), "rad.csv"))
    assert np.nanmax(np.abs(flight["bank_rad"] - MADE.bank_rad)) < 0.01


def test_a_count_by_twenty_that_jitters_is_in_milliseconds(tmp_path: Path) -> None:
    rows = [f"{2094 + 20 * k + k % 2},4.{k},5242.{k}" for k in range(8)]
    flight = read_flight(save(tmp_path, "timeStamp,IAS (kt),Palt (ft)\n" + "\n".join(rows) + "\n"))
    assert flight.time_s[-1] == pytest.approx(0.141, abs=0.01)
    rows = [f"{2080 + 20 * k},94.{k},5242.{k}" for k in range(8)]
    flight = read_flight(save(tmp_path, "timeStamp,IAS (kt),Palt (ft)\n" + "\n".join(rows) + "\n", "s.csv"))
    assert flight.time_s[-1] == pytest.approx(140.0)


def test_a_direction_of_minus_one_is_none(tmp_path: Path) -> None:
    names = {**PLAIN, "MagHeading": (put("x_minus", np.full(N, -1.0)), 0)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert flight.columns.get("heading_mag_rad") is None or flight.columns["heading_mag_rad"].known == "derived"


def test_a_direction_is_none_until_it_leaves_nought(tmp_path: Path) -> None:
    true = GET["hdg_deg"](MADE) % 360.0
    first = 60 + int(np.argmax((true[60:] > 120.0) & (true[60:] < 240.0)))
    heading = np.where(np.arange(N) < first, 0.0, true)
    names = {**PLAIN, "true heading (deg)": (put("x_late", heading), 0)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert not np.isfinite(flight["heading_rad"][: first - 2]).any()
    assert np.isfinite(flight["heading_rad"][first + 2 :]).all()


def test_a_known_word_that_begins_many_names_and_hides_them_is_left_aside(tmp_path: Path) -> None:
    """vn of a maker's name is no velocity north, where six and more names begin with it."""
    names = {"vnGnssLat": ("lat_deg", 7), "vnGnssLon": ("lon_deg", 7), "vnPitch": (put("x_3", 3.0 + MADE.bank_rad), 1)}
    names |= {f"vn{n}": (put(f"x_{n}", np.arange(N) % 7), 0) for n in ("Wobble", "Sigma", "Quirk")}
    names |= {"vnRoll": ("bank_deg", 1), "vnYaw": ("hdg_deg", 0), "Altitude (ft)": ("alt_ft", 0)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert {flight.columns[n].known for n in ("latitude_rad", "bank_rad")} == {"measured"}


def test_feet_are_told_by_the_pressure_beside_them(tmp_path: Path) -> None:
    """812 hPa is at 6,040 ft (ICAO standard atmosphere), though the flight is level and short."""
    rows = [f"{stamp(START_UTC_S + k)},811.9{k % 3},{6041 + k % 2},73.{k % 10}" for k in range(20)]
    flight = read_flight(save(tmp_path, "time,PStatic,Palt,IAS (kt)\n" + "\n".join(rows) + "\n"))
    assert flight["pressure_altitude_m"][0] == pytest.approx(6_041 * 0.3048, abs=1.0)
    assert not any(m.asks for m in flight.mends)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "".join(f"0909414{k % 10}+018+00061030000+0182-007+01+1099F46A1101A{k % 10}\n" for k in range(40)),
            "nothing parts",
        ),
        (
            "Takeoff: 21.04.19 12:17\nFlight time: 01.96\nPilot: 1\nMax altitude: 10616ft\nHobbs: 15.65\nTach: 133.1\n",
            "summary",
        ),
    ],
)
def test_what_is_no_table_is_refused_in_its_own_words(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_flight(save(tmp_path, text, "x.txt"))


def _air(meters: object) -> object:
    """ICAO standard atmosphere, below the tropopause: p = 1013.25·(1 − 2.25577e-5·h)^5.25588. [hPa]"""
    return 1013.25 * (1.0 - 2.25577e-5 * np.asarray(meters)) ** 5.25588


@pytest.mark.parametrize("outside", [True, False])
def test_the_pressure_outside_is_told_from_a_cabins(tmp_path: Path, outside: bool) -> None:
    """Beside satellites a pressure that falls as they rise is the pressure altitude; a cabin's falls by less."""
    static = _air((MADE.altitude_m - 90.0) * (1.0 if outside else 0.6))
    names = {**POSITIONS, "gps altitude (m)": ("alt_m", 1), "pressure (hPa)": (put("x_static", static), 2)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert (flight.columns["pressure_altitude_m"].known == "measured") is outside
    assert flight.columns["altitude_m"].note == "satellite"
    if outside:
        assert np.nanmax(np.abs(flight["pressure_altitude_m"] - MADE.altitude_m + 90.0)) < 1.0


def test_a_pitots_pressure_is_an_airspeed(tmp_path: Path) -> None:
    """qc = ½·ρ0·CAS² is 0.4 % short at 100 kt (incompressible): 0.2 % of the speed."""
    names = {**PLAIN, "pitot_diff_Pa": (put("x_qc", 0.5 * 1.225 * ias_mps(MADE) ** 2), 1)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert np.nanmax(np.abs(flight["ias_mps"] - ias_mps(MADE))) < 0.3
    names |= {"IAS (kt)": ("ias_kt", 1), "pitot_diff_Pa": (put("x_odd", np.full(N, 900.0)), 0)}
    assert np.nanmax(np.abs(read_flight(save(tmp_path, table(MADE, names)))["ias_mps"] - ias_mps(MADE))) < 0.1


def test_seconds_of_arc_mils_and_the_day_of_the_year(tmp_path: Path) -> None:
    """6,400 mils to a turn; the 148th day of 2026 is 28 May."""
    clock = [f"2026148,{73_600 + t:.0f}" for t in MADE.time_s]
    names = {
        "lat_arcsec": (put("x_lat", GET["lat_deg"](MADE) * 3_600.0), 2),
        "lon_arcsec": (put("x_lon", GET["lon_deg"](MADE) * 3_600.0), 2),
        "alt_dm": (put("x_dm", MADE.altitude_m * 10.0), 0),
        "trk_mil": (put("x_mil", MADE.track_rad / (2.0 * np.pi) * 6_400.0), 0),
    }
    flight = read_flight(save(tmp_path, table(MADE, names, times=clock, time_names="yearday,sod")))
    assert flight.start_utc_s == pytest.approx(START_UTC_S)
    assert np.nanmax(np.abs(flight["latitude_rad"] - MADE.latitude_rad)) < 1e-7
    off = np.angle(np.exp(1j * (flight["track_rad"] - MADE.track_rad)))[MADE.groundspeed_mps > 20.0]
    assert np.nanmax(np.abs(off)) < 0.01


def test_a_setting_of_the_record_makes_a_pressure_altitude_indicated(tmp_path: Path) -> None:
    cells = zip(ISO, *(GET[k](MADE) for k in ("lat_deg", "lon_deg", "alt_ft")), strict=True)
    rows = "".join(
        f'<fix t="{t}" lat="{a:.6f}" lon="{o:.6f}"><h unit="ft" ref="1013">{h:.0f}</h></fix>' for t, a, o, h in cells
    )
    flight = read_flight(
        save(tmp_path, f'<record aircraft="A" logger="x" kind="y" qnh="1020">{rows}</record>', "x.xml")
    )
    assert flight["setting_pa"][0] == pytest.approx(102_000.0)
    assert flight["altitude_m"][0] - MADE.altitude_m[0] == pytest.approx(56.0, abs=1.5)  # 27 ft a hPa


@pytest.mark.usefixtures("all_sought")
def test_of_no_flight_nothing_is_asked(tmp_path: Path) -> None:
    """A walk: neither its speed nor its height's unit matters."""
    rows = [f"{stamp(START_UTC_S + 10 * k)},{47 + k * 1.2e-4:.6f},8.0,{500 + k % 5},4.{k % 10}" for k in range(120)]
    flight = read_flight(save(tmp_path, "time,lat,lon,altitude,speed\n" + "\n".join(rows) + "\n"))
    assert flight.source["craft"]["kind"] == "ground"
    assert not any(m.asks for m in flight.mends)


def test_speeds_of_who_only_stood_tell_no_unit(tmp_path: Path) -> None:
    """An airspeed of 4 at a stand is knots by default, its sister too, and one is asked for; 50 would be m/s."""
    rows = [f"{stamp(START_UTC_S + k)},4.0{k % 3},3.4{k % 4},5242" for k in range(20)]
    flight = read_flight(save(tmp_path, "time,IAS,TAS,Palt (ft)\n" + "\n".join(rows) + "\n"))
    assert {u["unit"] for u in flight.source["understood"] if u["quantity"].endswith("airspeed")} == {"kt"}
    assert any(m.asks for m in flight.mends)
    rows = [f"{stamp(START_UTC_S + k)},5{k % 3}.0,5{k % 4}.4,900" for k in range(20)]
    flight = read_flight(save(tmp_path, "time,IAS,TAS,altitude (m)\n" + "\n".join(rows) + "\n", "fast.csv"))
    assert {u["unit"] for u in flight.source["understood"] if u["quantity"].endswith("airspeed")} == {"m/s"}


def test_a_pressure_that_comes_rarely_is_drawn_between(tmp_path: Path) -> None:
    """One in four rows carries it: the take-off stays where it was."""
    static = np.where(np.arange(N) % 4 == 0, _air(MADE.altitude_m - 90.0), np.nan)
    names = {**POSITIONS, "gps altitude (m)": ("alt_m", 1), "pressure (hPa)": (put("x_rare", static), 2)}
    text = table(MADE, names).replace(",nan", ",")
    flight, plain = read_flight(save(tmp_path, text)), read_flight(save(tmp_path, table(MADE, PLAIN), "plain.csv"))
    assert np.isfinite(flight["pressure_altitude_m"]).mean() > 0.99
    assert [c.kind for c in flight.contacts] == [c.kind for c in plain.contacts]
    assert all(abs(a.time_s - b.time_s) < 4.0 for a, b in zip(flight.contacts, plain.contacts, strict=True))


def test_other_recordings_in_the_table_are_left_out_and_said(tmp_path: Path) -> None:
    """Years away and elsewhere: no clock was set. Where the positions fly on it was."""
    rows = [line.split(",", 1)[1] for line in table(MADE, PLAIN).splitlines()[1:]]
    away = [f"{float(r.split(',')[0]) + 2.0:.6f},{r.split(',', 1)[1]}" for r in rows]
    long_ago = [stamp(START_UTC_S - 9e7 + t) for t in MADE.time_s]
    head = f"time,{','.join(PLAIN)}\n"
    text = head + "".join(f"{t},{r}\n" for t, r in zip(long_ago[:200], away[:200], strict=True))
    flight = read_flight(save(tmp_path, text + "".join(f"{t},{r}\n" for t, r in zip(ISO, rows, strict=True))))
    assert len(flight) == N
    assert "of 1 other recording" in said(flight)
    text = head + "".join(f"{t},{r}\n" for t, r in zip([*long_ago[:200], *ISO[200:]], rows, strict=True))
    assert "the clock was set" in said(read_flight(save(tmp_path, text, "set.csv")))


def test_ticks_since_the_year_1_are_no_nanoseconds_since_2001(tmp_path: Path) -> None:
    """Both would be a day of these years, rows a moment apart; only one of them is how programs count."""
    ticks = [636_287_343_702_593_232 + 20_000_000 * k for k in range(60)]
    rows = "".join(f"{t},{45.0 + 4e-4 * k:.6f},{7.0 + 3e-4 * k:.6f},3000\n" for k, t in enumerate(ticks))
    flight = read_flight(save(tmp_path, f"Ticks,lat,lon,altitude_ft\n{rows}"))
    assert "2017-04-25" in repr(flight)
    assert flight.step_s == pytest.approx(2.0)


@pytest.mark.parametrize("form", ["{m}m {s}s", "{m} min {s} sec"])
def test_minutes_and_seconds_in_words_are_a_span(tmp_path: Path, form: str) -> None:
    rows = "".join(
        f"{form.format(m=int(t // 60), s=round(t % 60, 1))},{45.0 + 4e-4 * t:.6f},{7.0 + 3e-4 * t:.6f},3000\n"
        for t in np.arange(0.0, 150.0, 1.5)
    )
    flight = read_flight(save(tmp_path, f"Time,lat,lon,altitude_ft\n{rows}"))
    assert flight.time_s[-1] == pytest.approx(148.5)
    assert not np.isfinite(flight.start_utc_s)


@pytest.mark.parametrize(("first", "month", "celsius"), [("277", 5, 26.3), ("20", 7, 18.6), ("2770", 6, 26.2)])
def test_a_loggers_temperature_falls_as_the_airs_does(tmp_path: Path, first: str, month: int, celsius: float) -> None:
    """27.7 °C on a day in May is warm but falls by 0.6 K in 100 m; 2.77 °C would be usual and not fall."""
    step = {"277": 1.0, "20": 0.1, "2770": 10.0}[first]
    rows = [
        f"B1000{k:02d}5200{16 * k:03d}N00500000EA{8 * k:05d}{8 * k + 40:05d}{round(float(first) - step * k / 2):04d}"
        for k in range(60)
    ]
    text = f"AXXXABC\r\nHFDTE15{month:02d}26\r\nI013639OAT\r\n" + "\r\n".join(rows) + "\r\n"
    oat = read_flight(save(tmp_path, text, "log.igc"))["oat_k"] - 273.15
    assert float(np.median(oat)) == pytest.approx(celsius, abs=0.4)


def test_a_watt_is_no_percent(tmp_path: Path) -> None:
    watts = np.clip(300.0 + 200.0 * np.sin(np.arange(N) / 30.0), 0.0, None)
    text = table(MADE, {**POSITIONS, "altitude (m)": ("alt_m", 0), "POWER": (put("x_watt", watts), 0)})
    assert "power_ratio" not in read_flight(save(tmp_path, text)).columns


def test_a_row_that_came_late_fills_the_hole_before_it(tmp_path: Path) -> None:
    seconds = [*range(60), 62, 62, *range(63, 120)]
    rows = "".join(f"{t},{45.0 + 4e-4 * k:.6f},7.0,3000\n" for k, t in enumerate(seconds))
    flight = read_flight(save(tmp_path, f"seconds,lat,lon,altitude_ft\n{rows}"))
    assert float(np.diff(flight.time_s).min()) == pytest.approx(1.0)


@pytest.mark.parametrize("turned_deg", [0.0, 90.0])
def test_a_track_that_the_positions_do_not_go_is_set_aside(tmp_path: Path, turned_deg: float) -> None:
    tracks = np.mod(GET["trk_deg"](MADE) + turned_deg, 360.0)
    text = table(MADE, {**PLAIN, "direction (deg)": (put("x_turned", tracks), 1)})
    flight = read_flight(save(tmp_path, text))
    assert ("track set aside" in said(flight)) == bool(turned_deg)


@pytest.mark.parametrize("lifts_mps", [0.0, 1.5])
def test_what_the_air_does_is_no_vertical_speed(tmp_path: Path, lifts_mps: float) -> None:
    """A vario without the machine's own sink follows the altitude in every change and is off all the same."""
    climbs = GET["vs_mps"](MADE) + lifts_mps
    text = table(MADE, {**PLAIN, "vario (m/s)": (put("x_netto", climbs), 2)})
    assert ("vertical speed set aside" in said(read_flight(save(tmp_path, text)))) == bool(lifts_mps)


def test_an_address_parts_aircraft_where_another_id_says_nothing(tmp_path: Path) -> None:
    rows = [
        f"{stamp(START_UTC_S + k // 2)},0000,ICA4847{'1E' if k % 2 else '0A'},{46.0 + 0.02 * (k % 2) + k * 2e-4:.5f},"
        f"{9.0 + k * 1e-4:.5f},{1100 - k if k % 2 else 46}"
        for k in range(40)
    ]
    path = save(tmp_path, "time,aircraft id,code,lat,lon,altitude_ft\n" + "\n".join(rows) + "\n")
    with pytest.raises(InputError, match="holds 2 aircraft"):
        read_flight(path)
    assert read_flight(path, aircraft="ica48470a")["altitude_m"].max() < 50.0


def test_equivalent_airspeed_is_an_airspeed(tmp_path: Path) -> None:
    text = table(MADE, {**POSITIONS, "altitude (ft)": ("alt_ft", 0), "EAS (kt)": ("ias_kt", 1)})
    assert read_flight(save(tmp_path, text)).columns["cas_mps"].known == "measured"


def test_a_type_noted_after_the_flight_is_read(tmp_path: Path) -> None:
    rows = [f"B1000{k:02d}5200{16 * k:03d}N00500000EA{8 * k:05d}{8 * k + 40:05d}" for k in range(60)]
    text = "AXXXABC\nHFDTE150526\n" + "\n".join(rows) + "\nLCU::HPGTYGLIDERTYPE:Wren 4\n"
    assert read_flight(save(tmp_path, text, "log.igc")).source["aircraft_type"] == "Wren 4"


def _velocities(drift_deg: float) -> dict[str, tuple[str, int]]:
    trk = np.radians(GET["trk_deg"](MADE))
    return {
        **POSITIONS,
        "hMSL (m)": ("alt_m", 3),
        "velN (m/s)": (put("x_vn", MADE.groundspeed_mps * np.cos(trk)), 2),
        "velE (m/s)": (put("x_ve", MADE.groundspeed_mps * np.sin(trk)), 2),
        "velD (m/s)": (put("x_vd", -GET["vs_mps"](MADE)), 2),
        "heading (deg)": (put("x_hd", np.mod(np.degrees(trk) + drift_deg * np.cos(trk), 360.0)), 0),
        "numSV": (put("x_sv", 6 + np.arange(N) * 7 % 9), 0),
    }


@pytest.mark.parametrize(("drift_deg", "course"), [(0.0, True), (6.0, False)])
def test_a_heading_that_is_the_velocitys_direction_is_the_track(tmp_path: Path, drift_deg: float, course: bool) -> None:
    flight = read_flight(save(tmp_path, table(MADE, _velocities(drift_deg))))
    assert len(flight) == N  # satellites counted are no aircraft
    assert ("direction of the velocity" in said(flight)) == course


def test_a_units_row_stands_though_it_falls_as_nothing_light_does(tmp_path: Path) -> None:
    """A jump: the velocity downward, in its own unit, goes with meters; parts of a meter are no centimeters."""
    t = np.arange(0.0, 120.0, 0.5)
    down = np.clip((t - 60.0) * 9.0, 0.0, 60.0)
    high = 4_300.123 - np.cumsum(down) * 0.5
    rows = "".join(
        f"{stamp(START_UTC_S + x)},{45.0 + 2.3e-4 * x:.7f},7.0000000,{h:.3f},25.50,0.00,{d:.2f}\n"
        for x, h, d in zip(t, high, down, strict=True)
    )
    flight = read_flight(
        save(tmp_path, f"time,lat,lon,hMSL,velN,velE,velD\n,(deg),(deg),(m),(m/s),(m/s),(m/s)\n{rows}")
    )
    assert float(np.nanmax(flight["altitude_m"])) == pytest.approx(4_300.0, abs=5.0)


def _with_fixes(tmp_path: Path, moved: dict[int, tuple[float, float]]) -> Flight:
    lat, lon = GET["lat_deg"](MADE), GET["lon_deg"](MADE)
    for k, (a, o) in moved.items():
        lat[k], lon[k] = a, o
    text = table(MADE, {"lat": (put("x_lat", lat), 7), "lon": (put("x_lon", lon), 7), "altitude (ft)": ("alt_ft", 0)})
    return read_flight(save(tmp_path, text))


def test_a_device_that_wakes_with_old_fixes_and_one_that_held_its_place(tmp_path: Path) -> None:
    lat, lon = GET["lat_deg"](MADE), GET["lon_deg"](MADE)
    fast = int(np.argmax(MADE.groundspeed_mps > 40.0)) + 60
    held = dict.fromkeys(range(fast + 1, fast + 4), (lat[fast], lon[fast]))
    woke = {k: (lat[k] + 0.02, lon[k] - 0.02) for k in range(3)}
    clean, dirty = _with_fixes(tmp_path, {}), _with_fixes(tmp_path, held | woke)
    assert "held its place" in said(dirty)
    assert "held its place" not in said(clean)
    assert float(np.nanmax(dirty["groundspeed_mps"])) < 1.1 * float(np.nanmax(clean["groundspeed_mps"]))


def _network_rows(every: int, *, told: bool) -> tuple[str, np.ndarray]:
    """Rows a second of a receivers' network: place, speed and track of the last message heard, some seconds old."""
    lat, lon, trk = (GET[n](MADE) for n in ("lat_deg", "lon_deg", "trk_deg"))
    heard = np.arange(N) - np.arange(N) % every
    rows = "".join(
        f"{START_UTC_S + k:.0f},{'3946e9'},{lat[h]:.6f},{lon[h]:.6f},{GET['gs_mps'](MADE)[h]:.6f},{trk[h]:.6f},900"
        + (f",{START_UTC_S + h:.3f}\n" if told else "\n")
        for k, h in enumerate(heard)
    )
    head = "time,icao24,lat,lon,velocity,track,baroaltitude" + (",lastposupdate\n" if told else "\n")
    return head + rows, heard


@pytest.mark.parametrize("told", [True, False])
def test_the_last_message_a_network_heard_is_put_to_its_time(tmp_path: Path, told: bool) -> None:
    text, _ = _network_rows(4, told=told)
    flight = read_flight(save(tmp_path, text))
    assert flight.source["aircraft"] == "3946E9"
    assert ("places put to the times" in said(flight)) == told
    off = np.degrees(np.abs(np.angle(np.exp(1j * (flight["track_rad"] - MADE.track_rad)))))
    assert float(np.nanpercentile(off[MADE.groundspeed_mps > 15.0], 95)) < 3.0


def test_percent_load_of_an_engine_is_its_power(tmp_path: Path) -> None:
    load = 60.0 + 20.0 * np.sin(np.arange(N) / 50.0)
    text = table(MADE, {**PLAIN, "Engine Load [%]": (put("x_load", load), 1)})
    assert float(read_flight(save(tmp_path, text))["power_ratio"].max()) == pytest.approx(0.8, abs=0.01)


def test_an_airspeed_alone_is_never_first_in_feet_a_second(tmp_path: Path) -> None:
    """Faster than light airplanes fly, it is still knots: they are asked for, but not guessed away."""
    rows = "".join(f"{k};{28.0 + 4.0 * k:.4f};{36.0 + 9.0 * k:.4f};9.15\n" for k in range(60))
    flight = read_flight(save(tmp_path, f"t;EAS;QNE;a_z\n{rows}"))
    assert float(flight["cas_mps"].max()) == pytest.approx(264.0 * 1852 / 3600, rel=0.01)
