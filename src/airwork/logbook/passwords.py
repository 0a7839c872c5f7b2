"""Passwords that nobody guesses: of a log-in, and of the key an instructor signs with."""

from __future__ import annotations

from airwork.errors import InputError

LEAST_LETTERS, MOST_LETTERS = 12, 1000  # of a password; our own choice
LEAST_SCORE = 3  # of 4, by the estimator of guesses: "safely unguessable"


def require_strong(password: str, *about: str) -> None:
    """A password that nobody guesses.

    Raises
    ------
    InputError : too short or too long, one of the common ones, or easily guessed (also from the names given).
    """
    if not LEAST_LETTERS <= len(password) <= MOST_LETTERS:
        raise InputError(f"{LEAST_LETTERS} to {MOST_LETTERS} letters.", where="password")
    from zxcvbn import zxcvbn

    words = [word for text in about for word in (text, "".join(text.split()), *text.split())]
    found = zxcvbn(password[:72], user_inputs=["airwork", *words])  # longer ones only cost time
    if found["score"] < LEAST_SCORE:
        said = found["feedback"]["warning"] or "easily guessed"
        raise InputError(f"{said.rstrip('.')}; take a few unrelated words.", where="password")
