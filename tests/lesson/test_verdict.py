"""Go, think or no-go: every reason at its limit; what nobody said is never good."""

from __future__ import annotations

import re
from collections.abc import Mapping

import pytest

from airwork.airplane import Airplane
from airwork.errors import InputError
from airwork.lesson.briefing import Briefing
from airwork.lesson.file import parse_lesson
from airwork.lesson.plan import build_briefing
from airwork.lesson.verdict import Reason, combine
from airwork.units import KT_MPS
from lesson.lessons import SMALL, changed

pytestmark = pytest.mark.usefixtures("stand_in_rooms")

AREA = """
[area]
center = [41.30, -101.77]
radius = "8 NM"
ground = "3,700 ft"
floor = "5,000 ft"
ceiling = "9,000 ft"
airspace = "E"
[[area.landing_places]]
name = "meadow"
position = [41.30, -101.77]
"""
HEAVY = '[[people]]\nname = "x"\nstation = "front seats"\nweight = "400 lb"'
TAF = '[weather]\ntaf = "TAF KOGA 201130Z 2012/2112 24010KT P6SM SKC"'
GOOD = changed(SMALL, {"[weather]": TAF, "[[exercises]]": f"{AREA}\n[[exercises]]"})


@pytest.fixture
def brief(larkmoor: Airplane, larkmoor_fit):
    def build(changes: Mapping[str, str] | None = None, text: str = GOOD, **more: object) -> Briefing:
        lesson = parse_lesson(changed(text, changes or {}), where="lesson.toml")
        return build_briefing(lesson, larkmoor, performance=larkmoor_fit, **more)

    return build


def level_of(briefing: Briefing, topic: str) -> str:
    """Worst level of a topic."""
    order = ["no-go", "unknown", "think", "go", "not checked"]
    found = [r.level for r in briefing.verdict.reasons if r.topic == topic]
    assert found, [r.topic for r in briefing.verdict.reasons]
    return min(found, key=order.index)


def test_a_good_day_is_a_go(brief):
    b = brief({'weight = "0 lb"': 'weight = "140 lb"'})
    assert b.verdict.level == "go", b.verdict.headline
    assert b.verdict.of("not checked")[0].topic == "currency"


def test_reasons_combine_to_the_worst_and_unknown_is_no_go_ahead():
    go, think, no_go, unknown = (Reason("x", level, level) for level in ("go", "think", "no-go", "unknown"))
    assert combine([go]).level == "go"
    assert combine([go, think]).level == "think"
    assert combine([go, unknown]).level == "think"
    assert combine([unknown, no_go, go]).level == "no-go"
    assert combine([Reason("currency", "not checked", "")]).level == "go"


@pytest.mark.parametrize(
    ("changes", "topic"),
    [
        ({'wind = "240/12G18 kt"\n': ""}, "wind"),
        ({'visibility = "10 SM"\n': ""}, "visibility"),
        ({'ceiling = "none"\n': ""}, "cloud"),
        ({'temperature = "18 °C"\n': ""}, "temperature"),
        ({'dewpoint = "4 °C"\n': ""}, "carburetor ice"),
        ({'altimeter = "30.02 inHg"\n': ""}, "altimeter setting"),
        ({'taf = "TAF KOGA 201130Z 2012/2112 24010KT P6SM SKC"\n': ""}, "forecast"),
        ({'length = "3,500 ft"\n': ""}, "takeoff distance"),
        ({'surface = "paved"\n': ""}, "landing distance"),
        ({AREA: ""}, "practice area"),
        ({'[[area.landing_places]]\nname = "meadow"\nposition = [41.30, -101.77]\n': ""}, "glide reach"),
        ({'heading = "270 deg"\n': ""}, "runway"),
    ],
)  # fmt: skip
def test_what_nobody_said_is_unknown_and_never_a_go(brief, changes, topic):
    b = brief(changes)
    assert level_of(b, topic) == "unknown"
    assert b.verdict.level != "go"


