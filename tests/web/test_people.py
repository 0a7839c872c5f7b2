"""People, papers, endorsements, log-ins on the pages: in one's own name, in the history, taken back by who made it."""

from __future__ import annotations

import re
import time

import pytest

from airwork.logbook import seal
from airwork.logbook.changes import changes
from airwork.logbook.keeping import holdings
from airwork.logbook.people import add_person, person_by_id
from airwork.logbook.store import open_store
from airwork.web.accounts import Account
from airwork.web.settings import Settings
from web.conftest import Browser, build_school, new_app

PASSWORD = "hedge and furrow, noon"
SOLO = {"kind": "us.endorsement.solo", "model": "Larkmoor 155"}


@pytest.fixture(scope="module")
def own(tmp_path_factory):
    """A school whose people this file changes: a second instructor who may log in."""
    made = build_school(tmp_path_factory.mktemp("people"))
    with made.app.state.store.change() as connection:
        made.ida = add_person(connection, "Ida Vance", now_utc_s=time.time(), instructor=True).id
    made.app.state.accounts.set_password(Account("Ida Vance", "instructor", made.ida), PASSWORD)
    browser = Browser(made.app)
    assert browser.log_in("Ida Vance", PASSWORD).status_code == 303
    made.inside["Ida Vance"] = browser
    return made


def held(school, person: str) -> dict[str, object]:
    with school.app.state.store.read() as connection:
        return {v.held.kind: v for v in holdings(connection, person_by_id(connection, person))}


def newest(school) -> object:
    with school.app.state.store.read() as connection:
        return changes(connection, most=1)[0]


def said(answer) -> str:
    return " ".join(re.findall(r'role="alert">([^<]*)', answer.text))


def test_the_first_student_of_a_logbook_without_airplanes_opens_on_every_page(tmp_path) -> None:
    store = open_store(tmp_path / "logbook.sqlite", create=True)
    with store.change() as connection:
        add_person(connection, "Ida Vance", now_utc_s=time.time(), instructor=True)
        person = add_person(connection, "Tess Quill", now_utc_s=time.time(), student=True).id
    store.close()
    ida = Browser(new_app(Settings(folder=tmp_path, data=str(tmp_path / "logbook.sqlite"))))
    pages = ("/", "/people", f"/people/{person}", "/students", f"/students/{person}", "/flights/new", "/school", "/day")
    assert {page: ida.get(page).status_code for page in pages} == dict.fromkeys(pages, 200)


def test_an_instructor_enters_a_student_and_the_history_says_who(own) -> None:
    ida = own.as_("Ida Vance")
    sent = {"name": "Tess Quill", "born": "2001-05-06", "zone": "America/Denver", "aimed": "private", "held": "student"}
    made = ida.post("/people/new", sent)
    assert made.status_code == 303, said(made)
    person = made.headers["location"].rsplit("/", 1)[1]
    assert "Tess Quill is entered." in ida.get(made.headers["location"]).text
    assert "Tess Quill" in ida.get("/students").text
    assert (newest(own).by, newest(own).what, newest(own).action) == ("Ida Vance", "person", "added")
    with own.app.state.store.read() as connection:
        entry = person_by_id(connection, person)
    assert (entry.is_student, entry.is_instructor, entry.born_on.year) == (True, False, 2001)


@pytest.mark.parametrize(
    ("more", "words"),
    [({"name": ""}, "name: is empty"), ({"name": "nora whitlock"}, "is entered already"),
     ({"zone": "Mars/Base"}, "Mars/Base"), ({"born": "1870-01-01"}, "birth date"),
     ({"aimed": "astronaut"}, "astronaut"), ({"authority": "xx"}, "no rules")],
)  # fmt: skip
def test_an_entry_that_can_not_be_is_said_and_what_was_typed_stays(own, more: dict[str, str], words: str) -> None:
    sent = {"name": "Someone New", "zone": "UTC", "aimed": "private", "authority": "us", "number": "C-77", **more}
    answer = own.as_("Ida Vance").post("/people/new", sent)
    assert answer.status_code == 422
    assert words in said(answer).replace("&#39;", "'")
    assert 'value="C-77"' in answer.text


