"""The workshop sheet: decision tables, refusals, cautions, shims, choices, record."""

import dataclasses
import itertools
import math
import string
from collections.abc import Mapping
from functools import cache

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from thread_repair import case as cases
from thread_repair import inserts, materials, tables, words, workshop
from thread_repair.errors import GeometryError, InputError, UnknownNameError, ValidityError
from thread_repair.facts import Quantity, Range, Size, Term, three_digits
from thread_repair.report.paths import picked
from thread_repair.tables import Reference, all_sources
from thread_repair.threads import thread
from thread_repair.tightening.published import PrevailingTorque
from thread_repair.workshop import choice, fitting, hole
from thread_repair.workshop.choice import finish_choice, galvanic, wire_choice
from thread_repair.workshop.fitting import shim_stack
from thread_repair.workshop.hole import tap_route
from thread_repair.workshop.spoiled import edge_needed, findings, spoiled
from thread_repair.workshop.worksheet import holding


def sheet(
    name, *, insert_length, hole_kind, parent_group, insert_hole_class=None, hole_depth=None,
    part_thickness=None, screw_reach=None, edge_distance=None, temperature=20.0,
    tolerance_position="minimum-material", insert_kind="free-running", set_down_rule="standard",
    **choices,
):  # fmt: skip
    """Return the sheet of a joint, made without the checks of a case file."""
    made = _joint(name, insert_hole_class or "")
    down = inserts.set_down(set_down_rule, made.thread)
    galvanic = GALVANIC.get(parent_group, 0)
    group = dataclasses.replace(made.parent, group=parent_group, galvanic_group=galvanic)
    joint = dataclasses.replace(
        made, parent=group, insert_length=insert_length, hole_kind=hole_kind, hole_depth=hole_depth,
        part_thickness=part_thickness, screw_reach=screw_reach, edge_distance=edge_distance,
        temperature=temperature, set_down_min=down.least, set_down_max=down.most,
        tolerance_position=tolerance_position, insert_kind=insert_kind,
    )  # fmt: skip
    return workshop.sheet(joint, workshop.WorkOrder(set_down_rule=set_down_rule, **choices))


#: No steel is among the parents.
GALVANIC = {each.group: each.galvanic_group for each in materials.parents()} | {"steel": 3}


@cache
def _joint(name, insert_hole_class):
    screw = "J429-5" if thread(name).system == "unified" else "8.8"
    return cases.joint(
        cases.read(
            {"thread": name, "screw": screw, "parent": "6061-T6", "engagement": "1 D",
             "insert_length": "1 D", "insert_hole_class": insert_hole_class}
        )
    )  # fmt: skip


HOLE_KINDS = ("through", "blind")
INSERT_KINDS = ("free-running", "locking")
#: What the conditions of `cautions.csv` may ask about a job.
FACTS = {
    "basic-sizes", "cutting-fluid", "blind", "magnesium", "removal", "thorium", "beryllium", "chromate",
    "cadmium", "locking", "critical", "tang-out", "pressure", "aircraft", "lifting",
    "vehicle-safety", "nuclear",
}  # fmt: skip
#: Thicknesses of shims as shops have them; check values only.
SHIMS = (0.5, 0.25)
M8 = {"insert_length": 12.0, "hole_kind": "blind", "parent_group": "wrought aluminium"}
TABLES = [
    "tap_routes.csv", "taps.csv", "fitting_tools.csv", "no_go_rules.csv", "parent_groups.csv",
    "insert_wire_choice.csv", "insert_finish_choice.csv", "cautions.csv", "spoiled_hole.csv",
    "workshop_steps.csv", "set_down.csv", "drills.csv",
]  # fmt: skip


def parent_groups():
    return [row["parent_group"] for row in tables.rows("parent_groups.csv")]


def record(made):
    """Return the limits of the record by the line's id."""
    return {line.id: line.values.get("limit") for line in made.record}


def in_full(step, system):
    limits = {limit.id: limit for limit in step.limits}
    return words.filled(step.text, {**step.values, **limits}, system=system)


def ends(limit):
    return limit.least, limit.most


def ids(found):
    return {each["id"] if isinstance(each, Mapping) else each.id for each in found}


# ---------------------------------------------------------------- the decision tables are complete


@pytest.mark.parametrize(
    ("hole_kind", "group", "insert_kind"),
    itertools.product(HOLE_KINDS, parent_groups(), INSERT_KINDS),
)
def test_every_combination_has_one_tap_route(hole_kind, group, insert_kind):
    rooms = ("any",) if hole_kind == "through" else ("plug", "bottoming")
    for room in rooms:
        rows = [
            row
            for row in tables.rows("tap_routes.csv")
            if (row["hole_kind"], row["room"], row["parent_group"]) == (hole_kind, room, group)
        ]
        assert len(rows) == 1
        route = tap_route(hole_kind, group, room="plug" if room == "any" else room)
        assert not (hole_kind == "blind" and route.option == "spiral-point")
        rule = hole.depth_rule(route.option)
        assert rule == ("bottoming" if room == "bottoming" else "plug")
    made = sheet(
        "M8x1.25",
        insert_length=12.0,
        hole_kind=hole_kind,
        parent_group=group,
        insert_kind=insert_kind,
    )
    stages = list(dict.fromkeys(step.stage for step in made.steps))
    assert stages == ["prepare", "drill", "tap", "gauge", "fit", "tang", "inspect"]


def test_tap_route_table_has_no_row_that_is_never_used():
    used = {
        (kind, room, group)
        for group in parent_groups()
        for kind, room in (("through", "any"), ("blind", "plug"), ("blind", "bottoming"))
    }
    rows = [
        (row["hole_kind"], row["room"], row["parent_group"])
        for row in tables.rows("tap_routes.csv")
    ]
    assert sorted(rows) == sorted(used)
    taps = {row["route"] for row in tables.rows("taps.csv")}
    assert {row["route"] for row in tables.rows("tap_routes.csv")} == taps


