"""Requirements on a condition of the hole, judged alike for the repair and all other options.

Strength, margins, edge distance, the hole as it was found, and the values nobody has confirmed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from .. import files, inserts, tables
from ..arrays import Floats, plain, positive
from ..facts import Quantity, Term, Value, force, length, load_case, number, share, temperature
from .lengths import screw_load, table_check
from .margins import CERTIFIED, Margin, least_by
from .records import EQUAL, ROUNDING, Evaluation, Joint, ModeResult, StateResult
from .wall import held_either_way

#: Conditions in which the hole of the insert itself is damaged.
SPOILED = ("insert-pulled-out", "oversize")
#: Order in which the least margins are listed.
_MODES: Sequence[str] = files.data("modes.toml")["margins"]
#: The stripping strength with the boss held in one of two ways.
_HELD = "stripping_strength_held"


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One requirement and what both conditions of the hole give.

    Attributes
    ----------
    id : name of the criterion
    required, repaired, original : quantities of one dimension; None where there is none
    met : whether the repaired condition meets it; None: not assessed
    met_before : the same of the original condition; None: not assessed, or it has no such value
    decides : whether a repair that does not meet it is refused; otherwise it becomes a condition
    asks : form of the words for what is required; empty where nothing is known to be required
    values : what else its words name
    """

    id: str
    required: Quantity | None = None
    repaired: Quantity | None = None
    original: Quantity | None = None
    met: bool | None
    met_before: bool | None = None
    decides: bool = True
    asks: str = "required"
    values: Mapping[str, Value] = field(default_factory=dict)

    @property
    def refuses(self) -> bool:
        """Whether the repair is refused for it."""
        return self.decides and self.met is False

    @property
    def is_condition(self) -> bool:
        """Whether it becomes a condition: a departure, or what was not assessed."""
        return self.met is None or (self.met is False and not self.decides)


def compared(joint: Joint, colder: Joint | None) -> Iterator[tuple[str, Joint]]:
    """Yield every joint whose stripping strengths are compared, after the criterion that does it.

    Parameters
    ----------
    joint : Joint
        In service.
    colder : Joint or None
        The same at the temperatures below service, where its strengths differ.

    Yields
    ------
    tuple of str and Joint
        Joint and colder joint, then both with the boss held in each way, if nobody knows which.
    """
    places = [("stripping_strength", joint)]
    if colder is not None:
        places.append(("stripping_strength_cold", colder))
    yield from places
    yield from ((_HELD, held) for _, each in places for held in held_either_way(each))


def stripping(
    id_: str, joint: Joint, *, original: ArrayLike, repaired: ArrayLike, undamaged: ArrayLike
) -> Criterion:
    """At least the strength of the undamaged thread, N, or a screw that fails first in both.

    Parameters
    ----------
    id_, joint : str, Joint
        Of `compared`, with the screw of the repair.
    original, repaired, undamaged : array_like, N
        Of several temperatures the one counts at which the repaired thread falls furthest short.

    Returns
    -------
    Criterion
    """
    most = screw_load(joint, "strongest")
    needed = np.minimum(undamaged, most)
    found = np.broadcast_arrays(original, repaired, most, needed, joint.temperature)
    at = np.argmin(np.round(found[1] / found[3], 9))  # the first of those that are alike
    original, repaired, strongest, least, told = (float(each.flat[at]) for each in found)
    met = None if math.isnan(repaired) else repaired >= (1 - EQUAL) * least
    equal = met is True and repaired < least
    of = "_screw" if least >= strongest else "_class" * (original < least)
    return Criterion(
        id=id_,
        required=force(least),
        repaired=force(repaired),
        original=force(original),
        met=met,
        met_before=original >= (1 - EQUAL) * least,
        asks=f"required{of}{'_equal' * equal}",
        values={
            "ratio": number(repaired / original),
            "equal": share(EQUAL),
            **({} if id_ == "stripping_strength" else {"temperature": temperature(told)}),
            **({"support": Term("boss_support", joint.boss_support)} if id_ == _HELD else {}),
        },
    )


