"""Check the layering: a file imports only from what stands above it, and other habits of the code.

Read from the syntax tree, so an import inside a function counts too.
"""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2] / "striplay"
ORDER = [
    "errors",
    "tolerances",
    "units",
    "notices",
    "geometry",
    "plan",
    "section",
    "mend",
    "ground",
    "layout",
    "search",
    "operations",
    "season",
    "accounts",
    "columns",
    "tables",
    "report",
    "files",
    "growing",
    "flow",
    "crop_pairs",
    "mapbook",
    "handover",
    "cli",
    "__main__",
]
"""The layers, top first: each may import those before it, and itself."""

FACE = "striplay"
"""The package's own names (version, read_plan); only the command line may use them."""

FILES = sorted(path for path in ROOT.rglob("*.py") if path != ROOT / "__init__.py")
MAX_LINES = 500
"""A module is one idea; one that takes more lines than this is two."""

every_file = pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))


def layer_of(path):
    first = path.relative_to(ROOT).parts[0]
    return first.removesuffix(".py")


def tree_of(path):
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(tree):
    """Give every module of the package that a file imports, and each relative import as "."."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name.startswith("striplay"))
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                yield "."
            elif node.module == "striplay":
                for alias in node.names:
                    known = (ROOT / alias.name).exists() or (ROOT / f"{alias.name}.py").exists()
                    yield f"striplay.{alias.name}" if known else FACE
            elif node.module and node.module.startswith("striplay."):
                yield node.module


def upward(path, tree):
    """Give the imports of a file that its layer may not make."""
    own = ORDER.index(layer_of(path))
    for name in imported(tree):
        if name == ".":
            yield "a relative import"
        elif name == FACE:
            if layer_of(path) != "cli":
                yield name
        elif ORDER.index(name.split(".")[1]) > own:
            yield name


def test_there_are_files_and_each_has_its_layer():
    assert len(FILES) > 20
    assert {layer_of(path) for path in FILES} <= set(ORDER)


@every_file
def test_imports_only_from_above(path):
    assert list(upward(path, tree_of(path))) == []


@pytest.mark.parametrize(
    ("file", "code"),
    [
        ("units.py", "from striplay.plan.models import Plan"),
        ("geometry/sweep.py", "def f():\n    import striplay.ground"),
        ("plan/check.py", "from striplay import section"),
        ("ground.py", "from striplay import read_plan"),
        ("files/plan.py", "from . import shapes"),
        ("layout/passes.py", "from ..ground import Plane"),
    ],
)
def test_an_upward_import_would_be_found(file, code):
    assert len(list(upward(ROOT / file, ast.parse(code)))) == 1


def test_nothing_imports_in_a_circle_within_a_layer():
    names = {
        "striplay." + ".".join(p.relative_to(ROOT).with_suffix("").parts): set(imported(tree_of(p)))
        for p in FILES
        if p.name != "__init__.py"
    }
    left = {name: {other for other in needs if other in names} for name, needs in names.items()}
    while free := {name for name, needs in left.items() if not needs}:
        left = {name: needs - free for name, needs in left.items() if name not in free}
    assert left == {}


@every_file
def test_no_star_import(path):
    stars = [
        node.lineno
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.ImportFrom) and any(alias.name == "*" for alias in node.names)
    ]
    assert stars == []


@every_file
def test_nothing_prints(path):
    calls = [
        node.lineno
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "print"
    ]
    assert calls == []


@every_file
def test_modules_are_short_and_say_what_they_are_for(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MAX_LINES
    assert ast.get_docstring(tree_of(path))


def test_no_drawer_of_odds_and_ends():
    assert [p for p in FILES if p.stem in {"utils", "util", "helpers", "common", "misc"}] == []


@pytest.mark.parametrize(
    ("library", "layers"),
    [
        ("pyproj", {"ground"}),
        ("fiona", {"files"}),
        ("pyogrio", {"files"}),
        ("matplotlib", {"mapbook"}),
        ("click", {"cli"}),
        ("pydantic", {"plan"}),
        ("geopandas", {"tables", "files", "flow"}),
    ],
)
def test_each_library_has_its_layer(library, layers):
    users = set()
    for path in FILES:
        for node in ast.walk(tree_of(path)):
            modules = (
                [alias.name for alias in node.names]
                if isinstance(node, ast.Import)
                else [node.module or ""]
                if isinstance(node, ast.ImportFrom) and not node.level
                else []
            )
            if any(module.split(".")[0] == library for module in modules):
                users.add(layer_of(path))
    assert users <= layers


def test_geometry_knows_only_tolerances_and_itself():
    for path in FILES:
        if layer_of(path) == "geometry":
            above = {name.split(".")[1] for name in imported(tree_of(path))}
            assert above <= {"geometry", "tolerances"}, path
