"""Entries of a study: the types that its keys have, each with its check, its form in words and an example."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any, get_args

from pydantic import (
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationError,
    ValidationInfo,
)
from pydantic.fields import FieldInfo
from pydantic_core import CoreSchema, InitErrorDetails, PydanticCustomError, core_schema

from studies.data.materials import HIGHEST_PERMEABILITY
from studies.study.findings import Finding
from studies.study.phases import LINES, PHASE_ANGLES, respelt, right_label
from studies.study.quantities import KINDS, RANGES, Gap, QuantityError, gap, in_range, quantity
from studies.study.unit_patterns import DIAMETERS, quantity_schema
from studies.text.printable import shortened, steering_signs
from studies.text.problems import WrongInput, choice_of

Schema = dict[str, Any]
"""A JSON Schema."""
FROM_FILE = "from_file"
"""Key of the validation context; true while a study file is read: bare numbers are errors there."""

LONGEST_NAME = 60
"""Longest name of a circuit, tray or place. [characters]"""
NOT_IN_NAMES = '"\\→'
"""Signs that messages and dotted keys set about names."""
NAME_WORDS = f'letters, digits, spaces and other signs except " \\ →, at most {LONGEST_NAME}'
"""The form of a name in words."""


@dataclass(frozen=True)
class Entry:
    """How one value of a study is written and checked."""

    check: Callable[[object, ValidationInfo], object]
    """Turns what was written into the value, or raises an `input_error` or `WrongInput`."""
    words: str
    example: str
    """The form by an example, as in a study file."""
    quantity: str = ""
    """Key of `studies.study.quantities.RANGES`, empty for what is no quantity."""
    schema: Callable[[Schema], Schema] | None = None
    """JSON Schema of how it is written, from that of the value; None if both are the same."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """The schema of the annotated type with this check before it."""

        def checked(value: object, info: ValidationInfo) -> object:
            try:
                return self.check(value, info)
            except WrongInput as error:
                raise input_error(error.wrong, error.right) from None

        return core_schema.with_info_before_validator_function(checked, handler(source))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Schema:
        """The JSON Schema of what stands in a study file."""
        own = handler(core)
        return own if self.schema is None else self.schema(own)


class KeyTable(BaseModel):
    """A table of the study file; unknown keys are errors, and nothing can be changed in place.

    Numbers are SI, temperatures degC. What stands under a key is what the reference of keys says of it.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", validate_by_name=True, validate_by_alias=True)


def input_error(wrong: str, right: str) -> PydanticCustomError:
    """What a check raises: what is wrong and what is right."""
    return PydanticCustomError("study", "{wrong}; right: {right}", {"wrong": wrong, "right": right})


def input_errors(title: str, findings: Iterable[Finding]) -> ValidationError:
    """Several faults at once, each at its place within the value."""
    lines = [InitErrorDetails(type=input_error(f.wrong, f.right), loc=f.place, input=None) for f in findings]
    return ValidationError.from_exception_data(title, lines)


def is_from_file(info: ValidationInfo) -> bool:
    """Whether a study file is read: a bare number is a mistake there."""
    return bool(info.context and info.context.get(FROM_FILE))


def measured(value: object, name: str, info: ValidationInfo) -> float:
    """SI number of a named quantity, from text or, from Python, from the number itself; else a `QuantityError`."""
    if isinstance(value, int | float) and not isinstance(value, bool) and not is_from_file(info):
        return in_range(float(value), name)
    return quantity(value, name)


def quantity_entry(name: str) -> Entry:
    """Entry of a named quantity of `studies.study.quantities.RANGES`."""

    allowed = RANGES[name]
    words = f"{', '.join(KINDS[allowed.kind].units)}; {allowed.words()}"
    return Entry(
        lambda value, info: measured(value, name, info),
        words,
        f'"{allowed.example}"',
        name,
        lambda _: quantity_schema(name),
    )


def word_entry(
    what: str,
    known: Iterable[str] | Callable[[], Iterable[str]],
    example: str = "",
    right: Callable[[str, Iterable[str]], str] = choice_of,
) -> Entry:
    """Entry of one word out of a set; one that is made only when it is needed is a function, with an example."""
    listed = () if callable(known) else tuple(known)

    def check(value: object, info: ValidationInfo) -> str:
        words = tuple(known()) if callable(known) else listed
        if not isinstance(value, str) or value not in words:
            raise input_error(f"is no known {what}", right(str(value) if isinstance(value, str | int) else "", words))
        return value

    words = " or ".join(f'"{word}"' for word in listed) or f"name of a {what}"
    return Entry(
        *(check, words, example or f'"{listed[0]}"'),
        schema=lambda _: {"enum": list(known() if callable(known) else listed)},
    )


