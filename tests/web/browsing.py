"""A real server and a real Chromium for the tests of the pages."""

from __future__ import annotations

import os
import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import uvicorn

from airwork.web.app import create_app
from airwork.web.settings import Settings

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
REQUIRED = bool(os.environ.get("AIRWORK_REQUIRE_ALL"))
AXE = Path(__file__).parents[2] / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
COLORS = ["color-contrast", "link-in-text-block"]  # all that another scheme of the same width can change
VIEWS = ((1280, "light", RULES), (820, "dark", RULES), (390, "light", RULES), (390, "dark", COLORS))
LOOK = """rules => axe.run(document, {runOnly: rules}).then(
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
        thread.join(10)


class Watched:
    """A page with everything that went wrong on it, and every address it asked for."""

    def __init__(self, page: Any) -> None:
        self.page, self.wrong, self.asked = page, [], []
        page.on("pageerror", lambda e: self.wrong.append(str(e)))
        page.on("console", lambda m: self.wrong.append(m.text) if m.type == "error" and "422" not in m.text else None)
        page.on("request", lambda r: self.asked.append(r.url))

    @classmethod
    @contextmanager
    def on(cls, chromium: Any, server: str, **more: Any) -> Iterator[Watched]:
        """Nothing may go wrong in a script, break the policy, or be asked of another machine."""
        view = {"width": 1280, "height": 900}  # what is kept for the cockpit has a test of its own
        context = chromium.new_context(**{"base_url": server, "viewport": view, "service_workers": "block", **more})
        found = cls(context.new_page())
        yield found
        context.close()
        assert found.wrong == []
        assert [a for a in found.asked if not a.startswith((server, "data:", "blob:"))] == []


@contextmanager
def looking(chromium: Any, server: str) -> Iterator[Any]:
    """A page that lets axe in; the pages' own policy keeps it out."""
    if not AXE.is_file() and not REQUIRED:
        pytest.skip("axe-core is not installed: npm ci in frontend/")
    context = chromium.new_context(base_url=server, bypass_csp=True)
    yield context.new_page()
    context.close()


# The page has heard of its new size: what its script does then is done before the frame after next.
SETTLED = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"


def faults(page: Any) -> list[str]:
    """What breaks an accessibility rule or runs over the edge of the page now open, in each view."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    out = []
    for width, scheme, rules in VIEWS:
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(color_scheme=scheme)
        page.evaluate(SETTLED)
        found = page.evaluate(LOOK, rules)
        if page.evaluate("document.documentElement.scrollWidth") > width:
            found.append("runs over the edge")
        out += [f"{width} {scheme}: {one}" for one in found]
    return out


def log_in(page: Any, name: str) -> None:
    """One of the school's people, by the form."""
    from web.conftest import PASSWORDS

    page.goto("/login")
    page.get_by_label("name").fill(name)
    page.get_by_label("password").fill(PASSWORDS[name])
    page.get_by_role("button", name="log in").click()
    page.wait_for_selector(f"text={name}")
