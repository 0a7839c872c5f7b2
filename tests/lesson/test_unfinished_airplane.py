"""An airplane file that is still being typed: what it lacks is not known and said, or one line names what to add."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

import pytest
import tomli_w

from airwork.airplane import Airplane, find_airplane_file
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.file.model import AirplaneFile
from airwork.errors import InputError
from airwork.lesson.briefing import Briefing
from airwork.lesson.plan import build_briefing
from airwork.output.briefing_doc import make_doc
from airwork.output.card import make_card
from airwork.units import LB_KG, to_unit
from lesson.lessons import small


def without(*paths: str) -> Airplane:
    """The Larkmoor with tables or columns left out: "weight_and_balance", "performance.cruise.gph_full_rich"."""
    data = tomllib.loads(find_airplane_file("larkmoor_155").read_text(encoding="utf-8"))
    for path in paths:
        *into, last = path.split(".")
        place = data
        for key in into:
            place = place[key]
        for row in [place, *place.get("rows", [])]:
            row.pop(last, None)
    data.pop("observations", None)
    return Airplane(parse_airplane_file(tomli_w.dumps(data), where="larkmoor_155"))


def briefed(airplane: Airplane, changes: Mapping[str, str] | None = None) -> Briefing:
    return build_briefing(small(changes), airplane)


def test_without_weight_and_balance_the_most_it_may_weigh_is_taken_and_said() -> None:
    briefing = briefed(without("weight_and_balance"), {"steep_turn": "slow_flight"})
    assert briefing.verdict.level == "think"
    said = next(r for r in briefing.verdict.reasons if r.topic == "weight and balance")
    assert said.level == "unknown"
    assert "no [weight_and_balance]: 2,300 lb, the most it may weigh, is taken" in said.text
    assert briefing.balance.points[0].mass_kg == pytest.approx(2300 * LB_KG)
    assert briefing.balance.points[-1].mass_kg < briefing.balance.points[0].mass_kg
    assert briefing.balance.points[0].arm_m is None
    weight = next(line for line in make_card(briefing).day if line.name == "weight")
    assert (weight.value, weight.remark) == ("at most 2,300 lb", "CG not known")
    assert "at most 2,300 lb" in str(make_doc(briefing))


def test_without_a_fuel_flow_the_lessons_own_figure_serves_and_else_one_line_says_what_to_add() -> None:
    airplane = without(*(f"performance.cruise.gph_{m}" for m in ("full_rich", "best_power", "best_economy")))
    with pytest.raises(InputError, match=r"prints no fuel flow: add gph_full_rich .* \[plan\] fuel_flow") as refused:
        briefed(airplane)
    assert "\n" not in str(refused.value)
    own = briefed(airplane, {"[[exercises]]": '[plan]\nfuel_flow = "9 gph"\n[[exercises]]'})
    assert to_unit(own.fuel.cruise_flow_m3ps, "gph") == pytest.approx(9.0)
    printed = briefed(without(), {"[[exercises]]": '[plan]\nfuel_flow = "30 gph"\n[[exercises]]'})
    assert to_unit(printed.fuel.cruise_flow_m3ps, "gph") < 12.0, "the handbook's own figure comes first"


def test_without_tanks_one_line_names_the_section() -> None:
    with pytest.raises(InputError, match=r"has no tanks; add its \[fuel\]"):
        briefed(without("fuel"))


def test_a_short_calibration_limits_the_cruise_and_not_the_briefing() -> None:
    airplane = without("performance.cruise")
    rows = airplane.file.airspeed_calibration.flaps_up.rows  # type: ignore[union-attr]
    assert rows
    short = airplane.file.model_dump(exclude_none=True, mode="json")
    kept = [r for r in short["airspeed_calibration"]["flaps_up"]["rows"] if r["kias"] <= 90]
    short["airspeed_calibration"]["flaps_up"]["rows"] = kept
    flow = {"[[exercises]]": '[plan]\nfuel_flow = "9 gph"\n[[exercises]]'}
    briefing = briefed(Airplane(AirplaneFile.model_validate(short)), flow)
    cruise = next(line for line in briefing.power if line.name == "cruise")
    assert "faster than the airspeed calibration reaches" in cruise.note
    assert to_unit(cruise.ias_mps, "kt") <= 90.5
