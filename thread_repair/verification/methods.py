"""The published methods against each other over a range of threads and parents."""

from collections.abc import Mapping
from itertools import product
from typing import Any

import pandas as pd

from .. import case as cases
from ..joint.evaluate import PRIMARY_METHOD
from ..strength.methods import METHODS
from ..study.evaluation import evaluate

#: Coarse threads and parents of four kinds: wrought, cast, magnesium, grey iron.
THREADS = ("M4", "M5", "M6", "M8", "M10", "M12", "M16", "M20", "M24", "1/4-20 UNC", "1/2-13 UNC")
PARENTS = ("6061-T6", "356.0-T6-sand", "AZ91C-T6-sand", "EN-GJL-250")


def ranges(parents: tuple[str, ...] = PARENTS) -> tuple[Mapping[str, Any], ...]:
    """Evaluate every thread in every parent, 1.5 diameters of insert, by every method.

    Returns
    -------
    tuple of mapping, one a method
        `title` of its document and whether that is `for_wire_inserts`; how many `joints` it gives
        a value for, of both conditions; over these the least and the greatest load over that of
        the reference method, `original` and `repaired`, and of `change`, repaired over original.
    """
    lengths = dict.fromkeys(("engagement", "insert_length"), "1.5 D")
    rows = []
    for thread, parent in product(THREADS, parents):
        case = cases.read({"thread": thread, "screw": "8.8", "parent": parent, **lengths})
        states = evaluate(case).states.values()
        own = [state.mode("parent_thread_strip").capacity for state in states]
        for name in METHODS:
            before, after = (state.rivals[name].capacity for state in states)
            rows.append((name, before / own[0], after / own[1], after / before))
    columns = ["original", "repaired", "change"]
    table = pd.DataFrame(rows, columns=["method", *columns]).dropna()
    return tuple(
        {
            "title": METHODS[name].title + ", without its factors" * (name == PRIMARY_METHOD),
            "joints": len(some),
            **{each: (float(some[each].min()), float(some[each].max())) for each in columns},
            "for_wire_inserts": METHODS[name].for_wire_inserts,
        }
        for name, some in table.groupby("method", sort=False)
    )
