"""What is wrong with a study, as plain data: every problem names file, key, value, what is wrong and what is right."""

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields

from studies.text.printable import shortened, visible


@dataclass(frozen=True)
class Problem:
    """One thing to put right in a study.

    Parameters
    ----------
    file : str
        Name of the study file.
    key : str
        Path of the key in words, such as 'circuits[1] "F1" → spacing'; empty where the whole file is meant.
    value : str
        The value as it stands in the file; empty where there is none.
    wrong : str
        What is wrong.
    right : str
        What would be right.
    """

    file: str
    key: str
    value: str
    wrong: str
    right: str

    def __post_init__(self) -> None:
        """Keep each part on one line, without signs that steer a terminal, and key and value short."""
        for part in fields(self):
            text = visible(getattr(self, part.name))
            object.__setattr__(self, part.name, shortened(text) if part.name in ("key", "value") else text)

    def __str__(self) -> str:
        """Two lines: where, the value and what is wrong; what would be right."""
        place = f"{self.key} = {self.value}" if self.key and self.value else self.key or self.value
        return f"{place}: {self.wrong}\n    right: {self.right}"


class StudyError(ValueError):
    """Every problem found in a study, raised at once."""

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
"""Longest set of words that is listed in full beside the nearest one."""


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that `word` most likely means, or None where none is near."""
    words = list(known)
    word = shortened(word)  # comparing long words takes long
    folded = {w.casefold().replace("_", "-").replace(" ", ""): w for w in reversed(words)}
    plain = word.casefold().replace("_", "-").replace(" ", "")
    if plain in folded:
        return folded[plain]
    near = difflib.get_close_matches(plain, folded, n=1, cutoff=0.6)
    return folded[near[0]] if near else None


def choice_of(word: str, known: Iterable[str]) -> str:
    """The right form for a word out of a set: the nearest first where there is one, then as many as a line holds."""
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