@pytest.mark.parametrize(
    ("report", "topic", "words"),
    [("17/19 A3006", "dew point", "which is the slip"), ("17/06 A2606", "altimeter setting", "no station has that"),
     ("17/17 A3006", "dew point", ""), ("17/06 A2801", "altimeter setting", ""), ("M04/M06 A3006", "dew point", "")],
)  # fmt: skip
def test_what_no_station_reports_is_asked_back(brief, report, topic, words):
    """Moist air at most saturated: the dew point is not above the temperature. The altimeter's scale: from memory."""
    taf = TAF.removeprefix("[weather]\n")
    metar = f'{taf}\nmetar = "METAR KOGA 201415Z 24011KT 10SM CLR {report}"'
    b = brief({taf: metar, 'temperature = "18 °C"\n': "", 'altimeter = "30.02 inHg"\n': "", 'dewpoint = "4 °C"\n': ""})
    asked = [r for r in b.verdict.reasons if r.topic == topic and r.level == "unknown"]
    assert [words in r.text for r in asked] == ([True] if words else [])


def test_tomorrow_is_planned_with_the_forecast_never_with_calm(brief):
    """All there is the evening before is a TAF: its wind, visibility and cloud stand, marked, and it is no go yet."""
    typed = ('wind = "240/12G18 kt"\n', 'visibility = "10 SM"\n', 'ceiling = "none"\n')
    b = brief(dict.fromkeys(typed, ""))
    assert b.weather.wind_source == "TAF KOGA, forecast"
    assert round(b.weather.wind.speed_mps / KT_MPS) == 10
    assert not any("calm" in text for text in b.weather.assumed)
    assert level_of(b, "report") == "think"
    assert b.verdict.level == "think"


@pytest.mark.parametrize(
    ("changes", "topic", "level"),
    [
        ({'"240/12G18 kt"': '"240/20G32 kt"'}, "crosswind, airplane", "no-go"),  # 16 kt across, 15 demonstrated
        ({'"240/12G18 kt"': '"240/20G29 kt"'}, "crosswind", "go"),
        ({'"240/12G18 kt"': '"090/8 kt"'}, "tailwind", "think"),
        ({'ceiling = "none"': 'ceiling = "900 ft"'}, "cloud and visibility", "no-go"),
        ({'ceiling = "none"': 'ceiling = "2,500 ft"'}, "cloud and visibility", "no-go"),  # 6,500 ft planned
        ({'ceiling = "none"': 'ceiling = "5,000 ft"'}, "cloud and visibility", "go"),
        ({'visibility = "10 SM"': 'visibility = "2 SM"'}, "cloud and visibility", "no-go"),
        ({'visibility = "10 SM"': 'visibility = "4 SM"'}, "cloud and visibility", "think"),
        ({"24010KT P6SM SKC": "24010KT P6SM SKC TEMPO 2014/2018 2SM TSRA BKN008"}, "thunderstorm", "no-go"),
        ({"24010KT P6SM SKC": "24010KT P6SM SKC TEMPO 2018/2020 2SM TSRA BKN008"}, "cloud and visibility", "go"),
        ({"24010KT P6SM SKC": "33030G40KT P6SM SKC"}, "crosswind, airplane", "no-go"),
        ({'dewpoint = "4 °C"': 'dewpoint = "16 °C"'}, "carburetor ice", "think"),  # [PHAK] ch. 7
        ({'time = "08:30"': 'time = "18:10"', "2012/2112": "2012/2112"}, "daylight", "think"),
        ({'time = "08:30"': 'time = "23:40"'}, "night", "think"),
        ({'"left wing" = "18 gal"': '"left wing" = "4 gal"', '"16 gal"': '"4 gal"'}, "fuel", "no-go"),
        ({'"left wing" = "18 gal"': '"left wing" = "5 gal"', '"16 gal"': '"5 gal"'}, "fuel", "think"),
        ({'"148 lb"': f'"148 lb"\n{HEAVY}'}, "loading", "no-go"),
        ({'length = "3,500 ft"': 'length = "1,000 ft"'}, "takeoff distance", "no-go"),
        ({'length = "3,500 ft"': 'length = "1,300 ft"'}, "takeoff distance", "think"),
        ({'radius = "8 NM"': 'radius = "0.4 NM"'}, "practice area", "no-go"),
        ({'radius = "8 NM"': 'radius = "8 NM"\nmargin = "7.9 NM"'}, "practice area", "think"),
        ({'floor = "5,000 ft"': 'floor = "7,000 ft"'}, "altitude", "no-go"),
        ({'ceiling = "9,000 ft"': 'ceiling = "6,000 ft"'}, "altitude", "no-go"),
        ({'airspace = "E"': 'airspace = "A"'}, "airspace", "no-go"),
    ],
)  # fmt: skip
def test_each_reason_at_its_limit(brief, changes, topic, level):
    assert level_of(brief(changes), topic) == level


