"""A report that contradicts itself is not published, and the sentence names both places."""

import copy
from pathlib import Path

import nbformat
import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import words
from thread_repair.errors import ReportError
from thread_repair.report import batch, consistency
from thread_repair.report.blocks import comparison, conclusion, equations
from thread_repair.report.jobs import Job
from thread_repair.report.results import results

DEMO = Path(__file__).parents[2] / "reports" / "demo-rig-plate"


@pytest.fixture(scope="module")
def study():
    return tr.study(cases.load(DEMO))


@pytest.fixture(scope="module")
def numbers(study):
    return results(study, with_chances=False)


@pytest.fixture(scope="module")
def markdown(study):
    """What a notebook prints: conclusion, tables, equations."""
    shown = (
        conclusion.conclusion(study).data,
        conclusion.criteria_table(study).markdown(),
        comparison.alternatives_table(study).markdown(),
        comparison.margins_table(study).markdown(),
        equations.strength(study).data,
    )
    return "\n\n".join(shown)


def test_the_demonstration_says_one_thing(study, numbers, markdown):
    assert list(consistency.contradictions(study, numbers, markdown, {})) == []


@pytest.mark.parametrize(
    "changes",
    [
        {"design_load": "30 kN"},
        {"parent": "EN-GJL-250"},
        {"boss_diameter": "15 mm", "report_units": "inch"},
        {"temperature": "100 degC"},
        {"insert_length": "13 mm"},
        {"tolerance_position": "mean"},
        {"tolerance_position": "basic", "thread": "M10x1.5", "insert_length": "15 mm"},
    ],
)
def test_other_cases_say_one_thing(changes):
    whole = tr.study(cases.read({**cases.load_text(DEMO), **changes}))
    assert list(consistency.of_results(results(whole, with_chances=False))) == []


def criterion(numbers, id_):
    return next(each for each in numbers["criteria"] if each["id"] == id_)


def option(numbers, name):
    return next(each for each in numbers["alternatives"] if each["option"] == name)


#: One value changed in a document that was right, and the two places that a sentence must name.
PLANTED = {
    "conclusion against criteria": (
        lambda n: criterion(n, "margin_separation").update(met=False),
        ("conclusion.failed", "criteria not met"),
    ),
    "conclusion against its own failed criteria": (
        lambda n: n["conclusion"].update(id="does_not_support"),
        ("conclusion.id", "deciding criterion"),
    ),
    "criterion against margins": (
        lambda n: criterion(n, "margin_screw_tension").update(repaired=0.05),
        ("criteria.margin_screw_tension.repaired", "margins"),
    ),
    "margin against demand": (
        lambda n: n["margins"][0].update(margin=9.9),
        ("margins.", "capacity over its demand"),
    ),
    "strength against modes": (
        lambda n: n["states"]["repaired"].update(strength_N=1.0),
        ("states.repaired.strength_N", "lowest mode"),
    ),
    "criterion against strength": (
        lambda n: criterion(n, "stripping_strength").update(repaired=1.0),
        ("criteria.stripping_strength.repaired", "states.repaired.pull_out_N"),
    ),
    "recommendation against alternatives": (
        lambda n: n["required_insert"].update(diameters=1.0),
        ("required_insert 1 D", "option"),
    ),
    "alternatives against strength": (
        lambda n: option(n, "wire-insert-1.5D").update(pull_out_N=1.0),
        ("alternatives.wire-insert-1.5D.pull_out_N", "states.repaired"),
    ),
    "rejection beside support": (
        lambda n: option(n, "reject").update(assessment="proposed"),
        ("alternatives reject the part", "conclusion"),
    ),
    "sheet against criterion": (
        lambda n: n["workshop"].update(drill_depth_mm=20.0),
        ("criteria.drilled_depth", "workshop.drill_depth_mm"),
    ),
    "sheet against insert hole": (
        lambda n: n["workshop"].update(minor_diameter_max_mm=8.5361),
        ("workshop.minor_diameter_max_mm", "insert_hole.minor_max_mm"),
    ),
    "torque against tightening": (
        lambda n: n["tightening"]["states"]["repaired"].update(set_max=30.0),
        ("criteria.torque_window.values.high", "tightening.states.repaired.set_max"),
    ),
    "plateau of the load-slip curve against modes": (
        lambda n: n["load_slip"]["repaired"].update(plateau_N=1.0),
        ("load_slip.repaired.plateau_N", "states.repaired"),
    ),
    "least strength of the parent against conclusion": (
        lambda n: n["minimum_parent"].update(outcome="needed"),
        ("minimum_parent holds", "conclusion.id supports"),
    ),
    "criterion against its own margin": (
        lambda n: criterion(n, "margin_screw_tension").update(met=False),
        ("criteria.margin_screw_tension.met", "not negative"),
    ),
    "pull-out strength against modes": (
        lambda n: n["states"]["original"].update(pull_out_N=1.0),
        ("states.original.pull_out_N", "lowest thread"),
    ),
    "ratio against strengths": (
        lambda n: n["comparison"].update(pull_out_ratio=2.0),
        ("comparison.pull_out_ratio", "ratio of pull_out_N"),
    ),
    "certified minimum against margins": (
        lambda n: criterion(n, "certified_minimum").update(repaired=9.9),
        ("criteria.certified_minimum.repaired", "least of margins"),
    ),
    "no insert proposed beside support": (
        lambda n: option(n, "wire-insert-1.5D").update(assessment="acceptable"),
        ("alternatives propose the insert", "conclusion supports it"),
    ),
    "alternatives against engaged length": (
        lambda n: option(n, "wire-insert-1.5D").update(engaged_mm=1.0),
        ("alternatives.wire-insert-1.5D.engaged_mm", "states.repaired.engagement_mm"),
    ),
    "engaged length against budget": (
        lambda n: n["states"]["original"]["budget"][0].update(mm=1.0),
        ("states.original.engagement_mm", "budget"),
    ),
}


