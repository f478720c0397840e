"""The tables of certified bounds: what they say of the area formula, and solved anew.

A table is a record of solver runs. With every report a fixed few of them are run again; on
request all threads and the bosses, by as many processes as the machine has processors.
"""

import math
import os
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context
from typing import Any

import pandas as pd

from .. import case, tables, threads
from ..joint.bounds import TABLE, Sizes
from ..joint.sizes import sizes
from ..strength.collapse.bounds import Bounds, boss_bounds, cell_bounds
from ..strength.collapse.profile import Coil
from ..strength.overlap import bearing_ratio, overlap_factor
from ..threads.profile import TRIANGLE_60
from .checks import Found, Held, hold

BOSSES, MESHES = "boss_wall_factor.csv", "mesh_convergence.csv"
#: The reference method may count so much more than an upper bound: two units of its last digit.
CAPPED = 2e-4
#: One unit of the last digit of a table, to which a solver may round either way.
DIGIT = 1.01e-4
#: So much wider than the bounds solved anew a record may be, and what is said of it.
WIDER, WIDER_WORDS = 0.005, "the table is wider"
#: Two fields that a solver of tolerance 1e-6 finds for one mesh lie no further apart.
SOLVER = 1e-5
#: Bounds that lie further apart ask for a finer mesh: shallow threads.
GAP = 0.03
#: The wire of 18-8 steel (1379 MPa at least) is that much stronger than parents up to 460 MPa.
WIRE_OVER_PARENT = 3.0
#: Engagement over diameter of the longest bosses solved by "true"; those beyond take half the time
#: of all.
LONGEST = 1.5
#: What recompute may be, with the longest engagement that is solved then.
RECOMPUTE = {"": 0.0, "true": LONGEST, "all": float("inf")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """A row of a table of bounds over the area formula's load.

    Attributes
    ----------
    name : thread, or boss and engagement
    state : "original" or "repaired"
    position : tolerance position of a thread, support of a boss
    lower, upper : certified bounds over the formula's load, as printed
    at : what the solver is given
    """

    name: str
    state: str
    position: str
    lower: str
    upper: str
    at: Mapping[str, Any]

    @property
    def gap(self) -> float:
        """Distance of the bounds over the upper one."""
        return 1 - float(self.lower) / float(self.upper)


def cells() -> tuple[Recorded, ...]:
    """Return the bounds of every thread, both conditions, two tolerance positions."""
    return tuple(
        Recorded(
            name=row["designation"], state=row["state"], position=row["tolerance_position"],
            lower=row["lower_over_formula"], upper=row["upper_over_formula"],
            at=Sizes.read(row)._asdict(),
        )
        for row in tables.rows(TABLE)
    )  # fmt: skip


def bosses() -> tuple[Recorded, ...]:
    """Return the bounds of round bosses, both conditions and supports."""
    return tuple(
        Recorded(
            name=f"boss {row['boss_over_major']} D, engaged {row['engagement_over_major']} D",
            state=row["state"], position=row["support"], lower=row["lower"], upper=row["upper"],
            at={key: float(row[f"{key}_over_major"]) for key in ("engagement", "boss")},
        )
        for row in tables.rows(BOSSES)
    )  # fmt: skip


def solve_cell(at: Mapping[str, Any]) -> Bounds:
    """Bound the load of a thread in a thick wall, at most `GAP` apart if the mesh can."""
    for refinement in (1, 2, 3):
        found = cell_bounds(**at, refinement=refinement)
        if found.lower >= (1 - GAP) * found.upper:
            break
    return found


def pitches(state: str, engagement: float) -> tuple[int, ...]:
    """Diameters over the pitch that a boss stands for: M6 to M12, coarse and fine.

    The insert hole of M8 is 7.7 pitches wide, that of M10x1 11.3. From 1.25 diameters of
    engagement on the wall governs, and the loads of the pitches differ by 1 %: one pitch only.
    """
    if engagement >= 1.25:
        return (8,)
    ratios = (6, 8, 12) if state == "original" else (8, 12)
    return tuple(ratio for ratio in ratios if (engagement * ratio).is_integer())


def profile(state: str, pitch: float) -> dict[str, Any]:
    """Return the basic 60 degree profile of unit major diameter, with the wire if repaired."""
    height = TRIANGLE_60 * pitch
    nominal = 1 - 1.5 * height
    wire = Coil(
        screw_major=nominal, inner=nominal - 1.25 * height, middle=nominal, outer=1.0,
        width=0.875 * pitch, flow_ratio=WIRE_OVER_PARENT,
    )  # fmt: skip
    return {
        "screw_major": 1.0,
        "hole_major": 1.0,
        "hole_pitch_diameter": 1 - 0.75 * height,
        "hole_minor": 1 - 1.25 * height,
        "pitch": pitch,
        "coil": wire if state == "repaired" else None,
    }


def solve_boss(
    state: str,
    support: str,
    engagement: float,
    boss: float,
    ratio: int,
    bearing: float | None = None,
) -> Bounds:
    """Bound the load of a boss, its pitch the unit major diameter over `ratio`."""
    return boss_bounds(
        **profile(state, 1 / ratio),
        n_pitches=round(engagement * ratio),
        boss_diameter=boss,
        support=support,
        bearing_diameter=bearing,
    )


def diameters(thread: threads.Thread, state: str, position: str) -> dict[str, float]:
    """Return sizes of a joint as the verdict takes them; only the thread bears on them."""
    usual = threads.default_classes(thread)
    joint = replace(
        case.joint_of(), thread=thread, screw_class=usual.screw, hole_class=usual.hole,
        insert_hole_class=usual.hole, tolerance_position=position,
    )  # fmt: skip
    return Sizes.of(thread, sizes(joint, state))._asdict()


def solved_ends(recorded: Recorded) -> tuple[str, str]:
    """Solve a bracket anew: least lower and greatest upper bound, rounded outwards.

    A boss for each pitch that it stands for. A thread from its designation: its record keeps sizes
    to the micrometre, the smallest need more.
    """
    at, state, position = recorded.at, recorded.state, recorded.position
    if "boss" in at:
        found = [
            solve_boss(state, position, at["engagement"], at["boss"], ratio)
            for ratio in pitches(state, at["engagement"])
        ]
    else:
        found = [solve_cell(diameters(threads.thread(recorded.name), state, position))]
    return (
        f"{min(each.lower / each.formula for each in found) - 5e-5:.4f}",
        f"{max(each.upper / each.formula for each in found) + 5e-5:.4f}",
    )


def chosen(recompute: str) -> tuple[tuple[Recorded, ...], tuple[Recorded, ...]]:
    """Return the threads and bosses that are solved anew."""
    if not recompute:
        # Every 115th thread meets all conditions and positions; a short boss with an insert.
        short = ("repaired", "base", {"engagement": 0.5, "boss": 1.5})
        return cells()[::115], tuple(e for e in bosses() if (e.state, e.position, e.at) == short)
    longest = RECOMPUTE[recompute]
    return cells(), tuple(each for each in bosses() if each.at["engagement"] <= longest)


(_OWN,) = tables.cited("solved-anew")


def solved_anew(recompute: str) -> Iterator[Held]:
    """Solve the bounds of a table anew and compare the digits that it prints.

    In this process or, on request, in as many as there are processors.
    """
    some = [each for kind in chosen(recompute) for each in kind]
    if not recompute:
        yield from map(compared, some, map(_safe, some))
        return
    with ProcessPoolExecutor(os.cpu_count(), mp_context=get_context("spawn")) as pool:
        yield from map(compared, some, list(pool.map(_safe, some, chunksize=4)))


def _safe(each: Recorded) -> tuple[str, str] | Exception:
    try:
        return solved_ends(each)
    except Exception as error:  # told with the row that it is of
        return error


def compared(recorded: Recorded, ends: tuple[str, str] | Exception) -> Held:
    """Hold a recorded bracket against the solved one: it may be wider, never narrower.

    A solver that stopped early left a bound that is true and less close; such a record stays, up
    to `WIDER`, and is named.
    """

    def beyond(low: float, high: float) -> tuple[float, float]:
        return low - float(recorded.lower), float(recorded.upper) - high

    def find() -> Found:
        if isinstance(ends, Exception):
            raise ends
        low, high = map(float, ends)
        least, most = sorted(beyond(low, high))
        return low, math.nan, high, least > -DIGIT and most < WIDER

    name = f"{recorded.name}, {recorded.state}, {recorded.position}"
    found = hold("solved_anew", name, _OWN, find)
    within = max(beyond(found.low, found.high))
    if found.held and within > DIGIT:
        return replace(found, reason=f"{WIDER_WORDS} by {within:.4f}")
    return found


def capped() -> Iterator[Held]:
    """The reference method counts at most the upper bound, for every thread of the table."""
    for state in ("original", "repaired"):
        some = [each for each in cells() if each.state == state]
        name = f"{state}: greatest load counted over the upper bound, {len(some)} threads"
        yield hold("capped", name, _OWN, _most_counted, some)


def _most_counted(some: Iterable[Recorded]) -> Found:
    return -math.inf, max(_counted(e.at) / float(e.upper) for e in some), 1 + CAPPED, True


def _counted(at: Mapping[str, float]) -> float:
    """Return the share of the area formula's load that the reference method counts."""
    ratio = bearing_ratio(
        at["pitch"], at["screw_major"], at["hole_minor"], at["hole_pitch_diameter"],
        tan_half_angle=math.tan(math.radians(at["flank_angle"] / 2)),
    )  # fmt: skip
    return float(overlap_factor(ratio))


def meshes() -> Mapping[str, pd.DataFrame]:
    """Return the recorded bounds of three threads over the formula's load, by thread.

    Every `refinement` cuts each cell of the mesh so many times both ways, into `triangles`.
    """
    rows = pd.DataFrame(tables.rows(MESHES)).astype(
        {"refinement": int, "triangles": int, "lower_over_formula": float,
         "upper_over_formula": float}
    )  # fmt: skip
    names = rows["designation"] + " " + rows["state"] + ", " + rows["tolerance_position"]
    return dict(iter(rows.groupby(names, sort=False)))


def converging(recompute: str) -> Iterator[Held]:
    """Hold the recorded meshes: the lower bound only rises and the upper only falls.

    Parameters
    ----------
    recompute : without it the coarsest meshes alone are solved again
    """
    for name, some in meshes().items():
        anew = some if recompute else some[some["refinement"] == 1]
        said = f"{name}: the bounds close in as the mesh is cut"
        yield hold("convergence", said, _OWN, _closing_in, name, some, anew)


def _closing_in(name: str, some: pd.DataFrame, anew: pd.DataFrame) -> Found:
    """Ends of the finest mesh, and whether each mesh closes in and those solved anew agree."""
    lower, upper = some["lower_over_formula"], some["upper_over_formula"]
    held = (
        (lower.diff().dropna() >= -SOLVER).all()
        and (upper.diff().dropna() <= SOLVER).all()
        and all(_as_recorded(name, each) for _, each in anew.iterrows())
    )
    return float(lower.iloc[-1]), math.nan, float(upper.iloc[-1]), bool(held)


def _as_recorded(name: str, recorded: Mapping[str, Any]) -> bool:
    """Solve one of them anew."""
    (at,) = (c.at for c in cells() if f"{c.name} {c.state}, {c.position}" == name)
    found = cell_bounds(**at, refinement=recorded["refinement"])
    ends = found.lower / found.formula, found.upper / found.formula
    apart = max(
        abs(ends[0] - recorded["lower_over_formula"]), abs(ends[1] - recorded["upper_over_formula"])
    )
    return bool(recorded["triangles"] == found.triangles and apart < SOLVER)
