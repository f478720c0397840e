"""Every thread in every parent, with every screw and every insert length: millions of joints.

One thread at a time, so that memory does not grow with the number of joints. Thick parent, long
enough screw, 20 degC, minimum material, usual tolerance classes; the original thread is engaged
over the nominal length of the insert.
"""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from . import case as cases
from . import files, inserts, joint, materials, threads
from .errors import InputError, ThreadRepairError, ValidityError
from .joint.budget import budget, engaged
from .joint.inputs import mode_inputs
from .joint.records import Joint
from .strength.modes import capacities
from .threads.profile import Thread

#: Columns of the table, in order; the first four name the joint, one row one joint.
COLUMNS = (
    "thread", "parent", "screw", "insert_length_d", "insert_length_mm",
    "original_pull_out_N", "repaired_pull_out_N", "original_strength_N", "repaired_strength_N",
    "screw_breaks_first_original", "screw_breaks_first_repaired",
)  # fmt: skip

_CSV_ROW = "%s,%s,%s,%g,%.4g,%.0f,%.0f,%.0f,%.0f,%d,%d\n"

Columns = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A thread that gives no joints, and why."""

    thread: str
    why: str


def sweep_threads(
    chosen: Iterable[Thread] | None = None,
    *,
    parents: Sequence[str] | None = None,
    screws: Sequence[str] | None = None,
    lengths: Sequence[float] = inserts.LENGTHS,
) -> Iterator[Columns | LeftOut]:
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
    mapping of COLUMNS to arrays of one length, or LeftOut
        Capacities in N by the primary model, as `evaluate` gives them. A screw breaks first if
        the strongest of its class breaks below the lowest strip load.
    """
    base = _base()
    metals = _parents(parents)
    names = materials.names("screw") if screws is None else _known_screws(screws)
    known = threads.known() if chosen is None else chosen
    for thread in known:
        try:
            yield _table(base, thread, metals, names, np.asarray(lengths, dtype=np.float64))
        except ThreadRepairError as error:
            yield LeftOut(thread=thread.designation, why=str(error))


def _known_screws(names: Sequence[str]) -> tuple[str, ...]:
    """Return the names; one that no table knows is an error, not a class left out."""
    for name in names:
        with contextlib.suppress(ValidityError):  # the class is known, if not at this diameter
            materials.screw(name, 8.0)
    return tuple(names)


def _base() -> Joint:
    """Return the joint whose thread, parent and screw are replaced: its other values are used."""
    lengths = dict.fromkeys(("engagement", "insert_length"), "1 D")
    return cases.joint(cases.read({"thread": "M8", "screw": "8.8", "parent": "6061-T6", **lengths}))


def _parents(ids: Sequence[str] | None) -> tuple[tuple[str, float, float], ...]:
    """Return id, shear and tensile strength of each parent that has both."""
    found = []
    for name in materials.names("parent") if ids is None else ids:
        parent = materials.parent(name)
        with contextlib.suppress(ThreadRepairError):
            strengths = materials.at_temperature(parent, 20.0)
            shear, tensile = float(strengths.shear), float(strengths.tensile)
            if np.isfinite(shear) and np.isfinite(tensile):
                found.append((parent.id, shear, tensile))
    return tuple(found)


def _table(
    base: Joint,
    thread: Thread,
    metals: tuple[tuple[str, float, float], ...],
    names: Sequence[str],
    lengths: np.ndarray[Any, np.dtype[np.float64]],
) -> Columns:
    classes = threads.default_classes(thread)
    one = dataclasses.replace(
        base,
        thread=thread,
        hole_class=classes.hole,
        screw_class=classes.screw,
        insert_hole_class=classes.hole,
    )
    screws = []
    for name in names:
        with contextlib.suppress(ThreadRepairError):
            screws.append(materials.screw(name, thread.major))
    if not screws:
        raise InputError("no screw class covers its diameter")
    # parents down, screws across, lengths behind
    shear, tensile = (np.array([m[i] for m in metals])[:, None, None] for i in (1, 2))
    of_screw = {
        "screw_tensile_min": [screw.tensile_min for screw in screws],
        "screw_tensile_max": [screw.tensile_max for screw in screws],
        "screw_shear": [screw.tensile_min * screw.shear_over_tensile for screw in screws],
        "stress_area": [joint.stress_area(dataclasses.replace(one, screw=s)) for s in screws],
    }
    across: dict[str, Any] = {
        name: np.array(values)[None, :, None] for name, values in of_screw.items()
    }
    shape = (len(metals), len(screws), len(lengths))
    down, right, behind = np.indices(shape).reshape(3, -1)
    columns: dict[str, Any] = {
        "thread": np.full(down.size, thread.designation),
        "parent": np.array([m[0] for m in metals])[down],
        "screw": np.array([screw.id for screw in screws])[right],
        "insert_length_d": lengths[behind],
        "insert_length_mm": (lengths * thread.major)[behind],
    }
    for state in ("original", "repaired"):
        length = engaged(budget(one, state, nominal=lengths * thread.major))
        inputs = mode_inputs(one, state, length, parent_shear=shear, parent_tensile=tensile)
        found = capacities(dataclasses.replace(inputs, **across))
        pull_out = np.broadcast_to(found.pull_out, shape)
        columns[f"{state}_pull_out_N"] = pull_out.ravel()
        columns[f"{state}_strength_N"] = np.broadcast_to(found.strength, shape).ravel()
        columns[f"screw_breaks_first_{state}"] = (found.screw_tension_max < pull_out).ravel()
    return {name: columns[name] for name in COLUMNS}


