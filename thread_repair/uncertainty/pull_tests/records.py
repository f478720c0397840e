"""What was pulled, and at what load: the test pieces, those that are alike, and their curves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ...arrays import FloatArray, read_only
from ...facts import Fact, Value, condition, fact, length
from ...facts import mode as mode_term

if TYPE_CHECKING:
    import pandas as pd

#: Share of the peak between which a curve is taken as straight.
STRAIGHT = (0.2, 0.6)
#: A secant so much less steep than the straight part marks first yield (5 % secant, ASTM E399;
#: from memory).
SECANT = 0.95
#: A peak this far from the record's is another piece's curve, or another unit.
WITHIN = 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PullTests:
    """A record of test pieces.

    Attributes
    ----------
    note : comment lines at the head of the file, such as that the data are invented
    pieces : DataFrame, one row a piece, indexed by its row of the file
        piece, size; state and mode out of `STATES` and `MODES`; engagement, mm; load, N, the peak;
        curve, the name of its file, empty where there is none.
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """Displacement of the machine's head, mm, and load, N, in the order of the test."""

    path: str
    displacement: FloatArray
    load: FloatArray

    @property
    def peak(self) -> float:
        """Greatest load, N."""
        return float(self.load.max())

    @property
    def stiffness(self) -> float:
        """Slope of the straight part, N/mm, by least squares; NaN for fewer than two points."""
        return self._line()[0]

    @property
    def first_yield(self) -> float:
        """Load at which the curve leaves its straight part, N; NaN where that cannot be told."""
        slope, start = self._line()
        x, y = self._rise()
        left = (y < SECANT * slope * (x - start)) & (y > STRAIGHT[1] * self.peak)
        return float(y[np.argmax(left)]) if left.any() else float("nan")

    @property
    def work(self) -> float:
        """Work up to the peak, N mm."""
        x, y = self._rise()
        return float(np.sum(np.diff(x) * (y[1:] + y[:-1]) / 2))

    def agrees(self, peak_load: float) -> bool:
        """Whether the curve's peak is that of the record."""
        return abs(self.peak / peak_load - 1) <= WITHIN

    def _rise(self) -> tuple[FloatArray, FloatArray]:
        top = int(np.argmax(self.load)) + 1
        return self.displacement[:top], self.load[:top]

    def _line(self) -> tuple[float, float]:
        """Slope of the straight part and the displacement at which its line starts."""
        x, y = self._rise()
        straight = (y >= STRAIGHT[0] * self.peak) & (y <= STRAIGHT[1] * self.peak)
        x, y = x[straight], y[straight]
        if len(np.unique(x)) < 2:
            return float("nan"), float("nan")
        slope = float(np.polyfit(x - x.mean(), y, 1)[0])
        return slope, float(x.mean() - y.mean() / slope) if slope else float("nan")
