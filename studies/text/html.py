"""A document as one self-contained HTML file, and a table as a fragment for a notebook."""

from __future__ import annotations

import base64
from functools import cache
from hashlib import sha256
from html import escape
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from studies.text.blocks import Document, Readable, Section, Text
from studies.text.grid import Cell, Grid, Head, cell_text, tone_of
from studies.text.numbering import numbering
from studies.text.printable import printable
from studies.text.table import Table, brief_grid, full_grid

TONES = {"good": "font-weight: 600", "bad": "font-weight: 600; color: #a30f1a"}
"""Styles of emphasised cells in a fragment without a style sheet."""


PAGE_FOOT = """
@page {{
  @bottom-left {{ content: {words}; font: 7.5pt sans-serif; color: #4d5761; }}
  @bottom-right {{ content: "page " counter(page) " of " counter(pages); font: 7.5pt sans-serif; color: #4d5761; }}
}}
"""
"""Style of the foot of a printed page."""
IMAGE_KINDS = {b"\x89PNG": "image/png", b"<?xml": "image/svg+xml", b"<svg": "image/svg+xml"}
"""Media types of pictures by their first bytes."""


def plain_page(title: str, text: str) -> str:
    """A page of plain text instead of a report that could not be written."""
    head = f'<!DOCTYPE html>\n<html lang="en">\n<head><meta charset="utf-8"><title>{escape(title)}</title></head>\n'
    page = f"{head}<body>\n<h1>{escape(title)}</h1>\n<pre>{escape(text)}</pre>\n</body>\n</html>\n"
    return printable(page, "\n\t")


def render(
    title: str, subtitle: str, document: Document, language: str = "en", footer: str = "", for_print: bool = False
) -> str:
    """A document as the text of an HTML file.

    `document`: its contents; sections of the first level are listed in a table of contents.
    `language`: language of the words.
    `footer`: words at the foot of each printed page, before its number.
    `for_print`: whether the page is only printed: without the script and what it reads.

    The page has its pictures inside; it loads no other file.
    """
    sections = [block for block in document if isinstance(block, Section)]
    template, style, script = _template()
    script = script if _is_readable(document) and not for_print else ""
    style += PAGE_FOOT.format(words=_css_text(footer))
    page = template.render(
        title=title,
        subtitle=subtitle,
        blocks=document,
        sections=sections,
        style=style,
        script=script,
        policy=_policy(style, script),
        language=language,
        numbers=numbering(document),
    )
    return printable(page, "\n\t")  # characters in the study's text may reverse the reading direction around it


def _is_readable(blocks: Document) -> bool:
    return any(
        isinstance(block, Readable) or (isinstance(block, Section) and _is_readable(block.blocks)) for block in blocks
    )


def _policy(style: str, script: str) -> str:
    """What the page may load and run: pictures within it, its own style and script, which the hashes name."""
    parts = ["default-src 'none'", "img-src data:", f"style-src {_source(style)}"]
    return "; ".join([*parts, f"script-src {_source(script)}"] if script else parts)


def _source(text: str) -> str:
    return f"'sha256-{base64.b64encode(sha256(text.encode()).digest()).decode('ascii')}'"


@cache
def _template() -> tuple[Template, str, str]:
    """The page without its contents, its style and the script that reads maps."""
    environment = Environment(
        loader=PackageLoader("studies", "text"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
    )
    environment.filters["kind"] = lambda block: type(block).__name__
    environment.filters["grid"] = full_grid
    environment.filters["judged"] = _is_judged
    environment.filters["unbroken"] = lambda text: text.replace(" ± ", "\u00a0±\u00a0")
    environment.filters["heading"] = lambda head: (
        f"{head.heading} ({head.unit_above})" if head.unit_above else head.heading
    )
    environment.filters["source"] = _image_source
    loader = PackageLoader("studies", "text")
    style, script = (loader.get_source(environment, name)[0] for name in ("page.css", "reader.js"))
    return environment.get_template("page.html"), style, script


def _is_judged(grid: Grid) -> bool:
    """Whether a table has a verdict: on a narrow screen each of its rows is a card, so that none is out of sight."""
    return any(tone_of(cell) for row in grid.rows for cell in row)


def _image_source(picture: bytes) -> str:
    kind = next((kind for start, kind in IMAGE_KINDS.items() if picture.startswith(start)), "image/png")
    return f"data:{kind};base64,{base64.b64encode(picture).decode('ascii')}"


def _css_text(text: str) -> str:
    """Text as a string of a style sheet inside a page, every sign with a meaning in either as its number."""
    return '"' + "".join(c if c.isalnum() or c in " .,:;()-–" else f"\\{ord(c):06x}" for c in text) + '"'


def as_html(block: Table[Any] | Grid | Text | str) -> str:
    """A table in brief, a paragraph or a list as a fragment of HTML with its own styles, for a notebook."""
    if isinstance(block, str):
        return printable(f"<p>{escape(block)}</p>", "\n\t")
    if isinstance(block, Text):
        opening = f"<p>{escape(block.opening)}</p>" if block.opening else ""
        tag = "li" if block.form == "list" else "p"
        lines = "".join(f"<{tag}>{escape(line)}</{tag}>" for line in block.paragraphs)
        return printable(opening + (f"<ul>{lines}</ul>" if tag == "li" else lines), "\n\t")
    grid = brief_grid(block)
    head = "".join(f'<th style="{_style(column)}">{_heading(column)}</th>' for column in grid.columns)
    styles = [_style(column) for column in grid.columns]
    rows = (
        "".join(f'<td style="{style}">{_cell(cell)}</td>' for style, cell in zip(styles, row, strict=True))
        for row in grid.rows
    )
    body = "".join(f"<tr>{row}</tr>" for row in rows)
    caption = f'<caption style="text-align: left">{escape(grid.caption)}</caption>' if grid.caption else ""
    note = f"<p><small>{escape(grid.note)}</small></p>" if grid.note else ""
    whole = f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>{note}"
    return printable(whole, "\n\t")


def _cell(cell: str | Cell) -> str:
    text, tone = escape(cell_text(cell)), tone_of(cell)
    return f'<span class="{tone}" style="{TONES[tone]}">{text}</span>' if tone else text


def _style(column: Head) -> str:
    return f"text-align: {'right' if column.numeric else 'left'}; padding: 0.1em 0.6em"


def _heading(column: Head) -> str:
    unit = f' <span class="unit">({escape(column.unit_above)})</span>' if column.unit_above else ""
    return f"{escape(column.heading)}{unit}"
