"""The flight on one screen, in real Chromium: one cursor for all, by mouse, keys and playing; offline as a file."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from output.test_card import needs_poppler, text_of
from web.browsing import CHROMIUM, REQUIRED, SETTLED, Watched, bring, changed, choose, faults, follow
from web.conftest import short_recording

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)

MOMENT = "() => Number(document.getElementById('moment').value)"
GO = "s => { const m = document.getElementById('moment'); m.value = s; m.dispatchEvent(new Event('input')); }"
IN_VIEW = """() => {
  const [at, view] = [".airplane", "#flight-map"].map((s) => document.querySelector(s).getBoundingClientRect());
  const x = at.x + 17, y = at.y + 17;
  return view.left <= x && x <= view.right && view.top <= y && y <= view.bottom;
}"""
SCREEN = """() => {  // where everything that shows the moment is
  const plots = [...document.querySelectorAll("#live .u-cursor-x")].map((e) => e.style.transform);
  return [document.querySelector(".strip .now").style.transform, document.querySelector(".airplane").style.transform,
    document.getElementById("panel").getAttribute("aria-label"), ...plots];
}"""


@pytest.fixture(scope="module")
def debriefed(server: str, chromium) -> str:
    return bring(chromium, server, short_recording(2850))


@pytest.fixture(scope="module")
def loaded(chromium, server: str, debriefed: str) -> Iterator[Watched]:
    """The debrief's page, its map drawn; loaded once, since every test begins where a fresh page does."""
    with Watched.on(chromium, server) as watched:
        watched.page.set_viewport_size({"width": 1280, "height": 800})
        watched.page.goto(debriefed)
        _drawn(watched.page)
        watched.begun = watched.page.evaluate(f"() => [document.getElementById('which').value, ({MOMENT})()]")
        yield watched


@pytest.fixture
def screen(loaded: Watched) -> Iterator[object]:
    """The page as it stood when it was loaded, by its own controls; nothing may go wrong on it."""
    page, (chosen, moment) = loaded.page, loaded.begun
    page.emulate_media(media="null")
    page.set_viewport_size({"width": 1280, "height": 800})
    page.uncheck("#loop")
    page.select_option("#rate", "5")
    page.select_option("#which", "-1")  # forgets what was laid beside, what is played and where the map was moved
    page.select_option("#which", chosen)
    page.evaluate(GO, moment)  # stops what plays
    page.evaluate("scrollTo(0, 0)")
    page.evaluate(SETTLED)
    yield page
    assert loaded.wrong == []


def _drawn(page) -> None:
    expect(page.locator(".screen.mapped")).to_be_visible()
    page.evaluate(SETTLED)


def test_everything_is_on_one_screen_without_scrolling(screen) -> None:
    for part in (".three", "#strip", "#flight-map", "#panel", "#live", "#chosen", "#play", "#key"):
        box = screen.locator(part).bounding_box()
        assert box is not None, part
        assert box["y"] >= 0, part
        assert box["y"] + box["height"] <= 800, part
        assert box["x"] + box["width"] <= 1280, part
    expect(screen.locator(".three dt").first).to_have_text("Went well")
    mark, one = screen.locator("#strip line.fix"), screen.locator(".three [data-go]")  # where the one thing to fix was
    share = float(one.get_attribute("data-go")) / float(screen.locator("#moment").get_attribute("max"))
    strip, at = screen.locator("#strip").bounding_box(), mark.bounding_box()
    assert abs(at["x"] + at["width"] / 2 - strip["x"] - share * strip["width"]) < 3
    expect(screen.locator("#live .plot").nth(2)).to_be_visible()


