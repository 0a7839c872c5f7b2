"""Reasons on final and in the flare: each where it is flown, none on a good approach.

What is good is [AFH] chapter 9's (a path of some 3°, the flare begun at 10 to 20 ft, stable by 300 ft); the limits are
airwork's own (common practice, no source).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading import runway_grade
from airwork.maneuvers.grading.causes import pattern
from airwork.maneuvers.grading.causes.speed import chasing_airspeed
from airwork.maneuvers.grading.runway_ends import RunwayEnd
from airwork.maneuvers.grading.runway_grade import approach_and_touchdown
from airwork.maneuvers.grading.runway_line import course_rad, rolled_rad
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.view import View
from airwork.output.debrief_words import numbers
from airwork.recording.flight import Column, Flight
from airwork.units import FPM_MPS, FT_M, KT_MPS
from approaches import FIELD_M, TOUCH, approach, desk, landing


def told(**how: object) -> dict[str, str]:
    """Reasons of a landing: name → text."""
    _, sheet = desk(approach(**how))  # type: ignore[arg-type]
    approach_and_touchdown(sheet, TOUCH)
    return {c.name: c.text for c in sheet.grade().causes}


def test_a_good_approach_has_no_reason() -> None:
    """3.5° and 120 fpm at the wheels."""
    assert told() == {}


@pytest.mark.parametrize(
    ("power", "asked", "blamed"),
    [("idle", False, False), ("late", False, True), (None, True, False), (None, False, True)],
    ids=["idled all the way", "idled on final", "asked for", "not known"],
)
def test_an_approach_without_power_is_as_steep_as_the_glide(power: str | None, asked: bool, blamed: bool) -> None:
    """1 in 9.4 is 6.1°, into 11 kt at 70 it is 7°: steep only beside a 3° path ([AFH] ch. 9, power-off approaches)."""
    idle_s = {"idle": 20.0, "late": 70.0, None: 0.0}[power]
    rpm = {} if power is None else {"rpm": lambda t: np.where(t < idle_s, 2300.0, 900.0)}
    evidence, _ = desk(approach(path_deg=7.5, **rpm))
    sheet = Sheet(landing(), replace(evidence, glide_asked=asked))
    approach_and_touchdown(sheet, TOUCH)
    assert ("approach high" in {c.name for c in sheet.grade().causes}) is blamed


@pytest.mark.parametrize(("path", "name"), [(8.0, "approach high"), (1.2, "approach low")])
def test_a_path_too_steep_or_too_flat_is_told(path: float, name: str) -> None:
    """8° is dived down, 1.2° is dragged in; each by its own name."""
    found = told(path_deg=path)
    assert set(found) & {"approach high", "approach low"} == {name}
    assert f"{path:.0f}°" in found[name]


@pytest.mark.parametrize("path", [2.2, 5.8])
def test_not_a_path_within_reason(path: float) -> None:
    """2.2 and 5.8° are flown every day."""
    assert not set(told(path_deg=path)) & {"approach high", "approach low"}


@pytest.mark.parametrize(("speeds", "verdict"), [((64.0, 62.0, 47.0), "not held"), ((64.0, 62.0, 60.0), "held"),
                                                 ((64.0, 82.0, 47.0), "held"), ((64.0, 47.0), "held"),
                                                 ((78.0, 65.0, 65.0), "held"),
                                                 ((63.0, 63.0, 55.0), "not held"),
                                                 ((65.0, 65.0, 78.0), "not held"),
                                                 ((76.0, 77.0, 65.0), "held")])  # fmt: skip
def test_a_final_unlike_the_pilots_own_others_is_held_to_those(
    monkeypatch: pytest.MonkeyPatch, speeds: tuple[float, ...], verdict: str
) -> None:
    """47 kt after 64 and 62: too slow, however steadily. Of two finals, or where the others differ, nobody knows.

    One bad approach of three condemns no good one (a stranger's flight: 65, 78 and 65 kt), nor do two fast ones the
    right one; slower than two ordinary ones (63 kt, 1.47 times the stall of 43) is as much a fault as faster.
    """
    monkeypatch.setattr(View, "clean_stall_mps", 43.0 * KT_MPS)  # approaches alone don't show it
    flights = [approach(kt=kt) for kt in speeds]
    n = len(flights[0])
    times = [f.time_s + 112.0 * k for k, f in enumerate(flights)]
    columns = {
        name: replace(column, values=np.concatenate([f.columns[name].values for f in flights]))
        for name, column in flights[0].columns.items()
    }
    touches = [TOUCH + 112.0 * k for k in range(len(speeds))]
    episodes = tuple(Episode("landing", t - 60.0, t + 15.0, 1.0, facts={"touch_s": t}) for t in touches)
    evidence, _ = desk(replace(flights[0], time_s=np.concatenate(times), columns=columns), episodes[-1])
    sheet = Sheet(episodes[-1], replace(evidence, episodes=episodes))
    approach_and_touchdown(sheet, touches[-1])
    assert n * len(speeds) == len(evidence.flight)
    assert sheet.finding("ias").verdict == verdict  # type: ignore[union-attr]


def test_a_hard_touch_is_a_late_flare_and_a_soft_one_is_not() -> None:
    """600 fpm to the wheels against 250; the number is said."""
    assert "600 fpm" in told(touch_fpm=600.0, flare_s=1.0)["flare late"]
    assert "flare late" not in told(touch_fpm=250.0)


@pytest.mark.parametrize(("warned_s", "name"), [(4.0, "stalled in"), (0.5, "flare late"), (0.0, "flare late")])
def test_a_stall_above_the_runway_is_no_late_flare(warned_s: float, name: str) -> None:
    """600 fpm at the wheels with the warning on for four seconds: too slow, and no drill of looking farther ahead.

    [AFH] ch. 9: a warning in the last half second is how a full-stall landing ends.
    """
    on = lambda t: (t > TOUCH - warned_s) & (t < TOUCH + 1.0)  # noqa: E731
    found = told(touch_fpm=600.0, flare_s=3.0, stall_warning=on)
    assert name in found
    assert len(set(found) & {"stalled in", "flare late"}) == 1
    assert "stalled in" not in told(stall_warning=on)


def test_a_balloon_is_told_with_its_height_and_is_not_a_hard_touch() -> None:
    """12 ft gained in the flare: begun too early."""
    found = told(balloon_ft=12.0, touch_fpm=60.0, flare_s=6.0)
    assert set(found) == {"flare early"}
    assert "balloon" in found["flare early"]


def hops(count: int, top_ft: float) -> dict[str, object]:
    """Parabolas of 3 s before the last contact; down to the first at 300 fpm."""
    up_mps = 4.0 * top_ft * FT_M / 3.0

    def height(t: np.ndarray) -> np.ndarray:
        since = t - (TOUCH - 3.0 * count)
        into = np.mod(since, 3.0)
        hop = np.where(t < TOUCH, up_mps * into * (1.0 - into / 3.0), 0.0)
        return FIELD_M + np.where(since < 0.0, -since * 300.0 * FPM_MPS, hop)

    def climb(t: np.ndarray) -> np.ndarray:
        since = t - (TOUCH - 3.0 * count)
        hop = np.where(t < TOUCH, up_mps * (1.0 - 2.0 * np.mod(since, 3.0) / 3.0), 0.0)
        return np.where(since < 0.0, -300.0 * FPM_MPS, hop)

    return {"altitude_m": height, "indicated_altitude_m": height, "vertical_speed_mps": climb}


@pytest.mark.parametrize(
    ("count", "top_ft", "due"), [(2, 8.0, True), (1, 14.0, True), (1, 6.0, False)], ids=["twice", "high", "low"]
)
def test_only_the_wheels_turn_sink_into_climb_at_once(count: int, top_ft: float, due: bool) -> None:
    """Lift goes with the square of the speed: at 1.2 times the stall 1.44 times the weight, 0.44 g more and no more.

    A low skip is settled, a severe bounce is gone around from ([AFH] ch. 9); the heights are airwork's own.
    """
    _, sheet = desk(approach(**hops(count, top_ft)))  # type: ignore[arg-type]
    approach_and_touchdown(sheet, TOUCH)
    found = {c.name: c for c in sheet.grade().causes}
    assert "flare early" not in found
    text = found["bounced"].text
    assert ("a go-around was due" in text) == found["bounced"].grave == due
    assert ("twice" if count == 2 else "once") in text
    assert abs(float(text.split(", ")[1].split(" ft")[0]) - top_ft) < 2.6


@pytest.mark.parametrize(("top_ft", "told_so"), [(16.0, True), (5.0, False)])
def test_a_high_hop_is_seen_in_rows_a_second_apart(top_ft: float, told_so: bool) -> None:
    """The wheels are found at the first touch; the vertical speed, half a second late, goes up and down again."""
    whole = approach(**hops(1, top_ft))  # type: ignore[arg-type]
    late = np.convolve(whole["vertical_speed_mps"], np.full(10, 0.1), mode="same")
    columns = {k: replace(c, values=c.values[::10]) for k, c in whole.columns.items()}
    columns["vertical_speed_mps"] = Column(late[::10], "measured")
    seen = replace(whole, time_s=whole.time_s[::10], columns=columns)
    _, sheet = desk(seen, landing(touch_s=TOUCH - 3.0))
    approach_and_touchdown(sheet, TOUCH - 3.0)
    assert ("bounced" in {c.name for c in sheet.grade().causes}) is told_so


@pytest.mark.parametrize(
    ("count", "least_ft", "told_so"), [(2, 0.0, True), (1, 0.0, False), (2, 7.0, False)],
    ids=["a porpoise", "one hop may be a balloon", "chased above the runway"],
)  # fmt: skip
def test_hops_from_the_runway_and_back_to_it_are_bounces_however_soft(
    count: int, least_ft: float, told_so: bool
) -> None:
    """9 ft up within 4 s and down to the wheels again, no kick in it: [AFH] ch. 9, porpoising, of two hops and more."""

    def height(t: np.ndarray) -> np.ndarray:
        since = t - (TOUCH - 4.0 * count)
        hop = 9.0 * FT_M * np.sin(np.pi * np.mod(since, 4.0) / 4.0) ** 2
        held = np.clip((TOUCH - t) / 2.0, 0.0, 1.0) * least_ft * FT_M
        down = np.where(since < -20.0, -20.0 - 2.0 * since, 0.05 * since**2)  # leveled off to nothing
        return FIELD_M + held + np.where(since < 0.0, down, np.where(t < TOUCH, hop, 0.0))

    def climb(t: np.ndarray) -> np.ndarray:
        return np.gradient(height(t), t)

    found = told(altitude_m=height, indicated_altitude_m=height, vertical_speed_mps=climb)
    assert ("bounced" in found) is told_so
    assert not told_so or "twice, 9 ft high: a go-around was due" in found["bounced"]


def test_an_altitude_that_wanders_as_it_rolls_out_bounces_nowhere() -> None:
    """3 ft up and down in 5 s, at 57 kt as at 15."""

    def height(t: np.ndarray) -> np.ndarray:
        down = np.maximum(TOUCH - 8.0 - t, 0.0) * 65.0 * KT_MPS * np.tan(np.radians(3.5))
        return FIELD_M + down + 3.0 * FT_M * np.sin(2.0 * np.pi * t / 5.0)

    def climb(t: np.ndarray) -> np.ndarray:
        return np.gradient(height(t), t)

    assert "bounced" not in told(altitude_m=height, indicated_altitude_m=height, vertical_speed_mps=climb)


@pytest.mark.parametrize(("gained_ft", "due"), [(14.0, False), (30.0, True)])
def test_after_a_high_balloon_a_go_around_was_due(gained_ft: float, due: bool) -> None:
    """[AFH] ch. 9, ballooning: a slight one is landed from, an excessive one is a go-around."""

    def height(t: np.ndarray) -> np.ndarray:
        down = np.maximum(TOUCH - 12.0 - t, 0.0) * 65.0 * KT_MPS * np.tan(np.radians(3.5))
        bump = np.sin(np.pi * np.clip((t - TOUCH + 11.0) / 10.0, 0.0, 1.0)) ** 2
        return down + np.clip((TOUCH - t) / 12.0, 0.0, 1.0) * 2.0 + gained_ft * FT_M * bump

    above_sea = lambda t: FIELD_M + height(t)  # noqa: E731
    climbs = lambda t: np.gradient(height(t), t)  # noqa: E731
    found = told(altitude_m=above_sea, indicated_altitude_m=above_sea, agl_m=height, vertical_speed_mps=climbs)
    assert ("a go-around was due" in found["flare early"]) == due


def test_no_balloon_where_the_vertical_speed_never_rose() -> None:
    """Seven feet of an altimeter's noise in the flare, the recorded vertical speed down all the way."""
    flat = {"vertical_speed_mps": lambda t: np.where(t < TOUCH, -0.6, 0.0)}
    assert "flare early" in told(balloon_ft=8.0, touch_fpm=60.0, flare_s=6.0)
    assert "flare early" not in told(balloon_ft=8.0, touch_fpm=60.0, flare_s=6.0, **flat)


def test_a_long_float_is_told() -> None:
    """14 s at 30 fpm below 12 ft."""
    assert "floated" in told(touch_fpm=30.0, flare_s=14.0)["floated"]
    assert "floated" not in told(touch_fpm=60.0, flare_s=6.0)


def from_the_left(beyond_m: float):  # type: ignore[no-untyped-def]
    """Across from the left on base, through the center line by so much, back to it."""

    def right(t: np.ndarray) -> np.ndarray:
        return np.interp(t, [0.0, 20.0, 45.0, 60.0, 75.0], [-800.0, -800.0, beyond_m, beyond_m, 0.0])

    return right


@pytest.mark.parametrize(("beyond", "sign", "seen"), [(120.0, -1, True), (20.0, -1, False), (120.0, 1, False)])
def test_a_final_overshot_is_the_pattern_sides(beyond: float, sign: int, seen: bool) -> None:
    """394 ft through the line from a left-hand pattern; 66 ft is none; from the other side it is no overshooting."""
    episode = Episode("traffic_pattern", 0.0, 80.0, 1.0, facts={"lowest_s": TOUCH, "sign": sign})
    _, sheet = desk(approach(right_m=from_the_left(beyond)), episode)
    found = pattern.overshot(sheet, TOUCH, sign)
    assert (found is not None) == seen
    if found is not None:
        assert "some 400 ft" in found.text
        assert found.root == "wind"


@pytest.mark.parametrize(("every", "seldom"), [(10, False), (40, True)])
def test_an_overshoot_in_coarse_fixes_says_what_they_hide(every: int, seldom: bool) -> None:
    """The bank of a turn back within seconds shows in a fix each second, in one each four it doesn't."""
    whole = approach(right_m=from_the_left(120.0))
    columns = {k: replace(c, values=c.values[::every]) for k, c in whole.columns.items()}
    flight = replace(whole, time_s=whole.time_s[::every], columns=columns)
    episode = Episode("traffic_pattern", 0.0, 80.0, 1.0, facts={"lowest_s": TOUCH, "sign": -1})
    found = pattern.overshot(desk(flight, episode)[1], TOUCH, -1)
    assert found is not None
    assert ("fixes 4 s apart don't show" in found.text) is seldom


def test_a_final_overshot_long_before_the_touch_is_one_too() -> None:
    """A base flown far out: through the line 80 s before the wheels; a straight-in approach beside it is none."""
    episode = Episode("traffic_pattern", 0.0, 80.0, 1.0, facts={"lowest_s": TOUCH, "sign": -1})
    early = lambda t: np.interp(t, [0.0, 10.0, 20.0, 30.0], [-800.0, 120.0, 120.0, 0.0])  # noqa: E731
    found = pattern.overshot(desk(approach(right_m=early), episode)[1], TOUCH, -1)
    assert found is not None
    assert "some 400 ft" in found.text
    beside = lambda t: np.interp(t, [0.0, 40.0], [60.0, 0.0])  # noqa: E731
    assert pattern.overshot(desk(approach(right_m=beside), episode)[1], TOUCH, -1) is None


def downwind(
    out_m: float, *, drift_deg: float = 0.0, nose_deg: object = None, then_deg: float = 90.0, turns_deg: float = 0.0
) -> Flight:
    """From 2 to 50 s along a runway landed on toward the north, south at 65 kt and so far to its left; then base.

    drift_deg : the leg's way, right of south; nose_deg : of the time [s]; then_deg : the track after it; turns_deg : so
    far round it is turned on the leg, to the left, south in its middle.
    """
    along = 65.0 * KT_MPS
    leg = lambda t: (t > 2.0) & (t < 50.0)  # noqa: E731
    right = lambda t: -out_m - np.tan(np.radians(drift_deg)) * along * np.clip(t - 2.0, 0.0, 48.0)  # noqa: E731
    whole = approach(
        right_m=lambda t: np.where(t < 55.0, right(t), 0.0),
        heading_deg=lambda t: np.where(leg(t), 180.0 if nose_deg is None else nose_deg(t), 0.0),  # type: ignore[operator]
        track_deg=lambda t: np.select(
            [leg(t), t < 55.0, t < 60.0], [180.0 + drift_deg + turns_deg * (26.0 - t) / 48.0, 100.0, then_deg], 0.0
        ),
    )
    t, at = whole.time_s, whole["north_m"][whole.index_at(TOUCH)]
    north = np.where(t < 55.0, at + np.where(leg(t), 1500.0 - along * t, 0.0), whole["north_m"])
    return whole.with_columns({"north_m": Column(north, "measured")})


@pytest.mark.parametrize(
    ("drift_deg", "crab_deg", "comes_deg", "told"),
    [(12.0, 0.0, 0.0, True), (12.0, -12.0, 0.0, False), (4.0, 0.0, 0.0, False), (12.0, 0.0, 24.0, False)],
    ids=["carried off", "flown off", "held", "coming round to it"],
)  # fmt: skip
def test_a_downwind_leg_carried_off_by_the_wind(
    drift_deg: float, crab_deg: float, comes_deg: float, told: bool
) -> None:
    """[AFH] ch. 8: flown parallel to the runway. A nose turned off it is another leg, one that goes from 24° one side
    to 24° the other is being brought round to it; 4° is what an eye holds."""
    nose = lambda t: 180.0 + crab_deg + comes_deg * (1.0 - (t - 2.0) / 24.0)  # noqa: E731
    flight = downwind(1200.0, drift_deg=drift_deg, nose_deg=nose)
    found = pattern.drifted_downwind(desk(flight)[1], TOUCH, 2.0, 50.0)
    assert (found is not None) is told
    if found is not None:
        assert found.text.startswith("The downwind leg ran 12° off the runway's line and ended")
        assert "farther out" in found.text


def test_a_swing_at_the_touch_turns_no_runway() -> None:
    """Touching with 4° of drift, rolling straight: the roll of 300 m is the runway's line, not the moment's track.

    A roll beside it, on another runway, is no part of it.
    """
    swing = lambda t: 4.0 * np.exp(-np.abs(t - TOUCH) / 2.0)  # noqa: E731
    evidence, _ = desk(approach(track_deg=swing))
    assert rolled_rad(evidence, TOUCH) == pytest.approx(np.radians(1.6), abs=np.radians(1.0))
    assert course_rad(evidence, TOUCH) == pytest.approx(0.0, abs=1e-6)
    slanted = lambda t: np.maximum(t - TOUCH, 0.0) * 0.2  # noqa: E731
    told = course_rad(desk(approach(track_deg=swing, right_m=slanted))[0], TOUCH)
    assert np.degrees(told) == pytest.approx(0.5, abs=0.2)  # 4.4 m to the right in some 400 m
    before = lambda t: (t > 50.0) & (t < 70.0)  # noqa: E731
    beside = lambda t: np.where(before(t), 300.0 + 4.0 * t, 0.0)  # noqa: E731
    rolled = lambda t: before(t) | (t > TOUCH)  # noqa: E731
    assert course_rad(desk(approach(right_m=beside, on_ground=rolled))[0], TOUCH) == pytest.approx(0.0, abs=1e-6)
    never = lambda t: np.zeros(t.size)  # noqa: E731
    assert course_rad(desk(approach(track_deg=swing, on_ground=never))[0], TOUCH) == rolled_rad(evidence, TOUCH)


@pytest.mark.parametrize("beside_m", [0.0, 8.0, -8.0])
def test_a_roll_beside_another_turns_no_runway(beside_m: float) -> None:
    """Two rolls north, the earlier one 8 m to the side: the runway runs north, whatever line joins the two."""
    before = lambda t: t < 12.0  # noqa: E731
    flight = approach(right_m=lambda t: np.where(before(t), beside_m, 0.0), on_ground=lambda t: before(t) | (t > TOUCH))
    north = flight["north_m"] - flight["north_m"][flight.index_at(TOUCH)]
    moved = flight.with_columns({"north_m": Column(np.where(before(flight.time_s), north + 2000.0, north), "measured")})
    assert course_rad(desk(moved)[0], TOUCH) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("bank", "at_s", "seen"), [(40.0, 62.0, True), (28.0, 62.0, False), (40.0, 5.0, False)])
