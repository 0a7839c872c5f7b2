"""What names, units and their neighbors say of a column: which altitude, which names, which count; with opposites."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from airwork.recording import read_flight
from airwork.recording.names import understand
from recording.made_flight import START_UTC_S, lesson, stamp
from recording.writing import GET, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")

MADE = lesson(1_500.0, 1.0)
N = MADE.time_s.size
FT = 0.3048
PLACE = {"latitude": ("lat_deg", 7), "longitude": ("lon_deg", 7)}
TRIP = (
    "Pilot,Tail Number,Start Latitude,Start Longitude,End Latitude,End Longitude,Start Time,End Time,Total Distance,"
    "Battery Level,GPS Source,Minimum Vertical Error\n,N1XX,42.46,-71.29,42.47,-71.28,1,2,111.9,0.6,iOS,2.4\n"
)


def put(name: str, values: object) -> str:
    GET[name] = lambda made: np.asarray(values, dtype=float)
    return name


@pytest.mark.parametrize("before", [TRIP, ""])
def test_a_trip_told_above_the_table_names_none_of_its_columns(tmp_path: Path, before: str) -> None:
    names = {**PLACE, "Altitude": ("alt_ft", 0), "Course": ("trk_deg", 1), "Speed": ("gs_kt", 1)}
    flight = read_flight(save(tmp_path, before + table(MADE, names, time_names="Timestamp")))
    assert len(flight) == N
    np.testing.assert_allclose(flight["latitude_rad"][20:-20], MADE.latitude_rad[20:-20], atol=2e-7)


def test_coordinates_name_no_aircraft(tmp_path: Path) -> None:
    """A value with decimals on every row is no tail; whole numbers still are."""
    tails = put("x_tail", GET["lat_deg"](MADE))
    names = {**PLACE, "altitude (ft)": ("alt_ft", 0), "Tail Number": (tails, 7)}
    assert len(read_flight(save(tmp_path, table(MADE, names)))) == N
    names["Tail Number"] = (put("x_hull", np.full(N, 1234.0)), 0)
    assert len(read_flight(save(tmp_path, table(MADE, names)))) == N


def nested(unit: str, names: tuple[str, ...] = ("p", "r")) -> str:
    """A document with a table of units beside its samples, and the day's setting."""
    columns = {"lat_deg": "pos.lat", "lon_deg": "pos.lng", "alt_m": "air.alt_baro"}
    cells = {new: GET[old](MADE) for old, new in columns.items()}
    attitude = {n: 9.0 * np.sin(MADE.time_s / (40.0 + 9.0 * k)) for k, n in enumerate(names)}
    samples = [
        {
            "t": 1_000 * k,
            "pos": {"lat": float(cells["pos.lat"][k]), "lng": float(cells["pos.lng"][k])},
            "air": {"alt_baro": round(float(cells["air.alt_baro"][k]), 1)},
            "att": {n: round(float(attitude[n][k]), 2) for n in names},
        }
        for k in range(N)
    ]
    head = {"flight": {"started": stamp(START_UTC_S), "qnh_hpa": 1023}, "units": {"t": "ms", "air.alt_baro": unit}}
    return json.dumps({**head, "samples": samples})


@pytest.mark.parametrize(("unit", "measured"), [("m (1013.25)", "pressure_altitude_m"), ("m", "indicated_altitude_m")])
def test_the_datum_beside_a_unit_tells_a_pressure_altitude(tmp_path: Path, unit: str, measured: str) -> None:
    """1013.25 hPa is the standard atmosphere's at sea level (ICAO Doc 7488); a setting beside it changes nothing."""
    flight = read_flight(save(tmp_path, nested(unit), "x.json"))
    assert flight.columns[measured].known == "measured"
    np.testing.assert_allclose(flight[measured][20:-20], MADE.altitude_m[20:-20], atol=3.0)


