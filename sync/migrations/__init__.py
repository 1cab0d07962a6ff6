"""The steps that bring a backlog file forward, one module a step; `user_version` counts those taken.

A step is `step_NNN.py` with one `up(connection)`: it runs inside a transaction that the store opens and commits, and
it neither commits nor reads the clock. A step once released is never changed; the next change is the next step.
"""

from collections.abc import Callable
from sqlite3 import Connection

from sync.migrations import step_001, step_002, step_003, step_004

STEPS: tuple[Callable[[Connection], None], ...] = (step_001.up, step_002.up, step_003.up, step_004.up)
