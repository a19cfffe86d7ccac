"""Materials of a study: one conductivity, one curve at most, and names that exist where they are used."""

import math
from collections.abc import Iterator, Mapping

from studies.data.materials import HIGHEST_PERMEABILITY, MATERIALS
from studies.study.checks.findings import Finding, Place, Reader, Table, is_word
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.text.problems import choice_of

CURVES = ("curve", "curve_file", "brauer")
"""Keys of which a material states one at most."""

LARGEST_CONSTANT = 1e6
"""Largest constant of a curve that can be stated. [m/H]"""

RELUCTIVITY_OF_AIR = 1 / (4e-7 * math.pi)
"""Reluctivity of air. [m/H]"""


def material_findings(reader: Reader) -> Iterator[Finding]:
    """What is wrong with the study's materials and with the names by which they are used."""
    for name, table in reader.named("materials").items():
        yield from _own(("materials", name), name, table)
    table_names = reader.data.get("materials")
    known = [*(table_names if isinstance(table_names, Mapping) else ()), *MATERIALS]
    for place, table in _users(reader):
        material = table.get("material")
        if is_word(material) and material not in known:
            right = f"{choice_of(str(material), known)}; or a [materials.NAME] of the study"
            yield Finding((*place, "material"), "is no known material", right)


def _own(place: Place, name: str, table: Table) -> Iterator[Finding]:
    if name in MATERIALS:
        yield Finding(place, "is the name of a built-in material", f'"{name}-2" or another name')
    stated = [key for key in ("conductivity", "resistivity") if key in table]
    if len(stated) != 1:
        wrong = "gives both conductivity and resistivity" if stated else "gives no conductivity"
        yield Finding(place, wrong, 'exactly one: conductivity = "6.0 MS/m" or resistivity')
    curves = [key for key in CURVES if key in table]
    for key in curves[1:]:
        yield Finding((*place, key), f"is a second magnetisation curve, beside {curves[0]}", "one of them")
    if "relative_permeability" not in table and not curves:
        right = 'relative_permeability = 300, or a curve such as curve = "mild-steel-curve"'
        yield Finding((*place, "relative_permeability"), "is missing", right)
    if "loss_angle" in table and not curves and table.get("relative_permeability") == 1:
        wrong = "is a hysteresis loss of a material without magnetisation"
        yield Finding((*place, "loss_angle"), wrong, "leave it out, or a relative_permeability above 1")
    yield from _brauer((*place, "brauer"), table.get("brauer"))


def _brauer(place: Place, brauer: object) -> Iterator[Finding]:
    if not isinstance(brauer, Mapping):
        return
    constants = [brauer.get("k1"), brauer.get("k3")]
    numbers = [float(k) for k in constants if isinstance(k, int | float) and 0 <= k <= LARGEST_CONSTANT]
    total, least = sum(numbers), RELUCTIVITY_OF_AIR / HIGHEST_PERMEABILITY
    if len(numbers) < len(constants) or not brauer.get("k1"):
        return
    if total > RELUCTIVITY_OF_AIR:
        wrong = f"has k1 + k3 = {total:.6g} m/H, above the reluctivity of air"
        yield Finding(place, wrong, f"k1 + k3 up to {RELUCTIVITY_OF_AIR:.6g} m/H, H in A/m and B in T")
    elif total < least:
        wrong = f"has k1 + k3 = {total:.6g} m/H, a relative permeability above {HIGHEST_PERMEABILITY:g}"
        yield Finding(place, wrong, f"{least:.6g} m/H or above, H in A/m and B in T")


def _users(reader: Reader) -> Iterator[tuple[Place, Table]]:
    for name, cable in reader.named("cables").items():
        for layer in (CONDUCTOR, *METAL_LAYERS):
            part = cable.get(layer)
            if isinstance(part, Mapping):
                yield ("cables", name, layer), part
    for key in ("trays", "metalwork"):
        for index, table in reader.entries(key):
            yield (key, index), table
            cover = table.get("cover") if key == "trays" else None
            if isinstance(cover, Mapping):
                yield (key, index, "cover"), cover


def resistivity_of(reader: Reader, name: object) -> float | None:
    """Resistivity of a material of the study or a built-in one, where it is sound. [ohm m]"""
    if not isinstance(name, str):
        return None
    own = reader.named("materials").get(name)
    if own is None:
        return 1 / MATERIALS[name].conductivity if name in MATERIALS else None
    conductivity = reader.number(own.get("conductivity"), "conductivity")
    return reader.number(own.get("resistivity"), "resistivity") if conductivity is None else 1 / conductivity
