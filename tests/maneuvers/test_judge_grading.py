"""Deviations held against limits: consistent exceedance and prompt correction, as the standards are applied.

Source: FAA-S-ACS-6C (Nov 2023) appendix 1 "Unsatisfactory Performance" [V], appendix 2/3 notes on slow flight and
stalls [V]; rows Q1 to Q13 of the worked examples. Seconds and fractions are airwork's own thresholds [P].
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from airwork.maneuvers.episode import Finding
from airwork.maneuvers.grading.judge import at_once, over_time
from airwork.standards import Criterion, load_standard
from airwork.units import from_unit

PRIVATE, COMMERCIAL = load_standard("private"), load_standard("commercial")
JUDGING = PRIVATE.judging
TIME = np.arange(0.0, 60.0, 0.1)


def criterion(kind: str, quantity: str, standard=PRIVATE) -> Criterion:  # type: ignore[no-untyped-def]
    """A criterion of the shipped standards."""
    found = standard.task(kind).criterion(quantity)
    assert found is not None
    return found


def held_feet(*spells: tuple[float, float, float], base: float = 0.0, **more: float) -> Finding:
    """The private steep turn's altitude criterion over a minute with excursions (start, end, feet)."""
    feet = np.full(TIME.size, base)
    for start, end, value in spells:
        feet[(start <= TIME) & (end > TIME)] = value
    return over_time(criterion("steep_turn", "altitude"), TIME, feet * 0.3048, (0.0, 59.9), JUDGING, **more)  # type: ignore[arg-type]


def test_q1_every_number_of_the_row_is_held_published() -> None:
    """Row Q1: 3,401 and 3,600 of 3,500 ft, bank 41 to 50°, 92 to 110 kt around 100, roll-out +9°: in tolerance."""
    altitude = np.where(TIME < 30, 3401.0, 3600.0) * 0.3048
    found = over_time(criterion("steep_turn", "altitude"), TIME, altitude, (0, 59.9), JUDGING, target=3500 * 0.3048)
    assert found.verdict == "held"
    assert found.within_fraction == 1.0
    bank = np.radians(np.where(TIME < 30, 41.0, 50.0))
    assert over_time(criterion("steep_turn", "bank"), TIME, bank, (0, 59.9), JUDGING,
                     target=np.radians(45.0)).verdict == "held"  # fmt: skip
    speed = np.where(TIME < 30, 92.0, 110.0) * from_unit(1.0, "kt")
    assert over_time(criterion("steep_turn", "ias"), TIME, speed, (0, 59.9), JUDGING,
                     target=from_unit(100.0, "kt")).verdict == "held"  # fmt: skip
    assert at_once(criterion("steep_turn", "rollout_heading"), [np.radians(9.0)]).verdict == "held"


def test_q2_commercial_bank_of_44_is_not_held_published() -> None:
    """Row Q2: 45 to 55° commercial; 44° all the way round is consistently outside."""
    bank = np.radians(np.full(TIME.size, 44.0))
    found = over_time(criterion("steep_turn", "bank", COMMERCIAL), TIME, bank, (0, 59.9), JUDGING,
                      target=np.radians(50.0))  # fmt: skip
    assert found.verdict == "not held"
    assert found.worst == pytest.approx(-6.0)


def test_q3_slow_flight_has_no_room_below_published() -> None:
    """Row Q3: a knot below the target all the time is outside for both."""
    low = np.full(TIME.size, from_unit(54.0, "kt"))
    for standard in (PRIVATE, COMMERCIAL):
        found = over_time(criterion("slow_flight", "ias", standard), TIME, low, (0, 59.9), JUDGING,
                          target=from_unit(55.0, "kt"))  # fmt: skip
        assert found.verdict == "not held"


def test_q5_a_touchdown_short_of_the_point_is_outside_published() -> None:
    """Row Q5: 205, 150 and −5 ft for the private short field: out, in, out."""
    point = criterion("short_field_landing", "touchdown_distance")
    verdicts = [at_once(point, [from_unit(x, "ft")]).verdict for x in (205.0, 150.0, -5.0)]
    assert verdicts == ["not held", "held", "not held"]