def test_a_steep_bank_low_in_the_pattern(bank: float, at_s: float, seen: bool) -> None:
    """40° at some 190 ft is told with its height; 28° is not, nor 40° above 800 ft."""
    episode = Episode("traffic_pattern", 0.0, 85.0, 1.0, facts={"lowest_s": TOUCH, "sign": -1})
    pulse = lambda t: bank * np.exp(-(((t - at_s) / 3.0) ** 4))  # noqa: E731
    evidence, sheet = desk(approach(path_deg=6.0, bank_deg=pulse), episode)
    found = pattern.steep_near_the_ground(sheet, TOUCH)
    assert (found is not None) == seen
    if found is not None:
        height = float(evidence.agl_m[evidence.flight.index_at(found.start_s)]) / 0.3048
        assert f"{bank:.0f}° of bank" in found.text
        assert abs(float(found.text.split("bank ")[1].split(" ft")[0]) - height) < 60.0
        assert found.root == "decision"


@pytest.mark.parametrize(
    ("out_nm", "way", "told"),
    [(0.8, {}, False), (1.2, {}, False), (1.9, {}, True), (1.9, {"drift_deg": 45.0}, False),
     (1.9, {"then_deg": 170.0}, False), (1.9, {"turns_deg": 120.0}, False)],
    ids=["as usual", "wide", "too wide", "slanting in", "the way home, turned away again", "turned through"],
)  # fmt: skip
def test_a_downwind_leg_beyond_the_glide_is_told(out_nm: float, way: dict[str, float], told: bool) -> None:
    """Half a mile to a mile ([AFH] ch. 8); from 1,000 ft a glide of 1 in 9 goes 9,000 ft, 1.5 NM, in no wind. A leg is
    flown beside the runway, and base follows it ([AFH] ch. 8)."""
    episode = Episode("traffic_pattern", 0.0, 85.0, 1.0, facts={"lowest_s": TOUCH, "sign": -1})
    flight = downwind(out_nm * 1852.0, **way)
    found = pattern.wide_downwind(desk(flight, episode)[1], TOUCH, 5.0, 49.0)
    assert (found is not None) == told
    if found is not None:
        assert "1.9 NM out" in found.text


