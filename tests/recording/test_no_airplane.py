"""Tracks that are no airplane's: what drives has no take-offs, and what hovers into the wind has not landed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from airwork.airplane import find_airplane_file, load_airplane
from airwork.debrief import debrief
from airwork.recording import Flight, read_flight
from airwork.recording.craft import craft_of
from airwork.recording.gradable import gradable
from airwork.standards import load_standard

Array = NDArray[np.float64]
T = np.arange(0.0, 2_400.0, 1.0)


def read(folder: Path, speed_mps: Array, height_m: Array, course_rad: Array) -> Flight:
    """A GPS track of these, as a phone writes it."""
    east, north = np.cumsum(speed_mps * np.sin(course_rad)), np.cumsum(speed_mps * np.cos(course_rad))
    lat, lon = 47.0 + north / 111_200.0, 8.0 + east / 75_900.0
    rows = [f"{1_780_000_000 + t},{a:.7f},{o:.7f},{h:.1f},{v:.2f}"
            for t, (a, o, h, v) in enumerate(zip(lat, lon, height_m, speed_mps, strict=True))]  # fmt: skip
    path = folder / "track.csv"
    path.write_text("\n".join(["time,lat,lon,altitude (m),speed (m/s)", *rows]) + "\n")
    return read_flight(path)


def halting(top_mps: float) -> Array:
    """Away for two minutes, hardly moving for fifteen seconds, over and over."""
    return np.where(
        np.mod(T, 135.0) < 120.0, top_mps * np.sin(np.pi * np.clip(np.mod(T, 135.0) / 120.0, 0, 1)) ** 0.3, 0.3
    )


LAP = np.pi / 60.0 * np.cumsum(np.mod(T - 200.0, 550.0) < 30.0)  # a rectangle
LEGS = np.pi / 60.0 * np.cumsum(np.mod(T, 240.0) < 30.0)  # straight on, and a turn of 90° every four minutes
HILLS = 400.0 + 25.0 * np.sin(2.0 * np.pi * T / 700.0)


@pytest.mark.parametrize("top_mps", [7.0, 14.0, 32.0])
def test_what_drives_and_halts_is_no_flight(tmp_path: Path, top_mps: float) -> None:
    """A bicycle and a car over hills: no contact, no wind, nothing claimed, one line that says so."""
    flight = read(tmp_path, halting(top_mps), HILLS, 0.4 * np.sin(T / 90.0))
    assert craft_of(flight).kind == "ground"
    assert flight.contacts == ()
    assert not flight.has("wind_mps")
    found = debrief(flight, standard=load_standard("private")).as_json()
    assert found["episodes"] == []
    (note,) = found["notes"]  # how its speed and bank are known is nothing to somebody who drove
    assert "a track on the ground, no flight" in note
    assert [line["text"] for line in found["first"]] == ["no flight · 40 min recorded"]


CIRCUIT = np.interp(T, [0, 300, 320, 500, 1_900, 2_200, 2_220, 2_400], [5.0, 5.0, 30.0, 38.0, 38.0, 30.0, 5.0, 3.0])


@pytest.mark.parametrize(
    ("speed", "height", "contacts"),
    [
        (CIRCUIT, np.interp(T, [320, 620, 1_900, 2_200], [400.0, 1_000.0, 1_000.0, 400.0]), ["takeoff", "landing"]),
        (np.full(T.size, 36.0), 900.0 + 0.0 * T, []),  # level cruise, never on the ground
    ],
    ids=["circuit", "cruise"],
)
def test_an_airplane_as_slow_as_a_car_is_one(tmp_path: Path, speed: Array, height: Array, contacts: list[str]) -> None:
    """The control: the same speeds, but it climbs, or never halts."""
    flight = read(tmp_path, speed, height, LEGS)
    assert craft_of(flight).kind == "airplane"
    assert [c.kind for c in flight.contacts] == contacts


@pytest.mark.parametrize(("halts", "kind"), [(0, "unsure"), (4, "ground")])
def test_ten_minutes_level_and_slow_show_neither_and_nothing_is_claimed(tmp_path: Path, halts: int, kind: str) -> None:
    """45 kt straight on at one height: neither wheels nor wings, until an airplane is named; with halts a car."""
    t = T[:600]
    speed = 23.2 * np.ones(t.size)
    for k in range(halts):
        speed = np.minimum(speed, np.interp(np.abs(t - 120.0 * (k + 1)), [8.0, 25.0], [0.2, 23.2]))
    height = 300.0 + 8.0 * np.sin(t / 70.0) + np.random.default_rng(4).normal(0.0, 0.3, t.size)
    flight = read(tmp_path, speed, height, 0.05 * np.sin(t / 45.0))
    craft = craft_of(flight)
    assert craft.kind == kind
    assert ("only wings or only wheels" in craft.why) == (kind == "unsure")
    found = debrief(flight, standard=load_standard("private")).as_json()
    assert found["episodes"] == []
    assert len(found["notes"]) == 1
    assert ("an uncertain kind" in found["notes"][0]) == (kind == "unsure")
    assert "airborne_s" not in found["flight"]  # nothing is said of a time in the air, nor of circles
    assert [line["heading"] for line in found["first"]] == ["in short"]
    assert not flight.has("wind_mps")  # what may have driven was in none
    named = read_flight(tmp_path / "track.csv", airplane=load_airplane(find_airplane_file("larkmoor_155")))
    assert craft_of(named).kind == ("airplane" if kind == "unsure" else "ground")


@pytest.mark.parametrize(("rise_m", "kind"), [(870.0, "airplane"), (87.0, "ground")])
def test_what_only_climbs_and_faster_than_any_road_flew(tmp_path: Path, rise_m: float, kind: str) -> None:
    """A real sailplane's four minutes in circles, a fix in 4 s; a road that winds up a tenth of it is driven."""
    t = T[:280]
    climbs = kind == "airplane"
    course = np.cumsum(np.full(t.size, 0.2) if climbs else 0.15 * np.sin(t / 9.0))
    speed = np.full(t.size, 26.0) if climbs else np.interp(np.abs(t - 140.0), [8.0, 25.0], [0.2, 26.0])
    read(tmp_path, speed, 870.0 + rise_m * t / 260.0 + 4.0 * np.sin(t / 11.0), course)
    lines = (tmp_path / "track.csv").read_text().splitlines()
    (tmp_path / "thin.csv").write_text("\n".join([lines[0], *lines[1::4]]) + "\n")
    flight = read_flight(tmp_path / "thin.csv")
    assert craft_of(flight).kind == kind
    assert not flight.has("wind_mps")  # the circles have too few fixes, and it says so
    assert any("fixes in them" in g.why for g in gradable(flight, load_standard("private")))


