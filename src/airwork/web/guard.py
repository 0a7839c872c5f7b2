"""The safety of the server in one place: sessions, log-in rate, host, origin and token checks, headers."""

from __future__ import annotations

import hashlib
import hmac
import math
import secrets
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from threading import Lock

from fastapi import Request

from airwork.web.accounts import Account

SESSION_S = 12 * 3600.0
WINDOW_S = 300.0
# Log-ins that may fail within the window before one has to wait: one name from one address; an address; a name from
# anywhere, high enough that nobody is locked out by somebody else's few tries.
TRIES = {"both": 5, "address": 20, "name": 50}
MOST_SESSIONS = 1000
MOST_KEYS = 10_000
CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "frame-src blob:; font-src 'self'; manifest-src 'self'; worker-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "Content-Security-Policy": CSP,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
}


def cookie_of(folder: Path) -> str:
    """The name of the session's cookie: another for each folder, since a browser keeps one jar for all ports."""
    return f"airwork_session_{hashlib.sha256(str(folder.resolve()).encode()).hexdigest()[:10]}"


@dataclass(slots=True)
class Session:
    """One browser. `token` stands in every form that changes something. No account: not logged in."""

    account: Account | None
    token: str
    ends: float
    said: str = ""  # shown once, on the next page that shows what was done


@dataclass(slots=True)
class Sessions:
    """Sessions of the running server, in memory: a restart logs everybody out."""

    live: OrderedDict[str, Session] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)  # log-ins come from several threads

    def start(self, account: Account | None) -> tuple[str, Session]:
        """A new session with a new name: never the one a browser came with."""
        key = secrets.token_urlsafe(32)
        session = Session(account, secrets.token_urlsafe(32), time.monotonic() + SESSION_S)
        with self._lock:
            self._sweep()
            self.live[key] = session
        return key, session

    def find(self, key: str | None) -> Session | None:
        """The live session of a cookie."""
        session = self.live.get(key or "")
        if session is None or session.ends < time.monotonic():
            return None
        return session

    def end(self, key: str | None) -> None:
        """Log out."""
        with self._lock:
            self.live.pop(key or "", None)

    def _sweep(self) -> None:
        now = time.monotonic()
        for key in [k for k, s in self.live.items() if s.ends < now]:
            del self.live[key]
        while len(self.live) >= MOST_SESSIONS:  # the oldest nobody has logged in with go first: a flood ends no log-in
            del self.live[next((k for k, s in self.live.items() if s.account is None), next(iter(self.live)))]


@dataclass(slots=True)
class LoginRate:
    """Failed log-ins within the window, by name, by address, and by both."""

    failed: OrderedDict[tuple[str, str], deque[float]] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)

    @staticmethod
    def _keys(name: str, address: str) -> tuple[tuple[str, str], ...]:
        return ("both", f"{address} {name}"), ("address", address), ("name", name)

    def begin(self, name: str, address: str) -> float:
        """Take a try before it is made, so that many at once count as many. How long to wait first, 0 when not. [s]

        A log-in that fits gives its try back (`fits`).
        """
        now, wait = time.monotonic(), 0.0
        with self._lock:
            keys = self._keys(name, address)
            for key in keys:
                times = self.failed.get(key)
                while times and now - times[0] > WINDOW_S:
                    times.popleft()
                if times and len(times) >= TRIES[key[0]]:
                    wait = max(wait, WINDOW_S - (now - times[0]))
            if wait > 0.0:
                return wait
            for key in keys:
                self.failed.setdefault(key, deque(maxlen=TRIES[key[0]])).append(now)
                self.failed.move_to_end(key)
            while len(self.failed) > MOST_KEYS:  # a flood of names must not fill the memory
                self.failed.popitem(last=False)
        return 0.0

    def fits(self, name: str, address: str) -> None:
        """The newest try of this name from this address was the right password."""
        with self._lock:
            for key in self._keys(name, address):
                times = self.failed.get(key)
                if times:
                    times.pop()


def tries(request: Request, name: str) -> tuple[str, Callable[[], None]]:
    """Take a try of a password from where a request comes: (what to say to who must wait, "" else; what gives the try
    back once it was right)."""
    rate, address = request.app.state.rate, request.client.host if request.client else ""
    wait = rate.begin(name, address)
    said = f"Too many tries; wait {math.ceil(wait / 60)} min." if wait > 0.0 else ""
    return said, partial(rate.fits, name, address)


HSTS = "max-age=31536000"  # a browser that has met us by TLS never again comes without; a year, our own choice


def same_origin(headers: Mapping[str, str]) -> bool:
    """The browser says that the request comes from our own page. Schemes may differ: a proxy may speak TLS for us."""
    site = headers.get("sec-fetch-site")
    if site is not None and site != "same-origin":
        return False
    origin = headers.get("origin")
    if origin is not None:
        return origin.partition("://")[2] == headers.get("host", "")
    return site == "same-origin"


def who(account: Account | None) -> str:
    """A word that differs for each account and password, for what a browser keeps of its own; "" for nobody."""
    if account is None:
        return ""
    text = f"{account.name}\x1f{account.role}\x1f{account.person}\x1f{account.mark}"
    return hashlib.sha256(text.encode()).hexdigest()[:20]


def token_fits(session: Session, token: str | None) -> bool:
    """The form's token is the session's."""
    return hmac.compare_digest(session.token.encode(), (token or "").encode())