def test_every_finding_is_answered_with_and_without_wall():
    for finding in findings():
        for edge in (None, 5.0, 50.0):
            answer = spoiled(thread("M8"), finding, edge_distance=edge)
            assert answer.reason and answer.option


@pytest.mark.parametrize("table", TABLES)
def test_rows_are_sourced_and_read_ones_have_a_place(table):
    for row in tables.rows(table):
        assert row["source"] in all_sources()
        assert tables.reference(row).how_known
        if row["how_known"] == "read":
            assert row["clause"]


def test_every_step_of_the_table_can_be_reached():
    base = {"insert_hole_class": "6H", "environment": "salt water"}
    m8 = {**base, **M8}
    made = [
        sheet("M8x1.25", **m8, insert_kind="locking", hole_depth=18, screw_reach=12,
              tool_set_down=2.4, shim_sizes=SHIMS, fitting_tool="powered"),
        sheet("M8x1.25", **{**m8, "parent_group": "steel"}, screw_reach=22.5),
        sheet("M10x1.25", insert_length=15, hole_kind="through", parent_group="steel", **base),
        sheet("M8x1.25", **m8, old_insert=True, screw_reach=10, edge_distance=12),
        sheet("M3x0.5", insert_length=4.5, hole_kind="blind", parent_group="grey iron",
              hole_depth=6.6, **base),
        sheet("M3x0.5", insert_length=4.5, hole_kind="blind", parent_group="grey iron",
              hole_depth=9.0, tap="bottoming", **base),
    ]  # fmt: skip
    made.append(sheet("M8x1.25", **m8, tool_set_down=1.4, shim_sizes=SHIMS))
    # By hand without a guide only where that tool is asked for; the unified row needs an inch
    # thread.
    made.append(sheet("M8x1.25", **M8, fitting_tool="hand"))
    made.append(sheet("M8x1.25", **{**m8, "hole_kind": "through"}, old_insert=True))
    made.append(sheet("M5x0.8", insert_length=7.5, hole_kind="blind", parent_group="steel"))
    made.append(
        sheet(
            "M8x1.25",
            **{**m8, "insert_length": 16.0},
            insert_kind="locking",
            hole_depth=27.5,
            screw_reach=14.0,
        )
    )
    made.append(
        sheet(
            "M8x1.25",
            **{**m8, "hole_kind": "through"},
            part_thickness=12.0,
            tolerance_position="mean",
        )
    )
    seen = {step.id for each in made for step in each.steps}
    unreached = {row["id"] for row in tables.rows("workshop_steps.csv")} - seen
    assert unreached <= {"gauge-closer-unified"}
    for step in (step for each in made for step in each.steps):
        named = {name for _, name, _, _ in string.Formatter().parse(step.text) if name}
        assert set(step.values) <= named, step.id
        for system in ("SI", "inch", "both"):
            assert "{" not in in_full(step, system)


def test_every_id_of_a_sheet_has_its_words():
    """The catalogue names each limit, line, stage, topic, rule, measure and finding."""
    terms = words.catalogue()["terms"]
    kinds = {
        "stage": {row["stage"] for row in tables.rows("workshop_steps.csv")},
        "rule": {row["rule"] for name in ("set_down.csv", "no_go_rules.csv")
                 for row in tables.rows(name)} | set(inserts.TOLERANCE_AT),
        "finding": set(findings()),
    }  # fmt: skip
    for kind, ids_ in kinds.items():
        assert set(terms[kind]) == ids_
    made = [
        sheet("M8x1.25", **M8, insert_kind="locking", environment="damp"),
        sheet("M10x1.5", insert_length=15, hole_kind="through", parent_group="steel"),
    ]
    for each in made:
        for line in each.record:
            assert line.id in terms["limit" if "limit" in line.values else "record"]
        assert {limit.id for limit in each.assumed} <= set(terms["limit"])
        assert {rule.topic for rule in each.rules} <= set(terms["topic"])


# ------------------------------------------------------------------------------ impossible cases


def test_blind_hole_too_shallow_for_any_tap_says_what_fits():
    with pytest.raises(
        GeometryError, match=r"needs 17.00 mm.*deepen it by 4.00 mm or take an insert of 1 D"
    ):
        sheet("M8x1.25", **M8, hole_depth=13.0)  # 1 D takes all of it
    with pytest.raises(GeometryError, match="no standard length fits"):
        sheet("M8x1.25", **M8, hole_depth=10.0)


def test_room_decides_between_plug_and_bottoming_tap():
    assert sheet("M8x1.25", **M8, hole_depth=23.5).drilled == 23.5
    shallow = sheet("M8x1.25", **M8, hole_depth=23.4)
    assert shallow.drilled == 17.0
    assert {"tap-rough", "tap-bottom", "tap-drawing"} <= ids(shallow.steps)
    assert sheet("M8x1.25", **M8, hole_depth=17.0).drilled == 17.0


def test_thin_part_with_a_through_hole_is_refused():
    with pytest.raises(GeometryError, match="take an insert of 1 D"):
        sheet("M8", insert_length=12, hole_kind="through", parent_group="steel", part_thickness=10)
    with pytest.raises(GeometryError, match="another repair"):
        sheet("M8", insert_length=12, hole_kind="through", parent_group="steel", part_thickness=5)


def test_screw_too_short_for_the_lock_is_refused():
    # Set-down 1.875 + half of 11.375 + 2 pitches = 10.0625 mm.
    with pytest.raises(GeometryError, match=r"10.06 mm is needed, 1.06 mm more; take a longer"):
        sheet("M8x1.25", **M8, insert_kind="locking", screw_reach=9.0)
    assert sheet("M8x1.25", **M8, insert_kind="locking", screw_reach=10.07)
    assert sheet("M8x1.25", **M8, insert_kind="free-running", screw_reach=9.0)
    with pytest.raises(GeometryError, match="too short to engage the insert"):
        sheet("M8x1.25", **M8, screw_reach=2.0)


