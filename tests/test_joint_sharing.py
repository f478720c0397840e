"""Load sharing of a joint: its support, what is not known, and lengths that cannot be used."""

import math

import pytest

from thread_repair import case as cases
from thread_repair import words
from thread_repair.errors import InputError
from thread_repair.joint.sharing import elastic_constants, joint_sharing, sharing_facts
from thread_repair.report import escape, results
from thread_repair.report.blocks import review
from thread_repair.study import Study, evaluation
from thread_repair.teaching import pictures
from thread_repair.teaching.explorer import start

NEEDED = {
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "12 mm",
    "insert_length": "12 mm",
}


def sharing(**changes):
    return joint_sharing(evaluation.evaluate(cases.read({**NEEDED, **changes})))


def said(**changes):
    joint = cases.joint(cases.read({**NEEDED, **changes}))
    return sharing_facts(joint, sharing(**changes))


@pytest.mark.parametrize(
    ("support", "boundaries"),
    [
        ("face", {"compression"}),
        ("base", {"tension"}),
        ("unknown", {"compression", "tension"}),
    ],
)
def test_the_support_decides_how_the_parent_is_loaded(support, boundaries):
    for each in sharing(boss_support=support).values():
        assert set(each.by_boundary) == boundaries


def test_the_worse_support_is_shown_where_it_is_not_known():
    """Turnbuckle more favourable than nut: Sopwith 1948, abstract (read)."""
    for each in sharing(boss_support="unknown", boss_diameter="24 mm").values():
        peaks = {name: float(s.peak_over_mean) for name, s in each.by_boundary.items()}
        assert each.boundary == "compression"
        assert peaks["compression"] > peaks["tension"] > 1


def test_the_original_hole_as_computed_by_hand():
    """M8, 12 mm, block of 24 mm pressed on its face: q_max/q_mean = x coth x, first pitch 22 %.

    Sopwith's closed form (memory) with Yamamoto's compliances (memory), steel of 205 GPa.
    """
    found = sharing(boss_support="face", boss_diameter="24 mm")["original"].shown
    x = float(found.length_parameter)
    assert float(found.peak_over_mean) == pytest.approx(x / math.tanh(x), rel=3e-3)
    assert float(found.peak_over_mean) == pytest.approx(2.39, abs=0.02)
    assert float(found.first_thread_share) == pytest.approx(0.22, abs=0.005)


def test_a_sliding_coil_evens_the_load():
    found = sharing()["repaired"]
    for boundary, stuck in found.by_boundary.items():
        assert found.sliding[boundary].peak_over_mean < stuck.peak_over_mean
    assert not sharing()["original"].sliding


def test_elongation_is_read_as_percent():
    ductile = sharing()["original"]
    assert 5 < ductile.shown.ductility_capacity < 50


def test_what_needs_an_unknown_elongation_or_yield_is_not_stated():
    # AZ31 sheet: Smithells gives no elongation at the thickness; grey iron has no yield strength.
    for parent in ("AZ31-O-sheet", "EN-GJL-250"):
        for each in sharing(parent=parent).values():
            assert math.isnan(each.shown.efficiency)
            assert math.isnan(each.shown.useful_length)
            assert 1 < float(each.shown.peak_over_mean) < 10
    (first, _) = said(parent="EN-GJL-250")
    assert (first.id, first.level) == ("sharing_not_known", "info")
    assert "material: yield strength and elongation. Required" in words.sentence(first)


@pytest.mark.parametrize(
    ("parent", "lacking"),
    [
        ("ZK60A-T5-extrusion", "Poisson's ratio"),
        ("354.0-class-10", "Young's modulus and Poisson's ratio"),
        ("AM100A-T6-mould-cut", "Poisson's ratio and elongation"),
    ],
)
def test_without_an_elastic_constant_one_sentence_names_what_is_missing(parent, lacking):
    """Facts, passage, picture of the report, live pictures: no number, no empty axes, no error."""
    study = Study(cases.read({**NEEDED, "parent": parent}))
    (sentence,) = map(words.sentence, said(parent=parent))
    assert sentence == (
        f"The load sharing is not assessed; not known of the parent material: {lacking}."
    )
    assert escape.markdown(sentence) in review.sharing_passage(study).data
    assert review.sharing_figure(study).data == review.sharing_table(study).data == ""
    with pytest.raises(InputError, match=f"sharing: none. {sentence}"):
        study.plot.sharing()
    for name in ("section", "thread-loads"):
        picture = pictures.image(name, start(study.case))
        assert sentence.replace("'", "&#x27;") in picture
        assert "nan" not in picture


def test_what_the_table_of_sharing_has_stands_in_no_passage_again():
    """The figure is there to be named before the table is; a ductile parent is told of in words."""
    study = Study(cases.read({**NEEDED, "parent": "6061-T6"}))
    told = review.sharing_passage(study).data
    assert "ductile enough" in told and not any(each.isdigit() for each in told)
    table, figure = review.sharing_table(study), review.sharing_figure(study)
    assert not table.lead and f"@fig:{figure.label}" in figure.lead
    assert f"@tbl:{table.label}" in figure.lead


def test_a_brittle_parent_cannot_use_a_long_thread():
    long = {"engagement": "2 D", "insert_length": "2 D", "parent": "EN-GJS-600-3"}
    case = cases.read({**NEEDED, **long})
    found = evaluation.evaluate(case)
    told = [each.id for each in found.facts if each.level == "caution"]
    assert told.count("sharing_too_brittle") == told.count("useful_length_exceeded") == 2
    for each in joint_sharing(found).values():
        assert each.shown.useful_length < each.engagement
        assert each.shown.efficiency < 0.6


def test_a_ductile_parent_raises_no_caution():
    assert said(boss_support="base") == ()


def test_results_hold_the_sharing_and_null_for_what_is_not_known():
    document = results.results(cases.read({**NEEDED, "parent": "EN-GJL-250"}), with_chances=False)
    state = document["sharing"]["repaired"]
    assert 0 < state["first_thread_share"] < 1
    assert state["ductility_demand"] > 1
    assert state["efficiency"] is None
    assert set(state["sliding_coil"]) == {"compression", "tension"}
    for boundary, sliding in state["sliding_coil"].items():
        assert sliding["peak_over_mean"] < state["boundaries"][boundary]["peak_over_mean"]
    assert state["boss_assumed"] is True


@pytest.mark.parametrize("screw", ["8.8", "A2-70", "S66286"])
@pytest.mark.parametrize("wire", ["S30200", "S30200-200-ksi"])
def test_every_usable_screw_and_wire_has_elastic_constants(screw, wire):
    joint = cases.joint(cases.read({**NEEDED, "screw": screw, "insert_wire": wire}))
    for material in (joint.screw.family, joint.wire.id):
        found = elastic_constants(material)
        assert 100e3 < found.modulus < 220e3
        assert found.reference.how_known


def test_sources_of_the_moduli_stand_in_the_ledger():
    found = evaluation.evaluate(cases.read(NEEDED))
    assert {"vdi-2230-1", "load-sharing-model"} <= {r.source for r in found.references}
    wire = elastic_constants(found.joint.wire.id).reference
    assert [wire in each.references for each in sharing().values()] == [False, True]
