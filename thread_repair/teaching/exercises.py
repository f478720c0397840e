"""A class's exercises: what is asked, in which dimension, and how near an answer must come.

The words stand in the master notebook, with `«name»` where a drawn value goes; `draws` draws the
values from a seed, `copies` makes the student copy and the key, `marking` judges the answers.
"""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..errors import InputError, looked_up
from ..files import data
from ..units import number, show

if TYPE_CHECKING:
    from nbformat import NotebookNode

FORMAT = "thread-repair-exercise-key/3"
#: Seeds below can be tried one after the other.
_WEAK = 2**32
#: A printed number that is this near to an answer, relative to it, might be marked as right: the
#: widest tolerance below, and what rounding adds.
_TOO_NEAR = 0.011


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What an answer is: its dimension, how near it must come, what it is worth.

    `dimension` is one of `units`, or "number", "letter", "yes-no" or "words"; words are marked by
    a person with the rubric. `follows` are the earlier answers that enter it, with their powers.
    """

    words: str
    dimension: str
    tolerance: float = 0.01
    points: int = 1
    follows: Mapping[str, int] = field(default_factory=dict)


DATA = data("exercises.toml")
ASKS: Mapping[str, Ask] = {name: Ask(**each) for name, each in DATA["ask"].items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """What is given, by its name in the master, and what is right, in the units inside.

    Attributes
    ----------
    seed : of the draw
    given : texts that replace `«name»`
    key : right answers: numbers in mm, mm2, N or N·m, or a letter
    """

    seed: int
    given: Mapping[str, str]
    key: Mapping[str, float | str]

    def answer(self, name: str) -> str:
        """Return the right answer as a student would write it."""
        ask = looked_up("exercise", name, ASKS)
        value = self.key.get(name, "")
        if isinstance(value, str):
            return value
        if ask.dimension != "number":
            return show(value, ask.dimension, digits=4)
        return number(value, 4) if ask.tolerance else f"{value:.0f}"

    def filled(self, text: str) -> str:
        """Return a text of the master with what is given put in.

        Raises
        ------
        UnknownNameError
            If the text asks for a value that is not drawn.
        """
        return re.sub(
            "«([a-z_0-9]+)»", lambda each: looked_up("drawn value", each[1], self.given), text
        )

    def key_text(self, paper: str) -> str:
        """Return the key file, for the paper with the number given."""
        answers = {n: {"value": self.key.get(n), "points": ask.points} for n, ask in ASKS.items()}
        document = {"format": FORMAT, "paper": paper, "seed": self.seed, "answers": answers}
        return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def master() -> NotebookNode:
    """Return the notebook that the copies and the keys are made from."""
    import nbformat

    from ..report.jobs import notebook_path

    return nbformat.read(notebook_path("class_exercises"), as_version=4)


def strong(seed: int) -> int:
    """Return a seed with which a paper may be handed out.

    Raises
    ------
    InputError
        If it can be guessed: who has the seed has the key.

    Examples
    --------
    >>> strong(20261126)
    Traceback (most recent call last):
        ...
    thread_repair.errors.InputError: seed 20261126 can be guessed; leave --seed out for a random \
one, or give one of 10 digits or more that is no date
    """
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < _WEAK or _is_date(str(seed)):
        raise InputError.of("seed_can_be_guessed", seed=seed)
    return seed


def random_seed() -> int:
    """Return a random seed of 64 bits."""
    seed = secrets.randbits(64)
    return random_seed() if seed < _WEAK or _is_date(str(seed)) else seed


def _is_date(digits: str) -> bool:
    """Whether digits are a date, year or day first, with or without a time."""
    time = {8: "", 10: "%H", 12: "%H%M", 14: "%H%M%S"}.get(len(digits))
    for day in () if time is None else ("%Y%m%d", "%d%m%Y", "%m%d%Y"):
        with suppress(ValueError):
            if 1900 <= datetime.strptime(digits, f"{day}{time}").year <= 2100:
                return True
    return False


def given_away(texts: Iterable[str], paper: Paper) -> tuple[str, ...]:
    """Return the exercises whose answer a number in the texts comes near to, in any unit."""
    numbers = np.array(sorted(set().union(*map(_numbers, texts))))
    near = []
    for name, value in paper.key.items():
        if not isinstance(value, str):
            written = value / np.array(DATA["units"][ASKS[name].dimension])
            if np.any(np.abs(numbers[:, None] / written - 1) < _TOO_NEAR):
                near.append(name)
    return tuple(near)


@lru_cache(maxsize=512)
def _numbers(text: str) -> frozenset[float]:
    found = (float(token) for token in re.findall(r"\d+(?:\.\d+)?", text.replace("\u202f", "")))
    return frozenset(value for value in found if value > 0)
