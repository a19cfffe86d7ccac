"""How the process of a command works: threads of the libraries, set before they are loaded, its memory and its help."""

import gc
import os
from collections.abc import Mapping

SINGLE_THREADED: Mapping[str, str] = dict.fromkeys(
    ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS", "NUMEXPR_NUM_THREADS"), "1"
)
"""Environment in which every library computes with one thread: the order of its sums does not depend on the machine."""


SEARCHED_AFTER = 200_000
"""Objects that a command makes before the next search for those in circles; Python's own number is 700."""


def search_memory_seldom() -> None:
    """Let Python look less often for objects that only hold each other.

    A command makes most of its objects once and keeps them; looking through them took a tenth of its time.
    """
    gc.set_threshold(SEARCHED_AFTER)


def spare_help_on_drawing() -> None:
    """Load the drawing library without the help on each of its classes, which no command shows.

    Writing it took half of the time in which the library loads; drawing is the same.
    """
    from matplotlib.artist import Artist

    if hasattr(Artist, "_update_set_signature_and_docstring"):  # a private name, which another version may not have
        Artist._update_set_signature_and_docstring = classmethod(lambda cls: None)


def use_one_thread() -> None:
    """Let libraries that are loaded from now on compute with one thread, unless the environment names another number.

    Two threads took two to three times the processor time of one for a study of ordinary size, and changed last digits.
    """
    for name, number in SINGLE_THREADED.items():
        os.environ.setdefault(name, number)
