"""What a short or rare piece is of: a taxi, a ship, an airliner, a wind a box wrote down. Small tables of our own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.output.recording_text import recording_text
from airwork.recording import Flight, read_flight
from airwork.recording.craft import craft_of
from airwork.recording.summary import summarize
from airwork.standards import load_standard

Array = np.ndarray


def track(folder: Path, step_s: float, speed_mps: Array, height_m: Array | None = None, more: str = "") -> Flight:
    """Positions on a bending way, so many seconds apart, as text."""
    t = np.arange(speed_mps.size) * step_s
    course = 0.3 + 0.4 * np.sin(t / 90.0)
    north, east = (np.cumsum(speed_mps * part * step_s) for part in (np.cos(course), np.sin(course)))
    high = "" if height_m is None else ",altitude (m)"
    rows = [
        f"{1_780_000_000 + s:.0f},{48.0 + n / 111_200.0:.6f},{17.0 + e / 74_500.0:.6f}"
        + ("" if height_m is None else f",{height_m[k]:.1f}") + (f",{more.split('=')[1]}" if more else "")
        for k, (s, n, e) in enumerate(zip(t, north, east, strict=True))
    ]  # fmt: skip
    names = f"time,lat,lon{high}" + (f",{more.split('=')[0]}" if more else "")
    path = folder / "track.csv"
    path.write_text("\n".join([names, *rows]) + "\n", encoding="utf-8")
    return read_flight(path)


@pytest.mark.parametrize(("step_s", "knots"), [(5.0, 18.0), (600.0, 8.6)])
def test_a_taxi_at_rare_fixes_and_a_ship_fly_nowhere(tmp_path: Path, step_s: float, knots: float) -> None:
    """Flat within the altitude's wandering, never as fast as anything of a school lifts off."""
    n = np.arange(48)
    speed = np.where(n < 44, knots * 0.5144, 0.0) if step_s < 60.0 else np.full(n.size, knots * 0.5144)
    flight = track(tmp_path, step_s, speed, 137.0 + 2.0 * np.sin(n / 5.0))
    assert craft_of(flight).kind == "ground"
    assert flight.contacts == ()


def test_a_slow_airplane_at_rare_fixes_is_one(tmp_path: Path) -> None:
    """45 kt, a fix in 10 s, 60 m up and level from there: more than a taxi."""
    n = np.arange(20)
    flight = track(tmp_path, 10.0, np.full(n.size, 23.0), np.interp(n, [0, 6, 19], [300.0, 360.0, 362.0]))
    assert craft_of(flight).kind == "airplane"


@pytest.mark.parametrize(
    ("step_s", "fixes", "knots", "feet", "kind"),
    [
        (11.0, 38, 245.0, 3_000.0, "fast"),  # few fixes over seven minutes
        (1.0, 25, 400.0, 26_800.0, "fast"),  # seconds of what no light single may do
        (7.0, 54, 310.0, None, "fast"),  # no height at all
        (1.0, 25, 170.0, 3_000.0, "airplane"),  # a single in a dive, for seconds
        (11.0, 38, 110.0, 3_000.0, "airplane"),
    ],
)
def test_an_airliner_is_known_in_a_short_piece(
    tmp_path: Path, step_s: float, fixes: int, knots: float, feet: float | None, kind: str
) -> None:
    n = np.arange(fixes)
    height = None if feet is None else np.linspace(feet, 0.8 * feet, fixes) * 0.3048
    assert craft_of(track(tmp_path, step_s, np.full(n.size, knots * 0.5144), height)).kind == kind


def test_a_recorded_wind_has_no_band_of_nought(tmp_path: Path) -> None:
    flight = track(tmp_path, 1.0, np.full(60, 50.0), np.full(60, 900.0), "Wind Speed (kt),Wind Direction (deg)=12,310")
    text = recording_text(summarize(flight, load_standard("private")))
    assert "from 310° 12.0 kt\n" in text
    assert "±0.0 kt" not in text


@pytest.mark.parametrize("hangs", [True, False])
def test_a_piece_that_begins_where_it_stands_has_its_takeoff(tmp_path: Path, hangs: bool) -> None:
    """Standing for three seconds, then the roll; two rows of one position at full speed are no stand."""
    n = np.arange(120)
    if hangs:
        flight = track(tmp_path, 1.0, np.where(n == 1, 0.0, 38.0), 200.0 + n * 3.0, "speed (m/s)=38.0")
    else:
        speed = np.where(n < 3, 0.0, np.minimum(2.2 * (n - 2), 38.0))
        flight = track(tmp_path, 1.0, speed, 200.0 + np.maximum(n - 20.0, 0.0) * 3.0)
    assert [c.kind for c in flight.contacts] == ([] if hangs else ["takeoff"])


@pytest.mark.parametrize(
    ("first_mps", "dives_m", "contacts"), [(17.0, 0.0, ["takeoff"]), (27.0, 0.0, []), (17.0, 60.0, [])]
)
def test_a_piece_that_begins_in_the_roll_has_its_takeoff(
    tmp_path: Path, first_mps: float, dives_m: float, contacts: list[str]
) -> None:
    """33 kt and 4 kt more a second to 80, level, then up. From 52 kt wings may carry it; a dive gains speed aloft."""
    n = np.arange(60)
    speed = np.minimum(first_mps + 2.1 * n, 41.0)
    left = int((41.0 - first_mps) / 2.1)
    height = np.interp(n, [0, left, 60], [100.0 + dives_m, 100.0, 100.0 + 3.5 * (60 - left)])
    assert [c.kind for c in track(tmp_path, 1.0, speed, height).contacts] == contacts


@pytest.mark.parametrize(("last_mps", "contacts"), [(11.0, ["landing"]), (24.0, [])])
def test_a_piece_that_ends_in_the_roll_has_its_landing(tmp_path: Path, last_mps: float, contacts: list[str]) -> None:
    """Down at 600 fpm, and slower by 3 kt a second along the runway; still at 47 kt it may be a flare."""
    n = np.arange(50)
    speed = np.clip(38.0 - 1.6 * np.maximum(n - 30.0, 0.0), last_mps, None)[: 30 + int((38.0 - last_mps) / 1.6)]
    height = np.interp(n, [0, 30], [190.0, 100.0])[: speed.size]
    assert [c.kind for c in track(tmp_path, 1.0, speed, height).contacts] == contacts


def test_what_hardly_moves_is_on_the_ground(tmp_path: Path) -> None:
    """A walk at 1.5 kt, without a height."""
    assert craft_of(track(tmp_path, 1.0, np.full(60, 0.8))).kind == "ground"
