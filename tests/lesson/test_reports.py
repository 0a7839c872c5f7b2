"""Reports and forecasts: the published examples O1–O12, decoded; what can't be read is one line."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.errors import InputError
from airwork.lesson.reports import read_metar, read_taf
from airwork.lesson.weather import Forecast, Report
from airwork.units import FT_M, INHG_PA, KT_MPS, SM_M

NEAR = datetime(2025, 6, 15, tzinfo=UTC).timestamp()


def refusal(read: Callable[..., object], text: str) -> str:
    """What a reader says of a text it refuses; empty when it reads it."""
    try:
        read(text, near_utc_s=NEAR)
    except InputError as problem:
        return str(problem)
    return ""


def metar(text: str) -> Report:
    return read_metar(text, near_utc_s=NEAR)


def taf(text: str) -> Forecast:
    return read_taf(text, near_utc_s=NEAR)


def with_group(wind: str = "05008KT", sees: str = "10SM", sky: str = "CLR", air: str = "18/16") -> Report:
    """A report with one group of interest; the others are from O1's station."""
    return metar(f"METAR KOKC 011955Z {wind} {sees} {sky} {air} A2992")


def wind_of(report: Report) -> tuple[float | None, float, float | None]:
    """(degrees, knots, gust in knots)"""
    w = report.seen.wind
    assert w is not None
    direction = None if w.from_rad is None else round(math.degrees(w.from_rad), 6)
    return direction, w.speed_mps / KT_MPS, None if w.gust_mps is None else w.gust_mps / KT_MPS


def feet(value_m: float | None) -> float | None:
    return None if value_m is None else round(value_m / FT_M, 6)


def moment(day: int, hour: int, minute: int = 0, month: int = 6) -> float:
    return datetime(2025, month, day, hour, minute, tzinfo=UTC).timestamp()


# Source: Aviation Weather Handbook FAA-H-8083-28, 24.4 (row O1 [V]; SLP value and category [D]).
def test_o1_the_handbooks_example_decodes_group_by_group_published():
    r = metar(
        "METAR KOKC 011955Z AUTO 22015G25KT 180V250 3/4SM R17L/2600FT +TSRA BR OVC010CB 18/16 A2992 "
        "RMK AO2 TSB25 TS OHD MOV E SLP132"
    )
    assert r.station == "KOKC"
    assert r.utc_s == moment(1, 19, 55)
    assert wind_of(r) == (220.0, pytest.approx(15), pytest.approx(25))
    assert math.degrees(r.seen.wind.varies_from_rad) == pytest.approx(180)
    assert math.degrees(r.seen.wind.varies_to_rad) == pytest.approx(250)
    assert r.seen.visibility_m == pytest.approx(0.75 * SM_M)
    assert r.seen.weather == ("+TSRA", "BR")
    assert [(c.cover, feet(c.base_agl_m), c.kind) for c in r.seen.clouds] == [("OVC", 1000, "CB")]
    assert r.temperature_k == pytest.approx(291.15)
    assert r.dewpoint_k == pytest.approx(289.15)
    assert r.setting_pa == pytest.approx(29.92 * INHG_PA)
    assert feet(r.seen.ceiling_m) == 1000


# Source: PHAK FAA-H-8083-25C ch. 13 (row O2 [V]).
def test_o2_two_layers_and_falling_pressure_published():
    r = metar("METAR KGGG 161753Z AUTO 14021G26KT 3/4SM +TSRA BR BKN008 OVC012CB 18/17 A2970 RMK PRESFR")
    assert r.utc_s == moment(16, 17, 53)
    assert wind_of(r) == (140.0, pytest.approx(21), pytest.approx(26))
    assert [(c.cover, feet(c.base_agl_m)) for c in r.seen.clouds] == [("BKN", 800), ("OVC", 1200)]
    assert feet(r.seen.ceiling_m) == 800
    assert r.setting_pa == pytest.approx(29.70 * INHG_PA)


# Source: ICAO Annex 3, example A3-1 (row O3: text [V], decode [M]).
def test_o3_meters_per_second_and_two_changes_published():
    r = metar(
        "METAR YUDO 221630Z 24004MPS 0600 R12/1000U DZ FG SCT010 OVC020 17/16 Q1018 "
        "BECMG TL1700 0800 FG BECMG AT1800 9999 NSW"
    )
    assert wind_of(r)[0] == 240.0
    assert r.seen.wind.speed_mps == pytest.approx(4.0)
    assert r.seen.visibility_m == 600
    assert r.seen.weather == ("DZ", "FG")
    assert r.setting_pa == pytest.approx(101_800)
    first, second = r.trends
    assert (first.kind, first.until_s, first.seen.visibility_m, first.seen.weather) == ("BECMG", 61_200, 800, ("FG",))
    assert (second.at_s, second.seen.visibility_m, second.seen.visibility_bound) == (64_800, 10_000, ">")


