"""What pieces cut from castings keep of the strength of separately cast bars."""

from __future__ import annotations

from dataclasses import dataclass

from .designations import parent
from .parents import Parent, parents, shear_strength


@dataclass(frozen=True, slots=True, kw_only=True)
class CastingLoss:
    """Strength of pieces cut from castings over that of the bar, by two printed values.

    `bar` and `cut` are the two materials compared; `is_own` tells whether `bar` is the parent
    asked for, or another whose loss serves as an example.
    """

    shear: float
    tensile: float
    bar: Parent
    cut: Parent
    is_own: bool


def casting_loss(cast: Parent) -> CastingLoss:
    """Return the printed loss of a parent, or the greatest one of its group, or of all groups.

    Parameters
    ----------
    cast : Parent
        A separately cast one.

    Returns
    -------
    CastingLoss

    Examples
    --------
    >>> loss = casting_loss(parent("356.0-T6-sand"))
    >>> print(f"{loss.shear:.3f} {loss.tensile:.3f}")
    0.778 0.733
    """
    if cast.cut_from_casting:
        return _loss(cast, is_own=True)
    # Typical strengths of a bar promise nothing: they would make the loss look greater.
    bars = [each for each in parents() if each.cut_from_casting and each.basis == "minimum"]
    near = [each for each in bars if each.group == cast.group] or bars
    return min((_loss(each, is_own=False) for each in near), key=lambda loss: loss.tensile)


def _loss(bar: Parent, *, is_own: bool) -> CastingLoss:
    cut = parent(bar.cut_from_casting)
    tensile = min(1.0, cut.tensile / bar.tensile)
    shear = min(1.0, float(shear_strength(cut).value / shear_strength(bar).value))
    # For another metal the ratio of the tensile strengths stands for both.
    return CastingLoss(
        shear=shear if is_own else tensile, tensile=tensile, bar=bar, cut=cut, is_own=is_own
    )
