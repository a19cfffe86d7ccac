"""Changes of a study that may bring a field below its limit, each with its lines for the study file."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.formation import trefoil
from studies.section.placement import GROUP_CLEAR_GAP, construction
from studies.study.bonds import BOTH_ENDS
from studies.study.circuits import Circuit
from studies.study.file import Study, plain_tables
from studies.study.parts import COVER, IN_CONTACT, SCREEN, SHEATH, TIED_LABELS, layer_group
from studies.study.trays import Tray

RATING = "may carry less current: check the permitted current of this laying"
KEPT = "every joint and termination must keep it"
TOGETHER = "circuits cancel each other's field only while they carry these currents together"
TREFOIL, CLOSED = "trefoil", "closed trays"


@dataclass(frozen=True)
class Change:
    """A changed study, and how to write it."""

    remedy: str
    settings: Mapping[str, object]
    """Dotted keys of the study with their values."""
    remove: tuple[str, ...]
    lines: tuple[str, ...]
    beware: tuple[str, ...]

    def of(self, study: Study) -> Study:
        """The study with this change; raises StudyError if it is not sound."""
        return study.with_(self.settings, self.remove)


def changes(study: Study, factor: float) -> list[Change]:
    """Changes that this study allows: trefoil, closed trays, both, thicker trays, bonded screens.

    factor: Thickness of trays and their covers over the stated one. [-]
    """
    found = [*_trefoil(study), *_closed(study)]
    if [change.remedy for change in found] == [TREFOIL, CLOSED]:
        found.append(_together(*found))
    return [*found, *_thicker(study, factor), *_bonded(study)]


def of_order(study: Study, phases: Mapping[str, Sequence[str]]) -> Change | None:
    """The change to other phase orders; None if they are those of the study."""
    own = {circuit.name: circuit.phases for circuit in study.circuits}
    other = {name: tuple(labels) for name, labels in phases.items() if tuple(labels) != own.get(name)}
    if not other:
        return None
    return Change(
        "best phase order",
        {f"{_dotted('circuits', name)}.phases": list(labels) for name, labels in other.items()},
        (),
        tuple(f"{_table('circuits', name)}: phases = {_text(labels)}" for name, labels in other.items()),
        (KEPT, TOGETHER) if len(study.circuits) > 1 else (KEPT,),
    )


def in_order(change: Change, order: Change) -> Change:
    """A change together with one to the best phase order of its cables."""
    replaced = tuple(line.partition(" = ")[0] for line in order.lines)
    return Change(
        f"{change.remedy} in the best order",
        {**change.settings, **order.settings},
        change.remove,
        (*(line for line in change.lines if not line.startswith(replaced)), *order.lines),
        (*order.beware, *change.beware),
    )


def _trefoil(study: Study) -> Iterator[Change]:
    flat = [circuit for circuit in study.circuits if circuit.arrangement == "flat"]
    if not flat:
        return
    settings: dict[str, object] = {}
    removed, lines = [], []
    for circuit in flat:
        keys = _in_trefoil(study, circuit)
        idle = ("spacing", "clear_gap", *(("rests_at",) if "positions" in keys else ()))
        without = [key for key in idle if getattr(circuit, key) is not None and key in circuit.model_fields_set]
        settings |= {f"{_dotted('circuits', circuit.name)}.{key}": value for key, value in keys.items()}
        removed += [f"{_dotted('circuits', circuit.name)}.{key}" for key in without]
        stated = [f"{_table('circuits', circuit.name)}: {key} = {_json(value)}" for key, value in keys.items()]
        lines += [stated[0] + (f"  # without {', '.join(without)}" if without else ""), *stated[1:]]
    yield Change(TREFOIL, settings, tuple(removed), tuple(lines), (f"touching cables {RATING}",))


def _in_trefoil(study: Study, circuit: Circuit) -> dict[str, object]:
    """Keys that lay a flat circuit in trefoils of three phases each, N and PE on the floor beside them."""
    tied = [label for label in circuit.phases if label in TIED_LABELS]
    phases = [label for label in circuit.phases if label not in TIED_LABELS]
    one = list(dict.fromkeys(phases))
    groups = len(phases) // 3
    if len(one) != 3 or sorted(phases) != sorted(one * groups):
        return {"arrangement": "trefoil"}  # cannot be laid, and the message says why
    labels = [*one * groups, *tied]
    keys: dict[str, object] = {} if labels == list(circuit.phases) else {"phases": labels}
    if not tied:
        return {"arrangement": "trefoil", **keys}
    diameter = construction(study.cables[circuit.cable]).diameter
    spacing = (
        math.ceil(diameter * 1e5 + 1) * 1e-5
    )  # touching, and written in hundredths of a millimetre without overlap
    x, y = circuit.rests_at or (0.0, 0.0)
    axes = trefoil(groups, diameter, (x - len(tied) * spacing / 2, y), spacing, GROUP_CLEAR_GAP * diameter)
    beside = axes[:, 0].max() + spacing * np.arange(1, len(tied) + 1)
    axes = np.vstack([axes, np.column_stack([beside, np.full(len(tied), y + diameter / 2)])])
    places = [[f"{value * 1e3:.2f} mm" for value in axis] for axis in axes]
    return {"arrangement": "positions", "positions": places, **keys}


def _closed(study: Study) -> Iterator[Change]:
    open_trays = [t for t in study.trays if t.profile in ("channel", "ladder") and t.cover != IN_CONTACT]
    if not open_trays:
        return
    yield Change(
        CLOSED,
        {f"{_dotted('trays', tray.name)}.{COVER}": IN_CONTACT for tray in open_trays},
        (),
        tuple(f'{_table("trays", tray.name)}: cover = "{IN_CONTACT}"' for tray in open_trays),
        (f"covered cables {RATING}",),
    )


def _together(first: Change, second: Change) -> Change:
    return Change(
        f"{first.remedy} in {second.remedy}",
        {**first.settings, **second.settings},
        (*first.remove, *second.remove),
        (*first.lines, *second.lines),
        (f"touching cables under a cover {RATING}",),
    )


def _thicker(study: Study, factor: float) -> Iterator[Change]:
    if not study.trays:
        return

    def millimetres(tray: Tray) -> str:
        return f"{tray.thickness * factor * 1e3:.6g} mm"

    yield Change(
        f"trays {factor:g} times as thick",
        {f"{_dotted('trays', tray.name)}.thickness": millimetres(tray) for tray in study.trays},
        (),
        tuple(f'{_table("trays", tray.name)}: thickness = "{millimetres(tray)}"' for tray in study.trays),
        ("heavier: check the supports",),
    )


def _bonded(study: Study) -> Iterator[Change]:
    tied = {part for bond in study.bonds for part in bond.parts}
    groups = []
    for circuit in study.circuits:
        cable = study.cables[circuit.cable]
        own = [layer_group(circuit.name, layer) for layer in (SCREEN, SHEATH) if getattr(cable, layer) is not None]
        touched = any(part.startswith((f"{circuit.name} ", f"{circuit.name}.")) for part in tied)
        groups += [] if touched else own
    if not groups:
        return
    parts = _text(groups)
    bond = {"parts": groups, "kind": BOTH_ENDS}
    present = plain_tables(study).get("bonds", [])
    yield Change(
        "screens and sheaths bonded at both ends",
        {"bonds": [*present, bond]},
        (),
        (f"[[bonds]]: parts = {parts}",),
        (f"with currents in the screens the cables {RATING}",),
    )


def _dotted(table: str, name: str) -> str:
    return f"{table}.'{name}'" if "." in name else f"{table}.{name}"


def _table(table: str, name: str) -> str:
    return f"[[{table}]] {name}"


def _text(words: Sequence[str]) -> str:
    return _json(list(words))


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)
