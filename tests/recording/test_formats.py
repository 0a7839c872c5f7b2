"""IGC, GPX, KML and NMEA: against the formats' own examples, samples of open packages, and kept libraries."""

from __future__ import annotations

import datetime
import io
import math
import re
from functools import reduce
from operator import xor
from pathlib import Path

import numpy as np
import pytest

from airwork.errors import InputError
from airwork.recording import read_flight
from recording.made_flight import FT, KT, START_UTC_S, fly, stamp
from recording.writing import DEG, save

pytestmark = pytest.mark.usefixtures("columns_alone")

MADE = fly([(0.0, 0.0), (40.0, 0.0), (44.0, 30.0), (100.0, 30.0), (104.0, 0.0)],
           [(0.0, 95.0), (180.0, 95.0)], [(0.0, 2500.0), (180.0, 3400.0)], duration_s=180.0, rate_hz=1.0)  # fmt: skip


# ---- IGC


def test_the_specifications_example_is_read_published(recordings: Path) -> None:
    """FAI Technical Specification for IGC-approved flight recorders, Appendix A, example of a data file.

    First fix: 16:02:40 UTC on 16 July 2001, 54°07.121′ N, 002°49.342′ W, pressure altitude 280 m, GNSS altitude 421 m.
    """
    flight = read_flight(recordings / "fai_appendix_a.igc")
    assert flight.source["format"] == "IGC"
    first = datetime.datetime(2001, 7, 16, 16, 2, 40, tzinfo=datetime.UTC).timestamp()
    assert flight.start_utc_s == first
    assert len(flight) == 9
    assert math.degrees(flight["latitude_rad"][0]) == pytest.approx(54 + 7.121 / 60, abs=1e-9)
    assert math.degrees(flight["longitude_rad"][0]) == pytest.approx(-(2 + 49.342 / 60), abs=1e-9)
    assert flight["pressure_altitude_m"][0] == 280.0
    assert flight["gps_altitude_m"][0] == 421.0
    assert flight.time_s[-1] == 22 * 3600 + 2 * 60 + 52 - (16 * 3600 + 2 * 60 + 40)
    assert flight.source["aircraft"] == "ABCD-1234"
    assert flight.source["signed"] is True
    assert flight.source["not_needed"] == ["FXA", "SIU"]
    assert any("gap" in m.what for m in flight.mends)


def b_record(seconds: int, lat: float, lon: float, validity: str, pressure: int, gps: int, more: str = "") -> str:
    def angle(value: float, width: int, sides: str) -> str:
        size = abs(value)
        degrees = int(size)
        minutes = round((size - degrees) * 60000)
        return f"{degrees:0{width}d}{minutes:05d}{sides[int(value < 0)]}"

    s = seconds % 86_400
    clock = f"{s // 3600:02d}{s // 60 % 60:02d}{s % 60:02d}"
    height = f"{pressure:05d}" if pressure >= 0 else f"-{-pressure:04d}"
    return f"B{clock}{angle(lat, 2, 'NS')}{angle(lon, 3, 'EW')}{validity}{height}{gps:05d}{more}"


def test_a_library_reads_the_same_from_what_we_read(tmp_path: Path) -> None:
    """aerofiles writes and reads IGC by its own code: positions, heights and times agree."""
    from aerofiles.igc import Reader, Writer

    box = io.BytesIO()
    writer = Writer(box)
    writer.write_headers({
        "manufacturer_code": "XXX", "logger_id": "TST", "date": datetime.date(2026, 5, 28), "fix_accuracy": 10,
        "pilot": "N. N.", "glider_type": "Test", "glider_id": "D-0000", "firmware_version": "1",
        "hardware_version": "1",
        "logger_type": "T", "gps_receiver": "G", "pressure_sensor": "P",
    })  # fmt: skip
    writer.write_fix_extensions([("FXA", 3), ("TAS", 3)])
    start = datetime.datetime(2026, 5, 28, 20, 26, 40, tzinfo=datetime.UTC)
    for k, t in enumerate(MADE.time_s):
        writer.write_fix(
            (start + datetime.timedelta(seconds=int(t))).time(), latitude=MADE.latitude_rad[k] * DEG,
            longitude=MADE.longitude_rad[k] * DEG, valid=True, pressure_alt=round(MADE.altitude_m[k]),
            gps_alt=round(MADE.altitude_m[k] + 40), extensions=[20, round(MADE.tas_mps[k] * 3.6)],
        )  # fmt: skip
    path = save(tmp_path, box.getvalue(), "x.igc")
    flight = read_flight(path)
    records = Reader().read(io.StringIO(box.getvalue().decode()))["fix_records"][1]
    assert len(records) == len(flight)
    assert np.degrees(flight["latitude_rad"]) == pytest.approx([r["lat"] for r in records], abs=1e-9)
    assert np.degrees(flight["longitude_rad"]) == pytest.approx([r["lon"] for r in records], abs=1e-9)
    assert flight["pressure_altitude_m"] == pytest.approx([r["pressure_alt"] for r in records])
    assert flight["gps_altitude_m"] == pytest.approx([r["gps_alt"] for r in records])
    assert flight["tas_mps"] == pytest.approx([r["TAS"] / 3.6 for r in records])
    assert flight.start_utc_s == start.timestamp()


