"""Harms to how a file is built: tags, content, boxes, what a printer is asked, remains."""

import io
import re

import pikepdf
from injecting import Work, each_page, kind, once
from marks import MM
from pikepdf import Array, Dictionary, Name
from sheets import Sheet


def _box(name: str, says: str, shrink: dict[str, float]) -> None:
    def harm(work: Work, page: int) -> None:
        wanted = work.manifest.pages[page]
        w, h = wanted.width_mm * MM, wanted.height_mm * MM
        for key, mm in shrink.items():
            edge = round(mm * MM, 2)
            work.pdf.pages[page][f"/{key}"] = Array(
                [edge, edge, round(w - edge, 2), round(h - edge, 2)]
            )

    kind(name, says, each_page)(harm)


_box("trim-box", "a page's trim box is 5 mm smaller on each side", {"TrimBox": 5})
_box("bleed-box", "a page's bleed box is 5 mm smaller on each side", {"BleedBox": 5})
_box("art-box", "a page's art box is 30 mm smaller on each side", {"ArtBox": 30})
_box("crop-box-2", "a page's crop box is 2 mm smaller on each side", {"CropBox": 2})


@kind("boxes-moved", "a page's boxes begin 3 mm beside its print", each_page)
def boxes_moved(work: Work, page: int) -> None:
    """Media, crop, bleed and trim box alike: the size stays, the print moves."""
    wanted = work.manifest.pages[page]
    left = 3 * MM
    sheet = [round(v, 2) for v in (left, 0, left + wanted.width_mm * MM, wanted.height_mm * MM)]
    for name in ("MediaBox", "CropBox", "BleedBox", "TrimBox"):
        work.pdf.pages[page][f"/{name}"] = Array(sheet)


@kind("page-rotated-270", "a page has a Rotate of 270 degrees", each_page)
def page_rotated_270(work: Work, page: int) -> None:
    """ISO 32000-1, 7.7.3.3."""
    work.pdf.pages[page].Rotate = 270


@kind("pages-turned", "all pages inherit a Rotate of 180 degrees", once)
def pages_turned(work: Work, place: None) -> None:
    """Set at the root of the page tree."""
    work.pdf.Root.Pages.Rotate = 180


@kind("user-unit-small", "a page's unit is 0.98 points", each_page)
def user_unit_small(work: Work, page: int) -> None:
    """Everything prints 2 % smaller (ISO 32000-1, 14.11.1)."""
    work.pdf.pages[page].UserUnit = 0.98


def _sheets(work: Work) -> list[Sheet]:
    return work.sheets


def _with_texts(work: Work) -> list[Sheet]:
    return [s for s in work.sheets if any(s is sheet for sheet, _, _ in work.required)]


@kind("stream-appended", "a second stream of content follows a page's own", _with_texts)
def stream_appended(work: Work, sheet: Sheet) -> None:
    """A white box over the page's last text, as an editor's redaction adds it."""
    block = [b for s, b, _ in work.required if s is sheet][-1]
    sheet.write()
    added = work.pdf.make_stream(f"q 1 g {block.box.grown(0.5).said} re f Q".encode())
    sheet.page.Contents = Array([sheet.page.Contents, added])
    sheet.write = lambda: None  # type: ignore[method-assign]


