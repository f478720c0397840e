"""What a design review asks beyond the comparison: how far it is certain, and what else holds."""

import math
from collections.abc import Iterable, Iterator, Mapping
from functools import partial
from operator import itemgetter

import numpy as np
from IPython.display import Markdown, display

from ... import inserts, materials, tables, words
from ...arrays import FloatArray
from ...facts import Fact, Term, condition, fact, length, number, share, stress
from ...joint.lengths import RequiredLength
from ...joint.sharing import not_assessed, sharing_facts
from ...joint.wall import certified_wall_factors
from ...strength.collapse import wall_factor
from ...study import Study
from ...study.evaluation import sweep
from ...units import number as text_of
from ...units import percent, show
from ..figure import ReportFigure, ReportTable
from .comparison import DISPOSITIONS
from .layout import bullets, cell, figure, in_sound_metal, literal, said, table, units

# ---- all methods side by side


def spread_figure(study: Study) -> ReportFigure:
    """Draw the strip load of the parent by every method, both states, with the screw's band."""
    methods = [each for each in study.methods if math.isfinite(each.ratio)]
    silent = [each.title for each in study.methods if each not in methods]
    others = [each.title for each in methods if not each.comparable]
    notes = {
        "*: outside the range that its authors gave": not all(each.in_range for each in methods),
        f"Grey marks: {', '.join(others)}: not part of the spread": others,
        f"Not drawn, without a value for both conditions: {', '.join(silent)}": silent,
    }
    more = "".join(f" {note}." for note, holds in notes.items() if holds)
    return figure("method-spread", study.plot.methods(), study, more=more, told=_spread(study))


def _spread(study: Study) -> str:
    """Say between which loads the methods lie that have a value for both holes, as page 1 does."""
    parts = []
    for name, state in study.evaluation.states.items():
        known = [(state.mode("parent_thread_strip").capacity, "reference method")]
        known += [(getattr(each, name), each.title) for each in study.methods if each.comparable]
        known.sort(key=itemgetter(0))
        least, most = known[0], known[-1]
        ends = " to ".join(
            f"{show(load, 'force', system=units(study))} ({title})" for load, title in (least, most)
        )
        factor = text_of(most[0] / least[0], 2)
        parts.append(f"of the {name} thread from {ends}, a factor of {factor}")
    return f"The published methods give a stripping load {'; '.join(parts)}."


def spread_passage(study: Study) -> Markdown:
    """Say by how much the methods differ here and why, in one paragraph with this case's numbers.

    Nothing is averaged: each method is a convention of its own.
    """
    joint, state = study.evaluation.joint, study.evaluation.original
    cylinder = math.pi * state.sizes.crest * state.engagement
    found = fact(
        "spread_why",
        spread=_spread(study),
        full=share(state.rivals["fed_std_h28"].area / cylinder),
        ratio=f"{joint.parent_shear.value / joint.parent_tensile.value:.2f}",
        left_out=share(0.8 * joint.thread.pitch / state.engagement),
    )
    return in_sound_metal(study, said(None, found))


# ---- load sharing, and load against travel


def sharing_figure(study: Study) -> ReportFigure | Markdown:
    """Draw the load of each thread in both states; nothing where it is not assessed."""
    found = study.evaluation.sharing
    if not_assessed(study.evaluation.joint):
        return Markdown("")
    pitch = study.evaluation.joint.thread.pitch
    told = "; ".join(
        f"{name}: {percent(float(each.shown.first_thread_share))} on the first of "
        f"{text_of(each.engagement / pitch)} threads, the maximum line load "
        f"{text_of(float(each.shown.peak_over_mean))} times the mean"
        for name, each in found.items()
    )
    support = Term("support", found["original"].boundary)
    return figure("sharing", study.plot.sharing()[0], study, support=support, told=told)


def sharing_table(study: Study) -> ReportTable | Markdown:
    """Tabulate how the load is shared, what that asks of the parent and what it costs.

    Nothing where it is not assessed.
    """
    if not_assessed(study.evaluation.joint):
        return Markdown("")
    rows = [
        {
            "state": name,
            "support": boundary,
            "coil": "slides" if sliding else "sticks" if name == "repaired" else "none",
            "shown": shown,
            "known": None if math.isnan(float(shown.ductility_capacity)) else shown,
        }
        for name, each in study.evaluation.sharing.items()
        for sliding, found in ((False, each.by_boundary), (True, each.sliding))
        for boundary, shown in found.items()
    ]
    return table("sharing", rows, study)


def sharing_passage(study: Study) -> Markdown:
    """Say what the sharing means for the lengths of this case."""
    told = sharing_facts(study.evaluation.joint, study.evaluation.sharing)
    return in_sound_metal(study, bullets(study, told or [fact("sharing_enough")], ()).data)


#: What others have published of the load sharing, in our words.
STATEMENTS = ("load_sharing_statements.csv", "load sharing")