def test_q8_one_of_three_at_the_180_point_is_enough_published() -> None:
    """Row Q8: +90 ft and +8° are in, −12 kt is out."""
    task = COMMERCIAL.task("lazy_eight")
    assert at_once(task.criterion("turn180_altitude"), [from_unit(90.0, "ft")]).verdict == "held"  # type: ignore[arg-type]
    assert at_once(task.criterion("turn180_ias"), [from_unit(-12.0, "kt")]).verdict == "not held"  # type: ignore[arg-type]
    assert at_once(task.criterion("turn180_heading"), [np.radians(8.0)]).verdict == "held"  # type: ignore[arg-type]


def test_q13_one_six_second_excursion_corrected_is_no_failure_published() -> None:
    """Row Q13: one 6-s excursion of +120 ft, corrected: reported, not a failure by itself."""
    found = held_feet((20.0, 26.0, 120.0))
    assert found.verdict == "briefly out and corrected"
    assert found.worst == pytest.approx(120.0)
    assert found.longest_excursion_s == pytest.approx(6.0, abs=0.2)
    assert found.first_excursion_s == pytest.approx(20.0, abs=0.2)
    assert found.within_fraction == pytest.approx(0.9, abs=0.01)


@pytest.mark.parametrize(
    ("spells", "verdict"),
    [
        ((), "held"),
        (((20.0, 20.5, 130.0),), "held"),  # half a second is a gust
        (((10.0, 18.0, -130.0),), "briefly out and corrected"),
        (((10.0, 22.0, -130.0),), "not held"),  # not corrected promptly
        (((5.0, 14.0, 130.0), (40.0, 49.0, -130.0)), "not held"),  # consistently: 30 % of the time
        (((5.0, 7.0, 130.0), (20.0, 22.0, 130.0), (40.0, 42.0, 130.0)), "not held"),  # again and again
    ],
)
def test_length_share_and_number_of_excursions_decide(spells: tuple, verdict: str) -> None:
    """A single maximum never decides."""
    assert held_feet(*spells).verdict == verdict


def test_an_excursion_open_at_the_end_needs_its_return_afterwards() -> None:
    """Out for the last 4 s of the maneuver: corrected when the altitude comes back soon after, else not."""
    c = criterion("steep_turn", "altitude")
    back = np.where((TIME > 36) & (TIME < 43), 120.0, 0.0) * 0.3048
    never = np.where(TIME > 36, 120.0, 0.0) * 0.3048
    assert over_time(c, TIME, back, (0.0, 40.0), JUDGING).verdict == "briefly out and corrected"
    assert over_time(c, TIME, never, (0.0, 40.0), JUDGING).verdict == "not held"


def test_what_was_not_recorded_is_not_failed() -> None:
    """With most samples missing the answer is 'can't be judged', and why."""
    feet = np.full(TIME.size, np.nan)
    feet[:100] = 500.0
    found = over_time(criterion("steep_turn", "altitude"), TIME, feet, (0, 59.9), JUDGING)
    assert found.verdict == "can't be judged"
    assert "recorded" in found.why


def test_less_than_the_recordings_error_is_not_held_against_the_pilot() -> None:
    """A bank worked out from the turn rate is good to some 4°: 2° outside can't be judged, 8° can."""
    c = criterion("steep_turn", "bank")
    for degrees, verdict in ((52.0, "can't be judged"), (58.0, "not held")):
        bank = np.radians(np.full(TIME.size, degrees))
        found = over_time(c, TIME, bank, (0, 59.9), JUDGING, target=np.radians(45.0), error=np.radians(4.0))
        assert found.verdict == verdict


def test_the_schools_threshold_is_the_one_applied() -> None:
    """A school that calls 5 s prompt fails an 8 s excursion that airwork's own 10 s lets pass."""
    from dataclasses import replace

    from airwork.standards import Judging

    five_seconds = replace(JUDGING.thresholds["prompt_altitude_s"], value=5.0)
    strict = Judging({**JUDGING.thresholds, "prompt_altitude_s": five_seconds})
    feet = np.where((TIME > 20) & (TIME < 28), 120.0, 0.0) * 0.3048
    c = criterion("steep_turn", "altitude")
    assert over_time(c, TIME, feet, (0, 59.9), JUDGING).verdict == "briefly out and corrected"
    assert over_time(c, TIME, feet, (0, 59.9), strict).verdict == "not held"


