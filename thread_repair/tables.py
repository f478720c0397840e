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
    """One number of `constants.csv` with its unit and where it comes from."""

    name: str
    value: float
    unit: str
    note: str
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
    found: dict[str, list[Reference]] = {name: [] for name in names}
    for row in rows("references.csv"):
        if row["id"] in found:
            found[row["id"]].append(reference(row, row["what"]))
    for name, references in found.items():
        if not references:
            raise DataError(f"references.csv cites nothing under {name!r}")
    return tuple(each for references in found.values() for each in references)


@cache
def _constants() -> Mapping[str, Constant]:
    return MappingProxyType(
        {
            row["name"]: Constant(
                name=row["name"],
                value=float(row["value"]),
                unit=row["unit"],
                note=row["note"],
                reference=reference(row, row["note"]),
            )
            for row in rows("constants.csv")
        }
    )


def constant(name: str) -> Constant:
    """Return one number of `constants.csv`.

    Raises
    ------
    UnknownNameError
        Naming the nearest known constants.
    """
    try:
        return _constants()[name]
    except KeyError:
        raise unknown("constant", name, _constants()) from None