def test_p_and_r_of_an_attitude_are_pitch_and_bank_but_rates_beside_q(tmp_path: Path) -> None:
    flight = read_flight(save(tmp_path, nested("m"), "x.json"))
    assert {flight.columns[n].known for n in ("pitch_rad", "bank_rad")} == {"measured"}
    flight = read_flight(save(tmp_path, nested("m", ("p", "q", "r")), "y.json"))
    assert not flight.has("pitch_rad")


def of_two_heights(tmp_path: Path, plain: object, decimals: int, sea: str = "altitudeAboveMeanSeaLevel") -> set[str]:
    """The heights a file of two measures."""
    names = {**PLACE, "altitude": (put("x_plain", plain), decimals), sea: ("alt_m", 1)}
    columns = read_flight(save(tmp_path, table(MADE, names))).columns
    return {n for n in ("indicated_altitude_m", "gps_altitude_m") if n in columns and columns[n].known == "measured"}


def test_a_height_off_the_satellites_by_one_number_is_their_other(tmp_path: Path) -> None:
    """A geoid lies up to 107 m off the ellipsoid (NGA, EGM96) and is flat over a lesson; a warm day stretches the
    altimeter's heights by 4 % at 10 K (common practice)."""
    high = GET["alt_m"](MADE)
    assert of_two_heights(tmp_path, np.round(high, 1) - 20.0, 1) == {"gps_altitude_m"}
    assert of_two_heights(tmp_path, 0.96 * high + 15.0, 1) == {"indicated_altitude_m", "gps_altitude_m"}
    assert of_two_heights(tmp_path, np.round(high, 1) - 20.0, 1, "gps altitude") == {
        "indicated_altitude_m",
        "gps_altitude_m",
    }


def test_the_same_height_once_more_in_feet_is_no_altimeters(tmp_path: Path) -> None:
    high = GET["alt_m"](MADE)
    assert of_two_heights(tmp_path, high / FT, 0, "gps altitude (m)") == {"gps_altitude_m"}
    assert len(of_two_heights(tmp_path, 0.96 * high / FT + 50.0, 0, "gps altitude (m)")) == 2


def test_words_in_a_row_of_units_tell_which_altitude(tmp_path: Path) -> None:
    assert (baro := understand("AltInd", "ft Baro")) is not None
    assert baro.quantity == "indicated_altitude"
    assert understand("AltXq", "ft Baro") is None
    names = {**PLACE, "GpsAlt": ("alt_ft", 1)}
    remark = {}
    for unit in ("ft WGS", "ft"):
        text = table(MADE, names)
        first, rest = text.split("\n", 1)
        row = ",".join(dict(zip(("GpsAlt", "latitude", "longitude"), (unit, "deg", "deg"), strict=True)).get(n, "")
                       for n in first.split(","))  # fmt: skip
        flight = read_flight(save(tmp_path, f"{first}\n{row}\n{rest}"))
        assert flight.columns["gps_altitude_m"].known == "measured"
        remark[unit] = flight.columns["gps_altitude_m"].note
    assert "ellipsoid" in remark["ft WGS"]
    assert "ellipsoid" not in remark["ft"]


@pytest.mark.parametrize("millis", ["MS", "milliseconds"])
def test_milliseconds_beside_a_clock_of_whole_seconds_are_of_the_second(tmp_path: Path, millis: str) -> None:
    t = np.arange(0.0, 60.0, 0.2)
    rows = [
        f"2025,10,1,17,23,{int(x)},{round(1e3 * (x % 1.0))},9,{40 + 4e-4 * x:.6f},{-100 - 3e-4 * x:.6f},900" for x in t
    ]
    head = f"YEAR,MONTH,DAY,HOUR,MINUTE,SECOND,{millis},GNSS1SAT,LAT,LONG,ALT\n"
    flight = read_flight(save(tmp_path, head + "\n".join(rows) + "\n"))
    np.testing.assert_allclose(np.diff(flight.time_s), 0.2, atol=1e-6)
    assert "oat_k" not in flight.columns or flight.columns["oat_k"].known != "measured"