def test_a_paraglider_hovering_into_the_wind_has_not_landed(tmp_path: Path) -> None:
    """Low over the slope at 2 m/s for a minute, half a meter of sink each second; it lands where it stands still."""
    speed = np.interp(T, [0, 60, 70, 900, 910, 970, 980, 2_200, 2_210], [0.2, 0.2, 9, 9, 2, 2, 9, 9, 0.2])
    height = np.interp(T, [60, 400, 880, 940, 1_000, 1_500, 2_205], [400.0, 700.0, 415.0, 410.0, 440.0, 700.0, 395.0])
    flight = igc(tmp_path, T[:2_300], speed[:2_300], height[:2_300])
    assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]
    assert flight.contacts[0].time_s == pytest.approx(65.0, abs=15.0)
    assert flight.contacts[1].time_s == pytest.approx(2_205.0, abs=15.0)


def test_who_walks_up_flies_from_where_he_starts(tmp_path: Path) -> None:
    """25 minutes uphill at 2 kt, 1,300 ft an hour, a wait, then off; hovering down into the wind is no walk."""
    s = np.arange(0.0, 3_000.0)
    speed = np.interp(s, [0, 1_500, 1_510, 1_700, 1_710, 2_200, 2_210, 2_520, 2_530, 2_900, 2_910, 3_000],
                      [1.0, 1.0, 0.1, 0.1, 9, 9, 1.8, 1.8, 9, 9, 0.1, 0.1])  # fmt: skip
    height = np.interp(s, [0, 1_500, 1_700, 2_200, 2_520, 2_905], [600.0, 770.0, 770.0, 1_200.0, 820.0, 500.0])
    flight = igc(tmp_path, s, speed, height)
    assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]
    assert flight.contacts[0].time_s == pytest.approx(1_705.0, abs=15.0)
    assert flight.contacts[1].time_s == pytest.approx(2_905.0, abs=15.0)
    assert not flight.has("agl_m")  # a slope is no field: 890 ft lie between start and landing …
    assert not any("one field" in m.what for m in flight.mends)  # … and that is no fault of the altimeter


def test_a_stand_fixed_rarely_is_a_stand(tmp_path: Path) -> None:
    """A logger that writes every 5 s while it stands and each second in flight, as some do."""
    s = np.concatenate((np.arange(0.0, 200.0, 5.0), np.arange(200.0, 900.0)))
    flight = igc(
        tmp_path, s, np.interp(s, [200, 208, 900], [0.0, 9.0, 9.0]), np.interp(s, [200, 900], [300.0, 1_350.0])
    )
    assert [c.kind for c in flight.contacts] == ["takeoff"]
    assert flight.contacts[0].time_s == pytest.approx(203.0, abs=8.0)


def igc(folder: Path, seconds: Array, speed_mps: Array, height_m: Array, *headers: str) -> Flight:
    """A logger's file of so many fixes, north-east all along."""
    way = np.cumsum(speed_mps * np.gradient(seconds)) * np.sqrt(0.5)
    rows = [
        f"B{12 + s // 3600:02.0f}{s // 60 % 60:02.0f}{s % 60:02.0f}45{60e3 * m / 111_200.0:05.0f}N006"
        f"{60e3 * m / 78_800.0:05.0f}EA{h:05.0f}{h:05.0f}"
        for s, m, h in zip(seconds, way, height_m, strict=True)
    ]
    path = folder / "flight.igc"
    path.write_text("\r\n".join(["AXXX001", "HFDTE280526", *headers, *rows]) + "\r\n")
    return read_flight(path)


@pytest.mark.parametrize("headers", [("HFGTYGLIDERTYPE:", "HFCCLCOMPETITIONCLASS:Paraglider"), ()])
def test_a_paraglider_along_its_slope_flew(tmp_path: Path, headers: tuple[str, ...]) -> None:
    """Never as fast as a car in a town nor 60 m up, against the ridge's wind at the end: off after 36 s, not down."""
    s = np.arange(0.0, 300.0, 4.0)
    speed = np.interp(s, [0, 32, 40, 200, 270, 282, 296], [0.3, 0.3, 9.0, 10.0, 9.0, 3.5, 7.5])
    height = np.interp(s, [0, 36, 56, 130, 240, 296], [596.0, 596.0, 584.0, 615.0, 540.0, 587.0])
    flight = igc(tmp_path, s, speed, height, *headers)
    assert craft_of(flight).kind == "sailplane"
    assert [c.kind for c in flight.contacts] == ["takeoff"]
    assert flight.contacts[0].time_s == pytest.approx(36.0, abs=6.0)


def test_a_paraglider_left_its_slope_when_it_moved_not_when_its_height_settled(tmp_path: Path) -> None:
    """It stands at one place to the thousandth of a minute while its pressure sinks by 6 m; off after 40 s."""
    s = np.arange(0.0, 200.0)
    speed, height = np.where(s < 40.0, 0.0, 8.0), np.interp(s, [30, 34, 40, 200], [896.0, 890.0, 890.0, 760.0])
    flight = igc(tmp_path, s, speed, height, "HFCCLCOMPETITIONCLASS:Paraglider")
    assert [c.kind for c in flight.contacts] == ["takeoff"]
    assert flight.contacts[0].time_s == pytest.approx(40.0, abs=2.0)