def test_the_trend_is_the_slope() -> None:
    """Climbing 60 ft in a minute is a trend of 60 ft per minute."""
    found = over_time(criterion("steep_turn", "altitude"), TIME, TIME * 0.3048, (0, 59.9), JUDGING)
    assert found.trend_per_min == pytest.approx(60.0, rel=0.01)


def test_moments_outside_are_said_and_many_of_them_are_consistent() -> None:
    """Half a second outside every four is reported with a held criterion; half of the time in moments is not held."""
    few = held_feet(*((t, t + 0.5, 110.0) for t in np.arange(2.0, 58.0, 4.0)))
    assert few.verdict == "held"
    assert "moments" in few.why
    assert few.within_fraction < 1.0
    feet = np.where(np.arange(0.0, 60.0, 0.6) % 1.2 < 0.6, 110.0, 0.0)
    time_s = np.arange(0.0, 60.0, 0.6)
    many = over_time(criterion("steep_turn", "altitude"), time_s, feet * 0.3048, (0.0, 59.9), JUDGING)
    assert many.verdict == "not held"
    often = held_feet(*((t, t + 0.8, 110.0) for t in np.arange(2.0, 58.0, 2.0)))
    assert (often.verdict, often.why) == ("not held", "outside for 37 % of the time, in moments")  # 28 × 0.8 s of 60


def test_what_is_back_with_the_last_sample_is_corrected_whatever_comes_after() -> None:
    """The maneuver ends with the sample at 50 s; what was flown after it is asked only of one that ends outside."""
    for last, verdict in ((0.0, "briefly out and corrected"), (130.0, "not held")):
        feet = np.where((TIME > 45.0) & (TIME < 49.95), 130.0, np.where(TIME > 50.05, 130.0, 0.0))
        feet[np.abs(TIME - 50.0) < 0.05] = last
        found = over_time(criterion("steep_turn", "altitude"), TIME, feet * 0.3048, (0.0, 50.02), JUDGING)
        assert found.verdict == verdict, last


MIDDLE = (TIME > 18.0) & (TIME < 42.0)  # 40 % of the minute, nothing that looks like a slope


@pytest.mark.parametrize(
    ("feet", "shape"),
    [
        (np.full(TIME.size, 49.0), ""),  # less than half of the tolerance
        (np.full(TIME.size, -51.0), "a steady offset"),
        (20.0 + 55.0 * TIME / 60.0, "a steady offset"),  # climbing a little, but beside it all along
        (np.linspace(-55.0, 55.0, TIME.size), "a drift"),
        (np.where(TIME % 10.0 < 5.0, 60.0, -60.0), "to and fro"),
        (np.where(MIDDLE, 60.0, -40.0), "a moment"),  # far enough to one side only
        (np.where(np.abs(TIME - 30.0) < 18.0, 60.0, 0.0), "a drift"),  # far most of the time, not beside it all along
        (np.where(np.abs(TIME - 30.0) < 7.0, 120.0, 0.0), "a moment"),
        (np.where(np.abs(TIME - 30.0) < 12.5, 120.0, 0.0), "a drift"),  # out for more than twice what is prompt
    ],
)
def test_how_it_was_off_is_told_apart(feet: np.ndarray, shape: str) -> None:
    """Of a tolerance of ±100 ft."""
    found = over_time(criterion("steep_turn", "altitude"), TIME, feet * 0.3048, (0, 59.9), JUDGING)
    assert found.shape == shape


def test_a_one_sided_tolerance_is_beside_its_middle_not_its_target() -> None:
    """Slow flight +10/−0 kt: 9.8 kt fast or 0.2 kt is inside, no offset; an approach +10/−5 has its target to hold."""
    for knots, shape in ((9.8, ""), (0.2, ""), (11.0, "a steady offset")):
        fast = np.full(TIME.size, from_unit(knots, "kt"))
        assert over_time(criterion("slow_flight", "ias"), TIME, fast, (0, 59.9), JUDGING).shape == shape
    approach = replace(criterion("slow_flight", "ias"), low=-from_unit(5.0, "kt"))
    fast = np.full(TIME.size, from_unit(5.2, "kt"))
    assert over_time(approach, TIME, fast, (0, 59.9), JUDGING).shape == "a steady offset"


