"""A recording brought in is the flight at once; corrections are graded anew, marks are kept in the logbook."""

from __future__ import annotations

import json
import math
import re
import time
from pathlib import Path

import pytest

from airwork.debrief.instructed import seconds
from airwork.jobs.learning import learn_from_debrief
from airwork.logbook import people
from airwork.web import debrief_view
from airwork.web.land import airports_in, land_in
from airwork.web.workshop import Workshop
from web.conftest import short_recording


def _bring(browser, raw: bytes, **sent: str) -> str:
    answer = browser.post("/debriefs", {"airplane": "larkmoor_155", **sent}, files={"recording": ("flight.csv", raw)})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def _rows(browser, at: str) -> list[tuple[str, float, float]]:
    return [(e["kind"], e["start_s"], e["end_s"]) for e in browser.get(f"{at}.json").json()["episodes"]]


def test_the_page_shows_the_flight_and_its_data_is_the_debriefs(alone, short_csv: bytes) -> None:
    at = _bring(alone, short_csv)
    page = alone.get(at).text
    data = alone.get(f"{at}.json").json()
    assert [e["kind"] for e in data["episodes"]][:2] == ["takeoff", "climb"]
    for episode in data["episodes"]:
        assert episode["title"] in page
    blob = json.loads(re.search(r'id="flight-data">(.*?)</script>', page, re.S)[1])
    assert len(blob["episodes"]) == len(data["episodes"])
    track = alone.get(f"{at}/map.json").json()
    assert len(track["lon"]) == len(track["lat"]) == len(blob["series"]["t"])
    assert track["airports"][0]["ident"]