@pytest.mark.parametrize(("stays_s", "kind"), [(0.0, "sailplane"), (90.0, "unsure")])
def test_a_logger_names_a_gliders_type_in_a_few_fixes(tmp_path: Path, stays_s: float, kind: str) -> None:
    """Up on a cable and down within three minutes, ten seconds a fix; who stays level is what pilots type in, too."""
    s = np.arange(0.0, 210.0 + stays_s, 10.0)
    height = np.interp(s, [0, 70, 70 + stays_s, 200 + stays_s], [285.0, 1_000.0, 1_000.0, 35.0])
    flight = igc(tmp_path, s, np.full(s.size, 27.0), height, "HFGTYGLIDER TYPE:L-23")
    assert craft_of(flight).kind == kind


def test_an_airplane_that_climbs_in_circles_over_its_field_is_no_sailplane(tmp_path: Path) -> None:
    """Three climbs of ten minutes from the runway on, in circles of 50 s: a tow's, not lift found in the air."""
    lap = np.mod(T, 800.0)
    speed = np.interp(lap, [0, 60, 80, 760, 790, 800], [2.0, 2.0, 33.0, 33.0, 3.0, 2.0])
    height = np.interp(lap, [80, 480, 500, 760], [400.0, 1_400.0, 1_400.0, 400.0])
    turns = np.where((lap > 100.0) & (lap < 480.0), 2.0 * np.pi / 50.0, 0.0)
    assert craft_of(read(tmp_path, speed, height, np.cumsum(turns))).kind == "shuttle"


def test_positions_that_hang_on_the_approach_are_no_landing(tmp_path: Path) -> None:
    """The last fix repeated 20 m over the field: nothing brakes 32 m/s in a second; a roll of a minute is a landing."""
    height = np.interp(T, [320, 620, 1_900, 2_200], [400.0, 1_000.0, 1_000.0, 420.0])
    speed = np.interp(T, [0, 300, 320, 500, 1_900, 2_200, 2_201], [5.0, 5.0, 30.0, 38.0, 38.0, 32.0, 0.0])
    assert [c.kind for c in read(tmp_path, speed, height, LAP).contacts] == ["takeoff"]
    rolled = np.interp(T, [0, 300, 320, 500, 1_900, 2_200, 2_220], [5.0, 5.0, 30.0, 38.0, 38.0, 32.0, 0.0])
    flight = read(tmp_path, rolled, height, LAP)
    assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]


SECONDS = np.arange(0.0, 1_500.0)


def hand(seed: int, tau_s: float, spread: float) -> Array:
    """Something that wanders about nothing: correlated over so many seconds."""
    rng, out = np.random.default_rng(seed), np.zeros(SECONDS.size)
    for k in range(1, out.size):
        out[k] = out[k - 1] * (1.0 - 1.0 / tau_s) + spread * np.sqrt(2.0 / tau_s) * rng.standard_normal()
    return out


def stood_at_both_ends(speed_mps: Array) -> Array:
    return speed_mps * np.interp(SECONDS, [0, 20, 60, 1_440, 1_480, 1_500], [0, 0, 1, 1, 0, 0])


UP_AND_DOWN = np.where(SECONDS < 750.0, 1.0, -1.0)
WINDING = stood_at_both_ends(np.where(np.mod(SECONDS, 40.0) < 8.0, 11.0, 24.0))
NO_HALT = 30.0 + 3.0 * np.sin(SECONDS / 60.0)
AFLOAT = np.interp(SECONDS, [0, 60, 90, 1_420, 1_450, 1_500], [0, 0, 4, 5, 0, 0]) + 0.0 * SECONDS
CIRCUITS = np.interp(np.mod(SECONDS, 300.0), [0, 40, 60, 90, 230, 260, 280, 300], [0, 0, 14, 38, 38, 14, 0, 0])
HOVERS = np.interp(np.mod(SECONDS, 300.0), [0, 40, 60, 130, 210, 260, 280, 300], [0, 2, 14, 150, 150, 14, 2, 0])
WHEELS = np.interp(SECONDS, [0, 60, 900, 960, 1_500], [0.3, 4.0, 4.0, 0.3, 8.0])
PULLED = np.interp(SECONDS, [0, 60, 900, 960, 1_500], [1_200.0, 1_200.0, 2_300.0, 2_300.0, 1_250.0])
MOTORWAY = stood_at_both_ends(27.0 + 5.0 * np.sin(SECONDS / 190.0))
HAIRPINS = stood_at_both_ends(np.where(np.mod(SECONDS, 50.0) < 9.0, 9.0, 23.0))
STAGE = np.clip(29.0 + hand(4, 8.0, 8.0), 6.0, 48.0)
RIDE = 11.0 + 8.0 * np.sin(SECONDS / 11.0)
RACING = 19.0 + 9.0 * np.sin(SECONDS / 6.0)
JUMP = np.interp(SECONDS, [0, 60, 70, 960, 970, 1_015, 1_025, 1_300, 1_310], [0, 0, 45, 45, 15, 15, 8, 8, 0])
FALL = np.interp(SECONDS, [60, 960, 1_015, 1_300], [300.0, 4_000.0, 1_000.0, 300.0])


