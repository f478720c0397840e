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
    """Ultimate shear strength over tensile strength of one family of metals, by one source."""

    family: str
    ratio: float
    reference: Reference


@cache
def _ratios() -> Mapping[str, tuple[ShearRatio, ...]]:
    found: dict[str, list[ShearRatio]] = {}
    for family, row, ratio in _known():
        place = reference(row, f"shear over tensile strength, {family}")
        own = ShearRatio(family=family, ratio=ratio, reference=place)
        found.setdefault(family, []).append(own)
    return MappingProxyType({family: tuple(each) for family, each in found.items()})


def _known() -> Iterator[tuple[str, Row, float]]:
    """Yield family, row and ratio: as printed, or of the two strengths printed for one metal."""
    for row in rows("shear_ratios.csv"):
        ratio = float(row["ratio"] or float(row["shear"]) / float(row["tensile"]))
        for family in row["families"].split(";"):
            yield family, row, ratio
    for row in rows(HANDBOOK):
        if row["shear"]:
            # Over the greater of both directions.
            tensile = max(float(row[name]) for name in ("tensile_l", "tensile_lt") if row[name])
            yield row["family"], row, float(row["shear"]) / tensile


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
    >>> found = shear_ratio("cast aluminium")
    >>> found.ratio, found.reference.source
    (0.6, 'mil-hdbk-5j')
    """
    sureness = {name: rank for rank, name in enumerate(HOW_KNOWN)}
    return min(
        shear_ratios(family),
        key=lambda each: (each.ratio, sureness[each.reference.how_known]),
    )
