"""Published friction bands, torque factors, tool scatter and prevailing torque limits."""

from dataclasses import dataclass
from functools import cache

from .. import tables
from ..errors import ValidityError, looked_up
from ..threads.profile import Thread

#: 1 lbf x 1 in in N·m, exact.
INCH_POUND_NM = 4.4482216152605 * 0.0254
#: Torque up to which the wider of the two accuracies of a hand torque wrench holds, N·m.
SMALL = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedRange:
    """A range of friction, torque factor or scatter from one source.

    Attributes
    ----------
    id, title : what to type, what it is
    quantity : "friction" coefficient; "nut_factor" K; "preload_scatter" plus or minus of the
        preload, friction included; "scatter_ratio" highest over least preload;
        "torque_accuracy" plus or minus of the torque alone; "relaxation" of the preload
    low, high : the range; equal where one number is published
    by_torque : whether it is the scatter of a preload that friction makes of a torque
    """

    id: str
    quantity: str
    by_torque: bool
    low: float
    high: float
    title: str
    reference: tables.Reference

    @property
    def scattered(self) -> bool:
        """Whether `error` is of the preload, friction included, instead of the torque alone."""
        return self.quantity in ("preload_scatter", "scatter_ratio")

    @property
    def error(self) -> float:
        """Plus or minus of a tool; of a range the wider end.

        A published ratio a of maximum to minimum preload is (a - 1)/(a + 1) either side of the
        mean (derived).
        """
        ratio = self.quantity == "scatter_ratio"
        return (self.high - 1) / (self.high + 1) if ratio else self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class PrevailingTorque:
    """Limits of the torque that a locking insert asks of the screw, over 15 cycles.

    Attributes
    ----------
    most_nm : highest torque in or out on any cycle, N·m
    breakaway_least_nm : least torque to start unscrewing, N·m; NaN where none is printed
    insert_type : "wire" | "solid"
    """

    most_nm: float
    breakaway_least_nm: float
    insert_type: str
    reference: tables.Reference


@cache
def published_ranges(quantity: str | None = None) -> tuple[PublishedRange, ...]:
    """Return the ranges of one quantity, or all, in file order.

    Parameters
    ----------
    quantity : str, optional

    Returns
    -------
    tuple of PublishedRange

    Examples
    --------
    >>> [(r.id, r.low, r.high) for r in published_ranges("nut_factor")][0]
    ('nasa-lubricated', 0.11, 0.15)
    """
    return tuple(
        PublishedRange(
            id=row["id"],
            quantity=row["quantity"],
            by_torque=row["by_torque"] == "yes",
            low=float(row["low"]),
            high=float(row["high"]),
            title=row["title"],
            reference=tables.reference(row, f"{row['quantity']}: {row['title']}"),
        )
        for row in tables.rows("friction.csv")
        if quantity in (None, row["quantity"])
    )


def published_range(
    name: str, *quantities: str, what: str = "friction condition"
) -> PublishedRange:
    """Return one range by its id.

    Parameters
    ----------
    name : str
    *quantities : str
        Of which it may be; all, where none is named.
    what : str
        What the name should be, for a message.

    Returns
    -------
    PublishedRange

    Raises
    ------
    UnknownNameError
        Naming the nearest known ids.
    """
    found = (each for of in quantities or (None,) for each in published_ranges(of))
    return looked_up(what, name, {each.id: each for each in found})


def prevailing_torques(thread: Thread) -> tuple[PrevailingTorque, ...]:
    """Return every published pair of limits for a thread, those for wire inserts first.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    tuple of PrevailingTorque
        Empty where no source has the size. The metric table goes by diameter alone; the inch
        tables by diameter and threads per inch.

    Source: ASME B18.29.2M-2005 Table 5 (read in a handbook, columns re-aligned); NASM8846
    (memory); MIL-DTL-45916C Table I (read; solid inserts).
    """
    return tuple(
        PrevailingTorque(
            **{f"{name}_nm": float(row[name] or "nan") * _UNITS[row["unit"]] for name in _LIMITS},
            insert_type=row["insert_type"],
            reference=tables.reference(
                row, f"prevailing torque, {row['insert_type']} insert; {row['note']}".rstrip("; ")
            ),
        )
        for row in tables.rows("prevailing_torque.csv", system=thread.system)
        if _is(row, thread)
    )


def prevailing_torque(thread: Thread) -> PrevailingTorque:
    """Return the limits that a source prints for a wire insert of this thread.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    PrevailingTorque

    Raises
    ------
    ValidityError
        If no source has the size.
    """
    for found in prevailing_torques(thread):
        if found.insert_type == "wire":
            return found
    raise ValidityError.of("no_prevailing_torque", thread=thread)


#: Columns of the torque limits, and their units in N·m.
_LIMITS = ("most", "breakaway_least")
_UNITS = {"N·m": 1.0, "in·lbf": INCH_POUND_NM}


def _is(row: tables.Row, thread: Thread) -> bool:
    if thread.system == "metric":
        return float(row["major"]) == thread.major
    # The numbered sizes are printed to three decimals of an inch; pitch settles the rest.
    return abs(float(row["major"]) - thread.major / 25.4) < 6e-4 and round(
        25.4 / thread.pitch
    ) == int(row["threads_per_inch"])
