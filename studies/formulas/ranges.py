"""The register of all formulas and the question whether inputs lie in the stated range of one of them.

An input outside the range is no error: the number is still the formula's, and the report says why it may be off.
"""

from collections.abc import Callable
from typing import Any

from studies.formulas.formula import Formula
from studies.formulas.register_fields import FIELD_FORMULAS
from studies.formulas.register_lines import LINE_FORMULAS
from studies.formulas.register_metal import METAL_FORMULAS
from studies.formulas.register_screens import SCREEN_FORMULAS
from studies.formulas.register_supply import SUPPLY_FORMULAS

FORMULAS: dict[str, Formula] = {
    formula.name: formula
    for formula in (*FIELD_FORMULAS, *LINE_FORMULAS, *METAL_FORMULAS, *SCREEN_FORMULAS, *SUPPLY_FORMULAS)
}
"""Every formula by the name of its function."""


def outside_range(formula: str | Callable[..., Any], **inputs: Any) -> list[str]:
    """Reasons why inputs lie outside the stated range of a formula.

    Parameters
    ----------
    formula : str or function
        A function of this package or its name. [-]
    **inputs : array_like
        Inputs of that function by name, in the function's units; those with a default may be left out. [as there]

    Returns
    -------
    reasons : list of str
        One sentence for each condition that fails anywhere in the inputs; empty inside the range.

    Notes
    -----
    Only what the inputs decide is tested; `FORMULAS[name].valid_for` is the whole range in words.
    """
    name = formula if isinstance(formula, str) else formula.__name__
    if name not in FORMULAS:
        raise KeyError(f"no formula {name!r}; there are {', '.join(sorted(FORMULAS))}")
    return FORMULAS[name].outside_range(**inputs)