def told_once(found: Iterable[Criterion]) -> tuple[Criterion, ...]:
    """Keep of the stripping strengths with the boss held either way the one that alone refuses.

    It is the one that falls furthest short, where no other stripping strength does.

    Parameters
    ----------
    found : iterable of Criterion

    Returns
    -------
    tuple of Criterion
    """
    found = tuple(found)
    short = [c for c in found if c.id.startswith("stripping_strength") and c.met is False]
    held = [c for c in short if c.id == _HELD]
    alone = len(held) == len(short)
    least = min(held, key=_share, default=None) if alone else None
    return tuple(c for c in found if c.id != _HELD or c is least)


def _share(criterion: Criterion) -> float:
    assert criterion.repaired is not None and criterion.required is not None
    return criterion.repaired.value / criterion.required.value


def margin_criteria(found: Iterable[Margin]) -> Iterator[Criterion]:
    """The least margin of each failure mode; of the certified minimum as a condition.

    Parameters
    ----------
    found : iterable of Margin

    Yields
    ------
    Criterion
    """
    found = tuple(found)
    if not found:
        yield Criterion(id="margins", required=number(0), met=None)
        return
    stated = [m for m in found if m.against != CERTIFIED]
    for name in _MODES:
        yield from _least_margin(f"margin_{name}", [m for m in stated if m.mode == name])
    certified = [m for m in found if m.against == CERTIFIED]
    yield from _least_margin("certified_minimum", certified, decides=False)


def _least_margin(id_: str, found: list[Margin], *, decides: bool = True) -> Iterator[Criterion]:
    least = least_by(found, "state")
    after, before = least.get("repaired"), least.get("original")
    shown = after or before
    if shown is None:
        return
    yield Criterion(
        id=id_,
        required=number(0),
        repaired=None if after is None else number(after.margin),
        original=None if before is None else number(before.margin),
        met=None if after is None else _passes(after.margin),
        met_before=None if before is None else _passes(before.margin),
        decides=decides,
        values={"load_case": load_case(shown.load_case), "against": shown.against},
    )


def _passes(margin: float) -> bool | None:
    return None if math.isnan(margin) else margin >= 0


class EdgeDistance(NamedTuple):
    """Edge distance over the major diameter of the hole tapped, and the limits of that ratio."""

    ratio: Floats
    recommended: float
    least: float


def edge_distance(distance: ArrayLike, hole_major: ArrayLike) -> EdgeDistance:
    """Hold an edge distance against the rule of two, at least one and a half, diameters.

    The rule guards joined members against shear tear-out; it says nothing of pull-out. It is
    applied here with the major diameter of the hole actually tapped, so that an insert hole
    needs more edge than the thread it replaces.

    Parameters
    ----------
    distance : array_like, mm
        From the hole's axis to the free edge.
    hole_major : array_like, mm
        Basic major diameter of the hole actually tapped.

    Returns
    -------
    EdgeDistance

    Examples
    --------
    An M8 hole 13 mm from the edge, before and after the repair:

    >>> print(edge_distance(13.0, [8.0, 9.624]).ratio.round(2))
    [1.62 1.35]
    """
    limits = (tables.constant(f"edge_distance_{name}").value for name in ("recommended", "least"))
    e, D = positive(distance=distance, hole_major=hole_major)
    # one typed in inches may fall short of a limit by a rounding
    return EdgeDistance(plain(np.round(e / D, 9)), *limits)


def edge_is_boss(joint: Joint) -> bool:
    """Whether no edge is known that is nearer than the wall of the boss, which is calculated.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    bool
    """
    distance, boss = joint.edge_distance, joint.boss_diameter
    # one typed in inches may fall short by a rounding
    return boss is not None and (distance is None or distance >= boss / 2 - 1e-9)


