"""Judge the answers of an exercise paper: by dimension without the key, by value with it."""

import ast
import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import InputError, shown
from ..units import parse, show
from .exercises import ASKS, DATA, FORMAT, Ask, Paper


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One answer judged. `points` is None where a person gives them, or no key was at hand."""

    name: str
    answer: str
    remark: str
    points: float | None
    out_of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkSheet:
    """A paper judged; shows itself in a notebook."""

    marks: tuple[Mark, ...]
    with_key: bool

    @property
    def points(self) -> float:
        """Points of the answers that were judged."""
        return sum(mark.points or 0 for mark in self.marks)

    @property
    def out_of(self) -> int:
        """Points that the answers judged could have had."""
        return sum(mark.out_of for mark in self.marks if mark.points is not None)

    def summary(self) -> str:
        """Say the result in a sentence."""
        if not self.with_key:
            return "No key is at hand: only dimensions and units were checked, not values."
        left = sum(mark.out_of for mark in self.marks if mark.points is None)
        return (
            f"{self.points:g} of {self.out_of} points; {left} more are given by a person with the "
            "rubric of the key."
        )

    def _repr_markdown_(self) -> str:
        rows = [
            f"| {ASKS[m.name].words} | {m.remark} | "
            f"{'–' if m.points is None else f'{m.points:g}'} of {m.out_of} |"
            for m in self.marks
        ]
        head = ["| answer | remark | points |", "|---|---|---|"]
        return "\n".join((f"**{self.summary()}**", "", *head, *rows))


def mark(answers: Mapping[str, Any], key: str | Path | Paper = "key.json") -> MarkSheet:
    """Judge answers.

    Parameters
    ----------
    answers : by exercise, as in a notebook's `globals()`; `paper` is the number of the paper
    key : the key file, or a drawn paper; where the file does not exist, units only are checked

    Raises
    ------
    InputError
        If the key is broken or belongs to another paper.
    """
    number = str(answers.get("paper", ""))
    right: Mapping[str, Any] | None = key.key if isinstance(key, Paper) else None
    if not isinstance(key, Paper) and Path(key).exists():
        document = read_key(Path(key))
        if document["paper"] != number:
            raise InputError.of("key_of_other_paper", key=key, document=document, number=number)
        right = {name: entry["value"] for name, entry in document["answers"].items()}
    marks = tuple(_judge(name, answers, right) for name in ASKS)
    return MarkSheet(marks=marks, with_key=right is not None)


def read_answers(notebook: Path) -> Mapping[str, Any]:
    """Return the answers written in a student copy, without running any of it.

    A cell that has lost its tag, as one typed anew has, answers what no tagged cell does.

    Raises
    ------
    InputError
        If a cell tagged `answer` holds anything but plain values.
    """
    try:  # as JSON: whoever marks needs nothing that runs notebooks
        cells = json.loads(notebook.read_bytes())["cells"]
        sources = [
            ("answer" in (c["metadata"].get("tags") or ()), "".join(c["source"]))
            for c in cells
            if c["cell_type"] == "code"
        ]
    except OSError as error:
        raise InputError(f"notebook {notebook} cannot be read: {error.strerror}") from None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise InputError(f"{notebook} is not a Jupyter notebook with cells") from None
    found, untagged = dict[str, Any](), dict[str, Any]()
    for tagged, source in sources:
        try:
            (found if tagged else untagged).update(_assigned(source))
        except _NO_ANSWER:
            if tagged:
                line = source.partition("\n")[0][:80]
                raise InputError.of("answer_form", notebook=notebook, line=line) from None
    return untagged | {n: value for n, value in found.items() if value != "" or n not in untagged}


def _assigned(source: str) -> dict[str, Any]:
    """Return the plain values that a cell gives names to; of one that does more, an error."""
    found = dict[str, Any]()
    for line in ast.parse(source).body:
        if not isinstance(line, ast.Assign) or not isinstance(line.targets[0], ast.Name):
            raise ValueError
        found[line.targets[0].id] = ast.literal_eval(line.value)
    return found


#: What text that is no plain value raises: deep nests and numbers of 100,000 digits among it.
_NO_ANSWER = (SyntaxError, ValueError, TypeError, AttributeError, RecursionError, MemoryError)


def read_key(path: Path) -> Any:
    """Return the document of a key file.

    Raises
    ------
    InputError
        If it is no key.
    """
    try:
        document = json.loads(path.read_text("utf-8"))
        values = {name: entry["value"] for name, entry in document["answers"].items()}
        if document["format"] != FORMAT or set(values) != set(ASKS) or "paper" not in document:
            raise KeyError
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        raise InputError(
            f"{path} is no key of these exercises, or one of another version"
        ) from None
    return document


#: What is asked for where a few answers are possible, and which.
_CHOICE = {"letter": ("a letter", "[A-Z]"), "yes-no": ('"yes" or "no"', "yes|no")}
#: Specimens of the test that the exercise on the plan asks about.
_TESTED = 5


def _judge(name: str, answers: Mapping[str, Any], right: Mapping[str, Any] | None) -> Mark:
    ask, text = ASKS[name], str(answers.get(name, "")).strip()
    said: tuple[str, float | None] = ("not answered", None if ask.dimension == "words" else 0)
    if text and ask.dimension == "words":
        said = "for a person, with the rubric", None
    elif text:
        said = (_chosen if ask.dimension in _CHOICE else _found)(name, text, answers, right)
    points = None if right is None else said[1]
    return Mark(name=name, answer=text, remark=said[0], points=points, out_of=ask.points)


def _chosen(
    name: str, text: str, answers: Mapping[str, Any], right: Mapping[str, Any] | None
) -> tuple[str, float | None]:
    """Judge one of a few possible answers."""
    asked, allowed = _CHOICE[ASKS[name].dimension]
    text = re.sub("^line ", "", text, flags=re.IGNORECASE).strip(" .()*")
    if not re.fullmatch(allowed, text, re.IGNORECASE):
        return f"{asked} is asked for", 0
    if right is None:
        return f"is {asked}", None
    if text.casefold() == str(right[name]).casefold():
        return "right", ASKS[name].points
    own = _known("pieces", answers, right) if name == "five_do" else math.nan
    if not math.isnan(own) and text.casefold() == ("yes" if own <= _TESTED else "no"):
        return "right for your own number of specimens", ASKS[name].points
    return "wrong", 0


def _found(
    name: str, text: str, answers: Mapping[str, Any], right: Mapping[str, Any] | None
) -> tuple[str, float | None]:
    """Judge a number, read in the best way for the student."""
    ask = ASKS[name]
    try:
        readings = _readings(ask, text)
    except InputError as error:
        return str(error), 0
    if right is None:
        return f"is {_article(ask.dimension)}{readings[0][1]}", None
    value = float(right[name])
    # What follows from the student's own earlier values is right; NaN without them.
    own = value if ask.follows else math.nan
    for earlier, power in ask.follows.items():
        known = _known(earlier, answers, right)
        own *= (known / float(right[earlier])) ** power if known > 0 else math.nan
    judged = []
    for read, remark in readings:
        said, points = _compared(ask, read, value)
        if not points and _compared(ask, read, own)[1]:
            said, points = "right from your own earlier value", ask.points
        judged.append((said + remark, points))
    return max(judged, key=lambda each: each[1])


def _known(name: str, answers: Mapping[str, Any], right: Mapping[str, Any]) -> float:
    """Return what the student answered elsewhere, read as it is best; NaN where it is no number."""
    try:
        readings = _readings(ASKS[name], str(answers.get(name, "")).strip())
    except InputError:
        return math.nan
    return min((value for value, _ in readings), key=lambda each: abs(each - float(right[name])))


#: As people write them, and as they are read: spaces and dots of other kinds, thousands parted.
_SPELT = (
    ("[\u00a0\u2000-\u200a\u202f]", " "),
    ("[⋅∙•×]", "·"),
    ("\u2212", "-"),
    (r"\.$", ""),
    (r"(?<=\d)[ '\u2019](?=\d{3}(?!\d))", ""),
    (r"(?<=\d),(?=(\d{3},)*\d{3}\.\d)", ""),
    (r"(?<=\d) ?[·x*] ?10(\^|\*\*)([+-]?\d+)", r"e\2"),
    (r"\b(k?N) ?m\b", r"\1·m"),
    (r"\bN ?mm\b", "N·mm"),
)


def _readings(ask: Ask, text: str) -> list[tuple[float, str]]:
    """Return what an answer may mean, in the unit inside, each with a remark on how it is read.

    Raises
    ------
    InputError
        In words for a student: no unit, or one of another dimension.
    """
    for written, meant in _SPELT:
        text = re.sub(written, meant, text)
    readings = [(text, "")]
    if re.match(r"[+-]?\d+,\d", text) and "." not in text:
        readings = [(text.replace(",", ".", 1), "; write a decimal point, not a comma")]
        if re.match(r"[+-]?\d{1,3}(,\d{3})+(?!\d)", text):
            thousands = "; the comma is read as parting thousands"
            readings.append((text.replace(",", ""), thousands))
    return [(_value(ask, each), remark) for each, remark in readings]


def _value(ask: Ask, text: str) -> float:
    """Read an answer in the unit inside.

    Raises
    ------
    InputError
        In words for a student: no unit, or one of another dimension.
    """
    try:
        value = float(re.sub(" ?(%|per ?cent)$", "e-2", text))
    except ValueError:
        if ask.dimension != "number":
            # So that "9.942 N" is read as it stands: here nobody parts thousands with a point.
            text = re.sub(r"^([+-]?\d{1,3}\.\d{3})(?![\d,.])", r"\g<1>0", text)
            return parse(text, ask.dimension)
        raise InputError(f"a number without a unit is asked for, not {shown(text)}") from None
    if ask.dimension != "number":
        raise InputError(f"{text[:60]} has no unit; {_article(ask.dimension)} is asked for")
    if not math.isfinite(value):
        raise InputError("a finite number is asked for")
    return value


def _article(dimension: str) -> str:
    return f"{'an' if dimension == 'area' else 'a'} {dimension}"


def _compared(ask: Ask, value: float, right: float) -> tuple[str, float]:
    if abs(value - right) <= ask.tolerance * abs(right) + 1e-9:
        return "right", ask.points
    ratio = value / right
    if ratio > 0 and ask.dimension not in ("number", "letter"):
        mixed = DATA["mixed"]
        for words, factor in (mixed["any"] | mixed.get(ask.dimension, {})).items():
            if min(abs(ratio / factor - 1), abs(ratio * factor - 1)) <= ask.tolerance:
                return f"wrong by the unit: {words}", 0
    shown = f"{value:g}" if ask.dimension == "number" else show(value, ask.dimension, digits=4)
    return f"wrong: understood as {shown}", 0
