"""What tightening rests on: screw, friction, tool and temperatures; the limit load and factors."""

from collections.abc import Mapping
from dataclasses import dataclass

from ..facts import Fact, Range
from ..joint.records import Evaluation
from ..tables import Reference
from .published import PublishedRange
from .torque_preload import ScrewShape


@dataclass(frozen=True, slots=True, kw_only=True)
class Friction:
    """Minimum and maximum coefficient, and the published range that they stand for, if any."""

    low: float
    high: float
    published: PublishedRange | None = None
    references: tuple[Reference, ...]

    @property
    def limits(self) -> Range:
        """Both ends as they are printed everywhere: to two decimals, to three if they have them."""
        decimals = 2 if all(each == round(each, 2) for each in (self.low, self.high)) else 3
        return Range(least=self.low, most=self.high, dimension="number", decimals=decimals)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loads:
    """The limit load, N, and what its effect depends on.

    Attributes
    ----------
    limit : 0 where none is stated
    share : load factor, the part of the load that the screw takes; None: not known
    ultimate, yield_, separation, fitting : factors of safety
    """

    limit: float
    share: float | None
    ultimate: float
    yield_: float
    separation: float
    fitting: float

    @property
    def shares(self) -> tuple[float, float]:
        """Maximum and minimum of the load factor; alike where it is known."""
        return (1.0, 0.0) if self.share is None else (self.share, self.share)

    @property
    def strengths(self) -> Mapping[str, float]:
        """Factor of safety by the strength of the screw and the thread that it belongs to."""
        return {"ultimate": self.ultimate, "yield": self.yield_}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tightening:
    """What is stated of tightening, both conditions, names looked up.

    Attributes
    ----------
    torque_nm, preload : one of them, N·m or N; the other None
    shape, screw_yield, screw_modulus, screw_expansion : of the screw; MPa, 1/K; NaN: not known
    head, thread : friction under the head, and in the thread of each condition
    tool : error of the torque alone, or scatter of the preload with friction in it
    wrench : a hand torque wrench, held beside a published scatter where a torque is set: the
        friction in that scatter is that of its tests, not whatever a case states
    small_tool : what the tool is up to `SMALL` N·m, where it is not named and may be another
    prevailing_nm : by condition, (minimum, maximum)
    temperature : of service, which the strengths of the joint belong to, degC
    temperatures : of assembly first, then those of service that differ from it, degC
    clamped_expansion : 1/K; NaN where not known
    relaxation : of the minimum preload
    cold : the joint with the parent's strength at assembly; None where it is the same
    facts : what is assumed or not known
    """

    torque_nm: float | None
    preload: float | None
    loads: Loads
    shape: ScrewShape
    screw_yield: float
    screw_modulus: float
    screw_expansion: float
    clamped_expansion: float
    head: Friction
    thread: Mapping[str, Friction]
    tool: PublishedRange
    wrench: PublishedRange | None
    small_tool: PublishedRange
    prevailing_nm: Mapping[str, tuple[float, float]]
    temperature: float
    temperatures: tuple[float, ...]
    relaxation: float
    cold: Evaluation | None
    facts: tuple[Fact, ...]
    references: tuple[Reference, ...]

    @property
    def turned(self) -> PublishedRange | None:
        """What errs by a torque: the tool, or the wrench beside it; None for a scatter alone."""
        return self.wrench if self.tool.scattered else self.tool