def test_screw_that_bottoms_is_refused_and_a_close_one_marked():
    with pytest.raises(GeometryError, match="meets the bottom"):
        sheet("M8x1.25", **M8, hole_depth=24.0, screw_reach=24.0)
    assert "screw-bottom" in ids(sheet("M8x1.25", **M8, screw_reach=22.5).steps)
    assert "screw-bottom" not in ids(sheet("M8x1.25", **M8, screw_reach=20).steps)


def test_spiral_point_in_a_blind_hole_is_refused():
    with pytest.raises(InputError, match=r"never used in a blind hole.*'spiral-flute' or 'plug'"):
        sheet("M8x1.25", **M8, tap="spiral-point")
    through = {**M8, "hole_kind": "through"}
    assert "tap-point" in ids(sheet("M8x1.25", **through, tap="spiral-point").steps)


def test_plug_tap_in_a_hole_for_a_bottoming_tap_is_refused():
    with pytest.raises(GeometryError, match="choose 'bottoming'"):
        sheet("M8x1.25", **M8, hole_depth=18, tap="plug")


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"parent_group": "wrought aluminum"}, "wrought aluminium"),
        ({"environment": "drx"}, "dry"),
        ({"insert_finish": "cadmum"}, "cadmium"),
        ({"insert_wire": "S31601"}, "S31600"),
        ({"fitting_tool": "power"}, "powered"),
        ({"tap": "spiral"}, "spiral-"),
        ({"no_go_rule": "four-turns"}, "three-turns"),
        ({"set_down_rule": "flsh"}, "flush"),
    ],
)
def test_unknown_words_are_refused_with_the_nearest(change, match):
    with pytest.raises(InputError, match=match):
        sheet("M8x1.25", **{**M8, **change})


# ---------------------------------------------------------------------------------------- cautions


def case_facts(draw_values):
    """Cautions by predicates written independently of the table."""
    v = draw_values
    dry = v["parent_group"] in ("magnesium", "grey iron")
    wet = v["environment"] in ("damp", "salt water")
    finish_group = 2 if v["insert_finish"] in ("cadmium", "zinc") else 4
    parent = {"magnesium": 1, "copper alloy": 4, "grey iron": 3, "ductile iron": 3, "steel": 3}
    apart = abs(finish_group - parent.get(v["parent_group"], 2))
    primer = (
        wet
        and apart > 0
        and (v["parent_group"] == "magnesium" or apart > 1 or v["environment"] == "salt water")
    )
    return {
        "authority": True,
        "basic-sizes": v["tolerance_position"] == "basic",
        "eyes": True,
        "air": True,
        "rotating": True,
        "fluid": not dry,
        "blind-fluid": v["hole_kind"] == "blind",
        "magnesium-fire": v["parent_group"] == "magnesium",
        "magnesium-insert": v["parent_group"] == "magnesium" and v["old_insert"],
        "thorium": "thorium" in v["hazards"],
        "beryllium": "beryllium" in v["hazards"],
        "chromate": "chromate" in v["hazards"] or primer,
        "cadmium": v["insert_finish"] == "cadmium",
        "lock-critical": v["insert_kind"] == "locking" and v["critical"],
        "lock-unlubricated": v["insert_kind"] == "locking",
        "tang-loose": not (v["hole_kind"] == "blind" and v["screw_reach"] == 10.5),
        "stored-energy": v["regime"] == "pressure",
        "approval-pressure": v["regime"] == "pressure",
        "approval-aircraft": v["regime"] == "aircraft",
        "approval-lifting": v["regime"] == "lifting",
        "approval-vehicle": v["regime"] == "vehicle-safety",
        "approval-nuclear": v["regime"] == "nuclear",
    }


@given(
    st.fixed_dictionaries(
        {
            "hole_kind": st.sampled_from(HOLE_KINDS),
            "parent_group": st.sampled_from(parent_groups()),
            "insert_kind": st.sampled_from(INSERT_KINDS),
            "environment": st.sampled_from(("dry", "damp", "salt water")),
            "insert_finish": st.sampled_from(("plain", "cadmium", "zinc", "dry-film", "silver")),
            "old_insert": st.booleans(),
            "critical": st.booleans(),
            # 10.5 mm stops short of the tang (0.9375 + 11.0625 - 1.25 = 10.75), None and 20 not
            "screw_reach": st.sampled_from((None, 10.5, 20.0)),
            "regime": st.sampled_from(
                ("general", "aircraft", "pressure", "lifting", "vehicle-safety", "nuclear")
            ),
            "tolerance_position": st.sampled_from(("minimum-material", "basic")),
            "hazards": st.sets(st.sampled_from(("beryllium", "thorium", "chromate"))),
        }
    )
)
@settings(deadline=None, max_examples=150)
def test_each_caution_appears_exactly_when_its_condition_holds(values):
    made = sheet("M8x1.25", insert_length=12.0, **values)
    expected = {name for name, holds in case_facts(values).items() if holds}
    assert ids(made.cautions) == expected


def test_every_caution_has_a_test_and_known_conditions():
    values = {
        "hole_kind": "blind", "parent_group": "steel", "insert_kind": "locking",
        "environment": "dry", "insert_finish": "plain", "old_insert": False, "critical": False,
        "screw_reach": None, "regime": "general", "hazards": set(),
        "tolerance_position": "minimum-material",
    }  # fmt: skip
    rows = tables.rows("cautions.csv")
    assert {row["id"] for row in rows} == set(case_facts(values))
    for row in rows:
        assert set(row["when"].split()) <= FACTS
        assert row["id"] in ids(holding("cautions.csv", set(row["when"].split())))
        for missing in row["when"].split():
            assert row["id"] not in ids(
                holding("cautions.csv", set(row["when"].split()) - {missing})
            )


# -------------------------------------------------------------------------------- shims, set-down


