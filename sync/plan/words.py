"""How days and hours are said, in every answer alike."""

from datetime import date

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_words(day: date) -> str:
    """Sat 24 Oct 2026"""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def hours_words(hours: float) -> str:
    """1 hour, 2.5 hours"""
    return "1 hour" if hours == 1 else f"{hours:g} hours"


def clock_words(hours: float) -> str:
    """Hours and minutes after the workshop opens: 0:30, 10:15"""
    return f"{int(hours)}:{round(hours % 1 * 60):02}"


def person_hours(hours: float) -> str:
    """1 person-hour, 2.5 person-hours"""
    return "1 person-hour" if hours == 1 else f"{hours:g} person-hours"


def listed(names: list[str] | tuple[str, ...]) -> str:
    """a, b and c"""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def part_of(part: str, code: str) -> str:
    """A part's name where another defect has one of the same name already."""
    return f"{part} (for {code})"


def bare_part(name: str, code: str) -> str:
    """The part that is meant by such a name."""
    return name.removesuffix(part_of("", code))


def missing_words(part: str, item: str) -> str:
    """What a defect that a taken part opens begins with; by these words it is found again."""
    return f"{part} missing: taken for {item}"