def edge(joint: Joint, hole_major: float) -> Criterion:
    """The edge distance in major diameters of the hole tapped.

    The wall of a boss decides by its calculated load, so that the rule for it is a condition.

    Parameters
    ----------
    joint : Joint
    hole_major : float, mm
        Of the hole tapped for the repair.

    Returns
    -------
    Criterion
    """
    if joint.edge_distance is None:
        return Criterion(id="edge_distance", met=None, decides=False, asks="")
    holes = [hole_major, joint.thread.major]
    ratios, recommended, least = edge_distance(joint.edge_distance, holes)
    after, before = np.asarray(ratios).tolist()
    return Criterion(
        id="edge_distance",
        required=number(recommended),
        repaired=number(after),
        original=number(before),
        met=after >= recommended,
        met_before=before >= recommended,
        decides=after < least and not edge_is_boss(joint),
        values={"least": number(least)},
    )


def damaged_diameter(joint: Joint) -> float | None:
    """Return the diameter at which metal is missing, mm: as measured, or by the condition.

    An insert that pulled out took the thread of its hole with it, to the basic major diameter. A
    thread of the screw's own size is removed by every hole for its insert: None.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    float, mm or None
    """
    if joint.damaged_diameter is None and joint.hole_condition == "insert-pulled-out":
        return inserts.enlarged_diameters(joint.thread).major
    return joint.damaged_diameter


def found_criteria(joint: Joint, minor_max: float) -> Iterator[Criterion]:
    """Whether a new thread finds sound metal: it does where its hole, drilled out, removes all.

    Parameters
    ----------
    joint : Joint
        With the hole as found.
    minor_max : float, mm
        Greatest minor diameter of the hole that is to be tapped.

    Yields
    ------
    Criterion
    """
    if joint.hole_condition == "cracked":
        yield Criterion(id="no_crack", met=False)
    damage = damaged_diameter(joint)
    if damage is not None:
        yield Criterion(
            id="hole_as_found",
            required=length(minor_max),
            repaired=length(damage),
            met=damage <= minor_max + ROUNDING,
        )


def table_length(joint: Joint) -> Iterator[Criterion]:
    """Yield what the length table of the metric insert standard asks, where it speaks.

    Parameters
    ----------
    joint : Joint

    Yields
    ------
    Criterion
        It does not decide: a departure is stated.
    """
    found = table_check(joint)
    if found is None:
        return
    asked = float(found.table_diameters)
    diameters = joint.insert_length / joint.thread.major
    known = not math.isnan(asked)
    yield Criterion(
        id="table_length",
        required=number(asked) if known else None,
        repaired=number(diameters),
        met=diameters >= asked - ROUNDING if known else None,
        decides=False,
        asks="required" if known else "",
        values={"screw": joint.screw.id, "factor": number(float(found.hidden_factor))},
    )


def unconfirmed(evaluation: Evaluation) -> tuple[tables.Reference, ...]:
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
    return tables.ledger(reference for reference in found if not reference.confirmed)


def _values(joint: Joint, state: StateResult, mode: ModeResult) -> tuple[tables.Reference, ...]:
    """Every value that the capacity of a mode rests on."""
    sizes, screw = state.sizes.references, joint.screw.reference("tensile_min")
    alone = {
        "screw_tension": (screw,),
        "boss_wall": joint.flow_stress.references,
        "insert_thread_strip": (*sizes, *joint.wire_shear.references),
    }
    if mode.mode in alone:
        return alone[mode.mode]
    of_parent = mode.mode in ("parent_thread_strip", "flank_bearing")
    own = (screw, joint.screw.reference("shear_over_tensile"))
    # Tensile strengths only enter through the bending factors, and only where these are not 1.
    bent = any(mode.factors.get(name, 1) != 1 for name in ("C2", "C3"))
    return (
        *sizes,
        *(joint.parent_shear.references if of_parent else own),
        *((*joint.parent_tensile.references, screw) if bent else ()),
    )
