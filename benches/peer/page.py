"""The case page made the usual Python way: ReportLab for the sheet, matplotlib for the two figures, all as vectors.

Best practice of both: one process for all pages; fonts registered once; one matplotlib figure reused, its artists
removed rather than its axes cleared, and written as PDF that becomes a form of the sheet. Tried and slower: the figure
as SVG drawn by svglib (1.6 times for the figures), and its fonts cut to size as TrueType (`pdf.fonttype` 42, 5 times).

Arguments: pages.json, the folder of the fonts, a file for a sample page. Says `ready`, then for each line with a number
draws that many pages in memory and answers with processor seconds and bytes.
"""

import io
import json
import re
import sys
import time

import matplotlib

matplotlib.use("pdf")

from matplotlib import font_manager
from matplotlib.figure import Figure
from matplotlib.patches import Ellipse, Rectangle
from matplotlib.ticker import FixedFormatter, FixedLocator
from pdfrw import PdfReader
from pdfrw.buildxobj import pagexobj
from pdfrw.toreportlab import makerl
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

FACES = {"regular": "SourceSans3-Regular", "semibold": "SourceSans3-Semibold"}
FAMILY = "Source Sans 3"
NUMBER = re.compile(r"\d+(?:\.\d+)?")


def number(words):
    """The first number of some words, or None."""
    found = NUMBER.search(words)
    return float(found.group()) if found else None


def gradient_of(alt):
    """What the chart of gradients shows, from its description."""
    before = re.search(r"before: (.*?)\. After", alt).group(1)
    after = re.search(r"After: (.*?)\. A dashed", alt).group(1)
    threshold = re.search(r"begins at ([\d.]+) mmHg", alt)
    readings = re.findall(r"([\d.]+)[^,]*? on day (-?\d+)", after)
    return {
        "before": number(before),
        "after": [(int(day), float(mmhg), mmhg) for mmhg, day in readings],
        "threshold": float(threshold.group(1)) if threshold else None,
    }


def ruler_of(alt, items):
    """What the ruler shows, from its description; the shapes from what is drawn."""
    ranges = re.findall(r"([\d.]+) from ([\d.]+) to ([\d.]+) mm( \(implanted\))?", alt)
    rows = [row.rsplit(": ", 1) for row in alt.split("Lines of evidence in mm: ")[1].rstrip(".").split("; ")]
    shapes = [item for item in items if item["kind"] == "ellipse" and item["fill"] is None]
    return {
        "ranges": [(label, float(low), float(high), bool(used)) for label, low, high, used in ranges],
        "rows": [(label, value, number(value)) for label, value in rows],
        "shapes": [(shape["rx"], shape["ry"], shape["stroke"]) for shape in shapes],
    }


def box_of(items):
    """Left, bottom, right and top of what is drawn."""
    xs, ys = [], []
    for item in items:
        if "points" in item:
            xs += [x for x, _ in item["points"]]
            ys += [y for _, y in item["points"]]
        elif "x" in item:
            xs += [item["x"], item["x"] + item.get("width", 0)]
            ys += [item["y"], item["y"] + item.get("height", item.get("size", 0))]
    return min(xs), min(ys), max(xs), max(ys)


MARKERS = {
    "annulus": "o",
    "by perimeter": "o",
    "supra-annular": "D",
    "balloon leaked": ">",
    "balloon sealed": "<",
    "device": "s",
    "filled": "s",
    "frame": "s",
}


