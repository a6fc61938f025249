"""What another program may do to a file without harm: none of it may raise an alarm."""

import io
from collections.abc import Callable

import pikepdf
from injecting import Released, Work


def _saved(released: Released, **how: object) -> bytes:
    return Work(released).saved(**how)


def _dissolved(released: Released) -> bytes:
    """Forms written into their pages: what every harm to a sheet does first."""
    work = Work(released)
    for sheet in work.sheets:
        assert sheet.steps
    return work.saved()


def _recompressed(released: Released) -> bytes:
    """Every stream packed anew."""
    return _saved(released, recompress_flate=True)


def _renumbered(released: Released) -> bytes:
    """Objects under other numbers, in another order: pages copied into a new file's."""
    with pikepdf.open(io.BytesIO(released.pdf)) as pdf:
        pdf.add_blank_page()
        del pdf.pages[-1]
        held = io.BytesIO()
        pdf.save(held, qdf=True, static_id=True)
    return held.getvalue()


def _split(released: Released) -> bytes:
    """Each page's content in two streams, parted between two text objects."""
    work = Work(released)
    for sheet in work.sheets:
        sheet.write()
        steps = list(pikepdf.parse_content_stream(sheet.page))
        ends = [n for n, step in enumerate(steps) if str(step.operator) == "ET"]
        middle = ends[len(ends) // 2] + 1 if ends else len(steps)
        sheet.page.Contents = pikepdf.Array(
            work.pdf.make_stream(pikepdf.unparse_content_stream(part))
            for part in (steps[:middle], steps[middle:])
        )
        sheet.write = lambda: None  # type: ignore[method-assign]
    return work.saved()


def _fonts_renamed(released: Released) -> bytes:
    """Fonts under other names on every page."""
    work = Work(released)
    for sheet in work.sheets:
        sheet.page.Resources = pikepdf.Dictionary(dict(sheet.page.Resources.items()))
        fonts = sheet.page.Resources.Font.items()
        sheet.page.Resources.Font = pikepdf.Dictionary(
            {f"/Other{name[1:]}": font for name, font in fonts}
        )
        for number, step in enumerate(sheet.steps):
            if str(step.operator) == "Tf":
                name = pikepdf.Name(f"/Other{str(step.operands[0])[1:]}")
                sheet.steps[number] = pikepdf.ContentStreamInstruction(
                    [name, step.operands[1]], step.operator
                )
    return work.saved()


def _boxes_inherited(released: Released) -> bytes:
    """The sheet's size told once, for all pages."""
    work = Work(released)
    for page in work.pdf.pages:
        work.pdf.Root.Pages.MediaBox = page.obj.MediaBox
        del page.obj["/MediaBox"]
    return work.saved()


BENIGN: dict[str, Callable[[Released], bytes]] = {
    "untouched": lambda released: released.pdf,
    "saved anew": lambda released: _saved(released),
    "forms dissolved": _dissolved,
    "object streams": lambda released: _saved(
        released, object_stream_mode=pikepdf.ObjectStreamMode.generate
    ),
    "linearised": lambda released: _saved(released, linearize=True),
    "uncompressed": lambda released: _saved(
        released, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.generalized
    ),
    "streams packed anew": _recompressed,
    "objects renumbered": _renumbered,
    "content in two streams": _split,
    "fonts renamed": _fonts_renamed,
    "size inherited": _boxes_inherited,
    "PDF 1.7 asked for": lambda released: _saved(released, min_version="1.7"),
    "content normalised": lambda released: _saved(released, normalize_content=True),
}
"""Ways to rewrite a file that leave every page as it was."""
