"""What an alternative is, what it takes to judge it, and what is found of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from .. import files
from ..facts import Fact
from ..joint.criterion import Criterion
from ..joint.records import Joint

#: What an option can be, and the shorter names of it that results.json has always had.
ASSESSMENTS: Mapping[str, str] = files.data("tables.toml")["assessments"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One option, judged; NaN where a number does not exist.

    Attributes
    ----------
    kind : row of `alternatives.csv`
    size : what is fitted or used; None where the kind says it
    diameters : nominal length of a wire thread insert over the thread's diameter
    engaged, hole_major : mm
        Engaged length, 0 where no sound thread is left or reached; major diameter of the hole
        that the option leaves in the parent.
    pull_out, strength : N
        Lowest strip load; lowest capacity of all modes.
    ratio : pull-out strength over that of the undamaged original thread
    governing_mode : or "unknown"
    screw_first : whether a screw at the maximum strength of its class fails before a thread
    wall : mm
        Wall of the boss left around the hole.
    edge_ratio : edge distance over the hole's major diameter
    drilled : mm
        Least drilled depth of a blind hole, with a bottoming tap.
    drill : mm
        Least and greatest minor diameter that the hole is drilled to.
    criteria : what it was judged by
    assessment : one of `ASSESSMENTS`
    reasons : why, the main reason first
    """

    kind: str
    size: Fact | None = None
    diameters: float = math.nan
    engaged: float = math.nan
    hole_major: float = math.nan
    pull_out: float = math.nan
    strength: float = math.nan
    ratio: float = math.nan
    governing_mode: str = "unknown"
    screw_first: bool | None = None
    wall: float = math.nan
    edge_ratio: float = math.nan
    drilled: float = math.nan
    drill: tuple[float, float] = (math.nan, math.nan)
    criteria: tuple[Criterion, ...] = ()
    assessment: str = ""
    reasons: tuple[Fact, ...] = ()

    @property
    def option(self) -> str:
        """Name of its own."""
        of_length = not math.isnan(self.diameters)
        return f"{self.kind}-{self.diameters:.4g}D" if of_length else self.kind

    @property
    def told(self) -> tuple[Fact, ...]:
        """What a table says: the main reason against it, or all that an acceptable one takes."""
        return self.reasons if self.is_acceptable else self.reasons[:1]

    @property
    def is_acceptable(self) -> bool:
        """Whether it meets every criterion that decides."""
        return self.assessment in ("proposed", "acceptable")

    @property
    def least_margin(self) -> tuple[str, float]:
        """Failure mode and value of the least margin of safety; NaN without loads."""
        known = [
            (each.id.removeprefix("margin_"), each.repaired.value)
            for each in self.criteria
            if each.id.startswith("margin_") and each.repaired is not None
        ]
        return min(known, key=lambda each: each[1], default=("", math.nan))


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial(Alternative):
    """An option with what it takes to judge it.

    Attributes
    ----------
    joint : the joint that it is an option of, with its own screw
    state : the condition whose load cases it is held against
    missing : why it cannot be assessed, whatever it holds
    requirements : criteria beside strength and edge
    remarks : what it takes beside being acceptable
    """

    joint: Joint
    state: str = "repaired"
    missing: Fact | None = None
    requirements: tuple[Criterion, ...] = ()
    remarks: tuple[Fact, ...] = ()
    is_proposed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Recommendation:
    """The shortest standard insert that is acceptable, in diameters and mm, and why.

    `diameters` is NaN where no standard insert is; `reach` is how far the screw must reach past
    the joint face to engage all of it, `drilled` the depth of a blind hole with a bottoming and
    with a plug tap.
    """

    diameters: float = math.nan
    length: float = math.nan
    reach: float = math.nan
    drilled_bottoming: float = math.nan
    drilled_plug: float = math.nan
    reason: Fact
