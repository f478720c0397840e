"""What people get wrong in a case file: the sentence begins with what they typed, and helps."""

import pytest

import thread_repair as tr
from thread_repair import case
from thread_repair.errors import ThreadRepairError

NEEDED = {
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "12 mm",
    "insert_length": "1.5 D",
}
TORQUE = {"torque": "20 N·m", "friction": "class-B"}
MEASURED = {"tolerance_position": "measured"}
OWN = {"parent_source": "report 7 (invented)"}

#: What is entered (None: left out), the key that the sentence names, and what it must say.
FAULTS = [
    # --- names
    ({"parent": "A381"}, "parent", "or 'A380' or"),
    ({"parent": "6083"}, "parent", "did you mean '6082'"),
    ({"parent": "AZ99"}, "parent", "did you mean 'AZ"),
    ({"parent": None}, "parent", "missing; expected the tapped material"),
    ({"screw": "8,8"}, "screw", "did you mean '8.8'"),
    ({"screw": "A2-75"}, "screw", "did you mean 'A2-70'"),
    ({"screw": "grade 5"}, "", ""),
    ({"thread": "M4", "screw": "grade 5", "engagement": "8"}, "screw", "no strength at a diameter of 4 mm"),
    ({"thread": "M8x1.2"}, "thread", "did you mean M8x1.25"),
    ({"thread": "M8 fine"}, "thread", "did you mean M8x1 "),
    ({"thread": "M2x0.25", "engagement": "3", "insert_length": "3"}, "hole_class", "grades: 4, 5"),
    ({"hole_class": "6g"}, "hole_class", "unknown hole class '6g'"),
    ({"engagment": "12 mm"}, "engagment", "did you mean 'engagement'"),
    ({"insert_wire": "A2"}, "insert_wire", "expected one of S30200"),
    ({"friction": "dry", "torque": "20 N·m"}, "friction", "unknown friction condition 'dry'"),
    # --- units
    ({"torque": "16 ftlb", "friction": "class-B"}, "torque", "did you mean 'ft·lbf'"),
    ({"torque": "2.5 kgm", "friction": "class-B"}, "torque", "did you mean 'kgf·m'"),
    ({"torque": "25 nm", "friction": "class-B"}, "torque", "did you mean 'N·m'"),
    ({"torque": "25 N", "friction": "class-B"}, "torque", "is not a torque"),
    ({"torque": "16 lb-ft", "friction": "class-B"}, "", ""),
    ({"torque": "200 in-lb", "friction": "class-B"}, "", ""),
    ({"parent_shear_strength": "186 mpa"}, "parent_shear_strength", "did you mean 'MPa'"),
    ({"parent_shear_strength": "19 kg/mm2"}, "parent_shear_strength", "did you mean 'kgf/mm2'"),
    ({"parent_shear_strength": "186 N", "parent_source": "x"}, "parent_shear_strength", "did you mean 'N/mm2'"),
    ({"parent_shear_strength": "186 N/mm2", "parent_source": "x"}, "", ""),
    ({"design_load": "8 KN"}, "design_load", "did you mean 'kN'"),
    ({"design_load": "1800 lb"}, "design_load", "did you mean 'lbf'"),
    ({"design_load": "800 kg"}, "design_load", "did you mean 'kgf'"),
    ({"temperature": "250 f"}, "temperature", "did you mean 'degF'"),
    ({"temperature": "room"}, "temperature", "is not a temperature"),
    ({"engagement": "12 kg"}, "engagement", "is not a length"),
    # --- numbers
    ({"design_load": "8,5 kN"}, "design_load", "has a decimal comma; write '8.5 kN'"),
    ({"design_load": "8,000 lbf"}, "design_load", "write '8000 lbf', or '8.000 lbf' if it is a decimal comma"),
    ({"design_load": "8'000 N"}, "design_load", "write '8000 N'"),
    ({"design_load": "8.000 N"}, "design_load", "write '8 N' or '8000 N'"),
    ({"friction": "0,12", "torque": "20 N·m"}, "friction", "has a decimal comma; write '0.12'"),
    ({"insert_length": "1,5"}, "insert_length", "has a decimal comma and no unit; write '1.5 mm' or '1.5 D'"),
    ({"load_factor": "1,5"}, "load_factor", "write 1.5"),
    ({"damaged_fraction": "42 %"}, "damaged_fraction", "write 0.42"),
    ({"quantity": "four"}, "quantity", "is not a count"),
    ({"insert_length": "1.5"}, "insert_length", "write '1.5 D' if diameters are meant"),
    ({"engagement": "2"}, "engagement", "write '2 D' if diameters are meant"),
    ({"engagement": "-12 mm"}, "engagement", "must be above zero"),
    ({"engagement": "12 in"}, "engagement", "expected at most 10 D"),
    # --- words
    ({"critical": "y"}, "critical", "write 'yes'"),
    ({"recurring": "on"}, "recurring", "write 'yes'"),
    ({"old_insert": "off"}, "old_insert", "write 'no'"),
    ({"critical": "'yes'"}, "", ""),
    ({"hole_kind": "thru"}, "hole_kind", "did you mean 'through'"),
    ({"insert_kind": "screw-lock"}, "insert_kind", "write 'locking'"),
    ({"report_units": "mm"}, "report_units", "write 'SI'"),
    ({"date": "24.12.2026"}, "date", "write '2026-12-24'"),
    ({"date": "12/24/2026"}, "date", "expected year, month and day"),
    ({"date": "2026-02-30"}, "date", "is not a date"),
    # --- sizes that do not go together
    ({"hole_kind": "blind"}, "hole_depth", "a blind hole needs its drilled depth"),
    ({"hole_kind": "blind", "hole_depth": "10"}, "hole_depth", "'10' is too shallow for an insert of 12 mm; expected at least 17 mm drilled (bottoming tap) or 23.5 mm (plug tap) and not 10 mm"),
    ({"hole_kind": "blind", "hole_depth": "20"}, "tap", "use tap: bottoming"),
    ({"boss_diameter": "9"}, "boss_diameter", "leaves no wall around the insert hole; expected more than 9.624 mm, got 9 mm"),
    ({"engagement_available": "40", "hole_depth": "30"}, "engagement_available", "is more than the part is thick; expected at most 30 mm"),
    ({"engagement_available": "40", "part_thickness": "30"}, "engagement_available", "is more than the part is thick; expected at most 30 mm"),
    ({"part_thickness": "20", "hole_depth": "30"}, "part_thickness", "one thickness of the part"),
    ({"part_thickness": "40", "hole_depth": "30"}, "part_thickness", "one thickness of the part"),
    ({"hole_kind": "blind", "part_thickness": "20", "hole_depth": "30"}, "part_thickness", "more than a blind hole is deep"),
    ({"engagement_available": "40", "hole_kind": "blind", "hole_depth": "30"}, "engagement_available", "is more than the hole is deep; expected at most 30 mm"),
    ({"engagement": "32", "hole_kind": "blind", "hole_depth": "30"}, "engagement", "'32' is more than the hole is deep; expected at most 30 mm"),
    ({"engagement": "30", "hole_kind": "blind", "hole_depth": "30"}, "", ""),
    ({"bearing_diameter": "11 in"}, "bearing_diameter", "'11 in' is no diameter of M8x1.25; expected one near 0.315 in, got 11 in"),
    ({"boss_diameter": "10"}, "boss_diameter", "no published rule and no certified bound covers a boss of 10 mm around the repaired hole, major diameter 9.62 mm; expected 11.6 mm or more"),
    ({"edge_distance": "4"}, "edge_distance", "leaves no wall; expected more than 4.812 mm, got 4 mm"),
    ({"part_thickness": "5"}, "part_thickness", "less than the insert's length of 12 mm"),
    ({"hole_depth": "5"}, "hole_depth", "less than the insert's length of 12 mm"),
    ({"bush_diameter_thin": "7"}, "bush_diameter_thin", "not larger than the screw"),
    ({"screw_reach": "2"}, "screw_reach", "too short to engage the insert"),
    ({"torque": "20 N·m"}, "friction", "missing; a torque is tied to the preload"),
    ({**TORQUE, "preload": "8 kN"}, "preload", "given together with torque"),
    ({"measured_hole_minor": "6.8"}, "measured_hole_minor", "not used at tolerance_position"),
    ({**MEASURED, "measured_hole_minor": "7.9"}, "measured_hole_minor", "threads of the original hole do not overlap"),
    ({**MEASURED, "measured_insert_hole_pitch": "8.3"}, "measured_insert_hole_pitch", "threads of the repaired hole cut into each other"),
    ({**MEASURED}, "tolerance_position", "measured, but no size is given"),
    ({"parent_shear_strength": "186 MPa"}, "parent_shear_strength", "given without parent_source"),
    ({**OWN, "parent_shear_strength": "320 MPa"}, "parent_shear_strength", "above the tensile strength; expected at most 289.579794 MPa, or parent_tensile_strength beside it"),
    ({**OWN, "parent_shear_strength": "31 ksi", "parent_tensile_strength": "30 ksi"}, "parent_shear_strength", "above the tensile strength; expected at most 30 ksi"),
    ({**OWN, "parent_shear_strength": "320 MPa", "parent_tensile_strength": "330 MPa"}, "", ""),
    ({**OWN, "parent_shear_strength": "290 MPa", "parent": "EN-GJL-250"}, "", ""),
    ({**OWN, "parent_shear_strength": "27000 ksi"}, "parent_shear_strength", "can be of no joint; expected 0.0002 to 1450.3773 ksi"),
    ({"casting_factor": "0.8"}, "casting_factor", "applies to castings only"),
    ({"pull_tests": "none.csv"}, "pull_tests", "no file 'none.csv'"),
]  # fmt: skip

