"""The illustrated guide as pages of the phone app: one source for the app, offline, and for the desk. Pure.

Each chapter is a piece of HTML in web_templates/guide. The app gets every chapter with the pictures of the phone;
pictures of the desk, and links to its pages, are the desk's own.
"""

import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from jinja2 import DictLoader, Environment, StrictUndefined
from PIL import Image

from builder.errors import BuildError
from builder.render import fill

#: Where the guide's files lie, among the templates and in the app alike.
FOLDER = "guide/"
PICTURES = f"{FOLDER}pictures/"
STYLE = f"{FOLDER}guide.css"
#: Names of pictures that show the desk begin with this.
OF_THE_DESK = "desk-"
_PAGE = f"{FOLDER}app_page.html"


@dataclass(frozen=True, slots=True)
class Chapter:
    """`slug` names its file, its page in the app and its address at the desk."""

    slug: str
    title: str
    about: str


#: In the order of reading.
CHAPTERS = (
    Chapter("first-evening", "The first evening", "From nothing to a phone that is ready for the field."),
    Chapter("walk-round", "The walk-round", "Round a vehicle with a thumb, without a signal."),
    Chapter("sync", "Back at the workshop", "How what the phones hold gets to the PC, and what comes back."),
    Chapter("conflicts", "When two people disagree", "What is shown, what stands meanwhile, how it is settled."),
    Chapter("saturday", "Saturday’s work", "From the backlog to job cards, sign-off and the next display day."),
    Chapter("template", "Writing a template", "Your own vehicles and checks, with a whole small example."),
    Chapter("trouble", "What to do when", "A lost phone, a dead PC, a wrong merge, a wrong clock, an old backup."),
    Chapter("merge", "How it decides", "The merge, the rank and the standing, in plain words."),
    Chapter("cautions", "Cautions", "Where the hands go, and what comes before this tool."),
)


def guide_files(templates: Mapping[str, bytes]) -> dict[str, bytes]:
    """The guide's part of the app, path -> bytes.

    `templates`: path -> bytes of what lies in the guide's folder, paths beginning with it. Raises BuildError for a
    chapter that cannot be filled in.
    """
    texts = {path: data.decode() for path, data in templates.items() if path.endswith(".html")}
    environment = Environment(
        loader=DictLoader(texts), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    shared = {"at": "app", "chapters": CHAPTERS, "sizes": sizes(templates)}
    pages: dict[str, dict[str, Any]] = {"index": {"chapter": None, "before": None, "after": None}}
    pages |= {chapter.slug: neighbours(chapter) for chapter in CHAPTERS}
    made = {f"{FOLDER}{name}.html": _filled(environment, {**shared, **given}) for name, given in pages.items()}
    pictures = {path: data for path, data in templates.items() if of_the_phone(path)}
    return {**made, **pictures, STYLE: templates[STYLE]}


def neighbours(chapter: Chapter) -> dict[str, Chapter | None]:
    """A chapter with those before and after it, as its page names them."""
    place = CHAPTERS.index(chapter)
    before = CHAPTERS[place - 1] if place else None
    after = CHAPTERS[place + 1] if place + 1 < len(CHAPTERS) else None
    return {"chapter": chapter, "before": before, "after": after}


def of_the_phone(path: str) -> bool:
    """Whether a file is a picture that goes into the app."""
    return path.startswith(PICTURES) and not path.startswith(PICTURES + OF_THE_DESK)


def sizes(templates: Mapping[str, bytes]) -> dict[str, tuple[int, int]]:
    """Picture name -> (width, height) in pixels, so that a page does not jump while it loads."""
    found = {}
    for path, data in templates.items():
        if path.startswith(PICTURES):
            with Image.open(io.BytesIO(data)) as picture:
                found[path.removeprefix(PICTURES).rpartition(".")[0]] = picture.size
    return found


def _filled(environment: Environment, given: Mapping[str, Any]) -> bytes:
    try:
        return fill(environment, _PAGE, given)
    except BuildError as error:
        raise BuildError(f"the guide: {error}") from error
