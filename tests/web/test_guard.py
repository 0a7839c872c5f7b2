"""The server's safety: who gets in, what a page on another site can do, what is sent with every answer."""

from __future__ import annotations

import asyncio
import re
import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import AsyncExitStack
from pathlib import Path

import httpx2 as httpx
import pytest
from argon2 import PasswordHasher, Type, extract_parameters
from starlette.testclient import TestClient

from airwork.errors import InputError
from airwork.web.accounts import Account, Accounts
from airwork.web.guard import MOST_SESSIONS, TRIES, WINDOW_S, LoginRate, Sessions
from airwork.web.pages.login import local_address
from airwork.web.settings import ACCOUNTS_FILE, Settings, require_safe
from web.conftest import ORIGIN, PASSWORDS, REAL_HASHER, School, new_app

PAGES = [
    "/", "/debriefs", "/airplanes", "/airplanes/larkmoor_155", "/airplanes/larkmoor_155.json", "/students",
    "/students.json", "/today.json?lesson=stalls_over_the_lake", "/openapi.json",
]  # fmt: skip


def test_a_password_costs_what_the_standard_asks_published() -> None:
    """OWASP, Password Storage Cheat Sheet: Argon2id, at least 19 MiB, 2 passes, 1 lane (read in a copy, 2026-11-29)."""
    parameters = extract_parameters(REAL_HASHER.hash("over the lake at dawn"))
    assert parameters.type is Type.ID
    assert parameters.memory_cost >= 19 * 1024
    assert parameters.time_cost >= 2
    assert parameters.parallelism == 1


def test_a_password_hashed_as_it_was_before_still_fits_and_is_renewed_at_log_in(tmp_path: Path) -> None:
    """The second recommended option of RFC 9106 was kept before; who is logged in stays so."""
    kept = Accounts(tmp_path / "accounts.json")
    kept.set_password(Account("Ann", "student", "1"), "over the lake at dawn")
    people = kept._read()
    people["Ann"]["hash"] = old = PasswordHasher(time_cost=3, memory_cost=1024, parallelism=4).hash("over the hills")
    kept._write(people)
    before = kept.find("Ann")
    assert kept.check("Ann", "over the lake at dawn") is None
    assert kept._read()["Ann"]["hash"] == old  # a wrong one renews nothing
    assert kept.check("Ann", "over the hills") == before
    assert kept._read()["Ann"]["hash"] != old
    assert kept.check("Ann", "over the hills") == before
    kept.set_password(Account("Ann", "student", "1"), "over the lake at dusk")
    assert kept.find("Ann") != before  # a changed one ends every session


def _stranger(school) -> TestClient:
    return TestClient(school.app, base_url="http://localhost", follow_redirects=False)


@pytest.mark.parametrize("address", PAGES)
def test_nothing_is_shown_without_a_log_in(school, address: str) -> None:
    answer = _stranger(school).get(address)
    assert answer.status_code in {303, 401}
    assert "Larkmoor" not in answer.text


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.20", "::", "example.org"])
def test_another_address_is_refused_until_a_password_is_set(tmp_path, host: str) -> None:
    settings = Settings(folder=tmp_path, host=host)
    with pytest.raises(InputError, match="invite the chief"):
        require_safe(settings, password_set=False)
    require_safe(settings, password_set=True)


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.9", "::1", "localhost"])
def test_this_machine_needs_no_password(tmp_path, host: str) -> None:
    require_safe(Settings(folder=tmp_path, host=host), password_set=False)


@pytest.mark.parametrize(
    ("host", "own"),
    [("localhost", True), ("localhost:8642", True), ("127.0.0.1:8642", True), ("[::1]:8642", True), ("[::1]", True),
     ("attacker.example:8642", False), ("localhost.attacker.example", False), ("", False), ("192.168.1.20", False)],
)  # fmt: skip
def test_a_foreign_name_that_points_at_this_machine_is_refused(alone, tmp_path, host: str, own: bool) -> None:
    assert Settings(folder=tmp_path).answers_to(host) is own
    if host:
        assert alone.get("/airplanes", headers={"host": host}).status_code == (200 if own else 421)


