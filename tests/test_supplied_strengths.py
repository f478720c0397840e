"""Strengths that the engineer supplies: at a temperature, on a basis, for the case's own parent."""

import math
from dataclasses import replace

import numpy as np
import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import materials, words
from thread_repair.errors import InputErrors
from thread_repair.joint.casting import casting_loss, weakened
from thread_repair.report.blocks import inputs
from thread_repair.study import evaluation as evaluations
from thread_repair.study.chances import parent_scatter

KSI = 6.894757
NEEDED = {
    "thread": "M10",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "1.5 D",
    "insert_length": "1.5 D",
}
HOT_CAST = {
    "parent": "EN-AC-46000",
    "temperature": "120 degC",
    "parent_shear_strength": "110 MPa",
    "parent_tensile_strength": "190 MPa",
    "parent_strength_temperature": "120 degC",
    "parent_strength_basis": "minimum",
    "parent_source": "test report 31 (invented)",
}


def read(**changes):
    return cases.read({**NEEDED, **{k: str(v) for k, v in changes.items()}})


def joint(**changes):
    return cases.joint(read(**changes))


# ---- temperature


def test_values_measured_hot_make_a_joint_that_no_table_has():
    with pytest.raises(InputErrors, match="parent_strength_temperature"):
        joint(parent="EN-AC-46000", temperature="120 degC")
    found = evaluations.evaluate(read(**HOT_CAST))
    assert found.joint.parent_shear.value == 110
    assert found.joint.parent_tensile.value == 190
    assert found.joint.parent_yield is None
    assert found.original.mode("parent_thread_strip").stress == 110


def test_a_value_given_at_the_temperature_is_not_reduced_again():
    """138 MPa stays 138; what is not given follows the table: 42 ksi x 34/45 at 300 degF."""
    warm = (300 - 32) / 1.8
    given = {
        "parent_shear_strength": "138 MPa", "parent_source": "certificate 5 (invented)",
        "parent_strength_basis": "minimum",
    }  # fmt: skip
    hot = joint(temperature=f"{warm} degC", parent_strength_temperature=f"{warm} degC", **given)
    assert hot.parent_shear.value == 138
    assert hot.parent_tensile.value == pytest.approx(42 * KSI * 34 / 45)
    assert hot.parent_yield.value == pytest.approx(35 * KSI * 31 / 40)
    assert joint(
        temperature="150 degC", parent_strength_temperature="150 degC", **given
    ).parent_shear.value == 138  # fmt: skip
    # Given at room temperature, used hot: the table reduces it.
    cold = joint(temperature=f"{warm} degC", **given)
    assert cold.parent_shear.value == pytest.approx(138 * 34 / 45)


def test_a_value_given_hot_serves_down_to_room_temperature_and_no_higher():
    warm = {**HOT_CAST, "temperature": "80 degC"}
    assert joint(**warm).parent_shear.value == 110
    with pytest.raises(InputErrors, match=r"130 degC is outside 10 to 120 degC"):
        joint(**{**HOT_CAST, "temperature": "130 degC"})


def test_a_value_given_cold_says_nothing_where_the_joint_is_tightened():
    """Said was that the temperature, which was -40 degC, is 20 degC and outside -40 to -40."""
    cold = {**HOT_CAST, "parent_strength_temperature": "-40 degC"}
    for service in ("-40 degC", "20 degC", "-50 degC"):
        with pytest.raises(InputErrors) as refused:
            read(**{**cold, "temperature": service})
        (fault,) = refused.value.faults
        assert fault.startswith("parent_strength_temperature: -40 degC is colder than the 20 degC")
    read(**{**cold, "parent_strength_temperature": "10 degC", "temperature": "20 degC",
            "temperature_min": "-40 degC"})  # fmt: skip


def test_a_hot_tensile_strength_alone_gives_the_shear_strength():
    """Die castings: 186/324 of the tensile strength, 190 MPa: 109.07 MPa."""
    found = joint(**{k: v for k, v in HOT_CAST.items() if k != "parent_shear_strength"})
    assert found.parent_shear.value == pytest.approx(190 * 186 / 324)


def test_a_hot_shear_strength_alone_lacks_a_tensile_strength():
    with pytest.raises(InputErrors, match="parent_tensile_strength"):
        joint(**{k: v for k, v in HOT_CAST.items() if k != "parent_tensile_strength"})


def test_a_yield_strength_may_be_given():
    found = joint(**HOT_CAST, parent_yield_strength="95 MPa")
    assert found.parent_yield.value == 95
    assert found.parent_yield.references[0].how_known == "measured"
    with pytest.raises(InputErrors, match=r"parent_yield_strength.*above"):
        read(**HOT_CAST, parent_yield_strength="195 MPa")


