"""Read a record of pull tests: all of it or nothing, every fault with its row and column."""

from __future__ import annotations

import csv
import re
from array import array
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np

from .. import files
from ..errors import InputError, InputErrors, nearest
from . import quantities
from .records import MODES, STATES, PullTests, read_only

REQUIRED = ("piece", "state", "size", "engagement", "peak_load", "failure_mode")
OPTIONAL = ("curve",)
#: So many faults are told one by one; of more, each further column is told once with its count.
MOST_FAULTS = 1000
#: A load so many times above or below the median of its like is a wrong unit, not scatter: kN
#: for N is 1000, kN for lbf 225. Pieces of one kind scatter by a tenth at most.
UNIT_SLIP = 20.0

_TEXTS = ("piece", "state", "size", "mode", "curve")
#: What an unquoted decimal comma leaves of "25,3 kN" on its two sides.
_CUT_BEFORE = re.compile(r"\s*[+-]?\d+")
_CUT_AFTER = re.compile(r"\d+\s*[A-Za-z]+\s*")


@dataclass(slots=True)
class _Faults:
    """Faults with their place: the first thousand in words, the rest counted by column."""

    count: int = 0
    told: list[str] = field(default_factory=list)
    untold: dict[str, list[int]] = field(default_factory=dict)

    def add(self, row: int, column: str, text: str) -> None:
        self.count += 1
        if len(self.told) < MOST_FAULTS:
            place = f"row {row}, column {column}" if column else f"row {row}"
            self.told.append(f"{place}: {text}")
        else:
            count_first_last = self.untold.setdefault(column, [0, row, row])
            count_first_last[0] += 1
            count_first_last[2] = row

    def all(self) -> list[str]:
        rest = [
            f"rows {first} to {last}, column {column}: {count} more faults"
            for column, (count, first, last) in self.untold.items()
        ]
        return self.told + rest


def read(path: str | Path) -> PullTests:
    """Read a record of pull tests; all of it or nothing.

    Parameters
    ----------
    path : CSV file in UTF-8, cells parted by commas or semicolons
        Columns `piece, state, size, engagement, peak_load, failure_mode` and optionally `curve`
        (load-displacement file beside it), in any order. Loads and lengths carry their unit
        ("25.3 kN", "1.5 D") or stand under a header that does ("peak_load [kN]"). Lines that
        start with "#" above the header are kept as the note.

    Returns
    -------
    PullTests

    Raises
    ------
    InputErrors
        Every fault of the file in a sentence with its row, counted as a spreadsheet does, and
        column: unit unknown or of the wrong kind, load far from its like, decimal comma, not above
        zero, piece given twice, unknown state or mode, missing column or cell, missing curve.
    """
    path = Path(path)
    faults = _Faults()
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            tests = _read(path, file, faults)
    except FileNotFoundError:
        raise InputError(f"no file {str(path)!r}") from None
    except UnicodeDecodeError as error:
        raise InputError(
            f"{path.name} is not UTF-8 text (byte {error.start}); save it as CSV UTF-8"
        ) from None
    found = faults.all()
    if tests is None or found:
        raise InputErrors(f"{path.name}: {fault}" for fault in found)
    return tests


def _read(path: Path, file: Iterator[str], faults: _Faults) -> PullTests | None:
    note, header, delimiter, rows, row = [], None, ",", None, 0
    for line in file:
        row += 1
        if line.startswith("#"):
            note.append(line[1:].strip().rstrip(",;"))
        elif line.strip():
            delimiter = ";" if line.count(";") > line.count(",") else ","
            header = next(csv.reader([line], delimiter=delimiter))
            rows = csv.reader(file, delimiter=delimiter)
            break
    if header is None or rows is None:
        faults.add(max(row, 1), "", "the file has no header")
        return None
    columns = _Columns.of(header, row, faults)
    if columns is None:
        return None
    table = _Table(path.parent, columns, delimiter, faults)
    number = row
    try:
        for number, cells in enumerate(rows, start=row + 1):
            table.add(number, cells)
    except csv.Error as error:
        faults.add(number + 1, "", f"cannot be read as CSV: {error}")
    return table.finish(path, " ".join(note))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    """Where each column stands, and the unit in its header."""

    place: Mapping[str, int]
    unit: Mapping[str, str]
    count: int
    ignored: tuple[str, ...]

    @classmethod
    def of(cls, header: list[str], row: int, faults: _Faults) -> _Columns | None:
        names = [quantities.header_unit(cell) for cell in header]
        place, unit, ignored = {}, {}, []
        known = (*REQUIRED, *OPTIONAL)
        sound = True
        for index, (name, given) in enumerate(names):
            if name in place:
                faults.add(row, name, "the column stands twice in the header")
                sound = False
            elif name in known:
                place[name], unit[name] = index, given
            else:
                ignored.append(header[index].strip())
        for name in REQUIRED:
            if name not in place:
                like = nearest(name, ignored, 1)
                hint = f"; is it {like[0]!r}?" if like else ""
                faults.add(row, name, f"the column is missing from the header{hint}")
                sound = False
        if not sound:
            return None
        return cls(place=place, unit=unit, count=len(header), ignored=tuple(ignored))


@dataclass(frozen=True, slots=True)
class _Refused:
    text: str


