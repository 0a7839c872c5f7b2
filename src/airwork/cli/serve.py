"""Serve the pages: today, debrief, airplanes, students, in a browser.

  airwork serve
  airwork serve --folder my_lessons --data school.sqlite --open
  airwork serve --tiles my_county.pmtiles
  airwork serve --invite "Emmett Dray" --role chief
  airwork serve --invite "Nora Whitlock" --role student   # once the chief is invited
  airwork serve --public fly.example.org

Lessons and airplanes are taken from FOLDER (and its lessons/ and airplanes/), the logbook from --data. Everything stays
on this machine and works offline. Another address than this machine's own is refused until somebody is invited: an
invitation is a link that works once, for a week, and lets a person of the logbook choose a password. --public NAME is
for a proxy on this machine that speaks TLS for that name (passwords travel as typed). A student's account shows only
what is theirs; an instructor gives marks, entries and signatures in their own name; the chief invites.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from airwork.cli import CAUTION, DONE
from airwork.errors import InputError

if TYPE_CHECKING:
    from airwork.web.accounts import Accounts, Role
    from airwork.web.settings import Settings


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("--folder", type=Path, default=Path(), metavar="FOLDER", help="lessons and airplanes; this folder if not given")
    add("--data", metavar="PATH|URL", help="the logbook (else AIRWORK_DATA, else yours where there is one)")
    add("--tiles", type=Path, metavar="FILE", help="a map of your own in PMTiles, drawn under every map")
    add("--host", default="127.0.0.1", help="address to listen on; this machine only if not given")
    add("--port", type=int, default=8642, help="8642 if not given")
    add("--open", action="store_true", help="open the page in a browser")
    add("--public", default="", metavar="NAME", help="the name browsers use, behind a proxy that speaks TLS for it")
    add("--proxy", default="127.0.0.1", metavar="ADDRESS", help="with --public: the proxy's; this machine if not given")
    add("--invite", metavar="NAME", help="print the link by which a person of the logbook chooses a password, and stop")
    add("--role", choices=["student", "instructor", "chief"], help="with --invite; as entered in the logbook without")
    add("--remove-account", metavar="NAME", help="take a person's account out and stop")


def run(args: argparse.Namespace) -> int:
    """Serve until stopped, or change an account."""
    from airwork.web.accounts import Accounts
    from airwork.web.settings import ACCOUNTS_FILE, Settings, require_safe
    from airwork.web.tiles import open_tiles

    folder: Path = args.folder
    if not folder.is_dir():
        raise InputError("is no folder.", where=str(folder))
    accounts = Accounts(folder / ACCOUNTS_FILE)
    if args.invite is not None:
        return _invite(args, accounts)
    if args.role is not None:
        raise InputError("goes with --invite.", where="--role")
    if args.remove_account is not None:
        accounts.remove(args.remove_account)
        print(f"{args.remove_account} can't log in any more")
        return DONE
    tiles = None if args.tiles is None else open_tiles(args.tiles.resolve())
    settings = Settings(
        folder=folder.resolve(), data=_data(args.data), tiles=tiles, host=args.host, port=args.port,
        public=args.public, proxy=args.proxy, processes=1 if accounts.any else 0,
    )  # fmt: skip
    require_safe(settings, password_set=accounts.any)
    return _serve(settings, open_page=args.open)


def _serve(settings: Settings, *, open_page: bool) -> int:
    import socket

    import uvicorn

    from airwork.web.app import create_app

    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    with socket.socket(family) as listening:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((settings.host, settings.port))
        except OSError as problem:
            raise InputError(f"{settings.host}:{settings.port}: {problem.strerror}.", where="--host, --port") from None
        except OverflowError:
            raise InputError("a port is 0 to 65535.", where="--port") from None
        listening.listen(64)
        shown = f"[{settings.host}]" if family == socket.AF_INET6 else settings.host
        if settings.host in {"0.0.0.0", "::"}:  # every address of this machine: a browser wants one of them
            shown = socket.gethostname()
        address = f"http://{shown}:{listening.getsockname()[1]}/"
        print(f"airwork is at {address}   (stop with Ctrl+C)\n{CAUTION}", flush=True)
        if open_page:
            import webbrowser

            webbrowser.open(address)
        config = uvicorn.Config(
            create_app(settings), log_level="warning", access_log=False, server_header=False,
            proxy_headers=bool(settings.public), forwarded_allow_ips=settings.proxy,
        )  # fmt: skip
        uvicorn.Server(config).run(sockets=[listening])
    return DONE


def _data(given: str | None) -> str | None:
    """The logbook: the one asked for, else the user's where there is one; None goes without."""
    import os

    from airwork.logbook.store import default_path, open_store

    where = given or os.environ.get("AIRWORK_DATA") or (str(default_path()) if default_path().exists() else None)
    if where is not None:
        open_store(where).close()  # what is wrong with it is said now
    return where


def _invite(args: argparse.Namespace, accounts: Accounts) -> int:
    from airwork.logbook.people import find_person
    from airwork.logbook.store import open_store
    from airwork.web.accounts import Account

    store = open_store(args.data)
    try:
        with store.read() as connection:
            who = find_person(connection, args.invite)
    finally:
        store.close()
    role: Role = args.role or ("instructor" if who.is_instructor else "student")
    if role != "student" and not who.is_instructor:
        raise InputError(f"{who.name} is not entered as an instructor.", where="--role")
    word = accounts.invite(Account(who.name, role, who.id))
    at = f"https://{args.public}" if args.public else f"http://{args.host}:{args.port}"
    print(f"{who.name}, {role}: {at}/join/{word}\n  works once, until a week from now; give it to nobody else")
    return DONE