@given(st.floats(0.0, 12.0), st.floats(0.0, 3.0), st.floats(0.0, 2.0))
@example(1.0, 1.19e-07, 0.0)  # four quarters leave 0, short of the least by rounding only
@settings(deadline=None, max_examples=300)
def test_shims_never_set_the_insert_deeper_than_allowed(tool, least, width):
    most = least + width
    if tool < least - 1e-6:
        with pytest.raises(GeometryError, match="set the tool to at least that depth"):
            shim_stack(tool, least, most, SHIMS)
        return
    stack = shim_stack(tool, least, most, SHIMS)
    if stack is not None:
        assert least - 1e-6 <= tool - sum(stack) <= most + 1e-6
    elif width >= 0.25:  # a quarter always falls within, unless four halves are too few
        assert tool - 2 > most


def test_shims_by_hand():
    # 2.6 mm without shims, wanted 1.125 to 2.25 (middle 1.69): 0.91 to take off.
    assert shim_stack(2.6, 1.125, 2.25, SHIMS) == (0.5, 0.5)
    assert shim_stack(2.4, 0.9375, 1.875, SHIMS) == (0.5, 0.5)
    assert shim_stack(1.0, 0.9375, 1.875, SHIMS) == ()
    assert shim_stack(2.0, 0.3125, 0.625, SHIMS) == (0.5, 0.5, 0.5)
    # 1.10 to 1.175 to take off: no sum of quarters.
    assert shim_stack(1.3, 0.125, 0.2, SHIMS) is None
    assert shim_stack(1.3, 0.125, 0.2, (0.4, 0.7)) == (0.7, 0.4)
    assert shim_stack(1e12, 0.125, 0.2, SHIMS) is None
    made = sheet("M8x1.25", **M8, tool_set_down=2.4, shim_sizes=SHIMS)
    (step,) = [step for step in made.steps if step.id == "shims"]
    assert step.values == {
        "shims": (Quantity(0.5, "length"),) * 2, "result": Quantity(1.4, "length"),
    }  # fmt: skip


def test_the_governing_rule_comes_first_and_the_others_are_shown():
    made = sheet("M8x1.25", **M8, set_down_rule="quarter-to-half-turn", no_go_rule="two-turns")
    (down,) = (each for each in made.assumed if each.id == "set_down")
    assert (down.least, down.most) == (0.3125, 0.625)
    assert made.no_go.most == 2
    for topic, rule in (("set_down", "quarter-to-half-turn"), ("no_go", "two-turns")):
        shown = [each for each in made.rules if each.topic == topic]
        assert [each.governs for each in shown] == [True] + [False] * (len(shown) - 1)
        assert shown[0].rule == rule and len(shown) >= 2
    assert {each.limit.most for each in made.rules if each.topic == "no_go"} == {2, 3}


def test_tolerance_at_the_other_diameter_is_shown_where_it_differs():
    ten = {**M8, "insert_length": 15.0}
    shown = sheet("M10x1.5", **ten, insert_hole_class="6H").rules
    found = [ends(each.limit) for each in shown if each.topic == "hole_tolerance"]
    assert found == [pytest.approx((10.974, 11.154)), pytest.approx((10.974, 11.164))]
    eight = sheet("M8x1.25", **M8).rules
    assert not [each for each in eight if each.topic == "hole_tolerance"]


# ------------------------------------------------------------------------------------- the choices


@pytest.mark.parametrize(
    ("case", "wire"),
    [
        ({}, "S30200"),
        ({"environment": "salt water"}, "S31600"),
        ({"magnetic": "non-magnetic"}, "C51900"),
        ({"temperature": 500.0}, "N07750"),
        ({"temperature": 580.0}, "N07090"),
        ({"temperature": 300.0, "magnetic": "non-magnetic"}, "N07750"),
    ],
)
def test_wire(case, wire):
    plain = {"temperature": 20.0, "magnetic": "any", "environment": "dry"}
    chosen = wire_choice(**{**plain, **case})
    assert chosen.option == wire
    notes = [note.id for note in chosen.notes]
    needed = ["wire_permeability"] if case.get("magnetic") else []
    assert notes == ["wire_limit_not_verified", *needed]


def test_environment_in_the_words_of_a_case():
    assert choice.environment_class("Outdoor, sea air") == "salt water"
    assert choice.environment_class("dry, indoors") == "dry"
    assert choice.environment_class("engine bay, condensation") == "damp"


def test_wires_and_groups_are_those_of_the_materials_tables():
    for row in tables.rows("insert_wire_choice.csv"):
        assert materials.wire(row["wire"]).uns == row["wire"]
    for row in tables.rows("insert_finish_choice.csv"):
        assert materials.finish(row["finish"]).id == row["finish"]
    assert {each.group for each in materials.parents()} <= set(parent_groups())
    assert (
        wire_choice(temperature=20, magnetic="any", environment="dry", wire="S30200-200-ksi").option
        == "S30200-200-ksi"
    )


def test_wire_that_does_not_serve_is_refused():
    with pytest.raises(InputError, match="subject to pitting in salt water; 'S31600' is suitable"):
        wire_choice(temperature=20, magnetic="any", environment="salt water", wire="S30200")
    with pytest.raises(ValidityError, match="no insert wire of the table is suitable for 900 °C"):
        wire_choice(temperature=900, magnetic="any", environment="dry")


@pytest.mark.parametrize(
    ("case", "finish"),
    [
        ({}, "plain"),
        ({"need": "corrosion"}, "zinc"),
        ({"need": "corrosion", "finish": "cadmium"}, "cadmium"),  # the case asks for it by name
        ({"need": "friction", "environment": "vacuum"}, "dry-film"),
        ({"need": "galling", "temperature": 500.0}, "silver"),
    ],
)
def test_finish(case, finish):
    plain = {"temperature": 20.0, "environment": "dry", "need": "none"}
    assert finish_choice(**{**plain, **case}).option == finish


