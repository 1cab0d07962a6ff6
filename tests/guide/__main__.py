"""`python -m tests.guide`: makes the guide's pictures anew by driving the app and the desk on the sample day.

Run by hand when a screen that the guide shows has changed; what it writes is committed.
"""

import io
import os
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import FloatRect, expect, sync_playwright

from builder.guide import PICTURES
from sync.pages import TEMPLATES
from tests.app.browsers import chromium
from tests.guide.shots import Shot, all_shots
from tests.guide.stage import stage

#: Tones a picture keeps: flat screens lose nothing by it, and packed without loss their letters stay sharp. The
#: phone's pictures go over the air with the app.
TONES = {"phone": 12, "desk": 64}


def main(out: Path) -> int:
    out.mkdir(parents=True, exist_ok=True)
    taken: dict[str, bytes] = {}
    with tempfile.TemporaryDirectory() as name, stage(Path(name)) as on, sync_playwright() as playwright:
        browser = chromium(playwright, env={**os.environ, "LANGUAGE": "en_GB"})
        for shot in all_shots(browser, on):
            for subject in shot.subjects:
                expect(subject).to_be_visible()
            taken[shot.name] = packed(picture(shot), TONES[shot.name.partition("-")[0]])
            print(f"  {shot.name}: {len(taken[shot.name]) / 1000:.1f} kB", file=sys.stderr, flush=True)
        browser.close()
    for old in out.glob("*.webp"):
        old.unlink()
    for name, data in taken.items():
        (out / f"{name}.webp").write_bytes(data)
    print(f"{len(taken)} pictures, {sum(map(len, taken.values())) / 1000:.0f} kB, in {out}")
    return 0


def picture(shot: Shot) -> bytes:
    """A PNG of what is to be seen, nothing moving in it."""
    shot.page.evaluate("document.activeElement?.blur()")
    shot.page.wait_for_timeout(300)
    if shot.of is None:
        return shot.page.screenshot(animations="disabled")
    box = shot.of.evaluate(
        "(node) => { const b = node.getBoundingClientRect();"
        " return [b.x + scrollX, b.y + scrollY, b.width, b.height]; }"
    )
    clip: FloatRect = {"x": box[0], "y": box[1], "width": box[2], "height": min(box[3], shot.tall)}
    return shot.page.screenshot(animations="disabled", clip=clip, full_page=True)


def packed(png: bytes, tones: int) -> bytes:
    """The same as a small WebP."""
    flat = Image.open(io.BytesIO(png)).convert("RGB").quantize(tones, dither=Image.Dither.NONE).convert("RGB")
    out = io.BytesIO()
    flat.save(out, "WEBP", lossless=True, quality=100, method=6)
    return out.getvalue()


if __name__ == "__main__":
    sys.exit(main(TEMPLATES / PICTURES))
