"""Loads for the tests: an invented pharmacy's facts, with lengths the tests choose.

Speaks without the wording floor: a `FakeVoice` says a given text for every statement, so
that layouts are judged on words they weren't tuned to.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from labelkit.barcodes.model import CodeData, Symbology
from labelkit.geometry.model import Layout
from labelkit.manifest.loads import CellLoad, PieceLoad, SheetLoad, TickList
from labelkit.wording.model import Block, BlockKind, Document, ReviewState, Said

STRENGTHS = (
    ("Strength", "At one time", "In 24 hours"),
    ("12.5 mg", "4 tablets (50 mg)", "4 tablets (50 mg)"),
    ("25 mg", "2 tablets (50 mg)", "2 tablets (50 mg)"),
    ("50 mg", "1 tablet (50 mg)", "1 tablet (50 mg)"),
)
"""Heads and rows of the list to tick."""

LOT = "TV2611"

FACTS = {
    "drug": "sildenafil",
    "strength": "12.5 mg",
    "form": "fast-dissolving tablet",
    "route": "under the tongue",
    "lot": LOT,
    "beyond_use": "2027-MAY-14",
    "beyond_use_short": "2027-05-14",
    "beyond_use_label": "Use by",
    "made_on": "2026-NOV-16",
    "pharmacy": "Mill Lane Rx",
    "pharmacy_short": "Mill Lane",
    "pharmacy_address": "14 Mill Lane, Ashford",
    "pharmacy_telephone": "555-0142",
    "pharmacy_licence": "Licence 0000-12",
    "out_of_hours": "555-0143",
    "storage": "Store at room temperature, dry.",
    "appearance": "white, round, marked 12",
    "ingredients": "sildenafil (as citrate)",
    "excipients": "mannitol, aspartame",
    "strength_basis": "sildenafil",
    "code_text": f"D9L{LOT} D270514",
}

FILL_FACTS = {
    "patient": "Ana María Núñez",
    "patient_born": "1951-FEB-03",
    "rx_number": "10432",
    "written_on": "2026-NOV-18",
    "dispensed_on": "2026-NOV-20",
    "prescriber": "Dr Lee Example",
    "prescriber_telephone": "555-0150",
    "directions": "Put 1 tablet under the tongue 30 to 60 minutes before activity.",
    "quantity": "10 tablets",
    "pack_line": "Pack 1 of 1, 10 tablets in this pack",
    "refills": "2 refills left",
    "tablets_in_pack": "10",
}


@dataclass(frozen=True)
class FakeVoice:
    """Says `texts[id]`, or the statement's id without its first part, as words."""

    language: str = "en"
    rtl: bool = False
    texts: Mapping[str, str] = field(default_factory=dict)

    def say(self, statement: str, values: Mapping[str, object] | None = None) -> Said:
        """The statement's text; values are not looked at."""
        words = statement.partition(".")[2].replace(".", " ").replace("-", " ")
        return said(self.texts.get(statement, words), self.language, f"statement:{statement}")


def said(text: str, language: str = "en", origin: str = "statement:x") -> Said:
    """A text as wording hands it on."""
    return Said(text, language, origin, ReviewState.ACCEPTED)


def facts(language: str = "en", fill: bool = False, **other: str) -> dict[str, Said]:
    """Facts of a lot, or with `fill` of a prescription too; `other` replaces some."""
    texts = {**FACTS, **(FILL_FACTS if fill else {}), **other}
    return {name: said(text, language, f"fact:{name}") for name, text in texts.items()}


def code(serial: str = "") -> CodeData:
    """A pack or cell code in the ISO/IEC 15434 envelope, format 06."""
    parts = [f"1T{LOT}", "14D20270514", *([f"S{serial}"] if serial else [])]
    payload = "[)>\x1e06\x1d" + "\x1d".join(parts) + "\x1e\x04"
    fields = (("lot", LOT), ("beyond_use", "2027-05-14"), ("serial", serial))
    return CodeData(Symbology.DATA_MATRIX, payload, False, " ".join(parts), fields)


