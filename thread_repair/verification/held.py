"""One statement about the program that a calculation holds: what was expected, what was found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

from ..errors import ThreadRepairError
from ..sources import Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """An exact value and the two ends that the program gives for it.

    Attributes
    ----------
    topic : "exact", "certificate", "solved_anew", "convergence" or "chance"
    name : what it is about, in words
    expected : the value known from elsewhere; NaN where only the ends are compared
    low, high : bounds, or ends of an interval
    held : whether the statement is true
    reason : why not
    reference : where the expected value comes from
    """

    topic: str
    name: str
    expected: float
    low: float
    high: float
    held: bool
    reason: str
    reference: Reference

    def as_data(self) -> dict[str, Any]:
        """Return the row of results.json."""
        return {**asdict(self), "outcome": "passed" if self.held else "failed"}


#: Ends and expected value of a statement, and whether it holds beyond lying between them.
Found = tuple[float, float, float, bool]


def failure(error: Exception) -> str:
    """Say why a value could not be computed; a fault of the program by its kind."""
    kind = "" if isinstance(error, ThreadRepairError) else f"{type(error).__name__}: "
    return f"{kind}{error}"


def hold(topic: str, name: str, reference: Reference, find: Callable[[], Found]) -> Held:
    """Make a statement of what `find` gives; what it cannot compute is not held."""
    nan = float("nan")
    try:
        low, expected, high, also = find()
    except Exception as error:  # whatever a fault breaks is a failed check, not a lost report
        low, expected, high, also, reason = nan, nan, nan, False, failure(error)
    else:
        reason = "" if also else "the ends lie too far apart, or the values differ"
    # An expected value of NaN leaves the ends alone to compare.
    between = low <= high if expected != expected else low <= expected <= high
    if also and not between:
        reason = "not between the ends"
    return Held(
        topic=topic, name=name, expected=expected, low=low, high=high, held=also and between,
        reason=reason, reference=reference,
    )  # fmt: skip
