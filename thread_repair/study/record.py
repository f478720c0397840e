"""One case, studied: what reports, sheets, files and the terminal read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from numpy.typing import NDArray

from .. import alternatives as options
from .. import case as cases
from .. import tightening as tg
from ..arrays import read_only
from ..case.gate import acceptance
from ..facts import LEVELS, Fact, condition
from ..joint.bounds import Bracket, bracket
from ..joint.criterion import found_criteria
from ..joint.lengths import RequiredLength, required_by_method, table_check
from ..joint.margins import LoadCase, Margin, certified_margins, margins
from ..joint.records import Evaluation, Joint
from ..joint.sharing import JointLoadSlip, joint_load_slip
from ..strength.methods import METHODS
from ..strength.methods.asme_b18_29_2m import LengthCheck
from ..tables import Reference, ledger
from ..workshop import WorkshopSheet
from . import conclusion as conclusions
from . import evaluation as evaluations
from . import findings
from .criteria import Criterion, criteria
from .minimum_parent import minimum_parent
from .shown import Tables, least_margins, page

if TYPE_CHECKING:
    from .chances import Chances
    from .evidence import CaseEvidence
    from .plots import Plots


@dataclass(frozen=True)
class Study:
    """The whole answer for one case; each part is computed when it is first asked for, once."""

    case: cases.Case

    def __post_init__(self) -> None:
        cases.checked(self.case)

    def __reduce__(self) -> tuple[object, ...]:
        """Take the case alone to another process; all else is computed there when asked for."""
        return Study, (self.case,)

    @cached_property
    def evaluation(self) -> Evaluation:
        """Both conditions of the hole, compared."""
        return evaluations.evaluate(self.case)

    @cached_property
    def colder(self) -> Joint | None:
        """The joint at temperatures from assembly up to service, if its strength differs there."""
        return cases.colder(self.case)

    @cached_property
    def load_cases(self) -> tuple[LoadCase, ...]:
        """The loads on the screw that the joint is held against."""
        return cases.load_cases(self.case)

    @cached_property
    def found_criteria(self) -> tuple[Criterion, ...]:
        """What the hole as found has to meet to take the insert: no crack, and metal to tap."""
        return tuple(found_criteria(self.evaluation.joint, self.sheet.hole.minor_max))

    @property
    def holds_insert(self) -> bool:
        """Whether the hole as found takes the insert."""
        return not any(each.refuses for each in self.found_criteria)

    @property
    def sheet_released(self) -> bool:
        """Whether the workshop may work by the sheet: nothing refuses, or a role accepts it.

        What a role can accept is a negative margin, and the torque that gives it.
        """
        accepted = acceptance(self.case) is not None
        return all(
            accepted and (id_ == "torque_window" or id_.startswith("margin_"))
            for _, id_ in self.conclusion.failed
        )

    @cached_property
    def margins(self) -> tuple[Margin, ...]:
        """Every margin of safety under every load case; none of an insert that nothing holds."""
        return tuple(
            each for each in self._margins if self.holds_insert or each.state == "original"
        )

    @cached_property
    def _margins(self) -> tuple[Margin, ...]:
        found, loads = self.evaluation, self.load_cases
        return (*margins(found, loads), *certified_margins(found, loads))

    @cached_property
    def preloads(self) -> tg.Preloads | None:
        """Torque, preload and permissible window; None where the case gives neither."""
        inputs = cases.tightening(self.case)
        return None if inputs is None else tg.preloads(inputs, self.evaluation, self._margins)

    @cached_property
    def required(self) -> tuple[RequiredLength, ...]:
        """Engaged length at which the screw fails first, by method."""
        return required_by_method(self.evaluation.joint)

    @cached_property
    def recommended(self) -> options.Recommendation:
        """The shortest standard insert that is acceptable, and what it asks of hole and screw."""
        return options.recommended(self.alternatives, self.evaluation.joint)

    @cached_property
    def table_check(self) -> LengthCheck | None:
        """What the insert standard's length table asks for; None where it has no such thread."""
        return table_check(self.evaluation.joint)

    @cached_property
    def brackets(self) -> Mapping[str, Bracket]:
        """Certified bounds of the strip load of each condition in a thick wall."""
        joint = self.evaluation.joint
        return {name: bracket(joint, state) for name, state in self.evaluation.states.items()}

    @cached_property
    def sweep(self) -> Mapping[str, NDArray[Any]]:
        """Loads of both conditions against the nominal length: columns of `joint.sweep`."""
        return {name: read_only(each) for name, each in evaluations.sweep(self.case).items()}

    @cached_property
    def load_slip(self) -> JointLoadSlip:
        """Load against travel of the screw in both holes, until a thread parts."""
        return joint_load_slip(self.evaluation)

    @cached_property
    def sheet(self) -> WorkshopSheet:
        """The hole sheet."""
        return cases.sheet(self.case)

    @cached_property
    def alternatives(self) -> tuple[options.Alternative, ...]:
        """The other repairs, by the same criteria."""
        return options.alternatives(
            self.evaluation.joint, load_cases=self.load_cases, own=self.criteria, colder=self.colder
        )

    @cached_property
    def plot(self) -> Plots:
        """The pictures: `study.plot.strip_load()` and others, drawn in axes of your own or new."""
        from .plots import Plots  # on use: it imports matplotlib

        return Plots(self)

    #: The tables as DataFrames: `study.tables.margins` and others, units in column names.
    tables = cached_property(Tables)

    def __repr__(self) -> str:
        case = self.case
        named = ", ".join(each[:40] for each in (case.thread, case.screw, case.parent))
        drawn = f": {self.conclusion.id}" if "conclusion" in vars(self) else ""
        return f"<Study of {named}, insert {case.insert_length:g} mm{drawn}>"

    _repr_html_ = page

    # What samples is imported on use: it costs a part of SciPy that nothing else needs.

    @cached_property
    def chances(self) -> Chances:
        """What the sampled joints show."""
        from .chances import chances

        return chances(self.case, self.evaluation, self.margins)

    @cached_property
    def evidence(self) -> CaseEvidence:
        """What the pull tests that the case names show."""
        from .evidence import evidence

        return evidence(self.case, self.evaluation)

    criteria = cached_property(criteria)
    conclusion = cached_property(conclusions.conclusion)
    minimum_margin = cached_property(conclusions.minimum_margin)
    certified_minimum = cached_property(conclusions.certified_minimum)
    least_margins = cached_property(least_margins)
    methods = cached_property(conclusions.method_loads)
    confidence = cached_property(conclusions.confidence)
    agreed_first = cached_property(conclusions.agreed_first)
    open_points = cached_property(conclusions.open_points)
    hole = cached_property(findings.hole)
    minimum_parent = cached_property(minimum_parent)
    metal = cached_property(findings.metal)
    statements = cached_property(conclusions.statements)

    @property
    def warned(self) -> tuple[Fact, ...]:
        """Limits and cautions besides what is open: no screen may leave them to the report."""
        found = (each for each in self.limitations if each.level != "info")
        return tuple(each for each in found if each not in self.open_points)

    @property
    def open_besides(self) -> tuple[Fact, ...]:
        """What is open besides that which somebody has to agree to first."""
        return self.open_points[len(self.agreed_first) :]

    @cached_property
    def references(self) -> tuple[Reference, ...]:
        """Sources of what the conclusion weighs: strength, rival methods, bounds, table, torque."""
        beside = (*METHODS.values(), *self.brackets.values(), self.preloads)
        return ledger(
            (
                *self.evaluation.references,
                *(each for part in beside if part is not None for each in part.references),
                *(() if self.table_check is None else (self.table_check.reference,)),
            )
        )

    @cached_property
    def facts(self) -> tuple[Fact, ...]:
        """All that there is to say: the statements first."""
        of_torque = () if self.preloads is None else self.preloads.facts
        rest = (each for each in self.told(of_torque) if each not in self.open_points)
        as_found = (*self.hole, *self.metal)
        return (*self.statements, *as_found, *self.confidence, *self.limitations, *rest)

    @cached_property
    def limitations(self) -> tuple[Fact, ...]:
        """What limits the calculation, what it assumes and what is open; limits first."""
        rest = (each for each in self.evaluation.facts if each not in self.open_points)
        found = self.told((*rest, *self.open_points))
        return tuple(sorted(found, key=lambda each: LEVELS.index(each.level)))

    def told(self, found: Iterable[Fact]) -> Iterator[Fact]:
        """Yield facts, but none of the repaired condition where the hole does not hold it.

        Parameters
        ----------
        found : iterable of Fact

        Yields
        ------
        Fact
        """
        repaired = condition("repaired")
        for each in found:
            of_it = "repaired" in each.values or each.values.get("condition") == repaired
            if self.holds_insert or not of_it:
                yield each


def study(case: cases.Case) -> Study:
    """Return the study of a case.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Study

    Raises
    ------
    InputError
        If it is no case.
    """
    return Study(case)
