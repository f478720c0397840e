"""The discrete chain of threads between screw and parent, and its one tridiagonal solver.

The screw pulls at x = 0, the bearing face. F(x) is the force left in the screw, q = -F' the load
passed through the threads per axial length, s the slip of the screw against the parent. Hooke's
law of both members gives s'' = c q(s), c = 1/(Ab Eb) + 1/(An En), whatever the support; only the
slopes at the two ends tell a parent pressed on its face ("compression", a nut) from one held
beyond the thread ("tension", a turnbuckle or a boss held at its base).

The length is cut into equal segments; the slips at their ends are the unknowns. The slip at the
more loaded end is prescribed (so a perfectly plastic thread is as easy as an elastic one), the
others follow from a tridiagonal system, and the applied load is their sum. Joints of a batch
differ in the length of a segment, not in their number, so there is no loop over joints.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...arrays import FloatArray, broadcast, positive, positive_or_infinite, read_only
from ...errors import InputError, ThreadRepairError, check_known

BOUNDARIES = ("compression", "tension")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chain:
    """A joint, or a batch of joints on one grid. Arrays have the batch's shape.

    Attributes
    ----------
    length, pitch : mm
    strain : c, strain of both members together per N
    end_share : part of the load that enters at the more loaded end
    flipped : true where that end is the screw's end, not the bearing face
    segments : of the length
    """

    length: FloatArray
    pitch: FloatArray
    strain: FloatArray
    end_share: FloatArray
    flipped: NDArray[np.bool_]
    segments: int

    @property
    def step(self) -> FloatArray:
        """Length of a segment, mm."""
        return self.length / self.segments


def chain_of(
    *,
    length: ArrayLike,
    pitch: ArrayLike,
    screw_area: ArrayLike,
    parent_area: ArrayLike,
    screw_modulus: ArrayLike,
    parent_modulus: ArrayLike,
    boundary: str = "compression",
    segments_per_pitch: int = 4,
) -> Chain:
    """Lay the grid for the longest joint of a batch and find each one's more loaded end.

    Parameters
    ----------
    length, pitch : array_like, mm
        Engaged length of full thread; pitch. A last incomplete pitch is a short last thread.
    screw_area, parent_area : array_like, mm2
        Cross-sections of the two members.
    screw_modulus, parent_modulus : array_like, MPa
        Young's moduli; infinite for a rigid member.
    boundary : "compression" | "tension"
        Parent pressed on its bearing face, or held beyond the end of the screw.
    segments_per_pitch : int
        Fineness; the error falls with its square (0.1 % at 4 for usual threads).

    Returns
    -------
    Chain

    Raises
    ------
    InputError
        A value not above zero, or an unknown boundary.
    """
    check_known("boundary", boundary, BOUNDARIES)
    if segments_per_pitch < 1:
        raise InputError(f"segments_per_pitch must be at least 1, got {segments_per_pitch}")
    sizes = {
        "length": length, "pitch": pitch, "screw_area": screw_area, "parent_area": parent_area,
    }  # fmt: skip
    moduli = {"screw_modulus": screw_modulus, "parent_modulus": parent_modulus}
    values = (*positive(**sizes), *positive_or_infinite(**moduli))
    arrays = broadcast(**dict(zip((*sizes, *moduli), values, strict=True)))
    long, each, screw_body, parent_body, screw_e, parent_e = np.broadcast_arrays(*arrays)
    # Zero strain for a rigid member: an infinite modulus.
    parent = 1 / (parent_body * parent_e)
    strain = 1 / (screw_body * screw_e) + parent
    far = np.zeros_like(strain)
    if boundary == "tension":
        np.divide(parent, strain, out=far, where=strain > 0)
        far[strain == 0] = 0.5
    longest = np.fmax.reduce(long / each, axis=None, initial=1.0)
    return Chain(
        length=long,
        pitch=each,
        strain=strain,
        end_share=np.maximum(far, 1 - far),
        flipped=far > 0.5,
        segments=int(np.ceil(longest - 1e-9)) * segments_per_pitch,
    )


#: The line load at slips as its tangent and where that meets slip zero, both per node.
SlipLaw = Callable[[FloatArray], tuple[FloatArray, FloatArray]]


def solve_slips(chain: Chain, end_slip: FloatArray, law: SlipLaw) -> tuple[FloatArray, FloatArray]:
    """Slips (nodes first, from the more loaded end) and load, for a prescribed end slip.

    Newton's method on the tangents. The load rises ever more slowly with the slip and the matrix is
    an M-matrix: as a tangent never lies below the curve, the iterates fall, from slips that are all
    that of the end.

    Parameters
    ----------
    chain : Chain
    end_slip : ndarray
    law : callable

    Returns
    -------
    tuple of ndarray

    Raises
    ------
    ThreadRepairError
        If the slips do not settle.
    """
    slip = np.broadcast_to(end_slip, (chain.segments + 1, *end_slip.shape))
    for _ in range(chain.segments + 100):
        before, (slip, load) = slip, _linear(chain, end_slip, *law(slip))
        if not (np.abs(slip - before) > 1e-12 * end_slip).any():
            return slip, load
    raise ThreadRepairError("the yielding threads of the load sharing did not settle")


def _linear(
    chain: Chain, end_slip: FloatArray, tangent: FloatArray, offset: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Solve for line load = tangent x slip + offset: one sweep down, one up (Thomas).

    Row of an inner node: s[i-1] - 2 s[i] + s[i+1] = h2 c q[i]. Last node: half of it, with the
    slope (1 - share) c F at its end. As F is the sum sought, the slips are split into a part
    without F and a part proportional to it.
    """
    h, n = chain.step, chain.segments
    weight = h * h * chain.strain
    middle, pull = 2 + weight * tangent, weight * offset
    shape = tangent.shape[1:]
    ratio, fixed, rising = np.zeros((3, n + 1, *shape))
    fixed[0] = end_slip
    for i in range(1, n):
        ratio[i] = 1 / (middle[i] - ratio[i - 1])
        fixed[i] = (fixed[i - 1] - pull[i]) * ratio[i]
    pivot = 1 / (1 + weight * tangent[n] / 2 - ratio[n - 1])
    fixed[n] = (fixed[n - 1] - pull[n] / 2) * pivot
    rising[n] = h * chain.strain * (1 - chain.end_share) * pivot
    for i in range(n - 1, 0, -1):
        fixed[i] += ratio[i] * fixed[i + 1]
        rising[i] = ratio[i] * rising[i + 1]
    rim = np.ones((n + 1,) + (1,) * len(shape))
    rim[[0, -1]] = 0.5
    without = (rim * (tangent * fixed + offset)).sum(axis=0) * h
    per_load = (rim * tangent * rising).sum(axis=0) * h
    load = without / (1 - per_load)
    return fixed + rising * load, load


