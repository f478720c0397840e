"""What each value of a case means: text to mm, N, MPa, degC and words, every fault in one go.

A case from a file, from a notebook and from Python goes through `settle`, called by `Case` itself.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeAlias

import attrs

from .. import files, threads
from ..errors import InputError, nearest, refuse
from ..facts import Quantity
from ..units import DIMENSIONS, parse, plain, printed, unit_inside
from .checks import contradictions
from .schema import KEYS, Case

_Field: TypeAlias = "attrs.Attribute[Any]"

#: No code asks for a factor beyond these; a part of something is never smaller.
_FACTORS = (1e-3, 1e3)
#: A strength or a load that scatters more than this is not known at all.
_MOST_SCATTER = 0.4
#: No text of a real case is longer; a longer one is a mistake or an attack.
_LONGEST_TEXT = 4000
_LONGEST_NAME = 200
#: What a value may be that counts as not given: nothing, or what YAML reads as nothing.
NOTHING = ("", "~", "null", "Null", "NULL")


class Unread(str):
    """Stands for a value that its file does not hold in a readable way: the sentence on it."""

    __slots__ = ()


def as_text(value: object) -> str:
    """Write a typed parameter (papermill turns 8.8 into a float, no into a bool) as in the file."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (Mapping, list, tuple, bytes)):
        return f"{value!r}"
    return str(value)


def settle(case: Case) -> None:
    """Put what is meant in the place of what was given, and check that it can be.

    `entered` is brought in line: a value that it does not say is written into it.

    Raises
    ------
    InputErrors
        With one sentence for each fault, which begins with the key.
    """
    faults: list[str] = []
    at_fault: set[str] = set()
    entered: dict[str, str] = {}
    diameter = _diameter(case.thread)
    for name, field in KEYS.items():
        given, said, value = getattr(case, name), case.entered.get(name), field.default
        if given is value and said is None:
            continue
        try:
            value = _value(field, given, diameter)
            if said is not None and said != given and _means(said, value, field, diameter):
                given = said
        except InputError as error:
            at_fault.add(name)
            faults.append(str(error) if isinstance(given, Unread) else f"{name}: {error}")
            value = None if value is attrs.NOTHING else value
        object.__setattr__(case, name, value)
        if (text := as_text(given)).strip() not in NOTHING:
            entered[name] = text
    object.__setattr__(case, "entered", MappingProxyType(entered))
    object.__setattr__(case, "folder", None if case.folder is None else Path(case.folder))
    faults += contradictions(case, at_fault)
    refuse(_in_typed_units(case, each) for each in faults)


#: What each SI unit is of, as it stands in a sentence.
_OF = {unit_inside(name): name for name in DIMENSIONS}
#: A text that is quoted, else one or two numbers in such a unit.
_IN_SI = re.compile(
    r"""(?<!\w)'[^']*'|"[^"]*"|(?<![\w.+-])"""
    r"""(?P<ends>-?\d+(\.\d+)?( to \d+(\.\d+)?)?) (?P<unit>mm|degC|N·m|N|MPa)\b"""
)


def _in_typed_units(case: Case, fault: str) -> str:
    """Give the quantities of a sentence in inch units, where its key was typed in such a unit.

    So lengths are in a case that is reported in inch, where the entry names no other unit. A bound
    is rounded so that it is kept: up, and down where it is the most there may be.
    """
    typed = case.entered.get(fault.partition(":")[0], "").strip()
    unnamed = case.report_units == "inch" and (not typed or typed.endswith("D"))

    def own(found: re.Match[str]) -> str:
        dimension = _OF[found["unit"] or "mm"]
        ending, unit, parts = DIMENSIONS[dimension].typed
        if not found["unit"] or not (unnamed or re.search(ending, typed)):
            return found[0]
        told = (printed(float(each), dimension, "inch") for each in found["ends"].split(" to "))
        *first, last = (round(each * parts, 1) for each in told)
        most = first or fault[: found.start()].endswith("at most ")
        ends = (*map(math.ceil, first), (math.floor if most else math.ceil)(last))
        return f"{' to '.join(f'{each / parts:.10g}' for each in ends)} {unit}"

    return _IN_SI.sub(own, fault)


def _diameter(thread: object) -> float:
    """What 1 D is, mm; of an unknown thread, whose fault is told anyway, any length will do."""
    try:
        return threads.thread(as_text(thread)).major
    except InputError:
        return 1.0


def _value(field: _Field, given: object, diameter: float) -> object:
    if isinstance(given, Unread):
        raise InputError(given)
    text = as_text(given)
    if text.strip() not in NOTHING:
        return _read(field, text, diameter)
    if field.default is attrs.NOTHING:
        raise InputError(f"missing; expected {field.metadata['help']}")
    return field.default