def number_entry(low: float, high: float, example: str, *, whole: bool = False, above: bool = False) -> Entry:
    """Entry of a plain number without unit, from `low` (or above it) to `high`."""
    span = f"above {low:g} and at most {high:.10g}" if above else f"from {low:g} to {high:.10g}"

    def check(value: object, info: ValidationInfo) -> int | float:
        right = f"a {'whole ' if whole else ''}number {span} without quotes, such as {example}"
        if isinstance(value, bool) or not isinstance(value, int if whole else int | float):
            raise input_error("is not a plain number" if not whole else "is not a whole number", right)
        if not low <= value <= high or (above and value == low):
            raise input_error(f"is outside {low:g} to {high:.10g}", right)
        return value

    kind = {"type": "integer" if whole else "number", "exclusiveMinimum" if above else "minimum": low, "maximum": high}
    return Entry(check, f"{'whole' if whole else 'plain'} number {span}", example, schema=lambda _: dict(kind))


PhaseLabel = Annotated[str, word_entry("phase", PHASE_ANGLES, right=right_label)]


def list_entry(example: str, least: int, of_tables: bool = False) -> Entry:
    """Entry of a list with at least so many entries, or of a list of tables."""

    def check(value: object, info: ValidationInfo) -> list[object]:
        if isinstance(value, Mapping) and of_tables:
            raise input_error("is a table, not a list of tables", f"{example} with double brackets")
        if not isinstance(value, list | tuple):
            raise input_error("is not a list", example)
        if len(value) < least:
            raise input_error("is empty" if not value else f"has fewer than {least} entries", example)
        return list(value)

    words = "list of tables" if of_tables else f"list of {least} or more" if least else "list"
    return Entry(check, words, example, schema=lambda own: {**own, "minItems": least})


def phases_entry(example: str, least: int) -> Entry:
    """Entry of a list of phase labels; one in the letters of others is told once, as it is to be written."""
    plain = list_entry(example, least)

    def check(value: object, info: ValidationInfo) -> object:
        labels = plain.check(value, info)
        if (found := respelt(value if isinstance(value, list | tuple) else ())) is not None:
            right = json.dumps(found[0])
            raise input_error("names the phases in another way", f"{right}; {found[1]} are written {', '.join(LINES)}")
        return labels

    return replace(plain, check=check)


def tables_entry(example: str) -> Entry:
    """Entry of a set of named tables."""

    def check(value: object, info: ValidationInfo) -> object:
        if not isinstance(value, Mapping):
            raise input_error("is not a set of named tables", f"{example} with single brackets and a name")
        return value

    return Entry(check, "named tables", example)


def pair_entry(example: str, what: str) -> Entry:
    """Entry of a list of two."""
    return _row_entry(example, what, 2, "two")


def _row_entry(example: str, what: str, count: int, number: str) -> Entry:
    """Entry of a list of so many."""

    def check(value: object, info: ValidationInfo) -> object:
        if not isinstance(value, list | tuple) or len(value) != count:
            raise input_error(f"is not a list of {number}", f"{example}, {what}")
        return value

    return Entry(check, f"list of {number}: {what}", example)


def _text(value: object, info: ValidationInfo) -> str:
    if not isinstance(value, str) or not value.strip():
        raise input_error("is empty" if isinstance(value, str) else "is not text in quotes", "some words in quotes")
    if signs := steering_signs(value):
        raise input_error(
            f"has signs that cannot be seen: {shortened(signs)}", "words on one line, without control characters"
        )
    return value


def label_problem(value: object) -> tuple[str, str] | None:
    """Fault in the name of a case, and the right form; None for a name without fault."""
    if not isinstance(value, str) or not value.strip() or value != value.strip() or not value.isprintable():
        return "is not a name", "words on one line in quotes"
    if len(value) > LONGEST_NAME:
        return "is too long", f"{LONGEST_NAME} characters at most"
    return None


def _label(value: object, info: ValidationInfo) -> object:
    if (problem := label_problem(value)) is not None:
        raise input_error(*problem)
    return value


