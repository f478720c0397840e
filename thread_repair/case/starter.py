"""Write a commented case file to start from."""

from __future__ import annotations

import io
import textwrap
from collections.abc import Container, Mapping, Sequence
from pathlib import Path
from typing import Any

import attrs

from .. import files
from ..errors import InputError
from ..sheets import HELP
from ..units import unit_inside
from .schema import FIRST, KEYS

_FILE = files.data("starter.toml")
#: Values of the starter file, and those of them that can be true of no real part.
EXAMPLE: Mapping[str, str] = _FILE["example"]
PLACEHOLDERS: Sequence[str] = _FILE["placeholders"]


def text(values: Mapping[str, str] = EXAMPLE, *, assumed: Container[str] = ()) -> str:
    """Return a case file: the keys that decide most repairs, and the names of the others.

    A key of `values` has its value, another is commented out; one of `assumed` is marked as such,
    to be confirmed.
    """
    from .flat_yaml import written  # late: what reads a case checks it against this example

    lines = [*_FILE["head"]]
    others: dict[str, list[str]] = {}
    headed = ""
    for field in KEYS.values():
        group = field.metadata["group"]
        if field.name not in (*values, *FIRST, *_FILE["shown"]):
            others.setdefault(group, []).append(field.name)
            continue
        if group != headed:
            lines += ["", f"# ---- {group}"]
            headed = group
        lines += textwrap.wrap(
            field.metadata["help"], 98, initial_indent="# ", subsequent_indent="# ",
            break_on_hyphens=False,
        )  # fmt: skip
        if field.name in values:
            mark = "  # assumed" if field.name in assumed else ""
            lines.append(written({field.name: values[field.name]}).rstrip("\n") + mark)
        else:
            lines.append(f"# {field.name}: {default(field)}".rstrip())
    lines += ["", "# ---- other keys: thread-repair list keys says what each means"]
    for name, keys in others.items():
        told = f"{name}: {', '.join(keys)}"
        lines += textwrap.wrap(told, 98, initial_indent="# ", subsequent_indent="#   ")
    return "\n".join(lines) + "\n"


def default(field: attrs.Attribute[Any]) -> str:
    """Return what is assumed where a key is left out, with its unit; nothing where nothing is."""
    if field.default in (None, "", attrs.NOTHING):
        return ""
    shown = f"{field.default:g}" if isinstance(field.default, float) else str(field.default)
    dimension = field.metadata["dimension"]
    return f"{shown} {unit_inside(dimension)}" if dimension else shown


#: Columns of a table to start from.
_COLUMNS = ("name", *EXAMPLE, *_FILE["columns"])


def write_table(file: Path) -> Path:
    """Write a table to start from: a header of keys, an example row and, in a workbook, their help.

    Raises
    ------
    InputError
        If the file exists, is no CSV or XLSX, or cannot be written; nothing is overwritten.
    """
    kind = file.suffix.casefold()
    if kind not in (".csv", ".xlsx"):
        raise InputError(f"{file.name}: a table is a .csv or .xlsx file")
    row = ["pump-cover", *EXAMPLE.values(), *("" for _ in _FILE["columns"])]
    if kind == ".xlsx":
        return files.new_file(file, lambda: _workbook(row))
    import pandas as pd  # on use: no other starter needs it

    table = pd.DataFrame([row], columns=_COLUMNS).to_csv(index=False, lineterminator="\r\n")
    return files.new_file(file, lambda: table, encoding="utf-8-sig")  # which spreadsheets look for


def _workbook(row: list[str]) -> bytes:
    import openpyxl  # on use: no other starter needs it
    from openpyxl.styles import Alignment, Font

    book = openpyxl.Workbook()
    cases = book.active
    cases.title = "cases"
    cases.append(list(_COLUMNS))
    cases.append(row)
    sheet = book.create_sheet(HELP)
    sheet.append(["key", "what it is", "may be", "if left empty"])
    sheet.append(["name", "folder of the report of this row", "", ""])
    for field in KEYS.values():
        told = field.metadata
        empty = "needed" if field.default is attrs.NOTHING else default(field)
        sheet.append([field.name, told["help"], ", ".join(told["choices"]), empty])
    # Lines to fill in are set as text too.
    for page, widths, last in ((cases, [18] * len(_COLUMNS), 199), (sheet, [30, 90, 40, 20], None)):
        page.freeze_panes = "A2"
        for at, width in enumerate(widths, start=1):
            page.column_dimensions[openpyxl.utils.get_column_letter(at)].width = width
        for line in page.iter_rows(max_row=last):
            for cell in line:
                # As text, so that no spreadsheet makes a date of 1/4-20 or drops a zero.
                cell.number_format = "@"
                cell.alignment = Alignment(vertical="top", wrap_text=page is sheet)
        for cell in page[1]:
            cell.font = Font(bold=True)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def write(path: Path, values: Mapping[str, str] = EXAMPLE, *, assumed: Container[str] = ()) -> Path:
    """Write a case file (`text`) and return where it stands; a folder gets a `case.yaml`.

    Raises
    ------
    InputError
        If the file exists or cannot be written; nothing is overwritten.
    """
    file = path if path.suffix in (".yaml", ".yml") else path / "case.yaml"
    return files.new_file(file, lambda: text(values, assumed=assumed))