def test_an_instructor_is_entered_by_the_chief_alone(own) -> None:
    sent = {"name": "Otto Hale", "instructor": "yes", "zone": "UTC"}
    assert own.as_("Ida Vance").post("/people/new", sent).status_code == 403
    assert own.as_("Emmett Dray").post("/people/new", sent).status_code == 303
    assert "Otto Hale" in own.as_("Emmett Dray").get("/people").text


def test_an_endorsement_is_given_in_ones_own_name_signed_and_then_stays(own) -> None:
    """14 CFR 61.87(n), (p): solo, for a make and model, 90 days."""
    ida, at = own.as_("Ida Vance"), f"/people/{own.jan}"
    refused = ida.post(f"{at}/endorse", {**SOLO, "by": own.emmett})
    assert refused.status_code == 422
    assert "own name" in said(refused)
    refused = ida.post(f"{at}/endorse", {"kind": SOLO["kind"], "words": "wind to 8 kt"})
    assert "which make and model" in said(refused)
    assert "wind to 8 kt" in refused.text
    assert ida.post(f"{at}/endorse", {**SOLO, "on": "2026-06-01", "words": "wind to 8 kt"}).status_code == 303
    assert "good until 2026-08-30" in ida.get(at).text  # 90 days
    one = held(own, own.jan)["us.endorsement.solo"]
    assert one.held.instructor_id == own.ida
    assert newest(own).by == "Ida Vance"
    assert "make one" in ida.get(at).text  # no key yet
    assert ida.post(f"/people/{own.ida}/key", {"password": "short", "again": "short"}).status_code == 422
    assert ida.post(f"/people/{own.ida}/key", {"password": PASSWORD, "again": PASSWORD}).status_code == 303
    assert ida.post(f"{at}/sign", {"password": "wrong wrong wrong"}).status_code == 422
    # A model mistyped is named, and stays out of what is signed.
    assert ida.post(f"{at}/endorse", {**SOLO, "model": f"{SOLO['model']}0"}).status_code == 303
    assert f"No airplane here is a {SOLO['model']}0; {SOLO['model']} is one." in ida.get(at).text
    assert ida.post(f"{at}/sign", {"password": PASSWORD, "which": ""}).status_code == 422
    assert ida.post(f"{at}/sign", {"password": PASSWORD, "which": ["", one.held.id]}).status_code == 303
    assert ida.get(at).text.count("● by Ida Vance") == 1
    taken = ida.post(f"{at}/take-back", {"what": "endorsement", "thing": one.held.id})
    assert taken.status_code == 422
    assert "is signed" in said(taken)
    assert "us.endorsement.solo" in held(own, own.jan)
    # It is ended by a second signed entry, told wherever it is listed; the unsigned one goes on as it was.
    emmett, asked = own.as_("Emmett Dray"), {"thing": one.held.id, "why": "crosswind practice first"}
    assert ida.post(f"{at}/end", {**asked, "why": " ", "password": PASSWORD}).status_code == 422
    assert own.as_("Nora Whitlock").post(f"{at}/end", {**asked, "password": PASSWORD}).status_code in {403, 404}
    assert emmett.post(f"{at}/end", {**asked, "by": own.ida, "password": PASSWORD}).status_code == 422
    assert ida.post(f"{at}/end", {**asked, "password": PASSWORD}).status_code == 303
    again = ida.post(f"{at}/end", {**asked, "password": PASSWORD})
    assert "has ended already" in said(again)
    for page in (at, f"/students/{own.jan}"):
        assert re.search(r"ended on \d{4}-\d\d-\d\d by Ida Vance: crosswind practice first", ida.get(page).text)


def test_what_was_given_by_mistake_is_taken_back_by_who_gave_it_or_the_chief(own) -> None:
    ida, emmett, at = own.as_("Ida Vance"), own.as_("Emmett Dray"), f"/people/{own.nora}"
    assert emmett.post(f"{at}/endorse", {**SOLO, "by": own.emmett}).status_code == 303
    thing = {"what": "endorsement", "thing": held(own, own.nora)["us.endorsement.solo"].held.id}
    assert ida.post(f"{at}/take-back", thing).status_code == 403
    assert ida.post(f"/people/{own.jan}/take-back", thing).status_code == 404  # not that person's
    assert emmett.post(f"{at}/take-back", thing).status_code == 303
    assert "us.endorsement.solo" not in held(own, own.nora)
    with own.app.state.store.read() as connection:
        told = [c for c in changes(connection, most=6) if c.what == "endorsement"]
    assert (told[0].by, told[0].action) == ("Emmett Dray", "taken out")


