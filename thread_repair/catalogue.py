"""The names that are known, one row a line, the name to type first."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

from . import inserts, materials, sources, threads
from .units import number

Rows = list[tuple[str, ...]]


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
    return [
        (
            each.id,
            each.name,
            each.group,
            f"Rm {number(each.tensile)} MPa",
            f"shear {number(float(materials.shear_strength(each).value))} MPa",
            each.basis,
        )
        for each in (*materials.parents(), *materials.unidentified())
    ]


def _screws() -> Rows:
    return [
        (
            each.id,
            each.name,
            "sizes not stated"
            if math.isnan(each.size_from)
            else f"{number(each.size_from)} to {number(each.size_to)} mm",
            f"Rm {number(each.tensile_min)} to {number(each.tensile_max)} MPa",
        )
        for each in materials.screws()
    ]


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
        for each in sources.all_sources().values()
    ]


_TABLES: Mapping[str, Callable[[], Rows]] = MappingProxyType(
    {
        "threads": _threads,
        "parents": _parents,
        "screws": _screws,
        "inserts": _inserts,
        "sources": _sources,
    }
)
