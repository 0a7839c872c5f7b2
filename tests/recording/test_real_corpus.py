"""Real files of other hands, read as they come. Where each is from: sources/recordings/ORIGIN.md."""

from __future__ import annotations

import gzip
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from airwork.cli import main
from airwork.debrief import Debrief, debrief
from airwork.recording import read_flight
from airwork.recording.craft import craft_of
from airwork.recording.flight import Flight
from airwork.standards import load_standard
from airwork.units import FPM_MPS, FT_M, KT_MPS

KMH_MPS = 1.0 / 3.6
EXERCISES = {"steep_turn", "level_turn", "slow_flight", "power_off_stall", "power_on_stall", "accelerated_stall",
             "clearing_turn", "turns_around_point", "s_turns", "eights_on_pylons", "chandelle", "lazy_eight", "glide",
             "steep_spiral", "emergency_descent", "rectangular_course"}  # fmt: skip


def debriefed(flight: Flight) -> Debrief:
    return debrief(flight, standard=load_standard("private"))


def claimed(found: Debrief) -> set[str]:
    return {e["kind"] for e in found.as_json()["episodes"]}


def test_a_sailplane_seen_by_ads_b_is_in_feet_and_knots_and_claims_no_exercise(recordings: Path) -> None:
    """58 kt and 314 ft in the first row; a sailplane near the coast of Provence stays below 7,000 ft and 100 kt."""
    flight = read_flight(recordings / "adsb_sailplane_9s.json.gz")
    assert flight["groundspeed_mps"][0] == pytest.approx(58 * KT_MPS, rel=1e-6)
    assert flight["pressure_altitude_m"][0] == pytest.approx(314 * FT_M, abs=0.01)
    assert flight["vertical_speed_mps"][0] == pytest.approx(-192 * FPM_MPS, abs=1e-6)
    assert flight.step_s == pytest.approx(9.0, abs=1.0)
    assert craft_of(flight).kind == "sailplane"
    assert craft_of(flight).engine is False
    found = debriefed(flight)
    assert not claimed(found) & EXERCISES
    notes = found.notes
    assert any("sailplane" in n for n in notes)
    assert any(n.startswith("One fix in") for n in notes)
    share = [int(n.split()[0]) for n in notes if "of the time in the air was not recorded" in n]
    assert not share or share[0] < 30  # out of the receiver's sight now and then


def test_a_helicopter_seen_by_ads_b_has_both_altitudes_in_feet(recordings: Path) -> None:
    flight = read_flight(recordings / "adsb_helicopter_1s.json.gz")
    assert np.nanmedian(flight["groundspeed_mps"]) == pytest.approx(105 * KT_MPS, abs=2.0)
    assert flight["pressure_altitude_m"][0] == pytest.approx(1125 * FT_M, abs=0.01)
    assert flight["gps_altitude_m"][0] == pytest.approx(1025 * FT_M, abs=0.01)
    assert flight["vertical_speed_mps"][0] == pytest.approx(-64 * FPM_MPS, abs=1e-6)


@pytest.fixture(scope="module")
def thermals(recordings: Path) -> Flight:
    return read_flight(recordings / "thermals_4s.igc.gz")


@pytest.fixture(scope="module")
def soared(thermals: Flight) -> Debrief:
    return debriefed(thermals)


def test_speeds_of_five_digits_in_igc_are_hundredths(thermals: Flight) -> None:
    """Held to the positions, not to the width of the field."""
    assert thermals.source["understood"][0]["unit"] == "0.01 km/h"
    t, east, north = thermals.time_s, thermals["east_m"], thermals["north_m"]
    along = np.hypot(np.diff(east), np.diff(north)) / np.diff(t)
    mean = 0.5 * (thermals["groundspeed_mps"][1:] + thermals["groundspeed_mps"][:-1])
    flying = (along > 20.0) & (np.diff(t) < 6.0)
    assert np.median(along[flying] / mean[flying]) == pytest.approx(1.0, abs=0.03)  # chords of circles are shorter


def test_a_sailplane_has_no_engine_and_claims_no_exercise(thermals: Flight, soared: Debrief) -> None:
    assert craft_of(thermals).kind == "sailplane"
    assert not claimed(soared) & EXERCISES
    assert [c.kind for c in thermals.contacts] == ["takeoff", "landing"]


def test_the_wind_agrees_with_the_recorders_own(thermals: Flight, recordings: Path) -> None:
    """K records: direction in characters 8 to 10, speed in 11 to 15 in hundredths of km/h (the file's J record)."""
    text = gzip.decompress((recordings / "thermals_4s.igc.gz").read_bytes()).decode("latin-1")
    rows = re.findall(r"(?m)^K(\d\d)(\d\d)(\d\d)(\d{3})(\d{5})", text)
    data = np.array([[float(h) * 3600 + float(m) * 60 + float(s), float(d), float(w) / 100] for h, m, s, d, w in rows])
    t = data[:, 0] - thermals.start_utc_s % 86_400.0
    use = (t > 600.0) & (t < thermals.time_s[-1] - 300.0) & (data[:, 2] > 0.0)
    angle = np.radians(data[use, 1])
    theirs = np.stack([-data[use, 2] * np.sin(angle), -data[use, 2] * np.cos(angle)])
    source, speed = thermals["wind_from_rad"], thermals["wind_mps"] / KMH_MPS
    ours = np.stack([np.interp(t[use], thermals.time_s, -speed * f(source)) for f in (np.sin, np.cos)])
    assert use.sum() > 80
    assert abs(float(np.mean(np.hypot(*ours) - np.hypot(*theirs)))) < 2.0
    assert float(np.median(np.hypot(*(ours - theirs)))) < 6.0


def test_touch_and_goes_at_a_field_never_stood_on(recordings: Path) -> None:
    """Cerfontaine: the wheels' shock is in the accelerometers within a few seconds of the contact found.

    Field elevation some 955 ft and runway 11/29 (from memory); satellite heights are good to some meters.
    """
    flight = read_flight(recordings / "touch_and_go_5hz_excerpt.csv.gz")
    assert [c.kind for c in flight.contacts] == ["touch_and_go", "touch_and_go"]
    for contact in flight.contacts:
        part = flight.span(contact.time_s - 4.0, contact.time_s + 10.0)
        assert np.ptp(flight["load_factor"][part]) > 0.6
        assert flight["altitude_m"][part].min() == pytest.approx(955 * FT_M, abs=8.0)
        assert np.degrees(flight["track_rad"][part]).mean() == pytest.approx(293.0, abs=6.0)
    assert "go_around" not in claimed(debriefed(flight))
    assert np.nanmin(flight["agl_m"]) > -6.0


def test_the_kind_of_aircraft_is_said_with_its_reason(recordings: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["recording", "show", str(recordings / "thermals_4s.igc.gz")]) == 0
    assert "by its recording: a sailplane or glider (84 % of its climbing was circling)" in capsys.readouterr().out


def test_a_sailplane_is_not_told_to_go_around(thermals: Flight, soared: Debrief) -> None:
    """It has no engine to do it with; the same flight taken for one that has is told of its final.

    The open flight of sources/recordings/ORIGIN.md: its last turn reaches below 300 ft.
    """
    powered = replace(thermals, source={**thermals.source, "craft": {"kind": "airplane", "engine": True, "why": ""}})
    told, taken = (" ".join(x.text for x in d.first) for d in (soared, debriefed(powered)))
    assert "go around" not in told
    assert "go around" in taken
