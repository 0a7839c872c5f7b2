"""Wheels told in pieces of half a minute: by the nose, by the quieter of two heights, by a height above ground.

The pieces are made of physics alone (derived here): in the air the nose stands where the lift equals the weight, at
L = ½·ρ·V²·S·a·(α + 4°), a = 5 per rad, a wing loading of 640 N/m² (a four-seater, from memory); on wheels it stands at
0.5°. At idle an airplane slows by about 1 m/s², in the air and on wheels alike: speed and height don't tell them apart.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from airwork.recording import read_flight
from recording.made_flight import FT, KT

Array = np.ndarray
WING_N_PER_M2, SLOPE_PER_RAD, DENSITY_KGPM3 = 640.0, 5.0, 1.2


def nose_deg(kt: Array, feet: Array, wheels: Array, zero_lift_deg: float | Array = -4.0) -> Array:
    """Pitch: angle of attack for one g and the flight path, or the wheels'."""
    path = np.degrees(np.arctan2(np.gradient(feet * FT), np.maximum(kt * KT, 1.0)))
    lift = 2.0 * WING_N_PER_M2 / (DENSITY_KGPM3 * SLOPE_PER_RAD * np.maximum(kt * KT, 15.0) ** 2)
    return np.where(wheels, 0.5, zero_lift_deg + np.degrees(lift) + path)


def table(
    kt: Array, feet: Array, pitch: Array, *, altimeter_ft: Array | None = None, flaps: Array | None = None
) -> str:
    """Rows a second apart, due north; a satellite's height and an altimeter's."""
    noise = np.random.default_rng(7)
    north = np.cumsum(kt * KT) / 111_200.0
    columns = {
        "UTC": [f"2026-05-28T12:{k // 60:02d}:{k % 60:02d}Z" for k in range(kt.size)],
        "Latitude (deg)": np.round(48.0 + north, 7), "Longitude (deg)": np.full(kt.size, 9.0),
        "GPS Altitude (ft)": np.round(feet + 160.0 + noise.normal(0.0, 0.3, kt.size), 1),
        "Indicated Altitude (ft)": np.round((feet if altimeter_ft is None else altimeter_ft), 0),
        "IAS (kt)": np.round(kt + noise.normal(0.0, 0.5, kt.size), 1), "Ground Speed (kt)": np.round(kt, 1),
        "Pitch (deg)": np.round(pitch + noise.normal(0.0, 0.3, kt.size), 2),
    }  # fmt: skip
    if flaps is not None:
        columns["Flaps (deg)"] = flaps
    rows = [",".join(str(columns[name][k]) for name in columns) for k in range(kt.size)]
    return "\n".join([",".join(columns), *rows]) + "\n"


def contacts(folder: Path, text: str) -> list[tuple[str, float]]:
    path = folder / "piece.csv"
    path.write_text(text, encoding="utf-8")
    return [(c.kind, c.time_s) for c in read_flight(path).contacts]


S = np.arange(40.0)


def approach(flat_s: float, kt_lost: float, *, on: bool, end_s: float = 38.0) -> tuple[Array, Array, Array]:
    """(kt, feet, wheels): down at 700 fpm and 75 kt, level from 22 s on, slowing for so long."""
    feet = np.interp(S, [0.0, 21.0, 24.0, 40.0], [660.0, 412.0, 400.0, 400.0])
    kt = np.interp(S, [0.0, 22.0, 22.0 + flat_s, 40.0], [75.0, 75.0, 75.0 - kt_lost, 75.0 - kt_lost])
    keep = end_s >= S
    return kt[keep], feet[keep], (np.full(S.size, on) & (S > 24.0))[keep]


def test_a_landing_is_seen_though_the_file_ends_before_the_roll_is_slow(tmp_path: Path) -> None:
    kt, feet, wheels = approach(12.0, 24.0, on=True, end_s=33.0)
    ((kind, at_s),) = contacts(tmp_path, table(kt, feet, nose_deg(kt, feet, wheels)))
    assert kind == "landing"
    assert at_s == pytest.approx(24.0, abs=2.0)


def slowing_in_the_air() -> str:
    """Level at 400 ft, slowing to 51 kt: the nose goes up."""
    kt, feet, wheels = approach(12.0, 24.0, on=False, end_s=33.0)
    return table(kt, feet, nose_deg(kt, feet, wheels))


