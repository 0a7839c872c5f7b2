"""Rows of several kinds (position, air data, engine) told by a word, by their cells or by where they stand: one flight.

The layouts are common practice, no source; what must come back is the flight they were written from.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from airwork.airdata.atmosphere import standard_pressure_pa
from airwork.recording import read_flight
from recording.made_flight import START_UTC_S, lesson, stamp
from recording.writing import GET, ias_mps, save

pytestmark = pytest.mark.usefixtures("columns_alone")

MADE = lesson(1_100.0, 1.0)
N = MADE.time_s.size
ISO = [stamp(START_UTC_S + t) for t in MADE.time_s]
PLACE = [
    [f"{a:.6f}", f"{o:.6f}", f"{h:.0f}", f"{g:.1f}"]
    for a, o, h, g in zip(*(GET[k](MADE).tolist() for k in ("lat_deg", "lon_deg", "alt_ft", "gs_kt")), strict=True)
]
AIR = [[f"{v:.1f}", f"{b:.1f}"] for v, b in zip(GET["ias_kt"](MADE), GET["bank_deg"](MADE), strict=True)]
ENGINE = [[f"{2_250 + k % 90}", "24.1", "9.1"] for k in range(N)]
PLACES, AIRS, ENGINES = ("lat,lon,alt_ft,gs_kt", "ias_kt,bank_deg", "rpm,map_inhg,ff_gph")


def in_turn(place: Callable[[int], str], air: Callable[[int], str], every: int = 1) -> list[str]:
    return [line for k in range(N) for line in ([place(k), air(k)] if k % every == 0 else [place(k)])]


def row(k: int, cells: list[list[str]], *before: str, by: str = ",") -> str:
    return by.join([*before, *cells[k]])


def timed(k: int, cells: list[list[str]], by: str = ",") -> str:
    return row(k, cells, ISO[k], by=by)


def placed(k: int) -> str:
    return timed(k, PLACE)


def aired(k: int) -> str:
    return timed(k, AIR)


def is_flown(folder: Path, text: str, name: str = "kinds.csv") -> None:
    flight = read_flight(save(folder, text, name))
    t = flight.time_s + flight.start_utc_s - START_UTC_S
    assert len(flight) == N
    np.testing.assert_allclose(flight["latitude_rad"], np.interp(t, MADE.time_s, MADE.latitude_rad), atol=1e-6)
    np.testing.assert_allclose(flight["ias_mps"][5:-5], np.interp(t, MADE.time_s, ias_mps(MADE))[5:-5], atol=1.0)
    assert flight.columns["ias_mps"].known == "measured"
    off = np.abs(flight["bank_rad"] - np.interp(t, MADE.time_s, MADE.bank_rad))
    assert np.mean(off < 0.03) > 0.95  # drawn straight between readings 3 s apart while it rolls


TURNS = {
    "a word after the time, names in remarks": [
        f"# GPS: time,kind,{PLACES}", f"# AIR: time,kind,{AIRS}",
        *in_turn(lambda k: row(k, PLACE, ISO[k], "GPS"), lambda k: row(k, AIR, ISO[k], "AIR")),
    ],
    "a word after the time, names in rows": [
        f"time,GPS,{PLACES}", f"time,AIR,{AIRS}",
        *in_turn(lambda k: row(k, PLACE, ISO[k], "GPS"), lambda k: row(k, AIR, ISO[k], "AIR")),
    ],
    "a word before the time": [
        f"GPS,time,{PLACES}", f"AIR,time,{AIRS}",
        *in_turn(lambda k: row(k, PLACE, "GPS", ISO[k]), lambda k: row(k, AIR, "AIR", ISO[k])),
    ],
    "a word, parted by blanks": [
        f"# POS t {PLACES.replace(',', ' ')}", f"# AIR t {AIRS.replace(',', ' ')}",
        *in_turn(lambda k: row(k, PLACE, "POS", f"{START_UTC_S + k:.1f}", by=" "),
                 lambda k: row(k, AIR, "AIR", f"{START_UTC_S + k:.1f}", by=" ")),
    ],
    "two headers, no word": [f"time,{PLACES}", f"time,{AIRS}", *in_turn(placed, aired)],
    "two headers in remarks, every third": [
        f"# position: time,{PLACES}", f"# air: time,{AIRS}", *in_turn(placed, aired, 3)
    ],
    "as many cells, other decimals": [
        "time,lat,lon,alt_ft", f"time,{AIRS},rpm",
        *in_turn(lambda k: timed(k, PLACE).rpartition(",")[0], lambda k: f"{timed(k, AIR)},{ENGINE[k][0]}"),
    ],
    "one header for two kinds": [f"time,{PLACES}", *in_turn(placed, aired)],
    "named in each line": in_turn(
        lambda k: f"{ISO[k]} nav: lat={PLACE[k][0]} lon={PLACE[k][1]} alt={PLACE[k][2]}ft gs={PLACE[k][3]}kt",
        lambda k: f"{ISO[k]} air: ias={AIR[k][0]}kt bank={AIR[k][1]} rpm={ENGINE[k][0]}",
    ),
    "one below the other, clocks of two names": [
        "[GPS]", f"time,{PLACES}", *(timed(k, PLACE) for k in range(N)), "", "[AIR]", f"utc,{AIRS}",
        *(timed(k, AIR) for k in range(N)),
    ],
    "three by semicolons": [
        f"time,{names}".replace(",", ";") for names in (PLACES, AIRS, ENGINES)
    ] + [timed(k, cells, ";") for k in range(N) for cells in (PLACE, AIR, ENGINE)],
}  # fmt: skip


@pytest.mark.parametrize("layout", TURNS)
def test_rows_of_kinds_are_one_flight(tmp_path: Path, layout: str) -> None:
    is_flown(tmp_path, "\n".join(TURNS[layout]) + "\n")


def objects(k: int) -> tuple[dict[str, object], dict[str, object]]:
    place, air = (
        {n: float(v) for n, v in zip(names.split(","), cells[k], strict=True)}
        for names, cells in ((PLACES, PLACE), (AIRS, AIR))
    )
    return {"time": ISO[k], **place}, {"time": ISO[k], **air}


@pytest.mark.parametrize("form", ["lines", "lists", "at two rates", "columns", "elements"])
def test_objects_of_kinds_are_one_flight(tmp_path: Path, form: str) -> None:
    """At two rates: the airspeed was once held against an altitude of every other row, and made meters per second."""
    gps, air = zip(*map(objects, range(N)), strict=True)
    if form == "elements":
        each = [
            f"<{tag} " + " ".join(f"{n}='{v}'" for n, v in one.items()) + "/>"
            for pair in zip(gps, air, strict=True)
            for tag, one in zip(("gps", "air"), pair, strict=True)
        ]
        return is_flown(tmp_path, f"<log>{''.join(each)}</log>", "kinds.xml")
    document = {
        "lists": {"gps": gps, "air": air},
        "at two rates": {"gps": gps[::2], "air": air},
        "columns": {w: {n: [one[n] for one in rows] for n in rows[0]} for w, rows in (("gps", gps), ("air", air))},
    }
    lines = [json.dumps(one) for pair in zip(gps, air, strict=True) for one in pair]
    return is_flown(tmp_path, json.dumps(document[form]) if form in document else "\n".join(lines), "kinds.json")


def test_rows_that_only_end_early_are_of_one_kind(tmp_path: Path) -> None:
    """A writer that leaves out empty cells at the end of a row."""
    rows = [row(k, PLACE, ISO[k]) if k % 3 else row(k, PLACE, ISO[k]).rpartition(",")[0] for k in range(N)]
    flight = read_flight(save(tmp_path, "\n".join([f"time,{PLACES}", *rows]) + "\n"))
    assert len(flight) == N
    np.testing.assert_allclose(flight["altitude_m"][5:-5], MADE.altitude_m[5:-5], atol=1.0)


@pytest.mark.usefixtures("all_sought")
def test_another_list_of_positions_is_no_kind(tmp_path: Path) -> None:
    """Planned points beside the track have its times and positions of their own."""
    track = [objects(k)[0] for k in range(N)]
    plan = [{"time": ISO[k], "lat": 1.0, "lon": 2.0, "ias_kt": 99.0} for k in range(0, N, 40)]
    flight = read_flight(save(tmp_path, json.dumps({"plan": plan, "track": track}), "plan.json"))
    np.testing.assert_allclose(flight["latitude_rad"], MADE.latitude_rad, atol=2e-7)
    assert flight.columns["ias_mps"].known == "derived"


def test_a_head_that_names_whose_columns_it_tells_has_one_cell_more(tmp_path: Path) -> None:
    """$COL,GNSS,time,... above rows of $GNSS,...: the first cell is the kind's, and so with the units."""
    lat, lon, high = (GET[n](MADE) for n in ("lat_deg", "lon_deg", "alt_m"))
    rows = "".join(f"$GNSS,{ISO[k]},{lat[k]:.6f},{lon[k]:.6f},{high[k]:.1f},7\n" for k in range(MADE.time_s.size))
    head = "$FILE,1\n$COL,GNSS,time,lat,lon,hMSL,numSV\n$UNIT,GNSS,,deg,deg,m,\n$DATA\n"
    flight = read_flight(save(tmp_path, head + rows))
    np.testing.assert_allclose(flight["altitude_m"], np.round(high, 1), atol=0.06)
    static = standard_pressure_pa(high) / 100.0
    two = "".join(
        f"$GNSS,{ISO[k]},{lat[k]:.6f},{lon[k]:.6f},{high[k]:.1f},7\n$BARO,{ISO[k]},{static[k]:.2f}\n"
        for k in range(600)
    )
    head = head.replace("$DATA", "$COL,BARO,time,static pressure\n$UNIT,BARO,,hPa\n$DATA")
    flight = read_flight(save(tmp_path, head + two, "two.csv"))
    assert float(np.nanmax(flight["gps_altitude_m"])) == pytest.approx(float(high[:600].max()), abs=0.1)
    assert flight.columns["pressure_altitude_m"].known == "measured"
