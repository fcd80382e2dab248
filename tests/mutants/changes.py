"""The small changes of a Python file that a test ought to notice."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from itertools import chain
from typing import Any

OTHER: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.LShift: ast.RShift,
    ast.RShift: ast.LShift,
    ast.And: ast.Or,
    ast.Or: ast.And,
}


@dataclass(frozen=True)
class Mutant:
    """One change: where it is, in words, and how `mutated` finds it again (the node's place, and which change of it).

    `text`: the line. `lines`: those of the statement it lies in, without the body of a compound one.
    """

    file: str
    line: int
    text: str
    lines: range
    was: str
    becomes: str
    node: int
    change: int


def mutants(file: str, source: str) -> Iterator[Mutant]:
    """Every change of a file."""
    tree = ast.parse(source)
    apart, lines = set(map(id, chain.from_iterable(map(_told_to_nobody, ast.walk(tree))))), _statements(tree)
    for place, node in enumerate(ast.walk(tree)):
        for number, new in enumerate([] if id(node) in apart else _changes(node)):
            line: int = node.lineno  # type: ignore[attr-defined]
            text, at = source.splitlines()[line - 1].strip(), lines[id(node)]
            yield Mutant(file, line, text, at, ast.unparse(node), ast.unparse(new), place, number)


def mutated(source: str, mutant: Mutant) -> str:
    """The file with the change; its comments are gone."""
    tree = ast.parse(source)
    node = list(ast.walk(tree))[mutant.node]
    new = list(_changes(node))[mutant.change]
    for parent in ast.walk(tree):
        for name, value in ast.iter_fields(parent):
            if value is node:
                setattr(parent, name, new)
            elif isinstance(value, list):
                value[:] = [new if one is node else one for one in value]
    return ast.unparse(ast.fix_missing_locations(tree))


def _told_to_nobody(node: ast.AST) -> Iterator[ast.AST]:
    """What stands below a node and no test could notice: types, decorators, documentation."""
    hints = [getattr(node, name, None) for name in ("annotation", "returns")]
    for hint in [*filter(None, hints), *getattr(node, "decorator_list", ())]:
        yield from ast.walk(hint)
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        yield node
    if isinstance(node, ast.BinOp) and isinstance(node.right, ast.Constant) and node.right.value is None:
        yield node


def _statements(tree: ast.Module) -> dict[int, range]:
    """By node the lines of its statement; an inner statement comes after the outer one and takes its own nodes."""
    found: dict[int, range] = {}
    for statement in (node for node in ast.walk(tree) if isinstance(node, ast.stmt)):
        body = getattr(statement, "body", None)
        end = body[0].lineno - 1 if body else statement.end_lineno or statement.lineno
        found |= dict.fromkeys(map(id, ast.walk(statement)), range(statement.lineno, max(end, statement.lineno) + 1))
    return found


def _changes(node: ast.AST) -> Iterator[ast.AST]:
    """What a node could be instead."""
    match node:
        case ast.Compare():
            yield from _comparisons(node)
        case ast.BinOp() | ast.BoolOp() if type(node.op) in OTHER:
            yield _with(node, op=OTHER[type(node.op)]())
        case ast.UnaryOp(op=ast.Not() | ast.USub() | ast.Invert()):
            yield node.operand
        case ast.Constant():
            yield from (ast.Constant(value) for value in _values(node.value))
        case ast.Slice():
            yield from _slices(node)
        case ast.Return(value=ast.expr()):
            yield ast.Return(ast.Constant(None))
        case ast.Expr(value=ast.Call()) | ast.AugAssign():
            yield ast.Pass()


def _with(node: ast.AST, **fields: object) -> ast.AST:
    new = deepcopy(node)
    for name, value in fields.items():
        setattr(new, name, value)
    return new


def _comparisons(node: ast.Compare) -> Iterator[ast.AST]:
    for place, operator in enumerate(node.ops):
        yield _with(node, ops=[*node.ops[:place], OTHER[type(operator)](), *node.ops[place + 1 :]])


def _values(value: object) -> list[Any]:
    match value:
        case bool():
            return [not value]
        case int():
            return [value + 1, value - 1]
        case float():
            return [value * 2, value / 2] if value else [1.0]
    return []


def _slices(node: ast.Slice) -> Iterator[ast.AST]:
    """Ends one further on; those that are numbers are changed as such."""
    for name in ("lower", "upper"):
        end = getattr(node, name)
        if end is not None and not isinstance(end, ast.Constant):
            yield _with(node, **{name: ast.BinOp(end, ast.Add(), ast.Constant(1))})
