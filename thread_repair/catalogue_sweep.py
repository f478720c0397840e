"""Every thread in every parent, with every screw and every insert length: millions of joints.

One thread at a time, so that memory does not grow with the number of joints. Thick parent, long
enough screw, 20 degC, minimum material, usual tolerance classes; the original thread is engaged
over the nominal length of the insert.
"""

import contextlib
import dataclasses
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from . import case as cases
from . import files, inserts, materials, threads
from .arrays import FloatArray
from .errors import InputError, ThreadRepairError, ValidityError
from .joint.lengths import budget, engaged
from .joint.records import Joint
from .joint.sizes import mode_inputs, screw_stress_area
from .strength.modes import capacities
from .threads.profile import Thread

#: Columns of the table, in order, and how CSV prints each; the first four name the joint.
COLUMNS: Mapping[str, str] = files.data("tables.toml")["joints"]


def sweep_threads(
    chosen: Iterable[Thread] | None = None,
    *,
    parents: Sequence[str] | None = None,
    screws: Sequence[str] | None = None,
    lengths: Sequence[float] = inserts.LENGTHS,
) -> Iterator[pd.DataFrame | InputError]:
    """Yield one table a thread: every parent, screw and insert length.

    Parameters
    ----------
    chosen : iterable of Thread, optional
        Without it every thread that is known.
    parents, screws : sequence of str, optional
        Ids; without them all. A screw is left out where its class does not cover the diameter, a
        parent where no source gives it a strength.
    lengths : sequence of float
        Nominal insert lengths in diameters.

    Yields
    ------
    DataFrame with the columns of COLUMNS, or for a thread that gives no joints an InputError
        Capacities in N by the primary model, as `evaluate` gives them. A screw breaks first if
        the strongest of its class breaks below the lowest strip load.
    """
    base = cases.joint_of()  # its other values are used
    metals = _parents(parents)
    names = materials.names("screw") if screws is None else _known_screws(screws)
    # One thread, screw or parent has several names; each joint stands in the table once.
    for thread in threads.known() if chosen is None else dict.fromkeys(chosen):
        try:
            yield _table(base, thread, metals, names, np.asarray(lengths, dtype=np.float64))
        except ThreadRepairError as error:
            yield InputError(f"{thread.designation}: {error}")


def _known_screws(names: Sequence[str]) -> tuple[str, ...]:
    """Return the names; one that no table knows is an error, not a class left out."""
    for name in names:
        with contextlib.suppress(ValidityError):  # the class is known, if not at this diameter
            materials.screw(name, 8.0)
    return tuple(names)


def _parents(ids: Sequence[str] | None) -> pd.DataFrame:
    """Return shear and tensile strength by the id of each parent that has both."""
    found = {}
    for name in materials.names("parent") if ids is None else ids:
        parent = materials.parent(name)
        with contextlib.suppress(ThreadRepairError):
            strengths = materials.at_temperature(parent, 20.0)
            found[parent.id] = float(strengths.shear), float(strengths.tensile)
    columns = ["shear", "tensile"]
    return pd.DataFrame.from_dict(found, orient="index", columns=columns).dropna()


