"""Which keys go with which choice of a table, such as the profile of a tray."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from studies.study.entries import KeyTable, example_of
from studies.study.findings import Finding, Place, Plain


@dataclass(frozen=True)
class KeySet:
    """Keys that go with a choice: all of `required`, exactly one of `one_of`, any of `optional`."""

    required: tuple[str, ...]
    one_of: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()

    @property
    def allowed(self) -> tuple[str, ...]:
        """Every key that goes with the choice."""
        return (*self.required, *self.one_of, *self.optional)


def governed(choices: Mapping[str, KeySet]) -> tuple[str, ...]:
    """The keys that go with some of the choices and not with others, or are needed by some of them."""
    return tuple(dict.fromkeys(key for choice in choices.values() for key in choice.allowed))


def chosen(choices: Mapping[str, KeySet], choice: object) -> KeySet | None:
    """The keys that go with a choice, None for what is no choice."""
    return choices.get(choice) if isinstance(choice, str) else None


def form_of(model: type[KeyTable], key: str) -> str:
    """How a key is written, by the example that its reference gives."""
    return f"{key} = {example_of(model.model_fields[key])}"


def key_findings(
    place: Place, table: Plain, model: type[KeyTable], choices: Mapping[str, KeySet], choice: object
) -> Iterator[Finding]:
    """Keys of a table that do not go with its choice, and keys that the choice needs and that are missing."""
    keys = chosen(choices, choice)
    if keys is None:
        return
    for key in governed(choices):
        if key in table and key not in keys.allowed:
            right = f"leave it out; {choice} takes {', '.join(keys.allowed)}"
            yield Finding((*place, key), f"does not go with {choice}", right)
    for key in keys.required:
        if key not in table:
            yield Finding((*place, key), f"is missing, {choice} needs it", form_of(model, key))
