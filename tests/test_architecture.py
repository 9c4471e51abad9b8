"""The house: who may import whom, how long a module is, and what stands at the top level."""

import ast
from collections import defaultdict
from functools import cache
from pathlib import Path

import networkx as nx
import pytest

from estimator.catalogue.records import KINDS
from estimator.job.description_pieces import PIECES

ROOT = Path(__file__).parents[1]
HOUSE = ROOT / "estimator"
MODULE_LINES = 500
SHARED_NAMES = 5
"""How many names may stand for two classes."""

MAY_IMPORT: dict[str, set[str]] = {
    "core": set(),
    "calc": {"core"},
    "intake": {"core"},
    "job": {"core", "intake"},
    "catalogue": {"core", "intake", "job"},
    "layout": {"core", "calc", "job", "catalogue"},
    "cutting": {"core", "intake", "catalogue", "layout"},
    "acoustics": {"core", "calc", "job", "catalogue", "layout"},
    "takeoff": {"core", "calc", "catalogue", "layout", "cutting"},
    "labour": {"core", "calc", "intake", "job", "catalogue"},
    "pricing": {"core", "calc", "catalogue", "job"},
    "pipeline": {
        "core",
        "calc",
        "job",
        "catalogue",
        "layout",
        "cutting",
        "acoustics",
        "takeoff",
        "labour",
        "pricing",
    },
    "tables": set(),
    "workbook": {"core", "calc", "intake"},
    "office": set(),
    "documents": set(),
    "archive": set(),
    "cli": set(),
}
LAST = {"tables", "office", "documents", "archive", "cli"}
"""Rooms behind the pipeline; each may read every room before it in `ORDER`."""
ORDER = ("tables", "workbook", "office", "documents", "archive", "cli")


def room_of(path: Path) -> str:
    part = path.relative_to(HOUSE).parts[0]
    return part.removesuffix(".py")


@cache
def imports() -> dict[str, set[str]]:
    found: dict[str, set[str]] = defaultdict(set)
    for path in HOUSE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names: list[str] = []
            if isinstance(node, ast.ImportFrom) and node.module:
                names = [node.module]
            elif isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            for name in names:
                parts = name.split(".")
                if parts[0] == "estimator" and len(parts) > 1:
                    found[room_of(path)].add(parts[1])
    return found


@pytest.mark.parametrize("room", sorted(set(MAY_IMPORT) - LAST))
def test_a_room_imports_only_what_stands_before_it(room: str) -> None:
    used = imports()[room] - {room}
    assert used <= MAY_IMPORT[room], f"{room} may not import {sorted(used - MAY_IMPORT[room])}"


@pytest.mark.parametrize("room", sorted(set(MAY_IMPORT) - LAST))
def test_no_permission_is_left_unused(room: str) -> None:
    unused = MAY_IMPORT[room] - imports()[room]
    assert not unused, f"{room} does not use its permission to import {sorted(unused)}"


@pytest.mark.parametrize("room", sorted(LAST))
def test_the_last_rooms_never_look_ahead(room: str) -> None:
    ahead = set(ORDER[ORDER.index(room) + 1 :])
    assert not imports()[room] & ahead


def test_no_stage_knows_the_pipeline() -> None:
    users = {room for room, used in imports().items() if "pipeline" in used}
    assert users <= LAST


def module_imports() -> dict[str, set[str]]:
    modules = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path
        for path in HOUSE.rglob("*.py")
    }
    found: dict[str, set[str]] = {}
    for name, path in modules.items():
        nodes = list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
        froms = {f"{n.module}.{a.name}" for n in nodes if isinstance(n, ast.ImportFrom) for a in n.names}
        froms |= {n.module or "" for n in nodes if isinstance(n, ast.ImportFrom)}
        found[name] = (froms & modules.keys()) - {name, "estimator"}
    return found


def test_no_module_leads_back_to_itself() -> None:
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_edges_from((name, other) for name, used in module_imports().items() for other in used)
    circles = [sorted(circle) for circle in nx.strongly_connected_components(graph) if len(circle) > 1]
    assert not circles


def test_no_module_is_a_drawer() -> None:
    names = {path.stem for path in HOUSE.rglob("*.py")}
    assert not names & {"utils", "helpers", "misc", "common", "base"}


def test_modules_stay_short() -> None:
    long = {
        str(path.relative_to(ROOT)): count
        for path in HOUSE.rglob("*.py")
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > MODULE_LINES
    }
    assert not long


def test_few_names_stand_for_two_classes() -> None:
    where: dict[str, set[str]] = defaultdict(set)
    for path in HOUSE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                where[node.name].add(str(path.relative_to(ROOT)))
    shared = {name: sorted(paths) for name, paths in where.items() if len(paths) > 1}
    assert len(shared) <= SHARED_NAMES, shared


def test_the_top_level_holds_nothing_else() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "estimator", "templates", "tests",
               "examples", "docs"}  # fmt: skip
    passing = {"out", "build", "dist"}
    seen = {p.name for p in ROOT.iterdir() if not p.name.startswith(".") and not p.name.endswith(".egg-info")}
    assert seen - passing <= allowed


def asked(tree: ast.AST) -> set[str]:
    """Return the words that something's kind is compared with."""
    compared = (n for n in ast.walk(tree) if isinstance(n, ast.Compare))
    sides = ([n.left, *n.comparators] for n in compared)
    of_kinds = (s for s in sides if any(isinstance(one, ast.Attribute) and one.attr == "kind" for one in s))
    return {
        c.value
        for side in of_kinds
        for one in side
        for c in ast.walk(one)
        if isinstance(c, ast.Constant) and isinstance(c.value, str)
    }


def test_no_room_asks_for_a_kind_of_piece_or_item_by_its_name() -> None:
    strips = {"casing", "cover"}  # a strip's own kinds, which items of the price list share
    assert asked(ast.parse("f.kind in ('cloud', 'x') or 'foot' == i.kind")) == {"cloud", "x", "foot"}
    for path in HOUSE.rglob("*.py"):
        found = asked(ast.parse(path.read_text(encoding="utf-8"))) & ({*PIECES, *KINDS} - strips)
        assert not found, f"{path.relative_to(ROOT)} asks for {sorted(found)}; read the record instead"
