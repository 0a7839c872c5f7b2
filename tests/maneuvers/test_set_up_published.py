"""Set-ups against printed numbers: load factor, turns, standard rate, pivotal altitude, stall in the bank, slow flight.

Source: `worked-examples` rows by id, which name [PHAK] FAA-H-8083-25, [AFH] FAA-H-8083-3C, [IFH] FAA-H-8083-15B; label
[V] verified in the text, [D] derived from the printed formula. A printed true airspeed is asked for as the indicated
speed that it is on the day.
"""

from __future__ import annotations

import math

import pytest

from airwork.airdata.column import AirColumn, WindLayer
from airwork.errors import InputError, NotPossible
from airwork.maneuvers import room
from airwork.maneuvers.setup import Conditions, Order, SetUp
from airwork.standards import load_standard
from airwork.units import FT_M, KT_MPS, from_unit, to_unit
from maneuvers.days import AIRPLANES, airplane, fitted, number, set_up, standard_for, wind

NAME = "caldmere_200"


def at_tas(kind: str, ktas: float, target: dict[str, float], *, kt: float = 0.0, certificate: str = "private") -> SetUp:
    """A set-up flown at a true airspeed on a standard day."""
    air = AirColumn(winds=wind(360.0, kt))
    plane = airplane(NAME)
    low = {"altitude_m": 300.0} | target
    c = Conditions(air=air, mass_kg=plane.max_takeoff_mass_kg, ground_elevation_m=0.0)
    from airwork.airdata.airspeed import cas_from_tas_mps

    pressure, temperature = (
        float(air.pressure_altitude_m(low["altitude_m"])),
        float(air.temperature_at_k(low["altitude_m"])),
    )
    ias = plane.ias_from_cas_mps(float(cas_from_tas_mps(ktas * KT_MPS, pressure, temperature)))
    made: SetUp = room(kind).brief(Order(plane, fitted(NAME), c, load_standard(certificate), {**low, "ias_mps": ias}))
    return made


@pytest.mark.parametrize(("typed_ft", "floor_ft"), [(2423.0, 2423.0), (1600.0, 1900.0)])
def test_a_floor_is_the_lesson_s_as_typed_or_worked_out_to_a_full_hundred(typed_ft: float, floor_ft: float) -> None:
    """1,500 ft above ground of 323 ft is 1,823 ft (PA.VII.A, [S1]): 1,900 ft to fly by."""
    plane = airplane(NAME)
    c = Conditions(air=AirColumn(), mass_kg=plane.max_takeoff_mass_kg, ground_elevation_m=323.0 * FT_M,
                   floor_m=typed_ft * FT_M)  # fmt: skip
    made = room("slow_flight").brief(Order(plane, fitted(NAME), c, load_standard("private"), {}))
    assert made.floor_m == pytest.approx(floor_ft * FT_M)


@pytest.mark.parametrize(
    ("row", "certificate", "load"), [("E3", "private", 1.4142), ("E4", "commercial", 1.5557)]
)  # [D] n = 1/cos φ
def test_load_factor_of_the_steep_turn_published(row: str, certificate: str, load: float) -> None:
    """Private 45° (E3), commercial 50° (E4), as each standard prints the bank."""
    plane = airplane(NAME)
    c = Conditions(air=AirColumn(), mass_kg=0.9 * plane.max_takeoff_mass_kg, ground_elevation_m=0.0)
    made = room("steep_turn").brief(Order(plane, fitted(NAME), c, load_standard(certificate), {}))
    assert number(made, "load factor") == pytest.approx(load, abs=0.005)


# F6 to F9 [D] from [PHAK] ch. 5: (row, KTAS, bank, °/s, radius ft)
TURNS = [
    ("F6", 90.0, 30.0, 7.007, 1242.0), ("F7", 100.0, 45.0, 10.92, 885.4), ("F8", 95.0, 50.0, 13.70, 670.5),
    ("F9", 105.0, 45.0, 10.40, 976.2),
]  # fmt: skip


@pytest.mark.parametrize(("row", "ktas", "bank", "rate", "radius"), TURNS)
def test_turn_rate_and_radius_published(row: str, ktas: float, bank: float, rate: float, radius: float) -> None:
    high = {"bank_rad": math.radians(bank), "altitude_m": 600.0}
    made = at_tas("steep_turn", ktas, high)
    assert number(made, "turn rate") == pytest.approx(rate, abs=0.05)
    assert number(made, "turn radius") == pytest.approx(radius, abs=5.0)  # shown to 10 ft
    assert number(made, "time for the turn") == pytest.approx(360.0 / rate, abs=0.5)


