"""Who may log in: names, roles and argon2 password hashes in one small file that only its owner can read."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass
from pathlib import Path
from threading import Semaphore
from typing import Literal

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError

from airwork.errors import InputError

Role = Literal["instructor", "student"]
LEAST_LETTERS = 10  # of a password; our own choice
MOST_LETTERS = 1000

_hasher = PasswordHasher()
_at_once = Semaphore(2)  # a check takes 64 MB on purpose: a flood of log-ins must not fill the memory
# Compared against when a name is unknown, so that an unknown name costs the same time as a wrong password.
_NOBODY = _hasher.hash("nobody has this password")


@dataclass(frozen=True, slots=True)
class Account:
    """One person who may log in. Equal when all fields are: a session whose account has changed is over.

    student : the logbook's id of the student a student's account belongs to.
    mark : changes with the password.
    """

    name: str
    role: Role
    student: str = ""
    mark: str = ""


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
        """At least one password has been set."""
        return bool(self._read())

    def set_password(self, account: Account, password: str) -> None:
        """Add a person or change their password.

        Raises
        ------
        InputError : an empty name, a short password, a student without the logbook's id.
        """
        if not account.name.strip():
            raise InputError("a name is needed.", where="name")
        if not LEAST_LETTERS <= len(password) <= MOST_LETTERS:
            raise InputError(f"{LEAST_LETTERS} to {MOST_LETTERS} letters.", where="password")
        if account.role == "student" and not account.student:
            raise InputError("a student's account needs the student's id in the logbook.", where="student")
        people = self._read()
        people[account.name] = {"role": account.role, "student": account.student, "hash": _hasher.hash(password)}
        self._write(people)

    def remove(self, name: str) -> None:
        """Take a person out.

        Raises
        ------
        InputError : no such person, or the last one: the server would be open to everybody who reaches it.
        """
        people = self._read()
        if name not in people:
            raise InputError(f"nobody called {name!r} can log in.", where="name")
        if len(people) == 1:
            raise InputError("is the last account; set another password first.", where=name)
        del people[name]
        self._write(people)

    def _write(self, people: dict[str, dict[str, str]]) -> None:
        """Whole, and never readable by others, not even for a moment."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        new = self.path.with_name(f"{self.path.name}.{os.getpid()}.new")
        new.unlink(missing_ok=True)
        handle = os.open(new, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(json.dumps(people, indent=1))
            out.flush()
            os.fsync(out.fileno())
        new.replace(self.path)

    def check(self, name: str, password: str) -> Account | None:
        """The account when name and password fit, else None; takes the same time either way."""
        person = self._read().get(name)
        try:
            with _at_once:
                _hasher.verify(_NOBODY if person is None else person["hash"], password)
        except (Argon2Error, InvalidHashError, KeyError):
            return None
        return None if person is None else self.find(name)

    def find(self, name: str) -> Account | None:
        """The account of a name, None when it is gone."""
        person = self._read().get(name)
        if person is None or person.get("role") not in {"instructor", "student"}:
            return None
        mark = hashlib.sha256(person.get("hash", "").encode()).hexdigest()[:16]
        return Account(
            name, "student" if person["role"] == "student" else "instructor", person.get("student", ""), mark
        )
