"""Columns whose names say nothing are read by what is in them; what only looks like a reading is not taken.

The columns are what physics makes of one flight (`made_flight.py`); what stands beside them, as it does in real files,
is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import polars as pl
import pytest

from airwork.errors import InputError
from airwork.recording import read_flight
from airwork.recording.content import alike, climbs_with
from airwork.recording.content_motion import Motion
from airwork.recording.content_places import places
from recording.test_layouts import MADE
from recording.writing import GET, START_UTC_S, save, stamp

pytestmark = pytest.mark.usefixtures("columns_alone")

EVERY = ("lat_deg", "lon_deg", "alt_ft", "gs_kt", "trk_deg", "ias_kt", "vs_fpm", "bank_deg")
T = MADE.time_s
RNG = np.random.default_rng(7)


def nameless(columns: dict[str, np.ndarray], digits: int = 6) -> str:
    """CSV under names of no meaning: stamps, then the columns."""
    rows = [",".join(["wq", *(f"z{k}k" for k in range(len(columns)))])]
    cells = [[stamp(START_UTC_S + t) for t in T], *([f"{v:.{digits}f}" for v in x] for x in columns.values())]
    return "\n".join([*rows, *map(",".join, zip(*cells, strict=True))]) + "\n"


def test_a_panels_columns_are_known_without_their_names(tmp_path: Path) -> None:
    """Eight columns under names of no meaning come back as what they are, in their units."""
    flight = read_flight(save(tmp_path, nameless({k: GET[k](MADE) for k in EVERY})))
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=1e-7)
    assert flight["longitude_rad"] == pytest.approx(MADE.longitude_rad, abs=1e-7)
    assert flight["gps_altitude_m"] == pytest.approx(MADE.altitude_m, abs=0.02)
    assert flight["groundspeed_mps"] == pytest.approx(MADE.groundspeed_mps, abs=0.02)
    assert flight["vertical_speed_mps"] == pytest.approx(MADE.vertical_speed_mps, abs=0.01)
    assert flight["bank_rad"] == pytest.approx(MADE.bank_rad, abs=1e-3)
    assert np.median(np.abs(flight["ias_mps"] - GET["ias_kt"](MADE) * 0.514444)) < 0.6
    said = [m.what for m in flight.mends if "taken as" in m.what]
    assert len(said) == len(EVERY)
    assert any("taken as ground speed: it agrees with the positions" in what for what in said)


@pytest.mark.parametrize("order", [("lat_deg", "lon_deg"), ("lon_deg", "lat_deg")])
def test_which_is_the_latitude_shows_by_the_way(order: tuple[str, str], tmp_path: Path) -> None:
    """Either column may come first: the wrong order goes too fast along one axis."""
    flight = read_flight(save(tmp_path, nameless({k: GET[k](MADE) for k in (*order, "gs_kt")})))
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=1e-7)


def looks_like() -> dict[str, np.ndarray]:
    """What stands beside readings and is none of them."""
    h = MADE.altitude_m / 0.3048
    warm = 1.0 - np.exp(-T / 400.0)
    return {
        "selected altitude": np.ceil(h / 500.0 + 0.3)[::-1].cumsum() % 4 * 500.0 + 3_000.0 * (T.max() / 2 < T),
        "target speed": np.where(T % 600 < 300, 90.0, 70.0),
        "battery volts": 13.8 + 0.1 * np.sin(T / 40.0) + RNG.normal(0.0, 0.02, T.size),
        "oil temperature": 60.0 + 120.0 * warm + 5.0 * np.sin(T / 200.0),
        "cylinder head": 150.0 + 230.0 * warm + 0.01 * (h - h.mean()),
        "wind speed": 12.0 + 3.0 * np.sin(T / 150.0) + RNG.normal(0.0, 0.4, T.size),
        "fuel left": 40.0 - T / 300.0,
        "distance flown": np.cumsum(MADE.groundspeed_mps) * float(np.median(np.diff(T))),
        "heart": 80.0 + np.cumsum(RNG.normal(0.0, 0.4, T.size)) % 60.0,
        "satellites": 9.0 + np.round(2.0 * np.sin(T / 70.0)),
        "heading bug": np.where(T % 400 < 200, 90.0, 240.0),
        "signal": RNG.normal(-70.0, 4.0, T.size),
    }


def test_what_looks_like_a_reading_is_not_taken(tmp_path: Path) -> None:
    """Beside positions alone: a wish, volts, temperatures, wind, counters are none of the quantities."""
    columns = {"lat": GET["lat_deg"](MADE), "lon": GET["lon_deg"](MADE), **looks_like()}
    flight = read_flight(save(tmp_path, nameless(columns)))
    said = [m.what for m in flight.mends if "taken as" in m.what]
    assert [s.partition(":")[0] for s in said] == ["'z0k' taken as latitude", "'z1k' taken as longitude"]


@pytest.mark.parametrize("seed", range(4))
def test_tables_that_are_no_flight_hold_no_places(seed: int, tmp_path: Path) -> None:
    """Prices, wandering numbers, waves: nothing in them covers a way, and the file is refused with what it holds."""
    rng = np.random.default_rng(seed)
    n = T.size
    columns = {
        "price": 40.0 + np.cumsum(rng.normal(0.0, 0.02, n)),
        "other": 8.0 + np.cumsum(rng.normal(0.0, 0.001, n)),
        "wave": 45.0 + np.sin(T / 90.0),
        "slow": 20.0 + T / 1e4,
        "count": np.cumsum(rng.integers(0, 3, n)).astype(float),
    }
    with pytest.raises(InputError, match="none of its columns is one airwork knows"):
        read_flight(save(tmp_path, nameless(columns)))


def test_two_columns_that_may_each_be_the_altitude_are_asked_for(tmp_path: Path) -> None:
    """Both rise and fall as aircraft do and disagree: neither is taken, and the line names them."""
    h = MADE.altitude_m
    other = h + 250.0 * np.sin(T / 130.0)
    columns = {"lat": GET["lat_deg"](MADE), "lon": GET["lon_deg"](MADE), "a": h, "b": other}
    flight = read_flight(save(tmp_path, nameless(columns)))
    assert flight.get("altitude_m") is None
    assert any("may each be the altitude" in m.what for m in flight.mends)


def test_a_vertical_speed_tells_which_is_the_altitude() -> None:
    """Of two heights that disagree the one whose change is recorded; the wrong sign goes with nothing."""
    motion = Motion(T, {"latitude": MADE.latitude_rad, "longitude": MADE.longitude_rad})
    assert climbs_with(motion, MADE.altitude_m, GET["vs_fpm"](MADE))
    assert not climbs_with(motion, MADE.altitude_m, -GET["vs_fpm"](MADE))


def test_a_speed_half_as_large_is_no_ground_speed() -> None:
    """In no usual unit does it agree with the positions."""
    motion = Motion(T, {"latitude": MADE.latitude_rad, "longitude": MADE.longitude_rad})
    assert alike(motion, "ground_speed", {0: MADE.groundspeed_mps}, {})
    assert not alike(motion, "ground_speed", {0: 0.7 * MADE.groundspeed_mps}, {})


def test_radians_and_whole_numbers_are_places_too() -> None:
    """A pair in radians, in 10⁻⁷ degrees and in 2³¹ parts of half a turn is found with its unit."""
    lat, lon = np.degrees(MADE.latitude_rad), np.degrees(MADE.longitude_rad)
    for scale, unit in ((np.pi / 180.0, "rad"), (1e7, "1e-07 deg"), (2.0**31 / 180.0, "semicircles")):
        x, y = lat * scale, lon * scale
        x, y = (x, y) if scale < 1.0 else (np.round(x), np.round(y))
        found = places(T, {3: x, 5: y})
        assert found is not None
        assert (found.latitude, found.longitude) == (3, 5)
        assert found.unit.name in ({unit} if unit == "rad" else {unit, "1e-07 deg", "semicircles"})


def test_stamps_of_any_form_are_read_by_their_groups() -> None:
    """A clock of letters and a day with a month's name are read by their groups of digits."""
    from airwork.recording.clock import seconds_of_text

    seconds, kind, _ = seconds_of_text(pl.Series(["14h40m05", "14h40m06"]))
    assert kind == "time of day"
    assert seconds.tolist() == [52_805.0, 52_806.0]
    seconds, kind, _ = seconds_of_text(pl.Series(["20. sept 2025 - 02:40:05 p. m.", "20. sept 2025 - 02:40:06 p. m."]))
    assert kind == "moment"
    assert seconds.tolist() == [1_758_379_205.0, 1_758_379_206.0]


