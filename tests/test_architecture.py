"""Who may import whom: one way, every room declared, third-party packages in their rooms.

Read with the standard library's ``ast`` alone, so nothing is imported to be judged.
"""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]
FILES = {"toml_file", "toml_model", "written_files"}
GROUND = {"errors", "units", *FILES}

#: Room (folder or single module of ``optimizer``, or ``viewer``): the rooms it may import beside itself.
ROOMS: dict[str, set[str]] = {
    "errors": set(),
    "units": {"errors"},
    "toml_file": {"errors"},
    "toml_model": {"errors", "units", "toml_file"},
    "written_files": {"errors"},
    # The words for a rule set's role and for answers, so that they are written once.
    "plan": {"errors", "units", "rulebook"},
    "plan_file": {*GROUND, "plan"},
    "doctor": {"errors"},
    "survey": {*GROUND},
    "terrain": {*GROUND, "survey"},
    # From points to a proposed ground: the user confirms, then terrain takes over.
    "ground_scan": {"errors", "terrain"},
    # The ground of a placed scan: sorted, gridded, thinned to what a mesh carries.
    "scan_ground": {"errors", "survey", "terrain", "ground_scan"},
    "catalogue": {*GROUND, "terrain"},
    "rulebook": {*GROUND, "terrain", "catalogue"},
    "brief": {*GROUND, "survey", "terrain", "ground_scan", "scan_ground", "catalogue", "rulebook"},
    "layout": {*GROUND, "plan", "terrain", "catalogue", "rulebook", "brief"},
    "estimate": {*GROUND, "plan", "terrain", "catalogue", "rulebook", "brief", "layout"},
    "rough": {*GROUND, "catalogue", "rulebook", "brief", "layout"},
    # How likely a finished plan stands on the real ground: it reads plans and is no part of making them.
    "chance": {"errors", "units", "plan", "terrain", "catalogue"},
    # The checker measures again from corners and prices again from the files: it shares numbers with
    # the search, never a measurement.
    "standards": {*GROUND, "plan", "terrain", "catalogue", "rulebook"},
    "search": {*GROUND, "plan", "terrain", "catalogue", "rulebook", "brief", "layout", "estimate"},
    # The catalogue for the sizes of the parts that a plan names.
    "viewer": {*GROUND, "plan", "plan_file", "fit_words", "terrain", "catalogue", "brief"},
}
ROOMS |= {
    "record_rules": {"plan", "rulebook", "brief"},
    "named_limit": {"plan", "rulebook"},
    "rule_coverage": {"rulebook"},
    "shape_words": {"plan"},
    "finding_numbers": {"units", "plan"},
}
# Chances of a plan's legs, and what to do about them.
ROOMS |= {
    "fit_words": {"units", "plan", "brief", "chance"},
    "fit_chances": {"errors", "plan", "terrain", "brief", "chance"},
}
PLANNING = {*ROOMS} - {"viewer", "rough", "doctor", "survey", "ground_scan"}
ROOMS |= {
    "undecided": {"plan", "rulebook", "brief", "standards"},
    "findings_report": {
        "written_files",
        "finding_numbers",
        "plan",
        "rulebook",
        "brief",
        "standards",
        "record_rules",
        "named_limit",
        "undecided",
    },
    "progress": {"search"},
    "run_record": {"errors", "written_files"},
    "schemas": {
        *GROUND,
        "ground_report",
        "plan_file",
        "catalogue",
        "rulebook",
        "brief",
        "layout",
        "findings_report",
    },
    "rough_question": {*GROUND, "catalogue", "rulebook", "brief", "rough"},
    "check_again": {*PLANNING, "pipeline", "run_record"},
    # It measures what was drawn: of everything that drew it, it knows the plan alone.
    "audit": {"errors", "units", "plan"},
    "audit_table": {"written_files", "audit", "schedule_tables"},
    "schedule_tables": {*GROUND, "plan", "catalogue", "brief", "fit_words"},
    "rules_table": {"units", "rulebook", "brief", "named_limit", "rule_coverage", "schedule_tables"},
    "findings_table": {
        "plan",
        "rulebook",
        "brief",
        "standards",
        "undecided",
        "fit_words",
        "findings_report",
        "finding_numbers",
        "shape_words",
        "schedule_tables",
    },
    "plan_table": {
        *GROUND,
        "plan",
        "brief",
        "record_rules",
        "shape_words",
        "fit_words",
        "findings_report",
        "findings_table",
        "schedule_tables",
    },
    "record_doubts": {"errors", "plan"},
    "ground_records": {"plan"},
    "ground_report": {
        "errors",
        "written_files",
        "plan",
        "survey",
        "brief",
        "ground_records",
        "record_doubts",
        "record_scan",
    },
    "record_scan": {
        "errors",
        "survey",
        "ground_scan",
        "scan_ground",
        "brief",
        "ground_records",
        "record_doubts",
    },
    "ground_things_table": {"brief", "ground_records", "schedule_tables"},
    "ground_table": {
        "brief",
        "ground_records",
        "ground_report",
        "ground_things_table",
        "schedule_tables",
    },
    # Pages set from a template, and lengths as a crew reads them.
    "sheets": {"errors", "units"},
    # In which order a finished plan is put up and taken away.
    "assembly": {"errors", "units", "plan", "catalogue"},
    "documents": {
        "drawings",
        "errors",
        "units",
        "plan",
        "plan_file",
        "written_files",
        "terrain",
        "catalogue",
        "brief",
        "check_again",
        "schedule_tables",
        "visit",
        "sheets",
        "assembly",
        "chance",
        "fit_words",
        "fit_plans",
    },
    "cli_documents": {"errors", "documents"},
    "cli_ground": {
        "errors",
        "written_files",
        "cli_words",
        "plan_table",
        "brief",
        "ground_report",
        "ground_table",
        "visit_files",
        "viewer",
    },
    # Plans, section and details to scale: one set of figures for sheets, DXF and GeoJSON.
    "drawings": {
        "errors",
        "units",
        "written_files",
        "plan",
        "terrain",
        "catalogue",
        "brief",
        "findings_report",
        "finding_numbers",
        "fit_words",
        "schedule_tables",
        "sheets",
    },
    "cli_drawings": {"plan_file", "check_again", "drawings"},
    # Sheets to print: they read a plan and a site, and are no part of making either.
    "visit": {
        "errors",
        "units",
        "plan",
        "terrain",
        "catalogue",
        "rulebook",
        "brief",
        "schedule_tables",
        "sheets",
    },
    "visit_files": {"errors", "written_files", "plan", "plan_file", "brief", "check_again", "visit"},
    "fit_search": {"plan", "brief"},
    "fit_plans": {"errors", "plan", "plan_file", "terrain", "brief", "chance", "check_again", "fit_chances"},
    "fit_tables": {"terrain", "brief", "chance", "fit_plans", "fit_words", "schedule_tables"},
    # Options side by side: of a plan alone; a study solves anew, so it is handed the planner.
    "compare": {"errors", "units", "plan", "brief"},
    "compare_table": {"units", "plan", "shape_words", "fit_words", "schedule_tables", "compare"},
    "offer": {"units", "plan", "catalogue", "sheets", "documents", "assembly"},
    # One document that tells all: the words of the tables, set on pages.
    "report": {
        "errors",
        "units",
        "toml_file",
        "plan",
        "catalogue",
        "rulebook",
        "standards",
        "fit_words",
        "shape_words",
        "brief",
        "ground_records",
        "ground_table",
        "finding_numbers",
        "findings_report",
        "findings_table",
        "plan_table",
        "schedule_tables",
        "visit",
        "sheets",
        "documents",
    },
    "cli_report": {
        "errors",
        "written_files",
        "cli_words",
        "brief",
        "ground_report",
        "documents",
        "report",
        "viewer",
    },
    "cli_offer": {"errors", "written_files", "documents", "offer"},
    "cli_compare": {
        "written_files",
        "plan_file",
        "check_again",
        "plan_table",
        "pipeline",
        "compare",
        "compare_table",
    },
    "cli_fit": {"errors", "fit_plans", "fit_tables", "plan_table"},
    "take_off_table": {"plan", "estimate", "schedule_tables"},
    "cli_price": {
        "errors",
        "written_files",
        "plan_file",
        "check_again",
        "plan_table",
        "estimate",
        "take_off_table",
    },
    # The client's page is drawn by the viewer; heavy rooms are imported inside the command.
    "cli_page": {"errors", "written_files", "cli_words", "plan_file", "check_again", "run_record", "viewer"},
    "cli_words": set(),
}
#: The top: may import every room, the viewer only inside functions, and alone may import it.
TOP_ROOMS = ("pipeline", "cli")
#: What stands on the pipeline, which therefore may not import it.
UPON_PIPELINE = {room for room, below in ROOMS.items() if "pipeline" in below}
BOUNDARIES = {
    "plan",
    "plan_file",
    "toml_file",
    "toml_model",
    "survey",
    "catalogue",
    "rulebook",
    "brief",
    "layout",
    "findings_report",
    "ground_records",
}
#: Third-party package: the rooms that may import it.  What is not named here may be imported nowhere.
THIRD_PARTY: dict[str, set[str]] = {
    "numpy": {
        "drawings",
        "survey",
        "terrain",
        "ground_scan",
        "scan_ground",
        "record_scan",
        "brief",
        "layout",
        "search",
        "standards",
        "viewer",
        "pipeline",
        "audit",
        "chance",
        "fit_chances",
        "fit_plans",
        "fit_tables",
        "ground_report",
        "visit",
        "documents",
    },
    "typst": {"sheets"},
    "ezdxf": {"drawings"},
    "shapely": {
        "drawings",
        "terrain",
        "ground_scan",
        "brief",
        "layout",
        "search",
        "standards",
        "audit",
        "documents",
    },
    "pythoncdt": {"terrain"},
    "ortools": {"search", "chance"},
    "numba": {"search", "ground_scan"},
    "pydantic": BOUNDARIES,
    "pydantic_core": {"toml_model", "brief"},
    "trimesh": {"viewer", "audit"},
    "laspy": {"survey"},
    # Quantiles of the tests of a placing; the normal distribution and the nearest of many places.
    "scipy": {"survey", "terrain", "chance", "ground_scan", "scan_ground"},
    "pye57": {"survey"},  # an extra
    "pyvista": {"viewer"},
    "vtkmodules": {"viewer"},  # comes with pyvista
    "PIL": {"viewer"},
    "typer": {
        "cli",
        "cli_documents",
        "cli_ground",
        "cli_drawings",
        "cli_offer",
        "cli_compare",
        "cli_fit",
        "cli_page",
        "cli_price",
        "cli_report",
    },
    "rich": {
        "audit_table",
        "plan_table",
        "fit_tables",
        "schedule_tables",
        "findings_table",
        "ground_table",
        "ground_things_table",
        "compare_table",
    },
}


