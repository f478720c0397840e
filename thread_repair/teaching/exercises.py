"""A class's exercises: what is asked, in which dimension, and how near an answer must come.

The words stand in the master notebook, with `«name»` where a drawn value goes; `draws` draws the
values from a seed, `copies` makes the student copy and the key, `marking` judges the answers.
"""

from __future__ import annotations

import hashlib
import json
import re
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from ..errors import InputError, unknown
from ..units import number, show

FORMAT = "thread-repair-exercise-key/2"
#: Seeds below can be tried one after the other.
_WEAK = 2**32
#: A printed number that is this near to an answer, relative to it, might be marked as right: the
#: widest tolerance below, and what rounding adds.
_TOO_NEAR = 0.011


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What an answer is: its dimension, how near it must come, what it is worth.

    `dimension` is one of `units`, or "number", "letter", "yes-no" or "words"; words are marked by
    a person with the rubric.
    """

    words: str
    dimension: str
    tolerance: float = 0.01
    points: int = 1


ASKS: Mapping[str, Ask] = MappingProxyType(
    {
        "area_original": Ask(words="shear area, original", dimension="area", points=2),
        "area_repaired": Ask(words="shear area, repaired", dimension="area", points=2),
        "load_original": Ask(words="thread-stripping load, original", dimension="force"),
        "load_repaired": Ask(words="thread-stripping load, repaired", dimension="force"),
        "ratio": Ask(words="repaired over original", dimension="number"),
        "length_screw_first": Ask(
            words="length from which the screw fails first", dimension="length", points=2
        ),
        "peak_over_mean": Ask(words="highest over mean load of a thread", dimension="number"),
        "strip_torque": Ask(words="torque that strips", dimension="torque", points=2),
        "wrong_line": Ask(words="line with the wrong unit", dimension="letter"),
        "corrected_torque": Ask(words="corrected torque", dimension="torque", points=2),
        "bound": Ask(words="lower tolerance limit of five", dimension="force", points=2),
        "pieces": Ask(words="specimens needed", dimension="number", tolerance=0.0, points=2),
        "five_do": Ask(words="whether five are enough", dimension="yes-no"),
        "judgement_length": Ask(words="the longest insert", dimension="words", points=3),
        "judgement_boss": Ask(words="the thin boss", dimension="words", points=3),
        "judgement_part": Ask(words="the part", dimension="words", points=3),
    }
)

#: Answers that are worked out from earlier ones, and with which power each of those enters. A wrong
#: earlier answer is marked down once: what follows from it is right.
FOLLOWS: Mapping[str, Mapping[str, int]] = MappingProxyType(
    {
        "load_original": {"area_original": 1},
        "load_repaired": {"area_repaired": 1},
        "ratio": {"load_repaired": 1, "load_original": -1},
        "length_screw_first": {"load_original": -1},
        "strip_torque": {"load_original": 1},
    }
)

#: How an answer is written, by its dimension.
EXAMPLES: Mapping[str, str] = MappingProxyType(
    {
        "area": 'an area with its unit: "... mm2"',
        "force": 'a force with its unit: "... kN"',
        "length": 'a length with its unit: "... mm"',
        "torque": 'a torque with its unit: "... N·m"',
        "number": "a number without a unit",
        "letter": 'the letter of a line, in quotation marks: "..."',
        "yes-no": '"yes" or "no"',
        "words": "a few sentences, in quotation marks",
    }
)


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
        if name not in ASKS:
            raise unknown("exercise", name, ASKS)
        ask = ASKS[name]
        value = self.key.get(name, "")
        if isinstance(value, str):
            return value
        if ask.dimension == "number":
            return f"{value:.0f}" if not ask.tolerance else number(value, 4)
        return show(value, ask.dimension, digits=4)

    def filled(self, text: str) -> str:
        """Return a text of the master with what is given put in.

        Raises
        ------
        UnknownNameError
            If the text asks for a value that is not drawn.
        """

        def value(match: re.Match[str]) -> str:
            if match[1] not in self.given:
                raise unknown("drawn value", match[1], self.given)
            return self.given[match[1]]

        return re.sub("«([a-z_0-9]+)»", value, text)

    def key_text(self, paper: str) -> str:
        """Return the key file, for the paper with the number given."""
        document = {
            "format": FORMAT,
            "paper": paper,
            "seed": self.seed,
            "answers": {
                name: {"value": self.key.get(name), "points": ask.points}
                for name, ask in ASKS.items()
            },
        }
        return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


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
        raise InputError(
            f"seed {seed!r} can be guessed; leave --seed out for a random one, or give one of "
            "10 digits or more that is no date"
        )
    return seed


def random_seed() -> int:
    """Return a random seed of 64 bits."""
    while True:
        seed = secrets.randbits(64)
        if seed >= _WEAK and not _is_date(str(seed)):
            return seed


def _is_date(digits: str) -> bool:
    """Whether digits are a date, year or day first, with or without a time."""
    if len(digits) not in (8, 10, 12, 14):
        return False
    for form in ("%Y%m%d", "%d%m%Y", "%m%d%Y"):
        try:
            day = datetime.strptime(digits[:8], form)
        except ValueError:
            continue
        if 1900 <= day.year <= 2100 and re.fullmatch(
            "([01][0-9]|2[0-3])?([0-5][0-9])*", digits[8:]
        ):
            return True
    return False


def paper_number(questions: str) -> str:
    """Return the number of a paper, in letters: a digest of its questions that tells nothing else.

    Letters, because a digit in the student copy would be one that is not a question.
    """
    digest = hashlib.sha256(questions.encode()).digest()
    return "".join(chr(ord("a") + byte % 26) for byte in digest[:8])


#: What one unit inside is in others that a student may write: mm, mm2, N, N·m.
_SCALES = {
    "length": (1.0, 0.1, 1 / 25.4),
    "area": (1.0, 1e-2, 1 / 25.4**2),
    "force": (1.0, 1e-3, 1 / 4.4482216, 1 / 4448.2216, 1 / 9.80665),
    "torque": (1.0, 1e3, 1 / 0.1129848, 1 / 1.3558179, 1 / 9.80665),
    "number": (1.0,),
}


def given_away(texts: Iterable[str], paper: Paper) -> tuple[str, ...]:
    """Return the exercises whose answer a number in the texts comes near to, in any unit."""
    numbers = np.array(sorted(set().union(*map(_numbers, texts))))
    near = []
    for name, value in paper.key.items():
        if isinstance(value, str):
            continue
        scaled = value * np.array(_SCALES[ASKS[name].dimension])
        distance = np.abs(numbers[:, None] / scaled - 1)
        if len(numbers) and float(distance.min()) < _TOO_NEAR:
            near.append(name)
    return tuple(near)


@lru_cache(maxsize=512)
def _numbers(text: str) -> frozenset[float]:
    found = (float(token) for token in re.findall(r"\d+(?:\.\d+)?", text.replace("\u202f", "")))
    return frozenset(value for value in found if value > 0)
