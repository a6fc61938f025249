"""How long a leaflet page in Arabic takes: labelkit, WeasyPrint, typst, plain ReportLab.

The same paragraphs, size and page. *Cold* is a fresh process, imports and font opening
included; *warm* is the best of several runs in one process, as in a batch: labelkit then
knows the text as shaped and fitted, as typst knows the whole page. In the row *new text* those
caches are emptied before each run, so that only the fonts are known. ReportLab's
`drawString` neither shapes nor orders Arabic: it is the floor, not a rival.

    python benchmarks/typesetting.py [--runs 5]
"""

import argparse
import subprocess
import sys
from collections.abc import Callable
from importlib import resources
from io import BytesIO
from time import perf_counter, process_time

LANGUAGE = "ar"
SIZE_PT = 12
SENTENCES = (
    "ضع قرصا واحدا تحت اللسان ودعه يذوب. لا تمضغه ولا تبلعه.",
    "لا تدفع القرص عبر الغطاء: انزع الغطاء من الزاوية، فالقرص سهل الكسر.",
    "لا تأخذ أكثر من 1 قرص (25 mg) في 24 ساعة.",
    "لا تأخذ هذا الدواء إذا كنت تأخذ النترات لألم الصدر.",
    "اتصل بالصيدلية على الرقم (512) 555-0142 إذا كان لديك سؤال.",
    "احفظه في مكان جاف بعيدا عن متناول الأطفال وعن الضوء.",
)
PARAGRAPHS = [
    " ".join(SENTENCES[i:] + SENTENCES[:i])[:length] for i in range(6) for length in (230, 190)
]
ARABIC = ("fontpkg_noto_sans_arabic", "files/NotoSansArabic[wdth,wght].ttf")
LATIN = ("fontpkg_ibm_plex_sans", "files/IBMPlexSans[wdth,wght].ttf")


def font(which: tuple[str, str]) -> str:
    """The path of a packaged font."""
    return str(resources.files(which[0]) / which[1])


def ours(tagged: bool = False, known: bool = True) -> Callable[[], bytes]:
    """labelkit: paragraphs fitted one under the other, then written."""
    from labelkit.artwork.page import Artwork, Origin, Page, Tag, TextItem
    from labelkit.ground.box import Box
    from labelkit.output.pdf import write
    from labelkit.typeset.fitting import _fitted, fit
    from labelkit.typeset.model import Fitted
    from labelkit.typeset.shaping import _buffer, measure, shape

    def run() -> bytes:
        for cache in () if known else (_fitted, shape, measure, _buffer):
            cache.cache_clear()
        top, items = 20.0, []
        for number, text in enumerate(PARAGRAPHS):
            found = fit(text, LANGUAGE, 170, 250, wanted_pt=SIZE_PT, least_pt=SIZE_PT)
            assert isinstance(found, Fitted)
            box = Box(20, top, 170, found.height_mm + 2)
            tag = Tag("P", f"b{number}.0") if tagged else None
            items.append(TextItem(box, found.lines, Origin("layout", LANGUAGE), tag=tag))
            top = box.bottom_mm + 2
        page = Page(210, 297, tuple(items))
        return write(Artwork("leaflet", "نشرة", LANGUAGE, (page,), tagged=tagged))

    return run


def weasyprint() -> Callable[[], bytes]:
    """WeasyPrint: the same paragraphs as HTML."""
    from weasyprint import CSS, HTML
    from weasyprint.text.fonts import FontConfiguration

    fonts = FontConfiguration()
    faces = "".join(
        f"@font-face {{ font-family: {name}; src: url('file://{font(which)}') }}"
        for name, which in (("latin", LATIN), ("arabic", ARABIC))
    )
    style = (
        faces + "@page { size: A4; margin: 20mm } p { margin: 0 0 2mm }"
        f"body {{ font: {SIZE_PT}pt/1.2 arabic, latin; direction: rtl }}"
    )
    css = CSS(string=style, font_config=fonts)
    body = "".join(f"<p>{text}</p>" for text in PARAGRAPHS)

    def run() -> bytes:
        page = HTML(string=f'<html lang="ar"><title>t</title>{body}</html>')
        return bytes(page.write_pdf(stylesheets=[css], font_config=fonts))

    return run


def typst() -> Callable[[], bytes]:
    """typst: the same paragraphs as markup."""
    from pathlib import Path

    import typst as compiler

    folders = [str(Path(font(which)).parent) for which in (ARABIC, LATIN)]
    head = (
        '#set page(paper: "a4", margin: 20mm)\n#set text(lang: "ar", dir: rtl, '
        f'size: {SIZE_PT}pt, font: ("Noto Sans Arabic", "IBM Plex Sans"))\n'
    )
    source = (head + "\n\n".join(PARAGRAPHS)).encode()

    def run() -> bytes:
        return bytes(compiler.compile(source, font_paths=folders, ignore_system_fonts=True))

    return run


def reportlab() -> Callable[[], bytes]:
    """ReportLab's drawString, a line to about eighty characters, unshaped."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    pdfmetrics.registerFont(TTFont("arabic", font(ARABIC)))

    def run() -> bytes:
        out = BytesIO()
        canvas = Canvas(out, pageCompression=1, invariant=1)
        y = 780.0
        for text in PARAGRAPHS:
            canvas.setFont("arabic", SIZE_PT)
            for start in range(0, len(text), 80):
                canvas.drawRightString(540, y, text[start : start + 80])
                y -= 14.4
        canvas.save()
        return out.getvalue()

    return run


MAKERS: dict[str, Callable[[], Callable[[], bytes]]] = {
    "labelkit": ours,
    "labelkit, tagged": lambda: ours(tagged=True),
    "labelkit, new text": lambda: ours(known=False),
    "WeasyPrint": weasyprint,
    "typst": typst,
    "ReportLab drawString": reportlab,
}


def warm(name: str, runs: int) -> float:
    """Processor time of the best of some runs in this process, the first not counted."""
    run = MAKERS[name]()
    run()
    times = []
    for _ in range(runs):
        start = process_time()
        run()
        times.append(process_time() - start)
    return min(times)


def cold(name: str) -> float:
    """A fresh process that makes the page once, less the bare interpreter."""
    start = perf_counter()
    subprocess.run([sys.executable, __file__, "--once", name], check=True)
    made = perf_counter() - start
    start = perf_counter()
    subprocess.run([sys.executable, "-c", "pass"], check=True)
    return made - (perf_counter() - start)


def main() -> None:
    """Print a table of times and of ratios to labelkit, untagged, in the same run."""
    parser = argparse.ArgumentParser(description="Time a leaflet page in Arabic.")
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--once", choices=MAKERS)
    asked = parser.parse_args()
    if asked.once:
        MAKERS[asked.once]()()
        return
    found = {name: (cold(name), warm(name, asked.runs)) for name in MAKERS}
    base = found["labelkit"]
    print(f"{'':22}{'cold':>9}{'ratio':>8}{'warm':>10}{'ratio':>8}")
    for name, (first, later) in found.items():
        print(
            f"{name:22}{first * 1000:6.0f} ms{first / base[0]:8.1f}"
            f"{later * 1000:7.1f} ms{later / base[1]:8.1f}"
        )


if __name__ == "__main__":
    main()
