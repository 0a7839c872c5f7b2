"""An instructor's signing key: make it, give it another password, end it; accept one that came with another logbook.

  airwork logbook key "Ike Teacher"
  airwork logbook key "Ike Teacher" --new-password
  airwork logbook key "Ike Teacher" --end
  airwork logbook key --accept 3fa94c1e

The password guards the key: it is asked for at each signature, and nobody can look it up. A lost one means a new key,
which ends the old one (--agree); what that signed stays signed. Accept a key only after its owner has told you its
first 8 characters.
"""

from __future__ import annotations

import argparse

from sqlalchemy import Connection

from airwork.cli.logbook_tools import agree_option, now_s, password, password_option
from airwork.errors import InputError
from airwork.logbook import people, seal

BOOK = "change"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("instructor", nargs="?", metavar="NAME")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--new-password", action="store_true", help="keep the key, change its password")
    what.add_argument("--end", action="store_true", help="it signs nothing more; what it signed stands")
    what.add_argument("--accept", metavar="KEY", help="take a key that came with another logbook for its owner's")
    agree_option(parser)
    password_option(parser)


def run(args: argparse.Namespace, book: Connection) -> str:
    """Do it and say the key's first characters, which its owner tells others."""
    if args.accept:
        owner = seal.accept_key(book, args.accept)
        return f"key {args.accept[:8]} is taken for {owner.name}'s; what it signed now counts as signed"
    if not args.instructor:
        raise InputError("say whose: a name, or --accept KEY.", where="key")
    who = people.find_person(book, args.instructor, instructor=True)
    if args.end:
        ended = seal.end_keys(book, who, now_utc_s=now_s())
        return f"{who.name}: {'the key signs nothing more' if ended else 'there was no key'}"
    if args.new_password:
        old = password(args, f"password of {who.name}'s key")
        seal.repack_key(book, who, old, password(args, "new password", twice=True))
        return f"{who.name}: the key has its new password"
    word = password(args, f"password for {who.name}'s key", twice=True)
    key_id = seal.make_key(book, who, word, now_utc_s=now_s(), agreed=args.agree)
    return f"{who.name} signs with key {key_id[:8]}"
