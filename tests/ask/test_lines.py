"""A joint in one line: each is read as a hand-written table says, or refused in one sentence."""

import json
from functools import cache
from pathlib import Path

import pytest

import thread_repair as tr
from thread_repair import facts, materials, threads, words
from thread_repair.case import asked, assumed, reading
from thread_repair.cli import main
from thread_repair.errors import ThreadRepairError
from thread_repair.report import answer_lines
from thread_repair.report.blocks.inputs import entries
from thread_repair.study.answer import answer

TABLE = Path(__file__).with_name("lines.txt")
LINES = [
    tuple(part.strip() for part in line.split("=>"))
    for line in TABLE.read_text("utf-8").splitlines()
    if "=>" in line and not line.startswith("# ")
]
#: No name of a thread, a parent or a screw needs a number's tolerance.
NAMES = {
    "thread": lambda text: threads.thread(text).designation,
    "parent": lambda text: materials.parent(text).id,
    "screw": lambda text: materials.screw(text, 12.0).id,
}


answered = cache(answer)


def understood(tokens):
    """What the tokens alone give, by key, in mm, N, N·m and degC."""
    given = {each.key: each.value for each in tokens}
    case = reading.read(assumed.completed(tokens).entered)
    return {
        key: NAMES[key](value) if key in NAMES else getattr(case, key)
        for key, value in given.items()
    }


def stated(wanted):
    """Return what the table says that a line states, by key."""
    return dict(each.split(" ", 1) for each in wanted.split("; "))


def same(found, expected):
    if isinstance(found, float):
        return found == pytest.approx(float(expected), rel=2e-6)
    return str(found) == expected


def test_two_hundred_lines_are_in_the_table():
    assert len(LINES) >= 200
    assert len({line for line, _ in LINES}) == len(LINES)