def test_igc_past_midnight_bad_records_and_fixes_without_height(tmp_path: Path) -> None:
    lines = ["AXXX001", "HFDTEDATE:310526,01"]
    for k in range(120):
        valid = "V" if 30 <= k < 40 else "A"
        lines.append(b_record(86_340 + k, 45.0 + k * 1e-4, -12.0, valid, -20 + k, 500 if valid == "A" else 0))
    lines.insert(20, "B2359XX4500000N01200000WA0000000000")
    flight = read_flight(save(tmp_path, "\r\n".join(lines) + "\r\n", "x.igc"))
    assert flight.time_s == pytest.approx(np.arange(120.0))
    assert flight["pressure_altitude_m"][0] == -20.0
    assert np.isnan(flight["gps_altitude_m"][33])
    said = "; ".join(m.what for m in flight.mends)
    assert "midnight" in said
    assert "1 B records that break the format" in said
    assert "10 fixes marked V" in said


def test_an_igc_header_is_what_stands_after_its_first_colon(tmp_path: Path) -> None:
    lines = ["AXXX001", "HFDTE310526", "HFFTYFRTYPE:MAKER Handset 4 Trip:6fa9a490", "HFGTYGLIDERTYPE:Club 19"]
    lines += [b_record(40_000 + k, 45.0 + k * 1e-4, -12.0, "A", 500, 540) for k in range(60)]
    source = read_flight(save(tmp_path, "\r\n".join(lines) + "\r\n", "x.igc")).source
    assert (source["recorder"], source["aircraft_type"]) == ("MAKER Handset 4 Trip:6fa9a490", "Club 19")


def an_igc(*lines: str, day: str = "310526", lag: int = 0, off_m: int = 0) -> str:
    """A minute and a half of fixes that climb; the pressure height is the satellites' of so many fixes before, and so
    much off every third."""
    high = [500 + 3 * k for k in range(90)]
    fixes = [
        b_record(40_000 + k, 45.0 + k * 3e-4, -12.0, "A", high[max(k - lag, 0)] + off_m * (k % 3 == 0), high[k])
        for k in range(90)
    ]
    return "\r\n".join(["AXXX001", f"HFDTE{day}", *lines, *fixes, ""])


@pytest.mark.parametrize(("lag", "off_m", "measured"), [(0, 0, False), (1, 0, False), (0, 1, True)])
def test_igc_heights_that_are_copies_are_one(lag: int, off_m: int, measured: bool, tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, an_igc(lag=lag, off_m=off_m), "x.igc"))
    assert (flight.columns["pressure_altitude_m"].known == "measured") == measured
    assert flight.columns["gps_altitude_m"].known == "measured"


@pytest.mark.parametrize(("day", "dated"), [("270272", False), ("310526", True)])
def test_igc_a_day_far_ahead_is_a_clock_not_set(day: str, dated: bool, tmp_path: Path) -> None:
    assert np.isfinite(read_flight(save(tmp_path, an_igc(day=day), "x.igc")).start_utc_s) == dated


