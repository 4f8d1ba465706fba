"""SVG bytes to an element tree that is safe to walk: no outside references, bounded in every way.

Input: bytes. Output: the root element, plain tag names, an index of ids and the style rules.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING
from xml.etree.ElementTree import ParseError

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring

from firstpiece.errors import PictureError
from firstpiece.files.vector_style import Rule, parse_rules

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

LARGEST_BYTES = 20_000_000
MOST_ELEMENTS = 100_000
DEEPEST = 64

_DOCTYPE = re.compile(r"<!DOCTYPE[^>\[]*(?:\[(?P<subset>[^\]]*)\]\s*)?>")
_ENTITY = re.compile(r"<!ENTITY\s+([\w.-]+)\s+(?:\"([^\"%&<]{0,200})\"|'([^'%&<]{0,200})')\s*>")
_HARMLESS = re.compile(r"<!--.*?-->|<!(?:ATTLIST|ELEMENT|NOTATION)\s[^>%&]*>", re.DOTALL)
_XML_HEAD = re.compile(rb"^\s*<\?xml[^>]*encoding\s*=\s*[\"']([\w.-]+)[\"']")


@dataclass(frozen=True, slots=True, eq=False)
class VectorDocument:
    """A parsed drawing.

    Parameters
    ----------
    root : Element
        The ``svg`` element.
    by_id : dict of str to Element
        First element of each id.
    rules : tuple of Rule
        Style rules, weakest first.
    """

    root: Element
    by_id: dict[str, Element]
    rules: tuple[Rule, ...]


def parse_document(data: bytes, *, name: str) -> VectorDocument:
    """Return the document.

    Raises
    ------
    PictureError
        When the bytes are not SVG, refer to anything outside, or are too large or too deep.
    """
    if len(data) > LARGEST_BYTES:
        raise too_detailed(name)
    try:
        root = fromstring(_without_doctype(_decode(data), name), forbid_dtd=True)
    except DefusedXmlException as fault:
        what = _("the drawing defines or fetches things outside itself, which is not allowed")
        raise PictureError(what, where=name, remedy=_("save it as plain SVG")) from fault
    except (ParseError, ValueError, LookupError, RecursionError) as fault:
        what = _("the drawing is damaged or cut short")
        raise PictureError(what, where=name, remedy=_("save it again as plain SVG")) from fault
    if tag_of(root) != "svg":
        what = _("this is not an SVG drawing")
        raise PictureError(what, where=name, remedy=_("send a PNG, JPEG, WebP or SVG"))
    return _index(root, name)


def tag_of(element: Element) -> str:
    """Return the element's name without its namespace; empty for comments."""
    return element.tag.rsplit("}", 1)[-1] if isinstance(element.tag, str) else ""


def href_of(element: Element) -> str:
    """Return the id an element refers to inside the document, or an empty string."""
    for key, value in element.attrib.items():
        if key.rsplit("}", 1)[-1] == "href" and value.startswith("#"):
            return value[1:]
    return ""


def too_detailed(name: str) -> PictureError:
    """Return the error for a drawing beyond the limits."""
    what = _("the drawing has too many parts to sew")
    return PictureError(what, where=name, remedy=_("simplify it or send it as PNG"))


def _decode(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16")
    head = _XML_HEAD.match(data.removeprefix(b"\xef\xbb\xbf"))
    encoding = head[1].decode("ascii") if head else "utf-8"
    return data.removeprefix(b"\xef\xbb\xbf").decode(encoding)


def _without_doctype(text: str, name: str) -> str:
    """Drop the document type; short literal entities (drawing programs write them) are put in.

    What is left goes to the parser with every document type forbidden.
    """
    text = re.sub(r"^\s*<\?xml[^>]*\?>", "", text)
    match = _DOCTYPE.search(text)
    if match is None:
        return text
    subset = match["subset"] or ""
    text = text[: match.start()] + text[match.end() :]
    if not subset.strip():
        return text
    values = {m[1]: m[2] if m[2] is not None else m[3] for m in _ENTITY.finditer(subset)}
    # Anything but literal entities and grammar (outside files, nesting) is refused.
    if _HARMLESS.sub("", _ENTITY.sub("", subset)).strip():
        what = _("the drawing defines or fetches things outside itself, which is not allowed")
        raise PictureError(what, where=name, remedy=_("save it as plain SVG"))
    return re.sub(r"&([\w.-]+);", lambda m: values.get(m[1], m[0]), text)


def _index(root: Element, name: str) -> VectorDocument:
    by_id: dict[str, Element] = {}
    sheets: list[str] = []
    pending = [(root, 1)]
    count = 0
    while pending:
        element, depth = pending.pop()
        count += 1
        if count > MOST_ELEMENTS or depth > DEEPEST:
            raise too_detailed(name)
        if identity := element.get("id"):
            by_id.setdefault(identity, element)
        if tag_of(element) == "style":
            sheets.append("".join(element.itertext()))
        pending += [(child, depth + 1) for child in reversed(element)]
    return VectorDocument(root, by_id, parse_rules("\n".join(sheets)))
