"""Entries of the logbook on the page: filled from recording, lesson, log-in; put right, taken back, signed."""

from __future__ import annotations

import math
import re
import time
from dataclasses import replace
from pathlib import Path

import pytest

from airwork.logbook import fleet
from airwork.logbook.changes import changes, in_words
from airwork.logbook.doubts import Recorded, questions
from airwork.logbook.entering import FlightEntry
from airwork.logbook.flights import flights_of
from airwork.logbook.people import person_by_id
from airwork.logbook.records import hours
from airwork.web.pages import students
from web.conftest import build_school

HAND = {"role": "dual", "start": "2026-03-02 09:00", "end": "10:12", "landings": "3 full-stop", "takeoffs": "3"}


def _flights(school, who: str) -> list:
    with school.app.state.store.read() as connection:
        return [one.flight for one in flights_of(connection, getattr(school, who))]


def _flight_id(answer) -> str:
    assert answer.status_code == 303, re.findall(r'role="alert">([^<]*)', answer.text)
    return answer.headers["location"].rsplit("/", 1)[1]


@pytest.fixture
def by_hand(school):
    """A flight of Jan's entered by hand, gone again afterwards."""
    teacher = school.as_("Emmett Dray")
    sent = {**HAND, "student": school.jan, "instructor": school.emmett, "sure": "yes"}
    made = _flight_id(teacher.post("/flights/new", sent))
    yield made
    if any(f.id == made and f.signed_utc_s is None for f in _flights(school, "jan")):
        teacher.post(f"/flights/{made}/take-back")


def test_minutes_that_are_no_tenths_stay_minutes_so_that_lines_add_up(school) -> None:
    """0:55 and 0:45 are 1:40; as tenths 0.9 and 0.8 would stand over 1.7. A correction begins with what was entered."""
    teacher = school.as_("Emmett Dray")
    sent = {**HAND, "student": school.jan, "instructor": school.emmett, "sure": "yes", "landings": "1", "takeoffs": "1"}
    made = _flight_id(teacher.post("/flights/new", {**sent, "end": "09:55", "total": "0:55"}))
    assert re.search(r'name="total"[^>]*value="0:55"', teacher.get(f"/flights/{made}/correct").text)
    assert '<td class="number" data-name="hours">0:55</td>' in teacher.get(f"/students/{school.jan}").text
    teacher.post(f"/flights/{made}/take-back")
    assert [hours(60.0 * m) for m in (55, 45, 55 + 45, 54, 90, 0)] == ["0:55", "0:45", "1:40", "0.9", "1.5", ""]


def test_the_form_is_filled_from_lesson_and_log_in_and_says_where_from(school) -> None:
    page = school.as_("Emmett Dray").get("/flights/new?lesson=stalls_over_the_lake").text
    assert f'<option value="{school.nora}" selected' in page
    assert re.search(r'value="dual" required checked', page)
    assert 'name="start" value="2025-09-20 08:30"' in page
    assert 'name="route" value="KOGA"' in page
    assert page.count('class="from">the lesson') >= 4


def test_who_was_in_charge_is_asked_where_nothing_says_so_and_never_assumed(school, short_csv) -> None:
    teacher = school.as_("Emmett Dray")
    raw = short_csv.replace(b"2025-09-20", b"2025-10-04")
    made = teacher.post("/debriefs", {"airplane": "larkmoor_155", "student": school.jan},
                        files={"recording": ("asked.csv", raw)})  # fmt: skip
    at = made.headers["location"]
    form = teacher.get(f"{at}/enter").text
    assert "nothing here says so: choose" in form
    assert "required checked" not in form
    total = re.search(r'name="total" value="([\d.]+)"', form)
    assert total
    assert float(total[1]) > 0.1
    before = len(_flights(school, "jan"))
    refused = teacher.post(f"{at}/enter", {"student": school.jan, "instructor": school.emmett})
    assert refused.status_code == 422
    assert "was it dual, solo, or pilot in command" in refused.text
    assert len(_flights(school, "jan")) == before
    teacher.post(f"{at}/remove")


