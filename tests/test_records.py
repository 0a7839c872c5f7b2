"""Records behave as the standard library's frozen data classes do."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, is_dataclass, replace
from typing import Any

import pytest
from pydantic import TypeAdapter

from airwork.records import record


@record
class Ours:
    name: str
    size_m: float = 1.0
    note: str = field(default="", compare=False)
    more: dict[str, float] = field(default_factory=dict, repr=False)


@dataclass(frozen=True, slots=True)
class Theirs:
    name: str
    size_m: float = 1.0
    note: str = field(default="", compare=False)
    more: dict[str, float] = field(default_factory=dict, repr=False)


@record
class Tip:
    a: int
    b: tuple[int, ...] = ()


def test_a_record_compares_and_prints_as_a_data_class() -> None:
    assert Ours("x") == Ours("x", note="said otherwise")
    assert Ours("x") != Ours("x", 2.0)
    assert Ours("x") != Theirs("x")  # type: ignore[comparison-overlap]
    assert repr(Ours("x", 2.0)) == repr(Theirs("x", 2.0)).replace("Theirs", "Ours")
    assert hash(Tip(1, (2,))) == hash(Tip(1, (2,)))
    assert len({Tip(1), Tip(1), Tip(2)}) == 2
    with pytest.raises(TypeError, match="unhashable"):
        hash(Ours("x"))  # a dict inside, as with a data class


def test_a_record_is_frozen_and_has_no_room_for_more() -> None:
    made = Ours("x")
    with pytest.raises(FrozenInstanceError):
        made.name = "y"  # type: ignore[misc]
    with pytest.raises(FrozenInstanceError):
        del made.name
    assert not hasattr(made, "__dict__")


def test_the_tools_for_data_classes_take_records() -> None:
    kind: Any = Ours
    assert is_dataclass(Ours)
    assert [f.name for f in fields(kind)] == ["name", "size_m", "note", "more"]
    assert replace(kind("x"), name="y") == kind("y")
    assert asdict(kind("x", 2.0)) == {"name": "x", "size_m": 2.0, "note": "", "more": {}}
    adapter = TypeAdapter(kind)
    assert adapter.validate_json(adapter.dump_json(kind("x", more={"a": 1.0}))) == kind("x", more={"a": 1.0})


def test_a_method_of_its_own_stays() -> None:
    @record
    class Named:
        name: str

        def __repr__(self) -> str:
            return self.name

    assert repr(Named("x")) == "x"
