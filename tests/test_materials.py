import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import thread_repair as tr
from thread_repair import materials, tables, threads
from thread_repair.errors import DataError, InputError, UnknownNameError, ValidityError
from thread_repair.materials import (
    at_temperature,
    finish,
    names,
    parent,
    parents,
    screw,
    screws,
    shear_ratio,
    shear_ratios,
    shear_strength,
    wire,
    wire_shear_strength,
    with_measured,
)
from thread_repair.materials.temperature import strength_table
from thread_repair.materials.values import convert, folded, index, made_of
from thread_repair.report.blocks import review

KSI = 6.894757
SPECIMENS = (
    "separately cast", "designated areas", "non-designated areas", "cut from castings", "supplied",
)  # fmt: skip
PARENT_IDS = names("parent")
REQUIRED = {
    "6061-T6",
    "6061-T6-extruded",
    "6082-T6",
    "7075-T651",
    "2024-T351",
    "EN-AC-42100-T6",
    "EN-AC-46000",
    "AZ91D",
    "ZP5",
}


def test_units():
    assert convert("1", "ksi") == pytest.approx(4.4482216152605 / 25.4**2 * 1000, rel=1e-7)
    assert convert("1", "Msi") == pytest.approx(1000 * convert("1", "ksi"))
    assert convert("13.1", "1e-6/degF") == pytest.approx(23.58e-6)
    assert convert("", "ksi") != convert("", "ksi")
    with pytest.raises(KeyError, match="stone"):
        convert("1", "stone")


# ---- names


def test_every_parent_has_a_tensile_strength_and_the_least_torque_factor_exceeds_every_thread():
    """What is then asked of no case: a strength to scale by, a friction above nothing."""
    assert all(each.tensile > 0 for each in materials.parents())
    least = min(
        float(row["low"]) for row in tables.rows("friction.csv") if row["quantity"] == "nut_factor"
    )
    assert least > 2 * max(each.pitch / (2 * math.pi * each.major) for each in threads.known())


def test_catalogue():
    assert len(parents()) >= 35
    assert set(PARENT_IDS) >= REQUIRED
    assert all(" " not in name for name in PARENT_IDS)
    groups = {each.group for each in parents()}
    assert groups == {
        "wrought aluminium",
        "cast aluminium",
        "magnesium",
        "zinc",
        "copper alloy",
        "grey iron",
        "ductile iron",
    }
    assert len({folded(name) for name in PARENT_IDS}) == len(PARENT_IDS)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("EN AC-42100-T6", "EN-AC-42100-T6"),
        ("en ac 42100 t6", "EN-AC-42100-T6"),
        ("6061 t6", "6061-T6"),
        ("6061_T651", "6061-T6"),
        ("EN AW-6082-T6", "6082-T6"),
        ("az91d", "AZ91D"),
        ("EN–AC–46000", "EN-AC-46000"),
        ("356.0 T6 sand", "356.0-T6-sand"),
    ],
)
def test_names_fold(written, meant):
    assert parent(written).id == meant


def test_unknown_names_offer_the_nearest():
    with pytest.raises(UnknownNameError, match="unknown parent '6061-T7'; did you mean '6061-T6'"):
        parent("6061-T7")
    with pytest.raises(UnknownNameError, match=r"did you mean '8\.8'"):
        screw("8.9", 8)
    with pytest.raises(UnknownNameError, match="unknown wire"):
        wire("wool")
    with pytest.raises(UnknownNameError, match="did you mean 'silver'"):
        finish("silvr")
    with pytest.raises(UnknownNameError, match="kind"):
        names("nut")


def test_one_name_never_means_two_things():
    with pytest.raises(DataError, match="two things"):
        index([("a-b", "first"), ("c;A B", "second")])


def test_ids_of_every_kind_are_found():
    for each in parents():
        assert parent(each.id) is each
    assert names("screw")[:2] == ("4.6", "4.8")
    for each in screws():
        size = each.size_to if each.size_to == each.size_to else 6.0
        assert screw(each.id, size) is each
    for name in names("wire"):
        assert wire(name).id == name
    for name in names("finish"):
        assert finish(name).id == name


# ---- parents


