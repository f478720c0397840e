"""The controls and pictures on a screen: a thin skin over `explorer` and `pictures`.

A control that moves makes a new `Controls`; every picture is then a pure function of it. How they
stand on the screen is in `data/teaching_panel.js` and `.css`.
"""

import asyncio
import html
import math
import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from importlib.util import find_spec
from typing import Any

import anywidget
import traitlets

from ..case import Case
from ..files import own_text
from ..joint.sizes import sizes
from ..report import escape
from ..report.figure import METADATA
from ..strength.areas import strip_area_internal
from ..units import number
from . import explorer, pictures
from .explorer import Controls, choices, fits, start
from .sections import triangle
from .svg import on_paper

#: What stands before each control.
LABELS = {name: each["label"] for name, each in explorer.CONTROLS.items()}
#: The picture that is always shown, the one beside it first, and the one that takes a second.
_FIRST, _SECOND, _SLOW = "strip-load", "section", "collapse"
STYLE = own_text("teaching_panel.css")
#: Width of a picture on paper: its letters are then as large as those of the text around it.
_ON_PAPER_MM = 105
_SOLVER = ThreadPoolExecutor(1)


class Panel(anywidget.AnyWidget):
    """What is on the screen; shows itself where it is the last line of a cell.

    `at` says for each control which of its positions it has, and the second picture; the browser
    and Python both set it. `shown` is what follows from it.
    """

    _esm = own_text("teaching_panel.js")
    _css = STYLE
    controls: Any = traitlets.List().tag(sync=True)
    seconds: Any = traitlets.List().tag(sync=True)
    tasks: Any = traitlets.List().tag(sync=True)
    start = traitlets.Dict().tag(sync=True)
    at = traitlets.Dict().tag(sync=True)
    shown = traitlets.Dict().tag(sync=True)

    def __init__(self, position: Controls) -> None:
        offered = {name: _offered(name, getattr(position, name)) for name in LABELS}
        # of threads and screws only what can be put together in every way
        threads = tuple(each for each in offered["thread"] if fits(each, position.screw))
        screws = tuple(s for s in offered["screw"] if all(fits(each, s) for each in threads))
        self._choices = offered | {"thread": threads, "screw": screws}
        placed = {n: each.index(getattr(position, n)) for n, each in self._choices.items()}
        self._solved: dict[Controls, str] = {}
        super().__init__(
            controls=[
                {"name": name, "label": LABELS[name], "options": [_spoken(name, v) for v in each]}
                for name, each in self._choices.items()
            ],
            seconds=[
                {"name": name, "short": short}
                for name, (_, short, _) in pictures.PICTURES.items()
                if name != _FIRST and (name != _SLOW or find_spec("clarabel"))
            ],
            tasks=own_text("teaching_tasks.md").splitlines(),
            start=placed,
            at=placed | {"second": _SECOND},
        )
        self._follow()
        self.observe(self._follow, "at")

    @property
    def position(self) -> Controls:
        """Where the controls stand."""
        return Controls(**{name: each[self.at[name]] for name, each in self._choices.items()})

    def _follow(self, _change: object = None) -> None:
        at, second = self.position, self.at["second"]
        image = self._collapse(at) if second == _SLOW else pictures.image(second, at)
        told = [pictures.words(_FIRST, at)]
        told.append(pictures.words(second, at) if image else "The collapse is being solved.")
        self.shown = {
            "at": self.at,
            "pictures": [pictures.image(_FIRST, at), image],
            "second": second,
            "words": " ".join(told),
            "equations": equations(at),
            "ratio": explorer.strip(at).ratio,
        }

    def _collapse(self, at: Controls) -> str:
        """Return the picture of the collapse, or nothing while it is solved beside the kernel."""
        if at in self._solved:
            return self._solved[at]

        def solve() -> str:
            # Who has moved on does not wait for what was before.
            return pictures.image(_SLOW, at) if self.position == at else ""

        def done(solved: asyncio.Future[str]) -> None:
            if solved.result():
                self._solved[at] = solved.result()
                if self.position == at:
                    self._follow()

        try:
            loop = asyncio.get_running_loop()
            loop.run_in_executor(_SOLVER, solve).add_done_callback(done)
        except RuntimeError:  # plain Python, where nobody waits for a key, or one without threads
            return pictures.image(_SLOW, at)
        return ""


