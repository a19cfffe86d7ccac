"""Problems of a study as plain data: file, key, value, what is wrong and what to write instead."""

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from studies.text.printable import shortened, visible


@dataclass(frozen=True)
class Problem:
    """One mistake in a study and its correction."""

    file: str
    """Name of the study file."""
    key: str
    """Path of the key in words, such as 'circuits[1] "F1" → spacing'; empty for the whole file."""
    value: str
    """The value in the file; empty if there is none."""
    wrong: str
    """What is wrong."""
    right: str
    """What to write instead."""
    line: int = field(default=0, compare=False)
    """Line of the study file, counted from 1; 0 if it is not known."""

    def __post_init__(self) -> None:
        """Put each text on one line without control characters, and shorten key and value."""
        for part in ("file", "key", "value", "wrong", "right"):
            text = visible(getattr(self, part))
            object.__setattr__(self, part, shortened(text) if part in ("key", "value") else text)

    def __str__(self) -> str:
        """Two lines: key, value and what is wrong; what to write instead."""
        place = f"{self.key} = {self.value}" if self.key and self.value else self.key or self.value
        line = f"line {self.line}, " if self.line else ""
        return f"{line}{place}: {self.wrong}\n    right: {self.right}"


class TrayfieldError(Exception):
    """Every error that a script may want to handle; its message says what is wrong and what would be right."""


class WrongInput(ValueError):
    """Input that cannot be taken as it stands: what is wrong with it, and what would be right."""

    def __init__(self, wrong: str, right: str) -> None:
        """Hold both parts of the message."""
        self.wrong, self.right = wrong, right
        super().__init__(wrong, right)

    def __str__(self) -> str:
        """Both parts on one line."""
        return f"{self.wrong}; right: {self.right}"


class Refused(TrayfieldError, ValueError):
    """Input or a place that a command cannot use: the message says what to do instead, the exit status is 2."""


class StudyError(Refused):
    """All problems of a study in one error."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        """Hold one problem or more."""
        if not problems:
            raise ValueError("a StudyError needs at least one problem")
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        """The file on the first line, then each problem on two lines."""
        count = len(self.problems)
        head = f"{self.problems[0].file}: {count} thing{'s' if count > 1 else ''} to put right"
        return "\n".join([head, *(f"  {line}" for problem in self.problems for line in str(problem).splitlines())])


MOST_LISTED = 6
"""Largest set of words that is listed in full after the nearest one."""


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that `word` most likely means, or None if none is near."""
    words = list(known)
    word = shortened(word)  # comparing long words takes long
    folded = {w.casefold().replace("_", "-").replace(" ", ""): w for w in reversed(words)}
    plain = word.casefold().replace("_", "-").replace(" ", "")
    if plain in folded:
        return folded[plain]
    near = difflib.get_close_matches(plain, folded, n=1, cutoff=0.6)
    return folded[near[0]] if near else None


def choice_of(word: str, known: Iterable[str]) -> str:
    """Choice of words for a message: the nearest first if there is one, then as many as fit on a line."""
    words = list(dict.fromkeys(known))
    near = nearest(word, words)
    if near is not None and len(words) > MOST_LISTED:
        return f'"{shortened(near)}"'
    listing = _listing(words)
    if near is None:
        return f"one of {listing}"
    return f'"{shortened(near)}"' if len(words) == 1 else f'"{shortened(near)}" is near; known are {listing}'


LONGEST_LISTING = 150
"""Longest set of words that a message lists in full. [characters]"""


def _listing(words: Sequence[str]) -> str:
    listed: list[str] = []
    for word in words:
        if sum(map(len, listed)) + 2 * len(listed) + len(word) > LONGEST_LISTING:
            return f"{', '.join(listed)} and {len(words) - len(listed)} more" if listed else "others"
        listed.append(f'"{word}"')
    return ", ".join(listed)
