"""A pytest plugin for the mutation run: what `geometry` and `fem` once gave they give again to the same arguments.

No faults are planted in them there, and a mutant runs in a process that is forked off after the tests ran without one,
so that it meshes and solves only what its fault makes another.
"""

from __future__ import annotations

import dataclasses
import functools
import hashlib
import importlib
import pickle
import sys
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from fem.electrostatic import solve_unit_potentials
from fem.field import FieldProbe
from fem.nonlinear import solve_saturating
from fem.solve import solve_unit_voltages
from geometry.meshing import mesh_section

SLOW = (mesh_section, solve_unit_voltages, solve_saturating, solve_unit_potentials)
OF_PROBE = ("flux_density", "free_distance")
COMPUTED = {word: getattr(FieldProbe, word) for word in OF_PROBE}
KEPT: dict[bytes, Any] = {}
"""What was given, by a digest of what was asked."""


def _remembered(asked: object, compute: Callable[[], Any]) -> Any:
    """What was given before, or is computed; an array is given as a copy, which the one who asks may change."""
    key = hashlib.blake2b(pickle.dumps(asked)).digest()
    if key not in KEPT:
        KEPT[key] = compute()
    return KEPT[key].copy() if isinstance(KEPT[key], np.ndarray) else KEPT[key]


def _bare(asked: object) -> object:
    """A mesh without what it keeps of what was asked of it; other things as they are."""
    if not hasattr(asked, "triangles"):
        return asked
    return [(field.name, getattr(asked, field.name)) for field in dataclasses.fields(asked)]  # type: ignore[arg-type]


def _function(compute: Callable[..., Any]) -> Callable[..., Any]:
    @functools.wraps(compute)
    def remember(*arguments: Any, **named: Any) -> Any:
        asked = [_bare(one) for one in arguments], {name: _bare(one) for name, one in named.items()}
        return _remembered((compute.__name__, asked), lambda: compute(*arguments, **named))

    return remember


def _method(compute: Callable[..., Any]) -> Callable[..., Any]:
    @functools.wraps(compute)
    def remember(self: FieldProbe, *arguments: Any) -> Any:
        own = self._fields
        asked = own.mesh.points, own.materials, own.omega, own.earth, own.exterior.reference_radius
        return _remembered((compute.__name__, asked, arguments), lambda: compute(self, *arguments))

    return remember


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """Put what remembers in the place of what computes, wherever it was imported."""
    importlib.import_module("studies.runner")  # which is imported when the first study is solved
    replaced = {id(compute): _function(compute) for compute in SLOW}
    for name, module in list(sys.modules.items()):
        if name.startswith(("studies", "fem", "geometry", "tests")):
            for word, found in list(vars(module).items()):
                if id(found) in replaced and module is not sys.modules[__name__]:
                    setattr(module, word, replaced[id(found)])
    for word in OF_PROBE:
        setattr(FieldProbe, word, _method(COMPUTED[word]))
