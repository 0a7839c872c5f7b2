"""Grades in the pattern: the height abeam and before, the descent into the approach, the final."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from airwork.debrief import debrief
from airwork.maneuvers.grading import pattern_grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.pattern_grade import _until_the_descent
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Column, Flight, GroundContact
from airwork.units import FPM_MPS, FT_M
from flightbuilder import Builder
from maneuvers.graded_flights import PRIVATE, graded, high, verdict


class EasedDown(Builder):
    """Begins the approach gently, still on the downwind leg."""

    def _base_and_final(self, pattern: float) -> None:
        self.until(lambda: self.alt_ft < pattern - 140.0, 0.0, -1.3, 80.0)
        super()._base_and_final(pattern)


class JoinedLate(Builder):
    """Past the touchdown on a short downwind leg, and down at once."""

    def hold(self, seconds: float, **how: float) -> None:
        super().hold(3.0 if seconds == 45.0 else seconds, **how)


@pytest.mark.parametrize(
    ("make", "sunk_ft", "said"),
    [(EasedDown, 0.0, "held"), (JoinedLate, 0.0, "held"), (Builder, 160.0, "not held")],
)
def test_the_descent_into_the_approach_is_no_altitude_lost(make: type[Builder], sunk_ft: float, said: str) -> None:
    """Leaving pattern altitude for good at the end of the downwind leg is the approach; sinking in between is not."""
    b = make(speed_kt=0.0)
    b.takeoff()
    b.closed_circuit()
    if sunk_ft:
        b.hold(30.0, ft=b.field_ft + 1000.0)
        b.hold(40.0, ft=b.field_ft + 1000.0 - sunk_ft)
    b.pattern_to()
    found = graded(b, "traffic_pattern")
    assert next(f.verdict for f in found.grade.findings if "altitude" in f.name) == said


@pytest.mark.parametrize(
    ("heights_ft", "said"),
    [((1000.0, 760.0), ["held", "not held"]), ((760.0, 760.0), ["held", "held"]), ((1000.0, 960.0), ["held", "held"])],
    ids=["one too low", "both alike", "within the tolerance"],
)
def test_a_downwind_unlike_the_pilots_other_at_the_usual_height(heights_ft: tuple[float, ...], said: list[str]) -> None:
    """1,000 ft above the field is usual ([AFH] ch. 8), ±100 ft the standard's (FAA-S-ACS-6C, III.B). A field may have
    another, and then every circuit is flown at it: nobody knows from one height, two unlike ones show it."""
    b = Builder(speed_kt=0.0)
    b.takeoff()
    for k, height in enumerate(heights_ft):
        b.closed_circuit()
        b.hold(40.0, ft=b.field_ft + height)
        usual, b.field_ft = b.field_ft, b.field_ft + height - 1000.0
        b.hold(45.0, ft=b.field_ft + 1000.0, kt=85.0)
        b._base_and_final(b.field_ft + 1000.0)
        b.field_ft = usual
        b.until(lambda: b.alt_ft < b.field_ft + 20.0, 0.0, -2.6, 62.0)
        b.until(lambda: b.alt_ft < b.field_ft + 1.5, 0.0, -0.7, 50.0)
        last = k == len(heights_ft) - 1
        b.contacts.append(GroundContact("landing" if last else "touch_and_go", b.t))
        b.ground = True
        b.hold_on_ground(6.0, 45.0)
        if not last:
            b.until(lambda: b.ias_kt > 54.0, 0.0, 0.0, 80.0, accel=1.8)
            b.ground, b.flap = False, 0.0
            b.until(lambda: b.alt_ft > b.field_ft + 300.0, 0.0, 3.6, 75.0)
    b.until(lambda: b.ias_kt < 4.0, 0.0, 0.0, 0.0, accel=1.8)
    b.hold_on_ground(15.0)
    patterns = [g for g in debrief(b.flight(), standard=PRIVATE).episodes if g.episode.kind == "traffic_pattern"]
    assert [next(f.verdict for f in g.grade.findings if "altitude" in f.name) for g in patterns] == said


@pytest.mark.parametrize(("fpm", "verdict"), [(-300.0, "held"), (0.0, "held")])
def test_a_leg_joined_abeam_is_held_to_the_height_it_was_joined_at(
    fpm: float, verdict: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Power back at once and 300 ft/min down all along the leg is the approach ([AFH] ch. 8), no height let slip."""
    b = Builder(speed_kt=0.0)
    b.takeoff()
    b.closed_circuit()
    b.pattern_to()
    flight = b.flight()
    e = next(g.episode for g in debrief(flight, standard=PRIVATE).episodes if g.episode.kind == "traffic_pattern")
    start, end = e.facts["downwind_start_s"], e.facts["downwind_end_s"]
    t = flight.time_s
    down = np.clip(t - start - 3.0, 0.0, end - start) * fpm * FPM_MPS
    high = {k: Column(flight[k] + down, "measured") for k in ("altitude_m", "indicated_altitude_m")}
    high["rpm"] = Column(np.where((t > start + 1.0) & (t < end + 60.0), 1750.0, 2300.0), "measured")
    changed = flight.with_columns(high)
    view = build_view(changed)
    assert view is not None
    monkeypatch.setattr(pattern_grade, "_until_abeam", lambda *_: (start, end, True))
    high_area_m = b.field_ft * FT_M + 200.0  # a practice area's ground is not the field's
    grade = pattern_grade.grade_pattern(e, Evidence(changed, view, PRIVATE, episodes=(e,), ground_m=high_area_m))
    found = next(f for f in grade.findings if "altitude" in f.name)
    assert found.verdict == verdict
    assert "some 1,000 ft above the field" in found.why or fpm


