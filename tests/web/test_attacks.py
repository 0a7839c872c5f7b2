"""What somebody logged in would try next: another's name, another's role, another's tab, a moment between two steps."""

from __future__ import annotations

import re
import threading
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from airwork.errors import InputError
from airwork.logbook.people import change_person, find_person, person_by_id
from airwork.web import accounts as module
from airwork.web.accounts import Account, Accounts
from airwork.web.settings import ACCOUNTS_FILE
from web.conftest import PASSWORDS, Browser, School, build_school

WORDS = "hay meadow beyond the windmill"


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> School:
    """One of its own: people are entered and renamed here."""
    return build_school(tmp_path_factory.mktemp("attacked"))


def _log_in(client: TestClient, name: str) -> str:
    """Log in with the client as it is, cookies and all; the token of the forms it is shown then."""
    token = _token(client, "/login")
    sent = {"token": token, "name": name, "password": PASSWORDS[name]}
    assert client.post("/login", data=sent, headers={"origin": "http://localhost"}).status_code == 303
    return _token(client, "/debriefs")


def _token(client: TestClient, at: str) -> str:
    found = re.search(r'name="token" value="([^"]+)"', client.get(at).text)
    assert found
    return found[1]


def test_a_form_of_the_first_tab_gives_nothing_in_the_name_of_who_logged_in_in_the_second(school) -> None:
    browser = TestClient(school.app, base_url="http://localhost", follow_redirects=False)
    first = _log_in(browser, "Nora Whitlock")
    second = _log_in(browser, "Emmett Dray")  # another tab, the same browser
    sent = {"words": "given by whom?", "token": first}
    at, headers = f"/people/{school.nora}/note", {"origin": "http://localhost"}
    assert browser.post(at, data=sent, headers=headers).status_code == 403
    assert browser.post(at, data={**sent, "token": second}, headers=headers).status_code == 303


@pytest.mark.parametrize("more", [{"role": "chief"}, {"instructor": "yes"}, {"is_instructor": "1"}, {"person": "x"}])
def test_no_field_of_a_form_makes_a_student_more(school, more: dict[str, str]) -> None:
    nora = school.as_("Nora Whitlock")
    entry = {"name": "Nora Whitlock", "zone": "America/Denver", "aimed": "private", "student": "yes", **more}
    for at in (f"/people/{school.nora}", "/people/new", "/people/role", "/people/invite", "/login"):
        nora.post(at, entry)
    with school.app.state.store.read() as connection:
        assert not person_by_id(connection, school.nora).is_instructor
    assert school.app.state.accounts.find("Nora Whitlock").role == "student"
    assert school.as_("Nora Whitlock").get("/people").status_code == 403


def test_nobody_takes_anothers_name(school) -> None:
    """Neither entered, nor changed, nor invited; with letters that look like it neither."""
    chief = school.as_("Emmett Dray")
    for name in ("Nora Whitlock", "nora  WHITLOCK", "Nоra Whitlock", "Nora Whitlock\u200d"):
        entry = {"name": name, "zone": "UTC", "aimed": "private", "student": "yes"}
        assert chief.post(f"/people/{school.jan}", entry).status_code == 422
        assert chief.post("/people/new", entry).status_code == 422
    with school.app.state.store.read() as connection:
        assert person_by_id(connection, school.jan).name == "Jan Ruiz"


def test_a_log_in_left_under_an_old_name_is_not_handed_to_the_next_of_that_name(tmp_path: Path) -> None:
    """Renamed at the command line, where the server's accounts are not; the next Ann is invited as the chief."""
    accounts = Accounts(tmp_path / ACCOUNTS_FILE)
    accounts.set_password(Account("Emmett", "chief", "e" * 32), WORDS)
    accounts.set_password(Account("Ann", "student", "a" * 32), WORDS)
    for try_it in (
        lambda: accounts.invite(Account("Ann", "chief", "b" * 32)),
        lambda: accounts.set_password(Account("Ann", "chief", "b" * 32), WORDS),
    ):
        with pytest.raises(InputError, match="somebody else logs in under this name"):
            try_it()
    found = accounts.check("Ann", WORDS)
    assert found is not None
    assert (found.role, found.person) == ("student", "a" * 32)
    assert accounts.invite(Account("Ann", "student", "a" * 32))  # her own


