"""Plugin of pytest that runs the tests whose comments name a source, and files what they expected and what they got.

`pytest -p tests.against_the_world --against FILE` writes one row a comparison with `pytest.approx`, the farthest off of
several on one line; of a test that compares otherwise, one row without numbers. A comment with a mark, [C], [M], [D] or
[P], holds for what follows it in its test; before the data of a module, for the tests that use them.
"""

from __future__ import annotations

import ast
import functools
import io
import json
import re
import sys
import tokenize
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from _pytest import python_api

MARK = re.compile(r"\s*\[([CMDP])(?: ([^\]]*))?\]")
KINDS = tuple(getattr(python_api, f"Approx{kind}") for kind in ("Scalar", "Mapping", "SequenceLike", "Numpy"))
Row = dict[str, Any]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--against", type=Path, required=True, help="file of the rows, JSON")


def pytest_configure(config: pytest.Config) -> None:
    config.pluginmanager.register(_Record(config.getoption("--against")))


class Sources:
    """Comments with marks of one module."""

    def __init__(self, path: Path) -> None:
        text = path.read_text(encoding="utf-8")
        self.comments = dict(_comments(text))
        self.functions: list[ast.FunctionDef] = []
        self.data: dict[str, str] = {}
        self.cases: list[tuple[set[Any], str]] = []
        for node in ast.parse(text).body:
            if isinstance(node, ast.FunctionDef):
                self.functions.append(node)
            elif source := self.last(node.lineno - 1, node.end_lineno or node.lineno):
                self.data.update({name.id: source for name in ast.walk(node) if isinstance(name, ast.Name)})
                self.cases += self._cases(node)

    def _cases(self, node: ast.stmt) -> Iterator[tuple[set[Any], str]]:
        """Constants of each tuple of some data, and of each key, with the comment that it stands below."""
        for one in ast.walk(node):
            for own in [[one]] if isinstance(one, ast.Tuple) else [[key] for key in getattr(one, "keys", ()) if key]:
                values = {value.value for value in ast.walk(own[0]) if isinstance(value, ast.Constant)}
                if values:
                    yield values, self.last(node.lineno - 1, own[0].end_lineno or own[0].lineno)

    def of_case(self, values: Iterable[Any]) -> str:
        """The source of the data that hold most of a test's parameters, empty if there is none."""
        plain = {value for value in values if isinstance(value, int | float | str)}
        found = [(len(own), source) for own, source in self.cases if own <= plain and source]
        return max(found, default=(0, ""), key=lambda pair: pair[0])[1]

    def last(self, first: int, last: int) -> str:
        """The last source within some lines, empty if there is none."""
        return next((self.comments[k] for k in range(last, first - 1, -1) if k in self.comments), "")

    def of(self, item: pytest.Item, line: int | None = None) -> str:
        """The source of a test, or of what it compares on a line; empty if it names none."""
        name = getattr(item, "originalname", None) or item.name
        for function in self.functions:
            if function.name == name:
                first = min([function.lineno, *(one.lineno for one in function.decorator_list)])
                used = (node.id for node in ast.walk(function) if isinstance(node, ast.Name))
                data = next((self.data[own] for own in used if own in self.data), "")
                case = getattr(item, "callspec", None)
                of_case = self.of_case(case.params.values()) if data and case else ""
                return self.last(first, line or function.end_lineno or first) or of_case or data
        return ""


def _comments(text: str) -> Iterator[tuple[int, str]]:
    """Last line and text of each comment with a mark; comments on lines of their own that follow each other are one."""
    block: list[str] = []
    after = 0
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT:
            own = token.line.strip().startswith("#")
            block = [*block, token.string] if own and token.start[0] == after + 1 else [token.string]
            after = token.start[0] if own else 0
            if MARK.search(whole := " ".join(part.lstrip("# ") for part in block)):
                yield token.start[0], whole


class _Record:
    def __init__(self, file: Path) -> None:
        self.file = file
        self.rows: dict[tuple[str, int], Row] = {}
        self.item: pytest.Item | None = None
        self.within = False
        for kind in KINDS:
            kind.__eq__ = self._recording(kind.__eq__)

    @staticmethod
    @functools.cache
    def sources(path: Path) -> Sources:
        return Sources(path)

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if self.sources(item.path).of(item)]

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        self.item = item
        passed = False
        try:
            yield
            passed = True
        finally:
            self.item = None
            own = [row for (nodeid, _), row in self.rows.items() if nodeid == item.nodeid]
            if not own:
                own = [self.rows.setdefault((item.nodeid, 0), _row(item, self.sources(item.path).of(item)))]
            for row in own:
                row["passed"] = passed

    def pytest_sessionfinish(self) -> None:
        self.file.write_text(json.dumps(list(self.rows.values()), indent=1), encoding="utf-8")

    def _recording(self, equal: Any) -> Any:
        def recorded(approx: Any, actual: Any) -> bool:
            outer, self.within = self.within, True
            try:
                found: bool = equal(approx, actual)
            finally:
                self.within = outer
            if self.item is not None and not outer:
                self._note(self.item, approx, actual)
            return found

        return recorded

    def _note(self, item: pytest.Item, approx: Any, actual: Any) -> None:
        frame = sys._getframe()
        while frame is not None and Path(frame.f_code.co_filename) != item.path:
            frame = frame.f_back  # type: ignore[assignment]
        if frame is None or not (source := self.sources(item.path).of(item, frame.f_lineno)):
            return
        old = self.rows.get((item.nodeid, frame.f_lineno))
        row = old or _row(item, source)
        for expected, got in _pairs(approx.expected, actual):
            row["compared"] += 1
            tolerance = float(approx._approx_scalar(expected).tolerance) if expected else float(approx.abs or 1e-12)
            off = abs(got - expected)
            if row["expected"] is None or off * row["tolerance"] > row["off"] * tolerance:
                row |= {"expected": _plain(expected), "got": _plain(got), "off": float(off), "tolerance": tolerance}
        self.rows[item.nodeid, frame.f_lineno] = row


def _row(item: pytest.Item, source: str) -> Row:
    marks = dict.fromkeys(mark for mark, _ in MARK.findall(source))
    case = item.name.partition("[")[2].removesuffix("]")
    words = (getattr(item, "originalname", None) or item.name).removeprefix("test_").replace("_", " ")
    return {
        "test": f"{item.path.stem.removeprefix('test_').replace('_', ' ')}: {words}" + (f" ({case})" if case else ""),
        "source": MARK.sub(lambda found: f" ({found[2]})" if found[2] else "", source).strip(),
        "marks": "".join(marks),
        "expected": None,
        "got": None,
        "off": 0.0,
        "tolerance": 0.0,
        "compared": 0,
        "passed": False,
    }


def _pairs(expected: Any, actual: Any) -> Iterable[tuple[Any, Any]]:
    """Numbers that are compared with each other."""
    if isinstance(expected, dict):
        return [(expected[key], actual[key]) for key in expected if isinstance(expected[key], int | float | complex)]
    one, other = np.ravel(np.asarray(expected)), np.ravel(np.asarray(actual))
    if one.dtype.kind not in "ifc" or other.dtype.kind not in "ifc":
        return []
    return zip(*(values.tolist() for values in np.broadcast_arrays(one, other)), strict=True)


def _plain(value: complex) -> float | list[float]:
    return [value.real, value.imag] if isinstance(value, complex) else float(value)
