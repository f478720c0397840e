"""Which values that nobody has confirmed influence the verdict."""

from __future__ import annotations

from collections.abc import Iterator

from ..sources import Reference, ledger
from .records import Evaluation, Joint, ModeResult, StateResult


def unconfirmed(evaluation: Evaluation) -> tuple[Reference, ...]:
    """Return the recalled or invented values behind the governing and the pull-out modes.

    Values are meant: strengths and limits of size. The formulas, some of which are recalled too,
    are held against printed examples by the tests.

    Parameters
    ----------
    evaluation : Evaluation

    Returns
    -------
    tuple of Reference
    """
    joint = evaluation.joint
    found = [
        reference
        for state in evaluation.states.values()
        for name in {state.governing_mode, state.pull_out_mode}
        for reference in _values(joint, state, state.mode(name))
    ]
    return ledger(reference for reference in found if not reference.confirmed)


def _values(joint: Joint, state: StateResult, mode: ModeResult) -> Iterator[Reference]:
    """Every value that the capacity of a mode rests on."""
    if mode.mode == "screw_tension":
        yield joint.screw.reference("tensile_min")
        return
    if mode.mode == "boss_wall":
        yield from joint.flow_stress.references
        return
    yield from state.sizes.references
    if mode.mode == "insert_thread_strip":
        yield from joint.wire_shear.references
        return
    if mode.mode in ("parent_thread_strip", "flank_bearing"):
        yield from joint.parent_shear.references
    else:
        yield joint.screw.reference("tensile_min")
        yield joint.screw.reference("shear_over_tensile")
    # Tensile strengths only enter through the bending factors, and only where these are not 1.
    if any(value != 1 for name, value in mode.factors.items() if name in ("C2", "C3")):
        yield from joint.parent_tensile.references
        yield joint.screw.reference("tensile_min")
