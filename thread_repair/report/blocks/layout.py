"""Tables and figures whose words stand in `data/words/layouts.toml`, and facts as passages.

A column is written "head | how | where". `how` is how a value is printed: a dimension of `units`
with the digits of its values (its unit joins the head, unless `bare` stands before), `diameter`,
`number`, `signed`, `margin`, `percent`, a kind of term (`term option title`), `place`, `eq`, or
nothing for text and facts; `left`, `right` or `center` overrules the side. `where` is the path from
a record to the value (`scatter.mean`, `1.lower`); without it a row holds the values in order. A
text stands as it is, a range as "a to b", and what nobody knows is a dash. Where the heads `across`
are given, each record fills a column and what is written as a column is a row; of a table that is
`stated` only a row in which something stands.

Everything is printed in the units of the study's report; without a study, in SI.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

from IPython.display import Markdown

from ... import words
from ...facts import LEVELS, Fact, Value, fact
from ...study import Study
from .. import escape
from ..figure import ReportFigure, ReportTable
from ..paths import walk
from .cells import Column

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


@cache
def _columns(name: str) -> tuple[Column, ...]:
    return tuple(map(Column.of, words.catalogue()["tables"][name]["columns"]))


def units(study: Study | None) -> str:
    """Return the system of units of a report."""
    return "SI" if study is None else study.case.report_units


def table(
    name: str, rows: Iterable[Any], study: Study | None = None, *, without: Collection[str] = (),
    label: str = "", named: bool = True, **values: Value,
) -> ReportTable:  # fmt: skip
    """Return the table of this name in `layouts.toml`, a row for each record.

    `without` leaves out columns by head; `values` fill the caption and the heads; a table that is
    not `named` carries no label.
    """
    spec, system = words.catalogue()["tables"][name], units(study)
    kept = [each for each in _columns(name) if each.head not in without]
    lines: list[Any] = [[each.title(system, values) for each in kept]]
    lines += [
        [c.text(walk(row, c.where) if c.where else row[n], system) for n, c in enumerate(kept)]
        for row in rows
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
    )


def figure(
    name: str,
    drawn: Figure | Axes,
    study: Study | None = None,
    *,
    label: str = "",
    named: bool = True,
    **values: Value,
) -> ReportFigure:
    """Return a drawing with the caption and alternative text of this name in `layouts.toml`."""
    spec = words.catalogue()["figures"][name]
    return ReportFigure(
        drawn,
        caption=_caption(spec, study, values),
        alt=words.filled(spec["alt"], values, system=units(study)),
        label=(label or spec.get("label", name)) if named else "",
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
    return Markdown(
        "\n".join(
            (f"- **{MARKS[each.level]}.** " if each.level in marked else "- ") + said(study, each)
            for each in found
        )
    )


def by_level(study: Study, found: Iterable[Fact]) -> Markdown:
    """List facts, limits first, each marked by its level."""
    return bullets(study, sorted(found, key=lambda each: LEVELS.index(each.level)), LEVELS)


def numbered(lines: Iterable[str]) -> Markdown:
    """Return lines of Markdown as a numbered list."""
    return Markdown("\n".join(f"{n}. {line}" for n, line in enumerate(lines, start=1)))