@pytest.mark.parametrize("planted", PLANTED)
def test_a_planted_contradiction_is_found_and_named(numbers, planted):
    change, places = PLANTED[planted]
    changed = copy.deepcopy(numbers)
    change(changed)
    found = list(consistency.of_results(changed))
    assert any(all(place in each for place in places) for each in found), found


def test_tables_and_equations_of_another_case_are_found(study, numbers, markdown):
    other = tr.study(cases.read({**cases.load_text(DEMO), "engagement": "10 mm"}))
    for part in (
        conclusion.criteria_table(other).markdown(),
        conclusion.options_table(other).markdown(),
        conclusion.modes_table(other).markdown(),
        comparison.modes_table(other).markdown(),
        comparison.alternatives_table(other).markdown(),
        comparison.margins_table(other).markdown(),
        comparison.methods_table(other).markdown(),
        equations.strength(other).data,
    ):
        found = list(consistency.contradictions(study, numbers, part, {}))
        assert found and "of the notebook" in found[0]
    assert any(equations.every(study).values())


def test_a_notebook_with_another_conclusion_is_found(study, numbers):
    other = tr.study(cases.read({**cases.load_text(DEMO), "design_load": "30 kN"}))
    text = conclusion.conclusion(other).data
    (found,) = consistency.contradictions(study, numbers, text, {})
    assert "another conclusion than results.json" in found
    with pytest.raises(ReportError, match=r"contradicts itself: .*; nothing was published"):
        consistency.check(consistency.contradictions(study, numbers, text, {}))


def test_a_format_that_lost_the_conclusion_is_found(study, numbers, markdown, tmp_path):
    said = words.sentence(study.statements[0], system="both")
    page = tmp_path / "report.html"
    page.write_text(f"<p>{said}</p>")
    assert list(consistency.contradictions(study, numbers, markdown, {"html": page})) == []
    page.write_text(f"<p>{said.replace('supports', 'does not support')}</p>")
    (found,) = consistency.contradictions(study, numbers, markdown, {"html": page})
    assert "report.html does not" in found


@pytest.mark.usefixtures("at_once")
def test_a_contradiction_stops_publication(tmp_path, monkeypatch, plain):
    """The file says that the repair is refused, its criteria that it is not."""
    from thread_repair.report import subjects

    def wrong(*arguments, **named):
        document = results(*arguments, **named)
        document["conclusion"]["id"] = "does_not_support"
        return document

    monkeypatch.setattr(subjects, "results", wrong)
    case = tmp_path / "case.yaml"
    case.write_text(
        "thread: M8x1.25\nscrew: '8.8'\nparent: 6061-T6\nengagement: 12 mm\ninsert_length: 1.5 D\n"
    )
    job = Job(case=case, name="x", notebook=plain, out=tmp_path / "out", formats=("html",))
    (outcome,) = batch.run_batch([job])
    (fault,) = outcome.faults
    assert fault.startswith("the report contradicts itself: conclusion.id")
    assert not any((tmp_path / "out").glob("[!.]*"))


@pytest.fixture
def of_a_part_of_the_case(tmp_path, plain):
    """Build a notebook that leaves out the temperature of its case, in the units of its own."""

    def build(shown, about):
        book = nbformat.read(plain, as_version=4)
        (parameters,) = (c for c in book.cells if "parameters" in c.metadata.get("tags", ()))
        parameters.source = 'thread = screw = parent = engagement = insert_length = ""'
        calls = "from thread_repair.report.blocks import conclusion, equations"
        study = "study = tr.study(tr.from_namespace(globals()))"
        code = f"import thread_repair as tr\n{calls}\n{study}\n{shown}"
        book.cells = [parameters, nbformat.v4.new_code_cell(code)]
        book.metadata["thread_repair"] = {"about": about}
        nbformat.write(book, tmp_path / "part.ipynb")
        case = tmp_path / "case.yaml"
        case.write_text(
            "thread: M8x1.25\nscrew: '8.8'\nparent: 6061-T6\nengagement: 12 mm\n"
            "insert_length: 1.5 D\nreport_units: inch\ntemperature: 150 degC\n"
        )
        out = tmp_path / "out"
        job = Job(case=case, name="x", notebook=tmp_path / "part.ipynb", out=out, formats=("html",))
        (outcome,) = batch.run_batch([job])
        return outcome.faults

    return build


@pytest.mark.parametrize(
    ("shown", "about", "held"),
    [
        ("equations.parent_thread(study)", "teaching", False),
        ("equations.parent_thread(study)", "", True),
        ("conclusion.conclusion(study)", "teaching", True),
    ],
)
@pytest.mark.usefixtures("at_once")
def test_what_teaches_is_not_held_against_the_whole_case(of_a_part_of_the_case, shown, about, held):
    faults = of_a_part_of_the_case(shown, about)
    assert [each.partition(":")[0] for each in faults] == ["the report contradicts itself"] * held


def test_the_notebook_that_teaches_says_that_it_uses_a_part_of_the_case():
    book = nbformat.read(DEMO.parents[1] / "notebooks" / "why_inserts.ipynb", as_version=4)
    assert book.metadata["thread_repair"]["about"] == "teaching"
    assert "what a case states besides" in book.cells[0].source