def test_a_softer_part_does_not_keep_the_yield_strength_of_the_table():
    """35/42 of 200 MPa is 166.7 MPa; the table's 241.3 MPa would exceed the tensile strength."""
    found = joint(parent_tensile_strength="200 MPa", parent_source="hardness test (invented)")
    assert found.parent_yield.value == pytest.approx(200 * 35 / 42)
    assert found.parent_shear.value == pytest.approx(200 * 27 / 42)
    # A harder one is given no more yield strength than the table has.
    harder = joint(parent_tensile_strength="320 MPa", parent_source="hardness test (invented)")
    assert harder.parent_yield.value == pytest.approx(35 * KSI)


# ---- basis


MEAN = {
    "parent_shear_strength": "200 MPa",
    "parent_tensile_strength": "310 MPa",
    "parent_strength_basis": "mean",
    "parent_strength_pieces": "10",
    "parent_strength_scatter": "4 %",
    "parent_source": "test report 9 (invented)",
}


def test_a_mean_is_lowered_by_the_tolerance_factor():
    """95/95, 10 pieces: k = 2.911 (NBS Handbook 91, Table A-7); 200 (1 - 2.911 x 0.04) = 176.71."""
    found = joint(**MEAN)
    assert found.parent_shear.value == pytest.approx(200 * (1 - 2.911 * 0.04), abs=0.01)
    assert found.parent_tensile.value == pytest.approx(310 * (1 - 2.911 * 0.04), abs=0.02)
    assert found.parent_shear.start == 200
    (factor,) = found.parent_shear.named.values["factors"]
    assert (factor.id, factor.values["claim"]) == ("factor_tolerance_limit", "95/95")
    assert factor.values["pieces"].value == 10
    assert factor.values["value"].value == pytest.approx(1 - 2.911 * 0.04, abs=1e-4)
    assert found.parent_shear.named.values["base"].id == "mean_shear"
    # The chances are those of the population whose mean was found.
    parent = parent_scatter(read(**MEAN), found)
    assert parent.population.mean() == pytest.approx(200)
    assert parent.scatter == 0.04


@pytest.mark.parametrize("missing", ["parent_strength_pieces", "parent_strength_scatter"])
def test_a_mean_alone_is_refused_with_one_sentence(missing):
    with pytest.raises(InputErrors) as raised:
        read(**{k: v for k, v in MEAN.items() if k != missing})
    (fault,) = raised.value.faults
    assert fault.startswith("parent_strength_basis: ") and missing in fault


def test_too_few_pieces_leave_nothing_of_a_mean():
    """Two pieces: k = 26.260 (95/95); at 4 % the bound is below zero."""
    with pytest.raises(InputErrors, match="parent_strength_pieces: 2"):
        read(**{**MEAN, "parent_strength_pieces": 2})
    with pytest.raises(InputErrors, match="parent_strength_pieces: 1"):
        read(**{**MEAN, "parent_strength_pieces": 1})


@pytest.mark.parametrize("basis", ["minimum", "A", "B", "S", "characteristic"])
def test_other_bases_are_taken_as_they_are(basis):
    found = joint(**{**MEAN, "parent_strength_basis": basis})
    assert found.parent_shear.value == 200
    parent = parent_scatter(read(**{**MEAN, "parent_strength_basis": basis}), found)
    assert parent.basis == basis
    assert parent.scatter == 0.04 and not parent.assumed  # as stated, whatever the value is


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"parent_tensile_strength": "900 MPa"}, [("tensile", 572.264831, "7075-T6-typical")]),
        ({"parent_tensile_strength": "572.2648310000001 MPa"}, []),  # as strong
        (
            {"parent_shear_strength": "332 MPa", "parent_tensile_strength": "500 MPa"},
            [("shear", 330.948336, "7075-T6-typical")],
        ),
        ({"parent_shear_strength": "280 MPa"}, []),  # its table's is 186
    ],
)
def test_a_strength_above_all_of_its_kind_is_told(given, told):
    """900 typed for 290 made an aluminium three times as strong, and nothing was said."""
    found = tr.study(read(parent="6061-T6", parent_source="TR-7", **given)).facts
    above = [each for each in found if each.id == "parent_strength_above_all"]
    assert {each.level for each in above} <= {"caution"}
    assert [(x.values["strength"].id, x.values["row"]) for x in above] == [
        (a, c) for a, _, c in told
    ]
    assert [x.values["highest"].value for x in above] == pytest.approx([b for _, b, _ in told])


def test_typical_is_no_basis_and_keys_without_a_strength_are_refused():
    with pytest.raises(InputErrors, match="'typical' is not one of"):
        read(**{**MEAN, "parent_strength_basis": "typical"})
    with pytest.raises(InputErrors, match="parent_strength_temperature: given without"):
        read(parent_strength_temperature="120 degC")


