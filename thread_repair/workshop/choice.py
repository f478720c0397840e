"""Which insert: length, kind, wire and finish, with the reasons and what was rejected."""

from __future__ import annotations

import math

from .. import materials, tables
from ..errors import InputError, ValidityError, unknown
from ..sources import Reference
from .records import Choice, Rejected

ENVIRONMENTS = ("dry", "damp", "salt water", "vacuum")
#: What else is said for them, the hardest service first.
_SAID = {
    "salt water": ("salt", "sea", "marine", "offshore"),
    "vacuum": ("vacuum", "space"),
    "damp": ("damp", "wet", "humid", "outdoor", "weather", "condens"),
    "dry": ("dry", "indoor"),
}
MAGNETIC = ("any", "non-magnetic")
#: What a finish may be asked to serve.
FINISH_NEEDS = ("none", "corrosion", "friction", "galling")

KINDS = Reference(source="asme-b18-29-1", clause="1.6", how_known="read", what="kinds of insert")
_VACUUM = Reference(
    source="nasa-std-6016",
    clause="cadmium and zinc in vacuum",
    how_known="memory",
    what="finishes that are barred in vacuum",
)


def environment_class(text: str) -> str:
    """Return the environment that a free text names; the hardest of several.

    Examples
    --------
    >>> environment_class("outdoors, coastal, salt spray")
    'salt water'
    """
    said = text.casefold()
    for environment, words in _SAID.items():
        if any(word in said for word in words):
            return environment
    raise unknown("environment", text, ENVIRONMENTS)


def wire_choice(
    *, temperature: float, magnetic: str, environment: str, wire: str | None = None
) -> Choice:
    """Choose the wire: the first of the table that the service allows, or check the one given.

    Raises
    ------
    ValidityError
        If no wire of the table serves.
    InputError
        If the wire given does not serve; the sentence names one that does.

    Temperature limits are those of `materials.wire`, to be confirmed with the wire's
    specification where recalled. In light metal the parent loses its strength long before.
    """
    environment = environment_class(environment)
    if magnetic not in MAGNETIC:
        raise unknown("magnetic requirement", magnetic, MAGNETIC)
    rows = {row["wire"]: row for row in tables.rows("insert_wire_choice.csv")}
    # Wires of one alloy to two specifications share a row.
    asked = None if wire is None else materials.wire(wire)
    faults = {
        name: _wire_fault(row, temperature, magnetic, environment) for name, row in rows.items()
    }
    serving = [name for name, fault in faults.items() if not fault]
    if not serving:
        raise ValidityError(
            f"no insert wire in the table serves {temperature:g} °C, {magnetic}, {environment}: "
            + "; ".join(f"{name} {fault}" for name, fault in faults.items())
        )
    if asked is not None and faults[asked.uns]:
        raise InputError(f"insert wire {asked.id!r} {faults[asked.uns]}; {serving[0]!r} serves")
    chosen = asked or materials.wire(serving[0])
    row = rows[chosen.uns]
    limit = materials.wire(row["limit_of"]).reference("temperature_limit")
    notes = []
    if not limit.confirmed:
        notes.append("Temperature limit from memory: confirm it with the wire's specification.")
    if magnetic == "non-magnetic":
        notes.append("Specify the permeability on the order, not the name of the alloy alone.")
    return Choice(
        topic="wire",
        option=chosen.id,
        words=chosen.name,
        reason=f"for {row['use']}" if wire is None else "asked for in the case, and it serves",
        rejected=tuple(
            Rejected(option=name, reason=fault or "serves; kept for harder service")
            for name, fault in faults.items()
            if name != chosen.uns
        ),
        note=" ".join(notes),
        references=(tables.reference(row, f"choice of wire {chosen.id}"), limit),
    )


def _wire_fault(row: tables.Row, temperature: float, magnetic: str, environment: str) -> str:
    most = materials.wire(row["limit_of"]).temperature_limit
    if not temperature <= most:
        return f"is good to {most:g} °C (to be confirmed)"
    if magnetic == "non-magnetic" and row["non_magnetic"] == "no":
        return "becomes slightly magnetic when drawn"
    if environment == "salt water" and row["salt_water"] == "no":
        return "pits in salt water"
    return ""


