"""A pytest plugin for the mutation run: what is computed once counts for every test that looks at it.

mutmut notes which functions each test calls, and runs of a mutant only the tests that call it. A module's fixture, or a
function with a cache, computes in the first test that asks for it alone; the others, which look at the same numbers,
would not be run. And what the process that collects the tests has in such a cache must not be there in the process of a
mutant.
"""

from __future__ import annotations

import functools
import os
import sys
import time
from collections.abc import Callable, Generator
from typing import Any

import pytest

CALLED: dict[Any, set[str]] = {}
"""Functions called while a fixture was set up or a cache was filled, by the fixture or the cached function."""
TOOK: dict[Any, float] = {}
"""How long a fixture was set up. [s]"""
CACHED: dict[int, Any] = {}
"""Cached functions of the tests by the identity of what stands in their place."""


def _noted() -> set[str] | None:
    """The set in which mutmut notes calls, while it does so."""
    if os.environ.get("MUTANT_UNDER_TEST") != "stats":
        return None
    from mutmut.state import state

    noted: set[str] = state()._stats
    return noted


def _kept(key: Any, compute: Callable[[], Any]) -> Any:
    """Compute something, keep what it calls by itself and count it for the present test as well."""
    noted = _noted()
    if noted is None:
        return compute()
    before = set(noted)
    noted.clear()
    try:
        return compute()
    finally:
        CALLED.setdefault(key, set()).update(noted)
        noted |= before | CALLED[key]


@pytest.hookimpl(tryfirst=True)
def pytest_collection_finish() -> None:
    """Empty the caches of the tests, and count what filled them for each test that reads them."""
    for module in [module for name, module in sys.modules.items() if name.startswith("tests.") or name == "conftest"]:
        for name, found in list(vars(module).items()):
            if isinstance(found, functools._lru_cache_wrapper):
                found.cache_clear()
                setattr(module, name, CACHED.setdefault(id(found), _read(found)))


def _read(cached: Any) -> Callable[..., Any]:
    """A cached function that counts for all who call it."""

    @functools.wraps(cached)
    def read(*arguments: Any, **named: Any) -> Any:
        return _kept(id(cached), lambda: cached(*arguments, **named))

    read.cache_clear = cached.cache_clear  # type: ignore[attr-defined]
    return read


@pytest.hookimpl(wrapper=True)
def pytest_fixture_setup(fixturedef: pytest.FixtureDef[object]) -> Generator[None, object, object]:
    """Keep what a fixture calls by itself, and how long it takes."""
    noted = _noted()
    if noted is None:
        return (yield)
    before, start = set(noted), time.perf_counter()
    noted.clear()
    try:
        return (yield)
    finally:
        CALLED[fixturedef], TOOK[fixturedef] = set(noted), time.perf_counter() - start
        noted |= before


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_teardown(item: pytest.Item) -> None:
    """Count the calls of its fixtures as those of the test, and their time, as mutmut runs quick tests first."""
    noted = _noted()
    if noted is None or not isinstance(item, pytest.Function):
        return
    from mutmut.state import state

    for definitions in item._fixtureinfo.name2fixturedefs.values():
        for fixture in definitions:
            noted |= CALLED.get(fixture, set())
            state().duration_by_test[item.nodeid] += TOOK.get(fixture, 0.0)
