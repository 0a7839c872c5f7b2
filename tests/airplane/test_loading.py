"""Weight and balance against the published worked problems, and what is legal."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork import units
from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.airplane.loading import Loading, center_of_gravity_m, loading, mass_to_move_kg, remedy
from airwork.errors import InputError, NotPossible

LB, IN, GAL = units.LB_KG, units.IN_M, units.USGAL_M3
LARKMOOR = load_airplane(find_airplane_file("larkmoor_155"))

# Worked examples section I: FAA-H-8083-1B (WBH) and FAA-H-8083-25C (PHAK), all [V] unless marked. Any units that agree.


@pytest.mark.parametrize(
    ("masses", "arms", "expected", "tolerance"),
    [
        pytest.param([100, 100, 200], [50, 90, 150], 110, 0, id="I1"),
        pytest.param([100, 100, 200], [-100, -60, 0], -40, 0, id="I2"),
        pytest.param([340, 2006 - 340], [128 - 78, 128], 114.8, 0.05, id="I4"),
        pytest.param([340, 2006 - 340], [-75 - 78, -75], -88.2, 0.05, id="I5"),
        pytest.param([1218 - 67, 67], [7.5, 7.5 + 222], 19.7, 0.05, id="I6"),
        pytest.param([1218 - 67, 67], [-80, -80 + 222], -67.8, 0.05, id="I7"),
        pytest.param([830, 836, 340], [128, 128, 50], 114.8, 0.05, id="I8"),
        pytest.param([1876, 7.7], [32.2, 228], 33, 0.005, id="I16 ballast"),
    ],
)
def test_centers_of_gravity_published(
    masses: list[float], arms: list[float], expected: float, tolerance: float
) -> None:
    """Exact sums; the book prints one decimal."""
    assert center_of_gravity_m(masses, arms) == pytest.approx(expected, abs=tolerance + 1e-9)


def test_moved_and_added_mass_published() -> None:
    """I12 (answer [D]), I14, and what came of moved mass in I3, I11, I13 and I15."""
    assert mass_to_move_kg(-22, 80, 25, 500) == 200
    assert mass_to_move_kg(78.5 - 616_000 / 8000, 30, 150, 8000) == 100
    assert mass_to_move_kg(80.5 - 81.5, 150, 30, 7800) == pytest.approx(65)
    assert mass_to_move_kg(-1.36, 246, 118, 4709) == pytest.approx(50, abs=0.2)
    assert mass_to_move_kg(-2, 246, 118, 4709) == pytest.approx(73.6, abs=0.05)
    assert mass_to_move_kg(1.5, 0, 107.8, 4026) == pytest.approx(56, abs=0.05)


@pytest.mark.parametrize(
    ("edge", "length", "percent", "arm", "tolerance"),
    [
        pytest.param(20.1, 61.6, 36.3, 42.47, 0.05, id="I17"),
        pytest.param(25.98, 58.0, 17.9, 36.4, 0.1, id="I18, printed cut off for 17.97"),
    ],
)
def test_percents_of_the_chord_are_arms_published(
    small: Callable[..., Airplane], edge: float, length: float, percent: float, arm: float, tolerance: float
) -> None:
    """WBH ch. 10 and 7 [V]: arm = leading edge + percent of the chord; the tolerance is in percent of it."""
    a = small(
        weight_and_balance={
            "empty_weight_lb": 2000, "empty_arm_in": arm, "mac_length_in": length, "mac_leading_edge_in": edge,
            "stations": [{"name": "front", "arm_in": arm}],
            "envelope_normal": {"polygon": [{"weight_lb": w, "percent_mac": percent} for w in (1900, 2500, 3000)]},
        }
    )  # fmt: skip
    assert a.file.weight_and_balance is not None
    envelope = a.file.weight_and_balance.envelope_normal
    assert envelope is not None
    assert (envelope.polygon[0].arm_in - arm) / length * 100 == pytest.approx(0, abs=tolerance)


def loaded(
    small: Callable[..., Airplane], empty: tuple[float, float], stations: dict[str, tuple[float, float]], **fuel: Any
) -> Loading:
    """A published problem as an airplane file and a loading: empty and stations as (lb, in)."""
    tank = fuel.get("gallons", 0.0)
    wb = {
        "empty_weight_lb": empty[0],
        "empty_arm_in": empty[1],
        "stations": [{"name": n, "arm_in": arm} for n, (_, arm) in stations.items()]
        + [{"name": "fuel", "arm_in": fuel.get("arm", 0.0)}],
        "envelope_normal": {"polygon": fuel["polygon"]},
    }
    a = small(
        weight_and_balance=wb,
        airplane={"maximum_takeoff_weight_lb": fuel.get("top", 3400)},
        fuel={"tanks": [{"name": "main", "capacity_us_gal": 100, "usable_us_gal": 100}]},
    )
    return loading(a, {n: pounds * LB for n, (pounds, _) in stations.items()}, {"main": tank * GAL})


def box(low_lb: float, high_lb: float, fore: float, aft: float) -> list[dict[str, float]]:
    """A rectangular envelope."""
    return [{"weight_lb": w, "arm_in": x} for w, x in ((low_lb, fore), (high_lb, fore), (high_lb, aft), (low_lb, aft))]


def test_the_handbooks_four_seat_problem_published(small: Callable[..., Airplane]) -> None:
    """I10 [V] PHAK ch. 10: 3,320 lb, CG 84.8, within 3,400 lb and 78–86 in. Arms of its figure [M]."""
    stations = {"front": (340.0, 85.0), "rear": (350.0, 121.0), "bags": (80.0, 150.0)}
    result = loaded(small, (2100, 78.3), stations, gallons=75, arm=75, polygon=box(2000, 3400, 78, 86))
    assert result.mass_kg / LB == pytest.approx(3320)
    assert result.arm_m / IN == pytest.approx(84.8, abs=0.05)
    assert result.categories == ("normal",)
    assert result.problems == ()


def test_the_handbooks_single_engine_problem_published(small: Callable[..., Airplane]) -> None:
    """I9 [V] WBH ch. 5: 3,027 lb, index 131.8 (÷1000), CG 43.54, 77 lb over the landing weight = just under 13 gal."""
    index = {"front": (300.0, 11.1), "rear": (175.0, 12.9), "bag A": (100.0, 9.7), "bag B": (50.0, 5.8)}
    stations = {n: (pounds, 1000 * moment / pounds) for n, (pounds, moment) in index.items()}
    box_ = box(1800, 3100, 30, 60)
    result = loaded(small, (1874, 67_700 / 1874), stations, gallons=88, arm=24_600 / 528, polygon=box_)
    assert result.mass_kg / LB == pytest.approx(3027)
    assert result.mass_kg * result.arm_m / LB / IN / 1000 == pytest.approx(131.8)
    assert result.arm_m / IN == pytest.approx(43.54, abs=0.02)
    over = result.mass_kg / LB - 2950  # the landing weight that is exceeded by 77 lb
    assert over == pytest.approx(77)
    assert 12.5 < over / 6 < 13


def test_thirty_gallons_weigh_180_pounds_published(larkmoor: Airplane) -> None:
    """I20: 6 lb/gal [V] PHAK."""
    assert 30 * GAL * larkmoor.fuel_density_kgpm3 / LB == pytest.approx(180)


def test_an_envelope_corner_is_inside_and_a_hair_beyond_is_not(small: Callable[..., Airplane]) -> None:
    polygon = box(2000, 3000, 80, 90)
    assert loaded(small, (2000, 80), {}, polygon=polygon).categories == ("normal",)
    assert "ahead of its forward limit" in loaded(small, (2000, 79.9), {}, polygon=polygon).why_not["normal"]
    assert "behind its aft limit" in loaded(small, (2000, 90.1), {}, polygon=polygon).why_not["normal"]
    assert "over its 3,000 lb" in loaded(small, (3001, 85), {}, polygon=polygon).why_not["normal"]
    assert "below its lightest" in loaded(small, (1990, 85), {}, polygon=polygon).why_not["normal"]


def test_the_conditions_of_the_utility_category_are_kept(larkmoor: Airplane) -> None:
    fuel = {"left wing": 8 * GAL, "right wing": 8 * GAL}
    assert loading(larkmoor, {"front seats": 340 * LB}, fuel).categories == ("normal", "utility")
    with_rear = loading(larkmoor, {"front seats": 340 * LB, "rear seats": 10 * LB}, fuel)
    assert with_rear.why_not["utility"].startswith(("needs the rear seats empty", "center of gravity"))
    with_bag = loading(larkmoor, {"front seats": 340 * LB, "baggage": 5 * LB}, fuel)
    assert "utility" not in with_bag.categories


def test_overloads_are_problems_with_their_numbers(larkmoor: Airplane) -> None:
    heavy = loading(larkmoor, {"front seats": 500 * LB, "rear seats": 400 * LB, "baggage": 130 * LB}, {})
    assert any("baggage: 130 lb is over the 120 lb allowed there" in p for p in heavy.problems)
    assert any("over the maximum takeoff weight of 2,300 lb" in p for p in heavy.problems)
    assert heavy.categories == ()
    uneven = loading(larkmoor, {"front seats": 300 * LB}, {"left wing": 20 * GAL, "right wing": 5 * GAL})
    assert uneven.problems == ("the tanks differ by 15.0 gal, 10.0 gal is the limit",)


def test_names_are_taken_in_any_case_and_unknown_ones_listed(larkmoor: Airplane) -> None:
    assert loading(larkmoor, {"Front Seats": 170 * LB}, {"LEFT WING": GAL}).mass_kg / LB == pytest.approx(
        1385 + 170 + 6
    )
    with pytest.raises(InputError, match="front seats, rear seats, fuel, baggage"):
        loading(larkmoor, {"cockpit": 170 * LB}, {})
    with pytest.raises(InputError, match="left wing, right wing"):
        loading(larkmoor, {}, {"main": GAL})
    with pytest.raises(InputError, match="fuel is given by tank"):
        loading(larkmoor, {"fuel": 50 * LB}, {})
    with pytest.raises(InputError, match="negative"):
        loading(larkmoor, {"baggage": -1.0}, {})
    with pytest.raises(InputError, match=r"0 to 20\.0 gal"):
        loading(larkmoor, {}, {"left wing": 21 * GAL})


def test_without_weight_and_balance_it_is_refused_by_name(small: Callable[..., Airplane]) -> None:
    with pytest.raises(NotPossible, match=r"\[weight_and_balance\]"):
        loading(small(), {}, {})


@given(st.floats(0, 400), st.floats(0, 300), st.floats(0, 100), st.floats(0, 20), st.floats(0, 20))
def test_moments_add_up(front: float, rear: float, bags: float, left: float, right: float) -> None:
    people = {"front seats": front * LB, "rear seats": rear * LB, "baggage": bags * LB}
    tanks = {"left wing": left * GAL, "right wing": right * GAL}
    full = loading(LARKMOOR, people, tanks)
    moment = 1385 * 85.8 + front * 85 + rear * 117.5 + bags * 141 + 6 * (left + right) * 95
    assert full.mass_kg * full.arm_m / LB / IN == pytest.approx(moment)


def test_a_remedy_is_tried_before_it_is_named(larkmoor: Airplane) -> None:
    people = {"front seats": 340 * LB, "rear seats": 320 * LB, "baggage": 100 * LB}
    tanks = {"left wing": 5 * GAL, "right wing": 5 * GAL}
    words = remedy(larkmoor, people, tanks, "normal")
    assert words == "moving 2 lb from baggage to front seats makes it legal in normal"
    people["baggage"] -= 2 * LB
    people["front seats"] += 2 * LB
    assert "normal" in loading(larkmoor, people, tanks).categories
    assert remedy(larkmoor, people, tanks, "normal") == ""
    assert remedy(larkmoor, people, tanks, "utility") == ""  # no single move empties the rear seats and the locker


def test_an_envelope_in_percent_of_the_chord_has_the_arms_it_means(small: Callable[..., Airplane]) -> None:
    """By hand: leading edge at 2.000 m, chord 1.500 m: 20 % is 2.300 m, 35 % is 2.525 m."""
    from airwork.airplane.file.model import AirplaneFile
    from airwork.airplane.file.printed import read_printed

    corners = [[500, 20], [750, 20], [750, 35], [500, 35]]
    polygon = [{"weight_kg": w, "percent_mac": p} for w, p in corners]
    table = {
        "empty_weight_kg": 480, "empty_arm_m": 2.35, "mac_length_m": 1.5, "mac_leading_edge_m": 2.0,
        "stations": [{"name": "seats", "arm_m": 2.4}], "envelope_normal": {"polygon": polygon},
    }  # fmt: skip
    found, _ = read_printed({"weight_and_balance": table}, AirplaneFile)
    a = small(weight_and_balance=found["weight_and_balance"])
    envelope = a.file.weight_and_balance.envelope_normal
    assert [c.arm_in * 0.0254 for c in envelope.polygon] == pytest.approx([2.3, 2.3, 2.525, 2.525])
    del found["weight_and_balance"]["mac_length_in"]
    with pytest.raises(ValueError, match="needs mac_length_in"):
        small(weight_and_balance=found["weight_and_balance"])