def test_one_cursor_moves_strip_map_gauges_and_plots(screen) -> None:
    screen.select_option("#which", "1")
    start = screen.evaluate(MOMENT)
    before = screen.evaluate(SCREEN)
    screen.evaluate(GO, start + 20)
    after = changed(screen, SCREEN, before)
    assert len(after) == len(before) >= 6
    over = screen.locator("#live .u-over").first.bounding_box()
    screen.mouse.move(over["x"] + over["width"] / 2, over["y"] + 20)
    moved = changed(screen, SCREEN, after)
    assert len(set(moved[3:])) == 1  # the plots' cursors stand under one another
    strip = screen.locator("#strip").bounding_box()
    screen.mouse.move(strip["x"] + 100, strip["y"] + 50)
    screen.mouse.down()
    screen.mouse.move(strip["x"] + strip["width"] / 4, strip["y"] + 50, steps=3)
    screen.mouse.up()
    screen.wait_for_function(f"() => Math.abs(({MOMENT})() / document.getElementById('moment').max - 0.25) < 0.005")


def test_each_plot_s_cursor_stands_where_the_moment_is_for_every_maneuver(screen) -> None:
    """Chosen from the list, at its beginning: no dot is left at the edge, no line is missing."""
    look = """() => { const now = Number(document.getElementById("moment").value);
      const { episodes } = JSON.parse(document.getElementById("flight-data").textContent);
      const e = episodes[Number(document.getElementById("which").value)];
      return [...document.querySelectorAll("#live .u-over")].map((o) => {
        const line = o.querySelector(".u-cursor-x"), at = new DOMMatrix(getComputedStyle(line).transform).m41;
        const from = Math.max(e.from, 0), share = (now - from) / (e.to - from);
        return getComputedStyle(line).display === "none" ? 99 : Math.abs(at / o.clientWidth - share); }); }"""
    for k in range(screen.locator("#which option").count() - 1):
        screen.select_option("#which", str(k))
        screen.evaluate(SETTLED)
        assert max(screen.evaluate(look)) < 0.03, k


def test_a_block_of_the_strip_is_chosen_by_clicking_it(screen) -> None:
    block = screen.locator("#strip g[data-k]:not(.chosen) rect").first
    number = block.evaluate("e => e.parentNode.dataset.k")
    box = block.bounding_box()
    screen.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    expect(screen.locator("#which")).to_have_value(number)
    expect(screen.locator("section.episode.shown")).to_have_attribute("data-episode", number)
    expect(screen.locator("section.episode:visible")).to_have_count(1)


def test_keys_move_the_moment_the_maneuver_and_play(screen) -> None:
    screen.select_option("#which", "1")
    screen.locator("#screen").focus()
    start = screen.evaluate(MOMENT)
    screen.keyboard.press("ArrowRight")
    screen.keyboard.press("ArrowRight")
    screen.keyboard.press("ArrowLeft")
    screen.wait_for_function(f"s => Math.abs(({MOMENT})() - s - 1) < 0.6", arg=start)
    screen.keyboard.press("ArrowDown")
    expect(screen.locator("#which")).not_to_have_value("1")
    screen.keyboard.press("ArrowUp")
    expect(screen.locator("#which")).to_have_value("1")
    screen.keyboard.press(" ")
    expect(screen.locator("#play")).to_have_attribute("aria-pressed", "true")
    screen.wait_for_function(f"s => ({MOMENT})() > s + 1", arg=start)
    screen.keyboard.press(" ")
    expect(screen.locator("#play")).to_have_attribute("aria-pressed", "false")
    stopped = screen.evaluate(MOMENT)
    for _ in range(3):  # frames in which it would go on
        screen.evaluate(SETTLED)
    assert screen.evaluate(MOMENT) == stopped


