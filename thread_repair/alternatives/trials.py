"""The options that are tried: each a variation of the joint, ready for the strength functions."""

import math
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace

from .. import inserts, materials, tables, threads
from ..errors import GeometryError, ThreadRepairError
from ..facts import Fact, fact, length, number, share
from ..joint.criterion import SPOILED, Criterion, damaged_diameter, found_criteria
from ..joint.lengths import engaged_length
from ..joint.records import ROUNDING, Joint, MeasuredDiameters
from ..joint.sizes import accepted_hole, mode_inputs, sizes
from ..joint.wall import boss_wall_factor, certified_wall_factor
from ..strength.strip import StripInputs
from ..threads.profile import Thread
from .records import Trial

#: Steel of a solid threaded insert where nothing else is known, as a screw class of the tables.
BUSH_STEEL = "300-series"


def trials(joint: Joint) -> Iterator[Trial]:
    """Yield every option but the last resort, in the order of the table."""
    # A hole that is made anew is at minimum material where those of the joint were measured.
    new = joint
    if joint.tolerance_position == "measured":
        new = replace(joint, tolerance_position="minimum-material", measured=None)
    spoiled = joint.hole_condition in SPOILED
    yield _damaged(joint)
    yield _longer(joint)
    yield _enlarged(new, insert=False)
    yield from _inserts(joint)
    if spoiled:
        yield _open("oversize-insert", joint, fact("option_no_oversize_insert"))
        yield _enlarged(new, insert=True)
    yield _bush(new, "bush-thin", joint.bush_diameter_thin)
    yield _bush(new, "bush-heavy", joint.bush_diameter_heavy)
    if spoiled:
        yield _weld(joint)


def _open(kind: str, joint: Joint, why: Fact, size: Fact | None = None) -> Trial:
    """An option that cannot be assessed."""
    return Trial(kind=kind, joint=joint, size=size, missing=why)


def _damaged(joint: Joint) -> Trial:
    kind, damage = "leave-as-damaged", joint.damaged_diameter
    fraction = joint.damaged_fraction
    lost = {} if fraction is None else {"lost": share(fraction)}
    # Whatever is lost is taken from what the screw reaches, however wide the rest is.
    left = max(engaged_length(joint, "original") - (fraction or 0.0) * joint.engagement, 0.0)
    if joint.hole_condition == "insert-pulled-out":
        left, size = 0.0, fact("option_size_lost", lost=share(1))
    elif damage is not None:
        # The minor diameter is that found, if it is the greater; the others as measured, or the
        # limits of their class; a hole as wide as the screw has no thread.
        found = joint.measured or MeasuredDiameters()
        joint = replace(joint, tolerance_position="measured", measured=found)
        minor = max(damage, sizes(joint, "original").hole_minor)
        joint = replace(joint, measured=replace(found, hole_minor=minor))
        at = sizes(joint, "original")
        if max(damage, at.hole_pitch) >= at.screw_major:
            left = 0.0
        size = fact(f"option_size_worn{'_lost' * bool(lost)}", damage=length(damage), **lost)
    elif lost:
        size = fact("option_size_lost", **lost)
    else:
        return _open(kind, joint, fact("option_damage_unknown"))
    return _original(kind, joint, left, size, fact("option_damage_stays"))


def _longer(joint: Joint) -> Trial:
    kind, available = "longer-engagement", joint.engagement_available
    if available is None:
        return _open(kind, joint, fact("option_available_unknown"))
    fraction = joint.damaged_fraction
    if fraction is None and damaged_diameter(joint) is not None:
        fraction = 1.0  # how deep the metal is missing nobody has said
    if fraction is None:
        return _open(kind, joint, fact("option_damage_unknown"))
    lost = fraction * joint.engagement
    size = fact("option_size_available", available=length(available), lost=length(lost))
    trial = _original(kind, joint, available - lost, size, fact("option_longer_screw"))
    if joint.hole_condition not in SPOILED:
        return trial
    hole = threads.internal_limits(joint.thread, joint.hole_class)
    return replace(trial, requirements=tuple(found_criteria(joint, hole.minor_max)))


def _original(kind: str, joint: Joint, left: float, size: Fact, remark: Fact) -> Trial:
    """The original thread over a length, mm."""
    return Trial(
        kind=kind,
        joint=joint,
        state="original",
        size=size,
        hole_major=joint.thread.major,
        engaged=max(left, 0.0),
        remarks=(remark,),
    )


