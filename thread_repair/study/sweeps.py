"""A case swept over any of its keys, as a tidy DataFrame."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from .. import case as cases
from .. import materials
from ..case.schema import KEYS
from ..errors import InputError, InputErrors, ThreadRepairError, check_known, shown
from ..joint import screw_tension_max
from ..strength.modes import PULL_OUT_MODES
from ..units import unit_inside
from . import evaluation as evaluations
from .record import Study

if TYPE_CHECKING:
    import pandas as pd

#: Columns of the capacities, as `joint.sweep` has them.
_CAPACITIES = [f"{mode}_N" for mode in ("screw_tension", "screw_tension_max", *PULL_OUT_MODES)]
#: Columns that a condition has beside them.
_STRENGTHS = ("pull_out_N", "strength_N")


def sweep(case: cases.Case, **keys: Any) -> pd.DataFrame:
    """Study a case with other values of some keys; everything else stays as in the case.

    Parameters
    ----------
    case : Case
    **keys : array_like or str
        Keys of a case, each with one value or several, as a case file has them: "20 mm" or 20
        (mm, N, MPa, degC). Of several keys every combination is studied. `engagement` is the
        nominal length of both conditions: full thread in the original hole and insert length in
        the repaired one, unless `insert_length` is swept too. `parent` may be "all"; another than
        the case's has the strengths of its table. Without keys, or over parents alone, the
        engagement is swept from 0.5 D to 3 D.

    Returns
    -------
    DataFrame
        Two rows, by `state`, for each combination: the keys with their units in the names, the
        length engaged, mm, the capacity of every mode, N (NaN where no source gives a value,
        infinite where there is no such mode), `pull_out_N`, `strength_N`, `governing_mode`.

        Over `engagement` and `parent` alone the columns are those of `joint.sweep`: a million
        rows in seconds. Over other keys each combination is a whole study, about a tenth of a
        second, and has in both rows also `pull_out_ratio`, `conclusion`, and in `fault` why a
        combination cannot be judged (its numbers are then NaN, its keys as typed). Where the hole
        as found does not take the insert, no strength of it is stated: NaN, and no governing mode.

    Raises
    ------
    UnknownNameError
        If there is no such key, or no such parent.
    InputError
        If a value is no length, values are masked, or none is given.
    InputErrors
        If no combination can be judged.

    Examples
    --------
    >>> import thread_repair as tr
    >>> case = tr.read({"thread": "M8", "screw": "8.8", "parent": "6061-T6",
    ...                 "engagement": "1 D", "insert_length": "1.5 D"})
    >>> table = tr.sweep(case, boss_diameter=[14, 20], screw=["8.8", "10.9"])
    >>> table[table["state"] == "repaired"][["boss_diameter_mm", "screw", "governing_mode"]]
       boss_diameter_mm screw       governing_mode
    1              14.0   8.8  parent_thread_strip
    3              14.0  10.9  parent_thread_strip
    5              20.0   8.8        screw_tension
    7              20.0  10.9        screw_tension
    """
    import pandas as pd  # on use: it takes longer to import than a case to evaluate

    known = cases.keys()
    cases.checked(case)
    for key in keys:
        check_known("key of a case", key, known)
    values = [_values(key, value) for key, value in keys.items()]
    if not keys.keys() - {"engagement", "parent"}:
        table = pd.DataFrame(dict(evaluations.sweep(case, **keys)))
        if not Study(case).holds_insert:
            strengths = [each for each in table if each in (*_CAPACITIES, *_STRENGTHS)]
            table.loc[table["state"] == "repaired", strengths] = math.nan
            table.loc[table["state"] == "repaired", "governing_mode"] = ""
        return table
    if keys.get("parent") == "all":
        values[list(keys).index("parent")] = list(materials.names("parent"))
    found = [
        row
        for chosen in itertools.product(*values)
        for row in _rows(case, dict(zip(keys, chosen, strict=True)))
    ]
    judged = [row for row in found if not row["fault"]]
    if not judged:
        raise InputErrors(dict.fromkeys(row["fault"] for row in found))
    return pd.DataFrame(found, columns=list(judged[0]))


def _values(key: str, given: Any) -> list[Any]:
    """Return the values of a key, one or several, as a list."""
    try:
        found = [given] if isinstance(given, str) else np.ravel(given).tolist()
    except ValueError:  # lists of different lengths
        found = None
    if found is None or np.ma.is_masked(given):
        raise InputError.of("no_list_of_values", key=key, given=shown(given))
    if not found:
        raise InputError(f"{key}: nothing to sweep over; name one or more")
    return found


def _rows(case: cases.Case, given: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield a row for each condition of the hole."""
    entered = {**_kept(case, given), **given}
    if "engagement" in given:
        entered["insert_length"] = given.get("insert_length", given["engagement"])
    try:
        study = Study(cases.read(entered, folder=case.folder))
        holds = study.holds_insert
        answer = {
            "pull_out_ratio": study.evaluation.pull_out_ratio if holds else math.nan,
            "conclusion": study.conclusion.id,
            "fault": "",
        }
    except ThreadRepairError as error:
        for state in ("original", "repaired"):
            yield {
                **{_head(key): value for key, value in given.items()},
                "state": state,
                "fault": str(error),
            }
        return
    strongest = screw_tension_max(study.evaluation.joint)
    for state, each in study.evaluation.states.items():
        row = {
            **{_head(key): getattr(study.case, key) for key in given},
            "state": state,
            "engaged_mm": each.engagement,
            **dict.fromkeys(_CAPACITIES, math.inf),  # where there is no such mode
            "screw_tension_max_N": strongest,
            **{f"{mode.mode}_N": mode.capacity for mode in each.modes if mode.primary},
            "pull_out_N": each.pull_out,
            "strength_N": each.strength,
            "governing_mode": each.governing_mode,
            **answer,
        }
        if state == "repaired" and not holds:
            row |= {**dict.fromkeys((*_CAPACITIES, *_STRENGTHS), math.nan), "governing_mode": ""}
        yield row


def _kept(case: cases.Case, given: Mapping[str, Any]) -> Mapping[str, str]:
    """Return what a case says beside swept keys: beside another parent, none of its strengths.

    Where strengths are swept too they are meant for every parent.
    """
    try:
        found = materials.parent(given.get("parent", case.parent))
    except ThreadRepairError:  # told where the combination is read
        return case.entered
    own = found.id == materials.parent(case.parent).id
    if own or any(key.startswith("parent_") for key in given):
        return case.entered
    return {
        key: value
        for key, value in case.entered.items()
        if not key.startswith("parent_") and (found.casting or key != "casting_factor")
    }


@cache
def _head(key: str) -> str:
    """Return a key with the unit of its values, where they have one."""
    if dimension := KEYS[key].metadata["dimension"]:
        return f"{key}_{unit_inside(dimension).replace('·', '')}"
    return key