#: What stands behind the needed keys of a file, the key that the sentence names, and what it says.
BROKEN = [
    ("title: pump: cover\n", "title", "line 6: a colon with a space behind it stands in the text; put the text in quotes, title: 'pump: cover'"),
    ("title: Pump #3\n", "title", "line 6: a text ends at ' #', so that '#3' would be lost; put the text in quotes, title: 'Pump #3'"),
    ("serials: #12\n", "serials", "so that '#12' would be lost; put the text in quotes, serials: '#12'"),
    ("damage: stripped, as\n  hole #3\n", "damage", "line 7: a text ends at ' #', so that '#3' would be lost"),
    ("damage: |\n  stripped, as\n  hole #3\ncustomer:\n#none\n", "", ""),
    ('title: "Pump \\ud83d"\n', "title", "'\\ud83d', half of a character"),
    ("boss_diameter: NULL\nedge_distance: Null\n", "", ""),
    ("title: Pump  # the third\n", "", ""),
    ("title: 'Pump #3'  # the third\n", "", ""),
    ("title: 'open\n", "title", "a quote is opened and never closed"),
    ("item: - bracket\n", "item", "a dash with a space behind it begins a list; put the text in quotes, item: '- bracket'"),
    ("scope: [all]\n", "scope", "put the text in quotes, scope: '[all]'"),
    ("\titem: bracket\n", "insert_length", "line 6: begins with a tab"),
    ("item:\tbracket\n", "item", "a tab stands behind the colon; put the text in quotes"),
    ("item = bracket\n", "line 6", "write 'item: bracket'"),
    ("item:bracket\n", "line 6", "write 'item: bracket'"),
    ("thread: M10\n", "thread", "line 6: given more than once; keep one of the lines"),
    ("item:\n  name: bracket\n", "item", "line 7: expected 'key: value' on one level"),
]  # fmt: skip


