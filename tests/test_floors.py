"""The page for contributors tells the truth about the floors."""

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_the_table_of_floors_is_the_contract() -> None:
    """DEVELOPERS.md lists the folders in the order that import-linter enforces."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = project["tool"]["importlinter"]["contracts"]
    layers = next(c for c in contracts if c["name"] == "Floors")["layers"]
    contract = [{part.strip() for part in layer.split("|")} for layer in reversed(layers)]
    rows = re.findall(r"^\| (\d+) \| `(\w+)` \|", (ROOT / "DEVELOPERS.md").read_text(), re.M)
    table: dict[int, set[str]] = {}
    for floor, folder in rows:
        table.setdefault(int(floor), set()).add(folder)
    assert [table[floor] for floor in sorted(table)] == contract
