"""The process that runs verovio: answers one JSON line a request on standard output until its input ends.

Notation code in C++ may crash, hang or chatter on a damaged file. In a process of its own it cannot take the
server with it, and its noise ends up in `log` and nowhere else. Start with `python -m` (see `verovio_process`).
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from typing import IO, Any

import verovio


def main() -> None:
    """Serve requests until standard input ends."""
    replies = os.fdopen(os.dup(1), "w", encoding="utf-8")
    noise = tempfile.TemporaryFile()  # noqa: SIM115 - lives as long as the process
    os.dup2(noise.fileno(), 1)
    os.dup2(noise.fileno(), 2)
    verovio.enableLog(verovio.LOG_WARNING)
    for line in sys.stdin:
        reply = _answer(json.loads(line))
        reply["log"] = f"{reply.get('log', '')}{_drain(noise)}"
        replies.write(json.dumps(reply) + "\n")
        replies.flush()


def _answer(request: dict[str, Any]) -> dict[str, Any]:
    # A new toolkit for each request (3 ms): nothing of one score can leak into the next.
    toolkit = verovio.toolkit()
    toolkit.setOptions(request["options"])
    if request.get("select"):
        toolkit.select(request["select"])
    if not toolkit.loadData(request["data"]):
        return {"ok": False, "log": toolkit.getLog()}
    if request["want"] == "mei":
        return {"ok": True, "result": [toolkit.getMEI({"removeIds": False})], "log": toolkit.getLog()}
    pages = [toolkit.renderToSVG(page) for page in range(1, toolkit.getPageCount() + 1)]
    return {"ok": True, "result": pages, "log": toolkit.getLog()}


def _drain(noise: IO[bytes]) -> str:
    noise.seek(0)
    text = noise.read().decode("utf-8", "replace")
    noise.seek(0)
    noise.truncate()
    return text


if __name__ == "__main__":
    main()