def _enlarged(joint: Joint, *, insert: bool) -> Trial:
    """The next larger screw, or the insert for it, whose hole removes the spoiled one.

    The insert is as long in diameters as that of the joint.
    """
    kind, hole_class = "larger-screw", joint.hole_class
    if insert:
        kind, hole_class = "next-insert", joint.insert_hole_class
    thread = next_larger(joint.thread, hole_class, clear=damaged_diameter(joint), insert=insert)
    if thread is None:
        return _open(kind, joint, fact("option_no_larger_thread", series=joint.thread.series))
    name = {"thread": thread.designation, "screw": joint.screw.id}
    size, redrill = fact("option_size_screw", **name), fact("option_redrill")
    diameters = joint.insert_length / joint.thread.major
    nominal = diameters * thread.major
    if insert:
        size = fact(
            "option_size_next_insert", thread=thread.designation,
            diameters=number(diameters), nominal=length(nominal),
        )  # fmt: skip
    try:
        screw = materials.screw(joint.screw.id, thread.major)
        larger = replace(joint, thread=thread, screw=screw)
        if insert:
            coarser = thread.pitch / joint.thread.pitch  # the rules on set-down count in pitches
            larger = replace(
                larger,
                insert_length=nominal,
                set_down_min=coarser * joint.set_down_min,
                set_down_max=coarser * joint.set_down_max,
                countersink_depth=inserts.countersink(thread).depth_max,
            )
            trial = _fitted(joint, larger, kind, size)
            trial = replace(trial, remarks=(*trial.remarks, redrill))
        else:
            hole = accepted_hole(larger, "original")
            trial = replace(
                _original(kind, larger, engaged_length(larger, "original"), size, redrill),
                drill=(hole.minor_min, hole.minor_max),
                requirements=tuple(found_criteria(joint, hole.minor_max)),
            )
        mode_inputs(larger, trial.state, trial.engaged)
    except ThreadRepairError:
        return _open(kind, joint, fact("option_no_screw_values", **name), size)
    return trial


def _fitted(joint: Joint, changed: Joint, kind: str, size: Fact) -> Trial:
    """An insert in the changed joint, whose hole has to remove what is spoiled of the joint."""
    left = engaged_length(changed, "repaired")
    hole = accepted_hole(changed)
    return Trial(
        kind=kind,
        joint=changed,
        size=size,
        hole_major=sizes(changed, "repaired").hole_major,
        engaged=left,
        drilled=_least_depth(changed),
        drill=(hole.minor_min, hole.minor_max),
        requirements=(*_room(changed), *found_criteria(joint, hole.minor_max)),
        remarks=tuple(_asks(changed, left)),
    )


def _weld(joint: Joint) -> Trial:
    """Fill the hole by welding and tap it anew, where the metal can be welded at all."""
    kind = "weld-and-retap"
    (row,) = tables.rows("weld_repair.csv", family=joint.parent.family)
    if row["welded"] == "yes":
        return _open(kind, joint, fact("option_weld_strength_unknown"))
    if row["welded"] == "unknown":
        return _open(kind, joint, fact("option_weld_metal_unknown", why=row["why"]))
    barred = Criterion(id="weldable", met=False, values={"why": row["why"]})
    return Trial(kind=kind, joint=joint, requirements=(barred,))


def next_larger(
    thread: Thread, hole_class: str, *, clear: float | None = None, insert: bool = False
) -> Thread | None:
    """Return the next larger thread of the same series that the old hole can be drilled out for.

    The new hole, drilled to its upper limit, must remove the old thread to its basic major
    diameter, or to a larger one, `clear`, mm. With `insert` it is the hole of an insert. Of metric
    threads only the first choice of ISO 261 is offered. None at the end of the series.

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> next_larger(thread("M8x1.25"), "6H").designation
    'M10x1.5'
    """
    limits = inserts.insert_hole if insert else threads.internal_limits
    series = thread.series
    if series not in {known.series for known in threads.known()}:
        series = "ISO metric fine"
    first = {
        (float(row["diameter_mm"]), float(row["pitch_mm"]))
        for row in tables.rows("iso_261.csv", choice="1")
    }
    for candidate in sorted(threads.known(), key=lambda t: (t.major, -t.pitch)):
        if candidate.series != series or candidate.major <= thread.major:
            continue
        if candidate.system == "metric" and (candidate.major, candidate.pitch) not in first:
            continue
        with suppress(ThreadRepairError):
            hole = limits(candidate, hole_class)
            if hole.minor_max >= max(thread.major, clear or 0.0):
                return candidate
    return None


