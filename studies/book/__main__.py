"""Build the book: `python -m studies.book FOLDER`, with `--full` to solve all examples and run all checks."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from studies.book.build import build


def build_book(arguments: list[str] | None = None) -> int:
    """Build the book; 0 if it was built without a warning."""
    parser = argparse.ArgumentParser(prog="python -m studies.book", description=__doc__)
    parser.add_argument("folder", type=Path, help="where the pages go; index.html is the first")
    parser.add_argument(
        "--full",
        action="store_true",
        help="solve every example for its picture, run the checks and execute the notebooks (minutes)",
    )
    given = parser.parse_args(arguments)
    return build(given.folder, full=given.full)


if __name__ == "__main__":
    sys.exit(build_book())
