"""Facts as sentences: one catalogue, one printer; here alone a fact meets a system of units.

A sentence of `data/words/*.toml`, one file a subject, names the values of its fact in braces. After
a colon stands how a value is printed: nothing for three significant digits (a share: for whole per
cent), a number for as many, `.2` for two decimals of a millimetre (as many of an inch as say the
same) or of a per cent, `plain` for a value that was given and keeps its digits, `typed` for the
same in the units of a case file, `signed` for a margin, `least` for a length that is a minimum: as
`.2`, rounded up, `most` for a diameter that is a maximum: as `.3`, rounded down. A term takes the
form that it names: `{mode:event}`. Limits take no format: a minimum is rounded up and a maximum
down, so that none printed is wider than the computed one. Sizes that have a name in one system are
printed there.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from importlib import resources
from typing import Any

from . import files, units
from .facts import Fact, Quantity, Range, Size, Term, Value


@cache
def catalogue() -> Mapping[str, Any]:
    """Return the catalogue: `facts`, `tables` and `figures` by id, `terms` by kind and id."""
    merged: dict[str, dict[str, Any]] = defaultdict(dict)
    for file in (resources.files(__package__) / "data" / "words").iterdir():
        for part, entries in files.data(f"words/{file.name}").items():
            merged[part] |= entries
    return merged


def sentence(found: Fact, *, system: str = "SI") -> str:
    """Return the sentence that a fact stands for.

    Parameters
    ----------
    found : Fact
    system : "SI", "inch" or "both"

    Examples
    --------
    >>> from thread_repair.facts import fact, force, share
    >>> found = fact("repair_weaker", "info", change=share(0.354), original=force(32_460),
    ...     repaired=force(20_960))
    >>> sentence(found)
    'The repair reduces the thread-stripping strength by 35 %, from 32.5 kN to 21.0 kN.'
    """
    return capital(filled(catalogue()["facts"][found.id], found.values, system=system))


def capital(text: str) -> str:
    """Return a text that begins as a sentence does.

    Parameters
    ----------
    text : str

    Returns
    -------
    str

    Examples
    --------
    >>> capital("hole H1")
    'Hole H1'
    """
    return text[:1].upper() + text[1:]


def input_name(key: str) -> str:
    """Return what a reader calls a key of the case.

    Parameters
    ----------
    key : str

    Returns
    -------
    str

    Examples
    --------
    >>> input_name("design_load"), input_name("hole_depth")
    ('Limit load', 'Hole depth')
    """
    names: dict[str, str] = catalogue()["terms"]["input_name"]
    return names.get(key, capital(key.replace("_", " ")))


def term(found: Term, form: str = "noun") -> str:
    """Return the words for a term, in one of the forms that its kind has."""
    words = catalogue()["terms"][found.kind][found.id]
    return words if isinstance(words, str) else words[form or "noun"]


def quantity(found: Quantity, *, system: str = "SI", how: str = "") -> str:
    """Return a quantity with its unit; `how` is what may stand after the colon."""
    value, dimension = found.value, found.dimension
    if math.isnan(value):
        return "–"  # nobody knows it, whatever its unit
    if dimension == "count":
        return f"{value:,.0f}"
    if dimension == "share":
        if how.isdigit():
            return f"{_percent(value, int(how))} %"
        return f"{100 * value:{how or '.0'}f} %"
    if dimension == "number":
        if how == "plain":
            return f"{value:g}"
        return units.signed(value) if how == "signed" else units.number(value, int(how or 3))
    if how in ("least", "most"):
        decimals = 2 if how == "least" else 3
        ends = Range(least=value, most=value, dimension=dimension, decimals=decimals, end_of=how)
        return limits(ends, system=system)
    if how == "typed":
        return units.plain(value, dimension=dimension, system=system, as_typed=True)
    if how == "plain":
        return units.plain(value, dimension=dimension, system=system)
    if how.startswith("."):
        return units.to_decimals(value, decimals=int(how[1:]), dimension=dimension, system=system)
    return units.show(value, dimension, system=system, digits=int(how or 3))


def _percent(share: float, digits: int) -> str:
    """A share in per cent; near the whole, one digit fewer of what is missing counts."""
    if 0.99 < share < 1:
        return f"{100 * share:.{max(digits - 2, 0) - math.floor(math.log10(100 * (1 - share)))}f}"
    return units.number(100 * share, digits)


def given(found: Quantity | str, *, system: str = "SI") -> str:
    """Return a value of a case file as it was understood."""
    return quantity(found, system=system, how="typed") if isinstance(found, Quantity) else found


def sizes_in(system: str, thread_system: str) -> str:
    """Return the system of what is measured on a thread: an inch thread has inches beside SI."""
    return "both" if system == "SI" and thread_system != "metric" else system


def limits(found: Range, *, system: str = "SI") -> str:
    """Return limits as they are printed, rounded inwards.

    Examples
    --------
    >>> limits(Range(least=8.271, most=8.536), system="inch")
    '0.3257 to 0.3360 in'
    >>> limits(Range(most=6.0, dimension="torque", decimals=2), system="both")
    '6.00 N·m (53.1 in·lbf) maximum'
    """
    dimension = found.dimension

    def between(each: str) -> str:
        if dimension == "number":
            return _between(found, 1.0, found.decimals)
        factor = float(units.printed(1.0, dimension, each))
        decimals = units.decimals_of(dimension, found.decimals, each)
        return f"{_between(found, factor, decimals)} {units.unit_of(dimension, each)}"

    text = units.side_by_side(between, system)
    if found.least is None:
        return f"{text} maximum"
    return f"{text} minimum" if found.most is None else text


def _between(found: Range, factor: float, decimals: int) -> str:
    if found.end_of:
        lower = found.end_of == "least"
        found = replace(found, most=None) if lower else replace(found, least=None)
    elif found.least is not None and found.least == found.most:
        return f"{found.least * factor:.{decimals}f}"
    scale = 10**decimals
    # The slack keeps a computed 8.536 from turning to 8.535 or 8.537 by its last binary digit.
    ends = []
    if found.least is not None:
        ends.append(math.ceil(found.least * factor * scale - 1e-6) / scale)
    if found.most is not None:
        ends.append(math.floor(found.most * factor * scale + 1e-6) / scale)
    if ends[0] > ends[-1]:
        # A narrow range lies between two printed values: print it more finely.
        return _between(found, factor, decimals + 1)
    return " to ".join(dict.fromkeys(f"{end:.{decimals}f}" for end in ends))


class _Printed:
    """A value that prints itself in a system when a sentence formats it."""

    def __init__(self, value: Value | Size, system: str) -> None:
        self._value, self._system = value, system

    def __format__(self, how: str) -> str:
        value = self._value
        if isinstance(value, tuple):
            return listed(
                format(_Printed(each, self._system), how)
                for each in value
                if not isinstance(each, Size) or each.system in units.SYSTEMS[self._system]
            )
        if isinstance(value, Range):
            return limits(value, system=self._system)
        if isinstance(value, Size):
            return value.name
        if isinstance(value, Quantity):
            return quantity(value, system=self._system, how=how)
        if isinstance(value, Fact):
            return filled(catalogue()["facts"][value.id], value.values, system=self._system)
        return term(value, how) if isinstance(value, Term) else value


def listed(texts: Iterable[str]) -> str:
    """Return texts as a list in a sentence.

    Examples
    --------
    >>> listed(["1", "2", "5"])
    '1, 2 and 5'
    >>> listed([])
    'none'
    """
    *first, last = [*texts] or ["none"]
    return f"{', '.join(first)} and {last}" if first else last


def filled(text: str, values: Mapping[str, Value], *, system: str = "SI") -> str:
    """Return a text of the catalogue with the values that it names.

    Examples
    --------
    >>> ends = {"low": Quantity(1.46, "number"), "high": Quantity(1.4602, "number")}
    >>> filled("a ratio of {low} to {high}", ends)
    'a ratio of 1.46'
    """
    shown = {name: _Printed(value, system) for name, value in values.items()}
    for pair in _ENDS.finditer(text):
        if pair[1].format_map(shown) == pair[2].format_map(shown):
            text = text.replace(pair[0], pair[1])
    return text.format_map(shown)


#: Two ends of a range, which may print alike; "from" leads on to the other.
_ENDS = re.compile(r"(?<!from )(\{\w+(?::[^}]*)?\}) to (\{\w+(?::[^}]*)?\})")