def test_a_date_runs_to_where_the_rules_say_and_one_of_ones_own_needs_its_end(own) -> None:
    """14 CFR 61.23(d): third class, 60 calendar months under 40; without a birth date the shorter 24 are taken."""
    ida, at = own.as_("Ida Vance"), f"/people/{own.jan}"
    assert ida.post(f"{at}/date", {"kind": "us.medical.third", "on": "2026-01-05"}).status_code == 303
    assert "2028-01-31" in ida.get(at).text
    refused = ida.post(f"{at}/date", {"own": "club check"})
    assert "until when" in said(refused)
    assert ida.post(f"{at}/date", {"own": "club check", "expires": "2031-01-01"}).status_code == 303
    entry = {"name": "Jan Ruiz", "born": "2000-02-03", "zone": "UTC", "held": "student", "aimed": "private"}
    assert ida.post(at, entry).status_code == 303
    assert "2031-01-31" in ida.get(at).text  # 60 calendar months, now that the birth date is known
    thing = {"what": "dated", "thing": held(own, own.jan)["club check"].held.id}
    assert ida.post(f"{at}/take-back", thing).status_code == 303
    assert "club check" not in held(own, own.jan)


def test_another_instructors_entry_is_theirs_and_the_chiefs(own) -> None:
    ida = own.as_("Ida Vance")
    entry = {"name": "Emmett Dray", "zone": "UTC", "aimed": "private"}
    assert ida.post(f"/people/{own.emmett}", entry).status_code == 403
    assert ida.post(f"/people/{own.emmett}/date", {"kind": "us.medical.third"}).status_code == 403
    assert ida.post(f"/people/{own.emmett}/key", {"password": PASSWORD, "again": PASSWORD}).status_code == 422
    with own.app.state.store.read() as connection:
        assert not seal.has_key(connection, person_by_id(connection, own.emmett))
    # nor does an instructor make anybody an instructor by their entry
    sent = {"name": "Jan Ruiz", "zone": "UTC", "aimed": "private", "instructor": "yes"}
    assert ida.post(f"/people/{own.jan}", sent).status_code == 303
    with own.app.state.store.read() as connection:
        assert not person_by_id(connection, own.jan).is_instructor


def test_of_two_windows_on_one_person_the_later_overwrites_nothing_unseen(own) -> None:
    """Both were opened before either was saved; the second says what stands there by now, and may be saved again."""
    ida, at = own.as_("Ida Vance"), f"/people/{own.jan}"
    sent = {"name": "Jan Ruiz", "zone": "UTC", "aimed": "private"}

    def read(page: str) -> str:
        return re.search(r'name="read" value="(\w+)"', page)[1]  # type: ignore[index]

    opened = read(ida.get(at).text)
    assert ida.post(at, {**sent, "number": "123456789", "read": opened}).status_code == 303
    refused = ida.post(at, {**sent, "contact": "555 0199", "read": opened})
    assert refused.status_code == 409
    top = refused.text[: refused.text.index('id="papers"')]
    assert "Nothing was written" in top
    assert 'href="#entry"' in top
    assert "number: 123456789" in refused.text
    assert "555 0199" in refused.text
    both = {**sent, "contact": "555 0199", "number": "123456789", "read": read(refused.text)}
    assert ida.post(at, both).status_code == 303
    with own.app.state.store.read() as connection:
        jan = person_by_id(connection, own.jan)
    assert (jan.contact, jan.certificate_number) == ("555 0199", "123456789")


