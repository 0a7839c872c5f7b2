"""`[fitted]` of an airplane file: parameters learned from handbook and readings, written by `airwork airplane fit`."""

from __future__ import annotations

from pydantic import Field

from airwork.airplane.file.base import Name, Table, Text


class Fitted(Table):
    """Fitted parameters. They hold only for the tables and readings they were fitted to: `inputs` is their digest."""

    airwork: Name = Field(description="version that wrote it")
    date: Name = Field(description="when")
    law: Name = Field(description="which law the parameters are of")
    inputs: Name = Field(description="digest of the tables and readings they were fitted to; else they are fitted anew")
    names: list[Name] = Field(description="names of the parameters")
    values: list[float] = Field(description="their values")
    covariance: list[list[float]] = Field(description="their covariance")
    says: list[Text] = Field(default_factory=list, description="in words, for people")
