"""What a measured hardness says of the tensile strength: the lowest published relation."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..arrays import positive
from ..errors import InputError, ValidityError
from ..tables import Reference, Row, reference, rows
from .parents import Parent, with_values
from .unidentified import UNKNOWN
from .values import Value, made_of

#: Ball and load of the test, left aside: HV10, HBW 5/250. A number apart would be a second one.
_TEST = r"(?:[\d.]+|\s*[\d.]+/[\d./]+)?"
#: Ways to write a hardness.
_WRITTEN = re.compile(
    rf"(?P<scale>HBW?S?|HV|HR[A-Z]){_TEST}\s+(?P<value>\d+(?:\.\d+)?)"
    r"|(?P<scale2>HBW?S?|HV|HR[A-Z])(?P<value2>\d+(?:\.\d+)?)"
    rf"|(?P<value3>\d+(?:\.\d+)?)\s*(?P<scale3>HBW?S?|HV|HR[A-Z]){_TEST}",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hardness:
    """A hardness as measured: scale, such as HB, HV or HRB, and number."""

    scale: str
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HardnessStrength:
    """The tensile strength that a hardness stands for, MPa.

    Attributes
    ----------
    hardness : as measured
    brinell : the Brinell number it stands for
    ratio, ratio_max : MPa per Brinell number, the lowest and the greatest of the published pairs
    tensile : the lowest ratio times the Brinell number; an estimate
    pairs, lowest : how many pairs there are, and the one with the lowest ratio
    references : of that pair, and of the conversion of the scale
    """

    hardness: Hardness
    brinell: float
    ratio: float
    ratio_max: float
    tensile: float
    pairs: int
    lowest: str
    references: tuple[Reference, ...]


def hardness(text: str) -> Hardness:
    """Return a hardness as it is written.

    Parameters
    ----------
    text : str

    Returns
    -------
    Hardness

    Raises
    ------
    InputError
        Where no scale and number can be read.

    Examples
    --------
    >>> hardness("HB 75"), hardness("75 HBW 5/250").value, hardness("HRB60").scale
    (Hardness(scale='HB', value=75.0), 75.0, 'HRB')
    """
    match = _WRITTEN.fullmatch(str(text).strip())
    if match is None:
        raise InputError.of("no_hardness", entered=str(text)[:60])
    named = {name[:5]: value for name, value in match.groupdict().items() if value}
    scale = named["scale"].upper()
    return Hardness(scale="HB" if scale.startswith("HB") else scale, value=float(named["value"]))


def tensile_of(measured: Hardness, group: str) -> HardnessStrength:
    """Return the lowest tensile strength that published pairs give for a hardness.

    Parameters
    ----------
    measured : Hardness
    group : str
        Of the parent. A conversion of one metal is never used for another.

    Returns
    -------
    HardnessStrength

    Raises
    ------
    ValidityError
        Where no published relation is known for this metal and scale, or the hardness lies
        outside it; nothing is extrapolated.

    Notes
    -----
    Tensile strength over Brinell number differs among the alloys of a group by a third and more.
    The lowest ratio of the pairs that documents print is used, so that the estimate lies below
    every printed strength.

    Examples
    --------
    >>> found = tensile_of(hardness("HB 75"), "cast aluminium")
    >>> f"{found.tensile:.1f}", found.lowest
    ('170.0', 'EN AC-45000-F permanent mould')
    """
    pairs, numbers, ratios = _pairs(group)
    if not pairs:
        known = dict.fromkeys(row["group"] for row in rows("hardness_pairs.csv"))
        raise ValidityError.of("no_hardness_relation", group=group, known=", ".join(known))
    brinell, scale = _brinell(measured, group)
    low, high = min(numbers), max(numbers)
    if not low <= brinell <= high:
        raise ValidityError.of(
            "hardness_outside_pairs", measured=measured, group=group, low=low, high=high
        )
    row = pairs[ratios.index(min(ratios))]
    what = f"{group}: lowest tensile strength over Brinell hardness ({row['alloy']})"
    return HardnessStrength(
        hardness=measured,
        brinell=brinell,
        ratio=min(ratios),
        ratio_max=max(ratios),
        tensile=min(ratios) * brinell,
        pairs=len(pairs),
        lowest=row["alloy"],
        references=(reference(row, what), *scale),
    )


def _pairs(group: str) -> tuple[Sequence[Row], list[float], list[float]]:
    """Return the published pairs of a group: rows, Brinell hardness, MPa per Brinell number."""
    pairs = rows("hardness_pairs.csv", group=group)
    numbers = [float(row["brinell"]) for row in pairs]
    ratios = [float(row["tensile"]) / number for row, number in zip(pairs, numbers, strict=True)]
    return pairs, numbers, ratios


def brinell_of(tensile: float, group: str) -> float:
    """Return the Brinell hardness that shows a tensile strength, MPa; NaN where none is known.

    Parameters
    ----------
    tensile : float, MPa
    group : str

    Returns
    -------
    float
        A Brinell number.

    Raises
    ------
    InputError
        If the strength is not above zero.
    """
    positive(tensile=tensile)
    _, numbers, ratios = _pairs(group)
    if not numbers:
        return math.nan
    needed = tensile / min(ratios)
    return needed if min(numbers) <= needed <= max(numbers) else math.nan


def _brinell(measured: Hardness, group: str) -> tuple[float, tuple[Reference, ...]]:
    if measured.scale == "HB":
        return measured.value, ()
    table = rows("hardness_scales.csv", group=group, scale=measured.scale)
    table = tuple(sorted(table, key=lambda row: float(row["value"])))
    if not table:
        raise ValidityError.of("hardness_not_converted", measured=measured, group=group)
    own, brinell = ([float(row[name]) for row in table] for name in ("value", "brinell"))
    if not own[0] <= measured.value <= own[-1]:
        raise ValidityError.of(
            "hardness_outside_scale", measured=measured, group=group, own=own, last=own[-1]
        )
    what = f"{group}: {measured.scale} to Brinell hardness"
    return float(np.interp(measured.value, own, brinell)), (reference(table[0], what),)


def with_hardness(parent: Parent, found: HardnessStrength) -> Parent:
    """Return a parent with the tensile strength that a hardness shows, and what follows from it.

    It takes the place of the lowest value of a metal that is not identified. The strength of a
    known alloy it can only lower: a hard piece does not raise a specified minimum.

    Parameters
    ----------
    parent : Parent
    found : HardnessStrength

    Returns
    -------
    Parent
    """
    if not parent.id.startswith(UNKNOWN) and found.tensile >= parent.tensile:
        return parent
    text = f"{found.hardness.scale} {found.hardness.value:g}"
    what = f"{parent.id}: tensile strength estimated from {text}"
    place = made_of(found.references, what)
    return with_values(parent, {"tensile": Value("tensile", found.tensile, "estimated", place)})