def test_finish_that_does_not_bear_the_service_is_refused():
    with pytest.raises(InputError, match="'cadmium' is limited to 232 °C"):
        finish_choice(temperature=300, environment="dry", need="corrosion", finish="cadmium")
    most = materials.finish("cadmium").temperature_limit
    at_its_limit = finish_choice(
        temperature=most, environment="dry", need="corrosion", finish="cadmium"
    )
    assert at_its_limit.option == "cadmium"
    with pytest.raises(InputError, match="barred in vacuum"):
        finish_choice(temperature=20, environment="vacuum", need="none", finish="zinc")
    with pytest.raises(ValidityError, match="no insert finish"):
        finish_choice(temperature=300, environment="dry", need="corrosion")


@pytest.mark.parametrize(
    ("group", "finish", "environment", "option"),
    [
        ("magnesium", "plain", "damp", "primer"),
        ("magnesium", "plain", "dry", "none"),
        ("wrought aluminium", "plain", "damp", "primer"),
        ("wrought aluminium", "zinc", "salt water", "seal"),
        ("copper alloy", "plain", "salt water", "none"),
        ("grey iron", "plain", "damp", "seal"),
        ("grey iron", "plain", "salt water", "primer"),
    ],
)
def test_galvanic_protection(group, finish, environment, option):
    chosen = galvanic(group, GALVANIC[group], wire="S30200", finish=finish, environment=environment)
    assert chosen.option == option
    dry = "none_dry" if environment in ("dry", "vacuum") else "none"  # the sheet says why
    measures = {"none": {dry}, "seal": {"seal", "seal_plated"},
                "primer": {"primer", "primer_two_coats"}}  # fmt: skip
    assert isinstance(chosen.name, Term) and chosen.name.id in measures[option]
    assert (chosen.name.id == "primer_two_coats") == (group == "magnesium" and option == "primer")


# -------------------------------------------------------------------------------- tang, old insert


def test_tang_stays_only_in_a_blind_hole_where_the_screw_stops_short():
    assert "tang-stays" in ids(sheet("M8x1.25", **M8, screw_reach=10.7).steps)
    assert "tang-out" in ids(sheet("M8x1.25", **M8, screw_reach=10.8).steps)
    assert "tang-out" in ids(sheet("M8x1.25", **M8).steps)
    through = {**M8, "hole_kind": "through"}
    assert "tang-out" in ids(sheet("M8x1.25", **through, screw_reach=10.7).steps)


def test_room_for_the_tang_by_hand():
    # M3x0.5, L 4.5, bottoming: drilled 6.5 - set-down 0.75 - fitted 4.25 = 1.5 mm < 3.175 mm.
    job = {
        "insert_length": 4.5,
        "hole_kind": "blind",
        "parent_group": "grey iron",
        "tap": "bottoming",
    }
    made = sheet("M3", **job, hole_depth=9.0)
    (step,) = [step for step in made.steps if step.id.startswith("tang-clear")]
    (drill,) = [step for step in made.steps if step.id == "drill-blind"]
    assert step.values["clearance"].value == pytest.approx(1.5)
    assert step.values["tang_depth"].value == 8.18  # 6.5 + 1.675, rounded up as it is printed
    assert ends(step.limits[0]) == (3.175, None)
    assert "Drill to {tang_depth:.2}" in step.text and ends(drill.limits[0]) == (6.5, 9.0)
    # No step asks for more depth than another permits, nor to drill an old hole.
    for more in (
        {"hole_depth": 6.6},
        {"hole_depth": 8.1},
        {"hole_depth": 8.1, "old_insert": True},
    ):
        (step,) = [x for x in sheet("M3", **{**job, **more}).steps if x.id.startswith("tang-clear")]
        assert (step.id, "rill" in step.text) == ("tang-clear-short", False)


def test_what_is_to_be_agreed_comes_before_the_first_cut():
    made = sheet(
        "M3", insert_length=4.5, hole_kind="blind", parent_group="cast aluminium", hole_depth=6.6,
        insert_kind="locking", insert_hole_class="6H", screw_reach=6.2,
    )  # fmt: skip
    order = [step.id for step in made.steps]
    agreed = {"gauge-closer", "screw-bottom", "tang-clear-short"}
    assert agreed <= {*order} and max(map(order.index, agreed)) < order.index("drill")
    tapped = ["tap-drawing", "tap-rough", "tap-oil", "tap-bottom"]
    assert [each for each in order if each in tapped] == tapped


def test_old_insert_comes_out_before_anything_else_and_nothing_is_drilled():
    made = sheet("M8x1.25", **M8, old_insert=True)
    stages = list(dict.fromkeys(step.stage for step in made.steps))
    assert stages == ["prepare", "remove", "gauge", "fit", "tang", "inspect"]


def test_spoiled_hole_by_wall():
    m8 = thread("M8x1.25")
    # Coil in a coil: 8 + 2 x 1.299038 x 1.25 = 11.248 mm outside, 16.87 mm from the edge.
    assert edge_needed(m8) == pytest.approx(16.871, abs=1e-3)
    (note,) = spoiled(m8, "oversize", edge_distance=17.0).notes
    assert note.id == "edge_for_oversize" and note.values["edge"].value == 17.0
    (note,) = spoiled(m8, "oversize").notes
    assert note.id == "edge_for_oversize_unknown"
    assert spoiled(m8, "oversize", edge_distance=17.0).option == "oversize-insert"
    assert spoiled(m8, "oversize", edge_distance=16.8).option == "weld-and-retap"
    assert spoiled(m8, "oversize").option == "weld-and-retap"
    assert spoiled(m8, "cracked").option == "reject"
    assert spoiled(m8, "insert-worn").option == "replace-insert"
    # of these no larger hole is asked for, and so no distance for one
    assert not any(spoiled(m8, each).notes for each in ("cracked", "insert-worn", "stripped"))
    with pytest.raises(UnknownNameError, match="cracked"):
        spoiled(m8, "parent cracked")


