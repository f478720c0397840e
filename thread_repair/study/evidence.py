"""Do the test pieces of a case agree with its prediction, and what do they change."""

import hashlib
import math
from collections.abc import Callable, Container, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from itertools import product
from pathlib import Path

import numpy as np

from .. import files, inserts, threads, words
from ..case import Case, load_cases
from ..case.gate import acceptance
from ..errors import InputError, InputErrors, ThreadRepairError, ValidityError, message, refuse
from ..facts import Fact, Term, Value, count, fact, force, length, number, share, stress
from ..facts import temperature as degrees
from ..joint import Evaluation, Joint, mode_inputs, screw_tension_max
from ..joint.records import ROUNDING
from ..strength import primary
from ..strength.methods import METHODS
from ..strength.strip import STATES, StripInputs, rival_strip
from ..tables import cited, constant
from ..uncertainty.pull_tests import update as updating
from ..uncertainty.pull_tests.evidence import Evidence, GroupEvidence, compare
from ..uncertainty.pull_tests.evidence import evidence as evidence_of
from ..uncertainty.pull_tests.planning import Plan, pieces_for_bound, pieces_for_ratio
from ..uncertainty.pull_tests.reading import read
from ..uncertainty.pull_tests.records import Group, PullTests
from ..uncertainty.pull_tests.tolerance import SAYS_NOTHING, Bound
from ..units import show
from .chances import ParentScatter, parent_scatter

REFERENCES = cited("comparison", "fit", "outliers", "tolerance")

#: A piece that carried so many times the load expected, or so small a part of it, has a wrong unit,
#: thread or length: lbf for N is 4.4, kN for lbf 225. What is known of metal and screw leaves less
#: than the second factor open: such a record is told first of all. Choices, no published source.
REFUSED, TOLD = 3.0, 1.6

#: The mode in which a piece must fail to say how strong the parent's thread is.
PARENT = "parent_thread_strip"


@dataclass(frozen=True, slots=True, kw_only=True)
class StrengthEvidence:
    """What one group of pieces says of the parent's shear strength, and so of the margin.

    Attributes
    ----------
    group : the pieces
    area : mm2, strip load over shear strength by the primary method for such a piece
    update : the strength before and after the tests
    bound : MPa, that strength at the 99/95 bound of the pieces' loads; NaN where none is useful
    margin : their effect on the margin of the parent's thread; None without a load
    """

    group: Group
    area: float
    update: updating.ShearStrengthUpdate
    bound: float
    margin: Mapping[str, float] | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CaseEvidence:
    """What the pull tests of a case show.

    Attributes
    ----------
    tests, sha256 : the record and the digest of its file
    evidence : scatter, bounds, comparison, agreement with each method
    predictions : by `Group.key`, then by method, the load predicted for such a piece, N
    basis : with which sizes and strength it was predicted
    standing : keys of the groups whose pieces show what the joint carries
    strength : what the pieces of each state say of it
    demands : by state, N, the highest load against rupture, with the preload of a tightened joint
        as in the margins, that the bounds are held against; empty without a load
    limits : what the reader must not miss
    cautions : what the record cannot show
    plans : how many specimens a further test needs
    """

    tests: PullTests
    sha256: str
    evidence: Evidence
    predictions: Mapping[tuple[str, str, float], Mapping[str, float]]
    basis: Fact
    standing: frozenset[tuple[str, str, float]]
    strength: tuple[StrengthEvidence, ...]
    demands: Mapping[str, float]
    limits: tuple[Fact, ...]
    cautions: tuple[Fact, ...]
    plans: tuple[Fact, ...]
    seed: int

    @property
    def acceptance(self) -> float | None:
        """The higher of the demands; None without one."""
        return max(self.demands.values(), default=None)

    @property
    def statements(self) -> tuple[Fact, ...]:
        """What must not be missed, then comparison, tolerance limits, the reference method."""
        compared = self.evidence.comparison
        doubted = compared is not None and compared.contradicted
        held = dict.fromkeys(self.standing, self.demands)
        return (
            *self.limits,
            *(() if compared is None else (compared.fact(),)),
            *[fact("comparison_contradicted", "caution")] * doubted,
            *(
                said
                for each in self.evidence.groups
                for said in _tolerance(each, held.get(each.group.key, {}))
            ),
            *(said for each in self.evidence.groups for said in _agreement(each)),
        )

    @property
    def doubts(self) -> tuple[Fact, ...]:
        """Of these what speaks against the calculation: no report of the case may leave it out."""
        return tuple(each for each in self.statements if each.id in _DOUBTS)


