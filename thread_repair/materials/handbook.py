"""Allowables of a handbook that prints one row for each product, size and basis."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType

from ..tables import Row, reference, rows
from .values import Value, convert

TABLE = "mil_hdbk_5j.csv"
#: Property, its columns (longitudinal and long-transverse where both are printed), its unit.
_COLUMNS = (
    ("tensile", ("tensile_l", "tensile_lt"), "ksi"),
    ("yield", ("yield_l", "yield_lt"), "ksi"),
    ("shear", ("shear",), "ksi"),
    ("elongation", ("elongation",), "percent"),
    ("elastic_modulus", ("elastic_modulus",), "Msi"),
    ("poisson", ("poisson",), "-"),
)


@cache
def handbook_values() -> Mapping[str, tuple[Value, ...]]:
    """Return the values of each parent that the handbook gives, by its id.

    Of two directions the lower value counts: which way the axis of a hole lies is not known. A row
    without an id is a B basis, which holds for structures with more than one load path only; it
    serves for comparison.

    Returns
    -------
    Mapping[str, tuple[Value, ...]]
    """
    return MappingProxyType(
        {row["material"]: tuple(_values(row)) for row in rows(TABLE) if row["material"]}
    )


def _values(row: Row) -> Iterator[Value]:
    for name, columns, unit in _COLUMNS:
        printed = [row[column] for column in columns if row[column]]
        if not printed:
            continue
        lowest = min(printed, key=float)
        both = len(set(printed)) > 1
        yield Value(
            property=name,
            value=convert(lowest, unit),
            printed=lowest,
            unit=unit,
            basis=row["basis"],
            reference=reference(row, f"{row['material']}: {name}"),
            note=f"the lower of {' and '.join(printed)}, by direction" if both else "",
        )


def handbook_ratios() -> Iterator[tuple[Row, float]]:
    """Yield each row with a shear strength, and that over its greatest tensile strength.

    Yields
    ------
    (Row, float)
    """
    for row in rows(TABLE):
        if row["shear"]:
            tensile = max(float(row[name]) for name in ("tensile_l", "tensile_lt") if row[name])
            yield row, float(row["shear"]) / tensile