def codes() -> dict[str, CodeData]:
    """A piece's own codes."""
    address = "https://riverbend.example/l/sildenafil"
    return {
        "pack": code(f"{LOT}-9001"),
        "rx": CodeData(Symbology.CODE_128, "10432", False, "10432", (("rx", "10432"),)),
        "leaflet": CodeData(Symbology.QR, address, False, address, (("address", address),)),
    }


def document(key: str = "leaflet", language: str = "en", repeat: int = 1) -> Document:
    """A document with every kind of block, its sections `repeat` times."""

    def block(kind: BlockKind, *texts: str, **more: object) -> Block:
        return Block(kind, tuple(said(text, language) for text in texts), **more)  # type: ignore[arg-type]

    section = (
        block(BlockKind.HEADING, "How do I take it?"),
        block(BlockKind.PARAGRAPH, "Put the tablet under your tongue. Let it dissolve there."),
        block(BlockKind.ITEM, "Use dry hands."),
        block(BlockKind.ITEM, "Do not chew the tablet, and do not swallow it."),
        block(
            BlockKind.STEPS,
            "Dry your hands.",
            "Lift the tab and peel.",
            "Take the tablet out.",
            pictures=("step-dry-hands", "step-peel", "step-take-out"),
        ),
        block(BlockKind.TABLE, "Ours", "Swallowed", "12.5 mg", "50 mg", columns=2),
    )
    head = (
        block(BlockKind.TITLE, "Sildenafil 12.5 mg tablets"),
        block(BlockKind.WARNING, "Never take it with nitrates for chest pain."),
    )
    return Document(key, language, "Sildenafil 12.5 mg", head + section * repeat)


def piece(
    layout: Layout,
    piece_id: str,
    card: int,
    *,
    fill: bool = True,
    used: int = 10,
    serial: int = 1,
    patient: FakeVoice | None = None,
    repeat: int = 1,
    texts: Mapping[str, str] | None = None,
    facts_: Mapping[str, str] | None = None,
    **other: str,
) -> PieceLoad:
    """The load of one piece, `used` of its cells filled; `other` and `facts_` replace facts."""
    other = {**other, **(facts_ or {})}
    pharmacy = FakeVoice("en", texts=texts or {})
    reader = patient or pharmacy
    languages = {pharmacy.language, reader.language}
    cells = _cells(layout, piece_id, card, used, serial)
    return PieceLoad(
        piece_id,
        card,
        pharmacy,
        reader,
        {language: facts(language, fill, **other) for language in languages},
        {},
        codes=codes() if fill else {},
        cells=cells,
        documents={
            key: {language: document(key, language, repeat) for language in languages}
            for key in ("leaflet", "sleeve-back", "pad-back")
        },
        lists={"strengths": tick_list(*STRENGTHS)},
    )


def _cells(
    layout: Layout, piece_id: str, card: int, used: int, serial: int
) -> tuple[CellLoad, ...]:
    areas = next(p.cells for p in layout.faces[0].pieces if (p.id, p.card) == (piece_id, card))
    return tuple(
        CellLoad(
            area.number,
            area.number <= used,
            f"{LOT}-{serial + area.number:04}",
            {"cell": code(f"{LOT}-{serial + area.number:04}")},
        )
        for area in areas
    )


def sheet(
    layout: Layout, *, first_serial: int = 0, patient_name: str = "", **options: object
) -> SheetLoad:
    """A sheet with every piece used, each with serials of its own."""
    if patient_name:
        options = {**options, "facts_": {"patient": patient_name}}
    return SheetLoad(
        tuple(
            piece(layout, p.id, p.card, serial=first_serial + 20 * n, **options)  # type: ignore[arg-type]
            for n, p in enumerate(layout.faces[0].pieces)
        )
    )


def with_document(load: PieceLoad, document: Document) -> PieceLoad:
    """The load with this document in place of its own of that id."""
    return replace(load, documents={**load.documents, document.id: {document.language: document}})


def tick_list(*rows: tuple[str, ...]) -> TickList:
    """Rows to tick of those texts, the first being the heads."""
    heads, *others = (tuple(said(text) for text in row) for row in rows)
    return TickList(heads, tuple(others))


def with_lists(load: PieceLoad, lists: Mapping[str, TickList]) -> PieceLoad:
    """The load with these lists to tick."""
    return replace(load, lists=lists)