def test_turned_back_steeply_to_the_line_the_lower_the_worse() -> None:
    """The stall speed goes with 1/√cos φ whatever the height; what is left to recover in does not (the weight is
    airwork's own). The line gone through before it is named with it."""
    episode = Episode("traffic_pattern", 0.0, 85.0, 1.0, facts={"lowest_s": TOUCH, "sign": -1})

    def found(at_s: float, beyond_m: float):  # type: ignore[no-untyped-def]
        pulse = lambda t: 44.0 * np.exp(-(((t - at_s) / 3.0) ** 4))  # noqa: E731
        _, sheet = desk(approach(path_deg=6.0, bank_deg=pulse, right_m=from_the_left(beyond_m)), episode)
        return pattern.steep_near_the_ground(sheet, TOUCH, pattern.overshot(sheet, TOUCH, -1))

    low, high = found(62.0, 120.0), found(28.0, 0.0)
    assert low.weight > 1.5 * high.weight
    assert "turning back to the center line" in low.text
    assert "turning back" not in high.text


def test_sink_at_the_wheels_is_the_largest_held_not_the_mean() -> None:
    """Half of the last two seconds at 500 fpm is 500, not 250."""
    late = lambda t: np.where((t > TOUCH - 1.0) & (t < TOUCH), -500.0 * FPM_MPS, 0.0)  # noqa: E731
    _, sheet = desk(approach(vertical_speed_mps=late))
    approach_and_touchdown(sheet, TOUCH)
    assert sheet.grade().measured["touchdown_sink_fpm"] == pytest.approx(500.0, abs=60.0)


