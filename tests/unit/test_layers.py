"""Check the layering: a file imports only from what stands above it, and other habits of the code.

Read from the syntax tree, so an import inside a function counts too. What ruff sees to (printing,
star and relative imports, missing docstrings) is not checked again.
"""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2] / "striplay"
ORDER = [
    "limits",
    "errors",
    "plain",
    "tolerances",
    "units",
    "notices",
    "kept",
    "cautions",
    "geometry",
    "plan",
    "section",
    "season",
    "mend",
    "outline",
    "crs",
    "ground",
    "mark",
    "layout",
    "search",
    "operations",
    "room",
    "laid",
    "replicates",
    "drive",
    "doubts",
    "plausible",
    "accounts",
    "economics",
    "records",
    "steps",
    "column",
    "columns",
    "each_pass",
    "tables",
    "lists",
    "report",
    "worksheet",
    "one_set",
    "zones",
    "fit_report",
    "pay_report",
    "looks",
    "notebook",
    "files",
    "growing",
    "laid_plan",
    "flow",
    "crop_pairs",
    "paying",
    "recording",
    "proposing",
    "following",
    "choosing",
    "sheets",
    "page",
    "handover",
    "monitoring",
    "journaling",
    "many",
    "table",
    "cli",
    "__main__",
]
"""The layers, top first: each may import those before it, and itself."""

FACE = "striplay"
"""The package's own names (version, read_plan); only the command line may use them."""

MAX_LINES = 500
"""A module is one idea; one that takes more lines than this is two."""
ASKED = {"relays", "quick_crops", "after_harvest", "layered", "mixtures"}
"""What a plan asks for; all later stages read the section made of it."""
LIBRARIES = {
    "pyproj": {"crs", "ground"},
    "fiona": {"files"},
    "pyogrio": {"files"},
    "matplotlib": {"sheets"},
    "isoxml": {"files"},
    "xsdata": {"files"},
    "reportlab": {"sheets"},
    "click": {"cli"},
    "pydantic": {"plan"},
    "geopandas": {"tables", "files", "laid_plan", "flow"},
    "pyvrp": {"operations"},
    "tomlkit": {"files"},
    "distributed": {"many"},
    "rich": {"cli"},
    "starlette": {"table"},
    "uvicorn": {"table"},
}
"""The layers that may use a library."""

TREES = {
    path: ast.parse(path.read_text(encoding="utf-8"))
    for path in sorted(ROOT.rglob("*.py"))
    if path != ROOT / "__init__.py"
}


def layer_of(path):
    first = path.relative_to(ROOT).parts[0]
    return first.removesuffix(".py")


