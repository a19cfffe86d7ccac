"""Wrong study files with the whole message of each (wrong_files.txt): what is wrong, where, what to write instead."""

import os
import re
from pathlib import Path

import pytest

from studies.compare.plan import plan_of
from studies.section.cross_section import cross_section
from studies.text.problems import StudyError
from tests.studies.sound_study import changed

CORPUS = Path(__file__).with_name("wrong_files.txt")
ACCEPT = "TRAYFIELD_ACCEPT_WORDS"


def entries() -> list[tuple[str, str, str]]:
    """What is replaced, by what, and the message, of each wrong file."""
    head, *blocks = re.split(r"\n\n(?=- )", CORPUS.read_text(encoding="utf-8").rstrip("\n"))
    assert head.startswith("#")
    found = []
    for block in blocks:
        lines = block.split("\n")
        signs = [[line[2:] for line in lines if line[:1] == sign] for sign in "-+>"]
        old, new, message = ("\n".join(part) for part in signs)
        found.append((old, new, message))
    return found


ENTRIES = entries()


def message_of(old: str, new: str) -> str:
    """All that `trayfield check` says of a wrong file."""
    with pytest.raises(StudyError) as caught:
        cross_section(plan_of(changed((old, new)), "feeder.toml").base)
    return str(caught.value)


def block(old: str, new: str, message: str) -> str:
    parts = (("-", old), ("+", new), (">", message))
    return "\n".join(f"{sign} {line}".rstrip() for sign, text in parts for line in text.split("\n"))


@pytest.mark.skipif(ACCEPT not in os.environ, reason="messages are not accepted")
def test_accept_the_messages() -> None:
    head = CORPUS.read_text(encoding="utf-8").partition("\n\n- ")[0]
    blocks = [block(old, new, message_of(old, new)) for old, new, _ in ENTRIES]
    CORPUS.write_text("\n\n".join([head, *blocks]) + "\n", encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "message"), ENTRIES, ids=[f"{k}: {new[:40]}" for k, (_, new, _) in enumerate(ENTRIES)]
)
def test_a_wrong_file_has_its_message(old: str, new: str, message: str) -> None:
    assert block(old, new, message_of(old, new)) == block(old, new, message)


def test_every_message_names_the_line_and_what_to_write_instead() -> None:
    assert len(ENTRIES) >= 60
    for old, new, message in ENTRIES:
        _, *told = message.split("\n")
        wrong, right = told[::2], told[1::2]
        assert len(wrong) == len(right) > 0, new
        assert all(line.startswith("      right: ") and len(line) > len("      right: ") for line in right), message
        missing = [line for line in wrong if not re.match(r"  (case \"[^\"]*\": )?line \d+", line)]
        assert missing == [], (old, message)
