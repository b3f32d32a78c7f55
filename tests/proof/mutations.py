"""Which small errors can be put into a module: each is one change of its syntax tree."""

from __future__ import annotations

import ast
import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass

Change = tuple[ast.AST, ast.AST]  # a node of the tree, and what takes its place

_COMPARE: dict[type, list[type]] = {
    ast.Lt: [ast.LtE, ast.Gt],
    ast.LtE: [ast.Lt, ast.Gt],
    ast.Gt: [ast.GtE, ast.Lt],
    ast.GtE: [ast.Gt, ast.Lt],
    ast.Eq: [ast.NotEq],
    ast.NotEq: [ast.Eq],
    ast.In: [ast.NotIn],
    ast.NotIn: [ast.In],
    ast.Is: [ast.IsNot],
    ast.IsNot: [ast.Is],
}
_ARITHMETIC: dict[type, type] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}
_CALLS = {"min": "max", "max": "min", "any": "all", "all": "any"}


@dataclass(frozen=True, slots=True)
class Mutant:
    """A module with one error; `name` tells where and what, without a line number.

    `lines` are those of its statement, of a compound one only the head. `in_body`: it is in what
    a function does, so that only that function's code is another.
    """

    name: str
    lines: range
    source: str
    in_body: bool


def mutants(source: str) -> Iterator[Mutant]:
    """Every mutant of a module."""
    tree = ast.parse(source)
    seen: dict[str, int] = {}
    marks, bodies, lines = _of_decorators(tree), _of_bodies(tree), _lines(tree)
    for index, node in enumerate(ast.walk(tree)):
        for number, (old, new) in enumerate(() if node in marks else _changes(node)):
            name = f"{_place(tree, old)}: {_text(old)} -> {_text(new)}"
            seen[name] = seen.get(name, 0) + 1
            if seen[name] > 1:
                name += f" #{seen[name]}"
            yield Mutant(name, lines[old], _changed(tree, index, number), old in bodies)


def _of_decorators(tree: ast.Module) -> set[ast.AST]:
    """`@dataclass(frozen=True)` keeps programmers from mistakes; no user would see the change."""
    holders = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef | ast.ClassDef)]
    return {n for holder in holders for mark in holder.decorator_list for n in ast.walk(mark)}


def _of_bodies(tree: ast.Module) -> set[ast.AST]:
    functions = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)]
    return {n for each in functions for part in each.body for n in ast.walk(part)}


def _lines(tree: ast.Module) -> dict[ast.AST, range]:
    """The lines of the innermost statement around each node."""
    found: dict[ast.AST, range] = {}
    for statement in (n for n in ast.walk(tree) if isinstance(n, ast.stmt)):
        inner = getattr(statement, "body", []) or [
            c.pattern for c in getattr(statement, "cases", [])
        ]
        last = max(statement.lineno, inner[0].lineno - 1) if inner else statement.end_lineno
        assert last is not None  # it is of a parsed text
        found |= dict.fromkeys(ast.walk(statement), range(statement.lineno, last + 1))
    return found  # walked from the outside in


def _changed(tree: ast.Module, index: int, number: int) -> str:
    """The source with one change, made in a copy of the tree."""
    other = copy.deepcopy(tree)
    node = list(ast.walk(other))[index]
    old, new = list(_changes(node))[number]
    _replace(other, old, new)
    return ast.unparse(ast.fix_missing_locations(other))


def _replace(tree: ast.AST, old: ast.AST, new: ast.AST) -> None:
    for parent in ast.walk(tree):
        for field, value in ast.iter_fields(parent):
            if value is old:
                setattr(parent, field, new)
            elif isinstance(value, list) and any(each is old for each in value):
                setattr(parent, field, [new if each is old else each for each in value])


def _changes(node: ast.AST) -> Iterator[Change]:
    for rule in _RULES:
        for new in rule(node):
            yield node, new


def _comparisons(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.Compare):
        for place, operator in enumerate(node.ops):
            for kind in _COMPARE[type(operator)]:
                ops = [*node.ops[:place], kind(), *node.ops[place + 1 :]]
                yield ast.Compare(node.left, ops, node.comparators)


def _sums(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.BinOp) and type(node.op) in _ARITHMETIC:
        yield ast.BinOp(node.left, _ARITHMETIC[type(node.op)](), node.right)
    if isinstance(node, ast.AugAssign) and type(node.op) in _ARITHMETIC:
        yield ast.AugAssign(node.target, _ARITHMETIC[type(node.op)](), node.value)


def _numbers(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield ast.Constant(not node.value)
    elif isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        yield ast.Constant(node.value + 1)
        yield ast.Constant(node.value - 1)


def _logic(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.BoolOp):
        yield ast.BoolOp(ast.And() if isinstance(node.op, ast.Or) else ast.Or(), node.values)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield node.operand
    if isinstance(node, ast.If):
        yield ast.If(ast.Constant(True), node.body, node.orelse)
        yield ast.If(ast.Constant(False), node.body, node.orelse)
    if isinstance(node, ast.IfExp):
        yield node.body
        yield node.orelse


def _calls(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _CALLS:
        yield ast.Call(ast.Name(_CALLS[node.func.id]), node.args, node.keywords)


def _left_out(node: ast.AST) -> Iterator[ast.AST]:
    """A statement that does not happen; a function that gives nothing."""
    if isinstance(node, ast.Return) and node.value is not None and not _is_nothing(node.value):
        yield ast.Return(ast.Constant(None))
    text = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    if isinstance(node, ast.Expr | ast.AugAssign | ast.Delete | ast.Continue) and not text:
        yield ast.Pass()
    if isinstance(node, ast.Assign) and not _only_names(node.targets[0]):
        yield ast.Pass()  # a fact of an object that is not kept


def _only_names(target: ast.AST) -> bool:
    return not any(isinstance(n, ast.Attribute | ast.Subscript) for n in ast.walk(target))


def _is_nothing(node: ast.AST) -> bool:
    """To whoever asks "is it so?", None is the same as False."""
    return isinstance(node, ast.Constant) and (node.value is None or node.value is False)


_RULES: tuple[Callable[[ast.AST], Iterator[ast.AST]], ...] = (
    _comparisons,
    _sums,
    _numbers,
    _logic,
    _calls,
    _left_out,
)


def _place(tree: ast.Module, node: ast.AST) -> str:
    """The innermost function or class that holds the node."""
    found = "module"
    for holder in ast.walk(tree):
        if isinstance(holder, ast.FunctionDef | ast.ClassDef) and node in ast.walk(holder):
            found = holder.name  # walked from the outside in
    return found


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.If):
        return f"if {ast.unparse(node.test)}"
    return " ".join(ast.unparse(ast.fix_missing_locations(node)).split())
