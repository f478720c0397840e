"""The workbook: every key can be said, what is said is kept, and a wrong entry is a sentence."""

import asyncio
import re
from html import unescape
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from thread_repair import case, study, threads, words
from thread_repair.case.starter import EXAMPLE
from thread_repair.cli import main
from thread_repair.errors import InputError, InputErrors
from thread_repair.report import terminal
from thread_repair.report.jobs import CLONE, Outcome
from thread_repair.workbook import answers, desk, form, screen, storage

DEMO = CLONE / "reports" / "demo-rig-plate"
M10 = {
    "thread": "M10",
    "screw": "8.8",
    "parent": "EN-AC-42100-T6",
    "engagement": "15 mm",
    "insert_length": "1.5 D",
}


@pytest.fixture(scope="module")
def made():
    return screen.Workbook()


@pytest.fixture
def book(made, tmp_path, monkeypatch):
    """The one workbook, as it is when it is opened: its many controls take long to make."""
    monkeypatch.setenv(storage.FOLDER, str(tmp_path))
    made.file.value = made.message.value = ""
    for _, box in made._groups.values():
        box.children = ()
    made._fill(storage.Stored(file=None, text="", entries={}))
    made.stored = None
    return made


def fill(book, entries):
    """Type entries, as fast as they are taken: the answer follows the last."""
    *first, last = entries
    book._quiet = True
    for key in first:
        book.fields[key].control.value = entries[key]
    book._quiet = False
    book.fields[last].control.value = entries[last]


def test_the_book_of_these_tests_is_as_a_new_one(book):
    new = screen.Workbook()
    for name in ("entries", "stored", "last", "found", "_drawing", "_quiet"):
        assert getattr(book, name) == getattr(new, name), name
    for part in ("answer", "message", "links", "file", "notebook"):
        one, other = (getattr(each, part) for each in (book, new))
        assert (one.value, one._dom_classes) == (other.value, other._dom_classes), part
    assert [box.children for _, box in book._groups.values()] == [()] * len(book._groups)


def test_every_key_stands_in_one_section_and_has_a_control(book):
    asked = [key for keys in case.sections().values() for key in keys]
    assert sorted(asked) == sorted(case.keys())
    assert sorted(book.fields) == sorted(case.keys())
    assert all(each.control.description for each in book.fields.values())


def test_a_margin_just_below_zero_is_not_told_as_zero():
    def loaded(newton):
        return study(case.read(M10 | {"design_load": f"{newton:.0f} N"}))

    smallest = next(iter(loaded(20_000).least_margins.values()))["original"].margin
    found = loaded(20_000 * (1 + smallest) * 1.001)
    assert "original −0.001" in answers.chart("Margins of safety", found)


def test_what_the_schema_lists_is_suggested():
    assert form.choices("hole_kind") == ("through", "blind")
    assert "characteristic" in form.choices("parent_strength_basis")
    assert "M10x1.5" in form.choices("thread") and "8.8" in form.choices("screw")
    assert "EN-AC-42100-T6" in form.choices("parent")
    assert form.choices("engagement") == ()