def _read(field: _Field, text: str, diameter: float) -> object:
    text = text.strip()
    if choices := field.metadata["choices"]:
        return _word(text, choices)
    if dimension := field.metadata["dimension"]:
        return _quantity(text, dimension, diameter)
    return _READERS[field.metadata["kind"]](text)


def _means(said: str, value: object, field: _Field, diameter: float) -> bool:
    """Whether a text still says a value that may have been replaced since."""
    try:
        return _read(field, said, diameter) == value
    except InputError:
        return False


def understood(case: Case) -> Mapping[str, Quantity | str]:
    """Return every key that has a value, as a quantity or as text.

    Examples
    --------
    >>> from .reading import read
    >>> case = read({"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "0.5 in",
    ...              "insert_length": "1.5 D"})
    >>> understood(case)["engagement"]
    Quantity(value=12.7, dimension='length')
    """
    found: dict[str, Quantity | str] = {}
    for name, field in KEYS.items():
        value = getattr(case, name)
        if dimension := value is not None and field.metadata["dimension"]:
            found[name] = Quantity(value, dimension)
        elif value is not None and value != "":
            found[name] = f"{value:.10g}" if isinstance(value, float) else str(value)
    return found


@cache
def quantities() -> frozenset[str]:
    """Return the keys whose values are numbers, with or without a unit."""
    words = ("friction", "insert_friction")  # from and to
    return frozenset(
        name
        for name, field in KEYS.items()
        if field.metadata["dimension"]
        or field.metadata["kind"] in ("Factor", "Share")
        or name in words
    )


def _quantity(text: str, dimension: str, diameter: float) -> float:
    value = parse(text, dimension, diameter=diameter)
    least, most = DIMENSIONS[dimension].bounds
    if value <= 0 and dimension != "temperature":
        raise InputError(f"{text[:60]!r} must be above zero")
    if not least <= value <= most:
        limits = plain(least, most, dimension=dimension, as_typed=True, joined=" to ")
        raise InputError(f"{text[:60]!r} can be of no joint; expected {limits}")
    return value


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _factor(text: str) -> float:
    number, (least, most) = _number(text), _FACTORS
    if not least <= number <= most:
        raise InputError.of(
            "no_factor", entered=text[:60], least=least, most=most, hint=_as_factor(text)
        )
    return number


def _as_factor(text: str) -> str:
    """Return how a factor in per cent or with a decimal comma is written, else nothing."""
    match = re.fullmatch(r"\s*(\d+)(?:[.,](\d+))?\s*(%?)\s*", text)
    if match is None or not (match[3] or "," in text):
        return ""
    number = float(f"{match[1]}.{match[2] or 0}") / (100 if match[3] else 1)
    return f"; write {number:g}"


def _share(text: str) -> float:
    number = _number(text.removesuffix("%")) / (100 if text.endswith("%") else 1)
    if not 0 < number < _MOST_SCATTER:
        raise InputError.of("no_scatter", entered=text[:60], most_scatter=_MOST_SCATTER)
    return round(number, 12)


def _count(text: str) -> int:
    # `isdecimal` knows other digits than ours, which nobody types here on purpose
    if not (text.isascii() and text.isdecimal() and len(text) <= 9 and int(text) > 0):
        raise InputError.of("no_count", entered=text[:60], most=10**9 - 1)
    return int(text)


def _text(text: str) -> str:
    if len(text) > _LONGEST_TEXT:
        raise InputError(f"the text has {len(text)} characters; at most {_LONGEST_TEXT} fit")
    if half := re.search(r"[\ud800-\udfff]", text):
        raise InputError(f"the text holds {half[0]!r}, half of a character; type it anew")
    return text


def _name(text: str) -> str:
    if len(text) > _LONGEST_NAME:
        raise InputError(f"{text[:60] + '...'!r} is longer than any name that is known")
    return text


def _word(text: str, choices: tuple[str, ...]) -> str:
    folded = {choice.casefold(): choice for choice in choices}
    word = text.casefold().replace("_", "-").replace(" ", "-")
    renamed, meant = (files.data("case_words.toml")[x].get(word) for x in ("renamed", "meant"))
    if renamed in choices:
        raise InputError(f"{text!r} is no longer used; write {renamed!r}")
    if meant in choices and word in ("true", "false"):  # as papermill and spreadsheets have them
        return meant
    if word not in folded and meant in choices:
        raise InputError(f"{text[:60]!r} is not one of {', '.join(choices)}; write {meant!r}")
    if word not in folded:
        close = nearest(text[:60], choices)
        hint = f"; did you mean {' or '.join(map(repr, close))}?" if close else ""
        raise InputError(f"{text[:60]!r} is not one of {', '.join(choices)}{hint}")
    return folded[word]


#: What reads a value that has neither a unit nor a list of words, by its kind.
_READERS: Mapping[str, Callable[[str], object]] = {
    "Factor": _factor, "Share": _share, "Text": _text, "int": _count, "str": _name,
}  # fmt: skip
