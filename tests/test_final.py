"""What a report must hold before it may be final: refused with every lack in one go."""

import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import words
from thread_repair.case import starter
from thread_repair.errors import InputErrors
from thread_repair.joint.margins import margins
from thread_repair.report.blocks.conclusion import conditions
from thread_repair.report.document import DocumentInfo
from thread_repair.report.subjects import of_program

FINAL = {
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "12 mm",
    "insert_length": "1.5 D",
    "design_load": "9 kN",
    "load_factor_source": "specification 7, section 4",
    "status": "final",
    "date": "2026-11-25",
    "prepared_by": "A. Example",
    "item": "plate RP-100",
    "revision": "B",
    "changes": "A | 2026-11-20 | first issue\nB | 2026-11-25 | load corrected",
}
OWN = {
    "parent_shear_strength": "190 MPa",
    "parent_tensile_strength": "300 MPa",
    "parent_strength_basis": "minimum",
}
#: An 8.8 screw of M8 breaks at 800 MPa x 36.6 mm2 = 29.3 kN: below 60 kN with any factor.
TOO_MUCH = {"design_load": "60 kN"}
ACCEPTED = {"accept_negative_margin": "head of stress office | proof loaded to 12 kN, report 7"}


def faults(**changes):
    with pytest.raises(InputErrors) as raised:
        tr.evaluate(cases.read({**FINAL, **changes}))
    return raised.value.faults


def failing(**changes):
    case = cases.read({**FINAL, **changes, "status": "draft"})
    found = margins(tr.evaluate(case), cases.load_cases(case))
    return [each for each in found if each.state == "repaired" and each.margin < 0]


def test_a_whole_case_is_final():
    assert tr.evaluate(cases.read(FINAL)).pull_out_ratio > 1


@pytest.mark.parametrize(
    ("changes", "begins"),
    [
        ({"date": ""}, "date: missing"),
        ({"prepared_by": ""}, "prepared_by: missing"),
        ({"item": ""}, "item: missing"),
        ({"prepared_by": "TBD"}, "prepared_by: 'TBD' states nothing"),
        ({"item": "-"}, "item: '-' states nothing"),
        ({**OWN, "parent_source": "tbc: certificate"}, "parent_source: 'tbc: certificate' states"),
        ({"critical": "yes", "fatigue_statement": "TBD 2026-12-01"}, "fatigue_statement: 'TBD"),
        ({"revision": ""}, "revision: missing"),
        ({"revision": "C"}, "changes: no line for revision 'C'"),
        ({"changes": ""}, "changes: no line for revision 'B'"),
        ({"revision": "A"}, "changes: revision 'B' of 2026-11-25 is later than revision 'A'"),
        ({"date": "2026-11-24"}, "date: 2026-11-24 lies before the last change of 2026-11-25"),
        ({"item": "invented bracket"}, "item: 'invented bracket' is the starter file's"),
        ({"critical": "yes"}, "fatigue_statement: missing"),
        ({"assumed": "engagement"}, "assumed: engagement"),
        ({"critical": "yes", "fatigue_statement": "done"}, "fatigue_statement: 'done' names no"),
    ],
)
def test_each_lack_of_a_final_report_is_one_sentence(changes, begins):
    (found,) = faults(**changes)
    assert found.startswith(begins)
    assert tr.evaluate(cases.read({**FINAL, **changes, "status": "draft"}))


def test_the_change_record_may_begin_with_the_newest():
    turned = "\n".join(reversed(FINAL["changes"].splitlines()))
    assert tr.evaluate(cases.read({**FINAL, "changes": turned}))


def test_a_final_report_asks_for_nothing_before_it_is_final():
    study = tr.study(cases.read(FINAL))
    assert study.conclusion.conditions  # criteria to be resolved
    assert "final issue" not in str(conditions(study).data)


@pytest.mark.parametrize(
    ("changes", "is_open"),
    [
        ({}, False),
        ({"load_factor_source": ""}, True),
        ({"load_factor_source": "TBD"}, True),
        ({"design_load": "", "load_factor_source": ""}, False),
    ],
)
def test_factors_of_safety_without_a_document_are_an_open_point(changes, is_open):
    told = {each.id for each in tr.study(cases.read({**FINAL, **changes})).open_points}
    assert ("open_factors" in told) is is_open


def test_strengths_of_the_parent_are_no_way_out_of_an_unverified_thread():
    own = {**OWN, "parent_source": "report 7"}
    found = faults(thread="3/8 BSF", engagement="0.5 in", design_load="2 kN", **own)
    assert found and not any("parent_shear_strength" in each for each in found)
    (strength,) = (x for x in faults(parent="6082-T6", design_load="2 kN") if "tensile" in x)
    assert "parent_shear_strength" in strength


