"""A part with many holes: what is said once, and one row of keys for each hole."""

import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import yaml

from .. import files, sheets
from ..errors import InputError, InputErrors, message, refuse, shown, unknown
from .asked import tokens
from .flat_yaml import TextLoader
from .reading import check_keys, load_text, read, unknown_key
from .schema import KEYS, Case, keys
from .understanding import NOTHING, as_text, quantities

FILE = "submission.yaml"
#: What a spreadsheet makes of 8.8 or 3/8.
_DATE = re.compile(r"\d{4}-\d\d-\d\d")
#: Keys of a file of a part that are none of a case.
HOLES, PART = "holes", "part"
#: Keys of a row that are none of a case: the name of the hole, a case file with its keys, and its
#: joint in one line.
NAME, CASE, JOINT = "name", "case", "joint"

#: What is said of the document, never of one hole. `item` is the part.
DOCUMENT = (
    "title", "document", "revision", "status", "date", "prepared_by", "checked_by", "approved_by",
    "customer", "item", "changes", "report_units",
)  # fmt: skip
#: Said in one place: a report of one hole shows the test pieces.
_NOT_HERE = {"pull_tests": "no document of several holes shows test pieces; build that hole's own"}

_LARGEST = 1_000_000
_LONGEST_NAME = 40
_ALL = "all holes"

Row = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFile:
    """What a file of a part says, as text: plain data that a notebook can be handed.

    Attributes
    ----------
    shared : keys of a case that hold for every hole, those of the document among them
    holes : a row for each hole: its `name` and its own keys; `serials` where it is not on all parts
    """

    shared: Row
    holes: tuple[Row, ...]


@dataclass(frozen=True, kw_only=True)
class Hole:
    """One hole of a part, understood.

    Attributes
    ----------
    label : its name, with the serial numbers where two holes have one name
    name : as the drawing names it
    serials : serial numbers that it is repaired on; empty where none are stated
    case : its joint, in its own words and keys
    """

    label: str
    name: str
    serials: tuple[str, ...]
    case: Case


def load(path: Path) -> PartFile:
    """Read a file of a part, with the case files and the table that it names.

    Raises
    ------
    InputErrors
        With one sentence for each fault, naming hole and key.
    """
    found = _yaml(path)
    rows = found.pop(HOLES, None)
    folder = path.parent
    if isinstance(rows, str) and rows.strip() not in NOTHING:
        rows = _table(folder, rows)
    said = f"expected one value, found a list or nested keys; the holes stand under {HOLES!r}"
    faults = [f"{key[:60]}: {said}" for key, value in found.items() if not isinstance(value, str)]
    if not isinstance(rows, list):
        refuse(faults)
        raise InputError.of("holes_are_a_list", path=path)
    holes: list[Row] = []
    for number, row in enumerate(rows, start=1):
        try:
            holes.append(_row(folder, row, number))
        except InputError as error:
            faults += str(error).splitlines()
    refuse(faults)
    return PartFile(shared=dict(found), holes=tuple(holes))


def from_cases(cases: Mapping[str, Path]) -> PartFile:
    """Take case files, by the name of their hole, as the holes of one part.

    What they say of the document alike is said of it; number, title and other words in which they
    differ are left blank. One part, customer and system of units there must be.

    Raises
    ------
    InputErrors
        With one sentence for each key in which they differ and may not.
    """
    texts = {name: dict(load_text(file)) for name, file in cases.items()}
    shared = {}
    # the folder names the hole: a key that is none of a case must not rename it
    faults = [f"hole {x}: {NAME}: {unknown_key(NAME)}" for x, text in texts.items() if NAME in text]
    for key in DOCUMENT:
        usual = str(KEYS[key].default)
        said = {text.get(key, "").strip() or usual: name for name, text in texts.items()}
        if len(said) == 1:
            (shared[key],) = said
        elif key in ("item", "customer", "report_units", "status"):
            one, other = (f"{hole} says {shown(text)}" for text, hole in list(said.items())[:2])
            faults.append(message("one_for_document", key=key, one=one, other=other, file=FILE))
    refuse(faults)
    rows = (
        {NAME: name, **{key: value for key, value in text.items() if key not in DOCUMENT}}
        for name, text in texts.items()
    )
    every = dict.fromkeys(
        serial for text in texts.values() for serial in serial_numbers(text.get("serials", ""))
    )
    return PartFile(shared={**shared, "serials": ", ".join(every)}, holes=tuple(rows))


