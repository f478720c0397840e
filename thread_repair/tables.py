"""The CSV tables of `data/`: read once, never changed, every row with its source."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType

from .errors import DataError, unknown
from .sources import Reference

Row = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """One number of `constants.csv` and where it comes from."""

    value: float
    reference: Reference


@cache
def rows(name: str) -> tuple[Row, ...]:
    """Return the rows of a table in `data/`, as text, in file order.

    Raises
    ------
    DataError
        If a row is short, long or without a source.
    """
    text = resources.files("thread_repair").joinpath(f"data/{name}").read_text("utf-8")
    found = []
    for number, row in enumerate(csv.DictReader(text.splitlines()), start=2):
        if None in row or None in row.values():
            raise DataError(f"{name}:{number}: the row does not have the header's columns")
        for column in ("source", "how_known"):
            if not row.get(column):
                raise DataError(f"{name}:{number}: no {column}")
        found.append(MappingProxyType(row))
    return tuple(found)


def row(name: str, column: str, value: str, what: str) -> Row:
    """Return the row of a table that has a value in a column.

    Raises
    ------
    UnknownNameError
        Naming `what` and the nearest known values.
    """
    found = {each[column]: each for each in rows(name)}
    if value not in found:
        raise unknown(what, value, found)
    return found[value]


def reference(row: Row, what: str = "") -> Reference:
    """Return where a row comes from."""
    return Reference(
        source=row["source"], clause=row.get("clause", ""), how_known=row["how_known"], what=what
    )


@cache
def cited(*names: str) -> tuple[Reference, ...]:
    """Return what `references.csv` cites under names: where formulas and assumptions stand.

    Raises
    ------
    DataError
        If it cites nothing under a name.
    """
    found = [(name, row) for name in names for row in rows("references.csv") if row["id"] == name]
    for name in names:
        if name not in dict(found):
            raise DataError(f"references.csv cites nothing under {name!r}")
    return tuple(reference(row, row["what"]) for _, row in found)


@cache
def constant(name: str) -> Constant:
    """Return one number of `constants.csv`.

    Raises
    ------
    UnknownNameError
        Naming the nearest known constants.
    """
    found = row("constants.csv", "name", name, "constant")
    return Constant(value=float(found["value"]), reference=reference(found, found["note"]))
