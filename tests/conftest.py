"""How properties are tried: the same examples on every machine, however slow it is.

`pytest --hypothesis-profile=explore` draws new examples instead, to look for what nobody thought of.
"""

from __future__ import annotations

from hypothesis import HealthCheck, settings

# How long an example takes depends on what else the machine does; speed is measured in benchmarks/.
explore = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])

settings.register_profile("explore", explore)
settings.register_profile("suite", explore, derandomize=True, database=None)
settings.load_profile("suite")