def understand(
    shared: Mapping[str, object], holes: Sequence[Mapping[str, object]]
) -> tuple[tuple[str, ...], tuple[Hole, ...]]:
    """Understand what is said once and what is said of each hole: serial numbers and holes.

    Raises
    ------
    InputErrors
        With one sentence for each fault, naming hole and key; a fault that all have alike once.
    """
    if not isinstance(holes, Sequence):
        raise InputError(f"holes: expected a list with the keys of each hole, got {shown(holes)}")
    for keyed in (shared, *holes):
        check_keys(keyed)
    given = {"item" if key == PART else key: as_text(value) for key, value in shared.items()}
    serials, faults = _serials(given.get("serials", ""))
    said: dict[str, list[str]] = {fault: [_ALL] for fault in (*faults, *_unknown(given))}
    if PART in shared and "item" in shared:
        said[message("part_said_twice")] = [_ALL]
    given = {key: value for key, value in given.items() if key in keys()}
    done: list[Hole] = []
    taken = set[tuple[str, str]]()
    names = [as_text(entry.get(NAME, "")).strip() for entry in holes]
    some = not faults and any(_serials(as_text(entry.get("serials", "")))[0] for entry in holes)
    for number, (name, entry) in enumerate(zip(names, holes, strict=True), start=1):
        row = {key: as_text(value) for key, value in entry.items() if key != NAME}
        own, found = _serials(row.get("serials", ""))
        own = own or serials
        if some and not (own or found):  # the matrix has no column for it
            found.append(
                "serials: missing; expected as at other holes, or those of all above the holes"
            )
        found += [*_named(name), *_unknown(row, of_hole=True)]
        if serials and (alien := listed(each for each in own if each not in serials)):
            found.append(f"serials: {alien[:60]!r} is none of the part's")
        places = [(name, each) for each in own or ("",)]
        stated = listed(own)
        label = f"{name} ({stated})" if name and stated and names.count(name) > 1 else name
        if name and (again := [place for place in places if place in taken]):
            where = f" on serial number {listed(each for _, each in again)[:60]}" if own else ""
            found.append(f"{NAME}: {name!r} is given to an earlier hole{where}")
        elif name and label in {each.label for each in done}:  # by which its study is known
            found.append(f"{NAME}: {label!r} is how an earlier hole is named; give another name")
        taken.update(places)
        known = {key: value for key, value in row.items() if key in keys()}
        try:
            case = read({**given, **known, "serials": stated})
            done.append(Hole(label=label, name=name, serials=own, case=case))
        except InputErrors as error:
            found += error.faults
        for fault in dict.fromkeys(found):
            # a sentence stands on one line, whatever the cell of the name holds
            shown_as = " ".join(label.split())[: 2 * _LONGEST_NAME]
            said.setdefault(fault, []).append(shown_as or f"number {number}")
    if not holes:
        raise InputError("holes: none is given; expected one entry for each hole")
    refuse(by_hole(said, len(holes)))
    return serials, tuple(done)


def _serials(text: str) -> tuple[tuple[str, ...], list[str]]:
    try:
        return serial_numbers(text), []
    except InputError as error:
        return (), [f"serials: {error}"]


def _named(name: str) -> Iterator[str]:
    if not name:
        yield f"{NAME}: missing; expected the name of the hole on the drawing, such as H1"
    elif len(name) > _LONGEST_NAME or not name.isprintable():
        yield f"{NAME}: {name[:60]!r} is longer than {_LONGEST_NAME} characters, or cannot be read"