def test_igc_further_decimals_of_position_and_time(tmp_path: Path) -> None:
    lines = ["AXXX001", "HFDTE280526", "I033637LAD3839LOD4040TDS"]
    for k in range(20):
        lines.append(b_record(1000 + k // 2, 45.0, 8.0, "A", 300, 340, f"{k:02d}{2 * k:02d}{5 * (k % 2)}"))
    flight = read_flight(save(tmp_path, "\n".join(lines) + "\n", "x.igc"))
    assert flight.time_s == pytest.approx(np.arange(20) * 0.5)
    assert (np.degrees(flight["latitude_rad"]) - 45.0) * 60.0 == pytest.approx(np.arange(20) * 1e-5, abs=1e-9)
    assert (np.degrees(flight["longitude_rad"]) - 8.0) * 60.0 == pytest.approx(np.arange(20) * 2e-5, abs=1e-9)


@pytest.mark.parametrize(("field", "written"), [("3638RPM", "240"), ("3639RPM", "2400"), ("3640RPM", "02400")])
def test_an_engines_speed_of_three_digits_is_in_tens(field: str, written: str, tmp_path: Path) -> None:
    """At 240 rpm no engine flies; wider fields hold whole revolutions."""
    lines = ["AXXX001", "HFDTE280526", f"I01{field}"]
    lines += [b_record(1000 + k, 45.0 + 0.0004 * k, 8.0, "A", 300, 340, written) for k in range(40)]
    flight = read_flight(save(tmp_path, "\n".join(lines) + "\n", "x.igc"))
    assert np.nanmedian(flight["rpm"]) == 2_400.0
    assert sum("in tens" in m.what for m in flight.mends) == (len(written) == 3)


def test_an_igc_file_without_a_date_has_none(tmp_path: Path) -> None:
    lines = ["AXXX001", *[b_record(1000 + k, 45.0, 8.0, "A", 300, 340) for k in range(9)]]
    assert math.isnan(read_flight(save(tmp_path, "\n".join(lines), "x.igc")).start_utc_s)


def test_igc_marks_and_the_recorders_own_wind(tmp_path: Path) -> None:
    """[IGC] E records PEV: the pilot pressed the button; K records by the J record: WVE in hundredths of km/h here."""
    lines = ["AXXX001", "HFDTE280526", "HFFTYFRTYPE:MAKER one:two", "J020810WDI1115WVE"]
    lines += [b_record(86_390 + k, 45.0 + 0.0004 * k, 8.0, "A", 300, 340) for k in range(30)]
    lines += ["E000005PEV bump", "E235955ATS101400", "K23595526102735", "K23595999999999", "K000001999"]
    flight = read_flight(save(tmp_path, "\n".join(lines) + "\n", "x.igc"))
    assert [(m.utc_s - flight.start_utc_s, m.words) for m in flight.source["marks"]] == [(15.0, "bump")]
    assert flight.source["own_wind"] == [
        {"utc": "23:59:55", "from_deg": 261.0, "kt": pytest.approx(27.35 / 1.852, abs=0.05)}
    ]
    assert flight.source["recorder"] == "MAKER one:two"


# ---- GPX


@pytest.mark.parametrize("name", ["cerknicko-jezero.gpx", "track_with_speed.gpx"])
def test_gpx_samples_are_read_as_the_library_reads_them(recordings: Path, name: str) -> None:
    """Samples that gpxpy ships, against gpxpy's own reading."""
    import gpxpy

    with (recordings / name).open() as file:
        points = [p for track in gpxpy.parse(file).tracks for s in track.segments for p in s.points]
    flight = read_flight(recordings / name)
    assert flight.source["rows_in_file"] == len(points)
    assert len(flight) == len(points)
    assert np.degrees(flight["latitude_rad"]) == pytest.approx([p.latitude for p in points], abs=1e-9)
    assert flight["gps_altitude_m"] == pytest.approx([p.elevation for p in points])
    assert flight.start_utc_s == points[0].time.timestamp()  # type: ignore[union-attr]
    assert flight.time_s[-1] == (points[-1].time - points[0].time).total_seconds()  # type: ignore[operator]


def test_gpx_points_without_a_time_are_left_out_and_counted(recordings: Path) -> None:
    """The sample has five timed points of its whole track."""
    import gpxpy

    name = "cerknicko-without-times.gpx"
    with (recordings / name).open() as file:
        points = [p for track in gpxpy.parse(file).tracks for s in track.segments for p in s.points]
    timed = [p for p in points if p.time is not None]
    flight = read_flight(recordings / name)
    assert flight.source["rows_in_file"] == len(timed)
    assert flight.mends[0].count == len(points) - len(timed)


def test_a_gpx_track_without_any_time_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="needs times"):
        read_flight(save(tmp_path, re.sub("<time>[^<]*</time>", "", gpx()), "x.gpx"))


def gpx(made: object = MADE, extra: str = "") -> str:
    points = "".join(
        f'<trkpt lat="{MADE.latitude_rad[k] * DEG:.7f}" lon="{MADE.longitude_rad[k] * DEG:.7f}">'
        f"<ele>{MADE.altitude_m[k]:.1f}</ele><time>{stamp(START_UTC_S + t)}</time>"
        f"<extensions><x:TPX><x:speed>{MADE.groundspeed_mps[k]:.2f}</x:speed>"
        f"<x:course>{MADE.track_rad[k] * DEG:.1f}</x:course>"
        f"<x:ias>{50 + 0 * k}</x:ias></x:TPX></extensions></trkpt>"
        for k, t in enumerate(MADE.time_s)
    )
    return (
        f'<?xml version="1.0"?>{extra}<gpx xmlns="http://www.topografix.com/GPX/1/1" xmlns:x="urn:x" version="1.1">'
        f"<trk><trkseg>{points}</trkseg></trk></gpx>"
    )


def test_gpx_extensions_are_understood_by_their_names(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, gpx(), "x.gpx"))
    assert flight["groundspeed_mps"] == pytest.approx(MADE.groundspeed_mps, abs=0.01)
    assert flight["track_rad"] == pytest.approx(MADE.track_rad, abs=0.002)
    assert flight.columns["track_rad"].known == "measured"