def slowing_with_flaps() -> str:
    """Flaps lower the nose by as much as the lower speed would raise it, and the file tells of them."""
    kt, feet, wheels = approach(12.0, 24.0, on=False, end_s=33.0)
    flaps = np.interp(np.arange(kt.size), [24.0, 33.0], [0.0, 30.0])
    return table(kt, feet, nose_deg(kt, feet, wheels, -4.0 - 0.3 * flaps), flaps=np.round(flaps))


def low_pass() -> str:
    """Five feet up at 75 kt until the file ends."""
    kt, feet, wheels = approach(12.0, 0.0, on=False)
    return table(kt, feet, nose_deg(kt, feet, wheels))


def go_around_at_five_feet() -> str:
    """It floats from 75 to 62 kt, then power: up at 62 kt."""
    kt, feet, wheels = approach(7.0, 13.0, on=False)
    feet = feet + np.interp(np.arange(feet.size), [30.0, 38.0], [0.0, 80.0])
    return table(kt, feet, nose_deg(kt, feet, wheels))


def descent_cut_off() -> str:
    """It ends while it sinks."""
    kt, feet, wheels = approach(12.0, 24.0, on=False, end_s=22.0)
    return table(kt, feet, nose_deg(kt, feet, wheels))


def slow_cruise() -> str:
    """Level at one height all along, slowing from 100 to 70 kt: nothing came down to it."""
    kt, feet = np.interp(S, [0.0, 8.0, 30.0, 40.0], [100.0, 100.0, 70.0, 70.0]), np.full(S.size, 3_000.0)
    return table(kt, feet, nose_deg(kt, feet, np.zeros(S.size, dtype=bool)))


def stall_entry() -> str:
    """A glide at 65 kt, the nose raised at idle: level from 65 to 46 kt, then it drops."""
    feet = np.interp(S, [0.0, 22.0, 31.0, 40.0], [3_200.0, 3_000.0, 2_995.0, 2_900.0])
    kt = np.interp(S, [0.0, 22.0, 31.0, 40.0], [65.0, 65.0, 46.0, 60.0])
    return table(kt, feet, nose_deg(kt, feet, np.zeros(S.size, dtype=bool)))


@pytest.mark.parametrize(
    "made",
    [
        slowing_in_the_air,
        slowing_with_flaps,
        low_pass,
        go_around_at_five_feet,
        descent_cut_off,
        slow_cruise,
        stall_entry,
    ],
)
def test_not_a_landing_what_the_wings_carry(made: Callable[[], str], tmp_path: Path) -> None:
    assert contacts(tmp_path, made()) == []


def test_a_take_off_is_where_it_leaves_though_the_altimeter_swings_with_the_power(tmp_path: Path) -> None:
    """Power at 4 s: 40 ft up in five seconds, 50 down until it rotates at 22 s; the satellite's height stands still."""
    kt = np.interp(S, [0.0, 4.0, 23.0, 40.0], [0.0, 0.0, 84.0, 95.0])
    feet = np.interp(S, [0.0, 22.0, 24.0, 40.0], [90.0, 90.0, 96.0, 280.0])
    swing = np.interp(S, [0.0, 4.0, 9.0, 11.0, 22.0, 30.0], [0.0, 0.0, 42.0, 42.0, -10.0, 0.0])
    pitch = nose_deg(kt, feet, S < 22.0)
    ((kind, at_s),) = contacts(tmp_path, table(kt, feet, pitch, altimeter_ft=feet - 110.0 + swing))
    assert kind == "takeoff"
    assert at_s == pytest.approx(22.0, abs=2.5)


@pytest.mark.parametrize(("stands_m", "found"), [(0.1, ["takeoff"]), (1.5, [])])
def test_a_recorded_height_above_ground_tells_a_run_of_seconds(
    stands_m: float, found: list[str], tmp_path: Path
) -> None:
    """Rolling for 3 s from 8 kt, off at 28 kt; the same a man's height up is no take-off. A model flies so slowly."""
    t = np.arange(0.0, 13.0, 0.5)
    agl, v = np.interp(t, [0.0, 3.0, 13.0], [0.0, 0.0, 40.0]) + stands_m, np.interp(t, [0.0, 3.0], [4.0, 14.0])
    north = -35.0 + np.cumsum(0.5 * v) / 111_200.0
    rows = [f"{a:.2f},{x:.7f},149.1,{h:.2f},{s:.2f},{s:.2f}" for a, x, h, s in zip(t, north, agl, v, strict=True)]
    text = "\n".join(["time_s,lat,lon,alt_agl_m,groundspeed_mps,airspeed_mps", *rows]) + "\n"
    assert [kind for kind, _ in contacts(tmp_path, text)] == found


