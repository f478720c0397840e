"""Do the test pieces of a case agree with its prediction, and what do they change."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

import numpy as np

from . import chance, files, pull_tests, threads
from .case import Case
from .chance import ParentScatter
from .errors import InputError, InputErrors, ThreadRepairError
from .joint import Evaluation, Joint, mode_inputs, screw_tension_max
from .pull_tests import (
    Curve,
    Evidence,
    Group,
    GroupEvidence,
    MarginEffect,
    PullTests,
    ShearStrengthUpdate,
)
from .pull_tests.comparison import REFERENCES as COMPARISON_REFERENCES
from .pull_tests.distributions import REFERENCES as SHAPE_REFERENCES
from .pull_tests.outliers import REFERENCES as OUTLIER_REFERENCES
from .pull_tests.tolerance import REFERENCES as BOUND_REFERENCES
from .reliability import Distribution
from .sources import Reference
from .strength import primary
from .strength.methods import METHODS
from .strength.strip import StripInputs, rival_strip
from .units import plain, show

REFERENCES: tuple[Reference, ...] = (
    *COMPARISON_REFERENCES, *SHAPE_REFERENCES, *OUTLIER_REFERENCES, *BOUND_REFERENCES
)  # fmt: skip

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
    bound : MPa, that strength at the 99/95 bound of the pieces' loads; NaN where there is none
    margin : their effect on the margin of the parent's thread; None without a design load
    """

    group: Group
    area: float
    update: ShearStrengthUpdate
    bound: float
    margin: MarginEffect | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceCurve:
    """The curve of one piece, with the state and the peak load, N, of the record."""

    piece: str
    state: str
    recorded: float
    curve: Curve


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CaseEvidence:
    """What the pull tests of a case show.

    Attributes
    ----------
    tests, sha256 : the record and the digest of its file
    evidence : scatter, bounds, comparison, agreement with each method
    predictions : by state, then by method, the load predicted for such a piece, N
    prediction_words : with which sizes and strength it was predicted
    parent : how the parent's strength was assumed to scatter
    strength : what the pieces of each state say of it
    curves : load against travel, of the pieces that have one
    acceptance : N, factored design load that the bounds are held against; None without one
    limits : what the reader must not miss
    cautions : what the record cannot show
    system : units of its sentences, those of the case's report
    """

    tests: PullTests
    sha256: str
    evidence: Evidence
    predictions: Mapping[str, Mapping[str, float]]
    prediction_words: str
    parent: ParentScatter
    strength: tuple[StrengthEvidence, ...]
    curves: tuple[PieceCurve, ...]
    acceptance: float | None
    limits: tuple[str, ...]
    cautions: tuple[str, ...]
    seed: int
    system: str


def record(case: Case) -> PullTests:
    """Read the pull tests that a case names.

    Raises
    ------
    InputError, InputErrors
        If the case names none or a file outside its folder; every fault of the record.
    """
    return pull_tests.read(path(case))


def path(case: Case) -> Path:
    """Return where the record of pull tests stands."""
    if not case.pull_tests:
        raise InputError("pull_tests: missing; expected the name of a CSV file beside the case")
    return files.beside(case.folder or Path(), case.pull_tests)


def files_of(case: Case) -> tuple[str, ...]:
    """Names of the files that a case needs, as seen from its folder: the record and its curves."""
    if not case.pull_tests:
        return ()
    beside = Path(case.pull_tests).parent
    curves = dict.fromkeys(str(name) for name in record(case).curve if name)
    return (case.pull_tests, *((beside / name).as_posix() for name in curves))


def of(case: Case, evaluation: Evaluation) -> CaseEvidence:
    """Evaluate the pull tests of an evaluated case.

    Raises
    ------
    InputError, InputErrors
        See `record`.
    """
    tests = record(case)
    joint = evaluation.joint
    system = case.report_units
    parent = chance.parent_scatter(case, joint)
    far = _held_against_expectation(tests, joint, parent.population, system)
    groups, cautions = _comparable(tests, joint, system)
    predictions = {g.state: _predictions(joint, g, parent.population) for g in groups}
    found = pull_tests.evidence(tests, seed=case.seed, predictions=predictions, system=system)
    curves = _curves(case, tests)
    if tests.ignored:
        cautions.append(f"Not used of the record: {', '.join(tests.ignored)}.")
    acceptance = None if case.design_load is None else case.design_load * case.load_factor
    return CaseEvidence(
        tests=tests,
        sha256=hashlib.sha256(path(case).read_bytes()).hexdigest(),
        evidence=found,
        predictions=MappingProxyType(predictions),
        prediction_words=_words(joint, parent, system),
        parent=parent,
        strength=tuple(
            _strength(case, evaluation, each, parent.population)
            for each in found.groups
            if each.group.state in predictions
        ),
        curves=curves,
        acceptance=acceptance,
        limits=(*far, *_limits(found, acceptance, system), *_disagreeing(curves, system)),
        cautions=tuple(dict.fromkeys([*cautions, *found.cautions()])),
        seed=case.seed,
        system=system,
    )