_DOUBTS = (
    "comparison_weaker", "comparison_contradicted", "tolerance_limit_too_low",
    "agreement_unsafe_side", "specimens_far_off", "specimen_below_load",
)  # fmt: skip
#: Of these what makes a conclusion that only calculates unfit to be final.
_AGAINST = (
    "comparison_weaker", "tolerance_limit_too_low", "specimens_far_off", "specimen_below_load",
)  # fmt: skip


def held_against_tests(case: Case, evaluation: Evaluation) -> Evaluation:
    """Refuse a final case whose own pull tests speak against it; where accepted, say by whom.

    Parameters
    ----------
    case : Case
    evaluation : Evaluation

    Returns
    -------
    Evaluation

    Raises
    ------
    InputErrors
        A sentence for each statement of the tests that nobody accepts; see `record` too.
    """
    accepted = acceptance(case)
    if case.status != "final" and accepted is None:
        return evaluation
    against = [each for each in evidence(case, evaluation).statements if _is_against(each)]
    if not against:
        return evaluation
    if accepted is None:
        raise InputErrors(
            message("found_against_final", found=words.sentence(each)) for each in against
        )
    said = accepted.fact("pull_tests_accepted", statements=count(len(against)))
    return replace(evaluation, facts=(*evaluation.facts, said))


def _is_against(said: Fact) -> bool:
    """Whether a statement of the tests makes a final report unfit."""
    many_show_nothing = said.id == "specimens_show_nothing" and said.level == "limit"
    return said.id in _AGAINST or many_show_nothing


def _tolerance(found: GroupEvidence, demands: Mapping[str, float]) -> Iterator[Fact]:
    """The lower tolerance limit 99/95 that counts, against the load that is asked for."""
    bound, demand = found.governing("99/95"), demands.get(found.group.state)
    if bound is None or math.isnan(bound.useful) or bound.value < (demand or 0.0):
        return  # one below the demand is told among the limits
    name = "tolerance_limit" if demand is None else "tolerance_limit_and_load"
    yield fact(name, **_of_limit(bound, demand), **found.group.values)


def _of_limit(bound: Bound, demand: float | None) -> dict[str, Value]:
    """What is told of a tolerance limit, beside the demand where one is known."""
    told: dict[str, Value] = {
        "limit": force(bound.value),
        "distribution": Term("distribution", bound.method),
        "specimens": count(bound.n),
    }
    if demand is None:
        return told
    return told | {"ratio": number(bound.value / demand), "required": force(demand)}


def _agreement(found: GroupEvidence) -> Iterator[Fact]:
    """How the specimens agree with the reference method."""
    for each in found.agreement:
        if each.method == primary.ID:
            verdict = each.verdict.replace(" ", "_")
            level = "caution" if verdict == "unsafe_side" else "info"
            yield fact(f"agreement_{verdict}", level, **each.values(), **found.group.values)


def record(case: Case) -> PullTests:
    """Read the pull tests that a case names.

    Parameters
    ----------
    case : Case

    Returns
    -------
    PullTests

    Raises
    ------
    InputError, InputErrors
        If the case names none or a file outside its folder; every fault of the record.
    """
    return read(path(case))


def path(case: Case) -> Path:
    """Return where the record of pull tests stands.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Path

    Raises
    ------
    InputError
        If the case names no file.
    """
    if not case.pull_tests:
        raise InputError("pull_tests: missing; expected the name of a CSV file beside the case")
    return files.beside(case.folder or Path(), case.pull_tests)


