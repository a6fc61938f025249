"""Names of nitrates and salts named nitrate, against published lists of names."""

import csv
from pathlib import Path

import pytest

from labelkit.rules.identifying import identify
from labelkit.rules.substances import in_group, is_stopped_for

TABLE = Path(__file__).resolve().parents[1] / "data" / "names" / "unii-nitrates.tsv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines(), delimiter="\t"))
LOCAL = {"nipradilol", "latanoprostene bunod", "berdazimer sodium"}
SALTS = {
    "miconazole nitrate", "econazole nitrate", "silver nitrate", "potassium nitrate",
    "thiamine mononitrate",
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "substance"), sorted({(row["name"], row["substance"]) for row in ROWS})
)
def test_each_marked_name_is_read_as_what_it_is(name: str, substance: str) -> None:
    """FDA UNII names with a naming body's mark: nitrates stop, salts and eye drops don't."""
    found = identify(name)
    stopped = [inn for inn in found.substances if is_stopped_for(inn)]
    if substance in LOCAL:
        assert not stopped
        assert any(
            in_group(i, "nitric-oxide-donors-of-eye-and-skin") for i in found.substances
        ) or (found.near)
    elif substance in SALTS:
        assert not stopped and found.substances
    else:
        assert stopped


@pytest.mark.parametrize(
    "name", sorted({row["name"] for row in ROWS if row["mark"] in {"INN", "USAN", "JAN"}})
)
def test_inn_usan_and_jan_leave_no_question(name: str) -> None:
    """A name that a naming body gave is known for certain."""
    found = identify(name)
    assert found.substances
    assert not (found.unsure or found.possible_nitrates)