def test_a_column_named_in_a_unit_of_another_kind_is_no_altitude(tmp_path: Path) -> None:
    """The altitude's own numbers under "zork [Pa]" and "zork_kmh" are not taken; under "zork [ft]" they are."""
    for name, taken in (("zork [Pa]", False), ("zork_kmh", False), ("zork [ft]", True)):
        columns = {k: GET[k](MADE) for k in ("lat_deg", "lon_deg", "alt_ft")}
        text = nameless(columns).replace("z2k", name, 1)
        assert (read_flight(save(tmp_path, text)).get("altitude_m") is not None) is taken


def test_a_sensor_that_writes_nought_throughout_is_not_connected(tmp_path: Path) -> None:
    """IAS, RPM and OAT of nought in a flight that moves: left out and said, not flown at 0 kt."""
    columns = {k: GET[k](MADE) for k in ("lat_deg", "lon_deg", "alt_ft")} | {n: np.zeros(T.size) for n in "abc"}
    text = nameless(columns)
    for k, name in ((3, "IAS (kt)"), (4, "RPM"), (5, "OAT (C)")):
        text = text.replace(f"z{k}k", name, 1)
    flight = read_flight(save(tmp_path, text))
    assert sum("not connected" in m.what for m in flight.mends) == 3
    assert all(flight.columns[c].known == "derived" for c in ("ias_mps", "rpm", "oat_k") if c in flight.columns)
