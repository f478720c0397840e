"""Every printed value of `data/printed/` against what the package computes, to the last digit.

One test a file; the rows name document, clause and how they are known. The report on verification
is built from the same rows by the same functions.
"""

from collections import Counter
from functools import cache

import pytest

from thread_repair import materials
from thread_repair.verification.checks import (
    Check,
    Printed,
    check,
    checks,
    parsed,
    printed_values,
)
from thread_repair.verification.quantities import QUANTITIES

VALUES = tuple(printed_values())
#: How many values each file holds: none may be lost unseen.
COUNTS = {
    "printed/allowables.csv": 534,
    "printed/areas.csv": 83,
    "printed/asme_b1_1.csv": 495,
    "printed/bs_84.csv": 44,
    "printed/inserts.csv": 96,
    "printed/iso_965.csv": 535,
    "printed/methods.csv": 28,
    "printed/strengths.csv": 101,
    "printed/tightening.csv": 47,
    "printed/tolerance.csv": 628,
    "hanson_koopmans.csv": 132,
}


def of(table: str) -> list[Printed]:
    return [each for each in VALUES if each.table == table]


@cache
def checked(table: str) -> tuple[Check, ...]:
    return checks(of(table))


def test_none_is_lost():
    assert Counter(each.table for each in VALUES) == COUNTS
    assert len(VALUES) == 2723


def test_none_counts_twice():
    keys = Counter(
        (each.quantity, tuple(each.arguments.items()), each.reference.source, each.reference.clause)
        for each in VALUES
    )
    assert not [key for key, n in keys.items() if n > 1]


def test_every_quantity_is_printed_somewhere():
    assert {each.quantity for each in VALUES} == set(QUANTITIES)


@pytest.mark.parametrize("table", COUNTS)
def test_the_package_agrees_with_print(table):
    failed = [
        (each.printed.quantity, dict(each.printed.arguments), each.printed.text, each.computed)
        for each in checked(table)
        if each.outcome == "failed"
    ]
    assert not failed


def test_differences_on_record_are_few_and_small():
    """A misprint, a rounding of the table's own: each with its reason, nearly all below 3 digits."""
    found = (each for table in COUNTS for each in checked(table))
    known = [each for each in found if each.outcome == "known difference"]
    assert len(known) == 184
    assert sum(abs(each.difference) < 3 for each in known) > 170
    assert all(each.reason for each in known)


def test_values_kept_as_printed_name_the_same_document():
    """What a parent or a screw carries is cited to where it was read."""
    for each in VALUES:
        if each.quantity == "parent_property":
            owner = materials.parent(each.arguments["parent"])
            try:
                own = owner.reference(each.arguments["property"])
            except LookupError:
                continue
            assert own.how_known == "read", each
            if own.source != each.reference.source:
                assert each.table != "printed/allowables.csv", each


# ---- a check can fail


def row(**changes: str) -> Printed:
    base = {
        "quantity": "stress_area", "arguments": "thread=M8x1.25", "printed": "36.6", "unit": "mm2",
        "within": "", "known_difference": "", "source": "iso-898-1", "clause": "table",
        "how_known": "read",
    }  # fmt: skip
    return parsed({**base, **changes}, "here")


def test_half_a_digit_passes_and_more_fails():
    assert check(row()).outcome == "passed"
    assert check(row(printed="36.7")).outcome == "failed"
    assert check(row(printed="36.609")).outcome == "passed"
    assert check(row(printed="36.608")).outcome == "failed"
    assert check(row(printed="0.0567", unit="in2")).outcome == "passed"


def test_a_difference_on_record_is_bounded_and_must_stay():
    known = {"known_difference": "misprint", "within": "1.2"}
    assert check(row(printed="36.7", **known)).outcome == "known difference"
    assert check(row(printed="36.8", **known)).outcome == "failed"
    assert "agrees now" in check(row(**known)).reason
    for each in printed_values():
        assert bool(each.known_difference) is bool(each.within), each


def test_a_value_kept_must_be_the_printed_one():
    kept = {"quantity": "screw_strength", "unit": "MPa"}
    arguments = "screw=8.8; diameter=10; property=tensile_min"
    assert check(row(arguments=arguments, printed="800", **kept)).outcome == "passed"
    # half of the last digit would hide a wrong constant
    assert check(row(arguments=arguments, printed="0.8E3", **kept)).outcome == "passed"
    assert check(row(arguments=arguments, printed="800.4", **kept)).outcome == "failed"


def test_what_cannot_be_computed_fails():
    unknown = check(row(arguments="thread=M8x77"))
    assert unknown.outcome == "failed" and unknown.reason
    assert "unknown quantity" in check(row(quantity="weight")).reason
    assert "stress_area" in check(row(arguments="bolt=M8")).reason


def test_a_broken_formula_turns_rows_to_failed(monkeypatch):
    monkeypatch.setattr(
        "thread_repair.verification.quantities.areas.strip_area_internal",
        lambda length, pitch, major, hole: 3.14159 * major * length * 0.6,
    )
    failed = [e for e in checks(of("printed/areas.csv")) if e.outcome == "failed"]
    assert len(failed) > 10
