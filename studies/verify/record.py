"""The record of a verification: two files that are filed with a report, both written or neither."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from studies.output.files import write_text
from studies.output.folder import FolderKind, whole_folder
from studies.output.numbers import software_versions
from studies.verify.checks import CheckOutcome
from studies.verify.table import MARKDOWN, markdown, verification_json

RECORD = FolderKind("a record", "verification.json", lambda folder: True)
"""Beside the results of a run or anything else."""


def write_record(outcomes: Sequence[CheckOutcome], folder: Path) -> None:
    """Write verification.md and verification.json; the same outcomes give the same bytes."""
    software = software_versions()
    texts = {MARKDOWN: markdown(outcomes, software), RECORD.manifest: verification_json(outcomes, software)}
    with whole_folder(folder, RECORD) as new:
        for name, text in texts.items():
            write_text(new / name, text)