@dataclass(frozen=True, slots=True, kw_only=True)
class NeededLengths:
    """The shortest insert, in diameters, with which the strongest screw breaks first.

    `needed` has a row a parent and a column a screw, the weakest screw first; NaN where no insert
    is long enough.
    """

    thread: str
    parents: tuple[str, ...]
    screws: tuple[str, ...]
    needed: np.ndarray[Any, np.dtype[np.float64]]


def needed_lengths(
    thread: Thread, *, parents: Sequence[str] | None = None, screws: Sequence[str] | None = None
) -> NeededLengths:
    """Return which insert length each parent and screw class needs, for one thread.

    Raises
    ------
    InputError
        If the thread gives no joints.
    """
    (table,) = sweep_threads([thread], parents=parents, screws=screws)
    if isinstance(table, LeftOut):
        raise InputError(f"{table.thread}: {table.why}")
    names = {key: list(dict.fromkeys(table[key].tolist())) for key in ("parent", "screw")}
    shape = (len(names["parent"]), len(names["screw"]), -1)
    breaks = table["screw_breaks_first_repaired"].reshape(shape)
    lengths = table["insert_length_d"].reshape(shape)
    needed = np.where(breaks, lengths, np.inf).min(axis=2)
    strongest = [materials.screw(name, thread.major).tensile_max for name in names["screw"]]
    order = np.argsort(strongest, kind="stable")
    return NeededLengths(
        thread=thread.designation,
        parents=tuple(names["parent"]),
        screws=tuple(names["screw"][place] for place in order),
        needed=np.where(np.isinf(needed), np.nan, needed)[:, order],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What a sweep put into its file."""

    file: Path
    joints: int
    left_out: tuple[LeftOut, ...]


def write(file: Path, tables: Iterable[Columns | LeftOut]) -> Written:
    """Write tables one below the other: CSV or Parquet, by the suffix of the file.

    The file appears when it is complete. Parquet needs the library pyarrow.

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
    try:
        with files.in_one_step(file) as aside, writers[file.suffix](aside) as put:
            for table in tables:
                if isinstance(table, LeftOut):
                    left_out.append(table)
                else:
                    put(table)
                    joints += len(table["thread"])
            if not joints and file.suffix == ".parquet":
                raise InputError("no joint is left to be written")
    except OSError as error:
        raise InputError(f"{file} cannot be written: {error.strerror or error}") from None
    return Written(file=file, joints=joints, left_out=tuple(left_out))


@contextlib.contextmanager
def _csv(file: Path) -> Iterator[Callable[[Columns], None]]:
    with file.open("w", encoding="utf-8", newline="") as stream:
        stream.write(",".join(COLUMNS) + "\n")

        def put(table: Columns) -> None:
            # No name of a thread, parent or screw has a comma or a quote; a test holds that.
            columns = [table[name].tolist() for name in COLUMNS]
            cells = [cell for row in zip(*columns, strict=True) for cell in row]
            stream.write(_CSV_ROW * len(columns[0]) % tuple(cells))

        yield put


@contextlib.contextmanager
def _parquet(file: Path) -> Iterator[Callable[[Columns], None]]:
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError:
        raise InputError(
            f"{file.name}: Parquet needs the library pyarrow (pip install pyarrow); a name that "
            "ends in .csv needs nothing"
        ) from None
    with contextlib.ExitStack() as stack:
        writers: list[Any] = []

        def put(table: Columns) -> None:
            block = pyarrow.table({name: pyarrow.array(table[name]) for name in COLUMNS})
            if not writers:
                one = parquet.ParquetWriter(file, block.schema, use_dictionary=True)
                writers.append(stack.enter_context(one))
            writers[0].write_table(block)

        yield put
