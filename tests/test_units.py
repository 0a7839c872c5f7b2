"""Reading and writing quantities: what people write, what they get wrong, and nothing else escaping."""

from __future__ import annotations

import math
import subprocess
import sys
from typing import get_args

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from airwork import units
from airwork.errors import UnitError
from airwork.unit_words import KINDS as KINDS_OF_WORDS
from airwork.unit_words import meant, plain
from airwork.units import parse

KINDS = get_args(units.Kind)


# Exact definitions (formulas.md section 1 [M]; inch of mercury conventional, 0 °C).
@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        # what the work names
        ("65 mph", "speed", 65 * 1609.344 / 3600),
        ("29.87 inHg", "pressure", 29.87 * 3386.389),
        ("1013 hPa", "pressure", 101_300.0),
        ("FL065", "altitude", 6500 * 0.3048),
        ("2,150 lb", "mass", 2150 * 0.45359237),
        ("24 gal", "volume", 24 * 3.785411784e-3),
        ("90 L", "volume", 0.090),
        ("30 °C", "temperature", 303.15),
        ("QNH 1008", "pressure", 100_800.0),
        # other spellings people use
        ("110 KT", "speed", 110 * 1852 / 3600),
        ("110kts", "speed", 110 * 1852 / 3600),
        ("110 knots", "speed", 110 * 1852 / 3600),
        ("200 km/h", "speed", 200 / 3.6),
        ("200 KM/H", "speed", 200 / 3.6),
        ("25 m/s", "speed", 25.0),
        ("-500 fpm", "vertical_speed", -500 * 0.3048 / 60),
        ("−500 ft/min", "vertical_speed", -500 * 0.3048 / 60),
        ("+3 ft", "length", 3 * 0.3048),
        ("6500ft", "altitude", 6500 * 0.3048),
        ("6 500 ft", "altitude", 6500 * 0.3048),
        ("FL 65", "altitude", 6500 * 0.3048),
        ("fl100", "altitude", 10_000 * 0.3048),
        ("74 in", "length", 74 * 0.0254),
        ("10 SM", "distance", 16_093.44),
        ("10 NM", "distance", 18_520.0),
        ("2 nautical miles", "distance", 3704.0),
        ("9 km", "distance", 9000.0),
        ("69 kg", "mass", 69.0),
        ("20 imp gal", "volume", 20 * 4.54609e-3),
        ("7 qt", "volume", 7 * 9.46352946e-4),
        ("8 gph", "volume_flow", 8 * 3.785411784e-3 / 3600),
        ("8 gal/h", "volume_flow", 8 * 3.785411784e-3 / 3600),
        ("30 L/h", "volume_flow", 0.030 / 3600),
        ("30.05 in", "pressure", 30.05 * 3386.389),
        ('30.05"', "pressure", 30.05 * 3386.389),
        ("30.05 in Hg", "pressure", 30.05 * 3386.389),
        ("A2992", "pressure", 29.92 * 3386.389),
        ("Q1013", "pressure", 101_300.0),
        ("QNH 29.92", "pressure", 29.92 * 3386.389),
        ("QNH 1008 hPa", "pressure", 100_800.0),
        ("altimeter 30.12", "pressure", 30.12 * 3386.389),
        ("86 °F", "temperature", 303.15),
        ("-5 deg C", "temperature", 268.15),
        ("−5°C", "temperature", 268.15),
        ("30C", "temperature", 303.15),
        ("288.15 K", "temperature", 288.15),
        ("10 °F", "temperature_difference", 10 / 1.8),
        ("10 °C", "temperature_difference", 10.0),
        ("-10 K", "temperature_difference", -10.0),
        ("45°", "angle", math.pi / 4),
        ("45 deg", "angle", math.pi / 4),
        ("1 rad", "angle", 1.0),
        ("155 hp", "power", 155 * 550 * 0.3048 * 4.4482216152605),
        ("115 kW", "power", 115_000.0),
        ("2400 rpm", "rotation", 2400 * 2 * math.pi / 60),
        ("1.5 h", "time", 5400.0),
        ("45 min", "time", 2700.0),
        ("75 %", "ratio", 0.75),
        ("0.75", "ratio", 0.75),
        (".5 ft", "length", 0.1524),
        ("1e3 m", "length", 1000.0),
    ],
)
def test_a_quantity_is_read_into_si(text: str, kind: units.Kind, si: float) -> None:
    assert parse(text, kind) == pytest.approx(si, rel=1e-12)


