"""What is the same for every test: how properties are tried, and that Ctrl-C is heard.

Properties are tried with the same examples on every machine, however slow it is;
`pytest --hypothesis-profile=explore` draws new ones instead, to look for what nobody thought of.
"""

from __future__ import annotations

import signal

from hypothesis import HealthCheck, settings

# How long an example takes depends on what else the machine does; speed is measured in benchmarks/.
explore = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])

settings.register_profile("explore", explore)
settings.register_profile("suite", explore, derandomize=True, database=None)
settings.load_profile("suite")

# A suite in the background of a shell ignores Ctrl-C, and so would the servers that it starts and stops by it.
signal.signal(signal.SIGINT, signal.default_int_handler)
