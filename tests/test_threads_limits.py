"""Limits of size, tolerances and areas: the edges between the systems and what is refused."""

import math

import pytest

from thread_repair import threads
from thread_repair.errors import InputError, ValidityError
from thread_repair.threads import iso


def test_a_range_of_diameters_holds_its_upper_end():
    """ISO 965-1: over 45 up to and including 90 mm, pitch 6 mm, grade 6: 375 um; above, 400 um."""
    found = [iso.pitch_tolerance("internal", 6, d, 6.0) for d in (45.1, 90.0, 90.1)]
    assert [each.micrometres for each in found] == [375, 375, 400]


def test_m8_coarse() -> None:
    m8 = threads.thread("M8")
    screw = threads.external_limits(m8, "6g")
    hole = threads.internal_limits(m8, "6H")
    assert (screw.major_max, screw.major_min) == (7.972, 7.760)
    assert (screw.pitch_max, screw.pitch_min) == (7.160, 7.042)
    assert (hole.minor_min, hole.minor_max) == (6.647, 6.912)
    assert (hole.pitch_min, hole.pitch_max) == (7.188, 7.348)


def test_compound_class_takes_pitch_and_crest_apart() -> None:
    m10 = threads.thread("M10")
    mixed = threads.internal_limits(m10, "5H6H")
    assert mixed.pitch_max == threads.internal_limits(m10, "5H").pitch_max
    assert mixed.minor_max == threads.internal_limits(m10, "6H").minor_max
    assert mixed.hole_class == "5H6H"


def test_positions_shift_and_do_not_widen() -> None:
    m10 = threads.thread("M10")
    at_h, at_g = (threads.internal_limits(m10, name) for name in ("6H", "6G"))
    for name in ("minor_min", "minor_max", "pitch_min", "pitch_max", "major_min"):
        assert getattr(at_g, name) - getattr(at_h, name) == pytest.approx(0.032)
    highs = [threads.external_limits(m10, name).major_max for name in ("6h", "6g", "6f", "6e")]
    assert highs == [10.0, 9.968, 9.955, 9.933]


def test_hot_dip_hole_clears_hot_dip_screw() -> None:
    m12 = threads.thread("M12")
    assert threads.internal_limits(m12, "6AZ").pitch_min == pytest.approx(10.863 + 0.335)
    assert threads.internal_limits(m12, "6AX").pitch_min == pytest.approx(10.863 + 0.365)
    with pytest.raises(ValidityError, match=r"pitches from 1\.5 to 6 mm"):
        threads.internal_limits(threads.thread("M8"), "6AZ")


def test_grade_without_table_value_is_refused() -> None:
    with pytest.raises(ValidityError, match=r"no grade 6 .* grades: 4"):
        threads.internal_limits(threads.thread("M1.6x0.2"), "6H")
    with pytest.raises(ValidityError, match=r"no deviation of position e for pitch 0.35"):
        threads.external_limits(threads.thread("M1.6"), "6e")


def test_finer_than_the_table_goes_by_the_formula_and_says_so() -> None:
    hole = threads.internal_limits(threads.thread("M10x0.5"), "6H")
    assert any("no table value" in reference.clause for reference in hole.references)
    with pytest.raises(InputError, match=r"did you mean M10x1\.5"):
        threads.thread("M10x1.75")


def test_tolerance_at_another_diameter() -> None:
    m10 = threads.thread("M10")
    assert threads.internal_tolerances(m10, "6H").pitch == 0.180
    assert threads.internal_tolerances(m10, "6H", at_diameter=11.949).pitch == 0.190
    quarter = threads.thread("1/4-20 UNC")
    own = threads.internal_tolerances(quarter, "3B")
    enlarged = threads.internal_tolerances(quarter, "3B", at_diameter=8.0)
    assert own.pitch < enlarged.pitch
    half = threads.thread("1/2 BSW")
    assert (
        threads.internal_tolerances(half, "close", at_diameter=15).pitch
        > threads.internal_tolerances(half, "close").pitch
    )
    with pytest.raises(InputError, match="above zero"):
        threads.internal_tolerances(m10, "6H", at_diameter=-1)
    with pytest.raises(ValidityError, match="no internal pitch diameter tolerance"):
        threads.internal_tolerances(m10, "6H", at_diameter=100)


def test_every_insert_hole_has_a_tolerance_at_its_enlarged_diameter() -> None:
    for thread in iso.known():
        if iso.pitch_tolerance("internal", 4, thread.major, thread.pitch):
            enlarged = thread.major + 1.299038 * thread.pitch
            threads.internal_tolerances(thread, "4H", at_diameter=enlarged)


def test_tolerances_are_the_differences_of_the_limits() -> None:
    for name, hole_class in (("M16", "6H"), ("1/2-13", "3B"), ("3/8 BSF", "medium")):
        thread = threads.thread(name)
        tolerance = threads.internal_tolerances(thread, hole_class)
        hole = threads.internal_limits(thread, hole_class)
        slack = 25.4e-4 / 2 + 1e-9  # inch limits are rounded to 0.0001 in after the tolerance
        assert hole.pitch_max - hole.pitch_min == pytest.approx(tolerance.pitch, abs=slack)
        if thread.system != "unified":
            assert hole.minor_max - hole.minor_min == pytest.approx(tolerance.minor)


