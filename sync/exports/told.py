"""What one side of a conflict says, and how far a clock was off, in words. Pure."""

from sync.state import Sighting

DAY_S = 86_400
HOUR_S = 3600


def side_says(side: Sighting) -> str:
    """ "defect, major, 61 mm"; "sound"; "gone"; a ruling's or work's own words."""
    if side.said or side.present is None:
        return side.said or side.kind
    if not side.present:
        return side.verdict or "sound"
    reading = f"{side.reading.value:g} {side.reading.unit}" if side.reading else ""
    right = "put right at once" if side.put_right else ""
    parts = (side.verdict or "defect", side.severity, reading, _leak(side), right)
    return ", ".join(part for part in parts if part)


def _leak(side: Sighting) -> str:
    if side.leak is None:
        return ""
    return f"leak class {side.leak.leak_class}{' in a stream' if side.leak.stream else ''}"


def clock_words(offset_s: float | None) -> str:
    """ "clock 1 day off": which way does not matter to the reader, and clocks decide nothing."""
    if offset_s is None:
        return ""
    off = abs(offset_s)
    if off >= DAY_S:
        days = round(off / DAY_S)
        return f"clock {days} {'day' if days == 1 else 'days'} off"
    return f"clock {round(off / HOUR_S)} h off" if off >= 2 * HOUR_S else f"clock {round(off / 60)} min off"
