"""What others have published of the load sharing, to stand beside a computed value."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from ... import tables
from ...sources import Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One published statement.

    Attributes
    ----------
    id : short name
    quantity : attribute of `Sharing` it speaks of
    low, high : the numbers it names; high is infinite for "or more"
    text : what it says, in our words
    """

    id: str
    quantity: str
    low: float
    high: float
    text: str
    reference: Reference


@cache
def published_statements() -> tuple[Statement, ...]:
    """Return the published statements on load sharing, for screws in nuts unless stated otherwise.

    Returns
    -------
    tuple of Statement

    Examples
    --------
    >>> [(s.quantity, s.low) for s in published_statements() if s.id == "three-trade"]
    [('first_three_share', 0.81)]
    """
    return tuple(
        Statement(
            id=row["id"],
            quantity=row["quantity"],
            low=float(row["low"]),
            high=float(row["high"]) if row["high"] else math.inf,
            text=row["statement"],
            reference=tables.reference(row, f"load sharing: {row['id']}"),
        )
        for row in tables.rows("load_sharing_statements.csv")
    )
