"""Read a record of pull tests: all of it or nothing, every fault with its row and column.

Unlike a case file, a record refuses bare numbers: whether 25300 is N or lbf decides everything and
nobody can tell afterwards. The reader asks for each different text once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache, partial
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ... import files, sheets
from ...arrays import read_only
from ...errors import InputError, InputErrors, nearest
from ...sheets import Fault, Sheet
from ...strength.modes import MODES
from ...strength.strip import STATES
from ...threads import thread
from ...units import parse
from .records import PullTests

if TYPE_CHECKING:
    import pandas as pd

REQUIRED = ("piece", "state", "size", "engagement", "peak_load", "failure_mode")
OPTIONAL = ("curve",)
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
        zero, piece given twice, unknown state or mode, missing column or cell, missing curve,
        quotation mark that does not close.
    """
    path = Path(path)
    sheet = sheets.read(path)
    names = [header_unit(cell)[0] for cell in sheet.header]
    sheet = sheet.quantities(at for at, name in enumerate(names) if name in _QUANTITIES)
    units, faults = _header(sheet)
    if not faults and sheet.cells.empty:
        text = "the file has a header but no test piece"
        faults = [*sheet.faults] or [Fault(row=sheet.header_row, column="", text=text)]
    elif not faults:
        columns, found = _columns(path, sheet, units)
        faults = [*sheet.faults, *found]
        faults += _slips(columns.drop(index={fault.row for fault in found}))
    if faults:
        raise InputErrors(f"{path.name}: {text}" for text in _told(faults))
    ignored = [name for name in sheet.header if header_unit(name)[0] not in units]
    return PullTests(
        path=str(path),
        note=sheet.note,
        **{name: read_only(columns[name].to_numpy(kind)) for name, kind in _KINDS.items()},
        ignored=(*ignored, *([sheet.words] if sheet.words else [])),
    )


_KINDS: dict[str, Any] = {
    "piece": object,
    "state": "U16",
    "size": object,
    "engagement": float,
    "load": float,
    "mode": "U32",
    "curve": object,
}


def _header(sheet: Sheet) -> tuple[dict[str, str], list[Fault]]:
    """Return the unit that each known column's header gives, and what is wrong with the header."""
    units: dict[str, str] = {}
    ignored, faults = [], []

    def fault(column: str, text: str) -> None:
        faults.append(Fault(row=sheet.header_row, column=column, text=text))

    for cell in sheet.header:
        name, unit = header_unit(cell)
        if name in units:
            fault(name, "the column stands twice in the header")
        elif name in (*REQUIRED, *OPTIONAL):
            units[name] = unit
        else:
            ignored.append(cell)
    for name in REQUIRED:
        if name not in units:
            like = nearest(name, ignored, 1)
            hint = f"; is it {like[0]!r}?" if like else ""
            fault(name, f"the column is missing from the header{hint}")
    return units, faults


def _columns(path: Path, sheet: Sheet, units: dict[str, str]) -> tuple[pd.DataFrame, list[Fault]]:
    """Convert the cells column by column; each different text is looked at once."""
    import pandas as pd

    names = [header_unit(cell)[0] for cell in sheet.header]
    cells = sheet.cells.set_axis(names, axis=1)
    cells = cells[[name for name in names if name in units]].apply(lambda text: text.str.strip())
    if "curve" not in cells:
        cells["curve"] = ""
    faults: list[Fault] = []

    def converted(column: str, keys: pd.Series, convert: Callable[[Any], Any]) -> pd.Series:
        values: dict[Any, Any] = {}
        wrong: dict[Any, str] = {}
        for key in keys.unique():
            try:
                values[key] = convert(key)
            except InputError as error:
                wrong[key] = str(error)
        told = keys[keys.isin(list(wrong))]
        faults.extend(Fault(row=row, column=column, text=wrong[key]) for row, key in told.items())
        return keys.map(values)

    found = cells[["piece"]].copy()
    found["state"] = converted("state", cells["state"], partial(_word, words=STATES))
    found["mode"] = converted("failure_mode", cells["failure_mode"], partial(_word, words=MODES))
    sizes = converted("size", cells["size"], size)
    found["size"] = sizes.map(lambda pair: pair[0], na_action="ignore")
    # A size that is not known is told already; any diameter does to check the text.
    diameters = sizes.map(lambda pair: pair[1], na_action="ignore").fillna(1.0)
    pairs = pd.Series(list(zip(cells["engagement"], diameters, strict=True)), index=cells.index)
    found["engagement"] = converted(
        "engagement",
        pairs,
        lambda pair: length(pair[0], diameter=pair[1], unit=units["engagement"]),
    )
    load = partial(force, unit=units["peak_load"])
    found["load"] = converted("peak_load", cells["peak_load"], load)
    found["curve"] = converted("curve", cells["curve"], partial(_curve, path))
    folded = cells["piece"].str.casefold()
    first = {name: row for row, name in folded[::-1].items()}
    for row, piece in cells["piece"][folded.duplicated() | (folded == "")].items():
        earlier = first[piece.casefold()]
        text = f"{piece!r} stands already in row {earlier}" if piece else "the piece has no name"
        faults.append(Fault(row=row, column="piece", text=text))
    return found, faults


