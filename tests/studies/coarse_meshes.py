"""Meshes of half the fineness, for tests of what is said, drawn and filed: it holds on any mesh."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from studies.solve import accuracy, levels


@contextmanager
def coarse_meshes(share: float = 0.5) -> Iterator[None]:
    """A quarter of the elements, and a third of the time of a study whose steel saturates."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(accuracy, "FINENESS", tuple(share * fineness for fineness in levels.FINENESS))
        yield
