"""What test pieces show: the record, its scatter, and whether the prediction holds."""

from __future__ import annotations

import math

from IPython.display import Markdown

from ... import evidence
from ...errors import ValidityError
from ...evidence import CaseEvidence
from ...figures.pull_tests import (
    CurveLine,
    PieceGroup,
    load_against_travel,
    loads_by_state,
    probability_paper,
)
from ...pull_tests import CLAIMS, pieces_for_bound, pieces_for_ratio
from ...pull_tests.evidence import GroupEvidence
from ...sources import Reference
from ...strength import primary
from ...strength.methods import METHODS
from ...study import Study
from ...units import number, plain, printed, show, side_by_side, unit_of
from .. import escape
from ..figure import ReportFigure, ReportTable
from .cells import cell, head, mode_words, state_words
from .comparison import passage

_METHOD_WORDS = {
    "normal": "normal",
    "lognormal": "lognormal",
    "weibull": "Weibull",
    "order_statistic": "any shape (rank)",
    "hanson_koopmans": "any usual shape (Hanson-Koopmans)",
}


def note(study: Study) -> Markdown:
    """What the record says of itself, set apart: above all that data are invented."""
    found = study.evidence
    return Markdown("> " + escape.markdown(found.tests.note or "The record has no note."))


def summary(study: Study) -> Markdown:
    """What must not be missed, then comparison, bounds, prediction by the method of the verdict."""
    found = study.evidence
    said = [f"**Limit.** {escape.markdown(text)}" for text in found.limits]
    plain_words = []
    if found.evidence.comparison:
        plain_words.append(found.evidence.comparison.sentence())
    for group in found.evidence.groups:
        bound = group.governing("99/95")
        if bound is not None and not math.isnan(bound.value):
            load = show(bound.value, "force", system=found.system)
            text = (
                f"{_name(group, found.system)}: with 95 % confidence, 99 % of all such pieces "
                f"carry {load} or more ({_METHOD_WORDS[bound.method]}, {bound.n} pieces)"
            )
            if found.acceptance is not None:
                asked = show(found.acceptance, "force", system=found.system)
                text += f", {number(bound.value / found.acceptance)} times the factored design "
                text += f"load, {asked}"
            plain_words.append(f"{text}.")
    for group in found.evidence.groups:
        for agreement in group.agreement:
            if agreement.method == primary.ID:
                words = agreement.sentence().removeprefix(f"{primary.ID}: ")
                plain_words.append(f"{_name(group, found.system)}, method of the verdict: {words}")
    said += [escape.markdown(text) for text in plain_words]
    return Markdown("\n".join(f"- {text}" for text in said))


def _name(group: GroupEvidence, system: str) -> str:
    words = state_words(group.group.state)
    engaged = plain(group.group.engagement, dimension="length", system=system)
    return f"{words[0].upper()}{words[1:]}, {engaged} engaged"


def record_table(study: Study) -> ReportTable:
    """The pieces by state: number, failure modes, mean and scatter."""
    case, found = study.case, study.evidence
    system = case.report_units
    rows = []
    for each in found.evidence.groups:
        group, scatter = each.group, each.scatter
        modes = ", ".join(f"{mode_words(m)} ({n})" for m, n in group.modes.items())
        rows.append(
            (
                state_words(group.state),
                group.size,
                cell(group.engagement, "length", system),
                f"{len(group.load)}",
                modes,
                *(
                    (
                        cell(scatter.mean, "force", system, 4),
                        f"{number(100 * scatter.cov, 2)} %",
                        cell(scatter.least, "force", system, 4),
                    )
                    if scatter
                    else ("–", "–", cell(float(group.load[0]), "force", system, 4))
                ),
            )
        )
    return ReportTable(
        [
            "State",
            "Thread",
            head("Engaged", "length", system),
            "Pieces",
            "Failed by",
            head("Mean load", "force", system),
            "Scatter",
            head("Least", "force", system),
        ],
        rows,
        caption=f"The record {case.pull_tests} (SHA-256 {found.sha256[:12]}…)",
        label="record",
        alignment=["left", "left", "right", "right", "left", "right", "right", "right"],
    )


