"""The first sheet of an XLSX workbook as text: what a person sees in a cell, or a fault."""

from __future__ import annotations

import datetime
import re
import warnings
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .errors import InputError, shown

#: A workbook unpacks to no more, in bytes: the rest is no table that a person typed.
_LARGEST = 500_000_000
#: Number formats that show the number itself: digits, thousands marks and a percent sign.
_PLAIN = re.compile(r"General|@|[#,]*0(\.0+)?")
_PERCENT = re.compile(r"0(\.0+)?%")
#: Sheet of a template that holds help, and is no row of anything.
HELP = "keys"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """The cells of a sheet as text.

    Attributes
    ----------
    rows : for each row its number and its texts
    faults : row, place in the row from 0, and what is wrong
    words : what was read that cannot be seen, or left out
    """

    rows: tuple[tuple[int, tuple[str, ...]], ...]
    faults: tuple[tuple[int, int, str], ...]
    words: str


def read(path: Path) -> Cells:
    """Read the first sheet of a workbook.

    A formula counts with the value that was saved with it. Numbers are read as they are, not as
    they are rounded on the screen; a number whose format shows more than itself, such as a unit or
    leading zeros, is a fault, because its cell does not hold what a person sees.

    Raises
    ------
    InputError
        If it is no workbook.
    """
    import openpyxl  # on use: most cases are no workbook

    try:
        with zipfile.ZipFile(path) as archive:
            if sum(part.file_size for part in archive.infolist()) > _LARGEST:
                raise InputError(f"{path.name}: unpacks to more than {_LARGEST / 1e6:.0f} MB")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what it leaves out: charts, lists to choose from
            values = openpyxl.load_workbook(path, data_only=True)
            typed = openpyxl.load_workbook(path)
    except InputError:
        raise
    except OSError as error:
        raise InputError(f"table {str(path)!r} cannot be read: {error.strerror}") from None
    except Exception:  # whatever a damaged archive makes its reader raise
        raise InputError(
            f"{path.name} is not an XLSX workbook; save it as .xlsx or as CSV UTF-8"
        ) from None
    sheet, formulas = values.worksheets[0], typed.worksheets[0]
    faults: list[tuple[int, int, str]] = [
        (found.min_row, found.min_col - 1, "joined cells; part them, each row stands for itself")
        for found in sheet.merged_cells.ranges
    ]
    cells = []
    for line, own in zip(sheet.iter_rows(), formulas.iter_rows(), strict=True):
        texts = []
        for cell, source in zip(line, own, strict=True):
            try:
                texts.append(_text(cell, source))
            except InputError as error:
                faults.append((cell.row, cell.column - 1, str(error)))
                texts.append("")
        cells.append((line[0].row, tuple(texts)))
    return Cells(rows=tuple(cells), faults=tuple(faults), words=_words(values, sheet))


def _text(cell: Any, source: Any) -> str:
    value = cell.value
    if cell.data_type == "e":
        raise InputError(f"the spreadsheet shows the error {value}")
    if value is None:
        if source.data_type == "f":
            raise InputError(
                "holds a formula that was never calculated; open and save the file in a "
                "spreadsheet, or type the value"
            )
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return _number(float(value), str(cell.number_format))
    if isinstance(value, datetime.datetime):
        is_day = value.time() == datetime.time()
        return value.date().isoformat() if is_day else value.isoformat(" ")
    return str(value)


def _number(value: float, look: str) -> str:
    if _PERCENT.fullmatch(look):
        return f"{100 * value:.12g} %"
    if not _PLAIN.fullmatch(look):
        raise InputError(
            f"the format of the cell, {shown(look)}, shows more than its value {value:.12g}; type "
            "the whole as text, with its unit"
        )
    return f"{value:.12g}"


def _words(book: Any, sheet: Any) -> str:
    said = []
    hidden = [n for n, row in sheet.row_dimensions.items() if row.hidden]
    if hidden:
        said.append(f"{len(hidden)} hidden rows are read too")
    others = [each.title for each in book.worksheets[1:] if each.title != HELP]
    if others:
        said.append(f"sheets left out: {', '.join(map(shown, others))}")
    return "; ".join(said)
