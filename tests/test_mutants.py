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


DELIBERATE = (
    ("labelkit/rules/beyond_use.py", "lot.made_on + timedelta", "lot.made_on - timedelta"),
    ("labelkit/rules/beyond_use.py", "min(b.latest", "max(b.latest"),
    (
        "labelkit/rules/beyond_use.py",
        "lot.beyond_use > bound.latest",
        "lot.beyond_use < bound.latest",
    ),
    ("labelkit/rules/fills.py", "[rest] if rest", "[rest] if not rest"),
    ("labelkit/rules/fills.py", ">= rx.quantity_this_fill", "> rx.quantity_this_fill"),
    ("labelkit/wording/numbers.py", "0 < value < 1", "0 < value <= 1"),
    ("labelkit/wording/numbers.py", "value * 1000", "value * 100"),
)
"""Wrong doses, counts and days, where tests that import the module take a second or two."""


def _deliberate(file: str, before: str, after: str) -> Mutation:
    """A change where that piece of text stands first. Raises ValueError where it stands nowhere."""
    source = (ROOT / file).read_bytes()
    start = source.index(before.encode())
    end = start + len(before.encode())
    return Mutation(file, 0, "", "deliberate", start, end, before, after)


def test_dangerous_changes_are_told_and_none_where_nothing_changed() -> None:
    """Each of seven is told by the tests that import its module; the same text again is not."""
    wrong = [_deliberate(*change) for change in DELIBERATE]
    unchanged = _deliberate("labelkit/rules/fills.py", "[rest] if rest", "[rest] if rest")
    outcomes = mutants.campaign([*wrong, unchanged], (), 1)
    assert [o.told_by for o in outcomes] == ["tests"] * len(wrong) + [""]


def test_a_survivor_without_an_explanation_is_named_as_that() -> None:
    """The page counts what was told and lists what survived, explained or not."""
    told, living = (_deliberate(*change) for change in DELIBERATE[:2])
    outcomes = [
        mutants.Outcome(told, "tests", "tests/rules/test_one.py", 1.0),
        mutants.Outcome(living, "", "", 1.0),
    ]
    page = mutants.page(outcomes, seed=7, possible=100)
    assert "seed 7: 2 of 100 possible changes, 1 told, 1 survived." in page
    assert "| rules | 2 | 1 | 0 | 0 | 1 |" in page
    assert "`min(b.latest` → `max(b.latest`. **Not explained.**" in page


def test_tests_that_enter_the_changed_function_are_chosen(small: Path) -> None:
    """The quickest first, and not those of other functions."""
    mutation = mutations_of(small, "small.py")[0]
    tests = [
        mutants.Test("slow", 2.0, frozenset({"small.py:allowed"})),
        mutants.Test("quick", 1.0, frozenset({"small.py:allowed"})),
        mutants.Test("other", 0.1, frozenset({"small.py:else", "large.py:allowed"})),
        mutants.Test("endless", 100.0, frozenset({"small.py:allowed"})),
    ]
    assert mutants.tests_for(mutation, tests) == (["quick", "slow"], 3.0)