@pytest.mark.parametrize(
    ("speed", "height", "turn", "kind"),
    [
        (MOTORWAY, 500.0 + np.cumsum(MOTORWAY * 0.033 * np.sin(SECONDS / 240.0)), hand(1, 15.0, 0.01), "ground"),
        (HAIRPINS, 700.0 + np.cumsum(HAIRPINS * 0.07 * UP_AND_DOWN),
         np.where(HAIRPINS < 10.0, np.pi / 9.0 * np.where(np.mod(SECONDS, 100.0) < 50.0, 1.0, -1.0), 0.0), "ground"),
        (STAGE, 400.0 + np.cumsum(hand(2, 40.0, 0.8)), hand(3, 4.0, 0.12), "ground"),
        (RIDE, 60.0 + 17.0 * np.cos(SECONDS / 11.0), 0.2 * np.sin(SECONDS / 8.0), "other"),
        (RACING, 300.0 + 44.0 * (1.0 - np.cos(SECONDS / 10.0)), 0.1 + 0.3 * np.sin(SECONDS / 7.0), "other"),
        (WINDING, 400.0 + np.cumsum(WINDING * 0.05 * np.sin(SECONDS / 200.0)),
         np.where(WINDING < 12.0, 0.2, 0.0), "ground"),
        (NO_HALT, 400.0 + np.cumsum(NO_HALT * 0.045 * np.sin(SECONDS / 40.0)), 0.004 * np.sin(SECONDS / 30.0),
         "unsure"),
        (AFLOAT, np.interp(SECONDS, [60, 400, 900, 1_430], [400.0, 900.0, 600.0, 400.0]), hand(5, 60.0, 0.002),
         "other"),
        (CIRCUITS, 100.0 + HOVERS, np.where(np.mod(SECONDS, 300.0) > 100.0, np.pi / 65.0, 0.0)
         * (np.mod(SECONDS, 300.0) < 230.0), "other"),
        (WHEELS, PULLED, hand(6, 30.0, 0.001) + np.pi * (SECONDS == 930.0), "unsure"),
        (JUMP, FALL, np.where(SECONDS < 960.0, 0.02, 0.05 * np.sin(SECONDS / 8.0)), "other"),
    ],
    ids=["motorway", "hairpins", "rally", "roller coaster", "racing drone", "bends of a road",
         "hills without a halt", "hot-air balloon", "helicopter circuits", "lift", "parachute jump"],
)  # fmt: skip
def test_nothing_is_claimed_of_what_was_never_fast_and_high_or_brakes_or_falls(
    tmp_path: Path, speed: Array, height: Array, turn: Array, kind: str
) -> None:
    course = np.cumsum(turn)
    flight = read(tmp_path, speed, height + hand(9, 30.0, 1.0), course)
    assert craft_of(flight).kind == kind
    assert flight.contacts == ()
    found = debrief(flight, standard=load_standard("private")).as_json()
    assert found["episodes"] == []
    assert {line["heading"] for line in found["first"]} <= {"in short", "not judged"}  # nor is a fault found in it


def in_wind(speed_mps: Array, turn_rps: Array, wind_mps: float) -> tuple[Array, Array]:
    """(speed over the ground, change of track a second) of a flight at such an airspeed."""
    heading = np.cumsum(turn_rps)
    north, east = speed_mps * np.cos(heading) + wind_mps, speed_mps * np.sin(heading)
    return np.hypot(north, east), np.arctan2(east, north)


@pytest.mark.parametrize("climbs", [120.0, 320.0])
def test_steep_circles_in_a_strong_wind_and_the_lowest_patterns_are_flights(tmp_path: Path, climbs: float) -> None:
    """The control: 14 m/s of wind give and take 28 m/s in a circle of 20 s; patterns 400 ft up stay flights."""
    circling = np.where(np.mod(SECONDS, 300.0) > 120.0, 2.0 * np.pi / 20.0, 0.0)
    air = np.interp(SECONDS, [0, 100, 120, 1_380, 1_400, 1_430], [0, 0, 36, 36, 30, 0])
    aloft = (SECONDS > 120.0) & (SECONDS < 1_390.0)
    over_ground, track = in_wind(air, circling * aloft, 14.0)
    speed = np.where(aloft, over_ground, air)
    height = np.interp(SECONDS, [120, 120 + climbs / 3.0, 1_395 - climbs / 2.5, 1_395], [0, climbs, climbs, 0]) + 300.0
    flight = read(tmp_path, speed, height + hand(8, 30.0, 1.0), track)
    assert craft_of(flight).kind == "airplane"
    assert "takeoff" in [c.kind for c in flight.contacts]


@pytest.mark.parametrize("unit", ["m", ""])
def test_a_weather_balloon_is_read_and_named(tmp_path: Path, unit: str) -> None:
    """5 m/s up for 95 minutes, burst, down at up to 40 m/s; with and without its unit named."""
    t = np.arange(0.0, 7_600.0, 2.0)
    height = np.interp(t, [0, 100, 5_800, 6_200, 7_500], [120.0, 120.0, 29_500.0, 14_000.0, 150.0])
    drift = np.interp(height, [0, 10_000, 30_000], [4.0, 28.0, 12.0])
    lon = 9.0 + np.cumsum(np.where(t > 100.0, drift * 2.0, 0.0)) / 75_000.0
    rows = [f"{1_780_000_000 + s:.0f},47.0,{o:.6f},{h:.1f}" for s, o, h in zip(t, lon, height, strict=True)]
    path = tmp_path / "sonde.csv"
    path.write_text("\n".join([f"time,lat,lon,alt{'_m' * bool(unit)}", *rows]) + "\n")
    flight = read_flight(path)
    assert craft_of(flight).kind == "other"
    assert float(np.nanmax(flight["gps_altitude_m"])) == pytest.approx(29_500.0, abs=50.0)


@pytest.mark.parametrize(("faster", "said"), [(1.0, 1.0), (4.0, 3.2808)])
def test_a_drifting_balloons_meters_stay_meters(tmp_path: Path, faster: float, said: float) -> None:
    """How aircraft climb tells no unit of what only drifts. Control: four times as fast, feet under meters' name."""
    t = np.arange(0.0, 3_600.0, 3.0)
    rate = np.where((t > 120.0) & (t < 3_400.0), 1.6 * np.sin(t / 260.0), 0.0)
    height = 150.0
    heights, way = [], [0.0]
    for climb in rate:
        height = max(height + 3.0 * climb, 150.0)
        heights.append(height)
        way.append(way[-1] + 3.0 * faster * (2.5 + (height - 150.0) / 160.0) * (climb != 0.0))
    points = "".join(
        f'<trkpt lat="{45.3 + m / 157_300.0:.6f}" lon="{0.4 + m / 110_600.0:.6f}"><ele>{h * said:.1f}</ele>'
        f"<time>2026-08-20T{5 + int(s) // 3_600:02d}:{int(s) // 60 % 60:02d}:{int(s) % 60:02d}Z</time></trkpt>"
        for s, m, h in zip(t, way, heights, strict=False)
    )
    space = 'version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"'
    (tmp_path / "drift.gpx").write_text(f"<gpx {space}><trk><trkseg>{points}</trkseg></trk></gpx>")
    flight = read_flight(tmp_path / "drift.gpx")
    assert float(np.nanmax(flight["gps_altitude_m"])) == pytest.approx(max(heights), rel=0.02)
    assert (craft_of(flight).kind == "other") == (faster == 1.0)
    assert flight.contacts == ()


