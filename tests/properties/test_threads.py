"""What must hold of every thread and class, and of any text at all."""

import hypothesis.strategies as st
import pytest
from hypothesis import assume, given, settings

from thread_repair import threads
from thread_repair.errors import InputError, ValidityError

THREADS = st.sampled_from(threads.known())
LENGTHS = st.floats(min_value=1.0, max_value=100.0)


@st.composite
def limits(draw: st.DrawFn) -> tuple[threads.ExternalLimits, threads.InternalLimits]:
    thread = draw(THREADS)
    screw_class = draw(st.sampled_from(threads.system_of(thread).screw_classes))
    hole_class = draw(st.sampled_from(threads.system_of(thread).hole_classes))
    try:
        return (
            threads.external_limits(thread, screw_class),
            threads.internal_limits(thread, hole_class),
        )
    except ValidityError:
        assume(False)
        raise


@settings(deadline=None, max_examples=200)
@given(limits())
def test_limits_are_in_order(
    pair: tuple[threads.ExternalLimits, threads.InternalLimits],
) -> None:
    screw, hole = pair
    assert screw.minor_min < screw.minor_max < screw.pitch_min < screw.pitch_max < screw.major_min
    assert screw.major_min < screw.major_max
    assert hole.minor_min < hole.minor_max < hole.major_min
    assert hole.minor_min < hole.pitch_min < hole.pitch_max < hole.major_min


@settings(deadline=None, max_examples=200)
@given(limits())
def test_any_screw_enters_any_hole(
    pair: tuple[threads.ExternalLimits, threads.InternalLimits],
) -> None:
    screw, hole = pair
    assert screw.major_max <= hole.major_min + 1e-9
    assert screw.pitch_max <= hole.pitch_min + 1e-9
    # 0.0005 in: Unified tables round the minor diameter of the hole to 0.001 in.
    assert screw.minor_max <= hole.minor_min + 0.0127


@settings(deadline=None, max_examples=200)
@given(THREADS, st.sampled_from([("6H", "5H"), ("2B", "3B"), ("medium", "close")]))
def test_a_closer_class_has_a_smaller_tolerance(
    thread: threads.Thread, pair: tuple[str, str]
) -> None:
    wide, close = pair
    assume(wide in threads.system_of(thread).hole_classes)
    try:
        loose = threads.internal_tolerances(thread, wide)
    except ValidityError:
        return
    assert threads.internal_tolerances(thread, close).pitch < loose.pitch


@settings(deadline=None, max_examples=200)
@given(THREADS)
def test_stress_area_lies_between_minor_and_pitch_circle(thread: threads.Thread) -> None:
    basic = threads.basic_diameters(thread)
    diameter = (threads.stress_area(thread) * 4 / 3.141592653589793) ** 0.5
    assert basic.minor * 0.95 < diameter < basic.pitch


@settings(deadline=None, max_examples=200)
@given(limits())
def test_inch_limits_are_whole_ten_thousandths(
    pair: tuple[threads.ExternalLimits, threads.InternalLimits],
) -> None:
    screw, hole = pair
    metric = screw.screw_class[0].isdigit() and screw.screw_class[-1].islower()
    per_unit = 1000 if metric else 1e4 / 25.4
    for value in (screw.major_min, screw.pitch_min, hole.pitch_max, hole.minor_max):
        assert value * per_unit == pytest.approx(round(value * per_unit), abs=1e-6)


@settings(deadline=None, max_examples=300)
@given(st.text(max_size=80) | st.text("M0123456789xX.,-/ #UNCFBSWGHgh\"'", max_size=20))
def test_any_text_is_a_thread_or_one_sentence(text: str) -> None:
    try:
        thread = threads.thread(text)
    except InputError as error:
        assert "\n" not in str(error)
        assert len(str(error)) < 400
    else:
        assert threads.thread(thread.designation).designation == thread.designation
        assert thread.major > thread.pitch > 0


@settings(deadline=None, max_examples=200)
@given(THREADS, st.sampled_from(["{}", " {} ", "{}  ", "\t{}"]), st.booleans())
def test_spaces_and_case_do_not_matter(thread: threads.Thread, frame: str, lower: bool) -> None:
    text = frame.format(thread.designation.lower() if lower else thread.designation)
    assert threads.thread(text) == thread


@settings(deadline=None, max_examples=100)
@given(THREADS)
def test_classes_written_into_the_designation_come_back(thread: threads.Thread) -> None:
    for hole_class in threads.system_of(thread).hole_classes:
        read = threads.thread(f"{thread.designation} {hole_class}")
        assert read.hole_class == hole_class
        assert read.designation == thread.designation