def test_what_is_suggested_is_understood(every):
    @every(filter(form.choices, case.keys()))
    def holds(key):
        for entry in form.choices(key)[:: 1 + len(form.choices(key)) // 2]:
            faults = answers.answer({**M10, key: entry}, DEMO).faults
            assert "did you mean" not in faults.get(key, "")


def test_the_conclusion_follows_the_entries(book):
    assert "Still needed: thread, screw, parent, engagement and insert length." in book.answer.value
    fill(book, M10)
    first = study(case.read(M10)).statements[0]
    assert book.found.missing == () and words.sentence(first) in book.answer.value
    before = book.answer.value
    fill(book, {"design_load": "20 kN"})
    assert book.answer.value != before


def test_a_wrong_entry_is_told_at_its_field_and_the_last_answer_is_outdated(book):
    fill(book, M10)
    good = words.sentence(book.last.statements[0])
    assert "tr-outdated" not in book.answer.value
    empty, *drawn = book.charts.values()
    for each in drawn:
        each.value = "drawn"
    fill(book, {"engagement": "15 mmm"})
    assert "15 mmm" in book.fields["engagement"].note.value
    assert 'role="alert"' in book.fields["engagement"].note.value
    assert "To be put right: engagement." in book.answer.value
    assert 'class="tr-outdated"' in book.answer.value and good in book.answer.value
    assert all("tr-outdated" in each._dom_classes for each in drawn)
    assert "tr-outdated" not in empty._dom_classes, "a frame around nothing"
    fill(book, {"engagement": "15 mm"})
    assert "alert" not in book.fields["engagement"].note.value
    assert "tr-outdated" not in book.answer.value
    assert not any("tr-outdated" in each._dom_classes for each in book.charts.values())


def test_a_bare_number_is_told_with_its_unit(book):
    """800 newtons are seen where 800 pounds-force were meant."""
    fill(book, {**M10, "design_load": "800", "temperature": " 30 "})
    notes = {key: each.note.value for key, each in book.fields.items()}
    assert "Read as 800 N. " in notes["design_load"] and "Read as 30 degC. " in notes["temperature"]
    assert sum("Read as" in each for each in notes.values()) == 2  # neither 8.8 nor 15 mm
    fill(book, {"design_load": "8 kN"})
    assert "Read as" not in book.fields["design_load"].note.value


def test_a_fault_opens_the_section_that_it_stands_in(book):
    _, box = book._groups["document"]
    assert box.children == ()
    fill(book, {**M10, "date": "tomorrow"})
    assert book.fields["date"].whole in box.children


def test_markup_in_an_entry_is_text(book):
    fill(book, {**M10, "thread": "<img src=x onerror=alert(1)>"})
    assert "<img src=x" not in book.fields["thread"].note.value + book.answer.value


def test_a_fault_of_the_program_ends_in_a_sentence(book, monkeypatch):
    fill(book, M10)
    monkeypatch.setattr(answers, "study", lambda _: 1 / 0)
    fill(book, {"engagement": "16 mm"})
    assert "A fault of the program, test_workbook.py line" in book.answer.value
    assert book.last is not None


def test_final_is_refused_in_sentences(book):
    fill(book, {**M10, "status": "final"})
    assert book.found.study is None and "final report" in book.fields["date"].note.value


def test_the_demonstration_opened_saved_and_opened_is_the_same_case(tmp_path):
    stored = storage.opened(str(DEMO))
    assert stored.has_comments
    again = storage.saved(str(tmp_path / "case.yaml"), stored.entries, stored)
    assert not again.has_comments
    before, after = case.load(DEMO), case.load(tmp_path)
    assert after == before and after.entered == before.entered
    assert after.inputs_sha256 == before.inputs_sha256


@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=40
)
@given(st.dictionaries(st.sampled_from(case.keys()), st.text(max_size=60), max_size=120))
def test_what_is_typed_is_read_back_from_the_file(tmp_path, typed):
    entries = {key: text for key, text in typed.items() if text.strip()}
    for each in tmp_path.iterdir():
        each.unlink()
    saved = storage.saved(str(tmp_path / "a.yaml"), entries, None)
    assert dict(storage.opened(str(tmp_path / "a.yaml")).entries) == entries == dict(saved.entries)


def test_every_key_survives_the_form_and_the_file(book, tmp_path):
    typed = {key: f"{key}: # 'x'\n\n  line {n}" for n, key in enumerate(case.keys())}
    typed |= {
        key: f" {EXAMPLE.get(key, '8.8')} "
        for key, each in book.fields.items()
        if type(each.control).__name__ != "Textarea"
    }
    fill(book, typed)
    book.file.value = "all"
    book._try(book._save)
    assert "Saved" in book.message.value
    other = screen.Workbook("all")
    assert other.entries == typed == book.entries


