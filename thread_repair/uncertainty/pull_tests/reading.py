"""Read a record of pull tests: all of it or nothing, every fault with row and column.

Unlike a case file, a record refuses bare numbers: whether 25300 is N or lbf decides everything and
nobody can tell afterwards. The reader asks for each different text once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ... import sheets
from ...errors import InputError, InputErrors, check_known, message, nearest, refuse
from ...sheets import Fault, Sheet
from ...strength.modes import MODES
from ...strength.strip import STATES
from ...threads import thread
from ...units import parse
from .records import PullTests

if TYPE_CHECKING:
    import pandas as pd

REQUIRED = ("piece", "state", "size", "engagement", "peak_load", "failure_mode")
_QUANTITIES = ("engagement", "peak_load")
#: So many faults are told one by one; of more, each further column is told once with its count.
MOST_FAULTS = 1000
#: A load so many times above or below the median of its like is a wrong unit, not scatter: kN
#: for N is 1000, kN for lbf 225. Pieces of one kind scatter by a tenth at most.
UNIT_SLIP = 20.0


def read(path: str | Path) -> PullTests:
    """Read a record of pull tests; all of it or nothing.

    Parameters
    ----------
    path : table as `sheets.read` takes it
        Columns `piece, state, size, engagement, peak_load, failure_mode`, in any order. Loads and
        lengths carry their unit ("25.3 kN", "1.5 D") or stand under a header that does
        ("peak_load [kN]"). Lines that start with "#" above the header are kept as the note.

    Returns
    -------
    PullTests

    Raises
    ------
    InputErrors
        Every fault of the file in a sentence with its row, counted as a spreadsheet does, and
        column: unit unknown or of the wrong kind, load far from its like, decimal comma, not above
        zero, piece given twice, unknown state or mode, missing column or cell, a column of
        curves that is not empty, quotation mark that does not close.
    """
    import pandas as pd  # half a second, and most cases name no table

    path = Path(path)
    sheet, cells, units = _table(path)
    faults = [*sheet.faults]
    if cells.empty:
        text = "the file has a header but no test piece"
        faults = faults or [Fault(row=sheet.header_row, column="", text=text)]
        raise InputErrors(_told(path, faults))
    curves = (at for at, head in enumerate(sheet.header) if header_unit(head)[0] == "curve")
    if any(sheet.cells[at].str.strip().any() for at in curves):
        text = message("curves_not_read")
        faults.append(Fault(row=sheet.header_row, column="curve", text=text))

    def converted(name: str, convert: Callable[[Any], Any], keys: pd.Series) -> pd.Series:
        """Convert a column; each different text is looked at once."""
        values: dict[Any, Any] = {}
        wrong: dict[Any, str] = {}
        for key in keys.unique():
            try:
                values[key] = convert(key)
            except InputError as error:
                wrong[key] = str(error)
        told = keys[keys.isin(list(wrong))]
        faults.extend(Fault(row=row, column=name, text=wrong[key]) for row, key in told.items())
        return keys.map(values)

    force = partial(quantity, dimension="force", unit=units["peak_load"])
    length = partial(quantity, dimension="length", unit=units["engagement"])
    threads = converted("size", thread, cells["size"])
    # A size that is not known is told already; any diameter does to check the text.
    diameters = threads.map(attrgetter("major"), na_action="ignore").fillna(1.0)
    pairs = list(zip(cells["engagement"], diameters, strict=True))
    pieces = pd.DataFrame(
        {
            "piece": cells["piece"],
            "state": converted("state", partial(_word, words=STATES), cells["state"]),
            "size": threads.map(attrgetter("designation"), na_action="ignore"),
            "engagement": converted(
                "engagement",
                lambda pair: length(pair[0], diameter=pair[1]),
                pd.Series(pairs, index=cells.index),
            ),
            "load": converted("peak_load", force, cells["peak_load"]).astype(float),
            "mode": converted("failure_mode", partial(_word, words=MODES), cells["failure_mode"]),
        }
    )
    folded = cells["piece"].str.casefold()
    first = {name: row for row, name in folded[::-1].items()}
    for row, piece in cells["piece"][folded.duplicated() | (folded == "")].items():
        earlier = first[piece.casefold()]
        text = f"{piece!r} stands already in row {earlier}" if piece else "the piece has no name"
        faults.append(Fault(row=row, column="piece", text=text))
    faults += _slips(pieces.drop(index={fault.row for fault in faults}, errors="ignore"))
    refuse(_told(path, faults))
    ignored = (name for name in sheet.header if header_unit(name)[0] not in units)
    return PullTests(
        note=sheet.note, pieces=pieces, ignored=(*ignored, *filter(None, [sheet.words]))
    )


def _table(path: Path) -> tuple[Sheet, pd.DataFrame, dict[str, str]]:
    """Return a table, its known columns by name, and the unit that the header of each gives."""
    sheet = sheets.read(path)
    names = [header_unit(cell)[0] for cell in sheet.header]
    sheet = sheet.quantities(at for at, name in enumerate(names) if name in _QUANTITIES)
    units: dict[str, str] = {}
    wrong, ignored = {}, []
    for cell in sheet.header:
        name, unit = header_unit(cell)
        if name in units:
            wrong[name] = "the column stands twice in the header"
        elif name in REQUIRED:
            units[name] = unit
        else:
            ignored.append(cell)
    for name in (each for each in REQUIRED if each not in units):
        like = nearest(name, ignored, 1)
        hint = f"; is it {like[0]!r}?" if like else ""
        wrong[name] = f"the column is missing from the header{hint}"
    faults = (Fault(row=sheet.header_row, column=c, text=text) for c, text in wrong.items())
    refuse(_told(path, faults))
    cells = sheet.cells.set_axis(names, axis=1)[list(units)]
    return sheet, cells.apply(lambda text: text.str.strip()), units


def _word(text: str, words: tuple[str, ...]) -> str:
    word = re.sub(r"[\s-]+", "_", text).casefold()
    check_known("word", word, words)
    return word


def _slips(columns: pd.DataFrame) -> list[Fault]:
    """Name loads that are far from the median of three or more of their like."""
    like = columns.groupby(["state", "size", "engagement"])["load"]
    loads = columns[["load"]].assign(middle=like.transform("median"))
    loads["ratio"] = loads["load"] / loads["middle"]
    alike = loads["ratio"].between(1 / UNIT_SLIP, UNIT_SLIP)
    slipped = loads[(like.transform("size") >= 3) & ~alike]
    found = []
    for row, load, middle, ratio in slipped.itertuples():
        said = message("load_unlike", load=load, ratio=ratio, middle=middle)
        found.append(Fault(row=row, column="peak_load", text=said))
    return found


def _told(path: Path, faults: Iterable[Fault]) -> Iterator[str]:
    """Give the first thousand faults in words, the rest counted by column."""
    order = {name: place for place, name in enumerate(REQUIRED)}
    ranked = sorted(faults, key=lambda fault: (fault.row, order.get(fault.column, -1)))
    yield from (f"{path.name}: {fault}" for fault in ranked[:MOST_FAULTS])
    rest = sorted(ranked[MOST_FAULTS:], key=lambda fault: fault.column)
    for column, some in groupby(rest, key=lambda fault: fault.column):
        rows = [fault.row for fault in some]
        yield message(
            "more_faults", path=path, rows=rows, last=rows[-1], column=column, count=len(rows)
        )


# ---- one cell

_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?\s*([A-Za-z]*)")
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?\s*[A-Za-z]*")


def quantity(text: str, dimension: str, *, unit: str = "", diameter: float | None = None) -> float:
    """Return a quantity above zero, N or mm, from "25.3 kN", "12 mm", "0.5 in" or "1.5 D".

    Parameters
    ----------
    text : number and unit
    dimension : "force" or "length"
    unit : stands for the unit where the text has none, from the column's header
    diameter : nominal diameter of the thread, mm: the unit "D"

    Returns
    -------
    float, N or mm

    Raises
    ------
    InputError
        Saying what is wrong with the text.

    Examples
    --------
    >>> quantity("25.3 kN", "force"), round(quantity("5000 lbf", "force"), 3)
    (25300.0, 22241.108)
    >>> quantity("1.5 D", "length", diameter=8), quantity("0.5 in", "length")
    (12.0, 12.7)
    """
    shown = whole = text.strip()
    if match := _PLAIN.fullmatch(shown):
        own = match[1]
        if not (own or unit):
            raise InputError(f"{shown!r} has no unit; write for example {_EXAMPLE[dimension]!r}")
        if own and unit and own != unit:
            raise InputError(f"{shown!r} contradicts the unit {unit!r} of the column's header")
        whole = shown if own else f"{shown} {unit}"
    elif _THOUSANDS.fullmatch(shown):
        raise InputError.of("comma_in_number", shown=shown)
    number = parse(whole, dimension, diameter=diameter)
    if not number > 0:
        raise InputError(f"{shown!r} must be above zero")
    return number


_EXAMPLE = {"force": "25.3 kN", "length": "12 mm"}


def header_unit(header: str) -> tuple[str, str]:
    """Split "Peak load [kN]" into the name "peak_load" and its unit, which may be empty.

    Parameters
    ----------
    header : str

    Returns
    -------
    tuple of str
    """
    match = re.fullmatch(r"\s*(.*?)\s*(?:[\[(]\s*([A-Za-z]+)\s*[\])])?\s*", header)
    if match is None:  # a line break inside the cell
        return header, ""
    return re.sub(r"[\s-]+", "_", match[1]).casefold(), match[2] or ""
