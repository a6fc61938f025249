"""Harms by paint: blends, masks, patterns, strokes, images, grounds, layers for print only."""

import pikepdf
from injecting import Work, kind
from kinds_words import Found, required, seen
from marks import MM, Rect
from operators import parsed
from pikepdf import Array, Dictionary, Name
from sheets import Sheet

ANY = required()


def own_resources(sheet: Sheet, name: str, **added: pikepdf.Object) -> None:
    """Give the page a copy of its resources with more entries in one of their dictionaries."""
    sheet.page.Resources = Dictionary(dict(sheet.page.Resources.items()))
    held = dict(sheet.page.Resources.get(f"/{name}", Dictionary()).items())
    held.update({f"/{key}": value for key, value in added.items()})
    sheet.page.Resources[f"/{name}"] = Dictionary(held)


def _state(work: Work, target: Found, **entries: object) -> None:
    sheet, block, _ = target
    own_resources(
        sheet, "ExtGState", Harm=Dictionary({f"/{key}": value for key, value in entries.items()})
    )
    sheet.around(block.first, block.last, "q /Harm gs", "Q")


def _grounded(target: Found) -> None:
    """White behind a text: without a ground a blend has nothing to blend with."""
    target[0].around(0, 0, f"q 1 g {target[1].box.grown(1).said} re f Q", "")


@kind("screened", "a text is blended so that black on white shows white", ANY)
def screened(work: Work, target: Found) -> None:
    """Blend mode Screen over a white ground (ISO 32000-1, 11.3.5)."""
    _grounded(target)
    _state(work, target, BM=Name.Screen)


@kind("lightened", "a text is blended with a white ground to nothing", ANY)
def lightened(work: Work, target: Found) -> None:
    """Blend mode Lighten over a white ground."""
    _grounded(target)
    _state(work, target, BM=Name.Lighten)


@kind("soft-masked", "a text is hidden by a soft mask", ANY)
def soft_masked(work: Work, target: Found) -> None:
    """Luminosity of a group that paints black: nothing shows (ISO 32000-1, 11.6.5.3)."""
    sheet = target[0]
    w, h = sheet.wanted.width_mm * MM, sheet.wanted.height_mm * MM
    group = work.pdf.make_stream(
        f"0 g 0 0 {w:.2f} {h:.2f} re f".encode(),
        Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, round(w, 2), round(h, 2)],
        Group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray),
    )  # fmt: skip
    _state(work, target, SMask=Dictionary(Type=Name.Mask, S=Name.Luminosity, G=group))


@kind("half-transparent-cover", "a text lies under a white box of 85 % opacity", ANY)
def half_transparent_cover(work: Work, target: Found) -> None:
    """As under correction tape."""
    sheet = target[0]
    own_resources(sheet, "ExtGState", Harm=Dictionary(ca=0.85))
    sheet.append(f"/Harm gs 1 g {seen(target).grown(0.5).said} re f")


@kind("patterned", "a text is filled with a pattern of pale stripes", ANY)
def patterned(work: Work, target: Found) -> None:
    """A tiling pattern, a fifth of it black."""
    sheet = target[0]
    tile = work.pdf.make_stream(
        b"0 g 0 0 0.1 1 re f",
        Type=Name.Pattern, PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 0.5, 1],
        XStep=0.5, YStep=1, Resources=Dictionary(),
    )  # fmt: skip
    own_resources(sheet, "Pattern", Harm=tile)
    sheet.inside(target[1], "/Pattern cs /Harm scn", "0 g")


@kind("shaded", "a text fades from black to white", ANY)
def shaded(work: Work, target: Found) -> None:
    """An axial shading across the text as its fill."""
    sheet, box = target[0], seen(target)
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1)
    shading = Dictionary(
        ShadingType=2, ColorSpace=Name.DeviceGray, Function=function, Extend=[True, True],
        Coords=[round(box.x, 2), 0, round(box.x + box.w, 2), 0],
    )  # fmt: skip
    own_resources(
        sheet, "Pattern", Harm=Dictionary(Type=Name.Pattern, PatternType=2, Shading=shading)
    )
    sheet.inside(target[1], "/Pattern cs /Harm scn", "0 g")