def test_a_recording_brought_in_teaches_its_airplane(alone, short_csv: bytes, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("airwork.web.desk.learn_from_debrief", learn_from_debrief)
    """After the page: what is still to be learned is marked beside the recording until it is."""
    at = _bring(alone, short_csv)
    desk = alone.client.app.state.desk
    about = desk.find(at.rsplit("/", 1)[1])
    until = time.monotonic() + 30.0
    while desk.is_to_teach(about) and time.monotonic() < until:
        time.sleep(0.05)
    assert (tmp_path / "airplanes" / "larkmoor_155.learning.jsonl").is_file()


def test_learning_left_over_when_the_server_stopped_is_taken_up(alone, short_csv: bytes, tmp_path, monkeypatch) -> None:
    at = _bring(alone, short_csv)
    app = alone.client.app
    about = app.state.desk.find(at.rsplit("/", 1)[1])
    until = time.monotonic() + 30.0
    while app.state.desk.is_to_teach(about) and time.monotonic() < until:
        time.sleep(0.05)
    taught: list[str] = []
    monkeypatch.setattr("airwork.web.desk.learn_from_debrief", lambda found, airplane: taught.append(str(airplane)))
    app.state.desk.will_teach(about)
    Workshop(app)
    while app.state.desk.is_to_teach(about) and time.monotonic() < until:
        time.sleep(0.05)
    assert [Path(t).name for t in taught] == ["larkmoor_155.toml"]


@pytest.mark.parametrize("name", ["about.json", "page.kept.json", "..", "полёт №3.csv", 'a"b.csv'])
def test_no_name_of_an_upload_harms_the_desk(alone, name: str) -> None:
    """`about.json` is the desk's own file beside the recording: an upload called so once replaced the recording."""
    raw = short_recording(400)
    answer = alone.post("/debriefs", {"airplane": "larkmoor_155"}, files={"recording": (name, raw)})
    assert answer.status_code == 303, answer.text
    at = answer.headers["location"]
    assert alone.get(at).status_code == 200
    desk = alone.client.app.state.desk
    about = desk.find(at.rsplit("/", 1)[1])
    assert desk.recording(about).read_bytes() == raw
    offered = alone.get(f"{at}/report.html").headers["content-disposition"]
    assert offered.startswith("attachment; filename=")


def test_a_lesson_of_any_letters_offers_its_card(alone, tmp_path) -> None:
    lesson = (tmp_path / "lessons" / "stalls_over_the_lake.toml").read_text("utf-8")
    (tmp_path / "lessons" / "штопор.toml").write_text(lesson, "utf-8")
    answer = alone.get("/today/card.pdf", params={"lesson": "штопор"})
    assert answer.status_code == 200
    assert "filename*=UTF-8''%D1%88" in answer.headers["content-disposition"]


def test_an_episode_put_right_is_graded_anew_and_can_be_taken_back(alone, short_csv: bytes) -> None:
    at = _bring(alone, short_csv)
    before = _rows(alone, at)
    kind, start, end = next(r for r in before if r[0] == "climb")
    sent = {"kind": "climb", "start": str(start + 20), "end": str(end - 20), "was_kind": kind, "was_start_s": start}
    assert alone.post(f"{at}/correct", sent).status_code == 303
    after = _rows(alone, at)
    assert ("climb", start + 20, end - 20) in after
    assert len(after) == len(before)
    corrected = next(e for e in alone.get(f"{at}.json").json()["episodes"] if e["kind"] == "climb")
    assert "kind and limits given by a person" in corrected["evidence"]
    assert alone.post(f"{at}/uncorrect").status_code == 303
    assert _rows(alone, at) == before


def test_one_of_several_corrections_is_taken_back_alone(alone, short_csv: bytes) -> None:
    """By its words on the page; from a page opened before another was taken back nothing goes."""
    at = _bring(alone, short_csv)
    before = _rows(alone, at)
    _, start, end = next(r for r in before if r[0] == "climb")
    sent = {"kind": "climb", "start": str(start + 20), "end": str(end - 20), "was_kind": "climb", "was_start_s": start}
    assert alone.post(f"{at}/correct", sent).status_code == 303
    said = {
        "kind": "climb",
        "at_s": start + 20,
        "what": "target",
        "target": "ias_kt",
        "value": "120",
        "by": "M. Keller",
    }
    assert alone.post(f"{at}/say", said).status_code == 303
    page = alone.get(at).text
    assert "2 corrections: take back" in page
    offered = re.findall(r'name="which" value="([^"]+)"', page)
    assert offered == ["edits/0/1", "said/0/1"]
    assert alone.post(f"{at}/uncorrect", {"which": "said/0/2"}).status_code == 422
    assert alone.post(f"{at}/uncorrect", {"which": "said/0/1"}).status_code == 303
    assert ("climb", start + 20, end - 20) in _rows(alone, at)
    assert "M. Keller" not in alone.get(at).text
    assert alone.post(f"{at}/uncorrect", {"which": "said/0/1"}).status_code == 422
    assert alone.post(f"{at}/uncorrect", {"which": "edits/0/1"}).status_code == 303
    assert _rows(alone, at) == before


def test_what_an_instructor_says_was_asked_for_is_kept_with_who_said_it(alone, short_csv: bytes) -> None:
    """Another target changes the grade; nobody named is refused; taken back, the grade is the old one."""
    at = _bring(alone, short_csv)
    before = alone.get(f"{at}.json").json()["episodes"]
    climb = next(e for e in before if e["kind"] == "climb")
    sent = {"kind": "climb", "at_s": climb["start_s"], "what": "target", "target": "ias_kt", "value": "120"}
    refused = alone.post(f"{at}/say", {**sent, "by": " "})
    assert refused.status_code == 422
    assert "say who" in refused.text
    assert alone.post(f"{at}/say", {**sent, "by": "M. Keller"}).status_code == 303
    after = next(e for e in alone.get(f"{at}.json").json()["episodes"] if e["kind"] == "climb")
    speed = next(c for c in after["criteria"] if c["quantity"] == "ias")
    assert speed["verdict"] == "not held"
    assert after["target"]["ias_kt"] == 104.3  # typed in the dial's mph: 120 · 1609.344 / 1852
    assert after["said"] == ["indicated airspeed wanted: 104 kt (M. Keller)"]
    assert "M. Keller" in alone.get(at).text
    alone.post(f"{at}/uncorrect")
    assert alone.get(f"{at}.json").json()["episodes"] == before


@pytest.mark.parametrize("what", ["asked", "judge"])
def test_a_climb_asked_for_and_a_stretch_to_judge_are_said_on_the_page(alone, short_csv: bytes, what: str) -> None:
    """Kept with the times and who said it; taken back, everything is as before."""
    at = _bring(alone, short_csv)
    before = alone.get(f"{at}.json").json()["episodes"]
    one = next(e for e in before if e["kind"] == "climb")
    sent = {"kind": "climb", "at_s": one["start_s"], "what": what, "by": "M. Keller",
            "start": f"{one['start_s'] + 60:.0f}", "end": f"{one['start_s'] + 120:.0f}"}  # fmt: skip
    assert alone.post(f"{at}/say", sent).status_code == 303
    after = next(e for e in alone.get(f"{at}.json").json()["episodes"] if e["kind"] == "climb")
    assert len(after["said"]) == 1
    assert after["said"][0].endswith("(M. Keller)")
    alone.post(f"{at}/uncorrect")
    assert alone.get(f"{at}.json").json()["episodes"] == before


def test_what_is_not_seen_is_entered_on_ones_word_after_it_was_refused(alone, short_csv: bytes) -> None:
    """The refusal offers it, with what was typed; nobody named is refused; the name stands in the debrief."""
    at = _bring(alone, short_csv)
    before = _rows(alone, at)
    sent = {"kind": "power_off_180", "start": "1:00", "end": "2:00"}
    refused = alone.post(f"{at}/correct", sent)
    assert refused.status_code == 422
    assert "as I say, ungraded" in refused.text
    assert 'value="power_off_180" selected' in refused.text
    assert "as I say, ungraded" not in alone.post(f"{at}/correct", {**sent, "end": "99:00"}).text
    assert "say who" in alone.post(f"{at}/correct", {**sent, "as_said": "true", "by": " "}).text
    assert _rows(alone, at) == before
    assert alone.post(f"{at}/correct", {**sent, "as_said": "true", "by": "M. Keller"}).status_code == 303
    entered = next(e for e in alone.get(f"{at}.json").json()["episodes"] if e["kind"] == "power_off_180")
    assert (entered["start_s"], entered["end_s"], entered["criteria"]) == (60.0, 120.0, [])
    assert "entered as said, not graded (M. Keller)" in alone.get(at).text
    alone.post(f"{at}/uncorrect")
    assert _rows(alone, at) == before


@pytest.mark.parametrize(("day", "said"), [("2136-05-30", True), ("2025-09-20", False)])
def test_a_flight_of_a_day_still_to_come_is_asked_about_at_the_top(alone, short_csv, day: str, said: bool) -> None:
    at = _bring(alone, short_csv.replace(b"2025-09-20", day.encode()))
    assert (f"Dated {day}, a day still to come" in alone.get(at).text) == said


@pytest.mark.parametrize("named", [True, False])
def test_a_clock_that_names_no_zone_is_listed_as_recorded(alone, short_csv: bytes, named: bool) -> None:
    """The demo's recording begins at 14:30 UTC, 08:30 in its lesson's zone; without "UTC" and Z nobody knows which."""
    raw = (
        short_csv
        if named
        else re.sub(rb"(?m)^(\d{4}-\d\d-\d\dT[\d:.]+)Z", rb"\1", short_csv.replace(b"UTC Time", b"Time"))
    )
    at = _bring(alone, raw, zone="America/Denver")
    listed = re.search(rf'href="{at}">([^<]*)<', alone.get("/debriefs").text)[1]
    assert ("by its own clock" in listed) != named
    assert listed[:16] == alone.get(f"{at}.json").json()["flight"]["start_utc"][:16].replace("T", " ") or named
    assert listed.endswith("MDT") == named


def test_one_stretch_is_not_given_two_maneuvers(alone, short_csv: bytes) -> None:
    """Other times that reach over the next maneuver are refused by its name; in the open gap they are taken."""
    at = _bring(alone, short_csv)
    before = _rows(alone, at)
    kind, start, end = next(r for r in before if r[0] == "climb")
    other = next(r for r in before if r[0] != "climb" and r[2] - r[1] > 4.0)
    low, high = min(start, other[1]), max(end, other[2])
    sent = {"kind": kind, "start": str(low), "end": str(high), "was_kind": kind, "was_start_s": start}
    refused = alone.post(f"{at}/correct", sent)
    assert refused.status_code == 422
    assert "reaches over" in refused.text
    assert _rows(alone, at) == before
    assert alone.post(f"{at}/correct", {**sent, "start": str(start + 1), "end": str(end)}).status_code == 303


def test_an_episode_can_be_taken_out(alone, short_csv: bytes) -> None:
    at = _bring(alone, short_csv)
    kind, start, end = _rows(alone, at)[-1]
    sent = {"kind": "", "start": "0", "end": "0", "was_kind": kind, "was_start_s": start}
    assert alone.post(f"{at}/correct", sent).status_code == 303
    assert (kind, start, end) not in _rows(alone, at)


def test_a_correction_that_can_not_be_is_said_and_changes_nothing(alone, short_csv: bytes) -> None:
    at = _bring(alone, short_csv)
    for kind, start, end, said in (
        ("climb", "99:00", "99:50", "not inside the recording"), ("climb", "2:00", "1:00", "not after the beginning"),
        ("loop", "1:00", "2:00", "no maneuver"), ("climb", "soon", "2:00", "minutes and seconds"),
        ("steep_spiral", "1:00", "2:00", "looks like it"),
    ):  # fmt: skip
        answer = alone.post(f"{at}/correct", {"kind": kind, "start": start, "end": end})
        assert answer.status_code == 422, said
        assert said in answer.text
        assert "take back" not in alone.get(at).text, said


@pytest.mark.parametrize(
    ("raw", "said"), [(b"", "flight.csv"), (b"\x00\xff" * 4000, "flight.csv"), (b"a,b\n1,2\n", "flight.csv")]
)
def test_what_is_no_recording_is_said_in_words_and_nothing_stays(alone, tmp_path, raw: bytes, said: str) -> None:
    answer = alone.post("/debriefs", files={"recording": ("flight.csv", raw)})
    assert answer.status_code == 422
    assert said in answer.text
    assert str(tmp_path) not in answer.text  # where the server keeps its things is nobody's business
    assert not any((tmp_path / ".airwork-debriefs").glob("*"))


def test_the_share_is_one_file_that_asks_for_nothing(alone, short_csv: bytes) -> None:
    at = _bring(alone, short_csv)
    report = alone.get(f"{at}/report.html")
    assert "attachment" in report.headers["content-disposition"]
    assert "sandbox" in report.headers["content-security-policy"]
    markup = re.sub(r"<script>.*?</script>", "", report.text, flags=re.S)  # the map library's own text names its site
    assert not re.search(r"""(src|href)=["'](https?:)?//""", markup)


def test_marks_of_instructor_and_student_stand_side_by_side(school) -> None:
    at = f"/debriefs/{school.debriefs['jan']}"
    teacher, jan = school.as_("Emmett Dray"), school.as_("Jan Ruiz")
    sent = {"position": 1, "level": "perform", "remark": "held it well", "instructor": school.emmett}
    assert teacher.post(f"{at}/mark", sent).status_code == 303
    assert jan.post(f"{at}/mark", {"position": 1, "level": "explain", "remark": "was slow"}).status_code == 303
    page = jan.get(at).text
    assert "held it well" in page
    assert "was slow" in page
    standing = teacher.get(f"/students/{school.jan}").text
    assert "perform" in standing
    mine = re.findall(r'value="([^"]*)" maxlength="4000" aria-label="remark', teacher.get(at).text)
    assert [one for one in mine if one] == ["held it well"]  # stands in its form, to mend a letter; nobody else's does
    assert '<option title="' in teacher.get(at).text
    assert re.search(r"<option [^>]*selected>perform", teacher.get(at).text)


def test_a_correction_renews_the_logbooks_copy_and_keeps_the_marks(school) -> None:
    at = f"/debriefs/{school.debriefs['jan']}"
    teacher = school.as_("Emmett Dray")
    sent = {"position": 0, "level": "practice", "remark": "kept", "instructor": school.emmett}
    assert teacher.post(f"{at}/mark", sent).status_code == 303
    kind, start, _ = _rows(teacher, at)[-1]
    fix = {"kind": "", "start": "0", "end": "0", "was_kind": kind, "was_start_s": start}
    assert teacher.post(f"{at}/correct", fix).status_code == 303
    flight = teacher.get(f"/flights/{school.flights['jan']}.json").json()
    assert len(flight["debrief"]["episodes"]) == len(_rows(teacher, at))
    assert flight["marks"][0]["instructor"]["remark"] == "kept"
    assert teacher.post(f"{at}/uncorrect").status_code == 303


@pytest.mark.parametrize(("text", "value"), [("12:30", 750.0), ("0:05.25", 5.25), ("95", 95.0), (" 1:00 ", 60.0)])
def test_times_are_read_as_minutes_and_seconds(text: str, value: float) -> None:
    assert seconds(text) == value


def test_the_land_around_is_natural_earths() -> None:
    """Natural Earth 10 m land (world-atlas 2.0.2, public domain): Nebraska is land, the open Pacific is not, and the
    box around the Isle of Wight (50.5-50.8 N, 1.6-1.0 W, Ordnance Survey: 384 km² [M]) holds an island and sea."""
    import shapely

    inland = shapely.from_geojson(json.dumps(land_in(40.5, -102.4, 42.0, -101.0)))
    assert inland.area == pytest.approx(1.5 * 1.4)
    assert shapely.from_geojson(json.dumps(land_in(-10.0, -130.0, -8.0, -128.0))).is_empty
    wight = shapely.from_geojson(json.dumps(land_in(50.5, -1.7, 50.85, -1.0)))
    island = [p for p in wight.geoms if p.contains(shapely.Point(-1.3, 50.67))]
    assert len(island) == 1
    assert island[0].area * 60 * 1.852 * 60 * 1.852 * 0.634 == pytest.approx(384, rel=0.1)  # cos 50.67° = 0.634


def test_airports_around_are_those_of_the_lessons_data() -> None:
    from airwork.lesson.places import find_place

    found = {a["ident"]: a for a in airports_in(40.5, -102.4, 42.0, -101.0)}
    place = find_place("KOGA")
    assert found["KOGA"]["at"] == pytest.approx(
        [place.latitude_rad * 57.29578, place.longitude_rad * 57.29578], abs=1e-4
    )
    assert len(found["KOGA"]["runways"]) * 2 == len(place.runways)


def test_ones_own_lakes_and_roads_are_drawn_and_a_wrong_file_is_named(alone, tmp_path) -> None:
    lake = {"type": "Polygon", "coordinates": [[[-101.8, 41.2], [-101.7, 41.2], [-101.7, 41.3], [-101.8, 41.2]]]}
    road = {"type": "LineString", "coordinates": [[-101.8, 41.1], [-101.6, 41.1]]}
    features = [{"type": "Feature", "properties": {"secret": "x"}, "geometry": g} for g in (lake, road, None)]
    (tmp_path / "map").mkdir()
    file = tmp_path / "map" / "lake.geojson"
    file.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    answer = alone.get("/map/own.json")
    assert answer.json() == {"lines": [road], "areas": [lake], "tiles": None}
    file.write_text("[1, 2")
    wrong = alone.get("/map/own.json")
    assert wrong.status_code == 422
    assert "lake.geojson" in wrong.json()["error"]


def test_an_attempt_is_laid_beside_the_student_s_earlier_ones_and_nobody_else_s(school) -> None:
    """Those of the logbook whose recording it holds; the samples begin at the same roll-in."""
    teacher = school.as_("Emmett Dray")
    answer = teacher.post(
        "/debriefs", {"airplane": "larkmoor_155", "student": school.nora},
        files={"recording": ("again.csv", short_recording(1500))},
    )  # fmt: skip
    at = answer.headers["location"]
    kinds = {e["kind"] for e in teacher.get(f"{at}.json").json()["episodes"]}
    assert "climb" in kinds
    found = teacher.get(f"{at}/earlier.json?kind=climb").json()
    assert len(found) >= 1
    assert all(school.flights["nora"] in one["at"] for one in found)
    assert all(re.match(r"\d+ \w+ \d{4}, \d+:\d\d", one["words"]) for one in found)  # two of one flight told apart
    shown = teacher.get(found[0]["at"]).json()
    assert len(shown["series"]["t"]) == len(shown["series"]["altitude"]) > 50
    assert shown["series"]["t"][0] - 1 <= shown["roll"] <= shown["series"]["t"][-1]
    assert teacher.get(f"{at}/earlier.json?kind=chandelle").json() == []
    other = f"{at}/attempt.json?flight={school.flights['jan']}&position=0"
    assert teacher.get(other).status_code == 404
    assert school.as_("Jan Ruiz").get(f"{at}/earlier.json?kind=climb").status_code == 404
    teacher.post(f"{at}/remove")


def test_a_flight_is_held_against_what_its_student_aims_at_and_nobody_is_preselected(school, short_csv) -> None:
    """Unless another standard is chosen."""
    teacher, store = school.as_("Emmett Dray"), school.app.state.store
    with store.change() as connection:
        jan = people.find_person(connection, "Jan Ruiz")
        people.change_person(connection, jan, now_utc_s=time.time(), certificate_aimed="commercial")
    form = teacher.get("/debriefs").text
    assert '<select name="student"><option value="">' in form
    assert '<select name="standard"><option value="">what the student aims at' in form
    for chosen, held in (("", "us_commercial"), ("private", "us_private")):
        sent = {"airplane": "larkmoor_155", "student": jan.id, "standard": chosen}
        at = teacher.post("/debriefs", sent, files={"recording": ("aim.csv", short_csv)}).headers["location"]
        assert teacher.get(f"{at}.json").json()["flight"]["standard"]["id"] == held
        teacher.post(f"{at}/remove")
    with store.change() as connection:
        changed = people.find_person(connection, "Jan Ruiz")
        people.change_person(connection, changed, now_utc_s=time.time(), certificate_aimed=jan.certificate_aimed)


def test_a_recording_brought_for_nobody_is_given_to_a_student_with_its_corrections(school, short_csv) -> None:
    teacher = school.as_("Emmett Dray")
    raw = short_csv.replace(b"2025-09-20", b"2025-11-02")
    made = teacher.post("/debriefs", {"airplane": "larkmoor_155"}, files={"recording": ("whose.csv", raw)})
    at = made.headers["location"]
    page = teacher.get(at).text
    assert "<b>Whose flight?</b>" in page
    assert "times in America/Denver" in page  # where it was flown; nobody said a zone
    assert "◐ whose?" in teacher.get("/debriefs").text
    added = {"kind": "power_off_180", "start": "1:00", "end": "2:00", "as_said": "true"}
    assert teacher.post(f"{at}/correct", added).status_code == 303
    given = {"student": school.jan, "standard": "private", "lesson": "", "zone": "America/Denver", "airplane": "stands"}
    assert teacher.post(f"{at}/about", given).status_code == 303
    about = school.app.state.desk.find(at.rsplit("/", 1)[1])
    assert (about.student_name, about.airplane, len(about.edits)) == ("Jan Ruiz", "larkmoor_155", 1)
    page = teacher.get(at).text
    assert "<b>Whose flight?</b>" not in page
    assert school.as_("Jan Ruiz").get(at).status_code == 200
    assert teacher.post(f"{at}/about", {**given, "student": school.nora}).status_code == 303  # the wrong one: once more
    assert school.as_("Jan Ruiz").get(at).status_code == 404
    about = school.app.state.desk.find(at.rsplit("/", 1)[1])
    assert (about.student_name, about.zone, len(about.edits)) == ("Nora Whitlock", "America/Denver", 1)
    refused = teacher.post(f"{at}/about", {**given, "student": "f" * 32})
    assert refused.status_code == 422
    assert "nobody with this identity" in refused.text
    logged = f"/debriefs/{school.debriefs['nora']}"
    kept = teacher.post(f"{logged}/about", {**given, "student": school.jan})
    assert "take the entry back there first" in kept.text
    assert school.as_("Nora Whitlock").post(f"{at}/about", {**given, "student": school.jan}).status_code == 303
    assert school.app.state.desk.find(at.rsplit("/", 1)[1]).student == school.nora  # not a student's to give away
    teacher.post(f"{at}/remove")


def test_the_same_recording_brought_twice_says_so(school, short_csv) -> None:
    teacher, nora = school.as_("Emmett Dray"), school.as_("Nora Whitlock")
    raw = short_csv.replace(b"2025-09-20", b"2025-11-03")
    sent = {"airplane": "larkmoor_155", "student": school.jan}
    one, two = (
        teacher.post("/debriefs", sent, files={"recording": (name, raw)}).headers["location"]
        for name in ("a.csv", "b.csv")
    )
    page = teacher.get(two).text
    assert "The same recording lies here more than once" in page
    assert f'href="{one}"' in page
    assert "◐ here 2 times" in teacher.get("/debriefs").text
    assert "more than once" not in nora.get(f"/debriefs/{school.debriefs['nora']}").text
    teacher.post(f"{two}/remove")
    assert "more than once" not in teacher.get(one).text
    teacher.post(f"{one}/remove")


def test_a_lesson_is_chosen_by_its_day_and_student(alone) -> None:
    assert ">2025-09-20 08:30, Nora Whitlock: Slow flight, stalls, steep turns" in alone.get("/debriefs").text


@pytest.mark.parametrize(
    ("turned_deg", "words"), [(-364.0, ", left 364°"), (366.4, ", right 366°"), (20.0, ""), (None, "")]
)
def test_two_earlier_attempts_of_a_day_are_told_apart_by_their_turn(turned_deg: float | None, words: str) -> None:
    assert debrief_view._turned(None if turned_deg is None else math.radians(turned_deg)) == words
