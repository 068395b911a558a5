"""What was acknowledged survives a killed process; what was not is there whole or not at all."""

from __future__ import annotations

import signal
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from counterpane.store.backup import check
from counterpane.store.database import Store, connect
from counterpane.store.migrations import newest_version

_WRITER = """
import sys
from pathlib import Path
from counterpane.store import attempts, assessments
from counterpane.store.database import open_store
from tests.store.conftest import NOW, new_attempt

store = open_store(Path(sys.argv[1]))
number = 0
while True:
    events = tuple((float(i), 144, 60, 80) for i in range(2000))
    with store.write() as db:
        attempt = attempts.add(db, new_attempt(f"try-{number:06d}", raw_events=events), NOW)
        assessments.add(db, attempt, assessments.AssessmentRow(
            "1", 0.9, 20.0, None, 0, True, True, (), (), {"notes": list(range(2000))}, ()), NOW)
    print(number, flush=True)
    number += 1
"""
KILLS = 5
BEFORE_EACH_KILL = 8


def test_nothing_acknowledged_is_lost(store: Store, path: Path) -> None:
    """A writer is killed five times in the middle of its work; each time every printed attempt is whole."""
    store.close()
    for kill in range(KILLS):
        with closing(connect(path)) as db:
            db.execute("DELETE FROM attempt")
        acknowledged = _write_and_kill(path, BEFORE_EACH_KILL + kill)
        with closing(connect(path)) as db:
            kept = [row[0] for row in db.execute("SELECT client_id FROM attempt ORDER BY id")]
            unheard = db.execute(
                "SELECT count(*) FROM attempt WHERE id NOT IN (SELECT attempt_id FROM assessment)"
            ).fetchone()[0]
        assert kept[: acknowledged + 1] == [f"try-{number:06d}" for number in range(acknowledged + 1)]
        assert len(kept) <= acknowledged + 2
        assert unheard == 0
        assert check(path) == newest_version()


def _write_and_kill(path: Path, after: int) -> int:
    """Let a process write, kill it without warning after `after` acknowledgements, return the last one read."""
    writer = subprocess.Popen(
        [sys.executable, "-c", _WRITER, str(path)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
    )
    assert writer.stdout is not None
    with writer.stdout:
        last = -1
        for _ in range(after):
            last = int(writer.stdout.readline())
        writer.send_signal(signal.SIGKILL)
        rest = writer.stdout.read().split()
        writer.wait(timeout=10)
    return int(rest[-1]) if rest else last
