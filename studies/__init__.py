"""Studies of single-core power cables on tray: study file, formulas, results, report and command."""

from __future__ import annotations

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
