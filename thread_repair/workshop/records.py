"""The lines of a workshop sheet: ids, quantities and sources; `words` makes sentences of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from .. import tables
from ..facts import Fact, Range, Value
from ..sources import Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit(Range):
    """Limits of one quantity of the part, the insert, the screw or a gauge.

    Attributes
    ----------
    id : name of the quantity
    bears_on : number of the results file that rests on it; empty where none does
    by_class : whether the thread's class and its gauges see to it
    """

    id: str
    bears_on: str = ""
    by_class: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do: text of the table, its values, and the limits, most of which it names."""

    id: str
    stage: str
    text: str
    values: Mapping[str, Value]
    limits: tuple[Limit, ...]
    references: tuple[Reference, ...]

    @property
    def how_known(self) -> str:
        """How the instruction itself is known."""
        return self.references[0].how_known


def step(
    id_: str,
    *limits: Limit,
    references: tuple[Reference, ...] = (),
    **values: Value,
) -> Step:
    """Return a row of `workshop_steps.csv` with the values that its text names.

    Parameters
    ----------
    id_ : str
    *limits : Limit
    references : tuple of Reference, optional
    **values : Value

    Returns
    -------
    Step
    """
    row = tables.row("workshop_steps.csv", "id", id_, "step")
    return Step(
        id=id_,
        stage=row["stage"],
        text=row["text"],
        values=values,
        limits=limits,
        references=(tables.reference(row, f"step {id_}"), *references),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule on which sources differ, what it allows, and whether it governs this sheet."""

    topic: str
    rule: str
    governs: bool
    limit: Limit
    reference: Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What was chosen for the hole.

    Attributes
    ----------
    topic, option : ids of the question and of the answer
    name : the answer as its table or the catalogue names it
    reason : of the table; empty where the choice was specified or needs none
    notes : what a reader has to know of it
    """

    topic: str
    option: str
    name: Value = ""
    reason: str = ""
    notes: tuple[Fact, ...] = ()
    references: tuple[Reference, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordLine:
    """A line of the inspection record: what is inspected, and the values its limits name."""

    id: str
    values: Mapping[str, Value] = field(default_factory=dict)
