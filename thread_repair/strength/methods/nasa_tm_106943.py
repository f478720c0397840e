"""NASA TM-106943: fixed shares of a cylinder, and where the document contradicts itself.

Equation (76) prints 3/4 pi L D for a thread pulled out by the screw in it; Table III of the same
document was computed with 7/8, which is the share at basic size. The document takes the parent
round an insert on the smaller area of the insert's outer thread (eq. 78, 79), "for conservative
purposes": set beside eq. (76) for the original hole it makes an insert look weaker than the
thread it replaces. Like is compared with like by `form="internal"` for both states.

Ultimate strength only. The inserts of the document are solid and held by keys: for a wire thread
insert every value of it lies outside its range, and a ratio of its two states would mean nothing.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import Floats, not_negative, positive
from ...errors import InputError
from ...facts import fact
from ..strip import StripInputs, StripResult

ID = "nasa_tm_106943"
#: Share of the cylinder of the screw's major diameter: as printed in eq. (76), and as used for
#: Table III.
INTERNAL_SHARE, INTERNAL_SHARE_TABLE_III = Fraction(3, 4), Fraction(7, 8)
#: Why no value of it counts for a wire thread insert.
OUTSIDE = fact("for_keyed_solid_inserts", "info")
#: Share of the cylinder of the minor diameter, eq. (63) and (78).
EXTERNAL_SHARE = Fraction(5, 8)


def internal_area(
    length: ArrayLike, major: ArrayLike, *, share: Fraction = INTERNAL_SHARE
) -> Floats:
    """Shear area of an internal thread, mm2 (any one unit of length in, its square out).

    Parameters
    ----------
    length, major : array_like, mm
    share : Fraction, optional

    Returns
    -------
    float or ndarray, mm2

    Examples
    --------
    Table III, 1/4-28 insert of S66286, 0.360 in, 85 ksi: printed 21 029 lb.

    >>> print(f"{85e3 * internal_area(0.360, 0.25, share=INTERNAL_SHARE_TABLE_III):.0f}")
    21029
    >>> print(f"{85e3 * internal_area(0.360, 0.25):.0f}")
    18025
    """
    (L,), (D,) = not_negative(length=length), positive(major=major)
    return (float(share) * np.pi * L * D)[()]


def external_area(length: ArrayLike, minor: ArrayLike) -> Floats:
    """Shear area of an external thread (screw, or outside of an insert), mm2.

    Parameters
    ----------
    length, minor : array_like, mm

    Returns
    -------
    float or ndarray, mm2
    """
    (L,), (D1,) = not_negative(length=length), positive(minor=minor)
    return (float(EXTERNAL_SHARE) * np.pi * L * D1)[()]


def parent_strip(inputs: StripInputs, *, form: str = "document") -> StripResult:
    """Parent's shear strength on the area the document gives for the state.

    Parameters
    ----------
    inputs : StripInputs
    form : {"document", "internal"}, optional
        "document": eq. (76) for the original hole, eq. (78) and (79) for the insert hole;
        "internal": eq. (76) on the hole actually tapped in both states.

    Returns
    -------
    StripResult

    Raises
    ------
    InputError
        If the form is neither "document" nor "internal".
    """
    if form not in ("document", "internal"):
        raise InputError(f"form must be document or internal, got {form!r}")
    if form == "document" and inputs.state == "repaired":
        area = external_area(inputs.length, inputs.hole_minor)
        note = "area_of_outer_thread"
    else:
        area = internal_area(inputs.length, inputs.hole_major_basic)
        note = "three_quarters_printed"
    return StripResult(
        method=ID,
        area=area,
        stress=inputs.parent_shear,
        valid=False,
        notes=(OUTSIDE, fact(note, "info")),
    )


def screw_strip(inputs: StripInputs) -> StripResult:
    """Screw's shear strength on eq. (63).

    Parameters
    ----------
    inputs : StripInputs

    Returns
    -------
    StripResult
    """
    area = external_area(inputs.screw_engaged, inputs.internal_minor)
    return StripResult(
        method=ID,
        area=area,
        stress=inputs.screw_shear,
        valid=False,
        notes=(OUTSIDE,),
    )