@pytest.mark.parametrize(("start", "end", "asked"), [("18:00", "19:00", False), ("03:00", "04:00", True)])
def test_the_endorsement_for_a_night_is_asked_of_a_flight_by_night(school, start: str, end: str, asked: bool) -> None:
    """KOGA (101.8 W), its clock UTC here: about 11 in the morning there, and 8 in the evening of a March day."""
    sent = {"role": "solo", "start": f"2026-03-02 {start}", "end": end, "landings": "1", "takeoffs": "1",
            "route": "KOGA KOGA", "student": school.jan}  # fmt: skip
    held = school.as_("Emmett Dray").post("/flights/new", sent)
    assert held.status_code == 422
    assert ("at night, 90 days" in held.text) == asked


def test_a_solo_without_its_endorsements_is_held_up_and_entered_only_when_one_says_it_was_flown(school) -> None:
    teacher = school.as_("Emmett Dray")
    sent = {
        "student": school.jan,
        "role": "solo",
        "start": "2026-04-06 09:00",
        "end": "09:48",
        "landings": "1 full-stop",
    }
    held = teacher.post("/flights/new", sent)
    assert held.status_code == 422
    assert "61.87" in held.text  # the solo endorsement, 14 CFR 61.87(n)
    alone = {"student": school.jan, "role": "solo", "date": "2026-04-06", "total": "0.8"}  # a day without its hour
    assert "61.87" in teacher.post("/flights/new", alone).text
    held = teacher.post("/flights/new", {**sent, "sure": "yes"})
    made = _flight_id(held)
    row = next(f for f in _flights(school, "jan") if f.id == made)
    assert (row.role, row.solo_s, row.pic_s, row.dual_s) == ("solo", 2880, 2880, 0)  # 14 CFR 61.51(e)(4)
    assert teacher.post(f"/flights/{made}/take-back").status_code == 303


def test_a_flight_s_page_shows_its_landings_and_its_ground_training(school) -> None:
    sent = {**HAND, "student": school.jan, "instructor": school.emmett, "sure": "yes", "ground_training": "0.5",
            "takeoffs": "4", "landings": "1; 2 night; 1 full-stop night", "passengers": "1"}  # fmt: skip
    teacher = school.as_("Emmett Dray")
    made = _flight_id(teacher.post("/flights/new", sent))
    page = teacher.get(f"/flights/{made}").text
    tiles = dict(re.findall(r"<dt>([^<]+)</dt><dd>(.*?)</dd>", page))
    assert tiles["ground training, h"] == "0.5"
    assert tiles["takeoffs"] == "4 by day"
    assert tiles["landings"].startswith("1 by day, 3 by night")
    assert "1 full stop" in tiles["landings"]
    assert tiles["passengers"] == "1"
    assert teacher.post(f"/flights/{made}/take-back").status_code == 303


def test_an_unsigned_entry_is_put_right_in_place_and_the_history_says_by_whom(school, by_hand: str) -> None:
    teacher = school.as_("Emmett Dray")
    form = teacher.get(f"/flights/{by_hand}/correct").text
    assert 'name="total" value="1.2"' in form
    assert 'name="landings" value="3 full-stop"' in form
    sent = {**HAND, "student": school.jan, "instructor": school.emmett, "end": "10:00", "total": "1.0",
            "landings": "2 full-stop", "remarks": "gusty"}  # fmt: skip
    assert _flight_id(teacher.post(f"/flights/{by_hand}/correct", sent)) == by_hand
    row = next(f for f in _flights(school, "jan") if f.id == by_hand)
    assert (row.total_s, row.dual_s, row.remarks) == (3600, 3600, "gusty")
    with school.app.state.store.read() as connection:
        newest = changes(connection, thing=by_hand)[0]
    assert (newest.by, newest.action) == ("Emmett Dray", "changed")
    assert "1.2 h → 1.0 h" in newest.told
    page = teacher.get(f"/flights/{by_hand}").text
    assert "The flight is put right." in page


def test_of_two_windows_on_one_entry_the_later_overwrites_nothing_unseen(school, by_hand: str) -> None:
    """Both were opened before either was saved: the second is told what the entry says by now, and may save again."""
    teacher = school.as_("Emmett Dray")
    sent = {**HAND, "student": school.jan, "instructor": school.emmett}

    def opened() -> str:
        return re.search(r'name="read" value="(\w+)"', teacher.get(f"/flights/{by_hand}/correct").text)[1]  # type: ignore[index]

    one, two = opened(), opened()
    first = {**sent, "remarks": "P: solo endorsement discussed", "read": one}
    assert _flight_id(teacher.post(f"/flights/{by_hand}/correct", first)) == by_hand
    later = {**sent, "remarks": "", "landings": "2 full-stop", "read": two}
    refused = teacher.post(f"/flights/{by_hand}/correct", later)
    assert refused.status_code == 409
    assert "remarks: P: solo endorsement discussed" in refused.text
    assert 'name="landings" value="2 full-stop"' in refused.text
    row = next(f for f in _flights(school, "jan") if f.id == by_hand)
    assert row.remarks == "P: solo endorsement discussed"
    again = re.search(r'name="read" value="(\w+)"', refused.text)[1]  # type: ignore[index]
    assert _flight_id(teacher.post(f"/flights/{by_hand}/correct", {**later, "read": again})) == by_hand


