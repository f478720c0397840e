"""An M8 joint in metal that is known by another name, by its hardness, or not at all.

The sizes and forms are those of m8_loads; every thread factor but C2 is 1, and the boss is none.
ADC12: JIS H 5302 compares it with EN AC-46100, Rm 240 MPa (EN 1706, annex). Its family's lowest
ratio of shear to tensile strength is that of A380.0: 186 over 324 MPa. HB 75 in an aluminium casting:
EN 1706 pairs 170 MPa with HB 75 (EN AC-45000-F, permanent mould), the lowest of its pairs; with the
lowest ratio of castings, 186/324 again. Values from memory, as in the tables.
"""

import pytest
from m8_loads import CASE, carries
from reading import Joint, near

#: Shear over tensile strength of A380.0, the lowest of all aluminium castings.
RATIO = 186 / 324
METALS = {
    "alias": ({"parent": "ADC12"}, 240 * RATIO, 240.0),
    "unknown, HB 75": (
        {"parent": "unknown-aluminium-casting", "parent_hardness": "HB 75"}, 170 * RATIO, 170.0,
    ),
    # the pair of the lowest ratio, 170/75 MPa, times 80
    "unknown, HBW 80": (
        {"parent": "unknown-aluminium-casting", "parent_hardness": "80 HBW 5/250"},
        170 / 75 * 80 * RATIO, 170 / 75 * 80,
    ),
    # 6061-T6 of HB 90 shows 185/60 x 90 = 277.5 MPa (6063-T5), below its minimum of 289.6; its own
    # printed strengths, 27 and 42 ksi, give the ratio
    "softer than its table": (
        {"parent": "6061-T6", "parent_hardness": "HB 90"}, 185 / 60 * 90 * 27 / 42, 277.5,
    ),
    # HV 111 is HB 100 by ASTM E140 (linear between 105 and 117): 308 MPa, above the minimum, which
    # then counts
    "not harder than its table": (
        {"parent": "6061-T6", "parent_hardness": "HV 117"}, 27 * 6.894757, 42 * 6.894757,
    ),
    # EN AC-42000-F of a sand casting has the lowest strengths of the table: 140 MPa, and of shear
    # 0.60 of it, the lowest of MIL-HDBK-5J for castings
    "not known at all": ({"parent": "unknown-aluminium-casting"}, 84.0, 140.0),
}  # fmt: skip


@pytest.mark.parametrize("name", METALS)
def test_what_the_joint_carries(name):
    changes, shear, tensile = METALS[name]
    joint = Joint(**{**CASE, **changes})
    found = joint.study.evaluation.joint
    assert (found.parent_shear.value, found.parent_tensile.value) == near((shear, tensile))
    for state in ("original", "repaired"):
        hand = carries(state, shear=shear)
        for mode, load in hand.items():
            assert joint.mode(state, mode)[3] == near(load), (state, mode)


def said(joint):
    """What is said of the metal; the minimum strength apart."""
    return [each.id for each in joint.study.metal if not each.id.startswith("minimum_parent")]


def test_what_is_said_of_it():
    """Typed, used and by which document; an estimate is called one; a condition where open."""
    joint = Joint(**CASE | {"parent": "ADC12"})
    assert joint.document["parent"]["typed"] == "ADC12"
    assert joint.document["parent"]["id"] == "EN-AC-46100"
    assert joint.document["parent"]["reference"]["id"] == "jis-h-5302"
    assert said(joint) == ["parent_near"]
    assert any(each["id"] == "jis-h-5302" for each in joint.document["sources"])
    assert "parent_identified" in joint.document["conclusion"]["conditions"]
    hard = Joint(**CASE | METALS["unknown, HB 75"][0])
    assert said(hard) == ["parent_kind", "parent_from_hardness"]
    assert hard.document["parent"]["hardness"]["used"] is True
    assert "parent_identified" not in hard.document["conclusion"]["conditions"]
    open_ = Joint(**CASE | METALS["not known at all"][0])
    assert "parent_identified" in open_.document["conclusion"]["conditions"]
    kept = Joint(**CASE | METALS["not harder than its table"][0])
    assert kept.document["parent"]["hardness"]["used"] is False
    assert said(kept) == ["parent_hardness_above"]


def test_down_to_which_strength_it_holds():
    """HB 75, 9 kN with 1.1 against yield and 1.5 against rupture, by hand.

    Yield over tensile strength: 80/170 MPa (lowest yield strength of the castings in the table, EN
    AC-42000-F, over the estimate). The repaired thread strips at `carries`; against yield it holds
    80/170 of that against 9.9 kN, which is the least margin of all that the parent bears on, and it
    falls with the strength. The certified bound is a condition only.
    """
    shear, tensile = 170 * RATIO, 170.0
    load = carries("repaired", shear=shear)["parent_thread_strip"]
    scale = 9.9e3 / (load * 80 / 170)
    assert 13.5e3 / load < scale < 1
    joint = Joint(
        **CASE | METALS["unknown, HB 75"][0],
        design_load="9 kN", load_factor="1.5", yield_factor="1.1",
    )  # fmt: skip
    found = joint.document["minimum_parent"]
    assert found["outcome"] == "holds"
    assert found["criteria"] == ["margin_parent_thread_strip"]
    close = pytest.approx(scale, rel=3e-5)
    assert found["scale"] == close
    assert found["shear_MPa"] / shear == close
    assert found["tensile_MPa"] / tensile == close
    # HB that shows it by the same pair
    assert found["hardness"]["value"] / 75 == close