@pytest.mark.parametrize("late_s", [0.0, 1.0, 2.0])
def test_sink_at_the_wheels_is_felt_before_they_are_found_on_the_ground(late_s: float) -> None:
    """700 fpm until the wheels meet the runway, which the recording shows a second or two later; rolling sinks not."""
    hard = lambda t: np.where(t < TOUCH - late_s, -700.0 * FPM_MPS, 15.0 * FPM_MPS)  # noqa: E731
    _, sheet = desk(approach(vertical_speed_mps=hard))
    approach_and_touchdown(sheet, TOUCH)
    assert sheet.grade().measured["touchdown_sink_fpm"] == pytest.approx(700.0, abs=30.0)


def test_a_sample_of_noise_while_rolling_hides_no_hard_touch() -> None:
    """560 fpm to the runway 0.7 s before it is found, and one reading of 32 fpm after: the wheels felt 560."""

    def rate(t: np.ndarray) -> np.ndarray:
        sink = np.where(t < TOUCH - 0.7, -560.0 * FPM_MPS, 0.0)
        sink[np.abs(t - (TOUCH - 0.3)).argmin()] = -32.0 * FPM_MPS
        return sink

    _, sheet = desk(approach(vertical_speed_mps=rate))
    approach_and_touchdown(sheet, TOUCH)
    assert sheet.grade().measured["touchdown_sink_fpm"] == pytest.approx(560.0, abs=30.0)