def _unknown(given: Row, *, of_hole: bool = False) -> Iterator[str]:
    """Yield a sentence for each key that is none, or not said at this place."""
    for key, value in given.items():
        if of_hole and key in (*DOCUMENT, PART, HOLES):
            yield f"{key}: said of the whole document, not of one hole; move it above the holes"
        elif not of_hole and key in (NAME, CASE, JOINT):
            yield f"{key}: said of one hole, not of all; move it to the holes that it holds for"
        elif key not in keys():
            others = (each for each in (PART, HOLES, NAME, CASE, JOINT) if each != key)
            yield f"{key[:60]}: {unknown_key(key, *others)}"
        elif key in _NOT_HERE and value.strip() not in NOTHING:
            yield f"{key}: {_NOT_HERE[key]} report"


def by_hole(said: Mapping[str, Sequence[str]], count: int) -> Iterator[str]:
    """Yield each fault with the holes that have it; `count` holes are all of them."""
    for fault, names in said.items():
        if _ALL in names or len(names) == count > 1:
            yield f"{_ALL}: {fault}"
        else:
            yield f"hole{'s' if len(names) > 1 else ''} {', '.join(names)}: {fault}"


def _row(folder: Path, row: object, number: int) -> Row:
    """Return a row with, below its own keys, those of its line and of the case file it names."""
    if not isinstance(row, Mapping):
        raise InputError(f"hole number {number}: expected keys, '- name: H1' and others below")
    label = f"hole {str(row.get(NAME) or f'number {number}')[:60]}"
    nested = (key for key, value in row.items() if not isinstance(value, str))
    refuse(f"{label}: {key[:60]}: expected one value" for key in nested)
    own = dict(row)
    sources: Mapping[str, Callable[[str], Row]] = {
        CASE: lambda said: load_text(files.beside(folder, said)),
        JOINT: lambda said: {each.key: each.value for each in tokens(said)},
    }
    found: dict[str, str] = {}
    for key, keys_of in sources.items():
        said = own.pop(key, "").strip()
        try:
            found |= keys_of(said) if said not in NOTHING else {}
        except InputError as error:
            lines = str(error).splitlines()
            raise InputErrors(f"{label}: {key}: {line}" for line in lines) from None
    return {**{key: value for key, value in found.items() if key not in DOCUMENT}, **own}


def _table(folder: Path, name: str) -> list[Row]:
    try:
        sheet = sheets.read(files.beside(folder, name))
    except InputError as error:
        raise InputError(f"holes: {error}") from None
    sheet = of_cases(sheet, name, NAME, CASE, JOINT)
    refuse(f"{name}: {fault}" for fault in sheet.faults)
    return [{key: cell for key, cell in row.items() if cell.strip()} for _, row in sheet.records]


def of_cases(sheet: sheets.Sheet, named: object, *others: str) -> sheets.Sheet:
    """Return a table of cases with decimal points where its quantities have decimal commas.

    Raises
    ------
    InputErrors
        If a column is no key of a case nor one of the others, or stands there twice.
    """
    known, header = (*keys(), *others), sheet.header
    if sheet.faults and not set(known) & set(header):
        raise InputError.of("header_names_no_key", named=named, sheet=sheet)
    faults = [str(unknown("column", x[:80], known, count=1)) for x in header if x not in known]
    twice = (name for name in sorted(set(known)) if header.count(name) > 1)
    faults += [f"column {name!r} is given more than once" for name in twice]
    if faults:
        raise InputErrors(f"{named}: {fault}" for fault in (*faults, *sheet.faults))
    said = "a spreadsheet made this date of what was typed; format the cell as text, type it again"
    dates = (
        sheets.Fault(row=row, column=key, text=f"{cells[key]}: {said}")
        for row, cells in sheet.records
        for key in sorted({"thread", "screw", "parent", *quantities()} & set(header))
        if _DATE.fullmatch(cells[key])
    )
    if sheet.words:
        print(f"{named}: {sheet.words}", file=sys.stderr)
    sheet = replace(sheet, faults=(*sheet.faults, *dates))
    return sheet.quantities(at for at, name in enumerate(header) if name in quantities())


