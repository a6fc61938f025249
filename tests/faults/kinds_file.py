"""Harms to the file around the pages: fonts, scripts, links, attachments, metadata."""

import pikepdf
from injecting import Work, each_page, kind, once
from kinds_words import digits
from marks import Glyph
from pikepdf import Array, Dictionary, Name
from sheets import Sheet


def _fonts(work: Work) -> list[str]:
    """Fonts in which a required text is set; every page of a file has the same."""
    glyphs = [g for _, block, _ in work.required for g in block.glyphs]
    return sorted({glyph.font for glyph in glyphs if glyph.text.isalnum()})


@kind("font-not-embedded", "a font isn't embedded", _fonts)
def font_not_embedded(work: Work, font: str) -> None:
    """The font file is taken from its descriptor."""
    descriptor = work.pdf.pages[0].Resources.Font[font].DescendantFonts[0].FontDescriptor
    for key in ("/FontFile2", "/FontFile3", "/FontFile"):
        if key in descriptor:
            del descriptor[key]


@kind("font-without-text", "a font's characters can't be read back as text", _fonts)
def font_without_text(work: Work, font: str) -> None:
    """Its ToUnicode map is gone."""
    del work.pdf.pages[0].Resources.Font[font]["/ToUnicode"]


@kind("digit-drawn-as-another", "a font draws two digits as each other, their text unchanged",
      digits("fact:lot", "fact:strength", "fact:beyond_use"))  # fmt: skip
def digit_drawn_as_another(work: Work, target: tuple[Sheet, Glyph, int]) -> None:
    """Two digits trade glyphs behind their codes: extraction can't see it, the eye can."""
    sheet, glyph, other = target
    font = sheet.page.Resources.Font[glyph.font].DescendantFonts[0]
    to_gid = bytearray(font.CIDToGIDMap.read_bytes())
    one, two = slice(2 * glyph.cid, 2 * glyph.cid + 2), slice(2 * other, 2 * other + 2)
    to_gid[one], to_gid[two] = to_gid[two], to_gid[one]
    font.CIDToGIDMap = work.pdf.make_stream(bytes(to_gid))


def _script(work: Work) -> pikepdf.Object:
    return work.pdf.make_indirect(
        Dictionary(S=Name.JavaScript, JS=pikepdf.String("app.alert('harm')"))
    )


@kind("script-on-opening", "a script runs when the file is opened", once)
def script_on_opening(work: Work, place: None) -> None:
    """OpenAction."""
    work.pdf.Root.OpenAction = _script(work)


@kind("script-by-name", "the file holds a named script", once)
def script_by_name(work: Work, place: None) -> None:
    """Names tree of scripts."""
    work.pdf.Root.Names = Dictionary(
        JavaScript=Dictionary(Names=Array([pikepdf.String("harm"), _script(work)]))
    )


@kind("script-on-page", "a script runs when a page is shown", each_page)
def script_on_page(work: Work, page: int) -> None:
    """Additional action O."""
    work.pdf.pages[page].AA = Dictionary(O=_script(work))


@kind("script-on-printing", "a script runs before printing", once)
def script_on_printing(work: Work, place: None) -> None:
    """Additional action WP of the catalog."""
    work.pdf.Root.AA = Dictionary(WP=_script(work))


def _noted(work: Work, page: int, note: Dictionary) -> None:
    work.pdf.pages[page].Annots = Array([work.pdf.make_indirect(note)])


@kind("link", "a page has a link nobody asked for", each_page)
def link(work: Work, page: int) -> None:
    """To an address."""
    action = Dictionary(S=Name.URI, URI=pikepdf.String("https://www.example.org/elsewhere"))
    _noted(work, page, Dictionary(Type=Name.Annot, Subtype=Name.Link, Rect=[9, 9, 99, 99],
                                  A=action))  # fmt: skip


@kind("launch", "a page has an area that starts a program", each_page)
def launch(work: Work, page: int) -> None:
    """A Launch action."""
    action = Dictionary(S=Name.Launch, F=pikepdf.String("harm"))
    _noted(work, page, Dictionary(Type=Name.Annot, Subtype=Name.Link, Rect=[9, 9, 99, 99],
                                  A=action))  # fmt: skip


@kind("form-field", "a page has a field to type in", each_page)
def form_field(work: Work, page: int) -> None:
    """A text field with a value."""
    note = work.pdf.make_indirect(
        Dictionary(Type=Name.Annot, Subtype=Name.Widget, FT=Name.Tx, T=pikepdf.String("harm"),
                   V=pikepdf.String("50 mg"), Rect=[50, 50, 150, 70], F=4)
    )  # fmt: skip
    work.pdf.pages[page].Annots = Array([note])
    work.pdf.Root.AcroForm = Dictionary(Fields=Array([note]), NeedAppearances=True)


@kind("attachment", "the file carries another file", once)
def attachment(work: Work, place: None) -> None:
    """An embedded file in the names tree."""
    work.pdf.attachments["harm.txt"] = b"harm"


@kind("attachment-on-page", "a page carries another file", each_page)
def attachment_on_page(work: Work, page: int) -> None:
    """A file attachment annotation."""
    held = pikepdf.AttachedFileSpec(work.pdf, b"harm", filename="harm.txt")
    _noted(work, page, Dictionary(Type=Name.Annot, Subtype=Name.FileAttachment,
                                  Rect=[9, 9, 29, 29], FS=held.obj))  # fmt: skip


def _secrets(work: Work) -> list[str]:
    return [secret for secret in work.manifest.secrets if secret.strip()]


@kind("patient-in-information", "the document information names the patient", _secrets)
def patient_in_information(work: Work, secret: str) -> None:
    """Subject entry."""
    work.pdf.docinfo["/Subject"] = f"Label for {secret}"


@kind("patient-in-keywords", "the keywords name the patient, in capitals", _secrets)
def patient_in_keywords(work: Work, secret: str) -> None:
    """Keywords entry, upper case."""
    work.pdf.docinfo["/Keywords"] = f"label, {secret.upper()}"


@kind("patient-in-xmp", "the XMP metadata name the patient", _secrets)
def patient_in_xmp(work: Work, secret: str) -> None:
    """dc:description."""
    with work.pdf.open_metadata(set_pikepdf_as_editor=False) as metadata:
        metadata["dc:description"] = f"Label for {secret}"


@kind("patient-in-title", "the title names the patient", _secrets)
def patient_in_title(work: Work, secret: str) -> None:
    """Title entry, behind the title that was there."""
    title = str(work.pdf.docinfo.get("/Title", ""))
    work.pdf.docinfo["/Title"] = f"{title} {secret}"


@kind("scaling-allowed", "viewers may scale the file when printing", once)
def scaling_allowed(work: Work, place: None) -> None:
    """The PrintScaling preference is gone."""
    del work.pdf.Root.ViewerPreferences["/PrintScaling"]
