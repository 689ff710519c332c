"""A figure as an SVG element for a page: with words for a screen reader, in the page's inks."""

import hashlib
import io
import re
from types import MappingProxyType
from xml.etree import ElementTree

from matplotlib import rc_context
from matplotlib.figure import Figure

__all__ = ["FAINT", "INK", "PAPER", "as_svg"]

INK, FAINT, PAPER = "#1a1a1a", "#8c8c8c", "#ffffff"
_PROPERTIES = MappingProxyType({INK: "--ink", FAINT: "--faint", PAPER: "--paper"})
_SVG = "http://www.w3.org/2000/svg"


def as_svg(figure: Figure, title: str, description: str) -> str:
    """Turn a figure into an SVG element that can stand inside a page.

    Parameters
    ----------
    figure
        A figure of this module.
    title, description
        What a screen reader says instead of the picture.

    Returns
    -------
    str
        One ``<svg>`` element; the same figure always gives the same text, and several may stand
        on one page.
    """
    buffer = io.StringIO()
    with rc_context({"svg.fonttype": "none", "svg.hashsalt": "scoretools", "hatch.linewidth": 0.6}):
        figure.savefig(buffer, format="svg", metadata={"Date": None}, facecolor=PAPER)
    drawing = buffer.getvalue()
    root = ElementTree.fromstring(drawing)
    prefix = "c" + hashlib.sha256((title + drawing).encode()).hexdigest()[:8]
    _plain_names(root)
    _own_ids(root, prefix)
    _describe(root, prefix, title, description)
    return _with_properties(ElementTree.tostring(root, encoding="unicode"))


def _plain_names(root: ElementTree.Element) -> None:
    for metadata in [child for child in root if child.tag.endswith("}metadata")]:
        root.remove(metadata)
    for definitions in root.iter(f"{{{_SVG}}}defs"):
        # A style sheet inside the drawing would reach the whole page around it.
        for style in definitions.findall(f"{{{_SVG}}}style"):
            definitions.remove(style)
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
        for name in [name for name in element.attrib if name.startswith("{")]:
            element.set(name.rpartition("}")[2], element.attrib.pop(name))


def _own_ids(root: ElementTree.Element, prefix: str) -> None:
    """Keep only ids that are pointed at, and make them this drawing's own."""
    pointed = set(re.findall(r"#(\w+)", ElementTree.tostring(root, encoding="unicode")))
    for element in root.iter():
        name = element.attrib.pop("id", None)
        for attribute, value in element.attrib.items():
            if "url(#" in value or value.startswith("#"):
                element.set(attribute, re.sub(r"(url\(|^)#", rf"\1#{prefix}-", value))
        if name in pointed:
            element.set("id", f"{prefix}-{name}")


def _describe(root: ElementTree.Element, prefix: str, title: str, description: str) -> None:
    for place, (tag, words) in enumerate((("title", title), ("desc", description))):
        element = ElementTree.Element(tag, {"id": f"{prefix}-{tag}"})
        element.text = words
        root.insert(place, element)
    for size in ("width", "height"):
        root.attrib.pop(size, None)
    root.set("xmlns", _SVG)
    root.set("style", "stroke-linejoin: round; stroke-linecap: butt")
    root.set("role", "img")
    root.set("aria-labelledby", f"{prefix}-title {prefix}-desc")


def _with_properties(svg: str) -> str:
    for ink, name in _PROPERTIES.items():
        svg = re.sub(rf"{ink}\b", f"var({name}, {ink})", svg)
    return svg
