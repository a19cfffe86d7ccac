"""The examples by name, for tests that read their solutions."""

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest

import studies

EXAMPLES = Path(studies.__file__).parent / "examples"
NAMES = sorted(path.stem for path in EXAMPLES.glob("*.toml"))


def of_examples(names: Iterable[str] = NAMES) -> Callable[[Any], Any]:
    """Runs a test for each of some examples, with its result as the argument `solved`.

    The tests of one example have one group, so that worker processes solve it once (`pytest --dist loadgroup`).
    """
    marks = [pytest.param(name, id=name, marks=pytest.mark.xdist_group(f"example {name}")) for name in names]
    return pytest.mark.parametrize("solved", marks, indirect=True)