class Charts:
    """One matplotlib figure over the box of both figures of a page, used again for every page."""

    def __init__(self, box):
        left, bottom, right, top = box
        self.left, self.bottom, self.width, self.height = left, bottom, right - left, top - bottom
        self.figure = Figure(figsize=(self.width / 72, self.height / 72), dpi=72)
        self.figure.patch.set_visible(False)
        axes = [self.figure.add_axes((0, 0, 1, 1)) for _ in range(4)]
        self.before, self.after, self.ruler, self.shapes = axes
        for panel in axes:
            panel.patch.set_visible(False)
            panel.spines[["top", "right"]].set_visible(False)
            panel.tick_params(length=2.5, width=0.5, pad=1.5)
            for spine in panel.spines.values():
                spine.set_linewidth(0.5)
        self.ruler.spines["left"].set_visible(False)
        self.ruler.yaxis.set_visible(False)
        self.before.xaxis.set_visible(False)
        self.shapes.set_axis_off()
        # Long-lived artists: only their data change.
        (self.before_point,) = self.before.plot([], [], "o", color="black", markerfacecolor="white", markersize=4.8)
        (self.course,) = self.after.plot(
            [], [], "o-", color="black", linewidth=0.9, markerfacecolor="white", markersize=4.8
        )
        self.after.axhline(20, color="black", linewidth=0.6, dashes=(4, 3))
        self.own = []

    def place(self, axes, box):
        left, bottom, right, top = box
        axes.set_position(
            (
                (left - self.left) / self.width,
                (bottom - self.bottom) / self.height,
                (right - left) / self.width,
                (top - bottom) / self.height,
            )
        )

    def keep(self, artist):
        """Belongs to this page alone."""
        self.own.append(artist)
        return artist

    def words(self, axes, x, y, text, bold=False, ha="left", va="center", transform=None):
        weight = 600 if bold else 400
        self.keep(
            axes.text(
                x, y, text, ha=ha, va=va, fontsize=6.5, fontweight=weight, transform=transform or axes.transData,
                clip_on=False,
            )
        )

    def draw_gradient(self, chart, box):
        left, bottom, right, top = box
        self.place(self.before, (left + 16, bottom + 11, left + 0.24 * (right - left), top))
        self.place(self.after, (left + 0.24 * (right - left) + 24, bottom + 11, right - 52, top))
        before = chart["before"]
        highest = max(40, 1.2 * (before or 0))
        self.before.set_ylim(0, highest)
        self.before.set_xlim(0, 1)
        self.before.yaxis.set_major_locator(FixedLocator([mark for mark in range(0, 201, 20) if mark <= highest]))
        self.before_point.set_data(([0.42], [before]) if before is not None else ([], []))
        if before is not None:
            self.words(self.before, 0.52, before, f"{before:g}", bold=True)
        else:
            self.words(self.before, 0.5, highest / 2, "not\nrecorded", ha="center")
        self.words(self.before, 0.5, -0.08 * highest, "before", ha="center", va="top")
        after, threshold = chart["after"], chart["threshold"]
        self.course.set_data([day for day, _, _ in after], [mmhg for _, mmhg, _ in after])
        last = max([35] + [day for day, _, _ in after])
        high = max([30] + [mmhg for _, mmhg, _ in after] + ([threshold + 4] if threshold else []))
        self.after.set_xlim(-0.03 * last, 1.05 * last)
        self.after.set_ylim(0, -(-high // 10) * 10)
        step = 10 if last <= 45 else 30 if last <= 130 else 91.3 if last <= 420 else 365.25
        days = [place * step for place in range(int(1.05 * last / step) + 1)]
        names = [f"{day:.0f} d" if step < 90 else f"{day / 30.4375:.0f} mo" for day in days]
        self.after.xaxis.set_major_locator(FixedLocator(days))
        self.after.xaxis.set_major_formatter(FixedFormatter(names))
        self.after.yaxis.set_major_locator(FixedLocator([mark for mark in range(0, 201, 10) if mark <= high]))
        for day, mmhg, label in after:
            self.words(self.after, day, mmhg + 0.05 * high, label, bold=True, va="bottom", ha="center")
        self.words(self.after, 1.09 * last, 20, "20 mean")
        if threshold:
            self.keep(self.after.axhspan(threshold, self.after.get_ylim()[1], color="0.9", zorder=0))
            self.words(self.after, 1.09 * last, threshold + 2, f"{threshold:g} stage 2 part")

    def draw_ruler(self, ruler, box):
        left, bottom, right, top = box
        room = 65 if ruler["shapes"] else 0
        self.place(self.ruler, (left + 102, bottom + 12, right - room, top))
        rows, ranges = ruler["rows"], ruler["ranges"]
        ends = [mm for _, _, mm in rows if mm] + [mm for _, low, high, _ in ranges for mm in (low, high)] or [18, 32]
        low, high = 2 * (min(ends) // 2), 2 * -(-max(ends) // 2)
        self.ruler.set_xlim(low, high)
        self.ruler.set_ylim(len(rows) + 2, 0)
        self.ruler.xaxis.set_major_locator(FixedLocator(list(range(int(low), int(high) + 1, 4 if high - low > 16 else 2))))
        beside = self.ruler.get_yaxis_transform()
        width = right - room - left - 102
        self.words(self.ruler, -102 / width, 1, "labelled ranges", transform=beside)
        for place, (label, start, end, used) in enumerate(ranges):
            lane = place % 2
            self.keep(
                self.ruler.add_patch(
                    Rectangle(
                        (start, 0.5 + 0.5 * lane), end - start, 0.5, linewidth=0.5, edgecolor="black",
                        facecolor="black" if used else "0.85",
                    )
                )
            )
            self.words(self.ruler, (start + end) / 2, 0.2 if lane == 0 else 1.3, label, bold=used, ha="center")
        for place, (label, value, mm) in enumerate(rows):
            y = place + 2.5
            self.keep(self.ruler.axhline(y, color="0.75", linewidth=0.3, zorder=0))
            self.words(self.ruler, -102 / width, y, label, transform=beside)
            self.words(self.ruler, -4 / width, y, value, bold=mm is not None, ha="right", transform=beside)
            if mm is not None:
                marker = next((shape for start, shape in MARKERS.items() if label.startswith(start)), "o")
                face = "black" if label.startswith("device") else "white"
                self.keep(
                    self.ruler.plot(
                        [mm], [y], marker, color="black", markerfacecolor=face, markersize=5, markeredgewidth=0.9
                    )[0]
                )
        self.place(self.shapes, (right - room + 6, bottom, right, top) if room else (right - 1, bottom, right, top))
        self.shapes.set_xlim(0, (room or 7) - 6)
        self.shapes.set_ylim(0, top - bottom)
        for place, (rx, ry, (line, colour, dash)) in enumerate(ruler["shapes"]):
            style = (0, dash) if dash else "-"
            self.keep(
                self.shapes.add_patch(
                    Ellipse(
                        (29, 0.6 * (top - bottom)), 2 * rx, 2 * ry, fill=False, linewidth=line, edgecolor=colour,
                        linestyle=style,
                    )
                )
            )
            y = 8 * place + 4
            self.keep(self.shapes.plot([0, 10], [y, y], linewidth=line, color=colour, linestyle=style)[0])
            self.words(self.shapes, 12, y, ("annulus", "device", "balloon")[place % 3])

    def pdf(self):
        file = io.BytesIO()
        self.figure.savefig(file, format="pdf")
        for artist in self.own:
            artist.remove()
        self.own.clear()
        return file.getvalue()


class Pages:
    def __init__(self, content, fonts):
        for name in FACES.values():
            path = f"{fonts}/{name}.ttf"
            pdfmetrics.registerFont(TTFont(name, path))
            font_manager.fontManager.addfont(path)
        matplotlib.rcParams.update(
            {
                "font.family": FAMILY,
                "font.size": 6.5,
                "pdf.fonttype": 3,
                "path.simplify": False,
                "axes.unicode_minus": True,
            }
        )
        with open(content, encoding="utf-8") as file:
            self.pages = json.load(file)
        for page in self.pages:
            for figure in page["figures"]:
                figure["box"] = box_of(figure["items"])
                if figure["alt"].startswith("Mean gradient"):
                    figure["gradient"] = gradient_of(figure["alt"])
                else:
                    figure["ruler"] = ruler_of(figure["alt"], figure["items"])
        boxes = [figure["box"] for page in self.pages for figure in page["figures"]]
        lefts, bottoms, rights, tops = zip(*boxes)
        self.charts = Charts((min(lefts), min(bottoms), max(rights), max(tops)))
        self.next = 0

    def page(self):
        """The bytes of the next page."""
        page = self.pages[self.next % len(self.pages)]
        self.next += 1
        file = io.BytesIO()
        canvas = Canvas(file, pagesize=(page["width"], page["height"]), pageCompression=1)
        canvas.setTitle(page["title"])
        for item in page["items"]:
            self.item(canvas, item)
        for figure in page["figures"]:
            if "gradient" in figure:
                self.charts.draw_gradient(figure["gradient"], figure["box"])
            else:
                self.charts.draw_ruler(figure["ruler"], figure["box"])
        if page["figures"]:
            figures = pagexobj(PdfReader(fdata=self.charts.pdf()).pages[0])
            canvas.saveState()
            canvas.translate(self.charts.left, self.charts.bottom)
            canvas.doForm(makerl(canvas, figures))
            canvas.restoreState()
        canvas.showPage()
        canvas.save()
        return file.getvalue()

    def item(self, canvas, item):
        kind = item["kind"]
        if kind == "text":
            canvas.setFillColorRGB(*item["colour"])
            canvas.setFont(FACES[item["face"]], item["size"])
            if item["rotated"]:
                canvas.saveState()
                canvas.translate(item["x"], item["y"])
                canvas.rotate(90)
                canvas.drawString(0, 0, item["text"])
                canvas.restoreState()
            else:
                canvas.drawString(item["x"], item["y"], item["text"])
            return
        if kind == "clip":
            canvas.saveState()
            path = canvas.beginPath()
            path.rect(item["x"], item["y"], item["width"], item["height"])
            canvas.clipPath(path, stroke=0, fill=0)
            return
        if kind == "unclip":
            canvas.restoreState()
            return
        fill, stroke = item.get("fill"), item.get("stroke")
        if fill:
            canvas.setFillColorRGB(*fill)
        if stroke:
            width, colour, dash = stroke
            canvas.setLineWidth(width)
            canvas.setStrokeColorRGB(*colour)
            canvas.setDash(*dash) if dash else canvas.setDash()
        paint = {"fill": 1 if fill else 0, "stroke": 1 if stroke else 0}
        if kind == "rect":
            canvas.rect(item["x"], item["y"], item["width"], item["height"], **paint)
        elif kind == "ellipse":
            x, y, rx, ry = item["x"], item["y"], item["rx"], item["ry"]
            canvas.ellipse(x - rx, y - ry, x + rx, y + ry, **paint)
        elif kind == "line" and len(item["points"]) == 2:
            (x1, y1), (x2, y2) = item["points"]
            canvas.line(x1, y1, x2, y2)
        else:
            path = canvas.beginPath()
            path.moveTo(*item["points"][0])
            for point in item["points"][1:]:
                path.lineTo(*point)
            if kind == "polygon":
                path.close()
            canvas.drawPath(path, **paint)


def main():
    content, fonts, sample = sys.argv[1:4]
    pages = Pages(content, fonts)
    with open(sample, "wb") as file:
        file.write(pages.page())
    pages.next = 0
    print("ready", flush=True)
    for line in sys.stdin:
        start = time.process_time()
        size = sum(len(pages.page()) for _ in range(int(line)))
        print(time.process_time() - start, size, flush=True)


if __name__ == "__main__":
    main()
