"""Eights along a road: what the handbook says of them, seen where flown, and not in what resembles them."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from airwork.debrief import debrief
from airwork.debrief.debrief import recognize
from airwork.maneuvers.eights_along_road import _beside
from airwork.maneuvers.seeing.view_building import build_view
from airwork.standards import load_standard
from flightbuilder import Builder
from maneuvers.days import AIRPLANES, ideal

KIND = "eights_along_road"


def low(**how: float) -> Builder:
    """On the way at 1,000 ft above the field, in some wind, by an average pilot."""
    b = Builder(**{"wind_kt": 12.0, "wind_from_deg": 215.0, "skill": 0.6, "seed": 11, **how})
    b.takeoff()
    b.climb(1700.0)
    b.hold(30.0, kt=95.0)
    return b


def kinds(b: Builder, *, position: bool) -> list[str]:
    view = build_view(b.flight(gps_only=position, rate_hz=1.0 if position else 5.0))
    assert view is not None
    plain = {"takeoff", "climb", "straight_and_level", "descent"}
    return [e.kind for e in recognize(view) if e.kind not in plain]


@pytest.mark.parametrize("name", AIRPLANES)
def test_the_bank_changes_as_the_handbook_says_published(name: str) -> None:
    """FAA-H-8083-3C, ch. 7, figure 7-7, read on a public copy: two opposite adjacent 360° turns, the first to the
    downwind side; it begins with a medium bank, is steepest directly downwind and shallow directly upwind; the second
    begins medium too, is shallowest directly upwind and steepest directly downwind."""
    made, trace = ideal(KIND, name, "standard, 15 kt", {"direction": "right"})
    track, bank = np.unwrap(trace.columns["track_rad"]), np.degrees(trace.columns["bank_rad"])
    turned = np.degrees(track - track[0])
    halfway = int(np.argmax(turned))
    assert turned[halfway] == pytest.approx(360.0, abs=2.0)
    assert turned[-1] == pytest.approx(0.0, abs=2.0)

    def at(degrees: float, second: bool) -> float:
        part = slice(halfway, None) if second else slice(0, halfway + 1)
        order = np.argsort(turned[part])
        return float(abs(np.interp(degrees, turned[part][order], bank[part][order])))

    downwind, upwind = at(90.0, False), at(270.0, False)
    assert downwind > at(180.0, False) + 3.0 > upwind + 6.0
    assert downwind == pytest.approx(40.0, abs=2.0)
    assert at(270.0, True) == pytest.approx(upwind, abs=1.0)  # turning back left: first upwind, then downwind
    assert at(90.0, True) == pytest.approx(downwind, abs=1.0)
    assert made.targets["radius_m"] > 0.0


@pytest.mark.parametrize("position", [False, True], ids=["full", "position"])
@pytest.mark.parametrize("eights", [1, 2])
def test_pass_an_average_pilot_in_wind(eights: int, position: bool) -> None:
    b = low()
    b.eights_along_road(eights)
    assert kinds(b, position=position) == [KIND]


@pytest.mark.parametrize(("apart_m", "beside"), [(840.0, 1.0), (80.0, 0.0), (float("nan"), 0.6)])
def test_not_turns_around_a_point_each_way(apart_m: float, beside: float) -> None:
    """Two radii between the centers are side by side, one center is a point; neutral where the place is not known."""
    one = SimpleNamespace(radius_m=420.0, center_east_m=0.0, center_north_m=0.0)
    two = SimpleNamespace(radius_m=420.0, center_east_m=apart_m, center_north_m=0.0)
    assert _beside(one, two) == beside  # type: ignore[arg-type]


@pytest.mark.parametrize("position", [False, True], ids=["full", "position"])
def test_not_steep_turns_to_both_sides(position: bool) -> None:
    """Circles side by side too, but at a height nobody follows a road from."""
    b = Builder(altitude_ft=4500.0, speed_kt=105.0, wind_kt=12.0, skill=0.6, seed=11)
    b.level_ft = b.altitude_ft
    b.hold(60.0, kt=100.0)
    b.steep_turn()
    b.steep_turn(direction=-1.0)
    b.hold(60.0, kt=100.0)
    assert kinds(b, position=position) == ["steep_turn", "steep_turn"]


@pytest.mark.parametrize("position", [False, True], ids=["full", "position"])
def test_not_the_other_eights_and_half_circles(position: bool) -> None:
    b = low()
    b.eights_on_pylons()
    b.hold(70.0)
    b.s_turns()
    assert kinds(b, position=position) == ["eights_on_pylons", "s_turns"]


@pytest.mark.parametrize(("second_m", "said"), [(420.0, "held"), (700.0, "not held")])
def test_circles_of_different_size_are_said(second_m: float, said: str) -> None:
    """Equal circles are asked for without a number: the finding is airwork's own and says so."""
    b = low(skill=1.0)
    with b.mark(KIND):
        for sign, radius in ((1.0, 420.0), (-1.0, second_m)):
            b._circle(sign, radius, lambda turned: turned > 352.0)
            b.until(lambda: abs(b.bank) < 0.03, 0.0, most_s=8.0)
    b.hold(30.0)
    story = debrief(b.flight(rate_hz=5.0), standard=load_standard("private"))
    found = next(g for g in story.episodes if g.episode.kind == KIND)
    alike = next(f for f in found.grade.findings if f.name == "radius over the ground")
    assert (alike.verdict, alike.source) == (said, "airwork")
    assert {f.name for f in found.grade.findings} >= {"altitude", "airspeed", "height above ground"}
