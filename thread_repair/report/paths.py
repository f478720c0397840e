"""From a record to what stands in it, along paths that data files name."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from .. import words
from ..facts import Fact


def walk(record: Any, path: str) -> Any:
    """Return what stands at the end of a path of attributes, keys and places; None ends it."""
    for part in filter(None, path.split(".")):
        if record is None:
            return None
        if isinstance(record, Mapping):
            record = record.get(part)
        else:
            record = record[int(part)] if part.isdigit() else getattr(record, part)
    return record


def pick(spec: Mapping[str, Any], record: Any) -> dict[str, Any]:
    """Return plain data: under each key what its path leads to, a fact as a sentence in SI."""
    return {
        key: pick(path, record) if isinstance(path, Mapping) else _plain(walk(record, path))
        for key, path in spec.items()
    }


def finite(document: Mapping[str, Any]) -> dict[str, Any]:
    """Write what is not a number as null, and drop digits that are only rounding error."""
    return {str(key): _finite(value) for key, value in document.items()}


def _finite(value: Any) -> Any:
    if isinstance(value, Mapping):
        return finite(value)
    if isinstance(value, (list, tuple)):
        return [_finite(each) for each in value]
    if isinstance(value, float):
        return float(f"{value:.12g}") if math.isfinite(value) else None
    return value


def _plain(value: Any) -> Any:
    if isinstance(value, Fact):
        return words.sentence(value)
    return value.item() if isinstance(value, (np.ndarray, np.generic)) else value