def test_the_worst_is_the_one_nearest_the_limit_and_without_one_the_largest() -> None:
    """+8 of +10 kt is nearer out than −4 of −5 is far; where nothing is to be held the larger counts, with its sign."""
    approach = replace(criterion("slow_flight", "ias"), low=-from_unit(5.0, "kt"))
    knots = [from_unit(x, "kt") for x in (8.0, -4.0)]
    assert at_once(approach, knots).worst == pytest.approx(-4.0)
    open_ended = replace(approach, low=None, high=None)
    for pair, worst in (((8.0, -9.0), -9.0), ((9.0, -8.0), 9.0)):
        found = at_once(open_ended, [from_unit(x, "kt") for x in pair])
        assert (found.worst, found.verdict) == (pytest.approx(worst), "can't be judged")


def test_what_the_recorder_resolves_widens_the_limit_and_is_said() -> None:
    c = criterion("steep_turn", "altitude")
    wide, plain = held_feet(base=105.0, allowance=10.0 * 0.3048), held_feet(base=95.0)
    assert (wide.verdict, wide.allowance, plain.allowance) == ("held", pytest.approx(10.0), None)
    assert held_feet(base=105.0).verdict == "not held"
    off = [105.0 * 0.3048]
    for allowance, verdict, said in ((0.0, "not held", None), (3.048, "held", pytest.approx(10.0))):
        found = at_once(c, off, allowance=allowance)
        assert (found.verdict, found.allowance) == (verdict, said)


@pytest.mark.parametrize(
    ("feet", "error", "verdict"),
    [(99.0, 0.0, "held"), (101.0, 0.0, "not held"), (97.0, 5.0, "can't be judged"), (103.0, 5.0, "can't be judged"),
     (94.0, 5.0, "held"), (106.0, 5.0, "not held")],
)  # fmt: skip
def test_a_moment_too_near_its_limit_for_the_recording_is_not_judged(feet: float, error: float, verdict: str) -> None:
    found = at_once(criterion("steep_turn", "altitude"), [feet * 0.3048], error=error * 0.3048)
    assert found.verdict == verdict


def test_two_samples_are_enough_one_is_not() -> None:
    c = criterion("steep_turn", "altitude")
    verdicts = [over_time(c, TIME[:n], np.zeros(n), (0, 59.9), JUDGING).verdict for n in (1, 2)]
    assert verdicts == ["can't be judged", "held"]


@pytest.mark.parametrize(("away_s", "spells"), [(0.5, 1), (1.0, 1), (1.5, 2)])
def test_what_counts_is_one_stretch_over_gaps_of_a_second(away_s: float, spells: int) -> None:
    """At two samples a second, as at ten."""
    for step in (0.5, 0.1):
        time = np.arange(0.0, 60.0, step)
        feet = np.where((time > 29.9) & (time < 29.9 + away_s), np.nan, 0.0)
        found = over_time(criterion("steep_turn", "altitude"), time, feet * 0.3048, (0.0, 60.0), JUDGING)
        assert len(found.over_s) == spells, step


def test_of_three_moments_one_outside_leaves_two_thirds_within() -> None:
    point = criterion("short_field_landing", "touchdown_distance")
    found = at_once(point, [from_unit(x, "ft") for x in (100.0, 150.0, 260.0)])
    assert (found.within_fraction, found.verdict) == (0.667, "not held")


@pytest.mark.parametrize(
    ("off_deg", "verdict"), [(4.7, "can't be judged"), (5.3, "can't be judged"), (3.5, "held"), (6.5, "not held")]
)
def test_a_bank_held_nearer_its_limit_than_the_recordings_error_is_not_judged(off_deg: float, verdict: str) -> None:
    """45 ± 5°, recorded to a degree."""
    bank = np.radians(np.full(TIME.size, 45.0 + off_deg))
    found = over_time(criterion("steep_turn", "bank"), TIME, bank, (0, 59.9), JUDGING, target=np.radians(45.0),
                      error=np.radians(1.0))  # fmt: skip
    assert found.verdict == verdict
