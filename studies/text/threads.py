"""How many threads the libraries compute with: set before the first of them is loaded."""

import os
from collections.abc import Mapping

SINGLE_THREADED: Mapping[str, str] = dict.fromkeys(
    ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS", "NUMEXPR_NUM_THREADS"), "1"
)
"""Environment in which every library computes with one thread: the order of its sums does not depend on the machine."""


def use_one_thread() -> None:
    """Let libraries that are loaded from now on compute with one thread, unless the environment names another number.

    Two threads took two to three times the processor time of one for a study of ordinary size, and changed last digits.
    """
    for name, number in SINGLE_THREADED.items():
        os.environ.setdefault(name, number)
