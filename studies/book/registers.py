"""Pages that are made from registers: formulas, keys of the study file."""

from __future__ import annotations

import inspect
import re
from collections import Counter
from collections.abc import Mapping

from studies.formulas.formula import Formula, all_formulas
from studies.study.key_reference import key_reference
from studies.text.markdown import escaped

FORMULAS = (
    "Every closed form that stands beside a finite-element number, by subject. Each page says what it gives, in which "
    "range it is as accurate as stated, and where it comes from. A report says of each formula how far the study lies "
    "outside its range."
)
SECTIONS = re.compile(r"^([A-Z]\w+)\n-+\n(.*?)(?=^[A-Z]\w+\n-+\n|\Z)", re.MULTILINE | re.DOTALL)
"""Sections of a docstring: heading and text."""
MARKS = (
    "Marks of sources: [C] seen or recomputed, [M] named from memory, [D] derived here, [P] common practice without a "
    "source."
)


def formula_pages() -> dict[str, str]:
    """A page for each formula, and one that lists them by subject."""
    formulas = all_formulas()
    counted = Counter(formula.quantity for formula in formulas.values())
    pages = {f"formulas/{name}.md": _formula_page(one, counted[one.quantity] > 1) for name, one in formulas.items()}
    return pages | {"formulas/index.md": _formula_index(formulas)}


def _formula_index(formulas: Mapping[str, Formula]) -> str:
    modules: dict[str, list[Formula]] = {}
    for formula in formulas.values():
        modules.setdefault(formula.function.__module__, []).append(formula)
    lines = [
        "# When a formula may be trusted",
        "",
        FORMULAS,
        "",
        MARKS,
    ]
    for module, own in modules.items():
        title = (inspect.getdoc(inspect.getmodule(own[0].function)) or module).partition("\n")[0].rstrip(".")
        lines += ["", f"## {escaped(title)}", "", "```{toctree}", ":maxdepth: 1", ""]
        lines += [*(formula.name for formula in own), "```"]
    return "\n".join(lines) + "\n"


def _formula_page(formula: Formula, shared: bool) -> str:
    """shared: Whether another formula gives the same quantity, so that the title has the name too."""
    summary, *rest = (inspect.getdoc(formula.function) or formula.quantity).split("\n\n")
    sections = dict(
        re.findall(r"^([A-Z]\w+)\n-+\n(.*?)(?=^[A-Z]\w+\n-+\n|\Z)", "\n\n".join(rest), re.MULTILINE | re.DOTALL)
    )
    title = formula.quantity[0].upper() + formula.quantity[1:]
    lines = [f"# {escaped(title)}{f' (`{formula.name}`)' if shared else ''}", "", escaped(summary), ""]
    lines += [
        f"**Unit** {escaped('a ratio' if formula.unit == '-' else formula.unit)}",
        "",
        f"**Range** {escaped(formula.valid_for)}",
        "",
    ]
    if formula.limits:
        lines += ["**Told when a study lies outside**", ""]
        for limit in formula.limits:
            ends = [f"from {limit.least:g}"] if limit.least > -1e300 else []
            ends += [f"up to {limit.most:g}"] if limit.most < 1e300 else []
            lines.append(f"- {escaped(limit.measure)} {' '.join(ends)}{escaped(limit.unit)}: {escaped(limit.reason)}")
        lines.append("")
    lines += [f"**Source** {escaped(formula.source)}", "", MARKS, ""]
    lines += [f"**In Python** `{formula.function.__module__}.{formula.name}`", ""]
    for heading, words in (("Parameters", "Inputs"), ("Returns", "Result")):
        lines += [f"## {words}", "", *_entries(sections.get(heading, "")), ""]
    if notes := sections.get("Notes", "").strip():
        lines += ["## How it is made", "", escaped(notes), ""]
    if example := sections.get("Examples", "").strip():
        lines += ["## Example", "", "```python", example, "```", ""]
    return "\n".join(lines)


def _entries(text: str) -> list[str]:
    """Inputs or results, one an entry of a list."""
    return [
        f"- `{name}`{escaped(shape)}: {escaped(' '.join(meaning.split()))}"
        for name, shape, meaning in re.findall(r"^(\w+) : \w+(.*)\n((?:    .*\n?|\n)+)", text, re.MULTILINE)
    ]


def page_of_keys() -> str:
    """All keys of the study file."""
    opening = "Every key of a study file, from the models that read it. A quantity is a text with its unit."
    return f"# Keys of the study file\n\n{opening}\n\n{key_reference().replace('### ', '## ')}"
