"""What the reader of a comparison must know beside the numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import fields

from .. import inserts, tables
from ..sources import UNCONFIRMED
from ..strength.edge import edge_distance
from ..strength.methods.sae_770420 import dilation_factor
from ..units import number, plain, show, to_decimals
from .records import Joint, Notice, StateResult
from .sizes import outside_class
from .verdict import MODE_NOUNS


def notices(
    joint: Joint, original: StateResult, repaired: StateResult, *, system: str = "SI"
) -> tuple[Notice, ...]:
    """Return every notice, limits first, its quantities in SI, inch or both."""
    found = (
        *_limits(joint, original, repaired, system),
        *_shallow(joint, original, repaired, system),
        *_walls(joint, original, repaired, system),
        *_assumptions(joint, system),
        *_ranges(original, repaired),
    )
    return tuple(dict.fromkeys(found))


def _limits(
    joint: Joint, original: StateResult, repaired: StateResult, system: str
) -> Iterator[Notice]:
    if repaired.pull_out < original.pull_out:
        yield Notice(
            level="limit",
            text="The insert does not win here: the repaired thread gives way at a lower load "
            "than the original one. See the decomposition of the ratio for the reason.",
        )
    for state in (original, repaired):
        if state.governing_mode == "screw_tension":
            # NaN, where no length helps, is not at most what is engaged either.
            if not state.required_engagement <= state.engagement:
                yield Notice(
                    level="limit",
                    text=f"{state.state}: only the weaker screws of the class break before the "
                    "thread strips; against the strongest one the thread gives way first. "
                    + _mended(state, "The thread needs", system),
                )
        else:
            yield Notice(
                level="limit",
                text=f"{state.state}: a thread or the wall gives way before the screw breaks; "
                + _mended(state, "the strongest screw needs", system),
            )
    if joint.edge_distance is not None:
        found = edge_distance(joint.edge_distance, repaired.sizes.hole_major)
        if found.level != "clear":
            yield Notice(
                level="limit" if found.level == "too near" else "caution",
                text=f"The edge lies {show(joint.edge_distance, 'length', system=system)} from "
                f"the hole centre, {number(float(found.ratio))} diameters of the insert hole; the "
                f"designers' rule asks for {found.recommended:g}, and never less than "
                f"{found.least:g}.",
            )


def _mended(state: StateResult, needs: str, system: str) -> str:
    """Which length lets the strongest screw break first, after a word on who needs it."""
    if math.isnan(state.required_engagement):
        no = "No" if needs[0].isupper() else "no"
        return f"{no} length of thread lets the strongest screw break first."
    needed, engaged = (
        show(length, "length", system=system)
        for length in (state.required_engagement, state.engagement)
    )
    return f"{needs} {needed} of full thread, {engaged} are engaged."


#: A reduction by less than this is not worth a word.
_REDUCED = 0.005


def _shallow(
    joint: Joint, original: StateResult, repaired: StateResult, system: str
) -> Iterator[Notice]:
    """Threads that overlap too little for the area formula to hold, and sizes outside a class."""
    for state in (original, repaired):
        overlap = state.mode("parent_thread_strip").factors["overlap"]
        if overlap < 1 - _REDUCED:
            crushed = state.pull_out_mode == "flank_bearing"
            height = f"{100 * state.sizes.thread_height:.3g} %"
            yield Notice(
                level="limit",
                text=f"{state.state}: the threads overlap by {height} of the basic thread height. "
                + (
                    "The flanks are crushed before the thread shears off; that load is used."
                    if crushed
                    else f"The parent's strip load is taken as {100 * overlap:.1f} % of what the "
                    "area formula gives, not above certified bounds."
                ),
            )
    for size in outside_class(joint):
        length, limit = (
            to_decimals(each, decimals=3, dimension="length", system=system)
            for each in (size.measured, size.limit)
        )
        yield Notice(
            level="limit",
            text=f"measured_{size.name} {length} lies outside its class: the limit is {limit}.",
        )
    if joint.measured is not None:
        not_given = [
            f.name for f in fields(joint.measured) if getattr(joint.measured, f.name) is None
        ]
        if not_given:
            yield Notice(
                level="caution",
                text="Not measured, taken at the minimum-material limit of the class: "
                f"{', '.join(name.replace('_', ' ') for name in not_given)}.",
            )


def _walls(
    joint: Joint, original: StateResult, repaired: StateResult, system: str
) -> Iterator[Notice]:
    """What the boss costs, by the certified bounds and by the published curve."""
    if joint.boss_diameter is None:
        return
    states = (original, repaired)
    kept = [
        math.prod(s.mode("parent_thread_strip").factors.get(f, 1.0) for f in ("C1", "wall"))
        for s in states
    ]
    if min(kept) == 1:
        return
    curve = [
        number(float(dilation_factor(joint.boss_diameter, s.sizes.hole_major))) for s in states
    ]
    clearance = tables.constant("clearance_over_major").value * joint.thread.major
    outside = f"outside a clearance hole of up to {show(clearance, 'length', system=system)}"
    held = {"base": "at its base", "face": f"on its face {outside}"}.get(
        joint.boss_support,
        f"in a way that is not known, so that the weaker counts, its base or its face {outside}",
    )
    yield Notice(
        level="limit",
        text=f"The boss of {show(joint.boss_diameter, 'length', system=system)}, held {held}, "
        f"leaves the original thread {number(kept[0])} and the repaired thread "
        f"{number(kept[1])} of its strip load in a thick wall. The published curve for nuts "
        f"(SAE 770420) says {curve[0]} and {curve[1]}; the lower figure is used. The insert hole "
        "is larger and leaves less wall.",
    )


def _assumptions(joint: Joint, system: str) -> Iterator[Notice]:
    unconfirmed = [r for r in joint.parent_shear.references if r.how_known in UNCONFIRMED]
    if unconfirmed:
        values = "; ".join(f"{r.what} ({r.source} {r.clause})" for r in unconfirmed)
        yield Notice(
            level="caution",
            text=f"The parent's shear strength rests on values recalled, not read: {values}. "
            "Confirm them in the document before the report is made final.",
        )
    thick = max(joint.part_thickness or 0.0, joint.hole_depth or 0.0)
    if thick > joint.parent.thickness_to * (1 + 1e-9) and not joint.parent.is_supplied("shear"):
        most, found = (
            show(each, "length", system=system) for each in (joint.parent.thickness_to, thick)
        )
        yield Notice(
            level="caution",
            text=f"The strengths of {joint.parent.name} hold for a product up to {most} thick; "
            f"this part is at least {found}. Take the row of its size.",
        )
    if joint.parent.caveat:
        yield Notice(level="caution", text=joint.parent.caveat)
    if joint.boss_diameter is None:
        yield Notice(
            level="info",
            text="No boss diameter is given: the parent is taken as thick, without a wall factor.",
        )
    if joint.screw_reach is None:
        yield Notice(
            level="info",
            text="No screw reach is given: the screw is taken to engage the whole length.",
        )
    yield Notice(
        level="info",
        text="No table of insert-hole limits could be read: they are derived from the thread "
        "profile on the enlarged diameter with the tolerance of the nominal thread.",
    )
    yield Notice(level="info", text=_outside(joint))
    standard = [n * joint.thread.major for n in inserts.LENGTHS]
    if min(abs(joint.insert_length - length) for length in standard) > 0.01:
        lengths = plain(*standard, dimension="length", system=system, joined=", ")
        given = plain(joint.insert_length, dimension="length", system=system)
        yield Notice(
            level="caution",
            text=f"An insert of {given} is not a standard length; standard are {lengths}.",
        )


def _outside(joint: Joint) -> str:
    position = joint.tolerance_position
    found = inserts.insert_outside(
        joint.thread,
        joint.screw_class,
        "minimum-material" if position == "measured" else position,
        hole_class=joint.insert_hole_class,
    )
    return f"{found.assumption} {found.effect}"


def _ranges(original: StateResult, repaired: StateResult) -> Iterator[Notice]:
    """Notes of the methods, said once where both states have them."""
    notes: dict[tuple[str, str], list[str]] = {}
    for state in (original, repaired):
        for mode in state.modes:
            if mode.primary:
                for note in mode.notes:
                    notes.setdefault((mode.mode, note), []).append(state.state)
    for (name, note), states in notes.items():
        where = "both states" if len(states) > 1 else f"{states[0]} thread"
        yield Notice(level="info", text=f"{MODE_NOUNS[name]}, {where}: {note}.")