def thread_loads(chain: Chain, intensity: FloatArray) -> FloatArray:
    """Load of each pitch from the bearing face, from the line load at the nodes.

    Parameters
    ----------
    chain : Chain
    intensity : ndarray

    Returns
    -------
    ndarray
    """
    line = np.moveaxis(np.where(chain.flipped, intensity[::-1], intensity), 0, -1)
    pitch = np.broadcast_to(chain.pitch, line.shape[:-1])
    h = np.broadcast_to(chain.step, pitch.shape)[..., None]
    piece = (line[..., 1:] + line[..., :-1]) / 2 * h
    passed = np.concatenate([np.zeros((*piece.shape[:-1], 1)), np.cumsum(piece, axis=-1)], axis=-1)
    threads = int(
        np.ceil(np.fmax.reduce(h[..., 0] * chain.segments / pitch, axis=None, initial=1.0) - 1e-9)
    )
    place = np.minimum(np.arange(1, threads) * pitch[..., None] / h, chain.segments)
    known = np.where(np.isnan(place), 0.0, place)
    node = np.minimum(np.floor(known + 1e-9).astype(int), chain.segments - 1)
    part = np.clip(known - node, 0.0, 1.0)
    start = np.take_along_axis(line, node, axis=-1)
    slope = np.take_along_axis(line, node + 1, axis=-1) - start
    inside = (start * part + slope * part**2 / 2) * h
    bounds = np.take_along_axis(passed, node, axis=-1) + inside
    ends = np.concatenate([passed[..., :1], bounds, passed[..., -1:]], axis=-1)
    return read_only(np.diff(ends, axis=-1))
