"""Learning one airplane: readings, outliers, what differs from the book, what is known, the fitted file."""

import copy
import tomllib
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import tomlkit

from airwork.airplane.airplane import Airplane
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.performance import performance
from airwork.airplane.performance.advice import known, resampled_90
from airwork.airplane.performance.against_book import rows_against_book, summaries
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.differences import differences
from airwork.airplane.performance.fitted_file import compose, fit, fitted_path, reading_row
from airwork.airplane.performance.fuel_line import FuelLine
from airwork.airplane.performance.judging import OUTLIER_SD
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.report import fit_report
from airwork.units import KT_MPS, LB_KG
from invented_truth import readings, true_level, truths

FT_M = 0.3048


@pytest.fixture(scope="module")
def larkmoor_text(airplane_folder):
    return (airplane_folder / "larkmoor_155.toml").read_text()


@cache
def _unobserved(text):
    document = tomlkit.parse(text)
    document.pop("observations", None)
    return tomlkit.dumps(document)


def with_readings(text, rows):
    """The airplane of a typed text with other observations."""
    out = _unobserved(text)
    for row in rows:
        lines = [
            f"{key} = {value!r}" if not isinstance(value, str) else f'{key} = "{value}"' for key, value in row.items()
        ]
        out += "\n[[observations]]\n" + "\n".join(lines) + "\n"
    return out


def airplane(text):
    return Airplane(parse_airplane_file(text))


def test_a_reading_with_the_wrong_unit_is_shown_and_left_out(larkmoor_text):
    """66 typed as mph where 66 kt were flown and an RPM with a wrong digit: both are named, the answers stay."""
    rows = readings(truths()["larkmoor_155"], 3)
    rows[1] = {**rows[1], "rpm": rows[1]["rpm"] + 300}
    p = performance(airplane(with_readings(larkmoor_text, rows)))
    assert [r.reading.rpm for r in p.learned.outliers] == [rows[1]["rpm"]]
    assert p.learned.outliers[0].sd_off < -OUTLIER_SD
    q = Condition(2200 * LB_KG, 3000 * FT_M, 282.2)
    assert float(level_flight(p, 68 * KT_MPS, q).rpm) == pytest.approx(rows[1]["rpm"] - 300, abs=12)
    report = fit_report(p)
    assert report.left_out[0].fit_says == pytest.approx(rows[1]["rpm"] - 300, abs=15)
    assert "with it" in report.left_out[0].with_it
    kept = performance(airplane(with_readings(larkmoor_text, rows)), keep_outliers=True)
    assert not kept.learned.outliers


def test_a_reading_slower_than_the_stall_speed_can_not_be_used(larkmoor_text):
    """The usual sign of a speed in the wrong unit."""
    rows = readings(truths()["larkmoor_155"], 3)
    rows[0] = {**rows[0], "kcas": 45.0}
    p = performance(airplane(with_readings(larkmoor_text, rows)))
    assert "check the unit" in p.learned.outliers[0].why


def test_a_reading_marked_left_out_is_not_used(larkmoor_text):
    """By hand, or by an earlier fit."""
    rows = readings(truths()["larkmoor_155"], 3)
    rows[0] = {**rows[0], "left_out": "turbulent"}
    p = performance(airplane(with_readings(larkmoor_text, rows)))
    assert len(p.learned.readings_used) == len(rows) - 1
    assert p.learned.outliers[0].why == "turbulent"


def test_a_draggier_airplane_is_found_slower_than_its_book(larkmoor_text):
    """12 % more parasite drag: the true loss of speed at the book's RPM is inside the stated difference, and clear."""
    t = copy.deepcopy(truths()["larkmoor_155"])
    t["CD0_flaps_up"] *= 1.12
    rows = readings(t, 3)
    for row in rows[:5]:
        row.update(fuel_flow_gph=9.0, mixture="full_rich")
    p = performance(airplane(with_readings(larkmoor_text, rows)))
    found = {d.name: d for d in differences(p)}
    cruise = found["cruise true airspeed"]
    assert cruise.clear
    assert "slower" in cruise.words
    rpm = float(cruise.words.split(" at ")[1].split(" RPM")[0].replace(",", ""))
    book = truths()["larkmoor_155"]
    speeds = np.linspace(80, 115, 200)

    def true_tas(truth):
        at = [true_level(truth, v * KT_MPS, 2300, 4000)[0] for v in speeds]
        return float(np.interp(rpm, at, speeds)) / np.sqrt(0.88809)

    assert abs(cruise.value - (true_tas(t) - true_tas(book))) <= cruise.value_90
    fuel = found["fuel flow, full rich"]
    assert fuel.unit == "gph"
    assert ("more" in fuel.words or "less" in fuel.words) == fuel.clear


