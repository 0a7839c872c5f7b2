"""A typist's mistakes: each broken file gives the right complaint, sound files none."""

# ruff: noqa: E501  (one mistake a line)

from __future__ import annotations

import copy
import importlib.util
import tomllib
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest
import tomli_w

from airwork.airplane import Airplane, load_airplane
from airwork.airplane.check import check_airplane, check_file, printed_so
from airwork.airplane.check.begun import check_begun
from airwork.airplane.check.in_print import answered
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.file.model import AirplaneFile
from airwork.errors import InputError
from airwork.jobs.files import demo_folder
from airwork.units import KT_MPS

SOURCES = Path(__file__).parent.parent / "sources"

# file: (place, what or why) that a complaint must carry
EXPECTED = {
    "01_stall_speeds_exchanged": ("[v_speeds] row 1", "Vs0 must not be above Vs"),
    "02_mph_typed_as_knots": ("[v_speeds] row 19", "mph typed as knots?"),
    "03_power_table_not_rising": ("[performance.power_chart] row 13", "make it about 63"),
    "04_empty_cg_outside": ("[weight_and_balance]", "58.8 in, empty, is ahead of the normal envelope"),
    "05_cruise_against_power_table": ("[performance.cruise] row 25", "make it about 70"),
    "06_calibration_row_wrong": ("[airspeed_calibration.flaps_up] row 5", "make it about 80"),
    "07_flap_speeds_out_of_order": ("[flaps] notches row 3", "the flap speeds are out of order"),
    "08_arc_in_mph": ("green_arc_kias", "mph typed as knots?"),
    "09_envelope_crosses_itself": ("[weight_and_balance.envelope_normal]", "does not cross itself"),
    "10_usable_over_capacity": ("[fuel] tanks row 2", "More usable fuel than the tank holds"),
    "11_power_over_100": ("[performance.power_chart] row 8", "make it about 9"),
    "12_impossible_fuel_flow": ("[performance.cruise] row 25", "Liters typed as gallons?"),
    "13_distance_shrinks": ("[performance.takeoff] row 11", "make it about 2,2"),
    "14_headwind_sign": ("[performance.takeoff] corrections row 1", "the sign is wrong"),
    "15_moment_typed_as_arm": ("[weight_and_balance] stations row 2", "a moment typed as an arm"),
    "16_climb_digits": ("[performance.climb] row 14", "make it about 72"),
    "17_maneuvering_in_mph": ("[v_speeds] row 7", "mph typed as knots?"),
    "18_stall_row_weight": ("[performance.stall] row", "the square root of the weight"),
}


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    """The script that makes the broken files."""
    spec = importlib.util.spec_from_file_location("make_broken_airplanes", SOURCES / "make_broken_airplanes.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


# what a page can't answer: limits, loading, tanks, a correction's sign, power above the rated, stalls the wrong way round
FIRM = {"01", "04", "07", "08", "09", "10", "11", "14", "15", "17", "18"}


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_each_broken_file_is_asked_about_and_answered_once_if_the_handbook_has_it_so_and_a_limit_never(
    name: str,
) -> None:
    text = (SOURCES / "broken_airplanes" / f"{name}.toml").read_text(encoding="utf-8")
    (asked,) = check_airplane(Airplane(parse_airplane_file(text)))
    place, words = EXPECTED[name]
    assert place in str(asked.where)
    assert words in f"{asked.what} {asked.why}"
    assert asked.firm == (name[:2] in FIRM)
    if asked.firm:
        with pytest.raises(InputError, match="can't be answered so"):
            answered(text, asked, "Ann Bo", "2026-11-30")
        if name[:2] not in ("01", "10"):
            return
        said = tomli_w.dumps({"printed_so": [{"asked": list(asked.asked), "by": "Ann Bo", "date": "today"}]})
        airplane = Airplane(parse_airplane_file(f"{text}\n{said}"))  # written by hand all the same
        assert [c.firm for c in check_airplane(airplane)] == [True]
        assert any("Still asked: no page can answer it so (Ann Bo, today)." in note for note in printed_so(airplane))
        return
    airplane = Airplane(parse_airplane_file(answered(text, asked, "Ann Bo", "2026-11-30")))
    assert check_airplane(airplane) == ()
    assert all(note.endswith("Stands so in the handbook (Ann Bo, 2026-11-30).") for note in printed_so(airplane))


def test_an_answer_is_for_the_number_that_was_seen() -> None:
    """Another number there is asked about anew; what is asked no longer is said to be left over."""
    text = (SOURCES / "broken_airplanes" / "16_climb_digits.toml").read_text(encoding="utf-8")
    (asked,) = check_airplane(Airplane(parse_airplane_file(text)))
    with pytest.raises(InputError, match="who has seen it"):
        answered(text, asked, " ", "2026-11-30")
    said = answered(text, asked, "Ann Bo", "2026-11-30")
    assert said.count("= 527") == 1
    other = Airplane(parse_airplane_file(said.replace("= 527", "= 427")))
    assert [c.where.row for c in check_airplane(other)] == [asked.where.row]
    mended = Airplane(parse_airplane_file(said.replace("= 527", "= 725")))
    assert check_airplane(mended) == ()
    assert all("No longer asked" in note for note in printed_so(mended))


def test_a_complaint_names_the_line_of_the_file() -> None:
    path = SOURCES / "broken_airplanes" / "10_usable_over_capacity.toml"
    complaint = next(c for c in check_file(path)[1] if c.where.rows == "tanks")
    line = complaint.where.line
    assert "usable_us_gal = 21.0" in path.read_text().splitlines()[line - 1]


def test_the_kept_broken_files_are_what_the_script_makes(maker: ModuleType) -> None:
    assert sorted(maker.MISTAKES) == sorted(EXPECTED)
    assert (SOURCES / "larkmoor_short.toml").read_text() == maker.short_handbook()
    for name in maker.MISTAKES:
        assert (SOURCES / "broken_airplanes" / f"{name}.toml").read_text() == maker.broken(name)


def test_sound_files_give_no_complaint(airplanes: dict[str, Airplane]) -> None:
    for airplane in airplanes.values():
        assert [str(c) for c in check_airplane(airplane)] == []
    assert check_file(SOURCES / "larkmoor_short.toml")[1] == ()


# Mistakes too small for a file of their own: tables put into the smallest airplane, and words of the complaint.
WB = {"empty_weight_lb": 2000, "empty_arm_in": 80, "stations": [{"name": "seats", "arm_in": 85}]}
BOX = [{"weight_lb": w, "arm_in": x} for w, x in ((2000, 78), (3400, 78), (3400, 86), (2000, 86))]
TANK = {"name": "main", "capacity_us_gal": 20, "usable_us_gal": 19}
CRUISE = {"pressure_altitude_ft": 4000, "rpm": 2400, "percent_power": 60}
AIR = {"weight_lb": 2400, "pressure_altitude_ft": 0, "oat_c": 15}
SMALL: list[tuple[dict[str, object], str]] = [
    ({"fuel": {"tanks": [{**TANK, "unusable_us_gal": 3}]}}, "Usable and unusable fuel make up the capacity"),
    ({"fuel": {"tanks": [TANK], "selector_positions": ["aux"]}}, "Which tanks does it feed from?"),
    ({"fuel": {"tanks": [TANK], "selector_positions": ["off"]}}, "main is never fed from"),
    ({"fuel": {"tanks": [TANK], "imbalance_limit_us_gal": 40}}, "All tanks together hold 19 gal"),
    ({"fuel": {"tanks": [{**TANK, "station": "wing"}]}, "weight_and_balance": {**WB, "envelope_normal": {"polygon": BOX}}}, "no such station"),
    ({"weight_and_balance": WB}, "[airplane] names the normal category"),
    ({"weight_and_balance": {**WB, "envelope_normal": {"polygon": BOX}, "envelope_utility": {"polygon": BOX}}}, "category doesn't name utility"),
    ({"weight_and_balance": {**WB, "empty_arm_in": 208.3, "envelope_normal": {"polygon": BOX}}}, "208.3 cm would be 82.0 in"),
    ({"weight_and_balance": {**WB, "empty_weight_lb": 3300, "envelope_normal": {"polygon": BOX}}}, "97.1 %. 45 to 80 % is usual"),
    ({"weight_and_balance": {**WB, "envelope_normal": {"polygon": [BOX[0], *({"weight_lb": 3600, "arm_in": x} for x in (78, 86)), BOX[3]]}}}, "The maximum takeoff weight is 3,400 lb"),
    ({"weight_and_balance": {**WB, "stations": [*WB["stations"], *WB["stations"]], "envelope_normal": {"polygon": BOX}}}, "can't be told apart"),  # type: ignore[misc]
    ({"weight_and_balance": {**WB, "envelope_normal": {"polygon": BOX, "station_maximum_lb": {"hold": 5}}}}, "no such station"),
    ({"airplane": {"maximum_landing_weight_lb": 3500}}, "The maximum takeoff weight is 3,400 lb"),
    ({"airplane": {"maximum_ramp_weight_lb": 3300}}, "The ramp weight is not below"),
    ({"engine": {"fuel_system": "fuel injection", "carburetor_heat": True}}, "no carburetor to heat"),
    ({"engine": {"rated_rpm": 2800}, "limitations": {"maximum_rpm": 2700}}, "above the red line"),
    ({"propeller": {"governing_rpm": [1900, 2700]}}, "no governor"),
    ({"propeller": {"static_rpm_full_throttle": [2300, 3000]}}, "static RPM up to 3,000"),
    ({"v_speeds": {"rows": [{"name": "manoeuvering", "kias": 100}]}}, "did you mean 'maneuvering'"),
    ({"v_speeds": {"rows": [{"name": "stall", "kias": 48}]}}, "did you mean 'stall_flaps_up'"),
    ({"v_speeds": {"rows": [{"name": "vy", "kias": 70}]}}, "did you mean 'best_rate_of_climb'"),
    ({"v_speeds": {"rows": [{"name": "best_angle_of_climb", "kias": 90}, {"name": "best_rate_of_climb", "kias": 80}]}}, "flown slower than the best rate"),
    ({"v_speeds": {"rows": [{"name": "stall_flaps_up", "kias": 60}, {"name": "best_glide", "kias": 58}]}}, "at or below the stall"),
    ({"airplane": {"airspeed_indicator_unit": "mph"}, "v_speeds": {"rows": [{"name": "stall_flaps_up", "kias": 41.7}]}, "limitations": {"green_arc_kias": [50.4, 95.6]}, "printed": {"limitations": {"green_arc_kias": "green_arc_indicated_mph"}}}, "green_arc_indicated_mph: low end 58 mph"),
    ({"limitations": {"never_exceed_kias": 120, "maximum_structural_cruise_kias": 130}}, "is 0.92 times the structural cruise"),
    ({"performance": {"cruise": {"rows": [CRUISE, CRUISE]}}}, "the same inputs as row 1"),
    ({"performance": {"cruise": {"rows": [{**CRUISE, "ktas": 110}, {**CRUISE, "rpm": 2500, "percent_power": 70, "ktas": 105}]}}}, "true airspeed grows with more RPM"),
    ({"performance": {"cruise": {"rows": [{**CRUISE, "gph_full_rich": 8, "gph_best_power": 9}]}}}, "are columns exchanged"),
    ({"performance": {"cruise": {"rows": [{**CRUISE, "percent_power": 79, "gph_best_power": 10}]}}, "engine": {"leaning": {"maximum_percent_power": 75}}}, "allows leaning at 75 %"),
    ({"performance": {"takeoff": {"rows": [{**AIR, "ground_roll_ft": 1500, "total_over_50_ft": 900}]}}}, "The total contains the roll"),
    ({"performance": {"takeoff": {"rows": [{**AIR, "ground_roll_ft": 900}], "liftoff_kias": 50, "corrections": [{"cause": "headwind", "per": 9, "unit": "kt", "change_percent": -50}]}}}, "33 % at most"),
    ({"performance": {"takeoff": {"rows": [{**AIR, "oat_c": t, "ground_roll_ft": g} for t, g in ((0, 900), (20, 1340), (40, 1350))]}}}, "grows more with more temperature"),
    ({"performance": {"landing": {"rows": [{**AIR, "ground_roll_ft": 900}], "flap_notch": 5}}}, "flaps end at notch 1"),
    ({"performance": {"time_fuel_distance_to_climb": {"rows": [{"pressure_altitude_ft": h, "time_min": m, "fuel_us_gal": g, "distance_nm": d} for h, m, g, d in ((0, 0, 0, 0), (4000, 8, 1, 100))]}}}, "750 kt on the way up"),
    ({"performance": {"time_fuel_distance_to_climb": {"rows": [{"pressure_altitude_ft": h, "time_min": m, "fuel_us_gal": g, "distance_nm": d} for h, m, g, d in ((0, 0, 0, 0), (4000, 9, 1.2, 7), (6000, 11, 1.9, 15), (8000, 17, 2.7, 23), (10000, 25, 3.8, 34))]}}}, "7 NM after 9 min is 47 kt"),
    ({"performance": {"glide": {"rows": [{"glide_ratio": 9, "nm_per_1000_ft": 1.9}]}}}, "The two columns say the same thing"),
    ({"performance": {"stall": {"rows": [{"weight_lb": 3400, "flap_notch": 4, "kias": 50}]}}}, "flaps end at notch 1"),
    ({"observations": [{"kind": "level", "weight_lb": 3000, "pressure_altitude_ft": 0, "oat_c": 15, "kias": 80}]}, "add the RPM"),
]  # fmt: skip


def test_a_row_that_is_missing_is_named_by_the_columns_that_differ(small: Callable[..., Airplane]) -> None:
    """A stranger's cruise table, all of standard air (E617): its temperatures are not at 0 °C."""
    rows = [
        {**CRUISE, "pressure_altitude_ft": height, "isa_deviation_c": 0, "rpm": rpm, "percent_power": power - height // 1000}
        for height in (2000, 4000, 6000) for rpm, power in ((2200, 57), (2400, 68), (2600, 79))
        if (height, rpm) != (4000, 2400)
    ]  # fmt: skip
    (found,) = [c.what for c in check_airplane(small(performance={"cruise": {"rows": rows}})) if "no row" in c.what]
    assert found.startswith("no row for altitude 4,000 ft, 2,400 RPM")
    assert "°C" not in found


@pytest.mark.parametrize(("tables", "words"), SMALL, ids=[words[:30] for _, words in SMALL])
def test_smaller_mistakes_are_found_too(small: Callable[..., Airplane], tables: dict[str, object], words: str) -> None:
    found = [str(c) for c in check_airplane(small(**tables))]
    assert any(words in text for text in found), found


def test_distances_for_standard_temperature_alone_ask_for_the_handbooks_rule(small: Callable[..., Airplane]) -> None:
    rows = [
        {"weight_lb": 3400, "pressure_altitude_ft": h, "oat_c": t, "ground_roll_ft": d}
        for h, t, d in ((0, 15, 700), (2500, 10, 850), (5000, 5, 1050))
    ]
    rule = {"cause": "above_standard_temperature", "change_percent": 10, "per": 25, "unit": "F"}
    asked = "no rule for warmer air"
    assert any(asked in str(c) for c in check_airplane(small(performance={"takeoff": {"rows": rows}})))
    with_it = small(performance={"takeoff": {"rows": rows, "corrections": [rule]}})
    assert not any(asked in str(c) for c in check_airplane(with_it))


def test_calibrated_stalls_without_a_calibration_say_nothing_of_the_dial(airplane_folder: Path) -> None:
    """An indicator reads low near the stall; where no table says by how much, arc and stall can't be compared."""
    sound = load_airplane(airplane_folder / "larkmoor_155.toml")
    data = sound.file.model_dump(mode="json")
    data["airspeed_calibration"], data["observations"] = None, []
    bare = {"kias": None, "kcas": None}
    stall = []
    for row in data["performance"]["stall"]["rows"]:
        cas = sound.calibration[row["flap_notch"]].cas(row["kias"] * KT_MPS)
        stall.append(({**row, **bare}, round(float(cas) / KT_MPS, 1)))
    for key, doubted in (("kcas", False), ("kias", True)):
        rows = [{**row, key: knots} for row, knots in stall]
        data["performance"] = {**data["performance"], "stall": {"rows": rows}}
        found = [str(c) for c in check_airplane(Airplane(AirplaneFile.model_validate(data)))]
        assert any("printed twice" in c or "white_arc" in c for c in found) == doubted, found


def test_stalls_the_same_indicated_as_calibrated_are_asked_about(airplane_folder: Path) -> None:
    """One column typed for both: by the calibration 54 kt calibrated are 49 on the dial. A calibration that is exact
    there, or one row that differs, is no slip.
    """
    data = tomllib.loads((airplane_folder / "larkmoor_155.toml").read_text(encoding="utf-8"))

    def asked(same: int, calibration: bool = True) -> bool:
        told = copy.deepcopy(data)
        for row in told["performance"]["stall"]["rows"][:same]:
            row["kias"] = row["kcas"]
        for row in told["performance"]["stall"]["rows"]:
            row.pop("indicated_mph", None)
        for table in told["airspeed_calibration"].values() if not calibration else ():
            for row in table["rows"]:
                row["kias"] = row["kcas"]
        found = [str(c) for c in check_airplane(Airplane(parse_airplane_file(tomli_w.dumps(told), where="typed")))]
        return any("the same speed indicated as calibrated" in c and "6 mph less" in c for c in found)

    every = len(data["performance"]["stall"]["rows"])
    assert asked(every)
    assert not asked(every - 1)
    assert not asked(every, calibration=False)


@pytest.mark.parametrize(("off_mph", "doubted"), [(5, True), (-5, True), (1, False)])
def test_one_stall_typed_calibrated_for_indicated_is_asked_about(
    airplane_folder: Path, off_mph: int, doubted: bool
) -> None:
    """One cell of the column: the other rows go with the calibration, it doesn't; a rounded number does."""
    data = tomllib.loads((airplane_folder / "larkmoor_155.toml").read_text(encoding="utf-8"))
    row = data["performance"]["stall"]["rows"][0]
    row.pop("indicated_mph", None)
    row["kias"] = round(row["kias"] + off_mph / 1.15078, 1)
    found = [str(c) for c in check_airplane(Airplane(parse_airplane_file(tomli_w.dumps(data), where="typed")))]
    asked = [c for c in found if "performance.stall" in c and "as in the other rows" in c]
    assert len(asked) == doubted, found


@pytest.mark.parametrize(
    ("usable", "unusable", "words"),
    [(25.0, None, "are usable, and no unusable fuel"), (24.0, None, ""), (25.0, 0.0, ""), (25.0, 1.0, "make 26 gal")],
)
def test_a_tank_that_is_usable_to_the_last_drop_is_asked_about(
    airplane_folder: Path, usable: float, unusable: float | None, words: str
) -> None:
    """Total typed for usable; what is unusable is determined for each tank (14 CFR 23.959, from memory)."""
    data = tomllib.loads((airplane_folder / "larkmoor_155.toml").read_text(encoding="utf-8"))
    for tank in data["fuel"]["tanks"]:
        tank |= {"capacity_us_gal": 25.0, "usable_us_gal": usable}
        tank.pop("unusable_us_gal", None)
        tank |= {} if unusable is None else {"unusable_us_gal": unusable}
    found = [str(c) for c in check_airplane(Airplane(parse_airplane_file(tomli_w.dumps(data), where="typed")))]
    asked = [c for c in found if "unusable" in c]
    assert bool(asked) == bool(words)
    assert not words or any(words in c for c in asked)


def test_a_calibration_of_nothing_is_said_and_ends_nothing() -> None:
    """Zeros left in the calibrated column (found by fuzzing) divided by nothing where a stall is held against it."""
    path = demo_folder() / "airplanes" / "larkmoor_155.toml"
    tables = tomllib.loads(path.read_text("utf-8"))
    for row in tables["airspeed_calibration"]["flaps_up"]["rows"][:3]:
        row["kcas"] = 0
    file = parse_airplane_file(tomli_w.dumps(tables), where="larkmoor_155.toml")
    first = check_airplane(Airplane(file))[0]
    assert (first.where.table, first.what) == ("airspeed_calibration.flaps_up", "indicated 40, calibrated 0")


@pytest.mark.parametrize("name", ["larkmoor_155", "wrenbrook_108", "caldmere_200"])
def test_a_notch_the_flaps_do_not_have_is_said_and_ends_nothing(name: str) -> None:
    """A landing with one notch more than the airplane has (found by fuzzing)."""
    tables = tomllib.loads((demo_folder() / "airplanes" / f"{name}.toml").read_text("utf-8"))
    landing = tables["performance"]["landing"]
    landing["flap_notch"] += 1
    found = check_airplane(Airplane(parse_airplane_file(tomli_w.dumps(tables), where=name)))
    assert any(c.what == f"flap notch {landing['flap_notch']}" for c in found)


@pytest.mark.parametrize(
    "part", ["airplane", "engine", "flaps", "fuel", "performance", "v_speeds", "weight_and_balance"]
)
def test_an_unfinished_file_is_asked_only_about_what_is_typed(part: str) -> None:
    """A sound file without one of its tables: whatever stands in for it must raise no question."""
    data = tomllib.loads((demo_folder() / "airplanes" / "larkmoor_155.toml").read_text())
    assert check_begun({name: table for name, table in data.items() if name != part}) == ()
    slip = {**data, "fuel": {"tanks": [{**TANK, "unusable_us_gal": 3}]}}
    if part != "fuel":
        said = [str(c) for c in check_begun({name: table for name, table in slip.items() if name != part})]
        assert any("Usable and unusable fuel make up the capacity" in words for words in said)