def test_every_parent_makes_sense(every):
    @every(PARENT_IDS)
    def _(name):
        found = parent(name)
        assert found.basis in {
            "A",
            "B",
            "S",
            "minimum",
            "typical",
            "characteristic",
            "informative",
        }
        assert 100 < found.tensile < 800
        if not math.isnan(found.yield_):
            assert 0.3 < found.yield_ / found.tensile < 0.95
        strength = shear_strength(found)
        # Rolled AZ31B: 18 over 40 ksi is the lowest ratio of all.
        assert 0.45 <= strength.value / found.tensile < 1.2
        if found.group not in {"grey iron", "ductile iron"}:
            assert strength.value / found.tensile < 0.9
        modulus = {"wrought aluminium": 70, "cast aluminium": 72, "magnesium": 45, "zinc": 96}
        if found.group in modulus and not math.isnan(found.elastic_modulus):
            assert found.elastic_modulus == pytest.approx(1000 * modulus[found.group], rel=0.08)
        if not math.isnan(found.expansion):
            assert 11e-6 < found.expansion < 28e-6
        if not math.isnan(found.poisson):
            assert 0.2 < found.poisson < 0.4
        assert found.casting == (found.specimen in SPECIMENS)
        assert {each.reference for each in found.values} <= {*found.references}


def test_values_of_one_parent_have_their_own_sources():
    plate = parent("6061-T6")
    assert plate.tensile == pytest.approx(289.6, abs=0.05)
    assert plate.shear == pytest.approx(186.2, abs=0.05)
    assert plate.reference("expansion").how_known == "memory"
    assert plate.reference("shear").how_known == "read"
    assert plate.reference("shear").clause == "Table 3.6.2.0(b2), p. 3-265"
    assert plate.thickness_to == pytest.approx(50.8)
    with pytest.raises(UnknownNameError, match="unknown property of parent 6061-T6 'sheer'"):
        plate.reference("sheer")


def test_tabled_shear_strength_is_used_as_it_is():
    strength = shear_strength(parent("6061-T6"))
    assert strength.value == pytest.approx(27 * KSI)
    assert [each.how_known for each in strength.references] == ["read"]
    assert not strength.derived


def test_derived_shear_strength_names_both_references():
    strength = shear_strength(parent("6082-T6"))
    assert strength.derived
    assert strength.value == pytest.approx(295 * 17 / 27)
    assert [each.source for each in strength.references] == [
        "en-755-2",
        "handbook-materials-selection",
    ]
    assert [each.source for each in strength.references if not each.confirmed] == ["en-755-2"]


def test_the_lowest_ratio_of_a_family_is_used_and_all_are_kept():
    for family in {each.family for each in parents()}:
        known = shear_ratios(family)
        assert shear_ratio(family).ratio == min(each.ratio for each in known)
    aluminium = shear_ratios("6xxx wrought aluminium")
    assert {each.reference.source for each in aluminium} >= {"vdi-2230-1", "mil-hdbk-5j"}
    assert shear_ratio("6xxx wrought aluminium").ratio < 0.70
    # Of equal ratios the one known more surely is named.
    assert shear_ratio("cast aluminium").reference.how_known == "read"
    with pytest.raises(UnknownNameError, match="family"):
        shear_ratio("wood")


def test_a_value_made_of_others_is_as_sure_as_the_least_sure():
    plate = parent("6061-T6")
    sure, unsure = plate.reference("shear"), plate.reference("expansion")
    assert made_of([sure, unsure], "both").how_known == unsure.how_known == "memory"
    assert made_of([sure, sure], "both").how_known == "derived"


def test_castings_name_their_specimen_and_take_a_factor():
    cast = parent("EN-AC-42100-T6")
    whole = shear_strength(cast)
    assert cast.specimen == "separately cast"
    for strength, said in (
        ("tensile", "supplied"),
        ("shear", "supplied"),
        ("yield_", "separately cast"),
    ):
        assert with_measured(cast, document="test", **{strength: 150.0}).specimen == said
    assert parent("A356.0-class-1").specimen == "designated areas"
    assert parent("A356.0-class-10").specimen == "non-designated areas"
    part = shear_strength(cast, casting_factor=[0.5, 1.0])
    assert part.value == pytest.approx(np.array([0.5, 1.0]) * whole.value)
    assert isinstance(whole.value, float)
    for wrong in (0, -0.5, 1.2):
        with pytest.raises(InputError, match="casting_factor"):
            shear_strength(cast, casting_factor=wrong)
    with pytest.raises(InputError, match="castings only"):
        shear_strength(parent("6061-T6"), casting_factor=0.8)