def test_a_note_is_taken_back_by_who_wrote_it(own) -> None:
    ida, at = own.as_("Ida Vance"), f"/people/{own.nora}"
    assert ida.post(f"{at}/note", {"words": "flares high", "whose": "instructors"}).status_code == 303
    page = ida.get(at).text
    assert "flares high" in page
    thing = re.search(r'name="what" value="note"><input type="hidden" name="thing" value="(\w+)"', page)[1]
    assert ida.post(f"{at}/take-back", {"what": "note", "thing": thing}).status_code == 303
    assert "flares high" not in ida.get(at).text


def test_a_renamed_person_logs_in_under_the_new_name_with_the_old_password(own) -> None:
    ida = own.as_("Ida Vance")
    entry = {"name": "Ida Vance-Holt", "zone": "UTC", "aimed": "private"}
    assert ida.post(f"/people/{own.ida}", entry).status_code == 303
    assert "Ida Vance-Holt (instructor)" in ida.get("/students").text  # still inside
    fresh = Browser(own.app)
    assert fresh.log_in("Ida Vance", PASSWORD).status_code == 401
    assert fresh.log_in("Ida Vance-Holt", PASSWORD).status_code == 303
    assert own.as_("Emmett Dray").post(f"/people/{own.ida}", {**entry, "name": "Ida Vance", "instructor": "yes"}
                                       ).status_code == 303  # fmt: skip


def test_roles_are_changed_by_the_chief_written_down_and_never_leave_nobody(own) -> None:
    emmett = own.as_("Emmett Dray")
    assert "own account" in said(emmett.post("/people/role", {"name": "Emmett Dray", "role": "student"}))
    answer = emmett.post("/people/role", {"name": "Nora Whitlock", "role": "instructor"})
    assert "is not entered as an instructor" in said(answer)
    assert emmett.post("/people/role", {"name": "Ida Vance", "role": "chief"}).status_code == 303
    assert (newest(own).action, newest(own).by) == ("log-in changed", "Emmett Dray")
    assert "instructor → chief" in newest(own).told
    ida = Browser(own.app)
    assert ida.log_in("Ida Vance", PASSWORD).status_code == 303
    assert ida.get("/people").status_code == 200
    assert emmett.post("/people/role", {"name": "Ida Vance", "role": "instructor"}).status_code == 303
    assert ida.get("/people").status_code == 303  # that session is over


def test_an_airplane_is_entered_in_the_logbook_under_its_registration(own) -> None:
    ida = Browser(own.app)
    ida.log_in("Ida Vance", PASSWORD)
    sent = {"registration": "inv901", "key": "larkmoor_155"}
    assert ida.post("/airplanes/registration", sent).status_code == 303
    assert "INV901, " in ida.get("/airplanes").text
    assert "entered already" in said(ida.post("/airplanes/registration", sent))
    assert 'value="INV901"' in ida.get("/flights/new").text


def test_a_logbook_is_begun_on_the_page_where_the_next_server_finds_it(alone, tmp_path, monkeypatch) -> None:
    from airwork.cli.serve import _data

    monkeypatch.setattr("airwork.logbook.store.default_path", lambda: tmp_path / "data" / "logbook.sqlite")
    monkeypatch.delenv("AIRWORK_DATA", raising=False)
    assert "There is no logbook yet" in alone.get("/students").text
    assert alone.post("/students/begin").headers["location"] == "/people/new"
    assert "First yourself, the instructor" in alone.get("/people/new").text
    assert (
        alone.post("/people/new", {"name": "Wren Ames", "zone": "America/Denver", "student": "yes"}).status_code == 303
    )
    assert "Wren Ames" in alone.get("/students").text
    assert "once the chief is invited" in alone.get("/people").text  # a student before that would lock everybody out
    form = alone.get("/people/new").text
    assert 'name="student" value="yes">' in form  # not ticked beside "an instructor"
    assert _data(None) == str(tmp_path / "data" / "logbook.sqlite")
    assert alone.post("/students/begin").status_code == 422


