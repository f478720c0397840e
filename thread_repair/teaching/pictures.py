"""The pictures that follow the controls: a position in, SVG and a sentence out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import TypeVar

from ..figures import live_collapse, live_section, live_strip_load, live_strip_torque
from ..figures import live_thread_loads as live_loads
from ..figures.live_svg import Drawing
from ..strength.strip import STATES
from . import explorer
from .explorer import Controls

Part = TypeVar("Part")


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A kind of picture: its title, a short name, the drawing and the sentence at a position."""

    title: str
    short: str
    drawing: Callable[[Controls], Drawing]
    words: Callable[[Controls], str]


def _both(of: Callable[[Controls, str], Part], at: Controls) -> tuple[Part, ...]:
    return tuple(of(at, state) for state in STATES)


def _per_diameter(at: Controls) -> float:
    thread = explorer.joint(at).thread
    return thread.major / thread.pitch


#: Every picture by its name, in the order of the argument.
PICTURES: Mapping[str, Picture] = MappingProxyType(
    {
        "strip-load": Picture(
            title="Thread-stripping load against length",
            short="stripping load",
            drawing=lambda at: live_strip_load.live_strip_load(explorer.strip(at), screw=at.screw),
            words=lambda at: live_strip_load.strip_words(explorer.strip(at)),
        ),
        "section": Picture(
            title="Section through the thread",
            short="section",
            drawing=lambda at: live_section.live_section(*_both(explorer.section, at)),
            words=lambda at: live_section.section_words(*_both(explorer.section, at)),
        ),
        "thread-loads": Picture(
            title="Load on each thread",
            short="thread loads",
            drawing=lambda at: live_loads.live_thread_loads(
                *_both(explorer.sharing, at),
                threads=max(3.0, at.engagement, at.insert_length) * _per_diameter(at),
            ),
            words=lambda at: live_loads.thread_loads_words(*_both(explorer.sharing, at)),
        ),
        "collapse": Picture(
            title="How the parent moves when it strips",
            short="collapse",
            drawing=lambda at: live_collapse.live_collapse(
                *_both(explorer.collapse, at),
                diameter=explorer.joint(at).thread.major,
                pitch=explorer.joint(at).thread.pitch,
            ),
            words=lambda at: live_collapse.collapse_words(*_both(explorer.collapse, at)),
        ),
        "strip-torque": Picture(
            title="Torque that strips the thread",
            short="torque",
            drawing=lambda at: live_strip_torque.live_strip_torque(
                explorer.strip_torques(at), scale=explorer.torque_scale(at.thread)
            ),
            words=lambda at: live_strip_torque.strip_torque_words(explorer.strip_torques(at)),
        ),
    }
)


@lru_cache(maxsize=128)
def image(name: str, controls: Controls) -> str:
    """Return a picture at a position, as SVG that says what it shows."""
    picture = PICTURES[name]
    return picture.drawing(controls).svg(f"{picture.title}. {picture.words(controls)}")


def words(name: str, controls: Controls) -> str:
    """Return the sentence that goes with a picture, for a reader who cannot see it."""
    return PICTURES[name].words(controls)
