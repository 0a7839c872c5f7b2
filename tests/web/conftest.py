"""A small school on a server: two students, an instructor, a logbook, a recording of each student on the desk."""

from __future__ import annotations

import gzip
import os
import re
import shutil
import sys
import tempfile
import time
from collections import OrderedDict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest
from anyio.from_thread import BlockingPortal, start_blocking_portal
from argon2 import PasswordHasher
from fastapi import FastAPI
from starlette.routing import BaseRoute
from starlette.testclient import TestClient

import airwork
from airwork.airplane import Airplane
from airwork.debrief import Debrief
from airwork.jobs.debriefing import debrief_flight
from airwork.logbook.people import add_person
from airwork.logbook.store import open_store
from airwork.recording.mapping import FILE_NAME as LAYOUTS
from airwork.recording.mapping import user_file
from airwork.recording.marks import marks_path
from airwork.standards import Standard
from airwork.web import accounts, debrief_view, desk
from airwork.web.accounts import Account, Accounts
from airwork.web.app import create_app
from airwork.web.settings import ACCOUNTS_FILE, Settings

# What tests import from here is this module, not another of the same file that builds the school once more.
sys.modules["web.conftest"] = sys.modules[__name__]

DEMO = Path(airwork.__file__).parent / "demo_files"
RECORDING = DEMO / "recordings" / "2025-09-20_stalls_over_the_lake.csv.gz"
PASSWORDS = {
    "Emmett Dray": "over the lake at dawn",
    "Nora Whitlock": "windmill and stubble",
    "Jan Ruiz": "hay meadow, west",
}
ORIGIN = {"origin": "http://localhost"}


def short_recording(rows: int = 1200) -> bytes:
    """The first rows of the demo's recording: take-off and climb; in 2,400 the slow flight too."""
    with gzip.open(RECORDING, "rb") as whole:
        return b"".join(line for _, line in zip(range(rows), whole, strict=False))


_loops: list[BlockingPortal] = []


@pytest.fixture(scope="session", autouse=True)
def _one_loop() -> Iterator[None]:
    """The pages answer in one loop of events, as a server's do; one of its own, with its threads, for each request
    takes longer than most answers.
    """
    with start_blocking_portal() as portal:
        _loops.append(portal)
        yield
        _loops.clear()


class Browser:
    """A person at the pages: keeps cookies, sends the origin a browser sends, takes the token from the page."""

    def __init__(self, app: object) -> None:
        self.client = TestClient(app, base_url="http://localhost", follow_redirects=False)  # type: ignore[arg-type]
        self.client.portal = _loops[-1] if _loops else None
        self.tokens: dict[str, str] = {}  # by session

    def get(self, address: str, **more: object) -> object:
        return self.client.get(address, **more)  # type: ignore[arg-type]

    def token(self, page: str = "/debriefs") -> str:
        """The token a session's forms carry, read from one of them."""
        session = repr(sorted(self.client.cookies.items()))
        if session not in self.tokens:
            found = re.search(r'name="token" value="([^"]+)"', self.client.get(page).text)
            assert found, f"no form at {page}"
            self.tokens[repr(sorted(self.client.cookies.items()))] = found[1]
            return found[1]
        return self.tokens[session]

    def post(self, address: str, data: dict[str, object] | None = None, *, token: str | None = None, files=None):
        sent = {"token": self.token() if token is None else token, **(data or {})}
        return self.client.post(address, data=sent, files=files, headers=ORIGIN)

    def log_in(self, name: str, password: str | None = None):
        sent = {"name": name, "password": PASSWORDS.get(name, "") if password is None else password}
        return self.client.post("/login", data={"token": self.token("/login"), **sent}, headers=ORIGIN)