@pytest.mark.parametrize(
    "headers",
    [{}, {"origin": "http://attacker.example"}, {"origin": "null"}, {"origin": "http://localhost:9"},
     {"sec-fetch-site": "cross-site"}, {"origin": "http://localhost", "sec-fetch-site": "same-site"}],
)  # fmt: skip
def test_a_form_on_another_site_changes_nothing(alone, headers: dict[str, str]) -> None:
    token = alone.token()
    answer = alone.client.post("/today/save", data={"lesson": "x", "token": token}, headers=headers)
    assert answer.status_code == 403


@pytest.mark.parametrize("token", ["", "guessed", "ü"])
def test_a_form_without_the_sessions_token_changes_nothing(alone, token: str) -> None:
    answer = alone.post("/today/save", {"lesson": "stalls_over_the_lake"}, token=token)
    assert answer.status_code == 403


def test_a_token_of_another_session_does_not_fit(school) -> None:
    theirs = school.as_("Nora Whitlock").token()
    assert school.as_("Emmett Dray").post("/today/save", {"lesson": "x"}, token=theirs).status_code == 403


def test_the_session_gets_a_new_name_at_log_in_and_ends_at_log_out(school) -> None:
    browser = school.log_in("Nora Whitlock")
    inside = browser.client.cookies[school.app.state.cookie]
    stranger = _stranger(school)
    stranger.get("/login")
    before = stranger.cookies[school.app.state.cookie]
    assert inside != before
    assert browser.post("/logout").status_code == 303
    late = TestClient(
        school.app, base_url="http://localhost", cookies={school.app.state.cookie: inside}, follow_redirects=False
    )
    assert late.get("/debriefs").status_code == 303  # the old name opens nothing


def test_two_servers_on_one_machine_do_not_log_each_other_s_people_out(tmp_path) -> None:
    """A browser has one jar for all ports (RFC 6265, section 8.5): each folder's cookie has a name of its own."""
    names = set()
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        client = TestClient(new_app(Settings(folder=tmp_path / name)), base_url="http://localhost")
        client.get("/")
        names |= set(client.cookies)
    assert len(names) == 2


def test_the_cookie_is_out_of_reach_for_scripts_and_other_sites(school) -> None:
    said = _stranger(school).get("/login").headers["set-cookie"].lower()
    assert "httponly" in said
    assert "samesite=strict" in said


@pytest.fixture
def locked(tmp_path):
    """A server of its own with one account."""
    Accounts(tmp_path / ACCOUNTS_FILE).set_password(Account("Emmett", "instructor"), "a long enough one")
    return new_app(Settings(folder=tmp_path))


def _log_in(client: TestClient, name: str, password: str) -> int:

    token = re.search(r'name="token" value="([^"]+)"', client.get("/login").text)
    assert token
    sent = {"token": token[1], "name": name, "password": password}
    return client.post("/login", data=sent, headers={"origin": "http://localhost"}).status_code


def test_a_wrong_password_is_refused_and_after_five_one_has_to_wait(locked) -> None:
    client = TestClient(locked, base_url="http://localhost", follow_redirects=False)
    assert [_log_in(client, "Emmett", "wrong") for _ in range(5)] == [401] * 5
    assert _log_in(client, "Emmett", "a long enough one") == 429
    elsewhere = TestClient(locked, base_url="http://localhost", follow_redirects=False, client=("10.0.0.7", 1))
    assert _log_in(elsewhere, "Emmett", "a long enough one") == 303  # nobody is locked out by somebody else's tries


def test_many_names_from_one_address_have_to_wait_too() -> None:
    rate = LoginRate()
    for k in range(TRIES["address"]):
        assert rate.begin(f"name {k}", "10.0.0.7") == 0
    assert 0 < rate.begin("another name", "10.0.0.7") <= WINDOW_S
    assert rate.begin("another name", "10.0.0.8") == 0


