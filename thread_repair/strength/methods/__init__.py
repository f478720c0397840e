"""The published ways to work out a strip load, side by side and never averaged.

One module for each document. `METHODS` names those that give a strip load, in the order they are
shown; the standard's table of insert lengths (`asme_b18_29_2m`) gives none and stands apart.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ...errors import unknown
from ..strip import Method, StripInputs, StripResult
from . import (
    fed_std_h28,
    iso_tr_16224,
    machinerys_handbook,
    nasa_rp_1228,
    nasa_tm_106943,
    sae_770420,
    vdi_2230,
)

METHODS: Mapping[str, Method] = MappingProxyType(
    {
        method.id: method
        for method in (
            fed_std_h28.METHOD,
            sae_770420.METHOD,
            iso_tr_16224.METHOD,
            vdi_2230.METHOD,
            machinerys_handbook.METHOD,
            nasa_tm_106943.METHOD,
            nasa_rp_1228.METHOD,
        )
    }
)


def method(method_id: str) -> Method:
    """Return one method.

    Raises
    ------
    UnknownNameError
        Naming the nearest known ids.
    """
    try:
        return METHODS[method_id]
    except KeyError:
        raise unknown("method", method_id, METHODS) from None


def all_methods(inputs: StripInputs) -> tuple[StripResult, ...]:
    """Return the parent's strip load by every method, in the order of `METHODS`."""
    return tuple(entry.parent_strip(inputs) for entry in METHODS.values())