def test_a_slow_airplane_in_a_gale_is_one(tmp_path: Path) -> None:
    """The control: 21 m/s through the air, 14 m/s of wind: 7 m/s over the ground on both ends, circuits between."""
    aloft = (SECONDS > 130.0) & (SECONDS < 1_400.0)
    air = np.interp(SECONDS, [0, 120, 130, 1_400, 1_412, 1_500], [14.0, 14.0, 21.0, 21.0, 14.0, 14.0])
    turns = np.where((np.mod(SECONDS, 120.0) < 24.0) & (SECONDS > 200.0) & (SECONDS < 1_360.0), np.pi / 48.0, 0.0)
    heading = np.cumsum(turns) + np.pi
    north, east = air * np.cos(heading) + 14.0, air * np.sin(heading)
    speed, track = np.where(aloft, np.hypot(north, east), np.maximum(air - 14.0, 0.0)), np.arctan2(east, north)
    height = 300.0 + np.interp(SECONDS, [130, 300, 1_200, 1_400], [0.0, 300.0, 300.0, 0.0])
    assert craft_of(read(tmp_path, speed, height, track)).kind == "airplane"


@pytest.mark.parametrize(("hangs", "kind"), [(True, "other"), (False, "airplane")])
def test_a_helicopter_without_a_hover_leaves_and_comes_back_through_the_air(
    tmp_path: Path, hangs: bool, kind: str
) -> None:
    """From standing to 100 kt without a roll, and back; the airplane beside it rolls on the same speeds."""
    speed = np.interp(T, [60, 100, 2_200, 2_260], [0.0, 50.0, 50.0, 0.0])
    knots = [60, 100, 500, 1_900, 2_200, 2_260] if hangs else [90, 100, 500, 1_900, 2_200, 2_225]
    height = np.interp(T, knots, [200.0, 250.0 if hangs else 205.0, 600.0, 600.0, 260.0, 200.0])
    assert craft_of(read(tmp_path, speed, height, LEGS)).kind == kind


def test_a_helicopter_seen_every_eight_seconds_is_one(tmp_path: Path) -> None:
    """As a receiver on the ground hears it: off the spot and back to one, 20 kt at 100 ft."""
    speed = np.interp(T, [60, 120, 2_200, 2_260], [0.0, 50.0, 50.0, 0.0])
    height = np.interp(T, [60, 90, 500, 1_900, 2_225, 2_260], [200.0, 260.0, 600.0, 600.0, 270.0, 200.0])
    read(tmp_path, speed, height, LEGS)
    lines = (tmp_path / "track.csv").read_text().splitlines()
    (tmp_path / "thin.csv").write_text("\n".join([lines[0], *lines[1::8]]) + "\n")
    assert craft_of(read_flight(tmp_path / "thin.csv")).kind == "other"


@pytest.mark.parametrize(("goes_on", "kind"), [(False, "sailplane"), (True, "airplane")])
def test_a_launch_on_a_cable_is_told(tmp_path: Path, goes_on: bool, kind: str) -> None:
    """13 m/s up at 36 m/s for 40 s, then hardly; what climbs like that for minutes has another unit of height."""
    speed = np.interp(T, [60, 70, 2_200, 2_230], [0.0, 36.0, 36.0, 0.0])
    top = [720.0, 1_630.0, 1_640.0] if goes_on else [720.0, 730.0, 740.0]
    height = np.interp(T, [70, 110, 180, 230, 1_500, 1_800], [200.0, *top, 700.0, 200.0])
    flight = read(tmp_path, speed, height, LEGS)
    assert craft_of(flight).kind == kind
    assert any("light airplanes don't" in m.what for m in flight.mends) == goes_on


@pytest.mark.parametrize(("stays", "kind"), [(False, "shuttle"), (True, "airplane")])
def test_up_and_down_again_at_once_is_no_lesson(tmp_path: Path, stays: bool, kind: str) -> None:
    """Two flights to 2,300 ft and straight down, as with jumpers or a glider; one that stays up does something."""
    once = np.interp(np.arange(1_200.0), [60, 80, 1_050, 1_080], [0.0, 35.0, 35.0, 0.0])
    knots = [90, 500, 800, 1_050] if stays else [90, 600, 640, 1_050]
    up = np.interp(np.arange(1_200.0), knots, [200.0, 900.0, 900.0, 200.0])
    assert craft_of(read(tmp_path, np.tile(once, 2), np.tile(up, 2), LEGS)).kind == kind


@pytest.mark.parametrize(
    ("tops", "stays_s", "kind"), [((900.0, 910.0), 60, "shuttle"), ((900.0, 760.0), 60, "airplane"),
                                  ((900.0, 910.0), 420, "airplane")],
)  # fmt: skip
def test_home_low_down_from_the_same_height_each_time_is_no_lesson(
    tmp_path: Path, tops: tuple[float, float], stays_s: int, kind: str
) -> None:
    """Up to a height asked for, down at once and minutes home low down: nobody was taught. Other heights, or
    seven minutes up there: a student's (common practice, no source)."""
    once = np.interp(np.arange(1_200.0), [60, 80, 1_120, 1_150], [0.0, 35.0, 35.0, 0.0])
    knots = [90, 500, 500 + stays_s, 560 + stays_s, 1_060, 1_120]
    up = [np.interp(np.arange(1_200.0), knots, [200.0, top, top, 400.0, 400.0, 200.0]) for top in tops]
    assert craft_of(read(tmp_path, np.tile(once, 2), np.concatenate(up), LEGS)).kind == kind


