"""Look-alike names stand on labels in their published mixed case; in sentences as INNs."""

import pytest

from labelkit.records.model import (
    ActiveIngredient,
    Preparation,
)
from labelkit.wording.facts import drug_name


@pytest.mark.parametrize(
    ("inns", "label", "sentence"),
    [
        # FDA mixed-case list.
        (["hydralazine"], "hydrALAZINE", "hydralazine"),
        (["bupropion"], "buPROPion", "bupropion"),
        # In no list: a capital as a line starts.
        (["tadalafil"], "Tadalafil", "tadalafil"),
        (["tadalafil", "dopamine"], "Tadalafil / DOPamine", "tadalafil / dopamine"),
    ],
)
def test_names_on_labels(inns: list[str], label: str, sentence: str) -> None:
    """The list decides; nothing else is written in mixed case."""
    preparation = Preparation.model_construct(
        ingredients=tuple(ActiveIngredient(inn=i, form="base", strength_as="base") for i in inns)
    )
    assert drug_name(preparation, label=True) == label
    assert drug_name(preparation) == sentence
