"""A defect of Driptray's own: its details kept in a file, and one line for the person whom it met."""

import os
import tempfile
import traceback
from datetime import UTC, datetime
from pathlib import Path


def told(error: BaseException, doing: str) -> str:
    """A line that says what happened and where its details are. `doing` is what was asked for."""
    short = f"{type(error).__name__}: {error}".splitlines()[0][:200]
    path = Path(tempfile.gettempdir()) / f"driptray-{os.getpid()}.log"
    what = "".join(traceback.format_exception(error))
    moment = datetime.now(UTC).isoformat(timespec="seconds")
    try:
        with path.open("a", encoding="utf-8") as file:
            file.write(f"{moment}\n{doing}\n{what}\n")
    except OSError:
        return f"this should not happen ({short}); nothing said to be taken is lost"
    return f"this should not happen ({short}); nothing said to be taken is lost, and what happened is written in {path}"
