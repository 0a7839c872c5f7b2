"""A real server and a real Chromium for the tests of the pages."""

from __future__ import annotations

import os
import re
import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import expect

from airwork.web.settings import Settings
from web.conftest import PASSWORDS, new_app

# The shell draws pages as the whole browser does and has no window of its own to keep: half the processor time.
BROWSERS = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
CHROMIUM = next(filter(None, map(shutil.which, BROWSERS)), None)
WAIT_MS = 90_000.0  # what is waited for comes in a second; on a machine with much else to do, later
expect.set_options(timeout=WAIT_MS)
REQUIRED = bool(os.environ.get("AIRWORK_REQUIRE_ALL"))
AXE = Path(__file__).parents[2] / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SIZE = {"width": 1280, "height": 900}
COLORS = ["color-contrast", "link-in-text-block"]  # four fifths of the time of all
LAID_OUT = ["target-size", "scrollable-region-focusable"]  # of the others those that read sizes and places
# Each rule on a screen and on a phone; the colors in both schemes, and what runs over the edge between them too. From
# one to the next one thing alone is another: each is drawn anew.
VIEWS = ((1280, "light"), (1280, "dark"), (820, "dark"), (390, "dark"), (390, "light"))
REFUSED = re.compile(r"status of 4(09|22)\b")  # an answer in words, no fault
# Not loaded before: styles and sounds are what no rule asked for here reads. What stands more than three times among
# its neighbors (the rows of a table, the points of a list) is looked at in the first two and the last. Colors are
# looked at once for each text color, size and weight on each pile of backgrounds that no page of the run has shown in
# this scheme before.
SEEN: dict[str, list[str]] = {}
LOOK = """async ([rules, colors, laidOut, width, scheme, before]) => {
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));  // its size has been heard of
  const shapes = new Map(), piles = new Map();
  const worded = (e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
  const shape = (e) => {
    const said = [...e.attributes].map((a) => a.name +
      (["class", "role", "type", "style", "scope"].includes(a.name) ? `=${a.value}` : "")).sort();
    const own = `<${e.localName} ${said} ${worded(e)}${[...e.children].map(shape).join("")}>`;
    shapes.set(e, own);
    return own;
  };
  const repeated = (e) => {  // a row keeps its cells, each under its header, and a list what is chosen of it
    if (e.matches("tr, select")) return [];
    const over = new Set([...Map.groupBy(e.children, (c) => shapes.get(c)).values()].flatMap((s) => s.slice(2, -1)));
    return [...e.children].flatMap((c) => over.has(c) ? [c] : repeated(c));
  };
  const fresh = (e) => {
    const s = getComputedStyle(e), above = e.parentElement, [pile, around] = piles.get(above) ?? ["", ""];
    const here = `${pile}|${s.backgroundColor} ${s.backgroundImage} ${s.opacity}`;
    piles.set(e, [here, s.color]);
    const look = [e.localName, s.color, s.fontSize, s.fontWeight, s.textDecorationLine, around, here].join();
    const shows = e.checkVisibility({ visibilityProperty: true });
    return shows && (e.matches("input, select, textarea") || worded(e)) && !seen.has(look) && seen.add(look);
  };
  const wide = document.documentElement.scrollWidth > width;
  shape(document.body);
  const out = repeated(document.body).map((e) => [e, e.parentNode, e.nextSibling]);
  for (const [e] of out) e.remove();
  const found = async (where, wanted) =>
    (await axe.run(where, { runOnly: wanted, resultTypes: ["violations"], preload: false })).violations.map(
      (v) => `${v.id}: ${v.nodes[0].html}`);
  const seen = new Set(before);
  try {
    const all = [...document.querySelectorAll("body, body *")], others = all.filter(fresh);
    const shown = all.map((e) => +e.checkVisibility({ visibilityProperty: true })).join("");
    if (window.shown === shown) rules = rules.filter((r) => laidOut.includes(r));
    else if (rules.length) window.shown = shown;
    return [[...(rules.length ? await found(document, rules) : []),
      ...(others.length ? await found(others, colors) : []), ...(wide ? ["runs over the edge"] : [])], [...seen]];
  } finally {
    for (const [e, parent, next] of out.reverse()) parent.insertBefore(e, next);
  }
}"""


