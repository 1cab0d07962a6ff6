"""The papers as HTML for A4: each is one file with all it needs, printed from any browser."""

from collections.abc import Iterable

from sync.pages import environment
from sync.paper.cards import step_hours
from sync.paper.models import JobCard, Notice, WalkSheet

#: More would push a notice past its one page; the rest are counted on it.
REASONS_MOST = 4


def job_cards(cards: Iterable[JobCard], a_page: int = 1) -> bytes:
    """Job cards, `a_page` (1 or 2) to an A4 page; a card longer than its share takes what it needs."""
    return _page("print/job_cards.html", cards=tuple(cards), a_page=a_page, step_hours=step_hours)


def notices(papers: Iterable[Notice]) -> bytes:
    """Do-not-move notices, one a page."""
    return _page("print/notices.html", notices=tuple(papers), most=REASONS_MOST)


def walk_sheets(papers: Iterable[WalkSheet]) -> bytes:
    """Blank walk-round sheets, each from a new page on."""
    return _page("print/walk_sheets.html", sheets=tuple(papers))


def _page(template: str, **given: object) -> bytes:
    return environment().get_template(template).render(given).encode()
