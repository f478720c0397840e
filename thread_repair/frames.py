"""Records as a table: one row a record, one column a value, units in the names of the columns."""

from __future__ import annotations

import dataclasses
import math
import textwrap
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from . import files
from .units import unit_inside

if TYPE_CHECKING:
    import pandas as pd

#: Unit of a number by its name in the records; a number with another name has no unit.
_UNITS = {
    name: unit
    for unit, names in files.data("tables.toml")["columns"].items()
    for name in names.split()
}
#: Annotations of what stands in one cell; other values (records, facts, references) are left out.
_CELLS = ("str", "bool", "int", "float", "Floats", "Bools")
#: Dimensions of a quantity that has no unit.
_BARE = ("number", "share", "count")


def frame(kind: type, records: Iterable[Any], **lead: list[Any]) -> pd.DataFrame:
    """Return records as a DataFrame.

    Parameters
    ----------
    kind : type
        Their dataclass: its fields and properties that are a text, a number or a yes are the
        columns, a pair of numbers two (`_min`, `_max`), quantities stand beside their `unit`.
    records : iterable of that type, n of them
    **lead : list, length n
        Columns to put first.

    Returns
    -------
    DataFrame, n rows
        In the units of the names: mm, mm2, N, MPa, degC; `_d` is in nominal diameters. A number
        that is not known is NaN.
    """
    import pandas as pd  # on use: it takes longer to import than a case to evaluate

    rows = tuple(records)
    found: dict[str, list[Any]] = dict(lead)
    for name, type_ in _columns(kind).items():
        values = [getattr(row, name) for row in rows]
        unit = _UNITS.get(name, "")
        head = name.removesuffix("_")
        full = f"{head}_{unit}" if unit and head != unit else head
        if type_.removesuffix(" | None") in _CELLS:
            found[full] = values
        elif type_ == "tuple[float, float]":
            for at, end in enumerate(("min", "max")):
                found["_".join(filter(None, (head, end, unit)))] = [v[at] for v in values]
        elif type_ == "Quantity | None":
            found[head] = [math.nan if value is None else value.value for value in values]
            units = found.setdefault("unit", [""] * len(rows))
            for row, value in enumerate(values):
                if value is not None and value.dimension not in _BARE:
                    units[row] = unit_inside(value.dimension)
    return pd.DataFrame(found)


def brief(record: Any) -> str:
    """Return a record in one line: its numbers and names, nothing of what lies within.

    Examples
    --------
    >>> from thread_repair.joint.records import Effect
    >>> brief(Effect(name="length", ratio=0.87654321))
    "Effect(name='length', ratio=0.8765)"
    """
    kind = type(record)
    names = getattr(kind, "__attrs_attrs__", None) or dataclasses.fields(kind)
    shown = []
    for name in (each.name for each in names):
        value = getattr(record, name)
        value = getattr(value, "designation", getattr(value, "id", value))  # a thread, a parent
        if isinstance(value, float) and not math.isnan(value):
            shown.append(f"{name}={value:.4g}")
        elif isinstance(value, str) and value:
            shown.append(f"{name}={value[:_TEXT]!r}")
    return textwrap.shorten(f"{kind.__name__}({', '.join(shown)})", _LINE, placeholder=" ...)")


#: Longest line that stands for a record, and longest text in it.
_LINE, _TEXT = 240, 60


def _columns(kind: type) -> dict[str, str]:
    """Return the annotation of each field and property by name.

    As text: a module whose records become tables keeps `from __future__ import annotations`.
    """
    fields = {each.name: str(each.type) for each in dataclasses.fields(kind)}
    return fields | {
        name: each.fget.__annotations__["return"]
        for name, each in vars(kind).items()
        if isinstance(each, property)
    }
