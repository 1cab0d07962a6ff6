"""The error tree: everything Driptray says no with; imports nothing.

DriptrayError
    FleetError      the fleet files are at fault; carries every mistake found
    BuildError      the phone app could not be written
"""


class DriptrayError(Exception):
    """What a person is told in one line: the thing, what was found, the way out."""


class FleetError(DriptrayError):
    """The fleet files hold mistakes; `mistakes` has one line each, all of them."""

    def __init__(self, mistakes: tuple[str, ...]) -> None:
        self.mistakes = mistakes
        noun = "mistake" if len(mistakes) == 1 else "mistakes"
        super().__init__(f"{len(mistakes)} {noun} in the fleet files:\n" + "\n".join(mistakes))


class BuildError(DriptrayError):
    """The phone app could not be written; what stood there before still stands."""