@kind("white-stroke", "a text's letters are thinned by a white outline", ANY)
def white_stroke(work: Work, target: Found) -> None:
    """Fill and stroke, the stroke white and a tenth of the size wide."""
    sheet, block, _ = target
    sheet.inside(block, f"1 G {0.1 * block.size:.2f} w 2 Tr", "0 Tr 0 G")


@kind("hairline-outline", "a text's letters are hairlines only", ANY)
def hairline_outline(work: Work, target: Found) -> None:
    """Stroke only, 0.05 mm wide, in grey."""
    sheet, block, _ = target
    sheet.inside(block, f"0.6 G {0.05 * MM:.3f} w 1 Tr", "0 Tr 0 G")


@kind("bloated", "a text's letters run together by a thick outline", ANY)
def bloated(work: Work, target: Found) -> None:
    """Fill and stroke, black and a fifth of the size wide."""
    sheet, block, _ = target
    sheet.inside(block, f"0 G {0.2 * block.size:.2f} w 2 Tr", "0 Tr")


def _pasted(work: Work, target: Found, **entries: object) -> None:
    """An image of one pixel over the text."""
    sheet, box = target[0], seen(target).grown(0.5)
    image = work.pdf.make_stream(
        b"\xff", Type=Name.XObject, Subtype=Name.Image, Width=1, Height=1, BitsPerComponent=8,
        ColorSpace=Name.DeviceGray, **entries,
    )  # fmt: skip
    own_resources(sheet, "XObject", HarmPicture=image)
    sheet.append(f"{box.w:.2f} 0 0 {box.h:.2f} {box.x:.2f} {box.y:.2f} cm /HarmPicture Do")


@kind("pasted-over", "a text is covered by an image of the page's colour", ANY)
def pasted_over(work: Work, target: Found) -> None:
    """A white pixel, stretched."""
    _pasted(work, target)


@kind("pasted-pale", "a text is covered by a white image of 80 % opacity", ANY)
def pasted_pale(work: Work, target: Found) -> None:
    """A white pixel with a soft mask of its own."""
    mask = work.pdf.make_stream(
        b"\xcc", Type=Name.XObject, Subtype=Name.Image, Width=1, Height=1, BitsPerComponent=8,
        ColorSpace=Name.DeviceGray,
    )  # fmt: skip
    _pasted(work, target, SMask=mask)


@kind("pasted-keyed", "a text is covered by an image with holes by colour key", ANY)
def pasted_keyed(work: Work, target: Found) -> None:
    """White and black pixels in turn, the black ones left out (ISO 32000-1, 8.9.6.4)."""
    sheet, box = target[0], seen(target).grown(0.5)
    image = work.pdf.make_stream(
        bytes([255, 255, 255, 0] * 8), Type=Name.XObject, Subtype=Name.Image, Width=16, Height=2,
        BitsPerComponent=8, ColorSpace=Name.DeviceGray, Mask=Array([0, 8]),
    )  # fmt: skip
    own_resources(sheet, "XObject", HarmPicture=image)
    sheet.append(f"{box.w:.2f} 0 0 {box.h:.2f} {box.x:.2f} {box.y:.2f} cm /HarmPicture Do")


@kind("grounded", "a text stands on a grey ground of contrast 3.4:1", ANY)
def grounded(work: Work, target: Found) -> None:
    """#595959 behind black text."""
    sheet = target[0]
    box = seen(target).grown(1)
    sheet.around(0, 0, f"q 0.349 g {box.said} re f Q", "")


def _sheets(work: Work) -> list[Sheet]:
    """Those on which a required text surely stands."""
    return [s for s in work.sheets if any(s is sheet for sheet, _, _ in work.required)]


@kind("watermark", "a grey word runs across the page, over its texts", _sheets)
def watermark(work: Work, sheet: Sheet) -> None:
    """The sheet's longest text of one line, tenfold, slanted, in #b3b3b3."""
    block = max(sheet.blocks, key=lambda b: (not any(g.line for g in b.glyphs)) * b.box.w)
    w, h = sheet.wanted.width_mm * MM, sheet.wanted.height_mm * MM
    scale = 0.8 * w / block.box.w
    (x, y), c, s = block.box.centre, 0.866 * scale, 0.5 * scale
    matrix = (c, s, -s, c, w / 2 - c * x + s * y, h / 2 - s * x - c * y)
    numbers = " ".join(f"{value:.5f}" for value in matrix)
    sheet.on_top += parsed(f"q {numbers} cm 0.7 g")
    sheet.on_top += sheet.steps[block.first : block.last + 1]
    sheet.on_top += parsed("Q")


