"""Insert holes, the fitted insert, depths and set-down."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thread_repair import case as cases
from thread_repair import inserts, joint
from thread_repair.errors import InputError, UnknownNameError
from thread_repair.joint.sizes import sizes
from thread_repair.threads import Thread, external_limits, internal_limits, thread

M8 = {
    "thread": "M8x1.25", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
    "insert_length": "1.5 D",
}  # fmt: skip
METRIC = st.sampled_from(["M3x0.5", "M5x0.8", "M6x1", "M8x1.25", "M10x1.5", "M12x1.75", "M20x2.5"])


def whitworth() -> Thread:
    return Thread(
        designation="1/4 BSW",
        series="BSW",
        system="whitworth",
        major=6.35,
        pitch=1.27,
        flank_angle=55.0,
    )


@given(METRIC)
@settings(deadline=None, max_examples=20)
def test_hole_is_the_ordinary_profile_on_the_enlarged_diameter(name):
    # Fundamental triangle H = sqrt(3)/2 P; ordinary depths 3/4 H (pitch) and 5/4 H (minor).
    screw = thread(name)
    height = math.sqrt(3) / 2 * screw.pitch
    basic = inserts.enlarged_diameters(screw)
    assert basic.major == pytest.approx(screw.major + 1.5 * height, abs=1e-12)
    assert basic.pitch == pytest.approx(basic.major - 0.75 * height, abs=1e-12)
    assert basic.minor == pytest.approx(basic.major - 1.25 * height, abs=1e-12)


def test_minor_diameter_of_the_hole_touches_the_sharp_crest_of_the_screw():
    # A second derivation of the same size for 60 degrees: the screw's crest is cut H/8 below its
    # sharp edge, and the hole's least minor diameter lies just on that edge.
    screw = thread("M8x1.25")
    sharp = screw.major + 2 * math.sqrt(3) / 2 * screw.pitch / 8
    assert inserts.enlarged_diameters(screw).minor == pytest.approx(sharp)


@pytest.mark.parametrize("screw", [thread("M8x1.25"), whitworth()], ids=["60", "55"])
def test_neighbouring_coils_leave_an_eighth_of_the_pitch(screw):
    # Both flanks of the wire, from half a pitch at either pitch line to the widest point midway.
    ratio = math.sqrt(3) / 2 if screw.system == "metric" else 0.960491
    depth = 3 / 4 if screw.system == "metric" else 2 / 3
    height = ratio * screw.pitch
    between = (inserts.enlarged_diameters(screw).pitch - (screw.major - depth * height)) / 2
    slope = math.tan(math.radians(screw.flank_angle / 2))
    assert screw.pitch / 2 + between * slope == pytest.approx(7 / 8 * screw.pitch, rel=1e-5)


def test_whitworth_hole_has_the_whitworth_depth():
    basic = inserts.enlarged_diameters(whitworth())
    # h = 0.640327 p (31st handbook p. 2087, Table 2)
    assert basic.major - basic.pitch == pytest.approx(0.640327 * 1.27, abs=2e-6)
    assert basic.pitch - basic.minor == pytest.approx(0.640327 * 1.27, abs=2e-6)


@given(METRIC, st.sampled_from(["4H", "5H", "6H", "7H"]))
@settings(deadline=None, max_examples=20)
def test_tolerance_is_that_of_the_nominal_thread(name, hole_class):
    screw = thread(name)
    hole = inserts.insert_hole(screw, hole_class)
    plain = internal_limits(screw, hole_class)
    assert hole.pitch_max - hole.pitch_min == pytest.approx(plain.pitch_max - plain.pitch_min)
    assert hole.minor_max - hole.minor_min == pytest.approx(plain.minor_max - plain.minor_min)
    assert hole.major_min > hole.pitch_max > hole.pitch_min > hole.minor_max > hole.minor_min


def test_the_enlarged_diameter_changes_the_tolerance_of_m10():
    screw = thread("M10x1.5")
    nominal = inserts.insert_hole(screw, "6H")
    enlarged = inserts.insert_hole(screw, "6H", tolerance_at="enlarged")
    assert nominal.pitch_max - nominal.pitch_min == pytest.approx(0.180)
    assert enlarged.pitch_max - enlarged.pitch_min == pytest.approx(0.190)


def test_tolerance_at_unknown_place_is_refused():
    with pytest.raises(UnknownNameError, match="did you mean 'nominal'"):
        inserts.insert_hole(thread("M8"), "6H", tolerance_at="nominl")


def test_outside_lies_below_basic_as_the_screw_does():
    screw = thread("M8x1.25")
    limits = external_limits(screw, "6g")
    outside = inserts.insert_outside(screw, "6g")
    assert outside.basic == pytest.approx(9.624)
    assert 9.624 - outside.minimum == pytest.approx(8 - limits.major_min)
    assert 9.624 - outside.maximum == pytest.approx(8 - limits.major_max)
    described = cases.joint(cases.read(M8))
    at = {
        each: sizes(described, "repaired", position=each).crest
        for each in ("minimum-material", "mean", "basic")
    }
    assert at["minimum-material"] == outside.minimum
    assert at["mean"] == pytest.approx((outside.minimum + outside.maximum) / 2)
    assert at["basic"] == pytest.approx(outside.basic, abs=5e-4)


def test_effect_of_the_assumption_is_the_ratio_of_strip_areas():
    screw = thread("M8x1.25")
    outside = inserts.insert_outside(screw, "6g")
    pitch_max = inserts.insert_hole(screw, "6H").pitch_max

    def area(crest):  # per length, FED-STD-H28/2B Appendix B
        return math.pi * crest / 1.25 * (0.625 + 0.57735 * (crest - pitch_max))

    gain = area(outside.basic) / area(outside.minimum) - 1
    evaluation = joint.evaluate(cases.joint(cases.read(M8)))
    (told,) = (each for each in evaluation.facts if each.id == "insert_outside_assumed")
    assert told.values["gain"].value == pytest.approx(gain, rel=1e-5)


@pytest.mark.parametrize(
    ("name", "hole_class", "inside"),
    [("M8", "6H", "6H"), ("M8", "5H", "5H"), ("M8", "4H", "4H5H")],
)
def test_fitted_class(name, hole_class, inside):
    assert inserts.fitted_class(thread(name), hole_class) == inside


@pytest.mark.parametrize(
    ("name", "hole_class", "minor_max", "pitch_max"),
    [
        # Basic 0.2608 and 0.2825 in; 1/4-20 tolerances of ASME B1.1 as printed for the ordinary
        # hole (2B: minor 0.196 to 0.207, pitch 0.2175 to 0.2224; 3B: pitch to 0.2211), the minor
        # one unrounded: 0.25 p - 0.40 p2 = 0.0115 in; 3B 0.23 p - 1.5 p2, at least 0.0108 in.
        ("1/4-20 UNC", "2B", 0.2723, 0.2874),
        ("1/4-20 UNC", "3B", 0.2716, 0.2861),
    ],
)
def test_unified_limits_are_printed_to_four_places(name, hole_class, minor_max, pitch_max):
    hole = inserts.insert_hole(thread(name), hole_class)
    assert hole.minor_max / 25.4 == pytest.approx(minor_max, abs=1e-6)
    assert hole.pitch_max / 25.4 == pytest.approx(pitch_max, abs=1e-6)


@pytest.mark.parametrize("name", ["1/4-20 UNC", "3/8 BSF", "M12"])
def test_inch_and_whitworth_outsides_lie_in_the_hole(name):
    screw = thread(name)
    screw_class = {"metric": "6g", "unified": "2A", "whitworth": "medium"}[screw.system]
    outside = inserts.insert_outside(screw, screw_class)
    hole = inserts.insert_hole(screw, inserts.CLOSER_CLASS[screw.system])
    assert hole.pitch_max < outside.minimum < outside.maximum <= outside.basic
    assert outside.basic == hole.major_min


def test_depths_take_arrays():
    screw = thread("M10x1.5")
    lengths = np.array([[10.0, 15.0], [20.0, 30.0]])
    least, most = inserts.fitted_length(screw, lengths)
    assert least.shape == most.shape == (2, 2)
    for i, j in np.ndindex(2, 2):
        one = float(lengths[i, j])
        assert inserts.fitted_length(screw, one) == (least[i, j], most[i, j])
        assert inserts.full_thread_min(screw, lengths)[i, j] == inserts.full_thread_min(screw, one)
        assert inserts.drill_depth(screw, lengths, "plug")[i, j] == inserts.drill_depth(
            screw, one, "plug"
        )
    assert isinstance(inserts.full_thread_min(screw, 15.0), float)
    assert inserts.fitted_length(screw, 0.5) == (0.0, 0.0)  # less than is lost


def test_depths_refuse_nonsense():
    with pytest.raises(InputError, match="length must be above zero"):
        inserts.full_thread_min(thread("M8"), -12.0)
    with pytest.raises(UnknownNameError, match="did you mean 'bottoming'"):
        inserts.drill_depth(thread("M8"), 12.0, "bottomin")


def test_nominal_length_names_the_nearest_standard_one():
    assert inserts.nominal_length(thread("M6"), 2.5) == 15.0
    with pytest.raises(InputError, match=r"the nearest is 1\.5 D"):
        inserts.nominal_length(thread("M6"), 1.6)


def test_set_down_rules_in_this_pitch():
    screw = thread("M8x1.25")
    standard = inserts.set_down("standard", screw)
    assert (standard.least, standard.most) == (0.9375, 1.875)
    quarter = inserts.set_down("quarter-to-half-turn", screw)
    assert (quarter.least, quarter.most) == (0.3125, 0.625)
    assert inserts.set_down("flush", screw).most == 0
    with pytest.raises(UnknownNameError, match="standard"):
        inserts.set_down("standart", screw)


def test_countersink_stays_above_the_coil():
    sink = inserts.countersink(thread("M8x1.25"))
    assert sink.depth_max < inserts.set_down("standard", thread("M8")).least
    assert sink.diameter_min == pytest.approx(9.624, abs=1e-3)
    cone = (sink.diameter_max - sink.diameter_min) / 2 / math.tan(math.radians(60))
    least = (9.624 - 8.271) / 2 / math.tan(math.radians(60))  # down to the minor diameter
    assert sink.depth_max - cone == pytest.approx(least, abs=1e-3) and least > 0


@pytest.mark.parametrize("position", ["mean", "basic", "measured"])
def test_the_effect_told_is_that_of_the_sizes_calculated_with(position):
    """Of the insert 9.624 is basic, 9.384 least; a screw measured at 7.96 is none of it; hole 6H."""
    sizes_ = {"measured_screw_major": "7.96 mm"} if position == "measured" else {}
    found = joint.evaluate(
        cases.joint(cases.read({**M8, "tolerance_position": position, **sizes_}))
    )

    def area(crest):  # per length, FED-STD-H28/2B Appendix B
        return crest * (0.625 + 0.57735 * (crest - found.repaired.sizes.hole_pitch))

    told = {e.id: e.values for e in found.facts if e.id.startswith("insert_outside")}
    assert ("insert_outside_assumed" in told) == (position != "basic")
    if position != "basic":
        used = {"mean": 9.490, "measured": 9.384}[position]
        gain = told["insert_outside_assumed"]["gain"].value
        assert gain == pytest.approx(area(9.624) / area(used) - 1, abs=1e-5)
    # Of two conditions on unequal terms it is said that they are.
    assert ("insert_outside_least" in told) == (position == "measured")
    if position == "measured":
        assert told["insert_outside_least"]["crest"].value == pytest.approx(9.384)
