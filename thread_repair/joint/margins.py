"""Margins: capacity over factored demand, less one, for every mode and load case."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from .records import Evaluation, Margin, ModeResult, StateResult


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCase:
    """A load on the screw, N, the factor on it, and the strength it is held against.

    `state` names the one state that it holds for, where they differ; `screw_yield` [N] replaces
    the screw's yield load where the twist of tightening lowers it.
    """

    name: str
    load: float
    factor: float
    against: str = "ultimate"
    state: str | None = None
    screw_yield: float | None = None


def margins(evaluation: Evaluation, load_cases: tuple[LoadCase, ...]) -> tuple[Margin, ...]:
    """Return the margin of every primary mode of both states under every load case.

    Against "yield", the screw has its yield strength; the parent's thread its strip load in the
    ratio of the parent's yield to tensile strength, where the yield strength is known. Modes
    without a yield strength are left out: they are covered against "ultimate".
    """
    return tuple(
        Margin(
            state=state.state,
            mode=mode.mode,
            load_case=case.name,
            demand=case.load,
            factor=case.factor,
            capacity=capacity,
            against=case.against,
        )
        for case in load_cases
        for state in evaluation.states.values()
        if case.state in (None, state.state)
        for mode, capacity in _capacities(evaluation, state, case)
    )


def _capacities(
    evaluation: Evaluation, state: StateResult, case: LoadCase
) -> Iterator[tuple[ModeResult, float]]:
    primary = [mode for mode in state.modes if mode.primary]
    if case.against == "ultimate":
        yield from ((mode, mode.capacity) for mode in primary)
        return
    for mode in state.modes:
        if mode.mode == "screw_tension" and mode.basis == "yield" and np.isfinite(mode.capacity):
            yield mode, mode.capacity if case.screw_yield is None else case.screw_yield
    parent_yield = evaluation.joint.parent_yield
    if parent_yield is not None:
        ratio = parent_yield.value / evaluation.joint.parent_tensile.value
        thread = state.mode("parent_thread_strip")
        yield thread, thread.capacity * ratio
