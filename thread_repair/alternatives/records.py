"""What an alternative is given, and what is said of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from .. import tables
from ..sources import Reference
from ..strength.modes import ModeInputs

VERDICTS = ("chosen", "kept", "dropped")


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """What the alternatives need beyond the joint; None where it is not known.

    Attributes
    ----------
    damaged_fraction : part of the threads of the original hole that is lost, 0 to 1
    engagement_available : mm
        Full thread that the original hole could offer to a longer screw.
    bush_diameter_thin, bush_diameter_heavy : mm
        Outside diameter of a solid threaded insert.
    demand : N
        Greatest factored load; 0 for none.
    """

    damaged_fraction: float | None = None
    engagement_available: float | None = None
    bush_diameter_thin: float | None = None
    bush_diameter_heavy: float | None = None
    demand: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Disposition:
    """When the trade takes an option, what speaks against it, and who says so."""

    option: str
    title: str
    usual: str
    drawback: str
    reference: Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One option with its numbers, verdict and reason; NaN where a number does not exist.

    Attributes
    ----------
    option, title : name in tables, name in text
    size : what is fitted or used, in words
    engaged, hole_major : mm
        Engaged length; major diameter of the hole that the option leaves in the parent.
    pull_out, strength : N
        Lowest strip load; lowest capacity of all modes.
    ratio : pull-out strength over that of the undamaged original thread
    governing_mode : or "unknown"
    wall : mm
        Wall of the boss left around the hole.
    edge_ratio : edge distance over the hole's major diameter
    verdict : "chosen", "kept" (would hold as well) or "dropped"
    reason : why, in a sentence
    disposition : when the trade takes this option
    """

    option: str
    title: str
    size: str
    engaged: float
    hole_major: float
    pull_out: float
    strength: float
    ratio: float
    governing_mode: str
    wall: float
    edge_ratio: float
    verdict: str
    reason: str
    disposition: Disposition


@cache
def dispositions() -> Mapping[str, Disposition]:
    """Return the kinds of option by name, in the order of the table."""
    return MappingProxyType(
        {
            row["option"]: Disposition(
                option=row["option"],
                title=row["title"],
                usual=row["usual"],
                drawback=row["drawback"],
                reference=tables.reference(row, f"disposition: {row['title'].lower()}"),
            )
            for row in tables.rows("alternatives.csv")
        }
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """An option before it is judged. `obstacle` is why it cannot be made, whatever it holds."""

    kind: str
    option: str
    size: str
    inputs: ModeInputs | None = None
    obstacle: str = ""
    note: str = ""
    is_proposed: bool = False