def evidence(case: Case, evaluation: Evaluation) -> CaseEvidence:
    """Evaluate the pull tests of a case.

    Parameters
    ----------
    case : Case
    evaluation : Evaluation

    Returns
    -------
    CaseEvidence

    Raises
    ------
    InputError, InputErrors
        See `record`.
    """
    tests = record(case)
    joint = evaluation.joint
    population = _lognormal(parent_scatter(case, joint))
    far = _held_against_expectation(tests, joint, population.mean)
    groups, cautions = _comparable(tests, joint)
    predictions = {g.key: _predictions(joint, g, population.mean) for g in groups}
    found = evidence_of(tests, seed=case.seed, predictions=predictions)
    if tests.ignored:
        cautions.append(fact("columns_not_used", "caution", columns=", ".join(tests.ignored)))
    demands = _demands(case)
    standing = frozenset(g.key for g in tests.groups() if _stands_for(g, evaluation))
    found = _of_the_joint(found, evaluation, standing, case.seed)
    apart = [*_not_in_the_record(evaluation)]
    apart += [
        fact(
            "specimens_engaged_longer",
            "caution",
            engaged=length(evaluation.states[group.state].engagement),
            **group.values,
        )
        for group in tests.groups()
        if group.size == joint.thread.designation and group.key not in standing
    ]
    return CaseEvidence(
        tests=tests,
        sha256=hashlib.sha256(path(case).read_bytes()).hexdigest(),
        evidence=found,
        predictions=predictions,
        basis=_basis(joint, population.mean),
        standing=standing,
        strength=tuple(
            _strength(evaluation, each, population, demands.get(each.group.state))
            for each in found.groups
            if primary.ID in predictions.get(each.group.key, {})
        ),
        demands=demands,
        limits=(*far, *apart, *_limits(found, demands)),
        cautions=(*cautions, *found.cautions()),
        plans=tuple(_plans(found, demands, standing)),
        seed=case.seed,
    )


def _not_in_the_record(evaluation: Evaluation) -> Iterator[Fact]:
    """Say what weakens the joint and may have been otherwise where the pieces were pulled."""
    joint = evaluation.joint
    if joint.temperature > constant("room_temperature_max").value:
        yield fact("specimens_temperature", "limit", temperature=degrees(joint.temperature))
    modes = (evaluation.states[state].mode(PARENT) for state in STATES)
    if joint.boss_diameter is not None and any(each.kept("C1", "wall") < 1 for each in modes):
        yield fact("specimens_boss", "limit", boss=length(joint.boss_diameter))


def _of_the_joint(
    found: Evidence, evaluation: Evaluation, standing: Container[tuple[str, str, float]], seed: int
) -> Evidence:
    """Keep of the comparison what it says of the joint.

    Longer inserts than the joint's, or shorter original threads, show no stronger repair. A repair
    weaker than the original thread is so whatever else was pulled beside the two.
    """
    groups: dict[str, list[GroupEvidence]] = {state: [] for state in STATES}
    for each in found.groups:
        groups[each.group.state].append(each)
    original, repaired = (evaluation.states[state].engagement for state in STATES)
    if found.comparison is not None and found.comparison.verdict != "weaker":
        before, after = (groups[state][0].group for state in STATES)
        if after.key in standing and before.engagement >= original - ROUNDING:
            return found
        return replace(found, comparison=None, not_compared=fact("not_compared_joint", "caution"))
    if found.not_compared is None or found.not_compared.id != "not_compared_groups":
        return found
    size = evaluation.joint.thread.designation
    pairs = (
        compare(before.group.load, after.group.load, seed=seed)
        for before, after in product(*groups.values())
        if before.scatter and after.scatter and "screw_tension" not in after.group.modes
        if before.group.size == after.group.size == size
        if before.group.engagement <= original + ROUNDING
        if after.group.engagement >= repaired - _spread(evaluation.joint)
    )
    weakest = min(pairs, key=lambda each: each.ratio_high, default=None)
    if weakest is None or weakest.verdict != "weaker":
        return found
    return replace(found, comparison=weakest, not_compared=None)


def _demands(case: Case) -> Mapping[str, float]:
    of_rupture = [each for each in load_cases(case) if each.against == "ultimate"]
    return {
        state: max(x.demand for x in of_rupture if x.acts(state)) for state in STATES if of_rupture
    }


