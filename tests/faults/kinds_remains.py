"""Harms by what a file keeps or holds besides its pages: secrets, older versions, notes, media."""

import io
import re

import pikepdf
from injecting import Work, each_page, kind, once
from pikepdf import Array, Dictionary, Name


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