def statements_table() -> ReportTable:
    """Tabulate what others have published of the load sharing."""
    return table("sharing-statements", tables.referenced(*STATEMENTS))


def load_slip_figure(study: Study) -> ReportFigure | Markdown:
    """Draw the load-slip curves; nothing where they are not assessed."""
    if not study.load_slip.states:
        return Markdown("")
    system = units(study)
    told = "; ".join(
        f"{words.term(condition(name))} {show(each.last_load, 'force', system=system)} at "
        f"{show(each.last_travel, 'length', system=system)}, plateau "
        f"{show(each.plateau, 'force', system=system)}"
        for name, each in study.load_slip.states.items()
    )
    return figure("load-slip", study.plot.load_slip(), study, told=told)


def load_slip_passage(study: Study) -> Markdown:
    """Say what is assumed, where the curves end and what work they take, or why there are none."""
    text = bullets(study, study.load_slip.facts).data
    if study.load_slip.states:
        text = f"{words.term(Term('load_slip', 'assumed'))}\n\n{text}"
    return in_sound_metal(study, text)


# ---- certified bounds


def bracket_table(study: Study) -> ReportTable:
    """The formula's load between its certified bounds, for both states in a thick wall."""
    rows = [(name, each, _excess(each.excess)) for name, each in study.brackets.items()]
    return table("bounds", rows, study)


def _excess(share: tuple[float, float]) -> str:
    """By how much, in per cent; what the bounds leave open is a range."""
    if math.isnan(share[1]):
        return "not known: no bound certified"
    least, most = (max(0.0, 100 * each) for each in share)
    return f"{least:.1f} % to {most:.1f} %" if least >= 0.05 else f"at most {most:.1f} %"


def wall_figure(study: Study) -> ReportFigure:
    """What a boss leaves of the strip load, for both states and both supports."""
    return figure("wall", study.plot.wall()[0], study)


def smallest_boss(study: Study) -> Markdown:
    """The boss from which on the repair is certain to be at least as strong."""
    joint, states = study.evaluation.joint, study.evaluation.states

    def load(support: str, state: str, boss: FloatArray, bound: str) -> FloatArray:
        at = states[state]
        hole = (at.sizes.hole_major, at.engagement)
        kept = certified_wall_factors(joint, support, state, *hole, boss, bound)
        return at.mode("parent_thread_strip").area * kept

    before, after = (each.sizes.hole_major for each in states.values())
    told = []
    for support in ("base", "face"):
        found = wall_factor.smallest_boss_not_weaker((before, after), partial(load, support))
        low, high = found.searched
        if math.isnan(found.certain):
            name = "boss_not_certain"
        elif found.certain <= low:
            name = "boss_always"
        else:
            name = "boss_weaker_below" if found.possible > low else "boss_certain"
        ends = {"low": low, "high": high, "certain": found.certain, "possible": found.possible}
        values = {of: length(each) for of, each in ends.items()}
        told.append(fact(name, support=Term("boss_support", support), **values))
    return in_sound_metal(study, bullets(study, told, ()).data)


# ---- required length


def required_table(study: Study) -> ReportTable:
    """Tabulate the required lengths for the weakest and the strongest screw, by method."""
    original = {each.method: each for each in study.required if each.state == "original"}
    rows = [
        (
            "reference method" if each.is_verdict else each.title,
            _lengths(original[each.method], units(study)),
            _lengths(each, units(study)),
            each.nominal_strongest,
            _between(
                "–" if math.isnan(length) else f"{length:g} D"
                for length in (each.standard_weakest, each.standard_strongest)
            ),
        )
        for each in study.required
        if each.state == "repaired"
    ]
    # why a method has no length, where it is not that none is enough
    told: dict[str, dict[str, None]] = {}
    for each in study.required:
        if each.reasons:
            why = " ".join(words.sentence(reason, system=units(study)) for reason in each.reasons)
            told.setdefault(why.removesuffix("."), {})[each.title] = None
    reasons = (f". {', '.join(titles)}: {why}" for why, titles in told.items())
    return table("required", rows, study, reasons="".join(reasons))


def _lengths(each: RequiredLength, system: str) -> str:
    one = "inch" if system == "inch" else "SI"  # two systems do not fit this column
    return _between(cell(end, "length", one) for end in (each.weakest, each.strongest))


def _between(ends: Iterable[str]) -> str:
    return " … ".join(dict.fromkeys(ends))


def recommendation(study: Study) -> Markdown:
    """Say which standard insert serves, what it asks of hole and screw, and what the table says."""
    return in_sound_metal(study, said(study, _best(study), _table(study)))


def _best(study: Study) -> Fact:
    best, joint = study.recommended, study.evaluation.joint
    if math.isnan(best.diameters):
        return best.reason
    return fact(
        "recommended_insert",
        diameters=number(best.diameters),
        length=length(best.length),
        reason=best.reason,
        reach=length(best.reach),
        bottoming=length(best.drilled_bottoming),
        plug=length(best.drilled_plug),
        proposed_diameters=number(joint.insert_length / joint.thread.major),
        proposed=length(joint.insert_length),
    )


