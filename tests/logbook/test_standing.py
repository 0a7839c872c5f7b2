"""What forbids a lesson: published regulation cases by their id, worked by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.logbook.experience import LoggedFlight
from airwork.logbook.held import Validity, best, running_out, validity
from airwork.logbook.night import is_late_night, is_logged_night, night_s
from airwork.logbook.recency import most_training_s, recent
from airwork.logbook.records import AirplaneEntry, Held, Movement, Person
from airwork.logbook.rules import InstructorLimit, load_rules
from airwork.logbook.standing import LessonAsked, Standing, standing
from airwork.units import NM_M
from logbook.test_experience import flown

RULES = load_rules("us")
ZONE = "America/Denver"
HOME = (math.radians(40.0), math.radians(-105.0))
LARKMOOR = AirplaneEntry("a", "N1", "Larkmoor 155")
STUDENT = Person("s", "Ann Example", is_student=True, born_on=date(1990, 2, 3), time_zone=ZONE)
PRIVATE = replace(STUDENT, certificate_held="private")
TEACHER = Person("i", "Ike Teacher", is_instructor=True, certificate_held="commercial", time_zone=ZONE)
NOON = datetime(2026, 6, 15, 18, 0, tzinfo=UTC).timestamp()
DAY = date(2026, 6, 15)
H = 3600.0


def ask(role: str = "solo", start: float = NOON, hours: float = 1.0, **more: object) -> LessonAsked:
    facts: dict[str, object] = {"airplane": LARKMOOR, "position_rad": HOME} | more
    return LessonAsked(start, start + hours * H, ZONE, role, **facts)  # type: ignore[arg-type]


def held(
    kind: str, on: date, *, expires: date | None = None, make_model: str = "Larkmoor 155", place: str = ""
) -> Validity:
    return validity(Held("x", f"us.{kind}", on, expires, make_model, place), RULES, STUDENT.born_on)


SOLO = ("endorsement.presolo_test", "endorsement.presolo_training", "endorsement.solo", "medical.third")


def solo_papers(on: date = DAY - timedelta(days=10), *more: Validity) -> list[Validity]:
    return [*(held(kind, on) for kind in SOLO), *more]


def judge(
    lesson: LessonAsked,
    pilot: Person = STUDENT,
    holds: Sequence[Validity] = (),
    flights: Sequence[LoggedFlight] = (),
    given_: Sequence[tuple[float, float]] = (),
    instructor: Person | None = None,
    instructor_holds: Sequence[Validity] = (),
) -> Standing:
    return standing(
        pilot, instructor, lesson, RULES, pilot_holds=holds, instructor_holds=instructor_holds, pilot_flights=flights,
        training_given=given_,
    )  # fmt: skip


def levels(found: Standing) -> dict[str, str]:
    return {f.rule_id: f.level for f in found.findings}


# --- Q17: night passenger currency -----------------------------------------------------------------

EVENING = datetime(
    2026, 6, 16, 4, 0, tzinfo=UTC
).timestamp()  # 22:00 MDT on 15 June; sunset is 20:32 (row N7: 02:32 UTC)


def night_landings(days_before: int, *, late: bool = True) -> LoggedFlight:
    moves = (
        Movement("takeoff", 3, night=True, late_night=late),
        Movement("landing", 3, full_stop=True, night=True, late_night=late),
    )
    return flown(day=DAY - timedelta(days=days_before), role="pic", total=1.0, pic=1.0, night=1.0, movements=moves)


@pytest.mark.parametrize(("days_before", "current"), [(90, True), (91, False)])
def test_q17_three_night_landings_90_days_ago_count_and_91_do_not_published(days_before: int, current: bool) -> None:
    """Q17, 14 CFR 61.57(b). [V] Passenger flight 22:00–23:00."""
    found = judge(ask("pic", EVENING, passengers=1), PRIVATE, flights=[night_landings(days_before)])
    assert levels(found)["us.recent.passengers_night"] == ("fine" if current else "forbids")


def test_q17_a_landing_40_minutes_after_sunset_is_night_but_does_not_count_published() -> None:
    """Q17: the window opens 1 h after sunset. Sunset at 40° N 105° W on 21 June 2025 is 02:32:26 UTC (row N7)."""
    sunset = datetime(2025, 6, 22, 2, 32, 26, tzinfo=UTC).timestamp()
    assert is_logged_night(sunset + 40 * 60.0, HOME)
    assert not is_late_night(sunset + 40 * 60.0, HOME, ZONE, RULES.night)
    assert not is_late_night(sunset + 58 * 60.0, HOME, ZONE, RULES.night)
    assert is_late_night(sunset + 62 * 60.0, HOME, ZONE, RULES.night)
    early = judge(ask("pic", EVENING, passengers=1), PRIVATE, flights=[night_landings(10, late=False)])
    assert levels(early)["us.recent.passengers_night"] == "forbids"


def test_the_passengers_night_ends_an_hour_before_sunrise() -> None:
    """Sunrise at 40° N 105° W on 21 June 2025 is 11:31:25 UTC (row N7)."""
    sunrise = datetime(2025, 6, 21, 11, 31, 25, tzinfo=UTC).timestamp()
    assert is_late_night(sunrise - 62 * 60.0, HOME, ZONE, RULES.night)
    assert not is_late_night(sunrise - 58 * 60.0, HOME, ZONE, RULES.night)
    assert is_logged_night(sunrise - 35 * 60.0, HOME)  # dawn is 10:58:32


def test_night_time_is_counted_from_civil_dusk() -> None:
    """Row N7: dusk at 03:05:18 UTC; a flight from 02:50 to 03:50 has 44.7 min of night."""
    start = datetime(2025, 6, 22, 2, 50, tzinfo=UTC).timestamp()
    assert night_s(start, start + H, HOME, HOME) / 60.0 == pytest.approx(44.7, abs=1.0)


def test_in_polar_night_every_hour_counts_and_in_polar_day_none() -> None:
    north = (math.radians(78.0), math.radians(15.0))
    winter = datetime(2026, 12, 21, 11, 0, tzinfo=UTC).timestamp()
    summer = datetime(2026, 6, 21, 23, 0, tzinfo=UTC).timestamp()
    assert is_late_night(winter, north, "Arctic/Longyearbyen", RULES.night)
    assert not is_late_night(summer, north, "Arctic/Longyearbyen", RULES.night)


# --- 61.57(a): passengers by day -------------------------------------------------------------------


def landings(
    number: int, days_before: int, airplane: AirplaneEntry = LARKMOOR, *, full_stop: bool = False
) -> LoggedFlight:
    moves = (Movement("takeoff", number), Movement("landing", number, full_stop=full_stop))
    return flown(
        day=DAY - timedelta(days=days_before), airplane=airplane, role="pic", total=1.0, pic=1.0, movements=moves
    )


def test_three_landings_in_90_days_to_carry_passengers_published() -> None:
    """14 CFR 61.57(a). [V] Worked by hand: 2 on day 90 and 1 on day 5 are three; the third falls out the next day."""
    rule = next(r for r in RULES.recency if r.id == "us.recent.passengers")
    flights = [landings(2, 90), landings(1, 5)]
    today = recent(rule, flights, DAY, LARKMOOR)
    assert (today.met, today.takeoffs, today.landings, today.until) == (True, 3, 3, DAY)
    assert not recent(rule, flights, DAY + timedelta(days=1), LARKMOOR).met


def test_the_day_currency_ends_is_the_last_day_it_holds() -> None:
    rule = next(r for r in RULES.recency if r.id == "us.recent.passengers")
    flights = [landings(1, n) for n in (1, 20, 44, 80)]
    found = recent(rule, flights, DAY, LARKMOOR)
    assert found.until == DAY - timedelta(days=44) + timedelta(days=90)
    assert recent(rule, flights, found.until, LARKMOOR).met
    assert not recent(rule, flights, found.until + timedelta(days=1), LARKMOOR).met


def test_another_class_does_not_count_and_a_tailwheel_needs_full_stops() -> None:
    rule = next(r for r in RULES.recency if r.id == "us.recent.passengers")
    twin = replace(LARKMOOR, aircraft_class="multi_engine_land")
    tail = replace(LARKMOOR, tailwheel=True)
    assert not recent(rule, [landings(3, 1, twin)], DAY, LARKMOOR).met
    assert not recent(rule, [landings(3, 1)], DAY, tail).met  # nosewheel landings don't count for a tailwheel
    assert not recent(rule, [landings(3, 1, tail)], DAY, tail).met  # touch-and-goes don't either
    assert recent(rule, [landings(3, 1, tail, full_stop=True)], DAY, tail).met
    assert recent(rule, [landings(3, 1, tail, full_stop=True)], DAY, LARKMOOR).met


def test_landings_another_hand_flew_do_not_count() -> None:
    rule = next(r for r in RULES.recency if r.id == "us.recent.passengers")
    one = landings(3, 1)
    theirs = replace(one, flight=replace(one.flight, sole_manipulator=False))
    assert not recent(rule, [theirs], DAY, LARKMOOR).met


def test_no_recency_is_asked_without_passengers() -> None:
    assert "us.recent.passengers" not in levels(judge(ask("pic"), PRIVATE))


# --- Q19: solo to another airport ------------------------------------------------------------------


def test_q19_solo_landing_24_nm_away_needs_its_endorsement_published() -> None:
    """Q19, 14 CFR 61.93(b)(1). [V]"""
    trip = ask(farthest_m=24.0 * NM_M, other_places=("NEAR",))
    without = judge(trip, holds=solo_papers())
    assert levels(without)["us.need.solo_landing_within_25"] == "forbids"
    assert without.answer == "forbidden"
    given_ = held("endorsement.solo_other_airport", DAY - timedelta(days=5), place="NEAR")
    with_it = judge(trip, holds=solo_papers(DAY - timedelta(days=10), given_))
    assert levels(with_it)["us.need.solo_landing_within_25"] == "fine"
    elsewhere = held("endorsement.solo_other_airport", DAY - timedelta(days=5), place="OTHER")
    assert judge(trip, holds=solo_papers(DAY - timedelta(days=10), elsewhere)).answer == "forbidden"


def test_solo_in_the_home_pattern_needs_no_cross_country_endorsement() -> None:
    found = judge(ask(), holds=solo_papers())
    assert not any(name.startswith("us.need.solo_cross") or "25" in name for name in levels(found))
    assert found.answer == "allowed"


def test_beyond_25_nm_repeated_flights_to_50_or_an_endorsement_for_the_flight_published() -> None:
    """14 CFR 61.93(a), (b)(2), (c): more than 25 NM, 50 NM. [V]; the chain of endorsements [M]."""
    category = held("endorsement.solo_cross_country", DAY - timedelta(days=60))
    repeated = held("endorsement.solo_repeated", DAY - timedelta(days=60), place="MIDD")
    today = held("endorsement.solo_cross_country_flight", DAY)
    yesterday = held("endorsement.solo_cross_country_flight", DAY - timedelta(days=1))
    papers = solo_papers()
    forty = ask(farthest_m=40.0 * NM_M, other_places=("MIDD",))
    sixty = ask(farthest_m=60.0 * NM_M, other_places=("FARR",))
    assert judge(forty, holds=papers).answer == "forbidden"
    assert judge(forty, holds=[*papers, category, repeated]).answer == "allowed"
    assert judge(sixty, holds=[*papers, category, repeated]).answer == "forbidden"
    assert judge(sixty, holds=[*papers, category, yesterday]).answer == "forbidden"
    assert judge(sixty, holds=[*papers, category, today]).answer == "allowed"


def test_a_place_that_is_not_known_asks_the_question() -> None:
    unknown = ask(farthest_m=None, other_places=("FARR",))
    assert judge(unknown, holds=solo_papers()).answer == "forbidden"


# --- Solo endorsement, medical, flight review ------------------------------------------------------


@pytest.mark.parametrize(("days_before", "good"), [(0, True), (90, True), (91, False)])
def test_the_solo_endorsement_lasts_90_days_published(days_before: int, good: bool) -> None:
    """14 CFR 61.87(n): within the 90 days preceding the date of the flight. [V]"""
    papers = solo_papers(DAY - timedelta(days=days_before))
    assert levels(judge(ask(), holds=papers))["us.need.solo"] in ({"fine", "runs out"} if good else {"forbids"})


def test_a_solo_endorsement_for_another_model_does_not_count_published() -> None:
    """14 CFR 61.87(n): for the specific make and model. [V]"""
    papers = [held(kind, DAY, make_model="Wrenbrook 108") for kind in SOLO]
    assert levels(judge(ask(), holds=papers))["us.need.solo"] == "forbids"


def test_solo_at_night_needs_the_night_endorsement() -> None:
    found = judge(ask(start=EVENING), holds=solo_papers())
    assert levels(found)["us.need.solo_night"] == "forbids"
    with_it = judge(ask(start=EVENING), holds=[*solo_papers(), held("endorsement.solo_night", DAY)])
    assert levels(with_it)["us.need.solo_night"] == "fine"


def test_while_day_or_night_is_not_known_the_night_endorsement_is_asked_for_and_forbids_nothing() -> None:
    unknown = judge(ask(start=EVENING, position_rad=None), holds=solo_papers())
    assert levels(unknown)["us.need.solo_night"] == "not on record"
    assert unknown.answer == "not shown"
    said = next(f.text for f in unknown.findings if f.rule_id == "us.need.solo_night")
    assert said.endswith("(asked for by night; by day or night: not known)")
    told = judge(ask(start=EVENING, position_rad=None, night=True, late_night=True), holds=solo_papers())
    assert levels(told)["us.need.solo_night"] == "forbids"
    by_day = judge(ask(start=EVENING, position_rad=None, night=False, late_night=False), holds=solo_papers())
    assert "us.need.solo_night" not in levels(by_day)


def test_a_student_carries_nobody_and_commands_only_alone() -> None:
    assert judge(ask("pic"), holds=solo_papers()).answer == "forbidden"
    assert judge(ask("solo", passengers=1), holds=solo_papers()).answer == "forbidden"


# Third-class medical, 14 CFR 61.23(d): 60th month after under 40, 24th from 40, last day of the month. [V]
@pytest.mark.parametrize(
    ("born", "exam", "last"),
    [
        (date(1990, 2, 3), date(2024, 2, 29), date(2029, 2, 28)),
        (date(1984, 3, 1), date(2024, 2, 29), date(2029, 2, 28)),  # 40 the day after the exam
        (date(1984, 2, 29), date(2024, 2, 29), date(2026, 2, 28)),  # 40 on the day
        (date(1960, 1, 1), date(2015, 5, 15), date(2017, 5, 31)),  # worked on a public page
    ],
)
def test_how_long_a_medical_lasts_published(born: date, exam: date, last: date) -> None:
    assert validity(Held("m", "us.medical.third", exam, None), RULES, born).until == last


def test_without_a_birth_date_the_shorter_time_is_taken_and_said() -> None:
    found = validity(Held("m", "us.medical.third", date(2025, 6, 15), None), RULES, None)
    assert found.until == date(2027, 6, 30)
    assert "birth date" in found.remark


def test_what_is_written_on_it_goes_before_the_rule() -> None:
    found = validity(Held("m", "us.medical.third", date(2025, 6, 15), date(2025, 12, 1)), RULES, STUDENT.born_on)
    assert found.until == date(2025, 12, 1)


def test_a_medical_that_ran_out_forbids_and_one_not_on_record_is_asked_for() -> None:
    out = judge(ask("pic"), PRIVATE, holds=[held("medical.third", date(2020, 1, 1))])
    assert levels(out)["us.need.medical"] == "forbids"
    nothing = judge(ask("pic"), PRIVATE)
    assert levels(nothing)["us.need.medical"] == "not on record"
    assert nothing.answer == "not shown"


@pytest.mark.parametrize(("review", "good"), [(date(2024, 6, 1), True), (date(2024, 5, 31), False)])
def test_the_flight_review_counts_24_calendar_months_published(review: date, good: bool) -> None:
    """14 CFR 61.56(c): since the beginning of the 24th calendar month before the month of the flight. [V]"""
    holds = [held("medical.third", DAY - timedelta(days=100)), held("flight_review", review)]
    found = judge(ask("pic"), PRIVATE, holds=holds)
    # Good to the end of June: fifteen days are left.
    assert levels(found)["us.need.flight_review"] == ("fine" if good else "forbids")


def test_a_student_pilot_needs_no_flight_review_published() -> None:
    """14 CFR 61.56(g). [V]"""
    assert "us.need.flight_review" not in levels(judge(ask(), holds=solo_papers()))


def test_a_practical_test_stands_for_the_review() -> None:
    holds = [held("medical.third", DAY), held("practical_test", date(2025, 1, 1))]
    assert levels(judge(ask("pic"), PRIVATE, holds=holds))["us.need.flight_review"] == "fine"


def test_a_complex_airplane_asks_for_its_endorsement() -> None:
    plane = replace(LARKMOOR, complex=True)
    assert levels(judge(ask("pic", airplane=plane), PRIVATE))["us.need.complex"] == "not on record"
    assert "us.need.complex" not in levels(judge(ask("pic"), PRIVATE))


# --- Q20: the instructor's day ---------------------------------------------------------------------


def lesson_of(hours: float, *given_: tuple[float, float]) -> Standing:
    blocks = [(NOON + a * H, NOON + b * H) for a, b in given_]
    return judge(ask("dual", hours=hours), instructor=TEACHER, given_=blocks)


def test_q20_7_6_hours_and_a_lesson_of_0_6_exceed_8_published() -> None:
    """Q20, 14 CFR 61.195(a). [V]"""
    found = lesson_of(0.6, (-20.0, -16.0), (-6.0, -2.4))
    assert levels(found)["us.instructor.day"] == "forbids"
    assert any("8.2 h" in f.text for f in found.findings)
    assert levels(lesson_of(0.4, (-20.0, -16.0), (-6.0, -2.4)))["us.instructor.day"] == "fine"  # 8.0 h is allowed


def test_training_more_than_24_hours_before_the_lessons_end_has_left_the_window() -> None:
    assert levels(lesson_of(1.0, (-30.0, -23.0)))["us.instructor.day"] == "fine"


def test_the_24_hours_do_not_begin_at_midnight() -> None:
    """Six hours to 22:00 leave two until 22:00 the next day; worked on a public page. [V]"""
    limit = RULES.instructor_limit[0]
    ten_pm = 0.0
    before = [(ten_pm - 6 * H, ten_pm)]
    assert most_training_s(limit, before, (ten_pm + 10 * H, ten_pm + 13 * H)) == 9 * H
    assert most_training_s(limit, before, (ten_pm + 10 * H, ten_pm + 12 * H)) == 8 * H
    # A lesson that begins 23 h after the others ended: any 24 h with the whole lesson hold nothing of theirs.
    assert most_training_s(limit, before, (ten_pm + 23 * H, ten_pm + 26 * H)) == 3 * H
    assert most_training_s(limit, before, (ten_pm + 20 * H, ten_pm + 21 * H)) == 4 * H


BLOCKS = st.lists(st.tuples(st.integers(-30, 30), st.integers(1, 4)), max_size=8)


@given(BLOCKS, st.integers(1, 5))
def test_the_most_training_in_a_window_agrees_with_counting_minutes(blocks: list[tuple[int, int]], hours: int) -> None:
    """Brute force: every stretch of 24 h that touches the lesson, to the quarter hour."""
    taken = sorted(blocks)
    apart = [
        b for b, nxt in pairwise([*taken, (99, 0)]) if b[0] + b[1] <= nxt[0] and (b[0] >= hours or b[0] + b[1] <= 0)
    ]
    given_ = [(a * H, (a + n) * H) for a, n in apart]
    limit = InstructorLimit(id="x", text="x", hours=8, within_h=24, source="x", label="P")
    spans = [*given_, (0.0, hours * H)]

    def inside(end: float) -> float:
        return sum(max(0.0, min(b, end) - max(a, end - 24 * H)) for a, b in spans)

    brute = max(inside(q * 0.25 * H) for q in range(1, int((hours + 24) * 4)))
    assert most_training_s(limit, given_, (0.0, hours * H)) == pytest.approx(brute, abs=0.26 * H)
    assert most_training_s(limit, given_, (0.0, hours * H)) >= brute - 1e-6


# --- Held and running out --------------------------------------------------------------------------


def test_what_runs_out_within_60_days_is_listed_and_renewed_things_are_not() -> None:
    holdings = [
        held("medical.third", date(2021, 7, 20)),  # to 31 July 2026
        held("flight_review", date(2024, 5, 1)),  # ran out on 31 May 2026
        held("endorsement.solo", DAY - timedelta(days=100)),
        held("endorsement.solo", DAY - timedelta(days=5)),  # renewed
        held("endorsement.complex", date(2010, 1, 1)),  # for ever
        held("knowledge_test", date(2026, 1, 5)),  # to 31 January 2028
    ]
    found = [(v.held.kind, v.until) for v in running_out(holdings, DAY)]
    assert found == [("us.flight_review", date(2026, 5, 31)), ("us.medical.third", date(2026, 7, 31))]


def test_the_endorsement_good_longest_is_taken() -> None:
    old, new = held("endorsement.solo", date(2026, 1, 1)), held("endorsement.solo", date(2026, 6, 1))
    assert best("us.endorsement.solo", [old, new], DAY, make_model="larkmoor  155") is new
    assert best("us.endorsement.solo", [new], date(2026, 5, 1), make_model="Larkmoor 155") is None


def test_the_findings_become_reasons_of_the_lessons_verdict() -> None:
    from airwork.lesson.verdict import combine

    assert combine(judge(ask()).reasons).level == "no-go"
    assert combine(judge(ask("pic"), PRIVATE).reasons).level == "think"
    assert combine(judge(ask(), holds=solo_papers()).reasons).level == "go"


def test_memory_is_called_memory() -> None:
    finding = next(f for f in judge(ask(start=EVENING), holds=solo_papers()).findings if f.label == "M")
    assert "from memory" in finding.known
