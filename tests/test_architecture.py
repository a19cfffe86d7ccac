"""What may import what, what is loaded when, and how large and how documented a module is."""

import ast
import collections
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ALLOWED = {"fem": {"fem"}, "geometry": {"geometry"}, "studies": {"studies", "fem", "geometry"}}
"""Packages of the project that each of them may import."""
LEVELS = (
    ("text", "formulas"),
    ("data",),
    ("study",),
    ("section", "lookups"),
    ("closed_forms", "drawing"),
    ("solve",),
    ("answers",),
    ("report",),
    ("output",),
    ("result",),
    ("runner",),
    ("compare", "verify", "live"),
    ("options",),
    ("command", "__init__", "book"),
)
"""Packages and modules of studies, from the lowest; one imports from lower ones and from itself only."""
PRESENTING = re.compile(r"(words|figure|tables?|reasons|marks|brief|summary|files)$")
"""How the names of modules end that show an answer."""
SHOWN_BELOW = ("text", "drawing", "section", "study", "data")
"""Packages of studies that they may import, beside their own folder and the modules directly in answers."""
SHOWN_BY_OTHERS = {
    "cautions": {"answers.steel.words"},
    "fields": {
        *("answers.limits.rows", "answers.limits.verdicts", "answers.net_currents.marked"),
        "answers.reservations.words",
    },
    "formulas_beside": {"answers.phases.rows"},
    "limits": {"answers.fields.rows", "answers.reservations.words"},
    "losses": {"answers.steel.words"},
    "orders": {"formulas.unbalance"},
    "route": {"formulas.unbalance"},
    "space": {"answers.reservations.rows", "answers.reservations.words"},
    "steel": {"answers.fields.rows", "answers.limits.rows"},
}
"""Modules of other answers and of formulas that those of an answer import as well."""
LONGEST_MODULE = 400
TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", ".gitignore", ".ci"),
    *("fem", "geometry", "studies", "tests"),
}
VAGUE_NAMES = {"utils", "util", "helpers", "helper", "common", "base", "misc", "tools"}
HEAVY = ("gmsh", "skfem", "matplotlib", "pint", "pydantic", "scipy", "meshio", "shapely", "jinja2", "numpy")
"""Libraries that take a noticeable time to import."""

MODULES = [path for package in ALLOWED for path in sorted((ROOT / package).rglob("*.py"))]