@kind("stream-lost", "a page's content breaks off in the middle", _sheets)
def stream_lost(work: Work, sheet: Sheet) -> None:
    """The second half of its text objects is gone."""
    middle = sheet.blocks[len(sheet.blocks) // 2].first
    sheet.remove(middle, len(sheet.steps) - 1)
    depth = sum({"q": 1, "Q": -1}.get(str(s.operator), 0) for s in sheet.steps if s is not None)
    opened = sum(
        {"BMC": 1, "BDC": 1, "EMC": -1}.get(str(s.operator), 0)
        for s in sheet.steps
        if s is not None
    )
    for _ in range(opened):
        sheet.on_top.extend(_parsed("EMC"))
    for _ in range(depth):
        sheet.on_top.extend(_parsed("Q"))


def _parsed(operators: str) -> list[pikepdf.ContentStreamInstruction]:
    holder = pikepdf.new()
    return list(pikepdf.parse_content_stream(holder.make_stream(operators.encode())))


# What a printer and a viewer are asked


def _preferences(name: str, says: str, **entries: object) -> None:
    def harm(work: Work, place: None) -> None:
        for key, value in entries.items():
            work.pdf.Root.ViewerPreferences[f"/{key}"] = value

    kind(name, says, once)(harm)


_preferences("scaling-to-fit", "viewers are asked for their own scaling",
             PrintScaling=Name.AppDefault)  # fmt: skip
_preferences("copies-asked", "the file asks for five copies", NumCopies=5)
_preferences("range-asked", "the file asks to print its first page only",
             PrintPageRange=Array([1, 1]))  # fmt: skip


def _two_sided(work: Work) -> list[None]:
    return [None] if "/Duplex" in work.pdf.Root.ViewerPreferences else []


@kind("duplex-other-edge", "the file asks to be turned over another edge", _two_sided)
def duplex_other_edge(work: Work, place: None) -> None:
    """The back would stand on its head."""
    asked = work.pdf.Root.ViewerPreferences
    short = asked.Duplex == Name.DuplexFlipShortEdge
    asked.Duplex = Name.DuplexFlipLongEdge if short else Name.DuplexFlipShortEdge


@kind("duplex-lost", "the file no longer asks for two-sided print", _two_sided)
def duplex_lost(work: Work, place: None) -> None:
    """The entry is gone."""
    del work.pdf.Root.ViewerPreferences["/Duplex"]


def _one_sided(work: Work) -> list[None]:
    return [] if _two_sided(work) else [None]


@kind("duplex-added", "a one-sided file asks for two-sided print", _one_sided)
def duplex_added(work: Work, place: None) -> None:
    """The second sheet of labels would be printed on the back of the first."""
    work.pdf.Root.ViewerPreferences.Duplex = Name.DuplexFlipLongEdge


# Tags


def _tagged(work: Work) -> list[None]:
    return [None] if "/StructTreeRoot" in work.pdf.Root else []


def _elements(work: Work) -> list[pikepdf.Object]:
    found: list[pikepdf.Object] = []

    def walk(node: pikepdf.Object) -> None:
        if isinstance(node, Array):
            for kid in node:
                walk(kid)
        elif isinstance(node, Dictionary) and "/S" in node:
            found.append(node)
            walk(node.get("/K", Array([])))

    if "/StructTreeRoot" in work.pdf.Root:
        walk(work.pdf.Root.StructTreeRoot.get("/K", Array([])))
    return found


def _numbered(work: Work, *names: str) -> list[int]:
    return [n for n, e in enumerate(_elements(work)) if str(e.S) in names]


@kind("tags-lost", "a leaflet has lost its tags", _tagged)
def tags_lost(work: Work, place: None) -> None:
    """Neither structure tree nor mark."""
    del work.pdf.Root["/StructTreeRoot"]
    del work.pdf.Root["/MarkInfo"]


@kind("tags-not-marked", "a leaflet doesn't say that it is tagged", _tagged)
def tags_not_marked(work: Work, place: None) -> None:
    """MarkInfo is gone."""
    del work.pdf.Root["/MarkInfo"]


@kind("language-other", "a file's language tag says another language", once)
def language_other(work: Work, place: None) -> None:
    """Norwegian, in the catalog and at the root of the tags: a voice would mispronounce it."""
    work.pdf.Root.Lang = pikepdf.String("nb")
    for element in _elements(work)[:1]:
        element.Lang = pikepdf.String("nb")


@kind("language-lost", "a file doesn't say its language", once)
def language_lost(work: Work, place: None) -> None:
    """In the catalog and at the root of the tags."""
    del work.pdf.Root["/Lang"]
    for element in _elements(work)[:1]:
        if "/Lang" in element:
            del element["/Lang"]


@kind("alternative-lost", "a picture has lost the words that stand for it",
      lambda work: [n for n, e in enumerate(_elements(work)) if "/Alt" in e])  # fmt: skip
def alternative_lost(work: Work, number: int) -> None:
    """Alt is gone from a figure."""
    del _elements(work)[number]["/Alt"]


def _parents(work: Work) -> list[int]:
    """Elements with several elements in them."""
    found = []
    for number, element in enumerate(_elements(work)):
        kids = element.get("/K")
        several = isinstance(kids, Array) and len(kids) > 1
        if several and all(isinstance(k, Dictionary) and "/S" in k for k in kids):
            found.append(number)
    return found


@kind("tags-reversed", "parts of a leaflet are read in another order than they stand", _parents)
def tags_reversed(work: Work, number: int) -> None:
    """The kids of one element the other way round: a screen reader follows them."""
    element = _elements(work)[number]
    element.K = Array(list(reversed(list(element.K))))


@kind("heading-untagged", "a heading of a leaflet is tagged as a paragraph",
      lambda work: _numbered(work, "/H1", "/H2"))  # fmt: skip
def heading_untagged(work: Work, number: int) -> None:
    """H2 becomes P."""
    _elements(work)[number].S = Name.P


@kind("tag-emptied", "a paragraph of a leaflet has no content in the tags",
      lambda work: _numbered(work, "/P", "/LBody"))  # fmt: skip
def tag_emptied(work: Work, number: int) -> None:
    """Its text is on the page and nobody reads it out."""
    element = _elements(work)[number]
    if "/K" in element:
        del element["/K"]


@kind("tag-told-otherwise", "read aloud, a paragraph of a leaflet says something else",
      lambda work: _numbered(work, "/P", "/LBody"))  # fmt: skip
def tag_told_otherwise(work: Work, number: int) -> None:
    """ActualText of its element."""
    _elements(work)[number].ActualText = pikepdf.String("Take two.")


@kind("title-not-shown", "a viewer shows a leaflet's file name, not its title", _tagged)
def title_not_shown(work: Work, place: None) -> None:
    """DisplayDocTitle is gone."""
    del work.pdf.Root.ViewerPreferences["/DisplayDocTitle"]


@kind("title-other", "the title is another file's", once)
def title_other(work: Work, place: None) -> None:
    """In the information and in the XMP metadata."""
    work.pdf.docinfo["/Title"] = "Untitled"
    with work.pdf.open_metadata(set_pikepdf_as_editor=False) as metadata:
        metadata["dc:title"] = "Untitled"


# Remains and additions


def _secret(work: Work) -> list[str]:
    return [s for s in work.manifest.secrets if s.strip()][:1]


@kind("patient-in-bookmark", "a bookmark names the patient", _secret)
def patient_in_bookmark(work: Work, secret: str) -> None:
    """Beside those that are there."""
    with work.pdf.open_outline() as outline:
        outline.root.append(pikepdf.OutlineItem(f"Label for {secret}", 0))


@kind("patient-in-private-data", "private data of a program name the patient", _secret)
def patient_in_private_data(work: Work, secret: str) -> None:
    """PieceInfo of the first page (ISO 32000-1, 14.5)."""
    held = Dictionary(LastModified=pikepdf.String("D:20261125"), Private=pikepdf.String(secret))
    work.pdf.pages[0].PieceInfo = Dictionary(Harm=held)


@kind("patient-in-page-metadata", "a page's own metadata name the patient", _secret)
def patient_in_page_metadata(work: Work, secret: str) -> None:
    """A metadata stream of the page."""
    said = f"<x:xmpmeta xmlns:x='adobe:ns:meta/'>{secret}</x:xmpmeta>"
    work.pdf.pages[0].Metadata = work.pdf.make_stream(
        said.encode(), Type=Name.Metadata, Subtype=Name.XML
    )


@kind("patient-in-own-entry", "an entry of the information of one's own names the patient",
      _secret)  # fmt: skip
def patient_in_own_entry(work: Work, secret: str) -> None:
    """``/Patient``."""
    work.pdf.docinfo["/Patient"] = secret


@kind("patient-in-comment", "a comment of the file names the patient", _secret)
def patient_in_comment(work: Work, secret: str) -> None:
    """Behind the end of the file."""
    work.last.append(lambda made: made + f"% {secret}\n".encode())


@kind("patient-in-layer-name", "a layer's name names the patient", _secret)
def patient_in_layer_name(work: Work, secret: str) -> None:
    """A layer that nothing uses."""
    layer = work.pdf.make_indirect(Dictionary(Type=Name.OCG, Name=pikepdf.String(secret)))
    work.pdf.Root.OCProperties = Dictionary(OCGs=[layer], D=Dictionary(Order=[layer]))


def _updated(old: bytes, new: bytes) -> bytes:
    """`new` as an incremental update of `old`: its objects under new numbers (7.5.6)."""
    with pikepdf.open(io.BytesIO(old)) as first:
        size = len(first.objects) + 1
    with pikepdf.open(io.BytesIO(new)) as second:
        count = len(second.objects)
        written = io.BytesIO()
        second.save(written, object_stream_mode=pikepdf.ObjectStreamMode.disable,
                    deterministic_id=True)  # fmt: skip
    body = written.getvalue()
    start = re.search(rb"startxref\s+(\d+)\s+%%EOF\s*$", old)
    assert start is not None
    table, offsets = b"", {}
    for number, said in _objects(body).items():
        renamed = re.sub(
            rb"(?<![\w/])(\d+) 0 R\b", lambda m: b"%d 0 R" % (int(m[1]) + size), said[0]
        )
        offsets[number + size] = len(old) + len(table)
        table += b"%d 0 obj\n" % (number + size) + renamed + said[1] + b"\nendobj\n"
    at = len(old) + len(table)
    table += b"xref\n0 1\n0000000000 65535 f \n"
    for number in sorted(offsets):
        table += b"%d 1\n%010d 00000 n \n" % (number, offsets[number])
    trailer = re.search(rb"trailer\s*<<(.*?)>>\s*startxref", body, re.S)
    assert trailer is not None
    root = re.search(rb"/Root (\d+) 0 R", trailer[1])
    info = re.search(rb"/Info (\d+) 0 R", trailer[1])
    assert root is not None
    table += b"trailer\n<< /Size %d /Root %d 0 R " % (size + count + 1, int(root[1]) + size)
    if info is not None:
        table += b"/Info %d 0 R " % (int(info[1]) + size)
    table += b"/Prev %d >>\nstartxref\n%d\n%%%%EOF\n" % (int(start[1]), at)
    return old + table


def _objects(body: bytes) -> dict[int, tuple[bytes, bytes]]:
    """Objects of a file by number: dictionary or value, and the stream behind it."""
    found = {}
    for hit in re.finditer(rb"(?:^|\n)(\d+) 0 obj\n(.*?)\nendobj", body, re.S):
        said, stream, data = hit[2].partition(b"stream\n")
        found[int(hit[1])] = (said, stream + data)
    return found


@kind("older-version-beneath", "under the right file lies an older version with another lot",
      lambda work: work.other_files)  # fmt: skip
def older_version_beneath(work: Work, other: bytes) -> None:
    """Another patient's or lot's file, updated to this one: what it said is still there."""
    work.last.append(lambda made: _updated(other, made))


@kind("older-version-restored", "an update brings back another file's pages",
      lambda work: work.other_files)  # fmt: skip
def older_version_restored(work: Work, other: bytes) -> None:
    """This file, updated to another one."""
    work.last.append(lambda made: _updated(made, other))


@kind("locked", "the file is encrypted", once)
def locked(work: Work, place: None) -> None:
    """Opened without a password, printed only coarsely."""
    work.how["encryption"] = pikepdf.Encryption(
        owner="harm", user="", allow=pikepdf.Permissions(print_highres=False)
    )
    work.how["deterministic_id"] = False


@kind("locked-with-password", "the file opens with a password only", once)
def locked_with_password(work: Work, place: None) -> None:
    """A user password."""
    work.how["encryption"] = pikepdf.Encryption(owner="harm", user="harm")
    work.how["deterministic_id"] = False


@kind("cut-short", "the last tenth of the file is missing", once)
def cut_short(work: Work, place: None) -> None:
    """As after a full disk."""
    work.last.append(lambda made: made[: len(made) * 9 // 10])


@kind("print-on-opening", "the file prints itself when it is opened", once)
def print_on_opening(work: Work, place: None) -> None:
    """A named action."""
    work.pdf.Root.OpenAction = Dictionary(S=Name.Named, N=Name.Print)


@kind("opens-zoomed", "the file opens at a page and zoom of its own", once)
def opens_zoomed(work: Work, place: None) -> None:
    """A destination as OpenAction."""
    work.pdf.Root.OpenAction = Array([work.pdf.pages[-1].obj, Name.XYZ, 0, 0, 4])


def _noted(work: Work, page: int, **entries: object) -> None:
    note = Dictionary(Type=Name.Annot, Rect=[60, 60, 160, 90], F=4, **entries)
    work.pdf.pages[page].Annots = Array([work.pdf.make_indirect(note)])


@kind("note-typed", "a typed note stands on a page", each_page)
def note_typed(work: Work, page: int) -> None:
    """A free text annotation, printed with the page."""
    _noted(work, page, Subtype=Name.FreeText, Contents=pikepdf.String("Take two"),
           DA=pikepdf.String("/Helv 10 Tf 0 g"))  # fmt: skip


@kind("note-drawn", "a pen's stroke lies on a page", each_page)
def note_drawn(work: Work, page: int) -> None:
    """An ink annotation."""
    _noted(work, page, Subtype=Name.Ink, InkList=Array([Array([60, 60, 160, 90])]))


@kind("media", "a page plays a film", each_page)
def media(work: Work, page: int) -> None:
    """A rich media annotation."""
    _noted(work, page, Subtype=Name.RichMedia)


@kind("link-to-file", "a page leads to another file", each_page)
def link_to_file(work: Work, page: int) -> None:
    """A remote go-to action."""
    action = Dictionary(S=Name.GoToR, F=pikepdf.String("other.pdf"), D=Array([0, Name.Fit]))
    _noted(work, page, Subtype=Name.Link, A=action)


@kind("form-of-xml", "the file holds a form of XML", once)
def form_of_xml(work: Work, place: None) -> None:
    """XFA without fields."""
    held = work.pdf.make_stream(b"<xdp:xdp xmlns:xdp='http://ns.adobe.com/xdp/'/>")
    work.pdf.Root.AcroForm = Dictionary(Fields=Array([]), XFA=held)


@kind("file-associated", "a page is associated with another file", each_page)
def file_associated(work: Work, page: int) -> None:
    """AF, without an annotation (ISO 32000-2, 14.13)."""
    held = pikepdf.AttachedFileSpec(work.pdf, b"harm", filename="harm.txt")
    work.pdf.pages[page].AF = Array([held.obj])


@kind("collection", "the file is a portfolio of files", once)
def collection(work: Work, place: None) -> None:
    """A Collection with a file in it."""
    work.pdf.attachments["harm.pdf"] = b"harm"
    work.pdf.Root.Collection = Dictionary(Type=Name.Collection, View=Name.T)


@kind("thumbnail", "a page carries a small picture of another", each_page)
def thumbnail(work: Work, page: int) -> None:
    """Thumb: what a file browser shows (ISO 32000-1, 12.3.4)."""
    work.pdf.pages[page].Thumb = work.pdf.make_stream(
        b"\x00" * 64, Width=8, Height=8, BitsPerComponent=8, ColorSpace=Name.DeviceGray
    )


@kind("page-flipping", "a page turns by itself", each_page)
def page_flipping(work: Work, page: int) -> None:
    """A duration of two seconds, as in a slide show."""
    work.pdf.pages[page].Dur = 2
