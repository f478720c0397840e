"""What was pulled, and at what load: the test pieces as columns, and the pieces that are alike."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..arrays import FloatArray
from ..errors import InputError, unknown
from ..units import plain

STATES = ("original", "repaired")
MODES = (
    "screw_tension",
    "screw_thread_strip",
    "parent_thread_strip",
    "flank_bearing",
    "insert_thread_strip",
    "boss_wall",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PullTests:
    """Test pieces as read-only columns of equal length.

    Attributes
    ----------
    path : file they were read from
    note : comment lines at the head of the file, such as that the data are invented
    piece, size, curve : text; `curve` is empty where there is none
    state, mode : text out of `STATES` and `MODES`
    engagement : mm
    load : peak load, N
    ignored : columns of the file that are not used
    """

    path: str
    note: str
    piece: NDArray[np.object_]
    state: NDArray[np.str_]
    size: NDArray[np.object_]
    engagement: FloatArray
    load: FloatArray
    mode: NDArray[np.str_]
    curve: NDArray[np.object_]
    ignored: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.load)

    def groups(self) -> tuple[Group, ...]:
        """Pieces of one state, size and engagement together, in the order of the file."""
        keys = [*zip(self.state, self.size, np.round(self.engagement, 6), strict=True)]
        members: dict[tuple[str, str, float], list[int]] = {}
        for index, key in enumerate(keys):
            members.setdefault(key, []).append(index)
        return tuple(self._group(key, np.array(rows)) for key, rows in members.items())

    def group(self, state: str) -> Group:
        """Return the only group of a state.

        Raises
        ------
        InputError
            If there is none, or more than one size or engagement.
        """
        if state not in STATES:
            raise unknown("state", state, STATES)
        found = [group for group in self.groups() if group.state == state]
        if len(found) != 1:
            kinds = "; ".join(group.name for group in found) or "none"
            raise InputError(f"expected one size and engagement of state {state!r}, found: {kinds}")
        return found[0]

    def _group(self, key: tuple[str, str, float], rows: NDArray[np.int_]) -> Group:
        return Group(
            state=str(key[0]),
            size=str(key[1]),
            engagement=float(key[2]),
            piece=tuple(str(p) for p in self.piece[rows]),
            load=read_only(self.load[rows]),
            mode=tuple(str(m) for m in self.mode[rows]),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Group:
    """Pieces alike in state, size and engagement (mm): their peak loads (N) and modes."""

    state: str
    size: str
    engagement: float
    piece: tuple[str, ...]
    load: FloatArray
    mode: tuple[str, ...]

    @property
    def name(self) -> str:
        """Short name of the group."""
        return self.name_in("SI")

    def name_in(self, system: str) -> str:
        """Short name of the group, its engagement in SI, inch or both."""
        engaged = plain(self.engagement, dimension="length", system=system)
        return f"{self.state}, {self.size}, {engaged}"

    @property
    def modes(self) -> Mapping[str, int]:
        """Number of pieces by failure mode, most frequent first."""
        return MappingProxyType(dict(Counter(self.mode).most_common()))

    @property
    def screw_broke(self) -> NDArray[np.bool_]:
        """Pieces whose screw broke: their thread would have carried more."""
        return np.array([mode == "screw_tension" for mode in self.mode])

    def caution(self, *, system: str = "SI") -> str:
        """Say in a sentence what mixed failure modes mean, or nothing."""
        name = self.name_in(system)
        if len(self.modes) < 2:
            if "screw_tension" in self.modes:
                return (
                    f"{name}: the screw broke in every piece; the loads are lower bounds of "
                    "the strip load and their scatter is that of the screws."
                )
            return ""
        counts = ", ".join(f"{count} {mode}" for mode, count in self.modes.items())
        return (
            f"{name}: the pieces failed in different modes ({counts}); one distribution "
            "fitted to all describes neither."
        )


def read_only(values: NDArray[Any]) -> NDArray[Any]:
    """Return the same array, closed for writing."""
    values.flags.writeable = False
    return values
