"""What the tests of studies share: each example, solved once in a session."""

from pathlib import Path

import pytest

import studies
from studies.results import Result

EXAMPLES = Path(studies.__file__).parent / "examples"


@pytest.fixture(scope="session")
def solved(request: pytest.FixtureRequest) -> Result:
    """The result of the example of a name.

    Of session scope, so that pytest runs all tests of one example after each other, across modules, and the solution is
    let go when the next begins. Ask for it by `of_examples` in `tests.studies.solved_examples`.
    """
    return studies.run(studies.load(EXAMPLES / f"{request.param}.toml"))
