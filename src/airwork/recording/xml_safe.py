"""XML without its dangers: no document type, no entities, nothing fetched; streamed, so a big file stays small."""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import BytesIO
from xml.etree import ElementTree

from airwork.errors import InputError

MOST_DEPTH = 60


def elements(data: bytes, where: str) -> Iterator[tuple[str, ElementTree.Element]]:
    """("start" | "end", element) in order; end events only for elements that are complete.

    Raises
    ------
    InputError : a document type or entity declaration, XML that isn't well-formed, or nested too deep.
    """
    if re.search(rb"<!\s*(?:DOCTYPE|ENTITY)", data):
        raise InputError("declares a document type or entities; a recording needs none, so it is refused.", where=where)
    depth = 0
    try:
        for event, element in ElementTree.iterparse(BytesIO(data), events=("start", "end")):
            depth += 1 if event == "start" else -1
            if depth > MOST_DEPTH:
                raise InputError(f"is nested more than {MOST_DEPTH} deep; no recording looks so.", where=where)
            yield event, element
    except LookupError:
        raise InputError("names a character encoding that doesn't exist; write it as UTF-8.", where=where) from None
    except ElementTree.ParseError as problem:
        raise InputError(f"is no well-formed XML ({problem}).", where=where) from None


def bare(tag: object) -> str:
    """A tag without its namespace."""
    return str(tag).rpartition("}")[2]
