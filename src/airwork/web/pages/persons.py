"""People of the logbook on the page: entered, put right, endorsed, their papers kept; each in one's own name."""

from __future__ import annotations

import time
from collections.abc import Callable
from difflib import get_close_matches
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from sqlalchemy import Connection
from starlette.exceptions import HTTPException

from airwork.errors import InputError
from airwork.logbook import fleet, keeping, seal
from airwork.logbook.changes import changes
from airwork.logbook.held import Validity
from airwork.logbook.pages import notes_about
from airwork.logbook.people import add_person, change_person, people
from airwork.logbook.records import Person, read_as
from airwork.web import access, book, guard, person_form
from airwork.web.answers import page
from airwork.web.meanwhile import mark_of, says_by_now

router = APIRouter()


@router.post("/students/begin", response_class=HTMLResponse, dependencies=access.CHIEF)
def begin(request: Request) -> Response:
    """An empty logbook, where the server has none."""
    book.begin(request.app)
    return RedirectResponse("/people/new", 303)


@router.get("/people/new", response_class=HTMLResponse, dependencies=access.TEACHES)
def new(request: Request) -> Response:
    """Somebody to be entered; rules and time zone as of the instructor who enters them."""
    with book.reading(request) as connection:
        mine, first = access.may_sign_as(request, connection), not people(connection)
    like = {"authority": mine[0].authority, "zone": mine[0].time_zone} if mine else {"authority": "us", "zone": ""}
    who = {"instructor": "yes", "held": "instructor"} if first else {"held": "student"}
    return _new_page(request, {**who, "aimed": "private", **like}, first=first)


def _new_page(
    request: Request, typed: dict[str, str], problem: str = "", status: int = 200, first: bool = False
) -> Response:
    with book.reading(request) as connection:
        more = person_form.choices(connection, "us")
        name = read_as(typed.get("name", ""))
        there = [p for p in people(connection) if name and read_as(p.name) == name] if problem else []
    values = {**more, "typed": typed, "problem": problem, "first": first, "there": there}
    return page(request, "person_new.html", values, status=status)


@router.post("/people/new", response_class=HTMLResponse, dependencies=access.TEACHES)
def add(request: Request, typed: access.Typed) -> Response:
    """Enter a student; an instructor is the chief's to enter."""
    instructor = typed.get("instructor") == "yes"
    if instructor:
        access.require_chief(request)
    student = typed.get("student") == "yes" or not instructor
    try:
        entry = person_form.read_entry(typed)
        with book.store_of(request).change() as connection:
            made = add_person(connection, now_utc_s=time.time(), student=student, instructor=instructor, **entry)
    except InputError as found:
        return _new_page(request, typed, str(found), 422)
    request.state.session.said = f"{made.name} is entered." + (
        "" if made.born_on or not student else " Without a birth date a medical's shorter duration is taken."
    )
    return RedirectResponse(f"/people/{made.id}", 303)


def _seen(request: Request, person_id: str) -> Person:
    """The person; a student may not even learn that another is there."""
    access.require_student(request, person_id)
    access.require_instructor(request)
    with book.reading(request) as connection:
        return book.person_or_404(connection, person_id)


def _may_change(request: Request, person: Person) -> bool:
    """Students' entries are every instructor's, another instructor's the chief's."""
    account = access.account_of(request)
    return account.role == "chief" or not person.is_instructor or account.person == person.id


def _require_change(request: Request, person: Person) -> None:
    if not _may_change(request, person):
        raise HTTPException(403, "Only the chief instructor, or they themselves, may do this.")


def _person_page(
    request: Request, person: Person, *, form: str = "", typed: dict[str, str] | None = None, problem: str = "",
    status: int = 200,
) -> Response:  # fmt: skip
    account = access.account_of(request)
    models = [e.title for e in request.app.state.folder.entries("airplane") if not (e.shipped or e.goes_with_typed)]
    with book.reading(request) as connection:
        offered = person_form.choices(connection, person.authority, models)
        signers = [p for p in access.may_sign_as(request, connection) if p.id != person.id]
        held = person_form.papers(connection, person)
        mine = {p.id for p in signers}
        keys = {p.id for p in access.may_sign_as(request, connection) if seal.has_key(connection, p)}
        things = {
            **offered, "lacks": person_form.lacks(connection, person), "one": person,
            "papers": held, "signers": signers,
            "notes": notes_about(connection, person.id, instructor_notes=True), "mine": mine,
            "changes": changes(connection, thing=person.id, most=12),
            "own": any(p.id == person.id for p in access.may_sign_as(request, connection)), "keys": keys,
        }  # fmt: skip
    unsigned = [p for p in held if p.seal and p.seal.state == "not signed" and p.held.held.instructor_id in mine]
    return page(request, "person.html", {
        **things, "unsigned": unsigned, "entry": (typed or {}) if form == "entry" else person_form.typed_of(person),
        "typed": typed or {}, "form": form, "problem": problem, "said": access.said_once(request),
        "may_change": _may_change(request, person), "chief": account.role == "chief",
        "to_sign": request.query_params.get("flight", ""), "read": mark_of(person_form.typed_of(person)),
    }, status=status)  # fmt: skip