def faults_of(text, folder):
    file = folder / "case.yaml"
    file.write_text(text, "utf-8")
    try:
        assert tr.study(case.load(file)).criteria
    except ThreadRepairError as error:
        return str(error).splitlines()
    return []


def check(found, key, says):
    if not key:
        assert found == []
        return
    assert len(found) == 1
    assert found[0].startswith(f"{key}: ")
    assert says in found[0]
    assert len(found[0]) < 320
    for internal in ("thread_strip", "boss_wall", "screw_tension", "hole_minor 7", "NaN", "None"):
        assert internal not in found[0]


def test_there_are_enough_faults():
    assert len(FAULTS) + len(BROKEN) >= 60


def test_a_fault_names_the_key_and_helps(tmp_path, every):
    @every(FAULTS)
    def _(changes, key, says):
        entered = {**NEEDED, **changes}
        text = "".join(f"{k}: {v}\n" for k, v in entered.items() if v is not None)
        check(faults_of(text, tmp_path), key, says)


def test_a_broken_line_is_explained(tmp_path, every):
    @every(BROKEN)
    def _(lines, key, says):
        text = "".join(f"{k}: {v}\n" for k, v in NEEDED.items())
        check(faults_of(text + lines, tmp_path), key, says)


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("none.yaml", None, "cannot be read: No such file"),
        ("case.yaml", "", "holds no line of a case; 'thread-repair new PATH'"),
        ("case.yaml", "# nothing\n", "holds no line of a case"),
        ("case.ipynb", "{}", "a notebook (it goes behind --notebook), not a case file"),
        (
            "cases.csv",
            "thread\nM8\n",
            "a table of cases (only 'report' takes one), not a case file",
        ),
        ("case.pdf", "%PDF", "a report, not a case file"),
    ],
)
def test_another_file_is_told_for_what_it_is(tmp_path, name, content, says):
    if content is not None:
        (tmp_path / name).write_text(content)
    with pytest.raises(ThreadRepairError) as error:
        case.load(tmp_path / name)
    assert says in str(error.value)
    assert len(str(error.value).splitlines()) == 1


def test_a_folder_without_a_case_names_the_file_that_may_be_meant(tmp_path):
    (tmp_path / "cover.yaml").write_text("thread: M8\n")
    with pytest.raises(
        ThreadRepairError, match=r"no case.yaml in this folder; did you mean .*cover"
    ):
        case.load(tmp_path)


def test_a_part_of_several_holes_is_told_for_what_it_is(tmp_path):
    (tmp_path / "submission.yaml").write_text("thread: M8\nholes:\n  - name: H1\n")
    for given in (tmp_path, tmp_path / "submission.yaml"):
        with pytest.raises(
            ThreadRepairError, match=r"a part with several holes, not a case of one"
        ):
            case.load(given)
