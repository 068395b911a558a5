"""Which format a file has, told from its content; the name only helps people who read the message."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from dataclasses import dataclass
from typing import Literal
from xml.etree.ElementTree import Element

from counterpane.errors import UnreadableScore, UnsuitableScore
from counterpane.score import limits
from counterpane.score.refusals import too_large
from counterpane.score.xml_door import parse_xml

Format = Literal["musicxml", "mei", "humdrum", "abc", "midi"]

KNOWN = "MusicXML (.musicxml, .mxl), MEI, Humdrum kern, ABC or MIDI"
_ROOTS: dict[str, Format] = {"score-partwise": "musicxml", "score-timewise": "musicxml", "mei": "mei"}
_ABC_KEY = re.compile(r"^K:", re.MULTILINE)
_ABC_FIELD = re.compile(r"^(X:\s*\d+|T:|M:|L:|V:|%abc)", re.MULTILINE)
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ufffe\uffff\ud800-\udfff]")
"""Characters that XML cannot hold, and so no score needs."""
_BYTE_ORDER_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}


@dataclass(frozen=True)
class Recognised:
    """A file's format, with its parsed XML or its text or its bytes, whichever the format is made of."""

    format: Format
    xml: Element | None = None
    text: str = ""
    data: bytes = b""


def recognise(data: bytes, name: str) -> Recognised:
    """Tell what `data` is. Raises `UnreadableScore` or `UnsuitableScore` when it is nothing to read."""
    if len(data) > limits.FILE_BYTES:
        raise too_large("the file has", limits.FILE_BYTES, name)
    if not data.strip(b"\0 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise UnreadableScore("the file is empty; save the score again and choose that file.", file=name)
    if data[:4] == b"MThd" or (data[:4] == b"RIFF" and data[8:12] == b"RMID"):
        return Recognised("midi", data=data)
    if data[:2] == b"PK":
        return _recognise_xml(_unpack(data, name), name)
    if _looks_like_xml(data):
        return _recognise_xml(data, name)
    return _recognise_text(_decode(data, name), name)


def _looks_like_xml(data: bytes) -> bool:
    head = data[:400].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    return head.startswith(b"<")


def _recognise_xml(data: bytes, name: str) -> Recognised:
    root = parse_xml(data, name)
    if root.tag == "opus":
        raise UnsuitableScore("the file lists several scores; bring in each of them on its own.", file=name)
    if root.tag not in _ROOTS:
        raise UnreadableScore(
            f"this is XML of another kind (<{root.tag[:40]}>), not a score; choose {KNOWN}.", file=name
        )
    return Recognised(_ROOTS[root.tag], xml=root)


def _recognise_text(text: str, name: str) -> Recognised:
    if re.search(r"^\*\*kern\b|\t\*\*kern\b", text, re.MULTILINE):
        return Recognised("humdrum", text=text)
    if text.lstrip().startswith(("!!!", "**")):
        raise UnsuitableScore(
            "this Humdrum file has no **kern spine, so no notes; choose one that has.", file=name
        )
    if _ABC_KEY.search(text) and _ABC_FIELD.search(text):
        return Recognised("abc", text=text)
    raise UnreadableScore(f"this is not a score in a format that can be read; choose {KNOWN}.", file=name)


def _decode(data: bytes, name: str) -> str:
    for mark, encoding in _BYTE_ORDER_MARKS.items():
        if data.startswith(mark):
            return _lines(data.decode(encoding, "replace"))
    if b"\0" in data[:4000]:
        raise UnreadableScore(f"this is not a score in a format that can be read; choose {KNOWN}.", file=name)
    try:
        return _lines(data.decode("utf-8"))
    except UnicodeDecodeError:
        # Old kern and ABC files carry Latin-1 names in their comments.
        return _lines(data.decode("latin-1"))


def _lines(text: str) -> str:
    return _CONTROL.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))


def _unpack(data: bytes, name: str) -> bytes:
    """Return the score inside a zip, never reading more than `limits.UNPACKED_BYTES`."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            member = _score_member(archive, name)
            return _read_member(archive, member, name)
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        OSError,
        NotImplementedError,  # what zipfile raises for a compression method it does not know
        ValueError,
        RuntimeError,
    ) as error:
        raise UnreadableScore(
            "the compressed score (.mxl) is damaged; save it again, or export it as uncompressed MusicXML.",
            file=name,
        ) from error


def _score_member(archive: zipfile.ZipFile, name: str) -> str:
    names = archive.namelist()
    if "META-INF/container.xml" in names:
        container = parse_xml(_read_member(archive, "META-INF/container.xml", name), name)
        for rootfile in container.iter("rootfile"):
            path = rootfile.get("full-path", "")
            if path in names:
                return path
    for path in names:
        if path.lower().endswith((".musicxml", ".xml", ".mei")) and not path.startswith("META-INF/"):
            return path
    raise UnreadableScore(
        "the zip holds no score; choose a compressed MusicXML file (.mxl) or the score itself.", file=name
    )


def _read_member(archive: zipfile.ZipFile, member: str, name: str) -> bytes:
    with archive.open(member) as stream:
        content = stream.read(limits.UNPACKED_BYTES + 1)
    if len(content) > limits.UNPACKED_BYTES:
        raise too_large("the score inside unpacks to", limits.UNPACKED_BYTES, name)
    return content
