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


@pytest.mark.parametrize(("degrees", "verdict"), [(10.1, "held"), (-10.4, "held"), (10.6, "not held"), (9.6, "held")])
def test_a_heading_that_reads_as_the_limit_is_at_the_limit(degrees: float, verdict: str) -> None:
    """±10° at the roll-out (FAA-S-ACS-6C, V.A) is read off a card in whole degrees: 10.1° is no failed turn."""
    found = at_once(criterion("steep_turn", "rollout_heading"), [np.radians(degrees)])
    assert found.verdict == verdict
    assert ("at the limit" in found.why) is (abs(degrees) > 10.0 and verdict == "held")


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
    assert found.longest_excursion_s == 6.0  # samples from 20.0 to 25.9 s, each good for a tenth
    assert found.first_excursion_s == pytest.approx(20.0)
    assert found.within_fraction == 0.9
    assert (found.why, found.allowance) == ("outside once, at most 6 s", None)


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
        (np.where(MIDDLE, -60.0, 40.0), "a moment"),
        (np.where(np.abs(TIME - 30.0) < 2.0, 55.0, 44.0), "a moment"),  # beside it, but by less than half
        (np.where(TIME % 10.0 < 5.0, 75.0, 25.0), "a steady offset"),  # 50 ft beside it, twice as much as it swings
        (np.where(MIDDLE, 0.0, 90.0), "a drift"),  # swings nearly as much as it is beside it
        (120.0 * (TIME / 60.0 - 0.5) + np.where(TIME % 10.0 < 5.0, 60.0, -60.0), "to and fro"),  # swings over a slope
        (np.where(np.abs(TIME - 30.0) < 10.5, 120.0, 0.0), "a drift"),  # 21 s
        (np.where(np.abs(TIME - 30.0) < 9.5, 120.0, 0.0), "a moment"),  # 19 s
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


@pytest.mark.parametrize(
    ("knots", "worst"),
    [((7.0, -3.0), 7.0), ((7.0, -4.0), -4.0), ((9.0, -6.0), -6.0), ((12.0, -6.0), 12.0), ((-3.0, -1.0), -3.0)],
)
def test_the_worst_takes_most_of_its_sides_tolerance_and_outside_lies_farthest_out(
    knots: tuple[float, ...], worst: float
) -> None:
    """Of +10/−5 kt, 7 kt fast are 0.7 and 3 kt slow 0.6, though the slow side's limit is nearer (2 kt, not 3)."""
    approach = replace(criterion("slow_flight", "ias"), low=-from_unit(5.0, "kt"))
    assert at_once(approach, [from_unit(x, "kt") for x in knots]).worst == pytest.approx(worst)


def test_without_a_limit_the_worst_is_the_largest_with_its_sign() -> None:
    approach = criterion("slow_flight", "ias")
    open_ended = replace(approach, low=None, high=None)
    for pair, worst in (((8.0, -9.0), -9.0), ((9.0, -8.0), 9.0), ((9.0, -9.0), 9.0)):
        found = at_once(open_ended, [from_unit(x, "kt") for x in pair])
        assert (found.worst, found.verdict) == (pytest.approx(worst), "can't be judged")


def test_what_the_recorder_resolves_widens_the_limit_and_is_said() -> None:
    c = criterion("steep_turn", "altitude")
    wide, plain = held_feet(base=101.0, allowance=2.0 * 0.3048), held_feet(base=95.0)
    assert (wide.verdict, wide.allowance, plain.allowance) == ("held", pytest.approx(2.0), None)
    assert held_feet(base=105.0).verdict == "not held"
    off = [101.0 * 0.3048]
    for allowance, verdict, said in ((0.0, "not held", None), (0.6096, "held", pytest.approx(2.0))):
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


def each_second(*feet: tuple[int, float], seconds: int = 60, until: float = 59.0) -> Finding:
    """The private steep turn's altitude at a sample a second: (second from which, feet), judged up to a second."""
    time = np.arange(float(seconds))
    off = np.zeros(seconds)
    for begin, value in feet:
        off[begin:] = value
    return over_time(criterion("steep_turn", "altitude"), time, off * 0.3048, (0.0, until), JUDGING)