@kind("page-tinted", "a page has a dark ground", _sheets)
def page_tinted(work: Work, sheet: Sheet) -> None:
    """#595959 over the printable area, behind everything."""
    safe = sheet.place(sheet.wanted.safe)
    sheet.around(0, 0, f"q 0.349 g {safe.said} re f Q", "")


@kind("stroke-across-page", "a line of ink runs through a page's texts", _sheets)
def stroke_across_page(work: Work, sheet: Sheet) -> None:
    """As a scratched drum leaves it: 0.3 mm, through the middle of a required text."""
    block = next(b for s, b, _ in work.required if s is sheet)
    safe, y = sheet.place(sheet.wanted.safe), block.box.centre[1]
    sheet.append(f"0 G {0.3 * MM:.2f} w {safe.x:.2f} {y:.2f} m {safe.x + safe.w:.2f} {y:.2f} l S")


@kind("spot-ink", "a text is painted in an ink of its own", ANY)
def spot_ink(work: Work, target: Found) -> None:
    """A Separation named Varnish that a screen shows black (ISO 32000-1, 8.6.6.4)."""
    sheet = target[0]
    tint = work.pdf.make_stream(b"{1 exch sub}", FunctionType=4, Domain=[0, 1], Range=[0, 1])
    space = Array([Name.Separation, Name.Varnish, Name.DeviceGray, tint])
    own_resources(sheet, "ColorSpace", Harm=work.pdf.make_indirect(space))
    sheet.inside(target[1], "/Harm cs 1 scn", "0 g")


def _layer(work: Work, target: Found, layer: Dictionary, **config: object) -> None:
    sheet, block, _ = target
    held = work.pdf.make_indirect(layer)
    work.pdf.Root.OCProperties = Dictionary(OCGs=[held], D=Dictionary(Order=[held], **config))
    if config.get("AS") is not None:
        work.pdf.Root.OCProperties.D.AS[0].OCGs = Array([held])
    own_resources(sheet, "Properties", Harm=held)
    sheet.around(block.first, block.last, "/OC /Harm BDC", "EMC")


@kind("layer-not-printed", "a text is on a layer that shows and doesn't print", ANY)
def layer_not_printed(work: Work, target: Found) -> None:
    """PrintState OFF, applied when printing (ISO 32000-1, 8.11.4.4)."""
    usage = Dictionary(Print=Dictionary(PrintState=Name.OFF))
    applied = Dictionary(Event=Name.Print, Category=[Name.Print])
    _layer(work, target, Dictionary(Type=Name.OCG, Name="Harm", Usage=usage), AS=Array([applied]))


@kind("layer-to-switch", "a text is on a layer that a reader can switch off", ANY)
def layer_to_switch(work: Work, target: Found) -> None:
    """On by default."""
    _layer(work, target, Dictionary(Type=Name.OCG, Name="Harm"))


@kind("layer-in-other-view", "a text is on a layer that only another configuration shows", ANY)
def layer_in_other_view(work: Work, target: Found) -> None:
    """BaseState OFF."""
    _layer(work, target, Dictionary(Type=Name.OCG, Name="Harm"), BaseState=Name.OFF)


@kind("turned-by-3-degrees", "a text is turned by 3 degrees", ANY)
def turned_by_3_degrees(work: Work, target: Found) -> None:
    """About its middle."""
    sheet, block, _ = target
    (x, y), c, s = block.box.centre, 0.99863, 0.05234
    sheet.wrap(block, (c, s, -s, c, x - c * x + s * y, y - s * x - c * y))


@kind("slanted", "a text is slanted by 20 degrees", ANY)
def slanted(work: Work, target: Found) -> None:
    """A false italic."""
    sheet, block, _ = target
    sheet.wrap(block, (1, 0, 0.364, 1, -0.364 * block.box.centre[1], 0))


@kind("stamped", "a block of print stands over a text", ANY)
def stamped(work: Work, target: Found) -> None:
    """A black frame of 0.4 mm whose lower edge runs through the text."""
    sheet, box = target[0], seen(target)
    x, y = box.centre
    frame = Rect(x - box.w / 2, y, box.w, 3 * box.h)
    sheet.append(f"0 G {0.4 * MM:.2f} w {frame.said} re S")
