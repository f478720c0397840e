"""A table that somebody typed, as text or XLSX: every row is read, or named in an error."""

from __future__ import annotations

import csv
import datetime
import re
import warnings
import zipfile
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise, takewhile
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from . import files
from .errors import InputError, message, shown

if TYPE_CHECKING:
    import pandas as pd

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
#: Read whole; a record has a million rows at most.
LARGEST = 200_000_000

#: Ends no line of the file, but of the text in a cell.
_BREAK = re.compile("[\v\f\x1c-\x1e\x85\u2028\u2029]")
#: What an unquoted decimal comma leaves of "25,3 kN" on its two sides.
_CUT_BEFORE = re.compile(r"\s*[+-]?\d+")
_CUT_AFTER = re.compile(r"\d+(\s*[A-Za-z]+)?\s*")
#: A workbook unpacks to no more, in bytes: the rest is no table that a person typed.
_LARGEST = 500_000_000
#: Number formats that show the number itself: digits, thousands marks and a percent sign.
_PLAIN = re.compile(r"General|@|[#,]*0(\.0+)?(E\+0+)?")
_PERCENT = re.compile(r"0(\.0+)?%")
#: What a format says before them of blank room, and of numbers below zero.
_ROOM = re.compile(r"[_*].|;.*")
#: Sheet of a template that holds help, and is no row of anything.
HELP = "keys"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fault:
    """What is wrong with a row, counted as a spreadsheet does, and the header of its column."""

    row: int
    column: str
    text: str

    def __str__(self) -> str:
        place = f"row {self.row}, column {self.column}" if self.column else f"row {self.row}"
        return f"{place}: {self.text}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """A table as text.

    Attributes
    ----------
    note : the lines above the header that start with "#"
    header : names of the columns, as typed
    header_row : its row
    cells : DataFrame of text, one column for each of the header, indexed by row
    faults : of the rows that are not in `cells`
    words : what was left out that holds nothing
    separator : what parts its cells; empty for a workbook
    """

    note: str
    header: tuple[str, ...]
    header_row: int
    cells: pd.DataFrame
    faults: tuple[Fault, ...]
    words: str
    separator: str = ""

    @property
    def records(self) -> Iterator[tuple[int, dict[str, str]]]:
        """The number of each row, and its cells by the header of their columns."""
        for row, line in zip(self.cells.index, self.cells.to_numpy(), strict=True):
            yield int(row), dict(zip(self.header, map(str, line), strict=True))

    def quantities(self, columns: Iterable[int]) -> Sheet:
        """Return the table with decimal points in these columns, where commas part no cells.

        "12,5 mm" is read so; "1,250 mm" only beside a comma that can be nothing but a decimal
        one, and none beside a decimal point: then which of them parts thousands nobody can tell.
        """
        if self.separator == ",":
            return self
        chosen = self.cells[list(columns)]
        found = [
            (row, at, text)
            for at in chosen
            for row, text in chosen[at][chosen[at].str.contains(",", regex=False)].items()
            if _QUANTITY.fullmatch(text)
        ]
        if not found:
            return self
        sure = any(re.search(r",(?!\d{3}\b)", text) for _, _, text in found)
        points = any(chosen[at].str.contains(r"\d\.\d").any() for at in chosen)
        cells, faults = self.cells.copy(), []
        for row, at, text in found:
            if points or not sure:
                beside = " beside decimal points" if points else ""
                said = message("comma_of_two_meanings", text=shown(text.strip()), beside=beside)
                faults.append(Fault(row=int(str(row)), column=self.header[at], text=said))
            cells.loc[row, at] = text.replace(",", ".")
        cells = cells.drop(index={fault.row for fault in faults})
        return replace(self, cells=cells, faults=(*self.faults, *faults))


#: Each row with its number; row, place in the row from 0 and what is wrong; what was read that
#: cannot be seen, or left out; what parts the cells, nothing in a workbook.
_Read: TypeAlias = "tuple[list[tuple[int, tuple[str, ...]]], list[tuple[int, int, str]], str, str]"
#: A number with a decimal comma and its unit, or two of them: "0,10 to 0,14".
_QUANTITY = re.compile(r"\s*[+-]?\d+(,\d+)?\s*[^\d\s,.]*(\s+to\s+\d+(,\d+)?\s*[^\d\s,.]*)?\s*")


def read(path: Path) -> Sheet:
    """Read a table.

    Parameters
    ----------
    path : an XLSX workbook, whose first sheet counts, or text in UTF-8, or in UTF-16 with its mark,
        cells parted by commas, semicolons or tabs
        A first line "sep=;" names the separator and is no row, as in spreadsheets. Lines with "#"
        above the header are its note. A row of text is a line: no cell holds a line break.

    Raises
    ------
    InputError
        If the file is not there, not text, or has no header.

    Notes
    -----
    Each line must stand for itself: quotation marks that do not close on their line would take
    the following rows into one cell, which no count of rows shows.
    """
    is_book = path.suffix.casefold() in (".xlsx", ".xlsm")
    read_rows, wrong, words, separator = (_workbook if is_book else _lines)(path)
    import pandas as pd  # half a second, and most cases name no table

    rows = [(row, texts) for row, texts in read_rows if any(text.strip() for text in texts)]
    note: list[str] = []
    while rows and rows[0][1][0].lstrip().startswith("#"):
        note.append(rows.pop(0)[1][0].lstrip()[1:].strip())
    if not rows:
        raise InputError(f"{path.name}: the first sheet has no header")
    header_row, heads = rows.pop(0)
    named = [at for at, name in enumerate(heads) if name.strip()]
    nameless = sorted({*range(len(heads))} - {*named})
    faults = [
        Fault(row=row, column=heads[at].strip() if 0 <= at < len(heads) else "", text=text)
        for row, at, text in wrong
    ]
    for at in nameless:
        for row, texts in rows:
            if texts[at].strip():
                said = message("cell_without_head", text=shown(texts[at]), column=at + 1)
                faults.append(Fault(row=row, column="", text=said))
    bad = {fault.row for fault in faults}
    kept = [(row, texts) for row, texts in rows if row not in bad]
    cells = [[texts[at] for at in named] for _, texts in kept]
    if separator and nameless:
        many = "s" if len(nameless) > 1 else ""
        words = f"{len(nameless)} empty column{many} without a name left out"
    return Sheet(
        note=" ".join(note),
        header=tuple(heads[at].strip() for at in named),
        header_row=header_row,
        cells=pd.DataFrame(cells, [row for row, _ in kept], range(len(named)), dtype=str),
        faults=tuple(faults),
        words=words,
        separator=separator,
    )


def _lines(path: Path) -> _Read:
    """Return the cells of a text file, each row on a line of its own, and what parts them."""
    lines = re.split("\r\n|\n|\r", _text(path))
    declared = re.fullmatch(r'"?sep=(.)"?', lines[0].strip(" "), re.IGNORECASE)
    if declared:
        del lines[0]
        if declared[1] not in SEPARATORS:
            raise InputError.of("unknown_separator", path=path, declared=declared)
    numbered = list(enumerate(lines, start=1))
    above = list(takewhile(_is_above_header, numbered))
    if len(above) == len(lines):
        raise InputError(f"{path.name}: row {len(lines)}: the file has no header")
    top, heads = numbered[len(above)]
    separator = declared[1] if declared else _separator(path, top, heads)
    header = _cells(heads, separator)
    if header is None:
        raise InputError(
            f"{path.name}: {Fault(row=top, column='', text=message('quote_not_closed'))}"
        )
    bare = ((row, line.strip(' "').rstrip(',;\t"')) for row, line in above)
    rows: list[tuple[int, tuple[str, ...]]]
    rows = [(row, (text,)) for row, text in bare if text.startswith("#")]
    faults: list[tuple[int, int, str]] = []
    for row, line in numbered[len(above) :]:
        cells = _cells(line, separator)
        if cells is None:
            faults.append((row, -1, message("quote_not_closed")))
        elif line.strip(separator + " "):
            while len(cells) > len(header) and not cells[-1]:
                cells.pop()
            if len(cells) == len(header):
                rows.append((row, tuple(cells)))
            else:
                faults.append((row, *_wrong_count(cells, header, separator)))
    return rows, faults, "", separator


def _is_above_header(numbered: tuple[int, str]) -> bool:
    """Whether a line is a note or holds nothing."""
    return numbered[1].strip(' "').startswith("#") or not numbered[1].strip(',;\t "')


def _text(path: Path) -> str:
    """Return the text of a file, its encoding told by its mark."""
    try:
        files.check_is_file(path)
        if path.stat().st_size > LARGEST:
            raise InputError(f"{path.name}: larger than {LARGEST / 1e6:.0f} MB, not a table")
        data = path.read_bytes()
    except FileNotFoundError:
        raise InputError(f"no file {str(path)!r}") from None
    except OSError as error:
        raise InputError(f"table {str(path)!r} cannot be read: {error.strerror}") from None
    encoding = "utf-16" if data.startswith((BOM_UTF16_LE, BOM_UTF16_BE)) else "utf-8"
    try:
        text = data.decode(encoding).removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        raise InputError.of("not_encoded", path=path, kind=encoding.upper(), error=error) from None
    if "\0" in text:
        raise InputError.of("nul_characters", path=path)
    return text


def _separator(path: Path, row: int, header: str) -> str:
    """Return what parts the names of the header."""
    unquoted = re.sub(r'"[^"]*"', "", header)
    counts = {mark: unquoted.count(mark) for mark in SEPARATORS}
    most = [mark for mark in SEPARATORS if counts[mark] == max(counts.values())]
    if len(most) > 1 and counts[most[0]]:
        rivals = " and ".join(SEPARATORS[mark] for mark in most)
        raise InputError(f"{path.name}: row {row}: {rivals} part the header alike; use one of them")
    return most[0]


def _cells(line: str, separator: str) -> list[str] | None:
    """Return the cells of one line, or None where it does not stand for itself."""
    if _BREAK.search(line):
        return None
    if '"' not in line:
        return line.split(separator)
    if line.count('"') % 2:
        return None
    try:
        return next(csv.reader([line], delimiter=separator, strict=True), [])
    except csv.Error:
        return None


def _wrong_count(cells: list[str], header: list[str], separator: str) -> tuple[int, str]:
    """Return the column at fault, -1 where it is none, and what is wrong with the count."""
    text = f"{len(cells)} cells where the header has {len(header)}"
    if len(cells) > len(header) and separator == ",":
        for at, (before, after) in enumerate(pairwise(cells[: len(header) + 1])):
            if _CUT_BEFORE.fullmatch(before) and _CUT_AFTER.fullmatch(after):
                written = f"{before.strip()},{after.strip()}"
                return at, message("decimal_comma", text=text, written=written)
    return -1, text


# ---- a workbook: what a person sees in a cell, or a fault


def _workbook(path: Path) -> _Read:
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

    if not path.is_file():
        raise InputError(f"no file {str(path)!r}")
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
        raise InputError.of("not_a_workbook", path=path) from None
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
                texts.append(_shown_in(cell, source))
            except InputError as error:
                faults.append((cell.row, cell.column - 1, str(error)))
                texts.append("")
        cells.append((line[0].row, tuple(texts)))
    return cells, faults, _words(values, sheet), ""


def _shown_in(cell: Any, source: Any) -> str:
    value = cell.value
    if cell.data_type == "e":
        raise InputError(f"the spreadsheet shows the error {value}")
    if value is None:
        if source.data_type == "f":
            raise InputError.of("formula_not_calculated")
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
    bare = _ROOM.sub("", look)
    if _PERCENT.fullmatch(bare):
        return f"{100 * value:.12g} %"
    if not _PLAIN.fullmatch(bare):
        raise InputError.of("format_shows_more", look=shown(look), value=value)
    return f"{value:.12g}"


def _words(book: Any, sheet: Any) -> str:
    said = []
    hidden = [n for n, row in sheet.row_dimensions.items() if row.hidden]
    if hidden:
        said.append(f"hidden rows are read too ({len(hidden)}, the first is row {hidden[0]})")
    columns = [name for name, column in sheet.column_dimensions.items() if column.hidden]
    if columns:
        said.append(f"hidden columns are read too (the first is column {columns[0]})")
    others = [each.title for each in book.worksheets[1:] if each.title != HELP]
    if others:
        said.append(f"sheets left out: {', '.join(map(shown, others))}")
    return "; ".join(said)
