"""One quantity in one table cell, in the units that the report is written in."""

from __future__ import annotations

from collections.abc import Iterable

from IPython.display import Markdown

from ... import words
from ...facts import LEVELS, Fact, condition, load_case, mode
from ...joint.margins import Margin
from ...study import Study
from ...study.shown import margin_term
from ...units import decimals_of, number, printed, side_by_side, unit_of
from .. import escape


def state_words(name: str) -> str:
    """Name a condition of the hole."""
    return words.term(condition(name))


def mode_words(name: str) -> str:
    """Name a failure mode."""
    return words.term(mode(name))


def margin_words(margin: Margin) -> str:
    """Name the failure mode of a margin."""
    return words.term(margin_term(margin))


def sentences(study: Study, found: Iterable[Fact]) -> list[str]:
    """Return facts as sentences in the units of the report."""
    return [words.sentence(each, system=study.case.report_units) for each in found]


MARKS = {"limit": "Limit", "caution": "Caution", "info": "Note"}


def marked(study: Study, found: Iterable[Fact]) -> Markdown:
    """List facts, limits first, each marked by its level."""
    ordered = sorted(found, key=lambda each: LEVELS.index(each.level))
    said = zip(ordered, sentences(study, ordered), strict=True)
    return Markdown(
        "\n".join(f"- **{MARKS[each.level]}.** {escape.markdown(text)}" for each, text in said)
    )


def load_case_words(margin: Margin) -> str:
    """Name the load case of a margin."""
    return words.term(load_case(margin.load_case))


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


def bullets(found: Iterable[Fact], system: str) -> Markdown:
    """Return facts as a list of sentences, limits named as such; empty where there is none."""
    return Markdown(
        "\n".join(
            ("- **Limit.** " if each.level == "limit" else "- ")
            + escape.markdown(words.sentence(each, system=system))
            for each in found
        )
    )