@pytest.mark.parametrize(
    ("parent", "said"),
    [
        ("ZP5", ["weld_not_permitted"]),
        ("AZ91D", ["weld_not_permitted"]),
        ("6082-T6", []),
        ("unknown-zinc", ["weld_not_permitted"]),
        # may be an alloy that cracks, or a die casting
        ("unknown-aluminium-wrought", ["option_weld_metal_unknown"]),
        ("unknown-aluminium-casting", ["option_weld_metal_unknown"]),
        ("unknown-magnesium", ["option_weld_metal_unknown"]),
    ],
)
def test_advice_to_weld_says_where_the_metal_cannot_be_welded(parent, said):
    def told(edge):
        family = materials.parent(parent).family
        found = spoiled(thread("M8"), "insert-pulled-out", edge_distance=edge, family=family)
        return [each.id for each in found.notes if "weld" in each.id]

    assert told(5.0) == told(None) == said
    assert told(50.0) == []


# ------------------------------------------------------------------------------- what is printed


def test_numbers_have_the_keys_of_the_results_file():
    made = sheet("M8x1.25", **M8)
    numbers = picked("workshop", made)
    expected = {
        "drill_min_mm": 8.271, "drill_max_mm": 8.536,
        "drill_depth_mm": 23.5, "drill_depth_plug_mm": 23.5, "drill_depth_bottoming_mm": 17.0,
    }  # fmt: skip
    assert {key: numbers[key] for key in expected} == pytest.approx(expected)
    assert all(type(value) is float for value in numbers.values())
    limits = {each.id: (each.least, each.most) for each in made.assumed}
    assert limits["full_thread"] == (13.25, None)
    assert limits["set_down"] == (0.9375, 1.875)


def test_steps_are_short_and_sourced():
    made = sheet("M8x1.25", **M8, insert_kind="locking", environment="salt water")
    drill, wide = (step for step in made.steps if step.id in ("drill", "drill-wide"))
    # of 8.271 to 8.536 mm: an 8.5 mm drill leaves nothing to what it cuts too wide
    assert "8.3 mm, 8.4 mm and 8.5 mm." in in_full(drill, "SI")
    assert wide.how_known == "common_practice"
    for step in made.steps:
        assert len(in_full(step, "both")) < 260
        assert step.references and step.how_known
    assert set(made.references) >= {ref for step in made.steps for ref in step.references}


@pytest.mark.parametrize(
    ("found", "system", "text"),
    [
        (Range(least=0.9375, most=1.875, decimals=2), "SI", "0.94 to 1.87 mm"),
        (Range(least=8.536000000000001), "SI", "8.536 mm minimum"),
        # 17 / 0.1129848 = 150.46 in·lbf
        (Range(least=17, most=17, dimension="torque", decimals=1), "both",
         "17.0 N·m (150 in·lbf)"),
        (Range(most=6.35), "both", "6.350 mm (0.2500 in) maximum"),
        # No hundredth lies between 0.121 and 0.129: one more decimal.
        (Range(least=0.121, most=0.129, decimals=2), "SI", "0.121 to 0.129 mm"),
        (Range(least=0.1, most=0.14, dimension="number", decimals=2), "inch", "0.10 to 0.14"),
    ],
)  # fmt: skip
def test_printed_limits_are_never_wider_than_the_computed_ones(found, system, text):
    assert words.limits(found, system=system) == text


@given(st.floats(0.01, 90.0), st.floats(0.001, 3.0), st.integers(1, 3))
@settings(deadline=None, max_examples=100)
def test_printed_limits_lie_within_the_computed_ones(least, width, decimals):
    text = words.limits(Range(least=least, most=least + width, decimals=decimals))
    printed = text.removesuffix(" mm").split(" to ")
    low, high = float(printed[0]), float(printed[-1])
    assert least - 1e-5 <= low <= high <= least + width + 1e-5


def test_a_torque_keeps_three_digits():
    assert [three_digits(nm) for nm in (0.35, 5.0, 17.0, 250.0)] == [3, 2, 1, 1]


def test_locking_insert_takes_the_closer_class_and_its_torque_limits():
    torque = PrevailingTorque(
        most_nm=6.0,
        breakaway_least_nm=0.8,
        insert_type="wire",
        reference=Reference(source="asme-b18-29-2m", clause="Table 5", how_known="read"),
    )
    closer = {"insert_kind": "locking", "insert_hole_class": "5H"}
    made = sheet("M8x1.25", **M8, **closer, prevailing_torque=torque)
    assert made.hole.hole_class == "5H"
    assert ends(record(made)["prevailing_torque"]) == (None, 6.0)
    assert ends(record(made)["breakaway_torque"]) == (0.8, None)
    assert not {"torque-none", "gauge-closer"} & ids(made.steps)
    open_ended = dataclasses.replace(torque, breakaway_least_nm=math.nan)
    made = sheet("M8x1.25", **M8, **closer, prevailing_torque=open_ended)
    assert "breakaway_torque_open" in record(made) and "breakaway_torque" not in record(made)
    without = sheet("M8x1.25", **M8, insert_kind="locking", insert_hole_class="6H")
    assert {"torque-none", "gauge-closer"} <= ids(without.steps)
    assert "gauge-closer" not in ids(
        sheet("M8x1.25", **M8, insert_kind="locking", insert_hole_class="4H").steps
    )


def test_record_has_limits():
    found = record(sheet("M8x1.25", **M8, hole_depth=20))
    assert ends(found["drilled_depth"]) == (17.0, 20)
    assert ends(found["minor_diameter"]) == pytest.approx((8.271, 8.536))
    assert found["drawing"] is None


