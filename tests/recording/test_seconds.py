"""Pieces of seconds: stamps an exporter repeats, headings that are the course or nothing, signs told by physics.

Tables of our own, each with its opposite. The turn of a coordinated bank, ω = g·tan φ / V, is from [PHAK] chapter 5.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from airwork.errors import InputError
from airwork.recording import read_flight
from airwork.recording.flight import Flight
from airwork.recording.names import understand
from recording.causes import said
from recording.writing import save

pytestmark = pytest.mark.usefixtures("columns_alone")
Array = np.ndarray
START_MS = 1_622_800_000_000
M_PER_DEG = 111_200.0


def _path(
    course_deg: Array, speed_mps: Array, step_s: float, at: tuple[float, float] = (50.3, 4.6)
) -> tuple[Array, Array]:
    """(latitude, longitude) of a way at such courses and speeds."""
    east, north = (np.cumsum(speed_mps * step_s * f(np.radians(course_deg))) for f in (np.sin, np.cos))
    return at[0] + north / M_PER_DEG, at[1] + east / (M_PER_DEG * math.cos(math.radians(at[0])))


def _dive(tmp_path: Path, pitch_sign: float, bank_sign: float, step_s: float = 0.3) -> Flight:
    """Six seconds at 60 m/s, 15° down with the nose 12° below the horizon, rolled from 14° left to 14° right."""
    t = np.arange(0.0, 6.0, step_s)
    bank = 14.0 * np.sin((t - 3.0) / 3.0 * np.pi / 2.0)
    turn = np.degrees(9.80665 * np.tan(np.radians(bank)) / 60.0)
    heading = 280.0 + np.cumsum(turn * step_s)
    height = 2_300.0 - 60.0 * math.sin(math.radians(15.0)) * t / 0.3048
    lat, lon = _path(heading, np.full(t.size, 58.0), step_s, (34.0, -118.0))
    rows = [
        f"{s:.2f},{a:.7f},{o:.7f},{h:.2f},116.6,{-12.0 * pitch_sign:.2f},{b * bank_sign:.2f},{c:.2f}"
        for s, a, o, h, b, c in zip(t, lat, lon, height, bank, heading, strict=True)
    ]
    names = "elapsed (s),lat,lon,indicated altitude (ft),TAS (kt),pitch (deg),bank (deg),true heading (deg)\n"
    return read_flight(save(tmp_path, names + "\n".join(rows) + "\n"))


@pytest.mark.parametrize("pitch", [1.0, -1.0])
@pytest.mark.parametrize("bank", [1.0, -1.0])
def test_signs_of_a_dive_of_seconds_are_told_by_path_and_turn(tmp_path: Path, pitch: float, bank: float) -> None:
    flight = _dive(tmp_path, pitch, bank)
    assert math.degrees(float(np.median(flight["pitch_rad"]))) == pytest.approx(-12.0, abs=0.1)
    assert float(flight["bank_rad"][-1]) > 0.2
    assert ("nose-down-positive" in said(flight)) is (pitch < 0.0)
    assert ("left-positive" in said(flight)) is (bank < 0.0)


@pytest.mark.parametrize(
    ("name", "quantity"),
    [("RPM L", "rpm"), ("RPM R", "rpm"), ("CHT L TEMPERATURE (deg C)", "cht"), ("Ptch(rad)", "pitch"),
     ("Vtrue_ktgs", "ground_speed"), ("Vtrue_ktas", "true_airspeed"), ("Fahrt IAS [km/h]", "indicated_airspeed"),
     ("Gloadnorml", "load_factor")],
)  # fmt: skip
def test_short_names_of_panels_and_simulators(name: str, quantity: str) -> None:
    meaning = understand(name)
    assert meaning is not None
    assert meaning.quantity == quantity


def test_ktgs_are_knots() -> None:
    meaning = understand("Vtrue_ktgs")
    assert meaning is not None
    assert [u.name for u in meaning.units] == ["kt"]


@pytest.mark.parametrize("name", ["Gloadaxial", "Gload_side", "Bat_(%)", "RPM LIMIT ABOVE X"])
def test_what_only_looks_like_them_is_no_reading(name: str) -> None:
    meaning = understand(name)
    assert meaning is None or meaning.aside or meaning.quantity == "not_needed"


@pytest.mark.parametrize(("falls_gal", "total", "kept"), [(0.6, 21.8, False), (0.1, 21.8, True), (0.6, None, True)])
def test_a_total_that_never_counts_gives_way_to_the_gauges(
    tmp_path: Path, falls_gal: float, total: float | None, kept: bool
) -> None:
    t = np.arange(120)
    left = 11.8 - falls_gal * t / 119.0
    rows = [
        f"{s},43.50294,5.37162,{a:.1f},10.1,{total if total else a + 10.0:.1f},2500"
        for s, a in zip(t, left, strict=True)
    ]
    names = "elapsed (s),lat,lon,Fuel Level L (gal),Fuel Level R (gal),Fuel Remaining (gal),RPM L\n"
    flight = read_flight(save(tmp_path, names + "\n".join(rows) + "\n"))
    assert ("fuel total set aside" not in said(flight)) is kept
    assert flight.has("fuel_total_m3", "rpm")


@pytest.mark.parametrize(("first", "unit"), [("1562398085758,25128,x,y,z\n", "milliseconds"), ("", "seconds")])
def test_a_count_beside_a_stamp_in_milliseconds_is_guessed_so(tmp_path: Path, first: str, unit: str) -> None:
    rows = "".join(
        f"{20 * k},{1100 + (k * 37) % 90},{-40 - k % 7},{700 + (k * 13) % 40},{900 + k % 11}\n" for k in range(30)
    )
    with pytest.raises(InputError, match=f"by 20 from row to row: {unit}, perhaps"):
        read_flight(save(tmp_path, first + rows))


def test_one_fix_amid_sentences_behind_stamps_is_one_moment(tmp_path: Path) -> None:
    def sentence(body: str) -> str:
        total = 0
        for char in body:
            total ^= ord(char)
        return f"2023-09-02T12:41:35.1+00:00\t${body}*{total:02X}\n"

    fix = "IIRMC,171300,A,5928.094,N,02449.269,E,00.1,036,010923,00,E,A"
    text = sentence("IIHDG,097,,,00,E") + sentence(fix) + sentence("IIMTW,+15.0,C")
    with pytest.raises(InputError, match="one moment"):
        read_flight(save(tmp_path, text, "boat.log"))


def _rising(tmp_path: Path, lasts_s: float) -> Flight:
    """A drone that takes off: on its spot, up a few meters, its speed column nought."""
    t = np.arange(0.0, lasts_s, 0.5)
    rows = [f"2021-09-06T02:00:{s:04.1f}Z,47.57270,-122.62660,{4.4 + 0.1 * s:.1f},0" for s in t]
    names = "time,latitude,longitude,altitude (m),speed (mph)\n"
    return read_flight(save(tmp_path, names + "\n".join(rows) + "\n"))


@pytest.mark.usefixtures("all_sought")
@pytest.mark.parametrize(("lasts_s", "kind"), [(6.0, "unsure"), (50.0, "ground")])
def test_a_few_seconds_on_the_spot_tell_no_ground_vehicle(tmp_path: Path, lasts_s: float, kind: str) -> None:
    assert _rising(tmp_path, lasts_s).source["craft"]["kind"] == kind


def test_a_speed_of_nought_on_the_spot_is_no_question(tmp_path: Path) -> None:
    assert "called only speed" not in said(_rising(tmp_path, 50.0))
    lat, lon = _path(np.full(60, 90.0), np.full(60, 30.0), 1.0)  # nought, and it moves: that is said
    rows = [f"2021-09-06T02:00:{k:02d}Z,{a:.6f},{o:.6f},100,0" for k, (a, o) in enumerate(zip(lat, lon, strict=True))]
    moves = read_flight(save(tmp_path, "time,latitude,longitude,altitude (m),speed (mph)\n" + "\n".join(rows) + "\n"))
    assert "called only speed" in said(moves)
