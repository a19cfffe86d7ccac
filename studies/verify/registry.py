"""All checks by family, and those that a user asks for by name."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

from studies.text.problems import Refused
from studies.verify import (
    earth_return,
    far_field,
    forces,
    identities,
    inductance,
    induction_machine,
    installed_run,
    plausibility,
    resistance,
    round_parts,
    run_in_space,
    saturation,
    screens,
    second_library,
    sheath_examples,
    shielding,
)
from studies.verify.checks import Check, CheckFamily

FAMILIES: tuple[CheckFamily, ...] = (
    round_parts.FAMILY,
    resistance.FAMILY,
    screens.FAMILY,
    sheath_examples.FAMILY,
    inductance.FAMILY,
    earth_return.FAMILY,
    far_field.FAMILY,
    run_in_space.FAMILY,
    installed_run.FAMILY,
    forces.FAMILY,
    shielding.FAMILY,
    saturation.FAMILY,
    induction_machine.FAMILY,
    second_library.FAMILY,
    identities.FAMILY,
    plausibility.FAMILY,
)
"""Every family, in the order in which they are run and shown."""


class UnknownCheckError(Refused):
    """A name that no check and no family has."""


def chosen_checks(names: Sequence[str] | None = None) -> tuple[Check, ...]:
    """Checks of the given names, of checks or of families, in the order of the registry; all if none are given."""
    if names is None:
        return tuple(check for family in FAMILIES for check in family.checks)
    known = {name for family in FAMILIES for name in (family.name, *(check.name for check in family.checks))}
    for name in names:
        if name not in known:
            near = difflib.get_close_matches(name, sorted(known), 1)
            right = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(sorted(known))}"
            raise UnknownCheckError(f"no check or family is named {name!r}; {right}")
    return tuple(check for family in FAMILIES for check in family.checks if family.name in names or check.name in names)


def list_of_checks() -> str:
    """Names and titles of all checks by family, as text."""
    width = max(len(check.name) for family in FAMILIES for check in family.checks)
    lines = []
    for family in FAMILIES:
        lines.append(f"{family.name}")
        lines += [f"    {check.name.ljust(width)}  {check.title}" for check in family.checks]
    return "\n".join(lines)
