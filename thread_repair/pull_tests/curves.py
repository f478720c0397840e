"""The load-displacement curve of a test piece."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..arrays import FloatArray
from ..errors import InputError, InputErrors
from . import quantities
from .records import read_only

COLUMNS = ("displacement", "load")


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
        """Slope of the straight part, N/mm: least squares from 20 % to 60 % of the peak."""
        top = int(np.argmax(self.load))
        rise = slice(0, top + 1)
        share = self.load[rise] / self.peak
        straight = (share >= 0.2) & (share <= 0.6)
        if np.count_nonzero(straight) < 2:
            raise InputError(f"{self.path}: fewer than two points from 20 to 60 % of the peak")
        x, y = self.displacement[rise][straight], self.load[rise][straight]
        return float(np.polyfit(x - x.mean(), y, 1)[0])

    @property
    def work(self) -> float:
        """Work up to the peak, N mm."""
        top = int(np.argmax(self.load)) + 1
        x, y = self.displacement[:top], self.load[:top]
        return float(np.sum(np.diff(x) * (y[1:] + y[:-1]) / 2))

    def agrees(self, peak_load: float, *, within: float = 0.02) -> bool:
        """Whether the curve's peak is that of the record, within a fraction."""
        return abs(self.peak / peak_load - 1) <= within


def read_curve(path: str | Path) -> Curve:
    """Read a load-displacement curve from a CSV file with its units in the header.

    Parameters
    ----------
    path : CSV file with the columns "displacement [mm]" and "load [kN]", or "[in]", "[N]", "[lbf]"

    Raises
    ------
    InputErrors, InputError
        Every fault with its row and column.
    """
    path = Path(path)
    if not path.is_file():
        raise InputError(f"no file {str(path)!r}")
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = csv.reader(file)
        header = [quantities.header_unit(cell) for cell in next(rows, [])]
        places = {name: index for index, (name, _) in enumerate(header)}
        missing = [name for name in COLUMNS if name not in places]
        if missing:
            raise InputErrors(
                f"{path.name}: row 1, column {name}: the column is missing from the header"
                for name in missing
            )
        factors = [
            _worth(path, name, header[places[name]][1], dimension)
            for name, dimension in zip(COLUMNS, ("length", "force"), strict=True)
        ]
        values, faults = [], []
        for number, cells in enumerate(rows, start=2):
            if not any(map(str.strip, cells)):
                continue
            pair = []
            for name, factor in zip(COLUMNS, factors, strict=True):
                text = cells[places[name]].strip() if places[name] < len(cells) else ""
                number_found = quantities.plain_number(text)
                if number_found is None:
                    faults.append(
                        f"{path.name}: row {number}, column {name}: {text!r} is not a number"
                    )
                else:
                    pair.append(number_found * factor)
            values.append(pair)
    if faults:
        raise InputErrors(faults)
    if len(values) < 3:
        raise InputError(f"{path.name}: a curve needs three points or more, got {len(values)}")
    table = np.array(values)
    if not table[:, 1].max() > 0:
        raise InputError(f"{path.name}: the load is nowhere above zero")
    return Curve(
        path=str(path),
        displacement=read_only(table[:, 0].copy()),
        load=read_only(table[:, 1].copy()),
    )


def _worth(path: Path, column: str, unit: str, dimension: str) -> float:
    try:
        if unit:
            return quantities.unit_value(unit, dimension)
    except InputError:
        pass  # told below, with the place
    raise InputError(
        f"{path.name}: row 1, column {column}: unit {unit!r}; expected the header to name one in "
        "brackets, 'displacement [mm]' and 'load [kN]'"
    )
