"""The house keeps its order: rooms and sub-rooms import downwards only, files without circles."""

import ast
from collections import Counter
from pathlib import Path

import pytest

from tests.support.places import ROOT

ROOMS = ("shared", "listen", "theory", "report", "practice")
BESIDE = ("fixtures", "bench", "training", "tests")
ALL = (*ROOMS, "stackline", *BESIDE)

MAY_IMPORT = {
    "shared": {"shared"},
    "listen": {"shared", "listen"},
    "theory": {"shared", "theory"},
    "report": {"shared", "listen", "theory", "report"},
    "practice": {"shared", "theory", "report", "practice"},
    "stackline": {*ROOMS, "stackline"},
    "fixtures": {*ROOMS, "stackline", "fixtures"},
    "bench": {*ROOMS, "stackline", "fixtures", "bench"},
    "training": {*ROOMS, "stackline", "fixtures", "bench", "training"},
}

# The floors of each room, from the ground up. Places of one floor are separated by "|" and do not
# know each other; names within a place (sub-rooms, or files of the ground floor) may.
FLOORS = {
    "shared": "units complaint files folder best_path sound notes rhythm swing harmony take"
    " < codec",
    "listen": "ear one_layer offline_network time.time_hints < recording"
    " < attacks < piano | general | large | other_sounds < time < hearing < sections",
    "listen.time": "time_hints < bar_places count_in one_a_bar < rhythms < bar_pointer < runs"
    " < readings < beats < hint_remarks",
    "theory": "sounding | chords < sheet | stacks < labelling < given | form < motion"
    " < ways < explain | reading",
    "report": "html < words | sound < contents | score < notation | files < page < printed"
    " < outputs",
    "practice": "columns < targets < finding < review < written"
    " < library | drills < progress | comparing | suggested < planning | quiz",
    "stackline": "version stopping < ears < pipeline < options < sessions < commands < cli"
    " < __main__",
}


def _files(room: str) -> list[Path]:
    return sorted((ROOT / room).rglob("*.py"))


def _module(path: Path) -> str:
    """A file's name inside the house: ``listen.time.beats``; a folder for its ``__init__``."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _raw_imports(path: Path) -> set[str]:
    """Dotted names that a file imports, anywhere in it; of ``from a import b``, a and a.b."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return found


MODULES = {_module(path): path for room in ALL for path in _files(room)}


def _imports(path: Path) -> set[str]:
    """The project's own files that a file imports, by their names inside the house."""
    found = set()
    for name in _raw_imports(path):
        parts = name.split(".")
        installed = len(parts) > 1 and parts[0] == "stackline" and parts[1] in ROOMS
        found.add(".".join(parts[1:] if installed else parts))
    return {name for name in found if name in MODULES}


def _place(inner: str, floors: str) -> tuple[int, str] | None:
    """Floor and place of a name inside its room: the longest of the listed names that fits."""
    fits = [
        (len(name), floor, place)
        for floor, places in enumerate(floors.split("<"))
        for place in places.split("|")
        for name in place.split()
        if inner == name or inner.startswith(name + ".")
    ]
    return max(fits)[1:] if fits else None


@pytest.mark.parametrize("room", MAY_IMPORT)
def test_a_room_imports_only_rooms_below_it(room: str) -> None:
    """No file of a room reaches up; nothing that is installed imports tests, bench or training."""
    files = _files(room)
    assert files, f"the room {room} is empty"
    for path in files:
        reached = {name.split(".")[0] for name in _imports(path)}
        assert reached <= MAY_IMPORT[room], f"{path} imports {reached - MAY_IMPORT[room]}"


@pytest.mark.parametrize("room", FLOORS)
def test_inside_a_room_sub_rooms_import_downwards_only(room: str) -> None:
    """A sub-room uses itself and the floors below; every file has a place in the plan."""
    floors, checked = FLOORS[room], 0
    for path in _files(room.replace(".", "/")):
        inner = _module(path).removeprefix(room).lstrip(".")
        own = _place(inner, floors)
        assert own or path.name == "__init__.py", f"{path} has no floor in the plan of {room}"
        for name in _imports(path) if own else ():
            other = _place(name.removeprefix(room).lstrip("."), floors)
            if other and own and name.startswith(room + "."):
                assert other == own or other[0] < own[0], f"{path} reaches up to {name}"
                checked += 1
    assert checked, f"nothing was checked in {room}"


def test_rooms_are_imported_by_their_installed_names() -> None:
    """``stackline.listen``, never a bare ``listen`` that a user's own file could be."""
    for name, path in MODULES.items():
        bare = {one for one in _raw_imports(path) if one.split(".")[0] in ROOMS}
        assert not bare, f"{name} imports {bare}"


def test_files_import_without_circles() -> None:
    """Following imports from file to file never comes back to where it started."""
    edges = {name: _imports(path) - {name} for name, path in MODULES.items()}
    packages = {name for name, path in MODULES.items() if path.name == "__init__.py"}
    done: set[str] = set()

    def walk(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, f"a circle: {' -> '.join((*trail, name))}"
        if name not in done:
            for one in edges[name] - packages:
                walk(one, (*trail, name))
            done.add(name)

    for name in MODULES:
        walk(name, ())
    assert done == set(MODULES)


def test_no_two_rooms_have_a_file_of_the_same_name() -> None:
    """A file's name alone says where it stands."""
    names = Counter(
        path.stem
        for room in (*ROOMS, "stackline")
        for path in _files(room)
        if not path.stem.startswith("__")
    )
    assert names, "no files found"
    assert [name for name, count in names.items() if count > 1] == []
