"""What was found: the hole, and the metal that is tapped.

What the trade does with such a hole; who says which metal it is, and what of it is an estimate.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from .. import case as cases
from .. import materials, tables
from ..facts import Fact, Term, Value, count, fact, length, number, share, stress
from ..joint.casting import casting_loss, counts_bar
from ..joint.criterion import damaged_diameter
from ..workshop.spoiled import spoiled

if TYPE_CHECKING:
    from .record import Study


def hole(study: Study) -> tuple[Fact, ...]:
    """The hole as found and what is done with such holes, as facts; none of a stripped one.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of Fact

    Examples
    --------
    >>> import thread_repair as tr
    >>> case = tr.read({"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "1 D",
    ...     "insert_length": "1 D", "hole_condition": "cracked"})
    >>> [each.id for each in hole(tr.study(case))]
    ['hole_found']
    """
    joint = study.evaluation.joint
    damage = damaged_diameter(joint)
    if joint.hole_condition == "stripped" and damage is None:
        return ()
    acted_on = joint.hole_condition
    if acted_on == "oversize" and study.holds_insert:  # the hole for it removes all damage
        acted_on = "worn"
    if acted_on in ("stripped", "worn") and study.case.old_insert == "yes":
        acted_on = "insert-worn"  # nothing is drilled
    choice = spoiled(
        joint.thread,
        acted_on,
        edge_distance=joint.edge_distance,
        family=joint.parent.family,
    )
    values: dict[str, Value] = {
        "finding": Term("finding", joint.hole_condition),
        "action": choice.reason,
    }
    if damage is not None:
        values["damage"] = length(damage)
    # What the trade does with such a hole is no order to do it: this repair may not be supported.
    usual = acted_on in ("stripped", "worn", "insert-worn")
    form = f"hole_found{'_size' * (damage is not None)}{'_usual' * usual}"
    return (fact(form, "info" if usual else "limit", **values), *choice.notes)


def is_identified(case: cases.Case) -> bool:
    """Whether the values are those of the metal of the part, or its strength was measured.

    Parameters
    ----------
    case : Case

    Returns
    -------
    bool
    """
    named = materials.designation(case.parent)
    if cases.supplied(case):
        return True
    if named.parent.id.startswith(materials.UNKNOWN):
        return bool(case.parent_hardness)
    return named.is_certain


def metal(study: Study) -> tuple[Fact, ...]:
    """Which metal is meant, whose values are used, and how strong it has to be, as facts.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of Fact
    """
    return (*_metal(study.case), *study.minimum_parent.facts, *_in_casting(study))


def _in_casting(study: Study) -> Iterator[Fact]:
    """Say where a loss from bar to casting as large as the one on record turns the conclusion."""
    joint, least = study.evaluation.joint, study.minimum_parent
    if least.outcome == "holds" and counts_bar(joint):
        loss = casting_loss(joint.parent)
        if (kept := min(loss.shear, loss.tensile)) < least.scale:
            yield fact("casting_turns", "limit", kept=number(kept), example=loss.bar.name)


def _metal(case: cases.Case) -> Iterator[Fact]:
    """Say what was stated of the metal, whose values are used, and by which document."""
    named, row = materials.designation(case.parent), materials.parent(case.parent)
    unknown = row.id.startswith(materials.UNKNOWN)
    if case.parent_name and named.reference is None and not unknown:
        yield fact("parent_named", name=str(case.parent_name), row=row.id)
    if named.reference is not None:
        yield _related(named, named.reference, str(case.parent_name))
    if cases.supplied(case):
        yield fact("parent_strength_stated", source=str(case.parent_source))
        if (left := cases.knock_down(case)) < 1 and case.parent_strength_pieces is not None:
            pieces = count(case.parent_strength_pieces)
            yield fact("parent_mean_lowered", share=share(left), pieces=pieces)
        used = cases.joint(case).parent
        fields = {"shear": "shear", "tensile": "tensile", "yield": "yield_"}
        kept = [name for name, of in fields.items() if getattr(used, of) == getattr(row, of)]
        # In proportion to a tensile strength that is stated; a shear strength also without a row.
        by_tensile = used.is_supplied("tensile")
        derived = [x for x in fields if used.find(x) or (x == "shear" and by_tensile)]
        scaled = [x for x in derived if x not in kept and not used.is_supplied(x)]
        for form, names in (("kept", kept), ("scaled", scaled)):
            if names:
                terms = tuple(Term("strength", name) for name in names)
                yield fact(f"parent_strength_{form}", "caution", strengths=terms, row=row.id)
        yield from _above_its_kind(used)
    found = cases.hardness(case)
    if unknown and found is not None:
        yield fact("parent_kind", name=row.name)
    elif unknown and not cases.supplied(case):
        rows = [each for each in materials.parents() if each.group == row.group]
        yield fact(
            "parent_unidentified",
            "caution",
            name=row.name,
            rows=count(len(rows)),
            shear=stress(row.shear),
            shear_row=min(rows, key=lambda each: float(materials.shear_strength(each).value)).id,
            tensile=stress(row.tensile),
            tensile_row=min(rows, key=lambda each: each.tensile).id,
        )
    if found is not None:
        yield _hardness(found, row)


def _above_its_kind(used: materials.Parent) -> Iterator[Fact]:
    """A stated strength above every tabulated one of such a metal: a slip, or another metal."""
    kind = [each for each in materials.parents() if each.group == used.group]
    tabled = {
        "tensile": {x.id: x.tensile for x in kind},
        "shear": {x.id: float(materials.shear_strength(x).value) for x in kind},
    }
    for name, known in tabled.items():
        highest, row = max((strength, row) for row, strength in known.items() if strength > 0)
        if used.is_supplied(name) and getattr(used, name) > highest:
            yield fact(
                "parent_strength_above_all",
                "caution",
                strength=Term("strength", name),
                stated=stress(getattr(used, name)),
                metal=used.group,
                highest=stress(highest),
                row=row,
            )


def _related(named: materials.Designation, reference: tables.Reference, name: str) -> Fact:
    typed = named.typed.strip()
    values: dict[str, Value] = {
        "typed": f"{name} ({typed})" if name else typed,
        "row": named.parent.id,
        "document": tables.source(reference.source).name,
        "clause": reference.clause,
        "known": Term("how_known", reference.how_known),
    }
    if named.assumed:
        values["assumed"] = named.assumed
    form = f"parent_{named.relation}{'_assumed' if named.assumed else ''}"
    return fact(form, "info" if named.is_certain else "caution", **values)


def _hardness(found: materials.HardnessStrength, row: materials.Parent) -> Fact:
    counts = materials.with_hardness(row, found) is not row
    return fact(
        "parent_from_hardness" if counts else "parent_hardness_above",
        "caution" if counts else "info",
        hardness=f"{found.hardness.scale} {found.hardness.value:g}",
        brinell=number(found.brinell),
        tensile=stress(found.tensile),
        tabled=stress(row.tensile),
        ratio=stress(found.ratio),
        highest=stress(found.ratio_max),
        pairs=count(found.pairs),
        lowest=found.lowest,
        document=tables.source(found.references[0].source).name,
        known=Term("how_known", found.references[0].how_known),
    )