class _Table:
    """Columns under construction."""

    def __init__(self, folder: Path, columns: _Columns, delimiter: str, faults: _Faults) -> None:
        self._folder, self._columns, self._delimiter = folder, columns, delimiter
        self._faults = faults
        self._first: dict[str, int] = {}
        self._text: dict[str, list[str]] = {n: [] for n in _TEXTS}
        self._engagement, self._load, self._row = array("d"), array("d"), array("q")
        # Few different texts make up a million cells.
        self._seen: dict[tuple[str, object], object] = {}

    def add(self, row: int, cells: list[str]) -> None:
        """Check one row and keep it; a row with a fault is named and left out."""
        if not any(map(str.strip, cells)):
            return
        if len(cells) != self._columns.count:
            self._wrong_length(row, cells)
            return
        place = self._columns.place
        piece = cells[place["piece"]].strip()
        before = self._faults.count
        if not piece:
            self._faults.add(row, "piece", "the piece has no name")
        elif (earlier := self._first.setdefault(piece.casefold(), row)) != row:
            self._faults.add(row, "piece", f"{piece!r} stands already in row {earlier}")
        state = self._word(row, "state", cells[place["state"]], STATES)
        mode = self._word(row, "failure_mode", cells[place["failure_mode"]], MODES)
        size, diameter = self._size(row, cells[place["size"]])
        engagement = self._length(row, cells[place["engagement"]], diameter)
        load = 0.0
        try:
            load = quantities.force(cells[place["peak_load"]], unit=self._columns.unit["peak_load"])
        except InputError as error:
            self._faults.add(row, "peak_load", str(error))
        curve = self._curve(row, cells)
        if self._faults.count > before:
            return
        for name, value in zip(_TEXTS, (piece, state, size, mode, curve), strict=True):
            self._text[name].append(value)
        self._engagement.append(engagement)
        self._load.append(load)
        self._row.append(row)

    def _wrong_length(self, row: int, cells: list[str]) -> None:
        text = f"{len(cells)} cells where the header has {self._columns.count}"
        column = ""
        if len(cells) > self._columns.count and self._delimiter == ",":
            for index, (before, after) in enumerate(pairwise(cells)):
                if _CUT_BEFORE.fullmatch(before) and _CUT_AFTER.fullmatch(after):
                    text += (
                        f"; '{before.strip()},{after.strip()}' looks like a decimal comma: write a "
                        "decimal point"
                    )
                    by_place = {place: name for name, place in self._columns.place.items()}
                    column = by_place.get(index, "")
                    break
        self._faults.add(row, column, text)

    def _word(self, row: int, column: str, text: str, words: tuple[str, ...]) -> str:
        def known() -> str:
            word = re.sub(r"[\s-]+", "_", text.strip()).casefold()
            if word in words:
                return word
            hint = nearest(word, words, 1)
            guess = f"; did you mean {hint[0]!r}?" if hint else ""
            raise InputError(f"unknown {text.strip()!r}, expected {', '.join(words)}{guess}")

        return str(self._once(row, column, text, known) or "")

    def _size(self, row: int, text: str) -> tuple[str, float | None]:
        found = self._once(row, "size", text, lambda: quantities.size(text.strip()))
        return found if isinstance(found, tuple) else ("", None)

    def _length(self, row: int, text: str, diameter: float | None) -> float:
        def length() -> float:
            # A size that is not known is told already; any diameter does to check the text.
            unit = self._columns.unit["engagement"]
            return quantities.length(text, diameter=diameter or 1.0, unit=unit)

        found = self._once(row, "engagement", (text, diameter), length)
        return found if isinstance(found, float) else 0.0

    def _once(self, row: int, column: str, cell: object, convert: Callable[[], object]) -> object:
        """Convert a cell, or name its fault; the same text is looked at once."""
        key = (column, cell)
        if key not in self._seen:
            try:
                self._seen[key] = convert()
            except InputError as error:
                self._seen[key] = _Refused(str(error))
        found = self._seen[key]
        if isinstance(found, _Refused):
            self._faults.add(row, column, found.text)
            return None
        return found

    def _curve(self, row: int, cells: list[str]) -> str:
        if "curve" not in self._columns.place:
            return ""
        name = cells[self._columns.place["curve"]].strip()
        if name:
            try:
                files.beside(self._folder, name)
            except InputError as error:
                self._faults.add(row, "curve", str(error))
        return name

    def finish(self, path: Path, note: str) -> PullTests | None:
        """Compare each load with its like and close the columns."""
        if self._faults.told:
            self._check_loads()
            return None
        if not self._load:
            self._faults.add(1, "", "the file has a header but no test piece")
            return None
        self._check_loads()
        return PullTests(
            path=str(path),
            note=note,
            piece=read_only(np.array(self._text["piece"], dtype=object)),
            state=read_only(np.array(self._text["state"])),
            size=read_only(np.array(self._text["size"], dtype=object)),
            engagement=read_only(np.array(self._engagement)),
            load=read_only(np.array(self._load)),
            mode=read_only(np.array(self._text["mode"])),
            curve=read_only(np.array(self._text["curve"], dtype=object)),
            ignored=self._columns.ignored,
        )

    def _check_loads(self) -> None:
        load, row = np.array(self._load), np.array(self._row)
        kinds: dict[tuple[str, str, float], int] = {}
        keys = zip(self._text["state"], self._text["size"], self._engagement, strict=True)
        kind = np.array([kinds.setdefault(key, len(kinds)) for key in keys], dtype=np.int64)
        order = np.argsort(kind, kind="stable")
        for rows in np.split(order, np.cumsum(np.bincount(kind, minlength=1))[:-1]):
            if rows.size < 3:
                continue
            middle = np.median(load[rows])
            ratio = load[rows] / middle
            for index in rows[(ratio > UNIT_SLIP) | (ratio < 1 / UNIT_SLIP)]:
                self._faults.add(
                    int(row[index]),
                    "peak_load",
                    f"{load[index]:g} N is {load[index] / middle:.3g} times the median of its "
                    f"like, {middle:g} N: wrong unit?",
                )