def test_a_flight_is_entered_beside_the_server_in_the_name_of_who_enters_it(
    school, short_csv, monkeypatch: pytest.MonkeyPatch
) -> None:
    teacher, shop = school.as_("Emmett Dray"), school.app.state.workshop
    at = teacher.post("/debriefs", {"airplane": "larkmoor_155", "student": school.jan},
                      files={"recording": ("beside.csv", short_csv.replace(b"2025-09-20", b"2025-10-06"))})  # fmt: skip
    at = at.headers["location"]
    monkeypatch.setattr(shop, "processes", 1)
    monkeypatch.setattr(school.app.state.desk, "debrief", lambda about: pytest.fail("worked out in the server"))
    assert re.search(r'name="total" value="0\.\d"', teacher.get(f"{at}/enter").text)
    sent = {"student": school.jan, "instructor": school.emmett, "role": "dual", "sure": "yes"}
    made = _flight_id(teacher.post(f"{at}/enter", sent))
    with school.app.state.store.read() as connection:
        assert changes(connection, thing=made)[0].by == "Emmett Dray"
    shop._papers.stop()
    monkeypatch.undo()
    assert teacher.post(f"/flights/{made}/take-back").status_code == 303
    teacher.post(f"{at}/remove")


def test_an_entry_is_taken_back_and_its_recording_stays_on_the_desk(school, short_csv) -> None:
    teacher = school.as_("Emmett Dray")
    raw = short_csv.replace(b"2025-09-20", b"2025-10-05")
    at = teacher.post("/debriefs", {"airplane": "larkmoor_155", "student": school.jan},
                      files={"recording": ("back.csv", raw)}).headers["location"]  # fmt: skip
    sent = {"student": school.jan, "instructor": school.emmett, "role": "dual", "sure": "yes"}
    made = _flight_id(teacher.post(f"{at}/enter", sent))
    assert any(f.id == made for f in _flights(school, "jan"))
    assert teacher.post(f"/flights/{made}/take-back").status_code == 303
    assert not any(f.id == made for f in _flights(school, "jan"))
    about = school.app.state.desk.find(at.rsplit("/", 1)[1])
    assert about.flight_id == ""
    assert _flight_id(teacher.post(f"{at}/enter", sent))  # and can be entered again
    teacher.post(f"{at}/remove")


def test_a_signed_entry_stays_and_its_correction_counts_in_its_place(school, by_hand: str) -> None:
    from airwork.logbook import seal
    from airwork.logbook.people import person_by_id

    store, teacher = school.app.state.store, school.as_("Emmett Dray")
    with store.change() as connection:
        emmett = person_by_id(connection, school.emmett)
        seal.make_key(connection, emmett, "over the lake at dawn", now_utc_s=time.time())
    signed = teacher.post(f"/flights/{by_hand}/sign", {"password": "over the lake at dawn"})
    assert signed.status_code == 303, signed.text
    assert teacher.post(f"/flights/{by_hand}/take-back").status_code == 422
    sent = {**HAND, "student": school.jan, "instructor": school.emmett, "total": "1.1", "end": "10:06"}
    new = _flight_id(teacher.post(f"/flights/{by_hand}/correct", sent))
    assert new != by_hand
    assert new not in {f.id for f in _flights(school, "jan")}  # waits: what is signed counts
    assert "once it is signed" in teacher.get(f"/flights/{new}").text
    assert "doesn't count until it is signed" in teacher.get(f"/students/{school.jan}").text.replace("&#39;", "'")
    assert teacher.post(f"/flights/{new}/sign", {"password": "over the lake at dawn"}).status_code == 303
    counted = {f.id: f.total_s for f in _flights(school, "jan")}
    assert counted[new] == 3960
    assert by_hand not in counted
    assert "Corrected by" in teacher.get(f"/flights/{by_hand}").text


