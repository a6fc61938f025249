"""What the file says of itself: title, language, producer. No date, nothing of a patient."""

from html import escape

PRODUCER = "labelkit"


def xmp(title: str, language: str) -> bytes:
    """The metadata packet (ISO 16684-1; ISO 32000-1, 14.3.2)."""
    said = (
        '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n'
        '<x:xmpmeta xmlns:x="adobe:ns:meta/">\n'
        '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">\n'
        '<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"'
        ' xmlns:pdf="http://ns.adobe.com/pdf/1.3/">\n'
        "<dc:title><rdf:Alt>"
        f'<rdf:li xml:lang="x-default">{escape(title, quote=False)}</rdf:li>'
        "</rdf:Alt></dc:title>\n"
        "<dc:language><rdf:Bag>"
        f"<rdf:li>{escape(language, quote=False)}</rdf:li></rdf:Bag></dc:language>\n"
        f"<pdf:Producer>{PRODUCER}</pdf:Producer>\n"
        "</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n"
        '<?xpacket end="w"?>'
    )
    return said.encode("utf-8")
