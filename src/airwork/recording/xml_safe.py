"""XML without its dangers: no document type, no entities, nothing fetched; streamed, so a big file stays small."""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import BytesIO
from xml.etree import ElementTree
from xml.parsers.expat import errors

from airwork.errors import InputError
from airwork.recording.flight import Mend

MOST_DEPTH = 60
# The parser reached the end within an element, a tag, a character or a section.
_BROKEN_OFF = frozenset([errors.codes[m] for m in (errors.XML_ERROR_NO_ELEMENTS, errors.XML_ERROR_UNCLOSED_TOKEN,
                        errors.XML_ERROR_PARTIAL_CHAR, errors.XML_ERROR_UNCLOSED_CDATA_SECTION)])  # fmt: skip
_MISMATCHED = errors.codes[errors.XML_ERROR_TAG_MISMATCH]


def elements(data: bytes, where: str, mends: list[Mend]) -> Iterator[tuple[str, ElementTree.Element]]:
    """("start" | "end", element) in order; end events only for elements that are complete.

    A file that breaks off, or closes what isn't open, is read as far as it goes, which is added to `mends`.

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
        if problem.code in _BROKEN_OFF and depth > 1:
            mends.append(Mend("the file breaks off before its end: what was flown after it is lost", 1))
            return
        if problem.code == _MISMATCHED and depth > 0:
            mends.append(Mend(f"a slip in its XML ({problem}): what stands after it isn't read", 1))
            return
        raise InputError(f"is no well-formed XML ({problem}).", where=where) from None


def bare(tag: object) -> str:
    """A tag without its namespace."""
    return str(tag).rpartition("}")[2]
