"""What was pulled, and at what load: the test pieces as columns, and the pieces that are alike."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from ...arrays import FloatArray, read_only
from ...facts import Fact, Value, condition, fact, length
from ...facts import mode as mode_term


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
        keys = zip(self.state, self.size, np.round(self.engagement, 6), strict=True)
        members: dict[tuple[str, str, float], list[int]] = {}
        for index, key in enumerate(keys):
            members.setdefault(key, []).append(index)
        return tuple(
            Group(
                state=str(state),
                size=str(size),
                engagement=float(engagement),
                piece=tuple(map(str, self.piece[rows])),
                load=read_only(self.load[rows]),
                mode=tuple(map(str, self.mode[rows])),
            )
            for (state, size, engagement), rows in members.items()
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
        """Short name of the group, for an error."""
        return f"{self.state}, {self.size}, {self.engagement:g} mm"

    @property
    def values(self) -> dict[str, Value]:
        """The group as a fact names it."""
        return {
            "condition": condition(self.state),
            "size": self.size,
            "engagement": length(self.engagement),
        }

    @property
    def modes(self) -> Mapping[str, int]:
        """Number of pieces by failure mode, most frequent first."""
        return MappingProxyType(dict(Counter(self.mode).most_common()))

    def caution(self) -> Fact | None:
        """What mixed failure modes mean, or None."""
        if len(self.modes) > 1:
            modes = tuple(mode_term(name) for name in self.modes)
            return fact("mixed_modes", "caution", modes=modes, **self.values)
        if "screw_tension" in self.modes:
            return fact("screws_only", "caution", **self.values)
        return None