# F10 [D], exact form; [IFH] ch. 7 rule of 15 % gives 15° and 18° at 100 and 120 kt [V]
@pytest.mark.parametrize(("ktas", "bank"), [(90.0, 13.89), (100.0, 15.36)])
def test_bank_for_the_standard_rate_published(ktas: float, bank: float) -> None:
    assert number(at_tas("level_turn", ktas, {}), "bank for standard rate") == pytest.approx(bank, abs=0.05)


def test_roll_out_lead_published() -> None:
    """F14 [V] ([AFH] ch. 10): 60° of bank, right turn from 270°, begin at 240°."""
    made = at_tas("steep_turn", 105.0, {"bank_rad": math.radians(60.0), "altitude_m": 600.0})
    assert 270.0 - number(made, "roll-out lead") == 240.0


@pytest.mark.parametrize(
    ("row", "ktas", "feet"), [("G2", 80.0, 566.7), ("G3", 90.0, 717.2), ("G4", 100.0, 885.4), ("G5", 110.0, 1071.3)]
)
def test_pivotal_altitude_in_calm_air_published(row: str, ktas: float, feet: float) -> None:
    """G2 to G5: formula [AFH] ch. 7 [V], numbers [D]; the exact constant."""
    made = at_tas("eights_on_pylons", ktas, {"bank_rad": math.radians(30.0)}, certificate="commercial")
    assert number(made, "pivotal altitude, wind abeam") == pytest.approx(feet, abs=1.0)


def test_pivotal_altitude_per_heading_in_wind_published() -> None:
    """G8 [D]: 100 KTAS, wind 15 kt: 640 ft upwind, 1,171 ft downwind."""
    made = at_tas("eights_on_pylons", 100.0, {}, kt=15.0, certificate="commercial")
    assert number(made, "lowest, upwind") == pytest.approx(640.0, abs=2.0)
    assert number(made, "highest, downwind") == pytest.approx(1171.0, abs=2.0)
    rows = {row[0]: row[2] for row in made.tables["Pivotal altitude by heading (magnetic)"]}
    assert rows["360°"] == "640 ft"
    assert rows["180°"] == "1,170 ft"


def test_bank_around_a_point_published() -> None:
    """F13 [D]: radius 2,000 ft, 90 KTAS, wind 20 kt: 28.2° downwind, 12.2° upwind."""
    made = at_tas("turns_around_point", 90.0, {"radius_m": 2000.0 * FT_M}, kt=20.0)
    assert number(made, "bank downwind") == 28.0
    assert number(made, "bank upwind") == 12.0


@pytest.mark.parametrize("name", AIRPLANES)
@pytest.mark.parametrize("load", [0.75, 1.0])
def test_slow_flight_speed_published(name: str, load: float) -> None:
    """[AFH] ch. 5 [V]: about 5 to 10 kt above the stall for that weight and flap; calibrated, then on the dial."""
    plane = airplane(name)
    for notch in range(plane.flaps_full + 1):
        made = set_up("slow_flight", name, "standard, calm", {"flap_notch": float(notch)}, load)
        cas = plane.cas_from_ias_mps(made.targets["ias_mps"], notch)
        over = to_unit(cas - plane.stall_cas_mps(load * plane.max_takeoff_mass_kg, notch), "kt")
        assert 5.0 <= over <= 10.0


@pytest.mark.parametrize("name", AIRPLANES)
def test_steep_turn_is_never_above_maneuvering_speed_for_the_weight(name: str) -> None:
    """[PHAK] ch. 5: maneuvering speed falls with the root of the weight; E14 shows the scaling [D]."""
    for load in (0.7, 0.85, 1.0):
        made = set_up("steep_turn", name, "standard, calm", load=load)
        plane = airplane(name)
        assert plane.cas_from_ias_mps(made.targets["ias_mps"]) <= plane.speed_cas_mps(
            "maneuvering", load * plane.max_takeoff_mass_kg
        ) + from_unit(0.6, "kt")


def test_stall_in_the_bank_agrees_with_the_handbook_s_table() -> None:
    """Larkmoor, 2,000 lb, full flaps, 45°: the printed 54 mph on the dial (calibrated 51 kt, √n of 43)."""
    plane = airplane("larkmoor_155")
    load = 2000.0 * 0.45359237 / plane.max_takeoff_mass_kg
    made = set_up("accelerated_stall", "larkmoor_155", "standard, calm", load=load)
    assert number(made, "stall, flaps up") == pytest.approx(51.0, abs=1.0)
    assert number(made, "stall in the bank") == pytest.approx(65.0, abs=1.0)


