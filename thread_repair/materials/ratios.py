"""How strong in shear is a metal whose source gives only its tensile strength."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from ..errors import unknown
from ..sources import HOW_KNOWN, Reference
from ..tables import Row, reference, rows
from .handbook import handbook_ratios


@dataclass(frozen=True, slots=True, kw_only=True)
class ShearRatio:
    """Ultimate shear strength over tensile strength of one family of metals, by one source.

    `printed` tells a ratio that the document states from one formed of the two strengths
    that it prints for one metal (`note` names the metal).
    """

    family: str
    ratio: float
    printed: bool
    note: str
    reference: Reference


@cache
def _ratios() -> Mapping[str, tuple[ShearRatio, ...]]:
    found: dict[str, list[ShearRatio]] = {}

    def add(family: str, row: Row, ratio: float, printed: bool, note: str) -> None:
        found.setdefault(family, []).append(
            ShearRatio(
                family=family,
                ratio=ratio,
                printed=printed,
                note=note,
                reference=reference(row, f"shear over tensile strength, {family}"),
            )
        )

    for row in rows("shear_ratios.csv"):
        printed = bool(row["ratio"])
        ratio = float(row["ratio"]) if printed else float(row["shear"]) / float(row["tensile"])
        for family in row["families"].split(";"):
            add(family, row, ratio, printed, row["note"])
    for row, ratio in handbook_ratios():
        note = (
            f"{row['alloy']}-{row['temper']} {row['form']}, {row['size_in']}, {row['basis']} basis"
        )
        add(row["family"], row, ratio, False, note)
    return MappingProxyType({family: tuple(each) for family, each in found.items()})


def shear_ratios(family: str) -> tuple[ShearRatio, ...]:
    """Return every ratio known for a family of metals, in file order.

    Parameters
    ----------
    family : str

    Returns
    -------
    tuple of ShearRatio

    Raises
    ------
    UnknownNameError
        Naming the nearest known families.
    """
    try:
        return _ratios()[family]
    except KeyError:
        raise unknown("family of metals", family, _ratios()) from None


def shear_ratio(family: str) -> ShearRatio:
    """Return the ratio that is used for a family: the lowest, whatever its source.

    The sources of one family differ by 20 percent and more. A low ratio makes the metal weak,
    which is the safe side for every mode in which the parent or the screw thread shears. Where
    two sources give the same ratio, the one known more surely is named.

    Parameters
    ----------
    family : str

    Returns
    -------
    ShearRatio

    Examples
    --------
    >>> shear_ratio("6xxx wrought aluminium").note
    '6063-T5 typical: the lowest of the series'
    >>> shear_ratio("cast aluminium").note, shear_ratio("cast aluminium").ratio
    ('A201.0-T7 casting AMS-A-21180, class 10, S basis', 0.6)
    """
    sureness = {name: rank for rank, name in enumerate(HOW_KNOWN)}
    return min(
        shear_ratios(family),
        key=lambda each: (each.ratio, sureness[each.reference.how_known]),
    )
