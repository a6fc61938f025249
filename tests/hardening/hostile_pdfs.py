"""PDFs that are built to exhaust whoever opens them. Each is small; what it asks for isn't."""

import io
import zlib

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

LETTER = [0, 0, 612, 792]


def plain(pages: int = 1, content: bytes = b"", box: list[float] | None = None) -> pikepdf.Pdf:
    """A sound file of empty pages."""
    made = pikepdf.new()
    shared = made.make_stream(content) if content else None
    for _ in range(pages):
        page = Dictionary(Type=Name.Page, MediaBox=Array(box or LETTER), Resources=Dictionary())
        if shared is not None:
            page.Contents = shared
        made.pages.append(pikepdf.Page(made.make_indirect(page)))
    return made


def saved(made: pikepdf.Pdf, **how: object) -> bytes:
    """The file's bytes, streams as they were put in."""
    file = io.BytesIO()
    made.save(file, compress_streams=False, **{"static_id": True} | how)  # type: ignore[arg-type]
    return file.getvalue()


def raw(bodies: list[bytes], trailer: bytes = b"") -> bytes:
    """A file of these objects, numbered from 1; the first is the catalog."""
    file, places = bytearray(b"%PDF-1.7\n"), []
    for number, body in enumerate(bodies, start=1):
        places.append(len(file))
        file += b"%d 0 obj\n%b\nendobj\n" % (number, body)
    start = len(file)
    file += b"xref\n0 %d\n0000000000 65535 f \n" % (len(bodies) + 1)
    file += b"".join(b"%010d 00000 n \n" % place for place in places)
    head = b"trailer\n<< /Size %d /Root 1 0 R %b >>\n" % (len(bodies) + 1, trailer)
    return bytes(file + head.replace(b"START", b"%d" % start) + b"startxref\n%d\n%%%%EOF" % start)


CATALOG = b"<< /Type /Catalog /Pages 2 0 R >>"
TREE = b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>"
LEAF = b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 612 792] >>"


def _packed(data: bytes, times: int) -> bytes:
    """`data` so many times, deflated once: blocks that end in a full flush stand alone."""
    packed = zlib.compressobj(9, wbits=-15)
    block = packed.compress(data) + packed.flush(zlib.Z_FULL_FLUSH)
    total = 1
    if len(data) * times < MOST_SUMMED:
        for _ in range(times):
            total = zlib.adler32(data, total)
    return b"\x78\xda" + block * times + b"\x03\x00" + total.to_bytes(4)


MOST_SUMMED = 100_000_000
"""Of longer streams the sum at the end isn't right: whoever reads so far has lost already."""


def _with_image(image: Stream, made: pikepdf.Pdf, paints: int = 1) -> bytes:
    page = made.pages[0].obj
    page.Resources = Dictionary(XObject=Dictionary(I=made.make_indirect(image)))
    page.Contents = made.make_stream(b"q 612 0 0 792 0 0 cm /I Do Q\n" * paints)
    return saved(made)


