"""Frozen records that are quick to define.

A plan is made of more than a hundred kinds of records, and the standard library writes and compiles seven methods for
each as the program starts: a fifth of the time of a whole briefing. Here the methods that can be shared are shared.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, TypeVar, dataclass_transform

T = TypeVar("T")


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def record(cls: type[T]) -> type[T]:
    """As `@dataclass(frozen=True, slots=True)`; equality, hash and repr are the same, but common to all records."""
    made = dataclass(frozen=True, slots=True, eq=False, repr=False)(cls)
    for name, method in (("__eq__", _equal), ("__hash__", _hash), ("__repr__", _repr)):
        if name not in cls.__dict__:
            setattr(made, name, method)
    return made


def _compared(value: Any) -> tuple[Any, ...]:
    return tuple([getattr(value, name) for name, f in value.__dataclass_fields__.items() if f.compare])


def _equal(self: Any, other: object) -> bool:
    return _compared(self) == _compared(other) if other.__class__ is self.__class__ else NotImplemented


def _hash(self: Any) -> int:
    return hash(_compared(self))


def _repr(self: Any) -> str:
    shown = [f"{name}={getattr(self, name)!r}" for name, f in self.__dataclass_fields__.items() if f.repr]
    return f"{type(self).__qualname__}({', '.join(shown)})"