def test_heights_alone_show_no_sink_at_the_wheels() -> None:
    """600 fpm to the wheels without a recorded vertical speed: no number, and no late flare made of it."""
    flight = approach(touch_fpm=600.0, flare_s=1.0)
    rate = replace(flight.columns["vertical_speed_mps"], known="derived")
    _, sheet = desk(flight.with_columns({"vertical_speed_mps": rate}))
    approach_and_touchdown(sheet, TOUCH)
    assert "touchdown_sink_fpm" not in sheet.grade().measured
    assert "flare late" not in {c.name for c in sheet.grade().causes}


@pytest.mark.parametrize(
    ("swing_kt", "waves", "by_power", "told"),
    [(10.0, 1.5, True, True), (10.0, 1.5, False, False), (2.0, 1.5, True, False), (10.0, 0.5, True, False)],
    ids=["chased", "no hand in it", "small", "slowed once"],
)
def test_a_final_on_which_the_throttle_went_after_the_speed_is_chased(
    swing_kt: float, waves: float, by_power: bool, told: bool
) -> None:
    """20 kt down, up and down again from the gate on, the power with its gain ([AFH] ch. 9: one stabilized speed)."""
    period = 30.0 / waves
    phase = lambda t: 2.0 * np.pi * np.clip(t - 50.0, 0.0, 30.0) / period  # noqa: E731
    wave = lambda t: (65.0 + swing_kt * np.cos(phase(t))) * KT_MPS  # noqa: E731
    evidence, _ = desk(approach(ias_mps=wave, cas_mps=wave))
    gain = -np.sin(phase(evidence.view.time_s)) if by_power else np.zeros(evidence.view.n)
    sheet = Sheet(evidence.episodes[0], replace(evidence, view=replace(evidence.view, power=0.4 + 0.3 * gain)))
    found = chasing_airspeed(sheet, 50.0, 80.0, final=True)
    assert (found is not None) is told
    assert found is None or "throttle went after it" in found.text
    assert chasing_airspeed(sheet, 50.0, 80.0) is None  # one wave is no chase where there is room for more


