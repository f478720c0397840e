"""A class's exercises: what is asked, in which dimension, and how near an answer must come.

The words stand in the master notebook, with `«name»` where a drawn value goes; `draws` draws the
values from a seed, `copies` makes the student copy and the key, `marking` judges the answers.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from ..errors import unknown
from ..units import number, show

FORMAT = "thread-repair-exercise-key/1"
#: A printed number that is this near to an answer, relative to it, gives it away.
_TOO_NEAR = 0.006


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What an answer is: its dimension, how near it must come, what it is worth.

    `dimension` is one of `units`, or "number", "letter" or "words"; words are marked by a person
    with the rubric.
    """

    words: str
    dimension: str
    tolerance: float = 0.01
    points: int = 1


ASKS: Mapping[str, Ask] = MappingProxyType(
    {
        "area_original": Ask(words="shear area, original", dimension="area", points=2),
        "area_repaired": Ask(words="shear area, repaired", dimension="area", points=2),
        "load_original": Ask(words="strip load, original", dimension="force"),
        "load_repaired": Ask(words="strip load, repaired", dimension="force"),
        "ratio": Ask(words="repaired over original", dimension="number"),
        "length_screw_first": Ask(
            words="length at which the screw breaks first", dimension="length", points=2
        ),
        "peak_over_mean": Ask(words="highest over mean load of a thread", dimension="number"),
        "strip_torque": Ask(words="torque that strips", dimension="torque", points=2),
        "wrong_line": Ask(words="line with the wrong unit", dimension="letter"),
        "corrected_torque": Ask(words="torque put right", dimension="torque", points=2),
        "bound": Ask(words="load that the five pieces show", dimension="force", points=2),
        "pieces": Ask(words="pieces needed", dimension="number", tolerance=0.0, points=2),
        "judgement_length": Ask(words="the longest insert", dimension="words", points=3),
        "judgement_boss": Ask(words="the thin boss", dimension="words", points=3),
        "judgement_part": Ask(words="the part", dimension="words", points=3),
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


def paper_number(questions: str) -> str:
    """Return the number of a paper, in letters: a digest of its questions that tells nothing else.

    Letters, because a digit in the student copy would be one that is not a question.
    """
    digest = hashlib.sha256(questions.encode()).digest()
    return "".join(chr(ord("a") + byte % 26) for byte in digest[:8])


#: What one unit inside is in others that a student may print: mm, mm2, N, N·m.
_SCALES = {
    "length": (1.0, 1e-3, 0.1, 1 / 25.4),
    "area": (1.0, 1e-2, 1 / 25.4**2),
    "force": (1.0, 1e-3, 1 / 4.4482216, 1 / 9.80665),
    "torque": (1.0, 1e3, 1 / 0.1129848, 1 / 1.3558179),
    "number": (1.0, 100.0),
}


def given_away(text: str, paper: Paper) -> tuple[str, ...]:
    """Return the exercises whose answer a number in a text comes near to, in any unit."""
    found = [float(token) for token in re.findall(r"\d+(?:\.\d+)?", text.replace("\u202f", ""))]
    numbers = np.array(sorted({value for value in found if value > 0}))
    near = []
    for name, value in paper.key.items():
        if isinstance(value, str):
            continue
        scaled = value * np.array(_SCALES[ASKS[name].dimension])
        distance = np.abs(numbers[:, None] / scaled - 1)
        if len(numbers) and float(distance.min()) < _TOO_NEAR:
            near.append(name)
    return tuple(near)