def _inserts(joint: Joint) -> Iterator[Trial]:
    """The standard lengths, and that of the joint among them if it is an odd one."""
    major = joint.thread.major
    proposed = joint.insert_length / major
    proposed = next(
        (n for n in inserts.LENGTHS if math.isclose(n, proposed, rel_tol=1e-3)), proposed
    )
    for n in sorted({*inserts.LENGTHS, proposed}):
        long = joint.insert_length if n == proposed else n * major
        size = fact("option_size_insert", diameters=number(n), nominal=length(long))
        trial = _fitted(joint, replace(joint, insert_length=long), "wire-insert", size)
        yield replace(trial, diameters=n, is_proposed=n == proposed)


def _least_depth(joint: Joint) -> float:
    """Drilled depth of a blind hole with a bottoming tap, mm; NaN of a through hole."""
    if joint.hole_kind != "blind":
        return math.nan
    return float(inserts.drill_depth(joint.thread, joint.insert_length, "bottoming"))


def _room(joint: Joint) -> Iterator[Criterion]:
    """Whether depth and thickness of the part take the insert, and the screw passes its lock."""
    lock = inserts.least_reach(
        joint.thread, joint.insert_length, joint.insert_kind, joint.set_down_max
    )
    for name, needed, there in (
        ("drilled_depth", _least_depth(joint), joint.hole_depth),
        ("part_thickness", joint.insert_length, joint.part_thickness),
        ("screw_reach", lock, joint.screw_reach),
    ):
        if there is not None and not math.isnan(needed):
            yield Criterion(
                id=name,
                required=length(needed),
                repaired=length(there),
                met=there >= needed - ROUNDING,
            )


def _asks(joint: Joint, left: float) -> Iterator[Fact]:
    """What an insert asks for beyond what is there."""
    if joint.hole_kind == "blind" and joint.hole_depth is not None:
        plug = float(inserts.drill_depth(joint.thread, joint.insert_length, "plug"))
        if joint.hole_depth < plug - ROUNDING:
            yield fact("option_bottoming_tap", required=length(plug))
    fitted = float(inserts.fitted_length(joint.thread, joint.insert_length)[0])
    if left < fitted - ROUNDING:
        yield fact("option_engages_part", engaged=length(left), fitted=length(fitted))


def _bush(joint: Joint, kind: str, outside: float | None) -> Trial:
    if outside is None:
        return _open(kind, joint, fact("option_outside_unknown"))
    minor = sizes(joint, "original").hole_minor + outside - joint.thread.major
    trial = Trial(
        kind=kind,
        joint=joint,
        size=fact("option_size_outside", outside=length(outside)),
        hole_major=outside,
        engaged=joint.insert_length,
        requirements=tuple(found_criteria(joint, minor)),
        remarks=(fact("option_solid_insert", nominal=length(joint.insert_length)),),
    )
    try:
        bush_inputs(joint, outside)
    except GeometryError:
        small = Criterion(id="solid_insert_wall", repaired=length(outside), met=False)
        return replace(trial, requirements=(small,))
    return trial


def bush_inputs(joint: Joint, outside: float) -> StripInputs:
    """Return a solid threaded insert of steel in the parent, as the strength functions take it.

    Parameters
    ----------
    joint : Joint
        Its insert length is the solid insert's length.
    outside : float, mm
        Basic major diameter of its outer thread.

    Notes
    -----
    The parent strips on the outer thread, which is taken with the screw's own profile, pitch and
    tolerances at the larger diameter: at basic size the area per length depends on the diameter
    alone. The parent holds all of it; the screw reaches as far into it as it is long. Ends
    without full thread are not deducted. Inside, its thread shears like a wire insert's, with
    the shear strength of an austenitic steel.

    Source: derived here; no standard solid insert is modelled.
    """
    at = sizes(joint, "original")
    shift = outside - joint.thread.major
    if shift <= 2 * (at.screw_major - at.hole_minor):
        raise GeometryError.of("insert_without_wall", outside=outside)
    length = joint.insert_length
    reach = length
    if joint.screw_reach is not None:
        reach = min(length, max(joint.screw_reach - joint.set_down_max, 0.0))
    steel = materials.screw(BUSH_STEEL, joint.thread.major)
    whole = mode_inputs(joint, "repaired", length)
    return replace(
        whole,
        external_major=at.crest + shift,
        internal_pitch_diameter=at.hole_pitch + shift,
        hole_minor=at.hole_minor + shift,
        hole_major_basic=outside,
        internal_minor=at.inner_minor,
        screw_length=reach,
        insert_pitch_diameter=at.hole_pitch,
        wire_shear=steel.tensile_min * steel.shear_over_tensile,
        wall_factor=certified_wall_factor(joint, "repaired", outside, length),
        boss_wall_factor=boss_wall_factor(joint, outside),
    )