def test_too_much_weight_is_said_once_with_where_it_balances_and_what_mends_it(brief):
    """400 lb more in front of an airplane whose file prints no landing weight of its own."""
    reasons = {r.topic: r for r in brief({'"148 lb"': f'"148 lb"\n{HEAVY}'}).verdict.reasons}
    assert "lb at start, center of gravity" in reasons["loading"].text
    assert "landing weight" not in reasons
    assert all(r.change is None or "cooler" not in r.change for r in reasons.values() if r.level == "no-go")


def test_a_field_in_class_a_is_no_go_whatever_the_area_is(brief):
    at_field = brief({'elevation = "3,279 ft"': 'elevation = "3,279 ft"\nairspace = "A"'})
    assert level_of(at_field, "airspace") == "no-go"


def test_where_the_magnetic_field_is_weak_the_verdict_says_so(brief):
    """Under 6,000 nT is the caution zone of the WMM2025 report (limit from memory); Resolute Bay has 3,300."""
    there = {"41.12": "74.72", "-101.77": "-94.98", "41.30": "74.80", "America/Denver": "America/Resolute"}
    assert level_of(brief(there), "compass") == "think"
    assert "compass" not in {r.topic for r in brief().verdict.reasons}


LIMITS = '[student]\nname = "N"\nsolo = {solo}\n[student.limits]\n{limit}\n[[exercises]]'


@pytest.mark.parametrize(
    ("limit", "topic"),
    [
        ('crosswind = "6 kt"', "crosswind, student"),
        ('wind = "15 kt"', "wind, student"),
        ('gust_spread = "5 kt"', "gust spread, student"),
        ('density_altitude = "3,500 ft"', "density altitude, student"),
        ('visibility = "15 SM"', "visibility, student"),
    ],
)
def test_a_students_limit_is_a_thought_with_an_instructor_and_a_no_go_solo(brief, limit, topic):
    for solo, level in (("false", "think"), ("true", "no-go")):
        assert level_of(brief({"[[exercises]]": LIMITS.format(solo=solo, limit=limit)}), topic) == level


def test_an_instructors_limit_stops_the_flight(brief):
    own = '[instructor]\nname = "E"\n[instructor.limits]\ncrosswind = "6 kt"\n[[exercises]]'
    assert level_of(brief({"[[exercises]]": own}), "crosswind, instructor") == "no-go"


def test_at_the_limit_is_within_it(brief):
    """12 kt gusting 18 from 30° off: 9.0 kt across; a limit of 9 kt is kept."""
    assert (
        level_of(brief({"[[exercises]]": LIMITS.format(solo="true", limit='crosswind = "9 kt"')}), "crosswind") == "go"
    )


@pytest.mark.parametrize(
    ("report", "level", "words"),
    [
        ("201353Z", None, ""),
        ("201153Z", "think", "2 h 37 min before the start"),
        ("200053Z", "think", "of another day: Fri 19 Sep 18:53, 14 h before the lesson: not used"),
        ("180053Z", "no-go", "of another day: Wed 17 Sep 18:53, 3 days before the lesson: no weather"),
        ("060053Z", "no-go", "of another day: Fri 5 Sep 18:53, 15 days before"),
        ("010053Z", "no-go", "of another day: Tue 30 Sep 18:53, 10 days after"),
    ],
)
def test_another_days_report_is_no_weather_to_fly_by(brief, report, level, words):
    """The lesson starts at 14:30 UTC on 20 September; a forecast covers it, so that yesterday's report stands aside."""
    metar = f'metar = "METAR KOGA {report} AUTO 24012KT 10SM CLR 18/04 A3002"'
    found = [r for r in brief({'wind = "240/12G18 kt"': metar}).verdict.reasons if r.topic == "report"]
    assert [r.level for r in found] == ([] if level is None else [level])
    assert all(words in r.text for r in found)


