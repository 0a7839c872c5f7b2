"""Records as plain data for --json and the web's .json pages: keys carry their units as the fields do."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any


def plain(value: Any) -> Any:
    """Dataclasses, rules, dates and tuples as dictionaries, text and lists; a number that is none becomes null."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value) if not f.name.startswith("_")}
    if hasattr(value, "model_dump"):  # pydantic's, which not every command loads
        return value.model_dump(mode="json", exclude_none=True)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
