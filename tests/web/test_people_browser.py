"""A student comes to the school, in real Chromium: entered, endorsed, dated, invited; not one command typed."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from web.browsing import CHROMIUM, REQUIRED, Watched, faults, looking, quiet
from web.conftest import PASSWORDS, build_school

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)


@pytest.fixture(scope="module")
def school(tmp_path_factory):
    """A school of its own: these tests add people to it."""
    return build_school(tmp_path_factory.mktemp("people_browser"))


def test_a_new_student_is_entered_endorsed_and_invited(chromium, address: str) -> None:
    with Watched.on(chromium, address, "Emmett Dray") as watched:
        page = watched.page
        page.goto("/")
        page.get_by_role("link", name="Students", exact=True).click()
        page.get_by_role("link", name="enter a student").click()
        page.wait_for_url("**/people/new")
        quiet(page)
        assert faults(page) == [], "a new student"
        page.get_by_label("name, as it stands on records").fill("Tess Quill")
        page.get_by_label("born").fill("2001-05-06")
        page.get_by_label("time zone where they fly").fill("America/Denver")
        page.get_by_role("button", name="enter them").click()
        expect(page.get_by_role("status")).to_have_text("Tess Quill is entered.")
        page.locator("select[name=kind]").first.select_option(
            label="solo, make and model, 90 days [14 CFR 61.87(n), (p)]"
        )
        lacks = page.locator("#lacks li:visible")  # before the button, of the one that is chosen
        expect(lacks).to_have_count(3)
        expect(lacks.last).to_contain_text("for flying on it: medical certificate")
        # Where several may sign, whose name it is stands in a list too: it decides nothing of what is asked.
        page.locator("form[action$=endorse] label").first.evaluate(
            "it => it.insertAdjacentHTML('beforebegin', '<select name=by><option selected>Edda</option></select>')"
        )
        expect(page.locator("input[name=model]")).to_be_visible()
        page.locator("form[action$=endorse] select[name=by]").evaluate("it => it.remove()")
        page.locator("select[name=kind]").first.select_option(label="tailwheel airplane [14 CFR 61.31(i)]")
        expect(lacks).to_have_count(1)
        page.locator("select[name=kind]").first.select_option(
            label="solo, make and model, 90 days [14 CFR 61.87(n), (p)]"
        )
        page.get_by_role("button", name="endorse").click()
        expect(page.get_by_role("alert")).to_contain_text("which make and model")
        page.locator("select[name=kind]").first.select_option(
            label="solo, make and model, 90 days [14 CFR 61.87(n), (p)]"
        )
        expect(page.get_by_label("place")).to_be_hidden()  # asked for where it is given for one
        offered = page.locator("#models option").evaluate_all("all => all.map((o) => o.value)")
        assert "Larkmoor 155" in offered
        page.locator("input[name=model]").fill("Larkmoor 155")
        page.get_by_role("button", name="endorse").click()
        expect(page.get_by_role("status")).to_contain_text("Endorsed: solo, make and model, 90 days (Larkmoor 155)")
        expect(page.locator("p.ask").first).to_contain_text("Not on record before it: pre-solo knowledge test")
        medical = page.locator("form[action$=date] select[name=kind]")
        medical.select_option(label="third-class medical [14 CFR 61.23(d)]")
        page.get_by_role("button", name="enter the date").click()
        expect(page.get_by_role("row", name=re.compile("third-class medical"))).to_be_visible()
        wrong = page.get_by_role("row", name=re.compile("solo, make and model"))
        wrong.get_by_text("take back", exact=True).click()
        wrong.get_by_role("button", name="take back").click()
        expect(page.get_by_role("status")).to_contain_text("Taken back")
        expect(wrong).to_have_count(0)
        page.get_by_role("link", name="all people").click()
        page.get_by_role("button", name="invite Tess").click()
        expect(page.get_by_role("status")).to_contain_text("/join/")
        expect(page.get_by_role("row", name=re.compile("Tess Quill student"))).to_contain_text("student")
        page.set_viewport_size({"width": 390, "height": 844})
        assert page.evaluate("document.documentElement.scrollWidth") <= 390  # the long link too
        assert faults(page) == [], "people"
        link = page.locator("main a[href*='/join/']").get_attribute("href")
    with looking(chromium, address) as page:
        page.goto(link)
        expect(page.get_by_text("you log in as Tess Quill")).to_be_visible()
        assert faults(page) == []


def test_the_pages_about_people_break_no_accessibility_rule_and_no_edge(chromium, address: str, school) -> None:
    with looking(chromium, address, "Emmett Dray") as page:
        for where in (f"/people/{school.nora}", f"/people/{school.emmett}"):
            page.goto(where)
            quiet(page)
            assert faults(page) == [], where
    with looking(chromium, address) as page:
        page.goto("/join/no-such-word")
        assert faults(page) == []


def test_choosing_whose_lesson_it_is_keeps_what_is_typed_of_it(chromium, address: str) -> None:
    with Watched.on(chromium, address, "Emmett Dray") as watched:
        page = watched.page
        page.goto("/lessons/new?on=2027-01-05")
        page.get_by_label("engine start, local").fill("10:00")
        page.get_by_label("title").fill("Stalls, again")
        with page.expect_navigation():
            page.locator("#who-for").select_option(label="Jan Ruiz")
        expect(page.get_by_text("Fly next with Jan Ruiz")).to_be_visible()
        expect(page.locator("[name=date]")).to_have_value("2027-01-05")
        expect(page.get_by_label("engine start, local")).to_have_value("10:00")
        expect(page.get_by_label("title")).to_have_value("Stalls, again")
        assert "token" not in page.url
        page.locator("[name=begin]").last.check()  # chosen by hand: it stays for the next student
        with page.expect_navigation():
            page.locator("#who-for").select_option(label="Nora Whitlock")
        expect(page.locator("[name=begin]").last).to_be_checked()


def test_a_form_half_filled_is_there_again_after_a_reload(chromium, address: str) -> None:
    """A flight by hand and a person; begun anew or sent it is gone."""
    with Watched.on(chromium, address, "Emmett Dray") as watched:
        page = watched.page
        page.goto("/flights/new")
        page.get_by_label("from, landed at").fill("KOGA KSNY")
        page.get_by_label("remarks").fill("gusts on final")
        page.locator("[name=role][value=solo]").check()
        page.locator("[name=student]").select_option(label="Jan Ruiz")
        page.reload()
        expect(page.get_by_text("As you had typed it here")).to_be_visible()
        expect(page.get_by_label("from, landed at")).to_have_value("KOGA KSNY")
        expect(page.get_by_label("remarks")).to_have_value("gusts on final")
        expect(page.locator("[name=role][value=solo]")).to_be_checked()
        expect(page.locator("[name=student] option:checked")).to_have_text("Jan Ruiz")
        page.get_by_role("button", name="begin anew").click()
        expect(page.get_by_label("from, landed at")).to_have_value("")
        page.reload()
        expect(page.get_by_label("from, landed at")).to_have_value("")
        expect(page.get_by_text("As you had typed it here")).to_have_count(0)
        page.goto("/people/new")
        page.get_by_label("name, as it stands on records").fill("Tess Quilling")
        page.reload()
        expect(page.get_by_label("name, as it stands on records")).to_have_value("Tess Quilling")
        page.get_by_role("button", name="enter them").click()
        expect(page.get_by_role("status")).to_contain_text("Tess Quilling is entered.")
        page.goto("/people/new")
        expect(page.get_by_label("name, as it stands on records")).to_have_value("")


def test_a_flight_half_typed_for_one_student_is_not_put_into_anothers_form(chromium, address: str, school) -> None:
    """Left, or refused: it waits in the form of its own student, and once entered nowhere."""
    with Watched.on(chromium, address, "Emmett Dray") as watched:
        page, their = watched.page, "/flights/new?student={}"
        page.goto(their.format(school.nora))
        page.get_by_label("remarks").fill("hers")
        page.locator("[name=role][value=solo]").check()
        page.get_by_role("button", name="enter it").click()  # no day yet
        expect(page.get_by_role("alert").first).to_be_visible()
        page.goto(their.format(school.jan))
        expect(page.locator("[name=student] option:checked")).to_have_text("Jan Ruiz")
        expect(page.get_by_label("remarks")).to_have_value("")
        page.goto(their.format(school.nora))
        expect(page.get_by_label("remarks")).to_have_value("hers")
        page.get_by_label("or the day alone").fill("2026-05-03")
        page.get_by_label("flight time, h").fill("0.7")
        page.get_by_role("button", name="enter it").click()
        page.locator("[name=sure]").check()
        page.get_by_role("button", name="enter it").click()
        expect(page.get_by_text("The flight is entered.")).to_be_visible()
        page.goto(their.format(school.nora))
        expect(page.get_by_label("remarks")).to_have_value("")


def test_what_is_typed_outlives_a_session_that_ends_and_nobody_else_gets_it(chromium, address: str) -> None:
    with Watched.on(chromium, address, "Emmett Dray") as watched:
        page = watched.page
        page.goto("/flights/new")
        page.locator("[name=student]").select_option(label="Jan Ruiz")
        page.locator("[name=role][value=solo]").check()
        page.get_by_label("remarks").fill("gusts on final")
        page.context.clear_cookies()
        page.get_by_role("button", name="enter it").click()
        page.get_by_label("name").fill("Emmett Dray")
        page.get_by_label("password").fill(PASSWORDS["Emmett Dray"])
        page.get_by_role("button", name="log in").click()
        expect(page.get_by_text("As you had typed it here")).to_be_visible()
        expect(page.get_by_label("remarks")).to_have_value("gusts on final")
        page.get_by_role("button", name="log out").click()
        page.get_by_label("name").fill("Emmett Dray")
        page.get_by_label("password").fill(PASSWORDS["Emmett Dray"])
        page.get_by_role("button", name="log in").click()
        page.goto("/flights/new")
        expect(page.get_by_label("remarks")).to_have_value("")  # a log-out leaves nothing