@pytest.mark.parametrize(
    ("back_at", "after", "verdict"),
    [(50, 0.0, "briefly out and corrected"), (51, 0.0, "not held"), (45, np.nan, "not held")],
)
def test_the_return_is_looked_for_up_to_the_prompt_time_after_the_last_sample(
    back_at: int, after: float, verdict: str
) -> None:
    """Out from 36 s, the maneuver ends at 40 s, 10 s are prompt: back at 50 s is; what isn't known is no return."""
    found = each_second((36, 120.0), (back_at, after), until=40.0)
    assert found.verdict == verdict
    assert found.over_s == ((0.0, 40.0),)
    assert (verdict == "not held") == (found.why == "outside at the end and not corrected soon after")


def test_a_bank_open_at_the_end_is_over_with_the_turn() -> None:
    """Nobody wants 45° after it: out for the last 3 s is a brief excursion, whatever is flown then."""
    bank = np.radians(np.where(TIME > 37.0, 52.0, 45.0))
    found = over_time(criterion("steep_turn", "bank"), TIME, bank, (0.0, 40.0), JUDGING, target=np.radians(45.0))
    assert found.verdict == "briefly out and corrected"
    assert (found.aim, found.worst) == (45.0, 7.0)


@pytest.mark.parametrize(
    ("step_s", "samples_back", "spells"),
    [(0.1, 9, 1), (0.1, 10, 2), (0.5, 1, 1), (0.5, 2, 2), (1.0, 1, 2), (2.0, 1, 2)],
)
def test_back_inside_for_less_than_a_second_is_the_same_excursion(
    step_s: float, samples_back: int, spells: int
) -> None:
    """Out for 4 s, back for so many samples, out for 4 s, whatever the rate."""
    time = np.arange(0.0, 60.0, step_s)
    out = round(4.0 / step_s)
    feet = np.zeros(time.size)
    feet[5 : 5 + out] = feet[5 + out + samples_back : 5 + 2 * out + samples_back] = 120.0
    found = over_time(criterion("steep_turn", "altitude"), time, feet * 0.3048, (0.0, 60.0), JUDGING)
    assert ("once" in found.why, "2 times" in found.why) == (spells == 1, spells == 2)
    assert found.first_excursion_s == pytest.approx(5 * step_s)
    assert found.longest_excursion_s == pytest.approx(8.0 + samples_back * step_s if spells == 1 else 4.0)


@pytest.mark.parametrize("out_s", [1, 10])
def test_an_excursion_of_a_second_counts_and_one_of_the_prompt_time_is_prompt(out_s: int) -> None:
    """What is shorter than a second is a gust; what is over within ten was corrected promptly."""
    found = each_second((20, 120.0), (20 + out_s, 0.0))
    assert (found.verdict, found.longest_excursion_s) == ("briefly out and corrected", out_s)
    assert each_second((20, 120.0), (31, 0.0)).verdict == "not held"


@pytest.mark.parametrize(("each", "verdict"), [(5, "briefly out and corrected"), (6, "not held")])
def test_a_quarter_of_the_time_is_not_yet_consistent(each: int, verdict: str) -> None:
    """40 samples at one a second: twice 5 s are a quarter of it, twice 6 s are 30 %."""
    found = each_second((5, 120.0), (5 + each, 0.0), (20, -120.0), (20 + each, 0.0), seconds=40, until=39.0)
    assert found.verdict == verdict
    assert found.why == ("outside 2 times, at most 5 s" if verdict != "not held" else "outside for 30 % of the time")
    assert found.first_excursion_s == 5.0


def test_three_times_outside_is_a_pattern_and_ten_seconds_are_said() -> None:
    thrice = each_second((5, 120.0), (6, 0.0), (20, 120.0), (21, 0.0), (40, 120.0), (41, 0.0))
    assert (thrice.verdict, thrice.why) == ("not held", "outside 3 times")
    long = each_second((20, 120.0), (32, 0.0))
    assert long.why == "outside for 12 s at a time (prompt, by airwork's threshold: 10 s)"
    assert held_feet((20.0, 20.5, 130.0)).why == "outside for moments only, none of them 1 s long"
    inside = held_feet()
    assert (inside.why, inside.longest_excursion_s, inside.first_excursion_s) == ("", 0.0, None)


