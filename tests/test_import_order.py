"""The house keeps its order: rooms import downwards only, files without circles."""

import ast
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
ROOMS = ("shared", "listen", "theory", "report", "practice", "stackline")
OUTSIDE = ("tests", "bench", "training", "fixtures")
MAY_IMPORT = {
    "shared": {"shared"},
    "listen": {"shared", "listen"},
    "theory": {"shared", "theory"},
    "report": {"shared", "listen", "theory", "report"},
    "practice": {"shared", "listen", "theory", "practice"},
    "stackline": set(ROOMS),
}


def _files(room: str) -> list[Path]:
    return sorted((ROOT / room).rglob("*.py"))


def _imports(path: Path) -> set[str]:
    """Dotted names of the project's own modules that a file imports, anywhere in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return {name for name in found if name.split(".")[0] in ROOMS + OUTSIDE}


def _module(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_only_rooms_below_it(room: str) -> None:
    """No file of a room reaches up, or into the tests, the bench or the training."""
    files = _files(room)
    assert files, f"the room {room} is empty"
    for path in files:
        reached = {name.split(".")[0] for name in _imports(path)}
        assert reached <= MAY_IMPORT[room], f"{path} imports {reached - MAY_IMPORT[room]}"


def test_files_import_without_circles() -> None:
    """Following imports from file to file never comes back to where it started."""
    modules = {_module(path): path for room in ROOMS for path in _files(room)}
    edges = {
        name: {one for one in _imports(path) if one in modules and one != name}
        for name, path in modules.items()
    }
    done: set[str] = set()

    def walk(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, f"a circle: {' -> '.join((*trail, name))}"
        if name not in done:
            for one in edges[name]:
                walk(one, (*trail, name))
            done.add(name)

    for name in modules:
        walk(name, ())
    assert done == set(modules)


def test_no_two_rooms_have_a_file_of_the_same_name() -> None:
    """A file's name alone says where it stands."""
    names = Counter(
        path.stem for room in ROOMS for path in _files(room) if not path.stem.startswith("__")
    )
    assert names, "no files found"
    assert [name for name, count in names.items() if count > 1] == []
