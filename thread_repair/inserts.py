"""What hole does this insert need, how long is it when fitted, what does the parent feel of it.

The hole for a wire thread insert carries the ordinary thread profile on an enlarged diameter.
None of the tables with its minor and major limits could be read, so they are computed: basic
sizes from the geometry of the wire's section, tolerances from those of the nominal thread.
"""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from . import tables, threads
from .arrays import Floats, not_negative, number_above_zero, positive
from .errors import InputError, check_known, looked_up
from .threads.profile import TRIANGLE_60, BasicDiameters, InternalLimits, Thread

#: Nominal lengths in nominal diameters, ASME B18.29.1-2010 and B18.29.2M-2005 (read).
LENGTHS = (1.0, 1.5, 2.0, 2.5, 3.0)
KINDS = ("free-running", "locking")
#: Taps that a drilled depth is for.
TAPS = ("plug", "bottoming")
#: Where the tolerance is looked up: at the thread's diameter or at the enlarged one.
TOLERANCE_AT = ("nominal", "enlarged")

#: The locking coil is taken half way along the fitted insert: common practice, no published source,
#: the standards leave its place free.
_LOCK_AT = 0.5
#: Radial distance between the pitch lines of screw and hole, in triangle heights: derived in
#: `enlarged_diameters`.
_PITCH_SHIFT = 0.75

#: The class of the hole, closer than that of a free-running insert, that the torque limits of
#: locking inserts ask for (Unified: ASME B18.29.1-2010, 1.4, read; metric: ASME B18.29.2M 11.1.2,
#: read; Whitworth: common practice).
CLOSER_CLASS = {"metric": "5H", "unified": "3B", "whitworth": "close"}


@cache
def enlarged_diameters(thread: Thread) -> BasicDiameters:
    """Return the basic diameters of the hole that takes an insert of this thread.

    The wire is a rhomb between two like profiles, that of the screw inside and that of the hole
    outside, both half a pitch wide at their pitch lines. Between the pitch lines, a radial
    distance s apart, its flanks widen it to P/2 + s tan(angle/2), and H tan(angle/2) = P/2.
    Leaving an eighth of the pitch between neighbouring coils gives s = 3/4 H, whatever the flank
    angle. The hole is thus the ordinary profile shifted out by 3/4 H: basic diameters D + 1.5 H
    (major), less the ordinary depth for pitch and minor.

    For 60 degrees: D + 1.299038 P, D + 0.649519 P, D + 0.216506 P; the pitch diameter agrees with
    the printed pitch limits of insert taps (ASME B94.9-2008). For Whitworth no table could be
    read: D + 1.440737 P, D + 0.800410 P, D + 0.160082 P rest on the same section of the wire.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    BasicDiameters

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> hole = enlarged_diameters(thread("M8x1.25"))
    >>> round(hole.minor, 3), round(hole.pitch, 3), round(hole.major, 3)
    (8.271, 8.812, 9.624)
    """
    # Triangle height over pitch; pitch and minor below the major diameter: 60 degrees (ISO 68-1),
    # of which alone the limits of taps are printed, and Whitworth (BS 84).
    usual = thread.flank_angle == 60
    triangle, to_pitch, depth = (TRIANGLE_60, 3 / 4, 5 / 4) if usual else (0.960491, 2 / 3, 4 / 3)
    height = triangle * thread.pitch
    major = thread.major + 2 * _PITCH_SHIFT * height
    return BasicDiameters(
        minor=major - depth * height,
        pitch=major - to_pitch * height,
        major=major,
        references=tables.cited("inserts-geometry", *(("inserts-tap-limits",) if usual else ())),
    )


@cache
def insert_hole(
    thread: Thread, hole_class: str, *, tolerance_at: str = "nominal"
) -> InternalLimits:
    """Limits of size of the tapped hole that takes an insert of this thread.

    Parameters
    ----------
    thread : Thread
    hole_class : metric 4H to 7H (5H and 6H are usual), Unified 3B or 2B, Whitworth close or medium
    tolerance_at : "nominal" looks the tolerance up at the thread's own diameter, "enlarged" at
        the insert hole's. Which of the two the standards' tables use is open: for M10x1.5-6H the
        pitch tolerance is 0.180 or 0.190 mm.

    Returns
    -------
    InternalLimits

    Raises
    ------
    InputError
        If `tolerance_at` is neither word, or the class is unknown.
    ValidityError
        If the enlarged diameter falls where the tolerance table has no value for the pitch.

    Source: basic sizes derived, see `enlarged_diameters`; tolerances those of the thread's own
    standard. The tables of ASME B18.29.1, B18.29.2M and DIN 8140-2 were not read.
    """
    check_known("tolerance_at", tolerance_at, TOLERANCE_AT)
    basic = enlarged_diameters(thread)
    at_diameter = None if tolerance_at == "nominal" else basic.major
    tolerance = threads.internal_tolerances(thread, hole_class, at_diameter=at_diameter)
    rule = tables.cited(f"inserts-tolerance-{tolerance_at}")
    minor, pitch, major = (
        _printed(_printed(value, thread) + tolerance.allowance, thread)
        for value in (basic.minor, basic.pitch, basic.major)
    )
    return InternalLimits(
        hole_class=hole_class,
        minor_min=minor,
        minor_max=_printed(minor + tolerance.minor, thread),
        pitch_min=pitch,
        pitch_max=_printed(pitch + tolerance.pitch, thread),
        major_min=major,
        references=(*basic.references, *rule, *tolerance.references),
    )