def test_only_the_samples_that_count_are_judged_and_must_be_known() -> None:
    """The straight parts alone: what is out or unknown in the turns is nothing; 60 % of the rest must be known."""
    c, use = criterion("steep_turn", "altitude"), TIME >= 30.0

    def found(feet: np.ndarray) -> Finding:
        return over_time(c, TIME, feet * 0.3048, (0.0, 59.9), JUDGING, use=use)

    elsewhere = found(np.where(use, 10.0, 500.0))
    assert (elsewhere.verdict, elsewhere.worst, elsewhere.within_fraction) == ("held", 10.0, 1.0)
    assert found(np.where(use, 10.0, np.nan)).verdict == "held"
    assert found(np.where(TIME >= 41.0, 10.0, np.nan)).verdict == "held"  # 19 of 30 s
    few = found(np.where(TIME >= 43.0, 10.0, np.nan))  # 17 of 30 s
    assert (few.verdict, few.why) == ("can't be judged", "too little of it was recorded")
    none = over_time(c, TIME, 0.0 * TIME, (0.0, 59.9), JUDGING, use=TIME < 0.0)
    assert (none.verdict, none.why) == ("can't be judged", "nothing of the kind was flown")


def test_a_slope_takes_three_samples_a_second_apart() -> None:
    """2 ft up in 2 s is 60 ft a minute; of two samples it is nobody's guess."""
    c = criterion("steep_turn", "altitude")
    time = np.arange(3.0)
    assert [over_time(c, time[:n], time[:n] * 0.3048, (0, 9), JUDGING).trend_per_min for n in (2, 3)] == [None, 60.0]


def test_a_sample_alone_is_no_stretch_that_was_judged() -> None:
    """Of 0 to 2, 5 and 8 to 9 s (at one a second) the first and the last are stretches."""
    time = np.arange(10.0)
    use = np.isin(time, (0, 1, 2, 5, 8, 9))
    found = over_time(criterion("steep_turn", "altitude"), time, 0.0 * time, (0.0, 9.0), JUDGING, use=use)
    assert found.over_s == ((0.0, 2.0), (8.0, 9.0))


def test_a_findings_numbers_are_rounded_for_a_reader() -> None:
    """Worst, aim, slope and allowance to a hundredth, shares and limits to a thousandth and a millionth of the unit."""
    feet = from_unit(1.0, "ft")
    odd = replace(criterion("steep_turn", "altitude"), low=-100.12345678 * feet, high=100.98765432 * feet)
    rise = np.where(TIME < 40.0, 0.123456, 0.1) + TIME * 0.06
    found = over_time(odd, TIME, (3500.123 + rise) * feet, (0, 59.9), JUDGING, target=3500.123 * feet,
                      allowance=1.23456 * feet)  # fmt: skip
    assert (found.low, found.high) == (-100.123457, 100.987654)
    assert (found.aim, found.worst, found.allowance) == (3500.12, 3.69, 1.23)  # 0.1 + 59.9 · 0.06 is 3.694
    moment = at_once(odd, [3.14159 * feet, 500.0 * feet, 1.0 * feet], allowance=1.23456 * feet)
    assert (moment.low, moment.high) == (-100.123457, 100.987654)
    assert (moment.worst, moment.allowance, moment.within_fraction) == (500.0, 1.23, 0.667)
    assert at_once(odd, [100.345678 * feet]).worst == 100.35
    assert held_feet((20.0, 30.0, 120.0)).within_fraction == 0.833  # 50 of 60 s
    assert held_feet((20.0, 26.34, 120.0)).longest_excursion_s == 6.4  # 64 samples
    assert held_feet(base=1.0).trend_per_min == 0.0


def test_what_a_moment_was_outside_by_and_how_sure_are_said_in_its_unit() -> None:
    c, feet = criterion("steep_turn", "altitude"), from_unit(1.0, "ft")
    assert at_once(c, [106.0 * feet]).why == "outside by 6 ft"
    assert at_once(c, [-106.0 * feet], note="by the dial").why == "outside by 6 ft; by the dial"
    assert at_once(c, [0.0], note="by the dial").why == "by the dial"
    near = at_once(c, [103.0 * feet], error=5.0 * feet)
    assert near.why == "too near the limit for this recording, whose error is 5 ft (outside by 3 ft)"
    assert at_once(c, [97.0 * feet], error=5.0 * feet).why == (
        "too near the limit for this recording, whose error is 5 ft"
    )
    heading = at_once(criterion("steep_turn", "rollout_heading"), [np.radians(12.0)])
    assert heading.why == "outside by 2°"
    assert at_once(c, []).why == at_once(c, [np.nan]).why == "not recorded"
    assert at_once(c, [np.nan], note="no compass").why == "no compass"
    assert at_once(c, [100.0 * feet, -100.0 * feet]).verdict == "held"  # on the limit is inside
    assert held_feet(base=100.0).verdict == held_feet(base=-100.0).verdict == "held"