def test_the_sight_line_needs_half_of_the_handbook_s_change_of_height() -> None:
    """Derived here: V·(V + w)/g beside GS²/g; to first order half of the swing."""
    made = at_tas("eights_on_pylons", 100.0, {}, kt=15.0, certificate="commercial")
    rows = {row[0]: row for row in made.tables["Pivotal altitude by heading (magnetic)"][1:]}
    book = [float(rows[h][3].split()[0].replace(",", "")) for h in ("360°", "180°")]
    sight = [float(rows[h][4].split()[0].replace(",", "")) for h in ("360°", "180°")]
    assert (sight[1] - sight[0]) / (book[1] - book[0]) == pytest.approx(0.5, abs=0.03)


def test_the_wind_of_the_column_is_that_of_the_maneuver_s_height() -> None:
    """Two layers: the banks come from the wind at the height flown."""
    air = AirColumn(winds=(WindLayer(0.0, 0.0, 0.0), WindLayer(600.0, 0.0, 20.0 * KT_MPS)))
    plane = airplane(NAME)
    c = Conditions(air=air, mass_kg=0.85 * plane.max_takeoff_mass_kg, ground_elevation_m=0.0, altitude_m=300.0)
    made = room("turns_around_point").brief(Order(plane, fitted(NAME), c, standard_for("turns_around_point"), {}))
    assert number(made, "wind here") == 10.0


@pytest.mark.parametrize("rpm", [2200.0, 2400.0])
def test_straight_and_level_at_an_rpm_is_flown_at_the_speed_that_rpm_holds(rpm: float) -> None:
    """The power printed for its speed is the RPM asked for; with a constant-speed propeller it would say little."""
    made = set_up("straight_and_level", "wrenbrook_108", "standard, calm", {"rpm": rpm})
    assert number(made, "power") == pytest.approx(rpm, abs=20.0)  # the dial's next mark, and full tens
    with pytest.raises(NotPossible, match="outside what holds level today"):
        set_up("straight_and_level", "wrenbrook_108", "standard, calm", {"rpm": 1100.0})
    with pytest.raises(InputError, match="an RPM alone says little"):
        set_up("straight_and_level", "caldmere_200", "standard, calm", {"rpm": rpm})


def test_a_power_that_full_throttle_may_or_may_not_give_is_marginal_on_the_card_line() -> None:
    """Higher and higher: a number, then a marginal one, and only then a refusal; the card line says which."""
    said = []
    for feet in range(4000, 20001, 1000):
        try:
            made = set_up("traffic_pattern", "larkmoor_155", "standard, calm", {"altitude_m": feet * 0.3048}, 1.0)
        except NotPossible:
            said.append("refused")
        else:
            said.append("marginal" if "rpm, marginal ·" in made.card_line else "held")
            assert ("marginal" in made.card_line) == any("marginal" in c for c in made.cautions)
    assert list(dict.fromkeys(said)) == ["held", "marginal", "refused"]


@pytest.mark.parametrize(
    ("kind", "target_ft", "begins_ft", "ends_ft"),
    [("climb", {"altitude_m": 4500}, 3500, 4500), ("descent", {"altitude_m": 3000}, 4000, 3000),
     ("climb", {"altitude_m": 4500, "altitude_change_m": 2000}, 2500, 4500),
     ("climb", {"altitude_m": 2000}, 1500, 2000), ("descent", {"altitude_m": 5500}, 6000, 5500),
     ("climb", {"height_agl_m": 3000}, 2000, 3000)],
)  # fmt: skip
def test_a_climb_or_descent_to_an_altitude_levels_off_there(
    kind: str, target_ft: dict[str, float], begins_ft: float, ends_ft: float
) -> None:
    """As it is said in the air: "climb and maintain 4,500" (AIM 4-4-10 [M]); begun 1,000 ft off where nothing else is
    asked for, less between the floor of 1,500 ft and the ceiling of 6,000."""
    c = Conditions(air=AirColumn(), mass_kg=airplane(NAME).max_takeoff_mass_kg, ground_elevation_m=0.0,
                   floor_m=1500.0 * FT_M, ceiling_m=6000.0 * FT_M)  # fmt: skip
    wanted = {name: ft * FT_M for name, ft in target_ft.items()}
    made = room(kind).brief(Order(airplane(NAME), fitted(NAME), c, load_standard("private"), wanted))
    assert made.entry_altitude_m == pytest.approx(begins_ft * FT_M, abs=1.0)
    assert made.targets["level_off_altitude_m"] == pytest.approx(ends_ft * FT_M, abs=1.0)
    for beyond_ft in (6500.0, 1000.0):
        with pytest.raises(NotPossible, match="name another altitude to level off at"):
            room(kind).brief(Order(airplane(NAME), fitted(NAME), c, load_standard("private"),
                                   {"altitude_m": beyond_ft * FT_M}))  # fmt: skip
