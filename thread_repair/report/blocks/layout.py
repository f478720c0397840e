"""Tables and figures whose words stand in `data/words/layouts.toml`, filled with records.

A column is written "head | how | where". `how` is how a value is printed: a dimension of `units`
with the digits of its values (its unit joins the head, unless `bare` stands before), `diameter`,
`number`, `signed`, `margin`, `percent`, a kind of term (`term option title`), `place`, `eq`, or
nothing for text and facts; `left`, `right` or `center` overrules the side. `where` is the path from
a record to the value (`scatter.mean`, `1.lower`); without it a row holds the values in order. A
text stands as it is, a range as "a to b", and what nobody knows is a dash.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from ... import words
from ...facts import Fact, Term, Value, condition, mode
from ...units import number, percent, signed, unit_of
from ..figure import Markup, ReportFigure, ReportTable
from ..paths import walk
from .cells import cell, diameter, head
from .places import place

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIDES = ("left", "right", "center")
_WORDS = ("", "place", "term", "state", "mode", "eq")


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its head, how its values are printed, the path to them."""

    head: str
    how: str
    terms: tuple[str, ...]
    side: str
    bare: bool
    digits: int | None
    where: str

    def title(self, system: str, values: Mapping[str, Value]) -> str:
        """Return the head, with its unit where the values have one."""
        text = words.filled(self.head, values, system=system)
        unit = "length" if self.how == "diameter" else self.how
        return text if self.bare or not _measured(unit) else head(text, unit, system)

    def text(self, value: Any, system: str) -> object:
        """Return a value as it is printed."""
        if value is None:
            return "–"
        if isinstance(value, tuple):
            return " to ".join(dict.fromkeys(str(self.text(each, system)) for each in value))
        if self.how in ("state", "mode"):
            return words.term(condition(value) if self.how == "state" else mode(value))
        if self.how == "term":
            return words.term(Term(self.terms[0], str(value)), *self.terms[1:])
        if isinstance(value, Fact):
            return words.sentence(value, system=system)
        if self.how == "place":
            return place(value)
        if self.how == "eq":
            return Markup(f"[-@{value}]")
        bare = isinstance(value, (str, int)) or not self.how
        return value if bare else self._printed(float(value), system)

    def _printed(self, value: float, system: str) -> str:
        digits = self.digits or 3
        if value != value:  # nobody knows it, whatever its unit
            return "–"
        if self.how == "diameter":
            return diameter(value, system)
        if self.how == "signed":
            return signed(value, self.digits or 2)
        if self.how == "margin":
            return signed(value) + (" FAILS" if value < 0 else "")
        if self.how == "percent":
            return f"{number(100 * value, digits)} %" if self.digits else percent(value)
        return (
            number(value, digits) if self.how == "number" else cell(value, self.how, system, digits)
        )


def _measured(how: str) -> bool:
    return how not in (*_WORDS, "number", "signed", "margin", "percent")


def _column(text: str) -> Column:
    title, how, where = (*(part.strip() for part in text.split("|")), "", "")[:3]
    parts = how.split()
    bare, sides = "bare" in parts, [each for each in parts if each in _SIDES]
    parts = [each for each in parts if each != "bare" and each not in _SIDES]
    kind, *rest = parts or [""]
    digits = int(rest[0]) if rest and rest[0].isdigit() else None
    side = sides[0] if sides else "left" if kind in _WORDS else "right"
    return Column(title, kind, tuple(rest), side, bare, digits, where)


@cache
def _columns(name: str) -> tuple[Column, ...]:
    found = tuple(map(_column, words.catalogue()["tables"][name]["columns"]))
    for each in found:
        if _measured(each.how) and each.how != "diameter":
            unit_of(each.how)  # a slip of the pen in the file is found at once
    return found


def table(
    name: str, rows: Iterable[Any], system: str = "SI", *, without: Collection[str] = (),
    label: str = "", named: bool = True, **values: Value,
) -> ReportTable:  # fmt: skip
    """Return the table of this name in `layouts.toml`, a row for each record.

    `without` leaves out columns by head; `values` fill the caption and the heads; a table that is
    not `named` carries no label.
    """
    spec, columns = words.catalogue()["tables"][name], _columns(name)
    kept = [at for at, each in enumerate(columns) if each.head not in without]

    def line(row: Any) -> list[object]:
        return [
            columns[at].text(walk(row, columns[at].where) if columns[at].where else row[n], system)
            for n, at in enumerate(kept)
        ]

    return ReportTable(
        [columns[at].title(system, values) for at in kept],
        [line(row) for row in rows],
        caption=words.filled(spec.get("caption", ""), values, system=system),
        label=label or spec.get("label", name) if named and "caption" in spec else "",
        lead=words.filled(spec.get("lead", ""), values, system=system),
        alignment=[columns[at].side for at in kept],
    )


def figure(
    name: str, drawn: Figure | Axes, system: str = "SI", *, named: bool = True, **values: Value
) -> ReportFigure:
    """Return a drawing with the caption and alternative text of this name in `layouts.toml`."""
    spec = words.catalogue()["figures"][name]
    caption, alt = (words.filled(spec[each], values, system=system) for each in ("caption", "alt"))
    label = spec.get("label", name) if named else ""
    return ReportFigure(drawn, caption=caption, alt=alt, label=label)
