"""What the tests of studies share: each example, solved once in a session, coarse meshes, figures not rendered."""

import os
import pickle
from collections.abc import Iterator
from pathlib import Path

import pytest

import studies
from studies.report import figures as catalogue
from studies.result import Result
from tests.studies.coarse_meshes import coarse_meshes

EXAMPLES = Path(studies.__file__).parent / "examples"


@pytest.fixture(scope="session")
def solved(request: pytest.FixtureRequest) -> Result:
    """The result of the example of a name.

    Of session scope, so that pytest runs all tests of one example after each other, across modules, and the solution is
    let go when the next begins. Ask for it by `of_examples` in `tests.studies.solved_examples`. A mutation run that
    plants faults only in what reads the solutions keeps them in the folder TRAYFIELD_TEST_SOLVED.
    """
    stored = os.environ.get("TRAYFIELD_TEST_SOLVED")
    if stored is None:
        return studies.run(studies.load(EXAMPLES / f"{request.param}.toml"))
    path = Path(stored) / f"{request.param}.pickle"
    if not path.exists():
        result = studies.run(studies.load(EXAMPLES / f"{request.param}.toml"))
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(pickle.dumps(result))
    found = pickle.loads(path.read_bytes())
    assert isinstance(found, Result)
    return found


@pytest.fixture(scope="module")
def unrendered() -> Iterator[None]:
    """Figures are drawn and named, and their files hold no picture: for modules that ask what happens to the files."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(catalogue, "png", lambda figure: b"\x89PNG")
        patch.setattr(catalogue, "svg", lambda figure: b"<svg/>")
        yield


@pytest.fixture(scope="module")
def coarse_mesh() -> Iterator[None]:
    """Coarse meshes, for a module whose claims hold on any mesh: cautions, files, algebra."""
    with coarse_meshes():
        yield