def test_many_tries_at_once_count_as_many() -> None:
    """What a check takes long for can't be raced: a try is taken before it is made, given back when it fits."""
    from concurrent.futures import ThreadPoolExecutor

    rate = LoginRate()
    with ThreadPoolExecutor(16) as pool:
        waits = list(pool.map(lambda _: rate.begin("Emmett", "10.0.0.7"), range(64)))
    assert waits.count(0.0) == TRIES["both"]
    rate.fits("Emmett", "10.0.0.7")
    assert rate.begin("Emmett", "10.0.0.7") == 0.0


def test_a_new_password_or_a_removed_account_ends_its_sessions(locked, tmp_path) -> None:
    client = TestClient(locked, base_url="http://localhost", follow_redirects=False)
    assert _log_in(client, "Emmett", "a long enough one") == 303
    assert client.get("/airplanes").status_code == 200
    Accounts(tmp_path / ACCOUNTS_FILE).set_password(Account("Emmett", "instructor"), "another long one")
    assert client.get("/airplanes").status_code == 303


def test_a_password_set_while_the_server_runs_locks_it_at_once(alone, tmp_path) -> None:
    assert alone.get("/airplanes").status_code == 200
    Accounts(tmp_path / ACCOUNTS_FILE).set_password(Account("Emmett", "instructor"), "a long enough one")
    assert alone.get("/airplanes").status_code == 303


def test_an_accounts_file_that_can_not_be_read_opens_nothing(locked, tmp_path) -> None:
    (tmp_path / ACCOUNTS_FILE).write_text("{ damaged")
    client = TestClient(locked, base_url="http://localhost", follow_redirects=False)
    for address in ("/", "/airplanes", "/login"):
        assert client.get(address).status_code == 503


def test_the_accounts_file_is_its_owners_alone_and_holds_no_password(locked, tmp_path) -> None:
    path = tmp_path / ACCOUNTS_FILE
    assert path.stat().st_mode & 0o077 == 0
    assert "a long enough one" not in path.read_text()
    assert "argon2id" in path.read_text()


@pytest.mark.parametrize(
    ("name", "password"),
    [("", "a long enough one"), ("Ann", "short"), ("Ann", "x" * 1001), ("Ann", "password1234"),
     ("Ann", "qwertyuiop12")],
)  # fmt: skip
def test_a_bad_name_or_password_is_refused(tmp_path, name: str, password: str) -> None:
    with pytest.raises(InputError):
        Accounts(tmp_path / "a.json").set_password(Account(name, "instructor"), password)


def test_the_last_account_can_not_be_removed(tmp_path) -> None:
    accounts = Accounts(tmp_path / "a.json")
    accounts.set_password(Account("Ann", "instructor"), "a long enough one")
    with pytest.raises(InputError, match="last account"):
        accounts.remove("Ann")


@pytest.mark.parametrize("address", ["/", "/debriefs", "/no/such/page", "/static/site.css"])
def test_every_answer_carries_the_safety_headers(alone, address: str) -> None:
    headers = alone.get(address).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"


@pytest.mark.parametrize(
    "address", ["/", "/debriefs", "/airplanes", "/airplanes/larkmoor_155", "/airplanes/larkmoor_155/fields"]
)
def test_no_page_needs_what_the_policy_forbids(alone, address: str) -> None:
    """No script or style inside the page, no address on another machine."""

    text = alone.get(address).text
    assert not re.search(r"<script(?![^>]*(src=|application/json))", text)
    assert "<style" not in text
    assert not re.search(r"\s(style|on\w+)=", text)
    assert not re.search(r"""(src|href|action)=["'](https?:)?//""", text)


def test_too_large_an_upload_is_refused_by_its_length_and_without_one(school) -> None:
    teacher = school.as_("Emmett Dray")
    token = teacher.token()
    big = b"x" * 3_200_000
    answer = teacher.post("/debriefs", files={"recording": ("big.csv", big)}, token=token)
    assert answer.status_code == 413

    def pieces():
        yield b'--b\r\nContent-Disposition: form-data; name="recording"; filename="big.csv"\r\n\r\n'
        for _ in range(40):
            yield b"x" * 100_000

    headers = {"origin": "http://localhost", "content-type": "multipart/form-data; boundary=b"}
    assert teacher.client.post("/debriefs", content=pieces(), headers=headers).status_code == 413


