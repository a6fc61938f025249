"""Required codes: each one in its box, alone, decoded, parsed and equal to the record."""

from collections.abc import Iterator, Mapping

from labelkit.checks import payloads, symbols
from labelkit.checks.model import Finding, FindingKind, ReadCode, sentence
from labelkit.checks.places import (
    Edges,
    Lines,
    edges,
    grown,
    inside,
    lines_of,
    millimetres,
    place_of,
    too_near,
)
from labelkit.checks.raster import Raster
from labelkit.checks.symbols import Measured, Seen
from labelkit.manifest.model import ManifestPage, RequiredCode

IDENTIFIERS = {
    ("data-matrix", True): ("]d2",),
    ("data-matrix", False): ("]d1",),
    ("code-128", False): ("]C0",),
    ("code-128", True): ("]C1",),
    ("qr", False): ("]Q1",),
}
"""AIM symbology identifiers by symbology and whether FNC1 makes it GS1: ISO/IEC 15424."""

WHOLE_DOTS_SLACK = 0.3
"""A symbol may be this much of a dot longer or shorter over its whole length: what
anti-aliasing leaves of a length in whole dots."""

SQUARE_SLACK = 0.6
"""Dots by which a symbol's two sides may differ: the slack of each."""

SLACK_MM = 0.1
"""Over a dot of a 300 dpi printer: the snap to the printer's grid."""

LEAST_BAR_MM, LEAST_BAR_SHARE = 5.0, 0.15
"""Least height of bars for reading by hand: 5 mm or 15 % of the symbol's length, whichever is
more (ISO/IEC 15417, user guidelines, from memory)."""

RANGE_SLACK = 0.005
"""A standard's limits in millimetres and whole dots of 25.4 mm differ in the third digit."""

ELSEWHERE_MM = 4.0
"""How far around its box a missing code is looked for, to tell where it went."""


def check_codes(
    page: ManifestPage, number: int, rasters: Mapping[int, Raster], read_in: int
) -> tuple[list[Finding], list[ReadCode]]:
    """Findings of all codes of a page, and what was read; `rasters` holds each code's dpi."""
    findings: list[Finding] = []
    read: list[ReadCode] = []
    lines = lines_of(page.cuts)
    for required in page.codes:
        raster = rasters[required.dpi]
        told = Told(required, number)
        seen = symbols.read_in(raster, edges(required.within), required.symbology)
        if not seen:
            findings.append(_missing(told, raster))
            continue
        if len(seen) > 1:
            findings.append(
                told.finding(
                    FindingKind.CODE_EXTRA,
                    f"shares its box with {len(seen) - 1} other code(s)",
                    "one code",
                    ", ".join(short_payload(s.text) for s in seen),
                )
            )
        one = seen[0]
        findings += contents(told, one, read_in)
        measured = symbols.measure(one, raster)
        findings += _measures(told, one, measured, raster, (page, lines))
        read.append(_read(told, one, measured, raster))
    return findings, read


class Told:
    """Makes findings about one code."""

    def __init__(self, required: RequiredCode, number: int) -> None:
        self.required, self.number = required, number

    def finding(
        self, kind: FindingKind, what: str, expected: str, found: str, where: Edges | None = None
    ) -> Finding:
        """A finding that names the code first."""
        required = self.required
        return sentence(
            kind,
            self.number,
            f"code {required.name} {what}",
            expected=expected,
            found=found,
            piece=required.piece,
            area=required.area,
            where=required.within if where is None else place_of(where),
        )


def _read(told: Told, seen: Seen, measured: Measured, raster: Raster) -> ReadCode:
    required = told.required
    return ReadCode(
        page=told.number,
        name=required.name,
        piece=required.piece,
        area=required.area,
        where=place_of(seen.edges(raster.dpi)),
        text=seen.text,
        identifier=seen.identifier,
        x_dots=round(measured.x_px, 3),
    )


def _missing(told: Told, raster: Raster) -> Finding:
    near = symbols.read_in(raster, grown(edges(told.required.within), ELSEWHERE_MM))
    if near:
        box = near[0].edges(raster.dpi)
        return told.finding(
            FindingKind.CODE_OUTSIDE,
            f"isn't whole in its box: one stands at {box[0]:.1f}, {box[1]:.1f} mm",
            "a code inside its box",
            short_payload(near[0].text),
            box,
        )
    return told.finding(
        FindingKind.CODE_MISSING,
        "can't be read in its box: it is missing or damaged",
        f"a {told.required.symbology} that scans",
        "none",
    )


def contents(told: Told, seen: Seen, read_in: int) -> Iterator[Finding]:
    """What is wrong with what a code says."""
    required = told.required
    if seen.symbology != required.symbology:
        yield told.finding(
            FindingKind.CODE_WRONG,
            f"is a {seen.symbology}, not a {required.symbology}",
            required.symbology,
            seen.symbology,
        )
        return
    wanted = IDENTIFIERS.get((required.symbology, required.gs1), ())
    if seen.identifier not in wanted:
        yield told.finding(
            FindingKind.CODE_WRONG,
            f"announces itself as {seen.identifier}, not {' or '.join(wanted) or 'anything known'}",
            " or ".join(wanted),
            seen.identifier,
        )
        return
    try:
        fields = fields_of(required, seen.text, read_in)
    except payloads.PayloadError as error:
        yield told.finding(
            FindingKind.CODE_WRONG,
            f"doesn't follow its standard: it {error}",
            str(required.fields),
            short_payload(seen.text),
        )
        return
    for name in sorted(required.fields.keys() | fields.keys()):
        expected, found = required.fields.get(name), fields.get(name)
        if expected != found:
            yield told.finding(
                FindingKind.CODE_WRONG,
                f"says {name} {found or 'nothing'}, the record says {expected or 'nothing'}",
                expected or "nothing",
                found or "nothing",
            )


