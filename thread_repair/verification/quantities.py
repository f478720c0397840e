"""From the name of a printed quantity to the function of the package that computes it.

Every function takes the arguments of a row of `data/printed/`, read as the types that it names, and
returns the value in the units inside (mm, MPa, N, N·m). `STORED` are those that a document gives
and the package keeps: for them the check is that the package holds what was printed, and a share of
a digit is too much.
"""

from bisect import bisect_left
from collections.abc import Callable, Mapping
from functools import cache
from itertools import count
from typing import get_type_hints

import numpy as np
from scipy import optimize, stats

from .. import inserts, materials, tables, threads
from .. import tightening as tg
from ..errors import looked_up
from ..strength import areas
from ..strength.methods import asme_b18_29_2m, unfactored
from ..threads import Thread, iso, whitworth
from ..tightening.published import prevailing_torques
from ..uncertainty.pull_tests.evidence import critical_distance
from ..uncertainty.pull_tests.tolerance import bound, k_factor, order_statistic_rank

# ---- threads


def iso_tolerance(kind: str, grade: int, up_to: str, pitch: float) -> float:
    """Tolerance of ISO 965-1, mm: TD1 by pitch, TD2 and Td2 by diameter and pitch."""
    side = "external" if kind == "Td2" else "internal"
    if kind == "TD1":
        return float(iso.crest_tolerance(side, grade, pitch).millimetres)
    return float(iso.pitch_tolerance(side, grade, float(up_to), pitch).millimetres)


def normal_engagement(thread: Thread, end: str) -> float:
    """End of the normal group of lengths of engagement, mm."""
    low, high = iso.normal_engagement(thread)
    return low if end == "over" else high


def screw_limit(thread: Thread, class_: str, limit: str) -> float:
    """Limit of size of an external thread, mm."""
    limits = threads.external_limits(thread, class_)
    if limit == "allowance":
        return thread.major - limits.major_max
    return float(getattr(limits, limit))


def hole_limit(thread: Thread, class_: str, limit: str) -> float:
    """Limit of size of an internal thread, mm."""
    return float(getattr(threads.internal_limits(thread, class_), limit))


def basic_diameter(thread: Thread, diameter: str) -> float:
    """Basic pitch or minor diameter, mm."""
    return float(getattr(threads.basic_diameters(thread), diameter))


def unified_tolerance(thread: Thread, class_: str) -> float:
    """Tolerance of a Unified pitch diameter before rounding, mm."""
    system = threads.system_of(thread)
    tolerances = system.tolerances(thread, class_, "B" in class_, None)
    return 25.4 * float(tolerances.pitch)


def whitworth_form(threads_per_inch: int, size: str) -> float:
    """Size of the Whitworth form, mm: pitch, triangle height, depth, root radius."""
    depth = float(whitworth.SYSTEM.pitch_depth)
    over_pitch = {
        "pitch": 1.0,
        "triangle height": 1.5 * depth,  # a sixth of the triangle is cut at crest and root
        "depth": depth,
        "root radius": float(whitworth.ROOT_RADIUS),
    }
    return over_pitch[size] * 25.4 / threads_per_inch


def strip_area(thread: Thread, side: str, hole_class: str, screw_class: str) -> float:
    """Least shear area over one diameter of engagement, mm2."""
    d, P = thread.major, thread.pitch
    hole = threads.internal_limits(thread, hole_class)
    screw = threads.external_limits(thread, screw_class)
    if side == "internal":
        return float(areas.strip_area_internal(d, P, screw.major_min, hole.pitch_max))
    return float(areas.strip_area_external(d, P, hole.minor_max, screw.pitch_min))


# ---- inserts


def tap_pitch_minimum(thread: Thread, class_: str, h_number: int) -> float:
    """Least pitch diameter of an insert tap, mm: steps of 0.0005 in above that of the hole."""
    hole = inserts.insert_hole(thread, class_)
    return hole.pitch_min + 25.4 * 0.0005 * (h_number - 1)  # ASME B94.9, H limits


def drill_depth(thread: Thread, length: float, tap: str) -> float:
    """Depth of the drilled hole for an insert, mm."""
    return float(inserts.drill_depth(thread, length, tap))


