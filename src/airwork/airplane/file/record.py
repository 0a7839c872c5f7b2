"""A table of the airplane file after it was checked: its keys as attributes. Stands in for the model."""

from __future__ import annotations

from typing import Any

_FREE = {"station_maximum_lb"}  # tables whose keys are names of the user's own: they stay dicts


class Record:
    """One table. Unchanging; equal to a table (or its model) with the same keys and values."""

    __slots__ = ("__dict__",)

    def __init__(self, table: dict[str, Any]) -> None:
        self.__dict__.update({k: v if k in _FREE else _value(v) for k, v in table.items()})

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"{name} can't be changed: a checked table is frozen")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"{name} can't be removed: a checked table is frozen")

    def __eq__(self, other: object) -> bool:
        dump = getattr(other, "model_dump", None)
        return bool(self.model_dump() == dump()) if dump is not None else NotImplemented

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"Record({', '.join(f'{k}={v!r}' for k, v in self.__dict__.items())})"

    def model_dump(self, *, mode: str = "json") -> dict[str, Any]:
        """The table as plain data, which is the same for JSON and for Python."""
        return {key: _plain(value) for key, value in self.__dict__.items()}

    def model_copy(self, *, update: dict[str, Any]) -> Record:
        """The same table with some keys replaced."""
        new = Record({})
        new.__dict__.update(self.__dict__ | update)
        return new


def _value(value: Any) -> Any:
    if isinstance(value, dict):
        return Record(value)
    if isinstance(value, list):
        return [_value(v) for v in value]
    return value


def _plain(value: Any) -> Any:
    if isinstance(value, Record):
        return value.model_dump()
    if isinstance(value, list):
        return [_plain(v) for v in value]
    return value