def test_a_file_of_somebody_else_is_not_replaced(book, tmp_path):
    fill(book, M10)
    (tmp_path / "case.yaml").write_text("thread: M6\n")
    book.file.value = "case.yaml"
    book._try(book._save)
    assert "exists already" in book.message.value
    book.file.value = "new/case.yaml"
    book._try(book._save)
    assert case.load(tmp_path / "new") == case.read(M10)
    (tmp_path / "new" / "case.yaml").write_text("thread: M6\n")
    book._try(book._save)
    assert "changed by another program" in book.message.value
    assert (tmp_path / "new" / "case.yaml").read_text() == "thread: M6\n"
    assert [each.name for each in (tmp_path / "new").iterdir()] == ["case.yaml"]


def test_lost_comments_are_said(book, tmp_path):
    (tmp_path / "case.yaml").write_text("thread: M10  # as drawn\n")
    book.file.value = "case.yaml"
    book._try(book._open)
    assert "comments will not be kept" in book.message.value
    fill(book, M10)
    book._try(book._save)
    assert "comments of the file were not kept" in book.message.value


def test_a_file_that_says_the_same_keeps_its_comments(book, tmp_path):
    text = "# as drawn\n" + case.written(M10)
    (tmp_path / "case.yaml").write_text(text)
    book.file.value = "case.yaml"
    book._try(book._open)
    assert book._try(book._save) and "not kept" not in book.message.value
    assert (tmp_path / "case.yaml").read_text() == text
    fill(book, {"screw": "10.9"})
    assert "Changed since" in book.message.value
    assert "tr-outdated" not in book.links._dom_classes  # nothing was built
    book.links.value, book.reported = "<ul></ul>", book.stored.entries
    fill(book, {"screw": "12.9"})
    assert "tr-outdated" in book.links._dom_classes
    fill(book, {"screw": M10["screw"]})
    assert book.message.value == "" and "tr-outdated" not in book.links._dom_classes


def test_a_report_of_an_earlier_state_stays_outdated_when_the_form_is_saved(
    book, tmp_path, monkeypatch
):
    """Saving made the links of the report of 14 mm look as if they were of 12 mm."""
    _reports_without_building(monkeypatch)
    book.file.value = "mine.yaml"
    fill(book, M10 | {"boss_diameter": "24 mm"})
    asyncio.run(book._build("letter"))
    assert "as built" in book.message.value and "tr-outdated" not in book.links._dom_classes
    fill(book, {"boss_diameter": "20 mm"})
    assert book._try(book._save)
    assert "tr-outdated" in book.links._dom_classes
    asyncio.run(book._build("letter"))
    assert "tr-outdated" not in book.links._dom_classes


def test_a_report_that_ends_beside_another_case_gives_no_conclusion_of_it(
    book, tmp_path, monkeypatch
):
    """ "Built." and the conclusion of the case before stood above that of the one opened since."""
    (tmp_path / "other.yaml").write_text("thread: M6\n")

    def meanwhile():
        book.file.value = "other.yaml"
        assert book._try(book._open)

    _reports_without_building(monkeypatch, meanwhile)
    book.file.value = "mine.yaml"
    fill(book, M10)
    asyncio.run(book._build("letter"))
    assert "as built" not in book.message.value
    assert f"Of {tmp_path / 'mine.yaml'} as it was saved then" in book.message.value
    assert "tr-outdated" in book.links._dom_classes


def _reports_without_building(monkeypatch, meanwhile=lambda: None):
    def built(*_):
        meanwhile()
        return Outcome(job=None, files={}, numbers={"conclusion": {"text": "as built"}})

    monkeypatch.setattr(storage, "built", built)


def test_entries_that_stand_in_no_file_are_not_lost_by_opening_another_case(book, tmp_path):
    (tmp_path / "other.yaml").write_text("thread: M6\n")
    fill(book, M10)
    book.file.value = "other.yaml"
    assert not book._try(book._open)
    assert book.entries == M10 and "not saved and would be lost" in book.message.value
    assert book._try(book._open) and book.entries == {"thread": "M6"}
    fill(book, {"thread": "M8"})
    assert not book._try(book._open) and book.entries == {"thread": "M8"}
    assert book._try(book._open) and book._try(book._open) and book.entries == {"thread": "M6"}


