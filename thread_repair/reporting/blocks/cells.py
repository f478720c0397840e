"""One quantity in one table cell, in the units that the report is written in."""

from __future__ import annotations

from ... import words
from ...facts import load_case
from ...joint.margins import CERTIFIED, Margin
from ...units import decimals_of, number, printed, side_by_side, unit_of

MODE_WORDS = {
    "screw_tension": "screw breaks",
    "screw_thread_strip": "screw thread strips",
    "parent_thread_strip": "parent thread strips",
    "flank_bearing": "parent thread flanks crush",
    "insert_thread_strip": "insert inner thread strips",
    "boss_wall": "boss wall gives way",
    "separation": "joint opens",
}
#: The modes that a load case holds against yield.
YIELD_WORDS = {"screw_tension": "screw yields", "parent_thread_strip": "parent thread yields"}


def margin_words(margin: Margin) -> str:
    """What gives way at the capacity of a margin."""
    if margin.against == "yield":
        return YIELD_WORDS[margin.mode]
    minimum = ", certified minimum" if margin.against == CERTIFIED else ""
    return MODE_WORDS[margin.mode] + minimum


def load_case_words(margin: Margin) -> str:
    """Name the load case of a margin."""
    return words.term(load_case(margin.load_case))


STATE_WORDS = {"original": "original thread", "repaired": "repaired thread"}


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
