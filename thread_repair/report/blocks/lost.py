"""An insert that the hole as found does not hold: a report says so, or leaves it out."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

from ... import words
from ...facts import fact
from ...study import Study
from .. import escape
from ..figure import ReportFigure, ReportTable

P = ParamSpec("P")
Shown = TypeVar("Shown")


def in_sound_metal(
    make: Callable[Concatenate[Study, P], Shown],
) -> Callable[Concatenate[Study, P], Shown]:
    """Say under a table, figure or passage that its insert stands in metal that is not there."""

    @wraps(make)
    def made(study: Study, /, *args: P.args, **kwargs: P.kwargs) -> Shown:
        shown = make(study, *args, **kwargs)
        if not study.holds_insert:
            _mark(shown)
        return shown

    return made


def _mark(shown: object) -> None:
    from IPython.display import Markdown

    note = words.sentence(fact("in_sound_metal", "limit"))
    if isinstance(shown, ReportTable | ReportFigure) and shown.caption:
        said = type(shown.caption)(f"{str(shown.caption).rstrip('.')}. {note}")
        object.__setattr__(shown, "caption", said)
    elif isinstance(shown, Markdown) and shown.data:
        shown.data = f"**{escape.markdown(note)}**\n\n{shown.data}"