def test_a_source_is_named_once_and_memory_is_called_memory(brief):
    from airwork.output.briefing_text import briefing_text

    briefing = brief()
    text = briefing_text(briefing, full=True)
    assert "30 min by 14 CFR 91.151\n" in text
    assert "[V]" not in text
    assert "[M]" not in text
    europe = brief({"[[exercises]]": '[plan]\nrules = "NCO"\n[[exercises]]'})
    assert "Part-NCO (from memory, not verified)" in [r.source for r in europe.verdict.reasons if r.topic == "fuel"]


def test_currency_comes_in_from_a_logbook(brief):
    lapsed = Reason("currency", "no-go", "no three landings in 90 days", "61.57")
    b = brief(currency=[lapsed])
    assert b.verdict.level == "no-go"
    assert lapsed in b.verdict.reasons


def test_the_headline_names_what_decided(brief):
    b = brief({'ceiling = "none"': 'ceiling = "900 ft"'})
    assert b.verdict.headline.startswith("No-go: ")
    assert "below 1,000 ft" in b.verdict.headline


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({'"18 gal"': '"25 gal"'}, "fuel.left wing: 25.0 gal is more than it holds: 20.0 gal usable"),
        ({'"18 gal"': '"25 gal"', '"16 gal"': '"26 gal"'}, "it holds: 20.0 gal usable. (and 1 more to mend)"),
        ({'"left wing"': '"middle"'}, "no such tank"),
        ({'"left wing" = "18 gal"\n': ""}, "the fuel in left wing is not given"),
        ({'station = "front seats"': 'station = "roof"'}, "no station 'roof'"),
        ({'kind = "steep_turn"': 'kind = "barrel_roll"'}, "no maneuver 'barrel_roll'"),
        ({'kind = "steep_turn"': 'kind = "steep turns"'}, None),
        ({"[[exercises]]": '[student]\ncertificate = "astronaut"\n[[exercises]]'}, "astronaut"),
    ],
)  # fmt: skip
def test_what_does_not_fit_the_airplane_is_one_line(brief, changes, expected):
    if expected is None:
        assert brief(changes).exercises[0].kind == "steep_turn"
        return
    with pytest.raises(InputError) as found:
        brief(changes)
    assert expected in str(found.value)
    assert "\n" not in str(found.value)


def test_a_climb_the_handbook_does_not_print_is_a_thought_and_names_its_source(brief):
    """Hotter than any column of the climb table, which ends at 40 °C."""
    hot = brief({'temperature = "18 °C"': 'temperature = "44 °C"'})
    reason = next(r for r in hot.verdict.reasons if r.topic == "density altitude and climb")
    assert reason.level == "think"
    assert "not in the handbook's table" in reason.text
    assert reason.source != "handbook table"
    good = next(r for r in brief().verdict.reasons if r.topic == "density altitude and climb")
    assert (good.level, good.source) == ("go", "handbook table")


def test_cold_air_under_the_area_is_a_thought_published(brief):
    """Row B20 [V], AIM 7-3: 2,994 ft above the field at −12 °C, the altimeter reads 300 ft high (row: to 25 ft)."""
    cold = {'temperature = "18 °C"': 'temperature = "-12 °C"', 'dewpoint = "4 °C"': 'dewpoint = "-16 °C"',
            'floor = "5,000 ft"': 'floor = "6,273 ft"'}  # fmt: skip
    reason = next(r for r in brief(cold).verdict.reasons if r.topic == "cold air")
    assert reason.level == "think"
    shown = [float(x.replace(",", "")) for x in re.findall(r"([\d,]+) ft", reason.text)]
    assert shown[1] - shown[0] == pytest.approx(300, abs=25)
    assert "cold air" not in {r.topic for r in brief().verdict.reasons}


