"""What the register keeps of one formula: where it comes from and where it holds."""

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Limit:
    """One condition under which a formula is as good as it claims."""

    inputs: tuple[str, ...]
    """Parameters of the formula that the condition reads."""
    holds: Callable[..., NDArray[np.bool_]]
    """Whether it holds, called with these parameters by name."""
    reason: str
    """What is the matter where it does not hold."""


@dataclass(frozen=True)
class Formula:
    """One formula of the register."""

    function: Callable[..., Any]
    """The function that computes it."""
    quantity: str
    """What it gives, in words."""
    unit: str
    """Unit of what it gives, without brackets."""
    source: str
    """Published source with its mark: [C] seen or recomputed, [M] from memory, [D] derived, [P] common practice."""
    valid_for: str
    """Range of validity in words."""
    limits: tuple[Limit, ...] = ()
    """The part of that range that the inputs decide; a report shows the reasons of those that fail."""

    @property
    def name(self) -> str:
        """Name of the function."""
        return self.function.__name__

    def outside_range(self, **inputs: Any) -> list[str]:
        """Reasons why these inputs lie outside the range; empty inside it. Inputs with a default may be left out."""
        signature = inspect.signature(self.function)
        bound = signature.bind_partial(**inputs)
        bound.apply_defaults()
        reasons = []
        for limit in self.limits:
            missing = [name for name in limit.inputs if name not in bound.arguments]
            if missing:
                raise TypeError(f"{self.name}: the range needs {', '.join(missing)}")
            values = {name: np.asarray(bound.arguments[name]) for name in limit.inputs}
            if not np.all(limit.holds(**values)):
                reasons.append(limit.reason)
        return reasons
