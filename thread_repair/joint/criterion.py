"""Requirements on a condition of the hole, judged alike for the repair and all other options."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from ..facts import Quantity, Value, force, load_case, number
from ..strength.edge import edge_distance
from .margins import CERTIFIED, Margin
from .records import EQUAL

#: Order in which the least margins are listed: the screw, the threads, the wall, the joint.
_MODES = (
    "screw_tension",
    "parent_thread_strip",
    "screw_thread_strip",
    "insert_thread_strip",
    "flank_bearing",
    "boss_wall",
    "separation",
)


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
    values: Mapping[str, Value] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def refuses(self) -> bool:
        """Whether the repair is refused for it."""
        return self.decides and self.met is False

    @property
    def is_condition(self) -> bool:
        """Whether it becomes a condition: a departure, or what was not assessed."""
        return self.met is None or (self.met is False and not self.decides)


def stripping(*, original: float, repaired: float, strongest: float, undamaged: float) -> Criterion:
    """At least the strength of the undamaged thread, N, or a screw that fails first in both.

    Parameters
    ----------
    original, repaired, strongest, undamaged : float, N

    Returns
    -------
    Criterion
    """
    least = min(undamaged, strongest)
    return Criterion(
        id="stripping_strength",
        required=force(least),
        repaired=force(repaired),
        original=force(original),
        met=None if math.isnan(repaired) else repaired >= (1 - EQUAL) * least,
        met_before=original >= (1 - EQUAL) * least,
        asks="required" if least < strongest else "required_screw",
        values={"ratio": number(repaired / original)},
    )


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
    least: dict[str, Margin] = {}
    for margin in found:
        known = least.get(margin.state)
        # An unknown margin comes first: nothing may hide behind a smaller known one.
        if known is None or math.isnan(margin.margin) or margin.margin < known.margin:
            least[margin.state] = margin
    if "repaired" not in least and "original" not in least:
        return
    after, before = least.get("repaired"), least.get("original")
    shown = after or before
    assert shown is not None
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


def edge(distance: float | None, *, repaired: float, original: float) -> Criterion:
    """The edge distance, mm, in major diameters of the hole tapped, mm.

    Parameters
    ----------
    distance : float, mm, optional
    repaired, original : float, mm

    Returns
    -------
    Criterion
    """
    if distance is None:
        return Criterion(id="edge_distance", met=None, decides=False, asks="")
    after, before = (edge_distance(distance, major) for major in (repaired, original))
    return Criterion(
        id="edge_distance",
        required=number(after.recommended),
        repaired=number(float(after.ratio)),
        original=number(float(before.ratio)),
        met=float(after.ratio) >= after.recommended,
        met_before=float(before.ratio) >= before.recommended,
        decides=float(after.ratio) < after.least,
        values={"least": number(after.least)},
    )
