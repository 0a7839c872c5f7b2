"""The trend against a published series and the textbook filter, and against made-up students whose truth is known."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwork.logbook import trend as model
from airwork.logbook.attempts import Attempt
from airwork.logbook.marks import Mark
from airwork.logbook.progress import StudentProgress, TaskProgress, progress, watched
from airwork.logbook.thresholds import thresholds
from airwork.logbook.trend import Attempts, Trend, flights_to_standard, trend

# Annual flow of the Nile at Aswan 1871–1970, 10⁸ m³ (several stored copies agree). [V]
NILE = [
    1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140,
    1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969,
    831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759, 781, 865,
    845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050,
    918, 986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
]  # fmt: skip
# Durbin & Koopman, Time Series Analysis by State Space Methods, 2nd ed., section 2.2.5: variances 15099 and 1469.1. [V]
SCATTER_VAR, DRIFT_VAR = 15099.0, 1469.1
SCALE = 1000.0


def attempts(y: Any, flight: Any = None, **more: Any) -> Attempts:
    values = np.asarray(y, float)
    number = np.arange(values.size) if flight is None else np.asarray(flight)
    facts: dict[str, Any] = {
        "spread": np.ones(values.size), "day": number * 0.0, "wind_mps": np.full(values.size, np.nan),
        "airplane": np.zeros(values.size, int),
    }  # fmt: skip
    return Attempts(y=values, flight=number, **(facts | more))


@pytest.fixture
def plain(monkeypatch: pytest.MonkeyPatch) -> None:
    """The model with everything but level, drift and scatter taken out, and both known: the local level model."""
    for name, value in {
        "DRIFT_SD": np.array([np.sqrt(DRIFT_VAR) / SCALE]), "SCATTER_SD": np.array([np.sqrt(SCATTER_VAR) / SCALE]),
        "_DRIFT_WEIGHT": np.zeros(1), "_SCATTER_WEIGHT": np.zeros(1), "LEARNING_SD": 1e-9, "FORM_SHARE": 0.0,
        "FORM_LEAST": 0.0, "TAIL_FREEDOM": 1e9, "START_SD": 30.0, "MOST_ATTEMPTS": 1000,
    }.items():  # fmt: skip
        monkeypatch.setattr(model, name, value)


def textbook_smoother(y: Any) -> tuple[Any, Any]:
    """Kalman filter and fixed-interval smoother of the local level model, Durbin & Koopman 2.2–2.4. [M]"""
    n = len(y)
    a, p = np.zeros(n + 1), np.zeros(n + 1)
    a[0], p[0] = 1.1, 30.0**2
    v, f, k = np.zeros(n), np.zeros(n), np.zeros(n)
    q, h = DRIFT_VAR / SCALE**2, SCATTER_VAR / SCALE**2
    for t in range(n):
        v[t], f[t] = y[t] - a[t], p[t] + h
        k[t] = p[t] / f[t]
        a[t + 1], p[t + 1] = a[t] + k[t] * v[t], p[t] * (1 - k[t]) + q
    mean, var = np.zeros(n), np.zeros(n)
    r, big_n = 0.0, 0.0
    for t in reversed(range(n)):
        r = v[t] / f[t] + (1 - k[t]) * r
        big_n = 1 / f[t] + (1 - k[t]) ** 2 * big_n
        mean[t], var[t] = a[t] + p[t] * r, p[t] - p[t] ** 2 * big_n
    return mean, np.sqrt(var)


@pytest.mark.usefixtures("plain")
def test_the_level_of_the_nile_published() -> None:
    """Durbin & Koopman: the filtered level at the end, which is the forecast from 1970, is 798.37. [M]"""
    found = trend(attempts(np.array(NILE) / SCALE))
    assert found.level_mean[-1] * SCALE == pytest.approx(798.37, abs=0.01)
    # Steady state by hand: P = (q + √(q² + 4qh)) / 2 − q is the variance of the filtered level. [D]
    steady = (DRIFT_VAR + np.sqrt(DRIFT_VAR**2 + 4 * DRIFT_VAR * SCATTER_VAR)) / 2 - DRIFT_VAR
    assert (found.level_sd[-1] * SCALE) ** 2 == pytest.approx(steady, rel=1e-4)


@pytest.mark.usefixtures("plain")
def test_every_level_agrees_with_the_textbook_smoother() -> None:
    y = np.array(NILE) / SCALE
    found, (mean, sd) = trend(attempts(y)), textbook_smoother(y)
    np.testing.assert_allclose(found.level_mean, mean, atol=2e-6)
    np.testing.assert_allclose(found.level_sd, sd, rtol=2e-4)


def made_up(
    rng: np.random.Generator, flights: int, per: int = 2, wind: float = 0.0, plateau: tuple[float, float] = (0.4, 0.9)
) -> tuple[Attempts, Any]:
    """A student of another make than the model: an exponential learning curve with a plateau, and outliers."""
    start, end, rate = rng.uniform(1.0, 2.0), rng.uniform(*plateau), rng.uniform(2.0, 8.0)
    level = end + (start - end) * np.exp(-np.arange(flights) / rate)
    number = np.repeat(np.arange(flights), per)
    speed = rng.uniform(0.0, 8.0, number.size)
    scatter = rng.uniform(0.1, 0.3)
    y = level[number] + wind * (speed - np.median(speed)) + scatter * rng.standard_normal(number.size)
    y[rng.random(number.size) < 0.05] += 0.8
    return attempts(np.maximum(y, 0.0), number, wind_mps=speed, day=number * 5.0), level


def test_the_intervals_hold_the_truth_of_students_made_otherwise() -> None:
    """90 % intervals of the level hold 85–97 % of the truth over 150 made-up students (bench prints the table)."""
    rng = np.random.default_rng(7)
    inside = []
    for _ in range(150):
        flown, level = made_up(rng, int(rng.integers(3, 16)))
        found = trend(flown)
        inside.append(abs(found.level_mean[-1] - level[-1]) <= 1.645 * found.level_sd[-1])
    assert 0.85 <= np.mean(inside) <= 0.97


def test_the_level_is_nearer_to_the_truth_than_a_bare_average() -> None:
    rng = np.random.default_rng(8)
    ours, average = [], []
    for _ in range(100):
        flown, level = made_up(rng, 10)
        ours.append(abs(trend(flown).level_mean[-1] - level[-1]))
        average.append(abs(flown.y.mean() - level[-1]))
    assert np.mean(ours) < 0.5 * np.mean(average)


def test_the_wind_is_taken_into_account_where_the_attempts_can_tell() -> None:
    rng = np.random.default_rng(9)
    effects, inside = [], []
    for _ in range(150):
        flown, _ = made_up(rng, 12, wind=0.06, plateau=(0.8, 1.1))  # high enough that y stays above 0
        found = trend(flown)
        if found.wind_effect is None:  # by chance too little difference in the wind
            continue
        effect, sd = found.wind_effect
        effects.append(effect)
        inside.append(abs(effect - 0.06) <= 1.645 * sd)
    # Held back towards none, as a prior does; the interval owns up to it.
    assert 0.03 < np.mean(effects) < 0.065
    assert np.mean(inside) >= 0.8


def test_in_steady_wind_no_effect_is_claimed() -> None:
    found = trend(attempts(np.linspace(1.5, 0.8, 10), wind_mps=np.full(10, 5.0)))
    assert found.wind_effect is None


def test_one_wild_attempt_moves_the_level_little() -> None:
    calm = np.full(12, 0.8) + 0.05 * np.tile([1, -1], 6)
    wild = calm.copy()
    wild[10] = 2.6
    moved = trend(attempts(wild)).level_mean[-1] - trend(attempts(calm)).level_mean[-1]
    assert 0.0 <= moved < 0.25 * (2.6 - 0.8)


def test_however_many_attempts_in_one_flight_one_day_stays_one_day() -> None:
    """The form of the day is common to them: its share of the uncertainty can't be flown away in one flight."""
    rng = np.random.default_rng(3)
    y = 0.8 + 0.2 * rng.standard_normal(40)
    one_day = trend(attempts(y, np.zeros(40, int)))
    many_days = trend(attempts(y, np.arange(40) // 4))
    assert one_day.level_sd[-1] > 0.95 * model.FORM_LEAST
    assert one_day.level_sd[-1] > many_days.level_sd[-1]
    assert one_day.level_sd[-1] > 2.0 * y.std() / np.sqrt(40)


def test_with_one_attempt_the_interval_is_wide() -> None:
    found = trend(attempts([0.7]))
    assert found.level_sd[-1] > 0.15
    assert 0.2 < found.chance_next < 0.95


def test_time_away_widens_the_interval() -> None:
    y = np.array([0.9, 0.85, 0.8, 0.82, 0.8])
    near = trend(attempts(y, day=np.array([0.0, 5, 10, 15, 20])))
    far = trend(attempts(y, day=np.array([0.0, 5, 10, 15, 400])))
    assert far.level_sd[-1] > near.level_sd[-1]


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.floats(0.0, 3.0), min_size=1, max_size=30), st.integers(0, 2**31), st.integers(1, 3)
)  # fmt: skip
def test_whatever_was_flown_the_answer_is_a_number(y: list[float], seed: int, per: int) -> None:
    rng = np.random.default_rng(seed)
    number = np.arange(len(y)) // per
    wind = np.where(rng.random(len(y)) < 0.3, np.nan, rng.uniform(0, 15, len(y)))
    found = trend(
        attempts(y, number, wind_mps=wind, day=np.sort(rng.uniform(0, 900, len(y)))[number],
                 airplane=rng.integers(-1, 3, len(y)), spread=rng.choice([1.0, 2.0], len(y)))
    )  # fmt: skip
    for value in (found.level_mean, found.level_sd, found.chance):
        assert np.isfinite(value).all()
    assert 0.0 <= found.chance_next <= 1.0
    assert (found.level_sd > 0).all()
    draws = flights_to_standard([found], 0.8, draws=50)
    assert (draws >= 0).all()