def _printed(value: float, thread: Thread) -> float:
    """Round a size as its system prints it: to 0.001 mm or to 0.0001 in, in mm."""
    return threads.system_of(thread).printed(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class InsertOutside:
    """The outside diameter of the fitted insert, mm, as the parent's thread feels it."""

    minimum: float
    maximum: float
    basic: float
    references: tuple[tables.Reference, ...] = ()


def insert_outside(thread: Thread, screw_class: str) -> InsertOutside:
    """Outside diameter of the fitted insert, which plays the screw for the parent's thread.

    Parameters
    ----------
    thread : Thread
    screw_class : class of the screw whose position below basic is lent to the insert

    Returns
    -------
    InsertOutside

    Notes
    -----
    No document that could be read gives limits for this diameter. Assumed: basic is the insert
    hole's basic major diameter; the limits lie below it by as much as the screw's major limits
    lie below its own basic size. So both holes stand at the same tolerance position, and the
    comparison of the two is not decided by the position. The wire's section is held far closer,
    so this is on the safe side.
    """
    screw = threads.external_limits(thread, screw_class)
    basic = _printed(enlarged_diameters(thread).major, thread)
    return InsertOutside(
        minimum=basic - (thread.major - screw.major_min),
        maximum=basic - (thread.major - screw.major_max),
        basic=basic,
        references=(*tables.cited("inserts-insert-outside"), *screw.references),
    )


def fitted_class(thread: Thread, hole_class: str) -> str:
    """Class of the thread inside the fitted insert: that of the hole it sits in.

    The wire's section is held to about 6 micrometres, so the insert passes the hole's class on
    (common practice); ASME B18.29.2M 11.1.2 states 4H5H or 5H for metric holes and DIN 8140-1 6H
    (read). A 4H hole is printed 4H5H, the wire adding nothing to the pitch diameter.

    Parameters
    ----------
    thread : Thread
    hole_class : str
        Such as "6H", "2B" or "medium".

    Returns
    -------
    str
    """
    return "4H5H" if hole_class == "4H" and thread.system == "metric" else hole_class


def nominal_length(thread: Thread, diameters: float) -> float:
    """Nominal length of an insert [mm] of a standard number of diameters.

    Parameters
    ----------
    thread : Thread
    diameters : float

    Returns
    -------
    float, mm

    Raises
    ------
    InputError
        If the standards list no such length.

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> nominal_length(thread("M8x1.25"), 1.5)
    12.0
    """
    number_above_zero(diameters=diameters)
    if diameters not in LENGTHS:
        listed = ", ".join(f"{n:g}" for n in LENGTHS)
        nearest = min(LENGTHS, key=lambda n: abs(n - diameters))
        raise InputError.of("no_standard_length", given=diameters, listed=listed, nearest=nearest)
    return diameters * thread.major


def fitted_length(thread: Thread, length: ArrayLike) -> tuple[Floats, Floats]:
    """Least and greatest length of the fitted insert [mm] for its nominal one [mm], zero or more.

    Source: ASME B18.29.2M-2005, notes on assembled length: L - 0.75 P to L - 0.5 P. Known: read.

    Parameters
    ----------
    thread : Thread
    length : array_like, mm

    Returns
    -------
    tuple of two (float or ndarray), mm
    """
    (nominal,) = positive(length=length)
    least = nominal - tables.constant("insert_fitted_shortening_max").value * thread.pitch
    greatest = nominal - tables.constant("insert_fitted_shortening_min").value * thread.pitch
    return np.maximum(least, 0.0)[()], np.maximum(greatest, 0.0)[()]


def least_reach(thread: Thread, length: float, kind: str, set_down: float) -> float:
    """Least reach of the screw past the joint face [mm] for a "free-running" or "locking" insert.

    It passes the locking coil by two pitches; a free-running coil it meets by one, and the
    engagement budget asks for more.

    Parameters
    ----------
    thread : Thread
    length, set_down : float, mm
        Nominal length of the insert; greatest set-down of the fitted one.
    kind : str

    Returns
    -------
    float, mm

    Raises
    ------
    UnknownNameError
        For another kind, which would get the reach of a free-running one.
    """
    check_known("insert kind", kind, KINDS)
    not_negative(set_down=set_down)
    if kind != "locking":
        return set_down + thread.pitch
    fitted = float(fitted_length(thread, length)[1])
    past = tables.constant("insert_lock_passed").value * thread.pitch
    return set_down + _LOCK_AT * fitted + past


def full_thread_min(thread: Thread, length: ArrayLike) -> Floats:
    """Least depth of full thread in the insert hole [mm]: T = L + P.

    Source: ASME B18.29.2M-2005, notes on hole depth; NASM33537 sheet 1 by its example. Known:
    read.

    Parameters
    ----------
    thread : Thread
    length : array_like, mm

    Returns
    -------
    float or ndarray, mm
    """
    (nominal,) = positive(length=length)
    beyond = tables.constant("insert_full_thread_beyond_length").value
    return (nominal + beyond * thread.pitch)[()]


def drill_depth(thread: Thread, length: ArrayLike, tap: str) -> Floats:
    """Least drilled depth of a blind insert hole [mm] for a "plug" or a "bottoming" tap.

    G = L + 4 P (bottoming) or L + 6 P (plug), and 0.5 D more for a plug tap of 8 mm and below,
    whose point ends in a male centre. The last pitch of each is for countersink and set-down.

    Source: ASME B18.29.2M-2005, notes on hole depth, and its drawing example. Known: read.

    Parameters
    ----------
    thread : Thread
    length : array_like, mm
    tap : str
        "plug" or "bottoming".

    Returns
    -------
    float or ndarray, mm

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> float(drill_depth(thread("M8x1.25"), 12.0, "plug"))
    23.5
    """
    (nominal,) = positive(length=length)
    check_known("tap", tap, TAPS)
    depth = nominal + tables.constant(f"insert_drill_{tap}").value * thread.pitch
    if tap == "plug" and thread.major <= tables.constant("insert_tap_centre_limit").value:
        depth = depth + tables.constant("insert_tap_centre").value * thread.major
    return depth[()]


def drill_depths(thread: Thread, length: float) -> dict[str, float]:
    """Least drilled depth of a blind insert hole [mm] by the tap that finishes it.

    Parameters
    ----------
    thread : Thread
    length : float, mm

    Returns
    -------
    dict of str to float, mm
    """
    return {tap: float(drill_depth(thread, length, tap)) for tap in TAPS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Countersink:
    """Countersink of the insert hole: included angle, degrees; its sizes, mm."""

    angle: float
    diameter_min: float
    diameter_max: float
    depth_max: float
    references: tuple[tables.Reference, ...]


def countersink(thread: Thread) -> Countersink:
    """Countersink that leaves no feather edge and stays above the fitted coil.

    The angle is recalled from NASM33537. Its diameters could not be read, so they are derived: at
    least the basic major diameter of the hole, at most where the cone, starting from the basic
    minor diameter, is half a pitch deep: inside the pitch that the standard allows for countersink
    and set-down, and above the coil at its least set-down of 0.75 pitch. Confirm in Table III of
    NASM33537 or Table 1 of ASME B18.29.2M.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    Countersink
    """
    angle = tables.constant("insert_countersink_angle")
    basic = enlarged_diameters(thread)
    slope = math.tan(math.radians(angle.value / 2))
    depth_max = thread.pitch / 2
    return Countersink(
        angle=angle.value,
        diameter_min=basic.major,
        diameter_max=basic.minor + 2 * depth_max * slope,
        depth_max=depth_max,
        references=(angle.reference, *tables.cited("inserts-countersink")),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SetDown:
    """How far the end of the coil lies below the surface, mm."""

    rule: str
    least: float
    most: float
    words: str
    reference: tables.Reference


@cache
def set_down_rules(thread: Thread) -> tuple[SetDown, ...]:
    """Every published or customary rule on set-down, worked out for this thread.

    Parameters
    ----------
    thread : Thread

    Returns
    -------
    tuple of SetDown
    """
    return tuple(
        SetDown(
            rule=row["rule"],
            least=float(row["least_pitches"]) * thread.pitch,
            most=float(row["most_pitches"]) * thread.pitch,
            words=row["words"],
            reference=tables.reference(row, f"set-down, rule {row['rule']}"),
        )
        for row in tables.rows("set_down.csv")
    )


def set_down(rule: str, thread: Thread) -> SetDown:
    """Set-down by one rule.

    Parameters
    ----------
    rule : str
    thread : Thread

    Returns
    -------
    SetDown

    Raises
    ------
    UnknownNameError
        Naming the nearest known rules.
    """
    return looked_up("set-down rule", rule, {each.rule: each for each in set_down_rules(thread)})
