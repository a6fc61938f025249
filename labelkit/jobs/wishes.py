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
