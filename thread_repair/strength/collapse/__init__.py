"""What do rigorous bounds say of the strip load: limit analysis of the real profile.

`cell_bounds` brackets the load per pitch in a thick wall, `boss_bounds` that of a boss;
`wall_factor`, `smallest_boss_not_weaker` and `wall_cap` rest on a table of such bounds.
"""

from __future__ import annotations

from .bounds import Bounds, Mechanism, boss_bounds, cell_bounds, collapse_mechanism
from .certificate import Certificate, NotCertifiedError
from .profile import Coil, Density
from .wall_factor import (
    DilationCheck,
    SmallestBoss,
    dilation_checks,
    smallest_boss_not_weaker,
    wall_cap,
    wall_factor,
)

__all__ = [
    "Bounds", "Certificate", "Coil", "Density", "DilationCheck", "Mechanism", "NotCertifiedError",
    "SmallestBoss", "boss_bounds", "cell_bounds", "collapse_mechanism", "dilation_checks",
    "smallest_boss_not_weaker", "wall_cap", "wall_factor",
]  # fmt: skip