@pytest.mark.parametrize("wanders_ft", [0.0, 2.0])
@pytest.mark.parametrize("on_wheels", [True, False])
def test_a_touch_and_go_as_fast_as_an_approach_is_told_by_the_nose(
    on_wheels: bool, wanders_ft: float, tmp_path: Path
) -> None:
    """Round a field: off at 58 kt, touched at 77 and off again at 66 after 7 s, or floated through a yard up.

    Where the height wanders from row to row, a recorded vertical speed tells how long it was level.
    """
    t = np.arange(400.0)
    kt = np.interp(t, [0, 20, 44, 80, 190, 205, 212, 216, 330, 350, 375], [0, 0, 58, 74, 80, 77, 66, 66, 70, 55, 0.0])
    feet = np.interp(
        t, [0, 43, 46, 130, 150, 205, 212, 225, 300, 345, 400], [0, 0, 12, 700, 700, 0, 0, 70, 500, 0, 0.0]
    )
    feet += 1_500.0 + np.where((t > 150) & (t < 300) & ~np.array(on_wheels), 3.0, 0.0)
    wheels = (t < 44) | (t > 345) | ((t > 204) & (t < 212) & on_wheels)
    pitch, rises = nose_deg(kt, feet, wheels), 60.0 * np.gradient(feet)
    feet += np.random.default_rng(3).normal(0.0, wanders_ft, feet.size)
    rows = around(kt, feet, pitch).splitlines()
    if wanders_ft:
        rows = [f"{row},{x}" for row, x in zip(rows, ["Vertical Speed (fpm)", *np.round(rises)], strict=True)]
    assert [k for k, _ in contacts(tmp_path, "\n".join(rows))] == (
        ["takeoff", *(["touch_and_go"] if on_wheels else []), "landing"]
    )


def around(kt: Array, feet: Array, pitch: Array) -> str:
    """The rows of `table`, but on a circle of a mile over the field."""
    head, *rows = table(kt, feet, pitch).splitlines()
    angle = np.cumsum(kt * KT) / 1_500.0
    out = [head]
    for row, a in zip(rows, angle, strict=True):
        cells = row.split(",")
        cells[1], cells[2] = (
            f"{48.0 + 1_500.0 * np.sin(a) / 111_200.0:.7f}",
            f"{9.0 + 1_500.0 * np.cos(a) / 74_500.0:.7f}",
        )
        out.append(",".join(cells))
    return "\n".join(out) + "\n"


@pytest.mark.parametrize(("floats_s", "held_off_deg"), [(0.0, 0.0), (12.0, 0.0), (12.0, 14.0)])
def test_a_float_at_one_height_is_flown_until_the_nose_comes_down(
    floats_s: float, held_off_deg: float, tmp_path: Path
) -> None:
    """Down at 205 s, along at the runway's height with the nose rising for so long, then on the wheels and slow.

    Nobody raises it just as 1/V² asks: held off it comes up late, and all the more.
    """
    t = np.arange(330.0)
    down = 205.0 + floats_s
    kt = np.interp(
        t, [0, 20, 44, 80, 190, 205, down, down + 25.0, 330], [0, 0, 58, 74, 74, 70, 70.0 - 1.4 * floats_s, 10, 0]
    )
    feet = 1_500.0 + np.interp(t, [0, 43, 46, 130, 150, 205, 330], [0, 0, 12, 700, 700, 0, 0.0])
    wheels = (t < 44) | (t > down)
    nose, into = nose_deg(kt, feet, wheels), (t > 205.0) & (t <= down)
    if held_off_deg:
        nose[into] = -2.0 + held_off_deg * ((t[into] - 205.0) / floats_s) ** 4
    found = contacts(tmp_path, around(kt, feet, nose))
    assert [k for k, _ in found] == ["takeoff", "landing"]
    assert found[-1][1] == pytest.approx(down, abs=2.0)