# Source: stored example of row O4 [V], decode [D].
def test_o4_direction_of_least_visibility_and_no_ceiling_published():
    r = metar("METAR LZIB 211630Z 08005KT 060V120 1200 0900NW FG VCTS +SHRA FEW020 26/15 Q1022")
    assert wind_of(r) == (80.0, pytest.approx(5), None)
    assert math.degrees(r.seen.wind.varies_from_rad) == pytest.approx(60)
    assert r.seen.visibility_m == 1200
    assert r.seen.weather == ("FG", "VCTS", "+SHRA")
    assert r.seen.ceiling_known
    assert r.seen.ceiling_m is None
    assert r.setting_pa == pytest.approx(102_200)


# Source: AWH 24.4.3.5 (row O5 [V]).
@pytest.mark.parametrize(
    ("group", "expected"),
    [
        ("05008KT", (50, 8, None)),
        ("15014KT", (150, 14, None)),
        ("340112KT", (340, 112, None)),
        ("27020G35KT", (270, 20, 35)),
        ("VRB03KT", (None, 3, None)),
        ("00000KT", (None, 0, None)),
    ],
)
def test_o5_wind_groups_published(group: str, expected: tuple[float | None, float, float | None]):
    direction, speed, gust = wind_of(with_group(wind=group))
    assert (direction, round(speed, 6), None if gust is None else round(gust, 6)) == expected


# Source: AWH (row O6 [V]).
def test_o6_below_a_quarter_mile_is_a_bound_and_mixed_numbers_add_published():
    low = with_group(sees="M1/4SM BR")
    assert (low.seen.visibility_m, low.seen.visibility_bound) == (pytest.approx(0.25 * SM_M), "<")
    assert with_group(sees="1 1/2SM BR").seen.visibility_m == pytest.approx(1.5 * SM_M)


# Source: AWH (row O7 [V]).
@pytest.mark.parametrize(
    ("sky", "ceiling_ft"),
    [("SCT009 SCT024 BKN048", 4800), ("VV001", 100), ("FEW012 SCT046", None), ("SCT018 OVC032CB", 3200)],
)
def test_o7_the_ceiling_is_the_lowest_broken_or_overcast_layer_published(sky: str, ceiling_ft: float | None):
    seen = with_group(sky=sky).seen
    assert seen.ceiling_known
    assert feet(seen.ceiling_m) == ceiling_ft


# Source: AWH (row O8 [V]).
@pytest.mark.parametrize(("group", "expected"), [("04/M02", (4, -2)), ("M02/", (-2, None)), ("02/", (2, None))])
def test_o8_temperatures_below_zero_and_missing_dew_points_published(group: str, expected: tuple[float, float | None]):
    r = with_group(air=group)
    dew = None if r.dewpoint_k is None else round(r.dewpoint_k - 273.15, 6)
    assert (round(r.temperature_k - 273.15, 6), dew) == expected


# Source: AWH 27.3 (row O9 [V]).
def test_o9_a_forecast_of_three_periods_published():
    f = taf(
        "TAF KAPN 312330Z 0100/0124 13008KT P6SM SCT030 FM010320 31010KT 3SM -SHSN BKN015 "
        "FM010500 31010KT 1/4SM +SHSN VV007"
    )
    assert [p.start_utc_s for p in f.periods] == [moment(1, 0), moment(1, 3, 20), moment(1, 5)]
    last = f.periods[-1].seen
    assert last.visibility_m == pytest.approx(0.25 * SM_M)
    assert last.weather == ("+SHSN",)
    assert feet(last.ceiling_m) == 700


# Source: AWH 27.3 (row O10 [V]).
def test_o10_tempo_lies_on_top_and_keeps_the_visibility_published():
    f = taf("TAF KSEA 091125Z 0912/1012 19008KT P6SM SCT010 BKN020 OVC090 TEMPO 0912/0915 -RA SCT010 BKN015 OVC040")
    tempo = f.periods[1]
    assert (tempo.kind, tempo.start_utc_s, tempo.end_utc_s) == ("TEMPO", moment(9, 12), moment(9, 15))
    during = {s.kind: s.seen for s in f.between(moment(9, 13), moment(9, 14))}
    assert feet(during["TEMPO"].ceiling_m) == 1500
    assert during["TEMPO"].weather == ("-RA",)
    assert during["TEMPO"].visibility_m == pytest.approx(6 * SM_M)
    assert during["TEMPO"].visibility_bound == ">"
    assert [s.kind for s in f.between(moment(9, 16), moment(9, 18))] == ["prevailing"]


