"""Small wrong changes of a Python file: a boundary moved, a sign turned, a guard dropped.

A change is a piece of the source's text and what stands there instead, so that every other line
keeps its number. The kinds are those that a slip of the hand makes in code that judges doses and
counts (after the operators of mutation testing: relational, arithmetic, logical, constant,
statement deletion). Words of messages are not changed: tests of wording read those.
"""

import ast
import hashlib
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

BOUNDARY: dict[type[ast.cmpop], tuple[str, str]] = {
    ast.Lt: ("<", "<="),
    ast.LtE: ("<=", "<"),
    ast.Gt: (">", ">="),
    ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="),
    ast.NotEq: ("!=", "=="),
    ast.In: ("in", "not in"),
    ast.NotIn: ("not in", "in"),
    ast.Is: ("is", "is not"),
    ast.IsNot: ("is not", "is"),
}
ARITHMETIC: dict[type[ast.operator], tuple[str, str]] = {
    ast.Add: ("+", "-"),
    ast.Sub: ("-", "+"),
    ast.Mult: ("*", "/"),
    ast.Div: ("/", "*"),
    ast.FloorDiv: ("//", "*"),
    ast.Mod: ("%", "*"),
}
OTHER_NAME = {"min": "max", "max": "min", "any": "all", "all": "any", "ceil": "floor"}


@dataclass(frozen=True)
class Mutation:
    """One wrong change."""

    file: str
    """From the root of the repository."""
    line: int
    function: str
    """Qualified name of the function that it is in; empty in the module's own lines."""
    kind: str
    start: int
    """Bytes from the file's beginning."""
    end: int
    before: str
    after: str

    def applied(self, source: bytes) -> bytes:
        """The file with the change in it."""
        return source[: self.start] + self.after.encode() + source[self.end :]

    @property
    def key(self) -> str:
        """The same for the same change, wherever in the file it has moved."""
        return f"{self.file} {self.function} {self.before} → {self.after}"