def imported(tree):
    """Give every module of the package that a file imports."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name.startswith("striplay"))
        elif isinstance(node, ast.ImportFrom):
            if node.module == "striplay":
                for alias in node.names:
                    known = (ROOT / alias.name).exists() or (ROOT / f"{alias.name}.py").exists()
                    yield f"striplay.{alias.name}" if known else FACE
            elif node.module and node.module.startswith("striplay."):
                yield node.module


def upward(path, tree):
    """Give the imports of a file that its layer may not make."""
    own = ORDER.index(layer_of(path))
    for name in imported(tree):
        if name == FACE:
            if layer_of(path) != "cli":
                yield name
        elif ORDER.index(name.split(".")[1]) > own:
            yield name


def asked_again(path, tree):
    """Give the lines of a later stage that read what a plan asks for."""
    if layer_of(path) in {"plan", "section"}:
        return
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr in ASKED:
            yield node.lineno


def in_all_files(check):
    """Give what a check finds, by file."""
    found = {str(path.relative_to(ROOT)): list(check(path, tree)) for path, tree in TREES.items()}
    return {name: faults for name, faults in found.items() if faults}


def test_there_are_files_and_each_has_its_layer():
    assert len(TREES) > 20
    assert {layer_of(path) for path in TREES} == set(ORDER)


def test_the_page_for_developers_lists_every_layer_in_its_order():
    page = (ROOT.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    places = [line.split("|")[1] for line in page.splitlines() if line.startswith("| `")]
    named = re.findall(r"`(\w+)(?:\.py|/)`", " ".join(places))
    assert named == [layer for layer in ORDER if layer != "__main__"]


def test_only_the_list_of_writers_loads_by_name():
    """An import by name escapes the syntax tree; an encoder is loaded when it is asked for."""
    loads = {"import_module", "__import__"}

    def by_name(_, tree):
        for node in ast.walk(tree):
            if isinstance(node, ast.Name | ast.Attribute):
                name = node.id if isinstance(node, ast.Name) else node.attr
                yield from [node.lineno] if name in loads else []

    assert set(in_all_files(by_name)) == {str(Path("files") / "writers.py")}


def test_imports_only_from_above():
    assert in_all_files(upward) == {}


@pytest.mark.parametrize(
    ("file", "code"),
    [
        ("units.py", "from striplay.plan.models import Plan"),
        ("geometry/sweep.py", "def f():\n    import striplay.ground"),
        ("plan/check.py", "from striplay import section"),
        ("ground.py", "from striplay import read_plan"),
        ("operations/inside.py", "from striplay.laid import Laid"),
        ("search/land.py", "from striplay.operations.passes import Passes"),
    ],
)
def test_an_upward_import_would_be_found(file, code):
    assert len(list(upward(ROOT / file, ast.parse(code)))) == 1


def test_later_stages_read_the_section_and_not_what_the_plan_asks():
    assert in_all_files(asked_again) == {}


def test_a_later_stage_that_asks_the_plan_again_would_be_found():
    code = "def f(plan):\n    return [one.crop for one in plan.relays], plan.mixtures"
    for file, lines in (("season/shade.py", [2, 2]), ("section/fit.py", []), ("plan/cost.py", [])):
        assert list(asked_again(ROOT / file, ast.parse(code))) == lines, file


def test_nothing_imports_in_a_circle_within_a_layer():
    names = {
        "striplay." + ".".join(path.relative_to(ROOT).with_suffix("").parts): set(imported(tree))
        for path, tree in TREES.items()
        if path.name != "__init__.py"
    }
    left = {name: {other for other in needs if other in names} for name, needs in names.items()}
    while free := {name for name, needs in left.items() if not needs}:
        left = {name: needs - free for name, needs in left.items() if name not in free}
    assert left == {}


def test_modules_are_short():
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in TREES}
    assert {path.name: count for path, count in lines.items() if count > MAX_LINES} == {}


def test_no_drawer_of_odds_and_ends():
    assert [p for p in TREES if p.stem in {"utils", "util", "helpers", "common", "misc"}] == []


def test_each_library_has_its_layer():
    users = {library: set() for library in LIBRARIES}
    for path, tree in TREES.items():
        for node in ast.walk(tree):
            modules = []
            if isinstance(node, ast.Import):
                modules = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                modules = [node.module or ""]
            for library in {module.split(".")[0] for module in modules} & set(LIBRARIES):
                users[library].add(layer_of(path))
    outside = {library: layers - LIBRARIES[library] for library, layers in users.items()}
    assert {library: layers for library, layers in outside.items() if layers} == {}
    assert all(users.values())


def limits_in(tree):
    """Give the constants of a file that are named as limits."""
    for node in tree.body:
        if isinstance(node, ast.Assign):
            names = [one.id for one in node.targets if isinstance(one, ast.Name)]
            yield from (name for name in names if name.startswith(("MAX_", "MIN_", "MOST_")))


def test_limits_on_what_is_read_stand_in_one_file():
    def beyond(path, tree):
        if layer_of(path) in {"plain", "tolerances", "plan", "mend", "outline", "ground", "files"}:
            yield from (name for name in limits_in(tree) if not name.startswith("MAX_MEND_"))

    assert in_all_files(beyond) == {}
    assert len(list(limits_in(TREES[ROOT / "limits.py"]))) > 30


def test_geometry_knows_only_tolerances_and_itself():
    def beyond(path, tree):
        if layer_of(path) == "geometry":
            layers = {name.split(".")[1] for name in imported(tree)}
            yield from layers - {"geometry", "tolerances"}

    assert in_all_files(beyond) == {}