@dataclass(frozen=True, slots=True)
class Import:
    """One import statement: where, of what, and whether it waits inside a function."""

    path: Path
    line: int
    room: str
    module: str
    is_lazy: bool

    def __str__(self) -> str:
        return f"{self.path.relative_to(TOP)}:{self.line} ({self.room}) imports {self.module}"


def room_of(path: Path) -> str:
    """``optimizer/search/x.py`` is in ``search``, ``optimizer/units.py`` in ``units``."""
    parts = path.relative_to(TOP).with_suffix("").parts
    return "viewer" if parts[0] == "viewer" else parts[1]


def room_of_module(module: str) -> str | None:
    """Room of a dotted name of ours, else ``None``."""
    first, _, rest = module.partition(".")
    if first == "viewer":
        return "viewer"
    return rest.partition(".")[0] if first == "optimizer" else None


def read_imports(path: Path, source: str) -> Iterator[Import]:
    tree = ast.parse(source, str(path))
    lazy = {
        inner
        for outer in ast.walk(tree)
        if isinstance(outer, ast.FunctionDef | ast.AsyncFunctionDef)
        for inner in ast.walk(outer)
    }
    for node in ast.walk(tree):
        modules: list[str] = []
        if isinstance(node, ast.Import):
            modules = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: imports are absolute here"
            assert node.module is not None
            modules = [node.module]
            if node.module == "optimizer":
                modules = [f"optimizer.{alias.name}" for alias in node.names]
        for module in modules:
            yield Import(path, node.lineno, room_of(path), module, node in lazy)


