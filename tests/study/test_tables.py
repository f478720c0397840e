"""A study as DataFrames, the catalogue, sweeps over any key, and what a prompt shows."""

import itertools
import math

import numpy as np
import pandas as pd
import pytest

import thread_repair as tr
from thread_repair.errors import InputError, InputErrors, UnknownNameError

CASE = tr.read({
    "thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "1 D",
    "insert_length": "1.5 D", "boss_diameter": "24 mm", "design_load": "9 kN",
    "load_factor": "1.5", "torque": "17 N·m", "friction": "0.10 to 0.14",
})  # fmt: skip
UNITS = ("_mm", "_mm2", "_N", "_MPa", "_d", "_degC", "_per_K", "_percent")
#: Columns of numbers that have no unit, or have it in their name or beside them.
BARE = {"mm", "margin", "original_margin", "repaired_margin", "ratio", "edge_ratio", "factor", "share",
        "fitting", "diameters", "required", "repaired", "original", "excess_min", "excess_max",
        "poisson", "galvanic_group", "shear_over_tensile", "lost_pitches"}  # fmt: skip


@pytest.fixture(scope="module")
def study():
    return tr.study(CASE)


def public(thing):
    return [name for name in dir(thing) if not name.startswith("_")]


def test_every_number_of_a_table_has_its_unit_in_its_name(study):
    shown = [getattr(study.tables, name) for name in public(study.tables)]
    for table in (*shown, tr.parents(), tr.screws(), tr.wires(), tr.methods()):
        assert len(table) > 0
        for name, values in table.items():
            number = pd.api.types.is_numeric_dtype(values) and values.dtype != bool
            assert number == (name.endswith(UNITS) or name in BARE), name


def test_tables_hold_what_the_records_hold(study):
    tables = study.tables
    assert len(tables.margins) == len(study.margins)
    assert tables.margins.margin.min() == min(each.margin for each in study.margins)
    assert tables.margins.load_case.tolist() == [each.load_case for each in study.margins]
    assert set(tables.modes["state"]) == set(tables.bounds["state"]) == {"original", "repaired"}
    repaired = tables.modes.query("primary and state == 'repaired'").set_index("mode")
    for name, row in repaired.iterrows():
        assert row.capacity_N == study.evaluation.repaired.mode(name).capacity
    assert tables.criteria.id.tolist() == [each.id for each in study.criteria]
    first = tables.criteria.iloc[0]
    assert (first.unit, first.required) == ("N", study.criteria[0].required.value)
    torque = tables.criteria.set_index("id").loc["torque_window"]
    assert (torque.unit, torque.repaired) == ("N·m", 17.0)
    drilled = tables.alternatives.set_index("kind").loc["larger-screw"]
    option = next(each for each in study.alternatives if each.kind == "larger-screw")
    assert (drilled.drill_min_mm, drilled.drill_max_mm) == option.drill


def test_a_table_of_nothing_keeps_its_columns():
    bare = tr.study(tr.read({key: CASE.entered[key] for key in (
        "thread", "screw", "parent", "engagement", "insert_length")}))  # fmt: skip
    assert bare.tables.margins.empty and "margin" in bare.tables.margins


def test_the_catalogue_holds_every_name():
    assert set(tr.materials.names("screw")) == set(tr.screws().id)
    assert set(tr.materials.names("parent")) <= set(tr.parents().id)


