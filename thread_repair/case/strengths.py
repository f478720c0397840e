"""Strengths of the parent that a case supplies: what they are, and what of them may be used."""

from collections.abc import Iterator
from dataclasses import replace

from .. import materials
from ..errors import message
from ..tables import constant
from ..uncertainty.pull_tests.tolerance import k_factor
from .schema import Case, keys

STRENGTHS = ("parent_shear_strength", "parent_tensile_strength", "parent_yield_strength")
_ABOUT_THEM = tuple(key for key in keys() if key.startswith("parent_strength_"))


def supplied(case: Case) -> bool:
    """Whether the case supplies a strength of the parent."""
    return any(getattr(case, name) is not None for name in STRENGTHS)


def _claimed() -> dict[str, float]:
    """Coverage and confidence to which a mean is lowered."""
    return {of: constant(f"mean_strength_{of}").value for of in ("coverage", "confidence")}


def claim() -> str:
    """Coverage and confidence to which a mean is lowered, as "95/95"."""
    return "/".join(f"{100 * value:g}" for value in _claimed().values())


def knock_down(case: Case) -> float:
    """Share of the supplied strengths that is an allowable: 1 but for a mean.

    Notes
    -----
    1 - k v, k the one-sided tolerance factor of a normal population for the number of pieces, v
    their standard deviation over mean. Source: ISO 16269-6. Known from: memory.
    """
    pieces, scatter = case.parent_strength_pieces, case.parent_strength_scatter
    if case.parent_strength_basis != "mean" or pieces is None or scatter is None:
        return 1.0
    return float(1 - k_factor(pieces, **_claimed()) * scatter)


def parent(case: Case) -> materials.Parent:
    """Return the parent of a case as it is called there, with the strengths that count."""
    tabled = materials.parent(case.parent)
    found = hardness(case)
    if found is not None:
        tabled = materials.with_hardness(tabled, found)
    called = name(case)
    if called:
        tabled = replace(tabled, name=called, own_name=called)
    if not supplied(case):
        return tabled
    share = knock_down(case)
    values = (getattr(case, key) for key in STRENGTHS)
    given = zip(("shear", "tensile", "yield_"), values, strict=True)
    stated = {of: share * value for of, value in given if value is not None}
    at = case.parent_strength_temperature
    return materials.with_measured(
        tabled,
        **stated,
        document=case.parent_source,
        temperature=20.0 if at is None else at,
        basis=case.parent_strength_basis or "measured",
    )


def name(case: Case) -> str:
    """Return what the metal is called where that is not its row of the table; else nothing.

    An alloy that a document relates to another one keeps its own name, and so does one of which
    temper or form are assumed.
    """
    found = materials.designation(case.parent)
    if case.parent_name:
        return str(case.parent_name)
    if found.parent.id.startswith(materials.UNKNOWN):
        return found.parent.name
    return "" if found.is_certain else found.typed.strip()


def hardness(case: Case) -> materials.HardnessStrength | None:
    """Return what the hardness of a case shows; None where it gives none."""
    if not case.parent_hardness:
        return None
    group = materials.parent(case.parent).group
    return materials.tensile_of(materials.hardness(case.parent_hardness), group)


def estimate(case: Case) -> materials.HardnessStrength | None:
    """Return what the hardness shows where it, and not the table, gives the tensile strength."""
    found = hardness(case)
    row = materials.parent(case.parent)
    return None if found is None or materials.with_hardness(row, found) is row else found


def _hardness(case: Case) -> Iterator[str]:
    given = [key for key in STRENGTHS if getattr(case, key) is not None]
    if case.parent_hardness and given:
        yield message("hardness_beside_strength", given=given)


def _about_a_strength(case: Case) -> Iterator[str]:
    if not supplied(case):
        for name in _ABOUT_THEM:
            if getattr(case, name) is not None:
                yield f"{name}: given without a strength; give parent_shear_strength"


def _cold(case: Case) -> Iterator[str]:
    """Refuse strengths measured cold: the joint is tightened where they say nothing."""
    at, room = case.parent_strength_temperature, constant("room_temperature_min").value
    if supplied(case) and at is not None and at < room:
        assembly = constant("assembly_temperature").value
        yield message("measured_cold", at=at, assembly=assembly, room=room)


def _mean(case: Case) -> Iterator[str]:
    if case.parent_strength_basis != "mean" or not supplied(case):
        return
    needed = ("parent_strength_pieces", "parent_strength_scatter")
    missing = [name for name in needed if getattr(case, name) is None]
    if missing:
        yield message("mean_is_no_allowable", missing=" and ".join(missing))
    elif case.parent_strength_pieces == 1:
        yield "parent_strength_pieces: 1 piece shows no scatter; a mean needs two or more"
    elif not knock_down(case) > 0:
        yield message("nothing_left_of_mean", case=case, claim=claim())


def _shear(case: Case) -> Iterator[str]:
    """Refuse a shear above the tensile strength, unless the table has it so: of grey iron."""
    given, tabled = case.parent_shear_strength, materials.parent(case.parent)
    most = case.parent_tensile_strength or tabled.tensile
    if given is None or not given > most or materials.shear_strength(tabled).value > tabled.tensile:
        return
    or_both = "" if case.parent_tensile_strength else ", or parent_tensile_strength beside it"
    yield message("shear_above_tensile", case=case, most=most, or_both=or_both)


#: What a supplied strength may lack, each as a check of the case.
CHECKS = (_hardness, ("parent_hardness", hardness), _about_a_strength, _cold, _mean, _shear)
