"""The hole on the bench: what a case may say of it, and that everybody is told."""

import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import words
from thread_repair.errors import InputError
from thread_repair.report.blocks import conclusion, workshop
from thread_repair.report.terminal import summary
from thread_repair.tables import rows
from thread_repair.workshop.spoiled import findings

NEEDED = {
    "thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
    "insert_length": "1.5 D",
}  # fmt: skip
CONDITIONS = ("stripped", "worn", "oversize", "insert-pulled-out", "cracked")


def study(**changes):
    return tr.study(cases.read({**NEEDED, **changes}))


def test_every_condition_has_its_action_in_the_one_table():
    assert set(CONDITIONS) <= set(findings())


def test_every_family_of_metals_is_welded_or_not():
    families = {each.family for each in tr.materials.parents()}
    assert {row["family"] for row in rows("weld_repair.csv")} == families


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"hole_condition": "oversize"}, "hole_condition: oversize, but no damaged_diameter"),
        (
            {"hole_condition": "insert-pulled-out", "damaged_diameter": "8.3 mm"},
            "damaged_diameter: '8.3 mm' is not larger than the minor diameter of the insert hole",
        ),
        ({"damaged_diameter": "80 mm"}, "damaged_diameter: '80 mm' is no diameter of M8x1.25"),
        ({"hole_condition": "pulled out"}, "hole_condition: 'pulled out' is not one of"),
    ],
)
def test_what_cannot_be(changes, says):
    with pytest.raises(InputError, match=says):
        study(**changes)


@pytest.mark.parametrize("condition", ["insert-pulled-out", "cracked"])
def test_everybody_is_told(condition):
    whole = study(hole_condition=condition)
    assert whole.conclusion.id == "does_not_support"
    sheet = str(conclusion.in_short(whole).data)
    assert "not to be used" in sheet
    assert "No steps are given" in str(workshop.steps_table(whole).data)
    assert "**Hole as found.**" in str(conclusion.as_found(whole).data)
    said = [words.sentence(each) for each in whole.hole]
    assert all(text.split(".")[0] in " ".join(summary(whole).split()) for text in said)
    # nothing says that the repair is stronger than the original in a hole that has no sound metal
    assert not [each for each in whole.statements if each.id.startswith("repair_")]


def test_a_usual_hole_is_not_spoken_of():
    whole = study()
    assert whole.hole == ()
    assert "Hole as found" not in str(conclusion.as_found(whole).data)
    assert "not to be used" not in str(conclusion.in_short(whole).data)
    assert {each.id for each in whole.criteria} & {"hole_as_found", "no_crack"} == set()
    kinds = {each.kind for each in whole.alternatives}
    assert kinds & {"oversize-insert", "next-insert", "weld-and-retap"} == set()
