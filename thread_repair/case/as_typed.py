"""What of a case was entered for nothing, or may mean something else than it is read as."""

from collections.abc import Iterator

from .. import files
from ..facts import Fact, Term, fact, temperature
from .schema import Case
from .understanding import understood

#: A load without unit below this many newtons is one in kN to some who type it, as any is one in
#: lbf, and a torque in in·lbf, where inches are asked for. A choice.
_LEAST_BARE_LOAD = 100.0


def as_typed(case: Case) -> Iterator[Fact]:
    """Yield what is told of the entries of a case: no fault, but perhaps not what was meant.

    Parameters
    ----------
    case : Case

    Yields
    ------
    Fact

    Examples
    --------
    >>> from .reading import read
    >>> case = read({"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "1 D",
    ...              "insert_length": "1 D", "temperature": "20", "load_factor": "1.5",
    ...              "hole_condition": "stripped"})
    >>> [(each.id, each.values["key"], each.values["needs"]) for each in as_typed(case)]
    [('without_effect', 'load_factor', 'design_load')]
    """
    for key, groups in files.data("key_needs.toml").items():
        lacking = (group for group in groups if not any(_is_given(case, each) for each in group))
        if key in case.entered and (group := next(lacking, None)):
            yield fact("without_effect", "caution", key=key, needs=" or ".join(group))
    if case.assumed:
        values = understood(case)
        taken = tuple(
            fact("asked_said", name=key.replace("_", " "), value=values[key])
            for key in case.keys_assumed
        )
        yield fact("inputs_assumed", "caution", inputs=taken)
    if "temperature" not in case.entered:
        yield fact("no_temperature", temperature=temperature(case.temperature))
    if not {"hole_condition", "damaged_diameter"} & case.entered.keys():
        yield fact("no_hole_condition")
    if case.design_load is not None:
        tightened = case.torque is not None or case.preload is not None
        factors = ("load_factor", "yield_factor", *["separation_factor"] * tightened)
        if missing := tuple(Term("factor", x) for x in factors if x not in case.entered):
            yield fact("no_factors", factors=missing)
    of_what = "hole_kind" in case.entered or case.part_thickness is not None
    if case.hole_depth is not None and not of_what:
        yield fact("read_depth_of_through", "caution")
    for key, unit in (("design_load", "N"), ("preload", "N"), ("torque", "N·m")):
        value, entered = getattr(case, key), case.entered.get(key, "").strip()
        small = unit == "N" and (value or 0.0) < _LEAST_BARE_LOAD
        if value is not None and entered[-1:].isdigit() and (small or case.report_units != "SI"):
            yield fact("read_without_unit", "caution", key=key, entered=entered, unit=unit)


def _is_given(case: Case, needed: str) -> bool:
    key, _, value = needed.partition(": ")
    return bool(getattr(case, key) == value) if value else key in case.entered
