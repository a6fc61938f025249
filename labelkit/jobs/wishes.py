"""What a call asks for, and how the command line's words say it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from labelkit.ground.errors import Fault, RecordsRefused

ARTWORKS = ("lidding", "sleeve", "leaflet", "pad")

LAYOUTS = {
    "lidding": "lidding-20",
    "sleeve": "sleeve-10",
    "leaflet": "leaflet-folded",
    "pad": "pad",
}
"""The layout of each artwork unless the call names another; the paper is the pharmacy's."""

MOST_PLACES = 100
"""Places on a sheet that may be named as the first one: more is a slip of the finger."""

MOST_SPARE = 100
"""Spare lids of a lot: more is a slip of the finger, and lids too many are a danger."""

MOST_COPIES = 500
"""Sheets of pads in one file: what a printer's queue takes."""


@dataclass(frozen=True)
class Wish:
    """What a call asks for."""

    rx: tuple[str, ...] = ()
    lots: tuple[str, ...] = ()
    everything: bool = False
    only: frozenset[str] = frozenset(ARTWORKS)
    layouts: Mapping[str, str] = field(default_factory=dict)
    """Artwork → layout to use instead."""
    first_serial: int = 1
    prescriber: str = ""
    """Registration of the prescriber whose pads are made; empty: blank pads."""
    printer: str = ""
    """Aligned printer that the files are made for; empty: none in particular."""
    start_at: int = 1
    """Place on a part-used sheet where lidding begins, counted in cards."""
    spoilage: int = 0
    """Spare lids of each lot's stock lidding, with serials of their own."""
    copies: int = 1
    """How often each sheet of pads is in its file."""
    die_lines: bool = False
    """Whether the lines of the die are drawn too, each in a file of its own."""

    def __post_init__(self) -> None:
        """Raise RecordsRefused for numbers that can't be."""
        faults = [
            Fault(
                "command line", "", option, f"{said} isn't {least} to {most}", "give a number in it"
            )
            for option, said, least, most in (
                ("--start-at", self.start_at, 1, MOST_PLACES),
                ("--spoilage", self.spoilage, 0, MOST_SPARE),
                ("--copies", self.copies, 1, MOST_COPIES),
            )
            if not least <= said <= most
        ]
        faults += [
            Fault("command line", "", option, f"no {artwork} is asked for", f"leave {option} out")
            for option, used, artwork in (
                ("--start-at", self.start_at > 1, "lidding"),
                ("--spoilage", self.spoilage > 0, "lidding"),
                ("--copies", self.copies > 1, "pad"),
            )
            if used and artwork not in self.only
        ]
        if faults:
            raise RecordsRefused(faults)

    @classmethod
    def of(
        cls,
        rx: Iterable[str],
        lots: Iterable[str],
        everything: bool,
        only: str,
        layouts: Iterable[str],
        first_serial: int,
        prescriber: str = "",
    ) -> "Wish":
        """A wish from the command line's words. Raises RecordsRefused for words it lacks."""
        names = [name.strip() for name in only.split(",") if name.strip()]
        chosen = dict(part.partition("=")[::2] for part in layouts)
        unknown = [name for name in (*names, *chosen) if name not in ARTWORKS]
        if unknown:
            raise RecordsRefused(
                Fault(
                    "command line",
                    "",
                    name,
                    f"{name!r} is no artwork",
                    f"choose from {', '.join(ARTWORKS)}",
                )
                for name in unknown
            )
        some = tuple(rx), tuple(lots)
        if not everything and not any(some) and not names:
            raise RecordsRefused(
                [
                    Fault(
                        "command line",
                        "",
                        "",
                        "nothing was asked for",
                        "name prescriptions (--rx), lots (--lot), kinds (--only) or --all",
                    )
                ]
            )
        return cls(
            *some,
            everything=everything or not any(some),
            only=frozenset(names or ARTWORKS),
            layouts=chosen,
            first_serial=first_serial,
            prescriber=prescriber,
        )
