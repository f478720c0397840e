"""The browser, or why there is none."""

import os

import lab
import pytest


@pytest.fixture(scope="session")
def browser():
    absent = lab.missing()
    if absent and os.environ.get("CI"):
        pytest.fail(absent)
    if absent:
        pytest.skip(absent)
    with lab.browser() as found:
        yield found