def test_a_bare_number_takes_the_default_unit_and_no_other() -> None:
    assert parse("2300", "mass", default_unit="lb") == pytest.approx(2300 * 0.45359237)
    assert parse(2300, "mass", default_unit="lb") == pytest.approx(2300 * 0.45359237)
    assert parse("2300 kg", "mass", default_unit="lb") == 2300.0


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        ("65 mph", "pressure", "'65 mph' is not a pressure; write one of inHg, hPa, QNH 1008."),
        ("24 gal", "mass", "'24 gal' is not a mass; write one of lb, kg."),
        ("50 %", "angle", "'50 %' is not an angle"),
        ("30 deg", "ratio", "'30 deg' is not a ratio"),
        ("5 kt", "ratio", "'5 kt' is not a ratio"),
        ("6500 kg", "altitude", "is not an altitude; write one of ft, m, FL065."),
        ("7 stone", "mass", "unknown unit 'stone' in '7 stone'; write one of lb, kg."),
        ("7 kg**9999999", "mass", "unknown unit"),
        ("5 __import__", "mass", "unknown unit"),
        ("2300", "mass", "'2300' has no unit; write one of lb, kg."),
        ("heavy", "mass", "can't read 'heavy' as a mass"),
        ("", "speed", "can't read '' as a speed"),
        ("nan kt", "speed", "can't read"),
        ("29,92 inHg", "pressure", "write a point for decimals, commas only between thousands"),
        ("1,2345 lb", "mass", "write a point for decimals"),
        ("12,34 lb", "mass", "write a point for decimals"),
        ("1.2.3 m", "length", "write a point for decimals"),
        ("24 °", "temperature", "°C or °F?"),
        ("-500 °C", "temperature", "below absolute zero"),
        ("1e999 m", "length", "not a finite number"),
        ("1e308 km", "distance", "not a finite number"),
        ("QNH 99", "pressure", "'QNH 99' is no altimeter setting; write e.g. 29.92 inHg or QNH 1013."),
        ("5 kt " * 30, "speed", "too long for a speed"),
    ],
)
def test_what_cannot_be_read_gets_one_clear_line(text: str, kind: units.Kind, message: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, kind, where="--field")
    line = str(caught.value)
    assert message in line
    assert line.startswith("--field: ")
    assert "\n" not in line
    assert str(caught.value.where) == "--field"


_pieces = st.sampled_from(
    ["1", "2,150", "29.92", "-", "−", "+", ".", ",", "e9", " ", "\n", "\t", "\u00a0", "kt", "mph", "°C", "°", "FL",
     "QNH", "A", "inHg", "lb", "/", "//", "*", "**", "^", "(", ")", "%", "'", '"', "_", "__class__", "lambda", "in",
     "per", "9" * 30, "delta_degC", "degC/h", "NaN", "inf", "½", "٣", "\x00", "😀"]
)  # fmt: skip
_texts = st.one_of(st.text(max_size=80), st.lists(_pieces, max_size=12).map("".join))


@given(_texts, st.sampled_from(KINDS), st.sampled_from(["", "kt", "lb", "ft", "nonsense"]))
@settings(max_examples=150, deadline=None)
@example("1 " + "degC/" * 8, "temperature", "")
@example("1e9999999999999999", "mass", "lb")
@example("1 " + "m" * 24, "length", "")
def test_whatever_is_written_is_a_finite_number_or_a_unit_error(text: str, kind: units.Kind, default: str) -> None:
    """Nothing but UnitError escapes, and the message stays on one line."""
    line = ""
    value = 0.0
    try:
        value = parse(text, kind, default_unit=default)
    except UnitError as problem:
        line = str(problem)
    assert "\n" not in line
    assert isinstance(value, float)
    assert math.isfinite(value)


