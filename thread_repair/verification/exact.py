"""Solvers against what is known exactly: loads of the bounds, certificates, probabilities.

Thick tube under internal pressure, flat punch on a half space, ring between smooth plates: the
meshes and contacts are those of the threads, only the shapes differ.

Strength and load that are lognormal, with sizes that do not scatter, give every probability by one
normal distribution. The seeds are fixed; a 95 % interval misses one time in twenty, and these do
not.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

import numpy as np
from scipy import stats

from .. import case as cases
from ..arrays import FloatArray
from ..joint import stress_area
from ..strength.collapse.certificate import NotCertifiedError, certify_lower, certify_upper
from ..strength.collapse.fields import stress_field, velocity_field
from ..strength.collapse.mesh import Block, BoolArray, Mesh, Side, assemble
from ..strength.collapse.profile import Density, ThreadPair, cell_mesh
from ..strength.strip import STATES
from ..tables import cited
from ..uncertainty.reliability.engagement import required_engagement
from ..uncertainty.reliability.model import JointModel, complete, strip_load
from ..uncertainty.reliability.sampling import Probability, rare_events, simulate, subset_simulation
from .checks import Found, Held, hold


def bracket(mesh: Mesh, slip: BoolArray | None = None) -> tuple[float, float]:
    """Return the certified lower and upper bound of a mesh, for unit flow stress."""
    lower = certify_lower(mesh, stress_field(mesh))
    upper = certify_upper(mesh, velocity_field(mesh, slip=slip))
    return lower.load, upper.load


def tube(columns: int, rows: int, outer: float) -> Mesh:
    """Return a slice of a long tube of inner radius 1, driven outwards from its bore."""
    radii = np.linspace(1.0, outer, columns + 1)
    block = Block(
        radii=radii, heights=0.2 * np.linspace(0, 1, rows + 1),
        labels={"inner": "bore", "lower": "end", "upper": "end"},
    )  # fmt: skip
    kinds = {"bore": Side.DRIVER, "end": Side.ROLLER}
    return assemble([block], kinds, direction=(1.0, 0.0))


def tube_load(outer: float) -> float:
    """Exact radial load of that slice: pressure 2/sqrt(3) ln(outer) over the bore."""
    return 2 / math.sqrt(3) * math.log(outer) * 2 * math.pi * 0.2


def graded(cells: int, length: float) -> FloatArray:
    """Return ends of cells of which each is longer than the last, by our choice three tenths."""
    steps = 1.3 ** np.arange(cells)
    return np.concatenate(((0.0,), np.cumsum(steps) / steps.sum())) * length


#: Of the ring-shaped punch: its curvature raises the load by a few tenths of a per cent.
PUNCH_RADIUS = 400.0


def punch() -> Mesh:
    """Return half of a ring-shaped punch so large that the strain along it vanishes."""
    # Cells are smallest at the edge of the punch, where the strain is; how many is our choice.
    under = 1 - graded(8, 1)[::-1]
    beside = 1 + graded(12, 3)
    radii = PUNCH_RADIUS + np.concatenate((under, beside[1:]))
    depth = 1 - graded(10, 1)[::-1]
    top = ["punch" if r < PUNCH_RADIUS + 1 - 1e-9 else "free" for r in radii[:-1]]
    block = Block(
        radii=radii, heights=-2.0 + 2.0 * depth,
        labels={"inner": "middle", "outer": "rock", "lower": "rock", "upper": top},
    )  # fmt: skip
    kinds = {"middle": Side.ROLLER, "punch": Side.DRIVER, "rock": Side.HELD}
    return assemble([block], kinds, direction=(0.0, -1.0))


def ring() -> Mesh:
    """Return a ring of radii 1 and 2 pressed between smooth plates."""
    block = Block(
        radii=np.linspace(1, 2, 5), heights=np.linspace(0, 1, 5),
        labels={"lower": "plate", "upper": "press"},
    )  # fmt: skip
    kinds = {"plate": Side.ROLLER, "press": Side.DRIVER}
    return assemble([block], kinds, direction=(0.0, -1.0))


def _between(mesh: Callable[[], Mesh], exact: float, gap: float, everywhere: bool) -> Found:
    """Bounds over the exact load, at most `gap` apart; velocities may jump `everywhere`."""
    made = mesh()
    lower, upper = bracket(made, np.ones(len(made.joins), dtype=bool) if everywhere else None)
    # Rounding of a field that is exact: a part in a million.
    return lower / exact * (1 - 1e-6), 1.0, upper / exact * (1 + 1e-6), upper - lower <= gap * exact


def exact_solutions() -> Iterator[Held]:
    """Bracket each exact load, over that load."""
    punch_load = (2 + math.pi) / math.sqrt(3) * 2 * math.pi * PUNCH_RADIUS
    known: dict[str, tuple[str, Callable[[], Mesh], float, float]] = {
        f"thick tube under internal pressure, radii 1 and {outer:g}": (
            "exact-tube", partial(tube, 24, 4, outer), tube_load(outer), 0.02
        )
        for outer in (1.3, 2.0, 3.0)
    }  # fmt: skip
    known["flat punch on a half space"] = ("exact-punch", punch, punch_load, 0.04)
    known["ring pressed between smooth plates"] = ("exact-ring", ring, 3 * math.pi, 0.002)
    for name, (source, mesh, load, gap) in known.items():
        everywhere = source == "exact-punch"
        yield hold("exact", name, cited(source)[0], _between, mesh, load, gap, everywhere)


def certificates() -> Iterator[Held]:
    """A field that is not admissible must be refused, one that yields be scaled down."""
    mesh = cell_mesh(
        ThreadPair(
            screw_major=8, hole_minor=6.647, hole_pitch_diameter=7.188, hole_major=8, pitch=1.25
        ),
        13.0,
        Density(ridge_rows=2, ridge_columns=2, wall_columns=3),
    )  # fmt: skip
    stress, motion = stress_field(mesh), velocity_field(mesh)
    lower, upper = certify_lower, certify_upper

    def refused(certify: Callable[[Mesh, FloatArray], object], field: FloatArray) -> Found:
        try:
            certify(mesh, field)
        except NotCertifiedError:
            return 1.0, 1.0, 1.0, True
        return 1.0, 0.0, 1.0, True

    def changed(field: FloatArray) -> FloatArray:
        other = field.copy()
        other[7, 1, 1] += 1e-6
        return other

    (own,) = cited("certificate")
    refusals: dict[str, tuple[Callable[[Mesh, FloatArray], object], FloatArray]] = {
        "a stress field changed by 1e-6 at one corner is refused": (lower, changed(stress)),
        "a stress field that pulls at contacts is refused": (lower, -stress),
        "a velocity field changed by 1e-6 at one corner is refused": (upper, changed(motion)),
        "a velocity field without motion is refused": (upper, 0 * motion),
    }
    for name, (certify, field) in refusals.items():
        yield hold("certificate", name, own, refused, certify, field)
    yield hold(
        "certificate", "twice the stress gives the same load", own,
        lambda: (1 - 1e-9, lower(mesh, 2 * stress).load / lower(mesh, stress).load, 1 + 1e-9, True),
    )  # fmt: skip


# ---- sampled probabilities

EVENT = "original_strips_before_screw_breaks"
#: Relative scatter of the parent's and the screw's strength.
PARENT, SCREW = 0.05, 0.04
LENGTH = 10.0


def lognormal_joint(target: float) -> JointModel:
    """Return a joint that strips before its screw breaks with the probability `target`.

    The parent is so much weaker than the screw that no thread bends: its factor stays 1.
    """
    length = {f"{state}.full_thread": LENGTH for state in STATES}
    middle = {"parent_shear_strength": 200.0, "screw_tensile_strength": 900.0} | length
    base = JointModel(joint=cases.joint_of(engagement=LENGTH), quantities=middle)
    strips = float(strip_load(base, "original", complete(base, {}), LENGTH))
    breaks = strips * math.exp(stats.norm.ppf(target) * math.hypot(PARENT, SCREW))
    scatter = {
        "parent_shear_strength": stats.lognorm(PARENT, scale=200),
        "screw_tensile_strength": stats.lognorm(SCREW, scale=breaks / stress_area(base.joint)),
    }
    return replace(base, quantities=middle | scatter)


(_CLOSED,) = cited("closed-form")


def closed_forms() -> Iterator[Held]:
    """Hold each estimate: the exact value lies within its 95 % interval."""
    for target in (0.5, 0.1, 0.01):
        name = f"sampling, {target:g} that it strips first"
        yield hold("chance", name, _CLOSED, _ends, _sampled, target)
    for target in (1e-2, 1e-4, 1e-6):
        name = f"rare events, {target:g} that it strips first"
        yield hold("chance", name, _CLOSED, _ends, _rare, target)
    both = float(1 - stats.norm.cdf(3) * stats.norm.cdf(3.2))
    yield hold("chance", "rare events, two modes that overlap", _CLOSED, _ends, _two_modes, both)
    for target in (0.1, 1e-3, 1e-6):
        name = f"engagement at which {target:g} strip first, mm"
        yield hold("chance", name, _CLOSED, _length, target)


def _sampled(target: float) -> Probability:
    return simulate(lognormal_joint(target), seed=2, n=2**17).probabilities[EVENT]


def _two_modes(_: float) -> Probability:
    return subset_simulation(lambda z: np.min(np.array([3.0, 3.2]) - z, axis=-1), 2, seed=1)[0]


def _rare(target: float) -> Probability:
    return rare_events(lognormal_joint(target), [EVENT], seed=8)[EVENT]


def _ends(find: Callable[[float], Probability], exact: float) -> Found:
    found = find(exact)
    return found.low, exact, found.high, True


def _length(target: float) -> Found:
    found = required_engagement(lognormal_joint(0.01), "original", probability=target, seed=4)
    moved = float(stats.norm.ppf(0.01) - stats.norm.ppf(target))
    exact = LENGTH * math.exp(moved * math.hypot(PARENT, SCREW))
    # The interval of the sample, and the step of the search.
    return 0.998 * found.low, exact, 1.002 * found.high, True