@pytest.mark.parametrize(
    ("more", "said"),
    [({"student": ""}, "whose flight"), ({"instructor": ""}, "who gave the training"),
     ({"total": "long"}, "expected hours"), ({"landings": "many"}, "write the number first"),
     ({"start": "yesterday"}, "is no time"), ({"start": "2031-03-02 09:00"}, "still to come"),
     ({"end": "08:00"}, "right day and hour"), ({"total": "17"}, "light single"),
     ({"passengers": "two"}, "number of people"),
     ({"airplane": "N0NE"}, "N0NE"), ({"total": "0.5", "night": "0.9"}, "more than the flight")],
)  # fmt: skip
def test_what_can_not_be_is_said_and_nothing_is_entered(school, more: dict[str, str], said: str) -> None:
    teacher, before = school.as_("Emmett Dray"), len(_flights(school, "jan"))
    sent = {**HAND, "student": school.jan, "instructor": school.emmett, "sure": "yes", **more}
    answer = teacher.post("/flights/new", sent)
    assert answer.status_code == 422
    assert said in answer.text.replace("&#39;", "'")
    assert len(_flights(school, "jan")) == before


def test_the_airplane_of_a_debrief_is_entered_with_its_flight(tmp_path: Path, short_csv) -> None:
    """A flight without an airplane is no entry; the one it was judged by is entered where it is asked for."""
    own = build_school(tmp_path / "own")
    teacher = own.as_("Emmett Dray")
    raw = short_csv.replace(b"2025-09-20", b"2025-10-06")
    brought = teacher.post(
        "/debriefs", {"airplane": "larkmoor_155", "student": own.jan}, files={"recording": ("n.csv", raw)}
    )
    at = brought.headers["location"]
    form = teacher.get(f"{at}/enter").text
    assert "registration of this Larkmoor 155" in form
    assert "Recorded 2025-10-06" in form
    sent = {"student": own.jan, "instructor": own.emmett, "role": "dual"}
    held = teacher.post(f"{at}/enter", sent)
    assert held.status_code == 422
    assert "which one was it?" in held.text
    made = _flight_id(teacher.post(f"{at}/enter", {**sent, "registration": "inv155", "sure": "yes"}))
    assert "INV155 Larkmoor 155" in teacher.get(f"/flights/{made}").text
    assert "registration of this" not in teacher.get(f"/flights/new?student={own.jan}").text


def test_a_typed_entry_s_slips_are_said_all_at_once_each_at_its_field(school) -> None:
    teacher = school.as_("Emmett Dray")
    sent = {**HAND, "student": school.jan, "instructor": school.emmett, "sure": "yes", "total": "3.0",
            "landings": "500"}  # fmt: skip
    refused = teacher.post("/flights/new", sent)
    assert refused.status_code == 422
    assert re.search(r'name="total"[^>]*aria-invalid.*?3\.0 h is more than from start to end, 1\.2 h', refused.text)
    assert re.search(r'name="landings"[^>]*aria-invalid.*?500 in 3\.0 h is more than one a minute', refused.text)
    assert 'name="takeoffs" value="3" placeholder="3, or 3 towered" maxlength="400" autocomplete="off">' in refused.text


def test_an_instructor_in_two_places_is_asked_about_and_a_correction_too(school) -> None:
    teacher = school.as_("Emmett Dray")
    both = {"role": "dual", "instructor": school.emmett, "landings": "1 full-stop"}
    first = {**both, "student": school.jan, "start": "2026-03-09 10:00", "end": "11:00", "sure": "yes"}
    one = _flight_id(teacher.post("/flights/new", first))
    second = {**both, "student": school.nora, "start": "2026-03-09 03:30", "end": "04:30"}  # Denver is 7 h behind
    asked = teacher.post("/flights/new", {**second, "start": "2026-03-09 04:30", "end": "05:30"})
    assert asked.status_code == 422
    assert "Emmett Dray is on record for a flight of Jan Ruiz, 2026-03-09 10:00 to 11:00" in asked.text
    assert "It was flown all the same" in asked.text
    other = _flight_id(
        teacher.post("/flights/new", {**second, "start": "2026-03-09 07:30", "end": "08:30", "sure": "yes"})
    )
    moved = teacher.post(f"/flights/{other}/correct", {**second, "start": "2026-03-09 04:30", "end": "05:30"})
    assert moved.status_code == 422
    assert "Emmett Dray is on record for a flight of Jan Ruiz" in moved.text
    own = {**first, "start": "2026-03-09 10:10", "end": "11:00"}
    assert teacher.post(f"/flights/{one}/correct", own).status_code == 303  # itself is not in its way
    for made in (one, other):
        assert teacher.post(f"/flights/{made}/take-back").status_code == 303


