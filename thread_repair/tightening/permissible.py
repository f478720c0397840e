"""The loads on the screw of a tightened joint, and what torque they permit.

How far its own torque is from stripping, yield and separation.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache

from ..facts import Fact, Quantity, Range, Term, fact, force, three_digits, torque
from ..joint.margins import LoadCase, Margin, PreloadOrigin, least_by, margins
from ..joint.records import Evaluation
from ..strength.strip import STATES
from ..tables import Reference, cited, ledger
from .published import SMALL, PublishedRange
from .records import Loads, Tightening
from .service import REFERENCES as SERVICE_REFERENCES
from .service import THERMAL_REFERENCE, FrictionLine, ServicePreload, service_preload
from .torque_preload import REFERENCES, Band
from .torque_preload import preload as preload_for
from .torque_preload import torque as torque_for

FITTING_REFERENCE = cited("permissible-fitting")[0]
#: N in the unit in which a force is printed.
_PER_KN = 1000.0
#: Goes with every torque that is printed.
CAUTION = fact("torque_caution", "caution")
#: Whether a stated torque has the prevailing torque in it.
STATED_TORQUE = fact("stated_torque")


def load_cases(
    loads: Loads, inputs: Tightening | None, *, cold: Evaluation | None = None
) -> tuple[LoadCase, ...]:
    """Return every load case of a joint; none where neither load nor preload is stated.

    The load on the screw of a tightened joint is the maximum preload plus the part of the limit
    load that the screw takes; once the joint has separated it is the limit load alone. With that
    part known these are the two cases. Where it is not known, the load lies between the greater of
    the two and their sum: then the limit load alone and the maximum preload alone are what must
    hold for every joint, and both together with the whole load is what is enough for every joint.
    Preload carries no factor, the load its own (NASA TM-106943). The joint separates when the part
    of the load that the screw does not take reaches the minimum preload.

    Several cases of one id are one case at the temperatures of assembly and service, the parent
    with the strength it has there, and for the screw's yield at the frictions that may be worst.
    What temperature takes from the maximum preload is not counted: less of it is taken on the way
    there, where the parent may have lost as much of its strength, and it comes back in the cold.

    Parameters
    ----------
    loads : Loads
    inputs : Tightening, optional
        None for a screw that is not tightened or has been relieved: the limit load alone.
    cold : Evaluation, optional
        The joint at assembly, where the parent has another strength there: not every mode holds
        more of a stronger parent.

    Returns
    -------
    tuple of LoadCase
    """
    alone = tuple(
        replace(each, at=at)
        for each in _of_limit_load("limit_load", loads)
        for at in ((None,) if cold is None else (None, cold))
        if loads.limit
    )
    if inputs is None:
        return alone
    return (*alone, *(each for state in STATES for each in preload_cases(inputs, state)))


def preload_cases(inputs: Tightening, state: str) -> Iterator[LoadCase]:
    """Yield the load cases of one tightened condition.

    Parameters
    ----------
    inputs : Tightening
    state : str
        "original" or "repaired".

    Yields
    ------
    LoadCase
    """
    found, loads = service_preload(inputs, state), inputs.loads
    tightened, changes = found.tightened, found.known_changes
    lines = tightened.lines.values()
    highest, lowest = (which(lines, key=_preload) for which in (max, min))
    most, least = loads.shares
    combined = {"maximum_preload_limit_load": most} if loads.limit else {}
    if not loads.limit or loads.share is None:
        combined = {"maximum_preload": 0.0, **combined}
    for temperature, change in changes.items():
        gain = max(change, 0.0)
        for name, share in combined.items():
            at = None if temperature == inputs.temperature else inputs.cold
            for each in _of_limit_load(name, loads):
                base = replace(each, share=share, state=state, at=at)
                yield _tightened(base, highest, temperature, gain)
                if each.against != "yield" or math.isnan(inputs.screw_yield):
                    continue
                for line in tightened.pulled:
                    case = _tightened(base, line, temperature, gain)
                    # The load at which it yields, with twist in the proportion of the case.
                    stress = float(inputs.shape.stress(case.demand, line.twist_nm))
                    own = {"screw_tension": case.demand * inputs.screw_yield / stress}
                    yield replace(case, own=own)
    if loads.limit and least < 1:
        yield LoadCase(
            id="minimum_preload_separation",
            load=loads.limit,
            share=1 - least,
            factor=loads.separation,
            against="separation",
            state=state,
            own={"separation": float(found.service.least)},
            origin=_origin(lowest, min(changes, key=changes.__getitem__)),
        )


def _of_limit_load(name: str, loads: Loads) -> Iterator[LoadCase]:
    """Yield the limit load by the strength that it is held against."""
    for against, factor in loads.strengths.items():
        id_, load, fitting = f"{name}_{against}", loads.limit, loads.fitting
        yield LoadCase(id=id_, load=load, factor=factor, fitting=fitting, against=against)


def _tightened(base: LoadCase, line: FrictionLine, temperature: float, gain: float) -> LoadCase:
    preload, origin = _preload(line) + gain, _origin(line, temperature)
    return replace(base, preload=preload, thermal=gain, origin=origin)


def _preload(line: FrictionLine) -> float:
    return float(line.preload)


def _origin(line: FrictionLine, temperature: float) -> PreloadOrigin:
    return PreloadOrigin(
        line=line.name,
        thread_friction=float(line.thread_friction),
        head_friction=float(line.head_friction),
        temperature=temperature,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class StatePreload:
    """One condition: preload, torque limits and margins; torques without prevailing torque.

    Attributes
    ----------
    preload : as tightened and in service
    strip_torque_nm : Band, N·m, that would strip the thread; the minimum is reached with the
        lowest friction: an oiled thread strips at less torque. The screw may yield or break first.
        Torque turns the thread as well as pulling it; the load is that of a straight pull.
    window_nm : minimum and maximum torque, N·m, at which every margin of the condition is zero or
        more, but for the certified minimum, which is a condition of the repair. The window is
        empty where the minimum is above the maximum, which is 0 where the limit load alone is too
        much; one that is not empty has no known maximum, NaN, where the screw's yield strength is
        not known.
    tools : those with which the minimum and the maximum are found
    by_torque : whether a torque is set; elsewhere its window stands for mean preloads
    same_preload_nm : torque that gives this condition the middle preload of the original, N·m
    margins : of the load cases with preload
    """

    state: str
    preload: ServicePreload
    strip_torque_nm: Band
    window_nm: tuple[float, float]
    tools: tuple[PublishedRange, PublishedRange]
    by_torque: bool
    same_preload_nm: float
    margins: tuple[Margin, ...]

    @property
    def what(self) -> Term:
        """What is set."""
        return Term("set", "torque" if self.by_torque else "preload")

    @property
    def set_to(self) -> Quantity:
        """The torque, or the mean preload where a tool sets that without a torque."""
        return self._set_for(float(self.preload.tightened.torque_nm))

    @property
    def limits(self) -> tuple[Quantity, Quantity]:
        """Between what it may be set: the ends of the window."""
        least, most = self.window_nm
        return self._set_for(least), self._set_for(most)

    def _set_for(self, torque_nm: float) -> Quantity:
        if self.by_torque:
            return torque(torque_nm)
        middle = self.preload.tightened.coefficient.middle
        return force(float(preload_for(torque_nm, coefficient=middle)) if torque_nm else 0.0)

    @property
    def window(self) -> Range | None:
        """The same where there is such a range, and its maximum is known."""
        low, high = self.limits
        if not low.value <= high.value:
            return None
        decimals = three_digits(high.value if self.by_torque else high.value / _PER_KN)
        return Range(
            least=low.value or None, most=high.value, dimension=high.dimension, decimals=decimals
        )

    @property
    def permissible(self) -> str:
        """Whether there is such a torque: "range", "none", or "unknown" without a maximum."""
        known = "none" if self.window is None else "range"
        return "unknown" if math.isnan(self.window_nm[1]) else known

    def least(self, mode: str = "strip", against: str = "ultimate") -> float:
        """Least margin of a mode, or of every thread and wall; infinite where there is none."""
        strips = mode == "strip"
        held = (m for m in self.margins if m.against == against)
        asked = (m for m in held if m.mode == mode or (strips and m.mode != "screw_tension"))
        return min((m.margin for m in asked), default=math.inf)


@dataclass(frozen=True, slots=True, kw_only=True)
class Preloads:
    """Both conditions under the stated torque or preload; what is assumed and what is found."""

    inputs: Tightening
    original: StatePreload
    repaired: StatePreload
    facts: tuple[Fact, ...]
    references: tuple[Reference, ...]

    @property
    def states(self) -> Mapping[str, StatePreload]:
        """The two conditions by name."""
        return {"original": self.original, "repaired": self.repaired}

    @property
    def settings(self) -> Iterator[Fact]:
        """What is set and read at the wrench for the repaired hole, and what it may be."""
        each = self.repaired
        tightened, (low, high) = each.preload.tightened, each.window_nm
        stated, running = float(tightened.torque_nm), self.inputs.prevailing_nm["repaired"][1]
        turned, tool = each.by_torque, self.inputs.tool.title
        if turned:
            yield fact("set_torque", torque=torque(stated), tool=tool)
        else:
            yield fact("set_preload", preload=each.set_to, torque=torque(stated), tool=tool)
        if running:
            yield STATED_TORQUE
        if running and turned:
            # As the sheet's step and record print it, rounded inwards.
            most = Range(most=running, dimension="torque", decimals=2)
            yield fact("wrench_reading", prevailing=most, reading=torque(stated + running))
        least, _, highest = (force(float(each)) for each in tightened.preload)
        yield fact("preload_range", low=least, high=highest)
        if each.window is not None:
            yield fact(f"{each.what.id}_window_range", window=each.window)
        else:
            yield fact(f"torque_window_{'unknown' if math.isnan(high) else 'empty'}")
        if stated < low or stated > high:
            yield fact(f"{each.what.id}_outside", "limit")
        yield CAUTION


def preloads(inputs: Tightening, evaluation: Evaluation, found: Iterable[Margin]) -> Preloads:
    """Return preload and permissible torque of both conditions, with those margins found.

    Parameters
    ----------
    inputs : Tightening
    evaluation : Evaluation
    found : iterable of Margin

    Returns
    -------
    Preloads
    """
    first = service_preload(inputs, STATES[0])
    margins_ = tuple(m for m in found if m.case.origin is not None and not m.certified)
    states = {state: _state(inputs, evaluation, state, first, margins_) for state in STATES}
    return Preloads(
        inputs=inputs,
        **states,
        facts=(*inputs.facts, *_not_set(inputs), *_wider(inputs, states), *_findings(states)),
        references=ledger(
            [
                *inputs.references,
                *REFERENCES,
                *SERVICE_REFERENCES,
                *((THERMAL_REFERENCE,) if len(inputs.temperatures) > 1 else ()),
                *((FITTING_REFERENCE,) if inputs.loads.fitting > 1 else ()),
                evaluation.joint.screw.identity_reference,
            ]
        ),
    )


def _state(
    inputs: Tightening,
    evaluation: Evaluation,
    state: str,
    first: ServicePreload,
    found: Iterable[Margin],
) -> StatePreload:
    preload = service_preload(inputs, state)
    stated = float(preload.tightened.torque_nm)
    window, tools = _window(inputs, evaluation, state, stated)
    coefficient, pull_out = preload.tightened.coefficient, evaluation.states[state].pull_out
    return StatePreload(
        state=state,
        preload=preload,
        strip_torque_nm=coefficient.map(lambda each: torque_for(pull_out, coefficient=each)),
        window_nm=window,
        tools=tools,
        by_torque=inputs.turned is not None,
        same_preload_nm=float(
            torque_for(first.tightened.preload.middle, coefficient=coefficient.middle)
        ),
        margins=tuple(m for m in found if m.state == state),
    )


#: The least torque of a tool for more than `SMALL`, N·m, so far above as is printed apart from it.
ABOVE_SMALL = SMALL * (1 + 1e-6)


def least_torque(inputs: Tightening, state: str) -> float:
    """Return the torque, N·m, below which a wrench's error may leave no preload at all.

    The error is that of the stated torque and the prevailing torque together.

    Parameters
    ----------
    inputs : Tightening
    state : str

    Returns
    -------
    float
    """
    error = 0.0 if inputs.turned is None else inputs.turned.error
    return float(inputs.prevailing_nm[state][1] * error / (1 - error))


def _window(
    inputs: Tightening, evaluation: Evaluation, state: str, stated: float
) -> tuple[tuple[float, float], tuple[PublishedRange, PublishedRange]]:
    """Minimum and maximum torque at which every margin is zero or more, and the tool of each.

    Up to `SMALL` the tool may be a less accurate one, with limits of its own. Where the two do not
    meet there, the window is the part that holds the stated torque, or else the lower one.
    """
    least, most = _ends(inputs, evaluation, state, stated)
    tool, small = inputs.tool, inputs.small_tool
    if tool == small or least >= SMALL:
        return (least, most), (tool, tool)
    low, high = _ends(replace(inputs, tool=small), evaluation, state, stated)
    none_below = low > min(high, SMALL)
    if most <= SMALL or (high < SMALL and not none_below and not SMALL < stated <= most):
        return (low, high), (small, small)
    if none_below or high < SMALL:
        return (ABOVE_SMALL, most), (tool, tool)
    return (low, most), (small, tool)


def _ends(
    inputs: Tightening, evaluation: Evaluation, state: str, near: float
) -> tuple[float, float]:
    """Minimum and maximum torque at which every margin is zero or more with one tool."""
    from scipy.optimize import brentq  # on use: it takes longer to import than a case to evaluate

    @cache  # a search begins at torques that have been looked at
    def at(torque_nm: float) -> tuple[Margin, ...]:
        turned = replace(inputs, torque_nm=torque_nm, preload=None)
        return margins(evaluation, tuple(preload_cases(turned, state)))

    def spare(torque_nm: float, *, separation: bool) -> float:
        """Least capacity less demand at a torque, N: falls with it, or rises for separation."""
        of = (m for m in at(torque_nm) if (m.mode == "separation") == separation)
        return min((m.capacity - m.demand for m in of), default=0.0)

    lowest = least_torque(inputs, state)
    start = lowest * (1 + 1e-9) + 1e-9
    above = max(start, near)
    while spare(above, separation=False) > 0 or spare(above, separation=True) < 0:
        above *= 2

    def root(separation: bool) -> float:
        return float(brentq(lambda nm: spare(nm, separation=separation), start, above, xtol=1e-12))

    least = lowest if spare(start, separation=True) >= 0 else root(separation=True)
    alone = margins(evaluation, load_cases(inputs.loads, None, cold=inputs.cold))
    too_much = any(m.margin < 0 for m in alone if m.state == state)
    if too_much or spare(start, separation=False) < 0:
        return max(least, start), 0.0
    most = root(separation=False)
    # A yield strength that is not known can only lower it.
    unknown = math.isnan(inputs.screw_yield) and least <= most
    return least, math.nan if unknown else most


def _not_set(inputs: Tightening) -> Iterator[Fact]:
    """Say that the torques are no setting of a wrench: friction is not in their window."""
    if inputs.turned is None:
        yield fact("torque_not_set", "caution")


def _wider(inputs: Tightening, found: Mapping[str, StatePreload]) -> Iterator[Fact]:
    """Say that a wrench scatters the preload further than is published of the tool."""
    lines = [state.preload.tightened for state in found.values()]
    # Both err alike up and down: where the least is the wrench's, so is the highest.
    if any(each.preload.highest > each.lines["maximum"].preload for each in lines):
        yield fact("friction_over_scatter", "caution", tool=inputs.tool.title)


def _findings(found: Mapping[str, StatePreload]) -> Iterator[Fact]:
    """Yield the least margin of each mode that is negative, with its load case."""
    for each in found.values():
        negative = (m for m in each.margins if m.margin < 0)
        yield from (m.fact() for m in least_by(negative, "mode", "against").values())
