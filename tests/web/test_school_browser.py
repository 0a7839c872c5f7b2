"""A school's server in real Chromium: people log in, give marks inside a maneuver's own section, share a PDF."""

from __future__ import annotations

import re
import time

import pytest
from playwright.sync_api import expect

from airwork.logbook import seal
from airwork.logbook.people import person_by_id
from web.browsing import CHROMIUM, REQUIRED, Watched, follow
from web.conftest import build_school

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)


@pytest.fixture(scope="module")
def school(tmp_path_factory):
    """A school of its own: these tests give it an airplane, flights and marks."""
    return build_school(tmp_path_factory.mktemp("school_browser"))


def _shown(section) -> str:
    """The section's number, once it is chosen: the screen shows one maneuver at a time."""
    number = section.get_attribute("id")
    expect(section.page.locator("#screen.on")).to_be_visible()
    section.page.locator("#which").select_option(str(int(number.removeprefix("m")) - 1))
    expect(section).to_be_visible()
    return number


def test_teacher_and_student_mark_a_maneuver_in_its_own_section(chromium, address: str, school) -> None:
    """Both marks and both remarks stand in the section; the student has no tool to correct."""
    at = f"/debriefs/{school.debriefs['jan']}"
    with Watched.on(chromium, address, "Emmett Dray") as teacher:
        page = teacher.page
        page.goto(at)
        section = page.locator("section.episode").nth(1)
        number = _shown(section)
        section.get_by_label("mark of maneuver").select_option("practice")
        section.get_by_placeholder("remark").fill("power first, then the nose")
        follow(section.get_by_role("button", name="the mark"))
        assert page.url.endswith(f"{at}#{number}")
        given = page.locator(f"#{number} .given")
        expect(given.first).to_contain_text("practice, “power first, then the nose”")
        assert page.locator("section.episode").count() == page.locator("section.episode .right").count()
    with Watched.on(chromium, address, "Jan Ruiz") as student:
        page = student.page
        page.goto(f"{at}#{number}")
        section = page.locator(f"#{number}")
        section.get_by_label("mark of maneuver").select_option("perform")
        section.get_by_placeholder("remark").fill("felt late")
        follow(section.get_by_role("button", name="the mark"))
        assert page.url.endswith(f"{at}#{number}")
        given = page.locator(f"#{number} .given")
        expect(given).to_have_text(
            [re.compile("instructor"), re.compile("student.*felt late|felt late.*student", re.S)]
        )
        expect(page.locator(".right")).to_have_count(0)
        with page.expect_download() as download:
            page.get_by_role("link", name="save as PDF").click()
        assert download.value.path().read_bytes().startswith(b"%PDF-")


def test_a_kind_is_put_right_in_its_section_and_graded_anew(chromium, address: str, school) -> None:
    at = f"/debriefs/{school.debriefs['nora']}"
    with Watched.on(chromium, address, "Emmett Dray") as watched:
        page = watched.page
        page.goto(at)
        sections = page.locator("section.episode")
        before = sections.count()
        slow = page.locator("section.episode:has(h2:text('Takeoff'))").first
        _shown(slow)
        slow.locator(".right summary").click()
        slow.locator("select[name=kind]").select_option("chandelle")  # nothing there looks like one
        follow(slow.get_by_role("button", name="grade anew", exact=True))
        expect(slow.get_by_role("alert")).to_be_in_viewport()  # beside the form, which keeps what was chosen
        expect(slow.locator("select[name=kind]")).to_have_value("chandelle")
        expect(slow.locator("select[name=kind]")).to_be_visible()
        follow(slow.get_by_role("button", name="enter it all the same, as I say, ungraded"))
        said = page.locator("section.episode:has(h2:text('Chandelle'))")
        expect(said).to_contain_text("entered as said, not graded (Emmett Dray)")
        expect(said).not_to_contain_text("clearing turn before it")
        expect(said).not_to_contain_text("names no tolerance")
        follow(page.get_by_role("button", name="take back 1 correction"))
        expect(page.get_by_role("button", name="take back 1 correction")).to_have_count(0)
        expect(sections).to_have_count(before)


def test_an_entry_is_made_put_right_taken_back_and_signed_on_the_page(chromium, address: str, school) -> None:
    """By who gave the training: the undone one is gone, the signed one stays and says that it is verified."""
    with Watched.on(chromium, address, "Emmett Dray") as watched:
        page = watched.page

        page.goto(f"/flights/new?student={school.jan}")
        page.get_by_label("dual: training received").check()
        page.get_by_label("start, local").fill("2026-03-03 09:00")
        page.get_by_label("end, local").fill("10:12")
        page.get_by_label("landings").fill("3 full-stop")
        follow(page.get_by_role("button", name="enter it"))
        expect(page.locator(".problem")).to_contain_text("which one was it?")  # the school has no airplane on record
        page.get_by_label("It was flown all the same").check()
        follow(page.get_by_role("button", name="enter it"))
        expect(page.locator(".done")).to_contain_text("The flight is entered.")
        follow(page.get_by_role("link", name="correct this entry"))
        page.get_by_label("flight time, h").fill("1.1")
        follow(page.get_by_role("button", name="put it right"))
        expect(page.locator(".tiles div", has_text="total, h").locator("dd")).to_have_text("1.1")
        page.get_by_text("remove this entry").first.click()
        follow(page.get_by_role("button", name="remove it"))
        expect(page.locator("h1")).to_have_text("Jan Ruiz")
        expect(page.get_by_role("link", name="2026-03-03")).to_have_count(0)
        with school.app.state.store.change() as connection:
            emmett = person_by_id(connection, school.emmett)
            seal.make_key(connection, emmett, "over the lake at dawn", now_utc_s=time.time())
        page.goto(f"/flights/{school.flights['jan']}")
        expect(page.get_by_text("remove this entry").first).to_be_attached()
        page.get_by_text("sign this flight").click()
        page.get_by_label("password of Emmett Dray").fill("not this one")
        follow(page.get_by_role("button", name="sign", exact=True))
        expect(page.locator(".problem")).to_be_visible()
        page.get_by_label("password of Emmett Dray").fill("over the lake at dawn")
        follow(page.get_by_role("button", name="sign", exact=True))
        expect(page.get_by_text("the signature is verified")).to_be_visible()
        expect(page.get_by_text("remove this entry")).to_have_count(0)


def test_a_recording_dropped_anywhere_fills_the_field_and_asks_whose_it_is(chromium, address: str, school) -> None:
    """Sent at once where the student is chosen already (test_browser drops one where there are no students)."""
    drop = """() => {
      const carried = new DataTransfer();
      carried.items.add(new File(["t,x"], "dropped.csv", { type: "text/csv" }));
      const event = { dataTransfer: carried, bubbles: true, cancelable: true };
      for (const kind of ["dragover", "drop"]) document.querySelector("h1").dispatchEvent(new DragEvent(kind, event));
    }"""
    with Watched.on(chromium, address, "Emmett Dray") as watched:
        page = watched.page
        page.goto("/debriefs")
        page.evaluate(drop)
        expect(page.locator("#said")).to_have_text("Whose flight? Choose, then “debrief”.")
        expect(page.locator("select[name=student]")).to_be_focused()
        assert page.evaluate("document.getElementById('recording').files[0].name") == "dropped.csv"
        assert page.url.endswith("/debriefs")
        page.select_option("select[name=student]", school.jan)
        page.evaluate(drop)
        expect(page.locator(".problem")).to_contain_text("dropped.csv")  # sent, and no recording