def test_no_report_of_a_case_that_could_not_be_saved(book, tmp_path):
    """The report would be of the file that was there before."""
    fill(book, M10)
    book.file.value = "mine.yaml"
    assert book._try(book._save)
    (tmp_path / "other.yaml").write_text("thread: M6\n")
    book.file.value = "other.yaml"
    asyncio.run(book._build("repair_justification"))
    assert "exists already" in book.message.value and book.links.value == ""
    fill(book, {"screw": "eight"})
    asyncio.run(book._build("repair_justification"))
    assert "missing or wrong" in book.message.value
    assert case.load(tmp_path / "mine.yaml") == case.read(M10)


@pytest.mark.parametrize(
    "text, said",
    [
        ("boss_diametre: 20\n", "did you mean 'boss_diameter'"),
        ("title: a: b\n", "put the text in quotes"),
    ],
)
def test_a_file_that_the_form_could_not_save_is_refused(tmp_path, text, said):
    (tmp_path / "case.yaml").write_text(text)
    with pytest.raises(InputErrors, match=said):
        storage.opened(str(tmp_path))


def test_a_part_or_a_table_is_told_for_what_it_is(tmp_path, monkeypatch):
    monkeypatch.setenv(storage.FOLDER, str(tmp_path))
    part = "part: cover\nholes:\n  - name: H1\n    thread: M8\n"
    (tmp_path / "part").mkdir()
    (tmp_path / "part" / "submission.yaml").write_text(part)
    (tmp_path / "holes.xlsx").write_bytes(b"PK\x03\x04\xff")
    (tmp_path / "note.txt").write_text("thread: M8\n")
    several, table = (
        "a part with several holes, not a case of one",
        "a table of cases .* not a case",
    )
    for name, said in (("part", several), ("part/submission.yaml", several), ("holes.xlsx", table),
                       ("none", "cannot be read"), ("note.txt", "cannot be read")):  # fmt: skip
        with pytest.raises(InputError, match=said):
            storage.opened(name)
    with pytest.raises(InputError, match=f"^submission.yaml: {several}"):
        storage.uploaded("submission.yaml", part.encode())
    with pytest.raises(InputError, match=f"^holes.csv: {table}"):
        storage.uploaded("holes.csv", b"name,thread\nH1,M8\n")


def test_an_upload_is_opened_without_a_place(book):
    stored = storage.uploaded("mine.yaml", b"thread: M10\n")
    book._fill(stored)
    assert book.entries == {"thread": "M10"} and stored.file is None
    with pytest.raises(InputError, match="UTF-8"):
        storage.uploaded("mine.yaml", b"\xff")


def test_the_pictures_are_drawn_after_the_conclusion(book):
    async def typed():
        fill(book, M10)
        assert not any(each.value for each in book.charts.values())
        await book._drawing

    asyncio.run(typed())
    for heading, each in book.charts.items():
        assert heading in each.value
    pictures = [each.value for each in book.charts.values() if "svg+xml" in each.value]
    assert len(pictures) == 4 and "no margin of safety" in book.charts["Margins of safety"].value
    assert all('alt="' in each for each in pictures)


def test_the_pictures_beside_an_outdated_conclusion_are_its_own(book):
    """A wrong entry that follows at once must not leave pictures of the joint before."""

    async def typed():
        fill(book, M10)
        await book._drawing
        before = [each.value for each in book.charts.values()]
        fill(book, {"thread": "M12"})
        fill(book, {"engagement": "15 mmm"})
        await book._drawing
        return before

    before = asyncio.run(typed())
    assert book.found.study is None and book.last.case.thread == "M12"
    after = [each.value for each in book.charts.values()]
    assert after == [answers.chart(heading, book.last) for heading in book.charts] != before
    assert all("tr-outdated" in each._dom_classes for each in book.charts.values())


def test_the_smallest_margin_stands_in_the_words_of_its_picture():
    found = study(case.load(DEMO))
    least = min(found.margins, key=lambda each: each.margin)
    assert f"{least.state} {least.margin:+.2f}" in answers.chart("Margins of safety", found)


