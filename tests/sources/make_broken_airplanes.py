"""Makes the short and the deliberately broken airplane files of the tests from the invented Larkmoor 155.

    python tests/sources/make_broken_airplanes.py

Each broken file differs from `larkmoor_short.toml` in one typist's mistake, named in its first line. The files are
kept, so that `airwork airplane check` can be shown on them; a test holds them against this script.
"""

from __future__ import annotations

from pathlib import Path

import airwork

HERE = Path(__file__).parent
DEMO = Path(airwork.__file__).parent / "demo_files" / "airplanes" / "larkmoor_155.toml"

# file name: (the mistake, text as it stands, text as mistyped)
MISTAKES: dict[str, tuple[str, str, str]] = {
    "01_stall_speeds_exchanged": (
        "the stall speeds with full flaps and flaps up are exchanged (Vs0 > Vs)",
        '{ name = "stall_flaps_full", weight_lb = 2300, kias = 41, kcas = 46, indicated_mph = 47 },\n'
        '  { name = "stall_flaps_up", weight_lb = 2300, kias = 49, kcas = 54, indicated_mph = 57 },',
        '{ name = "stall_flaps_full", weight_lb = 2300, kias = 49, kcas = 54, indicated_mph = 57 },\n'
        '  { name = "stall_flaps_up", weight_lb = 2300, kias = 41, kcas = 46, indicated_mph = 47 },',
    ),
    "02_mph_typed_as_knots": (
        "the approach speed is typed in mph in the knots column",
        '{ name = "approach_flaps_full", weight_lb = 2300, kias = 58, kcas = 60, indicated_mph = 67,',
        '{ name = "approach_flaps_full", weight_lb = 2300, kias = 67,',
    ),
    "03_power_table_not_rising": (
        "two digits of a percent power are exchanged, so the power falls with RPM",
        "{ density_altitude_ft = 4000, rpm = 2400, percent_power = 63,",
        "{ density_altitude_ft = 4000, rpm = 2400, percent_power = 36,",
    ),
    "04_empty_cg_outside": (
        "a digit of the empty arm is wrong: the empty center of gravity lies outside the envelope",
        "empty_arm_in = 85.8",
        "empty_arm_in = 58.8",
    ),
    "05_cruise_against_power_table": (
        "a cruise row stands at the wrong RPM: the cruise table disagrees with the power table",
        "{ pressure_altitude_ft = 4000, isa_deviation_c = 0, rpm = 2500, percent_power = 71, ktas = 111,",
        "{ pressure_altitude_ft = 4000, isa_deviation_c = 0, rpm = 2500, percent_power = 77, ktas = 111,",
    ),
    "06_calibration_row_wrong": (
        "a digit of a calibration row is wrong",
        "{ kias = 80, kcas = 80 },",
        "{ kias = 80, kcas = 69 },",
    ),
    "07_flap_speeds_out_of_order": (
        "the speeds of two flap notches are exchanged",
        "{ notch = 1, deflection_deg = 12, maximum_speed_kias = 105 },\n"
        "  { notch = 2, deflection_deg = 24, maximum_speed_kias = 100 },",
        "{ notch = 1, deflection_deg = 12, maximum_speed_kias = 100 },\n"
        "  { notch = 2, deflection_deg = 24, maximum_speed_kias = 105 },",
    ),
    "08_arc_in_mph": (
        "the green arc is typed as on the mph dial",
        "green_arc_kias = [49, 124]",
        "green_arc_kias = [57, 143]",
    ),
    "09_envelope_crosses_itself": (
        "two corners of the normal envelope are exchanged",
        "{ weight_lb = 2300, arm_in = 86.0 },\n  { weight_lb = 2300, arm_in = 93.0 },",
        "{ weight_lb = 2300, arm_in = 93.0 },\n  { weight_lb = 2300, arm_in = 86.0 },",
    ),
    "10_usable_over_capacity": (
        "usable fuel and capacity are exchanged",
        '{ name = "right wing", capacity_us_gal = 21.0, usable_us_gal = 20.0,',
        '{ name = "right wing", capacity_us_gal = 20.0, usable_us_gal = 21.0,',
    ),
    "11_power_over_100": (
        "a percent power above 100",
        "{ density_altitude_ft = 0, rpm = 2700, percent_power = 98,",
        "{ density_altitude_ft = 0, rpm = 2700, percent_power = 108,",
    ),
    "12_impossible_fuel_flow": (
        "a fuel flow typed in liters per hour",
        "percent_power = 71, ktas = 111, gph_best_power = 9.0,",
        "percent_power = 71, ktas = 111, gph_best_power = 34.4,",
    ),
    "13_distance_shrinks": (
        "a takeoff distance shrinks with altitude",
        "oat_c = 20, ground_roll_ft = 1015, total_over_50_ft = 2250 },",
        "oat_c = 20, ground_roll_ft = 1015, total_over_50_ft = 1250 },",
    ),
    "14_headwind_sign": (
        "the sign of the headwind correction is missing",
        '{ cause = "headwind", per = 9, unit = "kt", change_percent = -19 },',
        '{ cause = "headwind", per = 9, unit = "kt", change_percent = 19 },',
    ),
    "15_moment_typed_as_arm": (
        "a station's moment over a hundred is typed as its arm",
        '{ name = "rear seats", arm_in = 117.5, maximum_lb = 400 },',
        '{ name = "rear seats", arm_in = 399.5, maximum_lb = 400 },',
    ),
    "16_climb_digits": (
        "two digits of a rate of climb are exchanged",
        "oat_c = 0, climb_speed_kias = 74, rate_of_climb_fpm = 725 },",
        "oat_c = 0, climb_speed_kias = 74, rate_of_climb_fpm = 527 },",
    ),
    "17_maneuvering_in_mph": (
        "the maneuvering speed is typed in mph in the knots column",
        '{ name = "maneuvering", weight_lb = 2300, kias = 106, kcas = 105, indicated_mph = 122,',
        '{ name = "maneuvering", weight_lb = 2300, kias = 122,',
    ),
    "18_stall_row_weight": (
        "a stall speed at low weight is higher than at high weight",
        "{ weight_lb = 1750, flap_notch = 0, bank_deg = 0, kias = 40, kcas = 47, indicated_mph = 46 },",
        "{ weight_lb = 1750, flap_notch = 0, bank_deg = 0, kias = 51, kcas = 55, indicated_mph = 59 },",
    ),
}  # fmt: skip


