"""What a shell offers after TAB."""

import shutil
import subprocess
from pathlib import Path

import pytest

from studies import command
from studies.options import SHELLS

ASKED = """
source "$1"
COMP_WORDS=({words})
COMP_CWORD=$((${{#COMP_WORDS[@]}} - 1))
_shtab_trayfield
echo "${{COMPREPLY[@]}}"
"""


def script(shell: str, capsys: pytest.CaptureFixture[str]) -> str:
    assert command.main(["completion", shell]) == 0
    return capsys.readouterr().out


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash")
@pytest.mark.parametrize(
    ("words", "offered"),
    [
        ("trayfield lis", "list"),
        ("trayfield list mat", "materials"),
        ("trayfield run --fail", "--fail-over-limit"),
        ("trayfield new a.toml --template sh", "sharing"),
    ],
)
def test_bash_completes_commands_options_and_words(
    words: str, offered: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "complete").write_text(script("bash", capsys), encoding="utf-8")
    asked = ["bash", "-c", ASKED.format(words=words), "bash", str(tmp_path / "complete")]
    said = subprocess.run(asked, capture_output=True, text=True, check=True)
    assert said.stdout.split() == [offered]


@pytest.mark.parametrize("shell", SHELLS)
def test_every_shell_gets_all_commands(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = script(shell, capsys)
    assert [name for name in command.ACTIONS if name not in text] == []
