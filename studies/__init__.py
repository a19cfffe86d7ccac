"""Studies of single-core power cables on tray: study file, formulas, results, report and command."""

from __future__ import annotations

import sys
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from studies.runner import run
    from studies.study.reading import load, loads

__all__ = ["load", "loads", "run"]


def __getattr__(name: str) -> object:
    """Import what is asked for on its first use: the libraries behind it take a moment."""
    if name in ("load", "loads"):
        import studies.study.reading as reading

        return getattr(reading, name)
    if name == "run":
        from studies.runner import run

        return run
    raise AttributeError(f"module 'studies' has no attribute {name!r}")


def __dir__() -> list[str]:
    """Names that are offered, also those not yet imported."""
    return sorted({*globals(), *__all__})


class _Package(ModuleType):
    """The package, where `run` stays the function: importing the module `studies.run` would put that in its place."""

    def __setattr__(self, name: str, value: object) -> None:
        if not (name == "run" and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Package
