"""Lines as receivers, simulators and sensors send them; whatever comes, nothing is raised and nothing invented."""

from __future__ import annotations

import json
import math
import random

import pytest

from airwork.live.reading import LineReader, settle
from airwork.recording.quantities import QUANTITIES


def test_sentences_of_nmea_0183_as_printed() -> None:
    """RMC and GGA as many receivers' manuals print them: 48°07.038' N, 11°31.000' E, 22.4 kt, 84.4°, 545.4 m. [M]"""
    reader = LineReader("gps")
    fix = reader.read(b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\r\n", 1.0)[0]
    assert math.degrees(fix.values["latitude_rad"]) == pytest.approx(48 + 7.038 / 60)
    assert math.degrees(fix.values["longitude_rad"]) == pytest.approx(11 + 31.0 / 60)
    assert fix.values["groundspeed_mps"] == pytest.approx(22.4 * 1852 / 3600)
    assert math.degrees(fix.values["track_rad"]) == pytest.approx(84.4)
    assert fix.time_s == 764426119.0  # 1994-03-23 12:35:19 UTC
    height = reader.read(b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47", 1.1)[0]
    assert height.values["gps_altitude_m"] == pytest.approx(545.4)
    assert reader.read(b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.5,M,46.9,M,,*47", 1.2) == []
    assert (reader.good, reader.bad) == (2, 1)


def test_a_fix_that_is_none_gives_no_position() -> None:
    assert LineReader("gps").read(b"$GPRMC,123519,V,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W", 1.0) == []


def test_json_and_csv_say_the_same() -> None:
    """Names with their units; a new line of names may come at any time."""
    pairs = {"time": 12.5, "ias_kt": 100.0, "altitude_ft": 3000.0, "heading": 361.0, "flap_deg": 10.0, "oat_c": 15.0}
    as_json = LineReader("sim").read(json.dumps(pairs).encode(), 0.0)[0]
    reader = LineReader("sim")
    assert reader.read((",".join(pairs) + "\n").encode(), 0.0) == []
    as_csv = reader.read(",".join(map(str, pairs.values())).encode(), 0.0)[0]
    assert as_csv.values == as_json.values
    assert as_json.time_s == 12.5
    expected = {"ias_mps": 100 * 1852 / 3600, "indicated_altitude_m": 914.4, "heading_mag_rad": math.radians(1.0),
                "flap_deg": 10.0, "oat_k": 288.15}  # fmt: skip
    assert as_json.values == pytest.approx(expected)
    assert reader.read(b"rpm;pitch_deg\n", 1.0) == []
    assert reader.read(b"2400;-3", 1.1)[0].values == pytest.approx({"rpm": 2400.0, "pitch_rad": math.radians(-3.0)})


def test_a_name_without_a_unit_means_the_usual_one() -> None:
    taken = settle("indicated airspeed")
    assert taken is not None
    assert taken.factor == pytest.approx(1852 / 3600)
    assert settle("crew rest") is None


def test_no_line_whatever_raises() -> None:
    """A small sample of `bench/follow.py fuzz`: cut, mixed, doubled and random bytes; all is read or counted as bad."""
    rng = random.Random(5)
    seeds = [b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A", b"time,ias_kt,alt_ft", b"1,2,3",
             b'{"ias_kt": 1e999, "lat": null, "time": "yesterday"}', b'{"a":' * 400, b"\x00\xff" * 50,
             b"," * 300]  # fmt: skip
    reader, last = LineReader("noise"), 0
    for _ in range(2000):
        line = bytearray(rng.choice(seeds))
        for _ in range(rng.randrange(6)):
            if line:
                line[rng.randrange(len(line))] = rng.randrange(256)
        line = line[: rng.randrange(len(line) + 1)]
        for sample in reader.read(bytes(line), 0.0):
            assert all(math.isfinite(v) for v in sample.values.values())
            assert set(sample.values) <= {q.house for q in QUANTITIES.values()}
        assert reader.good + reader.bad >= last
        last = reader.good + reader.bad
