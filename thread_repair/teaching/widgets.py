"""The controls and pictures on a screen: a thin skin over `explorer` and `pictures`.

A control that moves makes a new `Controls`; every picture is then a pure function of it. The
screen keeps nothing else.
"""

from __future__ import annotations

import html
import math
from dataclasses import dataclass, fields
from typing import Any

import ipywidgets

from ..case import Case
from . import pictures
from .explorer import CHOICES, Controls, start

#: What stands before each control.
LABELS = {
    "thread": "Size",
    "parent": "Parent",
    "engagement": "Engagement",
    "boss": "Boss diameter",
    "screw": "Screw class",
    "insert_length": "Insert length",
    "tolerance_position": "Tolerances",
    "sliding_coil": "Coil",
}
_LAYOUT = {"width": "380px"}
_STYLE = {"description_width": "105px"}
#: The picture that is always shown, and the one that stands beside it first.
_FIRST, _SECOND = "strip-load", "section"


@dataclass(frozen=True, slots=True)
class Panel:
    """What is on the screen; shows itself where it is the last line of a cell."""

    controls: dict[str, Any]
    second: Any
    images: tuple[Any, Any]
    words: Any
    whole: Any

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        return self.whole._repr_mimebundle_(**kwargs)

    @property
    def position(self) -> Controls:
        """Where the controls stand."""
        return Controls(**{name: each.value for name, each in self.controls.items()})


def panel(case: Case) -> Panel:
    """Return the controls at the position nearest to a case, with the pictures that follow.

    Raises
    ------
    UnknownNameError
        If the case's thread, parent or screw is not among the controls.
    """
    position = start(case)
    controls = {
        field.name: _control(field.name, getattr(position, field.name))
        for field in fields(Controls)
    }
    second = _slider(
        "Second picture",
        [(each.short, name) for name, each in pictures.PICTURES.items() if name != _FIRST],
        _SECOND,
    )
    images = tuple(
        ipywidgets.Image(format="png", layout={"width": "560px", "flex": "0 0 auto"})
        for _ in range(2)
    )
    words = ipywidgets.HTML(layout=_LAYOUT)
    whole = ipywidgets.HBox(
        [ipywidgets.VBox([*controls.values(), second, words]), ipywidgets.VBox(list(images))],
        layout={"flex_flow": "row wrap"},
    )
    shown = Panel(controls, second, images, words, whole)

    def follow(_change: object = None) -> None:
        position = shown.position
        # Each is sent as soon as it is drawn.
        images[0].value = pictures.image(_FIRST, position)
        images[1].value = pictures.image(second.value, position)
        words.value = told(position, second.value)

    for each in (*controls.values(), second):
        each.observe(follow, names="value")
    follow()
    return shown


def told(position: Controls, second: str) -> str:
    """Return the words at a position, as HTML.

    A status is read out by a screen reader whenever it changes; images are not.
    """
    parts = (spoken(position), pictures.words(_FIRST, position), pictures.words(second, position))
    words = html.escape(" ".join(parts), quote=False)
    return f'<p role="status" style="line-height: 1.4; margin: 8px">{words}</p>'


def spoken(position: Controls) -> str:
    """Name the positions of all controls."""
    parts = (
        f"{LABELS[field.name]} {_choice_words(getattr(position, field.name))}"
        for field in fields(position)
    )
    return ", ".join(parts) + "."


def _control(name: str, value: Any) -> Any:
    return _slider(LABELS[name], [(_choice_words(each), each) for each in CHOICES[name]], value)


def _slider(label: str, options: list[tuple[str, Any]], value: Any) -> Any:
    """Make a labelled slider over a few choices.

    Every control is a slider, because JupyterLab keeps the arrow keys of a list to itself.
    """
    return ipywidgets.SelectionSlider(
        options=options, value=value, description=label, layout=_LAYOUT, style=_STYLE
    )


def _choice_words(value: Any) -> str:
    if isinstance(value, bool):
        return "slides" if value else "stuck fast"
    if isinstance(value, float):
        return "thick" if math.isinf(value) else f"{value:g} D"
    return "least material" if value == "minimum-material" else str(value)
