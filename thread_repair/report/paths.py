"""From a record to what stands in it, along paths that data files name."""

import dataclasses
import math
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Any

import numpy as np

from .. import files, words
from ..facts import Fact, Range, Term


def walk(record: Any, path: str) -> Any:
    """Return what stands at the end of a path of attributes, keys and places; None ends it."""
    for part in path.split(".") if path else ():
        if record is None:
            return None
        if isinstance(record, dict | MappingProxyType):  # a tenth of the time that `Mapping` takes
            record = record.get(part)
        else:
            record = record[int(part)] if part.isdigit() else getattr(record, part)
    return record


def picked(name: str, record: Any) -> Any:
    """Return plain data of a record, by what `data/results.toml` has under a name."""
    return pick(files.data("results.toml")[name], record)


def pick(spec: Any, record: Any) -> Any:
    """Return plain data of a record, by keys and paths as `data/results.toml` explains them."""
    if isinstance(spec, list):
        return [pick(path, record) for path in spec]
    if isinstance(spec, str):
        how, _, path = spec.rpartition(": ")
        found = walk(record, path)
        if how in _OF_FACTS:
            return _OF_FACTS[how]((found,) if isinstance(found, Fact) else found or ())
        if not how or found is None:
            return plain(found)
        kind, *form = how.split()
        return words.term(Term(kind, found), *form)
    inner = {key: path for key, path in spec.items() if key not in ("each", "of")}
    found = walk(record, spec.get("each") or spec.get("of", ""))
    if "each" not in spec:
        return None if found is None else {key: pick(each, found) for key, each in inner.items()}
    if isinstance(found, Mapping):
        return {name: pick(inner, each) for name, each in found.items()}
    return [pick(inner, each) for each in found or ()]


#: What a path to facts may say of them: their sentences as one text, or all of them as data.
_OF_FACTS: Mapping[str, Callable[[Iterable[Fact]], Any]] = {
    "said": lambda found: " ".join(map(words.sentence, found)),
    "data": lambda found: plain(tuple(found), said=False),
}


def plain(value: Any, *, said: bool = True) -> Any:
    """Return a value as plain data: a record by its fields, a fact `said` as a sentence in SI."""
    if isinstance(value, Fact) and said:
        return words.sentence(value)
    if isinstance(value, Term):
        return value.id
    if isinstance(value, Range):
        return {"min": value.least, "max": value.most, "dimension": value.dimension}
    if isinstance(value, Mapping):
        return {name: plain(each, said=said) for name, each in value.items()}
    if isinstance(value, tuple | list):
        return [plain(each, said=said) for each in value]
    if dataclasses.is_dataclass(value):
        fields = dataclasses.fields(value)
        return {each.name: plain(getattr(value, each.name), said=said) for each in fields}
    return value.tolist() if isinstance(value, np.ndarray | np.generic) else value


def finite(value: Any) -> Any:
    """Write what is not a number as null, and drop digits that are only rounding error."""
    if isinstance(value, Mapping):
        return {str(key): finite(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [finite(each) for each in value]
    if isinstance(value, float):
        return float(f"{value:.12g}") if math.isfinite(value) else None
    return value