def test_measured_strengths_replace_tabled_ones():
    found = with_measured(parent("6061-T6"), shear=170.0, document="test report 12")
    strength = shear_strength(found)
    assert strength.value == 170
    assert strength.references[0].how_known == "measured"
    assert strength.references[0].clause == "test report 12"
    assert found.tensile == parent("6061-T6").tensile
    # A softer part does not keep the shear strength of the table.
    soft = with_measured(parent("6061-T6"), tensile=250.0, document="hardness test")
    assert soft.basis == "measured"
    assert shear_strength(soft).value == pytest.approx(250 * 27 / 42)
    by_ratio = shear_strength(with_measured(parent("6082-T6"), tensile=250.0, document="test"))
    assert by_ratio.derived and by_ratio.value == pytest.approx(250 * 17 / 27)
    with pytest.raises(InputError, match="parent_source"):
        with_measured(parent("6061-T6"), shear=170.0, document=" ")
    with pytest.raises(InputError, match="parent_shear_strength must be above zero"):
        with_measured(parent("6061-T6"), shear=-1.0, document="test")
    with pytest.raises(InputError, match="give parent_shear_strength"):
        with_measured(parent("6061-T6"), document="test")


# ---- screws


def test_sizes_outside_the_document_are_refused():
    with pytest.raises(ValidityError, match=r"screw A2-70: .* at a diameter of 30 mm, .* 24 mm"):
        screw("A2-70", 30)
    with pytest.raises(ValidityError, match=r"screw 9\.8"):
        screw("9.8", 20)
    with pytest.raises(ValidityError, match=r"from 6\.35 to 38\.1 mm; .* there: 8\.8 or A2-80$"):
        screw("J429-5", 5)
    with pytest.raises(InputError, match="diameter must be above zero"):
        screw("8.8", 0)


def test_strength_follows_the_size():
    assert screw("8.8", 16).key == "8.8-to-16"
    assert screw("8.8", 16.5).tensile_min == 830
    assert screw("A574", 12.7).tensile_min == pytest.approx(180 * KSI)
    assert screw("A574", 14).tensile_min == pytest.approx(170 * KSI)
    assert screw("J429-5", 0.75 * 25.4).tensile_min == pytest.approx(120 * KSI)
    assert screw("grade 2", 0.75 * 25.4).yield_ == pytest.approx(57 * KSI)


def test_screw_names_fold():
    assert screw("a2 70", 8).id == "A2-70"
    assert screw("SAE J429 grade 8", 8).id == "J429-8"
    assert screw("180 KSI", 8).id == "180-ksi"
    assert screw("class 10.9", 8).id == "10.9"


def test_highest_strength_without_a_table_is_marked():
    found = screw("A2-70", 8)
    assert found.tensile_max == pytest.approx(1.2 * 700)
    assert found.reference("tensile_max").source == "vdi-2230-1"
    assert found.reference("tensile_max").how_known == "memory"


def test_screws_make_sense():
    for each in screws():
        assert each.tensile_min < each.tensile_max <= 1.95 * each.tensile_min
        assert 0.55 < each.shear_over_tensile < 0.7
        if not math.isnan(each.yield_):
            assert each.yield_ < each.tensile_min
        if not math.isnan(each.proof):
            assert each.proof < each.yield_
    assert screw("160-ksi", 8).shear_over_tensile == pytest.approx(96 / 160)
    assert math.isnan(screw("160-ksi", 8).yield_)


# ---- wires and finishes


def test_wire_without_a_strength_is_refused():
    assert math.isnan(wire("N07750").tensile)
    with pytest.raises(ValidityError, match="wire N07750: no source at hand"):
        wire_shear_strength(wire("N07750"))
    strength = wire_shear_strength(wire("18-8"))
    assert strength.value == pytest.approx(1035 / math.sqrt(3), rel=1e-5)
    assert len(strength.references) == 2
    assert wire("18-8") is wire("S30200")


def test_finish_limits():
    """AC 43.13-1B chapter 7, read: cadmium 450 degF, silver 1400 degF, said of nuts."""
    assert finish("cadmium").temperature_limit == pytest.approx(232.2, abs=0.05)
    assert finish("silver").temperature_limit == 760
    assert finish("cadmium").reference("temperature_limit").how_known == "read"
    assert math.isnan(finish("plain").temperature_limit)
    assert finish("Cd") is finish("cadmium")


