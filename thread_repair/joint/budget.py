"""How much of the nominal length is engaged: the engagement budget."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .. import tables
from ..arrays import Floats
from ..units import plain
from .records import BudgetStep, Joint


def budget(
    joint: Joint, state: str, *, nominal: ArrayLike | None = None, system: str = "SI"
) -> tuple[BudgetStep, ...]:
    """Return the steps from the nominal to the engaged length of one state; their sum is engaged.

    `nominal` [mm] replaces the joint's own engagement or insert length; with an array every step
    is one. The reasons name lengths in SI, inch or both, by `system`.

    original: full thread as stated, cut where the screw ends.
    repaired: nominal insert length, less what the fitted coil is shorter, cut where the screw
    ends. The coil begins at the set-down, so the screw loses that much of its reach.
    """

    def length_words(value: float) -> str:
        return plain(value, dimension="length", system=system)

    if state == "original":
        full = joint.engagement if nominal is None else np.asarray(nominal, dtype=np.float64)
        steps = [
            BudgetStep(
                step="full thread in the original hole",
                mm=full,
                note="as stated in the case; chamfer and incomplete threads are not in it",
            )
        ]
        if joint.screw_reach is not None:
            lost = np.maximum(0.0, full - joint.screw_reach)
            steps.append(
                BudgetStep(
                    step="beyond the end of the screw",
                    mm=-lost,
                    note=f"screw reach {length_words(joint.screw_reach)} past the joint face",
                )
            )
        return tuple(steps)
    shortening = tables.constant("insert_fitted_shortening_max")
    length = joint.insert_length if nominal is None else np.asarray(nominal, dtype=np.float64)
    fitted = np.maximum(length - shortening.value * joint.thread.pitch, 0.0)
    steps = [
        BudgetStep(step="nominal insert length", mm=length, note="as ordered"),
        BudgetStep(
            step="fitted coil shorter than nominal",
            mm=fitted - length,
            note=f"{shortening.value:g} P, the most the standard allows",
        ),
    ]
    if joint.screw_reach is not None:
        lost = np.clip(fitted + joint.set_down_max - joint.screw_reach, 0.0, fitted)
        steps.append(
            BudgetStep(
                step="beyond the end of the screw",
                mm=-lost,
                note=f"screw reach {length_words(joint.screw_reach)}, coil begins "
                f"{length_words(joint.set_down_max)} below the face",
            )
        )
    return tuple(steps)


def engaged(steps: tuple[BudgetStep, ...]) -> Floats:
    """Return the engaged length, mm: the sum of the steps."""
    return sum(step.mm for step in steps)