def test_no_input_hangs_the_reader() -> None:
    """Length is bounded before anything is searched. A fresh interpreter is stopped if it hangs."""
    code = """
from airwork.errors import UnitError
from airwork.unit_words import KINDS as KINDS_OF_WORDS
from airwork.unit_words import meant, plain
from airwork.units import parse
texts = ["1" + " " * 200_000 + "x\\nkt", "1," * 100_000, "9" * 200_000, "1 " + "a" * 200_000, "1 " + "m/" * 12,
         "1" + "\u00a0" * 50_000 + "!", "1,000" * 11, "A" + "1" * 58, "1 " + "(" * 50, "1 " + "kilo" * 5]
refused = 0
for text in texts:
    for kind in ("speed", "pressure", "altitude", "temperature"):
        try:
            parse(text, kind)
        except UnitError:
            refused += 1
print(refused == 4 * len(texts))
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, timeout=600)
    assert done.stdout == "True\n"


@given(st.floats(-1e6, 1e6), st.sampled_from(sorted(units._WRITE)))
def test_a_number_goes_out_and_comes_back(number: float, unit: str) -> None:
    assert units.to_unit(units.from_unit(number, unit), unit) == pytest.approx(number, rel=1e-9, abs=1e-9)


# pint's own names for airwork's units: its registry is somebody else's list of factors.
PINT = {
    "kt": "knot", "mph": "mph", "km/h": "km/h", "m/s": "m/s", "fpm": "ft/min", "ft": "ft", "in": "inch",
    "NM": "nautical_mile", "SM": "mile", "km": "km", "m": "m", "lb": "lb", "kg": "kg",
    "gal": "gallon", "L": "liter", "gph": "gallon/h",
    "L/h": "liter/h", "inHg": "inHg", "hPa": "hPa", "hp": "horsepower", "kW": "kW", "rpm": "rpm", "psi": "psi",
    "impgal": "imperial_gallon", "qt": "quart", "s": "s", "min": "min", "h": "h", "cm": "cm", "mm": "mm",
    "PS": "metric_horsepower", "bar": "bar", "mmHg": "mmHg", "ft²": "ft**2", "m²": "m**2",
    "impgal/h": "imperial_gallon/h", "kPa": "kPa", "yd": "yard", "at": "technical_atmosphere", "cmHg": "cmHg",
    "m/min": "m/min", "ft/s": "ft/s",
    "L/min": "liter/min", "deg": "degree", "°C": "degC", "°F": "degF", "K": "kelvin", "Pa": "Pa",
    "W": "W", "rad": "rad", "%": "percent",
}  # fmt: skip


def test_every_factor_is_what_pint_has_for_it_published() -> None:
    """pint's default registry as an outside reference. Mercury: conventional 0 °C values differ in the sixth digit."""
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry()
    assert set(PINT) == set(units._WRITE)
    for unit, name in PINT.items():
        expected = registry.Quantity(17.5, registry.Unit(name)).to_base_units()
        si = expected.to({"[mass]": "kg"}.get(str(expected.dimensionality), expected.units)).magnitude
        assert units.from_unit(17.5, unit) == pytest.approx(si, rel=2e-6), unit


