"""Read a record of pull tests: all of it or nothing, every fault with its row and column."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ... import files, sheets
from ...arrays import read_only
from ...errors import InputError, InputErrors, nearest
from ...sheets import Fault, Sheet
from . import quantities
from .records import MODES, STATES, PullTests

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
    names = [quantities.header_unit(cell)[0] for cell in sheet.header]
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
    ignored = [name for name in sheet.header if quantities.header_unit(name)[0] not in units]
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
        name, unit = quantities.header_unit(cell)
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

    names = [quantities.header_unit(cell)[0] for cell in sheet.header]
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
        if wrong:
            told = keys[keys.isin(list(wrong))]
            faults.extend(
                Fault(row=row, column=column, text=wrong[key]) for row, key in told.items()
            )
        return keys.map(values)

    found = cells[["piece"]].copy()
    found["state"] = converted("state", cells["state"], lambda text: _word(text, STATES))
    found["mode"] = converted(
        "failure_mode", cells["failure_mode"], lambda text: _word(text, MODES)
    )
    sizes = converted("size", cells["size"], quantities.size)
    found["size"] = sizes.map(lambda pair: pair[0], na_action="ignore")
    # A size that is not known is told already; any diameter does to check the text.
    diameters = sizes.map(lambda pair: pair[1], na_action="ignore").fillna(1.0)
    pairs = pd.Series(list(zip(cells["engagement"], diameters, strict=True)), index=cells.index)
    found["engagement"] = converted(
        "engagement",
        pairs,
        lambda pair: quantities.length(pair[0], diameter=pair[1], unit=units["engagement"]),
    )
    found["load"] = converted(
        "peak_load",
        cells["peak_load"],
        lambda text: quantities.force(text, unit=units["peak_load"]),
    )
    found["curve"] = converted("curve", cells["curve"], lambda name: _curve(path, name))
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
