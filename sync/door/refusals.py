"""What the door says no with, and the status that it says it under."""

from sync.errors import DoorError


class Refused(DoorError):
    """One request is refused; `status` is its HTTP status."""

    def __init__(self, status: int, words: str) -> None:
        self.status = status
        super().__init__(words)
