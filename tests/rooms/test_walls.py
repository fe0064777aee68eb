"""The walls between the rooms: each heavy import has one room, and imports go one way."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

# import -> the only places that may hold it
ROOMS_OF = {
    "rtmidi": ("keysense/capture/port.py",),
    "mido": ("keysense/smf.py",),
    "partitura": ("keysense/targets/musicxml.py",),
    "verovio": ("keysense/engraving/",),
    "sqlalchemy": ("keysense/studio/",),
    "alembic": ("keysense/studio/",),
    "plotly": ("keysense/plots/",),
    "starlette": ("keysense/web/",),
    "uvicorn": ("keysense/web/",),
    "soundfile": ("keysense/sound/piano.py",),
    "weasyprint": ("keysense/export.py",),
    "numba": ("keysense/following/kernel_types.py", "keysense/following/fast.py"),
    "llvmlite": ("keysense/following/fast.py",),
}
FOR_A_COMPILER = "kernel"  # files that begin so are imported only where a compiler is asked for
PURE_ROOMS = ("following", "findings", "survey", "comparing")
PURE_IMPORTS = {"numpy", "scipy", "pandas", "numba", "llvmlite", "keysense"}

# Left to right: a room may import from rooms before it, never from one after it.
ORDER = ["core", "smf", "targets", "following", "findings", "survey", "comparing", "engraving", "studio", "capture",
         "listening", "sound", "words", "papers", "plots", "dashboards", "web", "export", "demo", "cli"]  # fmt: skip


def python_files() -> list[Path]:
    return sorted([*(ROOT / "keysense").rglob("*.py"), *(ROOT / "dashboards").rglob("*.py")])


def imports(path: Path) -> Iterator[tuple[str, bool]]:
    """Each module imported, and whether that happens while the module itself is imported."""
    tree = ast.parse(path.read_text("utf-8"))
    top = {id(node) for statement in tree.body for node in _eager(statement)}
    for node in ast.walk(tree):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module]
        for name in names:
            yield name, id(node) in top


def _eager(statement: ast.stmt) -> Iterator[ast.AST]:
    """Every node that runs at import: function bodies and TYPE_CHECKING blocks do not."""
    if isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef):
        return
    if isinstance(statement, ast.If) and "TYPE_CHECKING" in ast.unparse(statement.test):
        return
    yield statement
    for child in ast.iter_child_nodes(statement):
        if isinstance(child, ast.stmt):
            yield from _eager(child)


def room(name: str) -> str:
    parts = name.split(".")
    if parts[-1] == "__main__":
        return "cli"
    if len(parts) > 1 and parts[1] in ORDER:
        return parts[1]
    return "core"


def room_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return "dashboards" if parts[0] == "dashboards" else room(".".join(parts))


@pytest.mark.parametrize("path", python_files(), ids=lambda path: str(path.relative_to(ROOT)))
def test_heavy_imports_stay_in_their_room(path: Path) -> None:
    where = path.relative_to(ROOT).as_posix()
    for name, _ in imports(path):
        allowed = ROOMS_OF.get(name.split(".")[0])
        assert allowed is None or where.startswith(allowed), f"{where} imports {name}"


@pytest.mark.parametrize("path", python_files(), ids=lambda path: str(path.relative_to(ROOT)))
def test_imports_go_one_way(path: Path) -> None:
    here = ORDER.index(room_of(path))
    for name, eager in imports(path):
        if name.startswith("keysense.") and eager:
            assert ORDER.index(room(name)) <= here, f"{path.relative_to(ROOT)} imports {name}"


@pytest.mark.parametrize("pure", PURE_ROOMS)
def test_measuring_rooms_import_only_arrays_and_statistics(pure: str) -> None:
    import sys

    for path in sorted((ROOT / "keysense" / pure).rglob("*.py")):
        for name, eager in imports(path):
            first = name.split(".")[0]
            assert first in PURE_IMPORTS or first in sys.stdlib_module_names, f"{path.name} imports {name}"
            heavy = first in ("scipy", "pandas", "numba", "llvmlite") or "." + FOR_A_COMPILER in name
            may = path.name.startswith(FOR_A_COMPILER)
            assert not (heavy and eager) or may, f"{path.name}: {name} costs the start"


def test_public_names_are_sorted_few_and_there() -> None:
    import keysense

    assert keysense.__all__ == sorted(keysense.__all__)
    assert len(keysense.__all__) <= 30
    assert all(hasattr(keysense, name) for name in keysense.__all__)