def full_thread(thread: Thread, diameters: float) -> float:
    """Least depth of full thread for an insert, mm."""
    length = inserts.nominal_length(thread, diameters)
    return float(inserts.full_thread_min(thread, length))


def insert_length(parent_shear: float, screw: str) -> float:
    """Insert length that the standard's table asks for, in diameters."""
    return float(asme_b18_29_2m.table_diameters(parent_shear, screw))


# ---- materials and loads


def screw_strength(screw: str, diameter: float, property_: str) -> float:
    """Strength of a screw, MPa."""
    found = materials.screw(screw, diameter)
    if property_ == "shear":
        return found.shear_over_tensile * found.tensile_min
    return float(getattr(found, {"yield": "yield_"}.get(property_, property_)))


def wire_strength(wire: str) -> float:
    """Tensile strength of the wire, MPa."""
    return materials.wire(wire).tensile


def parent_property(parent: str, property_: str) -> float:
    """Property of a parent as the package uses it: of two printed directions the lower one."""
    found = materials.parent(parent)
    for value in found.values:
        if value.property == property_:
            return value.value
    return float(getattr(found, property_))


def handbook_cell(alloy: str, temper: str, form: str, size: str, basis: str, column: str) -> float:
    """Cell of the handbook's table that makes no parent: another basis or direction, MPa."""
    where = {"alloy": alloy, "temper": temper, "form": form, "size_in": size, "basis": basis}
    (row,) = tables.rows("mil_hdbk_5j.csv", **where)
    return materials.values.convert(row[column], "ksi")


def parent_load(parent: str, area: float) -> float:
    """Shear strength of a parent on a shear area in square inches, N."""
    return float(materials.shear_strength(materials.parent(parent)).value * area * 25.4**2)


def screw_shear_load(screw: str, area: float) -> float:
    """Shear strength of a screw's material on a shear area in square inches, N."""
    return screw_strength(screw, 6.0, "shear") * area * 25.4**2


def solid_insert_load(major: float, length: float, screw: str) -> float:
    """Strip load of a solid insert's internal thread by Table III of NASA TM-106943, N."""
    share = unfactored.INTERNAL_SHARE_TABLE_III
    area = unfactored.cylinder_area(25.4 * length, 25.4 * major, share)
    return float(screw_strength(screw, 6.0, "shear") * area)


def engagement_for_load(
    thread: Thread, crest: str, hole_class: str, screw_class: str, parent_shear: float, load: float
) -> float:
    """Engagement that carries a load on the internal thread by the area formula, mm."""
    hole = threads.internal_limits(thread, hole_class)
    outside = float(getattr(threads.external_limits(thread, screw_class), crest))
    per_mm = areas.strip_area_internal(1.0, thread.pitch, outside, hole.pitch_max)
    return float(load / (parent_shear * per_mm))


# ---- tightening


def torque_factor(id_: str, end: str) -> float:
    """Published torque factor K, friction or relaxation."""
    return float(getattr(tg.published_range(id_), end))


def prevailing_torque(thread: Thread, insert: str, end: str) -> float:
    """Limit of the prevailing torque of a locking insert, N·m."""
    (found,) = (each for each in prevailing_torques(thread) if each.insert_type == insert)
    return float(getattr(found, f"{end}_nm"))


def preload_window(screw: str, area: float, end: str) -> float:
    """Preload at 0.65 of yield, and its ends by torque wrench and relaxation, N."""
    nominal = 0.65 * screw_strength(screw, 6.0, "yield") * area * 25.4**2
    if end == "nominal":
        return nominal
    error = tg.published_range("nasa-torque-wrench").error
    band = tg.Band(least=nominal * (1 - error), middle=nominal, highest=nominal * (1 + error))
    return float(getattr(tg.in_service(band, relaxation=0.05), end))


def assembly_preload(thread: Thread, screw: str, friction: float) -> float:
    """Preload at 0.9 of yield with the twist of tightening, N."""
    shape = tg.ScrewShape(
        pitch=thread.pitch,
        pitch_diameter=threads.basic_diameters(thread).pitch,
        # root of the screw by ISO 898-1: minor diameter less a sixth of the triangle
        minor_diameter=thread.major - 1.226869 * thread.pitch,
    )
    strength = 0.9 * screw_strength(screw, thread.major, "yield")
    return float(shape.yield_preload(strength, friction=friction))


