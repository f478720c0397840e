"""How strong in shear is a metal whose source gives only its tensile strength."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from ..errors import unknown
from ..sources import HOW_KNOWN, Reference
from ..tables import Row, reference, rows
from .values import HANDBOOK


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
    for family, row, ratio, printed, note in (*_of_documents(), *_of_handbook()):
        what = f"shear over tensile strength, {family}"
        found.setdefault(family, []).append(
            ShearRatio(
                family=family,
                ratio=ratio,
                printed=printed,
                note=note,
                reference=reference(row, what),
            )
        )
    return MappingProxyType({family: tuple(each) for family, each in found.items()})


#: Family, row, ratio, whether the document prints it as such, and a note.
_Ratio = tuple[str, Row, float, bool, str]


def _of_documents() -> Iterator[_Ratio]:
    for row in rows("shear_ratios.csv"):
        printed = bool(row["ratio"])
        ratio = float(row["ratio"]) if printed else float(row["shear"]) / float(row["tensile"])
        for family in row["families"].split(";"):
            yield family, row, ratio, printed, row["note"]


def _of_handbook() -> Iterator[_Ratio]:
    """Yield the shear strength of each row over its greatest tensile strength."""
    for row in rows(HANDBOOK):
        if row["shear"]:
            tensile = max(float(row[name]) for name in ("tensile_l", "tensile_lt") if row[name])
            size = f"{row['form']}, {row['size_in']}, {row['basis']} basis"
            note = f"{row['alloy']}-{row['temper']} {size}"
            yield row["family"], row, float(row["shear"]) / tensile, False, note


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
    if family not in _ratios():
        raise unknown("family of metals", family, _ratios())
    return _ratios()[family]


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
