"""A joint said in one line, as the trade says it: the case keys it gives, and what is assumed.

"M8 6082-T6 8.8 blind 20" is read word by word, in any order, by these rules:

1. `key=value` gives any key of a case.
2. A word of `_MEASURES` (blind, boss, edge, load, ...) takes the quantity behind it, else the one
   before it: "boss 20", "20 deep"; with one on either side it is refused, unless a comma takes the
   second away: "20 deep, 2D". Words that join, such as
   in, with, hole and screw, may stand anywhere; between a word and its quantity only a few.
3. The longest run of words that is a name of a thread, a parent or a screw is that name. A property
   class has its point: 8.8 is a screw, 88 is none; a length of 8.8 needs its mm.
4. A quantity without such a word goes by its unit: diameters (2D) to the insert, beside blind and
   through too, newtons and pounds-force to the load, newton metres to the torque, degrees to the
   temperature.
5. A length without a word is the full thread of the original hole, but not beside a word that says
   what else has that length ("screw 25 mm", "hole 8.3", "oversize 10.2"). A bare number is a
   length in mm, a bare fraction one in inches; loads, torques and temperatures have their units.
   `inch` or `SI` alone choose the units of the answer.
6. What is left is refused, with the nearest that is known, as is a second value of one key.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import NamedTuple, get_args

from .. import files, materials, threads, units
from ..errors import InputError, ThreadRepairError, UnknownNameError, nearest, shown
from .schema import HoleCondition, keys


@dataclass(frozen=True, slots=True)
class Token:
    """Some words of the line, and the key and value that they gave."""

    words: str
    key: str
    value: str


#: Longer text is no designation of a joint.
_LONGEST = 300
#: A bare number from here on is no length in mm of a tapped joint but half a name: 356, 6082.
_NO_LENGTH = 100
_MOST_WORDS = 5  # of a name, as "EN AC 42100 T6 mould"

#: What a word says of the quantity beside it: key and dimension; and what it says by itself.
_MEASURES: Mapping[str, tuple[str, str]] = files.data("asked.toml")["measures"]
_WORDS: Mapping[str, tuple[str, str]] = {
    **{each: ("hole_condition", each) for each in get_args(HoleCondition)},
    **files.data("asked.toml")["words"],
}
#: What a word says only with its quantity: "20 deep" is a blind hole, "depth of thread" is none.
_BESIDE: Mapping[str, tuple[str, str]] = files.data("asked.toml")["beside"]
#: Words that join others and say nothing of their own; those that may stand between a word and its
#: quantity; and those that say of a length behind or beside them that it is not the full thread.
_JOINING, _LINKS, _PLACES, _OTHERS = (
    frozenset(files.data("asked.toml")[each]) for each in ("joining", "links", "places", "others")
)
#: Beside these a depth may be that of the thread or that of the hole.
_OF_THREAD = frozenset(("thread", "tap", "tapped"))
#: The key that a quantity without a word gives, by its dimension.
_ALONE: Mapping[str, str] = files.data("asked.toml")["alone"]
#: What to write for words of other languages, and those.
_FOREIGN: Mapping[str, Sequence[str]] = files.data("asked.toml")["foreign"]
_NUMBER = re.compile(r"[+-]?(?:\d+/\d+|\d+(?:[.,]\d+)?|\.\d+)(?![\d/.,])")
#: A fraction that needs no unit, as a rule of inches is divided: 3/8, not 20/25 nor 10/32.
_INCHES = re.compile(r"\d*[13579]/(?:2|4|8|16|32|64)")
#: What a thread begins like; a bare number never is one.
_THREAD = re.compile(
    r"(?i)(?:M\s?\d|#|NO\.?\s?\d|(?:UNR?E?[CFS]?|BS[WF])\s[\d#]|"
    r"(?:\d+[ -])?\.?\d+(?:[./]\d+)?\s?\"?(?:-\d|\s?(?:UN|BS|WHIT)))"
)
#: A thread in millimetres, wherever it begins.
_METRIC = re.compile(r"(?i)M\d")
#: A bare number that reads as the class of a screw: their second figure is 6, 8 or 9.
_LIKE_CLASS = re.compile(r"1?\d\.[689]")
#: Where a number stands at its word, as in "blind20" and "20deep".
_STUCK = re.compile(
    rf"(?i)(?<=\d)(?=(?:{'|'.join(_MEASURES)})\b)|(?:(?<=blind)|(?<=boss)|(?<=edge)|(?<=deep))(?=\d)"
)
#: Stands for a comma or a semicolon, right behind a word.
_COMMA = "\0"
#: Two numbers that no class joins, as they are in "A2 70".
_APART = re.compile(r"(?i)(?:^|[a-z] )\d+ \d")
_SCREW = re.compile(r"(?i)\d{1,2}\.\d|A\d(?:-\d+)?|(?:sae )?(?:grade|gr\.?) ?\d|J429.*|\d+-?ksi")


def ask(line: str) -> tuple[Token, ...]:
    """Read a line that names a thread and its parent.

    Raises
    ------
    InputError
        One sentence on the first words that cannot be read, with the nearest that can.

    Examples
    --------
    >>> [(each.key, each.value) for each in ask("M8 6082-T6 8.8 2D")]
    [('thread', 'M8'), ('parent', '6082-T6'), ('screw', '8.8'), ('insert_length', '2 D')]
    """
    found = tokens(line)
    for key, example in (("thread", "'M8' or '1/4-20'"), ("parent", "'6082-T6'")):
        if key not in {each.key for each in found}:
            raise InputError.of(
                "not_to_be_assumed",
                key=key,
                what="tapped material" if key == "parent" else key,
                example=example,
            )
    return found


def tokens(line: str) -> tuple[Token, ...]:
    """Read a line, whatever part of a joint it names.

    Raises
    ------
    InputError
        One sentence on the first words that cannot be read, with the nearest that can.

    Examples
    --------
    >>> [(each.key, each.value) for each in tokens("M8 insert 2D")]
    [('thread', 'M8'), ('insert_length', '2 D')]
    """
    if len(line) > _LONGEST:
        raise InputError(f"a joint in one line has at most {_LONGEST} characters, got {len(line)}")
    found: dict[str, Token] = {}
    words, at = _split(line), 0
    while at < len(words):
        used, pairs = next(each for read in _READERS if (each := read(words, at)) is not None)
        said = " ".join(words[at : at + used])
        at += used
        for key, value in pairs.items():
            known = found.setdefault(key, Token(said, key, value))
            if known.value != value:
                lengths = ", or say which is which, as 'blind 20' or 'insert 12 mm'"
                raise InputError.of(
                    "given_by_two",
                    key=key,
                    first=shown(known.words),
                    second=shown(said),
                    more=lengths if key in ("engagement", "insert_length") else "",
                )
    return tuple(found.values())


class _Word(str):
    """A word of the line; it ends what belongs together where a comma or a semicolon follows."""

    ends = False


def _split(line: str) -> list[_Word]:
    """Return the words: a comma between digits is a decimal comma, a number leaves its D or mm."""
    dia = " dia "
    signs = str.maketrans({"×": "x", "″": '"', "”": '"', "–": "-", "−": "-", "Ø": dia, "ø": dia})
    text = re.sub(r"\s*(?:;|,(?!\d))\s*", f"{_COMMA} ", line.translate(signs))
    text = re.sub(r"\s+|[.:](?=\s|$)", " ", text)
    text = _STUCK.sub(" ", text)
    for joined in (each for each in _WORDS if "-" in each):
        text = re.sub(joined.replace("-", " "), joined, text, flags=re.IGNORECASE)
    found = []
    for each in text.split():
        if word := _Word(each.rstrip(_COMMA)):
            word.ends = each.endswith(_COMMA)
            found.append(word)
    return found


#: How many words are taken, and the keys and values that they give.
_Found = tuple[int, dict[str, str]]


class _Quantity(NamedTuple):
    """How many words are taken, what they say as a case file has it, and its dimension."""

    used: int
    text: str
    dimension: str


def _assigned(words: Sequence[_Word], at: int) -> _Found | None:
    key, equals, value = words[at].partition("=")
    if not key or not equals:
        return None
    if key not in keys():
        near = _MEASURES.get(key.casefold(), nearest(key, keys(), count=1))
        hint = f"; did you mean {near[0] + '='!r}?" if near else ""
        raise InputError(f"{shown(key)} is no key of a case{hint}")
    if at + 1 < len(words) and _NUMBER.fullmatch(value) and units.dimension_of(words[at + 1]):
        return 2, {key: f"{value} {words[at + 1]}"}
    return 1, {key: value}


def _measure(words: Sequence[_Word], at: int) -> _Found | None:
    """A word and the quantity behind it, a quantity and the word behind it, or a word alone."""
    word = words[at].casefold()
    if word in _MEASURES and (quantity := _after(words, at)) is not None:
        end, said = at + quantity.used, _said(word, quantity)
        _of_the_hole(words, at, end, word)
        last = "".join(words[end : end + 1]).casefold()
        # "blind 20 deep" says it twice
        again = _BESIDE.get(last, ()) == _WORDS.get(word) and _beyond(words, end) is None
        return quantity.used + again, said
    if word in _WORDS:
        return 1, _said(word)
    if word in _MEASURES:
        if word in _JOINING:
            return None
        noun = "a coefficient" if word == "friction" else units.noun(_MEASURES[word][1])
        raise InputError(f"{shown(words[at])} has no number beside it; expected {noun}")
    quantity = _quantity(words, at)
    if quantity is None or at + quantity.used == len(words):
        return None
    behind = at + quantity.used
    word = words[behind].casefold()
    key, dimension = _MEASURES.get(word, ("", ""))
    of_diameters = quantity.text.endswith(" D") and key not in ("insert_length", "engagement")
    if quantity.dimension not in (dimension, "number") or not key or of_diameters:
        return None
    _has_unit(quantity, key, dimension)
    other = _beyond(words, behind)
    if other is not None:
        raise InputError.of("word_between_numbers", word=word, quantity=quantity, other=other)
    _of_the_hole(words, at, behind + 1, word)
    return quantity.used + 1, _said(word, quantity)


def _said(word: str, quantity: _Quantity | None = None) -> dict[str, str]:
    """What a word says by itself, and with its quantity."""
    found = dict([_WORDS[word]]) if word in _WORDS else {}
    if quantity is None:
        return found
    return {**found, **dict(filter(None, [_BESIDE.get(word)])), _MEASURES[word][0]: quantity.text}


def _of_the_hole(words: Sequence[_Word], start: int, end: int, word: str) -> None:
    """Refuse a depth that may be that of the thread: "thread depth 12", "thread 16 deep"."""
    around = [
        each.casefold() for each in (*words[max(start - 1, 0) : start], *words[end : end + 1])
    ]
    if (
        word in ("deep", "depth")
        and _OF_THREAD & {*around}
        and words[end : end + 2][1:] != ["hole"]
    ):
        raise InputError.of("depth_of_what", said=shown(" ".join(words[start:end])))


def _after(words: Sequence[_Word], at: int) -> _Quantity | None:
    """The quantity that belongs to a word, over joining words; with all words it takes."""
    key, dimension = _MEASURES[words[at].casefold()]
    # "insert hole 20 deep" has no insert of 20 mm
    links = _LINKS - {"hole"} if words[at].casefold() == "insert" else _LINKS
    behind = at + 1
    while behind < len(words) and words[behind].casefold() in links:
        behind += 1
    if behind == len(words):
        return None
    if dimension == "number":
        last = behind + 3 if words[behind + 1 : behind + 2] == ["to"] else behind + 1
        return _Quantity(last - at, " ".join(words[behind:last]), dimension)
    alone = words[at].casefold() in (*_WORDS, *_BESIDE, "insert")
    # "blind 9.8" is a hole and a screw; "damaged 9.8" has its number.
    quantity = _quantity(words, behind, screws=alone)
    if quantity is None:
        return None
    if words[at].casefold() in _WORDS and quantity.text.endswith(" D"):
        return None  # "through 1.5D": no part is measured so, but its insert is
    if quantity.dimension not in (dimension, "number"):
        # "blind 30 kN" is a hole and a load; "boss 30 kN" is a slip.
        if alone:
            return None
        units.parse(quantity.text, dimension, field=key, diameter=1.0)
    _has_unit(quantity, key, dimension)
    return _Quantity(behind + quantity.used - at, quantity.text, dimension)


def _beyond(words: Sequence[_Word], at: int) -> _Quantity | None:
    """The quantity behind a word that has another before it: none beyond a comma."""
    return None if words[at].ends else _after(words, at)


def _has_unit(quantity: _Quantity, key: str, dimension: str) -> None:
    """Refuse a bare number but for a length: a load of 8 is 8 kN to whoever says so, not 8 N."""
    if quantity.dimension == "number" and dimension not in ("length", "number"):
        typed, expected = shown(quantity.text), units.noun(dimension)
        raise InputError(f"{key}: {typed} has no known unit; expected {expected}")


def _quantity(words: Sequence[_Word], at: int, *, screws: bool = True) -> _Quantity | None:
    """The quantity that begins at a word; with `screws` the class of one is none."""
    match = re.fullmatch(rf"({_NUMBER.pattern})(.*)", words[at])
    if match is None:
        return None
    number, unit = match[1], match[2]
    if re.fullmatch(r"\d+", number) and not unit and at + 1 < len(words):
        part = re.fullmatch(r"(\d+/\d+)(.*)", words[at + 1])  # 1 1/2 in
        if part and "-" not in part[2] and (below := _quantity(words, at + 1)) is not None:
            return _Quantity(below.used + 1, f"{number} {below.text}", below.dimension)
    for long in (2, 1, 0):
        joined = " ".join(filter(None, (unit, *words[at + 1 : at + 1 + long])))
        if not joined or at + 1 + long > len(words):
            continue
        if (dimension := units.dimension_of(joined)) is not None:
            # twenty inches, or twenty mm in a material, or in an answer in inch units
            metric = number.isdigit() and any(map(_METRIC.match, words))
            if joined in ("in", "inch") and metric:
                raise InputError.of("inches_or_millimetres", number=number, unit=joined)
            text = f"{number} {'D' if joined in units.DIAMETERS else joined}"
            return _Quantity(1 + long, text, dimension)
    mistaken = unit or "".join(words[at + 1 : at + 2])
    if meant := units.meant(mistaken):
        raise InputError(f"'{number} {mistaken}' is no quantity; did you mean '{number} {meant}'?")
    if unit or (screws and _is_screw(number)):
        return None
    if "/" in number:
        return _Quantity(1, f"{number} in", "length") if _INCHES.fullmatch(number) else None
    return _Quantity(1, number, "number")


def _named(words: Sequence[_Word], at: int) -> _Found | None:
    """The longest run of words that is a name."""
    most = 1
    while at + most < len(words) and most < _MOST_WORDS and _may_be_of_name(words[at + most]):
        most += 1
    for used in range(most, 0, -1):
        text = " ".join(words[at : at + used])
        for key, is_name in _NAMES.items():
            if is_name(text):
                _one_number(words, at, used, key)
                return used, {key: text}
    return None


def _one_number(words: Sequence[_Word], at: int, used: int, key: str) -> None:
    """Refuse a scale of hardness between two numbers: "30 HB 95"."""
    behind = "".join(words[at + used : at + used + 1])
    if key == "parent_hardness" and used == 2 and _NUMBER.fullmatch(behind):
        first, scale = words[at : at + used]
        if _NUMBER.fullmatch(first):
            raise InputError(f"'{scale} {first}' or '{scale} {behind}'? write the scale first")


def _may_be_of_name(word: str) -> bool:
    folded = word.casefold()
    return folded == "class" or not any(folded in each for each in (_MEASURES, _WORDS, _JOINING))


def _is(reads: Callable[[str], object], text: str) -> bool:
    with suppress(ThreadRepairError):
        reads(text)
        return True
    return False


def _is_screw(text: str) -> bool:
    # a class without its point, 88, is a number, and "grade 8 8" a grade and a number; at 8 mm
    # every class is known or refused by size
    if text.isdigit() or _APART.search(text):
        return False
    try:
        return bool(materials.screw(text, 8.0))
    except ThreadRepairError as error:
        return not isinstance(error, UnknownNameError)


_NAMES: Mapping[str, Callable[[str], bool]] = {
    "thread": lambda text: bool(_THREAD.match(text)) and _is(threads.thread, text),
    "parent": lambda text: materials.meant(text) is not None,
    "screw": _is_screw,
    # "8.8 HB 95" is a screw and a hardness
    "parent_hardness": lambda text: (
        not _is_screw(text.partition(" ")[0]) and _is(materials.hardness, text)
    ),
}


def _quantity_alone(words: Sequence[_Word], at: int) -> _Found | None:
    quantity = _quantity(words, at)
    if quantity is None:
        return None
    used, text, dimension = quantity
    if text.isdigit() and float(text) >= _NO_LENGTH:
        return None
    if _LIKE_CLASS.fullmatch(text):
        near = nearest(text, materials.names("screw"), count=2)
        raise InputError.of("screw_or_length", text=text, near=" or ".join(map(repr, near)))
    if dimension == "stress":
        raise InputError.of("strength_of_what", typed=shown(" ".join(words[at : at + used])))
    key = "insert_length" if text.endswith(" D") else _ALONE[dimension]
    if key == "engagement":
        _of_the_thread(words, at, at + used)
    return used, {key: text}


def _of_the_thread(words: Sequence[_Word], start: int, end: int) -> None:
    """Refuse a length beside a word that says what else has it: "screw 25", "hole 8.3"."""
    before, after, beyond = (
        "".join(words[max(each, 0) : max(each + 1, 0)]).casefold()
        for each in (start - 1, end, end + 1)
    )
    thread = {before, after, beyond if after == "of" else ""} & {"thread", "tapped"}
    if not thread and (before in _OTHERS | _PLACES or after in _OTHERS):
        first, last = start - (before in _OTHERS | _PLACES), end + (after in _OTHERS)
        raise InputError.of(
            "length_of_what",
            said=shown(" ".join(words[first:last])),
            length=" ".join(words[start:end]),
        )


def _joining(words: Sequence[_Word], at: int) -> _Found:
    """A word that says nothing; every other is refused, from the table that it looks like."""
    word = words[at]
    if word.casefold() in _JOINING:
        return 1, {}
    for text in (" ".join(words[max(at - 1, 0) : at + 1]), " ".join(words[at : at + 2]), word):
        for looks, read in _LOOKS:
            if looks.fullmatch(text):
                try:
                    read(text)
                except ThreadRepairError as error:
                    raise InputError(str(error)) from None
    for meant, foreign in _FOREIGN.items():
        if word.casefold() in foreign:
            raise InputError.of("foreign_word", word=shown(word), meant=meant)
    near = nearest(word, (*_MEASURES, *_WORDS), count=1, likeness=0.7)
    if near:
        raise InputError(f"{shown(word)} is not understood; did you mean {near[0]!r}?")
    raise InputError.of("word_not_understood", word=shown(word))


#: What reads the next words, in order; None where it does not know them.
_READERS: Sequence[Callable[[Sequence[_Word], int], _Found | None]] = (
    _assigned, _measure, _named, _quantity_alone, _joining,
)  # fmt: skip
#: What looks like a name, and what reads that kind of name.
_LOOKS: tuple[tuple[re.Pattern[str], Callable[[str], object]], ...] = (
    (_SCREW, lambda text: materials.screw(text, 8.0)),
    (
        re.compile(rf"{_THREAD.pattern}\S*(?: (?:UN|BS)[A-Z]{{0,2}}(?:-\S+)?)?", re.I),
        threads.thread,
    ),
    (
        re.compile(r"\S+ (?:NPTF?|NPS\w?|BSPT?|BA|UNJ\w*|ACME)|MJ\d+\S*", re.IGNORECASE),
        threads.thread,
    ),
    # what numbers a metal before its number, or a temper behind it
    (re.compile(r"(?:EN|UNS|AA) \S*\d\S*|\S*\d{3}\S* [TFHO]\d*", re.I), materials.parent),
    # letters and digits, three digits or more, or a metal by its everyday name
    (
        re.compile(
            r"(?=\S*\d)(?=\S*[a-z])\S+|\d{3,}|\S*(?:alumin|magnes|brass|bronze|zinc|iron|steel|"
            r"titan|copper)\S*|(?:cast|grey|gray|ductile) (?:iron|alumin\S*)",
            re.IGNORECASE,
        ),
        materials.parent,
    ),
)
