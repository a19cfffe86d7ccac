"""Draws any value of the types of a result: numbers of every size and of the sizes that turn a verdict."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from studies.section.cross_section import cross_section
from studies.section.spectrum import at_component, components
from studies.study.file import Study

LEVEL = "ICNIRP 2010 public"

T = TypeVar("T")
SIZES = {
    "_t": (1e-9, 1e-7, 1e-6, 1e-4, 1e-2),
    "_w_per_m": (1e-4, 0.05, 2.0, 400.0, 5e3),
    "_n_per_m": (0.1, 30.0, 2e3),
    "_v": (0.02, 3.0, 400.0, 2e4),
    "_f_per_m": (1e-10,),
    "_a_per_m": (1e-6, 1e-4),
    "_h_per_m": (3e-7,),
    "_ohm_per_m": (1e-4,),
    "_deg": (200.0,),
    "_a": (0.05, 4.0, 300.0, 2e4),
    "_m": (0.01, 0.4, 30.0),
}
"""Sizes of numbers by the end of their names; each result has one size of each. [SI]"""
SHARES = (1e-9, 4e-4, 0.03, 0.9)
"""Of all other numbers. [-]"""
CLOSE = (1e-3, 0.015, 0.04, 0.6)
"""How far numbers of the same thing lie apart; each result has one. [-]"""
FORMULAS = ("formula_", "line_formula_shared_", "line_formula_", "linear_", "quadratic_", "other_steel_", "gap_")
"""What a name of a number begins with that lies near another one."""
TOGETHER = {
    "load_": ("load_",),
    "run_": ("run_",),
    "neutral_": ("neutral_",),
    "gap_": ("gap_",),
    "cleat": ("cleat_spacing_m", "force_per_cleat_n", "force_per_cleat_error_n"),
    "steel": ("force_without_steel_n_per_m", "force_without_steel_error_n_per_m", "steel_mean_b_t"),
    "voltage": ("largest_voltage_v", "largest_voltage_error_v", "at_m"),
    "distance": ("from_outline_m",),
    "worst": ("worst_",),
    "metal": ("metal",),
    "impedance": ("z_ohm_per_m", "z_error_ohm_per_m"),
}
"""Numbers that are there together or not at all, by what their names begin with."""
WHOLE = ("load_", "run_", "cleat", "steel", "neutral_", "gap_")
"""Those that all rows of a table have, or none."""


class Invention:
    """Draws the rows of one result."""

    def __init__(self, study: Study, seed: int) -> None:
        self.study = study
        self.dice = random.Random(seed)
        self.section = at_component(cross_section(study), components(study)[0])
        self.sizes = {end: self.dice.choice(sizes) for end, sizes in SIZES.items()}
        self.close = self.dice.choice(CLOSE)
        self.gaps: dict[tuple[str, str], float] = {}
        self.places = [*(entry.name for entry in study.receptors), *(zone.name for zone in study.zones)]
        self.limits = [self.number("limit_t") for _ in range(3)]

    def number(self, name: str) -> float:
        """A number of three digits in the size of its name."""
        size = next((size for end, size in self.sizes.items() if name.endswith(end)), None)
        return float(f"{(self.dice.choice(SHARES) if size is None else size) * self.dice.uniform(0.3, 3):.3g}")

    def some(self, rate: float) -> bool:
        return self.dice.random() < rate

    def row(self, kind: type[T], /, **given: Any) -> T:
        """A row with what is given and with invented entries in all other fields."""
        found = dict(given)
        missing: dict[str, bool] = {}
        fields = dataclasses.fields(kind)  # type: ignore[arg-type]
        for field in sorted(fields, key=lambda field: "error" in field.name):  # errors are of what stands already
            if field.name not in found:
                gap = "None" in str(field.type) and self._missing(kind.__name__, field.name, missing)
                found[field.name] = None if gap else self._entry(field.name, str(field.type), found)
        return kind(**found)

    def _entry(self, name: str, kind: str, known: dict[str, Any]) -> Any:
        kind = kind.removesuffix(" | None")
        if kind == "float":
            return self._float(name, known)
        make: dict[str, Callable[[], Any]] = {
            "bool": lambda: self.some(0.5),
            "int": lambda: self.dice.choice((1, 2, 3, 12345)),
            "complex": lambda: complex(self._float(name, known), self.number(name) * self.dice.choice((-1, 1))),
            "str": lambda: f"{name} {self.dice.randint(1, 3)}" if self.some(0.7) else "",
        }
        return make[kind]()

    def _float(self, name: str, known: dict[str, Any]) -> float:
        of = {"error_m": "from_outline_m", "exposure_error": "exposure_index"}.get(name, name.replace("_error", ""))
        if of != name:
            value = known.get(of)
            size = abs(value) if isinstance(value, float | complex) else self.number(of)
            return float(f"{size * self.dice.choice((1e-5, 2e-3, 0.07, 0.3)):.3g}")
        near = next(
            (known[name.removeprefix(start)] for start in FORMULAS if known.get(name.removeprefix(start))), None
        )
        if near is not None and name.startswith(FORMULAS):
            return float(f"{abs(near) * (1 + self.close * self.dice.uniform(-1, 1)):.6g}")
        return self.number(name)

    def _missing(self, row: str, name: str, decided: dict[str, bool]) -> bool:
        """Whether a number is missing, with all that are there together with it."""
        group = next((key for key, starts in TOGETHER.items() if name.startswith(starts)), name.replace("_error", ""))
        whole = group in WHOLE
        rate = self.gaps.setdefault(("" if whole else row, group), self.dice.choice((0.0, 1.0 if whole else 0.4)))
        return decided.setdefault(group, self.some(rate))

    def limited(self, field: str, error: str) -> dict[str, Any]:
        """A field with a limit, or with a level, or with a level that says nothing, or with neither."""
        limit = self.dice.choice((*self.limits, None))
        name = LEVEL if self.some(0.3) else None
        judged = limit is not None
        value = self.number(field) if limit is None else float(f"{limit * self.dice.uniform(0.3, 1.7):.3g}")
        index = self.number("index") if name and self.some(0.7) else None
        return {
            field: value,
            error: float(f"{value * self.dice.choice((1e-3, 0.4)):.3g}"),
            "limit_t": limit,
            "limit_name": name,
            "within_limit": self.some(0.7) if judged else None,
            "exposure_index": index,
            "exposure_error": None if index is None else 0.01 * index,
            "other_steel_within_limit": self.some(0.6) if judged and self.some(0.4) else None,
        }

    def several(self, words: Sequence[str]) -> tuple[str, ...]:
        return tuple(word for word in words if self.some(0.5))
