"""A figure as an SVG drawing, from the very ``data`` and ``layout`` that its interactive twin gets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from html import escape
from typing import Any, Final

from kit.views.svg.axes import LABEL_PX, TICK_PX, WIDTH_PX, Frame, frame
from kit.views.svg.elements import decimal, element, numbers, text_at, width_px
from kit.views.svg.palette import PALETTE, paint
from kit.views.svg.subset import check_subset
from kit.views.svg.traces import draw_line, draw_texts, draw_trace

FONT: Final = "Arial, 'Liberation Sans', sans-serif"
_INK: Final = paint(fill=PALETTE["ink"])
_MUTED: Final = paint(fill=PALETTE["muted"])
_GRID_PX: Final = 1.0
_BASE_PX: Final = 4.0  # from the middle of a label down to its base line
_TITLE_ABOVE_PX: Final = 15.0
_LABEL_BELOW_PX: Final = 19.0
_TITLE_BELOW_PX: Final = 41.0
_MOST_NOTES: Final = 2  # that leave room for larger letters

Data = Sequence[Mapping[str, Any]]
Layout = Mapping[str, Any]


def drawing(alt: str, data: Data, layout: Layout) -> str:
    """A figure as one SVG element, complete in itself: no script, no identity, no style sheet needed.

    Every colour stands as an attribute and as a class; the titles of upright axes stand above them. What would
    be drawn otherwise than by plotly is refused.

    Parameters
    ----------
    alt : str
        What is to be seen, in words: the title of the drawing.
    data, layout : plotly's, the part of them that `kit.views.svg.subset` lists.

    Raises
    ------
    DrawingError
        If there is anything else in them.
    """
    check_subset(data, layout)
    placed = frame(data, layout, keeps_size=keeps_size(layout))
    size = (decimal(WIDTH_PX), decimal(placed.height_px))
    shapes = [*_shapes(layout, placed), *_axis_lines(placed)]
    shapes += [shape for trace in data for shape in draw_trace(trace, placed, layout)]
    texts = [*_axis_texts(placed), *_notes(layout, placed)]
    texts += [text for trace in data for text in draw_texts(trace, placed)]
    content = [
        element("title", {}, escape(alt, quote=False)),
        element("rect", {"width": size[0], "height": size[1], **paint(fill=PALETTE["paper"])}),
        element("g", {"fill": "none", "transform": "scale(.1)"}, "".join(shapes)),
        *texts,
    ]
    attributes = {"xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {size[0]} {size[1]}", "role": "img"}
    lettering = {"font-family": FONT, "font-size": decimal(LABEL_PX), "width": size[0], "height": size[1]}
    return element("svg", {**attributes, **lettering, **_INK}, "".join(content))


def keeps_size(layout: Layout) -> bool:
    """Whether a drawing has texts that would collide if its letters grew: it scrolls in a narrow window instead."""
    lanes = any("ticktext" in layout[name] for name in layout if name.startswith("yaxis"))
    return lanes or len(layout.get("annotations", ())) > _MOST_NOTES


def _shapes(layout: Layout, placed: Frame) -> Iterator[str]:
    """Fields and lines behind everything."""
    x_axis, y_axis = placed.x["x"], placed.y["y"]
    for shape in layout.get("shapes", ()):
        ends = [shape["x0"], shape["x1"]]
        across = [10 * placed.left_px, 10 * placed.right_px] if "xref" in shape else x_axis.tenths(ends).tolist()
        if "yref" in shape:
            down = [10 * y_axis.start_px, 10 * y_axis.end_px]
        else:
            down = y_axis.tenths([shape["y0"], shape["y1"]]).tolist()
        (left, right), (first, last) = [[round(each) for each in pair] for pair in (across, down)]
        if shape["type"] == "line":
            yield draw_line(f"m{numbers((left, first, right - left, last - first))}", shape["line"])
            continue
        field = {"d": f"m{numbers((left, first))}h{right - left}v{last - first}h{left - right}z"}
        faint = {"opacity": f"{shape['opacity']:g}"} if "opacity" in shape else {}
        yield element("path", {**field, **faint, **paint(fill=shape["fillcolor"])})


def _axis_lines(placed: Frame) -> Iterator[str]:
    """Grid, axes and ticks, each colour in one path."""
    grid, lines, zeros = [], [], []
    for axis in (*placed.x.values(), *placed.y.values()):
        is_across = axis.name[0] == "x"
        from_px, to_px = (placed.bottom_px, placed.top_px) if is_across else (placed.left_px, placed.right_px)
        places = [round(10 * axis.pixel(value)) for value, _ in axis.ticks]
        if axis.given.get("showgrid", True):
            grid += [_straight(place, from_px, to_px, is_across=is_across) for place in places]
        if axis.given["ticks"]:
            out_px = from_px + TICK_PX if is_across else from_px - TICK_PX
            lines += [_straight(place, from_px, out_px, is_across=is_across) for place in places]
        if axis.given.get("zeroline"):
            zeros.append(_straight(round(10 * axis.pixel(0.0)), from_px, to_px, is_across=is_across))
        lines.append(_straight(round(10 * from_px), axis.start_px, axis.end_px, is_across=not is_across))
    for paths, colour in ((grid, "rule"), (zeros, "ink"), (lines, "muted")):
        if paths:
            yield draw_line("".join(paths), {"color": PALETTE[colour], "width": _GRID_PX})


def _straight(place: int, from_px: float, to_px: float, *, is_across: bool) -> str:
    """An upright line at a place of an axis that runs across, or a level one."""
    start, length = round(10 * from_px), round(10 * (to_px - from_px))
    return f"M{place} {start}v{length}" if is_across else f"M{start} {place}h{length}"


def _axis_texts(placed: Frame) -> Iterator[str]:
    for axis in placed.x.values():
        labels = [text_at(axis.pixel(value), placed.bottom_px + _LABEL_BELOW_PX, text) for value, text in axis.ticks]
        yield element("g", {"text-anchor": "middle", **_MUTED}, "".join(labels))
        if axis.title:
            middle = (axis.start_px + axis.end_px) / 2
            yield text_at(middle, placed.bottom_px + _TITLE_BELOW_PX, axis.title, {"text-anchor": "middle"})
    for axis in placed.y.values():
        if axis.given.get("showticklabels", True):
            at_px = placed.left_px - TICK_PX - 2
            labels = [text_at(at_px, axis.pixel(value) + _BASE_PX, text) for value, text in axis.ticks]
            size = {} if axis.label_px == LABEL_PX else {"font-size": decimal(axis.label_px)}
            yield element("g", {"text-anchor": "end", **size, **_MUTED}, "".join(labels))
        if axis.title:
            yield text_at(0.0, axis.end_px - _TITLE_ABOVE_PX, axis.title)


def _notes(layout: Layout, placed: Frame) -> Iterator[str]:
    """Short texts at their points, some with a line to it, some on a ground of their own."""
    x_axis, y_axis = placed.x["x"], placed.y["y"]
    for note in layout.get("annotations", ()):
        x = _share(note["x"], placed.left_px, placed.right_px) if "xref" in note else x_axis.pixel(note["x"])
        y = _share(note["y"], y_axis.start_px, y_axis.end_px) if "yref" in note else y_axis.pixel(note["y"])
        at_x, at_y = x + note.get("xshift", 0), y
        if note["showarrow"]:
            at_x, at_y = x + note["ax"], y + note["ay"]
            path = f"m{decimal(x)} {decimal(y)}L{decimal(at_x)} {decimal(at_y)}"
            yield element("path", {"d": path, **paint(stroke=note["arrowcolor"])})
        yield from _note_text(note, at_x, at_y)


def _share(share: float, from_px: float, to_px: float) -> float:
    return from_px + share * (to_px - from_px)


def _note_text(note: Mapping[str, Any], x: float, y: float) -> Iterator[str]:
    font, text = note.get("font", {}), note["text"]
    size_px = float(font.get("size", LABEL_PX))
    side = note.get("xanchor", "center")
    base = y + {"top": 0.9, "middle": 0.35, "bottom": -0.25}[note.get("yanchor", "middle")] * size_px
    if "bgcolor" in note:
        room = note["borderpad"]
        wide, high = width_px(text, size_px) + 2 * room, 1.15 * size_px + 2 * room
        left = x - {"left": 0.0, "center": 0.5, "right": 1.0}[side] * wide
        ground = {"x": left, "y": base - 0.9 * size_px - room, "width": wide, "height": high}
        yield element("rect", {**{key: decimal(value) for key, value in ground.items()}, **paint(fill=note["bgcolor"])})
    attributes = {"text-anchor": {"left": "start", "center": "middle", "right": "end"}[side]}
    if size_px != LABEL_PX:
        attributes["font-size"] = decimal(size_px)
    yield text_at(x, base, text, {**attributes, **(paint(fill=font["color"]) if "color" in font else {})})
