"""One quantity in one table cell, in the units that the report is written in."""

from __future__ import annotations

from ... import words
from ...facts import Term, load_case
from ...joint.margins import CERTIFIED, Margin
from ...units import decimals_of, number, printed, side_by_side, unit_of

STATES, MODES, MARGINS = (words.catalogue()["terms"][k] for k in ("condition", "mode", "margin"))
STATE_WORDS: dict[str, str] = {name: each["noun"] for name, each in STATES.items()}
MODE_WORDS: dict[str, str] = {name: each["noun"] for name, each in MODES.items()}
#: The modes that a load case holds against yield.
YIELD_WORDS: dict[str, str] = {
    name.removesuffix("_yield"): each for name, each in MARGINS.items() if name.endswith("_yield")
}


def margin_term(margin: Margin) -> Term:
    """Return the name of a failure mode under what it is held against."""
    against = "certified" if margin.against == CERTIFIED else margin.against
    return Term("margin", f"{margin.mode}_{against}")


def margin_words(margin: Margin) -> str:
    """Name the failure mode of a margin."""
    return words.term(margin_term(margin))


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