def test_a_basis_that_is_not_stated_is_said_and_is_not_final():
    given = {k: v for k, v in MEAN.items() if "_strength_" not in k or k.endswith("_strength")}
    found = evaluations.evaluate(read(**given))
    assert found.joint.parent_shear.value == 200
    assert ("strengths_without_basis", "caution") in [(n.id, n.level) for n in found.facts]
    with pytest.raises(InputErrors, match="parent_strength_basis"):
        evaluations.evaluate(read(**given, status="final"))


# ---- one strength everywhere


def test_sweeps_take_the_case_s_own_strength_for_its_own_parent():
    case = read(**MEAN, boss_diameter="20 mm")
    own = evaluations.evaluate(case)
    for names in (["6061-T6"], ["6061_T651"], ["6061-T6", "7075-T651"]):
        table = evaluations.sweep(case, engagement=[15.0], parent=names)
        mine = (table["parent"] == names[0]) & (table["state"] == "original")
        assert table["pull_out_N"][mine][0] == pytest.approx(own.original.pull_out)
    bare = evaluations.sweep(read(boss_diameter="20 mm"), engagement=[15.0], parent="7075-T651")
    rows = table["parent"] == "7075-T651"
    assert np.array_equal(table["pull_out_N"][rows], bare["pull_out_N"])


# ---- factors shown, sources credited


def test_factors_stand_beside_the_value_they_start_from():
    """356.0-T6: 30 ksi x 0.60 x 0.8 x 32/33 at 212 degF."""
    found = joint(parent="356.0-T6-sand", casting_factor="0.8", temperature="100 degC")
    shear = found.parent_shear
    assert shear.start == pytest.approx(30 * KSI)
    assert list(shear.factors.values()) == pytest.approx([0.6, 0.8, 32 / 33])
    assert shear.value == pytest.approx(shear.start * math.prod(shear.factors.values()))
    table = "356.0-T6: tensile strength at temperature, long term"
    for each in (shear, found.parent_tensile):
        assert each.references[-1].what == table
    said = shear.named
    assert said.id == "strength_at_from_times" and said.values["base"].id == "tensile"
    assert said.values["start"].value == pytest.approx(30 * KSI)
    assert said.values["temperature"].value == 100
    assert [each.id for each in said.values["factors"]] == [
        "factor_shear_over_tensile",
        "factor_casting",
        "factor_temperature",
    ]
    plain = joint().parent_shear
    assert plain.start == plain.value and not plain.factors


def test_a_source_is_credited_with_what_it_prints():
    """MIL-HDBK-5J prints 27 and 42 ksi; 250 MPa x 27/42 is printed nowhere."""
    found = joint(parent_tensile_strength="250 MPa", parent_source="hardness test (invented)")
    first, second = found.parent_shear.references
    assert first.source == "engineer" and first.what == "6061-T6: tensile strength"
    assert second.source == "mil-hdbk-5j" and "over tensile" in second.what
    own = materials.shear_strength(found.parent)
    assert own.derived and own.ratio == pytest.approx(27 / 42)
    case = read(parent="6082-T6")
    derived, printed, yields = inputs.allowables_table(tr.study(case)).rows[:3]
    assert yields[0].startswith("Yield strength") and yields[1] == "250.0"
    assert (
        "6082-T6: tensile strength: EN 755-2" in derived[2] and "shear over tensile" in derived[2]
    )
    assert printed[2].startswith("EN 755-2")


# ---- castings


def losses(found):
    return [each for each in found.facts if each.id.startswith("cast_bar_counted")]


def loss_of(found):
    (said,) = losses(found)
    return said


def test_a_casting_without_a_factor_shows_what_the_printed_loss_would_do():
    """356.0-T6: bars 0.6 x 30 = 18 ksi, castings 14 ksi in shear (MIL-HDBK-5J 3.9.4.0(b))."""
    case = {"parent": "356.0-T6-sand", "engagement": "2 D", "insert_length": "2 D"}
    found = evaluations.evaluate(read(**case))
    weaker = evaluations.evaluate(read(**{**case, "casting_factor": "0.7777777778"}))
    said = loss_of(found)
    assert said.id == "cast_bar_counted_own"
    assert said.values["kept"].value == pytest.approx(14 / 18)
    for name, state in weaker.states.items():
        assert said.values[name].value == pytest.approx(state.pull_out)
        assert said.values[f"{name}_now"].value == found.states[name].pull_out
    assert "3.9.4.0(b)" in said.values["clause"]
    assert not losses(weaker)
    asked, counted = (
        {f.id for f in of.facts if f.id.startswith("casting_")} for of in (found, weaker)
    )
    assert (asked, counted) == ({"casting_separately_cast"}, {"casting_factor_counted"})