# ---- tolerance bounds


def normal_factor(n: int, coverage: float, confidence: float) -> float:
    """One-sided tolerance factor of a normal population."""
    return float(k_factor(n, coverage=coverage, confidence=confidence))


def pieces_of_rank(rank: int, coverage: float, confidence: float) -> float:
    """Least number of pieces of which the one of that rank is the bound."""
    claim = {"coverage": coverage, "confidence": confidence}
    most = next(n for n in (2**k for k in count()) if order_statistic_rank(n, **claim) >= rank)
    enough = bisect_left(range(1, most), rank, key=lambda n: order_statistic_rank(n, **claim))
    return 1.0 + enough


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(400)


def two_piece_confidence(factor: float, *, n: int, rank: int, coverage: float) -> float:
    """Chance that x(j) (x(1)/x(j))^k lies below the quantile, for the worst shape of its kind.

    For the shape with a straight log F the pieces are exponential below the top: with E ascending
    exponential order statistics, -ln F of x(1) is E(n), of x(j) E(n-j+1); their difference is the
    greatest of j - 1 exponentials, independent of E(n-j+1), and exp(-E(n-j+1)) is beta (j, n-j+1).
    The bound holds where E(n-j+1) + k (E(n) - E(n-j+1)) >= -ln(1 - coverage).
    """
    below = 1 - coverage
    span = (1 - below) / 2
    u = below + span * (1 + _NODES)
    missed = stats.beta.pdf(u, rank, n - rank + 1) * (1 - (below / u) ** (1 / factor)) ** (rank - 1)
    return 1 - span * float(_WEIGHTS @ missed)


def two_piece_factor(n: int, rank: int, coverage: float, confidence: float) -> float:
    """Factor of the bound by two order statistics that just holds its confidence."""

    def short(factor: float) -> float:
        return two_piece_confidence(factor, n=n, rank=rank, coverage=coverage) - confidence

    return float(optimize.brentq(short, 0.5, 200.0, xtol=1e-10))


def outlier_distance(n: int, significance: float) -> float:
    """Critical distance of the farthest piece, in standard deviations."""
    return float(critical_distance(n, significance=significance))


@cache
def sample(name: str) -> tuple[float, ...]:
    """Return the test pieces of a published example."""
    return tuple(float(row["value"]) for row in tables.rows("published_samples.csv", sample=name))


def sample_bound(name: str, shape: str, coverage: float) -> float:
    """Lower tolerance bound of a published example, confidence 95 %."""
    return bound(sample(name), shape, coverage=coverage, confidence=0.95).value


QUANTITIES: Mapping[str, Callable[..., float]] = {
    each.__name__: each
    for each in (
        iso_tolerance, normal_engagement, screw_limit, hole_limit, basic_diameter,
        unified_tolerance, whitworth_form, threads.stress_area, strip_area, tap_pitch_minimum,
        drill_depth, full_thread, insert_length, screw_strength, wire_strength, parent_property,
        handbook_cell, parent_load, screw_shear_load, solid_insert_load, engagement_for_load,
        torque_factor, prevailing_torque, preload_window, assembly_preload, normal_factor,
        pieces_of_rank, two_piece_factor, outlier_distance, sample_bound,
    )
}  # fmt: skip

STORED = frozenset(
    {
        "iso_tolerance", "normal_engagement", "insert_length", "screw_strength", "wire_strength",
        "parent_property", "handbook_cell", "torque_factor", "prevailing_torque",
    }
)  # fmt: skip


def compute(quantity: str, arguments: Mapping[str, str]) -> float:
    """Return a quantity by its name, in the units inside.

    Raises
    ------
    UnknownNameError
        If there is no such quantity.
    """
    function = looked_up("quantity", quantity, QUANTITIES)
    # Arguments are named as people read them; Python keeps some of the words for itself.
    named = {key + "_" * (key in ("class", "property", "id")): x for key, x in arguments.items()}
    kinds = get_type_hints(function) | {"thread": threads.thread}
    typed = {name: kinds.get(name, str)(text) for name, text in named.items()}
    return float(function(**typed))
