"""Harms to what is read aloud and shown besides the print: tags, languages, titles."""

import pikepdf
from injecting import Work, kind, once
from pikepdf import Array, Dictionary, Name


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
