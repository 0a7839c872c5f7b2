"""The shipped standards against the printed numbers, by the ids of the worked examples, section Q.

Sources: FAA-S-ACS-6C (Nov 2023), FAA-S-ACS-6B (June 2018) where 6C's tables were missing, FAA-S-ACS-7B (Nov 2023),
AMC1 FCL.235. Labels as in the data files: [V] verified, [M] from memory, [P] common practice.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from airwork.errors import InputError
from airwork.standards import Standard, available, load_standard
from airwork.units import from_unit
from airwork.values import LABELS


def inside(standard: Standard, kind: str, quantity: str, deviation: float, unit: str) -> bool:
    """A deviation in printed units is inside the task's limit."""
    criterion = standard.task(kind).criterion(quantity)
    assert criterion is not None
    assert criterion.unit == unit
    return criterion.holds(deviation if unit == "turns" else from_unit(deviation, unit))


PRIVATE, COMMERCIAL, PPL = load_standard("private"), load_standard("commercial"), load_standard("easa_ppl")

# (id, standard, kind, quantity, deviation, unit, inside); worked-examples.md section Q, basis [V] unless said
PUBLISHED = [
    ("Q1 lowest 3,401 of 3,500", PRIVATE, "steep_turn", "altitude", -99, "ft", True),
    ("Q1 highest 3,600", PRIVATE, "steep_turn", "altitude", 100, "ft", True),
    ("Q1 bank 41", PRIVATE, "steep_turn", "bank", 41 - 45, "deg", True),
    ("Q1 bank 50", PRIVATE, "steep_turn", "bank", 50 - 45, "deg", True),
    ("Q1 92 kt around 100", PRIVATE, "steep_turn", "ias", -8, "kt", True),
    ("Q1 110 kt around 100", PRIVATE, "steep_turn", "ias", 10, "kt", True),
    ("Q1 roll-out +9", PRIVATE, "steep_turn", "rollout_heading", 9, "deg", True),
    ("Q2 commercial bank 44", COMMERCIAL, "steep_turn", "bank", 44 - 50, "deg", False),
    ("Q2 commercial bank 45", COMMERCIAL, "steep_turn", "bank", 45 - 50, "deg", True),
    ("Q3 private 54 of 55", PRIVATE, "slow_flight", "ias", -1, "kt", False),
    ("Q3 commercial 54 of 55", COMMERCIAL, "slow_flight", "ias", -1, "kt", False),
    ("Q4 private 61 of 55", PRIVATE, "slow_flight", "ias", 6, "kt", True),
    ("Q4 commercial 61 of 55", COMMERCIAL, "slow_flight", "ias", 6, "kt", False),
    ("Q5 private 205 ft", PRIVATE, "short_field_landing", "touchdown_distance", 205, "ft", False),
    ("Q5 private 150 ft", PRIVATE, "short_field_landing", "touchdown_distance", 150, "ft", True),
    ("Q5 private 5 ft short", PRIVATE, "short_field_landing", "touchdown_distance", -5, "ft", False),
    ("Q5 commercial 205 ft", COMMERCIAL, "short_field_landing", "touchdown_distance", 205, "ft", False),
    ("Q5 commercial 150 ft", COMMERCIAL, "short_field_landing", "touchdown_distance", 150, "ft", False),
    ("Q5 commercial 5 ft short", COMMERCIAL, "short_field_landing", "touchdown_distance", -5, "ft", False),
    ("Q6 private 350 ft", PRIVATE, "landing", "touchdown_distance", 350, "ft", True),
    ("Q6 commercial 350 ft", COMMERCIAL, "landing", "touchdown_distance", 350, "ft", False),
    ("Q7 chandelle 171 of 180", COMMERCIAL, "chandelle", "turn180_heading", -9, "deg", True),
    ("Q8 lazy eight altitude +90", COMMERCIAL, "lazy_eight", "turn180_altitude", 90, "ft", True),
    ("Q8 lazy eight speed -12", COMMERCIAL, "lazy_eight", "turn180_ias", -12, "kt", False),
    ("Q8 lazy eight heading +8", COMMERCIAL, "lazy_eight", "turn180_heading", 8, "deg", True),
    ("Q9 emergency descent 121 of 120", PRIVATE, "emergency_descent", "ias", 1, "kt", False),
    ("Q9 emergency descent 110 of 120", COMMERCIAL, "emergency_descent", "ias", -10, "kt", True),
    ("Q10 power-off 180, 195 ft", COMMERCIAL, "power_off_180", "touchdown_distance", 195, "ft", True),
    ("Q11 private 4 min", PRIVATE, "pilotage", "eta", 4, "min", True),
    ("Q11 private 2.5 NM", PRIVATE, "pilotage", "position", 2.5, "NM", True),
    ("Q11 commercial 4 min", COMMERCIAL, "pilotage", "eta", 4, "min", False),
    ("Q11 commercial 2.5 NM", COMMERCIAL, "pilotage", "position", 2.5, "NM", False),
    ("Q12 PPL +140 ft", PPL, "straight_and_level", "altitude", 140, "ft", True),
    ("Q12 PPL -14 kt", PPL, "straight_and_level", "ias", -14, "kt", True),
    ("Q12 PPL 9 deg", PPL, "straight_and_level", "heading", 9, "deg", True),
]


