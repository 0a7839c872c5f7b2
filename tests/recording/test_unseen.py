"""A stop that no receiver saw is none of the flight. Tables of our own, no source."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from airwork.debrief import debrief
from airwork.logbook.debrief_json import read_debrief
from airwork.recording import Flight, read_flight
from airwork.standards import load_standard
from recording.writing import save

pytestmark = pytest.mark.usefixtures("columns_alone")


# 8 km from where it starts: KMJX (39.9275 N, 74.2924 W, 82 ft: the tables of `airwork.aerodromes`); 17 km from any.
KMJX, AT_SEA = (39.8555, -74.2924), (39.928, -74.0)


def network(
    folder: Path, gap_s: float, *, lands: bool, start: tuple[float, float] = KMJX, higher_m: float = 0.0
) -> Flight:
    """Down at 3 m/s to 575 ft over the field, lost, and up again from there; or level across the same gap."""
    t = np.concatenate((np.arange(0.0, 240.0, 4.0), 240.0 + gap_s + np.arange(0.0, 240.0, 4.0)))
    late = t > 240.0
    down, up = 200.0 + 3.0 * (240.0 - t), 200.0 + 3.0 * (t - 240.0 - gap_s)
    height = np.where(late, up, down) if lands else np.full(t.size, 500.0)
    flown = np.where(late & lands, t - gap_s, t) * 34.0 + 1_300.0 * late
    feet = np.round((height + higher_m) / 0.3048 / 25.0) * 25.0
    rows = [
        f"{1.78e9 + s:.0f},4b1f03,{start[0] + x / 111_000.0:.6f},{start[1]},{h:.0f},66,0,7000"
        for s, x, h in zip(t, flown, feet, strict=True)
    ]
    return read_flight(save(folder, "time,hex,lat,lon,alt_baro,gs,track,squawk\n" + "\n".join(rows) + "\n"))


def test_a_gap_from_low_down_to_low_up_at_one_place_is_a_stop(tmp_path: Path) -> None:
    flight = network(tmp_path, 1_500.0, lands=True)
    assert any("landed and took off again" in m.what for m in flight.mends)
    found = debrief(flight, standard=load_standard("private"))
    assert found.airborne_s == pytest.approx(540.0, abs=40.0)
    assert " 9 min in the air" in found.first[0].text
    assert any("On the ground or not received 4:2" in note for note in found.notes)
    assert not any("of the time in the air was not recorded" in n and int(n.split(" %")[0]) > 20 for n in found.notes)


def test_a_logbook_counts_no_stop_it_did_not_receive(tmp_path: Path) -> None:
    """Of 33 minutes recorded 24 in the gap are none; across a gap flown on all 13 minutes are."""
    for gap_s, lands, counted_s in ((1_500.0, True, 540.0), (300.0, False, 776.0)):
        flight = network(tmp_path, gap_s, lands=lands)
        facts = read_debrief(debrief(flight, standard=load_standard("private")).as_json())
        assert facts.duration_s - facts.unseen_s == pytest.approx(counted_s, abs=10.0)


def test_a_gap_flown_across_is_none(tmp_path: Path) -> None:
    flight = network(tmp_path, 300.0, lands=False)
    assert not any("landed and took off again" in m.what for m in flight.mends)


@pytest.mark.parametrize("way", [1, -1])
def test_a_recorder_that_pauses_on_the_ground_makes_no_time_in_the_air(tmp_path: Path, way: int) -> None:
    """A fix where it stood, nothing for ten minutes, then a minute and a half from the run on; and the same landing."""
    t = np.concatenate(([0.0], 600.0 + np.arange(90.0)))
    v = np.where(t > 0.0, 30.0 + np.minimum(t - 600.0, 14.0), 0.0)
    x = np.concatenate(([0.0], 300.0 + np.cumsum(v[1:])))
    h = 130.0 + 3.0 * np.maximum(t - 612.0, 0.0)
    rows = [f"{s:.0f},{39.0 + a / 111_000.0:.6f},-95.0,{u:.1f},{w:.1f}" for s, a, u, w in zip(t, x, h, v, strict=True)]
    if way < 0:
        rows = [",".join([f"{t[-1] - s:.0f}", *r.split(",")[1:]]) for s, r in zip(t, rows, strict=True)][::-1]
    flight = read_flight(save(tmp_path, "seconds,lat,lon,altitude (m),ground speed (m/s)\n" + "\n".join(rows) + "\n"))
    found = debrief(flight, standard=load_standard("private"))
    assert 60.0 < (found.airborne_s or 0.0) <= 90.0
    assert all(e.episode.end_s - e.episode.start_s <= 90.0 for e in found.episodes)


@pytest.mark.parametrize("change", [{"start": AT_SEA}, {"higher_m": 400.0}])
def test_a_gap_with_no_field_below_is_none(tmp_path: Path, change: dict[str, Any]) -> None:
    """Away from every aerodrome, or 1,900 ft over one: it may have circled there, too low for the receivers."""
    flight = network(tmp_path, 1_500.0, lands=True, **change)
    assert not any("landed and took off again" in m.what for m in flight.mends)


def test_a_short_gap_is_none(tmp_path: Path) -> None:
    flight = network(tmp_path, 60.0, lands=True)
    assert not any("landed and took off again" in m.what for m in flight.mends)
