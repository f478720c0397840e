"""Margins: capacity over factored demand, less one, for every mode and load case."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from operator import attrgetter
from typing import Any

import numpy as np

from ..facts import Fact, Term, condition, fact, number
from .bounds import bracket
from .records import Evaluation, Joint, StateResult
from .sizes import stress_area

#: What the parent's thread is certain to hold, beside what the formula says of it.
CERTIFIED = "certified minimum"


@dataclass(frozen=True, slots=True, kw_only=True)
class PreloadOrigin:
    """The line of friction, its friction and the temperature, degC, that a preload comes from."""

    line: str
    thread_friction: float
    head_friction: float
    temperature: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCase:
    """A load on the screw and the strength it is held against.

    Attributes
    ----------
    id : of the words for it, terms of the kind "load_case"
    preload : beneath the load, N; it carries no factor
    thermal : what temperature adds to it, N, in proportion to the screw's stress area
    share, load : part of the limit load that counts, and that load, N
    factor, fitting : of safety on the load, and for a fitting not proven by test
    against : "ultimate", "yield" or "separation"
    state : the one state that it holds for, where they differ
    own : capacity by mode, N, where the case has its own instead of the state's: the screw's yield
        under the twist of tightening, the minimum preload against separation
    at : the joint at the temperature of the case, where it is not that of the evaluation
    origin : of the preload
    """

    id: str
    load: float = 0.0
    share: float = 1.0
    factor: float = 1.0
    fitting: float = 1.0
    preload: float = 0.0
    thermal: float = 0.0
    against: str = "ultimate"
    state: str | None = None
    own: Mapping[str, float] | None = None
    at: Evaluation | None = None
    origin: PreloadOrigin | None = None

    @property
    def demand(self) -> float:
        """Factored load on the screw, N."""
        return self.preload + self.factor * self.fitting * self.share * self.load

    def acts(self, state: str) -> bool:
        """Whether it acts on a condition."""
        return self.state in (None, state)


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """Capacity over factored demand, less one, of one mode of one state under one load case.

    `certified` says that the capacity is the certified minimum instead of the formula's.
    """

    state: str
    mode: str
    case: LoadCase
    capacity: float
    certified: bool = False

    @property
    def load_case(self) -> str:
        """Id of the load case."""
        return self.case.id

    @property
    def against(self) -> str:
        """Which strength the capacity is."""
        return CERTIFIED if self.certified else self.case.against

    @property
    def demand(self) -> float:
        """Factored demand, N."""
        return self.case.demand

    @property
    def margin(self) -> float:
        """Zero passes; negative fails."""
        return self.capacity / self.demand - 1

    def fact(self) -> Fact:
        """What it is, and of what."""
        return fact(
            "negative_margin",
            "limit",
            condition=condition(self.state),
            mode=Term("mode", self.mode),
            load_case=Term("load_case", self.load_case),
            margin=number(self.margin),
        )


def margins(evaluation: Evaluation, load_cases: tuple[LoadCase, ...]) -> tuple[Margin, ...]:
    """Return the margin of every primary mode of both states under every load case.

    Load cases of one id are one case at several frictions or temperatures: the least margin of
    them stands.

    Against "yield", the screw has its yield strength; the parent's thread its strip load in the
    ratio of the parent's yield to tensile strength, where the yield strength is known. Modes
    without a yield strength are left out: they are covered against "ultimate".

    Parameters
    ----------
    evaluation : Evaluation
    load_cases : tuple of LoadCase

    Returns
    -------
    tuple of Margin
    """
    found = (
        Margin(state=state.state, mode=mode, case=case, capacity=capacity)
        for case, joint, state in _applied(evaluation, load_cases)
        for mode, capacity in capacities_under(
            case, joint, {mode.mode: mode.capacity for mode in state.modes if mode.primary}
        )
    )
    return tuple(least_by(found, "state", "mode", "load_case").values())


def certified_margins(
    evaluation: Evaluation, load_cases: tuple[LoadCase, ...]
) -> tuple[Margin, ...]:
    """Return the margins against rupture of what the parent's thread is certain to hold.

    Of load cases of one id the least margin stands. Without a certified bound there is none.

    Parameters
    ----------
    evaluation : Evaluation
    load_cases : tuple of LoadCase

    Returns
    -------
    tuple of Margin
    """
    found = (
        Margin(
            state=state.state,
            mode="parent_thread_strip",
            case=case,
            capacity=bracket(joint, state).minimum,
            certified=True,
        )
        for case, joint, state in _applied(evaluation, load_cases)
        if case.own is None and case.against == "ultimate"
    )
    least = least_by(found, "state", "load_case").values()
    return tuple(each for each in least if np.isfinite(each.capacity))


def _applied(
    evaluation: Evaluation, load_cases: tuple[LoadCase, ...]
) -> Iterator[tuple[LoadCase, Joint, StateResult]]:
    """Every load case with each state that it acts on, at its temperature."""
    for case in load_cases:
        at = case.at or evaluation
        yield from ((case, at.joint, each) for each in at.states.values() if case.acts(each.state))


def least_by(found: Iterable[Margin], *names: str) -> dict[Any, Margin]:
    """Return the least margin of each kind; an unknown one before all: nothing hides behind it.

    Parameters
    ----------
    found : iterable of Margin
    *names : str
        What tells one kind from another: attributes of a margin, such as "state".

    Returns
    -------
    dict of str, or of tuple of str, to Margin
    """
    kind, least = attrgetter(*names), dict[Any, Margin]()
    for each in found:
        known = least.setdefault(kind(each), each)
        if np.isnan(each.margin) or each.margin < known.margin:
            least[kind(each)] = each
    return least


def capacities_under(
    case: LoadCase, joint: Joint, ultimate: Mapping[str, float]
) -> Iterator[tuple[str, float]]:
    """Yield the modes of a joint and what they carry under a load case, N.

    `ultimate` has the ultimate capacity of each mode.

    Parameters
    ----------
    case : LoadCase
    joint : Joint
    ultimate : mapping of str to float, N

    Yields
    ------
    (str, float), N
    """
    if case.own is not None:
        yield from case.own.items()
        return
    if case.against == "ultimate":
        yield from ultimate.items()
        return
    if np.isfinite(joint.screw.yield_):
        yield "screw_tension", stress_area(joint) * joint.screw.yield_
    if joint.parent_yield is not None:
        ratio = joint.parent_yield.value / joint.parent_tensile.value
        yield "parent_thread_strip", ultimate["parent_thread_strip"] * ratio
