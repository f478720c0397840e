"""What stands beside the numbers of a joint: names of factors, sources of every strength used."""

import pytest
from m8_loads import CASE
from reading import Joint

BOSS = {"boss_diameter": "14 mm", "boss_support": "base"}


@pytest.mark.parametrize(("more", "wall"), [({}, "C1"), (BOSS, "wall")])
def test_each_factor_has_the_name_of_its_document(more, wall):
    """SAE 770420: C1 and C3 on the parent, C1 and C2 on the screw; a certified bound is no C1."""
    joint = Joint(**CASE | more)
    for state in ("original", "repaired"):
        factors = {
            mode["mode"]: set(mode["factors"])
            for mode in joint.document["states"][state]["modes"]
            if mode["primary"]
        }
        assert factors["parent_thread_strip"] == {wall, "C3", "overlap"}
        assert factors["flank_bearing"] == {wall, "C3"}
        assert factors["screw_thread_strip"] == {wall, "C2"}
        assert factors["screw_tension"] == set()


def test_every_strength_and_size_has_its_source_in_the_ledger():
    found = Joint(**CASE | BOSS).study.evaluation
    joint, ledger = found.joint, set(found.references)
    for allowable in (
        joint.parent_shear, joint.parent_tensile, joint.parent_yield, joint.wire_shear
    ):  # fmt: skip
        assert allowable.references
        assert set(allowable.references) <= ledger, allowable.words
    for name in ("tensile_min", "tensile_max", "shear_over_tensile"):
        assert joint.screw.reference(name) in ledger, name
    assert {each.source for each in ledger} >= {"fed-std-h28-2b", "sae-770420", "limit-analysis"}
    for state in found.states.values():
        assert set(state.sizes.references) <= ledger


def test_whether_a_mode_counts_is_said_yes_or_no():
    """One number decides a mode; the rival methods and the other strengths stand beside it."""
    joint = Joint(**CASE | BOSS)
    for state in ("original", "repaired"):
        modes = joint.document["states"][state]["modes"]
        assert all(isinstance(m["primary"], bool) and isinstance(m["valid"], bool) for m in modes)
        counted = [mode["mode"] for mode in modes if mode["primary"]]
        assert len(counted) == len(set(counted))
        beside = {m["basis"] for m in modes if m["mode"] == "screw_tension" and not m["primary"]}
        assert beside == {"ultimate, strongest screw", "yield", "proof"}


@pytest.mark.parametrize(("engagement", "inside"), [(8, True), (12, False)])
def test_the_range_of_the_factors_is_said_of_each_thread(engagement, inside):
    """SAE 770420 tested nuts of 0.5 to 1 diameter; the screw's tension has no such range."""
    joint = Joint(**CASE | {"engagement": f"{engagement} mm", "insert_length": "8 mm"})
    for state, within in (("original", inside), ("repaired", True)):
        valid = {
            mode["mode"]: mode["valid"]
            for mode in joint.document["states"][state]["modes"]
            if mode["primary"]
        }
        assert valid["screw_tension"]
        assert valid["parent_thread_strip"] is valid["screw_thread_strip"] is within
        assert valid["flank_bearing"] is within
