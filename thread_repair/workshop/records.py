"""The lines of a workshop sheet: ids, quantities and sources; `words` makes sentences of them."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..facts import Fact, Range, Value
from ..tables import Reference
from ..tightening.published import PrevailingTorque


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


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkOrder:
    """What is asked for beside the joint; None where the tables are to choose.

    Attributes
    ----------
    environment : names "dry", "damp", "salt water" or "vacuum", see `choice.environment_class`
    magnetic : "any" or "non-magnetic"
    insert_wire, insert_finish : as asked for, checked; empty where the tables are to choose
    finish_need : "none", "corrosion", "friction" or "galling"
    critical : single load path or control
    tap : as asked for, checked
    fitting_tool : its kind; the usual one's nose guides the coil into the thread
    tool_set_down : set-down of the tool without shims, measured on a trial hole, mm
    shim_sizes : thicknesses of the shims at hand, mm
    set_down_rule : "standard", "quarter-to-half-turn" or "flush"
    no_go_rule : "three-turns" (also taken for "") or "two-turns"
    prevailing_torque : limits for a locking insert of this size
    torque_nm : set torque that the margins are worked out for, N·m
    old_insert : an insert has to come out first
    regime : field with its own approval, as `cautions.csv` names it
    hazards : of `HAZARDS`
    """

    environment: str = "dry"
    magnetic: str = "any"
    insert_wire: str = ""
    insert_finish: str = ""
    finish_need: str = "none"
    critical: bool = False
    tap: str | None = None
    fitting_tool: str = "hand-guided"
    tool_set_down: float | None = None
    shim_sizes: tuple[float, ...] = ()
    set_down_rule: str = "standard"
    no_go_rule: str = ""
    prevailing_torque: PrevailingTorque | None = None
    torque_nm: float | None = None
    old_insert: bool = False
    regime: str = "general"
    hazards: tuple[str, ...] = ()


#: Hazards of the part that only the engineer knows.
HAZARDS = ("beryllium", "thorium", "chromate")


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