@pytest.mark.parametrize(("wanders_m", "kind"), [(9.0, "airplane"), (25.0, "other")])
def test_a_satellites_height_that_wanders_while_it_taxies_is_no_hover(
    tmp_path: Path, wanders_m: float, kind: str
) -> None:
    """Nine meters between a halt and the roll, at both ends (a stranger's file); 25 m there are a hover's."""
    speed = np.interp(T, [100, 110, 130, 2_200, 2_220, 2_230], [0.0, 15.0, 45.0, 45.0, 15.0, 0.0])
    knots = [90, 110, 130, 600, 1_900, 2_200, 2_220, 2_240]
    height = 200.0 + np.interp(T, knots, [0.0, wanders_m, wanders_m + 5.0, 600.0, 600.0, wanders_m, wanders_m, 0.0])
    assert craft_of(read(tmp_path, speed, height, LEGS)).kind == kind


def test_a_car_slow_over_a_pass_is_no_helicopter(tmp_path: Path) -> None:
    """Twice for a minute at 20 kt, 300 m over where it began: a town up there, and the words say so."""
    speed = np.interp(np.mod(T, 1_000.0), [0, 30, 380, 400, 470, 490, 970, 1_000], [0, 24, 22, 10, 10, 23, 26, 0])
    height = 400.0 + np.interp(np.mod(T, 1_000.0), [0, 400, 470, 1_000], [0.0, 300.0, 310.0, 0.0])
    turn = 0.04 * np.sin(T / 9.0) * np.sin(T / 70.0)
    craft = craft_of(read(tmp_path, speed, height + 4.0 * np.sin(T / 25.0), np.cumsum(turn)))
    assert craft.kind == "ground"
    assert "29 kt" not in craft.why


@pytest.mark.parametrize(("mps", "kind"), [(11.5, "other"), (24.0, "airplane")])
def test_a_balloon_in_a_fresh_wind_is_one(tmp_path: Path, mps: float, kind: str) -> None:
    """22 kt straight on and up by a fifth of its way. Control: twice as fast as nothing with wings is in the air."""
    t = T[:1_500]
    height = 300.0 + np.interp(t, [100, 500, 900, 1_400], [0.0, 900.0, 900.0, 100.0]) * mps / 11.5
    flight = read(tmp_path, np.interp(t, [80, 140, 1_400, 1_440], [0.0, mps, mps, 0.0]), height, 0.2 + t / 9_000.0)
    assert craft_of(flight).kind == kind


@pytest.mark.parametrize(("noise", "kind"), [("", "unsure"), ("880", "airplane")])
def test_five_minutes_of_a_gliders_logger_show_no_airplane(tmp_path: Path, noise: str, kind: str) -> None:
    """Off the ground behind a tug or by an engine: the same path; an engine that the logger hears settles it."""
    s = np.arange(0.0, 330.0, 3.0)
    igc(tmp_path, s, np.interp(s, [18, 45, 330], [0.0, 34.0, 36.0]), np.interp(s, [48, 330], [120.0, 700.0]))
    lines = (tmp_path / "flight.igc").read_text().splitlines()
    if noise:
        lines = [f"{x}{noise if k % 9 else 700}" if x[0] == "B" else x for k, x in enumerate(lines)]
        lines.insert(2, "I013638ENL")
    (tmp_path / "tow.igc").write_text("\r\n".join(lines) + "\r\n")
    flight = read_flight(tmp_path / "tow.igc")
    assert craft_of(flight).kind == kind
    assert [c.kind for c in flight.contacts] == ["takeoff"]  # that it flew shows
    assert (debrief(flight, standard=load_standard("private")).episodes != ()) == (kind == "airplane")


@pytest.mark.parametrize(
    ("named", "kind"), [("Larkspur 15", "sailplane"), ("PA-25 Pawnee", "airplane"), ("SF 25 C", "unsure")]
)
def test_the_type_a_glider_s_logger_names_tells_its_minutes_behind_a_tug(tmp_path: Path, named: str, kind: str) -> None:
    """The same five minutes with a type, never level: what its file names, a motor glider's open; its take-off shown.
    Designators: [ICAO] Doc 8643, from memory."""
    s = np.arange(0.0, 330.0, 3.0)
    speed, height = np.interp(s, [18, 45, 330], [0.0, 34.0, 36.0]), np.interp(s, [48, 330], [120.0, 700.0])
    flight = igc(tmp_path, s, speed, height, f"HFGTYGLIDERTYPE:{named}")
    assert craft_of(flight).kind == kind
    assert [c.kind for c in flight.contacts] == ["takeoff"]


@pytest.mark.parametrize(
    ("named", "heard", "kind"),
    [
        ("HFGTYGLIDERTYPE:Discus bT", True, "sailplane"),
        ("HFCCLCOMPETITIONCLASS:18m", True, "sailplane"),
        ("HFGTYGLIDERTYPE:DR 400", True, "airplane"),
        ("HFCCLCOMPETITIONCLASS:18mph", True, "airplane"),
    ],
)
def test_a_named_sailplane_whose_engine_is_heard_launched_itself(
    tmp_path: Path, named: str, heard: bool, kind: str
) -> None:
    """Five minutes up from the runway with a loud engine: an airplane's but for the name. Names: from memory."""
    s = np.arange(0.0, 330.0, 3.0)
    igc(tmp_path, s, np.interp(s, [18, 45, 330], [0.0, 34.0, 36.0]), np.interp(s, [48, 330], [120.0, 700.0]), named)
    lines = (tmp_path / "flight.igc").read_text().splitlines()
    lines = [f"{x}{930 if k % 9 else 700}" if x[0] == "B" else x for k, x in enumerate(lines)]
    lines.insert(2, "I013638ENL")
    (tmp_path / "own.igc").write_text("\r\n".join(lines) + "\r\n")
    craft = craft_of(read_flight(tmp_path / "own.igc"))
    assert (craft.kind, craft.engine) == (kind, heard)


