"""Which lots may be sealed, and which may fill prescriptions."""

from datetime import date, datetime
from typing import Any

import pytest
from rules_builders import lot_of, preparation_of, tadalafil, workspace

from labelkit.ground.errors import RuleRefused
from labelkit.records.model import IngredientLot, Lot, LotStatus, SecondLook
from labelkit.rules.fills import fill
from labelkit.rules.judging import judge_lot
from labelkit.rules.lots import judge_for_fills

OURS = tadalafil(excipients=("mannitol",))


def rules_of(lot: Lot, **pharmacy: Any) -> set[str]:
    """The rules that keep the lot from being sealed."""
    return {fault.rule for fault in judge_lot(workspace(OURS, lots=(lot,), **pharmacy), lot)}


def parts(*names: str) -> tuple[IngredientLot, ...]:
    """Ingredient lots of those names."""
    return tuple(IngredientLot(name=n, number="X-1", expiry=date(2029, 1, 31)) for n in names)


@pytest.mark.parametrize(
    ("status", "sealed", "fills"),
    [
        (LotStatus.MADE, True, False),
        (LotStatus.TESTED, True, False),
        (LotStatus.RELEASED, True, True),
        (LotStatus.HELD, False, False),
        (LotStatus.RECALLED, False, False),
    ],
)
def test_only_a_released_lot_fills(status: LotStatus, sealed: bool, fills: bool) -> None:
    """Sealing waits for no release; a held or recalled lot is left as it is."""
    lot = lot_of(OURS, status=status)
    space = workspace(OURS, lots=(lot,))
    assert (rules_of(lot) == set()) is sealed
    assert (judge_for_fills(space, lot) == ()) is fills
    if fills:
        assert fill(space, space.prescriptions)[0].lot == lot.number
    else:
        with pytest.raises(RuleRefused, match=f"lot {lot.number} is"):
            fill(space, space.prescriptions)


@pytest.mark.parametrize(
    "named",
    [
        ("tadalafil", "mannitol"),
        ("Tadalafil", "Mannitol"),
        ("tadalafil micronised", "mannitol 200"),
        ("mannitol", "tadalafil"),
    ],
)
def test_each_substance_is_traced(named: tuple[str, ...]) -> None:
    """The active ingredient and the declared excipient have a lot each, with words behind them."""
    assert rules_of(lot_of(OURS, ingredient_lots=parts(*named))) == set()


@pytest.mark.parametrize(
    ("named", "missing"),
    [
        (("mannitol",), "tadalafil"),
        (("tadalafil",), "mannitol"),
        (("vardenafil", "mannitol"), "tadalafil"),
        (("stearate of tadalafil", "mannitol"), "tadalafil"),
    ],
)
def test_one_without_its_lot_is_named(named: tuple[str, ...], missing: str) -> None:
    """A lot of another substance, or a name that begins with another word, isn't it."""
    lot = lot_of(OURS, ingredient_lots=parts(*named))
    (fault,) = judge_lot(workspace(OURS, lots=(lot,)), lot)
    assert (fault.rule, fault.wrong) == (
        "lot.ingredients",
        f"lot TV2611 names no lot of {missing}",
    )


def test_a_salt_and_another_name_are_the_ingredient() -> None:
    """The salt stands after the INN; USAN's name is the same substance as the INN (USAN: albuterol,
    INN: salbutamol; from memory)."""
    for inn, written in (
        ("ondansetron", "ondansetron hydrochloride dihydrate"),
        ("salbutamol", "albuterol sulfate"),
    ):
        ours = preparation_of(inn, "4 mg")
        lot = lot_of(ours, ingredient_lots=parts(written))
        rules = {f.rule for f in judge_lot(workspace(ours, lots=(lot,)), lot)}
        assert "lot.ingredients" not in rules


def test_who_made_it_does_not_check_it() -> None:
    """However the name is written; and a held lot isn't freed by it."""
    for name in ("Rowan Achterberg", "ACHTERBERG Rowan", "R. Achterberg"):
        assert rules_of(lot_of(OURS, checked_by=name)) == {"lot.two-people"}


def test_one_who_works_alone_looks_again() -> None:
    """The second look is recorded, and counted what was made; elsewhere it is no way out."""
    alone = {"prepared_by": "Rowan Achterberg", "checked_by": "Rowan Achterberg"}
    look = SecondLook(at=datetime(2026, 11, 2, 15, 30), counted=96)  # noqa: DTZ001
    missed = look.model_copy(update={"counted": 95})
    assert rules_of(lot_of(OURS, **alone), works_alone=True) == {"lot.second-look"}
    assert rules_of(lot_of(OURS, second_look=missed, **alone), works_alone=True) == {
        "lot.second-look"
    }
    assert rules_of(lot_of(OURS, second_look=look, **alone), works_alone=True) == set()
    assert rules_of(lot_of(OURS, second_look=look, **alone)) == {"lot.two-people"}