def test_fuel_flow_readings_are_held_against_the_cruise_table(larkmoor_text):
    """Readings 0.4 gal/h above the table at the power flown: found within its band."""
    rows = readings(truths()["larkmoor_155"], 3)
    plain = performance(airplane(with_readings(larkmoor_text, rows)))
    for row in rows[3:5]:
        q = Condition(2200 * LB_KG, 3000 * FT_M, row["oat_c"] + 273.15)
        power = float(level_flight(plain, row["kcas"] * KT_MPS, q).power_ratio)
        gph = plain.airplane.fuel_flow_m3ps(power, "full_rich") / 0.003785411784 * 3600 + 0.4
        row.update(fuel_flow_gph=float(gph), mixture="full_rich")
    found = {d.name: d for d in differences(performance(airplane(with_readings(larkmoor_text, rows))))}
    assert found["fuel flow, full rich"].value == pytest.approx(0.4, abs=0.1)
    assert "burns 0.4 gal/h more" in found["fuel flow, full rich"].words


def test_fuel_flow_of_flights_is_held_against_the_column_that_lies_nearest(fitted):
    """A line 12 % above the rich column at 65 % power, by three flights: said, with the column's name."""
    p = fitted["larkmoor_155"]
    watts = 0.65 * p.airplane.rated_power_w
    for more, words in ((1.12, "more"), (1.0, "within")):
        flow = more * p.airplane.fuel_flow_m3ps(0.65, "full_rich")
        line = FuelLine(0.2 * flow, 0.8 * flow / watts, 0.02, 3)
        learned = replace(p.learned, fuel=line)
        found = {d.name: d for d in differences(replace(p, learned=learned))}["fuel flow as flown"]
        assert found.value == pytest.approx((more - 1.0) * flow / more * 951019.4, abs=0.02)  # gal/h for m³/s
        assert words in found.words
        assert "full rich" in found.words
        assert found.clear == (more > 1.0)


def test_an_airplane_like_its_book_is_said_to_be(fitted):
    """The nine sample readings of the invented airplanes come from the book's own physics."""
    for name in ("larkmoor_155", "wrenbrook_108"):
        assert not any(d.clear for d in differences(fitted[name]))


def test_without_a_handbook_or_readings_no_difference_is_claimed(larkmoor_text):
    """Nothing to compare."""
    assert differences(performance(airplane(with_readings(larkmoor_text, [])))) == ()


def test_one_reading_per_notch_is_asked_for_and_narrows_that_notch(larkmoor_text):
    """No table fixes flap drag: without a reading the band is wide, and it is asked for."""
    rows = readings(truths()["larkmoor_155"], 3)
    clean = [r for r in rows if r["flap_notch"] == 0]
    bare = performance(airplane(with_readings(larkmoor_text, clean)))
    widths = {k.answer: k for k in known(bare)}
    assert widths["slow flight, flap notch 3"].readings_90 > 3 * widths["slow flight, flaps up"].readings_90
    assert widths["slow flight, flap notch 3"].by in {
        "general knowledge only",
        "the handbook and readings",
        "the handbook",
    }
    assert any("flap notch 3" in line for line in fit_report(bare).missing)
    full = performance(airplane(with_readings(larkmoor_text, rows)))
    narrowed = {k.answer: k for k in known(full)}["slow flight, flap notch 3"]
    assert narrowed.readings_90 < 0.5 * widths["slow flight, flap notch 3"].readings_90
    assert narrowed.by == "this airplane's readings"