# As books and pilots of several countries print them: language by memory of its trade words.
SPOKEN = [
    ("53 kn", "speed", "53 kt"), ("53 nd", "speed", "53 kt"),
    ("53 nœuds", "speed", "53 kt"), ("53 Knoten", "speed", "53 kt"),
    ("53 nodi", "speed", "53 kt"), ("53 uzlů", "speed", "53 kt"), ("53 KTS.", "speed", "53 kt"),
    ("61 M.P.H.", "speed", "61 mph"), ("61 mi/h", "speed", "61 mph"), ("61 miles per hour", "speed", "61 mph"),
    ("99 km/Std.", "speed", "99 km/h"), ("99 km·h⁻¹", "speed", "99 km/h"), ("99 km / t", "speed", "99 km/h"),
    ("99 km per hr", "speed", "99 km/h"), ("99 km/h-1", "speed", None),
    ("4,9 m/sek".replace(",", "."), "speed", "4.9 m/s"),
    ("4.9 m s^-1", "vertical_speed", "4.9 m/s"), ("700 ft/mn", "vertical_speed", "700 fpm"),
    ("700 F.P.M.", "vertical_speed", "700 fpm"), ("700 feet per minute", "vertical_speed", "700 fpm"),
    ("700 piedi/min", "vertical_speed", "700 fpm"), ("700'/min", "vertical_speed", "700 fpm"),
    ("450 pieds", "length", "450 ft"), ("450 Fuß", "length", "450 ft"), ("450 stop", "length", "450 ft"),
    ("450 fot", "length", "450 ft"), ("150 yds.", "length", "450 ft"), ("84 Zoll", "length", "7 ft"),
    ("84″", "length", "7 ft"), ("450′", "length", "450 ft"),
    ("450 mètres", "length", "450 m"), ("450 metrů", "length", "450 m"),
    ("12 N.M.", "distance", "12 NM"), ("12 milles nautiques", "distance", "12 NM"),
    ("12 Seemeilen", "distance", "12 NM"),
    ("12 st. mi.", "distance", "12 SM"), ("750 kilos", "mass", "750 kg"), ("750 kp", "mass", "750 kg"),
    ("1650 livres", "mass", "1650 lb"), ("1650 lbs.", "mass", "1650 lb"), ("1650 #", "mass", "1650 lb"),
    ("15 IG", "volume", "15 impgal"), ("15 I.G.", "volume", "15 impgal"), ("15 Imp. Gals", "volume", "15 impgal"),
    ("15 gal (imp.)", "volume", "15 impgal"), ("15 UK gal", "volume", "15 impgal"),
    ("15 U.S. Gal.", "volume", "15 gal"),
    ("15 gal US", "volume", "15 gal"), ("15 USG", "volume", "15 gal"),
    ("90 Ltr.", "volume", "90 L"), ("90 ℓ", "volume", "90 L"),
    ("90 dm³", "volume", "90 L"), ("18 l/Std", "volume_flow", "18 L/h"), ("18 litri/ora", "volume_flow", "18 L/h"),
    ("8 g.p.h.", "volume_flow", "8 gph"), ("8 USG/hr", "volume_flow", "8 gph"),
    ("8 IG/h", "volume_flow", "8 impgal/h"),
    ("8 US gal per hour", "volume_flow", "8 gph"), ('24 "Hg', "pressure", "24 inHg"),
    ("24 in. Hg.", "pressure", "24 inHg"),
    ("24 pouces Hg", "pressure", "24 inHg"), ("24 ''Hg", "pressure", "24 inHg"), ("810 mbar", "pressure", "810 hPa"),
    ("760 Torr", "pressure", "760 mmHg"), ("76 cm Hg", "pressure", "760 mmHg"),
    ("1 kp/cm²", "pressure", "980.665 hPa"),
    ("1 ata", "pressure", "980.665 hPa"), ("90 lbs/sq.in.", "pressure", "90 psi"), ("20 ºC", "temperature", "20 °C"),
    ("20 ˚C", "temperature", "20 °C"), ("20 ℃", "temperature", "20 °C"), ("20 Grad C", "temperature", "20 °C"),
    ("20 degrees Celsius", "temperature", "20 °C"), ("68 ℉", "temperature", "68 °F"), ("15 Grad", "angle", "15 deg"),
    ("15º", "angle", "15 deg"), ("15 degrés", "angle", "15 deg"),
    ("100 cv DIN", "power", "100 PS"), ("100 CV", "power", "100 PS"),
    ("100 ch", "power", "100 PS"), ("100 DIN-PS", "power", "100 PS"),
    ("100 hk", "power", "100 PS"), ("100 KM", "power", "100 PS"),
    ("100 B.H.P.", "power", "100 hp"), ("75 kilowatt", "power", "75 kW"), ("2300 tr/mn", "rotation", "2300 rpm"),
    ("2300 U/min", "rotation", "2300 rpm"), ("2300 min⁻¹", "rotation", "2300 rpm"),
    ("2300 1/min", "rotation", "2300 rpm"),
    ("2300 giri/1'", "rotation", "2300 rpm"), ("2300 ot./min", "rotation", "2300 rpm"),
    ("2300 varv/min", "rotation", "2300 rpm"),
    ("2300 R.P.M.", "rotation", "2300 rpm"), ("2300 rev/min", "rotation", "2300 rpm"), ("16 mq", "area", "16 m²"),
    ("16 m^2", "area", "16 m²"), ("16 sq. m", "area", "16 m²"),
    ("170 sq.ft.", "area", "170 ft²"), ("9 mn", "time", "9 min"),
    ("9′", "time", "9 min"), ("2 Std", "time", "2 h"), ("65 p.c.", "ratio", "65 %"), ("65 Prozent", "ratio", "65 %"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "kind", "same"), SPOKEN)
