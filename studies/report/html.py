"""A document as one HTML file that needs nothing from elsewhere."""

from __future__ import annotations

import base64
from html import escape

from jinja2 import Environment, PackageLoader, StrictUndefined

from studies.printable import printable
from studies.report.blocks import Document, Section


def plain_page(title: str, text: str) -> str:
    """A page of plain text, in place of a report that could not be written."""
    head = f'<!DOCTYPE html>\n<html lang="en">\n<head><meta charset="utf-8"><title>{escape(title)}</title></head>\n'
    page = f"{head}<body>\n<h1>{escape(title)}</h1>\n<pre>{escape(text)}</pre>\n</body>\n</html>\n"
    return printable(page, "\n\t")


def render(title: str, subtitle: str, document: Document, language: str = "en") -> str:
    """A document as the text of an HTML file.

    Parameters
    ----------
    title, subtitle : str
        Heading of the page.
    document : tuple of blocks
        Its contents; sections of the first level are listed in a table of contents.
    language : str
        Language of the words.

    Returns
    -------
    html : str
        The file; pictures are within it, and it asks for no other file.
    """
    environment = Environment(
        loader=PackageLoader("studies", "report"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
    )
    environment.filters["kind"] = lambda block: type(block).__name__
    environment.filters["base64"] = lambda data: base64.b64encode(data).decode("ascii")
    style, _, _ = PackageLoader("studies", "report").get_source(environment, "page.css")
    sections = [block for block in document if isinstance(block, Section)]
    template = environment.get_template("page.html")
    page = template.render(
        title=title, subtitle=subtitle, blocks=document, sections=sections, style=style, language=language
    )
    return printable(page, "\n\t")  # the study's own text may turn the direction of what is read beside it