def test_each_source_narrows_what_is_known(fitted):
    """General knowledge, then the handbook, then readings."""
    for p in fitted.values():
        for k in known(p):
            assert k.readings_90 <= k.handbook_90 * 1.001 <= k.general_90 * 1.002


def test_resampled_intervals_need_twelve_readings(larkmoor_text):
    """With eight they are refused; with sixteen they are of the size of the others."""
    rows = readings(truths()["larkmoor_155"], 3)
    rng = np.random.default_rng(5)
    assert resampled_90(performance(airplane(with_readings(larkmoor_text, rows)))) is None
    noisy = [{**r, "rpm": r["rpm"] + rng.normal(0, 12)} for r in rows + rows]
    p = performance(airplane(with_readings(larkmoor_text, noisy)))
    drawn = resampled_90(p, times=60)
    for k in known(p):
        assert 0.3 * k.readings_90 < drawn[k.answer] < 2.0 * k.readings_90


def test_the_physics_agrees_with_every_row_of_the_handbooks(fitted):
    """Row by row: cruise within 2 kt and 1 point of power, climb within 40 ft/min, V-speeds (not in the fit) 4 kt."""
    limit = {"kt": 2.0, "%": 1.0, "fpm": 40.0, "": 0.3}
    for p in fitted.values():
        rows = rows_against_book(p)
        assert len(rows) > 150
        for row in rows:
            assert abs(row.difference) <= (4.0 if row.table.startswith("V-speeds") else limit[row.unit]), row
        tables = {s.table: s for s in summaries(rows)}
        assert tables["cruise, true airspeed"].rms < 0.6
        assert tables["climb, rate"].rows == 78


def test_the_fitted_file_gives_the_same_answers_and_keeps_the_typed_text(larkmoor_text, tmp_path):
    """Comments and tables untouched, parameters stored, nothing fitted again; a changed reading is fitted anew."""
    kept = fit(larkmoor_text, [])
    out = compose(larkmoor_text, kept, ["a word"])
    assert out.startswith(larkmoor_text.split("[[observations]]")[0][:2000])
    loaded = performance(airplane(out))
    assert loaded.learned.own.residuals.size == 0
    assert np.array_equal(loaded.theta, kept.theta)
    typed = performance(airplane(larkmoor_text))
    q = Condition(950.0, 1000.0, 285.0)
    cas = np.linspace(55, 110, 12) * KT_MPS
    assert level_flight(loaded, cas, q).rpm == pytest.approx(level_flight(typed, cas, q).rpm, abs=0.01)
    assert level_flight(loaded, cas, q).rpm_90 == pytest.approx(level_flight(typed, cas, q).rpm_90, rel=1e-4)
    changed = out.replace("rpm = 1960", "rpm = 1990", 1)
    again = performance(airplane(changed))
    assert again.learned.own.residuals.size > 0
    assert not np.array_equal(again.theta, kept.theta)
    assert tomllib.loads(out)["fitted"]["says"] == ["a word"]


def test_a_reading_that_is_left_out_is_marked_in_the_file(larkmoor_text):
    """One reading 400 RPM off: left out, and said so in its row."""
    document = tomlkit.parse(larkmoor_text)
    document["observations"][2]["rpm"] += 400
    draft = tomlkit.dumps(document)
    kept = fit(draft, [])
    out = compose(draft, kept, [])
    written = tomllib.loads(out)
    assert [k for k, row in enumerate(written["observations"]) if "left_out" in row] == [2]
    assert np.array_equal(performance(airplane(out)).theta, kept.theta)


def test_a_reading_survives_being_written_as_a_row(fitted):
    """There and back within half the last printed digit."""
    for p in fitted.values():
        for r in p.learned.readings_used:
            row = reading_row(r)
            assert row["kcas"] * KT_MPS == pytest.approx(r.cas_mps, abs=0.06 * KT_MPS)
            assert row["weight_lb"] * LB_KG == pytest.approx(r.mass_kg, abs=0.3)


