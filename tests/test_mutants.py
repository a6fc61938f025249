"""The harness that tries the tests: it finds what is wrong, and nothing where nothing is."""

import ast
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tools"))

import mutants  # noqa: E402  (the folder of tools must be on the path first)
from mutations import Mutation, chosen, mutations_of  # noqa: E402

SMALL = '''"""Words that stay."""
def allowed(tablets: int, most: int = 4) -> bool:
    """Whether it is."""
    if not most:
        raise ValueError(f"{tablets + 1} of {most - 1}")
    return tablets * 2 <= min(most, 8) and compared(tablets, most)
'''


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A folder with one small module."""
    (tmp_path / "small.py").write_text(SMALL)
    return tmp_path


def test_each_kind_of_slip_is_made(small: Path) -> None:
    """Boundary, sign, guard, fault, constant, function and order; never words or documentation."""
    found = {(m.before.strip(), m.after.strip()) for m in mutations_of(small, "small.py")}
    wanted = [("<=", "<"), ("*", "/"), ("not", ""), ("min", "max"), ("and", "or"), ("8", "9")]
    wanted += [("tablets, most", "most, tablets"), ("2", "1")]
    assert found >= set(wanted)
    assert ('raise ValueError(f"{tablets + 1} of {most - 1}")', "pass") in found
    assert all("Words" not in before and before != "1" for before, _ in found)


def test_each_change_is_python_and_differs(small: Path) -> None:
    """A change that can't be read as Python would be told by anything."""
    source = SMALL.encode()
    for mutation in mutations_of(small, "small.py"):
        changed = mutation.applied(source)
        assert changed != source
        assert ast.dump(ast.parse(changed)) != ast.dump(ast.parse(source))
        assert mutation.function == "allowed"


def test_the_same_seed_chooses_the_same(small: Path) -> None:
    """And another seed others; a longer choice begins with the shorter one."""
    found = list(mutations_of(small, "small.py"))
    first = chosen(found, 4, 1, lambda m: "all")
    assert chosen(list(reversed(found)), 4, 1, lambda m: "all") == first
    assert chosen(found, 6, 1, lambda m: "all")[:4] == first
    assert chosen(found, 4, 2, lambda m: "all") != first


SHARE = (
    "labelkit/rules/limits.py",
    "labelkit/rules/packing.py",
    "labelkit/rules/beyond_use.py",
    "labelkit/rules/amounts.py",
)
"""Modules whose own tests take a second or two."""


def _deliberate(file: str, before: str, after: str) -> Mutation:
    """A change where that piece of text stands first."""
    source = (ROOT / file).read_bytes()
    start = source.index(before.encode())
    end = start + len(before.encode())
    return Mutation(file, 0, "", "deliberate", start, end, before, after)


def test_a_fixed_share_of_changes_is_told() -> None:
    """Four that are dangerous, and a seeded share; what isn't changed at all is not told."""
    wrong = [
        _deliberate("labelkit/rules/limits.py", "int(min(counts))", "int(max(counts))"),
        _deliberate("labelkit/rules/packing.py", "-pack.tablets", "+pack.tablets"),
        _deliberate(
            "labelkit/rules/beyond_use.py", "lot.made_on + timedelta", "lot.made_on - timedelta"
        ),
        _deliberate("labelkit/rules/fills.py", "[rest] if rest", "[rest] if not rest"),
    ]
    unchanged = _deliberate("labelkit/rules/limits.py", "int(min(counts))", "int(min(counts))")
    share = chosen(mutants.offered(SHARE), 4, 3, mutants.floor_of)
    outcomes = mutants.campaign([*wrong, *share, unchanged], (), 1, oracle=False)
    assert [bool(o.told_by) for o in outcomes] == [True] * 8 + [False]
