"""Notebooks that pytest --nbval-lax leaves out, because a test builds a report of the same cells.

Run as committed remain those that no test builds or that a reader opens first: the justification,
the workbook and the two of the class.
"""

#: Notebook and, in the folder of the tests, the file that builds it.
BUILT = {
    "concession_sheet": "test_concession.py",
    "design_review": "reports/test_pdf_ua.py",
    "hole_preparation": "reports/test_pdf_ua.py",
    "letter": "reports/test_first_page.py",
    "pull_test_evidence": "reports/test_pdf_ua.py",
    "submission": "jobs/test_four_holes.py",
    "verification": "test_verification.py",
}
collect_ignore = [f"{name}.ipynb" for name in BUILT]