def test_galvanic_groups():
    """Five-group rule of Airframe Structural Design (1988), read on a university page."""
    assert [parent(name).galvanic_group for name in ("AZ91D", "6061-T6", "EN-GJL-250")] == [1, 2, 3]
    assert parent("CW614N-R430").galvanic_group == 4
    assert {wire(name).galvanic_group for name in names("wire")} == {4}
    assert finish("cadmium").galvanic_group == finish("zinc").galvanic_group == 2
    assert math.isnan(finish("silver").galvanic_group)
    assert "room temperature" in parent("ZP5").creep_note
    assert parent("6061-T6").creep_note == ""


# ---- temperature


def test_every_parent_keeps_its_strength_at_20_degrees(every):
    @every([(name, exposure) for name in PARENT_IDS for exposure in ("long", "short")])
    def _(name, exposure):
        found = parent(name)
        cold = at_temperature(found, 20, exposure=exposure)
        assert cold.heat["shear"].factor == 1
        assert cold.tensile == found.tensile
        assert cold.shear == shear_strength(found).value
        assert cold.yield_ == found.yield_ or math.isnan(found.yield_)
        assert isinstance(cold.shear, float)


def test_printed_temperatures_give_printed_factors():
    plate = parent("6061-T6")
    fahrenheit = np.array([75, 212, 300, 400, 500])
    hot = at_temperature(plate, (fahrenheit - 32) / 1.8, exposure="long")
    assert hot.heat["shear"].factor == pytest.approx(np.array([45, 42, 34, 19, 7.5]) / 45)
    fire = at_temperature(plate, [20, 100, 150, 200, 250], exposure="short")
    assert fire.heat["shear"].factor == pytest.approx(np.array([1, 0.95, 0.91, 0.79, 0.55]))
    between = at_temperature(plate, 125, exposure="short")
    assert between.heat["shear"].factor == pytest.approx(0.93)


def test_long_and_short_term_are_never_mixed():
    bar = parent("6082-T6")
    assert at_temperature(bar, 100, exposure="short").heat["shear"].factor == pytest.approx(0.90)
    with pytest.raises(
        ValidityError, match=r"no long-term table for 6082-T6 \(its short-term table"
    ):
        at_temperature(bar, 100, exposure="long")
    with pytest.raises(ValidityError, match="no short-term table for 7075-T651"):
        at_temperature(parent("7075-T651"), 100, exposure="short")
    with pytest.raises(UnknownNameError, match="exposure"):
        at_temperature(bar, 100, exposure="medium")
    plate = parent("6061-T6")
    long, short = (at_temperature(plate, 200, exposure=each) for each in ("long", "short"))
    assert long.shear < short.shear
    places = [each.heat["shear"].references[-1].source for each in (long, short)]
    assert places[0] != places[1]


def test_outside_the_table_is_refused():
    plate = parent("6061-T6")
    with pytest.raises(ValidityError, match=r"temperature: 300 degC is outside 10 to 260 degC"):
        at_temperature(plate, [20, 300])
    with pytest.raises(ValidityError, match=r"-55 degC .* temperature_min"):
        at_temperature(plate, -55)
    with pytest.raises(ValidityError, match="no long-term table for ZP5; give"):
        at_temperature(parent("ZP5"), 36)
    with pytest.raises(InputError, match="temperature must be a number"):
        at_temperature(plate, float("nan"))
    assert at_temperature(parent("ZP5"), [10, 35]).heat["shear"].factor == pytest.approx([1, 1])
    with pytest.raises(ValidityError, match="351 degC is outside 10 to 350 degC"):
        at_temperature(plate, [10, 350, 351], exposure="short")


def test_yield_strength_follows_its_own_table():
    plate = parent("6061-T6")
    assert at_temperature(plate, 100).yield_ == pytest.approx(38 / 40 * 35 * KSI)
    fire = at_temperature(plate, 100, exposure="short")
    assert fire.yield_ == pytest.approx(0.95 * 35 * KSI)
    # No table of yield strength: no value, rather than that of the tensile strength.
    assert math.isnan(at_temperature(parent("356.0-T6-sand"), 100).yield_)
    (place,) = at_temperature(plate, 100).heat["tensile"].references
    assert place.what == "6061-T6: tensile strength at temperature, long term"


