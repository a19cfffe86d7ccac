"""Tests of places without permission, for users who are held to permissions."""

import tempfile
from pathlib import Path

import pytest


def _may_write_anywhere() -> bool:
    """True for root with all its privileges, whatever the mode of a folder."""
    with tempfile.TemporaryDirectory() as name:
        closed = Path(name) / "closed"
        closed.mkdir(mode=0o500)
        try:
            (closed / "file").touch()
        except PermissionError:
            return False
    return True


obeys_permissions = pytest.mark.skipif(_may_write_anywhere(), reason="nothing is forbidden to this user")