@dataclass
class School:
    """The server's application and what is in it."""

    app: object
    folder: Path
    nora: str
    jan: str
    emmett: str
    debriefs: dict[str, str] = field(default_factory=dict)
    flights: dict[str, str] = field(default_factory=dict)

    inside: dict[str, Browser] = field(default_factory=dict)

    def as_(self, name: str) -> Browser:
        """Somebody logged in, once for all tests: checking a password is slow on purpose."""
        if name not in self.inside:
            self.inside[name] = self.log_in(name)
        return self.inside[name]

    def log_in(self, name: str) -> Browser:
        """Somebody who has just logged in."""
        browser = Browser(self.app)
        assert browser.log_in(name).status_code == 303
        return browser


def _make_folder(folder: Path) -> None:
    """Lessons and airplanes of the demo as the user's own."""
    for kind in ("lessons", "airplanes"):
        (folder / kind).mkdir(parents=True)
        for file in (DEMO / kind).glob("*.toml"):
            shutil.copy(file, folder / kind / file.name)


@pytest.fixture(scope="session", autouse=True)
def _nothing_learned() -> Iterator[None]:
    """What a debrief teaches of its airplane takes a second: one test looks at it, the others go without."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("airwork.web.desk.learn_from_debrief", lambda found, airplane: ())
        yield


@pytest.fixture(scope="session", autouse=True)
def _debriefed_once() -> Iterator[None]:
    """The same recording, airplane and standard give the same debrief in whichever test's folder they lie: it is made
    once. What is corrected in it, and every page and paper, is made anew; what stands beside a recording, too.
    """
    made: OrderedDict[tuple[object, ...], Debrief] = OrderedDict()

    def once(path: Path, *, airplane: Airplane | None, lesson: object, standard: Standard, **more: object) -> Debrief:
        beside = (path.parent / LAYOUTS, user_file(), marks_path(path))
        if lesson is not None or any(file.exists() for file in beside):
            return debrief_flight(path, airplane=airplane, lesson=lesson, standard=standard, **more)  # type: ignore[arg-type]
        of = airplane and id(airplane.file)  # of one text one value, held by the debrief
        key = (path.name, path.read_bytes(), of, repr(standard), *sorted(more.items()))
        if key not in made:
            made[key] = debrief_flight(path, airplane=airplane, standard=standard, **more)  # type: ignore[arg-type]
        made.move_to_end(key)
        while len(made) > 12:
            made.popitem(last=False)
        return made[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(desk, "debrief_flight", once)
        patch.setattr(debrief_view, "MADE", 12)  # and its ideals
        yield


REAL_HASHER = accounts._hasher


@pytest.fixture(scope="session", autouse=True)
def _quick_passwords() -> Iterator[None]:
    """Hashing takes 0.17 s and 64 MB on purpose; what is tested here is who gets in."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(accounts, "_hasher", PasswordHasher(time_cost=1, memory_cost=8192, parallelism=1))
        yield


@pytest.fixture(scope="session")
def school(tmp_path_factory: pytest.TempPathFactory) -> School:
    """The school; tests that change it say so and leave the two students' things in place."""
    return build_school(tmp_path_factory.mktemp("school"))


_built: list[School] = []


def build_school(folder: Path) -> School:
    """A school in a folder of its own: built once in a folder nobody else changes, every one is a copy of it."""
    if not _built:
        _built.append(_build(Path(tempfile.mkdtemp(prefix="school-", dir=os.environ.get("XDG_DATA_HOME"))) / "school"))
    first = _built[0]
    shutil.copytree(first.folder, folder, dirs_exist_ok=True)
    app = _app(folder)
    app.state.store = open_store(folder / "logbook.sqlite")
    return replace(first, app=app, folder=folder, inside={}, debriefs=dict(first.debriefs), flights=dict(first.flights))


_routes: list[BaseRoute] = []


def new_app(settings: Settings) -> FastAPI:
    """A server's application; its pages' routes, which are every server's, are put together once for all tests."""
    app = create_app(settings)
    if not _routes:
        _routes.extend(app.router.routes)
    app.router.routes[:] = _routes
    return app


def _app(folder: Path) -> FastAPI:
    return new_app(Settings(folder=folder, data=str(folder / "logbook.sqlite"), max_upload_bytes=3_000_000))


