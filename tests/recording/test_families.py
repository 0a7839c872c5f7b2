"""Scale and unit of speeds, heights and vertical speed settled together; what contradicts physics set aside."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from airwork.recording import read_flight
from airwork.recording.craft import craft_of
from airwork.recording.flight import Flight
from recording.made_flight import FT, KT, START_UTC_S, Made, fly, lesson
from recording.writing import GET, save, table

MADE = lesson(1500.0, 1.0)
KMH, MPH = 1.0 / 3.6, 0.44704
FAMILIES = {
    "imperial": (FT, KT, FT / 60.0),
    "metric": (1.0, KMH, 1.0),
    "si": (1.0, 1.0, 1.0),
    "mph": (FT, MPH, FT / 60.0),
}


def track(made: Made, family: str, power: int = 0, names: tuple[str, ...] = ("alt", "speed", "climb rate")) -> str:
    """A tracker's table without a unit anywhere."""
    height, speed, rate = FAMILIES[family]
    scale = 10.0**power
    GET["h"] = lambda m: m.altitude_m / height * scale
    GET["v"] = lambda m: m.groundspeed_mps / speed * scale
    GET["c"] = lambda m: m.vertical_speed_mps / rate
    digits = 0 if power else 1
    columns = {"lat": ("lat_deg", 6), "lon": ("lon_deg", 6), names[0]: ("h", digits), names[1]: ("v", digits),
               names[2]: ("c", 0 if family in {"imperial", "mph"} else 1)}  # fmt: skip
    return table(made, columns)


def agrees(flight: Flight, made: Made) -> None:
    flying = made.groundspeed_mps > 20.0
    assert np.median(flight["groundspeed_mps"][flying] / made.groundspeed_mps[flying]) == pytest.approx(1.0, abs=0.005)
    assert flight["altitude_m"] == pytest.approx(made.altitude_m, abs=0.6)
    assert flight["vertical_speed_mps"] == pytest.approx(made.vertical_speed_mps, abs=0.1)


@pytest.mark.parametrize(
    ("family", "power"), [*product(FAMILIES, (0,)), ("metric", 1), ("mph", 1), ("imperial", 2), ("si", 2)]
)
def test_every_family_plain_or_a_power_of_ten_is_the_same_flight(tmp_path: Path, family: str, power: int) -> None:
    agrees(read_flight(save(tmp_path, track(MADE, family, power))), MADE)


def test_a_header_that_names_other_units_is_overruled_and_said(tmp_path: Path) -> None:
    """Knots and feet are named; the numbers are km/h and meters, as positions and climbs show."""
    flight = read_flight(save(tmp_path, track(MADE, "metric", 0, ("alt (ft)", "speed (kt)", "climb rate (m/s)"))))
    assert flight["altitude_m"] == pytest.approx(MADE.altitude_m, abs=0.6)
    flying = MADE.groundspeed_mps > 20.0
    assert np.median(flight["groundspeed_mps"][flying] / MADE.groundspeed_mps[flying]) == pytest.approx(1.0, abs=0.005)
    said = " ".join(m.what for m in flight.mends)
    assert "speed is in km/h, named kt" in said
    assert "is in m, named ft" in said


@pytest.mark.parametrize("height_step_ft", [25.0, 100.0])
def test_a_transponders_steps_change_no_unit(tmp_path: Path, height_step_ft: float) -> None:
    """Issue: ADS-B altitudes were read as meters or centimeters, vertical speed as 0.01 ft/s."""
    GET["steps"] = lambda m: np.round(m.altitude_m / FT / height_step_ft) * height_step_ft
    GET["fpm64"] = lambda m: np.round(m.vertical_speed_mps / FT * 60.0 / 64.0) * 64.0
    GET["kt1"] = lambda m: np.round(m.groundspeed_mps / KT)
    columns = {"lat": ("lat_deg", 5), "lon": ("lon_deg", 5), "alt_baro": ("steps", 0), "gs": ("kt1", 0),
               "baro_rate": ("fpm64", 0)}  # fmt: skip
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    assert [row["unit"] for row in flight.source["understood"][3:]] == ["ft", "kt", "fpm"]
    assert not any("stuck" in m.what for m in flight.mends)  # level in coarse steps is no fault


