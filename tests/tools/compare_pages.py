#!/usr/bin/env python3
"""Compares pages with pictures of them that somebody has looked at.

    tests/tools/compare_pages.py GOLDEN_FOLDER [--accept] PAGE.pdf...

Each page is drawn small and grey by poppler and held against GOLDEN_FOLDER/PAGE.png. More than the budget of pixels that
differ clearly is a difference: a picture of three panels (as it was, as it is, where they differ) is left in out/, and
the exit code is 1. With --accept the new pictures take the place of the old.

Needs: pip install pillow; apt install poppler-utils.
"""

import pathlib
import subprocess
import sys
import tempfile

from PIL import Image, ImageChops

RESOLUTION = 45
# Levels of grey (of 255) from which a pixel differs, and the share of the page that may.
LEVELS = 48
BUDGET = 0.002


def drawn(page):
    """The page as a grey picture."""
    with tempfile.TemporaryDirectory() as folder:
        name = pathlib.Path(folder) / "page"
        command = ["pdftoppm", "-r", str(RESOLUTION), "-gray", "-png", "-singlefile", page, name]
        subprocess.run(command, check=True)
        return Image.open(name.with_suffix(".png")).convert("L").copy()


def main(arguments):
    accept = "--accept" in arguments
    golden_folder, *pages = [argument for argument in arguments if argument != "--accept"]
    failed = False
    for page in pages:
        name = pathlib.Path(page).stem
        golden_file = pathlib.Path(golden_folder) / f"{name}.png"
        now = drawn(page)
        if accept:
            now.quantize(16).save(golden_file, optimize=True)
            continue
        was = Image.open(golden_file).convert("L")
        if was.size != now.size:
            print(f"{name}: was {was.size}, is {now.size}")
            failed = True
            continue
        where = ImageChops.difference(was, now).point(lambda level: 255 if level > LEVELS else 0)
        share = where.histogram()[255] / (now.width * now.height)
        if share > BUDGET:
            panels = Image.new("L", (3 * now.width, now.height), 255)
            for position, panel in enumerate([was, now, ImageChops.invert(where)]):
                panels.paste(panel, (position * now.width, 0))
            left = pathlib.Path("out") / f"difference-{name}.png"
            left.parent.mkdir(exist_ok=True)
            panels.save(left)
            print(f"{name}: {share:.2%} of the page differs, {BUDGET:.2%} may; see {left}")
            failed = True
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
