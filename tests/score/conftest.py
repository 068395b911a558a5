"""The short piece in every format."""

from __future__ import annotations

import io
import zipfile

import pytest

from tests.score import one_piece


def compressed(score: str) -> bytes:
    """Return a compressed MusicXML file (.mxl) as the W3C's MusicXML 4.0 describes it."""
    rootfile = '<rootfile full-path="music/score.musicxml"/>'
    container = f'<?xml version="1.0"?><container><rootfiles>{rootfile}</rootfiles></container>'
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.recordare.musicxml")
        archive.writestr("META-INF/container.xml", container)
        archive.writestr("music/score.musicxml", score)
    return data.getvalue()


FORMATS = {
    "piece.musicxml": one_piece.MUSICXML.encode(),
    "utf16.musicxml": one_piece.MUSICXML.replace('encoding="UTF-8"', 'encoding="UTF-16"').encode("utf-16"),
    "piece.mxl": compressed(one_piece.MUSICXML),
    "piece.mei": one_piece.MEI.encode(),
    "piece.krn": one_piece.KERN.encode(),
    "windows.krn": one_piece.KERN.replace("\n", "\r\n").encode(),
    "piece.abc": one_piece.ABC.encode(),
    "two-tracks.mid": one_piece.MIDI_TWO_TRACKS,
    "one-track.mid": one_piece.MIDI_ONE_TRACK,
}


@pytest.fixture(params=sorted(FORMATS))
def piece_file(request: pytest.FixtureRequest) -> tuple[str, bytes]:
    """Name and bytes of the short piece, once for each format."""
    return request.param, FORMATS[request.param]
