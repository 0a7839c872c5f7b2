"""What a file leaves unsaid in its names and another of its columns tells: a side, a count of time, a start, a speed.

Beside each stands the file that doesn't tell it. The flights are made (`made_flight.py`).
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from airwork.errors import InputError
from airwork.recording import Flight, read_flight
from recording.made_flight import Made, lesson
from recording.writing import GET, save, table

pytestmark = pytest.mark.usefixtures("columns_alone")

MADE = lesson(1500.0, 1.0, longitude_deg=-100.3)
PLACE = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7)}


def _in_minutes(degrees: Callable[[Made], np.ndarray]) -> Callable[[Made], np.ndarray]:
    """49.5 as 4930.0, no sign."""
    return lambda m: np.floor(np.abs(degrees(m))) * 100.0 + np.mod(np.abs(degrees(m)), 1.0) * 60.0


GET["lat_dm"], GET["lon_dm"] = _in_minutes(GET["lat_deg"]), _in_minutes(lambda m: GET["lon_deg"](m))


def asked(flight: Flight) -> list[str]:
    return [m.what for m in flight.mends if m.asks]


def places(columns: dict[str, tuple[str, int]]) -> str:
    return table(MADE, {**columns, "Alt (ft)": ("alt_ft", 0), "track": ("trk_deg", 1)})


def test_a_side_that_nothing_tells_is_asked_and_the_name_asked_for_settles_it(tmp_path: Path) -> None:
    text = places({"lat": ("lat_dm", 5), "lon": ("lon_dm", 5)})
    questions = [what for what in asked(read_flight(save(tmp_path, text))) if "tells no side" in what]
    assert [what.split()[0] for what in questions] == ["'lat'", "'lon'"]
    called = re.search(r"call the column '(.*)'", questions[1])
    assert called is not None
    flight = read_flight(save(tmp_path, text.replace("lon", called[1], 1), "west.csv"))
    assert (flight["longitude_rad"] < 0.0).all()
    assert not any("'lon" in what for what in asked(flight))


def test_plain_degrees_carry_their_sign(tmp_path: Path) -> None:
    assert not any("tells no side" in what for what in asked(read_flight(save(tmp_path, places(PLACE)))))


@pytest.mark.parametrize(("name", "scale"), [("box_elapsed_s", 1.0), ("Box elapsed (ms)", 1e3), ("cabin_seconds", 1.0)])
def test_a_name_that_says_elapsed_and_counts_evenly_is_the_time(tmp_path: Path, name: str, scale: float) -> None:
    columns = {"altitude (ft)": ("alt_ft", 0), "IAS (kt)": ("ias_kt", 1)}
    counts = [f"{t * scale:.1f}" for t in MADE.time_s]
    flight = read_flight(save(tmp_path, table(MADE, columns, times=counts, time_names=name)))
    assert np.ptp(flight.time_s) == pytest.approx(MADE.time_s[-1] - MADE.time_s[0])
    leaps = [f"{np.sin(t):.3f}" for t in MADE.time_s]
    with pytest.raises(InputError, match="no column tells the time"):
        read_flight(save(tmp_path, table(MADE, columns, times=leaps, time_names=name), "leaps.csv"))


@pytest.mark.parametrize(("day", "known"), [("2026-05-28", True), ("serial 2026-05-28", False)])
def test_a_day_and_a_start_beside_channels_are_the_moment_they_count_from(
    tmp_path: Path, day: str, known: bool
) -> None:
    t = MADE.time_s - MADE.time_s[0]
    channels = {
        "place": {"t": t.tolist(), "lat": GET["lat_deg"](MADE).tolist(), "lon": GET["lon_deg"](MADE).tolist()},
        "air": {"t": t.tolist(), "ias_kt": GET["ias_kt"](MADE).tolist(), "alt_ft": GET["alt_ft"](MADE).tolist()},
    }
    document = {"trip": {"date": day, "start_utc": "18:15:00"}, "channels": channels}
    flight = read_flight(save(tmp_path, json.dumps(document), "box.json"))
    assert np.isfinite(flight.start_utc_s) == known
    if known:
        assert flight.start_utc_s == pytest.approx(np.datetime64("2026-05-28T18:15:00").astype(float), abs=1.0)


@pytest.mark.parametrize(("strays", "known"), [(1.03, True), (1.09, False)])
def test_a_speed_near_the_positions_on_all_courses_is_theirs(tmp_path: Path, strays: float, known: bool) -> None:
    """A clock that runs 2.5 % fast leaves no doubt; at 9 % it is another speed."""
    GET["strays"] = lambda m: GET["gs_kt"](m) * strays
    flight = read_flight(save(tmp_path, table(MADE, {**PLACE, "Speed (kt)": ("strays", 2)})))
    assert any("another" in what for what in asked(flight)) != known


def test_what_is_only_driven_is_not_asked_for_an_airspeed(tmp_path: Path) -> None:
    GET["crawl_lat"] = lambda m: 46.0 + 1e-5 * np.cumsum(np.ones(m.time_s.size)) / 3.0
    GET["crawl_lon"], GET["crawl_mph"] = lambda m: 7.0 + 0.0 * m.time_s, lambda m: 11.0 + np.mod(m.time_s, 7.0)
    columns = {"lat": ("crawl_lat", 8), "lon": ("crawl_lon", 8), "MPH": ("crawl_mph", 1)}
    said = " ".join(m.what for m in read_flight(save(tmp_path, table(MADE, columns))).mends)
    assert "MPH=ground_speed:mph" in said
    assert "indicated_airspeed" not in said


KINDS = """; Bordbuch 28.05.2026, Zeiten UTC, QNH 1023
; ORT: time, latitude, longitude, altitude (m)
; LUFT: time, IAS (kt), bank (deg)
"""


@pytest.mark.parametrize(("comma", "named"), [(",", True), (".", True), (",", False)])
def test_lines_of_several_kinds_are_read_by_the_remark_that_names_each(tmp_path: Path, comma: str, named: bool) -> None:
    """Two kinds of lines a second, a decimal comma or a point; without the remarks nobody knows what they are."""
    rows = []
    for k, t in enumerate(MADE.time_s):
        clock = f"{9 + int(t) // 3600:02d}:{int(t) // 60 % 60:02d}:{int(t) % 60:02d}"
        place = [f"{GET[n](MADE)[k]:.{d}f}" for n, d in (("lat_deg", 6), ("lon_deg", 6), ("alt_m", 1))]
        air = [f"{GET[n](MADE)[k]:.1f}" for n in ("ias_kt", "bank_deg")]
        rows += [";".join(["ORT", clock, *place]), ";".join(["LUFT", clock, *air])]
    text = "\n".join(rows).replace(".", comma) + "\n"
    if not named:
        with pytest.raises(InputError):
            read_flight(save(tmp_path, text, "log.txt"))
        return
    flight = read_flight(save(tmp_path, KINDS + text, "log.txt"))
    assert flight.start_utc_s == pytest.approx(np.datetime64("2026-05-28T09:00:00").astype(float))
    np.testing.assert_allclose(flight["latitude_rad"], MADE.latitude_rad, atol=1e-7)
    np.testing.assert_allclose(flight["altitude_m"], MADE.altitude_m, atol=1.0)
    np.testing.assert_allclose(flight["bank_rad"], MADE.bank_rad, atol=0.01)
    assert flight["setting_pa"][0] == pytest.approx(102_300.0)
