"""Single-line faults that a module can be given, one at a time."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass

_TINY = 1e-6  # guards against rounding: moving one shows nothing, whatever the tests do
_LARGER = 1.5
_COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
_OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
_NAMES = {"min": "max", "max": "min", "any": "all", "all": "any", "argmin": "argmax", "argmax": "argmin"}
_LEFT_OUT = (ast.JoinedStr, ast.Raise, ast.Assert, ast.Import, ast.ImportFrom)  # texts, guards for the type checker


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One fault: the bytes of a file from ``start`` to ``end`` become ``after``."""

    path: str
    line: int
    start: int
    end: int
    before: str
    after: str

    def applied(self, source: bytes) -> bytes:
        """The file with the fault in it."""
        return source[: self.start] + self.after.encode() + source[self.end :]


def faults_of(path: str, source: bytes) -> list[Fault]:
    """Every fault that a file can be given, in the order of its lines."""
    lines = source.splitlines(keepends=True)
    begins = [0]
    for line in lines:
        begins.append(begins[-1] + len(line))
    found: set[Fault] = set()
    for node, changed in _changes(ast.parse(source)):
        start = begins[node.lineno - 1] + node.col_offset
        end = begins[(node.end_lineno or node.lineno) - 1] + (node.end_col_offset or 0)
        after = changed if isinstance(changed, str) else f"({ast.unparse(changed)})"
        found.add(Fault(path, node.lineno, start, end, ast.unparse(node), after))
    return sorted(found)


def _changes(tree: ast.Module) -> Iterator[tuple[ast.expr | ast.stmt, ast.expr | str]]:
    """Each node that can be wrong, with what takes its place."""
    waiting: list[tuple[ast.AST, bool]] = [(tree, False)]
    while waiting:
        node, inside = waiting.pop()
        if isinstance(node, _LEFT_OUT) or (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"):
            continue
        if isinstance(node, ast.expr):
            yield from ((node, other) for other in _other_expressions(node, inside))
        elif isinstance(node, ast.stmt):
            yield from _other_statements(node)
        inside = inside or isinstance(node, ast.FunctionDef)
        waiting += [(child, inside) for child in _children(node)]


def _children(node: ast.AST) -> Iterator[ast.AST]:
    """What runs: annotations, decorators, and types given as arguments are left out."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params", "bases"):
            continue
        if isinstance(node, ast.Call) and name == "args" and _called(node) in ("cast", "TypeVar", "NewType"):
            continue
        if isinstance(node, ast.keyword) and node.arg in ("strict", "slots", "frozen"):
            continue
        yield from (each for each in (value if isinstance(value, list) else [value]) if isinstance(each, ast.AST))


def _called(node: ast.Call) -> str:
    function = node.func
    return (
        function.id if isinstance(function, ast.Name) else function.attr if isinstance(function, ast.Attribute) else ""
    )


def _other_expressions(node: ast.expr, inside: bool) -> Iterator[ast.expr]:
    if isinstance(node, ast.Compare):
        for place, operator in enumerate(node.ops):
            for other in _COMPARISONS[type(operator)]:
                yield _with(node, ops=[*node.ops[:place], other(), *node.ops[place + 1 :]])
    elif isinstance(node, ast.BinOp) and type(node.op) in _OPERATORS:
        if inside or not isinstance(node.op, ast.BitOr):  # outside of a function it joins types
            yield _with(node, op=_OPERATORS[type(node.op)]())
    elif isinstance(node, ast.BoolOp):
        yield _with(node, op=ast.Or() if isinstance(node.op, ast.And) else ast.And())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub | ast.Invert):
        yield node.operand
    elif isinstance(node, ast.IfExp):
        yield _with(node, body=node.orelse, orelse=node.body)
    elif isinstance(node, ast.Constant):
        yield from _other_constants(node)
    elif isinstance(node, ast.Call):
        yield from _other_calls(node)


def _other_constants(node: ast.Constant) -> Iterator[ast.expr]:
    value = node.value
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int):
        yield ast.Constant(value + 1)
    elif isinstance(value, float) and (value == 0.0 or abs(value) > _TINY):
        yield ast.Constant(value * _LARGER if value else 1.0)


def _other_calls(node: ast.Call) -> Iterator[ast.expr]:
    name = _called(node)
    if name in _NAMES:
        function = deepcopy(node.func)
        setattr(function, "id" if isinstance(function, ast.Name) else "attr", _NAMES[name])
        yield _with(node, func=function)
    plain = not any(isinstance(each, ast.Starred) for each in node.args)
    if plain and len(node.args) >= 2 and name not in ("isinstance", "min", "max", "maximum", "minimum"):
        for place in range(len(node.args) - 1):
            first, second = node.args[place : place + 2]
            if _are_alike(first, second):
                yield _with(node, args=[*node.args[:place], second, first, *node.args[place + 2 :]])


def _are_alike(first: ast.expr, second: ast.expr) -> bool:
    """Whether somebody might take one for the other: both names, or both constants of one type, and not equal."""
    if isinstance(first, ast.Constant) and isinstance(second, ast.Constant):
        return type(first.value) is type(second.value) and first.value != second.value
    return type(first) is type(second) and ast.dump(first) != ast.dump(second)


def _other_statements(node: ast.stmt) -> Iterator[tuple[ast.expr | ast.stmt, ast.expr | str]]:
    if isinstance(node, ast.Return) and node.value is not None and not _is_none(node.value):
        yield node, "return None"
    elif _can_go(node):
        yield node, "pass"
    elif isinstance(node, ast.If | ast.While) and isinstance(node.test, ast.Name | ast.Attribute | ast.Call):
        yield node.test, ast.UnaryOp(ast.Not(), node.test)


def _can_go(node: ast.stmt) -> bool:
    if isinstance(node, ast.Expr):
        return not isinstance(node.value, ast.Constant | ast.Yield | ast.YieldFrom)
    return isinstance(node, ast.AugAssign | ast.Continue | ast.Break)


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _with(node: ast.expr, **parts: object) -> ast.expr:
    other = deepcopy(node)
    for name, value in parts.items():
        setattr(other, name, value)
    return other
