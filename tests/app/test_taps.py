"""Two taps in quick succession: the second finds what the first has saved."""

from playwright.sync_api import BrowserContext, expect

from tests.app.browsers import Site
from tests.app.person import Person

LAMPS = "Front lamps, side lamps, indicators if fitted"


def test_a_second_tap_before_the_first_is_saved_takes_it_back(handset: BrowserContext, site: Site) -> None:
    person = Person(handset.new_page(), site.url)
    person.arrive()
    person.start("Kettle", "Before running")
    sound = person.check(LAMPS).get_by_role("radio", name="Sound", exact=True)
    sound.evaluate("(radio) => { radio.click(); radio.click(); }")
    expect(sound).not_to_be_checked()
    _, first, second = person.entries()
    assert (first["result"], second["result"], second["corrects"]) == ("sound", "unchecked", first["id"])