def test_what_a_report_warns_of_on_its_first_page_stands_on_every_screen():
    """Of a sand casting only the report said what specimens cut from such castings bear."""
    found = study(case.read({**M10, "parent": "A356.0-T6-sand", "insert_length": "1.7 D"}))
    ids = {each.id for each in found.warned}
    assert {"cast_bar_counted_example", "insert_length_not_standard"} <= ids
    assert not ids & {each.id for each in (*found.open_points, *found.statements)}
    form_ = answers.shown(answers.Answer(study=found), None)
    for shown in form_, terminal.summary(found), found._repr_html_():
        said = " ".join(unescape(shown).split())
        for each in found.warned:
            assert words.sentence(each) in said, each.id


def test_the_loads_stand_as_they_were_read_above_the_criteria(book):
    """A load of 9, meant in kN, gave a margin of +2600, and no load beside it."""
    fill(book, {**M10, "design_load": "9"})
    before, _, after = book.answer.value.partition("<table")
    assert "Axial limit load 0.009 kN" in unescape(before) and "Thread-stripping strength" in after
    fill(book, {"design_load": ""})
    assert "No limit load is stated" in book.answer.value.partition("<table")[0]


def test_a_sentence_calls_another_field_by_its_label(book):
    fill(book, {**M10, "tolerance_position": "measured", "load_factor": "2"})
    assert (
        "at least one of “Measured screw major”, " in book.fields["tolerance_position"].note.value
    )
    fill(book, {"tolerance_position": ""})
    assert "“Factor of safety, ultimate” changes nothing without “Limit load”" in book.answer.value
    assert "chosen by “Finish need”" in book.fields["insert_finish"].note.value


def test_what_is_assumed_in_an_empty_field_has_its_unit(book):
    assert book.fields["temperature"].control.placeholder == "20 degC assumed"
    assert book.fields["load_factor"].control.placeholder == "1 assumed"


def test_the_classes_that_an_empty_field_means_stand_below_it(book):
    for thread in "M8", "1/4-20 UNC", "3/8 BSF":
        usual = threads.default_classes(threads.thread(thread))
        for key, name in ("hole_class", usual.hole), ("screw_class", usual.screw):
            assert name in book.fields[key].note.value.partition("empty: ")[2]


def test_a_load_of_an_insert_in_a_lost_hole_is_told_to_be_one_in_sound_metal():
    """Below "no strength of the repaired condition is assessed" stood one of 40.4 kN, bare."""
    for condition in "cracked", "stripped":
        entries = {**M10, "parent": "6061-T6", "hole_condition": condition}
        told = answers.chart("Load against travel", study(case.read(entries)))
        said = told.rpartition("</figure>")[2]
        assert "Repaired hole: at a travel of" in said
        assert ("in sound metal, which the hole as found does not" in said) == (
            condition == "cracked"
        )


def test_a_related_metal_is_named_beside_the_conclusion():
    found = study(case.read({**M10, "parent": "ADC12"}))
    assert "EN-AC-46100" in answers.chart("Hole and parent material", found)


def test_reports_can_be_chosen():
    assert {"repair_justification", "design_review", "hole_preparation"} <= set(storage.reports())
    assert not {"repair_workbook", "why_inserts", "class_exercises"} & set(storage.reports())
    for name in ("class_exercise", "verification"):  # no report of a case is offered, or begun
        with pytest.raises(InputError, match=r"^unknown report '") as caught:
            storage.built(Path("case.yaml"), name, print)
        assert not re.search(r"mean.*(exercise|verification)", str(caught.value))


def test_the_command_says_what_is_missing(monkeypatch, capsys, tmp_path):
    assert main(["workbook", str(tmp_path / "none.yaml")]) == 2
    assert "no case at" in capsys.readouterr().err
    monkeypatch.setattr(desk.importlib.util, "find_spec", lambda name: None)
    assert main(["workbook"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_the_command_takes_what_is_installed(monkeypatch):
    monkeypatch.setattr(desk.importlib.util, "find_spec", lambda name: name == "jupyterlab" or None)
    assert desk.command(port=None, browser=True)[3] == "jupyterlab"
    monkeypatch.setattr(desk.importlib.util, "find_spec", lambda name: name)
    assert desk.command(port=9, browser=False)[3:7] == [
        "voila", "--template=thread_repair", "--token", "--no-browser",
    ]  # fmt: skip
