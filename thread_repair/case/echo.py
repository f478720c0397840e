"""The case as it was understood, to be shown beside what was entered."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import get_args

import attrs

from ..facts import Quantity
from .schema import Case, keys
from .understanding import DIMENSIONS


def understood(case: Case) -> Mapping[str, Quantity | str]:
    """Return every key that has a value, as a quantity or as text.

    Examples
    --------
    >>> from .reading import read
    >>> case = read({"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "0.5 in",
    ...              "insert_length": "1.5 D"})
    >>> understood(case)["engagement"]
    Quantity(value=12.7, dimension='length')
    """
    types = attrs.fields_dict(attrs.resolve_types(Case))
    values = {key: getattr(case, key) for key in keys()}
    return MappingProxyType(
        {
            key: _value(value, types[key].type if key in types else None)
            for key, value in values.items()
            if value is not None and value != ""
        }
    )


def _value(value: object, kind: object) -> Quantity | str:
    for candidate in (kind, *get_args(kind)):
        dimension = DIMENSIONS.get(candidate)
        if dimension is not None and isinstance(value, float):
            return Quantity(float(value), dimension)
    return f"{value:.10g}" if isinstance(value, float) else str(value)
