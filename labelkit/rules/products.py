"""A product: a preparation in one strength. Only of a product can tablets be counted.

How many tablets are one dose depends on how much one tablet holds, so no function of this
package takes a preparation where it answers in tablets; the type checker refuses one that
is given. Reads no limit and judges nothing.
"""

from dataclasses import dataclass
from decimal import Decimal

from labelkit.records.model import (
    ActiveIngredient,
    Amount,
    Preparation,
    Prescription,
    Strength,
    Workspace,
)
from labelkit.rules.amounts import in_mg, multiple


@dataclass(frozen=True, slots=True)
class Product:
    """One preparation in one of its strengths: what a prescription names."""

    preparation: Preparation
    strength: Strength

    def __post_init__(self) -> None:
        if self.strength not in self.preparation.strengths:
            raise ValueError(f"{self.preparation.id} has no strength {self.strength.label}")

    @property
    def label(self) -> str:
        """The strength as lots and prescriptions name it: ``2.5 mg``."""
        return self.strength.label

    @property
    def contents(self) -> tuple[tuple[ActiveIngredient, Amount], ...]:
        """Each active ingredient with the amount of it in one tablet, in their order."""
        return tuple(zip(self.preparation.ingredients, self.strength.amounts, strict=True))

    def amounts_in(self, tablets: Decimal) -> tuple[Amount, ...]:
        """What so many tablets hold of each ingredient, exact."""
        return tuple(multiple(tablets, amount) for amount in self.strength.amounts)


def product(preparation: Preparation, label: str) -> Product:
    """The product of that strength. Raises KeyError; reading has checked all references."""
    return Product(preparation, {s.label: s for s in preparation.strengths}[label])


def product_of(workspace: Workspace, rx: Prescription) -> Product:
    """What a prescription names. Raises KeyError; reading has checked all references."""
    return product(workspace.preparation(rx.preparation), rx.strength)


def products(preparation: Preparation) -> tuple[Product, ...]:
    """Every product of a preparation, in ascending order of their ingredients' amounts."""
    ordered = sorted(preparation.strengths, key=lambda s: [in_mg(amount) for amount in s.amounts])
    return tuple(Product(preparation, strength) for strength in ordered)
