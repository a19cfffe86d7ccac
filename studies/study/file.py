"""The study: everything the study file says, as frozen models with SI numbers.

From a file every quantity is text with a unit. From Python a model takes the same text or a bare SI number
(temperatures in degC, tolerance as a ratio); both are checked against the same ranges.
"""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Annotated, Self

from pydantic import Field, ValidationError, ValidationInfo, model_validator

from studies.study.bonds import Bond, Earth
from studies.study.cables import Cable
from studies.study.circuits import Circuit
from studies.study.consistency import inconsistencies
from studies.study.course import Course
from studies.study.decisions import Fault, Load, OrderSearch, RouteScreens, RouteSection, Supply
from studies.study.document import TitleBlock
from studies.study.dotted_keys import PathError, Tree, with_value, without
from studies.study.energy import Energy
from studies.study.entries import (
    KeyTable,
    Label,
    Name,
    Title,
    input_errors,
    is_from_file,
    list_entry,
    quantity_entry,
    tables_entry,
    word_entry,
)
from studies.study.findings import TABLES
from studies.study.laying import LayingTolerance
from studies.study.materials import StudyMaterial
from studies.study.metalwork import Drawing, Metalwork
from studies.study.phases import PHASE_COLOURS
from studies.study.plates import Plate
from studies.study.requests import Accuracy, CurrentSweep, Loop, MapWindow, Receptor, Shielding, Traverse, Zone
from studies.study.solved_changes import Causes, Remedies, ShieldSearch
from studies.study.stated_limits import StatedLimit
from studies.study.survey import Survey
from studies.study.trays import Tray
from studies.study.validation import as_written, findings_of, problem_of
from studies.text.problems import Problem, StudyError


