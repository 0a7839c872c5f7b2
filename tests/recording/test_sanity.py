"""A last look over the whole recording, and what is settled by it: headings, clocks, meridians, whose track it is.

The flights are made (`made_flight.py`); what no airplane does is made by hand. Beside each find stands a flight of
which nothing may be said.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.errors import InputError
from airwork.recording import read_flight
from airwork.recording.craft import craft_of
from recording.made_flight import KT, START_UTC_S, lesson, stamp
from recording.writing import GET, save, table

MADE = lesson(1500.0, 1.0)
PLAIN = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}
DOUBTS = (
    "airplanes don't",
    "never climbs",
    "no wind does",
    "positions make",
    "ft apart",
    "by the sun",
    "turn rate make",
)


def doubts(path: Path) -> list[str]:
    return [m.what for m in read_flight(path).mends if any(d in m.what for d in DOUBTS)]


def test_nothing_is_said_of_a_flight(tmp_path: Path) -> None:
    panel = {**PLAIN, "IAS (kt)": ("ias_kt", 1), "Heading (true)": ("hdg_deg", 1), "Bank (deg)": ("bank_deg", 1)}
    assert doubts(save(tmp_path, table(MADE, PLAIN))) == []
    assert doubts(save(tmp_path, table(MADE, panel), "panel.csv")) == []


def test_an_airspeed_that_bank_and_turns_contradict_is_said(tmp_path: Path) -> None:
    """V = g·tan φ / ω needs no position; meters a second under the name of knots are half of it."""
    GET["ias_mps"] = lambda m: GET["ias_kt"](m) * KT
    columns = {"altitude (ft)": ("alt_ft", 0), "IAS (kt)": ("ias_mps", 1), "Heading (true)": ("hdg_deg", 1),
               "Bank (deg)": ("bank_deg", 1)}  # fmt: skip
    assert any("what bank and turn rate make" in d for d in doubts(save(tmp_path, table(MADE, columns))))
    columns["IAS (kt)"] = ("ias_kt", 1)
    assert doubts(save(tmp_path, table(MADE, columns), "right.csv")) == []


def test_climbs_no_airplane_flies_are_said(tmp_path: Path) -> None:
    """Heights above the field two and a half times as high, in no unit that is used."""
    GET["high"] = lambda m: m.altitude_m[0] + (m.altitude_m - m.altitude_m[0]) * 2.5
    columns = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "GPS altitude (m)": ("high", 1), "GS (kt)": ("gs_kt", 1)}
    assert any("light airplanes don't" in d for d in doubts(save(tmp_path, table(MADE, columns))))


@pytest.mark.parametrize("variation_deg", [0.0, 12.0])
def test_which_heading_it_is_shows_by_the_track(variation_deg: float, tmp_path: Path) -> None:
    """New Zealand, some 22° E of variation (the world magnetic model): true headings and magnetic ones of one name."""
    made = lesson(1500.0, 1.0, latitude_deg=-43.5, longitude_deg=172.0)
    GET["heading"] = lambda m: np.mod(np.degrees(m.heading_rad) - 2.0 * variation_deg, 360.0)
    flight = read_flight(save(tmp_path, table(made, {**PLAIN, "heading": ("heading", 1)})))
    off = np.degrees(np.angle(np.exp(1j * (flight["heading_rad"] - made.heading_rad))))[made.groundspeed_mps > 20.0]
    assert np.median(np.abs(off)) < 3.0
    kind = "heading_mag_rad" if variation_deg else "heading_rad"
    assert flight.columns[kind].known == "measured"


def test_across_the_180th_meridian_nothing_jumps(tmp_path: Path) -> None:
    made = lesson(900.0, 1.0, latitude_deg=-17.75, longitude_deg=179.98)
    GET["wrapped"] = lambda m: np.mod(GET["lon_deg"](m) + 180.0, 360.0) - 180.0
    columns = {"lat": ("lat_deg", 7), "lon": ("wrapped", 7), "altitude (ft)": ("alt_ft", 0)}
    flight = read_flight(save(tmp_path, table(made, columns)))
    assert np.ptp(np.sign(flight["longitude_rad"])) == 2.0
    assert np.abs(flight["groundspeed_mps"] - made.groundspeed_mps).max() < 12.0
    assert np.abs(flight["longitude_rad"]).max() <= np.pi


@pytest.mark.parametrize("set_by_s", [3_600.0, -7_200.0])
def test_a_clock_set_in_flight_parts_nothing(set_by_s: float, tmp_path: Path) -> None:
    half = MADE.time_s.size // 2
    clock = [stamp(START_UTC_S + t + (set_by_s if k > half else 0.0)) for k, t in enumerate(MADE.time_s)]
    flight = read_flight(save(tmp_path, table(MADE, PLAIN, times=clock)))
    assert flight.time_s[-1] == pytest.approx(MADE.time_s[-1], abs=2.0)
    assert any("clock was set by" in m.what for m in flight.mends)
    assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]


def test_a_pause_on_the_ground_is_no_clock_set(tmp_path: Path) -> None:
    """Parked for an hour with the recorder off: the hour stays."""
    still = int(np.flatnonzero(MADE.groundspeed_mps < 0.5)[5])
    clock = [stamp(START_UTC_S + t + (3_600.0 if k > still else 0.0)) for k, t in enumerate(MADE.time_s)]
    flight = read_flight(save(tmp_path, table(MADE, PLAIN, times=clock)))
    assert flight.time_s[-1] == pytest.approx(MADE.time_s[-1] + 3_600.0, abs=2.0)


def test_two_aircraft_of_any_columns_name_are_asked_for(tmp_path: Path) -> None:
    other = lesson(1500.0, 1.0, latitude_deg=46.6, longitude_deg=16.4)
    lines = [table(m, PLAIN).splitlines() for m in (MADE, other)]
    rows = [
        f"{name},{line}"
        for pair in zip(lines[0][1:], lines[1][1:], strict=True)
        for name, line in zip("AB", pair, strict=True)
    ]
    path = save(tmp_path, "\n".join([f"which,{lines[0][0]}", *rows]) + "\n")
    with pytest.raises(InputError, match="holds 2 aircraft"):
        read_flight(path)
    one = read_flight(path, aircraft="B")
    assert np.degrees(np.median(one["latitude_rad"])) == pytest.approx(46.6, abs=0.3)


def _read(folder: Path, east: np.ndarray, north: np.ndarray, height: np.ndarray) -> str:
    lat0, lon0 = MADE.latitude_rad[0], MADE.longitude_rad[0]
    lat, lon = np.degrees(lat0 + north / 6.371e6), np.degrees(lon0 + east / 6.371e6 / np.cos(lat0))
    stamps = [stamp(START_UTC_S + t) for t in range(east.size)]
    lines = ["UTC Time,lat,lon,altitude (m)"]
    lines += [f"{s},{a:.7f},{o:.7f},{h:.1f}" for s, a, o, h in zip(stamps, lat, lon, height, strict=True)]
    flight = read_flight(save(folder, "\n".join(lines) + "\n"))
    assert not [c for c in flight.contacts if craft_of(flight).kind in {"ground", "other"}]
    return craft_of(flight).kind


def test_what_never_flies_is_no_airplane(tmp_path: Path) -> None:
    """A motor boat in circles, a drone that rises on the spot, a fast drive over a pass at 45 kt without a halt."""
    t = np.arange(1_800.0)
    speed = np.interp(t, [0, 60, 120, 1_700, 1_760, 1_800], [0, 0, 21, 21, 0, 0])
    course = np.cumsum(np.where((t % 300 > 200), 0.03, 0.0))
    east, north = np.cumsum(speed * np.sin(course)), np.cumsum(speed * np.cos(course))
    assert _read(tmp_path, east, north, np.sin(t / 7.0)) == "ground"
    up = np.interp(t, [0, 30, 70, 1_700, 1_760, 1_800], [200, 200, 300, 300, 200, 200])
    fast = np.interp(t, [0, 80, 100, 1_660, 1_690, 1_800], [0, 0, 19, 19, 0, 0])
    assert _read(tmp_path, np.cumsum(fast * np.sin(course)), np.cumsum(fast * np.cos(course)), up) == "other"
    drive = (19.0 + 4.0 * np.sin(t / 90.0)) * np.interp(t, [0, 20, 60, 1_740, 1_780, 1_800], [0, 0, 1, 1, 0, 0])
    over = 1_200.0 + 550.0 * (1.0 - np.cos(t / 900.0 * np.pi)) / 2.0
    assert _read(tmp_path, np.cumsum(drive * np.sin(course)), np.cumsum(drive * np.cos(course)), over) == "ground"
