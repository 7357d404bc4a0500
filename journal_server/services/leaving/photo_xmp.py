"""What a photo shows, as an XMP packet (ISO 16684-1): fields of Dublin Core and of the IPTC photo metadata standard.

Written: dc:title, dc:description, dc:subject, dc:date, photoshop:DateCreated, alt text, event (the trial) and image
id; the location only where it was asked for. Left out: creator, credit and rights, which the journal does not know;
persons; the digital source type, as a file may be a scan or a drawing for all the journal can tell. The names of the
fields are from memory of the standard; the tests hold each against exiftool.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from xml.sax.saxutils import escape

_NAMESPACES = {
    "dc": "http://purl.org/dc/elements/1.1/",
    "photoshop": "http://ns.adobe.com/photoshop/1.0/",
    "Iptc4xmpCore": "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/",
    "Iptc4xmpExt": "http://iptc.org/std/Iptc4xmpExt/2008-02-29/",
}
_NOT_IN_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""XML 1.0, production 2."""


@dataclass(frozen=True)
class PhotoWords:
    """What is written into one photo. ``taken_at`` is ISO 8601; ``place`` only where it was asked for."""

    title: str
    description: str
    alt_text: str
    keywords: tuple[str, ...]
    taken_at: str | None
    event: str | None
    event_id: str | None
    image_id: str
    place: str | None = None


def xmp_packet(words: PhotoWords) -> bytes:
    """The packet as UTF-8; every text is escaped, whatever it holds."""
    fields = [
        _simple("dc:format", "image/jpeg"),
        _in_language("dc:title", words.title),
        _in_language("dc:description", words.description),
        _list("dc:subject", "Bag", words.keywords),
        _in_language("Iptc4xmpCore:AltTextAccessibility", words.alt_text),
        _simple("Iptc4xmpExt:DigImageGUID", words.image_id),
    ]
    if words.taken_at:
        fields += [_list("dc:date", "Seq", [words.taken_at]), _simple("photoshop:DateCreated", words.taken_at)]
    if words.event and words.event_id:
        fields += [
            _in_language("Iptc4xmpExt:Event", words.event),
            _list("Iptc4xmpExt:EventId", "Bag", [words.event_id]),
        ]
    if words.place:
        fields += [
            _simple("Iptc4xmpCore:Location", words.place),
            "<Iptc4xmpExt:LocationCreated><rdf:Bag><rdf:li rdf:parseType='Resource'>"
            + _simple("Iptc4xmpExt:Sublocation", words.place)
            + "</rdf:li></rdf:Bag></Iptc4xmpExt:LocationCreated>",
        ]
    named = " ".join(f'xmlns:{short}="{full}"' for short, full in _NAMESPACES.items())
    packet = (
        '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n'
        '<x:xmpmeta xmlns:x="adobe:ns:meta/">'
        '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">\n'
        f'<rdf:Description rdf:about="" {named}>\n' + "\n".join(fields) + "\n</rdf:Description>\n"
        '</rdf:RDF></x:xmpmeta>\n<?xpacket end="w"?>'
    )
    return packet.encode("utf-8")


def _simple(name: str, text: str) -> str:
    return f"<{name}>{_text(text)}</{name}>"


def _in_language(name: str, text: str) -> str:
    return f'<{name}><rdf:Alt><rdf:li xml:lang="x-default">{_text(text)}</rdf:li></rdf:Alt></{name}>'


def _list(name: str, kind: str, texts: Iterable[str]) -> str:
    entries = "".join(f"<rdf:li>{_text(text)}</rdf:li>" for text in texts)
    return f"<{name}><rdf:{kind}>{entries}</rdf:{kind}></{name}>"


def _text(text: str) -> str:
    return escape(_NOT_IN_XML.sub("", text))
