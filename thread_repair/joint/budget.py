"""How much of the nominal length is engaged: the engagement budget."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .. import tables
from ..arrays import FloatArray, Floats
from ..facts import Quantity, fact, length, number
from .records import BudgetStep, Joint


def budget(joint: Joint, state: str, *, nominal: ArrayLike | None = None) -> tuple[BudgetStep, ...]:
    """Return the steps from the nominal to the engaged length of one state; their sum is engaged.

    `nominal` [mm] replaces the joint's own engagement or insert length; with an array every step
    is one.

    original: full thread as stated, cut where the part and where the screw ends.
    repaired: nominal insert length, less what the fitted coil is shorter (its incomplete end
    turns are in that), less its turns in the countersink, cut where the part's thread and where
    the screw ends. The coil begins at the set-down, at that end of its limits which counts less.

    Parameters
    ----------
    joint : Joint
    state : str
        "original" or "repaired".
    nominal : array_like, mm, optional

    Returns
    -------
    tuple of BudgetStep
    """
    begin: Floats = 0.0
    end: Floats
    if state == "original":
        full = joint.engagement if nominal is None else np.asarray(nominal, dtype=np.float64)
        steps = [_step("full_thread", full)]
        end, far = full, joint.part_thickness
    else:
        ordered = joint.insert_length if nominal is None else np.asarray(nominal, dtype=np.float64)
        shortening = tables.constant("insert_fitted_shortening_max").value
        fitted = np.maximum(ordered - shortening * joint.thread.pitch, 0.0)
        down = _worst_set_down(joint, fitted)
        begin, end = np.maximum(down, joint.countersink_depth), down + fitted
        steps = [
            _step("nominal_length", ordered),
            _step("fitted_shorter", fitted - ordered, pitches=number(shortening)),
        ]
        if joint.set_down_min < joint.countersink_depth:
            inside = np.minimum(begin - down, fitted)
            begin = down + inside
            steps.append(_step("in_countersink", -inside, depth=length(joint.countersink_depth)))
        far = thread_end(joint)
    for step, at in (("beyond_part", far), ("beyond_screw", joint.screw_reach)):
        if at is not None:
            kept = np.clip(at, begin, end)
            steps.append(
                _step(
                    step,
                    kept - end,
                    why=f"{step}_{state}",
                    at=length(at),
                    set_down=length(joint.set_down_max),
                )
            )
            end = kept
    return tuple(steps)


def _step(step: str, mm: Floats, *, why: str = "", **values: Quantity) -> BudgetStep:
    return BudgetStep(step=step, mm=mm, why=fact(f"budget_{why or step}", "info", **values))


def thread_begin(joint: Joint) -> float:
    """Depth below the face at which the counted thread of the fitted insert begins at most, mm.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    float, mm
    """
    return max(joint.set_down_max, joint.countersink_depth)


def thread_end(joint: Joint) -> float | None:
    """Depth at which the thread of a through hole ends, mm: thickness less the far countersink.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    float, mm or None
    """
    if joint.part_thickness is None:
        return None
    return max(joint.part_thickness - joint.countersink_depth, 0.0)


def _worst_set_down(joint: Joint, fitted: FloatArray) -> FloatArray:
    """Return the set-down within its limits at which least is engaged, mm.

    Between the limits the engaged length rises and then falls, so that one of them is the worst.
    """
    ends = [end for end in (thread_end(joint), joint.screw_reach) if end is not None]

    def left(down: float) -> FloatArray:
        end: FloatArray = np.minimum(down + fitted, min(ends, default=np.inf))
        return end - max(down, joint.countersink_depth)

    deep = left(joint.set_down_max) <= left(joint.set_down_min)
    return np.where(deep, joint.set_down_max, joint.set_down_min)


def engaged(steps: tuple[BudgetStep, ...]) -> Floats:
    """Return the engaged length, mm: the sum of the steps.

    Parameters
    ----------
    steps : tuple of BudgetStep

    Returns
    -------
    float or ndarray, mm
    """
    return sum(step.mm for step in steps)
