"""The book as HTML: written and made pages in one folder, which Sphinx turns into pages that need no network."""

from __future__ import annotations

import re
import shutil
import tempfile
from pathlib import Path

from studies.book.examples import example_pages
from studies.book.registers import formula_pages, page_of_keys
from studies.book.validation import check_page

PAGES = Path(__file__).parent / "pages"
"""Written pages and the configuration of Sphinx."""


def build(folder: Path, *, full: bool = False) -> int:
    """Write the book into a folder; 0 if it was built, and 1 with messages if a page or a link is wrong.

    full: Whether all examples are solved for their pictures, all checks run, and the notebooks executed.
    """
    from sphinx.cmd.build import build_main

    with tempfile.TemporaryDirectory() as made:
        source = Path(made)
        shutil.copytree(PAGES, source, dirs_exist_ok=True)
        pages = {**formula_pages(), "keys.md": page_of_keys(), "checks.md": check_page(full=full)}
        pages |= example_pages(source / "examples", solve=full)
        for name, text in pages.items():
            (source / name).parent.mkdir(exist_ok=True)
            (source / name).write_text(text, encoding="utf-8")
        if not full:
            _as_listings(source / "notebooks")
        reader = ["-D", "extensions=myst_nb"] if full else []
        return int(build_main(["-q", "-W", "--keep-going", *reader, "-b", "html", str(source), str(folder)]))


def cells(notebook: str) -> list[str]:
    """The cells of a notebook, each its Python."""
    return re.findall(r"^```\{code-cell\} python\n(.*?)^```", notebook, re.MULTILINE | re.DOTALL)


def _as_listings(notebooks: Path) -> None:
    """Show the cells of notebooks without executing them."""
    for page in notebooks.glob("*.md"):
        text = page.read_text(encoding="utf-8")
        page.write_text(text.replace("```{code-cell} python", "```python"), encoding="utf-8")
