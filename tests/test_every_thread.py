"""No joint of a known thread stops for a method that stands beside the verdict's.

    python tests/test_every_thread.py

by hand goes over every thread, class pair and tolerance position, ten joints a thread, in some
minutes.
"""

import math
from collections import Counter

import pytest

from thread_repair import case as cases
from thread_repair import joint, threads
from thread_repair.errors import ThreadRepairError
from thread_repair.joint import mode_inputs
from thread_repair.joint.lengths import required_by_method
from thread_repair.strength.modes import capacities
from thread_repair.strength.strip import STATES

#: Hole and screw of the usual pair, of a closer and a looser one, by system of threads.
PAIRS = {
    "metric": (("6H", "6g"), ("5H", "4h"), ("8H", "8g")),
    "unified": (("2B", "2A"), ("3B", "3A"), ("1B", "1A")),
    "whitworth": (("medium", "medium"), ("close", "close"), ("normal", "free")),
}
POSITIONS = ("minimum-material", "mean", "basic")


def given(thread, hole, screw, position):
    """One joint of a thread; no size range is known of the screw, so that every thread may have it."""
    return {
        "thread": thread.designation, "hole_class": hole, "screw_class": screw,
        "insert_hole_class": hole, "tolerance_position": position, "screw": "160-ksi",
        "parent": "6061-T6", "engagement": "1 D", "insert_length": "1.5 D",
    }  # fmt: skip


def joints():
    """Every known thread in ten ways: three class pairs at three positions, and a mixed pair."""
    for thread in threads.known():
        usual, closer, looser = PAIRS[thread.system]
        for position in POSITIONS:
            for hole, screw in (usual, closer, looser):
                yield given(thread, hole, screw, position)
        yield given(thread, looser[0], closer[1], POSITIONS[0])


def met(entered):
    """What becomes of a joint: evaluated, with or without every method, or why it is refused."""
    try:
        found = cases.joint(cases.read(entered))
        evaluation = joint.evaluate(found)
    except ThreadRepairError as error:
        # the verdict's own method must refuse the joint as well, else another one stopped it
        with pytest.raises(ThreadRepairError):
            found = cases.joint(cases.read(entered))
            for state in STATES:
                capacities(mode_inputs(found, state, found.engagement))
        return str(error).partition(":")[0]
    lengths = required_by_method(found)
    silent = [m for s in evaluation.states.values() for m in s.modes if math.isnan(m.capacity)]
    for mode in silent:
        assert not mode.primary and not mode.valid
        assert mode.notes[0].id == "method_no_value", mode
    for each in lengths:
        if math.isnan(each.strongest):
            assert each.reasons[0].id == "method_no_value", each
    if any(note.id == "bell_mouth_clear" for mode in silent for note in mode.notes):
        return "evaluated, no bell mouth"
    return "evaluated, no value of a method" if silent else "evaluated"


def test_the_bell_mouth_of_one_document_stops_no_joint():
    """M64x1.5: 1.026 x 62.376 = 64.0 mm is clear of the screw; other documents have a value."""
    entered = given(threads.thread("M64x1.5"), "6H", "6g", "minimum-material")
    found = joint.evaluate(cases.joint(cases.read(entered)))
    for state in found.states.values():
        by = {(m.method, m.mode): m for m in state.modes}
        screw = by["iso_tr_16224", "screw_thread_strip"]
        assert math.isnan(screw.capacity) and not screw.valid
        assert [note.id for note in screw.notes[:2]] == ["method_no_value", "bell_mouth_clear"]
        assert screw.notes[1].values["mouth"].value == 1.026
        assert by["vdi_2230", "screw_thread_strip"].capacity > 0


def test_known_threads_in_their_usual_classes():
    """Every twentieth thread; the rest by hand."""
    counts = Counter(
        met(given(thread, *PAIRS[thread.system][0], POSITIONS[0]))
        for thread in threads.known()[::20]
    )
    assert sum(counts.values()) == math.ceil(len(threads.known()) / 20)
    assert all(what.startswith("evaluated") for what in counts)
    assert counts["evaluated, no bell mouth"] > 0


@pytest.mark.parametrize("name", ["2 BSW", "2 BSF", "6 BSW", "4 1/4 BSF"])
def test_large_whitworth_threads_evaluate(name):
    entered = given(threads.thread(name), "medium", "medium", POSITIONS[0])
    found = joint.evaluate(cases.joint(cases.read(entered)))
    assert found.repaired.pull_out > found.original.pull_out > 0


@pytest.mark.slow
def test_known_threads_in_ten_ways():
    """Every 121st joint, so that the ten ways follow in turn; all of them by hand."""
    counts = Counter(map(met, list(joints())[::121]))
    assert sum(counts.values()) == math.ceil(10 * len(threads.known()) / 121)
    assert counts["evaluated, no bell mouth"] > 3


if __name__ == "__main__":
    found = Counter(map(met, joints()))
    print(f"{sum(found.values())} joints")
    for what, count in found.most_common():
        print(f"{count:6d} {what}")