def pieces_table(study: Study) -> ReportTable:
    """Every piece with its load, its failure mode, and its load over the prediction."""
    case, found = study.case, study.evidence
    system = case.report_units
    rows = []
    for each in found.evidence.groups:
        group = each.group
        predicted = found.predictions.get(group.state, {}).get(primary.ID, math.nan)
        for piece, load, mode in zip(group.piece, group.load, group.mode, strict=True):
            ratio = float(load) / predicted
            rows.append(
                (
                    piece,
                    state_words(group.state),
                    cell(float(load), "force", system, 4),
                    mode_words(mode),
                    "–" if math.isnan(ratio) else number(ratio),
                )
            )
    return ReportTable(
        ["Piece", "State", head("Peak load", "force", system), "Failed by", "Test over prediction"],
        rows,
        caption="The pieces; prediction by the method of the verdict",
        label="single-pieces",
        alignment=["left", "left", "right", "left", "right"],
    )


def outliers(study: Study) -> Markdown:
    """Whether the farthest piece of each group is an outlier; empty for too few pieces."""
    found = study.evidence
    lines = [
        f"- {escape.markdown(f'{_name(group, found.system)}. {said}')}"
        for group in found.evidence.groups
        if group.outlier is not None
        for said in [group.outlier.sentence(system=found.system)]
    ]
    return Markdown("\n".join(lines))


def curves_figure(study: Study) -> ReportFigure | Markdown:
    """Load against travel of the pieces whose curves are given, beside the prediction."""
    case, found = study.case, study.evidence
    if not found.curves:
        return passage("The record names no curve of load against travel.")
    curves = [
        CurveLine(
            piece=each.piece,
            state=each.state,
            travel=each.curve.displacement,
            load=each.curve.load,
            first_yield=each.curve.first_yield,
        )
        for each in found.curves
    ]
    predicted = {state: loads[primary.ID] for state, loads in found.predictions.items()}
    names = ", ".join(each.piece for each in found.curves)
    return ReportFigure(
        load_against_travel(curves, predicted, system=case.report_units),
        caption="Load against travel of the machine's head. Circle: first yield (5 % secant). "
        "Level lines: prediction by the method of the verdict.",
        alt=f"Curves of load against travel of the pieces {names}, each rising to its peak.",
        label="curves",
    )


def curves_table(study: Study) -> ReportTable | Markdown:
    """Stiffness, first yield, work and peak of each curve; empty where there is none."""
    case, found = study.case, study.evidence
    if not found.curves:
        return Markdown("")
    system = case.report_units
    rows = [
        (
            each.piece,
            state_words(each.state),
            _in_units(each.curve.stiffness, -1, system),
            cell(each.curve.first_yield, "force", system),
            _in_units(each.curve.work, 1, system),
            cell(each.curve.peak, "force", system, 4),
            cell(each.recorded, "force", system, 4)
            + ("" if each.curve.agrees(each.recorded) else " DISAGREES"),
        )
        for each in found.curves
    ]
    return ReportTable(
        [
            "Piece",
            "State",
            f"Stiffness, {_unit('/', system)}",
            head("First yield", "force", system),
            f"Work to the peak, {_unit('·', system)}",
            head("Peak of the curve", "force", system),
            head("Peak of the record", "force", system),
        ],
        rows,
        caption="What the curves show; stiffness and work hold the machine's own stretch",
        label="curve-values",
        alignment=["left", "left", "right", "right", "right", "right", "right"],
    )


def _in_units(value: float, power: int, system: str) -> str:
    """Print a force times a length (power 1), or over one (-1), in the units of the report."""

    def text(each: str) -> str:
        return number(
            value
            * float(printed(1.0, "force", each))
            * float(printed(1.0, "length", each)) ** power
        )

    return side_by_side(text, system)


def _unit(sign: str, system: str) -> str:
    return side_by_side(lambda s: f"{unit_of('force', s)}{sign}{unit_of('length', s)}", system)


def _pieces(found: CaseEvidence) -> list[PieceGroup]:
    pieces = []
    for each in found.evidence.groups:
        group, scatter = each.group, each.scatter
        length = plain(group.engagement, dimension="length", system=found.system)
        several = sum(g.group.state == group.state for g in found.evidence.groups) > 1
        pieces.append(
            PieceGroup(
                state=group.state,
                words=state_words(group.state) + (f", {group.size} {length}" if several else ""),
                loads=group.load,
                mean=scatter.mean if scatter else math.nan,
                mean_low=scatter.mean_low if scatter else math.nan,
                mean_high=scatter.mean_high if scatter else math.nan,
                sd=scatter.sd if scatter else math.nan,
                bounds={
                    claim: bound.value
                    for claim in CLAIMS
                    if (bound := each.governing(claim)) is not None and bound.value > 0
                },
                predicted=found.predictions.get(group.state, {}).get(primary.ID, math.nan),
            )
        )
    return pieces