def test_a_long_track_on_one_line_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("airwork.recording.open_file.MAX_LINE", 10_000)
    assert len(read_flight(save(tmp_path, gpx(), "x.gpx"))) == MADE.time_s.size


def test_xml_with_entities_is_refused(tmp_path: Path) -> None:
    bomb = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    with pytest.raises(InputError, match="declares a document type or entities"):
        read_flight(save(tmp_path, gpx(extra=bomb), "x.gpx"))


def test_xml_nested_without_end_is_refused(tmp_path: Path) -> None:
    text = '<gpx xmlns="x">' + "<a>" * 5000
    with pytest.raises(InputError, match="nested"):
        read_flight(save(tmp_path, text, "x.gpx"))


# ---- KML


def kml(rows: range = range(MADE.time_s.size), angles: bool = True) -> str:
    when = "".join(f"<when>{stamp(START_UTC_S + MADE.time_s[k])}</when>" for k in rows)
    coord = "".join(
        f"<gx:coord>{MADE.longitude_rad[k] * DEG:.7f} {MADE.latitude_rad[k] * DEG:.7f} "
        f"{MADE.altitude_m[k]:.1f}</gx:coord>"
        for k in rows
    )
    tilt = "".join(
        f"<gx:angles>{MADE.heading_rad[k] * DEG:.1f} 2.0 {MADE.bank_rad[k] * DEG:.1f}</gx:angles>" for k in rows
    )
    return (
        '<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2"><Document><Placemark>'
        f"<gx:Track><altitudeMode>absolute</altitudeMode>{when}{coord}{tilt if angles else ''}</gx:Track>"
        "</Placemark></Document></kml>"
    )


def test_a_kml_track_with_angles(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, kml(), "x.kml"))
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=1e-8)
    assert flight["gps_altitude_m"] == pytest.approx(MADE.altitude_m, abs=0.06)
    assert flight["bank_rad"] == pytest.approx(MADE.bank_rad, abs=0.001)
    assert flight.columns["heading_rad"].known == "measured"


def test_a_kml_path_without_times_is_refused(tmp_path: Path) -> None:
    text = "<kml xmlns='http://www.opengis.net/kml/2.2'><Placemark><LineString><coordinates>1,2,3 4,5,6</coordinates>" \
           "</LineString></Placemark></kml>"  # fmt: skip
    with pytest.raises(InputError, match="without times"):
        read_flight(save(tmp_path, text, "x.kml"))


# ---- NMEA


def sentence(body: str) -> str:
    return f"${body}*{reduce(xor, body.encode()):02X}"


def angle(value: float, width: int, sides: str) -> str:
    size = abs(value)
    return f"{int(size):0{width}d}{(size - int(size)) * 60:08.5f},{sides[int(value < 0)]}"


