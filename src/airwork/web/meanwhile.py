"""What another window or somebody else has saved since a form was opened: nothing is written over it unseen."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping

CHANGED = "changed meanwhile, in another window or by somebody else. Nothing was written"


def mark_of(shown: object) -> str:
    """Changes when anything of what a form shows does; it travels with the form."""
    return hashlib.sha256(json.dumps(shown, sort_keys=True, default=str).encode()).hexdigest()


def says_by_now(now: Mapping[str, str], typed: Mapping[str, str], *, but: frozenset[str] = frozenset()) -> str:
    """The refusal: what stands there now where it isn't what was typed. but : fields whose value says nothing."""
    other = {n: v for n, v in now.items() if v and typed.get(n, "").strip() != v and n not in but}
    said = "; ".join(f"{name.replace('_', ' ')}: {value}" for name, value in other.items())
    return (
        f"The entry was {CHANGED}: what you typed stands below. By now it says {said or 'the same in every field'}. "
        "Look at both, and save again."
    )