def fields_of(required: RequiredCode, text: str, read_in: int) -> dict[str, str]:
    """The record values in a payload, by the required code's own standard.

    Raises PayloadError.
    """
    if required.gs1:
        return payloads.gs1_fields(text, read_in)
    if required.symbology == "data-matrix":
        return payloads.envelope_fields(text, read_in)
    if required.symbology == "code-128":
        return {"rx": text}
    return {"address": text}


def _measures(
    told: Told,
    seen: Seen,
    measured: Measured,
    raster: Raster,
    page_lines: tuple[ManifestPage, Lines],
) -> Iterator[Finding]:
    page, lines = page_lines
    required = told.required
    x_px, modules = measured.x_px, measured.modules
    if not modules:
        yield told.finding(
            FindingKind.CODE_SIZE, "has no modules that can be counted", "whole modules", "none"
        )
        return
    clear = symbols.is_clear_around(seen, raster, required.quiet_modules, x_px)
    if not clear:
        yield told.finding(
            FindingKind.CODE_QUIET_ZONE,
            f"has ink in its quiet zone of {required.quiet_modules} modules",
            "a clear quiet zone",
            "ink",
        )
    dots = round(x_px)
    # Ink that touches the symbol would be measured with it.
    if clear and abs(x_px - dots) * modules > WHOLE_DOTS_SLACK:
        yield told.finding(
            FindingKind.CODE_SIZE,
            f"has modules of {x_px:.2f} dots at {raster.dpi} dpi, not a whole number",
            "a whole number of dots",
            f"{x_px:.3f}",
        )
    if abs(x_px - measured.y_px) * modules > SQUARE_SLACK:
        yield told.finding(
            FindingKind.CODE_SIZE,
            f"has modules of {x_px:.2f} by {measured.y_px:.2f} dots, or ink beside it",
            "square modules",
            f"{x_px:.3f} x {measured.y_px:.3f}",
        )
    x_mm = x_px * 25.4 / raster.dpi
    least, most = required.least_x_mm * (1 - RANGE_SLACK), required.most_x_mm * (1 + RANGE_SLACK)
    if not least <= x_mm <= most:
        yield told.finding(
            FindingKind.CODE_SIZE,
            f"has an X-dimension of {x_mm:.3f} mm, outside {required.least_x_mm:.3f} to "
            f"{required.most_x_mm:.3f} mm",
            f"{required.least_x_mm:.3f} to {required.most_x_mm:.3f} mm",
            f"{x_mm:.3f} mm",
        )
    if seen.turn:
        yield told.finding(
            FindingKind.CODE_WRONG,
            "is turned or mirrored: not every reader reads it",
            "upright",
            f"turned by {seen.turn} degrees, or mirrored",
        )
    if seen.symbology == "code-128":
        yield from _bars(told, seen, measured, raster)
    with_quiet = symbols.quiet_edges(seen, measured, raster.dpi, required.quiet_modules)
    if not inside(with_quiet, edges(required.within), SLACK_MM):
        yield told.finding(
            FindingKind.CODE_OUTSIDE,
            "leaves its box with its quiet zone",
            f"inside {required.within.w_mm:.1f} by {required.within.h_mm:.1f} mm",
            "outside",
            with_quiet,
        )
    for index, gap in too_near(seen.edges(raster.dpi), lines, SLACK_MM):
        cut = page.cuts[index]
        yield told.finding(
            FindingKind.NEAR_LINE,
            f"stands {gap:.2f} mm from a {cut.kind}, nearer than {cut.clear_mm:.2f} mm",
            f"{cut.clear_mm:.2f} mm",
            f"{gap:.2f} mm",
        )


def _bars(told: Told, seen: Seen, measured: Measured, raster: Raster) -> Iterator[Finding]:
    """Bars too short to be hit by a hand-held reader."""
    high = millimetres(symbols.bar_height(seen, measured, raster), raster.dpi)
    long = millimetres(measured.modules * measured.x_px, raster.dpi)
    least = max(LEAST_BAR_MM, LEAST_BAR_SHARE * long)
    if high < least - SLACK_MM:
        yield told.finding(
            FindingKind.CODE_SIZE,
            f"has bars {high:.1f} mm high, less than {least:.1f} mm",
            f"{least:.1f} mm or more",
            f"{high:.1f} mm",
        )


def short_payload(text: str) -> str:
    """A payload for reading: separators as pictures, cut at 80 characters."""
    shown = "".join(c if c.isprintable() else chr(0x2400 + ord(c)) for c in text[:80])
    return shown + ("…" if len(text) > 80 else "")
