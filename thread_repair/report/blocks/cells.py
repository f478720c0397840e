"""One value in one cell of a table: in the units of the report, as words, as a place in print."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ... import sources, words
from ...facts import Fact, Quantity, Range, Term, Value
from ...sources import Reference
from ...tightening import Band
from ...units import decimals_of, number, percent, printed, side_by_side, signed, unit_of
from ..escape import Markup


def head(name: str, dimension: str, system: str) -> str:
    """Return a column head with its unit: "pull-out strength, kN (lbf)"."""
    return f"{name}, {side_by_side(lambda each: unit_of(dimension, each), system)}"


def cell(value: float, dimension: str, system: str, digits: int = 3) -> str:
    """Return a value for a column under such a head: "25.1 (5640)"."""
    return side_by_side(lambda each: number(printed(value, dimension, each), digits), system)


def diameter(value: float, system: str) -> str:
    """Return a diameter to the micrometre, or to the tenth of a thousandth of an inch."""
    return side_by_side(
        lambda each: f"{printed(value, 'length', each):.{decimals_of('length', 3, each)}f}", system
    )


def known(how: str) -> str:
    """Say how a value is known.

    Examples
    --------
    >>> known("common_practice"), known("measured"), known("memory")
    ('common practice', 'stated', 'not verified')
    """
    return words.term(Term("how_known", how))


def _names(edition: str) -> bool:
    """Whether an edition is a designation that names the document, and not a year or a number."""
    return re.search(r"[A-Z]{2}", edition) is not None and not edition.endswith("edition")


def title(source: str) -> str:
    """Return edition and title of a document, in the order in which people name them.

    Examples
    --------
    >>> title("machinerys-handbook-27")
    "Machinery's Handbook, 27th edition"
    """
    document = sources.source(source)
    if not _names(document.edition):
        return _edition(source)
    return f"{document.edition}, {document.title}"


def _edition(source: str) -> str:
    """Return the edition alone where it names the document, else with the title."""
    document = sources.source(source)
    own = document.edition.partition(";")[0]
    if own == "-":
        return document.title
    return own if _names(own) else f"{document.title}, {own}"


def clause(reference: Reference) -> str:
    """Return where in the document a value stands; nothing for a place in this program."""
    own = sources.source(reference.source).publisher == "this project"
    return "" if own or reference.clause == "-" else reference.clause


def place(reference: Reference) -> str:
    """Return the document, the clause and how it is known.

    Examples
    --------
    >>> from thread_repair.sources import Reference
    >>> place(Reference(source="fed-std-h28-6", clause="NOT GO gauge", how_known="read"))
    'FED-STD-H28/6, NOT GO gauge (verified)'
    """
    where = f", {clause(reference)}" if clause(reference) else ""
    return f"{_edition(reference.source)}{where} ({known(reference.how_known)})"


_SIDES = ("left", "right", "center")
#: Kinds of text, and kinds of number without a unit.
_TEXTS, _NUMBERS = ("", "place", "term", "eq"), ("number", "signed", "margin", "percent")
#: Columns of a term are so common that they have a name of their own.
_TERMS = {"state": ["term", "condition"], "mode": ["term", "mode"]}


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its head, how its values are printed, the path to them."""

    head: str
    how: str
    more: tuple[str, ...]
    side: str
    bare: bool
    where: str

    @classmethod
    def of(cls, text: str) -> Column:
        """Read a column as it is written: "head | how | where"."""
        title, how, where = (*(part.strip() for part in text.split("|")), "", "")[:3]
        words_ = how.split()
        sides = [each for each in words_ if each in _SIDES]
        kind, *more = [each for each in words_ if each not in (*_SIDES, "bare")] or [""]
        kind, *more = [*_TERMS.get(kind, [kind]), *more]
        if kind not in (*_TEXTS, *_NUMBERS, "diameter"):
            unit_of(kind)  # a slip of the pen in the file is found at once
        side = sides[0] if sides else "left" if kind in _TEXTS else "right"
        return cls(title, kind, tuple(more), side, "bare" in words_, where)

    def title(self, system: str, values: Mapping[str, Value]) -> str:
        """Return the head, with its unit where the values have one."""
        text = words.filled(self.head, values, system=system)
        if self.bare or self.how in (*_TEXTS, *_NUMBERS):
            return text
        return head(text, "length" if self.how == "diameter" else self.how, system)

    def text(self, value: Any, system: str) -> object:
        """Return a value as it is printed."""
        if isinstance(value, Band):
            value = (value.least, value.highest)
        if isinstance(value, tuple):
            ends = dict.fromkeys(str(self.text(each, system)) for each in value)
            return "–" if "–" in ends else " to ".join(ends)
        if value is None or value != value:  # nobody knows it, whatever its unit
            return "–"
        if self.how == "term":
            return words.term(Term(self.more[0], str(value)), *self.more[1:])
        if isinstance(value, Fact):
            return words.sentence(value, system=system)
        if isinstance(value, Range | Quantity | Term):
            return words.filled("{value}", {"value": value}, system=system)
        if self.how == "place":
            return place(value)
        if self.how == "eq":
            return Markup(f"[-@{value}]")
        bare = isinstance(value, (str, int)) or not self.how
        return value if bare else self._printed(float(value), system)

    def _printed(self, value: float, system: str) -> str:
        digits = int(self.more[0]) if self.more else None
        if self.how == "diameter":
            return diameter(value, system)
        if self.how == "signed":
            return signed(value, digits or 2)
        if self.how == "margin":
            return signed(value) + (" FAILS" if value < 0 else "")
        if self.how == "percent":
            return f"{number(100 * value, digits)} %" if digits else percent(value)
        if self.how == "number":
            return number(value, digits or 3)
        return cell(value, self.how, system, digits or 3)
