"""The pictures that follow the controls: a position in, a PNG image and a sentence out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from ..strength.strip import STATES
from . import explorer
from .explorer import Controls

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from ..figures.live_records import CollapseField


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A kind of picture: its title, a short name, the figure and the sentence at a position."""

    title: str
    short: str
    figure: Callable[[Controls], Figure]
    words: Callable[[Controls], str]


def _strip_load(controls: Controls) -> Figure:
    from ..figures.live_strip_load import live_strip_load

    return live_strip_load(explorer.strip(controls), screw=controls.screw)


def _strip_load_words(controls: Controls) -> str:
    from ..figures.live_strip_load import strip_words

    return strip_words(explorer.strip(controls))


def _section(controls: Controls) -> Figure:
    from ..figures.live_section import live_section

    return live_section(
        explorer.section(controls, "original"), explorer.section(controls, "repaired")
    )


def _section_words(controls: Controls) -> str:
    from ..figures.live_section import section_words

    return section_words(
        explorer.section(controls, "original"), explorer.section(controls, "repaired")
    )


def _thread_loads(controls: Controls) -> Figure:
    from ..figures.live_thread_loads import live_thread_loads

    return live_thread_loads(
        explorer.sharing(controls, "original"), explorer.sharing(controls, "repaired")
    )


def _thread_loads_words(controls: Controls) -> str:
    from ..figures.live_thread_loads import thread_loads_words

    return thread_loads_words(
        explorer.sharing(controls, "original"), explorer.sharing(controls, "repaired")
    )


def _collapse(controls: Controls) -> Figure:
    from ..figures.live_collapse import live_collapse

    return live_collapse(*_fields(controls))


def _collapse_words(controls: Controls) -> str:
    from ..figures.live_collapse import collapse_words

    return collapse_words(*_fields(controls))


def _fields(controls: Controls) -> tuple[CollapseField, CollapseField]:
    from .collapse_fields import field

    original, repaired = (field(controls.thread, controls.boss, state) for state in STATES)
    return original, repaired


def _strip_torque(controls: Controls) -> Figure:
    from ..figures.live_strip_torque import live_strip_torque

    return live_strip_torque(explorer.strip_torques(controls))


def _strip_torque_words(controls: Controls) -> str:
    from ..figures.live_strip_torque import strip_torque_words

    return strip_torque_words(explorer.strip_torques(controls))


#: Every picture by its name, in the order of the argument.
PICTURES: Mapping[str, Picture] = MappingProxyType(
    {
        "strip-load": Picture(
            title="strip load against length",
            short="strip load",
            figure=_strip_load,
            words=_strip_load_words,
        ),
        "section": Picture(
            title="section through the thread",
            short="section",
            figure=_section,
            words=_section_words,
        ),
        "thread-loads": Picture(
            title="load on each thread",
            short="thread loads",
            figure=_thread_loads,
            words=_thread_loads_words,
        ),
        "collapse": Picture(
            title="how the parent moves when it strips",
            short="collapse",
            figure=_collapse,
            words=_collapse_words,
        ),
        "strip-torque": Picture(
            title="torque to strip", short="torque", figure=_strip_torque, words=_strip_torque_words
        ),
    }
)


@lru_cache(maxsize=128)
def image(name: str, controls: Controls) -> bytes:
    """Return a picture at a position, as a PNG image."""
    from ..figures.live_canvas import png

    return png(PICTURES[name].figure(controls))


def words(name: str, controls: Controls) -> str:
    """Return the sentence that goes with a picture, for a reader who cannot see it."""
    return PICTURES[name].words(controls)