def test_a_critical_joint_names_the_statement_of_others():
    named = {"critical": "yes", "fatigue_statement": "F-12, issue 2, fatigue of the rig plate"}
    assert tr.evaluate(cases.read({**FINAL, **named}))


def test_every_failing_margin_is_named():
    expected = failing(**TOO_MUCH)
    assert len(expected) >= 4  # screw and parent, against rupture and yield
    found = faults(**TOO_MUCH)
    assert len(found) == len(expected)
    for each, text in zip(expected, found, strict=True):
        assert words.sentence(each.fact()) in text and "_" not in text.split(" Settle")[0]


def test_a_repair_that_cures_a_thread_too_weak_for_its_load_is_final():
    """6061-T6, M8, 12 mm: 37.6 kN against 41.9; the screw does not limit either."""
    cured = {"screw": "12.9", "design_load": "33 kN", "torque": ""}
    study = tr.study(cases.read({**FINAL, **cured}))
    of_original = [each for each in study.margins if each.state == "original" and each.margin < 0]
    assert of_original and not study.conclusion.failed and not failing(**cured)


def test_a_negative_margin_of_tightening_counts():
    """Even with a torque factor of 0.2, 60 N·m / (0.2 x 8 mm) = 37.5 kN, beyond the 29.3 kN."""
    tight = {"torque": "60 N·m", "friction": "0.12"}
    assert any("preload" in each.load_case for each in failing(**tight))
    assert any("preload" in text for text in faults(**tight))


def test_who_accepts_a_negative_margin_is_said_in_the_report():
    found = tr.evaluate(cases.read({**FINAL, **TOO_MUCH, **ACCEPTED}))
    (said,) = (each for each in found.facts if each.id == "negative_margins_accepted")
    assert said.level == "limit" and words.sentence(said).endswith("report 7.")
    assert said.values["role"] == "head of stress office" and "report 7" in said.values["reason"]
    shown = conditions(tr.study(cases.read({**FINAL, **TOO_MUCH, **ACCEPTED})))  # of the letter too
    assert "head of stress office" in shown.data
    # Where no margin is negative there is nothing to accept.
    without = tr.evaluate(cases.read({**FINAL, **ACCEPTED}))
    assert not any(each.id == "negative_margins_accepted" for each in without.facts)
    # An acceptance replaces no date and no author.
    assert faults(**TOO_MUCH, **ACCEPTED, date="")[0].startswith("date: missing")


@pytest.mark.parametrize(
    "text",
    ["accepted", "|", "| proof loaded to 12 kN", "head of stress office |", "boss | ok", "7|"],
)
def test_an_acceptance_without_role_or_reason_is_refused_when_read(text):
    with pytest.raises(InputErrors) as raised:
        cases.read({**FINAL, "accept_negative_margin": text})
    (found,) = raised.value.faults
    assert found.startswith("accept_negative_margin: ") and "'role | reason'" in found


def test_the_untouched_starter_is_never_final(tmp_path):
    file = starter.write(tmp_path)
    file.write_text(file.read_text().replace("status: draft", "status: final"))
    with pytest.raises(InputErrors) as raised:
        tr.evaluate(cases.load(file))
    found = {text.split(":")[0] for text in raised.value.faults}
    assert found == {"date", "prepared_by", "item", "scope", "changes"}


def test_everything_that_is_missing_is_told_in_one_run():
    """Document, statement, margins, and a strength known from memory (EN 755-2)."""
    found = faults(**TOO_MUCH, date="", item="", revision="C", critical="yes", parent="6082-T6")
    keys = [text.split(":")[0] for text in found]
    assert keys[:4] == ["date", "item", "changes", "fatigue_statement"]
    assert sum("margin of safety" in text for text in found) == len(
        failing(**TOO_MUCH, parent="6082-T6")
    )
    assert any("EN 755-2" in text for text in found)


def test_a_faulty_case_is_told_what_its_final_report_lacks_too():
    with pytest.raises(InputErrors) as raised:
        cases.read({**FINAL, "engagement": "12 kg", "date": "", "prepared_by": ""})
    found = [text.split(":")[0] for text in raised.value.faults]
    assert found == ["engagement", "date", "prepared_by"]
    with pytest.raises(InputErrors) as raised:
        cases.read({**FINAL, "colour": "red", "date": ""})
    assert [text.split(":")[0] for text in raised.value.faults] == ["colour", "date"]


def test_what_the_program_says_of_itself_is_no_issued_document():
    """Final it would need an author, a date and a revision; nobody signs what nobody wrote."""
    shown = of_program({}).document.as_data()
    assert shown["status"] == "" and shown["signed"] == []
    issued = DocumentInfo(title="T", status="final").as_data()
    assert [role for role, _ in issued["signed"]] == ["Prepared by", "Checked by", "Approved by"]