def test_one_maneuver_is_played_over_and_over(screen) -> None:
    """The shortest there is: it comes round soonest."""
    number, first, last = screen.evaluate("""() => {
      const { episodes } = JSON.parse(document.getElementById("flight-data").textContent);
      const long = (e) => Math.round(e.to - e.from), k = episodes.map(long).indexOf(Math.min(...episodes.map(long)));
      return [k, episodes[k].from, episodes[k].to]; }""")
    assert last - first > 10  # coming round is told from a step back
    screen.select_option("#which", str(number))
    screen.select_option("#rate", "20")
    screen.check("#loop")
    screen.evaluate("""() => { window.heard = [];
      document.addEventListener("airwork:now", (e) => window.heard.push(e.detail.now)); }""")
    screen.click("#one")
    screen.wait_for_function("() => heard.some((s, k) => k && s < heard[k - 1] - 5)")  # came round
    screen.click("#play")
    expect(screen.locator("#play")).to_have_attribute("aria-pressed", "false")
    heard = screen.evaluate("() => heard")
    assert min(heard) >= max(first, 0) - 0.6
    assert max(heard) <= last + 0.6


def test_the_map_keeps_the_airplane_in_view(screen) -> None:
    while "leaflet-disabled" not in screen.get_attribute(".leaflet-control-zoom-in", "class"):
        screen.click(".leaflet-control-zoom-in")
    for moment in (100, 700, 1100):
        screen.evaluate(GO, moment)
        screen.wait_for_function(IN_VIEW)


def test_an_attempt_is_laid_beside_the_one_before(screen) -> None:
    """The second clearing turn over the first, both from where they begin to roll."""
    options = screen.locator("#which option").all_text_contents()
    second = [k for k, words in enumerate(options) if "Clearing turn" in words][1] - 1
    screen.select_option("#which", str(second))
    expect(screen.locator("#beside")).to_be_visible()
    expect(screen.locator("#key")).not_to_contain_text("Clearing turn")
    ink = """() => [...document.querySelectorAll("#live canvas")].map((c) => c.getContext("2d")
      .getImageData(0, 0, c.width, c.height).data.reduce((n, v, k) => n + (k % 4 === 3 && v > 0), 0))"""
    screen.evaluate(SETTLED)
    alone = screen.evaluate(ink)
    screen.select_option("#other", "0")
    expect(screen.locator("#key")).to_contain_text("dots: 4, at")
    changed(screen, ink, alone)  # one more line in every plot
    screen.select_option("#other", "-1")
    screen.wait_for_function(f"alone => JSON.stringify(({ink})()) === JSON.stringify(alone)", arg=alone)


def test_a_sentence_says_what_got_better_what_worse_and_what_is_left(screen) -> None:
    """Three criteria typed here, an earlier attempt and this one: out and now held, held and now out, out in both."""
    tell = """([then, now]) => {
      const data = JSON.parse(document.getElementById("flight-data").textContent);
      const k = data.episodes.findIndex((e) => e.kind === "climb");
      const one = { ...data.episodes[k], judged: now }, before = { ...one, start: one.start - 1, judged: then };
      const told = { ...data, episodes: [before, one] };
      document.dispatchEvent(new CustomEvent("airwork:chosen", { detail: { chosen: 1, data: told } }));
      document.getElementById("other").value = "0";
      document.getElementById("other").dispatchEvent(new Event("change"));
      return document.getElementById("better").textContent;
    }"""
    held, brief, out = "held", "briefly out and corrected", "not held"
    then = [["altitude", "−363 ft", 3.63, out], ["airspeed", "+4 kt", 0.4, held], ["bank", "+12°", 2.4, out]]
    now = [["altitude", "−39 ft", 0.39, held], ["airspeed", "+14 kt", 1.4, brief], ["bank", "+11°", 2.2, out]]
    said = "Better: altitude −363 ft → −39 ft. Worse: airspeed +4 kt → +14 kt. Now the thing: bank +11°."
    assert screen.evaluate(tell, [then, now]) == said
    expect(screen.locator("#better")).to_be_visible()
    less = [["bank", "+6°", 1.2, out]]
    assert screen.evaluate(tell, [then, less]) == "Better: bank +12° → +6°. Still the thing: bank."
    assert screen.evaluate(tell, [then, [then[1]]]) == "No better and no worse in what was judged."
    assert screen.evaluate(tell, [then, [["heading", "+1°", 0.1, held]]]) == ""  # nothing to lay beside