def test_the_command_answers_saves_and_tells_how_it_read(tmp_path, capsys):
    """The saved case gives the conclusion and the numbers of the answer."""
    line = "M8 6082-T6 8.8 blind 20 25 Nm"
    folder = tmp_path / "job"
    assert main(["ask", *line.split(), "--save", str(folder)]) == 0
    printed = capsys.readouterr().out
    assert "Does not support the repair; not met: screw margin" in printed
    assert f"wrote {folder / 'case.yaml'}" in printed
    assert main(["ask", line, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    asked_ = document.pop("asked")
    assert asked_["tokens"][3] == {"words": "blind 20", "key": "hole_kind", "value": "blind"}
    assert asked_["assumed"]["friction"] == "class-B"
    assert main(["evaluate", str(folder), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == document
    saved = (folder / "case.yaml").read_text("utf-8")
    assert "friction: class-B  # assumed" in saved and "screw: '8.8'\n" in saved


def test_what_ask_assumed_of_the_part_stays_assumed_in_the_saved_case(tmp_path):
    """The length of the original thread decides the first criterion; the insert is a proposal."""
    assert main(["ask", "M8 6082-T6 blind 20", "--save", str(tmp_path)]) == 0
    found = tr.study(tr.load(tmp_path))
    assert set(found.case.keys_assumed) == {"screw", "temperature", "engagement"}
    assert "inputs_assumed" in {each.id for each in found.open_points}
    entered = {name: given for name, given, _ in entries(found.case)}
    assert (entered["Engagement"], entered["Insert length"]) == ("", "1.5 D")


def test_a_saved_case_is_not_overwritten(tmp_path, capsys):
    (tmp_path / "case.yaml").write_text("thread: M8\n")
    assert main(["ask", "M8 6082-T6", "--save", str(tmp_path)]) == 2
    assert "exists already" in capsys.readouterr().err
    assert (tmp_path / "case.yaml").read_text() == "thread: M8\n"


def test_without_an_insert_the_shortest_that_meets_the_criteria_is_taken():
    """1 D strips below the original's 12 mm, 1.5 D does not.

    Of 20 mm original thread, 62.5 kN, a 12.9 screw fails at 36.61 mm2 x 1440 MPa = 52.7 kN: 1.5 D
    (41.8 kN) is too little, 2 D (56.9 kN) enough.
    """
    assert answered("M8 6082-T6 8.8").asked.assumed["insert_length"] == "1.5 D"
    assert answered("M8 6082-T6 12.9 engagement 20").asked.assumed["insert_length"] == "2 D"
    assert answered("M8 6082-T6 8.8 blind 14").asked.assumed["insert_length"] == "1 D"
    deep = answered("M8 AZ91D 12.9 blind engagement 24").asked.assumed
    assert (deep["insert_length"], deep["hole_depth"]) == ("2.5 D", "31.5 mm")
    thick = assumed.completed(asked.ask("M8 6082-T6 8.8 blind 30 part_thickness=40")).assumed
    assert thick["engagement"] == "1.5 D"
    whole = assumed.completed(asked.ask("M8 6082-T6 8.8 through 12")).assumed
    assert (whole["engagement"], whole["insert_length"]) == ("12", "1.5 D")
    assert assumed.completed(asked.ask("1/4-20 6061-T6")).assumed["screw"] == "J429-5"
    assert answered("M8 6082-T6 8.8 2.5D").study.case.insert_length == 20


def test_a_depth_chooses_the_tap_and_a_tap_the_depth():
    """M8 x 12 mm: 17.0 mm drilled with a bottoming tap, 23.5 mm with a plug tap."""
    assert answered("M8 6082-T6 8.8 blind 20").asked.assumed["tap"] == "bottoming"
    assert "tap" not in answered("M8 6082-T6 8.8 blind 24").asked.assumed
    assert answered("M8 6082-T6 8.8 blind").asked.assumed["hole_depth"] == "23.5 mm"
    assert answered("M8 6082-T6 8.8 blind bottoming").asked.assumed["hole_depth"] == "17 mm"
    # No hole is shallower than the thread in it: a line with a longer one was refused.
    assert answered("M8 6082-T6 8.8 blind engagement 36").asked.assumed["hole_depth"] == "36"


def test_every_line_is_read_as_the_table_says(every):
    @every(LINES)
    def _(line, wanted):
        if wanted.startswith("! "):
            with pytest.raises(ThreadRepairError) as error:
                answer(line)
            said = str(error.value)
            assert wanted[2:] in said
            assert len(said.splitlines()) == 1
            assert len(said) < 300
            return
        tokens = asked.ask(line)
        expected = stated(wanted)
        read = understood(tokens)
        assert set(read) == set(expected)
        wrong = {key: read[key] for key in expected if not same(read[key], expected[key])}
        assert not wrong
        assert not set(assumed.completed(tokens).assumed) & set(expected)


def unlike():
    """Lines that state a key, a kind of thread, a metal or damage that no earlier line states."""
    seen = set()
    for line, wanted in LINES:
        if not wanted.startswith("! "):
            given = stated(wanted)
            kinds = {
                threads.thread(given["thread"]).system,
                materials.parent(given["parent"]).group,
            }
            states = {*given, *kinds, given.get("hole_condition")}
            if not states <= seen:
                yield line
            seen |= states


def test_an_answer_repeats_what_was_read_in_the_units_of_the_answer():
    """A load of 500 N is seen where pounds-force were meant."""
    first = {
        "M8 6082-T6 boss 25 design_load=800": ", boss diameter 25 mm and limit load 0.8 kN",
        "1/4-20 6061-T6 0.5 kN 3/4 in": ", limit load 112 lbf and engagement 0.75 in",
        "M8 6082-T6 friction 0.12 9 Nm worn": ", friction 0.12, torque 9 N·m and hole condition worn",
        "M8-6G 6061-T6 2D blind": ", hole class 6G, insert length 16 mm and hole kind blind",
        "M8 6061-T6 bottoming locking": ", tap bottoming and insert kind locking",
    }
    for line, wanted in first.items():
        assert answer_lines.text(answered(line)).splitlines()[0].endswith(wanted)


def test_a_torque_that_follows_from_a_preload_is_not_called_stated():
    text = answer_lines.text(answered("M8 6082-T6 8.8 preload 12 kN"))
    assert " N·m for the stated preload; permissible " in text and "N·m stated" not in text
    stated = answer_lines.text(answered("M8 6082-T6 8.8 25 Nm"))
    assert "Torque      25 N·m stated; permissible " in stated


def test_the_torque_of_an_answer_is_that_of_the_repaired_thread():
    of = answered("M8 6082-T6 8.8 25 Nm friction 0.12 insert_friction=0.18")
    (shown,) = (found for label, found in answer_lines._lines(of) if label == "Torque")
    before, after = of.tightened.original, of.tightened.repaired
    assert shown[0].values["friction"] == of.tightened.inputs.thread["repaired"].limits
    assert shown[0].values["friction"] != of.tightened.inputs.thread["original"].limits
    assert shown[0].values["window"] == after.window != before.window


#: Every criterion of it is met.
WHOLE = "M8 6061-T6 8.8 blind 40 2D load 5 kN 15 Nm friction 0.12 edge 30 boss 60 engagement 12"


def test_the_lines_of_screw_and_limits_are_in_order():
    of = answered("M8 6082-T6 8.8 2D")
    lines = {label: list(found) for label, found in answer_lines._lines(of)}
    ends = lines["Screw"][0].values
    assert ends["low"].value < ends["high"].value
    limits = {each.id: each.values for each in lines["Limits"]}
    first = limits["asked_screw_first"]
    assert first["required"].value < first["there"].value
    (torque,) = (
        each
        for label, found in answer_lines._lines(answered("M8 6082-T6 8.8 25 Nm load 25 kN"))
        if label == "Torque"
        for each in found
    )
    assert (torque.id, torque.level) == ("asked_torque_none", "limit")


def by_label(line):
    return {label: list(found) for label, found in answer_lines._lines(answered(line))}


@pytest.mark.parametrize(
    ("line", "label", "ids"),
    [
        (WHOLE, "Conclusion", ["conclusion_supports", "adequate"]),
        (WHOLE, "Drill", ["asked_drill", "asked_depth"]),
        (WHOLE, "Torque", ["asked_torque_range"]),
        (
            "M8 6082-T6 8.8 2D load 3 kN 20 Nm friction=0.9",
            "Torque",
            ["asked_torque_range", "friction_above_published"],
        ),
        # a window of torques without friction is none for a wrench
        (
            "M8 6082-T6 8.8 2D load 3 kN preload=9kN friction=0.1-0.14 tightening_tool=elongation",
            "Torque",
            ["asked_preload_by_tool_range"],
        ),
        (
            "M8 6082-T6 8.8 2D load 3 kN preload=9kN friction=0.1-0.14",
            "Torque",
            ["asked_preload_range"],
        ),
        (WHOLE, "Limits", ["asked_shorter", "asked_screw_first", "asked_parent_holds"]),
        (
            "M8 6082-T6 8.8 load 3 kN 2D",
            "Conclusion",
            ["asked_supports", "asked_conditions", "asked_not_assessed", "adequate"],
        ),
        (
            "M8 6082-T6 8.8 2D",
            "Conclusion",
            ["asked_supports", "asked_conditions", "asked_not_assessed"],
        ),
        ("M8 6082-T6 8.8 2D", "Limits", ["asked_shorter", "asked_screw_first"]),
        ("M8 6082-T6 8.8 2D load 25 kN", "Limits", ["asked_screw_first", "asked_parent_none"]),
    ],
)
def test_what_a_line_of_the_answer_says(line, label, ids):
    assert [each.id for each in by_label(line)[label]] == ids


def test_an_answer_is_short_and_says_what_its_study_says(every):
    """At most fifteen lines, with both strip loads and the conclusion's own words."""

    @every(unlike())
    def _(line):
        found = answered(line)
        text = answer_lines.text(found)
        shown = text.splitlines()
        assert len(shown) <= 15
        assert max(map(len, shown)) <= 100
        verb = "Does not support" if found.study.conclusion.failed else "upports the repair"
        assert verb in text
        if not found.study.holds_insert:
            assert [each.split()[0] for each in shown if each[0] != " "][2:5] == [
                "Conclusion", "Hole", "Instead",
            ]  # fmt: skip
            return
        for label in ("Insert", "Drill", "Tap", "Screw", "Stripping", "Torque"):
            assert any(each.startswith(label) for each in shown)
        system = "inch" if found.study.case.report_units == "inch" else "SI"
        for state in found.study.evaluation.states.values():
            for quantity in (facts.force(state.pull_out), facts.length(state.engagement)):
                assert words.quantity(quantity, system=system) in text.replace(
                    "\n            ", " "
                )


def test_the_lengths_of_the_two_loads_are_each_of_its_own_condition():
    found = answered("M8 6082-T6 8.8 2D 10 mm")
    said = dict(answer_lines._lines(found))["Stripping"][1]
    states = found.study.evaluation.states
    assert {name: said.values[name].value for name in states} == {
        name: each.engagement for name, each in states.items()
    }
    assert said.values["repaired"].value != said.values["original"].value


@pytest.mark.parametrize(
    ("line", "lacking"),
    [
        ("M8 ZA-27-die-cast 8.8 15 Nm load 4 kN 30 C", "thermal expansion of ZA-27-die-cast"),
        ("3/8 BSF AZ91D 8.8 locking 20 Nm", "prevailing torque of a locking insert of 3/8 BSF"),
        ("M8 AZ91D 8.8 locking 15 Nm", ""),
    ],
)
def test_an_answer_says_why_its_torque_is_not_assessed(line, lacking):
    text = " ".join(answer_lines.text(answer(line)).split())
    assert ("tightening window. At" in text) == bool(lacking)
    assert lacking in text and ("No source gives" in text) == bool(lacking)
    assert ("without prevailing torque" in text) == (not lacking)  # known, and so to be added


def test_a_field_with_its_own_approval_is_told_of_before_the_work():
    line = "M8 6082-T6 8.8 blind 30 load 3 kN 12 Nm edge 22"
    plain, aircraft = (
        answer_lines.text(answer(f"{line} {more}")) for more in ("", "regime=aircraft")
    )
    assert "Approved or acceptable data" in aircraft and "Before" not in plain


def test_an_answer_names_strengths_that_promise_no_minimum():
    for parent, says in (
        ("ZP5", "typical"),
        ("ADC12", "for information"),
        ("356.0-T6-sand", "no loss from cast bar to casting"),
        ("356.0-T6-sand casting_factor=0.8", ""),
        ("A356.0-class-10", ""),
        ("7075-T651 part_thickness=40", "strengths of 7075-T651 plate, which apply up to 25.4 mm"),
        ("6061-T6", ""),
    ):
        (line,) = (
            each for label, found in answer_lines._lines(answer(f"M8 {parent} 8.8 load 3 kN"))
            if label == "Assumed" for each in found
        )  # fmt: skip
        told = words.sentence(line)
        assert says in told and ("strengths" in told or "cast bar" in told) is bool(says)


def test_a_friction_that_is_stated_is_not_called_assumed():
    stated = answer_lines.text(answered("M8 6061-T6 8.8 friction 0.12"))
    assert "for the stated friction of 0.12." in stated and "assumed." not in stated
    assert "assumed." in answer_lines.text(answered("M8 6061-T6 8.8"))


def test_what_is_entered_for_nothing_is_told_of():
    idle = "The entry load_factor changes nothing without design_load."
    told = " ".join(answer_lines.text(answered("M8 6061-T6 8.8 load_factor=1.5")).split())
    assert idle in told
    loaded = "M8 6061-T6 8.8 load_factor=1.5 load 5 kN"
    assert "changes nothing" not in answer_lines.text(answered(loaded))


@pytest.mark.parametrize("parent", ["6061-T6-typical", "EN-AC-46000", "EN-GJL-250"])
def test_a_strength_without_a_minimum_is_named_among_what_is_assumed(parent):
    text = answer_lines.text(answered(f"M8 {parent} 8.8 blind 20"))
    assert "typical strengths" in text or "stated for information" in " ".join(text.split())
