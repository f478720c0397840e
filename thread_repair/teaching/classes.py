"""Mark a class: a folder of copies against a folder of keys, one row for each copy.

Copies are read as data and never run. A copy that cannot be read is a row with a remark; nothing
keeps the others from their marks.
"""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import pandas as pd

from .. import sheets
from ..errors import InputError
from ..files import below, new_file
from ..report.escape import cell
from . import marking
from .exercises import ASKS

MANUAL = tuple(name for name, ask in ASKS.items() if ask.dimension == "words")
#: Points that a person has given, by exercise: of a copy, which is a file and its paper.
#: One paper may be handed in by a whole class, or twice by one student.
Given = Mapping[tuple[Path, str], Mapping[str, float]]
#: Columns before those of the exercises; a text for each word answer ends the row.
_HEAD = ("file", "name", "paper", "key", "points", "out_of", "left_for_a_person", "remarks")


def mark(places: Iterable[Path], keys: Path, *, manual: Path | None = None) -> list[dict[str, Any]]:
    """Mark copies.

    Parameters
    ----------
    places : copies, or folders with copies
    keys : a key file, or a folder of them
    manual : marks of before, in whose columns a person has entered points for words, or others
        than the program found

    Returns
    -------
    list of dict
        One row a copy, with the columns of `columns`; `points` is empty where it was not marked.

    Raises
    ------
    InputError
        If there is no copy or no key, or points of a person are not points or of no copy.
    """
    files = sorted(file for place in places for file in _files(place, "*.ipynb"))
    known = {str(marking.read_key(file)["paper"]): file for file in _files(keys, "*.json")}
    if not files or not known:
        what = "copies to mark" if not files else f"keys in {keys}"
        raise InputError(f"there are no {what}")
    given = _given(manual) if manual else {}
    rows, marked = [], dict[tuple[Path, str], dict[str, Any]]()
    for file in files:
        row: dict[str, Any] = {"file": str(file)}
        try:
            answers = marking.read_answers(file)
            paper = str(answers.get("paper", ""))
            row |= {"name": str(answers.get("name", "")), "paper": paper}
            if paper not in known:
                raise InputError(f"no key is there for paper {paper!r}")
            row["key"] = known[paper].stem  # whose paper it is, whatever name stands in the copy
            copy = (_place(str(file)), paper)
            row |= _row(marking.mark(answers, known[paper]), given.get(copy, {}))
            marked[copy] = row
        except Exception as error:  # whatever one copy holds, the others get their marks
            said = str(error) if isinstance(error, InputError) else "cannot be read as a copy"
            row["remarks"] = f"not marked: {said}"
        rows.append(row)
    for place, paper in given.keys() - marked.keys():
        raise InputError.of("points_for_no_copy", place=place, paper=paper)
    for row in marked.values():
        twins = (e["file"] for e in marked.values() if e["paper"] == row["paper"] and e is not row)
        same = next((f"the same paper as {twin}" for twin in twins), "")
        row["remarks"] = "; ".join(filter(None, (same, row["remarks"])))
    return rows


def _place(file: str) -> Path:
    """Return where a file stands, by its name as the table has it."""
    return Path(cell(file)).resolve()


def _files(place: Path, pattern: str) -> list[Path]:
    if not place.exists():
        raise InputError(f"no file or folder at {place}")
    if place.is_file():
        return [place]
    return below(place, pattern)


def _row(sheet: marking.MarkSheet, given: Mapping[str, float]) -> dict[str, Any]:
    found, remarks, blank = dict[str, Any](), list[str](), list[str]()
    for each in sheet.marks:
        own = each.points if each.answer else 0
        found[each.name] = points = given.get(each.name, own)
        said = ASKS[each.name].words
        if each.name in MANUAL:
            found[f"{each.name}_answer"] = each.answer
            continue
        if not each.answer:
            blank.append(said)
        elif each.remark != "right":
            remarks.append(f"{said}: {each.remark}")
        if points != own:
            remarks.append(f"{said}: {points:g} by a person, {own:g} by the program")
    if blank:
        remarks.append(f"not answered: {', '.join(blank)}")
    return found | {
        "points": sum(found[name] or 0 for name in ASKS),
        "out_of": sum(ask.points for ask in ASKS.values()),
        "left_for_a_person": sum(ASKS[n].points for n in MANUAL if found[n] is None),
        "remarks": "; ".join(remarks),
    }


def _given(manual: Path) -> Given:
    """Return the points that a person entered, by copy.

    Raises
    ------
    InputError
        Naming the row and the column of what is no points.
    """
    sheet = sheets.read(manual)
    if missing := [name for name in ("file", "paper", *MANUAL) if name not in sheet.header]:
        raise InputError(f"{manual.name}: the column {missing[0]} is missing")
    found: dict[tuple[Path, str], dict[str, float]] = {}
    for row, cells in sheet.records:
        copy = (_place(cells["file"]), cells["paper"].strip())
        for name in ASKS:
            text = cells.get(name, "").strip().replace(",", ".")
            if not text:
                continue
            points = float(pd.to_numeric(text, errors="coerce"))
            if not 0 <= points <= ASKS[name].points:
                raise InputError.of(
                    "no_points",
                    manual=manual,
                    row=row,
                    name=name,
                    entered=text[:60],
                    most=ASKS[name].points,
                )
            found.setdefault(copy, {})[name] = points
    return found


def write(rows: Iterable[Mapping[str, Any]], out: Path) -> None:
    """Write the rows as a CSV table; a file that stands there is left as it is.

    Raises
    ------
    InputError
        If the file exists or cannot be written.
    """
    table = pd.DataFrame(rows, columns=(*_HEAD, *ASKS, *(f"{name}_answer" for name in MANUAL)))
    # The mark of UTF-8: spreadsheets read the file as such.
    new_file(out, lambda: table.map(cell).to_csv(index=False), encoding="utf-8-sig")