def nmea(start_s: float = START_UTC_S) -> list[str]:
    lines = []
    for k, t in enumerate(MADE.time_s):
        moment = datetime.datetime.fromtimestamp(start_s + t, datetime.UTC)
        clock, date = moment.strftime("%H%M%S.00"), moment.strftime("%d%m%y")
        place = f"{angle(MADE.latitude_rad[k] * DEG, 2, 'NS')},{angle(MADE.longitude_rad[k] * DEG, 3, 'EW')}"
        lines.append(sentence(f"GPGGA,{clock},{place},1,09,0.9,{MADE.altitude_m[k]:.1f},M,20.0,M,,"))
        lines.append(
            sentence(
                f"GPRMC,{clock},A,{place},{MADE.groundspeed_mps[k] / KT:.2f},{MADE.track_rad[k] * DEG:.1f},{date},4.5,W"
            )
        )
        lines.append(sentence("GPGSV,1,1,00"))
    return lines


def test_the_checksum_of_a_known_sentence_published() -> None:
    """A sentence printed in the documentation of many receivers: $GPGGA,...,,*47 (general knowledge, from memory)."""
    body = "GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,"
    assert sentence(body).endswith("*47")


def test_an_nmea_log_agrees_with_the_library(tmp_path: Path) -> None:
    import pynmea2

    lines = nmea()
    flight = read_flight(save(tmp_path, "\r\n".join(lines), "x.log"))
    fixes = [pynmea2.parse(line) for line in lines if "GGA" in line]
    assert len(flight) == len(fixes)
    assert np.degrees(flight["latitude_rad"]) == pytest.approx([f.latitude for f in fixes], abs=1e-9)
    assert np.degrees(flight["longitude_rad"]) == pytest.approx([f.longitude for f in fixes], abs=1e-9)
    assert flight["gps_altitude_m"] == pytest.approx([f.altitude for f in fixes])
    assert flight.start_utc_s == START_UTC_S
    assert flight["groundspeed_mps"] == pytest.approx(MADE.groundspeed_mps, abs=0.01)
    assert flight.source["not_needed"] == ["GSV"]


def test_nmea_with_broken_checksums_and_prefixes_and_midnight(tmp_path: Path) -> None:
    midnight = math.ceil(START_UTC_S / 86_400) * 86_400.0
    lines = [f"20:26 rx> {line}" for line in nmea(midnight - 90.0)]
    lines[31] = lines[31].replace("*", "1*")
    lines[40] = lines[40][:30]
    flight = read_flight(save(tmp_path, "\n".join(lines), "x.txt"))
    assert np.ptp(flight.time_s) == pytest.approx(180.0)
    assert flight.start_utc_s == midnight - 90.0
    assert "wrong checksum" in "; ".join(m.what for m in flight.mends)


@pytest.mark.parametrize(
    ("status", "said"), [("V", "holds 5 NMEA fixes, every one of them void"), ("", "has no NMEA sentences with time")]
)
def test_nmea_whose_every_fix_is_void_is_refused_as_such(tmp_path: Path, status: str, said: str) -> None:
    """Status V in RMC, as a receiver without satellites writes; the control holds no fix at all."""
    void = [sentence(f"GPRMC,12351{k},V,4807.038,N,01131.000,E,022.4,084.4,230394,,") for k in range(5)]
    lines = void if status else [sentence("GPGSV,1,1,01,07,40,083,46")] * 5
    with pytest.raises(InputError, match=said):
        read_flight(save(tmp_path, "\n".join(lines), "x.nmea"))


def test_nmea_of_one_moment_is_refused_as_such(tmp_path: Path) -> None:
    one = sentence("GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,,")
    with pytest.raises(InputError, match="tells one moment only"):
        read_flight(save(tmp_path, "\n".join([one, sentence("GPGSV,1,1,01,07,40,083,46"), one]), "x.nmea"))


def test_altitude_units_of_each_format_are_meters(tmp_path: Path) -> None:
    for name, text in (("a.gpx", gpx()), ("b.kml", kml()), ("c.nmea", "\n".join(nmea()))):
        flight = read_flight(save(tmp_path, text, name))
        assert float(np.median(flight["gps_altitude_m"])) == pytest.approx(float(np.median(MADE.altitude_m)), abs=1.0)
        assert float(np.median(MADE.altitude_m)) > 2500 * FT


def test_lines_that_hold_no_sentence_are_counted(tmp_path: Path) -> None:
    good = nmea()
    lines = [line for k, one in enumerate(good) for line in ([one, "lost power $$GP"] if k % 50 == 0 else [one])]
    flight = read_flight(save(tmp_path, "\n".join([*lines, ""]), "x.nmea"))
    assert any("hold no NMEA sentence" in m.what for m in flight.mends)
