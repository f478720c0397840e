"""What test pieces show: the record, its scatter, and whether the prediction holds."""

from __future__ import annotations

import math

from IPython.display import Markdown

from ... import words
from ...facts import Fact, fact, number, share
from ...figures.pull_tests import (
    Pieces,
    load_against_travel,
    loads_by_state,
    probability_paper,
)
from ...sources import Reference
from ...strength import primary
from ...strength.methods import METHODS
from ...study import Study, evidence
from ...study.evidence import CaseEvidence
from ...units import number as text_of
from ...units import plain, printed, show, side_by_side, unit_of
from .. import escape
from ..figure import ReportFigure, ReportTable
from .cells import bullets, cell, mode_words, state_words
from .comparison import passage
from .layout import figure, table

#: Smaller p-values are not told apart: that is as many permutations as are drawn.
_LEAST_P = 1e-4


def note(study: Study) -> Markdown:
    """What the record says of itself, set apart: above all that data are invented."""
    found = study.evidence
    return Markdown("> " + escape.markdown(found.tests.note or "The record has no note."))


def summary(study: Study) -> Markdown:
    """What must not be missed, then comparison, tolerance limits, the reference method."""
    return bullets(study.evidence.statements, study.case.report_units)


def record_table(study: Study) -> ReportTable:
    """The pieces by state: number, failure modes, mean and scatter."""
    case, found = study.case, study.evidence
    rows = [
        {
            "group": each.group,
            "n": len(each.group.load),
            "modes": ", ".join(f"{mode_words(m)} ({n})" for m, n in each.group.modes.items()),
            "scatter": each.scatter,
            "lowest": float(each.scatter.least if each.scatter else each.group.load[0]),
        }
        for each in found.evidence.groups
    ]
    name, sha256 = str(case.pull_tests), found.sha256[:12]
    return table("record", rows, case.report_units, record=name, sha256=sha256)


def pieces_table(study: Study) -> ReportTable:
    """Every piece with its load, its failure mode, and its load over the prediction."""
    found = study.evidence
    rows = []
    for group in (each.group for each in found.evidence.groups):
        predicted = found.predictions.get(group.state, {}).get(primary.ID, math.nan)
        for piece, load, failure in zip(group.piece, group.load, group.mode, strict=True):
            rows.append((piece, group.state, float(load), failure, float(load) / predicted))
    return table("single-pieces", rows, study.case.report_units)


def outliers(study: Study) -> Markdown:
    """Whether the farthest piece of each group is an outlier; empty for too few pieces."""
    found = (
        each.outlier.fact(**each.group.values)
        for each in study.evidence.evidence.groups
        if each.outlier is not None
    )
    return bullets(found, study.case.report_units)


def curves_figure(study: Study) -> ReportFigure | Markdown:
    """Load against travel of the pieces whose curves are given, beside the prediction."""
    case, found = study.case, study.evidence
    if not found.curves:
        return passage("The record gives no curve of load against travel.")
    curves = [(each.piece, each.state, each.curve) for each in found.curves]
    predicted = {state: loads[primary.ID] for state, loads in found.predictions.items()}
    names = ", ".join(each.piece for each in found.curves)
    drawn = load_against_travel(curves, predicted, system=case.report_units)
    return figure("curves", drawn, names=names)


def curves_table(study: Study) -> ReportTable | Markdown:
    """Stiffness, first yield, work and peak of each curve; empty where there is none."""
    case, found = study.case, study.evidence
    if not found.curves:
        return Markdown("")
    system = case.report_units
    rows = [
        {
            "found": each,
            "stiffness": _in_units(each.curve.stiffness, -1, system),
            "work": _in_units(each.curve.work, 1, system),
            "recorded": cell(each.recorded, "force", system, 4)
            + ("" if each.curve.agrees(each.recorded) else " DISAGREES"),
        }
        for each in found.curves
    ]
    stiffness, work = _unit("/", system), _unit("·", system)
    return table("curve-values", rows, system, stiffness=stiffness, work=work)


def _in_units(value: float, power: int, system: str) -> str:
    """Print a force times a length (power 1), or over one (-1), in the units of the report."""

    def text(each: str) -> str:
        return text_of(
            value
            * float(printed(1.0, "force", each))
            * float(printed(1.0, "length", each)) ** power
        )

    return side_by_side(text, system)


def _unit(sign: str, system: str) -> str:
    return side_by_side(lambda s: f"{unit_of('force', s)}{sign}{unit_of('length', s)}", system)


