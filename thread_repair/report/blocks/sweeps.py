"""The case swept over every parent, in three figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

import attrs
import numpy as np

from ... import inserts, materials
from ...arrays import FloatArray
from ...case import Case
from ...figures.parents import ParentRow, all_parents
from ...study import Study
from ...study.evaluation import sweep
from ..figure import ReportFigure
from .comparison import passage

if TYPE_CHECKING:
    from IPython.display import Markdown

#: More names than these make a caption longer than its picture.
_MOST_NAMED = 8


def all_parents_figure(study: Study, metals: str) -> ReportFigure | Markdown:
    """Draw every parent whose strength is known, with both states and the insert it needs.

    `metals` is "wrought aluminium", "cast aluminium" or "others". A sentence where no strength is
    known.
    """
    case, evaluation = study.case, study.evaluation
    joint = evaluation.joint
    names = [
        each.id
        for each in materials.parents()
        if metals == (each.group if each.group.endswith("aluminium") else "others")
    ]
    loads = {
        state: _column(case, names, state, length)
        for state, length in (("original", joint.engagement), ("repaired", joint.insert_length))
    }
    needed = _needed(case, names, joint.thread.major)
    order = list(dict.fromkeys(materials.parent(name).group for name in names))
    rows = [
        ParentRow(
            name=name,
            group=materials.parent(name).group,
            original=float(loads["original"][i]),
            repaired=float(loads["repaired"][i]),
            needed=float(needed[i]),
        )
        for i, name in enumerate(names)
        if np.isfinite(loads["original"][i]) and np.isfinite(loads["repaired"][i])
    ]
    if not rows:
        return passage(f"No parent among {', '.join(order)} has a strength for this case.")
    rows.sort(key=lambda row: order.index(row.group))
    known = {row.name for row in rows}
    missing = [name for name in names if name not in known]
    better = sum(row.repaired >= row.original for row in rows)
    named = ", ".join(missing) if len(missing) <= _MOST_NAMED else f"{len(missing)} parents"
    lost = f" Left out, without a strength here: {named}." if missing else ""
    return ReportFigure(
        all_parents(rows, evaluation, system=case.report_units),
        caption=f"Pull-out strength in {len(rows)} parents ({', '.join(order)}) at the lengths of "
        f"this joint. Grey: failure of the screw {joint.screw.id}. At the right: the "
        f"shortest standard insert, engaged in full, with which a screw at maximum strength fails "
        f"first.{lost}",
        alt=f"Two dots for each of {len(rows)} parents in {len(order)} groups. The repaired thread "
        f"is at least as strong as the original one in {better} of them.",
        label=f"parents-{metals.split()[0]}",
    )


def _column(case: Case, names: list[str], state: str, length: float) -> FloatArray:
    table = sweep(case, engagement=length, parent=names)
    loads: FloatArray = table["pull_out_N"][table["state"] == state]
    return loads


def _needed(case: Case, names: list[str], major: float) -> FloatArray:
    """Shortest standard insert, in diameters, by parent; NaN where none lets the screw break."""
    free = attrs.evolve(case, screw_reach=None)
    lengths = np.array(inserts.LENGTHS)
    table = sweep(free, engagement=lengths * major, parent=names)
    repaired = table["state"] == "repaired"
    with np.errstate(invalid="ignore"):
        holds = (
            np.minimum(table["pull_out_N"], table["boss_wall_N"]) >= table["screw_tension_max_N"]
        )[repaired].reshape(len(names), len(lengths))
    needed: FloatArray = np.where(holds.any(axis=1), lengths[holds.argmax(axis=1)], np.nan)
    return needed