def test_better_flying_never_lowers_the_chance() -> None:
    base = np.linspace(1.4, 1.0, 8)
    chances = [trend(attempts(base - d)).chance_next for d in (0.0, 0.2, 0.4, 0.6)]
    assert chances == sorted(chances)


# --- progress: statuses, forecast, next three ------------------------------------------------------------------------

TODAY = date(2026, 6, 15)


def rows(
    ratios: list[float],
    kind: str = "steep_turn",
    name: str = "altitude",
    every: int = 5,
    verdicts: list[str] | None = None,
) -> list[Attempt]:
    """One attempt a flight, the last one today."""
    first = TODAY - timedelta(days=every * (len(ratios) - 1))
    return [
        Attempt(
            f"{kind}{i}", first + timedelta(days=every * i), 0, kind, name, "±100 ft", 100.0 * r, "ft", r,
            verdicts[i] if verdicts else ("held" if r <= 1.0 else "not held"), None, "a", True,
        )
        for i, r in enumerate(ratios)
    ]  # fmt: skip


def standing(
    attempts_: list[Attempt], marks: dict[tuple[str, str], Mark] | None = None, **wanted: str
) -> StudentProgress:
    wanted = wanted or {"steep_turn": "Steep turns"}
    return progress(attempts_, marks or {}, wanted, standard="private", today=TODAY)