def find_layer_breaks(imports: list[Import]) -> list[str]:
    broken = []
    for one in imports:
        target = room_of_module(one.module)
        if target is None or target == one.room:
            continue
        if one.room in TOP_ROOMS:
            above = {"cli"} if one.room == "cli" else {"cli", *UPON_PIPELINE}
            allowed = target not in above and (target != "viewer" or one.is_lazy)
        else:
            allowed = target in ROOMS[one.room]
        if not allowed:
            broken.append(str(one))
    return broken


def find_misplaced_packages(imports: list[Import]) -> list[str]:
    return [
        str(one)
        for one in imports
        if (package := one.module.partition(".")[0]) not in sys.stdlib_module_names
        and package not in ("optimizer", "viewer")
        and one.room not in THIRD_PARTY.get(package, set())
    ]


def _sources() -> list[Path]:
    return sorted(path for folder in ("optimizer", "viewer") for path in (TOP / folder).rglob("*.py"))


def _imports() -> list[Import]:
    return [one for path in _sources() for one in read_imports(path, path.read_text())]


def test_every_module_belongs_to_a_declared_room() -> None:
    found = {room_of(path) for path in _sources() if path != TOP / "optimizer" / "__init__.py"}
    assert found <= {*ROOMS, *TOP_ROOMS}, "declare the new room in ROOMS, with what it may import"
    assert {*ROOMS, *TOP_ROOMS} <= found, "a room that is gone is still declared"


