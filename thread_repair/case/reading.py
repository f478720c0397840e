"""Read a case: YAML to text, text to values, every fault in one go."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal, get_args

import attrs
import cattrs
import yaml

from .. import threads
from ..errors import InputError, InputErrors, nearest, unknown
from ..units import parse
from .checks import contradictions
from .schema import Case, Factor, Force, Length, Share, Stress, Temperature, Text, Torque, keys

#: Which kind of quantity each type of the schema is.
DIMENSIONS: Mapping[object, str] = {
    Length: "length",
    Force: "force",
    Stress: "stress",
    Temperature: "temperature",
    Torque: "torque",
}
#: No text of a real case is longer; a longer one is a mistake or an attack.
_LONGEST_TEXT = 4000
_LONGEST_NAME = 200
_LONGEST_FILE = 100_000


def load(path: str | Path) -> Case:
    """Read a case file.

    Raises
    ------
    InputError
        If the file is missing or is not flat YAML.
    InputErrors
        With one sentence for each fault of the content.
    """
    return read(load_text(path), folder=folder(path))


def folder(path: str | Path) -> Path:
    """Return the folder of a case, given its file or the folder itself."""
    file = Path(path)
    return file if file.is_dir() else file.parent


def load_text(path: str | Path) -> Mapping[str, str]:
    """Read a case file as key and text, without understanding the values."""
    file = Path(path)
    try:
        if file.is_dir():
            file = file / "case.yaml"
        if file.stat().st_size > _LONGEST_FILE:
            raise InputError(f"{file}: larger than {_LONGEST_FILE} bytes, not a case file")
        text = file.read_text("utf-8")
    except OSError as error:
        raise InputError(f"case {str(file)!r} cannot be read: {error.strerror}") from None
    except UnicodeDecodeError:
        raise InputError(f"{file}: not UTF-8 text") from None
    return _flat(text, file)


class _TextLoader(yaml.BaseLoader):
    """YAML of one level in which every scalar stays text (10.9 stays "10.9"), without aliases."""

    def compose_node(self, parent: Any, index: Any) -> Any:
        if self.check_event(yaml.AliasEvent):
            raise yaml.YAMLError("anchors and aliases are not used in a case file")
        # Refused as soon as it is met: the time to read a nest grows with the square of its depth.
        if parent is not None and not self.check_event(yaml.ScalarEvent):
            raise _NestedError(self.line + 1)
        return super().compose_node(parent, index)


class _NestedError(Exception):
    """A list or a mapping where one value should stand, in the line given."""


def _flat(text: str, file: Path) -> Mapping[str, str]:
    try:
        loader = _TextLoader(text)
        try:
            node = loader.get_single_node()
            pairs = [] if node is None else _pairs(node, file)
        finally:
            loader.dispose()
    except _NestedError as error:
        raise InputError(
            f"{file}: line {error}: expected 'key: value' on one level, without lists or "
            "nested keys"
        ) from None
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark
        line = f" line {mark.line + 1}" if mark else ""
        raise InputError(f"{file}:{line} is not YAML: {error.problem}") from None
    except (yaml.YAMLError, RecursionError) as error:
        raise InputError(f"{file}: is not a case file: {error}") from None
    repeated = sorted({key for key, _ in pairs if [k for k, _ in pairs].count(key) > 1})
    if repeated:
        raise InputErrors(f"key {key!r} is given more than once" for key in repeated)
    return dict(pairs)


def _pairs(node: yaml.Node, file: Path) -> list[tuple[str, str]]:
    if not isinstance(node, yaml.MappingNode):
        raise InputError(f"{file}: expected lines 'key: value'")
    return [(key.value, value.value) for key, value in node.value]


def from_namespace(names: Mapping[str, object]) -> Case:
    """Understand the parameters of a notebook: the known keys among its variables.

    A variable `case_folder` says where the files named in the case stand: as seen from the current
    folder or, where that has no such folder, from the folder of the shipped notebooks.
    """
    given = Path(str(names.get("case_folder", ".")))
    shipped = Path(__file__).parents[2] / "notebooks" / given
    return read(
        {key: names[key] for key in keys() if key in names},
        folder=shipped if shipped.is_dir() and not given.is_dir() else given,
    )


def read(entered: Mapping[str, object], *, folder: Path | None = None) -> Case:
    """Understand a flat mapping of keys; empty values count as not given.

    `folder` is where the files that the case names stand.

    Raises
    ------
    InputErrors
        With one sentence for each fault.
    """
    given = {str(key): _as_text(value) for key, value in entered.items()}
    given = {key: value for key, value in given.items() if value.strip() not in ("", "~", "null")}
    faults = [str(unknown("key", key[:80], keys(), count=1)) for key in given if key not in keys()]
    known = {key: value for key, value in given.items() if key in keys()}
    diameter = None
    if "thread" in known:
        try:
            diameter = threads.thread(known["thread"]).major
        except InputError:
            diameter = 1.0  # the thread's own fault is reported; lengths in D are still read
    try:
        case: Case = _converter(diameter).structure(
            {**known, "entered": given, "folder": folder}, Case
        )
    except cattrs.ClassValidationError as group:
        raise InputErrors([*faults, *_sentences(group)]) from None
    faults += contradictions(case)
    if faults:
        raise InputErrors(faults)
    return case


def _as_text(value: object) -> str:
    """Write a typed parameter (papermill turns 8.8 into a float) as it stood in the file."""
    if value is None:
        return ""
    if isinstance(value, (bool, Mapping, list, tuple, bytes)):
        return f"{value!r}"
    return str(value)


@lru_cache(maxsize=64)  # building one takes longer than reading a case with it
def _converter(diameter: float | None) -> cattrs.Converter:
    """Build the reader; 1 D means the given diameter."""
    converter = cattrs.Converter(detailed_validation=True)
    for kind, dimension in DIMENSIONS.items():
        _register(converter, kind, dimension, diameter)
    converter.register_structure_hook_func(
        lambda t: t is Factor or t == Factor | None, lambda v, _: _factor(v)
    )
    converter.register_structure_hook_func(
        lambda t: t is Share or t == Share | None, lambda v, _: _share(v)
    )
    converter.register_structure_hook_func(lambda t: t is Text, lambda v, _: _text(v))
    converter.register_structure_hook_func(lambda t: t == Path | None, lambda v, _: v)
    converter.register_structure_hook(int, lambda v, _: _count(v))
    converter.register_structure_hook(str, lambda v, _: _name(v))
    converter.register_structure_hook_func(
        lambda t: getattr(t, "__origin__", None) is Literal, lambda v, t: _word(v, get_args(t))
    )
    return converter


def _register(
    converter: cattrs.Converter, kind: Any, dimension: str, diameter: float | None
) -> None:
    """Let the converter read one kind of quantity, given or left out."""
    converter.register_structure_hook_func(
        lambda t: t is kind or t == kind | None,
        lambda value, _: parse(value, dimension, diameter=diameter),
    )


def _factor(value: str) -> float:
    try:
        number = float(value)
    except ValueError:
        number = math.nan
    if not (0 < number < math.inf):
        raise InputError(
            f"{value[:60]!r} is not a factor; expected a number above zero, such as 0.4 or 1.5"
        )
    return number


#: A strength or a load that scatters more than this is not known at all.
_MOST_SCATTER = 0.4


def _share(value: str) -> float:
    text = value.strip()
    try:
        number = float(text.removesuffix("%")) / (100 if text.endswith("%") else 1)
    except ValueError:
        number = math.nan
    if not 0 < number < _MOST_SCATTER:
        raise InputError(
            f"{value[:60]!r} is not a scatter; expected a share above 0 and below "
            f"{_MOST_SCATTER:g}, such as '4 %' or 0.04"
        )
    return round(number, 12)


def _count(value: str) -> int:
    if not value.isdecimal() or not int(value[:9]) > 0 or len(value) > 9:
        raise InputError(
            f"{value[:60]!r} is not a count; expected a whole number from 1 to {10**9 - 1}"
        )
    return int(value)


def _text(value: str) -> str:
    if len(value) > _LONGEST_TEXT:
        raise InputError(f"the text has {len(value)} characters; at most {_LONGEST_TEXT} fit")
    return value.strip()


def _name(value: str) -> str:
    if len(value) > _LONGEST_NAME:
        raise InputError(f"{value[:60] + '...'!r} is longer than any name that is known")
    return value


def _word(value: str, choices: tuple[str, ...]) -> str:
    folded = {choice.casefold(): choice for choice in choices}
    word = value.strip().casefold().replace("_", "-").replace(" ", "-")
    if word not in folded:
        close = nearest(value[:60], choices)
        hint = f"; did you mean {' or '.join(map(repr, close))}?" if close else ""
        raise InputError(f"{value[:60]!r} is not one of {', '.join(choices)}{hint}")
    return folded[word]


def _sentences(group: cattrs.ClassValidationError) -> Iterator[str]:
    """Turn the collected exceptions of cattrs into sentences that begin with the key."""
    with_note, without = group.group_exceptions()
    for error, note in with_note:
        if isinstance(error, KeyError):
            yield f"{note.name}: missing; expected {_help(note.name)}"
        else:
            yield f"{note.name}: {error}"
    for error in without:
        if isinstance(error, KeyError):
            name = str(error.args[0])
            yield f"{name}: missing; expected {_help(name)}"
        else:
            yield str(error)


def _help(name: str) -> str:
    return str(attrs.fields_dict(Case)[name].metadata["help"])
