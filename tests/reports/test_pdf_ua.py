"""The PDFs keep the rules of ISO 14289-1 (PDF/UA-1), as a checker that is not ours sees them."""

import re

import page as ua
import pypdf
import pytest
from pypdf.generic import ArrayObject, DictionaryObject, NameObject

REPORTS = [
    ("repair_justification", "demo-rig-plate"),
    ("design_review", "demo-rig-plate"),
    ("hole_preparation", "demo-rig-plate"),
    ("concession_sheet", "demo-rig-plate"),
    ("pull_test_evidence", "pull-tests-demo"),
]


def checked(file):
    return ua.validate_pdf(file, profile=ua.ValidationProfile.PDF_UA_1)


@pytest.mark.slow
@pytest.mark.parametrize(("notebook", "case"), REPORTS)
def test_a_shipped_report_breaks_no_rule(shipped_report, notebook, case):
    found = checked(shipped_report(notebook, case) / f"{notebook}.pdf")
    print(f"{notebook}: {found.rules.passed} of {found.rules.total} rules passed")
    assert [(fault.rule_id, fault.message) for fault in found.failures] == []
    assert found.is_compliant and found.rules.total > 100


def without_title(root):
    words = root["/Metadata"].get_data()
    short = re.sub(rb"<dc:title>.*?</dc:title>", b"", words, flags=re.DOTALL)
    assert short != words
    root["/Metadata"].get_object().set_data(short)


def without_mark(root):
    del root["/MarkInfo"]


def without_language(root):
    del root["/Lang"]


def without_alternative(root):
    pending = [root["/StructTreeRoot"]]
    while pending:
        here = pending.pop()
        if isinstance(here, ArrayObject):
            pending.extend(kid.get_object() for kid in here)
        elif isinstance(here, DictionaryObject):
            if here.get("/S") == "/Figure":
                here.pop(NameObject("/Alt"))
                return
            if "/K" in here:
                pending.append(here["/K"])
    raise AssertionError("no figure")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (None, None),
        (without_title, "title"),
        (without_mark, "Marked|MarkInfo"),
        (without_language, "[Ll]ang"),
        (without_alternative, "Figure|[Aa]lt"),
    ],
)
def test_the_checker_sees_what_is_taken_away(shipped_report, tmp_path, damage, said):
    file = shipped_report("hole_preparation") / "hole_preparation.pdf"
    writer = pypdf.PdfWriter(clone_from=file)
    if damage:
        damage(writer.root_object)
    writer.write(tmp_path / "again.pdf")
    found = checked(tmp_path / "again.pdf")
    for fault in found.failures:
        print(fault.rule_id, fault.message)
    if damage is None:
        assert found.is_compliant  # writing again alone breaks nothing
    else:
        assert any(re.search(said, fault.message) for fault in found.failures)


def marks(node, page=None):
    """The marks of content in the order of the tags, each with its page."""
    node = node.get_object()
    if isinstance(node, ArrayObject):
        for kid in node:
            yield from marks(kid, page)
    elif isinstance(node, DictionaryObject):
        page = node.raw_get("/Pg") if "/Pg" in node else page
        if node.get("/Type") == "/MCR":
            yield page, int(node["/MCID"])
        elif "/K" in node:
            yield from marks(node.raw_get("/K"), page)
    elif isinstance(node, int):
        yield page, int(node)


@pytest.mark.slow
def test_title_and_contents_are_read_in_the_order_in_which_they_stand(
    shipped_report, shipped_pages
):
    reader = pypdf.PdfReader(shipped_report("design_review") / "design_review.pdf")
    first, second = reader.pages[:2]
    assert "Contents" in shipped_pages("design_review")[1]
    tags = list(marks(reader.trailer["/Root"]["/StructTreeRoot"]))
    for page in (first, second):
        painted = [int(n) for n in re.findall(rb"/MCID (\d+)", page.get_contents().get_data())]
        tagged = [mark for at, mark in tags if at == page.indirect_reference]
        assert len(tagged) > 50 and tagged == painted
