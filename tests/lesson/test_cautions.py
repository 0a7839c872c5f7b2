"""airwork's own cautions, whose they are, the authorities' rows, and what a simulator leaves out."""

from __future__ import annotations

import pytest

from airwork.errors import InputError, Where
from airwork.lesson.cautions import KINDS, STEPS, cautions_for, read_cautions
from airwork.lesson.file import parse_lesson
from airwork.lesson.rules import authority_of, read_authority
from airwork.lesson.verdict import OWN
from airwork.units import FT_M, KT_MPS, NM_M, SM_M
from lesson.verdict_rows import rows

KT = KT_MPS


def test_every_caution_has_a_number_for_dual_and_for_solo():
    for solo in (False, True):
        found = cautions_for(solo, {}, {}, {})
        for name in KINDS:
            step = found.step(name, "think")
            assert step is not None
            assert step.source == OWN


@pytest.mark.parametrize(
    ("name", "value", "level"),
    [
        ("wind", 19.9 * KT, "go"), ("wind", 20.0 * KT, "think"), ("wind", 30.0 * KT, "no-go"),
        ("gust_spread", 9.9 * KT, "go"), ("gust_spread", 20.0 * KT, "no-go"),
        ("spread", 2.1, "go"), ("spread", 2.0, "think"), ("climb", 1.6, "go"), ("climb", 0.5, "no-go"),
    ],
)  # fmt: skip
def test_a_caution_begins_at_its_number(name, value, level):
    """Pinned: 20 and 30 kt of mean wind, 10 and 20 of gust spread, 2 °C of spread, 300 and 100 fpm of climb."""
    assert cautions_for(False, {}, {}, {}).judge(name, value)[0] == level


def test_alone_the_student_meets_them_sooner():
    assert cautions_for(False, {}, {}, {}).judge("wind", 16 * KT)[0] == "go"
    assert cautions_for(True, {}, {}, {}).judge("wind", 16 * KT)[0] == "think"
    assert cautions_for(True, {}, {}, {}).judge("wind", 21 * KT)[0] == "no-go"


def test_the_school_sets_its_own_the_instructor_over_it_and_the_student_stricter_only():
    school = read_cautions({"wind": {"think": "25 kt", "stop": "33 kt"}}, Where("school"))
    teacher = read_cautions({"wind": {"think": "27 kt"}}, Where("instructor"))
    timid = read_cautions({"wind": {"think": "10 kt", "stop": "40 kt"}}, Where("student"))
    found = cautions_for(False, school, teacher, {})
    assert found.judge("wind", 26 * KT)[0] == "go"
    level, step = found.judge("wind", 28 * KT)
    assert (level, step.source) == ("think", "the instructor's caution")
    assert found.judge("wind", 34 * KT)[1].source == "the school's caution"
    strict = cautions_for(False, school, teacher, timid)
    assert strict.judge("wind", 11 * KT)[1].source == "the student's caution"
    assert strict.judge("wind", 34 * KT)[0] == "no-go", "a student's looser number does not count"


@pytest.mark.parametrize(
    "table",
    [{"winds": {"think": "20 kt"}}, {"wind": {"thinks": "20 kt"}}, {"wind": {"think": "20 lb"}}, {"wind": "20 kt"}],
)
def test_a_caution_that_is_none_is_one_line(table):
    with pytest.raises(InputError) as found:
        read_cautions(table, Where("lesson.toml", "school.cautions"))
    assert "school.cautions" in str(found.value)
    assert "\n" not in str(found.value)
    assert len(STEPS) == 4


def test_a_schools_file_is_read_for_many_lessons(tmp_path):
    (tmp_path / "school.toml").write_text(
        'name = "Dawn school"\n[limits]\nwind = "18 kt"\n[cautions]\nwind = { think = "12 kt" }\n', "utf-8"
    )
    base = next(r.text for r in rows("harmless.toml"))
    text = base + 'school = { file = "school.toml", limits = { crosswind = "9 kt" } }\n'
    school = parse_lesson(text, where="x.toml", folder=tmp_path).school
    assert school.name == "Dawn school"
    assert school.limits.wind_mps == pytest.approx(18 * KT)
    assert school.limits.crosswind_mps == pytest.approx(9 * KT)
    assert school.cautions["wind"]["think"] == pytest.approx(12 * KT)
    (tmp_path / "school.toml").write_text('[limit]\nwind = "18 kt"\n', "utf-8")
    with pytest.raises(InputError, match=r"school\.toml"):
        parse_lesson(text, where="x.toml", folder=tmp_path)


# Source: 14 CFR 61.89 (a)(6) [M], 61.93 [V], 91.211 [V], 91.129 to 91.131 [M].
def test_the_united_states_rows_published():
    us = authority_of("91.151")
    assert us.rule("student_alone", "visibility_day").number == pytest.approx(3 * SM_M)
    assert us.rule("student_alone", "visibility_night").number == pytest.approx(5 * SM_M)
    assert us.rule("student_alone", "distance").number == pytest.approx(25 * NM_M)
    after = us.rule("oxygen", "after")
    assert (after.number, after.longer_than_s) == (pytest.approx(12_500 * FT_M), 1800.0)
    assert us.rule("oxygen", "always").number == pytest.approx(14_000 * FT_M)
    assert "clearance" in us.rule("airspace", "B").text
    assert "from memory" in us.rule("airspace", "B").source
    assert "from memory" not in us.rule("oxygen", "after").source


# Source: Part-NCO.OP.190 [M]: above 10,000 ft for more than 30 min, above 13,000 ft always.
def test_another_authority_has_its_own_rows():
    eu = authority_of("NCO")
    assert eu.rule("oxygen", "after").number == pytest.approx(10_000 * FT_M)
    assert eu.rule("student_alone", "visibility_day") is None
    assert "private" not in eu.first_certificates


def test_a_row_without_source_and_label_is_refused():
    data = {"id": "x", "name": "x", "first_certificates": [], "oxygen": {"after": {"above": "10,000 ft"}}}
    with pytest.raises(InputError, match="source and label"):
        read_authority(data, "x.toml")


def test_a_simulator_lesson_has_the_same_numbers_and_no_weather(larkmoor, larkmoor_fit):
    from airwork.lesson.plan import build_briefing

    text = next(r.text for r in rows("hazards.toml") if r.id == "35 gusting 50 straight down the runway")
    real, simulated = (
        build_briefing(parse_lesson(t), larkmoor, performance=larkmoor_fit) for t in (text, text + "simulator = true\n")
    )
    assert (real.verdict.level, simulated.verdict.level) == ("no-go", "go")
    assert simulated.exercises == real.exercises
    assert simulated.fuel == real.fuel
    assert [r.topic for r in simulated.verdict.of("not checked")] == ["simulator"]