def test_an_endorsement_says_in_one_line_what_the_record_lacks_before_it(own) -> None:
    """14 CFR 61.87(n): solo only with the knowledge test of (b) and the training of (c), each for that make and
    model. Of another they do not count; with both on record nothing is said.
    """
    emmett, store = own.as_("Emmett Dray"), own.app.state.store
    with store.change() as connection:
        at = f"/people/{add_person(connection, 'Lil Marsh', now_utc_s=time.time(), student=True).id}"

    def endorsed(kind: str, model: str) -> str:
        assert emmett.post(f"{at}/endorse", {"kind": f"us.endorsement.{kind}", "model": model}).status_code == 303
        return " ".join(re.findall(r'class="ask">([^<]*)', emmett.get(at).text))

    def before(kind: str) -> list[str]:
        shown = re.findall(rf'data-of="us.endorsement.{kind}"><span>[^<]*</span>([^<]*)', emmett.get(at).text)
        return [re.sub(r" \[.*", "", line) for line in shown]

    test, training = "pre-solo knowledge test passed and reviewed, make and model", "pre-solo training and proficiency"
    medical = "Not on record, for flying on it: medical certificate or its substitute"
    assert before("solo") == [
        f"Not on record before it: {test}", f"Not on record before it: {training}, make and model", medical,
    ]  # fmt: skip
    first = endorsed("solo", "Larkmoor 155")
    assert first.startswith("Not on record before it: pre-solo knowledge test")
    assert "61.87(b)" in first
    assert "61.87(c)" in first
    assert "61.23" in first
    ran_out = {"kind": "us.medical.third", "on": "2019-03-02", "expires": "2020-03-31"}
    assert emmett.post(f"{at}/date", ran_out).status_code == 303
    assert before("solo")[2].startswith("Ran out on 2020-03-31, for flying on it: medical")
    assert emmett.post(f"{at}/date", {"kind": "us.medical.third"}).status_code == 303
    assert len(before("solo")) == 2
    assert endorsed("presolo_test", "Wrenbrook 108") == ""
    assert endorsed("presolo_training", "Larkmoor 155") == ""
    second = endorsed("solo", "larkmoor  155")
    assert "61.87(b)" in second
    assert "61.87(c)" not in second
    assert before("solo") == [  # the model isn't said yet
        f"On record before it for Wrenbrook 108 only: {test}",
        f"On record before it for Larkmoor 155 only: {training}, make and model",
    ]
    endorsed("presolo_test", "Larkmoor 155")
    assert endorsed("solo", "Larkmoor 155") == ""
    with store.change() as connection:
        pia = add_person(connection, "Pia Reed", now_utc_s=time.time(), student=True, certificate_held="private")
    at = f"/people/{pia.id}"
    assert "No rule here asks it of Pia Reed, who holds private." in endorsed("solo", "Larkmoor 155")
    tail = endorsed("tailwheel", "")  # asked of everybody in command, with a medical and a review
    assert "No rule here" not in tail
    assert re.findall(r"61\.\d+\([a-z]\)", tail) == ["61.3(c)", "61.23(a)", "61.56(c)"]


def test_an_invitation_changes_nothing_of_who_logs_in_already(own) -> None:
    emmett, accounts = own.as_("Emmett Dray"), own.app.state.accounts
    refused = emmett.post("/people/invite", {"person": own.emmett, "role": "student"})
    assert refused.status_code == 422
    assert "logs in as chief already" in refused.text
    assert accounts.find("Emmett Dray").role == "chief"


def test_who_is_forgotten_logs_in_no_more_and_their_name_goes(tmp_path) -> None:
    from airwork.logbook.forgetting import forget_student

    school = build_school(tmp_path / "own")
    jan, store = school.as_("Jan Ruiz"), school.app.state.store
    assert jan.get("/debriefs").status_code == 200
    with store.read() as connection:
        person = person_by_id(connection, school.jan)
    forget_student(store, person, now_utc_s=time.time())
    assert jan.get("/debriefs").status_code == 303  # to the log-in
    assert Browser(school.app).log_in("Jan Ruiz").status_code == 401
    assert "Jan Ruiz" not in school.app.state.accounts.path.read_text("utf-8")


def test_a_name_with_a_dot_more_is_the_same_name(own) -> None:
    said = own.as_("Emmett Dray").post("/people/new", {"name": "Emmett Dray.", "student": "yes", "zone": "UTC"})
    assert said.status_code == 422
    assert "Emmett Dray is entered already" in said.text