def _table(study: Study) -> Fact:
    check = study.table_check
    if check is None:
        return fact("table_not_listed")
    lengths = (check.needed_diameters, check.table_diameters, check.hidden_factor)
    least, asked, factor = map(float, lengths)
    enough = "table_none_enough" if math.isnan(least) else "table_needed"
    needed = fact(enough, needed=number(least))
    if math.isnan(asked):
        return fact("table_no_length", needed=needed)
    return fact(
        "table_length" if math.isnan(factor) else "table_length_factor",
        asked=number(asked),
        screw=study.evaluation.joint.screw.id,
        tensile=stress(check.screw_tensile_max),
        shear=stress(float(check.tabulated_shear)),
        needed=needed,
        factor=number(factor),
    )


# ---- the case swept over every parent

#: More names than these make a caption longer than its picture.
_MOST_NAMED = 8


def all_parents_figures(study: Study) -> None:
    """Display a figure for each kind of metal, and before the first which of them shows what."""
    kinds = ("wrought aluminium", "cast aluminium", "others")
    shown = [all_parents_figure(study, metals) for metals in kinds]
    drawn = [each for each in shown if isinstance(each, ReportFigure)]
    told = "; ".join(each.lead.rstrip(".") for each in drawn)
    for each in drawn:
        each.lead = f"{told}." if each is drawn[0] else ""
    display(*shown)


def all_parents_figure(study: Study, metals: str) -> ReportFigure | Markdown:
    """Draw every parent whose strength is known, with both states.

    `metals` is "wrought aluminium", "cast aluminium" or "others". A sentence where no strength is
    known.
    """
    import pandas as pd

    from ...figures.strip_load import all_parents

    joint = study.evaluation.joint
    groups = {
        each.id: each.group
        for each in materials.parents()
        if metals == (each.group if each.group.endswith("aluminium") else "others")
    }
    names, order = list(groups), list(dict.fromkeys(groups.values()))
    loads = {}
    for state, engaged in (("original", joint.engagement), ("repaired", joint.insert_length)):
        found = sweep(study.case, engagement=engaged, parent=names)
        loads[state] = found["pull_out_N"][found["state"] == state]
    known = np.isfinite(list(loads.values())).all(axis=0)
    rows = pd.DataFrame({"group": groups.values(), **loads}, index=names)[known]
    if rows.empty:
        return literal(f"No parent among {', '.join(order)} has a strength for this case.")
    rows = rows.sort_values("group", key=lambda each: each.map(order.index), kind="stable")
    missing = [name for name in names if name not in rows.index]
    named = ", ".join(missing) if len(missing) <= _MOST_NAMED else f"{len(missing)} parents"
    return figure(
        "parents",
        all_parents(rows, study),
        label=f"parents-{metals.split()[0]}",
        parents=str(len(rows)),
        names=", ".join(order),
        screw=joint.screw.id,
        lost=f" Left out, without a strength here: {named}." if missing else "",
        groups=str(len(order)),
        better=str((rows["repaired"] >= rows["original"]).sum()),
    )


# ---- what the sources say


def disagreements_table(study: Study) -> ReportTable:
    """Tabulate the positions of the sources, issue by issue."""
    rows, last = [], ""
    for issue, position, reference in _positions(study):
        rows.append(("" if issue == last else issue, position, reference))
        last = issue
    return table("disagreements", rows)


def _positions(study: Study) -> Iterator[tuple[str, str, tables.Reference]]:
    for row in _disagreed(study):
        value = {"value": stress(float(row["stress_MPa"] or "nan"))}
        position = words.filled(row["position"], value, system=units(study))
        yield row["issue"], position, tables.reference(row)
    for rule in inserts.set_down_rules(study.evaluation.joint.thread):
        yield "Set-down of the insert", rule.words, rule.reference
    for row in tables.rows("no_go_rules.csv"):
        yield "Entry of the NO-GO gauge", row["words"], tables.reference(row)


def _disagreed(study: Study) -> Iterator[Mapping[str, str]]:
    """Yield the issues that concern every parent, or the metal of this one."""
    parent = study.evaluation.joint.parent
    for row in tables.rows("disagreements.csv"):
        if row["metal"] in f"{parent.id} {parent.group}":
            yield row


def references(study: Study) -> tuple[tables.Reference, ...]:
    """Return the sources of the evaluation and of all that stands beside its verdict.

    They are those of the rival methods, of the statements on load sharing, of the dispositions
    of the trade, of the points on which sources disagree, of probabilities, bounds and curves.
    """
    return (
        *study.references,
        *(x["reference"] for name in (STATEMENTS, DISPOSITIONS) for x in tables.referenced(*name)),
        *(
            tables.reference(row, row["issue"][:1].lower() + row["issue"][1:])
            for row in _disagreed(study)
        ),
        *study.chances.references,
        *wall_factor.REFERENCES,
        *study.load_slip.references,
    )
