"""What all tests share: imports as `tests.…`, which worker runs what and in which order, and maps of few points."""

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = str(Path(__file__).resolve().parent.parent)
if ROOT not in sys.path:  # however pytest starts
    sys.path.insert(0, ROOT)
os.environ["PYTHONPATH"] = os.pathsep.join([ROOT, *filter(None, [os.environ.get("PYTHONPATH")])])  # of processes too

from tests.few_points import FINE  # noqa: E402

LONGEST = (
    *("test_said", "test_failures", "test_verification", "test_installation_report", "test_sweep_execution"),
    *("test_decisions", "test_error_estimates", "test_error_fields", "test_nonlinear", "test_command"),
    *("test_derived_error_estimates", "test_route_study", "test_pinned_numbers", "test_browser", "test_fault_forces"),
    *("test_installation_metal", "test_cautions", "test_sweep_cluster", "test_zones_in_air", "test_polygons"),
    *("test_steel_curves", "test_run", "test_terminal"),
)
"""Modules of more than about twelve seconds, longest groups first: begun first, no worker is left alone at the end."""
TOGETHER = {
    **dict.fromkeys(("test_installation_report", "test_installation_figures", "test_installation_results"), "whole"),
    **dict.fromkeys(
        ("test_failures", "test_sweep_failures", "test_reservations", "test_said", "test_sheet", "test_print"),
        "everything asked",
    ),
    **dict.fromkeys(("test_figures", "test_field_figures", "test_figure_labels"), "figures"),
}
"""Modules that read the same solutions, by the name of their group; any other module is a group of its own."""


@pytest.fixture(scope="module")
def fine_map() -> Iterator[None]:
    """Maps of as many points as users have, for a module that draws them."""
    with pytest.MonkeyPatch.context() as patch:
        for place, points in FINE.items():
            patch.setattr(place, points)
        yield


def pytest_configure(config: pytest.Config) -> None:
    """Begin the groups of tests in the order of collection; else those of one long test come last."""
    if hasattr(config.option, "loadscopereorder"):
        config.option.loadscopereorder = False


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Give the quick tests of a group to one worker process, which computes once what they share; longest first."""
    for item in items:
        if not any(item.iter_markers("xdist_group")) and not any(item.iter_markers("slow")):
            item.add_marker(pytest.mark.xdist_group(TOGETHER.get(item.path.stem, item.path.stem)))
    items.sort(key=_turn)


def _turn(item: pytest.Item) -> tuple[int, int]:
    """Long modules, other long tests, solved examples, the rest."""
    if item.path.stem in LONGEST:
        return 0, LONGEST.index(item.path.stem)
    return (1 if any(item.iter_markers("slow")) else 2 if "solved" in getattr(item, "fixturenames", ()) else 3), 0