def test_every_strength_of_the_casting_is_lost():
    """356.0-T6: shear 14 of 18 ksi, tensile 22 of 30 ksi; the boss wall goes with the tensile."""
    whole = joint(parent="356.0-T6-sand", boss_diameter="14 mm")
    less = weakened(whole, casting_loss(whole.parent))
    for name, share in (("parent_shear", 14 / 18), ("parent_tensile", 22 / 30),
                        ("parent_yield", 22 / 30), ("flow_stress", 22 / 30)):  # fmt: skip
        assert getattr(less, name).value == pytest.approx(share * getattr(whole, name).value)
    # a wall that gives way in shear loses by the shear
    soft = replace(whole, parent_shear=replace(whole.parent_shear, value=50.0))
    wall = weakened(soft, casting_loss(whole.parent)).flow_stress
    assert wall.value == pytest.approx(math.sqrt(3) * 50 * 14 / 18)


def test_a_loss_that_changes_what_governs_is_a_limit():
    """M10 8.8 breaks at 46.4 kN: three diameters of 356.0-T6 hold it even when weakened.

    10.9 in two diameters strips the original hole anyway, the repaired one only when weakened.
    """
    for screw, length, level, turned in (
        ("8.8", "3 D", "caution", []), ("8.8", "2 D", "limit", ["original"]),
        ("10.9", "2 D", "limit", ["repaired"]),
    ):  # fmt: skip
        case = read(parent="356.0-T6-sand", screw=screw, engagement=length, insert_length=length)
        found = evaluations.evaluate(case)
        assert loss_of(found).level == level
        said = [each for each in found.facts if each.id == "cast_bar_changes_mode"]
        assert [each.values["condition"].id for each in said] == turned


def test_a_magnesium_casting_keeps_half():
    """AZ91C-T6: 17 ksi cut from castings for 234 MPa (34 ksi) of the bar."""
    found = evaluations.evaluate(read(parent="AZ91C-T6-sand", boss_diameter="30 mm"))
    weaker = found.original.pull_out * 17 * KSI / 234
    assert loss_of(found).values["original"].value == pytest.approx(weaker, rel=1e-3)
    # No row for this metal: the greatest loss that is printed serves as an example.
    other = evaluations.evaluate(read(parent="ZP5"))
    said = loss_of(other)
    assert said.id == "cast_bar_counted_other_metal"
    bars = {each.family for each in materials.parents() if each.cut_from_casting}
    assert bars == {"cast aluminium", "cast magnesium"}  # as the sentence says
    for metal in ("EN-GJL-250", "CC483K-GS", "ZP5"):
        told = words.sentence(loss_of(evaluations.evaluate(read(parent=metal))))
        assert "of aluminium and magnesium castings" in told and "not how large it is in" in told
    weaker = other.original.pull_out * 17 * KSI / 234
    assert said.values["original"].value == pytest.approx(weaker, rel=1e-3)


def test_wrought_metal_and_supplied_strengths_have_no_such_notice():
    supplied = {**HOT_CAST, "temperature": "20 degC", "parent_strength_temperature": "20 degC"}
    for changes in ({}, supplied, {"parent": "A356.0-class-11"}):
        found = evaluations.evaluate(read(**changes))
        assert not losses(found)
    own = evaluations.evaluate(read(parent_tensile_strength="250 MPa", parent_source="invented"))
    assert not [each.id for each in own.facts if each.id.startswith("casting_")]


# ---- size of the product


def test_a_part_thicker_than_the_product_of_the_row_is_said():
    """7075-T651 plate 0.500 to 1.000 in, 25.4 mm; the row of 2.501 to 3.000 in has 42 ksi."""

    def said(**changes):
        found = evaluations.evaluate(read(engagement="1 D", **changes))
        return any(each.id == "part_thicker_than_product" for each in found.facts)

    assert said(parent="7075-T651", part_thickness="40 mm")
    assert said(parent="7075-T651", hole_kind="blind", hole_depth="60 mm")
    blind = {"hole_kind": "blind", "hole_depth": "25 mm"}
    assert said(parent="7075-T651", part_thickness="60 mm", **blind)
    assert not said(parent="7075-T651", **blind)
    assert not said(parent="7075-T651", part_thickness="1 in")
    assert not said(parent="7075-T651-plate-3in", part_thickness="70 mm")
    assert not said(parent="AZ91D", part_thickness="70 mm")


def test_a_yield_strength_may_reach_the_tensile_strength():
    """290 and 290 MPa are no contradiction; 291 are."""
    given = {
        **NEEDED, "parent_tensile_strength": "290 MPa", "parent_source": "test 1",
        "parent_strength_basis": "minimum",
    }  # fmt: skip
    found = cases.joint(cases.read({**given, "parent_yield_strength": "290 MPa"}))
    assert found.parent_yield is not None
    assert found.parent_yield.value == found.parent_tensile.value == 290
    with pytest.raises(InputErrors):
        cases.read({**given, "parent_yield_strength": "291 MPa"})
