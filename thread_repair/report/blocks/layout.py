"""Values, tables, figures and passages of a report; their words stand in `data/words/`.

A column is written "head | how | where". `how` is how a value is printed: a dimension of `units`
with the digits of its values (its unit joins the head, unless `bare` stands before), `diameter`,
`limits`, `number`, `bound`, `signed`, `margin`, `percent`, a kind of term (`term option title`),
`place`, `eq`, or nothing for text and facts; `left`, `right` or `center` overrules the side.
`where` is the path from a record to the value (`scatter.mean`, `1.lower`); without it a row holds
the values in order. A text stands as it is, a range as "a to b", and what nobody knows is a dash.
Where the heads `across` are given, each record fills a column and what is written as a column is a
row; of a table that is `stated` only a row in which something stands. Everything is printed in the
units of the study's report; without a study, in SI.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from IPython.display import Markdown

from ... import tables, words
from ...facts import LEVELS, Fact, Quantity, Range, Term, Value, fact
from ...study import Study
from ...tightening import Band
from ...units import decimals_of, number, percent, printed, side_by_side, signed, unit_of
from .. import escape
from ..figure import Markup, ReportFigure, ReportTable
from ..paths import walk

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def head(name: str, dimension: str, system: str) -> str:
    """Return a column head with its unit: "pull-out strength, kN (lbf)"."""
    return f"{name}, {side_by_side(lambda each: unit_of(dimension, each), system)}"


def cell(value: float, dimension: str, system: str, digits: int = 3) -> str:
    """Return a value for a column under such a head: "25.1 (5640)"."""
    return side_by_side(lambda each: number(printed(value, dimension, each), digits), system)


def diameter(value: float, system: str) -> str:
    """Return a diameter to the micrometre, or to the tenth of a thousandth of an inch.

    A micrometre in inches has a digit more: it is not nothing.

    Examples
    --------
    >>> diameter(0.001, "both"), diameter(8.0, "inch")
    ('0.001 (0.00004)', '0.3150')
    """

    def text(each: str) -> str:
        shown, digits = printed(value, "length", each), decimals_of("length", 3, each)
        lost = abs(value) >= 0.0005 and round(shown, digits) == 0
        return f"{shown:.{digits + lost}f}"

    return side_by_side(text, system)


def known(how: str) -> str:
    """Say how a value is known.

    Examples
    --------
    >>> known("common_practice"), known("measured"), known("memory")
    ('common practice', 'stated', 'not verified')
    """
    return words.term(Term("how_known", how))


def title(source: str) -> str:
    """Return edition and title of a document, in the order in which people name them.

    Examples
    --------
    >>> title("machinerys-handbook-27")
    "Machinery's Handbook, 27th edition"
    """
    document = tables.source(source)
    if not document.is_named_by_edition:
        return document.name
    return f"{document.edition}, {document.title}"


def clause(reference: tables.Reference) -> str:
    """Return where in the document a value stands; nothing for a place in this program."""
    own = tables.source(reference.source).publisher == "this project"
    return "" if own or reference.clause == "-" else reference.clause


def place(reference: tables.Reference) -> str:
    """Return the document, the clause and how it is known.

    Examples
    --------
    >>> from thread_repair.tables import Reference
    >>> place(Reference(source="fed-std-h28-6", clause="NO-GO gauge", how_known="read"))
    'FED-STD-H28/6, NO-GO gauge (verified)'
    """
    where = f", {clause(reference)}" if clause(reference) else ""
    return f"{tables.source(reference.source).name}{where} ({known(reference.how_known)})"


_SIDES = ("left", "right", "center")
#: Kinds of text, and kinds of number without a unit.
_TEXTS = "", "place", "term", "eq", "limits"
_NUMBERS = "number", "bound", "signed", "margin", "percent"
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
        if self.how == "limits":  # rounded inwards, as on the hole sheet
            least, most = value
            value = None if math.isnan(least) else Range(least=least, most=most)
        if isinstance(value, tuple) and any(isinstance(each, Fact) for each in value):
            return " ".join(words.sentence(each, system=system) for each in value)
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
        if self.how == "bound":  # over the load that it bounds, or a load; infinite where none is
            text = f"{value:.4f}" if 1e-2 <= value < 10 else f"{value:.5g}"
            return text if math.isfinite(value) else "–"
        if self.how == "percent":
            return f"{number(100 * value, digits)} %" if digits else percent(value)
        if self.how == "number":
            return number(value, digits or 3)
        return cell(value, self.how, system, digits or 3)


@cache
def _columns(name: str) -> tuple[Column, ...]:
    return tuple(map(Column.of, words.catalogue()["tables"][name]["columns"]))


def units(study: Study | None) -> str:
    """Return the system of units of a report."""
    return "SI" if study is None else study.case.report_units


def table(
    name: str, rows: Iterable[Any] = (), study: Study | None = None, *,
    without: Collection[str] = (),
    label: str = "", named: bool = True, **values: Value,
) -> ReportTable:  # fmt: skip
    """Return the table of this name in `layouts.toml`, a row for each record, after those there.

    `without` leaves out columns by head; `values` fill the caption and the heads; a table that is
    not `named` carries no label.
    """
    spec, system = words.catalogue()["tables"][name], units(study)
    kept = [each for each in _columns(name) if each.head not in without]
    lines: list[Any] = [[each.title(system, values) for each in kept]]
    lines += [
        [c.text(walk(row, c.where) if c.where else row[n], system) for n, c in enumerate(kept)]
        for row in (*spec.get("rows", ()), *rows)
    ]
    sides = [each.side for each in kept]
    if "across" in spec:
        heads = [Column.of(each) for each in spec["across"]]
        sides = [each.side for each in heads]
        turned = (
            line for line in zip(*lines, strict=True) if "stated" not in spec or any(line[1:])
        )
        lines = [[each.head for each in heads], *turned]
    return ReportTable(
        lines[0],
        lines[1:],
        caption=_caption(spec, study, values),
        label=label or spec.get("label", name) if named and "caption" in spec else "",
        lead=words.filled(spec.get("lead", ""), values, system=system),
        alignment=sides,
        division=spec.get("division", ""),
    )


def table_or_words(
    name: str, rows: Iterable[Any], study: Study | None = None, **values: Any
) -> ReportTable | Markdown:
    """Return the table of this name, or what `layouts.toml` says where there is no row for it."""
    shown = table(name, rows, study, **values)
    return shown if shown.rows else literal(words.catalogue()["tables"][name]["none"])


def figure(
    name: str, drawn: Figure | Axes, study: Study | None = None, *,
    label: str = "", named: bool = True, **values: Value,
) -> ReportFigure:  # fmt: skip
    """Return a drawing with the caption and alternative text of this name in `layouts.toml`."""
    spec = words.catalogue()["figures"][name]
    label = (label or spec.get("label", name)) if named else ""
    return ReportFigure(
        drawn,
        caption=_caption(spec, study, values),
        alt=words.filled(spec["alt"], values, system=units(study)),
        label=label,
        lead=words.filled(spec.get("lead", ""), {**values, "label": label}),
    )


def _caption(spec: Mapping[str, str], study: Study | None, values: Mapping[str, Value]) -> str:
    """Return a caption; one that is `sound` tells where its insert stands in metal not there."""
    caption = words.filled(spec.get("caption", ""), values, system=units(study))
    if "sound" in spec and study is not None and not study.holds_insert:
        return f"{caption.rstrip('.')}. {words.sentence(fact('in_sound_metal', 'limit'))}"
    return caption


def in_sound_metal(study: Study, text: str) -> Markdown:
    """Return a passage, and say so where its insert stands in metal that is not there."""
    if study.holds_insert or not text:
        return Markdown(text)
    return Markdown(f"**{said(study, fact('in_sound_metal', 'limit'))}**\n\n{text}")


def said(study: Study | None, *found: Fact) -> str:
    """Return facts as running text in the units of the report, taken literally."""
    return escape.markdown(" ".join(words.sentence(each, system=units(study)) for each in found))


def passage(study: Study | None, *found: Fact) -> Markdown:
    """Return facts as a paragraph."""
    return Markdown(said(study, *found))


def literal(text: str) -> Markdown:
    """Return a sentence as a paragraph, taken literally."""
    return Markdown(escape.markdown(text))


def boxed(id_: str, study: Study | None, first: Fact, *rest: Fact) -> Markdown:
    """Return a conclusion set apart, its first sentence in bold."""
    text = f"**{said(study, first)}** {said(study, *rest)}"
    return Markdown(f"::: {{.conclusion .{id_.replace('_', '-')}}}\n{text}\n:::")


MARKS = {"limit": "Limit", "caution": "Caution", "info": "Note"}


def bullets(
    study: Study | None, found: Iterable[Fact], marked: Collection[str] = ("limit",)
) -> Markdown:
    """Return facts as a list, those of some levels named as such; empty where there is none."""
    return points(
        (f"**{MARKS[each.level]}.** " if each.level in marked else "") + said(study, each)
        for each in found
    )


def by_level(study: Study, found: Iterable[Fact]) -> Markdown:
    """List facts, limits first, each marked by its level."""
    return bullets(study, sorted(found, key=lambda each: LEVELS.index(each.level)), LEVELS)


def points(lines: Iterable[str]) -> Markdown:
    """Return lines of Markdown as a list."""
    return Markdown("\n".join(f"- {line}" for line in lines))


def numbered(lines: Iterable[str]) -> Markdown:
    """Return lines of Markdown as a numbered list."""
    return Markdown("\n".join(f"{n}. {line}" for n, line in enumerate(lines, start=1)))
