"""Draw the exercises of a seed: joints, loads and a worked calculation with a mistake in units."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any, TypeVar

import numpy as np
from numpy.random import Generator

from .. import threads
from ..errors import InputError
from ..joint import Evaluation, evaluate, screw_tension_max
from ..strength.methods.factored import BOSS_RATIO_MIN
from ..units import number
from . import explorer, texts
from .exercises import DATA, Paper, given_away, master

Choice = TypeVar("Choice")

#: Draws after which a seed is given up.
_ATTEMPTS = 2000
_DRAWN = DATA["drawn"]


def draw(seed: int) -> Paper:
    """Draw the exercises of a seed.

    Parameters
    ----------
    seed : int, 0 or more

    Returns
    -------
    Paper
        The same for the same seed. No number that is given comes near to an answer, in any unit.

    Examples
    --------
    >>> draw(1).given["thread"] == draw(1).given["thread"]
    True
    """
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        raise InputError(f"seed must be a whole number from 0, got {seed!r}")
    rng = np.random.default_rng(seed)
    parts = (_sharing_part, _torque_part, _unit_part, _pull_test_part, _word_part)
    for _ in range(_ATTEMPTS):
        if (found := _joint(rng)) is None:
            continue
        paper = _joined(Paper(seed=seed, given={}, key={}), _joint_part(rng, found))
        for part in parts:
            # A part that gives an answer away is drawn anew, without those before it.
            drawn = (_joined(paper, part(rng, found)) for _ in range(_ATTEMPTS) if paper)
            paper = next(filter(None, drawn), None)
        if paper:
            return paper
    raise InputError(f"seed {seed} gives no exercises; take another")


#: What is given, and what is right.
Part = tuple[dict[str, str], dict[str, float | str]]


def _joined(paper: Paper, part: Part) -> Paper | None:
    """Return the paper with a part more; None where a number in it gives an answer away."""
    given, key = {**paper.given, **part[0]}, {**paper.key, **part[1]}
    new = replace(paper, given=given, key=key)
    return None if given_away((_fixed(), *given.values()), new) else new


@cache
def _fixed() -> str:
    """Return the words that every paper has, which hold numbers too."""
    asked = (c for c in master().cells if c.cell_type == "markdown" and not c.metadata.get("tags"))
    return " ".join((*map(texts.markdown, texts.PAGES), *(cell.source for cell in asked)))


def _joint(rng: Generator) -> Evaluation | None:
    """Draw a joint; None where it needs more than the class has been told."""
    names = ("thread", "parent", "screw", "engagement", "insert_length")
    drawn = {name: _pick(rng, _DRAWN[name]) for name in names}
    found = evaluate(explorer.joint(explorer.Controls(boss=math.inf, **drawn)))
    for state in found.states.values():
        strip = state.mode("parent_thread_strip")
        if state.pull_out_mode != strip.mode or abs(strip.factor - 1) >= 1e-6:
            return None
    return found


def _word_part(rng: Generator, _found: Evaluation) -> Part:
    return {name: _pick(rng, _DRAWN[name]) for name in ("brittle", "part")}, {}


def _pick(rng: Generator, choices: Sequence[Choice]) -> Choice:
    return choices[int(rng.integers(len(choices)))]


#: What a repaired joint carries beside the original one.
_GAIN = {-1: "less than", 0: "as much as", 1: "more than"}


def _fails(strips: float, maximum: float) -> str:
    return "the thread" if strips < maximum else "the screw"


def _joint_part(rng: Generator, found: Evaluation) -> Part:
    here = found.joint
    original, repaired = found.original, found.repaired
    maximum = float(screw_tension_max(here))
    carried = [min(state.pull_out, maximum) for state in (original, repaired)]
    around = repaired.sizes.hole_major
    # So thin that no published rule covers the insert hole.
    thin = round(BOSS_RATIO_MIN * around * float(rng.uniform(0.88, 0.98)), 1)
    given = {
        "thread": here.thread.designation,
        "parent": here.parent.name,
        "screw": here.screw.id,
        "engagement": f"{here.engagement:g} mm",
        "insert_length": f"{here.insert_length:g} mm",
        "pitch": f"{here.thread.pitch:g} mm",
        "screw_major": f"{original.sizes.crest:.3f} mm",
        "hole_pitch": f"{original.sizes.hole_pitch:.3f} mm",
        "insert_outside": f"{repaired.sizes.crest:.3f} mm",
        "insert_hole_pitch": f"{repaired.sizes.hole_pitch:.3f} mm",
        "shear_strength": f"{number(here.parent_shear.value, 4)} MPa",
        "screw_maximum": f"{number(maximum / 1e3, 4)} kN",
        "fails_original": _fails(original.pull_out, maximum),
        "fails_repaired": _fails(repaired.pull_out, maximum),
        "joint_gain": _GAIN[int(np.sign(carried[1] - carried[0]))],
        "thin_boss": f"{thin:g} mm",
        "thin_ratio": number(thin / around, 3),
    }
    return given, {
        "area_original": original.mode("parent_thread_strip").area,
        "area_repaired": repaired.mode("parent_thread_strip").area,
        "load_original": original.pull_out,
        "load_repaired": repaired.pull_out,
        "ratio": found.pull_out_ratio,
        "length_screw_first": maximum / (original.pull_out / original.engagement),
    }


def _sharing_part(rng: Generator, _found: Evaluation) -> Part:
    from ..strength.sharing.distribution import end_intensity

    parameter = round(float(rng.uniform(1.2, 3.4)), 2)
    return {"length_parameter": f"{parameter:.2f}"}, {
        "peak_over_mean": float(end_intensity(parameter))
    }


def _torque_part(rng: Generator, found: Evaluation) -> Part:
    from ..tightening import ScrewShape, torque

    thread = found.joint.thread
    friction = round(float(rng.uniform(0.08, 0.2)), 2)
    bearing = round(1.25 * thread.major, 1)
    pitch_diameter = round(threads.basic_diameters(thread).pitch, 3)
    given = {
        "friction": f"{friction:.2f}",
        "bearing": f"{bearing:g} mm",
        "basic_pitch": f"{pitch_diameter:.3f} mm",
    }
    shape = ScrewShape(pitch=thread.pitch, pitch_diameter=pitch_diameter, bearing_diameter=bearing)
    lever = shape.lever(friction, friction)
    return given, {"strip_torque": float(torque(found.original.pull_out, coefficient=lever))}


#: Factors of the worked calculation, by line: the right ones, and those that a mistake in units
#: puts there.
_RIGHT = {"A": 25.4, "B": 6.894757, "D": 0.2248089, "E": 25.4}
_SLIPS = {"A": 10.0, "B": 4.448222, "D": 0.4535924, "E": 2.54}


def _printed(value: float) -> float:
    """Return a number as it is printed in a worked calculation, to four digits."""
    return float(number(value, 4))


def _unit_part(rng: Generator, _found: Evaluation) -> Part:
    """Draw a worked calculation in mixed units in which one line goes wrong."""
    given = {
        "length": _pick(rng, (0.375, 0.5, 0.625, 0.75)),
        "per_length": round(float(rng.uniform(9.0, 24.0)), 1),
        "shear": round(float(rng.uniform(18.0, 33.0)), 1),
        "lever": round(float(rng.uniform(0.9, 1.9)), 2),
    }
    wrong = _pick(rng, tuple(_SLIPS))

    def worked(use: Mapping[str, float]) -> dict[str, float]:
        # Each line goes on with what is printed, as a reader with a calculator does.
        mm, mpa = _printed(given["length"] * use["A"]), _printed(given["shear"] * use["B"])
        newton = _printed(given["per_length"] * mm * mpa)
        pounds, inch = _printed(newton * use["D"]), _printed(given["lever"] / use["E"])
        return {"mm": mm, "mpa": mpa, "newton": newton, "pounds": pounds, "inch": inch,
                "product": _printed(pounds * inch)}  # fmt: skip

    corrected = worked(_RIGHT)["product"] / _RIGHT["D"] * _RIGHT["E"] / 1e3
    lines = worked(_RIGHT | {wrong: _SLIPS[wrong]})
    text = DATA["worked"].strip().format(**given, **lines)
    return {"worked": text}, {"wrong_line": wrong, "corrected_torque": corrected}


def _loads(rng: Generator, mean: float) -> list[float]:
    """Draw five loads whose limit tells a sample's standard deviation from a population's."""
    while True:
        loads = [round(v, 1) for v in mean * (1 + 0.06 * rng.standard_normal(5))]
        if 0.05 < np.std(loads, ddof=1) / np.mean(loads) < 0.09:
            return loads


def _pull_test_part(rng: Generator, _found: Evaluation) -> Part:
    """Draw five invented loads, what they are to show, and how a next test is planned."""
    from ..uncertainty.pull_tests.planning import pieces_for_bound
    from ..uncertainty.pull_tests.tolerance import bound, k_factor

    mean = float(rng.uniform(12.0, 48.0))
    loads = _loads(rng, mean)
    coverage = _pick(rng, (0.90, 0.95))
    expected, scatter = round(float(np.mean(loads)), 1), _pick(rng, (0.04, 0.05, 0.06))
    # Near for a plan of many specimens, far for one of five or fewer.
    away = rng.uniform(*_pick(rng, ((2.2, 3.4), (5.5, 7.0))))
    requirement = round(expected * (1 - scatter * float(away)), 1)
    aim: dict[str, Any] = {"coverage": coverage, "confidence": 0.95}
    plan = pieces_for_bound(requirement=requirement, mean=expected, cov=scatter, **aim)
    given = {
        "test_loads": ", ".join(f"{load:.1f}" for load in loads) + " kN",
        "coverage": f"{100 * coverage:.0f} %",
        "k_factor": number(float(k_factor(5, **aim)), 4),
        "expected": f"{expected:.1f} kN",
        "scatter": f"{100 * scatter:.0f} %",
        "requirement": f"{requirement:.1f} kN",
    }
    shown = bound(1e3 * np.array(loads), "normal", **aim)
    return given, {
        "bound": float(shown.value),
        "pieces": float(plan.n),
        "five_do": "yes" if plan.n <= 5 else "no",
    }