def _held_against_expectation(
    tests: PullTests, joint: Joint, population: Distribution, system: str
) -> list[str]:
    """Say which pieces lie far from what such a thread and screw can carry.

    Raises
    ------
    InputErrors
        If any lies so far that its unit, thread or length must be wrong.
    """
    told, refused = [], []
    for group in tests.groups():
        try:
            like = replace(joint, thread=threads.thread(group.size))
            strip = primary.parent_strip_load(_hole(like, group, population)).capacity
            expected = min(float(strip), screw_tension_max(like))
        except ThreadRepairError:
            told.append(
                f"{group.name_in(system)}: no load is predicted to hold the pieces against."
            )
            continue
        ratio = group.load / expected
        apart = np.maximum(ratio, 1 / ratio)
        worst = int(np.argmax(apart))
        if apart[worst] <= TOLD:
            continue
        limit = REFUSED if apart[worst] > REFUSED else TOLD
        count = int(np.count_nonzero(apart > limit))
        text = (
            f"{group.name_in(system)}: {count} of {len(ratio)} pieces lie "
            f"more than {limit:g} times above or below the load expected of thread and screw, "
            f"{show(expected, 'force', system=system)} (piece {group.piece[worst]}: "
            f"{show(float(group.load[worst]), 'force', system=system)}): check units, thread and "
            "engagement"
        )
        if limit == REFUSED:
            refused.append(f"pull_tests: {text}")
        else:
            told.append(f"{text} before anything here is used.")
    if refused:
        raise InputErrors(refused)
    return told


def _limits(found: Evidence, acceptance: float | None, system: str) -> list[str]:
    """Outliers, bounds that say nothing, and bounds below the load that is asked for."""
    said = []
    for each in found.groups:
        name = each.group.name_in(system)
        if each.outlier is not None and each.outlier.found:
            said.append(f"{name}: {each.outlier.sentence(system=system)}")
        bound = each.governing("99/95")
        if bound is None:
            continue
        if bound.note:
            said.append(f"{name}: the 99/95 bound lies {bound.note}.")
        elif acceptance is not None and bound.value < acceptance:
            said.append(
                f"{name}: the 99/95 bound, {show(bound.value, 'force', system=system)}, lies below "
                f"the factored design load, {show(acceptance, 'force', system=system)}."
            )
    return said


def _curves(case: Case, tests: PullTests) -> tuple[PieceCurve, ...]:
    beside = path(case).parent
    return tuple(
        PieceCurve(
            piece=str(piece),
            state=str(state),
            recorded=float(load),
            curve=pull_tests.read_curve(beside / str(name)),
        )
        for piece, state, load, name in zip(
            tests.piece, tests.state, tests.load, tests.curve, strict=True
        )
        if name
    )


def _disagreeing(curves: tuple[PieceCurve, ...], system: str) -> list[str]:
    return [
        f"Piece {each.piece}: its curve {Path(each.curve.path).name} peaks at "
        f"{show(each.curve.peak, 'force', system=system)}, the record says "
        f"{show(each.recorded, 'force', system=system)}; one of them is wrong."
        for each in curves
        if not each.curve.agrees(each.recorded)
    ]


def _comparable(tests: PullTests, joint: Joint, system: str) -> tuple[tuple[Group, ...], list[str]]:
    """Return the groups that the joint's prediction is about, and why others are not."""
    groups = tests.groups()
    found, cautions = [], []
    for group in groups:
        name = group.name_in(system)
        alone = sum(g.state == group.state for g in groups) == 1
        if group.size != joint.thread.designation:
            cautions.append(
                f"{name}: not compared with the prediction, which is for "
                f"{joint.thread.designation}."
            )
        elif not alone:
            cautions.append(
                f"{name}: not compared with the prediction; that takes one engagement of "
                "each state."
            )
        elif PARENT not in group.modes:
            cautions.append(
                f"{name}: not compared with the prediction, because the parent's thread "
                "stripped in no piece."
            )
        else:
            found.append(group)
    return tuple(found), cautions


def _hole(joint: Joint, group: Group, population: Distribution) -> StripInputs:
    """A piece as it is most likely: mean sizes, mean strength, the engagement of the record."""
    stronger = population.mean / joint.parent_shear.value
    return mode_inputs(
        joint,
        group.state,
        group.engagement,
        position="measured" if joint.tolerance_position == "measured" else "mean",
        parent_shear=population.mean,
        parent_tensile=joint.parent_tensile.value * stronger,
    ).hole


def _predictions(joint: Joint, group: Group, population: Distribution) -> Mapping[str, float]:
    hole = _hole(joint, group, population)
    loads = {primary.ID: float(primary.parent_strip_load(hole).capacity)}
    for method in METHODS.values():
        load = float(rival_strip(method.parent_strip, hole, method.id).capacity)
        if np.isfinite(load) and method.for_wire_inserts:
            loads[method.id] = load
    return MappingProxyType(loads)


def _words(joint: Joint, parent: ParentScatter, system: str) -> str:
    others = [method.title for method in METHODS.values() if not method.for_wire_inserts]
    measured = joint.tolerance_position == "measured"
    sizes = "the measured sizes" if measured else "sizes in the middle of their tolerances"
    return (
        f"Predicted with the engagement of the record, {sizes} and the mean of the parent's shear "
        f"strength, {plain(parent.population.mean, dimension='stress', system=system, digits=4)}. "
        f"Not compared: {', '.join(others)}."
    )


def _strength(
    case: Case, evaluation: Evaluation, found: GroupEvidence, population: Distribution
) -> StrengthEvidence:
    group = found.group
    result = primary.parent_strip_load(_hole(evaluation.joint, group, population))
    area = float(result.capacity / result.stress)
    update = pull_tests.update_shear_strength(
        group.load,
        area,
        prior=population,
        # Where something else gave way the parent's thread carried at least that load.
        screw_broke=np.array([mode != PARENT for mode in group.mode]),
    )
    governing = found.governing("99/95")
    bound = float("nan") if governing is None else governing.value / area
    margin = None
    if case.design_load is not None:
        mode = evaluation.states[group.state].mode(PARENT)
        margin = pull_tests.margin_effect(
            update,
            area=mode.capacity / mode.stress,
            demand=case.design_load,
            factor=case.load_factor,
            bound=bound,
        )
    return StrengthEvidence(group=group, area=area, update=update, bound=bound, margin=margin)
