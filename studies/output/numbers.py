"""results.json: every number of a result under a key that carries its unit."""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Callable, Mapping, Sequence
from functools import cache, partial
from importlib.metadata import PackageNotFoundError, version
from operator import attrgetter

import numpy as np

from studies.answers.answers import Answers
from studies.answers.registry import ANSWERS
from studies.section.parts import KINDS
from studies.text.failures import collected, guarded, merged

SCHEMA = 1
LIBRARIES = ("trayfield", "gmsh", "matplotlib", "meshio", "numpy", "scipy", "shapely")


def results_document(result: Answers) -> dict[str, object]:
    """The content of results.json as plain_data data: SI units, phasors as [real, imaginary], rms."""
    study = result.study
    found: dict[str, object] = {"schema": SCHEMA, "title": study.title, "frequency_hz": study.frequency}
    with collected() as failures:
        for key, content in CONTENTS.items():
            found[key] = guarded(f"{key} in results.json", partial(_content, content, result), None)
    return found | {"failures": [{"what": one.what, "why": one.why} for one in merged(result.failures, failures)]}


def _content(content: Callable[[Answers], object], result: Answers) -> object:
    return plain_data(content(result))


@cache
def software_versions() -> Mapping[str, str]:
    """Versions of the program and of the libraries that its numbers rest on."""
    found = {}
    for name in LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed as a package"
    return found


OWN: Mapping[str, Callable[[Answers], object]] = {
    "software": lambda result: dict(software_versions()),
    "loss_totals": lambda result: {f"{kind}_w_per_m": result.loss_total(kind) for kind in KINDS},
    "accuracy": lambda result: result.accuracy,
    "checks": lambda result: result.checks,
}
"""Keys of results.json beside those of the answers, with what they hold."""


CONTENTS: Mapping[str, Callable[[Answers], object]] = {
    **OWN,
    **{answer.key: attrgetter(answer.key) for answer in ANSWERS if answer.kept},
}
"""Keys of results.json with what they hold; one that cannot be written is null, and named among the failures."""


def results_text(result: Answers, files: Sequence[str] = ()) -> str:
    """Text of results.json, with the names of the other files of the run; the same result gives the same bytes."""
    document = results_document(result) | {"files": list(files)}
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def plain_data(value: object) -> object:
    """Dataclasses, arrays and phasors as what JSON holds; what is not finite becomes null."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain_data(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, np.ndarray):
        return plain_data(value.tolist())
    if isinstance(value, Mapping):
        return {str(key): plain_data(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [plain_data(entry) for entry in value]
    if isinstance(value, complex | np.complexfloating):
        return [plain_data(float(value.real)), plain_data(float(value.imag))]
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    return value if value is None else str(value)