def image_bomb(side: int = 100_000) -> bytes:
    """A picture of 10^5 by 10^5 single bits: 1.25 GB of noughts in 1.2 MB."""
    made = plain()
    row = b"\0" * (side // 8)
    image = Stream(made, b"")
    image.write(_packed(row * 100, side // 100), filter=Name.FlateDecode)
    image.update(_image(side, 1, Name.DeviceGray))
    return _with_image(image, made)


def _image(side: int, bits: int, space: Name) -> dict[str, object]:
    return {
        "/Type": Name.XObject, "/Subtype": Name.Image, "/Width": side, "/Height": side,
        "/BitsPerComponent": bits, "/ColorSpace": space,
    }  # fmt: skip


def short_image_bomb() -> bytes:
    """A picture that says 10^5 by 10^5 pixels in four colours, and holds eight bytes."""
    made = plain()
    image = Stream(made, b"\0" * 8)
    image.update(_image(100_000, 8, Name.DeviceCMYK))
    return _with_image(image, made)


def run_length_bomb() -> bytes:
    """4 MB that run-length coding makes 256 MB of."""
    made = plain()
    image = Stream(made, b"")
    image.write(b"\x81\0" * 2_000_000 + b"\x80", filter=Name.RunLengthDecode)
    image.update(_image(16_000, 8, Name.DeviceGray))
    return _with_image(image, made)


def many_images() -> bytes:
    """Five hundred pictures of 7,900 by 7,900 single bits, each within every bound."""
    made = plain()
    side = 7_904
    packed = _packed(b"\0" * (side // 8) * 304, side // 304)
    names = Dictionary()
    for number in range(500):
        image = Stream(made, b"")
        image.write(packed, filter=Name.FlateDecode)
        image.update(_image(side, 1, Name.DeviceGray))
        names[f"/I{number}"] = made.make_indirect(image)
    page = made.pages[0].obj
    page.Resources = Dictionary(XObject=names)
    page.Contents = made.make_stream(
        b"".join(b"q 612 0 0 792 0 0 cm /I%d Do Q\n" % n for n in range(500))
    )
    return saved(made)


def _with_content(packed: bytes) -> bytes:
    made = plain()
    content = Stream(made, b"")
    content.write(packed, filter=Name.FlateDecode)
    made.pages[0].obj.Contents = made.make_indirect(content)
    return saved(made)


def content_bomb() -> bytes:
    """A content of 1 GB of moves."""
    return _with_content(_packed(b"0 0 m " * 100_000, 1_700))


def endless_drawing() -> bytes:
    """A content of 40 MB, under the bound of a stream, of page-wide strokes."""
    return _with_content(_packed(b"0 0 m 612 792 l S\n" * 22_000, 100))


def recursive_form() -> bytes:
    """A form that paints itself twice."""
    made = plain()
    form = made.make_indirect(Stream(made, b"/F Do /F Do\n"))
    form.update({"/Type": Name.XObject, "/Subtype": Name.Form, "/BBox": Array(LETTER)})
    form.Resources = Dictionary(XObject=Dictionary(F=form))
    made.pages[0].obj.Resources = Dictionary(XObject=Dictionary(F=form))
    made.pages[0].obj.Contents = made.make_stream(b"/F Do")
    return saved(made)


def doubling_forms(levels: int = 24) -> bytes:
    """Forms that each paint the next twice: 2^24 times a word."""
    made = plain()
    below: pikepdf.Object | None = None
    for _ in range(levels):
        body = b"/F Do /F Do\n" if below is not None else b"0 0 10 10 re f\n"
        form = made.make_indirect(Stream(made, body))
        form.update({"/Type": Name.XObject, "/Subtype": Name.Form, "/BBox": Array(LETTER)})
        if below is not None:
            form.Resources = Dictionary(XObject=Dictionary(F=below))
        below = form
    assert below is not None
    made.pages[0].obj.Resources = Dictionary(XObject=Dictionary(F=below))
    made.pages[0].obj.Contents = made.make_stream(b"/F Do")
    return saved(made)


def pattern_bomb() -> bytes:
    """A tiling pattern of hundredths of a point, over the whole page."""
    made = plain()
    tile = made.make_indirect(Stream(made, b"0 0 1 1 re f\n"))
    tile.update({
        "/Type": Name.Pattern, "/PatternType": 1, "/PaintType": 1, "/TilingType": 1,
        "/BBox": Array([0, 0, 1, 1]), "/XStep": pikepdf.Object.parse(b"0.001"),
        "/YStep": pikepdf.Object.parse(b"0.001"), "/Resources": Dictionary(),
    })  # fmt: skip
    made.pages[0].obj.Resources = Dictionary(Pattern=Dictionary(P=tile))
    made.pages[0].obj.Contents = made.make_stream(b"/Pattern cs /P scn 0 0 612 792 re f")
    return saved(made)


def shading_bomb() -> bytes:
    """Five thousand shadings by a function, one above the other."""
    made = plain()
    tint = Dictionary(
        FunctionType=2, Domain=Array([0, 1]), C0=Array([0, 0, 0]), C1=Array([1, 1, 1]), N=1
    )
    shade = Dictionary(
        ShadingType=3, ColorSpace=Name.DeviceRGB, Coords=Array([300, 300, 0, 300, 300, 900]),
        Function=tint, Extend=Array([True, True]),
    )  # fmt: skip
    made.pages[0].obj.Resources = Dictionary(Shading=Dictionary(S=made.make_indirect(shade)))
    made.pages[0].obj.Contents = made.make_stream(b"/S sh\n" * 5_000)
    return saved(made)


def million_letters() -> bytes:
    """A page of a million letters in one place."""
    made = plain()
    font = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica)
    made.pages[0].obj.Resources = Dictionary(Font=Dictionary(F=made.make_indirect(font)))
    text = b"BT /F 8 Tf 100 100 Td (" + b"a" * 1_000 + b") Tj ET\n"
    made.pages[0].obj.Contents = made.make_stream(text * 1_000)
    return saved(made)


def many_saves() -> bytes:
    """A content that saves the graphics state ten million times."""
    made = plain()
    content = Stream(made, b"")
    content.write(_packed(b"q " * 100_000, 100), filter=Name.FlateDecode)
    made.pages[0].obj.Contents = made.make_indirect(content)
    return saved(made)


def huge_page() -> bytes:
    """A page of 10^9 points."""
    return saved(plain(box=[0, 0, 1e9, 1e9]))


def huge_unit() -> bytes:
    """A Letter page whose unit is a million points (ISO 32000-1, 14.11.2, UserUnit)."""
    made = plain()
    made.pages[0].obj.UserUnit = 1_000_000
    return saved(made)


def many_pages() -> bytes:
    """60,000 pages."""
    kids = b" ".join(b"%d 0 R" % (n + 3) for n in range(60_000))
    tree = b"<< /Type /Pages /Count 60000 /Kids [" + kids + b"] >>"
    return raw([CATALOG, tree, *[LEAF] * 60_000])


def pages_of_one() -> bytes:
    """A page tree whose one page is named a million times."""
    kids = b"3 0 R " * 1_000_000
    return raw([CATALOG, b"<< /Type /Pages /Count 1000000 /Kids [" + kids + b"] >>", LEAF])


def claimed_pages() -> bytes:
    """One page, and a count of two thousand million."""
    return raw([CATALOG, TREE.replace(b"/Count 1", b"/Count 2000000000"), LEAF])


def deep_tree(levels: int = 20_000) -> bytes:
    """A page at the bottom of so many nodes."""
    nodes = [
        b"<< /Type /Pages /Count 1 /Kids [%d 0 R] /Parent %d 0 R >>" % (n + 1, n - 1)
        for n in range(2, levels)
    ]
    nodes[0] = nodes[0].replace(b"/Parent 1 0 R ", b"")
    return raw([CATALOG, *nodes, LEAF.replace(b"2 0 R", b"%d 0 R" % (levels - 1))])


def tree_loop() -> bytes:
    """A page tree that holds itself."""
    made = plain()
    made.Root.Pages.Kids = Array([made.Root.Pages, made.Root.Pages])
    return saved(made)


def deep_array() -> bytes:
    """An array of a hundred thousand arrays in one another."""
    deep = b"[" * 100_000 + b"]" * 100_000
    return raw([CATALOG, TREE, LEAF.replace(b" >>", b" /X " + deep + b" >>")])


def table_loop() -> bytes:
    """A cross-reference table that names itself as the one before it."""
    return raw([CATALOG, TREE, LEAF], b"/Prev START")


def object_stream_loop() -> bytes:
    """An object stream that extends itself and holds its own number."""
    body = b"5 0 4 10 << /A 1 >> << /B 2 >>"
    made = plain()
    stream = made.make_indirect(Stream(made, body))
    stream.update({"/Type": Name.ObjStm, "/N": 2, "/First": 9})
    stream.Extends = stream
    made.Root.Loop = stream
    return saved(made)


def outline_loop() -> bytes:
    """Bookmarks that follow themselves."""
    made = plain()
    one = made.make_indirect(Dictionary(Title="a"))
    one.Next, one.First = one, one
    made.Root.Outlines = made.make_indirect(
        Dictionary(Type=Name.Outlines, First=one, Last=one, Count=1)
    )
    return saved(made)


def encrypted() -> bytes:
    """Locked with a password, and one that anybody opens but that is locked."""
    return saved(plain(), static_id=False, encryption=pikepdf.Encryption(owner="a", user="b"))


def encrypted_open() -> bytes:
    """Locked with an owner's password alone."""
    return saved(plain(), static_id=False, encryption=pikepdf.Encryption(owner="a", user=""))


def truncated() -> bytes:
    """Half a file."""
    data = saved(plain(pages=20))
    return data[: len(data) // 2]


def many_objects() -> bytes:
    """A million objects."""
    return raw([CATALOG, TREE, LEAF, *[b"<< /A 1 >>"] * 1_000_000])


def font_bomb() -> bytes:
    """A font program of 60 MB of noughts."""
    made = plain()
    program = Stream(made, b"")
    program.write(_packed(b"\0" * 1_000_000, 60), filter=Name.FlateDecode)
    font = Dictionary(
        Type=Name.Font, Subtype=Name.TrueType, BaseFont=Name("/A"), FirstChar=0, LastChar=0,
        Widths=Array([0]),
        FontDescriptor=Dictionary(
            Type=Name.FontDescriptor, FontName=Name("/A"), Flags=4,
            FontFile2=made.make_indirect(program),
        ),
    )  # fmt: skip
    made.pages[0].obj.Resources = Dictionary(Font=Dictionary(F=made.make_indirect(font)))
    made.pages[0].obj.Contents = made.make_stream(b"BT /F 1e6 Tf 0 0 Td (\0\0\0) Tj ET")
    return saved(made)


HOSTILE = (
    image_bomb, short_image_bomb, run_length_bomb, many_images, content_bomb, endless_drawing,
    recursive_form, doubling_forms, pattern_bomb, shading_bomb, million_letters, many_saves,
    huge_page, huge_unit, many_pages, pages_of_one, claimed_pages, deep_tree, tree_loop, deep_array,
    table_loop, object_stream_loop, outline_loop, encrypted, encrypted_open, truncated,
    many_objects, font_bomb,
)  # fmt: skip
