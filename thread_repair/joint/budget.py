"""How much of the nominal length is engaged: the engagement budget."""

from __future__ import annotations

from .. import tables
from .records import BudgetStep, Joint


def budget(joint: Joint, state: str) -> tuple[BudgetStep, ...]:
    """Return the steps from the nominal to the engaged length of one state; their sum is engaged.

    original: full thread as stated, cut where the screw ends.
    repaired: nominal insert length, less what the fitted coil is shorter, cut where the screw
    ends. The coil begins at the set-down, so the screw loses that much of its reach.
    """
    if state == "original":
        steps = [
            BudgetStep(
                step="full thread in the original hole",
                mm=joint.engagement,
                note="as stated in the case; chamfer and incomplete threads are not in it",
            )
        ]
        if joint.screw_reach is not None:
            lost = max(0.0, joint.engagement - joint.screw_reach)
            steps.append(
                BudgetStep(
                    step="beyond the end of the screw",
                    mm=-lost,
                    note=f"screw reach {joint.screw_reach:g} mm past the joint face",
                )
            )
        return tuple(steps)
    shortening = tables.constant("insert_fitted_shortening_max")
    fitted = joint.insert_length - shortening.value * joint.thread.pitch
    steps = [
        BudgetStep(step="nominal insert length", mm=joint.insert_length, note="as ordered"),
        BudgetStep(
            step="fitted coil shorter than nominal",
            mm=fitted - joint.insert_length,
            note=f"{shortening.value:g} P, the most the standard allows",
        ),
    ]
    if joint.screw_reach is not None:
        lost = min(fitted, max(0.0, fitted + joint.set_down_max - joint.screw_reach))
        steps.append(
            BudgetStep(
                step="beyond the end of the screw",
                mm=-lost,
                note=f"screw reach {joint.screw_reach:g} mm, coil begins "
                f"{joint.set_down_max:g} mm below the face",
            )
        )
    return tuple(steps)


def engaged(steps: tuple[BudgetStep, ...]) -> float:
    """Return the engaged length, mm: the sum of the steps."""
    return sum(step.mm for step in steps)
