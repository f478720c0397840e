"""What can be said of a joint: an id, a level and named quantities; no words.

The calculation returns facts. Which sentence an id stands for is in the catalogue that `words`
reads; which units it is printed in is decided there as well.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

#: From what changes the answer to what is good to know.
LEVELS = ("limit", "caution", "info")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number and what it measures: a dimension of `units`, "number", "share" or "count"."""

    value: float
    dimension: str


@dataclass(frozen=True, slots=True)
class Term:
    """A name whose wording stands in the catalogue: `Term("condition", "original")`."""

    kind: str
    id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """Limits of a quantity, None where there is none, and to how many decimals of SI they go.

    One value is `end_of` a range, "least" or "most", where it is to read as that range does.
    """

    least: float | None = None
    most: float | None = None
    dimension: str = "length"
    decimals: int = 3
    end_of: str = ""


def three_digits(value: float) -> int:
    """Return the decimals that give a number of N·m or kN three digits, and one at least."""
    return max(1, 2 - math.floor(math.log10(value))) if value > 0 else 1


@dataclass(frozen=True, slots=True)
class Size:
    """The name of a standard size and the system of units in which it is one: a drill "Q"."""

    name: str
    system: str


#: A quantity, a term, a size, limits, a fact within a fact, text that somebody else wrote, or
#: several of them.
Value: TypeAlias = "One | tuple[One, ...]"
One: TypeAlias = "Quantity | Term | Fact | Range | Size | str"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One thing that a reader has to know."""

    id: str
    level: str
    values: Mapping[str, Value]


def fact(id_: str, level: str = "info", /, **values: Value) -> Fact:
    """Return a fact; `level` is one of `LEVELS`, said where it is more than information."""
    return Fact(id=id_, level=level, values=values)


def _of(dimension: str) -> Callable[[float], Quantity]:
    return lambda value: Quantity(float(value), dimension)


#: A quantity from its number: mm, N, MPa, N·m, J and degC; a ratio or margin; a share of one, which
#: is printed in per cent; how many.
length, force, stress, torque, energy, temperature, number, share, count = map(
    _of,
    ("length", "force", "stress", "torque", "energy", "temperature", "number", "share", "count"),
)


def condition(state: str) -> Term:
    """Return the word for a state, "original" or "repaired"."""
    return Term("condition", state)


def mode(name: str) -> Term:
    """Return the word for a failure mode."""
    return Term("mode", name)


def load_case(name: str) -> Term:
    """Return the words for a load case."""
    return Term("load_case", name)