@router.get("/people/{person_id}", response_class=HTMLResponse)
def person_page(request: Request, person_id: str) -> Response:
    """Entry, papers, endorsements and notes of one person."""
    return _person_page(request, _seen(request, person_id))


def _done(
    request: Request, person: Person, form: str, typed: dict[str, str], change: Callable[[Connection], str]
) -> Response:
    """One change of one person: made whole, or said what is in its way beside its own form."""
    try:
        with book.store_of(request).change() as connection:
            said = change(connection)
    except InputError as found:
        return _person_page(request, person, form=form, typed=typed, problem=str(found), status=422)
    request.state.session.said = said
    return RedirectResponse(f"/people/{person.id}", 303)


@router.post("/people/{person_id}", response_class=HTMLResponse)
def put_right(request: Request, person_id: str, typed: access.Typed) -> Response:
    person = _seen(request, person_id)
    _require_change(request, person)
    if (read := typed.pop("read", "")) and read != mark_of(person_form.typed_of(person)):
        problem = says_by_now(person_form.typed_of(person), typed)
        return _person_page(request, person, form="entry", typed=typed, problem=problem, status=409)
    values: dict[str, object] = {}
    if access.account_of(request).role == "chief":
        values = {f"is_{k}": typed.get(k) == "yes" for k in ("student", "instructor")}
    accounts = request.app.state.accounts
    old = next((a for a in accounts.all() if a.person == person.id), None)

    def change(connection: Connection) -> str:
        if values and not any(values.values()):
            raise InputError("is a student, an instructor, or both.", where=person.name)
        entry = person_form.read_entry(typed, person)
        now = change_person(connection, person, now_utc_s=time.time(), **entry, **values)
        if old is not None and old.name != now.name:
            accounts.change(old.name, called=now.name)
            if request.state.account == old:
                request.state.session.account = accounts.find(now.name)
            return f"Put right; the log-in is called {now.name} from now on."
        return "Put right."

    answer = _done(request, person, "entry", typed, change)
    files = [e.title for e in request.app.state.folder.entries("lesson") if not e.shipped and e.student == person.name]
    if answer.status_code == 303 and typed.get("name", "").strip() != person.name and files:
        request.state.session.said += f" Lessons written for {person.name} keep that name: {', '.join(files)}."
    return answer


@router.post("/people/{person_id}/endorse", response_class=HTMLResponse)
def endorse(request: Request, person_id: str, typed: access.Typed) -> Response:
    """An endorsement, given in one's own name."""
    person = _seen(request, person_id)

    def change(connection: Connection) -> str:
        by = access.own_instructor(request, connection, typed.get("by", ""))
        done = person_form.paper(connection, person, typed, by)
        lacks = keeping.lacking(connection, person, done.rule, done.held.on_date, done.held.make_model)
        return "\n".join((f"Endorsed: {_told(done)}", *_strange_model(request, connection, done), *lacks))

    return _done(request, person, "endorse", typed, change)


def _strange_model(request: Request, connection: Connection, done: Validity) -> list[str]:
    """What to say of a make and model that no airplane here is: signed, it could not be taken back."""
    model = done.held.make_model
    known = {a.make_model for a in fleet.airplanes(connection)}
    known |= {e.title for e in request.app.state.folder.entries("airplane") if not e.goes_with_typed}
    if not model or not known or model.casefold() in {one.casefold() for one in known}:
        return []
    near = get_close_matches(model, known, 1)
    meant = f"; {near[0]} is one" if near else ""
    return [f"No airplane here is a {model}{meant}. If it is mistyped, take it back before it is signed."]


def _told(done: Validity) -> str:
    note = f" {done.rule.note}" if done.rule and done.rule.note else ""
    return f"{done.text}, {done.how_long}.{note}" + (f" ({done.remark})" if done.remark else "")


@router.post("/people/{person_id}/date", response_class=HTMLResponse)
def date(request: Request, person_id: str, typed: access.Typed) -> Response:
    """A medical, a test passed, a certificate, or anything with a date."""
    person = _seen(request, person_id)
    _require_change(request, person)
    return _done(request, person, "date", typed, lambda c: f"Noted: {_told(person_form.paper(c, person, typed))}")


@router.post("/people/{person_id}/note", response_class=HTMLResponse)
def note(request: Request, person_id: str, typed: access.Typed) -> Response:
    """A note about a student."""
    person = _seen(request, person_id)

    def change(connection: Connection) -> str:
        by = access.own_instructor(request, connection, typed.get("by", ""))
        keeping.add_note(connection, person, typed.get("words", ""), now_utc_s=time.time(), by=by,
                         for_instructors=typed.get("whose") == "instructors")  # fmt: skip
        return "Noted."

    return _done(request, person, "note", typed, change)