def test_an_earlier_attempt_has_its_own_strip_map_and_gauges_from_the_roll_in(screen) -> None:
    """Clearing turn 6 beside 4: at the roll-in of the one the other's gauges are at its own; both move on together."""
    turns = [
        k for k, words in enumerate(screen.locator("#which option").all_text_contents()) if "Clearing turn" in words
    ]
    expect(screen.locator("#panel-2")).to_be_hidden()
    screen.select_option("#which", str(turns[1] - 1))
    screen.select_option("#other", "0")
    expect(screen.locator("#map-2 .airplane")).to_be_visible()
    for part in ("#lanes", "#map-2", "#panel-2", "#flight-map", "#panel", "#live", "#key"):
        box = screen.locator(part).bounding_box()
        assert box["y"] + box["height"] <= 800, part
        assert box["x"] + box["width"] <= 1280, part
    here = """(k) => { const { series, episodes } = JSON.parse(document.getElementById("flight-data").textContent);
      const e = episodes[k], n = airworkPlots.index(series.t, e.roll);
      return [e.roll, Math.round(series.heading[n]), Math.round(series.altitude[n])]; }"""
    roll, *_ = screen.evaluate(here, turns[1] - 1)
    earlier, heading, altitude = screen.evaluate(here, turns[0] - 1)
    screen.evaluate(GO, roll)
    expect(screen.locator("#since")).to_have_text(re.compile("[+−]0 s"))
    told = screen.get_attribute("#panel-2", "aria-label")
    assert abs(int(re.search(r"heading (\d+)", told)[1]) - ((heading - 1) % 360 + 1)) <= 1
    assert abs(int(re.search(r"altitude ([\d,]+)", told)[1].replace(",", "")) - altitude) <= 3
    assert re.search(r"flaps up, [01]\.\d g, power \d+ %", told), told
    needle, line = (
        screen.evaluate("""() => [document.querySelector(".lanes i"), document.querySelector("#lane-1 .roll")]
      .map((e) => e.getBoundingClientRect().x)""")
    )
    assert abs(needle - line) < 3
    screen.evaluate(GO, roll + 10)
    expect(screen.locator("#since")).to_have_text("+10 s")
    assert screen.get_attribute("#panel-2", "aria-label") != told
    screen.select_option("#other", "-1")
    expect(screen.locator("#panel-2")).to_be_hidden()
    assert earlier < roll


def test_a_turn_the_other_way_is_said_to_be_mirrored(screen) -> None:
    """The same clearing turns with every bank changed over, and as they were flown."""
    lay = """(sign) => {
      const { series, episodes } = JSON.parse(document.getElementById("flight-data").textContent);
      const k = Number(document.getElementById("which").value), e = episodes[k];
      const cut = (name) => airworkPlots.slice(series, name, e.start, e.start + (e.end - e.start) / 2)[1];
      const one = { t: cut("t"), bank: cut("bank").map((b) => sign * b), heading: cut("heading") };
      document.dispatchEvent(new CustomEvent("airwork:earlier", { detail: { series: one, roll: e.roll, words: "w" } }));
      return document.getElementById("key").textContent;
    }"""
    options = screen.locator("#which option").all_text_contents()
    screen.select_option("#which", str(next(k for k, words in enumerate(options) if "Slow flight" in words) - 1))
    said = [screen.evaluate(lay, sign) for sign in (1, -1)]
    assert ["mirrored" in words for words in said].count(True) == 1