def turn(*args: Any, **more: Any) -> TaskProgress:
    found = standing(*args, **more).task("steep_turn")
    assert found is not None
    return found


def mark(level: str) -> dict[tuple[str, str], Mark]:
    return {("steep_turn", "instructor"): Mark(level, "", "Ike", 0.0)}


def test_a_student_who_holds_it_flight_after_flight_is_ready() -> None:
    found = turn(rows([0.6, 0.5, 0.6, 0.4, 0.5, 0.5]))
    assert found.status == "ready"
    assert found.chance is not None
    assert found.chance > 0.8
    assert found.forecast is None


def test_a_beginner_is_not_ready_and_three_flights_carry_no_forecast() -> None:
    found = turn(rows([2.5, 2.2, 2.0]))
    assert (found.status, found.forecast) == ("not ready", None)
    assert "too few" in found.forecast_why


def test_steady_learning_carries_a_forecast_with_an_interval() -> None:
    found = turn(rows([3.2, 2.6, 2.1, 1.7, 1.4, 1.2, 1.0]))
    assert found.status == "not ready"
    assert found.forecast is not None
    assert 1 <= found.forecast.low < found.forecast.high <= thresholds().forecast_longest
    assert found.forecast.sure == pytest.approx(0.8)


def test_a_student_who_does_not_get_better_gets_no_forecast() -> None:
    found = turn(rows([2.4, 2.6, 2.3, 2.5, 2.4, 2.6, 2.5, 2.4]))
    assert (found.status, found.forecast) == ("not ready", None)
    assert "no forecast" in found.forecast_why


