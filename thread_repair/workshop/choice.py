"""Which insert, tap and tool: wire, finish and protection, as the service allows."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from .. import files, inserts, materials, tables
from ..errors import InputError, ValidityError, check_known, unknown
from ..facts import Term, count, fact
from ..joint.records import Joint
from . import fitting, hole
from .records import Choice, WorkOrder

ENVIRONMENTS = ("dry", "damp", "salt water", "vacuum")
#: What is said for each, the hardest service first.
_SAID: Mapping[str, Sequence[str]] = files.data("case_words.toml")["environments"]


def environment_class(text: str) -> str:
    """Return the environment that a free text names; the hardest of several.

    Parameters
    ----------
    text : str

    Returns
    -------
    str

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


def _suited(
    what: str, faults: dict[str, str], asked: str, unfit: dict[str, str], service: str
) -> str:
    """Return the option asked for, else the first without fault.

    `faults` forbid an option; `unfit` also holds what speaks against taking it unasked.
    """
    suitable = [name for name, fault in unfit.items() if not fault]
    if asked:
        if faults[asked]:
            other = f"; {suitable[0]!r} is suitable" if suitable else ""
            raise InputError(f"{what} {asked!r} {faults[asked]}{other}")
        return asked
    if not suitable:
        raise ValidityError.of(
            "nothing_suitable",
            what=what,
            service=service,
            why="; ".join((f"{name} {fault}" for name, fault in unfit.items())),
        )
    return suitable[0]


def wire_choice(*, temperature: float, magnetic: str, environment: str, wire: str = "") -> Choice:
    """Choose the wire: the first of the table that the service allows, or check the one given.

    Parameters
    ----------
    temperature : float, degC
    magnetic, environment : str
    wire : str, optional

    Returns
    -------
    Choice

    Raises
    ------
    ValidityError
        If no wire of the table is suitable.
    InputError
        If the wire given is not; the sentence names one that is.

    Temperature limits are those of `materials.wire`, to be confirmed with the wire's
    specification where recalled. In light metal the parent loses its strength long before.
    """
    environment = environment_class(environment)
    check_known("magnetic", magnetic, ("any", "non-magnetic"))
    rows = {row["wire"]: row for row in tables.rows("insert_wire_choice.csv")}

    def fault(row: tables.Row) -> str:
        most = materials.wire(row["limit_of"]).temperature_limit
        if not temperature <= most:
            return f"is limited to {most:g} °C"
        if magnetic == "non-magnetic" and row["non_magnetic"] == "no":
            return "becomes slightly magnetic when drawn"
        if environment == "salt water" and row["salt_water"] == "no":
            return "is subject to pitting in salt water"
        return ""

    faults = {name: fault(row) for name, row in rows.items()}
    # Wires of one alloy to two specifications share a row.
    asked = materials.wire(wire) if wire else None
    uns = _suited(
        "insert wire", faults, asked.uns if asked else "", faults,
        f"{temperature:g} °C, {magnetic}, {environment}",
    )  # fmt: skip
    chosen = asked or materials.wire(uns)
    limit = materials.wire(rows[uns]["limit_of"]).reference("temperature_limit")
    return Choice(
        topic="wire",
        option=chosen.id,
        name=chosen.name,
        notes=(
            *(() if limit.confirmed else (fact("wire_limit_not_verified", "caution"),)),
            *((fact("wire_permeability"),) if magnetic == "non-magnetic" else ()),
        ),
        references=(tables.reference(rows[uns], f"choice of wire {chosen.id}"), limit),
    )


