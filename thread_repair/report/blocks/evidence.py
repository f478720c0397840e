"""What test pieces show: the record, its scatter, and whether the prediction holds."""

import math

from IPython.display import Markdown

from ... import words
from ...facts import condition, fact, mode, number, share
from ...figures.pull_tests import Pieces, loads_by_state
from ...strength import primary
from ...strength.methods import METHODS
from ...study import Study, evidence
from ...tables import Reference
from ...uncertainty.pull_tests.records import Group
from ...units import show
from .. import escape
from ..figure import ReportFigure, ReportTable
from .equations import apart
from .layout import bullets, cell, figure, literal, passage, table, table_or_words, units

#: Smaller p-values are not told apart: that is as many permutations as are drawn.
_LEAST_P = 1e-4


def note(study: Study) -> Markdown:
    """What the record says of itself, set apart: above all that data are invented."""
    found = study.evidence.tests.note
    return Markdown(f"> {escape.markdown(found)}" if found else "")


def summary(study: Study) -> Markdown:
    """What must not be missed, then comparison, tolerance limits, the reference method."""
    return bullets(study, study.evidence.statements)


def record_table(study: Study) -> ReportTable:
    """The pieces by state: number, failure modes, mean and scatter."""
    rows = []
    for each in study.evidence.evidence.groups:
        modes = ", ".join(f"{words.term(mode(m))} ({n})" for m, n in each.group.modes.items())
        rows.append({"of": each, "modes": modes, "lowest": float(min(each.group.load))})
    name, sha256 = str(study.case.pull_tests), study.evidence.sha256[:12]
    return table("record", rows, study, record=name, sha256=sha256)


def _predicted(study: Study, group: Group) -> float:
    return study.evidence.predictions.get(group.key, {}).get(primary.ID, math.nan)


def _name(study: Study, group: Group) -> str:
    """Call a group by its condition, and by size and length where it has several."""
    apart_by = apart(group, study.evidence.evidence.groups, units(study))
    return words.term(condition(group.state)) + apart_by


def pieces_table(study: Study) -> ReportTable:
    """Every piece with its load, its failure mode, and its load over the prediction."""
    rows = [
        (piece, _name(study, group), float(load), failure, float(load) / _predicted(study, group))
        for group in (each.group for each in study.evidence.evidence.groups)
        for piece, load, failure in zip(group.piece, group.load, group.mode, strict=True)
    ]
    return table("single-pieces", rows, study)


def outliers(study: Study) -> Markdown:
    """Whether the farthest piece of each group is an outlier; empty for too few pieces."""
    groups = study.evidence.evidence.groups
    return bullets(study, (g.outlier.fact(**g.group.values) for g in groups if g.outlier))


def _groups(study: Study) -> list[Pieces]:
    groups = ((each.group, each) for each in study.evidence.evidence.groups)
    return [(_name(study, group), each, _predicted(study, group)) for group, each in groups]


def loads_figure(study: Study) -> ReportFigure:
    """Every piece of both states with mean, tolerance bounds and prediction."""
    groups, system = _groups(study), units(study)
    told = (
        f"{name} {show(found.scatter.mean if found.scatter else math.nan, 'force', system=system)}"
        for name, found, _ in groups
    )
    drawn = loads_by_state(groups, system=system)
    return figure("pieces", drawn, study, means=", ".join(told))


def shapes_passage(study: Study) -> Markdown:
    """Whether each distribution can be rejected for each condition."""
    groups = study.evidence.evidence.groups
    return bullets(study, (fit.fact(**g.group.values) for g in groups for fit in g.fits))


def bounds_table(study: Study) -> ReportTable | Markdown:
    """Lower tolerance bounds by every shape, side by side."""
    rows = []
    for group in study.evidence.evidence.groups:
        name = _name(study, group.group)
        for bound in group.bounds:
            notes = [] if bound.note is None else [words.sentence(bound.note)]
            notes += ["governs"] if bound is group.governing(bound.claim) else []
            rows.append({"name": name, "bound": bound, "note": "; ".join(notes)})
    return table_or_words("tolerance-bounds", rows, study)


def comparison_passage(study: Study) -> Markdown:
    """Original against repaired, with the p-values and the seed of the permutations."""
    found = study.evidence.evidence
    compared = found.comparison
    if compared is None:
        return passage(study, *([] if found.not_compared is None else [found.not_compared]))
    ps = fact(
        "comparison_p_values",
        welch=number(max(compared.welch_p, _LEAST_P)),
        permutation=number(max(compared.permutation_p, _LEAST_P)),
        seed=str(compared.seed),
    )
    doubted = [fact("comparison_contradicted", "caution")] * compared.contradicted
    return passage(study, compared.fact(), ps, *doubted)


def agreement_table(study: Study) -> ReportTable | Markdown:
    """Tested over predicted load of each method, never averaged."""
    found = study.evidence
    rows: dict[str, dict[str, object]] = {}
    for group in found.evidence.groups:
        which = apart(group.group, found.evidence.groups, units(study))
        for each in group.agreement:
            title = "reference method" if each.method == primary.ID else METHODS[each.method].title
            load, ends = found.predictions[group.group.key][each.method], (each.low, each.high)
            row = rows.setdefault(title + which, {"method": title + which})
            row[group.group.state] = {"load": load, "ratio": each.ratio, "ends": ends}
    return table_or_words("agreement", rows.values(), study, basis=found.basis)


def strength_table(study: Study) -> ReportTable | Markdown:
    """The parent's shear strength before and after the tests, and the margin at its bound."""
    found, system = study.evidence.strength, units(study)
    if not found:
        return literal("No specimen gives a shear strength of the parent.")
    rows = []
    for each in found:
        prior, name = each.update.prior, _name(study, each.group)
        before = f"{cell(prior.mean, 'stress', system, 4)} ± {cell(prior.sd, 'stress', system, 2)}"
        interval = (each.update.low, each.update.high)
        rows.append(
            {
                "name": name,
                "found": each,
                "before": before,
                "interval": interval,
            }
        )
    return table("strength", rows, study, credible=share(found[0].update.credible))


def strength_cautions(study: Study) -> Markdown:
    """What must be known before the updated strength is used; empty where there is nothing."""
    found = (each.update.cautions(**each.group.values) for each in study.evidence.strength)
    return bullets(study, (caution for some in found for caution in some))


def plan(study: Study) -> Markdown:
    """How many specimens a further test needs, with the scatter found here."""
    return bullets(study, study.evidence.plans)


def cautions(study: Study) -> Markdown:
    """What the record cannot show."""
    return bullets(study, study.evidence.cautions)


def references(study: Study) -> tuple[Reference, ...]:
    """What probabilities and evidence rest on, for the ledger."""
    return (*study.chances.references, *evidence.REFERENCES)