# Source: AWH 27.3 (row O11 [V]).
def test_o11_changes_on_the_half_hour_and_a_gusty_tempo_published():
    f = taf(
        "TAF KDSM 022336Z 0300/0324 20015KT P6SM BKN015 FM030230 29020G35KT 1SM +SHRA OVC005 "
        "TEMPO 0303/0304 30030G45KT 3/4SM -SHSN FM030500 31010G20KT P6SM SCT025"
    )
    starts = [p.start_utc_s for p in f.periods if p.kind == "FROM"]
    assert starts == [moment(3, 0), moment(3, 2, 30), moment(3, 5)]
    tempo = next(p for p in f.periods if p.kind == "TEMPO")
    assert (tempo.start_utc_s, tempo.end_utc_s) == (moment(3, 3), moment(3, 4))
    assert tempo.seen.wind.gust_mps == pytest.approx(45 * KT_MPS)


# Source: AWH 3.4.2 (row O12 [V]).
def test_what_is_missing_stays_unknown():
    r = metar("METAR KOKC 011955Z /////KT //// ////// ///// Q////")
    seen = r.seen
    assert (seen.wind, seen.visibility_m, seen.clouds, r.temperature_k, r.setting_pa) == (None,) * 5
    assert not seen.ceiling_known


def test_a_layer_without_a_base_is_no_known_ceiling():
    assert not with_group(sky="BKN///").seen.ceiling_known


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("METAR KOKC 011955Z 22015G25KT 3/4SM XYZZY 18/16 A2992", "XYZZY"),
        ("hello world", "hello world"),
        ("METAR", "station and a time"),
        ("METAR KOKC 991955Z 22015KT 10SM CLR 18/16 A2992", "991955Z"),
        ("METAR KOKC 011955Z 22015KT 10SM CLR 18/16 A4992", "49.92"),
        ("METAR KOKC 011955Z NIL", "NIL"),
        ("", "station and a time"),
    ],
)
def test_a_report_that_cant_be_read_is_one_line_naming_the_group(text: str, named: str):
    with pytest.raises(InputError) as found:
        read_metar(text, near_utc_s=NEAR, where="lesson.toml: weather.metar")
    message = str(found.value)
    assert named in message
    assert message.startswith("lesson.toml: weather.metar: ")
    assert "\n" not in message


@pytest.mark.parametrize(
    "text",
    ["TAF", "rubbish", "TAF KDSM 022336Z 0300/0324 20015KT XYZ", "TAF KDSM NIL", "TAF AMD KDSM 021420Z 0212/0312 CNL"],
)
def test_a_forecast_that_cant_be_read_is_one_line(text: str):
    with pytest.raises(InputError, match="TAF") as found:
        taf(text)
    assert "\n" not in str(found.value)


def test_forecast_winds_of_a_hundred_knots_keep_their_third_digit():
    assert taf("TAF KDSM 022336Z 0300/0324 340112KT P6SM SKC").periods[0].seen.wind.speed_mps == pytest.approx(
        112 * KT_MPS
    )


def test_while_something_becomes_both_old_and_new_count():
    f = taf("TAF KDSM 022336Z 0300/0324 20015KT P6SM SKC BECMG 0306/0308 3000 BKN010")
    during = [s.seen.visibility_m for s in f.between(moment(3, 7), moment(3, 7, 30))]
    assert sorted(during) == [3000, pytest.approx(6 * SM_M)]
    after = [s.seen for s in f.between(moment(3, 10), moment(3, 11))]
    assert [s.visibility_m for s in after] == [3000]
    assert after[0].wind.speed_mps == pytest.approx(15 * KT_MPS)


def test_a_report_from_the_last_of_the_month_is_last_month_on_the_first():
    first = datetime(2025, 7, 1, 0, 30, tzinfo=UTC).timestamp()
    r = read_metar("METAR KOKC 302355Z 22015KT 10SM CLR 18/16 A2992", near_utc_s=first)
    assert r.utc_s == datetime(2025, 6, 30, 23, 55, tzinfo=UTC).timestamp()


@given(st.text(max_size=120))
def test_any_text_is_decoded_or_refused_in_one_line(text: str):
    for read in (read_metar, read_taf):
        assert "\n" not in refusal(read, text)


