"""The case as entered and understood, its strengths and sources, and the request to depart from it.

Fields of DD Form 1694 as its published field list names them (read); forms of other customers have
the same under other names (common practice, no published source). What only a person can answer
is left blank.
"""

import re
from collections.abc import Iterator

from IPython.display import Markdown

from ... import files, tables, words
from ...case import Case, changes, understood
from ...facts import fact
from ...joint import Evaluation
from ...study import Study
from ...units import number
from ..figure import ReportTable
from .layout import cell, clause, known, passage, place, table, table_or_words, title, units

_KEYS = files.data("keys.toml")
#: Keys that stand on the title block and are not repeated among the inputs.
TITLE_BLOCK = {*_KEYS["document"], *_KEYS["request"]} - {
    "accept_negative_margin", "fatigue_statement",
}  # fmt: skip

_DEGREES = re.compile(r"(?<=\d )deg(?=[CF]\b)")


def inputs_table(study: Study) -> ReportTable:
    """Every stated input that bears on a number, as entered and as understood."""
    return table("inputs", [each for each in entries(study.case) if each[1]])


def assumed_table(study: Study) -> ReportTable:
    """Every input that was not stated and has a value all the same."""
    return table(
        "assumed", [(name, text) for name, given, text in entries(study.case) if not given]
    )


def entries(case: Case) -> Iterator[tuple[str, str, str]]:
    """Yield the name of each input, what was entered and what was understood."""
    for key, value in understood(case).items():
        if key not in TITLE_BLOCK:
            # as in a case file, but for the sign of a degree
            text = _DEGREES.sub("°", words.given(value, system=case.report_units))
            given = "" if key in case.keys_assumed else case.entered.get(key, "").strip()
            yield words.input_name(key), given, text


def scope(study: Study) -> ReportTable | Markdown:
    """What is decided and what was found, in the engineer's words."""
    return table_or_words("scope", [study.case])


def change_record(study: Study) -> ReportTable | Markdown:
    """What was changed in which revision, the latest last."""
    return table_or_words("changes", changes(study.case.changes))


def allowables_table(study: Study) -> ReportTable:
    """The strengths used, with their source and how they are known."""
    return table("allowables", allowables_rows(study), study)


def allowables_rows(study: Study) -> Iterator[tuple[str, str, str]]:
    """Yield each strength with its value and source."""
    joint, system = study.evaluation.joint, units(study)
    of_parent = (joint.parent_shear, joint.parent_tensile, joint.parent_yield)
    for allowable in (*of_parent, joint.flow_stress, joint.wire_shear):
        if allowable is not None:
            # A source is credited with what it prints: of a product, with each of its parts.
            places = dict.fromkeys(
                f"{each.what}: {place(each)}" if allowable.factors else place(each)
                for each in allowable.references
            )
            name = words.sentence(allowable.named, system=system)
            yield name, cell(allowable.value, "stress", system, 4), "; ".join(places)
    screw = joint.screw
    for name, key, text in (
        ("minimum tensile strength", "tensile_min", cell(screw.tensile_min, "stress", system, 4)),
        ("maximum tensile strength", "tensile_max", cell(screw.tensile_max, "stress", system, 4)),
        ("shear over tensile strength", "shear_over_tensile", number(screw.shear_over_tensile)),
    ):
        yield f"screw {screw.id}: {name}", text, place(screw.reference(key))


def insert_words(study: Study) -> str:
    """Name length, wire and finish of the insert."""
    choices = study.sheet.choices
    return (
        f"length {choices['length'].option}; wire: {choices['wire'].name}; "
        f"finish: {choices['finish'].name}"
    )


# ---- the sources that influenced the numbers

#: What a ledger is made of: a study, an evaluation, or references themselves.
Part = Study | Evaluation | tuple[tables.Reference, ...]


def _references(parts: tuple[Part, ...]) -> tuple[tables.Reference, ...]:
    return tables.ledger(
        reference
        for part in parts
        for reference in (part if isinstance(part, tuple) else part.references)
    )


def ledger_table(*parts: Part) -> ReportTable:
    """Every document with the clauses used and how they are known, one row for each."""
    given: dict[str, dict[tuple[str, str], list[str]]] = {}
    for each in _references(parts):
        of_place = given.setdefault(each.source, {}).setdefault((clause(each), each.how_known), [])
        of_place += [each.what.replace("_", " ")] if each.what else []
    rows = []
    for source, places in given.items():
        told = (
            f"{f'{at}: ' if at else ''}{', '.join(dict.fromkeys(whats))} ({known(how)})"
            for (at, how), whats in places.items()
        )
        rows.append((title(source), "; ".join(told)))
    return table("sources", rows)


def how_known_passage(*parts: Part) -> Markdown:
    """How many values are known how, and which recalled ones remain to be confirmed."""
    ways = [each.how_known for each in _references(parts)]
    listed = ", ".join(f"{ways.count(how)} {known(how)}" for how in tables.HOW_KNOWN if how in ways)
    unverified = [fact("values_to_confirm", "caution")] if "memory" in ways else []
    return passage(None, fact("values_by_basis", listed=listed), *unverified)


# ---- the request for a concession


def request_table(study: Study) -> ReportTable:
    """What is asked for: the head of the form. A field without an entry is left to be written."""
    return table("request", [study.case])


def description_table(study: Study) -> ReportTable:
    """What was found, what is proposed instead, and what prevents it from happening again."""
    hole = words.sentence(study.sheet.title, system=units(study))
    how = fact("request_no_steps" if study.conclusion.failed else "request_by_sheet")
    repair = f"{hole}, {insert_words(study)}. {words.sentence(how)}"
    return table("repair-request", [{"case": study.case, "repair": repair}])


def effects() -> ReportTable:
    """Ask about the effects that no calculation of strength can see."""
    return table("effects-else")


def decision() -> ReportTable:
    """Leave room for those who decide: nothing is filled in, not even a name."""
    return table("decision")
