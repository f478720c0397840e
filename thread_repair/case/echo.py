"""The case as it was understood, with units, to be shown beside what was entered."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import get_args

import attrs

from ..units import plain
from .schema import Case, keys
from .understanding import DIMENSIONS


def understood(case: Case, *, system: str = "SI") -> Mapping[str, str]:
    """Return every key that has a value, as text; quantities in the unit used inside.

    With another `system`, "inch" or "both", they are in the units of such a report.

    Examples
    --------
    >>> from .reading import read
    >>> case = read({"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "0.5 in",
    ...              "insert_length": "1.5 D"})
    >>> understood(case)["engagement"], understood(case)["insert_length"]
    ('12.7 mm', '12 mm')
    """
    fields = attrs.fields_dict(Case)
    types = attrs.resolve_types(Case)
    found = {}
    for key in keys():
        value = getattr(case, key)
        if value is None or value == "":
            continue
        found[key] = _text(
            value, attrs.fields_dict(types)[key].type if key in fields else None, system
        )
    return MappingProxyType(found)


def _text(value: object, kind: object, system: str) -> str:
    for candidate in (kind, *get_args(kind)):
        dimension = DIMENSIONS.get(candidate)
        if dimension is not None and isinstance(value, float):
            return plain(value, dimension=dimension, system=system, digits=10, as_typed=True)
    return f"{value:.10g}" if isinstance(value, float) else str(value)
