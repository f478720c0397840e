"""The same comparison over many nominal lengths and parents, as a tidy table."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..arrays import positive
from ..strength.modes import PULL_OUT_MODES, capacities
from ..strength.strip import STATES
from .budget import budget, engaged
from .inputs import mode_inputs
from .records import Joint

_LOADS = ("screw_tension", "screw_tension_max", *PULL_OUT_MODES, "pull_out", "strength")


#: Shear and tensile strength and flow stress of a parent, MPa, NaN where no source gives one.
Strengths = tuple[float, float, float]


def sweep(
    joint: Joint, *, lengths: ArrayLike, parents: Mapping[str, Strengths]
) -> Mapping[str, NDArray[Any]]:
    """Evaluate both states for every parent and nominal length.

    Parameters
    ----------
    joint : Joint
        Everything that is not swept.
    lengths : array_like, shape (n,), mm
        Nominal: full thread in the original hole, insert length in the repaired one. Each state
        has its own engagement budget.
    parents : mapping of str to Strengths, MPa

    Returns
    -------
    mapping of str to ndarray
        Columns of 2 x parents x lengths rows: state, parent, length_mm, engaged_mm, the capacity
        of every mode in N, pull_out_N, strength_N, governing_mode. A capacity is NaN where a
        source gives no value, infinite where the mode does not exist.
    """
    (nominal,) = positive(lengths=np.atleast_1d(lengths))
    shear, tensile, flow = np.array(list(parents.values())).T[:, :, None]
    shape = (len(parents), len(nominal))
    parts = []
    for state in STATES:
        length = np.atleast_1d(engaged(budget(joint, state, nominal=nominal)))
        found = capacities(
            mode_inputs(
                joint, state, length[None, :], parent_shear=shear, parent_tensile=tensile,
                flow_stress=flow,
            )
        )  # fmt: skip
        parts.append(
            {
                "state": np.full(shape, state),
                "parent": np.broadcast_to(np.array(list(parents))[:, None], shape),
                "length_mm": np.broadcast_to(nominal, shape),
                "engaged_mm": np.broadcast_to(length, shape),
                **{f"{load}_N": getattr(found, load) for load in _LOADS},
                "governing_mode": found.governing,
            }
        )
    return MappingProxyType(
        {
            name: np.concatenate([np.broadcast_to(part[name], shape).ravel() for part in parts])
            for name in parts[0]
        }
    )
