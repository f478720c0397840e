"""How strong is this parent, screw or wire, at this temperature, on what basis.

`parent`, `screw`, `wire` and `finish` return one by name; `shear_strength` and
`wire_shear_strength` its strength in shear; `at_temperature` what is left of it when hot.
"""

from __future__ import annotations

from ..errors import unknown
from . import screws as _screws
from .designations import Designation, designation, designations, parent
from .hardness import HardnessStrength, brinell_of, hardness, tensile_of, with_hardness
from .parents import Parent, ShearStrength, parents, shear_strength, with_measured
from .ratios import ShearRatio, shear_ratio, shear_ratios
from .screws import Screw, screw, screws
from .temperature import (
    EXPOSURES,
    ReducedStrength,
    StrengthTable,
    at_temperature,
    strength_table,
    temperature_range,
)
from .unidentified import UNKNOWN, unidentified
from .values import Value
from .wires import (
    Finish,
    Wire,
    WireShearStrength,
    finish,
    finishes,
    measured_wire_shear_strength,
    wire,
    wire_shear_strength,
    wires,
)

__all__ = [
    "EXPOSURES",
    "UNKNOWN",
    "Designation",
    "Finish",
    "HardnessStrength",
    "Parent",
    "ReducedStrength",
    "Screw",
    "ShearRatio",
    "ShearStrength",
    "StrengthTable",
    "Value",
    "Wire",
    "WireShearStrength",
    "at_temperature",
    "brinell_of",
    "designation",
    "designations",
    "finish",
    "finishes",
    "hardness",
    "measured_wire_shear_strength",
    "names",
    "parent",
    "parents",
    "screw",
    "screws",
    "shear_ratio",
    "shear_ratios",
    "shear_strength",
    "strength_table",
    "temperature_range",
    "tensile_of",
    "unidentified",
    "wire",
    "wire_shear_strength",
    "wires",
    "with_hardness",
    "with_measured",
]


def names(kind: str) -> tuple[str, ...]:
    """Return the ids of one kind: "parent", "screw", "wire" or "finish".

    Parameters
    ----------
    kind : str

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> names("screw")[:3]
    ('4.6', '4.8', '5.6')
    """
    known = {
        "parent": tuple(each.id for each in parents()),
        "screw": _screws.names(),
        "wire": tuple(each.id for each in wires()),
        "finish": tuple(each.id for each in finishes()),
    }
    try:
        return known[kind]
    except KeyError:
        raise unknown("kind of name", kind, known) from None
