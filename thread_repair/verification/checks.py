"""What a check is: a printed value against the computed one, or a statement that is held.

A printed value is compared in the last digit that is printed.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import pandas as pd

from .. import tables, units
from ..errors import ThreadRepairError
from ..materials.values import FACTORS
from .quantities import STORED, compute

FOLDER = "printed"
#: The program's own table of printed factors, which an integral checks.
TWO_PIECE_TABLE = "hanson_koopmans.csv"

#: A printed value is right to half its last digit; binary fractions add a millionth.
HALF = 0.5 * (1 + 1e-6)
#: A value that is kept as printed may differ by rounding error only.
KEPT = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A value as a document prints it.

    Attributes
    ----------
    quantity, arguments : what computes it, see `quantities`
    text, unit : as printed, so that the digits are known
    within : largest difference known, in units of the last digit, where there is a
        `known_difference`, which says why
    table : file of `data/` that holds it
    """

    quantity: str
    arguments: Mapping[str, str]
    text: str
    unit: str
    within: float
    known_difference: str
    table: str
    reference: tables.Reference

    @property
    def digit(self) -> float:
        """One unit of the last printed digit."""
        return float(Decimal(1).scaleb(int(Decimal(self.text).as_tuple().exponent)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A printed value held against the computed one.

    Attributes
    ----------
    computed : in the printed unit; NaN where the program gives none
    difference : computed less printed, in units of the last printed digit
    outcome : "passed", "known difference" or "failed"
    reason : why it differs or failed
    """

    printed: Printed
    computed: float
    difference: float
    outcome: str
    reason: str

    @property
    def kept(self) -> bool:
        """Whether the program keeps the value as printed instead of computing it."""
        return self.printed.quantity in STORED


def printed_values() -> Iterator[Printed]:
    """Return every printed value of `data/`, file by file."""
    for file in sorted((Path(__file__).parents[1] / "data" / FOLDER).glob("*.csv")):
        name = f"{FOLDER}/{file.name}"
        yield from (parsed(row, name) for row in tables.rows(name))
    for row in tables.rows(TWO_PIECE_TABLE):
        coverage, confidence = row["claim"].split("/")
        claim = f"coverage=0.{coverage}; confidence=0.{confidence}"
        arguments = f"n={row['n']}; rank={row['rank']}; {claim}"
        own = {"quantity": "two_piece_factor", "arguments": arguments, "printed": row["factor"]}
        yield parsed({**row, **own}, TWO_PIECE_TABLE)


def parsed(row: Mapping[str, str], table: str) -> Printed:
    """Return a row of a table as a printed value."""
    pairs = (part.partition("=") for part in row["arguments"].split("; "))
    known = row.get("known_difference", "")
    return Printed(
        quantity=row["quantity"],
        arguments={key: value for key, _, value in pairs},
        text=row["printed"],
        unit=row.get("unit", "-"),
        within=float(row.get("within") or 0),
        known_difference=known,
        table=table,
        reference=tables.reference(row, "a printed value held against the computed one"),
    )


def factor(unit: str) -> float:
    """Return what one of a printed unit is in the units inside."""
    if unit in FACTORS:
        return FACTORS[unit]
    return units.parse(f"1 {unit}", units.dimension_of(unit) or "")


def check(printed: Printed) -> Check:
    """Compute a printed value and judge the difference."""
    computed = difference = float("nan")
    try:
        computed = compute(printed.quantity, printed.arguments) / factor(printed.unit)
    except Exception as error:  # whatever a fault breaks is a failed check, not a lost report
        outcome, reason = "failed", failure(error)
    else:
        difference = (computed - float(printed.text)) / printed.digit
        agrees = abs(difference) <= (KEPT if printed.quantity in STORED else HALF)
        known = printed.known_difference
        if known and agrees:
            outcome, reason = "failed", "agrees now, though a difference is on record"
        elif agrees:
            outcome, reason = "passed", ""
        elif known and abs(difference) <= printed.within:
            outcome, reason = "known difference", known
        else:
            outcome, reason = "failed", "differs by more than the last printed digit allows"
    return Check(
        printed=printed, computed=computed, difference=difference, outcome=outcome, reason=reason
    )


def checks(chosen: Iterable[Printed] | None = None) -> tuple[Check, ...]:
    """Check every printed value, or those chosen."""
    return tuple(map(check, printed_values() if chosen is None else chosen))


def summaries(found: Sequence[Check]) -> pd.DataFrame:
    """Count the checks by document and how it is known, the most values first.

    `largest` is the largest difference of those that passed, in units of the last digit.
    """
    rows = [
        {
            "document": each.printed.reference.source,
            "how_known": each.printed.reference.how_known,
            "values": 1,
            "kept": each.kept,
            "passed": each.outcome == "passed",
            "known": each.outcome == "known difference",
            "failed": each.outcome == "failed",
            "largest": abs(each.difference) if each.outcome == "passed" else 0.0,
        }
        for each in found
    ]
    sums = dict.fromkeys(("values", "kept", "passed", "known", "failed"), "sum")
    counted = pd.DataFrame(rows).groupby(["document", "how_known"], as_index=False)
    summed = counted.agg(sums | {"largest": "max"})
    return summed.sort_values("values", ascending=False, kind="stable")


# ---- statements


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
    reference: tables.Reference

    @property
    def outcome(self) -> str:
        """Whether it passed or failed."""
        return "passed" if self.held else "failed"

    @property
    def told(self) -> str:
        """The same with the reason."""
        if self.held:
            return f"passed; {self.reason}" if self.reason else "passed"
        return f"FAILED: {self.reason}"


#: Ends and expected value of a statement, and whether it holds beyond lying between them.
Found = tuple[float, float, float, bool]


def failure(error: Exception) -> str:
    """Say why a value could not be computed; a fault of the program by its kind."""
    kind = "" if isinstance(error, ThreadRepairError) else f"{type(error).__name__}: "
    return f"{kind}{error}"


def hold(
    topic: str, name: str, reference: tables.Reference, find: Callable[..., Found], *of: object
) -> Held:
    """Make a statement of what `find` gives `of` something; what it cannot compute is not held."""
    nan = float("nan")
    try:
        low, expected, high, also = find(*of)
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