@pytest.mark.parametrize(("top_mps", "kind"), [(8.5, "unsure"), (13.0, "sailplane")])
def test_what_is_never_20_kt_fast_shows_no_flight(tmp_path: Path, top_mps: float, kind: str) -> None:
    """A quarter of an hour, now and then up 17 in 100 at a fix in 10 s: steeper than roads. At 25 kt it may glide."""
    t = T[:1_000]
    speed = top_mps * np.clip(0.75 + 0.4 * np.sin(t / 60.0), 0.1, 1.0) * np.clip(t / 20.0, 0.0, 1.0)
    read(tmp_path, speed, 100.0 + np.cumsum(0.17 * speed * (np.mod(t, 150.0) < 60.0)), 2.0 * np.sin(t / 40.0))
    lines = (tmp_path / "track.csv").read_text().splitlines()
    (tmp_path / "thin.csv").write_text("\n".join([lines[0], *lines[1::10]]) + "\n")
    flight = read_flight(tmp_path / "thin.csv")
    assert craft_of(flight).kind == kind
    assert (flight.contacts == ()) == (kind == "unsure")


@pytest.mark.parametrize(("turn_s", "kind"), [(11.0, "other"), (20.0, "airplane")])
def test_circles_too_tight_for_a_pilot_are_a_models(tmp_path: Path, turn_s: float, kind: str) -> None:
    """42 kt and a circle in 11 s at one height, again and again; one in 20 s is a steep turn's."""
    course = np.cumsum(np.where(np.mod(T, 200.0) > 150.0, 2.0 * np.pi / turn_s, 0.0))
    speed = np.interp(T, [100, 110, 2_300, 2_310], [0.0, 22.0, 22.0, 0.0])
    height = np.interp(T, [106, 180, 2_200, 2_300], [100.0, 250.0, 250.0, 100.0])
    assert craft_of(read(tmp_path, speed, height, course)).kind == kind


@pytest.mark.parametrize(("mps", "kind"), [(68.0, "fast"), (38.0, "airplane")])
def test_wheels_that_leave_the_ground_at_130_kt_are_no_light_singles(tmp_path: Path, mps: float, kind: str) -> None:
    """A minute and a half of a jet's departure; a single's beside it."""
    t = T[:200]
    speed = np.interp(t, [60, 100, 200], [0.0, mps, 1.15 * mps])
    height = np.interp(t, [104, 200], [100.0, 500.0 if kind == "fast" else 480.0])
    craft = craft_of(read(tmp_path, speed, height, 0.0 * t))
    assert craft.kind == kind
    assert ("wheels leave" in craft.why) == (kind == "fast")


@pytest.mark.parametrize(
    ("slow_mps", "air", "kind"), [(12.0, 1.0, "other"), (16.5, 1.0, "airplane"), (12.0, 1.7, "airplane")]
)
def test_wings_that_keep_a_height_at_23_kt_are_a_models(tmp_path: Path, slow_mps: float, air: float, kind: str) -> None:
    """Its airspeed recorded, half a minute level between faster ones. At 32 kt, or into a wind, it may be anybody's."""
    t = T[:700]
    speed = np.interp(t, [60, 70, 300, 320, 360, 380, 640, 660], [0, 24.0, 24.0, slow_mps, slow_mps, 24.0, 24.0, 0])
    height = np.interp(t, [66, 120, 560, 650], [100.0, 170.0, 170.0, 100.0])
    read(tmp_path, speed, height, np.pi / 60.0 * np.cumsum(np.mod(t, 240.0) < 30.0))
    first, *rows = (tmp_path / "track.csv").read_text().splitlines()
    panel = [f"{row},{air * v:.2f}" for row, v in zip(rows, speed, strict=True)]
    (tmp_path / "panel.csv").write_text("\n".join([f"{first},IAS (m/s)", *panel]) + "\n")
    assert craft_of(read_flight(tmp_path / "panel.csv")).kind == kind


def test_a_minute_at_walking_pace_down_a_hill_or_without_a_height_shows_no_flight(tmp_path: Path) -> None:
    """10 kt and 30 m down at a fix in 7 s; two minutes in a town where nothing but positions was recorded."""
    t = T[:64]
    read(tmp_path, np.full(t.size, 5.2), 1_500.0 - 0.55 * t, 0.3 * np.sin(t / 20.0))
    lines = (tmp_path / "track.csv").read_text().splitlines()
    (tmp_path / "thin.csv").write_text("\n".join([lines[0], *lines[1::7]]) + "\n")
    flight = read_flight(tmp_path / "thin.csv")
    assert (craft_of(flight).kind, flight.contacts) == ("unsure", ())
    halts = np.clip(12.0 * np.sin(T[:150] / 16.0), 0.2, None)
    read(tmp_path, halts, 0.0 * halts, np.pi / 2.0 * np.floor(T[:150] / 50.0))
    flat = [
        ",".join(x for k, x in enumerate(row.split(",")) if k != 3)
        for row in (tmp_path / "track.csv").read_text().split()
    ]
    (tmp_path / "flat.csv").write_text("\n".join(flat).replace("(m/s)", " (m/s)") + "\n")
    assert craft_of(read_flight(tmp_path / "flat.csv")).kind in ("unsure", "ground")


def test_a_minute_after_the_cable_is_let_go_tells_the_launch(tmp_path: Path) -> None:
    """Standing, 300 m up in 24 s at 30 m/s, then a circuit begun: a glider's logger of two minutes, without a type."""
    s = np.arange(0.0, 120.0, 1.0)
    speed, height = (
        np.interp(s, [12, 18, 42, 120], [0.0, 30.0, 25.0, 26.0]),
        np.interp(s, [18, 42, 120], [100.0, 430.0, 400.0]),
    )
    flight = igc(tmp_path, s, speed, height)
    assert craft_of(flight).kind == "sailplane"
    assert not any("light airplanes don't" in m.what for m in flight.mends)


