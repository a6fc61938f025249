"""The same strings and codes by four general libraries: each string at its place, each dark
run of a code as a rectangle, one face for all.

They fit nothing, break no line and draw no picture: what labelkit decides is given to them.
"""

from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from importlib import resources
from io import BytesIO
from pathlib import Path
from typing import NamedTuple

FACE = str(resources.files("fontpkg_ibm_plex_sans") / "files/IBMPlexSans[wdth,wght].ttf")


class Text(NamedTuple):
    """One line: left end and baseline in points from the sheet's top left."""

    x: float
    y: float
    size: float
    text: str


@dataclass
class Sheet:
    """What stands on one sheet, in points from its top left."""

    width: float
    height: float
    texts: list[Text]
    codes: list[list[tuple[float, float, float, float]]]


Run = Callable[[list[Sheet]], bytes]


def reportlab() -> Run:
    """ReportLab: `drawString` and `rect`."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    pdfmetrics.registerFont(TTFont("plex", FACE))

    def run(sheets: list[Sheet]) -> bytes:
        out = BytesIO()
        canvas = Canvas(out, pageCompression=1, invariant=1)
        for sheet in sheets:
            canvas.setPageSize((sheet.width, sheet.height))
            for text in sheet.texts:
                canvas.setFont("plex", text.size)
                canvas.drawString(text.x, sheet.height - text.y, text.text)
            for code in sheet.codes:
                for x, y, w, h in code:
                    canvas.rect(x, sheet.height - y - h, w, h, stroke=0, fill=1)
            canvas.showPage()
        canvas.save()
        return out.getvalue()

    return run


def fpdf2() -> Run:
    """fpdf2: `text` and `rect`."""
    from fpdf import FPDF

    def run(sheets: list[Sheet]) -> bytes:
        pdf = FPDF(unit="pt", format=(sheets[0].width, sheets[0].height))
        pdf.set_auto_page_break(False)
        pdf.add_font("plex", fname=FACE)
        for sheet in sheets:
            pdf.add_page()
            for text in sheet.texts:
                pdf.set_font("plex", size=text.size)
                pdf.text(text.x, text.y, text.text)
            for code in sheet.codes:
                for x, y, w, h in code:
                    pdf.rect(x, y, w, h, style="F")
        return bytes(pdf.output())

    return run


def weasyprint() -> Run:
    """WeasyPrint: a paragraph for each string, an SVG path for each code."""
    from weasyprint import CSS, HTML
    from weasyprint.text.fonts import FontConfiguration

    def run(sheets: list[Sheet]) -> bytes:
        width, height = sheets[0].width, sheets[0].height
        fonts = FontConfiguration()
        css = CSS(
            string=f"@font-face {{ font-family: plex; src: url('{Path(FACE).as_uri()}') }}"
            f"@page {{ size: {width}pt {height}pt; margin: 0 }} body {{ font: 8pt/1 plex }}"
            f"div {{ position: relative; height: {height}pt; break-after: page }}"
            "p, svg { position: absolute; margin: 0; white-space: pre }",
            font_config=fonts,
        )
        pages = []
        for sheet in sheets:
            parts = [
                f'<p style="left:{t.x:.2f}pt;top:{t.y - t.size:.2f}pt;font-size:{t.size}pt">'
                f"{escape(t.text)}</p>"
                for t in sheet.texts
            ]
            for code in sheet.codes:
                left, top = min(bar[0] for bar in code), min(bar[1] for bar in code)
                path = "".join(
                    f"M{x - left:.2f} {y - top:.2f}h{w:.2f}v{h:.2f}h-{w:.2f}z"
                    for x, y, w, h in code
                )
                parts.append(
                    f'<svg style="left:{left:.2f}pt;top:{top:.2f}pt" width="80pt" height="80pt" '
                    f'viewBox="0 0 80 80"><path d="{path}"/></svg>'
                )
            pages.append(f"<div>{''.join(parts)}</div>")
        document = HTML(string=f"<html><title>t</title>{''.join(pages)}</html>")
        return bytes(document.write_pdf(stylesheets=[css], font_config=fonts))

    return run


def typst() -> Run:
    """typst: a placed text for each string, an SVG picture for each code."""
    import typst as compiler

    def run(sheets: list[Sheet]) -> bytes:
        said = [
            f"#set page(width: {sheets[0].width}pt, height: {sheets[0].height}pt, margin: 0pt)",
            '#set text(font: "IBM Plex Sans", top-edge: "baseline", bottom-edge: "baseline")',
            "#let t(x, y, s, body) = place(dx: x * 1pt, dy: y * 1pt, box(text(s * 1pt, body)))",
            "#let c(x, y, s, d) = place(dx: x * 1pt, dy: y * 1pt, image(bytes("
            "\"<svg xmlns='http://www.w3.org/2000/svg' width='80pt' height='80pt' viewBox='0 0 80 "
            "80'><path d='\" + d + \"'/></svg>\"), width: 80pt))",
        ]
        for number, sheet in enumerate(sheets):
            if number:
                said.append("#pagebreak()")
            for t in sheet.texts:
                text = t.text.replace("\\", "\\\\").replace('"', '\\"')
                said.append(f'#t({t.x:.2f}, {t.y:.2f}, {t.size}, "{text}")')
            for code in sheet.codes:
                left, top = min(bar[0] for bar in code), min(bar[1] for bar in code)
                path = "".join(
                    f"M{x - left:.2f} {y - top:.2f}h{w:.2f}v{h:.2f}h-{w:.2f}z"
                    for x, y, w, h in code
                )
                said.append(f'#c({left:.2f}, {top:.2f}, 80, "{path}")')
        folder = str(Path(FACE).parent)
        source = "\n".join(said).encode()
        return bytes(compiler.compile(source, font_paths=[folder], ignore_system_fonts=True))

    return run


RIVALS: dict[str, Callable[[], Run]] = {
    "ReportLab": reportlab,
    "fpdf2": fpdf2,
    "typst": typst,
    "WeasyPrint": weasyprint,
}