class _Loader(TextLoader):
    """The same in which no key is given twice."""

    def compose_node(self, parent: Any, index: Any) -> Any:
        node = super().compose_node(parent, index)
        if isinstance(node, yaml.MappingNode):
            seen = set[str]()
            for key, _ in node.value:
                if key.value in seen:
                    line = key.start_mark.line + 1
                    raise InputError(f"line {line}: {shown(key.value)} is given more than once")
                seen.add(f"{key.value}")
        return node


def _yaml(path: Path) -> dict[str, Any]:
    text = files.text(path, largest=_LARGEST, what="a file of a part")
    try:
        found = yaml.load(text, Loader=_Loader)
    except InputError as error:
        raise InputError(f"{path.name}: {error}") from None
    except yaml.MarkedYAMLError as error:
        line = error.problem_mark.line + 1 if error.problem_mark else 1
        raise InputError.of("part_not_yaml", path=path, line=line, error=error) from None
    except (yaml.YAMLError, RecursionError) as error:
        said = " ".join(str(error).split())[:200]
        raise InputError(f"{path.name}: not YAML ({said})") from None
    if not isinstance(found, dict) or not all(isinstance(key, str) for key in found):
        raise InputError(f"{path.name}: expected lines 'key: value' and a list of holes")
    return found


#: A longer list is a slip of the typing: no document is about so many parts.
_MOST_SERIALS = 1000

_SEVERAL = re.compile(r"(?P<head>.*?)(?P<first>\d+)\s+(?:[Tt][Oo]|–)\s+(?P=head)(?P<last>\d+)\Z")


def serial_numbers(text: str) -> tuple[str, ...]:
    """Return each serial number that a text lists.

    Raises
    ------
    InputError
        If one is named twice, or a range runs backwards or beyond all measure.

    Examples
    --------
    >>> serial_numbers("A-098 to A-101; 7")
    ('A-098', 'A-099', 'A-100', 'A-101', '7')
    """
    found: list[str] = []
    for part in filter(None, (part.strip() for part in re.split("[,;\n]", text))):
        found += _range(part)
        if len(found) > _MOST_SERIALS:
            raise InputError(f"{part[:60]!r} makes more than {_MOST_SERIALS} serial numbers")
    twice = next((each for each in found if found.count(each) > 1), None)
    if twice is not None:
        raise InputError(f"{twice[:60]!r} is named twice")
    return tuple(found)


def listed(serials: Iterable[str]) -> str:
    """Return serial numbers as one lists them: three or more in a row as a range.

    Examples
    --------
    >>> listed(["A-098", "A-099", "A-100", "7", "8"])
    'A-098 to A-100, 7, 8'
    """
    runs: list[list[str]] = []
    for each in serials:
        if runs and each == _next(runs[-1][-1]):
            runs[-1].append(each)
        else:
            runs.append([each])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def _next(serial: str) -> str:
    """Return the serial number after one that ends in a number, as a range counts; else nothing."""
    found = re.fullmatch(r"(?P<head>.*?)(?P<number>\d+)", serial)
    if found is None:
        return ""
    return f"{found['head']}{int(found['number']) + 1:0{len(found['number'])}}"


def _range(part: str) -> list[str]:
    several = _SEVERAL.match(part)
    if several is None:
        return [part]
    first, last = int(several["first"]), int(several["last"])
    if not first < last <= first + _MOST_SERIALS:
        raise InputError.of("no_range_of_serials", part=part[:60], most_serials=_MOST_SERIALS)
    digits = len(several["first"])
    return [f"{several['head']}{number:0{digits}}" for number in range(first, last + 1)]
