"""The browser, or why there is none."""

import os

import lab
import pytest


@pytest.fixture(scope="module")  # its loop of events runs on: in other files none could begin
def browser():
    absent = lab.missing()
    if absent and os.environ.get("CI"):
        pytest.fail(absent)
    if absent:
        pytest.skip(absent)
    with lab.browser() as found:
        yield found