def test_named_tolerances() -> None:
    quarter, half = threads.thread("1/4-20 UNC"), threads.thread("1/2 BSW")
    for name, tolerance in (("2A", 0.0081), ("1A", 0.0122)):
        screw = threads.external_limits(quarter, name)
        assert screw.major_max - screw.major_min == pytest.approx(tolerance * 25.4)
    assert threads.internal_tolerances(quarter, "2B").minor == pytest.approx(0.0115 * 25.4)
    # 2/3 T + 0.01 p^(1/2) with T = 0.00515 in
    screw = threads.external_limits(half, "close")
    assert screw.major_max - screw.major_min == pytest.approx(0.0063 * 25.4)
    assert iso.crest_tolerance("external", 6, 1.25).micrometres == 212


def test_normal_length_of_engagement() -> None:
    assert iso.normal_engagement(threads.thread("M10")) == (5, 15)
    with pytest.raises(ValidityError, match="no length of engagement groups"):
        iso.normal_engagement(threads.thread("M10x0.5"))


def test_default_and_listed_classes() -> None:
    for name, expected in (
        ("M8", ("6H", "6g")), ("M8-5H", ("5H", "6g")), ("1/4-20", ("2B", "2A")),
        ("1/4-20 UNC-3A", ("2B", "3A")), ("3/8 BSF", ("medium", "medium")),
        ("3/8 BSF free", ("normal", "free")),
    ):  # fmt: skip
        thread = threads.thread(name)
        assert threads.default_classes(thread) == expected
        assert threads.default_classes(thread).hole in threads.system_of(thread).hole_classes
        assert threads.default_classes(thread).screw in threads.system_of(thread).screw_classes


def test_least_root_of_a_unified_screw() -> None:
    """1/4-20 UNC-2A: 0.2127 in (printed) less H - H/4 = 0.75 x 0.8660254 of the pitch."""
    screw = threads.external_limits(threads.thread("1/4-20 UNC"), "2A")
    assert screw.minor_min / 25.4 == pytest.approx(0.2127 - 0.75 * 0.8660254 / 20, abs=5e-5)


def test_high_strength_area_is_unified_only_and_smaller() -> None:
    quarter = threads.thread("1/4-20 UNC")
    least = threads.external_limits(quarter, "3A").pitch_min
    area = threads.stress_area(quarter, high_strength=True, screw_class="3A")
    assert area == pytest.approx(math.pi * (least / 2 - 3 / 16 * quarter.pitch * 0.8660254) ** 2)
    assert area < threads.stress_area(quarter)
    usual = threads.stress_area(quarter, high_strength=True, screw_class="2A")
    assert threads.stress_area(quarter, high_strength=True) == usual < area
    for name in ("M8", "3/8 BSF"):
        with pytest.raises(InputError, match="Unified threads only"):
            threads.stress_area(threads.thread(name), high_strength=True)


def test_whitworth_area_is_on_the_mean_of_effective_and_minor_diameter() -> None:
    thread = threads.thread("1/2 BSW")
    basic = threads.basic_diameters(thread)
    mean = (basic.pitch + basic.minor) / 2
    assert threads.stress_area(thread) == pytest.approx(math.pi / 4 * mean**2, rel=1e-3)


def test_every_area_and_limit_names_its_source() -> None:
    for name in ("M8", "1/4-20 UNC", "3/8 BSF"):
        thread = threads.thread(name)
        usual = threads.default_classes(thread)
        assert threads.stress_area_references(thread)
        assert threads.external_limits(thread, usual.screw).references
        assert threads.internal_limits(thread, usual.hole).references
    high = threads.stress_area_references(threads.thread("1/4-20"), high_strength=True)
    assert high[0].how_known == "memory"


def test_metric_and_unified_limits_rest_on_nothing_recalled_alone() -> None:
    """The usual classes of the usual sizes can stand in a final report; Whitworth cannot."""
    for name in ("M6", "M8", "M10x1.25", "M20", "M36", "1/4-20 UNC", "10-32 UNF", "1-8 UNC"):
        thread = threads.thread(name)
        usual = threads.default_classes(thread)
        references = (
            *threads.external_limits(thread, usual.screw).references,
            *threads.internal_limits(thread, usual.hole).references,
            *threads.stress_area_references(thread),
        )
        assert all(reference.confirmed for reference in references), name


def test_special_unified_threads_stop_where_the_formulas_do() -> None:
    assert threads.thread("1.3-10 UNS").designation == "1.3-10 UNS"
    assert threads.thread("#10-44 UNS").designation == "10-44 UNS"
    for text in ("6 1/8-12 UNS", "1/4-21 UNS", "1/4-10 UNS", "1/4-20 UNS"):
        with pytest.raises(InputError, match="is no Unified thread"):
            threads.thread(text)
