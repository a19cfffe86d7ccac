"""Everything that can be looked up, by subject: a table of what exists, and the page of each entry."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from fem.curve_data import CURVES, PublishedCurve
from geometry.sizes import AREAS
from studies.data.conductor_data import IEC_60228_CLASS_2
from studies.data.materials import MATERIALS, Material
from studies.data.permittivities import DIELECTRICS, Dielectric
from studies.data.reference_levels import EQUIPMENT, LEVEL_SETS, MARKS, PERSONS, LevelSet, Piece, span_words
from studies.formulas.formula import Formula, all_formulas
from studies.lookups.keys import all_keys, dotted, key_page, keys_by_table, keys_named, owner, page
from studies.study.circuits import ARRANGEMENTS, Circuit
from studies.study.entries import KeyTable, entries_of, example_of
from studies.study.key_reference import meaning_of
from studies.study.key_sets import KeySet
from studies.study.metalwork import SHAPES, Metalwork
from studies.study.quantities import KINDS, RANGES, Range
from studies.study.starter import TEMPLATES, question
from studies.study.trays import PROFILES, Tray
from studies.text.numbers import significant
from studies.text.problems import Refused, choice_of
from studies.text.table import Column, Table
from studies.text.terminal import as_text
from studies.text.units import FLUX_DENSITY, MEGASIEMENS_PER_METRE, NUMBER, OHM_PER_KM, SQUARE_MILLIMETRE, Unit

PER_KELVIN = Unit("10⁻³/K", 1e-3, "per_k")


class UnknownEntryError(Refused):
    """A name that a subject does not have."""


@dataclass(frozen=True)
class Subject:
    """One kind of thing that a study file can name, or that the program uses."""

    what: str
    tables: Callable[[], Sequence[Table[Any]]]
    """All entries."""
    names: Callable[[], Iterable[str]]
    """Names of entries that have a page."""
    pages: Callable[[str], Sequence[str]]
    """Pages of a name, none if there is no such entry."""

    def listing(self) -> str:
        """All entries as tables for a terminal."""
        return "\n\n".join(map(as_text, self.tables()))

    def page(self, name: str) -> str:
        """Page of an entry; an unknown name raises UnknownEntryError with the nearest one."""
        found = self.pages(name)
        if not found:
            raise UnknownEntryError(f'"{name}" is not among {self.what}; right: {choice_of(name, self.names())}')
        return "\n\n".join(found)


def _by_name(
    what: str,
    caption: str,
    columns: Sequence[Column[Any]],
    entries: Callable[[], Mapping[str, Any]],
    pages: Callable[[str, Any], str],
    note: str = "",
) -> Subject:
    """A subject whose entries are a mapping by name."""
    return Subject(
        what,
        lambda: [Table(caption, columns, list(entries().items()), note, brief_note=note)],
        lambda: entries(),
        lambda name: [pages(name, entries()[name])] if name in entries() else [],
    )


def _quantity_page(name: str, entry: Range) -> str:
    kind = KINDS[entry.kind]
    keys = [dotted(key) for key in all_keys() if name in _quantities(key.model, key.field)]
    lines = [f"Units: {', '.join(kind.units)}.", f"Range: {entry.words()} (common practice, no source)."]
    lines += [f"Keys: {', '.join(keys)}."] if keys else []
    return page(name, lines, f'"{entry.example}"')


def _quantities(model: type[Any], field: str) -> set[str]:
    return {entry.quantity for entry in entries_of(model.model_fields[field])} if field else set()


def _material_page(name: str, material: Material) -> str:
    lines = [
        f"Conductivity at 20 °C: {significant(material.conductivity, MEGASIEMENS_PER_METRE)} MS/m.",
        f"Temperature coefficient at 20 °C: {material.temperature_coefficient:g} per K.",
        f"Relative permeability: {material.relative_permeability:.4g}.",
        *([f"Magnetisation curve: {material.curve}."] if material.curve else []),
        f"Source: {material.source} [{MARKS[material.mark]}].",
    ]
    return page(name, lines, f'material = "{name}"')


def _curve_page(name: str, entry: PublishedCurve) -> str:
    lines = [f"Source: {entry.source} {entry.mark}."]
    lines += [f"Curve of another steel for the same use: {entry.other}."] if entry.other else []
    return page(name, lines, f'[materials.test-steel]\nconductivity = "6.0 MS/m"\ncurve = "{name}"')


def _dielectric_page(name: str, entry: Dielectric) -> str:
    value = entry.relative_permittivity
    lines = (f"Relative permittivity at power frequency: {value:g}.", f"Source: {entry.source}.")
    return page(name, lines, f"permittivity = {value:g}")


def _level_table(subject: str) -> Table[LevelSet]:
    columns: tuple[Column[LevelSet], ...] = (
        Column("Name", lambda row: row.name),
        Column("Frequencies", lambda row: row.covered()),
        Column("At 50 Hz", lambda row: _level_at(row, 50.0), FLUX_DENSITY[1], digits=3),
        Column("At 60 Hz", lambda row: _level_at(row, 60.0), FLUX_DENSITY[1], digits=3),
    )
    rows = [levels for levels in LEVEL_SETS.values() if levels.subject == subject]
    return Table(f"Reference levels for {subject}, resultant rms flux density", columns, rows)


def _level_at(levels: LevelSet, frequency: float) -> float | None:
    found = levels.piece(frequency)
    return None if found is None else found.value(frequency)


def _level_page(name: str, levels: LevelSet) -> str:
    lines = [f"For: {levels.subject}; resultant rms flux density.", *map(_law, levels.pieces)]
    lines += [f"Source: {levels.source}. Levels without a mark are {MARKS['C']}."]
    lines += [f"Note: {levels.note}."] if levels.note else []
    return page(name, lines, f'limit = "{name}"')


def _law(piece: Piece) -> str:
    low = piece.low_hz
    value = piece.value(low) if piece.power else piece.coefficient
    unit = _flux_unit(value)
    fall = f" at {low:g} Hz, falling with 1/f{'²' if piece.power == 2 else ''}" if piece.power else ""
    marks = "; ".join(filter(None, (MARKS[piece.mark] if piece.mark != "C" else "", piece.note)))
    level = f"{span_words(low, piece.high_hz)}: {significant(value, unit, 3)} {unit.symbol}{fall}"
    return f"{level} [{marks}]." if marks else f"{level}."


def _flux_unit(value: float) -> Unit:
    return next(unit for unit in reversed(FLUX_DENSITY) if value >= unit.size or unit == FLUX_DENSITY[0])


@dataclass(frozen=True)
class _Choice:
    """A form of a circuit, tray or piece of metalwork with the keys that go with it."""

    name: str
    table: str
    key: str
    model: type[KeyTable]
    keys: KeySet

    @property
    def needs(self) -> str:
        """Keys that it needs, in words."""
        either = [" or ".join(self.keys.one_of)] if self.keys.one_of else []
        return ", ".join([*self.keys.required, *either])

    @property
    def takes(self) -> str | None:
        """Keys that it may have as well, in words."""
        return ", ".join(self.keys.optional) or None


def _choices() -> list[_Choice]:
    sets: tuple[tuple[str, str, type[KeyTable], Mapping[str, KeySet]], ...] = (
        ("trays", "profile", Tray, PROFILES),
        ("metalwork", "shape", Metalwork, SHAPES),
        ("circuits", "arrangement", Circuit, ARRANGEMENTS),
    )
    return [_Choice(name, table, key, model, keys) for table, key, model, all_ in sets for name, keys in all_.items()]


def _choice_tables() -> list[Table[_Choice]]:
    columns: tuple[Column[_Choice], ...] = (
        Column("Form", lambda choice: choice.name, brief=True),
        Column("Needs", lambda choice: choice.needs, brief=True),
        Column("Takes as well", lambda choice: choice.takes, brief=True),
    )
    found = _choices()
    heads = dict.fromkeys((choice.table, choice.key) for choice in found)
    return [
        Table(f"[[{table}]]: {key}", columns, [choice for choice in found if choice.table == table])
        for table, key in heads
    ]


def _choice_page(choice: _Choice) -> str:
    """Keys of a form with their meanings, and a table of the study file with those that are needed."""
    fields = choice.model.model_fields
    meanings = {key: " ".join(meaning_of(choice.model, key).split()) for key in choice.keys.allowed}
    lines = [
        f"{key}: {meaning}{'' if key in choice.keys.optional else ' (needed)'}." for key, meaning in meanings.items()
    ]
    given = [name for name, field in fields.items() if field.is_required()]
    wanted = dict.fromkeys([*given, *choice.keys.required, *choice.keys.one_of[:1]])
    example = [f"{key} = {example_of(fields[key])}" for key in wanted if key != choice.key]
    head = f'[[{choice.table}]]\n{choice.key} = "{choice.name}"\n'
    return page(f"{choice.table}, {choice.key} = {choice.name}", lines, head + "\n".join(example))


def _formula_page(name: str, entry: Formula) -> str:
    lines = [
        f"Gives: {entry.quantity} [{entry.unit}].",
        f"Inputs: {', '.join(inspect.signature(entry.function).parameters)}.",
        f"Valid for: {entry.valid_for}.",
        *(f"Outside: {limit.reason}." for limit in entry.limits),
        f"Source: {entry.source}.",
    ]
    return page(name, lines, f"from {entry.function.__module__} import {name}")


Named = tuple[str, Any]
_NAME: Column[Named] = Column("Name", lambda row: row[0])

_MARKS_NOTE = (
    "C: confirmed in a public text; D: derived; M: named, not at hand. NAME behind the subject gives its source."
)

SUBJECTS: Mapping[str, Subject] = MappingProxyType(
    {
        "keys": Subject(
            "keys of the study file",
            lambda: keys_by_table(all_keys()),
            lambda: dict.fromkeys([*(owner(key) for key in all_keys() if key.table), *map(dotted, all_keys())]),
            lambda name: (
                [as_text(table) for table in keys_by_table(found)]
                if len(found := keys_named(name)) > 1 and name.strip("[]") in map(owner, found)
                else [key_page(key) for key in found]
            ),
        ),
        "quantities": _by_name(
            "quantities with their units and ranges",
            "Quantities: ranges are common practice, no source",
            (
                _NAME,
                Column("Range", lambda row: row[1].words()),
                Column("Units", lambda row: ", ".join(KINDS[row[1].kind].units)),
            ),
            lambda: RANGES,
            _quantity_page,
        ),
        "materials": _by_name(
            "built-in materials",
            "Materials at 20 °C",
            (
                _NAME,
                Column("Conductivity", lambda row: row[1].conductivity, MEGASIEMENS_PER_METRE, digits=3),
                Column("Temperature coefficient", lambda row: row[1].temperature_coefficient, PER_KELVIN, digits=3),
                Column(
                    "Relative permeability",
                    lambda row: float(f"{row[1].relative_permeability:.4g}"),
                    NUMBER,
                    stated=True,
                ),
                Column("Mark", lambda row: row[1].mark),
            ),
            lambda: MATERIALS,
            _material_page,
            _MARKS_NOTE,
        ),
        "curves": _by_name(
            "magnetisation curves of steel",
            "Magnetisation curves, for curve = in [materials.NAME]",
            (_NAME, Column("Mark", lambda row: row[1].mark), Column("Source", lambda row: row[1].source)),
            lambda: CURVES,
            _curve_page,
        ),
        "conductors": Subject(
            "sizes of conductors",
            lambda: [_conductor_table()],
            lambda: AREAS,
            lambda name: [_size_page(name)] if name in AREAS else [],
        ),
        "permittivities": _by_name(
            "insulations",
            "Relative permittivities of insulations at power frequency",
            (
                _NAME,
                Column("Relative permittivity", lambda row: row[1].relative_permittivity, NUMBER, stated=True),
                Column("Source", lambda row: row[1].source),
            ),
            lambda: DIELECTRICS,
            _dielectric_page,
        ),
        "levels": Subject(
            "reference levels",
            lambda: [_level_table(subject) for subject in (PERSONS, EQUIPMENT)],
            lambda: LEVEL_SETS,
            lambda name: [_level_page(name, LEVEL_SETS[name])] if name in LEVEL_SETS else [],
        ),
        "profiles": Subject(
            "profiles of trays, shapes of metalwork and arrangements of circuits",
            _choice_tables,
            lambda: dict.fromkeys(choice.name for choice in _choices()),
            lambda name: [_choice_page(choice) for choice in _choices() if choice.name == name],
        ),
        "formulas": _by_name(
            "closed-form formulas",
            "Formulas; each states its source and range",
            (
                _NAME,
                Column("Gives", lambda row: row[1].quantity),
                Column("Unit", lambda row: row[1].unit),
            ),
            all_formulas,
            _formula_page,
        ),
        "templates": _by_name(
            "templates of new study files",
            "Templates: trayfield new NAME.toml --template TEMPLATE",
            (_NAME, Column("Question", lambda row: question(row[0]))),
            lambda: TEMPLATES,
            lambda name, text: page(name, (question(name),), text),
        ),
    }
)
"""All subjects by name."""


def _conductor_table() -> Table[float]:
    columns: tuple[Column[float], ...] = (
        Column("Area", lambda area: area * 1e-6, SQUARE_MILLIMETRE, stated=True),
        Column("Copper", IEC_60228_CLASS_2["copper"].get, OHM_PER_KM, digits=3),
        Column("Aluminium", IEC_60228_CLASS_2["aluminium"].get, OHM_PER_KM, digits=3),
    )
    note = (
        "Largest dc resistance at 20 °C, IEC 60228 class 2. Any other area has resistivity over area. American sizes: "
        "40 AWG to 4/0 AWG, then 250 kcmil to 2000 kcmil."
    )
    return Table("Conductor sizes", columns, tuple(IEC_60228_CLASS_2["copper"]), note, brief_note=note)


def _size_page(name: str) -> str:
    area = AREAS[name]
    own = {metal: table.get(round(area * 1e6, 9)) for metal, table in IEC_60228_CLASS_2.items()}
    lines = [f"Area: {significant(area, SQUARE_MILLIMETRE)} mm²."]
    lines += [
        f"Largest dc resistance at 20 °C, {metal}: {significant(value, OHM_PER_KM, 3)} Ω/km (IEC 60228 class 2)."
        for metal, value in own.items()
        if value is not None
    ]
    return page(name, lines, f'area = "{name}"')


def overview() -> str:
    """Subjects in one table."""
    columns: tuple[Column[str], ...] = (
        Column("Subject", lambda name: name),
        Column("Lists", lambda name: SUBJECTS[name].what),
        Column("Entries", lambda name: len(list(SUBJECTS[name].names())), NUMBER),
    )
    table = as_text(Table("What can be looked up", columns, tuple(SUBJECTS)))
    return f"{table}\n\ntrayfield list SUBJECT prints all entries.\ntrayfield list SUBJECT NAME shows the page of one."
