"""No number of results.json changes unseen: a change detector of own output, no check of its truth.

`pinned.json` holds what four small studies bring about, numbers to four digits, each key of results.json on a line of
its own. Read what a change does to it, and accept it by
`TRAYFIELD_ACCEPT_NUMBERS=1 pytest tests/studies/test_pinned_numbers.py`.

The digits are those of one mesh. Another version of gmsh, or another kind of machine, makes another one: there a number
is held to a share of the largest of its key, and what follows from the mesh alone, error estimates and texts are not.
"""

import json
import os
import platform
import re
import sys
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path

import pytest

import studies
from studies.output.numbers import results_document

STUDIES = Path(__file__).with_name("pinned")
PINNED = STUDIES / "pinned.json"
ACCEPTED = "TRAYFIELD_ACCEPT_NUMBERS" in os.environ
MESHED_BY = f"gmsh {version('gmsh')}, {sys.platform} {platform.machine()}"

LEFT_OUT = ("software", "ladder", "cautions", "reservations")
"""Versions, closed forms that `tests/formulas` holds, and sentences that `test_said.py` holds."""
DIGITS = 1e-3
"""Four digits are off by half a unit in the last, at most 5e-4 of the number."""
UNIT = re.compile(r"_(t|a|v|m|ohm|[a-z]+_per_m)$")
ROUNDING = 1e-12
"""Of the largest number of a unit, or of 1 without one: what is smaller is the rounding of a solve, and taken as 0."""
OF_MESH = ("error", "accuracy.", "checks.", "zones.x_m", "zones.y_m", "metal_", "peak_b_t", "within")
"""In the keys of what belongs to one mesh: estimates, places of the highest field, sharp corners, and verdicts."""
OTHER_MESH = 0.05
"""Of the largest number of a key: a quarter of the tolerance that these studies ask for. Meshes a tenth finer change
no number by 0.03."""

Leaf = float | str | bool | None


@pytest.mark.parametrize("name", sorted(path.stem for path in STUDIES.glob("*.toml")))
def test_a_study_has_the_numbers_that_it_had(name: str) -> None:
    found = numbers_of(name)
    pinned = json.loads(PINNED.read_text(encoding="utf-8")) if PINNED.exists() else {"studies": {}}
    if ACCEPTED:
        written(pinned["studies"] | {name: found})
        return
    known, same_mesh = pinned["studies"][name], pinned["meshed by"] == MESHED_BY
    changed = changes(known, found, same_mesh=same_mesh)
    assert not changed, "\n".join(changed[:20])


def test_a_number_of_another_mesh_is_held_less_closely() -> None:
    known: dict[str, list[Leaf]] = {"route.loss_w": [100.0, 1.0], "route.loss_error_w": [1.0, 0.1], "of": ["T1"]}
    other: dict[str, list[Leaf]] = {"route.loss_w": [104.0, 5.0], "route.loss_error_w": [3.0, 0.2], "of": ["T2"]}
    assert len(changes(known, other, same_mesh=True)) == 3
    assert changes(known, other, same_mesh=False) == []
    assert len(changes(known, other | {"route.loss_w": [106.0, 1.0]}, same_mesh=False)) == 1


def numbers_of(name: str) -> dict[str, list[Leaf]]:
    """Every number and text of a study's results.json in the order in which they stand, by key without places."""
    document = results_document(studies.run(studies.load(STUDIES / f"{name}.toml")))
    found: dict[str, list[Leaf]] = {}
    largest: dict[str, float] = {"": 1.0}
    for key, leaf in leaves(document, ""):
        if not key.startswith(LEFT_OUT):
            found.setdefault(key, []).append(leaf)
            if isinstance(leaf, float):
                largest[unit_of(key)] = max(largest.get(unit_of(key), 0.0), abs(leaf))
    return {key: [rounded(leaf, largest.get(unit_of(key), 0.0)) for leaf in own] for key, own in found.items()}


def unit_of(key: str) -> str:
    """The unit that ends a key, empty for one that is no length, field, current, voltage, impedance or per metre."""
    unit = UNIT.search(key)
    return unit.group(1) if unit else ""


def rounded(leaf: Leaf, largest: float) -> Leaf:
    """Four digits of a number, 0 of one that is nothing beside the largest of its unit."""
    if not isinstance(leaf, float):
        return leaf
    return 0.0 if abs(leaf) < ROUNDING * largest else float(f"{leaf:.4g}")


def leaves(value: object, key: str) -> Iterator[tuple[str, Leaf]]:
    """What is no table and no list, by the keys that lead there."""
    if isinstance(value, dict):
        for name, entry in value.items():
            yield from leaves(entry, f"{key}.{name}" if key else name)
    elif isinstance(value, list):
        for entry in value:
            yield from leaves(entry, key)
    else:
        assert value is None or isinstance(value, str | int | float)
        yield key, value


def changes(known: dict[str, list[Leaf]], found: dict[str, list[Leaf]], *, same_mesh: bool) -> list[str]:
    """What is another than it was, a line for each key."""
    keys = [*known, *(key for key in found if key not in known)]
    if not same_mesh:
        keys = [key for key in keys if not any(word in key for word in OF_MESH)]
    pairs = [(key, known.get(key, []), found.get(key, [])) for key in keys]
    return [f"{key}: {was} is {now}" for key, was, now in pairs if not alike(was, now, same_mesh=same_mesh)]


def alike(known: list[Leaf], found: list[Leaf], *, same_mesh: bool) -> bool:
    """Whether the values of a key are those that it had."""
    largest = max((abs(value) for value in known if isinstance(value, int | float)), default=0.0)
    return len(known) == len(found) and all(
        (was == now or not same_mesh)
        if isinstance(was, str | bool | None) or isinstance(now, str | bool | None)
        else abs(was - now) <= (DIGITS * abs(was) if same_mesh else OTHER_MESH * largest)
        for was, now in zip(known, found, strict=True)
    )


def written(by_study: dict[str, dict[str, list[Leaf]]]) -> None:
    """Write the numbers of all studies, a line for each key."""
    blocks = []
    for name, found in sorted(by_study.items()):
        lines = ",\n".join(
            f"  {json.dumps(key)}: {json.dumps(values, ensure_ascii=False)}" for key, values in found.items()
        )
        blocks.append(f" {json.dumps(name)}: {{\n{lines}\n }}")
    inside = ",\n".join(blocks)
    text = f'{{\n"meshed by": {json.dumps(MESHED_BY)},\n"studies": {{\n{inside}\n}}\n}}\n'
    PINNED.write_text(text, encoding="utf-8")
