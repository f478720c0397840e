"""What must hold of every joint: thinner is never better, longer never weaker, loads ordered."""

import math
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from thread_repair import case as cases
from thread_repair import joint
from thread_repair.alternatives import alternatives
from thread_repair.joint import lengths, mode_inputs
from thread_repair.strength.modes import capacities

THREADS = st.sampled_from(["M3x0.5", "M8x1.25", "M8x1", "M16x2", "1/4-20 UNC", "3/8 BSF"])
PARENTS = st.sampled_from(["6061-T6", "356.0-T6-sand", "AZ91D", "ZP5", "CW614N-R430"])
STATES = st.sampled_from(["original", "repaired"])
RATIO = st.floats(1.9, 4.0)
LENGTH = st.floats(0.5, 3.0)


def a_joint(thread, parent, **changes):
    return cases.joint(
        cases.read(
            {
                "thread": thread,
                "screw": "8.8",
                "parent": parent,
                "engagement": "1.5 D",
                "insert_length": "1.5 D",
                **changes,
            }
        )
    )


def loads(found, state, diameters):
    got = capacities(mode_inputs(found, state, diameters * found.thread.major))
    return float(got.pull_out), float(got.strength)


@settings(max_examples=25, deadline=None)
@given(thread=THREADS, parent=PARENTS, state=STATES, boss=RATIO, more=st.floats(0.01, 2.0))
def test_a_thinner_boss_never_helps(thread, parent, state, boss, more):
    thin = loads(a_joint(thread, parent, boss_diameter=f"{boss} D"), state, 1.5)
    thick = loads(a_joint(thread, parent, boss_diameter=f"{boss + more} D"), state, 1.5)
    for one, other in zip(thin, thick, strict=True):
        assert one <= other * (1 + 1e-12)


@settings(max_examples=25, deadline=None)
@given(thread=THREADS, parent=PARENTS, state=STATES, length=LENGTH, more=st.floats(0.01, 2.0))
def test_a_longer_thread_is_never_weaker(thread, parent, state, length, more):
    found = a_joint(thread, parent, boss_diameter="2.2 D")
    short, long = (loads(found, state, n) for n in (length, length + more))
    for one, other in zip(short, long, strict=True):
        assert one <= other * (1 + 1e-12)


@settings(max_examples=25, deadline=None)
@given(thread=THREADS, parent=PARENTS, lost=st.floats(0.05, 0.95), boss=st.floats(3.0, 5.0))
def test_options_are_ordered(thread, parent, lost, boss):
    found = a_joint(thread, parent, boss_diameter=f"{boss} D", edge_distance="3 D")
    options = alternatives(replace(found, damaged_fraction=lost))
    by_name = {each.option: each for each in options}
    before = float(joint.evaluate(found).original.pull_out)
    assert by_name["leave-as-damaged"].pull_out <= before
    coils = [each for each in options if each.option.startswith("wire-insert")]
    pulled = [each.pull_out for each in coils]
    assert pulled == sorted(pulled)
    walls = [by_name[n].wall for n in ("leave-as-damaged", "bush-thin", "bush-heavy")]
    assert walls == sorted(walls, reverse=True)
    for each in options:
        if not math.isnan(each.strength):
            assert each.strength <= each.pull_out * (1 + 1e-12)
    assert sum(each.assessment == "proposed" for each in options) <= 1


@settings(max_examples=12, deadline=None)
@given(thread=THREADS, parent=PARENTS)
def test_required_lengths_let_the_screw_break_first(thread, parent):
    found = a_joint(thread, parent)
    for row in lengths.required_by_method(found):
        if math.isnan(row.strongest):  # a document that is silent this far from steel
            assert row.method in ("sae_770420", "iso_tr_16224", "vdi_2230")
            continue
        assert row.weakest <= row.strongest
        if not math.isnan(row.standard_strongest):
            longest = row.standard_strongest * found.thread.major
            assert longest >= row.nominal_strongest - 1e-6
            assert row.nominal_strongest > row.strongest
        if row.is_verdict:
            got = capacities(mode_inputs(found, row.state, row.strongest))
            load = lengths.screw_load(found, "strongest")
            assert math.isclose(float(got.pull_out), load, rel_tol=1e-9)
