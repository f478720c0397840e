"""How strong is this parent, screw or wire, at this temperature, on what basis.

`parent`, `screw`, `wire` and `finish` return one by name; `shear_strength` and
`wire_shear_strength` its strength in shear; `at_temperature` what is left of it when hot.
"""

from ..errors import looked_up
from .designations import Designation, designation, designations, meant, parent
from .hardness import HardnessStrength, brinell_of, hardness, tensile_of, with_hardness
from .parents import Parent, parents, shear_strength, with_measured
from .screws import Screw, screw, screws
from .temperature import ReducedStrength, at_temperature
from .unidentified import UNKNOWN, unidentified
from .values import shear_ratio, shear_ratios
from .wires import Wire, finish, finishes, wire, wire_shear_strength, wires

__all__ = [
    "UNKNOWN", "Designation", "HardnessStrength", "Parent", "ReducedStrength", "Screw", "Wire",
    "at_temperature", "brinell_of", "designation", "designations", "finish", "finishes",
    "hardness", "meant", "names", "parent", "parents", "screw", "screws", "shear_ratio",
    "shear_ratios", "shear_strength", "tensile_of", "unidentified", "wire", "wire_shear_strength",
    "wires", "with_hardness", "with_measured",
]  # fmt: skip


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
    known = {"parent": parents(), "screw": screws(), "wire": wires(), "finish": finishes()}
    return tuple(dict.fromkeys(each.id for each in looked_up("kind of name", kind, known)))
