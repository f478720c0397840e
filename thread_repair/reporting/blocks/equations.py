"""The equations of the verdict: as symbols, with the numbers put in, with their clause."""

from __future__ import annotations

from IPython.display import Markdown

from ...joint import mode_inputs
from ...strength import primary
from ...strength.strip import latex_number
from ...study import Study
from .. import escape
from .places import place


def symbols() -> Markdown:
    """The primary model as symbols."""
    return _display(primary.METHOD.equation, label="primary")


def with_numbers(study: Study, state: str) -> Markdown:
    """The primary model with the numbers of one state put in."""
    evaluation = study.evaluation
    length = evaluation.states[state].engagement
    found = mode_inputs(evaluation.joint, state, length)
    return _display(primary.equation_with_numbers(found.hole, wall_factor=found.wall_factor))


def screw_with_numbers(study: Study) -> Markdown:
    """The breaking load of the screw with its numbers."""
    evaluation = study.evaluation
    mode = evaluation.original.mode("screw_tension")
    area, stress, load = (latex_number(float(x)) for x in (mode.area, mode.stress, mode.capacity))
    return _display(
        (
            rf"F_S = A_s\,R_{{m,\min}} = {area}\,\mathrm{{mm^2}} \times "
            rf"{stress}\,\mathrm{{MPa}} = {load}\,\mathrm{{N}}",
        )
    )


def clauses() -> Markdown:
    """Where the equations stand and how they are known."""
    lines = [
        f"- {escape.markdown(each.what)}: {escape.markdown(place(each))}"
        for each in primary.METHOD.references
    ]
    return Markdown("\n".join(lines))


def _display(lines: tuple[str, ...], label: str = "") -> Markdown:
    blocks = [f"$$ {line} $$" for line in lines]
    if label:
        blocks[-1] += f" {{#eq:{label}}}"
    return Markdown("\n\n".join(blocks))