def _pieces(found: CaseEvidence, system: str) -> list[Pieces]:
    pieces = []
    for each in found.evidence.groups:
        group = each.group
        length = plain(group.engagement, dimension="length", system=system)
        several = sum(g.group.state == group.state for g in found.evidence.groups) > 1
        words = state_words(group.state) + (f", {group.size} {length}" if several else "")
        predicted = found.predictions.get(group.state, {}).get(primary.ID, math.nan)
        pieces.append(Pieces(words=words, found=each, predicted=predicted))
    return pieces


def loads_figure(study: Study) -> ReportFigure:
    """Every piece of both states with mean, tolerance bounds and prediction."""
    case, found = study.case, study.evidence
    system = case.report_units
    pieces = _pieces(found, system)
    means = ", ".join(f"{p.words} {show(p.mean, 'force', system=system)}" for p in pieces)
    return figure("pieces", loads_by_state(pieces, system=system), means=means)


def probability_figure(study: Study) -> ReportFigure:
    """The loads on normal probability paper."""
    system = study.case.report_units
    return figure("probability", probability_paper(_pieces(study.evidence, system), system=system))


def shapes_passage(study: Study) -> Markdown:
    """Whether each distribution can be rejected for each condition."""
    found = (
        fit.fact(**each.group.values)
        for each in study.evidence.evidence.groups
        for fit in each.fits
    )
    return bullets(found, study.case.report_units)


def bounds_table(study: Study) -> ReportTable:
    """Lower tolerance bounds by every shape, side by side."""
    rows = [
        {"state": group.group.state, "bound": bound, "note": "; ".join(filter(None, (
            "governs" if bound is group.governing(bound.claim) else "",
            "" if bound.note is None else words.sentence(bound.note),
        )))}
        for group in study.evidence.evidence.groups
        for bound in group.bounds
    ]  # fmt: skip
    return table("tolerance-bounds", rows, study.case.report_units)


def comparison_passage(study: Study) -> Markdown:
    """Original against repaired, with the p-values and the seed of the permutations."""
    found = study.evidence.evidence
    compared = found.comparison
    if compared is None:
        return _paragraph([] if found.not_compared is None else [found.not_compared])
    said = [
        compared.fact(),
        fact(
            "comparison_p_values",
            "info",
            welch=number(max(compared.welch_p, _LEAST_P)),
            permutation=number(max(compared.permutation_p, _LEAST_P)),
            seed=str(compared.seed),
        ),
    ]
    return _paragraph(
        [*said, *([fact("comparison_contradicted", "caution")] * compared.contradicted)]
    )


def _paragraph(found: list[Fact]) -> Markdown:
    return passage(" ".join(words.sentence(each) for each in found))


def agreement_table(study: Study) -> ReportTable | Markdown:
    """Tested over predicted load of each method, never averaged."""
    found = study.evidence
    by_method: dict[str, dict[str, tuple[object, ...]]] = {}
    for group in found.evidence.groups:
        state = group.group.state
        for each in group.agreement:
            shown = (found.predictions[state][each.method], each.ratio, (each.low, each.high))
            by_method.setdefault(each.method, {})[state] = shown
    if not by_method:
        return passage("No group of specimens can be compared with the prediction.")
    rows = [
        (
            "reference method" if method == primary.ID else METHODS[method].title,
            *shown.get("original", (None,) * 3),
            *shown.get("repaired", (None,) * 3),
        )
        for method, shown in by_method.items()
    ]
    return table("agreement", rows, study.case.report_units, basis=found.basis)


def strength_table(study: Study) -> ReportTable | Markdown:
    """The parent's shear strength before and after the tests, and the margin at its bound."""
    case, found = study.case, study.evidence
    if not found.strength:
        return passage("No specimen gives a shear strength of the parent.")
    system = case.report_units
    rows = [
        {
            "found": each,
            "before": f"{cell(each.update.prior.mean, 'stress', system, 4)} ± "
            f"{cell(each.update.prior.sd, 'stress', system, 2)}",
            "interval": (each.update.low, each.update.high),
        }
        for each in found.strength
    ]
    return table("strength", rows, system, credible=share(found.strength[0].update.credible))


def strength_cautions(study: Study) -> Markdown:
    """What must be known before the updated strength is used; empty where there is nothing."""
    found = (
        said
        for each in study.evidence.strength
        for said in each.update.cautions(**each.group.values)
    )
    return bullets(found, study.case.report_units)


def plan(study: Study) -> Markdown:
    """How many specimens a further test needs, with the scatter found here."""
    return bullets(study.evidence.plans, study.case.report_units)


def cautions(study: Study) -> Markdown:
    """What the record cannot show."""
    return bullets(study.evidence.cautions, study.case.report_units)


def references(study: Study) -> tuple[Reference, ...]:
    """What probabilities and evidence rest on, for the ledger."""
    return (*study.chances.references, *evidence.REFERENCES)