def _name(value: object, info: ValidationInfo) -> str:
    right = f'{NAME_WORDS}, such as "F1"'
    if not isinstance(value, str) or not value.strip():
        raise input_error("is empty" if isinstance(value, str) else "is not text in quotes", right)
    if len(value) > LONGEST_NAME:
        raise input_error(f"is not a name, it has {len(value)} characters", right)
    if value != value.strip():
        raise input_error("is not a name, it begins or ends with a space", right)
    strange = dict.fromkeys(sign for sign in value if not sign.isprintable() or sign in NOT_IN_NAMES)
    if strange:
        shown = ", ".join(f"'{sign}'" if sign.isprintable() else f"U+{ord(sign):04X}" for sign in strange)
        raise input_error(f"is not a name, it has {shown}", right)
    if not any(sign.isalnum() for sign in value):
        raise input_error("is not a name, it has neither letter nor digit", right)
    return value


def _gap(value: object, info: ValidationInfo) -> Gap:
    if isinstance(value, Gap):
        return value
    bare = isinstance(value, int | float) and not isinstance(value, bool) and not is_from_file(info)
    return Gap(measured(value, "clear gap", info)) if bare else gap(value)


TOUCHING = 'for touching cables clear_gap = "0 mm" (flat), or neither key (trefoil)'


def _spacing(value: object, info: ValidationInfo) -> float:
    try:
        return measured(value, "spacing", info)
    except QuantityError as error:
        touching = not any(sign in "123456789" for sign in str(value))
        raise QuantityError(error.wrong, f"{error.right}; {TOUCHING}" if touching else error.right) from None


def _truth(value: object, info: ValidationInfo) -> bool:
    if not isinstance(value, bool):
        raise input_error("is neither true nor false", "true or false, without quotes")
    return value


def text_entry(example: str) -> Entry:
    """Entry of text that is not empty."""
    return Entry(_text, "text", example)


Name = Annotated[str, Entry(_name, NAME_WORDS, '"F1"')]
Title = Annotated[str, text_entry('"Feeder above the laboratory"')]
Label = Annotated[
    str, Entry(_label, f"words on one line, at most {LONGEST_NAME} characters", '"flat, one diameter apart"')
]
Word = Annotated[str, text_entry('"some words"')]
MaterialName = Annotated[str, text_entry('"copper"')]
Truth = Annotated[bool, Entry(_truth, "true or false", "true")]
Thickness = Annotated[float, quantity_entry("thickness")]
Size = Annotated[float, quantity_entry("size")]
Coordinate = Annotated[float, quantity_entry("coordinate")]
Temperature = Annotated[float, quantity_entry("temperature")]
Angle = Annotated[float, quantity_entry("angle")]
LossAngle = Annotated[float, quantity_entry("loss angle")]
ClearGap = Annotated[
    Gap,
    Entry(
        *(_gap, "length, or multiple of the cable's diameter", '"1 diameter"'),
        schema=lambda _: {"anyOf": [quantity_schema("clear gap"), {"type": "string", "pattern": DIAMETERS}]},
    ),
]
Spacing = Annotated[float, replace(quantity_entry("spacing"), check=_spacing)]
Point = Annotated[tuple[Coordinate, Coordinate], pair_entry('["1.5 m", "0.5 m"]', "x and y")]
SpacePoint = Annotated[
    tuple[Coordinate, Coordinate, Coordinate],
    _row_entry('["2 m", "1 m", "0.5 m"]', "x and y in plan, z upwards", 3, "three"),
]
Window = Annotated[tuple[Point, Point], pair_entry('[["-2 m", "-1 m"], ["2 m", "2 m"]]', "lower left and upper right")]
Permeability = Annotated[float, number_entry(1, HIGHEST_PERMEABILITY, "300")]


def entries_of(field: FieldInfo) -> Iterator[Entry]:
    """The entries of a field, the outermost first."""
    yield from (entry for entry in field.metadata if isinstance(entry, Entry))
    yield from _entries_within(field.annotation)


def _entries_within(annotation: object) -> Iterator[Entry]:
    arguments = get_args(annotation)
    yield from (argument for argument in arguments if isinstance(argument, Entry))
    for argument in arguments:
        yield from _entries_within(argument)


def example_of(field: FieldInfo) -> str | None:
    """How a value of this field is written in a study file, by example."""
    if field.examples:
        return str(field.examples[0])
    entry = next(entries_of(field), None)
    return entry.example if entry is not None else None


def model_within(annotation: object) -> type[BaseModel] | None:
    """The model that an annotation holds, alone or as entry of a list, set or choice."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for argument in get_args(annotation):
        model = model_within(argument)
        if model is not None:
            return model
    return None