def test_a_log_in_taken_out_while_another_is_made_stays_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A password takes its time to be hashed: what is written then must not be what was read before."""
    accounts = Accounts(tmp_path / ACCOUNTS_FILE)
    accounts.set_password(Account("Emmett", "chief", "e" * 32), WORDS)
    accounts.set_password(Account("Gone", "instructor", "9" * 32), WORDS)
    hashing, go_on, hasher = threading.Event(), threading.Event(), module._hasher

    class Slow:
        def hash(self, password: str) -> str:
            hashing.set()
            assert go_on.wait(600)
            return hasher.hash(password)

    monkeypatch.setattr(module, "_hasher", Slow())
    other = threading.Thread(target=accounts.set_password, args=(Account("New", "student", "1" * 32), WORDS))
    other.start()
    assert hashing.wait(600)
    accounts.remove("Gone")
    go_on.set()
    other.join()
    assert [a.name for a in accounts.all()] == ["Emmett", "New"]


def test_an_invitation_opened_twice_at_once_is_one_persons(tmp_path: Path) -> None:
    accounts = Accounts(tmp_path / ACCOUNTS_FILE)
    accounts.set_password(Account("Emmett", "chief", "e" * 32), WORDS)
    word, took = accounts.invite(Account("Ann", "student", "a" * 32)), list[str]()

    def accept(password: str) -> None:
        try:
            accounts.accept(word, password)
            took.append(password)
        except InputError:
            pass

    both = [threading.Thread(target=accept, args=(f"{WORDS} {n}",)) for n in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert len(took) == 1
    assert accounts.check("Ann", took[0]) is not None


@pytest.mark.parametrize(
    "at",
    ["/flights/%2e%2e", "/flights/%2e%2e%2f%2e%2e%2fetc%2fpasswd", "/flights/..%5c..", "/debriefs/..%2f..",
     "/students/%00", "/flights/" + "a" * 60_000, "/airplanes/..%2f..%2flogbook",
     "/lessons/%2e%2e", "/static/..%2f..%2fpyproject.toml"],
)  # fmt: skip
def test_no_address_leads_out_of_the_folder(school, at: str) -> None:
    answer = school.as_("Emmett Dray").get(at)
    assert answer.status_code in {404, 422, 303, 307}
    assert "root:" not in answer.text
    assert "SQLite" not in answer.text


@pytest.mark.parametrize("name", ["x" * 100_000, "Ann\u202ednA", "=1+1", "<script>alert(1)</script>", "../../x"])
def test_a_name_however_made_comes_back_as_text(school, name: str) -> None:
    chief = school.as_("Emmett Dray")
    sent = {"name": name, "zone": "UTC", "aimed": "private", "student": "yes"}
    answer = chief.post("/people/new", sent)
    assert answer.status_code in {303, 422}
    assert "<script>alert" not in answer.text + chief.get("/students").text
    assert "\u202e" not in chief.get("/students").text


def test_what_a_request_says_of_itself_is_believed_of_no_proxy_that_was_not_named(school) -> None:
    """Addresses by which tries are counted, the scheme, the host: none of them by a header."""
    client = TestClient(school.app, base_url="http://localhost", follow_redirects=False)
    said = {"x-forwarded-for": "10.9.8.7", "x-forwarded-proto": "https", "x-forwarded-host": "evil.example",
            "forwarded": "for=10.9.8.7;proto=https;host=evil.example"}  # fmt: skip
    answer = client.get("/login", headers=said)
    assert "strict-transport-security" not in answer.headers
    assert "secure" not in answer.headers["set-cookie"].lower()
    assert "evil.example" not in answer.text + answer.headers.get("location", "")


def test_renamed_under_a_running_server_the_old_name_opens_nothing_new(school) -> None:
    """The person's entry and their log-in are bound by identity, not by the name."""
    store = school.app.state.store
    with store.change() as connection:
        jan = find_person(connection, "Jan Ruiz")
        change_person(connection, jan, now_utc_s=1.0, name="Jan Renamed")
    fresh = Browser(school.app)
    assert fresh.log_in("Jan Ruiz").status_code == 303
    assert fresh.get(f"/students/{school.jan}").status_code == 200
    assert fresh.get(f"/students/{school.nora}").status_code in {403, 404}
    with store.change() as connection:
        change_person(connection, find_person(connection, "Jan Renamed"), now_utc_s=2.0, name="Jan Ruiz")
