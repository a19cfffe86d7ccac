"""Completion of commands, options and files by a shell."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

import shtab


def completion(parser: argparse.ArgumentParser, shell: str) -> str:
    """Script that makes a shell (bash, zsh, fish or tcsh) complete a command line; nothing of it runs Python."""
    for action in _actions(parser):
        if action.type is Path:
            action.complete = shtab.FILE  # type: ignore[attr-defined]
    return shtab.complete(parser, shell)


def _actions(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    """Options and arguments of a parser and of its commands."""
    for action in parser._actions:
        yield action
        if isinstance(action, argparse._SubParsersAction):
            for command in action.choices.values():
                yield from _actions(command)
