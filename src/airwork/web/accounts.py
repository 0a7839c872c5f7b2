"""Who may log in: people of the logbook, their roles and argon2 password hashes, in a file only its owner can read.

Nobody types a password for somebody else: an invitation is a link that works once and for a week, and who opens it
chooses their own. Of an invitation only the hash is kept.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
import time
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from threading import RLock, Semaphore
from typing import Literal

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError

from airwork.errors import InputError
from airwork.files import write_whole
from airwork.logbook.passwords import require_strong

Role = Literal["student", "instructor", "chief"]
ROLES: tuple[Role, ...] = ("student", "instructor", "chief")
INVITED_S = 7 * 86400.0

# Fifty who log in at once on two processors wait under 3 s. The least asked for is 19 MiB, 2 passes, 1 lane (OWASP,
# Password Storage Cheat Sheet); the second recommended option of RFC 9106, kept before, costs three times as much.
_hasher = PasswordHasher(time_cost=2, memory_cost=32 * 1024, parallelism=1)
_writing = RLock()  # reading, changing and writing the file is one step
_at_once = Semaphore(2)  # a check takes 32 MB on purpose: a flood of log-ins must not fill the memory


@cache
def _nobody() -> str:
    """Compared against when a name is unknown, so that an unknown name costs the same time as a wrong password."""
    return _hasher.hash("nobody has this password")


@dataclass(frozen=True, slots=True)
class Account:
    """One person who may log in. Equal when all fields are: a session whose account has changed is over.

    person : the logbook's id of who it is; "" for whoever sits at the machine of a server without accounts.
    mark : changes with the password.
    """

    name: str
    role: Role
    person: str = ""
    mark: str = ""

    @property
    def teaches(self) -> bool:
        """An instructor, or the chief."""
        return self.role != "student"


class Accounts:
    """The accounts file. Reads at each question, so that a change counts at once."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def _read(self) -> dict[str, dict[str, str]]:
        if not self.path.exists():
            return {}
        try:
            found = json.loads(self.path.read_text(encoding="utf-8"))
            return {str(k): {str(a): str(b) for a, b in v.items()} for k, v in found.items()}
        except (ValueError, AttributeError, OSError):
            # Never "no accounts": that would open the server to everybody.
            raise InputError("can't be read; restore it from a backup or delete it.", where=str(self.path)) from None

    @property
    def any(self) -> bool:
        """At least one password has been set, or somebody is invited to set one."""
        return bool(self._read())

    @property
    def chief(self) -> bool:
        """A chief instructor logs in, or is invited to: somebody can invite the others."""
        return any(person.get("role") == "chief" for person in self._read().values())

    def set_password(self, account: Account, password: str) -> None:
        """Add a person or change their password.

        Raises
        ------
        InputError : an empty name, a password that is short, common or easily guessed, a student without the
            logbook's id.
        """
        if not account.name.strip():
            raise InputError("a name is needed.", where="name")
        if account.role == "student" and not account.person:
            raise InputError("a student's account needs the student's id in the logbook.", where="student")
        require_strong(password, account.name)
        hashed = _hasher.hash(password)
        with _writing:
            people = self._read()
            self._refuse_anothers(people, account)
            people[account.name] = {"role": account.role, "person": account.person, "hash": hashed}
            self._write(people)

    @staticmethod
    def _refuse_anothers(people: dict[str, dict[str, str]], account: Account) -> None:
        """Who logs in under a name stays who they are: another person of that name needs another name first."""
        there = people.get(account.name, {}).get("person", "")
        if there not in {"", account.person}:
            raise InputError(
                "somebody else logs in under this name; give one of the two another, or take that log-in out.",
                where=account.name,
            )

    def invite(self, account: Account) -> str:
        """A word that lets this person choose a password, once, within a week. Nobody can log in with it.

        Raises
        ------
        InputError : nobody of the logbook; another role than they have; or no chief instructor is invited yet.
        """
        if not account.name.strip() or not account.person:
            raise InputError("only a person of the logbook is invited.", where="name")
        if account.role != "chief" and not self.chief:
            problem = "from the first invitation on everybody logs in, you too: invite the chief instructor first."
            raise InputError(problem, where="invitation")
        word = secrets.token_urlsafe(24)
        with _writing:
            people = self._read()
            self._refuse_anothers(people, account)
            person = people.setdefault(account.name, {"hash": ""})
            if person["hash"] and person.get("role") != account.role:  # a link nobody has used yet changes nothing
                raise InputError(f"logs in as {person.get('role')} already; change the role first.", where=account.name)
            person |= {"role": account.role, "person": account.person, "invited": _digest(word),
                       "until": f"{time.time() + INVITED_S:.0f}"}  # fmt: skip
            self._write(people)
        return word

    def invited(self, word: str) -> Account | None:
        """Whose invitation this is; None when it is nobody's, used, or over."""
        for name, person in self._read().items():
            fits = hmac.compare_digest(person.get("invited", ""), _digest(word))
            if fits and float(person.get("until", "0")) > time.time():
                return self.find(name)
        return None

    def accept(self, word: str, password: str) -> Account:
        """The invited person's own password; the invitation is used up."""
        with _writing:  # two who open it at the same moment: one of them
            account = self.invited(word)
            if account is None:
                raise InputError("this invitation was used, or is over; ask for a new one.", where="invitation")
            self.set_password(account, password)
        found = self.find(account.name)
        assert found is not None
        return found

    def change(self, name: str, *, called: str = "", role: Role | None = None) -> None:
        """Another name or another role for somebody; their sessions end, but password and invitation stay.

        Raises
        ------
        InputError : no such person, a name somebody else logs in with, or the last chief made something else.
        """
        with _writing:
            people = self._read()
            if name not in people:
                raise InputError(f"nobody called {name!r} can log in.", where="name")
            if called and called != name and called in people:
                raise InputError(f"somebody called {called!r} logs in already.", where="name")
            others = [p for n, p in people.items() if n != name and p.get("role") == "chief" and p.get("hash")]
            if role not in {None, "chief"} and people[name].get("role") == "chief" and not others:
                raise InputError("is the only chief instructor; make somebody else one first.", where=name)
            people[name]["role"] = role or people[name]["role"]
            people[called or name] = people.pop(name)
            self._write(people)

    def remove(self, name: str) -> None:
        """Take a person out.

        Raises
        ------
        InputError : no such person, or the last one: the server would be open to everybody who reaches it.
        """
        with _writing:
            people = self._read()
            if name not in people:
                raise InputError(f"nobody called {name!r} can log in.", where="name")
            if sum(bool(p.get("hash")) for n, p in people.items() if n != name) == 0:
                raise InputError("is the last account; set another password first.", where=name)
            del people[name]
            self._write(people)

    def forget(self, name: str) -> None:
        """Somebody the logbook has forgotten: name and password go."""
        with _writing:
            people = self._read()
            if people.pop(name, None) is not None:
                self._write(people)

    def _write(self, people: dict[str, dict[str, str]]) -> None:
        """Whole, and never readable by others, not even for a moment."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(self.path, json.dumps(people, indent=1), mode=0o600)

    def meant(self, name: str) -> str:
        """The name as it stands here of somebody who typed it with other capitals or blanks."""
        plain = " ".join(name.split()).casefold()
        return next((n for n in self._read() if " ".join(n.split()).casefold() == plain), name)

    def check(self, name: str, password: str) -> Account | None:
        """The account when name and password fit, else None; takes the same time either way."""
        person = self._read().get(name)
        try:
            with _at_once:
                _hasher.verify(_nobody() if person is None or not person["hash"] else person["hash"], password)
        except (Argon2Error, InvalidHashError, KeyError):
            return None
        if person is None or not person["hash"]:
            return None
        if _hasher.check_needs_rehash(person["hash"]):
            with _at_once:
                new = _hasher.hash(password)
            self._renew(name, person["hash"], new)
        return self.find(name)

    def _renew(self, name: str, old: str, new: str) -> None:
        """The same password as it is hashed now; who is logged in stays so."""
        with _writing:
            people = self._read()
            if people.get(name, {}).get("hash") == old:  # not changed meanwhile
                people[name] |= {"hash": new, "mark": people[name].get("mark") or _mark(old)}
                self._write(people)

    def find(self, name: str) -> Account | None:
        """The account of a name, None when it is gone."""
        person = self._read().get(name)
        role = next((r for r in ROLES if person is not None and person.get("role") == r), None)
        if person is None or role is None:
            return None
        mark = person.get("mark") or _mark(person.get("hash", ""))
        return Account(name, role, person.get("person") or person.get("student", ""), mark)

    def all(self) -> list[Account]:
        """Everybody who may log in or is invited, by name."""
        return [found for name in sorted(self._read()) if (found := self.find(name)) is not None]


def _mark(hashed: str) -> str:
    return _digest(hashed)[:16]


def _digest(word: str) -> str:
    return hashlib.sha256(word.encode()).hexdigest()