def test_one_or_two_attempts_are_too_few_to_say() -> None:
    assert turn(rows([0.4])).status == "too few to say"
    assert turn(rows([0.4, 0.4])).status == "too few to say"
    assert turn(rows([0.4])).chance_said is None
    assert "%" not in turn(rows([0.4])).why


def test_a_task_that_was_ready_and_got_worse_has_slipped() -> None:
    found = turn(rows([0.5, 0.4, 0.5, 0.4, 0.5, 0.4, 1.8, 2.0, 2.2]))
    assert found.status == "slipped"
    assert "altitude" in found.why
    assert standing(rows([0.5, 0.4, 0.5, 0.4, 0.5, 0.4, 1.8, 2.0, 2.2])).next_three[0].why.startswith("slipped")


def test_one_bad_day_is_not_slipped() -> None:
    assert turn(rows([0.5, 0.4, 0.5, 0.4, 0.5, 0.4, 0.5, 1.3])).status != "slipped"


def test_the_instructors_mark_stands_over_the_measurement_and_both_are_shown() -> None:
    good = rows([0.6, 0.5, 0.6, 0.4, 0.5, 0.5])
    held_back = turn(good, mark("practice"))
    assert held_back.status == "not ready"
    assert "measured: ready" in held_back.why
    poor = rows([2.5, 2.2, 2.0])
    passed = turn(poor, mark("perform"))
    assert passed.status == "ready"
    assert "measured: not ready" in passed.why
    assert turn(good, mark("not observed")).status == "ready"


def test_whose_mark_makes_a_task_ready_and_how_often_it_was_flown_since_is_said() -> None:
    """A mark on the first of three flights stands; that two came after it, not held, stands beside it."""
    poor = rows([2.5, 2.2, 2.0])
    given = Mark("perform", "", "Ike Teacher", 0.0, flown=poor[0].day)
    found = progress(poor, {("steep_turn", "instructor"): given}, {"steep_turn": "Steep turns"}, standard="private",
                     today=TODAY).tasks[0]  # fmt: skip
    assert found.why.startswith(
        f"marked 'perform' by Ike Teacher on the flight of {poor[0].day}, flown 2 times since; measured: not ready"
    )
    assert "since" not in turn(poor, mark("perform")).why


def test_the_weakest_criterion_decides() -> None:
    found = turn(rows([0.4] * 6) + rows([1.8] * 6, name="airspeed"))
    assert (found.status, found.weakest) == ("not ready", "airspeed")


def test_the_standards_word_goes_before_a_single_excursion() -> None:
    """FAA-S-ACS-6C appendix 1: a brief excursion corrected promptly is not unsatisfactory. [V]"""
    (one,) = rows([1.8], verdicts=["briefly out and corrected"])
    assert watched(one)[0] < 1.0
    (two,) = rows([0.7], verdicts=["not held"])
    assert watched(two)[0] > 1.0


def test_what_a_debrief_said_first_is_not_ready_before_it_is_flown_without() -> None:
    """Common practice, no source: the lesson after an unsafe act begins with it, however well the numbers were held."""
    good = rows([0.3] * 8)
    assert turn(good).status == "ready"
    said = {"steep_turn": (TODAY, "44° of bank 385 ft above the field.")}
    found = progress(good, {}, {"steep_turn": "Steep turns"}, standard="private", today=TODAY, warned=said)
    assert found.tasks[0].status == "not ready"
    assert found.next_three[0].why == f"{TODAY}: 44° of bank 385 ft above the field."
    at = datetime(TODAY.year, TODAY.month, TODAY.day, tzinfo=UTC).timestamp()
    # who marks it later knew of it: a lesser mark agrees
    for level, utc_s, status in (
        ("perform", at + 3600.0, "ready"), ("perform", at - 86400.0, "not ready"),
        ("describe", at + 3600.0, "not ready"),
    ):  # fmt: skip
        marks = {("steep_turn", "instructor"): Mark(level, "", "Ike", utc_s)}
        marked = progress(good, marks, {"steep_turn": "Steep turns"}, standard="private", today=TODAY, warned=said)
        assert marked.tasks[0].status == status
        assert bool(marked.next_three) == (status == "not ready")


