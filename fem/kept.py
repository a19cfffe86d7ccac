"""What follows from a mesh or a solution alone, kept as long as it lives: several frequencies or answers share it."""

from __future__ import annotations

import weakref
from collections.abc import Callable, Hashable
from typing import TypeVar

T = TypeVar("T")

_KEPT: dict[int, dict[Hashable, object]] = {}


def kept_for(mesh: object, key: Hashable, make: Callable[[], T]) -> T:
    """What `make` returns, made once for each mesh and key.

    mesh: Any object that does not change; it is told from an equal one.
    key: All that the value depends on besides the mesh.
    make: Its value must not hold the mesh, which would then never be let go.
    """
    if id(mesh) not in _KEPT:
        _KEPT[id(mesh)] = {}
        weakref.finalize(mesh, _KEPT.pop, id(mesh), None)
    own = _KEPT[id(mesh)]
    if key not in own:
        own[key] = make()
    found: T = own[key]  # type: ignore[assignment]
    return found