def test_a_count_of_thousands_beside_a_clock_stays_a_count(tmp_path: Path) -> None:
    """Milliseconds since the start, too, go on past a thousand: then the clock is the clock."""
    rows = [
        f"2025,10,1,17,{23 + x // 60},{x % 60},{1_000 * x},{40 + 4e-4 * x:.6f},{-100 - 3e-4 * x:.6f},900"
        for x in range(90)
    ]
    head = "YEAR,MONTH,DAY,HOUR,MINUTE,SECOND,MS,LAT,LONG,ALT\n"
    flight = read_flight(save(tmp_path, head + "\n".join(rows) + "\n"))
    np.testing.assert_allclose(np.diff(flight.time_s), 1.0, atol=1e-6)


def test_a_temperature_called_sat_without_a_receivers_word_is_one(tmp_path: Path) -> None:
    names = {**PLACE, "altitude (ft)": ("alt_ft", 0), "SAT": (put("x_sat", 9.0 + MADE.time_s % 7.0), 0)}
    assert read_flight(save(tmp_path, table(MADE, names))).columns["oat_k"].known == "measured"
    names["GNSS1SAT"] = names.pop("SAT")
    assert "oat_k" not in read_flight(save(tmp_path, table(MADE, names))).columns


SIM = "timestamp,GROUND VELOCITY,LATITUDE,LONGITUDE,ALTITUDE,AIRSPEED TRUE,AIRSPEED INDICATED"


def few_rows(factor: float, step_s: float, jitter: tuple[float, ...] = (1.0,) * 4, feet: float = 1.0) -> str:
    """Four rows of a climb east at 250 kt and 3,000 fpm from 3,500 ft, 6 kt of head wind, in units of other factors."""
    rows = []
    for k, off in enumerate(jitter):
        t = k * step_s
        east = 10.0 + np.degrees(250.0 * 0.514444 * t / (6_371_000.0 * np.cos(np.radians(42.0))))
        high = 3_500.0 + 50.0 * t
        tas, gs = 256.0 * factor, 250.0 * factor * off
        rows.append(
            f"{stamp(START_UTC_S + t)},{gs:.4f},42.0,{east:.7f},{high * feet:.2f},{tas:.3f},{0.95 * tas:.3f},"
            f"{3_000.0 if feet == 1.0 else 15.24:.3f}"
        )
    return "\n".join([f"{SIM},VERTICAL SPEED", *rows, ""])


@pytest.mark.parametrize(("factor", "feet", "unit"), [(1.0, 1.0, "kt"), (1.852, FT, "km/h"), (0.514444, FT, "m/s")])
def test_a_few_rows_are_told_by_their_positions(tmp_path: Path, factor: float, feet: float, unit: str) -> None:
    """The speed is the way made good; the vertical speed the change of altitude: by arithmetic (1 kt is 1,852 m/h)."""
    flight = read_flight(save(tmp_path, few_rows(factor, 2.2, feet=feet)))
    assert float(np.nanmedian(flight["groundspeed_mps"])) == pytest.approx(250.0 * 0.514444, rel=0.01)
    assert float(np.nanmedian(flight["tas_mps"])) == pytest.approx(256.0 * 0.514444, rel=0.01)
    assert float(np.nanmin(flight["indicated_altitude_m"])) == pytest.approx(3_500.0 * FT, rel=0.01)
    assert float(np.nanmedian(flight["vertical_speed_mps"])) == pytest.approx(15.24, rel=0.02)


def test_a_few_rows_that_go_with_no_unit_are_asked_of(tmp_path: Path) -> None:
    """The opposite: a speed far off that of the positions in any unit is only assumed, or asked."""
    flight = read_flight(save(tmp_path, few_rows(0.033, 2.2)))
    how = next(c for c in flight.source["understood"] if c["column"] == "GROUND VELOCITY")["unit_how"]
    assert "agrees" not in how