def phone(heading: str) -> str:
    """Fixes and headings in rows of their own, names that share their first words."""
    rng = np.random.default_rng(3)
    wander = np.cumsum(rng.normal(0.0, 8.0, MADE.time_s.size)) if heading == "loose" else np.zeros(MADE.time_s.size)
    lines = ["time,locationLatitude,locationLongitude,locationAltitude,locationSpeed,locationVerticalAccuracy,heading"]
    for k, t in enumerate(MADE.time_s):
        fix = f"{GET['lat_deg'](MADE)[k]:.7f},{GET['lon_deg'](MADE)[k]:.7f},{MADE.altitude_m[k]:.1f}"
        ms = round((START_UTC_S + t) * 1e3)
        lines.append(f"{ms},{fix},{MADE.groundspeed_mps[k]:.2f},3.0,")
        lines.append(f"{ms + 400},,,,,,{(math.degrees(MADE.heading_rad[k]) + wander[k]) % 360.0:.1f}")
    return "\n".join(lines) + "\n"


def test_a_loose_phones_compass_is_set_aside_and_a_fixed_one_kept(tmp_path: Path) -> None:
    loose, fixed = (read_flight(save(tmp_path, phone(kind), f"{kind}.csv")) for kind in ("loose", "fixed"))
    assert any("heading set aside" in m.what for m in loose.mends)
    assert "heading_mag_rad" not in loose.columns
    assert loose.columns["heading_rad"].known == "derived"
    assert fixed.columns["heading_rad"].known == "measured"  # a true one, as its lie about the track shows
    for flight in (loose, fixed):
        at = flight.index_at(600.0)
        assert flight["altitude_m"][at] == pytest.approx(MADE.altitude_m[600], abs=1.0)
        assert flight["groundspeed_mps"][at] == pytest.approx(MADE.groundspeed_mps[600], abs=0.5)


def test_an_airspeed_no_wind_explains_is_set_aside(tmp_path: Path) -> None:
    rng = np.random.default_rng(8)
    noise = rng.uniform(20.0, 90.0, MADE.time_s.size)
    GET["noise"] = lambda m: noise
    columns = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "TAS (kt)": ("noise", 1), "altitude (ft)": ("alt_ft", 0)}
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    assert any("true airspeed set aside" in m.what for m in flight.mends)
    assert "tas_mps" not in flight.columns or flight.columns["tas_mps"].known == "derived"
    columns["TAS (kt)"] = ("tas_kt", 1)
    kept = read_flight(save(tmp_path, table(MADE, columns), "kept.csv"))
    assert kept.columns["tas_mps"].known == "measured"


def test_a_column_mostly_impossible_is_set_aside(tmp_path: Path) -> None:
    GET["often"] = lambda m: np.where(np.arange(m.time_s.size) % 3 == 0, 900.0, 12.0)
    columns = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "OAT (C)": ("often", 0), "altitude (ft)": ("alt_ft", 0)}
    flight = read_flight(save(tmp_path, table(MADE, columns)))
    assert any("33 % of its values are impossible" in m.what for m in flight.mends)
    assert "oat_k" not in flight.columns


@pytest.mark.parametrize("factor", [1.0, 1e3, 1e6, 1e9])
def test_time_is_found_by_its_numbers_where_no_name_tells(tmp_path: Path, factor: float) -> None:
    times = [f"{round((START_UTC_S + t) * factor):d}" for t in MADE.time_s]
    columns = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "alt": ("alt_ft", 0)}
    flight = read_flight(save(tmp_path, table(MADE, columns, times=times, time_names="qq")))
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=1.0)


def soaring(circling: bool) -> Made:
    """Climbs of five minutes at 3 kt in lift, glides between; straight or in circles of 24 s."""
    bank, tas, alt = [(0.0, 0.0)], [(0.0, 50.0)], [(0.0, 2_000.0)]
    t, h = 10.0, 2_000.0
    for _ in range(4):
        bank += [
            (t, 0.0),
            (t + 3.0, 32.0 if circling else 0.0),
            (t + 300.0, 32.0 if circling else 0.0),
            (t + 303.0, 0.0),
        ]
        alt += [(t, h), (t + 300.0, h + 1_500.0), (t + 600.0, h)]
        t += 600.0
    tas += [(t, 50.0)]
    return fly(bank, tas, alt, duration_s=t, rate_hz=0.25)


def test_circling_climbs_are_a_sailplanes_straight_ones_are_not(tmp_path: Path) -> None:
    columns = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "altitude (m)": ("alt_m", 0)}
    craft = [craft_of(read_flight(save(tmp_path, table(soaring(c), columns), f"{c}.csv"))) for c in (True, False)]
    assert [c.kind for c in craft] == ["sailplane", "airplane"]
    assert "circling" in craft[0].why


def test_a_lesson_is_a_light_airplanes_and_one_at_230_kt_is_not(tmp_path: Path) -> None:
    columns = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "altitude (ft)": ("alt_ft", 0)}
    assert craft_of(read_flight(save(tmp_path, table(MADE, columns)))).kind == "airplane"
    quick = fly([(0.0, 0.0), (900.0, 0.0)], [(0.0, 230.0), (900.0, 230.0)], [(0.0, 9e3), (900.0, 9e3)],
                duration_s=900.0, rate_hz=1.0)  # fmt: skip
    assert craft_of(read_flight(save(tmp_path, table(quick, columns), "quick.csv"))).kind == "fast"