def test_the_horizon_leans_as_the_pilot_sees_it(screen) -> None:
    """Banked to the left, the ground rises on the left; the nose up, there is more sky."""
    seen = """(wanted) => {  // share of sky in the panel's left and right sixth, at the first such moment
      const { series } = JSON.parse(document.getElementById("flight-data").textContent);
      const k = series.bank.findIndex((b, n) => wanted(b, series.pitch[n]));
      const m = document.getElementById("moment"), c = document.getElementById("panel");
      m.value = series.t[k]; m.dispatchEvent(new Event("input"));
      const paint = document.createElement("canvas").getContext("2d");
      paint.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--sky");
      paint.fillRect(0, 0, 1, 1);
      const [r, g, b] = paint.getImageData(0, 0, 1, 1).data;
      const share = (x) => {
        const data = c.getContext("2d").getImageData(x, 20, 20, 120).data;
        let n = 0;
        for (let i = 0; i < data.length; i += 4) n += data[i] === r && data[i + 1] === g && data[i + 2] === b;
        return n / (data.length / 4);
      };
      return [share(15), share(c.width - 35)];
    }"""
    left, right = screen.evaluate(f"({seen})((b, p) => b < -20)")
    assert left < right - 0.3
    left, right = screen.evaluate(f"({seen})((b, p) => b > 20)")
    assert right < left - 0.3
    up = sum(screen.evaluate(f"({seen})((b, p) => Math.abs(b) < 2 && p > 8)"))
    down = sum(screen.evaluate(f"({seen})((b, p) => Math.abs(b) < 2 && p < 0)"))
    assert up > down + 0.2


def _slipped_and_warned() -> bytes:
    """The recording with a slip to each side and a stall warning written into it, a row each half second."""
    head, *rows = short_recording(1200).decode().splitlines()
    ball, warning = (head.split(",").index(name) for name in ("Lateral Acceleration (g)", "Stall Warning"))
    written = {ball: {800: "0.12", 900: "-0.12"}, warning: {1000: "1"}}
    out = []
    for n, row in enumerate(rows):
        cells = row.split(",")
        for column, at in written.items():
            cells[column] = next((v for start, v in at.items() if start <= n < start + 60), "0")
        out.append(",".join(cells))
    return "\n".join([head, *out]).encode()


DRAWN = """(s) => {  // words on the panel, and how far right of its middle the ball lies
  const pen = CanvasRenderingContext2D.prototype, { fillText, arc } = pen, words = [], balls = [];
  pen.fillText = function (w, ...at) { words.push(w); return fillText.call(this, w, ...at); };
  pen.arc = function (x, y, r, ...more) {
    if (r === 7) balls.push(x - this.canvas.clientWidth / 2);
    return arc.call(this, x, y, r, ...more);
  };
  const m = document.getElementById("moment");
  m.value = s; m.dispatchEvent(new Event("input"));
  Object.assign(pen, { fillText, arc });
  return [words, balls];
}"""


def test_ball_stall_warning_and_wind_are_drawn_as_they_were_recorded(watched: Watched) -> None:
    """Pushed to the right the ball lies left; the warning stands while it sounds; the arrow points downwind."""
    page = watched.page
    page.goto("/debriefs")
    choose(page, _slipped_and_warned())
    _drawn(page)
    balls = [page.evaluate(DRAWN, row / 2)[1] for row in (700, 830, 930)]
    assert [len(b) for b in balls] == [1, 1, 1]
    assert abs(balls[0][0]) < 2
    assert balls[1][0] < -12
    assert balls[2][0] > 12
    told = []
    for row in (980, 1030, 1080):
        words, _ = page.evaluate(DRAWN, row / 2)
        told.append("STALL WARNING" in words)
        assert ("stall warning" in page.get_attribute("#panel", "aria-label")) is told[-1]
    assert told == [False, True, False]
    expect(page.locator("#wind")).to_be_visible()
    away, blows = map(int, re.fullmatch(r"(\d{3})/(\d+) kt now", page.locator("#wind span").inner_text()).groups())
    turned = page.evaluate("parseFloat(document.querySelector('#wind svg').style.transform.slice(7))")
    assert abs((turned - away) % 360 - 180) < 1
    headline = re.search(r"wind (\d{3})/(\d+) kt", page.locator("main").inner_text())
    assert abs((away - int(headline[1]) + 180) % 360 - 180) < 40
    assert abs(blows - int(headline[2])) < 12


