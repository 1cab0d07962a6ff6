"""Photos for the sample day, drawn by us: shapes under a torch, nothing that was ever in front of a camera."""

import io
import math
import random

from PIL import Image, ImageDraw, ImageFilter

SIZE = (1280, 960)


def photo(name: str) -> bytes:
    """A JPEG by its name; the same name gives the same picture."""
    image = _DRAWINGS[name](random.Random(name))
    out = io.BytesIO()
    _lit(image, random.Random(name)).save(out, "JPEG", quality=80)
    return out.getvalue()


def _ground(rng: random.Random, colour: tuple[int, int, int]) -> Image.Image:
    image = Image.new("RGB", SIZE, colour)
    draw = ImageDraw.Draw(image)
    for _ in range(900):
        x, y, r = rng.randrange(SIZE[0]), rng.randrange(SIZE[1]), rng.randrange(1, 5)
        shade = rng.randrange(-18, 19)
        draw.ellipse((x, y, x + r, y + r), fill=tuple(max(0, min(255, c + shade)) for c in colour))
    return image


def _lit(image: Image.Image, rng: random.Random) -> Image.Image:
    """A torch's round of light, dark at the edges."""
    x, y = rng.randrange(500, 780), rng.randrange(360, 600)
    light = Image.new("L", SIZE, 50)
    ImageDraw.Draw(light).ellipse((x - 620, y - 520, x + 620, y + 520), fill=255)
    light = light.filter(ImageFilter.GaussianBlur(140))
    return Image.composite(image, Image.new("RGB", SIZE, (12, 13, 14)), light)


def _hub(rng: random.Random) -> Image.Image:
    image = _ground(rng, (86, 88, 80))
    draw = ImageDraw.Draw(image)
    draw.ellipse((280, 120, 1000, 840), fill=(58, 60, 55), outline=(30, 30, 28), width=26)
    draw.ellipse((500, 340, 780, 620), fill=(104, 104, 96), outline=(40, 40, 38), width=10)
    for step in range(8):
        x, y = 640 + 200 * math.cos(step * math.pi / 4), 480 + 200 * math.sin(step * math.pi / 4)
        draw.regular_polygon((x, y, 26), 6, fill=(70, 70, 66), outline=(30, 30, 28))
    for _ in range(9):
        angle, reach = rng.uniform(0.9, 2.1), rng.uniform(160, 420)
        end = (640 + reach * math.cos(angle), 480 + reach * math.sin(angle))
        draw.line((640, 520, *end), fill=(36, 28, 18), width=rng.randrange(8, 26))
    return image


def _sag(rng: random.Random) -> Image.Image:
    image = _ground(rng, (112, 104, 90))
    draw = ImageDraw.Draw(image)
    for step in range(25):
        x = 40 + step * 50
        y = 330 + 190 * (1 - ((x - 640) / 620) ** 2)
        draw.rounded_rectangle((x - 24, y - 22, x + 24, y + 22), 8, fill=(60, 58, 54), outline=(24, 24, 22), width=4)
        draw.rectangle((x - 6, y - 40, x + 6, y - 22), fill=(50, 48, 44))
    draw.line((40, 308, 1240, 308), fill=(226, 196, 70), width=6)
    draw.rectangle((620, 308, 660, 560), fill=(222, 214, 190), outline=(60, 60, 60), width=3)
    for step in range(13):
        draw.line((620, 308 + step * 20, 636, 308 + step * 20), fill=(20, 20, 20), width=2)
    return image


def _union(rng: random.Random) -> Image.Image:
    image = _ground(rng, (74, 78, 84))
    draw = ImageDraw.Draw(image)
    draw.line((100, 700, 520, 520, 760, 520, 1180, 260), fill=(150, 96, 52), width=34, joint="curve")
    draw.regular_polygon((640, 520, 92), 6, fill=(172, 140, 74), outline=(70, 54, 26))
    draw.ellipse((560, 560, 760, 700), fill=(46, 38, 34))
    for _ in range(5):
        x, y = rng.randrange(590, 730), rng.randrange(640, 820)
        draw.ellipse((x, y, x + 22, y + 34), fill=(190, 170, 130), outline=(90, 80, 60))
    return image


def _retainer(rng: random.Random) -> Image.Image:
    image = _ground(rng, (96, 90, 78))
    draw = ImageDraw.Draw(image)
    for row in range(3):
        y = 180 + row * 260
        draw.rounded_rectangle((140, y, 1140, y + 190), 30, fill=(64, 62, 58), outline=(28, 28, 26), width=8)
        shift = 70 if row == 1 else 0
        draw.ellipse((1040 + shift, y + 50, 1130 + shift, y + 140), fill=(138, 134, 124), outline=(40, 40, 38), width=6)
        if row != 1:
            draw.ellipse((1062, y + 72, 1108, y + 118), outline=(200, 190, 160), width=8)
    return image


def _bracket(rng: random.Random) -> Image.Image:
    image = _ground(rng, (82, 92, 74))
    draw = ImageDraw.Draw(image)
    draw.polygon(((260, 200), (1020, 200), (1020, 300), (360, 300), (360, 780), (260, 780)), fill=(108, 118, 92))
    draw.line((360, 300, 420, 352, 404, 410, 470, 470), fill=(20, 18, 16), width=9)
    for x, y in ((520, 250), (860, 250), (310, 660)):
        draw.ellipse((x - 26, y - 26, x + 26, y + 26), fill=(150, 146, 130), outline=(40, 40, 38), width=6)
    return image


def _boot(rng: random.Random) -> Image.Image:
    image = _ground(rng, (64, 62, 60))
    draw = ImageDraw.Draw(image)
    draw.rectangle((180, 340, 640, 600), fill=(120, 122, 120), outline=(40, 40, 40), width=8)
    for step in range(5):
        draw.rounded_rectangle(
            (640 + step * 62, 360, 700 + step * 62, 580), 26, fill=(34, 34, 36), outline=(14, 14, 14), width=5
        )
    draw.rectangle((950, 445, 1220, 495), fill=(150, 150, 146))
    draw.ellipse((660, 560, 900, 690), fill=(120, 70, 34))
    return image


_DRAWINGS = {"hub": _hub, "sag": _sag, "union": _union, "retainer": _retainer, "bracket": _bracket, "boot": _boot}
