"""Studies that a new study file starts with: a commented one with every key, and short ones for usual jobs."""

import re
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

STARTER = Path(__file__).with_suffix(".toml").read_text(encoding="utf-8")
"""Text of the starter study; it runs as it stands."""
TEMPLATES: Mapping[str, str] = MappingProxyType(
    {
        path.stem: path.read_text(encoding="utf-8")
        for path in sorted((Path(__file__).parent / "templates").glob("*.toml"))
    }
)
"""Texts of the templates by name; the first words of each are the question that it answers."""


def question(template: str) -> str:
    """The question that a template answers."""
    return question_of(TEMPLATES[template])


def question_of(file: str) -> str:
    """The question that a study file answers, from the comment at its head."""
    head = " ".join(line.removeprefix("#").strip() for line in file.partition("\n\n")[0].splitlines())
    text = re.sub(r"^The question: | Change the numbers.*", "", " ".join(head.split()))
    return f"{text[:1].upper()}{text[1:]}"