_GROUPS = st.sampled_from(
    [
        "KOKC",
        "011955Z",
        "AUTO",
        "22015G25KT",
        "VRB03KT",
        "////",
        "10SM",
        "M1/4SM",
        "1",
        "1/2SM",
        "9999",
        "CAVOK",
        "BKN008",
        "OVC///",
        "VV001",
        "+TSRA",
        "FG",
        "18/16",
        "M02/",
        "A2992",
        "Q1018",
        "RMK",
        "BECMG",
        "TEMPO",
        "FM010320",
        "0100/0124",
        "P6SM",
        "PROB30",
        "NSW",
        "NSC",
        "=",
        "R12/1000U",
        "180V250",
        "TX25/0120Z",
    ]
)


@given(st.lists(_GROUPS, max_size=14))
def test_groups_in_any_order_are_decoded_or_refused(groups: list[str]):
    text = " ".join(groups)
    for read, head in ((read_metar, "METAR KOKC 011955Z "), (read_taf, "TAF KDSM 022336Z 0300/0324 ")):
        assert "\n" not in refusal(read, head + text)


# ----------------------------------------------------------------------------------------- put where the other belongs
_NOVEMBER_S = datetime(2026, 11, 30, 15, tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    ("read", "text", "said"),
    [
        (read_metar, "TAF KOGA 301120Z 3012/0112 34010KT P6SM SKC", "is a TAF"),
        (read_metar, "KOGA 301120Z 3012/0112 34010KT P6SM SKC", "is a TAF"),
        (read_metar, "taf amd koga 301120Z 3012/0112 34010KT P6SM SKC", "is a TAF"),
        (read_taf, "METAR KOGA 301153Z 34010KT 10SM CLR 05/M02 A3012", "is a METAR"),
        (read_taf, "KOGA 301153Z AUTO VRB03KT 10SM CLR 05/M02 A3012", "is a METAR"),
        (read_taf, "SPECI EDNY 301150Z 24005KT CAVOK 05/02 Q1018", "is a METAR"),
    ],
)
def test_a_report_in_the_other_s_field_is_told_where_it_goes(read, text: str, said: str):
    assert said in refusal(read, text)


@pytest.mark.parametrize("validity", ["3012/3112", "3112/0112", "3012/0112 FM311800 35012KT P6SM SKC BECMG"])
def test_a_forecast_for_a_day_its_month_does_not_have_says_so(validity: str):
    """November has thirty days."""
    with pytest.raises(InputError, match="November has none"):
        read_taf(f"TAF KOGA 301120Z {validity} 34010KT P6SM SKC".replace(" BECMG 34010KT P6SM SKC", ""),
                 near_utc_s=_NOVEMBER_S)  # fmt: skip


def test_a_forecast_from_the_last_of_a_longer_month_is_last_months():
    first = datetime(2026, 11, 1, 2, tzinfo=UTC).timestamp()
    found = read_taf("TAF KOGA 312320Z 0100/0124 34010KT P6SM SKC", near_utc_s=first)
    assert found.start_utc_s == datetime(2026, 11, 1, tzinfo=UTC).timestamp()
    found = read_taf("TAF KOGA 311720Z 3118/0118 34010KT P6SM SKC", near_utc_s=first)
    assert found.start_utc_s == datetime(2026, 10, 31, 18, tzinfo=UTC).timestamp()
    assert found.end_utc_s == datetime(2026, 11, 1, 18, tzinfo=UTC).timestamp()


@pytest.mark.parametrize("group", ["R27/7//91", "R27/79130", "R27/15OON", "R27/7///911"])
def test_a_runway_group_that_cant_be_read_is_refused_by_name(group: str):
    """The library passes over it, and ice on the runway would go unsaid."""
    with pytest.raises(InputError, match=re.escape(f"can't read '{group}'")):
        read_metar(f"METAR EDMS 240950Z 26004KT 9999 FEW048 M02/M07 Q1024 {group}", near_utc_s=0.0)


@pytest.mark.parametrize(("seen", "lies"), [
    ("", "R27/7///91"), ("", "R88/////99"), ("", "R27/790130"), ("", "R27/CLRD70"), ("R27/P1500N", ""),
    ("R27/0550V1000U", ""), ("R17L/2600FT", ""), ("R26/0800V1600FT/D", ""), ("R27L/////", ""),
])  # fmt: skip
def test_a_runway_group_as_stations_write_it_is_read(seen: str, lies: str):
    """Visual range before the weather, the runway's state last: forms of ICAO Annex 3 and FMH-1, from memory."""
    text = " ".join(f"METAR EDMS 240950Z 26004KT 9999 {seen} FEW048 M02/M07 Q1024 {lies}".split())
    assert read_metar(text, near_utc_s=0.0).seen.visibility_m == 10_000.0