def loads_figure(study: Study) -> ReportFigure:
    """Every piece of both states with mean, tolerance bounds and prediction."""
    case, found = study.case, study.evidence
    pieces = _pieces(found)
    means = ", ".join(f"{p.words} {show(p.mean, 'force', system=found.system)}" for p in pieces)
    return ReportFigure(
        loads_by_state(pieces, system=case.report_units),
        caption="Peak loads of the pieces. Bar: mean with its 95 % interval. Triangles: loads that "
        "99 % or 90 % of all such pieces exceed with 95 % confidence. Upright line: "
        "prediction by the method of the verdict.",
        alt=f"One row of points for each state. Mean loads: {means}.",
        label="pieces",
    )


def probability_figure(study: Study) -> ReportFigure:
    """The loads on normal probability paper."""
    case, found = study.case, study.evidence
    return ReportFigure(
        probability_paper(_pieces(found), system=case.report_units),
        caption="The pieces on normal probability paper (median ranks). Points near the line: a "
        "normal shape is not contradicted. Diamonds: 99/95 bounds, which lie left of the line "
        "because few pieces leave mean and scatter uncertain.",
        alt="Two rising rows of points, each with the straight line of its fitted normal shape and "
        "a diamond for its bound.",
        label="probability",
    )


def shapes_passage(study: Study) -> Markdown:
    """Whether each shape fits each state."""
    found = study.evidence
    lines = [
        f"- {escape.markdown(f'{_name(group, found.system)}. {_capital(fit.sentence())}')}"
        for group in found.evidence.groups
        for fit in group.fits
    ]
    return Markdown("\n".join(lines))


def _capital(sentence: str) -> str:
    return sentence.replace("weibull", "Weibull")


def bounds_table(study: Study) -> ReportTable:
    """Lower tolerance bounds by every shape, side by side."""
    case, found = study.case, study.evidence
    system = case.report_units
    rows = [
        (
            state_words(group.group.state),
            bound.claim,
            _METHOD_WORDS[bound.method],
            f"{bound.n}",
            number(bound.factor, 4),
            cell(bound.value, "force", system, 4),
            "; ".join(
                text
                for text in ("counts" if bound is group.governing(bound.claim) else "", bound.note)
                if text
            ),
        )
        for group in found.evidence.groups
        for bound in group.bounds
    ]
    return ReportTable(
        ["State", "Claim", "Shape", "Pieces", "Factor", head("Bound", "force", system), "Note"],
        rows,
        caption="One-sided lower tolerance bounds: 99/95 is the load that 99 % of all such pieces "
        "exceed with 95 % confidence. The least bound by a shape that the pieces do not contradict "
        "counts, else that for any shape. Usual: the logarithm of the distribution function is "
        "concave. Factor: standard deviations below the mean (normal, lognormal), Weibull factor, "
        "rank, or exponent (Hanson-Koopmans)",
        label="bounds",
        alignment=["left", "left", "left", "right", "right", "right", "left"],
    )


def comparison_passage(study: Study) -> Markdown:
    """Original against repaired, with the p-values and the seed of the permutations."""
    found = study.evidence
    compared = found.evidence.comparison
    if compared is None:
        return passage(found.evidence.not_compared)
    text = (
        f"{compared.sentence()} If both states were alike, as great a ratio would turn up with "
        f"probability {_p(compared.welch_p)} (Welch, the test behind the interval) or "
        f"{_p(compared.permutation_p)} (permutation test, no assumed shape, seed {compared.seed})."
    )
    if compared.contradicted:
        text += (
            " The two disagree at the confidence of the interval: what the interval shows rests on "
            "its assumed lognormal shape. Take it as not decided and test more pieces."
        )
    return passage(text)


def _p(value: float) -> str:
    return f"{value:.2g}" if value >= 1e-4 else "below 0.0001"


