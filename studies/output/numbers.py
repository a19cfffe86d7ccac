"""results.json: every number of a result under a key that carries its unit."""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Mapping, Sequence
from importlib.metadata import PackageNotFoundError, version

import numpy as np

from studies.results import Result
from studies.section_parts import KINDS

SCHEMA = 1
LIBRARIES = ("trayfield", "gmsh", "matplotlib", "meshio", "numpy", "scikit-fem", "scipy", "shapely")


def results_document(result: Result) -> dict[str, object]:
    """The content of results.json as plain data: SI units, phasors as [real, imaginary], rms."""
    study = result.study
    return {
        "schema": SCHEMA,
        "title": study.title,
        "frequency_hz": study.frequency,
        "software": dict(software_versions()),
        "receptors": plain(result.receptors),
        "losses": plain(result.losses),
        "loss_totals": {f"{kind}_w_per_m": result.loss_total(kind) for kind in KINDS},
        "parts": plain(result.parts),
        "phases": plain(result.phases),
        "sequence_impedance": plain(result.sequence_impedance),
        "ladder": plain(result.ladder),
        "zones": plain(result.zones),
        "limit_distances": plain(result.limit_distances),
        "saturation": plain(result.saturation),
        "current_sweep": plain(result.current_sweep),
        "order_search": plain(result.order_search),
        "route": plain(result.route),
        "charging": plain(result.charging),
        "faults": plain(result.faults),
        "fault_pairs": plain(result.fault_pairs),
        "fault_design": plain(result.fault_design),
        "traverses": plain(result.traverses),
        "accuracy": plain(result.accuracy),
        "checks": plain(result.checks),
        "cautions": list(result.cautions),
    }


def results_text(result: Result, files: Sequence[str] = ()) -> str:
    """Text of results.json, with the names of the other files of the run; the same result gives the same bytes."""
    document = results_document(result) | {"files": list(files)}
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def software_versions() -> Mapping[str, str]:
    """Versions of the program and of the libraries that its numbers rest on."""
    found = {}
    for name in LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed as a package"
    return found


def plain(value: object) -> object:
    """Dataclasses, arrays and phasors as what JSON holds; what is not finite becomes null."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [plain(entry) for entry in value]
    if isinstance(value, complex | np.complexfloating):
        return [plain(float(value.real)), plain(float(value.imag))]
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    return value