def test_a_unit_is_read_as_pilots_write_it(text: str, kind: units.Kind, same: str | None) -> None:
    if same is None:
        with pytest.raises(UnitError):
            parse(text, kind)
        return
    number, unit = same.split(" ")
    assert parse(text, kind) == pytest.approx(units.from_unit(float(number), unit), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "guess"),
    [("53 knt", "speed", "kt"), ("99 kmm/h", "speed", "km/h"), ("700 ft/mim", "vertical_speed", "fpm"),
     ("15 ing", "volume", None), ("15 impgl", "volume", "impgal"), ("53 mkt", "speed", "kt"),
     ("2300 rpn", "rotation", "rpm"), ("100 pss", "power", "PS")],
)  # fmt: skip
def test_an_unknown_unit_is_asked_back_with_the_nearest(text: str, kind: units.Kind, guess: str | None) -> None:
    with pytest.raises(UnitError, match=f"did you mean {guess}\\?" if guess else "unknown unit"):
        parse(text, kind)


def test_no_word_means_two_units_of_a_kind_and_every_unit_has_a_factor() -> None:
    for kind, words in KINDS_OF_WORDS.items():
        spoken = [w for said in words.values() for w in said.split()]
        assert len(spoken) == len(set(spoken)), kind
        assert set(words) <= set(units._WRITE), kind
        for unit, said in words.items():
            for word in said.split():
                assert plain(word) == word or kind == "rotation", word
                assert meant(word, kind) == unit


@given(st.sampled_from(KINDS), st.floats(1, 5000), st.data())
def test_what_is_read_is_shown_back_as_typed(kind: units.Kind, number: float, data: st.DataObject) -> None:
    """Whatever word the unit is typed with, written back in that unit it is the number that was typed."""
    unit = data.draw(st.sampled_from(sorted(KINDS_OF_WORDS[kind])))
    word = data.draw(st.sampled_from(KINDS_OF_WORDS[kind][unit].split()))
    mark = data.draw(st.sampled_from(["", " "])) if not word[0].isdigit() else " "
    how = data.draw(st.sampled_from([str, str.upper, str.title]))
    typed = round(number, 2)
    si = parse(f"{typed:.2f}{mark}{how(word)}", kind)
    back = si / units._WRITE[unit][0] if kind == "temperature_difference" else units.to_unit(si, unit)
    assert round(back, 2) == typed


def test_whole_arrays_are_converted() -> None:
    got = units.to_unit(np.array([0.0, 0.3048]), "ft")
    np.testing.assert_allclose(got, [0.0, 1.0])
    np.testing.assert_allclose(units.from_unit(np.array([0.0, 100.0]), "°C"), [273.15, 373.15])


@pytest.mark.parametrize(
    ("si", "unit", "digits", "text"),
    [
        (1981.2, "ft", 0, "6,500 ft"),
        (33.4390, "kt", 0, "65 kt"),
        (268.15, "°C", 0, "−5°C"),
        (-0.01, "ft", 0, "0 ft"),
        (-0.04 * 0.3048, "ft", 1, "0.0 ft"),
        (math.radians(45), "deg", 0, "45°"),
        (0.756, "%", 0, "76%"),
        (101_325.0, "inHg", 2, "29.92 inHg"),
        (0.09, "L", 0, "90 L"),
    ],
)
def test_a_quantity_is_written_as_people_read_it(si: float, unit: str, digits: int, text: str) -> None:
    assert units.write(si, unit, digits) == text


@given(st.floats(0.0, 50_000.0), st.sampled_from(["kt", "ft", "lb", "gal", "hPa", "°C", "min"]))
def test_what_is_written_can_be_read_again(number: float, unit: str) -> None:
    kinds = {"kt": "speed", "ft": "altitude", "lb": "mass", "gal": "volume", "hPa": "pressure", "°C": "temperature"}
    si = units.from_unit(number, unit)
    again = parse(units.write(si, unit, 3), kinds.get(unit, "time"))
    assert units.to_unit(again, unit) == pytest.approx(number, abs=0.000501)


def test_a_knot_is_1_1508_mph_and_a_nautical_mile_6076_feet_published() -> None:
    """PHAK ch. 16 [V]: 1.15 and 6,076.1 ft; formulas.md section 1 [D]: 1.15077945 and 6,076.11549."""
    assert pytest.approx(1.15077945, abs=5e-9) == units.KT_MPS / units.MPH_MPS
    assert pytest.approx(6076.11549, abs=5e-6) == units.NM_M / units.FT_M
    assert pytest.approx(29.92126, abs=1e-5) == 101_325 / units.INHG_PA
    assert pytest.approx(745.6998715822702, rel=1e-12) == units.HP_W