@pytest.mark.parametrize(("rolls_s", "kind"), [(0.0, "other"), (16.0, "airplane")])
def test_under_a_canopy_it_stands_at_once(tmp_path: Path, rolls_s: float, kind: str) -> None:
    """Down at 9 m/s and 37 kt and still within 3 s of the ground; as steep as that to the flare, then a roll."""
    t = T[:300]
    touch = 220.0
    speed = np.interp(t, [touch, touch + 3.0 + rolls_s], [19.0, 0.2])
    height = (
        np.interp(t, [0, 100, touch], [900.0, 900.0, 100.0])
        if not rolls_s
        else np.interp(t, [0, 130, touch], [900.0, 900.0, 100.0])
    )
    assert craft_of(read(tmp_path, speed + 12.0 * (t < 180.0), height, LEGS[:300])).kind == kind


@pytest.mark.parametrize(("lasts_s", "climbs_m", "stands"), [(40.0, 0.0, True), (300.0, 90.0, False)])
def test_a_height_that_settles_on_one_spot_lifts_nobody(
    tmp_path: Path, lasts_s: float, climbs_m: float, stands: bool
) -> None:
    """60 m too high at first, as a receiver just switched on; the control goes up later, on the spot."""
    t = np.arange(0.0, lasts_s)
    height = 223.0 + 60.0 * np.exp(-t / 3.0) + np.interp(t, [100, 140, 200, 240], [0.0, climbs_m, climbs_m, 0.0])
    craft = craft_of(read(tmp_path, 0.2 + 0.0 * t, height, t / 40.0))
    assert (craft.why == "it never moves over the ground") == stands
    assert (craft.kind == "ground") == stands


@pytest.mark.parametrize(("rolls", "kind"), [(False, "other"), (True, "airplane")])
def test_a_helicopter_that_also_taxies_low_is_one(tmp_path: Path, rolls: bool, kind: str) -> None:
    """Six stands: from three it leaves straight up and away, the other halts are low. The airplane beside it rolls."""
    speed = np.interp(np.mod(T, 400.0), [0, 60, 80, 330, 370, 400], [0.0, 0.0, 50.0, 50.0, 0.0, 0.0])
    gone, up = np.mod(T, 400.0), np.floor(T / 400.0) < 3
    leaves = 80.0 if rolls else 58.0
    height = 200.0 + np.where(
        up, np.interp(gone, [leaves, leaves + 60.0, 250, 345], [0.0, 240.0, 240.0, 0.0]),
        np.interp(gone, [80, 140, 250, 330], [0.0, 240.0, 240.0, 0.0]))  # fmt: skip
    craft = craft_of(read(tmp_path, speed, height, LEGS))
    assert craft.kind == kind
    assert ("as a helicopter is" in craft.why) == (kind == "other")


def rejected(folder: Path, *, igc: bool, hops_m: float = 0.0, taxi_mps: float = 0.0) -> Flight:
    """It stands, runs up to 38 kt and brakes, twice, stands or taxies; or leaves the ground in the second run."""
    t = np.arange(0.0, 900.0 if taxi_mps else 240.0, 1.0)
    speed = np.interp(t, [0, 30, 50, 65, 110, 130, 145, 150, 890, 895], [0, 0, 19.5, 0, 0, 19.5, 0, *[taxi_mps] * 2, 0])
    height = 675.0 + hops_m * np.interp(t, [115, 128, 140], [0.0, 1.0, 0.0]) + 0.5 * np.sin(t)
    lat = 47.9 + np.cumsum(speed) / 111_200.0
    if igc:
        fixes = [f"B0900{s:02d}" if s < 60 else f"B09{s // 60:02d}{s % 60:02d}" for s in t.astype(int)]
        rows = [f"{f}{4754000 + round((a - 47.9) * 60_000):07d}N00831466EA{h:05.0f}{h:05.0f}"
                for f, a, h in zip(fixes, lat, height, strict=True)]  # fmt: skip
        text = "\n".join(["AXXX001", "HFDTE010326", *rows]) + "\n"
    else:
        head = "time,lat,lon,Indicated Altitude (ft),IAS (kt),Ground Speed (kt),RPM"
        rows = [f"{1.78e9 + s:.0f},{a:.7f},8.5,{h / 0.3048:.0f},{v * 1.944:.1f},{v * 1.944:.1f},{900 + 70 * v:.0f}"
                for s, a, h, v in zip(t, lat, height, speed, strict=True)]  # fmt: skip
        text = "\n".join([head, *rows]) + "\n"
    path = folder / ("run.igc" if igc else "run.csv")
    path.write_text(text)
    return read_flight(path)


@pytest.mark.parametrize("igc", [False, True])
def test_rejected_takeoffs_never_leave_the_ground(tmp_path: Path, *, igc: bool) -> None:
    flight = rejected(tmp_path, igc=igc)
    assert craft_of(flight).kind == "ground"
    assert "never leaves the ground" in craft_of(flight).why
    assert flight.contacts == ()
    found = debrief(flight, standard=load_standard("private"))
    assert not found.airborne_s
    assert igc == any("name its file" in note for note in found.notes)  # instruments are an airplane's anyway


@pytest.mark.parametrize("igc", [False, True])
def test_what_goes_up_from_the_ground_is_not_told_to_stay_there(tmp_path: Path, *, igc: bool) -> None:
    """As slow, and 30 m up: nothing here says it never left."""
    assert "never leaves the ground" not in craft_of(rejected(tmp_path, igc=igc, hops_m=30.0)).why


def test_an_engines_speed_is_no_sailplanes(tmp_path: Path) -> None:
    """A quarter of an hour taxied fast, once 30 m higher: not told to stay on the ground, and no sailplane either."""
    flight = rejected(tmp_path, igc=False, hops_m=30.0, taxi_mps=12.0)
    assert craft_of(flight).kind == "unsure"
    assert craft_of(rejected(tmp_path, igc=True, hops_m=30.0, taxi_mps=12.0)).kind != "airplane"
