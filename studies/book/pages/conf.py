"""Configuration of Sphinx for the book: no network, formulas as MathML."""

from typing import Any

from docutils import nodes
from latex2mathml.converter import convert

project = "trayfield"
author = "the trayfield authors"
copyright = author
extensions = ["myst_parser"]
nb_execution_mode = "force"
nb_execution_raise_on_error = True
nb_execution_timeout = 300
myst_enable_extensions = ["dollarmath"]
myst_heading_anchors = 3
html_theme = "furo"
html_title = "trayfield"
html_static_path = ["book.css"]
html_css_files = ["book.css"]
highlight_language = "none"
html_show_sphinx = False
html_copy_source = False
exclude_patterns: list[str] = []
suppress_warnings = ["myst.header"]


def inline_math(self: Any, node: nodes.math) -> None:
    """A formula in a line as MathML."""
    self.body.append(convert(node.astext()))
    raise nodes.SkipNode


def display_math(self: Any, node: nodes.math_block) -> None:
    """A formula of its own as MathML."""
    self.body.append(f'<div class="math">{convert(node.astext(), display="block")}</div>')
    raise nodes.SkipNode


def setup(app: Any) -> None:
    """Show formulas without a script."""
    app.add_node(nodes.math, override=True, html=(inline_math, None))
    app.add_node(nodes.math_block, override=True, html=(display_math, None))
