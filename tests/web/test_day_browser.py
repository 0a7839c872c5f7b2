"""A day planned on the page in real Chromium: a new lesson, area pointed, exercises dragged, what if it is hotter."""

from __future__ import annotations

import pytest

from web.browsing import CHROMIUM, REQUIRED, Watched

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)
FLOWN = "#numbers tbody tr td:nth-child(2)"


def _exercises(page) -> list[str]:
    return page.locator("fieldset.exercise").evaluate_all("all => all.map(f => f.dataset.row)")


def test_an_exercise_dragged_onto_another_takes_its_place(watched: Watched) -> None:
    page = watched.page
    page.goto("/?lesson=stalls_over_the_lake")
    before = page.locator(FLOWN).all_text_contents()
    page.locator(".grip").nth(3).scroll_into_view_if_needed()
    grip, onto = page.locator(".grip").nth(3).bounding_box(), page.locator("fieldset.exercise").nth(2).bounding_box()
    page.mouse.move(grip["x"] + 5, grip["y"] + 5)
    page.mouse.down()
    page.mouse.move(onto["x"] + 40, onto["y"] + 60, steps=6)
    page.mouse.up()
    page.wait_for_function("() => location.search.includes('exercises=0%2C1%2C3')")
    assert _exercises(page)[2:4] == ["exercises/3", "exercises/2"]
    assert page.locator(FLOWN).nth(2).text_content() == before[3]


def test_a_slider_says_what_would_come_out_otherwise_and_changes_nothing(watched: Watched) -> None:
    page = watched.page
    page.goto("/?lesson=stalls_over_the_lake")
    tiles = page.locator("#numbers .tiles").text_content()
    page.get_by_text("What if: hotter").click()
    page.locator("input[name='new/if/temperature']").fill("10")
    page.wait_for_selector("#what-if-shown tbody tr")
    row = page.locator("#what-if-shown tr", has_text="density altitude")
    was, then = (int(row.locator("td").nth(k).text_content().split()[0].replace(",", "")) for k in (0, 1))
    assert 900 < then - was < 1500  # about 120 ft for each degree: common rule of thumb
    assert page.locator("#numbers .tiles").text_content() == tiles
    assert "if" not in page.evaluate("location.search")
    page.get_by_role("button", name="as it is").click()
    page.wait_for_selector("#what-if-shown p.soft")


def test_the_area_is_pointed_on_the_map_and_judged_at_once(watched: Watched) -> None:
    page = watched.page
    page.goto("/?lesson=stalls_over_the_lake")
    text = page.locator("[name='area/polygon']").input_value()
    page.get_by_role("button", name="draw the area").click()
    assert page.locator(".handle.corner").count() == 4
    corner = page.locator(".handle.corner").first
    corner.focus()
    corner.press("ArrowRight")
    page.wait_for_function("() => location.search.includes('area%2Fpolygon')")
    moved = page.locator("[name='area/polygon']").input_value()
    assert moved.split(";")[1:] != text.split(";")[1:] or moved != text
    assert moved.split(";")[0].split() == ["41.2600", "-101.9490"]
    page.locator(".handle.corner").nth(1).press("Delete")
    page.wait_for_function("() => document.querySelector(\"[name='area/polygon']\").value.split(';').length === 3")
    page.get_by_role("button", name="area done").click()
    page.get_by_role("button", name="add landing places").click()
    box = page.locator("#path-map").bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.55, box["y"] + box["height"] * 0.5)
    page.wait_for_function(
        "() => document.forms[1] && [...document.querySelectorAll('textarea')].at(-1).value.includes('field 4: 41')"
    )
    page.wait_for_selector("#numbers > .verdict")
    page.get_by_role("button", name="places done").click()
    page.get_by_role("button", name="glide reach").click()
    page.locator("#map-tools select").select_option(index=0)
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + box["height"] * 0.5)
    said = page.locator("#map-tools [role=status]").text_content()
    assert "NM from KOGA" in said
    assert "in reach from" in said


def test_a_report_pasted_into_the_other_field_goes_where_it_belongs(watched: Watched) -> None:
    page = watched.page
    page.goto("/?lesson=stalls_over_the_lake")
    page.evaluate(
        "() => { const field = document.querySelector(\"[name='weather/metar']\"), data = new DataTransfer();"
        " data.setData('text', 'TAF KOGA 201130Z 2012/2112 18030G45KT 1SM TSRA OVC005');"
        " field.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true })); }"
    )
    page.wait_for_selector("#numbers .verdict.no-go")
    assert page.locator("[name='weather/taf']").input_value().startswith("TAF KOGA 201130Z 2012/2112 180")
    assert page.locator("[name='weather/metar']").input_value().startswith("METAR")


def test_a_new_lesson_from_the_last_one_asks_for_todays_fuel_and_weather(watched: Watched) -> None:
    page = watched.page
    page.goto("/")
    page.get_by_role("link", name="new lesson", exact=True).click()
    page.get_by_label("engine start").fill("10:15")
    page.get_by_role("button", name="write the lesson").click()
    page.wait_for_selector(".done")
    assert page.locator("[name='weather/metar']").input_value() == ""
    assert page.locator("[name='people/0/weight']").input_value() == "148 lb"
    assert page.locator(".said.here").count() == 2  # both tanks, each beside its field
    page.fill("[name='fuel/left wing']", "18")
    page.fill("[name='fuel/right wing']", "18")
    page.wait_for_selector("#numbers > .verdict")
    assert page.locator("#map-tools").is_visible()
    page.get_by_role("button", name="write these values").click()
    page.wait_for_selector(".done")
    page.goto("/")  # opens on today's lesson
    assert page.locator("[name='time']").input_value() == "10:15"
    assert page.locator(".ask").count() == 0
    page.goto("/?lesson=stalls_over_the_lake")
    assert "days ago" in page.locator(".ask").text_content()


def test_an_airplane_is_begun_from_its_book_left_and_gone_on_with(watched: Watched) -> None:
    page = watched.page
    page.goto("/airplanes")
    page.get_by_role("link", name="new airplane").click()
    page.get_by_label("What people call it").fill("Testbird 160")
    page.get_by_role("button", name="begin").click()
    page.wait_for_selector("#page-of-book")  # the script is there
    page.get_by_label("Unit on the airspeed indicator").fill("mhp")
    page.wait_for_selector(".said:has-text('choose kt, mph or km/h')")  # checked as it is typed
    page.get_by_label("Unit on the airspeed indicator").fill("mph")
    page.wait_for_selector(".said", state="detached")
    page.goto("/airplanes/new")  # nothing was saved by hand
    page.get_by_role("link", name="go on with Testbird 160").click()
    page.locator(".parts nav a").first.click()
    assert page.get_by_label("Unit on the airspeed indicator").input_value() == "mph"
    page.locator(".parts nav a:has-text('Fuel')").first.click()
    tank = page.locator("[name='tanks/0/name']")
    tank.fill("left")
    tank.press("Enter")
    assert page.locator("[name^='tanks/'][name$='/name']").count() == 2
    page.get_by_role("button", name="next:").click()
    page.wait_for_selector(".said")  # a tank without its usable fuel stays here, with the words