def relative(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def imports(tree: ast.AST, module: tuple[str, ...]) -> Iterator[tuple[str, int]]:
    """Every import of a syntax tree with its line: in functions, under TYPE_CHECKING, relative and by name."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            # "from . import x" in a.b.c is an import from a.b
            home = ".".join(module[: len(module) - node.level]) if node.level else ""
            yield ".".join(part for part in (home, node.module or "") if part), node.lineno
        elif isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
            called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if called in ("import_module", "__import__") and isinstance(node.args[0].value, str):
                yield node.args[0].value, node.lineno


def forbidden_imports(source: str, name: str) -> list[str]:
    """File, line and import of what a module of the project must not import."""
    module = tuple(name.removesuffix(".py").split("/"))
    allowed = ALLOWED[module[0]]
    return [
        f"{name}:{line} imports {imported}"
        for imported, line in imports(ast.parse(source), module)
        if imported.split(".")[0] in {*ALLOWED, "tests"} - allowed
    ]


def test_the_top_level_holds_what_it_may_and_nothing_else():
    said = subprocess.run(["git", "ls-tree", "--name-only", "HEAD"], capture_output=True, text=True, cwd=ROOT)
    if said.returncode != 0:
        pytest.skip("no checkout of a repository")
    assert set(said.stdout.split()) <= TOP_LEVEL


def test_packages_import_only_what_they_may():
    found = [f for path in MODULES for f in forbidden_imports(path.read_text(encoding="utf-8"), relative(path))]
    assert found == []


def modules_named(imported: str, names: list[str], known: set[str]) -> list[str]:
    """Modules of the project that an import reaches: the names are modules of a package, or it is one itself."""
    return [f"{imported}.{name}" for name in names if f"{imported}.{name}" in known] or (
        [imported] if imported in known else []
    )


def graph() -> dict[str, dict[str, int]]:
    """Modules of studies, each with the modules that it imports and the line; in functions and for types too."""
    known = {".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path for path in MODULES}
    found: dict[str, dict[str, int]] = {}
    for name, path in known.items():
        reached = found.setdefault(name, {})
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                names = modules_named(node.module or "", [alias.name for alias in node.names], set(known))
            elif isinstance(node, ast.Import):
                names = [alias.name for alias in node.names if alias.name in known]
            else:
                continue
            for each in names:
                reached.setdefault(each, node.lineno)
    return {name: reached for name, reached in found.items() if name.startswith("studies")}


def unit_of(module: str) -> str:
    """Package or module directly in studies that a module belongs to."""
    return [*module.split("."), "__init__"][1]


def upward(imports_of: dict[str, dict[str, int]]) -> list[str]:
    """Module, line and import of what leads to the same level or a higher one of another unit."""
    level = {unit: k for k, units in enumerate(LEVELS) for unit in units}
    return [
        f"{module}:{line} imports {target}"
        for module, reached in imports_of.items()
        for target, line in reached.items()
        if target.startswith("studies")
        and unit_of(module) != unit_of(target)
        and level.get(unit_of(target), len(LEVELS)) >= level.get(unit_of(module), -1)
    ]


def circles(imports_of: dict[str, dict[str, int]]) -> list[list[str]]:
    """Groups of modules that import each other, directly or through others."""
    left = {module: {target for target in reached if target in imports_of} for module, reached in imports_of.items()}
    while free := [module for module, reached in left.items() if not reached & left.keys()]:
        for module in free:
            del left[module]
    return [sorted(left)] if left else []


def test_studies_imports_go_one_way():
    assert upward(graph()) == []


def test_studies_has_no_circle_of_imports():
    assert circles(graph()) == []


def test_an_import_that_goes_up_is_found_with_its_line():
    planted = {"studies.solve.a": {"studies.report.b": 7}, "studies.report.b": {"studies.solve.a": 3}}
    assert upward(planted) == ["studies.solve.a:7 imports studies.report.b"]


def test_a_circle_of_imports_is_found():
    assert circles({"studies.a": {"studies.b": 1}, "studies.b": {"studies.a": 1}, "studies.c": {"studies.a": 1}}) == [
        ["studies.a", "studies.b", "studies.c"]
    ]


def strangers(imports_of: dict[str, dict[str, int]]) -> list[str]:
    """Module, line and import of what a module that shows an answer must not know."""
    found = []
    for module, reached in imports_of.items():
        match module.split("."):
            case ["studies", "answers", own, name] if PRESENTING.search(name):
                others = SHOWN_BY_OTHERS.get(own, set())
            case _:
                continue
        for target, line in reached.items():
            _, package, *rest = target.split(".") if target.startswith("studies.") else ("", SHOWN_BELOW[0])
            of_answers = package == "answers" and (len(rest) == 1 or rest[0] == own)
            if not (package in SHOWN_BELOW or of_answers or target.removeprefix("studies.") in others):
                found.append(f"{module}:{line} imports {target}")
    return found


def test_words_and_figures_of_an_answer_know_their_own_rows():
    assert strangers(graph()) == []


def test_words_that_import_how_another_answer_is_computed_are_found():
    planted = {"studies.answers.losses.words": {"studies.answers.zones.compute": 4, "studies.answers.losses.rows": 2}}
    assert strangers(planted) == ["studies.answers.losses.words:4 imports studies.answers.zones.compute"]


def public_names(sources: dict[str, str]) -> dict[str, list[str]]:
    """Modules of each public class and function of a module's top level."""
    found: dict[str, list[str]] = collections.defaultdict(list)
    for module, source in sources.items():
        for node in ast.parse(source).body:
            if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
                found[node.name].append(module)
    return found


def test_a_public_name_occurs_once_in_studies():
    sources = {relative(path): path.read_text(encoding="utf-8") for path in MODULES}
    names = public_names({name: source for name, source in sources.items() if name.startswith("studies/")})
    assert {name: modules for name, modules in names.items() if len(modules) > 1} == {}


def test_a_name_in_two_modules_is_found():
    names = public_names({"a.py": "class Peak: ...\ndef _f(): ...", "b.py": "def Peak(): ...\ndef _f(): ..."})
    assert names == {"Peak": ["a.py", "b.py"]}


@pytest.mark.parametrize(
    ("name", "source", "line"),
    [
        ("fem/a.py", "import geometry", 1),
        ("fem/a.py", "\nimport geometry.shapes as shapes", 2),
        ("fem/a.py", "def f():\n    from geometry.shapes import Disc", 2),
        ("fem/a.py", "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import studies.runner", 3),
        ("geometry/a.py", "from fem.mesh import Floats", 1),
        ("geometry/a.py", "import importlib\nimportlib.import_module('fem.mesh')", 2),
        ("geometry/a.py", "from studies import run", 1),
        ("studies/a.py", "import tests.reference", 1),
    ],
)
def test_a_forbidden_import_is_found_with_file_and_line(name, source, line):
    assert [found.split(" ")[0] for found in forbidden_imports(source, name)] == [f"{name}:{line}"]


@pytest.mark.parametrize(
    "source", ["from . import mesh", "from .mesh import Floats", "import fem.mesh", "import numpy"]
)
def test_an_allowed_import_is_not_reported(source):
    assert forbidden_imports(source, "fem/a.py") == []


def test_no_module_is_longer_than_it_may_be():
    lengths = {relative(path): len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES}
    assert {name: length for name, length in lengths.items() if length > LONGEST_MODULE} == {}


def test_every_module_name_says_what_is_in_it():
    names = [path for path in MODULES if {*path.relative_to(ROOT).with_suffix("").parts} & VAGUE_NAMES]
    assert [relative(path) for path in names] == []


def undocumented(source: str, name: str) -> list[str]:
    """File, line and name of public modules, classes, functions and methods without a docstring."""
    tree = ast.parse(source)
    found = [] if ast.get_docstring(tree) else [f"{name}:1 module"]

    def visit(node: ast.Module | ast.ClassDef) -> None:
        for child in node.body:
            if not isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
                continue
            if child.name.startswith("_"):
                continue
            if not ast.get_docstring(child):
                found.append(f"{name}:{child.lineno} {child.name}")
            if isinstance(child, ast.ClassDef):
                visit(child)

    visit(tree)
    return found


def test_everything_public_has_a_docstring():
    found = [entry for path in MODULES for entry in undocumented(path.read_text(encoding="utf-8"), relative(path))]
    assert found == []


def test_a_missing_docstring_is_found():
    source = '"""M."""\nclass A:\n    """A."""\n    def f(self): ...\n    def _g(self): ...\ndef h(): ...\n'
    assert undocumented(source, "a.py") == ["a.py:4 f", "a.py:6 h"]


LOOK = "import json, sys; print(json.dumps([name for name in {heavy!r} if name in sys.modules]))"


@pytest.mark.parametrize("package", ["studies", "fem", "geometry"])
def test_importing_a_package_loads_no_heavy_library(package):
    script = f"import {package}; " + LOOK.format(heavy=HEAVY)
    said = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    assert json.loads(said.stdout) == []


@pytest.mark.parametrize(
    "arguments", [["--help"], ["run", "--help"], ["--version"], ["new", "study.toml"], ["completion", "bash"]]
)
def test_a_command_that_computes_nothing_loads_no_heavy_library(arguments, tmp_path):
    script = (
        "import sys, contextlib, io\n"
        "from studies.command import main\n"
        "with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):\n"
        f"    main({arguments!r})\n"
    ) + LOOK.format(heavy=HEAVY)
    said = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=tmp_path)
    assert json.loads(said.stdout) == []


def test_the_look_at_loaded_libraries_sees_one():
    script = "import numpy; " + LOOK.format(heavy=HEAVY)
    said = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    assert json.loads(said.stdout) == ["numpy"]
