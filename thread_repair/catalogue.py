"""The names that are known: as DataFrames, and one row a line, the name to type first."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from . import inserts, materials, tables, threads
from .case.schema import KEYS
from .frames import frame
from .strength.methods import METHODS
from .strength.strip import Method
from .units import number

if TYPE_CHECKING:
    import pandas as pd

Rows = list[tuple[str, ...]]


def parents() -> pd.DataFrame:
    """Return every metal that may be tapped, one row a product form and source.

    Returns
    -------
    DataFrame
        `id` is what a case takes; strengths in MPa, NaN where no source gives one.

    Examples
    --------
    >>> float(parents().set_index("id").tensile_MPa["6061-T6"].round(1))
    289.6
    """
    return frame(materials.Parent, (*materials.parents(), *materials.unidentified()))


def screws() -> pd.DataFrame:
    """Return every class of screw, one row a range of sizes.

    Returns
    -------
    DataFrame
        `id` is what a case takes; sizes in mm, strengths in MPa, NaN where no source gives one.

    Examples
    --------
    >>> float(screws().set_index("key").tensile_min_MPa["10.9"])
    1040.0
    """
    return frame(materials.Screw, materials.screws())


def wires() -> pd.DataFrame:
    """Return every alloy that wire thread inserts are coiled from.

    Returns
    -------
    DataFrame
        `id` is what a case takes; tensile strength in MPa, temperature limit in degC.
    """
    return frame(materials.Wire, materials.wires())


def methods() -> pd.DataFrame:
    """Return every published method for the strip load, by document.

    Returns
    -------
    DataFrame
        `lost_pitches` bear nothing; `for_wire_inserts` says whether its loads may be compared.

    Examples
    --------
    >>> methods().id.tolist()[:3]
    ['fed_std_h28', 'sae_770420', 'iso_tr_16224']
    """
    return frame(Method, METHODS.values())


def table(what: str) -> str:
    """Return the names of one kind with what helps to choose among them."""
    found = _TABLES[what]()
    widths = [max(len(row[column]) for row in found) for column in range(len(found[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in found
    )


def _threads() -> Rows:
    return [
        (each.designation, each.series, f"{each.major:.4g} mm", f"pitch {each.pitch:.4g} mm")
        for each in threads.known()
    ]


def _parents() -> Rows:
    rows: Rows = []
    for each in (*materials.parents(), *materials.unidentified()):
        shear = number(float(materials.shear_strength(each).value))
        strengths = f"Rm {number(each.tensile)} MPa", f"shear {shear} MPa"
        rows.append((each.id, each.name, each.group, *strengths, each.basis))
    return rows


def _screws() -> Rows:
    rows: Rows = []
    for each in materials.screws():
        known = not math.isnan(each.size_from)
        sizes = f"{number(each.size_from)} to {number(each.size_to)} mm"
        strength = f"Rm {number(each.tensile_min)} to {number(each.tensile_max)} MPa"
        rows.append((each.id, each.name, sizes if known else "sizes not stated", strength))
    return rows


def _inserts() -> Rows:
    lengths = [
        (f"{length:g} D", "length", "nominal length in diameters of the thread")
        for length in inserts.LENGTHS
    ]
    wires = [(each.id, "wire", each.name) for each in materials.wires()]
    finishes = [(each.id, "finish", each.name) for each in materials.finishes()]
    return [*lengths, *wires, *finishes]


def _sources() -> Rows:
    return [
        (each.id, each.edition, each.title, each.publisher)
        for each in tables.all_sources().values()
    ]


def _keys() -> Rows:
    return [(name, each.metadata["help"]) for name, each in KEYS.items()]


_TABLES: Mapping[str, Callable[[], Rows]] = {
    "threads": _threads,
    "parents": _parents,
    "screws": _screws,
    "inserts": _inserts,
    "sources": _sources,
    "keys": _keys,
}
