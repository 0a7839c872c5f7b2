"""Column names are understood by their words, or said not to be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.recording.names import common_words, understand, words_of
from airwork.recording.quantities import PATTERNS, QUANTITIES
from airwork.recording.unit_words import BY_NAME, named, read_units

# name, unit cell, quantity, unit (None: names none)
UNDERSTOOD = [
    ("Lcl Date", "yyyy-mm-dd", "local_date", None),
    ("Lcl Time", "hh:mm:ss", "local_time", None),
    ("UTCOfst", "hh:mm", "utc_offset", None),
    ("AltB", "ft Baro", "indicated_altitude", "ft"),
    ("BaroA", "inch", "altimeter_setting", "inHg"),
    ("AltMSL", "ft msl", "gps_altitude", "ft"),
    ("AltGPS", "ft wgs", "gps_altitude", "ft"),
    ("GndSpd", "kt", "ground_speed", "kt"),
    ("VSpd", "fpm", "vertical_speed", "fpm"),
    ("FQtyL", "gals", "fuel_left", "gal"),
    ("Fuel Qty R", "", "fuel_right", None),
    ("E1 FFlow", "gph", "fuel_flow", "gph"),
    ("E1 MAP", "Hg", "manifold_pressure", "inHg"),
    ("E1 RPM", "rpm", "rpm", "rpm"),
    ("E1 %Pwr", "%", "power", "%"),
    ("E1 CHT3", "deg F", "cht", "°F"),
    ("NormAc", "G", "normal_acceleration", "g"),
    ("LatAc", "G", "lateral_acceleration", "g"),
    ("WndDr", "deg", "wind_direction", "deg"),
    ("MagVar", "deg", "magnetic_variation", "deg"),
    ("velocity", "", "speed", None),
    ("vertrate", "", "vertical_speed", None),
    ("baroaltitude", "", "indicated_altitude", None),
    ("geoaltitude", "", "gps_altitude", None),
    ("onground", "", "on_ground", None),
    ("icao24", "", "aircraft", None),
    ("/fdm/jsbsim/velocities/vc-kts", "", "calibrated_airspeed", "kt"),
    ("/fdm/jsbsim/position/h-sl-ft", "", "gps_altitude", "ft"),
    ("/fdm/jsbsim/attitude/phi-rad", "", "bank", "rad"),
    ("velocities/v-north-fps", "", "velocity_north", "ft/s"),
    ("velocities/h-dot-fps", "", "vertical_speed", "ft/s"),
    ("attitude/psi-deg", "", "true_heading", "deg"),
    ("propulsion/tank[0]/contents-lbs", "", "fuel_left", "lb"),
    ("fcs/flap-pos-norm", "", "flap", "1"),
    ("accelerations/Nz", "", "load_factor", None),
    ("atmosphere/T-R", "", "outside_temperature", "°R"),
    ("V_{Total} (ft/s)", "", "true_airspeed", "ft/s"),
    ("altitude_ft", "", "altitude", "ft"),
    ("speed_m_s", "", "speed", "m/s"),
    ("Pressure Altitude [ft]", "", "pressure_altitude", "ft"),
    ("KIAS", "", "indicated_airspeed", "kt"),
    ("Heading (mag)", "", "magnetic_heading", None),
    ("ROLL ANGLE", "", "bank", None),
    ("Fuel Selector", "", "tank", None),
    ("Stall Warning", "", "stall_warning", None),
    ("Outside Air Temp", "", "outside_temperature", None),
    ("Static Temp", "", "outside_temperature", None),
    ("Static", "", "static_pressure", None),
    ("timestamp_ms", "", "time", "ms"),
    ("Milliseconds", "", "elapsed", "ms"),
    ("ms", "", "elapsed", "ms"),
    ("QNH (hPa)", "", "altimeter_setting", "hPa"),
    ("a_x", "", "acceleration_x", None),
    ("Accelerometer X (m/s^2)", "", "acceleration_x", "m/s²"),
    ("E1 OilP", "psi", "not_needed", None),
    ("GPSfix", "", "not_needed", None),
    ("IASKT", "", "indicated_airspeed", "kt"),
    ("FFGPH", "", "fuel_flow", "gph"),
    ("OATDEGC", "", "outside_temperature", "°C"),
]


@pytest.mark.parametrize(("name", "cell", "quantity", "unit"), UNDERSTOOD)
def test_a_name_says_its_quantity_and_unit(name: str, cell: str, quantity: str, unit: str | None) -> None:
    meaning = understand(name, cell)
    assert meaning is not None
    assert meaning.quantity == quantity
    assert (meaning.units[0].name if meaning.units else None) == unit


@pytest.mark.parametrize(
    "name",
    [
        "Cabin Differential",
        "temp",
        "foo",
        "X17",
        "Flurb (kt)",
        "",
        "gear ratio wobble",
        "TASK",
        "CASKET",
        "IASGPH",
        "FLURBKT",
        "USEDGAL",
    ],
)
def test_a_name_that_is_not_understood_is_not_guessed(name: str) -> None:
    meaning = understand(name)
    assert meaning is None or meaning.quantity == "not_needed"


@pytest.mark.parametrize(
    "name", ["Selected Altitude", "Heading Bug", "Vertical Accuracy", "Airspeed Target", "AP Roll Cmd"]
)
def test_a_wish_or_a_statistic_is_never_a_reading(name: str) -> None:
    meaning = understand(name)
    assert meaning is not None
    assert meaning.aside or meaning.quantity == "not_needed"


def test_a_prefix_all_names_share_means_nothing() -> None:
    names = ["Zq_IAS", "Zq_Altitude", "Zq_Pitch", "Zq_Roll", "Zq_Time"]
    assert understand("Zq_IAS") is None
    common = common_words(names)
    assert [understand(n, "", common).quantity for n in names[:2]] == ["indicated_airspeed", "altitude"]  # type: ignore[union-attr]


def test_glued_words_are_cut_along_the_vocabulary() -> None:
    assert words_of("groundspeed") == ("ground", "speed")
    assert words_of("GPSAltitude") == ("gps", "altitude")


def test_every_pattern_names_a_known_quantity() -> None:
    assert {name for name, _ in PATTERNS} <= QUANTITIES.keys()


def test_every_unit_a_quantity_tries_is_known_and_of_its_kind() -> None:
    for quantity in QUANTITIES.values():
        for unit in quantity.units:
            assert BY_NAME[unit].dimension in {quantity.dimension, *quantity.also}


def test_units_convert_by_their_definitions_published() -> None:
    # Exact definitions: international foot, nautical mile, statute mile, pound, US gallon (NIST SP 811; from memory).
    assert BY_NAME["kt"].factor == pytest.approx(1852 / 3600, rel=1e-15)
    assert BY_NAME["mph"].factor == pytest.approx(1609.344 / 3600, rel=1e-15)
    assert BY_NAME["fpm"].factor == pytest.approx(0.3048 / 60, rel=1e-15)
    assert BY_NAME["gal"].factor == pytest.approx(231 * 0.0254**3, rel=1e-12)
    celsius, fahrenheit, rankine = BY_NAME["°C"], BY_NAME["°F"], BY_NAME["°R"]
    assert 15 * celsius.factor + celsius.offset == pytest.approx(288.15)
    assert 59 * fahrenheit.factor + fahrenheit.offset == pytest.approx(288.15)
    assert 518.67 * rankine.factor == pytest.approx(288.15)


@pytest.mark.parametrize(
    ("text", "name"), [("1e-7 deg", "1e-07 deg"), ("deg*1e7", "1e-07 deg"), ("kt x1000", "0.001 kt"), ("[deg C]", "°C")]
)
def test_scaled_units_are_read(text: str, name: str) -> None:
    assert read_units(text)[0].name == name


def test_a_units_own_name_is_read_back() -> None:
    for name, unit in BY_NAME.items():
        assert named(name) == unit
    scaled = named("0.001 kt")
    assert scaled is not None
    assert scaled.factor == pytest.approx(BY_NAME["kt"].factor * 1e-3)


@given(st.text(max_size=60), st.text(max_size=20))
def test_any_name_and_unit_is_answered(name: str, cell: str) -> None:
    meaning = understand(name, cell)
    assert meaning is None or meaning.quantity in QUANTITIES


@pytest.mark.parametrize("name", ["V1", "V2 (kt)", "T1", "P3", "H1", "x2"])
def test_a_letter_and_a_number_may_mean_anything(name: str) -> None:
    assert understand(name) is None


@pytest.mark.parametrize(
    "name", ["gear/wow", "/fdm/jsbsim/gear/unit[0]/WOW", "WOW_Left", "Weight On Wheels", "squat switch"]
)
def test_weight_on_wheels_is_on_the_ground(name: str) -> None:
    meaning = understand(name)
    assert meaning is not None
    assert meaning.quantity == "on_ground"