def test_fast_at_the_gate_and_slowing_all_the_way_is_told_and_a_steady_speed_is_not() -> None:
    """83 kt at the gate for 65, slowing to 65 at the flare; 65 throughout."""
    slowing = lambda t: np.interp(t, [40.0, 86.0, 90.0, 110.0], [83.0, 65.0, 60.0, 0.0]) * KT_MPS  # noqa: E731
    targets = {"landing": {"ias_mps": 65.0 * KT_MPS}}
    for columns, seen in (({"ias_mps": slowing}, True), ({}, False)):
        _, sheet = desk(approach(**columns), targets=targets)  # type: ignore[arg-type]
        approach_and_touchdown(sheet, TOUCH)
        assert ("too fast" in {c.name for c in sheet.grade().causes}) == seen


def test_level_flight_to_the_ground_is_no_approach_dragged_in() -> None:
    """0.2° down a lake's shore (a track that never flew an approach) has no path to judge."""
    assert "approach low" not in told(path_deg=0.2)
    assert "approach low" in told(path_deg=1.2)


@pytest.mark.parametrize(("track", "number"), [(245.0, 24.0), (2.0, 36.0), (356.0, 36.0), (92.0, 9.0)])
def test_the_runway_is_numbered_by_the_magnetic_direction_of_the_roll(monkeypatch, track: float, number: float) -> None:
    """The magnetic azimuth to the nearest ten degrees, north is 36 (FAA AIM 2-3-3 [M]); 15° east off it."""
    place = {"latitude_rad": lambda t: 0.8 + 0.0 * t, "longitude_rad": lambda t: -2.1 + 0.0 * t}
    turned = {245.0: 23.0, 2.0: 35.0, 356.0: 34.0, 92.0: 8.0}[track]
    for east_deg, shown in ((0.0, number), (15.0, turned)):
        monkeypatch.setattr(runway_grade, "variation_about_rad", lambda *_, e=east_deg: np.radians(e))
        _, sheet = desk(approach(track_deg=lambda t: track + 0.0 * t, **place))
        approach_and_touchdown(sheet, TOUCH)
        assert sheet.grade().measured["runway"] == shown
    assert "runway" not in desk(approach())[1].grade().measured