@router.post("/people/{person_id}/take-back", response_class=HTMLResponse)
def take_back(
    request: Request,
    person_id: str,
    what: Annotated[Literal["endorsement", "dated", "note"], Form()] = "note",
    thing: Annotated[str, Form(max_length=64)] = "",
) -> Response:
    """An endorsement, date or note made by mistake: its instructor's, or the chief's, to take back."""
    person = _seen(request, person_id)
    _require_given(request, person, what, thing)
    if what == "dated":
        _require_change(request, person)

    def change(connection: Connection) -> str:
        keeping.take_back(connection, what, thing, now_utc_s=time.time())
        return "Taken back; who did it and what it said is kept in the history."

    return _done(request, person, "papers", {}, change)


def _require_given(request: Request, person: Person, what: Literal["endorsement", "dated", "note"], thing: str) -> None:
    """A paper or note of this person that one has given, or any for the chief; a date is anybody's."""
    chief = access.account_of(request).role == "chief"
    with book.reading(request) as connection:
        mine = {p.id for p in access.may_sign_as(request, connection)}
        if what == "note":
            own = {n.id: n.by_id in mine for n in notes_about(connection, person.id, instructor_notes=True)}
        else:
            own = {
                p.held.held.id: p.held.held.instructor_id in mine if what == "endorsement" else True
                for p in person_form.papers(connection, person)
                if p.what == what
            }
    if thing not in own:
        raise HTTPException(404)
    if not (own[thing] or chief):
        raise HTTPException(403, "Only who gave it, or the chief instructor, may do this.")


@router.post("/people/{person_id}/sign", response_class=HTMLResponse)
def sign(
    request: Request,
    person_id: str,
    by: Annotated[str, Form(max_length=64)] = "",
    password: Annotated[str, Form(max_length=1000)] = "",
    which: Annotated[list[str] | None, Form(max_length=200)] = None,
) -> Response:
    """Sign what one has endorsed, with the password that guards one's key. which : identities; all without any."""
    person = _seen(request, person_id)

    def change(connection: Connection) -> str:
        teacher = access.own_instructor(request, connection, by)
        theirs = seal.unsigned_endorsements(connection, teacher, person)
        ids = [one for one in theirs if which is None or one in which]
        if not ids:
            raise InputError(
                "none of yours is chosen." if theirs else "nothing of yours is unsigned.", where="endorsements"
            )
        seal.sign(connection, "endorsement", ids, teacher, password, now_utc_s=time.time())
        return f"{len(ids)} {'endorsement' if len(ids) == 1 else 'endorsements'} signed."

    return _signing(request, person, "sign", change)


@router.post("/people/{person_id}/end", response_class=HTMLResponse)
def end(
    request: Request,
    person_id: str,
    thing: Annotated[str, Form(max_length=64)] = "",
    by: Annotated[str, Form(max_length=64)] = "",
    why: Annotated[str, Form(max_length=2000)] = "",
    password: Annotated[str, Form(max_length=1000)] = "",
) -> Response:
    """End a signed endorsement, by a signed entry of its instructor's, or of the chief's who is one."""
    person = _seen(request, person_id)
    _require_given(request, person, "endorsement", thing)

    def change(connection: Connection) -> str:
        teacher = access.own_instructor(request, connection, by)
        return f"Ended on {keeping.end(connection, thing, teacher, why, password, now_utc_s=time.time())}."

    return _signing(request, person, "papers", change)


def _signing(request: Request, person: Person, form: str, change: Callable[[Connection], str]) -> Response:
    """As `_done`, of a change that a password signs."""
    said, right = guard.tries(request, "signature")
    if said:
        return _person_page(request, person, form=form, problem=said, status=429)
    answer = _done(request, person, form, {}, change)
    if answer.status_code == 303:
        right()
    return answer


@router.post("/people/{person_id}/key", response_class=HTMLResponse)
def key(
    request: Request,
    person_id: str,
    password: Annotated[str, Form(max_length=1000)] = "",
    again: Annotated[str, Form(max_length=1000)] = "",
    flight: Annotated[str, Form(max_length=64, pattern="^[0-9a-f]*$")] = "",
) -> Response:
    """A signing key of one's own, where there is none yet."""
    person = _seen(request, person_id)

    def change(connection: Connection) -> str:
        own = access.own_instructor(request, connection, person.id)
        if seal.has_key(connection, own):
            raise InputError(
                f"{own.name} has a key; a new one is made by the command airwork logbook key.", where="key"
            )
        if password != again:
            raise InputError("the two are not the same.", where="password")
        seal.make_key(connection, own, password, now_utc_s=time.time())
        return "The key is made. Its password can't be looked up by anybody; without it nothing can be signed."

    answer = _done(request, person, "key", {"flight": flight}, change)
    return RedirectResponse(f"/flights/{flight}", 303) if flight and answer.status_code == 303 else answer