@pytest.mark.parametrize(
    "name", ["../../evil.csv", "..\\..\\evil.csv", "/etc/passwd", "a\u0000b.csv", ".hidden", "…", "x" * 400]
)
def test_a_recordings_name_leads_nowhere(school, short_csv: bytes, name: str) -> None:
    teacher = school.as_("Emmett Dray")
    answer = teacher.post("/debriefs", files={"recording": (name, short_csv)})
    assert answer.status_code == 303, answer.text
    desk = school.app.state.desk
    about = desk.find(answer.headers["location"].rsplit("/", 1)[1])
    assert desk.recording(about).resolve().parent == (desk.path / about.id).resolve()
    desk.remove(about)


@pytest.mark.parametrize("key", ["../secret", "..%2fsecret", "/etc/passwd", "%00", "x" * 3000])
def test_a_file_outside_the_folder_is_not_to_be_had(alone, key: str) -> None:
    assert alone.get(f"/airplanes/{key}").status_code == 404
    assert alone.get("/", params={"lesson": key}).status_code == 404
    assert alone.get(f"/debriefs/{key}").status_code == 404
    assert alone.get(f"/static/{key}").status_code == 404


@pytest.mark.parametrize(
    "address",
    ["//attacker.example", "https://attacker.example", "/\\attacker.example", "javascript:x", "/\t/x", "/\n/x"],
)
def test_after_the_log_in_one_stays_on_this_server(address: str) -> None:
    assert local_address(address) == "/"
    assert local_address("/debriefs?x=1") == "/debriefs?x=1"


def test_a_flood_of_strangers_ends_nobodys_session() -> None:
    sessions = Sessions()
    key, _ = sessions.start(Account("Ann", "instructor"))
    for _ in range(MOST_SESSIONS + 50):
        sessions.start(None)
    assert sessions.find(key) is not None
    assert len(sessions.live) <= MOST_SESSIONS


def test_the_description_names_what_each_address_answers_with(alone) -> None:
    paths = alone.get("/openapi.json").json()["paths"]
    for address, ways in paths.items():
        for way, about in ways.items():
            kinds = set(about["responses"]["200"].get("content", {}))
            if address.startswith("/map/tiles"):
                assert kinds <= {"application/vnd.pmtiles"}
                continue
            if address == "/sw.js":
                assert kinds == {"text/javascript"}
                continue
            data, paper = address.endswith(".json"), address.endswith(".pdf")
            wanted = "application/json" if data else "application/pdf" if paper else "text/html"
            assert kinds == {wanted}, (way, address)
            assert {"303", "401", "403", "404", "422"} <= set(about["responses"])


def test_the_description_holds_every_address(alone) -> None:
    told = {(way, path) for path, ways in alone.get("/openapi.json").json()["paths"].items() for way in ways}
    from web.test_access import every_route

    assert {(way, re.sub(r"\{\w+\}", "{}", path)) for way, path in told} == {(w.lower(), p) for w, p in every_route()}


# --- invitations, and one's own name --------------------------------------------------------------------------------


