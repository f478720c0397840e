"""How near may the hole be to the edge of the part, and which diameter counts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..arrays import Floats, positive
from ..sources import Reference
from ..tables import constant

#: What the ratio of edge distance to diameter says, from the smallest ratio up.
LEVELS = ("too near", "near", "clear", "unknown")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EdgeDistance:
    """Edge distance beside the rule.

    Attributes
    ----------
    ratio : edge distance over the basic major diameter of the hole actually tapped
    recommended, least : limits of the ratio by the rule
    references : where the limits are from
    """

    ratio: Floats
    recommended: float
    least: float
    references: tuple[Reference, ...]

    @property
    def level(self) -> NDArray[np.str_]:
        """One of `LEVELS` for each hole."""
        index = np.select(
            [np.isnan(self.ratio), self.ratio < self.least, self.ratio < self.recommended],
            [3, 0, 1],
            default=2,
        )
        level: NDArray[np.str_] = np.array(LEVELS)[index]
        return level


def edge_distance(distance: ArrayLike, hole_major: ArrayLike) -> EdgeDistance:
    """Hold an edge distance against the rule of two, at least one and a half, diameters.

    The rule guards joined members against shear tear-out; it says nothing of pull-out. It is
    applied here with the major diameter of the hole actually tapped, so that an insert hole
    needs more edge than the thread it replaces.

    Parameters
    ----------
    distance : array_like, mm
        From the hole's axis to the free edge; NaN where it is not known.
    hole_major : array_like, mm
        Basic major diameter of the hole actually tapped.

    Returns
    -------
    EdgeDistance

    Examples
    --------
    An M8 hole 13 mm from the edge, before and after the repair:

    >>> for major in (8.0, 9.624):
    ...     found = edge_distance(13.0, major)
    ...     print(f"{found.ratio:.2f} {found.level}")
    1.62 near
    1.35 too near
    """
    e, D = positive(distance=distance, hole_major=hole_major)
    recommended, least = (
        constant(name) for name in ("edge_distance_recommended", "edge_distance_least")
    )
    return EdgeDistance(
        ratio=(e / D)[()],
        recommended=recommended.value,
        least=least.value,
        references=(recommended.reference, least.reference),
    )
