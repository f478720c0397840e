"""Do the test pieces of a case agree with its prediction, and what do they change."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

import numpy as np

from . import chance, files, pull_tests
from .case import Case
from .chance import ParentScatter
from .errors import InputError
from .evaluation import evaluate
from .joint import Evaluation, Joint, mode_inputs
from .pull_tests import Evidence, Group, MarginEffect, PullTests, ShearStrengthUpdate
from .pull_tests.comparison import REFERENCES as COMPARISON_REFERENCES
from .pull_tests.distributions import REFERENCES as SHAPE_REFERENCES
from .pull_tests.tolerance import REFERENCES as BOUND_REFERENCES
from .reliability import Distribution
from .sources import Reference
from .strength import primary
from .strength.methods import METHODS
from .strength.strip import StripInputs
from .units import plain

REFERENCES: tuple[Reference, ...] = (*COMPARISON_REFERENCES, *SHAPE_REFERENCES, *BOUND_REFERENCES)

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
    margin : their effect on the margin of the parent's thread; None without a design load
    """

    group: Group
    area: float
    update: ShearStrengthUpdate
    margin: MarginEffect | None


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


def study(case: Case) -> CaseEvidence:
    """Evaluate the pull tests of a case.

    Raises
    ------
    InputError, InputErrors
        See `record`.
    """
    tests = record(case)
    evaluation = evaluate(case)
    joint = evaluation.joint
    parent = chance.parent_scatter(case, joint)
    groups, cautions = _comparable(tests, joint, case.report_units)
    predictions = {g.state: _predictions(joint, g, parent.population) for g in groups}
    found = pull_tests.evidence(
        tests, seed=case.seed, predictions=predictions, system=case.report_units
    )
    return CaseEvidence(
        tests=tests,
        sha256=hashlib.sha256(path(case).read_bytes()).hexdigest(),
        evidence=found,
        predictions=MappingProxyType(predictions),
        prediction_words=_words(joint, parent, case.report_units),
        parent=parent,
        strength=tuple(_strength(case, evaluation, g, parent.population) for g in groups),
        cautions=tuple(dict.fromkeys([*cautions, *found.cautions()])),
        seed=case.seed,
        system=case.report_units,
    )


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
        load = float(method.parent_strip(hole).capacity)
        if np.isfinite(load) and method.for_wire_inserts:
            loads[method.id] = load
    return MappingProxyType(loads)


def _words(joint: Joint, parent: ParentScatter, system: str) -> str:
    measured = joint.tolerance_position == "measured"
    sizes = "the measured sizes" if measured else "sizes in the middle of their tolerances"
    return (
        f"Predicted with the engagement of the record, {sizes} and the mean of the parent's shear "
        f"strength, {plain(parent.population.mean, dimension='stress', system=system, digits=4)}."
    )


def _strength(
    case: Case, evaluation: Evaluation, group: Group, population: Distribution
) -> StrengthEvidence:
    result = primary.parent_strip_load(_hole(evaluation.joint, group, population))
    area = float(result.capacity / result.stress)
    update = pull_tests.update_shear_strength(
        group.load,
        area,
        prior=population,
        # Where something else gave way the parent's thread carried at least that load.
        screw_broke=np.array([mode != PARENT for mode in group.mode]),
    )
    margin = None
    if case.design_load is not None:
        mode = evaluation.states[group.state].mode(PARENT)
        margin = pull_tests.margin_effect(
            update,
            area=mode.capacity / mode.stress,
            demand=case.design_load,
            factor=case.load_factor,
        )
    return StrengthEvidence(group=group, area=area, update=update, margin=margin)