class StudyFile(KeyTable):
    """Every key of a study file."""

    title: Title
    """what the study is about"""
    case: Label | None = None
    """name of the study as it stands among the cases of a comparison"""
    document: TitleBlock = Field(default=TitleBlock(), examples=['[document] with number = "TF-2041-EMF-003"'])
    """number, revision and signatories of the report"""
    frequency: Annotated[float, quantity_entry("frequency")]
    """frequency of every circuit that states none of its own"""
    phase_colours: Annotated[str, word_entry("scheme of phase colours", PHASE_COLOURS, '"iec-60445"')] = next(
        iter(PHASE_COLOURS)
    )
    """colours of the phases in the figures"""
    cables: Annotated[Mapping[Name, Cable], tables_entry("[cables.c240]")]
    """constructions of cables, from the inside out"""
    circuits: Annotated[tuple[Circuit, ...], list_entry("[[circuits]]", least=1, of_tables=True)]
    """circuits, each with its cables"""
    trays: Annotated[tuple[Tray, ...], list_entry("[[trays]]", least=0, of_tables=True)] = ()
    """trays and their covers"""
    metalwork: Annotated[tuple[Metalwork, ...], list_entry("[[metalwork]]", least=0, of_tables=True)] = ()
    """metal that carries no cables"""
    drawing: Drawing | None = Field(default=None, examples=[TABLES["drawing"]])
    """drawing of the cross-section"""
    materials: Annotated[Mapping[Name, StudyMaterial], tables_entry("[materials.test-steel]")] = Field(
        default_factory=dict
    )
    """materials of the study beside the built-in ones"""
    bonds: Annotated[tuple[Bond, ...], list_entry("[[bonds]]", least=0, of_tables=True)] = ()
    """parts tied together; what is in no bond carries no net current"""
    earth: Earth | None = Field(default=None, examples=[TABLES["earth"]])
    """the earth as a return path"""
    receptors: Annotated[tuple[Receptor, ...], list_entry("[[receptors]]", least=0, of_tables=True)] = ()
    """points where the field is asked for"""
    zones: Annotated[tuple[Zone, ...], list_entry("[[zones]]", least=0, of_tables=True)] = ()
    """rectangles of which the highest field is asked for"""
    traverses: Annotated[tuple[Traverse, ...], list_entry("[[traverses]]", least=0, of_tables=True)] = ()
    """lines along which the field is asked for"""
    map: MapWindow | None = Field(default=None, examples=['[map] with window = [["-2 m", "-1 m"], ["2 m", "2 m"]]'])
    """map of the field"""
    current_sweep: CurrentSweep | None = Field(default=None, examples=["[current_sweep] with factors = [0.5, 1, 2]"])
    """the study again at other currents"""
    shielding: Shielding | None = Field(default=None, examples=['[shielding] with of = ["T1", "T1.cover"]'])
    """field without trays, covers and metalwork over the field with them"""
    laying_tolerance: LayingTolerance | None = Field(
        default=None, examples=['[laying_tolerance] with across = "3 mm" and up = "3 mm"']
    )
    """how far the installed run may be from the drawn one"""
    loops: Annotated[tuple[Loop, ...], list_entry("[[loops]]", least=0, of_tables=True)] = ()
    """pairs and loops of other circuits along the run, of which the induced voltage is asked for"""
    causes: Causes | None = Field(default=None, examples=['[causes] with of = ["fields"]'])
    """why formula and finite element differ, split by cause"""
    shield_search: ShieldSearch | None = Field(default=None, examples=['[shield_search] with metals = ["copper"]'])
    """which plate meets the limits with the least mass or loss"""
    remedies: Remedies | None = Field(default=None, examples=["[remedies] with thickness_factor = 2"])
    """what would meet the limit, for receptors and zones above theirs"""
    stated_limits: Annotated[tuple[StatedLimit, ...], list_entry("[[stated_limits]]", least=0, of_tables=True)] = ()
    """limits at receptors in the terms of makers and codes: peak, one axis, a band, weighted peak"""
    survey: Survey | None = Field(
        default=None, examples=['[survey] with file = "readings.csv" and coverage_factor = 2']
    )
    """readings of a meter that are held against the computed field"""
    energy: Energy | None = Field(default=None, examples=['[energy] with load_factor = "60 %"'])
    """energy of the losses over a year, and its price"""
    plates: Annotated[tuple[Plate, ...], list_entry("[[plates]]", least=0, of_tables=True)] = ()
    """plates that cables pass through, of which the loss by closed forms is asked for"""
    order_search: OrderSearch | None = Field(default=None, examples=['[order_search] with objective = "field"'])
    """search for the best phase order"""
    route: Annotated[tuple[RouteSection, ...], list_entry("[[route]]", least=0, of_tables=True)] = ()
    """sections of the run, each with its length, phase order and cross-section"""
    route_screens: RouteScreens = Field(default=RouteScreens(), examples=['[route_screens] with earthed_at = "60 m"'])
    """screens along the route"""
    course: Course | None = Field(
        default=None, examples=['[course] with path = [["0 m", "0 m", "3 m"], ["9 m", "0 m", "3 m"]]']
    )
    """the run in space, with places of which the field is asked for"""
    faults: Annotated[tuple[Fault, ...], list_entry("[[faults]]", least=0, of_tables=True)] = ()
    """short circuits of which the forces are asked for"""
    loads: Annotated[tuple[Load, ...], list_entry("[[loads]]", least=0, of_tables=True)] = ()
    """what the circuits feed at the end of the route; without one, the study's currents"""
    supply: Supply | None = Field(default=None, examples=[TABLES["supply"]])
    """the supply, for voltage drop, unbalance and charging current"""
    accuracy: Accuracy = Field(default=Accuracy(), examples=['[accuracy] with tolerance = "0.5 %"'])
    """asked numerical accuracy"""

    @model_validator(mode="after")
    def _consistent(self, info: ValidationInfo) -> Self:
        # the reader of files looks for these itself, so that they stand beside the errors of single fields
        if not is_from_file(info):
            given = self.model_dump(by_alias=True, exclude_none=True, exclude_defaults=True)
            findings = inconsistencies(given, bare_numbers=True)
            if findings:
                raise input_errors(type(self).__name__, findings)
        return self


