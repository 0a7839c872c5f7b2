"""A standard's file as written (TOML), checked by pydantic."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Number = Annotated[float, Field(allow_inf_nan=False)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class CriterionFile(_Strict):
    name: str = Field(min_length=1, max_length=80)
    quantity: str
    low: Number | None = None
    high: Number | None = None
    nominal: Number | None = None
    unit: str
    about: str = Field("", max_length=200)
    text: str = Field("", max_length=120)
    source: str = ""
    label: Literal["V", "M", "P", "S", ""] = ""


class TaskFile(_Strict):
    kind: str = Field(pattern=r"^[a-z][a-z0-9_]{0,60}$")
    same_as: str = ""
    code: str = Field("", max_length=60)
    title: str = Field("", max_length=120)
    source: str = ""
    label: Literal["V", "M", "P", "S", ""] = ""
    min_agl_ft: Annotated[float, Field(ge=0, le=20000)] | None = None
    notes: tuple[str, ...] = ()
    criteria: tuple[CriterionFile, ...] | None = None


class StandardHead(_Strict):
    id: str = Field(pattern=r"^[a-z][a-z0-9_]{0,60}$")
    title: str = Field(min_length=1, max_length=120)
    authority: str = Field("", max_length=120)
    edition: str = Field("", max_length=200)
    certificate: str = Field("", max_length=60)
    notes: tuple[str, ...] = ()


class StandardFile(_Strict):
    """A standard's file as written: see docs/standards.md."""

    extends: str | tuple[str, ...] = ()
    standard: StandardHead
    documents: dict[str, str] = Field(default_factory=dict)
    task: tuple[TaskFile, ...] = ()
    judging: dict[str, Number] = Field(default_factory=dict)
