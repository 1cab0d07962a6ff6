"""A defect's reckonings as the columns that every export carries beside the view's own. Pure."""

from collections.abc import Sequence

from builder.edition import VehicleView
from sync.exports.snapshot import FiguresRow
from sync.paper.words import limits_of
from sync.state import Defect
from sync.trade.places import in_short
from sync.trade.reckoning import Reckoning


def figures_of(view: VehicleView, defect: Defect, found: Sequence[Reckoning]) -> FiguresRow:
    """The row for one defect; its own reading stands in it even where nothing could be reckoned."""
    reading = defect.reading
    own = FiguresRow(
        reading_value=reading.value if reading else None,
        reading_unit=reading.unit if reading else "",
        limits=limits_of(view.checks.get(defect.check)) if reading else "",
    )
    if not found:
        return own
    short = in_short(found)
    return FiguresRow(
        reading_value=own.reading_value,
        reading_unit=own.reading_unit,
        limits=own.limits,
        figures_verdict=short.verdict_words,
        figures_say=" ".join(short.says),
        reckoned="; ".join(short.figures),
        to_do=" ".join(short.do),
        how_sure=" ".join(short.sure) or "Nothing was assumed.",
        cautions=" ".join(short.care),
        figures_source="; ".join(short.source),
    )