@pytest.mark.parametrize("sinks_ft", [22.0, 0.0])
def test_a_go_around_that_sinks_before_it_climbs_was_on_no_runway(sinks_ft: float, tmp_path: Path) -> None:
    """Held level for 9 s down to 47 kt and then lower while it gains speed; with nothing below it, a touch-and-go."""
    t = np.arange(420.0)
    kt = np.interp(
        t, [0, 20, 44, 80, 190, 203, 212, 222, 240, 345, 370, 395], [0, 0, 58, 74, 68, 64, 47, 64, 72, 66, 50, 0]
    )
    low = 3.0 + sinks_ft
    feet = np.interp(
        t, [0, 43, 46, 130, 150, 203, 212, 221, 260, 300, 360, 420], [0, 0, 12, 700, 700, low, low, 3, 300, 500, 0, 0]
    )
    wheels = (t < 44) | (t > 360) | ((t > 203) & (t < 220) & (sinks_ft == 0.0))
    found = contacts(tmp_path, around(kt, 1_500.0 + feet, nose_deg(kt, feet, wheels)))
    assert [k for k, _ in found] == ["takeoff", *(["touch_and_go"] if not sinks_ft else []), "landing"]


@pytest.mark.parametrize("nought_from_ft", [240.0, 160.0, 0.0])
def test_a_height_that_falls_to_nought_at_once_is_no_ground(nought_from_ft: float, tmp_path: Path) -> None:
    """A transponder's 0 well before the runway (seen in one of 7 s steps); the roll begins where the speed falls."""
    t = np.arange(0.0, 140.0, 5.0)
    feet = np.maximum(400.0 - 6.0 * t, 0.0)
    kt = np.interp(t, [0.0, 30.0, 66.0, 76.0, 95.0, 140.0], [110.0, 70.0, 66.0, 60.0, 12.0, 8.0])
    told = np.where(feet < nought_from_ft, 0.0, 25.0 * np.round(feet / 25.0))
    north = 42.0 + np.cumsum(kt * KT * 5.0) / 111_200.0
    rows = [f"2026-05-28T12:{int(s) // 60:02d}:{int(s) % 60:02d}Z,{a:.6f},-71.0,{h:.0f},{v:.0f},0"
            for s, a, h, v in zip(t, north, told, kt, strict=True)]  # fmt: skip
    found = contacts(tmp_path, "\n".join(["UTC,Latitude,Longitude,Altitude,Speed,Direction", *rows]) + "\n")
    assert [kind for kind, _ in found] == ["landing"]
    assert 66.0 < found[0][1] < 85.0


@pytest.mark.parametrize("nought_from_ft", [100.0, 0.0])
def test_a_height_above_ground_that_drops_to_nought_in_one_row_claims_no_landing(
    nought_from_ft: float, tmp_path: Path
) -> None:
    """Down at 400 fpm and 65 kt to the very ground; only where the height comes down with it is that seen."""
    t = np.arange(40.0)
    feet = np.maximum(240.0 - 6.7 * t, 0.0)
    told = np.where(feet < nought_from_ft, 0.0, feet)
    rows = [f"{s:.0f},{48.0 + 33.0 * s / 111_200.0:.7f},9.0,{a:.1f},{h:.1f},65.0,1.0"
            for s, a, h in zip(t, feet + 10.0, told, strict=True)]  # fmt: skip
    head = "time_s,lat,lon,GPS Altitude (ft),Height Above Ground (ft),IAS (kt),Pitch (deg)"
    found = contacts(tmp_path, "\n".join([head, *rows]) + "\n")
    assert [kind for kind, _ in found] == ([] if nought_from_ft else ["landing"])


@pytest.mark.parametrize("brakes_kt_per_s", [2.5, 1.5])
def test_a_height_of_nought_from_the_touch_on_is_the_ground(brakes_kt_per_s: float, tmp_path: Path) -> None:
    """A field at 600 ft, and 0 from the touch at 66 s on: there it brakes at once."""
    t = np.arange(0.0, 140.0, 2.0)
    feet = 600.0 + np.maximum(400.0 - 6.0 * t, 0.0)
    kt = np.interp(t, [0.0, 30.0, 66.0], [110.0, 70.0, 64.0]) - brakes_kt_per_s * np.clip(t - 66.0, 0.0, 60.0 / 2.5)
    told = np.where(t < 66.0, 25.0 * np.round(feet / 25.0), 0.0)
    north = 42.0 + np.cumsum(kt * KT * 2.0) / 111_200.0
    rows = [f"2026-05-28T12:{int(s) // 60:02d}:{int(s) % 60:02d}Z,{a:.6f},-71.0,{h:.0f},{v:.0f},0"
            for s, a, h, v in zip(t, north, told, kt, strict=True)]  # fmt: skip
    found = contacts(tmp_path, "\n".join(["UTC,Latitude,Longitude,Altitude,Speed,Direction", *rows]) + "\n")
    assert [kind for kind, _ in found] == ["landing"]
    assert found[0][1] == pytest.approx(66.0, abs=2.1)