def test_an_invitation_works_once_and_makes_an_instructors_key(tmp_path) -> None:
    from airwork.logbook import people, seal
    from airwork.logbook.store import open_store

    store = open_store(tmp_path / "l.sqlite", create=True)
    with store.change() as connection:
        ike = people.add_person(connection, "Ike Teacher", now_utc_s=0.0, instructor=True)
    accounts = Accounts(tmp_path / ACCOUNTS_FILE)
    word = accounts.invite(Account("Ike Teacher", "chief", ike.id))
    assert accounts.check("Ike Teacher", "") is None
    app = new_app(Settings(folder=tmp_path, data=str(tmp_path / "l.sqlite")))
    client = TestClient(app, base_url="http://localhost", follow_redirects=False)

    def join(word: str, password: str) -> int:
        token = re.search(r'name="token" value="([^"]+)"', client.get(f"/join/{word}").text + 'name="token" value="-"')
        assert token
        sent = {"token": token[1], "password": password, "again": password}
        return client.post(f"/join/{word}", data=sent, headers={"origin": "http://localhost"}).status_code

    assert client.get("/join/something-else").status_code == 404
    assert join(word, "password1234") == 422
    assert join(word, "stubble and two rivers") == 303
    assert client.get("/debriefs").status_code == 200  # inside at once: who chose the password need not type it again
    assert accounts.meant(" ike  TEACHER ") == "Ike Teacher"  # as a phone writes it
    assert client.get(f"/join/{word}").status_code == 404
    found = accounts.check("Ike Teacher", "stubble and two rivers")
    assert found is not None
    assert (found.role, found.person) == ("chief", ike.id)
    with store.read() as connection:
        assert seal.has_key(connection, ike)
    store.close()


def test_the_first_to_be_invited_is_the_chief(tmp_path) -> None:
    """From the first invitation on everybody logs in: without a chief nobody could let anybody in."""
    accounts = Accounts(tmp_path / ACCOUNTS_FILE)
    for role in ("student", "instructor"):
        with pytest.raises(InputError, match="invite the chief instructor first"):
            accounts.invite(Account("Ann", role, "a" * 32))
    assert not accounts.any
    assert accounts.invite(Account("Ike", "chief", "b" * 32))
    assert accounts.invite(Account("Ann", "student", "a" * 32))


def test_an_invitation_ends_after_a_week(tmp_path, monkeypatch) -> None:
    import time

    accounts = Accounts(tmp_path / ACCOUNTS_FILE)
    word = accounts.invite(Account("Ann", "chief", "a" * 32))
    assert accounts.invited(word) is not None
    later = time.time() + 7.1 * 86400.0
    monkeypatch.setattr(time, "time", lambda: later)
    assert accounts.invited(word) is None
    with pytest.raises(InputError, match="is over"):
        accounts.accept(word, "stubble and two rivers")


def test_a_class_logs_in_at_once_from_one_address_and_the_pages_still_answer(
    school: School, monkeypatch: pytest.MonkeyPatch
) -> None:
    """More log-ins than an address may fail, and than there are threads, each of them right: none is refused."""
    checking, go = threading.Semaphore(0), threading.Event()

    def slow(name: str, password: str) -> object:
        checking.release()
        assert go.wait(600.0)
        return school.app.state.accounts.find(name)

    monkeypatch.setattr(school.app.state.accounts, "check", slow)
    school.app.state.rate = LoginRate()  # nobody has failed from here yet
    names = [*PASSWORDS] * 15

    async def crowd() -> tuple[int, list[int]]:
        async with AsyncExitStack() as browsers:
            people = [await browsers.enter_async_context(browser()) for _ in names]
            tokens = [re.search(r'name="token" value="([^"]+)"', (await p.get("/login")).text)[1] for p in people]
            sent = [{"token": t, "name": n, "password": "x"} for t, n in zip(tokens, names, strict=True)]
            tasks = [asyncio.create_task(p.post("/login", data=d)) for p, d in zip(people, sent, strict=True)]
            while not checking.acquire(blocking=False):
                await asyncio.sleep(0.01)
            page = await people[0].get("/login")
            go.set()
            return page.status_code, [a.status_code for a in await asyncio.gather(*tasks)]

    def browser() -> httpx.AsyncClient:
        transport = httpx.ASGITransport(school.app)
        return httpx.AsyncClient(transport=transport, base_url="http://localhost", headers=ORIGIN, timeout=600.0)

    with ThreadPoolExecutor(1) as aside:  # a browser's loop may already run in this thread
        page, answers = aside.submit(lambda: asyncio.run(crowd())).result()
    assert page == 200
    assert answers == [303] * len(names)
