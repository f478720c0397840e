"""Read a case from a file, a mapping or the variables of a notebook; every fault in one go."""

import ast
import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import Any

from .. import files
from ..errors import InputError, InputErrors, message, nearest, shown
from ..joint.records import Joint
from . import gate, physical
from .flat_yaml import Flat, flat
from .schema import NEEDED, Case, keys
from .understanding import NOTHING, Unread, as_text

_LONGEST_FILE = 100_000


def load(path: str | Path) -> Case:
    """Read a case file.

    Parameters
    ----------
    path : str or Path
        The file, or a folder with a `case.yaml`.

    Returns
    -------
    Case
        Lengths in mm, forces in N, stresses in MPa, temperatures in degC.

    Raises
    ------
    InputError
        If the file is missing or holds no line of a case.
    InputErrors
        With one sentence for each fault of the file, of its lines as of its content.
    """
    if not isinstance(path, str | os.PathLike):
        raise InputError(f"expected the path of a case file or its folder, got {path!r:.60}")
    found = _file(path)
    read_keys = {key for key, value in found.values.items() if not isinstance(value, Unread)}
    if found.all_faults and not read_keys & set(keys()):
        raise _no_case(path, found)
    if not found.values:
        raise InputError.of("no_line_of_case", path=path)
    return _read(found.values, folder=folder(path), faults=found.faults)


def folder(path: str | Path) -> Path:
    """Return the folder of a case, given its file or the folder itself."""
    file = Path(path)
    return file if file.is_dir() else file.parent


def load_text(path: str | Path) -> Mapping[str, str]:
    """Read a case file as key and text, without understanding the values."""
    found = _file(path)
    if found.all_faults:
        raise _no_case(path, found)
    return found.values


def _file(path: str | Path) -> Flat:
    file = Path(path)
    if os.path.isdir(file):  # which no name breaks, as Path's own does one too long
        file = _of_folder(file)
    if os.path.isfile(file):
        check_suffix(file)
    return of_text(files.text(file, largest=_LONGEST_FILE, what="a case file", named="case "), file)


def check_suffix(file: Path) -> None:
    """Refuse what by its name is another file than that of a case."""
    if file.suffix in _OTHER_FILES:
        raise InputError(f"{file}: {_OTHER_FILES[file.suffix]}, not a case file")


def of_text(text: str, file: Path) -> Flat:
    """Read the text of a case file, unless it is the file of a part with several holes."""
    found = flat(text)
    if _OF_PART in found.values:
        raise InputError.of("part_for_case", path=file)
    return found


#: The key that makes a file one of a part with several holes.
_OF_PART = "holes"

#: What is easily given in place of a case file.
_OTHER_FILES: Mapping[str, str] = files.data("case_words.toml")["other_files"]


def _of_folder(folder: Path) -> Path:
    """Return the case file of a folder.

    Raises
    ------
    InputError
        If it has none; names the files that may be meant.
    """
    file = folder / "case.yaml"
    others = sorted(each.name for each in folder.glob("*.y*ml"))
    if others == ["submission.yaml"]:
        return folder / others[0]  # and told for what it is
    if not file.exists():
        hint = f"; did you mean {str(folder / others[0])!r}?" if others else ""
        raise InputError(f"{folder}: no case.yaml in this folder{hint}")
    return file


def _no_case(path: str | Path, found: Flat) -> InputErrors:
    return InputErrors(f"{path}: {fault}" for fault in found.all_faults)


def from_namespace(names: Mapping[str, object]) -> Case:
    """Understand the parameters of a notebook: the known keys among its variables.

    A variable `case_folder` says where the files named in the case stand: as seen from the current
    folder or, where that has no such folder, from the folder of the shipped notebooks. Where
    papermill hands over a whole case, as by `-f case.yaml`, what it does not say is not given: the
    notebook's own parameters are those of another, and so is its folder, unless just this case
    stands in it.

    Parameters
    ----------
    names : mapping of str to object
        Such as `globals()`; what is no key is passed over.

    Returns
    -------
    Case

    Raises
    ------
    InputErrors
        As `read`; also for a variable that looks like a misspelt key.
    """
    check_keys(names)
    replaced = _of_another_case(names.get("In", ()))
    own = {key: value for key, value in names.items() if key not in replaced}
    said = {key: own[key] for key in keys() if key in own}
    its, given = (_from_notebooks(each.get("case_folder", ".")) for each in (names, own))
    if "case_folder" in replaced and _stands_in(its, said):
        given = its
    return _read(said, folder=given, faults=list(_misspelt(names)))


def _from_notebooks(folder: object) -> Path:
    """Return a folder as seen from here, or else from the shipped notebooks."""
    given = Path(str(folder))
    shipped = Path(__file__).parents[2] / "notebooks" / given
    return shipped if shipped.is_dir() and not given.is_dir() else given


def _stands_in(folder: Path, said: Mapping[str, object]) -> bool:
    """Whether the case file of a folder says the same."""
    with suppress(InputError):
        return _read(said, folder=folder, faults=[]) == load(folder)
    return False


