"""Where the words of a figure stand in a report: its SVG has letters up to a tenth wider than dots."""

import io
import itertools

from matplotlib.backends.backend_svg import FigureCanvasSVG, RendererSVG
from matplotlib.text import Text


def texts(drawing):
    """Every text that is seen, with its box in points, laid out as for a report."""
    drawing.set_dpi(72)  # a point is the unit of an SVG picture
    FigureCanvasSVG(drawing)
    drawing.draw_without_rendering()  # to write what nobody reads takes half as long again
    renderer = RendererSVG(drawing.bbox.width, drawing.bbox.height, io.StringIO(), image_dpi=72)
    beyond = set()  # ticks outside the view keep a label that is not drawn
    for axis in (axis for axes in drawing.axes for axis in (axes.xaxis, axes.yaxis)):
        low, high = sorted(axis.get_view_interval())
        for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
            if not low <= tick.get_loc() <= high:
                beyond |= {tick.label1, tick.label2}
    shown = [
        t
        for t in drawing.findobj(Text)
        if t.get_visible() and t.get_text().strip() and t not in beyond
    ]
    return [(t.get_text(), t.get_window_extent(renderer)) for t in shown]


def assert_clear(drawing):
    """No text outside the picture, none on another; return all."""
    found = texts(drawing)
    width, height = drawing.bbox.width, drawing.bbox.height
    for text, box in found:
        assert box.x0 >= -0.5 and box.y0 >= -0.5, text
        assert box.x1 <= width + 0.5 and box.y1 <= height + 0.5, text
    for (one, a), (other, b) in itertools.combinations(found, 2):
        wide = min(a.x1, b.x1) - max(a.x0, b.x0)
        tall = min(a.y1, b.y1) - max(a.y0, b.y0)
        assert not (wide > 1 and tall > 1), (one, other)
    return {text for text, _ in found}