def test_the_next_three_are_the_slipped_then_the_weakest_and_at_most_one_new() -> None:
    flown = (
        rows([0.5, 0.4, 0.5, 0.4, 0.5, 0.4, 1.8, 2.0, 2.2], "slow_flight")
        + rows([2.0, 1.9, 2.1, 2.0], "steep_turn")
        + rows([0.4] * 8, "s_turns")
        + rows([1.1, 1.0, 1.1], "chandelle")
    )
    kinds = ("slow_flight", "steep_turn", "s_turns", "chandelle", "lazy_eight", "steep_spiral")
    found = standing(flown, **{k: k for k in kinds})
    chosen = [n.kind for n in found.next_three]
    assert chosen[:2] == ["slow_flight", "steep_turn"]
    assert "s_turns" not in chosen
    assert len(chosen) == 3
    assert sum(k in {"lazy_eight", "steep_spiral"} for k in chosen) <= 1
    assert all(n.why for n in found.next_three)


def test_what_was_not_held_goes_before_what_was_held_too_seldom_to_say() -> None:
    """Steep turns missed in three of eight; a takeoff held in both its two; slow flight never flown."""
    flown = rows([0.4, 0.5, 1.6, 0.5, 1.5, 0.4, 1.6, 0.5], "steep_turn") + rows([0.6, 0.6], "short_field_takeoff")
    found = standing(flown, **{k: k for k in ("short_field_takeoff", "steep_turn", "slow_flight")})
    assert [n.kind for n in found.next_three] == ["steep_turn", "slow_flight", "short_field_takeoff"]
    once = standing(rows([1.6], "steep_turn") + rows([0.6, 0.6], "short_field_takeoff"))
    assert once.next_three[0].kind == "steep_turn"


@pytest.mark.parametrize(("low_once", "weakest"), [(False, "altitude"), (True, "lowest height above ground")])
def test_a_floor_that_was_kept_is_no_weak_side(low_once: bool, weakest: str) -> None:
    """2,950 ft in hand above a floor of 1,500 each time says nothing of the pilot; gone through once it does."""
    verdicts = ["held"] * 5 + ["not held" if low_once else "held"]
    floor = [
        replace(one, limit_text="at least 1,500 ft", unit="ft")
        for one in rows([0.85] * 5 + [1.3 if low_once else 0.85], name="lowest height above ground", verdicts=verdicts)
    ]
    assert turn(rows([0.3] * 6) + floor).weakest == weakest


def test_a_beginner_with_nothing_flown_is_given_three_new_ones() -> None:
    found = standing([], **{k: k for k in ("slow_flight", "steep_turn", "s_turns", "chandelle")})
    assert len(found.next_three) == 3
    assert found.nothing_flown
    assert not standing(rows([1.6], "steep_turn"), steep_turn="steep_turn").nothing_flown


def test_a_school_may_set_its_own_thresholds(tmp_path: Any) -> None:
    own = tmp_path / "school.toml"
    own.write_text("ready_chance = 0.95\n")
    found = progress(
        rows([0.75, 0.8, 0.7, 0.8, 0.75]), {}, {"steep_turn": "x"}, standard="p", today=TODAY, limits=thresholds(own)
    )
    assert found.tasks[0].status == "not ready"
    assert thresholds(own).stale_days == thresholds().stale_days
    for text, said in (
        ("readychance = 0.9", "no threshold"),
        ("ready_chance = 2", "below 1"),
        ("ready_chance = 'x'", "can't be"),
    ):
        own = tmp_path / f"{len(text)}.toml"
        own.write_text(text)
        with pytest.raises(Exception, match=said):
            thresholds(own)


def test_the_trend_is_the_same_for_the_same_flights() -> None:
    flown = rows([3.2, 2.6, 2.1, 1.7, 1.4, 1.2, 1.0])
    assert standing(flown) == standing(flown)


def fitted(ratios: list[float]) -> Trend:
    return trend(attempts(np.sqrt(ratios)))


def test_a_forecast_takes_longer_with_a_second_weak_criterion() -> None:
    one, two = fitted([3.2, 2.7, 2.3, 2.0, 1.7, 1.4]), fitted([3.0, 2.9, 2.5, 2.4, 2.0, 1.9])
    alone, both = flights_to_standard([one], 0.8), flights_to_standard([one, two], 0.8)
    assert np.median(both) >= np.median(alone)


def test_learning_that_fades_takes_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    one = fitted([6.0, 5.2, 4.6, 4.0, 3.5, 3.0])
    fading = flights_to_standard([one], 0.8)
    monkeypatch.setattr(model, "LEARNING_FADES", 1.0)
    assert np.median(flights_to_standard([one], 0.8)) < np.median(fading)