def read(entered: Mapping[str, object], *, folder: Path | None = None) -> Case:
    """Understand a flat mapping of keys; empty values count as not given.

    Parameters
    ----------
    entered : mapping of str to object
        Keys as in a case file: "12 mm", "1.5 D", "8 kN"; a bare number is in mm, N, MPa or degC.
    folder : Path, optional
        Where the files that the case names stand.

    Returns
    -------
    Case

    Raises
    ------
    InputErrors
        With one sentence for each fault.

    Examples
    --------
    >>> case = read({"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "1 D",
    ...              "insert_length": "0.5 in"})
    >>> case.engagement, case.insert_length
    (8.0, 12.7)
    """
    return _read(entered, folder=folder, faults=[])


@lru_cache(maxsize=512)
def joint_of(**entered: object) -> Joint:
    """Return the joint of a few keys; those that a case needs and that are not named are usual.

    Raises
    ------
    InputErrors
    """
    usual = {"thread": "M8", "screw": "8.8", "parent": "6061-T6"}
    lengths = {"engagement": "1.5 D", "insert_length": "1.5 D"}
    return physical.joint(read({**usual, **lengths, **entered}))


def _read(entered: Mapping[str, object], *, folder: Path | None, faults: list[str]) -> Case:
    check_keys(entered)
    given: dict[str, Any] = {
        str(key): value if isinstance(value, Unread) else as_text(value)
        for key, value in entered.items()
    }
    given = {key: value for key, value in given.items() if value.strip() not in NOTHING}
    known = set(keys())
    faults = [*faults, *(f"{key[:80]}: {unknown_key(key)}" for key in given if key not in known)]
    known_only = {key: value for key, value in given.items() if key in known}
    try:
        case = Case(
            **{**dict.fromkeys(NEEDED, ""), **known_only}, entered=known_only, folder=folder
        )
    except InputErrors as error:
        raise InputErrors([*faults, *error.faults]) from None
    if faults:
        raise InputErrors([*faults, *gate.document_faults(case)])
    return case


def check_keys(entered: object) -> None:
    """Refuse what is no mapping of keys to values."""
    if not isinstance(entered, Mapping):
        raise InputError.of("keys_with_values", entered=shown(entered))


def unknown_key(key: str, *others: str) -> str:
    """Say that a key is none of a case, nor one of others, and which is near."""
    known, words = (*keys(), *others), set(key.split("_"))
    same = [name for name in known if (own := set(name.split("_"))) <= words or words <= own]
    # names of the same words ("load", "tightening_torque") and slips of the pen; else what is near
    slips = nearest(key, known, count=1, likeness=_LIKENESS)
    near = tuple(dict.fromkeys((*same, *slips)))[:3] or nearest(key, known)
    return f"unknown key; did you mean {' or '.join(map(repr, near))}?" if near else "unknown key"


#: Names a notebook may hold beside the keys.
_OTHER_NAMES = ("case_folder",)


def _misspelt(names: Mapping[str, object]) -> Iterator[str]:
    """Yield a sentence for each variable that was meant as a key and is none.

    Meant so is what a cell of assignments alone assigns beside keys, as the parameters cell does,
    or what papermill hands over, and any text or number whose name is near to a key's.
    """
    beside_keys = _assigned_beside_keys(names.get("In", ()))
    known = keys()
    for name, value in names.items():
        plain = isinstance(value, (str, int, float))
        if not plain or name in known or name in _OTHER_NAMES or name.startswith("_"):
            continue
        near = nearest(name, known, count=1, likeness=_LIKENESS)
        if near or name in beside_keys:
            hint = f"; did you mean {near[0]!r}?" if near else ""
            yield message("no_parameter_of_case", name=name, hint=hint)


#: Share of letters in common from which a name is taken for a key: 'boss_diametre' has 0.92,
#: 'state' against 'status' 0.73.
_LIKENESS = 0.8


#: How papermill begins the cell in which it hands over parameters.
_INJECTED = "# Parameters"


def _assigned_beside_keys(cells: object) -> set[str]:
    """Names that the run cells of a notebook assign where they assign keys and do nothing else."""
    found: set[str] = set()
    for source, targets, alone in _assignments(cells):
        if alone and (source.startswith(_INJECTED) or set(targets) & set(keys())):
            found |= set(targets)
    return found


def _of_another_case(cells: object) -> set[str]:
    """Names of the notebook's own parameters alone, where papermill hands over a whole case."""
    assigned, replaced = set[str](), set[str]()
    for source, targets, _ in _assignments(cells):
        if source.startswith(_INJECTED) and set(targets) >= NEEDED:
            replaced |= assigned
        replaced -= set(targets)
        assigned |= set(targets)
    return replaced


def _assignments(cells: object) -> Iterator[tuple[str, list[str], bool]]:
    """Yield the run cells with the names that they assign, and whether they do nothing else."""
    for source in cells if isinstance(cells, (list, tuple)) else ():
        try:
            body = ast.parse(source).body
        except (SyntaxError, TypeError, ValueError):  # a cell with a magic line, or no text
            continue
        targets = [
            target.id
            for line in body
            if isinstance(line, ast.Assign)
            for target in line.targets
            if isinstance(target, ast.Name)
        ]
        yield source, targets, len(targets) == len(body)