def test_a_route_to_where_the_recording_never_was_is_asked_about(school) -> None:
    teacher, made = school.as_("Emmett Dray"), school.flights["jan"]
    form = teacher.get(f"/flights/{made}/correct").text
    fields = dict(re.findall(r'name="(start|end|total|read)" value="([^"]*)"', form))
    sent = {"student": school.jan, "instructor": school.emmett, "role": "dual", **fields}
    asked = teacher.post(f"/flights/{made}/correct", {**sent, "route": "KOGA KIBM"})
    assert asked.status_code == 422
    assert "the recording neither begins, lands nor ends at KIBM" in asked.text
    long = teacher.post(f"/flights/{made}/correct", {**sent, "total": "3.0"})
    assert re.search(r"3\.0 h is more than was recorded, 0\.\d h", long.text)
    with school.app.state.store.read() as connection:
        row = next(f.flight for f in flights_of(connection, school.jan) if f.flight.id == made)
    assert row.cross_country_s == 0
    home = teacher.post(
        f"/flights/{made}/correct", {**sent, "route": "KOGA"}
    )  # Nora's is at the same time in this school
    assert "Emmett Dray" in home.text
    assert "the recording neither" not in home.text
    assert teacher.post(f"/flights/{made}/correct", {**sent, "route": "KOGA", "sure": "yes"}).status_code == 303


def test_the_history_of_a_correction_names_what_changed_alone_and_people_by_name(school) -> None:
    """The form shows minutes and tenths of an hour; what was not touched keeps its seconds."""
    teacher, made = school.as_("Emmett Dray"), school.flights["nora"]
    before = next(f for f in _flights(school, "nora") if f.id == made)
    form = teacher.get(f"/flights/{made}/correct").text
    fields = {n: v for n, v in re.findall(r'<input name="(\w+)" value="([^"]*)"', form) if v}
    sent = {**fields, "student": school.nora, "instructor": school.emmett, "role": "dual", "sure": "yes"}
    assert teacher.post(f"/flights/{made}/correct", {**sent, "remarks": "gusty"}).status_code == 303
    after = next(f for f in _flights(school, "nora") if f.id == made)
    assert (after.start_utc_s, after.end_utc_s, after.total_s) == (before.start_utc_s, before.end_utc_s, before.total_s)
    with school.app.state.store.read() as connection:
        assert changes(connection, thing=made)[0].told == "remarks nothing → gusty"
    assert teacher.post(f"/flights/{made}/correct", {**sent, "remarks": ""}).status_code == 303


def test_an_identity_in_the_history_is_a_name() -> None:
    told = in_words({"signed_by_id": (None, "abc"), "end_utc_s": (60.0, 61.0), "solo_s": (3240, 32400)}, {"abc": "Ike"})
    assert told == "signed by nothing → Ike, solo 0.9 h → 9.0 h"


