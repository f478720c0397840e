"""How much of the nominal length is engaged, and at what length does the screw break first."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from .. import inserts, tables
from ..arrays import FloatArray, Floats, not_negative, plain
from ..errors import check_known
from ..facts import Fact, Quantity, fact, length, number
from ..strength import primary
from ..strength.methods import METHODS, asme_b18_29_2m
from ..strength.modes import ModeSet, capacities
from ..strength.strip import STATES, Method, StripInputs, rival_strip
from .records import ROUNDING, BudgetStep, Joint
from .sizes import mode_inputs, stress_area, undamaged

#: The ends of a class of screws.
SCREWS = ("weakest", "strongest")
#: Lengths searched in a boss, in diameters: no joint is shorter, and none is helped by more.
_SHORTEST, _LONGEST, _STEPS = 0.05, 10.0, 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class RequiredLength:
    """Length at which the screw breaks before a thread strips, by one method in one state; mm.

    `weakest`, `strongest` are engaged lengths of full thread for the least and the greatest
    tensile strength of the screw's class. The nominal lengths are those of an insert that engages
    as much when fitted, the standard ones the next longer standard insert in diameters; all NaN
    for the original hole, and where no standard insert is long enough. `reasons` say why a method
    has no length where another's reason is not that no length is enough.
    """

    state: str
    method: str
    title: str
    is_verdict: bool
    weakest: float
    strongest: float
    nominal_weakest: float
    nominal_strongest: float
    standard_weakest: float
    standard_strongest: float
    reasons: tuple[Fact, ...]


def screw_load(joint: Joint, screw: str) -> float:
    """Load that breaks the weakest or the strongest screw of the class, N.

    Parameters
    ----------
    joint : Joint
    screw : str
        "weakest" or "strongest".

    Returns
    -------
    float, N

    Raises
    ------
    UnknownNameError
        If it is neither.
    """
    check_known("screw of a class", screw, SCREWS)
    tensile = joint.screw.tensile_min if screw == "weakest" else joint.screw.tensile_max
    return float(stress_area(joint) * tensile)


def required_engagement(joint: Joint, state: str, load: float) -> float:
    """Length of full thread at which no thread strips below a load, by the primary model, mm.

    NaN where the boss wall gives way below that load, which no length mends.

    Parameters
    ----------
    joint : Joint
    state : str
        "original" or "repaired".
    load : float, N

    Returns
    -------
    float, mm
    """
    if joint.boss_diameter is None:
        return float(load / capacities(mode_inputs(joint, state, 1.0)).pull_out)
    # The wall factor falls with the length, so that the length is looked up, not worked out.
    lengths = np.linspace(_SHORTEST, _LONGEST, _STEPS) * joint.thread.major
    weakest = np.asarray(capacities(mode_inputs(joint, state, lengths)).pull_out)
    holds = np.flatnonzero(weakest >= load)
    if len(holds) == 0 or holds[0] == 0:
        return math.nan if len(holds) == 0 else float(lengths[0])
    around = slice(holds[0] - 1, holds[0] + 1)
    return float(np.interp(load, weakest[around], lengths[around]))


def required_by_method(joint: Joint) -> tuple[RequiredLength, ...]:
    """Return the required lengths of both states by the primary model and every method.

    The published methods know nothing of the boss wall as a section; theirs are the lengths of
    the threads alone.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    tuple of RequiredLength
    """
    found: list[RequiredLength] = []
    for state in STATES:
        # of one millimetre, and of a length that every method gives something for
        holes = [mode_inputs(joint, state, length) for length in (1.0, joint.thread.major)]
        methods = (primary.METHOD, *METHODS.values())
        found += [_required(joint, state, method, *holes) for method in methods]
    return tuple(found)


def _required(
    joint: Joint, state: str, method: Method, hole: StripInputs, long: StripInputs
) -> RequiredLength:
    is_verdict = method.id == primary.ID
    loads = [screw_load(joint, screw) for screw in SCREWS]
    reasons: tuple[Fact, ...] = ()
    if is_verdict:
        lengths = [required_engagement(joint, state, load) for load in loads]
    else:
        # Without a load for a thread there is no length either.
        found = (rival_strip(method, long, thread) for thread in method.threads)
        reasons = next((each.notes for each in found if np.isnan(each.capacity)), ())
        each = np.broadcast_to(math.nan if reasons else method.required_length(hole, loads), 2)
        lengths = each.tolist()
    nominal = standard = [math.nan, math.nan]
    if state == "repaired":
        shortening = tables.constant("insert_fitted_shortening_max").value * joint.thread.pitch
        nominal = [length + shortening for length in lengths]
        standard = [standard_diameters(joint, length) for length in lengths]
    pairs = {"": lengths, "nominal_": nominal, "standard_": standard}.items()
    return RequiredLength(
        state=state,
        method=method.id,
        title=method.title,
        is_verdict=is_verdict,
        reasons=reasons,
        **{f"{of}{screw}": x for of, pair in pairs for screw, x in zip(SCREWS, pair, strict=True)},
    )


def standard_diameters(joint: Joint, length: float) -> float:
    """Return the shortest standard insert that engages a length, in diameters; or NaN.

    The screw is taken long enough; a part that is too thin for the insert is not. NaN for a length
    that is not known, and where no standard insert engages as much.

    Parameters
    ----------
    joint : Joint
    length : float, mm

    Returns
    -------
    float
    """
    long_enough = replace(joint, screw_reach=None)
    thickness = math.inf if joint.part_thickness is None else joint.part_thickness
    nominal = np.multiply(inserts.LENGTHS, joint.thread.major)
    holds = engaged(budget(long_enough, "repaired", nominal=nominal)) >= length - ROUNDING
    enough = np.compress(holds & (nominal <= thickness + ROUNDING), inserts.LENGTHS)
    return float(np.min(enough)) if enough.size else math.nan


def table_check(joint: Joint) -> asme_b18_29_2m.LengthCheck | None:
    """Hold the primary model's length against the length table of the metric insert standard.

    None where the table does not speak: threads that are not metric, classes it does not list.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    LengthCheck or None
    """
    if joint.thread.system != "metric" or joint.screw.id not in asme_b18_29_2m.screw_classes():
        return None
    tensile = asme_b18_29_2m.screw_tensile_max(joint.screw.id)
    needed = required_engagement(joint, "repaired", tensile * stress_area(joint))
    return asme_b18_29_2m.length_check(
        joint.parent_shear.value,
        joint.screw.id,
        needed_length=needed,
        major_basic=joint.thread.major,
        pitch=joint.thread.pitch,
    )


def budget(joint: Joint, state: str, *, nominal: ArrayLike | None = None) -> tuple[BudgetStep, ...]:
    """Return the steps from the nominal to the engaged length of one state; their sum is engaged.

    `nominal` [mm] replaces the joint's own engagement or insert length; with an array every step
    is one.

    original: full thread as stated, cut where the part and where the screw ends.
    repaired: nominal insert length, less what the fitted coil is shorter (its incomplete end
    turns are in that), less its turns in the countersink, cut where the part's thread and where
    the screw ends. The coil begins at the set-down, at that end of its limits which counts less.

    Parameters
    ----------
    joint : Joint
    state : str
        "original" or "repaired".
    nominal : array_like, mm, optional

    Returns
    -------
    tuple of BudgetStep

    Raises
    ------
    UnknownNameError
        If there is no such state.
    InputError
        If a length is below zero or infinite.
    """
    begin: Floats = 0.0
    end: Floats
    check_known("state", state, STATES)
    own = joint.engagement if state == "original" else joint.insert_length
    full = own if nominal is None else plain(not_negative(nominal=nominal)[0])
    if state == "original":
        steps = [_step("full_thread", full)]
        end, far = full, joint.part_thickness
    else:
        shortening = tables.constant("insert_fitted_shortening_max").value
        fitted = np.maximum(full - shortening * joint.thread.pitch, 0.0)
        down = _worst_set_down(joint, fitted)
        begin, end = np.maximum(down, joint.countersink_depth), down + fitted
        steps = [
            _step("nominal_length", full),
            _step("fitted_shorter", fitted - full, pitches=number(shortening)),
        ]
        if joint.set_down_min < joint.countersink_depth:
            inside = np.minimum(begin - down, fitted)
            begin = down + inside
            steps.append(_step("in_countersink", -inside, depth=length(joint.countersink_depth)))
        far = thread_end(joint)
    for step, at in (("beyond_part", far), ("beyond_screw", joint.screw_reach)):
        if at is not None:
            kept = np.clip(at, begin, end)
            told = {"at": length(at), "set_down": length(joint.set_down_max)}
            steps.append(_step(step, kept - end, why=f"{step}_{state}", **told))
            end = kept
    return tuple(steps)


def _step(step: str, mm: Floats, *, why: str = "", **values: Quantity) -> BudgetStep:
    return BudgetStep(step=step, mm=mm, why=fact(f"budget_{why or step}", **values))


def thread_begin(joint: Joint) -> float:
    """Depth below the face at which the counted thread of the fitted insert begins at most, mm.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    float, mm
    """
    return max(joint.set_down_max, joint.countersink_depth)


def thread_end(joint: Joint) -> float | None:
    """Depth at which the thread of a through hole ends, mm: thickness less the far countersink.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    float, mm or None
    """
    if joint.part_thickness is None:
        return None
    return max(joint.part_thickness - joint.countersink_depth, 0.0)


def engaged_length(joint: Joint, state: str) -> float:
    """Return the engaged length of a state, mm.

    Parameters
    ----------
    joint : Joint
    state : "original" or "repaired"

    Returns
    -------
    float, mm
    """
    return float(engaged(budget(joint, state)))


def undamaged_loads(joint: Joint) -> ModeSet:
    """What the original hole carries within the limits of its class, N.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    ModeSet
    """
    sound = undamaged(joint)
    return capacities(mode_inputs(sound, "original", engaged_length(sound, "original")))


def _worst_set_down(joint: Joint, fitted: FloatArray) -> FloatArray:
    """Return the set-down within its limits at which least is engaged, mm.

    Between the limits the engaged length rises and then falls, so that one of them is the worst.
    """
    ends = [end for end in (thread_end(joint), joint.screw_reach) if end is not None]

    def left(down: float) -> FloatArray:
        end: FloatArray = np.minimum(down + fitted, min(ends, default=np.inf))
        return end - max(down, joint.countersink_depth)

    deep = left(joint.set_down_max) <= left(joint.set_down_min)
    return np.where(deep, joint.set_down_max, joint.set_down_min)


def engaged(steps: tuple[BudgetStep, ...]) -> Floats:
    """Return the engaged length, mm: the sum of the steps.

    Parameters
    ----------
    steps : tuple of BudgetStep

    Returns
    -------
    float or ndarray, mm
    """
    return sum(step.mm for step in steps)
