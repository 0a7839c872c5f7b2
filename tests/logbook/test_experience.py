"""Aeronautical experience: hours by kind against the published requirements, worked by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.logbook.experience import LoggedFlight, Progress, common_s, progress_to
from airwork.logbook.records import AirplaneEntry, FlightRow, Movement
from airwork.logbook.rules import load_rules
from airwork.units import NM_M

SINGLE = AirplaneEntry("a", "N1", "Larkmoor 155")
COMPLEX = AirplaneEntry("c", "N2", "Caldmere 200", complex=True)
TWIN = AirplaneEntry("t", "N3", "Twin", aircraft_class="multi_engine_land")
GLIDER = AirplaneEntry("g", "N4", "Glider", category="glider", aircraft_class="glider")
TODAY = date(2026, 6, 15)
H = 3600.0


def flown(
    day: date = TODAY,
    airplane: AirplaneEntry | None = SINGLE,
    movements: tuple[Movement, ...] = (),
    role: str = "dual",
    **facts: Any,
) -> LoggedFlight:
    """A flight with the times given in hours and distances in NM."""
    times = dict.fromkeys(
        ("total", "dual", "solo", "pic", "cross_country", "night", "instrument_actual", "instrument_simulated",
         "test_preparation", "ground_training"),
        0.0,
    )  # fmt: skip
    times.update({k: v * H for k, v in facts.items() if k in times})
    far = {k: (facts[k] * NM_M if k in facts else None) for k in ("distance", "farthest_landing", "longest_leg")}
    row = FlightRow(
        id="f", pilot_id="p", instructor_id=None, airplane_id=airplane.id if airplane else None, lesson_id=None,
        recording_sha256="", start_utc_s=None, end_utc_s=None, local_date=day, time_zone="UTC", role=role,  # type: ignore[arg-type]
        remarks="", passengers=0, sole_manipulator=True, landing_points=facts.get("landing_points"),
        full_stop_points=facts.get("full_stop_points"), source="typed", signed_by_id=None, signed_utc_s=None,
        **{f"{k}_s": v for k, v in times.items()}, **{f"{k}_m": v for k, v in far.items()},
    )  # fmt: skip
    return LoggedFlight(row, airplane, movements)


def line(certificate: str, rule_id: str, *flights: LoggedFlight, test_on: date = TODAY, **dates: date) -> Progress:
    rules = load_rules("us" if rule_id.startswith("us.") else "eu").for_certificate(certificate)
    found = progress_to(rules, flights, test_on=test_on, certificate_dates=dates)
    return next(p for p in found if p.rule.id == rule_id)


# 14 CFR 61.109(a) as printed in worked form: 40 h total, 20 dual, 10 solo, 3 dual cross-country, 3 night, 3 instrument,
# 3 test preparation, 5 solo cross-country; formulas.md section 12. [V] 61.129(a) likewise. [V]
PUBLISHED = {
    "us.private.total": 40, "us.private.dual": 20, "us.private.dual_cross_country": 3, "us.private.dual_night": 3,
    "us.private.night_takeoffs": 10, "us.private.night_landings": 10, "us.private.dual_instrument": 3,
    "us.private.test_preparation": 3, "us.private.solo": 10, "us.private.solo_cross_country": 5,
    "us.private.solo_towered_landings": 3,
    "us.commercial.total": 250, "us.commercial.powered": 100, "us.commercial.airplane": 50, "us.commercial.pic": 100,
    "us.commercial.pic_airplane": 50, "us.commercial.pic_cross_country": 50,
    "us.commercial.pic_cross_country_airplane": 10, "us.commercial.dual": 20, "us.commercial.dual_instrument": 10,
    "us.commercial.dual_instrument_single": 5, "us.commercial.dual_complex": 10, "us.commercial.test_preparation": 3,
    "us.commercial.solo": 10, "us.commercial.solo_night": 5, "us.commercial.solo_night_landings": 10,
    "us.commercial.solo_night_takeoffs": 10,
}  # fmt: skip


def test_the_numbers_of_61_109_and_61_129_published() -> None:
    rules = {r.id: r for r in load_rules("us").experience}
    assert {k: rules[k].at_least for k in PUBLISHED} == PUBLISHED
    one = {
        "us.private.night_cross_country", "us.private.solo_long", "us.commercial.day_cross_country",
        "us.commercial.night_cross_country", "us.commercial.solo_long",
    }  # fmt: skip
    assert set(rules) - set(PUBLISHED) - one == {"us.private.solo_towered_takeoffs"}


def test_the_part_fcl_numbers_published() -> None:
    """FCL.210.A: 45 h, 25 dual, 10 supervised solo, 5 solo cross-country, one of 270 km (150 NM). [V]"""
    rules = {r.id: r for r in load_rules("eu").experience}
    assert [rules[f"eu.ppl.{k}"].at_least for k in ("total", "dual", "solo", "solo_cross_country")] == [45, 25, 10, 5]
    long = rules["eu.ppl.solo_long"].one_flight
    assert long is not None
    assert (long.distance_at_least_km, long.other_full_stop_points) == (270, 2)


def test_hours_add_up_and_what_is_left_is_said() -> None:
    flights = [flown(total=1.3, dual=1.3), flown(total=0.7, dual=0.7), flown(role="solo", total=1.0, solo=1.0)]
    total = line("private", "us.private.total", *flights)
    assert (total.have, total.left, total.flights, total.met) == (3.0, 37.0, 3, False)
    assert line("private", "us.private.dual", *flights).have == 2.0
    assert line("private", "us.private.solo", *flights).have == 1.0


def test_time_in_common_is_the_least_it_must_be() -> None:
    """2.0 h of which 1.2 dual and 1.1 at night: at least 0.3 h were both; 0.5 dual and 0.5 night may never have met."""
    both = flown(total=2.0, dual=1.2, night=1.1).flight
    apart = flown(total=2.0, dual=0.5, night=0.5).flight
    assert common_s(both, ("dual", "night")) == pytest.approx(0.3 * H)
    assert common_s(apart, ("dual", "night")) == 0.0
    whole = flown(total=2.0, dual=2.0, night=1.1, cross_country=2.0).flight
    assert common_s(whole, ("dual", "night", "cross_country")) == pytest.approx(1.1 * H)


@given(st.lists(st.tuples(st.booleans(), st.booleans(), st.booleans()), min_size=1, max_size=60))
def test_time_in_common_is_never_more_than_was_flown(minutes: list[tuple[bool, bool, bool]]) -> None:
    """Each minute of a made-up flight is dual or not, dark or not, cross-country or not: the truth is counted."""
    truth = sum(all(m) for m in minutes)
    kinds = [sum(m[i] for m in minutes) / 60.0 for i in range(3)]
    flight = flown(total=len(minutes) / 60.0, dual=kinds[0], night=kinds[1], cross_country=kinds[2]).flight
    found = common_s(flight, ("dual", "night", "cross_country"))
    assert 0.0 <= found <= truth * 60.0 + 1e-6
    if all(k in (0.0, flight.total_s / H) for k in kinds[:2]):
        assert found == pytest.approx(truth * 60.0)


def test_a_twin_and_an_unknown_airplane_do_not_count_as_single_engine() -> None:
    flights = [flown(role="solo", airplane=a, total=1.0, solo=1.0) for a in (SINGLE, TWIN, None)]
    solo = line("private", "us.private.solo", *flights)
    assert solo.have == 1.0
    assert "1 flight without an airplane" in solo.remark
    assert line("private", "us.private.total", *flights).have == 3.0


def test_a_glider_counts_to_the_total_but_not_as_powered() -> None:
    flights = [flown(role="pic", airplane=GLIDER, total=10.0, pic=10.0), flown(role="pic", total=5.0, pic=5.0)]
    assert line("commercial", "us.commercial.total", *flights).have == 15.0
    assert line("commercial", "us.commercial.powered", *flights).have == 5.0
    assert line("commercial", "us.commercial.pic_airplane", *flights).have == 5.0


def test_only_complex_or_technically_advanced_airplanes_count_to_the_ten_hours() -> None:
    got = date(2025, 1, 1)
    flights = [flown(airplane=a, total=2.0, dual=2.0) for a in (SINGLE, COMPLEX)]
    assert line("commercial", "us.commercial.dual_complex", *flights, private=got).have == 2.0


def test_commercial_training_counts_from_the_private_certificate() -> None:
    flights = [flown(day=date(2025, m, 1), total=1.0, dual=1.0) for m in (1, 6, 12)]
    counted = line("commercial", "us.commercial.dual", *flights, private=date(2025, 6, 1))
    assert counted.have == 2.0
    unknown = line("commercial", "us.commercial.dual", *flights)
    assert unknown.have == 3.0
    assert "not on record" in unknown.remark


# 14 CFR 61.109(a)(4): "within the preceding 2 calendar months from the month of the test". [V]
@pytest.mark.parametrize(
    ("day", "counts"),
    [(date(2026, 3, 31), False), (date(2026, 4, 1), True), (date(2026, 6, 14), True), (date(2026, 6, 16), False)],
)
def test_test_preparation_counts_in_the_two_calendar_months_before_the_month_published(day: date, counts: bool) -> None:
    flight = flown(day=day, total=1.0, dual=1.0, test_preparation=1.0)
    assert line("private", "us.private.test_preparation", flight, test_on=date(2026, 6, 15)).have == float(counts)


def test_the_window_before_a_test_in_february_reaches_into_december() -> None:
    flights = [flown(day=d, total=1.0, dual=1.0, test_preparation=1.0) for d in (date(2025, 11, 30), date(2025, 12, 1))]
    assert line("private", "us.private.test_preparation", *flights, test_on=date(2026, 2, 3)).have == 1.0


def solo_long(**facts: Any) -> LoggedFlight:
    return flown(role="solo", total=2.5, solo=2.5, cross_country=2.5, **facts)


# 14 CFR 61.109(a)(5)(ii): 150 NM total, full-stop landings at 3 points, one segment of more than 50 NM. [V]
@pytest.mark.parametrize(
    ("facts", "fits"),
    [
        ({"distance": 150.0, "longest_leg": 50.1, "full_stop_points": 3}, True),
        ({"distance": 149.9, "longest_leg": 60.0, "full_stop_points": 3}, False),
        ({"distance": 160.0, "longest_leg": 50.0, "full_stop_points": 3}, False),  # more than 50, not 50
        ({"distance": 160.0, "longest_leg": 60.0, "full_stop_points": 2}, False),
    ],
)
def test_the_long_solo_cross_country_published(facts: dict[str, Any], fits: bool) -> None:
    assert line("private", "us.private.solo_long", solo_long(**facts)).met == fits


def test_a_long_cross_country_without_distances_is_not_counted_but_said() -> None:
    found = line("private", "us.private.solo_long", solo_long())
    assert not found.met
    assert "no distances on record" in found.remark


# 14 CFR 61.129(a)(3)(iii), (iv) and (4)(i): 2 h, more than 100 NM straight; 300 NM, 250 NM straight, 3 points. [V]
def test_the_commercial_cross_countries_published() -> None:
    got = date(2020, 1, 1)
    day = flown(total=2.0, dual=2.0, cross_country=2.0, farthest_landing=100.1)
    assert line("commercial", "us.commercial.day_cross_country", day, private=got).met
    short = flown(total=1.9, dual=1.9, cross_country=1.9, farthest_landing=120.0)
    assert not line("commercial", "us.commercial.day_cross_country", short, private=got).met
    exactly = flown(total=2.0, dual=2.0, cross_country=2.0, farthest_landing=100.0)
    assert not line("commercial", "us.commercial.day_cross_country", exactly, private=got).met
    dusk = flown(total=2.5, dual=2.5, cross_country=2.5, night=0.5, farthest_landing=120.0)
    assert not line("commercial", "us.commercial.day_cross_country", dusk, private=got).met
    assert not line("commercial", "us.commercial.night_cross_country", dusk, private=got).met  # 0.5 h of night, not 2
    night = flown(total=2.2, dual=2.2, cross_country=2.2, night=2.2, farthest_landing=120.0)
    assert line("commercial", "us.commercial.night_cross_country", night, private=got).met
    long = flown(
        role="solo", total=5.0, solo=5.0, cross_country=5.0, distance=510.0, farthest_landing=250.0, landing_points=3
    )  # fmt: skip
    assert line("commercial", "us.commercial.solo_long", long, private=got).met


def test_night_landings_count_when_dual_by_night_and_to_a_full_stop() -> None:
    def moves(*, night: bool, full_stop: bool) -> tuple[Movement, ...]:
        return Movement("landing", 4, night=night, full_stop=full_stop), Movement("takeoff", 4, night=True)

    flights = [
        flown(total=1.0, dual=1.0, night=1.0, movements=moves(night=True, full_stop=True)),
        flown(total=1.0, dual=1.0, night=1.0, movements=moves(night=True, full_stop=False)),  # touch-and-goes
        flown(total=1.0, dual=1.0, movements=moves(night=False, full_stop=True)),  # by day
        flown(role="solo", total=1.0, solo=1.0, night=1.0, movements=moves(night=True, full_stop=True)),
    ]
    assert line("private", "us.private.night_landings", *flights).have == 4
    assert line("private", "us.private.night_takeoffs", *flights).have == 12


def test_a_flight_after_the_test_is_not_counted() -> None:
    assert line("private", "us.private.total", flown(day=TODAY + timedelta(days=1), total=1.0)).have == 0.0


@given(st.lists(st.floats(0.1, 5.0).map(lambda h: round(h, 1)), max_size=60))
def test_more_flights_never_leave_more_to_fly(hours: list[float]) -> None:
    flights = [flown(total=h, dual=h) for h in hours]
    left = [line("private", "us.private.dual", *flights[:n]).left for n in range(0, len(flights) + 1, 7)]
    assert left == sorted(left, reverse=True)