def test_after_a_signature_the_signed_mark_stays_in_sight_and_the_debrief_offers_no_change(tmp_path: Path) -> None:
    """A mark given later stands beside the signed one on the flight's page, the debrief and what is sent on; a
    correction, asked for from a page opened before, is refused on the debrief itself and changes nothing there."""
    from airwork.logbook import seal

    own = build_school(tmp_path / "own")
    store, teacher = own.app.state.store, own.as_("Emmett Dray")
    flown, debrief = own.flights["jan"], f"/debriefs/{own.debriefs['jan']}"
    with store.change() as connection:
        seal.make_key(connection, person_by_id(connection, own.emmett), "over the lake at dawn", now_utc_s=time.time())
    given = {"position": 0, "level": "practice", "remark": "late on the rudder", "instructor": own.emmett}
    assert teacher.post(f"{debrief}/mark", given).status_code == 303
    before = teacher.get(debrief).text
    assert "grade anew" in before
    assert "add a maneuver" in before
    assert teacher.post(f"/flights/{flown}/sign", {"password": "over the lake at dawn"}).status_code == 303
    assert teacher.post(f"{debrief}/mark", {**given, "level": "perform", "remark": "better now"}).status_code == 303
    after = teacher.get(debrief).text
    for text in (teacher.get(f"/flights/{flown}").text, after, teacher.get(f"{debrief}/report.html").text):
        plain = " ".join(re.sub(r"<[^>]+>", " ", text).split())
        assert re.search(r"[Ss]igned by Emmett Dray on \d{4}-\d\d-\d\d", plain)
        assert re.search("practice.*late on the rudder.*perform.*better now", plain)
        assert "after the signature" in plain
    sent_on = teacher.get(f"{debrief}/report.html")
    assert "Jan Ruiz with Emmett Dray, signed by Emmett Dray" in sent_on.text
    assert "Jan%20Ruiz.html" in sent_on.headers["content-disposition"]
    assert re.search(r"Signed by Emmett Dray on [\d-]+, the signature is verified:", after)
    assert "Jan Ruiz with Emmett Dray, signed by Emmett Dray on" in after
    for offered in ("grade anew", "add a maneuver", "debrief anew", "take back"):
        assert offered not in after
    kept = own.app.state.desk.find(own.debriefs["jan"])
    refused = teacher.post(f"{debrief}/correct", {"was_kind": "takeoff", "was_start_s": 0.0, "number": 1})
    assert refused.status_code == 422
    assert "is signed by its instructor" in refused.text
    assert "save as PDF" in refused.text  # on the debrief, not a page of its own
    assert own.app.state.desk.find(own.debriefs["jan"]) == kept
    # A tenth of an hour put right is no other flight: what was flown, its marks and its debrief go with the new entry.
    with store.read() as connection:
        row = next(f.flight for f in flights_of(connection, own.jan) if f.flight.id == flown)
    put = {"student": own.jan, "instructor": own.emmett, "role": row.role, "total": f"{row.total_s / 3600 - 0.1:.1f}",
           "start": "2025-09-20 08:30", "remarks": "a tenth less", "sure": "yes"}  # fmt: skip
    # A maneuver taken out while the new entry waits goes with it: the signed debrief comes back as it was signed.
    desk, taken = own.app.state.desk, teacher.get(f"{debrief}.json").json()["episodes"][-1]
    waits = _flight_id(teacher.post(f"/flights/{flown}/correct", put))
    out = {"was_kind": taken["kind"], "was_start_s": taken["start_s"]}
    assert teacher.post(f"{debrief}/correct", out).status_code == 303
    without = desk.find(kept.id)
    assert without.edits
    assert teacher.post(f"/flights/{waits}/take-back").status_code == 303
    assert desk.find(kept.id) == kept
    assert re.search(r"Signed by Emmett Dray on [\d-]+, the signature is verified:", teacher.get(debrief).text)
    desk.note(replace(without, flight_id=flown))  # as one made anew without what was put right
    assert "not the debrief Emmett Dray signed" in teacher.get(f"{debrief}/report.html").text
    strange = teacher.get(debrief).text
    assert "This is not the debrief that Emmett Dray signed" in strange
    assert "late on the rudder" not in strange
    desk.note(kept)
    new = _flight_id(teacher.post(f"/flights/{flown}/correct", put))
    assert teacher.post(f"/flights/{new}/sign", {"password": "over the lake at dawn"}).status_code == 303
    page = teacher.get(f"/flights/{new}").text
    assert "better now" in page  # the newest; what was signed before it stays with the entry that is put right
    assert "Not debriefed" not in page
    assert f'href="{debrief}"' in page
    assert "late on the rudder" in teacher.get(f"/flights/{flown}").text
    assert "better now" in teacher.get(debrief).text


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"night": "0.3", "route": "KOGA"}, "night 0.3 h, and between its start and end there were 0.0 h of it"),
        ({"pic": "0.4"}, "a student pilot commands alone only"),
        ({"passengers": "3", "airplane": "INV155"}, "5 people aboard, 4 seats in this airplane"),
        ({"route": "KOGA KXXX"}, "nothing here says where KXXX is"),
        ({"route": "KOGA KOGA", "cross_country": "1.0"}, "cross-country 1.0 h, and its farthest landing is 0 NM away"),
        ({"landings": "2"}, "2 landings and none to a full stop"), ({"landings": "2; 1 full-stop"}, ""),
        ({"landings": ""}, "3 takeoffs and no landing"), ({"landings": "", "takeoffs": ""}, ""),
        ({"passengers": "2", "airplane": "INV155"}, ""), ({"route": "KOGA KSNY KOGA"}, ""),
        ({"start": "2026-03-05 20:00", "end": "21:10", "night": "1.1", "route": "KOGA"}, ""),
    ],
)  # fmt: skip
def test_what_may_be_a_slip_is_asked_and_what_is_usual_is_not(school, more: dict[str, str], said: str) -> None:
    """Night: civil twilight at Ogallala on 5 March ends about 18:10 MST. In command: 14 CFR 61.51(e)(4). Each that is
    asked is entered when one says that it was so."""
    teacher = school.as_("Emmett Dray")
    with school.app.state.store.change() as connection:
        if not any(a.registration == "INV155" for a in fleet.airplanes(connection)):
            fleet.add_airplane(
                connection, "INV155", now_utc_s=time.time(), make_model="Larkmoor 155", airplane_file="larkmoor_155"
            )
    sent = {**HAND, "student": school.nora, "instructor": school.emmett, "start": "2026-03-05 09:00", **more}
    text = teacher.post("/flights/new", sent).text
    asked = re.findall(r"<li>([^<]*)</li>", text[: text.find("It was flown all the same")])
    assert [said in one for one in asked if "Emmett" not in one] == [True] * bool(said), asked
    if said:
        made = _flight_id(teacher.post("/flights/new", {**sent, "sure": "yes"}))
        assert teacher.post(f"/flights/{made}/take-back").status_code == 303