@pytest.mark.parametrize(
    ("known_by", "within_kt"),
    [(("on_ground",), 0.0), (("pitch_rad",), 2.0), (("ias_mps",), 6.0), ((), 10.0)],
)
def test_a_touch_says_how_far_off_it_may_be(known_by: tuple[str, ...], within_kt: float) -> None:
    """At 1 m/s² the moment's 1, 3 and 5 s are 2, 6 and 10 kt; the place goes on at 65 kt, beside the ends' 15 m."""
    flight = approach(latitude_rad=lambda t: np.full(t.size, 0.8), longitude_rad=lambda t: np.full(t.size, 0.1))
    tells = {"on_ground", "pitch_rad", "ias_mps", "cas_mps"} - set(known_by)
    columns = {k: replace(c, known="derived") if k in tells else c for k, c in flight.columns.items()}
    there = RunwayEnd("XX", "36", 0.8 - 200.0 / 6_371_000.0, 0.1, 0.0, 900.0, 23.0)
    _, sheet = desk(replace(flight, columns=columns), runways=(there,))
    approach_and_touchdown(sheet, TOUCH)
    measured = sheet.grade().measured
    assert measured.get("touchdown_groundspeed_within_kt", 0.0) == pytest.approx(within_kt, abs=0.5)
    gone_m = 65.0 * KT_MPS * within_kt * KT_MPS
    assert measured["touchdown_beyond_threshold_within_ft"] == pytest.approx((15.0 + gone_m) / FT_M, abs=30.0)
    texts = {name: text for name, text, _ in numbers(measured, "kt")}
    assert texts["touched beyond the threshold"].startswith("656 ft ±")
    assert not any("within" in name for name in texts)