@pytest.mark.parametrize(
    ("spells_at_s", "load", "kind"),
    [((20.0, 50.0, 80.0), 0.2, "airplane"), ((420.0, 550.0, 780.0), 0.2, "aerobatic"), ((420.0,), 0.2, "airplane"),
     ((420.0,), -0.7, "aerobatic"), ((20.0,), -0.7, "airplane")],
)  # fmt: skip
def test_floating_in_the_air_is_aerobatic_and_a_recorder_shaken_at_rest_is_not(
    spells_at_s: tuple[float, ...], load: float, kind: str, tmp_path: Path
) -> None:
    """Three times 0.2 g for four seconds, or once −0.7: standing on the ramp, and at 100 kt."""
    flown = fly([(0.0, 0.0), (1200.0, 0.0)], [(0.0, 0.0), (120.0, 0.0), (160.0, 100.0), (1200.0, 100.0)],
                [(0.0, 500.0), (160.0, 500.0), (400.0, 3e3), (1e3, 3e3)], duration_s=1200.0, rate_hz=2.0)  # fmt: skip
    light = np.any([np.abs(flown.time_s - at_s) < 2.0 for at_s in spells_at_s], axis=0)
    made = replace(flown, load_factor=np.where(light, load, flown.load_factor))
    columns = {
        "lat": ("lat_deg", 7),
        "lon": ("lon_deg", 7),
        "altitude (ft)": ("alt_ft", 0),
        "load factor (g)": ("n_g", 2),
    }
    assert craft_of(read_flight(save(tmp_path, table(made, columns)))).kind == kind


@pytest.mark.parametrize(
    ("heights_ft", "kind"),
    [
        ([(600.0, 5e3), (606.0, 4.6e3), (612.0, 5e3), (1200.0, 5e3)], "aerobatic"),  # a parabola's way
        ([(600.0, 5e3), (630.0, 2.6e3), (636.0, 3e3), (1200.0, 3e3)], "airplane"),  # a steep descent left in a zoom
    ],
)
def test_one_dive_pulled_up_is_aerobatic_where_most_of_the_height_is_back(
    heights_ft: list[tuple[float, float]], kind: str, tmp_path: Path
) -> None:
    """One emergency descent of a student who pulls too hard had hidden a whole lesson."""
    flown = fly([(0.0, 0.0), (1200.0, 0.0)], [(0.0, 0.0), (120.0, 0.0), (160.0, 100.0), (1200.0, 100.0)],
                [(0.0, 500.0), (160.0, 500.0), (500.0, 5e3), *heights_ft], duration_s=1200.0, rate_hz=2.0)  # fmt: skip
    columns = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "altitude (ft)": ("alt_ft", 0)}
    craft = craft_of(read_flight(save(tmp_path, table(flown, columns))))
    assert craft.kind == kind


@pytest.mark.parametrize(("pitch_deg", "kind"), [(25.0, "airplane"), (70.0, "aerobatic")])
def test_a_recorded_attitude_that_is_never_aerobatic_is_believed(
    pitch_deg: float, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """14 CFR 91.307(c): more than 60° of bank or 30° of nose is what aerobatics take. A student's lazy eight pulled out
    of its dive too hard had hidden a whole lesson."""
    flown = fly([(0.0, 0.0), (1200.0, 0.0)], [(0.0, 0.0), (120.0, 0.0), (160.0, 100.0), (1200.0, 100.0)],
                [(0.0, 500.0), (160.0, 500.0), (500.0, 5e3), (600.0, 5e3), (606.0, 4.6e3), (612.0, 5e3), (1200.0, 5e3)],
                duration_s=1200.0, rate_hz=2.0)  # fmt: skip
    near = np.abs(flown.time_s - 606.0) < 12.0
    monkeypatch.setitem(GET, "pitch_deg", lambda m: np.where(near, pitch_deg * np.sin((m.time_s - 606.0) / 4.0), 2.0))
    monkeypatch.setitem(GET, "roll_deg", lambda m: 20.0 * np.sin(m.time_s / 60.0))
    columns = {"lat": ("lat_deg", 7), "lon": ("lon_deg", 7), "altitude (ft)": ("alt_ft", 0)}
    columns |= {"pitch (deg)": ("pitch_deg", 1), "roll (deg)": ("roll_deg", 1)}
    assert craft_of(read_flight(save(tmp_path, table(flown, columns)))).kind == kind
