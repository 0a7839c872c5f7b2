"""A touch-and-go rolled through in a hurry, in positions alone and without a speed: told from a pass down the runway.

Common practice, no source: a touch-and-go rolls for 5 to 15 s; a balked landing or a low pass doesn't keep the field's
height to a foot. Ground speeds as of a light single lifting off at 56 kt.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from airwork.recording import read_flight
from recording.made_flight import FT, KT, Made, fly


def circuit(low_kt: float, low_ft: float, off_kt: float, *, touch: tuple[tuple[float, float], ...] = ()) -> Made:
    """Once round, down to `low_ft` (1,200 is the runway) at `low_kt`, level for 12 s, off again at `off_kt`, landing.

    touch : (time in s, kt) of the speed from the flare on, instead of `low_kt` held for 8 s.
    """
    flare = touch or ((332.0, low_kt), (340.0, low_kt))
    down = touch[-1][0] if touch else 335.0
    tas = [(0.0, 0.0), (20.0, 0.0), (42.0, 56.0), (43.5, 57.0), (70.0, 76.0), (300.0, 85.0), *flare]
    tas += [(347.0, off_kt), (380.0, 78.0), (620.0, 62.0), (650.0, 5.0), (690.0, 0.0)]
    alt = [(0.0, 1200.0), (43.0, 1200.0), (46.0, 1216.0), (140.0, 2000.0), (230.0, 2000.0), (down, low_ft)]
    alt += [(347.0, low_ft), (350.0, low_ft + 16.0), (430.0, 2000.0), (520.0, 2000.0), (622.0, 1200.0), (690.0, 1200.0)]
    bank = [(0.0, 0.0), (99.0, 0.0)]
    half = math.pi / (9.80665 * math.tan(math.radians(25.0)) / (80.0 * KT))
    for start in (100.0, 200.0, 400.0, 510.0):  # two 180s each way bring it back over the field
        bank += [(start, 0.0), (start + 3.0, 25.0), (start + half, 25.0), (start + half + 3.0, 0.0)]
    return fly(bank, tas, alt, duration_s=690.0, rate_hz=2.0, wind_kt=0.0)


def as_gpx(made: Made, path: Path, every: int = 2) -> Path:
    """A fix a second (or rarer), position and height only."""
    start = datetime(2025, 9, 18, 14, tzinfo=UTC)
    points = "".join(
        f'<trkpt lat="{math.degrees(made.latitude_rad[k]):.6f}" lon="{math.degrees(made.longitude_rad[k]):.6f}">'
        f"<ele>{made.altitude_m[k]:.1f}</ele>"
        f"<time>{(start + timedelta(seconds=float(made.time_s[k]))).isoformat().replace('+00:00', 'Z')}</time></trkpt>"
        for k in range(0, made.time_s.size, every)
    )
    path.write_text(
        '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
        f"{points}</trkseg></trk></gpx>"
    )
    return path


@pytest.mark.parametrize(("low_kt", "off_kt"), [(50.0, 57.0), (55.0, 72.0), (60.0, 62.0), (61.0, 70.0)])
def test_pass_touch_and_go_never_much_slower_than_lift_off(low_kt: float, off_kt: float, tmp_path: Path) -> None:
    flight = read_flight(as_gpx(circuit(low_kt, 1200.0, off_kt), tmp_path / "flight.gpx"))
    assert "groundspeed_mps" not in flight.columns or flight.columns["groundspeed_mps"].known == "derived"
    assert [c.kind for c in flight.contacts] == ["takeoff", "touch_and_go", "landing"]


def test_pass_touch_and_go_below_lift_off_speed_for_a_moment_only(tmp_path: Path) -> None:
    """Full power at once: flat on the runway from 57 to 72 kt, slow for two seconds of it; a fix every 2 s."""
    made = circuit(0.0, 1200.0, 72.0, touch=((330.0, 66.0), (339.5, 57.0), (340.0, 57.5)))
    flight = read_flight(as_gpx(made, tmp_path / "flight.gpx", every=4))
    assert [c.kind for c in flight.contacts] == ["takeoff", "touch_and_go", "landing"]


@pytest.mark.parametrize(("low_kt", "low_ft"), [(62.0, 1215.0), (75.0, 1206.0), (85.0, 1202.0)])
def test_not_touch_and_go_a_pass_down_the_runway(low_kt: float, low_ft: float, tmp_path: Path) -> None:
    flight = read_flight(as_gpx(circuit(low_kt, low_ft, low_kt + 2.0), tmp_path / "flight.gpx"))
    assert [c.kind for c in flight.contacts] == ["takeoff", "landing"]


@pytest.mark.parametrize(("low_kt", "low_ft", "touched"), [(50.0, 1200.0, True), (75.0, 1206.0, False)])
def test_on_few_fixes_ten_seconds_at_the_runway_and_slow_are_a_touch(
    low_kt: float, low_ft: float, touched: bool, tmp_path: Path
) -> None:
    flight = read_flight(as_gpx(circuit(low_kt, low_ft, low_kt + 6.0), tmp_path / "flight.gpx", every=10))
    assert [c.kind for c in flight.contacts] == ["takeoff", *["touch_and_go"] * touched, "landing"]


@pytest.mark.parametrize(("low_kt", "low_ft", "touched"), [(50.0, 1200.0, True), (64.0, 1206.0, False)])
def test_a_touch_whose_beginning_was_not_received_is_one(
    low_kt: float, low_ft: float, touched: bool, tmp_path: Path
) -> None:
    """Nothing from 310 s, some 140 ft up, to 338 s, at the runway's height and slower than it lifted off; its flag
    "on ground" says so below 49 kt alone. Who is faster there went around."""
    made = circuit(low_kt, low_ft, low_kt + 6.0)
    rows = ["time,lat,lon,altitude_ft,groundspeed_kt,onground"]
    for k in range(0, made.time_s.size, 4):
        if 310.0 < (t := made.time_s[k]) < 338.0:
            continue
        kt = made.groundspeed_mps[k] / KT
        place = f"{math.degrees(made.latitude_rad[k]):.6f},{math.degrees(made.longitude_rad[k]):.6f}"
        feet = 25 * round(made.altitude_m[k] / FT / 25)
        rows.append(f"{1_780_000_000 + t:.0f},{place},{feet},{kt:.0f},{str(kt < 49.5).lower()}")
    path = tmp_path / "received.csv"
    path.write_text("\n".join(rows))
    flight = read_flight(path)
    assert [c.kind for c in flight.contacts] == ["takeoff", *["touch_and_go"] * touched, "landing"]
    assert not touched or flight.contacts[1].time_s - flight.time_s[0] == pytest.approx(330.0, abs=12.0)


def test_a_landing_is_where_the_wheels_met_the_runway_first_not_after_the_bounce(tmp_path: Path) -> None:
    """Touched at 617 s, up in a bounce at 620, down for good at 632 s; truth by making."""
    tas = [(0.0, 0.0), (20.0, 0.0), (42.0, 56.0), (70.0, 76.0), (600.0, 66.0), (620.0, 62.0), (630.0, 48.0), (650.0, 5.0), (690.0, 0.0)]  # fmt: skip  # noqa: E501
    alt = [
        (0.0, 1200.0),
        (43.0, 1200.0),
        (140.0, 2000.0),
        (520.0, 2000.0),
        (617.0, 1200.0),
        (620.0, 1200.0),
        (625.0, 1226.0),
    ]
    alt += [(632.0, 1200.0), (690.0, 1200.0)]
    made = fly([(0.0, 0.0), (690.0, 0.0)], tas, alt, duration_s=690.0, rate_hz=2.0, wind_kt=0.0)
    down = [c.time_s for c in read_flight(as_gpx(made, tmp_path / "flight.gpx")).contacts if c.kind == "landing"]
    assert down == [pytest.approx(617.0, abs=5.0)]


def test_a_takeoff_is_where_the_wheels_left_though_the_nose_was_held_down_again(tmp_path: Path) -> None:
    """Off at 40 s, 10 ft up, held down to 3 ft, climbing away from 50 s on; truth by making."""
    tas = [(0.0, 0.0), (20.0, 0.0), (40.0, 56.0), (55.0, 76.0), (620.0, 62.0), (650.0, 5.0), (690.0, 0.0)]
    alt = [(0.0, 1200.0), (40.0, 1200.0), (43.0, 1212.0), (47.0, 1203.0), (49.0, 1203.0), (58.0, 1290.0)]
    alt += [(140.0, 2000.0), (520.0, 2000.0), (622.0, 1200.0), (690.0, 1200.0)]
    made = fly([(0.0, 0.0), (690.0, 0.0)], tas, alt, duration_s=690.0, rate_hz=2.0, wind_kt=0.0)
    off = [c.time_s for c in read_flight(as_gpx(made, tmp_path / "flight.gpx")).contacts if c.kind == "takeoff"]
    assert off == [pytest.approx(40.0, abs=5.0)]


@pytest.mark.parametrize(
    ("hop_kt", "contacts"), [(47.0, ["takeoff", "landing"]), (66.0, ["takeoff", "touch_and_go", "landing"])]
)
def test_a_balloon_at_idle_is_no_touch_and_go(hop_kt: float, contacts: list[str], tmp_path: Path) -> None:
    """Down to 2 ft for 6 s from 60 to 52 kt, 20 s of it 40 ft up, dropped in; with power up to 66 kt it was a go."""
    tas = [
        (0.0, 0.0),
        (20.0, 0.0),
        (42.0, 56.0),
        (43.5, 57.0),
        (70.0, 76.0),
        (240.0, 76.0),
        (338.0, 61.0),
        (340.0, 60.0),
    ]
    tas += [(346.0, 52.0), (349.0, hop_kt), (368.0, hop_kt), (371.0, 45.0), (390.0, 5.0), (450.0, 0.0)]
    alt = [
        (0.0, 1200.0),
        (43.0, 1200.0),
        (46.0, 1216.0),
        (140.0, 2000.0),
        (240.0, 2000.0),
        (339.0, 1203.0),
        (341.0, 1202.0),
    ]
    alt += [(346.0, 1202.0), (352.0, 1234.0), (360.0, 1240.0), (367.0, 1230.0), (370.0, 1200.0), (450.0, 1200.0)]
    made = fly([(0.0, 0.0), (99.0, 0.0)], tas, alt, duration_s=450.0, rate_hz=2.0, wind_kt=0.0)
    flight = read_flight(as_gpx(made, tmp_path / "flight.gpx"))
    assert [c.kind for c in flight.contacts] == contacts
    assert flight.contacts[-1].time_s == pytest.approx(370.0, abs=3.0)
