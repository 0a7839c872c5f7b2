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

from airwork.web.app import create_app
from airwork.web.settings import Settings

# The shell draws pages as the whole browser does and has no window of its own to keep: half the processor time.
BROWSERS = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
CHROMIUM = next(filter(None, map(shutil.which, BROWSERS)), None)
WAIT_MS = 90_000.0  # what is waited for comes in a second; on a machine with much else to do, later
expect.set_options(timeout=WAIT_MS)
REQUIRED = bool(os.environ.get("AIRWORK_REQUIRE_ALL"))
AXE = Path(__file__).parents[2] / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
COLORS = ["color-contrast", "link-in-text-block"]  # half the time of all; another scheme can change nothing else
# (width, scheme, rules, those left out): every rule at every width, its colors in both schemes at every width; a
# scheme can change nothing but colors.
VIEWS = (
    (1280, "light", RULES, []),
    (1280, "dark", COLORS, []),
    (820, "light", RULES, []),
    (820, "dark", COLORS, []),
    (390, "light", RULES, []),
    (390, "dark", COLORS, []),
)
REFUSED = re.compile(r"status of 4(09|22)\b")  # an answer in words, no fault
LOOK = """([rules, out]) => axe.run(document, {runOnly: rules, resultTypes: ['violations'],
  rules: Object.fromEntries(out.map(r => [r, {enabled: false}]))}).then(
  r => r.violations.map(v => `${v.id}: ${v.nodes[0].html}`))"""


@contextmanager
def serving(settings: Settings, app: Any = None) -> Iterator[str]:
    """The address of a server that listens for real; `app` in place of a new one for the settings."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen(16)
        running = uvicorn.Server(uvicorn.Config(app or create_app(settings), log_level="error"))
        thread = threading.Thread(target=running.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        running.should_exit = True
        thread.join(WAIT_MS / 1000.0)


@contextmanager
def opened(chromium: Any, server: str, *, as_: str = "", **more: Any) -> Iterator[Any]:
    """A page of a browser that has been at the server before: scripts and styles are there, nothing else is.

    as_ : one of the school's people, who has logged in; kept from test to test, since that takes a second each.
    What a page keeps for the cockpit has a test, and a browser, of its own.
    """
    key = (server, as_, repr(sorted(more.items())))
    if key not in chromium.kept:
        chromium.kept[key] = chromium.new_context(base_url=server, service_workers="block", **more)
        if as_:
            page = chromium.kept[key].new_page()
            log_in(page, as_)
            page.close()
    context = chromium.kept[key]
    page = context.new_page()
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
        view = {"width": 1280, "height": 900}
        with opened(chromium, server, as_=as_, viewport=view) as page:
            found = cls(page)
            yield found
        assert found.wrong == []
        assert [a for a in found.asked if not a.startswith((server, "data:", "blob:"))] == []


@contextmanager
def looking(chromium: Any, server: str, as_: str = "") -> Iterator[Any]:
    """A page that lets axe in; the pages' own policy keeps it out."""
    if not AXE.is_file() and not REQUIRED:
        pytest.skip("axe-core is not installed: npm ci in frontend/")
    with opened(chromium, server, as_=as_, bypass_csp=True) as page:
        yield page


# The page has heard of its new size: what its script does then is done before the frame after next.
SETTLED = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"


def faults(page: Any) -> list[str]:
    """What breaks an accessibility rule or runs over the edge of the page now open, in each view."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    out = []
    for width, scheme, *rules in VIEWS:
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(color_scheme=scheme)
        page.evaluate(SETTLED)
        found = page.evaluate(LOOK, rules)
        if page.evaluate("document.documentElement.scrollWidth") > width:
            found.append("runs over the edge")
        out += [f"{width} {scheme}: {one}" for one in found]
    return out


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
    """The address of a debrief brought in as a person does: file chosen, button pressed."""
    with opened(chromium, server) as page:
        page.goto("/debriefs")
        page.set_input_files("#recording", {"name": "flight.csv", "mimeType": "text/csv", "buffer": recording})
        page.select_option("[name=airplane]", "larkmoor_155")
        page.click("#bring button")
        page.wait_for_url(re.compile(r"/debriefs/[0-9a-f]{32}$"))
        return page.url.removeprefix(server)


def log_in(page: Any, name: str) -> None:
    """One of the school's people, by the form."""
    from web.conftest import PASSWORDS

    page.goto("/login")
    page.get_by_label("name").fill(name)
    page.get_by_label("password").fill(PASSWORDS[name])
    follow(page.get_by_role("button", name="log in"))
    expect(page.get_by_text(name).first).to_be_visible()
    page.wait_for_load_state("networkidle")  # nothing it asked for is broken off by the next address
