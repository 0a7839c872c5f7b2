"""What files written before the code was looked at showed: a zone in each stamp, a clock without one, uneven stamps.

The flights are made here; each fault is put into them in words and numbers of our own.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from airwork.cli import main
from airwork.recording import read_flight
from airwork.recording.craft import craft_of
from airwork.recording.flight import Flight
from recording.made_flight import KT, START_UTC_S, lesson, stamp
from recording.writing import save, table

pytestmark = pytest.mark.usefixtures("columns_alone")

MADE = lesson(1_500.0, 1.0)
N = MADE.time_s.size
PLAIN = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "altitude (ft)": ("alt_ft", 0), "GS (kt)": ("gs_kt", 1)}
PUT_BACK_S = datetime(2026, 10, 25, 1, tzinfo=UTC).timestamp()  # Europe: summer time ends at 01:00 UTC (2000/84/EC)


def asked(flight: Flight) -> str:
    return " | ".join(m.what for m in flight.mends if m.asks)


@pytest.mark.parametrize(
    ("form", "summer", "winter"),
    [
        ("%d.%m.%Y %H:%M:%S {}", "MESZ", "MEZ"),
        ("%Y-%m-%d %H:%M:%S {}", "UTC+2", "UTC+1"),
        ("%Y-%m-%d %H:%M:%S {}", "Europe/Berlin", "Europe/Berlin"),
        ("%m/%d/%Y %I:%M:%S %p {}", "CEST", "CET"),
    ],
)
def test_each_stamp_carries_its_own_zone(tmp_path: Path, form: str, summer: str, winter: str) -> None:
    """The clock is put back in the middle of the flight: an hour of the wall clock comes twice."""
    at = PUT_BACK_S - 700.0 + MADE.time_s
    times = [
        datetime.fromtimestamp(t + 3_600.0 * (2 if t < PUT_BACK_S else 1), UTC)
        .strftime(form)
        .format(summer if t < PUT_BACK_S else winter)
        for t in at
    ]
    flight = read_flight(save(tmp_path, table(MADE, PLAIN, times=times, time_names="when")))
    assert flight.start_utc_s == at[0]
    np.testing.assert_allclose(flight.time_s, MADE.time_s)
    assert not any("clock" in m.what for m in flight.mends)


def test_a_clock_without_zone_and_positions_is_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An engine's record with a day and a clock in words before it; no screen may call that UTC."""
    rows = [f"{k},{12 + k // 600:02d}:{k // 10 % 60:02d}:{k % 10 * 6:02d},{2_200 + k % 50},61" for k in range(300)]
    text = "Engine record\n6/28/2026 12:00:00\n\nNO,TIME,RPM,OAT (F)\n" + "\n".join(rows) + "\n"
    path = save(tmp_path, text)
    assert "--set TIME=local_time:UTC-5" in asked(read_flight(path))
    for command in (["recording", "show"], ["debrief", "--zone", "America/Denver"]):
        assert main([*command, str(path)]) == 0
        shown = " ".join(capsys.readouterr().out.split())
        assert "time zone not known" in shown
        assert not any(wrong in shown for wrong in ("12:30 UTC", "12:00:00.000Z", "MDT"))
    assert main(["recording", "map", str(path), "--set", "TIME=local_time:UTC-5"]) == 0
    flight = read_flight(path)
    assert "zone" not in asked(flight)
    assert flight.start_utc_s == datetime(2026, 6, 28, 17, tzinfo=UTC).timestamp()


def uneven(step_s: float) -> list[str]:
    """Rows a second apart whose part of the second counts on by itself."""
    return [stamp(START_UTC_S + math.floor(t) + (step_s * k) % 1.0) for k, t in enumerate(MADE.time_s)]


def test_stamps_that_jump_beside_even_rows_are_spread(tmp_path: Path) -> None:
    """Their speed agrees with the positions then; by the stamps one row in four makes four times the speed."""
    names = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "elevation": ("alt_m", 1), "speed": ("gs_mps", 2)}
    flight = read_flight(save(tmp_path, table(MADE, names, times=uneven(0.23))))
    assert any("rows spread evenly" in m.what for m in flight.mends)
    assert flight.columns["groundspeed_mps"].known == "measured"
    np.testing.assert_allclose(flight["groundspeed_mps"], MADE.groundspeed_mps, atol=0.01)
    np.testing.assert_allclose(np.diff(flight.time_s), 1.0, atol=0.01)


def test_stamps_of_rows_that_are_uneven_are_kept(tmp_path: Path) -> None:
    """Rows taken at odd moments: the positions go with the stamps."""
    fine = lesson(1_500.0, 10.0)
    rows = np.unique(np.random.default_rng(7).integers(0, fine.time_s.size, N))
    head, *lines = table(fine, PLAIN).splitlines()
    flight = read_flight(save(tmp_path, "\n".join([head, *(lines[k] for k in rows)]) + "\n"))
    assert not any("evenly" in m.what for m in flight.mends)
    np.testing.assert_allclose(flight.time_s, fine.time_s[rows] - fine.time_s[rows[0]], atol=0.01)


def test_a_plain_speed_that_is_not_used_is_named(tmp_path: Path) -> None:
    """What the dial shows, under the name of speed, beside positions."""
    names = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "elevation": ("alt_m", 1), "speed": ("ias_kt", 1)}
    flight = read_flight(save(tmp_path, table(MADE, names)))
    assert flight.columns["groundspeed_mps"].known == "derived"
    assert "'speed' is called only speed, and the positions move at another: not used" in asked(flight)


def igc(kind: str, heights_m: list[float]) -> str:
    """A fix in 5 s at 100 km/h in wide turns."""
    lines = ["AXXX001", "HFDTE280626", f"HFGTYGLIDERTYPE:{kind}"]
    course, north, east = 0.0, 0.0, 0.0
    for k, height in enumerate(heights_m):
        course += 0.25 * math.sin(k / 7.0)
        north, east = north + 5.0 * 54.0 * KT * math.cos(course), east + 5.0 * 54.0 * KT * math.sin(course)
        lat, lon = 30.0 + 60.0 * (north / 111_200.0), 30.0 + 60.0 * (east / 78_600.0)
        clock = f"{12 + k // 720:02d}{k // 12 % 60:02d}{k % 12 * 5:02d}"
        lines.append(f"B{clock}45{round(lat * 1e3):05d}N010{round(lon * 1e3):05d}EA00000{round(height):05d}")
    return "\n".join(lines) + "\n"


TOW = [300.0 + 15.0 * k for k in range(48)]
GLIDE = [TOW[-1] - 7.0 * k for k in range(1, 100)]
LESSON = [*TOW, *([TOW[-1]] * 40), *GLIDE[:40], *([GLIDE[39]] * 20)]


@pytest.mark.usefixtures("all_sought")
@pytest.mark.parametrize(
    ("kind", "heights_m", "found"),
    [
        ("Two-seater 21", [*TOW, *GLIDE], "sailplane"),
        ("", [*TOW, *GLIDE], "airplane"),
        ("DR 400/180", [*TOW, *GLIDE], "airplane"),
        ("HK36 TTC", [*TOW, *GLIDE], "unsure"),
        ("Two-seater 21", LESSON, "airplane"),
    ],
)
def test_a_glider_by_its_header_is_one_where_its_path_agrees(
    tmp_path: Path, kind: str, heights_m: list[float], found: str
) -> None:
    """Towed up and down again; loggers in airplanes fill that line in, too, and who keeps a height is one."""
    flight = read_flight(save(tmp_path, igc(kind, heights_m), "tow.igc"))
    assert craft_of(flight).kind == found