def panel(case: Case) -> Panel:
    """Return the controls at the position of a case, with the pictures that follow.

    Raises
    ------
    InputError
        If the case states what the controls cannot show.
    """
    return Panel(start(case))


@dataclass(frozen=True, slots=True)
class Still:
    """One picture that does not move, for a step of the derivation."""

    svg: str

    def _repr_mimebundle_(
        self, include: object = None, exclude: object = None
    ) -> tuple[dict[str, str], dict[str, Any]]:
        """The picture for a screen, and for paper with its words, the first sentence below it."""
        (found,) = re.findall(r'aria-label="([^"]*)"', self.svg)
        words = html.unescape(found)
        screen = f'<div class="tr-picture" style="max-width:48em">{self.svg}</div>'
        data = {
            "text/html": f"<style>{STYLE}</style>{screen}",
            "image/svg+xml": on_paper(self.svg),
            "text/plain": words,
        }
        caption = escape.markdown(words.partition(". ")[0].removesuffix("."))
        told = {"caption": caption, "alt": words, "label": "", "width_mm": _ON_PAPER_MM}
        return data, {METADATA: told}


def still(name: str, case: Case, **changes: Any) -> Still:
    """Return a picture at the position of a case, with some controls moved."""
    return Still(pictures.image(name, replace(start(case), **changes)))


def triangles() -> Still:
    """Return the thread's triangle in both holes."""
    return Still(
        triangle().svg(
            "The thread profile of the hole for the insert is that of the hole for the screw, "
            "three quarters of the height of the triangle further out on the radius."
        )
    )


def equations(at: Controls) -> str:
    """Return area and load of the parent thread in both holes, as HTML coloured as the parts."""
    here, lines = explorer.joint(at), ""
    p, tau = here.thread.pitch, here.parent_shear.value
    for (state, each), part, symbol in zip(
        explorer.strip(at).states.items(), ("screw", "insert"), ("d", "d<sub>I</sub>"), strict=True
    ):
        size, load = sizes(here, state), each.parent_strip
        area = float(strip_area_internal(each.engaged, p, size.crest, size.hole_pitch))

        def span(kind: str, words: str) -> str:
            return f'<span class="{kind}">{words}</span>'

        lines += (
            f"<p>{span(state, state)}, parent thread: A = π · "
            f"{span(part, f'{symbol} {size.crest:.3f}')} · "
            f"{span(part, f'L {number(each.engaged)}')} / {p:.4g} · [{p:.4g}/2 + ({size.crest:.3f} "
            f"− {span('parent', f'D<sub>2</sub> {size.hole_pitch:.3f}')}) tan 30°] = "
            f"{number(area)} mm²; F = C {number(load / (tau * area))} · "
            f"{span('parent', f'τ {number(tau)} MPa')} · {number(area)} mm² = "
            f"{number(load / 1e3)} kN</p>"
        )
    return lines


def spoken(position: Controls) -> str:
    """Name the positions of all controls."""
    parts = (f"{LABELS[name]} {_spoken(name, getattr(position, name))}" for name in LABELS)
    return ", ".join(parts) + "."


def _offered(name: str, value: Any) -> tuple[Any, ...]:
    """Return the positions of a control; that of the case among them, though off the grid."""
    known: tuple[Any, ...] = choices(name)
    if isinstance(value, float):  # in place of the one on the grid that it rounds to
        return tuple(sorted({value, *(each for each in known if not math.isclose(each, value))}))
    every = tuple(dict.fromkeys((*known, value)))
    return tuple(sorted(every, key=explorer.parent_shear)) if name == "parent" else every


def _spoken(name: str, value: Any) -> str:
    if name == "parent":
        parent = explorer.joint(Controls(parent=value)).parent
        return f"{value}, {parent.group}, τ {number(explorer.parent_shear(value))} MPa"
    if isinstance(value, bool):
        return "slides" if value else "stuck fast"
    if isinstance(value, float):
        return "thick parent" if math.isinf(value) else f"{value:.4g} D"
    return str(value).replace("-", " ") if name == "tolerance_position" else str(value)
