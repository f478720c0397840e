"""The loads on the screw that a case describes."""

from __future__ import annotations

from .case import Case
from .joint.margins import LoadCase


def load_cases(case: Case) -> tuple[LoadCase, ...]:
    """Return the load cases of the case file; none where it gives no load."""
    if case.design_load is None:
        return ()
    return (
        LoadCase(name="design load, rupture", load=case.design_load, factor=case.load_factor),
        LoadCase(
            name="design load, yield",
            load=case.design_load,
            factor=case.yield_factor,
            against="yield",
        ),
    )