def test_every_folder_of_modules_is_a_package() -> None:
    folders = {path.parent for path in _sources()}
    assert [str(folder) for folder in sorted(folders) if not (folder / "__init__.py").is_file()] == []


def test_imports_point_one_way() -> None:
    assert find_layer_breaks(_imports()) == []


def test_the_declared_layers_have_no_circle() -> None:
    left = dict(ROOMS)
    while left:
        free = [room for room, below in left.items() if not (below - {"pipeline"}) & left.keys()]
        assert free, f"these import each other: {sorted(left)}"
        for room in free:
            del left[room]


def test_third_party_packages_stay_in_their_rooms() -> None:
    assert find_misplaced_packages(_imports()) == []


def test_every_third_party_package_is_declared_and_used() -> None:
    project = tomllib.loads((TOP / "pyproject.toml").read_text())["project"]
    extras = {name: lines for name, lines in project["optional-dependencies"].items() if name != "test"}
    lines = [*project["dependencies"], *(line for extra in extras.values() for line in extra)]
    declared = {re.split(r"[^A-Za-z0-9_-]", line, maxsplit=1)[0] for line in lines}
    used = {one.module.partition(".")[0] for one in _imports()} & THIRD_PARTY.keys()
    # pydantic_core comes with pydantic and vtkmodules with pyvista, which pin them; PIL is pillow's name.
    named = {"pillow" if package == "PIL" else package for package in used}
    assert named - {"pydantic_core", "vtkmodules"} == declared


def test_the_brute_force_shares_nothing_with_the_search() -> None:
    path = TOP / "tests" / "validation" / "brute_force.py"
    shared = {"errors", "units", "terrain", "catalogue", "rulebook", "brief"}
    imported = {
        room
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.ImportFrom)
        and node.module is not None
        and (room := room_of_module(node.module)) is not None
    }
    assert imported <= shared


@pytest.mark.parametrize(
    ("path", "source", "breaks"),
    [
        ("optimizer/standards/x.py", "from optimizer.layout.spec import Layout", True),
        ("optimizer/standards/x.py", "from optimizer.rulebook.rules import RuleSet", False),
        ("optimizer/search/x.py", "def f():\n    import optimizer.standards.findings", True),
        ("optimizer/errors.py", "from optimizer import units", True),
        ("optimizer/pipeline.py", "import viewer.stills", True),
        ("optimizer/pipeline.py", "def f():\n    from viewer.stills import draw", False),
        ("optimizer/pipeline.py", "from optimizer.cli import main", True),
        ("optimizer/cli.py", "from optimizer.pipeline import make_plan", False),
        ("optimizer/estimate/x.py", "from viewer.solids import box", True),
        ("viewer/x.py", "from optimizer.search.solve_shapes import y", True),
    ],
)
def test_the_layer_rule_bites(path: str, source: str, *, breaks: bool) -> None:
    assert bool(find_layer_breaks(list(read_imports(TOP / path, source)))) is breaks


@pytest.mark.parametrize(
    ("path", "source", "breaks"),
    [
        ("optimizer/layout/x.py", "from ortools.sat.python import cp_model", True),
        ("optimizer/search/x.py", "from ortools.sat.python import cp_model", False),
        ("optimizer/cli.py", "def f():\n    import pyvista as pv", True),
        ("optimizer/units.py", "import scipy", True),
        ("optimizer/units.py", "import math", False),
    ],
)
def test_the_package_rule_bites(path: str, source: str, *, breaks: bool) -> None:
    assert bool(find_misplaced_packages(list(read_imports(TOP / path, source)))) is breaks