@pytest.mark.parametrize(
    ("seconds", "flared_kt", "touched_kt", "expected"),
    [(13.0, 60.0, 45.0, False), (13.0, 60.0, 55.0, True), (18.0, 75.0, 60.0, True)],
)
def test_held_off_to_the_stall_is_no_float(
    seconds: float, flared_kt: float, touched_kt: float, expected: bool
) -> None:  # fmt: skip
    """13 s from 12 ft at 60 kt to the wheels at 45: what slowing takes ([AFH] ch. 9: held off as long as it flies)."""
    slows = lambda t: KT_MPS * np.interp(t, [TOUCH - seconds, TOUCH, TOUCH + 20.0], [flared_kt, touched_kt, 0.0])  # noqa: E731
    found = told(flare_s=seconds, touch_fpm=30.0, kt=60.0, ias_mps=slows, cas_mps=slows)
    assert ("floated" in found) == expected


@pytest.mark.parametrize(("measured", "told"), [("pitch_rad", True), ("", False)])
def test_a_float_is_told_beyond_what_the_moment_may_be_off(measured: str, told: bool) -> None:
    """Twelve seconds at 100 fpm below 12 ft; where positions alone tell the wheels, five of them may be the roll."""
    flight = approach(flare_s=12.0, touch_fpm=40.0)
    tells = {"on_ground", "pitch_rad", "ias_mps", "cas_mps"} - {measured}
    columns = {k: replace(c, known="derived") if k in tells else c for k, c in flight.columns.items()}
    _, sheet = desk(replace(flight, columns=columns))
    approach_and_touchdown(sheet, TOUCH)
    assert any(c.name == "floated" for c in sheet.grade().causes) == told