def _leg(t, feet, shares, flap_deg) -> SimpleNamespace:  # type: ignore[no-untyped-def]
    """What the end of a downwind leg is told by, drawn."""
    flight = Flight(0.0, t, {"flap_deg": Column(flap_deg, "measured")})
    return SimpleNamespace(
        flight=flight, altitude_m=feet * FT_M, climb_mps=np.gradient(feet * FT_M, t), step_s=0.25, some_power=shares,
        flaps=flight.get("flap_deg"), median=lambda series, a, b: float(np.median(series[flight.span(a, b)])),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("power", "flap", "past_abeam", "until_s"),
    [(0.29, 10.0, True, 24.0), (0.29, 0.0, True, 24.0), (0.45, 10.0, True, 24.0), (0.45, 0.0, True, 45.0),
     (0.29, 10.0, False, 30.0)],
    ids=["power and flap", "power back", "first flap", "nothing changed", "long before abeam"],
)  # fmt: skip
def test_the_descent_from_abeam_begins_with_the_power_or_the_flap(
    power: float, flap: float, past_abeam: bool, until_s: float
) -> None:
    """Joined from a descent with little power, level for seconds, then the approach begun with power left on ([AFH]
    ch. 8): judged until 50 ft are gone. With nothing changed, or in the leg's middle, it is a sag and judged on."""
    t = np.arange(0.0, 45.25, 0.25)
    feet = np.interp(t, [0.0, 12.0, 17.0, 45.0], [1050.0, 1005.0, 1000.0, 810.0])
    shares = np.interp(t, [0.0, 10.0, 16.0, 18.0], [0.15, 0.45, 0.45, power])
    evidence = _leg(t, feet, shares, np.where(t < 18.0, 0.0, flap))
    end = _until_the_descent(evidence, (0.0, 45.0), 1000.0 * FT_M, past_abeam=past_abeam)[1]  # type: ignore[arg-type]
    assert end == pytest.approx(until_s, abs=1.0)


@pytest.mark.parametrize(("flap", "until_s"), [(10.0, 40.0 - 40.0 / 3.0), (0.0, 40.0)])
def test_slowing_with_the_flap_holds_the_height_for_a_while(flap: float, until_s: float) -> None:
    """A leg of 40 s joined near the touchdown: power and flap after 10 s, 50 ft gone 15 s later: it slows first."""
    t = np.arange(0.0, 40.25, 0.25)
    feet = np.interp(t, [0.0, 12.0, 25.0, 40.0], [1000.0, 1000.0, 948.0, 850.0])
    shares = np.interp(t, [0.0, 6.0, 10.0], [0.5, 0.5, 0.3] if flap else [0.3, 0.3, 0.3])
    evidence = _leg(t, feet, shares, np.where(t < 11.0, 0.0, flap))
    end = _until_the_descent(evidence, (0.0, 40.0), 1000.0 * FT_M, past_abeam=False)[1]  # type: ignore[arg-type]
    assert end == pytest.approx(until_s, abs=0.5)


