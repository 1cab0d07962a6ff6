"""Two tabs on one phone: one walks, the other says so and goes on when the first is closed."""

import re

from playwright.sync_api import BrowserContext, expect

from tests.app.browsers import Site
from tests.app.person import Person

LAMPS = "Front lamps, side lamps, indicators if fitted"


def test_while_one_tab_walks_the_other_says_so_and_goes_on_when_it_closes(handset: BrowserContext, site: Site) -> None:
    first = Person(handset.new_page(), site.url)
    first.arrive()
    first.start("Kettle", "Before running")
    second = Person(handset.new_page(), site.url)
    second.page.goto(first.page.url)
    expect(second.page.get_by_role("alert")).to_contain_text("Another tab is walking")
    expect(second.check(LAMPS)).to_have_count(0)
    first.page.close()
    expect(second.check(LAMPS)).to_be_visible()


def test_what_one_tab_writes_is_counted_in_the_other(handset: BrowserContext, site: Site) -> None:
    first = Person(handset.new_page(), site.url)
    first.arrive()
    second = Person(handset.new_page(), site.url)
    second.page.goto(site.url)
    expect(second.page.get_by_role("searchbox")).to_be_visible()
    first.start("Kettle", "Before running")
    first.mark_sound(LAMPS)
    expect(second.page.get_by_role("banner").get_by_role("status")).to_contain_text(re.compile("^2 entries"))