def test_a_recording_that_ends_elsewhere_than_its_route_is_asked_about(school) -> None:
    """It began at KOGA and landed 20 NM south of it: "KOGA KOGA" says that it came back."""
    koga, south = (41.1195, -101.7696), (41.1195 - 20.0 / 60.0, -101.7696)
    with school.app.state.store.change() as connection:
        pilot, place = person_by_id(connection, school.jan), fleet.place_for(connection, "KOGA", now_utc_s=time.time())
        entry = FlightEntry(pilot, "dual", 1.7e9, route=(place, place))
        begun = [tuple(map(math.radians, at)) for at in (koga, south, south)]
        asked = questions(connection, entry, Recorded(1.7e9, 1800.0, tuple(begun)))
        assert asked == ["the recording ends 20 NM from KOGA"]
        assert not questions(connection, entry, Recorded(1.7e9, 1800.0, (begun[0], begun[0], begun[1])))
        assert not questions(connection, replace(entry, route=(place,)), Recorded(1.7e9, 1800.0, tuple(begun)))


def test_every_complaint_stands_at_its_own_field(school) -> None:
    teacher = school.as_("Emmett Dray")
    sent = {"role": "dual", "start": "2026-03-02 09:00", "end": "10:12", "student": school.jan,
            "instructor": school.emmett, "night": "2.5", "total": "-1"}  # fmt: skip
    text = teacher.post("/flights/new", sent).text.replace("&#39;", "'")
    wrong = re.findall(r'name="(\w+)"[^>]*aria-invalid', text)
    assert wrong == ["total", "night"]
    text = teacher.post("/flights/new", {**sent, "total": "0.5"}).text.replace("&#39;", "'")
    assert re.search(r'name="night"[^>]*aria-invalid.*?2\.5 h is more than the flight\'s 0\.5 h', text)
    text = teacher.post("/flights/new", {**HAND, "role": "dual", "instructor": ""}).text
    assert "whose flight is it?" in text
    assert "who gave the training?" in text


def test_every_flight_of_a_student_can_be_reached(school, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the newest a link leads to them all, on the student's page and from the school's unsigned training."""
    monkeypatch.setattr(students, "NEWEST", 0)
    chief, where = school.as_("Emmett Dray"), f"/students/{school.nora}?flights=all#flights"
    short = chief.get(f"/students/{school.nora}").text
    assert f'href="{where}"' in short
    assert school.flights["nora"] not in short
    assert f'href="/flights/{school.flights["nora"]}"' in chief.get(where).text
    assert chief.get(f"/students/{school.nora}", params={"flights": "some"}).status_code == 422


def test_an_entry_without_its_start_can_be_of_the_day_alone(school) -> None:
    """A start that was refused no longer takes the field for the day away."""
    sent = {"student": school.jan, "role": "solo", "start": "tomorrow", "total": "1.0"}
    refused = school.as_("Emmett Dray").post("/flights/new", sent)
    assert refused.status_code == 422
    assert 'name="date"' in refused.text