@pytest.mark.parametrize(("rpm", "said"), [(750.0, "held"), (2300.0, "not held")], ids=["idle", "powered"])
def test_a_glide_from_abeam_is_no_altitude_let_slip(rpm: float, said: str) -> None:
    """Throttle closed abeam and not touched again is a power-off 180 (FAA-S-ACS-7B, IV.M: from abeam to the touchdown
    without power): the height it costs is the point. The same height lost with the power on is let slip."""
    b = Builder(speed_kt=0.0)
    b.takeoff()
    b.closed_circuit()
    b.hold(30.0, ft=b.field_ft + 1000.0)
    closed = b.t
    b.until(lambda: b.alt_ft < b.field_ft + 830.0, 0.0, -2.9, 70.0)
    sunk = b.alt_ft
    b.hold(20.0, ft=sunk)
    b.pattern_to()
    flight = b.flight()
    without = {k: c for k, c in flight.columns.items() if k != "power_ratio"}
    engine = np.where(flight.time_s < closed, 2300.0, rpm)
    flight = replace(flight, columns={**without, "rpm": Column(engine, "measured")})
    found = next(g for g in debrief(flight, standard=PRIVATE).episodes if g.episode.kind == "traffic_pattern")
    altitude = next(f for f in found.grade.findings if "altitude" in f.name)
    assert altitude.verdict == said
    assert ("throttle was closed" in altitude.why) == (rpm < 1000.0)
    assert any(c.name == "nose low" for c in found.grade.causes) == (said == "not held")


@pytest.mark.parametrize(("before_s", "after_s"), [(150.0, 0.5), (118.0, -4.0), (60.0, 3.0), (30.0, -1.0)])
def test_a_final_approach_without_samples_is_no_fault(before_s: float, after_s: float) -> None:
    """The recorder was dead on final: the landing is judged by what there is, and what there isn't is no number."""
    b = Builder(speed_kt=0.0)
    b.takeoff()
    b.closed_circuit()
    b.pattern_to()
    whole = b.flight()
    touch = next(c.time_s for c in whole.contacts if c.kind == "landing")
    gone = (whole.time_s > touch - before_s) & (whole.time_s < touch + after_s)
    columns = {n: replace(c, values=c.values[~gone]) for n, c in whole.columns.items()}
    cut = replace(whole, time_s=whole.time_s[~gone], columns=columns)
    for found in debrief(cut, standard=PRIVATE).episodes:
        assert all(np.isfinite(v) for v in found.grade.measured.values() if isinstance(v, float))


@pytest.mark.parametrize(("held", "said"), [(True, "can't be judged"), (False, "not held")])
def test_a_descent_slowed_for_the_pattern_is_held_to_neither_speed(held: bool, said: str) -> None:
    """100 kt, then with less power 80 kt for half a minute before the level-off; let go and got back it is not held."""
    b = high()
    b.until(lambda: b.alt_ft < 3700.0, 0.0, -2.6, 100.0)
    b.until(lambda: b.alt_ft < (3150.0 if held else 3550.0), 0.0, -2.6, 80.0)
    b.until(lambda: b.alt_ft < 3150.0, 0.0, -2.6, 80.0 if held else 100.0)
    b.level_ft = 3100.0
    b.hold(30.0, kt=b.ias_kt)
    assert verdict(graded(b, "descent"), "airspeed") == said


@pytest.mark.parametrize(("touches", "said"), [(True, "held"), (False, "not held")])
def test_a_descent_all_the_way_in_is_held_to_the_speed_before_it_slows(touches: bool, said: str) -> None:
    """100 kt for a minute, then slower and slower to 65 on final: to approach, common practice (no source)."""
    b = high()
    b.until(lambda: b.alt_ft < 3400.0, 0.0, -2.6, 100.0)
    for kt, down_to_ft in ((90.0, 3150.0), (80.0, 2900.0), (72.0, 2600.0), (65.0, 2300.0)):
        b.until(lambda ft=down_to_ft: b.alt_ft < ft, 0.0, -2.6, kt)  # type: ignore[misc]
    end_s = b.t
    b.hold(30.0, kt=65.0)

    def arrived(flight: Flight) -> Flight:
        return replace(flight, contacts=(GroundContact("landing", end_s + 30.0),)) if touches else flight

    assert verdict(graded(b, "descent", change=arrived), "airspeed") == said
