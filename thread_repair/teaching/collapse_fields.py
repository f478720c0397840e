"""How the thread moves when it strips: velocity fields of the upper bound, solved beforehand.

A solution takes up to a second, so that those of every size, wall and state among the controls
are kept in `data/collapse_fields.npz`. `python -m thread_repair.teaching.collapse_fields` solves
them anew; a test solves a few of them again.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Mapping
from functools import cache, lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..figures.live_records import CollapseField
from ..joint.sizes import sizes
from ..strength.strip import STATES
from . import explorer
from .explorer import Controls

#: Threads in the boss that is solved; the boss is as long as they are.
PITCHES = 8
#: Outsides that are solved, in nominal diameters. Around these threads the widest stands still.
WALLS = (1.75, 1.875, 2.0, 2.25)
#: Steps of the stored numbers: pitches, and parts of the screw's speed.
_PLACE, _SPEED = 1000.0, 100.0


def wall_solved(boss: float) -> float:
    """Return the outside whose solution stands for a boss: the next one that is not larger."""
    return max(each for each in WALLS if each <= boss)


@lru_cache(maxsize=16)
def field(thread: str, boss: float, state: str) -> CollapseField:
    """Return the stored field of a thread, the boss in nominal diameters, and a state."""
    wall = wall_solved(boss)
    stored, key = _stored(), _key(thread, wall, state)
    return CollapseField(
        corners=stored[f"{key} corners"] / _PLACE,
        motion=stored[f"{key} motion"] / _SPEED,
        ratio=float(stored[f"{key} ratio"]),
        wall=wall,
    )


def _key(thread: str, wall: float, state: str) -> str:
    return f"{thread} {wall:g} {state}"


@cache
def _stored() -> Mapping[str, NDArray[Any]]:
    path = resources.files("thread_repair").joinpath("data/collapse_fields.npz")
    with path.open("rb") as file, np.load(file) as arrays:
        return {name: arrays[name] for name in arrays.files}


def solve(thread: str, wall: float, state: str) -> dict[str, NDArray[Any]]:
    """Solve one field at the minimum-material sizes, for a boss pressed on its face.

    Returns
    -------
    dict
        Corners in thousandths of a pitch, motion in hundredths of the screw's speed, the ratio.

    Source: limit analysis of the profile, see `thread_repair.strength.collapse`; derived.
    """
    from ..strength.areas import strip_area_internal
    from ..strength.collapse.bounds import collapse_mechanism

    here = explorer.joint(Controls(thread=thread))
    at, pitch = sizes(here, state), here.thread.pitch
    found = collapse_mechanism(
        screw_major=at.crest,
        hole_minor=at.hole_minor,
        hole_pitch_diameter=at.hole_pitch,
        hole_major=at.hole_major,
        pitch=pitch,
        n_pitches=PITCHES,
        boss_diameter=wall * here.thread.major,
        support="face",
        flank_angle=here.thread.flank_angle,
    )
    area = strip_area_internal(PITCHES * pitch, pitch, at.crest, at.hole_pitch)
    places = found.nodes[found.triangles]
    corners = np.stack((places[..., 1].max() - places[..., 1], places[..., 0]), axis=-1) / pitch
    motion = found.velocities[..., ::-1]
    return {
        "corners": np.round(corners * _PLACE).astype(np.int16),
        "motion": np.round(np.clip(motion, -1.27, 1.27) * _SPEED).astype(np.int8),
        "ratio": np.asarray(found.upper / (area / math.sqrt(3)), np.float32),
    }


def write(path: Path) -> None:
    """Solve every field and write the file."""
    arrays = {}
    for thread in explorer.THREADS:
        for wall in WALLS:
            for state in STATES:
                for name, value in solve(thread, wall, state).items():
                    arrays[f"{_key(thread, wall, state)} {name}"] = value
    np.savez_compressed(path, **arrays)  # type: ignore[arg-type]


if __name__ == "__main__":
    write(
        Path(sys.argv[1])
        if sys.argv[1:]
        else Path(__file__).parents[1] / "data/collapse_fields.npz"
    )
