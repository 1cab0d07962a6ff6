"""Lighthouse's four categories on the built sample, at phone size: python -m tests.bench.lighthouse

The sample is served as static hosts serve it: HTTPS, HTTP/2, gzip. Needs Node and npm (Lighthouse is taken from
$DRIPTRAY_NODE_MODULES, or installed into a temporary folder) and the extra `bench`. A busy machine costs points.
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from builder.commands import app_files
from builder.write import write_site
from tests.app.browsers import CHROMIUM_ARGS, SYSTEM_CHROMIUM
from tests.bench.static_host import hosted

SAMPLE = Path(__file__).resolve().parent.parent.parent / "sample_fleet"
CATEGORIES = ("performance", "accessibility", "best-practices", "seo")


def main() -> int:
    """1 where a category is below 100."""
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        write_site(work / "app", app_files(SAMPLE))
        with hosted(work / "app", work) as url:
            report = audited(url, work)
    scores = {name: round(100 * report["categories"][name]["score"]) for name in CATEGORIES}
    for category, score in scores.items():
        print(f"{category:<16} {score:3d}")
        for audit in failed(report, category):
            print(f"    {audit}")
    return 0 if all(score == 100 for score in scores.values()) else 1


def audited(url: str, work: Path) -> dict[str, Any]:
    """Lighthouse's report of one address."""
    modules = Path(os.environ.get("DRIPTRAY_NODE_MODULES", work / "node_modules"))
    if not (modules / "lighthouse").exists():
        install = ["npm", "install", "--silent", "--no-audit", "--no-fund", "--prefix", str(work), "lighthouse@13"]
        subprocess.run(install, check=True, stdout=sys.stderr)
        modules = work / "node_modules"
    flags = " ".join(("--headless=new", "--ignore-certificate-errors", *CHROMIUM_ARGS))
    command = [
        "node", str(modules / "lighthouse/cli/index.js"), url, "--quiet", "--output=json",
        f"--output-path={work / 'report.json'}", f"--chrome-flags={flags}",
        f"--only-categories={','.join(CATEGORIES)}",
    ]  # fmt: skip
    environment = {**os.environ, **({"CHROME_PATH": str(SYSTEM_CHROMIUM)} if SYSTEM_CHROMIUM.exists() else {})}
    subprocess.run(command, check=True, env=environment, stdout=sys.stderr)
    return dict(json.loads((work / "report.json").read_text("utf-8")))


def failed(report: dict[str, Any], category: str) -> list[str]:
    """Audits of a category that count and are not perfect, in Lighthouse's words."""
    audits = [ref for ref in report["categories"][category]["auditRefs"] if ref["weight"]]
    found = [report["audits"][ref["id"]] for ref in audits]
    return [
        f"{audit['title']}: {audit.get('displayValue') or audit['score']}"
        for audit in found
        if audit["score"] is not None and audit["score"] < 1
    ]


if __name__ == "__main__":
    sys.exit(main())