def test_the_airplane_on_the_map_points_where_it_heads(screen) -> None:
    screen.evaluate(GO, 700)
    heading = int(re.search(r"heading (\d+)", screen.get_attribute("#panel", "aria-label"))[1])
    turned = screen.evaluate("parseFloat(document.querySelector('.airplane svg').style.transform.slice(7))")
    assert abs((turned - heading + 180) % 360 - 180) < 1.5


def test_the_gauges_speak_the_dial_s_unit(screen) -> None:
    assert re.search(r"speed \d+ mph", screen.get_attribute("#panel", "aria-label"))
    assert any("mph" in t for t in screen.locator("#live h3").all_text_contents())


def test_the_shared_file_has_the_same_screen_without_a_network(
    chromium, screen, debriefed: str, tmp_path: Path
) -> None:
    file = tmp_path / "shared.html"
    file.write_bytes(screen.request.get(f"{debriefed}/report.html").body())
    context = chromium.new_context(viewport={"width": 1280, "height": 800}, offline=True)
    with_errors = Watched(context.new_page())
    page = with_errors.page
    page.goto(file.as_uri())
    _drawn(page)
    for part in (".three", "#strip", "#flight-map", "#panel", "#live"):
        box = page.locator(part).bounding_box()
        assert box["y"] + box["height"] <= 800, part
    page.select_option("#which", "1")
    before = page.evaluate(SCREEN)
    page.locator("#screen").focus()
    page.keyboard.press("Shift+ArrowRight")
    changed(page, SCREEN, before)
    turns = [k for k, words in enumerate(page.locator("#which option").all_text_contents()) if "Clearing turn" in words]
    page.select_option("#which", str(turns[1] - 1))
    page.select_option("#other", "0")  # the earlier one of the same flight, beside it with a map and gauges of its own
    expect(page.locator("#map-2 .airplane")).to_be_visible()
    expect(page.locator("#panel-2")).to_have_attribute("aria-label", re.compile("earlier attempt: bank .*flaps up"))
    expect(page.locator("#key")).to_contain_text("from the same altitude")
    assert with_errors.wrong == []
    assert [a for a in with_errors.asked if not a.startswith(("file:", "data:", "blob:"))] == []
    context.close()


def test_the_page_prints_every_maneuver_with_its_plots_and_nothing_cut(watched: Watched, debriefed: str) -> None:
    """On a page of its own, on which nothing was looked at before: printing alone draws what is further down."""
    screen = watched.page
    screen.goto(debriefed)
    _drawn(screen)
    screen.emulate_media(media="print")
    screen.set_viewport_size({"width": 718, "height": 1000})  # A4 less its margins
    screen.evaluate("dispatchEvent(new Event('beforeprint'))")
    screen.evaluate(SETTLED)
    expect(screen.locator("section.episode:visible")).to_have_count(screen.locator("section.episode").count())
    expect(screen.locator("section.episode:not(.plain) .plots canvas:visible").nth(3)).to_be_visible()
    assert screen.evaluate("document.documentElement.scrollWidth") <= 718
    wide = screen.evaluate("""() => [...document.querySelectorAll("main *")]
      .filter((e) => e.getBoundingClientRect().right > 719 && !e.closest(".sight, .uplot, svg, .sr"))
      .map((e) => e.className || e.tagName)""")
    assert wide == []


@needs_poppler
def test_the_page_s_own_print_holds_the_strip_and_every_maneuver(screen, tmp_path: Path) -> None:
    """As the browser prints it on A4 and Letter: the strip down to its minutes, the heading of each maneuver."""
    names = screen.locator("section.episode > h2").all_text_contents()
    for paper in ("A4", "Letter"):
        printed = text_of(screen.pdf(format=paper), tmp_path)
        flat = " ".join(printed.split())
        assert [name for name in names if name not in flat] == [], paper
        assert re.search(r"\d min \d+ min", flat), paper  # the lowest line of the strip
        assert re.search("said first|main error|to polish|pattern|not judged|Nothing stood out", flat), paper


