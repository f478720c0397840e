"""The form: one labelled control for each key of a case, made from what the schema says of it."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

import attrs
import ipywidgets

from .. import inserts, materials, tables, threads, units, words
from ..case.schema import KEYS
from ..case.starter import EXAMPLE, default
from ..case.torques import FRICTIONS, TOOLS
from ..report.escape import html

#: A number without its unit.
_BARE = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+|\d+/\d+)")
#: A key that a sentence names.
_KEY = re.compile(rf"\b(?:{'|'.join(key for key in KEYS if '_' in key)})\b")


def labelled(sentence: str) -> str:
    """Return a sentence that calls each key by its label in the form."""
    return _KEY.sub(lambda found: f"“{words.input_name(found[0])}”", sentence)


@dataclass(frozen=True, slots=True)
class Field:
    """The control of a key, and what stands below it: the help or what is wrong."""

    key: str
    control: Any
    note: Any
    whole: Any

    def say(self, fault: str = "") -> None:
        """Show what is wrong with the entry, or else the help, with the unit of a bare number."""
        about = words.capital(KEYS[self.key].metadata["help"])
        dimension, number = KEYS[self.key].metadata["dimension"], self.control.value.strip()
        if dimension and _BARE.fullmatch(number):
            about = f"Read as {number} {units.unit_inside(dimension)}. {about}"
        shown = f'<p class="tr-help">{html(labelled(about))}</p>'
        if fault:
            shown = f'<p class="tr-fault" role="alert">{html(labelled(fault))}</p>'
        if self.note.value != shown:
            self.note.value = shown


def field(key: str) -> Field:
    """Return the control of a key: text with suggestions, or text of several lines.

    Lists to pull down and buttons to choose one of are not used: JupyterLab keeps their keys to
    itself. An empty control is a key that is not given; what is then assumed stands in it, pale.
    """
    about: dict[str, Any] = {
        "description": words.input_name(key),
        "placeholder": _assumed(key),
        "style": {"description_width": "42%"},
        "layout": {"width": "auto"},
    }
    make: Any = ipywidgets.Text
    if KEYS[key].metadata["kind"] == "Text":
        make = partial(ipywidgets.Textarea, rows=1)
    elif known := choices(key):
        make = partial(ipywidgets.Combobox, options=known, ensure_option=False)
    control = make(**about, continuous_update=True)
    note = ipywidgets.HTML(layout={"width": "auto"})
    made = Field(key, control, note, ipywidgets.VBox([control, note]))
    made.say()
    return made


def choices(key: str) -> tuple[str, ...]:
    """Return what can be suggested for a key: the words of its type, or the names in the tables."""
    if choices := KEYS[key].metadata["choices"]:
        return tuple(choices)
    return tuple(dict.fromkeys(_NAMES[key]())) if key in _NAMES else ()


def _rows(table: str, name: str, *quantities: str) -> Callable[[], Iterable[str]]:
    return lambda: (
        row[name] for row in tables.rows(table) if not quantities or row["quantity"] in quantities
    )


_FRICTIONS = _rows("friction.csv", "id", *FRICTIONS)
#: Where the names stand that a key takes, for the types that do not list them.
_NAMES: Mapping[str, Callable[[], Iterable[str]]] = {
    "thread": threads.names,
    "screw": lambda: materials.names("screw"),
    "parent": materials.designations,
    "insert_length": lambda: (f"{length:g} D" for length in inserts.LENGTHS),
    "insert_wire": lambda: materials.names("wire"),
    "insert_finish": lambda: materials.names("finish"),
    "set_down_rule": _rows("set_down.csv", "rule"),
    "no_go_rule": _rows("no_go_rules.csv", "rule"),
    "friction": _FRICTIONS,
    "insert_friction": _FRICTIONS,
    "tightening_tool": _rows("friction.csv", "id", *TOOLS),
    "clamped_material": lambda: ("screw", *materials.designations()),
}


def is_needed(key: str) -> bool:
    """Whether a case cannot be without the key."""
    return KEYS[key].default is attrs.NOTHING


def _assumed(key: str) -> str:
    """What a pale text in an empty control says: what is assumed, or what could be typed."""
    if is_needed(key):
        return f"needed, such as {EXAMPLE[key]}"
    shown = default(KEYS[key])
    return f"{shown} assumed" if shown else ""
