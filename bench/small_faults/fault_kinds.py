"""Small faults that a hand makes in code: where a file can take one, and the text with it in.

A fault is one of

    comparison   turned round (``<`` for ``>=``), or its edge moved (``<`` for ``<=``) at a number
    constant     moved: a whole number by one, another by a third; True for False
    condition    negated; ``and`` for ``or``
    sum          ``+`` for ``-``, ``*`` for ``/``
    choice       ``min`` for ``max``, ``any`` for ``all``
    statement    left out: a call, a ``continue``, an early ``return``, an addition

Nothing is changed in annotations, docstrings, f-strings, decorators and what is raised: there a
fault is one of words. Some faults change nothing that anybody could notice (the edge of a
comparison that no number reaches), so not all of them can be found.
"""

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass

_TURNED = {ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq,
           ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot,
           ast.IsNot: ast.Is}  # fmt: skip
_EDGE = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt}
_SUMS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}
_CHOICES = {"min": "max", "max": "min", "any": "all", "all": "any"}
_SWITCHES = frozenset({"strict", "frozen", "kw_only", "slots", "eq", "err", "nl", "is_flag"})
MOVED = 4 / 3  # what a constant that is no whole number is multiplied by


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One fault. line: where, from 1. was, now: source texts. text: the whole file with it in."""

    kind: str
    line: int
    was: str
    now: str
    text: str


def faults_in(text: str) -> list[Fault]:
    """Every fault that a module's text can take, in order of kind and place."""
    tree = ast.parse(text)
    found = []
    for kind, node, changed in _candidates(tree):
        fault = _placed(text, kind, node, changed)
        if fault is not None:
            found.append(fault)
    return found


def _placed(text: str, kind: str, node: ast.AST, changed: ast.AST | None) -> Fault | None:
    was = ast.get_source_segment(text, node)
    if was is None:
        return None
    now = "pass" if changed is None else f"({ast.unparse(changed)})"
    line, column = node.lineno, node.col_offset  # type: ignore[attr-defined]
    lines = text.encode("utf-8").splitlines(keepends=True)
    at = sum(len(one) for one in lines[: line - 1]) + column
    raw = text.encode("utf-8")
    new = raw[:at] + now.encode("utf-8") + raw[at + len(was.encode("utf-8")) :]
    try:
        ast.parse(new)
    except SyntaxError:
        return None
    short = " ".join(was.split())
    return Fault(kind=kind, line=line, was=short[:80], now=now[:80], text=new.decode("utf-8"))


Candidate = tuple[str, ast.AST, ast.AST | None]


def _candidates(tree: ast.AST) -> Iterator[Candidate]:
    for node in _inside(tree):
        yield from _of_expression(node)
        yield from _of_statement(node)


def _inside(node: ast.AST) -> Iterator[ast.AST]:
    """Every node but those where a fault would be one of words, not of doing."""
    yield node
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "exc", "msg"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or isinstance(child, ast.JoinedStr):
                continue
            if isinstance(child, ast.keyword) and child.arg in _SWITCHES:
                continue
            if isinstance(child, ast.If) and ast.unparse(child.test) == "TYPE_CHECKING":
                continue
            if isinstance(child, ast.Subscript) and ast.unparse(child.value) == "Literal":
                continue
            yield from _inside(child)


def _of_expression(node: ast.AST) -> Iterator[Candidate]:
    new = copy.deepcopy(node)
    if isinstance(node, ast.Compare) and isinstance(new, ast.Compare) and len(node.ops) == 1:
        new.ops = [_TURNED[type(node.ops[0])]()]
        yield "comparison", node, new
        right = node.comparators[0]
        if type(node.ops[0]) in _EDGE and isinstance(right, ast.Constant):
            edge = copy.deepcopy(node)
            edge.ops = [_EDGE[type(node.ops[0])]()]
            yield "comparison", node, edge
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool | int | float):
        yield "constant", node, ast.Constant(_moved(node.value))
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield "condition", node, node.operand
    elif isinstance(node, ast.BoolOp) and isinstance(new, ast.BoolOp):
        new.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        yield "condition", node, new
    elif isinstance(node, ast.BinOp) and isinstance(new, ast.BinOp) and type(node.op) in _SUMS:
        wordy = any(_is_wordy(side) for side in (node.left, node.right))
        if not wordy:
            new.op = _SUMS[type(node.op)]()
            yield "sum", node, new
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        other = _CHOICES.get(node.func.id)
        if other and isinstance(new, ast.Call):
            new.func = ast.Name(other)
            yield "choice", node, new


def _moved(value: float) -> float:
    if isinstance(value, bool):
        return not value
    return value + 1 if isinstance(value, int) else value * MOVED if value else 1.0


def _is_wordy(side: ast.AST) -> bool:
    """Whether a side of a sum is text or a tuple: turning such a sum round only raises."""
    text = isinstance(side, ast.Constant) and isinstance(side.value, str)
    return text or isinstance(side, ast.JoinedStr | ast.Tuple | ast.List)


def _of_statement(node: ast.AST) -> Iterator[Candidate]:
    if isinstance(node, ast.If | ast.IfExp | ast.While):
        plain = not isinstance(node.test, ast.Compare | ast.BoolOp | ast.UnaryOp)
        if plain:
            yield "condition", node.test, ast.UnaryOp(ast.Not(), node.test)
        for child in node.body if isinstance(node, ast.If) else []:
            if isinstance(child, ast.Return | ast.Continue | ast.Break):
                yield "statement", child, None
    elif isinstance(node, ast.AugAssign) or _is_call(node):
        yield "statement", node, None


def _is_call(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Call)