class _Found(ast.NodeVisitor):
    """Every change that a file's syntax offers."""

    def __init__(self, file: str, source: bytes) -> None:
        self.file, self.source = file, source
        self.starts = [0]
        for line in source.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))
        self.scope: list[str] = []
        self.found: list[Mutation] = []

    def place(self, node: ast.AST, *, end: bool = False) -> int:
        if end:
            return self.starts[node.end_lineno - 1] + node.end_col_offset  # type: ignore[attr-defined]
        return self.starts[node.lineno - 1] + node.col_offset  # type: ignore[attr-defined]

    def text(self, start: int, end: int) -> str:
        return self.source[start:end].decode()

    def add(self, kind: str, node: ast.AST, start: int, end: int, after: str) -> None:
        before = self.text(start, end)
        if before == after:
            return
        try:
            ast.parse(self.source[:start] + after.encode() + self.source[end:])
        except SyntaxError:
            return
        function = ".".join(self.scope)
        line = self.source.count(b"\n", 0, start) + 1
        self.found.append(Mutation(self.file, line, function, kind, start, end, before, after))

    def swap(
        self, kind: str, node: ast.AST, left: ast.AST, right: ast.AST, old: str, new: str
    ) -> None:
        """Another operator between two operands."""
        start, end = self.place(left, end=True), self.place(right)
        between = self.text(start, end)
        if between.count(old) == 1 and "#" not in between:
            self.add(kind, node, start, end, between.replace(old, new))

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        self.scope.append(node.name)
        for statement in node.body:
            self.visit(statement)
        self.scope.pop()

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        self.scope.append(node.name)
        for statement in node.body:
            self.visit(statement)
        self.scope.pop()

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Constant):
            return  # documentation
        if isinstance(node.value, ast.Yield | ast.YieldFrom):
            self.add(
                "yield dropped", node, self.place(node), self.place(node, end=True), "yield from ()"
            )
        self.generic_visit(node)

    def visit_Raise(self, node: ast.Raise) -> None:
        self.add("raise dropped", node, self.place(node), self.place(node, end=True), "pass")

    def visit_Compare(self, node: ast.Compare) -> None:
        operands = [node.left, *node.comparators]
        for left, operator, right in zip(operands, node.ops, operands[1:], strict=False):
            old, new = BOUNDARY[type(operator)]
            self.swap("comparison", node, left, right, old, new)
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        if type(node.op) in ARITHMETIC and not _is_text(node):
            self.swap("arithmetic", node, node.left, node.right, *ARITHMETIC[type(node.op)])
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        words = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
        for left, right in zip(node.values, node.values[1:], strict=False):
            self.swap("logic", node, left, right, *words)
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, ast.Not):
            self.add("not dropped", node, self.place(node), self.place(node.operand), "")
        self.generic_visit(node)

    def visit_If(self, node: ast.If) -> None:
        if isinstance(node.test, ast.Name | ast.Call | ast.Attribute):
            start, end = self.place(node.test), self.place(node.test, end=True)
            self.add("condition turned", node, start, end, f"not {self.text(start, end)}")
        self.generic_visit(node)

    def visit_Call(self, node: ast.Call) -> None:
        if isinstance(node.func, ast.Name) and node.func.id == "ConfigDict":
            return  # that a value can't be changed is for the type checker
        if isinstance(node.func, ast.Name) and node.func.id in OTHER_NAME:
            name = node.func
            end = self.place(name, end=True)
            self.add("other function", node, self.place(name), end, OTHER_NAME[name.id])
        if len(node.args) > 1 and _swappable(node):
            first, second = node.args[:2]
            start, end = self.place(first), self.place(second, end=True)
            one = self.text(start, self.place(first, end=True))
            two = self.text(self.place(second), end)
            self.add("arguments swapped", node, start, end, f"{two}, {one}")
        self.generic_visit(node)

    def visit_keyword(self, node: ast.keyword) -> None:
        if node.arg != "strict":  # a second look at lengths that are equal anyway
            self.visit(node.value)

    def visit_Constant(self, node: ast.Constant) -> None:
        value = node.value
        start, end = self.place(node), self.place(node, end=True)
        if isinstance(value, bool):
            self.add("constant", node, start, end, str(not value))
        elif isinstance(value, int):
            for other in (value + 1, value - 1):
                self.add("constant", node, start, end, str(other))

    def visit_Return(self, node: ast.Return) -> None:
        if isinstance(node.value, ast.Compare | ast.BoolOp):
            start, end = self.place(node.value), self.place(node.value, end=True)
            for answer in ("True", "False"):
                self.add("answer fixed", node, start, end, answer)
        self.generic_visit(node)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Words put together for a reader: their figures are tried where they are worked out."""


def _is_text(node: ast.BinOp) -> bool:
    """Whether strings are joined: a minus there is a crash, not a wrong figure."""
    parts = [n for n in ast.walk(node) if isinstance(n, ast.JoinedStr | ast.Constant)]
    return any(isinstance(p, ast.JoinedStr) or isinstance(p.value, str) for p in parts)


def _swappable(call: ast.Call) -> bool:
    name = call.func.id if isinstance(call.func, ast.Name) else ""
    plain = all(isinstance(a, ast.Name | ast.Attribute) for a in call.args[:2])
    return plain and name not in {"isinstance", "min", "max", "cast", "Fault"}


def mutations_of(root: Path, file: str) -> tuple[Mutation, ...]:
    """All changes of one file, in the order of its lines."""
    source = (root / file).read_bytes()
    found = _Found(file, source)
    found.visit(ast.parse(source))
    return tuple(dict.fromkeys(sorted(found.found, key=lambda m: (m.start, m.end, m.after))))


def chosen(
    found: list[Mutation], count: int, seed: int, floor: Callable[[Mutation], str]
) -> list[Mutation]:
    """So many of them, as evenly as can be over the floors; the same for the same seed.

    Their order is that of a digest, so that a change elsewhere in the code leaves the choice alone.
    """
    seen: Counter[str] = Counter()
    digests = {}
    for mutation in found:
        seen[mutation.key] += 1
        drawn = f"{seed} {seen[mutation.key]} {mutation.key}"
        digests[mutation] = hashlib.sha256(drawn.encode()).hexdigest()
    floors: dict[str, list[Mutation]] = {}
    for mutation in sorted(found, key=digests.__getitem__):
        floors.setdefault(floor(mutation), []).append(mutation)
    return list(_in_turn(floors, count))


def _in_turn(floors: dict[str, list[Mutation]], count: int) -> Iterator[Mutation]:
    waiting = {name: list(found) for name, found in sorted(floors.items())}
    while count and any(waiting.values()):
        for found in waiting.values():
            if found and count:
                yield found.pop(0)
                count -= 1