def test_a_sweep_judges_every_combination_as_a_study_of_its_own():
    bosses, screws = [14, "20 mm"], ["8.8", "10.9"]
    table = tr.sweep(CASE, boss_diameter=bosses, screw=screws)
    assert len(table) == 8 and set(table.state) == {"original", "repaired"}
    for (boss, screw), (_, rows) in zip(
        itertools.product(bosses, screws), table.groupby(table.index // 2), strict=True
    ):
        one = tr.study(tr.read({**CASE.entered, "boss_diameter": boss, "screw": screw}))
        for _, row in rows.iterrows():
            state = one.evaluation.states[row.state]
            assert (row.boss_diameter_mm, row.screw) == (one.case.boss_diameter, screw)
            assert row.pull_out_N == state.pull_out and row.strength_N == state.strength
            assert row.governing_mode == state.governing_mode
            assert row.pull_out_ratio == one.evaluation.pull_out_ratio
            assert row.conclusion == one.conclusion.id and row.fault == ""
            named = row.drop("screw_tension_max_N")
            assert named[[n for n in named.index if n.endswith("_strip_N")]].min() == row.pull_out_N


def test_a_sweep_names_a_parent_as_it_was_asked_for():
    """Else the rows of ADC12, which has the strength of EN-AC-46100, are not found among them."""
    names = ["ADC12", "6061-T6"]
    fast, whole = tr.sweep(CASE, parent=names), tr.sweep(CASE, parent=names, screw="8.8")
    assert {*fast["parent"]} == {*whole["parent"]} == {*names}
    assert {*tr.sweep(tr.read({**CASE.entered, "parent": "ADC12"}))["parent"]} == {"ADC12"}


@pytest.mark.parametrize("key", ["engagement", "boss_diameter"])
def test_a_sweep_takes_no_value_that_is_masked(key):
    """A struck-out length was swept; a struck-out boss was one of which nothing is known."""
    with pytest.raises(InputError, match=f"{key}: .* is no list of values"):
        tr.sweep(CASE, **{key: np.ma.masked_array([14.0, 16.0], [False, True])})


def test_a_sweep_over_any_key_agrees_with_the_sweep_over_lengths():
    """Beside another key, too, an engagement is the nominal length of both conditions."""
    many = tr.sweep(CASE, engagement=[8, 12]).sort_values(["length_mm", "state"])
    each = tr.sweep(CASE, engagement=[8, 12], screw="8.8").sort_values(["engagement_mm", "state"])
    columns = [name for name in many if name.endswith("_N") and name != "flank_bearing_N"]
    assert each[columns].to_numpy() == pytest.approx(many[columns].to_numpy(), rel=1e-12)
    apart = tr.sweep(CASE, engagement=8, insert_length=[16])
    assert apart.engaged_mm.tolist() == pytest.approx([8, 16 - 0.75 * 1.25])


@pytest.mark.parametrize(
    "own",
    [
        {"parent_shear_strength": "120 MPa", "parent_source": "TR-7"},
        {"parent_hardness": "HB 75", "parent": "unknown-aluminium-casting"},
        {"casting_factor": "0.7", "parent": "EN-AC-42100-T6"},
    ],
    ids=lambda each: next(iter(each)),
)
def test_the_strengths_of_a_case_are_those_of_its_own_parent_in_every_sweep(own):
    """Beside another key they stood for every parent, and refused each that is no casting."""
    case = tr.read({**CASE.entered, **own})
    names = dict.fromkeys([case.parent, "6061-T6", "7075-T651", "ADC12"])
    many = tr.sweep(case, parent=[*names], engagement=12)
    each = tr.sweep(case, parent=[*names], engagement=12, screw=case.screw)
    assert {*each["fault"]} == {""}
    loads, alike = (
        x.set_index(["parent", "state"])["pull_out_N"].sort_index() for x in (many, each)
    )
    assert alike.to_numpy() == pytest.approx(loads.to_numpy(), rel=1e-12)


def test_strengths_that_are_swept_stand_for_every_parent():
    case = tr.read({**CASE.entered, "parent_source": "TR-7", "parent_shear_strength": "120 MPa"})
    swept = {"parent": "7075-T651", "parent_shear_strength": "100 MPa"}
    alone = tr.study(tr.read({**case.entered, **swept})).evaluation
    found = tr.sweep(case, **swept).set_index("state")["pull_out_N"]
    assert {*found} == {alone.original.pull_out, alone.repaired.pull_out}


def test_lengths_are_read_as_a_case_file_has_them():
    assert tr.sweep(CASE, engagement=["1 D", 12, "0.5 in"]).length_mm.tolist() == [8, 12, 12.7] * 2
    assert tr.sweep(CASE, engagement="1.5 D").equals(tr.sweep(CASE, engagement=12.0))
    for wrong, said in (("x", "engagement: 'x' is not a length"), ([], "engagement: nothing"),
                        ([8, -1], "engagement: -1 at index 1 is no length; expected"),
                        ([math.nan, 10], "engagement: nan at index 0 is no length"),
                        (math.inf, "engagement: inf at index 0 is no length")):  # fmt: skip
        with pytest.raises(InputError, match=said):
            tr.sweep(CASE, engagement=wrong)
    with pytest.raises(InputError, match="parent: nothing"):
        tr.sweep(CASE, parent=[])


@pytest.mark.parametrize("key", ["engagement", "boss_diameter"])
def test_lists_of_different_lengths_and_nothing_are_refused_in_a_sentence(key):
    for wrong, said in (([[14, 20], [16]], "is no list of values"), ([], "nothing")):
        with pytest.raises(InputError, match=f"{key}: .*{said}"):
            tr.sweep(CASE, **{key: wrong})
    with pytest.raises(InputError, match="expected a case"):
        tr.sweep(None, **{key: 14})


@pytest.mark.parametrize("entered", [{"thread": "M8"}, "case.yaml", None])
@pytest.mark.parametrize("public", [tr.evaluate, tr.study, tr.sweep])
def test_what_is_no_case_is_told_how_it_becomes_one(public, entered):
    with pytest.raises(InputError, match=r"load\(path\) or read\(mapping"):
        public(entered)
    assert tr.case.load is tr.load


@pytest.mark.parametrize("entered", ["thread: M8", ["M8"], None])
def test_what_has_no_keys_is_told_what_has(entered):
    with pytest.raises(InputError, match="expected keys with their values"):
        tr.read(entered)


def test_a_combination_that_cannot_be_is_told_and_hides_nothing():
    table = tr.sweep(CASE, boss_diameter=[5, 20])
    assert table.fault.str.contains("no wall").tolist() == [True, True, False, False]
    assert table.pull_out_N.isna().tolist() == [True, True, False, False]
    assert list(table.columns[[0, -1]]) == ["boss_diameter_mm", "fault"]
    with pytest.raises(InputErrors, match="no wall"):
        tr.sweep(CASE, boss_diameter=[5, 6])
    with pytest.raises(UnknownNameError, match="boss_diameter"):
        tr.sweep(CASE, boss_diametre=[20])


def test_what_a_prompt_shows_is_short(study):
    found = study.evaluation
    study.conclusion  # noqa: B018
    demo = tr.load("reports/demo-rig-plate")
    hostile = tr.read({**CASE.entered, "title": "x" * 3000, "parent_name": "y" * 400})
    for each in (study, CASE, demo, hostile, tr.study(hostile), found, found.joint,
                 found.original, study.tables, study.plot):  # fmt: skip
        assert 20 < len(repr(each)) < 300 and "\n" not in repr(each)
    assert "M8, 8.8, 6061-T6" in repr(study) and study.conclusion.id in repr(study)


def test_tab_finds_every_public_name():
    assert {"study", "sweep", "threads", "parents", "screws", "methods"} <= set(dir(tr))
    for name in tr.__all__:
        assert getattr(tr, name) is not None
    assert "M8x1.25" in tr.threads.names()
    with pytest.raises(AttributeError):
        tr.nothing  # noqa: B018


@pytest.mark.parametrize("found", ["cracked", "insert-pulled-out"])
def test_no_table_states_a_strength_of_an_insert_that_nothing_holds(found):
    case = tr.read({**CASE.entered, "hole_condition": found})
    numbers = ["parent_thread_strip_N", "screw_tension_N", "pull_out_N", "strength_N"]
    for table in (
        tr.sweep(CASE, hole_condition=[found]),
        tr.sweep(case, boss_diameter=[24, 30]),
        tr.sweep(case, engagement=[12.0, 16.0]),
    ):
        repaired, original = (table[table["state"] == each] for each in ("repaired", "original"))
        assert repaired[numbers].isna().all(axis=None)
        assert not original[numbers].isna().any(axis=None)
        assert set(repaired["governing_mode"]) == {""}
        assert "pull_out_ratio" not in table or table["pull_out_ratio"].isna().all()
    tables = tr.study(case).tables
    assert set(tables.modes["state"]) == set(tables.bounds["state"]) == {"original"}
    assert tables.methods[["repaired_N", "repaired_margin", "ratio"]].isna().all(axis=None)
    assert tables.methods["original_N"].notna().any()
    assert set(tables.budget["state"]) == {"original", "repaired"}