def _table(
    base: Joint, thread: Thread, metals: pd.DataFrame, names: Sequence[str], lengths: FloatArray
) -> pd.DataFrame:
    classes = threads.default_classes(thread)
    one = dataclasses.replace(
        base,
        thread=thread,
        hole_class=classes.hole,
        screw_class=classes.screw,
        insert_hole_class=classes.hole,
    )
    known = {}
    for name in names:
        with contextlib.suppress(ThreadRepairError):
            screw = materials.screw(name, thread.major)
            known[screw.id] = screw
    if not known:
        raise InputError("no screw class covers its diameter")
    screws = known.values()
    # parents down, screws across, lengths behind
    down = (metals[each].to_numpy()[:, None, None] for each in ("shear", "tensile"))
    strengths = (*down, one.flow_stress.value)  # of a wall, which no joint here has
    of_screw = {
        "screw_tensile_min": [screw.tensile_min for screw in screws],
        "screw_tensile_max": [screw.tensile_max for screw in screws],
        "screw_shear": [screw.tensile_min * screw.shear_over_tensile for screw in screws],
        "stress_area": [screw_stress_area(thread, screw, classes.screw) for screw in screws],
    }
    across: Any = {name: np.array(values)[:, None] for name, values in of_screw.items()}
    joints = pd.MultiIndex.from_product(
        [[thread.designation], metals.index, [screw.id for screw in screws], lengths],
        names=list(COLUMNS)[:4],
    )
    table = joints.to_frame(index=False)
    table["insert_length_mm"] = table["insert_length_d"] * thread.major
    for state in ("original", "repaired"):
        length = engaged(budget(one, state, nominal=lengths * thread.major))
        of_parents = mode_inputs(one, state, length, strengths=strengths)
        found = capacities(dataclasses.replace(of_parents, **across))
        for name, values in (
            (f"{state}_pull_out_N", found.pull_out),
            (f"{state}_strength_N", found.strength),
            (f"screw_breaks_first_{state}", found.screw_tension_max < found.pull_out),
        ):
            table[name] = np.broadcast_to(values, joints.levshape[1:]).ravel()
    return table[list(COLUMNS)]


def needed_lengths(
    thread: Thread, *, parents: Sequence[str] | None = None, screws: Sequence[str] | None = None
) -> pd.DataFrame:
    """Return which insert length each parent and screw class needs, for one thread.

    Returns
    -------
    DataFrame
        The shortest insert, in diameters, with which the strongest screw breaks first: a row a
        parent and a column a screw, the weakest screw first; NaN where no insert is long enough.

    Raises
    ------
    InputError
        If the thread gives no joints.
    """
    (table,) = sweep_threads([thread], parents=parents, screws=screws)
    if isinstance(table, InputError):
        raise table
    lengths = table["insert_length_d"].where(table["screw_breaks_first_repaired"])
    needed = (
        lengths.groupby([table["parent"], table["screw"]], sort=False).min().unstack(sort=False)
    )
    return needed[sorted(needed, key=lambda name: materials.screw(name, thread.major).tensile_max)]


def write(
    file: Path, tables: Iterable[pd.DataFrame | InputError]
) -> tuple[int, tuple[InputError, ...]]:
    """Write tables one below the other: CSV or Parquet, by the suffix of the file.

    The file appears when it is complete. Parquet needs the library pyarrow.

    Returns
    -------
    int, tuple of InputError
        How many joints were written, and why there are none of some threads.

    Raises
    ------
    InputError
        If the suffix is another, the file cannot be written, or Parquet is asked for without
        pyarrow.
    """
    writers = {".csv": _csv, ".parquet": _parquet}
    if file.suffix not in writers:
        raise InputError(f"{file}: expected a name that ends with {' or '.join(writers)}")
    joints, left_out = 0, []
    with files.writing(file), files.in_one_step(file) as aside, writers[file.suffix](aside) as put:
        for table in tables:
            if isinstance(table, InputError):
                left_out.append(table)
            else:
                put(table)
                joints += len(table)
    return joints, tuple(left_out)


@contextlib.contextmanager
def _csv(file: Path) -> Iterator[Callable[[pd.DataFrame], None]]:
    with file.open("w", encoding="utf-8", newline="") as stream:
        stream.write(",".join(COLUMNS) + "\n")
        line = ",".join(COLUMNS.values()) + "\n"

        def put(table: pd.DataFrame) -> None:
            stream.write(line * len(table) % tuple(table.to_numpy(dtype=object).ravel()))

        yield put


@contextlib.contextmanager
def _parquet(file: Path) -> Iterator[Callable[[pd.DataFrame], None]]:
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError:
        raise InputError.of("parquet_needs_pyarrow") from None
    types = {"%s": pyarrow.string(), "%d": pyarrow.bool_()}
    schema = pyarrow.schema(
        [(name, types.get(look, pyarrow.float64())) for name, look in COLUMNS.items()]
    )
    with parquet.ParquetWriter(file, schema) as writer:
        yield lambda table: writer.write_table(pyarrow.Table.from_pandas(table, schema))