def finish_choice(
    *,
    temperature: float,
    environment: str,
    need: str,
    finish: str | None = None,
) -> Choice:
    """Choose the finish by what it has to serve, or check the one given.

    Raises
    ------
    ValidityError
        If no finish of the table serves.
    InputError
        If the finish given does not bear the service.
    """
    environment = environment_class(environment)
    if need not in FINISH_NEEDS:
        raise unknown("finish need", need, FINISH_NEEDS)
    rows = {row["finish"]: row for row in tables.rows("insert_finish_choice.csv")}
    if finish is not None:
        finish = materials.finish(finish).id
    faults = {
        name: _finish_fault(row, temperature, environment, asked=finish == name)
        for name, row in rows.items()
    }
    idle = "is not needed" if need == "none" else f"does not serve {need}"
    unfit = {
        name: faults[name] or ("" if need in row["serves"].split() else idle)
        for name, row in rows.items()
    }
    serving = [name for name, fault in unfit.items() if not fault]
    if finish is not None and faults[finish]:
        other = serving[0] if serving else "plain"
        raise InputError(f"insert finish {finish!r} {faults[finish]}; {other!r} serves")
    if finish is None and not serving:
        raise ValidityError(
            f"no insert finish in the table serves {need} at {temperature:g} °C, {environment}: "
            + "; ".join(f"{name} {fault}" for name, fault in unfit.items())
        )
    chosen = finish or serving[0]
    row = rows[chosen]
    record = materials.finish(chosen)
    reason = f"serves {need}" if need != "none" else "nothing asks for a finish"
    if finish is not None:
        reason = "asked for in the case, and it bears the service"
    return Choice(
        topic="finish",
        option=chosen,
        words=record.name,
        reason=reason,
        rejected=tuple(
            Rejected(option=name, reason=fault or f"serves; {chosen} comes first")
            for name, fault in unfit.items()
            if name != chosen
        ),
        note=". ".join(part for part in (record.note, row["caution"].capitalize()) if part),
        references=(
            tables.reference(row, f"choice of finish {chosen}"),
            *record.references,
            *((_VACUUM,) if environment == "vacuum" else ()),
        ),
    )


def _finish_fault(row: tables.Row, temperature: float, environment: str, *, asked: bool) -> str:
    most = materials.finish(row["finish"]).temperature_limit
    # NaN where there is no limit: the comparison is then false.
    if temperature > most:
        return f"is good to {most:.0f} °C"
    if environment == "vacuum" and row["vacuum"] == "no":
        return "is barred in vacuum"
    if row["finish"] == "cadmium" and not asked:
        return "is toxic and was not asked for in writing"
    return ""


def galvanic(group: str, parent: int, *, wire: str, finish: str, environment: str) -> Choice:
    """Say how the joint of a parent and an insert is protected from galvanic corrosion.

    `group` is the parent's group by name, `parent` its galvanic group.

    By the rule of groups: neighbours in the rule need no more than sealing. A finish of which
    the rule says nothing does not hide the wire.
    """
    environment = environment_class(environment)
    plating = materials.finish(finish).galvanic_group
    plated = not math.isnan(plating)
    surface = int(plating if plated else materials.wire(wire).galvanic_group)
    apart = abs(surface - parent)
    words = {int(row["group"]): row["words"] for row in tables.rows("galvanic_groups.csv")}
    counted = f"{apart} group{'' if apart == 1 else 's'} apart"
    pair = f"{words[parent]} against {words[surface]}, {counted}"
    if environment in ("dry", "vacuum") or (apart == 0 and not plated):
        option, measure = "none", "no protection needed in this service"
    elif apart == 0:
        option, measure = "seal", "seal the joint from wet: the plating is used up in time"
    elif group == "magnesium":
        option = "primer"
        measure = "fit wet with primer, two coats or more on each face; seal the joint from wet"
    elif apart >= 2 or environment == "salt water":
        option, measure = "primer", "fit wet with primer; seal the joint from wet"
    else:
        option, measure = "seal", "seal the joint from wet"
    return Choice(
        topic="galvanic protection",
        option=option,
        words=measure,
        reason=pair,
        references=(
            Reference(
                source="mil-std-1250a", clause="5.7", how_known="read", what="dissimilar metals"
            ),
            tables.reference(tables.rows("galvanic_groups.csv")[0], "galvanic groups"),
        ),
    )
