"""One quantity in one table cell, in the units that the report is written in."""

from __future__ import annotations

from ...units import number, printed, unit_of

MODE_WORDS = {
    "screw_tension": "screw breaks",
    "screw_thread_strip": "screw thread strips",
    "parent_thread_strip": "parent thread strips",
    "insert_thread_strip": "insert inner thread strips",
    "boss_wall": "boss wall gives way",
}
#: The modes that a load case holds against yield.
YIELD_WORDS = {"screw_tension": "screw yields", "parent_thread_strip": "parent thread yields"}
STATE_WORDS = {"original": "original thread", "repaired": "repaired thread"}

#: Units of a report: one system, or SI with inch beside it.
_SYSTEMS = {"SI": ("SI",), "inch": ("inch",), "both": ("SI", "inch")}


def head(name: str, dimension: str, system: str) -> str:
    """Return a column head with its unit: "pull-out strength, kN (lbf)"."""
    units = [unit_of(dimension, each) for each in _SYSTEMS[system]]
    return f"{name}, {units[0]}" + (f" ({units[1]})" if len(units) > 1 else "")


def cell(value: float, dimension: str, system: str, digits: int = 3) -> str:
    """Return a value for a column under such a head: "25.1 (5640)"."""
    texts = [number(printed(value, dimension, each), digits) for each in _SYSTEMS[system]]
    return texts[0] + (f" ({texts[1]})" if len(texts) > 1 else "")


def diameter(value: float, system: str) -> str:
    """Return a diameter to the micrometre, or to the tenth of a thousandth of an inch."""
    texts = [
        f"{printed(value, 'length', each):.{3 if each == 'SI' else 4}f}"
        for each in _SYSTEMS[system]
    ]
    return texts[0] + (f" ({texts[1]})" if len(texts) > 1 else "")
