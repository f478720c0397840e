"""Judge the answers of an exercise paper: by dimension without the key, by value with it."""

from __future__ import annotations

import ast
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import InputError
from ..units import parse, show
from .exercises import ASKS, FORMAT, Ask, Paper

#: Factors between units that are mixed up, and what was mixed up.
_MIXED = {
    1000.0: "a factor of a thousand, such as N for kN, N·mm for N·m or m for mm",
    100.0: "a factor of a hundred, such as mm2 for cm2",
    10.0: "a factor of ten, such as mm for cm",
    25.4: "inch and millimetre",
    25.4**2: "square inch and square millimetre",
    4.4482216: "pound-force and newton",
    9.80665: "kilogram-force and newton",
    0.2248089 * 1000: "pound-force and kilonewton",
    0.1129848: "inch pound-force and N·m",
    1.3558179: "foot pound-force and N·m",
    6.894757: "ksi and MPa",
}


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

    paper: str
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

    def text(self) -> str:
        """Return the sheet for a terminal."""
        rows = [
            f"  {ASKS[m.name].words:<40} {'-' if m.points is None else f'{m.points:g}':>3} of "
            f"{m.out_of}  {m.remark}"
            for m in self.marks
        ]
        return "\n".join((f"paper {self.paper}: {self.summary()}", *rows))

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
    right: Mapping[str, Any] | None
    if isinstance(key, Paper):
        right = key.key
    elif Path(key).exists():
        right = _key(Path(key), number)
    else:
        right = None
    marks = tuple(_judge(name, ask, answers.get(name, ""), right) for name, ask in ASKS.items())
    return MarkSheet(paper=number, marks=marks, with_key=right is not None)


def read_answers(notebook: Path) -> Mapping[str, Any]:
    """Return the answers written in a student copy, without running any of it.

    Raises
    ------
    InputError
        If a cell tagged `answer` holds anything but plain values.
    """
    from ..errors import ReportError
    from ..report.run import read_notebook

    try:
        cells = tuple(read_notebook(notebook).cells)
    except (ReportError, TypeError, AttributeError) as error:
        raise InputError(
            str(error) if isinstance(error, ReportError) else f"{notebook} holds no cells"
        ) from None
    found: dict[str, Any] = {}
    try:
        for cell in cells:
            if "answer" in (cell.metadata.get("tags") or ()):
                found |= _assigned(cell.source)
    except _NO_ANSWER:
        raise InputError(
            f'{notebook}: an answer must be of the form name = "value", got '
            f"{str(cell.source or '').partition(chr(10))[0][:80]!r}"
        ) from None
    return found


#: What text that is no plain value raises: deep nests and numbers of 100,000 digits among it.
_NO_ANSWER = (SyntaxError, ValueError, TypeError, AttributeError, RecursionError, MemoryError)


def _assigned(source: str) -> dict[str, Any]:
    """Return the plain values that a cell gives names to."""
    found: dict[str, Any] = {}
    for line in ast.parse(source).body:
        if not isinstance(line, ast.Assign) or not isinstance(line.targets[0], ast.Name):
            raise ValueError
        found[line.targets[0].id] = ast.literal_eval(line.value)
    return found


def _key(path: Path, number: str) -> Mapping[str, Any]:
    try:
        document = json.loads(path.read_text("utf-8"))
        right = {name: entry["value"] for name, entry in document["answers"].items()}
        if document["format"] != FORMAT or set(right) != set(ASKS):
            raise KeyError
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        raise InputError(f"{path} is not a key of these exercises") from None
    if document["paper"] != number:
        raise InputError(
            f"{path} is the key of paper {document['paper']!r}, the answers are to {number!r}"
        )
    return right


def _judge(name: str, ask: Ask, answer: Any, right: Mapping[str, Any] | None) -> Mark:
    text = str(answer).strip()

    def result(remark: str, points: float | None) -> Mark:
        known = None if right is None else points
        return Mark(name=name, answer=text, remark=remark, points=known, out_of=ask.points)

    if not text:
        return result("not answered", None if ask.dimension == "words" else 0)
    if ask.dimension == "words":
        return result("for a person, with the rubric", None)
    if ask.dimension == "letter":
        if len(text) != 1 or not text.isalpha():
            return result("one letter is asked for", 0)
        if right is None:
            return result("is a letter", None)
        return result(*(("right", ask.points) if text.upper() == right[name] else ("wrong", 0)))
    try:
        value = _value(ask, answer)
    except InputError as error:
        return result(str(error), 0)
    if right is None:
        return result(f"is {_article(ask.dimension)}", None)
    return result(*_compared(ask, value, float(right[name])))


def _value(ask: Ask, answer: Any) -> float:
    """Read an answer in the unit inside.

    Raises
    ------
    InputError
        In words for a student: no unit, or one of another dimension.
    """
    text = str(answer).strip()
    if ask.dimension == "number":
        try:
            value = float(text)
        except ValueError:
            raise InputError(f"a number without a unit is asked for, not {text!r}") from None
        if not math.isfinite(value):
            raise InputError("a finite number is asked for")
        return value
    try:
        float(text)
    except ValueError:
        return parse(text, ask.dimension)
    raise InputError(f"{text} has no unit; {_article(ask.dimension)} is asked for")


def _article(dimension: str) -> str:
    return f"{'an' if dimension == 'area' else 'a'} {dimension}"


def _compared(ask: Ask, value: float, right: float) -> tuple[str, float]:
    if abs(value - right) <= ask.tolerance * abs(right) + 1e-9:
        return "right", ask.points
    ratio = value / right
    if ratio > 0 and ask.dimension not in ("number", "letter"):
        for factor, words in _MIXED.items():
            if min(abs(ratio / factor - 1), abs(ratio * factor - 1)) <= ask.tolerance:
                return f"wrong by the unit: {words}", 0
    shown = f"{value:g}" if ask.dimension == "number" else show(value, ask.dimension, digits=4)
    return f"wrong: understood as {shown}", 0