def _lognormal(parent: ParentScatter) -> updating.Lognormal:
    population = parent.population
    cov = population.std() / population.mean()
    return updating.Lognormal(
        median=float(population.ppf(0.5)), log_sd=math.sqrt(math.log1p(cov**2))
    )


def _held_against_expectation(tests: PullTests, joint: Joint, mean: float) -> list[Fact]:
    """Say which pieces lie far from what such a thread and screw can carry.

    Raises
    ------
    InputErrors
        If any lies so far that its unit, thread or length must be wrong.
    """
    told, refused = [], []
    for group in tests.groups():
        expected = math.nan  # as of a boss so thin that no factor of its wall is published
        with suppress(ThreadRepairError):
            like = replace(joint, thread=threads.thread(group.size))
            strip = primary.METHOD.strip(_hole(like, group, mean), "parent").capacity
            expected = min(float(strip), screw_tension_max(like))
        if math.isnan(expected):
            told.append(fact("no_load_predicted", "limit", **group.values))
            continue
        apart = np.maximum(group.load / expected, expected / group.load)
        worst = int(np.argmax(apart))
        piece, load = group.piece[worst], float(group.load[worst])
        limit = REFUSED if apart[worst] > REFUSED else TOLD
        far = int(np.count_nonzero(apart > limit))
        if limit == REFUSED:
            refused.append(
                f"pull_tests: {group.name}: {far} of {len(apart)} pieces lie more than {limit:g} "
                "times above or below the load expected of thread and screw, "
                f"{show(expected, 'force')} (piece {piece}: {show(load, 'force')}): check units, "
                "thread and engagement"
            )
        elif far:
            told.append(
                fact(
                    "specimens_far_off",
                    "limit",
                    far=count(far),
                    specimens=count(len(apart)),
                    times=number(limit),
                    expected=force(expected),
                    specimen=piece,
                    load=force(load),
                    **group.values,
                )
            )
    refuse(refused)
    return told


def _limits(found: Evidence, demands: Mapping[str, float]) -> Iterator[Fact]:
    """What failed besides the thread, outliers, bounds that say nothing or lie below the load."""
    for each in found.groups:
        of = dict(each.group.values)
        if failed := each.group.caution():
            yield failed
        if each.outlier is not None and each.outlier.found:
            yield each.outlier.fact(**of)
        bound = each.governing("99/95")
        useful = bound is not None and bound.note is None
        if bound is not None and not useful:
            yield fact("tolerance_limit_useless", "limit", specimens=count(bound.n), **of)
        demand = demands.get(each.group.state)
        if demand is None:
            continue
        required, lowest = force(demand), int(np.argmin(each.group.load))
        if bound is not None and useful and bound.value < demand:
            yield fact("tolerance_limit_too_low", "limit", **_of_limit(bound, demand), **of)
        elif not useful and (load := float(each.group.load[lowest])) < demand:
            of |= {"specimen": each.group.piece[lowest], "load": force(load)}
            yield fact("specimen_below_load", "limit", required=required, **of)
        elif not useful:
            of["specimens"] = count(each.group.load.size)
            # Enough of them scatter too much to show anything; fewer say too little.
            level = "limit" if each.group.load.size >= updating.FEW else "caution"
            yield fact("specimens_show_nothing", level, required=required, **of)


def _comparable(tests: PullTests, joint: Joint) -> tuple[tuple[Group, ...], list[Fact]]:
    """Return the groups that the joint's prediction is about, and why others are not."""
    found, cautions = [], []
    for group in tests.groups():
        if group.size != joint.thread.designation:
            why = "group_of_another_thread"
        elif PARENT not in group.modes:
            why = "group_without_stripping"
        else:
            found.append(group)
            continue
        cautions.append(fact(why, "caution", thread=joint.thread.designation, **group.values))
    return tuple(found), cautions


def _stands_for(group: Group, evaluation: Evaluation) -> bool:
    """Whether such pieces show what the joint carries: of its thread, engaged no longer than it.

    As much longer counts too as inserts of one nominal length differ by.
    """
    joint = evaluation.joint
    longest = evaluation.states[group.state].engagement + _spread(joint)
    return group.size == joint.thread.designation and bool(group.engagement <= longest)


