"""Which warnings hold for this job."""

from __future__ import annotations

from collections.abc import Set

from .. import tables

#: What the conditions of `cautions.csv` may ask about a job.
FACTS = frozenset(
    {
        "cutting-fluid", "blind", "magnesium", "removal", "thorium", "beryllium", "chromate",
        "cadmium", "locking", "critical", "tang-out", "pressure", "aircraft", "lifting",
        "vehicle-safety", "nuclear",
    }
)  # fmt: skip
#: Hazards of the part that only the engineer knows.
HAZARDS = ("beryllium", "thorium", "chromate")
#: Fields with their own approval.
REGIMES = ("general", "aircraft", "pressure", "lifting", "vehicle-safety", "nuclear")


def cautions(facts: Set[str]) -> tuple[tables.Row, ...]:
    """Return every caution whose conditions are all among the facts, the general ones first.

    Parameters
    ----------
    facts : Set[str]

    Returns
    -------
    tuple[tables.Row, ...]

    Examples
    --------
    >>> "magnesium-fire" in {each["id"] for each in cautions({"magnesium"})}
    True
    >>> "magnesium-fire" in {each["id"] for each in cautions({"blind"})}
    False
    """
    return tuple(
        row for row in tables.rows("cautions.csv") if set(row["when"].split()) <= set(facts)
    )