def _word(text: str, words: tuple[str, ...]) -> str:
    word = re.sub(r"[\s-]+", "_", text).casefold()
    if word in words:
        return word
    hint = nearest(word, words, 1)
    guess = f"; did you mean {hint[0]!r}?" if hint else ""
    raise InputError(f"unknown {text!r}, expected {', '.join(words)}{guess}")


def _curve(path: Path, name: str) -> str:
    if name and files.beside(path.parent, name).samefile(path):
        raise InputError(f"{name!r} is the record itself; expected the curve of this piece")
    return name


def _slips(columns: pd.DataFrame) -> list[Fault]:
    """Name loads that are far from the median of three or more of their like."""
    columns = columns.assign(load=columns["load"].astype(float))
    like = columns.groupby(["state", "size", "engagement"])["load"]
    middle, count = like.transform("median"), like.transform("size")
    ratio = columns["load"] / middle
    slipped = (count >= 3) & ((ratio > UNIT_SLIP) | (ratio < 1 / UNIT_SLIP))
    return [
        Fault(
            row=row,
            column="peak_load",
            text=f"{columns['load'][row]:g} N is {ratio[row]:.3g} times the median of its like, "
            f"{middle[row]:g} N: wrong unit?",
        )
        for row in columns.index[slipped]
    ]


def _told(faults: Sequence[Fault]) -> Iterator[str]:
    """Give the first thousand faults in words, the rest counted by column."""
    order = {name: place for place, name in enumerate((*REQUIRED, *OPTIONAL))}
    ranked = sorted(faults, key=lambda fault: (fault.row, order.get(fault.column, -1)))
    yield from map(str, ranked[:MOST_FAULTS])
    rest = sorted(ranked[MOST_FAULTS:], key=lambda fault: fault.column)
    for column, some in groupby(rest, key=lambda fault: fault.column):
        rows = [fault.row for fault in some]
        yield f"rows {rows[0]} to {rows[-1]}, column {column}: {len(rows)} more faults"


# ---- one cell

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_PLAIN = re.compile(rf"({_NUMBER})\s*([A-Za-z]*)")
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?\s*[A-Za-z]*")


def force(text: str, *, unit: str = "") -> float:
    """Load in N from "25.3 kN".

    Parameters
    ----------
    text : number and unit
    unit : stands for the unit where the text has none, from the column's header

    Returns
    -------
    float, N

    Raises
    ------
    InputError
        Saying what is wrong with the text.

    Examples
    --------
    >>> force("25.3 kN"), round(force("5000 lbf"), 3)
    (25300.0, 22241.108)
    """
    return _quantity(text, "force", unit, None)


def length(text: str, *, diameter: float, unit: str = "") -> float:
    """Length in mm from "12 mm", "0.5 in" or "1.5 D".

    Parameters
    ----------
    text : number and unit
    diameter : nominal diameter of the thread, mm: the unit "D"
    unit : stands for the unit where the text has none, from the column's header

    Returns
    -------
    float, mm

    Raises
    ------
    InputError

    Examples
    --------
    >>> length("1.5 D", diameter=8), length("0.5 in", diameter=8)
    (12.0, 12.7)
    """
    return _quantity(text, "length", unit, diameter)


@lru_cache(maxsize=256)
def size(text: str) -> tuple[str, float]:
    """Return the canonical designation of a size and its nominal diameter, mm.

    Parameters
    ----------
    text : str

    Returns
    -------
    (str, float), mm

    Examples
    --------
    >>> size("M8 x 1.25")
    ('M8x1.25', 8.0)
    """
    found = thread(text)
    return found.designation, found.major


def plain_number(text: str) -> float | None:
    """Return a number without unit, or None where the text is none.

    Parameters
    ----------
    text : str

    Returns
    -------
    float or None
    """
    match = _PLAIN.fullmatch(text.strip())
    return float(match[1]) if match and not match[2] else None


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


@lru_cache(maxsize=256)
def unit_value(unit: str, dimension: str) -> float:
    """Return what one of the unit is worth in N or mm.

    Parameters
    ----------
    unit, dimension : str

    Returns
    -------
    float

    Raises
    ------
    InputError
        If it is no unit of the dimension.
    """
    return parse(f"1 {unit}", dimension)


def _quantity(text: str, dimension: str, unit: str, diameter: float | None) -> float:
    shown = text.strip()
    match = _PLAIN.fullmatch(shown)
    if match is None and _THOUSANDS.fullmatch(shown):
        raise InputError(
            f"{shown!r} has a comma that may part thousands or decimals; write no thousands mark "
            "and a decimal point"
        )
    whole = shown
    if match is not None:
        if not (match[2] or unit):
            raise InputError(f"{shown!r} has no unit; write for example {_EXAMPLE[dimension]!r}")
        if match[2] and unit and match[2] != unit:
            raise InputError(f"{shown!r} contradicts the unit {unit!r} of the column's header")
        whole = shown if match[2] else f"{shown} {unit}"
    endless = match is not None and float(match[1]) == float("inf")
    number = 0.0 if endless else parse(whole, dimension, diameter=diameter)
    if not number > 0:
        raise InputError(f"{shown!r} must be above zero")
    return number


_EXAMPLE = {"force": "25.3 kN", "length": "12 mm"}
