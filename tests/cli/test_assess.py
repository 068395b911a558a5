"""`counterpane assess`: one JSON object for a good performance, one sentence and exit code 2 for a bad call."""

import json
import subprocess
import sys
from pathlib import Path

import mido
import pytest

from counterpane.score import read_score

ROOT = Path(__file__).resolve().parents[2]
SCORE = ROOT / "demo" / "pieces" / "two-lanterns.musicxml"


def _run(*arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "counterpane", "assess", *map(str, arguments)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """Return the piece played as written, as a MIDI file at 120 quarters a minute."""
    piece = read_score(SCORE).piece
    file = mido.MidiFile(type=0, ticks_per_beat=480)
    track = mido.MidiTrack()
    file.tracks.append(track)
    events = []
    for note in piece.notes:
        start = round(480 * float(note.onset))
        events.append((start, "note_on", note.midi, 70))
        events.append((start + round(430 * float(note.duration)), "note_off", note.midi, 0))
    now = 0
    for tick, kind, key, velocity in sorted(events):
        track.append(mido.Message(kind, note=key, velocity=velocity, time=tick - now))
        now = tick
    path = tmp_path / "played.mid"
    file.save(path)
    return path


def test_a_clean_recording_gives_one_json_object(recording: Path) -> None:
    """Everything as written, at the tempo that the file was played in, measures and hands as asked."""
    done = _run(SCORE, recording, "--tempo", 96, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    report = json.loads(done.stdout)
    assert report["drill"]["tempo"] == 96
    assert report["drill"]["tempo_from"] == "option"
    assert {row["status"] for row in report["notes"]} == {"played"}
    assert report["measures"]["tempo"]["value"] == pytest.approx(120, rel=0.02)
    assert report["measures"]["tempo"]["share_of_goal"] == pytest.approx(1.25, rel=0.02)
    assert len(report["findings"]) <= 3


def test_a_passage_and_a_hand_can_be_chosen(recording: Path) -> None:
    """Measures 5 and 6 of the left hand: only its notes are asked for."""
    done = _run(SCORE, recording, "--measures", "5-6", "--hands", "left", "--json")
    report = json.loads(done.stdout)
    assert report["drill"]["measures"] == [5, 6]
    assert report["drill"]["hands"] == "left"
    asked = [note for note in read_score(SCORE).piece.notes if note.hand == "left"]
    assert {row["note"] for row in report["notes"]} < {note.id for note in asked}


def test_without_json_it_says_the_findings(recording: Path) -> None:
    """For a person: what was heard and the next thing to try, in the language asked for."""
    done = _run(SCORE, recording, "--language", "de")
    assert done.returncode == 0
    assert any(word in done.stdout for word in ("Takt", "Töne", "Hände", "Einsätze"))


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("--measures", "3-900"), "no measure 900"),
        (("--measures", "three"), "names no measures"),
        (("--measures", "5-2"), "run backwards"),
        (("--hands", "feet"), "feet"),
        (("--tempo", "0"), "tempo"),
    ],
)
def test_a_bad_call_is_one_sentence_and_exit_code_two(
    recording: Path, arguments: tuple[str, ...], sentence: str
) -> None:
    """What is wrong, on standard error, and nothing on standard output."""
    done = _run(SCORE, recording, *arguments, "--json")
    assert (done.returncode, done.stdout) == (2, "")
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("content", "sentence"),
    [(b"", "empty"), (b"not a midi file at all", "MIDI"), (b"MThd\x00\x00\x00\x06\x00", "damaged")],
)
def test_a_file_that_is_no_recording_is_refused(tmp_path: Path, content: bytes, sentence: str) -> None:
    """Empty, something else, cut off: one sentence with the file's name."""
    path = tmp_path / "broken.mid"
    path.write_bytes(content)
    done = _run(SCORE, path, "--json")
    assert (done.returncode, done.stdout) == (2, "")
    assert "broken.mid" in done.stderr
    assert sentence in done.stderr


def test_a_recording_without_a_note_is_answered(tmp_path: Path) -> None:
    """A MIDI file in which nothing is played: every note not reached, and the finding says so."""
    file = mido.MidiFile()
    file.tracks.append(mido.MidiTrack())
    path = tmp_path / "silence.mid"
    file.save(path)
    done = _run(SCORE, path, "--json")
    report = json.loads(done.stdout)
    assert [finding["kind"] for finding in report["findings"]] == ["nothing_played"]
