"""Nothing outside the door opens a file, asks the time or draws lots."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "labelkit"
DOOR = PACKAGE / "ground" / "door.py"

BANNED_ATTRIBUTES = {
    "read_text": "files are read through the door",
    "read_bytes": "files are read through the door",
    "write_text": "files are written whole through the door",
    "write_bytes": "files are written whole through the door",
    "now": "time comes in as an argument or through the door",
    "today": "time comes in as an argument or through the door",
}
ALLOWED = {
    ("checks/structure.py", "read_bytes"): "a PDF object's stream, not a file",
    ("checks/fonts.py", "read_bytes"): "a PDF object's stream, not a file",
}

BANNED_NAMES = {"open": "files are opened by the door", "input": "questions belong to the face"}
BANNED_MODULES = {"random", "secrets", "uuid", "time", "shutil", "tempfile", "fcntl", "subprocess"}


def modules() -> list[Path]:
    """Every module of the package but the door."""
    return [path for path in sorted(PACKAGE.rglob("*.py")) if path != DOOR]


def breaches(tree: ast.AST, module: str = "") -> list[str]:
    """What a module does that only the door may do, each with its line."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            if node.func.id in BANNED_NAMES:
                found.append(f"line {node.lineno}: {node.func.id}()")
        elif isinstance(node, ast.Attribute) and node.attr in BANNED_ATTRIBUTES:
            owner = node.value.id if isinstance(node.value, ast.Name) else ""
            if owner != "door" and (module, node.attr) not in ALLOWED:
                found.append(f"line {node.lineno}: .{node.attr}")
        elif isinstance(node, ast.Import):
            found += [
                f"line {node.lineno}: import {alias.name}"
                for alias in node.names
                if alias.name.split(".")[0] in BANNED_MODULES
            ]
        elif isinstance(node, ast.ImportFrom) and (node.module or "") in BANNED_MODULES:
            found.append(f"line {node.lineno}: from {node.module}")
    return found


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_only_the_door_touches_files_and_clock(path: Path) -> None:
    """Each module leaves files, clock and chance to the door."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert breaches(tree, path.relative_to(PACKAGE).as_posix()) == []


def test_the_check_sees_a_breach() -> None:
    """A module that opens a file or asks the time would be caught."""
    code = "import random\nopen('x')\ndatetime.now()\nPath('x').write_text('')\n"
    assert len(breaches(ast.parse(code))) == 4