def test_drills_within_the_limits():
    """M8: 8.271 to 8.536 mm, 0.3256 to 0.3361 in; 21/64 = 0.328125, Q 0.332, 11/32 = 0.34375."""
    eight = hole.drills_within(inserts.insert_hole(thread("M8x1.25"), "6H"))
    assert eight == (
        Size("8.3 mm", "SI"), Size("8.4 mm", "SI"), Size("8.5 mm", "SI"),
        Size("21/64 in (0.3281 in)", "inch"), Size("letter Q (0.3320 in)", "inch"),
    )  # fmt: skip
    # 1/4-20: 0.2608 to 0.2723 in; 17/64 = 0.265625, and letters G 0.261, H 0.266, I 0.272.
    quarter = hole.drills_within(inserts.insert_hole(thread("1/4-20 UNC"), "2B"))
    assert [each.name for each in quarter if each.system == "inch"] == [
        "letter G (0.2610 in)", "17/64 in (0.2656 in)", "letter H (0.2660 in)",
        "letter I (0.2720 in)",
    ]  # fmt: skip
    # 0.25 in steps above 14 mm, whole inches and a fraction above 1 in.
    big = hole.drills_within(inserts.insert_hole(thread("M27x3"), "6H"))
    assert [each.name for each in big] == ["27.75 mm", "28 mm", "1 3/32 in (1.0938 in)"]


def test_drills_are_printed_in_the_units_of_the_sheet():
    sizes = hole.drills_within(inserts.insert_hole(thread("M8x1.25"), "6H"))
    assert words.filled("{d}", {"d": sizes}, system="SI") == "8.3 mm, 8.4 mm and 8.5 mm"
    inch = words.filled("{d}", {"d": sizes}, system="inch")
    assert inch == "21/64 in (0.3281 in) and letter Q (0.3320 in)"
    assert words.filled("{d}", {"d": sizes[:1]}, system="inch") == "none"


def test_the_drill_sizes_are_those_of_tap_drill_tables():
    """Machinery's Handbook, 31st ed., tap drills for 75 % threads of UNC and UNF: from memory."""
    size = {row["name"]: float(row["first"]) for row in tables.rows("drills.csv") if row["name"]}
    known = {"No. 7": 0.201, "No. 3": 0.213, "letter F": 0.257, "letter I": 0.272,
             "letter U": 0.368, "letter Q": 0.332, "No. 29": 0.136, "No. 36": 0.1065,
             "No. 50": 0.07, "No. 25": 0.1495, "letter E": 0.25}  # fmt: skip
    assert {name: size[name] for name in known} == known
    numbers = [size[f"No. {n}"] for n in range(1, 61)]
    letters = [size[f"letter {each}"] for each in string.ascii_uppercase]
    assert numbers == sorted(numbers, reverse=True) and letters == sorted(letters)
    assert numbers[0] < letters[0]


def test_what_is_not_a_number_never_takes_the_bolder_way():
    """NaN is neither above nor below anything."""
    screw, nan = thread("M8"), math.nan
    assert spoiled(screw, "worn", edge_distance=nan).option == "refer"
    known = {
        "length": 12.0,
        "insert_kind": "locking",
        "set_down": inserts.set_down("standard", screw),
    }
    for unknown in ({"reach": nan}, {"reach": 20.0, "bottom": nan}):
        with pytest.raises(GeometryError, match="nan"):
            fitting.screw_reach(screw, **known, **unknown)


def test_reach_of_a_free_running_insert_is_its_coil():
    m8 = thread("M8x1.25")
    reach = fitting.screw_reach(
        m8, length=12.0, insert_kind="free-running", set_down=inserts.set_down("standard", m8)
    )
    assert reach == (3.125, 13.25)


def test_sizes_of_an_inch_thread_are_printed_in_inches_too():
    made = sheet("1/4-20 UNC", insert_length=9.525, hole_kind="through", parent_group="steel")
    system = words.sizes_in("SI", made.thread.system)
    (minor,) = (each for each in made.assumed if each.id == "minor_diameter")
    assert words.limits(minor, system=system) == "6.625 to 6.916 mm (0.2608 to 0.2723 in)"
    assert [words.sizes_in(each, "metric") for each in ("SI", "inch", "both")] == [
        "SI", "inch", "both",
    ]  # fmt: skip
    assert words.sizes_in("inch", "unified") == "inch"
    assert made.hole.hole_class == "2B"
    locking = sheet(
        "1/4-20 UNC",
        insert_length=9.525,
        hole_kind="through",
        parent_group="steel",
        insert_kind="locking",
        insert_hole_class="2B",
    )
    assert "gauge-closer-unified" in ids(locking.steps)


def test_whitworth_sheet():
    made = sheet("1/2 BSW", insert_length=19.05, hole_kind="blind", parent_group="grey iron")
    assert made.hole.hole_class == "medium"
    # 0.5 + 0.160082 / 12 in by hand
    assert made.hole.minor_min == pytest.approx(0.5133 * 25.4)
    assert made.sink.diameter_min < made.sink.diameter_max


@pytest.mark.parametrize("kind", INSERT_KINDS)
def test_nothing_is_run_against_a_tang_that_stays(kind):
    """The coil ends at least at 0.75 P + 16 - 0.75 P = 16 mm: no screw beyond 14.75 mm."""
    job = {**M8, "insert_length": 16.0, "hole_depth": 30.0, "insert_kind": kind}
    through = {"screw-reach", "torque-run", "free-run"}
    stays = sheet("M8x1.25", **job, screw_reach=14.0)
    assert "tang-stays" in ids(stays.steps) and not through & ids(stays.steps)
    assert not [step.id for step in stays.steps if "better" in step.values]
    removed = sheet("M8x1.25", **job, screw_reach=18.0)
    assert len(through & ids(removed.steps)) == 2 and "tang-out" in ids(removed.steps)


@pytest.mark.parametrize("old_insert", [False, True])
@pytest.mark.parametrize("hole_kind", HOLE_KINDS)
def test_every_hole_is_cleaned_and_looked_at_before_it_is_gauged(hole_kind, old_insert):
    made = sheet("M8x1.25", **{**M8, "hole_kind": hole_kind}, old_insert=old_insert)
    order = [step.id for step in made.steps]
    assert order.index("clean") < order.index("surface") < order.index("gauge-go")
    assert max(map(order.index, ids(made.steps) & {"old-retap", "tap-single"})) < order.index(
        "clean"
    )
    assert ("metal-below" in order) == (hole_kind == "blind" and not old_insert)


