"""The workshop sheet that a case describes, and why it cannot be made where it cannot."""

from collections.abc import Callable
from functools import lru_cache, partial

from .. import inserts, materials, tables, threads, workshop
from ..errors import InputError, ValidityError, check_known
from ..threads.profile import Thread
from ..tightening import prevailing_torque
from ..tightening.published import PrevailingTorque
from ..units import parse
from ..workshop import choice, fitting, hole
from .physical import chosen_wire, joint
from .schema import Case

#: Its route is fixed by the key `tap`, because the drilled depth goes with it.
_LEAD = "bottoming"
#: A set of shims has fewer thicknesses; a longer list is a slip, and slow to try.
_MOST_SIZES = 12
#: What the order of the work has as its case has it.
_SAME = (
    "environment", "magnetic", "insert_wire", "insert_finish", "finish_need", "fitting_tool",
    "tool_set_down", "set_down_rule", "no_go_rule", "regime",
)  # fmt: skip


@lru_cache(maxsize=4)
def sheet(case: Case) -> workshop.WorkshopSheet:
    """Return the workshop sheet of the insert hole of a case.

    Raises
    ------
    InputError, GeometryError, ValidityError
        If the hole cannot be made; `case.read` has refused such a case already.
    """
    job = workshop.WorkOrder(
        **{name: getattr(case, name) for name in _SAME},
        critical=case.critical == "yes",
        tap=_tap(case),
        shim_sizes=_shim_sizes(case),
        prevailing_torque=torque_limits(case, threads.thread(case.thread)),
        torque_nm=case.torque,
        old_insert=case.old_insert == "yes",
        hazards=_hazards(case),
    )
    return workshop.sheet(joint(case), job)


def torque_limits(case: Case, thread: Thread) -> PrevailingTorque | None:
    """Return the running torque limits of a locking insert: the case's own, else the table's.

    None for a free-running insert, and where neither gives any.
    """
    if case.insert_kind != "locking":
        return None
    if case.prevailing_torque is not None:
        return PrevailingTorque(
            most_nm=case.prevailing_torque,
            breakaway_least_nm=float("nan"),
            insert_type="wire",
            reference=tables.cited("case-prevailing-torque")[0],
        )
    try:
        return prevailing_torque(thread)
    except ValidityError:
        return None


def _group(case: Case) -> str:
    return materials.parent(case.parent).group


def _finish(case: Case) -> object:
    return choice.finish_choice(
        temperature=case.temperature,
        environment=case.environment,
        need=case.finish_need,
        finish=case.insert_finish,
    )


def _through(case: Case, *, name: str) -> None:
    own = case.part_thickness is None or name == "part_thickness"
    if own and case.hole_kind == "through":
        thickness = getattr(case, name)
        hole.through_thickness(threads.thread(case.thread), case.insert_length, thickness)


def _tap(case: Case) -> str | None:
    """Return the tap asked for; None leaves it to the table."""
    if not case.tap_style:
        return _LEAD if case.tap == _LEAD else None
    if case.tap == _LEAD:
        raise InputError.of("tap_style_beside_bottoming", case=case, lead=_LEAD)
    styles = [row["tap"] for row in tables.rows("taps.csv") if row["tap"] != _LEAD]
    check_known("tap", case.tap_style, styles)
    return case.tap_style


def _hazards(case: Case) -> tuple[str, ...]:
    entered = tuple(part.strip() for part in case.hazards.split(",") if part.strip())
    for hazard in entered:
        check_known("hazard", hazard, workshop.HAZARDS)
    return entered


def _shim_sizes(case: Case) -> tuple[float, ...]:
    sizes = tuple(parse(part, "length") for part in case.shim_sizes.split(",") if part.strip())
    if any(size <= 0 for size in sizes) or len(sizes) > _MOST_SIZES:
        raise InputError.of("shim_thicknesses", entered=case.shim_sizes[:60], most=_MOST_SIZES)
    return sizes


def _shims(case: Case) -> None:
    if case.tool_set_down is not None:
        limits = inserts.set_down(case.set_down_rule, threads.thread(case.thread))
        fitting.shim_stack(case.tool_set_down, limits.least, limits.most, _shim_sizes(case))


def _reach(case: Case) -> None:
    thread = threads.thread(case.thread)
    fitting.screw_reach(
        thread,
        length=case.insert_length,
        insert_kind=case.insert_kind,
        set_down=inserts.set_down(case.set_down_rule, thread),
        reach=case.screw_reach,
        bottom=case.hole_depth if case.hole_kind == "blind" else None,
    )


#: Each key that the workshop decides on, with what has to succeed for it.
ATTEMPTS: tuple[tuple[str, Callable[[Case], object]], ...] = (
    ("environment", lambda case: choice.environment_class(case.environment)),
    ("insert_wire", chosen_wire),
    ("insert_finish", _finish),
    ("tap_style", lambda case: hole.tap_route(case.hole_kind, _group(case), tap=_tap(case))),
    *((name, partial(_through, name=name)) for name in ("part_thickness", "hole_depth")),
    ("no_go_rule", lambda case: hole.no_go_rule(case.no_go_rule)),
    ("hazards", _hazards),
    ("shim_sizes", _shim_sizes),
    ("tool_set_down", _shims),
    ("screw_reach", _reach),
)