def _build(folder: Path) -> School:
    _make_folder(folder)
    store = open_store(folder / "logbook.sqlite", create=True)
    with store.change() as connection:
        now = time.time()
        nora = add_person(connection, "Nora Whitlock", now_utc_s=now, student=True, time_zone="America/Denver")
        jan = add_person(connection, "Jan Ruiz", now_utc_s=now, student=True)
        emmett = add_person(connection, "Emmett Dray", now_utc_s=now, instructor=True)
    store.close()
    accounts = Accounts(folder / ACCOUNTS_FILE)
    accounts.set_password(Account("Emmett Dray", "chief", emmett.id), PASSWORDS["Emmett Dray"])
    accounts.set_password(Account("Nora Whitlock", "student", nora.id), PASSWORDS["Nora Whitlock"])
    accounts.set_password(Account("Jan Ruiz", "student", jan.id), PASSWORDS["Jan Ruiz"])
    app = _app(folder)
    made = School(app, folder, nora.id, jan.id, emmett.id)
    teacher, raw = made.as_("Emmett Dray"), short_recording()
    for name, person, own in (("nora", nora, raw), ("jan", jan, raw + b"\n")):  # one recording is one student's flight
        sent = {"airplane": "larkmoor_155", "student": person.id, "zone": "America/Denver"}
        answer = teacher.post("/debriefs", sent, files={"recording": (f"{name}.csv", own)})
        assert answer.status_code == 303, answer.text
        made.debriefs[name] = answer.headers["location"].rsplit("/", 1)[1]
        sent = {"student": person.id, "instructor": emmett.id, "role": "dual", "sure": "yes"}
        entered = teacher.post(f"/debriefs/{made.debriefs[name]}/enter", sent)
        assert entered.status_code == 303, entered.text
        about = app.state.desk.find(made.debriefs[name])
        made.flights[name] = about.flight_id
    return made


@pytest.fixture(scope="session")
def make_folder() -> Callable[[Path], None]:
    """Puts the demo's lessons and airplanes into a folder."""
    return _make_folder


@pytest.fixture(scope="session")
def short_csv() -> bytes:
    """A recording that is read quickly."""
    return short_recording()


@pytest.fixture
def alone(tmp_path: Path) -> Browser:
    """Somebody at their own machine: no password set, no logbook."""
    _make_folder(tmp_path)
    return Browser(new_app(Settings(folder=tmp_path)))


@pytest.fixture(scope="session")
def chromium() -> Iterator[object]:
    """One Chromium for every test of the pages; every page of it is as patient as a loaded machine asks."""
    from playwright.sync_api import sync_playwright

    from web.browsing import CHROMIUM, WAIT_MS

    with sync_playwright() as started:
        # A process for drawing alone would hand each picture on to the others: a quarter of Chromium's processor time.
        # One for all pages knows their scripts already: an eighth.
        arguments = ["--no-sandbox", "--disable-gpu", "--in-process-gpu", "--disable-background-networking"]
        arguments += ["--renderer-process-limit=1"]
        browser = started.chromium.launch(executable_path=CHROMIUM, args=arguments, timeout=2.0 * WAIT_MS)
        making = browser.new_context

        def patient(**more: object) -> object:
            context = making(**more)
            context.set_default_timeout(WAIT_MS)
            return context

        browser.new_context, browser.kept = patient, {}
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory, make_folder) -> Iterator[str]:
    """A server of its own folder, listening for real."""
    folder = tmp_path_factory.mktemp("served")
    make_folder(folder)
    from web.browsing import serving

    with serving(Settings(folder=folder)) as address:
        yield address


@pytest.fixture
def watched(chromium, server: str) -> Iterator[object]:
    """A page on which nothing may go wrong."""
    from web.browsing import Watched

    with Watched.on(chromium, server) as found:
        yield found


@pytest.fixture(scope="module")
def address(school) -> Iterator[str]:
    """The school's server, listening for real."""
    from web.browsing import serving

    with serving(school.app.state.settings, school.app) as found:
        yield found
