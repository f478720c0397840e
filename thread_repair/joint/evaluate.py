"""Evaluate both states of one joint: modes, governing mode, ratio, required length."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .. import threads
from ..arrays import positive
from ..errors import ValidityError
from ..strength.methods import METHODS
from ..strength.modes import METHOD_OF, PULL_OUT_MODES, capacities
from ..strength.modes import REFERENCES as MODE_REFERENCES
from ..strength.modes import results as mode_results
from ..strength.strip import STATES, StripInputs, StripResult, rival_strip
from ..tables import Reference, ledger
from . import notices, wall
from .lengths import budget, engaged, required_engagement, screw_load
from .records import Effect, Evaluation, Joint, ModeResult, StateResult
from .sizes import is_high_strength, mode_inputs, sizes

#: The primary model takes its area, its name and its equation from this document.
PRIMARY_METHOD = "fed_std_h28"


def evaluate(joint: Joint) -> Evaluation:
    """Compare the repaired thread with the original one.

    Both holes are taken at the same tolerance position with the same allowables.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    Evaluation

    Raises
    ------
    InputError
        If sizes do not fit together.
    ValidityError
        If no rule covers the wall that is left.
    """
    original, repaired = (_state(joint, state) for state in STATES)
    return Evaluation(
        joint=joint,
        original=original,
        repaired=repaired,
        effects=_effects(joint, original, repaired),
        facts=notices.notices(joint, original, repaired),
        references=_references(joint, (original, repaired)),
    )


def _state(joint: Joint, state: str) -> StateResult:
    steps = budget(joint, state)
    length = float(engaged(steps))
    inputs = mode_inputs(joint, state, length)
    modes = tuple(_modes(joint, inputs))
    by_name = {m.mode: m for m in modes if m.primary}
    if any(math.isnan(mode.capacity) for mode in by_name.values()):
        raise _no_capacity(joint, state)
    out = min((by_name[n] for n in PULL_OUT_MODES if n in by_name), key=lambda m: m.capacity)
    governing = min(by_name.values(), key=lambda m: m.capacity)
    return StateResult(
        state=state,
        engagement=length,
        budget=steps,
        sizes=sizes(joint, state),
        modes=modes,
        governing_mode=governing.mode,
        pull_out_mode=out.mode,
        pull_out=out.capacity,
        strength=governing.capacity,
        required_engagement=required_engagement(joint, state, screw_tension_max(joint)),
    )


def _no_capacity(joint: Joint, state: str) -> ValidityError:
    hole = sizes(joint, state).hole_major
    least = wall.BOSS_RANGE[0]
    enough = math.ceil(10 * least * hole) / 10
    boss = "no boss" if joint.boss_diameter is None else f"a boss of {joint.boss_diameter:g} mm"
    return ValidityError.of(
        "boss_outside_rule", boss=boss, state=state, hole=hole, enough=enough, least=least
    )


def screw_tension_max(joint: Joint) -> float:
    """Load that breaks the strongest screw of the class, N.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    float, N
    """
    return screw_load(joint, "strongest")


def _modes(joint: Joint, inputs: StripInputs) -> Iterator[ModeResult]:
    """Yield every mode that exists by the method that the verdict uses, then what stands beside it.

    The screw's other strengths are for margins and for what breaks first; the published methods
    give the parent's and the screw's thread.
    """
    of_area = threads.system_of(joint.thread).stress_area_method
    for mode, found in mode_results(inputs).items():
        method = METHOD_OF.get(mode, of_area)
        yield _mode(mode, found, method=method, primary=True)
    stresses = {
        "ultimate, strongest screw": joint.screw.tensile_max,
        "yield": joint.screw.yield_,
        "proof": joint.screw.proof,
    }
    for basis, stress in stresses.items():
        if np.isfinite(stress):
            found = StripResult(area=inputs.stress_area, stress=stress)
            yield _mode("screw_tension", found, method=of_area, primary=False, basis=basis)
    for each in METHODS.values():
        method = f"{each.id}_unfactored" if each.id == PRIMARY_METHOD else each.id
        for thread in each.threads:
            found = rival_strip(each, inputs, thread)
            yield _mode(f"{thread}_thread_strip", found, method=method, primary=False)


def _mode(
    mode: str, found: StripResult, *, method: str, primary: bool, basis: str = "ultimate"
) -> ModeResult:
    numbers = ("area", "stress", "factor", "capacity")
    return ModeResult(
        mode=mode,
        method=method,
        **{name: float(getattr(found, name)) for name in numbers},
        factors={name: float(value) for name, value in found.factors.items()},
        valid=bool(found.valid),
        notes=found.notes,
        primary=primary,
        basis=basis,
    )


def _effects(joint: Joint, original: StateResult, repaired: StateResult) -> tuple[Effect, ...]:
    """Take the pull-out ratio apart; the product of the effects is the ratio.

    diameter: strip area per length at basic sizes; tolerance: the same at the joint's tolerance
    position, over that at basic sizes; length: engaged lengths; wall: wall factors; strength:
    thread bending factors; mode: what remains because not the parent's thread fails first.
    """
    before, after = (state.mode("parent_thread_strip") for state in (original, repaired))
    first, second = (
        mode_inputs(joint, state, 1.0, position="basic").area("parent") for state in STATES
    )

    def ratio(*names: str) -> float:
        return after.kept(*names) / before.kept(*names)

    diameter = float(second / first)
    length = repaired.engagement / original.engagement
    pulled = repaired.pull_out / original.pull_out
    found = {
        "diameter": diameter,
        "tolerance": after.area / before.area / length / diameter * ratio("overlap"),
        "length": length,
        "wall": ratio("C1", "wall"),  # named after where it is from
        "strength": ratio("C3"),
        "mode": pulled / (after.capacity / before.capacity),
    }
    return tuple(Effect(name=name, ratio=each) for name, each in found.items())


def _references(joint: Joint, states: tuple[StateResult, ...]) -> tuple[Reference, ...]:
    """Everything that influenced a number of the comparison."""
    strong = is_high_strength(joint.thread, joint.screw)
    used = [
        *joint.thread.references,
        *threads.stress_area_references(joint.thread, high_strength=strong),
        joint.screw.reference("tensile_min"),
        joint.screw.reference("tensile_max"),
        joint.screw.reference("shear_over_tensile"),
        *joint.parent_shear.references,
        *joint.parent_tensile.references,
        *(() if joint.parent_yield is None else joint.parent_yield.references),
        *joint.wire_shear.references,
        *joint.references,
        *wall.references(joint),
    ]
    for state in states:
        used += state.sizes.references
        for mode in state.modes:
            if mode.primary:
                used += MODE_REFERENCES[mode.mode]
    return ledger(used)


# ---- the same over many nominal lengths and parents

_LOADS = ("screw_tension", "screw_tension_max", *PULL_OUT_MODES, "pull_out", "strength")


#: Shear and tensile strength and flow stress of a parent, MPa, NaN where no source gives one.
Strengths = tuple[float, float, float]


def sweep(
    joint: Joint, *, lengths: ArrayLike, parents: Mapping[str, Strengths]
) -> Mapping[str, NDArray[Any]]:
    """Evaluate both states for every parent and nominal length.

    Parameters
    ----------
    joint : Joint
        Everything that is not swept.
    lengths : array_like, shape (n,), mm
        Nominal: full thread in the original hole, insert length in the repaired one. Each state
        has its own engagement budget.
    parents : mapping of str to Strengths, MPa

    Returns
    -------
    mapping of str to ndarray
        Columns of 2 x parents x lengths rows: state, parent, length_mm, engaged_mm, the capacity
        of every mode in N, pull_out_N, strength_N, governing_mode. A capacity is NaN where a
        source gives no value, infinite where the mode does not exist.
    """
    (nominal,) = positive(lengths=np.atleast_1d(lengths))
    strengths = np.array(list(parents.values())).T[:, :, None]
    shape = (len(parents), len(nominal))
    parts = []
    for state in STATES:
        length = np.atleast_1d(engaged(budget(joint, state, nominal=nominal)))
        found = capacities(mode_inputs(joint, state, length[None, :], strengths=strengths))
        parts.append(
            {
                "state": np.full(shape, state),
                "parent": np.broadcast_to(np.array(list(parents))[:, None], shape),
                "length_mm": np.broadcast_to(nominal, shape),
                "engaged_mm": np.broadcast_to(length, shape),
                **{f"{load}_N": getattr(found, load) for load in _LOADS},
                "governing_mode": found.governing,
            }
        )
    return {
        name: np.concatenate([np.broadcast_to(part[name], shape).ravel() for part in parts])
        for name in parts[0]
    }
