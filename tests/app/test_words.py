"""Every string of the app in one catalogue a language, and the language chosen on the phone."""

import json
import re

from playwright.sync_api import expect

from builder.leak_rules import leak_rules
from tests.app.conftest import Bench
from tests.app.walker import TRIAL, Walker

SCRIPTS = TRIAL.parent.parent.parent / "web_templates/app/js"
CATALOGUE = """
const [{ en }, { de }] = [await import(URL_EN), await import(URL_DE)];
return { en, de };
"""


def catalogues(bench: Bench) -> dict[str, dict[str, str | dict[str, str]]]:
    script = CATALOGUE.replace("URL_EN", json.dumps(f"{bench.url}js/words/en.js"))
    return bench.run(script.replace("URL_DE", json.dumps(f"{bench.url}js/words/de.js")))


def places(wording: str | dict[str, str]) -> set[str]:
    return set(re.findall(r"\{(\w+)\}", wording if isinstance(wording, str) else wording["other"]))


def test_german_says_everything_that_english_says(bench: Bench) -> None:
    words = catalogues(bench)
    lacking = set(words["en"]) - set(words["de"])
    assert lacking == set()


def test_both_languages_fill_in_the_same_values(bench: Bench) -> None:
    words = catalogues(bench)
    differ = {key for key, english in words["en"].items() if places(english) != places(words["de"][key])}
    assert differ == set()


def test_german_has_an_instruction_for_every_rule_of_the_leak_table(bench: Bench) -> None:
    german = catalogues(bench)["de"]
    rules = {f"leak-rule.{rule.id}" for rule in leak_rules().rules} | {
        f"never.{rule.id}" for rule in leak_rules().never
    }
    assert rules - set(german) == set()


def test_no_string_is_left_in_the_catalogue_that_nothing_says(bench: Bench) -> None:
    """Keys put together at run time are known by their stem."""
    source = "\n".join(path.read_text("utf-8") for path in SCRIPTS.rglob("*.js") if "words" not in path.parts)
    stems = {stem for stem in re.findall(r"`([a-z][a-z.-]*)\$\{", source) if stem}
    inner = set(re.findall(r"`\$\{[\w.]+\}(\.[a-z-]+)`", source))
    said = set(re.findall(r'"([a-z][a-z-]*(?:\.[a-z- ]+)*)"', source))
    dead = {
        key
        for key in catalogues(bench)["en"]
        if key not in said
        and not any(key.startswith(stem) for stem in stems)
        and not any(key.endswith(end) for end in inner)
    }
    assert dead == set()


def test_the_language_is_chosen_on_the_phone_and_stays(walker: Walker) -> None:
    walker.open("#/who").radio("Deutsch").check()
    expect(walker.heading("Wer geht?")).to_be_visible()
    again = walker.killed().open("#/v/badger")
    expect(again.button("Rundgang beginnen")).to_be_visible()
    expect(again.page.locator("html")).to_have_attribute("lang", "de")


def test_numbers_are_read_and_written_as_the_language_has_them(walker: Walker) -> None:
    walker.open("#/who").radio("Deutsch").check()
    walker.heading("Wer geht?").wait_for()
    walker.open("#/v/badger")
    walker.page.get_by_role("group", name="Rundgang").get_by_role("radio", name="Heiß").check()
    walker.button("Rundgang beginnen").click()
    walker.page.get_by_role("navigation", name="Stationen").get_by_role("link", name="Left track").click()
    field = walker.check("Sag of the top run").get_by_role("textbox", name="Messwert")
    field.fill("41,5")
    expect(walker.check("Sag of the top run")).to_contain_text("41,5 mm: um 1,5 mm zu hoch")
