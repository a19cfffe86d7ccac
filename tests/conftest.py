"""The tests import each other as `tests.…`: the repository's root must be where Python looks, however pytest starts."""

import sys
from pathlib import Path

import pytest

ROOT = str(Path(__file__).resolve().parent.parent)
if ROOT not in sys.path:
    sys.path.insert(0, ROOT)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Give the quick tests of a file to one worker process, so that what they share is computed once."""
    for item in items:
        if not any(item.iter_markers("xdist_group")) and not any(item.iter_markers("slow")):
            item.add_marker(pytest.mark.xdist_group(item.path.stem))
