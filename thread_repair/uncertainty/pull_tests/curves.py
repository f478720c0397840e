"""The load-displacement curve of a test piece."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ... import sheets
from ...arrays import FloatArray, read_only
from ...errors import InputError, InputErrors
from .reading import header_unit, plain_number, unit_value

COLUMNS = {"displacement": "length", "load": "force"}
#: Share of the peak between which a curve is taken as straight.
STRAIGHT = (0.2, 0.6)
#: A secant so much less steep than the straight part marks first yield (5 % secant, ASTM E399;
#: from memory).
SECANT = 0.95
#: A peak this far from the record's is another piece's curve, or another unit.
WITHIN = 0.02


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


def read_curve(path: str | Path) -> Curve:
    """Read a load-displacement curve from a table with its units in the header.

    Parameters
    ----------
    path : table with the columns "displacement [mm]" and "load [kN]", or "[in]", "[N]", "[lbf]"

    Returns
    -------
    Curve

    Raises
    ------
    InputErrors, InputError
        Every fault with its row and column.
    """
    path = Path(path)
    sheet = sheets.read(path)
    sheet = sheet.quantities(range(len(sheet.header)))
    headers = dict(header_unit(cell) for cell in sheet.header)
    place = {header_unit(cell)[0]: at for at, cell in enumerate(sheet.header)}
    head = f"{path.name}: row {sheet.header_row}, column"
    missing = [name for name in COLUMNS if name not in headers]
    if missing:
        raise InputErrors(
            f"{head} {name}: the column is missing from the header" for name in missing
        )
    faults = [f"{path.name}: {fault}" for fault in sheet.faults]
    columns = {}
    for name, dimension in COLUMNS.items():
        try:
            worth = unit_value(headers[name], dimension) if headers[name] else None
        except InputError:
            worth = None  # told below, with the place
        if worth is None:
            raise InputError(
                f"{head} {name}: unit {headers[name]!r}; expected the header to name one in "
                "brackets, 'displacement [mm]' and 'load [kN]'"
            )
        cells = sheet.cells[place[name]].str.strip()
        numbers = cells.map(plain_number)
        faults += [
            f"{path.name}: row {row}, column {name}: {text!r} is not a number"
            for row, text in cells[numbers.isna()].items()
        ]
        columns[name] = numbers.to_numpy(float) * worth
    if faults:
        raise InputErrors(faults)
    if len(columns["load"]) < 3:
        raise InputError(
            f"{path.name}: a curve needs three points or more, got {len(columns['load'])}"
        )
    if not columns["load"].max() > 0:
        raise InputError(f"{path.name}: the load is nowhere above zero")
    return Curve(
        path=str(path),
        displacement=read_only(columns["displacement"]),
        load=read_only(columns["load"]),
    )