class Study(StudyFile):
    """A study: the keys of the file, and the file's name and text for the report (empty from Python)."""

    source_name: str = ""
    source_text: str = ""
    source_sha256: str = ""
    """SHA-256 of the file's bytes in hexadecimal digits."""

    def problem(self, key: str, wrong: str, right: str, value: str = "") -> Problem:
        """Something wrong at a key of this study."""
        return Problem(self.source_name, key, value, wrong, right)

    def has_direct_currents(self) -> bool:
        """Whether any circuit carries direct current."""
        return any(circuit.direct_current is not None for circuit in self.circuits)

    def has_net_currents(self) -> bool:
        """Whether some of a circuit's current is stated to return outside of it."""
        return any(circuit.net_current is not None for circuit in self.circuits)

    def has_other_limits(self) -> bool:
        """Whether limits are stated that are not those of receptors and zones themselves."""
        places: tuple[Receptor | Zone, ...] = (*self.receptors, *self.zones)
        return bool(self.stated_limits) or any(place.static_limit is not None for place in places)

    def files(self) -> list[str]:
        """Names of the files that the study names, as it names them: its drawing, its survey, curves of materials."""
        named = [self.drawing.file] if self.drawing is not None else []
        named += [self.survey.file] if self.survey is not None else []
        return named + [own.curve_file for own in self.materials.values() if own.curve_file is not None]

    def with_(self, changes: Mapping[str, object], remove: Iterable[str] = ()) -> "Study":
        """This study with some keys changed, as a variant of the study file does.

        changes: Values by dotted keys; quantities as text with a unit, or as SI numbers.
        remove: Dotted keys that the changed study does not have; they go first.
        Raises StudyError: If a key leads nowhere, or the changed study is not sound.

        >>> import studies
        >>> study = studies.load("feeder.toml")
        >>> trefoil = study.with_({"circuits.F1.arrangement": "trefoil"}, remove=["circuits.F1.clear_gap"])
        >>> trefoil.circuits[0].arrangement
        'trefoil'
        """
        tables = plain_tables(self)
        problems = []
        remove = tuple(remove)
        for path, value in [*((path, None) for path in remove), *changes.items()]:
            try:
                tables = without(tables, path) if value is None else with_value(tables, path, value)
            except PathError as error:
                shown = "" if value is None else as_written(value)
                problems.append(Problem(self.source_name or "study", path, shown, error.wrong, error.right))
        try:
            read = StudyFile.model_validate(tables, by_alias=True, by_name=False)
        except ValidationError as error:
            found = findings_of(error, StudyFile)
            problems += [problem_of(finding, tables, self.source_name or "study") for finding in found]
        if problems:
            raise StudyError(problems)
        fields = {key: getattr(read, key) for key in StudyFile.model_fields}
        notes = [f"# removed from Python: {path}" for path in remove]
        notes += [f"# set from Python: {path} = {as_written(value)}" for path, value in changes.items()]
        text = self.source_text  # the report shows it
        if text and notes:
            text = "\n".join([text.rstrip("\n"), "", *notes, ""])
        digest = "" if notes else self.source_sha256  # the changed study is in no file
        return Study(**fields, source_name=self.source_name, source_text=text, source_sha256=digest)

    def __repr__(self) -> str:
        """Title, and how much there is of what."""
        counts = (
            (len(self.circuits), "circuit"),
            (sum(len(circuit.phases) for circuit in self.circuits), "cable"),
            (len(self.trays), "tray"),
            (len(self.receptors), "receptor"),
            (len(self.route), "route section"),
        )
        told = ", ".join(f"{count} {what}{'s' if count > 1 else ''}" for count, what in counts if count)
        return f"<Study “{self.title}”, {self.frequency:g} Hz: {told}>"

    __str__ = __repr__


def plain_tables(model: KeyTable) -> Tree:
    """The tables of a study as a file would hold them, with SI numbers; what is as by default is left out."""
    found: Tree = {}
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        stated = name in model.model_fields_set and value != field.get_default(call_default_factory=True)
        if stated and name not in NO_KEYS:
            found[str(field.validation_alias or name)] = _plain(value)
    return found


def _plain(value: object) -> object:
    if isinstance(value, KeyTable):
        return plain_tables(value)
    if type(value) is tuple:
        return [_plain(entry) for entry in value]
    if isinstance(value, Mapping):
        return {key: _plain(entry) for key, entry in value.items()}
    return value


NO_KEYS = frozenset(Study.model_fields) - frozenset(StudyFile.model_fields)
"""Fields of a study that are no keys of its file."""


def beside(study: Study, name: str) -> Path:
    """Path of a file that the study names, which is one from the study file's own folder."""
    return Path(study.source_name).parent / name
