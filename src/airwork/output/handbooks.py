"""What the keys of handbooks mean that stand beside numbers: "[AFH] ch. 5"."""

from __future__ import annotations

import re

# Full titles as in docs/bibliography.md; a test holds the two together.
HANDBOOKS = {
    "PHAK": "Pilot's Handbook of Aeronautical Knowledge, FAA-H-8083-25C",
    "AFH": "Airplane Flying Handbook, FAA-H-8083-3C",
    "AWH": "Aviation Weather Handbook, FAA-H-8083-28",
    "IFH": "Instrument Flying Handbook, FAA-H-8083-15B",
    "WBH": "Weight and Balance Handbook, FAA-H-8083-1B",
}


def named_in(text: str) -> tuple[tuple[str, str], ...]:
    """(key, title) of every handbook whose key stands in a text.

    >>> named_in("half the bank, [AFH] ch. 3 and 10")
    (('AFH', 'Airplane Flying Handbook, FAA-H-8083-3C'),)
    """
    found = set(re.findall(r"\[([A-Z]{3,4})\]", text))
    return tuple((key, title) for key, title in HANDBOOKS.items() if key in found)