def test_strengths_measured_hot_are_taken_as_they_are():
    hot = with_measured(
        parent("ZP5"), tensile=250.0, shear=180.0, document="hot tests", temperature=80.0
    )
    found = at_temperature(hot, [20, 60, 80])
    assert found.shear == pytest.approx([180, 180, 180])
    assert found.tensile == pytest.approx([250, 250, 250])
    # The tabled yield strength is one of room temperature; 295 MPa x 250/331 is left of it there.
    assert found.yield_[0] == pytest.approx(295 * 250 / 331)
    assert np.all(np.isnan(found.yield_[1:]))
    with pytest.raises(ValidityError, match="strengths given were measured at 80 degC"):
        at_temperature(hot, 90)
    # Measured cold, used hot: the table applies.
    cold = with_measured(parent("6061-T6"), tensile=280.0, shear=180.0, document="tests")
    assert at_temperature(cold, 100).shear == pytest.approx(180 * 42 / 45)
    alone = with_measured(parent("ZP5"), shear=180.0, document="hot tests", temperature=80.0)
    with pytest.raises(ValidityError, match="no long-term table for ZP5"):
        at_temperature(alone, 80)


def test_temperature_and_casting_factor_broadcast():
    cast = parent("356.0-T6-sand")
    hot = at_temperature(cast, [[20], [100], [200]], casting_factor=[0.8, 1.0])
    assert np.shape(hot.shear) == (3, 2)
    assert hot.shear[0, 0] == pytest.approx(0.8 * shear_strength(cast).value)
    assert hot.tensile[0, 0] == pytest.approx(0.8 * cast.tensile)
    assert hot.yield_[0, 0] == pytest.approx(0.8 * cast.yield_)
    one = at_temperature(cast, 200, casting_factor=0.8)
    assert hot.shear[2, 0] == pytest.approx(one.shear)


@given(
    name=st.sampled_from([each.id for each in parents() if each.temperature_table]),
    exposure=st.sampled_from(["long", "short"]),
    low=st.floats(0, 1),
    high=st.floats(0, 1),
)
@settings(max_examples=60, deadline=None)
def test_hotter_is_never_stronger(name, exposure, low, high):
    found = parent(name)
    table = strength_table(found, exposure)
    hottest = 35 if table is None else table.temperatures[-1]
    cool, warm = (10 + each * (hottest - 10) for each in sorted((low, high)))
    strengths = at_temperature(found, [cool, warm], exposure=exposure).shear
    assert strengths[0] >= strengths[1] > 0


def test_every_temperature_table_serves_a_parent():
    from thread_repair.materials.temperature import strength_tables

    named = {each.temperature_table for each in parents()} - {""}
    assert named == {material for material, _, _ in strength_tables()}
    for (material, exposure, _), table in strength_tables().items():
        user = next(each for each in parents() if each.temperature_table == material)
        governing = strength_table(user, exposure)
        assert governing is not None
        # The tables of one alloy and exposure end at the same temperature.
        assert np.array_equal(table.temperatures, governing.temperatures)


def test_public_names_are_those_listed():
    assert all(hasattr(materials, name) for name in materials.__all__)


@pytest.mark.parametrize(
    ("name", "solid", "molten"), [("ZP5", 380, 381), ("A380.0-die-cast", 576, 577)]
)
def test_no_strength_holds_for_a_metal_that_melts(name, solid, molten):
    """Zinc and aluminium begin to melt together at 381 degC, aluminium and silicon at 577."""
    for measured, at, key in (
        (molten, molten, "temperature"), (molten, 100, "parent_strength_temperature"),
    ):  # fmt: skip
        hot = with_measured(parent(name), document="x", shear=90, temperature=measured)
        with pytest.raises(ValidityError, match=f"^{key}: {molten} degC is not below {molten}"):
            at_temperature(hot, at)
    stated = {"document": "x", "shear": 90, "tensile": 150, "temperature": solid}
    assert at_temperature(with_measured(parent(name), **stated), solid).shear == 90


def test_what_a_document_gives_is_said_in_words_without_names_of_our_own():
    """Not "8.8-to-16: tensile max": ids of rows and rules are of no document."""
    study = tr.study(tr.load("reports/demo-rig-plate"))
    told = {each.what for each in review.references(study)}
    assert {"screw 8.8: maximum tensile strength", "6061-T6: Poisson's ratio"} <= told
    assert {"usual order of repairs", "load sharing", "tensile strength of 6061-T6"} <= told
    ours = re.compile(r"\d-to-\d|bush-|three-trade|: (tensile|shear|yield)$|\b\d{4}-t\d")
    assert [each for each in told if ours.search(each)] == []