def test_a_lesson_is_flown_in_the_chair_and_asks_what_comes_next(watched: Watched) -> None:
    """On a screen, then on a phone; the link to it is reached on both."""
    page = watched.page
    page.goto("/")
    link = page.get_by_role("link", name="rehearse it in a chair")
    page.set_viewport_size({"width": 1280, "height": 844})
    link.click(trial=True)
    page.set_viewport_size({"width": 390, "height": 844})
    follow(link)
    _drawn(page)
    _flown_in_the_chair(page, 390)
    page.set_viewport_size({"width": 1280, "height": 844})
    page.reload()
    _drawn(page)
    _flown_in_the_chair(page, 1280)
    assert faults(page) == []


def _flown_in_the_chair(page, width: int) -> None:
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    step = page.locator("#step")
    expect(step).to_have_text(re.compile("^step 1 of"))
    first = step.text_content()
    page.evaluate("""() => { window.spoken = []; speechSynthesis.speak = (u) => window.spoken.push(u.text); }""")
    page.select_option("#rate", "60")
    page.click("#play")
    expect(page.locator("#answer")).to_be_visible()
    expect(step).to_contain_text("What next?")
    expect(page.locator("#play")).to_have_attribute("aria-pressed", "false")  # it waits
    stood = page.evaluate(MOMENT)
    page.click("#play")  # answers too, and skips nothing
    expect(step).not_to_contain_text("What next?")
    expect(page.locator("#key")).to_contain_text("the ideal")
    expect(step).not_to_have_text(first)
    expect(step).to_have_text(re.compile("^step 2 of"))
    assert page.evaluate("spoken") == []  # silent until asked to speak
    page.check("#aloud")
    page.uncheck("#ask")
    page.click("#go-on")
    expect(page.locator("#go-on")).to_be_visible()
    expect(step).to_have_text(re.compile("^step 3 of"))
    assert page.evaluate("spoken.length") == 1
    expect(step).to_contain_text(page.evaluate("spoken[0]"))
    assert page.evaluate(MOMENT) > stood
    page.uncheck("#pause")
    page.select_option("#rate", "0.25")
    slow = """async () => {  // seconds of flight in each second of playing, by the stamps of the frames it is drawn in
      let now = 0;
      document.addEventListener("airwork:now", (e) => { now = e.detail.now; });
      document.getElementById("go-on").click();
      const heard = await new Promise((done) => {
        const all = [], frame = (stamp) => { all.push([stamp / 1000, now]); if (all.length < 20) requestAnimationFrame(frame); else done(all); };
        requestAnimationFrame(frame);
      });
      document.getElementById("play").click();
      const [first, last] = [heard[2], heard[heard.length - 1]];
      return (last[1] - first[1]) / (last[0] - first[0]);
    }"""  # noqa: E501
    assert page.evaluate(slow) == pytest.approx(0.25, rel=0.02)
    said = """() => {  // each step's words with how long before its moment they begin, the flight going on
      const { episodes } = JSON.parse(document.getElementById("flight-data").textContent), e = episodes[0], out = [];
      document.getElementById("rate").value = "1";
      speechSynthesis.speak = (u) => out.push([u.text, now]);
      let now = e.start;
      for (; now <= e.end; now += .25) document.dispatchEvent(new CustomEvent("airwork:now", { detail: { now, playing: true } }));
      return out.map(([words, at]) => [words, e.steps.find((s) => s[1] === words)[0] - at, e.steps.findIndex((s) => s[1] === words)]);
    }"""  # noqa: E501
    page.evaluate("document.dispatchEvent(new CustomEvent('airwork:now', { detail: { now: 0, playing: false } }))")
    heard = page.evaluate(said)
    assert len(heard) >= 3
    assert all(early >= -0.3 for _, early, _ in heard)  # never after it is done
    long = [early for words, early, _ in heard if len(words.split()) >= 12]
    assert long
    assert max(long) > 1.5  # twelve words take longer than the two seconds a step stands before what it tells
