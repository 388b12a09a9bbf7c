"""Public functions on arrays state the shapes of what comes and goes."""

import ast
import re
from collections.abc import Iterator

import pytest

from tests.house.test_import_order import ROOMS, ROOT

# "(n,)", "(n, 88)", "(440, size // 2 + 1)"; or a reference to where it is stated: "see `likeness`".
SHAPE = re.compile(r"\([^(),]+,(?:\s[^(),]+,?)*\)|[sS]ee `[\w.]+`")


def _takes_arrays(function: ast.FunctionDef) -> bool:
    notes = [one.annotation for one in (*function.args.args, *function.args.kwonlyargs)]
    texts = [ast.unparse(one) for one in (*notes, function.returns) if one is not None]
    return any("ndarray" in text or "NDArray" in text for text in texts)


def _public(nodes: list[ast.stmt], inside: str = "") -> Iterator[tuple[str, ast.FunctionDef]]:
    for node in nodes:
        name = getattr(node, "name", "_")
        if name.startswith("_") and name != "__call__":
            continue
        if isinstance(node, ast.ClassDef):
            yield from _public(node.body, f"{node.name}.")
        elif isinstance(node, ast.FunctionDef) and _takes_arrays(node):
            yield f"{inside}{name}", node


FUNCTIONS = [
    pytest.param(node, id=f"{path.relative_to(ROOT).as_posix()}:{name}")
    for room in (*ROOMS, "stackline")
    for path in sorted((ROOT / room).rglob("*.py"))
    for name, node in _public(ast.parse(path.read_text(encoding="utf-8")).body)
]


@pytest.mark.parametrize("function", FUNCTIONS)
def test_a_public_function_on_arrays_states_their_shapes(function: ast.FunctionDef) -> None:
    """A caller must not have to read the code for what an axis is."""
    assert SHAPE.search(ast.get_docstring(function) or "")


def test_there_are_such_functions() -> None:
    """The search finds them."""
    assert len(FUNCTIONS) > 50
