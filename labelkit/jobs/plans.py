"""What a packing plan says, as plain values that serialise to JSON."""

from labelkit.jobs.results import NotMade, Result


class PlanPiece(Result):
    """One piece of a card."""

    piece: str
    filled: int
    """Its first so many cavities in loading order hold a tablet."""
    rx: str = ""
    """Empty: stock, or nothing where none is filled."""
    pack: int = 0
    of: int = 0


class PlanCard(Result):
    """One card to fill, and where its lid is printed."""

    number: int
    lot: str
    medicine: str
    layout: str
    cavities: int
    unused: int
    pieces: tuple[PlanPiece, ...]
    cuts: tuple[str, ...]
    """``A|B``: between pieces A and B."""
    lid_file: str
    lid_sheet: int
    lid_place: int


class PlanFill(Result):
    """One prescription: its packs, each in a sleeve, and its leaflet."""

    rx: str
    medicine: str
    one_dose: str
    """Tablets, and the amount of each ingredient: ``1 tablet × 5 mg = 5 mg``."""
    most_in_24_h: str
    lasts_days: int | None
    """By the times of the directions; none where it is taken when needed."""
    lot: str
    lidding: str
    packs: tuple[int, ...]
    """Tablets in each."""
    leaflet_language: str


class PlanLot(Result):
    """One lot: usable tablets, what prescriptions take, what is left on stock cards."""

    lot: str
    medicine: str
    beyond_use: str
    usable: int
    for_prescriptions: int
    left: int


class PlanTotals(Result):
    """What has to be at hand."""

    cards: int
    cuts: int
    unused_cavities: int
    sleeves: int
    leaflets: int


class Plan(Result):
    """The whole plan."""

    workspace: str
    cards: tuple[PlanCard, ...]
    prescriptions: tuple[PlanFill, ...]
    lots: tuple[PlanLot, ...]
    totals: PlanTotals
    left_out: tuple[NotMade, ...]
    files: tuple[str, ...] = ()
    """Bench sheets that were written."""
    draft: bool = False
    """Nobody accepted the bench sheet's wording: its pages say so."""

    @property
    def exit_status(self) -> int:
        """0 when everything is in the plan, else 1."""
        return 1 if self.left_out else 0
