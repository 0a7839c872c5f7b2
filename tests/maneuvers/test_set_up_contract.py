"""One contract for every room: a set-up is complete, or the refusal is one plain line."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from itertools import product

import pytest

from airwork.errors import AirworkError, InputError, NotPossible
from airwork.maneuvers import ROOMS, room
from airwork.maneuvers.setup import Order
from airwork.units import from_unit, to_unit
from maneuvers.days import AIRPLANES, DAYS, airplane, conditions, fitted, set_up, standard_for

HOWS = {"handbook table", "formula", "fitted model", "measured", "assumed", "given"}
CARD_LONGEST = 125  # two short lines on the card


@pytest.mark.parametrize("kind", ROOMS)
def test_every_room_is_complete_or_refuses_in_one_plain_line(kind: str) -> None:
    """Three airplanes, five days, by turns light and at the maximum: complete, or a pilot is told why."""
    for n, (name, day) in enumerate(product(AIRPLANES, DAYS)):  # an odd number of days: each is had at both
        try:
            made = set_up(kind, name, day, load=(0.8, 1.0)[n % 2])
        except AirworkError as refused:
            text = str(refused)
            assert len(text) > 30, (name, day, text)
            assert "\n" not in text, (name, day, text)
            assert "nan" not in text.lower().split(), text
            continue
        _complete(kind, made, name, day)


def _complete(kind: str, made: object, name: str, day: str) -> None:
    from airwork.maneuvers.setup import SetUp

    assert isinstance(made, SetUp)
    where = (kind, name, day)
    assert made.kind == kind, where
    assert made.title == room(kind).title, where
    assert made.entry_altitude_m >= made.floor_m - 0.5, where
    assert made.floor_why, where
    assert len(made.steps) >= 3, (where, "three steps at least")
    assert len(made.usual_errors) >= 3, (where, "three usual errors at least")
    assert made.cautions, where
    assert 10 <= len(made.card_line) <= CARD_LONGEST, (where, made.card_line)
    assert "nan" not in made.card_line, where
    assert made.duration_s > 0.0, where
    assert all(0.0 < use.power_ratio <= 1.0 for use in made.power), where
    assert len(made.numbers) >= 4, (where, "four numbers at least")
    for n in made.numbers:
        assert math.isfinite(n.value.value), (where, n)
        assert n.value.how in HOWS, (where, n)
        assert n.value.source, (where, n)
    assert all(math.isfinite(v) for v in made.targets.values()), (where, made.targets)
    assert {"altitude_m", "floor_m", "ias_mps"} <= set(made.targets), where
    for title, rows in made.tables.items():
        assert len({len(row) for row in rows}) == 1, (where, title)
        assert len(rows) > 1, (where, title)
    json.dumps(asdict(made), allow_nan=False)


@pytest.mark.parametrize("kind", ROOMS)
def test_no_room_refuses_a_standard_day_at_sea_level(kind: str) -> None:
    for name in AIRPLANES:
        for day in ("standard, calm", "standard, 15 kt"):
            set_up(kind, name, day)


@pytest.mark.parametrize("kind", [k for k in ROOMS if k != "instrument_basics"])
def test_the_tolerances_are_those_of_the_standard(kind: str) -> None:
    made, task = set_up(kind, "larkmoor_155", "standard, calm"), standard_for(kind).task(kind)
    assert [t.text for t in made.tolerances] == [c.text for c in task.criteria]
    if task.min_agl_m is not None:
        assert made.floor_m >= task.min_agl_m


def test_instrument_basics_carry_the_limits_of_all_four_tasks() -> None:
    made = set_up("instrument_basics", "larkmoor_155", "standard, calm")
    assert len(made.tolerances) == 12
    assert {t.source.split()[0] for t in made.tolerances} == {"PA.VIII.A", "PA.VIII.B", "PA.VIII.C", "PA.VIII.D"}


@pytest.mark.parametrize("kind", ROOMS)
def test_a_room_works_without_a_performance_model(kind: str) -> None:
    """It says that power has to be set by eye, or asks for nothing of the model; never a traceback."""
    name = "larkmoor_155"
    c = conditions(name, "standard, calm")
    try:
        made = room(kind).brief(Order(airplane(name), None, c, standard_for(kind), {}))
    except AirworkError:
        return
    assert made.card_line
    assert made.duration_s > 0.0


def test_the_dial_decides_the_printed_speed_and_not_the_speed() -> None:
    """Slow flight on a mph and on a knot dial: the same wing, the same speed within a mark and the calibration."""
    found = {}
    for dial in ("kt", "mph"):
        plane = airplane("larkmoor_155", dial)
        c = conditions("larkmoor_155", "standard, calm")
        made = room("slow_flight").brief(Order(plane, fitted("larkmoor_155", dial), c, standard_for("slow_flight"), {}))
        found[dial] = plane.cas_from_ias_mps(made.targets["ias_mps"], int(made.targets["flap_notch"]))
        line = next(n for n in made.numbers if n.name == "slow-flight speed")
        assert line.value.unit == dial
        assert line.also.endswith({"kt": "mph", "mph": "kt"}[dial])
    assert found["kt"] == pytest.approx(found["mph"], abs=from_unit(1.5, "kt"))


def test_slow_flight_that_full_flaps_cannot_hold_names_the_notch_that_can() -> None:
    """Asked for full flaps hot, high and heavy: refused, with a smaller notch that holds level."""
    with pytest.raises(NotPossible, match=r"full throttle does not hold level .*(flap notch \d|flaps up) holds it at"):
        set_up("slow_flight", "larkmoor_155", "hot and high", {"flap_notch": 3.0}, load=1.0)
    made = set_up("slow_flight", "larkmoor_155", "hot and high", load=1.0)
    assert made.targets["flap_notch"] < 3
    assert any("climb today" in c for c in made.cautions)


@pytest.mark.parametrize(
    ("kind", "target", "said"),
    [
        ("steep_turn", {"bank_rad": math.radians(80.0)}, "bank 80° is outside 30° to 60°"),
        ("steep_turn", {"ias_mps": from_unit(150.0, "mph")}, "above"),
        ("slow_flight", {"ias_mps": from_unit(40.0, "mph")}, "no margin over the stall"),
        ("slow_flight", {"flap_notch": 7.0}, "flap notch 7 is outside 0 to 3"),
        ("power_off_stall", {"altitude_m": 200.0}, "begin higher"),
        ("level_turn", {"direction": "up"}, "write left, right, both"),
        ("leaning", {"power_ratio": 0.9}, "above the leaning limit of 75 %"),
        ("steep_spiral", {"altitude_m": 900.0}, "begin at"),
        ("tank_change", {"tank": "tail"}, "no tank"),
    ],
)
def test_a_wish_that_cannot_be_is_refused_in_words(kind: str, target: dict[str, object], said: str) -> None:
    with pytest.raises((InputError, NotPossible)) as refused:
        set_up(kind, "larkmoor_155", "standard, calm", target)
    assert said in str(refused.value)


def test_the_area_s_ceiling_is_kept() -> None:
    plane, c = airplane("larkmoor_155"), conditions("larkmoor_155", "standard, calm", ceiling_m=600.0)
    made = room("slow_flight").brief(Order(plane, fitted("larkmoor_155"), c, standard_for("slow_flight"), {}))
    assert made.floor_m <= made.entry_altitude_m <= 600.0
    low = conditions("larkmoor_155", "standard, calm", ceiling_m=400.0)
    with pytest.raises(NotPossible, match="ceiling"):  # a no-go with its reason, not a file that can't be read
        room("slow_flight").brief(Order(plane, fitted("larkmoor_155"), low, standard_for("slow_flight"), {}))


def test_a_prohibited_maneuver_is_refused_and_a_category_said() -> None:
    """The Larkmoor's handbook permits chandelles in the utility category only."""
    made = set_up("chandelle", "larkmoor_155", "standard, calm")
    assert any("utility category only" in c for c in made.cautions)
    entry = airplane("larkmoor_155").maneuver_permission("chandelles")
    assert entry is not None
    assert entry.maximum_entry_kias == pytest.approx(to_unit(from_unit(113.0, "mph"), "kt"))
    assert made.targets["entry_ias_mps"] <= from_unit(113.0, "mph") + 0.05


def test_the_owner_s_notes_and_checklist_stand_in_the_set_up() -> None:
    made = set_up("slow_flight", "larkmoor_155", "standard, calm")
    assert any("1,700 RPM" in c for c in made.cautions)
    assert "clearing turns, 90 degrees each way" in made.steps[0]