@contextmanager
def serving(settings: Settings, app: Any = None) -> Iterator[str]:
    """The address of a server that listens for real; `app` in place of a new one for the settings."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen(16)
        running = uvicorn.Server(uvicorn.Config(app or new_app(settings), log_level="error"))
        thread = threading.Thread(target=running.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        running.should_exit = True
        thread.join(WAIT_MS / 1000.0)


@contextmanager
def opened(chromium: Any, server: str, *, as_: str = "", **more: Any) -> Iterator[Any]:
    """A page of a browser kept from test to test: scripts and styles are there, nothing else is.

    as_ : one of the school's people, who has logged in.
    What a page keeps for the cockpit has a test, and a browser, of its own.
    """
    key = (server, as_, repr(sorted(more.items())))
    if key not in chromium.kept:
        chromium.kept[key] = chromium.new_context(base_url=server, service_workers="block", **more)
        if as_:
            _let_in(chromium.kept[key].request, server, as_)
    context = chromium.kept[key]
    page = context.new_page()
    page.asked_for = asked_for = set()  # and not there yet
    page.on("request", lambda one: asked_for.add(one))
    for ended in ("requestfinished", "requestfailed"):
        page.on(ended, lambda one: asked_for.discard(one))
    yield page
    forget = context.new_cdp_session(page)
    forget.send("Storage.clearDataForOrigin", {"origin": server, "storageTypes": "local_storage,indexeddb"})
    page.close()
    if not as_:
        context.clear_cookies()


class Watched:
    """A page with everything that went wrong on it, and every address it asked for."""

    def __init__(self, page: Any) -> None:
        self.page, self.wrong, self.asked = page, [], []
        page.on("pageerror", lambda e: self.wrong.append(str(e)))
        page.on(
            "console", lambda m: self.wrong.append(m.text) if m.type == "error" and not REFUSED.search(m.text) else None
        )
        page.on("request", lambda r: self.asked.append(r.url))

    @classmethod
    @contextmanager
    def on(cls, chromium: Any, server: str, as_: str = "") -> Iterator[Watched]:
        """Nothing may go wrong in a script, break the policy, or be asked of another machine."""
        with opened(chromium, server, as_=as_, viewport=SIZE) as page:
            found = cls(page)
            yield found
        assert found.wrong == []
        assert [a for a in found.asked if not a.startswith((server, "data:", "blob:"))] == []


@contextmanager
def looking(chromium: Any, server: str, as_: str = "") -> Iterator[Any]:
    """A page for axe alone, of the same browser as the watched ones: nobody logs in twice."""
    can_look()
    with opened(chromium, server, as_=as_, viewport=SIZE) as page:
        yield page


def can_look() -> None:
    """Skip the test here if axe is not installed; a look at the end of a test leaves the rest of it tested."""
    if not AXE.is_file() and not REQUIRED:
        pytest.skip("axe-core is not installed: npm ci in frontend/")


QUIET_FRAMES = 7  # pairs: longer than a page waits (150 ms) before it asks for what goes with something typed
# The page has heard of its new size: what its script does then is done before the frame after next.
SETTLED = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"


def faults(page: Any) -> list[str]:
    """What breaks an accessibility rule or runs over the edge of the page now open, in each view.

    A phone's view that shows and hides nothing else is looked at anew for sizes, scrolling and colors alone: no other
    rule has anything else to read. The page is left as wide and as light as a watched one is: what comes next needs no
    loading anew.
    """
    can_look()
    page.evaluate(AXE.read_text(encoding="utf-8"))
    every = "([rules, colors]) => axe.getRules(rules).map(one => one.ruleId).filter(one => !colors.includes(one))"
    plain = page.evaluate(every, [RULES, COLORS])
    wanted = {VIEWS[0]: plain, (390, "light"): plain}  # a scheme changes nothing but colors
    out, size, light = [], SIZE["width"], "light"
    for width, scheme in VIEWS:
        if width != size:
            page.set_viewport_size({"width": width, "height": SIZE["height"]})
        if scheme != light:
            page.emulate_media(color_scheme=scheme)
        size, light = width, scheme
        now = [wanted.get((width, scheme), []), COLORS, LAID_OUT, width, scheme, SEEN.get(scheme, [])]
        found, SEEN[scheme] = page.evaluate(LOOK, now)
        out += [f"{width} {scheme}: {one}" for one in found]
    page.set_viewport_size(SIZE)
    page.emulate_media(color_scheme="light")
    page.evaluate(SETTLED)
    return out


def quiet(page: Any) -> None:
    """Wait until all that a page of `opened` asked for is there, and what came has asked for nothing more.

    The browser's own word for it, "networkidle", comes half a second later each time.
    """
    page.wait_for_load_state()
    frames = 0
    while frames < QUIET_FRAMES:
        page.evaluate(SETTLED)
        frames = 0 if page.asked_for else frames + 1


def follow(link: Any) -> None:
    """Click what leads to a page, be it the same address again, and wait until it is there with its scripts.

    A click alone may come back while the old page still stands, and what is looked at or typed next is the old one's.
    """
    with link.page.expect_navigation():
        link.click()


def changed(page: Any, look: str, before: list[Any]) -> list[Any]:
    """What `look` finds once everything in it is another than before; for a page that stays where it is."""
    other = f"b => {{ const now = ({look})(); return now.every((x, k) => x !== b[k]) && now; }}"
    return page.wait_for_function(other, arg=before).json_value()


def bring(chromium: Any, server: str, recording: bytes) -> str:
    """The address of a debrief, brought in by what the form sends; `choose` does it as a person does."""
    with opened(chromium, server) as page:
        form = page.request.get("/debriefs").text()
        sent = {"token": re.search(r'name="token" value="([^"]+)"', form)[1], "airplane": "larkmoor_155"}
        file = {"name": "flight.csv", "mimeType": "text/csv", "buffer": recording}
        headers = {"origin": server}
        got = page.request.post("/debriefs", multipart={**sent, "recording": file}, headers=headers, max_redirects=0)
        assert got.status == 303, got.text()
        return got.headers["location"]


def choose(page: Any, recording: bytes) -> None:
    """On the open form: file chosen, button pressed, the flight comes."""
    page.set_input_files("#recording", {"name": "flight.csv", "mimeType": "text/csv", "buffer": recording})
    page.select_option("[name=airplane]", "larkmoor_155")
    page.click("#bring button")
    page.wait_for_url(re.compile(r"/debriefs/[0-9a-f]{32}$"))


def _let_in(ask: Any, server: str, name: str) -> None:
    """One of the school's people, by what the form sends; `log_in` does it as a person does."""
    token = re.search(r'name="token" value="([^"]+)"', ask.get("/login").text())
    sent = {"token": token[1], "name": name, "password": PASSWORDS[name]}
    assert ask.post("/login", form=sent, headers={"origin": server}, max_redirects=0).status == 303


def log_in(page: Any, name: str) -> None:
    """One of the school's people, by the form."""
    page.goto("/login")
    page.get_by_label("name").fill(name)
    page.get_by_label("password").fill(PASSWORDS[name])
    follow(page.get_by_role("button", name="log in"))
    expect(page.get_by_text(name).first).to_be_visible()
    page.wait_for_load_state("networkidle")  # nothing it asked for is broken off by the next address