def test_a_pitch_diameter_that_is_not_of_the_class_is_measured():
    """No NO-GO gauge is made to it; that of the class would pass a hole that is too large."""
    for position, of_class in (("minimum-material", True), ("mean", False)):
        made = sheet("M8x1.25", **M8, tolerance_position=position)
        assert ("gauge-no-go" in ids(made.steps)) is ("no_go_turns" in record(made)) is of_class
        assert (
            ("measure-pitch" in ids(made.steps))
            is ("pitch_diameter" in record(made))
            is not of_class
        )


def test_the_screw_has_the_name_that_its_buyer_knows():
    made = sheet("1/4-20 UNC", insert_length=9.525, hole_kind="blind", parent_group="zinc")
    (step,) = (each for each in made.steps if each.id == "screw")
    (line,) = (each for each in made.record if each.id == "screw")
    assert step.values["screw"] == line.values["screw"] == "SAE J429 grade 5"


def test_an_old_hole_is_not_rejected_for_its_depth():
    made = sheet("M8x1.25", **M8, hole_depth=23.5, old_insert=True)
    assert ends(record(made)["drilled_depth"]) == (23.5, None)
    assert ends(record(sheet("M8x1.25", **M8, hole_depth=26.0))["drilled_depth"]) == (23.5, 26.0)


def test_a_depth_without_tolerance_is_said():
    # 12 + 6 P + D/2 = 23.5 mm for the plug tap
    assert "depth-tight" in ids(sheet("M8x1.25", **M8, hole_depth=23.5).steps)
    assert "depth-tight" not in ids(sheet("M8x1.25", **M8, hole_depth=23.6).steps)


def test_an_insert_that_may_stand_out_of_a_thin_part_is_said():
    """Deepest 1.5 P + 3 - 0.5 P = 3.4 mm."""
    m2 = {"insert_length": 3.0, "hole_kind": "through", "parent_group": "wrought aluminium"}
    (said,) = (
        step for step in sheet("M2x0.4", **m2, part_thickness=3.0).steps
        if step.id == "insert-projects"
    )  # fmt: skip
    assert said.values["projection"].value == pytest.approx(0.4)
    assert "insert-projects" not in ids(sheet("M2x0.4", **m2, part_thickness=3.4).steps)
    assert "insert-projects" not in ids(sheet("M2x0.4", **m2).steps)


def test_the_sheet_says_what_to_do_with_a_spoiled_hole():
    answers = {
        each.topic: each.option for each in sheet("M8x1.25", **M8, edge_distance=20).if_spoiled
    }
    assert answers == {
        "insert-worn": "replace-insert",
        "oversize": "oversize-insert",
        "hole-bell-mouthed": "oversize-insert",
        "cracked": "reject",
    }


def test_length_that_is_not_standard_is_said():
    odd = sheet("M8x1.25", **{**M8, "insert_length": 13.0})
    assert [note.id for note in odd.choices["length"].notes] == ["length_not_standard"]
    assert not sheet("M8x1.25", **M8).choices["length"].notes


def test_gauges_and_drill_are_the_limits_of_the_hole():
    made = sheet("M8x1.25", **M8, insert_hole_class="5H")
    limits = {each.id: ends(each) for step in made.steps for each in step.limits}
    of_class = inserts.insert_hole(thread("M8x1.25"), "5H")
    assert limits["go_pitch_diameter"] == (of_class.pitch_min, of_class.pitch_min)
    assert limits["no_go_pitch_diameter"] == (of_class.pitch_max, of_class.pitch_max)
    assert limits["hole_diameter"] == limits["minor_diameter"]
    assert limits["hole_diameter"] == (of_class.minor_min, of_class.minor_max)


@pytest.mark.parametrize("name", ["M6", "M8x1.25", "M10", "1/4-28 UNF", "1/2 BSW"])
def test_a_gauge_is_printed_as_the_limit_of_the_hole_that_it_checks(name):
    """Of M8 the hole's 8.812 mm is 0.34693 in: the limit is rounded inwards, to 0.3470 in."""
    found = sheet(name, **{**M8, "insert_length": 1.5 * thread(name).major})
    gauges = {each.id: each for step in found.steps for each in step.limits}
    hole = next(each for each in found.assumed if each.id == "pitch_diameter")
    for system in ("SI", "inch"):
        ends = [words.limits(gauges[f"{x}_pitch_diameter"], system=system) for x in ("go", "no_go")]
        unit = ends[0].rpartition(" ")[2]
        assert words.limits(hole, system=system) == (
            f"{ends[0].removesuffix(f' {unit}')} to {ends[1]}"
        )


def test_a_drill_with_two_names_is_listed_once():
    """A quarter of an inch is letter E."""
    wide = dataclasses.replace(
        inserts.insert_hole(thread("M6"), "6H"), minor_min=6.34, minor_max=6.36
    )
    named = [each.name for each in hole.drills_within(wide) if each.system == "inch"]
    assert named == ["1/4 in (0.2500 in)"]


@pytest.mark.parametrize("old_insert", [False, True])
@pytest.mark.parametrize("kind", [{}, {"hole_kind": "through", "part_thickness": 30.0}])
def test_every_limit_of_the_hole_in_the_record_is_measured_by_a_step(kind, old_insert):
    """Of an old hole too, of which nothing is drilled."""
    made = sheet("M8x1.25", **{**M8, **kind}, old_insert=old_insert, screw_reach=20)
    told = {each.id for step in made.steps for each in step.limits}
    hole_limits = {"edge_distance", "minor_diameter", "drilled_depth", "part_thickness",
                   "full_thread", "set_down"}  # fmt: skip
    asked = hole_limits & {each.id for each in made.record}
    assert len(asked) == 5 and asked - {"minor_diameter"} <= told  # as that of the hole
