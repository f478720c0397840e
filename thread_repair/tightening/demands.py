"""The loads on the screw that the joint is held against: preload, limit load and factors."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from ..joint.margins import LoadCase, PreloadOrigin
from ..strength.strip import STATES
from .records import Loads, Tightening
from .service import FrictionLine, service_preload


def load_cases(loads: Loads, inputs: Tightening | None) -> tuple[LoadCase, ...]:
    """Return every load case of a joint; none where neither load nor preload is stated.

    The load on the screw of a tightened joint is the maximum preload plus the part of the limit
    load that the screw takes; once the joint has separated it is the limit load alone. With that
    part known these are the two cases. Where it is not known, the load lies between the greater of
    the two and their sum: then the limit load alone and the maximum preload alone are what must
    hold for every joint, and both together with the whole load is what is enough for every joint.
    Preload carries no factor, the load its own (NASA TM-106943). The joint separates when the part
    of the load that the screw does not take reaches the minimum preload.

    Several cases of one id are one case at the temperatures of assembly and service, the parent
    with the strength it has there, and for the screw's yield at the frictions that may be worst.

    Parameters
    ----------
    loads : Loads
    inputs : Tightening, optional

    Returns
    -------
    tuple of LoadCase
    """
    states = STATES if inputs is not None else ()
    return (
        *limit_load_cases(loads),
        *(each for state in states for each in preload_cases(inputs, state)),  # type: ignore[arg-type]
    )


def limit_load_cases(loads: Loads) -> tuple[LoadCase, ...]:
    """Return the limit load alone: of a screw that is not tightened or has been relieved.

    Parameters
    ----------
    loads : Loads

    Returns
    -------
    tuple of LoadCase
    """
    return tuple(
        LoadCase(
            id=f"limit_load_{against}",
            load=loads.limit,
            factor=factor,
            fitting=loads.fitting,
            against=against,
        )
        for against, factor in loads.strengths.items()
        if loads.limit
    )


def preload_cases(inputs: Tightening, state: str) -> Iterator[LoadCase]:
    """Yield the load cases of one tightened condition.

    Parameters
    ----------
    inputs : Tightening
    state : str
        "original" or "repaired".

    Yields
    ------
    LoadCase
    """
    found, loads = service_preload(inputs, state), inputs.loads
    lines, changes = found.tightened, found.known_changes
    most, least = loads.shares
    combined = {"maximum_preload_limit_load": most} if loads.limit else {}
    if not loads.limit or loads.share is None:
        combined = {"maximum_preload": 0.0, **combined}
    for temperature, change in changes.items():
        if float(lines.maximum.preload) + change <= 0:
            continue  # no preload is left there: the limit load alone covers it
        for name, share in combined.items():
            for against, factor in loads.strengths.items():
                base = LoadCase(
                    id=f"{name}_{against}",
                    load=loads.limit,
                    share=share,
                    factor=factor,
                    fitting=loads.fitting,
                    against=against,
                    state=state,
                    at=None if temperature == inputs.temperature else inputs.cold,
                )
                yield _tightened(base, lines.maximum, temperature, change)
                if against == "yield" and not math.isnan(inputs.screw_yield):
                    yield from (
                        _twisted(_tightened(base, each, temperature, change), inputs, each)
                        for each in (lines.maximum, lines.twisted)
                        if float(each.preload) + change > 0
                    )
    if loads.limit and least < 1:
        yield LoadCase(
            id="minimum_preload_separation",
            load=loads.limit,
            share=1 - least,
            factor=loads.separation,
            against="separation",
            state=state,
            own={"separation": float(found.service.least)},
            origin=_origin(lines.minimum, min(changes, key=changes.__getitem__)),
        )


def _tightened(base: LoadCase, line: FrictionLine, temperature: float, change: float) -> LoadCase:
    return replace(base, preload=float(line.preload) + change, origin=_origin(line, temperature))


def _twisted(case: LoadCase, inputs: Tightening, line: FrictionLine) -> LoadCase:
    """Give the screw the load at which it yields, with twist in the proportion of the case."""
    stress = inputs.shape.stress(case.demand, line.twist_nm)
    return replace(case, own={"screw_tension": case.demand * inputs.screw_yield / float(stress)})


def _origin(line: FrictionLine, temperature: float) -> PreloadOrigin:
    return PreloadOrigin(
        thread_friction=float(line.thread_friction),
        head_friction=float(line.head_friction),
        temperature=temperature,
    )
