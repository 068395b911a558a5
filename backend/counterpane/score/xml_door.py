"""The door for XML: what a hostile or damaged file could do is stopped here.

Entity declarations, external references and runaway nesting are refused; a plain DOCTYPE, which MusicXML
files carry by convention, is read past and never fetched.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element, TreeBuilder

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import DefusedXMLParser, ParseError, fromstring

from counterpane.errors import UnreadableScore
from counterpane.score import limits

XML_ID = "{http://www.w3.org/XML/1998/namespace}id"


class _TooDeep(Exception):
    """Elements lie deeper inside each other than any notation needs."""


class _ShallowBuilder(TreeBuilder):
    """Builds a tree without namespaces and comments, and stops at `limits.NESTING`."""

    def __init__(self) -> None:
        super().__init__()
        self._depth = 0

    def start(self, tag: str, attrs: dict[str, str]) -> Element:
        self._depth += 1
        if self._depth > limits.NESTING:
            raise _TooDeep
        return super().start(local_name(tag), attrs)

    def end(self, tag: str) -> Element:
        self._depth -= 1
        return super().end(local_name(tag))


def parse_own_xml(text: str) -> Element:
    """Parse XML that this program wrote itself, faster; tags lose their namespace."""
    root: Element = fromstring(text)
    for element in root.iter():
        if "}" in element.tag:
            element.tag = local_name(element.tag)
    return root


def local_name(tag: str) -> str:
    """Return a tag without its namespace."""
    return tag.rpartition("}")[2]


def parse_xml(data: bytes, name: str) -> Element:
    """Parse XML in any encoding that it declares; tags lose their namespace.

    Raises `UnreadableScore` when the XML is damaged (with the line) or dangerous.
    """
    parser = DefusedXMLParser(
        target=_ShallowBuilder(), forbid_dtd=False, forbid_entities=True, forbid_external=True
    )
    try:
        parser.feed(data)
        root = parser.close()
    except DefusedXmlException as error:
        raise UnreadableScore(
            "the XML declares entities or external files, which a score never needs; export it again from "
            "your notation program.",
            file=name,
        ) from error
    except _TooDeep as error:
        raise UnreadableScore(
            f"XML elements lie more than {limits.NESTING} deep inside each other, which no score does; export "
            "it again from your notation program.",
            file=name,
        ) from error
    except ParseError as error:
        line = error.position[0]
        raise UnreadableScore(
            f"the XML is damaged at line {line}; export the score again, or copy it again if it was cut off.",
            file=name,
        ) from error
    except (LookupError, ValueError) as error:
        raise UnreadableScore(
            "the XML names a text encoding that cannot be read; export the score again as UTF-8.", file=name
        ) from error
    assert isinstance(root, Element)
    return root
