"""What torque a case permits, and how far its own is from stripping, yield and opening."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from . import case as cases
from . import tightening as tg
from .case import Case
from .case.torques import Tightening
from .joint.margins import Margin, margins
from .joint.records import Evaluation, Notice
from .load_cases import (
    FITTING_REFERENCE,
    ServicePreload,
    design_cases,
    load_share,
    preload_cases,
    service_preload,
)
from .sources import Reference, ledger
from .strength.strip import STATES
from .tightening import CAUTION, STATED_TORQUE, Band


@dataclass(frozen=True, slots=True, kw_only=True)
class StatePreload:
    """One state: preload, torque limits and margins; torques without prevailing torque.

    Attributes
    ----------
    preload : as tightened and in service
    strip_torque_nm : Band, N·m, that would strip the thread
    window_nm : minimum and maximum torque, N·m, at which every margin of the state is zero or
        more, but for the certified minimum, which is a condition; NaN where the screw's yield
        strength is not known. The window is empty where the minimum is above the maximum, which is
        0 where the design load alone is too much.
    same_preload_nm : torque that gives this state the middle preload of the original, N·m
    margins : of the load cases with preload
    """

    state: str
    preload: ServicePreload
    strip_torque_nm: Band
    window_nm: tuple[float, float]
    same_preload_nm: float
    margins: tuple[Margin, ...]

    def least(self, mode: str = "strip", against: str = "ultimate") -> float:
        """Least margin of a mode, or of every thread and wall; infinite where there is none."""
        return min(
            (
                m.margin
                for m in self.margins
                if m.against == against
                and (m.mode == mode or (mode == "strip" and m.mode != "screw_tension"))
            ),
            default=math.inf,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Preloads:
    """Both states under the torque or the preload of a case.

    `share` is the part of the load that the screw is taken to feel: (most, least), the bounds 1
    and 0 where the case gives none.
    """

    inputs: Tightening
    original: StatePreload
    repaired: StatePreload
    share: tuple[float, float]
    notices: tuple[Notice, ...]
    references: tuple[Reference, ...]
    caution: str = CAUTION
    stated_torque: str = STATED_TORQUE

    @property
    def states(self) -> Mapping[str, StatePreload]:
        """The two states by name."""
        return {"original": self.original, "repaired": self.repaired}


def preloads(case: Case, evaluation: Evaluation) -> Preloads | None:
    """Return torque, preload and margins of both states; None where the case gives neither.

    See `load_cases` for the demands.
    """
    inputs = cases.tightening(case)
    if inputs is None:
        return None
    share = load_share(inputs)
    first = service_preload(inputs, evaluation.joint, STATES[0])
    found = {state: _state(case, inputs, evaluation, state, first) for state in STATES}
    return Preloads(
        inputs=inputs,
        original=found["original"],
        repaired=found["repaired"],
        share=share,
        notices=(*inputs.notices, *_findings(found, share)),
        references=ledger(
            [
                *inputs.references,
                *tg.REFERENCES,
                *tg.MARGIN_REFERENCES,
                tg.WINDOW_REFERENCE,
                tg.STATED_TORQUE_REFERENCE,
                *((tg.THERMAL_REFERENCE,) if len(inputs.temperatures) > 1 else ()),
                *((FITTING_REFERENCE,) if case.fitting_factor > 1 else ()),
                evaluation.joint.screw.identity_reference,
            ]
        ),
    )


def _state(
    case: Case, inputs: Tightening, evaluation: Evaluation, state: str, first: ServicePreload
) -> StatePreload:
    found = service_preload(inputs, evaluation.joint, state)
    coefficient = found.tightened.coefficient
    return StatePreload(
        state=state,
        preload=found,
        strip_torque_nm=tg.strip_torque(evaluation.states[state].pull_out, coefficient=coefficient),
        window_nm=_window(case, inputs, evaluation, found),
        same_preload_nm=float(
            tg.torque(first.tightened.preload.middle, coefficient=coefficient.middle)
        ),
        margins=margins(evaluation, tuple(preload_cases(case, inputs, evaluation.joint, state))),
    )


def _window(
    case: Case, inputs: Tightening, evaluation: Evaluation, found: ServicePreload
) -> tuple[float, float]:
    """Minimum and maximum torque at which every margin of the state is zero or more."""
    from scipy.optimize import brentq  # on use: it takes longer to import than a case to evaluate

    state = found.state

    def spare(torque: float, *, separation: bool) -> float:
        """Least capacity less demand at a torque, N: falls with it, or rises for separation."""
        at = replace(inputs, torque_nm=torque, preload=None)
        loads = tuple(preload_cases(case, at, evaluation.joint, state))
        return min(
            (
                m.capacity - m.demand
                for m in margins(evaluation, loads)
                if (m.mode == "separation") == separation
            ),
            default=0.0,
        )

    # Below it the wrench's error at the prevailing torque may leave no preload at all.
    error = inputs.tool.high if inputs.scatter is None else 0.0
    lowest = inputs.prevailing_nm[state][1] * error / (1 - error)
    start = lowest * (1 + 1e-9) + 1e-9
    above = max(start, 1.0)
    while spare(above, separation=False) > 0 or spare(above, separation=True) < 0:
        above *= 2

    def root(separation: bool) -> float:
        return float(brentq(lambda nm: spare(nm, separation=separation), start, above, xtol=1e-12))

    least = lowest if spare(start, separation=True) >= 0 else root(separation=True)
    alone = margins(evaluation, design_cases(case))
    if any(m.margin < 0 for m in alone if m.state == state):
        return max(least, start), 0.0
    if math.isnan(evaluation.joint.screw.yield_):
        return least, math.nan
    if spare(start, separation=False) < 0:
        return max(least, start), 0.0
    return least, root(separation=False)


#: What a negative margin of a tightened joint means, by mode and strength.
_DOES = {
    ("screw_tension", "ultimate"): "breaks the screw",
    ("screw_tension", "yield"): "brings the screw to yield",
    ("parent_thread_strip", "yield"): "brings the parent's thread to yield",
    ("boss_wall", "ultimate"): "is more than the boss wall carries",
}


def _findings(found: Mapping[str, StatePreload], share: tuple[float, float]) -> tuple[Notice, ...]:
    """Return what the torque of the case does that it should not."""
    bound = " if the screw feels all of the load" if share[0] != share[1] else ""
    notices = []
    for state, each in found.items():
        worst: dict[str, float] = {}
        for m in each.margins:
            if m.mode != "separation":
                does = _DOES.get((m.mode, m.against), "strips the thread")
                worst[does] = min(worst.get(does, 0.0), m.margin)
        notices += [
            Notice(
                level="limit",
                text=f"{state}: the maximum preload with the design load {does}{bound} "
                f"(margin {margin:+.2f}).",
            )
            for does, margin in worst.items()
            if margin < 0
        ]
        apart = each.least("separation", "separation")
        if apart < 0:
            notices.append(
                Notice(
                    level="limit",
                    text=f"{state}: the joint may open under the design load at the minimum "
                    f"preload (margin {apart:+.2f}).",
                )
            )
    return tuple(notices)
