"""The tests import each other as `tests.…`: the repository's root must be where Python looks, however pytest starts."""

import sys
from pathlib import Path

ROOT = str(Path(__file__).resolve().parent.parent)
if ROOT not in sys.path:
    sys.path.insert(0, ROOT)
