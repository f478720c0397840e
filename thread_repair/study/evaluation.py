"""Evaluate a case, or sweep it over engagements and parents."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .. import case as cases
from .. import joint, materials, tables, threads, words
from ..arrays import first_at
from ..case import Case, gate, physical
from ..errors import InputError, ValidityError, message, refuse
from ..facts import Fact, count, fact, length
from ..joint.casting import with_casting_facts
from ..joint.criterion import unconfirmed
from ..joint.margins import margins
from ..joint.sharing import with_sharing
from ..joint.wall import flow_stress
from ..units import parse

#: What a sweep covers where nothing else is asked for: 0.5 D to 3 D, in nominal diameters.
SWEPT_DIAMETERS = np.linspace(0.5, 3.0, 101)
SWEPT_DIAMETERS.flags.writeable = False


def evaluate(case: Case) -> joint.Evaluation:
    """Compare the repaired with the original thread of a case.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Evaluation

    Raises
    ------
    InputErrors
        If the case is to be final and may not be: one sentence for each thing the document lacks,
        each negative margin of the repaired thread that nobody accepts, each statement of its pull
        tests against it, and each recalled or invented value that influences the verdict, with the
        document that would confirm it. What pull tests say of a draft, its study tells.
    """
    found = joint.evaluate(cases.joint(cases.checked(case)))
    accepted, told = gate.acceptance(case), list[Fact]()
    if case.status == "final" or accepted is not None:
        # not else: the loads of a tightened joint cost as much as all the rest
        of_repair = (m for m in margins(found, cases.load_cases(case)) if m.state == "repaired")
        failing = [m for m in of_repair if not m.margin >= 0]
        if case.status == "final":
            faults = [
                *gate.document_faults(case),
                *(
                    message("found_against_final", found=words.sentence(m.fact()))
                    for m in failing
                    if not accepted
                ),
                *(_not_final(each, found.joint) for each in unconfirmed(found)),
            ]
            refuse(faults)
        if failing and accepted is not None:
            told.append(accepted.fact("negative_margins_accepted", margins=count(len(failing))))
    told += cases.as_typed(case)
    if cases.supplied(case) and case.parent_strength_basis is None:
        told.append(fact("strengths_without_basis", "caution"))
    told += _beyond_product(case, found.joint.parent)
    found = with_sharing(with_casting_facts(replace(found, facts=(*found.facts, *told))))
    if not case.pull_tests:
        return found
    from .evidence import held_against_tests  # on use: it samples, and imports what that needs

    return held_against_tests(case, found)


def _beyond_product(case: Case, parent: materials.Parent) -> Iterator[Fact]:
    """A part thicker than the product whose strengths are used; around a blind hole too."""
    thick = max(case.part_thickness or 0.0, case.hole_depth or 0.0)
    if thick > parent.thickness_to * (1 + 1e-9) and not parent.is_supplied("shear"):
        yield fact(
            "part_thicker_than_product",
            "caution",
            parent=parent.name,
            limit=length(parent.thickness_to),
            thickness=length(thick),
        )


def _not_final(reference: tables.Reference, of: joint.Joint) -> str:
    what = (reference.what or "a value").replace("_", " ")
    document = tables.source(reference.source)
    found = message("not_read_for_final", what=what, place=reference, document=document)
    own = (of.parent_shear, of.parent_tensile, of.flow_stress)
    if any(reference in each.references for each in own):
        found += message("or_own_strengths")
    return found


def sweep(
    case: Case, *, engagement: ArrayLike | None = None, parent: str | Iterable[str] | None = None
) -> Mapping[str, NDArray[Any]]:
    """Evaluate a case over nominal lengths and parents; everything else stays as in the case.

    Parameters
    ----------
    case : Case
    engagement : array_like, mm, or str, optional
        Nominal lengths, or "1.5 D", "0.5 in": full thread in the original hole, insert length in
        the repaired one. Without it 0.5 D to 3 D.
    parent : str or iterable of str, optional
        Names, as the rows then have them, or "all"; without it the parent of the case.

    Returns
    -------
    mapping of str to ndarray
        See `thread_repair.joint.sweep`. A parent without a strength at the case's temperature has
        NaN in every row.

    Raises
    ------
    UnknownNameError
        Naming the parents nearest to an unknown one.

    Examples
    --------
    >>> import thread_repair as tr
    >>> case = tr.read({"thread": "M8", "screw": "8.8", "parent": "6061-T6",
    ...                 "engagement": "1 D", "insert_length": "1.5 D"})
    >>> table = sweep(case, engagement=[8, 12], parent=["6061-T6", "AZ91D"])
    >>> table["engaged_mm"].tolist()
    [8.0, 12.0, 8.0, 12.0, 7.0625, 11.0625, 7.0625, 11.0625]
    """
    base = cases.joint(cases.checked(case))
    major = threads.thread(case.thread).major
    lengths = np.ravel(SWEPT_DIAMETERS * major if engagement is None else engagement)
    if lengths.dtype.kind not in "iuf":  # as people type them; beside text, NumPy makes text of all
        typed = np.ravel(np.array(engagement, dtype=object))
        lengths = np.array([parse(x, "length", field="engagement", diameter=major) for x in typed])
    wrong = ~(lengths > 0) | np.isinf(lengths)
    if wrong.any():
        where, (first,) = first_at(wrong, lengths)
        raise InputError.of("no_length_to_sweep", first=first, where=where)
    if isinstance(parent, str) or not isinstance(parent, Iterable):
        parent = [case.parent if parent is None else parent]
    names = [*parent]
    names = [*materials.names("parent")] if names == ["all"] else names
    parents = {name: _swept(case, base, materials.parent(name)) for name in names}
    return joint.sweep(base, lengths=lengths, parents=parents)


def _swept(case: Case, base: joint.Joint, found: materials.Parent) -> joint.Strengths:
    """Return the strengths of a parent at the temperature of the case, its own as it has them."""
    if found.id == base.parent.id:
        return base.strengths
    try:
        strengths = physical.strengths_of(case, found)
    except ValidityError:
        return np.nan, np.nan, np.nan
    shear, tensile = float(strengths.shear), float(strengths.tensile)
    return shear, tensile, float(flow_stress(shear, tensile, strengths.yield_))