def test_a_dew_point_nobody_gave_is_named_with_what_it_is_for(brief):
    b = brief({'dewpoint = "4 °C"\n': ""})
    assert "carburetor ice: dew point not given" in [r.text for r in b.verdict.reasons]


def test_a_wish_the_set_up_does_nothing_with_is_said(brief):
    b = brief({'kind = "steep_turn"': 'kind = "steep_turn"\n[exercises.target]\nradius = "900 ft"'})
    assert level_of(b, "Steep turn") == "think"
    assert "radius" in b.verdict.headline


def test_the_exercises_are_planned_in_the_wind_of_a_forecast_that_ends_soon_after_the_lesson(brief):
    """Planned first for a rough length of two hours, which this forecast doesn't cover: its wind counts."""
    alone = {  # a TAF and nothing else
        'wind = "240/12G18 kt"\nvisibility = "10 SM"\nceiling = "none"\n': "",
        'winds_aloft = ["6,000 ft 250/18 kt"]\n': "",
    }
    long, short, calm = (
        brief({**alone, "2012/2112 24010KT": f"2012/{ends} {wind}KT"})
        for ends, wind in (("2112", "24018"), ("2016", "24018"), ("2016", "00000"))
    )
    assert [e.path.points for e in short.exercises] == [e.path.points for e in long.exercises]
    assert [e.path.points for e in short.exercises] != [e.path.points for e in calm.exercises]


FAR_STORM = (
    'taf = "TAF KOGA 201130Z 2012/2112 24010KT P6SM SKC"\nmetar = """METAR KOGA 201415Z 25006KT 10SM CLR 17/06 A3006\n'
)


@pytest.mark.parametrize(("station", "level"), [("KLBF", "think"), ("KIML", "no-go")])
def test_a_storm_at_a_station_far_away_is_named_with_its_distance_and_stops_nobody(brief, station, level):
    """North Platte is 49 NM from Ogallala, Imperial 38 NM from it and 27 from a nearer area (OurAirports)."""
    text = changed(
        GOOD,
        {
            'taf = "TAF KOGA 201130Z 2012/2112 24010KT P6SM SKC"\n': FAR_STORM
            + f'METAR {station} 201453Z 27010KT 10SM TSRA FEW050CB 15/13 A2990"""\n',
            "center = [41.30, -101.77]": "center = [40.95, -101.65]",
            "position = [41.30, -101.77]": "position = [40.95, -101.65]",
        },
    )
    found = brief(text=text).verdict
    storm = next(r for r in found.reasons if r.topic == "thunderstorm")
    assert storm.level == level
    assert ("NM away" in storm.text) == (level == "think")


@pytest.mark.parametrize(("time", "seen"), [("17:35", True), ("14:00", False)])
def test_a_low_sun_ahead_on_the_runway_is_told_in_clear_air_too(brief, time, seen):
    """On 20 September 2025 at Ogallala the Sun stands 5 to 8° high in about 265° half an hour before it sets."""
    found = [r for r in brief({'time = "08:30"': f'time = "{time}"'}).verdict.reasons if r.topic == "low sun"]
    assert bool(found) == seen
    assert all(r.level == "think" and "ahead on runway 26: it blinds on final" in r.text for r in found)


def test_what_is_not_known_begins_with_what_every_distance_hangs_on(brief):
    """A card prints four lines of a verdict: the temperature is among them, before wind and visibility."""
    said = 'taf = "TAF KOGA 201130Z 2012/2112 24010KT P6SM SKC"\nwind = "240/12G18 kt"\nvisibility = "10 SM"\n'
    b = brief({'temperature = "18 °C"\n': "", f'{said}ceiling = "none"\n': ""})
    unknown = [r.topic for r in b.verdict.of("unknown")]
    assert unknown[0] == "temperature"
    assert {"wind", "visibility"} <= set(unknown)
