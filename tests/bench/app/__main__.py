"""`python -m tests.bench.app`: prints each figure, its peer in the same run, and what was to be reached."""

import os
import platform

from tests.bench.app import page, size
from tests.bench.app.page import THROTTLE

print(f"{platform.platform()}, {os.cpu_count()} cores; pages with the processor slowed {THROTTLE} times")
for part in (size, page):
    for told in part.lines():
        print(told, flush=True)