def agreement_table(study: Study) -> ReportTable | Markdown:
    """Tested over predicted load of each method, never averaged."""
    case, found = study.case, study.evidence
    system = case.report_units
    by_method: dict[str, dict[str, tuple[str, ...]]] = {}
    for group in found.evidence.groups:
        for agreement in group.agreement:
            shown = (
                cell(found.predictions[group.group.state][agreement.method], "force", system),
                number(agreement.ratio),
                f"{number(agreement.low)} to {number(agreement.high)}",
            )
            by_method.setdefault(agreement.method, {})[group.group.state] = shown
    if not by_method:
        return passage("No group of pieces can be compared with the prediction.")
    blank = ("–", "–", "–")
    rows = [
        (
            "method of the verdict" if method == primary.ID else METHODS[method].title,
            *shown.get("original", blank),
            *shown.get("repaired", blank),
        )
        for method, shown in by_method.items()
    ]
    return ReportTable(
        [
            "Method",
            head("Original: predicted", "force", system),
            "test over prediction",
            "95 % interval",
            head("Repaired: predicted", "force", system),
            "test over prediction",
            "95 % interval",
        ],
        rows,
        caption=f"Test over prediction; above 1 the method is on the safe side. "
        f"{found.prediction_words}",
        label="agreement",
        alignment=["left", "right", "right", "left", "right", "right", "left"],
    )


def strength_table(study: Study) -> ReportTable | Markdown:
    """The parent's shear strength before and after the tests, and the margin at its bound."""
    case, found = study.case, study.evidence
    if not found.strength:
        return passage("No piece says anything of the parent's shear strength.")
    system = case.report_units
    rows = []
    for each in found.strength:
        update, margin = each.update, each.margin
        missing = margin is None or math.isnan(margin.at_bound)
        rows.append(
            (
                state_words(each.group.state),
                f"{cell(update.prior.mean, 'stress', system, 4)} ± "
                f"{cell(update.prior.sd, 'stress', system, 2)}",
                cell(update.posterior.mean, "stress", system, 4),
                f"{cell(update.low, 'stress', system, 4)} to "
                f"{cell(update.high, 'stress', system, 4)}",
                f"{number(100 * update.scatter, 2)} %",
                cell(each.bound, "stress", system, 4),
                "–" if missing or margin is None else f"{margin.at_bound:+.2f}",
            )
        )
    credible = f"{100 * found.strength[0].update.credible:.0f} %"
    return ReportTable(
        [
            "Pieces",
            head("Mean before", "stress", system),
            head("after", "stress", system),
            f"{credible} interval",
            "Scatter of pieces",
            head("At the 99/95 bound", "stress", system),
            "Margin at the bound",
        ],
        rows,
        caption="Shear strength of the parent by the method of the verdict, before (mean and "
        "standard deviation assumed) and after the tests (Bayes); strength at the 99/95 bound of "
        "the pieces' loads, and the margin of the parent's thread under the factored design load "
        "with it. A strength found so holds for this lot and this method only: the pieces cannot "
        "tell a strong parent from a method that predicts too little",
        label="strength",
        alignment=["left"] + ["right"] * 6,
    )


def strength_cautions(study: Study) -> Markdown:
    """What must be known before the updated strength is used; empty where there is nothing."""
    found = study.evidence
    lines = [
        f"- {state_words(each.group.state)}: {escape.markdown(each.update.caution())}."
        for each in found.strength
        if each.update.caution()
    ]
    return Markdown("\n".join(lines))


def plan(study: Study) -> Markdown:
    """How many pieces a further test needs, with the scatter found here."""
    case, found = study.case, study.evidence
    lines = []
    for group in found.evidence.groups:
        if case.design_load is None or group.scatter is None or group.scatter.sd == 0:
            continue
        try:
            needed = pieces_for_bound(
                requirement=case.design_load * case.load_factor,
                mean=group.scatter.mean,
                cov=group.scatter.cov,
                coverage=0.99,
                system=found.system,
            )
            lines.append(f"{_name(group, found.system)}. {needed.sentence()}")
        except ValidityError as error:
            lines.append(f"{_name(group, found.system)}: {error}.")
    compared = found.evidence.comparison
    scatters = [g.scatter.cov for g in found.evidence.groups if g.scatter]
    if compared is not None:
        try:
            lines.append(pieces_for_ratio(expected=compared.ratio, cov=max(scatters)).sentence())
        except ValidityError as error:
            lines.append(f"The repaired thread is not expected to be stronger: {error}.")
    return Markdown("\n".join(f"- {escape.markdown(line)}" for line in lines))


def cautions(study: Study) -> Markdown:
    """What the record cannot show, a sentence each."""
    found = study.evidence
    return Markdown("\n".join(f"- {escape.markdown(c)}" for c in found.cautions))


def references(study: Study) -> tuple[Reference, ...]:
    """What chances and evidence rest on, for the ledger."""
    return (*study.chance.references, *evidence.REFERENCES)
