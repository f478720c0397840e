"""The lines of a workshop sheet: what to do, within which limits, and how that is known."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from .. import tables
from ..sources import Reference
from ..threads.profile import Thread
from ..units import decimals_of, printed, side_by_side, unit_of

#: What is measured in these units; other limits, such as turns, are the same in every system.
_DIMENSIONS = {"mm": "length", "N·m": "torque"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A quantity and its limits. `least` or `most` is None where there is no such limit.

    `system` is the one they are printed in: "SI", "inch" or "both".
    """

    name: str
    least: float | None = None
    most: float | None = None
    unit: str = "mm"
    system: str = "SI"
    decimals: int = 3

    @property
    def text(self) -> str:
        """The limits as they are printed.

        A least value is rounded up and a greatest down, so that no printed limit is wider than
        the computed one.
        """
        dimension = _DIMENSIONS.get(self.unit)
        if dimension is None:
            return f"{self._between(1.0, self.decimals)} {self.unit}"

        def text(each: str) -> str:
            shown = self._between(
                float(printed(1.0, dimension, each)), decimals_of(dimension, self.decimals, each)
            )
            return f"{shown} {unit_of(dimension, each)}"

        return side_by_side(text, self.system)

    def _between(self, factor: float, decimals: int) -> str:
        if self.least is not None and self.least == self.most:
            return f"{self.least * factor:.{decimals}f}"
        scale = 10**decimals
        # The slack keeps a computed 8.536 from turning to 8.535 or 8.537 by its last binary digit.
        least, most = (
            None
            if value is None
            else f"{towards(value * factor * scale + slack) / scale:.{decimals}f}"
            for value, towards, slack in (
                (self.least, math.ceil, -1e-6),
                (self.most, math.floor, 1e-6),
            )
        )
        if least is not None and most is not None and float(least) > float(most):
            # A narrow range lies between two printed values: print it more finely.
            return self._between(factor, decimals + 1)
        if least is None:
            return f"at most {most}"
        if most is None:
            return f"at least {least}"
        return least if least == most else f"{least} to {most}"


#: Limits of one quantity for a step: one, or none where the job has no such limit.
Limits = tuple[Limit, ...]


def limit_system(thread: Thread, system: str) -> str:
    """Return the units of the limits of a hole: an inch thread has inches beside SI."""
    return "both" if system == "SI" and thread.system != "metric" else system


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do. `number` is its place on the sheet, from 1."""

    number: int
    id: str
    stage: str
    text: str
    limits: tuple[Limit, ...]
    references: tuple[Reference, ...]

    @property
    def how_known(self) -> str:
        """How the instruction itself is known."""
        return self.references[0].how_known

    @property
    def limits_text(self) -> str:
        """The limits in one line."""
        return "; ".join(f"{limit.name} {limit.text}" for limit in self.limits)


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A warning that holds for this job."""

    id: str
    text: str
    reference: Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Disagreement:
    """A point where sources differ: the rule that governs this sheet, and each of the others."""

    topic: str
    rule: str
    words: str
    governs: bool
    limits: tuple[Limit, ...]
    reference: Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejected:
    """An option that was not taken, and why."""

    option: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What was chosen, why, and what was not."""

    topic: str
    option: str
    words: str
    reason: str
    rejected: tuple[Rejected, ...] = ()
    note: str = ""
    references: tuple[Reference, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A step before it is numbered."""

    id: str
    values: Mapping[str, str | float]
    limits: tuple[Limit, ...] = ()
    references: tuple[Reference, ...] = ()


def draft(
    step: str,
    *,
    limits: tuple[Limit, ...] = (),
    references: tuple[Reference, ...] = (),
    **values: str | float,
) -> Draft:
    """Name a row of `workshop_steps.csv` with the values for its text and its limits."""
    return Draft(id=step, values=values, limits=limits, references=references)


def numbered(drafts: tuple[Draft, ...]) -> tuple[Step, ...]:
    """Return the steps numbered, with their texts and sources of `workshop_steps.csv`."""
    rows = {row["id"]: row for row in tables.rows("workshop_steps.csv")}
    return tuple(
        Step(
            number=number,
            id=each.id,
            stage=rows[each.id]["stage"],
            text=rows[each.id]["text"].format(**each.values).strip(),
            limits=each.limits,
            references=(tables.reference(rows[each.id], f"step {each.id}"), *each.references),
        )
        for number, each in enumerate(drafts, start=1)
    )
