"""What a case is known by: equal for equal studies and versions, different where any number could differ."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping

from studies.compare.measured import KEPT
from studies.compare.quantities import QUANTITIES
from studies.study.file import Study, beside

NOT_OF_THE_NUMBERS = frozenset({"title", "case", "document", "source_name", "source_text", "source_sha256"})
"""Fields of a study on which no number depends."""


def case_key(study: Study, versions: Mapping[str, str]) -> str:
    """Key of a study among stored cases: SHA-256 of its SI data, of its files and of the versions."""
    document = {
        "study": study.model_dump(mode="json", exclude=set(NOT_OF_THE_NUMBERS)),
        "files": {name: _digest_of_file(study, name) for name in study.files()},
        "versions": dict(versions),
        "quantities": [quantity.key for quantity in QUANTITIES],  # what was stored with fewer is not enough
        "kept": KEPT,
    }
    text = json.dumps(document, sort_keys=True, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _digest_of_file(study: Study, name: str) -> str:
    return hashlib.sha256(beside(study, name).read_bytes()).hexdigest()
