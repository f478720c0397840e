"""The comparison in words, and the ratio taken apart."""

from __future__ import annotations

import math
from collections.abc import Callable

from ..units import number, show
from .records import Effect, StateResult

#: What each mode does to the joint, to be read after "At this load ...".
HAPPENS = {
    "screw_tension": "the screw breaks",
    "screw_thread_strip": "the screw's own thread strips",
    "parent_thread_strip": "the parent's thread strips",
    "flank_bearing": "the parent's thread flanks are crushed",
    "insert_thread_strip": "the insert's inner thread strips",
    "boss_wall": "the boss wall gives way",
}
#: The modes as nouns, for headings and notes.
MODE_NOUNS = {
    "screw_tension": "Screw in tension",
    "screw_thread_strip": "Screw thread",
    "parent_thread_strip": "Parent thread",
    "flank_bearing": "Flank bearing",
    "insert_thread_strip": "Insert's inner thread",
    "boss_wall": "Boss wall",
}
#: Ratios this close to one are called equal: the third digit of a load is not known better.
EQUAL = 0.005


def verdict(original: StateResult, repaired: StateResult, *, system: str = "SI") -> str:
    """Say whether the repaired thread is at least as strong, by how much, in which mode."""

    def force(value: float) -> str:
        return show(value, "force", system=system)

    return " ".join((_pull_out(original, repaired, force), _joint(original, repaired, force)))


def _pull_out(original: StateResult, repaired: StateResult, force: Callable[[float], str]) -> str:
    ratio = repaired.pull_out / original.pull_out
    if ratio > 1 + EQUAL:
        claim = "The repaired thread is stronger than the original"
    elif ratio >= 1 - EQUAL:
        claim = "The repaired thread is as strong as the original"
    else:
        claim = "The repaired thread is WEAKER than the original"
    return (
        f"{claim}: its pull-out strength is {_strips(repaired, force)} against "
        f"{_strips(original, force)}, a ratio of {number(ratio)}."
    )


def _strips(state: StateResult, force: Callable[[float], str]) -> str:
    """The load at which a state is pulled out and what happens then, in one pair of brackets."""
    said = f"{force(state.pull_out)} ({HAPPENS[state.pull_out_mode]})"
    return said.replace(") (", "; ")


def _joint(original: StateResult, repaired: StateResult, force: Callable[[float], str]) -> str:
    before, after = original.governing_mode, repaired.governing_mode
    if before == after == "screw_tension":
        return (
            "In both states the weakest screw of its class breaks before any thread strips, so the "
            f"repair leaves the strength of the joint at {force(repaired.strength)}."
        )
    if before == after == "screw_thread_strip":
        return (
            "The screw's own thread governs both states: an insert does not help here, a longer "
            "engagement or a stronger screw does."
        )
    first = f"In the original hole {HAPPENS[before]} first, at {force(original.strength)}"
    return f"{first}; in the repaired hole {HAPPENS[after]}, at {force(repaired.strength)}."


def effects(
    *,
    diameter: float,
    tolerance: float,
    length: float,
    wall: float,
    strength: float,
    mode: float,
) -> tuple[Effect, ...]:
    """Name the factors of the pull-out ratio; their product is the ratio.

    Parameters
    ----------
    diameter : strip area per length at basic sizes, repaired over original
    tolerance : the same at the joint's tolerance position, over that at basic sizes
    length : engaged lengths
    wall : dilation or wall factors
    strength : stresses and thread bending factors
    mode : what remains because not the parent's thread gives way first; 1 if it does
    """
    named = (
        ("diameter", diameter, "the insert hole shears on a larger cylinder, at basic sizes"),
        ("tolerance", tolerance, "tolerances of screw, hole and insert hole, same position"),
        ("length", length, "engaged length after the budget of each hole"),
        ("wall", wall, "wall left around each hole"),
        ("strength", strength, "bending of the threads, parent against screw"),
        ("mode", mode, "not the parent's thread gives way first"),
    )
    return tuple(Effect(name=name, ratio=ratio, words=words) for name, ratio, words in named)


def product(parts: tuple[Effect, ...]) -> float:
    """Return the product of the effects."""
    return math.prod(part.ratio for part in parts)
