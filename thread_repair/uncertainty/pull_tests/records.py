"""What was pulled, and at what load: the test pieces, and those that are alike."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...arrays import FloatArray, read_only
from ...facts import Fact, Value, condition, fact, length
from ...facts import mode as mode_term

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PullTests:
    """A record of test pieces.

    Attributes
    ----------
    note : comment lines at the head of the file, such as that the data are invented
    pieces : DataFrame, one row a piece, indexed by its row of the file
        piece, size; state and mode out of `STATES` and `MODES`; engagement, mm; load, N, the peak.
    ignored : columns of the file that are not used
    """

    note: str
    pieces: pd.DataFrame
    ignored: tuple[str, ...]

    def groups(self) -> tuple[Group, ...]:
        """Pieces of one state, size and engagement together, in the order of the file."""
        keys = ["state", "size", self.pieces["engagement"].round(6)]
        return tuple(
            Group(
                state=state,
                size=size,
                engagement=engagement,
                piece=tuple(alike["piece"]),
                load=read_only(alike["load"].to_numpy(copy=True)),
                mode=tuple(alike["mode"]),
            )
            for (state, size, engagement), alike in self.pieces.groupby(keys, sort=False)
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
    def key(self) -> tuple[str, str, float]:
        """What its pieces are alike in: state, size and engagement."""
        return self.state, self.size, float(self.engagement)

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
        return dict(Counter(self.mode).most_common())

    def caution(self) -> Fact | None:
        """What mixed failure modes mean, or None."""
        if len(self.modes) > 1:
            modes = tuple(mode_term(name) for name in self.modes)
            return fact("mixed_modes", "caution", modes=modes, **self.values)
        if "screw_tension" in self.modes:
            return fact("screws_only", "caution", **self.values)
        return None