@pytest.mark.parametrize("case", PUBLISHED, ids=lambda case: case[0])
def test_a_deviation_falls_on_the_side_the_standard_prints_published(case: tuple) -> None:
    """Rows Q1 to Q12: limits are inclusive, one-sided ones one-sided."""
    _, standard, kind, quantity, deviation, unit, expected = case
    assert inside(standard, kind, quantity, deviation, unit) is expected


# standards.md section 2.1 and 2.2, column "min alt": [V S2], [V S3]
@pytest.mark.parametrize(
    ("standard", "kind", "feet"),
    [
        (PRIVATE, "slow_flight", 1500), (PRIVATE, "power_off_stall", 1500), (PRIVATE, "power_on_stall", 1500),
        (COMMERCIAL, "accelerated_stall", 3000), (COMMERCIAL, "steep_spiral", 1500), (COMMERCIAL, "chandelle", 1500),
        (COMMERCIAL, "lazy_eight", 1500), (PRIVATE, "turns_around_point", 600), (PRIVATE, "steep_turn", None),
    ],
)  # fmt: skip
def test_the_lowest_altitude_is_the_printed_one_published(standard: Standard, kind: str, feet: float | None) -> None:
    """Above ground; the private steep turn has none."""
    floor = standard.task(kind).min_agl_m
    assert floor == (None if feet is None else pytest.approx(from_unit(feet, "ft")))


def test_no_standard_limits_the_height_lost_in_a_stall_published() -> None:
    """FAA-S-ACS-6C, notes on stalls [V]: no altitude loss may be set beforehand."""
    for name in available():
        for kind in ("power_off_stall", "power_on_stall", "accelerated_stall"):
            assert not {c.quantity for c in load_standard(name).task(kind).criteria} & {
                "altitude",
                "level_off_altitude",
            }


def test_every_criterion_names_its_source_and_its_label() -> None:
    """A number without a source can't be shown to anyone."""
    for name in available():
        standard = load_standard(name)
        for task in standard.tasks.values():
            assert task.source in standard.documents, (name, task.kind)
            for criterion in task.criteria:
                assert criterion.source in standard.documents, (name, task.kind, criterion.name)
                assert criterion.label in LABELS
                assert criterion.text


def test_a_kind_the_standard_does_not_know_has_no_criteria_and_says_so() -> None:
    """The private standard has no chandelle: nothing is judged, nothing is invented."""
    task = PRIVATE.task("chandelle")
    assert task.criteria == ()
    assert "prints no number" in task.notes[0]


SCHOOL = """
extends = "us_private"
[standard]
id = "our_school"
title = "Our school"
[judging]
prompt_altitude_s = 6
[[task]]
kind = "steep_turn"
min_agl_ft = 2000
criteria = [{ name = "altitude", quantity = "altitude", low = -80, high = 80, unit = "ft" }]
"""


def test_a_school_can_tighten_a_task_and_a_threshold(tmp_path: Path) -> None:
    """The rest stays as the standard it extends; the school's threshold carries the school's name."""
    path = tmp_path / "school.toml"
    path.write_text(SCHOOL)
    own = load_standard(path)
    assert not inside(own, "steep_turn", "altitude", 90, "ft")
    assert own.task("steep_turn").criteria[0].label == "S"
    assert own.task("slow_flight") == PRIVATE.task("slow_flight")
    assert own.judging["prompt_altitude_s"] == 6
    assert own.judging.thresholds["prompt_altitude_s"].whose == "Our school"
    assert PRIVATE.judging.thresholds["prompt_altitude_s"].whose == "airwork"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("us_private", "us_privat", "did you mean"),
        ("prompt_altitude_s", "promt_altitude_s", "did you mean 'prompt_altitude_s'"),
        ("= 6", "= -6", "not negative"),
        ('quantity = "altitude"', 'quantity = "altitud"', "did you mean 'altitude'"),
        ('unit = "ft"', 'unit = "kt"', "not one of ft, m"),
        ("low = -80", "low = 90", "above high"),
        ("low = -80", "lo = -80", "unknown key; did you mean 'low'"),
        ("low = -80", "low = nan", "finite"),
        ("[standard]", "[standard", "not valid TOML"),
        ("min_agl_ft = 2000", "min_agl_ft = -1", "expected at least 0"),
        ("min_agl_ft = 2000", 'same_as = "tail_slide"', "names no task"),
    ],
)
def test_a_mistake_in_a_school_file_gets_one_clear_line(tmp_path: Path, old: str, new: str, says: str) -> None:
    """Each message names the place and what was expected."""
    assert old in SCHOOL
    path = tmp_path / "school.toml"
    path.write_text(SCHOOL.replace(old, new))
    with pytest.raises(InputError) as caught:
        load_standard(path)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_an_unknown_name_lists_the_known_ones() -> None:
    """A typing mistake gets the nearest name."""
    with pytest.raises(InputError, match="did you mean 'private'"):
        load_standard("privat")
    with pytest.raises(InputError, match="no such file"):
        load_standard("nowhere.toml")