def short_handbook() -> str:
    """The Larkmoor 155 cut down: every table, few rows."""
    keep: list[str] = []
    table = ""
    for line in DEMO.read_text().splitlines():
        if line.startswith("["):
            table = line
        if table.startswith(("[[", "[performance.time")):
            continue
        by_height = "pressure_altitude_ft" in line or ("density_altitude_ft = " in line and "rpm" in line)
        if by_height:
            height = int(line.split("altitude_ft = ")[1].split(",")[0])
            if height not in ((2000, 4000) if table == "[performance.cruise]" else (0, 4000)):
                continue
        if any(column in line for column in ("bank_deg = 30", "bank_deg = 60", "isa_deviation_c = -20")):
            continue
        if "oat_c = 10" in line or "oat_c = 30" in line:
            continue
        keep.append(line)
    return "\n".join(keep) + "\n"


def broken(name: str) -> str:
    """One broken file's text."""
    mistake, old, new = MISTAKES[name]
    text = short_handbook()
    if text.count(old) != 1:
        raise ValueError(f"{name}: the text to mistype occurs {text.count(old)} times")
    return f"# Deliberately broken, for tests: {mistake}.\n{text.replace(old, new)}"


def main() -> None:
    """Write every file."""
    (HERE / "larkmoor_short.toml").write_text(short_handbook())
    folder = HERE / "broken_airplanes"
    folder.mkdir(exist_ok=True)
    for name in MISTAKES:
        (folder / f"{name}.toml").write_text(broken(name))


if __name__ == "__main__":
    main()
