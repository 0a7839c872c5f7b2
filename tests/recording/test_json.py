"""JSON tracks: the same flight in each form in which rows may lie."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from airwork.errors import InputError
from airwork.recording import read_flight
from recording.made_flight import FT, KT, START_UTC_S, fly
from recording.writing import GET, save

pytestmark = pytest.mark.usefixtures("columns_alone")

MADE = fly(
    [(0.0, 0.0), (60.0, 0.0), (64.0, 30.0), (150.0, 30.0), (154.0, 0.0), (300.0, 0.0)],
    [(0.0, 95.0), (150.0, 105.0), (300.0, 90.0)],
    [(0.0, 2500.0), (110.0, 3500.0), (200.0, 3500.0), (300.0, 2600.0)],
    duration_s=300.0, rate_hz=1.0,
)  # fmt: skip
LAT, LON = GET["lat_deg"](MADE), GET["lon_deg"](MADE)
ALT, GS = np.round(MADE.altitude_m / FT / 25.0) * 25.0, np.round(MADE.groundspeed_mps / KT)
TRACK, RATE = GET["trk_deg"](MADE), np.round(MADE.vertical_speed_mps / FT * 60.0 / 64.0) * 64.0
TIMES = (START_UTC_S + MADE.time_s).tolist()

Row = dict[str, Any]


def rows(factor: float = 1.0) -> list[Row]:
    return [
        {"timestamp": t * factor, "icao24": "a1b2c3", "latitude": a, "longitude": o, "altitude": h, "groundspeed": g,
         "track": k, "vertical_rate": v, "callsign": "DEMO1"}
        for t, a, o, h, g, k, v in zip(TIMES, LAT, LON, ALT, GS, TRACK, RATE, strict=True)
    ]  # fmt: skip


def nested() -> Row:
    track = [
        {"timestamp": int(r["timestamp"]), "latitude": r["latitude"], "longitude": r["longitude"],
         "altitude": {"feet": r["altitude"]}, "speed": {"kts": r["groundspeed"]},
         "verticalSpeed": {"fpm": r["vertical_rate"]}, "trail": []}
        for r in rows()
    ]  # fmt: skip
    return {"result": {"about": {"list": [1, 2, 3]}, "data": {"track": track}}}


def states() -> list[Row]:
    return [
        {"time": t, "states": [["a1b2c3", "DEMO1  ", "Nowhere", t, t, o, a, h * FT, False, g * KT, k, v * FT / 60.0,
                                None, None, None, False, 0]]}
        for t, a, o, h, g, k, v in zip(TIMES, LAT, LON, ALT, GS, TRACK, RATE, strict=True)
    ]  # fmt: skip


def trace() -> Row:
    return {
        "icao": "a1b2c3", "timestamp": TIMES[0],
        "trace": [[t - TIMES[0], a, o, "ground" if i < 3 else h, g, k, 0, v, {"flight": "DEMO1"}, "adsb"]
                  for i, (t, a, o, h, g, k, v) in enumerate(zip(TIMES, LAT, LON, ALT, GS, TRACK, RATE, strict=True))],
    }  # fmt: skip


FORMS: dict[str, Callable[[], str]] = {
    "objects": lambda: json.dumps(rows(1000.0)),
    "lines": lambda: "\n".join(json.dumps(r) for r in rows()),
    "columns": lambda: json.dumps({k: [r[k] for r in rows()] for k in rows()[0]}),
    "columns by number": lambda: json.dumps({k: {str(i): r[k] for i, r in enumerate(rows())} for k in rows()[0]}),
    "names inside names": lambda: json.dumps(nested()),
    "state rows": lambda: json.dumps(states()),
    "trace rows": lambda: json.dumps(trace()),
    "points": lambda: json.dumps({"type": "FeatureCollection", "features": [
        {"type": "Feature",
         "geometry": {"type": "Point", "coordinates": [r["longitude"], r["latitude"], r["altitude"]]},
         "properties": {"time": r["timestamp"], "speed": r["groundspeed"]}} for r in rows()]}),
}  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_every_form_is_the_same_flight(tmp_path: Path, form: str) -> None:
    flight = read_flight(save(tmp_path, FORMS[form](), "track.json"))
    assert flight.source["format"] == "JSON"
    assert len(flight) == MADE.time_s.size
    assert flight.start_utc_s == pytest.approx(START_UTC_S, abs=0.01)
    assert flight["latitude_rad"] == pytest.approx(MADE.latitude_rad, abs=1e-8)
    assert flight["groundspeed_mps"] == pytest.approx(GS * KT, abs=0.01)
    later = slice(5, None)
    assert flight["altitude_m"][later] == pytest.approx(ALT[later] * FT, abs=0.01)
    if form not in {"points"}:
        assert flight["vertical_speed_mps"] == pytest.approx(RATE * FT / 60.0, abs=0.001)


def test_a_traces_heights_are_those_of_1013_hpa(tmp_path: Path) -> None:
    """What a transponder sends, though nothing but the form says so: no rates in its steps, no code, no ADS-B alone."""
    one = trace()
    one["trace"] = [[*row[:7], None, row[8], "adsb_icao"] for row in one["trace"]]
    flight = read_flight(save(tmp_path, json.dumps(one), "trace.json"))
    assert flight.columns["pressure_altitude_m"].known == "measured"


def test_messages_of_several_kinds_fill_each_others_blanks(tmp_path: Path) -> None:
    """Positions in one message, speeds in the next, as a receiver hears them."""
    place, motion = {"latitude", "longitude", "altitude"}, {"groundspeed", "track", "vertical_rate"}
    lines = [
        json.dumps({k: v for k, v in row.items() if k not in (motion if i % 2 else place)})
        for i, row in enumerate(rows())
    ]
    flight = read_flight(save(tmp_path, "\n".join(lines), "heard.jsonl"))
    assert flight["groundspeed_mps"][10:-10] == pytest.approx(MADE.groundspeed_mps[10:-10], abs=0.6)
    assert flight["altitude_m"][10:-10] == pytest.approx(MADE.altitude_m[10:-10], abs=9.0)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('{"a": 1}', "no list of points"), ('{"a": [1, 2', "no well-formed JSON"),
        ("[[[[[[1]]]]]]", "no list of points"), ("[" * 5000 + "]" * 5000, "nested|no list"),
        (f'{{"flights": [{{"coords": {[[22.3, -97.8, 475 + k] for k in range(20)]}}}]}}', "no time and no names"),
        (f'{{"sizes": {[[475 + k, 22.3] for k in range(20)]}}}', "no list of points"),
        ('{"a": 1}\nnonsense\nmore\nand more\n', "neither a JSON document"),
    ],
)  # fmt: skip
def test_json_without_a_track_is_refused_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as found:
        read_flight(save(tmp_path, text, "x.json"))
    assert "\n" not in str(found.value)