def test_the_fitted_name_stands_beside_the_typed_one(tmp_path):
    """NAME.toml and NAME.fitted.toml both give NAME.fitted.toml."""
    assert fitted_path(tmp_path / "mine.toml").name == "mine.fitted.toml"
    assert fitted_path(tmp_path / "mine.fitted.toml").name == "mine.fitted.toml"


def test_a_file_with_nothing_but_a_stall_table_still_answers_with_wide_bands(larkmoor_text):
    """General knowledge alone: the band holds the truth, and says how little is known."""
    document = tomlkit.parse(larkmoor_text)
    for table in ("cruise", "power_chart", "climb", "glide", "time_fuel_distance_to_climb"):
        document["performance"].pop(table)
    document.pop("observations")
    for key in ("wing_area_ft2", "wing_span_ft"):
        document["airplane"].pop(key)
    p = performance(airplane(tomlkit.dumps(document)))
    assert len(p.learned.geometry.assumed) == 2
    rpm, _ = true_level(truths()["larkmoor_155"], 80 * KT_MPS, 2200, 3000)
    answer = level_flight(p, 80 * KT_MPS, Condition(2200 * LB_KG, 3000 * FT_M, 282.2))
    assert abs(float(answer.rpm) - rpm) <= float(answer.rpm_90)
    assert float(answer.rpm_90) > 200


def test_a_mistake_is_judged_by_the_fit_without_it(larkmoor_text):
    """300 RPM too many with flaps up: left out; the right ones stay."""
    text = tomlkit.parse(larkmoor_text)
    text["observations"][2]["rpm"] += 300
    spoiled = performance(airplane(tomlkit.dumps(text))).learned
    assert [i for i, r in enumerate(spoiled.residuals) if not r.used] == [2]
    found = spoiled.residuals[2]
    assert found.unit == "RPM"
    assert found.off == pytest.approx(-300, abs=40)


def test_a_reading_nothing_checks_is_said_to_be_so(larkmoor_text):
    """Without the handbook one reading at a notch stands alone; the clean ones check each other."""
    text = tomlkit.parse(larkmoor_text)
    text.pop("performance")
    text["performance"] = {"stall": tomllib.loads(larkmoor_text)["performance"]["stall"]}
    rows = tomllib.loads(larkmoor_text)["observations"]
    clean = [r for r in rows if r["flap_notch"] == 0]
    alone = [r for r in rows if r["flap_notch"] == 3][:1]
    text["observations"] = [*clean, *alone]
    found = performance(airplane(tomlkit.dumps(text)))
    residuals = found.learned.residuals
    assert not residuals[-1].checked
    assert all(r.checked for r in residuals if r.reading.kind == "level" and r.reading.flap_notch == 0)


@pytest.mark.parametrize(("which", "wrong"), [(5, 0.0), (5, -300.0), (5, 300.0), (6, -300.0), (6, 300.0)])
def test_of_two_readings_at_a_notch_a_mistake_is_named(larkmoor_text, which, wrong):
    """Sizes and stall speeds alone: 300 RPM off at full flaps is left out or asked about, right ones are neither."""
    rows = readings(truths()["larkmoor_155"], 3)
    rows[which] = {**rows[which], "rpm": rows[which]["rpm"] + wrong}
    text = tomlkit.parse(with_readings(larkmoor_text, rows))
    text["performance"] = {"stall": tomllib.loads(larkmoor_text)["performance"]["stall"]}
    found = performance(airplane(tomlkit.dumps(text))).learned.residuals
    assert any(r.asks or not r.used for r in found[5:7]) == (wrong != 0.0)
    assert all(r.used for r in found[:5])


def test_units_and_fuel_are_asked_about(larkmoor_text):
    """A cruise speed in mph typed as knots, 50 °F typed as °C, and none of it for readings that are right."""
    plain = performance(airplane(larkmoor_text)).learned
    assert not any(r.asks for r in plain.residuals)
    text = tomlkit.parse(larkmoor_text)
    text["observations"][4]["indicated_mph"] *= 1.1508
    text["observations"][1]["oat_c"] = 50
    asked = [r.asks for r in performance(airplane(tomlkit.dumps(text))).learned.residuals]
    assert "mph" in asked[4]
    assert "50 °F (10 °C)" in asked[1]