def finish_choice(*, temperature: float, environment: str, need: str, finish: str = "") -> Choice:
    """Choose the finish by what it has to serve, or check the one given.

    Parameters
    ----------
    temperature : float, degC
    environment, need : str
    finish : str, optional

    Returns
    -------
    Choice

    Raises
    ------
    ValidityError
        If no finish of the table is suitable.
    InputError
        If the finish given does not bear the service.
    """
    environment = environment_class(environment)
    rows = {row["finish"]: row for row in tables.rows("insert_finish_choice.csv")}
    asked = materials.finish(finish).id if finish else ""

    def fault(row: tables.Row) -> str:
        most = materials.finish(row["finish"]).temperature_limit
        # NaN where there is no limit: the comparison is then false.
        if temperature > most:
            return f"is limited to {most:.0f} °C"
        if environment == "vacuum" and row["vacuum"] == "no":
            return "is barred in vacuum"
        if row["finish"] == "cadmium" and asked != "cadmium":
            return "is toxic and was not requested in writing"
        return ""

    faults = {name: fault(row) for name, row in rows.items()}
    idle = "is not needed" if need == "none" else f"does not serve {need}"
    unfit = {
        name: faults[name] or ("" if need in row["serves"].split() else idle)
        for name, row in rows.items()
    }
    chosen = _suited(
        "insert finish", faults, asked, unfit, f"{need} at {temperature:g} °C, {environment}"
    )
    record = materials.finish(chosen)
    return Choice(
        topic="finish",
        option=chosen,
        name=record.name,
        notes=tuple(
            fact("finish_note", note=note)
            for note in (record.note, rows[chosen]["caution"])
            if note
        ),
        references=(
            tables.reference(rows[chosen], f"choice of finish {chosen}"),
            *record.references,
            *(tables.cited("finish-vacuum") if environment == "vacuum" else ()),
        ),
    )


def galvanic(group: str, parent: int, *, wire: str, finish: str, environment: str) -> Choice:
    """Choose how the joint of a parent and an insert is protected from galvanic corrosion.

    `group` is the parent's group by name, `parent` its galvanic group.

    By the rule of groups: neighbours in the rule need no more than sealing. A finish of which
    the rule says nothing does not hide the wire.

    Parameters
    ----------
    group : str
    parent : int
    wire, finish, environment : str

    Returns
    -------
    Choice
    """
    environment = environment_class(environment)
    plating = materials.finish(finish).galvanic_group
    plated = not math.isnan(plating)
    surface = int(plating if plated else materials.wire(wire).galvanic_group)
    apart = abs(surface - parent)
    names = {int(row["group"]): row["words"] for row in tables.rows("galvanic_groups.csv")}
    if environment in ("dry", "vacuum"):
        option, measure = "none", "none_dry"
    elif apart == 0 and not plated:
        option, measure = "none", "none"
    elif apart == 0:
        option, measure = "seal", "seal_plated"
    elif group == "magnesium":
        option, measure = "primer", "primer_two_coats"
    elif apart >= 2 or environment == "salt water":
        option, measure = "primer", "primer"
    else:
        option, measure = "seal", "seal"
    return Choice(
        topic="galvanic_protection",
        option=option,
        name=Term("protection", measure),
        notes=(
            fact(
                "galvanic_pair", parent=names[parent], surface=names[surface],
                apart=count(apart)
            ),
        ),
        references=(
            *tables.cited("dissimilar-metals"),
            tables.reference(tables.rows("galvanic_groups.csv")[0], "galvanic groups"),
        ),
    )  # fmt: skip


def choices(joint: Joint, job: WorkOrder) -> Mapping[str, Choice]:
    """Return every choice by topic, in the order of the job.

    Parameters
    ----------
    joint : Joint
    job : WorkOrder

    Returns
    -------
    mapping of str to Choice
    """
    diameters = joint.insert_length / joint.thread.major
    standard = any(abs(diameters - n) * joint.thread.major < 1e-3 for n in inserts.LENGTHS)
    service: dict[str, Any] = {"temperature": joint.temperature, "environment": job.environment}
    wire = wire_choice(**service, magnetic=job.magnetic, wire=job.insert_wire)
    finish = finish_choice(**service, need=job.finish_need, finish=job.insert_finish)
    found = (
        Choice(
            topic="length",
            option=f"{diameters:.3g} D",
            notes=() if standard else (fact("length_not_standard"),),
            references=tables.cited("insert-lengths"),
        ),
        Choice(topic="kind", option=joint.insert_kind, references=tables.cited("insert-kinds")),
        wire,
        finish,
        galvanic(
            joint.parent.group,
            joint.parent.galvanic_group,
            wire=wire.option,
            finish=finish.option,
            environment=job.environment,
        ),
        hole.tap_route(joint.hole_kind, joint.parent.group, room=hole.room(joint), tap=job.tap),
        fitting.fitting_tool(job.fitting_tool),
    )
    return {each.topic: each for each in found}
