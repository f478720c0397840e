"""The loads on the screw that a case describes."""

from __future__ import annotations

from collections.abc import Iterator

from . import case as cases
from .case import Case
from .joint.margins import LoadCase
from .preloads import load_share, service_preload
from .strength.strip import STATES


def load_cases(case: Case) -> tuple[LoadCase, ...]:
    """Return the load cases of the case file; none where it gives neither load nor preload.

    The load on the screw of a tightened joint is the highest preload plus the part of the design
    load that the screw feels; once the joint has opened it is the design load alone. With that
    part known (`load_share`) these are the two cases. Where it is not known, the load lies
    between the greater of the two and their sum: then the design load alone and the highest
    preload alone are what must hold for every joint, and both together with the whole load is
    what is enough for every joint. Preload carries no factor, the load its own (NASA TM-106943).
    """
    return (*_design(case), *_preload(case))


def _design(case: Case) -> Iterator[LoadCase]:
    if case.design_load is None:
        return
    yield LoadCase(name="design load, rupture", load=case.design_load, factor=case.load_factor)
    yield LoadCase(
        name="design load, yield",
        load=case.design_load,
        factor=case.yield_factor,
        against="yield",
    )


def _preload(case: Case) -> Iterator[LoadCase]:
    """Yield the highest preload of each state: friction and prevailing torque differ."""
    inputs = cases.tightening(case)
    if inputs is None:
        return
    joint = cases.joint(case)
    share, _ = load_share(inputs)
    for state in STATES:
        found = service_preload(inputs, joint, state)
        highest = float(found.service.highest)
        at_yield = float(found.tightened.yield_preload)
        added = {"highest preload": 0.0}
        if case.design_load is not None:
            if inputs.load_share is not None:
                added = {}
            added["highest preload and design load"] = share * case.design_load
        for words, load in added.items():
            yield LoadCase(
                name=f"{words}, rupture",
                load=highest + case.load_factor * load,
                factor=1.0,
                state=state,
            )
            yield LoadCase(
                name=f"{words}, yield",
                load=highest + case.yield_factor * load,
                factor=1.0,
                against="yield",
                state=state,
                screw_yield=at_yield,
            )
