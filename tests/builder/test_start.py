"""What the app's page asks for at once: the modules of its start, found from their own imports."""

import re
from pathlib import Path

import pytest

from builder.commands import app_files
from builder.errors import BuildError
from builder.render import modules_from

SAMPLE = Path(__file__).resolve().parent.parent.parent / "sample_fleet"


def test_imports_are_followed_and_each_module_stands_once() -> None:
    files = {
        "js/main.js": b'import { a } from "./ui/a.js";\nimport { b } from "./b.js";\n',
        "js/ui/a.js": b'import { b } from "../b.js";\n',
        "js/b.js": b'/** @import {C} from "./c.js" */\nconst later = () => import("./d.js");\n',
    }
    assert modules_from("js/main.js", files) == ["js/main.js", "js/ui/a.js", "js/b.js"]


def test_an_import_that_leads_nowhere_is_named() -> None:
    with pytest.raises(BuildError, match=r"js/gone\.js"):
        modules_from("js/main.js", {"js/main.js": b'import { a } from "./gone.js";\n'})


def test_the_page_asks_for_the_board_at_once_and_for_the_walk_later() -> None:
    page = app_files(SAMPLE)["index.html"].decode()
    asked = re.findall(r'<link rel="modulepreload" href="([^"]+)">', page)
    assert "js/screens/board.js" in asked
    assert "js/screens/walk.js" not in asked
