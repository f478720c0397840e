"""The input of one report: schema, YAML, defaults, messages."""

from .as_typed import as_typed
from .flat_yaml import written
from .gate import changes, factors_are_open, fatigue_is_open
from .physical import joint
from .reading import folder, from_namespace, joint_of, load, load_text, read
from .schema import Case, checked, keys, sections
from .strengths import estimate, hardness, knock_down, supplied
from .torques import colder, load_cases, tightening
from .understanding import understood
from .workshop import sheet

__all__ = [
    "Case", "as_typed", "changes", "checked", "colder", "estimate", "factors_are_open",
    "fatigue_is_open", "folder", "from_namespace", "hardness", "joint", "joint_of", "keys",
    "knock_down", "load", "load_cases", "load_text", "read", "sections", "sheet", "supplied",
    "tightening", "understood", "written",
]  # fmt: skip
