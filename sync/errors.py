"""What the workshop side says no with; grows from builder.errors, imports nothing else.

DriptrayError
    IntakeError     a hand-in of which nothing could be taken
    StoreError      the backlog file cannot be opened, read or written
    DeskError       what a person asked for at the desk cannot be done
        NotHereError    what a person asked for is not here
    DoorError       a phone or another PC is refused, or cannot be reached
    TradeError      an input of a trade calculation is impossible or missing
    PlanError       no plan can be made from what is given
"""

from builder.errors import DriptrayError


class IntakeError(DriptrayError):
    """A hand-in of which nothing could be taken."""


class StoreError(DriptrayError):
    """The backlog file cannot be opened, read or written; what it holds is untouched."""


class DeskError(DriptrayError):
    """What a person asked for at the desk cannot be done."""


class NotHereError(DeskError):
    """What a person asked for is not here. `what` says so; `way_out` is one on the command line, or empty."""

    def __init__(self, what: str, way_out: str = "") -> None:
        self.what, self.way_out = what, way_out
        super().__init__(f"{what}; {way_out}" if way_out else what)


class DoorError(DriptrayError):
    """A phone or another workshop PC is refused, or cannot be reached."""


class TradeError(DriptrayError):
    """An input of a trade calculation is impossible or missing."""


class PlanError(DriptrayError):
    """No plan can be made from what is given."""