def _spread(joint: Joint) -> float:
    """By how much inserts of one nominal length differ when fitted, mm."""
    least, most = inserts.fitted_length(joint.thread, joint.insert_length)
    return float(most - least)


def _hole(joint: Joint, group: Group, mean: float) -> StripInputs:
    """A piece as it is most likely: mean sizes, mean strength, the engagement of the record."""
    tensile = joint.parent_tensile.value * mean / joint.parent_shear.value
    hole = mode_inputs(
        joint,
        group.state,
        group.engagement,
        position="measured" if joint.tolerance_position == "measured" else "mean",
        strengths=(mean, tensile, joint.flow_stress.value),
    )
    return replace(hole, wall_factor=None)  # C1 alone: nobody knows the hold of a test piece


def _predictions(joint: Joint, group: Group, mean: float) -> Mapping[str, float]:
    hole = _hole(joint, group, mean)
    own = float(primary.METHOD.strip(hole, "parent").capacity)
    loads = {} if math.isnan(own) else {primary.ID: own}
    for method in METHODS.values():
        load = float(rival_strip(method, hole, "parent").capacity)
        if np.isfinite(load) and method.for_wire_inserts:
            loads[method.id] = load
    return loads


def _basis(joint: Joint, mean: float) -> Fact:
    others = [method.title for method in METHODS.values() if not method.for_wire_inserts]
    sizes = "measured" if joint.tolerance_position == "measured" else "middle"
    return fact(f"predicted_at_{sizes}_sizes", mean=stress(mean), not_compared=", ".join(others))


#: Coverage that a further test is planned for: that of the bound which counts.
_PLANNED = 0.99


def _plans(
    found: Evidence, demands: Mapping[str, float], standing: Container[tuple[str, str, float]]
) -> Iterator[Fact]:
    """How many specimens a further test needs, with the scatter found here."""
    scatters = [each.scatter for each in found.groups if each.scatter]
    for each in found.groups:
        demand = demands.get(each.group.state)
        if demand is None or each.scatter is None or each.group.key not in standing:
            continue
        of_load = partial(
            pieces_for_bound,
            # A lower limit than that half would not be stated.
            requirement=max(demand, SAYS_NOTHING * each.scatter.mean),
            mean=each.scatter.mean,
            cov=each.scatter.cov,
            coverage=_PLANNED,
            shape="weibull",  # whose bound is the least as a rule, and so the one that counts
        )
        required = force(demand)
        yield _plan("load", "caution", of_load, required=required, **each.group.values)
    if found.comparison is not None:
        ratio, cov = found.comparison.ratio, max(each.cov for each in scatters)
        of_ratio = partial(pieces_for_ratio, expected=ratio, cov=cov)
        yield _plan("ratio", "info", of_ratio, ratio=number(ratio))


def _plan(what: str, impossible: str, plan: Callable[[], Plan], **values: Value) -> Fact:
    try:
        needed = plan()
    except ValidityError:
        return fact(f"plan_for_{what}_impossible", impossible, **values)
    values |= {"specimens": count(needed.n), "power": share(needed.power)}
    return fact(f"plan_for_{what}", **values)


def _strength(
    evaluation: Evaluation,
    found: GroupEvidence,
    population: updating.Lognormal,
    demand: float | None,
) -> StrengthEvidence:
    group = found.group
    result = primary.METHOD.strip(_hole(evaluation.joint, group, population.mean), "parent")
    area = float(result.capacity / result.stress)
    updated = updating.update_shear_strength(
        group.load,
        area,
        prior=population,
        # Where something else gave way the parent's thread carried at least that load.
        screw_broke=np.array([mode != PARENT for mode in group.mode]),
    )
    governing = found.governing("99/95")
    bound = math.nan if governing is None else governing.useful / area
    margin = None
    if demand is not None:
        mode = evaluation.states[group.state].mode(PARENT)
        margin = updating.margin_effect(
            updated,
            area=mode.capacity / mode.stress,
            demand=demand,
            bound=bound,
        )
    return StrengthEvidence(group=group, area=area, update=updated, bound=bound, margin=margin)
