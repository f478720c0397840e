"""Pages that are the same for every class: what the calculation cannot tell, and safety."""

from IPython.display import Markdown

from ..errors import looked_up
from ..files import own_text

PAGES = {"cannot-tell": "teaching_cannot_tell.md", "safety": "teaching_safety.md"}


def markdown(name: str) -> str:
    """Return a page as Markdown.

    Raises
    ------
    UnknownNameError
        If there is no such page.
    """
    return own_text(looked_up("page", name, PAGES))


def page(name: str) -> Markdown:
    """Return a page as a notebook shows it."""
    return Markdown(markdown(name))
