"""An M8 insert hole whose insert pulled out, in 6061-T6: which options find sound metal, by hand.

The insert took the metal to the basic major diameter of its hole, 8 + 1.299038 x 1.25 = 9.6238 mm
(H is 0.866025 P, and the hole is larger than the screw by 1.5 H). The hole of the same insert, 8.536
mm at most, does not remove it. Nor does M10 tapped (minor 8.376 + 0.300 = 8.676, ISO 965-1); M12x1.75
does: 10.106 + 0.335 = 10.441. The insert of M10x1.5 does: its hole is 10 + 0.216506 x 1.5 = 10.3248,
plus 0.300, 10.625 mm. Sizes of ISO 965-1: M12 6g d 11.701, 6H D2 11.063; M10 6g d 9.732, 6H D2 9.206,
TD2 0.180.
"""

from by_hand import WIRE_SHEAR, bearing_area, bearing_stress, external_area, internal_area
from m8_loads import CASE, SHEAR
from reading import Joint, near

SPOILED = {**CASE, "hole_condition": "insert-pulled-out", "bush_diameter_heavy": "14 mm"}
DAMAGE = 8 + 1.5 * 0.8660254 * 1.25


def options(**changes):
    joint = Joint(**{**SPOILED, **changes})
    return joint, {each["option"]: each for each in joint.document["alternatives"]}


def test_the_same_insert_is_never_supported():
    joint, found = options()
    assert joint.document["conclusion"]["id"] == "does_not_support"
    assert joint.document["conclusion"]["failed"] == ["hole_as_found"]
    (criterion,) = (c for c in joint.document["criteria"] if c["id"] == "hole_as_found")
    assert (criterion["required"], criterion["repaired"]) == near((8.536, DAMAGE))
    assert joint.document["hole_found"]["damaged_diameter_mm"] == near(DAMAGE)
    inserts = [each for name, each in found.items() if name.startswith("wire-insert")]
    assert {each["assessment"] for each in inserts} == {"not_acceptable"}
    assert len(inserts) == 5
    assert all(each["pull_out_N"] is None for each in inserts)
    assert joint.document["required_insert"]["diameters"] is None
    assert joint.document["minimum_parent"]["outcome"] == "none"
    assert joint.document["minimum_parent"]["criteria"] == ["hole_as_found"]


def test_the_next_insert_by_hand():
    _, found = options()
    option = found["next-insert"]
    assert (option["drill_min_mm"], option["drill_max_mm"]) == near((10.325, 10.625))
    assert 10.625 >= DAMAGE > 8.676
    crest = 10 + 1.299038 * 1.5 - (10 - 9.732)
    area = internal_area(20 - 0.75 * 1.5, 1.5, round(crest, 3), round(10.974 + 0.180, 3))
    wire = WIRE_SHEAR * internal_area(20 - 0.75 * 1.5, 1.5, 9.732, 9.206)
    screw = 0.897 * 480 * external_area(20 - 0.75 * 1.5, 1.5, 8.676, 8.862)
    assert option["pull_out_N"] == near(min(SHEAR * area, wire, screw))
    assert option["assessment"] == "acceptable"


def test_the_next_screw_by_hand():
    _, found = options()
    option = found["larger-screw"]
    assert option["size"] == "M12x1.75, class 8.8"
    area = internal_area(12, 1.75, 11.701, 11.063)
    assert option["pull_out_N"] == near(SHEAR * area)
    assert option["drill_max_mm"] == near(10.441)


def test_the_others():
    _, found = options()
    assert found["leave-as-damaged"]["pull_out_N"] == 0
    assert found["leave-as-damaged"]["assessment"] == "not_acceptable"
    # its outer thread has the profile of the screw's: minor 6.912 + 14 - 8 removes 9.624
    assert found["bush-heavy"]["assessment"] == "acceptable"
    assert found["oversize-insert"]["assessment"] == "not_assessed"
    assert found["weld-and-retap"]["assessment"] == "not_assessed"
    # nor does more of the screw's own thread, whose hole is 6.912 mm at most
    deeper = options(engagement_available="24 mm")[1]["longer-engagement"]
    assert deeper["assessment"] == "not_acceptable" and deeper["pull_out_N"] is None
    _, small = options(bush_diameter_heavy="10.5 mm")
    assert DAMAGE > 6.912 + 10.5 - 8
    assert small["bush-heavy"]["assessment"] == "not_acceptable"
    assert "Metal is missing" in small["bush-heavy"]["reason"]
    _, cast = options(parent="ADC12")
    assert cast["weld-and-retap"]["assessment"] == "not_acceptable"


def test_a_hole_drilled_too_wide_is_judged_by_its_size():
    """Up to 8.536 mm the insert hole removes it; 0.002 mm more and it does not."""
    for size, supported in (("8.535 mm", True), ("8.538 mm", False)):
        joint, _ = options(hole_condition="oversize", damaged_diameter=size)
        assert (joint.document["conclusion"]["id"] != "does_not_support") is supported


def test_a_worn_thread_holds_what_its_minor_diameter_leaves():
    """Minor 7.2 mm instead of 6.912: the flanks overlap less.

    They crush at 0.9531 of the load that shears the thread, by the two areas; there the certified
    factor goes from 0.938 (0.95) to 0.952 (1.00). The screw's thread holds more.
    """
    joint, found = options(hole_condition="worn", damaged_diameter="7.2 mm")
    assert joint.document["conclusion"]["id"] != "does_not_support"
    shears = SHEAR * internal_area(12, 1.25, 7.760, 7.348)
    crushes = bearing_stress(SHEAR) * bearing_area(12, 1.25, 7.760, 7.2)
    factor = 0.938 + (0.952 - 0.938) * (crushes / shears - 0.95) / 0.05
    assert factor * shears < crushes < 480 * external_area(12, 1.25, 7.2, 7.042)
    assert found["leave-as-damaged"]["pull_out_N"] == near(factor * shears)
    for whole in ("7.760 mm", "8 mm"):
        lost = options(hole_condition="worn", damaged_diameter=whole)[1]["leave-as-damaged"]
        assert lost["pull_out_N"] == 0


def test_a_larger_damage_takes_a_larger_thread():
    """11 mm: the insert hole of M10, 10.625, no longer removes it; 12 + 0.216506 x 1.75 + 0.335 does.

    Tapped, M12 leaves it too, and of the first choice of ISO 261 M16x2 follows: 13.835 + 0.375.
    """
    _, found = options(damaged_diameter="11 mm")
    assert found["next-insert"]["size"].startswith("M12x1.75")
    assert found["next-insert"]["drill_max_mm"] == near(12.714)
    assert found["larger-screw"]["size"].startswith("M16x2")
    assert found["larger-screw"]["drill_max_mm"] == near(14.210)


def test_a_crack_rejects_the_part():
    joint, found = options(hole_condition="cracked")
    assert joint.document["conclusion"]["failed"] == ["no_crack"]
    assert found.pop("reject")["assessment"] == "proposed"
    assert {each["assessment"] for each in found.values()} == {"not_acceptable"}
    # a new hole is held against the crack by its requirements already: no reason stands twice
    assert {each["reason"].count("cracked") for each in found.values()} == {1}
    # page 1 says that none is assessed
    assert {each["pull_out_N"] for each in found.values()} == {None}
